/* credible.h - whether readings tell of grinding at all, or of a wrong x, zero, blank or figure.
 *
 * Model   As in gauge.h, but by medians, which a misread figure or a part of its own does not move: taper, then crown, are
 *         medians of the slopes between any two readings of one part (P. K. Sen, Journal of the American Statistical
 *         Association 63 (1968) 1379-1389, from memory); what they leave of a part has a median, its level, and these have one,
 *         the load's. Of two middle values the one nearer to what is expected counts.
 * Named   A reading farther than the job's thickness_tolerance from its part's level; a part whose level is beyond it, unless
 *         all are. A term of more than TW_GAUGE_MOST_MM a face is neither wear, nor touching off, nor a tilt. */
#ifndef TANGWRIGHT_GAUGE_CREDIBLE_H
#define TANGWRIGHT_GAUGE_CREDIBLE_H

#include "tangwright/gauge.h"

struct credible {
    const struct tw_job *job;
    const struct tw_gaugings *readings;
    const size_t *part_of; /* of each reading */
    const double *x,
        *v; /* of each reading: x over the taper's length; squared distance from the middle, of the half width */
    double all_x, all_v; /* their means */
    double span_least;   /* two readings nearer to each other tell no slope */
    bool crown;          /* told by the readings */
    struct tw_gauged_run
        *out; /* terms, deviations and parts are known; filled: doubts, parts' levels, what to look at first */
};

/* False where memory runs out. */
bool tw_credible(struct credible *credible);

#endif
