/* run_record.c - see run_record.h. */
#include "cli/run_record.h"

#include "base/file.h"
#include "base/fingerprint.h"
#include "base/memory.h"
#include "base/units.h"
#include "cli/card_set.h"
#include "tangwright/roughed.h"

#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Job files round to less. */
#define SAME_MM 1e-3

/* ---- where it is ---- */

char *run_record_path(const char *run_path)
{
    size_t length = strlen(run_path);
    struct tw_text path = { 0 };

    if (length > 4 && strcmp(run_path + length - 4, ".cfg") == 0)
        length -= 4;
    tw_text_append(&path, run_path, length);
    tw_text_print(&path, ".record");
    return tw_text_take(&path);
}

static struct tw_staged_mark mark(void)
{
    return (struct tw_staged_mark){ card_set_mark_name(), card_set_mark_text() };
}

/* The list is in the record, the files are in their places or beside them. */
static enum tw_status finish(struct run_record *record, struct tw_findings *findings)
{
    const struct tw_record_state *state = &record->state;
    struct tw_staged_file *files = calloc(state->placing_count, sizeof *files);
    const struct tw_staged_mark marked = mark();
    enum tw_status status = files ? TW_OK : tw_no_memory(findings);

    for (size_t i = 0; status == TW_OK && i < state->placing_count; i++) {
        files[i].target = tw_copy_string(state->placing[i].target);
        files[i].staged = state->placing[i].aside ? tw_copy_string(state->placing[i].aside) : NULL;
        if (!files[i].target || (state->placing[i].aside && !files[i].staged))
            status = tw_no_memory(findings);
    }
    if (status == TW_OK)
        status = tw_staged_finish(files, state->placing_count, &marked, findings);
    if (status == TW_OK)
        status = tw_record_placed(record->record, findings);
    for (size_t i = 0; files && i < state->placing_count; i++) {
        free(files[i].target);
        free(files[i].staged);
    }
    free(files);
    return status;
}

/* Another run that lives may be at it just now. A folder that is gone has nothing left to be done. */
static enum tw_status recover(const char *run_path, struct run_record *record, struct tw_findings *findings)
{
    struct tw_findings unasked = { 0 };
    struct tw_staged held;
    char *folder = tw_path_beside(run_path, record->state.folder);
    enum tw_status status = folder ? TW_OK : tw_no_memory(findings);

    if (status == TW_OK && tw_staged_open(folder, &held, &unasked) == TW_OK) {
        status = finish(record, findings);
        tw_staged_close(&held);
    }
    tw_findings_free(&unasked);
    free(folder);
    return status;
}

/* Of a run that something was ground of, copied or renamed. */
static enum tw_status check_name(const struct tw_run_request *request, const char *path,
                                 const struct tw_record_state *state, struct tw_findings *findings)
{
    if (!state->name || strcmp(state->name, request->name) == 0 || tw_record_last_ground(state) == 0)
        return TW_OK;
    return tw_fail(
        findings, TW_BAD_INPUT, (struct tw_place){ .file = path },
        "is the record of \"%s\", of which loads are ground, and the run file's name is \"%s\": give it that "
        "name again, or move the record away, so that this run begins one of its own",
        state->name, request->name);
}

enum tw_status run_record_open(const struct tw_run_request *request, bool make, struct run_record *out,
                               struct tw_findings *findings)
{
    char *path = run_record_path(request->path);
    enum tw_status status;

    *out = (struct run_record){ 0 };
    if (!path)
        return tw_no_memory(findings);
    status = tw_record_open(path, make, &out->record, findings);
    if (status == TW_OK && out->record)
        status = tw_record_read(out->record, &out->state, findings);
    if (status == TW_OK)
        status = check_name(request, path, &out->state, findings);
    if (status == TW_OK && out->state.placing_count > 0 && out->state.folder)
        status = recover(request->path, out, findings);
    if (status != TW_OK)
        run_record_close(out);
    free(path);
    return status;
}

void run_record_close(struct run_record *record)
{
    tw_record_state_free(&record->state);
    tw_record_close(record->record);
    free(record->wheel);
    *record = (struct run_record){ 0 };
}

