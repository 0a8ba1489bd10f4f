/* test_rim.c - what of a cup's rim cuts. Guards against a plan that spreads the heat over a band that the rim in hand does
 * not have: fresh, leaning, or on a head out of square. */
#include "samples/sample.h"

#include "tangwright/heat.h"
#include "tangwright/rim.h"
#include "tangwright/verdict.h"

#include <math.h>

#define DEGREE 0.017453292519943295

static void expect_near(const char *what, double got, double wanted, double within)
{
    cr_expect(fabs(got - wanted) <= within, "%s is %.9g, not %.9g within %g", what, got, wanted, within);
}

static struct tw_wheel cup_of(double lead_in_rad)
{
    return (struct tw_wheel){ .kind = TW_WHEEL_CUP,
                              .diameter_mm = 100.0,
                              .rim_width_mm = 5.0,
                              .rim_contact_mm = 2.5,
                              .rim_state = lead_in_rad > 0.0 ? TW_RIM_FRESH : TW_RIM_WORN_IN,
                              .lead_in_rad = lead_in_rad };
}

/* Depth over the tangent, by hand to the digits shown: 10 um over tan 0.5, 1, 2, 5 deg; half of that at 5 um. */
Test(rim, a_fresh_edge_cuts_over_depth_by_the_tangent_of_its_lead_in)
{
    static const double angle_deg[] = { 0.5, 1.0, 2.0, 5.0 }, band_mm[] = { 1.146, 0.573, 0.286, 0.114 };

    for (size_t i = 0; i < 4; i++) {
        struct tw_wheel cup = cup_of(angle_deg[i] * DEGREE);

        expect_near("the band at 10 um", tw_cup_contact_mm(&cup, 0.0, 0.010), band_mm[i], 0.0005);
        expect_near("the band at 5 um", tw_cup_contact_mm(&cup, 0.0, 0.005), band_mm[i] / 2.0, 0.0005);
        expect_near("with the leading edge lowest", tw_cup_contact_mm(&cup, -0.001, 0.010), band_mm[i], 0.0005);
    }
    expect_near("the lead-in assumed", tw_rim_lead_in_rad(TW_RIM_FRESH), DEGREE, 1e-12);
    expect_near("of a rim that is worn in", tw_rim_lead_in_rad(TW_RIM_WORN_IN), 0.0, 0.0);
}

Test(rim, no_band_is_longer_than_the_rim_is_wide)
{
    struct tw_wheel cup = cup_of(0.5 * DEGREE);

    for (double depth_mm = 0.001; depth_mm < 1.0; depth_mm *= 1.5)
        for (double lean = -0.01; lean < 0.011; lean += 0.001)
            cr_expect(le(dbl, tw_cup_contact_mm(&cup, lean, depth_mm), 5.0));
}

/* A taper of 1 mm a face in 110 mm, the trade's example: 10 um lie under a level rim for 0.010 * 110 = 1.1 mm. */
Test(rim, in_the_level_mount_the_band_is_depth_over_slope)
{
    struct tw_wheel worn = cup_of(0.0), fresh = cup_of(DEGREE);

    expect_near("worn in, square", tw_cup_contact_mm(&worn, 0.0, 0.010), 2.5, 0.0);
    expect_near("worn in, towards the butt", tw_cup_contact_mm(&worn, 1.0 / 110.0, 0.010), 1.1, 1e-9);
    expect_near("worn in, from the butt", tw_cup_contact_mm(&worn, -1.0 / 110.0, 0.010), 1.1, 1e-9);
    expect_near("fresh, towards the butt", tw_cup_contact_mm(&fresh, 1.0 / 110.0, 0.010), 1.1, 1e-9);
    expect_near("fresh, from the butt", tw_cup_contact_mm(&fresh, -1.0 / 110.0, 0.010), 0.573, 0.0005);
}

/* A head tilted by 0.05 mm in 100 mm leads 2 um in over 4 mm. Of 10 um a rim 5 mm wide leads in 2.5 um; the edge, 1 deg,
 * takes the other 7.5 um over 0.430 mm. By hand 0.75 / sqrt(0.4297) + 0.25 / sqrt(5) = 1.2560, so no hotter than one band
 * of 1 / 1.2560^2 = 0.634 mm. */
