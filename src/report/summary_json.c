/* summary_json.c - the plan's figures as one JSON object. */
#include "tangwright/assess.h"
#include "tangwright/report.h"

#include "base/numbers.h"
#include "report/balance_parts.h"
#include "report/budget_parts.h"
#include "tangwright/program.h"
#include "tangwright/relief.h"
#include "tangwright/rim.h"
#include "tangwright/warm.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>

/* Enough for a micrometre in a metre and for seconds in a day; the same text on every machine. */
#define DIGITS 9

/* Infinite where no coolant helps inside the contact. */
static json_t *number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

static json_t *layer_object(const struct tw_layer *layer)
{
    return json_pack(
        "{s:o, s:o, s:o, s:f, s:f, s:f, s:f, s:f, s:f, s:s, s:f, s:f, s:f, s:f, s:i, s:f, s:f, s:f, s:f, s:f, s:f, "
        "s:f, "
        "s:f, s:f, s:f, s:f, s:b, s:s}",
        "boiling_room_K", number(layer->boiling_room_K), "film_times", number(layer->film_times), "film_least_times",
        number(layer->film_least_times), "film_least_degC", layer->film_least_degC, "later_mm_per_s",
        layer->later_mm_per_s, "burn_share", layer->burn_share, "dry_degC", layer->dry_degC, "flash_limit_degC",
        layer->flash_limit_degC, "equivalent_degC", layer->equivalent_degC, "kind", tw_layer_name(layer), "depth_mm",
        layer->depth_mm, "bottom_mm", layer->bottom_mm, "table_mm_per_s", layer->table_mm_per_s, "front_mm",
        layer->front_mm, "lanes", layer->lanes, "engaged_mm", layer->engaged_mm, "peak_degC", layer->peak_degC,
        "bulk_degC", layer->bulk_degC, "peak_with_reserve_degC", layer->reserve_degC, "bulk_with_reserve_degC",
        layer->reserve_bulk_degC, "flash_K", layer->flash_K, "edge_factor", layer->edge_factor, "plate_factor",
        layer->plate_factor, "dwell_s", layer->dwell_s, "power_W", layer->power_W, "force_N", layer->force_N,
        "coolant_boiled", layer->boiled, "binding_limit", tw_binding_name(layer->binding));
}

static json_t *layer_array(const struct tw_setup_plan *setup)
{
    json_t *layers = json_array();

    for (size_t i = 0; layers && i < setup->layer_count; i++) {
        if (json_array_append_new(layers, layer_object(&setup->layers[i])) != 0) {
            json_decref(layers);
            return NULL;
        }
    }
    return layers;
}

static json_t *packing_array(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    json_t *packing = json_array();

    for (int i = 0; packing && i <= 4; i++) {
        double x_mm = tw_tang_end_mm(job) * i / 4.0;
        json_t *entry = json_pack("{s:f, s:f, s:f}", "x_mm", x_mm, "packing_mm", tw_setup_packing_mm(job, setup, x_mm),
                                  "finished_thickness_mm", tw_taper_thickness_mm(job, x_mm));

        if (json_array_append_new(packing, entry) != 0) {
            json_decref(packing);
            return NULL;
        }
    }
    return packing;
}

static json_t *tempering_object(const struct tw_job *job, const struct tw_tempering *t)
{
    return json_pack("{s:f, s:f, s:[f, f], s:[f, f], s:[f, f], s:[f, f], s:f, s:f, s:f, s:f, s:f, s:f}", "tempering_h",
                     job->limits.tempering_s / 3600.0, "allowed_degC", t->allowed_degC, "constants", t->constants[0],
                     t->constants[1], "parameters", t->parameter[0], t->parameter[1], "equivalent_degC",
                     t->equivalent_degC[0], t->equivalent_degC[1], "place_mm", t->place_mm[0], t->place_mm[1],
                     "hottest_degC", t->hottest_degC, "contact_s", t->contact_s, "flashes", t->flashes, "softened_mm",
                     t->softened_mm, "left_mm", t->left_mm, "lost_HRC", t->lost_HRC);
}

