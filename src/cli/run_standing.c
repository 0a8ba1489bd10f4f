/* run_standing.c - see run_standing.h. */
#include "cli/run_standing.h"

#include "base/file.h"
#include "base/fingerprint.h"
#include "cli/verbs.h"
#include "cli/run_wheel.h"
#include "tangwright/job.h"
#include "tangwright/roughed.h"

#include <stdlib.h>
#include <string.h>

void run_standing_free(struct run_standing *standing)
{
    free(standing->folder);
    free(standing->loads);
    free(standing->wrong);
    free(standing->unplanned);
    free(standing->other_wheel);
    *standing = (struct run_standing){ 0 };
}

/* ---- loads ---- */

static bool has_reading(const struct tw_record_state *state, const char *part)
{
    for (size_t i = 0; i < state->reading_count; i++)
        if (strcmp(state->readings[i].part, part) == 0)
            return true;
    return false;
}

static void note_roughed(const struct tw_record_state *state, struct standing_load *at)
{
    enum tw_roughed_stop stops[TW_RUN_STATIONS_MOST];
    size_t count = 0;

    for (size_t i = 0; i < state->roughed_count && count < TW_RUN_STATIONS_MOST; i++)
        if (state->roughed[i].load == at->load->load)
            stops[count++] = tw_roughed_stop_named(state->roughed[i].stop);
    for (size_t i = 0; i < state->roughed_count; i++) {
        const struct tw_record_roughed *roughed = &state->roughed[i];

        at->again = at->again || (roughed->load == at->load->load && roughed->left_mm > 0.0);
        if (roughed->load != at->load->load || tw_roughed_stop_named(roughed->stop) != TW_ROUGHED_OTHER_WHEEL)
            continue;
        at->other_wheel = true;
        at->outdated =
            at->outdated || !roughed->planned; /* its programs are lower by what the wheel before was told by */
    }
    at->roughed = count > 0 && at->load->state == TW_LOAD_PLANNED;
    at->again = at->again && at->roughed;
    at->stopped = at->roughed && tw_roughed_stops_load(stops, count);
}

static void note_load(struct run_standing *out, const struct run_record *record, const struct tw_record_load *load)
{
    struct tw_run_totals planned = run_record_totals(record, load->load);
    struct tw_run_totals wanted = run_record_wanted(record, load->load);
    struct standing_load *at = &out->loads[out->load_count++];

    *at = (struct standing_load){ .load = load,
                                  .taken_back = tw_record_taken_back(out->state, load->load),
                                  .dressed = tw_record_is_dressed(out->state, load->load),
                                  .outdated = load->state == TW_LOAD_PLANNED &&
                                              memcmp(&planned, &wanted, sizeof planned) != 0 };
    at->for_other_wheel = load->state == TW_LOAD_PLANNED && load->wheel && strcmp(load->wheel, record->wheel) != 0;
    at->outdated = at->outdated || at->for_other_wheel;
    note_roughed(out->state, at);
    for (size_t i = 0; i < out->state->blank_count; i++)
        if (out->state->blanks[i].load == load->load) {
            at->blanks++;
            at->gauged += has_reading(out->state, out->state->blanks[i].number);
        }
    if (load->state == TW_LOAD_PLANNED && at->dressed && !at->roughed && out->dress_next == 0)
        out->dress_next = load->load;
    if (load->state == TW_LOAD_PLANNED && out->grind == 0) {
        out->grind = load->load;
        out->next = at;
    }
    if (load->state == TW_LOAD_GROUND && out->measure == 0)
        out->measure = load->load;
    out->plan = out->plan || at->outdated;
}

/* ---- programs ---- */

