/* lift.c - how far a program is raised for the run in the air. */
#include "tangwright/program.h"

#include "base/numbers.h"

#include <math.h>

/* What a person sees between wheel and steel, at the least. */
#define SEEN_MM 1.0

/* From the first of the blank that the wheel can meet, fed down to it from above, to the lowest place it comes to. */
static double deepest_mm(const struct tw_job *job, const struct tw_plan *plan)
{
    double low_mm = job->taper.ricasso_mm, high_mm = low_mm;

    for (size_t i = 0; i < plan->setup_count; i++) {
        const struct tw_setup_plan *setup = &plan->setups[i];

        for (size_t k = 0; k < setup->move_count; k++) {
            low_mm = fmin(low_mm, setup->moves[k].to.z_mm);
            if (setup->moves[k].kind == TW_MOVE_FEED)
                high_mm = fmax(high_mm, setup->moves[k].to.z_mm);
        }
    }
    return high_mm - low_mm;
}

struct tw_lift_range tw_program_lift_range(const struct tw_job *job, const struct tw_plan *plan)
{
    double step_mm = job->machine.dialect.inch ? 12.7 : 10.0;
    struct tw_lift_range range = { .least_mm = deepest_mm(job, plan) + SEEN_MM,
                                   .most_mm = tw_plan_room_above_mm(job, plan) };

    range.usual_mm = step_mm * ceil(range.least_mm / step_mm);
    if (range.usual_mm > range.most_mm)
        range.usual_mm = 0.0;
    return range;
}

double tw_program_lift_mm(const struct tw_job *job, double wanted_mm)
{
    double unit_mm = tw_last_decimal_mm(job->machine.dialect.length_decimals, job->machine.dialect.inch);

    return unit_mm * round(wanted_mm / unit_mm);
}
