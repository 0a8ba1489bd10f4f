/* fixture.c - a part as it lies on its designed plate, side A and side B up. */
#include "sheet/sheet.h"

#include "geometry/ring.h"

#include <math.h>
#include <stdio.h>

#define EDGE_PX  12.0
#define PUSH_PX  34.0
#define ABOVE_PX 40.0
#define BELOW_PX 62.0
#define SIDE_PX  92.0 /* the view from the edge, below the one from above */

/* The whole plate of one station, or of a long knife the tang's end alone at a larger scale. */
struct lying {
    enum tw_side side;
    bool end_only;
};

/* As much of the plate as a page takes at 1:1. */
#define END_LONG_MM  170.0
#define END_AHEAD_MM 25.0

/* The part frame of side B is mirrored. */
static double sign_of(enum tw_side side)
{
    return side == TW_SIDE_A ? 1.0 : -1.0;
}

static void draw_ring(struct canvas *canvas, const char *class, const struct tw_ring *ring, double sign)
{
    canvas_path_open(canvas, class);
    for (size_t i = 0; i < ring->count; i++)
        canvas_path_to(canvas, i > 0, ring->points[i].x_mm, sign * ring->points[i].y_mm);
    tw_text_print(canvas->out, "z");
    canvas_path_close(canvas);
}

static void draw_rect(struct canvas *canvas, const char *class, struct tw_rect rect)
{
    canvas_box(canvas, class, canvas_x(canvas, rect.x0_mm), canvas_y(canvas, rect.y1_mm),
               (rect.x1_mm - rect.x0_mm) * canvas->scale, (rect.y1_mm - rect.y0_mm) * canvas->scale);
}

static void draw_dowel(const struct page *page, struct canvas *canvas, const struct tw_stop *stop, double sign,
                       bool empty)
{
    canvas_circle(canvas, empty ? "before" : "pin", canvas_x(canvas, stop->centre.x_mm),
                  canvas_y(canvas, sign * stop->centre.y_mm), page->design->dowel_mm / 2.0 * canvas->scale);
}

/* The stop's name over it or under it: away from the blank, and that of a stop at an end away from those at the edge. */
static void name_stop(struct canvas *canvas, const struct tw_stop *stop, bool over, double sign, const char *name)
{
    double x = canvas_x(canvas, stop->centre.x_mm), y = canvas_y(canvas, sign * stop->centre.y_mm);
    double half = canvas_label_px(canvas, "halo", name) / 2.0;

    if (x < 0.0)
        return; /* ahead of what is shown */
    y += over ? -14.0 : 26.0;
    canvas_words(canvas, "halo", CANVAS_MIDDLE, fmin(fmax(x, half + 2.0), canvas->width - half - 2.0), y, name);
}

static void draw_push(const struct page *page, struct canvas *canvas, double sign)
{
    const struct tw_seating *seating = &page->design->seating;
    double x = canvas_x(canvas, seating->push_at.x_mm), y = canvas_y(canvas, sign * seating->push_at.y_mm);
    double way_x = seating->push_way.x_mm, way_y = -sign * seating->push_way.y_mm; /* px fall downwards */

    if (x < PUSH_PX)
        return; /* ahead of what is shown */

    canvas_line(canvas, "stack", x - PUSH_PX * way_x, y - PUSH_PX * way_y, x, y);
    canvas_arrow(canvas, x, y, way_x, way_y);
    canvas_words(canvas, "halo", CANVAS_END, x - PUSH_PX * way_x - 5.0, y - PUSH_PX * way_y + 4.0, "push");
}

static void draw_stops(const struct page *page, struct canvas *canvas, enum tw_side side)
{
    const struct tw_fixture_design *design = page->design;
    bool edge_is_up = sign_of(side) * design->edge > 0.0;

    for (int i = 0; i < TW_STOP_COUNT; i++) {
        const struct tw_stop *stop = &design->stops[i];

        if (!stop->both)
            draw_dowel(page, canvas, stop, -sign_of(side), true);
        draw_dowel(page, canvas, stop, sign_of(side), false);
        name_stop(canvas, stop, edge_is_up == (i != TW_STOP_END), sign_of(side), tw_stop_name(i));
    }
    if (design->has_catch) {
        draw_dowel(page, canvas, &design->catch_pin, sign_of(side), false);
        name_stop(canvas, &design->catch_pin, !edge_is_up, sign_of(side), "catch pin");
    }
}

