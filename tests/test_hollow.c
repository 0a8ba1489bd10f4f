/* test_hollow.c - guards the ways of the wheel over a relief: a land, an end or a boss cut into, a place left standing
 * between two ways, a hollow said to be larger than the wheel can make it, and a wheel that fits nowhere planned all the
 * same. Whole programs are proved by test_samples.c and test_verdict_samples.c. */
#include "balance/knife.h"
#include "input/failing_memory.h"
#include "plan/ways/front.h"
#include "plan/ways/track.h"
#include "plan/ways/trough.h"
#include "sanitized.h"

#include <stdlib.h>

/* A wheel on a machine that says thousandths; the rest is the knife's. */
static void give_wheel(struct knife *knife, enum tw_wheel_kind kind, double diameter_mm, double width_mm)
{
    struct tw_job *job = &knife->job;
    struct tw_axis axis = { .letter = 'X', .sign = 1, .rapid_mm_per_s = 50.0, .acceleration_mm_per_s2 = 500.0 };

    job->wheel = (struct tw_wheel){ .kind = kind,
                                    .diameter_mm = diameter_mm,
                                    .width_mm = width_mm,
                                    .rim_width_mm = diameter_mm / 2.0,
                                    .max_crossfeed_ratio = 0.5,
                                    .max_infeed_mm = 0.01 };
    job->machine.along = job->machine.across = job->machine.up = axis;
    job->machine.smallest_step_mm = 0.001;
    job->machine.dialect.length_decimals = 3;
    job->machine.dialect.path_mode = TW_PATH_BLENDED;
    job->travel = (struct tw_travel){ 10.0, 5.0, 1.0, 1.0, 1.0 };
    job->mount = kind == TW_WHEEL_CUP ? TW_MOUNT_TILTED : TW_MOUNT_LEVEL;
    job->relief.depth_mm = 0.25;
    job->fixture.friction = 0.15;
    job->parts = 1;
}

struct laid {
    struct tw_geos geos;
    struct tw_scene scene;
    struct tw_relief_area ground;
    struct tw_tracks tracks;
};

/* The relief of side A, its floor as the face. */
static enum tw_status lay(const struct tw_job *job, struct laid *out, struct tw_findings *findings)
{
    enum tw_status status;

    memset(out, 0, sizeof *out);
    status = tw_geos_open(&out->geos, findings);
    if (status == TW_OK)
        status = tw_scene_open(&out->scene, job, TW_SIDE_A, &out->geos, findings);
    if (status == TW_OK)
        status = tw_relief_area_open(&out->scene, job->relief.depth_mm, &out->ground);
    if (status == TW_OK)
        status = tw_tracks_lay(&out->ground, -1e3, &out->tracks);
    return status;
}

static void drop(struct laid *laid)
{
    tw_tracks_free(&laid->tracks);
    tw_relief_area_close(&laid->ground);
    tw_scene_close(&laid->scene);
    tw_geos_close(&laid->geos);
}

/* Half the chord of a circle at height d over its lowest point is sqrt(d (2 R - d)): the run-out is never shorter, and
 * longer by the part d / 4R. */
Test(run_out, is_half_a_chord_and_a_little_more)
{
    double radii_mm[] = { 50.0, 87.5, 150.0 }, depths_mm[] = { 0.05, 0.3, 1.0 };

    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 3; k++) {
            double r = radii_mm[i], d = depths_mm[k], half_chord_mm = sqrt(d * (2.0 * r - d));

            cr_expect(ge(dbl, tw_run_out_mm(r, d), half_chord_mm));
            cr_expect(le(dbl, tw_run_out_mm(r, d), half_chord_mm * (1.0 + d / (3.9 * r))));
        }
}

/* 100 x 40 mm, a land of 5, an end of 10: a region of 85 x 30. A point of radius 6 leaves R^2 (1 - pi/4) in each corner,
 * and its loops 6 mm apart (half its diameter) fill a strip of half-width 15 - 6 with two: at 0 and 6. */
