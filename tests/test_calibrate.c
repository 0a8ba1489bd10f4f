/* test_calibrate.c - guards against a fit that is wrong, surer than its readings, or made from readings
 * that say nothing; against a file of readings misread; and against override lines that a job does not
 * take. */
#define _XOPEN_SOURCE 700 /* realpath */
#include "base/text.h"
#include "input/failing_memory.h"
#include "sanitized.h"
#include "tangwright/calibrate.h"
#include "tangwright/heat.h"
#include "tangwright/plan.h"

#include "check/check.h"
#include "check/noise.h"
#include "check/near.h"
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#define SAMPLE_JOB      "samples/santoku-170/job.cfg"
#define SAMPLE_READINGS "samples/santoku-170/readings.csv"
#define POINTS_MOST     20

static const struct tw_wheel wheel = { .size_exponent = 0.4, .min_specific_energy_J_per_mm3 = 13.8 };
static const struct tw_place nowhere = { .file = "r.csv" };

/* libconfig 1.5 may lose a text when memory runs out; that is not ours to mend. */
const char *__lsan_default_suppressions(void);
const char *__lsan_default_suppressions(void)
{
    return "leak:libconfig";
}

/* ---- helpers ---- */

static unsigned long long random_state = 1;

static void ask_reference(const char *arguments, double *values, size_t count)
{
    char command[4096];
    FILE *pipe;

    snprintf(command, sizeof command, "/usr/bin/python3 tests/reference/calibrate.py %s", arguments);
    pipe = popen(command, "r");
    cr_assert(pipe != NULL);
    for (size_t i = 0; i < count; i++)
        cr_assert(fscanf(pipe, "%lf", &values[i]) == 1, "value %zu is missing in the answer of: %s", i, command);
    cr_assert(pclose(pipe) == 0, "failed: %s", command);
}

struct fitted {
    enum tw_status status;
    struct tw_energy_fit fit;
    struct tw_energy_check checks[POINTS_MOST];
};

static struct fitted fit_of(const struct tw_energy_point *points, size_t count, const struct tw_wheel *of)
{
    struct fitted fitted = { 0 };

    fitted.status = tw_energy_fit_make(points, count, of, nowhere, &fitted.fit, fitted.checks, NULL);
    return fitted;
}

static void print_points(struct tw_text *text, const struct tw_energy_point *points, size_t count)
{
    for (size_t i = 0; i < count; i++)
        tw_text_print(text, " %.17g,%.17g,%.17g", points[i].chip_mm * 1e3, points[i].energy_J_per_mm3,
                      points[i].relative);
}

/* `count` noisy readings of u_ref (0.1 um / h)^n over a factor of `span` from thinnest_mm on, in mixed
 * order. */
static void make_points(struct tw_energy_point *points, size_t count, double u_ref, double n, double thinnest_mm,
                        double span, double noise)
{
    for (size_t i = 0; i < count; i++) {
        size_t place = (i * 5) % count; /* count is no multiple of 5 */
        double relative = noise * (0.5 + even(&random_state));
        double chip_mm = thinnest_mm * pow(span, (double)place / (double)(count - 1));

        points[i] =
            (struct tw_energy_point){ chip_mm, u_ref * pow(1e-4 / chip_mm, n) * exp(relative * normal(&random_state)),
                                      relative };
    }
}

/* ---- the line ---- */

Test(energy, three_equal_readings_give_the_closed_form_of_a_line)
{
    /* x = -1, 0, 1 with equal sigma s: level = mean, slope = (y3 - y1)/2, variances s^2/3 and s^2/2,
     * covariance 0; misses (d, -2d, d) are square to the line, so chi-square is 6 d^2/s^2 and each reading
     * is off by d sqrt(6)/s in its own standard deviation (textbook least squares, by hand). */
    const double s = 0.05, d = 0.03, e = exp(1.0);
    struct tw_energy_point points[3] = { { 1e-4 * e, 45.0 * exp(-0.3 + d), s },
                                         { 1e-4, 45.0 * exp(-2.0 * d), s },
                                         { 1e-4 / e, 45.0 * exp(0.3 + d), s } };
    struct fitted got = fit_of(points, 3, &wheel);
    double scatter = sqrt(6.0) * d / s;

    cr_assert(eq(int, got.status, TW_OK));
    cr_expect(eq(int, got.fit.exponent_from, TW_EXPONENT_FITTED));
    EXPECT_NEAR(got.fit.energy_J_per_mm3, 45.0, 1e-12);
    EXPECT_NEAR(got.fit.exponent, 0.3, 1e-14);
    EXPECT_NEAR(got.fit.chi_square, scatter * scatter, 1e-12);
    cr_expect(eq(sz, got.fit.degrees, 1));
    EXPECT_NEAR(got.fit.probability, erfc(scatter / sqrt(2.0)), 1e-12); /* chi-square of one degree */
    EXPECT_NEAR(got.fit.scatter, scatter, 1e-12);
    EXPECT_NEAR(got.fit.relative, scatter * s / sqrt(3.0), 1e-14);
    EXPECT_NEAR(got.fit.exponent_uncertainty, scatter * s / sqrt(2.0), 1e-14);
    EXPECT_NEAR(got.fit.correlation, 0.0, 1e-14);
    EXPECT_NEAR(got.fit.mean_chip_mm, 1e-4, 1e-17);
    EXPECT_NEAR(tw_energy_fit_relative_at(&got.fit, 1e-4 / e), scatter * s * sqrt(1.0 / 3.0 + 1.0 / 2.0), 1e-14);
    for (int i = 0; i < 3; i++) {
        EXPECT_NEAR(fabs(got.checks[i].off_by), scatter, 1e-12);
        cr_expect(not(got.checks[i].stands_off), "one degree of freedom cannot tell which reading is wrong");
    }
    EXPECT_NEAR(got.checks[0].model_J_per_mm3, 45.0 * exp(-0.3), 1e-12);
}

Test(energy, one_reading_gives_its_own_value_with_the_profiles_exponent)
{
    /* 99 J/mm3 at 0.02 um: 99 (0.2)^0.4 = 52.005 by hand. */
    struct tw_energy_point point = { 2e-5, 99.0, 0.08 };
    struct fitted got = fit_of(&point, 1, &wheel);

    cr_assert(eq(int, got.status, TW_OK));
    EXPECT_NEAR(got.fit.energy_J_per_mm3, 52.005, 0.0005);
    EXPECT_NEAR(got.fit.relative, 0.08, 1e-15);
    cr_expect(eq(int, got.fit.exponent_from, TW_EXPONENT_FEW));
    cr_expect(eq(sz, got.fit.degrees, 0));
    cr_expect(isnan(got.fit.probability) && isnan(got.checks[0].off_by));
    EXPECT_NEAR(got.fit.mean_energy_J_per_mm3, 99.0, 1e-12);
}

/* Three equal readings of e times and 1/e times the chip, standard uncertainty s each: at the ends the fit's own is
 * s sqrt(1/3 + 1/2) = 0.9129 s, so by hand 95 % of the answers lie below exp(1.96 * 0.9129 s): 1.25 for s = 0.1247. */
