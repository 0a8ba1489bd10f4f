/* straight_json.c - the straightening as one JSON object. */
#include "tangwright/report.h"

#include <jansson.h>
#include <math.h>

#define DIGITS 9

static json_t *number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

static bool append(json_t *array, json_t *member)
{
    return member && json_array_append_new(array, member) == 0;
}

static json_t *gauge_object(const struct tw_gauge_point *gauge)
{
    return json_pack(
        "{s:f, s:I, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:o, s:f, s:f}", "x_mm",
        gauge->x_mm, "readings", (json_int_t)gauge->readings, "a_mm", gauge->height_mm[0], "b_mm", gauge->height_mm[1],
        "bow_mm", gauge->bow_mm, "thickness_mm", gauge->thickness_mm, "finished_a_mm", gauge->finished_mm[0],
        "finished_b_mm", gauge->finished_mm[1], "off_a_mm", gauge->off_mm[0], "off_b_mm", gauge->off_mm[1],
        "missing_a_mm", gauge->missing_mm[0], "missing_b_mm", gauge->missing_mm[1], "below_a_mm", gauge->below_mm[0],
        "below_b_mm", gauge->below_mm[1], "straight_lacks_a_mm", gauge->straight_lacks_mm[0], "straight_lacks_b_mm",
        gauge->straight_lacks_mm[1], "deviation_mm", gauge->deviation_mm, "twist_rad", number(gauge->twist_rad),
        "uncertainty_mm", gauge->uncertainty_mm, "guard_mm", gauge->guard_mm);
}

static json_t *gauges_array(const struct tw_straight *straight)
{
    json_t *array = json_array();

    for (size_t i = 0; array && i < straight->gauge_count; i++)
        if (!append(array, gauge_object(&straight->gauges[i]))) {
            json_decref(array);
            return NULL;
        }
    return array;
}

static json_t *stack_array(const struct tw_stack *stack)
{
    json_t *array = json_array();

    for (size_t i = 0; array && i < stack->count; i++)
        if (!append(array, json_real(stack->blocks_mm[i]))) {
            json_decref(array);
            return NULL;
        }
    return array;
}

static json_t *gaps_array(const struct tw_job *job, const struct tw_straight *straight, enum tw_side side)
{
    json_t *array = json_array();

    for (size_t i = 0; array && i < straight->gauge_count; i++) {
        double x_mm = straight->gauges[i].x_mm;

        if (!append(array, json_pack("{s:f, s:f}", "x_mm", x_mm, "gap_mm", tw_packing_mm(job, straight, side, x_mm)))) {
            json_decref(array);
            return NULL;
        }
    }
    return array;
}

static json_t *sine_object(const struct tw_job *job, const struct tw_straight *straight, enum tw_side side)
{
    struct tw_sine sine;

    if (job->mount != TW_MOUNT_TILTED)
        return json_null();
    sine = tw_sine_stack(job->fixture.sine_bar_mm, tw_packing_tilt_rad(job, straight, side), job->fixture.blocks);
    return json_pack("{s:f, s:f, s:f, s:s, s:b, s:o, s:o, s:f}", "bar_mm", sine.bar_mm, "angle_rad", sine.angle_rad,
                     "rise_mm", sine.rise_mm, "blocks", tw_block_set_name(job->fixture.blocks), "possible",
                     sine.possible, "under_high_roll_mm", stack_array(&sine.under_high), "under_low_roll_mm",
                     stack_array(&sine.under_low), "made_mm", sine.made_mm);
}

static json_t *setup_object(const struct tw_job *job, const struct tw_straight *straight, enum tw_side side)
{
    return json_pack("{s:s, s:o, s:o}", "side", side == TW_SIDE_A ? "a" : "b", "sine", sine_object(job, straight, side),
                     "packing", gaps_array(job, straight, side));
}

/* None for a blank that must not be ground as it is. */
static json_t *setups_array(const struct tw_job *job, const struct tw_straight *straight)
{
    if (!straight->straight || straight->twisted)
        return json_array();
    return json_pack("[o, o]", setup_object(job, straight, TW_SIDE_A), setup_object(job, straight, TW_SIDE_B));
}

static json_t *whole_object(const struct tw_job *job, const struct tw_straight *straight)
{
    return json_pack(
        "{s:s, s:s, s:s, s:b, s:b, s:b, s:b, s:b, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:f, s:o, s:o, s:f, s:o, "
        "s:o, s:o, s:f, s:f, s:o, s:o}",
        "format", "tangwright-straighten/1", "job", job->name, "survey", job->survey.path, "straight",
        straight->straight, "comes_clean", straight->comes_clean, "twisted", straight->twisted, "straight_in_doubt",
        straight->straight_in_doubt, "twist_in_doubt", straight->twist_in_doubt, "deviation_mm", straight->deviation_mm,
        "deviation_low_mm", straight->deviation_low_mm, "deviation_high_mm", straight->deviation_high_mm, "offset_mm",
        straight->offset_mm, "tilt", straight->tilt, "shortfall_mm", straight->shortfall_mm, "below_mm",
        straight->below_mm, "bow_mm", straight->bow_mm, "bow_x_mm", straight->bow_x_mm, "twist_rad",
        number(straight->twist_rad), "twist_x_mm",
        number(isnan(straight->twist_rad) ? (double)NAN : straight->twist_x_mm), "ricasso_unevenness_mm",
        straight->ricasso_unevenness_mm, "butt_mm", number(straight->butt_mm), "later_start_mm",
        number(straight->start_mm), "bend_to_mm", number(straight->bend_mm), "resolution_mm", job->survey.resolution_mm,
        "above_readings_mm", straight->higher_mm, "gauges", gauges_array(straight), "setups",
        setups_array(job, straight));
}

enum tw_status tw_straight_json(const struct tw_job *job, const struct tw_straight *straight, char **out,
                                struct tw_findings *findings)
{
    json_t *whole = whole_object(job, straight);

    *out = whole ? json_dumps(whole, JSON_INDENT(2) | JSON_REAL_PRECISION(DIGITS)) : NULL;
    json_decref(whole);
    return *out ? TW_OK : tw_no_memory(findings);
}
