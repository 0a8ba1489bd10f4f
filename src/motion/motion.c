/* motion.c - how long a straight move takes from rest to rest. */
#include "tangwright/motion.h"

#include <math.h>

double tw_motion_time_s(double distance_mm, double speed_mm_per_s, double acceleration_mm_per_s2)
{
    if (distance_mm <= 0.0)
        return 0.0;
    if (distance_mm * acceleration_mm_per_s2 < speed_mm_per_s * speed_mm_per_s)
        return 2.0 * sqrt(distance_mm / acceleration_mm_per_s2);
    return distance_mm / speed_mm_per_s + speed_mm_per_s / acceleration_mm_per_s2;
}

static double limited_time_s(const struct tw_machine *machine, const double by_mm[3], double speed_mm_per_s)
{
    const struct tw_axis *axes[3] = { &machine->along, &machine->across, &machine->up };
    double length_mm = sqrt(by_mm[0] * by_mm[0] + by_mm[1] * by_mm[1] + by_mm[2] * by_mm[2]);
    double acceleration = HUGE_VAL;

    if (length_mm <= 0.0)
        return 0.0;
    for (int i = 0; i < 3; i++) {
        double share = fabs(by_mm[i]) / length_mm; /* of the path's speed, what this axis must do */

        if (share > 0.0) {
            speed_mm_per_s = fmin(speed_mm_per_s, axes[i]->rapid_mm_per_s / share);
            acceleration = fmin(acceleration, axes[i]->acceleration_mm_per_s2 / share);
        }
    }
    return tw_motion_time_s(length_mm, speed_mm_per_s, acceleration);
}

double tw_motion_feed_time_s(const struct tw_machine *machine, const double by_mm[3], double feed_mm_per_s)
{
    return limited_time_s(machine, by_mm, feed_mm_per_s);
}

double tw_motion_rapid_time_s(const struct tw_machine *machine, const double by_mm[3])
{
    return limited_time_s(machine, by_mm, HUGE_VAL);
}
