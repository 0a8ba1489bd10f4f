/* test_relief.c - guards the region of a relief: a land or boss that is too narrow, a piece lost, a face said to have
 * room that has none. Closed forms here; whole outlines beside Shapely in test_balance_reference.c. */
#include "balance/knife.h"
#include "geometry/ring.h"
#include "tangwright/relief.h"

static struct tw_relief_region region_of(const struct knife *knife)
{
    struct tw_relief_region region;

    cr_assert(eq(int, tw_relief_region(&knife->job, &region, NULL), TW_OK));
    return region;
}

Test(relief, a_rectangle_is_shrunk_by_the_land_and_by_the_end_at_the_taper_start)
{
    struct tw_relief_region region;
    struct knife knife;
    struct tw_box box;

    knife_rectangle(&knife, 100.0, 20.0, 0.0);
    region = region_of(&knife);
    cr_assert(eq(sz, region.count, 1));
    box = tw_ring_box(&region.pieces[0].outer);
    cr_expect(epsilon_eq(dbl, box.min_x_mm, 10.0, 1e-9));
    cr_expect(epsilon_eq(dbl, box.max_x_mm, 96.0, 1e-3));
    cr_expect(le(dbl, box.max_x_mm, 96.0)); /* never less land than asked for */
    cr_expect(le(dbl, box.max_y_mm, 6.0));
    expect_near("area", region.area_mm2, 86.0 * 12.0);
    expect_near("far", region.far_mm, 96.0);
    tw_relief_free(&region);
    knife.job.relief.end_mm = 1.0; /* the land is wider */
    region = region_of(&knife);
    expect_near("area", region.area_mm2, 92.0 * 12.0);
    tw_relief_free(&region);
}

Test(relief, bosses_stay)
{
    struct tw_relief_region region;
    struct knife knife;

    knife_rectangle(&knife, 100.0, 30.0, 0.0);
    knife_hole(&knife, 40.0, 1.0, 2.0, 360);
    region = region_of(&knife);
    cr_assert(eq(sz, region.count, 1));
    cr_assert(eq(sz, region.pieces[0].hole_count, 1));
    expect_near("area", region.area_mm2, 86.0 * 22.0 - PI * 16.0);
    tw_relief_free(&region);
}

static double distance_mm(struct tw_point p, const struct tw_ring *ring)
{
    double nearest_mm = HUGE_VAL;

    for (size_t i = 0; i < ring->count; i++) {
        struct tw_point a = ring->points[i], b = ring->points[(i + 1) % ring->count];
        double dx = b.x_mm - a.x_mm, dy = b.y_mm - a.y_mm;
        double t = fmax(0.0, fmin(1.0, ((p.x_mm - a.x_mm) * dx + (p.y_mm - a.y_mm) * dy) / (dx * dx + dy * dy)));

        nearest_mm = fmin(nearest_mm, hypot(a.x_mm + t * dx - p.x_mm, a.y_mm + t * dy - p.y_mm));
    }
    return nearest_mm;
}

Test(relief, the_middle_of_a_chord_round_a_corner_is_not_nearer_than_the_boss)
{
    struct tw_relief_region region;
    struct knife knife;
    const struct tw_ring *boss;

    knife_rectangle(&knife, 100.0, 30.0, 0.0);
    knife_hole(&knife, 40.0, 1.0, 3.0, 4);
    region = region_of(&knife);
    boss = &region.pieces[0].holes[0];
    cr_expect(gt(sz, boss->count, 100)); /* four quarter turns */
    for (size_t i = 0; i < boss->count; i++) {
        struct tw_point a = boss->points[i], b = boss->points[(i + 1) % boss->count];
        struct tw_point middle = { (a.x_mm + b.x_mm) / 2.0, (a.y_mm + b.y_mm) / 2.0 };

        cr_expect(ge(dbl, distance_mm(middle, &knife.holes[0]), 2.0 - 1e-9));
        cr_expect(le(dbl, distance_mm(a, &knife.holes[0]), 2.0 * (1.0 + 2e-5)));
    }
    tw_relief_free(&region);
}

Test(relief, a_boss_across_the_tang_parts_the_region)
{
    struct tw_relief_region region;
    struct knife knife;

    knife_rectangle(&knife, 100.0, 20.0, 0.0);
    knife_hole(&knife, 50.0, 0.0, 4.5, 64); /* with its boss wider than the 12 mm between the lands */
    region = region_of(&knife);
    cr_assert(eq(sz, region.count, 2));
    cr_expect(lt(dbl, tw_ring_box(&region.pieces[0].outer).max_x_mm, 50.0));
    cr_expect(gt(dbl, tw_ring_box(&region.pieces[1].outer).min_x_mm, 50.0));
    tw_relief_free(&region);
}

Test(relief, where_nothing_is_left_the_largest_land_is_named)
{
    struct tw_findings findings = { 0 };
    struct tw_relief_region region;
    struct knife knife;

    knife_rectangle(&knife, 100.0, 20.0, 0.0);
    knife.job.path = (char[]){ "job.cfg" };
    knife.job.relief.land_mm = 11.0;
    cr_expect(eq(int, tw_relief_region(&knife.job, &region, &findings), TW_BAD_INPUT));
    cr_expect(region.pieces == NULL);
    cr_assert(eq(sz, findings.count, 1));
    cr_expect(
        strcmp(
            findings.items[0].text,
            "job.cfg: relief.land: a land of 11 mm, bosses of 2 mm and 10 mm at the taper start leave nothing of the "
            "face to hollow; a land below 9.99 mm does") == 0,
        "%s", findings.items[0].text);
    tw_findings_free(&findings);
    findings = (struct tw_findings){ 0 };
    knife.job.relief.end_mm = 150.0;
    cr_expect(eq(int, tw_relief_region(&knife.job, &region, &findings), TW_BAD_INPUT));
    cr_assert(eq(sz, findings.count, 1));
    cr_expect(
        strcmp(
            findings.items[0].text,
            "job.cfg: relief.land: bosses of 2 mm and 150 mm at the taper start leave nothing of the face to hollow, "
            "whatever the land; make boss or end smaller") == 0,
        "%s", findings.items[0].text);
    tw_findings_free(&findings);
}

Test(relief, sides_and_depth_say_which_face_is_hollowed)
{
    struct knife knife;

    knife_rectangle(&knife, 100.0, 20.0, 0.0);
    cr_expect(not(tw_relief_wanted(&knife.job, TW_SIDE_A)));
    knife.job.relief.depth_mm = 0.3;
    cr_expect(tw_relief_wanted(&knife.job, TW_SIDE_A) && tw_relief_wanted(&knife.job, TW_SIDE_B));
    knife.job.relief.sides = TW_RELIEF_A;
    cr_expect(tw_relief_wanted(&knife.job, TW_SIDE_A));
    cr_expect(not(tw_relief_wanted(&knife.job, TW_SIDE_B)));
    knife.job.relief.sides = TW_RELIEF_B;
    cr_expect(not(tw_relief_wanted(&knife.job, TW_SIDE_A)));
    cr_expect(tw_relief_wanted(&knife.job, TW_SIDE_B));
    cr_expect(eq(int, tw_relief_face_count(&knife.job.relief), 1));
}
