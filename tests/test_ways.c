/* test_ways.c - how the wheel goes over the layers of a face, against hand calculation. Guards against one lane too many, a cup
 * that comes down on stock, haste in the steel, and a plate taken to be thinner than it is. */
#include "samples/sample.h"

#include "plan/cuts/cut.h"

#include <math.h>

static void read_shallow(const char *name, struct tw_job *job)
{
    struct tw_findings findings = { 0 };
    char path[128];

    snprintf(path, sizeof path, "samples/%s/job.cfg", name);
    cr_assert(eq(int, tw_job_read(path, job, &findings), TW_OK));
    tw_findings_free(&findings);
    sample_shallow(job);
    job->order = TW_ORDER_A_THEN_B;
}

static void expect_planned(const struct tw_job *job, struct tw_plan *plan)
{
    struct tw_findings findings = { 0 };
    enum tw_status status = tw_plan_make(job, plan, &findings);

    if (status != TW_OK)
        show_findings(&findings);
    cr_assert(eq(int, status, TW_OK));
    tw_findings_free(&findings);
}

/* ---- lanes of a disc ---- */

Test(ways, rough_a_tang_with_no_more_lanes_than_its_width_takes)
{
    /* A tang of 26 mm under a disc of 20 mm: one lane leaves 6 mm, two reach over all of it. */
    const double width_mm = 20.0;
    struct tw_job job;
    struct tw_plan plan;
    double low_mm = HUGE_VAL, high_mm = -HUGE_VAL;

    read_shallow("hunter-110", &job);
    for (size_t i = 0; i < job.part.tang.outer.count; i++) {
        low_mm = fmin(low_mm, job.part.tang.outer.points[i].y_mm);
        high_mm = fmax(high_mm, job.part.tang.outer.points[i].y_mm);
    }
    cr_assert(high_mm - low_mm > width_mm && high_mm - low_mm < 1.9 * width_mm);
    expect_planned(&job, &plan);
    for (size_t i = 0; i < plan.setups[0].layer_count; i++)
        if (plan.setups[0].layers[i].kind == TW_LAYER_ROUGH)
            cr_expect(le(int, plan.setups[0].layers[i].lanes, 2), "layer %zu", i);
    tw_plan_free(&plan);
    tw_job_free(&job);
}

Test(ways, hurry_only_off_the_steel)
{
    /* Setup x of the tang's end, tilted: L / cos a - T0 sin a with tan a = m. A disc of radius R that takes a depth d is in
     * contact up to sqrt(2 R d - d^2) ahead of its lowest point: chord geometry, by hand. */
    struct tw_job job;
    struct tw_plan plan;
    double alpha, end_mm;
    int before = 0, behind = 0;

    read_shallow("hunter-110", &job);
    alpha = atan((job.taper.ricasso_mm - job.taper.butt_mm) / 2.0 / job.taper.length_mm);
    end_mm = job.taper.length_mm / cos(alpha) - job.taper.ricasso_mm * sin(alpha);
    expect_planned(&job, &plan);
    cr_assert(eq(int, plan.setups[0].style, TW_STYLE_BOTH_WAYS));
    for (size_t i = 1; i < plan.setups[0].move_count; i++) {
        const struct tw_move *move = &plan.setups[0].moves[i];
        double depth_mm = move->layer >= 0 ? plan.setups[0].layers[move->layer].depth_mm : 0.0;
        double from_mm = move[-1].to.x_mm, to_mm = move->to.x_mm, chord_mm;

        chord_mm = sqrt(depth_mm * (job.wheel.diameter_mm - depth_mm));
        if (move->role != TW_ROLE_OVER || fmax(from_mm, to_mm) < end_mm)
            continue;
        cr_expect(gt(dbl, move->feed_mm_per_s, plan.setups[0].layers[move->layer].table_mm_per_s), "move %zu", i);
        if (to_mm < from_mm)
            cr_expect(ge(dbl, to_mm, end_mm + chord_mm + 0.5), "move %zu comes too near", i);
        else
            cr_expect(ge(dbl, from_mm, end_mm + 0.5), "move %zu begins too near", i);
        before += to_mm < from_mm;
        behind += to_mm > from_mm;
    }
    cr_expect(before > 0 && behind > 0);
    tw_plan_free(&plan);
    tw_job_free(&job);
}

