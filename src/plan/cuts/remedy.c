/* remedy.c - see remedy.h. Figures of a sharp CBN wheel, of a freshly dressed wheel and of a flood of water emulsion, as in
 * the profiles; they only serve the advice. */
#include "plan/cuts/remedy.h"

#include <math.h>

static void try_cbn(struct tw_job *job)
{
    job->wheel.grain_conductivity_W_per_mm_K = 0.240;
    job->wheel.specific_energy_J_per_mm3 = fmin(30.0, job->wheel.specific_energy_J_per_mm3);
}

static void try_worn_in(struct tw_job *job)
{
    job->wheel.lead_in_rad = 0.0;
}

static void try_fresh_dressing(struct tw_job *job)
{
    job->wheel.specific_energy_J_per_mm3 *= 30.0 / 45.0;
}

static void try_flood(struct tw_job *job)
{
    job->coolant.kind = TW_COOLANT_FLOOD;
    job->coolant.contact_conductance_W_per_mm2_K = fmax(0.15, job->coolant.contact_conductance_W_per_mm2_K);
    job->coolant.flow_mm3_per_s = 0.0; /* enough of it */
    job->coolant.boiling_degC = 120.0;
    job->coolant.joint_conductance_W_per_mm2_K = fmax(0.008, job->coolant.joint_conductance_W_per_mm2_K);
}

static void try_flood_and_cbn(struct tw_job *job)
{
    try_flood(job);
    try_cbn(job);
}

static void try_narrow(struct tw_job *job)
{
    job->wheel.max_crossfeed_ratio /= 2.0;
}

static void pack_solid(struct tw_job *job)
{
    job->fixture.packing = TW_PACKING_STEEL;
}

static void clamp_more(struct tw_job *job)
{
    job->fixture.clamp_force_N += 1000.0;
}

const struct tw_remedy tw_remedies[TW_REMEDIES] = {
    { "a rim that is worn in", try_worn_in, 1.0 },
    { "a freshly dressed, sharper wheel", try_fresh_dressing, 1.0 },
    { "a CBN wheel", try_cbn, 1.0 },
    { "flood coolant", try_flood, 1.0 },
    { "flood coolant with a CBN wheel", try_flood_and_cbn, 1.0 },
    { "half the engaged width", try_narrow, 0.5 },
    { "a solid steel wedge or rest bar under the tang", pack_solid, 1.0 },
    { "1000 N more of clamps", clamp_more, 1.0 },
};
