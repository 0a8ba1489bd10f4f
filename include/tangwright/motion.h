/* motion.h - how long moves take.
 *
 * Model   constant acceleration up to the speed, constant speed, constant deceleration; the axis that needs
 *         longest sets the pace. Where the direction changes an exact-path controller comes to rest. One that
 *         blends (G64) is taken to go through a corner with the part of its speed that keeps its direction:
 *         speed times the cosine of the turn, and to rest from a right angle on.
 * Units   mm, s, mm/s, mm/s2. */
#ifndef TANGWRIGHT_MOTION_H
#define TANGWRIGHT_MOTION_H

#include "tangwright/equipment.h"
#include "tangwright/findings.h"

/* Seconds for `distance_mm` >= 0 at up to `speed_mm_per_s` > 0: d/v + v/a, or 2 sqrt(d/a) when the speed is
 * never reached. */
double tw_motion_time_s(double distance_mm, double speed_mm_per_s, double acceleration_mm_per_s2);

/* A feed move by these distances along, across and up. The axes' accelerations and rapids limit it. */
double tw_motion_feed_time_s(const struct tw_machine *machine, const double by_mm[3], double feed_mm_per_s);

double tw_motion_rapid_time_s(const struct tw_machine *machine, const double by_mm[3]);

/* One of several moves in a row. */
struct tw_motion_leg {
    double by_mm[3];      /* along, across, up */
    double feed_mm_per_s; /* 0: a rapid */
    bool rest_after;      /* the machine stands at its end whatever follows: a dwell, an exact stop */
};

/* Seconds of each leg, driven one after the other from rest to rest, into times_s[count]. A leg of no length takes
 * no time and does not stop the others. TW_NO_MEMORY, and then times_s is not to be used. */
enum tw_status tw_motion_times(const struct tw_machine *machine, const struct tw_motion_leg *legs, size_t count,
                               bool blended, double *times_s, struct tw_findings *findings);

#endif
