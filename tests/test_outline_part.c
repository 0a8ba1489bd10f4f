/* test_outline_part.c - guards against a tang cut at the wrong place, turned the wrong way or mirrored. */
#include "outline/help.h"

static const double pi = 3.14159265358979323846;

struct cut {
    struct tw_part part;
    struct tw_findings findings;
    enum tw_status status;
};

static struct cut cut_text(const char *wkt, double x_mm, double y_mm, double direction_rad, int mirrored)
{
    struct reading r = read_text("a.wkt", wkt, 1.0);
    struct tw_taper_axis axis = { x_mm, y_mm, direction_rad, mirrored, 0 };
    struct cut cut = { 0 };

    cr_assert(r.status == TW_OK, "%s", first_fault(&r));
    cut.status = tw_part_from_drawing(&r.outline, &axis, "a.wkt", &cut.part, &cut.findings);
    free_reading(&r);
    return cut;
}

static void free_cut(struct cut *cut)
{
    tw_part_free(&cut->part);
    tw_findings_free(&cut->findings);
}

static double net_area(const struct tw_outline *outline)
{
    double area = outline->outer.count ? area_of(&outline->outer) : 0.0;

    for (size_t i = 0; i < outline->hole_count; i++)
        area += area_of(&outline->holes[i]);
    return area;
}

static void least_and_most(const struct tw_ring *ring, double *x0, double *x1, double *y0, double *y1)
{
    *x0 = *y0 = HUGE_VAL;
    *x1 = *y1 = -HUGE_VAL;
    for (size_t i = 0; i < ring->count; i++) {
        *x0 = fmin(*x0, ring->points[i].x_mm);
        *x1 = fmax(*x1, ring->points[i].x_mm);
        *y0 = fmin(*y0, ring->points[i].y_mm);
        *y1 = fmax(*y1, ring->points[i].y_mm);
    }
}

static void expect_box(const struct tw_ring *ring, double x0, double x1, double y0, double y1)
{
    double seen[4];

    least_and_most(ring, &seen[0], &seen[1], &seen[2], &seen[3]);
    cr_expect(fabs(seen[0] - x0) < 1e-9 && fabs(seen[1] - x1) < 1e-9 && fabs(seen[2] - y0) < 1e-9 &&
                  fabs(seen[3] - y1) < 1e-9,
              "x %g to %g, y %g to %g", seen[0], seen[1], seen[2], seen[3]);
}

/* An L: its asymmetry shows every turn and mirror. */
#define WHOLE                                                                                                          \
    "POLYGON((-100 -10,80 -10,80 5,0 5,0 20,-100 20,-100 -10),(20 -5,30 -5,30 0,20 0,20 -5),(-50 0,-40 "               \
    "0,-40 5,-50 0))"

Test(part, whole_knife_is_cut_at_the_taper_start)
{
    struct cut c = cut_text(WHOLE, 10.0, 0.0, 0.0, 0);

    cr_assert(eq(int, c.status, TW_OK));
    expect_box(&c.part.tang.outer, 0.0, 70.0, -10.0, 5.0);
    expect_box(&c.part.blade.outer, -110.0, 0.0, -10.0, 20.0);
    cr_assert(eq(sz, c.part.tang.hole_count, 1));
    cr_assert(eq(sz, c.part.blade.hole_count, 1));
    expect_box(&c.part.tang.holes[0], 10.0, 20.0, -5.0, 0.0);
    cr_expect(epsilon_eq(dbl, net_area(&c.part.tang), 70.0 * 15.0 - 50.0, 1e-9));
    cr_expect(epsilon_eq(dbl, net_area(&c.part.blade), 100.0 * 30.0 + 10.0 * 15.0 - 25.0, 1e-9));
    cr_expect(gt(dbl, area_of(&c.part.tang.outer), 0.0));
    cr_expect(lt(dbl, area_of(&c.part.tang.holes[0]), 0.0));
    free_cut(&c);
}

Test(part, axis_pointing_back_turns_the_knife_about)
{
    /* +x runs towards the drawing's left: what lay below the axis now lies above it. */
    struct cut c = cut_text(WHOLE, -20.0, 0.0, pi, 0);

    cr_assert(eq(int, c.status, TW_OK));
    expect_box(&c.part.tang.outer, 0.0, 80.0, -20.0, 10.0);
    free_cut(&c);
}

Test(part, mirrored_drawing_is_turned_over_and_runs_counterclockwise_again)
{
    struct cut c = cut_text(WHOLE, 10.0, 0.0, 0.0, 1);

    cr_assert(eq(int, c.status, TW_OK));
    expect_box(&c.part.tang.outer, 0.0, 70.0, -5.0, 10.0);
    expect_box(&c.part.tang.holes[0], 10.0, 20.0, 0.0, 5.0);
    cr_expect(gt(dbl, area_of(&c.part.tang.outer), 0.0));
    cr_expect(gt(dbl, area_of(&c.part.blade.outer), 0.0));
    cr_expect(lt(dbl, area_of(&c.part.tang.holes[0]), 0.0));
    free_cut(&c);
}

