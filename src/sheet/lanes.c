/* lanes.c - the paths of the wheel over the tang, every lane of every layer. */
#include "sheet/sheet.h"

#include "base/memory.h"
#include "geometry/ring.h"

#include <math.h>
#include <stdlib.h>

#define EDGE_PX   12.0
#define AROUND_MM 1.0
#define LEGEND_PX 22.0
#define RULER_PX  40.0
/* Paths of the three kinds are drawn this far apart where they would lie on each other. */
#define APART_PX 2.2

/* A stretch of path in tenths of a px, its kind first: equal ones are drawn once. */
struct stretch {
    int kind, y1, x1, y2, x2;
};

static const char *const kind_classes[] = { "rough", "finish", "spark" };

static int by_place(const void *a, const void *b)
{
    const struct stretch *s = a, *t = b;
    int d[5] = { s->kind - t->kind, s->y1 - t->y1, s->y2 - t->y2, s->x1 - t->x1, s->x2 - t->x2 };

    for (int i = 0; i < 5; i++)
        if (d[i] != 0)
            return d[i];
    return 0;
}

static int kind_of(const struct sheet_side *side, size_t step)
{
    int layer = side->steps[step].layer;

    if (layer < 0)
        return 0;
    return side->setup->layers[layer].kind == TW_LAYER_FINISH      ? 1
           : side->setup->layers[layer].kind == TW_LAYER_SPARK_OUT ? 2
                                                                   : 0;
}

static bool drawn(const struct sheet_side *side, size_t step)
{
    return (side->steps[step].work == SHEET_CUT || side->steps[step].work == SHEET_SPARK) &&
           side->steps[step].part == 0;
}

/* ---- what the drawing must hold ---- */

static struct tw_box box_of(const struct page *page, const struct sheet_side *side)
{
    struct tw_box box = tw_ring_box(&side->tang.outer);

    for (size_t i = 0; i < side->trace.count; i++) {
        const double *ends[2] = { side->trace.steps[i].from_mm, side->trace.steps[i].to_mm };

        for (int k = 0; drawn(side, i) && k < 2; k++) {
            double at[3];

            side_place(page, side, i, ends[k], at);
            box.min_x_mm = fmin(box.min_x_mm, at[0]);
            box.max_x_mm = fmax(box.max_x_mm, at[0]);
            box.min_y_mm = fmin(box.min_y_mm, at[1]);
            box.max_y_mm = fmax(box.max_y_mm, at[1]);
        }
    }
    return box;
}

/* Where the last pass ends: the wheel is drawn there. */
static bool last_place(const struct page *page, const struct sheet_side *side, double at[3])
{
    for (size_t i = side->trace.count; i-- > 0;) {
        if (!drawn(side, i))
            continue;
        side_place(page, side, i, side->trace.steps[i].to_mm, at);
        return true;
    }
    return false;
}

/* ---- paths ---- */

static enum tw_status collect(struct page *page, const struct canvas *canvas, const struct sheet_side *side,
                              struct stretch **out, size_t *count)
{
    size_t capacity = 0;

    *out = NULL;
    *count = 0;
    for (size_t i = 0; i < side->trace.count; i++) {
        double from[3], to[3], apart = (kind_of(side, i) - 1) * APART_PX;
        struct stretch stretch;

        if (!drawn(side, i))
            continue;
        side_place(page, side, i, side->trace.steps[i].from_mm, from);
        side_place(page, side, i, side->trace.steps[i].to_mm, to);
        stretch = (struct stretch){ kind_of(side, i), (int)lround(10.0 * (canvas_y(canvas, from[1]) + apart)),
                                    (int)lround(10.0 * canvas_x(canvas, from[0])),
                                    (int)lround(10.0 * (canvas_y(canvas, to[1]) + apart)),
                                    (int)lround(10.0 * canvas_x(canvas, to[0])) };
        if (!tw_grow((void **)out, &capacity, *count + 1, sizeof **out))
            return tw_no_memory(page->findings);
        if (stretch.y1 == stretch.y2 && stretch.x1 > stretch.x2) {
            int x = stretch.x1;

            stretch.x1 = stretch.x2;
            stretch.x2 = x;
        }
        (*out)[(*count)++] = stretch;
    }
    if (*count > 0)
        qsort(*out, *count, sizeof **out, by_place);
    return TW_OK;
}

