/* warmth.h - the plan's own moves run over a model of the part, to know what the tang's bulk adds to every flash, and
 * to wait where it has to cool. */
#ifndef TANGWRIGHT_PLAN_WARMTH_H
#define TANGWRIGHT_PLAN_WARMTH_H

#include "plan/cut.h"
#include "plan/scene.h"

/* Sets peak, bulk, factors and coolant regime of every layer and the tempering of the face; adds waits where a pass would otherwise come above the limit, and their
 * time. TW_NO_PLAN when waiting does not help. */
enum tw_status tw_warmth_run(const struct tw_scene *scene, const struct tw_cut_limits *limits,
                             struct tw_setup_plan *plan);

#endif
