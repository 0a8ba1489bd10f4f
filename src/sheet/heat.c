/* heat.c - temperatures in the course of the programs, and what the estimate depends on. */
#include "sheet/sheet.h"

#include "tangwright/assess.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define LEFT_PX  46.0
#define PANEL_PX 160.0

/* ---- over time ---- */

/* What was reached at some time: from the dry-run pass by pass, else from the plan layer by layer. */
struct moment {
    double time_s, peak_degC, reserve_degC, bulk_degC;
};

/* The time at which a line's step ends; the lines of passes come in the order of the steps. */
static double time_of_line(const struct sheet_side *side, int line, size_t *at)
{
    for (; *at < side->trace.count; (*at)++)
        if (side->trace.steps[*at].line == line)
            return side->steps[*at].start_s + side->trace.steps[*at].time_s;
    return (double)NAN;
}

static size_t moments_run(const struct sheet_side *side, struct moment *out)
{
    const struct tw_proof_record *record = &side->proof->record;
    size_t count = 0, at = 0;

    for (size_t i = 0; i < record->pass_count; i++) {
        double time_s = time_of_line(side, record->passes[i].line, &at);

        if (!isnan(time_s))
            out[count++] = (struct moment){ time_s, record->passes[i].peak_degC, record->passes[i].reserve_degC,
                                            record->passes[i].bulk_degC };
    }
    return count;
}

static size_t moments_planned(const struct sheet_side *side, struct moment *out)
{
    size_t count = 0;

    for (size_t i = 0; i < side->trace.count; i++) {
        int index = side->steps[i].layer;
        const struct tw_layer *layer = &side->setup->layers[index < 0 ? 0 : index];

        if (index < 0 || side->steps[i].part != 0 ||
            (side->steps[i].work != SHEET_CUT && side->steps[i].work != SHEET_SPARK))
            continue;
        out[count++] = (struct moment){ side->steps[i].start_s + side->trace.steps[i].time_s, layer->peak_degC,
                                        layer->reserve_degC, layer->bulk_degC };
    }
    return count;
}

static size_t moments_of(const struct sheet_side *side, struct moment *out)
{
    return side->proof && side->proof->record.pass_count > 0 ? moments_run(side, out) : moments_planned(side, out);
}

static size_t moment_room(const struct sheet_side *side)
{
    size_t passes = side->proof ? side->proof->record.pass_count : 0;

    return passes > side->trace.count ? passes : side->trace.count;
}

struct heat {
    const struct sheet_side *side;
    const struct moment *moments;
    size_t count;
};

static double peak_of(const struct moment *moment)
{
    return moment->peak_degC;
}

static double reserve_of(const struct moment *moment)
{
    return moment->reserve_degC;
}

static double bulk_of(const struct moment *moment)
{
    return moment->bulk_degC;
}

/* The highest of each px across: many passes may fall on one. */
static void draw_curve(struct canvas *canvas, const struct canvas_panel *panel, const struct heat *heat,
                       double (*of)(const struct moment *moment), const char *class)
{
    double column = -1.0, highest = 0.0;
    bool first = true;

    canvas_path_open(canvas, class);
    for (size_t i = 0; i <= heat->count; i++) {
        double x = i < heat->count ? floor(canvas_panel_x(panel, heat->moments[i].time_s / 60.0)) : HUGE_VAL;
        double value = i < heat->count ? sheet_degrees(canvas->inch, of(&heat->moments[i])) : 0.0;

        if (x != column && column >= 0.0) {
            tw_text_print(canvas->out, "%c%.0f %.1f", first ? 'M' : 'L', column, canvas_panel_y(panel, highest));
            first = false;
        }
        highest = x != column ? value : fmax(highest, value);
        column = x;
    }
    canvas_path_close(canvas);
}

static void draw_heat(struct page *page, struct canvas *canvas, const void *what)
{
    const struct heat *heat = what;
    double limit = sheet_degrees(page->inch, page->plan->limit_degC), y, key = LEFT_PX + 40.0;
    struct canvas_panel panel = { LEFT_PX,  40.0,       canvas->width - LEFT_PX - 12.0,
                                  PANEL_PX, 0.0,        fmax(heat->side->duration_s, 1.0) / 60.0,
                                  0.0,      limit * 1.1 };

    if (page->job->parts > 1 && heat->count > 0) /* the first part alone */
        panel.to_x = fmax(heat->moments[heat->count - 1].time_s * 1.02, 1.0) / 60.0;
    for (size_t i = 0; i < heat->count; i++)
        panel.to_y = fmax(panel.to_y, sheet_degrees(page->inch, heat->moments[i].reserve_degC) * 1.04);
    canvas_panel_round(&panel, 6);
    canvas_begin(
        canvas, 40.0 + PANEL_PX + 40.0,
        "Peak of each pass, as estimated and with the reserve, and the tang itself, over the time of the program.");
    canvas_panel_draw(canvas, &panel, sheet_degrees_unit(page->inch), "minutes", canvas->narrow ? 5 : 10, 6);
    canvas_key(canvas, "curve red", &key, 30.0, "peak");
    canvas_key(canvas, "curve red dotted", &key, 30.0, canvas->narrow ? "reserve" : "with the reserve");
    canvas_key(canvas, "curve blue dashed", &key, 30.0, canvas->narrow ? "tang" : "the tang");
    if (heat->count > 0) {
        draw_curve(canvas, &panel, heat, peak_of, "curve red");
        draw_curve(canvas, &panel, heat, reserve_of, "curve red dotted");
        draw_curve(canvas, &panel, heat, bulk_of, "curve blue dashed");
    }
    y = canvas_panel_y(&panel, limit);
    canvas_line(canvas, "limit", panel.x, y, panel.x + panel.width, y);
    canvas_text(canvas, "halo", CANVAS_END, panel.x + panel.width - 4.0, y - 4.0, "limit %.0f %s, %.0f %s", limit,
                sheet_degrees_unit(page->inch), sheet_degrees(!page->inch, page->plan->limit_degC),
                sheet_degrees_unit(!page->inch));
    canvas_end(canvas);
}

