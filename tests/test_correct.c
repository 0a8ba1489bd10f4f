/* test_correct.c - guards what finished parts do to the next loads: a correction with the wrong sign, one that is made of chance, one
 * that hides what it corrects and is taken back, a loop that swings, a jump that is averaged away, a program that does not do what
 * was decided.
 *
 * The machine here is an invented one with errors of its own, which the library never sees: it leaves faces too high, the more
 * so at some stations, it tapers too little, it drifts with its wheel, and jumps at a dressing; parts and readings scatter. */
#include "tangwright/correct.h"
#include "tangwright/plan.h"
#include "tangwright/program.h"
#include "tangwright/proven.h"
#include "tangwright/roughed.h"
#include "tangwright/verdict.h"
#include "sanitized.h"

#include "check/check.h"
#include "check/noise.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define JOB      "samples/utility-four/job.cfg"
#define UM       1e-3
#define STATIONS 4
#define PLACES   5
#define LOADS    10

/* ---- the machine ---- */

struct machine {
    double offset_mm, taper_mm, station_mm[STATIONS]; /* of the thickness: stiffness, zeros, guideways */
    double drift_mm;                                  /* from load to load: its warming up */
    double dulling_mm;                                /* from load to load, and gone with a dressing */
    double jump_mm;
    int jump_before;  /* load: something else jumps; 0: nothing */
    int dress_before; /* load that is ground after a dressing; 0: none */
    double part_mm, reading_mm;
};

static double error_mm(const struct machine *machine, int load, int station, double x_mm, double length_mm)
{
    double off_mm = machine->offset_mm + machine->station_mm[station - 1] + machine->taper_mm * x_mm / length_mm +
                    machine->drift_mm * load;

    off_mm += machine->dulling_mm *
              (machine->dress_before > 0 && load >= machine->dress_before ? load - machine->dress_before : load - 1);
    return off_mm + (machine->jump_before > 0 && load >= machine->jump_before ? machine->jump_mm : 0.0);
}

struct history {
    struct tw_measured measured[LOADS * STATIONS * PLACES];
    char names[LOADS * STATIONS][8];
    size_t count;
    double left_mm[LOADS + 1];  /* systematic error of each load at mid-length, mean of its stations */
    double worst_mm[LOADS + 1]; /* of any station, at any place */
};

/* Grinds one load with these corrections, and measures it. Each load aims at its own blanks. */
static void grind(const struct tw_job *job, const struct machine *machine, int load, const struct tw_run_totals *totals,
                  unsigned long long *state, struct history *out)
{
    double length_mm = job->taper.length_mm;

    for (int station = 1; station <= STATIONS; station++) {
        char *name = out->names[out->count / PLACES];
        double part_mm = machine->part_mm * normal(state), planned_mm = 2.48 + 0.004 * load;
        /* With z zero on the pad both faces are left where they are: a thicker blank comes out thinner by as much. */
        double ricasso_mm = planned_mm + 10.0 * UM * (even(state) - 0.5), thinner_mm = ricasso_mm - planned_mm;

        snprintf(name, 8, "%d", 10 * load + station);
        for (int i = 0; i < PLACES; i++) {
            double x_mm = length_mm * (0.05 + 0.9 * i / (PLACES - 1)),
                   aim_mm = planned_mm + (1.4 - planned_mm) * x_mm / length_mm;
            double left_mm =
                error_mm(machine, load, station, x_mm, length_mm) - tw_run_total_mm(totals, station, x_mm, length_mm);

            if (i == PLACES / 2)
                out->left_mm[load] += left_mm / STATIONS;
            out->worst_mm[load] = fmax(out->worst_mm[load], fabs(left_mm));
            out->measured[out->count++] =
                (struct tw_measured){ .part = name,
                                      .load = load,
                                      .station = station,
                                      .x_mm = x_mm,
                                      .thickness_mm =
                                          aim_mm + left_mm + part_mm - thinner_mm + machine->reading_mm * normal(state),
                                      .planned_mm = planned_mm,
                                      .butt_mm = 1.4,
                                      .ricasso_mm = ricasso_mm,
                                      .dressings = machine->dress_before > 0 && load >= machine->dress_before,
                                      .totals = *totals };
        }
    }
}

static struct tw_job job;

static void read_job(void)
{
    struct tw_findings findings = { 0 };

    cr_assert(eq(int, tw_job_read(JOB, &job, &findings), TW_OK));
    tw_findings_free(&findings);
}

static void free_job(void)
{
    tw_job_free(&job);
}

TestSuite(correct, .init = read_job, .fini = free_job, .timeout = 120);

#define GAUGE_MM (2.0 * UM)

static struct tw_corrections corrected(const struct history *history, const struct tw_run_totals *now, double gauge_mm,
                                       bool dressed_next)
{
    struct tw_weighing weighing = { .job = &job,
                                    .measured = history->measured,
                                    .count = history->count,
                                    .now = now,
                                    .dressed_next = dressed_next,
                                    .gauge_mm = gauge_mm,
                                    .tolerance_mm = 0.02 };
    struct tw_corrections out;

    cr_assert(eq(int, tw_corrections_make(&weighing, &out, NULL), TW_OK));
    return out;
}

static void run_loop(const struct machine *machine, unsigned long long seed, struct history *out)
{
    struct tw_run_totals totals = { 0 };

    memset(out, 0, sizeof *out);
    for (int load = 1; load <= LOADS; load++) {
        struct tw_corrections corrections;

        grind(&job, machine, load, &totals, &seed, out);
        corrections = corrected(out, &totals, GAUGE_MM, load + 1 == machine->dress_before);
        totals = corrections.totals;
        tw_corrections_free(&corrections);
    }
}

/* ---- the loop ---- */

static const struct machine bad = { .offset_mm = 24.0 * UM,
                                    .taper_mm = -9.0 * UM,
                                    .station_mm = { 0.0, 12.0 * UM, -9.0 * UM, 2.0 * UM },
                                    .drift_mm = 0.5 * UM,
                                    .jump_mm = 15.0 * UM,
                                    .jump_before = 7,
                                    .part_mm = 1.0 * UM,
                                    .reading_mm = 1.0 * UM };

/* What is within the gauge's uncertainty is not advised; beyond it a load is off by what its four parts and their readings scatter, by hand
 * 2 sqrt((1.0^2 + 1.0^2/5)/4) = 1.1 um, and by a load's drift. Of 40 runs, the mean of each load. */
Test(correct, the_error_falls_to_the_gauges_uncertainty_within_two_loads_and_stays)
{
    double allowed_mm = GAUGE_MM + 2.0 * sqrt(1.2 / 4.0) * UM + bad.drift_mm;
    int beyond = 0, judged = 0;

    for (int run = 0; run < 40; run++) {
        struct history history;

        run_loop(&bad, 1000 + (unsigned)run, &history);
        cr_expect(history.left_mm[1] > 20.0 * UM, "the first load is ground as the machine is");
        for (int load = 2; load <= LOADS; load++) {
            if (load == bad.jump_before)
                continue; /* it is seen in its readings */
            judged++;
            beyond += fabs(history.left_mm[load]) > allowed_mm;
        }
    }
    /* Twice a standard uncertainty is left one time in twenty. */
    cr_expect(beyond <= judged / 20, "%d of %d loads", beyond, judged);
}

