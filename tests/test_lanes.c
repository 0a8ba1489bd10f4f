/* test_lanes.c - guards how a disc's lanes lie beside each other: a strip of the tang left between two, a lane said to take
 * more or less than it does, and a wheel that goes farther across than it has to. What lanes do to a tang is proved by
 * test_samples.c and test_verdict_samples.c. */
#include "samples/sample.h"

#include "plan/ways/lane.h"

#include <math.h>

/* The lowest layer, over all of the tang. */
#define BOTTOM_MM  0.0
#define DEEPEST_MM 0.01
/* Lanes reach a little over what they could just cover, and stand on the program's grid: 0.2 mm and a thousandth. */
#define OVER_MM 0.25

/* They reach so far beside the drawing, for a blank that lies a little off or is a little wider (docs/passes.md). */
#define BESIDE_MM 0.3

struct laid {
    struct tw_job job;
    struct tw_geos geos;
    struct tw_scene scene;
    struct tw_lanes lanes;
    double low_mm, high_mm; /* the tang across */
};

/* The lanes of the chef's knife, whose tang is wider than the disc. */
static void lay(struct laid *out, int count, bool first_widest, bool downwards)
{
    struct tw_findings findings = { 0 };
    struct tw_lane_rule rule = { .downwards = downwards, .first_widest = first_widest };

    cr_assert(eq(int, tw_job_read("samples/chef-210/job.cfg", &out->job, &findings), TW_OK));
    cr_assert(eq(int, tw_geos_open(&out->geos, &findings), TW_OK));
    cr_assert(eq(int, tw_scene_open(&out->scene, &out->job, TW_SIDE_A, &out->geos, &findings), TW_OK));
    out->low_mm = HUGE_VAL, out->high_mm = -HUGE_VAL;
    for (size_t i = 0; i < out->scene.tang.outer.count; i++) {
        out->low_mm = fmin(out->low_mm, out->scene.tang.outer.points[i].y_mm);
        out->high_mm = fmax(out->high_mm, out->scene.tang.outer.points[i].y_mm);
    }
    rule.crossfeed_mm = tw_lanes_share_mm(&out->scene, count, first_widest);
    cr_assert(eq(int, tw_lanes_lay(&out->scene, rule, BOTTOM_MM, DEEPEST_MM, true, &out->lanes), TW_OK));
    tw_findings_free(&findings);
}

static void drop(struct laid *laid)
{
    tw_scene_close(&laid->scene);
    tw_geos_close(&laid->geos);
    tw_job_free(&laid->job);
}

/* A tang that lies BESIDE_MM to either side is covered too. */
static bool covers(const struct laid *laid, double y_mm)
{
    for (size_t i = 0; i < laid->lanes.count; i++)
        if (fabs(laid->lanes.lanes[i].y_mm - y_mm) <= laid->job.wheel.width_mm / 2.0)
            return true;
    return false;
}

Test(lanes, reach_beside_the_drawing)
{
    for (int widest = 0; widest < 2; widest++)
        for (int downwards = 0; downwards < 2; downwards++) {
            struct laid laid;

            lay(&laid, 2, widest == 1, downwards == 1);
            cr_expect(covers(&laid, laid.low_mm - BESIDE_MM));
            cr_expect(covers(&laid, laid.high_mm + BESIDE_MM));
            drop(&laid);
        }
}

/* How much of the tang each lane finds that none before it has ground, by counting in strips of a hundredth. */
static void count_strips(const struct laid *laid, double took_mm[], double *left_mm)
{
    double half_mm = laid->job.wheel.width_mm / 2.0;

    *left_mm = 0.0;
    for (size_t i = 0; i < laid->lanes.count; i++)
        took_mm[i] = 0.0;
    for (double y_mm = laid->low_mm; y_mm < laid->high_mm; y_mm += 0.01) {
        size_t i = 0;

        while (i < laid->lanes.count && fabs(laid->lanes.lanes[i].y_mm - y_mm) > half_mm)
            i++;
        *(i < laid->lanes.count ? &took_mm[i] : left_mm) += 0.01;
    }
}

