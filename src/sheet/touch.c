/* touch.c - how to touch off the wheel of the first program: up, along and across, each with a drawing. */
#include "sheet/sheet.h"

#include "base/numbers.h"

#include <stdio.h>

/* A panel's room, and what is drawn in it; not to scale. */
#define PANEL_PX  145.0
#define HIGH_PX   128.0
#define WHEEL_PX  34.0 /* radius from above */
#define FEELER_PX 5.0
#define EDGE_PX   14.0

struct panel {
    double x, y; /* its left upper corner */
};

static bool is_cup(const struct page *page)
{
    return page->sides[0].wheel->kind == TW_WHEEL_CUP;
}

static void heading(struct canvas *canvas, const struct panel *at, const char *way, const struct tw_axis *axis)
{
    canvas_text(canvas, "strong", CANVAS_START, at->x, at->y + 12.0, "%s: %c", way, axis->letter);
}

/* The wheel above what it is touched off on, seen from the side, with the feeler between. */
static void draw_up(const struct page *page, struct canvas *canvas, struct panel at)
{
    double middle = at.x + PANEL_PX / 2.0, floor = at.y + HIGH_PX - 34.0, low = floor - FEELER_PX;
    bool on_pad = page->job->taper.zero == TW_ZERO_PAD;

    heading(canvas, &at, "Up", &page->job->machine.up);
    canvas_box(canvas, on_pad ? "pad" : "steel", middle - 66.0, floor, 132.0, EDGE_PX);
    canvas_box(canvas, "packing", middle - 62.0, low, 124.0, FEELER_PX);
    if (is_cup(page)) {
        canvas_box(canvas, "plate", middle - 40.0, low - 36.0, 80.0, 36.0);
        canvas_line(canvas, "centre", middle, low - 62.0, middle, low + 3.0);
    } else {
        canvas_circle(canvas, "plate", middle, low - WHEEL_PX, WHEEL_PX);
        canvas_line(canvas, "centre", middle, low - 2.0 * WHEEL_PX - 6.0, middle, low + 3.0);
    }
    canvas_arrow(canvas, middle + 56.0, low - 3.0, 0.0, 1.0);
    canvas_line(canvas, "dim", middle + 56.0, low - 30.0, middle + 56.0, low - 8.0);
    canvas_words(canvas, "", CANVAS_MIDDLE, middle, floor + EDGE_PX + 15.0, on_pad ? "datum pad" : "ricasso");
}

/* From above against a straight edge: half the wheel and the feeler from there to the programmed point. */
static void draw_beside(const struct page *page, struct canvas *canvas, struct panel at, double half_mm)
{
    double left = at.x + 30.0, middle = at.y + 58.0, from = left + EDGE_PX, centre = from + FEELER_PX + WHEEL_PX;
    char label[48], number[32];

    canvas_box(canvas, "steel", left, middle - 40.0, EDGE_PX, 80.0);
    canvas_box(canvas, "packing", from, middle - 20.0, FEELER_PX, 40.0);
    canvas_circle(canvas, "plate", centre, middle, WHEEL_PX);
    canvas_circle(canvas, "wheel", centre, middle, WHEEL_PX - 9.0);
    canvas_zero(canvas, centre, middle);
    if (page->inch)
        snprintf(number, sizeof number, "%.4f in", half_mm / 25.4);
    else
        snprintf(number, sizeof number, "%.2f mm", half_mm);
    snprintf(label, sizeof label, "%s + f", number);
    canvas_dimension_across(canvas, from, centre, at.y + HIGH_PX - 6.0, middle + 42.0, label);
}

/* The flank of a disc, from above. */
static void draw_flank(const struct page *page, struct canvas *canvas, struct panel at, double half_mm)
{
    double left = at.x + 30.0, middle = at.y + 58.0, from = left + EDGE_PX, centre = from + FEELER_PX + 12.0;
    char label[48];

    canvas_box(canvas, "steel", left, middle - 40.0, EDGE_PX, 80.0);
    canvas_box(canvas, "packing", from, middle - 20.0, FEELER_PX, 40.0);
    canvas_box(canvas, "plate", from + FEELER_PX, middle - 42.0, 24.0, 84.0);
    canvas_zero(canvas, centre, middle);
    if (page->inch)
        snprintf(label, sizeof label, "%.4f in + f", half_mm / 25.4);
    else
        snprintf(label, sizeof label, "%.2f mm + f", half_mm);
    canvas_dimension_across(canvas, from, centre, at.y + HIGH_PX - 6.0, middle + 44.0, label);
}

