/* test_outline_curves.c - guards against curves that leave their chords by more than was promised, and
 * against chords far more than needed. Expected values are closed forms, named beside each test. */
#include "outline/help.h"

static const double pi = 3.14159265358979323846;

/* A curve as the test itself works it out, for s from 0 to 1. */
typedef struct tw_point curve(double s);

/* Largest distance of the exact curve from the ring, looked at in 20000 places; and of the ring's points
 * from the curve, which they are on. */
static double largest_distance(curve *exact, const struct tw_ring *ring)
{
    double largest = 0.0;

    for (int i = 0; i < 20000; i++)
        largest = fmax(largest, distance_to_ring(exact(i / 20000.0), ring));
    return largest;
}

static void expect_within(const char *name, const char *text, double unit_mm, double tolerance_mm, curve *exact,
                          size_t least_points, size_t most_points)
{
    struct reading r = read_bytes(name, text, strlen(text), unit_mm, tolerance_mm, NULL);
    double off;

    cr_assert(r.status == TW_OK, "%s", first_fault(&r));
    off = largest_distance(exact, &r.outline.outer);
    cr_expect(off <= tolerance_mm * (1.0 + 1e-9), "%s: %g mm off, %g mm promised", name, off, tolerance_mm);
    cr_expect(off >= tolerance_mm / 8.0, "%s: %g mm off is needlessly fine", name, off);
    cr_expect(r.outline.outer.count >= least_points && r.outline.outer.count <= most_points, "%zu points",
              r.outline.outer.count);
    free_reading(&r);
}

static struct tw_point circle_40(double s)
{
    return (struct tw_point){ 50.0 + 40.0 * cos(2.0 * pi * s), -50.0 + 40.0 * sin(2.0 * pi * s) };
}

/* Fewest chords of an inscribed polygon whose sagitta r (1 - cos(pi / n)) stays below e. */
static size_t fewest_chords(double r, double e)
{
    return (size_t)ceil(pi / acos(1.0 - e / r));
}

Test(curves, circle_needs_just_the_chords_its_sagitta_asks_for)
{
    static const char svg[] = "<svg width='100mm' height='100mm' viewBox='0 0 100 100'>"
                              "<circle cx='50' cy='50' r='40'/></svg>";
    static const double tolerances_mm[] = { 0.1, 0.01, 0.001 };

    for (size_t i = 0; i < 3; i++) {
        size_t n = fewest_chords(40.0, tolerances_mm[i]);

        expect_within("a.svg", svg, 0.0, tolerances_mm[i], circle_40, n, n + 1);
    }
}

Test(curves, area_of_a_flattened_circle_is_that_of_the_regular_polygon)
{
    /* Regular n-gon in a circle: n / 2 r^2 sin(2 pi / n), closed form. */
    struct reading r =
        read_sound("a.svg", "<svg width='100mm' viewBox='0 0 100 100'><circle cx='50' cy='50' r='40'/></svg>", 0.0);
    double n = (double)r.outline.outer.count;

    cr_expect(epsilon_eq(dbl, area_of(&r.outline.outer), n / 2.0 * 1600.0 * sin(2.0 * pi / n), 1e-8));
    free_reading(&r);
}

static struct tw_point ellipse_60_5(double s)
{
    double t = 2.0 * pi * s;

    return (struct tw_point){ 60.0 * cos(t), -5.0 * sin(t) };
}

Test(curves, slender_ellipse_stays_within_the_tolerance)
{
    expect_within("a.svg", "<svg width='100mm' viewBox='0 0 100 100'><ellipse rx='60' ry='5'/></svg>", 0.0, 0.01,
                  ellipse_60_5, 60, 2 * fewest_chords(60.0, 0.01));
}

/* The same circle squeezed, turned and sheared: matrix(2 0.5 -0.3 0.8 7 9) of a circle of radius 12. */
static struct tw_point sheared_circle(double s)
{
    double x = 12.0 * cos(2.0 * pi * s), y = 12.0 * sin(2.0 * pi * s);

    return (struct tw_point){ 2.0 * x - 0.3 * y + 7.0, -(0.5 * x + 0.8 * y + 9.0) };
}

Test(curves, tolerance_is_in_mm_after_the_transform)
{
    expect_within("a.svg",
                  "<svg width='100mm' viewBox='0 0 100 100'>"
                  "<g transform='matrix(2 .5 -.3 .8 7 9)'><circle r='12'/></g></svg>",
                  0.0, 0.01, sheared_circle, 60, 300);
}

static struct tw_point tiny_units(double s)
{
    return (struct tw_point){ 50.0 * cos(2.0 * pi * s), -50.0 * sin(2.0 * pi * s) };
}

Test(curves, a_circle_of_a_thousandth_unit_scaled_up_is_as_fine_as_any)
{
    expect_within("a.svg", "<svg width='100mm' viewBox='0 0 100 100'><circle transform='scale(50000)' r='.001'/></svg>",
                  0.0, 0.01, tiny_units, fewest_chords(50.0, 0.01), fewest_chords(50.0, 0.01) + 1);
}

