/* section.h - how much of a cut across a ring at one x lies between two y.
 *
 * Model   Along the cut y is inside from every edge that enters to the next that leaves. With the sign of the edge's own
 *         direction the sum of the crossings' y is that length (Green's theorem for a line), and clamped to an interval it is
 *         the part of it inside that. No crossing needs to be sorted or kept. */
#ifndef TANGWRIGHT_GEOMETRY_SECTION_H
#define TANGWRIGHT_GEOMETRY_SECTION_H

#include "tangwright/outline.h"

/* Of the outline, holes left out. */
double tw_section_mm(const struct tw_outline *outline, double x_mm, double low_y_mm, double high_y_mm);

/* The lowest and highest y of the ring at x; false where it does not reach. */
bool tw_section_range(const struct tw_ring *ring, double x_mm, double *low_y_mm, double *high_y_mm);

#endif
