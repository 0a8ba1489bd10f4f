/* test_reserve.c - the reserve of energy that wheels which are not calibrated are planned with. Guards against a reserve
 * that misses part of the heat, that is counted twice, or that a calibrated wheel still pays for. */
#include "samples/sample.h"

#include "tangwright/heat.h"
#include "tangwright/warm.h"

#include <math.h>
#include <string.h>

#define RESERVE 1.25

static void expect_near(const char *what, double got, double wanted, double within)
{
    cr_expect(fabs(got - wanted) <= within, "%s is %.9g, not %.9g within %g", what, got, wanted, within);
}

static void read_sample(const char *name, struct tw_job *job)
{
    struct tw_findings findings = { 0 };
    char path[128];

    snprintf(path, sizeof path, "samples/%s/job.cfg", name);
    cr_assert(eq(int, tw_job_read(path, job, &findings), TW_OK));
    tw_findings_free(&findings);
    job->fixture.clamp_force_N += 1000.0; /* heat is asked about, not what holds */
}

static void make_plan(const struct tw_job *job, struct tw_plan *plan)
{
    struct tw_findings findings = { 0 };
    enum tw_status status = tw_plan_make(job, plan, &findings);

    show_findings(&findings);
    tw_findings_free(&findings);
    cr_assert(eq(int, status, TW_OK));
}

/* ---- the flash ---- */

/* The dry disc of test_heat.c: 10 um at 200 mm/s take 52.92 J/mm3 and 74.85 W/mm2, of which chips of 6 J/mm3 carry off
 * 6 * 2 / 1.414 = 8.485; the rise is 439.7 K. With 1.25 times the energy the chips carry off no more, so by hand
 * (93.56 - 8.485) / (74.85 - 8.485) = 1.2819 times the rise, 563.6 K. */
Test(reserve, of_energy_raises_the_flash_by_more_for_chips_carry_off_no_more)
{
    const struct tw_steel carbon = { .conductivity_W_per_mm_K = 0.040,
                                     .density_g_per_mm3 = 7.83e-3,
                                     .specific_heat_J_per_g_K = 0.480 };
    const struct tw_wheel alumina = { .kind = TW_WHEEL_DISC,
                                      .diameter_mm = 200.0,
                                      .grain_conductivity_W_per_mm_K = 0.035,
                                      .grain_radius_mm = 0.015,
                                      .specific_energy_J_per_mm3 = 45.0,
                                      .size_exponent = 0.4,
                                      .min_specific_energy_J_per_mm3 = 13.8,
                                      .chip_energy_J_per_mm3 = 6.0,
                                      .contact_ratio = 1.0 };
    const struct tw_coolant dry = { .kind = TW_COOLANT_DRY, .boiling_degC = 120.0, .temperature_degC = 25.0 };
    const struct tw_contact contact = { 0.010, 200.0, 30e3, tw_disc_contact_mm(0.010, &alumina), 0.0 };
    struct tw_wheel judged = tw_wheel_at_energy(&alumina, RESERVE);
    struct tw_flash flash;

    cr_assert(eq(int, tw_flash_estimate(&contact, &judged, &carbon, &dry, 40.0, &flash, NULL), TW_OK));
    expect_near("the energy", flash.specific_energy_J_per_mm3, 52.92 * RESERVE, 0.01);
    expect_near("the rise", flash.rise_K, 563.6, 0.2);
    /* On the floor, with chips of 1 um and more, it is as much above 13.8 J/mm3. */
    expect_near("the floor", tw_specific_energy_J_per_mm3(0.01, &judged), 13.8 * RESERVE, 1e-12);
}

/* ---- the plan ---- */

