/* history.c - the temperatures of one part in the course of a program: its passes, and the time between them.
 *
 * history_make.c makes it, history_ground.c has the part get thinner; history_strips.c knows where the wheel heats it. What the
 * face goes through is noted in history_spots.c and weighed in history_tempered.c. */
#include "heat/history_parts.h"

#include <math.h>
#include <string.h>

/* A band moves at most this many cells in one step. */
#define CELLS_PER_STEP 4.0
/* The ghost only cools and evens out, so it may follow in longer steps: it is behind by less than this. */
#define GHOST_BEHIND_S 0.05
/* So long after a pass, or at the end of a shorter wait, the tang is looked at: later it only cools. */
#define LOOK_AFTER_S 2.0
/* The bulk is counted as tempering this often. */
#define BULK_COUNT_S 10.0

/* ---- time without cutting ---- */

static enum tw_status cool(struct tw_history *history, double time_s, struct tw_findings *findings)
{
    enum tw_status status = time_s > 0.0 ? tw_plate_cool(history->plate, time_s, history->cooled_s, findings) : TW_OK;

    history->cooled_s += time_s;
    history->clock_s += time_s;
    return status;
}

enum tw_status tw_history_wait(struct tw_history *history, double time_s, struct tw_findings *findings)
{
    double first_s = fmin(fmax(0.0, time_s), LOOK_AFTER_S);
    enum tw_status status = cool(history, first_s, findings);

    if (status == TW_OK && first_s > 0.0)
        history->highest_bulk_degC = fmax(history->highest_bulk_degC, tw_history_bulk_degC(history));
    return status == TW_OK ? cool(history, fmax(0.0, time_s - first_s), findings) : status;
}

/* ---- one piece of a pass ---- */

static double thickness_at(const struct tw_history *history, double x_mm, double y_mm)
{
    const struct tw_plate_grid *grid = &history->grid;
    double i = floor((x_mm - grid->x_mm) / grid->cell_mm), j = floor((y_mm - grid->y_mm) / grid->cell_mm);

    i = fmin(fmax(i, 0.0), (double)grid->nx - 1.0);
    j = fmin(fmax(j, 0.0), (double)grid->ny - 1.0);
    return history->thickness_mm[(size_t)j * grid->nx + (size_t)i];
}

/* With `energy` times the wheel's own. */
static enum tw_status flash_at(const struct tw_history *history, const struct tw_history_piece *piece, double energy,
                               double depth_mm, double bulk_degC, struct tw_flash *out, struct tw_findings *findings)
{
    struct tw_contact contact = { depth_mm, piece->table_mm_per_s, piece->wheel_mm_per_s,
                                  tw_strips_contact_mm(history, piece, depth_mm), piece->high_mm - piece->low_mm };
    struct tw_wheel wheel = tw_wheel_at_energy(history->wheel.wheel, energy);

    return tw_flash_estimate(&contact, &wheel, &history->steel, &history->coolant, bulk_degC, out, findings);
}

double tw_history_expected_degC(const struct tw_history *history, double degC)
{
    double ambient_degC = history->coolant.temperature_degC;

    return ambient_degC + history->expected_share * (degC - ambient_degC);
}

double tw_history_least_film_degC(const struct tw_history *history, double degC)
{
    double ambient_degC = history->coolant.temperature_degC;

    return ambient_degC + history->least_share * (degC - ambient_degC);
}

double tw_history_hotter_degC(const struct tw_history *history, double degC)
{
    return fmax(degC, tw_history_least_film_degC(history, degC));
}

/* With the wheel's own energy; `flash` is the one with the reserve. */
static enum tw_status own_flash(const struct tw_history *history, const struct tw_history_piece *piece,
                                const struct tw_flash *flash, double depth_mm, double bulk_degC, struct tw_flash *out,
                                struct tw_findings *findings)
{
    *out = *flash;
    if (history->energy == 1.0)
        return TW_OK;
    return flash_at(history, piece, 1.0, depth_mm, tw_history_expected_degC(history, bulk_degC), out, findings);
}

/* Heat that enters the steel of so much rise, in proportion. */
static double least_J(const struct tw_history *history, const struct tw_flash *flash, double bulk_degC, double heat_J)
{
    double least_degC = tw_history_least_film_degC(history, bulk_degC);

    if (!(flash->rise_K > 0.0))
        return heat_J;
    return heat_J * tw_least_film_rise_K(flash, least_degC, 1.0, history->energy, &history->coolant) / flash->rise_K;
}