Test(part, a_dropped_axis_is_followed)
{
    /* The axis falls by 30 degrees; areas stay, lengths along it are cos and sin of the drawing's (closed form). */
    struct cut c = cut_text("POLYGON((-100 -10,60 -10,60 10,-100 10,-100 -10))", 0.0, 0.0, -pi / 6.0, 0);
    double x0, x1, y0, y1, c30 = cos(pi / 6.0), s30 = 0.5;

    cr_assert(eq(int, c.status, TW_OK));
    least_and_most(&c.part.tang.outer, &x0, &x1, &y0, &y1);
    cr_expect(epsilon_eq(dbl, x0, 0.0, 1e-12));
    cr_expect(epsilon_eq(dbl, x1, 60.0 * c30 + 10.0 * s30, 1e-9));
    cr_expect(epsilon_eq(dbl, net_area(&c.part.tang) + net_area(&c.part.blade), 3200.0, 1e-9));
    cr_expect(
        epsilon_eq(dbl, net_area(&c.part.tang), 1200.0, 1e-9)); /* the cut passes through the middle of the width */
    free_cut(&c);
}

Test(part, a_hole_cut_through_becomes_part_of_both_boundaries)
{
    struct cut c = cut_text(WHOLE, 25.0, 0.0, 0.0, 0);

    cr_assert(eq(int, c.status, TW_OK));
    cr_expect(eq(sz, c.part.tang.hole_count, 0));
    cr_expect(epsilon_eq(dbl, net_area(&c.part.tang), 55.0 * 15.0 - 25.0, 1e-9));
    cr_expect(eq(sz, c.part.blade.hole_count, 1));
    free_cut(&c);
}

Test(part, tang_alone_has_no_blade)
{
    struct cut touching = cut_text("POLYGON((0 -10,80 -10,80 5,0 5,0 -10))", 0.0, 0.0, 0.0, 0);
    struct cut nearly = cut_text("POLYGON((0 -10,80 -10,80 5,0 5,0 -10))", 0.009, 0.0, 0.0, 0);
    struct cut short_of_it = cut_text("POLYGON((0 -10,80 -10,80 5,0 5,0 -10))", -0.009, 0.0, 0.0, 0);

    cr_assert(eq(int, touching.status, TW_OK));
    cr_expect(eq(sz, touching.part.blade.outer.count, 0));
    expect_box(&touching.part.tang.outer, 0.0, 80.0, -10.0, 5.0);
    cr_assert(eq(int, nearly.status, TW_OK));
    cr_expect(eq(sz, nearly.part.blade.outer.count, 0));
    expect_box(&nearly.part.tang.outer, 0.0, 79.991, -10.0, 5.0);
    cr_assert(eq(int, short_of_it.status, TW_OK));
    cr_expect(eq(sz, short_of_it.part.blade.outer.count, 0));
    free_cut(&touching);
    free_cut(&nearly);
    free_cut(&short_of_it);
}

static void expect_fault(const char *wkt, double x_mm, double direction_rad, const char *fault)
{
    struct cut c = cut_text(wkt, x_mm, 0.0, direction_rad, 0);

    cr_expect(eq(int, c.status, TW_BAD_INPUT));
    cr_assert(ne(sz, c.findings.count, 0));
    cr_expect(strcmp(c.findings.items[0].text, fault) == 0, "seen:   %s\nwanted: %s", c.findings.items[0].text, fault);
    cr_expect(c.part.tang.outer.points == NULL && c.part.blade.outer.points == NULL);
    free_cut(&c);
}

Test(part, a_start_that_does_not_cross_is_refused_with_a_mend)
{
    expect_fault("POLYGON((5 -10,80 -10,80 5,5 5,5 -10))", 0.0, 0.0,
                 "a.wkt: the taper start lies 5 mm ahead of the outline, whose foremost point is (5, -10) mm; where a "
                 "tang is drawn alone, write taper_start = [\"5 mm\", \"0 mm\"]; where a whole knife is drawn, that "
                 "is its tip, so name the point where the tang begins");
    expect_fault("POLYGON((5 -10,80 -10,80 5,5 5,5 -10))", 0.0, pi,
                 "a.wkt: no tang lies behind the taper start at (0, 0) mm: the outline ends at (5, 5) mm, 5 mm ahead "
                 "of it; does the taper axis point the wrong way? Turn outline.axis_angle by 180 deg, or move "
                 "outline.taper_start");
}

Test(part, several_pieces_are_refused_with_their_places)
{
    /* A fork: two prongs behind the start. */
    struct cut c =
        cut_text("POLYGON((-50 -20,40 -20,40 -10,-10 -10,-10 10,40 10,40 20,-50 20,-50 -20))", 0.0, 0.0, 0.0, 0);

    cr_expect(eq(int, c.status, TW_BAD_INPUT));
    cr_expect(strstr(c.findings.items[0].text, "cuts the outline into 2 pieces of tang, two of them at (") != NULL,
              "%s", c.findings.items[0].text);
    free_cut(&c);
}
