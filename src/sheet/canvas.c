/* canvas.c - drawing with SVG. */
#include "sheet/canvas.h"

#include "sheet/markup.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Points of a curve nearer than this to the last one are left out. */
#define FINEST_PX 0.3

static const char *const anchors[] = { [CANVAS_START] = "", [CANVAS_MIDDLE] = " m", [CANVAS_END] = " e" };

/* ---- the frame ---- */

void canvas_begin(struct canvas *canvas, double height, const char *description)
{
    const char *variant = canvas->narrow ? "n" : "w";

    canvas->height = height;
    tw_text_print(canvas->out,
                  "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"%s\" id=\"%s-%s\" width=\"%.0f\" height=\"%.0f\" "
                  "viewBox=\"0 0 %.0f %.0f\" role=\"img\" aria-labelledby=\"%s-%s-t %s-%s-d\">\n<title id=\"%s-%s-t\">",
                  canvas->narrow ? "narrow" : "wide", canvas->id, variant, canvas->width, height, canvas->width, height,
                  canvas->id, variant, canvas->id, variant, canvas->id, variant);
    sheet_escape(canvas->out, canvas->title);
    tw_text_print(canvas->out, "</title>\n<desc id=\"%s-%s-d\">", canvas->id, variant);
    sheet_escape(canvas->out, description);
    tw_text_print(canvas->out, "</desc>\n");
}

void canvas_end(struct canvas *canvas)
{
    tw_text_print(canvas->out, "</svg>\n");
}

double canvas_x(const struct canvas *canvas, double x_mm)
{
    return canvas->left + (x_mm - canvas->x0_mm) * canvas->scale;
}

double canvas_y(const struct canvas *canvas, double y_mm)
{
    return canvas->top + (canvas->y0_mm - y_mm) * canvas->scale * canvas->stretch;
}

double canvas_line_px(const struct canvas *canvas)
{
    return canvas->narrow ? 14.0 : 15.0;
}

/* ---- how wide words come out ---- */

/* What a character takes at most, in thousandths of the size of the font. The widest sans-serif face in common use sets
 * it: tests/browser/widths.mjs measures. */
static const struct {
    const char *characters;
    int width;
} width_groups[] = { { " ijl|.,:;'", 360 },
                     { "!\"()[]-/\\`ftrIJ", 530 },
                     { "?*_{}abcdeghknopqsuvxyzLFT0123456789$", 650 },
                     { "mMW%@", 1030 } };

enum { WIDEST_ELSE = 860, ALL = 1000 };
#define BOLDER 1.13

static int width_of(char character)
{
    for (size_t i = 0; i < sizeof width_groups / sizeof *width_groups; i++)
        if (strchr(width_groups[i].characters, character))
            return width_groups[i].width;
    return WIDEST_ELSE;
}

/* As the style sheet has them. */
static double font_px(const struct canvas *canvas, const char *class)
{
    return strstr(class, "tick") || strstr(class, "small") ? 11.0 : canvas->narrow ? 11.5 : 12.0;
}

static bool is_bold(const char *class)
{
    return strstr(class, "strong") || strstr(class, "small");
}

/* The bytes of a character of UTF-8 that are not its first. */
static bool goes_on(char byte)
{
    return ((unsigned char)byte & 0xC0) == 0x80;
}

double canvas_label_px(const struct canvas *canvas, const char *class, const char *label)
{
    long thousandths = 0;

    for (const char *c = label; *c; c++)
        thousandths += goes_on(*c) ? 0 : width_of(*c);
    return (double)thousandths / ALL * font_px(canvas, class) * (is_bold(class) ? BOLDER : 1.0);
}

/* ---- shapes ---- */

void canvas_line(struct canvas *canvas, const char *class, double x1, double y1, double x2, double y2)
{
    tw_text_print(canvas->out, "<line class=\"%s\" x1=\"%.1f\" y1=\"%.1f\" x2=\"%.1f\" y2=\"%.1f\"/>\n", class, x1, y1,
                  x2, y2);
}

void canvas_box(struct canvas *canvas, const char *class, double x, double y, double width, double height)
{
    tw_text_print(canvas->out, "<rect class=\"%s\" x=\"%.1f\" y=\"%.1f\" width=\"%.1f\" height=\"%.1f\"/>\n", class, x,
                  y, fmax(0.0, width), fmax(0.0, height));
}

