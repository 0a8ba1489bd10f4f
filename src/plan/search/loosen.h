/* loosen.h - a limit of a plan made a tenth looser, to see what it costs. */
#ifndef TANGWRIGHT_PLAN_SEARCH_LOOSEN_H
#define TANGWRIGHT_PLAN_SEARCH_LOOSEN_H

#include "plan/search/layout.h"

/* Whether anything in the plan goes up to this limit; `warm`: its cuts leave room for what earlier ones left. */
bool tw_limit_binds(enum tw_limit limit, const struct tw_job *job, const struct tw_setup_plan *plan, bool warm);

/* Whether the plan, which need not wait, is so cool that it need not wait either with a limit made looser: heat comes in at
 * most a tenth more and a tenth quicker, and so no temperature rises by more than both. */
bool tw_limit_leaves_cool(const struct tw_cut_limits *limits, const struct tw_setup_plan *plan);

/* Each temperature may rise a tenth farther above ambient; all else may be a tenth more. */
void tw_limit_loosen(enum tw_limit limit, struct tw_job *job, struct tw_cut_limits *limits);

#endif
