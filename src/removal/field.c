/* field.c - the grid of heights and how it is filled. */
#include "removal/field.h"

#include "removal/kernel.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MOST_CELLS ((size_t)1 << 27)

static const struct tw_place nowhere = { 0 };

static float *new_heights(size_t count)
{
    float *heights = malloc(count * sizeof *heights);

    for (size_t i = 0; heights && i < count; i++)
        heights[i] = -INFINITY;
    return heights;
}

enum tw_status tw_field_new(double x_mm, double y_mm, double cell_mm, int columns, int rows, double bottom_mm,
                            struct tw_field *out, struct tw_findings *findings)
{
    struct tw_field field = { .x_mm = x_mm, .y_mm = y_mm, .cell_mm = cell_mm, .bottom_mm = bottom_mm };
    size_t cells;

    *out = (struct tw_field){ 0 };
    if (!isfinite(x_mm) || !isfinite(y_mm) || !isfinite(bottom_mm) || !(cell_mm > 0.0) || !isfinite(cell_mm) ||
        columns < 1 || rows < 1 || (size_t)columns > MOST_CELLS / (size_t)rows)
        return tw_fail(findings, TW_BAD_USAGE, nowhere,
                       "a grid of %d by %d cells of %g mm cannot be made; it may have up to %zu cells, each above 0 mm",
                       columns, rows, cell_mm, MOST_CELLS);
    cells = (size_t)columns * (size_t)rows;
    field.columns = columns;
    field.rows = rows;
    field.tile_count = (columns + REMOVAL_TILE - 1) / REMOVAL_TILE;
    field.stock_mm = new_heights(cells);
    field.keep_tiles_mm = new_heights((size_t)field.tile_count * (size_t)rows);
    field.stock_tiles_mm = new_heights((size_t)field.tile_count * (size_t)rows);
    field.stock_from = calloc((size_t)rows, sizeof *field.stock_from);
    field.stock_to = calloc((size_t)rows, sizeof *field.stock_to);
    if (!field.stock_mm || !field.keep_tiles_mm || !field.stock_tiles_mm || !field.stock_from || !field.stock_to) {
        tw_field_free(&field);
        return tw_no_memory(findings);
    }
    field.stock_high_mm = field.keep_high_mm = -(double)INFINITY;
    field.column_from = columns;
    *out = field;
    return TW_OK;
}

void tw_field_free(struct tw_field *field)
{
    free(field->stock_mm);
    free(field->keep_mm);
    free(field->keep_kind);
    free(field->limit_mm);
    free(field->keep_tiles_mm);
    free(field->stock_tiles_mm);
    free(field->stock_from);
    free(field->stock_to);
    *field = (struct tw_field){ 0 };
}

static void note_columns(struct tw_field *field, int from, int to)
{
    to = to < field->columns ? to : field->columns;
    field->column_from = from < field->column_from ? from : field->column_from;
    field->column_to = to > field->column_to ? to : field->column_to;
}

static void refresh_stock(struct tw_field *field, int row)
{
    const float *stock = field->stock_mm + removal_index(field, row, 0);
    float *tiles = removal_stock_tiles(field, row), high_mm = -INFINITY;
    int from = field->columns, to = 0;

    for (int tile = 0; tile < field->tile_count; tile++) {
        int at = tile * REMOVAL_TILE, end = removal_tile_end(at, field->columns);

        tiles[tile] = removal_highest(stock + at, end - at);
        if (!(tiles[tile] > -INFINITY))
            continue;
        high_mm = tiles[tile] > high_mm ? tiles[tile] : high_mm;
        from = at < from ? at : from;
        to = end;
    }
    while (from < to && !(stock[from] > -INFINITY))
        from++;
    while (from < to && !(stock[to - 1] > -INFINITY))
        to--;
    if (from < to)
        note_columns(field, from, to);
    field->stock_high_mm = removal_larger(field->stock_high_mm, (double)high_mm);
    field->stock_from[row] = from < to ? from : 0;
    field->stock_to[row] = to;
}

