/* locate.c - the normals' second moments tell what is located along and across, their moments about the best pivot
 * what is located against turning.
 *
 * A small motion is a shift d and a turn w about a point o. At a push it opens the contact by n.d + w c with
 * c = n . (k x (p - o)). What no motion leaves unchanged is located: the squares, summed over the pushes, say how
 * much the contacts change. */
#include "contacts/locate.h"

#include <math.h>

#define LEAST_SPREAD   0.134 /* 1 - cos(30 deg): the lesser eigenvalue of two unit pushes 30 deg apart */
#define LEAST_LEVER_MM 10.0

/* A direction of the plane, and how strongly the pushes act along it. */
struct principal {
    double x, y, strength;
};

/* The greater first. */
static void principal_directions(const struct tw_push *pushes, size_t count, struct principal out[2])
{
    double xx = 0.0, xy = 0.0, yy = 0.0, middle, radius, angle;

    for (size_t i = 0; i < count; i++) {
        const struct tw_push *p = &pushes[i];

        xx += p->weight * p->normal.x_mm * p->normal.x_mm;
        xy += p->weight * p->normal.x_mm * p->normal.y_mm;
        yy += p->weight * p->normal.y_mm * p->normal.y_mm;
    }
    middle = (xx + yy) / 2.0;
    radius = hypot((xx - yy) / 2.0, xy);
    angle = atan2(2.0 * xy, xx - yy) / 2.0;
    out[0] = (struct principal){ cos(angle), sin(angle), middle + radius };
    out[1] = (struct principal){ -sin(angle), cos(angle), fmax(0.0, middle - radius) };
}

static struct tw_point middle_of(const struct tw_push *pushes, size_t count)
{
    struct tw_point sum = { 0.0, 0.0 };
    double weight = 0.0;

    for (size_t i = 0; i < count; i++) {
        sum.x_mm += pushes[i].weight * pushes[i].at.x_mm;
        sum.y_mm += pushes[i].weight * pushes[i].at.y_mm;
        weight += pushes[i].weight;
    }
    return (struct tw_point){ sum.x_mm / weight, sum.y_mm / weight };
}

/* What is left of the turn's effect when the blank may also shift along the first `free` directions as it likes. */
static double lever_mm(const struct tw_push *pushes, size_t count, const struct principal *directions, int free)
{
    struct tw_point o = middle_of(pushes, count);
    double squares = 0.0, along[2] = { 0.0, 0.0 };

    for (size_t i = 0; i < count; i++) {
        const struct tw_push *p = &pushes[i];
        double c_mm = p->normal.y_mm * (p->at.x_mm - o.x_mm) - p->normal.x_mm * (p->at.y_mm - o.y_mm);

        squares += p->weight * c_mm * c_mm;
        for (int k = 0; k < free; k++)
            along[k] += p->weight * c_mm * (p->normal.x_mm * directions[k].x + p->normal.y_mm * directions[k].y);
    }
    for (int k = 0; k < free; k++)
        squares -= along[k] * along[k] / directions[k].strength;
    return sqrt(fmax(0.0, squares));
}

struct tw_located tw_locate(const struct tw_push *pushes, size_t count)
{
    struct principal directions[2];
    struct tw_located out = { false, false, false };
    bool both;

    if (count == 0)
        return out;
    principal_directions(pushes, count, directions);
    if (!(directions[0].strength > 0.0))
        return out;
    both = directions[1].strength >= LEAST_SPREAD;
    out.across = both || fabs(directions[0].y) >= fabs(directions[0].x);
    out.along = both || !out.across;
    out.turning = lever_mm(pushes, count, directions, both ? 2 : 1) >= LEAST_LEVER_MM;
    return out;
}
