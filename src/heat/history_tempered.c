/* history_tempered.c - what a history has tempered: the spot that came farthest, and what its skin lost. */
#include "heat/history_parts.h"

#include <math.h>

/* P of a spot with the pass not counted yet and the bulk since the last count. */
static double parameter_now(const struct tw_history *history, size_t i, size_t j, int n)
{
    const struct tw_history_spot *spot = &history->spots[j * history->grid.nx + i];
    double p = spot->parameter[n], bulk_degC = tw_history_hotter_degC(history, tw_plate_degC(history->plate, i, j));

    if (spot->pass_s > 0.0)
        p = tw_temper_add(p, spot->pass_degC, spot->pass_s, history->constants[n]);
    return tw_temper_add(p, bulk_degC, history->clock_s - history->bulk_counted_s, history->constants[n]);
}

static double equivalent_degC(const struct tw_temper_limit *limit, double parameter, int n)
{
    return parameter > 0.0 ? tw_temper_equivalent_degC(parameter, limit->time_s, limit->constants[n]) : -HUGE_VAL;
}

double tw_history_tempered_degC(const struct tw_history *history, const struct tw_temper_limit *limit,
                                double place_mm[2])
{
    const struct tw_plate_grid *grid = &history->grid;
    int most = equivalent_degC(limit, history->most[1], 1) > equivalent_degC(limit, history->most[0], 0);
    size_t k = history->most_at[most];

    place_mm[0] = grid->x_mm + ((double)(k % grid->nx) + 0.5) * grid->cell_mm;
    place_mm[1] = grid->y_mm + ((double)(k / grid->nx) + 0.5) * grid->cell_mm;
    return fmax(equivalent_degC(limit, history->most[most], most), history->coolant.temperature_degC);
}

/* The spot that has come farthest by either constant. */
static size_t farthest(const struct tw_history *history, const struct tw_temper_limit *limit)
{
    const struct tw_plate_grid *grid = &history->grid;
    double most_degC = -HUGE_VAL;
    size_t found = 0;

    for (size_t k = 0; k < grid->nx * grid->ny; k++) {
        if (!(history->filled[k] > 0.0))
            continue;
        for (int n = 0; n < 2; n++) {
            double degC = equivalent_degC(limit, parameter_now(history, k % grid->nx, k / grid->nx, n), n);

            if (degC > most_degC) {
                most_degC = degC;
                found = k;
            }
        }
    }
    return found;
}

/* So many flashes like the hottest come to the parameter, by one constant; and the skin they soften. */
static void measure_skin(const struct tw_history *history, const struct tw_temper_limit *limit,
                         const struct tw_history_spot *spot, int n, struct tw_tempering *out)
{
    double kelvin = spot->hottest_degC + 273.15;
    double time_s = 3600.0 * pow(10.0, 1000.0 * out->parameter[n] / kelvin - limit->constants[n]);
    double speed_mm_per_s = spot->contact_mm / spot->contact_s;
    struct tw_temper_pass pass = {
        .peak_rise_K = fmax(0.0, spot->hottest_degC - spot->bulk_degC),
        .peclet = speed_mm_per_s * spot->contact_mm / (4.0 * tw_diffusivity_mm2_per_s(&history->steel)),
        .contact_s = spot->contact_s,
        .contact_mm = spot->contact_mm,
        .bulk_degC = spot->bulk_degC,
    };
    double flashes = fmax(1.0, time_s / spot->contact_s);

    out->flashes = fmax(out->flashes, flashes);
    if (out->parameter[n] > limit->allowed[n])
        out->softened_mm =
            fmax(out->softened_mm, tw_temper_softened_mm(0.0, limit->allowed[n], &pass, flashes, limit->constants[n]));
}

/* On top of its original tempering: the hours that the history would have taken at its hottest come on top. */
static double lost_HRC(const struct tw_history *history, const struct tw_temper_limit *limit, double hottest_degC,
                       double parameter)
{
    double own = tw_temper_parameter(limit->own_degC, limit->time_s, limit->constants[1]);
    double hours = pow(10.0, 1000.0 * parameter / (hottest_degC + 273.15) - limit->constants[1]);
    double both = tw_temper_add(own, hottest_degC, 3600.0 * hours, limit->constants[1]);

    return tw_temper_softening_HRC(both, own, history->steel.softening_HRC);
}

void tw_history_tempering(const struct tw_history *history, const struct tw_temper_limit *limit,
                          struct tw_tempering *out)
{
    const struct tw_plate_grid *grid = &history->grid;
    size_t k = farthest(history, limit), i = k % grid->nx, j = k / grid->nx;
    struct tw_history_spot spot = history->spots[k];

    if (spot.pass_s > 0.0)
        tw_spots_keep_hottest(history, &spot);
    *out = (struct tw_tempering){
        .constants = { limit->constants[0], limit->constants[1] },
        .allowed_degC = limit->allowed_degC,
        .place_mm = { grid->x_mm + ((double)i + 0.5) * grid->cell_mm, grid->y_mm + ((double)j + 0.5) * grid->cell_mm },
        .hottest_degC = spot.contact_s > 0.0 ? spot.hottest_degC : history->coolant.temperature_degC,
        .contact_s = spot.contact_s,
    };
    for (int n = 0; n < 2; n++) {
        out->parameter[n] = parameter_now(history, i, j, n);
        out->equivalent_degC[n] = fmax(equivalent_degC(limit, out->parameter[n], n), history->coolant.temperature_degC);
        if (spot.contact_s > 0.0)
            measure_skin(history, limit, &spot, n, out);
    }
    if (spot.contact_s > 0.0)
        out->lost_HRC = lost_HRC(history, limit, spot.hottest_degC, out->parameter[1]);
    out->left_mm = fmax(0.0, out->softened_mm - fmax(0.0, spot.level_mm - history->thickness_mm[k]));
}

double tw_history_hottest_degC(const struct tw_history *history, size_t column, size_t row)
{
    size_t k = row * history->grid.nx + column;
    const struct tw_history_spot *spot = &history->spots[k];
    bool seen = spot->contact_s > 0.0 || spot->pass_s > 0.0; /* counted, or not yet */

    return history->filled[k] > 0.0 && seen ? spot->seen_degC : (double)NAN;
}
