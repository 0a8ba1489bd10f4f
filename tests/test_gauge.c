/* test_gauge.c - guards `gauge`: a fit that is not least squares, an interval that covers too seldom, chance told as a fault, a
 * wearing wheel told as a jump or the other way round, a doubtful reading that vanishes, and a capability index that is none.
 *
 * Certified values: National Institute of Standards and Technology, Statistical Reference Datasets (1999), linear regression,
 * Norris and Longley; NIST/SEMATECH e-Handbook of Statistical Methods, 6.1.6 (capability) and 6.3.2.2 (chart of single
 * values). Data and values recalled, and confirmed by each other: no other data gives these coefficients. */
#include "base/numbers.h"
#include "tangwright/correct.h"
#include "tangwright/gauge.h"
#include "tangwright/taper.h"

#include "input/failing_memory.h"

#include "check/check.h"
#include "check/noise.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

/* ---- least squares ---- */

static void expect_close(double value, double certified, double digits)
{
    cr_expect(fabs(value - certified) <= pow(10.0, -digits) * fabs(certified), "%.15g, certified %.15g", value,
              certified);
}

static const double norris[36][2] = {
    { 0.2, 0.1 },     { 337.4, 338.8 }, { 118.2, 118.1 }, { 884.6, 888.0 }, { 10.1, 9.2 },    { 226.5, 228.1 },
    { 666.3, 668.5 }, { 996.3, 998.5 }, { 448.6, 449.1 }, { 777.0, 778.9 }, { 558.2, 559.2 }, { 0.4, 0.3 },
    { 0.6, 0.1 },     { 775.5, 778.1 }, { 666.9, 668.8 }, { 338.0, 339.3 }, { 447.5, 448.9 }, { 11.6, 10.8 },
    { 556.0, 557.7 }, { 228.1, 228.3 }, { 995.8, 998.0 }, { 887.6, 888.8 }, { 120.2, 119.6 }, { 0.3, 0.3 },
    { 0.3, 0.6 },     { 556.8, 557.6 }, { 339.1, 339.3 }, { 887.2, 888.0 }, { 999.0, 998.5 }, { 779.0, 778.9 },
    { 11.1, 10.2 },   { 118.3, 117.6 }, { 229.2, 228.9 }, { 669.1, 668.4 }, { 448.9, 449.2 }, { 0.5, 0.2 },
};

/* The set's first column is the ozone instrument's, y = 0.1, against the customer's, x = 0.2. */
Test(statistics, norris)
{
    double rows[36][2], values[36], coefficients[2], standards[2];
    struct tw_least_squares fit = { .rows = &rows[0][0],
                                    .values = values,
                                    .count = 36,
                                    .terms = 2,
                                    .coefficients = coefficients,
                                    .standards = standards };

    for (int i = 0; i < 36; i++) {
        rows[i][0] = 1.0;
        rows[i][1] = norris[i][0];
        values[i] = norris[i][1];
    }
    cr_assert(tw_least_squares_fit(&fit));
    expect_close(coefficients[0], -0.262323073774029, 10);
    expect_close(coefficients[1], 1.00211681802045, 12);
    expect_close(standards[0], 0.232818234301152, 10);
    expect_close(standards[1], 0.429796848199937e-03, 10);
    expect_close(fit.standard, 0.884796396144373, 10);
    cr_expect(eq(sz, fit.degrees, 34));
}

static const double longley[16][7] = {
    { 60323, 83.0, 234289, 2356, 1590, 107608, 1947 },  { 61122, 88.5, 259426, 2325, 1456, 108632, 1948 },
    { 60171, 88.2, 258054, 3682, 1616, 109773, 1949 },  { 61187, 89.5, 284599, 3351, 1650, 110929, 1950 },
    { 63221, 96.2, 328975, 2099, 3099, 112075, 1951 },  { 63639, 98.1, 346999, 1932, 3594, 113270, 1952 },
    { 64989, 99.0, 365385, 1870, 3547, 115094, 1953 },  { 63761, 100.0, 363112, 3578, 3350, 116219, 1954 },
    { 66019, 101.2, 397469, 2904, 3048, 117388, 1955 }, { 67857, 104.6, 419180, 2822, 2857, 118734, 1956 },
    { 68169, 108.4, 442769, 2936, 2798, 120445, 1957 }, { 66513, 110.8, 444546, 4681, 2637, 121950, 1958 },
    { 68655, 112.6, 482704, 3813, 2552, 123366, 1959 }, { 69564, 114.2, 502601, 3931, 2514, 125368, 1960 },
    { 69331, 115.7, 518173, 4806, 2572, 127852, 1961 }, { 70551, 116.9, 554894, 4007, 2827, 130081, 1962 },
};

