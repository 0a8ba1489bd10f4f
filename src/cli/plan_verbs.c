/* plan_verbs.c - preview and plan. */
#include "cli/verbs.h"

#include "base/file.h"
#include "base/replace.h"
#include "cli/card_set.h"
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

static struct tw_sheet sheet_of(const struct tw_job *job, const struct tw_proven *proven, bool air)
{
    struct tw_sheet sheet = { .job = job, .plan = &proven->plan, .air = air };

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
    struct tw_sheet sheet = sheet_of(job, proven, tw_program_lift_range(job, plan).usual_mm > 0.0);
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

#define FILES_MOST (2 * TW_SETUPS_MOST + 3)

/* Programs raised for the run in the air. The dry-run proves that such a one is its program raised; what is written here is
 * the same plan's text. */
struct air {
    char *texts[TW_SETUPS_MOST];
    struct tw_card cards[TW_SETUPS_MOST];
    size_t count;
};

/* Everything is made in memory first, so that a failure leaves the folder as it was. */
struct outputs {
    struct tw_proven proven;
    struct air air;
    char *list, *summary, *sheet, *table;
    const char *names[FILES_MOST];
    char *paths[FILES_MOST];
    struct tw_new_file files[FILES_MOST];
    size_t count;
    struct card_set_outdated outdated;
};

static void outputs_free(struct outputs *outputs)
{
    tw_proven_free(&outputs->proven);
    for (size_t i = 0; i < outputs->air.count; i++)
        free(outputs->air.texts[i]);
    free(outputs->list);
    free(outputs->summary);
    free(outputs->sheet);
    free(outputs->table);
    for (size_t i = 0; i < outputs->count; i++)
        free(outputs->paths[i]);
    card_set_outdated_free(&outputs->outdated);
}

static char *path_in(const char *folder, const char *name)
{
    struct tw_text path = { 0 };

    tw_text_print(&path, "%s/%s", folder, name);
    return tw_text_take(&path);
}

static enum tw_status add_file(const char *folder, const char *name, const char *text, struct outputs *out,
                               struct tw_findings *findings)
{
    char *path = path_in(folder, name);

    if (!path)
        return tw_no_memory(findings);
    out->names[out->count] = name;
    out->paths[out->count] = path;
    out->files[out->count] = (struct tw_new_file){ path, text, strlen(text), card_set_knows(folder, name) };
    out->count++;
    return TW_OK;
}

/* The programs that cut, then those raised for the run in the air. */
static enum tw_status make_list(const struct tw_job *job, struct outputs *out, struct tw_findings *findings)
{
    struct tw_card cards[2 * TW_SETUPS_MOST];
    size_t count = 0;

    for (size_t i = 0; i < out->proven.count; i++)
        cards[count++] = out->proven.cards[i];
    for (size_t i = 0; i < out->air.count; i++)
        cards[count++] = out->air.cards[i];
    out->list = card_set_list(job, cards, count);
    return out->list ? TW_OK : tw_no_memory(findings);
}

static enum tw_status make_air(const struct tw_job *job, const struct tw_plan *plan, double lift_mm, struct air *out,
                               struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    while (status == TW_OK && out->count < plan->setup_count) {
        size_t i = out->count;
        const struct tw_setup_plan *setup = &plan->setups[i];

        status = tw_program_text(job, plan, i, lift_mm, &out->texts[i], findings);
        if (status == TW_OK)
            out->cards[out->count++] = (struct tw_card){ tw_program_air_file_name(setup->face.side, setup->scope),
                                                         out->texts[i], strlen(out->texts[i]) };
    }
    return status;
}

static enum tw_status make_texts(const struct tw_job *job, double lift_mm, bool detail, struct outputs *out,
                                 struct tw_findings *findings)
{
    const struct tw_plan *plan = &out->proven.plan;
    struct tw_sheet sheet = sheet_of(job, &out->proven, lift_mm > 0.0);
    enum tw_status status = tw_summary_json(job, plan, &out->summary, findings);

