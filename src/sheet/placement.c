/* placement.c - how the knife lies with side A up: the drawing with its dimensions on it, and the same in words. It heads
 * the sheet, for all that follows is right only if the knife lies so. */
#include "sheet/sheet.h"

#include "geometry/ring.h"

#include <math.h>
#include <stdio.h>

#define EDGE_PX      14.0
#define BESIDE_PX    6.0  /* between the drawing and the words above and below it */
#define DIMENSION_PX 25.0 /* from one dimension to the next */
#define LABEL_SIZE   160
/* So that a short tang does not fill the page. */
#define LARGEST_PX_PER_MM 4.0

/* What is drawn: extents in mm. */
struct extent {
    double from_x, to_x, from_y, to_y;
};

static struct extent extent_of(const struct tw_part *part)
{
    struct tw_box tang = tw_ring_box(&part->tang.outer), blade = tang;

    if (part->blade.outer.count > 0)
        blade = tw_ring_box(&part->blade.outer);
    return (struct extent){ fmin(tang.min_x_mm, blade.min_x_mm), fmax(tang.max_x_mm, blade.max_x_mm),
                            fmin(tang.min_y_mm, blade.min_y_mm), fmax(tang.max_y_mm, blade.max_y_mm) };
}

/* ---- labels ---- */

static void length_label(const struct page *page, double mm, char *out, size_t size)
{
    snprintf(out, size, page->inch ? "%.2f in" : "%.1f mm", page->inch ? mm / 25.4 : mm);
}

static const char *ahead_name(const struct tw_placement *placement)
{
    static const char *const names[] = {
        [TW_SHOWN_TANG] = "ricasso", [TW_SHOWN_PART] = "steel", [TW_SHOWN_KNIFE] = "blade"
    };

    return names[placement->shown];
}

/* "spine (up in the drawing)" or "drawing +y (up)" */
static void side_label(const struct tw_placement *placement, int side, char out[LABEL_SIZE])
{
    snprintf(out, LABEL_SIZE, placement->spine != 0 ? "%s (%s in the drawing)" : "%s (%s)",
             tw_placement_side(placement, side), tw_placement_towards(placement, 0.0, side));
}

static char sign_of(int sign)
{
    return sign < 0 ? '-' : '+';
}

/* Words centred at x as far as they stay within the frame. */
static void centred(struct canvas *canvas, const char *class, double x, double y, const char *words)
{
    double half = canvas_label_px(canvas, class, words) / 2.0;

    x = fmin(fmax(x, half + 2.0), canvas->width - half - 2.0);
    canvas_words(canvas, class, CANVAS_MIDDLE, x, y, words);
}

/* ---- the figure ---- */

static void set_scale(struct canvas *canvas, const struct extent *extent)
{
    double long_mm = extent->to_x - extent->from_x, room = canvas->width - 2.0 * EDGE_PX;

    canvas->scale = fmin(room / long_mm, LARGEST_PX_PER_MM);
    canvas->left = (canvas->width - long_mm * canvas->scale) / 2.0;
    canvas->x0_mm = extent->from_x;
    canvas->y0_mm = extent->to_y;
}

/* Above: which long edge is here, and the taper start with its width. */
static void draw_above(const struct page *page, struct canvas *canvas, double bottom)
{
    const struct tw_placement *placement = &page->job->placement;
    const struct tw_axis *across = &page->job->machine.across;
    double line = canvas_line_px(canvas), start = canvas_x(canvas, 0.0);
    char side[LABEL_SIZE], label[LABEL_SIZE + 8], width[32];

    side_label(placement, 1, side);
    snprintf(label, sizeof label, "%c%c: %s", sign_of(across->sign), across->letter, side);
    centred(canvas, "strong", canvas->width / 2.0, line - 2.0, label);
    length_label(page, placement->width_mm, width, sizeof width);
    snprintf(label, sizeof label, "taper start, %s wide", width);
    centred(canvas, "", start, 2.0 * line, label);
    canvas_line(canvas, "centre", start, 2.0 * line + 4.0, start, bottom);
}

/* Below: the ends and the other long edge. */
static void draw_below(const struct page *page, struct canvas *canvas, const struct extent *extent, double y)
{
    const struct tw_placement *placement = &page->job->placement;
    const struct tw_axis *along = &page->job->machine.along;
    const char *front = placement->shown == TW_SHOWN_KNIFE ? "tip" : "front";
    char side[LABEL_SIZE];

    canvas_words(canvas, "strong", CANVAS_START, canvas_x(canvas, extent->from_x), y, front);
    canvas_text(canvas, "strong", CANVAS_END, canvas_x(canvas, extent->to_x), y, "butt %c%c", sign_of(along->sign),
                along->letter);
    side_label(placement, -1, side);
    centred(canvas, "", canvas->width / 2.0, y + canvas_line_px(canvas), side);
}

/* Its label stands over it, and reaches out on both sides where it is short. */
static void dimension(struct canvas *canvas, double x1, double x2, double y, const char *label)
{
    canvas_line(canvas, "ext", x1, y - 5.0, x1, y + 5.0);
    canvas_line(canvas, "ext", x2, y - 5.0, x2, y + 5.0);
    canvas_line(canvas, "dim", x1, y, x2, y);
    if (x2 - x1 >= 18.0) {
        canvas_arrow(canvas, x1, y, -1.0, 0.0);
        canvas_arrow(canvas, x2, y, 1.0, 0.0);
    }
    centred(canvas, "halo", (x1 + x2) / 2.0, y - 6.0, label);
}