Test(loops, fill_a_rectangle_but_for_its_corners)
{
    struct knife knife;
    struct laid laid;
    double corner_mm2 = 36.0 * (1.0 - PI / 4.0), margin_mm2 = 0.05 * 230.0;

    knife_rectangle(&knife, 100.0, 40.0, 0.0);
    knife.job.relief.land_mm = 5.0;
    give_wheel(&knife, TW_WHEEL_CUP, 12.0, 10.0);
    cr_assert(eq(int, lay(&knife.job, &laid, NULL), TW_OK));
    /* Tilted, lengths along the face are longer by 1/cos: 5e-5 of them. */
    cr_expect(epsilon_eq(dbl, laid.ground.area_mm2, 2550.0, 0.2));
    cr_expect(lt(dbl, laid.ground.reached_mm2, 2550.2 - 4.0 * corner_mm2));
    cr_expect(gt(dbl, laid.ground.reached_mm2, 2550.0 - 4.0 * corner_mm2 - margin_mm2));
    cr_expect(eq(sz, laid.tracks.count, 2));
    cr_expect(laid.tracks.items[1].linked && !laid.tracks.items[0].linked);
    cr_assert(gt(sz, laid.ground.left_count, 0));
    drop(&laid);
}

/* The leg of the way behind a front that goes along the lower edge, in steps of the grid from where it begins at the back. */
struct grid_leg {
    long back_x, back_y, x, y;
};

static struct grid_leg lower_leg(const struct tw_scene *scene, struct tw_shapes *shapes, const GEOSGeometry *region,
                                 double from_mm)
{
    const struct tw_offset how = { .shortest_move_mm = TW_SHORTEST_MOVE_MM, .shortest_loop_mm = 0.5 };
    const GEOSGeometry *behind =
        tw_shape_common(shapes, region, tw_shape_of_box(shapes, (struct tw_box){ from_mm, -100.0, 100.0, 100.0 }));
    struct tw_tracks tracks = { 0 };
    struct grid_leg leg = { 0 };
    bool any;

    cr_assert(eq(int, tw_offset_rings(scene, shapes, behind, how, &tracks, &any), TW_OK));
    cr_assert(eq(int, tw_front_move(scene, shapes, region, from_mm, &tracks), TW_OK));
    cr_assert(eq(sz, tracks.count, 1));
    for (size_t i = 0; i < tracks.items[0].count; i++) {
        struct tw_point a = tracks.items[0].points[i], b = tracks.items[0].points[(i + 1) % tracks.items[0].count];
        struct tw_point back = a.x_mm > b.x_mm ? a : b, front = a.x_mm > b.x_mm ? b : a;

        if (back.y_mm > -7.0 || front.x_mm > from_mm + scene->step_mm || back.x_mm - front.x_mm < 2.0)
            continue;
        leg.back_x = lround(back.x_mm / scene->step_mm);
        leg.back_y = lround(back.y_mm / scene->step_mm);
        leg.x = lround(front.x_mm / scene->step_mm) - leg.back_x;
        leg.y = lround(front.y_mm / scene->step_mm) - leg.back_y;
    }
    tw_tracks_free(&tracks);
    return leg;
}

/* An edge from x = 13 to x = 44 mm whose back corner lies 0.048 mm from the next one, which is too short a move: wherever the
 * way is cut off, its leg along the edge points the same way to the last bit of the grid, so that no way leaves a strip to the
 * next. */
Test(loops, begin_at_any_front_on_one_line)
{
    struct tw_point points[] = { { 13.3655, -8.8062 }, { 44.1702, -7.7502 }, { 44.2184, -7.7469 },
                                 { 60.0, -6.9 },       { 60.0, 5.0 },        { 12.5, 5.0 } };
    struct tw_ring ring = { points, 6 };
    struct tw_findings findings = { 0 };
    struct tw_geos geos;
    struct tw_scene scene = { .geos = &geos, .step_mm = 0.00254, .findings = &findings };
    struct tw_shapes shapes;
    const GEOSGeometry *region;
    struct grid_leg first;

    cr_assert(eq(int, tw_geos_open(&geos, &findings), TW_OK));
    shapes = tw_shapes_open(&geos, "test", &findings);
    region = tw_front_gridded(&scene, &shapes, tw_shape_of_ring(&shapes, &ring));
    first = lower_leg(&scene, &shapes, region, 14.0);
    cr_assert(ne(long, first.x, 0));
    for (double from_mm = 16.0; from_mm < 40.0; from_mm += 2.0) {
        struct grid_leg leg = lower_leg(&scene, &shapes, region, from_mm);

        cr_expect(eq(long, leg.back_x, first.back_x), "%g", from_mm);
        cr_expect(eq(long, leg.x *first.y, leg.y *first.x), "%g: %ld, %ld", from_mm, leg.x, leg.y);
    }
    cr_expect(eq(int, tw_shapes_close(&shapes), TW_OK));
    tw_geos_close(&geos);
    tw_findings_free(&findings);
}

