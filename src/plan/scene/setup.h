/* setup.h - the plan of one setup as a thing that is owned and compared. */
#ifndef TANGWRIGHT_PLAN_SCENE_SETUP_H
#define TANGWRIGHT_PLAN_SCENE_SETUP_H

#include "tangwright/plan.h"

/* Seconds from the start of the first pass to the end of the last: of all parts, and from part to part. */
double tw_setup_time_s(const struct tw_job *job, const struct tw_setup_plan *setup);

/* Refuses a plan of which one part would take at least `part_s`; `where`: which program of it, or "" for all of them;
 * `advice`: what would help. */
enum tw_status tw_setup_too_long(const struct tw_job *job, const char *where, double part_s, const char *advice,
                                 struct tw_findings *findings);

void tw_setup_free(struct tw_setup_plan *setup);

#endif
