/* plan_verbs.c - preview and plan. */
#include "cli/verbs.h"

#include "cli/plan_folder.h"
#include "tangwright/contacts.h"
#include "tangwright/job.h"
#include "tangwright/plan.h"
#include "tangwright/program.h"
#include "tangwright/report.h"
#include "tangwright/sheet.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* What of the set-up deserves a word; the job itself is read already. */
static enum tw_status read_job(const char *path, struct tw_job *job, struct tw_findings *findings)
{
    enum tw_status status = tw_job_read(path, job, findings);

    if (status != TW_OK)
        return status;
    status = tw_contacts_remark(job, findings);
    if (status != TW_OK)
        tw_job_free(job);
    return status;
}

/* A file or a pipe gets the figures alone. */
static enum tw_status show_table(const struct tw_job *job, const struct tw_plan *plan, const char *table,
                                 struct tw_findings *findings)
{
    char *plot = NULL;
    enum tw_status status = TW_OK;

    verb_print(table);
    if (isatty(STDOUT_FILENO))
        status = tw_summary_plot(job, plan, &plot, findings);
    if (plot)
        verb_print(plot);
    free(plot);
    return status;
}

/* The sheet holds the programs as they would be written, though they are not. */
static enum tw_status show_preview(const struct options *options, const struct tw_job *job,
                                   const struct tw_proven *proven, struct tw_findings *findings)
{
    const struct tw_plan *plan = &proven->plan;
    struct tw_sheet sheet = plan_folder_sheet(job, proven, tw_program_lift_range(job, plan).usual_mm > 0.0);
    char *table = NULL, *json = NULL;
    enum tw_status status = tw_summary_table(job, plan, options->detail != NULL, &table, findings);

    if (status == TW_OK && options->sheet)
        status = verb_write_sheet(options->sheet, &sheet, findings);
    if (status == TW_OK && options->json)
        status = tw_summary_json(job, plan, &json, findings);
    if (status == TW_OK && json)
        status = verb_write_text(options->json, json, findings);
    if (status == TW_OK && !verb_is_output(options->json) && !verb_is_output(options->sheet))
        status = show_table(job, plan, table, findings);
    free(table);
    free(json);
    return status;
}

enum tw_status verb_preview(const struct options *options, struct tw_findings *findings)
{
    struct tw_job job;
    struct tw_proven proven;
    enum tw_status status = read_job(options->operands[0], &job, findings);

    if (status != TW_OK)
        return status;
    status = verb_plan_job(&job, &proven, findings);
    if (status == TW_OK) {
        status = show_preview(options, &job, &proven, findings);
        tw_proven_free(&proven);
    }
    tw_job_free(&job);
    return status;
}

/* ---- plan ---- */

static enum tw_status write_outputs(struct plan_folder *folder, bool detail, struct tw_findings *findings)
{
    char *table = NULL;
    enum tw_status status = tw_summary_table(folder->job, &folder->proven->plan, detail, &table, findings);

    if (status == TW_OK)
        status = plan_folder_write(folder, findings);
    if (status == TW_OK) {
        status = show_table(folder->job, &folder->proven->plan, table, findings);
        verb_print("\nwritten to ");
        verb_print(folder->folder);
        verb_print(": ");
        for (size_t i = 0; i < folder->count; i++)
            printf("%s%s", i ? ", " : "", folder->names[i]);
        printf("\n");
    }
    free(table);
    return status;
}

static enum tw_status plan_into(const struct options *options, const struct tw_job *job, double lift_mm,
                                struct tw_findings *findings)
{
    struct tw_proven proven;
    struct plan_folder folder = { 0 };
    enum tw_status status = verb_plan_job(job, &proven, findings);

    if (status != TW_OK)
        return status;
    status = plan_folder_choose_lift(job, &proven.plan, options->lift != NULL, &lift_mm, findings);
    if (status == TW_OK)
        status = plan_folder_make(options->out, job, &proven, false, lift_mm, &folder, findings);
    if (status == TW_OK)
        status = write_outputs(&folder, options->detail != NULL, findings);
    plan_folder_free(&folder);
    tw_proven_free(&proven);
    return status;
}

enum tw_status verb_plan(const struct options *options, struct tw_findings *findings)
{
    struct tw_job job;
    double lift_mm = 0.0;
    enum tw_status status = TW_OK;

    if (options->lift)
        status = verb_read_length("--lift", options->lift, 500.0, &lift_mm, findings);
    if (status == TW_OK)
        status = read_job(options->operands[0], &job, findings);
    if (status != TW_OK)
        return status;
    status = plan_into(options, &job, lift_mm, findings);
    tw_job_free(&job);
    return status;
}
