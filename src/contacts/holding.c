/* holding.c - the sideways force that the fixture is trusted with. */
#include "tangwright/contacts.h"

#include "tangwright/taper.h"

double tw_holding_N(const struct tw_job *job)
{
    const struct tw_fixture *fixture = &job->fixture;

    return fixture->friction * (fixture->clamp_force_N + fixture->pull_N_per_mm2 * tw_tang_area_mm2(job)) /
           fixture->holding_safety;
}
