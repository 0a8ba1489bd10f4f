/* test_bench_tests.c - what a shop's bench tests tell. Guards against a fit that misses what made the readings, an uncertainty
 * that promises too much, and wrong readings taken for good. Readings are invented: made by the models of
 * docs/bench-tests.md, written out here anew, with errors of chance on top. */
#include "tangwright/bench.h"

#include "input/failing_memory.h"
#include "input/folder.h"

#include "check/check.h"
#include "check/noise.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DRAWS  400
#define NORMAL 1.959963984540054

static void expect_near(const char *what, double got, double wanted, double within)
{
    cr_expect(fabs(got - wanted) <= within, "%s is %.9g, not %.9g within %g", what, got, wanted, within);
}

/* ---- chance ---- */

static unsigned long long state = 1;

/* Of DRAWS intervals of 95 % so many hold the truth; 3.5 standard deviations of a binomial count are allowed below, and any
 * number above, for uncertainties only grow by scatter. */
static void expect_coverage(const char *what, int holds)
{
    double least = 0.95 * DRAWS - 3.5 * sqrt(DRAWS * 0.95 * 0.05);

    cr_expect(holds >= least, "%s: %d of %d intervals hold the truth", what, holds, DRAWS);
    cr_expect(holds < DRAWS, "%s: the intervals are far too wide", what);
}

static bool holds(const struct tw_bench_value *value, double truth)
{
    return value->known && fabs(value->value - truth) <= NORMAL * value->uncertainty;
}

static struct tw_job read_job(const char *path)
{
    struct tw_findings findings = { 0 };
    struct tw_job job;

    cr_assert(eq(int, tw_job_read(path, &job, &findings), TW_OK));
    tw_findings_free(&findings);
    return job;
}

static struct tw_bench fit(const struct tw_job *job, struct tw_bench_reading *items, size_t count)
{
    struct tw_bench_readings readings = { .path = (char[]){ "readings" }, .items = items, .count = count };
    struct tw_findings findings = { 0 };
    struct tw_bench bench;

    cr_assert(eq(int, tw_bench_fit(job, &readings, &bench, &findings), TW_OK), "%s",
              findings.count ? findings.items[0].text : "?");
    tw_findings_free(&findings);
    return bench;
}

/* ---- passes ---- */

static const int read_after[] = { 1, 2, 3, 5, 10, 15, 20, 21, 22, 24 }; /* the last four without infeed */
#define PASS_READINGS (sizeof read_after / sizeof *read_after)

/* The balance of forces of every pass, by halving: k_e times what wheel and part are bent by is k_c times what is taken. The
 * wheel loses `wear` of that as well. */
static void make_passes(double machine, double cut, double wear, double chance_mm, struct tw_bench_reading *out)
{
    double bent_mm = 0.0, removed_mm = 0.0;
    int passes = 0;

    for (size_t i = 0; i < PASS_READINGS; i++) {
        double infeed_mm = i < 7 ? 0.010 : 0.0;

        out[i] = (struct tw_bench_reading){ .test = TW_BENCH_PASS,
                                            .passes = read_after[i] - passes,
                                            .infeed_mm = infeed_mm,
                                            .width_mm = 25.0,
                                            .table_mm_per_s = 20.0,
                                            .uncertainty = fmax(chance_mm, 1e-9) };
        for (; passes < read_after[i]; passes++) {
            double low = 0.0, high = bent_mm + infeed_mm;

            for (int k = 0; k < 100; k++) {
                double taken_mm = (low + high) / 2.0;

                if (cut * taken_mm < machine * (bent_mm + infeed_mm - (1.0 + wear) * taken_mm))
                    low = taken_mm;
                else
                    high = taken_mm;
            }
            bent_mm += infeed_mm - (1.0 + wear) * low;
            removed_mm += low;
        }
        out[i].removed_mm = removed_mm + chance_mm * normal(&state);
    }
}

