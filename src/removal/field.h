/* field.h - where the cells of a field lie. */
#ifndef TANGWRIGHT_REMOVAL_FIELD_H
#define TANGWRIGHT_REMOVAL_FIELD_H

#include "tangwright/removal.h"

enum { REMOVAL_TILE = 32 }; /* columns that share one entry of keep_tiles_mm and stock_tiles_mm */

/* fmin() and fmax() are calls; these stand in the inner loops, where no argument is NaN. */
static inline double removal_smaller(double a, double b)
{
    return a < b ? a : b;
}

static inline double removal_larger(double a, double b)
{
    return a > b ? a : b;
}

static inline size_t removal_index(const struct tw_field *field, int row, int column)
{
    return (size_t)row * (size_t)field->columns + (size_t)column;
}

/* Centres. */
static inline double removal_x(const struct tw_field *field, int column)
{
    return field->x_mm + (column + 0.5) * field->cell_mm;
}

static inline double removal_y(const struct tw_field *field, int row)
{
    return field->y_mm + (row + 0.5) * field->cell_mm;
}

/* The column whose centre lies at x, as a fraction: the first centre not left of x is its ceil(). */
static inline double removal_column(const struct tw_field *field, double x_mm)
{
    return (x_mm - field->x_mm) / field->cell_mm - 0.5;
}

static inline double removal_row(const struct tw_field *field, double y_mm)
{
    return (y_mm - field->y_mm) / field->cell_mm - 0.5;
}

/* What must not be touched in one row; where there is nothing at all its stock, which changes nothing where both are looked at. */
static inline const float *removal_keep(const struct tw_field *field, int row)
{
    return (field->keep_mm ? field->keep_mm : field->stock_mm) + removal_index(field, row, 0);
}

/* The heights of one row and what is known of its tiles. */
static inline float *removal_stock_tiles(const struct tw_field *field, int row)
{
    return field->stock_tiles_mm + (size_t)row * (size_t)field->tile_count;
}

static inline const float *removal_keep_tiles(const struct tw_field *field, int row)
{
    return field->keep_tiles_mm + (size_t)row * (size_t)field->tile_count;
}

/* One past the last column of the tile that `column` is in, not beyond `to`. */
static inline int removal_tile_end(int column, int to)
{
    int end = (column / REMOVAL_TILE + 1) * REMOVAL_TILE;

    return end < to ? end : to;
}

/* Brings stock_high_mm down to what still stands. */
void removal_refresh_high(struct tw_field *field);

/* Does something to the cells from..to-1 of a row. */
typedef void (*removal_filler)(struct tw_field *field, int row, int from, int to, const void *what);

/* Calls `fill` for the cells whose centres lie inside an odd number of rings. */
enum tw_status removal_fill(struct tw_field *field, const struct tw_ring *rings, size_t ring_count, removal_filler fill,
                            const void *what, struct tw_findings *findings);

#endif
