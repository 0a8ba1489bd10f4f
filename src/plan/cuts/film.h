/* film.h - what deserves a word of a plan's coolant and of its heat beside the limits that it keeps. */
#ifndef TANGWRIGHT_PLAN_CUTS_FILM_H
#define TANGWRIGHT_PLAN_CUTS_FILM_H

#include "tangwright/plan.h"

/* A film that fails into hardening, a flow too weak or not known, and a burn line that is near. */
void tw_film_remark(const struct tw_job *job, const struct tw_plan *plan, struct tw_findings *findings);

#endif
