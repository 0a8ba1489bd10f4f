/* ring.c - an upright ring with a flat lower face, moving along a straight line.
 *
 * Seen along the motion, a cell lies p ahead of the start and q beside the path. The ring's centre, s on
 * its way (0..L), has it under the ring while |p - s| is between wi and w, the half chords of the inner and
 * outer circle at q: w = sqrt(R^2 - q^2), wi = sqrt(Ri^2 - q^2) or 0. So s lies in p - w .. p - wi (the
 * leading rim) or p + wi .. p + w (the trailing rim), within 0 .. L. The face's height is linear in s: it
 * is least at the first such s when the wheel rises or stays level, at the last when it sinks. A sinking
 * wheel cuts twice: when its edge arrives, and from then on. */
#include "removal/sweep.h"

#include <math.h>

/* Runs of cells are filled in float, which is exact enough up to this slope; steeper ones go cell by cell. */
#define STEEPEST_RUN 0.1

/* A level or rising view of the motion: forwards for the first contact, backwards for the last. */
struct view {
    double start_mm[2]; /* x, y */
    double z_mm, slope; /* height at the start, change per mm of way; never less than what the motion has */
    double length_mm;
    double way[2]; /* unit vector */
    bool whole;    /* what this view finds is the lowest of the motion */
    struct removal_set *set;
};

/* Half the chord of a circle at distance q from its centre; 0 outside it. */
static double half_chord(double radius_mm, double q_mm)
{
    double square = radius_mm * radius_mm - q_mm * q_mm;

    return square > 0.0 ? sqrt(square) : 0.0;
}

static struct view forwards(struct tw_sweep *sweep, const struct removal_part *part)
{
    double length_mm = sweep->across_mm;
    struct view view = { .start_mm = { sweep->from_mm[0], sweep->from_mm[1] },
                         .z_mm = sweep->from_mm[2] + part->lift_mm,
                         .slope = sweep->step_mm[2] / length_mm,
                         .length_mm = length_mm,
                         .way = { sweep->step_mm[0] / length_mm, sweep->step_mm[1] / length_mm },
                         .whole = sweep->step_mm[2] >= 0.0,
                         .set = &sweep->sets[0] };
    return view;
}

static struct view backwards(struct tw_sweep *sweep, const struct removal_part *part)
{
    struct view view = forwards(sweep, part);

    view.start_mm[0] = sweep->to_mm[0];
    view.start_mm[1] = sweep->to_mm[1];
    view.z_mm = sweep->to_mm[2] + part->lift_mm;
    view.slope = -view.slope;
    view.way[0] = -view.way[0];
    view.way[1] = -view.way[1];
    view.whole = true;
    view.set = &sweep->sets[1];
    return view;
}

/* --- along x: whole runs of cells ---------------------------------------------------------------------- */

/* Whether a wheel that goes level meets nothing in the cells from..to-1, by what is known of their tiles: after its leading rim the
 * trailing one seldom does. */
static bool passes_over(const struct tw_sweep *sweep, const struct removal_part *part, int row, int from, int to,
                        const struct view *view)
{
    const struct tw_field *field = sweep->field;
    const float *tiles = removal_stock_tiles(field, row), floor_mm = (float)view->z_mm;
    int first = from > field->stock_from[row] ? from : field->stock_from[row];
    int end = to < field->stock_to[row] ? to : field->stock_to[row];

    if (view->slope != 0.0 || (view->whole && sweep->low_mm + part->lift_mm < field->keep_high_mm))
        return false;
    while (first < end && !(tiles[first / REMOVAL_TILE] > floor_mm))
        first = removal_tile_end(first, end);
    return first >= end;
}

/* Cells with p in p_from..p_to: the ring's centre is first over them at max(0, p + shift). */
static void run_zone(struct tw_sweep *sweep, const struct removal_part *part, int row, const struct view *view,
                     double p_from, double p_to, double shift_mm)
{
    const struct tw_field *field = sweep->field;
    double sign = view->way[0] > 0.0 ? 1.0 : -1.0, x0 = view->start_mm[0];
    double left = fmin(x0 + sign * p_from, x0 + sign * p_to), right = fmax(x0 + sign * p_from, x0 + sign * p_to);
    int from, to, moved = (int)lround(sign * shift_mm / field->cell_mm);

    if (p_from > p_to)
        return;
    removal_columns(field, left, right, &from, &to);
    if (from >= to || passes_over(sweep, part, row, from, to, view))
        return;
    removal_fill_ramp(sweep->floor_mm, to - from, sign * (removal_x(field, from) - x0) + shift_mm,
                      sign * field->cell_mm, view->z_mm, view->slope);
    removal_run(sweep, part, row, from, to, view->whole, view->set, from + sweep->pad + moved);
}

