/* load.h - heat, power and force of a cut as it was found on the field. */
#ifndef TANGWRIGHT_VERDICT_LOAD_H
#define TANGWRIGHT_VERDICT_LOAD_H

#include "tangwright/removal.h"
#include "verdict/checks.h"
#include "verdict/trace.h"

/* A piece of a cut. */
struct tw_load {
    double depth_mm; /* greatest */
    double mean_mm;  /* over the area that was cut */
    double width_mm; /* across the motion; of a sinking wheel: of all that it cuts */
    double contact_mm2;
    bool sinks; /* the wheel goes straight down: all its contact cuts at once */
};

/* Answers the checks "power" and "holding"; *tangential_N is the force of the cut, 0 where nothing is to be reckoned. */
enum tw_status tw_load_check(const struct tw_job *job, const struct tw_step *step, const struct tw_load *load,
                             struct tw_spot spot, struct tw_check checks[TW_CHECK_COUNT], double *tangential_N,
                             struct tw_findings *findings);

#endif
