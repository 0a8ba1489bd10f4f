/* balance.c - what the knife weighs and where it balances, step by step, and its whole line from tip to butt. */
#include "sheet/sheet.h"

#include "base/numbers.h"
#include "tangwright/balance.h"
#include "tangwright/looks.h"

#include <math.h>
#include <stdio.h>

#define EDGE_PX  26.0
#define ABOVE_PX 44.0
#define THICK_PX 40.0

/* ---- weights ---- */

static void write_place(struct page *page, double x_mm)
{
    if (fabs(x_mm) < 0.05) {
        tw_text_print(&page->out, "at the taper start");
        return;
    }
    sheet_length(&page->out, page->inch, fabs(x_mm), SHEET_RULE);
    tw_text_print(&page->out, x_mm < 0.0 ? " ahead of the taper start" : " behind the taper start");
}

static void write_stage(struct page *page, const struct tw_balance *balance, enum tw_stage stage)
{
    const struct tw_balance_point *knife = &balance->stages[stage];

    tw_text_print(&page->out, "<tr><th scope=\"row\">%s</th><td>", tw_stage_name(stage));
    sheet_number(&page->out, knife->mass_g, 1);
    tw_text_print(&page->out, "\u00a0g <small>");
    sheet_number(&page->out, knife->mass_g / TW_G_PER_OUNCE, 2);
    tw_text_print(&page->out, "\u00a0oz</small></td><td>");
    write_place(page, knife->x_mm);
    tw_text_print(&page->out, "</td></tr>\n");
}

static bool has_stage(const struct tw_balance *balance, enum tw_stage stage)
{
    if (stage == TW_STAGE_RELIEVED)
        return balance->relief_depth_mm > 0.0;
    if (stage == TW_STAGE_FINISHED || stage == TW_STAGE_UNGROUND)
        return balance->handle.mass_g > 0.0;
    return true;
}

static enum tw_status write_stages(struct page *page)
{
    struct tw_balance balance;
    enum tw_status status = tw_plan_balance(page->job, &balance, page->findings);

    if (status != TW_OK)
        return status;
    tw_text_print(&page->out,
                  "<table><caption>The knife</caption><thead><tr><th scope=\"col\">As</th><th scope=\"col\">Weighs</th>"
                  "<th scope=\"col\">Balances</th></tr></thead><tbody>\n");
    for (int stage = 0; stage < TW_STAGE_COUNT; stage++)
        if (has_stage(&balance, (enum tw_stage)stage))
            write_stage(page, &balance, (enum tw_stage)stage);
    tw_text_print(&page->out, "</tbody></table>\n");
    return TW_OK;
}

/* ---- from tip to butt ---- */

static void draw_profile(struct canvas *canvas, const struct tw_spine_view *view)
{
    canvas_path_open(canvas, "steel");
    for (size_t i = 0; i < view->point_count; i++)
        canvas_path_to(canvas, i > 0, view->points[i].x_mm, view->points[i].thickness_mm / 2.0);
    for (size_t i = view->point_count; i-- > 0;)
        canvas_path_to(canvas, true, view->points[i].x_mm, -view->points[i].thickness_mm / 2.0);
    tw_text_print(canvas->out, "z");
    canvas_path_close(canvas);
}

static void draw_labels(struct page *page, struct canvas *canvas, const struct tw_spine_view *view, double top,
                        double bottom)
{
    double last = -HUGE_VAL, end = canvas_x(canvas, view->points[view->point_count - 1].x_mm);
    double apart = canvas_label_px(canvas, "strong", page->inch ? "0.000" : "10.00") + CANVAS_LABEL_GAP_PX;

    for (size_t i = 0; i < view->point_count; i++) {
        const struct tw_spine_point *point = &view->points[i];
        double x = canvas_x(canvas, point->x_mm);
        bool is_last = i + 1 == view->point_count;

        if (!is_last && (x - last < apart || end - x < apart))
            continue;
        canvas_line(canvas, "ext", x, top, x, bottom);
        canvas_text(canvas, "strong", CANVAS_MIDDLE, x, top - 6.0, page->inch ? "%.3f" : "%.2f",
                    page->inch ? point->thickness_mm / 25.4 : point->thickness_mm);
        canvas_text(canvas, "tick", CANVAS_MIDDLE, x, bottom + 13.0, page->inch ? "%.1f" : "%.0f",
                    page->inch ? point->tip_mm / 25.4 : point->tip_mm);
        last = x;
    }
}

static void draw_whole(struct page *page, struct canvas *canvas, const void *what)
{
    const struct tw_spine_view *view = what;
    double from = view->points[0].x_mm, to = view->points[view->point_count - 1].x_mm, thick_mm = 0.0, high;

    for (size_t i = 0; i < view->point_count; i++)
        thick_mm = fmax(thick_mm, view->points[i].thickness_mm);
    canvas->scale = (canvas->width - 2.0 * EDGE_PX) / (to - from);
    canvas->stretch = fmax(1.0, floor(THICK_PX / (thick_mm * canvas->scale)));
    canvas->left = EDGE_PX;
    canvas->x0_mm = from;
    canvas->top = ABOVE_PX;
    canvas->y0_mm = thick_mm / 2.0;
    high = thick_mm * canvas->scale * canvas->stretch;
    canvas_begin(canvas, ABOVE_PX + high + 56.0,
                 "Thickness of the whole knife seen edge-on, from the tip on the left to the butt.");
    canvas_text(canvas, "", CANVAS_START, 4.0, 13.0, page->inch ? "thickness, in" : "thickness, mm");
    draw_profile(canvas, view);
    draw_labels(page, canvas, view, ABOVE_PX - 6.0, ABOVE_PX + high + 6.0);
    canvas_scale_bar(canvas, EDGE_PX, canvas->height - 8.0);
    canvas_text(canvas, "", CANVAS_END, canvas->width - 6.0, canvas->height - 4.0, "thickness \u00d7 %g",
                canvas->stretch);
    canvas_end(canvas);
}

static void write_step(struct page *page, double step_mm)
{
    tw_text_print(&page->out, ": a step of ");
    sheet_length(&page->out, page->inch, step_mm, SHEET_GAUGE);
    tw_text_print(&page->out, ".</p>\n");
}

static void write_breaks(struct page *page, const struct tw_spine_view *view)
{
    for (size_t i = 0; i < view->break_count; i++) {
        const struct tw_flow_break *found = &view->breaks[i];

        tw_text_print(&page->out, "<p>The line breaks ");
        write_place(page, found->x_mm);
        if (found->kind == TW_BREAK_STEP)
            write_step(page, found->amount);
        else
            tw_text_print(&page->out, ": a face turns by %.2f\u00b0.</p>\n", tw_degrees(found->amount));
    }
}

static enum tw_status write_line(struct page *page)
{
    struct tw_spine_view view;
    enum tw_status status = tw_spine_view(page->job, &view, page->findings);

    if (status != TW_OK)
        return status;
    if (view.point_count > 1)
        page_figure(page, "whole-line", "From tip to butt", "Numbers below: distance behind the tip.", draw_whole,
                    &view);
    write_breaks(page, &view);
    tw_spine_free(&view);
    return TW_OK;
}

enum tw_status section_balance(struct page *page)
{
    enum tw_status status = TW_OK;

    if (page->job->blank.mass_g > 0.0)
        status = write_stages(page);
    if (status == TW_OK && page->job->blade.distal.count > 0)
        status = write_line(page);
    return status;
}
