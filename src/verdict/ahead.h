/* ahead.h - feeds close over the blade, farther ahead of the taper start than a run-out needs.
 *
 * A run-out has business over the blade: a cup whose whole rim lies in the face's plane leaves it by its own radius and the
 * overtravel; the edge of a cup on a falling face, and a disc's lowest line, by the overtravel and what the flatness leaves
 * uncertain of where the face begins. What goes farther and comes near is no contact, but nobody planned it. */
#ifndef TANGWRIGHT_VERDICT_AHEAD_H
#define TANGWRIGHT_VERDICT_AHEAD_H

#include "verdict/workpiece.h"

#include <stdbool.h>

struct tw_ahead {
    double gap_mm;   /* between the programmed point's height and the blade's top, at the least */
    double ahead_mm; /* of the taper start that the programmed point lies, at the most */
};

/* Whether a feed of the programmed point, in the part's setup frame, is nearer than `clearance_mm` to the blade there. */
bool tw_ahead_is_low(const struct tw_job *job, const struct tw_workpiece *workpiece, const double from_mm[3],
                     const double to_mm[3], double clearance_mm, struct tw_ahead *out);

#endif
