/* test_wear.c - how much of the wheel goes. Guards against a loss spread over the wrong surface, a program that follows the
 * wear the wrong way or into the face, and a proof that forgets that the wheel gets smaller. */
#include "samples/sample.h"

#include "tangwright/heat.h"
#include "tangwright/proven.h"
#include "tangwright/verdict.h"
#include "tangwright/wear.h"

#include <math.h>

static void expect_near(const char *what, double got, double wanted, double within)
{
    cr_expect(fabs(got - wanted) <= within, "%s is %.9g, not %.9g within %g", what, got, wanted, within);
}

/* A tang 110 by 25 mm. */
static struct tw_point corners[] = { { 0.0, -12.5 }, { 110.0, -12.5 }, { 110.0, 12.5 }, { 0.0, 12.5 } };

static struct tw_job job_with(struct tw_wheel wheel)
{
    struct tw_job job = { .wheel = wheel, .mount = TW_MOUNT_TILTED, .parts = 1 };

    job.part.tang.outer.points = corners;
    job.part.tang.outer.count = 4;
    job.steel.wheel_wear = 1.0;
    job.coolant.kind = TW_COOLANT_FLOOD;
    return job;
}

/* 10 um off 110 by 25 mm are 27.5 mm3. By V / (G A), by hand: a cup of 100 mm with 5 mm of rim, A = pi 95 5 = 1492.3 mm2;
 * a disc of 200 by 13 mm, A = pi 200 13 = 8168.1 mm2. */
Test(wear, a_layer_costs_what_its_volume_over_ratio_and_surface_says)
{
    static const double ratio[] = { 500.0, 60.0, 20.0, 10.0, 4.0, 1.0 };
    static const double cup_um[] = { 0.03686, 0.3071, 0.9214, 1.843, 4.607, 18.43 };
    static const double disc_um[] = { 0.006733, 0.05611, 0.1683, 0.3367, 0.8417, 3.367 };
    struct tw_job cup = job_with((struct tw_wheel){ .kind = TW_WHEEL_CUP, .diameter_mm = 100.0, .rim_width_mm = 5.0 });
    struct tw_job disc = job_with((struct tw_wheel){ .kind = TW_WHEEL_DISC, .diameter_mm = 200.0, .width_mm = 13.0 });

    for (size_t i = 0; i < 6; i++) {
        expect_near("the cup's", 1e3 * tw_wear_mm(27.5, ratio[i], tw_wear_area_mm2(&cup, 0.0)), cup_um[i],
                    0.001 * cup_um[i]);
        expect_near("the disc's", 1e3 * tw_wear_mm(27.5, ratio[i], tw_wear_area_mm2(&disc, 0.0)), disc_um[i],
                    0.001 * disc_um[i]);
    }
}

/* In the level mount 10 um at a slope of 1 in 110 lie under 1.1 mm of the rim: A = pi (100 - 1.1) 1.1 = 341.77 mm2. A disc
 * wider than the tang works on 25 mm. */
Test(wear, only_what_stands_on_the_work_wears)
{
    struct tw_job level = job_with(
        (struct tw_wheel){ .kind = TW_WHEEL_CUP, .diameter_mm = 100.0, .rim_width_mm = 5.0, .max_infeed_mm = 0.010 });
    struct tw_job wide = job_with((struct tw_wheel){ .kind = TW_WHEEL_DISC, .diameter_mm = 200.0, .width_mm = 40.0 });

    level.mount = TW_MOUNT_LEVEL;
    expect_near("the ring under the layer", tw_wear_area_mm2(&level, 1.0 / 110.0), 341.77, 0.01);
    expect_near("a wide disc", tw_wear_area_mm2(&wide, 0.0), 15707.96, 0.01);
}

/* 1200 mm3 by a disc of 200 by 20 mm on a tang 25 mm wide at a ratio of 30, 5 mm a lane, half of it by either edge:
 * 600 / (30 pi 200 5) = 6.366 um, of which all the width, 1200 / (30 pi 200 20) = 3.183 um, loses half. A cup has no such edge. */
Test(wear, the_edge_of_a_disc_that_steps_across_loses_more)
{
    struct tw_job disc = job_with((struct tw_wheel){ .kind = TW_WHEEL_DISC, .diameter_mm = 200.0, .width_mm = 20.0 });
    struct tw_job cup = job_with((struct tw_wheel){ .kind = TW_WHEEL_CUP, .diameter_mm = 100.0, .rim_width_mm = 5.0 });

    expect_near("the edge", 1e3 * tw_wear_edge_mm(&disc, 1200.0, 30.0, 5.0), 6.3662 - 3.1831, 0.001);
    expect_near("all the width", tw_wear_edge_mm(&disc, 1200.0, 30.0, 20.0), 0.0, 0.0);
    expect_near("a cup", tw_wear_edge_mm(&cup, 1200.0, 30.0, 5.0), 0.0, 0.0);
}

/* 100 mm3 off each of two parts by a point of 12 mm with 6 mm of rim, pi 6 6 = 113.1 mm2, at 100, or 50 to 200. */
Test(wear, what_a_relief_costs_its_wheel)
{
    struct tw_job job = job_with((struct tw_wheel){ .kind = TW_WHEEL_CUP,
                                                    .diameter_mm = 12.0,
                                                    .rim_width_mm = 6.0,
                                                    .abrasive = TW_ABRASIVE_CBN,
                                                    .grinding_ratio = 100.0,
                                                    .grinding_ratio_least = 50.0,
                                                    .grinding_ratio_most = 200.0 });
    struct tw_wheel_loss loss;

    job.parts = 2;
    loss = tw_wear_of_relief(&job, 100.0);
    cr_expect(loss.known && !loss.follows);
    expect_near("likely", 1e3 * loss.likely_mm, 17.684, 0.001);
    expect_near("least", 1e3 * loss.least_mm, 8.842, 0.001);
    expect_near("most", 1e3 * loss.most_mm, 35.368, 0.001);
}

/* 35 on 52100 by D2's factor of 7 is 5, and 15 to 60 become 2.1 to 8.6: the tables' 3 to 8 of D2. Dry two fifths of it. CBN
 * does not mind the carbides. */
