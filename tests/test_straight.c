/* test_straight.c - guards against a tang ground crooked: a centre plane misread, stock taken from the wrong face, a
 * blank called straight that cannot be, or one refused that could. Closed cases by hand, random ones beside SciPy.
 *
 * The blank of most tests (straight/blank.h) is 3 mm thick and falls by m = 0.007 mm a mm on each face; with a bow w
 * towards side A, what comes off is m x + w on side A and m x - w on side B. */
#include "base/text.h"
#include "input/failing_memory.h"
#include "straight/blank.h"
#include "sanitized.h"
#include "straight/linear.h"
#include "tangwright/packing.h"
#include "tangwright/report.h"

#include "check/check.h"
#include "check/noise.h"
#include <glpk.h>
#include <math.h>
#include <string.h>
#include <unistd.h>

#define PI   3.14159265358979323846
#define TINY 1e-6 /* mm: far below any indicator, above the solver's own tolerance */

static void expect_text(const char *got, const char *wanted)
{
    cr_expect(got && strcmp(got, wanted) == 0, "said   %s\nwanted %s", got ? got : "nothing", wanted);
}

static struct tw_straight straighten(const struct tw_job *job)
{
    struct tw_findings findings = { 0 };
    struct tw_straight straight;

    cr_assert(eq(int, tw_straighten(job, &straight, &findings), TW_OK), "%s",
              findings.count ? findings.items[0].text : "");
    tw_findings_free(&findings);
    return straight;
}

static const struct tw_gauge_point *gauge_at(const struct tw_straight *straight, double x_mm)
{
    for (size_t i = 0; i < straight->gauge_count; i++)
        if (fabs(straight->gauges[i].x_mm - x_mm) < 1e-9)
            return &straight->gauges[i];
    cr_assert(false, "no gauge point at %g", x_mm);
    return NULL;
}

static void expect_off(const struct tw_straight *straight, double x_mm, double a_mm, double b_mm)
{
    const struct tw_gauge_point *gauge = gauge_at(straight, x_mm);

    cr_expect(epsilon_eq(dbl, gauge->off_mm[0], a_mm, TINY), "A at x %g", x_mm);
    cr_expect(epsilon_eq(dbl, gauge->off_mm[1], b_mm, TINY), "B at x %g", x_mm);
}

/* What the verdict says; the caller frees it. */
static char *said_of(const struct tw_job *job, const struct tw_straight *straight, enum tw_status wanted)
{
    struct tw_findings findings = { 0 };
    struct tw_text text = { 0 };

    cr_expect(eq(int, tw_straight_verdict(job, straight, &findings), wanted));
    for (size_t i = 0; i < findings.count; i++)
        tw_text_print(&text, "%s%s\n", findings.items[i].status == TW_OK ? "note: " : "", findings.items[i].text);
    tw_findings_free(&findings);
    return tw_text_take(&text);
}

/* ---- closed cases ---- */

static double flat(double x_mm)
{
    (void)x_mm;
    return 0.0;
}

static double parabola(double x_mm)
{
    return 0.3 * (x_mm / 100.0) * (x_mm / 100.0);
}

static double offset_tenth(double x_mm)
{
    (void)x_mm;
    return 0.1;
}

static double offset_more(double x_mm)
{
    (void)x_mm;
    return 0.15;
}

static double wedge(double x_mm)
{
    return 0.004 * x_mm;
}

static double steep_wedge(double x_mm)
{
    return 0.007 * x_mm;
}

Test(straight, a_flat_blank_loses_the_same_on_both_faces)
{
    struct bar bar;
    struct tw_straight straight;

    bar_open(&bar);
    bar_bow(&bar, flat, 0.0);
    straight = straighten(&bar.job);
    cr_expect(straight.straight);
    cr_expect(not(straight.twisted));
    cr_expect(eq(dbl, straight.bow_mm, 0.0));
    cr_expect(isnan(straight.twist_rad) && isnan(straight.butt_mm) && isnan(straight.start_mm));
    expect_off(&straight, 10, 0.07, 0.07);
    expect_off(&straight, 100, 0.7, 0.7);
    cr_expect(epsilon_eq(dbl, tw_profile_mm(&straight.raw[0], 55.0), 1.5, TINY));
    free(said_of(&bar.job, &straight, TW_OK));
    tw_straight_free(&straight);
}

Test(straight, a_bow_with_stock_enough_comes_out_straight)
{
    struct bar bar;
    struct tw_straight straight;

    bar_open(&bar);
    bar_bow(&bar, parabola, 0.0);
    straight = straighten(&bar.job);
    cr_expect(straight.straight);
    cr_expect(not(straight.straight_in_doubt));
    cr_expect(epsilon_eq(dbl, straight.deviation_mm, 0.0, TINY));
    cr_expect(epsilon_eq(dbl, straight.bow_mm, 0.3, TINY));
    cr_expect(epsilon_eq(dbl, straight.bow_x_mm, 100.0, TINY));
    expect_off(&straight, 50, 0.35 + 0.075, 0.35 - 0.075);
    expect_off(&straight, 100, 0.7 + 0.3, 0.7 - 0.3);
    /* Straight lines between the gauge points; level with the ricasso at the taper start. */
    cr_expect(epsilon_eq(dbl, tw_profile_mm(&straight.raw[0], 95.0), 1.5 + (0.3 + 0.243) / 2.0, TINY));
    cr_expect(epsilon_eq(dbl, tw_profile_mm(&straight.raw[1], 5.0), 1.5 - 0.0015, TINY));
    cr_expect(epsilon_eq(dbl, tw_profile_mm(&straight.raw[1], -50.0), 1.5, TINY));
    tw_straight_free(&straight);
}

Test(straight, a_thicker_tang_loses_more_on_both_faces)
{
    struct bar bar;
    struct tw_straight straight;

    bar_open(&bar);
    bar_bow(&bar, wedge, 0.05);
    straight = straighten(&bar.job);
    cr_expect(straight.straight);
    expect_off(&straight, 50, 0.35 + 0.2 + 0.05, 0.35 - 0.2 + 0.05);
    cr_expect(epsilon_eq(dbl, gauge_at(&straight, 50)->thickness_mm, 3.1, TINY));
    tw_straight_free(&straight);
}

Test(straight, an_allowance_stays_on_both_faces)
{
    struct bar bar;
    struct tw_straight straight;

    bar_open(&bar);
    bar_bow(&bar, parabola, 0.0);
    bar.job.finish.allowance_mm = 0.03;
    straight = straighten(&bar.job);
    expect_off(&straight, 100, 1.0 - 0.03, 0.4 - 0.03);
    tw_straight_free(&straight);
}

Test(straight, a_parallel_offset_is_ground_out_or_kept_within_the_limit)
{
    struct bar bar;
    struct tw_straight straight;

    bar_open(&bar);
    bar_bow(&bar, offset_tenth, 0.0);
    straight = straighten(&bar.job);
    cr_expect(straight.straight); /* at x = 20: 0.14 - 0.1 mm come off side B */
    expect_off(&straight, 20, 0.24, 0.04);
    tw_straight_free(&straight);

    bar_open(&bar);
    bar_bow(&bar, offset_more, 0.0);
    bar.job.straighten.largest_offset_mm = 0.05;
    straight = straighten(&bar.job);
    cr_expect(straight.straight); /* 0.14 - 0.15 + offset = 0.02 at x = 20 */
    cr_expect(epsilon_eq(dbl, straight.offset_mm, 0.03, TINY));
    cr_expect(epsilon_eq(dbl, straight.deviation_mm, 0.03, TINY));
    expect_off(&straight, 20, 0.29 - 0.03, -0.01 + 0.03);
    expect_off(&straight, 100, 0.85 - 0.03, 0.55 + 0.03);
    tw_straight_free(&straight);

    bar.job.straighten.largest_offset_mm = 0.0;
    straight = straighten(&bar.job);
    cr_expect(not(straight.comes_clean));
    cr_expect(epsilon_eq(dbl, straight.shortfall_mm, 0.03, TINY));
    cr_expect(epsilon_eq(dbl, straight.butt_mm, 1.3, TINY)); /* 20 m = 0.15 + 0.02, so m = 0.0085 and 3 - 2 * 0.85 */
    /* A later start frees x = 20 of cleaning up; the blank itself is 0.05 off at x = 3.3 already. Tried 2 mm apart. */
    cr_expect(epsilon_eq(dbl, straight.start_mm, 2.0, TINY));
    tw_straight_free(&straight);
}