/* A wheel that dulls by 2 um a load and is dressed before load 6: nothing is left of it beyond the gauge's own uncertainty and what
 * the parts scatter, in the load after the dressing either, for it is known how such a load came out before. By hand, of a mean of
 * four parts: 2 um and 2 sqrt((1.0^2 + 1.0^2/5)/4) = 1.1 um more, and a load's drift until it is known. */
Test(correct, the_wheels_dulling_is_followed_and_a_dressing_is_known)
{
    struct machine dulls = bad;
    double allowed_mm = (2.0 + 1.1) * UM + 2.0 * UM;
    int beyond = 0, judged = 0;

    dulls.jump_before = 0;
    dulls.drift_mm = 0.0;
    dulls.dulling_mm = 2.0 * UM;
    dulls.dress_before = 6;
    for (int run = 0; run < 40; run++) {
        struct history history;

        run_loop(&dulls, 9000 + (unsigned)run, &history);
        for (int load = 2; load <= LOADS; load++, judged++)
            beyond += fabs(history.left_mm[load]) > allowed_mm;
    }
    cr_expect(beyond <= judged / 20, "%d of %d loads", beyond, judged);
}

/* By hand, without chance: loads 2, 4 and 6 um too thick foretell 8 um; dressed before the next, the 2 um of the first. */
Test(correct, a_drift_is_taken_to_the_next_load_and_a_dressing_to_the_first)
{
    struct machine dulls = { .offset_mm = 2.0 * UM, .dulling_mm = 2.0 * UM, .reading_mm = 1e-6 };
    unsigned long long seed = 3;
    struct tw_run_totals totals = { 0 };
    struct tw_corrections next, dressed;
    struct history history = { 0 };

    for (int load = 1; load <= 3; load++)
        grind(&job, &dulls, load, &totals, &seed, &history);
    next = corrected(&history, &totals, 1e-6, false);
    dressed = corrected(&history, &totals, 1e-6, true);
    cr_expect(eq(int, (int)next.offset_of, (int)TW_OFFSET_OF_DRIFT));
    cr_expect(epsilon_eq(dbl, next.totals.offset_mm, 8.0 * UM, 0.11 * UM));
    cr_expect(eq(int, (int)dressed.offset_of, (int)TW_OFFSET_OF_DRESSED));
    cr_expect(epsilon_eq(dbl, dressed.totals.offset_mm, 2.0 * UM, 0.11 * UM));
    tw_corrections_free(&next);
    tw_corrections_free(&dressed);
}

/* Loads between which the wheel was dressed many times, and nothing was measured: each is a level of its own, and as many dressings more
 * are none. With one part a load there is nothing beside the newest to go by: 8 um, by hand. */
Test(correct, dressings_without_a_gauged_load_between_them_are_one)
{
    struct machine steady = { .offset_mm = 8.0 * UM, .reading_mm = 1e-6 };
    unsigned long long seed = 3;
    struct tw_run_totals totals = { 0 };
    struct tw_corrections corrections;
    struct history history = { 0 };
    size_t kept = 0;

    for (int load = 1; load <= 4; load++)
        grind(&job, &steady, load, &totals, &seed, &history);
    for (size_t i = 0; i < history.count; i++)
        if (history.measured[i].station == 1) {
            history.measured[kept] = history.measured[i];
            history.measured[kept].load = 20 * history.measured[i].load;
            history.measured[kept++].dressings = 20 * history.measured[i].load;
        }
    history.count = kept;
    corrections = corrected(&history, &totals, 2.0 * UM, false);
    cr_expect(epsilon_eq(dbl, corrections.totals.offset_mm, 8.0 * UM, 0.11 * UM));
    tw_corrections_free(&corrections);
}

/* Stations take loads to be told from chance; then the worst of them, at its worst place, is a fraction of what it was. */
Test(correct, stations_and_taper_follow)
{
    struct machine steady = bad;
    double first_mm = 0.0, last_mm = 0.0;

    steady.jump_before = 0;
    for (int run = 0; run < 20; run++) {
        struct history history;

        run_loop(&steady, 5000 + (unsigned)run, &history);
        first_mm += history.worst_mm[1] / 20.0;
        last_mm += history.worst_mm[LOADS] / 20.0;
    }
    cr_expect(first_mm > 27.0 * UM);
    cr_expect(last_mm < first_mm / 3.0, "%.4f of %.4f mm", last_mm, first_mm);
}

/* A machine without errors is left alone but where chance looks like one, one time in twenty for each of six terms. */
Test(correct, chance_is_not_corrected)
{
    struct machine good = { .part_mm = 1.5 * UM, .reading_mm = 1.0 * UM };
    int changes = 0;

    for (int run = 0; run < 60; run++) {
        unsigned long long seed = 90 + (unsigned)run;
        struct tw_run_totals totals = { 0 };
        struct tw_corrections corrections;
        struct history history = { 0 };

        for (int load = 1; load <= 3; load++)
            grind(&job, &good, load, &totals, &seed, &history);
        corrections = corrected(&history, &totals, GAUGE_MM, false);
        changes += corrections.changed;
        tw_corrections_free(&corrections);
    }
    cr_expect(changes <= 60 * 6 / 20, "%d of 60 runs were corrected", changes);
}

/* By hand: 8 um too thick at the taper start, 2 um less at the butt, without any chance in it: each face 4 um lower there, the
 * butt 2 um thicker. */
Test(correct, an_exact_error_is_taken_off_exactly)
{
    struct machine exact = { .offset_mm = 8.0 * UM, .taper_mm = -2.0 * UM, .reading_mm = 1e-6 };
    unsigned long long seed = 3;
    struct tw_run_totals totals = { 0 };
    struct tw_corrections corrections;
    struct history history = { 0 };
    char *text;

    grind(&job, &exact, 1, &totals, &seed, &history);
    corrections = corrected(&history, &totals, 1e-6, false);
    cr_expect(epsilon_eq(dbl, corrections.totals.offset_mm, 8.0 * UM, 0.11 * UM));
    cr_expect(epsilon_eq(dbl, corrections.totals.taper_mm, -2.0 * UM, 0.11 * UM));
    cr_expect(epsilon_eq(dbl, tw_run_lower_mm(&job, &corrections.totals, 3), 4.0 * UM, 0.06 * UM));
    cr_assert(eq(int, tw_corrections_text(&job, &corrections, 0.02, &text, NULL), TW_OK));
    cr_expect(strstr(text, "station 3: each face 4.0 um lower") != NULL, "%s", text);
    cr_expect(strstr(text, "butt: planned 2.0 um thicker") != NULL, "%s", text);
    free(text);
    tw_corrections_free(&corrections);
}

Test(correct, what_no_machine_is_off_by_is_not_planned)
{
    struct machine broken = { .offset_mm = 0.25, .part_mm = 1.0 * UM, .reading_mm = 1.0 * UM };
    unsigned long long seed = 3;
    struct tw_run_totals totals = { .offset_mm = 3.0 * UM };
    struct tw_corrections corrections;
    struct history history = { 0 };

    grind(&job, &broken, 1, &totals, &seed, &history);
    corrections = corrected(&history, &totals, GAUGE_MM, false);
    cr_expect(eq(int, corrections.too_large, 1));
    cr_expect(eq(int, corrections.changed, 0));
    cr_expect(eq(dbl, corrections.totals.offset_mm, 3.0 * UM));
    tw_corrections_free(&corrections);
}

/* ---- in the program ---- */