static bool is_ground(const struct tw_record_state *state, int load)
{
    for (size_t i = 0; i < state->load_count; i++)
        if (state->loads[i].load == load)
            return state->loads[i].state >= TW_LOAD_GROUND;
    return false;
}

/* ---- by which wheel ---- */

/* Of the loads that are ground, and of those up to that one, the last that tells its wheel; NULL: none does. */
static const struct tw_record_load *last_told(const struct tw_record_state *state, int load)
{
    const struct tw_record_load *last = NULL;

    for (size_t i = 0; i < state->load_count && state->loads[i].load <= load; i++)
        if (state->loads[i].state >= TW_LOAD_GROUND && state->loads[i].wheel)
            last = &state->loads[i];
    return last;
}

int run_record_changes(const struct run_record *record, int load)
{
    const struct tw_record_state *state = &record->state;
    const char *before = NULL;
    int count = 0;

    for (size_t i = 0; i < state->load_count && state->loads[i].load <= load; i++) {
        const char *wheel = state->loads[i].wheel;

        if (state->loads[i].state < TW_LOAD_GROUND || !wheel)
            continue;
        count += before && strcmp(before, wheel) != 0;
        before = wheel;
    }
    return count;
}

enum tw_status run_record_set_wheel(struct run_record *record, const struct tw_wheel *wheel,
                                    struct tw_findings *findings)
{
    free(record->wheel);
    record->wheel = run_record_wheel_words(wheel);
    return record->wheel ? TW_OK : tw_no_memory(findings);
}

bool run_record_is_other_wheel(const struct run_record *record, const struct tw_record_load **ground)
{
    *ground = last_told(&record->state, INT_MAX);
    return record->wheel && *ground && strcmp((*ground)->wheel, record->wheel) != 0;
}

char *run_record_other_wheel_words(const struct run_record *record)
{
    const struct tw_record_load *ground;
    struct tw_text text = { 0 };

    if (!run_record_is_other_wheel(record, &ground))
        return NULL;
    tw_text_print(&text,
                  "the job names another wheel (%s) than load %d was ground by (%s): as after a dressing a new level "
                  "begins, so no offset is carried over to it, and what it takes off and loses is counted from its "
                  "first load",
                  record->wheel, ground->load, ground->wheel);
    return tw_text_take(&text);
}

/* The newest load of which finished parts were measured; 0: none. */
static int newest_gauged(const struct tw_record_state *state)
{
    int newest = 0;

    for (size_t i = 0; i < state->reading_count; i++)
        for (size_t k = 0; k < state->blank_count; k++)
            if (state->blanks[k].load > newest && strcmp(state->blanks[k].number, state->readings[i].part) == 0)
                newest = state->blanks[k].load;
    return newest;
}

/* The offset of today was told by parts of another wheel, or of this one before it was taken off. */
static bool is_offset_of_another(const struct run_record *record)
{
    const struct tw_record_load *ground;

    return run_record_is_other_wheel(record, &ground) ||
           run_record_changes(record, newest_gauged(&record->state)) != run_record_changes(record, INT_MAX);
}

/* ---- corrections ---- */

/* What the load's own roughed parts were too thick by; `found`: what its programs are not yet written with, too. */
static void add_roughed(const struct run_record *record, int load, bool found, struct tw_run_totals *totals)
{
    for (size_t i = 0; i < record->state.roughed_count; i++) {
        const struct tw_record_roughed *roughed = &record->state.roughed[i];

        if (roughed->load == load && (roughed->planned || found) && roughed->station >= 1 &&
            roughed->station <= TW_RUN_STATIONS_MOST)
            totals->station_mm[roughed->station - 1] += roughed->value_mm;
    }
}

/* What of the load's own roughed parts is aside. */
static struct tw_run_totals told_by_finished(const struct run_record *record, int load)
{
    struct tw_run_totals totals = { 0 };

