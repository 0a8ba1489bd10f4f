/* survey.c - the table of measured heights: every column is one row of `columns` below. */
#include "tangwright/survey.h"

#include "base/cells.h"
#include "base/file.h"
#include "base/memory.h"
#include "base/nearest.h"
#include "base/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Nearer than this along x, two readings stand at the same place. */
#define SAME_PLACE_MM     1e-6
#define TANG_PLACES_LEAST 3

enum column_id { COLUMN_X, COLUMN_Y, COLUMN_A, COLUMN_B, COLUMN_THICKNESS, COLUMN_BOW, COLUMN_COUNT };

static const struct column {
    const char *name;
    double least_mm, most_mm;
    const char *example;
} columns[COLUMN_COUNT] = {
    [COLUMN_X] = { "x", -1000, 1000, "x [mm]" },
    [COLUMN_Y] = { "y", -200, 200, "y [mm]" },
    [COLUMN_A] = { "a", -100, 100, "a [mm]" },
    [COLUMN_B] = { "b", -100, 100, "b [mm]" },
    [COLUMN_THICKNESS] = { "thickness", 0.1, 50, "thickness [mm]" },
    [COLUMN_BOW] = { "bow", -100, 100, "bow [mm]" },
};

struct sheet {
    struct cells_reader reader;
    struct tw_findings *findings;
    int order[CELLS_MOST]; /* column_id of each cell, as the heading has them */
    size_t width;
    const struct tw_unit *units[COLUMN_COUNT]; /* of the heading; NULL: the cells carry their own */
    unsigned present;                          /* columns of the heading, by bit */
    struct tw_survey *out;
    size_t capacity;
    bool faulty;
};

static bool has(const struct sheet *sheet, enum column_id id)
{
    return (sheet->present >> id) & 1u;
}

static struct tw_place here(const struct sheet *sheet, int line)
{
    return (struct tw_place){ .file = sheet->reader.path, .line = line };
}

/* Reports the complaint, which is released, and marks the sheet. */
static void fault(struct sheet *sheet, int line, struct tw_text *complaint)
{
    sheet->faulty = true;
    if (complaint->failed)
        tw_no_memory(sheet->findings);
    else
        tw_fail(sheet->findings, TW_BAD_INPUT, here(sheet, line), "%s", complaint->data);
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
                  "%s the first line names the columns with their units: x [mm], a [mm], b [mm], or "
                  "x [mm], thickness [mm], bow [mm], and y [mm] where twist is measured",
                  nearest.name ? " In any case" : ";");
    fault(sheet, line, &text);
}

static void complain_of_unit(struct sheet *sheet, int line, const char *name, const char *unit)
{
    struct tw_text text = { 0 };

    tw_text_print(&text, "the column %s has the unknown unit \"%s\"; allowed are ", name, unit);
    tw_quantity_units(TW_LENGTH, &text);
    fault(sheet, line, &text);
}

static void read_heading_cell(struct sheet *sheet, int line, char *cell)
{
    struct tw_text text = { 0 };
    const char *unit = cells_part_unit(cell);
    int id = 0;

    while (id < COLUMN_COUNT && strcmp(columns[id].name, cell) != 0)
        id++;
    sheet->order[sheet->width++] = id;
    if (id == COLUMN_COUNT) {
        complain_of_column(sheet, line, cell);
        return;
    }
    if (has(sheet, (enum column_id)id)) {
        tw_text_print(&text, "the column %s is named twice; keep one of them", cell);
        fault(sheet, line, &text);
        return;
    }
    sheet->present |= 1u << id;
    if (unit && !(sheet->units[id] = tw_unit_find(unit, TW_LENGTH)))
        complain_of_unit(sheet, line, cell, unit);
}

static void require_columns(struct sheet *sheet, int line)
{
    struct tw_text text = { 0 };
    bool heights = has(sheet, COLUMN_A) || has(sheet, COLUMN_B);
    bool measured = has(sheet, COLUMN_THICKNESS) || has(sheet, COLUMN_BOW);
    int lacking = COLUMN_COUNT;

    if (!has(sheet, COLUMN_X))
        lacking = COLUMN_X;
    else if (heights && measured)
        tw_text_print(&text,
                      "the heading names heights (a, b) and thickness or bow: keep a and b, or thickness and bow");
    else if (measured)
        lacking = !has(sheet, COLUMN_THICKNESS) ? COLUMN_THICKNESS
                  : !has(sheet, COLUMN_BOW)     ? COLUMN_BOW
                                                : COLUMN_COUNT;
    else
        lacking = !has(sheet, COLUMN_A) ? COLUMN_A : !has(sheet, COLUMN_B) ? COLUMN_B : COLUMN_COUNT;
    if (lacking != COLUMN_COUNT)
        tw_text_print(&text, "the column %s is missing from the heading; write for example %s", columns[lacking].name,
                      measured ? "x [mm], thickness [mm], bow [mm]" : "x [mm], a [mm], b [mm]");
    if (text.length || text.failed)
        fault(sheet, line, &text);
}

