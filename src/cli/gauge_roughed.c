/* gauge_roughed.c - readings of a run's parts between roughing and finishing: into its record, and into the programs of their own
 * load. */
#include "cli/verbs.h"

#include "base/file.h"
#include "base/fingerprint.h"
#include "base/units.h"
#include "cli/run_record.h"
#include "cli/run_wheel.h"
#include "geometry/ring.h"
#include "tangwright/correct.h"
#include "tangwright/roughed.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Programs round to more. */
#define NOTHING_MM 1e-6

struct roughing {
    const struct options *options;
    const struct tw_run_request *request;
    struct run_record record;
    const struct tw_job *job;
    struct tw_gaugings readings;
    char sha256[TW_SHA256_BYTES];
    bool known; /* the file is in the record already */
    int load;   /* that is not ground, and next */
    struct tw_roughed_part parts[TW_RUN_STATIONS_MOST];
    struct tw_roughed_found found[TW_RUN_STATIONS_MOST];
    size_t count;
    double gauge_mm;
    struct tw_findings *findings;
};

/* ---- the load in hand ---- */

/* What was found of the part by older readings; NULL: nothing. */
static const struct tw_record_roughed *older(const struct roughing *roughing, int station)
{
    const struct tw_record_state *state = &roughing->record.state;

    for (size_t i = 0; i < state->roughed_count; i++)
        if (state->roughed[i].load == roughing->load && state->roughed[i].station == station)
            return &state->roughed[i];
    return NULL;
}

/* ---- what loads before foretell ---- */

/* How often the wheel was dressed or changed up to that load. */
static int wheels_before(const struct roughing *roughing, int load)
{
    const struct tw_record_state *state = &roughing->record.state;
    int count = run_wheel_changes(&roughing->record, load);

    for (size_t i = 0; i < state->load_count; i++)
        count += state->loads[i].load <= load && tw_record_is_dressed(state, state->loads[i].load);
    return count;
}

/* What carried corrections make a part of that load thinner, in its middle. */
static double carried_mm(const struct roughing *roughing, int load, int station)
{
    struct tw_run_totals totals = run_record_carried(&roughing->record, load);
    double length_mm = roughing->job->taper.length_mm;

    return tw_run_total_mm(&totals, station, 0.5 * length_mm, length_mm);
}

/* The newest load before that tells what the wheel, as it is, leaves on that station; NULL: none. */
static const struct tw_record_roughed *before(const struct roughing *roughing, int station)
{
    const struct tw_record_state *state = &roughing->record.state;
    const struct tw_record_roughed *newest = NULL;

    for (size_t i = 0; i < state->roughed_count; i++) {
        const struct tw_record_roughed *one = &state->roughed[i];

        if (one->load < roughing->load && one->station == station && one->told && !one->stop && one->wheel &&
            strcmp(one->wheel, roughing->record.wheel) == 0 &&
            wheels_before(roughing, one->load) == wheels_before(roughing, roughing->load) &&
            (!newest || one->load > newest->load))
            newest = one;
    }
    return newest;
}

/* Measured for the first time, it is as far off as the part there before, but for what its load is corrected by since. */
static void foretell(const struct roughing *roughing, struct tw_roughed_part *part)
{
    const struct tw_record_roughed *one = part->told ? NULL : before(roughing, part->station);

    if (!one)
        return;
    part->foretold = true;
    part->foretold_mm = one->value_mm + carried_mm(roughing, one->load, part->station) -
                        carried_mm(roughing, roughing->load, part->station) - part->written_mm;
}

/* ---- the parts ---- */

/* What is known of the part so far. Readings that are in the record already are not held against what they themselves told. */
static struct tw_roughed_part part_of(const struct roughing *roughing, const struct tw_record_blank *blank)
{
    const struct tw_record_roughed *known = older(roughing, blank->station);
    struct tw_roughed_part part = { .number = blank->number,
                                    .station = blank->station,
                                    .ricasso_mm = blank->thickness_mm,
                                    .planned_mm = blank->planned_mm,
                                    .butt_mm = blank->butt_mm };

    if (known) {
        part.value_mm = known->value_mm;
        part.written_mm = roughing->known && known->told ? known->cut_mm : known->written_mm;
        part.told = known->told;
        part.cut_mm = known->cut_mm;
        part.was_off_mm = known->off_mm;
    }
    foretell(roughing, &part);
    return part;
}

static bool is_known_file(const struct roughing *roughing)
{
    const struct tw_record_state *state = &roughing->record.state;

    for (size_t i = 0; i < state->file_count; i++)
        if (strcmp(state->files[i], roughing->sha256) == 0)
            return true;
    return false;
}