/* Normal force per depth of the cup at 10 um, 20 mm/s and 25 mm of width, by hand: h = a v/v_s, u = 30 (0.1 um/h)^0.4 J/mm3,
 * F_t = u a v b/v_s, F_n = 3.5 F_t: the profile's figures. The wheel turns at the whole rpm below its speed. */
static double cut_of(const struct tw_job *job)
{
    double rpm = floor(job->wheel.speed_mm_per_s * 60.0 / (3.14159265358979 * 75.0));
    double speed = 3.14159265358979 * 75.0 * rpm / 60.0, chip_um = 10.0 * 20.0 / speed;
    double energy = 30.0 * pow(0.1 / chip_um, 0.4);

    return 3.5 * energy * 0.010 * 20.0 * 25.0 / speed * 1000.0 / 0.010; /* J/s over mm/s is 1000 N */
}

Test(bench, passes_without_chance_give_back_stiffness_and_wear)
{
    struct tw_job job = read_job("samples/santoku-170/job.cfg");
    struct tw_bench_reading items[PASS_READINGS];
    struct tw_bench bench;

    make_passes(6000.0, cut_of(&job), 0.08, 0.0, items);
    bench = fit(&job, items, PASS_READINGS);
    expect_near("stiffness", bench.stiffness_N_per_mm.value, 6000.0, 1.0);
    expect_near("wear", bench.wear.value, 0.08, 1e-5);
    tw_job_free(&job);
}

Test(bench, passes_give_intervals_that_hold_the_truth)
{
    struct tw_job job = read_job("samples/santoku-170/job.cfg");
    double cut = cut_of(&job);
    int wear = 0, share = 0, stiffness = 0;

    state = 11;
    for (int draw = 0; draw < DRAWS; draw++) {
        struct tw_bench_reading items[PASS_READINGS];
        struct tw_bench bench;

        make_passes(6000.0, cut, 0.05, 0.0005, items);
        bench = fit(&job, items, PASS_READINGS);
        share += holds(&bench.share, 6000.0 / (cut + 6000.0 * 1.05));
        wear += holds(&bench.wear, 0.05);
        stiffness += holds(&bench.stiffness_N_per_mm, 6000.0);
    }
    expect_coverage("share", share);
    expect_coverage("wear", wear);
    expect_coverage("stiffness", stiffness);
    tw_job_free(&job);
}

Test(bench, a_machine_too_stiff_for_the_gauge_is_refused)
{
    struct tw_job job = read_job("samples/santoku-170/job.cfg");
    struct tw_bench_reading items[PASS_READINGS];
    struct tw_bench_readings readings = { .path = (char[]){ "readings" }, .items = items, .count = PASS_READINGS };
    struct tw_findings findings = { 0 };
    struct tw_bench bench;

    state = 5;
    make_passes(5e6, cut_of(&job), 0.0, 0.003, items);
    cr_expect(eq(int, tw_bench_fit(&job, &readings, &bench, &findings), TW_BAD_INPUT));
    cr_expect(bench.stiffness_N_per_mm.known == false);
    cr_assert(eq(sz, findings.count, 1));
    tw_findings_free(&findings);
    tw_job_free(&job);
}

/* ---- pull ---- */

static void make_pulls(double sideways, double gap_scale_mm, double chance, struct tw_bench_reading *out)
{
    static const double gaps_mm[] = { 0.0, 0.0, 0.05, 0.05, 0.1, 0.1, 0.2 };

    for (size_t i = 0; i < 7; i++) {
        double over = 1.0 + gaps_mm[i] / gap_scale_mm;

        out[i] = (struct tw_bench_reading){ .test = TW_BENCH_PULL,
                                            .length_mm = 100.0,
                                            .width_mm = 25.0,
                                            .gap_mm = gaps_mm[i],
                                            .force_N = sideways * 2500.0 / (over * over) * exp(chance * normal(&state)),
                                            .uncertainty = fmax(chance, 1e-9) };
    }
}