    for (size_t i = 0; i < record->state.total_count; i++) {
        const struct tw_record_total *total = &record->state.totals[i];

        if (total->load != load || !total->what)
            continue;
        if (strcmp(total->what, "offset") == 0)
            totals.offset_mm = total->value_mm;
        else if (strcmp(total->what, "taper") == 0)
            totals.taper_mm = total->value_mm;
        else if (total->station >= 1 && total->station <= TW_RUN_STATIONS_MOST)
            totals.station_mm[total->station - 1] = total->value_mm;
    }
    if (load == 0 && is_offset_of_another(record))
        totals.offset_mm = 0.0;
    return totals;
}

struct tw_run_totals run_record_totals(const struct run_record *record, int load)
{
    struct tw_run_totals totals = told_by_finished(record, load);

    add_roughed(record, load, false, &totals);
    return totals;
}

struct tw_run_totals run_record_wanted(const struct run_record *record, int load)
{
    struct tw_run_roughed roughed = run_record_roughed(record);
    struct tw_run_totals totals = tw_run_keeps(&roughed, load) ? roughed.kept : told_by_finished(record, 0);

    add_roughed(record, load, true, &totals);
    return totals;
}

struct tw_run_roughed run_record_roughed(const struct run_record *record)
{
    struct tw_run_roughed out = { 0 };
    int next = tw_record_last_ground(&record->state) + 1;

    for (size_t i = 0; i < record->state.roughed_count; i++) {
        const struct tw_record_roughed *roughed = &record->state.roughed[i];

        if (roughed->load != next || roughed->station < 1 || roughed->station > TW_RUN_STATIONS_MOST)
            continue;
        out.load = next;
        out.station_mm[roughed->station - 1] = roughed->value_mm;
        out.other_wheel = out.other_wheel || tw_roughed_stop_named(roughed->stop) == TW_ROUGHED_OTHER_WHEEL;
    }
    out.kept = told_by_finished(record, next);
    return out;
}

/* ---- the chart ---- */

static size_t find_part(const struct tw_record_state *state, const char *part)
{
    size_t i = 0;

    while (i < state->blank_count && (strcmp(state->blanks[i].number, part) != 0 || state->blanks[i].load == 0))
        i++;
    return i;
}

/* Blanks stand by load and station, which is the order of grinding. */
enum tw_status run_record_chart(const struct run_record *record, const struct tw_job *job,
                                struct tw_run_request *request, struct tw_findings *findings)
{
    const struct tw_record_state *state = &record->state;
    double *sums_mm = calloc(2 * state->blank_count + 1, sizeof *sums_mm), *counts = sums_mm + state->blank_count;

    request->gauged = calloc(state->blank_count + 1, sizeof *request->gauged);
    if (!sums_mm || !request->gauged) {
        free(sums_mm);
        return tw_no_memory(findings);
    }
    for (size_t i = 0; i < state->reading_count; i++) {
        const struct tw_record_reading *reading = &state->readings[i];
        size_t at = find_part(state, reading->part);
        const struct tw_record_blank *blank = &state->blanks[at];

        if (at == state->blank_count || blank->planned_mm == 0.0)
            continue;
        sums_mm[at] += reading->thickness_mm - tw_run_aim_mm(job, blank->planned_mm, blank->butt_mm, reading->x_mm);
        counts[at] += 1.0;
    }
    for (size_t i = 0; i < state->blank_count; i++)
        if (counts[i] > 0.0)
            request->gauged[request->gauged_count++] =
                (struct tw_run_gauged){ state->blanks[i].load, tw_record_is_dressed(state, state->blanks[i].load),
                                        sums_mm[i] / counts[i] };
    free(sums_mm);
    return TW_OK;
}

static bool lies_there(const struct tw_run_request *request, const struct tw_run_layout *layout,
                       const struct tw_record_blank *blank)
{
    for (size_t load = 0; load < layout->load_count; load++)
        for (size_t i = 0; i < layout->loads[load].count; i++) {
            const struct tw_run_place *place = &layout->loads[load].places[i];

            if (strcmp(tw_run_number(request, place), blank->number) == 0)
                return (int)tw_run_load_number(layout, load) == blank->load && place->station + 1 == blank->station;
        }
    return false;
}

