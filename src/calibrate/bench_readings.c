/* bench_readings.c - the table of bench tests: every column is one row of `columns` below. */
#include "tangwright/bench.h"

#include "base/cells.h"
#include "base/file.h"
#include "base/memory.h"
#include "base/nearest.h"
#include "base/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Micrometer or height gauge; spring scale; the meter; thermocouple in a contact; thermocouple in a strip that cools. Judgement. */
static const double usual_uncertainty[] = {
    [TW_BENCH_PASS] = 0.001, [TW_BENCH_PULL] = 0.1,    [TW_BENCH_DULL] = 0.03,
    [TW_BENCH_FILM] = 5.0,   [TW_BENCH_HANGING] = 1.0, [TW_BENCH_SEATED] = 1.0
};

enum {
    PASS = 1 << TW_BENCH_PASS,
    PULL = 1 << TW_BENCH_PULL,
    DULL = 1 << TW_BENCH_DULL,
    FILM = 1 << TW_BENCH_FILM,
    COOL = 1 << TW_BENCH_HANGING | 1 << TW_BENCH_SEATED
};

static const char *const tests[TW_BENCH_TESTS] = { "pass", "pull", "dull", "film", "hanging", "seated" };

struct column {
    const char *name;
    bool counts; /* a bare whole number; else a measure */
    enum tw_quantity quantity;
    const char *unit;
    double least, most;
    int needed, allowed; /* for which tests */
    const char *example;
    size_t offset;
};

/* clang-format off */
#define INTO(member) offsetof(struct tw_bench_reading, member)
static const struct column columns[] = {
    { "passes", true, 0, NULL, 0, 100000, PASS | DULL, PASS | DULL, "5", INTO(passes) },
    { "infeed", false, TW_LENGTH, "mm", 0, 1, PASS, PASS, "0.01 mm", INTO(infeed_mm) },
    { "removed", false, TW_LENGTH, "mm", -0.1, 10, PASS, PASS, "0.043 mm", INTO(removed_mm) },
    { "width", false, TW_LENGTH, "mm", 0.1, 600, PASS | PULL, PASS | PULL, "25 mm", INTO(width_mm) },
    { "table_speed", false, TW_SPEED, "mm/s", 0.01, 2000, PASS | FILM, PASS | FILM, "20 mm/s", INTO(table_mm_per_s) },
    { "force", false, TW_FORCE, "N", 0.1, 10000, PULL, PULL, "42 N", INTO(force_N) },
    { "length", false, TW_LENGTH, "mm", 1, 1000, PULL, PULL, "100 mm", INTO(length_mm) },
    { "gap", false, TW_LENGTH, "mm", 0, 5, 0, PULL, "0.1 mm", INTO(gap_mm) },
    { "power", false, TW_POWER, "W", 0.1, 100000, DULL, DULL, "420 W", INTO(power_W) },
    { "idle_power", false, TW_POWER, "W", 0, 100000, DULL, DULL, "210 W", INTO(idle_W) },
    { "depth", false, TW_LENGTH, "mm", 0.0001, 2, FILM, FILM, "0.01 mm", INTO(depth_mm) },
    { "temperature", false, TW_TEMPERATURE, "degC", 0, 1400, FILM, FILM, "95 degC", INTO(wet_degC) },
    { "dry_temperature", false, TW_TEMPERATURE, "degC", 0, 1400, FILM, FILM, "310 degC", INTO(dry_degC) },
    { "start_temperature", false, TW_TEMPERATURE, "degC", -50, 400, 0, FILM, "22 degC", INTO(start_degC) },
    { "thickness", false, TW_LENGTH, "mm", 0.5, 50, COOL, COOL, "3.2 mm", INTO(thickness_mm) },
    { "time", false, TW_TIME, "s", 0, 36000, COOL, COOL, "20 s", INTO(time_s) },
    { "strip_temperature", false, TW_TEMPERATURE, "degC", -50, 400, COOL, COOL, "58 degC", INTO(strip_degC) },
    { "coolant_temperature", false, TW_TEMPERATURE, "degC", -50, 100, 0, COOL, "21 degC", INTO(coolant_degC) },
};
/* clang-format on */

#define COLUMN_COUNT (sizeof columns / sizeof *columns)

/* The two columns that are read in their own way. */
enum special { SPECIAL_NONE, SPECIAL_TEST, SPECIAL_UNCERTAINTY };

struct heading {
    const struct column *column;
    enum special special;
};

struct table {
    struct cells_reader reader;
    struct heading heading[CELLS_MOST];
    size_t width, capacity;
    struct tw_bench_readings *out;
    struct tw_findings *findings;
    bool faulty;
};