Test(wear, the_ratio_follows_steel_and_coolant)
{
    struct tw_job job = job_with((struct tw_wheel){ .abrasive = TW_ABRASIVE_ALUMINA,
                                                    .grinding_ratio = 35.0,
                                                    .grinding_ratio_least = 15.0,
                                                    .grinding_ratio_most = 60.0 });
    struct tw_grinding_ratio ratio;

    job.steel.wheel_wear = 7.0;
    ratio = tw_grinding_ratio_of(&job);
    expect_near("least", ratio.least, 2.143, 0.001);
    expect_near("likely", ratio.likely, 5.0, 1e-9);
    expect_near("most", ratio.most, 8.571, 0.001);
    job.coolant.kind = TW_COOLANT_DRY;
    expect_near("dry", tw_grinding_ratio_of(&job).likely, 2.0, 1e-9);
    job.wheel.abrasive = TW_ABRASIVE_CBN;
    expect_near("CBN, dry", tw_grinding_ratio_of(&job).likely, 8.75, 1e-9);
    job.wheel.grinding_ratio = job.wheel.grinding_ratio_least = job.wheel.grinding_ratio_most = 0.0;
    expect_near("not known", tw_grinding_ratio_of(&job).least, 0.0, 0.0);
}

/* 2 layers of 5 um over 110 by 25 mm are 27.5 mm3, down to 4 um over the face 16.5, of whichever blank. */
Test(wear, finishing_takes_its_layers_off_all_of_the_tang)
{
    struct tw_job job = job_with((struct tw_wheel){ .max_infeed_mm = 0.010 });

    job.task.scope = TW_SCOPE_FINISH;
    job.finish.layers = 2;
    job.finish.infeed_mm = 0.005;
    expect_near("all", tw_wear_volume_mm3(&job, TW_SIDE_A, 0.0, 0.0), 27.5, 1e-9);
    expect_near("down to a plane", tw_wear_volume_mm3(&job, TW_SIDE_A, 0.05, 0.004), 16.5, 1e-9);
}

/* Of 110 by 25 mm a relief has hollowed 50 by 10 mm, x 40 to 90, but for a boss of 4 by 4 mm about x = 60: 484 mm2. Finishing takes
 * 10 um off the other 2266 mm2, that is 22.66 mm3. Tapered at 1 in 110 from x = 0, height x/110 over area: 25 110^2/2/110 = 1375 mm3
 * in all, less 10 (90^2 - 40^2)/2/110 = 295.4545 and more by 16 60/110 = 8.7273: 1088.2727 mm3. */
Test(wear, what_is_hollowed_already_costs_nothing)
{
    static struct tw_point hollow[] = { { 40, -5 }, { 90, -5 }, { 90, 5 }, { 40, 5 } };
    static struct tw_point boss[] = { { 58, -2 }, { 58, 2 }, { 62, 2 }, { 62, -2 } };
    struct tw_ring hole = { boss, 4 };
    struct tw_outline piece = { .outer = { hollow, 4 }, .holes = &hole, .hole_count = 1 };
    struct tw_job job = job_with((struct tw_wheel){ .max_infeed_mm = 0.010 });

    job.task.hollows = &piece;
    job.task.hollow_count = 1;
    job.finish.layers = 2;
    job.finish.infeed_mm = 0.005;
    job.task.scope = TW_SCOPE_FINISH;
    expect_near("finishing", tw_wear_volume_mm3(&job, TW_SIDE_A, 0.0, 0.0), 22.66, 1e-9);
    job.task.scope = TW_SCOPE_WHOLE;
    job.taper.ricasso_mm = 4.0;
    job.taper.butt_mm = 2.0;
    job.taper.length_mm = 110.0;
    expect_near("tapering", tw_wear_volume_mm3(&job, TW_SIDE_A, 0.0, 0.0), 1088.2727, 1e-3);
}

/* Two stays of 10 and 20 mm3 at each of three parts: 0, 10, 20 before the first round's, 30, 50, 70 before the second's. */
Test(wear, a_wheel_that_goes_round_the_parts_is_worn_by_all_of_them)
{
    static const double stay_mm3[] = { 10.0, 20.0 }, wanted_mm3[] = { 0.0, 10.0, 20.0, 30.0, 50.0, 70.0 };
    struct tw_wear_ledger ledger;

    cr_assert(tw_wear_ledger_make(stay_mm3, stay_mm3, 2, 3, 0.0, &ledger));
    for (int i = 0; i < 6; i++)
        expect_near("before a stay", ledger.since_mm3[i], wanted_mm3[i], 1e-12);
    cr_expect(eq(int, ledger.stops, 0));
    tw_wear_ledger_free(&ledger);
}

/* Thick blanks lose 12 and 24 mm3, the wheel is dressed after 50: with 12, 24 and 36 gone the next 24 would be too much; then
 * 24 and 48, and the last one is too much again. What counts for the wear is what the thinnest, 10 and 20, cost since. */
Test(wear, a_wheel_is_dressed_before_the_stay_that_would_be_too_much)
{
    static const double thin_mm3[] = { 10.0, 20.0 }, thick_mm3[] = { 12.0, 24.0 };
    static const bool dresses[] = { false, false, false, true, false, true };
    static const double wanted_mm3[] = { 0.0, 10.0, 20.0, 0.0, 20.0, 0.0 };
    struct tw_wear_ledger ledger;

    cr_assert(tw_wear_ledger_make(thin_mm3, thick_mm3, 2, 3, 50.0, &ledger));
    for (int i = 0; i < 6; i++) {
        cr_expect(eq(int, ledger.dresses[i], dresses[i]), "stay %d", i);
        expect_near("before a stay", ledger.since_mm3[i], wanted_mm3[i], 1e-12);
    }
    cr_expect(eq(int, ledger.stops, 2));
    expect_near("at the first stop", ledger.taken_mm3[3], 36.0, 1e-12);
    tw_wear_ledger_free(&ledger);
    cr_expect(tw_wear_stay_is_full(50.5, 50.0));
    cr_expect(not(tw_wear_stay_is_full(1e9, 0.0)));
}

/* 1000 mm3 at each of three others, over 1000 mm2: 15 um at a ratio of 200, 7.5 um at 400. */
Test(wear, a_wheel_that_lasts_better_comes_lower_to_the_next_part)
{
    struct tw_wheel_loss loss = { .follows = true, .ratio = 200.0, .ratio_most = 400.0, .area_mm2 = 1000.0 };

    expect_near("of four parts", tw_wear_jump_mm(&loss, 3000.0), 0.0075, 1e-12);
    loss.follows = false;
    expect_near("not followed", tw_wear_jump_mm(&loss, 3000.0), 0.0, 0.0);
}