/* Nearly collinear: a solver that squares the matrix loses all digits here. */
Test(statistics, longley)
{
    static const double certified[7] = { -3482258.63459582, 15.0618722713733,    -0.0358191792925910, -2.02022980381683,
                                         -1.03322686717359, -0.0511041056535807, 1829.15146461355 };
    double rows[16][7], values[16], coefficients[7], standards[7];
    struct tw_least_squares fit = { .rows = &rows[0][0],
                                    .values = values,
                                    .count = 16,
                                    .terms = 7,
                                    .coefficients = coefficients,
                                    .standards = standards };

    for (int i = 0; i < 16; i++) {
        values[i] = longley[i][0];
        rows[i][0] = 1.0;
        for (int k = 1; k < 7; k++)
            rows[i][k] = longley[i][k];
    }
    cr_assert(tw_least_squares_fit(&fit));
    for (int k = 0; k < 7; k++)
        expect_close(coefficients[k], certified[k], 6);
    expect_close(fit.standard, 304.854073561965, 7);
    expect_close(standards[0], 890420.383607373, 6);
}

/* Two columns alike cannot be told apart, and that is said. */
Test(statistics, rank_is_what_the_rows_can_tell)
{
    double rows[4][2] = { { 1, 2 }, { 2, 4 }, { 3, 6 }, { 4, 8 } }, values[4] = { 5, 10, 15, 20 }, c[2], s[2];
    struct tw_least_squares fit = { &rows[0][0], values, 4, 2, 0, c, s, NULL, 0, 0, 0.0 };

    cr_assert(tw_least_squares_fit(&fit));
    cr_expect(eq(sz, fit.rank, 1));
}

Test(statistics, chart_of_the_handbook)
{
    static const double flow[10] = { 49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1 };
    struct tw_control_chart chart = tw_control_chart_of(flow, 10);

    cr_expect(epsilon_eq(dbl, chart.centre, 50.81, 1e-9));
    cr_expect(epsilon_eq(dbl, chart.mean_range, 1.8778, 5e-5));
    cr_expect(epsilon_eq(dbl, chart.high, 55.8041, 2e-3)); /* the handbook rounds 2 / sqrt(pi) to 1.128 */
    cr_expect(epsilon_eq(dbl, chart.low, 45.8159, 2e-3));
}

/* Limits 8 and 20, mean 16, s 2. Bounds of Cp by hand with chi-square 0.025 and 0.975 of 49 degrees, 31.555 and 70.222
 * (tables); of Cpk by Bissell's formula. */
Test(statistics, capability_of_the_handbook)
{
    struct tw_capability c = tw_capability_of(16.0, 2.0, 50, 8.0, 20.0);

    cr_expect(epsilon_eq(dbl, c.cp, 1.0, 1e-12));
    cr_expect(epsilon_eq(dbl, c.cpk, 2.0 / 3.0, 1e-12));
    cr_expect(epsilon_eq(dbl, c.cp_low, sqrt(31.555 / 49.0), 1e-4));
    cr_expect(epsilon_eq(dbl, c.cp_high, sqrt(70.222 / 49.0), 1e-4));
    cr_expect(epsilon_eq(dbl, c.cpk_low, 2.0 / 3.0 - 1.96 * sqrt(1.0 / 450.0 + 4.0 / 9.0 / 98.0), 1e-4));
}

/* ---- invented runs ---- */

static struct tw_job job;
static struct tw_findings findings;

static void read_job(void)
{
    findings = (struct tw_findings){ 0 };
    cr_assert(eq(int, tw_job_read("samples/utility-four/job.cfg", &job, &findings), TW_OK));
}

static void free_job(void)
{
    tw_job_free(&job);
    tw_findings_free(&findings);
}

TestSuite(run, .init = read_job, .fini = free_job);

/* What is put in, in mm. */
struct truth {
    double offset, taper, crown, station[4], drift, jump, part, chance;
    size_t jump_after;
};

#define PARTS  12
#define PLACES 6

static struct tw_gaugings invent(const struct truth *truth, unsigned long long *state)
{
    static const double x[PLACES] = { 10, 40, 70, 100, 40, 40 }, y[PLACES] = { 0, 0, 0, 0, -8, 8 };
    struct tw_gaugings out = { .items = calloc(PARTS * PLACES, sizeof *out.items), .has_y = true, .has_station = true };
    double low = HUGE_VAL, high = -HUGE_VAL;

    for (size_t i = 0; i < job.part.tang.outer.count; i++) {
        low = fmin(low, job.part.tang.outer.points[i].y_mm);
        high = fmax(high, job.part.tang.outer.points[i].y_mm);
    }
    for (size_t part = 0; part < PARTS; part++) {
        double own =
            truth->part * normal(state) + truth->drift * (double)part + (part >= truth->jump_after ? truth->jump : 0);

        for (size_t k = 0; k < PLACES; k++) {
            struct tw_gauging *reading = &out.items[out.count++];
            double v = 2.0 * (y[k] - (low + high) / 2.0) / (high - low);

            snprintf(reading->part, sizeof reading->part, "%zu", part + 1);
            reading->station = 1 + (int)(part % 4);
            reading->x_mm = x[k];
            reading->y_mm = y[k];
            reading->thickness_mm = tw_taper_thickness_mm(&job, x[k]) + truth->offset +
                                    truth->taper * (x[k] - 50.0) / job.taper.length_mm + truth->crown * v * v +
                                    truth->station[part % 4] + own + truth->chance * normal(state);
        }
    }
    return out;
}

