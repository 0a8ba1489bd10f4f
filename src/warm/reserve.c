/* reserve.c - how much more energy than its profile says a wheel may need before a limit of temperature is broken. */
#include "tangwright/warm.h"

#include <stdio.h>

static double reserve_of(const struct tw_wheel *wheel, const struct tw_limits *limits)
{
    return wheel->calibrated ? 1.0 : limits->energy_reserve;
}

double tw_energy_reserve(const struct tw_job *job)
{
    return reserve_of(&job->wheel, &job->limits);
}

/* A relief may be ground by a wheel of its own. */
static bool has_two_wheels(const struct tw_job *job)
{
    return job->relief.depth_mm > 0.0 && job->relief_wheel.diameter_mm > 0.0;
}

double tw_energy_largest_reserve(const struct tw_job *job)
{
    double own = tw_energy_reserve(job), other = own;

    if (has_two_wheels(job))
        other = reserve_of(&job->relief_wheel, &job->limits);
    return own > other ? own : other;
}

static const char *which_wheel(const struct tw_job *job)
{
    if (!has_two_wheels(job))
        return job->wheel.calibrated ? "The wheel is calibrated" : "The wheel is not calibrated";
    if (job->wheel.calibrated == job->relief_wheel.calibrated)
        return job->wheel.calibrated ? "Both wheels are calibrated" : "Neither wheel is calibrated";
    return job->wheel.calibrated ? "The relief's wheel is not calibrated" : "Only the relief's wheel is calibrated";
}

void tw_energy_words(const struct tw_job *job, char out[TW_ENERGY_WORDS])
{
    bool all = job->wheel.calibrated && (!has_two_wheels(job) || job->relief_wheel.calibrated);

    if (all)
        snprintf(out, TW_ENERGY_WORDS, "%s: the temperature limits are kept with the measured specific energy.",
                 which_wheel(job));
    else if (job->limits.energy_reserve == 1.0)
        snprintf(out, TW_ENERGY_WORDS, "%s, and heat.energy_reserve = 1.0 leaves no reserve for that.",
                 which_wheel(job));
    else
        snprintf(out, TW_ENERGY_WORDS,
                 "%s: the temperature limits are kept even at %.4g times the assumed specific energy.",
                 which_wheel(job), job->limits.energy_reserve);
}
