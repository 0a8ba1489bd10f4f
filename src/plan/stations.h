/* stations.h - from one part of the fixture to the next. */
#ifndef TANGWRIGHT_PLAN_STATIONS_H
#define TANGWRIGHT_PLAN_STATIONS_H

#include "tangwright/plan.h"

/* Seconds from the end of `part` (from 0) to over the start of the next one: up where the next one is higher, across,
 * and down again. */
double tw_stations_change_s(const struct tw_job *job, const struct tw_setup_plan *setup, int part);

#endif
