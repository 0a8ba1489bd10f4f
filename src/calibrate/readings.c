/* readings.c - the table of readings: every column is one row of `columns` below. */
#include "tangwright/calibrate.h"

#include "base/memory.h"
#include "base/nearest.h"
#include "base/units.h"
#include "base/cells.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A power meter and its dial, and the millimetres and speeds behind it: our judgement. */
#define DEFAULT_POWER_UNCERTAINTY 0.05
/* Temper paints and crayons are sold as good to 1 % (common practice, no source); this is that at 500
 * degC. */
#define DEFAULT_MARK_UNCERTAINTY_K 5.0

enum cell_kind { CELL_KIND, CELL_MEASURE, CELL_SHARE, CELL_UNCERTAINTY, CELL_MARK };
enum { POWER = 1 << TW_READING_POWER, MARK = 1 << TW_READING_MARK, BOTH = POWER | MARK };

struct column {
    const char *name;
    enum cell_kind cell;
    enum tw_quantity quantity; /* CELL_MEASURE */
    const char *unit;          /* of least and most */
    double least, most;
    int needed, allowed; /* for which kinds of reading */
    const char *example;
    size_t offset;
};

/* clang-format off */
#define INTO(member) offsetof(struct tw_reading, member)
static const struct column columns[] = {
    { "kind", CELL_KIND, 0, NULL, 0, 0, BOTH, BOTH, "power", INTO(kind) },
    { "depth", CELL_MEASURE, TW_LENGTH, "mm", 0.0001, 2, BOTH, BOTH, "0.01 mm", INTO(depth_mm) },
    { "table_speed", CELL_MEASURE, TW_SPEED, "mm/s", 0.01, 2000, BOTH, BOTH, "20 mm/s", INTO(table_mm_per_s) },
    { "spindle_speed", CELL_MEASURE, TW_ROTATION, "rpm", 1, 100000, 0, BOTH, "5000 rpm", INTO(spindle_rpm) },
    { "width", CELL_MEASURE, TW_LENGTH, "mm", 0.1, 600, POWER, POWER, "12 mm", INTO(width_mm) },
    { "power", CELL_MEASURE, TW_POWER, "W", 0.1, 100000, POWER, POWER, "820 W", INTO(power_W) },
    { "idle_power", CELL_MEASURE, TW_POWER, "W", 0, 100000, POWER, POWER, "310 W", INTO(idle_W) },
    { "efficiency", CELL_SHARE, 0, NULL, 0.1, 1, 0, POWER, "85 %", INTO(efficiency) },
    { "temperature", CELL_MEASURE, TW_TEMPERATURE, "degC", 30, 1400, MARK, MARK, "200 degC", INTO(temperature_degC) },
    { "reached", CELL_MARK, 0, NULL, 0, 0, MARK, MARK, "yes", INTO(mark) },
    { "start_temperature", CELL_MEASURE, TW_TEMPERATURE, "degC", -50, 400, 0, MARK, "22 degC", INTO(start_degC) },
    { "thickness", CELL_MEASURE, TW_LENGTH, "mm", 0.5, 500, 0, MARK, "3 mm", INTO(thickness_mm) },
    { "uncertainty", CELL_UNCERTAINTY, 0, NULL, 0, 0, 0, BOTH, "5 %", 0 },
};
/* clang-format on */

#define COLUMN_COUNT (sizeof columns / sizeof *columns)
_Static_assert(COLUMN_COUNT <= CELLS_MOST, "a heading that names every column fits");
_Static_assert(sizeof(enum tw_mark) == sizeof(int), "a mark is stored like an int");

static const char *const kind_words[] = { [TW_READING_POWER] = "power", [TW_READING_MARK] = "mark" };
static const char *const mark_words[] = {
    [TW_MARK_NOT_REACHED] = "no", [TW_MARK_REACHED] = "yes", [TW_MARK_PEAK] = "peak"
};

struct sheet {
    struct cells_reader reader;
    struct tw_findings *findings;
    const struct column *order[CELLS_MOST]; /* of the cells, as the heading has them */
    size_t width;
    unsigned asked_for; /* columns that the heading lacks and that were complained of already, by bit */
    struct tw_readings *out;
    size_t capacity;
    bool faulty;
};

/* ---- the heading ---- */

static const struct column *find_column(const char *name)
{
    for (size_t i = 0; i < COLUMN_COUNT; i++)
        if (strcmp(columns[i].name, name) == 0)
            return &columns[i];
    return NULL;
}

