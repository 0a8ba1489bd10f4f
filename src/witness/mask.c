/* mask.c - the relief on a grid of cells. */
#include "witness/mask.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

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

/* One row of the squares of distances, in cells, to the nearest of each column's cells that are `wanted`, when rows are gone
 * through one after the other; `since`: cells since the last one, below 0: none yet. A row that was filled the other way
 * keeps what is nearer. */
static void next_row(const unsigned char *cells, int columns, unsigned char wanted, bool first_way, int *since,
                     float *squares)
{
    for (int i = 0; i < columns; i++) {
        int cells_since = cells[i] == wanted ? 0 : since[i] < 0 ? -1 : since[i] + 1;
        float square = cells_since < 0 ? INFINITY : (float)cells_since * (float)cells_since;

        since[i] = cells_since;
        squares[i] = first_way || square < squares[i] ? square : squares[i];
    }
}

static void start_lines(int columns, int *since)
{
    for (int i = 0; i < columns; i++)
        since[i] = -1;
}

/* Up and down all columns at once. */
static void along_columns(const struct tw_witness_grid *grid, const unsigned char *cells, unsigned char wanted,
                          int *since, float *squares)
{
    size_t columns = (size_t)grid->columns, rows = (size_t)grid->rows;

    start_lines(grid->columns, since);
    for (size_t row = 0; row < rows; row++)
        next_row(cells + row * columns, grid->columns, wanted, true, since, squares + row * columns);
    start_lines(grid->columns, since);
    for (size_t row = rows; row-- > 0;)
        next_row(cells + row * columns, grid->columns, wanted, false, since, squares + row * columns);
}

/* Along a row: which cells i have no j with squares[j] + (i - j)^2 up to `square`: 1, else 0. Each j reaches equally far to
 * both sides; `begun` tells how many more reaches begin than end at each cell. */
static void across_row(const float *squares, int columns, double square, int *begun, unsigned char *out)
{
    int over = 0;

    memset(begun, 0, ((size_t)columns + 1) * sizeof *begun);
    for (int j = 0; j < columns; j++) {
        double rest = square - (double)squares[j];
        int far = rest >= 0.0 ? (int)fmin(columns, floor(sqrt(rest))) : 0;

        if (rest >= 0.0) {
            begun[j > far ? j - far : 0]++;
            begun[j + far < columns ? j + far + 1 : columns]--;
        }
    }
    for (int i = 0; i < columns; i++) {
        over += begun[i];
        out[i] = over == 0;
    }
}

/* Whether each cell is farther than `beyond_mm` from all cells that are `wanted`: 1, else 0. */
static bool mark_beyond(const struct tw_witness_grid *grid, const unsigned char *cells, unsigned char wanted,
                        double beyond_mm, unsigned char *out)
{
    size_t columns = (size_t)grid->columns, rows = (size_t)grid->rows;
    float *squares = malloc((columns * rows + 1) * sizeof *squares);
    int *line = malloc((columns + 1) * sizeof *line);
    double beyond = beyond_mm / grid->cell_mm;
    bool made = squares && line;

    if (made)
        along_columns(grid, cells, wanted, line, squares);
    for (size_t row = 0; made && row < rows; row++)
        across_row(squares + row * columns, grid->columns, beyond * beyond, line, out + row * columns);
    free(squares);
    free(line);
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
