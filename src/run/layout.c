/* layout.c - which blanks are ground together, on which stations, and which are set aside. */
#include "tangwright/run.h"

#include "base/file.h"
#include "base/memory.h"
#include "base/text.h"
#include "base/units.h"
#include "geometry/ring.h"
#include "run/changes.h"
#include "run/share.h"
#include "tangwright/straight.h"
#include "tangwright/taper.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Of a job that is for one measured blank. */
#define USUAL_BAND_MM 0.05

struct laying {
    const struct tw_run_request *request;
    struct tw_run_layout *out;
    struct tw_run_place *flat, *surveyed; /* sound blanks, as they are listed */
    size_t flat_count, surveyed_count;
    struct tw_findings *findings;
};

const char *tw_run_number(const struct tw_run_request *request, const struct tw_run_place *place)
{
    return request->blanks[place->blank].number;
}

size_t tw_run_load_number(const struct tw_run_layout *layout, size_t load)
{
    return layout->before + load + 1;
}

void tw_run_layout_free(struct tw_run_layout *layout)
{
    for (size_t i = 0; i < layout->aside_count; i++)
        free(layout->aside[i].reason);
    free(layout->aside);
    free(layout->loads);
    tw_job_free(&layout->job);
    *layout = (struct tw_run_layout){ 0 };
}

/* ---- the stations in use ---- */

static enum tw_status refuse_stations(const struct laying *laying, const char *what)
{
    const struct tw_job *job = &laying->out->job;

    return tw_fail(laying->findings, TW_BAD_INPUT,
                   (struct tw_place){ .file = laying->request->path, .key = "stations" },
                   "\"%s\": %s; the fixture has the stations 1 to %zu: name those in use, rising, such as \"1, 2\"",
                   laying->request->stations, what, job->fixture.station_count);
}

static enum tw_status read_stations(struct laying *laying)
{
    struct tw_run_layout *out = laying->out;
    const char *at = laying->request->stations;
    long before = 0;

    if (!at) {
        for (int i = 0; i < out->job.parts; i++)
            out->stations[out->station_count++] = i;
        return TW_OK;
    }
    for (at += strspn(at, " "); *at; at += strspn(at, " ,")) {
        char *end;
        long number = strtol(at, &end, 10);

        if (end == at || (*end && !strchr(" ,", *end)))
            return refuse_stations(laying, "is no list of numbers");
        if (number < 1 || (size_t)number > out->job.fixture.station_count)
            return refuse_stations(laying, "names a station that is not there");
        if (number <= before)
            return refuse_stations(laying, "does not rise");
        out->stations[out->station_count++] = (int)number - 1;
        before = number;
        at = end;
    }
    return out->station_count > 0 ? TW_OK : refuse_stations(laying, "names none");
}

/* ---- setting aside ---- */

/* Takes the reason over. */
static enum tw_status set_aside(struct laying *laying, size_t blank, struct tw_text *reason)
{
    struct tw_run_layout *out = laying->out;
    char *words = tw_text_take(reason);

    if (!words)
        return tw_no_memory(laying->findings);
    out->aside[out->aside_count++] = (struct tw_run_aside){ blank, words };
    return TW_OK;
}

static enum tw_status aside_unmeasured(struct laying *laying, size_t blank)
{
    struct tw_text reason = { 0 };

    tw_text_print(&reason, "its ricasso is not measured: give its thickness, or a survey with thickness and bow");
    return set_aside(laying, blank, &reason);
}

static enum tw_status aside_thickness(struct laying *laying, size_t blank, double thickness_mm)
{
    double nominal_mm = laying->out->job.taper.ricasso_mm;
    bool inch = laying->out->job.machine.dialect.inch;
    struct tw_text reason = { 0 };

    tw_text_print(&reason, "its ricasso, %s, is %s %s than the job's %s, and %s are accepted; %s",
                  tw_length_text(thickness_mm, 3, inch).text,
                  tw_length_text(fabs(thickness_mm - nominal_mm), 3, inch).text,
                  thickness_mm > nominal_mm ? "thicker" : "thinner", tw_length_text(nominal_mm, 3, inch).text,
                  tw_length_text(laying->out->accepted_mm, 3, inch).text,
                  thickness_mm > nominal_mm ? "surface it, or grind it by a job of its own"
                                            : "grind it by a job of its own, with a thinner butt");
    return set_aside(laying, blank, &reason);
}

/* The first fault's own words, without the file they stand in. */
static const char *first_fault(const struct tw_findings *said)
{
    for (size_t i = 0; i < said->count; i++) {
        const struct tw_finding *item = &said->items[i];
        size_t file = item->file ? strlen(item->file) : 0;

        if (item->status != TW_OK)
            return file > 0 && strncmp(item->text, item->file, file) == 0 && strncmp(item->text + file, ": ", 2) == 0
                       ? item->text + file + 2
                       : item->text;
    }
    return "it cannot come straight";
}

