/* layers.c - depth, table speed and hottest estimate of every layer, as charts and as a table. */
#include "sheet/sheet.h"

#include <math.h>
#include <stdio.h>

#define LEFT_PX  46.0
#define PANEL_PX 52.0
#define GAP_PX   26.0

/* ---- charts ---- */

static double depth_of(const struct tw_layer *layer)
{
    return layer->depth_mm * 1000.0;
}

static double depth_inch_of(const struct tw_layer *layer)
{
    return layer->depth_mm / 25.4 * 1e4;
}

static double speed_of(const struct tw_layer *layer)
{
    return layer->table_mm_per_s * 0.06;
}

static double speed_inch_of(const struct tw_layer *layer)
{
    return layer->table_mm_per_s * 60.0 / 25.4;
}

static double peak_of(const struct tw_layer *layer)
{
    return layer->peak_degC;
}

static double peak_inch_of(const struct tw_layer *layer)
{
    return sheet_degrees(true, layer->peak_degC);
}

static double reserve_of(const struct tw_layer *layer)
{
    return layer->reserve_degC;
}

static double reserve_inch_of(const struct tw_layer *layer)
{
    return sheet_degrees(true, layer->reserve_degC);
}

typedef double (*layer_value)(const struct tw_layer *layer);

static struct canvas_panel panel_of(const struct canvas *canvas, const struct tw_setup_plan *setup, layer_value value,
                                    int row, double at_least)
{
    struct canvas_panel panel = { LEFT_PX,
                                  20.0 + row * (PANEL_PX + GAP_PX),
                                  canvas->width - LEFT_PX - 12.0,
                                  PANEL_PX,
                                  0.5,
                                  (double)setup->layer_count + 0.5,
                                  0.0,
                                  at_least };

    for (size_t i = 0; i < setup->layer_count; i++)
        panel.to_y = fmax(panel.to_y, value(&setup->layers[i]) * 1.04);
    canvas_panel_round(&panel, 4);
    return panel;
}

/* A step for each layer; layers that are alike make one long step. */
static void draw_steps(struct canvas *canvas, const struct canvas_panel *panel, const struct tw_setup_plan *setup,
                       layer_value value, const char *class)
{
    double last = (double)NAN;

    canvas_path_open(canvas, class);
    for (size_t i = 0; i < setup->layer_count; i++) {
        double y = canvas_panel_y(panel, value(&setup->layers[i]));

        if (i == 0)
            tw_text_print(canvas->out, "M%.1f %.1f", canvas_panel_x(panel, 0.5), y);
        else if (fabs(y - last) >= 0.05)
            tw_text_print(canvas->out, "H%.1fV%.1f", canvas_panel_x(panel, (double)i + 0.5), y);
        last = fabs(y - last) < 0.05 ? last : y;
    }
    tw_text_print(canvas->out, "H%.1f", canvas_panel_x(panel, (double)setup->layer_count + 0.5));
    canvas_path_close(canvas);
}

static const char *peak_title(bool inch)
{
    return inch ? "peak, \u00b0F; dotted: with the reserve" : "peak, \u00b0C; dotted: with the reserve";
}

/* Its words over the line; where the title is in their way, under all curves, for nothing is as cold as that before the end. */
static void draw_limit(struct canvas *canvas, const struct canvas_panel *panel, double limit_degC)
{
    double limit = sheet_degrees(canvas->inch, limit_degC), y = canvas_panel_y(panel, limit), room;
    char label[32];

    snprintf(label, sizeof label, "limit %.0f %s", limit, sheet_degrees_unit(canvas->inch));
    room = panel->width - canvas_label_px(canvas, "", peak_title(canvas->inch)) - canvas_label_px(canvas, "", label);
    canvas_line(canvas, "limit", panel->x, y, panel->x + panel->width, y);
    if (room >= CANVAS_LABEL_GAP_PX)
        canvas_words(canvas, "halo", CANVAS_END, panel->x + panel->width - 4.0, y - 4.0, label);
    else
        canvas_words(canvas, "halo", CANVAS_START, panel->x + 6.0, canvas_panel_y(panel, 0.0) - 5.0, label);
}