/* The same wheel, known to take 1.25 times the energy, on a machine and a fixture that bear as much more. */
static void calibrate_dull(struct tw_job *job)
{
    job->limits.film_reserve /= RESERVE; /* counted in the wheel's own energy */
    job->wheel.calibrated = true;
    job->wheel.specific_energy_J_per_mm3 *= RESERVE;
    job->wheel.min_specific_energy_J_per_mm3 *= RESERVE;
    job->machine.spindle_power_W *= RESERVE;
    job->machine.stiffness_N_per_mm *= RESERVE;
    job->machine.stiffness_least_N_per_mm *= RESERVE;
    job->machine.stiffness_most_N_per_mm *= RESERVE;
    job->fixture.clamp_force_N *= RESERVE;
    job->fixture.pull_N_per_mm2 *= RESERVE;
}

static bool same_move(const struct tw_move *a, const struct tw_move *b)
{
    return a->kind == b->kind && a->layer == b->layer && a->to.x_mm == b->to.x_mm && a->to.y_mm == b->to.y_mm &&
           a->to.z_mm == b->to.z_mm && a->feed_mm_per_s == b->feed_mm_per_s && a->dwell_s == b->dwell_s;
}

static void expect_same_setup(const struct tw_setup_plan *reserved, const struct tw_setup_plan *dull)
{
    size_t unlike = 0;

    cr_assert(eq(sz, reserved->move_count, dull->move_count));
    for (size_t i = 0; i < reserved->move_count; i++)
        unlike += !same_move(&reserved->moves[i], &dull->moves[i]);
    cr_expect(eq(sz, unlike, 0));
    expect_near("the peak with the reserve", reserved->reserve_degC, dull->peak_degC, 1e-9);
    expect_near("the tang with the reserve", reserved->reserve_bulk_degC, dull->bulk_degC, 1e-9);
    expect_near("the tempering", reserved->tempering.equivalent_degC[0], dull->tempering.equivalent_degC[0], 1e-9);
    cr_expect(lt(dbl, reserved->peak_degC, reserved->reserve_degC));
    cr_expect(lt(dbl, reserved->bulk_degC, reserved->reserve_bulk_degC));
    for (size_t i = 0; i < reserved->layer_count; i++) {
        cr_expect(eq(int, reserved->layers[i].boiled, dull->layers[i].boiled));
        cr_expect(le(dbl, reserved->layers[i].reserve_degC, reserved->layers[i].flash_limit_degC));
        expect_near("the power", reserved->layers[i].power_W * RESERVE, dull->layers[i].power_W,
                    1e-9 * dull->layers[i].power_W);
    }
}

/* A plan with the reserve is the plan of a wheel that is known to be so much duller, to the last move: flash, bulk, film and
 * tempering are all those of that wheel, and nothing but heat is. Without the reserve the same is planned as that wheel's
 * own energy allows, which is quicker. */
static void expect_plan_of_the_duller_wheel(const char *name, enum tw_flash_limit limit, bool film)
{
    struct tw_job job;
    struct tw_plan reserved, dull, calibrated;

    read_sample(name, &job);
    if (film)
        sample_make_wet(&job);
    /* The film's range is asked of the wheel as it is, not of the duller one. */
    job.coolant.contact_conductance_least_W_per_mm2_K = job.coolant.contact_conductance_W_per_mm2_K;
    job.limits.flash = limit;
    cr_assert(not(job.wheel.calibrated));
    make_plan(&job, &reserved);
    job.wheel.calibrated = true;
    make_plan(&job, &calibrated);
    calibrate_dull(&job);
    make_plan(&job, &dull);
    for (size_t i = 0; i < reserved.setup_count; i++)
        expect_same_setup(&reserved.setups[i], &dull.setups[i]);
    cr_expect(lt(dbl, calibrated.cycle_time_s, reserved.cycle_time_s));
    expect_near("the reserve of a calibrated wheel", calibrated.reserve_degC, calibrated.peak_degC, 0.0);
    tw_plan_free(&reserved);
    tw_plan_free(&dull);
    tw_plan_free(&calibrated);
    tw_job_free(&job);
}

