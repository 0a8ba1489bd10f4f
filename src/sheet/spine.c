/* spine.c - the tang seen from its spine, before and after, with its thickness at the gauge points. */
#include "sheet/sheet.h"

#include "tangwright/straight.h"
#include "tangwright/taper.h"

#include <math.h>
#include <stdio.h>

#define AHEAD_MM  22.0 /* of the blade */
#define BEHIND_MM 6.0
#define THICK_PX  64.0
#define ABOVE_PX  60.0
#define RAISED_PX 30.0 /* a second line of labels above the first */

enum { POINTS = 5 };

static double half_after_mm(const struct page *page, enum tw_side side, double x_mm)
{
    return tw_taper_half_mm(page->job, side, fmax(0.0, x_mm));
}

/* The finished tang's middle over the blade's centre plane: not everywhere 0 where a bowed blank lacks stock. */
static double middle_mm(const struct page *page, double x_mm)
{
    const struct tw_straight *straight = page->job->straight;

    return straight && x_mm > 0.0 ? straight->offset_mm + straight->tilt * x_mm : 0.0;
}

static void draw_after(struct page *page, struct canvas *canvas, double end_mm)
{
    /* Nothing comes off ahead of where the allowance is used up: a corner of its own. */
    double corner_mm = page->job->finish.allowance_mm / tw_face_of(page->job, TW_SIDE_A).slope;
    double xs[4] = { -AHEAD_MM, fmin(corner_mm, end_mm), end_mm, 0.0 };

    canvas_path_open(canvas, "steel");
    for (int i = 0; i < 3; i++)
        canvas_path_to(canvas, i > 0, xs[i], middle_mm(page, xs[i]) + half_after_mm(page, TW_SIDE_A, xs[i]));
    for (int i = 2; i >= 0; i--)
        canvas_path_to(canvas, true, xs[i], middle_mm(page, xs[i]) - half_after_mm(page, TW_SIDE_B, xs[i]));
    tw_text_print(canvas->out, "z");
    canvas_path_close(canvas);
}

enum { PIECES = 40 };

static double raw_mm(const struct page *page, int side, double x_mm)
{
    const struct tw_straight *straight = page->job->straight;

    return straight && x_mm > 0.0 ? tw_profile_mm(&straight->raw[side], x_mm) : page->job->taper.ricasso_mm / 2.0;
}

static void draw_before(struct page *page, struct canvas *canvas, double end_mm)
{
    canvas_path_open(canvas, "before");
    canvas_path_to(canvas, false, -AHEAD_MM, raw_mm(page, 0, -AHEAD_MM));
    for (int i = 0; i <= PIECES; i++)
        canvas_path_to(canvas, true, end_mm * i / PIECES, raw_mm(page, 0, end_mm * i / PIECES));
    for (int i = PIECES; i >= 0; i--)
        canvas_path_to(canvas, true, end_mm * i / PIECES, -raw_mm(page, 1, end_mm * i / PIECES));
    canvas_path_to(canvas, true, -AHEAD_MM, -raw_mm(page, 1, -AHEAD_MM));
    canvas_path_close(canvas);
}

/* ---- thickness at the gauge points ---- */

struct labels {
    int count;      /* of points, evenly spread */
    bool staggered; /* every second one stands higher */
};

static void thickness_label(const struct page *page, bool inch, double x_mm, char out[32])
{
    double thick_mm = tw_taper_thickness_mm(page->job, fmax(0.0, x_mm));

    snprintf(out, 32, inch ? "%.4f in" : "%.2f mm", inch ? thick_mm / 25.4 : thick_mm);
}

static double widest_label_px(const struct page *page, const struct canvas *canvas)
{
    char label[32];
    double widest = 0.0;

    for (int i = 0; i < POINTS; i++) {
        thickness_label(page, page->inch, tw_tang_end_mm(page->job) * i / (POINTS - 1), label);
        widest = fmax(widest, canvas_label_px(canvas, "strong", label));
        thickness_label(page, !page->inch, tw_tang_end_mm(page->job) * i / (POINTS - 1), label);
        widest = fmax(widest, canvas_label_px(canvas, "", label));
    }
    return widest;
}

/* All of them in one line, or in two, or else those of the middle and the ends, or of the ends alone. */
static struct labels labels_that_fit(const struct page *page, const struct canvas *canvas, double widest_px)
{
    double taper_px = tw_tang_end_mm(page->job) * canvas->scale, apart = taper_px / (POINTS - 1);
    double room = widest_px + CANVAS_LABEL_GAP_PX;

    if (apart >= room)
        return (struct labels){ POINTS, false };
    if (2.0 * apart >= room)
        return (struct labels){ POINTS, true };
    return (struct labels){ taper_px >= 2.0 * room ? 3 : 2, false };
}