Test(straight, a_wedge_beyond_the_taper_is_made_up_by_a_tilt)
{
    struct bar bar;
    struct tw_straight straight;
    char *said;

    bar_open(&bar);
    bar_bow(&bar, steep_wedge, 0.0);
    bar.job.straighten.largest_tilt_rad = atan(0.002);
    straight = straighten(&bar.job);
    /* Side B: (0.007 - 0.007 + tilt) 20 = 0.02, so the tilt is 0.001 and the butt 0.1 mm off. */
    cr_expect(straight.comes_clean);
    cr_expect(not(straight.straight));
    cr_expect(epsilon_eq(dbl, straight.tilt, 0.001, TINY / 100.0));
    cr_expect(epsilon_eq(dbl, straight.deviation_mm, 0.1, TINY));
    expect_off(&straight, 100, 0.7 + 0.7 - 0.1, 0.1);
    cr_expect(epsilon_eq(dbl, gauge_at(&straight, 60)->straight_lacks_mm[1], 0.02, TINY));
    cr_expect(epsilon_eq(dbl, gauge_at(&straight, 60)->missing_mm[1], 0.0, TINY));
    /* Half the tilt is within the tolerance: (m - 0.007 + 0.0005) 20 = 0.02 with m = 0.0075, the butt at 1.5 mm. */
    cr_expect(epsilon_eq(dbl, straight.butt_mm, 1.5, TINY));
    /* The guard at x = 20 is 2 * 0.01 / sqrt(12) * sqrt(1 + 1/3 + 40^2 / 200) = 0.0176 mm; five times that at the butt. */
    said = said_of(&bar.job, &straight, TW_NO_PLAN);
    expect_text(
        said,
        "note: whether the tang comes out straight rests on less than the indicator can tell (0.01 mm a step): the "
        "deviation left may be 0.012 to 0.188 mm\n"
        "the tang cannot come out straight: its middle stays up to 0.100 mm off the centre plane, beyond "
        "straighten.tolerance, 0.05 mm; if straight, side B lacks 0.020 mm of stock at x = 20 mm; it would come out "
        "straight with butt_thickness = \"1.50 mm\". Or bend the blank before it is ground: with a bow of at most 0.65 "
        "mm at x = 100 mm, where it is 0.70 mm now, it comes out straight\n");
    /* (0.007 - b + 0.0005) 20 = 0.02 with a bow of b a mm: b = 0.0065. */
    cr_expect(epsilon_eq(dbl, straight.bend_mm, 0.65, 1e-5));
    free(said);
    tw_straight_free(&straight);
}

Test(straight, stock_missing_at_one_place_is_named_with_face_and_amount)
{
    struct bar bar;
    struct tw_straight straight;
    char *said;

    bar_open(&bar);
    bar_bow(&bar, flat, 0.0);
    bar.rows[7].b_mm = -0.4; /* a dent at x = 50: 0.35 - 0.4 - 0.02 */
    cr_assert(eq(dbl, bar.rows[7].x_mm, 50.0));
    straight = straighten(&bar.job);
    cr_expect(not(straight.comes_clean));
    cr_expect(epsilon_eq(dbl, straight.shortfall_mm, 0.07, TINY));
    for (size_t i = 0; i < straight.gauge_count; i++) {
        bool dent = straight.gauges[i].x_mm == 50.0;

        cr_expect(epsilon_eq(dbl, straight.gauges[i].missing_mm[0], 0.0, TINY));
        cr_expect(epsilon_eq(dbl, straight.gauges[i].missing_mm[1], dent ? 0.07 : 0.0, TINY));
    }
    cr_expect(epsilon_eq(dbl, straight.butt_mm, 1.32, TINY));  /* 50 m = 0.42 */
    cr_expect(epsilon_eq(dbl, straight.start_mm, 32.0, TINY)); /* the first of 2, 4, ... with start + 20 > 50 */
    said = said_of(&bar.job, &straight, TW_NO_PLAN);
    expect_text(
        said,
        "the tang cannot be cleaned up: even at its straightest, 0.000 mm off the centre plane at most, side B lacks "
        "0.070 mm of stock at x = 50 mm; it would come out straight with butt_thickness = \"1.32 mm\", or with the "
        "taper starting "
        "32 mm later\n");
    free(said);
    tw_straight_free(&straight);
}

Test(straight, a_hollow_near_the_front_is_passed_by_a_later_taper_start)
{
    struct bar bar;
    struct tw_straight straight;

    bar_open(&bar);
    bar_bow(&bar, flat, 0.0);
    bar.rows[4].a_mm = bar.rows[4].b_mm = -0.2; /* x = 20: 0.14 - 0.2; both faces, so the middle stays */
    straight = straighten(&bar.job);
    cr_expect(not(straight.comes_clean));
    /* Any later start frees x = 20 of cleaning up; starts are tried 2 mm apart here. */
    cr_expect(gt(dbl, straight.start_mm, 0.0));
    cr_expect(le(dbl, straight.start_mm, 2.0));
    cr_expect(isnan(straight.butt_mm)); /* 3 - 2 * 0.22 / 20 * 100 = 0.8 mm is below the smallest thickness allowed */
    tw_straight_free(&straight);
}

Test(straight, a_blank_that_nothing_mends_is_told_so)
{
    struct bar bar;
    struct tw_straight straight;
    char *said;

    bar_open(&bar);
    bar_bow(&bar, steep_wedge, 0.0);
    bar.job.taper.smallest_mm = 1.6;
    straight = straighten(&bar.job);
    cr_expect(isnan(straight.butt_mm) && isnan(straight.start_mm));
    said = said_of(&bar.job, &straight, TW_NO_PLAN);
    cr_expect(
        strstr(said,
               "no butt down to smallest_thickness, 1.6 mm, and no later taper start makes it straight. Bend the "
               "blank before it is ground: with a bow of at most 0.60 mm at x = 100 mm, where it is 0.70 mm now, it "
               "comes out straight\n") != NULL);
    /* No tilt: (0.007 - b) 20 = 0.02, so b = 0.006. */
    cr_expect(epsilon_eq(dbl, straight.bend_mm, 0.6, 1e-5));
    free(said);
    tw_straight_free(&straight);
}

/* Ahead of where cleaning up is asked for a face may stay short, but not in silence: 1.5 - 0.07 is finished at x = 10, and
 * there is 1.5 - 0.13. */