static void draw_layers(struct page *page, struct canvas *canvas, const void *what)
{
    const struct tw_setup_plan *setup = what;
    double limit_degC = page->plan->limit_degC;
    struct canvas_panel depth = panel_of(canvas, setup, page->inch ? depth_inch_of : depth_of, 0, 0.0);
    struct canvas_panel speed = panel_of(canvas, setup, page->inch ? speed_inch_of : speed_of, 1, 0.0);
    struct canvas_panel peak = panel_of(canvas, setup, page->inch ? reserve_inch_of : reserve_of, 2,
                                        sheet_degrees(page->inch, limit_degC * 1.1));
    int across = canvas->narrow ? 5 : 10;

    canvas_begin(
        canvas, 20.0 + 3.0 * PANEL_PX + 2.0 * GAP_PX + 34.0,
        "Three charts over the number of the layer: depth, table speed, estimated peak with and without the reserve.");
    canvas_panel_draw(canvas, &depth, page->inch ? "depth of a pass, 0.0001 in" : "depth of a pass, \u00b5m", "",
                      across, 4);
    canvas_panel_draw(canvas, &speed, page->inch ? "table speed, in/min" : "table speed, m/min", "", across, 4);
    canvas_panel_draw(canvas, &peak, peak_title(page->inch), "layer", across, 4);
    draw_steps(canvas, &depth, setup, page->inch ? depth_inch_of : depth_of, "curve blue");
    draw_steps(canvas, &speed, setup, page->inch ? speed_inch_of : speed_of, "curve green");
    draw_steps(canvas, &peak, setup, page->inch ? peak_inch_of : peak_of, "curve red");
    draw_steps(canvas, &peak, setup, page->inch ? reserve_inch_of : reserve_of, "curve red dotted");
    draw_limit(canvas, &peak, limit_degC);
    canvas_end(canvas);
}

/* ---- the table ---- */

/* Table speeds so near to each other may share a row: a limit that moves with the layer moves them a little each. */
#define NEAR_SPEED 0.1

static bool near(double a_mm_per_s, double b_mm_per_s)
{
    return fabs(a_mm_per_s - b_mm_per_s) <= NEAR_SPEED * fmax(a_mm_per_s, b_mm_per_s);
}

/* Layers that were planned alike stand in one row. */
static bool alike(const struct tw_layer *a, const struct tw_layer *b)
{
    return a->kind == b->kind && a->again == b->again && fabs(a->depth_mm - b->depth_mm) < 1e-9 &&
           near(a->table_mm_per_s, b->table_mm_per_s) && near(a->later_mm_per_s, b->later_mm_per_s) &&
           a->lanes == b->lanes && a->binding == b->binding;
}

struct group {
    size_t from, to;
    double slowest_mm_per_s, fastest_mm_per_s;
    double hottest_degC, reserve_degC, dwell_s, film_times;
    size_t boiled, covered; /* layers where the film fails, and where there is one */
};

static struct group group_at(const struct tw_setup_plan *setup, size_t from)
{
    struct group group = { .from = from,
                           .to = from,
                           .slowest_mm_per_s = HUGE_VAL,
                           .hottest_degC = -HUGE_VAL,
                           .reserve_degC = -HUGE_VAL,
                           .film_times = HUGE_VAL };

    for (; group.to < setup->layer_count && alike(&setup->layers[from], &setup->layers[group.to]); group.to++) {
        const struct tw_layer *layer = &setup->layers[group.to];

        group.hottest_degC = fmax(group.hottest_degC, layer->peak_degC);
        group.reserve_degC = fmax(group.reserve_degC, layer->reserve_degC);
        group.dwell_s += layer->dwell_s;
        group.film_times = fmin(group.film_times, layer->film_times);
        group.boiled += layer->boiled;
        group.covered += isfinite(layer->film_times);
        group.slowest_mm_per_s = fmin(group.slowest_mm_per_s, layer->table_mm_per_s);
        group.fastest_mm_per_s = fmax(group.fastest_mm_per_s, fmax(layer->later_mm_per_s, layer->table_mm_per_s));
    }
    return group;
}

static void cell_open(struct page *page, const char *label)
{
    tw_text_print(&page->out, "<td data-label=\"%s\">", label);
}