char *run_record_wheel_words(const struct tw_wheel *wheel)
{
    struct tw_text text = { 0 };

    tw_text_print(&text, "%s, %s across", wheel->name, tw_length_text(wheel->diameter_mm, 2, false).text);
    tw_text_print(&text, ", %s %s", tw_length_text(wheel->width_mm, 2, false).text,
                  wheel->kind == TW_WHEEL_CUP ? "high" : "wide");
    if (wheel->kind == TW_WHEEL_CUP)
        tw_text_print(&text, ", rim %s wide", tw_length_text(wheel->rim_width_mm, 2, false).text);
    return tw_text_take(&text);
}

static enum tw_status refuse_wheel(const struct tw_run_request *request, const struct tw_record_roughed *roughed,
                                   const char *wheel, struct tw_findings *findings)
{
    return tw_fail(findings, TW_BAD_INPUT, (struct tw_place){ .file = request->path },
                   "the parts of load %d were roughed and gauged by another wheel (%s) than the job names now (%s): "
                   "what they were "
                   "off by tells nothing of it. Say that the wheel was changed, tangwright run %s --dressed %d, and "
                   "plan again; or "
                   "give the job its wheel back",
                   roughed->load, roughed->wheel, wheel, request->path, roughed->load);
}

enum tw_status run_record_check_wheel(const struct run_record *record, const struct tw_run_request *request,
                                      const struct tw_wheel *wheel, struct tw_findings *findings)
{
    char *words = run_record_wheel_words(wheel);
    enum tw_status status = words ? TW_OK : tw_no_memory(findings);

    for (size_t i = 0; status == TW_OK && i < record->state.roughed_count; i++) {
        const struct tw_record_roughed *roughed = &record->state.roughed[i];

        if (roughed->load == request->roughed.load && roughed->wheel && strcmp(roughed->wheel, words) != 0 &&
            tw_roughed_stop_named(roughed->stop) != TW_ROUGHED_OTHER_WHEEL)
            status = refuse_wheel(request, roughed, words, findings);
    }
    free(words);
    return status;
}

enum tw_status run_record_check_roughed(const struct run_record *record, const struct tw_run_request *request,
                                        const struct tw_run_layout *layout, struct tw_findings *findings)
{
    for (size_t i = 0; request->roughed.load > 0 && i < record->state.blank_count; i++) {
        const struct tw_record_blank *blank = &record->state.blanks[i];

        if (blank->load == request->roughed.load && !lies_there(request, layout, blank))
            return tw_fail(findings, TW_BAD_INPUT, (struct tw_place){ .file = request->path },
                           "load %d is roughed, and its blank %s would come to lie elsewhere: finish this load as the "
                           "run file and its table were, say --done %d, and change them then",
                           blank->load, blank->number, blank->load);
    }
    return TW_OK;
}

/* A load is stopped by what its parts were measured to be; dressed or changed in between, the wheel asks for its programs anew. */
enum tw_status run_record_check_stops(const struct run_record *record, const struct tw_run_request *request,
                                      struct tw_findings *findings)
{
    enum tw_roughed_stop stops[TW_RUN_STATIONS_MOST], first = TW_ROUGHED_GOES_ON;
    size_t count = 0;

    for (size_t i = 0; i < record->state.roughed_count && count < TW_RUN_STATIONS_MOST; i++) {
        const struct tw_record_roughed *roughed = &record->state.roughed[i];
        enum tw_roughed_stop stop = tw_roughed_stop_named(roughed->stop);

        if (roughed->load != request->roughed.load)
            continue;
        stops[count++] = stop;
        if (stop != TW_ROUGHED_GOES_ON && first == TW_ROUGHED_GOES_ON)
            first = stop;
    }
    if (first == TW_ROUGHED_GOES_ON || request->roughed.other_wheel || !tw_roughed_stops_load(stops, count))
        return TW_OK;
    return tw_fail(
        findings, TW_BAD_INPUT, (struct tw_place){ .file = request->path },
        "load %d is not to be finished as it is, so that nothing is written: a part of it is %s; %s. Its programs "
        "stay as they are until its parts are measured again, tangwright gauge %s TABLE --roughed",
        request->roughed.load, tw_roughed_stop_words(first), tw_roughed_stop_cure(first), request->path);
}

