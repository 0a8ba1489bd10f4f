/* run_status.c - see run_status.h. */
#include "cli/run_status.h"

#include "base/file.h"
#include "base/fingerprint.h"
#include "base/replace.h"
#include "cli/verbs.h"
#include "tangwright/job.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

struct showing {
    const struct tw_run_request *request;
    const struct tw_record_state *state;
    char *folder; /* of the loads, as seen from here */
    struct tw_text text;
    size_t wrong; /* programs that are not as planned */
};

/* ---- one load ---- */

static bool has_reading(const struct tw_record_state *state, const char *part)
{
    for (size_t i = 0; i < state->reading_count; i++)
        if (strcmp(state->readings[i].part, part) == 0)
            return true;
    return false;
}

static void count_blanks(const struct tw_record_state *state, int load, size_t *count, size_t *gauged)
{
    *count = *gauged = 0;
    for (size_t i = 0; i < state->blank_count; i++)
        if (state->blanks[i].load == load) {
            ++*count;
            *gauged += has_reading(state, state->blanks[i].number);
        }
}

/* Whether the file is, to the byte, what was planned. */
static bool is_as_planned(const struct showing *showing, const struct tw_record_program *program, const char **what)
{
    struct tw_text path = { 0 }, text = { 0 };
    struct tw_findings unasked = { 0 };
    char sha256[TW_FINGERPRINT_BYTES];
    bool read, same = false;

    tw_text_print(&path, "%s/%s", showing->folder, program->name);
    read = !path.failed && tw_file_read(path.data, &text, &unasked) == TW_OK;
    if (read) {
        tw_fingerprint(text.data, text.length, sha256);
        same = strcmp(sha256, program->sha256) == 0;
    }
    *what = read ? "is not the program that was planned" : "is missing";
    tw_text_free(&path);
    tw_text_free(&text);
    tw_findings_free(&unasked);
    return same;
}

/* Only what is still to be run matters. */
static void print_wrong_programs(struct showing *showing, const struct tw_record_load *load)
{
    for (size_t i = 0; i < showing->state->program_count; i++) {
        const struct tw_record_program *program = &showing->state->programs[i];
        const char *what;

        if (program->load != load->load || load->state != TW_LOAD_PLANNED || is_as_planned(showing, program, &what))
            continue;
        tw_text_print(&showing->text, "    %s/%s %s: do not run it, plan again\n", showing->folder, program->name,
                      what);
        showing->wrong++;
    }
}

static void print_load(struct showing *showing, const struct tw_record_load *load)
{
    size_t count, gauged;

    count_blanks(showing->state, load->load, &count, &gauged);
    tw_text_print(&showing->text, "  load %-3d %zu blank%s  %s", load->load, count, count == 1 ? " " : "s",
                  tw_load_state_name(load->state));
    if (load->state == TW_LOAD_GROUND && gauged > 0)
        tw_text_print(&showing->text, ", %zu of its blanks gauged", gauged);
    tw_text_print(&showing->text, "\n");
    print_wrong_programs(showing, load);
}

/* ---- the blanks and the wheel ---- */

static void print_blanks(struct showing *showing)
{
    const struct tw_record_state *state = showing->state;

    for (size_t i = 0; i < state->blank_count; i++)
        if (state->blanks[i].aside)
            tw_text_print(&showing->text, "  set aside: blank %s: %s\n", state->blanks[i].number,
                          state->blanks[i].aside);
    for (size_t i = 0; i < showing->request->blank_count; i++) {
        bool known = false;

        for (size_t k = 0; k < state->blank_count && !known; k++)
            known = strcmp(state->blanks[k].number, showing->request->blanks[i].number) == 0;
        if (!known)
            tw_text_print(&showing->text, "  not planned yet: blank %s\n", showing->request->blanks[i].number);
    }
}

/* The first load before which the wheel will have taken off more than it may between dressings, counted from the run's
 * first load. */
static void print_wheel(struct showing *showing, const struct tw_job *job)
{
    const struct tw_record_state *state = showing->state;
    double done_mm3 = 0.0, lost_mm = 0.0, all_mm3 = 0.0;
    int due = 0;

    for (size_t i = 0; i < state->load_count; i++) {
        if (state->loads[i].state >= TW_LOAD_GROUND) {
            done_mm3 += state->loads[i].removed_mm3;
            lost_mm += state->loads[i].wheel_mm;
        }
        all_mm3 += state->loads[i].removed_mm3;
        if (due == 0 && job->wheel.dress_after_mm3 > 0.0 && all_mm3 > job->wheel.dress_after_mm3)
            due = state->loads[i].load;
    }
    tw_text_print(&showing->text, "  wheel: has taken off %.0f mm3 in this run", done_mm3);
    if (lost_mm > 0.0)
        tw_text_print(&showing->text, ", which likely cost %.0f um of its height", 1e3 * lost_mm);
    if (due > 0)
        tw_text_print(&showing->text, "; dressed before load 1 it wants dressing again before load %d (after %.0f mm3)",
                      due, job->wheel.dress_after_mm3);
    tw_text_print(&showing->text, "\n");
}

