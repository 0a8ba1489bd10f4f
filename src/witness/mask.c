/* mask.c - the relief on a grid of cells. */
#include "witness/mask.h"

#include <math.h>
#include <stdlib.h>

/* ---- the region ---- */

static double middle_x_mm(const struct tw_witness_grid *grid, int column)
{
    return grid->x_mm + (column + 0.5) * grid->cell_mm;
}

static double middle_y_mm(const struct tw_witness_grid *grid, int row)
{
    return grid->y_mm + (row + 0.5) * grid->cell_mm;
}

static double distance_mm(struct tw_point a, struct tw_point b, double x_mm, double y_mm)
{
    double dx = b.x_mm - a.x_mm, dy = b.y_mm - a.y_mm, length2 = dx * dx + dy * dy;
    double t = length2 > 0.0 ? ((x_mm - a.x_mm) * dx + (y_mm - a.y_mm) * dy) / length2 : 0.0;

    t = fmin(1.0, fmax(0.0, t));
    return hypot(x_mm - a.x_mm - t * dx, y_mm - a.y_mm - t * dy);
}

/* The cells from..to-1 along one axis within `by` of the stretch between two coordinates. */
static void span(double a_mm, double b_mm, double by_mm, double start_mm, double cell_mm, int count, int *from, int *to)
{
    *from = (int)fmin(count, fmax(0.0, floor((fmin(a_mm, b_mm) - by_mm - start_mm) / cell_mm)));
    *to = (int)fmin(count, fmax(0.0, ceil((fmax(a_mm, b_mm) + by_mm - start_mm) / cell_mm)));
}

/* Strikes out what lies nearer to an edge than `keep_mm`. */
static void strike_edge(const struct tw_witness_grid *grid, struct tw_point a, struct tw_point b, double keep_mm,
                        unsigned char *cells)
{
    int row_from, row_to, column_from, column_to;

    span(a.x_mm, b.x_mm, keep_mm, grid->x_mm, grid->cell_mm, grid->columns, &column_from, &column_to);
    span(a.y_mm, b.y_mm, keep_mm, grid->y_mm, grid->cell_mm, grid->rows, &row_from, &row_to);
    for (int row = row_from; row < row_to; row++)
        for (int column = column_from; column < column_to; column++) {
            unsigned char *cell = &cells[(size_t)row * (size_t)grid->columns + (size_t)column];

            if (*cell && distance_mm(a, b, middle_x_mm(grid, column), middle_y_mm(grid, row)) < keep_mm)
                *cell = 0;
        }
}

static void strike_ring(const struct tw_witness_grid *grid, const struct tw_ring *ring, double keep_mm,
                        unsigned char *cells)
{
    for (size_t i = 0; i < ring->count; i++)
        strike_edge(grid, ring->points[i], ring->points[(i + 1) % ring->count], keep_mm, cells);
}

static void strike_front(const struct tw_witness_face *face, const struct tw_witness_grid *grid, double end_mm,
                         unsigned char *cells)
{
    for (int row = 0; row < grid->rows; row++)
        for (int column = 0; column < grid->columns; column++)
            if (tw_witness_part_x_mm(face, middle_x_mm(grid, column)) < end_mm)
                cells[(size_t)row * (size_t)grid->columns + (size_t)column] = 0;
}

enum tw_status tw_witness_relief(const struct tw_witness_face *face, const struct tw_witness_grid *grid,
                                 unsigned char *cells, struct tw_findings *findings)
{
    const struct tw_relief *relief = &face->job->relief;
    struct tw_outline tang;
    enum tw_status status = tw_witness_outline(face, &face->job->part.tang, &tang, findings);

    if (status != TW_OK)
        return status;
    strike_front(face, grid, relief->end_mm, cells);
    strike_ring(grid, &tang.outer, relief->land_mm, cells);
    for (size_t i = 0; i < tang.hole_count; i++)
        strike_ring(grid, &tang.holes[i], relief->boss_mm, cells);
    tw_outline_free(&tang);
    return TW_OK;
}

/* ---- where a circle comes ---- */

/* Squares of distances, in cells, to the nearest of one line's cells that are `wanted`. */
static void along_line(const unsigned char *cells, size_t step, int count, unsigned char wanted, float *out)
{
    int since = -1;

    for (int i = 0; i < count; i++) {
        since = cells[(size_t)i * step] == wanted ? 0 : since < 0 ? -1 : since + 1;
        out[(size_t)i * step] = since < 0 ? INFINITY : (float)since * (float)since;
    }
    since = -1;
    for (int i = count - 1; i >= 0; i--) {
        since = cells[(size_t)i * step] == wanted ? 0 : since < 0 ? -1 : since + 1;
        if (since >= 0)
            out[(size_t)i * step] = fminf(out[(size_t)i * step], (float)since * (float)since);
    }
}

/* Over a row: the least of squares[j] + (i - j)^2. Looks no farther to either side than the best found so far, or than
 * `most` cells: what is beyond is only known to be so. */
static void across_lines(const float *squares, int count, int most, float *out)
{
    for (int i = 0; i < count; i++) {
        float best = squares[i];

        for (int far = 1; far <= most && (float)far * (float)far < best; far++) {
            float more = (float)far * (float)far;

            if (i - far >= 0)
                best = fminf(best, squares[i - far] + more);
            if (i + far < count)
                best = fminf(best, squares[i + far] + more);
        }
        out[i] = best;
    }
}

/* Whether each cell is farther than `beyond_mm` from all cells that are `wanted`: 1, else 0. */
static bool mark_beyond(const struct tw_witness_grid *grid, const unsigned char *cells, unsigned char wanted,
                        double beyond_mm, unsigned char *out)
{
    size_t columns = (size_t)grid->columns, count = columns * (size_t)grid->rows;
    float *squares = malloc((count + 1) * sizeof *squares), *row_squares = malloc((columns + 1) * sizeof *row_squares);
    double beyond = beyond_mm / grid->cell_mm;
    bool made = squares && row_squares;

    for (size_t column = 0; made && column < columns; column++)
        along_line(cells + column, columns, grid->rows, wanted, squares + column);
    for (size_t row = 0; made && row < (size_t)grid->rows; row++) {
        across_lines(squares + row * columns, grid->columns, (int)fmin(grid->columns, ceil(beyond)), row_squares);
        for (size_t column = 0; column < columns; column++)
            out[row * columns + column] = (double)row_squares[column] > beyond * beyond;
    }
    free(squares);
    free(row_squares);
    return made;
}

/* A cell's middle that is none of the region's may lie half a cell's diagonal beyond its edge. */
enum tw_status tw_witness_reach(const struct tw_witness_grid *grid, const unsigned char *cells, double radius_mm,
                                double edge_mm, unsigned char *reached, struct tw_findings *findings)
{
    size_t count = (size_t)grid->columns * (size_t)grid->rows;
    unsigned char *centres = malloc(count + 1);
    bool made = centres && mark_beyond(grid, cells, 0, radius_mm + edge_mm + sqrt(0.5) * grid->cell_mm, centres) &&
                mark_beyond(grid, centres, 1, radius_mm - edge_mm, reached);

    for (size_t i = 0; made && i < count; i++)
        reached[i] = !reached[i];
    free(centres);
    return made ? TW_OK : tw_no_memory(findings);
}