static json_t *unreached_array(const struct tw_relief_figures *relief)
{
    json_t *parts = json_array();

    for (size_t i = 0; parts && i < relief->left_count; i++) {
        const struct tw_unreached *left = &relief->left[i];
        json_t *part = json_pack("{s:f, s:f, s:f, s:f}", "area_mm2", left->area_mm2, "x_mm", left->x_mm, "y_mm",
                                 left->y_mm, "largest_wheel_mm", left->wheel_mm);

        if (json_array_append_new(parts, part) != 0) {
            json_decref(parts);
            return NULL;
        }
    }
    return parts;
}

/* Null for a program that is no relief's. */
static json_t *hollow_object(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    if (setup->scope != TW_SCOPE_RELIEF)
        return json_null();
    return json_pack("{s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:s, s:o}", "wheel_loses_mm", setup->relief.loss.likely_mm,
                     "wheel_loses_least_mm", setup->relief.loss.least_mm, "wheel_loses_most_mm",
                     setup->relief.loss.most_mm, "removed_mm3", setup->relief.removed_mm3, "depth_mm",
                     job->relief.depth_mm, "region_mm2", setup->relief.region_mm2, "reached_mm2",
                     setup->relief.reached_mm2, "wheel", tw_scope_wheel(job, setup->scope)->name, "unreached",
                     unreached_array(&setup->relief));
}

/* In the order of their stations. */
static json_t *part_losses(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    json_t *parts = json_array();

    for (int part = 0; part < job->parts; part++) {
        struct tw_wheel_loss loss = tw_plan_part_loss(job, setup, part);

        json_array_append_new(parts, json_pack("{s:f, s:f, s:f}", "followed_mm", loss.followed_mm, "high_mm",
                                               loss.high_mm, "low_mm", loss.low_mm));
    }
    return parts;
}

static json_t *stops_array(const struct tw_setup_plan *setup)
{
    const struct tw_wear_ledger *ledger = &setup->ledger;
    json_t *stops = json_array();

    for (size_t i = 0; i < ledger->stay_count * (size_t)ledger->parts; i++)
        if (ledger->dresses[i])
            json_array_append_new(stops, json_pack("{s:i, s:f}", "part", (int)(i % (size_t)ledger->parts) + 1,
                                                   "taken_mm3", ledger->taken_mm3[i]));
    return stops;
}

/* Null where the wheel's grinding ratio is not known, and of a relief. */
static json_t *loss_object(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    const struct tw_wheel_loss *loss = &setup->loss;

    if (!loss->known)
        return json_null();
    return json_pack("{s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:b, s:f, s:f, s:f, s:o}", "ratio", loss->ratio,
                     "ratio_least", loss->ratio_least, "ratio_most", loss->ratio_most, "volume_mm3", loss->volume_mm3,
                     "likely_mm", loss->likely_mm, "least_mm", loss->least_mm, "most_mm", loss->most_mm, "follows",
                     loss->follows, "followed_mm", loss->followed_mm, "high_mm", loss->high_mm, "low_mm", loss->low_mm,
                     "parts", part_losses(job, setup));
}

/* Null for a relief's program. */
static json_t *spring_back_object(const struct tw_job *job, const struct tw_plan *plan, size_t index)
{
    const struct tw_setup_plan *setup = &plan->setups[index];
    const struct tw_spring_back *back = &setup->spring_back;
    struct tw_spring_heat heat = tw_setup_spring_heat(job, plan, index);

    if (setup->scope == TW_SCOPE_RELIEF)
        return json_null();
    return json_pack("{s:f, s:f, s:f, s:f, s:f, s:i, s:f, s:f, s:f}", "takes_um", heat.taken_mm * 1e3, "takes_degC",
                     heat.degC, "takes_limit_degC", heat.limit_degC, "behind_um", back->behind_mm * 1e3,
                     "share_a_spark_out", back->share, "spark_outs", back->spark_outs, "left_um", back->left_mm * 1e3,
                     "left_least_um", back->left_least_mm * 1e3, "left_most_um", back->left_most_mm * 1e3);
}