Test(straight, stock_that_is_missing_ahead_of_cleaning_up_is_told)
{
    struct bar bar;
    struct tw_straight straight;
    struct tw_findings findings = { 0 };
    char *said, *table = NULL, name[] = "bar", path[] = "bar.csv";

    bar_open(&bar);
    bar_bow(&bar, flat, 0.0);
    cr_assert(eq(dbl, bar.rows[3].x_mm, 10.0));
    bar.rows[3].b_mm = -0.13;
    straight = straighten(&bar.job);
    cr_expect(straight.straight);
    cr_expect(epsilon_eq(dbl, straight.below_mm, 0.06, TINY));
    cr_expect(epsilon_eq(dbl, straight.gauges[0].below_mm[1], 0.06, TINY));
    cr_expect(epsilon_eq(dbl, straight.gauges[0].below_mm[0], 0.0, TINY));
    said = said_of(&bar.job, &straight, TW_OK);
    expect_text(said, "note: side B stays up to 0.060 mm below its finished face at x = 10 mm, ahead of "
                      "straighten.cleanup_from, 20 mm: old skin remains there\n");
    bar.job.name = name;
    bar.job.survey.path = path;
    cr_assert(eq(int, tw_straight_table(&bar.job, &straight, &table, &findings), TW_OK));
    cr_expect(strstr(table, "stays short      side B by up to 0.060 mm, at x 10.0 mm: old skin remains") != NULL);
    cr_expect(strstr(table, "B stays 0.060 mm below") != NULL);
    cr_expect(strstr(table, "side B up: the gap under the tang") != NULL);
    free(table);
    free(said);
    tw_straight_free(&straight);
}

Test(straight, a_blank_that_must_not_be_ground_is_not_packed)
{
    struct bar bar;
    struct tw_straight straight;
    char *table = NULL, *json = NULL, name[] = "bar", path[] = "bar.csv";

    bar_open(&bar);
    bar_bow(&bar, steep_wedge, 0.0);
    bar.job.name = name;
    bar.job.survey.path = path;
    straight = straighten(&bar.job);
    cr_assert(eq(int, tw_straight_table(&bar.job, &straight, &table, NULL), TW_OK));
    cr_expect(strstr(table, "gap") == NULL);
    cr_expect(strstr(table, "No packing is shown: this blank must not be ground as it is.") != NULL);
    cr_assert(eq(int, tw_straight_json(&bar.job, &straight, &json, NULL), TW_OK));
    cr_expect(strstr(json, "\"setups\": []") != NULL);
    free(table);
    free(json);
    tw_straight_free(&straight);
}

/* ---- the reference ---- */

Test(straight, how_the_blank_lay_and_where_the_indicator_read_zero_does_not_matter)
{
    struct bar bar, askew;
    struct tw_straight straight, other;

    bar_open(&bar);
    bar_bow(&bar, parabola, 0.0);
    askew = bar;
    askew.job.survey.rows = askew.rows;
    askew.job.part.tang.outer.points = askew.corners;
    for (size_t i = 0; i < askew.job.survey.count; i++) {
        askew.rows[i].a_mm += 5.0 + 0.02 * askew.rows[i].x_mm;
        askew.rows[i].b_mm += -3.0 - 0.01 * askew.rows[i].x_mm;
    }
    straight = straighten(&bar.job);
    other = straighten(&askew.job);
    for (size_t i = 0; i < straight.gauge_count; i++)
        for (int side = 0; side < 2; side++)
            cr_expect(epsilon_eq(dbl, straight.gauges[i].off_mm[side], other.gauges[i].off_mm[side], TINY));
    tw_straight_free(&straight);
    tw_straight_free(&other);
}

Test(straight, with_the_plate_as_reference_a_slope_is_a_bow)
{
    struct bar bar;
    struct tw_straight straight;

    bar_open(&bar);
    bar.job.survey.reference = TW_REFERENCE_PLATE;
    for (int i = 0; i < 13; i++) /* x -20 to 100, one place on the ricasso at 0 height after the mean */
        if (i != 2)
            bar_row(&bar, -20.0 + 10.0 * i, 0.0, 0.001 * (10.0 * i - 5.0), -0.001 * (10.0 * i - 5.0));
    straight = straighten(&bar.job);
    /* Ricasso rows read 0.001 (-5) and 0.001 (5): their mean is 0, so the height at x is 0.001 (x + 15). */
    cr_expect(epsilon_eq(dbl, gauge_at(&straight, 100)->bow_mm, 0.115, TINY));
    tw_straight_free(&straight);
}

Test(straight, a_thickness_counts_as_it_is_and_the_ricassos_is_compared)
{
    struct bar bar;
    struct tw_straight straight;
    struct tw_findings findings = { 0 };

    bar_open(&bar);
    bar_bow(&bar, wedge, 1.53); /* a and b are then half the thickness and the bow, as the reader makes them */
    for (int i = 0; i < 3; i++)
        bar.rows[i].a_mm = bar.rows[i].b_mm = 1.53;
    bar.job.survey.thickness_known = true;
    bar.job.survey.path = (char[]){ "survey.csv" };
    cr_assert(eq(int, tw_straighten(&bar.job, &straight, &findings), TW_OK));
    expect_off(&straight, 50, 0.35 + 0.2 + 0.03, 0.35 - 0.2 + 0.03);
    cr_expect(epsilon_eq(dbl, straight.ricasso_mm, 3.06, TINY));
    cr_assert(eq(sz, findings.count, 1));
    expect_text(findings.items[0].text,
                "survey.csv: the ricasso measures 3.060 mm, but taper.ricasso_thickness is 3 mm; the job "
                "should say what was measured");
    tw_findings_free(&findings);
    tw_straight_free(&straight);
}

Test(straight, an_uneven_ricasso_is_remarked)
{
    struct bar bar;
    struct tw_straight straight;
    struct tw_findings findings = { 0 };

    bar_open(&bar);
    bar_bow(&bar, flat, 0.0);
    bar.rows[1].a_mm = 0.09; /* the mean is 0.03, and the middle one stands 0.06 over it */
    cr_assert(eq(int, tw_straighten(&bar.job, &straight, &findings), TW_OK));
    cr_expect(epsilon_eq(dbl, straight.ricasso_unevenness_mm, 0.06, TINY));
    cr_assert(eq(sz, findings.count, 1));
    expect_text(findings.items[0].text,
                "readings on the ricasso stand up to 0.060 mm off their line; it is the reference for all "
                "others, so look for a burr or dirt and measure again");
    tw_findings_free(&findings);
    tw_straight_free(&straight);
}

/* ---- what no reading tells ---- */

/* 0.04 mm over both chords of 10 mm that meet at x = 50 and level elsewhere: 0.04 = f'' h^2 / 2 with f'' = 0.08 / 100, and a parabola
 * stands f'' h^2 / 8 = 0.01 mm over its chord (plane geometry). */
static double peak(double x_mm)
{
    return fabs(x_mm - 50.0) < 1.0 ? 0.04 : 0.0;
}

Test(straight, a_bulge_between_readings_comes_on_top_of_what_they_are_sure_to)
{
    struct bar bar;
    struct tw_straight straight;
    const struct tw_gauge_point *gauge;

    bar_open(&bar);
    bar.job.survey.reference = TW_REFERENCE_PLATE;
    bar_bow(&bar, peak, 0.0);
    straight = straighten(&bar.job);
    gauge = gauge_at(&straight, 50.0);
    cr_expect(epsilon_eq(dbl, gauge->guard_mm, 0.01, TINY)); /* a step of the indicator */
    cr_expect(epsilon_eq(dbl, gauge->higher_mm[0], 0.01 + 0.01, TINY));
    cr_expect(epsilon_eq(dbl, gauge_at(&straight, 80.0)->higher_mm[0], 0.01, TINY), "level");
    /* Of side B the readings beside it stand 0.04 mm over it: between them and their other neighbours the face may bulge
     * by half as sharp a bend. */
    cr_expect(epsilon_eq(dbl, gauge_at(&straight, 40.0)->higher_mm[1], 0.01 + 0.005, TINY));
    cr_expect(epsilon_eq(dbl, straight.higher_mm, 0.02, TINY));
    tw_straight_free(&straight);
}

