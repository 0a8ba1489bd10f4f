/* front.h - the ways of a relief that begin at a front, all on the same lines.
 *
 * Upper layers of a tapered face begin farther back than lower ones. Were their ways cut off just there, each cut would be
 * rounded to the controller's grid by itself, and the way of a lower layer would lie up to a step aside of those above it: a
 * strip as narrow as that, which none of them took, it then would meet as deep as they all together. So the region of the wheel's
 * centres has its corners on the grid, and on each long edge a row of further points that lie on one straight line through the
 * corner at its back, to the last bit: a way is cut off at one of these. */
#ifndef TANGWRIGHT_PLAN_WAYS_FRONT_H
#define TANGWRIGHT_PLAN_WAYS_FRONT_H

#include "plan/ways/offset.h"

/* Fronts lie so far apart. */
#define TW_FRONT_STEP_MM 2.0

/* A way's nearer point is left out. */
#define TW_SHORTEST_MOVE_MM 0.05

/* The region with its corners, and a row of points along each edge, on the grid; as it was where that would spoil it. */
const GEOSGeometry *tw_front_gridded(const struct tw_scene *scene, struct tw_shapes *shapes,
                                     const GEOSGeometry *region);

/* Moves the points at which loops round `region`, from tw_front_gridded(), were cut off at x = from_mm, to the next points
 * ahead on their edges. */
enum tw_status tw_front_move(const struct tw_scene *scene, struct tw_shapes *shapes, const GEOSGeometry *region,
                             double from_mm, struct tw_tracks *loops);

#endif
