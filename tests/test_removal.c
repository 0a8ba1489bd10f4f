/* test_removal.c - what comes off and what is touched, against closed forms.
 *
 * No expected value here is the program's own output: areas and volumes are elementary geometry, worked out
 * in the comment beside them, and the random motions are compared with a plain search for the lowest point
 * along them. */
#include "tangwright/removal.h"

#include "check/check.h"
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.14159265358979323846

/* A rectangle of stock on its own, `top` above z = 0, over x0..x1, y0..y1, in a grid with a margin of 15
 * mm. */
struct bench {
    struct tw_field field;
    struct tw_wheel_body body;
    struct tw_sweep *sweep;
};

static struct tw_ring rectangle(struct tw_point corners[4], double x0, double x1, double y0, double y1)
{
    corners[0] = (struct tw_point){ x0, y0 };
    corners[1] = (struct tw_point){ x1, y0 };
    corners[2] = (struct tw_point){ x1, y1 };
    corners[3] = (struct tw_point){ x0, y1 };
    return (struct tw_ring){ corners, 4 };
}

static struct tw_ring circle(struct tw_point points[720], double x, double y, double radius)
{
    for (int i = 0; i < 720; i++)
        points[i] = (struct tw_point){ x + radius * cos(i * PI / 360.0), y + radius * sin(i * PI / 360.0) };
    return (struct tw_ring){ points, 720 };
}

static void add_stock(struct tw_field *field, double x0, double x1, double y0, double y1, double top)
{
    struct tw_point corners[4];
    struct tw_ring ring = rectangle(corners, x0, x1, y0, y1);

    cr_assert(eq(int, tw_field_add_stock(field, &ring, 1, (struct tw_height_plane){ top, 0, 0 }, NULL), TW_OK));
}

static void add_keep_out(struct tw_field *field, double x0, double x1, double y0, double y1, double top,
                         enum tw_cell_kind kind)
{
    struct tw_point corners[4];
    struct tw_ring ring = rectangle(corners, x0, x1, y0, y1);

    cr_assert(
        eq(int, tw_field_add_keep_out(field, &ring, 1, kind, (struct tw_height_plane){ top, 0, 0 }, NULL), TW_OK));
}

static struct bench block(struct tw_wheel_body body, double cell, double x0, double x1, double y0, double y1,
                          double top)
{
    struct bench bench = { 0 };
    int columns = (int)lround((x1 - x0 + 30.0) / cell), rows = (int)lround((y1 - y0 + 30.0) / cell);

    cr_assert(eq(int, tw_field_new(x0 - 15.0, y0 - 15.0, cell, columns, rows, 0.0, &bench.field, NULL), TW_OK));
    bench.body = body;
    add_stock(&bench.field, x0, x1, y0, y1, top);
    return bench;
}

/* The sweep takes the address of the field, so it is made once the bench stands where it stays. */
static void start(struct bench *bench)
{
    cr_assert(eq(int, tw_sweep_new(&bench->field, &bench->body, bench->field.cell_mm, &bench->sweep, NULL), TW_OK));
}

static struct tw_removal go(struct tw_sweep *sweep, double x0, double y0, double z0, double x1, double y1, double z1)
{
    double from[3] = { x0, y0, z0 }, to[3] = { x1, y1, z1 };
    struct tw_removal removal;

    cr_assert(eq(int, tw_sweep_line(sweep, from, to, &removal, NULL), TW_OK));
    return removal;
}

static double height_at(const struct tw_field *field, double x, double y)
{
    int column = (int)floor((x - field->x_mm) / field->cell_mm), row = (int)floor((y - field->y_mm) / field->cell_mm);

    return (double)field->stock_mm[(size_t)row * (size_t)field->columns + (size_t)column];
}

static void done(struct bench *bench)
{
    tw_sweep_free(bench->sweep);
    tw_field_free(&bench->field);
}

static struct tw_wheel_body disc(double radius, double width)
{
    return (struct tw_wheel_body){ .shape = TW_BODY_DISC, .radius_mm = radius, .width_mm = width };
}

static struct tw_wheel_body cup(double radius, double rim, double hollow)
{
    return (struct tw_wheel_body){ .shape = TW_BODY_CUP, .radius_mm = radius, .rim_mm = rim, .hollow_mm = hollow };
}

/* Relative, for volumes: the 0.1 % that closed forms must be met to. */
#define EXPECT_CLOSE(actual, expected) cr_expect(epsilon_eq(dbl, (actual), (expected), 1e-3 * fabs(expected)))

/* --- discs --------------------------------------------------------------------------------------------- */

/* A lane right across a flat block: depth times width times length. */
Test(removal, a_lane_of_a_disc)
{
    struct bench b = block(disc(100, 10), 0.1, 0, 50, 0, 30, 4.0);
    struct tw_removal r;

    start(&b);
    r = go(b.sweep, -12, 15, 3.98, 62, 15, 3.98);
    EXPECT_CLOSE(r.volume_mm3, 0.02 * 10 * 50);
    cr_expect(epsilon_eq(dbl, r.depth_mm, 0.02, 1e-5));
    cr_expect(epsilon_eq(dbl, r.width_mm, 10.0, 1e-6));
    cr_expect(eq(long, r.cells, 500 * 100));
    cr_expect(epsilon_eq(dbl, r.x_from_mm, 0, 1e-9));
    cr_expect(epsilon_eq(dbl, r.x_to_mm, 50, 1e-9));
    cr_expect(epsilon_eq(dbl, r.y_from_mm, 10, 1e-9));
    cr_expect(epsilon_eq(dbl, r.y_to_mm, 20, 1e-9));
    /* the way back takes nothing */
    r = go(b.sweep, 62, 15, 3.98, -12, 15, 3.98);
    cr_expect(lt(dbl, r.volume_mm3, 1e-9));
    cr_expect(eq(long, r.cells, 0));
    done(&b);
}

/* The taper of the level mount: the lowest point rides R (sqrt(1 + m^2) - 1) above the target z = T0 - m x
 * and leaves that plane, a wedge of m L^2 / 2 per mm of width. */
Test(removal, a_wedge_ground_by_a_disc)
{
    const double m = 0.012, t0 = 4.0, radius = 100.0, above = radius * (sqrt(1 + m * m) - 1);
    struct bench b = block(disc(radius, 30), 0.1, 0, 80, 0, 20, t0);
    struct tw_removal r;

    start(&b);
    r = go(b.sweep, -5, 10, t0 + 5 * m + above, 90, 10, t0 - 90 * m + above);
    EXPECT_CLOSE(r.volume_mm3, m * 80 * 80 / 2 * 20);
    for (double x = 0.05; x < 80; x += 0.1)
        cr_assert(epsilon_eq(dbl, height_at(&b.field, x, 10.05), t0 - m * x, 1e-5), "x %g", x);
    cr_expect(epsilon_eq(dbl, r.depth_mm, m * 79.95, 1e-5));
    done(&b);
    /* the same uphill, wheel on the other way round */
    b = block(disc(radius, 30), 0.1, 0, 80, 0, 20, t0);
    start(&b);
    r = go(b.sweep, 90, 10, t0 - 90 * m + above, -5, 10, t0 + 5 * m + above);
    EXPECT_CLOSE(r.volume_mm3, m * 80 * 80 / 2 * 20);
    for (double x = 0.05; x < 80; x += 0.1)
        cr_assert(epsilon_eq(dbl, height_at(&b.field, x, 10.05), t0 - m * x, 1e-5), "x %g", x);
    done(&b);
}