/* ---- plans and proofs ---- */

/* The santoku by a wheel that wears as alumina on 52100 under plenty of coolant: 0.2 mm off its butt. */
static void wear_fast(struct tw_job *job)
{
    sample_shallow(job);
    job->order = TW_ORDER_A_THEN_B;
    job->wheel.grinding_ratio = job->wheel.grinding_ratio_least = job->wheel.grinding_ratio_most = 20.0;
    job->finish.thickness_mm = 0.02;
}

static void wear_not(struct tw_job *job)
{
    sample_shallow(job);
    job->order = TW_ORDER_A_THEN_B;
    job->wheel.grinding_ratio = job->wheel.grinding_ratio_least = job->wheel.grinding_ratio_most = 0.0;
}

/* A job whose plan passes its own dry-run, which finds what following the wear in whole steps adds to the heat. */
struct own {
    struct tw_job job;
    struct tw_proven proven;
};

static void own_open_of(struct own *own, const char *path, void (*change)(struct tw_job *job))
{
    struct tw_findings findings = { 0 };

    cr_assert(eq(int, tw_job_read(path, &own->job, &findings), TW_OK));
    change(&own->job);
    if (tw_proven_make(&own->job, &own->proven, &findings) != TW_OK) {
        show_findings(&findings);
        cr_fatal("no plan");
    }
    tw_findings_free(&findings);
}

static void own_open(struct own *own, void (*change)(struct tw_job *job))
{
    own_open_of(own, "samples/santoku-170/job.cfg", change);
}

static void own_close(struct own *own)
{
    tw_proven_free(&own->proven);
    tw_job_free(&own->job);
}

static void prove(const struct own *own, const struct tw_job *job, struct tw_verdict *verdict)
{
    struct tw_findings findings = { 0 };

    cr_assert(eq(int, tw_verdict_make(job, own->proven.cards, own->proven.count, 0.25, verdict, &findings), TW_OK));
    tw_findings_free(&findings);
}

/* Lowest height of the cuts of the last layer. */
static double last_z_mm(const struct tw_setup_plan *setup)
{
    double z_mm = HUGE_VAL;

    for (size_t i = 0; i < setup->move_count; i++)
        if (setup->moves[i].role == TW_ROLE_CUT)
            z_mm = setup->moves[i].to.z_mm;
    return z_mm;
}

/* Tilted, the face is level as it lies, and so is every lane, where the feed changes off the steel too. */
static void expect_level_lanes(const struct tw_setup_plan *setup)
{
    size_t over = 0;

    for (size_t i = 1; i < setup->move_count; i++) {
        const struct tw_move *move = &setup->moves[i];

        over += move->role == TW_ROLE_OVER;
        if (move->role == TW_ROLE_CUT || move->role == TW_ROLE_OVER)
            cr_expect(eq(dbl, move->to.z_mm, setup->moves[i - 1].to.z_mm), "move %zu of layer %d", i, move->layer);
    }
    cr_expect(gt(sz, over, 0)); /* else nothing was asked */
}

/* 0.1 mm off each face at the butt, a wedge over the tang: some 0.05 mm on its area. The rim has pi 69 6 = 1300.6 mm2 and mist
 * halves CBN's ratio to 10, so the loss is the volume over 13006 mm2. */
Test(wear, a_program_that_follows_the_wear_leaves_the_face_where_one_that_does_not_leaves_it_high, ONLY_IN_RELEASE)
{
    struct own fast, still;
    struct tw_verdict with, without, alone;
    const struct tw_wheel_loss *loss;
    double wanted_mm, left_mm;

    own_open(&fast, wear_fast);
    own_open(&still, wear_not);
    loss = &fast.proven.plan.setups[0].loss;
    cr_expect(not(still.proven.plan.setups[0].loss.known));
    wanted_mm = tw_face_removed_mm3(&fast.job, TW_SIDE_A) / 13006.0;
    expect_near("the loss", loss->likely_mm, wanted_mm, 0.001 * wanted_mm);
    cr_assert(loss->follows);
    expect_near("the last layer", last_z_mm(&still.proven.plan.setups[0]) - last_z_mm(&fast.proven.plan.setups[0]),
                wanted_mm, 0.0015);
    expect_level_lanes(&fast.proven.plan.setups[0]);

    prove(&fast, &fast.job, &with);
    for (int id = 0; id < TW_CHECK_COUNT; id++)
        cr_expect(not(with.proofs[0].checks[id].failed || with.proofs[1].checks[id].failed), "%s: %g of %g",
                  tw_check_name((enum tw_check_id)id), with.proofs[0].checks[id].amount,
                  with.proofs[0].checks[id].limit);
    cr_expect(le(dbl, with.proofs[0].checks[TW_CHECK_STOCK_LEFT].amount, 0.004));
    prove(&still, &fast.job, &without); /* the same wheel, but nobody followed */
    /* What it leaves standing over the tang's area does not wear it: loss = (V - loss S) / (G A). */
    left_mm = tw_face_removed_mm3(&fast.job, TW_SIDE_A) / (13006.0 + tw_tang_area_mm2(&fast.job));
    expect_near("stock left", without.proofs[0].checks[TW_CHECK_STOCK_LEFT].amount, left_mm, 0.001);
    prove(&fast, &still.job, &alone); /* followed, though nothing wore: cut into the face */
    cr_expect(alone.proofs[0].checks[TW_CHECK_GOUGE].failed);
    tw_verdict_free(&with);
    tw_verdict_free(&without);
    tw_verdict_free(&alone);
    own_close(&fast);
    own_close(&still);
}

/* A range from a quarter to four times as long-lived: the fast wheel stays high by 4 - 1, the slow one goes low by 1 - 1/4 of
 * the likely loss. */
static void wear_uncertainly(struct tw_job *job)
{
    wear_fast(job);
    job->wheel.grinding_ratio_least = 5.0;
    job->wheel.grinding_ratio_most = 80.0;
    job->finish.thickness_mm = 0.2;
}