static void refresh_keep(struct tw_field *field, int row)
{
    const float *keep = field->keep_mm + removal_index(field, row, 0);
    float *tiles = field->keep_tiles_mm + (size_t)row * (size_t)field->tile_count;

    for (int tile = 0; tile < field->tile_count; tile++) {
        int from = tile * REMOVAL_TILE, to = removal_tile_end(from, field->columns);
        float high_mm = removal_highest(keep + from, to - from);

        tiles[tile] = high_mm;
        if (high_mm > -INFINITY)
            note_columns(field, from, to);
        field->keep_high_mm = removal_larger(field->keep_high_mm, (double)high_mm);
    }
}

void tw_field_refresh_stock(struct tw_field *field)
{
    field->stock_high_mm = -(double)INFINITY;
    for (int row = 0; row < field->rows; row++)
        refresh_stock(field, row);
}

void tw_field_refresh_keep(struct tw_field *field, int row_from, int row_to)
{
    size_t tiles = (size_t)field->tile_count * (size_t)field->rows;
    float high_mm = -INFINITY;

    if (!field->keep_mm)
        return;
    for (int row = row_from; row < row_to; row++)
        refresh_keep(field, row);
    for (size_t tile = 0; tile < tiles; tile++)
        high_mm = field->keep_tiles_mm[tile] > high_mm ? field->keep_tiles_mm[tile] : high_mm;
    field->keep_high_mm = (double)high_mm;
}

void tw_field_refresh(struct tw_field *field)
{
    field->column_from = field->columns;
    field->column_to = 0;
    tw_field_refresh_stock(field);
    tw_field_refresh_keep(field, 0, field->rows);
}

void tw_field_shape_stock(struct tw_field *field, double (*top_mm)(const void *context, double x_mm),
                          const void *context)
{
    for (int column = 0; column < field->columns; column++) {
        float high_mm = (float)top_mm(context, field->x_mm + (column + 0.5) * field->cell_mm);

        for (int row = 0; row < field->rows; row++) {
            float *cell = field->stock_mm + (size_t)row * (size_t)field->columns + (size_t)column;

            if (*cell > -INFINITY)
                *cell = high_mm;
        }
    }
}

void removal_refresh_high(struct tw_field *field)
{
    float high_mm = -INFINITY;

    for (int row = 0; row < field->rows; row++) {
        int from = field->stock_from[row];
        float row_mm = removal_highest(field->stock_mm + removal_index(field, row, from), field->stock_to[row] - from);

        high_mm = row_mm > high_mm ? row_mm : high_mm;
    }
    field->stock_high_mm = (double)high_mm;
}

double tw_field_volume_mm3(const struct tw_field *field)
{
    double sum_mm = 0.0;

    for (int row = 0; row < field->rows; row++) {
        const float *stock = field->stock_mm + removal_index(field, row, 0);

        for (int column = field->stock_from[row]; column < field->stock_to[row]; column++)
            sum_mm += fmax(0.0, (double)stock[column] - field->bottom_mm);
    }
    return sum_mm * field->cell_mm * field->cell_mm;
}

/* --- filling the inside of rings ----------------------------------------------------------------------- */

/* Where the rings cross the line through the centres of a row. */
struct crossings {
    double *x_mm;
    size_t count, capacity;
};

static int by_size(const void *a, const void *b)
{
    double first = *(const double *)a, second = *(const double *)b;

    return (first > second) - (first < second);
}

static void cross_ring(const struct tw_ring *ring, double y_mm, struct crossings *crossings)
{
    for (size_t i = 0; i < ring->count; i++) {
        struct tw_point a = ring->points[i], b = ring->points[(i + 1) % ring->count];

        /* Half open, so that a corner on the line counts once or twice, as it must. */
        if ((a.y_mm <= y_mm) != (b.y_mm <= y_mm))
            crossings->x_mm[crossings->count++] = a.x_mm + (y_mm - a.y_mm) / (b.y_mm - a.y_mm) * (b.x_mm - a.x_mm);
    }
}

static int clamp_column(const struct tw_field *field, double column)
{
    return (int)fmin(fmax(column, 0.0), field->columns);
}