/* Whether the file is, to the byte, what was planned. */
static bool is_as_planned(const struct run_standing *standing, const struct tw_record_program *program,
                          const char **what)
{
    struct tw_text path = { 0 }, text = { 0 };
    struct tw_findings unasked = { 0 };
    char sha256[TW_FINGERPRINT_BYTES];
    bool read, same = false;

    tw_text_print(&path, "%s/%s", standing->folder, program->name);
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

static bool is_to_be_ground(const struct run_standing *standing, int load)
{
    for (size_t i = 0; i < standing->load_count; i++)
        if (standing->loads[i].load->load == load)
            return standing->loads[i].load->state == TW_LOAD_PLANNED;
    return false;
}

/* Only what is still to be run matters. */
static void note_programs(struct run_standing *out)
{
    for (size_t i = 0; i < out->state->program_count; i++) {
        const struct tw_record_program *program = &out->state->programs[i];
        const char *what;

        if (is_to_be_ground(out, program->load) && !is_as_planned(out, program, &what))
            out->wrong[out->wrong_count++] = (struct standing_program){ program, what };
    }
    out->plan = out->plan || out->wrong_count > 0;
}

/* ---- blanks ---- */

static void note_unplanned(struct run_standing *out)
{
    for (size_t i = 0; i < out->request->blank_count; i++) {
        bool known = false;

        for (size_t k = 0; k < out->state->blank_count && !known; k++)
            known = strcmp(out->state->blanks[k].number, out->request->blanks[i].number) == 0;
        if (!known)
            out->unplanned[out->unplanned_count++] = &out->request->blanks[i];
    }
    out->plan = out->plan || out->unplanned_count > 0;
}

/* ---- all of it ---- */

static enum tw_status make_room(struct run_standing *out, struct tw_findings *findings)
{
    out->folder = tw_path_beside(out->request->path, out->state->folder);
    out->loads = calloc(out->state->load_count + 1, sizeof *out->loads);
    out->wrong = calloc(out->state->program_count + 1, sizeof *out->wrong);
    out->unplanned = calloc(out->request->blank_count + 1, sizeof *out->unplanned);
    return out->folder && out->loads && out->wrong && out->unplanned ? TW_OK : tw_no_memory(findings);
}

static enum tw_status note_wheel(const struct tw_wheel *wheel, struct run_record *record, struct run_standing *out,
                                 struct tw_findings *findings)
{
    const struct tw_record_load *ground;
    enum tw_status status = run_wheel_set(record, wheel, findings);

    if (status != TW_OK)
        return status;
    out->wheel = run_wheel_so_far(record);
    out->totals = run_record_totals(record, 0);
    if (!run_wheel_is_other(record, &ground))
        return TW_OK;
    out->other_wheel = run_wheel_other_words(record);
    return out->other_wheel ? TW_OK : tw_no_memory(findings);
}

static enum tw_status read_from_job(const struct tw_run_request *request, struct run_record *record,
                                    struct run_standing *out, struct tw_findings *findings)
{
    struct tw_job job;
    enum tw_status status = verb_read_run_job(request, &job, findings);

    if (status != TW_OK)
        return status;
    out->dress_after_mm3 = job.wheel.dress_after_mm3;
    out->inch = job.machine.dialect.inch;
    out->one_face = job.one_face;
    status = note_wheel(&job.wheel, record, out, findings);
    tw_job_free(&job);
    return status;
}

enum tw_status run_standing_make(const struct tw_run_request *request, struct run_record *record,
                                 struct run_standing *out, struct tw_findings *findings)
{
    enum tw_status status;

    *out = (struct run_standing){ .request = request, .state = &record->state };
    status = make_room(out, findings);
    if (status == TW_OK)
        status = read_from_job(request, record, out, findings);
    if (status == TW_OK)
        status = verb_gauge_far_off(request, record, &out->far_off, &out->unexplained, findings);
    if (status != TW_OK) {
        run_standing_free(out);
        return status;
    }
    for (size_t i = 0; i < record->state.load_count; i++)
        note_load(out, record, &record->state.loads[i]);
    note_programs(out);
    note_unplanned(out);
    out->plan = out->plan || tw_record_plan_was_misled(out->state);
    return TW_OK;
}
