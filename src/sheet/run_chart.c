/* run_chart.c - what the finished parts of a run measured, one after the other: the control chart of single values. */
#include "sheet/sheet.h"

#include "base/numbers.h"
#include "sheet/canvas.h"
#include "tangwright/gauge.h"

#include <math.h>
#include <stdlib.h>

#define LEFT_PX     46.0
#define TOP_PX      62.0
#define PANEL_PX    190.0
#define TICKS_UP    8
#define CHART_LEAST 5 /* parts, as tangwright gauge has it */

struct run_chart {
    const struct tw_run_gauged *parts;
    size_t count;
    bool charted; /* there are enough of them for limits */
    struct tw_control_chart limits;
    double tolerance_mm;
    double unit_mm; /* in which it is drawn: a thousandth of a mm or of an inch */
};

bool sheet_run_is_gauged(const struct page *page)
{
    return page->outcome->request->gauged_count > 0;
}

static double off_of(const struct run_chart *chart, size_t i)
{
    return chart->parts[i].off_mm / chart->unit_mm;
}

static bool is_beyond(const struct run_chart *chart, size_t i)
{
    return chart->charted &&
           (chart->parts[i].off_mm < chart->limits.low || chart->parts[i].off_mm > chart->limits.high);
}

/* A round value that all of it lies within, above and below. */
static double reach_of(const struct run_chart *chart)
{
    double reach = fmax(chart->tolerance_mm / chart->unit_mm, 0.001 / chart->unit_mm), step;

    for (size_t i = 0; i < chart->count; i++)
        reach = fmax(reach, fabs(off_of(chart, i)));
    if (chart->charted)
        reach = fmax(reach, fmax(fabs(chart->limits.low), fabs(chart->limits.high)) / chart->unit_mm);
    for (int i = 0; i < 2; i++) { /* the ticks are those of the rounded range */
        step = canvas_round_step(2.0 * reach, TICKS_UP);
        reach = step * ceil(1.02 * reach / step - 1e-9);
    }
    return reach;
}

static void draw_level(struct canvas *canvas, const struct canvas_panel *panel, const char *class, double value)
{
    double y = canvas_panel_y(panel, value);

    canvas_line(canvas, class, panel->x, y, panel->x + panel->width, y);
}

/* Between loads a line; where the wheel was dressed it is broken, and a mark says so. */
static void draw_loads(struct canvas *canvas, const struct canvas_panel *panel, const struct run_chart *chart)
{
    double free_px = 0.0;

    for (size_t i = 0; i < chart->count; i++) {
        bool first = i == 0 || chart->parts[i].load != chart->parts[i - 1].load;
        double x = canvas_panel_x(panel, (double)i + 0.5);

        if (!first)
            continue;
        if (i > 0)
            canvas_line(canvas, chart->parts[i].dressed ? "limit" : "ext", x, panel->y, x, panel->y + panel->height);
        if (chart->parts[i].dressed)
            canvas_text(canvas, "small halo", CANVAS_MIDDLE, x + (i == 0 ? 5.0 : 0.0), panel->y + 12.0, "D");
        if (x + 3.0 < free_px)
            continue;
        canvas_text(canvas, "tick", CANVAS_START, x + 3.0, panel->y + panel->height + 16.0, "%d", chart->parts[i].load);
        free_px = x + 3.0 + 20.0;
    }
}

static void draw_parts(struct canvas *canvas, const struct canvas_panel *panel, const struct run_chart *chart)
{
    canvas_path_open(canvas, "curve blue");
    for (size_t i = 0; i < chart->count; i++)
        tw_text_print(canvas->out, "%c%.1f %.1f", i == 0 ? 'M' : 'L', canvas_panel_x(panel, (double)i + 1.0),
                      canvas_panel_y(panel, off_of(chart, i)));
    canvas_path_close(canvas);
    for (size_t i = 0; i < chart->count; i++) {
        double x = canvas_panel_x(panel, (double)i + 1.0), y = canvas_panel_y(panel, off_of(chart, i));

        if (is_beyond(chart, i))
            canvas_box(canvas, "cut", x - 5.0, y - 5.0, 10.0, 10.0);
        canvas_circle(canvas, "pin", x, y, canvas->narrow ? 2.2 : 3.0);
    }
}

