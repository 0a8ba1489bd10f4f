/* obstacle.h - where the programmed point may not go: keep-outs grown by the wheel. */
#ifndef TANGWRIGHT_PLAN_SCENE_OBSTACLE_H
#define TANGWRIGHT_PLAN_SCENE_OBSTACLE_H

#include "plan/scene/scene.h"

/* One keep-out in the way of a straight run along x. */
struct tw_block {
    const struct tw_keep_out *keep_out; /* NULL: nothing in the way */
    double from_x_mm, to_x_mm;          /* programmed x that it forbids on this line */
};

/* The first keep-out, seen from `from_x_mm`, that forbids any programmed point on the line y between the two
 * x (either order) while the wheel grinds the plane `bottom_mm` above the face. */
enum tw_status tw_obstacle_on_lane(const struct tw_scene *scene, double bottom_mm, double y_mm, double from_x_mm,
                                   double to_x_mm, struct tw_block *out);

/* The first keep-out that a straight feed move touches. */
enum tw_status tw_obstacle_on_move(const struct tw_scene *scene, struct tw_place3 from, struct tw_place3 to,
                                   const struct tw_keep_out **out);

#endif