/* Cubic (0,0) (0,40) (80,60) (100,0), closed by its chord; Bernstein form. */
static struct tw_point cubic(double s)
{
    double u = 1.0 - s;

    return (struct tw_point){ 3.0 * u * s * s * 80.0 + s * s * s * 100.0,
                              -(3.0 * u * u * s * 40.0 + 3.0 * u * s * s * 60.0) };
}

Test(curves, cubic_stays_within_the_tolerance)
{
    expect_within("a.svg", "<svg width='100mm' viewBox='0 0 100 100'><path d='M0 0C0 40 80 60 100 0z'/></svg>", 0.0,
                  0.01, cubic, 20, 130);
}

Test(curves, area_under_a_cubic_is_the_closed_form)
{
    /* Area between a cubic Bezier and its chord: 3/20 of the sum of cross products
     * (2 p0xp1 + p0xp2 - ... ) / in Green's form; for p0 = 0 it is
     * 3/20 (p1 x p2 + p1 x p3 + 2 p2 x p3), worked out by hand from the Bernstein integrals:
     * p1 x p2 = 0*60 - 80*40 = -3200, p1 x p3 = 0*0 - 100*40 = -4000, p2 x p3 = 80*0 - 100*60 = -6000,
     * so 3/20 (-3200 - 4000 - 12000) = -2880 in drawing coordinates, +2880 with y turned up and a ring
     * that runs the other way round; the chords cut off less than tolerance times length (2/3 * 0.01 * 140). */
    struct reading r =
        read_sound("a.svg", "<svg width='100mm' viewBox='0 0 100 100'><path d='M0 0C0 40 80 60 100 0z'/></svg>", 0.0);

    cr_expect(epsilon_eq(dbl, area_of(&r.outline.outer), 2880.0, 1.0));
    cr_expect(lt(dbl, area_of(&r.outline.outer), 2880.0));
    free_reading(&r);
}

/* Parabola y = 40 (1 - (x/50)^2) from x = -50 to 50 as a quadratic with its middle control at (0, 80). */
static struct tw_point parabola(double s)
{
    double x = -50.0 + 100.0 * s;

    return (struct tw_point){ x, -40.0 * (1.0 - x * x / 2500.0) };
}

Test(curves, quadratic_stays_within_the_tolerance)
{
    /* A parabola over equal steps of x leaves its chords by 40 (h / 50)^2 / 4 / slope factor; 32 chords. */
    expect_within("a.svg", "<svg width='100mm' viewBox='0 0 100 100'><path d='M-50 0Q0 80 50 0z'/></svg>", 0.0, 0.01,
                  parabola, 20, 70);
}

Test(curves, area_of_a_parabola_segment_is_two_thirds_of_its_box)
{
    /* Archimedes: 2/3 * 100 * 40. */
    struct reading r = read_bytes(
        "a.svg", "<svg width='100mm' viewBox='0 0 9 9'><path d='M-4.5 0q4.5 7.2 9 0z'/></svg>",
        strlen("<svg width='100mm' viewBox='0 0 9 9'><path d='M-4.5 0q4.5 7.2 9 0z'/></svg>"), 0.0, 1e-4, NULL);

    cr_assert(r.status == TW_OK);
    cr_expect(epsilon_eq(dbl, area_of(&r.outline.outer), 2.0 / 3.0 * 100.0 * 40.0, 0.02));
    free_reading(&r);
}

#define DXF_HEAD "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n"
#define DXF_TAIL "0\nENDSEC\n0\nEOF\n"

static struct tw_point circle_30(double s)
{
    return (struct tw_point){ 30.0 * cos(2.0 * pi * s), 30.0 * sin(2.0 * pi * s) };
}

/* The whole circle as a rational quadratic B-spline of nine controls on a square, weights 1 and sqrt(1/2):
 * Piegl and Tiller, The NURBS Book, 2nd ed. (1997), sec. 7.5, example Ex7.3 (from memory). That it is a circle is
 * checked here against the circle itself. */
Test(curves, rational_spline_of_a_circle_stays_within_the_tolerance)
{
    static const int x[] = { 1, 1, 0, -1, -1, -1, 0, 1, 1 }, y[] = { 0, 1, 1, 1, 0, -1, -1, -1, 0 };
    static const double knots[] = { 0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4 };
    char text[4096];
    int length = snprintf(text, sizeof text, DXF_HEAD "0\nSPLINE\n8\n0\n70\n12\n71\n2\n72\n12\n73\n9\n74\n0\n");

    for (int i = 0; i < 12; i++)
        length += snprintf(text + length, sizeof text - (size_t)length, "40\n%.1f\n", knots[i]);
    for (int i = 0; i < 9; i++)
        length += snprintf(text + length, sizeof text - (size_t)length, "41\n%.17g\n", i % 2 ? sqrt(0.5) : 1.0);
    for (int i = 0; i < 9; i++)
        length +=
            snprintf(text + length, sizeof text - (size_t)length, "10\n%d\n20\n%d\n30\n0\n", 30 * x[i], 30 * y[i]);
    snprintf(text + length, sizeof text - (size_t)length, DXF_TAIL);
    expect_within("a.dxf", text, 0.0, 0.01, circle_30, fewest_chords(30.0, 0.01), 2 * fewest_chords(30.0, 0.01));
    expect_within("a.dxf", text, 0.0, 0.0005, circle_30, fewest_chords(30.0, 0.0005), 2 * fewest_chords(30.0, 0.0005));
}