Test(wear, the_range_of_the_ratio_is_the_uncertainty_of_the_face, ONLY_IN_RELEASE)
{
    struct own own;
    struct tw_verdict verdict;
    const struct tw_wheel_loss *loss;

    own_open(&own, wear_uncertainly);
    loss = &own.proven.plan.setups[0].loss;
    cr_assert(loss->follows);
    expect_near("too high", loss->high_mm, 3.0 * loss->likely_mm, 0.0015);
    expect_near("too low", loss->low_mm, 0.75 * loss->likely_mm, 0.0015);
    prove(&own, &own.job, &verdict);
    expect_near("as proved", verdict.proofs[0].checks[TW_CHECK_WEAR].amount, 3.0 * loss->likely_mm, 0.003);
    cr_expect(not(verdict.proofs[0].checks[TW_CHECK_WEAR].failed));
    tw_verdict_free(&verdict);
    own_close(&own);
}

/* With that ratio, its range as wide in proportion as it is. */
static void expect_planned_at(const struct tw_job *job, double ratio)
{
    struct tw_findings findings = { 0 };
    struct tw_job altered = *job;
    struct tw_plan plan;

    altered.wheel.grinding_ratio_least *= ratio / job->wheel.grinding_ratio;
    altered.wheel.grinding_ratio_most *= ratio / job->wheel.grinding_ratio;
    altered.wheel.grinding_ratio = ratio;
    cr_expect(eq(int, tw_plan_make(&altered, &plan, &findings), TW_OK), "at %g", ratio);
    tw_plan_free(&plan);
    tw_findings_free(&findings);
}

Test(wear, a_face_less_certain_than_asked_for_is_refused_with_what_helps)
{
    struct tw_findings findings = { 0 };
    const char *at;
    double ratio;
    struct tw_job job;
    struct tw_plan plan;

    cr_assert(eq(int, tw_job_read("samples/santoku-170/job.cfg", &job, &findings), TW_OK));
    wear_uncertainly(&job);
    job.finish.thickness_mm = 0.02;
    cr_expect(eq(int, tw_plan_make(&job, &plan, &findings), TW_NO_PLAN));
    cr_assert(gt(sz, findings.count, 0));
    at = strstr(findings.items[findings.count - 1].text, "a wheel.grinding_ratio of ");
    cr_assert(at != NULL, "%s", findings.items[findings.count - 1].text);
    cr_assert(eq(int, sscanf(at, "a wheel.grinding_ratio of %lf", &ratio), 1));
    expect_planned_at(&job, ratio);
    at = strstr(findings.items[findings.count - 1].text, "measured to a tenth");
    cr_assert(at != NULL, "%s", findings.items[findings.count - 1].text);
    job.wheel.grinding_ratio_least = 0.9 * job.wheel.grinding_ratio;
    job.wheel.grinding_ratio_most = 1.1 * job.wheel.grinding_ratio;
    expect_planned_at(&job, job.wheel.grinding_ratio);
    tw_findings_free(&findings);
    tw_job_free(&job);
}

/* ---- several parts ---- */

/* How much a soft machine leaves of so few layers is another matter. */
#define NO_MATTER_MM 0.08

/* Four utility knives by a wheel that lasts 20 under plenty of coolant, 10 under mist: pi 54 6 = 1017.9 mm2 of rim. */
static void wear_four(struct tw_job *job)
{
    sample_shallow(job);
    job->wheel.grinding_ratio = job->wheel.grinding_ratio_least = job->wheel.grinding_ratio_most = 20.0;
    job->finish.thickness_mm = NO_MATTER_MM;
}

static void wear_four_not(struct tw_job *job)
{
    sample_shallow(job);
    job->wheel.grinding_ratio = job->wheel.grinding_ratio_least = job->wheel.grinding_ratio_most = 0.0;
}

/* The last of four meets a wheel that has lost three parts' volume, and loses its own: 4 V / (G A). Where nobody follows, each
 * part stands so much higher than the one before as it wears the wheel; what stands does not wear it: for part k
 * left_k = (V_1 + ... + V_k) / (G A), V_k = V - left_k S. */
Test(wear, each_of_several_parts_is_followed_by_what_the_others_cost_the_wheel, ONLY_IN_RELEASE)
{
    struct own fast, still;
    struct tw_verdict with, without;
    const struct tw_wheel_loss *loss;
    double volume_mm3, tang_mm2, worn_mm2 = 10178.8, taken_mm3 = 0.0, left_mm = 0.0;

    own_open_of(&fast, "samples/utility-four/job.cfg", wear_four);
    own_open_of(&still, "samples/utility-four/job.cfg", wear_four_not);
    loss = &fast.proven.plan.setups[0].loss;
    volume_mm3 = tw_face_removed_mm3(&fast.job, TW_SIDE_A);
    tang_mm2 = tw_tang_area_mm2(&fast.job);
    cr_assert(loss->follows);
    expect_near("the last part", loss->followed_mm, 4.0 * (volume_mm3 - fast.job.taper.band_mm * tang_mm2) / worn_mm2,
                0.05 * loss->followed_mm + 0.001);
    for (int part = 1; part < 4; part++)
        cr_expect(gt(dbl, tw_plan_part_loss(&fast.job, &fast.proven.plan.setups[0], part).followed_mm,
                     tw_plan_part_loss(&fast.job, &fast.proven.plan.setups[0], part - 1).followed_mm));
    prove(&fast, &fast.job, &with);
    for (int id = 0; id < TW_CHECK_COUNT; id++)
        cr_expect(not(with.proofs[0].checks[id].failed || with.proofs[1].checks[id].failed), "%s: %g of %g",
                  tw_check_name((enum tw_check_id)id), with.proofs[0].checks[id].amount,
                  with.proofs[0].checks[id].limit);

    for (int part = 0; part < 4; part++) {
        left_mm = (taken_mm3 + volume_mm3) / (worn_mm2 + tang_mm2);
        taken_mm3 += volume_mm3 - left_mm * tang_mm2;
    }
    still.job.wheel.grinding_ratio = still.job.wheel.grinding_ratio_least = still.job.wheel.grinding_ratio_most = 20.0;
    still.job.taper.band_mm = 0.0; /* the blank as stated */
    prove(&still, &still.job, &without);
    expect_near("stock left", without.proofs[0].checks[TW_CHECK_STOCK_LEFT].amount, left_mm, 0.02 * left_mm + 0.001);
    cr_expect(eq(int, without.proofs[0].checks[TW_CHECK_STOCK_LEFT].part, 4));
    tw_verdict_free(&with);
    tw_verdict_free(&without);
    own_close(&fast);
    own_close(&still);
}

/* Most is twenty times the likely: 0.95 of what three parts are reckoned to cost the wheel, some 17 um of three times 60 mm3,
 * more than a layer, may not be gone when it comes to the fourth. */
