/* history_spots.c - what the face goes through, cell by cell: flashes and bulk, counted as tempering. */
#include "heat/history_parts.h"

#include <math.h>

/* The bulk is counted as tempering only above this rise. */
#define BULK_RISE_K 10.0
/* A flash this little below the hottest at its place still counts as one of its kind. */
#define ALIKE_K 5.0

/* A row or a column of cells under a band that slides along it, or stands still. */
struct line {
    double from_mm, to_mm, mm_per_s; /* the band at the start of its piece */
    double origin_mm, cell_mm;
    size_t count;
};

struct range {
    size_t from, to;
};

static struct range cells_under(const struct line *line, double from_s, double to_s)
{
    double way_from = line->mm_per_s * from_s, way_to = line->mm_per_s * to_s;
    double low_mm = line->from_mm + (way_from < way_to ? way_from : way_to);
    double high_mm = line->to_mm + (way_from < way_to ? way_to : way_from);
    double first = (low_mm - line->origin_mm) / line->cell_mm, last = (high_mm - line->origin_mm) / line->cell_mm;
    double count = (double)line->count;
    size_t to;

    first = first < 0.0 ? 0.0 : first > count ? count : first;
    last = last < 0.0 ? 0.0 : last > count ? count : last;
    to = (size_t)last;
    return (struct range){ (size_t)first, to + ((double)to < last) };
}

/* How long the middle of cell i is under the band between two times. Points, not areas: so neighbouring bands and
 * pieces share the cells among them, and none is counted twice. */
static double time_under_s(const struct line *line, size_t i, double from_s, double to_s)
{
    double at_mm = line->origin_mm + ((double)i + 0.5) * line->cell_mm, enters_s, leaves_s;

    if (line->mm_per_s == 0.0)
        return at_mm >= line->from_mm && at_mm < line->to_mm ? to_s - from_s : 0.0;
    enters_s = (at_mm - (line->mm_per_s > 0.0 ? line->to_mm : line->from_mm)) / line->mm_per_s;
    leaves_s = (at_mm - (line->mm_per_s > 0.0 ? line->from_mm : line->to_mm)) / line->mm_per_s;
    leaves_s = leaves_s < to_s ? leaves_s : to_s;
    enters_s = enters_s > from_s ? enters_s : from_s;
    return leaves_s > enters_s ? leaves_s - enters_s : 0.0;
}

static void mark_spot(struct tw_history *history, size_t i, size_t j, double time_s, struct tw_history_rise rise,
                      double depth_mm)
{
    size_t k = j * history->grid.nx + i;
    struct tw_history_spot *spot = &history->spots[k];
    double under_degC = tw_plate_degC(history->ghost, i, j), seen_degC = under_degC + rise.reserve_K;
    double degC = fmax(seen_degC, tw_history_least_film_degC(history, under_degC) + rise.least_K);
    bool passing = spot->pass_s > 0.0, first = !passing && spot->contact_s == 0.0;

    spot->seen_degC = first ? seen_degC : fmax(spot->seen_degC, seen_degC);
    spot->pass_degC = passing ? fmax(spot->pass_degC, degC) : degC;
    spot->pass_level_mm = history->thickness_mm[k] - depth_mm;
    spot->pass_s += time_s;
    history->pass_open = true;
}

static void mark_band(struct tw_history *history, const struct tw_history_piece *piece,
                      const struct tw_plate_band *band, double from_s, double to_s, struct tw_history_rise rise)
{
    const struct tw_plate_grid *grid = &history->grid;
    struct line x = { band->from_x_mm, band->to_x_mm, band->x_mm_per_s, grid->x_mm, grid->cell_mm, grid->nx };
    struct line y = { band->from_y_mm, band->to_y_mm, band->y_mm_per_s, grid->y_mm, grid->cell_mm, grid->ny };
    struct range columns = cells_under(&x, from_s, to_s), rows = cells_under(&y, from_s, to_s);
    /* The band is as long as the mean depth makes it, the flash that of the greatest. */
    double longer =
        tw_strips_contact_mm(history, piece, piece->depth_mm) / tw_strips_contact_mm(history, piece, piece->mean_mm);

    history->passed =
        tw_both_cells(history->passed, (struct tw_plate_cells){ columns.from, columns.to, rows.from, rows.to });
    for (size_t j = rows.from; j < rows.to; j++)
        for (size_t i = columns.from; i < columns.to; i++) {
            double time_s = fmin(time_under_s(&x, i, from_s, to_s), time_under_s(&y, j, from_s, to_s));

            if (time_s > 0.0 && history->filled[j * grid->nx + i] > 0.0)
                mark_spot(history, i, j, time_s * longer, rise, piece->depth_mm);
        }
}

void tw_spots_mark(struct tw_history *history, const struct tw_history_piece *piece,
                   const struct tw_history_strips *strips, double from_s, double to_s, struct tw_history_rise rise)
{
    for (int n = 0; history->tempers && n < strips->count; n++)
        mark_band(history, piece, &strips->bands[n], from_s, to_s, rise);
}

void tw_spots_keep_hottest(const struct tw_history *history, struct tw_history_spot *spot)
{
    if (spot->pass_degC >= spot->hottest_degC) {
        spot->hottest_degC = spot->pass_degC;
        spot->contact_s = spot->pass_s;
        spot->contact_mm = history->pass_contact_mm;
        spot->bulk_degC = history->pass_bulk_degC;
        spot->level_mm = spot->pass_level_mm;
    } else if (spot->pass_degC >= spot->hottest_degC - ALIKE_K) {
        spot->level_mm = spot->pass_level_mm;
    }
}

static void keep_most(struct tw_history *history, size_t k, int n)
{
    if (history->spots[k].parameter[n] <= history->most[n])
        return;
    history->most[n] = history->spots[k].parameter[n];
    history->most_at[n] = k;
}

static void temper_spot(struct tw_history *history, size_t k, double degC, double time_s)
{
    struct tw_history_spot *spot = &history->spots[k];

    for (int n = 0; n < 2; n++) {
        spot->parameter[n] = tw_temper_add(spot->parameter[n], degC, time_s, history->constants[n]);
        if (history->filled[k] > 0.0)
            keep_most(history, k, n);
    }
}

void tw_spots_count_pass(struct tw_history *history)
{
    struct tw_plate_cells cells = history->passed;

    if (!history->pass_open)
        return;
    for (size_t j = cells.from_j; j < cells.to_j; j++)
        for (size_t i = cells.from_i; i < cells.to_i; i++) {
            size_t k = j * history->grid.nx + i;
            struct tw_history_spot *spot = &history->spots[k];

            if (!(spot->pass_s > 0.0))
                continue;
            tw_spots_keep_hottest(history, spot);
            temper_spot(history, k, spot->pass_degC, spot->pass_s);
            spot->pass_s = 0.0;
        }
    history->pass_open = false;
    history->passed = tw_no_cells();
}

void tw_spots_count_bulk(struct tw_history *history)
{
    const struct tw_plate_grid *grid = &history->grid;
    double time_s = history->clock_s - history->bulk_counted_s;

    history->bulk_counted_s = history->clock_s;
    for (size_t j = 0; j < grid->ny; j++) {
        for (size_t i = 0; i < grid->nx; i++) {
            double degC = tw_history_hotter_degC(history, tw_plate_degC(history->plate, i, j));

            if (degC > history->coolant.temperature_degC + BULK_RISE_K)
                temper_spot(history, j * grid->nx + i, degC, time_s);
        }
    }
}
