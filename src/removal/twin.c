/* twin.c - two fields that are ground by the same motions become the same once their tops are off.
 *
 * Where both hold the same stock, limits and keep-outs under all that a motion can reach, what the one sweep found is what the
 * other would find, bit by bit, and is taken over. Which cells differ is kept by a bit for each; after a motion that was swept
 * over both, the cells in its reach are compared anew. */
#include "removal/sweep.h"

#include <limits.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define WORD 64
/* What lies just outside the wheel is no longer the same: the reach is no wider than by rounding. */
#define ROUNDING_MM 1e-6

struct tw_twin {
    struct tw_sweep *own;
    const struct tw_sweep *leader;
    int words;              /* to a row */
    uint64_t *stock, *rest; /* cells whose stock differs; or their limit, or what must not be touched */
    bool alike;             /* grids, wheels and so far all motions */
};

/* ---- how far a motion reaches ---- */

static double top_of(const struct tw_field *field)
{
    return removal_larger(field->stock_high_mm, field->keep_high_mm);
}

/* Of a cylinder that comes so far below the top of all: its chord there. */
static double round_reach_mm(double radius_mm, double below_mm)
{
    double h_mm = removal_smaller(below_mm, radius_mm);

    return sqrt(h_mm * (2.0 * radius_mm - h_mm));
}

/* Where the leader's last motion can have looked at cells: rows, and the parts that come low enough. */
struct reach {
    int row_from, row_to;
    double below_mm[REMOVAL_PARTS]; /* of each part below the top of all; not above 0: it touches nothing */
};

static struct reach reach_of(const struct tw_twin *twin)
{
    const struct tw_sweep *sweep = twin->leader;
    double top_mm = removal_larger(top_of(sweep->field), top_of(twin->own->field));
    double low_mm = removal_smaller(sweep->from_mm[1], sweep->to_mm[1]);
    double high_mm = removal_larger(sweep->from_mm[1], sweep->to_mm[1]);
    struct reach reach = { INT_MAX, 0, { 0.0 } };

    for (int i = 0; i < sweep->part_count; i++) {
        const struct removal_part *part = &sweep->parts[i];
        int from, to;

        reach.below_mm[i] = top_mm - sweep->low_mm - part->lift_mm;
        if (reach.below_mm[i] <= 0.0)
            continue;
        removal_rows(sweep->field, low_mm + (part->round ? part->y_from_mm : -part->radius_mm) - ROUNDING_MM,
                     high_mm + (part->round ? part->y_to_mm : part->radius_mm) + ROUNDING_MM, &from, &to);
        reach.row_from = from < reach.row_from ? from : reach.row_from;
        reach.row_to = to > reach.row_to ? to : reach.row_to;
    }
    return reach;
}

/* Of one row the columns from..to-1. */
static void columns_in_reach(const struct tw_twin *twin, const struct reach *reach, int row, int *from, int *to)
{
    const struct tw_sweep *sweep = twin->leader;
    const struct tw_field *field = sweep->field;
    double low_mm = HUGE_VAL, high_mm = -HUGE_VAL, left_mm, right_mm;

    for (int i = 0; i < sweep->part_count; i++) {
        const struct removal_part *part = &sweep->parts[i];

        if (reach->below_mm[i] <= 0.0)
            continue;
        if (part->round) {
            double reach_mm = round_reach_mm(part->radius_mm, reach->below_mm[i]);

            left_mm = removal_smaller(sweep->from_mm[0], sweep->to_mm[0]) - reach_mm;
            right_mm = removal_larger(sweep->from_mm[0], sweep->to_mm[0]) + reach_mm;
        } else {
            removal_ring_span(sweep, part->radius_mm + ROUNDING_MM, removal_y(field, row), &left_mm, &right_mm);
        }
        low_mm = removal_smaller(low_mm, left_mm);
        high_mm = removal_larger(high_mm, right_mm);
    }
    *from = *to = 0;
    if (low_mm <= high_mm)
        removal_columns(field, low_mm - ROUNDING_MM, high_mm + ROUNDING_MM, from, to);
}

/* ---- which cells differ ---- */

static uint64_t *row_bits(const struct tw_twin *twin, uint64_t *bits, int row)
{
    return bits + (size_t)row * (size_t)twin->words;
}

/* Of word `word` the bits of the columns from..to-1. */
static uint64_t mask_of(int word, int from, int to)
{
    int first = from - word * WORD, end = to - word * WORD;
    uint64_t mask = ~(uint64_t)0;

    if (first > 0)
        mask &= ~(uint64_t)0 << first;
    if (end < WORD)
        mask &= ~(~(uint64_t)0 << end);
    return mask;
}

static bool any_bit(const uint64_t *bits, int from, int to)
{
    for (int word = from / WORD; word * WORD < to; word++)
        if (bits[word] & mask_of(word, from, to))
            return true;
    return false;
}

static void clear_bits(uint64_t *bits, int from, int to)
{
    for (int word = from / WORD; word * WORD < to; word++)
        bits[word] &= ~mask_of(word, from, to);
}

static void set_bit(uint64_t *bits, int column)
{
    bits[column / WORD] |= (uint64_t)1 << column % WORD;
}

static void compare_stock(struct tw_twin *twin, int row, int from, int to)
{
    size_t at = removal_index(twin->own->field, row, 0);
    const float *own = twin->own->field->stock_mm + at, *other = twin->leader->field->stock_mm + at;
    uint64_t *bits = row_bits(twin, twin->stock, row);

    clear_bits(bits, from, to);
    for (int column = from; column < to; column++)
        if (own[column] != other[column])
            set_bit(bits, column);
}

