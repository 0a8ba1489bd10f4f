/* round.c - a cylinder with its axis along y, moving along a straight line.
 *
 * Over a row of cells the wheel stands only while the row lies between its two ends: a part ta..tb of the
 * motion that is the same for the whole row. During it the wheel is a circle of radius R whose lowest point
 * goes along a straight line z = za + s (X - xa). Its height over a cell at x is z(X) + R - sqrt(R^2 - (x -
 * X)^2), convex in X, and least where its derivative is zero: x - X = R s / sqrt(1 + s^2), or at the end of
 * the motion next to that. */
#include "removal/sweep.h"

#include <limits.h>
#include <math.h>

struct chord {
    double ta, tb; /* the part of the motion that concerns a row */
    double xa, za, xb, zb;
};

/* R - sqrt(R^2 - u^2), without losing figures. */
static double rise_mm(double radius_mm, double u_mm)
{
    double u2 = u_mm * u_mm, r2 = radius_mm * radius_mm;

    return u2 >= r2 ? radius_mm : u2 / (radius_mm + sqrt(r2 - u2));
}

/* How far to both sides of its lowest point, at z, the circle is below `top`. */
static double reach_mm(double radius_mm, double z_mm, double top_mm)
{
    double h_mm = fmin(top_mm - z_mm, radius_mm);

    return h_mm > 0.0 ? sqrt(h_mm * (2.0 * radius_mm - h_mm)) : 0.0;
}

/* Where on its circle the wheel touches while it goes dx along and dz up: R s / sqrt(1 + s^2) with s = dz /
 * dx. */
static double lean_mm(double radius_mm, double dx, double dz)
{
    return dx > 0.0 ? radius_mm * dz / hypot(dx, dz) : dx < 0.0 ? -radius_mm * dz / hypot(dx, dz) : 0.0;
}

static bool row_part(const struct tw_sweep *sweep, const struct removal_part *part, double y_mm, struct chord *out)
{
    double dy = sweep->step_mm[1], ay = sweep->from_mm[1];

    out->ta = 0.0;
    out->tb = 1.0;
    if (dy != 0.0) {
        double one = (y_mm - part->y_to_mm - ay) / dy, other = (y_mm - part->y_from_mm - ay) / dy;

        out->ta = fmax(0.0, fmin(one, other));
        out->tb = fmin(1.0, fmax(one, other));
    }
    out->xa = sweep->from_mm[0] + out->ta * sweep->step_mm[0];
    out->xb = sweep->from_mm[0] + out->tb * sweep->step_mm[0];
    out->za = sweep->from_mm[2] + out->ta * sweep->step_mm[2] + part->lift_mm;
    out->zb = sweep->from_mm[2] + out->tb * sweep->step_mm[2] + part->lift_mm;
    return out->ta <= out->tb;
}

/* Fills sweep->floor_mm for the columns the chord can matter to. */
static void profile(struct tw_sweep *sweep, const struct removal_part *part, const struct chord *chord, int *from,
                    int *to)
{
    const struct tw_field *field = sweep->field;
    double top_mm = fmax(field->stock_high_mm, field->keep_high_mm), radius_mm = part->radius_mm;
    /* On a slope the farthest cell may be met between the ends: the lower one's reach is enough for all. */
    double reach = reach_mm(radius_mm, fmin(chord->za, chord->zb), top_mm);
    double run_mm = chord->xb - chord->xa;
    double lean = lean_mm(radius_mm, run_mm, chord->zb - chord->za);
    double left = fmin(chord->xa, chord->xb), right = fmax(chord->xa, chord->xb);
    double base_mm = run_mm != 0.0 ? chord->za : fmin(chord->za, chord->zb);

    removal_columns(field, left - reach, right + reach, from, to);
    *from = *from > field->column_from ? *from : field->column_from;
    *to = *to < field->column_to ? *to : field->column_to;
    for (int column = *from; column < *to; column++) {
        double x_mm = removal_x(field, column);
        double wheel_mm = removal_smaller(removal_larger(x_mm - lean, left), right);
        double u_mm = x_mm - wheel_mm;
        double way = run_mm != 0.0 ? (wheel_mm - chord->xa) / run_mm : 0.0;
        double z_mm = base_mm + way * (chord->zb - chord->za) + rise_mm(radius_mm, u_mm);

        sweep->floor_mm[column - *from] = fabs(u_mm) <= radius_mm ? (float)z_mm : INFINITY;
    }
}