static void wear_four_uncertainly(struct tw_job *job)
{
    wear_four(job);
    job->wheel.grinding_ratio_least = 15.0;
    job->wheel.grinding_ratio_most = 400.0;
    job->finish.thickness_mm = 0.2;
}

/* The wheel lasts as well, or as badly, as it may: the programs that were planned for its likely ratio keep depth, holding and
 * temperatures all the same. How far off the face may be is the matter of the check of wear. */
Test(wear, programs_hold_for_either_end_of_the_ratio, ONLY_IN_RELEASE)
{
    static const enum tw_check_id asked[] = { TW_CHECK_DEPTH, TW_CHECK_POWER,       TW_CHECK_HOLDING,
                                              TW_CHECK_BULK,  TW_CHECK_TEMPERATURE, TW_CHECK_RAPIDS };
    struct own own;

    own_open_of(&own, "samples/utility-four/job.cfg", wear_four_uncertainly);
    for (int end = 0; end < 2; end++) {
        struct tw_job job = own.job;
        struct tw_verdict verdict;

        job.wheel.grinding_ratio = end ? job.wheel.grinding_ratio_most : job.wheel.grinding_ratio_least;
        prove(&own, &job, &verdict);
        for (size_t i = 0; i < sizeof asked / sizeof *asked; i++)
            for (size_t k = 0; k < 2; k++)
                cr_expect(not(verdict.proofs[k].checks[asked[i]].failed), "%s at ratio %g: %g of %g",
                          tw_check_name(asked[i]), job.wheel.grinding_ratio, verdict.proofs[k].checks[asked[i]].amount,
                          verdict.proofs[k].checks[asked[i]].limit);
        tw_verdict_free(&verdict);
    }
    own_close(&own);
}

/* A disc of 200 mm that has lost a millimetre of its diameter: at the same spindle speed it is 0.5 % slower, and by the root of depth times
 * diameter its contact is 0.25 % shorter. What heat there is (Jaeger 1942: by the root of time) it spreads so over 0.25 % less
 * length in as much less time: the flash changes by half of one per cent at the most. docs/wheel-state.md counts on it. */
Test(wear, a_millimetre_of_a_discs_diameter_is_no_matter_for_the_flash)
{
    struct tw_findings findings = { 0 };
    struct tw_flash flash[2];
    struct tw_job job;

    cr_assert(eq(int, tw_job_read("samples/chef-210/job.cfg", &job, &findings), TW_OK));
    for (int less = 0; less < 2; less++) {
        double diameter_mm = 200.0 - less;
        struct tw_contact contact = { .depth_mm = 0.01,
                                      .table_mm_per_s = 200.0,
                                      .wheel_mm_per_s = 25e3 * diameter_mm / 200.0,
                                      .contact_mm = sqrt(0.01 * diameter_mm),
                                      .engaged_mm = 5.0 };

        cr_assert(eq(int,
                     tw_flash_estimate(&contact, &job.wheel, &job.steel, &job.coolant, 20.0, &flash[less], &findings),
                     TW_OK));
    }
    cr_assert(gt(dbl, flash[0].dry_rise_K, 0.0));
    cr_expect(flash[0].dry_rise_K != flash[1].dry_rise_K);
    expect_near("flash", flash[1].dry_rise_K / flash[0].dry_rise_K, 1.0, 0.005);
    tw_findings_free(&findings);
    tw_job_free(&job);
}

/* ---- dressing ---- */

/* A santoku whose wheel wants dressing after a third of a side. */
static void dress_often(struct tw_job *job)
{
    wear_fast(job);
    job->wheel.dress_after_mm3 = 0.4 * tw_face_removed_mm3(job, TW_SIDE_A);
}

/* Lines of the program with `from` in the place of `to`, in the lines after the n-th with `mark`; NULL for no such line. */
static char *damaged(const char *text, const char *from, const char *to)
{
    const char *stop = strstr(text, "STOP - DRESS"), *found;
    char *out;

    cr_assert(stop != NULL);
    for (found = stop; found > text && strncmp(found, from, strlen(from)) != 0; found--)
        ;
    if (found == text)
        found = strstr(stop, from);
    cr_assert(found != NULL, "%s", from);
    out = malloc(strlen(text) + strlen(to) + 1);
    cr_assert(out != NULL);
    sprintf(out, "%.*s%s%s", (int)(found - text), text, to, found + strlen(from));
    return out;
}

static void expect_fault(const struct own *own, const char *from, const char *to, enum tw_check_id id, const char *says)
{
    char *text = damaged(own->proven.cards[0].text, from, to);
    struct tw_card card = { own->proven.cards[0].name, text, strlen(text) };
    struct tw_findings findings = { 0 };
    struct tw_verdict verdict;

    cr_assert(eq(int, tw_verdict_make(&own->job, &card, 1, 0.25, &verdict, &findings), TW_OK));
    cr_expect(verdict.proofs[0].checks[id].failed, "%s", says);
    cr_expect(strstr(verdict.proofs[0].checks[id].note, says) != NULL, "'%s', not '%s'",
              verdict.proofs[0].checks[id].note, says);
    tw_verdict_free(&verdict);
    tw_findings_free(&findings);
    free(text);
}

/* The blanks are as stated: of one side 0.4 are dressed after three times at the most, and at least twice. After each stop the
 * loss counts from nothing: the face is off by what wears in a third of it. */
Test(wear, a_program_stops_for_dressing_where_it_is_safe, ONLY_IN_RELEASE)
{
    struct own own;
    struct tw_verdict verdict;
    const struct tw_setup_plan *setup;
    int stops = 0;

    own_open(&own, dress_often);
    setup = &own.proven.plan.setups[0];
    for (const char *at = own.proven.cards[0].text; (at = strstr(at, "M0\n")) != NULL; at++)
        stops++;
    cr_expect(eq(int, stops, setup->ledger.stops));
    cr_expect(stops == 2 || stops == 3, "%d stops", stops);
    prove(&own, &own.job, &verdict);
    for (int id = 0; id < TW_CHECK_COUNT; id++)
        cr_expect(not(verdict.proofs[0].checks[id].failed), "%s: %g of %g, %s", tw_check_name((enum tw_check_id)id),
                  verdict.proofs[0].checks[id].amount, verdict.proofs[0].checks[id].limit,
                  verdict.proofs[0].checks[id].note);
    cr_expect(verdict.proofs[0].checks[TW_CHECK_DRESSING].asked);
    cr_expect(gt(dbl, verdict.proofs[0].checks[TW_CHECK_DRESSING].amount, 0.5 * own.job.wheel.dress_after_mm3));
    tw_verdict_free(&verdict);
    expect_fault(&own, "M0\n", "\n", TW_CHECK_DRESSING, "");
    expect_fault(&own, "M5\n", "\n", TW_CHECK_MODES, "while the spindle turns");
    expect_fault(&own, "M9\n", "\n", TW_CHECK_MODES, "while the coolant flows");
    expect_fault(&own, "M0\n", "M1\n", TW_CHECK_MODES, "M1 only stops");
    expect_fault(&own, "M0\n", "G0 Z3\nM0\n", TW_CHECK_MODES, "lower than would be clear");
    expect_fault(&own, "M0\nG21 G17 G90 G94\n", "M0\n", TW_CHECK_MODES, "during the stop would count");
    own.job.machine.dialect.program_stop = false;
    expect_fault(&own, "M0\n", "M0\n", TW_CHECK_MODES, "does not know");
    own_close(&own);
}

