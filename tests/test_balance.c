/* test_balance.c - guards against a wrong integral, a lever arm with the wrong sign, a body counted twice or left out,
 * a butt that does not do what it was chosen for, and a limit that is not kept. Closed forms beside each value. */
#include "balance/knife.h"
#include "input/failing_memory.h"
#include "base/file.h"
#include "tangwright/report.h"

#include <stdio.h>
#include <stdlib.h>

static void expect_text(const char *got, const char *wanted)
{
    cr_expect(strcmp(got, wanted) == 0, "said   %s\nwanted %s", got, wanted);
}

/* ---- taper ---- */

Test(balance, a_wedge_off_a_rectangle_has_its_closed_form)
{
    struct knife knife;
    struct tw_balance b;

    knife_rectangle(&knife, 100.0, 20.0, 3.0);
    b = knife_balance(&knife);
    /* Wedge of height m L = 1 mm: volume m L^2 W / 2 = 1000 mm3, centre at 2/3 of the length; a triangle with one side
     * on the face has its centre a third of its height below it: T0/2 - m L / 3. */
    for (int side = 0; side < 2; side++) {
        expect_exact("volume", b.taper[side].volume_mm3, 1000.0);
        expect_exact("mass", b.taper[side].mass_g, 8.0);
        expect_exact("x", b.taper[side].x_mm, 200.0 / 3.0);
        expect_exact("y", b.taper[side].y_mm, 3.0);
        expect_exact("z", b.taper[side].z_mm, (side ? -1.0 : 1.0) * (2.0 - 1.0 / 3.0));
    }
    expect_exact("both", b.removed.mass_g, 16.0);
    expect_exact("moment", tw_weight_moment_g_mm(&b.removed), 16.0 * 200.0 / 3.0);
    expect_exact("z of both", b.removed.z_mm, 0.0);
    expect_exact("tang", b.tang.mass_g, 100.0 * 20.0 * 4.0 * ROUND_NUMBER);
    expect_exact("tang x", b.tang.x_mm, 50.0);
    cr_expect(eq(dbl, b.holes.mass_g, 0.0));
    cr_expect(eq(dbl, b.handle.mass_g, 0.0));
    cr_expect(not(b.weighed));
}

/* A blank that was surveyed: over the rear half its side A falls by 0.4 mm. A wedge 50 mm long, 20 mm wide and 0.4 mm high is not there
 * to be taken off, 200 mm3 with their centre at 50 + 2/3 of 50 mm; on a knife that was weighed it never was. */
Test(balance, what_a_surveyed_blank_lacks_is_not_taken_off_it)
{
    struct knife knife;
    struct tw_point a[] = { { 0.0, 2.0 }, { 50.0, 2.0 }, { 100.0, 1.6 } }, b[] = { { 0.0, 2.0 }, { 100.0, 2.0 } };
    struct tw_straight straight = { .raw = { { a, 3 }, { b, 2 } } };
    struct tw_balance balance;

    knife_rectangle(&knife, 100.0, 20.0, 3.0);
    knife.job.straight = &straight;
    knife.job.blank.mass_g = 150.0;
    balance = knife_balance(&knife);
    for (int side = 0; side < 2; side++) {
        expect_exact("volume", balance.taper[side].volume_mm3, 1000.0 - 100.0);
        expect_exact("x", balance.taper[side].x_mm, (1000.0 * 200.0 / 3.0 - 100.0 * 250.0 / 3.0) / 900.0);
        expect_exact("y", balance.taper[side].y_mm, 3.0);
    }
    expect_exact("tapered", balance.stages[TW_STAGE_TAPERED].mass_g, 150.0 - 1800.0 * ROUND_NUMBER);
    knife.job.straight = NULL;
}

Test(balance, a_wedge_off_a_triangle_has_its_closed_form)
{
    struct knife knife;
    struct tw_balance b;

    /* Width w (1 - x/L), point at the butt: integrals of m x w(x) and m x^2 w(x) are m w L^2 / 6 and m w L^3 / 12. */
    knife_start(&knife);
    knife_corner(&knife, 0.0, -10.0);
    knife_corner(&knife, 100.0, 0.0);
    knife_corner(&knife, 0.0, 10.0);
    b = knife_balance(&knife);
    expect_exact("volume", b.taper[0].volume_mm3, 0.01 * 20.0 * 1e4 / 6.0);
    expect_exact("x", b.taper[0].x_mm, 50.0);
    expect_exact("y", b.taper[0].y_mm, 0.0);

    /* Point at the taper start, width w x/L: m w L^2 / 3 and m w L^3 / 4; one edge along the axis puts the centre of
     * each section at w(x)/2, so the y moment is m w^2 L^2 / 8. Squared depth: m^2 w L^3 / 4. */
    knife_start(&knife);
    knife_corner(&knife, 0.0, 0.0);
    knife_corner(&knife, 100.0, 0.0);
    knife_corner(&knife, 100.0, 20.0);
    b = knife_balance(&knife);
    expect_exact("volume", b.taper[1].volume_mm3, 0.01 * 20.0 * 1e4 / 3.0);
    expect_exact("x", b.taper[1].x_mm, 75.0);
    expect_exact("y", b.taper[1].y_mm, (0.01 * 400.0 * 1e4 / 8.0) / (0.01 * 20.0 * 1e4 / 3.0));
    expect_exact("z", b.taper[1].z_mm, -(2.0 - 0.5 * (1e-4 * 20.0 * 1e6 / 4.0) / (0.01 * 20.0 * 1e4 / 3.0)));
}

