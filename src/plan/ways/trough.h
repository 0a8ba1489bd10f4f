/* trough.h - the straight ways of a disc through the region of a relief. */
#ifndef TANGWRIGHT_PLAN_WAYS_TROUGH_H
#define TANGWRIGHT_PLAN_WAYS_TROUGH_H

#include "plan/ways/area.h"

/* Where a disc touches the floor of one trough, in setup x. */
struct tw_trough {
    double y_mm, from_mm, to_mm;
};

typedef enum tw_status (*tw_use_trough)(const struct tw_relief_area *area, struct tw_trough trough, void *context);

/* Length along which a disc of this radius cuts the plane `depth_mm` above its lowest line: sqrt(2 R d), the chord's
 * half length but for d/4R of it. */
double tw_run_out_mm(double radius_mm, double depth_mm);

/* A shorter one is none: the dry-run, which takes two of its cells off both ends of a strip, does not ask for it either. */
#define TW_SHORTEST_TROUGH_MM 0.5

/* Each stretch of the strip about y_mm, as wide as the disc, in which it can touch the floor and still runs out inside the
 * region. */
enum tw_status tw_troughs_along(const struct tw_relief_area *area, double y_mm, tw_use_trough use, void *context);

/* Picks the strips that hollow most of the region in fewest troughs: area->lanes_mm. *floors and *hollowed: what their
 * floors cover, and what is taken out with the run-outs; NULL where nothing is. */
enum tw_status tw_troughs_pick(struct tw_relief_area *area, struct tw_shapes *shapes, const GEOSGeometry **floors,
                               const GEOSGeometry **hollowed);

#endif