static enum tw_status aside_crooked(struct laying *laying, size_t blank, const struct tw_findings *said)
{
    struct tw_text reason = { 0 };

    tw_text_print(&reason, "%s", first_fault(said));
    return set_aside(laying, blank, &reason);
}

/* ---- one blank ---- */

/* How high its top stands anywhere, as it lies with either side up. */
static double highest_mm(const struct tw_job *job)
{
    double far_mm = tw_ring_box(&job->part.tang.outer).max_x_mm, highest = tw_blank_mm(job);

    for (int side = 0; side < 2; side++) {
        struct tw_face face = tw_face_of(job, (enum tw_side)side);

        highest = fmax(highest, tw_face_highest_mm(&face, far_mm * face.stretch));
        highest = fmax(highest, tw_blank_mm(job) + far_mm * sin(face.tilt_rad));
    }
    return highest;
}

/* The blank alone on the first station, with its survey; faults of the survey are the run's. */
static enum tw_status read_blank(struct laying *laying, size_t blank, double thickness_mm, struct tw_job *out)
{
    struct tw_run_changes changes;
    struct tw_run_place place = { .blank = blank, .thickness_mm = thickness_mm };
    struct tw_findings said = { 0 };
    enum tw_status status = tw_run_changes_for_blank(laying->request, &laying->out->job, &place, &changes, &said);

    if (status == TW_OK)
        status = tw_job_read_with(laying->request->job_path, changes.items, changes.count, out, &said);
    tw_run_changes_free(&changes);
    if (status != TW_OK)
        tw_findings_append(laying->findings, &said);
    tw_findings_free(&said);
    return status;
}

/* What its survey says its ricasso measures, to a micrometre; 0: nothing. */
static enum tw_status surveyed_thickness(struct laying *laying, size_t blank, double *out_mm)
{
    struct tw_job job;
    enum tw_status status = read_blank(laying, blank, laying->out->job.taper.ricasso_mm, &job);

    *out_mm = 0.0;
    if (status != TW_OK)
        return status;
    if (isfinite(job.straight->ricasso_mm))
        *out_mm = round(job.straight->ricasso_mm * 1000.0) / 1000.0;
    tw_job_free(&job);
    return TW_OK;
}

static enum tw_status keep_if_straight(struct laying *laying, struct tw_run_place place)
{
    struct tw_findings said = { 0 };
    struct tw_job job;
    enum tw_status status = read_blank(laying, place.blank, place.thickness_mm, &job);

    if (status != TW_OK)
        return status;
    place.highest_mm = highest_mm(&job);
    status = tw_straight_verdict(&job, job.straight, &said);
    if (status == TW_OK)
        laying->surveyed[laying->surveyed_count++] = place;
    else if (status == TW_NO_PLAN)
        status = aside_crooked(laying, place.blank, &said);
    else
        tw_findings_append(laying->findings, &said);
    tw_findings_free(&said);
    tw_job_free(&job);
    return status;
}

static enum tw_status sort_in(struct laying *laying, size_t blank)
{
    const struct tw_run_blank *told = &laying->request->blanks[blank];
    const struct tw_job *job = &laying->out->job;
    struct tw_run_place place = { .blank = blank, .thickness_mm = told->thickness_mm };
    enum tw_status status = TW_OK;

    if (told->survey && told->thickness_mm == 0.0)
        status = surveyed_thickness(laying, blank, &place.thickness_mm);
    if (status != TW_OK)
        return status;
    if (place.thickness_mm == 0.0)
        return aside_unmeasured(laying, blank);
    if (fabs(place.thickness_mm - job->taper.ricasso_mm) > laying->out->accepted_mm + 1e-9)
        return aside_thickness(laying, blank, place.thickness_mm);
    if (told->survey)
        return keep_if_straight(laying, place);
    place.highest_mm = highest_mm(job) + place.thickness_mm - job->taper.ricasso_mm;
    laying->flat[laying->flat_count++] = place;
    return TW_OK;
}

/* Faults of all blanks are shown at once. */
static enum tw_status sort_all(struct laying *laying)
{
    enum tw_status worst = TW_OK;

    for (size_t i = 0; i < laying->request->blank_count; i++) {
        int ground_in = laying->request->blanks[i].ground_in;
        enum tw_status status = ground_in > 0 ? TW_OK : sort_in(laying, i);

        if (ground_in > 0 && (size_t)ground_in > laying->out->before)
            laying->out->before = (size_t)ground_in;

        if (status == TW_NO_MEMORY)
            return status;
        worst = worst == TW_OK ? status : worst;
    }
    return worst;
}

/* ---- loads ---- */

static void add_load(struct laying *laying, const struct tw_run_place *places, size_t count, bool apart)
{
    struct tw_run_load *load = &laying->out->loads[laying->out->load_count++];

    *load = (struct tw_run_load){ .count = count, .apart = apart };
    for (size_t i = 0; i < count; i++) {
        load->places[i] = places[i];
        load->places[i].station = laying->out->stations[i];
    }
}