static void list_parts(struct roughing *roughing)
{
    const struct tw_record_state *state = &roughing->record.state;

    for (size_t i = 0; i < state->blank_count && roughing->count < TW_RUN_STATIONS_MOST; i++) {
        const struct tw_record_blank *blank = &state->blanks[i];

        if (blank->load == roughing->load)
            roughing->parts[roughing->count++] = part_of(roughing, blank);
    }
}

static enum tw_status find_load(struct roughing *roughing)
{
    struct tw_place at = { .file = roughing->request->path };

    if (!roughing->record.record)
        return tw_fail(roughing->findings, TW_BAD_INPUT, at,
                       "has no record yet: plan the run with tangwright run RUN --out DIR, and rough a load by it");
    roughing->load = tw_record_last_ground(&roughing->record.state) + 1;
    list_parts(roughing);
    if (roughing->count == 0)
        return tw_fail(roughing->findings, TW_BAD_INPUT, at,
                       "has no load that is planned and not ground: finished parts are gauged without --roughed");
    if (!tw_record_is_roughed_apart(&roughing->record.state, roughing->load))
        return tw_fail(
            roughing->findings, TW_BAD_INPUT, at,
            "load %d, the next one, has no roughing programs of its own (order = \"rough-then-finish\" in the "
            "job); its parts are measured when they are finished, without --roughed",
            roughing->load);
    return TW_OK;
}

/* What is wrong with a part is wrong in each of its lines, and told of once. */
static enum tw_status check_part(const struct roughing *roughing, const struct tw_gauging *reading)
{
    struct tw_place at = { .file = roughing->readings.path, .line = reading->line };

    for (size_t i = 0; i < roughing->count; i++) {
        const struct tw_roughed_part *part = &roughing->parts[i];

        if (strcmp(part->number, reading->part) != 0)
            continue;
        if (reading->station == 0 || reading->station == part->station)
            return TW_OK;
        return tw_fail(
            roughing->findings, TW_BAD_INPUT, at,
            "part %s was planned for station %d, and the reading says station %d; correct the table, or leave "
            "the column out",
            reading->part, part->station, reading->station);
    }
    return tw_fail(
        roughing->findings, TW_BAD_INPUT, at,
        "part %s does not lie in load %d, the next one to be finished; correct the part's number, or say first "
        "which loads are ground: tangwright run %s --done LOAD",
        reading->part, roughing->load, roughing->request->path);
}

static enum tw_status check_place(const struct roughing *roughing, const struct tw_gauging *reading)
{
    double butt_mm = tw_ring_box(&roughing->job->part.tang.outer).max_x_mm;

    if (reading->x_mm <= butt_mm)
        return TW_OK;
    return tw_fail(roughing->findings, TW_BAD_INPUT,
                   (struct tw_place){ .file = roughing->readings.path, .line = reading->line },
                   "x: %.6g mm lies behind the butt, which is %.2f mm behind the taper start", reading->x_mm, butt_mm);
}

/* All faults at once. */
static enum tw_status check_readings(const struct roughing *roughing)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; i < roughing->readings.count; i++) {
        const struct tw_gauging *reading = &roughing->readings.items[i];
        enum tw_status one = verb_is_part_again(&roughing->readings, i) ? TW_OK : check_part(roughing, reading);

        if (one == TW_OK)
            one = check_place(roughing, reading);
        status = status == TW_OK ? one : status;
    }
    return status;
}

static enum tw_status read_readings(struct roughing *roughing)
{
    const char *path = roughing->options->operands[1];
    struct tw_text text = { 0 };
    enum tw_status status = tw_file_read(path, &text, roughing->findings);

    if (status == TW_OK)
        tw_fingerprint(text.data, text.length, roughing->sha256);
    tw_text_free(&text);
    return status == TW_OK ? tw_gaugings_read(path, &roughing->readings, roughing->findings) : status;
}

/* ---- into the record ---- */

/* Readings that stop a part tell nothing of the plane that it was cut by, so what was known of it stays. */
static struct tw_record_roughed record_of(const struct roughing *roughing, size_t part, const char *wheel)
{
    const struct tw_record_roughed *before = older(roughing, roughing->parts[part].station);
    const struct tw_roughed_found *found = &roughing->found[part];
    struct tw_record_roughed out = { .load = roughing->load,
                                     .station = roughing->parts[part].station,
                                     .value_mm = found->value_mm,
                                     .stop = tw_roughed_stop_name(found->stop),
                                     .wheel = wheel,
                                     .left_mm = found->again_mm,
                                     .written_mm = before ? before->written_mm : 0.0,
                                     .told = found->stop == TW_ROUGHED_GOES_ON };