Test(balance, holes_are_left_out_by_their_polygons_closed_form)
{
    struct knife knife;
    struct tw_balance b;
    double area_mm2 = 3.0 * 9.0 * sin(PI / 3.0), square_mm4; /* hexagon: n r^2 sin(2 pi / n) / 2 */

    knife_rectangle(&knife, 100.0, 20.0, 0.0);
    knife_hole(&knife, 60.0, 4.0, 3.0, 6);
    b = knife_balance(&knife);
    /* The depth is linear, so the hole leaves out m x A; x^2 over it is A (x^2 + r^2 (2 + cos(2 pi / n)) / 12). */
    square_mm4 = area_mm2 * (3600.0 + 9.0 * (2.0 + cos(PI / 3.0)) / 12.0);
    expect_exact("volume", b.taper[0].volume_mm3, 1000.0 - 0.01 * 60.0 * area_mm2);
    expect_exact("moment", b.taper[0].volume_mm3 * b.taper[0].x_mm, 200000.0 / 3.0 - 0.01 * square_mm4);
    expect_exact("y moment", b.taper[0].volume_mm3 * b.taper[0].y_mm, -0.01 * 60.0 * 4.0 * area_mm2);
    expect_exact("holes", b.holes.volume_mm3, 4.0 * area_mm2);
    expect_exact("holes x", b.holes.x_mm, 60.0);
    expect_exact("holes y", b.holes.y_mm, 4.0);
}

Test(balance, a_finely_drawn_circle_comes_within_a_hundredth_of_a_per_cent)
{
    struct knife knife;
    struct tw_balance b;

    knife_rectangle(&knife, 100.0, 20.0, 0.0);
    knife_hole(&knife, 40.0, 0.0, 5.0, 720);
    b = knife_balance(&knife);
    expect_near("volume", b.holes.volume_mm3, 4.0 * PI * 25.0);
    expect_near("taper", b.taper[0].volume_mm3, 1000.0 - 0.01 * 40.0 * PI * 25.0);
}

Test(balance, the_allowance_moves_the_wedge_back_and_a_hole_across_its_start_counts_in_part)
{
    struct knife knife;
    struct tw_balance b;

    knife_rectangle(&knife, 100.0, 20.0, 0.0);
    knife.job.finish.allowance_mm = 0.2; /* nothing comes off before 20 mm */
    b = knife_balance(&knife);
    expect_exact("volume", b.taper[0].volume_mm3, 0.01 * 20.0 * 80.0 * 80.0 / 2.0);
    expect_exact("x", b.taper[0].x_mm, 20.0 + 2.0 / 3.0 * 80.0);
    knife_hole(&knife, 20.0, 0.0, 4.0, 4); /* a square on its corner: beyond x = 20 a triangle of height 4, width 8 */
    b = knife_balance(&knife);
    expect_exact("volume", b.taper[0].volume_mm3, 640.0 - 0.01 * (8.0 * 16.0 / 6.0));
}

Test(balance, past_the_taper_it_goes_on_at_the_same_slope_down_to_the_smallest_thickness)
{
    struct knife knife;
    struct tw_balance b;
    double wedge = 0.01 * 20.0 * 120.0 * 120.0 / 2.0, rest = 1.2 * 20.0 * 30.0;

    knife_rectangle(&knife, 150.0, 20.0, 0.0);
    knife.job.taper.smallest_mm = 1.6; /* 1.2 mm off each face, reached at 120 mm */
    b = knife_balance(&knife);
    expect_exact("volume", b.taper[0].volume_mm3, wedge + rest);
    expect_exact("x", b.taper[0].x_mm, (wedge * 80.0 + rest * 135.0) / (wedge + rest));
    expect_exact("z", b.taper[0].z_mm, (wedge * (2.0 - 0.4) + rest * (2.0 - 0.6)) / (wedge + rest));
}

/* ---- relief ---- */

