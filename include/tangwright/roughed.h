/* roughed.h - what parts measured between roughing and finishing say about the finishing of the very same parts.
 *
 * Aim     A roughed part is as thick as the finished one and, on each face, what the finishing layers take. Where that is no
 *         less than the blank, nothing was ground, and nothing can be told.
 * Weighed Part by part: the mean of what its readings are too thick by. It holds all that the wheel stood too high by just then,
 *         on that station: wear, spring-back, warmth, touching off. Each part is corrected by its own, half for each face.
 * Left    What is not larger than the gauge's own uncertainty, nor than twice what the readings scatter (pooled over the parts, over
 *         the root of their number), is left alone.
 * Errors  TW_BAD_INPUT: a reading where nothing was roughed, each with its line. Nothing is allocated. */
#ifndef TANGWRIGHT_ROUGHED_H
#define TANGWRIGHT_ROUGHED_H

#include "tangwright/gauge.h"

/* A blank of the load, as it was planned. */
struct tw_roughed_part {
    const char *number;
    int station;                            /* from 1 */
    double ricasso_mm, planned_mm, butt_mm; /* measured; aimed at, at the taper start and the butt */
    double before_mm;                       /* that its programs are written thinner by already, for the same reason */
};

struct tw_roughed_found {
    size_t readings; /* 0: it was not measured, and value_mm stays what it was */
    double off_mm;   /* mean, too thick */
    double sure_mm;  /* twice the standard uncertainty by scatter; 0: one reading a part tells of none */
    bool corrected;  /* it is more than may be chance or the gauge */
    bool too_large;  /* more than is ever planned: something else is wrong */
    double value_mm; /* by how much thinner its programs are to be, in all */
};

enum tw_status tw_roughed_weigh(const struct tw_job *job, const struct tw_gaugings *readings,
                                const struct tw_roughed_part *parts, size_t count, double gauge_mm,
                                struct tw_roughed_found *out, struct tw_findings *findings);

#endif