static json_t *holding_object(const struct tw_setup_plan *setup)
{
    const struct tw_holding *holding = &setup->holding;

    return json_pack("{s:f, s:f, s:o, s:f, s:o, s:b, s:b, s:f, s:f, s:f, s:f, s:f, s:f}", "force_N", holding->force_N,
                     "sliding_N", holding->sliding_N, "turning_N", number(holding->turning_N), "push_mm",
                     holding->push_mm, "about_mm", holding->turns ? json_real(holding->about_mm) : json_null(), "turns",
                     holding->turns, "run_again", holding->again, "clamp_N", holding->clamp_N, "magnet_N",
                     holding->magnet_N, "solid_force_N", holding->solid_force_N, "area_mm2", holding->area_mm2,
                     "touching_mm2", holding->touching_mm2, "gap_mm", holding->gap_mm);
}

static json_t *setup_object(const struct tw_job *job, const struct tw_plan *plan, size_t index)
{
    const struct tw_setup_plan *setup = &plan->setups[index];
    const struct tw_face *face = &setup->face;

    return json_pack(
        "{s:s, s:s, s:s, s:s, s:f, s:f, s:f, s:f, s:s, s:i, s:i, s:i, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f, "
        "s:f, s:f, s:f, s:f, s:o, s:o, s:o, s:o, s:b, s:o, s:o, s:o, s:o}",
        "side", face->side == TW_SIDE_A ? "a" : "b", "program", setup->file_name, "stage", tw_scope_name(setup->scope),
        "mount", face->mount == TW_MOUNT_TILTED ? "tilted" : "level", "tilt_rad", face->tilt_rad, "rise_mm",
        face->mount == TW_MOUNT_TILTED ? tw_face_rise_mm(face, job->fixture.sine_bar_mm) : 0.0, "bar_mm",
        job->fixture.sine_bar_mm, "finish_height_mm", face->height_mm - face->zero_mm, "travel_style",
        tw_travel_style_name(setup->style), "rounds", setup->rounds, "pass_count", setup->pass_count * job->parts,
        "layer_count", (int)setup->layer_count, "cut_time_s", setup->cut_time_s * job->parts, "cycle_time_s",
        setup->cycle_time_s, "part_time_s", setup->part_time_s, "between_s", setup->between_s, "peak_degC",
        setup->peak_degC, "bulk_degC", setup->bulk_degC, "peak_with_reserve_degC", setup->reserve_degC,
        "bulk_with_reserve_degC", setup->reserve_bulk_degC, "dwell_s", setup->dwell_s * job->parts, "spindle_rpm",
        setup->spindle_rpm, "wheel_m_per_s", setup->wheel_mm_per_s / 1000.0, "lane_pitch_mm", setup->lane_pitch_mm,
        "cusp_mm", setup->cusp_mm, "packing", packing_array(job, setup), "tempering",
        tempering_object(job, &setup->tempering), "spring_back", spring_back_object(job, plan, index), "holding",
        holding_object(setup), "dress_before", setup->dress_before, "dressing_stops", stops_array(setup), "wheel_loss",
        loss_object(job, setup), "hollow", hollow_object(job, setup), "layers", layer_array(setup));
}

static json_t *setup_array(const struct tw_job *job, const struct tw_plan *plan)
{
    json_t *setups = json_array();

    for (size_t i = 0; setups && i < plan->setup_count; i++) {
        if (json_array_append_new(setups, setup_object(job, plan, i)) != 0) {
            json_decref(setups);
            return NULL;
        }
    }
    return setups;
}

static json_t *sensitivity_array(const struct tw_sensitivity *rows, size_t count)
{
    json_t *array = json_array();

    for (size_t i = 0; array && i < count; i++) {
        json_t *row = json_pack("{s:s, s:s, s:f, s:f, s:f, s:f, s:f}", "assumption", rows[i].what, "unit", rows[i].unit,
                                "used", rows[i].used, "low", rows[i].low, "high", rows[i].high, "low_peak_degC",
                                rows[i].low_degC, "high_peak_degC", rows[i].high_degC);

        if (json_array_append_new(array, row) != 0) {
            json_decref(array);
            return NULL;
        }
    }
    return array;
}

