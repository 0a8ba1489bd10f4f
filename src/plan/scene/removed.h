/* removed.h - what each cut of a plan takes off one part, as pieces that heat it.
 *
 * Most plans that are tried go the same ways as the one before, only faster or slower, and the plan that is chosen is run
 * once more for what is expected of it: what was found for a way is remembered as long as the cuts before it were the
 * same too. */
#ifndef TANGWRIGHT_PLAN_SCENE_REMOVED_H
#define TANGWRIGHT_PLAN_SCENE_REMOVED_H

#include "plan/scene/scene.h"
#include "tangwright/warm.h"

struct tw_removed;

/* Cells of the field in which the removal is predicted, and the slices of a cut in which it is looked at. */
struct tw_removed_grain {
    double cell_mm, slice_mm;
};

/* The uncut part of one setup; `tang` in its setup frame. `scene` must outlive it. Release with tw_removed_close(). */
enum tw_status tw_removed_open(const struct tw_scene *scene, const struct tw_outline *tang,
                               struct tw_removed_grain grain, struct tw_removed **out);
void tw_removed_close(struct tw_removed *removed);

/* From now on the cuts of another run, with a scene of its own: the part is uncut again. */
void tw_removed_begin(struct tw_removed *removed, const struct tw_scene *scene);

/* Whether the part is uncut when a finishing begins, and is to be roughed by the run's first cuts. On a falling face the rim of a cup in
 * the level mount cuts an arc: what roughing leaves is no plane but follows its lanes, and a finishing that is a thousandth deeper
 * cuts over all their width, where on a plane it would touch its middle alone. */
bool tw_removed_roughs_first(const struct tw_job *job);

/* The wheel comes to the part again, after so much steel since it was touched off. */
void tw_removed_come_back(struct tw_removed *removed, double since_mm3);

/* The pieces of the run's next cut, whose speeds and tags are the caller's to set; they live until the next call. */
enum tw_status tw_removed_cut(struct tw_removed *removed, struct tw_place3 from, struct tw_place3 to,
                              const struct tw_history_piece **pieces, size_t *count);

/* Cells that were under the wheel in all that was worked out so far. */
double tw_removed_cells(const struct tw_removed *removed);

#endif