static void add_apart(struct laying *laying)
{
    size_t stations = laying->out->station_count;

    for (size_t i = 0; i < laying->surveyed_count; i += stations) {
        size_t left = laying->surveyed_count - i;

        add_load(laying, laying->surveyed + i, left < stations ? left : stations, true);
    }
}

static bool sorts(const struct laying *laying)
{
    double least_mm = HUGE_VAL, most_mm = -HUGE_VAL;

    for (size_t i = 0; i < laying->flat_count; i++) {
        least_mm = fmin(least_mm, laying->flat[i].thickness_mm);
        most_mm = fmax(most_mm, laying->flat[i].thickness_mm);
    }
    return laying->request->order == TW_RUN_BY_THICKNESS && most_mm - least_mm > 2.0 * laying->request->micrometer_mm;
}

/* One program is for blanks within the job's own band, or, where that is for one measured blank, within what the run accepts;
 * what they may be measured off by takes a part of it. */
static double widest_mm(const struct laying *laying)
{
    double band_mm = laying->out->job.taper.band_mm;

    if (band_mm == 0.0)
        band_mm = laying->out->accepted_mm;
    return fmax(2.0 * (band_mm - laying->request->micrometer_mm), 1e-6);
}

/* Flat blanks that would need a load of their own go along with the surveyed ones where that saves a load. */
static void move_over(struct laying *laying)
{
    size_t stations = laying->out->station_count, over = laying->flat_count % stations;
    size_t room = (stations - laying->surveyed_count % stations) % stations;
    size_t first = 0;

    if (laying->request->heights == TW_RUN_BY_BLANK)
        over = room = laying->flat_count;
    if (over == 0 || over > room)
        return;
    if (over < laying->flat_count)
        first = tw_share_spare(laying->flat, laying->flat_count, stations);
    memcpy(laying->surveyed + laying->surveyed_count, laying->flat + first, over * sizeof *laying->flat);
    memmove(laying->flat + first, laying->flat + first + over,
            (laying->flat_count - first - over) * sizeof *laying->flat);
    laying->surveyed_count += over;
    laying->flat_count -= over;
}

static enum tw_status make_loads(struct laying *laying)
{
    size_t stations = laying->out->station_count;
    size_t *sizes = calloc(laying->flat_count + 1, sizeof *sizes);
    size_t first = 0, count = 0;
    bool sorted = sorts(laying);
    enum tw_status status = sizes ? TW_OK : tw_no_memory(laying->findings);

    if (status == TW_OK && sorted)
        tw_share_sort(laying->flat, laying->flat_count);
    if (status == TW_OK)
        move_over(laying);
    if (status == TW_OK)
        status = tw_share_out(laying->flat, laying->flat_count, stations, sorted ? widest_mm(laying) : 0.0, sizes,
                              &count, laying->findings);
    for (size_t i = 0; status == TW_OK && i < count; first += sizes[i++])
        add_load(laying, laying->flat + first, sizes[i], false);
    if (status == TW_OK)
        add_apart(laying);
    free(sizes);
    return status;
}

/* ---- the whole ---- */

static enum tw_status make_room(struct laying *laying)
{
    size_t count = laying->request->blank_count;

    laying->flat = calloc(count, sizeof *laying->flat);
    laying->surveyed = calloc(count, sizeof *laying->surveyed);
    laying->out->aside = calloc(count, sizeof *laying->out->aside);
    laying->out->loads = calloc(count, sizeof *laying->out->loads);
    return laying->flat && laying->surveyed && laying->out->aside && laying->out->loads
               ? TW_OK
               : tw_no_memory(laying->findings);
}

static void choose_band(struct laying *laying)
{
    struct tw_run_layout *out = laying->out;

    out->accepted_mm = laying->request->accepted_mm;
    if (out->accepted_mm == 0.0)
        out->accepted_mm = out->job.taper.band_mm > 0.0 ? out->job.taper.band_mm : USUAL_BAND_MM;
}

enum tw_status tw_run_lay_out(const struct tw_run_request *request, struct tw_run_layout *out,
                              struct tw_findings *findings)
{
    struct laying laying = { .request = request, .out = out, .findings = findings };
    enum tw_status status;

    *out = (struct tw_run_layout){ 0 };
    status = tw_run_read_job(request, &out->job, findings);
    if (status != TW_OK)
        return status;
    choose_band(&laying);
    status = read_stations(&laying);
    if (status == TW_OK)
        status = make_room(&laying);
    if (status == TW_OK)
        status = sort_all(&laying);
    if (status == TW_OK)
        status = make_loads(&laying);
    free(laying.flat);
    free(laying.surveyed);
    if (status != TW_OK)
        tw_run_layout_free(out);
    return status;
}