Test(balance, a_relief_of_even_depth_has_its_closed_form)
{
    struct knife knife;
    struct tw_balance b;
    double area_mm2 = 86.0 * 12.0; /* 10 mm at the taper start, lands of 4 mm */

    knife_rectangle(&knife, 100.0, 20.0, 1.0);
    knife.job.relief.depth_mm = 0.4;
    b = knife_balance(&knife);
    for (int side = 0; side < 2; side++) {
        expect_near("volume", b.relief[side].volume_mm3, 0.4 * area_mm2);
        expect_near("x", b.relief[side].x_mm, 53.0);
        expect_near("y", b.relief[side].y_mm, 1.0);
        /* Middle of the hollow: face at 2 - 0.01 * 53 on average, less half the depth. */
        expect_near("z", b.relief[side].z_mm, (side ? -1.0 : 1.0) * (2.0 - 0.53 - 0.2));
    }
    knife.job.relief.sides = TW_RELIEF_B;
    b = knife_balance(&knife);
    cr_expect(eq(dbl, b.relief[0].mass_g, 0.0));
    expect_near("side B alone", b.relief[1].volume_mm3, 0.4 * area_mm2);
    knife.job.relief.sides = TW_RELIEF_BOTH;
    knife_hole(&knife, 50.0, 1.0, 2.0, 720); /* with its boss a disc of radius 4 */
    b = knife_balance(&knife);
    expect_near("with a boss", b.relief[0].volume_mm3, 0.4 * (area_mm2 - PI * 16.0));
}

/* ---- handle ---- */

Test(balance, scales_pins_and_glue_have_their_closed_forms)
{
    struct knife knife;
    struct tw_balance b;
    double pin_mm2 = PI * 9.0, bore_mm2 = PI * 4.0, slab_mm2 = 100.0 * 24.0 + 2.0 * 20.0 + PI * 4.0 / 2.0;
    double slab_moment_mm3, pin_length_mm = 4.0 - 2.0 * 0.01 * 40.0 + 2.0 * (8.0 + 0.25);

    knife_rectangle(&knife, 100.0, 20.0, 0.0);
    knife_hole(&knife, 40.0, 0.0, 3.0, 720);
    knife.job.handle.scale_mm = 8.0;
    knife.job.handle.offset_mm = 2.0;
    knife.job.handle.density_g_per_mm3 = 0.001;
    knife.job.handle.glue_mm = 0.25;
    knife.job.handle.glue_density_g_per_mm3 = 0.0012;
    knife_pin(&knife, 1, 6.0, 4.0, 0.0085);
    b = knife_balance(&knife);
    /* Offset 2 mm round three sides: a slab 100 by 24, 2 by 20 behind it, and two quarter discs in the corners, whose
     * centres lie 4 r / (3 pi) from their straight sides. */
    slab_moment_mm3 = 2400.0 * 50.0 + 40.0 * 101.0 + PI * 4.0 / 2.0 * (100.0 + 4.0 * 2.0 / (3.0 * PI));
    expect_near("scales", b.scales.volume_mm3, 2.0 * 8.0 * (slab_mm2 - pin_mm2));
    expect_near("scales x", b.scales.x_mm, (slab_moment_mm3 - pin_mm2 * 40.0) / (slab_mm2 - pin_mm2));
    expect_near("pins", b.pins.mass_g, (pin_mm2 - bore_mm2) * pin_length_mm * 0.0085);
    expect_near("pins x", b.pins.x_mm, 40.0);
    expect_near("glue", b.glue.mass_g, 2.0 * 0.25 * (2000.0 - pin_mm2) * 0.0012);
    expect_near("glue x", b.glue.x_mm, (2000.0 * 50.0 - pin_mm2 * 40.0) / (2000.0 - pin_mm2));
    expect_exact("all", b.handle.mass_g, b.scales.mass_g + b.pins.mass_g + b.glue.mass_g);
    cr_expect(eq(dbl, b.handle.z_mm, 0.0));
    knife.job.handle.fill = 0.5;
    expect_near("half of the slab", knife_balance(&knife).scales.mass_g, b.scales.mass_g / 2.0);
}

Test(balance, scales_of_their_own_outline_and_from_their_own_front)
{
    static struct tw_point own[4] = { { 10.0, -8.0 }, { 90.0, -8.0 }, { 90.0, 12.0 }, { 10.0, 12.0 } };
    struct knife knife;
    struct tw_balance b;

    knife_rectangle(&knife, 100.0, 20.0, 0.0);
    knife.job.handle.scale_mm = 5.0;
    knife.job.handle.density_g_per_mm3 = 0.001;
    knife.job.handle.glue_mm = 0.1;
    knife.job.handle.glue_density_g_per_mm3 = 0.001;
    knife.job.handle.front_mm = 20.0;
    b = knife_balance(&knife);
    expect_exact("front at 20", b.scales.volume_mm3, 10.0 * 80.0 * 20.0);
    expect_exact("x", b.scales.x_mm, 60.0);
    knife.job.handle.outline = (struct tw_ring){ own, 4 };
    b = knife_balance(&knife);
    expect_exact("own outline", b.scales.volume_mm3, 10.0 * 80.0 * 20.0);
    expect_exact("x", b.scales.x_mm, 50.0);
    expect_exact("y", b.scales.y_mm, 2.0);
    expect_exact("glue only where there is steel", b.glue.volume_mm3, 0.2 * 80.0 * 18.0);
}

