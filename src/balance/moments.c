/* moments.c - Green's theorem, edge by edge. */
#include "balance/moments.h"

#include "geometry/ring.h"

#include <math.h>

/* The integral of f over the area is that of F dy along the edge, with F the integral of f in u from 0. What lies
 * before the line has F = 0. Integrands are cubic along an edge: two Gauss points are exact. */
static void add_edge(struct tw_point a, struct tw_point b, double from_mm, struct tw_moments *sum)
{
    const double gauss[2] = { 0.5 - sqrt(3.0) / 6.0, 0.5 + sqrt(3.0) / 6.0 };
    double u0 = a.x_mm - from_mm, u1 = b.x_mm - from_mm;
    double y0 = a.y_mm, y1 = b.y_mm;

    if (u0 <= 0.0 && u1 <= 0.0)
        return;
    if (u0 < 0.0) {
        y0 += (y1 - y0) * u0 / (u0 - u1);
        u0 = 0.0;
    } else if (u1 < 0.0) {
        y1 += (y0 - y1) * u1 / (u1 - u0);
        u1 = 0.0;
    }
    for (int i = 0; i < 2; i++) {
        double u = u0 + gauss[i] * (u1 - u0), y = y0 + gauss[i] * (y1 - y0), half_dy = (y1 - y0) / 2.0;

        sum->one_mm2 += half_dy * u;
        sum->u_mm3 += half_dy * u * u / 2.0;
        sum->y_mm3 += half_dy * u * y;
        sum->uu_mm4 += half_dy * u * u * u / 3.0;
        sum->uy_mm4 += half_dy * u * u * y / 2.0;
    }
}

static void add_ring(const struct tw_ring *ring, double from_mm, struct tw_moments *sum)
{
    for (size_t i = 0; i < ring->count; i++)
        add_edge(ring->points[i], ring->points[i + 1 < ring->count ? i + 1 : 0], from_mm, sum);
}

struct tw_moments tw_moments_beyond(const struct tw_outline *outline, double from_mm)
{
    struct tw_moments sum = { 0 };

    add_ring(&outline->outer, from_mm, &sum);
    for (size_t i = 0; i < outline->hole_count; i++)
        add_ring(&outline->holes[i], from_mm, &sum); /* clockwise, so it counts the other way */
    return sum;
}

struct tw_moments tw_moments_of(const struct tw_outline *outline)
{
    double from_mm = outline->outer.count > 0 ? tw_ring_box(&outline->outer).min_x_mm : 0.0;
    struct tw_moments m = tw_moments_beyond(outline, from_mm);

    m.uu_mm4 += from_mm * (2.0 * m.u_mm3 + from_mm * m.one_mm2);
    m.uy_mm4 += from_mm * m.y_mm3;
    m.u_mm3 += from_mm * m.one_mm2;
    return m;
}

void tw_moments_add(struct tw_moments *sum, const struct tw_moments *more, double factor)
{
    sum->one_mm2 += factor * more->one_mm2;
    sum->u_mm3 += factor * more->u_mm3;
    sum->y_mm3 += factor * more->y_mm3;
    sum->uu_mm4 += factor * more->uu_mm4;
    sum->uy_mm4 += factor * more->uy_mm4;
}

/* d = slope * (u - v), where u counts from `from` and v from `to`, each where above zero. */
struct tw_layer_sums tw_layer_over(const struct tw_outline *outline, const struct tw_layer_law *law)
{
    struct tw_moments u = tw_moments_beyond(outline, law->from_mm), v = tw_moments_beyond(outline, law->to_mm);
    double m = law->slope, reach_mm = law->to_mm - law->from_mm;

    return (struct tw_layer_sums){
        .d_mm3 = m * (u.u_mm3 - v.u_mm3),
        .xd_mm4 = m * (u.uu_mm4 + law->from_mm * u.u_mm3 - v.uu_mm4 - law->to_mm * v.u_mm3),
        .yd_mm4 = m * (u.uy_mm4 - v.uy_mm4),
        /* beyond `to`, u^2 is too much by v^2 + 2 v reach */
        .dd_mm4 = m * m * (u.uu_mm4 - v.uu_mm4 - 2.0 * reach_mm * v.u_mm3),
    };
}
