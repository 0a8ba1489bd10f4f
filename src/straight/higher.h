/* higher.h - how far a face may stand over what was read of it, and no reading tells.
 *
 * By what a reading is sure to, and by the bulge between two readings, which count as joined by a straight line: a smooth face that
 * curves by f'' stands up to f'' h^2 / 8 over a chord of length h, and behind the last reading f'' d (d + h) / 2 over the line
 * through the last two, d behind it (both a parabola's; plane geometry). f'' is what three neighbouring readings say. That line also
 * tilts with what the two are sure to. A hump that is narrower than the readings are apart, nothing tells. On the ricasso, which is
 * the reference, nothing stands higher. */
#ifndef TANGWRIGHT_STRAIGHT_HIGHER_H
#define TANGWRIGHT_STRAIGHT_HIGHER_H

#include "tangwright/job.h"

#define NEXT_PLACE_MM 0.5 /* readings nearer to the taper start than this are taken for the ricasso's end */

/* The first gauge point that is not taken for the ricasso's end. */
size_t higher_first(const struct tw_straight *straight);

/* Fills higher_mm of each gauge point, and of the whole. */
void higher_fill(const struct tw_job *job, struct tw_straight *straight);

/* Points that higher_profile() adds beside one for each gauge point, the taper start's counted. */
#define HIGHER_POINTS_MORE 3

/* Adds to the profile, which holds the taper start, the highest that the face may stand; straight->far_mm is known. */
void higher_profile(const struct tw_straight *straight, int side, struct tw_profile *out);

#endif
