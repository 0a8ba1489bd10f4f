/* run_json.c - a run of blanks as one JSON object. */
#include "tangwright/report.h"

#include <jansson.h>

#define DIGITS 9

static json_t *pair(const double values[2])
{
    return json_pack("{s:f, s:f}", "a", values[TW_SIDE_A], "b", values[TW_SIDE_B]);
}

static json_t *place_object(const struct tw_run_outcome *outcome, size_t load, size_t place)
{
    const struct tw_run_place *at = &outcome->layout->loads[load].places[place];
    const struct tw_run_blank *blank = &outcome->request->blanks[at->blank];
    const struct tw_place_figures *figures = &outcome->loads[load].places[place];
    char folder[TW_LOAD_FOLDER_BYTES];
    json_t *object = json_pack("{s:s, s:i, s:i, s:f, s:b}", "blank", blank->number, "station", at->station + 1,
                               "work_offset", outcome->layout->job.fixture.stations[at->station].work_offset,
                               "thickness_mm", at->thickness_mm, "surveyed", blank->survey != NULL);

    if (blank->remark)
        json_object_set_new(object, "remark", json_string(blank->remark));
    if (outcome->loads[load].refusal)
        return object;
    if (outcome->loads[load].joined)
        tw_load_own_folder(outcome->layout, load, folder);
    else
        tw_load_folder(outcome->layout, load, place, folder);
    json_object_set_new(object, "folder", json_string(folder));
    json_object_set_new(object, "inputs", json_string(figures->digest));
    json_object_set_new(object, "planned_mm", json_real(figures->planned_mm));
    json_object_set_new(object, "band_mm", json_real(figures->band_mm));
    json_object_set_new(object, "butt_mm", json_real(figures->butt_mm));
    json_object_set_new(object, "height_mm", pair(figures->height_mm));
    json_object_set_new(object, "packing_butt_mm", pair(figures->packing_mm));
    json_object_set_new(object, "rise_mm", pair(figures->rise_mm));
    json_object_set_new(object, "deviation_mm", json_real(figures->deviation_mm));
    return object;
}

static json_t *load_object(const struct tw_run_outcome *outcome, size_t load)
{
    const struct tw_load_figures *figures = &outcome->loads[load];
    json_t *places = json_array(), *object;

    for (size_t i = 0; i < outcome->layout->loads[load].count; i++)
        json_array_append_new(places, place_object(outcome, load, i));
    object = json_pack("{s:i, s:b, s:b, s:s?, s:o}", "load", (int)tw_run_load_number(outcome->layout, load),
                       "own_heights", outcome->layout->loads[load].apart, "own_programs",
                       outcome->layout->loads[load].apart && !figures->joined, "why_own_programs",
                       figures->why_not_joined, "places", places);
    json_object_set_new(object, "refused", figures->refusal ? json_string(figures->refusal) : json_null());
    if (figures->refusal)
        return object;
    json_object_set_new(object, "cycle_time_s", json_real(figures->cycle_s));
    json_object_set_new(object, "loading_time_s", json_real(figures->handling_s));
    json_object_set_new(object, "dress_before", json_boolean(tw_run_dresses_before(outcome, load)));
    json_object_set_new(object, "new_wheel_before", json_boolean(tw_run_renews_before(outcome, load)));
    json_object_set_new(object, "removed_mm3", json_real(figures->removed_mm3));
    json_object_set_new(object, "wheel_loss_um", json_real(1000.0 * figures->wheel_mm));
    json_object_set_new(object, "thickness_error_um", json_real(figures->error_um));
    json_object_set_new(object, "pass_count", json_integer(figures->pass_count));
    json_object_set_new(object, "peak_degC", json_real(figures->peak_degC));
    json_object_set_new(object, "peak_with_reserve_degC", json_real(figures->reserve_degC));
    return object;
}

static json_t *aside_objects(const struct tw_run_outcome *outcome)
{
    json_t *list = json_array();

    for (size_t i = 0; i < outcome->layout->aside_count; i++)
        json_array_append_new(list, json_pack("{s:s, s:s}", "blank",
                                              outcome->request->blanks[outcome->layout->aside[i].blank].number,
                                              "reason", outcome->layout->aside[i].reason));
    return list;
}

static json_t *station_objects(const struct tw_run_outcome *outcome)
{
    json_t *list = json_array();

    for (size_t stations = 1; stations <= outcome->layout->job.fixture.station_count; stations++) {
        struct tw_run_estimate estimate = tw_run_estimate_of(outcome, stations);

        if (estimate.known)
            json_array_append_new(list, json_pack("{s:i, s:i, s:f, s:f}", "stations", (int)stations, "loads",
                                                  (int)estimate.loads, "cycle_time_s", estimate.cycle_s,
                                                  "loading_time_s", estimate.handling_s));
    }
    return list;
}

enum tw_status tw_run_json(const struct tw_run_outcome *outcome, char **out, struct tw_findings *findings)
{
    struct tw_run_sum sum = tw_run_sum_of(outcome);
    json_t *loads = json_array(), *object;

    for (size_t i = 0; i < outcome->layout->load_count; i++)
        json_array_append_new(loads, load_object(outcome, i));
    object =
        json_pack("{s:s, s:s, s:i, s:o, s:o, s:i, s:f, s:f, s:f, s:f}", "format", "tangwright-run/1", "name",
                  outcome->request->name, "blanks", (int)outcome->request->blank_count, "loads", loads, "set_aside",
                  aside_objects(outcome), "ground", (int)sum.blanks, "cycle_time_s", sum.cycle_s, "loading_time_s",
                  sum.handling_s, "parts_per_hour", sum.parts_per_hour, "peak_with_reserve_degC", sum.reserve_degC);
    json_object_set_new(object, "hottest_load",
                        sum.blanks > 0 ? json_integer((json_int_t)tw_run_load_number(outcome->layout, sum.hottest_load))
                                       : json_null());
    json_object_set_new(object, "hottest_blank", sum.hottest_blank ? json_string(sum.hottest_blank) : json_null());
    json_object_set_new(object, "removed_mm3", json_real(sum.removed_mm3));
    json_object_set_new(object, "wheel_loss_um", json_real(1000.0 * sum.wheel_mm));
    json_object_set_new(object, "dressings", json_integer((json_int_t)sum.dressings));
    json_object_set_new(object, "wheels", sum.wheels > 0 ? json_integer((json_int_t)sum.wheels) : json_null());
    json_object_set_new(object, "wheels_most",
                        sum.wheels > 0 ? json_integer((json_int_t)sum.wheels_most) : json_null());
    json_object_set_new(object, "thickness_error_um", json_real(sum.error_um));
    json_object_set_new(object, "thickness_error_gauged_um", json_real(sum.gauged_um));
    json_object_set_new(object, "stations", station_objects(outcome));
    *out = object ? json_dumps(object, JSON_INDENT(2) | JSON_REAL_PRECISION(DIGITS)) : NULL;
    json_decref(object);
    return *out ? TW_OK : tw_no_memory(findings);
}