/* Area of the segment of a circle cut off at height d. */
static double segment_mm2(double radius, double d)
{
    return radius * radius * acos(1 - d / radius) - (radius - d) * sqrt(2 * radius * d - d * d);
}

/* A trough: down, along, up. Its section along x is a segment of the circle, drawn out by the way; its half
 * length beyond the way is sqrt(2 R d - d^2), sqrt(2 R d) in short. */
Test(removal, a_trough_with_its_run_out)
{
    const double radius = 100.0, d = 0.4, run_out = sqrt(2 * radius * d - d * d);
    struct bench b = block(disc(radius, 6), 0.05, 0, 60, 0, 12, 4.0);
    struct tw_removal r;

    start(&b);
    r = go(b.sweep, 20, 6, 10, 20, 6, 4.0 - d);
    EXPECT_CLOSE(r.volume_mm3, 6 * segment_mm2(radius, d));
    cr_expect(epsilon_eq(dbl, r.x_from_mm, 20 - run_out, 0.05));
    cr_expect(epsilon_eq(dbl, r.x_to_mm, 20 + run_out, 0.05));
    r = go(b.sweep, 20, 6, 4.0 - d, 40, 6, 4.0 - d);
    EXPECT_CLOSE(r.volume_mm3, 6 * 20 * d);
    r = go(b.sweep, 40, 6, 4.0 - d, 40, 6, 10);
    cr_expect(eq(dbl, r.volume_mm3, 0.0));
    for (double x = 11.025; x < 50; x += 0.05) {
        double u = fmax(0, fmax(20 - x, x - 40));

        cr_assert(epsilon_eq(dbl, height_at(&b.field, x, 6.02),
                             fmin(4.0, 4.0 - d + radius - sqrt(radius * radius - u * u)), 1e-5));
    }
    done(&b);
}

/* Across: the section, a segment, times the width and the way. Aslant: every row sees a way of its own
 * along x, and over all rows these add up to |dx| times the width. */
Test(removal, a_disc_moved_across_and_aslant)
{
    const double radius = 50.0, d = 0.2, section = segment_mm2(radius, d);
    struct bench b = block(disc(radius, 8), 0.05, 0, 60, 0, 40, 4.0);
    struct tw_removal r;

    start(&b);
    r = go(b.sweep, 15, 10, 4.0 - d, 15, 25, 4.0 - d);
    EXPECT_CLOSE(r.volume_mm3, section * (8 + 15));
    done(&b);
    b = block(disc(radius, 8), 0.05, 0, 60, 0, 40, 4.0);
    start(&b);
    r = go(b.sweep, 40, 30, 4.0 - d, 20, 10, 4.0 - d);
    EXPECT_CLOSE(r.volume_mm3, section * (8 + 20) + d * 8 * 20);
    done(&b);
    b = block(disc(radius, 8), 0.05, 0, 60, 0, 40, 4.0);
    start(&b);
    r = go(b.sweep, 20, 10, 4.0 - d, 26, 30, 4.0 - d);
    EXPECT_CLOSE(r.volume_mm3, section * (8 + 20) + d * 8 * 6);
    done(&b);
}

/* --- cups ---------------------------------------------------------------------------------------------- */

/* Level: the rim sweeps a strip with two half circles at its ends, hollow or not. */
Test(removal, a_lane_of_a_cup)
{
    const double ways[3][2] = { { 40, 0 }, { 24, 32 }, { 0, -40 } };

    for (int i = 0; i < 3; i++) {
        struct bench b = block(cup(12, 2, 5), 0.05, -20, 60, -60, 60, 3.0);
        struct tw_removal r;

        start(&b);
        r = go(b.sweep, 0, 0, 2.9, ways[i][0], ways[i][1], 2.9);
        EXPECT_CLOSE(r.volume_mm3, 0.1 * (2 * 12 * 40 + PI * 144));
        cr_expect(epsilon_eq(dbl, r.depth_mm, 0.1, 1e-5));
        r = go(b.sweep, ways[i][0], ways[i][1], 2.9, 0, 0, 2.9);
        cr_expect(lt(dbl, r.volume_mm3, 1e-6));
        done(&b);
    }
}

/* Straight down only the rim cuts, and a core stays in the hollow until the rim comes over it. A short way
 * of 6 mm moves the ring by 6: what it has then covered is the plan of two rings and all between, which
 * leaves of the core the part that both hollows have in common, two segments of the inner circle. */
Test(removal, a_core_stands_inside_the_rim)
{
    const double ri = 10.0, way = 6.0, lens = 2 * segment_mm2(ri, ri - way / 2);
    struct bench b = block(cup(12, 2, 5), 0.02, -14, 22, -14, 14, 3.0);
    double total;

    start(&b);
    total = go(b.sweep, 0, 0, 5, 0, 0, 2.9).volume_mm3;
    EXPECT_CLOSE(total, 0.1 * PI * (144 - 100));
    cr_expect(eq(dbl, height_at(&b.field, 0.01, 0.01), 3.0));
    total += go(b.sweep, 0, 0, 2.9, way, 0, 2.9).volume_mm3;
    EXPECT_CLOSE(total, 0.1 * (PI * 144 + 2 * 12 * way - lens));
    done(&b);
}

/* Level mount, side by side lanes at the distance s: the programmed height is that of the target under the
 * uphill edge of the rim, T0 - m (x - R), and half way between two lanes a cusp of m (R - sqrt(R^2 -
 * (s/2)^2)) is left. */
Test(removal, the_cusp_of_a_cup_in_the_level_mount)
{
    const double m = 0.012, t0 = 4.0, radius = 25.0, s = 12.0;
    const double cusp = m * (radius - sqrt(radius * radius - s * s / 4));
    struct bench b = block(cup(radius, 4, 20), 0.1, 0, 80, 0, 30, t0);

    start(&b);
    for (int lane = 0; lane < 2; lane++) {
        /* the middles of the lanes are centres of cells, so that the cusp's top is one too */
        double y = 8.05 + lane * s;

        go(b.sweep, -40, y, t0 + (40 + radius) * m, 130, y, t0 - (130 - radius) * m);
    }
    for (double x = 5.05; x < 80; x += 0.1) {
        double y[3] = { 8.05, 8.05 + s / 2, 8.05 + s / 4 };
        double expected[3] = { 0, cusp, m * (radius - sqrt(radius * radius - s * s / 16)) };

        for (int i = 0; i < 3; i++)
            cr_assert(
                epsilon_eq(dbl, height_at(&b.field, x, y[i]) - (t0 - m * x), expected[i], 1e-5 + 1e-3 * expected[i]),
                "x %g, y %g", x, y[i]);
    }
    done(&b);
}