/* Lowest height that a program says while that work offset counts. */
static double lowest_at(const char *text, const char *offset)
{
    const char *at = strstr(text, offset), *end;
    double lowest = HUGE_VAL;

    for (; at; at = strstr(end, offset)) {
        end = strstr(at + 1, " G5");
        if (!end)
            end = text + strlen(text);
        for (const char *z = at; (z = strchr(z, 'Z')) && z < end; z++)
            if (z[-1] == ' ')
                lowest = fmin(lowest, strtod(z + 1, NULL));
    }
    return lowest;
}

/* 9.6 um lower at the second of two stations: that part's heights are lower by it and no others, and the dry-run passes, for it
 * takes the wheel to be as much higher there. On a machine that is not so it would be a gouge, less what the worn wheel leaves, and it says so. */
Test(correct, heights_of_one_station_are_lower_and_the_dry_run_knows_why, ONLY_IN_RELEASE)
{
    static const struct tw_instead two = { "parts", "2" };
    struct tw_findings findings = { 0 };
    struct tw_proven proven;
    struct tw_verdict verdict;
    struct tw_card cards[2];
    struct tw_job pair, lower;
    struct tw_station stations[4];
    char *texts[2];

    cr_assert(eq(int, tw_job_read_with(JOB, &two, 1, &pair, &findings), TW_OK));
    cr_assert(eq(int, tw_proven_make(&pair, &proven, &findings), TW_OK));
    lower = pair;
    memcpy(stations, pair.fixture.stations, sizeof stations);
    stations[1].lower_mm = 9.6 * UM;
    lower.fixture.stations = stations;
    for (size_t i = 0; i < 2; i++) {
        cr_assert(eq(int, tw_program_text(&lower, &proven.plan, i, 0.0, &texts[i], &findings), TW_OK));
        cards[i] = (struct tw_card){ proven.cards[i].name, texts[i], strlen(texts[i]) };
        cr_expect(epsilon_eq(dbl, lowest_at(texts[i], " G54"), lowest_at(proven.texts[i], " G54"), 1e-9));
        cr_expect(epsilon_eq(dbl, lowest_at(texts[i], " G55"), lowest_at(proven.texts[i], " G55") - 0.0096, 1e-9));
        cr_expect(strstr(texts[i], "(PART 2 - HEIGHTS 0.0096 mm LOWER, AS GAUGED)") != NULL);
    }
    cr_assert(eq(int, tw_verdict_make(&lower, cards, 2, 0.0, &verdict, &findings), TW_OK));
    cr_expect(eq(int, verdict.cut, 1));
    tw_verdict_free(&verdict);
    cr_assert(eq(int, tw_verdict_make(&pair, cards, 1, 0.0, &verdict, &findings), TW_OK));
    cr_expect(eq(int, verdict.proofs[0].checks[TW_CHECK_GOUGE].failed, 1));
    cr_expect(eq(int, verdict.proofs[0].checks[TW_CHECK_GOUGE].part, 2));
    tw_verdict_free(&verdict);
    free(texts[0]);
    free(texts[1]);
    tw_proven_free(&proven);
    tw_job_free(&pair);
    tw_findings_free(&findings);
}

/* Loads 1 to 3 by one wheel, 20 um too thick and 4 um more each; load 4 by another, 6 um too thick: what the next load will have is what
 * that one had, within the gauge's 2 um, and neither a jump nor a drift is to be seen in it. */
Test(correct, another_wheel_tells_its_own_offset_alone)
{
    static const struct machine first = {
        .offset_mm = 16.0 * UM, .drift_mm = 4.0 * UM, .part_mm = 1.0 * UM, .reading_mm = 1.0 * UM
    };
    static const struct machine other = { .offset_mm = 6.0 * UM, .part_mm = 1.0 * UM, .reading_mm = 1.0 * UM };
    struct tw_run_totals totals = { 0 };
    struct tw_corrections corrections;
    unsigned long long seed = 5;
    struct history history;

    memset(&history, 0, sizeof history);
    for (int load = 1; load <= 3; load++)
        grind(&job, &first, load, &totals, &seed, &history);
    grind(&job, &other, 4, &totals, &seed, &history);
    for (size_t i = 0; i < history.count; i++)
        history.measured[i].dressings = history.measured[i].wheel = history.measured[i].load == 4;
    for (int dressed_next = 0; dressed_next < 2; dressed_next++) {
        corrections = corrected(&history, &totals, GAUGE_MM, dressed_next == 1);
        cr_expect(epsilon_eq(dbl, corrections.totals.offset_mm, 6.0 * UM, 2.0 * UM), "%.4f",
                  corrections.totals.offset_mm);
        tw_corrections_free(&corrections);
    }
}

/* A zero 0.3 mm too high in load 1, and mended before load 2, which is 12 um too thick: the mean of its four parts scatters by half of
 * 1 um, and what the gauge is off by is not in the readings. */
Test(correct, a_load_farther_off_than_any_machine_counts_until_a_newer_one_is_not)
{
    static const struct machine wrong = { .offset_mm = 300.0 * UM, .part_mm = 1.0 * UM, .reading_mm = 1.0 * UM };
    static const struct machine mended = { .offset_mm = 12.0 * UM, .part_mm = 1.0 * UM, .reading_mm = 1.0 * UM };
    struct tw_run_totals totals = { 0 };
    struct tw_corrections corrections;
    unsigned long long seed = 3;
    struct history history;

    memset(&history, 0, sizeof history);
    grind(&job, &wrong, 1, &totals, &seed, &history);
    corrections = corrected(&history, &totals, GAUGE_MM, false);
    cr_expect(corrections.too_large && !corrections.changed);
    cr_expect(eq(int, corrections.newest, 1));
    tw_corrections_free(&corrections);
    grind(&job, &mended, 2, &totals, &seed, &history);
    corrections = corrected(&history, &totals, GAUGE_MM, false);
    cr_expect(not(corrections.too_large));
    cr_expect(epsilon_eq(dbl, corrections.totals.offset_mm, 12.0 * UM, 2.0 * UM));
    tw_corrections_free(&corrections);
    grind(&job, &wrong, 3, &totals, &seed, &history);
    corrections = corrected(&history, &totals, GAUGE_MM, false);
    cr_expect(corrections.too_large, "and again");
    tw_corrections_free(&corrections);
}

/* Read in a hollow 0.33 mm deep at two of three places: farther off in the mean than any machine. Read now in a hollow, now over a
 * burr: right in the mean, and yet each reading misses the tolerance. */
Test(correct, readings_that_miss_the_tolerance_are_not_passed_over_because_they_scatter)
{
    struct tw_run_totals totals = { 0 };

    for (int burrs = 0; burrs < 2; burrs++) {
        struct tw_measured measured[9];
        char names[3][4];
        struct tw_corrections corrections;
        struct tw_findings findings = { 0 };
        struct tw_weighing weighing = {
            .job = &job, .measured = measured, .count = 9, .now = &totals, .gauge_mm = 0.002, .tolerance_mm = 0.04
        };

        for (int i = 0; i < 9; i++) {
            double x_mm = 20.0 + 30.0 * (i % 3), hollow_mm = burrs ? (i % 2 ? 0.03 : -0.03) : i % 3 > 0 ? 0.33 : 0.0;

            snprintf(names[i / 3], sizeof names[0], "%d", i / 3 + 1);
            measured[i] = (struct tw_measured){ .part = names[i / 3],
                                                .load = 1,
                                                .station = 1 + i / 3,
                                                .x_mm = x_mm,
                                                .planned_mm = job.taper.ricasso_mm,
                                                .butt_mm = job.taper.butt_mm,
                                                .ricasso_mm = job.taper.ricasso_mm };
            measured[i].thickness_mm =
                tw_run_aim_mm(&job, job.taper.ricasso_mm, job.taper.butt_mm, x_mm) - 2.0 * hollow_mm;
        }
        cr_assert(eq(int, tw_corrections_make(&weighing, &corrections, &findings), TW_OK));
        cr_expect(not(corrections.changed));
        cr_expect(eq(int, corrections.too_large, !burrs));
        cr_expect(eq(int, corrections.unexplained, burrs));
        tw_corrections_free(&corrections);
        tw_findings_free(&findings);
    }
}