void canvas_circle(struct canvas *canvas, const char *class, double x, double y, double radius)
{
    tw_text_print(canvas->out, "<circle class=\"%s\" cx=\"%.1f\" cy=\"%.1f\" r=\"%.1f\"/>\n", class, x, y, radius);
}

void canvas_arrow(struct canvas *canvas, double x, double y, double way_x, double way_y)
{
    double length = hypot(way_x, way_y), u = way_x / length, v = way_y / length;

    tw_text_print(canvas->out, "<path class=\"head\" d=\"M%.1f %.1fL%.1f %.1fL%.1f %.1fz\"/>\n", x, y,
                  x - 7.0 * u + 2.4 * v, y - 7.0 * v - 2.4 * u, x - 7.0 * u - 2.4 * v, y - 7.0 * v + 2.4 * u);
}

static void open_text(struct canvas *canvas, const char *class, enum canvas_anchor anchor, double x, double y)
{
    if (*class || anchor != CANVAS_START)
        tw_text_print(canvas->out, "<text class=\"%s%s\" x=\"%.1f\" y=\"%.1f\">", class, anchors[anchor], x, y);
    else
        tw_text_print(canvas->out, "<text x=\"%.1f\" y=\"%.1f\">", x, y);
}

void canvas_text(struct canvas *canvas, const char *class, enum canvas_anchor anchor, double x, double y,
                 const char *format, ...)
{
    va_list arguments;

    open_text(canvas, class, anchor, x, y);
    va_start(arguments, format);
    tw_text_vprint(canvas->out, format, arguments);
    va_end(arguments);
    tw_text_print(canvas->out, "</text>\n");
}

void canvas_words(struct canvas *canvas, const char *class, enum canvas_anchor anchor, double x, double y,
                  const char *words)
{
    open_text(canvas, class, anchor, x, y);
    sheet_escape(canvas->out, words);
    tw_text_print(canvas->out, "</text>\n");
}

#define KEY_PX 26.0

void canvas_key(struct canvas *canvas, const char *class, double *x, double y, const char *words)
{
    canvas_line(canvas, class, *x, y, *x + KEY_PX, y);
    canvas_words(canvas, "", CANVAS_START, *x + KEY_PX + 5.0, y + 4.0, words);
    *x += KEY_PX + 5.0 + canvas_label_px(canvas, "", words) + CANVAS_LABEL_GAP_PX;
}

void canvas_balloon(struct canvas *canvas, double x, double y, size_t number)
{
    canvas_circle(canvas, "balloon", x, y, 8.5);
    canvas_text(canvas, "small", CANVAS_MIDDLE, x, y + 4.0, "%zu", number);
}

void canvas_zero(struct canvas *canvas, double x, double y)
{
    canvas_circle(canvas, "zero", x, y, 5.5);
    tw_text_print(canvas->out,
                  "<path class=\"head\" d=\"M%.1f %.1fh5.5a5.5 5.5 0 0 0 -5.5 -5.5zh-5.5a5.5 5.5 0 0 0 5.5 5.5z\"/>\n",
                  x, y);
}

/* ---- dimensions ---- */

void canvas_dimension_across(struct canvas *canvas, double x1, double x2, double y, double from, const char *label)
{
    double beyond = y > from ? 4.0 : -4.0, room = canvas_label_px(canvas, "", label) + 20.0;

    canvas_line(canvas, "ext", x1, from, x1, y + beyond);
    canvas_line(canvas, "ext", x2, from, x2, y + beyond);
    canvas_line(canvas, "dim", x1, y, x2, y);
    if (fabs(x2 - x1) >= 18.0) {
        canvas_arrow(canvas, x1, y, x1 - x2, 0.0);
        canvas_arrow(canvas, x2, y, x2 - x1, 0.0);
    }
    if (fabs(x2 - x1) >= room)
        canvas_words(canvas, "halo", CANVAS_MIDDLE, (x1 + x2) / 2.0, y - 3.0, label);
    else
        canvas_words(canvas, "halo", CANVAS_START, fmax(x1, x2) + 5.0, y + 4.0, label);
}

