/* cutting.h - what a wheel leaves of a part, for the judge alone: heights over square cells, each lowered to the lowest place of
 * any body that passes over its middle, by the closed forms of a circle and a line. It shares nothing with src/removal. */
#ifndef TANGWRIGHT_TESTS_FAULTS_CUTTING_H
#define TANGWRIGHT_TESTS_FAULTS_CUTTING_H

#include "tangwright/job.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#define CUTTING_TILE 16 /* cells: most tiles are too low for most motions */

struct cutting_grid {
    double x_mm, y_mm, cell_mm;
    int columns, rows, tile_columns;
    float *high_mm; /* -HUGE_VAL: nothing stands there */
    float *tiles_mm;
};

/* One piece of the wheel or its spindle, about the programmed point: a ring or a full circle that lies level, `at_mm` over it; or
 * a cylinder that lies across, its axis `at_mm` over it, from `from_mm` to `to_mm`. */
struct cutting_body {
    bool across, cuts;
    double inner_mm, radius_mm, at_mm, from_mm, to_mm;
};

/* ---- the grid ---- */

static inline void cutting_open(double x_mm, double y_mm, double end_x_mm, double end_y_mm, double cell_mm,
                                struct cutting_grid *out)
{
    *out = (struct cutting_grid){ .x_mm = x_mm,
                                  .y_mm = y_mm,
                                  .cell_mm = cell_mm,
                                  .columns = (int)ceil((end_x_mm - x_mm) / cell_mm),
                                  .rows = (int)ceil((end_y_mm - y_mm) / cell_mm) };
    size_t cells = (size_t)out->columns * (size_t)out->rows;

    out->tile_columns = (out->columns + CUTTING_TILE - 1) / CUTTING_TILE;
    out->high_mm = malloc((cells + 1) * sizeof *out->high_mm);
    out->tiles_mm = malloc(((size_t)out->tile_columns * (size_t)(out->rows / CUTTING_TILE + 1) + 1) * sizeof(float));
    if (!out->high_mm || !out->tiles_mm)
        abort();
    for (size_t i = 0; i < cells; i++)
        out->high_mm[i] = -HUGE_VALF;
}

static inline void cutting_close(struct cutting_grid *grid)
{
    free(grid->high_mm);
    free(grid->tiles_mm);
}

static inline float *cutting_tile(const struct cutting_grid *grid, int row, int column)
{
    return &grid->tiles_mm[(row / CUTTING_TILE) * grid->tile_columns + column / CUTTING_TILE];
}

/* Of the tiles that hold any of these cells. */
static inline void cutting_refresh_part(struct cutting_grid *grid, const int rows[2], const int columns[2])
{
    int end_row = (rows[1] + CUTTING_TILE - 1) / CUTTING_TILE * CUTTING_TILE;
    int end_column = (columns[1] + CUTTING_TILE - 1) / CUTTING_TILE * CUTTING_TILE;

    for (int row = rows[0] / CUTTING_TILE * CUTTING_TILE; row < end_row && row < grid->rows; row++)
        for (int from = columns[0] / CUTTING_TILE * CUTTING_TILE; from < end_column; from += CUTTING_TILE) {
            const float *high_mm = &grid->high_mm[(size_t)row * (size_t)grid->columns];
            float highest_mm = row % CUTTING_TILE == 0 ? -HUGE_VALF : *cutting_tile(grid, row, from);

            for (int column = from; column < from + CUTTING_TILE && column < grid->columns; column++)
                highest_mm = high_mm[column] > highest_mm ? high_mm[column] : highest_mm;
            *cutting_tile(grid, row, from) = highest_mm;
        }
}

static inline void cutting_refresh(struct cutting_grid *grid)
{
    cutting_refresh_part(grid, (int[]){ 0, grid->rows }, (int[]){ 0, grid->columns });
}

