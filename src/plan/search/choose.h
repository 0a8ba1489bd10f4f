/* choose.h - the way of travel, the room left for warmth and the rounds among the parts that take least time. */
#ifndef TANGWRIGHT_PLAN_SEARCH_CHOOSE_H
#define TANGWRIGHT_PLAN_SEARCH_CHOOSE_H

#include "plan/search/layout.h"
#include "plan/search/warmth.h"

/* The quickest plan found, of all ways of the layout. On failure *out holds nothing that is not released by tw_setup_free(). */
enum tw_status tw_choose_plan(const struct tw_scene *scene, const struct tw_models *models,
                              const struct tw_cut_limits *limits, const struct tw_layout *layout,
                              struct tw_setup_plan *out);

#endif
