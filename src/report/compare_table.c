/* compare_table.c - variants of one job side by side. */
#include "tangwright/report.h"

#include "base/numbers.h"
#include "base/text.h"
#include "base/units.h"
#include "report/balance_parts.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>

#define COLUMN 14
#define CELL   64

/* What one cell says; nothing where the figure is not known. */
typedef void (*fill_cell)(const struct tw_variant *variant, const struct tw_comparison *among, char cell[CELL]);

static void fill(char cell[CELL], const char *format, ...) __attribute__((format(printf, 2, 3)));

static void fill(char cell[CELL], const char *format, ...)
{
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(cell, CELL, format, arguments);
    va_end(arguments);
}

static void fill_time(double time_s, char cell[CELL])
{
    fill(cell, "%s", tw_duration_text(time_s).text);
}

static void cycle(const struct tw_variant *variant, const struct tw_comparison *among, char cell[CELL])
{
    (void)among;
    fill_time(variant->cycle_time_s, cell);
}

static void part(const struct tw_variant *variant, const struct tw_comparison *among, char cell[CELL])
{
    (void)among;
    if (variant->parts > 1)
        fill_time(variant->cycle_time_s / variant->parts, cell);
}

static void against(const struct tw_variant *variant, const struct tw_comparison *among, char cell[CELL])
{
    const struct tw_variant *first = &among->variants[0];

    if (variant != first && !first->refusal)
        fill(cell, "%.2f", variant->cycle_time_s / first->cycle_time_s);
}

static void cutting(const struct tw_variant *variant, const struct tw_comparison *among, char cell[CELL])
{
    (void)among;
    fill(cell, "%.0f %%", 100.0 * variant->cut_time_s / variant->cycle_time_s);
}

static void waits(const struct tw_variant *variant, const struct tw_comparison *among, char cell[CELL])
{
    (void)among;
    fill(cell, "%.0f s", variant->dwell_s);
}

static void passes(const struct tw_variant *variant, const struct tw_comparison *among, char cell[CELL])
{
    (void)among;
    fill(cell, "%d", variant->pass_count);
}

static void peak(const struct tw_variant *variant, const struct tw_comparison *among, char cell[CELL])
{
    if (among->inches)
        fill(cell, "%.0f degF", tw_degF(variant->peak_degC));
    else
        fill(cell, "%.0f degC", variant->peak_degC);
}

static void reserve(const struct tw_variant *variant, const struct tw_comparison *among, char cell[CELL])
{
    if (among->inches)
        fill(cell, "%.0f of %.0f", tw_degF(variant->reserve_degC), tw_degF(variant->allowed_degC));
    else
        fill(cell, "%.0f of %.0f", variant->reserve_degC, variant->allowed_degC);
}

static void looser(const struct tw_variant *variant, const struct tw_comparison *among, char cell[CELL])
{
    enum tw_limit dearest = tw_variant_dearest(variant);

    (void)among;
    if (dearest < TW_LIMIT_COUNT)
        fill(cell, "%.0f s", variant->saves_s[dearest]);
}

static void removed(const struct tw_variant *variant, const struct tw_comparison *among, char cell[CELL])
{
    if (among->inches)
        fill(cell, "%.3f oz", variant->removed_g / TW_G_PER_OUNCE);
    else
        fill(cell, "%.2f g", variant->removed_g);
}

static void knife(const struct tw_variant *variant, const struct tw_comparison *among, char cell[CELL])
{
    if (variant->weighed && among->inches)
        fill(cell, "%.2f oz", variant->knife_g / TW_G_PER_OUNCE);
    else if (variant->weighed)
        fill(cell, "%.1f g", variant->knife_g);
}

static void balance(const struct tw_variant *variant, const struct tw_comparison *among, char cell[CELL])
{
    if (variant->weighed)
        fill(cell, "%s %s", tw_length_text(fabs(variant->balance_mm), 1, among->inches).text,
             variant->balance_mm < 0.0 ? "ahead" : "behind");
}

static const struct {
    const char *label;
    fill_cell cell;
} rows[] = {
    { "cycle time", cycle },     { "for one part", part },
    { "against 1", against },    { "in the steel", cutting },
    { "waits to cool", waits },  { "passes", passes },
    { "peak, estimated", peak }, { "with the reserve", reserve },
    { "dearest limit", looser }, { "taken off a part", removed },
    { "knife", knife },          { "balances", balance },
};

static void print_changes(struct tw_text *text, const struct tw_variant *variant)
{
    if (variant->change_count == 0)
        tw_text_print(text, "the job as it stands");
    for (size_t i = 0; i < variant->change_count; i++)
        tw_text_print(text, "%s%s = %s", i > 0 ? ", " : "", variant->changes[i].key, variant->changes[i].value);
}

/* A row that says nothing of any variant is left out. */
static void print_row(struct tw_text *text, size_t row, const struct tw_comparison *comparison)
{
    struct tw_text line = { 0 };
    bool any = false;

    tw_text_print(&line, "  %-17s", rows[row].label);
    for (size_t i = 0; i < comparison->count; i++) {
        const struct tw_variant *variant = &comparison->variants[i];
        char cell[CELL] = "-";

        if (!variant->refusal)
            rows[row].cell(variant, comparison, cell);
        any = any || cell[0] != '-' || cell[1] != '\0';
        tw_text_print(&line, " %*s", COLUMN, cell);
    }
    if (any && line.data)
        tw_text_print(text, "%s\n", line.data);
    text->failed = text->failed || line.failed;
    tw_text_free(&line);
}

static void print_dearest(struct tw_text *text, const struct tw_comparison *comparison)
{
    for (size_t i = 0; i < comparison->count; i++) {
        enum tw_limit dearest = tw_variant_dearest(&comparison->variants[i]);

        if (!comparison->variants[i].refusal && dearest < TW_LIMIT_COUNT)
            tw_text_print(text, "  %zu is held back most by: %s\n", i + 1, tw_limit_name(dearest));
    }
}

enum tw_status tw_comparison_table(const char *job_path, const struct tw_comparison *comparison, char **out,
                                   struct tw_findings *findings)
{
    struct tw_text text = { 0 };

    tw_text_print(&text,
                  comparison->count == 1 ? "%s, %zu variant, planned and proved\n"
                                         : "%s, %zu variants, each planned and proved\n",
                  job_path, comparison->count);
    for (size_t i = 0; i < comparison->count; i++) {
        tw_text_print(&text, "  %zu  ", i + 1);
        print_changes(&text, &comparison->variants[i]);
        tw_text_print(&text, "%s\n", comparison->variants[i].refusal ? ": cannot be planned, see below" : "");
    }
    tw_text_print(&text, "\n  %-17s", "");
    for (size_t i = 0; i < comparison->count; i++)
        tw_text_print(&text, " %*zu", COLUMN, i + 1);
    tw_text_append(&text, "\n", 1);
    for (size_t row = 0; row < sizeof rows / sizeof *rows; row++)
        print_row(&text, row, comparison);
    tw_text_print(&text, "\n  dearest limit: what the limit that holds a plan back most would save, were it a tenth "
                         "looser\n");
    print_dearest(&text, comparison);
    for (size_t i = 0; i < comparison->count; i++)
        if (comparison->variants[i].refusal)
            tw_text_print(&text, "\n  %zu cannot be planned: %s\n", i + 1, comparison->variants[i].refusal);
    tw_text_print(&text, "\nTemperatures are estimates; prove them on scrap.\n");
    *out = tw_text_take(&text);
    return *out ? TW_OK : tw_no_memory(findings);
}
