/* compare.c - a job and its variants side by side. */
#include "cli/verbs.h"

#include "cli/progress.h"
#include "tangwright/compare.h"
#include "tangwright/report.h"

#include <stdlib.h>

static enum tw_status compare(const struct options *options, struct tw_comparison *out, struct tw_findings *findings)
{
    struct progress progress;
    enum tw_status status;

    progress_begin(&progress, "planning the variants");
    status = tw_comparison_make(options->operands[0], options->operands + 1, options->operand_count - 1, out, findings);
    progress_end(&progress);
    return status;
}

static enum tw_status write_page(const char *path, const struct tw_job *job, const struct tw_comparison *comparison,
                                 struct tw_findings *findings)
{
    char *page = NULL;
    enum tw_status status = tw_comparison_html(job, comparison, &page, findings);

    if (status == TW_OK)
        status = verb_write_text(path, page, findings);
    free(page);
    return status;
}

static enum tw_status show(const struct options *options, const struct tw_job *job,
                           const struct tw_comparison *comparison, struct tw_findings *findings)
{
    char *table = NULL, *json = NULL;
    enum tw_status status = tw_comparison_table(options->operands[0], comparison, &table, findings);

    if (status == TW_OK && options->sheet)
        status = write_page(options->sheet, job, comparison, findings);
    if (status == TW_OK && options->json)
        status = tw_comparison_json(options->operands[0], comparison, &json, findings);
    return verb_show(options, status, table, json, findings);
}

/* A comparison without a single plan is no answer. */
static enum tw_status check_any(const struct tw_comparison *comparison, struct tw_findings *findings)
{
    for (size_t i = 0; i < comparison->count; i++)
        if (!comparison->variants[i].refusal)
            return TW_OK;
    return tw_fail(findings, TW_NO_PLAN, (struct tw_place){ 0 }, "none of the variants can be planned");
}

enum tw_status verb_compare(const struct options *options, struct tw_findings *findings)
{
    struct tw_comparison comparison;
    struct tw_job job;
    enum tw_status status = tw_job_read(options->operands[0], &job, findings);

    if (status != TW_OK)
        return status;
    status = compare(options, &comparison, findings);
    if (status == TW_OK) {
        status = show(options, &job, &comparison, findings);
        if (status == TW_OK)
            status = check_any(&comparison, findings);
        tw_comparison_free(&comparison);
    }
    tw_job_free(&job);
    return status;
}
