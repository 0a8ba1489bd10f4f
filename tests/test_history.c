/* test_history.c - temperatures of a part in the course of passes: what a pass leaves for the next one, how it cools, what
 * spots of the face have been through. Guards against heat made or lost, a pass that counts itself, answers that hang on
 * the cell size, flashes counted twice where strips or pieces meet, and a side B as cool as side A. */
#include "tangwright/history.h"

#include "check/check.h"
#include "check/near.h"
#include <math.h>
#include <stdlib.h>

/* Plain carbon steel; and the dry alumina disc of 200 mm, 10 um deep at 200 mm/s and 30 m/s, of test_heat.c: specific
 * energy 52.92 J/mm3, of which 0.7843 enter; a flash of 439.7 K that lasts 7.071 ms. */
static const struct tw_steel steel = { .conductivity_W_per_mm_K = 0.040,
                                       .density_g_per_mm3 = 7.83e-3,
                                       .specific_heat_J_per_g_K = 0.480,
                                       .temper_constant = 15.5,
                                       .softening_HRC = 5.0 };
static const struct tw_wheel disc = { .kind = TW_WHEEL_DISC,
                                      .diameter_mm = 200.0,
                                      .width_mm = 40.0,
                                      .grain_conductivity_W_per_mm_K = 0.035,
                                      .grain_radius_mm = 0.015,
                                      .specific_energy_J_per_mm3 = 45.0,
                                      .size_exponent = 0.4,
                                      .min_specific_energy_J_per_mm3 = 13.8,
                                      .chip_energy_J_per_mm3 = 6.0,
                                      .contact_ratio = 1.0 };
static const struct tw_coolant insulated = { .boiling_degC = 1e9,
                                             .surface_conductance_W_per_mm2_K = 1e-12,
                                             .joint_conductance_W_per_mm2_K = 1e-12,
                                             .temperature_degC = 25.0 };
static const double pass_share = 0.7843, pass_energy = 52.92, contact_s = 7.071e-3;
static const double heat_per_mm3 = 7.83e-3 * 0.480;

/* A plain tang, 100 by 20 mm, from the taper start at 0. */
static struct tw_point tang_points[] = { { 0, -10 }, { 100, -10 }, { 100, 10 }, { 0, 10 } };
static struct tw_point blade_points[] = { { -120, -10 }, { 0, -10 }, { 0, 10 }, { -120, 10 } };
static struct tw_outline tang = { .outer = { tang_points, 4 } }, blade = { .outer = { blade_points, 4 } },
                         no_blade = { 0 };

static const struct tw_history_part flat_part = { .tang = &tang, .blade = &no_blade, .blank_mm = 3.0 };

static struct tw_history *open_with(const struct tw_history_part *part, const struct tw_wheel *wheel,
                                    const struct tw_coolant *coolant)
{
    struct tw_history_wheel how = { .wheel = wheel };
    struct tw_history *history;
    struct tw_findings findings = { 0 };

    cr_assert(eq(int, tw_history_open(part, &how, &steel, coolant, &history, &findings), TW_OK));
    return history;
}

static struct tw_history *open_cells(double cell_mm, const struct tw_coolant *coolant)
{
    struct tw_history_part part = flat_part;

    part.cell_mm = cell_mm;
    return open_with(&part, &disc, coolant);
}

/* The whole tang in one go, 10 um deep, between low and high. */
static struct tw_history_piece piece_of(double from_mm, double to_mm, double low_mm, double high_mm)
{
    return (struct tw_history_piece){
        .from_mm = { from_mm, 0.5 * (low_mm + high_mm) },
        .to_mm = { to_mm, 0.5 * (low_mm + high_mm) },
        .low_mm = low_mm,
        .high_mm = high_mm,
        .depth_mm = 0.010,
        .mean_mm = 0.010,
        .table_mm_per_s = 200.0,
        .wheel_mm_per_s = 30000.0,
    };
}

static struct tw_history_peak run(struct tw_history *history, const struct tw_history_piece *pieces, size_t count)
{
    struct tw_history_peak peak;

    cr_assert(eq(int, tw_history_pass(history, pieces, count, &peak, NULL), TW_OK));
    return peak;
}