/* Uphill the leading edge is the low one: the same plane comes out of the same path run backwards. */
Test(removal, a_cup_going_uphill_leaves_the_same_surface)
{
    const double m = 0.012, t0 = 4.0, radius = 25.0;
    struct bench down = block(cup(radius, 4, 20), 0.1, 0, 80, 0, 30, t0),
                 up = block(cup(radius, 4, 20), 0.1, 0, 80, 0, 30, t0);
    double difference = 0.0, taken;

    start(&down);
    start(&up);
    taken = go(down.sweep, -40, 15, t0 + (40 + radius) * m, 130, 15, t0 - (130 - radius) * m).volume_mm3;
    EXPECT_CLOSE(go(up.sweep, 130, 15, t0 - (130 - radius) * m, -40, 15, t0 + (40 + radius) * m).volume_mm3, taken);
    for (size_t i = 0; i < (size_t)up.field.columns * (size_t)up.field.rows; i++)
        if (up.field.stock_mm[i] > 0)
            difference = fmax(difference, fabs((double)up.field.stock_mm[i] - (double)down.field.stock_mm[i]));
    cr_expect(lt(dbl, difference, 2e-6));
    done(&down);
    done(&up);
}

/* A circle of the cup's centre, of radius rho > R, sweeps the ring between rho - R and rho + R: 4 pi rho R. */
Test(removal, a_round_of_a_cup)
{
    struct bench b = block(cup(4, 4, 0), 0.05, -30, 30, -30, 30, 3.0);
    struct tw_sweep_arc arc = { .first_axis = 0,
                                .second_axis = 1,
                                .normal_axis = 2,
                                .centre_mm = { 1, -2, 2.9 },
                                .start_radius_mm = 15,
                                .end_radius_mm = 15,
                                .start_angle_rad = 0.3,
                                .sweep_rad = 2 * PI };
    struct tw_removal r;

    start(&b);
    cr_assert(eq(int, tw_sweep_arc(b.sweep, &arc, 0.001, &r, NULL), TW_OK));
    EXPECT_CLOSE(r.volume_mm3, 0.1 * 4 * PI * 15 * 4);
    cr_expect(epsilon_eq(dbl, r.slices[0].from, 0, 0));
    for (size_t i = 1; i < r.slice_count; i++)
        cr_assert(ge(dbl, r.slices[i].from, r.slices[i - 1].to - 1e-12));
    cr_expect(le(dbl, r.slices[r.slice_count - 1].to, 1 + 1e-12));
    done(&b);
}

/* An arc standing in XZ, run by a disc: its lowest point sinks by the sagitta. */
Test(removal, an_arc_that_dips)
{
    const double rho = 200.0, half = 10.0, dip = rho - sqrt(rho * rho - half * half);
    struct bench b = block(disc(60, 10), 0.1, -20, 20, 0, 10, 3.0);
    struct tw_sweep_arc arc = { .first_axis = 2,
                                .second_axis = 0,
                                .normal_axis = 1,
                                .centre_mm = { 0, 5, 3.0 + rho - dip },
                                .start_radius_mm = rho,
                                .end_radius_mm = rho,
                                .start_angle_rad = PI - asin(-half / rho),
                                .sweep_rad = -2 * asin(half / rho) };
    struct tw_removal r;

    start(&b);
    cr_assert(eq(int, tw_sweep_arc(b.sweep, &arc, 1e-5, &r, NULL), TW_OK));
    /* The wheel's centre keeps rho from the middle of its own circle, so its rim is never farther than rho
     * + 60 from there: the hollow left has that radius. */
    for (double x = -9.95; x < 10; x += 0.1)
        cr_assert(epsilon_eq(dbl, height_at(&b.field, x, 5.0),
                             fmin(3.0, 3.0 - dip + (rho + 60) - sqrt((rho + 60) * (rho + 60) - x * x)), 2e-5));
    done(&b);
}

/* --- fields -------------------------------------------------------------------------------------------- */

/* A hole is nothing to grind: a cup over a plate with two holes takes depth times what is left of the
 * plate. */
Test(removal, holes_in_the_stock)
{
    struct bench b = { .body = cup(20, 3, 9) };
    struct tw_point corners[4], one[720], other[720];
    struct tw_ring rings[3] = { rectangle(corners, 0, 60, 0, 25), circle(one, 15, 12, 3), circle(other, 44, 13, 4.5) };
    double area = 60 * 25 - PI * (9 + 4.5 * 4.5);

    cr_assert(eq(int, tw_field_new(-5, -5, 0.05, 1400, 700, 1.0, &b.field, NULL), TW_OK));
    cr_assert(eq(int, tw_field_add_stock(&b.field, rings, 3, (struct tw_height_plane){ 4, -0.01, 0 }, NULL), TW_OK));
    start(&b);
    /* 3 mm stand above the bottom at x = 0, less by the slope; the centroid of area times slope is taken
     * off */
    EXPECT_CLOSE(tw_field_volume_mm3(&b.field), 3 * area - 0.01 * (60 * 25 * 30 - PI * 9 * 15 - PI * 4.5 * 4.5 * 44));
    EXPECT_CLOSE(go(b.sweep, -30, 12.5, 3.2, 90, 12.5, 3.2).volume_mm3,
                 0.8 * area - 0.01 * (60 * 25 * 30 - PI * 9 * 15 - PI * 4.5 * 4.5 * 44));
    done(&b);
}

/* Below the stock there is nothing more to take. */
Test(removal, a_cut_through_the_stock_ends_at_its_bottom)
{
    struct bench b = block(disc(50, 10), 0.1, 0, 30, 0, 10, 2.0);
    struct tw_removal r;

    start(&b);
    r = go(b.sweep, -30, 5, -1, 60, 5, -1);
    EXPECT_CLOSE(r.volume_mm3, 2.0 * 10 * 30);
    EXPECT_CLOSE(r.depth_mm, 2.0);
    done(&b);
}