/* Stretches along the same line that overlap become one. */
static size_t merge(struct stretch *stretches, size_t count)
{
    size_t kept = 0;

    for (size_t i = 0; i < count; i++) {
        struct stretch *last = kept > 0 ? &stretches[kept - 1] : NULL, now = stretches[i];

        if (last && last->kind == now.kind && last->y1 == now.y1 && last->y2 == now.y2 && now.y1 == now.y2 &&
            now.x1 <= last->x2)
            last->x2 = now.x2 > last->x2 ? now.x2 : last->x2;
        else if (!last || by_place(last, &now) != 0)
            stretches[kept++] = now;
    }
    return kept;
}

static void draw_stretches(struct canvas *canvas, const struct stretch *stretches, size_t count)
{
    for (int kind = 0; kind < 3; kind++) {
        bool open = false;

        for (size_t i = 0; i < count; i++) {
            const struct stretch *s = &stretches[i];

            if (s->kind != kind)
                continue;
            if (!open)
                canvas_path_open(canvas, kind_classes[kind]);
            open = true;
            tw_text_print(canvas->out, "M%.1f %.1fL%.1f %.1f", s->x1 / 10.0, s->y1 / 10.0, s->x2 / 10.0, s->y2 / 10.0);
        }
        if (open)
            canvas_path_close(canvas);
    }
}

/* ---- the rest of the drawing ---- */

static void draw_legend(const struct page *page, struct canvas *canvas, const struct sheet_side *side)
{
    static const char *const words[] = { "rough", "finish", "spark-out" };
    bool present[3] = { false, false, false };
    double x = EDGE_PX;

    for (size_t i = 0; i < side->trace.count; i++)
        if (drawn(side, i))
            present[kind_of(side, i)] = true;
    for (int kind = 0; kind < 3; kind++) {
        if (!present[kind])
            continue;
        canvas_key(canvas, kind_classes[kind], &x, 9.0, side->as_planned ? words[kind] : "path");
    }
    (void)page;
}

static void draw_wheel(const struct page *page, struct canvas *canvas, const struct sheet_side *side)
{
    const struct tw_wheel *wheel = side->wheel;
    double at[3], r;

    if (!last_place(page, side, at))
        return;
    if (wheel->kind == TW_WHEEL_CUP) {
        r = wheel->diameter_mm / 2.0 * canvas->scale;
        canvas_circle(canvas, "wheel", canvas_x(canvas, at[0]), canvas_y(canvas, at[1]), r);
        if (wheel->rim_width_mm < wheel->diameter_mm / 2.0)
            canvas_circle(canvas, "wheel", canvas_x(canvas, at[0]), canvas_y(canvas, at[1]),
                          (wheel->diameter_mm / 2.0 - wheel->rim_width_mm) * canvas->scale);
    } else {
        r = wheel->width_mm * canvas->scale;
        canvas_box(canvas, "wheel", canvas_x(canvas, at[0]) - 9.0, canvas_y(canvas, at[1]) - r / 2.0, 18.0, r);
    }
    canvas_line(canvas, "dim", canvas_x(canvas, at[0]) - 5.0, canvas_y(canvas, at[1]), canvas_x(canvas, at[0]) + 5.0,
                canvas_y(canvas, at[1]));
    canvas_line(canvas, "dim", canvas_x(canvas, at[0]), canvas_y(canvas, at[1]) - 5.0, canvas_x(canvas, at[0]),
                canvas_y(canvas, at[1]) + 5.0);
}

/* A tick for each layer at the place along the tang where it begins. */
static void draw_fronts(const struct page *page, struct canvas *canvas, const struct sheet_side *side, double y)
{
    size_t count = side->setup->layer_count;
    double last = -HUGE_VAL, labelled = -HUGE_VAL, gap = canvas_label_px(canvas, "tick", "9999") + CANVAS_LABEL_GAP_PX;

    canvas_line(canvas, "axis", canvas_x(canvas, side->setup->face.start_mm), y,
                canvas_x(canvas, tw_ring_box(&side->tang.outer).max_x_mm), y);
    for (size_t i = count; i-- > 0;) {
        const struct tw_layer *layer = &side->setup->layers[i];
        double x = canvas_x(canvas, layer->front_mm);

        if (layer->kind == TW_LAYER_SPARK_OUT || x - last < 0.9 || x < 0.0)
            continue; /* of a thick blank the last layers begin ahead of what is drawn */
        last = x;
        canvas_line(canvas, kind_classes[layer->kind == TW_LAYER_FINISH ? 1 : 0], x, y - 7.0, x, y);
        if (x - labelled < gap || x < gap / 2.0)
            continue;
        canvas_text(canvas, "tick", CANVAS_MIDDLE, x, y + 13.0, "%zu", i + 1);
        labelled = x;
    }
    (void)page;
}

