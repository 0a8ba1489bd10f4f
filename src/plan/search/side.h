/* side.h - planning one side of a job. */
#ifndef TANGWRIGHT_PLAN_SEARCH_SIDE_H
#define TANGWRIGHT_PLAN_SEARCH_SIDE_H

#include "tangwright/plan.h"

/* What a side is planned with. It uses nothing that another side does but plate factors, so both may be planned at once. */
struct tw_desk;
struct tw_factors;

/* What is to be planned; all of it is borrowed. */
struct tw_side_given {
    const struct tw_job *job;
    enum tw_side side;
    double wheel_mm_per_s, holding_N;
    double most_s; /* that all parts may take; HUGE_VAL: no matter */
    const struct tw_choice
        *before; /* what an earlier plan was chosen by is taken again where it can be, without a search; or NULL */
    struct tw_factors *factors; /* of the job's steel */
};

/* The search over coarse cells. TW_NO_PLAN: nothing is possible; or, without a word, nothing that takes no longer than it may. Job and
 * factors must outlive *out, which is released with tw_side_close(), also after a failure. */
enum tw_status tw_side_try(const struct tw_side_given *given, struct tw_desk **out, struct tw_findings *findings);

/* What the search found: waits and times are a percent or so off. NULL where only fine cells can tell. */
const struct tw_setup_plan *tw_side_tried(const struct tw_desk *desk);

/* What the search has cost and the plan itself is likely to cost, in seconds of one core, counted and not timed. */
double tw_side_effort_s(const struct tw_desk *desk);

/* The plan itself, by what the job keeps back by now. On failure *out holds nothing that is not released by tw_setup_free(). */
enum tw_status tw_side_finish(struct tw_desk *desk, struct tw_setup_plan *out);

void tw_side_close(struct tw_desk *desk);

#endif