Test(removal, measures_that_make_no_sense_are_refused)
{
    struct tw_field field;
    struct bench b = block(disc(50, 10), 0.5, 0, 5, 0, 5, 2.0);
    struct tw_wheel_body bodies[] = { disc(0, 10),   disc(-1, 10),   disc(10, 0),    disc((double)NAN, 3),
                                      cup(10, 0, 1), cup(10, 11, 1), cup(10, 2, -1), cup(10, (double)NAN, 1) };
    struct tw_sweep *sweep;
    struct tw_removal r;
    double good[3] = { 0, 0, 0 }, bad[3] = { 0, (double)NAN, 0 };
    struct tw_sweep_arc arc = {
        .second_axis = 1, .normal_axis = 2, .start_radius_mm = 5, .end_radius_mm = 5, .sweep_rad = 1
    };

    cr_expect(eq(int, tw_field_new(0, 0, 0.0, 10, 10, 0, &field, NULL), TW_BAD_USAGE));
    cr_expect(eq(int, tw_field_new(0, 0, 0.1, 0, 10, 0, &field, NULL), TW_BAD_USAGE));
    cr_expect(eq(int, tw_field_new(0, 0, 0.1, 1 << 20, 1 << 20, 0, &field, NULL), TW_BAD_USAGE));
    cr_expect(eq(int, tw_field_new((double)NAN, 0, 0.1, 10, 10, 0, &field, NULL), TW_BAD_USAGE));
    for (size_t i = 0; i < sizeof bodies / sizeof bodies[0]; i++) {
        cr_expect(eq(int, tw_sweep_new(&b.field, &bodies[i], 1, &sweep, NULL), TW_BAD_USAGE), "body %zu", i);
        cr_expect(eq(ptr, sweep, NULL));
    }
    cr_expect(eq(int, tw_sweep_new(&b.field, &b.body, 0.4, &sweep, NULL), TW_BAD_USAGE));
    start(&b);
    cr_expect(eq(int, tw_sweep_line(b.sweep, good, bad, &r, NULL), TW_BAD_USAGE));
    cr_expect(eq(int, tw_sweep_arc(b.sweep, &arc, 0.0, &r, NULL), TW_BAD_USAGE));
    cr_expect(eq(int, tw_sweep_arc(b.sweep, &arc, 1e-15, &r, NULL), TW_BAD_USAGE));
    done(&b);
}

/* --- contacts ------------------------------------------------------------------------------------------ */

static void expect_contact(const struct tw_removal *r, enum tw_cell_kind kind, double depth, double x, double y)
{
    cr_expect(epsilon_eq(dbl, r->contacts[kind].depth_mm, depth, 1e-5), "kind %d", kind);
    cr_expect(epsilon_eq(dbl, r->contacts[kind].x_mm, x, 0.1), "kind %d", kind);
    cr_expect(epsilon_eq(dbl, r->contacts[kind].y_mm, y, 0.1), "kind %d", kind);
    cr_expect(gt(long, r->contacts[kind].cells, 0));
}

static void expect_no_contact(const struct tw_removal *r)
{
    for (int kind = 0; kind < TW_CELL_KINDS; kind++)
        cr_expect(eq(dbl, r->contacts[kind].depth_mm, 0.0), "kind %d", kind);
}

/* A pin of 1 by 1 mm beside a lane: touched when the wheel's side passes its near edge, not before. */
Test(removal, a_disc_meets_a_pin)
{
    struct bench b = block(disc(50, 10), 0.1, 0, 50, 0, 30, 4.0);
    struct tw_removal r;

    add_keep_out(&b.field, 30, 31, 22, 23, 6.0, TW_CELL_PIN);
    start(&b);
    r = go(b.sweep, -30, 16.9, 3.9, 90, 16.9, 3.9);
    expect_no_contact(&r);
    r = go(b.sweep, -30, 17.1, 3.9, 90, 17.1, 3.9);
    expect_contact(&r, TW_CELL_PIN, 2.1, 30.05, 22.05); /* the first of ten cells as deep */
    cr_expect(eq(long, r.contacts[TW_CELL_PIN].cells, 10));
    /* the keep-out still stands there for the next line */
    r = go(b.sweep, 90, 17.1, 3.9, -30, 17.1, 3.9);
    cr_expect(epsilon_eq(dbl, r.contacts[TW_CELL_PIN].depth_mm, 2.1, 1e-5));
    done(&b);
}

/* A clamp h above the pass is reached sqrt(2 R h - h^2) ahead of the wheel's lowest point. */
Test(removal, a_disc_runs_up_to_a_clamp)
{
    const double radius = 50, h = 2, ahead = sqrt(2 * radius * h - h * h);
    struct bench b = block(disc(radius, 10), 0.1, 0, 50, 0, 30, 4.0);
    struct tw_removal r;

    add_keep_out(&b.field, 50, 60, 0, 30, 3.9 + h, TW_CELL_CLAMP);
    start(&b);
    r = go(b.sweep, 0, 15, 3.9, 50 - ahead - 0.06, 15, 3.9);
    expect_no_contact(&r);
    r = go(b.sweep, 0, 15, 3.9, 50 - ahead + 0.06, 15, 3.9);
    cr_expect(gt(dbl, r.contacts[TW_CELL_CLAMP].depth_mm, 0.0));
    cr_expect(epsilon_eq(dbl, r.contacts[TW_CELL_CLAMP].x_mm, 50.05, 1e-6));
    done(&b);
}

/* Each part of a cup, alone: rim, roof of the hollow, nose. */
Test(removal, every_part_of_a_cup_can_hit)
{
    struct tw_wheel_body body = cup(10, 2, 3);
    struct bench b = block(cup(10, 2, 3), 0.1, -20, 20, -20, 20, 1.0);
    struct tw_removal r;

    tw_sweep_free(b.sweep);
    body.nose_radius_mm = 14;
    body.nose_start_mm = 8;
    b.body = body;
    add_keep_out(&b.field, 9, 9.5, 0, 0.5, 5.0, TW_CELL_BLADE);  /* under the rim */
    add_keep_out(&b.field, -1, 1, -1, 1, 7.0, TW_CELL_PIN);      /* inside the hollow */
    add_keep_out(&b.field, 0, 1, 12, 12.5, 12.0, TW_CELL_CLAMP); /* outside the wheel, below the nose */
    start(&b);
    r = go(b.sweep, 0, 0, 30, 0, 0, 5.5);
    expect_no_contact(&r);
    r = go(b.sweep, 0, 0, 5.5, 0, 0, 4.6);
    cr_expect(epsilon_eq(dbl, r.contacts[TW_CELL_BLADE].depth_mm, 0.4, 1e-5));
    cr_expect(eq(dbl, r.contacts[TW_CELL_PIN].depth_mm, 0.0));
    cr_expect(eq(dbl, r.contacts[TW_CELL_CLAMP].depth_mm, 0.0));
    r = go(b.sweep, 0, 0, 4.6, 0, 0, 3.5);
    cr_expect(epsilon_eq(dbl, r.contacts[TW_CELL_BLADE].depth_mm, 1.5, 1e-5));
    cr_expect(epsilon_eq(dbl, r.contacts[TW_CELL_PIN].depth_mm, 0.5, 1e-5));
    cr_expect(epsilon_eq(dbl, r.contacts[TW_CELL_CLAMP].depth_mm, 0.5, 1e-5));
    cr_expect(eq(dbl, r.contacts[TW_CELL_STOCK].depth_mm, 0.0));
    done(&b);
}

