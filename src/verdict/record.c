/* record.c - what a program did to the first part. */
#include "verdict/record.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

enum tw_status tw_record_pass(struct tw_proof_record *record, struct tw_proof_pass pass, struct tw_findings *findings)
{
    if (!tw_grow((void **)&record->passes, &record->pass_capacity, record->pass_count + 1, sizeof *record->passes))
        return tw_no_memory(findings);
    record->passes[record->pass_count++] = pass;
    return TW_OK;
}

static bool open_map(struct tw_proof_map *map, double x_mm, double y_mm, double cell_mm, int columns, int rows)
{
    size_t cells = (size_t)columns * (size_t)rows;

    *map = (struct tw_proof_map){ x_mm, y_mm, cell_mm, columns, rows, malloc((cells + 1) * sizeof *map->values) };
    for (size_t i = 0; map->values && i < cells; i++)
        map->values[i] = NAN;
    return map->values != NULL;
}

static bool map_hottest(struct tw_proof_map *map, const struct tw_history *history)
{
    struct tw_history_grid grid = tw_history_grid(history);

    if (!open_map(map, grid.x_mm, grid.y_mm, grid.cell_mm, (int)grid.columns, (int)grid.rows))
        return false;
    for (size_t row = 0; row < grid.rows; row++)
        for (size_t column = 0; column < grid.columns; column++)
            map->values[row * grid.columns + column] = (float)tw_history_hottest_degC(history, column, row);
    return true;
}

static void keep_farther(float *value, double off_mm)
{
    if (!(fabs((double)*value) >= fabs(off_mm))) /* NaN too */
        *value = (float)off_mm;
}

/* Of the cells of the field that fall into a cell of the map, the one farthest off. Only what was to be ground. */
static bool map_left(struct tw_proof_map *map, const struct tw_workpiece *workpiece)
{
    const struct tw_field *field = &workpiece->fine;
    double start_mm = tw_workpiece_start_mm(workpiece);
    int pooled = (int)fmax(1.0, floor(TW_RECORD_LEFT_MM / field->cell_mm + 1e-9));
    int columns = (field->columns + pooled - 1) / pooled, rows = (field->rows + pooled - 1) / pooled;

    if (!open_map(map, field->x_mm, field->y_mm, field->cell_mm * pooled, columns, rows))
        return false;
    for (int row = 0; row < field->rows; row++) {
        for (int column = field->stock_from[row]; column < field->stock_to[row]; column++) {
            size_t i = (size_t)row * (size_t)field->columns + (size_t)column;

            if (field->stock_mm[i] > -HUGE_VALF && field->x_mm + (column + 0.5) * field->cell_mm >= start_mm)
                keep_farther(&map->values[(size_t)(row / pooled) * (size_t)columns + (size_t)(column / pooled)],
                             (double)field->stock_mm[i] - (double)field->limit_mm[i]);
        }
    }
    return true;
}

enum tw_status tw_record_maps(struct tw_proof_record *record, const struct tw_workpiece *workpiece,
                              const struct tw_history *history, struct tw_findings *findings)
{
    free(record->hottest_degC.values);
    free(record->left_mm.values);
    record->hottest_degC.values = record->left_mm.values = NULL;
    if (!map_hottest(&record->hottest_degC, history) || !map_left(&record->left_mm, workpiece))
        return tw_no_memory(findings);
    return TW_OK;
}

void tw_record_free(struct tw_proof_record *record)
{
    free(record->passes);
    free(record->hottest_degC.values);
    free(record->left_mm.values);
    *record = (struct tw_proof_record){ 0 };
}
