/* run.c - one part of the wheel over neighbouring cells: what it touches and what it cuts. */
#include "removal/sweep.h"

#include <math.h>

/* The first whole number not below `value`, kept within 0..most. */
static int first_from(double value, int most)
{
    int whole;

    if (!(value > 0.0))
        return 0;
    if (value >= most)
        return most;
    whole = (int)value;
    return whole + ((double)whole < value);
}

/* One past the last whole number not above `value`. */
static int end_to(double value, int most)
{
    if (!(value >= 0.0))
        return 0;
    return value >= most - 1 ? most : (int)value + 1;
}

void removal_columns(const struct tw_field *field, double from_mm, double to_mm, int *from, int *to)
{
    *from = first_from(removal_column(field, from_mm), field->columns);
    *to = end_to(removal_column(field, to_mm), field->columns);
}

void removal_rows(const struct tw_field *field, double from_mm, double to_mm, int *from, int *to)
{
    *from = first_from(removal_row(field, from_mm), field->rows);
    *to = end_to(removal_row(field, to_mm), field->rows);
}

static void note_contact(struct tw_sweep *sweep, int kind, int row, int column, double depth_mm, double z_mm)
{
    struct tw_touch *contact = &sweep->contacts[kind];

    if (!(depth_mm > TW_REMOVAL_TOUCH_MM))
        return;
    contact->cells++;
    if (depth_mm <= contact->depth_mm)
        return;
    contact->depth_mm = depth_mm;
    contact->x_mm = removal_x(sweep->field, column);
    contact->y_mm = removal_y(sweep->field, row);
    contact->z_mm = z_mm;
}

static void touch_keep_out(struct tw_sweep *sweep, const struct removal_part *part, int row, int from, int to)
{
    const struct tw_field *field = sweep->field;
    const float *tiles = removal_keep_tiles(field, row);
    double low_mm = sweep->low_mm + part->lift_mm;
    int next;

    if (low_mm >= field->keep_high_mm)
        return;
    for (int column = from; column < to; column = next) {
        const float *keep = field->keep_mm + removal_index(field, row, column);
        const float *floor = sweep->floor_mm + (column - from);

        next = removal_tile_end(column, to);
        if ((double)tiles[column / REMOVAL_TILE] <= low_mm ||
            (double)removal_penetration(keep, floor, next - column) <= TW_REMOVAL_TOUCH_MM)
            continue;
        for (int i = 0; i < next - column; i++)
            note_contact(sweep, field->keep_kind[removal_index(field, row, column + i)], row, column + i,
                         (double)keep[i] - (double)floor[i], (double)floor[i]);
    }
}

/* A part that does not cut has no business in the stock either. */
static void touch_stock(struct tw_sweep *sweep, int row, int from, const float *floor_mm, int count)
{
    const float *stock = sweep->field->stock_mm + removal_index(sweep->field, row, from);

    if ((double)removal_penetration(stock, floor_mm, count) <= TW_REMOVAL_TOUCH_MM)
        return;
    for (int i = 0; i < count; i++)
        note_contact(sweep, TW_CELL_STOCK, row, from + i, (double)stock[i] - (double)floor_mm[i], (double)floor_mm[i]);
}

/* The run is cut already: where the stock is as high as the wheel was, the wheel has been at it. */
static void note_below_limit(struct tw_sweep *sweep, int row, int from, const float *floor_mm, int count)
{
    size_t at = removal_index(sweep->field, row, from);
    const float *stock_mm = sweep->field->stock_mm + at, *limit_mm = sweep->field->limit_mm + at;

    for (int i = 0; i < count; i++)
        if (stock_mm[i] == floor_mm[i])
            note_contact(sweep, TW_CELL_TARGET, row, from + i, (double)limit_mm[i] - (double)floor_mm[i],
                         (double)floor_mm[i]);
}

static void note_cells(struct removal_cells *cells, int row, int first, int last)
{
    cells->row_from = row < cells->row_from ? row : cells->row_from;
    cells->row_to = row > cells->row_to ? row : cells->row_to;
    cells->column_from = first < cells->column_from ? first : cells->column_from;
    cells->column_to = last > cells->column_to ? last : cells->column_to;
}

static void use_slots(struct removal_set *set, int from, int to)
{
    set->from = from < set->from ? from : set->from;
    set->to = to > set->to ? to : set->to;
}

