/* join.h - the plans of a load's blanks, each its own, joined to programs for all of them. */
#ifndef TANGWRIGHT_RUN_JOIN_H
#define TANGWRIGHT_RUN_JOIN_H

#include "tangwright/run.h"

/* Joins what plan->parts hold into plan->joined, proved on every blank as it is; where that cannot be, why_not says why. Programs for
 * the run in the air go with them where the machine has room for those of every blank. */
enum tw_status tw_run_join(const struct tw_run_request *request, const struct tw_run_layout *layout, size_t load,
                           struct tw_load_plan *plan, struct tw_findings *findings);

void tw_run_joined_free(struct tw_load_joined *joined);

#endif
