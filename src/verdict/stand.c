/* stand.c - one part on its station as fields of heights. */
#include "verdict/stand.h"

#include "geometry/ring.h"

#include <math.h>
#include <stdlib.h>

#define MARGIN_MM 1.0

double tw_stand_cell_mm(const struct tw_job *job)
{
    double slope = tw_face_of(job, TW_SIDE_A).slope;

    return fmin(0.1, 1e-3 / slope);
}

struct tw_wheel_body tw_stand_wheel(const struct tw_job *job, double more_mm)
{
    const struct tw_wheel *wheel = &job->wheel;
    struct tw_wheel_body body = {
        .shape = wheel->kind == TW_WHEEL_CUP ? TW_BODY_CUP : TW_BODY_DISC,
        .radius_mm = wheel->diameter_mm / 2.0 + more_mm,
        .width_mm = wheel->width_mm + 2.0 * more_mm,
        .rim_mm = wheel->rim_width_mm + (wheel->rim_width_mm < wheel->diameter_mm / 2.0 ? 2.0 * more_mm : more_mm),
        /* The profile tells the cup's height; its hollow is taken to go three quarters up. */
        .hollow_mm = fmax(0.0, 0.75 * wheel->width_mm - more_mm),
        .nose_radius_mm = job->machine.spindle_nose_diameter_mm / 2.0 + more_mm,
        .nose_start_mm = job->machine.wheel_overhang_mm - more_mm,
        .nose_side = 1,
    };

    if (body.rim_mm > body.radius_mm)
        body.rim_mm = body.radius_mm;
    if (body.shape == TW_BODY_DISC)
        body.nose_start_mm = wheel->width_mm / 2.0;
    else if (job->machine.wheel_overhang_mm <= 0.0)
        body.nose_radius_mm = 0.0; /* the profile does not say how far the nose is away */
    return body;
}

/* The blank's upper side before anything is ground. */
static struct tw_height_plane blank_top(const struct tw_job *job, const struct tw_face *face)
{
    double ricasso_mm = job->taper.ricasso_mm;

    if (face->mount == TW_MOUNT_LEVEL)
        return (struct tw_height_plane){ ricasso_mm, 0.0, 0.0 };
    return (struct tw_height_plane){ ricasso_mm / cos(face->tilt_rad), tan(face->tilt_rad), 0.0 };
}

static void widen(struct tw_box *box, struct tw_box more)
{
    box->min_x_mm = fmin(box->min_x_mm, more.min_x_mm);
    box->min_y_mm = fmin(box->min_y_mm, more.min_y_mm);
    box->max_x_mm = fmax(box->max_x_mm, more.max_x_mm);
    box->max_y_mm = fmax(box->max_y_mm, more.max_y_mm);
}

static enum tw_status new_field(struct tw_box box, double cell_mm, double bottom_mm, struct tw_field *out,
                                struct tw_findings *findings)
{
    int columns = (int)ceil((box.max_x_mm - box.min_x_mm + 2.0 * MARGIN_MM) / cell_mm);
    int rows = (int)ceil((box.max_y_mm - box.min_y_mm + 2.0 * MARGIN_MM) / cell_mm);

    return tw_field_new(box.min_x_mm - MARGIN_MM, box.min_y_mm - MARGIN_MM, cell_mm, columns, rows, bottom_mm, out,
                        findings);
}

/* Outer ring and holes in one array, as the field wants them; the points stay the outline's. */
static enum tw_status rings_of(const struct tw_outline *outline, struct tw_ring **rings, size_t *count,
                               struct tw_findings *findings)
{
    *rings = malloc((outline->hole_count + 1) * sizeof **rings);
    if (!*rings)
        return tw_no_memory(findings);
    (*rings)[0] = outline->outer;
    for (size_t i = 0; i < outline->hole_count; i++)
        (*rings)[i + 1] = outline->holes[i];
    *count = outline->hole_count + 1;
    return TW_OK;
}

/* Where the target lies above the blank, nothing may be cut at all. */
static void cap_limit(struct tw_field *field)
{
    size_t cells = (size_t)field->columns * (size_t)field->rows;

    for (size_t i = 0; i < cells; i++)
        field->limit_mm[i] = fminf(field->limit_mm[i], field->stock_mm[i]);
}

static double surveyed_top_mm(const void *face, double x_mm)
{
    return tw_face_top_mm(face, x_mm);
}