/* What the limit that was not used says of this plan. */
static json_t *other_limit_object(const struct tw_plan_limits *limits)
{
    bool strict = limits->used == TW_FLASH_STRICT;

    return json_pack("{s:s, s:b, s:f}", "name", strict ? "equivalent" : "strict", "allows",
                     strict ? limits->equivalent_allows : limits->strict_allows, "flash_limit_degC",
                     strict ? limits->equivalent_degC : limits->strict_degC);
}

static json_t *burn_object(const struct tw_plan *plan)
{
    struct tw_plan_burn burn = tw_plan_burn(plan);

    return json_pack("{s:f, s:f, s:b, s:s, s:i}", "share", burn.share, "warns_above", TW_BURN_WARNS, "warns",
                     burn.warns, "found_in", plan->setups[burn.setup].file_name, "layer", (int)burn.layer + 1);
}

/* Null for a dry plan. */
static json_t *film_object(const struct tw_job *job, const struct tw_plan *plan)
{
    struct tw_plan_film film = tw_plan_film(job, plan);
    const struct tw_setup_plan *weakest = &plan->setups[film.setup];
    const char *program = film.counted ? weakest->file_name : NULL;
    char words[TW_FILM_WORDS];

    if (!film.wet)
        return json_null();
    tw_plan_film_words(&film, words);
    return json_pack("{s:f, s:o, s:o, s:s?, s:o, s:f, s:o, s:b, s:s}", "reserve", job->limits.film_reserve,
                     "lasts_times", number(film.times), "boiled_degC", number(film.boiled_degC), "found_in", program,
                     "layer", film.counted ? json_integer((json_int_t)film.layer + 1) : json_null(), "dry_degC",
                     film.dry_degC, "least_degC", number(film.least_degC), "hardens", film.hardens, "words", words);
}

/* Null for a job without. A way that was not planned, or is not possible, has no time. */
static json_t *relief_object(const struct tw_plan *plan)
{
    if (plan->relief_first_s <= 0.0 && plan->relief_last_s <= 0.0)
        return json_null();
    return json_pack("{s:s, s:o, s:o}", "when", plan->relief_first ? "first" : "last", "first_s",
                     plan->relief_first_s > 0.0 ? json_real(plan->relief_first_s) : json_null(), "last_s",
                     plan->relief_last_s > 0.0 ? json_real(plan->relief_last_s) : json_null());
}

/* Which blanks the programs are for, and what becomes of the ends of their band. */
static json_t *blanks_object(const struct tw_job *job)
{
    struct tw_job thickest = tw_blank_job(job, job->taper.band_mm), thinnest = tw_blank_job(job, -job->taper.band_mm);

    return json_pack("{s:s, s:f, s:{s:f, s:f, s:f}, s:{s:f, s:f, s:f}}", "height_zero",
                     job->taper.zero == TW_ZERO_PAD ? "pad" : "ricasso", "stated_mm", job->taper.ricasso_mm, "thickest",
                     "ricasso_mm", tw_blank_mm(&thickest), "start_mm", tw_taper_begin_mm(&thickest) + 0.0, "butt_mm",
                     tw_taper_butt_mm(&thickest), "thinnest", "ricasso_mm", tw_blank_mm(&thinnest), "start_mm",
                     tw_taper_begin_mm(&thinnest) + 0.0, "butt_mm", tw_taper_butt_mm(&thinnest));
}

/* What each limit that binds would save, were it a tenth looser. */
static json_t *limit_costs_array(const double saves_s[TW_LIMIT_COUNT])
{
    json_t *array = json_array();

    for (int limit = 0; array && limit < TW_LIMIT_COUNT; limit++) {
        if (saves_s[limit] <= 0.0)
            continue;
        if (json_array_append_new(
                array, json_pack("{s:s, s:f}", "limit", tw_limit_name(limit), "saves_s", saves_s[limit])) != 0) {
            json_decref(array);
            return NULL;
        }
    }
    return array;
}