/* Raises to height(context, x) what lies inside an odd number of the rings. */
static inline void cutting_raise(struct cutting_grid *grid, const struct tw_ring *rings, size_t count,
                                 double (*height)(const void *context, double x_mm), const void *context)
{
    double crossings[256];

    for (int row = 0; row < grid->rows; row++) {
        double y_mm = grid->y_mm + (row + 0.5) * grid->cell_mm;
        int met = 0;

        for (size_t r = 0; r < count; r++)
            for (size_t i = 0; i < rings[r].count; i++) {
                struct tw_point a = rings[r].points[i], b = rings[r].points[(i + 1) % rings[r].count];

                if ((a.y_mm > y_mm) != (b.y_mm > y_mm) && met < 256)
                    crossings[met++] = a.x_mm + (y_mm - a.y_mm) * (b.x_mm - a.x_mm) / (b.y_mm - a.y_mm);
            }
        for (int column = 0; met > 0 && column < grid->columns; column++) {
            double x_mm = grid->x_mm + (column + 0.5) * grid->cell_mm;
            float *high_mm = &grid->high_mm[(size_t)row * (size_t)grid->columns + (size_t)column];
            int before = 0;

            for (int i = 0; i < met; i++)
                before += crossings[i] < x_mm;
            if (before % 2 == 1)
                *high_mm = fmaxf(*high_mm, (float)height(context, x_mm));
        }
    }
}

/* ---- one body over one place ---- */

/* The part of 0..1 in which |a + t d| <= r along a line; false: none. `a`, `d`: of one or two coordinates. */
static inline bool cutting_within(double aa, double ad, double dd, double r, double *from, double *to)
{
    double root = ad * ad - dd * (aa - r * r);

    if (dd <= 0.0) {
        *from = 0.0;
        *to = 1.0;
        return aa <= r * r;
    }
    if (root < 0.0)
        return false;
    *from = fmax(0.0, (-ad - sqrt(root)) / dd);
    *to = fmin(1.0, (-ad + sqrt(root)) / dd);
    return *from <= *to;
}

static inline double cutting_lower_end(double from, double to, double z_mm, double dz_mm)
{
    return z_mm + fmin(from * dz_mm, to * dz_mm);
}

static inline double cutting_level_mm(const struct cutting_body *body, const double from_mm[3], const double by_mm[3],
                                      double x_mm, double y_mm)
{
    double ax = from_mm[0] - x_mm, ay = from_mm[1] - y_mm, z_mm = from_mm[2] + body->at_mm;
    double aa = ax * ax + ay * ay, ad = ax * by_mm[0] + ay * by_mm[1], dd = by_mm[0] * by_mm[0] + by_mm[1] * by_mm[1];
    double from, to, root, leaves, enters, lowest = HUGE_VAL;

    if (!cutting_within(aa, ad, dd, body->radius_mm, &from, &to))
        return HUGE_VAL;
    if (body->inner_mm <= 0.0)
        return cutting_lower_end(from, to, z_mm, by_mm[2]);
    if (dd <= 0.0)
        return aa >= body->inner_mm * body->inner_mm ? cutting_lower_end(from, to, z_mm, by_mm[2]) : HUGE_VAL;
    root = ad * ad - dd * (aa - body->inner_mm * body->inner_mm);
    if (root <= 0.0)
        return cutting_lower_end(from, to, z_mm, by_mm[2]);
    leaves = fmin(to, (-ad - sqrt(root)) / dd); /* the rim, for the hollow within it */
    enters = fmax(from, (-ad + sqrt(root)) / dd);
    if (from <= leaves)
        lowest = cutting_lower_end(from, leaves, z_mm, by_mm[2]);
    return enters <= to ? fmin(lowest, cutting_lower_end(enters, to, z_mm, by_mm[2])) : lowest;
}