/* ---- a cup astride its layer ---- */

/* Farthest from x, y that anything of the tang stands behind the line across it at front_mm, all in the setup frame. */
static double farthest_mm(const struct tw_job *job, const struct tw_face *face, double front_mm, double x_mm,
                          double y_mm)
{
    const struct tw_ring *ring = &job->part.tang.outer;
    double side = face->side == TW_SIDE_B ? -1.0 : 1.0, farthest = 0.0;

    for (size_t i = 0; i < ring->count; i++) {
        const struct tw_point *a = &ring->points[i], *b = &ring->points[(i + 1) % ring->count];

        for (int k = 0; k <= 100; k++) {
            double x = a->x_mm + (b->x_mm - a->x_mm) * k / 100.0, y = a->y_mm + (b->y_mm - a->y_mm) * k / 100.0;

            x = face->start_mm + x / cos(face->tilt_rad);
            if (x >= front_mm)
                farthest = fmax(farthest, hypot(x - x_mm, side * y - y_mm));
        }
    }
    return farthest;
}

Test(ways, let_a_cup_come_down_astride_only_what_its_hollow_holds)
{
    /* The rim's inner radius by the profile: 75 / 2 - 6 mm. A layer whose lower plane lies b over the face begins where the
     * blank's top climbs to it: b / tan a behind the taper start. */
    const double hollow_mm = 31.5;
    struct tw_job job;
    struct tw_plan plan;
    int back = 0;

    read_shallow("santoku-170", &job);
    job.taper.band_mm = 0.0;
    expect_planned(&job, &plan);
    for (size_t s = 0; s < plan.setup_count; s++) {
        const struct tw_setup_plan *setup = &plan.setups[s];

        cr_assert(eq(int, setup->style, TW_STYLE_FROM_BUTT));
        for (size_t i = 1; i < setup->move_count; i++) {
            const struct tw_move *move = &setup->moves[i];
            struct tw_place3 down = move[-1].to;
            double front_mm;

            if (move->role != TW_ROLE_CUT || move->kind != TW_MOVE_FEED || move->to.x_mm <= down.x_mm ||
                move[-1].role != TW_ROLE_INFEED)
                continue;
            front_mm = setup->face.start_mm + setup->layers[move->layer].bottom_mm / tan(setup->face.tilt_rad);
            cr_expect(lt(dbl, farthest_mm(&job, &setup->face, front_mm, down.x_mm, down.y_mm), hollow_mm), "move %zu",
                      i);
            back++;
        }
    }
    cr_expect(gt(int, back, 0), "no layer was cut on the way back");
    tw_plan_free(&plan);
    tw_job_free(&job);
}

/* ---- one lane more ---- */

/* Nothing but a tall clamp across the blade, its edge at edge_mm. */
static void clamp_ahead(struct tw_job *job, double edge_mm)
{
    struct tw_point corners[4] = {
        { edge_mm - 20.0, -40.0 }, { edge_mm, -40.0 }, { edge_mm, 40.0 }, { edge_mm - 20.0, 40.0 }
    };
    struct tw_keep_out *clamp = &job->fixture.keep_outs[0];

    for (size_t i = 1; i < job->fixture.keep_out_count; i++) {
        free(job->fixture.keep_outs[i].name);
        free(job->fixture.keep_outs[i].plan.points);
    }
    job->fixture.keep_out_count = 1;
    cr_assert(clamp->plan.count >= 4);
    memcpy(clamp->plan.points, corners, sizeof corners);
    clamp->plan.count = 4;
    clamp->top_mm = 9.0;
}

static void set_rectangle(struct tw_job *job, double length_mm, double width_mm)
{
    double half = width_mm / 2.0;
    struct tw_point corners[4] = { { 0.0, -half }, { length_mm, -half }, { length_mm, half }, { 0.0, half } };

    cr_assert(job->part.tang.outer.count >= 4);
    memcpy(job->part.tang.outer.points, corners, sizeof corners);
    job->part.tang.outer.count = 4;
    job->taper.length_mm = length_mm;
}

