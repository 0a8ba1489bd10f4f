/* run_standing_json.c - where a run stands, as one JSON object. */
#include "cli/run_standing.h"

#include <jansson.h>

#define DIGITS 9
#define FORMAT "tangwright-run-status/1"

static json_t *load_or_null(int load)
{
    return load > 0 ? json_integer(load) : json_null();
}

static json_t *load_objects(const struct run_standing *standing)
{
    json_t *list = json_array();

    for (size_t i = 0; i < standing->load_count; i++) {
        const struct standing_load *at = &standing->loads[i];

        json_array_append_new(list, json_pack("{s:i, s:s, s:s?, s:i, s:i, s:b, s:b, s:b, s:b, s:b, s:f, s:f, s:f}",
                                              "load", at->load->load, "state", tw_load_state_name(at->load->state),
                                              "taken_back", at->taken_back, "blanks", (int)at->blanks, "gauged",
                                              (int)at->gauged, "dressed_before", at->dressed, "roughed", at->roughed,
                                              "stopped", at->stopped, "rough_again", at->again, "outdated",
                                              at->outdated, "cycle_time_s", at->load->cycle_s, "removed_mm3",
                                              at->load->removed_mm3, "wheel_loss_um", 1000.0 * at->load->wheel_mm));
    }
    return list;
}

static json_t *wrong_objects(const struct run_standing *standing)
{
    json_t *list = json_array();

    for (size_t i = 0; i < standing->wrong_count; i++)
        json_array_append_new(list, json_pack("{s:s, s:i, s:s}", "program", standing->wrong[i].program->name, "load",
                                              standing->wrong[i].program->load, "what", standing->wrong[i].what));
    return list;
}

static json_t *aside_objects(const struct tw_record_state *state)
{
    json_t *list = json_array();

    for (size_t i = 0; i < state->blank_count; i++)
        if (state->blanks[i].aside)
            json_array_append_new(
                list, json_pack("{s:s, s:s}", "blank", state->blanks[i].number, "reason", state->blanks[i].aside));
    return list;
}

static json_t *unplanned_names(const struct run_standing *standing)
{
    json_t *list = json_array();

    for (size_t i = 0; i < standing->unplanned_count; i++)
        json_array_append_new(list, json_string(standing->unplanned[i]->number));
    return list;
}

static json_t *wheel_object(const struct run_standing *standing)
{
    const struct tw_run_wheel *wheel = &standing->wheel;

    return json_pack("{s:f, s:f, s:f, s:f, s:i, s:o}", "removed_mm3", wheel->removed_mm3, "since_dressing_mm3",
                     wheel->since_mm3, "dress_after_mm3", standing->dress_after_mm3, "wheel_loss_um",
                     1000.0 * wheel->lost_mm, "dressings", (int)wheel->dressings, "dress_before",
                     load_or_null(standing->dress_next));
}

static json_t *corrections_object(const struct tw_run_totals *totals)
{
    json_t *stations = json_array();

    for (int i = 0; i < TW_RUN_STATIONS_MOST; i++)
        json_array_append_new(stations, json_real(1000.0 * totals->station_mm[i]));
    return json_pack("{s:f, s:f, s:f, s:o}", "offset_um", 1000.0 * totals->offset_mm, "taper_um",
                     1000.0 * totals->taper_mm, "roughing_um", 1000.0 * totals->roughing_mm, "station_um", stations);
}

static json_t *next_object(const struct run_standing *standing)
{
    return json_pack("{s:b, s:o, s:o, s:o}", "plan", standing->plan, "grind", load_or_null(standing->grind), "measure",
                     load_or_null(standing->measure), "far_off", load_or_null(standing->far_off));
}

enum tw_status run_standing_json(const struct tw_run_request *request, const struct run_standing *standing, char **out,
                                 struct tw_findings *findings)
{
    json_t *object = json_pack("{s:s, s:s, s:i, s:b}", "format", FORMAT, "name", request->name, "blanks",
                               (int)request->blank_count, "planned", standing != NULL);

    if (standing) {
        json_object_set_new(object, "folder", json_string(standing->folder));
        json_object_set_new(object, "loads", load_objects(standing));
        json_object_set_new(object, "wrong_programs", wrong_objects(standing));
        json_object_set_new(object, "set_aside", aside_objects(standing->state));
        json_object_set_new(object, "not_planned", unplanned_names(standing));
        json_object_set_new(object, "wheel", wheel_object(standing));
        json_object_set_new(object, "corrections", corrections_object(&standing->totals));
        json_object_set_new(object, "next", next_object(standing));
    }
    *out = object ? json_dumps(object, JSON_INDENT(2) | JSON_REAL_PRECISION(DIGITS)) : NULL;
    json_decref(object);
    return *out ? TW_OK : tw_no_memory(findings);
}
