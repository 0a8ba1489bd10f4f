/* bar_files.c - a bar of a fixture as files. */
#include "cli/bar_files.h"

#include "base/file.h"
#include "base/memory.h"
#include "base/replace.h"
#include "base/text.h"
#include "cli/plan_folder.h"
#include "cli/verbs.h"
#include "tangwright/program.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

void bar_files_free(struct bar_files *files)
{
    for (size_t i = 0; i < files->count; i++)
        free(files->texts[i]);
    free(files->program_name);
    free(files->air_name);
    *files = (struct bar_files){ 0 };
}

static void add(struct bar_files *files, const char *name, char *text)
{
    files->names[files->count] = name;
    files->texts[files->count++] = text;
}

static enum tw_status make_texts(const struct tw_fixture_design *design, enum tw_bar_kind kind, struct bar_files *out,
                                 struct tw_findings *findings)
{
    static const struct {
        const char *profile, *file;
    } profiles[] = {
        { "machine", "machine.cfg" }, { "wheel", "wheel.cfg" }, { "steel", "steel.cfg" }, { "coolant", "coolant.cfg" }
    };
    struct tw_bar bar = tw_fixture_bar(design, kind);
    struct tw_job equipment = tw_bar_equipment(design, kind);
    char *text = NULL;
    enum tw_status status = tw_bar_job(design, kind, &text, findings);

    if (status != TW_OK)
        return status;
    add(out, "job.cfg", text);
    status = tw_bar_outline(&bar, &text, findings);
    if (status != TW_OK)
        return status;
    add(out, "bar.csv", text);
    status = tw_bar_fixture(design, kind, &text, findings);
    if (status != TW_OK)
        return status;
    add(out, "fixture.cfg", text);
    for (size_t i = 0; i < sizeof profiles / sizeof *profiles; i++) {
        status = tw_job_profile(&equipment, profiles[i].profile, &text, findings);
        if (status != TW_OK)
            return status;
        add(out, profiles[i].file, text);
    }
    return TW_OK;
}

/* ---- a folder that is gone again ---- */

static char *path_in(const char *folder, const char *name)
{
    struct tw_text path = { 0 };

    tw_text_print(&path, "%s/%s", folder, name);
    return tw_text_take(&path);
}

static char *make_folder(struct tw_findings *findings)
{
    const char *temporary = getenv("TMPDIR");
    char *folder = path_in(temporary && *temporary ? temporary : "/tmp", "tangwright-bar-XXXXXX");

    if (!folder) {
        tw_no_memory(findings);
        return NULL;
    }
    if (mkdtemp(folder))
        return folder;
    tw_fail(findings, TW_IO, (struct tw_place){ .file = folder },
            "a folder for the bar's own plan cannot be made here: %s; name another place in TMPDIR", strerror(errno));
    free(folder);
    return NULL;
}

static enum tw_status write_texts(const char *folder, const struct bar_files *files, struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < files->count; i++) {
        char *path = path_in(folder, files->names[i]);
        struct tw_new_file file = { path, files->texts[i], strlen(files->texts[i]), false };

        status = path ? tw_files_replace(&file, 1, findings) : tw_no_memory(findings);
        free(path);
    }
    return status;
}

static void remove_folder(char *folder, const struct bar_files *files)
{
    for (size_t i = 0; i < files->count; i++) {
        char *path = path_in(folder, files->names[i]);

        if (path)
            unlink(path);
        free(path);
    }
    rmdir(folder);
    free(folder);
}

/* ---- the plan ---- */

/* Nothing is written then: the bar's own job is nowhere to be looked up, and what can be changed is the knife's. */
static enum tw_status refuse(const struct tw_fixture_design *design, const struct tw_bar *bar,
                             const struct tw_findings *why, enum tw_status status, struct tw_findings *findings)
{
    struct tw_place at = { .file = design->job->path, .key = "fixture" };

    if (why->out_of_memory || status == TW_NO_MEMORY)
        return tw_no_memory(findings);
    for (size_t i = 0; i < why->count; i++) {
        const struct tw_finding *item = &why->items[i];

        if (item->status != TW_OK)
            tw_fail(
                findings, status, at,
                "no fixture: its %s, a bar of soft steel of %.4g by %.4g mm, cannot be ground with the machine, wheel, "
                "coolant and finish of this job: %s",
                bar->kind == TW_BAR_REST_B ? "rest for side B" : "wedge", bar->length_mm, bar->width_mm,
                item->file ? strstr(item->text + strlen(item->file), ": ") + 2 : item->text);
    }
    return status;
}