    if (out.told) {
        out.cut_mm = found->cut_mm;
        out.off_mm = found->off_mm;
    } else if (before) {
        out.told = before->told;
        out.cut_mm = before->cut_mm;
        out.off_mm = before->off_mm;
    }
    return out;
}

/* Parts that were not measured keep what is known of them. */
static size_t list_found(const struct roughing *roughing, const char *wheel,
                         struct tw_record_roughed out[TW_RUN_STATIONS_MOST])
{
    size_t count = 0;

    for (size_t i = 0; i < roughing->count; i++)
        if (roughing->found[i].readings > 0)
            out[count++] = record_of(roughing, i, wheel);
    return count;
}

static enum tw_status note(struct roughing *roughing)
{
    const struct tw_gaugings *taken = &roughing->readings;
    struct tw_record_reading *readings = calloc(taken->count + 1, sizeof *readings);
    char *wheel = run_wheel_words(&roughing->job->wheel);
    struct tw_record_roughed found[TW_RUN_STATIONS_MOST];
    struct tw_record_roughing what = { .sha256 = roughing->sha256,
                                       .name = taken->path,
                                       .readings = readings,
                                       .count = taken->count,
                                       .found = found,
                                       .found_count = list_found(roughing, wheel, found),
                                       .change = roughing->record.state.change };
    enum tw_status status = readings && wheel ? TW_OK : tw_no_memory(roughing->findings);

    for (size_t i = 0; status == TW_OK && i < taken->count; i++)
        readings[i] = (struct tw_record_reading){ taken->items[i].part, taken->items[i].station, taken->items[i].x_mm,
                                                  taken->items[i].y_mm, taken->items[i].thickness_mm };
    if (status == TW_OK)
        status = tw_record_rough(roughing->record.record, &what, &roughing->known, roughing->findings);
    free(readings);
    free(wheel);
    return status;
}

/* ---- what stops ---- */

/* By these readings, or by older ones where the part is not measured anew. */
static enum tw_roughed_stop stop_of(const struct roughing *roughing, size_t part)
{
    const struct tw_record_roughed *before = older(roughing, roughing->parts[part].station);

    if (roughing->found[part].readings > 0)
        return roughing->found[part].stop;
    return before ? tw_roughed_stop_named(before->stop) : TW_ROUGHED_GOES_ON;
}

static bool is_measured(const struct roughing *roughing, size_t part)
{
    return roughing->found[part].readings > 0 || older(roughing, roughing->parts[part].station);
}

static bool stops(const struct roughing *roughing, bool *any)
{
    enum tw_roughed_stop measured[TW_RUN_STATIONS_MOST];
    size_t count = 0;

    *any = false;
    for (size_t i = 0; i < roughing->count; i++)
        if (is_measured(roughing, i)) {
            measured[count] = stop_of(roughing, i);
            *any = *any || measured[count] != TW_ROUGHED_GOES_ON;
            count++;
        }
    return tw_roughed_stops_load(measured, count);
}

/* ---- what is shown ---- */

static bool is_inch(const struct roughing *roughing)
{
    return roughing->job->machine.dialect.inch;
}

/* So much thinner than the programs that are there the next ones grind the part. */
static double change_mm(const struct roughing *roughing, size_t part)
{
    return roughing->found[part].value_mm - roughing->parts[part].written_mm;
}

/* What was found, now or before, and the programs that are there do not have yet. */
static bool is_to_be_written(const struct roughing *roughing)
{
    bool to_be = false;

    for (size_t i = 0; i < roughing->count; i++)
        to_be = to_be || fabs(change_mm(roughing, i)) > NOTHING_MM;
    return to_be;
}

static bool is_rough_again(const struct roughing *roughing)
{
    bool again = false;

    for (size_t i = 0; i < roughing->count; i++)
        again = again || roughing->found[i].again_mm > 0.0;
    return again;
}

static double face_share(const struct roughing *roughing)
{
    return roughing->job->one_face ? 1.0 : 0.5;
}

