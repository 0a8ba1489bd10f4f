/* plan_verbs.c - preview and plan. */
#include "cli/verbs.h"

#include "base/file.h"
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

static struct tw_sheet sheet_of(const struct tw_job *job, const struct tw_proven *proven, double lift_mm)
{
    struct tw_sheet sheet = { .job = job, .plan = &proven->plan, .lift_mm = lift_mm };

    for (size_t i = 0; i < proven->count; i++)
        sheet.programs[i] = proven->cards[i];
    return sheet;
}

/* A file or a pipe gets the figures alone. */
static enum tw_status show_table(const struct tw_job *job, const struct tw_plan *plan, const char *table,
                                 struct tw_findings *findings)
{
    char *plot = NULL;
    enum tw_status status = TW_OK;

    fputs(table, stdout);
    if (isatty(STDOUT_FILENO))
        status = tw_summary_plot(job, plan, &plot, findings);
    if (plot)
        fputs(plot, stdout);
    free(plot);
    return status;
}

static bool is_output(const char *path)
{
    return path && strcmp(path, "-") == 0;
}

/* The sheet holds the programs as they would be written, though they are not. */
static enum tw_status show_preview(const struct options *options, const struct tw_job *job,
                                   const struct tw_proven *proven, struct tw_findings *findings)
{
    const struct tw_plan *plan = &proven->plan;
    struct tw_sheet sheet = sheet_of(job, proven, 0.0);
    char *table = NULL, *json = NULL;
    enum tw_status status = tw_summary_table(job, plan, &table, findings);

    if (status == TW_OK && options->sheet)
        status = verb_write_sheet(options->sheet, &sheet, findings);
    if (status == TW_OK && options->json)
        status = tw_summary_json(job, plan, &json, findings);
    if (status == TW_OK && json)
        status = verb_write_text(options->json, json, findings);
    if (status == TW_OK && !is_output(options->json) && !is_output(options->sheet))
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
    status = verb_plan_job(&job, 0.0, &proven, findings);
    if (status == TW_OK) {
        status = show_preview(options, &job, &proven, findings);
        tw_proven_free(&proven);
    }
    tw_job_free(&job);
    return status;
}

/* ---- plan ---- */

#define FILES_MOST (TW_SETUPS_MOST + 2)

/* Everything is made in memory first, so that a failure leaves the folder as it was. */
struct outputs {
    struct tw_proven proven;
    char *summary, *sheet, *table;
    char *paths[FILES_MOST];
    struct tw_new_file files[FILES_MOST];
    size_t count;
};

static void outputs_free(struct outputs *outputs)
{
    tw_proven_free(&outputs->proven);
    free(outputs->summary);
    free(outputs->sheet);
    free(outputs->table);
    for (size_t i = 0; i < outputs->count; i++)
        free(outputs->paths[i]);
}

static enum tw_status add_file(const char *folder, const char *name, const char *text, struct outputs *out,
                               struct tw_findings *findings)
{
    struct tw_text path = { 0 };

    tw_text_print(&path, "%s/%s", folder, name);
    out->paths[out->count] = tw_text_take(&path);
    if (!out->paths[out->count])
        return tw_no_memory(findings);
    out->files[out->count] = (struct tw_new_file){ out->paths[out->count], text, strlen(text) };
    out->count++;
    return TW_OK;
}

static enum tw_status make_texts(const struct tw_job *job, double lift_mm, struct outputs *out,
                                 struct tw_findings *findings)
{
    const struct tw_plan *plan = &out->proven.plan;
    struct tw_sheet sheet = sheet_of(job, &out->proven, lift_mm);
    enum tw_status status = tw_summary_json(job, plan, &out->summary, findings);

    if (status == TW_OK)
        status = tw_sheet_html(&sheet, &out->sheet, findings);
    if (status == TW_OK)
        status = tw_summary_table(job, plan, &out->table, findings);
    return status;
}

static enum tw_status name_files(const char *folder, struct outputs *out, struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < out->proven.count; i++)
        status = add_file(folder, out->proven.cards[i].name, out->proven.texts[i], out, findings);
    if (status == TW_OK)
        status = add_file(folder, "summary.json", out->summary, out, findings);
    return status == TW_OK ? add_file(folder, tw_sheet_file_name(), out->sheet, out, findings) : status;
}

static enum tw_status write_outputs(const char *folder, const struct tw_job *job, const struct outputs *outputs,
                                    struct tw_findings *findings)
{
    enum tw_status status = tw_folder_make(folder, findings);

    if (status == TW_OK)
        status = tw_files_replace(outputs->files, outputs->count, findings);
    if (status != TW_OK)
        return status;
    status = show_table(job, &outputs->proven.plan, outputs->table, findings);
    printf("\nwritten: ");
    for (size_t i = 0; i < outputs->count; i++)
        printf("%s%s", i ? ", " : "", outputs->paths[i]);
    printf("\n");
    return status;
}

static enum tw_status plan_into(const struct options *options, const struct tw_job *job, double lift_mm,
                                struct tw_findings *findings)
{
    struct outputs outputs = { 0 };
    enum tw_status status = verb_plan_job(job, lift_mm, &outputs.proven, findings);

    if (status != TW_OK)
        return status;
    status = make_texts(job, lift_mm, &outputs, findings);
    if (status == TW_OK)
        status = name_files(options->out, &outputs, findings);
    if (status == TW_OK)
        status = write_outputs(options->out, job, &outputs, findings);
    outputs_free(&outputs);
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