/* Distance of the way a-b from a place. */
static double off_way_mm(struct tw_point a, struct tw_point b, double x_mm, double y_mm)
{
    double dx = b.x_mm - a.x_mm, dy = b.y_mm - a.y_mm, length2 = dx * dx + dy * dy;
    double t = length2 > 0.0 ? ((x_mm - a.x_mm) * dx + (y_mm - a.y_mm) * dy) / length2 : 0.0;

    t = fmax(0.0, fmin(1.0, t));
    return hypot(a.x_mm + t * dx - x_mm, a.y_mm + t * dy - y_mm);
}

/* Round a boss of radius 3 + 2 a point of radius 4 keeps 9 mm from its middle, links included, and 4 from every side. */
Test(loops, keep_off_land_and_bosses)
{
    struct knife knife;
    struct laid laid;
    struct tw_point last = { 0.0, 0.0 };
    double hole_x_mm, cosine, low_mm, high_mm;

    knife_rectangle(&knife, 100.0, 44.0, 0.0);
    knife_hole(&knife, 50.0, 0.0, 3.0, 720);
    give_wheel(&knife, TW_WHEEL_CUP, 8.0, 10.0);
    cr_assert(eq(int, lay(&knife.job, &laid, NULL), TW_OK));
    cosine = 1.0 / laid.scene.face.stretch;
    hole_x_mm = 50.0 / cosine + laid.scene.face.start_mm;
    low_mm = 10.0 / cosine + laid.scene.face.start_mm + 4.0;
    high_mm = 96.0 / cosine + laid.scene.face.start_mm - 4.0;
    cr_assert(gt(sz, laid.tracks.count, 2));
    for (size_t i = 0; i < laid.tracks.count; i++) {
        const struct tw_track *loop = &laid.tracks.items[i];

        if (loop->linked)
            cr_expect(gt(dbl, off_way_mm(last, loop->points[0], hole_x_mm, 0.0), 9.0 - 1e-3));
        for (size_t k = 0; k < loop->count; k++) {
            struct tw_point a = loop->points[k], b = loop->points[(k + 1) % loop->count];

            cr_expect(gt(dbl, off_way_mm(a, b, hole_x_mm, 0.0), 9.0 - 1e-4));
            cr_expect(a.x_mm >= low_mm && a.x_mm <= high_mm && fabs(a.y_mm) <= 22.0 - 4.0 - 4.0);
        }
        last = loop->points[0];
    }
    drop(&laid);
}

/* What is weighed of a relief is what the wheel takes out: three troughs over 85 by 30 mm with two thirds of a run-out that is
 * left at either end; about the middle of the region, 52.5 mm from the taper start. */
Test(weight, of_a_relief_is_what_a_disc_takes_out)
{
    struct knife knife;
    struct tw_balance balance;
    double run_out_mm = sqrt(2.0 * 87.5 * 0.25), area_mm2 = 30.0 * (85.0 - 2.0 / 3.0 * run_out_mm);

    knife_rectangle(&knife, 100.0, 40.0, 0.0);
    knife.job.relief.land_mm = 5.0;
    give_wheel(&knife, TW_WHEEL_DISC, 175.0, 12.0);
    for (int side = 0; side < 2; side++) {
        knife.job.relief.sides = side == 0 ? TW_RELIEF_A : TW_RELIEF_B;
        cr_assert(eq(int, tw_plan_balance(&knife.job, &balance, NULL), TW_OK));
        cr_expect(epsilon_eq(dbl, balance.relief[side].volume_mm3, 0.25 * area_mm2, 1e-3 * area_mm2));
        cr_expect(epsilon_eq(dbl, balance.relief[side].x_mm, 52.5, 0.05));
        cr_expect(epsilon_eq(dbl, balance.relief[side].y_mm, 0.0, 0.05));
        cr_expect(epsilon_eq(dbl, balance.region_mm2, 85.0 * 30.0, 0.1));
    }
}

/* A round wheel of radius 5 leaves (4 - pi) 25 mm2 in the corners of 85 by 30 mm, and a strip for rounding and thinning all
 * round; a wheel that fits nowhere takes out nothing, and that is remarked. */