/* Waves at least seven readings long, as hardening leaves them, read every 14 mm to whole hundredths. */
struct waves {
    double height_mm[2], length_mm[2], phase[2];
};

/* From 0 on, without a bend there: the tang goes on from the ricasso. */
static double shape(double angle, double phase)
{
    return sin(angle + phase) - sin(phase) - angle * cos(phase);
}

static double wave_mm(const struct waves *waves, double x_mm)
{
    double sum_mm = 0.0;

    for (int i = 0; i < 2; i++)
        sum_mm += waves->height_mm[i] * shape(2.0 * PI * x_mm / waves->length_mm[i], waves->phase[i]);
    return sum_mm;
}

static double read_mm(const struct waves *waves, double x_mm)
{
    return x_mm <= 0.0 ? 0.0 : round(100.0 * wave_mm(waves, x_mm)) / 100.0;
}

static void draw(unsigned long long *state, struct waves *waves)
{
    *waves = (struct waves){ { 0.08 * even(state), 0.08 * even(state) },
                             { 98.0 + 150.0 * even(state), 98.0 + 150.0 * even(state) },
                             { 2.0 * PI * even(state), 2.0 * PI * even(state) } };
}

Test(straight, no_smooth_face_stands_over_the_highest_that_is_counted_on)
{
    unsigned long long state = 20;

    for (int blank = 0; blank < (SANITIZED ? 20 : 400); blank++) {
        struct bar bar;
        struct tw_straight straight;
        struct waves waves;

        draw(&state, &waves);
        bar_open(&bar);
        bar.job.survey.reference = TW_REFERENCE_PLATE;
        bar.job.straighten.largest_tilt_rad = 0.01;
        for (double x_mm = -30.0; x_mm < 0.0; x_mm += 10.0)
            bar_row(&bar, x_mm, 0.0, 0.0, 0.0);
        for (double x_mm = 8.0; x_mm <= BAR_LENGTH_MM; x_mm += 14.0)
            bar_row(&bar, x_mm, 0.0, read_mm(&waves, x_mm), -read_mm(&waves, x_mm));
        straight = straighten(&bar.job);
        for (double x_mm = 1.0; x_mm <= BAR_LENGTH_MM; x_mm += 0.5)
            for (int side = 0; side < 2; side++) {
                double face_mm = 1.5 + (side == 0 ? 1.0 : -1.0) * wave_mm(&waves, x_mm);
                double counted_mm = tw_profile_mm(&straight.utmost[side], x_mm);

                cr_expect(le(dbl, face_mm, counted_mm + TINY), "blank %d, side %d, x %g", blank, side, x_mm);
                cr_expect(le(dbl, counted_mm, face_mm + (x_mm <= 92.0 ? 0.04 : 0.1)),
                          "blank %d, side %d, x %g: not by far", blank, side, x_mm);
            }
        tw_straight_free(&straight);
    }
}

/* ---- uncertainty ---- */

Test(straight, the_indicators_step_is_carried_to_the_butt)
{
    struct bar bar;
    struct tw_straight straight;
    double reading_mm = 0.01 / sqrt(12.0); /* JCGM 100:2008, F.2.2.1: 0.29 of a step */

    bar_open(&bar);
    bar_bow(&bar, flat, 0.0);
    straight = straighten(&bar.job);
    /* A line through three readings at x -30, -20, -10: its value at x has the variance 1/3 + (x + 20)^2 / 200 of a
     * reading's (JCGM 100:2008, H.3, with the readings' own variance known), and the reading at x adds 1. */
    cr_expect(
        epsilon_eq(dbl, gauge_at(&straight, 100)->uncertainty_mm, reading_mm * sqrt(1.0 + 1.0 / 3.0 + 72.0), 1e-9));
    cr_expect(epsilon_eq(dbl, gauge_at(&straight, 10)->uncertainty_mm, reading_mm * sqrt(1.0 + 1.0 / 3.0 + 4.5), 1e-9));
    cr_expect(
        epsilon_eq(dbl, gauge_at(&straight, 100)->guard_mm, 2.0 * gauge_at(&straight, 100)->uncertainty_mm, 1e-12));
    tw_straight_free(&straight);
    bar.job.survey.reference = TW_REFERENCE_PLATE; /* no slope is taken, so nothing grows with x */
    straight = straighten(&bar.job);
    cr_expect(epsilon_eq(dbl, gauge_at(&straight, 100)->uncertainty_mm, reading_mm * sqrt(4.0 / 3.0), 1e-9));
    cr_expect(epsilon_eq(dbl, gauge_at(&straight, 100)->guard_mm, 0.01, 1e-12)); /* one step at least */
    tw_straight_free(&straight);
}

Test(straight, an_answer_that_hangs_on_less_than_a_step_says_so)
{
    struct bar bar;
    struct tw_straight straight;

    for (int trial = 0; trial < 2; trial++) {
        bar_open(&bar);
        bar_bow(&bar, offset_tenth, trial == 0 ? -0.019 : 0.1);
        bar.job.survey.reference = TW_REFERENCE_PLATE; /* the guard is a step, 0.01 mm */
        straight = straighten(&bar.job);
        cr_expect(straight.straight); /* at x = 20 side B has 0.021 where 0.02 is asked for; or 0.14 */
        cr_expect(eq(int, straight.straight_in_doubt, trial == 0));
        free(said_of(&bar.job, &straight, TW_OK));
        tw_straight_free(&straight);
    }
}

/* ---- twist ---- */

static void twist_bar(struct bar *bar, double ricasso, double tang)
{
    bar_open(bar);
    bar->job.survey.across = true;
    for (double x_mm = -30.0; x_mm <= BAR_LENGTH_MM; x_mm += 10.0) {
        double slope = x_mm < 0.0 ? ricasso : ricasso + tang * x_mm / BAR_LENGTH_MM;

        for (int k = -1; k <= 1; k += 2) /* spine up on side A is spine down on side B */
            bar_row(bar, x_mm, 8.0 * k, slope * 8.0 * k, -slope * 8.0 * k);
    }
}

Test(straight, twist_is_the_slope_across_counted_from_the_ricasso)
{
    struct bar bar;
    struct tw_straight straight;

    twist_bar(&bar, 0.004, 0.006);
    straight = straighten(&bar.job);
    cr_expect(epsilon_eq(dbl, straight.twist_rad, atan(0.006), 1e-9));
    cr_expect(epsilon_eq(dbl, straight.twist_x_mm, 100.0, 1e-9));
    cr_expect(epsilon_eq(dbl, gauge_at(&straight, 50)->twist_rad, atan(0.003), 1e-9));
    cr_expect(not(straight.twisted)); /* 0.01 rad are allowed */
    cr_expect(straight.straight);
    /* At the axis nothing changes, but the corners stand 0.048 mm high and low. */
    expect_off(&straight, 100, 0.7, 0.7);
    cr_expect(epsilon_eq(dbl, gauge_at(&straight, 100)->high_mm[0], 1.548, TINY));
    cr_expect(epsilon_eq(dbl, gauge_at(&straight, 100)->low_mm[1], 1.452, TINY));
    cr_expect(epsilon_eq(dbl, tw_profile_mm(&straight.highest[0], 100.0), 1.548, TINY));
    tw_straight_free(&straight);
}