Test(balance, glue_fills_the_relief_under_the_scales_or_leaves_it_empty)
{
    struct knife knife;
    struct tw_balance b;

    knife_rectangle(&knife, 100.0, 20.0, 0.0);
    knife.job.handle.scale_mm = 5.0;
    knife.job.handle.density_g_per_mm3 = 0.001;
    knife.job.handle.glue_mm = 0.1;
    knife.job.handle.glue_density_g_per_mm3 = 0.001;
    knife.job.handle.front_mm = 30.0; /* hides 66 by 12 of the relief */
    knife.job.relief.depth_mm = 0.4;
    knife.job.relief.sides = TW_RELIEF_A;
    b = knife_balance(&knife);
    expect_near("full", b.glue.volume_mm3, 0.2 * 70.0 * 20.0 + 0.4 * 66.0 * 12.0);
    cr_expect(gt(dbl, b.glue.z_mm, 0.0));
    knife.job.handle.relief_filled = false;
    b = knife_balance(&knife);
    expect_near("empty", b.glue.volume_mm3, 0.2 * 70.0 * 20.0 - 0.1 * 66.0 * 12.0);
    cr_expect(eq(dbl, b.glue.z_mm, 0.0));
}

/* ---- the knife ---- */

/* A tang of 100 by 20 with scales of 0.001 g/mm3, 8 mm thick: 32 g at 50 mm. Blank 200 g, 30 mm ahead. */
static void weighed(struct knife *knife)
{
    knife_rectangle(knife, 100.0, 20.0, 0.0);
    knife->job.blank = (struct tw_blank){ .mass_g = 200.0, .balance_x_mm = -30.0 };
    knife->job.handle.scale_mm = 8.0;
    knife->job.handle.density_g_per_mm3 = 0.001;
}

Test(balance, stages_are_lever_sums)
{
    struct knife knife;
    struct tw_balance b;
    double relief_g, relief_x_mm;

    weighed(&knife);
    knife.job.relief.depth_mm = 0.4;
    b = knife_balance(&knife);
    cr_assert(b.weighed);
    expect_exact("blank", b.stages[TW_STAGE_BLANK].x_mm, -30.0);
    /* Without 16 g at 66.667 mm: (-6000 - 1066.667) / 184. */
    expect_exact("tapered g", b.stages[TW_STAGE_TAPERED].mass_g, 184.0);
    expect_exact("tapered x", b.stages[TW_STAGE_TAPERED].x_mm, (-6000.0 - 16.0 * 200.0 / 3.0) / 184.0);
    relief_g = 2.0 * 0.4 * 86.0 * 12.0 * ROUND_NUMBER, relief_x_mm = 53.0;
    expect_near("relieved g", b.stages[TW_STAGE_RELIEVED].mass_g, 184.0 - relief_g);
    expect_near("relieved x", b.stages[TW_STAGE_RELIEVED].x_mm,
                (-6000.0 - 16.0 * 200.0 / 3.0 - relief_g * relief_x_mm) / (184.0 - relief_g));
    expect_near("finished", b.stages[TW_STAGE_FINISHED].x_mm,
                (-6000.0 - 16.0 * 200.0 / 3.0 - relief_g * relief_x_mm + 32.0 * 50.0) / (216.0 - relief_g));
    expect_exact("not ground", b.stages[TW_STAGE_UNGROUND].x_mm, (-6000.0 + 32.0 * 50.0) / 232.0);
    expect_exact("share", b.blank_share, 200.0 / b.stages[TW_STAGE_FINISHED].mass_g);
}

/* ---- the inverse ---- */

static struct tw_balance_model *open_model(const struct knife *knife)
{
    struct tw_balance_model *model;

    cr_assert(eq(int, tw_balance_open(&knife->job, NULL, &model, NULL), TW_OK));
    return model;
}

static struct tw_balance_answer solve(const struct tw_balance_model *model, double x_mm, double straight_butt_mm)
{
    struct tw_balance_wish wish = { x_mm, straight_butt_mm };
    struct tw_balance_answer answer;

    cr_assert(eq(int, tw_balance_solve(model, &wish, &answer, NULL), TW_OK));
    return answer;
}

/* Where a knife with that butt balances: a lever sum apart from the module. Per mm of butt below T0 each face loses a
 * wedge of L W / 4 mm2. */
static double by_hand(double butt_mm)
{
    double off_g = 2.0 * (4.0 - butt_mm) * 500.0 * ROUND_NUMBER;

    return (-6000.0 + 1600.0 - off_g * 200.0 / 3.0) / (232.0 - off_g);
}