/* ---- from the edge: pad, rest, blank, and the stops' height; heights larger than lengths ---- */

static void height_line(struct canvas *canvas, const char *class, double from_mm, double from_z, double to_mm,
                        double to_z)
{
    canvas_line(canvas, class, canvas_x(canvas, from_mm), from_z, canvas_x(canvas, to_mm), to_z);
}

static void draw_from_edge(const struct page *page, struct canvas *canvas, enum tw_side side, double top)
{
    const struct tw_fixture_design *design = page->design;
    const struct tw_job *job = page->job;
    double tall = 40.0 / job->taper.ricasso_mm, floor_px = top + 44.0, end_mm = job->placement.butt.x_mm;
    double front_mm = fmax(design->pad.x0_mm, tw_ring_box(&design->blank.outer).min_x_mm);
    double low_mm = side == TW_SIDE_A ? 0.0 : tw_taper_packing_mm(job, TW_SIDE_B, end_mm);
    double rest0 = tw_fixture_rest_mm(design, side, design->rest.x0_mm);
    double rest1 = tw_fixture_rest_mm(design, side, design->rest.x1_mm);

    height_line(canvas, "edge", front_mm, floor_px - tall * job->taper.ricasso_mm, end_mm,
                floor_px - tall * job->taper.ricasso_mm);
    height_line(canvas, "finish", 0.0, floor_px - tall * job->taper.ricasso_mm, end_mm,
                floor_px - tall * (job->taper.ricasso_mm - design->slope * end_mm + design->drop_mm));
    height_line(canvas, "edge", front_mm, floor_px, fmin(0.0, end_mm), floor_px);
    height_line(canvas, "edge", 0.0, floor_px, end_mm, floor_px - tall * low_mm);
    tw_text_print(canvas->out, "<path class=\"packing\" d=\"M%.1f %.1fL%.1f %.1fL%.1f %.1fL%.1f %.1fz\"/>\n",
                  canvas_x(canvas, design->rest.x0_mm), floor_px + 12.0, canvas_x(canvas, design->rest.x0_mm),
                  floor_px - tall * rest0, canvas_x(canvas, design->rest.x1_mm), floor_px - tall * rest1,
                  canvas_x(canvas, design->rest.x1_mm), floor_px + 12.0);
    canvas_box(canvas, "pad", canvas_x(canvas, design->pad.x0_mm), floor_px,
               (design->pad.x1_mm - design->pad.x0_mm) * canvas->scale, 12.0);
    if (design->has_support)
        canvas_box(canvas, "pad", canvas_x(canvas, design->support.x0_mm), floor_px,
                   (design->support.x1_mm - design->support.x0_mm) * canvas->scale, 12.0);
    for (int i = 0; i < TW_STOP_COUNT; i++) {
        const struct tw_stop *stop = &design->stops[i];
        double height = tall * stop->top_mm + 12.0;

        canvas_box(canvas, "pin", canvas_x(canvas, stop->centre.x_mm - design->dowel_mm / 2.0),
                   floor_px + 12.0 - height, design->dowel_mm * canvas->scale, height);
    }
}

/* Where the drawing begins, along the tang. */
static double view_from_mm(const struct tw_fixture_design *design, bool end_only)
{
    return end_only ? fmax(design->plate.x0_mm, fmin(design->plate.x1_mm - END_LONG_MM, -END_AHEAD_MM))
                    : design->plate.x0_mm;
}

static void set_scale(const struct page *page, struct canvas *canvas, bool end_only)
{
    const struct tw_fixture_design *design = page->design;
    double from_mm = view_from_mm(design, end_only), wide_mm = design->plate.x1_mm - from_mm;
    double room = canvas->width - 2.0 * EDGE_PX;

    canvas->scale = canvas->narrow ? room / wide_mm : canvas_standard_scale(wide_mm, room);
    canvas->left = (canvas->width - wide_mm * canvas->scale) / 2.0;
    canvas->top = ABOVE_PX;
    canvas->x0_mm = from_mm;
    canvas->y0_mm = design->plate.y1_mm - design->pitch_mm * (design->station_count - 1);
}