/* The roof of a hollow that is deeper in the stock than it is deep lies on it. */
Test(removal, the_roof_of_the_hollow_meets_the_stock)
{
    struct bench b = block(cup(10, 2, 0.3), 0.1, -20, 20, -20, 20, 3.0);
    struct tw_removal r;

    start(&b);
    r = go(b.sweep, 0, 0, 5, 0, 0, 2.8);
    cr_expect(eq(dbl, r.contacts[TW_CELL_STOCK].depth_mm, 0.0));
    r = go(b.sweep, 0, 0, 2.8, 0, 0, 2.5);
    cr_expect(epsilon_eq(dbl, r.contacts[TW_CELL_STOCK].depth_mm, 0.2, 1e-5));
    done(&b);
}

/* The nose of a disc lies beside it, R - Rn above its lowest point. */
Test(removal, the_nose_of_a_disc_hits_what_stands_beside_it)
{
    struct bench b = block(disc(50, 10), 0.1, 0, 50, 0, 60, 4.0);
    struct tw_removal r;

    b.body.nose_radius_mm = 20;
    b.body.nose_start_mm = 9;
    b.body.nose_side = -1;
    add_keep_out(&b.field, 20, 25, 20, 21, 35.0, TW_CELL_CLAMP);
    start(&b);
    r = go(b.sweep, 22.5, 27, 3.9, 22.5, 28.9, 3.9);
    cr_expect(eq(dbl, r.contacts[TW_CELL_CLAMP].depth_mm, 0.0));
    r = go(b.sweep, 22.5, 28.9, 3.9, 22.5, 29.2, 3.9);
    /* 35 - (3.9 + 50 - 20), under the nose's lowest line, half a cell beside it */
    cr_expect(epsilon_eq(dbl, r.contacts[TW_CELL_CLAMP].depth_mm, 1.1 - 0.05 * 0.05 / 40, 2e-5));
    done(&b);
}

/* Below the limit: told with the amount, for the motion that did it alone. */
Test(removal, a_cut_below_the_target_is_told)
{
    struct bench b = block(disc(50, 10), 0.1, 0, 50, 0, 30, 4.0);
    struct tw_point corners[4];
    struct tw_ring relief = rectangle(corners, 20, 30, 0, 30);
    struct tw_removal r;

    cr_assert(eq(int, tw_field_set_limit(&b.field, NULL, 0, (struct tw_height_plane){ 3.8, 0, 0 }, NULL), TW_OK));
    cr_assert(eq(int, tw_field_set_limit(&b.field, &relief, 1, (struct tw_height_plane){ 3.6, 0, 0 }, NULL), TW_OK));
    start(&b);
    r = go(b.sweep, -30, 15, 3.8, 90, 15, 3.8);
    expect_no_contact(&r);
    r = go(b.sweep, -30, 15, 3.75, 24, 15, 3.75);
    cr_expect(epsilon_eq(dbl, r.contacts[TW_CELL_TARGET].depth_mm, 0.05, 1e-5));
    cr_expect(eq(long, r.contacts[TW_CELL_TARGET].cells, 200 * 100));
    /* the same ground again, not deeper: nothing to tell */
    r = go(b.sweep, -30, 15, 3.75, 24, 15, 3.75);
    expect_no_contact(&r);
    /* aslant, cell by cell */
    done(&b);
    b = block(cup(10, 10, 0), 0.1, 0, 50, 0, 50, 4.0);
    cr_assert(eq(int, tw_field_set_limit(&b.field, NULL, 0, (struct tw_height_plane){ 3.8, 0, 0 }, NULL), TW_OK));
    start(&b);
    r = go(b.sweep, 0, 0, 3.77, 40, 30, 3.77);
    cr_expect(epsilon_eq(dbl, r.contacts[TW_CELL_TARGET].depth_mm, 0.03, 1e-5));
    done(&b);
}

/* Where an earlier motion went deeper, that is not this one's fault; cells at the end of a row count too. */
Test(removal, the_depth_below_the_target_is_this_motions_own)
{
    struct bench b = block(disc(50, 10), 0.1, 0, 50.3, 0, 30, 4.0);
    struct tw_removal r;

    cr_assert(eq(int, tw_field_set_limit(&b.field, NULL, 0, (struct tw_height_plane){ 3.8, 0, 0 }, NULL), TW_OK));
    start(&b);
    r = go(b.sweep, 10, 15, 6, 10, 15, 3.5);
    cr_expect(epsilon_eq(dbl, r.contacts[TW_CELL_TARGET].depth_mm, 0.3, 1e-4));
    r = go(b.sweep, -30, 15, 3.78, 90, 15, 3.78);
    cr_expect(epsilon_eq(dbl, r.contacts[TW_CELL_TARGET].depth_mm, 0.02, 1e-5));
    /* 503 columns but for the trough, sqrt(50^2 - 49.72^2) = 5.284 to both sides of x = 10: 106 of them */
    cr_expect(eq(long, r.contacts[TW_CELL_TARGET].cells, (503 - 106) * 100));
    done(&b);
    b = block(disc(50, 10), 0.1, 0, 0.3, 0, 30, 4.0);
    cr_assert(eq(int, tw_field_set_limit(&b.field, NULL, 0, (struct tw_height_plane){ 3.8, 0, 0 }, NULL), TW_OK));
    start(&b);
    r = go(b.sweep, -30, 15, 3.78, 90, 15, 3.78);
    cr_expect(epsilon_eq(dbl, r.contacts[TW_CELL_TARGET].depth_mm, 0.02, 1e-5));
    cr_expect(eq(long, r.contacts[TW_CELL_TARGET].cells, 300));
    done(&b);
}

/* A pin one cell wide is found wherever it stands, and the higher of two things in one place counts. */
Test(removal, no_pin_is_overlooked)
{
    for (int i = 0; i < 70; i++) {
        struct bench b = block(disc(50, 10), 0.1, 0, 20, 0, 30, 4.0);
        double x = 5 + 0.1 * i;
        struct tw_removal r;

        add_keep_out(&b.field, x, x + 0.1, 15, 15.1, 5.0, TW_CELL_PIN);
        add_keep_out(&b.field, x, x + 0.1, 15, 15.1, 4.5, TW_CELL_PAD);
        start(&b);
        r = go(b.sweep, 0, 15, 3.9, 25, 15, 3.9);
        cr_assert(epsilon_eq(dbl, r.contacts[TW_CELL_PIN].depth_mm, 1.1, 1e-5), "x %g", x);
        cr_assert(eq(dbl, r.contacts[TW_CELL_PAD].depth_mm, 0.0));
        done(&b);
    }
}

