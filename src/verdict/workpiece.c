/* workpiece.c - one part on its station as fields of heights. */
#include "verdict/workpiece.h"

#include "geometry/ring.h"
#include "verdict/trace.h"
#include "witness/mask.h"
#include "witness/task.h"

#include <math.h>
#include <stdlib.h>

#define MARGIN_MM 1.0

double tw_workpiece_cell_mm(const struct tw_job *job)
{
    double slope = tw_witness_face(job, TW_SIDE_A).slope;

    return fmin(0.1, 1e-3 / slope);
}

struct tw_wheel_body tw_workpiece_wheel(const struct tw_job *job, double more_mm)
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
static struct tw_height_plane blank_top(const struct tw_witness_face *face)
{
    struct tw_height_plane top = { 0 };

    top.z_mm = tw_witness_flat_top_mm(face, &top.slope_x);
    return top;
}

/* A blank thicker than z counts from is ground ahead of the taper start too: from there on the blade is stock. Setup x;
 * at the taper start for other blanks. */
static double blade_ends_mm(const struct tw_witness_face *face)
{
    return fmin(face->start_mm, tw_witness_first_mm(face));
}

/* A part of the blade, as stock (`as_stock`) or as nothing; a cell counts by its middle. */
static void release_blade(struct tw_field *field, double from_mm, bool as_stock)
{
    for (int row = 0; row < field->rows; row++) {
        for (int column = 0; column < field->columns; column++) {
            size_t i = (size_t)row * (size_t)field->columns + (size_t)column;

            if (field->x_mm + (column + 0.5) * field->cell_mm <= from_mm || field->keep_kind[i] != TW_CELL_BLADE)
                continue;
            if (as_stock)
                field->stock_mm[i] = field->keep_mm[i];
            field->keep_mm[i] = -INFINITY;
            field->keep_kind[i] = 0;
        }
    }
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
    return tw_witness_top_mm(face, x_mm);
}

static enum tw_status fill_fine(const struct tw_outline *tang, const struct tw_outline *blade,
                                struct tw_workpiece *workpiece, struct tw_findings *findings)
{
    const struct tw_witness_face *face = &workpiece->face;
    struct tw_height_plane top = blank_top(face);
    struct tw_height_plane target = { face->z_mm, -face->fall, 0.0 };
    struct tw_ring *rings = NULL;
    size_t count = 0;
    enum tw_status status = rings_of(tang, &rings, &count, findings);