/* ---- between roughing and finishing ---- */

/* By hand, for a taper from 2.5 to 1.5 mm over 100 mm with two finishing layers of 5 um on each face: at x = 50 roughing leaves
 * 2.0 + 4 * 0.005 = 2.02 mm, at 80 mm 1.72 mm. Part 1 is 6 um and 8 um more, mean 7; part 2, whose ricasso is 3 um thicker, so
 * that z from the pad leaves it 3 um thinner, 1 um and -1 um more, mean 0; part 3, on programs that are 4 um thinner already,
 * 3 um more by one reading. Pooled scatter: sqrt((1 + 1 + 1 + 1) / 2) = 1.414 um; twice that over root two is 2 um. */
Test(roughed, each_part_is_finished_by_what_it_was_too_thick_by_itself)
{
    struct tw_job thin = { .taper = { .length_mm = 100.0, .zero = TW_ZERO_PAD },
                           .finish = { .layers = 2, .infeed_mm = 0.005 },
                           .wheel = { .max_infeed_mm = 0.02 },
                           .machine = { .smallest_step_mm = 0.001, .dialect = { .length_decimals = 4 } } };
    struct tw_gauging items[] = { { .part = "1", .x_mm = 50.0, .thickness_mm = 2.026 },
                                  { .part = "1", .x_mm = 80.0, .thickness_mm = 1.728 },
                                  { .part = "2", .x_mm = 50.0, .thickness_mm = 2.018 },
                                  { .part = "2", .x_mm = 80.0, .thickness_mm = 1.716 },
                                  { .part = "3", .x_mm = 50.0, .thickness_mm = 2.023 } };
    char path[] = "readings.csv";
    struct tw_gaugings readings = { .path = path, .items = items, .count = 5 };
    struct tw_roughed_part parts[] = { { "1", 1, 2.5, 2.5, 1.5, 0.0, 0.0, false, 0.0, 0.0, false, 0.0 },
                                       { "2", 2, 2.503, 2.5, 1.5, 0.0, 0.0, false, 0.0, 0.0, false, 0.0 },
                                       { "3", 3, 2.5, 2.5, 1.5, 0.004, 0.004, false, 0.0, 0.0, false, 0.0 },
                                       { "4", 4, 2.5, 2.5, 1.5, 0.001, 0.001, false, 0.0, 0.0, false, 0.0 } };
    struct tw_roughed_found found[4];
    struct tw_findings findings = { 0 };

    cr_assert(eq(int, tw_roughed_weigh(&thin, &readings, parts, 4, 0.002, found, &findings), TW_OK));
    cr_expect(epsilon_eq(dbl, found[0].off_mm, 0.007, 1e-9));
    cr_expect(epsilon_eq(dbl, found[0].sure_mm, 0.002, 1e-9));
    cr_expect(found[0].corrected && fabs(found[0].value_mm - 0.007) < 1e-9);
    cr_expect(epsilon_eq(dbl, found[0].again_mm, 0.007, 1e-9), "more than 2 um: roughed again");
    cr_expect(epsilon_eq(dbl, found[1].off_mm, 0.0, 1e-9));
    cr_expect(found[1].corrected == false && found[1].value_mm == 0.0 && found[1].again_mm == 0.0);
    cr_expect(found[2].corrected && fabs(found[2].value_mm - 0.007) < 1e-9, "3 um more than the 4 um it has already");
    cr_expect(found[3].readings == 0 && found[3].value_mm == 0.001, "what was not measured stays");
    /* Twice the gauge's 2 um would hide it; and 0.3 mm is no machine's error. */
    cr_assert(eq(int, tw_roughed_weigh(&thin, &readings, parts, 4, 0.008, found, &findings), TW_OK));
    cr_expect(not(found[0].corrected));
    items[4].thickness_mm = 2.32;
    cr_assert(eq(int, tw_roughed_weigh(&thin, &readings, parts, 4, 0.002, found, &findings), TW_OK));
    cr_expect(found[2].stop != TW_ROUGHED_GOES_ON && found[2].value_mm == 0.004);
    /* At 2 mm roughing would leave 2.5 mm: (0.02 + 0.01) / 0.01 = 3 mm is the first place that tells. */
    items[4].x_mm = 2.0;
    cr_expect(eq(int, tw_roughed_weigh(&thin, &readings, parts, 4, 0.002, found, &findings), TW_BAD_INPUT));
    cr_assert(eq(sz, findings.count, 1));
    cr_expect(strstr(findings.items[0].text,
                     "x: at 2 mm roughing leaves the blank as it is; measure part 3 from 3 mm on") != NULL,
              "%s", findings.items[0].text);
    tw_findings_free(&findings);
}

/* Grinding takes steel off and puts none back, which is all of the physics here. By hand, at x = 50 mm roughing leaves 2.02 mm (above). A
 * wheel that stands e too high on both faces together leaves a part e - c too thick where its programs are c thinner, and a part that
 * is thinner already stays as it is; so the right c is e, whatever was read before, and however often it is measured. */