static enum tw_status fill_fine(const struct tw_job *job, const struct tw_outline *tang, const struct tw_outline *blade,
                                struct tw_stand *stand, struct tw_findings *findings)
{
    const struct tw_face *face = &stand->face;
    struct tw_height_plane top = blank_top(job, face);
    struct tw_height_plane target = { face->height_mm, -face->fall, 0.0 };
    struct tw_ring *rings = NULL;
    size_t count = 0;
    enum tw_status status = rings_of(tang, &rings, &count, findings);

    if (status == TW_OK)
        status = tw_field_add_stock(&stand->fine, rings, count, top, findings);
    if (status == TW_OK && face->raw) /* as it was surveyed */
        tw_field_shape_stock(&stand->fine, surveyed_top_mm, face);
    if (status == TW_OK)
        status = tw_field_set_limit(&stand->fine, NULL, 0, target, findings);
    if (status == TW_OK)
        cap_limit(&stand->fine);
    free(rings);
    rings = NULL;
    if (status == TW_OK && blade->outer.count > 0)
        status = rings_of(blade, &rings, &count, findings);
    if (status == TW_OK && rings)
        status = tw_field_add_keep_out(&stand->fine, rings, count, TW_CELL_BLADE, top, findings);
    free(rings);
    if (status == TW_OK) {
        tw_field_refresh(&stand->fine);
        stand->volume_mm3 = tw_field_volume_mm3(&stand->fine);
    }
    return status;
}

static enum tw_cell_kind cell_kind(enum tw_keep_out_kind kind)
{
    switch (kind) {
    case TW_KEEP_OUT_CLAMP:
        return TW_CELL_CLAMP;
    case TW_KEEP_OUT_PIN:
        return TW_CELL_PIN;
    case TW_KEEP_OUT_PAD:
        return TW_CELL_PAD;
    case TW_KEEP_OUT_BODY:
        break;
    }
    return TW_CELL_BODY;
}

/* Half the cells, so that the middles of nine of them are the nine points of a coarse cell: its middle, the middles of
 * its sides and its corners. */
static enum tw_status draw_fixture_part(const struct tw_keep_out *keep_out, const struct tw_field *coarse, int column,
                                        int row, struct tw_field *out, struct tw_findings *findings)
{
    struct tw_box box = tw_ring_box(&keep_out->plan);
    double half_mm = coarse->cell_mm / 2.0;
    double x_mm = coarse->x_mm + column * coarse->cell_mm - half_mm / 2.0;
    double y_mm = coarse->y_mm + row * coarse->cell_mm - half_mm / 2.0;
    struct tw_height_plane top = { keep_out->top_mm, 0.0, 0.0 };
    enum tw_status status = tw_field_new(x_mm, y_mm, half_mm, (int)((box.max_x_mm - x_mm) / half_mm) + 4,
                                         (int)((box.max_y_mm - y_mm) / half_mm) + 4, coarse->bottom_mm, out, findings);

    return status == TW_OK
               ? tw_field_add_keep_out(out, &keep_out->plan, 1, cell_kind(keep_out->kind), top, findings)
               : status;
}

static bool any_of_nine(const struct tw_field *drawn, int column, int row)
{
    for (int k = 0; k < 9; k++) {
        int at_column = 2 * column + k % 3, at_row = 2 * row + k / 3;

        if (at_column < drawn->columns && at_row < drawn->rows &&
            drawn->keep_mm[(size_t)at_row * (size_t)drawn->columns + (size_t)at_column] > -INFINITY)
            return true;
    }
    return false;
}

static void take_cell(struct tw_field *coarse, int column, int row, const struct tw_keep_out *keep_out)
{
    size_t i = (size_t)row * (size_t)coarse->columns + (size_t)column;

    if (column < 0 || column >= coarse->columns || row < 0 || row >= coarse->rows ||
        (float)keep_out->top_mm <= coarse->keep_mm[i])
        return;
    coarse->keep_mm[i] = (float)keep_out->top_mm;
    coarse->keep_kind[i] = (unsigned char)cell_kind(keep_out->kind);
}

static enum tw_status add_fixture_part(const struct tw_keep_out *keep_out, struct tw_field *coarse,
                                       struct tw_findings *findings)
{
    struct tw_box box = tw_ring_box(&keep_out->plan);
    int column = (int)floor((box.min_x_mm - coarse->x_mm) / coarse->cell_mm) - 1;
    int row = (int)floor((box.min_y_mm - coarse->y_mm) / coarse->cell_mm) - 1;
    struct tw_field drawn = { 0 };
    enum tw_status status = draw_fixture_part(keep_out, coarse, column, row, &drawn, findings);

