/* ring.c - area, box and direction of one ring, and what lies of an outline in a box. */
#include "geometry/ring.h"

#include "base/numbers.h"

#include <math.h>

double tw_ring_area_mm2(const struct tw_ring *ring)
{
    double twice = 0.0;

    for (size_t i = 2; i < ring->count; i++) {
        const struct tw_point *o = &ring->points[0], *a = &ring->points[i - 1], *b = &ring->points[i];

        twice += (a->x_mm - o->x_mm) * (b->y_mm - o->y_mm) - (b->x_mm - o->x_mm) * (a->y_mm - o->y_mm);
    }
    return twice / 2.0;
}

struct tw_point tw_ring_centre(const struct tw_ring *ring)
{
    const struct tw_point *o = &ring->points[0];
    double twice = 0.0, x = 0.0, y = 0.0;

    for (size_t i = 2; i < ring->count; i++) {
        double ax = ring->points[i - 1].x_mm - o->x_mm, ay = ring->points[i - 1].y_mm - o->y_mm;
        double bx = ring->points[i].x_mm - o->x_mm, by = ring->points[i].y_mm - o->y_mm;
        double turn = ax * by - bx * ay;

        twice += turn;
        x += turn * (ax + bx) / 3.0;
        y += turn * (ay + by) / 3.0;
    }
    return (struct tw_point){ o->x_mm + x / twice, o->y_mm + y / twice };
}

/* How many holes come before hole `i`; among equals the drawing's order decides. */
static size_t rank_of(const struct tw_outline *outline, size_t i)
{
    double x_mm = tw_ring_centre(&outline->holes[i]).x_mm;
    size_t before = 0;

    for (size_t j = 0; j < outline->hole_count; j++) {
        double other_mm = tw_ring_centre(&outline->holes[j]).x_mm;

        before += other_mm < x_mm || (other_mm == x_mm && j < i);
    }
    return before;
}

const struct tw_ring *tw_hole_along(const struct tw_outline *outline, size_t number)
{
    for (size_t i = 0; i < outline->hole_count; i++)
        if (rank_of(outline, i) + 1 == number)
            return &outline->holes[i];
    return NULL;
}

static void include(struct tw_box *box, double x_mm, double y_mm)
{
    box->min_x_mm = tw_lesser(box->min_x_mm, x_mm);
    box->min_y_mm = tw_lesser(box->min_y_mm, y_mm);
    box->max_x_mm = tw_greater(box->max_x_mm, x_mm);
    box->max_y_mm = tw_greater(box->max_y_mm, y_mm);
}

struct tw_box tw_ring_box(const struct tw_ring *ring)
{
    const struct tw_point *p = &ring->points[0];
    struct tw_box box = { p->x_mm, p->y_mm, p->x_mm, p->y_mm };

    for (size_t i = 1; i < ring->count; i++) {
        p = &ring->points[i];
        include(&box, p->x_mm, p->y_mm);
    }
    return box;
}

void tw_ring_reverse(struct tw_ring *ring)
{
    for (size_t i = 0, j = ring->count; i + 1 < j; i++) {
        struct tw_point kept = ring->points[i];

        ring->points[i] = ring->points[--j];
        ring->points[j] = kept;
    }
}

void tw_ring_orient(struct tw_ring *ring, bool counterclockwise)
{
    if ((tw_ring_area_mm2(ring) > 0.0) != counterclockwise)
        tw_ring_reverse(ring);
}

/* ---- what lies in a box ---- */

/* Keeps of the part *from..*to of a way the part where its place lies between low and high. */
static void keep_between(double start_mm, double step_mm, double low_mm, double high_mm, double *from, double *to)
{
    double a = (low_mm - start_mm) / step_mm, b = (high_mm - start_mm) / step_mm;

    if (step_mm == 0.0) {
        if (start_mm < low_mm || start_mm > high_mm)
            *to = -1.0;
        return;
    }
    *from = tw_greater(*from, tw_lesser(a, b));
    *to = tw_lesser(*to, tw_greater(a, b));
}

/* Most edges lie on the far side of one side of the box. */
static bool is_beside(struct tw_point a, struct tw_point b, const struct tw_box *within)
{
    return (a.y_mm > within->max_y_mm && b.y_mm > within->max_y_mm) ||
           (a.y_mm < within->min_y_mm && b.y_mm < within->min_y_mm) ||
           (a.x_mm < within->min_x_mm && b.x_mm < within->min_x_mm) ||
           (a.x_mm > within->max_x_mm && b.x_mm > within->max_x_mm);
}

static bool is_in(struct tw_point a, const struct tw_box *within)
{
    return a.x_mm >= within->min_x_mm && a.x_mm <= within->max_x_mm && a.y_mm >= within->min_y_mm &&
           a.y_mm <= within->max_y_mm;
}

static void include_edge(struct tw_point a, struct tw_point b, const struct tw_box *within, struct tw_box *out)
{
    double dx = b.x_mm - a.x_mm, dy = b.y_mm - a.y_mm, from = 0.0, to = 1.0;

    if (is_beside(a, b, within))
        return;
    if (!is_in(a, within) || !is_in(b, within)) {
        keep_between(a.x_mm, dx, within->min_x_mm, within->max_x_mm, &from, &to);
        keep_between(a.y_mm, dy, within->min_y_mm, within->max_y_mm, &from, &to);
    }
    if (from > to)
        return;
    include(out, a.x_mm + from * dx, a.y_mm + from * dy);
    include(out, a.x_mm + to * dx, a.y_mm + to * dy);
}

bool tw_ring_contains(const struct tw_ring *ring, double x_mm, double y_mm)
{
    bool inside = false;

    for (size_t i = 0, j = ring->count - 1; i < ring->count; j = i++) {
        const struct tw_point *a = &ring->points[i], *b = &ring->points[j];

        if ((a->y_mm > y_mm) != (b->y_mm > y_mm) &&
            x_mm < a->x_mm + (y_mm - a->y_mm) * (b->x_mm - a->x_mm) / (b->y_mm - a->y_mm))
            inside = !inside;
    }
    return inside;
}

static void include_corner(const struct tw_outline *outline, double x_mm, double y_mm, struct tw_box *out)
{
    bool inside = tw_ring_contains(&outline->outer, x_mm, y_mm);

    for (size_t i = 0; inside && i < outline->hole_count; i++)
        inside = !tw_ring_contains(&outline->holes[i], x_mm, y_mm);
    if (inside)
        include(out, x_mm, y_mm);
}

static void include_ring(const struct tw_ring *ring, const struct tw_box *within, struct tw_box *out)
{
    for (size_t i = 0; i < ring->count; i++)
        include_edge(ring->points[i], ring->points[(i + 1) % ring->count], within, out);
}

/* The area in the box is bounded by what lies in it of the rings, and by the box, whose corners may lie inside. */
bool tw_outline_extent(const struct tw_outline *outline, struct tw_box within, struct tw_box *out)
{
    *out = (struct tw_box){ HUGE_VAL, HUGE_VAL, -HUGE_VAL, -HUGE_VAL };
    include_ring(&outline->outer, &within, out);
    for (size_t i = 0; i < outline->hole_count; i++)
        include_ring(&outline->holes[i], &within, out);
    include_corner(outline, within.min_x_mm, within.min_y_mm, out);
    include_corner(outline, within.min_x_mm, within.max_y_mm, out);
    include_corner(outline, within.max_x_mm, within.min_y_mm, out);
    include_corner(outline, within.max_x_mm, within.max_y_mm, out);
    return out->min_x_mm <= out->max_x_mm;
}