static void list_columns(struct tw_text *text)
{
    for (size_t i = 0; i < COLUMN_COUNT; i++)
        tw_text_print(text, "%s%s", i ? ", " : "", columns[i].name);
}

/* Reports the complaint, which is released, and marks the sheet. */
static void fault(struct sheet *sheet, struct tw_place place, struct tw_text *complaint)
{
    sheet->faulty = true;
    if (complaint->failed)
        tw_no_memory(sheet->findings);
    else
        tw_fail(sheet->findings, TW_BAD_INPUT, place, "%s", complaint->data);
    tw_text_free(complaint);
}

static void complain_of_column(struct sheet *sheet, struct tw_place place, const char *name)
{
    struct tw_nearest nearest = tw_nearest_to(name);
    struct tw_text text = { 0 };

    for (size_t i = 0; i < COLUMN_COUNT; i++)
        tw_nearest_offer(&nearest, columns[i].name);
    tw_text_print(&text, "\"%s\" is no known column", name);
    if (nearest.name)
        tw_text_print(&text, "; did you mean %s? The first line names the columns, which may be ", nearest.name);
    else
        tw_text_print(&text, "; the first line names the columns, which may be ");
    list_columns(&text);
    fault(sheet, place, &text);
}

static bool is_in_heading(const struct sheet *sheet, const struct column *column)
{
    for (size_t i = 0; i < sheet->width; i++)
        if (sheet->order[i] == column)
            return true;
    return false;
}

static bool read_heading(void *table, const struct cells *cells)
{
    struct sheet *sheet = table;
    struct tw_place place = { .file = sheet->reader.path, .line = cells->line };

    for (size_t i = 0; i < cells->count; i++) {
        const struct column *column = find_column(cells->text[i]);
        struct tw_text text = { 0 };

        if (!column) {
            complain_of_column(sheet, place, cells->text[i]);
        } else if (is_in_heading(sheet, column)) {
            tw_text_print(&text, "the column %s is named twice; keep one of them", column->name);
            fault(sheet, place, &text);
        }
        sheet->order[sheet->width++] = column;
    }
    for (size_t i = 0; i < COLUMN_COUNT && !sheet->faulty; i++) {
        struct tw_text text = { 0 };

        if (columns[i].needed != BOTH || is_in_heading(sheet, &columns[i]))
            continue;
        tw_text_print(&text, "the column %s is missing; every reading needs it, such as %s", columns[i].name,
                      columns[i].example);
        fault(sheet, place, &text);
    }
    return !sheet->faulty;
}

/* ---- single cells ---- */

static bool read_word(const char *seen, const char *const words[], size_t count, int *out, struct tw_text *complaint)
{
    struct tw_nearest nearest = tw_nearest_to(seen);

    for (size_t i = 0; i < count; i++) {
        tw_nearest_offer(&nearest, words[i]);
        if (strcmp(seen, words[i]) == 0) {
            *out = (int)i;
            return true;
        }
    }
    tw_text_print(complaint, "\"%s\" is not a known word; ", seen);
    if (nearest.name)
        tw_text_print(complaint, "did you mean %s? Allowed are", nearest.name);
    else
        tw_text_print(complaint, "allowed are");
    for (size_t i = 0; i < count; i++)
        tw_text_print(complaint, "%s %s", i ? "," : "", words[i]);
    return false;
}

static bool read_measure(const struct column *column, const char *seen, double *out, struct tw_text *complaint)
{
    const struct tw_unit *unit = tw_unit_find(column->unit, column->quantity);
    struct tw_measure measure;
    double least, most;

    if (!tw_measure_read(seen, column->quantity, column->unit, &measure, complaint))
        return false;
    least = tw_unit_to_inside(unit, column->least);
    most = tw_unit_to_inside(unit, column->most);
    if (measure.value >= least && measure.value <= most) {
        *out = measure.value;
        return true;
    }
    tw_text_print(complaint, "\"%s\" is out of range: %.6g %s to %.6g %s is allowed", seen,
                  tw_unit_from_inside(measure.unit, least), measure.unit->name, tw_unit_from_inside(measure.unit, most),
                  measure.unit->name);
    return false;
}