/* What the steel holds is mixed with what this piece puts there. */
static enum tw_status expect_piece(struct tw_history *history, const struct tw_history_piece *piece,
                                   const struct tw_flash *flash, double bulk_degC, struct tw_findings *findings)
{
    double length_mm = hypot(piece->to_mm[0] - piece->from_mm[0], piece->to_mm[1] - piece->from_mm[1]);
    double volume_mm3 =
        piece->volume_mm3 > 0.0 ? piece->volume_mm3 : piece->mean_mm * (piece->high_mm - piece->low_mm) * length_mm;
    double heat_J = flash->share * flash->specific_energy_J_per_mm3 * volume_mm3, held_J = history->stored_J + heat_J;
    double least = least_J(history, flash, bulk_degC, heat_J);
    struct tw_flash own;
    enum tw_status status = own_flash(history, piece, flash, piece->mean_mm, bulk_degC, &own, findings);

    if (status != TW_OK || !(heat_J > 0.0))
        return status;
    history->expected_share =
        (history->expected_share * history->stored_J + own.share * own.specific_energy_J_per_mm3 * volume_mm3) / held_J;
    history->least_share = (history->least_share * history->stored_J + least) / held_J;
    history->stored_J = held_J;
    return TW_OK;
}

/* Whether the coolant's film lasts, and so how much heat enters, depends on the bulk under the wheel. */
static enum tw_status strips_of(struct tw_history *history, const struct tw_history_piece *piece, double duration_s,
                                struct tw_history_strips *out, double *heat_J, struct tw_findings *findings)
{
    struct tw_flash flash;
    struct tw_plate_hottest under;
    double bulk_degC;
    enum tw_status status;

    tw_strips_place(history, piece, tw_strips_contact_mm(history, piece, piece->mean_mm), duration_s, out);
    under = tw_strips_hottest(history, history->ghost, out, 0.0, duration_s);
    bulk_degC = fmax(under.degC, history->coolant.temperature_degC);
    status = flash_at(history, piece, history->energy, piece->mean_mm, bulk_degC, &flash, findings);
    if (status == TW_OK)
        status = expect_piece(history, piece, &flash, bulk_degC, findings);
    for (int i = 0; status == TW_OK && i < out->count; i++)
        out->bands[i].flux_W_per_mm2 = flash.share * flash.flux_W_per_mm2;
    *heat_J = status == TW_OK ? flash.share * flash.specific_energy_J_per_mm3 * piece->volume_mm3 : 0.0;
    return status;
}

static void keep_expected(struct tw_history_peak *peak, const struct tw_hot_spot *spot, double bulk_degC, double edge,
                          double plate)
{
    if (spot->degC > peak->expected.degC)
        peak->expected = (struct tw_history_expected){ spot->degC, bulk_degC, spot->rise_K, edge, plate };
}

/* Flash on top of the hottest place under the strips; kept in *peak if it is the hottest so far. */
static enum tw_status judge(struct tw_history *history, const struct tw_history_piece *piece,
                            struct tw_plate_hottest under, struct tw_history_peak *peak, struct tw_history_rise *rise,
                            struct tw_findings *findings)
{
    struct tw_flash flash, own;
    struct tw_hot_spot spot, expected;
    double edge, plate, contact_mm = tw_strips_contact_mm(history, piece, piece->depth_mm);
    double own_degC = tw_history_expected_degC(history, under.degC);
    double least_degC = tw_history_least_film_degC(history, under.degC);
    enum tw_status status = flash_at(history, piece, history->energy, piece->depth_mm, under.degC, &flash, findings);

    if (status == TW_OK)
        status = own_flash(history, piece, &flash, piece->depth_mm, under.degC, &own, findings);
    if (status != TW_OK)
        return status;
    edge = tw_exit_edge_factor(flash.peclet);
    plate = tw_factors_get(history->factors, contact_mm, piece->table_mm_per_s,
                           thickness_at(history, under.x_mm, under.y_mm), history->back_W_per_mm2_K);
    spot = tw_hot_spot(&flash, under.degC, edge * plate, &history->coolant);
    expected = tw_hot_spot(&own, own_degC, edge * plate, &history->coolant);
    keep_expected(peak, &expected, own_degC, edge, plate);
    *rise = (struct tw_history_rise){ spot.rise_K, tw_least_film_rise_K(&flash, least_degC, edge * plate,
                                                                        history->energy, &history->coolant) };
    peak->least_degC = fmax(peak->least_degC, least_degC + rise->least_K);
    peak->dry_degC = fmax(peak->dry_degC, spot.dry_degC);
    peak->boiling_room_K = fmin(peak->boiling_room_K, spot.boiling_room_K);
    peak->film_times = fmin(peak->film_times, history->energy * spot.film_times);
    peak->film_least_times = fmin(peak->film_least_times, history->energy * spot.film_least_times);
    if (spot.degC <= peak->degC)
        return TW_OK;
    peak->degC = spot.degC;
    peak->bulk_degC = under.degC;
    peak->rise_K = spot.rise_K;
    peak->edge_factor = edge;
    peak->plate_factor = plate;
    peak->boiled = spot.boiled;
    peak->tag = piece->tag;
    peak->place_mm[0] = under.x_mm;
    peak->place_mm[1] = under.y_mm;
    peak->contact_s = contact_mm / piece->table_mm_per_s;
    peak->depth_mm = piece->depth_mm;
    peak->way = tw_history_way(piece);
    peak->table_mm_per_s = piece->table_mm_per_s;
    peak->wheel_mm_per_s = piece->wheel_mm_per_s;
    history->pass_contact_mm = contact_mm;
    history->pass_bulk_degC = under.degC;
    return TW_OK;
}