    if (status == TW_OK)
        status = tw_field_add_stock(&workpiece->fine, rings, count, top, findings);
    if (status == TW_OK && face->surveyed) /* as it was surveyed */
        tw_field_shape_stock(&workpiece->fine, surveyed_top_mm, face);
    free(rings);
    rings = NULL;
    if (status == TW_OK)
        status = rings_of(blade, &rings, &count, findings);
    if (status == TW_OK)
        status = tw_field_add_keep_out(&workpiece->fine, rings, count, TW_CELL_BLADE, top, findings);
    free(rings);
    if (status == TW_OK && blade_ends_mm(face) < face->start_mm)
        release_blade(&workpiece->fine, blade_ends_mm(face), true);
    if (status == TW_OK)
        status = tw_field_set_limit(&workpiece->fine, NULL, 0, target, findings);
    if (status == TW_OK) {
        cap_limit(&workpiece->fine);
        tw_field_refresh(&workpiece->fine);
        workpiece->volume_mm3 = tw_field_volume_mm3(&workpiece->fine);
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

    return status == TW_OK ? tw_field_add_keep_out(out, &keep_out->plan, 1, cell_kind(keep_out->kind), top, findings)
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

static enum tw_status fill_coarse(const struct tw_job *job, const struct tw_outline *blade,
                                  struct tw_workpiece *workpiece, struct tw_findings *findings)
{
    struct tw_ring *rings = NULL;
    size_t count = 0;
    enum tw_status status = tw_field_begin_keep(&workpiece->coarse, findings);

    for (size_t i = 0; status == TW_OK && i < job->fixture.keep_out_count; i++)
        if (tw_witness_stands(&job->fixture.keep_outs[i], workpiece->face.side))
            status = add_fixture_part(&job->fixture.keep_outs[i], &workpiece->coarse, findings);
    if (status == TW_OK)
        status = rings_of(blade, &rings, &count, findings);
    if (status == TW_OK)
        status = tw_field_add_keep_out(&workpiece->coarse, rings, count, TW_CELL_BLADE, blank_top(&workpiece->face),
                                       findings);
    free(rings);
    if (status == TW_OK && blade_ends_mm(&workpiece->face) < workpiece->face.start_mm)
        release_blade(&workpiece->coarse, blade_ends_mm(&workpiece->face), false);
    if (status == TW_OK)
        tw_field_refresh(&workpiece->coarse);
    return status;
}

/* ---- the stock as a thing to keep away from ---- */

static enum tw_status open_near(struct tw_workpiece *workpiece, struct tw_findings *findings)
{
    const struct tw_field *fine = &workpiece->fine;
    int pooled = (int)fmax(1.0, floor(TW_WORKPIECE_NEAR_MM / fine->cell_mm + 1e-9));
    enum tw_status status =
        tw_field_new(fine->x_mm, fine->y_mm, fine->cell_mm * pooled, (fine->columns + pooled - 1) / pooled,
                     (fine->rows + pooled - 1) / pooled, 0.0, &workpiece->near, findings);

    workpiece->pooled = pooled;
    if (status == TW_OK)
        status = tw_field_begin_keep(&workpiece->near, findings);
    if (status == TW_OK)
        tw_workpiece_refresh_near(workpiece, (struct tw_box){ -HUGE_VAL, -HUGE_VAL, HUGE_VAL, HUGE_VAL });
    return status;
}

/* Cells from..to-1 of `count` that a stretch touches, and one more on each side. */
static void cells_along(double from_mm, double to_mm, double start_mm, double cell_mm, int count, int *from, int *to)
{
    *from = (int)fmin(count, fmax(0.0, floor((from_mm - start_mm) / cell_mm) - 1.0));
    *to = (int)fmin(count, fmax(0.0, floor((to_mm - start_mm) / cell_mm) + 2.0));
}

/* The highest of the fine cells that one near cell stands for. */
static float highest_mm(const struct tw_workpiece *workpiece, int row, int column)
{
    const struct tw_field *fine = &workpiece->fine;
    int rows_to = (row + 1) * workpiece->pooled < fine->rows ? (row + 1) * workpiece->pooled : fine->rows;
    float highest = -INFINITY;

    for (int r = row * workpiece->pooled; r < rows_to; r++) {
        const float *stock = fine->stock_mm + (size_t)r * (size_t)fine->columns;
        int to = (column + 1) * workpiece->pooled < fine->columns ? (column + 1) * workpiece->pooled : fine->columns;

        for (int c = column * workpiece->pooled; c < to; c++)
            highest = stock[c] > highest ? stock[c] : highest;
    }
    return highest;
}

void tw_workpiece_refresh_near(struct tw_workpiece *workpiece, struct tw_box where)
{
    struct tw_field *near = &workpiece->near;
    int row_from, row_to, column_from, column_to;

    cells_along(where.min_y_mm, where.max_y_mm, near->y_mm, near->cell_mm, near->rows, &row_from, &row_to);
    cells_along(where.min_x_mm, where.max_x_mm, near->x_mm, near->cell_mm, near->columns, &column_from, &column_to);
    for (int row = row_from; row < row_to; row++)
        for (int column = column_from; column < column_to; column++)
            near->keep_mm[(size_t)row * (size_t)near->columns + (size_t)column] = highest_mm(workpiece, row, column);
    tw_field_refresh_keep(near, row_from, row_to);
}

/* All that the wheel could meet anywhere within the machine's travel. */
static struct tw_box reachable(const struct tw_job *job, int part)
{
    const struct tw_axis *axes[2] = { &job->machine.along, &job->machine.across };
    double reach_mm = fmax(job->wheel.diameter_mm, job->machine.spindle_nose_diameter_mm) / 2.0 + job->wheel.width_mm;
    double origin_mm[3], low_mm[2], high_mm[2];

    tw_trace_origin(&job->machine, &job->fixture.stations[part], origin_mm);
    for (int k = 0; k < 2; k++) {
        double a_mm = axes[k]->sign * axes[k]->travel_min_mm, b_mm = axes[k]->sign * axes[k]->travel_max_mm;

        low_mm[k] = fmin(a_mm, b_mm) - origin_mm[k] - reach_mm;
        high_mm[k] = fmax(a_mm, b_mm) - origin_mm[k] + reach_mm;
    }
    return (struct tw_box){ low_mm[0], low_mm[1], high_mm[0], high_mm[1] };
}

static struct tw_box coarse_box(const struct tw_job *job, int part, const struct tw_outline *tang,
                                const struct tw_outline *blade)
{
    struct tw_box box = tw_ring_box(&tang->outer), reach = reachable(job, part);

    widen(&box, tw_ring_box(&blade->outer));
    for (size_t i = 0; i < job->fixture.keep_out_count; i++)
        widen(&box, tw_ring_box(&job->fixture.keep_outs[i].plan));
    box.min_x_mm = fmin(fmax(box.min_x_mm, reach.min_x_mm), 0.0);
    box.max_x_mm = fmax(fmin(box.max_x_mm, reach.max_x_mm), 0.0);
    box.min_y_mm = fmin(fmax(box.min_y_mm, reach.min_y_mm), 0.0);
    box.max_y_mm = fmax(fmin(box.max_y_mm, reach.max_y_mm), 0.0);
    return box;
}

/* Half a millimetre, but no more cells than serve their purpose. */
static double coarse_cell_mm(struct tw_box box)
{
    double area_mm2 = (box.max_x_mm - box.min_x_mm + 2.0 * MARGIN_MM) * (box.max_y_mm - box.min_y_mm + 2.0 * MARGIN_MM);

    return fmax(TW_WORKPIECE_COARSE_MM, sqrt(area_mm2 / TW_WORKPIECE_COARSE_CELLS));
}

static enum tw_status fill(const struct tw_job *job, int part, const struct tw_outline *tang,
                           const struct tw_outline *blade, double cell_mm, struct tw_workpiece *workpiece,
                           struct tw_findings *findings)
{
    struct tw_box box = tw_ring_box(&tang->outer), coarse = coarse_box(job, part, tang, blade);
    enum tw_status status;

    box.min_x_mm = fmin(box.min_x_mm - TW_WORKPIECE_BLADE_MM, blade_ends_mm(&workpiece->face) - MARGIN_MM);
    status = new_field(box, cell_mm, 0.0, &workpiece->fine, findings);
    if (status == TW_OK)
        status = fill_fine(tang, blade, workpiece, findings);
    if (status == TW_OK && workpiece->surrounded)
        status = new_field(coarse, coarse_cell_mm(coarse), -1e3, &workpiece->coarse, findings);
    if (status == TW_OK && workpiece->surrounded)
        status = fill_coarse(job, blade, workpiece, findings);
    if (status == TW_OK)
        status = open_near(workpiece, findings);
    workpiece->top_mm = workpiece->fine.stock_high_mm;
    return status;
}

enum tw_status tw_workpiece_open(const struct tw_job *job, enum tw_side side, int part, bool surrounded, double cell_mm,
                                 struct tw_workpiece *out, struct tw_findings *findings)
{
    struct tw_outline tang = { 0 }, blade = { 0 };
    enum tw_status status;

    *out = (struct tw_workpiece){ .face = tw_witness_face(job, side), .surrounded = surrounded };
    status = tw_witness_outline(&out->face, &job->part.tang, &tang, findings);
    if (status == TW_OK)
        status = tw_witness_blade(&out->face, &blade, findings);
    if (status == TW_OK)
        out->blade = tw_ring_box(&blade.outer);
    if (status == TW_OK)
        status = fill(job, part, &tang, &blade, cell_mm, out, findings);
    tw_outline_free(&tang);
    tw_outline_free(&blade);
    if (status != TW_OK)
        tw_workpiece_close(out);
    return status;
}

void tw_workpiece_close(struct tw_workpiece *workpiece)
{
    tw_field_free(&workpiece->fine);
    tw_field_free(&workpiece->coarse);
    tw_field_free(&workpiece->near);
    free(workpiece->relief);
    workpiece->relief = NULL;
}

double tw_workpiece_blade_end_mm(const struct tw_workpiece *workpiece)
{
    return blade_ends_mm(&workpiece->face);
}

double tw_workpiece_start_mm(const struct tw_workpiece *workpiece)
{
    return fmax(workpiece->face.start_mm, tw_witness_first_mm(&workpiece->face));
}

struct tw_workpiece_result tw_workpiece_measure(const struct tw_workpiece *workpiece)
{
    const struct tw_field *field = &workpiece->fine;
    struct tw_workpiece_result result = { -HUGE_VAL, HUGE_VAL, { 0.0, 0.0, 0.0 } };
    double start_mm = tw_workpiece_start_mm(workpiece);

    for (int row = 0; row < field->rows; row++) {
        for (int column = 0; column < field->columns; column++) {
            size_t i = (size_t)row * (size_t)field->columns + (size_t)column;
            double x_mm = field->x_mm + (column + 0.5) * field->cell_mm;
            double deviation_mm = (double)field->stock_mm[i] - (double)field->limit_mm[i];

            if (x_mm < start_mm || !(field->stock_mm[i] > -HUGE_VALF) ||
                (workpiece->relief && workpiece->relief[i] != TW_RELIEF_NOT))
                continue; /* the relief is measured by itself */
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

double tw_workpiece_stock_mm(const struct tw_workpiece *workpiece, double x_mm, double y_mm)
{
    const struct tw_field *field = &workpiece->fine;
    int column = (int)floor((x_mm - field->x_mm) / field->cell_mm),
        row = (int)floor((y_mm - field->y_mm) / field->cell_mm);

    if (column < 0 || row < 0 || column >= field->columns || row >= field->rows)
        return -HUGE_VAL;
    return (double)field->stock_mm[(size_t)row * (size_t)field->columns + (size_t)column];
}

double tw_workpiece_height_mm(const struct tw_workpiece *workpiece, double x_mm)
{
    double at =
        (x_mm - workpiece->fine.x_mm) / workpiece->fine.cell_mm - 0.5; /* in columns, counted from their middles */
    double before_mm = column_mm(&workpiece->fine, (int)floor(at)),
           after_mm = column_mm(&workpiece->fine, (int)floor(at) + 1);

    if (isnan(before_mm) || isnan(after_mm))
        return isnan(before_mm) ? after_mm : before_mm;
    return before_mm + (at - floor(at)) * (after_mm - before_mm);
}

/* ---- relief ---- */

/* What a wheel may leave at the edge of where it can go, besides a cell: its ways keep off for thinning and rounding. */
#define EDGE_MM 0.15

/* For each column of a strip of rows: whether all of its cells are in the region. */
static void free_columns(const struct tw_workpiece *workpiece, int row, int rows, unsigned char *free_of)
{
    const struct tw_field *fine = &workpiece->fine;

    for (int column = 0; column < fine->columns; column++) {
        free_of[column] = 1;
        for (int r = row; r < row + rows && free_of[column]; r++)
            free_of[column] = workpiece->relief[(size_t)r * (size_t)fine->columns + (size_t)column] != TW_RELIEF_NOT;
    }
}

/* Of each free stretch of a strip, what is left after the run-out at both ends can be brought to the floor. */
static void mark_stretches(struct tw_workpiece *workpiece, int row, int rows, int run_out, const unsigned char *free_of)
{
    const struct tw_field *fine = &workpiece->fine;

    for (int from = 0, to; from < fine->columns; from = to + 1) {
        for (to = from; to < fine->columns && free_of[to]; to++)
            ;
        for (int column = from + run_out; column < to - run_out; column++)
            for (int r = row + 1; r < row + rows - 1; r++)
                workpiece->relief[(size_t)r * (size_t)fine->columns + (size_t)column] = TW_RELIEF_MUST;
    }
}

/* A disc in strips as wide as itself. A cell is free by its middle, so a row more is wanted for the strip to be free as wide. */
static enum tw_status mark_strips(const struct tw_job *job, struct tw_workpiece *workpiece,
                                  struct tw_findings *findings)
{
    const struct tw_field *fine = &workpiece->fine;
    double run_out_mm = sqrt(job->wheel.diameter_mm * job->relief.depth_mm);
    int rows = 1 + (int)ceil(job->wheel.width_mm / fine->cell_mm), run_out = 2 + (int)ceil(run_out_mm / fine->cell_mm);
    unsigned char *free_of = malloc((size_t)fine->columns + 1);

    if (!free_of)
        return tw_no_memory(findings);
    for (int row = 0; row + rows <= fine->rows; row++) {
        free_columns(workpiece, row, rows, free_of);
        mark_stretches(workpiece, row, rows, run_out, free_of);
    }
    free(free_of);
    return TW_OK;
}

static enum tw_status mark_reach(const struct tw_job *job, const struct tw_witness_grid *grid,
                                 struct tw_workpiece *workpiece, struct tw_findings *findings)
{
    size_t cells = (size_t)grid->columns * (size_t)grid->rows;
    unsigned char *reached = malloc(cells + 1);
    enum tw_status status = reached ? TW_OK : tw_no_memory(findings);

    if (status == TW_OK)
        status = tw_witness_reach(grid, workpiece->relief, job->wheel.diameter_mm / 2.0, EDGE_MM + grid->cell_mm,
                                  reached, findings);
    for (size_t i = 0; status == TW_OK && i < cells; i++)
        if (reached[i])
            workpiece->relief[i] = TW_RELIEF_MUST;
    free(reached);
    return status;
}

enum tw_status tw_workpiece_add_relief(const struct tw_job *job, struct tw_workpiece *workpiece,
                                       struct tw_findings *findings)
{
    const struct tw_field *fine = &workpiece->fine;
    struct tw_witness_grid grid = { fine->x_mm, fine->y_mm, fine->cell_mm, fine->columns, fine->rows };
    size_t cells = (size_t)fine->columns * (size_t)fine->rows;
    enum tw_status status;

    workpiece->relief_mm = job->relief.depth_mm;
    workpiece->flatness_mm = job->finish.flatness_mm;
    workpiece->relief = malloc(cells + 1);
    if (!workpiece->relief)
        return tw_no_memory(findings);
    for (size_t i = 0; i < cells; i++)
        workpiece->relief[i] = fine->stock_mm[i] > -INFINITY ? TW_RELIEF_MAY : TW_RELIEF_NOT;
    status = tw_witness_relief(&workpiece->face, &grid, workpiece->relief, findings);
    if (status != TW_OK)
        return status;
    return job->wheel.kind == TW_WHEEL_DISC ? mark_strips(job, workpiece, findings)
                                            : mark_reach(job, &grid, workpiece, findings);
}

static double floor_mm(const struct tw_workpiece *workpiece, size_t cell)
{
    double x_mm =
        workpiece->fine.x_mm + ((double)(cell % (size_t)workpiece->fine.columns) + 0.5) * workpiece->fine.cell_mm;

    return tw_witness_target_mm(&workpiece->face, x_mm) - workpiece->relief_mm;
}

void tw_workpiece_aim(struct tw_workpiece *workpiece, bool at_floor)
{
    struct tw_field *fine = &workpiece->fine;
    size_t cells = (size_t)fine->columns * (size_t)fine->rows;

    for (size_t i = 0; workpiece->relief && i < cells; i++) {
        double limit_mm = floor_mm(workpiece, i) + (at_floor ? 0.0 : workpiece->relief_mm);

        if (workpiece->relief[i] != TW_RELIEF_NOT) /* where it lies lower already, nothing more may come off */
            fine->limit_mm[i] = fminf((float)limit_mm, fine->stock_mm[i]);
    }
}

double tw_workpiece_measure_relief(const struct tw_workpiece *workpiece, double place_mm[3])
{
    const struct tw_field *fine = &workpiece->fine;
    size_t cells = (size_t)fine->columns * (size_t)fine->rows, must = 0, missing = 0;
    double highest_mm = -HUGE_VAL;

    place_mm[0] = place_mm[1] = place_mm[2] = 0.0;
    for (size_t i = 0; workpiece->relief && i < cells; i++) {
        double over_mm = (double)fine->stock_mm[i] - floor_mm(workpiece, i);

        if (workpiece->relief[i] != TW_RELIEF_MUST)
            continue;
        must++;
        missing += over_mm > workpiece->flatness_mm;
        if (over_mm <= highest_mm)
            continue;
        highest_mm = over_mm;
        place_mm[0] = fine->x_mm + ((double)(i % (size_t)fine->columns) + 0.5) * fine->cell_mm;
        place_mm[1] = fine->y_mm + ((double)(i / (size_t)fine->columns) + 0.5) * fine->cell_mm;
        place_mm[2] = (double)fine->stock_mm[i];
    }
    return must > 0 ? (double)missing / (double)must : 0.0;
}