/* Two utility knives with a hollow in side A by a point of 12 mm, which wants dressing after a hollow and a half or so. */
static void hollow_two(struct tw_job *job)
{
    job->taper.butt_mm = job->taper.ricasso_mm - 0.2; /* little to grind besides */
    job->parts = 2;
    job->relief = (struct tw_relief){
        .depth_mm = 0.1, .land_mm = 4.0, .boss_mm = 4.0, .end_mm = 6.0, .sides = TW_RELIEF_A, .when = TW_RELIEF_LAST
    };
    job->relief_wheel = job->wheel;
    job->relief_wheel.name = strdup(job->wheel.name);
    job->relief_wheel.diameter_mm = 12.0;
    job->relief_wheel.rim_width_mm = 6.0;
    job->relief_wheel.rim_contact_mm = 3.0;
    job->relief_wheel.speed_mm_per_s = 3700.0;
    job->relief_wheel.dress_after_mm3 = 100.0;
}

/* The hollow is as large as the region that the point reaches, 0.1 mm deep: what the dry-run finds gone between two dressings is
 * that, and without the stop twice as much, above what the wheel takes. */
Test(wear, the_program_of_a_hollow_stops_between_two_parts, ONLY_IN_RELEASE)
{
    struct own own;
    struct tw_verdict verdict;
    const struct tw_setup_plan *hollow;
    const struct tw_check *check;
    double part_mm3;

    own_open_of(&own, "samples/utility-four/job.cfg", hollow_two);
    hollow = &own.proven.plan.setups[1];
    cr_assert(eq(int, hollow->scope, TW_SCOPE_RELIEF));
    part_mm3 = 0.1 * hollow->relief.reached_mm2;
    cr_assert(part_mm3 > 50.0 && part_mm3 < 97.0, "%g mm3", part_mm3);
    cr_expect(eq(int, hollow->ledger.stops, 1));
    prove(&own, &own.job, &verdict);
    check = &verdict.proofs[1].checks[TW_CHECK_DRESSING];
    cr_expect(check->asked && !check->failed);
    expect_near("a hollow", check->amount, part_mm3, 0.05 * part_mm3);
    tw_verdict_free(&verdict);
    memcpy(strstr(own.proven.texts[1], "M00"), "   ", 3);
    prove(&own, &own.job, &verdict);
    check = &verdict.proofs[1].checks[TW_CHECK_DRESSING];
    cr_expect(check->failed);
    expect_near("two hollows", check->amount, 2.0 * part_mm3, 0.05 * 2.0 * part_mm3);
    tw_verdict_free(&verdict);
    own_close(&own);
}

/* One knife, whose hollow of some 75 mm3 is more than the point takes off before it wants dressing, and a point that wears. */
static void hollow_one(struct tw_job *job)
{
    hollow_two(job);
    job->parts = 1;
    job->relief_wheel.dress_after_mm3 = 30.0;
    job->relief_wheel.grinding_ratio = job->relief_wheel.grinding_ratio_least = job->relief_wheel.grinding_ratio_most =
        60.0;
}

/* At each stop the worn wheel stands V / (G A) too high, A = pi 6 6 = 113.1 mm2 of its rim: the layers that it takes again,
 * from the top down, are so deep that none meets more than its own depth. */
static void expect_taken_again(const struct tw_setup_plan *hollow, double ratio)
{
    const struct tw_layer *layers = hollow->layers;

    for (size_t i = 1; i < hollow->layer_count; i++) {
        double standing_mm = hollow->ledger.taken_mm3[layers[i].stay] / (ratio * 113.1),
               last_mm = layers[i - 1].bottom_mm;

        if (!layers[i].comes)
            continue;
        cr_assert(layers[i].again, "layer %zu", i);
        cr_expect(standing_mm > 0.0 && standing_mm <= layers[i].bottom_mm - last_mm + layers[i].depth_mm + 1e-9,
                  "layer %zu meets %g mm", i, standing_mm);
    }
}

/* Within one hollow: no more than the wheel takes off is found between two dressings, and without the first stop more is. */
Test(wear, the_program_of_one_hollow_stops_between_its_layers, ONLY_IN_RELEASE)
{
    struct own own;
    struct tw_verdict verdict;
    const struct tw_setup_plan *hollow;
    const struct tw_check *check;

    own_open_of(&own, "samples/utility-four/job.cfg", hollow_one);
    hollow = &own.proven.plan.setups[1];
    cr_assert(eq(int, hollow->scope, TW_SCOPE_RELIEF));
    cr_expect(hollow->ledger.stops >= 2 && hollow->ledger.stops <= 4, "%d stops", hollow->ledger.stops);
    expect_taken_again(hollow, tw_grinding_ratio_of(&own.job).likely > 0.0 ? hollow->relief.loss.ratio_least : 60.0);
    prove(&own, &own.job, &verdict);
    for (int id = 0; id < TW_CHECK_COUNT; id++)
        cr_expect(not(verdict.proofs[1].checks[id].failed), "%s: %g of %g, %s", tw_check_name((enum tw_check_id)id),
                  verdict.proofs[1].checks[id].amount, verdict.proofs[1].checks[id].limit,
                  verdict.proofs[1].checks[id].note);
    check = &verdict.proofs[1].checks[TW_CHECK_DRESSING];
    cr_expect(check->asked && check->amount > 15.0 && check->amount <= 30.0, "%g mm3", check->amount);
    tw_verdict_free(&verdict);
    memcpy(strstr(own.proven.texts[1], "M00"), "   ", 3);
    prove(&own, &own.job, &verdict);
    cr_expect(verdict.proofs[1].checks[TW_CHECK_DRESSING].failed);
    tw_verdict_free(&verdict);
    own_close(&own);
}