/* Five hundred layers, each as large as the one before: as the stock gets lower nothing is left out. */
Test(removal, many_layers)
{
    struct bench b = block(disc(50, 10), 0.25, 0, 15, 0, 10, 12.0);

    start(&b);
    for (int i = 1; i <= 500; i++)
        cr_assert(
            epsilon_eq(dbl, go(b.sweep, -40, 5, 12 - 0.02 * i, 60, 5, 12 - 0.02 * i).volume_mm3, 0.02 * 150, 3e-3),
            "layer %d", i);
    cr_expect(epsilon_eq(dbl, height_at(&b.field, 7, 5), 2.0, 1e-5));
    done(&b);
}

/* The deepest row tells the depth, wherever it lies among the others. */
Test(removal, the_deepest_row_tells_the_depth)
{
    struct bench b = block(disc(50, 10), 0.1, 0, 20, 0, 10, 4.0);
    struct tw_removal r;

    add_stock(&b.field, 0, 20, 4, 6, 4.2);
    start(&b);
    r = go(b.sweep, -40, 5, 3.9, 60, 5, 3.9);
    cr_expect(epsilon_eq(dbl, r.depth_mm, 0.3, 1e-5));
    EXPECT_CLOSE(r.volume_mm3, 20 * (8 * 0.1 + 2 * 0.3));
    done(&b);
}

/* A probe with a larger body finds what a clearance would be broken by, and cuts nothing. */
Test(removal, a_probe_looks_and_does_not_cut)
{
    struct bench b = block(cup(10, 2, 3), 0.1, 0, 50, 0, 30, 4.0);
    struct tw_wheel_body wider = cup(11, 3, 3);
    double from[3] = { 10, 15, 3.0 }, to[3] = { 40, 15, 3.0 }, before;
    struct tw_removal r;

    add_keep_out(&b.field, 20, 30, 25.5, 30, 6.0, TW_CELL_CLAMP);
    start(&b);
    before = tw_field_volume_mm3(&b.field);
    cr_assert(eq(int, tw_sweep_probe(b.sweep, &wider, from, to, &r, NULL), TW_OK));
    cr_expect(epsilon_eq(dbl, r.contacts[TW_CELL_CLAMP].depth_mm, 3.0, 1e-5));
    cr_expect(eq(dbl, r.volume_mm3, 0.0));
    cr_expect(eq(dbl, tw_field_volume_mm3(&b.field), before));
    r = go(b.sweep, 10, 15, 3.0, 40, 15, 3.0);
    cr_expect(eq(dbl, r.contacts[TW_CELL_CLAMP].depth_mm, 0.0));
    done(&b);
}

/* --- in time ------------------------------------------------------------------------------------------- */

/* A disc running into a block touches it when sqrt(2 R d) before it. From where its lowest point is over
 * the edge the rate is b d per mm of way, and stays so where the motion ends in the stock. */
Test(removal, removal_over_time_for_a_disc)
{
    const double radius = 100, d = 0.02, width = 10, chord = sqrt(2 * radius * d);
    struct bench b = block(disc(radius, width), 0.05, 0, 50, 0, 30, 4.0);
    double volume = 0.0;
    struct tw_removal r;

    start(&b);
    r = go(b.sweep, -10, 15, 4 - d, 30, 15, 4 - d);
    cr_assert(eq(sz, r.slice_count, (size_t)800));
    for (size_t i = 0; i < r.slice_count; i++) {
        double x = -10 + 40 * r.slices[i].to, rate = r.slices[i].volume_mm3 / 0.05;

        volume += r.slices[i].volume_mm3;
        if (x < -chord - 0.1)
            cr_assert(eq(dbl, rate, 0.0), "x %g", x);
        if (x > 0.1)
            cr_assert(epsilon_eq(dbl, rate, width * d, 0.02 * width * d), "x %g", x);
        if (x > 0.1)
            cr_assert(epsilon_eq(dbl, r.slices[i].width_mm, width, 0.02 * width), "x %g", x);
    }
    /* at the end the wheel stands in the stock: ahead of it a parabola is cut, two thirds of chord times
     * depth */
    EXPECT_CLOSE(volume, width * (d * 30 + d * chord * 2 / 3));
    EXPECT_CLOSE(volume, r.volume_mm3);
    done(&b);
}

/* The same lane in two hundred pieces: the same surface, and in every piece the volume of its length. */
Test(removal, a_lane_in_pieces_tells_what_the_whole_lane_tells)
{
    const double d = 0.02, width = 10;
    struct bench whole = block(disc(100, width), 0.05, 0, 50, 0, 12, 4.0),
                 parts = block(disc(100, width), 0.05, 0, 50, 0, 12, 4.0);

    start(&whole);
    start(&parts);
    go(whole.sweep, -10, 6, 4 - d, 30, 6, 4 - d);
    for (int i = 0; i < 200; i++) {
        double from = -10 + 0.2 * i, to = -10 + 0.2 * (i + 1);
        struct tw_removal r = go(parts.sweep, from, 6, 4 - d, to, 6, 4 - d);

        if (from > 0)
            cr_assert(epsilon_eq(dbl, r.volume_mm3, width * d * 0.2, 1e-3 * width * d * 0.2), "piece %d", i);
    }
    for (size_t i = 0; i < (size_t)whole.field.columns * (size_t)whole.field.rows; i++)
        if (whole.field.stock_mm[i] > 0)
            cr_assert(epsilon_eq(flt, whole.field.stock_mm[i], parts.field.stock_mm[i], 2e-6F));
    done(&whole);
    done(&parts);
}

/* A cup level, into a block wider than the wheel: after the way w past the block's edge it has covered the
 * segment of height w of its circle; from w = R on the front stays a half circle, so it is 2 R more for
 * every mm. */
static double covered_mm2(double radius, double w)
{
    return w <= 0 ? 0.0 : w < radius ? segment_mm2(radius, w) : PI * radius * radius / 2 + 2 * radius * (w - radius);
}

Test(removal, removal_over_time_for_a_cup)
{
    const double radius = 10, d = 0.1;
    struct bench b = block(cup(radius, 2, 5), 0.05, 0, 50, 0, 30, 4.0);
    double volume = 0.0;
    struct tw_removal r;

    start(&b);
    r = go(b.sweep, -12, 15, 4 - d, 25, 15, 4 - d);
    cr_assert(eq(sz, r.slice_count, (size_t)740));
    for (size_t i = 0; i < r.slice_count; i++) {
        volume += r.slices[i].volume_mm3;
        /* within what one step of a cell adds */
        cr_assert(
            epsilon_eq(dbl, volume, d * covered_mm2(radius, -12 + 37 * r.slices[i].to + radius), d * 2 * radius * 0.05),
            "slice %zu", i);
    }
    done(&b);
}

/* Sinking aslant through stock that surrounds it, a full-faced cup takes every mm the same: its width times
 * its depth in front and, over its face, the sinking. Its volume after a way w from a start at height z0
 * above the stock's top is that of the slanted cylinder below the top; in all, for a way L sinking h below
 * the top, starting at the top: the plan's area pi R^2 sinks by h, and the way adds 2 R times the mean
 * depth h / 2 times L. */