static const float *above_bottom(struct tw_sweep *sweep, const float *floor_mm, int count, double low_mm)
{
    float bottom_mm = (float)sweep->field->bottom_mm;

    if (low_mm >= sweep->field->bottom_mm)
        return floor_mm;
    for (int i = 0; i < count; i++)
        sweep->clamped_mm[i] = floor_mm[i] > bottom_mm ? floor_mm[i] : bottom_mm;
    return sweep->clamped_mm;
}

/* Cells first..end-1 of one row under floor_mm[0..], with nothing known to be lower among them. */
static void cut_run(struct tw_sweep *sweep, int row, int first, int end, const float *floor_mm, struct removal_set *set,
                    int slot)
{
    struct tw_field *field = sweep->field;
    size_t at = removal_index(field, row, first);
    struct removal_run run;

    use_slots(set, slot, slot + end - first);
    run = removal_cut(field->stock_mm + at, floor_mm, field->limit_mm ? field->limit_mm + at : NULL, end - first,
                      &set->slots, slot);
    if (run.cut) {
        sweep->cut = true;
        note_cells(&sweep->lowered, row, first, end - 1);
    }
    if (run.first <= run.last)
        note_cells(&sweep->touched, row, first + run.first, first + run.last);
    if ((double)run.below_limit_mm > TW_REMOVAL_TOUCH_MM)
        note_below_limit(sweep, row, first, floor_mm, end - first);
}

/* The floors of a run rise or fall all along under a ring, and stand highest at its ends under a disc. */
static float lowest_of(const struct tw_sweep *sweep, const struct removal_part *part, const float *floor_mm, int count)
{
    if (part->round)
        return (float)(sweep->low_mm + part->lift_mm);
    return floor_mm[0] < floor_mm[count - 1] ? floor_mm[0] : floor_mm[count - 1];
}

static bool is_whole_tile(const struct tw_field *field, int from, int to)
{
    return from % REMOVAL_TILE == 0 && (to % REMOVAL_TILE == 0 || to == field->columns);
}

/* No cell of the run's whole tiles stands higher now than the higher of its floors at the tile's ends. */
static void lower_tiles(struct tw_field *field, int row, int first, int end, const float *floor_mm)
{
    float *tiles = removal_stock_tiles(field, row);

    for (int column = first, next; column < end; column = next) {
        float a = floor_mm[column - first], b, *tile = &tiles[column / REMOVAL_TILE];

        next = removal_tile_end(column, end);
        b = floor_mm[next - 1 - first];
        a = a > b ? a : b;
        if (is_whole_tile(field, column, next) && *tile > a)
            *tile = a;
    }
}

/* From the first tile that may stand above the wheel's lowest height over it, up to the next that does not. */
static void cut_tiles(struct tw_sweep *sweep, const struct removal_part *part, int row, int first, int end,
                      const float *floor_mm, struct removal_set *set, int slot)
{
    struct tw_field *field = sweep->field;
    const float *tiles = removal_stock_tiles(field, row);
    int from = end;

    for (int column = first, next; column < end; column = next) {
        bool stands;

        next = removal_tile_end(column, end);
        stands = tiles[column / REMOVAL_TILE] > lowest_of(sweep, part, floor_mm + (column - first), next - column);
        if (stands && from == end)
            from = column;
        if (from < end && (!stands || next == end)) {
            int to = stands ? next : column;

            cut_run(sweep, row, from, to, floor_mm + (from - first), set, slot + (from - first));
            lower_tiles(field, row, from, to, floor_mm + (from - first));
            from = end;
        }
    }
}

void removal_run(struct tw_sweep *sweep, const struct removal_part *part, int row, int from, int to, bool whole,
                 struct removal_set *set, int slot)
{
    struct tw_field *field = sweep->field;
    int first = from > field->stock_from[row] ? from : field->stock_from[row];
    int end = to < field->stock_to[row] ? to : field->stock_to[row];
    const float *floor_mm;

    if (whole && from < to)
        touch_keep_out(sweep, part, row, from, to);
    if (first >= end || sweep->low_mm + part->lift_mm >= field->stock_high_mm)
        return;
    floor_mm = sweep->floor_mm + (first - from);
    if (!part->cuts && whole)
        touch_stock(sweep, row, first, floor_mm, end - first);
    if (!part->cuts || sweep->probing)
        return;
    floor_mm = above_bottom(sweep, floor_mm, end - first, sweep->low_mm + part->lift_mm);
    cut_tiles(sweep, part, row, first, end, floor_mm, set, slot + (first - from));
}

