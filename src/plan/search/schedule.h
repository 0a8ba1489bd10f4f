/* schedule.h - the layers of one face from the top down, and the moves that grind them. */
#ifndef TANGWRIGHT_PLAN_SEARCH_SCHEDULE_H
#define TANGWRIGHT_PLAN_SEARCH_SCHEDULE_H

#include "plan/search/layout.h"

/* Lays out faces; needs no context. */
extern const struct tw_layout tw_schedule_layout;

#endif