static void run_row(struct tw_sweep *sweep, const struct removal_part *part, int row, double q_mm,
                    const struct view *view)
{
    double w = half_chord(part->radius_mm, q_mm), wi = half_chord(part->inner_mm, q_mm);

    run_zone(sweep, part, row, view, wi, view->length_mm + w, -w);
    run_zone(sweep, part, row, view, -w, fmin(wi, view->length_mm - wi), wi);
}

static void set_column_times(struct tw_sweep *sweep)
{
    for (int i = 0; i < 2; i++) {
        struct removal_set *set = &sweep->sets[i];

        set->step_t = sweep->field->cell_mm / sweep->step_mm[0];
        set->first_t = (removal_x(sweep->field, 0) - sweep->from_mm[0]) / sweep->step_mm[0] - sweep->pad * set->step_t;
    }
}

static void sweep_along_x(struct tw_sweep *sweep, const struct removal_part *part, int row_from, int row_to)
{
    struct view first = forwards(sweep, part), last = backwards(sweep, part);

    if (part->cuts)
        set_column_times(sweep);
    for (int row = row_from; row < row_to; row++) {
        double q_mm = removal_y(sweep->field, row) - sweep->from_mm[1];

        if (fabs(q_mm) > part->radius_mm)
            continue;
        if (first.whole || part->cuts)
            run_row(sweep, part, row, q_mm, &first);
        if (!first.whole)
            run_row(sweep, part, row, q_mm, &last);
    }
}

/* --- straight down or up ------------------------------------------------------------------------------- */

static void run_level(struct tw_sweep *sweep, const struct removal_part *part, int row, double left, double right)
{
    int from, to;

    removal_columns(sweep->field, left, right, &from, &to);
    if (from >= to)
        return;
    removal_fill_ramp(sweep->floor_mm, to - from, 0.0, 0.0, sweep->low_mm + part->lift_mm, 0.0);
    removal_run(sweep, part, row, from, to, true, &sweep->sets[1], from + sweep->pad);
}

static void sweep_down(struct tw_sweep *sweep, const struct removal_part *part, int row_from, int row_to)
{
    double x_mm = sweep->from_mm[0];

    if (part->cuts) {
        sweep->sets[1].first_t = 1.0;
        sweep->sets[1].step_t = 0.0;
    }
    for (int row = row_from; row < row_to; row++) {
        double q_mm = removal_y(sweep->field, row) - sweep->from_mm[1];
        double w = half_chord(part->radius_mm, q_mm), wi = half_chord(part->inner_mm, q_mm);

        if (fabs(q_mm) > part->radius_mm)
            continue;
        if (wi > 0.0) {
            run_level(sweep, part, row, x_mm - w, x_mm - wi);
            run_level(sweep, part, row, x_mm + wi, x_mm + w);
        } else {
            run_level(sweep, part, row, x_mm - w, x_mm + w);
        }
    }
}

/* --- any other way: cell by cell ----------------------------------------------------------------------- */

/* Two circles and the two lines that touch both. */
void removal_ring_span(const struct tw_sweep *sweep, double radius_mm, double y_mm, double *left, double *right)
{
    const double *ends[2] = { sweep->from_mm, sweep->to_mm };
    double ux = sweep->step_mm[0] / sweep->across_mm, uy = sweep->step_mm[1] / sweep->across_mm;

    *left = (double)INFINITY;
    *right = -(double)INFINITY;
    for (int i = 0; i < 2; i++) {
        double q_mm = y_mm - ends[i][1], side = i ? 1.0 : -1.0, t;

        if (fabs(q_mm) <= radius_mm) {
            *left = fmin(*left, ends[i][0] - half_chord(radius_mm, q_mm));
            *right = fmax(*right, ends[i][0] + half_chord(radius_mm, q_mm));
        }
        /* The line at `side` of the path, from the start. */
        t = sweep->step_mm[1] != 0.0 ? (y_mm - sweep->from_mm[1] - side * radius_mm * ux) / sweep->step_mm[1] : -1.0;
        if (t >= 0.0 && t <= 1.0) {
            double x_mm = sweep->from_mm[0] - side * radius_mm * uy + t * sweep->step_mm[0];

            *left = fmin(*left, x_mm);
            *right = fmax(*right, x_mm);
        }
    }
}