Test(straight, too_much_twist_is_refused_with_the_reason)
{
    struct bar bar;
    struct tw_straight straight;
    char *said;

    twist_bar(&bar, 0.0, 0.02);
    straight = straighten(&bar.job);
    cr_expect(straight.twisted);
    said = said_of(&bar.job, &straight, TW_NO_PLAN);
    /* atan(0.02) is 1.146 deg, 0.01 rad are 0.573 deg. */
    expect_text(
        said,
        "the blank is twisted by 1.15 deg at x = 100 mm, more than straighten.largest_twist, 0.573 deg: flat grinding "
        "cannot take a twist out; untwist the blank, or allow more where it is only cosmetic\n");
    free(said);
    tw_straight_free(&straight);
}

Test(straight, a_twist_that_the_indicator_cannot_tell_from_the_limit_says_so)
{
    struct bar bar;
    struct tw_straight straight;

    /* A slope over two places 16 mm apart, of a bow that is half the difference of two readings: its standard uncertainty
     * is 0.01 / sqrt(12) / sqrt(2) / (8 sqrt(2)) = 0.00018, by hand. */
    twist_bar(&bar, 0.0, 0.0102);
    straight = straighten(&bar.job);
    cr_expect(epsilon_eq(dbl, gauge_at(&straight, 100)->twist_sure_rad, 0.01 / sqrt(12.0) / 16.0, 1e-9));
    cr_expect(straight.twisted);
    cr_expect(straight.twist_in_doubt);
    tw_straight_free(&straight);
    twist_bar(&bar, 0.0, 0.0105);
    straight = straighten(&bar.job);
    cr_expect(straight.twisted);
    cr_expect(not(straight.twist_in_doubt));
    tw_straight_free(&straight);
}

Test(straight, a_twisted_corner_must_clean_up_too)
{
    struct bar bar;
    struct tw_straight straight;

    twist_bar(&bar, 0.0, 0.009); /* corner at x = 20: 0.14 - 0.0144 stand over the finished face */
    bar.job.straighten.cleanup_mm = 0.13;
    straight = straighten(&bar.job);
    cr_expect(not(straight.comes_clean));
    cr_expect(epsilon_eq(dbl, straight.shortfall_mm, 0.13 - (0.14 - 8.0 * 0.009 * 0.2), TINY));
    tw_straight_free(&straight);
}

/* ---- what is no survey of this tang ---- */

Test(straight, a_survey_that_does_not_fit_the_tang_is_refused)
{
    struct tw_findings findings = { 0 };
    struct tw_straight straight;
    struct bar bar;

    bar_open(&bar);
    bar_bow(&bar, flat, 0.0);
    bar.job.survey.path = (char[]){ "s.csv" };
    bar.job.survey.count--;
    bar.rows[bar.job.survey.count - 1].x_mm = 89.0;
    cr_expect(eq(int, tw_straighten(&bar.job, &straight, &findings), TW_BAD_INPUT));
    bar.rows[bar.job.survey.count - 1].x_mm = 102.0;
    cr_expect(eq(int, tw_straighten(&bar.job, &straight, &findings), TW_BAD_INPUT));
    cr_assert(eq(sz, findings.count, 2));
    expect_text(findings.items[0].text,
                "s.csv:13: the last reading stands at x = 89 mm, but the tang goes on to 100.00 mm; "
                "measure up to within 10 mm of the butt");
    expect_text(findings.items[1].text,
                "s.csv:13: x = 102 mm lies past the tang's end at 100.00 mm; x counts from the taper start "
                "towards the butt");
    tw_findings_free(&findings);
}

/* ---- packing and stacks ---- */

Test(packing, a_bowed_blank_is_packed_as_it_lies)
{
    struct bar bar;
    struct tw_straight straight;

    bar_open(&bar);
    bar_bow(&bar, parabola, 0.0);
    straight = straighten(&bar.job);
    /* Side A up: face B is hollow by the bow. Side B up: face A was ground flat, m x under its ricasso. */
    cr_expect(epsilon_eq(dbl, tw_packing_mm(&bar.job, &straight, TW_SIDE_A, 100.0), 0.3, TINY));
    cr_expect(epsilon_eq(dbl, tw_packing_mm(&bar.job, &straight, TW_SIDE_A, 50.0), 0.075, TINY));
    cr_expect(epsilon_eq(dbl, tw_packing_mm(&bar.job, &straight, TW_SIDE_A, 0.0), 0.0, TINY));
    cr_expect(epsilon_eq(dbl, tw_packing_mm(&bar.job, &straight, TW_SIDE_B, 100.0), 0.7, TINY));
    cr_expect(epsilon_eq(dbl, tw_packing_mm(&bar.job, NULL, TW_SIDE_B, 100.0), 0.7, TINY));
    cr_expect(epsilon_eq(dbl, tw_packing_mm(&bar.job, NULL, TW_SIDE_A, 100.0), 0.0, TINY));
    tw_straight_free(&straight);
}

static double towards_b(double x_mm)
{
    return -parabola(x_mm);
}

Test(packing, a_tang_that_hangs_below_the_pad_has_a_gap_below_zero)
{
    struct bar bar;
    struct tw_straight straight;
    struct tw_findings findings = { 0 };
    char *table = NULL;

    bar_open(&bar);
    bar_bow(&bar, towards_b, 0.0);
    bar.job.name = (char[]){ "bar" };
    bar.job.survey.path = (char[]){ "s.csv" };
    straight = straighten(&bar.job);
    cr_expect(epsilon_eq(dbl, tw_packing_mm(&bar.job, &straight, TW_SIDE_A, 100.0), -0.3, TINY));
    cr_assert(eq(int, tw_straight_table(&bar.job, &straight, &table, &findings), TW_OK));
    cr_expect(strstr(table, "hangs 0.300 mm (0.0118 in) under the datum pad's level") != NULL);
    free(table);
    tw_straight_free(&straight);
}

/* 25.4 mm an inch (ISO 80000-3). */
Test(packing, a_shop_in_inches_reads_inches_first)
{
    struct bar bar;
    struct tw_straight straight;
    char *table = NULL, name[] = "bar", path[] = "bar.csv";

    bar_open(&bar);
    bar_bow(&bar, flat, 0.0);
    bar.job.name = name;
    bar.job.survey.path = path;
    bar.job.machine.dialect.inch = true;
    straight = straighten(&bar.job);
    cr_assert(eq(int, tw_straight_table(&bar.job, &straight, &table, NULL), TW_OK));
    cr_expect(strstr(table, "      in      mm       in       mm") != NULL, "%s", table);
    cr_expect(strstr(table, "\n   0.394    10.0  ") != NULL, "%s", table); /* 10 / 25.4 */
    free(table);
    tw_straight_free(&straight);
}

Test(packing, what_was_low_on_side_a_stays_low_when_it_is_turned_down)
{
    struct bar bar;
    struct tw_straight straight;

    bar_open(&bar);
    bar_bow(&bar, flat, 0.0);
    bar.rows[7].a_mm = -0.4; /* x = 50, 0.05 below the finished face */
    straight = straighten(&bar.job);
    cr_expect(epsilon_eq(dbl, tw_packing_mm(&bar.job, &straight, TW_SIDE_B, 50.0), 0.4, TINY));
    tw_straight_free(&straight);
}

/* Constants of a 5 inch sine bar, as handbooks of the trade tabulate them to 0.00001 in (Machinery's Handbook, table
 * "constants for setting a 5-inch sine bar"; from memory, and each is 5 sin(angle), a closed form). */
