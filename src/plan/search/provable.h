/* provable.h - whether a plan and the dry-run of its programs keep within the computing that is allowed: known before the search over
 * fine cells. */
#ifndef TANGWRIGHT_PLAN_SEARCH_PROVABLE_H
#define TANGWRIGHT_PLAN_SEARCH_PROVABLE_H

#include "tangwright/plan.h"
#include "verdict/effort.h"

/* What programs would cost to prove, with the waits that they have so far. */
struct tw_provable {
    struct tw_effort effort;
    double search_s;                     /* what the search for them costs besides */
    double moves;                        /* of all parts */
    const struct tw_setup_plan *longest; /* the program with most of them, borrowed */
    enum tw_scope scope;                 /* of that one: a plan that is only tried does not say */
};

/* Adds a program; `job` is narrowed to it. TW_NO_MEMORY. */
enum tw_status tw_provable_add(const struct tw_job *job, const struct tw_setup_plan *setup, struct tw_provable *sum,
                               struct tw_findings *findings);

/* Seconds of one core to search and to prove them. */
double tw_provable_s(const struct tw_job *job, const struct tw_provable *sum);

/* TW_NO_PLAN with the number of moves and what makes them so many, where it would take clearly longer than is allowed. */
enum tw_status tw_provable_check(const struct tw_job *job, const struct tw_provable *sum, struct tw_findings *findings);

#endif