enum tw_status removal_fill(struct tw_field *field, const struct tw_ring *rings, size_t ring_count, removal_filler fill,
                            const void *what, struct tw_findings *findings)
{
    struct crossings crossings = { 0 };

    for (size_t i = 0; i < ring_count; i++)
        crossings.capacity += rings[i].count;
    crossings.x_mm = malloc((crossings.capacity + 1) * sizeof *crossings.x_mm);
    if (!crossings.x_mm)
        return tw_no_memory(findings);
    for (int row = 0; row < field->rows; row++) {
        crossings.count = 0;
        for (size_t i = 0; i < ring_count; i++)
            cross_ring(&rings[i], removal_y(field, row), &crossings);
        qsort(crossings.x_mm, crossings.count, sizeof *crossings.x_mm, by_size);
        for (size_t i = 0; i + 1 < crossings.count; i += 2)
            fill(field, row, clamp_column(field, ceil(removal_column(field, crossings.x_mm[i]))),
                 clamp_column(field, ceil(removal_column(field, crossings.x_mm[i + 1]))), what);
    }
    free(crossings.x_mm);
    return TW_OK;
}

static float height(const struct tw_field *field, const struct tw_height_plane *plane, int row, int column)
{
    return (float)(plane->z_mm + plane->slope_x * removal_x(field, column) + plane->slope_y * removal_y(field, row));
}

static void fill_stock(struct tw_field *field, int row, int from, int to, const void *what)
{
    for (int column = from; column < to; column++)
        field->stock_mm[removal_index(field, row, column)] = height(field, what, row, column);
}

enum tw_status tw_field_add_stock(struct tw_field *field, const struct tw_ring *rings, size_t ring_count,
                                  struct tw_height_plane top, struct tw_findings *findings)
{
    enum tw_status status = removal_fill(field, rings, ring_count, fill_stock, &top, findings);

    tw_field_refresh_stock(field);
    return status;
}

enum tw_status tw_field_begin_keep(struct tw_field *field, struct tw_findings *findings)
{
    size_t cells = (size_t)field->columns * (size_t)field->rows;

    if (!field->keep_mm)
        field->keep_mm = new_heights(cells);
    if (!field->keep_kind)
        field->keep_kind = calloc(cells, 1);
    return field->keep_mm && field->keep_kind ? TW_OK : tw_no_memory(findings);
}

struct keep_out {
    struct tw_height_plane top;
    enum tw_cell_kind kind;
};

static void fill_keep_out(struct tw_field *field, int row, int from, int to, const void *what)
{
    const struct keep_out *keep = what;

    for (int column = from; column < to; column++) {
        size_t i = removal_index(field, row, column);
        float top_mm = height(field, &keep->top, row, column);

        if (top_mm > field->keep_mm[i]) {
            field->keep_mm[i] = top_mm;
            field->keep_kind[i] = (unsigned char)keep->kind;
        }
    }
}

enum tw_status tw_field_add_keep_out(struct tw_field *field, const struct tw_ring *rings, size_t ring_count,
                                     enum tw_cell_kind kind, struct tw_height_plane top, struct tw_findings *findings)
{
    struct keep_out keep = { top, kind };
    enum tw_status status;

    if (kind <= TW_CELL_TARGET || kind >= TW_CELL_KINDS)
        return tw_fail(findings, TW_BAD_USAGE, nowhere, "kind %d is nothing that can be kept clear of", kind);
    status = tw_field_begin_keep(field, findings);
    if (status == TW_OK)
        status = removal_fill(field, rings, ring_count, fill_keep_out, &keep, findings);
    tw_field_refresh_keep(field, 0, field->rows);
    return status;
}

static void fill_limit(struct tw_field *field, int row, int from, int to, const void *what)
{
    for (int column = from; column < to; column++)
        field->limit_mm[removal_index(field, row, column)] = height(field, what, row, column);
}

enum tw_status tw_field_set_limit(struct tw_field *field, const struct tw_ring *rings, size_t ring_count,
                                  struct tw_height_plane limit, struct tw_findings *findings)
{
    if (!field->limit_mm)
        field->limit_mm = new_heights((size_t)field->columns * (size_t)field->rows);
    if (!field->limit_mm)
        return tw_no_memory(findings);
    if (rings)
        return removal_fill(field, rings, ring_count, fill_limit, &limit, findings);
    for (int row = 0; row < field->rows; row++)
        fill_limit(field, row, 0, field->columns, &limit);
    return TW_OK;
}
