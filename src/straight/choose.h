/* choose.h - the linear programmes of straightening. */
#ifndef TANGWRIGHT_STRAIGHT_CHOOSE_H
#define TANGWRIGHT_STRAIGHT_CHOOSE_H

#include "straight/centre.h"

/* What is asked of a middle plane f = offset + tilt (x - start). */
struct wish {
    const struct tw_job *job;
    const struct spot *spots;
    size_t count;
    double far_mm;
    double start_mm;     /* of the taper; cleaning up counts from there, too */
    double guard_factor; /* heights are lowered by that many guards */
};

struct choice {
    double offset_mm, tilt;
    double deviation_mm; /* largest |f| */
    double shortfall_mm; /* largest stock that is missing */
};

/* Twice the standard uncertainty, and at least one step of the indicator. */
double spot_guard_mm(const struct tw_survey *survey, double uncertainty_mm);

/* Finished height of a side at x, allowance included, for this choice (start 0) and the job's taper. */
double choice_finished_mm(const struct tw_job *job, const struct choice *choice, int side, double x_mm);

enum tw_status choose_straightest(const struct wish *wish, struct choice *out, struct tw_findings *findings);

/* Thickest butt within the tolerance; NaN when none is. */
enum tw_status choose_butt(const struct wish *wish, double *butt_mm, struct tw_findings *findings);

/* Whether all cleans up within the tolerance. */
enum tw_status choose_possible(const struct wish *wish, bool *possible, struct tw_findings *findings);

#endif