/* ---- what to do ---- */

static const struct tw_record_load *first_in(const struct tw_record_state *state, enum tw_load_state wanted)
{
    for (size_t i = 0; i < state->load_count; i++)
        if (state->loads[i].state == wanted)
            return &state->loads[i];
    return NULL;
}

static void print_next(struct showing *showing)
{
    const struct tw_record_load *gauge = first_in(showing->state, TW_LOAD_GROUND);
    const struct tw_record_load *grind = first_in(showing->state, TW_LOAD_PLANNED);
    const char *run = showing->request->path;

    tw_text_print(&showing->text, "next\n");
    if (showing->wrong > 0)
        tw_text_print(&showing->text, "  tangwright run %s --out %s\n", run, showing->folder);
    if (grind)
        tw_text_print(&showing->text,
                      "  grind load %d as %s/load-%02d/load.html says, then: tangwright run %s --done %d\n",
                      grind->load, showing->folder, grind->load, run, grind->load);
    if (gauge)
        tw_text_print(&showing->text, "  measure the blanks of load %d\n", gauge->load);
    if (!gauge && !grind)
        tw_text_print(&showing->text, "  nothing: every load is ground and gauged\n");
}

static enum tw_status print_all(struct showing *showing, struct tw_findings *findings)
{
    static const struct tw_instead unsurveyed = { "survey.file", "none" };
    const struct tw_record_state *state = showing->state;
    struct tw_job job;
    enum tw_status status = tw_job_read_with(showing->request->job_path, &unsurveyed, 1, &job, findings);

    if (status != TW_OK)
        return status;
    tw_text_print(&showing->text, "%s: %zu blanks, %zu loads, last planned into %s\n", state->name,
                  showing->request->blank_count, state->load_count, showing->folder);
    for (size_t i = 0; i < state->load_count; i++)
        print_load(showing, &state->loads[i]);
    print_blanks(showing);
    print_wheel(showing, &job);
    print_next(showing);
    tw_job_free(&job);
    return TW_OK;
}

enum tw_status run_status_show(const struct tw_run_request *request, const struct run_record *record,
                               struct tw_findings *findings)
{
    struct showing showing = { .request = request, .state = &record->state };
    enum tw_status status;

    if (!record->record || !record->state.folder) {
        verb_print("nothing is planned yet; next: tangwright run ");
        verb_print(request->path);
        verb_print(" --out DIR\n");
        return TW_OK;
    }
    showing.folder = tw_path_beside(request->path, record->state.folder);
    if (!showing.folder)
        return tw_no_memory(findings);
    status = print_all(&showing, findings);
    if (status == TW_OK && showing.text.failed)
        status = tw_no_memory(findings);
    if (status == TW_OK)
        verb_print(showing.text.data);
    if (status == TW_OK && showing.wrong > 0)
        status = tw_fail(findings, TW_DO_NOT_CUT, (struct tw_place){ .file = request->path },
                         "%zu programs are not as planned", showing.wrong);
    tw_text_free(&showing.text);
    free(showing.folder);
    return status;
}

/* ---- handing it out ---- */

/* Tables have no mark of ours at their beginning; one with the same columns is taken for an older copy of it. */
static bool is_older_table(const char *path, const char *table)
{
    size_t heading = strcspn(table, "\n") + 1;
    struct tw_text text = { 0 };
    struct tw_findings unasked = { 0 };
    bool same = tw_file_read(path, &text, &unasked) == TW_OK && text.length >= heading &&
                memcmp(text.data, table, heading) == 0;

    tw_text_free(&text);
    tw_findings_free(&unasked);
    return same;
}

enum tw_status run_status_export(const struct run_record *record, const char *folder, struct tw_findings *findings)
{
    struct tw_new_file files[TW_RECORD_TABLES_MOST];
    char *paths[TW_RECORD_TABLES_MOST] = { 0 };
    struct tw_record_tables tables;
    enum tw_status status = tw_record_export(record->record, &tables, findings);

    for (size_t i = 0; status == TW_OK && i < tables.count; i++) {
        struct tw_text path = { 0 };

        tw_text_print(&path, "%s/%s", folder, tables.names[i]);
        paths[i] = tw_text_take(&path);
        if (!paths[i])
            status = tw_no_memory(findings);
        else
            files[i] = (struct tw_new_file){ paths[i], tables.texts[i], strlen(tables.texts[i]),
                                             is_older_table(paths[i], tables.texts[i]) };
    }
    if (status == TW_OK)
        status = tw_folder_make(folder, findings);
    if (status == TW_OK)
        status = tw_files_replace(files, tables.count, findings);
    for (size_t i = 0; i < TW_RECORD_TABLES_MOST; i++)
        free(paths[i]);
    tw_record_tables_free(&tables);
    return status;
}