static void read_heading(struct sheet *sheet, const struct cells *cells)
{
    for (size_t i = 0; i < cells->count && !sheet->faulty; i++)
        read_heading_cell(sheet, cells->line, cells->text[i]);
    if (!sheet->faulty)
        require_columns(sheet, cells->line);
}

/* ---- rows ---- */

static bool read_length(struct sheet *sheet, int id, const char *seen, double *out_mm, struct tw_text *detail)
{
    const struct column *column = &columns[id];
    struct tw_measure measure;

    if (!*seen) {
        tw_text_print(detail, "the cell is empty; a length stands here, such as 0.12 mm");
        return false;
    }
    if (tw_is_bare_number(seen) && !sheet->units[id]) {
        tw_text_print(detail, "%s is a bare number; name the unit in the heading, %s, or in the cell, \"%s mm\"", seen,
                      column->example, seen);
        return false;
    }
    if (!tw_measure_read_in(sheet->units[id], seen, TW_LENGTH, "mm", &measure, detail))
        return false;
    if (measure.value >= column->least_mm && measure.value <= column->most_mm) {
        *out_mm = measure.value;
        return true;
    }
    tw_text_print(detail, "%s%s%s is out of range: %.6g %s to %.6g %s is allowed", seen,
                  tw_is_bare_number(seen) ? " " : "", tw_is_bare_number(seen) ? measure.unit->name : "",
                  tw_unit_from_inside(measure.unit, column->least_mm), measure.unit->name,
                  tw_unit_from_inside(measure.unit, column->most_mm), measure.unit->name);
    return false;
}

static void complain_of_cell(struct sheet *sheet, int line, int id, struct tw_text *detail)
{
    struct tw_text text = { 0 };

    if (!detail->failed)
        tw_text_print(&text, "%s: %s", columns[id].name, detail->data);
    text.failed = text.failed || detail->failed;
    tw_text_free(detail);
    fault(sheet, line, &text);
}

static void add_row(struct sheet *sheet, int line, const double values_mm[COLUMN_COUNT])
{
    struct tw_survey *survey = sheet->out;
    double half_mm = values_mm[COLUMN_THICKNESS] / 2.0;
    struct tw_survey_row row = { .x_mm = values_mm[COLUMN_X], .y_mm = values_mm[COLUMN_Y], .line = line };

    row.a_mm = survey->thickness_known ? half_mm + values_mm[COLUMN_BOW] : values_mm[COLUMN_A];
    row.b_mm = survey->thickness_known ? half_mm - values_mm[COLUMN_BOW] : values_mm[COLUMN_B];
    if (!tw_grow((void **)&survey->rows, &sheet->capacity, survey->count + 1, sizeof row)) {
        tw_no_memory(sheet->findings);
        sheet->faulty = true;
        return;
    }
    survey->rows[survey->count++] = row;
}

static void read_row(struct sheet *sheet, const struct cells *cells)
{
    double values_mm[COLUMN_COUNT] = { 0 };
    struct tw_text text = { 0 };
    bool sound = true;

    if (cells->count != sheet->width) {
        tw_text_print(&text, "holds %zu cells, but the heading has %zu; every row gives every column", cells->count,
                      sheet->width);
        fault(sheet, cells->line, &text);
        return;
    }
    for (size_t i = 0; i < cells->count; i++) {
        struct tw_text detail = { 0 };

        if (read_length(sheet, sheet->order[i], cells->text[i], &values_mm[sheet->order[i]], &detail))
            continue;
        complain_of_cell(sheet, cells->line, sheet->order[i], &detail);
        sound = false;
    }
    if (sound)
        add_row(sheet, cells->line, values_mm);
}

/* ---- the whole table ---- */

static int by_place(const void *one, const void *other)
{
    const struct tw_survey_row *a = one, *b = other;

    if (a->x_mm != b->x_mm)
        return a->x_mm < b->x_mm ? -1 : 1;
    return a->y_mm < b->y_mm ? -1 : a->y_mm > b->y_mm;
}

static void refuse_doubles(struct sheet *sheet)
{
    const struct tw_survey *survey = sheet->out;

    for (size_t i = 1; i < survey->count; i++) {
        const struct tw_survey_row *before = &survey->rows[i - 1], *row = &survey->rows[i];
        struct tw_text text = { 0 };

        if (row->x_mm - before->x_mm > SAME_PLACE_MM || row->y_mm - before->y_mm > SAME_PLACE_MM)
            continue;
        tw_text_print(&text, "x = %.6g mm%s was measured already, on line %d; keep one row, or their mean", row->x_mm,
                      survey->across ? " at this y" : "", before->line < row->line ? before->line : row->line);
        fault(sheet, before->line < row->line ? row->line : before->line, &text);
    }
}

