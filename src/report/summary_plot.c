/* summary_plot.c - two small plots of plain characters: the tang seen edge-on, and the heat of the layers. */
#include "tangwright/report.h"

#include "base/numbers.h"
#include "base/text.h"
#include "base/units.h"
#include "report/lengths.h"
#include "tangwright/taper.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* With what stands beside it a plot fits into 80 columns. */
enum { COLUMNS = 60, HALF_ROWS = 4, HEAT_ROWS = 9 };

/* ---- edge-on ---- */

static double half_mm(const struct tw_job *job, enum tw_side side, int column)
{
    return tw_taper_half_mm(job, side, tw_tang_end_mm(job) * (column + 0.5) / COLUMNS);
}

static void spine_row(struct tw_text *text, const struct tw_job *job, int row)
{
    double height_mm = job->taper.ricasso_mm / 2.0 * (abs(row) - 0.5) / HALF_ROWS;
    char line[COLUMNS + 1];

    for (int i = 0; i < COLUMNS; i++)
        line[i] = height_mm <= half_mm(job, row < 0 ? TW_SIDE_B : TW_SIDE_A, i) ? '#' : '.';
    line[COLUMNS] = '\0';
    tw_text_print(text, "  %6s %s", row == HALF_ROWS ? "A" : row == -HALF_ROWS ? "B" : "", line);
    if (row == 0)
        tw_text_print(text, " %.2f mm", tw_taper_thickness_mm(job, tw_tang_end_mm(job)));
    tw_text_append(text, "\n", 1);
}

static void plot_spine(struct tw_text *text, const struct tw_job *job)
{
    char end[48];

    snprintf(end, sizeof end, "%.1f mm (%.2f in)", tw_tang_end_mm(job), tw_tang_end_mm(job) / TW_MM_PER_INCH);
    tw_text_print(text, "\nseen edge-on: # stays, . comes off; %.2f mm at the taper start\n", job->taper.ricasso_mm);
    for (int row = HALF_ROWS; row >= -HALF_ROWS; row--)
        spine_row(text, job, row);
    tw_text_print(text, "         0%*s\n", COLUMNS - 1, end);
}

/* ---- heat ---- */

static double bulk_of(const struct tw_layer *layer)
{
    return layer->bulk_degC;
}

static double peak_of(const struct tw_layer *layer)
{
    return layer->peak_degC;
}

static double reserve_of(const struct tw_layer *layer)
{
    return layer->reserve_degC;
}

/* The hottest of the layers that share a column; with few layers several columns share a layer. */
static double hottest_degC(const struct tw_setup_plan *setup, int column, double (*of)(const struct tw_layer *layer))
{
    size_t from = setup->layer_count * (size_t)column / COLUMNS,
           to = setup->layer_count * ((size_t)column + 1) / COLUMNS;
    double hottest = -HUGE_VAL;

    for (size_t i = from; i < (to > from ? to : from + 1); i++)
        hottest = fmax(hottest, of(&setup->layers[i]));
    return hottest;
}

static int row_of(double degC, double top_degC)
{
    return (int)fmin(fmax(floor(degC / top_degC * HEAT_ROWS), 0.0), HEAT_ROWS - 1);
}

static void heat_row(struct tw_text *text, const struct tw_setup_plan *setup, double limit_degC, double top_degC,
                     int row)
{
    char line[COLUMNS + 1], label[16] = "";

    for (int i = 0; i < COLUMNS; i++) {
        line[i] = row == row_of(limit_degC, top_degC) ? '-' : ' ';
        if (row == row_of(hottest_degC(setup, i, bulk_of), top_degC))
            line[i] = 'o';
        if (row == row_of(hottest_degC(setup, i, reserve_of), top_degC))
            line[i] = '+';
        if (row == row_of(hottest_degC(setup, i, peak_of), top_degC))
            line[i] = '*';
    }
    line[COLUMNS] = '\0';
    for (int i = COLUMNS; i > 0 && line[i - 1] == ' '; i--)
        line[i - 1] = '\0';
    if (row == row_of(limit_degC, top_degC))
        snprintf(label, sizeof label, "%.0f", limit_degC);
    else if (row == 0)
        snprintf(label, sizeof label, "0");
    tw_text_print(text, "  %6s |%s\n", label, line);
}

static void plot_heat(struct tw_text *text, bool inches, const struct tw_plan *plan, const struct tw_setup_plan *setup)
{
    double top_degC = fmax(plan->limit_degC, setup->reserve_degC) * 1.08;

    tw_text_print(text, "\nside %s by layer: * peak, + reserve, o tang, - limit %s\n", tw_side_letter(setup->face.side),
                  tw_temperature_both(plan->limit_degC, inches).text);
    for (int row = HEAT_ROWS - 1; row >= 0; row--)
        heat_row(text, setup, plan->limit_degC, top_degC, row);
    tw_text_print(text, "         1%*zu\n", COLUMNS - 1, setup->layer_count);
}

enum tw_status tw_summary_plot(const struct tw_job *job, const struct tw_plan *plan, char **out,
                               struct tw_findings *findings)
{
    struct tw_text text = { 0 };

    plot_spine(&text, job);
    for (size_t i = 0; i < plan->setup_count; i++)
        plot_heat(&text, tw_job_in_inches(job), plan, &plan->setups[i]);
    *out = tw_text_take(&text);
    return *out ? TW_OK : tw_no_memory(findings);
}