int removal_next_standing(struct tw_field *field, int row, int from, int to, float low_mm)
{
    const float *stock_mm = field->stock_mm + removal_index(field, row, 0);
    const float *keep_mm = removal_keep(field, row), *keep_tiles = removal_keep_tiles(field, row);
    float *stock_tiles = removal_stock_tiles(field, row);

    for (int column = from, next; column < to; column = next) {
        int tile = column / REMOVAL_TILE, found;

        next = removal_tile_end(column, to);
        if (stock_tiles[tile] <= low_mm && keep_tiles[tile] <= low_mm)
            continue;
        found = removal_next_above(stock_tiles[tile] > low_mm ? stock_mm : keep_mm,
                                   keep_tiles[tile] > low_mm ? keep_mm : stock_mm, column, next, low_mm);
        if (found < next)
            return found;
        if (is_whole_tile(field, column, next) && stock_tiles[tile] > low_mm)
            stock_tiles[tile] = low_mm;
    }
    return to;
}

static void touch_cells(struct tw_sweep *sweep, int row, int column, int cells, const struct removal_visit *visit,
                        const float *tops_mm, bool stock)
{
    const unsigned char *kinds = stock ? NULL : sweep->field->keep_kind + removal_index(sweep->field, row, column);

    for (int i = 0; i < cells; i++)
        if (visit->slot[i] >= 0 && (double)tops_mm[i] - visit->floor_mm[i] > TW_REMOVAL_TOUCH_MM)
            note_contact(sweep, stock ? TW_CELL_STOCK : kinds[i], row, column + i,
                         (double)tops_mm[i] - visit->floor_mm[i], visit->floor_mm[i]);
}

/* One cell into its slot; true: deeper than by rounding. */
static bool cut_cell(const struct removal_slots *slots, int slot, float cut_mm)
{
    bool touched = (double)cut_mm > TW_REMOVAL_TOUCH_MM;

    slots->sum_mm[slot] += cut_mm;
    if (cut_mm > slots->depth_mm[slot])
        slots->depth_mm[slot] = cut_mm;
    if (touched)
        slots->cells[slot] += 1.0F;
    return touched;
}

static void cut_cells(struct tw_sweep *sweep, int row, int column, int cells, float low_mm,
                      const struct removal_visit *visit)
{
    struct tw_field *field = sweep->field;
    size_t at = removal_index(field, row, column);
    float *const stock_mm = field->stock_mm + at, *const limit_mm = field->limit_mm ? field->limit_mm + at : NULL;
    const struct removal_slots slots = visit->set->slots;
    const double bottom_mm = field->bottom_mm;
    int lowered = 0, first = cells, last = -1, slot_from = visit->set->from, slot_to = visit->set->to;

    for (int i = 0; i < cells; i++) {
        int slot = visit->slot[i];
        float floor, cut_mm;

        if (slot < 0 || !(stock_mm[i] > low_mm))
            continue;
        floor = (float)removal_larger(visit->floor_mm[i], bottom_mm);
        cut_mm = stock_mm[i] - floor;
        if (!(cut_mm > 0.0F))
            continue;
        stock_mm[i] = floor;
        lowered++;
        slot_from = slot < slot_from ? slot : slot_from;
        slot_to = slot >= slot_to ? slot + 1 : slot_to;
        if (cut_cell(&slots, slot, cut_mm)) {
            first = i < first ? i : first;
            last = i;
        }
        if (limit_mm && limit_mm[i] > floor)
            note_contact(sweep, TW_CELL_TARGET, row, column + i, (double)limit_mm[i] - (double)floor, (double)floor);
    }
    visit->set->from = slot_from;
    visit->set->to = slot_to;
    if (lowered > 0) {
        sweep->cut = true;
        note_cells(&sweep->lowered, row, column, column + cells - 1);
    }
    if (first <= last)
        note_cells(&sweep->touched, row, column + first, column + last);
}

void removal_visit(struct tw_sweep *sweep, const struct removal_part *part, int row, int column, int cells,
                   float low_mm, const struct removal_visit *visit)
{
    const struct tw_field *field = sweep->field;
    size_t at = removal_index(field, row, column);

    if (visit->whole && (double)low_mm < field->keep_high_mm)
        touch_cells(sweep, row, column, cells, visit, field->keep_mm + at, false);
    if (visit->whole && !part->cuts)
        touch_cells(sweep, row, column, cells, visit, field->stock_mm + at, true);
    if (part->cuts && !sweep->probing)
        cut_cells(sweep, row, column, cells, low_mm, visit);
}

