/* hollow.h - planning the relief of one side: layers parallel to the finished face, down to the floor of the hollow.
 *
 * The scene's job is one narrowed to the relief (operations.h): its wheel is the one that hollows, and its face is the
 * floor. A cup goes down along a ramp on the outermost loop of each layer, round that loop, and on to the loops inside;
 * a disc goes down evenly from one end of a trough to the other and comes back level. No wheel is fed straight down into
 * steel. */
#ifndef TANGWRIGHT_PLAN_SEARCH_HOLLOW_H
#define TANGWRIGHT_PLAN_SEARCH_HOLLOW_H

#include "plan/cuts/cut.h"
#include "plan/search/warmth.h"

/* The quickest plan found. On failure *out holds nothing that is not released by tw_setup_free(). */
enum tw_status tw_hollow_plan(const struct tw_scene *scene, const struct tw_models *models,
                              const struct tw_cut_limits *limits, struct tw_setup_plan *out);

#endif