Test(bench, pulls_give_back_pull_and_gap_and_intervals_that_hold_them)
{
    struct tw_job job = read_job("samples/santoku-170/job.cfg");
    struct tw_bench_reading items[7];
    struct tw_bench bench;
    int pull = 0, gap = 0;

    make_pulls(0.0168, 0.12, 0.0, items);
    bench = fit(&job, items, 7);
    expect_near("pull", bench.pull_N_per_mm2.value, 0.0168 / 0.15 / 0.56,
                1e-6); /* friction and steel of the profiles: 0.2 */
    expect_near("gap_scale", bench.gap_scale_mm.value, 0.12, 1e-6);
    state = 3;
    for (int draw = 0; draw < DRAWS; draw++) {
        make_pulls(0.0168, 0.12, 0.05, items);
        bench = fit(&job, items, 7);
        pull += holds(&bench.pull_N_per_mm2, 0.2);
        gap += holds(&bench.gap_scale_mm, 0.12);
    }
    expect_coverage("pull", pull);
    expect_coverage("gap", gap);
    bench = fit(&job, items, 2); /* flat only */
    cr_expect(bench.pull_N_per_mm2.known && !bench.gap_scale_mm.known);
    tw_job_free(&job);
}

/* ---- dull ---- */

Test(bench, powers_tell_after_how_many_passes_to_dress)
{
    struct tw_job job = read_job("samples/santoku-170/job.cfg");
    struct tw_bench_reading items[6];
    struct tw_bench bench;
    int fresh = 0, growth = 0, dress = 0;

    state = 9;
    for (int draw = -1; draw < DRAWS; draw++) {
        for (int i = 0; i < 6; i++) {
            double passes = 20.0 * i, power_W = 200.0 + 180.0 * (1.0 + 0.004 * passes);

            items[i] = (struct tw_bench_reading){ .test = TW_BENCH_DULL, .passes = passes, .uncertainty = 0.01 };
            items[i].power_W = power_W + (draw < 0 ? 0.0 : 0.01 * power_W * normal(&state));
            items[i].idle_W = 200.0 + (draw < 0 ? 0.0 : 2.0 * normal(&state));
        }
        bench = fit(&job, items, 6);
        if (draw < 0) { /* 30 % up at 0.4 % a pass */
            expect_near("passes", bench.dress_passes.value, 75.0, 1e-6);
            expect_near("fresh", bench.fresh_W.value, 180.0, 1e-6);
            continue;
        }
        fresh += holds(&bench.fresh_W, 180.0);
        growth += holds(&bench.growth, 0.004);
        dress += bench.dress_passes.known;
    }
    expect_coverage("fresh power", fresh);
    expect_coverage("growth", growth);
    cr_expect(dress > 0.9 * DRAWS);
    tw_job_free(&job);
}

/* ---- film ---- */

/* Alumina disc of 200 mm, 10 um at 200 mm/s, 30 m/s, by hand (Jaeger's band, Hahn's partition): 74.85 W/mm2 less 8.485 in the
 * chips, dry rise 439.7 K; with a film of 2.9e5 W/m2K 66.37/(66.37/439.7 + 0.29) = 150.5 K. The contact is sqrt(0.01 * 200) =
 * 1.4142 mm long, so the profile's film, which is that of 1.4 mm at 30 m/s, is sqrt(1.4142/1.4) times as much. */