/* "85 %" or "0.85"; false when neither stands there. */
static bool read_share(const char *seen, double *out)
{
    char *end;
    double value = strtod(seen, &end);

    if (end == seen)
        return false;
    end += strspn(end, " \t");
    if (*end == '%') {
        value /= 100.0;
        end++;
    }
    *out = value;
    return *end == '\0';
}

static bool read_efficiency(const struct column *column, const char *seen, double *out, struct tw_text *complaint)
{
    if (read_share(seen, out) && *out >= column->least && *out <= column->most)
        return true;
    tw_text_print(complaint, "\"%s\" is no share from %g %% to %g %%; write it like %s", seen, 100.0 * column->least,
                  100.0 * column->most, column->example);
    return false;
}

static bool read_power_uncertainty(const char *seen, struct tw_reading *reading, struct tw_text *complaint)
{
    struct tw_measure measure;
    double share = 0.0;

    if (strchr(seen, '%') && read_share(seen, &share) && share >= 0.001 && share <= 0.5) {
        reading->relative_uncertainty = share;
        return true;
    }
    if (!strchr(seen, '%') && tw_measure_read(seen, TW_POWER, "W", &measure, NULL) && measure.value > 0.0) {
        reading->relative_uncertainty = 0.0;
        reading->uncertainty_W = measure.value;
        return true;
    }
    tw_text_print(complaint,
                  "\"%s\" is no uncertainty of a power; write 0.1 %% to 50 %% of each reading of the meter, "
                  "such as 5 %%, or a power above zero, such as 20 W",
                  seen);
    return false;
}

static bool read_uncertainty(const char *seen, struct tw_reading *reading, struct tw_text *complaint)
{
    struct tw_measure measure;

    if (reading->kind == TW_READING_POWER)
        return read_power_uncertainty(seen, reading, complaint);
    if (tw_measure_read(seen, TW_TEMPERATURE_DIFFERENCE, "K", &measure, NULL) && measure.value >= 0.0 &&
        measure.value <= 200.0) {
        reading->uncertainty_K = measure.value;
        return true;
    }
    tw_text_print(complaint, "\"%s\" is no uncertainty of a temperature; write 0 K to 200 K, such as 5 K", seen);
    return false;
}

static bool read_cell(const struct column *column, const char *seen, struct tw_reading *reading,
                      struct tw_text *complaint)
{
    void *member = (char *)reading + column->offset;

    switch (column->cell) {
    case CELL_KIND:
        return true; /* read before the others */
    case CELL_MEASURE:
        return read_measure(column, seen, member, complaint);
    case CELL_SHARE:
        return read_efficiency(column, seen, member, complaint);
    case CELL_UNCERTAINTY:
        return read_uncertainty(seen, reading, complaint);
    case CELL_MARK:
        return read_word(seen, mark_words, sizeof mark_words / sizeof *mark_words, member, complaint);
    }
    return true;
}

/* ---- a reading ---- */

static const char *cell_of(const struct sheet *sheet, const struct cells *cells, const struct column *column)
{
    for (size_t i = 0; i < sheet->width && i < cells->count; i++)
        if (sheet->order[i] == column)
            return cells->text[i];
    return "";
}

static bool read_kind(struct sheet *sheet, const struct cells *cells, struct tw_place place, struct tw_reading *reading)
{
    struct tw_text complaint = { 0 };
    int kind = 0;

    place.key = columns[0].name;
    if (read_word(cell_of(sheet, cells, &columns[0]), kind_words, sizeof kind_words / sizeof *kind_words, &kind,
                  &complaint)) {
        reading->kind = (enum tw_reading_kind)kind;
        return true;
    }
    fault(sheet, place, &complaint);
    return false;
}

/* A column that the heading lacks is asked for once, not line by line. */
static void complain_of_gap(struct sheet *sheet, const struct column *column, struct tw_place place,
                            enum tw_reading_kind kind)
{
    unsigned bit = 1U << (column - columns);
    struct tw_text complaint = { 0 };

    if (!is_in_heading(sheet, column)) {
        if (sheet->asked_for & bit)
            return;
        sheet->asked_for |= bit;
    }
    place.key = column->name;
    tw_text_print(&complaint, "%s; a reading of kind %s needs it, such as %s",
                  is_in_heading(sheet, column) ? "is empty" : "the heading lacks this column", kind_words[kind],
                  column->example);
    fault(sheet, place, &complaint);
}