Test(balance, the_butt_that_is_found_balances_the_knife_where_it_was_asked)
{
    struct knife knife;
    struct tw_balance_model *model;

    weighed(&knife);
    model = open_model(&knife);
    for (double butt_mm = 1.0; butt_mm <= 4.0; butt_mm += 0.3) {
        struct tw_balance_answer answer = solve(model, by_hand(butt_mm), 0.0);

        cr_assert(answer.reached, "%g mm", butt_mm);
        cr_expect(epsilon_eq(dbl, answer.butt_mm, butt_mm, 1e-5));
        cr_expect(epsilon_eq(dbl, by_hand(answer.butt_mm), by_hand(butt_mm), 1e-4));
        cr_expect(eq(dbl, answer.relief_depth_mm, 0.0));
        cr_expect(eq(int, answer.limit, TW_BALANCE_FREE));
        cr_expect(eq(sz, answer.advice_count, 0));
    }
    tw_balance_close(model);
}

Test(balance, where_the_butt_alone_falls_short_a_relief_goes_on)
{
    struct knife knife;
    struct tw_balance_model *model;
    struct tw_balance_answer answer;
    double target_mm = by_hand(1.0) - 0.3, relief_g, off_g = 2.0 * 3.0 * 500.0 * ROUND_NUMBER, got_mm;

    weighed(&knife);
    model = open_model(&knife);
    cr_expect(epsilon_eq(dbl, tw_balance_thinnest_butt_mm(model, 0.0), 1.0, 1e-9));
    /* At the far end of the region, 96 mm, 1.12 mm are left: 0.06 mm a face may go. */
    cr_expect(epsilon_eq(dbl, tw_balance_deepest_relief_mm(model, 1.0), 0.06, 1e-4));
    answer = solve(model, target_mm, 0.0);
    cr_assert(answer.reached);
    cr_expect(gt(dbl, answer.relief_depth_mm, 0.0));
    cr_expect(le(dbl, answer.relief_depth_mm, tw_balance_deepest_relief_mm(model, answer.butt_mm) + 1e-9));
    /* Forward again by levers. */
    off_g = 2.0 * (4.0 - answer.butt_mm) * 500.0 * ROUND_NUMBER;
    relief_g = 2.0 * answer.relief_depth_mm * 86.0 * 12.0 * ROUND_NUMBER;
    got_mm = (-4400.0 - off_g * 200.0 / 3.0 - relief_g * 53.0) / (232.0 - off_g - relief_g);
    cr_expect(epsilon_eq(dbl, got_mm, target_mm, 2e-3));
    tw_balance_close(model);
}

/* On a wide tang a thicker butt that bears a deep relief does more than the thinnest butt. */
Test(balance, a_deep_relief_in_a_thicker_tang_is_found_too)
{
    struct knife knife;
    struct tw_balance_model *model;
    struct tw_balance_answer nearest, answer;
    double thin_mm, target_mm, off_g, relief_g;

    knife_rectangle(&knife, 100.0, 60.0, 0.0);
    knife.job.blank = (struct tw_blank){ .mass_g = 500.0, .balance_x_mm = -30.0 };
    model = open_model(&knife);
    nearest = solve(model, -200.0, 0.0);
    cr_expect(gt(dbl, nearest.butt_mm, 1.5));
    thin_mm = tw_balance_with(model, 1.0, tw_balance_deepest_relief_mm(model, 1.0)).stages[TW_STAGE_FINISHED].x_mm;
    cr_assert(lt(dbl, nearest.x_mm, thin_mm - 1.0));
    target_mm = (nearest.x_mm + thin_mm) / 2.0;
    answer = solve(model, target_mm, 0.0);
    cr_assert(answer.reached);
    cr_expect(le(dbl, answer.relief_depth_mm, (4.0 - (4.0 - answer.butt_mm) * 0.96 - 1.0) / 2.0 + 1e-4));
    off_g = 2.0 * (4.0 - answer.butt_mm) * 25.0 * 60.0 * ROUND_NUMBER;
    relief_g = 2.0 * answer.relief_depth_mm * 86.0 * 52.0 * ROUND_NUMBER;
    cr_expect(epsilon_eq(dbl, (-15000.0 - off_g * 200.0 / 3.0 - relief_g * 53.0) / (500.0 - off_g - relief_g),
                         target_mm, 5e-3));
    tw_balance_close(model);
}

