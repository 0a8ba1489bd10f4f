/* setup.c - the plan of one setup as a thing that is owned and compared. */
#include "plan/setup.h"

#include <stdlib.h>

double tw_setup_time_s(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    return job->parts * setup->part_time_s + setup->between_s;
}

void tw_setup_free(struct tw_setup_plan *setup)
{
    free(setup->layers);
    free(setup->moves);
    *setup = (struct tw_setup_plan){ 0 };
}
