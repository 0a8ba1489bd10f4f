/* gaugings.c - the table of measured thicknesses: every column is one row of `columns` below. */
#include "tangwright/gauge.h"

#include "base/cells.h"
#include "base/memory.h"
#include "base/nearest.h"
#include "base/units.h"

#include <stdlib.h>
#include <string.h>

enum column_id { COLUMN_PART, COLUMN_STATION, COLUMN_X, COLUMN_Y, COLUMN_THICKNESS, COLUMN_COUNT };

static const struct column {
    const char *name;
    bool needed;
    double least_mm, most_mm; /* of a length */
    const char *example;
} columns[COLUMN_COUNT] = {
    [COLUMN_PART] = { "part", true, 0, 0, "7" },
    [COLUMN_STATION] = { "station", false, 0, 0, "2" },
    [COLUMN_X] = { "x", true, -50, 1000, "40 mm" },
    [COLUMN_Y] = { "y", false, -200, 200, "-8 mm" },
    [COLUMN_THICKNESS] = { "thickness", true, 0.1, 50, "2.604 mm" },
};

struct sheet {
    struct cells_reader reader;
    struct tw_findings *findings;
    int order[CELLS_MOST]; /* column_id of each cell, as the heading has them */
    size_t width;
    const struct tw_unit *units[COLUMN_COUNT]; /* of the heading; NULL: the cells carry their own */
    struct tw_gaugings *out;
    size_t capacity;
    bool faulty;
};

static bool has(const struct sheet *sheet, enum column_id id)
{
    for (size_t i = 0; i < sheet->width; i++)
        if (sheet->order[i] == (int)id)
            return true;
    return false;
}

/* Reports the complaint, which is released, and marks the sheet. */
static void fault(struct sheet *sheet, int line, const char *key, struct tw_text *complaint)
{
    struct tw_place at = { .file = sheet->reader.path, .line = line, .key = key };

    sheet->faulty = true;
    if (complaint->failed)
        tw_no_memory(sheet->findings);
    else
        tw_fail(sheet->findings, TW_BAD_INPUT, at, "%s", complaint->data);
    tw_text_free(complaint);
}

/* ---- the heading ---- */

static void complain_of_column(struct sheet *sheet, int line, const char *name)
{
    struct tw_nearest nearest = tw_nearest_to(name);
    struct tw_text text = { 0 };

    for (int i = 0; i < COLUMN_COUNT; i++)
        tw_nearest_offer(&nearest, columns[i].name);
    tw_text_print(&text, "\"%s\" is no known column", name);
    if (nearest.name)
        tw_text_print(&text, "; did you mean %s?", nearest.name);
    tw_text_print(&text,
                  "%s the first line names the columns: part, x, thickness, and station and y where they are told",
                  nearest.name ? " In any case" : ";");
    fault(sheet, line, NULL, &text);
}

static bool is_length(int id)
{
    return columns[id].most_mm > columns[id].least_mm;
}

static void complain_of_unit(struct sheet *sheet, int line, int id, const char *unit)
{
    struct tw_text text = { 0 };

    tw_text_print(&text, "the column %s ", columns[id].name);
    if (is_length(id)) {
        tw_text_print(&text, "has the unknown unit \"%s\"; allowed are ", unit);
        tw_quantity_units(TW_LENGTH, &text);
    } else {
        tw_text_print(&text, "has no unit, but here stands \"%s\"; write %s", unit, columns[id].name);
    }
    fault(sheet, line, NULL, &text);
}

static void read_heading_cell(struct sheet *sheet, int line, char *cell)
{
    struct tw_text text = { 0 };
    const char *unit = cells_part_unit(cell);
    int id = 0;

    while (id < COLUMN_COUNT && strcmp(columns[id].name, cell) != 0)
        id++;
    if (id == COLUMN_COUNT) {
        complain_of_column(sheet, line, cell);
    } else if (has(sheet, (enum column_id)id)) {
        tw_text_print(&text, "the column %s is named twice; keep one of them", cell);
        fault(sheet, line, NULL, &text);
    } else if (unit) {
        sheet->units[id] = is_length(id) ? tw_unit_find(unit, TW_LENGTH) : NULL;
        if (!sheet->units[id])
            complain_of_unit(sheet, line, id, unit);
    }
    sheet->order[sheet->width++] = id;
}

static bool read_heading(void *table, const struct cells *cells)
{
    struct sheet *sheet = table;

    for (size_t i = 0; i < cells->count && !sheet->faulty; i++)
        read_heading_cell(sheet, cells->line, cells->text[i]);
    for (int id = 0; id < COLUMN_COUNT && !sheet->faulty; id++) {
        struct tw_text text = { 0 };

        if (!columns[id].needed || has(sheet, (enum column_id)id))
            continue;
        tw_text_print(&text, "the column %s is missing; every reading needs it, such as %s", columns[id].name,
                      columns[id].example);
        fault(sheet, cells->line, NULL, &text);
    }
    sheet->out->has_y = has(sheet, COLUMN_Y);
    sheet->out->has_station = has(sheet, COLUMN_STATION);
    return !sheet->faulty;
}