static const struct tw_gauge_term *term_of(const struct tw_gauged_run *run, enum tw_gauge_term_kind kind, int station)
{
    for (size_t i = 0; i < run->term_count; i++)
        if (run->terms[i].kind == kind && run->terms[i].station == station)
            return &run->terms[i];
    fprintf(stderr, "a term is missing\n");
    abort();
}

static struct tw_gauged_run gauged(const struct tw_gaugings *readings)
{
    struct tw_gauged_run run;

    cr_assert(eq(int, tw_gauge_run(&job, readings, 0.0, 0.02, &run, &findings), TW_OK));
    return run;
}

/* 400 runs of twelve parts: intervals of 95 % by Student's t must cover in 95 % of them, and the binomial's own standard
 * deviation of 400 is 1.1 %. Part-to-part spread is twice the readings': it must not make taper and crown surer. */
Test(run, intervals_cover_what_was_put_in)
{
    struct truth truth = { .offset = 0.006,
                           .taper = 0.010,
                           .crown = 0.004,
                           .station = { 0.003, -0.001, 0.002, -0.004 },
                           .part = 0.002,
                           .chance = 0.001 };
    unsigned long long state = 20261126;
    int taper = 0, crown = 0, station = 0, off = 0, draws = 400;

    for (int i = 0; i < draws; i++) {
        struct tw_gaugings readings = invent(&truth, &state);
        struct tw_gauged_run run = gauged(&readings);
        const struct tw_gauge_term *t = term_of(&run, TW_TERM_TAPER, 0), *c = term_of(&run, TW_TERM_CROWN, 0);
        const struct tw_gauge_term *s = term_of(&run, TW_TERM_STATION, 4);

        taper += fabs(t->value_mm - truth.taper) < 2.0017 * t->standard_mm;       /* Student's t, 0.975, 58 degrees */
        crown += fabs(c->value_mm - truth.crown) < 2.0017 * c->standard_mm;       /* (tables) */
        station += fabs(s->value_mm - truth.station[3]) < 2.306 * s->standard_mm; /* 8 degrees */
        off += run.off_count > 0;
        tw_gauged_run_free(&run);
        free(readings.items);
    }
    cr_expect(abs(taper - 380) <= 13, "taper in %d of 400", taper);
    cr_expect(abs(crown - 380) <= 13, "crown in %d of 400", crown);
    cr_expect(abs(station - 380) <= 13, "station in %d of 400", station);
    cr_expect(off <= 33, "doubtful readings told in %d of 400 sound runs, 5 %% are expected", off);
}

/* Runs with nothing in them: each term is told in 5 % at the most, and so is a drift or a jump. */
Test(run, chance_is_not_told_as_a_fault)
{
    struct truth truth = { .part = 0.002, .chance = 0.001 };
    unsigned long long state = 7;
    int told[4] = { 0 }, course = 0, draws = 400;

    for (int i = 0; i < draws; i++) {
        struct tw_gaugings readings = invent(&truth, &state);
        struct tw_gauged_run run = gauged(&readings);

        for (size_t k = 0; k < run.term_count; k++)
            told[run.terms[k].kind] += run.terms[k].significant && run.terms[k].station <= 1;
        course += run.course != TW_COURSE_STEADY;
        tw_gauged_run_free(&run);
        free(readings.items);
    }
    for (int kind = 0; kind < 4; kind++)
        cr_expect(told[kind] <= 33, "term %d told in %d of 400", kind, told[kind]);
    cr_expect(course <= 33, "a course told in %d of 400", course);
}

Test(run, wear_is_a_drift_and_a_changed_zero_a_jump)
{
    struct truth wears = { .drift = 0.0015, .part = 0.001, .chance = 0.001 };
    struct truth jumps = { .jump = 0.010, .jump_after = 7, .part = 0.001, .chance = 0.001 };
    unsigned long long state = 3;
    int drifts = 0, jumped = 0, placed = 0;

    for (int i = 0; i < 50; i++) {
        struct tw_gaugings readings = invent(&wears, &state);
        struct tw_gauged_run run = gauged(&readings);

        drifts += run.course == TW_COURSE_DRIFTS && fabs(run.drift_mm_per_part - 0.0015) < 0.0006;
        tw_gauged_run_free(&run);
        free(readings.items);
        readings = invent(&jumps, &state);
        run = gauged(&readings);
        jumped += run.course == TW_COURSE_JUMPS;
        placed += run.jump_after == 7;
        tw_gauged_run_free(&run);
        free(readings.items);
    }
    cr_expect(ge(int, drifts, 40));
    cr_expect(ge(int, jumped, 45));
    cr_expect(ge(int, placed, 45));
}

Test(run, a_misread_micrometer_is_shown_and_stays_in)
{
    struct truth truth = { .part = 0.001, .chance = 0.001 };
    unsigned long long state = 5;
    struct tw_gaugings readings = invent(&truth, &state);
    struct tw_gauged_run run;

    readings.items[20].thickness_mm += 0.1;
    run = gauged(&readings);
    cr_expect(run.stands_off[20]);
    cr_expect(eq(sz, run.off_count, 1));
    cr_expect(eq(sz, run.parts[3].readings, PLACES));
    cr_expect(gt(dbl, run.parts[3].mean_mm, 0.010), "a sixth of 0.1 mm stays in its part's mean");
    cr_expect(eq(sz, run.beyond_tolerance, 1));
    tw_gauged_run_free(&run);
    free(readings.items);
}

