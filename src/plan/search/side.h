/* side.h - planning one side of a job. */
#ifndef TANGWRIGHT_PLAN_SEARCH_SIDE_H
#define TANGWRIGHT_PLAN_SEARCH_SIDE_H

#include "tangwright/plan.h"

/* On failure *out holds nothing that is not released by tw_setup_free(). Uses nothing that another side does, so both
 * may be planned at once. */
enum tw_status tw_side_plan(const struct tw_job *job, enum tw_side side, double wheel_mm_per_s,
                            struct tw_setup_plan *out, struct tw_findings *findings);

#endif