/* ---- rows ---- */

static bool read_length(const struct sheet *sheet, enum column_id id, const char *seen, double *out_mm,
                        struct tw_text *complaint)
{
    struct tw_measure measure;

    if (!tw_measure_read_in(sheet->units[id], seen, TW_LENGTH, "mm", &measure, complaint))
        return false;
    if (measure.value < columns[id].least_mm || measure.value > columns[id].most_mm) {
        tw_text_print(complaint, "\"%s\" is out of range: %g mm to %g mm is allowed", seen, columns[id].least_mm,
                      columns[id].most_mm);
        return false;
    }
    *out_mm = measure.value;
    return true;
}

static bool read_station(const char *seen, int *out, struct tw_text *complaint)
{
    if (seen[0] >= '1' && seen[0] <= '0' + TW_GAUGE_STATIONS && seen[1] == '\0') {
        *out = seen[0] - '0';
        return true;
    }
    tw_text_print(complaint, "\"%s\" is no number of a station, 1 to %d", seen, TW_GAUGE_STATIONS);
    return false;
}

static bool read_part(const char *seen, char out[TW_GAUGE_PART_BYTES], struct tw_text *complaint)
{
    if (strlen(seen) < TW_GAUGE_PART_BYTES) {
        strcpy(out, seen);
        return true;
    }
    tw_text_print(complaint, "a part's name has %d letters at the most", TW_GAUGE_PART_BYTES - 1);
    return false;
}

static bool read_cell(const struct sheet *sheet, enum column_id id, const char *seen, struct tw_gauging *out,
                      struct tw_text *complaint)
{
    if (!*seen) {
        tw_text_print(complaint, "is empty; write for example %s", columns[id].example);
        return false;
    }
    switch (id) {
    case COLUMN_PART:
        return read_part(seen, out->part, complaint);
    case COLUMN_STATION:
        return read_station(seen, &out->station, complaint);
    case COLUMN_X:
        return read_length(sheet, id, seen, &out->x_mm, complaint);
    case COLUMN_Y:
        return read_length(sheet, id, seen, &out->y_mm, complaint);
    default:
        return read_length(sheet, id, seen, &out->thickness_mm, complaint);
    }
}

static void add(struct sheet *sheet, const struct tw_gauging *gauging)
{
    struct tw_gaugings *out = sheet->out;
    struct tw_text text = { 0 };

    if (out->count == TW_GAUGINGS_MOST) {
        tw_text_print(&text, "is reading %d of the file; at most %d are allowed", TW_GAUGINGS_MOST + 1,
                      TW_GAUGINGS_MOST);
        fault(sheet, gauging->line, NULL, &text);
        sheet->reader.at = sheet->reader.end;
    } else if (!tw_grow((void **)&out->items, &sheet->capacity, out->count + 1, sizeof *out->items)) {
        sheet->faulty = true;
        tw_no_memory(sheet->findings);
    } else {
        out->items[out->count++] = *gauging;
    }
}

static void read_row(void *table, const struct cells *cells)
{
    struct sheet *sheet = table;
    struct tw_gauging gauging = { .line = cells->line };
    struct tw_text text = { 0 };
    bool sound = true;

    if (cells->count != sheet->width) {
        if (cells->count > sheet->width)
            cells_print_surplus(&sheet->reader, cells, sheet->width, &text);
        else
            tw_text_print(&text, "holds %zu cells, but the heading names %zu columns", cells->count, sheet->width);
        fault(sheet, cells->line, NULL, &text);
        return;
    }
    for (size_t i = 0; i < cells->count; i++) {
        enum column_id id = (enum column_id)sheet->order[i];

        if (read_cell(sheet, id, cells->text[i], &gauging, &text))
            continue;
        fault(sheet, cells->line, columns[id].name, &text);
        sound = false;
    }
    if (sound)
        add(sheet, &gauging);
}

static void read_sheet(void *table, struct tw_findings *own)
{
    static const struct cells_use use = { read_heading, read_row };
    struct sheet *sheet = table;
    struct tw_text text = { 0 };

    sheet->findings = own;
    if (!cells_each(&sheet->reader, &use, sheet, own) || sheet->faulty || sheet->out->count > 0)
        return;
    tw_text_print(&text, "holds no readings; the first line names the columns part, x and thickness, each further "
                         "line is one reading");
    fault(sheet, 0, NULL, &text);
}

enum tw_status tw_gaugings_read(const char *path, struct tw_gaugings *out, struct tw_findings *findings)
{
    struct sheet sheet = { .out = out };
    enum tw_status status;

    *out = (struct tw_gaugings){ .path = tw_copy_string(path) };
    if (!out->path)
        return tw_no_memory(findings);
    status = cells_read_file(path, &sheet.reader, read_sheet, &sheet, findings);
    if (status != TW_OK)
        tw_gaugings_free(out);
    return status;
}

void tw_gaugings_free(struct tw_gaugings *gaugings)
{
    free(gaugings->path);
    free(gaugings->items);
    *gaugings = (struct tw_gaugings){ 0 };
}