static const struct {
    double angle_deg, rise_in;
} constants[] = {
    { 1.0, 0.08726 },  { 2.0, 0.17450 },  { 5.0, 0.43578 },  { 10.0, 0.86824 },
    { 15.0, 1.29410 }, { 30.0, 2.50000 }, { 45.0, 3.53553 },
};

Test(packing, sine_bar_rises_are_those_of_the_handbook)
{
    for (size_t i = 0; i < sizeof constants / sizeof *constants; i++) {
        struct tw_sine sine = tw_sine_stack(127.0, constants[i].angle_deg * PI / 180.0, TW_BLOCKS_INCH_81);

        cr_expect(epsilon_eq(dbl, sine.rise_mm / 25.4, constants[i].rise_in, 0.5e-5 + 1e-9));
        cr_expect(sine.possible);
        /* The smallest blocks are 0.05 and 0.1001 in: 0.0873 in, and 0.05 + 0.1245 in, cannot be stacked. */
        cr_expect(eq(sz, sine.under_low.count, constants[i].angle_deg < 5.0), "%g deg", constants[i].angle_deg);
        cr_expect(epsilon_eq(dbl, sine.made_mm, sine.rise_mm, 0.5 * 0.00254 + 1e-9)); /* half the set's last digit */
    }
}

Test(packing, the_trades_own_example_comes_out)
{
    /* 1.0 mm off each face over 110 mm asks for about 3 mm under one end of a 300 mm vice: 300 sin(atan(1/110)). */
    struct tw_sine sine = tw_sine_stack(300.0, atan(1.0 / 110.0), TW_BLOCKS_METRIC_87);

    cr_expect(epsilon_eq(dbl, sine.rise_mm, 300.0 / sqrt(110.0 * 110.0 + 1.0), 1e-9)); /* closed form */
    cr_expect(epsilon_eq(dbl, sine.made_mm, 2.727, 1e-9));
}

Test(packing, a_rise_below_the_smallest_block_takes_two_stacks)
{
    static const enum tw_block_set sets[] = { TW_BLOCKS_METRIC_87, TW_BLOCKS_METRIC_88, TW_BLOCKS_INCH_81 };

    for (size_t i = 0; i < 3; i++) {
        struct tw_sine sine = tw_sine_stack(100.0, asin(0.0031), sets[i]); /* 0.31 mm, 0.0122 in */
        double step_mm = sets[i] == TW_BLOCKS_INCH_81 ? 0.00254 : 0.001;

        cr_expect(sine.possible);
        cr_assert(eq(sz, sine.under_low.count, 1));
        cr_expect(ge(sz, sine.under_high.count, 1));
        cr_expect(epsilon_eq(dbl, sine.made_mm, 0.31, 0.5 * step_mm + 1e-9));
    }
}

Test(packing, no_tilt_needs_no_stack)
{
    struct tw_sine sine = tw_sine_stack(300.0, 0.0, TW_BLOCKS_METRIC_87);

    cr_expect(sine.possible);
    cr_expect(eq(sz, sine.under_high.count + sine.under_low.count, 0));
}

Test(packing, a_tilted_middle_tilts_the_two_setups_unlike)
{
    struct bar bar;
    struct tw_straight straight = { .tilt = 0.001 };

    bar_open(&bar);
    cr_expect(epsilon_eq(dbl, tw_packing_tilt_rad(&bar.job, &straight, TW_SIDE_A), atan(0.006), 1e-12));
    cr_expect(epsilon_eq(dbl, tw_packing_tilt_rad(&bar.job, &straight, TW_SIDE_B), atan(0.008), 1e-12));
    cr_expect(epsilon_eq(dbl, tw_packing_tilt_rad(&bar.job, NULL, TW_SIDE_B), atan(0.007), 1e-12));
}

/* ---- what the wheel meets ---- */

static double hump(double x_mm)
{
    return 0.5 * (x_mm / 100.0) * (x_mm / 100.0);
}

/* Straight between the gauge points: side A has 0.7 u + 0.5 u2, side B 0.7 u - 0.5 u2 at u = x / 100 = 0.1, 0.2, ... */
Test(surveyed_face, stock_begins_and_ends_where_the_real_surface_crosses_a_plane)
{
    struct bar bar;
    struct tw_straight straight;
    struct tw_face a, b;

    bar_open(&bar);
    bar_bow(&bar, hump, 0.0);
    bar.job.straighten.cleanup_mm = 0.0;
    straight = straighten(&bar.job);
    cr_assert(straight.straight);
    bar.job.straight = &straight;
    a = tw_face_of(&bar.job, TW_SIDE_A);
    b = tw_face_of(&bar.job, TW_SIDE_B);
    cr_expect(epsilon_eq(dbl, tw_face_stock_mm(&a, 50.0), 0.475, TINY));
    cr_expect(epsilon_eq(dbl, tw_face_stock_mm(&b, 45.0), (0.2 + 0.225) / 2.0, TINY));
    cr_expect(epsilon_eq(dbl, tw_face_stock_mm(&b, -10.0), -0.07, TINY));
    cr_expect(epsilon_eq(dbl, tw_face_reach_mm(&b, 0.21), 44.0, TINY * 1e3)); /* 0.2 at 40, 0.225 at 50 */
    cr_expect(epsilon_eq(dbl, tw_face_end_mm(&b, 0.21), 96.0, TINY * 1e3));   /* 0.225 at 90, 0.2 at 100 */
    cr_expect(epsilon_eq(dbl, tw_face_end_mm(&b, 0.1), 140.0, TINY * 1e4));   /* the last line goes on */
    cr_expect(isinf(tw_face_reach_mm(&b, 0.25)));
    cr_expect(isinf(tw_face_end_mm(&a, 0.5)));
    cr_expect(epsilon_eq(dbl, tw_face_most_mm(&b, 100.0), 0.245, TINY)); /* at 70 */
    cr_expect(epsilon_eq(dbl, tw_face_climb(&a), (1.2 - 0.63 - 0.405) / 10.0, TINY));
    cr_expect(epsilon_eq(dbl, tw_face_climb(&b), 0.007, TINY)); /* nowhere steeper than a flat blank */
    cr_expect(epsilon_eq(dbl, tw_face_highest_mm(&a, 100.0), 3.5, TINY));
    cr_expect(epsilon_eq(dbl, tw_face_highest_mm(&b, 100.0), 3.0, TINY));
    tw_straight_free(&straight);
}

Test(surveyed_face, the_volume_is_that_between_raw_and_finished_face)
{
    struct bar bar;
    struct tw_straight straight;
    double a_mm3 = 0.0, b_mm3 = 0.0;

    bar_open(&bar);
    bar_bow(&bar, hump, 0.0);
    bar.job.straighten.cleanup_mm = 0.0;
    straight = straighten(&bar.job);
    bar.job.straight = &straight;
    for (int i = 0; i < 10; i++) { /* the bar is 20 mm wide: trapezoids */
        double u = i / 10.0, v = u + 0.1;

        a_mm3 += 20.0 * 10.0 * (0.7 * (u + v) + 0.5 * (u * u + v * v)) / 2.0;
        b_mm3 += 20.0 * 10.0 * (0.7 * (u + v) - 0.5 * (u * u + v * v)) / 2.0;
    }
    cr_expect(epsilon_eq(dbl, tw_face_removed_mm3(&bar.job, TW_SIDE_A), a_mm3, 1e-3));
    cr_expect(epsilon_eq(dbl, tw_face_removed_mm3(&bar.job, TW_SIDE_B), b_mm3, 1e-3));
    /* 0.05 mm thicker, from the pad: so much more all over the tang, a plate of 20 x 100 mm. */
    bar.job.task.thicker_mm = 0.05;
    cr_expect(epsilon_eq(dbl, tw_face_removed_mm3(&bar.job, TW_SIDE_A), a_mm3 + 0.05 * 20.0 * 100.0, 1e-3));
    cr_expect(epsilon_eq(dbl, tw_face_removed_mm3(&bar.job, TW_SIDE_B), b_mm3 + 0.05 * 20.0 * 100.0, 1e-3));
    /* And, 24 mm wide at the taper start, a wedge of 0.05^2 / (2 x 0.007) x 24 mm3 ahead of it. */
    bar.job.placement.width_mm = 24.0;
    cr_expect(epsilon_eq(dbl, tw_taper_ahead_mm3(&bar.job), 0.05 * 0.05 / 0.014 * 24.0, 1e-9));
    bar.job.task.thicker_mm = 0.0;
    cr_expect(epsilon_eq(dbl, tw_taper_ahead_mm3(&bar.job), 0.0, 1e-9));
    tw_straight_free(&straight);
}