Test(energy, makes_the_wheel_calibrated_only_if_it_is_close_and_checked)
{
    const double e = exp(1.0);
    struct tw_energy_point points[3] = { { 1e-4 * e, 45.0 * exp(-0.3), 0.124 },
                                         { 1e-4, 45.0, 0.124 },
                                         { 1e-4 / e, 45.0 * exp(0.3), 0.124 } };
    struct fitted got = fit_of(points, 3, &wheel);

    EXPECT_NEAR(tw_energy_fit_highest(&got.fit), exp(1.96 * 0.91287 * 0.124), 1e-4);
    cr_expect(eq(int, tw_energy_fit_trust(&got.fit), TW_TRUSTED));
    for (int i = 0; i < 3; i++)
        points[i].relative = 0.125;
    got = fit_of(points, 3, &wheel);
    cr_expect(eq(int, tw_energy_fit_trust(&got.fit), TW_TRUST_LOOSE));
    for (int i = 0; i < 3; i++)
        points[i].relative = 0.01;
    points[1].energy_J_per_mm3 *= 1.05; /* 5 times its uncertainty off the line: 1 of some 15000 by chance */
    got = fit_of(points, 3, &wheel);
    cr_expect(eq(int, tw_energy_fit_trust(&got.fit), TW_TRUST_CONTRADICTED));
    got = fit_of(points, 1, &wheel);
    cr_expect(eq(int, tw_energy_fit_trust(&got.fit), TW_TRUST_ALONE));
}

enum { ROUNDS = 8 };

static size_t round_count(int round)
{
    return (size_t[]){ 3, 4, 7, 12 }[round % 4];
}

static void expect_line(const struct tw_energy_point *points, size_t count, bool free_exponent, const double *want)
{
    struct fitted got = fit_of(points, count, &wheel);

    cr_assert(eq(int, got.status, TW_OK));
    cr_assert(eq(int, got.fit.exponent_from, free_exponent ? TW_EXPONENT_FITTED : TW_EXPONENT_NARROW));
    EXPECT_NEAR(log(got.fit.energy_J_per_mm3), want[0], 1e-12);
    EXPECT_NEAR(got.fit.exponent, want[1], 1e-12);
    EXPECT_NEAR(got.fit.relative / got.fit.scatter, sqrt(want[2]), 1e-12);
    EXPECT_NEAR(got.fit.exponent_uncertainty / got.fit.scatter, sqrt(want[3]), 1e-12);
    EXPECT_NEAR(got.fit.correlation * sqrt(want[2] * want[3]), want[4], 1e-12);
    EXPECT_NEAR(got.fit.chi_square, want[5], 1e-10);
    EXPECT_NEAR(got.fit.probability, want[6], 1e-10);
    EXPECT_NEAR(got.fit.scatter, fmax(1.0, sqrt(want[5] / (double)got.fit.degrees)), 1e-12);
    for (size_t i = 0; i < count; i++) /* raw residuals: the model's own value */
        EXPECT_NEAR(log(points[i].energy_J_per_mm3 / got.checks[i].model_J_per_mm3) / points[i].relative, want[7 + i],
                    1e-9);
}

Test(energy, agrees_with_numpy_polyfit_and_average)
{
    struct tw_energy_point points[ROUNDS][POINTS_MOST];
    struct tw_text arguments = { 0 };
    double want[ROUNDS * (7 + POINTS_MOST)];
    const double *answer = want;
    size_t values = 0;

    tw_text_print(&arguments, "line");
    for (int round = 0; round < ROUNDS; round++) {
        bool free_exponent = round < ROUNDS / 2;

        random_state = (unsigned long long)round + 1;
        make_points(points[round], round_count(round), 60.0, 0.35, 3e-6, free_exponent ? 12.0 : 2.5, 0.06);
        tw_text_print(&arguments, "%s %s", round ? " /" : "", free_exponent ? "free" : "0.4");
        print_points(&arguments, points[round], round_count(round));
        values += 7 + round_count(round);
    }
    ask_reference(arguments.data, want, values);
    for (int round = 0; round < ROUNDS; round++) {
        expect_line(points[round], round_count(round), round < ROUNDS / 2, answer);
        answer += 7 + round_count(round);
    }
    tw_text_free(&arguments);
}

/* Twelve readings of u_ref 30, n 0.4 on both sides of the place where the floor begins: 30 (0.1/h)^0.4 =
 * 13.8 at 0.697 um, by hand. */
static void make_kinked(struct tw_energy_point points[12])
{
    make_points(points, 12, 30.0, 0.4, 1e-5, 500.0, 0.03);
    for (int i = 0; i < 12; i++)
        if (points[i].chip_mm > 0.697e-3)
            points[i].energy_J_per_mm3 *= 13.8 / (30.0 * pow(1e-4 / points[i].chip_mm, 0.4));
}

Test(energy, readings_on_the_floor_are_found_as_curve_fit_of_the_kinked_model_finds_them)
{
    struct tw_energy_point points[4][12];
    struct tw_text arguments = { 0 };
    double want[4 * 3];

    tw_text_print(&arguments, "kinked");
    for (int round = 0; round < 4; round++) {
        random_state = (unsigned long long)round + 40;
        make_kinked(points[round]);
        tw_text_print(&arguments, "%s 13.8", round ? " /" : "");
        print_points(&arguments, points[round], 12);
    }
    ask_reference(arguments.data, want, 4 * 3);
    tw_text_free(&arguments);
    for (int round = 0; round < 4; round++) {
        struct fitted got = fit_of(points[round], 12, &wheel);
        size_t on_floor = 0;

        cr_assert(eq(int, got.status, TW_OK));
        EXPECT_NEAR(got.fit.energy_J_per_mm3 / want[3 * round], 1.0, 1e-5);
        EXPECT_NEAR(got.fit.exponent, want[3 * round + 1], 1e-5);
        EXPECT_NEAR(got.fit.chi_square, want[3 * round + 2], 1e-6);
        for (int i = 0; i < 12; i++) {
            on_floor += got.checks[i].on_floor;
            if (points[round][i].chip_mm > 0.9e-3)
                cr_expect(got.checks[i].on_floor);
            if (points[round][i].chip_mm < 0.5e-3)
                cr_expect(not(got.checks[i].on_floor));
            if (got.checks[i].on_floor)
                EXPECT_NEAR(got.checks[i].model_J_per_mm3, 13.8, 1e-12);
        }
        cr_expect(eq(sz, on_floor + got.fit.above_floor, 12));
    }
}

Test(energy, readings_that_cannot_be_told_from_the_floor_are_refused)
{
    const struct tw_energy_point low[2] = { { 1e-3, 13.9, 0.05 }, { 2e-3, 13.5, 0.05 } };
    const struct tw_energy_point below[2] = { { 1e-3, 9.0, 0.05 }, { 2e-3, 8.0, 0.05 } };
    const struct tw_energy_point above[2] = { { 1e-5, 113.0, 0.05 }, { 2e-3, 13.5, 0.05 } };

    cr_expect(eq(int, fit_of(low, 2, &wheel).status, TW_BAD_INPUT));
    cr_expect(eq(int, fit_of(below, 2, &wheel).status, TW_BAD_INPUT));
    cr_expect(eq(int, fit_of(above, 2, &wheel).status, TW_OK));
    cr_expect(fit_of(above, 2, &wheel).checks[1].on_floor);
    cr_expect(eq(sz, fit_of(above, 2, &wheel).fit.above_floor, 1));
}

