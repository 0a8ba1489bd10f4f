/* stays.c - see stays.h. */
#include "plan/scene/stays.h"

#include "plan/scene/scene.h"

#include <math.h>
#include <stdlib.h>

static bool open_stays(size_t count, struct tw_stays *stays)
{
    stays->count = count;
    stays->thin_mm3 = calloc(2 * count, sizeof *stays->thin_mm3);
    stays->thick_mm3 = stays->thin_mm3 ? stays->thin_mm3 + count : NULL;
    return stays->thin_mm3 != NULL;
}

/* A step down on top of a finishing layer is deeper than finish.infeed where that has no room for two of them: then such a layer is
 * as low as the one before it, and what the wheel loses meanwhile stays on the face. */
static bool finishing_has_steps(const struct tw_job *job)
{
    double infeed_mm = fmin(job->finish.infeed_mm, job->wheel.max_infeed_mm);

    return infeed_mm >= 2.0 * tw_infeed_step_mm(job);
}

/* Sets what each layer finds gone in its stay, and sums the stays up. */
static void sum_up_layers(const struct tw_job *job, enum tw_side side, struct tw_setup_plan *setup,
                          struct tw_stays *stays)
{
    double band_mm = job->taper.band_mm, thin_before_mm3 = 0.0, thick_before_mm3 = 0.0;
    bool steps = finishing_has_steps(job);

    for (size_t i = 0; i < setup->layer_count; i++) {
        struct tw_layer *layer = &setup->layers[i];
        double thin_after_mm3 = tw_wear_volume_mm3(job, side, -band_mm, layer->bottom_mm);
        double thick_after_mm3 = tw_wear_volume_mm3(job, side, band_mm, layer->bottom_mm);

        stays->thick_mm3[layer->stay] += layer->caught_mm3;
        layer->gone_mm3 = stays->thin_mm3[layer->stay];
        if (layer->again)
            continue;
        layer->gone_mm3 += (thin_after_mm3 - thin_before_mm3) / 2.0;
        if (layer->kind != TW_LAYER_ROUGH && !steps)
            layer->gone_mm3 = i > 0 && setup->layers[i - 1].stay == layer->stay ? setup->layers[i - 1].gone_mm3 : 0.0;
        stays->thin_mm3[layer->stay] += thin_after_mm3 - thin_before_mm3;
        stays->thick_mm3[layer->stay] += thick_after_mm3 - thick_before_mm3;
        thin_before_mm3 = thin_after_mm3;
        thick_before_mm3 = thick_after_mm3;
    }
}

bool tw_stays_sum_up(const struct tw_job *job, enum tw_side side, struct tw_setup_plan *setup, size_t count,
                     struct tw_stays *stays, struct tw_wear_ledger *ledger)
{
    if (!open_stays(count, stays))
        return false;
    sum_up_layers(job, side, setup, stays);
    return tw_wear_ledger_make(stays->thin_mm3, stays->thick_mm3, count, job->parts, job->wheel.dress_after_mm3,
                               ledger);
}

void tw_stays_close(struct tw_stays *stays)
{
    free(stays->thin_mm3);
}