    for (int r = 0; status == TW_OK && 2 * r < drawn.rows; r++)
        for (int c = 0; 2 * c < drawn.columns; c++)
            if (any_of_nine(&drawn, c, r))
                take_cell(coarse, column + c, row + r, keep_out);
    tw_field_free(&drawn);
    return status;
}

static enum tw_status fill_coarse(const struct tw_job *job, const struct tw_outline *blade, struct tw_stand *stand,
                                  struct tw_findings *findings)
{
    struct tw_ring *rings = NULL;
    size_t count = 0;
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < job->fixture.keep_out_count; i++)
        status = add_fixture_part(&job->fixture.keep_outs[i], &stand->coarse, findings);
    if (status == TW_OK && blade->outer.count > 0)
        status = rings_of(blade, &rings, &count, findings);
    if (status == TW_OK && rings)
        status = tw_field_add_keep_out(&stand->coarse, rings, count, TW_CELL_BLADE, blank_top(job, &stand->face), findings);
    free(rings);
    if (status == TW_OK)
        tw_field_refresh(&stand->coarse);
    return status;
}

/* ---- the stock as a thing to keep away from ---- */

static enum tw_status open_near(struct tw_stand *stand, struct tw_findings *findings)
{
    const struct tw_field *fine = &stand->fine;
    int pooled = (int)fmax(1.0, floor(TW_STAND_NEAR_MM / fine->cell_mm + 1e-9));
    enum tw_status status = tw_field_new(fine->x_mm, fine->y_mm, fine->cell_mm * pooled,
                                         (fine->columns + pooled - 1) / pooled, (fine->rows + pooled - 1) / pooled, 0.0,
                                         &stand->near, findings);

    stand->pooled = pooled;
    if (status == TW_OK)
        tw_stand_refresh_near(stand);
    return status;
}

void tw_stand_refresh_near(struct tw_stand *stand)
{
    const struct tw_field *fine = &stand->fine;
    struct tw_field *near = &stand->near;
    size_t cells = (size_t)near->columns * (size_t)near->rows;

    for (size_t i = 0; i < cells; i++)
        near->keep_mm[i] = -INFINITY;
    for (int row = 0; row < fine->rows; row++) {
        const float *stock = fine->stock_mm + (size_t)row * (size_t)fine->columns;
        float *keep = near->keep_mm + (size_t)(row / stand->pooled) * (size_t)near->columns;

        for (int column = fine->stock_from[row]; column < fine->stock_to[row]; column++)
            if (stock[column] > keep[column / stand->pooled])
                keep[column / stand->pooled] = stock[column];
    }
    tw_field_refresh(near);
}

/* All that a wheel which runs over the tang could meet, but no more: the rest of a large table is out of reach. */
static struct tw_box coarse_box(const struct tw_job *job, const struct tw_outline *tang, const struct tw_outline *blade)
{
    struct tw_box tang_box = tw_ring_box(&tang->outer), box = tang_box;
    double reach_mm = 3.0 * job->wheel.diameter_mm + job->machine.spindle_nose_diameter_mm + 50.0;

    if (blade->outer.count > 0)
        widen(&box, tw_ring_box(&blade->outer));
    for (size_t i = 0; i < job->fixture.keep_out_count; i++)
        widen(&box, tw_ring_box(&job->fixture.keep_outs[i].plan));
    box.min_x_mm = fmax(box.min_x_mm, tang_box.min_x_mm - reach_mm);
    box.max_x_mm = fmin(box.max_x_mm, tang_box.max_x_mm + reach_mm);
    box.min_y_mm = fmax(box.min_y_mm, tang_box.min_y_mm - reach_mm);
    box.max_y_mm = fmin(box.max_y_mm, tang_box.max_y_mm + reach_mm);
    return box;
}

