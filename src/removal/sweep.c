/* sweep.c - a wheel, taken apart into simple solids, along a motion or an arc. */
#include "removal/sweep.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A motion that goes less than this to the side goes straight up or down. */
#define STRAIGHT_DOWN_MM 1e-9

/* The lower the stock is known to be, the shorter a disc's reach. Looking costs a pass over the field, so
 * it is done when so many times the field has been cut. */
#define PASSES_BETWEEN_LOOKS 32.0

static const struct tw_place nowhere = { 0 };

/* --- the wheel ----------------------------------------------------------------------------------------- */

static void take_disc_apart(const struct tw_wheel_body *body, struct removal_part *parts, int *count)
{
    double half_mm = body->width_mm / 2.0, away_mm = 1e9;

    parts[(*count)++] = (struct removal_part){
        .round = true, .cuts = true, .radius_mm = body->radius_mm, .y_from_mm = -half_mm, .y_to_mm = half_mm
    };
    if (body->nose_radius_mm > 0.0)
        parts[(*count)++] = (struct removal_part){ .round = true,
                                                   .radius_mm = body->nose_radius_mm,
                                                   .y_from_mm = body->nose_side > 0 ? body->nose_start_mm : -away_mm,
                                                   .y_to_mm = body->nose_side > 0 ? away_mm : -body->nose_start_mm,
                                                   .lift_mm = body->radius_mm - body->nose_radius_mm };
}

static void take_cup_apart(const struct tw_wheel_body *body, struct removal_part *parts, int *count)
{
    double inner_mm = body->radius_mm - body->rim_mm;

    parts[(*count)++] = (struct removal_part){ .cuts = true, .radius_mm = body->radius_mm, .inner_mm = inner_mm };
    if (inner_mm > 0.0)
        parts[(*count)++] = (struct removal_part){ .radius_mm = inner_mm, .lift_mm = body->hollow_mm };
    /* A nose narrower than the wheel stands in its shadow. */
    if (body->nose_radius_mm > body->radius_mm)
        parts[(*count)++] = (struct removal_part){ .radius_mm = body->nose_radius_mm,
                                                   .inner_mm = body->radius_mm,
                                                   .lift_mm = body->nose_start_mm };
}

bool removal_take_apart(const struct tw_wheel_body *body, struct removal_part parts[REMOVAL_PARTS], int *count)
{
    bool disc = body->shape == TW_BODY_DISC;

    *count = 0;
    if (!(body->radius_mm > 0.0) || !isfinite(body->radius_mm) || !(body->nose_radius_mm >= 0.0) ||
        !(body->nose_start_mm >= 0.0) || !isfinite(body->nose_radius_mm + body->nose_start_mm))
        return false;
    if (disc && (!(body->width_mm > 0.0) || !isfinite(body->width_mm)))
        return false;
    if (!disc && (!(body->rim_mm > 0.0) || body->rim_mm > body->radius_mm || !(body->hollow_mm >= 0.0)))
        return false;
    if (disc)
        take_disc_apart(body, parts, count);
    else
        take_cup_apart(body, parts, count);
    return true;
}

/* --- working space ------------------------------------------------------------------------------------- */

static bool new_slots(struct removal_slots *slots, int count)
{
    slots->sum_mm = calloc((size_t)count, sizeof(float));
    slots->depth_mm = calloc((size_t)count, sizeof(float));
    slots->cells = calloc((size_t)count, sizeof(float));
    return slots->sum_mm && slots->depth_mm && slots->cells;
}

enum tw_status tw_sweep_new(struct tw_field *field, const struct tw_wheel_body *body, double slice_mm,
                            struct tw_sweep **out, struct tw_findings *findings)
{
    struct tw_sweep *sweep = calloc(1, sizeof *sweep);
    double pad;

