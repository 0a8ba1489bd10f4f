/* spring_heat.c - how hot finishing layers and spark-outs get on a machine that gives way: beside their own depth they take what the
 * layers before them left standing. */
#include "tangwright/assess.h"

#include "tangwright/heat.h"
#include "tangwright/relief.h"
#include "tangwright/rim.h"
#include "tangwright/warm.h"

#include <math.h>

/* So little above the limit nothing is said: the specific energy is not known to a per cent. */
#define SAYS_K 2.0

/* With the reserve of energy, on the warmth that the plan finds there. Where nothing is taken: ambient. */
static double taken_degC(const struct tw_job *job, const struct tw_setup_plan *setup, const struct tw_layer *layer,
                         double taken_mm)
{
    struct tw_wheel wheel = tw_wheel_at_energy(&job->wheel, tw_energy_reserve(job));
    double lean = tw_plan_lean(job, setup), bulk_degC = fmax(layer->reserve_bulk_degC, job->coolant.temperature_degC);
    struct tw_contact contact = {
        .depth_mm = taken_mm,
        .table_mm_per_s = fmax(layer->table_mm_per_s, layer->lanes > 1 ? layer->later_mm_per_s : 0.0),
        .wheel_mm_per_s = setup->wheel_mm_per_s,
        .contact_mm = wheel.kind == TW_WHEEL_CUP ? tw_cup_contact_mm(&wheel, lean, taken_mm)
                                                 : tw_disc_contact_mm(taken_mm, &wheel),
        .engaged_mm = layer->engaged_mm,
    };
    struct tw_flash flash;

    if (!(taken_mm > 0.0) ||
        tw_flash_estimate(&contact, &wheel, &job->steel, &job->coolant, bulk_degC, &flash, NULL) != TW_OK)
        return job->coolant.temperature_degC;
    return tw_hot_spot(&flash, bulk_degC, tw_exit_edge_factor(flash.peclet) * fmax(1.0, layer->plate_factor),
                       &job->coolant)
        .degC;
}

struct tw_spring_heat tw_setup_spring_heat(const struct tw_job *job, const struct tw_plan *plan, size_t index)
{
    const struct tw_setup_plan *setup = &plan->setups[index];
    struct tw_job narrowed = tw_setup_job(job, setup);
    struct tw_spring_heat hottest = { .degC = job->coolant.temperature_degC };

    if (setup->scope == TW_SCOPE_ROUGH || setup->scope == TW_SCOPE_RELIEF)
        return hottest;
    for (size_t i = 0; i < setup->layer_count; i++)
        for (int softest = 0; softest < 2; softest++) {
            const struct tw_layer *layer = &setup->layers[i];
            double taken_mm = tw_plan_taken_mm(job, plan, index, i, softest);
            double degC = taken_degC(&narrowed, setup, layer, taken_mm);

            if (layer->kind == TW_LAYER_ROUGH || layer->again || degC <= hottest.degC)
                continue;
            hottest = (struct tw_spring_heat){ i, taken_mm, degC, layer->flash_limit_degC };
        }
    return hottest;
}

void tw_spring_heat_remark(const struct tw_job *job, const struct tw_plan *plan, struct tw_findings *findings)
{
    struct tw_place at = { .file = job->path, .key = "finish.layers" };

    for (size_t i = 0; i < plan->setup_count; i++) {
        struct tw_spring_heat heat = tw_setup_spring_heat(job, plan, i);

        if (heat.taken_mm > 0.0 && heat.degC > heat.limit_degC + SAYS_K)
            tw_remark(
                findings, at,
                "side %s, layer %zu: a machine as soft as this one may be leaves it up to %.1f um to take, which makes "
                "%.0f degC where %.0f degC is allowed; a lighter wheel.max_infeed for roughing, or one more of "
                "finish.layers, leaves it less",
                tw_side_letter(plan->setups[i].face.side), heat.layer + 1, 1e3 * heat.taken_mm, heat.degC,
                heat.limit_degC);
    }
}