#define PROFILES_FILM 0.291469
Test(bench, temperatures_with_and_without_coolant_give_back_the_film)
{
    struct tw_job job = read_job("samples/hunter-110/job.cfg");
    struct tw_bench_reading reading = { .test = TW_BENCH_FILM,
                                        .depth_mm = 0.010,
                                        .table_mm_per_s = 200.0,
                                        .start_degC = 25.0,
                                        .wet_degC = 25.0 + 150.5,
                                        .dry_degC = 25.0 + 439.7,
                                        .uncertainty = 3.0 };
    struct tw_bench bench;
    int film = 0;

    job.wheel.speed_mm_per_s = 30000.0;
    job.wheel.specific_energy_J_per_mm3 = 45.0;
    bench = fit(&job, &reading, 1);
    expect_near("the film", bench.film_W_per_mm2_K.value, PROFILES_FILM, 0.001);
    state = 21;
    for (int draw = 0; draw < DRAWS; draw++) {
        struct tw_bench_reading items[3];

        for (int i = 0; i < 3; i++) {
            items[i] = reading;
            items[i].wet_degC += 3.0 * normal(&state);
            items[i].dry_degC += 3.0 * normal(&state);
        }
        film += holds(&(struct tw_bench_value[]){ fit(&job, items, 3).film_W_per_mm2_K }[0], PROFILES_FILM);
    }
    expect_coverage("film", film);
    tw_job_free(&job);
}

/* ---- hanging and seated ---- */

/* Figures of samples/santoku-170's steel, 52100: W/mm K, J/mm3 K. */
#define CONDUCTIVITY 0.037
#define CAPACITY     (0.00781 * 0.475)

/* What a thermocouple in the middle of a plate reads, by equal cells through the thickness and small steps of time: `upper`
 * and `lower` are the conductances of its faces, W/mm2 K. Excess over the coolant, beginning with 40 K everywhere. */
#define CELLS 16
static void make_cooling(double upper, double lower, double thickness_mm, const double *times_s, size_t count,
                         double *excess_K)
{
    double cell_mm = thickness_mm / CELLS, inside = CONDUCTIVITY / cell_mm, excess[CELLS], flow[CELLS + 1];
    double step_s = 0.2 * cell_mm * cell_mm * CAPACITY / CONDUCTIVITY, now_s = 0.0;

    for (int k = 0; k < CELLS; k++)
        excess[k] = 40.0;
    for (size_t i = 0; i < count; i++) {
        for (; now_s < times_s[i]; now_s += step_s) {
            flow[0] = -excess[0] / (1.0 / upper + 0.5 / inside); /* half a cell lies before the face */
            flow[CELLS] = excess[CELLS - 1] / (1.0 / lower + 0.5 / inside);
            for (int k = 1; k < CELLS; k++)
                flow[k] = inside * (excess[k - 1] - excess[k]);
            for (int k = 0; k < CELLS; k++)
                excess[k] += (flow[k] - flow[k + 1]) * step_s / (CAPACITY * cell_mm);
        }
        excess_K[i] = (excess[CELLS / 2 - 1] + excess[CELLS / 2]) / 2.0;
    }
}

#define STRIP_READINGS 8
static const double hanging_s[STRIP_READINGS] = { 1, 10, 20, 30, 45, 60, 75, 90 };
static const double seated_s[STRIP_READINGS] = { 1, 2, 3, 4, 5, 7, 9, 12 };

/* Coolant of 20 degC, said as uncertain as a reading is. */
static void make_strip(enum tw_bench_test test, const double *excess_K, double chance_K, struct tw_bench_reading *out)
{
    double coolant_degC = 20.0 + chance_K * normal(&state);

    for (size_t i = 0; i < STRIP_READINGS; i++)
        out[i] = (struct tw_bench_reading){ .test = test,
                                            .line = 2 + (int)i,
                                            .thickness_mm = 3.2,
                                            .time_s = test == TW_BENCH_HANGING ? hanging_s[i] : seated_s[i],
                                            .coolant_degC = coolant_degC,
                                            .strip_degC = 20.0 + excess_K[i] + chance_K * normal(&state),
                                            .uncertainty = fmax(chance_K, 1e-6) };
}