static struct tw_history_peak whole_pass(struct tw_history *history)
{
    struct tw_history_piece piece = piece_of(-5.0, 105.0, -10.0, 10.0);

    return run(history, &piece, 1);
}

static void wait_s(struct tw_history *history, double time_s)
{
    cr_assert(eq(int, tw_history_wait(history, time_s, NULL), TW_OK));
}

/* ---- the bulk ---- */

Test(history, first_pass_stands_on_the_ambient_and_the_next_on_what_it_left)
{
    /* One full coverage warms an insulated plate by share * energy * depth / (rho c H) everywhere: 36.8 K by hand. The
     * first pass itself sees nothing of it: its bulk is the ambient. */
    struct tw_history *history = open_cells(2.0, &insulated);
    double warmer_K = pass_share * pass_energy * 0.010 / (heat_per_mm3 * 3.0);
    struct tw_history_peak first = whole_pass(history), second;

    EXPECT_NEAR(warmer_K, 36.81, 0.01);
    EXPECT_NEAR(first.bulk_degC, 25.0, 1e-6);
    wait_s(history, 200.0);
    second = whole_pass(history);
    EXPECT_NEAR(second.bulk_degC, 25.0 + warmer_K, 0.01 * warmer_K);
    /* the flash does not hang on the bulk */
    EXPECT_NEAR(second.degC - second.bulk_degC, first.degC - first.bulk_degC, 1e-9);
    EXPECT_NEAR(second.degC - first.degC, warmer_K, 0.01 * warmer_K);
    tw_history_close(history);
}

/* ---- what is expected without the reserve of energy ---- */

Test(history, with_a_reserve_expects_what_the_wheels_own_energy_leaves)
{
    /* The plate above once more, with 1.25 times the energy: the chips carry off no more, so 1.25 * 52.92 - 6 of it enter in
     * place of 52.92 - 6, as large a share of that. What is expected is still the 36.81 K and the flash of 439.7 K. */
    struct tw_history *history = open_cells(2.0, &insulated);
    double own_K = pass_share * pass_energy * 0.010 / (heat_per_mm3 * 3.0);
    double reserve_K = own_K * (1.25 * pass_energy - 6.0) / (pass_energy - 6.0);
    struct tw_history_peak first, second;

    tw_history_set_energy(history, 1.25);
    first = whole_pass(history);
    wait_s(history, 200.0);
    second = whole_pass(history);
    EXPECT_NEAR(second.bulk_degC, 25.0 + reserve_K, 0.01 * reserve_K);
    EXPECT_NEAR(first.expected.bulk_degC, 25.0, 1e-6);
    EXPECT_NEAR(first.expected.rise_K / (first.expected.edge_factor * first.expected.plate_factor), 439.7, 0.1);
    EXPECT_NEAR(second.expected.bulk_degC, 25.0 + own_K, 0.01 * own_K);
    EXPECT_NEAR(second.expected.degC - second.expected.bulk_degC, first.expected.rise_K, 1e-9);
    tw_history_close(history);
}

/* Cuts of unlike depth have energies of which chips carry off unlike parts: what is expected is then the mean of what the steel
 * holds. Beside a history with the wheel's own energy, which follows it cell by cell, within a hundredth of the rise. */
Test(history, expects_of_unlike_cuts_what_a_history_without_the_reserve_finds)
{
    struct tw_coolant wet = insulated;
    struct tw_history *judged, *own;

    wet.surface_conductance_W_per_mm2_K = 1e-3;
    wet.joint_conductance_W_per_mm2_K = 1.5e-3;
    judged = open_cells(2.0, &wet);
    own = open_cells(2.0, &wet);
    tw_history_set_energy(judged, 1.25);
    for (int i = 0; i < 12; i++) {
        struct tw_history_piece piece = piece_of(i % 2 ? 60.0 : -5.0, 105.0, -10.0, i % 3 ? 10.0 : 0.0);
        struct tw_history_peak with, without;

        piece.depth_mm = piece.mean_mm = i % 4 == 3 ? 0.002 : 0.010;
        with = run(judged, &piece, 1);
        without = run(own, &piece, 1);
        EXPECT_NEAR(with.expected.degC, without.degC, 0.01 * (without.bulk_degC - 25.0) + 1e-6);
        EXPECT_NEAR(tw_history_expected_degC(judged, tw_history_bulk_degC(judged)), tw_history_bulk_degC(own),
                    0.01 * (tw_history_bulk_degC(own) - 25.0));
        wait_s(judged, 1.0);
        wait_s(own, 1.0);
    }
    tw_history_close(judged);
    tw_history_close(own);
}