Test(reserve, plans_the_duller_wheel_where_the_flash_binds)
{
    expect_plan_of_the_duller_wheel("santoku-170", TW_FLASH_STRICT, false);
}

Test(reserve, plans_the_duller_wheel_where_the_coolants_film_binds)
{
    expect_plan_of_the_duller_wheel("petty-130", TW_FLASH_STRICT, true);
}

Test(reserve, plans_the_duller_wheel_under_the_equivalent_limit)
{
    expect_plan_of_the_duller_wheel("santoku-170", TW_FLASH_EQUIVALENT, false);
}

/* What is expected is what the same moves do with the wheel's own energy: the limit so high that nothing of the plan comes
 * from heat, with the reserve and without; and no film that boils with the reserve alone. What the tang holds is known from the
 * history with the reserve, mixed of the heats of all passes, to a hundredth of its rise: chips carry off unlike parts of unlike
 * cuts. Layers too thin for the cells are expected a little too hot. */
Test(reserve, expects_what_the_wheels_own_energy_does)
{
    struct tw_job job;
    struct tw_plan with, without;

    read_sample("santoku-170", &job);
    job.coolant.kind = TW_COOLANT_FLOOD;
    job.coolant.flow_mm3_per_s = 0.0; /* no bound: such a layer is judged, and expected, over different widths */
    job.coolant.boiling_degC = 1e4;
    job.limits.tempering_degC = 690.0;
    make_plan(&job, &with);
    job.limits.energy_reserve = 1.0;
    make_plan(&job, &without);
    for (int side = 0; side < 2; side++) {
        cr_assert(eq(sz, with.setups[side].layer_count, without.setups[side].layer_count));
        for (size_t i = 0; i < with.setups[side].layer_count; i++) {
            const struct tw_layer *a = &with.setups[side].layers[i], *b = &without.setups[side].layers[i];
            double mixed_K = 0.01 * (b->bulk_degC - job.coolant.temperature_degC);

            expect_near("the depth", a->depth_mm, b->depth_mm, 0.0);
            expect_near("the peak", a->peak_degC, b->peak_degC, b->depth_mm < 0.002 ? 0.5 : mixed_K);
            cr_expect(ge(dbl, a->peak_degC, b->peak_degC - mixed_K));
            expect_near("the bulk", a->bulk_degC, b->bulk_degC, mixed_K);
        }
    }
    tw_plan_free(&with);
    tw_plan_free(&without);
    tw_job_free(&job);
}

/* ---- in words ---- */

static void expect_words(const struct tw_job *job, const char *words)
{
    char said[TW_ENERGY_WORDS];

    tw_energy_words(job, said);
    cr_expect(strcmp(said, words) == 0, "said: %s", said);
}

Test(reserve, is_said_in_one_sentence)
{
    struct tw_job job = { .limits.energy_reserve = RESERVE };

    expect_words(&job, "The wheel is not calibrated: the temperature limits are kept even at 1.25 times the assumed "
                       "specific energy.");
    job.limits.energy_reserve = 1.0;
    expect_words(&job, "The wheel is not calibrated, and heat.energy_reserve = 1.0 leaves no reserve for that.");
    job.limits.energy_reserve = RESERVE;
    job.relief.depth_mm = 0.5;
    job.relief_wheel.diameter_mm = 12.0;
    expect_words(&job, "Neither wheel is calibrated: the temperature limits are kept even at 1.25 times the assumed "
                       "specific energy.");
    job.wheel.calibrated = true;
    expect_words(&job, "The relief's wheel is not calibrated: the temperature limits are kept even at 1.25 times the "
                       "assumed specific energy.");
    expect_near("the larger reserve", tw_energy_largest_reserve(&job), RESERVE, 0.0);
    job.relief_wheel.calibrated = true;
    expect_words(&job,
                 "Both wheels are calibrated: the temperature limits are kept with the measured specific energy.");
    expect_near("no reserve", tw_energy_largest_reserve(&job), 1.0, 0.0);
}