/* The whole plate's conduction made the readings; 0.3 % is what cells and steps of this size leave. */
Test(bench, cooling_strips_give_back_both_conductances_and_intervals_that_hold_them)
{
    struct tw_job job = read_job("samples/santoku-170/job.cfg");
    double free_K[STRIP_READINGS], lying_K[STRIP_READINGS];
    struct tw_bench_reading items[2 * STRIP_READINGS];
    struct tw_bench bench;
    int surface = 0, joint = 0;

    make_cooling(150e-6, 150e-6, 3.2, hanging_s, STRIP_READINGS, free_K);
    make_cooling(150e-6, 1500e-6, 3.2, seated_s, STRIP_READINGS, lying_K);
    make_strip(TW_BENCH_HANGING, free_K, 0.0, items);
    make_strip(TW_BENCH_SEATED, lying_K, 0.0, items + STRIP_READINGS);
    bench = fit(&job, items, 2 * STRIP_READINGS);
    expect_near("surface", bench.surface_W_per_mm2_K.value, 150e-6, 0.45e-6);
    expect_near("joint", bench.joint_W_per_mm2_K.value, 1500e-6, 4.5e-6);
    state = 17;
    for (int draw = 0; draw < DRAWS; draw++) {
        make_strip(TW_BENCH_HANGING, free_K, 0.5, items);
        make_strip(TW_BENCH_SEATED, lying_K, 0.5, items + STRIP_READINGS);
        bench = fit(&job, items, 2 * STRIP_READINGS);
        surface += holds(&bench.surface_W_per_mm2_K, 150e-6);
        joint += holds(&bench.joint_W_per_mm2_K, 1500e-6);
    }
    expect_coverage("surface", surface);
    expect_coverage("joint", joint);
    tw_job_free(&job);
}

/* Readings of a strip that cools at exp(-rate t) from 40 K, without error. */
static void make_decay(enum tw_bench_test test, double rate_per_s, double thickness_mm, struct tw_bench_reading *out)
{
    for (size_t i = 0; i < STRIP_READINGS; i++) {
        double time_s = 0.3 * (double)i / rate_per_s;

        out[i] = (struct tw_bench_reading){ .test = test,
                                            .line = 2 + (int)i,
                                            .thickness_mm = thickness_mm,
                                            .time_s = time_s,
                                            .coolant_degC = 20.0,
                                            .strip_degC = 20.0 + 40.0 * exp(-rate_per_s * time_s),
                                            .uncertainty = 0.1 };
    }
}

/* Incropera and others, Fundamentals of Heat and Mass Transfer, from memory. Lumped capacitance: rate = conductance * area /
 * (density * volume * specific heat), good to Bi/3; and the table of first roots of z tan z = Bi for the plane wall, 0.2791 at
 * Bi = 0.08 and 0.5218 at 0.3, to four digits. Half-times of the lumped strip by hand: 3.2 mm of this steel hold 7810 * 475 *
 * 0.0032 = 11,871 J/m2K, so 41 s make 0.34657 * 11,871 / 41 = 100.35 W/m2K; Bi/3 is 0.14 % there. */
Test(bench, cooling_agrees_with_lumped_capacitance_and_with_the_plane_walls_table)
{
    struct tw_job job = read_job("samples/santoku-170/job.cfg");
    double diffusivity = CONDUCTIVITY / CAPACITY;
    struct tw_bench_reading items[STRIP_READINGS];
    struct tw_bench bench;

    make_decay(TW_BENCH_HANGING, 0.693147 / 41.0, 3.2, items);
    bench = fit(&job, items, STRIP_READINGS);
    expect_near("lumped", bench.surface_W_per_mm2_K.value, 100.35e-6 * 1.0014, 0.03e-6);
    expect_near("half-time", bench.half_time_s[TW_BENCH_HANGING], 41.0, 0.01);
    make_decay(TW_BENCH_HANGING, diffusivity * 0.2791 * 0.2791 / (1.6 * 1.6), 3.2, items);
    bench = fit(&job, items, STRIP_READINGS);
    expect_near("plane wall", bench.surface_W_per_mm2_K.value, 0.08 * CONDUCTIVITY / 1.6,
                0.08 * CONDUCTIVITY / 1.6 * 6e-4);
    job.coolant.surface_conductance_W_per_mm2_K = 1e-12; /* nothing above: half of a wall twice as thick */
    make_decay(TW_BENCH_SEATED, diffusivity * 0.5218 * 0.5218 / (3.2 * 3.2), 3.2, items);
    bench = fit(&job, items, STRIP_READINGS);
    expect_near("one side", bench.joint_W_per_mm2_K.value, 0.3 * CONDUCTIVITY / 3.2, 0.3 * CONDUCTIVITY / 3.2 * 4e-4);
    tw_job_free(&job);
}