Test(roughed, readings_are_held_against_the_plane_by_which_the_part_was_last_cut)
{
    static const struct {
        double value_mm, written_mm;
        bool told;
        double cut_mm, was_off_mm, read_mm, right_mm;
        bool uncut;
    } cases[] = {
        { 0.0, 0.0, false, 0.0, 0.0, 0.07, 0.07, false },     /* roughed once, e = 70 um */
        { 0.07, 0.0, true, 0.0, 0.07, 0.074, 0.074, false },  /* measured again before anything is planned with it */
        { 0.07, 0.07, true, 0.0, 0.07, 0.0, 0.07, false },    /* roughed again, 70 um lower */
        { 0.07, 0.07, true, 0.07, 0.0, 0.004, 0.074, false }, /* measured once more, a little more is read */
        { 0.07, 0.07, true, 0.0, 0.07, 0.071, 0.07, true },   /* planned, and measured without roughing again */
        { -0.012, 0.0, true, 0.0, -0.012, -0.016, -0.016, false },    /* e = -16 um: the wheel stood too low */
        { -0.012, -0.012, true, 0.0, -0.012, -0.012, -0.012, false }, /* roughed again, higher: nothing was cut */
        { -0.012, -0.012, true, 0.0, -0.012, -0.013, -0.012, false }, /* within what the gauge is uncertain by */
        { -0.012, -0.012, true, 0.0, -0.012, 0.0, 0.0,
          false }, /* the reading before was wrong: it was right as it was cut */
        { 0.012, 0.012, true, 0.0, 0.012, 0.004, 0.016, false }, /* the machine gives way: 4 of 12 um stay */
        { 0.0283, 0.0283, true, 0.0223, 0.006, 0.0027, 0.031,
          false }, /* the spindle cooled down by 1.35 um a face since: 3.3 of 6 um came off */
    };

    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct tw_job thin = { .taper = { .length_mm = 100.0, .zero = TW_ZERO_PAD },
                               .finish = { .layers = 2, .infeed_mm = 0.005, .thickness_mm = 0.04 },
                               .wheel = { .max_infeed_mm = 0.02 },
                               .machine = { .smallest_step_mm = 0.001, .dialect = { .length_decimals = 4 } } };
        struct tw_gauging item = { .part = "1", .x_mm = 50.0, .thickness_mm = 2.02 + cases[i].read_mm };
        char path[] = "readings.csv";
        struct tw_gaugings readings = { .path = path, .items = &item, .count = 1 };
        struct tw_roughed_part part = { .number = "1",
                                        .station = 1,
                                        .ricasso_mm = 2.5,
                                        .planned_mm = 2.5,
                                        .butt_mm = 1.5,
                                        .value_mm = cases[i].value_mm,
                                        .written_mm = cases[i].written_mm,
                                        .told = cases[i].told,
                                        .cut_mm = cases[i].cut_mm,
                                        .was_off_mm = cases[i].was_off_mm };
        struct tw_roughed_found found;
        struct tw_findings findings = { 0 };

        cr_assert(eq(int, tw_roughed_weigh(&thin, &readings, &part, 1, 0.002, &found, &findings), TW_OK));
        cr_expect(epsilon_eq(dbl, found.value_mm, cases[i].right_mm, 1e-9), "case %zu: %.4f", i, found.value_mm);
        cr_expect(eq(int, found.uncut, cases[i].uncut), "case %zu", i);
        tw_findings_free(&findings);
    }
}

/* ---- a shop that measures between roughing and finishing ---- */

/* What a wheel that stands `error_mm` too high on both faces together leaves too thick: by roughing, and by finishing with what roughing told.
 * Grinding takes off and puts nothing back; a finishing that stands higher than what roughing left takes nothing. */
struct ground {
    double roughed_mm, told_mm,
        finished_mm; /* over the finished thickness and stock; what is corrected; over the finished thickness */
};

static struct ground grind_apart(double stock_mm, double error_mm, double carried_mm, bool measured)
{
    struct ground out = { .roughed_mm = error_mm - carried_mm };

    out.told_mm = measured && fabs(out.roughed_mm) > GAUGE_MM ? out.roughed_mm : 0.0;
    /* Roughed again by lower programs, it is as it should be. */
    out.roughed_mm -= fmax(0.0, out.told_mm);
    out.finished_mm = fmin(out.roughed_mm + stock_mm, error_mm - carried_mm - out.told_mm);
    return out;
}

#define APART_LOADS 6
struct apart {
    struct tw_measured measured[APART_LOADS * STATIONS];
    char names[APART_LOADS * STATIONS][12];
    struct ground ground[APART_LOADS * STATIONS];
    struct tw_run_totals totals[APART_LOADS + 1]; /* that each load is planned with; the last: what comes next */
    bool bounded;
};

/* Loads whose wheel stands so much too high, in um of the thickness; stations 1 um apart. */
static void run_apart(const double *error_um, int loads, bool measured, struct apart *out)
{
    struct tw_weighing weighing = {
        .job = &job, .measured = out->measured, .apart = true, .gauge_mm = GAUGE_MM, .tolerance_mm = 0.02
    };
    double stock_mm = 2.0 * tw_plan_finish_stock_mm(&job);

    memset(out, 0, sizeof *out);
    for (int load = 0; load < loads; load++) {
        struct tw_corrections corrections;

        for (int station = 1; station <= STATIONS; station++) {
            size_t at = weighing.count++;
            double error_mm = (error_um[load] + station - 2.5) * UM,
                   carried_mm = tw_run_total_mm(&out->totals[load], station, 50.0, job.taper.length_mm);

            out->ground[at] = grind_apart(stock_mm, error_mm, carried_mm, measured);
            snprintf(out->names[at], sizeof *out->names, "%d", (int)at + 1);
            out->measured[at] =
                (struct tw_measured){ .part = out->names[at],
                                      .load = load + 1,
                                      .station = station,
                                      .x_mm = 50.0,
                                      .thickness_mm = tw_run_aim_mm(&job, 2.5, 1.4, 50.0) + out->ground[at].finished_mm,
                                      .planned_mm = 2.5,
                                      .butt_mm = 1.4,
                                      .ricasso_mm = 2.5,
                                      .totals = out->totals[load],
                                      .roughed = measured,
                                      .left_told = measured,
                                      .left_mm = out->totals[load].roughing_mm + out->ground[at].told_mm };
        }
        weighing.now = &out->totals[load];
        cr_assert(eq(int, tw_corrections_make(&weighing, &corrections, NULL), TW_OK));
        out->totals[load + 1] = corrections.totals;
        out->bounded = corrections.bounded;
        tw_corrections_free(&corrections);
    }
}

static double lowest_roughed_mm(const struct apart *apart, int loads)
{
    double lowest_mm = HUGE_VAL;

    for (int i = 0; i < loads * STATIONS; i++)
        lowest_mm = fmin(lowest_mm, apart->ground[i].roughed_mm);
    return lowest_mm;
}

/* Touched off 70 um too high before the first load alone: the finished parts are right, and nothing is carried to the second. */
Test(correct, an_error_of_one_load_stays_with_it)
{
    static const double error_um[] = { 70.0, 0.0, 0.0, 0.0 };
    struct apart apart;

    run_apart(error_um, 4, true, &apart);
    for (int load = 1; load <= 4; load++)
        cr_expect(epsilon_eq(dbl, tw_run_lower_mm(&job, &apart.totals[load], 2), 0.0, GAUGE_MM), "load %d", load);
    cr_expect(lowest_roughed_mm(&apart, 4) > -4.0 * UM);
}

/* 60 to 88 um in every load, and right in the last: half of the least would be 30 um, and of 20 um that finishing takes off both faces no
 * more than 10 um are carried; so the last load's roughing ends above the finished face (20 um below where it should), and all
 * finished parts are within what the gauge is uncertain by. A shop that does not measure learns in its first load as much, and it all once
 * a second load agrees. */
Test(correct, what_roughing_leaves_in_every_load_is_carried_within_bounds)
{
    static const double error_um[] = { 60.0, 88.0, 75.0, 70.0, 65.0, 0.0 };
    double stock_mm = 2.0 * tw_plan_finish_stock_mm(&job);
    struct apart apart;

    cr_assert(epsilon_eq(dbl, stock_mm, 20.0 * UM, 1e-9));
    run_apart(error_um, 5, true, &apart);
    cr_expect(eq(dbl, apart.totals[1].roughing_mm, 0.0), "one load is none");
    cr_expect(epsilon_eq(dbl, apart.totals[5].offset_mm + apart.totals[5].roughing_mm, stock_mm / 2.0, 2.5 * UM));
    cr_expect(apart.bounded);
    run_apart(error_um, 6, true, &apart);
    for (int i = 0; i < 6 * STATIONS; i++)
        cr_expect(fabs(apart.ground[i].finished_mm) <= GAUGE_MM + 1e-9, "part %d: %.4f", i,
                  apart.ground[i].finished_mm);
    cr_expect(lowest_roughed_mm(&apart, 6) > -stock_mm, "%.4f", lowest_roughed_mm(&apart, 6));
    run_apart(error_um, 2, false, &apart);
    cr_expect(epsilon_eq(dbl, apart.totals[1].offset_mm, stock_mm / 2.0, 2.5 * UM));
    cr_expect(apart.totals[2].offset_mm > 50.0 * UM);
}