Test(energy, the_exponent_is_fitted_only_when_the_readings_allow)
{
    struct tw_energy_point points[4];

    random_state = 7;
    make_points(points, 4, 50.0, 0.3, 1e-5, 2.99, 0.01);
    cr_expect(eq(int, fit_of(points, 4, &wheel).fit.exponent_from, TW_EXPONENT_NARROW));
    EXPECT_NEAR(fit_of(points, 4, &wheel).fit.exponent, 0.4, 0.0);
    make_points(points, 4, 50.0, 0.3, 1e-5, 3.01, 0.01);
    cr_expect(eq(int, fit_of(points, 4, &wheel).fit.exponent_from, TW_EXPONENT_FITTED));
    make_points(points, 2, 50.0, 0.3, 1e-5, 30.0, 0.01);
    cr_expect(eq(int, fit_of(points, 2, &wheel).fit.exponent_from, TW_EXPONENT_FEW));
    make_points(points, 4, 50.0, 0.3, 1e-5, 3.01, 0.3);
    cr_expect(eq(int, fit_of(points, 4, &wheel).fit.exponent_from, TW_EXPONENT_LOOSE));
    cr_expect(fit_of(points, 4, &wheel).fit.tried_uncertainty > TW_CALIBRATE_LOOSEST);
    make_points(points, 4, 50.0, 1.3, 1e-5, 8.0, 0.01);
    cr_expect(eq(int, fit_of(points, 4, &wheel).fit.exponent_from, TW_EXPONENT_STRANGE));
    EXPECT_NEAR(fit_of(points, 4, &wheel).fit.tried_exponent, 1.3, 0.05);
    make_points(points, 4, 50.0, -0.2, 1e-5, 8.0, 0.01);
    cr_expect(eq(int, fit_of(points, 4, &wheel).fit.exponent_from, TW_EXPONENT_STRANGE));
}

Test(energy, spoiled_readings_stand_off_and_widen_the_answer)
{
    struct tw_energy_point points[8];
    struct fitted sound, spoiled;

    random_state = 11;
    make_points(points, 8, 50.0, 0.4, 3e-6, 20.0, 0.03);
    sound = fit_of(points, 8, &wheel);
    for (int i = 0; i < 8; i++)
        cr_expect(not(sound.checks[i].stands_off));
    cr_expect(sound.fit.probability > 0.01);
    points[3].energy_J_per_mm3 *= 1.5;
    points[6].energy_J_per_mm3 *= 0.7;
    spoiled = fit_of(points, 8, &wheel);
    for (int i = 0; i < 8; i++)
        cr_expect(eq(int, spoiled.checks[i].stands_off, i == 3 || i == 6), "%d", i);
    cr_expect(eq(sz, spoiled.fit.standing_off, 2));
    cr_expect(spoiled.fit.probability < 1e-4);
    cr_expect(spoiled.fit.relative > 2.0 * sound.fit.relative);
    /* what is left is what a fit of the others gives */
    points[3] = points[7];
    points[6] = points[5];
    points[5] = points[4];
    points[4] = points[6];
    sound = fit_of(points, 6, &wheel);
    EXPECT_NEAR(spoiled.fit.rest_energy_J_per_mm3 / sound.fit.energy_J_per_mm3, 1.0, 1e-12);
    EXPECT_NEAR(spoiled.fit.rest_exponent, sound.fit.exponent, 1e-12);
}

Test(energy, intervals_hold_the_truth_as_often_as_they_say)
{
    /* Normal errors of the stated size; how often 95 % intervals, widened by the scatter, hold the truth
     * follows by quadrature (SciPy). Within 4 standard deviations of the count. */
    enum { SEEDS = 4000, COUNT = 7 };
    int energy_held = 0, exponent_held = 0, wide_held = 0;
    double theory, tolerance;

    ask_reference("coverage 5", &theory, 1);
    cr_assert(theory > 0.95 && theory < 0.99);
    tolerance = 4.0 * sqrt(theory * (1.0 - theory) / SEEDS);
    for (int seed = 0; seed < SEEDS; seed++) {
        struct tw_energy_point points[COUNT];
        struct fitted got;

        random_state = 1000003ULL * (unsigned long long)seed + 17;
        make_points(points, COUNT, 40.0, 0.35, 3e-6, 15.0, 0.05);
        got = fit_of(points, COUNT, &wheel);
        cr_assert(eq(int, got.fit.exponent_from, TW_EXPONENT_FITTED));
        energy_held += fabs(log(got.fit.energy_J_per_mm3 / 40.0)) <= 1.96 * got.fit.relative;
        exponent_held += fabs(got.fit.exponent - 0.35) <= 1.96 * got.fit.exponent_uncertainty;
        wide_held += fabs(log(got.fit.mean_energy_J_per_mm3 / (40.0 * pow(1e-4 / got.fit.mean_chip_mm, 0.35)))) <=
                     1.96 * got.fit.mean_relative;
    }
    EXPECT_NEAR((double)energy_held / SEEDS, theory, tolerance);
    EXPECT_NEAR((double)exponent_held / SEEDS, theory, tolerance);
    EXPECT_NEAR((double)wide_held / SEEDS, theory, tolerance);
}

/* ---- whole readings ---- */

/* Plain carbon steel, alumina: docs/heat-model.md; as tests/reference/heat_flash.py has them. */
static struct tw_job job_of(enum tw_wheel_kind kind, double fluid_W_per_mm2_K)
{
    return (struct tw_job){
        .name = (char *)(size_t) "test",
        .mount = TW_MOUNT_TILTED,
        .machine = { .spindle_max_rpm = 6000.0, .spindle_programmable = true },
        .wheel = { .kind = kind,
                   .diameter_mm = 200.0,
                   .speed_mm_per_s = 30e3,
                   .grain_conductivity_W_per_mm_K = 0.035,
                   .grain_radius_mm = 0.015,
                   .specific_energy_J_per_mm3 = 45.0,
                   .size_exponent = 0.4,
                   .min_specific_energy_J_per_mm3 = 13.8,
                   .chip_energy_J_per_mm3 = 6.0,
                   .contact_ratio = 1.0,
                   .rim_contact_mm = 5.0,
                   .rim_state = TW_RIM_WORN_IN },
        .steel = { .conductivity_W_per_mm_K = 0.040, .density_g_per_mm3 = 7.83e-3, .specific_heat_J_per_g_K = 0.480 },
        .coolant = { .contact_conductance_W_per_mm2_K = fluid_W_per_mm2_K,
                     .boiling_degC = fluid_W_per_mm2_K > 0.0 ? 300.0 : 1e9,
                     .joint_conductance_W_per_mm2_K = 1.5e-3,
                     .temperature_degC = 25.0 },
    };
}

static struct tw_reading power_of(double depth_mm, double table_mm_per_s, double width_mm, double power_W,
                                  double idle_W)
{
    return (struct tw_reading){ .kind = TW_READING_POWER,
                                .depth_mm = depth_mm,
                                .table_mm_per_s = table_mm_per_s,
                                .width_mm = width_mm,
                                .power_W = power_W,
                                .idle_W = idle_W,
                                .efficiency = 1.0,
                                .relative_uncertainty = 0.05,
                                .start_degC = (double)NAN };
}

static struct tw_reading mark_of(double depth_mm, double table_mm_per_s, double degC, enum tw_mark mark)
{
    return (struct tw_reading){ .kind = TW_READING_MARK,
                                .depth_mm = depth_mm,
                                .table_mm_per_s = table_mm_per_s,
                                .mark = mark,
                                .temperature_degC = degC,
                                .start_degC = (double)NAN };
}

static struct tw_calibration calibrated(const struct tw_job *job, struct tw_reading *items, size_t count)
{
    struct tw_readings readings = { (char *)(size_t) "r.csv", items, count };
    struct tw_findings findings = { 0 };
    struct tw_calibration calibration;