/* Warmed twice, from different temperatures: one rate. */
Test(bench, a_strip_warmed_again_tells_more)
{
    struct tw_job job = read_job("samples/santoku-170/job.cfg");
    struct tw_bench_reading items[2 * STRIP_READINGS];
    struct tw_bench once, twice;

    make_decay(TW_BENCH_HANGING, 0.02, 3.2, items);
    make_decay(TW_BENCH_HANGING, 0.02, 3.2, items + STRIP_READINGS);
    for (size_t i = 0; i < STRIP_READINGS; i++)
        items[STRIP_READINGS + i].strip_degC = 20.0 + (items[i].strip_degC - 20.0) * 0.75;
    once = fit(&job, items, STRIP_READINGS);
    twice = fit(&job, items, 2 * STRIP_READINGS);
    expect_near("surface", twice.surface_W_per_mm2_K.value, once.surface_W_per_mm2_K.value, 1e-10);
    cr_expect(twice.surface_W_per_mm2_K.uncertainty < once.surface_W_per_mm2_K.uncertainty);
    tw_job_free(&job);
}

static void expect_refused(const struct tw_job *job, struct tw_bench_reading *items, size_t count, int line,
                           const char *wanted)
{
    struct tw_bench_readings readings = { .path = (char[]){ "readings" }, .items = items, .count = count };
    struct tw_findings findings = { 0 };
    struct tw_bench bench;
    char said[400];

    snprintf(said, sizeof said, "readings:%d: %s", line, wanted);
    cr_expect(eq(int, tw_bench_fit(job, &readings, &bench, &findings), TW_BAD_INPUT), "%s", wanted);
    cr_assert(eq(sz, findings.count, 1));
    cr_expect(strcmp(findings.items[0].text, said) == 0, "wanted \"%s\": %s", said, findings.items[0].text);
    cr_expect(bench.surface_W_per_mm2_K.known == false && bench.joint_W_per_mm2_K.known == false);
    tw_findings_free(&findings);
}

/* The plane wall's table (Incropera and others, from memory) has z = 0.4328 at Bi = 0.2: of 8 mm, 4 may stay. At z = 0.2425,
 * Bi = 0.06, the same strip is taken. */