/* Side A of a knife hollowed by a disc of 175 by 12 mm that wears fast and wants dressing after less than a trough, of some 12 by
 * 75 mm and 0.25 mm deep, which is 225 mm3. */
static void hollow_by_disc(struct tw_job *job)
{
    job->taper.butt_mm = job->taper.ricasso_mm - 0.2; /* little to grind besides */
    job->order = TW_ORDER_A_THEN_B;
    job->finish.thickness_mm = 0.2;
    job->relief.sides = TW_RELIEF_A;
    job->relief_wheel = job->wheel;
    job->relief_wheel.name = strdup(job->wheel.name);
    job->relief_wheel.dress_after_mm3 = 100.0;
    job->relief_wheel.grinding_ratio = job->relief_wheel.grinding_ratio_least = job->relief_wheel.grinding_ratio_most =
        1.0;
}

static const struct tw_setup_plan *hollow_of(const struct own *own, size_t *index)
{
    for (*index = 0; *index < own->proven.plan.setup_count; ++*index)
        if (own->proven.plan.setups[*index].scope == TW_SCOPE_RELIEF)
            return &own->proven.plan.setups[*index];
    cr_fatal("no hollow");
}

/* Where the wheel comes back to the trough that it left, it begins so many layers higher that none meets more than its own depth of
 * what it had left standing: V / (G A) with A = pi 175 12 = 6597 mm2, and G of the ratio. */
static void expect_torn(const struct tw_setup_plan *hollow, double ratio)
{
    const struct tw_layer *layers = hollow->layers;
    const struct tw_move *moves = hollow->moves;
    size_t torn = 0, stay = 0;

    for (size_t i = 1; i + 1 < hollow->move_count; i++) {
        size_t before = i - 1, after = i + 1;
        double standing_mm;

        if (!moves[i].enters)
            continue;
        while (before > 0 && moves[before].role != TW_ROLE_CUT)
            before--;
        while (after + 1 < hollow->move_count && moves[after].role != TW_ROLE_CUT)
            after++;
        standing_mm = hollow->ledger.taken_mm3[++stay] / (ratio * 6597.0);
        if (moves[before].to.y_mm != moves[after].to.y_mm)
            continue;
        torn++;
        cr_expect(le(int, moves[after].layer, moves[before].layer), "it comes again");
        cr_expect(standing_mm > 0.0 && standing_mm <= layers[moves[after].layer].bottom_mm -
                                                          layers[moves[before].layer].bottom_mm +
                                                          layers[moves[after].layer].depth_mm + 1e-9,
                  "layer %d meets %g mm", moves[after].layer, standing_mm);
    }
    cr_expect(gt(sz, torn, 1), "%zu", torn);
}

/* No more than the wheel takes off is found between two dressings; and without the first stop more is. */
Test(wear, a_trough_that_is_too_much_for_the_wheel_is_torn_between_its_layers, ONLY_IN_RELEASE)
{
    struct own own;
    struct tw_verdict verdict;
    const struct tw_setup_plan *hollow;
    const struct tw_check *check;
    size_t index;

    own_open_of(&own, "samples/butcher-180/job.cfg", hollow_by_disc);
    hollow = hollow_of(&own, &index);
    cr_expect(gt(int, hollow->ledger.stops, 2));
    expect_torn(hollow, hollow->relief.loss.ratio_least);
    prove(&own, &own.job, &verdict);
    check = &verdict.proofs[index].checks[TW_CHECK_DRESSING];
    cr_expect(check->asked && check->amount > 50.0 && check->amount <= 100.0, "%g mm3", check->amount);
    for (int id = 0; id < TW_CHECK_COUNT; id++)
        cr_expect(not(verdict.proofs[index].checks[id].failed), "%s", tw_check_name((enum tw_check_id)id));
    tw_verdict_free(&verdict);
    memcpy(strstr(own.proven.texts[index], "M00"), "   ", 3);
    prove(&own, &own.job, &verdict);
    cr_expect(verdict.proofs[index].checks[TW_CHECK_DRESSING].failed);
    tw_verdict_free(&verdict);
    own_close(&own);
}

static void hollow_in_one_go(struct tw_job *job)
{
    hollow_one(job);
    job->relief_wheel.dress_after_mm3 = 0.5;
}

static double told_mm3(const struct tw_findings *findings)
{
    static const char words[] = "dress_after = \"";
    const char *at = strstr(findings->items[findings->count - 1].text, words);

    return at ? strtod(at + strlen(words), NULL) : 0.0;
}

static double told_infeed_mm(const struct tw_findings *findings)
{
    static const char words[] = "wheel.max_infeed = \"";
    const char *at = strstr(findings->items[findings->count - 1].text, words);

    return at ? strtod(at + strlen(words), NULL) : 0.0;
}

/* The wheel takes less than one layer of it: what is told to help does. Under the sanitizers, where each plan takes seconds, the refusal
 * and the plan that is dressed for; another refusal and a lighter infeed with TEST_SAMPLES=all (make checked-tests). */
Test(wear, a_hollow_whose_layer_is_too_much_for_the_wheel_is_refused, ALSO_IN_RELEASE)
{
    struct tw_findings findings = { 0 };
    struct tw_job job;
    struct tw_plan plan;
    double mm3, infeed_mm;

    cr_assert(eq(int, tw_job_read("samples/utility-four/job.cfg", &job, &findings), TW_OK));
    hollow_in_one_go(&job);
    cr_expect(eq(int, tw_plan_make(&job, &plan, &findings), TW_NO_PLAN));
    cr_assert(gt(sz, findings.count, 0));
    cr_expect(strstr(findings.items[findings.count - 1].text, "one layer takes") != NULL, "%s",
              findings.items[findings.count - 1].text);
    mm3 = told_mm3(&findings);
    cr_assert(gt(dbl, mm3, job.relief_wheel.dress_after_mm3));
    cr_expect(eq(dbl, told_infeed_mm(&findings), 0.0),
              "lighter layers do not help against a wheel that takes so little");
    job.relief_wheel.dress_after_mm3 = mm3;
    cr_assert(eq(int, tw_plan_make(&job, &plan, &findings), TW_OK));
    tw_plan_free(&plan);
    if (!SANITIZED || sample_all_wanted()) {
        job.relief_wheel.dress_after_mm3 = 0.5 * mm3; /* half of that: with half the depth, or less */
        cr_expect(eq(int, tw_plan_make(&job, &plan, &findings), TW_NO_PLAN));
        infeed_mm = told_infeed_mm(&findings);
        cr_assert(infeed_mm > 0.0 && infeed_mm < job.relief_wheel.max_infeed_mm, "%s",
                  findings.items[findings.count - 1].text);
        job.relief_wheel.max_infeed_mm = infeed_mm;
        cr_expect(eq(int, tw_plan_make(&job, &plan, &findings), TW_OK));
        tw_plan_free(&plan);
    }
    tw_findings_free(&findings);
    tw_job_free(&job);
}