/* With as much relief as the butt bears; 12 wide and 86 long, so depths of more than 1 mm pay more than a thin butt. */
Test(balance, out_of_reach_the_nearest_is_told_and_it_is_the_nearest)
{
    struct knife knife;
    struct tw_balance_model *model;
    struct tw_balance_answer answer;

    weighed(&knife);
    model = open_model(&knife);
    answer = solve(model, -60.0, 0.0);
    cr_expect(not(answer.reached));
    cr_expect(eq(int, answer.limit, TW_BALANCE_BY_STRENGTH));
    for (double butt_mm = 1.0; butt_mm <= 4.0; butt_mm += 0.01) {
        double depth_mm = fmax(0.0, (4.0 - (4.0 - butt_mm) * 0.96 - 1.0) / 2.0);
        double off_g = 2.0 * (4.0 - butt_mm) * 500.0 * ROUND_NUMBER,
               relief_g = 2.0 * depth_mm * 86.0 * 12.0 * ROUND_NUMBER;

        cr_expect(ge(dbl, (-4400.0 - off_g * 200.0 / 3.0 - relief_g * 53.0) / (232.0 - off_g - relief_g),
                     answer.x_mm - 2e-3));
    }
    cr_assert(gt(sz, answer.advice_count, 0));
    for (size_t i = 0; i < answer.advice_count; i++) {
        cr_expect(lt(dbl, answer.advice[i].x_mm, answer.x_mm), "%s", answer.advice[i].change);
        cr_expect(strlen(answer.advice[i].change) > 10);
        cr_expect(i == 0 || answer.advice[i].away_mm >= answer.advice[i - 1].away_mm);
    }
    answer = solve(model, 0.0, 0.0); /* farther back than no taper at all */
    cr_expect(not(answer.reached));
    cr_expect(eq(int, answer.limit, TW_BALANCE_BY_NO_TAPER));
    cr_expect(epsilon_eq(dbl, answer.butt_mm, 4.0, 1e-9));
    cr_expect(epsilon_eq(dbl, answer.x_mm, by_hand(4.0), 1e-9));
    tw_balance_close(model);
}

Test(balance, advice_that_is_called_enough_does_it)
{
    struct knife knife;
    struct tw_balance_model *model;
    struct tw_balance_answer answer;
    double target_mm;

    weighed(&knife);
    knife.job.relief.end_mm = 200.0; /* no relief to help */
    model = open_model(&knife);
    target_mm = by_hand(1.0) - 0.5;
    answer = solve(model, target_mm, 0.0);
    tw_balance_close(model);
    cr_assert(not(answer.reached));
    for (size_t i = 0; i < answer.advice_count; i++) {
        struct knife other = knife;

        if (strncmp(answer.advice[i].change, "scales 7 mm", 11) != 0)
            continue;
        cr_expect(answer.advice[i].enough);
        /* 28 g at 50 mm instead of 32 g: is the target between thinnest and thickest butt? */
        cr_expect(lt(dbl, (-6000.0 + 1400.0 - 24.0 * 200.0 / 3.0) / (228.0 - 24.0), target_mm));
        cr_expect(gt(dbl, (-6000.0 + 1400.0) / 228.0, target_mm));
        other.job.handle.scale_mm = 7.0;
        other.job.part.tang.outer.points = other.corners;
        model = open_model(&other);
        answer = solve(model, target_mm, 0.0);
        cr_expect(answer.reached);
        tw_balance_close(model);
        return;
    }
    cr_assert(false, "thinner scales were not thought of");
}

Test(balance, a_limit_from_straightening_is_kept)
{
    struct knife knife;
    struct tw_balance_model *model;
    struct tw_balance_answer answer;

    weighed(&knife);
    model = open_model(&knife);
    answer = solve(model, by_hand(3.5), 3.0);
    cr_expect(not(answer.reached));
    cr_expect(eq(int, answer.limit, TW_BALANCE_BY_STRAIGHT));
    cr_expect(epsilon_eq(dbl, answer.butt_mm, 3.0, 1e-9));
    answer = solve(model, by_hand(2.5), 3.0);
    cr_expect(answer.reached);
    tw_balance_close(model);
}

Test(balance, strength_counts_at_the_outlines_end_and_between_the_hollows)
{
    struct knife knife;
    struct tw_balance_model *model;

    knife_rectangle(&knife, 120.0, 20.0, 0.0); /* past the taper's end */
    model = open_model(&knife);
    /* 4 - (4 - t) 1.2 >= 1 */
    cr_expect(epsilon_eq(dbl, tw_balance_thinnest_butt_mm(model, 0.0), 1.5, 1e-9));
    /* hollows end at 116 mm: 4 - (4 - t) 1.16 - 2 * 0.5 >= 1 */
    cr_expect(epsilon_eq(dbl, tw_balance_thinnest_butt_mm(model, 0.5), 4.0 - 2.0 / 1.16, 1e-4));
    tw_balance_close(model);
}

Test(balance, a_relief_that_is_too_deep_is_refused_with_what_would_do)
{
    struct tw_findings findings = { 0 };
    struct tw_balance_model *model;
    struct knife knife;

    knife_rectangle(&knife, 100.0, 20.0, 0.0);
    knife.job.path = (char[]){ "job.cfg" };
    knife.job.relief.depth_mm = 0.8; /* 2.08 mm at 96 mm, less 1.6 mm */
    cr_expect(eq(int, tw_balance_open(&knife.job, NULL, &model, &findings), TW_BAD_INPUT));
    cr_assert(eq(sz, findings.count, 1));
    expect_text(
        findings.items[0].text,
        "job.cfg: relief.depth: 0.8 mm on each face leaves 0.480 mm between the hollows at 96.0 mm from the taper "
        "start, below smallest_thickness, 1 mm; at most 0.540 mm deep will do, or a butt of 2.55 mm or more, or a "
        "wider land");
    tw_findings_free(&findings);
}