    *out = NULL;
    if (!sweep)
        return tw_no_memory(findings);
    sweep->field = field;
    sweep->slice_mm = slice_mm;
    if (!removal_take_apart(body, sweep->parts, &sweep->part_count) || !(slice_mm >= field->cell_mm) ||
        !isfinite(slice_mm)) {
        free(sweep);
        return tw_fail(findings, TW_BAD_USAGE, nowhere,
                       "a wheel needs a radius, a width or a rim above zero (the rim no wider than the radius), and "
                       "slices at least as long as a cell of %g mm",
                       field->cell_mm);
    }
    pad = ceil(body->radius_mm / field->cell_mm) + 4.0;
    sweep->pad = (int)fmin(pad, 1 << 24);
    sweep->slot_count = 2 * sweep->pad + (field->columns > field->rows ? field->columns : field->rows);
    sweep->floor_mm = calloc((size_t)field->columns, sizeof(float));
    sweep->clamped_mm = calloc((size_t)field->columns, sizeof(float));
    if (!sweep->floor_mm || !sweep->clamped_mm || !new_slots(&sweep->sets[0].slots, sweep->slot_count) ||
        !new_slots(&sweep->sets[1].slots, sweep->slot_count)) {
        tw_sweep_free(sweep);
        return tw_no_memory(findings);
    }
    sweep->sets[0].from = sweep->sets[1].from = sweep->slot_count;
    *out = sweep;
    return TW_OK;
}

void tw_sweep_free(struct tw_sweep *sweep)
{
    if (!sweep)
        return;
    for (int i = 0; i < 2; i++) {
        free(sweep->sets[i].slots.sum_mm);
        free(sweep->sets[i].slots.depth_mm);
        free(sweep->sets[i].slots.cells);
    }
    free(sweep->floor_mm);
    free(sweep->clamped_mm);
    free(sweep->slices);
    free(sweep);
}

/* --- one motion ---------------------------------------------------------------------------------------- */

static void start_removal(struct tw_sweep *sweep)
{
    sweep->slice_count = 0;
    sweep->cells = 0;
    sweep->touched = sweep->lowered = (struct removal_cells){ 1 << 30, -1, 1 << 30, -1 };
    memset(sweep->contacts, 0, sizeof sweep->contacts);
}

/* Sets the motion in hand; false when it is none. */
static bool take_motion(struct tw_sweep *sweep, const double from_mm[3], const double to_mm[3])
{
    for (int i = 0; i < 3; i++) {
        if (!isfinite(from_mm[i]) || !isfinite(to_mm[i]))
            return false;
        sweep->from_mm[i] = from_mm[i];
        sweep->to_mm[i] = to_mm[i];
        sweep->step_mm[i] = to_mm[i] - from_mm[i];
    }
    sweep->across_mm = hypot(sweep->step_mm[0], sweep->step_mm[1]);
    if (sweep->across_mm < STRAIGHT_DOWN_MM)
        sweep->across_mm = sweep->step_mm[0] = sweep->step_mm[1] = 0.0;
    sweep->low_mm = fmin(from_mm[2], to_mm[2]);
    sweep->cut = false;
    return true;
}

static void sweep_parts(struct tw_sweep *sweep, const struct removal_part *parts, int count)
{
    double top_mm = fmax(sweep->field->stock_high_mm, sweep->field->keep_high_mm);

    for (int i = 0; i < count; i++) {
        if (sweep->low_mm + parts[i].lift_mm >= top_mm)
            continue;
        if (parts[i].round)
            removal_sweep_round(sweep, &parts[i]);
        else
            removal_sweep_ring(sweep, &parts[i]);
    }
}

static void place_cells(const struct tw_field *field, const struct removal_cells *cells, double *x_from_mm,
                        double *x_to_mm, double *y_from_mm, double *y_to_mm)
{
    *x_from_mm = field->x_mm + cells->column_from * field->cell_mm;
    *x_to_mm = field->x_mm + (cells->column_to + 1) * field->cell_mm;
    *y_from_mm = field->y_mm + cells->row_from * field->cell_mm;
    *y_to_mm = field->y_mm + (cells->row_to + 1) * field->cell_mm;
}

static void finish(const struct tw_sweep *sweep, struct tw_removal *out)
{
    const struct tw_field *field = sweep->field;

    memset(out, 0, sizeof *out);
    memcpy(out->contacts, sweep->contacts, sizeof out->contacts);
    out->slices = sweep->slices;
    out->slice_count = sweep->slice_count;
    out->cells = sweep->cells;
    for (size_t i = 0; i < sweep->slice_count; i++) {
        out->volume_mm3 += sweep->slices[i].volume_mm3;
        out->depth_mm = fmax(out->depth_mm, sweep->slices[i].depth_mm);
        out->width_mm = fmax(out->width_mm, sweep->slices[i].width_mm);
    }
    if (out->volume_mm3 == 0.0)
        out->slice_count = 0;
    else
        place_cells(field, &sweep->lowered, &out->lower_x_from_mm, &out->lower_x_to_mm, &out->lower_y_from_mm,
                    &out->lower_y_to_mm);
    if (out->cells > 0)
        place_cells(field, &sweep->touched, &out->x_from_mm, &out->x_to_mm, &out->y_from_mm, &out->y_to_mm);
}

