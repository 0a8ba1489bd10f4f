/* aim.c - how thick a load's parts are meant to come out. */
#include "tangwright/run.h"

#include "tangwright/warm.h"

#include <math.h>

/* Of the slope that the keys give two faces together, what those that are ground have. */
static double share_of(const struct tw_job *job)
{
    return TW_SIDES_OF(job) / 2.0;
}

double tw_run_aim_mm(const struct tw_job *job, double planned_mm, double butt_mm, double x_mm)
{
    return planned_mm - share_of(job) * (planned_mm - butt_mm) * x_mm / job->taper.length_mm +
           TW_SIDES_OF(job) * job->finish.allowance_mm;
}

/* From the pad every face that is ground ends at the height that its program says: it takes what the blank has too much, and the
 * blank has it once. From the ricasso no face takes any of it. With side A of a blank that is too thin lying on a rest that rises, the rest
 * carries it, and side B loses what the blank has too little. */
double tw_run_own_mm(const struct tw_job *job, double ricasso_mm, double planned_mm)
{
    double faces = job->taper.zero == TW_ZERO_PAD ? TW_SIDES_OF(job) : 0.0;
    double own_mm = (1.0 - faces) * (ricasso_mm - planned_mm);

    return faces > 1.0 && tw_warm_on_rise(job) ? fmin(0.0, own_mm) : own_mm;
}

/* Of a part that has so much left on each face: as if nothing lifted it, and where the rest does. */
struct aims {
    double lying_mm, lifted_mm;
};

static struct aims aims_of(const struct tw_job *job, const struct tw_run_blank_aim *blank, double x_mm, double left_mm)
{
    double aim_mm = tw_run_aim_mm(job, blank->planned_mm, blank->butt_mm, x_mm);
    double over_mm = blank->ricasso_mm - blank->planned_mm;
    bool from_pad = job->taper.zero == TW_ZERO_PAD;

    return (struct aims){ aim_mm + (from_pad ? 1.0 - TW_SIDES_OF(job) : 1.0) * over_mm + TW_SIDES_OF(job) * left_mm,
                          aim_mm + (from_pad ? 0.0 : over_mm) + left_mm - job->finish.allowance_mm };
}

double tw_run_left_mm(const struct tw_job *job, const struct tw_run_blank_aim *blank, double x_mm, double left_mm,
                      double too_high_mm)
{
    struct aims aims = aims_of(job, blank, x_mm, left_mm);

    return tw_warm_on_rise(job) ? fmin(aims.lying_mm + too_high_mm, aims.lifted_mm + 0.5 * too_high_mm)
                                : aims.lying_mm + too_high_mm;
}

double tw_run_too_high_mm(const struct tw_job *job, const struct tw_run_blank_aim *blank, double x_mm, double left_mm,
                          double thickness_mm)
{
    struct aims aims = aims_of(job, blank, x_mm, left_mm);
    double off_mm = thickness_mm - aims.lying_mm;

    return tw_warm_on_rise(job) ? fmax(off_mm, 2.0 * (thickness_mm - aims.lifted_mm)) : off_mm;
}

double tw_run_gauge_mm(const struct tw_job *job, double gauge_mm)
{
    return tw_warm_on_rise(job) ? 2.0 * gauge_mm : gauge_mm;
}

bool tw_run_keeps(const struct tw_run_roughed *roughed, int load)
{
    return roughed->load > 0 && roughed->load == load && !roughed->other_wheel;
}

const struct tw_run_totals *tw_run_totals_for(const struct tw_run_request *request, size_t load_number)
{
    return tw_run_keeps(&request->roughed, (int)load_number) ? &request->roughed.kept : &request->totals;
}

double tw_run_butt_lower_mm(const struct tw_job *job, const struct tw_run_totals *totals)
{
    return totals->taper_mm / share_of(job);
}
