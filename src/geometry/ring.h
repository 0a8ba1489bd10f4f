/* ring.h - small exact things about one ring, shared by all who handle outlines. */
#ifndef TANGWRIGHT_GEOMETRY_RING_H
#define TANGWRIGHT_GEOMETRY_RING_H

#include "tangwright/outline.h"

#include <stdbool.h>

struct tw_box {
    double min_x_mm, min_y_mm, max_x_mm, max_y_mm;
};

/* Area inside, positive when the ring runs counterclockwise. Sums about the first point, so that a small
 * ring far from the origin keeps its digits. */
double tw_ring_area_mm2(const struct tw_ring *ring);

/* Centre of the area inside. The area must not be zero. */
struct tw_point tw_ring_centre(const struct tw_ring *ring);

/* Hole `number` of the outline, counted from 1 by the x of their centres; NULL if there are not that many. */
const struct tw_ring *tw_hole_along(const struct tw_outline *outline, size_t number);

/* The ring must have a point. */
struct tw_box tw_ring_box(const struct tw_ring *ring);

/* Whether a ray from the point towards +x crosses the ring an odd number of times: a point on the ring itself may count as either. */
bool tw_ring_contains(const struct tw_ring *ring, double x_mm, double y_mm);

void tw_ring_reverse(struct tw_ring *ring);

/* Turns the ring so that it runs counterclockwise, or clockwise. */
void tw_ring_orient(struct tw_ring *ring, bool counterclockwise);

/* The smallest box round all of the outline's area that lies in `within`; false when none does. Holes must lie inside
 * the outer ring. Touching from outside counts as well. */
bool tw_outline_extent(const struct tw_outline *outline, struct tw_box within, struct tw_box *out);

#endif
