/* test_looks.c - guards the spine view: thickness between measured places, and breaks that are seen or imagined. */
#include "balance/knife.h"
#include "tangwright/looks.h"
#include "tangwright/taper.h"

static struct tw_spine_view view_of(const struct knife *knife)
{
    struct tw_spine_view view;

    cr_assert(eq(int, tw_spine_view(&knife->job, &view, NULL), TW_OK));
    return view;
}

/* T0 = 4, T1 = 2, L = 100 behind a blade of 150 mm. */
static void bladed(struct knife *knife, struct tw_point *distal, size_t count)
{
    knife_rectangle(knife, 100.0, 20.0, 0.0);
    knife->job.blade =
        (struct tw_blade){ .length_mm = 150.0, .distal = { distal, count }, .step_mm = 0.05, .kink_rad = PI / 180.0 };
}

Test(looks, thickness_stands_every_ten_millimetres_from_the_first_measured_place_to_the_butt)
{
    struct tw_point distal[] = { { 15.0, 1.0 }, { 65.0, 2.0 }, { 115.0, 3.5 } };
    struct tw_spine_view view;
    struct knife knife;

    bladed(&knife, distal, 3);
    view = view_of(&knife);
    /* 20, 30, ... 140; 150 the taper start; 160 ... 240; 250 the butt */
    cr_assert(eq(sz, view.point_count, 13 + 1 + 9 + 1));
    for (size_t i = 0; i < view.point_count; i++) {
        const struct tw_spine_point *p = &view.points[i];
        double wanted_mm = p->tip_mm <= 65.0    ? 1.0 + (p->tip_mm - 15.0) / 50.0
                           : p->tip_mm <= 115.0 ? 2.0 + 1.5 * (p->tip_mm - 65.0) / 50.0
                           : p->tip_mm <= 150.0 ? 3.5 + 0.5 * (p->tip_mm - 115.0) / 35.0
                                                : 4.0 - 0.02 * (p->tip_mm - 150.0);

        cr_expect(epsilon_eq(dbl, p->tip_mm, 20.0 + 10.0 * (double)i, 1e-9));
        cr_expect(epsilon_eq(dbl, p->x_mm, p->tip_mm - 150.0, 1e-9));
        cr_expect(epsilon_eq(dbl, p->thickness_mm, wanted_mm, 1e-9), "%g", p->tip_mm);
    }
    tw_spine_free(&view);
}

Test(looks, without_a_distal_taper_only_the_tang_is_shown)
{
    struct tw_spine_view view;
    struct knife knife;

    knife_rectangle(&knife, 95.0, 20.0, 0.0);
    view = view_of(&knife);
    cr_assert(eq(sz, view.point_count, 11)); /* 0, 10, ... 90, 95 */
    cr_expect(eq(dbl, view.points[0].x_mm, 0.0));
    cr_expect(eq(dbl, view.points[0].thickness_mm, 4.0));
    cr_expect(epsilon_eq(dbl, view.points[10].thickness_mm, 2.1, 1e-9));
    cr_expect(eq(sz, view.break_count, 0));
    tw_spine_free(&view);
}

Test(looks, a_smooth_line_has_no_breaks)
{
    /* 2 mm in 150 mm, then 2 mm back in 100 mm: each face bends by atan(1/150) + atan(1/100) = 0.955 deg. */
    struct tw_point distal[] = { { 0.001, 2.0 }, { 75.0, 3.0 } };
    struct tw_spine_view view;
    struct knife knife;

    bladed(&knife, distal, 2);
    view = view_of(&knife);
    cr_expect(eq(sz, view.break_count, 0));
    tw_spine_free(&view);
    knife.job.blade.kink_rad = 0.95 * PI / 180.0;
    view = view_of(&knife);
    cr_assert(eq(sz, view.break_count, 1));
    cr_expect(eq(int, view.breaks[0].kind, TW_BREAK_KINK));
    cr_expect(eq(dbl, view.breaks[0].x_mm, 0.0));
    cr_expect(epsilon_eq(dbl, view.breaks[0].amount, atan(1.0 / 150.0) + atan(0.01), 1e-6));
    tw_spine_free(&view);
}

Test(looks, a_step_at_the_taper_start_and_a_kink_ahead_of_it_are_told)
{
    struct tw_point distal[] = { { 10.0, 1.0 }, { 20.0, 2.5 }, { 120.0, 2.6 }, { 150.0, 3.9 } };
    struct tw_findings findings = { 0 };
    struct tw_spine_view view;
    struct knife knife;

    bladed(&knife, distal, 4);
    knife.job.path = (char[]){ "job.cfg" };
    view = view_of(&knife);
    /* The kink at 20 mm is near the tip: left alone. At 120 mm: atan(1.3 / 60) - atan(0.1 / 200) = 1.213 deg. At the
     * taper start: atan(1.3 / 60) + atan(1 / 100) = 1.814 deg, and 0.1 mm. */
    cr_assert(eq(sz, view.break_count, 3));
    cr_expect(epsilon_eq(dbl, view.breaks[0].x_mm, -30.0, 1e-9));
    cr_expect(epsilon_eq(dbl, view.breaks[0].amount, atan(1.3 / 60.0) - atan(0.1 / 200.0), 1e-9));
    cr_expect(epsilon_eq(dbl, view.breaks[1].amount, atan(1.3 / 60.0) + atan(0.01), 1e-9));
    cr_expect(eq(int, view.breaks[2].kind, TW_BREAK_STEP));
    cr_expect(epsilon_eq(dbl, view.breaks[2].amount, 0.1, 1e-9));
    tw_spine_remark(&knife.job, &view, &findings);
    cr_assert(eq(sz, findings.count, 3));
    cr_expect(
        strcmp(findings.items[0].text,
               "job.cfg: blade.distal: each face bends by 1.21 deg at 120.0 mm behind the tip; above blade.kink_limit, "
               "1 deg, the line of the spine looks broken: blend it there, or taper the tang less") == 0,
        "%s", findings.items[0].text);
    cr_expect(
        strcmp(findings.items[2].text,
               "job.cfg: blade.distal: the spine steps by 0.100 mm at the taper start, 150.0 mm behind the tip; above "
               "blade.step_limit, 0.05 mm, it shows: blend the two, or measure the ricasso again") == 0,
        "%s", findings.items[2].text);
    cr_expect(eq(int, findings.items[0].status, TW_OK)); /* remarks */
    tw_findings_free(&findings);
    tw_spine_free(&view);
}