Test(weight, of_a_relief_is_what_a_round_wheel_takes_out)
{
    struct knife knife;
    struct tw_balance balance;
    struct tw_findings findings = { 0 };
    double most_mm2 = 85.0 * 30.0 - (4.0 - acos(-1.0)) * 25.0;

    knife_rectangle(&knife, 100.0, 40.0, 0.0);
    knife.job.relief.land_mm = 5.0;
    knife.job.mount = TW_MOUNT_TILTED;
    give_wheel(&knife, TW_WHEEL_CUP, 10.0, 5.0);
    cr_assert(eq(int, tw_plan_balance(&knife.job, &balance, &findings), TW_OK));
    cr_expect(le(dbl, balance.hollowed_mm2, most_mm2));
    cr_expect(ge(dbl, balance.hollowed_mm2, most_mm2 - 0.2 * 2.0 * (85.0 + 30.0)));
    cr_expect(epsilon_eq(dbl, balance.relief[0].volume_mm3, 0.25 * balance.hollowed_mm2, 1e-6 * most_mm2));
    cr_expect(eq(sz, findings.count, 0));
    give_wheel(&knife, TW_WHEEL_CUP, 40.0, 5.0);
    cr_assert(eq(int, tw_plan_balance(&knife.job, &balance, &findings), TW_OK));
    cr_expect(epsilon_eq(dbl, balance.relief[0].mass_g, 0.0, 0.0));
    cr_expect(eq(sz, findings.count, 1));
    tw_findings_free(&findings);
}

/* A disc 12 mm wide over 30 mm: three troughs. Each is shorter than the region by a run-out at both ends. */
Test(troughs, lie_side_by_side_and_run_out_inside)
{
    struct knife knife;
    struct laid laid;
    double run_out_mm = sqrt(2.0 * 87.5 * 0.25), shift_mm;

    knife_rectangle(&knife, 100.0, 40.0, 0.0);
    knife.job.relief.land_mm = 5.0;
    give_wheel(&knife, TW_WHEEL_DISC, 175.0, 12.0);
    cr_assert(eq(int, lay(&knife.job, &laid, NULL), TW_OK));
    cr_expect(epsilon_eq(dbl, laid.ground.run_out_mm, run_out_mm, 1e-12));
    cr_expect(eq(sz, laid.ground.lane_count, 3));
    cr_expect(epsilon_eq(dbl, laid.ground.reached_mm2, 30.0 * (85.0 - 2.0 * run_out_mm), 0.2));
    /* Under a parabola lie two thirds of its length times its height. */
    cr_expect(epsilon_eq(dbl, laid.ground.hollowed_mm2, 30.0 * (85.0 - 2.0 / 3.0 * run_out_mm), 0.2));
    cr_assert(eq(sz, laid.tracks.count, 3));
    /* On the slope m a disc touches R m / sqrt(1 + m^2) uphill of its programmed point; m = 1/100 here. */
    shift_mm = 87.5 * 0.01 / sqrt(1.0001);
    for (size_t i = 0; i < 3; i++) {
        const struct tw_track *trough = &laid.tracks.items[i];

        cr_expect(ge(dbl, trough->points[1].x_mm - shift_mm, 10.0 + run_out_mm - 1e-3));
        cr_expect(le(dbl, trough->points[0].x_mm - shift_mm, 95.0 - run_out_mm + 1e-3));
        cr_expect(
            gt(dbl, trough->length_mm, 85.0 - 2.0 * run_out_mm - 0.3)); /* z is whole thousandths: x steps by 0.1 */
        cr_expect(le(dbl, fabs(trough->points[0].y_mm), 9.0));
    }
    drop(&laid);
}

/* Two bosses in the middle: the troughs beside them go through, those over them stop short. */
Test(troughs, stop_short_of_bosses)
{
    struct knife knife;
    struct laid laid;
    double run_out_mm = sqrt(2.0 * 87.5 * 0.25), shift_mm = 87.5 * 0.01 / sqrt(1.0001);

    knife_rectangle(&knife, 100.0, 30.0, 0.0);
    knife_hole(&knife, 50.0, 0.0, 3.0, 720);
    give_wheel(&knife, TW_WHEEL_DISC, 175.0, 12.0);
    cr_assert(eq(int, lay(&knife.job, &laid, NULL), TW_OK));
    for (size_t i = 0; i < laid.tracks.count; i++) {
        const struct tw_track *trough = &laid.tracks.items[i];
        double gap_mm = fmax(0.0, fabs(trough->points[0].y_mm) - 6.0); /* the disc's edge from the middle line */
        double boss_mm = gap_mm < 5.0 ? sqrt(25.0 - gap_mm * gap_mm) : 0.0;

        /* Either side of the boss, with the run-out, by the circle's own equation. */
        cr_expect(trough->points[1].x_mm - shift_mm >= 50.0 + boss_mm + run_out_mm - 1e-3 ||
                  trough->points[0].x_mm - shift_mm <= 50.0 - boss_mm - run_out_mm + 1e-3);
    }
    cr_expect(ge(sz, laid.tracks.count, 2));
    drop(&laid);
}

/* ---- refusals ---- */