/* A correction below what the gauge itself is sure to is not advised. */
Test(run, the_gauge_s_own_uncertainty_counts_for_the_offset)
{
    struct truth truth = { .offset = 0.003, .part = 0.0002, .chance = 0.0002 };
    unsigned long long state = 9;
    struct tw_gaugings readings = invent(&truth, &state);
    struct tw_gauged_run run;

    cr_assert(eq(int, tw_gauge_run(&job, &readings, 0.0001, 0.0, &run, &findings), TW_OK));
    cr_expect(term_of(&run, TW_TERM_OFFSET, 0)->significant);
    tw_gauged_run_free(&run);
    cr_assert(eq(int, tw_gauge_run(&job, &readings, 0.004, 0.0, &run, &findings), TW_OK));
    cr_expect(not(term_of(&run, TW_TERM_OFFSET, 0)->significant));
    tw_gauged_run_free(&run);
    free(readings.items);
}

/* One part, two readings: a line through two points, a mean of one. Nothing is left over to tell chance by. */
Test(run, too_few_readings_are_neither_chance_nor_told)
{
    struct tw_gauging readings[] = { { .part = "1", .station = 1, .x_mm = 30.0, .line = 2 },
                                     { .part = "1", .station = 1, .x_mm = 90.0, .line = 3 } };
    struct tw_gaugings table = { .items = readings, .count = 2 };
    struct tw_gauged_run run;
    char *text = NULL;

    for (size_t i = 0; i < 2; i++)
        readings[i].thickness_mm = tw_taper_thickness_mm(&job, readings[i].x_mm) + 0.95;
    run = gauged(&table);
    cr_expect(not(term_of(&run, TW_TERM_OFFSET, 0)->judged));
    cr_expect(not(term_of(&run, TW_TERM_OFFSET, 0)->significant));
    cr_assert(eq(int, tw_gauge_text(&job, &table, 0.0, &run, &text, &findings), TW_OK));
    cr_expect(strstr(text, "+950.0 um  too few parts to tell chance by\n") != NULL, "%s", text);
    cr_expect(strstr(text, "correct nothing before that is cleared up") != NULL, "%s", text);
    cr_expect(strstr(text,
                     "0.9500 mm too thick is more than the job's thickness_tolerance, 0.0400 mm: look for a wrong "
                     "zero, blank or reading before another part is ground") != NULL,
              "%s", text);
    free(text);
    tw_gauged_run_free(&run);
}

/* Five parts that are alike to the last digit, 0.02 mm too thick: that is no chance. */
Test(run, readings_that_are_all_alike_leave_chance_no_room)
{
    struct tw_gauging readings[5];
    struct tw_gaugings table = { .items = readings, .count = 5 };
    struct tw_gauged_run run;

    for (int i = 0; i < 5; i++) {
        readings[i] = (struct tw_gauging){ .station = 1, .x_mm = 40.0, .line = 2 + i };
        snprintf(readings[i].part, sizeof readings[i].part, "%d", i + 1);
        readings[i].thickness_mm = tw_taper_thickness_mm(&job, 40.0) + 0.02;
    }
    run = gauged(&table);
    cr_expect(term_of(&run, TW_TERM_OFFSET, 0)->judged);
    cr_expect(term_of(&run, TW_TERM_OFFSET, 0)->significant);
    tw_gauged_run_free(&run);
}

/* ---- what no grinding makes ---- */

/* An honest machine: what it is off by is put in, and every reading keeps within the tolerance of 0.04 mm. */
static const struct truth honest = { .offset = 0.010,
                                     .taper = 0.010,
                                     .crown = 0.004,
                                     .station = { 0.003, -0.001, 0.002, -0.004 },
                                     .part = 0.003,
                                     .chance = 0.002 };

static void expect_text(const struct tw_gaugings *readings, const struct tw_gauged_run *run, const char *wanted,
                        const char *unwanted)
{
    char *text = NULL;

    cr_assert(eq(int, tw_gauge_text(&job, readings, 0.0, run, &text, &findings), TW_OK));
    cr_expect(strstr(text, wanted) != NULL, "\"%s\" is not in %s", wanted, text);
    cr_expect(!unwanted || strstr(text, unwanted) == NULL, "\"%s\" is in %s", unwanted, text);
    free(text);
}

/* Nothing is to be looked at in 1000 loads of honest parts; the whole table is not either in loads whose readings scatter five
 * times as much, or whose wheel wears: there only what truly is beyond the tolerance may be named. */
Test(run, honest_parts_are_not_doubted)
{
    unsigned long long state = 41;
    int named = 0;

    for (int i = 0; i < 1000; i++) {
        struct tw_gaugings readings = invent(&honest, &state);
        struct tw_gauged_run run = gauged(&readings);

        named += run.look_first != 0;
        tw_gauged_run_free(&run);
        free(readings.items);
    }
    cr_expect(eq(int, named, 0));
}

