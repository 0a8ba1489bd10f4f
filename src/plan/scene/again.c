/* again.c - see again.h. */
#include "plan/scene/again.h"

#include "plan/scene/scene.h"
#include "plan/scene/stays.h"
#include "plan/scene/wheel_loss.h"
#include "tangwright/wear.h"

#include <math.h>
#include <stdlib.h>

struct parting {
    const struct tw_job *job;
    enum tw_side side;
    struct tw_wheel_loss loss;
    struct tw_setup_plan *setup;
};

/* How much higher than meant a wheel may be that has taken so much off since it was touched off. */
static double unreached_mm(const struct parting *parting, double thin_mm3, double thick_mm3)
{
    const struct tw_wheel_loss *loss = &parting->loss;
    double most_mm = loss->known ? tw_wear_mm(thick_mm3, loss->ratio_least, loss->area_mm2) : 0.0;

    if (!loss->known || !loss->follows)
        return most_mm;
    return fmax(0.0, most_mm - tw_wear_mm(thin_mm3, loss->ratio, loss->area_mm2)) + tw_infeed_step_mm(parting->job);
}

/* Of the thickest blank in a plane so high over the face. */
static double area_mm2(const struct parting *parting, double bottom_mm)
{
    double step_mm = tw_infeed_step_mm(parting->job), band_mm = parting->job->taper.band_mm;

    return (tw_wear_volume_mm3(parting->job, parting->side, band_mm, bottom_mm) -
            tw_wear_volume_mm3(parting->job, parting->side, band_mm, bottom_mm + step_mm)) /
           step_mm;
}

/* A stay ends where the round does, or where one dressing would not do for more. */
static void mark_stays(const struct parting *parting, size_t layers_a_round)
{
    const struct tw_job *job = parting->job;
    struct tw_setup_plan *setup = parting->setup;
    double thin_before_mm3 = 0.0, thick_before_mm3 = 0.0, thin_mm3 = 0.0, thick_mm3 = 0.0;

    for (size_t i = 0; i < setup->layer_count; i++) {
        struct tw_layer *layer = &setup->layers[i];
        double thin_after_mm3 = tw_wear_volume_mm3(job, parting->side, -job->taper.band_mm, layer->bottom_mm);
        double thick_after_mm3 = tw_wear_volume_mm3(job, parting->side, job->taper.band_mm, layer->bottom_mm);
        double by_mm3 = thick_after_mm3 - thick_before_mm3;

        layer->comes = i > 0 && layers_a_round > 0 && i % layers_a_round == 0;
        if (layer->comes)
            thin_mm3 = thick_mm3 = 0.0;
        else if (thick_mm3 > 0.0 && tw_wear_stay_is_full(thick_mm3 + by_mm3, job->wheel.dress_after_mm3)) {
            layer->comes = true;
            thick_mm3 = unreached_mm(parting, thin_mm3, thick_mm3) * area_mm2(parting, setup->layers[i - 1].bottom_mm);
            thin_mm3 = 0.0;
        }
        thin_mm3 += thin_after_mm3 - thin_before_mm3;
        thick_mm3 += by_mm3;
        thin_before_mm3 = thin_after_mm3;
        thick_before_mm3 = thick_after_mm3;
    }
}

size_t tw_again_number_stays(struct tw_setup_plan *setup)
{
    size_t stay = 0;

    for (size_t i = 0; i < setup->layer_count; i++) {
        stay += setup->layers[i].comes;
        setup->layers[i].stay = stay;
    }
    return stay + 1;
}

/* The most that the wheel may have left standing on any part in the stay before this one, if it is dressed between the two. */
static double left_standing_mm(const struct parting *parting, const struct tw_wear_ledger *ledger,
                               const struct tw_stays *stays, size_t stay)
{
    size_t parts = (size_t)ledger->parts, before = stay - 1;
    double most_mm = 0.0;

    for (size_t part = 0; part < parts; part++) {
        size_t own = before * parts + part;
        double taken_mm3 = ledger->dresses[own] ? 0.0 : ledger->taken_mm3[own];
        bool dressed = false;

        for (size_t i = own + 1; i <= own + parts; i++)
            dressed |= ledger->dresses[i];
        if (dressed)
            most_mm = fmax(most_mm, unreached_mm(parting, ledger->since_mm3[own] + stays->thin_mm3[before],
                                                 taken_mm3 + stays->thick_mm3[before]));
    }
    return most_mm;
}