/* A disc's lowest point over the line where the taper starts, from the side. */
static void draw_line(struct canvas *canvas, struct panel at)
{
    double middle = at.x + PANEL_PX / 2.0, floor = at.y + HIGH_PX - 34.0;

    canvas_box(canvas, "steel", middle - 66.0, floor, 132.0, EDGE_PX);
    canvas_circle(canvas, "plate", middle, floor - WHEEL_PX - 6.0, WHEEL_PX);
    canvas_line(canvas, "centre", middle, at.y + 22.0, middle, floor + EDGE_PX + 2.0);
    canvas_words(canvas, "", CANVAS_MIDDLE, middle, floor + EDGE_PX + 15.0, "line at the taper start");
}

static void draw_touch(struct page *page, struct canvas *canvas, const void *what)
{
    const struct tw_wheel *wheel = what;
    struct panel up = { 10.0, 0.0 }, along = up, across = up;

    if (canvas->narrow) {
        along.y = HIGH_PX + 10.0;
        across.y = 2.0 * along.y;
    } else {
        along.x += PANEL_PX;
        across.x += 2.0 * PANEL_PX;
        canvas->width = 3.0 * PANEL_PX + 50.0; /* the last label reaches beyond its panel */
    }
    canvas_begin(
        canvas, (canvas->narrow ? across.y : 0.0) + HIGH_PX + 4.0,
        "The wheel over the face that is zero; and beside a straight edge, half its size and a feeler from it.");
    draw_up(page, canvas, up);
    heading(canvas, &along, "Along", &page->job->machine.along);
    if (is_cup(page))
        draw_beside(page, canvas, along, wheel->diameter_mm / 2.0);
    else
        draw_line(canvas, along);
    heading(canvas, &across, "Across", &page->job->machine.across);
    if (is_cup(page))
        draw_beside(page, canvas, across, wheel->diameter_mm / 2.0);
    else
        draw_flank(page, canvas, across, wheel->width_mm / 2.0);
    canvas_end(canvas);
}

/* What a mistake of the zero does to the finished face. */
static void write_mistakes(struct page *page, struct tw_text *out)
{
    const struct tw_face *face = &page->sides[0].setup->face;
    double along_mm = page->inch ? 0.01 * TW_MM_PER_INCH : 0.1;

    tw_text_print(out, " An error up goes straight into the face; one along ");
    if (page->job->mount == TW_MOUNT_TILTED) {
        tw_text_print(out, "only moves where the wheel turns.");
    } else {
        tw_text_print(out, "of ");
        sheet_length_short(out, page->inch, along_mm, SHEET_RULE);
        tw_text_print(out, " comes to ");
        sheet_length_short(out, page->inch, along_mm * face->slope, SHEET_BLOCKS);
        tw_text_print(out, " there.");
    }
}

static const char *programmed_point(const struct tw_wheel *wheel)
{
    return wheel->kind == TW_WHEEL_CUP ? "the centre of the rim\u2019s face"
                                       : "the wheel\u2019s lowest point at mid-width";
}

/* How far from the straight edge the other wheel of the job stands, which is not drawn. */
static void write_other(struct page *page, struct tw_text *out)
{
    const struct tw_wheel *wheel = page->sides[0].wheel;
    const struct sheet_side *other = page_other_wheel(page);

    if (!other)
        return;
    tw_text_print(out, " The other wheel alike: ");
    sheet_escape(out, other->wheel->name);
    tw_text_print(out, " stands ");
    sheet_length(out, page->inch,
                 (other->wheel->kind == TW_WHEEL_CUP ? other->wheel->diameter_mm : other->wheel->width_mm) / 2.0,
                 SHEET_GAUGE);
    tw_text_print(out, " and f away%s%s; touch off anew after each change.",
                  other->wheel->kind == wheel->kind ? "" : ", by ",
                  other->wheel->kind == wheel->kind ? "" : programmed_point(other->wheel));
}

enum tw_status section_touch(struct page *page)
{
    const struct tw_wheel *wheel = page->sides[0].wheel;
    struct tw_text caption = { 0 };

    tw_text_print(&caption,
                  "Spindle off and locked. Between wheel and steel a feeler or a strip of paper, f thick, just drags. "
                  "Up, the programmed point, %s, is then f above zero. ",
                  programmed_point(wheel));
    if (wheel->kind == TW_WHEEL_CUP)
        tw_text_print(&caption,
                      "Along and across it is half the measured diameter and f from a straight edge whose place you "
                      "know.");
    else
        tw_text_print(
            &caption,
            "Across it is half the wheel\u2019s width and f from a straight edge whose place you know; along, "
            "a line that you can see will do.");
    write_other(page, &caption);
    write_mistakes(page, &caption);
    if (!caption.failed)
        page_figure(page, "touch-off", "Touching the wheel off", caption.data, draw_touch, wheel);
    page->out.failed |= caption.failed;
    tw_text_free(&caption);
    return TW_OK;
}