Test(lanes, equal_ones_share_the_tang_and_leave_nothing)
{
    for (int downwards = 0; downwards < 2; downwards++) {
        struct laid laid;
        double took_mm[TW_LANES_MOST], left_mm;

        lay(&laid, 2, false, downwards == 1);
        cr_assert(eq(sz, laid.lanes.count, 2));
        count_strips(&laid, took_mm, &left_mm);
        cr_expect(lt(dbl, left_mm, 0.005));
        cr_expect(lt(dbl, fabs(took_mm[0] - took_mm[1]), 2.0 * OVER_MM));
        drop(&laid);
    }
}

Test(lanes, with_the_first_as_wide_as_the_wheel_leave_the_rest_to_the_other)
{
    struct laid laid;
    double took_mm[TW_LANES_MOST], left_mm, width_mm;

    lay(&laid, 2, true, false);
    width_mm = laid.high_mm - laid.low_mm;
    cr_assert(eq(sz, laid.lanes.count, 2));
    count_strips(&laid, took_mm, &left_mm);
    cr_expect(lt(dbl, left_mm, 0.005));
    cr_expect(lt(dbl, fabs(took_mm[0] - (laid.job.wheel.width_mm - BESIDE_MM)), OVER_MM));
    cr_expect(lt(dbl, fabs(took_mm[1] - (width_mm + BESIDE_MM - laid.job.wheel.width_mm)), OVER_MM));
    drop(&laid);
}

/* Two lanes over a width w, the first of which takes f, with a wheel b wide: the wheel goes w - f across to the second, which may
 * begin the next layer from the other side b - f farther on; w + b - 2 f for a layer. Plane geometry. */
Test(lanes, with_the_first_as_wide_as_the_wheel_are_the_shorter_way_across)
{
    double across_mm[2], width_mm = 0.0, wheel_mm = 0.0;

    for (int widest = 0; widest < 2; widest++) {
        struct laid now, next;
        const struct tw_lane *lanes;
        double begin_mm[2];

        lay(&now, 2, widest == 1, false);
        lay(&next, 2, widest == 1, true);
        lanes = now.lanes.lanes;
        begin_mm[0] = fabs(next.lanes.lanes[0].y_mm - lanes[1].y_mm);
        begin_mm[1] = fabs(next.lanes.lanes[1].y_mm - lanes[1].y_mm);
        across_mm[widest] =
            fabs(lanes[1].y_mm - lanes[0].y_mm) + (widest ? fmin(begin_mm[0], begin_mm[1]) : begin_mm[0]);
        width_mm = now.high_mm - now.low_mm;
        wheel_mm = now.job.wheel.width_mm;
        drop(&now);
        drop(&next);
    }
    cr_expect(lt(dbl, fabs(across_mm[0] - wheel_mm), 2.0 * OVER_MM));
    cr_expect(lt(dbl, fabs(across_mm[1] - (width_mm + 2.0 * BESIDE_MM - wheel_mm)), 2.0 * OVER_MM));
}

Test(lanes, there_are_none_with_a_widest_first_where_the_wheel_covers_the_tang_or_the_crossfeed_the_rest)
{
    struct laid laid;

    lay(&laid, 2, false, false);
    cr_expect(gt(dbl, tw_lanes_share_mm(&laid.scene, 2, true), 0.0));
    laid.job.wheel.max_crossfeed_ratio = 0.5; /* 10 mm of the 20 mm, where some 6 mm are left */
    cr_expect(eq(dbl, tw_lanes_share_mm(&laid.scene, 2, true), 0.0));
    laid.job.wheel.max_crossfeed_ratio = 0.15;
    laid.job.wheel.width_mm = 40.0;
    cr_expect(eq(dbl, tw_lanes_share_mm(&laid.scene, 2, true), 0.0));
    drop(&laid);
}