/* The ghost catches up when it has fallen too far behind. */
static enum tw_status follow(struct tw_history *history, struct tw_findings *findings)
{
    double behind_s = history->ghost_behind_s;

    if (behind_s < GHOST_BEHIND_S)
        return TW_OK;
    history->ghost_behind_s = 0.0;
    return tw_plate_step(history->ghost, behind_s, findings);
}

/* The bulk that a pass leaves is looked at where the wheel was one piece ago: right behind it stands some of the flash. */
static void note_bulk_behind(struct tw_history *history, const struct tw_history_strips *strips, double duration_s,
                             struct tw_history_peak *peak)
{
    struct tw_plate_hottest hottest =
        tw_strips_hottest(history, history->plate, &history->behind, 0.0, history->behind_s);

    if (history->behind_s > 0.0)
        peak->highest_bulk_degC = fmax(peak->highest_bulk_degC, hottest.degC);
    history->behind = *strips;
    history->behind_s = duration_s;
}

static void heat_plate(struct tw_history *history, const struct tw_history_strips *strips, double from_s, double step_s)
{
    for (int k = 0; k < strips->count; k++)
        tw_plate_heat_band(history->plate, &strips->bands[k], from_s, step_s);
}

/* The strips reach over edges and over what is not cut: the volume says how much heat there really is. Where they meet no
 * steel at all, it is owed until they do. */
static void share_heat(struct tw_history *history, struct tw_history_strips *strips, double heat_J, double duration_s)
{
    double placed_J;

    if (!(heat_J > 0.0))
        return;
    history->owed_J += heat_J;
    heat_plate(history, strips, 0.0, duration_s);
    placed_J = tw_plate_power_W(history->plate) * duration_s;
    tw_plate_forget_power(history->plate);
    if (!(placed_J > 0.0))
        return;
    for (int k = 0; k < strips->count; k++)
        strips->bands[k].flux_W_per_mm2 *= history->owed_J / placed_J;
    history->owed_J = 0.0;
}

/* Drives the strips over plate and, without heat, the ghost. */
static enum tw_status run_piece(struct tw_history *history, const struct tw_history_piece *piece,
                                struct tw_history_peak *peak, struct tw_findings *findings)
{
    double length_mm = hypot(piece->to_mm[0] - piece->from_mm[0], piece->to_mm[1] - piece->from_mm[1]);
    double duration_s = length_mm / piece->table_mm_per_s;
    int steps = (int)fmax(1.0, ceil(length_mm / (CELLS_PER_STEP * history->grid.cell_mm)));
    double step_s = duration_s / steps;
    struct tw_history_strips strips;
    double heat_J;
    enum tw_status status = strips_of(history, piece, duration_s, &strips, &heat_J, findings);

    if (status == TW_OK)
        share_heat(history, &strips, heat_J, duration_s);
    for (int i = 0; status == TW_OK && i < steps; i++) {
        struct tw_plate_hottest under;
        struct tw_history_rise rise = { 0.0, 0.0 };

        history->ghost_behind_s += step_s / 2.0;
        status = follow(history, findings); /* the ghost as it is half way */
        if (status != TW_OK)
            break;
        under = tw_strips_hottest(history, history->ghost, &strips, i * step_s, (i + 1) * step_s);
        status = judge(history, piece, under, peak, &rise, findings);
        tw_spots_mark(history, piece, &strips, i * step_s, (i + 1) * step_s, rise);
        heat_plate(history, &strips, i * step_s, step_s);
        if (status == TW_OK)
            status = tw_plate_step(history->plate, step_s, findings);
        history->ghost_behind_s += step_s / 2.0;
    }
    note_bulk_behind(history, &strips, duration_s, peak);
    history->clock_s += duration_s;
    history->cooled_s = 0.0;
    return status;
}