Test(history, flash_carries_the_factor_of_the_exit_edge)
{
    /* 439.7 K of the half-space, times the factor of the edge it runs off: 1 + 0.26/sqrt(L) at L = 6.644, from the
     * mirrored source (test_heat.c); 3 mm are thick for 7 ms. */
    struct tw_history *history = open_cells(2.0, &insulated);
    struct tw_history_peak peak = whole_pass(history);

    EXPECT_NEAR(peak.rise_K / peak.edge_factor / peak.plate_factor, 439.7, 0.3);
    EXPECT_NEAR(peak.edge_factor, 1.0 + 0.26 / sqrt(6.644), 0.01);
    EXPECT_NEAR(peak.plate_factor, 1.0, 0.02);
    EXPECT_NEAR(peak.contact_s, contact_s, 1e-5);
    tw_history_close(history);
}

Test(history, waiting_cools_as_newton_says)
{
    /* A uniform plate on a joint of 1500 W/(m2 K), thickness/(3 k) in series: exp(-t h'/(rho c H)). */
    struct tw_coolant cool = insulated;
    struct tw_history *history;
    double series, warmer_K = pass_share * pass_energy * 0.010 / (heat_per_mm3 * 3.0), left;

    cool.joint_conductance_W_per_mm2_K = 1.5e-3;
    history = open_cells(2.0, &cool);
    series = 1.0 / (1.0 / 1.5e-3 + 3.0 / (3.0 * 0.040));
    whole_pass(history);
    wait_s(history, 8.0);
    /* 0.275 s after the middle of the pass */
    left = warmer_K * exp(-(8.0 + 0.275) * series / (heat_per_mm3 * 3.0));
    EXPECT_NEAR(tw_history_bulk_degC(history) - 25.0, left, 0.05 * left); /* the exit end is 0.25 s younger */
    EXPECT_NEAR(tw_history_clock_s(history), 8.55, 1e-9);
    tw_history_close(history);
}

/* ---- a tang that hangs free ---- */

static double tip_K(const struct tw_history *history)
{
    struct tw_history_grid grid = tw_history_grid(history);

    return tw_plate_degC(tw_history_plate(history), grid.columns - 1, grid.rows / 2) - 25.0;
}

/* Carried on its first 40 mm alone, the last 60 mm of the tang lose their heat along the steel: after a while as the slowest
 * mode of a fin of two lengths, exp(-a l^2 t) with l tan(60 l) = u tanh(40 u), u^2 = m^2 - l^2, m^2 = h/(k H) (Carslaw & Jaeger,
 * Conduction of Heat in Solids, 2nd ed., 1959, sections 3.9 and 4.5: temperature and flow are the same on both sides). h is
 * the joint behind a third of the plate. */
static double slowest_per_s(double joint)
{
    double h = 1.0 / (1.0 / joint + 3.0 / (3.0 * 0.040)), m2 = h / (0.040 * 3.0), low = 0.0, high = acos(-1.0) / 120.0;

    high *= 1.0 - 1e-9;
    for (int i = 0; i < 100; i++) {
        double l = (low + high) / 2.0, u = sqrt(m2 - l * l);

        *(l * tan(60.0 * l) < u * tanh(40.0 * u) ? &low : &high) = l;
    }
    return 0.040 / heat_per_mm3 * low * low;
}