void canvas_dimension_up(struct canvas *canvas, double x, double y1, double y2, double from, const char *label)
{
    double beyond = x > from ? 4.0 : -4.0;

    canvas_line(canvas, "ext", from, y1, x + beyond, y1);
    canvas_line(canvas, "ext", from, y2, x + beyond, y2);
    canvas_line(canvas, "dim", x, y1, x, y2);
    if (fabs(y2 - y1) >= 18.0) {
        canvas_arrow(canvas, x, y1, 0.0, y1 - y2);
        canvas_arrow(canvas, x, y2, 0.0, y2 - y1);
    }
    if (*label)
        canvas_words(canvas, "halo", beyond > 0.0 ? CANVAS_START : CANVAS_END, x + beyond * 1.2, (y1 + y2) / 2.0 + 4.0,
                     label);
}

/* ---- paths ---- */

void canvas_path_open(struct canvas *canvas, const char *class)
{
    tw_text_print(canvas->out, "<path class=\"%s\" d=\"", class);
}

void canvas_path_to(struct canvas *canvas, bool draw, double x_mm, double y_mm)
{
    tw_text_print(canvas->out, "%c%.1f %.1f", draw ? 'L' : 'M', canvas_x(canvas, x_mm), canvas_y(canvas, y_mm));
}

void canvas_path_ring(struct canvas *canvas, const struct tw_ring *ring)
{
    double last_x = HUGE_VAL, last_y = HUGE_VAL;

    for (size_t i = 0; i < ring->count; i++) {
        double x = canvas_x(canvas, ring->points[i].x_mm), y = canvas_y(canvas, ring->points[i].y_mm);

        if (hypot(x - last_x, y - last_y) < FINEST_PX)
            continue;
        tw_text_print(canvas->out, "%c%.1f %.1f", last_x == HUGE_VAL ? 'M' : 'L', x, y);
        last_x = x;
        last_y = y;
    }
    if (ring->count > 0)
        tw_text_print(canvas->out, "z");
}

void canvas_path_close(struct canvas *canvas)
{
    tw_text_print(canvas->out, "\"/>\n");
}

void canvas_outline(struct canvas *canvas, const char *class, const struct tw_outline *outline)
{
    if (outline->outer.count == 0)
        return;
    canvas_path_open(canvas, class);
    canvas_path_ring(canvas, &outline->outer);
    for (size_t i = 0; i < outline->hole_count; i++)
        canvas_path_ring(canvas, &outline->holes[i]);
    canvas_path_close(canvas);
}

void canvas_clip_open(struct canvas *canvas, const struct tw_outline *outline)
{
    const char *variant = canvas->narrow ? "n" : "w";

    tw_text_print(canvas->out, "<clipPath id=\"%s-%s-c\">", canvas->id, variant);
    canvas_outline(canvas, "clip", outline);
    tw_text_print(canvas->out, "</clipPath>\n<g clip-path=\"url(#%s-%s-c)\">\n", canvas->id, variant);
}

void canvas_clip_close(struct canvas *canvas)
{
    tw_text_print(canvas->out, "</g>\n");
}

void canvas_frame_open(struct canvas *canvas, double y, double height)
{
    tw_text_print(canvas->out, "<svg x=\"0\" y=\"%.1f\" width=\"%.0f\" height=\"%.1f\" viewBox=\"0 %.1f %.0f %.1f\">\n",
                  y, canvas->width, height, y, canvas->width, height);
}

void canvas_frame_close(struct canvas *canvas)
{
    tw_text_print(canvas->out, "</svg>\n");
}

/* ---- scales ---- */

double canvas_round_step(double range, int count)
{
    double raw = fmax(range, 1e-12) / count, power = pow(10.0, floor(log10(raw)));

    return raw <= power * 1.0001   ? power
           : raw <= 2.0001 * power ? 2.0 * power
           : raw <= 5.0001 * power ? 5.0 * power
                                   : 10.0 * power;
}

double canvas_standard_scale(double mm, double px)
{
    static const double scales[] = { 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02 };

    for (size_t i = 0; i < sizeof scales / sizeof *scales; i++)
        if (mm * scales[i] * CANVAS_PX_PER_MM <= px)
            return scales[i] * CANVAS_PX_PER_MM;
    return 0.01 * CANVAS_PX_PER_MM;
}

void canvas_scale_words(double scale, char out[24])
{
    double ratio = scale / CANVAS_PX_PER_MM;

    if (ratio >= 1.0)
        snprintf(out, 24, "%.0f:1", ratio);
    else
        snprintf(out, 24, "1:%.0f", 1.0 / ratio);
}