Test(surveyed_face, in_the_tilted_mount_the_raw_top_turns_with_the_part)
{
    double alpha = atan(0.007), x_mm = 50.0, z_mm = 3.0 + 0.125; /* of the raw top of side A over the pad */
    struct bar bar;
    struct tw_straight straight;
    struct tw_face face;

    bar_open(&bar);
    bar_bow(&bar, hump, 0.0);
    bar.job.straighten.cleanup_mm = 0.0;
    straight = straighten(&bar.job);
    bar.job.straight = &straight;
    bar.job.mount = TW_MOUNT_TILTED;
    face = tw_face_of(&bar.job, TW_SIDE_A);
    cr_expect(epsilon_eq(dbl, tw_face_top_mm(&face, x_mm * cos(alpha) - z_mm * sin(alpha)),
                         x_mm * sin(alpha) + z_mm * cos(alpha), TINY)); /* a turn about the taper start on the pad */
    cr_expect(epsilon_eq(dbl, face.height_mm, 3.0 * cos(alpha), 1e-12));
    tw_straight_free(&straight);
}

Test(surveyed_face, a_tilted_middle_makes_the_faces_fall_unlike)
{
    struct bar bar;
    struct tw_straight straight = { .tilt = 0.001 };

    bar_open(&bar);
    bar.job.straight = &straight;
    cr_expect(epsilon_eq(dbl, tw_face_of(&bar.job, TW_SIDE_A).slope, 0.006, 1e-12));
    cr_expect(epsilon_eq(dbl, tw_face_of(&bar.job, TW_SIDE_B).slope, 0.008, 1e-12));
}

Test(surveyed_face, a_blank_that_cannot_be_straight_is_read_but_not_planned)
{
    struct tw_findings findings = { 0 };
    struct tw_job job;
    struct tw_plan plan;

    cr_assert(eq(int, tw_job_read("samples/refused/slicer-270-bent/job.cfg", &job, &findings), TW_OK));
    cr_assert(job.straight != NULL);
    cr_expect(not(job.straight->straight));
    cr_expect(eq(int, tw_plan_make(&job, &plan, &findings), TW_NO_PLAN));
    cr_expect(strstr(findings.items[findings.count - 1].text, "the tang cannot be cleaned up") != NULL);
    tw_job_free(&job);
    tw_findings_free(&findings);
}

/* ---- beside SciPy ---- */

static unsigned random_state = 2024;

static double random_between(double low, double high)
{
    random_state = random_state * 1664525u + 1013904223u;
    return low + (high - low) * (random_state >> 8) / 16777216.0;
}

static double in_steps(double value_mm, double step_mm)
{
    return round(value_mm / step_mm) * step_mm;
}

/* A blank bowed, kinked and dented by chance, measured askew, with a few readings across. */
static void random_bar(struct bar *bar, int number)
{
    double bow[3] = { random_between(-0.006, 0.006), random_between(-0.6, 0.6), random_between(-0.2, 0.2) };
    double step_mm = number % 3 == 0 ? 0.001 : 0.01;

    bar_open(bar);
    bar->job.survey.resolution_mm = step_mm;
    bar->job.survey.reference = number % 4 == 1 ? TW_REFERENCE_PLATE : TW_REFERENCE_RICASSO;
    bar->job.survey.thickness_known = number % 5 == 2;
    bar->job.straighten.largest_tilt_rad = number % 2 ? random_between(0.0, 0.002) : 0.0;
    bar->job.straighten.largest_offset_mm = number % 7 == 3 ? random_between(0.0, 0.1) : 0.0;
    bar->job.straighten.tolerance_mm = random_between(0.005, 0.15);
    bar->job.straighten.cleanup_from_mm = random_between(5.0, 30.0);
    bar->job.straighten.cleanup_mm = random_between(0.0, 0.05);
    bar->job.finish.allowance_mm = number % 6 == 4 ? 0.02 : 0.0;
    bar->job.taper.butt_mm = random_between(1.2, 2.4);
    bar->job.taper.length_mm = number % 8 == 5 ? 110.0 : 100.0;
    for (double x_mm = -28.0; x_mm <= BAR_LENGTH_MM; x_mm += random_between(4.0, 9.0)) {
        double u = fmax(0.0, x_mm) / 100.0;
        double w_mm = bow[0] * fmax(0.0, x_mm) + bow[1] * u * u + bow[2] * fmax(0.0, u - 0.5);
        double thick_mm = 1.5 + random_between(-0.01, 0.01), y_mm = number % 3 == 1 ? random_between(-9.0, 9.0) : 0.0;

        bar_row(bar, x_mm, y_mm, in_steps(thick_mm + w_mm + 0.002 * y_mm * u, step_mm),
                in_steps(thick_mm - w_mm - 0.002 * y_mm * u, step_mm));
    }
    bar->rows[bar->job.survey.count - 1].x_mm = 98.0;
    if (bar->rows[bar->job.survey.count - 2].x_mm >= 98.0)
        bar->rows[bar->job.survey.count - 2].x_mm = 97.0;
}

static void print_case(FILE *stream, const struct bar *bar, const struct tw_straight *straight, bool first)
{
    const struct tw_job *job = &bar->job;

    fprintf(
        stream,
        "%s{\"T0\": %.17g, \"T1\": %.17g, \"L\": %.17g, \"smallest\": %.17g, \"allowance\": %.17g, \"cleanup\": %.17g, "
        "\"from\": %.17g, \"tolerance\": %.17g, \"tilt_rad\": %.17g, \"offset\": %.17g, \"step\": %.17g, \"plate\": "
        "%d, "
        "\"micrometer\": %d, \"rows\": [",
        first ? "" : ",\n", job->taper.ricasso_mm, job->taper.butt_mm, job->taper.length_mm, job->taper.smallest_mm,
        job->finish.allowance_mm, job->straighten.cleanup_mm, job->straighten.cleanup_from_mm,
        job->straighten.tolerance_mm, job->straighten.largest_tilt_rad, job->straighten.largest_offset_mm,
        job->survey.resolution_mm, job->survey.reference == TW_REFERENCE_PLATE, job->survey.thickness_known);
    for (size_t i = 0; i < job->survey.count; i++)
        fprintf(stream, "%s[%.17g, %.17g, %.17g, %.17g]", i ? ", " : "", bar->rows[i].x_mm, bar->rows[i].y_mm,
                bar->rows[i].a_mm, bar->rows[i].b_mm);
    fprintf(stream,
            "], \"got\": {\"straight\": %d, \"clean\": %d, \"doubt\": %d, \"deviation\": %.17g, \"low\": %.17g, "
            "\"high\": %.17g, "
            "\"shortfall\": %.17g, \"butt\": %.17g, \"offset\": %.17g, \"tilt\": %.17g, \"off\": [",
            straight->straight, straight->comes_clean, straight->straight_in_doubt, straight->deviation_mm,
            straight->deviation_low_mm, straight->deviation_high_mm, straight->shortfall_mm,
            isnan(straight->butt_mm) ? -1.0 : straight->butt_mm, straight->offset_mm, straight->tilt);
    for (size_t i = 0; i < straight->gauge_count; i++)
        fprintf(stream, "%s[%.17g, %.17g, %.17g, %.17g]", i ? ", " : "", straight->gauges[i].x_mm,
                straight->gauges[i].off_mm[0], straight->gauges[i].off_mm[1], straight->gauges[i].uncertainty_mm);
    fprintf(stream, "]}}");
}