    if (status == TW_OK && lift_mm > 0.0)
        status = make_air(job, plan, lift_mm, &out->air, findings);
    if (status == TW_OK)
        status = make_list(job, out, findings);
    if (status == TW_OK)
        status = tw_sheet_html(&sheet, &out->sheet, findings);
    if (status == TW_OK)
        status = tw_summary_table(job, plan, detail, &out->table, findings);
    return status;
}

static enum tw_status name_files(const char *folder, const char *digest, struct outputs *out,
                                 struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < out->proven.count; i++)
        status = add_file(folder, out->proven.cards[i].name, out->proven.texts[i], out, findings);
    for (size_t i = 0; status == TW_OK && i < out->air.count; i++)
        status = add_file(folder, out->air.cards[i].name, out->air.texts[i], out, findings);
    if (status == TW_OK)
        status = add_file(folder, card_set_list_name(), out->list, out, findings);
    if (status == TW_OK)
        status = add_file(folder, "summary.json", out->summary, out, findings);
    if (status == TW_OK)
        status = add_file(folder, tw_sheet_file_name(), out->sheet, out, findings);
    if (status == TW_OK)
        status = card_set_find_outdated(folder, digest, out->names, out->count, &out->outdated, findings);
    return status;
}

static enum tw_status write_set(const char *folder, const struct outputs *outputs, struct tw_findings *findings)
{
    char *mark = path_in(folder, card_set_mark_name());
    struct tw_file_set set = { .files = outputs->files,
                               .count = outputs->count,
                               .outdated = outputs->outdated.paths,
                               .outdated_count = outputs->outdated.count,
                               .mark = mark,
                               .mark_text = card_set_mark_text() };
    enum tw_status status = mark ? tw_folder_make(folder, findings) : tw_no_memory(findings);

    if (status == TW_OK)
        status = tw_file_set_replace(&set, findings);
    free(mark);
    return status;
}

static enum tw_status write_outputs(const char *folder, const struct tw_job *job, const struct outputs *outputs,
                                    struct tw_findings *findings)
{
    enum tw_status status = write_set(folder, outputs, findings);

    if (status != TW_OK)
        return status;
    status = show_table(job, &outputs->proven.plan, outputs->table, findings);
    verb_print("\nwritten to ");
    verb_print(folder);
    verb_print(": ");
    for (size_t i = 0; i < outputs->count; i++)
        printf("%s%s", i ? ", " : "", outputs->names[i]);
    printf("\n");
    return status;
}

/* How high the programs for the air are raised; 0: there are none. */
static enum tw_status choose_lift(const struct options *options, const struct tw_job *job, const struct tw_plan *plan,
                                  double *lift_mm, struct tw_findings *findings)
{
    struct tw_lift_range range = tw_program_lift_range(job, plan);
    struct tw_place at = { .key = "--lift" };

    if (!options->lift && range.usual_mm <= 0.0)
        tw_remark(findings, (struct tw_place){ .file = job->path },
                  "no programs for a run in the air are written: the machine's travel leaves %.3f mm above the highest "
                  "move, and %.3f mm are wanted; raise the zero by hand for that run",
                  range.most_mm, range.least_mm);
    if (!options->lift)
        *lift_mm = range.usual_mm;
    else
        *lift_mm = tw_program_lift_mm(job, *lift_mm);
    if (*lift_mm > range.most_mm)
        return tw_fail(findings, TW_NO_PLAN, at,
                       "%.3f mm would take the machine's %c past its travel; there is room for %.3f mm", *lift_mm,
                       job->machine.up.letter, range.most_mm);
    if (*lift_mm > 0.0 && *lift_mm < range.least_mm)
        return tw_fail(findings, TW_NO_PLAN, at,
                       "%.3f mm do not keep the wheel out of the steel; from %.3f mm on it cuts only air", *lift_mm,
                       range.least_mm);
    return TW_OK;
}

static enum tw_status plan_into(const struct options *options, const struct tw_job *job, double lift_mm,
                                struct tw_findings *findings)
{
    struct outputs outputs = { 0 };
    enum tw_status status = verb_plan_job(job, &outputs.proven, findings);

    if (status != TW_OK)
        return status;
    status = choose_lift(options, job, &outputs.proven.plan, &lift_mm, findings);
    if (status == TW_OK)
        status = make_texts(job, lift_mm, options->detail != NULL, &outputs, findings);
    if (status == TW_OK)
        status = name_files(options->out, job->digest, &outputs, findings);
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
