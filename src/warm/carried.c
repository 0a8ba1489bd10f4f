/* carried.c - what of the fixture carries the blank. */
#include "tangwright/warm.h"

#include "geometry/ring.h"
#include "geometry/section.h"

#include <math.h>

#define STRIPS 400

bool tw_keep_out_in_place(const struct tw_keep_out *keep_out, enum tw_side side)
{
    return keep_out->sides == TW_IN_PLACE_BOTH || (keep_out->sides == TW_IN_PLACE_A) == (side == TW_SIDE_A);
}

double tw_keep_out_top_mm(const struct tw_keep_out *keep_out, double x_mm)
{
    struct tw_box box = tw_ring_box(&keep_out->plan);
    double to_rear_mm = box.max_x_mm - fmin(fmax(x_mm, box.min_x_mm), box.max_x_mm);

    return keep_out->top_mm - keep_out->rise_mm * to_rear_mm / (box.max_x_mm - box.min_x_mm);
}

bool tw_warm_carries(const struct tw_keep_out *keep_out, enum tw_side side)
{
    return keep_out->kind == TW_KEEP_OUT_PAD && tw_keep_out_in_place(keep_out, side);
}

bool tw_warm_on_rise(const struct tw_job *job)
{
    for (size_t i = 0; !job->one_face && i < job->fixture.keep_out_count; i++)
        if (job->fixture.keep_outs[i].rise_mm > 0.0 && tw_warm_carries(&job->fixture.keep_outs[i], TW_SIDE_B))
            return true;
    return false;
}

bool tw_warm_carrying_section(const struct tw_keep_out *keep_out, enum tw_side side, double x_mm, double *low_mm,
                              double *high_mm)
{
    double low, high;

    if (!tw_section_range(&keep_out->plan, x_mm, &low, &high))
        return false;
    *low_mm = side == TW_SIDE_A ? low : -high;
    *high_mm = side == TW_SIDE_A ? high : -low;
    return true;
}

static bool lies_under_tang(const struct tw_job *job, enum tw_side side, const struct tw_keep_out *keep_out)
{
    struct tw_box box = tw_ring_box(&keep_out->plan);
    double step_mm = box.max_x_mm / STRIPS, low_mm, high_mm;

    for (int i = 0; i < STRIPS && box.max_x_mm > 0.0; i++)
        if (tw_warm_carrying_section(keep_out, side, (i + 0.5) * step_mm, &low_mm, &high_mm) &&
            tw_section_mm(&job->part.tang, (i + 0.5) * step_mm, low_mm, high_mm) > 0.0)
            return true;
    return false;
}

bool tw_warm_on_rests(const struct tw_job *job, enum tw_side side)
{
    const struct tw_fixture *fixture = &job->fixture;

    for (size_t i = 0; i < fixture->keep_out_count; i++)
        if (tw_warm_carries(&fixture->keep_outs[i], side) && lies_under_tang(job, side, &fixture->keep_outs[i]))
            return true;
    return false;
}
