/* gauge.c - what measured parts say about the next ones. */
#include "cli/verbs.h"

#include "tangwright/gauge.h"
#include "tangwright/run.h"

/* A micrometer in a shop (our judgement). */
#define USUAL_GAUGE_MM 0.002
#define MOST_MM        1.0

static enum tw_status show(const struct options *options, const struct tw_job *job, const struct tw_gaugings *gaugings,
                           double tolerance_mm, const struct tw_gauged_run *run, struct tw_findings *findings)
{
    char *text = NULL, *json = NULL;
    enum tw_status status = tw_gauge_text(job, gaugings, tolerance_mm, run, &text, findings);

    if (status == TW_OK && options->json)
        status = tw_gauge_json(job, gaugings, tolerance_mm, run, &json, findings);
    return verb_show(options, status, text, json, findings);
}

/* The answer stands: nothing is to be ground before somebody has looked. */
static enum tw_status refuse(const struct options *options, const struct tw_gauged_run *run,
                             struct tw_findings *findings)
{
    if (run->look_first == 0)
        return TW_OK;
    return tw_fail(findings, TW_DO_NOT_CUT, (struct tw_place){ .file = options->operands[1] },
                   "%s; the answer's last lines say what to look at before another part is ground",
                   run->look_first & TW_LOOK_AND_CORRECT_NOTHING ? "holds what no grinding makes"
                                                                 : "is off by more than the job's thickness_tolerance");
}

static enum tw_status gauge(const struct options *options, const struct tw_job *job, double gauge_mm,
                            double tolerance_mm, struct tw_findings *findings)
{
    struct tw_gaugings gaugings;
    struct tw_gauged_run run;
    enum tw_status status = tw_gaugings_read(options->operands[1], &gaugings, findings);

    if (status != TW_OK)
        return status;
    status = tw_gauge_run(job, &gaugings, gauge_mm, tolerance_mm, &run, findings);
    if (status == TW_OK) {
        status = show(options, job, &gaugings, tolerance_mm, &run, findings);
        if (status == TW_OK)
            status = refuse(options, &run, findings);
        tw_gauged_run_free(&run);
    }
    tw_gaugings_free(&gaugings);
    return status;
}

enum tw_status verb_gauge(const struct options *options, struct tw_findings *findings)
{
    double gauge_mm = 0.0, tolerance_mm = 0.0;
    struct tw_job job;
    enum tw_status status = TW_OK;

    if (options->gauge)
        status = verb_read_length("--gauge", options->gauge, MOST_MM, &gauge_mm, findings);
    if (status == TW_OK && options->tolerance)
        status = verb_read_length("--tolerance", options->tolerance, MOST_MM, &tolerance_mm, findings);
    if (status == TW_OK && options->roughed && !tw_run_is_file(options->operands[0]))
        return tw_fail(findings, TW_BAD_USAGE, (struct tw_place){ .key = "--roughed" },
                       "goes with a run: its record says which load the parts are of; %s is no run file",
                       options->operands[0]);
    if (status == TW_OK && options->finished && (options->roughed || !tw_run_is_file(options->operands[0])))
        return tw_fail(findings, TW_BAD_USAGE, (struct tw_place){ .key = "--finished" }, "%s",
                       options->roughed ? "parts are roughed or finished; say --roughed or --finished"
                                        : "goes with a run: its record says what roughing left of the parts");
    if (status == TW_OK && options->roughed)
        return verb_gauge_roughed(options, gauge_mm, findings);
    if (status == TW_OK && tw_run_is_file(options->operands[0]))
        return verb_gauge_run(options, gauge_mm, tolerance_mm, findings);
    if (status == TW_OK)
        status = tw_job_read(options->operands[0], &job, findings);
    if (status != TW_OK)
        return status;
    status = gauge(options, &job, gauge_mm > 0.0 ? gauge_mm : USUAL_GAUGE_MM, tolerance_mm, findings);
    tw_job_free(&job);
    return status;
}