size_t tw_again_count(const struct tw_layer *layers, size_t i, double standing_mm, double reckoned_mm)
{
    double last_mm = layers[i - 1].bottom_mm;
    size_t count = 0;

    if (standing_mm + layers[i].depth_mm <= reckoned_mm)
        return 0;
    do
        count++;
    while (count < i && standing_mm > layers[i - count].bottom_mm - last_mm + layers[i - count].depth_mm);
    return count;
}

/* What a layer there is reckoned with. */
static double reckoned_mm(const struct parting *parting, size_t i)
{
    const struct tw_layer *layers = parting->setup->layers;

    return tw_wheel_loss_depth_mm(parting->job, &parting->loss, fmax(layers[i].depth_mm, layers[i - 1].depth_mm));
}

static void find_again(const struct parting *parting, const struct tw_wear_ledger *ledger, const struct tw_stays *stays,
                       size_t *again)
{
    for (size_t i = 1; i < parting->setup->layer_count; i++) {
        struct tw_layer *layer = &parting->setup->layers[i];
        double standing_mm =
            layer->comes && ledger->stops > 0 ? left_standing_mm(parting, ledger, stays, layer->stay) : 0.0;

        if (standing_mm > 0.0) {
            again[i] = tw_again_count(parting->setup->layers, i, standing_mm, reckoned_mm(parting, i));
            layer->caught_mm3 = standing_mm * area_mm2(parting, parting->setup->layers[i - 1].bottom_mm);
        }
    }
}

enum tw_status tw_again_find(const struct tw_job *job, enum tw_side side, size_t layers_a_round,
                             struct tw_setup_plan *setup, size_t *again, struct tw_findings *findings)
{
    struct parting parting = { job, side, tw_wear_expected(job, side), setup };
    struct tw_wear_ledger ledger = { 0 };
    struct tw_stays stays;
    bool made;

    mark_stays(&parting, layers_a_round);
    if (!(job->wheel.dress_after_mm3 > 0.0))
        return TW_OK;
    made = tw_stays_sum_up(job, side, setup, tw_again_number_stays(setup), &stays, &ledger);
    if (made)
        find_again(&parting, &ledger, &stays, again);
    tw_stays_close(&stays);
    tw_wear_ledger_free(&ledger);
    return made ? TW_OK : tw_no_memory(findings);
}

/* ---- the longer list ---- */

/* A layer that is ground again, or at last, because the wheel comes for another: it comes for the first of them, which catches what
 * was left standing. */
static void put_layer(const struct tw_setup_plan *setup, size_t layer, size_t comes_for, bool first,
                      struct tw_layer *out)
{
    const struct tw_layer *cause = &setup->layers[comes_for];

    *out = setup->layers[layer];
    out->again = layer != comes_for;
    out->comes = first && cause->comes;
    out->caught_mm3 = out->comes ? cause->caught_mm3 : 0.0;
}

bool tw_again_lengthen(struct tw_setup_plan *setup, const size_t *again, size_t **from)
{
    size_t total = setup->layer_count, count = 0;
    struct tw_layer *layers;

    *from = NULL;
    for (size_t i = 0; i < setup->layer_count; i++)
        total += again[i];
    if (total == setup->layer_count)
        return true;
    layers = calloc(total, sizeof *layers);
    *from = calloc(total, sizeof **from);
    if (!layers || !*from) {
        free(layers);
        return false;
    }
    for (size_t i = 0; i < setup->layer_count; i++)
        for (size_t k = again[i] + 1; k-- > 0; count++) {
            (*from)[count] = i - k;
            put_layer(setup, i - k, i, k == again[i], &layers[count]);
        }
    free(setup->layers);
    setup->layers = layers;
    setup->layer_count = setup->layer_capacity = total;
    return true;
}
