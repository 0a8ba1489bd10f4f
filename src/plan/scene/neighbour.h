/* neighbour.h - all that the wheel must not touch in one setup: the fixture's keep-outs, and as seen from each part the
 * other parts' blanks with the keep-outs about them. */
#ifndef TANGWRIGHT_PLAN_SCENE_NEIGHBOUR_H
#define TANGWRIGHT_PLAN_SCENE_NEIGHBOUR_H

#include "geometry/geos.h"
#include "geometry/ring.h"
#include "tangwright/plan.h"

/* Owns everything but the first `own_count` items' names and plans, which are the job's. */
struct tw_obstacles {
    struct tw_keep_out *items;
    struct tw_box *boxes; /* round the plan of each */
    size_t count, capacity, own_count;
    double highest_mm; /* of all their tops; 0 when all lie lower */
};

/* All parts are ground by the same moves, so what is in the way of one part is in the way of all. `top_mm` is the highest
 * point of a blank in its setup frame. */
enum tw_status tw_obstacles_gather(const struct tw_job *job, const struct tw_face *face, double top_mm,
                                   struct tw_geos *geos, struct tw_obstacles *out, struct tw_findings *findings);

void tw_obstacles_free(struct tw_obstacles *obstacles);

/* What helps against this one; for messages. `lowest_mm` is the lowest height that the wheel comes to: what lies lower
 * is only in the way of the clearance. */
const char *tw_obstacles_advice(const struct tw_obstacles *obstacles, const struct tw_keep_out *item, double lowest_mm);

#endif
