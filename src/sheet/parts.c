/* parts.c - all parts of a fixture from above, each with its number and work offset. */
#include "sheet/sheet.h"

#include "geometry/ring.h"
#include "tangwright/warm.h"
#include "tangwright/contacts.h"
#include "tangwright/rs274.h"

#include <math.h>

#define EDGE_PX   10.0
#define AROUND_MM 12.0
/* Of a longer blade only this much is drawn where no keep-out reaches farther. */
#define BLADE_MM 60.0
/* What is longer reaches over all the parts, and is drawn once. */
#define SMALL_MM 60.0
/* A page of paper, or a screen of a telephone, has room for the figure. */
#define HIGH_WIDE_PX   640.0
#define HIGH_NARROW_PX 220.0

/* A station's zero, less the first one's, in the setup frame. */
static struct tw_point place_of(const struct page *page, int part)
{
    double first[3], own[3];

    tw_trace_origin(&page->job->machine, &page->job->fixture.stations[0], first);
    tw_trace_origin(&page->job->machine, &page->job->fixture.stations[part], own);
    return (struct tw_point){ own[0] - first[0], own[1] - first[1] };
}

static bool is_small(const struct tw_box *box)
{
    return box->max_y_mm - box->min_y_mm <= SMALL_MM && box->max_x_mm - box->min_x_mm <= SMALL_MM;
}

static void widen(struct tw_box *view, const struct tw_box *box, struct tw_point at)
{
    view->min_x_mm = fmin(view->min_x_mm, box->min_x_mm + at.x_mm);
    view->max_x_mm = fmax(view->max_x_mm, box->max_x_mm + at.x_mm);
    view->min_y_mm = fmin(view->min_y_mm, box->min_y_mm + at.y_mm);
    view->max_y_mm = fmax(view->max_y_mm, box->max_y_mm + at.y_mm);
}

static void widen_to_part(const struct page *page, const struct sheet_side *side, struct tw_point at,
                          struct tw_box *view)
{
    struct tw_box tang = tw_ring_box(&side->tang.outer), blade = tw_ring_box(&side->blade.outer);

    widen(view, &tang, at);
    if (side->blade.outer.count > 0) {
        blade.min_x_mm = fmax(blade.min_x_mm, -BLADE_MM);
        widen(view, &blade, at);
    }
    for (size_t i = 0; i < page->job->fixture.keep_out_count; i++) {
        struct tw_box box = tw_ring_box(&page->job->fixture.keep_outs[i].plan);

        if (!is_small(&box)) /* how far along, not how far across */
            box.min_y_mm = box.max_y_mm = 0.0;
        widen(view, &box, at);
    }
}

static struct tw_box view_of(const struct page *page, const struct sheet_side *side)
{
    struct tw_box view = { HUGE_VAL, HUGE_VAL, -HUGE_VAL, -HUGE_VAL };

    for (int part = 0; part < page->job->parts; part++)
        widen_to_part(page, side, place_of(page, part), &view);
    view.min_x_mm -= AROUND_MM;
    view.min_y_mm -= AROUND_MM;
    view.max_x_mm += AROUND_MM;
    view.max_y_mm += AROUND_MM;
    return view;
}

/* ---- drawing ---- */

/* To where that part lies; the canvas then takes the part's own coordinates. */
static void move_to(struct canvas *canvas, const struct tw_box *view, struct tw_point at)
{
    canvas->x0_mm = view->min_x_mm - at.x_mm;
    canvas->y0_mm = view->max_y_mm - at.y_mm;
}

static void draw_keep_outs(const struct page *page, struct canvas *canvas, enum tw_side side, bool first)
{
    for (size_t i = 0; i < page->job->fixture.keep_out_count; i++) {
        const struct tw_keep_out *keep_out = &page->job->fixture.keep_outs[i];
        struct tw_box box = tw_ring_box(&keep_out->plan);

        if (!tw_keep_out_in_place(keep_out, side) || (!first && !is_small(&box)))
            continue;
        canvas_path_open(canvas, keep_out_class(keep_out->kind));
        canvas_path_ring(canvas, &keep_out->plan);
        canvas_path_close(canvas);
    }
}

static void draw_part(const struct page *page, struct canvas *canvas, const struct sheet_side *side, int part)
{
    struct tw_box tang = tw_ring_box(&side->tang.outer);
    double x = canvas_x(canvas, 0.0), y = canvas_y(canvas, 0.0);
    double middle = canvas_x(canvas, (tang.min_x_mm + tang.max_x_mm) / 2.0);

    canvas_outline(canvas, "blade", &side->blade);
    canvas_outline(canvas, "steel", &side->tang);
    draw_keep_outs(page, canvas, side->setup->face.side, part == 0);
    canvas_zero(canvas, x, y);
    canvas_balloon(canvas, middle, y, (size_t)part + 1);
    canvas_text(canvas, "halo", CANVAS_START, middle + 13.0, y + 4.0, "%s",
                tw_rs274_system_name(page->job->fixture.stations[part].work_offset));
}

static void set_scale(struct canvas *canvas, const struct tw_box *view)
{
    double wide_mm = view->max_x_mm - view->min_x_mm, high_mm = view->max_y_mm - view->min_y_mm;
    double wide_px = canvas->width - 2.0 * EDGE_PX, high_px = canvas->narrow ? HIGH_NARROW_PX : HIGH_WIDE_PX;

    canvas->scale = canvas->narrow
                        ? fmin(wide_px / wide_mm, high_px / high_mm)
                        : fmin(canvas_standard_scale(wide_mm, wide_px), canvas_standard_scale(high_mm, high_px));
    canvas->left = (canvas->width - wide_mm * canvas->scale) / 2.0;
}

static void draw_parts(struct page *page, struct canvas *canvas, const void *what)
{
    const struct sheet_side *side = what;
    struct tw_box view = view_of(page, side);
    double high_px;

    set_scale(canvas, &view);
    high_px = (view.max_y_mm - view.min_y_mm) * canvas->scale;
    canvas->top = 6.0;
    canvas_begin(canvas, canvas->top + high_px + 28.0,
                 "All parts on the fixture from above, side A up, each with its number and its work offset.");
    canvas_frame_open(canvas, canvas->top, high_px);
    for (int part = 0; part < page->job->parts; part++) {
        move_to(canvas, &view, place_of(page, part));
        draw_part(page, canvas, side, part);
    }
    canvas_frame_close(canvas);
    canvas_end_to_scale(canvas, EDGE_PX, 8.0);
}

void write_parts(struct page *page)
{
    page_figure(page, "parts", "All parts, side A up",
                "From above, with the zero, number and work offset of each. The drawings after this one show part 1.",
                draw_parts, &page->sides[0]);
}