    for (size_t i = 0; i < count; i++)
        items[i].line = (int)i + 2;
    cr_assert(eq(int, tw_calibrate(job, &readings, &calibration, &findings), TW_OK), "%s",
              findings.count ? findings.items[0].text : "");
    tw_findings_free(&findings);
    return calibration;
}

Test(calibration, one_power_reading_by_hand)
{
    /* (500 - 200) W * 0.9 / (0.01 mm * 20 mm/s * 15 mm) = 90 J/mm3; at 3000 rpm, 200 mm: 31.416 m/s, so
     * the chip is 6.366e-6 mm; u_ref = 90 (0.06366)^0.4 = 29.91. Uncertainty 0.05 hypot(500, 200)/300 =
     * 8.975 %. By hand. */
    struct tw_job job = job_of(TW_WHEEL_DISC, 0.0);
    struct tw_reading reading = power_of(0.01, 20.0, 15.0, 500.0, 200.0);
    struct tw_calibration got;

    reading.efficiency = 0.9;
    reading.spindle_rpm = 3000.0;
    got = calibrated(&job, &reading, 1);
    EXPECT_NEAR(got.points[0].energy_J_per_mm3, 90.0, 1e-12);
    EXPECT_NEAR(got.points[0].chip_mm, 6.3662e-6, 1e-10);
    EXPECT_NEAR(got.points[0].relative, 0.08975, 1e-5);
    EXPECT_NEAR(got.energy.energy_J_per_mm3, 29.91, 0.005);
    tw_calibration_free(&got);
    reading.uncertainty_W = 12.0;
    reading.relative_uncertainty = 0.0;
    got = calibrated(&job, &reading, 1);
    EXPECT_NEAR(got.points[0].relative, 12.0 * sqrt(2.0) / 300.0, 1e-12);
    tw_calibration_free(&got);
    reading.idle_W = 0.0; /* the meter was set to zero: one reading, not two */
    got = calibrated(&job, &reading, 1);
    EXPECT_NEAR(got.points[0].relative, 12.0 / 500.0, 1e-12);
    tw_calibration_free(&got);
}

Test(calibration, noisy_meters_give_back_the_wheel_within_the_stated_uncertainty)
{
    /* Power and idle each off by 1.5 %, as stated, over cuts whose powers follow from the formula. */
    enum { SEEDS = 3000, COUNT = 7 };
    struct tw_job job = job_of(TW_WHEEL_DISC, 0.0);
    int energy_held = 0, exponent_held = 0;
    double theory, tolerance;

    ask_reference("coverage 5", &theory, 1);
    tolerance = 4.0 * sqrt(theory * (1.0 - theory) / SEEDS);
    for (int seed = 0; seed < SEEDS; seed++) {
        struct tw_reading items[COUNT];
        struct tw_calibration got;

        random_state = 7919ULL * (unsigned long long)seed + 5;
        for (int i = 0; i < COUNT; i++) {
            double depth_mm = 0.002 + 0.003 * i, table_mm_per_s = 100.0;
            double chip_mm = depth_mm * table_mm_per_s / (acos(-1.0) * 200.0 * 2864.0 / 60.0);
            double net_W = 38.0 * pow(1e-4 / chip_mm, 0.45) * depth_mm * table_mm_per_s * 20.0;

            items[i] = power_of(depth_mm, table_mm_per_s, 20.0, (net_W + 150.0) * (1.0 + 0.015 * normal(&random_state)),
                                150.0 * (1.0 + 0.015 * normal(&random_state)));
            items[i].relative_uncertainty = 0.015;
        }
        got = calibrated(&job, items, COUNT);
        cr_assert(eq(int, got.energy.exponent_from, TW_EXPONENT_FITTED));
        energy_held += fabs(log(got.energy.energy_J_per_mm3 / 38.0)) <= 1.96 * got.energy.relative;
        exponent_held += fabs(got.energy.exponent - 0.45) <= 1.96 * got.energy.exponent_uncertainty;
        tw_calibration_free(&got);
    }
    EXPECT_NEAR((double)energy_held / SEEDS, theory, tolerance);
    EXPECT_NEAR((double)exponent_held / SEEDS, theory, tolerance);
}

Test(calibration, the_wheels_speed_is_the_one_the_planner_programs, ONLY_IN_RELEASE)
{
    static const char *const jobs[] = { SAMPLE_JOB, "samples/hunter-110/job.cfg" };

    for (int i = 0; i < 2; i++) {
        struct tw_reading reading = power_of(0.01, 20.0, 15.0, 500.0, 200.0);
        struct tw_calibration calibration;
        struct tw_plan plan;
        struct tw_findings findings = { 0 };
        struct tw_job job;

        cr_assert(eq(int, tw_job_read(jobs[i], &job, &findings), TW_OK));
        cr_assert(eq(int, tw_plan_make(&job, &plan, &findings), TW_OK));
        calibration = calibrated(&job, &reading, 1);
        EXPECT_NEAR(calibration.wheel_mm_per_s, plan.wheel_mm_per_s, 0.0);
        EXPECT_NEAR(calibration.points[0].chip_mm, 0.2 / plan.wheel_mm_per_s, 1e-18);
        tw_calibration_free(&calibration);
        tw_plan_free(&plan);
        tw_job_free(&job);
        tw_findings_free(&findings);
    }
}

Test(calibration, remarks_name_the_lines_to_look_at)
{
    /* Net powers of u_ref 38, n 0.4 with the floor at 13.8: the fifth is spoiled by half as much again,
     * the last lies on the floor (38 (0.1/h)^0.4 = 13.8 at 1.26 um, by hand). */
    static const double depths_mm[7] = { 0.002, 0.004, 0.006, 0.008, 0.010, 0.020, 2.0 };
    struct tw_job job = job_of(TW_WHEEL_DISC, 0.0);
    struct tw_reading items[7];
    struct tw_readings readings = { (char *)(size_t) "r.csv", items, 7 };
    struct tw_findings findings = { 0 };
    struct tw_calibration got;

    for (int i = 0; i < 7; i++) {
        double chip_mm = depths_mm[i] * 150.0 / (acos(-1.0) * 200.0 * 2864.0 / 60.0);
        double u = fmax(13.8, 38.0 * pow(1e-4 / chip_mm, 0.4));

        items[i] = power_of(depths_mm[i], 150.0, 5.0, (i == 4 ? 1.5 : 1.0) * u * depths_mm[i] * 150.0 * 5.0, 0.0);
        items[i].line = i + 2;
    }
    cr_assert(eq(int, tw_calibrate(&job, &readings, &got, &findings), TW_OK));
    cr_assert(eq(sz, findings.count, 3), "%s | %s", findings.items[0].text, findings.items[1].text);
    cr_expect(strstr(findings.items[0].text, "r.csv: the readings contradict the model") != NULL);
    cr_expect(strstr(findings.items[1].text, "r.csv:6: this reading stands off: it gives") != NULL);
    cr_expect(strstr(findings.items[2].text, "r.csv:8: this reading is on the floor") != NULL);
    tw_findings_free(&findings);
    tw_calibration_free(&got);
}

/* ---- partition ---- */