static void refuse_too_few(struct sheet *sheet)
{
    const struct tw_survey *survey = sheet->out;
    size_t ricasso = 0, tang = 0;
    struct tw_text text = { 0 };

    for (size_t i = 0; i < survey->count; i++) {
        bool new_place = i == 0 || survey->rows[i].x_mm - survey->rows[i - 1].x_mm > SAME_PLACE_MM;

        *(survey->rows[i].x_mm < 0.0 ? &ricasso : &tang) += new_place;
    }
    if (ricasso == 0)
        tw_text_print(&text,
                      "no row stands on the ricasso; measure there too, at x below 0: all else is measured from it");
    else if (ricasso == 1 && survey->reference == TW_REFERENCE_RICASSO)
        tw_text_print(&text,
                      "all rows on the ricasso stand at one x, so they give no direction; measure at two or more, "
                      "or write reference = \"plate\"; if it lay flat on the plate");
    else if (tang < TANG_PLACES_LEAST)
        tw_text_print(&text, "only %zu place%s along the tang (x of 0 and more); measure at %d or more, up to the butt",
                      tang, tang == 1 ? "" : "s", TANG_PLACES_LEAST);
    if (text.length || text.failed)
        fault(sheet, 0, &text);
}

/* One line that says something; false when the rest is not worth reading. */
static bool take_line(struct sheet *sheet, const struct cells *cells)
{
    struct tw_text text = { 0 };

    if (sheet->width == 0) {
        read_heading(sheet, cells);
        sheet->out->thickness_known = has(sheet, COLUMN_THICKNESS);
        sheet->out->across = has(sheet, COLUMN_Y);
        return !sheet->faulty; /* rows without a heading would only add noise */
    }
    if (sheet->out->count < TW_SURVEY_ROWS_MOST) {
        read_row(sheet, cells);
        return true;
    }
    tw_text_print(&text, "more than %d rows; a survey needs a place every few millimetres", TW_SURVEY_ROWS_MOST);
    fault(sheet, cells->line, &text);
    return false;
}

static void read_lines(struct sheet *sheet)
{
    struct cells cells;

    for (;;) {
        if (cells_next(&sheet->reader, &cells, sheet->findings) != TW_OK)
            sheet->faulty = true;
        else if (cells.count == 0 || !take_line(sheet, &cells))
            return;
    }
}

static void read_sheet(struct sheet *sheet)
{
    struct tw_text text = { 0 };

    read_lines(sheet);
    if (sheet->faulty)
        return;
    if (sheet->width == 0) {
        tw_text_print(&text, "holds no table; the first line names the columns, such as x [mm], a [mm], b [mm]");
        fault(sheet, 0, &text);
        return;
    }
    if (sheet->out->count > 0)
        qsort(sheet->out->rows, sheet->out->count, sizeof *sheet->out->rows, by_place);
    refuse_doubles(sheet);
    if (!sheet->faulty)
        refuse_too_few(sheet);
}

static void drop_rows(struct tw_survey *survey)
{
    free(survey->rows);
    survey->rows = NULL;
    survey->count = 0;
}

/* The rows of `path`; faults go to the list, whose status is the answer. */
static void read_rows(const char *path, struct tw_survey *out, struct tw_findings *findings)
{
    struct sheet sheet = { .findings = findings, .out = out };
    struct tw_text text = { 0 };

    if (tw_file_read(path, &text, findings) == TW_OK) {
        cells_open(&sheet.reader, path, text.data, text.length);
        read_sheet(&sheet);
    }
    tw_text_free(&text);
}

enum tw_status tw_survey_read(const char *path, struct tw_survey *out, struct tw_findings *findings)
{
    struct tw_findings own = { 0 };
    char *copy = tw_copy_string(path);
    enum tw_status status;

    drop_rows(out);
    if (copy)
        read_rows(path, out, &own);
    else
        tw_no_memory(&own);
    status = tw_findings_status(&own);
    if (status == TW_OK) {
        free(out->path);
        out->path = copy;
        copy = NULL;
    } else {
        drop_rows(out);
    }
    free(copy);
    tw_findings_append(findings, &own);
    return status;
}

void tw_survey_turn_over(struct tw_survey *survey)
{
    for (size_t i = 0; i < survey->count; i++)
        survey->rows[i].y_mm = 0.0 - survey->rows[i].y_mm;
    if (survey->count > 0)
        qsort(survey->rows, survey->count, sizeof *survey->rows, by_place);
}

void tw_survey_free(struct tw_survey *survey)
{
    free(survey->path);
    drop_rows(survey);
    survey->path = NULL;
}
