/* loop.h - offset loops over one layer, for a cup or mounted point narrower than the tang whose whole rim lies in
 * the target plane.
 *
 * The wheel comes in from behind the butt, goes round the outermost loop, from there to the next one inwards, and
 * is lifted from the innermost. As its path is one line from off the part, the rim passes over every point that
 * comes nearer to that line than the wheel's radius, the points that end up under the hollow included. */
#ifndef TANGWRIGHT_PLAN_WAYS_LOOP_H
#define TANGWRIGHT_PLAN_WAYS_LOOP_H

#include "plan/scene/scene.h"

/* Programmed points in order; the first is off the part. */
struct tw_loops {
    struct tw_point *points;
    size_t count, capacity;
    int loop_count;
    double stock_mm; /* length along which the wheel is over stock */
};

/* TW_NO_PLAN (finding: why) when no set of loops covers the layer; no points when nothing stands there. */
enum tw_status tw_loops_lay(const struct tw_scene *scene, double bottom_mm, struct tw_loops *out);

void tw_loops_free(struct tw_loops *loops);

#endif
