/* reach.h - does every move stay within the machine's travel? */
#ifndef TANGWRIGHT_PLAN_WAYS_REACH_H
#define TANGWRIGHT_PLAN_WAYS_REACH_H

#include "tangwright/plan.h"

/* All parts of one setup. TW_NO_PLAN names the axis, how far it would go, and its travel. */
enum tw_status tw_reach_check(const struct tw_job *job, const struct tw_setup_plan *setup,
                              struct tw_findings *findings);

#endif