static void expect_refusal(const struct tw_job *job, const char *words)
{
    struct tw_findings findings = { 0 };
    struct laid laid;

    cr_assert(eq(int, lay(job, &laid, &findings), TW_NO_PLAN));
    cr_assert(eq(sz, findings.count, 1));
    cr_expect(strstr(findings.items[0].text, words) != NULL, "%s", findings.items[0].text);
    tw_findings_free(&findings);
    drop(&laid);
}

/* The wheel that the refusal names. */
static double named_wheel_mm(const struct tw_job *job)
{
    struct tw_findings findings = { 0 };
    struct laid laid;
    const char *words;
    double wheel_mm = 0.0;

    cr_assert(eq(int, lay(job, &laid, &findings), TW_NO_PLAN));
    cr_assert(eq(sz, findings.count, 1));
    words = strstr(findings.items[0].text, "one of ");
    cr_assert(words != NULL && sscanf(words, "one of %lf mm would just fit", &wheel_mm) == 1, "%s",
              findings.items[0].text);
    tw_findings_free(&findings);
    drop(&laid);
    return wheel_mm;
}

/* The largest circle in 85 x 30 is 30 across. A wheel's centres keep off the edge by what thins their corners, up to 0.15 mm where
 * the machine comes to rest at each, so a wheel of just 30 mm finds no room; the one named does. */
Test(refusal, names_the_largest_wheel_that_would_fit)
{
    struct knife knife;
    struct laid laid;
    double wheel_mm;

    knife_rectangle(&knife, 100.0, 40.0, 0.0);
    knife.job.relief.land_mm = 5.0;
    for (int i = 0; i < 2; i++) {
        knife.job.machine.dialect.path_mode = i == 0 ? TW_PATH_BLENDED : TW_PATH_UNSET;
        give_wheel(&knife, TW_WHEEL_CUP, 30.0, 10.0);
        wheel_mm = named_wheel_mm(&knife.job);
        cr_expect(lt(dbl, wheel_mm, 30.0));
        cr_expect(ge(dbl, wheel_mm, 30.0 - 2.0 * 0.15 - 0.05));
        give_wheel(&knife, TW_WHEEL_CUP, wheel_mm, 10.0);
        cr_assert(eq(int, lay(&knife.job, &laid, NULL), TW_OK));
        drop(&laid);
    }
    give_wheel(&knife, TW_WHEEL_DISC, 175.0, 31.0);
    expect_refusal(&knife.job, "31 mm wide");
    knife_rectangle(&knife, 45.0, 40.0, 0.0);
    give_wheel(&knife, TW_WHEEL_DISC, 1000.0, 12.0);
    expect_refusal(&knife.job, "runs out over 15.8 mm"); /* sqrt(2 * 500 * 0.25) */
}

Test(refusal, a_cup_in_the_level_mount_makes_no_flat_floor)
{
    struct knife knife;

    knife_rectangle(&knife, 100.0, 40.0, 0.0);
    give_wheel(&knife, TW_WHEEL_CUP, 12.0, 10.0);
    knife.job.mount = TW_MOUNT_LEVEL;
    expect_refusal(&knife.job, "mount = \"tilted\"");
}

/* ---- memory ---- */

static void expect_all_given_back(enum tw_wheel_kind kind, int least)
{
    struct knife knife;
    /* Under the sanitizers every fifth: what is lost or read too late lies on many of the ways out. */
    int failures = 0, step = SANITIZED ? 5 : 1;

    knife_rectangle(&knife, 60.0, 40.0, 0.0);
    knife_hole(&knife, 30.0, 0.0, 3.0, 24);
    give_wheel(&knife, kind, kind == TW_WHEEL_CUP ? 8.0 : 100.0, 12.0);
    for (long n = 0;; n += step) {
        struct laid laid;
        enum tw_status status;

        allocations_until_failure = n;
        status = lay(&knife.job, &laid, NULL);
        drop(&laid);
        if (allocations_until_failure >= 0) {
            cr_assert(eq(int, status, TW_OK));
            break;
        }
        cr_assert(eq(int, status, TW_NO_MEMORY), "allocation %ld", n);
        cr_assert(eq(long, blocks_in_use, 0), "allocation %ld", n);
        failures++;
    }
    allocations_until_failure = -1;
    cr_expect(ge(int, step *failures, least), "%d", failures);
}

Test(hollow_memory, every_allocation_may_fail, ALSO_IN_RELEASE)
{
    expect_all_given_back(TW_WHEEL_CUP, 20);
    expect_all_given_back(TW_WHEEL_DISC, 20);
}
