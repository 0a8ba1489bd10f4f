/* path.h - the moves of one part, strung together from lanes and layers. */
#ifndef TANGWRIGHT_PLAN_WAYS_PATH_H
#define TANGWRIGHT_PLAN_WAYS_PATH_H

#include "plan/scene/scene.h"

/* Adds moves to a setup plan and keeps where the wheel is. */
struct tw_path {
    const struct tw_scene *scene;
    struct tw_setup_plan *plan;
    struct tw_place3 at;
    int layer;
    bool out_of_memory;
};

/* Starts at the clear height over x, y. */
void tw_path_open(struct tw_path *path, const struct tw_scene *scene, struct tw_setup_plan *plan);

/* Each adds nothing when the wheel is there already. */
void tw_path_rapid(struct tw_path *path, enum tw_move_role role, double x_mm, double y_mm, double z_mm);
void tw_path_feed(struct tw_path *path, enum tw_move_role role, double x_mm, double y_mm, double z_mm,
                  double feed_mm_per_s);
void tw_path_dwell(struct tw_path *path, enum tw_move_role role, double dwell_s);

/* Up to the height from round to round, and back to the part over x, y; from the clear height where the wheel has not come
 * to the part yet. */
void tw_path_enter(struct tw_path *path, double x_mm, double y_mm);

/* From wherever the wheel is above the work: across at `over_z_mm`, down rapidly to `near_z_mm`, and down to z at
 * the infeed speed. */
void tw_path_descend(struct tw_path *path, double x_mm, double y_mm, double z_mm, double over_z_mm, double near_z_mm);

/* Up to the clear height; then sets how long a part and the ways from part to part take, and *cutting_s, if it is wanted, to how
 * long the moves that cut take. TW_NO_MEMORY. */
enum tw_status tw_path_close(struct tw_path *path, double *cutting_s);

/* Speeds for moves that do not cut. */
double tw_path_across_mm_per_s(const struct tw_scene *scene);
double tw_path_infeed_mm_per_s(const struct tw_scene *scene);

/* Every move below the hop height keeps clear of the keep-outs, else TW_NO_PLAN. */
enum tw_status tw_path_check(const struct tw_scene *scene, const struct tw_setup_plan *plan);

#endif
