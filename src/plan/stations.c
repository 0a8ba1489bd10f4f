/* stations.c - from one part of the fixture to the next. */
#include "plan/stations.h"

#include "tangwright/motion.h"

#include <math.h>

#define SPIN_DRY_S 10.0

double tw_plan_spin_dry_s(const struct tw_job *job)
{
    return job->coolant.kind == TW_COOLANT_DRY ? 0.0 : SPIN_DRY_S;
}

double tw_plan_leave_z_mm(const struct tw_job *job, const struct tw_setup_plan *setup, int part)
{
    const struct tw_station *station = job->fixture.stations;
    double rise_mm = 0.0;

    if (part + 1 < job->parts)
        rise_mm = job->machine.up.sign * (station[part + 1].up_mm - station[part].up_mm);
    return setup->clear_z_mm + fmax(0.0, rise_mm);
}

double tw_stations_change_s(const struct tw_job *job, const struct tw_setup_plan *setup, int part)
{
    const struct tw_station *a = &job->fixture.stations[part], *b = a + 1;
    const struct tw_place3 *first = &setup->moves[0].to, *last = &setup->moves[setup->move_count - 1].to;
    double rise_mm = job->machine.up.sign * (b->up_mm - a->up_mm);
    double up[3] = { 0.0, 0.0, fabs(rise_mm) };
    double across[3] = { job->machine.along.sign * (b->along_mm - a->along_mm) + first->x_mm - last->x_mm,
                         job->machine.across.sign * (b->across_mm - a->across_mm) + first->y_mm - last->y_mm, 0.0 };

    return tw_motion_rapid_time_s(&job->machine, up) + tw_motion_rapid_time_s(&job->machine, across);
}