/* No load was measured while roughed, and the first one was touched off 70 um too high; the second is as it should be. By hand: without a bound its
 * roughing would end 70 um less the 20 um of finishing under the finished face. Half of the 20 um is planned lower, so it ends above it, and the second
 * load comes out 10 um too thin and no more. Whoever measures the second load while roughed finds that. And then what is planned lower is the least
 * of both, which is nothing. */
Test(correct, an_error_of_the_first_load_alone_stays_bounded_without_roughed_parts)
{
    static const double error_um[] = { 70.0, 0.0, 0.0 };
    double stock_mm = 2.0 * tw_plan_finish_stock_mm(&job);
    struct apart apart;

    run_apart(error_um, 2, false, &apart);
    cr_expect(apart.totals[1].offset_mm <= stock_mm / 2.0 + 1e-9);
    cr_expect(lowest_roughed_mm(&apart, 2) > -stock_mm, "%.4f", lowest_roughed_mm(&apart, 2));
    run_apart(error_um, 3, false, &apart);
    for (int station = 1; station <= STATIONS; station++)
        cr_expect(2.0 * tw_run_lower_mm(&job, &apart.totals[2], station) <= stock_mm / 2.0 + 2.0 * UM);
    cr_expect(lowest_roughed_mm(&apart, 3) > -stock_mm);
}

/* Closed forms, from where the faces lie. The pad is height 0, the key's slope of one face m = (T - B) / 2L, the finishing layers leave s
 * on it; the load is planned for T, this blank measures t.
 * z from the pad, one face: it ends at T - m x + s over the pad, and the other lies on the pad: thickness T - m x + s, whatever t.
 * z from the ricasso, one face: it ends m x - s under the blank's own upper face: t - m x + s.
 * z from the pad, two faces: side A ends at T - m x + s over the pad, so t - T + m x - s came off it, and side B loses as much
 * again: t - 2 (t - T + m x - s) = 2 T - t - 2 (m x - s). From the ricasso: t - 2 (m x - s).
 * Here T = 2.5, t = 2.53, B = 1.5, L = 100, s = 0.01 mm, at x = 50 and 80 mm; and with an allowance of 0.1 mm for the hand, which
 * stays on every face that is ground as s does. */
Test(roughed, one_face_falls_by_its_own_slope_and_from_the_pad_the_blank_is_not_in_it)
{
    static const struct {
        bool one_face;
        enum tw_height_zero zero;
        double allowance_mm, at_50_mm, at_80_mm;
    } cases[] = {
        { true, TW_ZERO_PAD, 0.0, 2.26, 2.11 },  { true, TW_ZERO_RICASSO, 0.0, 2.29, 2.14 },
        { false, TW_ZERO_PAD, 0.0, 1.99, 1.69 }, { false, TW_ZERO_RICASSO, 0.0, 2.05, 1.75 },
        { true, TW_ZERO_PAD, 0.1, 2.36, 2.21 },  { false, TW_ZERO_PAD, 0.1, 2.19, 1.89 },
    };

    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct tw_job one = {
            .taper = { .length_mm = 100.0, .zero = cases[i].zero },
            .one_face = cases[i].one_face,
            .finish = { .layers = 2, .infeed_mm = 0.005, .allowance_mm = cases[i].allowance_mm, .thickness_mm = 0.04 },
            .wheel = { .max_infeed_mm = 0.02 },
            .machine = { .smallest_step_mm = 0.001, .dialect = { .length_decimals = 4 } }
        };
        struct tw_gauging items[] = { { .part = "1", .x_mm = 50.0, .thickness_mm = cases[i].at_50_mm },
                                      { .part = "1", .x_mm = 80.0, .thickness_mm = cases[i].at_80_mm + 0.004 } };
        char path[] = "readings.csv";
        struct tw_gaugings readings = { .path = path, .items = items, .count = 2 };
        struct tw_roughed_part part = { "1", 1, 2.53, 2.5, 1.5, 0.0, 0.0, false, 0.0, 0.0, false, 0.0 };
        struct tw_roughed_found found;
        struct tw_findings findings = { 0 };

        cr_assert(eq(int, tw_roughed_weigh(&one, &readings, &part, 1, 0.001, &found, &findings), TW_OK));
        cr_expect(epsilon_eq(dbl, found.off_mm, 0.002, 1e-9), "case %zu: %.4f", i, found.off_mm);
        cr_expect(eq(int, found.stop, TW_ROUGHED_GOES_ON), "case %zu", i);
        tw_findings_free(&findings);
    }
}

/* ---- on a rest that rises ---- */

/* At one place of a blank of thickness t, by what has come off either face. Its ricasso lies on the pad; under its tang stands a rest, level
 * before a face is ground, and then of height m x, as the finished face lies over the pad. A face from which less came off than that
 * is held up by the rest, and all of the part with it. The wheel ends at a height over the pad, and puts nothing back. That is all of the
 * geometry here. */
struct on_rest {
    double ricasso_mm, off_a_mm, off_b_mm;
};

static void end_at(double height_mm, double lifted_mm, double ricasso_mm, double *off_mm)
{
    *off_mm = fmax(*off_mm, ricasso_mm + lifted_mm - height_mm);
}

static void grind_on_rest(struct on_rest *part, double height_mm, double rest_mm)
{
    double under_a_mm = part->off_b_mm > 0.0 ? fmax(0.0, rest_mm - part->off_b_mm) : 0.0;

    end_at(height_mm, under_a_mm, part->ricasso_mm, &part->off_a_mm);
    end_at(height_mm, fmax(0.0, rest_mm - part->off_a_mm), part->ricasso_mm, &part->off_b_mm);
}

/* A fixture as `tangwright fixture` designs it: a rest of its own for side B, 40 to 100 mm behind the taper start. */
static struct tw_point rest_corners[4] = { { 40.0, -5.0 }, { 100.0, -5.0 }, { 100.0, 5.0 }, { 40.0, 5.0 } };
static struct tw_keep_out rising_rest = {
    .plan = { rest_corners, 4 }, .kind = TW_KEEP_OUT_PAD, .sides = TW_IN_PLACE_B, .top_mm = 0.2, .rise_mm = 0.3
};

/* A taper from 2.5 to 1.5 mm over 100 mm, at 50 mm: m x = 0.25 mm, and 10 um a face for finishing. Whatever the wheel stood too high by, and whether
 * the blank is thicker or thinner, finishing by what its roughed part told leaves T - 2 m x, and a thicker blank as much thinner. */
