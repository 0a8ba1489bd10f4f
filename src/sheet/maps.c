/* maps.c - what the dry run left: how hot each place of the face has been, and how far it lies from its target. */
#include "sheet/sheet.h"

#include "geometry/ring.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define EDGE_PX   12.0
#define LEGEND_PX 43.0
enum { BANDS = 6 };

/* A map with its bands: band i holds values from `from + i step` on. */
struct map {
    const struct sheet_side *side;
    const struct tw_proof_map *values;
    const char *unit, *classes; /* of the bands: "hot" gives "hot0" to "hot5" */
    double factor, offset;      /* to the unit shown */
    double low, high;           /* of its values, in that unit */
    double from, step;
    int decimals;
    bool middle; /* 0 lies in the middle of the bands */
};

static double value_at(const struct map *map, int row, int column)
{
    return map->offset +
           map->factor * (double)map->values->values[(size_t)row * (size_t)map->values->columns + (size_t)column];
}

static int band_of(const struct map *map, double value)
{
    if (isnan(value))
        return -1;
    return (int)fmin(fmax(floor((value - map->from) / map->step + 1e-9), 0.0), BANDS - 1);
}

static void find_extremes(struct map *map)
{
    map->low = HUGE_VAL;
    map->high = -HUGE_VAL;
    for (int row = 0; row < map->values->rows; row++) {
        for (int column = 0; column < map->values->columns; column++) {
            double value = value_at(map, row, column);

            map->low = isnan(value) ? map->low : fmin(map->low, value);
            map->high = isnan(value) ? map->high : fmax(map->high, value);
        }
    }
}

/* As many decimals as tell one band from the next. */
static void set_step(struct map *map, double step)
{
    map->step = step;
    map->decimals = step < 1.0 ? (int)ceil(-log10(step) - 1e-9) : 0;
}

/* A sum of steps that should be 0 is 0. */
static double rounded(double value)
{
    return fabs(value) < 1e-9 ? 0.0 : value;
}

/* ---- drawing ---- */

static void draw_band(struct canvas *canvas, const struct map *map, int band)
{
    const struct tw_proof_map *values = map->values;
    double cell = values->cell_mm;
    bool open = false;

    for (int row = 0; row < values->rows; row++) {
        for (int column = 0; column < values->columns;) {
            int end = column;

            while (end < values->columns && band_of(map, value_at(map, row, end)) == band)
                end++;
            if (end == column) {
                column++;
                continue;
            }
            if (!open)
                tw_text_print(canvas->out, "<path class=\"%s%d\" d=\"", map->classes, band);
            open = true;
            tw_text_print(canvas->out, "M%.1f %.1fh%.1fv%.1fh%.1fz", canvas_x(canvas, values->x_mm + column * cell),
                          canvas_y(canvas, values->y_mm + (row + 1) * cell), (end - column) * cell * canvas->scale,
                          cell * canvas->scale, (column - end) * cell * canvas->scale);
            column = end;
        }
    }
    if (open)
        tw_text_print(canvas->out, "\"/>\n");
}

/* Numbers here and there, so that nothing rests on colour. */
static void draw_numbers(struct canvas *canvas, const struct map *map)
{
    const struct tw_proof_map *values = map->values;
    struct tw_box box = tw_ring_box(&map->side->tang.outer);
    int across = canvas->narrow ? 4 : 7;

    for (int i = 0; i < across; i++) {
        double x_mm = box.min_x_mm + (box.max_x_mm - box.min_x_mm) * (i + 0.5) / across;
        int column = (int)floor((x_mm - values->x_mm) / values->cell_mm), from = -1, to = -1;

        for (int row = 0; row < values->rows && column >= 0 && column < values->columns; row++) {
            if (isnan(value_at(map, row, column)))
                continue;
            from = from < 0 ? row : from;
            to = row;
        }
        /* Off the middle, where the pin holes are; from there to where there is a value. */
        for (int off = 0; from >= 0 && off <= to - from; off++) {
            int row = from + (to - from) * 7 / 10 + (off % 2 ? off : -off) / 2;
            double value = row >= from && row <= to ? value_at(map, row, column) : (double)NAN;

            if (isnan(value))
                continue;
            canvas_text(canvas, "halo", CANVAS_MIDDLE, canvas_x(canvas, x_mm),
                        canvas_y(canvas, values->y_mm + (row + 0.5) * values->cell_mm) + 4.0, "%.*f", map->decimals,
                        fabs(value) * pow(10.0, map->decimals) < 0.5 ? 0.0 : value);
            break;
        }
    }
}

/* The one band in which all of a map lies. */
static void draw_only_band(struct canvas *canvas, const struct map *map, int band)
{
    double from = rounded(map->from + band * map->step), to = rounded(from + map->step);

    if (map->middle && band == 0)
        canvas_text(canvas, "tick", CANVAS_START, EDGE_PX, 39.0, "below %.*f", map->decimals, to);
    else if (map->middle && band == BANDS - 1)
        canvas_text(canvas, "tick", CANVAS_START, EDGE_PX, 39.0, "%.*f and more", map->decimals, from);
    else
        canvas_text(canvas, "tick", CANVAS_START, EDGE_PX, 39.0, "%.*f to %.*f", map->decimals, from, map->decimals,
                    to);
}