static enum tw_status fill(const struct tw_job *job, const struct tw_outline *tang, const struct tw_outline *blade,
                           double cell_mm, struct tw_stand *stand, struct tw_findings *findings)
{
    struct tw_box box = tw_ring_box(&tang->outer);
    enum tw_status status;

    box.min_x_mm -= TW_STAND_BLADE_MM;
    status = new_field(box, cell_mm, 0.0, &stand->fine, findings);
    if (status == TW_OK)
        status = fill_fine(job, tang, blade, stand, findings);
    if (status == TW_OK)
        status = new_field(coarse_box(job, tang, blade), TW_STAND_COARSE_MM, -1e3, &stand->coarse, findings);
    if (status == TW_OK)
        status = fill_coarse(job, blade, stand, findings);
    if (status == TW_OK)
        status = open_near(stand, findings);
    stand->top_mm = stand->fine.stock_high_mm;
    return status;
}

enum tw_status tw_stand_open(const struct tw_job *job, enum tw_side side, double cell_mm, struct tw_stand *out,
                             struct tw_findings *findings)
{
    struct tw_outline tang = { 0 }, blade = { 0 };
    enum tw_status status;

    *out = (struct tw_stand){ .face = tw_face_of(job, side) };
    status = tw_face_outline(&out->face, &job->part.tang, &tang, findings);
    if (status == TW_OK)
        status = tw_face_outline(&out->face, &job->part.blade, &blade, findings);
    if (status == TW_OK)
        status = fill(job, &tang, &blade, cell_mm, out, findings);
    tw_outline_free(&tang);
    tw_outline_free(&blade);
    if (status != TW_OK)
        tw_stand_close(out);
    return status;
}

void tw_stand_close(struct tw_stand *stand)
{
    tw_field_free(&stand->fine);
    tw_field_free(&stand->coarse);
    tw_field_free(&stand->near);
}

struct tw_stand_result tw_stand_measure(const struct tw_stand *stand)
{
    const struct tw_field *field = &stand->fine;
    struct tw_stand_result result = { -HUGE_VAL, HUGE_VAL, { 0.0, 0.0, 0.0 } };
    double start_mm = tw_face_reach_mm(&stand->face, 0.0);

    for (int row = 0; row < field->rows; row++) {
        for (int column = 0; column < field->columns; column++) {
            size_t i = (size_t)row * (size_t)field->columns + (size_t)column;
            double x_mm = field->x_mm + (column + 0.5) * field->cell_mm;
            double deviation_mm = (double)field->stock_mm[i] - (double)field->limit_mm[i];

            if (x_mm < start_mm || !(field->stock_mm[i] > -HUGE_VALF))
                continue;
            result.low_mm = fmin(result.low_mm, deviation_mm);
            if (deviation_mm > result.high_mm) {
                result.high_mm = deviation_mm;
                result.high_place_mm[0] = x_mm;
                result.high_place_mm[1] = field->y_mm + (row + 0.5) * field->cell_mm;
                result.high_place_mm[2] = (double)field->stock_mm[i];
            }
        }
    }
    return result;
}

/* Mean height of one column; NaN without steel. */
static double column_mm(const struct tw_field *field, int column)
{
    double sum_mm = 0.0, cells = 0.0;

    for (int row = 0; row < field->rows && column >= 0 && column < field->columns; row++) {
        double height_mm = (double)field->stock_mm[(size_t)row * (size_t)field->columns + (size_t)column];

        if (height_mm > -HUGE_VAL) {
            sum_mm += height_mm;
            cells += 1.0;
        }
    }
    return cells > 0.0 ? sum_mm / cells : (double)NAN;
}

double tw_stand_stock_mm(const struct tw_stand *stand, double x_mm, double y_mm)
{
    const struct tw_field *field = &stand->fine;
    int column = (int)floor((x_mm - field->x_mm) / field->cell_mm), row = (int)floor((y_mm - field->y_mm) / field->cell_mm);

    if (column < 0 || row < 0 || column >= field->columns || row >= field->rows)
        return -HUGE_VAL;
    return (double)field->stock_mm[(size_t)row * (size_t)field->columns + (size_t)column];
}

double tw_stand_height_mm(const struct tw_stand *stand, double x_mm)
{
    double at = (x_mm - stand->fine.x_mm) / stand->fine.cell_mm - 0.5; /* in columns, counted from their middles */
    double before_mm = column_mm(&stand->fine, (int)floor(at)), after_mm = column_mm(&stand->fine, (int)floor(at) + 1);

    if (isnan(before_mm) || isnan(after_mm))
        return isnan(before_mm) ? after_mm : before_mm;
    return before_mm + (at - floor(at)) * (after_mm - before_mm);
}