Test(ways, take_one_lane_more_where_that_gets_past_a_clamp)
{
    /* A cup of radius R on the middle of a tang w wide reaches its front corners from sqrt(R^2 - w^2/4) behind them, by
     * Pythagoras; the clamp keeps it R and the clearance away. w = 50: one lane reaches 27.95 mm ahead, each of two, on half
     * of the width, sqrt(37.5^2 - 12.5^2) = 35.36 mm. Of a clamp 0.5 mm too near for one lane, two make light. */
    const double alone_mm = sqrt(37.5 * 37.5 - 25.0 * 25.0);
    struct tw_job job;
    struct tw_plan plan;
    double alpha, start_mm, last_lanes = 0.0;

    read_shallow("santoku-170", &job);
    job.taper.band_mm = 0.0;
    set_rectangle(&job, 110.0, 50.0);
    alpha = atan(0.1 / 110.0);
    start_mm = -job.taper.ricasso_mm * sin(alpha);
    clamp_ahead(&job, start_mm + alone_mm - 0.5 - 37.5 - job.fixture.clearance_mm + 1.0);
    expect_planned(&job, &plan);
    for (size_t i = 0; i < plan.setups[0].layer_count; i++)
        last_lanes = fmax(last_lanes, plan.setups[0].layers[i].lanes);
    cr_expect(ge(dbl, last_lanes, 2.0));
    tw_plan_free(&plan);
    tw_job_free(&job);
}

/* ---- what cuts are held to ---- */

/* A plan that is allowed more is brought back by its own dry-run, where it can be: nothing else would tell. */
Test(ways, cuts_are_held_to_what_job_and_profiles_state)
{
    struct tw_factors *factors;
    struct tw_cut_limits limits;
    struct tw_job job;

    read_shallow("hunter-110", &job);
    factors = tw_factors_open(&job.steel);
    cr_assert(factors != NULL);
    limits = tw_cut_limits_of(&job, TW_SIDE_A, 25e3, 100.0, factors);
    cr_expect(eq(dbl, limits.limit_degC, job.limits.tempering_degC - job.limits.margin_K));
    cr_expect(eq(dbl, limits.infeed_mm, job.wheel.max_infeed_mm));
    cr_expect(eq(dbl, limits.finish_infeed_mm, fmin(job.finish.infeed_mm, job.wheel.max_infeed_mm)));
    cr_expect(le(dbl, limits.force_N, 100.0));
    cr_expect(le(dbl, limits.power_W, job.machine.spindle_power_W));
    job.reserve.heat_K = 7.0;
    job.reserve.load_share = 0.25;
    limits = tw_cut_limits_of(&job, TW_SIDE_A, 25e3, 100.0, factors);
    cr_expect(eq(dbl, limits.limit_degC, job.limits.tempering_degC - (job.limits.margin_K + 7.0)));
    cr_expect(le(dbl, limits.force_N, 75.0));
    cr_expect(le(dbl, limits.power_W, 0.75 * job.machine.spindle_power_W));
    tw_factors_close(factors);
    tw_job_free(&job);
}

/* ---- the plate under the cut ---- */

Test(ways, count_on_the_thickness_that_is_there)
{
    /* Where the tang ends side A leaves T0 less one side's taper, side B T0 less both: by hand. */
    struct tw_factors *factors;
    struct tw_job job;
    double off_mm;

    read_shallow("hunter-110", &job);
    factors = tw_factors_open(&job.steel);
    cr_assert(factors != NULL);
    off_mm = (job.taper.ricasso_mm - job.taper.butt_mm) / 2.0;
    cr_expect(epsilon_eq(dbl, tw_cut_limits_of(&job, TW_SIDE_A, 25e3, 100.0, factors).thinnest_mm,
                         job.taper.ricasso_mm - off_mm, 1e-3));
    cr_expect(epsilon_eq(dbl, tw_cut_limits_of(&job, TW_SIDE_B, 25e3, 100.0, factors).thinnest_mm,
                         job.taper.ricasso_mm - 2.0 * off_mm, 1e-3));
    tw_factors_close(factors);
    tw_job_free(&job);
}