/* The bands that occur, and where one ends and the next begins. */
static void draw_bands_legend(struct canvas *canvas, const struct map *map)
{
    double width = (canvas->width - 2.0 * EDGE_PX) / BANDS;
    int first = band_of(map, map->low), last = band_of(map, map->high);

    canvas_text(canvas, "", CANVAS_START, EDGE_PX, 13.0, "%s", map->unit);
    for (int band = first; band <= last; band++) {
        double x = EDGE_PX + (band - first) * width;
        char class[16];

        snprintf(class, sizeof class, "%s%d", map->classes, band);
        canvas_box(canvas, class, x, 18.0, width - 4.0, 9.0);
        if (band > first)
            canvas_text(canvas, "tick", CANVAS_MIDDLE, x - 2.0, 39.0, "%.*f", map->decimals,
                        rounded(map->from + band * map->step));
    }
    if (first == last)
        draw_only_band(canvas, map, first);
}

static void draw_map(struct page *page, struct canvas *canvas, const void *what)
{
    const struct map *map = what;
    struct tw_box box = tw_ring_box(&map->side->tang.outer);
    double width_mm = box.max_x_mm - box.min_x_mm, high_px;

    (void)page;
    canvas->scale = canvas->narrow ? (canvas->width - 2.0 * EDGE_PX) / width_mm
                                   : canvas_standard_scale(width_mm, canvas->width - 2.0 * EDGE_PX);
    canvas->left = (canvas->width - width_mm * canvas->scale) / 2.0;
    canvas->x0_mm = box.min_x_mm;
    canvas->top = LEGEND_PX + 6.0;
    canvas->y0_mm = box.max_y_mm;
    high_px = (box.max_y_mm - box.min_y_mm) * canvas->scale;
    canvas_begin(canvas, LEGEND_PX + high_px + 28.0,
                 "The tang from above, each place filled by its value, with numbers here and there.");
    draw_bands_legend(canvas, map);
    canvas_clip_open(canvas, &map->side->tang);
    for (int band = 0; band < BANDS; band++)
        draw_band(canvas, map, band);
    canvas_clip_close(canvas);
    canvas_outline(canvas, "edge", &map->side->tang);
    draw_numbers(canvas, map);
    canvas_end_to_scale(canvas, EDGE_PX, 8.0);
}

/* ---- the two maps of a side ---- */

static enum tw_status write_map(struct page *page, const struct map *map, const char *id, const char *title,
                                struct tw_text *caption)
{
    char *words = tw_text_take(caption);

    if (!words)
        return tw_no_memory(page->findings);
    page_side_figure(page, map->side, id, title, words, draw_map, map);
    free(words);
    return TW_OK;
}

static enum tw_status map_hottest(struct page *page, const struct sheet_side *side)
{
    struct map map = { .side = side,
                       .values = &side->proof->record.hottest_degC,
                       .unit = page->inch ? "\u00b0F, under the wheel" : "\u00b0C, under the wheel",
                       .classes = "hot",
                       .factor = page->inch ? 1.8 : 1.0,
                       .offset = page->inch ? 32.0 : 0.0 };
    const char *unit = sheet_degrees_unit(page->inch);
    struct tw_text caption = { 0 };

    find_extremes(&map);
    if (!(map.high >= map.low))
        return TW_OK;
    set_step(&map, canvas_round_step(fmax(map.high - map.low, 6.0), BANDS - 1));
    map.from = floor(map.low / map.step) * map.step;
    tw_text_print(&caption, "With the reserve: ");
    sheet_range(&caption, map.low, map.high, 0, " to ");
    tw_text_print(&caption, "\u00a0%s, limit %.0f\u00a0%s; cells of ", unit,
                  sheet_degrees(page->inch, page->plan->limit_degC), unit);
    sheet_length_short(&caption, page->inch, map.values->cell_mm, SHEET_RULE);
    tw_text_print(&caption, ".");
    return write_map(page, &map, "hottest", ": hottest that each place has been", &caption);
}

static enum tw_status map_left(struct page *page, const struct sheet_side *side)
{
    struct map map = { .side = side,
                       .values = &side->proof->record.left_mm,
                       .unit = page->inch ? "thou above (+) or below (\u2013) the target"
                                          : "\u00b5m above (+) or below (\u2013) the target",
                       .classes = "left",
                       .factor = page->inch ? 1.0 / 0.0254 : 1000.0,
                       .middle = true };
    const char *unit = page->inch ? "thou" : "\u00b5m";
    double flat = page->job->finish.flatness_mm * map.factor;
    struct tw_text caption = { 0 };

    find_extremes(&map);
    if (!(map.high >= map.low))
        return TW_OK;
    set_step(&map, canvas_round_step(flat, 3));
    map.from = -2.0 * map.step;
    sheet_range(&caption, map.low, map.high, page->inch ? 2 : 1, " to ");
    tw_text_print(&caption, "\u00a0%s; asked: flat within %.*f\u00a0%s; worst of each cell of ", unit,
                  page->inch ? 2 : 0, flat, unit);
    sheet_length_short(&caption, page->inch, map.values->cell_mm, SHEET_RULE);
    tw_text_print(&caption, ".");
    return write_map(page, &map, "left", ": stock left above the target", &caption);
}

enum tw_status section_maps(struct page *page)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < page->side_count; i++) {
        const struct sheet_side *side = &page->sides[i];

        if (!side->proof || !side->proof->record.left_mm.values)
            continue;
        status = map_hottest(page, side);
        if (status == TW_OK)
            status = map_left(page, side);
    }
    return status;
}