Test(partition, a_measured_peak_gives_the_share_that_brentq_finds_in_an_independent_chain)
{
    /* tests/reference/heat_flash.py, SI units, Jaeger by quadrature; disc with l = sqrt(a D). */
    static const struct {
        double depth_mm, table, rise_K, fluid;
    } cases[] = { { 0.010, 200.0, 300.0, 0.0 },
                  { 0.002, 200.0, 150.0, 0.0 },
                  { 0.010, 100.0, 200.0, 0.023 },
                  { 0.004, 300.0, 100.0, 0.06 } };
    struct tw_text arguments = { 0 };
    double want[4];

    tw_text_print(&arguments, "share");
    for (int i = 0; i < 4; i++)
        tw_text_print(&arguments, " %g,%g,%g,%.17g,%.17g,45,%g,carbon", cases[i].rise_K, cases[i].depth_mm * 1e3,
                      cases[i].table, acos(-1.0) * 0.2 * 2864.0 / 60.0, sqrt(cases[i].depth_mm * 200.0),
                      cases[i].fluid * 1e6);
    ask_reference(arguments.data, want, 4);
    tw_text_free(&arguments);
    for (int i = 0; i < 4; i++) {
        struct tw_job job = job_of(TW_WHEEL_DISC, cases[i].fluid);
        struct tw_reading mark = mark_of(cases[i].depth_mm, cases[i].table, 25.0 + cases[i].rise_K, TW_MARK_PEAK);
        struct tw_calibration got = calibrated(&job, &mark, 1);

        EXPECT_NEAR(got.partition.value / want[i], 1.0, 1e-6);
        EXPECT_NEAR(got.partition.lower / want[i], 1.0, 1e-6);
        EXPECT_NEAR(got.mark_checks[0].share / want[i], 1.0, 1e-6);
        EXPECT_NEAR(got.mark_checks[0].peak_degC, 25.0 + cases[i].rise_K, 1e-6);
        cr_expect(isnan(got.partition.from_energy));
        tw_calibration_free(&got);
    }
}

Test(partition, marks_bound_the_share_from_both_sides)
{
    /* Dry, the rise is proportional to the share (heat-model.md 1.3), so the bounds are those of the two
     * marks that lie nearest, each 2 uncertainties off: by hand from the rise at share 1. */
    struct tw_job job = job_of(TW_WHEEL_CUP, 0.0);
    struct tw_reading items[4] = { mark_of(0.01, 10.0, 60.0, TW_MARK_REACHED),
                                   mark_of(0.01, 10.0, 90.0, TW_MARK_REACHED),
                                   mark_of(0.01, 10.0, 130.0, TW_MARK_NOT_REACHED),
                                   mark_of(0.01, 10.0, 120.0, TW_MARK_NOT_REACHED) };
    struct tw_contact contact = { 0.01, 10.0, acos(-1.0) * 200.0 * 2864.0 / 60.0, 5.0, 0.0 };
    struct tw_wheel all = job.wheel;
    struct tw_calibration got;
    struct tw_flash flash;

    all.work_partition = 1.0;
    cr_assert(eq(int, tw_flash_estimate(&contact, &all, &job.steel, &job.coolant, 25.0, &flash, NULL), TW_OK));
    items[1].uncertainty_K = items[3].uncertainty_K = 3.0;
    got = calibrated(&job, items, 4);
    EXPECT_NEAR(got.partition.lower, (84.0 - 25.0) / flash.rise_K, 1e-9);
    EXPECT_NEAR(got.partition.upper, (126.0 - 25.0) / flash.rise_K, 1e-9);
    EXPECT_NEAR(got.partition.value, got.partition.upper, 0.0);
    cr_expect(eq(int, got.partition.lower_line, 3));
    cr_expect(eq(int, got.partition.upper_line, 5));
    /* Hahn's rule by hand: 1/(1 + 0.97*35/(12261 sqrt(15e-6*29.992))) with SI units = 0.8845 */
    EXPECT_NEAR(got.partition.rule, 0.8845, 0.00005);
    tw_calibration_free(&got);
    items[1].start_degC = 45.0; /* a scrap that was warm already: less of the rise is the pass's */
    got = calibrated(&job, items, 2 + 1);
    EXPECT_NEAR(got.partition.lower, (84.0 - 45.0) / flash.rise_K, 1e-9);
    tw_calibration_free(&got);
}

Test(partition, a_mark_in_the_jump_of_boiling_bounds_at_the_jump)
{
    /* Wet to 80 K of rise, then the film boils and the pass is as hot as dry: a mark between wet and dry
     * is passed exactly where the wet peak comes to the boiling temperature. */
    struct tw_job job = job_of(TW_WHEEL_DISC, 0.29);
    struct tw_reading mark = mark_of(0.01, 200.0, 140.0, TW_MARK_NOT_REACHED);
    struct tw_calibration got;
    struct tw_flash flash;
    struct tw_wheel there = job.wheel;
    struct tw_contact contact = { 0.01, 200.0, acos(-1.0) * 200.0 * 2864.0 / 60.0, tw_disc_contact_mm(0.01, &job.wheel),
                                  0.0 };

    job.coolant.boiling_degC = 105.0;
    got = calibrated(&job, &mark, 1);
    there.work_partition = got.partition.value;
    cr_assert(eq(int, tw_flash_estimate(&contact, &there, &job.steel, &job.coolant, 25.0, &flash, NULL), TW_OK));
    EXPECT_NEAR(25.0 + flash.wet_rise_K, 105.0, 1e-9);
    cr_expect(flash.dry_rise_K > 115.5);
    tw_calibration_free(&got);
}

Test(partition, thin_scrap_counts_hotter)
{
    struct tw_job job = job_of(TW_WHEEL_CUP, 0.0);
    struct tw_reading mark = mark_of(0.01, 10.0, 90.0, TW_MARK_PEAK);
    struct tw_calibration thick = calibrated(&job, &mark, 1), thin;

    mark.thickness_mm = 2.0;
    thin = calibrated(&job, &mark, 1);
    EXPECT_NEAR(thick.partition.value / thin.partition.value, tw_plate_factor(5.0, 10.0, 2.0, 1.5e-3, &job.steel),
                1e-9);
    cr_expect(thick.partition.value > 1.1 * thin.partition.value);
    tw_calibration_free(&thick);
    tw_calibration_free(&thin);
}

Test(partition, is_found_with_the_energy_of_the_same_readings)
{
    /* Dry and without chips the rise goes with u R: twice the energy, half the share; and one standard
     * uncertainty s less of u is exp(s) more of R. */
    struct tw_job job = job_of(TW_WHEEL_CUP, 0.0);
    struct tw_reading items[2] = { mark_of(0.01, 10.0, 90.0, TW_MARK_PEAK), { 0 } };
    struct tw_calibration alone, together;
    double chip_mm = 0.1 / (acos(-1.0) * 200.0 * 2864.0 / 60.0);

    job.wheel.chip_energy_J_per_mm3 = 0.0;
    alone = calibrated(&job, items, 1);
    items[1] = power_of(0.01, 10.0, 10.0, 2.0 * 45.0 * pow(1e-4 / chip_mm, 0.4), 0.0);
    together = calibrated(&job, items, 2);
    EXPECT_NEAR(together.energy.energy_J_per_mm3, 90.0, 1e-9);
    EXPECT_NEAR(together.partition.value, 0.5 * alone.partition.value, 1e-9);
    EXPECT_NEAR(together.partition.from_energy, together.partition.value * expm1(0.05), 1e-9);
    tw_calibration_free(&alone);
    tw_calibration_free(&together);
}

/* ---- the file ---- */

static char folder[] = "/tmp/tangwright-calibrate-XXXXXX";
static char home[4096];

static void open_folder(void)
{
    cr_assert(getcwd(home, sizeof home) != NULL);
    cr_assert(mkdtemp(folder) != NULL);
}