static void look_again(struct tw_sweep *sweep)
{
    double cells = (double)sweep->field->columns * sweep->field->rows;

    if (sweep->cells_since_look < PASSES_BETWEEN_LOOKS * cells)
        return;
    removal_refresh_high(sweep->field);
    sweep->cells_since_look = 0.0;
}

static enum tw_status grind(struct tw_sweep *sweep, const double from_mm[3], const double to_mm[3], double from,
                            double to, struct tw_findings *findings)
{
    if (!take_motion(sweep, from_mm, to_mm))
        return tw_fail(findings, TW_BAD_USAGE, nowhere, "a motion has an end that is not a number");
    look_again(sweep);
    sweep_parts(sweep, sweep->parts, sweep->part_count);
    return removal_slice(sweep, from, to, findings);
}

enum tw_status tw_sweep_line(struct tw_sweep *sweep, const double from_mm[3], const double to_mm[3],
                             struct tw_removal *out, struct tw_findings *findings)
{
    enum tw_status status;

    start_removal(sweep);
    status = grind(sweep, from_mm, to_mm, 0.0, 1.0, findings);
    finish(sweep, out);
    return status;
}

static void arc_point(const struct tw_sweep_arc *arc, double t, double out_mm[3])
{
    double radius_mm = arc->start_radius_mm + t * (arc->end_radius_mm - arc->start_radius_mm);
    double angle_rad = arc->start_angle_rad + t * arc->sweep_rad;

    out_mm[arc->first_axis] = arc->centre_mm[arc->first_axis] + radius_mm * cos(angle_rad);
    out_mm[arc->second_axis] = arc->centre_mm[arc->second_axis] + radius_mm * sin(angle_rad);
    out_mm[arc->normal_axis] = arc->centre_mm[arc->normal_axis] + t * arc->rise_mm;
}

/* A chord over an angle d is r (1 - cos(d/2)) away from its arc in the middle. */
static double chord_count(const struct tw_sweep_arc *arc, double error_mm)
{
    double radius_mm = fmax(arc->start_radius_mm, arc->end_radius_mm);
    double angle_rad = 2.0 * acos(fmax(1.0 - error_mm / radius_mm, 0.7));

    return fmax(ceil(fabs(arc->sweep_rad) / angle_rad), 1.0);
}

enum tw_status tw_sweep_arc(struct tw_sweep *sweep, const struct tw_sweep_arc *arc, double error_mm,
                            struct tw_removal *out, struct tw_findings *findings)
{
    double count = error_mm > 0.0 ? chord_count(arc, error_mm) : (double)INFINITY;
    enum tw_status status = TW_OK;
    double at_mm[3], next_mm[3];

    start_removal(sweep);
    finish(sweep, out);
    if (!(count <= 1e6))
        return tw_fail(findings, TW_BAD_USAGE, nowhere, "an arc cannot be cut into chords within %g mm of it",
                       error_mm);
    arc_point(arc, 0.0, at_mm);
    for (int i = 0; i < (int)count && status == TW_OK; i++) {
        arc_point(arc, (i + 1) / count, next_mm);
        status = grind(sweep, at_mm, next_mm, i / count, (i + 1) / count, findings);
        memcpy(at_mm, next_mm, sizeof at_mm);
    }
    finish(sweep, out);
    return status;
}

enum tw_status tw_sweep_probe(struct tw_sweep *sweep, const struct tw_wheel_body *body, const double from_mm[3],
                              const double to_mm[3], struct tw_removal *out, struct tw_findings *findings)
{
    struct removal_part parts[REMOVAL_PARTS];
    int count;

    start_removal(sweep);
    finish(sweep, out);
    if (!removal_take_apart(body, parts, &count) || !take_motion(sweep, from_mm, to_mm))
        return tw_fail(findings, TW_BAD_USAGE, nowhere, "the wheel or the motion to be looked at makes no sense");
    sweep->probing = true;
    sweep_parts(sweep, parts, count);
    sweep->probing = false;
    finish(sweep, out);
    return TW_OK;
}