/* A row of cells as a view sees it: from the start of the motion, in mm and in its directions. */
struct sight {
    double x_mm, cell_mm, start_x_mm, y_mm; /* of the grid's corner; y of the row, from the start */
    double along[2], length_mm, z_mm, slope;
    double radius_mm, inner_mm, way_slots;
};

/* For `count` cells from `column` on: the wheel's height when its centre first has the cell under the ring, and in which
 * slot that is; -1: never. */
REMOVAL_IN_VECTORS
static void look(const struct sight *sight, int column, int count, double *restrict floor_mm, int *restrict slot)
{
    const struct sight at = *sight;

    for (int i = 0; i < count; i++) {
        double x = at.x_mm + (column + i + 0.5) * at.cell_mm - at.start_x_mm;
        double p = x * at.along[0] + at.y_mm * at.along[1], q = at.y_mm * at.along[0] - x * at.along[1];
        double square = at.radius_mm * at.radius_mm - q * q, inner = at.inner_mm * at.inner_mm - q * q;
        bool leads = p >= 0.0 && p * p >= inner; /* the leading rim comes over the cell first */
        double chord = leads ? square : inner, w = sqrt(chord > 0.0 ? chord : 0.0), s = leads ? p - w : p + w, way;
        bool never = square < 0.0 || (p < 0.0 && p * p > square);

        s = s > 0.0 ? s : 0.0;
        never |= !(s <= at.length_mm);
        way = s / at.length_mm * at.way_slots;
        way = way < at.way_slots - 1.0 ? way : at.way_slots - 1.0;
        floor_mm[i] = at.z_mm + at.slope * s;
        slot[i] = never ? -1 : (int)way;
    }
}

/* The same under a face without a hole. */
REMOVAL_IN_VECTORS
static void look_under_face(const struct sight *sight, int column, int count, double *restrict floor_mm,
                            int *restrict slot)
{
    const struct sight at = *sight;

    for (int i = 0; i < count; i++) {
        double x = at.x_mm + (column + i + 0.5) * at.cell_mm - at.start_x_mm;
        double p = x * at.along[0] + at.y_mm * at.along[1], q = at.y_mm * at.along[0] - x * at.along[1];
        double square = at.radius_mm * at.radius_mm - q * q, w = sqrt(square > 0.0 ? square : 0.0);
        double s = p >= 0.0 ? p - w : p, way;
        bool never;

        s = s > 0.0 ? s : 0.0;
        never = (q < 0.0 ? -q : q) > at.radius_mm || !(p >= -w) || !(s <= at.length_mm);
        way = s / at.length_mm * at.way_slots;
        way = way < at.way_slots - 1.0 ? way : at.way_slots - 1.0;
        floor_mm[i] = at.z_mm + at.slope * s;
        slot[i] = never ? -1 : (int)way;
    }
}

static struct sight sight_of(const struct tw_sweep *sweep, const struct removal_part *part, int row,
                             const struct view *view)
{
    const struct tw_field *field = sweep->field;

    return (struct sight){ .x_mm = field->x_mm,
                           .cell_mm = field->cell_mm,
                           .start_x_mm = view->start_mm[0],
                           .y_mm = removal_y(field, row) - view->start_mm[1],
                           .along = { view->way[0], view->way[1] },
                           .length_mm = view->length_mm,
                           .z_mm = view->z_mm,
                           .slope = view->slope,
                           .radius_mm = part->radius_mm,
                           .inner_mm = part->inner_mm,
                           .way_slots = sweep->way_slots };
}

/* Slots are equal parts of the way; the backward view counts them from the end. */
static void set_way_times(struct tw_sweep *sweep)
{
    double step_t;

    sweep->way_slots = (int)fmin(ceil(sweep->across_mm / sweep->field->cell_mm), sweep->slot_count);
    step_t = 1.0 / sweep->way_slots;
    sweep->sets[0].step_t = step_t;
    sweep->sets[0].first_t = 0.5 * step_t;
    sweep->sets[1].step_t = -step_t;
    sweep->sets[1].first_t = 1.0 - 0.5 * step_t;
}

/* The cells from..to-1 of a row; those no higher than the lowest that the wheel ever goes are passed over. */
static void sweep_cells(struct tw_sweep *sweep, const struct removal_part *part, int row, int from, int to,
                        const struct view *view)
{
    struct tw_field *field = sweep->field;
    const float *stock_mm = field->stock_mm + removal_index(field, row, 0);
    const float *keep_mm = removal_keep(field, row);
    float low_mm = (float)(sweep->low_mm + part->lift_mm);
    struct sight sight = sight_of(sweep, part, row, view);
    struct removal_visit visit = { .whole = view->whole, .set = view->set };

    for (int column = removal_next_standing(field, row, from, to, low_mm), cells; column < to;
         column = removal_next_standing(field, row, column + cells, to, low_mm)) {
        cells = to - column < REMOVAL_VISIT ? to - column : REMOVAL_VISIT;
        while (!(stock_mm[column + cells - 1] > low_mm) && !(keep_mm[column + cells - 1] > low_mm))
            cells--;
        if (part->inner_mm > 0.0)
            look(&sight, column, cells, visit.floor_mm, visit.slot);
        else
            look_under_face(&sight, column, cells, visit.floor_mm, visit.slot);
        removal_visit(sweep, part, row, column, cells, low_mm, &visit);
    }
}

