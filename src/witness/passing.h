/* passing.h - how near the turning wheel comes to a part of the fixture on a straight way: the true distance between two bodies,
 * asked of feeds. See face.h for why.
 *
 * Model   A part of the fixture is its plan from below up to its highest top. A cup is a full cylinder standing on its rim, for
 *         nothing of the fixture has any business in its hollow; a disc a cylinder lying across. The spindle's nose is one more
 *         cylinder, over the cup, or beside the disc towards +y. All of them are convex, so the distance on a straight way to
 *         what stands at one edge of the plan has one lowest place, which golden sections find.
 * Units   mm. Nothing is allocated. */
#ifndef TANGWRIGHT_WITNESS_PASSING_H
#define TANGWRIGHT_WITNESS_PASSING_H

#include "tangwright/job.h"

/* Least distance of wheel and nose from the keep-out while the programmed point goes from one place to another in the setup
 * frame, and how much of the way is done then; `enough_mm` or more if it is no less than that. */
double tw_witness_passing_mm(const struct tw_job *job, const struct tw_keep_out *keep_out, const double from_mm[3],
                             const double to_mm[3], double enough_mm, double *way);

#endif
