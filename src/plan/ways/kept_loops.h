/* kept_loops.h - the loops of a layer, kept once they are laid: most plans that are tried have layers at the same heights, and
 * laying loops is the dearest part of a plan that has them. */
#ifndef TANGWRIGHT_PLAN_WAYS_KEPT_LOOPS_H
#define TANGWRIGHT_PLAN_WAYS_KEPT_LOOPS_H

#include "plan/ways/loop.h"

struct tw_kept_loops;

/* For one scene. NULL: no memory. Release with tw_kept_loops_close(). */
struct tw_kept_loops *tw_kept_loops_open(void);
void tw_kept_loops_close(struct tw_kept_loops *kept);

/* The same as tw_loops_lay(), from what scene->loops keeps where it can. *out is the caller's. */
enum tw_status tw_kept_loops_lay(const struct tw_scene *scene, double bottom_mm, struct tw_loops *out);

#endif