Test(roughed, on_a_rest_that_rises_a_part_comes_out_as_thick_as_it_should)
{
    static const double errors_mm[] = { -0.006, 0.0, 0.004, 0.01, 0.04 }, overs_mm[] = { -0.008, 0.0, 0.004, 0.025 };
    struct tw_job on_rise = { .taper = { .length_mm = 100.0, .zero = TW_ZERO_PAD },
                              .finish = { .layers = 2, .infeed_mm = 0.005, .thickness_mm = 0.04 },
                              .fixture = { .keep_outs = &rising_rest, .keep_out_count = 1 },
                              .wheel = { .max_infeed_mm = 0.02 },
                              .machine = { .smallest_step_mm = 0.001, .dialect = { .length_decimals = 4 } } };
    char path[] = "readings.csv";

    for (size_t i = 0; i < sizeof errors_mm / sizeof *errors_mm * 4; i++) {
        double error_mm = errors_mm[i / 4], over_mm = overs_mm[i % 4], height_mm = 2.5 - 0.25 + error_mm;
        struct on_rest part = { .ricasso_mm = 2.5 + over_mm };
        struct tw_gauging item = { .part = "1", .x_mm = 50.0 };
        struct tw_gaugings readings = { .path = path, .items = &item, .count = 1 };
        struct tw_roughed_part told = { .number = "1", .station = 1, .planned_mm = 2.5, .butt_mm = 1.5 };
        struct tw_roughed_found found;
        struct tw_findings findings = { 0 };

        told.ricasso_mm = part.ricasso_mm;
        grind_on_rest(&part, height_mm + 0.01, 0.25);
        item.thickness_mm = part.ricasso_mm - part.off_a_mm - part.off_b_mm;
        cr_assert(eq(int, tw_roughed_weigh(&on_rise, &readings, &told, 1, 0.0001, &found, &findings), TW_OK));
        cr_expect(eq(int, found.stop, TW_ROUGHED_GOES_ON));
        cr_expect(epsilon_eq(dbl, found.value_mm, 2.0 * error_mm, 1e-9), "%.3f mm too high, %.3f mm thicker: %.4f mm",
                  error_mm, over_mm, found.value_mm);
        grind_on_rest(&part, height_mm - found.value_mm / 2.0 + 0.01, 0.25);
        grind_on_rest(&part, height_mm - found.value_mm / 2.0, 0.25);
        cr_expect(epsilon_eq(dbl, part.ricasso_mm - part.off_a_mm - part.off_b_mm, 2.0 - fmax(0.0, over_mm), 1e-9),
                  "%.3f mm too high, %.3f mm thicker: %.4f mm", error_mm, over_mm,
                  part.ricasso_mm - part.off_a_mm - part.off_b_mm);
        tw_findings_free(&findings);
    }
}

/* Each side in one program: by a wheel that stands 12 um too high on each face two loads come out 12 um too thick and not 24, for the second side
 * loses again what the first was left too high; and of blanks 8 um thinner than planned as much as of the others. The next load is to be 12 um a
 * face lower all the same. */
Test(correct, on_a_rest_that_rises_finished_parts_tell_of_the_wheel_and_not_of_the_rest)
{
    struct tw_measured measured[16];
    struct tw_run_totals totals = { 0 };
    struct tw_corrections corrections;
    struct tw_job on_rise = job;
    char names[8][4];
    struct tw_findings findings = { 0 };
    struct tw_weighing weighing = {
        .job = &on_rise, .measured = measured, .count = 16, .now = &totals, .gauge_mm = 0.002, .tolerance_mm = 0.04
    };

    on_rise.taper.ricasso_mm = 2.5;
    on_rise.taper.butt_mm = 1.5;
    on_rise.taper.length_mm = 100.0;
    on_rise.taper.zero = TW_ZERO_PAD;
    on_rise.fixture.keep_outs = &rising_rest;
    on_rise.fixture.keep_out_count = 1;
    for (int i = 0; i < 16; i++) {
        double x_mm = 50.0 + 40.0 * (i % 2), chance_mm = 0.0003 * (i / 2 % 2 == 0 ? 1.0 : -1.0);
        struct on_rest part = { .ricasso_mm = i / 2 % 4 == 3 ? 2.492 : 2.5 };

        grind_on_rest(&part, 2.5 - 0.005 * x_mm + 0.012, 0.005 * x_mm);
        snprintf(names[i / 2], sizeof names[0], "%d", i / 2 + 1);
        measured[i] = (struct tw_measured){ .part = names[i / 2],
                                            .load = 1 + i / 8,
                                            .station = 1 + i / 2 % 4,
                                            .x_mm = x_mm,
                                            .thickness_mm = part.ricasso_mm - part.off_a_mm - part.off_b_mm + chance_mm,
                                            .planned_mm = 2.5,
                                            .butt_mm = 1.5,
                                            .ricasso_mm = part.ricasso_mm };
        cr_expect(epsilon_eq(dbl, measured[i].thickness_mm - (2.5 - 0.01 * x_mm), 0.012, 0.0004));
    }
    cr_assert(eq(int, tw_corrections_make(&weighing, &corrections, &findings), TW_OK));
    cr_expect(not(corrections.too_large));
    for (int station = 1; station <= 4; station++)
        cr_expect(epsilon_eq(dbl, tw_run_lower_mm(&on_rise, &corrections.totals, station), 0.012, 0.001), "%d: %.4f",
                  station, tw_run_lower_mm(&on_rise, &corrections.totals, station));
    tw_corrections_free(&corrections);
    tw_findings_free(&findings);
}

/* One face, z from the pad: it lies at T - m x, with T = 2.5 mm and m = 0.005; so at 20, 50 and 80 mm the part measures 2.4, 2.25 and
 * 2.1 mm whatever its blank was, here 2.53 and 2.47 mm. Read 12 um more at each, and 6 um more still at 80 mm than at 20 mm: the face
 * has to go 0.0001 mm a mm steeper, 10 um over the 100 mm of the taper, and as the key counts two faces it says 20 um less. */
Test(correct, one_face_is_weighed_against_its_own_slope_and_its_key_counts_two)
{
    struct tw_measured measured[24];
    struct tw_run_totals totals = { 0 };
    struct tw_corrections corrections;
    struct tw_job one = job;
    char names[8][4];
    struct tw_findings findings = { 0 };
    struct tw_weighing weighing = {
        .job = &one, .measured = measured, .count = 24, .now = &totals, .gauge_mm = 0.002, .tolerance_mm = 0.02
    };

    one.one_face = true;
    one.taper.ricasso_mm = 2.5;
    one.taper.butt_mm = 1.5;
    one.taper.length_mm = 100.0;
    one.taper.zero = TW_ZERO_PAD;
    for (int i = 0; i < 24; i++) {
        double x_mm = 20.0 + 30.0 * (i % 3), chance_mm = 0.0003 * (i % 2 == 0 ? 1.0 : -1.0);

        snprintf(names[i / 3], sizeof names[0], "%d", i / 3 + 1);
        measured[i] =
            (struct tw_measured){ .part = names[i / 3],
                                  .load = 1 + i / 12,
                                  .station = 1 + i / 3 % 4,
                                  .x_mm = x_mm,
                                  .thickness_mm = 2.5 - 0.005 * x_mm + 0.012 + 0.0001 * (x_mm - 20.0) + chance_mm,
                                  .planned_mm = 2.5,
                                  .butt_mm = 1.5,
                                  .ricasso_mm = i / 3 % 2 == 0 ? 2.53 : 2.47 };
    }
    cr_assert(eq(int, tw_corrections_make(&weighing, &corrections, &findings), TW_OK));
    cr_expect(not(corrections.too_large));
    cr_expect(epsilon_eq(dbl, corrections.totals.taper_mm, 0.010, 0.0006), "%.4f", corrections.totals.taper_mm);
    cr_expect(epsilon_eq(dbl, corrections.totals.offset_mm, 0.010, 0.0006), "%.4f", corrections.totals.offset_mm);
    for (int i = 0; i < TW_RUN_STATIONS_MOST; i++)
        cr_expect(epsilon_eq(dbl, corrections.totals.station_mm[i], 0.0, 0.0006));
    cr_expect(
        epsilon_eq(dbl, tw_run_butt_lower_mm(&one, &corrections.totals), 2.0 * corrections.totals.taper_mm, 1e-12));
    tw_corrections_free(&corrections);
    tw_findings_free(&findings);
}

