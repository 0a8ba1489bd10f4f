/* calibrate.c - fits the wheel's specific energy and heat partition to readings. */
#include "cli/verbs.h"

#include "tangwright/bench.h"
#include "tangwright/calibrate.h"

static enum tw_status show(const struct options *options, const struct tw_job *job, const struct tw_readings *readings,
                           const struct tw_calibration *calibration, struct tw_findings *findings)
{
    char *text = NULL, *json = NULL;
    enum tw_status status = tw_calibration_text(job, readings, calibration, &text, findings);

    if (status == TW_OK && options->json)
        status = tw_calibration_json(job, readings, calibration, &json, findings);
    return verb_show(options, status, text, json, findings);
}

/* What could be determined is shown even when something else could not; the status tells. */
static enum tw_status fit(const struct options *options, const struct tw_job *job, const struct tw_readings *readings,
                          struct tw_findings *findings)
{
    struct tw_calibration calibration;
    enum tw_status status = tw_calibrate(job, readings, &calibration, findings);
    enum tw_status shown;

    if (status != TW_OK && status != TW_BAD_INPUT)
        return status;
    shown = show(options, job, readings, &calibration, findings);
    tw_calibration_free(&calibration);
    return status != TW_OK ? status : shown;
}

/* The other tests that a shop can make, where the file's heading says so. */
static enum tw_status bench(const struct options *options, const struct tw_job *job, struct tw_findings *findings)
{
    struct tw_bench_readings readings;
    struct tw_bench bench;
    char *text = NULL, *json = NULL;
    enum tw_status status = tw_bench_read(options->operands[1], &readings, findings), shown;

    if (status != TW_OK)
        return status;
    status = tw_bench_fit(job, &readings, &bench, findings);
    if (status != TW_OK && status != TW_BAD_INPUT) {
        tw_bench_free(&readings);
        return status;
    }
    shown = tw_bench_text(job, &readings, &bench, &text, findings);
    if (shown == TW_OK && options->json)
        shown = tw_bench_json(job, &bench, &json, findings);
    shown = verb_show(options, shown, text, json, findings);
    tw_bench_free(&readings);
    return status != TW_OK ? status : shown;
}

enum tw_status verb_calibrate(const struct options *options, struct tw_findings *findings)
{
    struct tw_job job;
    struct tw_readings readings;
    enum tw_status status = tw_job_read(options->operands[0], &job, findings);

    if (status != TW_OK)
        return status;
    if (tw_bench_is_one(options->operands[1])) {
        status = bench(options, &job, findings);
        tw_job_free(&job);
        return status;
    }
    status = tw_readings_read(options->operands[1], &readings, findings);
    if (status == TW_OK) {
        status = fit(options, &job, &readings, findings);
        tw_readings_free(&readings);
    }
    tw_job_free(&job);
    return status;
}