/* What of a cup's rim cuts in the hottest layer; null for a disc. */
static json_t *rim_object(const struct tw_job *job, const struct tw_plan *plan, const struct tw_plan_limits *limits)
{
    const struct tw_setup_plan *setup = &plan->setups[limits->setup];
    const struct tw_wheel *wheel = tw_scope_wheel(job, setup->scope);
    double depth_mm = setup->layers[limits->layer].depth_mm;

    if (wheel->kind != TW_WHEEL_CUP)
        return json_null();
    return json_pack("{s:s, s:f, s:f, s:f, s:f, s:f}", "state", wheel->rim_state == TW_RIM_FRESH ? "fresh" : "worn-in",
                     "lead_in_deg", tw_degrees(wheel->lead_in_rad), "depth_mm", depth_mm, "band_mm",
                     tw_cup_contact_mm(wheel, tw_plan_lean(job, setup), depth_mm), "head_tilt_deg",
                     tw_degrees(job->machine.head_tilt_rad), "dish_mm", setup->dish_mm);
}

static json_t *summary_object(const struct tw_job *job, const struct tw_plan *plan, json_t *sensitivity)
{
    struct tw_plan_limits limits = tw_plan_limits(plan);
    char words[TW_ENERGY_WORDS];

    tw_energy_words(job, words);
    return json_pack(
        "{s:s, s:s, s:s, s:i, s:f, s:s, s:f, s:f, s:b, s:f, s:s, s:i, s:f, s:f, s:f, s:f, s:f, s:f, s:f, "
        "s:f, s:f, s:f, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o, s:o}",
        "format", "tangwright-summary/1", "job", job->name, "inputs", job->digest, "parts", job->parts, "limit_degC",
        plan->limit_degC, "flash_limit", tw_flash_limit_name(limits.used), "peak_degC", plan->peak_degC,
        "peak_with_reserve_degC", plan->reserve_degC, "wheel_calibrated", job->wheel.calibrated, "energy_reserve",
        tw_energy_largest_reserve(job), "calibration", words, "pass_count", plan->pass_count, "cut_time_s",
        plan->cut_time_s, "cycle_time_s", plan->cycle_time_s, "removed_mm3", plan->removed_mm3, "removed_g",
        plan->removed_g, "spindle_rpm", plan->spindle_rpm, "wheel_m_per_s", plan->wheel_mm_per_s / 1000.0, "holding_N",
        plan->holding_N, "specific_energy_J_per_mm3", job->wheel.specific_energy_J_per_mm3, "ambient_degC",
        job->coolant.temperature_degC, "flash_limit_degC",
        limits.used == TW_FLASH_STRICT ? limits.strict_degC : limits.equivalent_degC, "other_limit",
        other_limit_object(&limits), "film", film_object(job, plan), "burn", burn_object(plan), "relief",
        relief_object(plan), "blanks", blanks_object(job), "limit_costs", limit_costs_array(plan->saves_s), "rim",
        rim_object(job, plan, &limits), "error_budget", tw_budget_array(job, plan), "error_budget_sum",
        tw_budget_sum(job, plan), "sensitivity", sensitivity, "setups", setup_array(job, plan));
}

enum tw_status tw_summary_json(const struct tw_job *job, const struct tw_plan *plan, char **out,
                               struct tw_findings *findings)
{
    struct tw_sensitivity rows[TW_SENSITIVITY_MOST];
    struct tw_balance balance;
    bool weighed = job->blank.mass_g > 0.0;
    size_t count;
    enum tw_status status = tw_plan_sensitivity(job, plan, rows, &count, findings);
    json_t *summary;
    char *text;

    *out = NULL;
    if (status == TW_OK && weighed)
        status = tw_plan_balance(job, &balance, findings);
    if (status != TW_OK)
        return status;
    summary = summary_object(job, plan, sensitivity_array(rows, count));
    if (weighed && json_object_set_new(summary, "balance", tw_balance_object(&balance)) != 0) {
        json_decref(summary);
        summary = NULL;
    }
    text = summary ? json_dumps(summary, JSON_INDENT(2) | JSON_REAL_PRECISION(DIGITS)) : NULL;
    json_decref(summary);
    *out = text;
    return text ? TW_OK : tw_no_memory(findings);
}