size_t run_record_list_totals(const struct tw_run_totals *totals, struct tw_record_total out[RUN_TOTALS_MOST])
{
    size_t count = 0;

    out[count++] = (struct tw_record_total){ .what = "offset", .value_mm = totals->offset_mm };
    out[count++] = (struct tw_record_total){ .what = "taper", .value_mm = totals->taper_mm };
    for (int i = 0; i < TW_RUN_STATIONS_MOST; i++)
        out[count++] =
            (struct tw_record_total){ .what = "station", .station = i + 1, .value_mm = totals->station_mm[i] };
    return count;
}

/* Another wheel is on: what is known is only before which loads one is dressed. */
static void begin_wheel(struct tw_run_wheel *wheel)
{
    struct tw_run_wheel begun = { 0 };

    memcpy(begun.dressed, wheel->dressed, sizeof begun.dressed);
    *wheel = begun;
}

/* Loads stand in their order. */
struct tw_run_wheel run_record_wheel(const struct run_record *record)
{
    const struct tw_record_state *state = &record->state;
    const struct tw_record_load *ground;
    struct tw_run_wheel wheel = { 0 };

    for (size_t i = 0; i < state->dressing_count; i++)
        if (state->dressings[i] >= 1 && state->dressings[i] <= TW_RUN_BLANKS_MOST)
            wheel.dressed[state->dressings[i]] = true;
    for (size_t i = 0; i < state->load_count; i++) {
        const struct tw_record_load *load = &state->loads[i];

        if (load->state < TW_LOAD_GROUND)
            continue;
        if (run_record_changes(record, load->load) != run_record_changes(record, load->load - 1))
            begin_wheel(&wheel);
        wheel.used = true;
        if (tw_record_is_dressed(state, load->load)) {
            wheel.since_mm3 = 0.0;
            wheel.dressings++;
        }
        wheel.removed_mm3 += load->removed_mm3;
        wheel.since_mm3 += load->removed_mm3;
        wheel.lost_mm += load->wheel_mm;
    }
    if (run_record_is_other_wheel(record, &ground))
        begin_wheel(&wheel);
    return wheel;
}

void run_record_mark(const struct run_record *record, struct tw_run_request *request)
{
    request->totals = run_record_totals(record, 0);
    request->wheel = run_record_wheel(record);
    request->roughed = run_record_roughed(record);
    for (size_t i = 0; i < record->state.blank_count; i++) {
        const struct tw_record_blank *known = &record->state.blanks[i];

        for (size_t k = 0; is_ground(&record->state, known->load) && k < request->blank_count; k++)
            if (strcmp(request->blanks[k].number, known->number) == 0)
                request->blanks[k].ground_in = known->load;
    }
}

/* ---- what is written ---- */

void run_notes_free(struct run_notes *notes)
{
    for (size_t i = 0; i < notes->text_count; i++)
        free(notes->texts[i]);
    free(notes->texts);
    free(notes->programs);
    *notes = (struct run_notes){ 0 };
}

/* Takes the text over. */
static const char *keep(struct run_notes *notes, char *text)
{
    if (text && tw_grow((void **)&notes->texts, &notes->text_capacity, notes->text_count + 1, sizeof *notes->texts)) {
        notes->texts[notes->text_count++] = text;
        return text;
    }
    free(text);
    return NULL;
}

enum tw_status run_notes_add(struct run_notes *notes, const char *folder, int load, const struct tw_card *cards,
                             size_t count, const char *digest, struct tw_findings *findings)
{
    for (size_t i = 0; i < count; i++) {
        const struct tw_card *card = &cards[i];
        struct tw_record_program program = { .load = load };
        struct tw_text name = { 0 };

        tw_text_print(&name, "%s/%s", folder, card->name);
        program.name = keep(notes, tw_text_take(&name));
        program.inputs = keep(notes, tw_copy_string(digest));
        tw_fingerprint(card->text, card->length, program.sha256);
        if (!program.name || !program.inputs ||
            !tw_grow((void **)&notes->programs, &notes->program_capacity, notes->program_count + 1,
                     sizeof *notes->programs))
            return tw_no_memory(findings);
        notes->programs[notes->program_count++] = program;
    }
    return TW_OK;
}