Test(history, what_hangs_free_cools_along_the_steel)
{
    struct tw_coolant cool = insulated;
    struct tw_point rest_points[] = { { -1, -11 }, { 40, -11 }, { 40, 11 }, { -1, 11 } };
    struct tw_ring rest = { rest_points, 4 };
    struct tw_history_part part = flat_part;
    struct tw_history *history;
    double before_K;

    cool.joint_conductance_W_per_mm2_K = 1.5e-3;
    part.cell_mm = 1.0;
    part.carried = &rest;
    part.carried_count = 1;
    history = open_with(&part, &disc, &cool);
    whole_pass(history);
    wait_s(history, 150.0);
    before_K = tip_K(history);
    wait_s(history, 100.0);
    EXPECT_NEAR(log(before_K / tip_K(history)) / 100.0, slowest_per_s(1.5e-3), 0.01 * slowest_per_s(1.5e-3));
    tw_history_close(history);
}

/* A rest under all of it is no other than the plate itself; one beside it carries nothing. */
Test(history, only_what_lies_under_the_part_carries_it)
{
    struct tw_coolant cool = insulated;
    struct tw_point under_points[] = { { -1, -11 }, { 101, -11 }, { 101, 11 }, { -1, 11 } };
    struct tw_point beside_points[] = { { -1, 11 }, { 101, 11 }, { 101, 30 }, { -1, 30 } };
    struct tw_ring under = { under_points, 4 }, beside = { beside_points, 4 };
    const struct tw_ring *const rings[] = { NULL, &under, &beside };
    double joint_J[3];

    cool.joint_conductance_W_per_mm2_K = 1.5e-3;
    for (int i = 0; i < 3; i++) {
        struct tw_history_part part = flat_part;
        struct tw_history *history;

        part.carried = rings[i];
        part.carried_count = rings[i] != NULL;
        history = open_with(&part, &disc, &cool);
        whole_pass(history);
        wait_s(history, 20.0);
        joint_J[i] = tw_history_energy(history).joint_J;
        tw_history_close(history);
    }
    EXPECT_NEAR(joint_J[1], joint_J[0], 1e-9 * joint_J[0]);
    EXPECT_NEAR(joint_J[2], 0.0, 1e-9);
}

static void check_balance(struct tw_history *history, double wanted_J)
{
    struct tw_plate_energy energy = tw_history_energy(history);

    cr_expect(fabs(energy.imbalance_J) < 1e-3 * energy.heat_J, "%g J of %g J", energy.imbalance_J, energy.heat_J);
    EXPECT_NEAR(energy.heat_J, wanted_J, 0.003 * wanted_J);
    EXPECT_NEAR(energy.top_J + energy.joint_J + energy.edge_J + energy.chips_J + energy.stored_J, wanted_J,
                0.003 * wanted_J);
}

Test(history, heat_is_neither_made_nor_lost)
{
    /* Ten passes with waits, grinding and cooling in between: what comes in is share * energy * volume. */
    struct tw_coolant cool = { .boiling_degC = 1e9,
                               .surface_conductance_W_per_mm2_K = 3e-4,
                               .joint_conductance_W_per_mm2_K = 1.5e-3,
                               .temperature_degC = 25.0 };
    struct tw_history *history = open_cells(2.0, &cool);

    for (int i = 0; i < 10; i++) {
        whole_pass(history);
        wait_s(history, 1.5);
        cr_assert(eq(int, tw_history_set_face(history, 3.0 - 0.01 * (i + 1), 0.0, NULL), TW_OK));
    }
    check_balance(history, 10.0 * pass_share * pass_energy * 0.010 * 100.0 * 20.0);
    tw_history_close(history);
}

Test(history, volume_says_how_much_heat_there_is)
{
    /* A piece that reaches far beside the tang and half of whose way is over nothing: the heat is that of the volume. */
    struct tw_history *history = open_cells(2.0, &insulated);
    struct tw_history_piece piece = piece_of(50.0, 150.0, -20.0, 30.0);

    piece.volume_mm3 = 8.0;
    run(history, &piece, 1);
    check_balance(history, 8.0 * pass_share * pass_energy);
    tw_history_close(history);
}