static void draw_lanes(struct page *page, struct canvas *canvas, const void *what)
{
    const struct sheet_side *side = what;
    struct tw_box box = box_of(page, side);
    double width_mm = box.max_x_mm - box.min_x_mm, plan_px, at[3], reach_mm;
    const struct tw_wheel *wheel = side->wheel;
    struct stretch *stretches;
    size_t count;

    reach_mm = wheel->kind == TW_WHEEL_DISC ? wheel->width_mm / 2.0 : wheel->diameter_mm / 2.0;
    if (last_place(page, side, at)) {
        box.min_y_mm = fmin(box.min_y_mm, at[1] - reach_mm);
        box.max_y_mm = fmax(box.max_y_mm, at[1] + reach_mm);
        if (wheel->kind == TW_WHEEL_CUP)
            box.min_x_mm = fmin(box.min_x_mm, at[0] - fmin(reach_mm, 0.12 * width_mm));
    }
    /* Layers of a thick blank begin ahead of the taper start. */
    box.min_x_mm = fmin(box.min_x_mm, tw_face_reach_mm(&side->setup->face, 0.0) - AROUND_MM);
    box.min_y_mm -= AROUND_MM;
    box.max_y_mm += AROUND_MM;
    width_mm = box.max_x_mm - box.min_x_mm;
    canvas->scale = canvas->narrow ? (canvas->width - 2.0 * EDGE_PX) / width_mm
                                   : canvas_standard_scale(width_mm, canvas->width - 2.0 * EDGE_PX);
    canvas->left = (canvas->width - width_mm * canvas->scale) / 2.0;
    canvas->x0_mm = box.min_x_mm;
    canvas->top = LEGEND_PX;
    canvas->y0_mm = box.max_y_mm;
    plan_px = (box.max_y_mm - box.min_y_mm) * canvas->scale;
    canvas_begin(canvas, LEGEND_PX + plan_px + RULER_PX + 34.0,
                 "The tang from above with the path of the wheel\u2019s programmed point in every layer.");
    draw_legend(page, canvas, side);
    canvas_frame_open(canvas, LEGEND_PX, plan_px + 2.0);
    canvas_outline(canvas, "blade", &side->blade);
    canvas_outline(canvas, "steel", &side->tang);
    draw_wheel(page, canvas, side);
    if (collect(page, canvas, side, &stretches, &count) == TW_OK)
        draw_stretches(canvas, stretches, merge(stretches, count));
    free(stretches);
    canvas_frame_close(canvas);
    draw_fronts(page, canvas, side, LEGEND_PX + plan_px + 14.0);
    canvas_text(canvas, "", CANVAS_END, canvas->width - EDGE_PX, LEGEND_PX + plan_px + 46.0, "layer begins");
    canvas_end_to_scale(canvas, EDGE_PX, 8.0);
}

enum tw_status section_lanes(struct page *page)
{
    for (size_t i = 0; i < page->side_count; i++) {
        bool cup = page->sides[i].wheel->kind == TW_WHEEL_CUP;
        struct tw_text caption = { 0 };
        char *words;

        if (page->sides[i].trace.count == 0)
            continue;
        tw_text_print(
            &caption,
            "Path of %s, travel %s. The three kinds are drawn a hair apart. Dashed: the wheel at the end of the "
            "last pass. Ticks below the tang: where each layer begins, by its number.",
            cup ? "the centre of the rim\u2019s face" : "the wheel\u2019s lowest point at mid-width",
            tw_travel_style_name(page->sides[i].setup->style));
        words = tw_text_take(&caption);
        if (!words)
            return tw_no_memory(page->findings);
        page_side_figure(page, &page->sides[i], "lanes",
                         page->sides[i].setup->face.side == TW_SIDE_A ? "" : ", as it lies on the machine", words,
                         draw_lanes, &page->sides[i]);
        free(words);
    }
    return page->findings && page->findings->out_of_memory ? TW_NO_MEMORY : TW_OK;
}