/* The first of the cells from..to-1 above low_mm, by what is known of their tiles. */
static int next_above(const float *tops_mm, const float *tiles_mm, int from, int to, float low_mm)
{
    for (int column = from, next; column < to; column = next) {
        int found;

        next = removal_tile_end(column, to);
        if (tiles_mm[column / REMOVAL_TILE] <= low_mm)
            continue;
        found = removal_next_above(tops_mm, tops_mm, column, next, low_mm);
        if (found < next)
            return found;
    }
    return to;
}

/* Whatever the flat part of the wheel went into, of the stock or of what must not be touched. */
static void touch_level(struct tw_sweep *sweep, int row, int from, int to, bool stock, double floor_mm)
{
    const struct tw_field *field = sweep->field;
    const float *tops_mm = (stock ? field->stock_mm : field->keep_mm) + removal_index(field, row, 0);
    const float *tiles_mm = stock ? removal_stock_tiles(field, row) : removal_keep_tiles(field, row);
    float low_mm = (float)floor_mm;

    for (int column = from; (column = next_above(tops_mm, tiles_mm, column, to, low_mm)) < to; column++)
        note_contact(sweep, stock ? TW_CELL_STOCK : field->keep_kind[removal_index(field, row, column)], row, column,
                     (double)tops_mm[column] - floor_mm, floor_mm);
}

/* Adds to the slot one cell after the other: what is added up in another order is another float. */
static void cut_level(struct tw_sweep *sweep, int row, int from, int to, float floor_mm, struct removal_set *set,
                      int slot)
{
    struct tw_field *field = sweep->field;
    size_t at = removal_index(field, row, 0);
    float *stock_mm = field->stock_mm + at, *const limit_mm = field->limit_mm ? field->limit_mm + at : NULL;
    float *tiles_mm = removal_stock_tiles(field, row);
    float sum_mm = set->slots.sum_mm[slot], depth_mm = set->slots.depth_mm[slot], cells = set->slots.cells[slot];
    int first = to, last = from - 1;

    for (int column = from; (column = next_above(stock_mm, tiles_mm, column, to, floor_mm)) < to;) {
        for (; column < to && stock_mm[column] > floor_mm; column++) {
            float cut_mm = stock_mm[column] - floor_mm;

            stock_mm[column] = floor_mm;
            sum_mm += cut_mm;
            depth_mm = cut_mm > depth_mm ? cut_mm : depth_mm;
            if ((double)cut_mm > TW_REMOVAL_TOUCH_MM) {
                cells += 1.0F;
                first = column < first ? column : first;
                last = column;
            }
            if (limit_mm && limit_mm[column] > floor_mm)
                note_contact(sweep, TW_CELL_TARGET, row, column, (double)limit_mm[column] - (double)floor_mm,
                             (double)floor_mm);
        }
        sweep->cut = true;
        use_slots(set, slot, slot + 1);
        note_cells(&sweep->lowered, row, from, column - 1);
    }
    set->slots.sum_mm[slot] = sum_mm;
    set->slots.depth_mm[slot] = depth_mm;
    set->slots.cells[slot] = cells;
    if (first <= last)
        note_cells(&sweep->touched, row, first, last);
    for (int column = from, next; column < to; column = next) {
        next = removal_tile_end(column, to);
        if (is_whole_tile(field, column, next) && tiles_mm[column / REMOVAL_TILE] > floor_mm)
            tiles_mm[column / REMOVAL_TILE] = floor_mm;
    }
}

void removal_level(struct tw_sweep *sweep, const struct removal_part *part, int row, int from, int to, double floor_mm,
                   bool whole, struct removal_set *set, int slot)
{
    const struct tw_field *field = sweep->field;

    if (whole && floor_mm < field->keep_high_mm)
        touch_level(sweep, row, from, to, false, floor_mm);
    if (whole && !part->cuts)
        touch_level(sweep, row, from, to, true, floor_mm);
    if (part->cuts && !sweep->probing)
        cut_level(sweep, row, from, to, (float)removal_larger(floor_mm, field->bottom_mm), set, slot);
}