struct tw_history_peak tw_history_no_peak(void)
{
    return (struct tw_history_peak){ .degC = -HUGE_VAL,
                                     .dry_degC = -HUGE_VAL,
                                     .boiling_room_K = HUGE_VAL,
                                     .film_times = HUGE_VAL,
                                     .film_least_times = HUGE_VAL,
                                     .highest_bulk_degC = -HUGE_VAL,
                                     .least_degC = -HUGE_VAL,
                                     .least_bulk_degC = -HUGE_VAL,
                                     .expected = { .degC = -HUGE_VAL } };
}

static enum tw_status begin_pass(struct tw_history *history, struct tw_history_peak *peak)
{
    struct tw_plate_cells ground;

    tw_spots_count_pass(history);
    history->ghost_behind_s = history->behind_s = 0.0;
    *peak = tw_history_no_peak();
    peak->highest_bulk_degC = tw_history_bulk_degC(history);
    history->stored_J = fmax(0.0, tw_plate_booked_J(history->plate));
    if (history->ghost_shape == history->shape)
        return tw_plate_copy_temperature(history->ghost, history->plate);
    history->ghost_shape = history->shape;
    ground = history->ground;
    history->ground = tw_no_cells();
    return tw_plate_copy_ground(history->ghost, history->plate, ground);
}

static void end_pass(struct tw_history *history, struct tw_history_peak *peak)
{
    double ambient_degC = history->coolant.temperature_degC;

    if (peak->degC == -HUGE_VAL)
        peak->degC = peak->bulk_degC = peak->dry_degC = peak->least_degC = peak->expected.degC =
            peak->expected.bulk_degC = ambient_degC;
    peak->least_bulk_degC = tw_history_least_film_degC(history, peak->highest_bulk_degC);
    history->highest_bulk_degC = fmax(history->highest_bulk_degC, peak->highest_bulk_degC);
    if (history->tempers && history->clock_s - history->bulk_counted_s >= BULK_COUNT_S)
        tw_spots_count_bulk(history);
}

enum tw_status tw_history_pass(struct tw_history *history, const struct tw_history_piece *pieces, size_t count,
                               struct tw_history_peak *peak, struct tw_findings *findings)
{
    enum tw_status status = begin_pass(history, peak);

    for (size_t i = 0; status == TW_OK && i < count; i++)
        if (pieces[i].depth_mm > 0.0 && pieces[i].mean_mm > 0.0)
            status = run_piece(history, &pieces[i], peak, findings);
    end_pass(history, peak);
    return status;
}

/* ---- the history as a whole ---- */

enum tw_status tw_history_copy(struct tw_history *to, const struct tw_history *from)
{
    size_t cells = from->grid.nx * from->grid.ny;
    bool alike = to->shape == from->shape;
    enum tw_status status =
        alike ? tw_plate_copy_temperature(to->plate, from->plate) : tw_plate_copy(to->plate, from->plate);

    if (status != TW_OK)
        return status;
    memcpy(to->thickness_mm, from->thickness_mm, cells * sizeof *to->thickness_mm);
    if (to->tempers)
        memcpy(to->spots, from->spots, cells * sizeof *to->spots);
    to->shape = from->shape;
    if (!alike)
        to->ground = tw_all_cells(to);
    to->clock_s = from->clock_s;
    to->cooled_s = from->cooled_s;
    to->owed_J = from->owed_J;
    to->expected_share = from->expected_share;
    to->least_share = from->least_share;
    to->highest_bulk_degC = from->highest_bulk_degC;
    memcpy(to->most, from->most, sizeof to->most);
    memcpy(to->most_at, from->most_at, sizeof to->most_at);
    to->pass_contact_mm = from->pass_contact_mm;
    to->pass_bulk_degC = from->pass_bulk_degC;
    to->pass_open = from->pass_open;
    to->passed = from->passed;
    to->bulk_counted_s = from->bulk_counted_s;
    return TW_OK;
}

void tw_history_borrow(struct tw_history *history, struct tw_factors *factors)
{
    tw_factors_close(history->own_factors);
    history->own_factors = NULL;
    history->factors = factors;
}

double tw_history_clock_s(const struct tw_history *history)
{
    return history->clock_s;
}

double tw_history_bulk_degC(const struct tw_history *history)
{
    return tw_plate_highest_degC(history->plate);
}

double tw_history_highest_bulk_degC(const struct tw_history *history)
{
    return history->highest_bulk_degC;
}

struct tw_history_grid tw_history_grid(const struct tw_history *history)
{
    const struct tw_plate_grid *grid = &history->grid;

    return (struct tw_history_grid){ grid->x_mm, grid->y_mm, grid->cell_mm, grid->nx, grid->ny };
}

struct tw_plate_energy tw_history_energy(const struct tw_history *history)
{
    return tw_plate_energy(history->plate);
}

const struct tw_plate *tw_history_plate(const struct tw_history *history)
{
    return history->plate;
}