static inline double cutting_across_mm(const struct cutting_body *body, const double from_mm[3], const double by_mm[3],
                                       double x_mm, double y_mm)
{
    double off_mm = y_mm - from_mm[1], middle_mm = (body->from_mm + body->to_mm) / 2.0;
    double half_mm = (body->to_mm - body->from_mm) / 2.0, s = middle_mm - off_mm, ax = from_mm[0] - x_mm;
    double from, to, begin, end, lowest = HUGE_VAL;
    double r = body->radius_mm, ts[3] = { 0 };
    int count = 2;

    if (!cutting_within(s * s, s * by_mm[1], by_mm[1] * by_mm[1], half_mm, &from, &to) ||
        !cutting_within(ax * ax, ax * by_mm[0], by_mm[0] * by_mm[0], r, &begin, &end))
        return HUGE_VAL;
    ts[0] = fmax(from, begin);
    ts[1] = fmin(to, end);
    if (ts[0] > ts[1])
        return HUGE_VAL;
    if (by_mm[0] != 0.0) { /* where the circle's slope is that of the way */
        double k = by_mm[2] / by_mm[0], t = (-ax - r * k / sqrt(1.0 + k * k)) / by_mm[0];

        if (t > ts[0] && t < ts[1])
            ts[count++] = t;
    }
    for (int i = 0; i < count; i++) {
        double dx = ax + ts[i] * by_mm[0];

        lowest = fmin(lowest, from_mm[2] + ts[i] * by_mm[2] + body->at_mm - sqrt(fmax(0.0, r * r - dx * dx)));
    }
    return lowest;
}

/* ---- one motion ---- */

struct cutting_found {
    double depth_mm;   /* the deepest that anything was met at: cut, where `cut` */
    double volume_mm3; /* cut */
};

static inline void cutting_span(double from_mm, double to_mm, double low_mm, double high_mm, double start_mm,
                                double cell_mm, int count, int *begin, int *end)
{
    *begin = (int)fmin(count, fmax(0.0, floor((fmin(from_mm, to_mm) + low_mm - start_mm) / cell_mm)));
    *end = (int)fmin(count, fmax(0.0, ceil((fmax(from_mm, to_mm) + high_mm - start_mm) / cell_mm)));
}

/* One cell under a body that comes no lower than `lowest_mm`. */
static inline void cutting_cell(struct cutting_grid *grid, const struct cutting_body *body, const double from_mm[3],
                                const double by_mm[3], double lowest_mm, int row, int column, bool cut,
                                struct cutting_found *found)
{
    float *high_mm = &grid->high_mm[(size_t)row * (size_t)grid->columns + (size_t)column];
    double x_mm = grid->x_mm + (column + 0.5) * grid->cell_mm, y_mm = grid->y_mm + (row + 0.5) * grid->cell_mm;
    double low_mm, depth_mm;

    if ((double)*high_mm <= lowest_mm)
        return;
    low_mm = body->across ? cutting_across_mm(body, from_mm, by_mm, x_mm, y_mm)
                          : cutting_level_mm(body, from_mm, by_mm, x_mm, y_mm);
    depth_mm = (double)*high_mm - low_mm;
    if (!(depth_mm > 0.0))
        return;
    found->depth_mm = fmax(found->depth_mm, depth_mm);
    if (cut) {
        found->volume_mm3 += depth_mm * grid->cell_mm * grid->cell_mm;
        *high_mm = (float)low_mm;
    }
}

/* Cells begin..end-1 of a row, all of them under the body at one height. */
static inline void cutting_stretch(struct cutting_grid *grid, int row, double from_mm, double to_mm, double low_mm,
                                   bool cut, struct cutting_found *found)
{
    int begin = (int)fmin(grid->columns, fmax(0.0, ceil((from_mm - grid->x_mm) / grid->cell_mm - 0.5)));
    int end = (int)fmin(grid->columns, fmax(0.0, floor((to_mm - grid->x_mm) / grid->cell_mm - 0.5) + 1.0));
    float *high_mm = &grid->high_mm[(size_t)row * (size_t)grid->columns], low = (float)low_mm;

    for (int column = begin; column < end;) {
        int stop = column / CUTTING_TILE * CUTTING_TILE + CUTTING_TILE;

        stop = stop < end ? stop : end;
        if (*cutting_tile(grid, row, column) <= low)
            column = stop;
        for (; column < stop; column++) {
            double depth_mm = (double)high_mm[column] - low_mm;

            if (depth_mm <= 0.0)
                continue;
            found->depth_mm = fmax(found->depth_mm, depth_mm);
            if (cut) {
                found->volume_mm3 += depth_mm * grid->cell_mm * grid->cell_mm;
                high_mm[column] = low;
            }
        }
    }
}

