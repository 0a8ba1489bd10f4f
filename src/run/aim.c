/* aim.c - how thick a load's parts are meant to come out. */
#include "tangwright/run.h"

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
 * blank has it once. From the ricasso no face takes any of it. */
double tw_run_own_mm(const struct tw_job *job, double ricasso_mm, double planned_mm)
{
    double faces = job->taper.zero == TW_ZERO_PAD ? TW_SIDES_OF(job) : 0.0;

    return (1.0 - faces) * (ricasso_mm - planned_mm);
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