Test(balance, a_pin_outside_of_the_scales_is_refused)
{
    struct tw_findings findings = { 0 };
    struct tw_balance_model *model;
    struct knife knife;

    knife_rectangle(&knife, 100.0, 20.0, 0.0);
    knife.job.path = (char[]){ "job.cfg" };
    knife_hole(&knife, 15.0, 0.0, 3.0, 32);
    knife.job.handle.scale_mm = 8.0;
    knife.job.handle.density_g_per_mm3 = 0.001;
    knife.job.handle.front_mm = 20.0;
    knife_pin(&knife, 1, 6.0, 0.0, 0.0085);
    cr_expect(eq(int, tw_balance_open(&knife.job, NULL, &model, &findings), TW_BAD_INPUT));
    cr_assert(eq(sz, findings.count, 1));
    expect_text(
        findings.items[0].text,
        "job.cfg: handle.pins: hole 1, 15.0 mm behind the taper start, is not covered by the scales; drop its pin, "
        "or correct scale_front or scale_outline");
    tw_findings_free(&findings);
}

/* A knife of 210 mm and a tang of 108 mm, some 45 and 25 mm wide and 3 mm thick, weighs some 250 g: 2 kg are a slip. */
Test(balance, a_blank_far_too_heavy_for_its_drawing_is_asked_about)
{
    struct tw_instead change = { "blank.mass", "2 kg" };
    struct tw_findings findings = { 0 };
    struct tw_job job;
    bool told = false;

    cr_assert(eq(int, tw_job_read_with("samples/chef-210/job.cfg", &change, 1, &job, &findings), TW_BAD_INPUT));
    for (size_t i = 0; i < findings.count; i++)
        told |= strstr(findings.items[i].text,
                       "blank.mass: 2000 g is more than the drawn knife would weigh as thick as its "
                       "ricasso all over") != NULL;
    cr_expect(told);
    tw_findings_free(&findings);
}

Test(balance, without_a_weighed_blank_there_is_no_answer)
{
    struct tw_findings findings = { 0 };
    struct tw_balance_wish wish = { -10.0, 0.0 };
    struct tw_balance_answer answer;
    struct tw_balance_model *model;
    struct knife knife;

    knife_rectangle(&knife, 100.0, 20.0, 0.0);
    model = open_model(&knife);
    cr_expect(eq(int, tw_balance_solve(model, &wish, &answer, &findings), TW_BAD_INPUT));
    cr_expect(eq(sz, findings.count, 1));
    tw_findings_free(&findings);
    tw_balance_close(model);
}

Test(balance, the_table_runs_from_the_thickest_butt_to_the_thinnest_and_holds_the_jobs_own)
{
    struct knife knife;
    struct tw_balance_model *model;
    struct tw_balance rows[TW_BALANCE_ROWS_MOST];
    size_t count, own = 0;

    weighed(&knife);
    knife.job.taper.butt_mm = 1.8765;
    model = open_model(&knife);
    count = tw_balance_rows(model, rows);
    cr_assert(ge(sz, count, 6));
    cr_expect(eq(dbl, rows[0].butt_mm, 4.0));
    cr_expect(epsilon_eq(dbl, rows[count - 1].butt_mm, 1.0, 1e-9));
    for (size_t i = 0; i < count; i++) {
        cr_expect(i == 0 || rows[i].butt_mm < rows[i - 1].butt_mm);
        expect_near("row", rows[i].stages[TW_STAGE_FINISHED].x_mm, by_hand(rows[i].butt_mm));
        own += rows[i].butt_mm == 1.8765;
    }
    cr_expect(eq(sz, own, 1));
    tw_balance_close(model);
}

/* ---- materials ---- */

Test(balance, the_page_holds_every_material_with_its_density_and_source)
{
    struct tw_text page = { 0 };

    cr_assert(eq(int, tw_file_read("docs/balance-model.md", &page, NULL), TW_OK));
    for (int i = TW_MATERIAL_NONE + 1; i < TW_MATERIAL_COUNT; i++) {
        const struct tw_material *m = &tw_materials[i];
        char row[256];

        snprintf(row, sizeof row, "| `%s` | %g | %g to %g | %s |\n", m->word, m->density_kg_per_m3, m->low_kg_per_m3,
                 m->high_kg_per_m3, m->source);
        cr_expect(strstr(page.data, row) != NULL, "docs/balance-model.md lacks %s", row);
        cr_expect(m->low_kg_per_m3 <= m->density_kg_per_m3 && m->density_kg_per_m3 <= m->high_kg_per_m3);
        cr_expect(
            epsilon_eq(dbl, tw_material_density_g_per_mm3((enum tw_material_id)i), m->density_kg_per_m3 / 1e6, 1e-12));
    }
    tw_text_free(&page);
}