/* From the slowest lane of these layers to the fastest: after the first of a layer the others may run faster. */
static void write_speeds(struct page *page, const struct group *group, bool inch)
{
    double factor = inch ? 60.0 / 25.4 : 0.06;

    sheet_range(&page->out, group->slowest_mm_per_s * factor, group->fastest_mm_per_s * factor, inch ? 0 : 2, "\u2013");
    tw_text_print(&page->out, inch ? "\u00a0in/min" : "\u00a0m/min");
}

static void write_speed(struct page *page, const struct group *group)
{
    write_speeds(page, group, page->inch);
    tw_text_print(&page->out, " <small>");
    write_speeds(page, group, !page->inch);
    tw_text_print(&page->out, "</small>");
}

static void write_group(struct page *page, const struct tw_setup_plan *setup, const struct group *group)
{
    const struct tw_layer *layer = &setup->layers[group->from];

    tw_text_print(&page->out,
                  group->to - group->from > 1 ? "<tr><th scope=\"row\">%zu\u2013%zu</th>"
                                              : "<tr><th scope=\"row\">%zu</th>",
                  group->from + 1, group->to);
    cell_open(page, "kind");
    tw_text_print(&page->out, "%s</td>", tw_layer_name(layer));
    cell_open(page, "depth");
    if (layer->depth_mm > 0.0)
        sheet_length(&page->out, page->inch, layer->depth_mm, SHEET_BLOCKS);
    else
        tw_text_print(&page->out, "\u2013");
    tw_text_print(&page->out, "</td>");
    cell_open(page, "table");
    write_speed(page, group);
    tw_text_print(&page->out, "</td>");
    cell_open(page, "lanes");
    tw_text_print(&page->out, "%d</td>", layer->lanes);
    cell_open(page, "peak");
    sheet_temperature_short(&page->out, page->inch, group->hottest_degC);
    tw_text_print(&page->out, "</td>");
    cell_open(page, "with the reserve");
    sheet_temperature_short(&page->out, page->inch, group->reserve_degC);
    tw_text_print(&page->out, "</td>");
    cell_open(page, "film");
    if (isfinite(group->film_times))
        tw_text_print(&page->out, "%s, %.2f\u00d7</td>",
                      group->boiled == 0               ? "wet"
                      : group->boiled < group->covered ? "wet or dry"
                                                       : "dry",
                      group->film_times);
    else
        tw_text_print(&page->out, "\u2013</td>");
    cell_open(page, "waits");
    if (group->dwell_s > 0.05)
        tw_text_print(&page->out, "%.0f\u00a0s</td>", group->dwell_s);
    else
        tw_text_print(&page->out, "\u2013</td>");
    cell_open(page, "bound by");
    tw_text_print(&page->out, "%s</td></tr>\n", tw_binding_name(layer->binding));
}

static void write_table(struct page *page, const struct sheet_side *side)
{
    const struct tw_setup_plan *setup = side->setup;

    tw_text_print(&page->out,
                  "<table class=\"flow\"><caption>Side %s: %zu layers, travel %s. Two table speeds: the slowest lane "
                  "and the fastest.</caption><thead><tr><th scope=\"col\">Layer</th><th scope=\"col\">Kind</th><th "
                  "scope=\"col\">Depth</th><th scope=\"col\">Table speed</th><th scope=\"col\">Lanes</th><th "
                  "scope=\"col\">Peak</th><th scope=\"col\">With the reserve</th><th scope=\"col\">Film lasts to, "
                  "times the energy</th><th "
                  "scope=\"col\">Waits</th><th scope=\"col\">Bound by</th></tr></thead><tbody>\n",
                  side->name, setup->layer_count, tw_travel_style_name(setup->style));
    for (size_t i = 0; i < setup->layer_count;) {
        struct group group = group_at(setup, i);

        write_group(page, setup, &group);
        i = group.to;
    }
    tw_text_print(&page->out, "</tbody></table>\n");
}

/* All tables, then all drawings: paper has room for these in pairs. */
enum tw_status section_layers(struct page *page)
{
    for (size_t i = 0; i < page->side_count; i++)
        write_table(page, &page->sides[i]);
    tw_text_print(&page->out, "<div class=\"pairs-of\">\n");
    for (size_t i = 0; i < page->side_count; i++)
        page_side_figure(page, &page->sides[i], "layers", ", layer by layer", "In the order of grinding.", draw_layers,
                         page->sides[i].setup);
    tw_text_print(&page->out, "</div>\n");
    return TW_OK;
}