static void print_stop(struct tw_text *text, const struct roughing *roughing, const struct tw_roughed_found *found)
{
    tw_text_print(text, ": %s", tw_roughed_stop_words(found->stop));
    if (found->stop == TW_ROUGHED_SIDE_LEFT || found->stop == TW_ROUGHED_NOT_AT_ALL)
        tw_text_print(text, " (%s)", tw_fine_signed_text(found->left_mm, is_inch(roughing)).text);
    if (found->stop == TW_ROUGHED_TOO_THIN)
        tw_text_print(text, ", at %s by %s", tw_length_text(found->under_x_mm, 0, is_inch(roughing)).text,
                      tw_fine_text(found->under_mm, is_inch(roughing)).text);
    tw_text_print(text, "\n");
}

/* Against how it was cut; what its programs were lower by and did not take off is not asked for twice. */
static void print_corrected(struct tw_text *text, const struct roughing *roughing, size_t part)
{
    const struct tw_roughed_found *found = &roughing->found[part];

    tw_text_print(text, ": %s is ground %s %s%s%s\n", roughing->job->one_face ? "its face" : "each face",
                  tw_fine_text(face_share(roughing) * fabs(found->off_mm), is_inch(roughing)).text,
                  found->off_mm > 0.0 ? "lower" : "higher",
                  !roughing->known && fabs(change_mm(roughing, part)) <= NOTHING_MM
                      ? ", as the programs that are there have it"
                      : "",
                  found->uncut ? "; the programs that are there have not cut it yet" : "");
}

static void print_part(struct tw_text *text, const struct roughing *roughing, size_t part)
{
    const struct tw_roughed_found *found = &roughing->found[part];
    bool inch = is_inch(roughing);

    tw_text_print(text, "  station %d  part %-8s ", roughing->parts[part].station, roughing->parts[part].number);
    if (found->readings == 0) {
        tw_text_print(text, "not measured now%s%s\n", stop_of(roughing, part) ? "; it was " : ", left as it is",
                      stop_of(roughing, part) ? tw_roughed_stop_words(stop_of(roughing, part)) : "");
        return;
    }
    tw_text_print(text, "%s by %zu reading%s", tw_fine_signed_text(found->off_mm, inch).text, found->readings,
                  found->readings > 1 ? "s" : "");
    if (found->sure_mm > 0.0)
        tw_text_print(text, ", +-%s", tw_fine_text(found->sure_mm, inch).text);
    if (found->stop != TW_ROUGHED_GOES_ON)
        print_stop(text, roughing, found);
    else if (!found->corrected)
        tw_text_print(text, ": no more than chance or the gauge makes, left alone\n");
    else
        print_corrected(text, roughing, part);
}

/* What to do about each part that stops, like ones together. */
static void print_cures(struct tw_text *text, const struct roughing *roughing)
{
    for (int stop = TW_ROUGHED_GOES_ON + 1; stop < TW_ROUGHED_STOP_COUNT; stop++) {
        const char *before = "  part ";

        for (size_t i = 0; i < roughing->count; i++) {
            if (stop_of(roughing, i) != (enum tw_roughed_stop)stop)
                continue;
            tw_text_print(text, "%s%s (station %d)", before, roughing->parts[i].number, roughing->parts[i].station);
            before = ", ";
        }
        if (*before == ',')
            tw_text_print(text, ": %s\n", tw_roughed_stop_cure((enum tw_roughed_stop)stop));
    }
}

static void print_rough_again(struct tw_text *text, const struct roughing *roughing)
{
    const char *again = tw_roughed_again_words(roughing->job->one_face);

    if (is_to_be_written(roughing))
        tw_text_print(text, "next: tangwright run %s --out DIR writes the programs of load %d anew; then %s by the new",
                      roughing->request->path, roughing->load, again);
    else
        tw_text_print(text, "next: %s by load %d's", again, roughing->load);
    tw_text_print(text, " programs: only what was left is cut; measure again, and finish then, with no dressing and no "
                        "touching off in between\n");
}

static void print_next(struct tw_text *text, const struct roughing *roughing)
{
    const char *run = roughing->request->path;
    bool any, stopped = stops(roughing, &any);

    if (any)
        tw_text_print(text, stopped ? "\ndo not finish load %d\n" : "\nin load %d\n", roughing->load);
    print_cures(text, roughing);
    if (stopped)
        return;
    if (is_rough_again(roughing) && !roughing->known)
        print_rough_again(text, roughing);
    else if (is_to_be_written(roughing) && !roughing->known)
        tw_text_print(text,
                      "next: tangwright run %s --out DIR writes the programs of load %d anew; finish by them, with no "
                      "dressing and no touching off in between\n",
                      run, roughing->load);
    else if (!roughing->known)
        tw_text_print(text,
                      "next: finish load %d by the programs that are there, with no dressing and no touching off in "
                      "between\n",
                      roughing->load);
}