Test(rim, a_tilted_head_eases_the_edge_by_what_the_rim_leads_in)
{
    struct tw_wheel fresh = cup_of(DEGREE);

    expect_near("light pass", tw_cup_contact_mm(&fresh, 0.0005, 0.002), 4.0, 1e-9);
    expect_near("deep pass", tw_cup_contact_mm(&fresh, 0.0005, 0.010), 0.634, 0.0005);
    cr_expect(gt(dbl, tw_cup_contact_mm(&fresh, 0.0005, 0.010), tw_cup_contact_mm(&fresh, 0.0, 0.010)));
    cr_expect(lt(dbl, tw_cup_contact_mm(&fresh, -0.0005, 0.010), tw_cup_contact_mm(&fresh, 0.0005, 0.010)));
}

/* The deeper band follows the one that only rubs; with both as bands of their own, moving fast, the rise at the end of the
 * second is the first's, fallen off, and its own: sqrt(a) - sqrt(a - b) of a band b long at the distance a behind its
 * front, Carslaw and Jaeger 2.9 for a flux that ends. The one band that stands for both must be at least as hot. */
Test(rim, the_one_band_of_a_leaning_rim_is_as_hot_as_edge_and_flat_together)
{
    struct tw_wheel fresh = cup_of(DEGREE);

    for (double depth_mm = 0.003; depth_mm < 0.05; depth_mm *= 1.2) {
        double flat_mm = 0.0025, edge_mm = depth_mm - flat_mm, edge_band_mm = edge_mm / tan(DEGREE);
        double one = 1.0 / sqrt(tw_cup_contact_mm(&fresh, 0.0005, depth_mm)); /* rise over power, in any unit */
        double at_edge = edge_mm / depth_mm / sqrt(edge_band_mm);
        double length_mm = edge_band_mm + 5.0;
        double at_end = edge_mm / depth_mm / edge_band_mm * (sqrt(length_mm) - sqrt(length_mm - edge_band_mm)) +
                        flat_mm / depth_mm / sqrt(5.0);

        cr_expect(ge(dbl, one, at_edge));
        cr_expect(ge(dbl, one, at_end));
    }
}

/* tan(tilt) (R - sqrt(R^2 - b^2/4)), by hand: 0.0005 (50 - sqrt(2500 - 156.25)) = 0.794 um on 25 mm, and 0.0005 * 3.1625 = 1.581 um on 35 mm. */
Test(rim, a_tilted_head_leaves_the_middle_of_the_face_hollow)
{
    double tilt_rad = atan(0.0005);

    expect_near("on 25 mm", tw_rim_dish_mm(100.0, tilt_rad, 25.0), 0.000794, 1e-6);
    expect_near("on 35 mm", tw_rim_dish_mm(100.0, tilt_rad, 35.0), 0.001581, 1e-6);
    expect_near("wider than the wheel", tw_rim_dish_mm(100.0, tilt_rad, 200.0), 0.025, 1e-9);
    expect_near("square", tw_rim_dish_mm(100.0, 0.0, 35.0), 0.0, 0.0);
}

/* ---- plans and proofs ---- */

/* One program a side. */
static void make_shallow(struct tw_job *job)
{
    sample_shallow(job);
    job->order = TW_ORDER_A_THEN_B;
}

static void make_fresh(struct tw_job *job)
{
    make_shallow(job);
    job->wheel.rim_state = TW_RIM_FRESH;
    job->wheel.lead_in_rad = DEGREE;
}

static void tilt_head(struct tw_job *job)
{
    make_shallow(job);
    job->machine.head_tilt_rad = atan(0.0005);
}

static void prove(const struct sample *sample, const struct tw_job *job, struct tw_verdict *verdict)
{
    struct tw_card cards[TW_SETUPS_MOST];
    struct tw_findings findings = { 0 };

    for (size_t i = 0; i < sample->plan.setup_count; i++)
        cards[i] =
            (struct tw_card){ i == 0 ? "side-a.nc" : "side-b.nc", sample->programs[i], strlen(sample->programs[i]) };
    cr_assert(eq(int, tw_verdict_make(job, cards, sample->plan.setup_count, 0.25, verdict, &findings), TW_OK));
    tw_findings_free(&findings);
}

