/* kept_loops.h - the loops of a layer, kept once they are laid: most plans that are tried have layers at the same heights, and
 * laying loops is the dearest part of a plan that has them. */
#ifndef TANGWRIGHT_PLAN_WAYS_KEPT_LOOPS_H
#define TANGWRIGHT_PLAN_WAYS_KEPT_LOOPS_H

#include "plan/ways/loop.h"

struct tw_kept_loops;

/* For one scene. NULL: no memory. Release with tw_kept_loops_close(). */
struct tw_kept_loops *tw_kept_loops_open(void);
void tw_kept_loops_close(struct tw_kept_loops *kept);

/* Loops that had to be laid so far, because none were kept. */
int tw_kept_loops_laid(const struct tw_kept_loops *kept);

/* The same as tw_loops_lay(), from what scene->loops keeps where it can: those of this height, or else the nearest that lie lower
 * by no more than scene->loops_within_mm, where there stands a little more. *out is the caller's. */
enum tw_status tw_kept_loops_lay(const struct tw_scene *scene, double bottom_mm, struct tw_loops *out);

#endif