static enum tw_status write_heat(struct page *page, size_t i)
{
    struct sheet_side *side = &page->sides[i];
    struct moment *moments = calloc(moment_room(side) + 1, sizeof *moments);
    bool run = side->proof && side->proof->record.pass_count > 0;

    if (!moments)
        return tw_no_memory(page->findings);
    page_side_figure(
        page, side, "heat", " over time",
        run ? "From the dry run, pass by pass, on the first part: the peak under the wheel, as estimated and "
              "with the reserve, and the hottest place of the tang after it, as estimated."
            : "From the plan: the peak of the hottest pass of each layer, as estimated and with the "
              "reserve, and what earlier passes had left there, as estimated.",
        draw_heat, &(struct heat){ side, moments, moments_of(side, moments) });
    free(moments);
    return TW_OK;
}

/* What the coolant's film is promised at its least. */
static void say_least(struct page *page)
{
    struct tw_plan_film film = tw_plan_film(page->job, page->plan);

    if (!film.wet || !isfinite(film.least_degC))
        return;
    tw_text_print(&page->out,
                  "<p>At the lower end of the film\u2019s range all limits hold with the wheel\u2019s own energy: ");
    sheet_value_open(&page->out, "film.least_degC", film.least_degC);
    sheet_temperature(&page->out, page->inch, film.least_degC);
    sheet_value_close(&page->out);
    tw_text_print(&page->out, ".</p>\n");
}

enum tw_status section_heat(struct page *page)
{
    enum tw_status status = TW_OK;

    say_least(page);
    for (size_t i = 0; status == TW_OK && i < page->side_count; i++)
        if (page->sides[i].trace.count > 0)
            status = write_heat(page, i);
    return status;
}

/* ---- what the estimate depends on ---- */

static void write_assumption(struct page *page, const struct tw_sensitivity *row)
{
    tw_text_print(&page->out, "<tr><th scope=\"row\">");
    sheet_escape_units(&page->out, row->what);
    tw_text_print(&page->out, "</th><td data-label=\"used\">%.4g ", row->used);
    sheet_escape_units(&page->out, row->unit);
    tw_text_print(&page->out, "</td><td data-label=\"may be\">%.4g to %.4g ", row->low, row->high);
    sheet_escape_units(&page->out, row->unit);
    tw_text_print(&page->out, "</td>");
}

enum tw_status section_estimate(struct page *page)
{
    struct tw_sensitivity rows[TW_SENSITIVITY_MOST];
    const char *unit = sheet_degrees_unit(page->inch);
    size_t count;
    enum tw_status status = tw_plan_sensitivity(page->job, page->plan, rows, &count, page->findings);

    if (status != TW_OK)
        return status;
    tw_text_print(&page->out,
                  "<p>Each row moves one assumption over its honest range, all others as planned. Temperatures are "
                  "estimates: measure, and calibrate.</p>\n<table class=\"flow\"><caption>The estimated peak, "
                  "%.0f\u00a0%s, would be</caption><thead><tr><th scope=\"col\">Assumption</th><th "
                  "scope=\"col\">Used</th><th scope=\"col\">May be</th><th scope=\"col\">Hottest, "
                  "%s</th></tr></thead><tbody>\n",
                  sheet_degrees(page->inch, page->plan->peak_degC), unit, unit);
    for (size_t i = 0; i < count; i++) {
        write_assumption(page, &rows[i]);
        tw_text_print(&page->out, "<td data-label=\"hottest, %s\">", unit);
        sheet_range(&page->out, sheet_degrees(page->inch, rows[i].low_degC),
                    sheet_degrees(page->inch, rows[i].high_degC), 0, " to ");
        tw_text_print(&page->out, "</td></tr>\n");
    }
    tw_text_print(&page->out, "</tbody></table>\n");
    return TW_OK;
}