/* Cells of a row that are under a face without a hole from the start of the view on, but for those at its edge. */
static void cells_at_start(const struct tw_sweep *sweep, const struct removal_part *part, int row,
                           const struct view *view, int *from, int *to)
{
    double w = half_chord(part->radius_mm, removal_y(sweep->field, row) - view->start_mm[1]) - sweep->field->cell_mm;

    *from = *to = 0;
    if (part->inner_mm <= 0.0 && w > 0.0)
        removal_columns(sweep->field, view->start_mm[0] - w, view->start_mm[0] + w, from, to);
}

/* Cells of a row that stay in the ring's hole all along the motion, as what is in it at both ends does; but for those at its
 * edge. */
static void cells_in_hole(const struct tw_sweep *sweep, const struct removal_part *part, int row, int *from, int *to)
{
    const double *ends[2] = { sweep->from_mm, sweep->to_mm };
    double left = -HUGE_VAL, right = HUGE_VAL, y_mm = removal_y(sweep->field, row);

    for (int i = 0; i < 2; i++) {
        double w = half_chord(part->inner_mm, y_mm - ends[i][1]) - sweep->field->cell_mm;

        left = removal_larger(left, ends[i][0] - w);
        right = removal_smaller(right, w > 0.0 ? ends[i][0] + w : -HUGE_VAL);
    }
    *from = *to = 0;
    if (left < right)
        removal_columns(sweep->field, left, right, from, to);
}

static void sweep_row(struct tw_sweep *sweep, const struct removal_part *part, int row, int from, int to,
                      const struct view *view)
{
    int start_from, start_to, hole_from, hole_to;

    cells_in_hole(sweep, part, row, &hole_from, &hole_to);
    if (hole_from < hole_to) {
        sweep_cells(sweep, part, row, from, hole_from, view);
        sweep_cells(sweep, part, row, hole_to, to, view);
        return;
    }
    cells_at_start(sweep, part, row, view, &start_from, &start_to);
    if (start_from >= start_to) {
        sweep_cells(sweep, part, row, from, to, view);
        return;
    }
    sweep_cells(sweep, part, row, from, start_from, view);
    removal_level(sweep, part, row, start_from, start_to, view->z_mm, view->whole, view->set, 0);
    sweep_cells(sweep, part, row, start_to, to, view);
}

static void sweep_aslant(struct tw_sweep *sweep, const struct removal_part *part, int row_from, int row_to)
{
    struct view first = forwards(sweep, part), last = backwards(sweep, part);

    if (part->cuts)
        set_way_times(sweep);
    for (int row = row_from; row < row_to; row++) {
        double left, right;
        int from, to;

        removal_ring_span(sweep, part->radius_mm, removal_y(sweep->field, row), &left, &right);
        removal_columns(sweep->field, left, right, &from, &to);
        if (first.whole || part->cuts)
            sweep_row(sweep, part, row, from, to, &first);
        if (!first.whole)
            sweep_row(sweep, part, row, from, to, &last);
    }
}

void removal_sweep_ring(struct tw_sweep *sweep, const struct removal_part *part)
{
    double y0 = fmin(sweep->from_mm[1], sweep->to_mm[1]), y1 = fmax(sweep->from_mm[1], sweep->to_mm[1]);
    int row_from, row_to;

    if (part->cuts) {
        sweep->sets[0].spread = REMOVAL_AT_ONCE;
        sweep->sets[1].spread = REMOVAL_EVENLY;
    }
    removal_rows(sweep->field, y0 - part->radius_mm, y1 + part->radius_mm, &row_from, &row_to);
    if (sweep->across_mm == 0.0)
        sweep_down(sweep, part, row_from, row_to);
    else if (sweep->step_mm[1] == 0.0 && fabs(sweep->step_mm[2]) <= STEEPEST_RUN * sweep->across_mm)
        sweep_along_x(sweep, part, row_from, row_to);
    else
        sweep_aslant(sweep, part, row_from, row_to);
}