static bool passes(const struct tw_verdict *verdict, enum tw_check_id id)
{
    bool passed = true;

    for (size_t i = 0; i < verdict->count; i++)
        passed = passed && !verdict->proofs[i].checks[id].failed;
    return passed;
}

Test(rim, a_plan_for_a_fresh_rim_keeps_the_limit_and_one_for_a_worn_in_rim_does_not_pass_with_a_fresh_one,
     ONLY_IN_RELEASE)
{
    struct sample worn, fresh;
    struct tw_job job;
    struct tw_verdict verdict;

    sample_open_with(&worn, "santoku-170", make_shallow);
    sample_open_with(&fresh, "santoku-170", make_fresh);
    cr_expect(le(dbl, fresh.plan.reserve_degC, fresh.plan.limit_degC));
    cr_expect(gt(dbl, fresh.plan.cycle_time_s, 2.0 * worn.plan.cycle_time_s));

    prove(&worn, &worn.job, &verdict);
    cr_expect(passes(&verdict, TW_CHECK_TEMPERATURE));
    tw_verdict_free(&verdict);
    job = worn.job;
    job.wheel.lead_in_rad = DEGREE;
    prove(&worn, &job, &verdict);
    cr_expect(not(passes(&verdict, TW_CHECK_TEMPERATURE)));
    cr_expect(gt(dbl, verdict.reserve_degC, 250.0)); /* half the rim against 0.57 mm: more than twice the rise */
    tw_verdict_free(&verdict);
    prove(&fresh, &fresh.job, &verdict);
    cr_expect(passes(&verdict, TW_CHECK_TEMPERATURE));
    tw_verdict_free(&verdict);
    sample_close(&worn);
    sample_close(&fresh);
}

/* The dish is no matter of the program's, so the field does not show it; the dry-run has to add it. */
Test(rim, the_dish_of_a_tilted_head_counts_as_unevenness, ONLY_IN_RELEASE)
{
    struct sample square, tilted;
    struct tw_verdict with, without;
    double more_mm, width_mm;

    sample_open_with(&square, "santoku-170", make_shallow);
    sample_open_with(&tilted, "santoku-170", tilt_head);
    prove(&tilted, &tilted.job, &with);
    prove(&tilted, &square.job, &without);
    more_mm = with.proofs[0].checks[TW_CHECK_FLATNESS].amount - without.proofs[0].checks[TW_CHECK_FLATNESS].amount;
    width_mm = 2.0 * sqrt(37.5 * 37.5 - pow(37.5 - more_mm / 0.0005, 2.0));
    /* Turned round, the formula must give the width of the drawing's tang, 25 to 32 mm. */
    cr_expect(ge(dbl, width_mm, 25.0));
    cr_expect(le(dbl, width_mm, 32.0));
    expect_near("the plan's dish", tilted.plan.setups[0].dish_mm, more_mm, 1e-6);
    tw_verdict_free(&with);
    tw_verdict_free(&without);
    sample_close(&square);
    sample_close(&tilted);
}

/* Whoever loads the program sees what state of the rim its heat was reckoned with. Half of a rim of 6 mm shares the cut when it is
 * worn in: docs/wheel-state.md. */
Test(rim, program_and_sheet_say_the_state_that_the_plan_counts_on, ALSO_IN_RELEASE)
{
    struct sample fresh;
    char *program = sample_slurp("santoku-170", "side-b-rough.nc"), *page = sample_slurp("santoku-170", "setup.html");
    char *disc = sample_slurp("chef-210", "side-a-rough.nc");

    cr_expect(strstr(program, "(RIM WORN IN, 3.00 mm OF IT CUT - A FRESH OR DRESSED RIM RUNS HOTTER)\n") != NULL);
    cr_expect(strstr(page, "<strong>Rim planned as worn in: 3.0&nbsp;mm") ||
              strstr(page, "<strong>Rim planned as worn in: 3.0\u00a0mm"));
    cr_expect(strstr(disc, "(RIM ") == NULL);
    free(program);
    free(page);
    free(disc);
    if (SANITIZED)
        return;
    sample_open_with(&fresh, "santoku-170", make_fresh);
    cr_expect(strstr(fresh.programs[0], "(RIM FRESH - ITS EDGE CUTS)\n") != NULL);
    sample_close(&fresh);
}