/* A long, slow cup over a plate that loses heat, back and forth: the pass in hand warms what lies ahead of it. */
static double slow_peak_degC(double cell_mm, double *bulk_degC, double *highest_degC, struct tw_tempering *tempering)
{
    struct tw_wheel cup = disc;
    struct tw_coolant cool = { .boiling_degC = 1e9,
                               .surface_conductance_W_per_mm2_K = 3e-4,
                               .joint_conductance_W_per_mm2_K = 1.5e-3,
                               .temperature_degC = 25.0 };
    struct tw_history_part part = flat_part;
    struct tw_history *history;
    struct tw_history_peak peak;
    struct tw_temper_limit limit = tw_temper_limit_of(200.0, 25.0, 4.0 * 3600.0, 15.5);
    double hottest = 0.0;

    cup.kind = TW_WHEEL_CUP;
    cup.diameter_mm = 75.0;
    cup.rim_width_mm = 6.0;
    cup.rim_contact_mm = 3.0;
    part.cell_mm = cell_mm;
    part.blade = &blade;
    history = open_with(&part, &cup, &cool);
    *bulk_degC = 0.0;
    for (int i = 0; i < 12; i++) {
        struct tw_history_piece pieces[17];

        for (int k = 0; k < 17; k++) { /* from butt to front, in pieces of 6 mm */
            pieces[k] = piece_of(138.0 - 6.0 * k, 132.0 - 6.0 * k, -10.0, 10.0);
            pieces[k].table_mm_per_s = 20.0;
            pieces[k].wheel_mm_per_s = 20000.0;
        }
        peak = run(history, pieces, 17);
        hottest = fmax(hottest, peak.degC);
        *bulk_degC = fmax(*bulk_degC, peak.bulk_degC);
        wait_s(history, 2.0);
    }
    *highest_degC = tw_history_highest_bulk_degC(history);
    tw_history_tempering(history, &limit, tempering);
    tw_history_close(history);
    return hottest;
}

Test(history, answers_do_not_hang_on_the_cell_size)
{
    struct tw_tempering coarse, fine;
    double bulk[2], highest[2], peak_degC[2];

    peak_degC[0] = slow_peak_degC(2.0, &bulk[0], &highest[0], &coarse);
    peak_degC[1] = slow_peak_degC(1.0, &bulk[1], &highest[1], &fine);
    cr_expect(bulk[1] > 45.0, "the passes warm the tang: %g", bulk[1]);
    EXPECT_NEAR(peak_degC[0] - 25.0, peak_degC[1] - 25.0, 0.01 * (peak_degC[1] - 25.0));
    EXPECT_NEAR(bulk[0] - 25.0, bulk[1] - 25.0, 0.02 * (bulk[1] - 25.0));
    EXPECT_NEAR(highest[0] - 25.0, highest[1] - 25.0, 0.05 * (highest[1] - 25.0));
    for (int n = 0; n < 2; n++)
        EXPECT_NEAR(coarse.parameter[n], fine.parameter[n], 0.005 * fine.parameter[n]);
}

Test(history, waiting_longer_never_makes_a_pass_hotter)
{
    double before_degC = HUGE_VAL;

    for (double pause_s = 0.0; pause_s < 40.0; pause_s = 2.0 * pause_s + 0.5) {
        struct tw_coolant cool = insulated;
        struct tw_history *history;
        struct tw_history_peak peak;

        cool.joint_conductance_W_per_mm2_K = 1.5e-3;
        history = open_cells(2.0, &cool);
        whole_pass(history);
        wait_s(history, pause_s);
        peak = whole_pass(history);
        cr_expect(peak.degC < before_degC, "%g s: %g after %g", pause_s, peak.degC, before_degC);
        before_degC = peak.degC;
        tw_history_close(history);
    }
}

Test(history, on_packing_side_b_gets_hotter_than_side_a)
{
    /* The same passes over a tang that tapers below and lies on packing: less steel, and a fifth of the conductance. */
    struct tw_coolant cool = insulated;
    struct tw_history_part part = flat_part;
    double peaks[2];

    cool.joint_conductance_W_per_mm2_K = 1.5e-3;
    part.blade = &blade;
    for (int side = 0; side < 2; side++) {
        struct tw_history *history;

        part.packed = side == 1;
        part.underside_slope = side == 1 ? 0.007 : 0.0;
        history = open_with(&part, &disc, &cool);
        for (int i = 0; i < 4; i++) {
            peaks[side] = whole_pass(history).degC;
            wait_s(history, 3.0);
        }
        tw_history_close(history);
    }
    cr_expect(peaks[1] > peaks[0] + 20.0, "%g and %g degC", peaks[0], peaks[1]);
}