Test(bench, strips_that_tell_nothing_are_refused)
{
    struct tw_job job = read_job("samples/santoku-170/job.cfg");
    double diffusivity = CONDUCTIVITY / CAPACITY;
    struct tw_bench_reading items[STRIP_READINGS];

    make_decay(TW_BENCH_HANGING, diffusivity * 0.4328 * 0.4328 / 16.0, 8.0, items);
    expect_refused(&job, items, STRIP_READINGS, 9,
                   "the strip's inside lags behind its faces: Biot's number, mean conductance * half the thickness / "
                   "conductivity, is 0.2, and 0.1 is the most; take a strip of 4 mm or less");
    make_decay(TW_BENCH_HANGING, diffusivity * 0.2425 * 0.2425 / 16.0, 8.0, items);
    cr_expect(fit(&job, items, STRIP_READINGS).surface_W_per_mm2_K.known);
    make_decay(TW_BENCH_SEATED, diffusivity * 3.0 / 64.0, 8.0, items); /* beyond the quarter turn's 2.47 */
    expect_refused(&job, items, STRIP_READINGS, 9,
                   "the strip cools faster than heat comes out of this steel; look at thickness, times and the "
                   "coolant's temperature");
    make_decay(TW_BENCH_HANGING, 0.02, 3.2, items);
    expect_refused(&job, items, 2, 3,
                   "so few readings cannot check each other; read the temperature of one cooling three times or more, "
                   "better eight times");
    items[3].thickness_mm = 3.0;
    expect_refused(&job, items, STRIP_READINGS, 5,
                   "the strip has another thickness than before; give each strip a table of its own");
    items[3].thickness_mm = 3.2;
    for (size_t i = 0; i < STRIP_READINGS; i++)
        items[i].coolant_degC = 60.0;
    expect_refused(&job, items, STRIP_READINGS, 2,
                   "the strip is no warmer than the coolant where its cooling begins; warm it by 40 K or so, or write "
                   "what the coolant_temperature was");
    for (size_t i = 0; i < STRIP_READINGS; i++) {
        items[i].coolant_degC = 20.0;
        items[i].strip_degC = 60.0 + (i % 2 ? 0.1 : -0.1);
    }
    expect_refused(&job, items, STRIP_READINGS, 9,
                   "the temperatures do not tell how fast the strip cools; read on until half of the excess over the "
                   "coolant is gone");
    make_decay(TW_BENCH_SEATED, job.coolant.surface_conductance_W_per_mm2_K / (CAPACITY * 3.2), 3.2, items);
    expect_refused(&job, items, STRIP_READINGS, 9,
                   "the joint takes no more than the readings can tell beside the upper face; measure that by a test "
                   "\"hanging\", and read the temperature oftener");
    tw_job_free(&job);
}

/* ---- the file ---- */

TestSuite(bench_file, .init = open_folder, .fini = close_folder);

static void expect_said(const char *text, const char *wanted)
{
    struct tw_findings findings = { 0 };
    struct tw_bench_readings readings;

    write_file("r.csv", text);
    cr_expect(tw_bench_is_one("r.csv"));
    cr_expect(eq(int, tw_bench_read("r.csv", &readings, &findings), TW_BAD_INPUT));
    cr_assert(gt(sz, findings.count, 0));
    cr_expect(strstr(findings.items[0].text, wanted) != NULL, "wanted \"%s\" in: %s", wanted, findings.items[0].text);
    tw_findings_free(&findings);
}

Test(bench_file, wrong_readings_are_told)
{
    expect_said("test,infed,passes\npass,0.01 mm,5\n", "\"infed\" is no column of bench tests; did you mean infeed");
    expect_said("test,gap,gap\n", "the column gap is named twice");
    expect_said("test,gap\npush,0 mm\n",
                "\"push\" is no bench test; allowed are pass, pull, dull, film, hanging, seated");
    expect_said("test,force,length,width\npull,42 N,100 mm,\n",
                "is empty or missing; a test \"pull\" needs it, such as 25 mm");
    expect_said("test,force,length,width\npull,42,100 mm,25 mm\n", "\"42\" has no unit");
    expect_said("test,force,length,width,passes\npull,42 N,100 mm,25 mm,4\n",
                "\"4\" says nothing about a test \"pull\"");
    expect_said("test,passes,power,idle_power\ndull,2.5,400 W,200 W\n", "\"2.5\" is no whole number");
    expect_said("test,force,length,width,uncertainty\npull,42 N,100 mm,25 mm,2 K\n",
                "\"2 K\" is no uncertainty of a test \"pull\"");
    expect_said("test,thickness,time\nhanging,3.2 mm,5 s\n",
                "is empty or missing; a test \"hanging\" needs it, such as 58 degC");
    expect_said("test,thickness,time,strip_temperature\nseated,3.2 mm,5,58 degC\n", "\"5\" has no unit");
    expect_said("test,thickness,time,strip_temperature\nseated,0.1 mm,5 s,58 degC\n",
                "\"0.1 mm\" is out of range: 0.5 mm to 50 mm is allowed");
    expect_said("test,thickness,time,strip_temperature,force\nseated,3.2 mm,5 s,58 degC,3 N\n",
                "\"3 N\" says nothing about a test \"seated\"; leave the cell empty");
    expect_said("test,thickness,time,strip_temperature,uncertainty\nhanging,3.2 mm,5 s,58 degC,2 %\n",
                "\"2 %\" is no uncertainty of a test \"hanging\"; write it like 1 K");
    expect_said("test,force\n", "holds no reading");
}