static void fault(struct table *table, struct tw_place place, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

static void fault(struct table *table, struct tw_place place, const char *format, ...)
{
    struct tw_text text = { 0 };
    va_list arguments;

    va_start(arguments, format);
    tw_text_vprint(&text, format, arguments);
    va_end(arguments);
    table->faulty = true;
    if (text.failed)
        tw_no_memory(table->findings);
    else
        tw_fail(table->findings, TW_BAD_INPUT, place, "%s", text.data);
    tw_text_free(&text);
}

/* ---- the heading ---- */

static struct heading find_column(const char *name)
{
    if (strcmp(name, "test") == 0)
        return (struct heading){ NULL, SPECIAL_TEST };
    if (strcmp(name, "uncertainty") == 0)
        return (struct heading){ NULL, SPECIAL_UNCERTAINTY };
    for (size_t i = 0; i < COLUMN_COUNT; i++)
        if (strcmp(columns[i].name, name) == 0)
            return (struct heading){ &columns[i], SPECIAL_NONE };
    return (struct heading){ NULL, SPECIAL_NONE };
}

static bool same(struct heading a, struct heading b)
{
    return a.column == b.column && a.special == b.special;
}

static void complain_of_column(struct table *table, struct tw_place place, const char *seen)
{
    struct tw_nearest nearest = tw_nearest_to(seen);

    for (size_t i = 0; i < COLUMN_COUNT; i++)
        tw_nearest_offer(&nearest, columns[i].name);
    fault(table, place, "\"%s\" is no column of bench tests%s%s; docs/bench-tests.md lists them", seen,
          nearest.name ? "; did you mean " : "", nearest.name ? nearest.name : "");
}

static bool read_heading(void *context, const struct cells *cells)
{
    struct table *table = context;
    struct tw_place place = { .file = table->reader.path, .line = cells->line };

    for (size_t i = 0; i < cells->count; i++) {
        struct heading heading = find_column(cells->text[i]);

        if (!heading.column && heading.special == SPECIAL_NONE)
            complain_of_column(table, place, cells->text[i]);
        for (size_t k = 0; k < i; k++)
            if ((heading.column || heading.special) && same(table->heading[k], heading))
                fault(table, place, "the column %s is named twice; keep one of them", cells->text[i]);
        table->heading[table->width++] = heading;
    }
    return !table->faulty;
}

/* ---- one reading ---- */

static const char *cell_of(const struct table *table, const struct cells *cells, struct heading wanted)
{
    for (size_t i = 0; i < table->width && i < cells->count; i++)
        if (same(table->heading[i], wanted))
            return cells->text[i];
    return "";
}

static bool read_test(struct table *table, const struct cells *cells, struct tw_place place, enum tw_bench_test *out)
{
    const char *seen = cell_of(table, cells, (struct heading){ NULL, SPECIAL_TEST });

    for (int i = 0; i < TW_BENCH_TESTS; i++)
        if (strcmp(seen, tests[i]) == 0) {
            *out = (enum tw_bench_test)i;
            return true;
        }
    place.key = "test";
    fault(table, place, "\"%s\" is no bench test; allowed are pass, pull, dull, film, hanging, seated", seen);
    return false;
}

static bool read_count(struct table *table, const struct column *column, const char *seen, struct tw_place place,
                       double *out)
{
    char *end;
    double value = strtod(seen, &end);

    if (end != seen && *end == '\0' && value == floor(value) && value >= column->least && value <= column->most) {
        *out = value;
        return true;
    }
    fault(table, place, "\"%s\" is no whole number from %g to %g, such as %s", seen, column->least, column->most,
          column->example);
    return false;
}

static bool read_measure(struct table *table, const struct column *column, const char *seen, struct tw_place place,
                         double *out)
{
    const struct tw_unit *unit = tw_unit_find(column->unit, column->quantity);
    struct tw_text complaint = { 0 };
    struct tw_measure measure;
    bool read = tw_measure_read(seen, column->quantity, column->unit, &measure, &complaint);

    if (!read)
        fault(table, place, "%s", complaint.data ? complaint.data : "cannot be read");
    tw_text_free(&complaint);
    if (!read)
        return false;
    if (measure.value >= tw_unit_to_inside(unit, column->least) &&
        measure.value <= tw_unit_to_inside(unit, column->most)) {
        *out = measure.value;
        return true;
    }
    fault(table, place, "\"%s\" is out of range: %g %s to %g %s is allowed", seen, column->least, column->unit,
          column->most, column->unit);
    return false;
}

static bool read_column(struct table *table, const struct cells *cells, const struct column *column,
                        struct tw_place place, struct tw_bench_reading *reading)
{
    const char *seen = cell_of(table, cells, (struct heading){ column, SPECIAL_NONE });
    double *member = (double *)(void *)((char *)reading + column->offset);
    int bit = 1 << reading->test;

    place.key = column->name;
    if (*seen == '\0') {
        if (column->needed & bit)
            fault(table, place, "is empty or missing; a test \"%s\" needs it, such as %s", tests[reading->test],
                  column->example);
        return !(column->needed & bit);
    }
    if (!(column->allowed & bit)) {
        fault(table, place, "\"%s\" says nothing about a test \"%s\"; leave the cell empty", seen,
              tests[reading->test]);
        return false;
    }
    return column->counts ? read_count(table, column, seen, place, member)
                          : read_measure(table, column, seen, place, member);
}

static bool read_uncertainty(struct table *table, const struct cells *cells, struct tw_place place,
                             struct tw_bench_reading *reading)
{
    static const enum tw_quantity quantities[] = {
        [TW_BENCH_PASS] = TW_LENGTH,
        [TW_BENCH_FILM] = TW_TEMPERATURE_DIFFERENCE,
        [TW_BENCH_HANGING] = TW_TEMPERATURE_DIFFERENCE,
        [TW_BENCH_SEATED] = TW_TEMPERATURE_DIFFERENCE,
    };
    const char *seen = cell_of(table, cells, (struct heading){ NULL, SPECIAL_UNCERTAINTY });
    bool share = reading->test == TW_BENCH_PULL || reading->test == TW_BENCH_DULL;
    struct tw_measure measure;
    char *end;
    double value;

    reading->uncertainty = usual_uncertainty[reading->test];
    if (*seen == '\0')
        return true;
    value = strtod(seen, &end);
    end += strspn(end, " \t");
    if (share && end != seen && strcmp(end, "%") == 0 && value > 0.0 && value <= 50.0) {
        reading->uncertainty = value / 100.0;
        return true;
    }
    if (!share && tw_measure_read(seen, quantities[reading->test], NULL, &measure, NULL) && measure.value > 0.0) {
        reading->uncertainty = measure.value;
        return true;
    }
    place.key = "uncertainty";
    fault(table, place, "\"%s\" is no uncertainty of a test \"%s\"; write it like %s", seen, tests[reading->test],
          share                            ? "5 %"
          : reading->test == TW_BENCH_PASS ? "1 um"
          : reading->test == TW_BENCH_FILM ? "5 K"
                                           : "1 K");
    return false;
}

static void add_reading(struct table *table, const struct tw_bench_reading *reading, struct tw_place place)
{
    struct tw_bench_readings *out = table->out;

    if (out->count == TW_BENCH_READINGS_MOST) {
        fault(table, place, "is one reading too many; at most %d are allowed", TW_BENCH_READINGS_MOST);
        table->reader.at = table->reader.end;
    } else if (!tw_grow((void **)&out->items, &table->capacity, out->count + 1, sizeof *out->items)) {
        table->faulty = true;
        tw_no_memory(table->findings);
    } else {
        out->items[out->count++] = *reading;
    }
}

static void complain_of_surplus(struct table *table, struct tw_place place, const struct cells *cells)
{
    struct tw_text text = { 0 };

    cells_print_surplus(&table->reader, cells, table->width, &text);
    fault(table, place, "%s", text.failed ? "holds more cells than the heading names columns" : text.data);
    tw_text_free(&text);
}

static void read_row(void *context, const struct cells *cells)
{
    struct table *table = context;
    struct tw_place place = { .file = table->reader.path, .line = cells->line };
    struct tw_bench_reading reading = { .line = cells->line, .start_degC = (double)NAN, .coolant_degC = (double)NAN };
    bool sound;

    if (cells->count > table->width) {
        complain_of_surplus(table, place, cells);
        return;
    }
    if (!read_test(table, cells, place, &reading.test))
        return;
    sound = read_uncertainty(table, cells, place, &reading);
    for (size_t i = 0; i < COLUMN_COUNT; i++)
        sound &= read_column(table, cells, &columns[i], place, &reading);
    if (sound)
        add_reading(table, &reading, place);
}

/* ---- the file ---- */

static void read_table(void *context, struct tw_findings *own)
{
    static const struct cells_use use = { read_heading, read_row };
    struct table *table = context;
    struct tw_place place = { .file = table->reader.path };

    table->findings = own;
    if (cells_each(&table->reader, &use, table, own) && !table->faulty && table->out->count == 0)
        fault(table, place, "holds no reading; docs/bench-tests.md shows one");
}

bool tw_bench_is_one(const char *path)
{
    struct tw_findings ignored = { 0 };
    struct tw_text text = { 0 };
    struct cells_reader reader;
    struct cells cells;
    bool is = false;

    if (tw_file_read(path, &text, &ignored) == TW_OK) {
        cells_open(&reader, path, text.data, text.length);
        if (cells_next(&reader, &cells, &ignored) == TW_OK)
            for (size_t i = 0; i < cells.count; i++)
                is = is || strcmp(cells.text[i], "test") == 0;
    }
    tw_text_free(&text);
    tw_findings_free(&ignored);
    return is;
}

enum tw_status tw_bench_read(const char *path, struct tw_bench_readings *out, struct tw_findings *findings)
{
    struct table table = { .out = out };
    enum tw_status status;

    *out = (struct tw_bench_readings){ .path = tw_copy_string(path) };
    if (!out->path)
        return tw_no_memory(findings);
    status = cells_read_file(path, &table.reader, read_table, &table, findings);
    if (status != TW_OK)
        tw_bench_free(out);
    return status;
}

void tw_bench_free(struct tw_bench_readings *readings)
{
    free(readings->path);
    free(readings->items);
    *readings = (struct tw_bench_readings){ 0 };
}
