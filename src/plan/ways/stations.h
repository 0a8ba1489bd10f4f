/* stations.h - from one part of the fixture to the next. */
#ifndef TANGWRIGHT_PLAN_WAYS_STATIONS_H
#define TANGWRIGHT_PLAN_WAYS_STATIONS_H

#include "tangwright/plan.h"

/* Sets how often the wheel comes to each part, and the seconds that going from part to part takes in all. */
void tw_stations_sum_up(const struct tw_job *job, struct tw_setup_plan *setup);

/* Least seconds of going from part to part while any one part waits between its stays `before` and `after`. */
double tw_stations_round_s(const struct tw_job *job, const struct tw_setup_plan *setup, struct tw_stay before,
                           struct tw_stay after);

/* The part after this one, 0 after the last one when there are more rounds; -1: none. */
int tw_stations_next(const struct tw_job *job, int part, bool more_rounds);

#endif