Test(removal, removal_over_time_for_a_cup_sinking_aslant)
{
    const double radius = 5, h = 0.4, length = 25;
    struct bench b = block(cup(radius, radius, 0), 0.05, -8, 30, -8, 25, 4.0);
    double volume = 0.0;
    struct tw_removal r;

    start(&b);
    r = go(b.sweep, 0, 0, 4, 20, 15, 4 - h);
    EXPECT_CLOSE(r.volume_mm3, PI * 25 * h + 2 * radius * length * h / 2);
    for (size_t i = 0; i < r.slice_count; i++) {
        double t = r.slices[i].to, expected = PI * 25 * h * t + 2 * radius * length * h * t * t / 2;

        volume += r.slices[i].volume_mm3;
        /* at any time it is that of a shorter motion to there */
        cr_assert(epsilon_eq(dbl, volume, expected, 0.05 * r.volume_mm3), "t %g: %g, %g", t, volume, expected);
    }
    done(&b);
}

/* A cup going straight down into a block cuts its rim's area evenly from the moment it is there. */
Test(removal, removal_over_time_straight_down)
{
    struct bench b = block(cup(10, 2, 5), 0.1, -15, 15, -15, 15, 4.0);
    const double rim = PI * (100 - 64);
    struct tw_removal r;

    start(&b);
    r = go(b.sweep, 0, 0, 6, 0, 0, 3);
    cr_assert(eq(sz, r.slice_count, (size_t)30));
    for (size_t i = 0; i < 30; i++)
        cr_expect(epsilon_eq(dbl, r.slices[i].volume_mm3, i < 20 ? 0.0 : rim * 0.1, 1e-3 * rim), "slice %zu", i);
    done(&b);
}

/* The level mount cuts at the uphill edge of the rim: over a flat block already tapered, one layer d deep
 * is taken by the trailing edge, and the depth told is d, not the height of the leading edge above the
 * target. */
Test(removal, the_depth_of_a_layer_in_the_level_mount)
{
    const double m = 0.01, t0 = 4, radius = 20, d = 0.03;
    struct bench b = block(cup(radius, 3, 15), 0.1, 0, 80, 0, 4, t0);
    struct tw_removal r;

    start(&b);
    go(b.sweep, -30, 2, t0 + (30 + radius) * m, 110, 2, t0 - (110 - radius) * m);
    r = go(b.sweep, -30, 2, t0 - d + (30 + radius) * m, 110, 2, t0 - d - (110 - radius) * m);
    EXPECT_CLOSE(r.depth_mm, d);
    EXPECT_CLOSE(r.volume_mm3, d * 4 * 80);
    done(&b);
}

/* A disc that climbs out of the stock: at its upper end it is above all of it, at its lower end its reach ends short of
 * the cells in between, and yet on the way it is at them. It rides R (sqrt(1 + m^2) - 1) above the plane it grinds and
 * touches it R m / sqrt(1 + m^2) uphill (elementary geometry), so every cell whose place of contact lies on the way ends
 * on the plane, as far as the plane lies below the top. */
Test(removal, a_disc_climbing_out_of_a_low_wedge)
{
    const double m = 0.036, radius = 125, top = 6.2, lift = radius * (sqrt(1 + m * m) - 1);
    const double touch = radius * m / sqrt(1 + m * m), plane_at_50 = top - 0.01; /* so the wedge begins at 49.72 */
    const double x0 = 57.9, x1 = 50.0 + touch - 3.0;
    struct bench b = block(disc(radius, 28), 0.5, 0, 51, 0, 20, top);

    start(&b);
    go(b.sweep, x0, 10, plane_at_50 - m * (x0 - 50) + lift, x1, 10, plane_at_50 - m * (x1 - 50) + lift);
    for (double x = 47.25; x < 51; x += 0.5)
        cr_expect(epsilon_eq(dbl, height_at(&b.field, x, 10.1), fmin(top, plane_at_50 - m * (x - 50)), 2e-6), "x %g",
                  x);
    done(&b);
}

/* --- anything at all ----------------------------------------------------------------------------------- */

static unsigned long long random_state = 33;

/* Linear congruential, as in Knuth, The Art of Computer Programming vol. 2, section 3.3.4, from memory. */
static double draw(double from, double to)
{
    random_state = random_state * 6364136223846793005ULL + 1442695040888963407ULL;
    return from + (to - from) * (double)(random_state >> 11) / 9007199254740992.0;
}

/* The wheel's lowest point over a place, by its definition; INFINITY where it is not over it. */
static double wheel_height(const struct tw_wheel_body *body, double x, double y, double z)
{
    double r = hypot(x, y);

    if (body->shape == TW_BODY_CUP)
        return r <= body->radius_mm && r >= body->radius_mm - body->rim_mm ? z : (double)INFINITY;
    if (fabs(y) > body->width_mm / 2 || fabs(x) > body->radius_mm)
        return (double)INFINITY;
    return z + body->radius_mm - sqrt(body->radius_mm * body->radius_mm - x * x);
}

/* By search along the motion. `shrink` narrows or widens the wheel, as a search can miss a place by its
 * step and a cell's centre can lie on the wheel's very edge. */
static double searched(const struct tw_wheel_body *body, double shrink, const double a[3], const double b[3], double x,
                       double y, int steps)
{
    struct tw_wheel_body other = *body;
    double lowest = (double)INFINITY;

    if (body->shape == TW_BODY_CUP) {
        other.radius_mm -= shrink;
        other.rim_mm = fmin(other.rim_mm - 2 * shrink, other.radius_mm);
    } else {
        other.width_mm -= 2 * shrink;
    }
    for (int i = 0; i <= steps; i++) {
        double t = (double)i / steps;

        lowest = fmin(lowest, wheel_height(&other, x - a[0] - t * (b[0] - a[0]), y - a[1] - t * (b[1] - a[1]),
                                           a[2] + t * (b[2] - a[2])));
    }
    return lowest;
}

static void random_motion(double a[3], double b[3])
{
    int way = (int)draw(0, 5);

    for (int i = 0; i < 3; i++) {
        a[i] = i < 2 ? draw(-2, 12) : draw(1, 2.3);
        b[i] = i < 2 ? draw(-2, 12) : draw(1, 2.3);
    }
    if (way == 1)
        b[1] = a[1];
    if (way == 2)
        b[0] = a[0];
    if (way == 3)
        b[0] = a[0], b[1] = a[1];
    if (draw(0, 1) < 0.3)
        b[2] = a[2];
    if (way == 1)
        b[2] = a[2] + (b[2] - a[2]) * 0.05; /* the gentle slopes that are cut in runs */
}