/* Puts what the columns of a row took into the one slot of that row. */
static void fold(struct removal_set *columns, struct removal_set *rows, int row)
{
    for (int i = columns->from; i < columns->to; i++) {
        float depth_mm = columns->slots.depth_mm[i];

        rows->slots.sum_mm[row] += columns->slots.sum_mm[i];
        rows->slots.depth_mm[row] = depth_mm > rows->slots.depth_mm[row] ? depth_mm : rows->slots.depth_mm[row];
        rows->slots.cells[row] += columns->slots.cells[i];
        columns->slots.sum_mm[i] = columns->slots.depth_mm[i] = columns->slots.cells[i] = 0.0F;
    }
    if (columns->from < columns->to) {
        rows->from = row < rows->from ? row : rows->from;
        rows->to = row + 1 > rows->to ? row + 1 : rows->to;
    }
    columns->from = INT_MAX;
    columns->to = 0;
}

/* Slots are columns while the wheel goes along x, and rows while it goes across: there the time of a cut is
 * that when the leading end of the cylinder came over the row. */
static bool set_times(struct tw_sweep *sweep, const struct removal_part *part)
{
    const struct tw_field *field = sweep->field;
    double dx = sweep->step_mm[0], dy = sweep->step_mm[1], dz = sweep->step_mm[2];
    struct removal_set *columns = &sweep->sets[0], *rows = &sweep->sets[1];

    if (sweep->across_mm == 0.0) {
        columns->spread = REMOVAL_EVENLY;
        columns->first_t = 1.0;
        columns->step_t = 0.0;
        return false;
    }
    if (fabs(dx) >= fabs(dy)) {
        double touch_mm = sweep->from_mm[0] + lean_mm(part->radius_mm, dx, dz);

        columns->spread = REMOVAL_ROLLING;
        columns->step_t = field->cell_mm / dx;
        columns->first_t = (removal_x(field, 0) - touch_mm) / dx - sweep->pad * columns->step_t;
        return false;
    }
    rows->spread = REMOVAL_AT_ONCE;
    rows->step_t = field->cell_mm / dy;
    rows->first_t = (removal_y(field, 0) - (dy > 0.0 ? part->y_to_mm : part->y_from_mm) - sweep->from_mm[1]) / dy;
    return true;
}

void removal_sweep_round(struct tw_sweep *sweep, const struct removal_part *part)
{
    const struct tw_field *field = sweep->field;
    bool by_rows = part->cuts && set_times(sweep, part);
    double y0 = fmin(sweep->from_mm[1], sweep->to_mm[1]), y1 = fmax(sweep->from_mm[1], sweep->to_mm[1]);
    int row_from, row_to, from = 0, to = 0;
    /* Going straight along or straight across and level, the wheel shows every row the same profile. */
    bool same = sweep->step_mm[1] == 0.0 || (sweep->step_mm[0] == 0.0 && sweep->step_mm[2] == 0.0), known = false;

    removal_rows(field, y0 + part->y_from_mm, y1 + part->y_to_mm, &row_from, &row_to);
    for (int row = row_from; row < row_to; row++) {
        struct chord chord;

        if (!known) {
            if (!row_part(sweep, part, removal_y(field, row), &chord))
                continue;
            profile(sweep, part, &chord, &from, &to);
            known = same;
        }
        removal_run(sweep, part, row, from, to, true, &sweep->sets[0], from + sweep->pad);
        if (by_rows)
            fold(&sweep->sets[0], &sweep->sets[1], row);
    }
}