static void close_folder(void)
{
    char command[4200];

    cr_assert(eq(int, chdir(home), 0));
    snprintf(command, sizeof command, "rm -r '%s'", folder);
    cr_assert(eq(int, system(command), 0));
}

TestSuite(readings, .init = open_folder, .fini = close_folder, .timeout = 120);

static void write_bytes(const char *name, const char *data, size_t length)
{
    char path[256];
    FILE *stream;

    snprintf(path, sizeof path, "%s/%s", folder, name);
    stream = fopen(path, "wb");
    cr_assert(stream != NULL);
    cr_assert(eq(sz, fwrite(data, 1, length, stream), length));
    cr_assert(eq(int, fclose(stream), 0));
}

static enum tw_status read_text(const char *text, size_t length, struct tw_readings *out, struct tw_findings *findings)
{
    enum tw_status status;

    write_bytes("r.csv", text, length);
    cr_assert(eq(int, chdir(folder), 0));
    status = tw_readings_read("r.csv", out, findings);
    cr_assert(eq(int, chdir(home), 0));
    return status;
}

Test(readings, every_way_of_writing_a_table_says_the_same)
{
    static const char *const ways[] = {
        "kind,depth,table_speed,width,power,idle_power,uncertainty\npower,0.0127 mm,20 mm/s,12 mm,500 W,200 "
        "W,5 %\n",
        "kind,depth,table_speed,width,power,idle_power\npower,0.5 thou,1.2 m/min,1.2 cm,0.5 kW,0.2 kW",
        "kind;depth;table_speed;width;power;idle_power\r\npower;0.0005 in;20 mm/s;12 mm;500 W;200 W\r\n",
        "kind\tdepth\ttable_speed\twidth\tpower\tidle_power\tuncertainty\npower\t0.0127 mm\t20 mm/s\t12 "
        "mm\t500 W\t200 W\t\n",
        "\xEF\xBB\xBFkind,depth,table_speed,width,power,idle_power\npower,0.0127 mm,20 mm/s,12 mm,500 W,200 "
        "W\n",
        ("# notes\n\n  kind , \"depth\", table_speed,width ,power,idle_power # the heading\n#\n\n"
         " \"power\" ,\"0.0127 mm\" , 20 mm/s , 12 mm,\"500 W\",200 W # blunt, \"as it was\n"),
        "idle_power,power,width,table_speed,depth,kind,temperature,reached\n200 W,500 W,12 mm,20 mm/s,0.0127 "
        "mm,power,,\n",
    };

    for (size_t i = 0; i < sizeof ways / sizeof *ways; i++) {
        struct tw_readings readings;
        struct tw_findings findings = { 0 };
        const struct tw_reading *r;

        cr_assert(eq(int, read_text(ways[i], strlen(ways[i]), &readings, &findings), TW_OK), "%zu: %s", i,
                  findings.count ? findings.items[0].text : "");
        cr_assert(eq(sz, readings.count, 1));
        r = readings.items;
        EXPECT_NEAR(r->depth_mm, 0.0127, 1e-15);
        EXPECT_NEAR(r->table_mm_per_s, 20.0, 1e-12);
        EXPECT_NEAR(r->width_mm, 12.0, 1e-12);
        EXPECT_NEAR(r->power_W, 500.0, 1e-12);
        EXPECT_NEAR(r->idle_W, 200.0, 1e-12);
        EXPECT_NEAR(r->relative_uncertainty, 0.05, 1e-15);
        EXPECT_NEAR(r->efficiency, 1.0, 0.0);
        cr_expect(eq(int, r->line, i == 5 ? 6 : 2));
        cr_expect(isnan(r->start_degC));
        tw_readings_free(&readings);
        tw_findings_free(&findings);
    }
}

Test(readings, every_column_arrives_where_it_belongs)
{
    static const char text[] = "kind,depth,table_speed,spindle_speed,width,power,idle_power,efficiency,"
                               "temperature,reached,start_temperature,thickness,uncertainty\n"
                               "power,0.01 mm,20 mm/s,4000 rpm,12 mm,500 W,200 W,85 %,,,,,20 W\n"
                               "mark,0.02 mm,10 mm/s,,,,,,392 degF,peak,68 degF,1/8 in,9 degF\n"
                               "mark,0.02 mm,10 mm/s,,,,,,200 degC,no\n"
                               "power,0.01 mm,20 mm/s,,12 mm,500 W,200 W,0.85\n";
    struct tw_readings readings;
    const struct tw_reading *r;

    cr_assert(eq(int, read_text(text, strlen(text), &readings, NULL), TW_OK));
    cr_assert(eq(sz, readings.count, 4));
    r = readings.items;
    cr_expect(eq(int, r[0].kind, TW_READING_POWER));
    EXPECT_NEAR(r[0].spindle_rpm, 4000.0, 0.0);
    EXPECT_NEAR(r[0].efficiency, 0.85, 1e-15);
    EXPECT_NEAR(r[0].uncertainty_W, 20.0, 0.0);
    EXPECT_NEAR(r[0].relative_uncertainty, 0.0, 0.0);
    cr_expect(eq(int, r[1].kind, TW_READING_MARK));
    cr_expect(eq(int, r[1].mark, TW_MARK_PEAK));
    EXPECT_NEAR(r[1].temperature_degC, 200.0, 1e-12);
    EXPECT_NEAR(r[1].start_degC, 20.0, 1e-12);
    EXPECT_NEAR(r[1].thickness_mm, 3.175, 1e-12);
    EXPECT_NEAR(r[1].uncertainty_K, 5.0, 1e-12);
    cr_expect(eq(int, r[2].mark, TW_MARK_NOT_REACHED));
    EXPECT_NEAR(r[2].uncertainty_K, 5.0, 0.0);
    EXPECT_NEAR(r[2].thickness_mm, 0.0, 0.0);
    EXPECT_NEAR(r[3].efficiency, 0.85, 1e-15);
    tw_readings_free(&readings);
}

struct wrong {
    const char *text, *complaint; /* @ stands for a number */
};

#include "calibrate/wrong_readings.inc"

/* Whether they are the same, @ standing for any number. */
static bool says(const char *got, const char *wanted)
{
    while (*wanted) {
        if (*wanted == '@') {
            size_t digits = strspn(got, "0123456789.");

            if (digits == 0)
                return false;
            got += digits;
            wanted++;
        } else if (*got++ != *wanted++) {
            return false;
        }
    }
    return *got == '\0';
}

Test(readings, every_fault_is_told_in_one_clear_sentence)
{
    struct tw_job job;

    cr_assert(eq(int, tw_job_read(SAMPLE_JOB, &job, NULL), TW_OK));
    for (size_t i = 0; i < sizeof wrongs / sizeof *wrongs; i++) {
        struct tw_findings findings = { 0 };
        struct tw_calibration calibration = { 0 };
        struct tw_readings readings;
        enum tw_status status = read_text(wrongs[i].text, strlen(wrongs[i].text), &readings, &findings);

        if (status == TW_OK) {
            status = tw_calibrate(&job, &readings, &calibration, &findings);
            tw_calibration_free(&calibration);
            tw_readings_free(&readings);
        } else {
            cr_expect(readings.items == NULL && readings.path == NULL && readings.count == 0);
        }
        cr_expect(eq(int, status, TW_BAD_INPUT), "%zu", i);
        cr_assert(findings.count > 0, "%zu", i);
        cr_expect(says(findings.items[0].text, wrongs[i].complaint), "%zu\nsaid   %s\nwanted %s", i,
                  findings.items[0].text, wrongs[i].complaint);
        tw_findings_free(&findings);
    }
    tw_job_free(&job);
}

