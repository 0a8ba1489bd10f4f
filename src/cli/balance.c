/* balance.c - weight and balance, and the butt for a wanted balance point. */
#include "cli/verbs.h"

#include "base/units.h"
#include "tangwright/job.h"
#include "tangwright/relief.h"
#include "tangwright/report.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FARTHEST_MM 1000.0

static enum tw_status refuse_place(const char *text, struct tw_findings *findings)
{
    return tw_fail(
        findings, TW_BAD_USAGE, (struct tw_place){ .key = "--at" },
        "%s is no place; say how far ahead of the taper start, on the blade, or behind it, on the tang: --at "
        "\"12 mm ahead\", --at \"5 mm behind\", or --at 0 for the taper start itself",
        text);
}

/* Cuts the last word off `length` if it is `word`. */
static bool ends_with_word(const char *text, size_t *length, const char *word)
{
    size_t letters = strlen(word);

    if (*length <= letters || memcmp(text + *length - letters, word, letters) != 0 ||
        text[*length - letters - 1] != ' ')
        return false;
    *length -= letters + 1;
    return true;
}

/* A distance and a direction; only 0 has no direction, and needs no unit. */
static enum tw_status read_place(const char *text, double *out_mm, struct tw_findings *findings)
{
    size_t length = strlen(text);
    bool ahead = ends_with_word(text, &length, "ahead"), behind = !ahead && ends_with_word(text, &length, "behind");
    struct tw_measure measure = { 0 };
    char distance[64];

    if (strcmp(text, "0") == 0) {
        *out_mm = 0.0;
        return TW_OK;
    }
    if (length >= sizeof distance)
        return refuse_place(text, findings);
    snprintf(distance, sizeof distance, "%.*s", (int)length, text);
    if (!tw_measure_read(distance, TW_LENGTH, "mm", &measure, NULL) ||
        !(measure.value >= 0.0 && measure.value <= FARTHEST_MM) || (measure.value > 0.0 && !ahead && !behind))
        return refuse_place(text, findings);
    *out_mm = ahead ? -measure.value : measure.value;
    return TW_OK;
}

static enum tw_status show(const struct options *options, const struct tw_job *job,
                           const struct tw_balance_report *report, struct tw_findings *findings)
{
    char *table = NULL, *json = NULL;
    enum tw_status status = tw_balance_table(job, report, &table, findings);

    if (status == TW_OK && options->json)
        status = tw_balance_json(job, report, &json, findings);
    return verb_show(options, status, table, json, findings);
}

/* The thickest butt with which a surveyed blank comes out straight; 0: any. Asked of a job that hardly tapers, which
 * cannot clean up, the straightening names it. */
static enum tw_status limit_butt(const struct tw_job *job, double *out_mm, struct tw_findings *findings)
{
    struct tw_job hardly = *job;
    struct tw_straight straight;
    struct tw_findings unasked = { 0 };
    enum tw_status status;

    *out_mm = 0.0;
    if (!job->straight)
        return TW_OK;
    hardly.taper.butt_mm = 0.999 * job->taper.ricasso_mm;
    status = tw_straighten(&hardly, &straight, &unasked);
    tw_findings_free(&unasked);
    if (status != TW_OK)
        return status == TW_NO_MEMORY ? tw_no_memory(findings) : status;
    if (!straight.straight && isfinite(straight.butt_mm))
        *out_mm = straight.butt_mm;
    tw_straight_free(&straight);
    return TW_OK;
}

static enum tw_status weigh(const struct tw_job *job, struct tw_balance_report *report, struct tw_findings *findings)
{
    struct tw_balance_model *model = NULL;
    struct tw_relief_region hollowed = { 0 };
    enum tw_status status = TW_OK;

    if (job->relief.depth_mm > 0.0 || report->asked)
        status = tw_plan_hollowed_or_none(job, &hollowed, findings);
    if (status != TW_OK)
        return status;
    status = tw_balance_open(job, &hollowed, &model, findings);
    if (status != TW_OK) {
        tw_relief_free(&hollowed);
        return status;
    }
    report->balance = tw_balance_with(model, job->taper.butt_mm, job->relief.depth_mm);
    report->row_count = tw_balance_rows(model, report->rows);
    if (report->asked)
        status = limit_butt(job, &report->wish.straight_butt_mm, findings);
    if (status == TW_OK && report->asked)
        status = tw_balance_solve(model, &report->wish, &report->answer, findings);
    tw_balance_close(model);
    tw_relief_free(&hollowed);
    return status;
}

static enum tw_status run_with(const struct options *options, const struct tw_job *job,
                               struct tw_balance_report *report, struct tw_findings *findings)
{
    enum tw_status status = weigh(job, report, findings);

    if (status == TW_OK)
        status = tw_spine_view(job, &report->spine, findings);
    if (status != TW_OK)
        return status;
    tw_spine_remark(job, &report->spine, findings);
    status = show(options, job, report, findings);
    tw_spine_free(&report->spine);
    if (status == TW_OK && report->asked && !report->answer.reached)
        status =
            tw_fail(findings, TW_NO_PLAN, (struct tw_place){ .file = job->path },
                    "neither butt nor relief brings the balance point there: %s are missing; what else would help "
                    "stands in the table",
                    tw_length_text(fabs(report->answer.x_mm - report->wish.x_mm), 2, job->machine.dialect.inch).text);
    return status;
}

enum tw_status verb_balance(const struct options *options, struct tw_findings *findings)
{
    struct tw_balance_report report = { .asked = options->at != NULL };
    struct tw_job job;
    enum tw_status status = TW_OK;

    if (options->at)
        status = read_place(options->at, &report.wish.x_mm, findings);
    if (status == TW_OK)
        status = tw_job_read(options->operands[0], &job, findings);
    if (status != TW_OK)
        return status;
    status = run_with(options, &job, &report, findings);
    tw_job_free(&job);
    return status;
}