/* The wedge off the rectangle again: 1000 mm3 and 8 g at 200/3 mm. By hand, with 25.4 mm an inch and 28.349523125 g an ounce
 * (International Yard and Pound Agreement, 1959): 0.061024 in3, 0.282192 oz, 2.62467 in, 0.740661 oz in; the butt of 2 mm is
 * 0.0787 in. */
Test(balance, a_shop_in_inches_reads_ounces_and_inches_first)
{
    struct tw_balance_report report = { 0 };
    struct knife knife;
    char *text = NULL;

    knife_rectangle(&knife, 100.0, 20.0, 0.0);
    knife.job.name = (char[]){ "inch" };
    knife.job.machine.dialect.inch = true;
    report.balance = knife_balance(&knife);
    cr_assert(eq(int, tw_balance_table(&knife.job, &report, &text, NULL), TW_OK));
    cr_expect(strstr(text, "butt 0.0787 in (2.000 mm)") != NULL, "%s", text);
    cr_expect(
        strstr(text,
               "taper off side A                0.282     8.00      0.0610    2.625    0.000    0.066      0.741\n") !=
            NULL,
        "%s", text);
    free(text);
}

/* Half of 0.01 mm is 0.005 mm: what is less is printed as nothing, and the rest keeps its sign. */
Test(balance, no_minus_stands_before_zero)
{
    static const struct {
        double y_mm;
        const char *shown;
    } rows[] = { { -0.004, "     0.00" }, { -0.006, "    -0.01" }, { -0.0, "     0.00" } };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct tw_balance_report report = { 0 };
        struct knife knife;
        char *text = NULL;

        knife_rectangle(&knife, 100.0, 20.0, 0.0);
        knife.job.name = (char[]){ "sign" };
        report.balance = knife_balance(&knife);
        report.balance.tang.y_mm = rows[i].y_mm;
        cr_assert(eq(int, tw_balance_table(&knife.job, &report, &text, NULL), TW_OK));
        cr_expect(strstr(text, rows[i].shown) != NULL, "%s", text);
        cr_expect(strstr(text, "-0.00 ") == NULL, "%s", text);
        free(text);
    }
}

/* ---- memory ---- */

static enum tw_status everything(const struct knife *knife, struct tw_findings *findings)
{
    struct tw_balance_report report = { .asked = true, .wish = { -60.0, 0.0 } };
    struct tw_balance_model *model;
    char *text = NULL, *json = NULL;
    enum tw_status status = tw_balance_open(&knife->job, NULL, &model, findings);

    if (status != TW_OK)
        return status;
    report.balance = tw_balance_with(model, 2.0, 0.4);
    report.row_count = tw_balance_rows(model, report.rows);
    status = tw_balance_solve(model, &report.wish, &report.answer, findings);
    tw_balance_close(model);
    if (status == TW_OK)
        status = tw_spine_view(&knife->job, &report.spine, findings);
    if (status == TW_OK)
        status = tw_balance_table(&knife->job, &report, &text, findings);
    if (status == TW_OK)
        status = tw_balance_json(&knife->job, &report, &json, findings);
    tw_spine_free(&report.spine);
    free(text);
    __real_free(json); /* comes from the JSON library, which does not count */
    return status;
}

Test(balance, each_failing_allocation_is_reported_and_leaves_nothing_behind)
{
    static struct tw_point distal[2] = { { 10.0, 1.0 }, { 140.0, 3.9 } };
    enum tw_status status = TW_NO_MEMORY;
    struct knife knife;
    long failed = 0;

    weighed(&knife);
    knife.job.name = (char[]){ "memory" };
    knife.job.blade = (struct tw_blade){ 150.0, { distal, 2 }, 0.05, 0.01 };
    knife.job.relief.depth_mm = 0.4;
    knife.job.handle.glue_mm = 0.1;
    knife.job.handle.glue_density_g_per_mm3 = 0.001;
    knife_hole(&knife, 50.0, 0.0, 3.0, 32);
    knife_pin(&knife, 1, 6.0, 0.0, 0.0085);
    for (long n = 0; n < 5000 && allocations_until_failure < 0; n += n < 150 ? 1 : 11) {
        struct tw_findings findings = { 0 };
        long before = blocks_in_use;

        allocations_until_failure = n;
        status = everything(&knife, &findings);
        if (allocations_until_failure < 0) {
            cr_expect(findings.out_of_memory || status == TW_NO_MEMORY, "allocation %ld", n);
            failed++;
        } else {
            cr_expect(eq(int, status, TW_OK));
        }
        tw_findings_free(&findings);
        cr_expect(eq(long, blocks_in_use, before), "allocation %ld", n);
    }
    cr_expect(gt(long, failed, 20));
    cr_expect(eq(int, status, TW_OK));
    allocations_until_failure = -1;
}