void canvas_scale_bar(struct canvas *canvas, double x, double y)
{
    double unit_mm = canvas->inch ? 25.4 : 1.0;
    double length = canvas_round_step(canvas->width / canvas->scale / unit_mm, 8),
           end = x + length * unit_mm * canvas->scale;

    canvas_line(canvas, "bar", x, y, end, y);
    for (int i = 0; i <= 2; i++)
        canvas_line(canvas, "bar", x + (end - x) * i / 2.0, y - 4.0, x + (end - x) * i / 2.0, y + 4.0);
    canvas_text(canvas, "", CANVAS_START, end + 6.0, y + 4.0, "%g %s", length, canvas->inch ? "in" : "mm");
}

void canvas_end_to_scale(struct canvas *canvas, double edge_px, double below_px)
{
    char scale[24];

    canvas_scale_bar(canvas, edge_px, canvas->height - below_px);
    canvas_scale_words(canvas->scale, scale);
    if (!canvas->narrow)
        canvas_text(canvas, "", CANVAS_END, canvas->width - edge_px, canvas->height - below_px + 4.0,
                    "scale %s when printed at 100 %%", scale);
    canvas_end(canvas);
}

/* ---- charts ---- */

double canvas_panel_x(const struct canvas_panel *panel, double value)
{
    return panel->x + panel->width * (value - panel->from_x) / (panel->to_x - panel->from_x);
}

double canvas_panel_y(const struct canvas_panel *panel, double value)
{
    return panel->y + panel->height * (panel->to_y - value) / (panel->to_y - panel->from_y);
}

void canvas_panel_round(struct canvas_panel *panel, int most_ticks)
{
    double step = canvas_round_step(panel->to_y - panel->from_y, most_ticks);

    panel->from_y = floor(panel->from_y / step + 1e-9) * step;
    panel->to_y = ceil(panel->to_y / step - 1e-9) * step;
    if (!(panel->to_y > panel->from_y))
        panel->to_y = panel->from_y + step;
}

static double first_tick(const struct canvas_panel *panel, double step)
{
    return ceil(panel->from_x / step) * step;
}

static double widest_tick_px(const struct canvas *canvas, const struct canvas_panel *panel, double step)
{
    double widest = 0.0;

    for (double v = first_tick(panel, step); v <= panel->to_x + step * 1e-6; v += step) {
        char label[24];

        snprintf(label, sizeof label, "%g", v);
        widest = fmax(widest, canvas_label_px(canvas, "tick", label));
    }
    return widest;
}

/* At most so many ticks across, and no more than their numbers leave room for. */
static double step_across(const struct canvas *canvas, const struct canvas_panel *panel, int most)
{
    double range = panel->to_x - panel->from_x;

    for (; most > 1; most--) {
        double step = canvas_round_step(range, most);

        if (widest_tick_px(canvas, panel, step) + CANVAS_LABEL_GAP_PX <= panel->width * step / range)
            return step;
    }
    return canvas_round_step(range, 1);
}

void canvas_panel_draw(struct canvas *canvas, const struct canvas_panel *panel, const char *title, const char *across,
                       int ticks_across, int ticks_up)
{
    double step_x = step_across(canvas, panel, ticks_across);
    double step_y = canvas_round_step(panel->to_y - panel->from_y, ticks_up);
    double bottom = panel->y + panel->height;

    canvas_words(canvas, "", CANVAS_START, panel->x, panel->y - 6.0, title);
    for (double v = panel->from_y; v <= panel->to_y + step_y * 1e-6; v += step_y) {
        double y = canvas_panel_y(panel, v);

        canvas_line(canvas, "grid", panel->x, y, panel->x + panel->width, y);
        canvas_text(canvas, "tick", CANVAS_END, panel->x - 5.0, y + 4.0, "%g", fabs(v) < step_y * 1e-6 ? 0.0 : v);
    }
    for (double v = first_tick(panel, step_x); v <= panel->to_x + step_x * 1e-6; v += step_x) {
        double x = canvas_panel_x(panel, v);

        canvas_line(canvas, "axis", x, bottom, x, bottom + 4.0);
        if (*across)
            canvas_text(canvas, "tick", CANVAS_MIDDLE, x, bottom + 16.0, "%g", v);
    }
    canvas_line(canvas, "axis", panel->x, bottom, panel->x + panel->width, bottom);
    canvas_line(canvas, "axis", panel->x, panel->y, panel->x, bottom);
    if (*across)
        canvas_words(canvas, "", CANVAS_END, panel->x + panel->width, bottom + 30.0, across);
}