Test(history, copy_goes_on_as_the_original_would)
{
    struct tw_coolant cool = insulated;
    struct tw_history *a, *b, *c;
    struct tw_history_peak peak_a, peak_b;

    cool.joint_conductance_W_per_mm2_K = 1.5e-3;
    a = open_cells(2.0, &cool);
    b = open_cells(2.0, &cool);
    whole_pass(a);
    cr_assert(eq(int, tw_history_set_face(a, 2.5, -0.005, NULL), TW_OK));
    whole_pass(b); /* something else happened to b, and its face was not ground */
    wait_s(b, 1.0);
    cr_assert(eq(int, tw_history_copy(b, a), TW_OK));
    c = tw_history_another(a);
    cr_assert(c != NULL);
    wait_s(a, 1.0);
    wait_s(b, 1.0);
    wait_s(c, 1.0);
    peak_a = whole_pass(a);
    peak_b = whole_pass(b);
    cr_expect(eq(dbl, peak_a.degC, peak_b.degC));
    cr_expect(eq(dbl, peak_a.degC, whole_pass(c).degC));
    cr_expect(eq(dbl, tw_history_energy(a).stored_J, tw_history_energy(b).stored_J));
    cr_expect(eq(dbl, tw_history_energy(a).stored_J, tw_history_energy(c).stored_J));
    tw_history_close(c);
    tw_history_close(a);
    tw_history_close(b);
}

/* A step of 0.4 mm across the tang at x = 31, ground from there to the end. */
static double left_of_step(void *context, double x_mm, double y_mm)
{
    (void)context, (void)y_mm;
    return x_mm >= 31.0 ? 2.6 : 3.0;
}

Test(history, told_where_it_was_ground_goes_on_as_if_asked_everywhere)
{
    static const struct tw_history_box where = { 31.0, 100.0, -10.0, 10.0 };
    struct tw_history *asked = open_cells(2.0, &insulated), *told = open_cells(2.0, &insulated);

    whole_pass(asked);
    whole_pass(told);
    cr_assert(eq(int, tw_history_set_left(asked, left_of_step, NULL, NULL), TW_OK));
    cr_assert(eq(int, tw_history_set_left_in(told, &where, left_of_step, NULL, NULL), TW_OK));
    for (int i = 0; i < 3; i++) {
        cr_expect(eq(dbl, whole_pass(asked).degC, whole_pass(told).degC));
        wait_s(asked, 1.0);
        wait_s(told, 1.0);
    }
    cr_expect(eq(dbl, tw_history_energy(asked).stored_J, tw_history_energy(told).stored_J));
    tw_history_close(asked);
    tw_history_close(told);
}

/* ---- coolant regimes ---- */

Test(history, film_boils_where_the_contact_with_its_factors_is_too_hot)
{
    /* Wet the flash of the half-space is 150.5 K (test_heat.c), with the exit edge some 165 K: on 25 degC that boils
     * water, but not a coolant that stands 200 degC. */
    struct tw_coolant flood = insulated;

    flood.contact_conductance_W_per_mm2_K = 0.29 * sqrt(1.4142 / 1.4); /* 0.29 in this contact, 1.4142 mm long */
    for (int i = 0; i < 2; i++) {
        struct tw_history *history;
        struct tw_history_peak peak;

        flood.boiling_degC = i ? 200.0 : 180.0;
        history = open_cells(2.0, &flood);
        peak = whole_pass(history);
        cr_expect(eq(int, peak.boiled, i == 0));
        EXPECT_NEAR(peak.boiling_room_K, flood.boiling_degC - 25.0 - 150.5 * peak.edge_factor, 0.3);
        EXPECT_NEAR(peak.dry_degC, 25.0 + 439.7 * peak.edge_factor * peak.plate_factor, 0.5);
        EXPECT_NEAR(peak.degC, i ? 25.0 + 150.5 * peak.edge_factor * peak.plate_factor : peak.dry_degC, 0.3);
        tw_history_close(history);
    }
}

/* ---- tempering ---- */

static struct tw_temper_limit own_limit(void)
{
    return tw_temper_limit_of(200.0, 25.0, 4.0 * 3600.0, 15.5);
}