/* Most motions: a ring along x at one height. In each row it passes over all from its first edge to its last, but for what stays in
 * its hollow all the way. */
static inline void cutting_slide(struct cutting_grid *grid, const struct cutting_body *body, const double from_mm[3],
                                 const double to_mm[3], const int rows[2], bool cut, struct cutting_found *found)
{
    double low_x = fmin(from_mm[0], to_mm[0]), high_x = fmax(from_mm[0], to_mm[0]), low_mm = from_mm[2] + body->at_mm;

    for (int row = rows[0]; row < rows[1]; row++) {
        double off_mm = grid->y_mm + (row + 0.5) * grid->cell_mm - from_mm[1], r = body->radius_mm,
               inner = body->inner_mm;
        double half_mm, hollow_mm = 0.0;

        if (fabs(off_mm) > r)
            continue;
        half_mm = sqrt(r * r - off_mm * off_mm);
        if (fabs(off_mm) < inner)
            hollow_mm = sqrt(inner * inner - off_mm * off_mm);
        if (high_x - hollow_mm < low_x + hollow_mm) {
            cutting_stretch(grid, row, low_x - half_mm, high_x - hollow_mm, low_mm, cut, found);
            cutting_stretch(grid, row, low_x + hollow_mm, high_x + half_mm, low_mm, cut, found);
        } else {
            cutting_stretch(grid, row, low_x - half_mm, high_x + half_mm, low_mm, cut, found);
        }
    }
}

/* Any other. */
static inline void cutting_pass(struct cutting_grid *grid, const struct cutting_body *body, const double from_mm[3],
                                const double by_mm[3], double lowest_mm, const int rows[2], const int columns[2],
                                bool cut, struct cutting_found *found)
{
    for (int row = rows[0]; row < rows[1]; row++)
        for (int column = columns[0]; column < columns[1];) {
            int stop = column / CUTTING_TILE * CUTTING_TILE + CUTTING_TILE;

            stop = stop < columns[1] ? stop : columns[1];
            if ((double)*cutting_tile(grid, row, column) <= lowest_mm) {
                column = stop;
                continue;
            }
            for (; column < stop; column++)
                cutting_cell(grid, body, from_mm, by_mm, lowest_mm, row, column, cut, found);
        }
}

/* Drives a body along a straight way over all that stands; with `cut` it takes off what it meets. */
static inline struct cutting_found cutting_drive(struct cutting_grid *grid, const struct cutting_body *body,
                                                 const double from_mm[3], const double to_mm[3], bool cut)
{
    const double by_mm[3] = { to_mm[0] - from_mm[0], to_mm[1] - from_mm[1], to_mm[2] - from_mm[2] };
    double lowest_mm = fmin(from_mm[2], to_mm[2]) + body->at_mm - (body->across ? body->radius_mm : 0.0);
    int rows[2], columns[2];
    struct cutting_found found = { 0.0, 0.0 };

    cutting_span(from_mm[0], to_mm[0], -body->radius_mm, body->radius_mm, grid->x_mm, grid->cell_mm, grid->columns,
                 &columns[0], &columns[1]);
    cutting_span(from_mm[1], to_mm[1], body->across ? body->from_mm : -body->radius_mm,
                 body->across ? body->to_mm : body->radius_mm, grid->y_mm, grid->cell_mm, grid->rows, &rows[0],
                 &rows[1]);
    if (!body->across && by_mm[1] == 0.0 && by_mm[2] == 0.0)
        cutting_slide(grid, body, from_mm, to_mm, rows, cut, &found);
    else
        cutting_pass(grid, body, from_mm, by_mm, lowest_mm, rows, columns, cut, &found);
    if (found.volume_mm3 > 0.0)
        cutting_refresh_part(grid, rows, columns);
    return found;
}

#endif