/* The exact sweep must lie between a search with a slightly smaller and one with a slightly larger wheel. */
static void compare_with_search(struct bench *b, const double from[3], const double to[3])
{
    const double edge = 0.012, steep = 0.012;

    for (int row = 0; row < b->field.rows; row++) {
        for (int column = 0; column < b->field.columns; column++) {
            double x = b->field.x_mm + (column + 0.5) * b->field.cell_mm,
                   y = b->field.y_mm + (row + 0.5) * b->field.cell_mm;
            double got = (double)b->field.stock_mm[row * b->field.columns + column], high, low;

            if (got == -(double)INFINITY)
                continue;
            high = fmin(3.0, searched(&b->body, edge, from, to, x, y, 1500));
            low = fmin(3.0, searched(&b->body, -edge, from, to, x, y, 1500));
            cr_assert(le(dbl, got, high + 1e-5), "%g %g: got %g, searched %g", x, y, got, high);
            cr_assert(ge(dbl, got, fmax(low, 0.0) - steep), "%g %g: got %g, searched %g", x, y, got, low);
        }
    }
}

/* Whoever asks only there where cells became lower must not miss one: of a block that was flat. */
static void look_beyond(const struct bench *b, const struct tw_removal *r)
{
    for (int row = 0; row < b->field.rows; row++) {
        for (int column = 0; column < b->field.columns; column++) {
            double x = b->field.x_mm + (column + 0.5) * b->field.cell_mm,
                   y = b->field.y_mm + (row + 0.5) * b->field.cell_mm;
            bool inside = r->volume_mm3 > 0.0 && x > r->lower_x_from_mm && x < r->lower_x_to_mm &&
                          y > r->lower_y_from_mm && y < r->lower_y_to_mm;

            if (b->field.stock_mm[row * b->field.columns + column] < 3.0F && height_at(&b->field, x, y) >= 0.0)
                cr_assert(inside, "%g %g lies outside", x, y);
        }
    }
}

Test(removal, random_motions_are_swept_as_a_search_finds_them)
{
    for (int i = 0; i < 60; i++) {
        double radius = draw(1.5, 6), from[3], to[3], before;
        struct bench b = { .body = i % 2 ? disc(radius * 3, draw(0.5, 5)) : cup(radius, draw(0.3, radius), 5) };
        struct tw_removal r;

        cr_assert(eq(int, tw_field_new(0, 0, 0.41, 25, 25, 0, &b.field, NULL), TW_OK));
        add_stock(&b.field, 1, 9, 1, 8, 3.0);
        before = tw_field_volume_mm3(&b.field);
        start(&b);
        random_motion(from, to);
        cr_assert(eq(int, tw_sweep_line(b.sweep, from, to, &r, NULL), TW_OK));
        /* nothing is lost or counted twice */
        cr_assert(epsilon_eq(dbl, r.volume_mm3, before - tw_field_volume_mm3(&b.field), 1e-6 * before));
        compare_with_search(&b, from, to);
        look_beyond(&b, &r);
        done(&b);
    }
}

/* ---- a field one motion behind another ---- */

/* Level chords of a loop that goes round and comes down layer by layer, as a relief is cut; every third round aslant. */
static void next_chord(int i, double at[3])
{
    double angle = 0.21 * i, r = 2.0 + (i % 60 < 30 ? 0.0 : 0.8);

    at[0] = 5.0 + r * cos(angle);
    at[1] = 4.5 + r * sin(angle);
    at[2] = 2.98 - 0.02 * (i / 30) - (i / 30 % 3 == 2 ? 5e-4 * (i % 30) : 0.0);
}

static void expect_same_removal(const struct tw_removal *a, const struct tw_removal *b)
{
    cr_assert(eq(dbl, a->volume_mm3, b->volume_mm3));
    cr_assert(eq(dbl, a->depth_mm, b->depth_mm));
    cr_assert(eq(dbl, a->x_to_mm, b->x_to_mm));
    cr_assert(eq(long, a->contacts[TW_CELL_PIN].cells, b->contacts[TW_CELL_PIN].cells));
    cr_assert(eq(dbl, a->contacts[TW_CELL_TARGET].depth_mm, b->contacts[TW_CELL_TARGET].depth_mm));
    cr_assert(eq(sz, a->slice_count, b->slice_count));
    for (size_t i = 0; i < a->slice_count; i++)
        cr_assert(eq(dbl, a->slices[i].contact_mm2, b->slices[i].contact_mm2));
}

static void lay_twin(struct bench *b, struct tw_wheel_body body, double top)
{
    struct tw_height_plane limit = { 2.2, 0, 0 };

    *b = (struct bench){ .body = body };
    cr_assert(eq(int, tw_field_new(0, 0, 0.1, 110, 100, 0, &b->field, NULL), TW_OK));
    add_stock(&b->field, 1, 9, 1, 8, top);
    add_keep_out(&b->field, 8.2, 8.6, 4, 5, 2.7, TW_CELL_PIN);
    cr_assert(eq(int, tw_field_set_limit(&b->field, NULL, 0, limit, NULL), TW_OK));
    start(b);
}

/* Blanks 0.05 mm apart differ while their tops go; the twin must end up, bit by bit, where a sweep of its own does. */
Test(removal, a_twin_finds_what_its_own_sweep_would)
{
    const struct tw_wheel_body bodies[] = { cup(1.3, 1.3, 0), cup(1.8, 0.4, 5), disc(8, 1.2) };

    for (size_t kind = 0; kind < sizeof bodies / sizeof *bodies; kind++) {
        struct bench leader, follower, alone;
        struct tw_twin *twin;
        double from[3], to[3];

        lay_twin(&leader, bodies[kind], 3.0);
        lay_twin(&follower, bodies[kind], 3.05);
        lay_twin(&alone, bodies[kind], 3.05);
        cr_assert(eq(int, tw_twin_new(follower.sweep, leader.sweep, &twin, NULL), TW_OK));
        next_chord(0, from);
        for (int i = 1; i < 600; i++, memcpy(from, to, sizeof from)) {
            struct tw_removal led, found, own;

            next_chord(i, to);
            if (i == 500) /* one that the leader does not go along */
                to[2] += 1e-3;
            cr_assert(eq(int, tw_sweep_line(alone.sweep, from, to, &own, NULL), TW_OK));
            if (i == 500)
                to[2] -= 1e-3;
            cr_assert(eq(int, tw_sweep_line(leader.sweep, from, to, &led, NULL), TW_OK));
            if (i == 500)
                to[2] += 1e-3;
            cr_assert(eq(int, tw_twin_line(twin, from, to, &led, &found, NULL), TW_OK));
            expect_same_removal(&found, &own);
            cr_assert(
                eq(int, memcmp(follower.field.stock_mm, alone.field.stock_mm, 110 * 100 * sizeof *alone.field.stock_mm),
                   0),
                "motion %d", i);
        }
        tw_twin_free(twin);
        done(&leader);
        done(&follower);
        done(&alone);
    }
}