/* The same taper and finishing, and blanks of 2.5 mm: at x = 50 mm roughing takes (2.5 - 2.02) / 2 = 0.24 mm off a side, at 80 mm
 * (2.5 - 1.72) / 2 = 0.39 mm, in the mean 0.315 mm; a finished part may be 0.04 mm thinner than 2.0 mm at 50 mm. So with side B left
 * out roughing leaves 2.26 and 2.11 mm, with neither ground 2.5 mm twice; 0.25 mm more at both places is the slope of two ground
 * sides, and no machine's error; 0.08 mm less is 1.94 mm at 50 mm, 0.02 mm less than the finished part may be. */
static const struct tw_job stopped_job = { .taper = { .length_mm = 100.0, .zero = TW_ZERO_PAD },
                                           .finish = { .layers = 2, .infeed_mm = 0.005, .thickness_mm = 0.04 },
                                           .wheel = { .max_infeed_mm = 0.02 },
                                           .machine = { .smallest_step_mm = 0.001,
                                                        .dialect = { .length_decimals = 4 } } };

/* Part 1 of every load goes on, 6 um and 8 um too thick; part 2 is read so much over what roughing should leave. */
static enum tw_status weigh_two(double at_50_mm, double at_80_mm, struct tw_roughed_found found[2],
                                struct tw_findings *findings)
{
    struct tw_gauging items[] = { { .line = 2, .part = "1", .x_mm = 50.0, .thickness_mm = 2.026 },
                                  { .line = 3, .part = "1", .x_mm = 80.0, .thickness_mm = 1.728 },
                                  { .line = 4, .part = "2", .x_mm = 50.0, .thickness_mm = 2.02 + at_50_mm },
                                  { .line = 5, .part = "2", .x_mm = 80.0, .thickness_mm = 1.72 + at_80_mm } };
    char path[] = "readings.csv";
    struct tw_gaugings readings = { .path = path, .items = items, .count = 4 };
    struct tw_roughed_part parts[] = { { "1", 1, 2.5, 2.5, 1.5, 0.0, 0.0, false, 0.0, 0.0, false, 0.0 },
                                       { "2", 2, 2.5, 2.5, 1.5, 0.0, 0.0, false, 0.0, 0.0, false, 0.0 } };

    return tw_roughed_weigh(&stopped_job, &readings, parts, 2, 0.002, found, findings);
}

Test(roughed, a_part_that_roughing_cannot_have_left_so_stops_and_is_left_out_of_the_others)
{
    static const struct {
        double at_50_mm, at_80_mm;
        enum tw_roughed_stop stop;
    } cases[] = {
        { 0.24, 0.39, TW_ROUGHED_SIDE_LEFT },   { 0.27, 0.42, TW_ROUGHED_SIDE_LEFT },
        { 0.48, 0.78, TW_ROUGHED_NOT_AT_ALL },  { 0.25, 0.25, TW_ROUGHED_UNEXPLAINED },
        { 0.02, 0.24, TW_ROUGHED_UNEXPLAINED }, { -0.08, -0.08, TW_ROUGHED_TOO_THIN },
        { -0.02, -0.065, TW_ROUGHED_TOO_THIN }, { 0.02, 0.1, TW_ROUGHED_UNEXPLAINED },
        { 0.06, 0.06, TW_ROUGHED_GOES_ON },     { -0.05, -0.05, TW_ROUGHED_GOES_ON },
        { 0.0, 0.0, TW_ROUGHED_GOES_ON },
    };
    struct tw_findings findings = { 0 };

    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct tw_roughed_found found[2];
        bool goes_on = cases[i].stop == TW_ROUGHED_GOES_ON;

        cr_assert(eq(int, weigh_two(cases[i].at_50_mm, cases[i].at_80_mm, found, &findings), TW_OK), "case %zu", i);
        cr_expect(eq(int, found[1].stop, cases[i].stop), "case %zu", i);
        cr_expect(found[0].corrected && fabs(found[0].value_mm - 0.007) < 1e-9, "case %zu", i);
        cr_expect(goes_on || (!found[1].corrected && found[1].value_mm == 0.0), "case %zu", i);
        /* By its own two readings: 1.414 um, twice that over root two. */
        cr_expect(goes_on || fabs(found[0].sure_mm - 0.002) < 1e-9, "case %zu", i);
    }
    tw_findings_free(&findings);
}

Test(roughed, what_was_left_out_and_what_is_missing_are_told)
{
    struct tw_findings findings = { 0 };
    struct tw_roughed_found found[2];

    cr_assert(eq(int, weigh_two(0.24, 0.39, found, &findings), TW_OK));
    cr_expect(epsilon_eq(dbl, found[1].left_mm, 0.315, 1e-9));
    cr_assert(eq(int, weigh_two(-0.08, -0.07, found, &findings), TW_OK));
    cr_expect(epsilon_eq(dbl, found[1].under_mm, 0.02, 1e-9));
    cr_expect(epsilon_eq(dbl, found[1].under_x_mm, 50.0, 1e-9));
    tw_findings_free(&findings);
}

Test(roughed, readings_that_no_grinding_leaves_are_refused_by_line)
{
    struct tw_findings findings = { 0 };
    struct tw_roughed_found found[2];

    cr_expect(eq(int, weigh_two(18.18, 0.0, found, &findings), TW_BAD_INPUT));
    cr_expect(eq(int, weigh_two(0.0, -1.548, found, &findings), TW_BAD_INPUT));
    cr_assert(eq(sz, findings.count, 2));
    cr_expect(strstr(findings.items[0].text, "readings.csv:4: thickness: 20.2 mm is more than blank 2 measured") !=
                  NULL,
              "%s", findings.items[0].text);
    cr_expect(strstr(findings.items[1].text, "readings.csv:5: thickness: 0.172 mm is less than half of the 1.720 mm") !=
                  NULL,
              "%s", findings.items[1].text);
    tw_findings_free(&findings);
}

Test(roughed, one_part_stops_its_load_and_thin_ones_where_no_other_is_left)
{
    static const enum tw_roughed_stop going[] = { TW_ROUGHED_GOES_ON, TW_ROUGHED_TOO_THIN },
                                      left[] = { TW_ROUGHED_GOES_ON, TW_ROUGHED_SIDE_LEFT },
                                      thin[] = { TW_ROUGHED_TOO_THIN, TW_ROUGHED_TOO_THIN };

    cr_expect(not(tw_roughed_stops_load(going, 2)));
    cr_expect(tw_roughed_stops_load(left, 2));
    cr_expect(tw_roughed_stops_load(thin, 2));
    cr_expect(not(tw_roughed_stops_load(NULL, 0)));
    for (int stop = 0; stop < TW_ROUGHED_STOP_COUNT; stop++)
        cr_expect(eq(int, tw_roughed_stop_named(tw_roughed_stop_name((enum tw_roughed_stop)stop)), stop));
    cr_expect(eq(int, tw_roughed_stop_named("by a later tangwright"), TW_ROUGHED_UNEXPLAINED));
}