static char *text_of(const struct roughing *roughing)
{
    struct tw_text text = { 0 };

    tw_text_print(&text, "roughed parts of load %d, against what roughing should leave of them (+: too thick)\n",
                  roughing->load);
    for (size_t i = 0; i < roughing->count; i++)
        print_part(&text, roughing, i);
    tw_text_print(&text, roughing->known ? "\nthis file is in the record already, and nothing of it was taken twice\n"
                                         : "\nthe readings are in the record, apart from those of finished parts\n");
    print_next(&text, roughing);
    return tw_text_take(&text);
}

static char *json_of(const struct roughing *roughing)
{
    json_t *parts = json_array(), *whole;
    bool any, stopped = stops(roughing, &any);
    char *out;

    for (size_t i = 0; i < roughing->count; i++) {
        const struct tw_roughed_found *found = &roughing->found[i];

        json_array_append_new(
            parts, json_pack("{s:s, s:i, s:i, s:f, s:f, s:s?, s:b, s:f}", "part", roughing->parts[i].number, "station",
                             roughing->parts[i].station, "readings", (int)found->readings, "off_um",
                             1000.0 * found->off_mm, "twice_standard_um", 1000.0 * found->sure_mm, "stop",
                             tw_roughed_stop_name(stop_of(roughing, i)), "corrected", found->corrected,
                             "lower_each_face_um", 1000.0 * face_share(roughing) * found->value_mm));
    }
    whole = json_pack("{s:s, s:i, s:b, s:o}", "format", "tangwright-gauge-roughed/1", "load", roughing->load, "stopped",
                      stopped, "parts", parts);
    out = whole ? json_dumps(whole, JSON_INDENT(2) | JSON_REAL_PRECISION(9)) : NULL;
    json_decref(whole);
    return out;
}

static enum tw_status show(const struct roughing *roughing)
{
    char *text = text_of(roughing), *json = roughing->options->json ? json_of(roughing) : NULL;
    enum tw_status status = text && (json || !roughing->options->json) ? TW_OK : tw_no_memory(roughing->findings);
    bool any, stopped = stops(roughing, &any);

    status = verb_show(roughing->options, status, text, json, roughing->findings);
    if (status == TW_OK && any)
        status =
            tw_fail(roughing->findings, TW_DO_NOT_CUT, (struct tw_place){ .file = roughing->request->path },
                    stopped ? "load %d is not to be finished as it is" : "a part of load %d is not worth finishing",
                    roughing->load);
    return status;
}

/* ---- the whole ---- */

static enum tw_status weigh(struct roughing *roughing)
{
    enum tw_status status = read_readings(roughing);

    if (status == TW_OK) {
        roughing->known = is_known_file(roughing);
        status = find_load(roughing);
    }
    if (status == TW_OK)
        status = check_readings(roughing);
    if (status == TW_OK)
        status = tw_roughed_weigh(roughing->job, &roughing->readings, roughing->parts, roughing->count,
                                  roughing->gauge_mm, roughing->found, roughing->findings);
    if (status == TW_OK && !roughing->known)
        status = tw_roughed_doubt(roughing->job, &roughing->readings, roughing->parts, roughing->count,
                                  roughing->gauge_mm, roughing->findings);
    if (status == TW_OK)
        status = note(roughing);
    return status == TW_OK ? show(roughing) : status;
}

static enum tw_status gauge(struct roughing *roughing)
{
    struct tw_job job;
    enum tw_status status = verb_read_run_job(roughing->request, &job, roughing->findings);

    if (status != TW_OK)
        return status;
    roughing->job = &job;
    status = run_record_open(roughing->request, false, &roughing->record, roughing->findings);
    if (status == TW_OK)
        status = run_wheel_set(&roughing->record, &job.wheel, roughing->findings);
    if (status == TW_OK)
        status = weigh(roughing);
    tw_gaugings_free(&roughing->readings);
    run_record_close(&roughing->record);
    tw_job_free(&job);
    return status;
}

enum tw_status verb_gauge_roughed(const struct options *options, double gauge_mm, struct tw_findings *findings)
{
    struct tw_run_request request;
    struct roughing roughing = { .options = options, .request = &request, .findings = findings };
    enum tw_status status = tw_run_read(options->operands[0], &request, findings);

    if (status != TW_OK)
        return status;
    roughing.gauge_mm = gauge_mm > 0.0 ? gauge_mm : request.gauge_mm;
    status = gauge(&roughing);
    tw_run_request_free(&request);
    return status;
}