Test(run, only_what_is_beyond_the_tolerance_is_named)
{
    struct truth rough = honest;
    unsigned long long state = 43;
    int beyond = 0, named = 0;

    rough.chance = 0.010;
    rough.drift = 0.002;
    for (int i = 0; i < 400; i++) {
        struct tw_gaugings readings = invent(&rough, &state);
        struct tw_gauged_run run = gauged(&readings);
        bool any = false;

        for (size_t k = 0; k < readings.count; k++)
            any |= fabs(run.deviation_mm[k]) > job.finish.thickness_mm;
        beyond += any;
        named += run.look_first != 0;
        cr_expect(any || run.look_first == 0 || run.look_first == TW_LOOK_READING, "load %d: %x", i, run.look_first);
        cr_expect(!any || run.look_first != 0, "load %d is beyond, and nothing is said", i);
        cr_expect(
            eq(int, (int)(run.look_first & (TW_LOOK_TAPER | TW_LOOK_CROWN | TW_LOOK_FAR | TW_LOOK_FROM_BUTT)), 0));
        tw_gauged_run_free(&run);
        free(readings.items);
    }
    cr_expect(gt(int, beyond, 0));
    cr_expect(ge(int, named, beyond));
}

/* The thickness is of the place that was measured, its x of the other end: 10 mm from the butt is not 10 mm from the start. */
static void measure_from_the_butt(struct tw_gaugings *readings)
{
    double butt_mm = tw_tang_end_mm(&job);

    for (size_t i = 0; i < readings->count; i++)
        readings->items[i].x_mm = butt_mm - readings->items[i].x_mm;
}

Test(run, x_taken_from_the_butt_is_told_and_nothing_is_corrected)
{
    unsigned long long state = 47;

    for (int i = 0; i < 100; i++) {
        struct tw_gaugings readings = invent(&honest, &state);
        struct tw_gauged_run run;

        measure_from_the_butt(&readings);
        run = gauged(&readings);
        cr_expect(run.look_first & TW_LOOK_FROM_BUTT, "load %d", i);
        cr_expect(lt(dbl, fabs(run.from_butt_mm), 0.030), "load %d", i);
        if (i == 0) {
            expect_text(&readings, &run, "x seems to be taken from the butt", "raise the butt end");
            expect_text(&readings, &run, "correct nothing before that is cleared up", "lower the butt end");
        }
        tw_gauged_run_free(&run);
        free(readings.items);
    }
}

/* A job that allows a millimetre is not corrected by a third of one either: the bound is the machine's. */
Test(run, a_wide_tolerance_does_not_widen_what_a_machine_may_be_off_by)
{
    struct truth truth = { .offset = 0.300, .part = 0.002, .chance = 0.002 };
    unsigned long long state = 79;
    struct tw_gaugings readings = invent(&truth, &state);
    struct tw_gauged_run run;

    job.finish.thickness_mm = 1.0;
    run = gauged(&readings);
    cr_expect(eq(int, (int)run.look_first, TW_LOOK_FAR), "%x", run.look_first);
    expect_text(&readings, &run,
                "mm too thick is more than 0.1 mm a face, and no wear, touching off or tilt comes to that",
                "set the z zero");
    tw_gauged_run_free(&run);
    free(readings.items);
}

/* The blank's own thickness everywhere, 1.1 mm too thick at the butt; and the butt's everywhere. Neither is x turned round. */
Test(run, a_taper_that_no_machine_makes_is_not_corrected)
{
    for (int thin = 0; thin < 2; thin++) {
        unsigned long long state = 53;
        struct tw_gaugings readings = invent(&honest, &state);
        struct tw_gauged_run run;

        for (size_t i = 0; i < readings.count; i++)
            readings.items[i].thickness_mm = thin ? 1.4 : 2.5;
        run = gauged(&readings);
        cr_expect(run.look_first & TW_LOOK_TAPER);
        cr_expect(not(run.look_first & TW_LOOK_FROM_BUTT));
        expect_text(&readings, &run, "look whether x counts from the taper start towards the butt",
                    "raise the butt end");
        tw_gauged_run_free(&run);
        free(readings.items);
    }
}

/* 0.1 mm too thick at the end is what a stack of packing can be wrong by: it is corrected, and named because it is beyond 0.04 mm. */
Test(run, a_wrong_stack_is_corrected_and_named)
{
    struct truth truth = { .taper = 0.100, .part = 0.002, .chance = 0.002 };
    unsigned long long state = 59;
    struct tw_gaugings readings = invent(&truth, &state);
    struct tw_gauged_run run = gauged(&readings);

    cr_expect(eq(int, (int)run.look_first, TW_LOOK_TOGETHER), "%x", run.look_first);
    expect_text(&readings, &run, "raise the butt end by 0.0", NULL);
    expect_text(&readings, &run, "as offset, taper and crown together make them", "change nothing");
    tw_gauged_run_free(&run);
    free(readings.items);
}

