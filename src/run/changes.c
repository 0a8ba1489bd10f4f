/* changes.c - see changes.h. */
#include "run/changes.h"

#include "base/file.h"
#include "base/text.h"
#include "run/beside.h"
#include "tangwright/correct.h"
#include "tangwright/straight.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

void tw_run_changes_free(struct tw_run_changes *changes)
{
    for (size_t i = 0; i < changes->count; i++)
        free(changes->values[i]);
    *changes = (struct tw_run_changes){ 0 };
}

/* Takes the value over. */
static void put(struct tw_run_changes *changes, const char *key, char *value)
{
    if (!value) {
        changes->failed = true;
        return;
    }
    changes->values[changes->count] = value;
    changes->items[changes->count++] = (struct tw_instead){ key, value };
}

static void say(struct tw_run_changes *changes, const char *key, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

static void say(struct tw_run_changes *changes, const char *key, const char *format, ...)
{
    struct tw_text text = { 0 };
    va_list arguments;

    va_start(arguments, format);
    tw_text_vprint(&text, format, arguments);
    va_end(arguments);
    put(changes, key, tw_text_take(&text));
}

static enum tw_status finish(struct tw_run_changes *changes, enum tw_status status, struct tw_findings *findings)
{
    if (status == TW_OK && changes->failed)
        status = tw_no_memory(findings);
    if (status != TW_OK)
        tw_run_changes_free(changes);
    return status;
}

/* ---- thickness ---- */

/* Rounded to a tenth of a micrometre, which nobody measures. */
static double whole_mm(double mm)
{
    return round(mm * 1e4) / 1e4;
}

struct range {
    double least_mm, most_mm;
};

static struct range range_of(const struct tw_run_place *places, size_t count)
{
    struct range range = { places[0].thickness_mm, places[0].thickness_mm };

    for (size_t i = 1; i < count; i++) {
        range.least_mm = fmin(range.least_mm, places[i].thickness_mm);
        range.most_mm = fmax(range.most_mm, places[i].thickness_mm);
    }
    return range;
}

static double middle_mm(struct range range)
{
    return whole_mm((range.least_mm + range.most_mm) / 2.0);
}

/* The blanks in hand, and how far they may be off. On a sine plate all blanks lie at one angle: the slope is that of a blank
 * of `plate_mm`, and the butts of the others come out as much thicker as they are. */
static void say_thickness(const struct tw_run_request *request, const struct tw_job *job, size_t load_number,
                          struct range range, double plate_mm, struct tw_run_changes *changes)
{
    double middle = middle_mm(range);
    double band_mm = fmax(range.most_mm - middle, middle - range.least_mm) + request->micrometer_mm, butt_mm;

    say(changes, "taper.ricasso_thickness", "%.4f mm", middle);
    say(changes, "taper.thickness_band", "%.4f mm", band_mm);
    butt_mm = job->taper.butt_mm + (job->mount == TW_MOUNT_TILTED ? middle - plate_mm : 0.0) -
              tw_run_butt_lower_mm(job, tw_run_totals_for(request, load_number));
    if (fabs(butt_mm - job->taper.butt_mm) > 1e-9)
        say(changes, "taper.butt_thickness", "%.4f mm", butt_mm);
}

/* ---- survey ---- */

/* The blank's survey as the job names it; *out is NULL where there is none. */
static enum tw_status survey_path(const struct tw_run_request *request, const struct tw_run_place *place, char **out,
                                  struct tw_findings *findings)
{
    const char *survey = request->blanks[place->blank].survey, *slash = strrchr(request->job_path, '/');
    struct tw_text folder = { 0 };
    enum tw_status status;

    *out = NULL;
    if (!survey)
        return TW_OK;
    tw_text_append(&folder, request->job_path, slash ? (size_t)(slash - request->job_path) : 0);
    if (folder.failed)
        return tw_no_memory(findings);
    status = tw_path_from(!slash ? "." : folder.length > 0 ? folder.data : "/", survey, out, findings);
    tw_text_free(&folder);
    return status;
}

/* Its survey as the job would name it. On one sine plate all blanks have one angle, so the middle of a finished tang
 * cannot be tilted for one of them. */
static enum tw_status say_survey(const struct tw_run_request *request, const struct tw_job *job,
                                 const struct tw_run_place *place, struct tw_run_changes *changes,
                                 struct tw_findings *findings)
{
    char *path = NULL;
    enum tw_status status = survey_path(request, place, &path, findings);

    if (status != TW_OK)
        return status;
    if (!path) {
        say(changes, "survey.file", "none");
        return TW_OK;
    }
    put(changes, "survey.file", path);
    if (job->mount == TW_MOUNT_TILTED)
        say(changes, "straighten.largest_tilt", "0 deg");
    return TW_OK;
}

enum tw_status tw_run_changes_for_blank(const struct tw_run_request *request, const struct tw_job *job,
                                        const struct tw_run_place *place, struct tw_run_changes *out,
                                        struct tw_findings *findings)
{
    *out = (struct tw_run_changes){ 0 };
    say(out, "parts", "1");
    say_thickness(request, job, 0, range_of(place, 1), job->taper.ricasso_mm, out);
    return finish(out, say_survey(request, job, place, out, findings), findings);
}

/* ---- stations ---- */

static void print_station(struct tw_text *text, const struct tw_station *station, double lower_mm)
{
    int offset = station->work_offset;

    tw_text_print(
        text,
        "{ offset = \"G%s%d\"; along = \"%.9g mm\"; across = \"%.9g mm\"; up = \"%.9g mm\"; lower = \"%.4f mm\"; }",
        offset <= 6 ? "" : "59.", offset <= 6 ? 53 + offset : offset - 6, station->along_mm, station->across_mm,
        station->up_mm, station->lower_mm + lower_mm);
}

/* What this load's own roughed part was too thick by is on all faces that are ground. */
static double roughed_mm(const struct tw_run_request *request, const struct tw_job *job, size_t load_number,
                         int station)
{
    double share = job->one_face ? 1.0 : 0.5;

    return (size_t)request->roughed.load == load_number ? share * request->roughed.station_mm[station] : 0.0;
}

/* As gauged so far, on top of what the job itself says. */
static void say_stations(const struct tw_run_request *request, const struct tw_job *job, size_t load_number,
                         const struct tw_run_place *places, size_t count, struct tw_run_changes *changes)
{
    struct tw_text text = { 0 };

    tw_text_print(&text, "( ");
    for (size_t i = 0; i < count; i++) {
        tw_text_print(&text, i > 0 ? ", " : "");
        print_station(&text, &job->fixture.stations[places[i].station],
                      tw_run_lower_mm(job, tw_run_totals_for(request, load_number), places[i].station + 1) +
                          roughed_mm(request, job, load_number, places[i].station));
    }
    tw_text_print(&text, " )");
    put(changes, "fixture.stations", tw_text_take(&text));
}

static bool is_loaded(const struct tw_run_place *places, size_t count, int station)
{
    for (size_t i = 0; i < count; i++)
        if (places[i].station == station)
            return true;
    return false;
}

/* Whether the wheel passes over a station where nothing lies, on its way from one blank to another. */
static bool passes_empty(const struct tw_run_place *places, size_t count)
{
    for (int station = places[0].station + 1; station < places[count - 1].station; station++)
        if (!is_loaded(places, count, station))
            return true;
    return false;
}

/* Nobody looks at an empty station: the wheel passes over it higher than all that stands on the fixture. */
static void say_hop(const struct tw_job *job, const struct tw_run_place *places, size_t count,
                    struct tw_run_changes *changes)
{
    double highest_mm = 0.0, hop_mm;

    if (!passes_empty(places, count))
        return;
    for (size_t i = 0; i < job->fixture.keep_out_count; i++)
        highest_mm = fmax(highest_mm, job->fixture.keep_outs[i].top_mm);
    hop_mm = ceil(10.0 * (highest_mm + job->fixture.clearance_mm - range_of(places, count).least_mm)) / 10.0;
    if (hop_mm <= job->travel.hop_height_mm)
        return;
    say(changes, "travel.hop_height", "%.1f mm", hop_mm);
    if (hop_mm > job->travel.clear_height_mm)
        say(changes, "travel.clear_height", "%.1f mm", hop_mm);
}

/* What lies on each of them, as measured. */
static enum tw_status say_blanks(const struct tw_run_request *request, const struct tw_run_place *places, size_t count,
                                 bool surveys, struct tw_run_changes *changes, struct tw_findings *findings)
{
    struct tw_text text = { 0 };
    enum tw_status status = TW_OK;

    tw_text_print(&text, "( ");
    for (size_t i = 0; status == TW_OK && i < count; i++) {
        char *path = NULL;

        if (surveys)
            status = survey_path(request, &places[i], &path, findings);
        tw_text_print(&text, "%s{ thickness = \"%.4f mm\"; ", i > 0 ? ", " : "", places[i].thickness_mm);
        if (path) {
            tw_text_print(&text, "survey = \"");
            tw_run_print_words(&text, path);
            tw_text_print(&text, "\"; ");
        }
        tw_text_print(&text, "}");
        free(path);
    }
    tw_text_print(&text, " )");
    put(changes, "blanks", tw_text_take(&text));
    return status;
}

/* ---- the name ---- */

static void say_name(const struct tw_run_request *request, const struct tw_run_layout *layout, size_t load,
                     size_t first, size_t count, struct tw_run_changes *changes)
{
    const struct tw_run_load *loaded = &layout->loads[load];

    if (loaded->apart && count < loaded->count)
        say(changes, "name", "%s - load %zu, blank %s", request->name, tw_run_load_number(layout, load),
            tw_run_number(request, &loaded->places[first]));
    else
        say(changes, "name", "%s - load %zu", request->name, tw_run_load_number(layout, load));
}

static enum tw_status say_beside(const struct tw_run_layout *layout, size_t load, size_t first, size_t count,
                                 struct tw_run_changes *out, enum tw_status status, struct tw_findings *findings)
{
    char *beside = NULL;

    if (status == TW_OK)
        status = tw_run_beside(&layout->job, &layout->loads[load], first, count, &beside, findings);
    if (status == TW_OK && beside)
        put(out, "fixture.keep_outs", beside);
    return finish(out, status, findings);
}

/* The ricasso for which a plate lies at its angle. */
static double plate_mm_of(const struct tw_run_request *request, const struct tw_run_layout *layout,
                          const struct tw_run_load *loaded)
{
    return request->tilt == TW_RUN_ONE_STACK ? layout->job.taper.ricasso_mm
                                             : middle_mm(range_of(loaded->places, loaded->count));
}

/* Of blanks that each have their own: the middle of them, with a band for what each may be measured off by. */
static void say_nominal(const struct tw_run_request *request, const struct tw_run_layout *layout, size_t load,
                        struct tw_run_changes *changes)
{
    const struct tw_run_load *loaded = &layout->loads[load];
    double middle = middle_mm(range_of(loaded->places, loaded->count));
    struct range nominal = { middle, middle };

    say_thickness(request, &layout->job, tw_run_load_number(layout, load), nominal,
                  plate_mm_of(request, layout, loaded), changes);
    if (layout->job.mount == TW_MOUNT_TILTED)
        say(changes, "straighten.largest_tilt", "0 deg");
}

enum tw_status tw_run_changes_for_part(const struct tw_run_request *request, const struct tw_run_layout *layout,
                                       size_t load, size_t first, size_t count, struct tw_run_changes *out,
                                       struct tw_findings *findings)
{
    const struct tw_run_load *loaded = &layout->loads[load];
    const struct tw_run_place *places = loaded->places + first;
    double plate_mm = plate_mm_of(request, layout, loaded);
    enum tw_status status;

    *out = (struct tw_run_changes){ 0 };
    say_name(request, layout, load, first, count, out);
    say(out, "parts", "%zu", count);
    say_thickness(request, &layout->job, tw_run_load_number(layout, load), range_of(places, count), plate_mm, out);
    say_stations(request, &layout->job, tw_run_load_number(layout, load), places, count, out);
    say_hop(&layout->job, places, count, out);
    status = say_survey(request, &layout->job, places, out, findings);
    if (status == TW_OK && !loaded->apart)
        status = say_blanks(request, places, count, false, out, findings);
    return say_beside(layout, load, first, count, out, status, findings);
}

enum tw_status tw_run_changes_for_load(const struct tw_run_request *request, const struct tw_run_layout *layout,
                                       size_t load, struct tw_run_changes *out, struct tw_findings *findings)
{
    const struct tw_run_load *loaded = &layout->loads[load];
    enum tw_status status;

    *out = (struct tw_run_changes){ 0 };
    say_name(request, layout, load, 0, loaded->count, out);
    say(out, "parts", "%zu", loaded->count);
    say_nominal(request, layout, load, out);
    say(out, "heights", "by-blank");
    say_stations(request, &layout->job, tw_run_load_number(layout, load), loaded->places, loaded->count, out);
    say_hop(&layout->job, loaded->places, loaded->count, out);
    say(out, "survey.file", "none");
    status = say_blanks(request, loaded->places, loaded->count, true, out, findings);
    return say_beside(layout, load, 0, loaded->count, out, status, findings);
}