static bool read_column(struct sheet *sheet, const struct cells *cells, const struct column *column,
                        struct tw_place place, struct tw_reading *reading)
{
    const char *seen = cell_of(sheet, cells, column);
    struct tw_text complaint = { 0 };
    int bit = 1 << reading->kind;

    place.key = column->name;
    if (*seen == '\0') {
        if (column->needed & bit)
            complain_of_gap(sheet, column, place, reading->kind);
        return !(column->needed & bit);
    }
    if (!(column->allowed & bit))
        tw_text_print(&complaint, "\"%s\" says nothing about a reading of kind %s; leave the cell empty", seen,
                      kind_words[reading->kind]);
    else if (read_cell(column, seen, reading, &complaint))
        return true;
    fault(sheet, place, &complaint);
    return false;
}

/* What the cells say together. */
static void check_power(struct sheet *sheet, const struct tw_reading *reading, struct tw_place place)
{
    struct tw_text complaint = { 0 };

    if (reading->kind != TW_READING_POWER || reading->power_W > reading->idle_W)
        return;
    place.key = "power";
    tw_text_print(&complaint,
                  "%g W is not above idle_power, %g W, so the cut would take no power; idle_power is what "
                  "the meter shows with the wheel turning in the air",
                  reading->power_W, reading->idle_W);
    fault(sheet, place, &complaint);
}

static void add_reading(struct sheet *sheet, const struct tw_reading *reading, struct tw_place place)
{
    struct tw_readings *out = sheet->out;
    struct tw_text complaint = { 0 };

    if (out->count == TW_READINGS_MOST) {
        tw_text_print(&complaint, "is reading %d of the file; at most %d are allowed", TW_READINGS_MOST + 1,
                      TW_READINGS_MOST);
        fault(sheet, place, &complaint);
        sheet->reader.at = sheet->reader.end;
    } else if (!tw_grow((void **)&out->items, &sheet->capacity, out->count + 1, sizeof *out->items)) {
        sheet->faulty = true;
        tw_no_memory(sheet->findings);
    } else {
        out->items[out->count++] = *reading;
    }
}

static void read_row(void *table, const struct cells *cells)
{
    struct sheet *sheet = table;
    struct tw_place place = { .file = sheet->reader.path, .line = cells->line };
    struct tw_reading reading = {
        .line = cells->line,
        .efficiency = 1.0,
        .relative_uncertainty = DEFAULT_POWER_UNCERTAINTY,
        .uncertainty_K = DEFAULT_MARK_UNCERTAINTY_K,
        .start_degC = (double)NAN,
    };
    struct tw_text complaint = { 0 };
    bool sound = true;

    if (cells->count > sheet->width) {
        cells_print_surplus(&sheet->reader, cells, sheet->width, &complaint);
        fault(sheet, place, &complaint);
        return;
    }
    if (!read_kind(sheet, cells, place, &reading))
        return;
    for (size_t i = 0; i < COLUMN_COUNT; i++)
        sound &= read_column(sheet, cells, &columns[i], place, &reading);
    if (!sound)
        return;
    check_power(sheet, &reading, place);
    add_reading(sheet, &reading, place);
}

/* ---- the file ---- */

static void read_sheet(void *table, struct tw_findings *own)
{
    static const struct cells_use use = { read_heading, read_row };
    struct sheet *sheet = table;
    struct tw_place place = { .file = sheet->reader.path };
    struct tw_text complaint = { 0 };

    sheet->findings = own;
    if (!cells_each(&sheet->reader, &use, sheet, own) || sheet->faulty || sheet->out->count > 0)
        return;
    tw_text_print(&complaint, "holds no reading; the first line names the columns (");
    list_columns(&complaint);
    tw_text_print(&complaint, "), each line below is one reading; docs/calibrate.md shows one");
    fault(sheet, place, &complaint);
}

enum tw_status tw_readings_read(const char *path, struct tw_readings *out, struct tw_findings *findings)
{
    struct sheet sheet = { .out = out };
    enum tw_status status;

    *out = (struct tw_readings){ .path = tw_copy_string(path) };
    if (!out->path)
        return tw_no_memory(findings);
    status = cells_read_file(path, &sheet.reader, read_sheet, &sheet, findings);
    if (status != TW_OK)
        tw_readings_free(out);
    return status;
}

void tw_readings_free(struct tw_readings *readings)
{
    free(readings->path);
    free(readings->items);
    *readings = (struct tw_readings){ 0 };
}
