/* plan_verbs.c - check, preview and plan. */
#include "cli/verbs.h"

#include "base/file.h"
#include "tangwright/job.h"
#include "tangwright/plan.h"
#include "tangwright/program.h"
#include "tangwright/report.h"
#include "tangwright/sheet.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static enum tw_status remark_looks(const struct tw_job *job, struct tw_findings *findings)
{
    struct tw_spine_view view;
    enum tw_status status = tw_spine_view(job, &view, findings);

    if (status != TW_OK)
        return status;
    tw_spine_remark(job, &view, findings);
    tw_spine_free(&view);
    return TW_OK;
}

enum tw_status verb_check(const struct options *options, struct tw_findings *findings)
{
    struct tw_job job;
    enum tw_status status = tw_job_read(options->operands[0], &job, findings);

    if (status != TW_OK)
        return status;
    status = remark_looks(&job, findings);
    if (status == TW_OK)
        printf("%s: no fault found; preview tells whether the limits can be met\n", options->operands[0]);
    tw_job_free(&job);
    return status;
}

/* Weights count the relief, the programs do not make it. */
static void remark_relief(const struct tw_job *job, struct tw_findings *findings)
{
    if (job->relief.depth_mm > 0.0)
        tw_remark(findings, (struct tw_place){ .file = job->path, .key = "relief.depth" },
                  "the programs taper the faces and do not hollow them; the relief counts in the weights alone");
}

/* The programs as they would be written, though they are not. */
static enum tw_status write_preview_sheet(const char *path, const struct tw_job *job, const struct tw_plan *plan,
                                          struct tw_findings *findings)
{
    char *texts[2] = { NULL, NULL };
    struct tw_sheet sheet = { .job = job, .plan = plan };
    enum tw_status status = TW_OK;

    for (int i = 0; status == TW_OK && i < 2; i++) {
        status = tw_program_text(job, plan, (enum tw_side)i, 0.0, &texts[i], findings);
        if (status == TW_OK)
            sheet.programs[i] = (struct tw_card){ tw_program_file_name((enum tw_side)i), texts[i], strlen(texts[i]) };
    }
    if (status == TW_OK)
        status = verb_write_sheet(path, &sheet, findings);
    free(texts[0]);
    free(texts[1]);
    return status;
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

static enum tw_status show_preview(const struct options *options, const struct tw_job *job, const struct tw_plan *plan,
                                   struct tw_findings *findings)
{
    char *table = NULL, *json = NULL;
    enum tw_status status = tw_summary_table(job, plan, &table, findings);

    if (status == TW_OK && options->sheet)
        status = write_preview_sheet(options->sheet, job, plan, findings);
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
    struct tw_plan plan;
    enum tw_status status = tw_job_read(options->operands[0], &job, findings);

    if (status != TW_OK)
        return status;
    remark_relief(&job, findings);
    status = verb_plan_job(&job, &plan, findings);
    if (status == TW_OK) {
        status = show_preview(options, &job, &plan, findings);
        tw_plan_free(&plan);
    }
    tw_job_free(&job);
    return status;
}

/* ---- plan ---- */

#define FILE_COUNT 4

/* Everything is made in memory first, so that a failure leaves the folder as it was. */
struct outputs {
    char *paths[FILE_COUNT], *texts[FILE_COUNT];
    char *table;
};

static void outputs_free(struct outputs *outputs)
{
    for (int i = 0; i < FILE_COUNT; i++) {
        free(outputs->paths[i]);
        free(outputs->texts[i]);
    }
    free(outputs->table);
}

static enum tw_status make_paths(const char *folder, struct outputs *out, struct tw_findings *findings)
{
    const char *names[FILE_COUNT] = { tw_program_file_name(TW_SIDE_A), tw_program_file_name(TW_SIDE_B), "summary.json",
                                      tw_sheet_file_name() };

    for (int i = 0; i < FILE_COUNT; i++) {
        struct tw_text path = { 0 };

        tw_text_print(&path, "%s/%s", folder, names[i]);
        out->paths[i] = tw_text_take(&path);
        if (!out->paths[i])
            return tw_no_memory(findings);
    }
    return TW_OK;
}

static enum tw_status make_sheet(const struct tw_job *job, const struct tw_plan *plan, double lift_mm,
                                 struct outputs *out, struct tw_findings *findings)
{
    struct tw_sheet sheet = { .job = job, .plan = plan, .lift_mm = lift_mm };

    for (int i = 0; i < 2; i++)
        sheet.programs[i] = (struct tw_card){ tw_program_file_name((enum tw_side)i), out->texts[i], strlen(out->texts[i]) };
    return tw_sheet_html(&sheet, &out->texts[3], findings);
}

static enum tw_status make_texts(const struct tw_job *job, const struct tw_plan *plan, double lift_mm,
                                 struct outputs *out, struct tw_findings *findings)
{
    enum tw_status status = tw_program_text(job, plan, TW_SIDE_A, lift_mm, &out->texts[0], findings);

    if (status == TW_OK)
        status = tw_program_text(job, plan, TW_SIDE_B, lift_mm, &out->texts[1], findings);
    if (status == TW_OK)
        status = tw_summary_json(job, plan, &out->texts[2], findings);
    if (status == TW_OK)
        status = make_sheet(job, plan, lift_mm, out, findings);
    if (status == TW_OK)
        status = tw_summary_table(job, plan, &out->table, findings);
    return status;
}

static enum tw_status write_outputs(const char *folder, const struct tw_job *job, const struct tw_plan *plan,
                                    const struct outputs *outputs, struct tw_findings *findings)
{
    struct tw_new_file files[FILE_COUNT];
    enum tw_status status = tw_folder_make(folder, findings);

    for (int i = 0; i < FILE_COUNT; i++)
        files[i] = (struct tw_new_file){ outputs->paths[i], outputs->texts[i], strlen(outputs->texts[i]) };
    if (status == TW_OK)
        status = tw_files_replace(files, FILE_COUNT, findings);
    if (status != TW_OK)
        return status;
    status = show_table(job, plan, outputs->table, findings);
    printf("\nwritten: %s, %s, %s, %s\n", outputs->paths[0], outputs->paths[1], outputs->paths[2], outputs->paths[3]);
    return status;
}

static enum tw_status plan_into(const struct options *options, const struct tw_job *job, double lift_mm,
                                struct tw_findings *findings)
{
    struct outputs outputs = { 0 };
    struct tw_plan plan;
    enum tw_status status = verb_plan_job(job, &plan, findings);

    if (status != TW_OK)
        return status;
    status = make_paths(options->out, &outputs, findings);
    if (status == TW_OK)
        status = make_texts(job, &plan, lift_mm, &outputs, findings);
    if (status == TW_OK)
        status = write_outputs(options->out, job, &plan, &outputs, findings);
    outputs_free(&outputs);
    tw_plan_free(&plan);
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
        status = tw_job_read(options->operands[0], &job, findings);
    if (status != TW_OK)
        return status;
    remark_relief(&job, findings);
    status = plan_into(options, &job, lift_mm, findings);
    tw_job_free(&job);
    return status;
}