/* P of so many flashes at one temperature: P = T (C + log10 t), Hollomon and Jaffe 1945. */
static double parameter_by_hand(double degC, double flashes, double constant)
{
    return (degC + 273.15) * (constant + log10(flashes * contact_s / 3600.0)) / 1000.0;
}

Test(history, flashes_at_one_place_add_up)
{
    struct tw_history *history = open_cells(2.0, &insulated);
    struct tw_temper_limit limit = own_limit();
    struct tw_tempering tempering;
    double peak_degC = whole_pass(history).degC;

    tw_history_tempering(history, &limit, &tempering);
    EXPECT_NEAR(tempering.parameter[0], parameter_by_hand(peak_degC, 1.0, 20.0), 2e-3);
    EXPECT_NEAR(tempering.parameter[1], parameter_by_hand(peak_degC, 1.0, 15.5), 2e-3);
    EXPECT_NEAR(tempering.flashes, 1.0, 0.01);
    EXPECT_NEAR(tempering.hottest_degC, peak_degC, 1e-9);
    EXPECT_NEAR(tempering.contact_s, contact_s, 1e-5);
    /* As much as 4 h at T: T (C + log10 4) = P. */
    EXPECT_NEAR(tempering.equivalent_degC[0], 1000.0 * tempering.parameter[0] / (20.0 + log10(4.0)) - 273.15, 1e-6);
    EXPECT_NEAR(tempering.allowed_degC, 175.0, 1e-9);
    tw_history_close(history);
}

Test(history, strips_and_pieces_share_their_places)
{
    /* The same pass in one piece, in pieces of odd lengths, and in lanes of odd widths: every spot is met once. */
    static const double ends[] = { -5.0, 3.3, 10.1, 31.7, 60.0, 77.7, 105.0 };
    struct tw_temper_limit limit = own_limit();
    struct tw_tempering whole, pieces, lanes;
    struct tw_history *history = open_cells(2.0, &insulated);
    struct tw_history_piece parts[6];

    whole_pass(history);
    tw_history_tempering(history, &limit, &whole);
    tw_history_close(history);

    history = open_cells(2.0, &insulated);
    for (int i = 0; i < 6; i++)
        parts[i] = piece_of(ends[i], ends[i + 1], -10.0, 10.0);
    run(history, parts, 6);
    tw_history_tempering(history, &limit, &pieces);
    tw_history_close(history);

    history = open_cells(2.0, &insulated);
    parts[0] = piece_of(-5.0, 105.0, -10.0, -3.1);
    parts[1] = piece_of(-5.0, 105.0, -3.1, 10.0);
    run(history, parts, 1);
    wait_s(history, 0.0);
    run(history, parts + 1, 1);
    tw_history_tempering(history, &limit, &lanes);
    tw_history_close(history);

    EXPECT_NEAR(pieces.parameter[0], whole.parameter[0], 2e-3);
    EXPECT_NEAR(pieces.contact_s, whole.contact_s, 1e-6);
    EXPECT_NEAR(lanes.contact_s, whole.contact_s, 1e-6);
    /* the second lane stands on what little the first has sent across */
    cr_expect(lanes.parameter[0] < whole.parameter[0] * 1.03, "%g and %g", lanes.parameter[0], whole.parameter[0]);
}

Test(history, softened_skin_is_ground_off_by_what_comes_after)
{
    /* Dry flashes far beyond the limit: a skin some tenths of a millimetre deep is softened, as the rises at depth say
     * (372 K at 0.05 mm, 213 K at 0.2 mm). A face lower by 0.05 mm has so much less of it, one lower by 0.5 mm none. */
    struct tw_history *history = open_cells(2.0, &insulated);
    struct tw_temper_limit limit = own_limit();
    struct tw_tempering before, after;

    for (int i = 0; i < 5; i++) {
        whole_pass(history);
        wait_s(history, 1.0);
    }
    tw_history_tempering(history, &limit, &before);
    cr_expect(before.softened_mm > 0.02 && before.softened_mm < 0.5, "%g", before.softened_mm);
    cr_expect(before.lost_HRC > 0.0);
    /* the last pass itself left the face 0.01 mm lower than the plate knows yet */
    EXPECT_NEAR(before.left_mm, before.softened_mm, 1e-9);
    cr_assert(eq(int, tw_history_set_face(history, 3.0 - 0.010 - 0.05, 0.0, NULL), TW_OK));
    tw_history_tempering(history, &limit, &after);
    EXPECT_NEAR(after.softened_mm, before.softened_mm, 1e-9);
    EXPECT_NEAR(after.left_mm, fmax(0.0, before.softened_mm - 0.05), 1e-9);
    cr_assert(eq(int, tw_history_set_face(history, 2.4, 0.0, NULL), TW_OK));
    tw_history_tempering(history, &limit, &after);
    EXPECT_NEAR(after.left_mm, 0.0, 0.0);
    tw_history_close(history);
}

