/* ring.c - area, box and direction of one ring. */
#include "geometry/ring.h"

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

struct tw_box tw_ring_box(const struct tw_ring *ring)
{
    const struct tw_point *p = &ring->points[0];
    struct tw_box box = { p->x_mm, p->y_mm, p->x_mm, p->y_mm };

    for (size_t i = 1; i < ring->count; i++) {
        p = &ring->points[i];
        box.min_x_mm = fmin(box.min_x_mm, p->x_mm);
        box.min_y_mm = fmin(box.min_y_mm, p->y_mm);
        box.max_x_mm = fmax(box.max_x_mm, p->x_mm);
        box.max_y_mm = fmax(box.max_y_mm, p->y_mm);
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
