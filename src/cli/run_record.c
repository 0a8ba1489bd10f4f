/* run_record.c - see run_record.h. */
#include "cli/run_record.h"

#include "base/file.h"
#include "base/fingerprint.h"
#include "base/memory.h"
#include "base/units.h"
#include "cli/card_set.h"
#include "cli/run_wheel.h"
#include "tangwright/roughed.h"

#include <limits.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

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

/* The list is in the record, the files are in their places or beside them. */
static enum tw_status finish(struct run_record *record, struct tw_findings *findings)
{
    const struct tw_record_state *state = &record->state;
    struct tw_staged_file *files = calloc(state->placing_count, sizeof *files);
    const struct tw_staged_mark marked = card_set_mark();
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

    return run_wheel_is_other(record, &ground) ||
           run_wheel_changes(record, newest_gauged(&record->state)) != run_wheel_changes(record, INT_MAX);
}

/* ---- corrections ---- */

/* What the load's own roughed parts were too thick by; not `found`: what its programs are written with of it. */
static void add_roughed(const struct run_record *record, int load, bool found, struct tw_run_totals *totals)
{
    for (size_t i = 0; i < record->state.roughed_count; i++) {
        const struct tw_record_roughed *roughed = &record->state.roughed[i];

        if (roughed->load == load && roughed->station >= 1 && roughed->station <= TW_RUN_STATIONS_MOST)
            totals->station_mm[roughed->station - 1] += found ? roughed->value_mm : roughed->written_mm;
    }
}

struct tw_run_totals run_record_carried(const struct run_record *record, int load)
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
        else if (strcmp(total->what, "roughing") == 0)
            totals.roughing_mm = total->value_mm;
        else if (total->station >= 1 && total->station <= TW_RUN_STATIONS_MOST)
            totals.station_mm[total->station - 1] = total->value_mm;
    }
    if (load == 0 && is_offset_of_another(record))
        totals.offset_mm = totals.roughing_mm = 0.0;
    return totals;
}

struct tw_run_totals run_record_totals(const struct run_record *record, int load)
{
    struct tw_run_totals totals = run_record_carried(record, load);

    add_roughed(record, load, false, &totals);
    return totals;
}

struct tw_run_totals run_record_wanted(const struct run_record *record, int load)
{
    struct tw_run_roughed roughed = run_record_roughed(record);
    struct tw_run_totals totals = tw_run_keeps(&roughed, load) ? roughed.kept : run_record_carried(record, 0);

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
    out.kept = run_record_carried(record, next);
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

enum tw_status run_record_check_roughed(const struct run_record *record, const struct tw_run_request *request,
                                        const struct tw_run_layout *layout, struct tw_findings *findings)
{
    for (size_t i = 0; request->roughed.load > 0 && i < record->state.blank_count; i++) {
        const struct tw_record_blank *blank = &record->state.blanks[i];

        if (blank->load == request->roughed.load && !lies_there(request, layout, blank))
            return tw_fail(findings, TW_BAD_INPUT, (struct tw_place){ .file = request->path },
                           "load %d is roughed, and its blank %s would come to lie elsewhere: finish this load as the "
                           "run file and its table were, say --done %d, and change them then; a blank that was "
                           "scrapped stays in the table until then, and its place on the fixture empty",
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
    out[count++] = (struct tw_record_total){ .what = "roughing", .value_mm = totals->roughing_mm };
    for (int i = 0; i < TW_RUN_STATIONS_MOST; i++)
        out[count++] =
            (struct tw_record_total){ .what = "station", .station = i + 1, .value_mm = totals->station_mm[i] };
    return count;
}

void run_record_mark(const struct run_record *record, struct tw_run_request *request)
{
    request->totals = run_record_totals(record, 0);
    request->wheel = run_wheel_so_far(record);
    request->roughed = run_record_roughed(record);
    for (size_t i = 0; i < record->state.blank_count; i++) {
        const struct tw_record_blank *known = &record->state.blanks[i];

        for (size_t k = 0; is_ground(&record->state, known->load) && k < request->blank_count; k++)
            if (strcmp(request->blanks[k].number, known->number) == 0)
                request->blanks[k].ground_in = known->load;
    }
}