static void draw_chart(struct page *page, struct canvas *canvas, const void *what)
{
    const struct run_chart *chart = what;
    double reach = reach_of(chart), tolerance = chart->tolerance_mm / chart->unit_mm, key = LEFT_PX;
    struct canvas_panel panel = { LEFT_PX,  TOP_PX, canvas->width - LEFT_PX - 12.0,
                                  PANEL_PX, 0.5,    (double)chart->count + 0.5,
                                  -reach,   reach };

    canvas_begin(
        canvas, TOP_PX + PANEL_PX + 40.0,
        "Mean deviation of each finished part from its aim, in the order of grinding, with the mean, the control "
        "limits and the tolerance.");
    canvas_box(canvas, "pad", panel.x, canvas_panel_y(&panel, tolerance), panel.width,
               canvas_panel_y(&panel, -tolerance) - canvas_panel_y(&panel, tolerance));
    canvas_panel_draw(canvas, &panel, page->inch ? "thou too thick" : "\u00b5m too thick", "", 1, TICKS_UP);
    canvas_words(canvas, "", CANVAS_END, panel.x + panel.width, panel.y + panel.height + 32.0, "load, part by part");
    canvas_key(canvas, "curve blue", &key, 20.0, "part");
    if (chart->charted) {
        canvas_key(canvas, "centre", &key, 20.0, "mean");
        canvas_key(canvas, "before", &key, 20.0, canvas->narrow ? "limits" : "control limits");
    }
    if (!canvas->narrow)
        canvas_key(canvas, "pad", &key, 20.0, "tolerance");
    draw_loads(canvas, &panel, chart);
    if (chart->charted) {
        draw_level(canvas, &panel, "centre", chart->limits.centre / chart->unit_mm);
        draw_level(canvas, &panel, "before", chart->limits.low / chart->unit_mm);
        draw_level(canvas, &panel, "before", chart->limits.high / chart->unit_mm);
    }
    draw_parts(canvas, &panel, chart);
    canvas_end(canvas);
}

static enum tw_status set_limits(struct run_chart *chart, struct tw_findings *findings)
{
    double *values = calloc(chart->count, sizeof *values);

    if (!values)
        return tw_no_memory(findings);
    for (size_t i = 0; i < chart->count; i++)
        values[i] = chart->parts[i].off_mm;
    chart->charted = chart->count >= CHART_LEAST;
    if (chart->charted)
        chart->limits = tw_control_chart_of(values, chart->count);
    free(values);
    return TW_OK;
}

enum tw_status section_run_chart(struct page *page)
{
    const struct tw_run_request *request = page->outcome->request;
    struct run_chart chart = { .parts = request->gauged,
                               .count = request->gauged_count,
                               .tolerance_mm = page->job->finish.thickness_mm,
                               .unit_mm = page->inch ? TW_MM_PER_INCH / 1000.0 : 0.001 };
    int decimals = page->inch ? 2 : 1;
    const char *unit = page->inch ? "thou" : "\u00b5m";
    size_t beyond = 0;
    enum tw_status status = set_limits(&chart, page->findings);

    if (status != TW_OK)
        return status;
    page_figure(
        page, "chart", "Control chart",
        "Each point is a finished part: the mean of what it measured less what its load aimed at, as it was ground, "
        "its own ricasso included. Lines up part the loads; at a D the wheel was dressed before the load. Control "
        "limits: mean and three times the mean moving range over 1.128; boxed parts lie beyond them.",
        draw_chart, &chart);
    for (size_t i = 0; i < chart.count; i++)
        beyond += is_beyond(&chart, i);
    if (!chart.charted)
        tw_text_print(&page->out, "<p>Limits are drawn from %d parts on.</p>\n", CHART_LEAST);
    else
        tw_text_print(&page->out,
                      "<p>%zu of %zu parts lie beyond the limits. Mean %+.*f\u00a0%s, limits %+.*f and "
                      "%+.*f\u00a0%s, tolerance \u00b1%.*f\u00a0%s.</p>\n",
                      beyond, chart.count, decimals, chart.limits.centre / chart.unit_mm, unit, decimals,
                      chart.limits.low / chart.unit_mm, decimals, chart.limits.high / chart.unit_mm, unit, decimals,
                      chart.tolerance_mm / chart.unit_mm, unit);
    return TW_OK;
}
