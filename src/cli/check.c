/* check.c - whether the job is sound, and how the knife lies in it. */
#include "cli/verbs.h"

#include "base/text.h"
#include "tangwright/contacts.h"
#include "tangwright/job.h"
#include "tangwright/report.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

static enum tw_status add_plot(const struct tw_job *job, char **table, struct tw_findings *findings)
{
    struct tw_text text = { 0 };
    char *plot = NULL;
    enum tw_status status = tw_placement_plot(job, &plot, findings);

    if (status != TW_OK)
        return status;
    tw_text_print(&text, "%s%s", *table, plot);
    free(plot);
    free(*table);
    *table = tw_text_take(&text);
    return *table ? TW_OK : tw_no_memory(findings);
}

static void print_sound(const char *path)
{
    verb_print(path);
    puts(": no fault found; preview shows whether the limits can be met");
}

static enum tw_status write_page(const char *path, const struct tw_job *job, struct tw_findings *findings)
{
    char *page = NULL;
    enum tw_status status = tw_placement_html(job, &page, findings);

    if (status == TW_OK)
        status = verb_write_text(path, page, findings);
    free(page);
    return status;
}

static enum tw_status show(const struct options *options, const struct tw_job *job, struct tw_findings *findings)
{
    char *table = NULL, *json = NULL;
    enum tw_status status = tw_placement_table(job, &table, findings);

    if (status == TW_OK && (options->plot || isatty(STDOUT_FILENO)))
        status = add_plot(job, &table, findings);
    if (status == TW_OK && options->sheet)
        status = write_page(options->sheet, job, findings);
    if (status == TW_OK && options->json)
        status = tw_placement_json(job, &json, findings);
    if (status == TW_OK && !verb_is_output(options->sheet) && !verb_is_output(options->json))
        print_sound(options->operands[0]);
    return verb_show(options, status, table, json, findings);
}

enum tw_status verb_check(const struct options *options, struct tw_findings *findings)
{
    struct tw_job job;
    enum tw_status status = tw_job_read(options->operands[0], &job, findings);

    if (status != TW_OK)
        return status;
    status = tw_looks_remark(&job, findings);
    if (status == TW_OK)
        status = tw_contacts_remark(&job, findings);
    if (status == TW_OK)
        status = show(options, &job, findings);
    tw_job_free(&job);
    return status;
}
