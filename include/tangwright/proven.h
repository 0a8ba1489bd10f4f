/* proven.h - a plan that passes the dry-run of its own programs.
 *
 * Plans a job, makes the programs, and has the very texts proved from the job alone. Where the dry-run finds a cut a little
 * hotter or heavier than planned, the programs that failed are planned anew with the difference kept back from their limits, a
 * few times, and proved again with those of the same side;
 * where that does not help, or something else is amiss, there is no plan.
 *
 * Memory  a tw_proven owns its plan and texts: tw_proven_free().
 * Errors  TW_NO_PLAN: what stops the planner, or the check that its programs cannot pass and what would help;
 *         TW_NO_MEMORY. On failure *out is empty. */
#ifndef TANGWRIGHT_PROVEN_H
#define TANGWRIGHT_PROVEN_H

#include "tangwright/plan.h"
#include "tangwright/verdict.h"

struct tw_proven {
    struct tw_plan plan;
    char *texts[TW_SETUPS_MOST];
    struct tw_card cards[TW_SETUPS_MOST]; /* the same with their file names */
    size_t count;
    int tries; /* plans made until one passed */
};

enum tw_status tw_proven_make(const struct tw_job *job, struct tw_proven *out, struct tw_findings *findings);

void tw_proven_free(struct tw_proven *proven);

#endif