Test(run, a_crown_that_no_machine_makes_is_told)
{
    struct truth truth = { .crown = 0.500, .part = 0.002, .chance = 0.002 };
    unsigned long long state = 61;
    struct tw_gaugings readings = invent(&truth, &state);
    struct tw_gauged_run run = gauged(&readings);

    cr_expect(run.look_first & TW_LOOK_CROWN);
    cr_expect(not(run.look_first & TW_LOOK_TAPER));
    expect_text(&readings, &run, "look whether y counts from the taper axis", "square the spindle");
    tw_gauged_run_free(&run);
    free(readings.items);
}

/* In each of 300 loads one figure anywhere is misread: a digit of it by one to nine, or the point by a place. What was meant is
 * known: named is that reading and no other, and expected is what was meant, as near as parts and readings scatter. */
Test(run, a_misread_figure_is_named_with_what_was_meant)
{
    unsigned long long state = 67;
    int named = 0, others = 0;

    for (int i = 0; i < 300; i++) {
        struct tw_gaugings readings = invent(&honest, &state);
        size_t which = (size_t)(even(&state) * (double)readings.count);
        double meant_mm = readings.items[which].thickness_mm, step = 1.0 + floor(even(&state) * 9.0);
        struct tw_gauged_run run;

        readings.items[which].thickness_mm =
            i % 3 == 0 ? 10.0 * meant_mm : meant_mm + step * (i % 3 == 1 ? 0.1 : -0.1) + (i % 3 == 1 ? 0.0 : 0.005);
        run = gauged(&readings);
        named += run.doubts[which].off && fabs(run.doubts[which].expected_mm - meant_mm) < 0.015;
        for (size_t k = 0; k < readings.count; k++)
            others += k != which && run.doubts[k].off;
        others += (run.look_first & ~(unsigned)TW_LOOK_READING) != 0;
        cr_expect(not(run.doubts[which].twice));
        tw_gauged_run_free(&run);
        free(readings.items);
    }
    cr_expect(eq(int, named, 300));
    cr_expect(eq(int, others, 0));
}

Test(run, a_misread_figure_withholds_the_advice)
{
    unsigned long long state = 71;
    struct tw_gaugings readings = invent(&honest, &state);
    struct tw_gauged_run run;

    readings.items[8].line = 11;
    readings.items[8].thickness_mm = 24.19;
    run = gauged(&readings);
    expect_text(&readings, &run,
                "line 11: part 2 measures 24.190 mm at 70.0 mm, and its other places and the other parts make 1.8",
                "change nothing");
    expect_text(&readings, &run, "correct nothing before that is cleared up", "set the z zero");
    tw_gauged_run_free(&run);
    /* The place was read again, alike: it is no misreading, but the part is not as its fellows are. */
    readings.items[9] = readings.items[8];
    run = gauged(&readings);
    cr_expect(run.doubts[8].twice && run.doubts[9].twice);
    expect_text(&readings, &run, "It was read twice alike", "correct a figure");
    tw_gauged_run_free(&run);
    free(readings.items);
}

/* In a part alone taper and crown take up what a single place was misread by, and that of others is then doubted: with three places
 * along the middle, and with five of which two are at the edges, the answer does not say that it knows which. */
static void expect_left_open(const double places[][2], size_t count, size_t misread)
{
    struct tw_gauging items[5];
    struct tw_gaugings readings = { .items = items, .count = count, .has_y = true };
    struct tw_gauged_run run;

    for (size_t i = 0; i < count; i++)
        items[i] =
            (struct tw_gauging){ .part = "1",
                                 .station = 1,
                                 .x_mm = places[i][0],
                                 .y_mm = places[i][1],
                                 .thickness_mm = tw_taper_thickness_mm(&job, places[i][0]) + (i == misread ? 0.2 : 0.0),
                                 .line = 2 + (int)i };
    run = gauged(&readings);
    cr_expect(run.look_first & TW_LOOK_READING);
    expect_text(&readings, &run, "or another of its places is misread. Measure all of them again", "the other parts");
    tw_gauged_run_free(&run);
}

Test(run, a_part_alone_with_few_places_leaves_open_which_was_misread)
{
    static const double middle[3][2] = { { 20, 0 }, { 55, 0 }, { 90, 0 } };
    static const double cross[5][2] = { { 15, 0 }, { 55, 0 }, { 55, -7 }, { 55, 7 }, { 95, 0 } };

    expect_left_open(middle, 3, 2);
    expect_left_open(cross, 5, 4);
}

/* One part of twelve is 0.3 mm too thick, as one that was left unfinished: it is named, and none of the others. */
Test(run, a_part_of_its_own_is_named_with_its_line)
{
    unsigned long long state = 73;

    for (size_t part = 0; part < PARTS; part++) {
        struct tw_gaugings readings = invent(&honest, &state);
        struct tw_gauged_run run;

        for (size_t i = 0; i < readings.count; i++) {
            readings.items[i].line = (int)i + 2;
            readings.items[i].thickness_mm += i / PLACES == part ? 0.3 : 0.0;
        }
        run = gauged(&readings);
        for (size_t i = 0; i < PARTS; i++)
            cr_expect(eq(int, run.parts[i].off, i == part), "%zu", i);
        cr_expect(eq(int, (int)run.look_first, TW_LOOK_PART | TW_LOOK_APART));
        cr_expect(lt(dbl, fabs(run.parts[part].level_mm - 0.31), 0.020));
        if (part == 2)
            expect_text(&readings, &run, "line 14 and on: part 3 is 0.3", "change nothing");
        tw_gauged_run_free(&run);
        free(readings.items);
    }
}