Test(readings, every_column_stands_in_the_manual)
{
    char names[] = COLUMN_LIST, *rest = names, *name, manual[16384], row[64];
    FILE *stream = fopen("docs/calibrate-model.md", "rb");
    size_t got;

    cr_assert(stream != NULL);
    got = fread(manual, 1, sizeof manual - 1, stream);
    manual[got] = '\0';
    fclose(stream);
    while ((name = strtok_r(rest, ", ", &rest)) != NULL) {
        snprintf(row, sizeof row, "| `%s` |", name);
        cr_expect(strstr(manual, row) != NULL, "%s", name);
    }
}

Test(readings, all_faults_are_shown_at_once)
{
    static const char text[] = HEAD "power,10 mm,20 mm/s,12 mm,500 W,200\nmark,0.01 mm,,,,,,20 degC,maybe\n";
    struct tw_findings findings = { 0 };
    struct tw_readings readings;

    cr_expect(eq(int, read_text(text, strlen(text), &readings, &findings), TW_BAD_INPUT));
    cr_expect(eq(sz, findings.count, 5)); /* depth, idle_power; table_speed, temperature, reached */
    tw_findings_free(&findings);
}

Test(readings, a_zero_byte_or_no_file_is_told)
{
    struct tw_findings findings = { 0 };
    struct tw_readings readings;

    cr_expect(eq(int, read_text("k\0i\0n\0d\0", 8, &readings, &findings), TW_BAD_INPUT));
    cr_assert(eq(sz, findings.count, 1));
    cr_expect(eq(str, findings.items[0].text,
                 (char *)(size_t) "r.csv:1: holds a zero byte; save the table as plain text (UTF-8)"));
    cr_expect(eq(int, tw_readings_read("no/such.csv", &readings, NULL), TW_IO));
    cr_expect(readings.items == NULL && readings.path == NULL);
    tw_findings_free(&findings);
}

Test(readings, spoiled_files_are_read_or_refused_but_never_break_anything)
{
    struct tw_text whole = { 0 };
    FILE *stream = fopen(SAMPLE_READINGS, "rb");
    char block[8192], *spoiled;
    size_t got = fread(block, 1, sizeof block, stream);
    struct tw_job job;
    int sound = 0;

    fclose(stream);
    tw_text_append(&whole, block, got);
    spoiled = malloc(whole.length);
    cr_assert(spoiled != NULL);
    cr_assert(eq(int, tw_job_read(SAMPLE_JOB, &job, NULL), TW_OK));
    for (int round = 0; round < 400; round++) {
        struct tw_calibration calibration;
        struct tw_readings readings;
        char *text = NULL;

        random_state = (unsigned long long)round + 99;
        memcpy(spoiled, whole.data, whole.length);
        for (int hits = 1 + round % 4; hits > 0; hits--) {
            char *at = spoiled + (size_t)(even(&random_state) * (double)whole.length);

            if (round % 2 == 0)
                *at = "0123456789.,;\"#% \n\tmWeE-+"[(size_t)(even(&random_state) * 24)];
            else if (*at >= '0' && *at <= '9') /* still a table, but of other numbers */
                *at = "0123456789"[(size_t)(even(&random_state) * 10)];
        }
        if (read_text(spoiled, whole.length - (round % 7 == 0 ? (size_t)(even(&random_state) * 200) : 0), &readings,
                      NULL) != TW_OK)
            continue;
        sound++;
        if (tw_calibrate(&job, &readings, &calibration, NULL) == TW_OK)
            cr_assert(eq(int, tw_calibration_text(&job, &readings, &calibration, &text, NULL), TW_OK));
        free(text);
        tw_calibration_free(&calibration);
        tw_readings_free(&readings);
    }
    cr_expect(sound > 100 && sound < 390, "%d", sound);
    free(spoiled);
    tw_text_free(&whole);
    tw_job_free(&job);
}

/* ---- what comes out ---- */

struct sample {
    struct tw_job job;
    struct tw_readings readings;
    struct tw_calibration calibration;
};

static struct sample sample_open(void)
{
    struct sample sample;

    cr_assert(eq(int, tw_job_read(SAMPLE_JOB, &sample.job, NULL), TW_OK));
    cr_assert(eq(int, tw_readings_read(SAMPLE_READINGS, &sample.readings, NULL), TW_OK));
    cr_assert(eq(int, tw_calibrate(&sample.job, &sample.readings, &sample.calibration, NULL), TW_OK));
    return sample;
}

static void sample_close(struct sample *sample)
{
    tw_calibration_free(&sample->calibration);
    tw_readings_free(&sample->readings);
    tw_job_free(&sample->job);
}

Test(output, the_whole_text_can_be_pasted_into_the_jobs_wheel)
{
    struct sample sample = sample_open();
    char *text = NULL, block[8192], path[] = "samples/santoku-170/pasted-XXXXXX";
    FILE *stream = fopen(SAMPLE_JOB, "rb");
    size_t got = fread(block, 1, sizeof block - 1, stream);
    struct tw_findings findings = { 0 };
    struct tw_job pasted;
    char *wheel_at;
    int file = mkstemp(path);

    fclose(stream);
    block[got] = '\0';
    cr_assert(eq(int, tw_calibration_text(&sample.job, &sample.readings, &sample.calibration, &text, NULL), TW_OK));
    wheel_at = strstr(block, "cup-cbn-75.cfg\"; rim_state");
    cr_assert(wheel_at != NULL && file >= 0);
    wheel_at += strlen("cup-cbn-75.cfg\";");
    stream = fdopen(file, "wb");
    fprintf(stream, "%.*s\n%s\n%s", (int)(wheel_at - block), block, text, wheel_at);
    cr_assert(eq(int, fclose(stream), 0));
    cr_expect(eq(int, tw_job_read(path, &pasted, &findings), TW_OK), "%s",
              findings.count ? findings.items[0].text : "");
    cr_assert(eq(int, remove(path), 0));
    EXPECT_NEAR(pasted.wheel.specific_energy_J_per_mm3 / sample.calibration.energy.energy_J_per_mm3, 1.0, 5e-4);
    EXPECT_NEAR(pasted.wheel.size_exponent, sample.calibration.energy.exponent, 5.1e-4);
    cr_expect(pasted.wheel.work_partition >= sample.calibration.partition.value);
    EXPECT_NEAR(pasted.wheel.work_partition, sample.calibration.partition.value, 1.1e-3);
    cr_expect(not(sample.job.wheel.calibrated));
    cr_expect(pasted.wheel.calibrated);
    tw_findings_free(&findings);
    tw_job_free(&pasted);
    free(text);
    sample_close(&sample);
}

Test(output, the_samples_readings_give_back_what_they_were_made_from)
{
    /* They were written from u_ref 36 J/mm3, exponent 0.34, and some noise. Within two stated
     * uncertainties. */
    struct sample sample = sample_open();
    const struct tw_energy_fit *fit = &sample.calibration.energy;

    cr_expect(eq(int, fit->exponent_from, TW_EXPONENT_FITTED));
    cr_expect(fabs(log(fit->energy_J_per_mm3 / 36.0)) < 2.0 * fit->relative);
    cr_expect(fabs(fit->exponent - 0.34) < 2.0 * fit->exponent_uncertainty);
    cr_expect(fit->relative < 0.06);
    sample_close(&sample);
}

