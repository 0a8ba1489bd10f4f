/* side.h - planning one side of a job. */
#ifndef TANGWRIGHT_PLAN_SEARCH_SIDE_H
#define TANGWRIGHT_PLAN_SEARCH_SIDE_H

#include "tangwright/plan.h"

/* What a side is planned with. It uses nothing that another side does but plate factors, so both may be planned at once. */
struct tw_desk;
struct tw_factors;

/* The search over coarse cells; `before`, if any: what an earlier plan was chosen by is taken again where it can be, without a search.
 * TW_NO_PLAN: nothing is possible; or, without a word, nothing that takes at most most_s for all parts (HUGE_VAL: no matter). The
 * job, and the plate factors of its steel, must outlive *out, which is released with tw_side_close(), also after a failure. */
enum tw_status tw_side_try(const struct tw_job *job, enum tw_side side, double wheel_mm_per_s, double most_s,
                           const struct tw_choice *before, struct tw_factors *factors, struct tw_desk **out,
                           struct tw_findings *findings);

/* What the search found: waits and times are a percent or so off. NULL where only fine cells can tell. */
const struct tw_setup_plan *tw_side_tried(const struct tw_desk *desk);

/* What the search has cost and the plan itself is likely to cost, in seconds of one core, counted and not timed. */
double tw_side_effort_s(const struct tw_desk *desk);

/* The plan itself, by what the job keeps back by now. On failure *out holds nothing that is not released by tw_setup_free(). */
enum tw_status tw_side_finish(struct tw_desk *desk, struct tw_setup_plan *out);

void tw_side_close(struct tw_desk *desk);

#endif