static void expect_refused(const struct tw_gauging *reading, const char *wanted)
{
    struct tw_gauging copy = *reading;
    struct tw_gaugings table = { .path = (char[]){ "g.csv" }, .items = &copy, .count = 1 };
    struct tw_gauged_run run;

    tw_findings_free(&findings);
    cr_assert(eq(int, tw_gauge_run(&job, &table, 0.0, 0.02, &run, &findings), TW_BAD_INPUT));
    cr_expect(strcmp(findings.items[0].text, wanted) == 0, "%s", findings.items[0].text);
}

/* The sample's tang is 11.1 mm wide to one side, its fixture has four stations. */
Test(run, places_that_are_not_there_are_refused)
{
    expect_refused(&(struct tw_gauging){ .part = "1", .station = 1, .x_mm = 30, .y_mm = 70, .line = 3 },
                   "g.csv:3: y: 70 mm lies beside the tang, which reaches 11.1 mm from the taper axis at most");
    expect_refused(&(struct tw_gauging){ .part = "1", .station = 7, .x_mm = 30, .line = 2 },
                   "g.csv:2: station: 7, but the fixture has 4");
}

/* Too thick by 0.0254 mm, which is a thousandth of an inch; half of it, 0.0005 in, comes off each face. */
Test(run, a_shop_in_inches_reads_thousandths_of_an_inch)
{
    struct truth truth = { .offset = 0.0254, .part = 0.00002, .chance = 0.00002 };
    unsigned long long state = 9;
    struct tw_gaugings readings = invent(&truth, &state);
    struct tw_gauged_run run;
    struct tw_job inch = job;
    char *text = NULL;

    inch.machine.dialect.inch = true;
    inch.name = (char[]){ "inch" };
    cr_assert(eq(int, tw_gauge_run(&inch, &readings, 0.0001, 0.0, &run, &findings), TW_OK));
    cr_assert(eq(int, tw_gauge_text(&inch, &readings, 0.0, &run, &text, &findings), TW_OK));
    cr_expect(strstr(text, "+1.00 thou  +- ") != NULL, "%s", text);
    cr_expect(strstr(text, "too thick: set the z zero 0.00050 in lower for each face") != NULL, "%s", text);
    free(text);
    tw_gauged_run_free(&run);
    free(readings.items);
}

Test(run, memory_that_runs_out_anywhere_is_told_and_nothing_is_lost)
{
    struct truth truth = { .chance = 0.001 };
    unsigned long long state = 1;
    struct tw_gaugings readings = invent(&truth, &state);

    measure_from_the_butt(&readings); /* so that everything is asked */
    for (long n = 0; n < 80; n++) {
        struct tw_findings told = { 0 };
        struct tw_gauged_run run;
        long before = blocks_in_use;
        enum tw_status status;

        allocations_until_failure = n;
        status = tw_gauge_run(&job, &readings, 0.0, 0.0, &run, &told);
        allocations_until_failure = -1;
        cr_expect(status == TW_OK || status == TW_NO_MEMORY, "allocation %ld", n);
        if (status == TW_OK)
            tw_gauged_run_free(&run);
        tw_findings_free(&told);
        cr_expect(eq(long, blocks_in_use, before), "allocation %ld", n);
    }
    free(readings.items);
}

/* ---- the table ---- */

static const struct wrong {
    const char *text, *start;
} wrong[] = {
    { "", "holds no readings" },
    { "part,x,thickness\n", "holds no readings" },
    { "part,x,thicknes\n1,2 mm,3 mm\n", "\"thicknes\" is no known column; did you mean thickness?" },
    { "part,x\n1,2 mm\n", "the column thickness is missing" },
    { "part,x,x,thickness\n", "the column x is named twice" },
    { "part,x,thickness\n1,2 mm\n", "holds 2 cells, but the heading names 3 columns" },
    { "part,x,thickness\n1,2,3 mm\n", "" },
    { "part,x,thickness\n1,2,0 mm,3 mm\n",
      "holds 4 cells, but the heading names 3 columns; a comma parts cells, so decimals stand behind a point" },
    { "part;x;thickness\n1;2 mm;3 mm;4\n",
      "holds 4 cells, but the heading names 3 columns; put a text that holds the separator in quotes" },
    { "part,x [mn],thickness [mm]\n1,2,3\n", "the column x has the unknown unit \"mn\"; allowed are " },
    { "part [mm],x [mm],thickness [mm]\n1,2,3\n", "the column part has no unit, but here stands \"mm\"" },
    { "part,x [mm],thickness\n1,2,3\n", "\"3\" has no unit" },
    { "part,x,thickness\n,2 mm,3 mm\n", "is empty; write for example 7" },
    { "part,x,thickness\n1,2 mm,300 mm\n", "\"300 mm\" is out of range: 0.1 mm to 50 mm is allowed" },
    { "part,station,x,thickness\n1,12,2 mm,3 mm\n", "\"12\" is no number of a station, 1 to 9" },
};

