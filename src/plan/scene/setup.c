/* setup.c - the plan of one setup as a thing that is owned and compared. */
#include "plan/scene/setup.h"

#include "tangwright/packing.h"
#include "tangwright/relief.h"

#include "base/units.h"

#include <math.h>
#include <stdlib.h>

double tw_setup_time_s(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    return job->parts * setup->part_time_s + setup->between_s;
}

double tw_setup_packing_mm(const struct tw_job *job, const struct tw_setup_plan *setup, double x_mm)
{
    if (setup->scope == TW_SCOPE_WHOLE || !setup->face.over_ground)
        return tw_packing_mm(job, job->straight, setup->face.side, x_mm);
    return tw_packing_between_mm(job, job->straight, setup->face.side, setup->below_left_mm, x_mm);
}

struct tw_job tw_setup_job(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    struct tw_job own = *job;

    own.task.below_hollowed = setup->below_hollowed;
    return tw_scope_job(&own, setup->scope);
}

enum tw_status tw_setup_too_long(const struct tw_job *job, const char *where, double part_s, const char *advice,
                                 struct tw_findings *findings)
{
    struct tw_place at = { .file = job->path, .key = "longest_time" };

    return tw_fail(findings, TW_NO_PLAN, at,
                   "%sone part would take %s or more, and %.6g h are allowed: the limits leave only very light or slow "
                   "cuts; %s",
                   where, tw_duration_at_least(part_s).text, job->longest_s / 3600.0, advice);
}

double tw_setup_deepest_mm(const struct tw_setup_plan *setup)
{
    double depth_mm = 0.0;

    for (size_t i = 0; i < setup->layer_count; i++)
        depth_mm = fmax(depth_mm, setup->layers[i].depth_mm);
    return depth_mm;
}

void tw_setup_free(struct tw_setup_plan *setup)
{
    free(setup->layers);
    free(setup->moves);
    free(setup->file_name);
    free(setup->air_file_name);
    tw_wear_ledger_free(&setup->ledger);
    tw_findings_free(&setup->said);
    *setup = (struct tw_setup_plan){ 0 };
}