/* What the planner says names the job where the maker will find it. */
static enum tw_status read_job(const struct tw_fixture_design *design, const struct tw_bar *bar, const char *folder,
                               const char *shown, struct tw_job *job, struct tw_findings *findings)
{
    struct tw_findings own = { 0 };
    char *path = path_in(folder, "job.cfg"), *named = path_in(shown, "job.cfg");
    enum tw_status status = path && named ? tw_job_read(path, job, &own) : tw_no_memory(findings);

    if (status == TW_OK) {
        free(job->path);
        job->path = named;
        named = NULL;
    } else if (status == TW_BAD_INPUT) { /* remarks of a job that reads well are of no use to anybody */
        status = refuse(design, bar, &own, TW_NO_PLAN, findings);
    } else {
        tw_findings_append(findings, &own);
    }
    tw_findings_free(&own);
    free(path);
    free(named);
    return status;
}

/* The same program raised, for the run in the air. */
static enum tw_status add_air(const struct tw_job *job, const struct tw_plan *plan, struct bar_files *out,
                              struct tw_findings *findings)
{
    double lift_mm = 0.0;
    char *text = NULL;
    enum tw_status status = plan_folder_choose_lift(job, plan, false, &lift_mm, findings);

    if (status != TW_OK || !(lift_mm > 0.0))
        return status;
    status = tw_program_text(job, plan, 0, lift_mm, &text, findings);
    if (status != TW_OK)
        return status;
    out->air_name = tw_copy_string(plan->setups[0].air_file_name);
    if (!out->air_name) {
        free(text);
        return tw_no_memory(findings);
    }
    add(out, out->air_name, text);
    return TW_OK;
}

static enum tw_status plan(const struct tw_fixture_design *design, const struct tw_bar *bar, const struct tw_job *job,
                           struct bar_files *out, struct tw_findings *findings)
{
    struct tw_findings own = { 0 };
    struct tw_proven proven;
    enum tw_status status = verb_plan_job(job, &proven, &own);
    char *text, *name;

    if (status != TW_OK) {
        status = refuse(design, bar, &own, status, findings);
        tw_findings_free(&own);
        return status;
    }
    tw_findings_append(findings, &own);
    text = tw_copy_string(proven.texts[0]);
    name = tw_copy_string(proven.cards[0].name);
    if (text && name)
        add(out, name, text);
    else
        status = tw_no_memory(findings);
    if (status != TW_OK)
        free(text);
    out->program_name = name;
    if (status == TW_OK)
        status = add_air(job, &proven.plan, out, findings);
    tw_proven_free(&proven);
    return status;
}

enum tw_status bar_files_make(const struct tw_fixture_design *design, enum tw_bar_kind kind, const char *shown,
                              struct bar_files *out, struct tw_findings *findings)
{
    char *folder = NULL;
    struct tw_job job;
    struct tw_bar bar = tw_fixture_bar(design, kind);
    enum tw_status status;

    *out = (struct bar_files){ 0 };
    status = make_texts(design, kind, out, findings);
    if (status == TW_OK) {
        folder = make_folder(findings);
        status = folder ? write_texts(folder, out, findings) : tw_findings_status(findings);
    }
    if (status == TW_OK)
        status = read_job(design, &bar, folder, shown, &job, findings);
    if (folder)
        remove_folder(folder, out);
    if (status == TW_OK) {
        strcpy(out->digest, job.digest);
        status = plan(design, &bar, &job, out, findings);
        tw_job_free(&job);
    }
    if (status != TW_OK)
        bar_files_free(out);
    return status;
}