/* A uniform cubic B-spline through its basis matrix 1/6 [1 4 1 0; -3 0 3 0; 3 -6 3 0; -1 3 -3 1]; closed,
 * six controls on a hexagon-like ring, the first three repeated. (Any text on computer graphics; from memory.) */
static const double periodic_x[] = { 40, 10, -30, -45, -20, 25, 40, 10, -30 };
static const double periodic_y[] = { 10, 25, 20, -5, -22, -18, 10, 25, 20 };

static struct tw_point periodic_spline(double s)
{
    int k = (int)(s * 6.0) % 6;
    double t = s * 6.0 - k, b[4] = { (1 - t) * (1 - t) * (1 - t) / 6, (3 * t * t * t - 6 * t * t + 4) / 6,
                                     (-3 * t * t * t + 3 * t * t + 3 * t + 1) / 6, t * t * t / 6 };
    struct tw_point p = { 0.0, 0.0 };

    for (int i = 0; i < 4; i++) {
        p.x_mm += b[i] * periodic_x[k + i];
        p.y_mm += b[i] * periodic_y[k + i];
    }
    return p;
}

Test(curves, unclamped_periodic_spline_is_drawn_over_its_own_range_only)
{
    char text[4096];
    int length = snprintf(text, sizeof text, DXF_HEAD "0\nSPLINE\n8\n0\n70\n11\n71\n3\n72\n13\n73\n9\n74\n0\n");

    for (int i = 0; i < 13; i++)
        length += snprintf(text + length, sizeof text - (size_t)length, "40\n%d\n", i - 3);
    for (int i = 0; i < 9; i++)
        length +=
            snprintf(text + length, sizeof text - (size_t)length, "10\n%.1f\n20\n%.1f\n", periodic_x[i], periodic_y[i]);
    snprintf(text + length, sizeof text - (size_t)length, DXF_TAIL);
    expect_within("a.dxf", text, 0.0, 0.01, periodic_spline, fewest_chords(30.0, 0.01), 2 * fewest_chords(30.0, 0.01));
}

/* Two half circles of radius 20 by bulge 1 and straight sides of 60: a slot. */
static struct tw_point slot(double s)
{
    double t = pi * (2.0 * s - 0.5);

    if (s < 0.5)
        return (struct tw_point){ 60.0 + 20.0 * cos(t), 20.0 * sin(t) };
    return (struct tw_point){ 20.0 * cos(t), 20.0 * sin(t) };
}

Test(curves, bulge_of_one_is_a_half_circle)
{
    static const char text[] = DXF_HEAD "0\nLWPOLYLINE\n8\n0\n90\n4\n70\n1\n10\n0\n20\n-20\n10\n60\n20\n-20\n42\n1\n"
                                        "10\n60\n20\n20\n10\n0\n20\n20\n42\n1\n" DXF_TAIL;
    struct reading r = read_bytes("a.dxf", text, strlen(text), 0.0, 1e-3, NULL);

    cr_assert(r.status == TW_OK, "%s", first_fault(&r));
    cr_expect(largest_distance(slot, &r.outline.outer) <= 1e-3);
    /* pi r^2 + 2 r l */
    cr_expect(epsilon_eq(dbl, area_of(&r.outline.outer), pi * 400.0 + 2400.0, 0.1));
    free_reading(&r);
}

Test(curves, arc_of_an_svg_path_lies_on_its_circle)
{
    /* A semicircle of radius 50 over its diameter: pi 50^2 / 2; too small a radius is scaled up to the same. */
    struct reading r =
        read_sound("a.svg", "<svg width='100mm' viewBox='0 0 100 100'><path d='M0 0A50 50 0 01100 0z'/></svg>", 0.0);
    struct reading small =
        read_sound("a.svg", "<svg width='100mm' viewBox='0 0 100 100'><path d='M0 0a1 1 0 01100 0z'/></svg>", 0.0);

    cr_expect(epsilon_eq(dbl, area_of(&r.outline.outer), pi * 1250.0, 2.0));
    cr_expect(epsilon_eq(dbl, area_of(&small.outline.outer), area_of(&r.outline.outer), 1e-6));
    for (size_t i = 0; i < r.outline.outer.count; i++)
        cr_expect(
            epsilon_eq(dbl, hypot(r.outline.outer.points[i].x_mm - 50.0, r.outline.outer.points[i].y_mm), 50.0, 1e-9));
    cr_expect(gt(dbl, r.outline.outer.points[r.outline.outer.count / 2].y_mm, -1e-9),
              "sweep 1 turns with rising angle in a frame whose y points down, so this arc bulges up");
    free_reading(&small);
    free_reading(&r);
}
