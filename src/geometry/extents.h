/* extents.h - what lies of an outline in a box, kept once it is worked out: most plans that are tried ask for the same lanes
 * of the same layers. */
#ifndef TANGWRIGHT_GEOMETRY_EXTENTS_H
#define TANGWRIGHT_GEOMETRY_EXTENTS_H

#include "geometry/ring.h"

#include <stdbool.h>

struct tw_extents;

/* For one thread, and outlines that stay as they are. NULL: no memory. Release with tw_extents_close(). */
struct tw_extents *tw_extents_open(void);
void tw_extents_close(struct tw_extents *extents);

/* The same as tw_outline_extent(), from what is kept where it can; NULL keeps nothing. */
bool tw_extents_get(struct tw_extents *extents, const struct tw_outline *outline, struct tw_box within,
                    struct tw_box *out);

#endif
