/* motion.h - how long a straight move takes from rest to rest.
 *
 * Model   constant acceleration up to the speed, constant speed, constant deceleration; the axis that needs
 *         longest sets the pace. No rounding of corners: what an exact-path controller does at a reversal.
 * Units   mm, s, mm/s, mm/s2. */
#ifndef TANGWRIGHT_MOTION_H
#define TANGWRIGHT_MOTION_H

#include "tangwright/equipment.h"

/* Seconds for `distance_mm` >= 0 at up to `speed_mm_per_s` > 0: d/v + v/a, or 2 sqrt(d/a) when the speed is
 * never reached. */
double tw_motion_time_s(double distance_mm, double speed_mm_per_s, double acceleration_mm_per_s2);

/* A feed move by these distances along, across and up. The axes' accelerations and rapids limit it. */
double tw_motion_feed_time_s(const struct tw_machine *machine, const double by_mm[3], double feed_mm_per_s);

double tw_motion_rapid_time_s(const struct tw_machine *machine, const double by_mm[3]);

#endif
