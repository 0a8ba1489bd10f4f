/* ahead.h - feeds close over the blade, farther ahead of the taper start than a run-out needs.
 *
 * A run-out has business over the blade: the foremost point of a cup goes beyond by the overtravel, by what its round rim reaches
 * less far at the tang's edges, and by what the flatness leaves uncertain of where the face begins; finishing, a rim that lies in the
 * face's plane may leave it whole. A disc's lowest line goes by the overtravel and that uncertainty. What goes farther and comes near is no contact, but nobody planned it. */
#ifndef TANGWRIGHT_VERDICT_AHEAD_H
#define TANGWRIGHT_VERDICT_AHEAD_H

#include "verdict/workpiece.h"

#include <stdbool.h>

struct tw_ahead {
    double gap_mm;   /* between the programmed point's height and the blade's top, at the least */
    double ahead_mm; /* of where the ground begins that the wheel's foremost point lies, at the most */
};

/* Whether a feed of the programmed point, in the part's setup frame, is nearer than `clearance_mm` to the blade there. */
bool tw_ahead_is_low(const struct tw_job *job, const struct tw_workpiece *workpiece, const double from_mm[3],
                     const double to_mm[3], double clearance_mm, struct tw_ahead *out);

#endif