static void print_stacks(FILE *stream)
{
    fprintf(stream, "], \"stacks\": [\n");
    for (int i = 0; i < 240; i++) {
        enum tw_block_set set = (enum tw_block_set)(i % 3);
        struct tw_sine sine = tw_sine_stack(300.0, random_between(0.0, i < 120 ? 0.003 : 0.03), set);

        fprintf(stream, "%s{\"set\": \"%s\", \"rise\": %.17g, \"high\": [", i ? ",\n" : "", tw_block_set_name(set),
                sine.rise_mm);
        for (size_t k = 0; k < sine.under_high.count; k++)
            fprintf(stream, "%s%.17g", k ? ", " : "", sine.under_high.blocks_mm[k]);
        fprintf(stream, "], \"low\": [");
        for (size_t k = 0; k < sine.under_low.count; k++)
            fprintf(stream, "%s%.17g", k ? ", " : "", sine.under_low.blocks_mm[k]);
        fprintf(stream, "], \"possible\": %d}", sine.possible);
    }
    fprintf(stream, "]}\n");
}

Test(straight, random_surveys_come_out_as_scipys_linprog_says)
{
    char path[] = "/tmp/tangwright-straight-XXXXXX", command[256];
    FILE *stream = fdopen(mkstemp(path), "w");
    size_t straight_ones = 0, unclean_ones = 0;

    cr_assert(stream != NULL);
    fprintf(stream, "{\"cases\": [\n");
    for (int i = 0; i < 200; i++) {
        struct bar bar;
        struct tw_straight straight;

        random_bar(&bar, i);
        straight = straighten(&bar.job);
        print_case(stream, &bar, &straight, i == 0);
        straight_ones += straight.straight;
        unclean_ones += !straight.comes_clean;
        tw_straight_free(&straight);
    }
    print_stacks(stream);
    cr_assert(eq(int, fclose(stream), 0));
    cr_expect(gt(sz, straight_ones, 30)); /* all kinds are among them */
    cr_expect(gt(sz, unclean_ones, 30));
    cr_expect(lt(sz, straight_ones + unclean_ones, 200 - 3));
    snprintf(command, sizeof command, "/usr/bin/python3 tests/reference/straight.py %s", path);
    cr_expect(eq(int, system(command), 0));
    unlink(path);
}

/* ---- memory ---- */

static enum tw_status everything(const struct tw_job *job, const char *path)
{
    struct tw_survey survey = { .resolution_mm = 0.01 };
    struct tw_job with_survey = *job;
    struct tw_straight straight = { 0 };
    struct tw_findings findings = { 0 };
    char *table = NULL;
    enum tw_status status = tw_survey_read(path, &survey, &findings);

    with_survey.survey = survey;
    if (status == TW_OK)
        status = tw_straighten(&with_survey, &straight, &findings);
    if (status == TW_OK)
        status = tw_straight_table(&with_survey, &straight, &table, &findings);
    if (status == TW_OK)
        status = tw_straight_verdict(&with_survey, &straight, &findings);
    if (status == TW_NO_PLAN && findings.out_of_memory)
        status = TW_NO_MEMORY; /* the finding itself was lost */
    free(table);
    tw_straight_free(&straight);
    tw_survey_free(&survey);
    tw_findings_free(&findings);
    return status;
}

Test(straight, every_allocation_may_fail)
{
    char path[] = "/tmp/tangwright-straight-XXXXXX";
    FILE *stream = fdopen(mkstemp(path), "w");
    struct bar bar;
    long tried = 0, before;

    fprintf(stream, "x [mm], a [mm], b [mm]\n-20, 0, 0\n-10, 0, 0\n20, 0.2, -0.2\n60, 0.5, -0.5\n95, 0.7, -0.7\n");
    fclose(stream);
    bar_open(&bar);
    bar.job.name = (char[]){ "bar" };
    before = blocks_in_use;
    for (;; tried++) {
        enum tw_status status;

        allocations_until_failure = tried;
        status = everything(&bar.job, path);
        if (allocations_until_failure >= 0)
            break;
        cr_expect(eq(int, status, TW_NO_MEMORY), "allocation %ld", tried);
        cr_expect(eq(long, blocks_in_use, before), "allocation %ld", tried);
    }
    allocations_until_failure = -1;
    cr_expect(gt(long, tried, 15));
    unlink(path);
}

/* The job takes the survey and what it comes to along; neither is lost when reading fails on the way. */
Test(straight, a_job_with_a_survey_gives_all_back_when_memory_runs_out)
{
    long before = blocks_in_use, failures = 0;

    for (long tried = 0;; tried += 3) {
        struct tw_findings findings = { 0 };
        struct tw_job job;
        enum tw_status status;
        bool all_went_well;

        allocations_until_failure = tried;
        status = tw_job_read("samples/refused/slicer-270-bent/job.cfg", &job, &findings);
        all_went_well = allocations_until_failure >= 0;
        allocations_until_failure = -1;
        failures += status == TW_NO_MEMORY;
        cr_expect(eq(int, status == TW_OK, job.straight != NULL), "allocation %ld", tried);
        tw_job_free(&job);
        tw_findings_free(&findings);
        cr_assert(eq(long, blocks_in_use, before), "allocation %ld", tried);
        if (all_went_well)
            break;
    }
    cr_expect(gt(long, failures, 50));
}

/* GLPK would end the process here. Its memory is filled up to a limit beforehand. */
Test(straight, memory_that_runs_out_inside_the_solver_is_a_status_too)
{
    struct linear_row row = { .coefficient = { 1.0 }, .least = 1.0 };
    struct linear problem = { .variables = 1, .cost = { 1.0 }, .high = { 5.0 }, .rows = &row, .row_count = 1 };
    struct tw_findings findings = { 0 };
    double values[LINEAR_VARIABLES_MOST] = { 0 };
    bool possible = false, opened = false;

    cr_assert(eq(int, linear_open(&opened, &findings), TW_OK));
    cr_expect(opened);
    cr_assert(glp_alloc(1, 1040000) != NULL);
    glp_mem_limit(1);
    cr_expect(eq(int, linear_solve(&problem, &possible, values, &findings), TW_NO_MEMORY));
    cr_expect(findings.out_of_memory);
    linear_close(opened);
    /* And afterwards it works again. */
    cr_assert(eq(int, linear_open(&opened, &findings), TW_OK));
    cr_expect(eq(int, linear_solve(&problem, &possible, values, &findings), TW_OK));
    cr_expect(possible);
    cr_expect(epsilon_eq(dbl, values[0], 1.0, 1e-9));
    linear_close(opened);
    tw_findings_free(&findings);
}