Test(bench_file, sound_readings_are_read_with_their_units)
{
    struct tw_findings findings = { 0 };
    struct tw_bench_readings readings;

    write_file("r.csv", "test,force,length,width,gap,uncertainty\npull,10 lbf,4 in,25 mm,2 thou,5 %\n");
    cr_assert(eq(int, tw_bench_read("r.csv", &readings, &findings), TW_OK));
    cr_assert(eq(sz, readings.count, 1));
    expect_near("force", readings.items[0].force_N, 44.482216152605, 1e-9);
    expect_near("length", readings.items[0].length_mm, 101.6, 1e-9);
    expect_near("gap", readings.items[0].gap_mm, 0.0508, 1e-9);
    expect_near("uncertainty", readings.items[0].uncertainty, 0.05, 1e-12);
    tw_bench_free(&readings);
    write_file("k.csv", "kind,depth\n");
    cr_expect(tw_bench_is_one("k.csv") == false);
    cr_expect(tw_bench_is_one("none.csv") == false);
}

/* What is printed can be pasted into a job. */
Test(bench, the_lines_can_be_read_again)
{
    struct tw_job job = read_job("samples/santoku-170/job.cfg");
    struct tw_bench_reading items[PASS_READINGS];
    struct tw_bench_readings readings = { .path = (char[]){ "r.csv" }, .items = items, .count = PASS_READINGS };
    struct tw_findings findings = { 0 };
    struct tw_bench bench;
    char *text, *json;

    state = 2;
    make_passes(6000.0, cut_of(&job), 0.02, 0.0005, items);
    bench = fit(&job, items, PASS_READINGS);
    cr_assert(eq(int, tw_bench_text(&job, &readings, &bench, &text, &findings), TW_OK));
    cr_expect(strstr(text, "\nstiffness = \"") != NULL, "%s", text);
    cr_expect(strstr(text, "stiffness_least = \"") != NULL);
    cr_assert(eq(int, tw_bench_json(&job, &bench, &json, &findings), TW_OK));
    cr_expect(strstr(json, "\"gap_scale_mm\": null") != NULL);
    free(text);
    free(json);
    tw_job_free(&job);
}

/* ---- memory ---- */

Test(bench, memory_that_runs_out_anywhere_is_told_and_nothing_is_lost)
{
    struct tw_job job = read_job("samples/santoku-170/job.cfg");
    enum tw_status status = TW_NO_MEMORY;
    long before = blocks_in_use;

    for (long n = 0; status != TW_OK; n++) {
        struct tw_findings findings = { 0 };
        struct tw_bench_readings readings = { 0 };
        struct tw_bench bench;
        char *text = NULL;

        cr_assert(n < 2000, "still failing");
        allocations_until_failure = n;
        status = tw_bench_read("samples/santoku-170/bench.csv", &readings, &findings);
        if (status == TW_OK)
            status = tw_bench_fit(&job, &readings, &bench, &findings);
        if (status == TW_OK)
            status = tw_bench_text(&job, &readings, &bench, &text, &findings);
        allocations_until_failure = -1;
        cr_expect(status == TW_OK || status == TW_NO_MEMORY, "allocation %ld: status %d", n, (int)status);
        free(text);
        tw_bench_free(&readings);
        tw_findings_free(&findings);
        cr_expect(eq(long, blocks_in_use, before), "allocation %ld", n);
    }
    tw_job_free(&job);
}
