/* level.h - how high over the finished face a wheel runs, told from its programmed point alone. */
#ifndef TANGWRIGHT_VERDICT_LEVEL_H
#define TANGWRIGHT_VERDICT_LEVEL_H

#include "witness/face.h"

/* Height of the programmed point, in the setup frame, over that of a pass that leaves the finished face. A cup touches a
 * falling face with the uphill edge of its rim, a disc rides on it a little uphill of its lowest point. */
double tw_level_over_face_mm(const struct tw_witness_face *face, const struct tw_wheel *wheel, double x_mm,
                             double z_mm);

#endif
