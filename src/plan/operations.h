/* operations.h - the programs that a job takes, in their order, and what each has to do. */
#ifndef TANGWRIGHT_PLAN_OPERATIONS_H
#define TANGWRIGHT_PLAN_OPERATIONS_H

#include "tangwright/plan.h"

/* One program. */
struct tw_operation {
    enum tw_side side;
    struct tw_job job;    /* a shallow copy of the job, narrowed to the program; owns nothing */
    double below_left_mm; /* see tw_setup_plan */
};

/* Whether hollows must come last: a wheel of their own before the roughing, or in it, would have the faces' wheel touched off anew
 * between what is roughed and measured and what is finished. */
bool tw_operations_hollow_last(const struct tw_job *job);

/* Fills operations[*count]. A side that is hollowed is so before it is tapered, or after it. The tops after roughing and
 * finishing go into the plan, which owns them. */
enum tw_status tw_operations_list(const struct tw_job *job, bool relief_first, struct tw_plan *plan,
                                  struct tw_operation operations[TW_SETUPS_MOST], size_t *count,
                                  struct tw_findings *findings);

#endif
