/* schedule.h - the layers of one setup from the top down, and the moves that grind them. */
#ifndef TANGWRIGHT_PLAN_SCHEDULE_H
#define TANGWRIGHT_PLAN_SCHEDULE_H

#include "plan/cut.h"
#include "plan/scene.h"

/* Fills *out for one travel style. TW_NO_PLAN when the style cannot be used here (finding: why). */
enum tw_status tw_schedule_make(const struct tw_scene *scene, const struct tw_cut_limits *limits,
                                enum tw_travel_style style, struct tw_setup_plan *out);

#endif