/* Six lines without units are twelve faults; more than eight of one table nobody reads. */
Test(table, of_many_faults_the_first_are_told_and_how_many_there_are)
{
    char path[] = "/tmp/tangwright-test-XXXXXX";
    FILE *stream = fdopen(mkstemp(path), "w");
    struct tw_findings told = { 0 };
    struct tw_gaugings out;

    cr_assert(stream != NULL);
    fputs("part,x,thickness\n1,2,3\n1,2,3\n1,2,3\n1,2,3\n1,2,3\n1,2,3\n", stream);
    fclose(stream);
    cr_expect(eq(int, tw_gaugings_read(path, &out, &told), TW_BAD_INPUT));
    cr_assert(eq(sz, told.count, 9));
    cr_expect(strstr(told.items[7].text, ":5: thickness: \"3\" has no unit") != NULL, "%s", told.items[7].text);
    cr_expect(strstr(told.items[8].text, "4 faults more like these are not listed") != NULL, "%s", told.items[8].text);
    remove(path);
    tw_findings_free(&told);
}

Test(table, wrong_tables_say_what_is_wrong_with_line_and_column)
{
    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        char path[] = "/tmp/tangwright-test-XXXXXX";
        int file = mkstemp(path);
        FILE *stream = fdopen(file, "w");
        struct tw_findings told = { 0 };
        struct tw_gaugings out;

        cr_assert(stream != NULL);
        fputs(wrong[i].text, stream);
        fclose(stream);
        cr_expect(eq(int, tw_gaugings_read(path, &out, &told), TW_BAD_INPUT), "%s", wrong[i].text);
        cr_assert(ge(sz, told.count, 1), "%s", wrong[i].text);
        cr_expect(strstr(told.items[0].text, wrong[i].start) != NULL, "%s", told.items[0].text);
        remove(path);
        tw_findings_free(&told);
    }
}

/* As in outlines and surveys: a unit in the heading holds for the bare numbers below, a cell may carry its own. 0.1 in is 2.54 mm by
 * the international yard and pound agreement of 1959. */
Test(table, a_unit_in_the_heading_holds_for_bare_numbers)
{
    char path[] = "/tmp/tangwright-test-XXXXXX";
    FILE *stream = fdopen(mkstemp(path), "w");
    struct tw_gaugings out;

    cr_assert(stream != NULL);
    fputs("part, x [mm], y (mm), thickness [in]\n1, 40, -7, 0.1\n1, 1 in, 0, 2.4 mm\n", stream);
    fclose(stream);
    cr_assert(eq(int, tw_gaugings_read(path, &out, NULL), TW_OK));
    remove(path);
    cr_assert(eq(sz, out.count, 2));
    cr_expect(epsilon_eq(dbl, out.items[0].x_mm, 40.0, 1e-12));
    cr_expect(epsilon_eq(dbl, out.items[0].y_mm, -7.0, 1e-12));
    cr_expect(epsilon_eq(dbl, out.items[0].thickness_mm, 2.54, 1e-12));
    cr_expect(epsilon_eq(dbl, out.items[1].x_mm, 25.4, 1e-12));
    cr_expect(epsilon_eq(dbl, out.items[1].thickness_mm, 2.4, 1e-12));
    tw_gaugings_free(&out);
}

/* The verb's status on a table of two parts, the second of them so much thicker. */
static int status_of_verb(double thicker_mm)
{
    const char *program = getenv("TANGWRIGHT");
    char path[] = "/tmp/tangwright-test-XXXXXX", command[400];
    FILE *stream = fdopen(mkstemp(path), "w");
    int status;

    cr_assert(program && stream);
    fprintf(stream, "part, x [mm], thickness [mm]\n1, 40, %.3f\n1, 90, %.3f\n2, 40, %.3f\n2, 90, %.3f\n",
            tw_taper_thickness_mm(&job, 40.0), tw_taper_thickness_mm(&job, 90.0),
            tw_taper_thickness_mm(&job, 40.0) + thicker_mm, tw_taper_thickness_mm(&job, 90.0) + thicker_mm);
    fclose(stream);
    snprintf(command, sizeof command, "'%s' gauge samples/utility-four/job.cfg %s >/dev/null 2>&1", program, path);
    status = system(command);
    remove(path);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

Test(run, the_exit_status_says_whether_to_look_first)
{
    cr_expect(eq(int, status_of_verb(0.010), 0));
    cr_expect(eq(int, status_of_verb(0.300), 1));
}

/* What a run is never corrected by is no correction here either. */
Test(bounds, a_run_and_a_table_alone_have_the_same)
{
    cr_expect(eq(dbl, TW_GAUGE_MOST_MM, TW_CORRECT_MOST_MM));
}