static void draw_point(struct page *page, struct canvas *canvas, double x_mm, bool raised)
{
    double x = canvas_x(canvas, x_mm), half = page->spine_half_mm;
    double top = canvas_y(canvas, half) - 12.0 - (raised ? RAISED_PX : 0.0), bottom = canvas_y(canvas, -half) + 12.0;
    char label[32];

    canvas_line(canvas, "ext", x, top, x, bottom);
    thickness_label(page, page->inch, x_mm, label);
    canvas_text(canvas, "strong", CANVAS_MIDDLE, x, top - 20.0, "%s", label);
    thickness_label(page, !page->inch, x_mm, label);
    canvas_text(canvas, "", CANVAS_MIDDLE, x, top - 6.0, "%s", label);
    canvas_text(canvas, "tick", CANVAS_MIDDLE, x, bottom + 12.0, page->inch ? "%.2f" : "%.1f",
                page->inch ? x_mm / 25.4 : x_mm);
}

static void draw_points(struct page *page, struct canvas *canvas, const struct labels *labels)
{
    for (int i = 0; i < labels->count; i++)
        draw_point(page, canvas, tw_tang_end_mm(page->job) * i / (labels->count - 1), labels->staggered && i % 2 == 1);
}

/* ---- the figure ---- */

/* Left of the blade and right of the butt, where the last label hangs over. */
static void set_scale(struct canvas *canvas, double width_mm, double widest_px)
{
    double left = canvas->narrow ? 18.0 : 20.0, right = fmax(left, widest_px / 2.0 + 2.0);
    double room = canvas->width - left - right;

    canvas->scale = canvas->narrow ? room / width_mm : canvas_standard_scale(width_mm, room);
    canvas->left = left + (room - width_mm * canvas->scale) / 2.0;
}

static double highest_mm(const struct page *page, double end_mm)
{
    double half_mm = page->job->taper.ricasso_mm / 2.0;

    for (int i = 0; i <= 2 * PIECES; i++) /* a bowed blank reaches farther */
        half_mm = fmax(half_mm, raw_mm(page, i % 2, end_mm * (i / 2) / PIECES));
    return half_mm;
}

static void write_scales(struct canvas *canvas, double edge)
{
    char scale[24];

    canvas_scale_bar(canvas, edge, canvas->height - 8.0);
    canvas_scale_words(canvas->scale, scale);
    if (canvas->narrow)
        canvas_text(canvas, "", CANVAS_END, canvas->width - edge, canvas->height - 4.0, "thickness \u00d7 %g",
                    canvas->stretch);
    else
        canvas_text(canvas, "", CANVAS_END, canvas->width - edge, canvas->height - 4.0,
                    "thickness drawn \u00d7 %g of the length; length %s at 100 %%", canvas->stretch, scale);
}

static void draw_spine(struct page *page, struct canvas *canvas, const void *what)
{
    double end_mm = tw_tang_end_mm(page->job), half_mm = highest_mm(page, end_mm),
           widest_px = widest_label_px(page, canvas);
    double high_px;
    struct labels labels;

    (void)what;
    set_scale(canvas, AHEAD_MM + end_mm + BEHIND_MM, widest_px);
    labels = labels_that_fit(page, canvas, widest_px);
    page->spine_half_mm = half_mm;
    canvas->stretch = fmax(1.0, floor(THICK_PX / (2.0 * half_mm * canvas->scale)));
    canvas->x0_mm = -AHEAD_MM;
    canvas->top = ABOVE_PX + (labels.staggered ? RAISED_PX : 0.0);
    canvas->y0_mm = half_mm;
    high_px = 2.0 * half_mm * canvas->scale * canvas->stretch;
    canvas_begin(canvas, canvas->top + high_px + 64.0,
                 "Thickness along the tang, from the ricasso to the butt, with the blank around it.");
    draw_after(page, canvas, end_mm);
    draw_before(page, canvas, end_mm);
    canvas_line(canvas, "centre", canvas_x(canvas, -AHEAD_MM) - 6.0, canvas_y(canvas, 0.0),
                canvas_x(canvas, end_mm) + 12.0, canvas_y(canvas, 0.0));
    draw_points(page, canvas, &labels);
    canvas_text(canvas, "", CANVAS_START, canvas_x(canvas, -AHEAD_MM) + 3.0, canvas_y(canvas, half_mm) - 4.0, "A");
    canvas_text(canvas, "", CANVAS_START, canvas_x(canvas, -AHEAD_MM) + 3.0, canvas_y(canvas, -half_mm) + 13.0, "B");
    write_scales(canvas, canvas->narrow ? 18.0 : 20.0);
    canvas_end(canvas);
}

enum tw_status section_spine(struct page *page)
{
    page_figure(
        page, "spine-view", "Thickness, seen edge-on",
        "Dashed: the blank. Dash-dotted: the blade\u2019s centre plane. Numbers below: distance from the taper start.",
        draw_spine, NULL);
    return TW_OK;
}