/* ---- the plan as the record takes it ---- */

struct taking {
    const struct tw_run_outcome *outcome;
    struct tw_record_blank *blanks;
    struct tw_record_survey *surveys;
    struct tw_record_load *loads;
    struct tw_text *survey_texts;
    struct tw_record_file *placing;
    size_t survey_count, load_count;
    const char *wheel;
    struct tw_findings *findings;
};

static enum tw_status open_taking(struct taking *taking, const struct tw_staged *staged)
{
    size_t count = taking->outcome->request->blank_count + 1;

    taking->placing = calloc(staged->count + 1, sizeof *taking->placing);
    for (size_t i = 0; taking->placing && i < staged->count; i++)
        taking->placing[i] = (struct tw_record_file){ staged->files[i].target, staged->files[i].staged };
    taking->blanks = calloc(count, sizeof *taking->blanks);
    taking->surveys = calloc(count, sizeof *taking->surveys);
    taking->survey_texts = calloc(count, sizeof *taking->survey_texts);
    taking->loads = calloc(count, sizeof *taking->loads);
    return taking->blanks && taking->surveys && taking->survey_texts && taking->loads && taking->placing
               ? TW_OK
               : tw_no_memory(taking->findings);
}

static void close_taking(struct taking *taking)
{
    for (size_t i = 0; i < taking->survey_count; i++)
        tw_text_free(&taking->survey_texts[i]);
    free(taking->survey_texts);
    free(taking->blanks);
    free(taking->surveys);
    free(taking->loads);
    free(taking->placing);
}

/* The survey's bytes go into the record: the file may change, and what was planned by it must stay known. */
static enum tw_status take_survey(struct taking *taking, const char *path, struct tw_record_blank *blank)
{
    struct tw_text *text = &taking->survey_texts[taking->survey_count];
    struct tw_record_survey *survey = &taking->surveys[taking->survey_count];
    const char *slash = strrchr(path, '/');
    enum tw_status status;

    taking->survey_count++;
    status = tw_file_read(path, text, taking->findings);
    if (status != TW_OK)
        return status;
    tw_fingerprint(text->data, text->length, survey->sha256);
    survey->name = slash ? slash + 1 : path;
    survey->text = text->data;
    blank->survey_sha256 = survey->sha256;
    return TW_OK;
}

static enum tw_status take_blanks(struct taking *taking)
{
    const struct tw_run_request *request = taking->outcome->request;
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < request->blank_count; i++) {
        const struct tw_run_blank *blank = &request->blanks[i];

        taking->blanks[i] = (struct tw_record_blank){ .number = blank->number,
                                                      .thickness_mm = blank->thickness_mm,
                                                      .remark = blank->remark };
        if (blank->survey)
            status = take_survey(taking, blank->survey, &taking->blanks[i]);
    }
    return status;
}

static void take_layout(struct taking *taking)
{
    const struct tw_run_layout *layout = taking->outcome->layout;

    for (size_t i = 0; i < layout->aside_count; i++)
        taking->blanks[layout->aside[i].blank].aside = layout->aside[i].reason;
    for (size_t load = 0; load < layout->load_count; load++) {
        const struct tw_load_figures *figures = &taking->outcome->loads[load];
        int number = (int)tw_run_load_number(layout, load);

        for (size_t i = 0; i < layout->loads[load].count; i++) {
            const struct tw_run_place *place = &layout->loads[load].places[i];
            struct tw_record_blank *blank = &taking->blanks[place->blank];

            blank->thickness_mm = place->thickness_mm;
            blank->aside = figures->refusal;
            if (figures->refusal)
                continue;
            blank->load = number;
            blank->station = place->station + 1;
            blank->inputs = figures->places[i].digest;
            blank->planned_mm = figures->places[i].planned_mm;
            blank->butt_mm = figures->places[i].butt_mm;
        }
        if (!figures->refusal)
            taking->loads[taking->load_count++] =
                (struct tw_record_load){ .load = number,
                                         .cycle_s = figures->cycle_s,
                                         .removed_mm3 = figures->removed_mm3,
                                         .wheel_mm = figures->wheel_mm,
                                         .dress_before = tw_run_dresses_before(taking->outcome, load),
                                         .wheel = taking->wheel };
    }
}