static void draw_from_above(const struct page *page, struct canvas *canvas, enum tw_side side)
{
    const struct tw_fixture_design *design = page->design;
    struct tw_rect plate = { canvas->x0_mm, design->plate.y0_mm, design->plate.x1_mm, canvas->y0_mm };

    draw_rect(canvas, "plate", plate);
    draw_rect(canvas, "pad", design->pad);
    draw_rect(canvas, "packing", design->rest);
    if (design->has_support)
        draw_rect(canvas, "pad", tw_fixture_support(design, side));
    draw_ring(canvas, "steel", &design->blank.outer, sign_of(side));
    for (size_t i = 0; i < design->blank.hole_count; i++)
        draw_ring(canvas, "blade", &design->blank.holes[i], sign_of(side));
    for (int edge = -1; edge <= 1; edge += 2)
        canvas_line(canvas, "before", canvas_x(canvas, design->rest.x0_mm), canvas_y(canvas, edge * design->rest.y1_mm),
                    canvas_x(canvas, design->rest.x1_mm), canvas_y(canvas, edge * design->rest.y1_mm));
    if (design->has_support)
        draw_rect(canvas, "before", tw_fixture_support(design, side));
    if (design->has_clamp)
        draw_rect(canvas, "clamp", design->clamp);
    draw_push(page, canvas, sign_of(side));
    draw_stops(page, canvas, side);
    canvas_zero(canvas, canvas_x(canvas, 0.0), canvas_y(canvas, 0.0));
}

static void draw_lying(struct page *page, struct canvas *canvas, const void *what)
{
    const struct lying *lying = what;
    double high_px;

    set_scale(page, canvas, lying->end_only);
    high_px = (canvas->y0_mm - page->design->plate.y0_mm) * canvas->scale;
    canvas_begin(canvas, ABOVE_PX + high_px + SIDE_PX + BELOW_PX,
                 lying->side == TW_SIDE_A ? "The part on pad, rest and stops from above and from the edge, side A up."
                                          : "The part on pad, rest and stops from above and from the edge, side B up.");
    canvas_frame_open(canvas, 0.0, ABOVE_PX + high_px + 30.0);
    draw_from_above(page, canvas, lying->side);
    canvas_frame_close(canvas);
    canvas_frame_open(canvas, ABOVE_PX + high_px + 30.0, SIDE_PX - 30.0);
    draw_from_edge(page, canvas, lying->side, ABOVE_PX + high_px + 34.0);
    canvas_frame_close(canvas);
    canvas_text(canvas, "", CANVAS_START, EDGE_PX, ABOVE_PX + high_px + SIDE_PX + 18.0, "%s",
                "below: from the edge, heights drawn larger");
    canvas_end_to_scale(canvas, EDGE_PX, 12.0);
}

enum tw_status section_fixture_lying(struct page *page)
{
    static const struct lying sides[4] = {
        { TW_SIDE_A, false }, { TW_SIDE_A, true }, { TW_SIDE_B, false }, { TW_SIDE_B, true }
    };
    bool is_long = page->design->plate.x1_mm - page->design->plate.x0_mm > END_LONG_MM + 3.0;

    page_figure(
        page, "lying-a", "Side A up",
        "Rest A, level with the pad. Broken rings are empty holes: the stops of side B. The broken red line is the "
        "finished face.",
        draw_lying, &sides[0]);
    if (is_long)
        page_figure(page, "end-a", "Side A up, the tang\u2019s end", "The same, larger.", draw_lying, &sides[1]);
    page_figure(page, "lying-b", "Side B up",
                "Rest B, which rises with the ground face. The blank is rolled over about its length, and the stops "
                "are moved to their twins.",
                draw_lying, &sides[2]);
    if (is_long)
        page_figure(page, "end-b", "Side B up, the tang\u2019s end", "The same, larger.", draw_lying, &sides[3]);
    return TW_OK;
}
