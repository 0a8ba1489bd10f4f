/* packing.c - gaps under the tang. */
#include "tangwright/packing.h"

#include "tangwright/taper.h"

#include <math.h>

static double slope_of(const struct tw_job *job)
{
    return (job->taper.ricasso_mm - job->taper.butt_mm) / (2.0 * job->taper.length_mm);
}

/* Face A after its program: what was low stays as it was. */
static double finished_a_mm(const struct tw_job *job, const struct tw_straight *straight, double x_mm)
{
    double face_mm = job->taper.ricasso_mm / 2.0 - slope_of(job) * x_mm + straight->offset_mm + straight->tilt * x_mm +
                     job->finish.allowance_mm;

    return fmin(face_mm, tw_profile_mm(&straight->raw[TW_SIDE_A], x_mm));
}

double tw_packing_mm(const struct tw_job *job, const struct tw_straight *straight, enum tw_side side, double x_mm)
{
    double pad_mm = job->taper.ricasso_mm / 2.0;

    if (!straight)
        return tw_taper_packing_mm(job, side, x_mm);
    return pad_mm -
           (side == TW_SIDE_A ? tw_profile_mm(&straight->raw[TW_SIDE_B], x_mm) : finished_a_mm(job, straight, x_mm));
}

/* The face below, over the centre plane, with `left_mm` of its stock still to come off. */
static double ground_mm(const struct tw_job *job, const struct tw_straight *straight, enum tw_side below,
                        double left_mm, double x_mm)
{
    double tilt = straight ? straight->tilt : 0.0, offset_mm = straight ? straight->offset_mm : 0.0;
    double sign = below == TW_SIDE_A ? 1.0 : -1.0, half_mm = job->taper.ricasso_mm / 2.0;
    double face_mm =
        half_mm - slope_of(job) * x_mm + sign * (offset_mm + tilt * x_mm) + job->finish.allowance_mm + left_mm;

    return fmin(face_mm, straight ? tw_profile_mm(&straight->raw[below], x_mm) : half_mm);
}

double tw_packing_between_mm(const struct tw_job *job, const struct tw_straight *straight, enum tw_side side,
                             double left_mm, double x_mm)
{
    return job->taper.ricasso_mm / 2.0 -
           ground_mm(job, straight, side == TW_SIDE_A ? TW_SIDE_B : TW_SIDE_A, left_mm, x_mm);
}

double tw_packing_tilt_rad(const struct tw_job *job, const struct tw_straight *straight, enum tw_side side)
{
    double tilt = straight ? straight->tilt : 0.0;

    return atan(slope_of(job) - (side == TW_SIDE_A ? tilt : -tilt));
}