Test(history, warm_bulk_tempers_too)
{
    /* An insulated plate kept warm by three passes for two hours: P of that time at that temperature. */
    struct tw_history *history = open_cells(2.0, &insulated);
    struct tw_temper_limit limit = own_limit();
    struct tw_tempering tempering;
    double bulk_degC;

    for (int i = 0; i < 3; i++) {
        whole_pass(history);
        wait_s(history, 30.0);
    }
    wait_s(history, 7200.0);
    bulk_degC = tw_history_bulk_degC(history);
    tw_history_tempering(history, &limit, &tempering);
    /* by the steel's constant the bulk has done more than the flashes; they add a little */
    cr_expect(tempering.parameter[1] >= (bulk_degC + 273.15) * (15.5 + log10(2.0)) / 1000.0 - 1e-3);
    tw_history_close(history);
}

Test(history, untouched_part_is_as_it_was)
{
    struct tw_history *history = open_cells(2.0, &insulated);
    struct tw_temper_limit limit = own_limit();
    struct tw_history_piece nothing = piece_of(0.0, 10.0, -10.0, 10.0);
    struct tw_history_peak peak;
    struct tw_tempering tempering;

    nothing.depth_mm = nothing.mean_mm = 0.0;
    peak = run(history, &nothing, 1);
    EXPECT_NEAR(peak.degC, 25.0, 0.0);
    tw_history_tempering(history, &limit, &tempering);
    EXPECT_NEAR(tempering.hottest_degC, 25.0, 0.0);
    EXPECT_NEAR(tempering.softened_mm, 0.0, 0.0);
    EXPECT_NEAR(tempering.equivalent_degC[0], 25.0, 0.0);
    EXPECT_NEAR(tw_history_highest_bulk_degC(history), 25.0, 1e-9);
    tw_history_close(history);
}

/* A pass along y 0 to 8 leaves its half of the tang warm, to the border of the cells at y = 0; the next one ends 0.05 mm short of
 * it, or reaches 0.05 mm over. One that ends short finds the cold half's bulk, unless it looks 0.1 mm wider: then no less than the one
 * that reaches over does, and more only by what is warmer 0.1 mm farther along. */
Test(history, looks_a_little_wider_for_what_another_field_may_find)
{
    double bulk_degC[3];

    for (int i = 0; i < 3; i++) {
        struct tw_history *history = open_cells(2.0, &insulated);
        struct tw_history_piece warm = piece_of(0.0, 100.0, 0.0, 8.0),
                                next = piece_of(0.0, 100.0, -8.0, i == 2 ? 0.05 : -0.05);
        struct tw_history_peak peak;

        tw_history_look_wider(history, i == 1 ? 0.1 : 0.0);
        cr_assert(eq(int, tw_history_pass(history, &warm, 1, &peak, NULL), TW_OK));
        cr_assert(eq(int, tw_history_pass(history, &next, 1, &peak, NULL), TW_OK));
        bulk_degC[i] = peak.bulk_degC;
        tw_history_close(history);
    }
    cr_expect(gt(dbl, bulk_degC[2], bulk_degC[0] + 1.0), "%.3f and %.3f", bulk_degC[2], bulk_degC[0]);
    cr_expect(ge(dbl, bulk_degC[1], bulk_degC[2]));
    EXPECT_NEAR(bulk_degC[1], bulk_degC[2], 0.1);
}