/* One above the other, so that their labels never meet. */
static void draw_dimensions(const struct page *page, struct canvas *canvas, const struct extent *extent, double y)
{
    const struct tw_placement *placement = &page->job->placement;
    char value[32], label[64];

    length_label(page, placement->behind_mm, value, sizeof value);
    snprintf(label, sizeof label, "tang %s", value);
    dimension(canvas, canvas_x(canvas, 0.0), canvas_x(canvas, extent->to_x), y, label);
    if (placement->ahead_mm < 0.05)
        return;
    length_label(page, placement->ahead_mm, value, sizeof value);
    snprintf(label, sizeof label, "%s %s", ahead_name(placement), value);
    dimension(canvas, canvas_x(canvas, extent->from_x), canvas_x(canvas, 0.0), y + DIMENSION_PX, label);
}

static void draw_placement(struct page *page, struct canvas *canvas, const void *what)
{
    const struct tw_part *part = &page->job->part;
    struct extent extent = extent_of(part);
    double line = canvas_line_px(canvas), bottom, words, dimensions;

    (void)what;
    set_scale(canvas, &extent);
    canvas->top = 2.0 * line + 4.0 + BESIDE_PX;
    bottom = canvas->top + (extent.to_y - extent.from_y) * canvas->scale;
    words = bottom + BESIDE_PX + line - 2.0;
    dimensions = words + line + DIMENSION_PX + 4.0;
    canvas_begin(canvas, dimensions + (page->job->placement.ahead_mm < 0.05 ? 0.0 : DIMENSION_PX) + 8.0,
                 "The knife as it lies with side A up: blade, tang, holes, taper start, and which long edge is which.");
    canvas_outline(canvas, "blade", &part->blade);
    canvas_outline(canvas, "steel", &part->tang);
    draw_above(page, canvas, bottom + BESIDE_PX);
    draw_below(page, canvas, &extent, words);
    draw_dimensions(page, canvas, &extent, dimensions);
    canvas_end(canvas);
}

/* ---- in words ---- */

static void row_open(struct page *page, const char *name)
{
    tw_text_print(&page->out, "<tr><th scope=\"row\">%s</th><td>", name);
}

static void row_close(struct page *page)
{
    tw_text_print(&page->out, "</td></tr>\n");
}

static void write_shown(struct page *page)
{
    static const char *const shown[] = { [TW_SHOWN_TANG] = "the tang alone",
                                         [TW_SHOWN_PART] = "the tang and a piece of the blade",
                                         [TW_SHOWN_KNIFE] = "the whole knife" };
    const struct tw_placement *placement = &page->job->placement;

    row_open(page, "The drawing shows");
    tw_text_print(&page->out, "%s, from side %s", shown[placement->shown], placement->axis.mirrored ? "B" : "A");
    row_close(page);
}

static void write_start(struct page *page)
{
    const struct tw_placement *placement = &page->job->placement;

    row_open(page, "Taper start");
    sheet_length_short(&page->out, page->inch, fabs(placement->middle.y_mm), SHEET_RULE);
    tw_text_print(&page->out, " from the middle of the width, %.0f\u00a0%% of it", 100.0 * placement->off_middle);
    row_close(page);
}

static void write_spine(struct page *page)
{
    const struct tw_placement *placement = &page->job->placement;

    row_open(page, "Spine");
    if (placement->spine == 0)
        tw_text_print(&page->out, "not known from the drawing");
    else
        tw_text_print(&page->out, "%s in the drawing%s", tw_placement_towards(placement, 0.0, placement->spine),
                      placement->spine_told ? ", as the job says" : "");
    row_close(page);
}

static void write_hole(struct page *page, const struct tw_placed_hole *hole)
{
    if (!hole->round)
        tw_text_print(&page->out, "about ");
    sheet_length_short(&page->out, page->inch, hole->diameter_mm, SHEET_RULE);
    tw_text_print(&page->out, " at ");
    sheet_length_short(&page->out, page->inch, hole->centre.x_mm, SHEET_RULE);
}

static void write_holes(struct page *page)
{
    const struct tw_placement *placement = &page->job->placement;

    row_open(page, "Holes, and how far behind the start");
    for (size_t i = 0; i < placement->hole_count && i < TW_PLACED_HOLES_MOST; i++) {
        tw_text_print(&page->out, "%s", i ? "; " : "");
        write_hole(page, &placement->holes[i]);
    }
    if (placement->hole_count == 0)
        tw_text_print(&page->out, "none");
    else if (placement->hole_count > TW_PLACED_HOLES_MOST)
        tw_text_print(&page->out, "; and %zu more", placement->hole_count - TW_PLACED_HOLES_MOST);
    row_close(page);
}

enum tw_status section_placement(struct page *page)
{
    page_figure(page, "placement-view", "Side A up",
                "Filled: the tang, which is tapered. The chain line is the taper start. Does your blank lie so?",
                draw_placement, NULL);
    tw_text_print(&page->out, "<table class=\"pairs\"><caption>What was understood</caption><tbody>\n");
    write_shown(page);
    write_start(page);
    write_spine(page);
    write_holes(page);
    tw_text_print(&page->out, "</tbody></table>\n");
    return TW_OK;
}
