/* canvas.h - drawing with SVG: lines, labels, dimensions, scale bars and axes.
 *
 * Every figure is drawn twice: wide, for paper and large screens, where one unit is one CSS pixel (1/96 inch), so that
 * a drawing printed at 100 % has the scale it says; and narrow, for a telephone. The style sheet shows one of the two.
 * Colours, dashes and text sizes are the style sheet's: a drawing only names classes. */
#ifndef TANGWRIGHT_SHEET_CANVAS_H
#define TANGWRIGHT_SHEET_CANVAS_H

#include "base/text.h"
#include "tangwright/outline.h"

enum { CANVAS_WIDE = 680, CANVAS_NARROW = 328 };

/* CSS pixels in a millimetre of paper. */
#define CANVAS_PX_PER_MM (96.0 / 25.4)

struct canvas {
    struct tw_text *out;
    const char *id, *title; /* of the figure; the id is made unique by "-w" or "-n" */
    bool narrow, inch;
    double width, height; /* px */
    /* mm to px: x = left + (x_mm - x_mm0) * scale, y = top + (y_mm0 - y_mm) * scale * stretch */
    double left, top, x0_mm, y0_mm, scale, stretch;
};

enum canvas_anchor { CANVAS_START, CANVAS_MIDDLE, CANVAS_END };

/* Opens the <svg> once the height is known, with its title and a description for those who cannot see it. */
void canvas_begin(struct canvas *canvas, double height, const char *description) __attribute__((nonnull));
void canvas_end(struct canvas *canvas);

double canvas_x(const struct canvas *canvas, double x_mm);
double canvas_y(const struct canvas *canvas, double y_mm);

/* Everything below takes px. */
void canvas_line(struct canvas *canvas, const char *class, double x1, double y1, double x2, double y2);
void canvas_box(struct canvas *canvas, const char *class, double x, double y, double width, double height);
void canvas_circle(struct canvas *canvas, const char *class, double x, double y, double radius);
/* An arrow head whose tip is at x, y, pointing that way. */
void canvas_arrow(struct canvas *canvas, double x, double y, double way_x, double way_y);
/* The class may be "" for plain labels. */
void canvas_text(struct canvas *canvas, const char *class, enum canvas_anchor anchor, double x, double y,
                 const char *format, ...) __attribute__((format(printf, 6, 7)));
/* Text that comes from a job: escaped. */
void canvas_words(struct canvas *canvas, const char *class, enum canvas_anchor anchor, double x, double y,
                  const char *words);
double canvas_line_px(const struct canvas *canvas); /* from one line of text to the next */

/* How wide a label comes out at most, whatever sans-serif face the reader's machine has. Where labels might meet, a drawing
 * asks this and leaves room, turns to a second line, or shows fewer of them. */
double canvas_label_px(const struct canvas *canvas, const char *class, const char *label);
/* Neighbours nearer than this to each other are hard to tell apart. */
#define CANVAS_LABEL_GAP_PX 8.0

/* A stroke of that class and what it stands for, from *x on; then *x is where the next one may begin. */
void canvas_key(struct canvas *canvas, const char *class, double *x, double y, const char *words);

/* A number in a ring; the mark of a zero. */
void canvas_balloon(struct canvas *canvas, double x, double y, size_t number);
void canvas_zero(struct canvas *canvas, double x, double y);

/* A dimension from x1 to x2 (or y1 to y2) with extension lines from `from`, and its label. */
void canvas_dimension_across(struct canvas *canvas, double x1, double x2, double y, double from, const char *label);
void canvas_dimension_up(struct canvas *canvas, double x, double y1, double y2, double from, const char *label);

/* Paths in mm. */
void canvas_path_open(struct canvas *canvas, const char *class);
void canvas_path_ring(struct canvas *canvas, const struct tw_ring *ring);
void canvas_path_to(struct canvas *canvas, bool draw, double x_mm, double y_mm);
void canvas_path_close(struct canvas *canvas);
/* Outer ring and holes. */
void canvas_outline(struct canvas *canvas, const char *class, const struct tw_outline *outline);

/* Between these two only what lies inside the outline is seen. One for each figure. */
void canvas_clip_open(struct canvas *canvas, const struct tw_outline *outline);
void canvas_clip_close(struct canvas *canvas);

/* Between these two only what lies between y and y + height is seen. */
void canvas_frame_open(struct canvas *canvas, double y, double height);
void canvas_frame_close(struct canvas *canvas);

/* A bar of a round length with its label, x, y its left end; uses the canvas's scale. */
void canvas_scale_bar(struct canvas *canvas, double x, double y);

/* The largest standard drawing scale (1, 2, 5 times powers of ten; ISO 5455) at which `mm` fit into `px`. */
double canvas_standard_scale(double mm, double px);
/* "1:2", "5:1" for a drawing at that many px per mm. */
void canvas_scale_words(double scale, char out[24]);
/* Ends a drawing with a scale bar so far over its lower edge and, wide, the scale in words. */
void canvas_end_to_scale(struct canvas *canvas, double edge_px, double below_px);

/* ---- charts ---- */

/* A panel with values up and something else across. */
struct canvas_panel {
    double x, y, width, height;
    double from_x, to_x, from_y, to_y; /* values at its sides */
};

double canvas_panel_x(const struct canvas_panel *panel, double value);
double canvas_panel_y(const struct canvas_panel *panel, double value);

/* Rounds to_y up so that ticks come out round. */
void canvas_panel_round(struct canvas_panel *panel, int most_ticks);
/* Ticks, grid lines and their numbers at both axes; fewer ticks across where their numbers would meet. */
void canvas_panel_draw(struct canvas *canvas, const struct canvas_panel *panel, const char *title, const char *across,
                       int ticks_across, int ticks_up);

/* 1, 2 or 5 times a power of ten, so that about `count` steps make up `range`. */
double canvas_round_step(double range, int count);

#endif
