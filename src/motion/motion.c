/* motion.c - how long moves take. */
#include "tangwright/motion.h"

#include <math.h>
#include <stdlib.h>

double tw_motion_time_s(double distance_mm, double speed_mm_per_s, double acceleration_mm_per_s2)
{
    if (distance_mm <= 0.0)
        return 0.0;
    if (distance_mm * acceleration_mm_per_s2 < speed_mm_per_s * speed_mm_per_s)
        return 2.0 * sqrt(distance_mm / acceleration_mm_per_s2);
    return distance_mm / speed_mm_per_s + speed_mm_per_s / acceleration_mm_per_s2;
}

/* What the axes allow along one straight line. */
struct pace {
    double length_mm, speed_mm_per_s, acceleration_mm_per_s2;
};

static double length_of(const double by_mm[3])
{
    return sqrt(by_mm[0] * by_mm[0] + by_mm[1] * by_mm[1] + by_mm[2] * by_mm[2]);
}

static struct pace pace_of(const struct tw_machine *machine, const double by_mm[3], double speed_mm_per_s)
{
    const struct tw_axis *axes[3] = { &machine->along, &machine->across, &machine->up };
    struct pace pace = { length_of(by_mm), speed_mm_per_s, HUGE_VAL };

    for (int i = 0; i < 3 && pace.length_mm > 0.0; i++) {
        double share = fabs(by_mm[i]) / pace.length_mm; /* of the path's speed, what this axis must do */

        if (share > 0.0) {
            pace.speed_mm_per_s = fmin(pace.speed_mm_per_s, axes[i]->rapid_mm_per_s / share);
            pace.acceleration_mm_per_s2 = fmin(pace.acceleration_mm_per_s2, axes[i]->acceleration_mm_per_s2 / share);
        }
    }
    return pace;
}

static double limited_time_s(const struct tw_machine *machine, const double by_mm[3], double speed_mm_per_s)
{
    struct pace pace = pace_of(machine, by_mm, speed_mm_per_s);

    return tw_motion_time_s(pace.length_mm, pace.speed_mm_per_s, pace.acceleration_mm_per_s2);
}

double tw_motion_feed_time_s(const struct tw_machine *machine, const double by_mm[3], double feed_mm_per_s)
{
    return limited_time_s(machine, by_mm, feed_mm_per_s);
}

double tw_motion_rapid_time_s(const struct tw_machine *machine, const double by_mm[3])
{
    return limited_time_s(machine, by_mm, HUGE_VAL);
}

/* ---- several moves in a row ---- */

/* Highest speed in the corner between two legs. */
static double corner_speed(const struct tw_motion_leg *a, const struct tw_motion_leg *b, struct pace pace_a,
                           struct pace pace_b, bool blended)
{
    double speed = fmin(pace_a.speed_mm_per_s, pace_b.speed_mm_per_s);
    double cosine = 0.0;

    if (a->rest_after)
        return 0.0;
    for (int i = 0; i < 3; i++)
        cosine += a->by_mm[i] * b->by_mm[i];
    cosine /= pace_a.length_mm * pace_b.length_mm;
    if (cosine > 1.0 - 1e-9)
        return speed; /* straight on */
    return blended ? fmax(0.0, cosine) * speed : 0.0;
}

/* One leg between two speeds: up to its speed, or as far as its length allows, and down again. */
static double leg_time_s(struct pace pace, double from, double to)
{
    double a = pace.acceleration_mm_per_s2;
    double top = fmin(pace.speed_mm_per_s, sqrt(a * pace.length_mm + (from * from + to * to) / 2.0));
    double ramps_mm = (2.0 * top * top - from * from - to * to) / (2.0 * a);

    return (2.0 * top - from - to) / a + fmax(0.0, pace.length_mm - ramps_mm) / top;
}

/* `index` holds the legs that have a length. */
static void drive(const struct tw_motion_leg *legs, const struct pace *paces, const size_t *index, size_t count,
                  bool blended, double *end_speed, double *times_s)
{
    double entry = 0.0;

    /* Backwards: no faster than the following legs can be braked for. */
    for (size_t k = count; k-- > 0;) {
        const struct pace *pace = &paces[index[k]];

        end_speed[k] = 0.0;
        if (k + 1 < count) {
            const struct pace *next = &paces[index[k + 1]];
            double brakes =
                sqrt(end_speed[k + 1] * end_speed[k + 1] + 2.0 * next->acceleration_mm_per_s2 * next->length_mm);

            end_speed[k] = fmin(corner_speed(&legs[index[k]], &legs[index[k + 1]], *pace, *next, blended), brakes);
        }
    }
    /* Forwards: no faster than the leg could have reached. */
    for (size_t k = 0; k < count; k++) {
        struct pace pace = paces[index[k]];

        end_speed[k] = fmin(end_speed[k], sqrt(entry * entry + 2.0 * pace.acceleration_mm_per_s2 * pace.length_mm));
        times_s[index[k]] = leg_time_s(pace, entry, end_speed[k]);
        entry = end_speed[k];
    }
}

enum tw_status tw_motion_times(const struct tw_machine *machine, const struct tw_motion_leg *legs, size_t count,
                               bool blended, double *times_s, struct tw_findings *findings)
{
    struct pace *paces = malloc((count + 1) * sizeof *paces);
    size_t *index = malloc((count + 1) * sizeof *index);
    double *end_speed = malloc((count + 1) * sizeof *end_speed);
    size_t moving = 0;
    bool made = paces && index && end_speed;

    for (size_t i = 0; made && i < count; i++) {
        double feed = legs[i].feed_mm_per_s;

        paces[i] = pace_of(machine, legs[i].by_mm, feed > 0.0 ? feed : HUGE_VAL);
        times_s[i] = 0.0;
        if (paces[i].length_mm > 0.0)
            index[moving++] = i;
    }
    if (made)
        drive(legs, paces, index, moving, blended, end_speed, times_s);
    free(paces);
    free(index);
    free(end_speed);
    return made ? TW_OK : tw_no_memory(findings);
}
