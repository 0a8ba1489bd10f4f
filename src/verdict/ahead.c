/* ahead.c - feeds close over the blade, farther ahead of the taper start than a run-out needs. */
#include "verdict/ahead.h"

#include "geometry/ring.h"

#include <math.h>

/* Programs round, and planners leave a little more than is needed. */
#define SLACK_MM 0.5
/* A fall of less comes from rounding: the face lies level. */
#define LEVEL 1e-9

/* A cup reaches so far ahead of its middle, or of anything else nothing. */
static double reach_mm(const struct tw_wheel *wheel)
{
    return wheel->kind == TW_WHEEL_CUP ? wheel->diameter_mm / 2.0 : 0.0;
}

/* At the edges of the tang its round rim reaches less far. */
static double rounding_mm(const struct tw_job *job)
{
    struct tw_box tang = tw_ring_box(&job->part.tang.outer);
    double radius_mm = job->wheel.diameter_mm / 2.0, beside_mm = fmax(-tang.min_y_mm, tang.max_y_mm);

    return radius_mm - sqrt(fmax(0.0, radius_mm * radius_mm - beside_mm * beside_mm));
}

/* How far ahead of where the stock begins the foremost point of the wheel has business. */
static double run_out_mm(const struct tw_job *job, const struct tw_witness_face *face)
{
    double radius_mm = job->wheel.diameter_mm / 2.0, over_mm = job->travel.overtravel_mm + SLACK_MM;
    /* Within the flatness a thinning wedge may end anywhere. */
    double vague_mm = face->slope > 0.0 ? job->finish.flatness_mm / face->slope : 0.0;

    if (job->wheel.kind == TW_WHEEL_DISC)
        return over_mm + vague_mm + radius_mm * face->fall;
    /* Finishing, a rim that lies in the face's plane may leave it whole, and come back. */
    if (!(face->fall > LEVEL) && job->task.scope != TW_SCOPE_ROUGH)
        return over_mm + job->wheel.diameter_mm;
    return over_mm + vague_mm + rounding_mm(job);
}

/* The part of a motion, as fractions of it, in which one coordinate stays below a limit. */
static void keep_below(double from_mm, double to_mm, double limit_mm, double *enter, double *leave)
{
    double by_mm = to_mm - from_mm, at = by_mm != 0.0 ? (limit_mm - from_mm) / by_mm : 0.0;

    if (by_mm > 0.0)
        *leave = fmin(*leave, at);
    else if (by_mm < 0.0)
        *enter = fmax(*enter, at);
    else if (from_mm >= limit_mm)
        *leave = -1.0;
}

static double half_width_mm(const struct tw_wheel *wheel)
{
    return (wheel->kind == TW_WHEEL_CUP ? wheel->diameter_mm : wheel->width_mm) / 2.0;
}

bool tw_ahead_is_low(const struct tw_job *job, const struct tw_workpiece *workpiece, const double from_mm[3],
                     const double to_mm[3], double clearance_mm, struct tw_ahead *out)
{
    const struct tw_box *blade = &workpiece->blade;
    double half_mm = half_width_mm(&job->wheel), begin_mm = tw_workpiece_blade_end_mm(workpiece), enter = 0.0,
           leave = 1.0;
    double top_mm = tw_witness_top_mm(&workpiece->face, begin_mm); /* it is no higher farther ahead */

    keep_below(from_mm[0], to_mm[0], begin_mm + reach_mm(&job->wheel) - run_out_mm(job, &workpiece->face), &enter,
               &leave);
    keep_below(from_mm[2], to_mm[2], top_mm + clearance_mm, &enter, &leave);
    keep_below(-from_mm[0], -to_mm[0], half_mm - blade->min_x_mm, &enter, &leave);
    keep_below(from_mm[1], to_mm[1], blade->max_y_mm + half_mm, &enter, &leave);
    keep_below(-from_mm[1], -to_mm[1], half_mm - blade->min_y_mm, &enter, &leave);
    if (enter >= leave)
        return false;
    *out = (struct tw_ahead){ HUGE_VAL, 0.0 };
    for (int end = 0; end < 2; end++) {
        double part = end == 0 ? enter : leave;

        out->gap_mm = fmin(out->gap_mm, from_mm[2] + part * (to_mm[2] - from_mm[2]) - top_mm);
        out->ahead_mm =
            fmax(out->ahead_mm, reach_mm(&job->wheel) + begin_mm - from_mm[0] - part * (to_mm[0] - from_mm[0]));
    }
    return true;
}