static bool is_kept_alike(const struct tw_field *a, const struct tw_field *b, size_t at)
{
    if (!a->keep_mm || !b->keep_mm)
        return !(a->keep_mm && a->keep_mm[at] > -INFINITY) && !(b->keep_mm && b->keep_mm[at] > -INFINITY);
    return a->keep_mm[at] == b->keep_mm[at] && a->keep_kind[at] == b->keep_kind[at];
}

static void compare_rest(struct tw_twin *twin, int row)
{
    const struct tw_field *own = twin->own->field, *other = twin->leader->field;
    size_t at = removal_index(own, row, 0);
    uint64_t *bits = row_bits(twin, twin->rest, row);

    for (int column = 0; column < own->columns; column++, at++)
        if (!is_kept_alike(own, other, at) || (own->limit_mm && own->limit_mm[at] != other->limit_mm[at]))
            set_bit(bits, column);
}

/* ---- opening ---- */

static bool is_same_part(const struct removal_part *a, const struct removal_part *b)
{
    return a->round == b->round && a->cuts == b->cuts && a->radius_mm == b->radius_mm && a->inner_mm == b->inner_mm &&
           a->y_from_mm == b->y_from_mm && a->y_to_mm == b->y_to_mm && a->lift_mm == b->lift_mm;
}

static bool are_alike(const struct tw_sweep *a, const struct tw_sweep *b)
{
    const struct tw_field *one = a->field, *other = b->field;

    if (one->x_mm != other->x_mm || one->y_mm != other->y_mm || one->cell_mm != other->cell_mm ||
        one->columns != other->columns || one->rows != other->rows || one->bottom_mm != other->bottom_mm ||
        (one->limit_mm == NULL) != (other->limit_mm == NULL) || a->part_count != b->part_count ||
        a->slice_mm != b->slice_mm)
        return false;
    for (int i = 0; i < a->part_count; i++)
        if (!is_same_part(&a->parts[i], &b->parts[i]))
            return false;
    return true;
}

enum tw_status tw_twin_new(struct tw_sweep *own, const struct tw_sweep *leader, struct tw_twin **out,
                           struct tw_findings *findings)
{
    const struct tw_field *field = own->field;
    struct tw_twin *twin = calloc(1, sizeof *twin);
    size_t words;

    *out = NULL;
    if (!twin)
        return tw_no_memory(findings);
    *twin = (struct tw_twin){ .own = own, .leader = leader, .alike = are_alike(own, leader) };
    twin->words = (field->columns + WORD - 1) / WORD;
    words = (size_t)twin->words * (size_t)field->rows;
    twin->stock = calloc(words, sizeof *twin->stock);
    twin->rest = calloc(words, sizeof *twin->rest);
    if (!twin->stock || !twin->rest) {
        tw_twin_free(twin);
        return tw_no_memory(findings);
    }
    for (int row = 0; twin->alike && row < field->rows; row++) {
        compare_stock(twin, row, 0, field->columns);
        compare_rest(twin, row);
    }
    *out = twin;
    return TW_OK;
}

void tw_twin_free(struct tw_twin *twin)
{
    if (!twin)
        return;
    free(twin->stock);
    free(twin->rest);
    free(twin);
}

/* ---- one motion ---- */

static bool is_leaders_motion(const struct tw_twin *twin, const double from_mm[3], const double to_mm[3])
{
    return memcmp(twin->leader->from_mm, from_mm, 3 * sizeof *from_mm) == 0 &&
           memcmp(twin->leader->to_mm, to_mm, 3 * sizeof *to_mm) == 0;
}

static bool any_differs(const struct tw_twin *twin, const struct reach *reach)
{
    for (int row = reach->row_from; row < reach->row_to; row++) {
        int from, to;

        columns_in_reach(twin, reach, row, &from, &to);
        if (any_bit(row_bits(twin, twin->stock, row), from, to) || any_bit(row_bits(twin, twin->rest, row), from, to))
            return true;
    }
    return false;
}

/* The heights that the leader's motion left. What is known of tiles stays true, as cells only become lower. */
static void take_over(const struct tw_twin *twin, const struct reach *reach)
{
    struct tw_field *own = twin->own->field;
    const struct removal_cells *cells = &twin->leader->lowered;

    for (int row = cells->row_from; row <= cells->row_to; row++) {
        size_t at = removal_index(own, row, 0);
        int from, to;

        columns_in_reach(twin, reach, row, &from, &to);
        from = from > cells->column_from ? from : cells->column_from;
        to = to < cells->column_to + 1 ? to : cells->column_to + 1;
        if (from < to)
            memcpy(own->stock_mm + at + from, twin->leader->field->stock_mm + at + from,
                   (size_t)(to - from) * sizeof *own->stock_mm);
    }
}

static void compare_again(struct tw_twin *twin, const struct reach *reach)
{
    for (int row = reach->row_from; row < reach->row_to; row++) {
        int from, to;

        columns_in_reach(twin, reach, row, &from, &to);
        compare_stock(twin, row, from, to);
    }
}

enum tw_status tw_twin_line(struct tw_twin *twin, const double from_mm[3], const double to_mm[3],
                            const struct tw_removal *found, struct tw_removal *out, struct tw_findings *findings)
{
    struct reach reach;
    enum tw_status status;

    twin->alike = twin->alike && is_leaders_motion(twin, from_mm, to_mm);
    if (!twin->alike)
        return tw_sweep_line(twin->own, from_mm, to_mm, out, findings);
    reach = reach_of(twin);
    if (!any_differs(twin, &reach)) {
        take_over(twin, &reach);
        twin->own->cells_since_look += (double)found->cells;
        *out = *found;
        return TW_OK;
    }
    status = tw_sweep_line(twin->own, from_mm, to_mm, out, findings);
    compare_again(twin, &reach);
    return status;
}
