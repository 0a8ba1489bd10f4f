/* plan_folder.c - see plan_folder.h. */
#include "cli/plan_folder.h"

#include "base/file.h"
#include "tangwright/program.h"
#include "tangwright/report.h"

#include <stdlib.h>
#include <string.h>

void plan_folder_free(struct plan_folder *folder)
{
    for (size_t i = 0; i < folder->air.count; i++)
        free(folder->air.texts[i]);
    free(folder->list);
    free(folder->summary);
    free(folder->sheet);
    for (size_t i = 0; i < folder->count; i++)
        free(folder->paths[i]);
    card_set_outdated_free(&folder->outdated);
}

/* ---- the run in the air ---- */

enum tw_status plan_folder_choose_lift(const struct tw_job *job, const struct tw_plan *plan, bool told, double *lift_mm,
                                       struct tw_findings *findings)
{
    struct tw_lift_range range = tw_program_lift_range(job, plan);
    struct tw_place at = { .key = "--lift" };

    if (!told && range.usual_mm <= 0.0)
        tw_remark(findings, (struct tw_place){ .file = job->path },
                  "no programs for a run in the air are written: the machine's travel leaves %.3f mm above the highest "
                  "move, and %.3f mm are wanted; raise the zero by hand for that run",
                  range.most_mm, range.least_mm);
    if (!told)
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

static enum tw_status make_air(const struct tw_job *job, const struct tw_plan *plan, double lift_mm,
                               struct plan_folder_air *out, struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    while (status == TW_OK && out->count < plan->setup_count) {
        size_t i = out->count;
        const struct tw_setup_plan *setup = &plan->setups[i];

        status = tw_program_text(job, plan, i, lift_mm, &out->texts[i], findings);
        if (status == TW_OK)
            out->cards[out->count++] = (struct tw_card){ setup->air_file_name, out->texts[i], strlen(out->texts[i]) };
    }
    return status;
}

/* ---- the files ---- */

static char *path_in(const char *folder, const char *name)
{
    struct tw_text path = { 0 };

    tw_text_print(&path, "%s/%s", folder, name);
    return tw_text_take(&path);
}

enum tw_status plan_folder_add(struct plan_folder *folder, const char *name, const char *text,
                               struct tw_findings *findings)
{
    char *path = path_in(folder->folder, name);

    if (!path)
        return tw_no_memory(findings);
    folder->names[folder->count] = name;
    folder->paths[folder->count] = path;
    folder->files[folder->count] =
        (struct tw_new_file){ path, text, strlen(text), card_set_knows(folder->folder, name) };
    folder->count++;
    return TW_OK;
}

/* The programs that cut, then those raised for the run in the air. */
static enum tw_status make_list(struct plan_folder *out, struct tw_findings *findings)
{
    struct tw_card cards[2 * TW_SETUPS_MOST];
    size_t count = 0;

    for (size_t i = 0; i < out->proven->count; i++)
        cards[count++] = out->proven->cards[i];
    for (size_t i = 0; i < out->air.count; i++)
        cards[count++] = out->air.cards[i];
    out->list = card_set_list(out->job, cards, count);
    return out->list ? TW_OK : tw_no_memory(findings);
}

struct tw_sheet plan_folder_sheet(const struct tw_job *job, const struct tw_proven *proven, bool air)
{
    struct tw_sheet sheet = { .job = job, .plan = &proven->plan, .air = air };

    for (size_t i = 0; i < proven->count; i++)
        sheet.programs[i] = proven->cards[i];
    return sheet;
}

static enum tw_status make_texts(struct plan_folder *out, bool in_run, double lift_mm, struct tw_findings *findings)
{
    struct tw_sheet sheet = plan_folder_sheet(out->job, out->proven, lift_mm > 0.0);
    enum tw_status status = tw_summary_json(out->job, &out->proven->plan, &out->summary, findings);

    sheet.in_run = in_run;
    if (status == TW_OK && lift_mm > 0.0)
        status = make_air(out->job, &out->proven->plan, lift_mm, &out->air, findings);
    if (status == TW_OK)
        status = make_list(out, findings);
    if (status == TW_OK)
        status = tw_sheet_html(&sheet, &out->sheet, findings);
    return status;
}

enum tw_status plan_folder_make(const char *folder, const struct tw_job *job, const struct tw_proven *proven,
                                bool in_run, double lift_mm, struct plan_folder *out, struct tw_findings *findings)
{
    enum tw_status status;

    *out = (struct plan_folder){ .folder = folder, .job = job, .proven = proven };
    status = make_texts(out, in_run, lift_mm, findings);
    for (size_t i = 0; status == TW_OK && i < proven->count; i++)
        status = plan_folder_add(out, proven->cards[i].name, proven->texts[i], findings);
    for (size_t i = 0; status == TW_OK && i < out->air.count; i++)
        status = plan_folder_add(out, out->air.cards[i].name, out->air.texts[i], findings);
    if (status == TW_OK)
        status = plan_folder_add(out, card_set_list_name(), out->list, findings);
    if (status == TW_OK)
        status = plan_folder_add(out, "summary.json", out->summary, findings);
    if (status == TW_OK)
        status = plan_folder_add(out, tw_sheet_file_name(), out->sheet, findings);
    return status;
}

static enum tw_status write_set(const struct plan_folder *folder, struct tw_findings *findings)
{
    char *mark = path_in(folder->folder, card_set_mark_name());
    struct tw_file_set set = { .files = folder->files,
                               .count = folder->count,
                               .outdated = folder->outdated.paths,
                               .outdated_count = folder->outdated.count,
                               .mark = mark,
                               .mark_text = card_set_mark_text() };
    enum tw_status status = mark ? tw_folder_make(folder->folder, findings) : tw_no_memory(findings);

    if (status == TW_OK)
        status = tw_file_set_replace(&set, findings);
    free(mark);
    return status;
}

static enum tw_status find_outdated(struct plan_folder *folder, struct tw_findings *findings)
{
    return card_set_find_outdated(folder->folder, folder->job->digest, folder->names, folder->count, &folder->outdated,
                                  findings);
}

enum tw_status plan_folder_write(struct plan_folder *folder, struct tw_findings *findings)
{
    enum tw_status status = find_outdated(folder, findings);

    return status == TW_OK ? write_set(folder, findings) : status;
}

enum tw_status plan_folder_stage(struct plan_folder *folder, struct tw_staged *staged, struct tw_findings *findings)
{
    enum tw_status status = find_outdated(folder, findings);

    if (status == TW_OK)
        status = tw_staged_make_folder(staged, folder->folder, findings);
    for (size_t i = 0; status == TW_OK && i < folder->count; i++)
        status = tw_staged_add(staged, &folder->files[i], findings);
    for (size_t i = 0; status == TW_OK && i < folder->outdated.count; i++)
        status = tw_staged_remove(staged, folder->outdated.paths[i], findings);
    return status;
}
