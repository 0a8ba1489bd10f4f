/* holding.c - the sideways force that the fixture is trusted with. */
#include "tangwright/contacts.h"

#include "tangwright/taper.h"

double tw_holding_over_N(const struct tw_fixture *fixture, double area_mm2)
{
    return fixture->friction * (fixture->clamp_force_N + fixture->pull_N_per_mm2 * area_mm2) / fixture->holding_safety;
}

double tw_holding_N(const struct tw_job *job)
{
    return tw_holding_over_N(&job->fixture, tw_tang_area_mm2(job));
}