/* 0.254 mm are 0.01 in, 12.7 mm/s are 30 in/min, 200 degC are 392 degF. */
Test(output, a_machine_in_inches_reads_its_readings_in_inches)
{
    struct sample sample = sample_open();
    char *text = NULL;

    sample.job.machine.dialect.inch = true;
    for (size_t i = 0; i < sample.readings.count; i++) {
        sample.readings.items[i].depth_mm = 0.254;
        sample.readings.items[i].table_mm_per_s = 12.7;
        sample.readings.items[i].width_mm = 25.4;
        sample.readings.items[i].temperature_degC = 200.0;
    }
    cr_assert(eq(int, tw_calibration_text(&sample.job, &sample.readings, &sample.calibration, &text, NULL), TW_OK));
    cr_expect(strstr(text, " in     in/min       in ") != NULL, "%s", text);
    cr_expect(strstr(text, " 0.01         30        1 ") != NULL, "%s", text);
    cr_expect(strstr(text, " 0.01         30      392 ") != NULL, "%s", text);
    cr_expect(strstr(text, "degC") == NULL && !strstr(text, "mm/s") && strstr(text, " ft/min\n"), "%s", text);
    free(text);
    sample_close(&sample);
}

Test(output, json_says_the_same_numbers)
{
    struct sample sample = sample_open();
    char *text = NULL;
    json_t *root, *energy, *partition;

    cr_assert(eq(int, tw_calibration_json(&sample.job, &sample.readings, &sample.calibration, &text, NULL), TW_OK));
    root = json_loads(text, 0, NULL);
    cr_assert(root != NULL);
    energy = json_object_get(root, "energy");
    partition = json_object_get(root, "partition");
    cr_expect(eq(str, (char *)(size_t)json_string_value(json_object_get(root, "format")),
                 (char *)(size_t) "tangwright-calibration/1"));
    EXPECT_NEAR(json_real_value(json_object_get(energy, "specific_energy_J_per_mm3")),
                sample.calibration.energy.energy_J_per_mm3, 1e-6);
    EXPECT_NEAR(json_real_value(json_object_get(energy, "size_exponent")), sample.calibration.energy.exponent, 1e-9);
    EXPECT_NEAR(json_real_value(json_object_get(energy, "scatter")), sample.calibration.energy.scatter, 1e-7);
    EXPECT_NEAR(json_real_value(json_object_get(partition, "work_partition")), sample.calibration.partition.value,
                1e-9);
    cr_expect(eq(sz, json_array_size(json_object_get(root, "power_readings")), 6));
    cr_expect(eq(sz, json_array_size(json_object_get(root, "marks")), 2));
    json_decref(root);
    free(text);
    sample_close(&sample);
}

/* Runs the built program; what it prints goes into out[room]. */
static int run_program(const char *arguments, char *out, size_t room)
{
    char command[1024];
    const char *program = getenv("TANGWRIGHT");
    FILE *pipe;
    size_t got;
    int status;

    snprintf(command, sizeof command, "%s %s", program ? program : "build/release/tangwright", arguments);
    pipe = popen(command, "r");
    cr_assert(pipe != NULL);
    got = fread(out, 1, room - 1, pipe);
    out[got] = '\0';
    status = pclose(pipe);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

Test(readings, the_verb_answers_with_its_exit_status)
{
    char arguments[512], out[16384];

    cr_expect(eq(int, run_program("calibrate " SAMPLE_JOB " " SAMPLE_READINGS, out, sizeof out), 0));
    cr_expect(strstr(out, "specific_energy = \"") && strstr(out, "\nsize_exponent = ") &&
              strstr(out, "\nwork_partition = "));
    cr_expect(eq(int, run_program("calibrate " SAMPLE_JOB " " SAMPLE_READINGS " --json -", out, sizeof out), 0));
    cr_expect(eq(int, out[0], '{'));
    cr_expect(eq(int, run_program("calibrate " SAMPLE_JOB " 2>/dev/null", out, sizeof out), 2));
    cr_expect(eq(int, run_program("calibrate " SAMPLE_JOB " no.csv 2>/dev/null", out, sizeof out), 5));
    /* What can be determined is shown, though the marks say too little. */
    write_bytes("r.csv", HEAD "power,0.01 mm,20 mm/s,12 mm,500 W,200 W\nmark,0.01 mm,20 mm/s,,,,,60 degC,yes\n",
                strlen(HEAD "power,0.01 mm,20 mm/s,12 mm,500 W,200 W\nmark,0.01 mm,20 mm/s,,,,,60 degC,yes\n"));
    snprintf(arguments, sizeof arguments, "calibrate " SAMPLE_JOB " %s/r.csv 2>/dev/null", folder);
    cr_expect(eq(int, run_program(arguments, out, sizeof out), 3));
    cr_expect(strstr(out, "specific_energy = \"") && !strstr(out, "\nwork_partition = "));
}

/* ---- memory ---- */

static enum tw_status whole_way(const struct tw_job *job, struct tw_findings *findings)
{
    struct tw_readings readings;
    struct tw_calibration calibration;
    char *text = NULL, *json = NULL;
    enum tw_status status = tw_readings_read(SAMPLE_READINGS, &readings, findings);

    if (status != TW_OK)
        return status;
    status = tw_calibrate(job, &readings, &calibration, findings);
    if (status == TW_OK)
        status = tw_calibration_text(job, &readings, &calibration, &text, findings);
    if (status == TW_OK)
        status = tw_calibration_json(job, &readings, &calibration, &json, findings);
    free(text);
    if (json)
        __real_free(json); /* made by the JSON library */
    tw_calibration_free(&calibration);
    tw_readings_free(&readings);
    return status;
}

Test(memory, every_failing_allocation_is_reported_and_nothing_is_lost)
{
    struct tw_job job;
    long failing = 0;

    cr_assert(eq(int, tw_job_read(SAMPLE_JOB, &job, NULL), TW_OK));
    for (;; failing++) {
        struct tw_findings findings = { 0 };
        long before = blocks_in_use;
        enum tw_status status;

        allocations_until_failure = failing;
        status = whole_way(&job, &findings);
        allocations_until_failure = -1;
        if (status != TW_OK) {
            cr_assert(eq(int, status, TW_NO_MEMORY), "allocation %ld", failing);
            cr_assert(findings.out_of_memory);
        }
        tw_findings_free(&findings);
        cr_assert(eq(long, blocks_in_use, before), "allocation %ld", failing);
        if (status == TW_OK)
            break;
    }
    cr_expect(gt(long, failing, 8));
    tw_job_free(&job);
}

Test(memory, complaints_without_memory_are_still_refusals)
{
    static const char text[] = HEAD "power,10 mm,20 mm/s,12 mm,500 W,200\nmark,0.01 mm,,,,,,20 degC,maybe\n";

    open_folder();
    for (long failing = 0; failing < 40; failing++) {
        struct tw_findings findings = { 0 };
        struct tw_readings readings;
        long before = blocks_in_use;
        enum tw_status status;

        write_bytes("r.csv", text, strlen(text));
        cr_assert(eq(int, chdir(folder), 0));
        allocations_until_failure = failing;
        status = tw_readings_read("r.csv", &readings, &findings);
        allocations_until_failure = -1;
        cr_assert(eq(int, chdir(home), 0));
        cr_assert(status == TW_NO_MEMORY || status == TW_BAD_INPUT);
        cr_assert(eq(int, findings.out_of_memory, status == TW_NO_MEMORY));
        tw_findings_free(&findings);
        cr_assert(eq(long, blocks_in_use, before), "allocation %ld", failing);
    }
    close_folder();
}
