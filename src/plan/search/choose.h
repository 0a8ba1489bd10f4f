/* choose.h - the way of travel, the room left for warmth and the rounds among the parts that take least time. */
#ifndef TANGWRIGHT_PLAN_SEARCH_CHOOSE_H
#define TANGWRIGHT_PLAN_SEARCH_CHOOSE_H

#include "plan/search/layout.h"
#include "plan/search/warmth.h"

struct tw_choosing;

/* Tries all ways of the layout over the coarse model, which together with scene and layout must outlive *out; where `before`, if any,
 * can still be gone by, that alone. TW_NO_PLAN: none
 * is possible, whatever cells it is looked at with; or, without a word, none that takes at most most_s for all parts. Release *out
 * with tw_choose_close(), also after a failure. */
enum tw_status tw_choose_try(const struct tw_scene *scene, struct tw_warmth *coarse, const struct tw_cut_limits *limits,
                             const struct tw_layout *layout, double most_s, const struct tw_choice *before,
                             struct tw_choosing **out);

/* The quickest plan of the trials; NULL where only fine cells can tell whether there is one. */
const struct tw_setup_plan *tw_choose_tried(const struct tw_choosing *trials);

/* What the trials have cost and the plan over fine cells is likely to cost, in seconds of one core, counted and not timed. */
double tw_choose_effort_s(const struct tw_choosing *trials);

/* The quickest of the trials over the fine model, within limits that may be narrower by now. On failure *out holds nothing that is not
 * released by tw_setup_free(). */
enum tw_status tw_choose_finish(const struct tw_choosing *trials, struct tw_warmth *fine,
                                const struct tw_cut_limits *limits, struct tw_setup_plan *out);

void tw_choose_close(struct tw_choosing *trials);

#endif