/* Where the run was written, as seen from its file: both may be moved together. */
static enum tw_status find_folder(const char *run_path, const char *folder, char **out, struct tw_findings *findings)
{
    const char *slash = strrchr(run_path, '/');
    struct tw_text home = { 0 };
    enum tw_status status;

    tw_text_append(&home, slash ? run_path : ".", slash ? (size_t)(slash - run_path) + 1 : 1);
    status = home.failed ? tw_no_memory(findings) : tw_path_from(home.data, folder, out, findings);
    tw_text_free(&home);
    return status;
}

/* Roughed faces stand where the job had them: another taper would have its first finishing layer take all the difference. */
static enum tw_status check_shape(const struct run_record *record, const struct taking *taking,
                                  const struct tw_run_request *request)
{
    const struct tw_record_state *state = &record->state;

    for (size_t i = 0; i < state->blank_count; i++)
        for (size_t k = 0; k < request->blank_count && tw_run_keeps(&request->roughed, state->blanks[i].load); k++) {
            const struct tw_record_blank *was = &state->blanks[i], *now = &taking->blanks[k];

            if (strcmp(was->number, now->number) == 0 &&
                fmax(fabs(was->planned_mm - now->planned_mm), fabs(was->butt_mm - now->butt_mm)) > SAME_MM)
                return tw_fail(taking->findings, TW_BAD_INPUT, (struct tw_place){ .file = request->path },
                               "load %d is roughed for a taper from %.4f to %.4f mm, and its blank %s would now be "
                               "finished from %.4f to "
                               "%.4f mm: finish this load by the job as it was, say --done %d, and change the job then",
                               was->load, was->planned_mm, was->butt_mm, was->number, now->planned_mm, now->butt_mm,
                               was->load);
        }
    return TW_OK;
}

enum tw_status run_record_plan(const struct run_record *record, const struct tw_run_outcome *outcome,
                               const struct run_notes *notes, const char *folder, struct tw_staged *staged,
                               struct tw_findings *findings)
{
    const struct tw_staged_mark marked = mark();
    struct taking taking = { .outcome = outcome, .wheel = record->wheel, .findings = findings };
    const struct tw_run_request *request = outcome->request;
    struct tw_record_total totals[RUN_TOTALS_MOST], kept[RUN_TOTALS_MOST];
    struct tw_record_plan plan = { .change = record->state.change,
                                   .name = outcome->request->name,
                                   .programs = notes->programs,
                                   .program_count = notes->program_count,
                                   .totals = totals,
                                   .total_count = run_record_list_totals(&outcome->request->totals, totals) };
    char *from_here = NULL;
    enum tw_status status = open_taking(&taking, staged);

    if (tw_run_keeps(&request->roughed, request->roughed.load)) {
        run_record_list_totals(&request->roughed.kept, kept);
        plan.kept = kept;
        plan.kept_load = request->roughed.load;
    }
    if (status == TW_OK)
        status = take_blanks(&taking);
    if (status == TW_OK)
        status = find_folder(outcome->request->path, folder, &from_here, findings);
    if (status == TW_OK) {
        take_layout(&taking);
        status = check_shape(record, &taking, request);
    }
    if (status == TW_OK) {
        plan.folder = from_here;
        plan.blanks = taking.blanks;
        plan.blank_count = outcome->request->blank_count;
        plan.surveys = taking.surveys;
        plan.survey_count = taking.survey_count;
        plan.loads = taking.loads;
        plan.load_count = taking.load_count;
        plan.placing = taking.placing;
        plan.placing_count = staged->count;
        status = tw_record_plan(record->record, &plan, findings);
    }
    if (status == TW_OK)
        status = tw_staged_place(staged, &marked, findings);
    if (status == TW_OK)
        status = tw_record_placed(record->record, findings);
    free(from_here);
    close_taking(&taking);
    return status;
}