/* A wheel that takes one and a half roughings, roughly: no program stops, and before every second one it is dressed. What a program takes
 * is that of the thickest blank of the band, by the taper's own volumes. */
Test(wear, the_wheel_is_dressed_between_programs_where_two_are_too_much)
{
    struct tw_findings findings = { 0 };
    struct tw_job job;
    struct tw_plan plan;
    double since_mm3 = 0.0;
    int dressed = 0;

    cr_assert(eq(int, tw_job_read("samples/fillet-160/job.cfg", &job, &findings), TW_OK));
    sample_shallow(&job);
    job.wheel.dress_after_mm3 = 1.4 * tw_face_removed_mm3(&job, TW_SIDE_A);
    cr_assert(eq(int, tw_plan_make(&job, &plan, &findings), TW_OK));
    cr_assert(eq(sz, plan.setup_count, 4));
    for (size_t i = 0; i < plan.setup_count; i++) {
        const struct tw_setup_plan *setup = &plan.setups[i];

        cr_expect(eq(int, setup->ledger.stops, 0));
        cr_expect(setup->ledger.end_mm3 > 0.0 && setup->ledger.end_mm3 == setup->ledger.first_mm3);
        expect_near("before", setup->begins_mm3, since_mm3, 1e-9);
        cr_expect(eq(int, setup->dress_before, since_mm3 + setup->ledger.end_mm3 > 0.97 * job.wheel.dress_after_mm3),
                  "program %zu", i);
        dressed += setup->dress_before;
        since_mm3 = setup->ledger.end_mm3 + (setup->dress_before ? 0.0 : since_mm3);
    }
    cr_expect(not(plan.setups[0].dress_before));
    cr_expect(plan.setups[1].dress_before && dressed < 3);
    tw_plan_free(&plan);
    tw_findings_free(&findings);
    tw_job_free(&job);
}

static void dress_between(struct tw_job *job)
{
    sample_shallow(job);
    job->wheel.dress_after_mm3 = 1.4 * tw_face_removed_mm3(job, TW_SIDE_A);
}

static const struct tw_proof_remark *dull(const struct tw_verdict *verdict, size_t program)
{
    return &verdict->proofs[program].remarks[TW_REMARK_DULL];
}

/* First line that feeds, counted from 1. */
static int first_feed_line(const char *text)
{
    int line = 1;

    for (const char *at = text; at < strstr(text, "G1"); at++)
        line += *at == '\n';
    return line;
}

static char *without_dressing(const char *text)
{
    char *copy = strdup(text), *told;

    cr_assert(copy != NULL);
    told = strstr(copy, "(DRESS THE WHEEL BEFORE");
    cr_assert(told != NULL, "%.600s", text);
    memcpy(told, "(KEEP", 5);
    return copy;
}

/* Of four programs the wheel takes one and, roughly, half of the next: 1.4 of what the taper of a side is by its own volume. The head of
 * the second says to dress it before, and the dry-run is content. Without these words it says so, at a line of cutting, whatever
 * order the programs are named in; of the second alone there is nothing to say. */
Test(wear, a_dressing_that_is_missing_between_two_programs_is_told_of, ONLY_IN_RELEASE)
{
    struct tw_findings findings = { 0 };
    struct own own;
    struct tw_verdict verdict;
    struct tw_card turned[4];
    char *text;

    own_open_of(&own, "samples/fillet-160/job.cfg", dress_between);
    cr_assert(eq(sz, own.proven.count, 4));
    prove(&own, &own.job, &verdict);
    for (size_t i = 0; i < 4; i++)
        cr_expect(eq(int, dull(&verdict, i)->count, 0), "program %zu: %s", i, dull(&verdict, i)->text);
    tw_verdict_free(&verdict);

    text = without_dressing(own.proven.texts[1]);
    for (size_t i = 0; i < 4; i++)
        turned[3 - i] = own.proven.cards[i];
    turned[2].text = text;
    cr_assert(eq(int, tw_verdict_make(&own.job, turned, 4, 0.25, &verdict, &findings), TW_OK));
    cr_expect(verdict.cut, "each of them keeps to what the wheel takes");
    cr_assert(eq(int, dull(&verdict, 2)->count, 1));
    cr_expect(dull(&verdict, 2)->line > first_feed_line(text));
    cr_expect(dull(&verdict, 0)->count + dull(&verdict, 1)->count + dull(&verdict, 3)->count == 0);
    cr_expect(strcmp(tw_remark_name(TW_REMARK_DULL), "dull wheel") == 0);
    tw_verdict_free(&verdict);
    cr_assert(eq(int, tw_verdict_make(&own.job, &turned[2], 1, 0.25, &verdict, &findings), TW_OK));
    cr_expect(eq(int, dull(&verdict, 0)->count, 0));
    tw_verdict_free(&verdict);
    tw_findings_free(&findings);
    free(text);
    own_close(&own);
}

Test(wear, a_controller_that_does_not_stop_gets_no_program_that_must)
{
    struct tw_findings findings = { 0 };
    struct tw_job job;
    struct tw_plan plan;

    cr_assert(eq(int, tw_job_read("samples/santoku-170/job.cfg", &job, &findings), TW_OK));
    dress_often(&job);
    job.machine.dialect.program_stop = false;
    cr_expect(eq(int, tw_plan_make(&job, &plan, &findings), TW_NO_PLAN));
    cr_assert(gt(sz, findings.count, 0));
    cr_expect(strstr(findings.items[findings.count - 1].text, "has no M0") != NULL);
    tw_findings_free(&findings);
    tw_job_free(&job);
}
