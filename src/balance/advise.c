/* advise.c - changes a maker can make when the taper alone does not do. */
#include "balance/advise.h"

#include "balance/model.h"
#include "balance/solve.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define KG_PER_M3 1e6 /* of a g/mm3 */

/* A job with one thing changed. Its lists are borrowed but for the pins, which are `pins`. */
struct trial {
    struct tw_job job;
    struct tw_pin *pins;
    const struct tw_relief_region *hollowed; /* NULL: all inside the land */
    bool forward;
    const struct tw_balance *now; /* at the answer that fell short */
    double target_mm;
    char change[sizeof((struct tw_balance_advice *)0)->change];
};

/* Each returns false where it has nothing to offer. */

/* The density that puts the balance point on the target: moments about the target add up to nothing. */
static double wanted_density_kg_per_m3(const struct trial *trial)
{
    const struct tw_balance_point *knife = &trial->now->stages[TW_STAGE_FINISHED];
    const struct tw_weight *scales = &trial->now->scales;
    double arm_mm = scales->x_mm - trial->target_mm;
    double others_g_mm = knife->mass_g * (knife->x_mm - trial->target_mm) - scales->mass_g * arm_mm;

    return fabs(arm_mm) > 1e-6 ? -others_g_mm / (scales->volume_mm3 * arm_mm) * KG_PER_M3 : 0.0;
}

/* The listed material that comes nearest to the wanted density without falling short of it. */
static enum tw_material_id scale_material_for(const struct trial *trial, double wanted)
{
    enum tw_material_id best = TW_MATERIAL_NONE;

    for (int i = TW_MATERIAL_NONE + 1; i <= TW_MATERIAL_EPOXY; i++) { /* no scales of metal */
        double density = tw_materials[i].density_kg_per_m3;
        bool enough = trial->forward ? density <= wanted : density >= wanted;
        bool nearer =
            best == TW_MATERIAL_NONE || fabs(density - wanted) < fabs(tw_materials[best].density_kg_per_m3 - wanted);

        if (enough && nearer)
            best = (enum tw_material_id)i;
    }
    return best;
}

static bool other_scales(struct trial *trial)
{
    double now = trial->job.handle.density_g_per_mm3 * KG_PER_M3;
    double wanted = wanted_density_kg_per_m3(trial);
    enum tw_material_id id = scale_material_for(trial, wanted);

    if (!(trial->job.handle.scale_mm > 0.0))
        return false;
    if (id == TW_MATERIAL_NONE) /* the extreme of the list */
        id = trial->forward ? TW_MATERIAL_CHERRY : TW_MATERIAL_BONE;
    if (trial->forward ? tw_materials[id].density_kg_per_m3 >= now : tw_materials[id].density_kg_per_m3 <= now)
        return false;
    trial->job.handle.density_g_per_mm3 = tw_material_density_g_per_mm3(id);
    snprintf(trial->change, sizeof trial->change, "scales of %s, %.0f kg/m3 instead of %.0f", tw_materials[id].word,
             tw_materials[id].density_kg_per_m3, now);
    return true;
}

static bool other_thickness(struct trial *trial)
{
    double step_mm = trial->forward ? -1.0 : 1.0;

    if (!(trial->job.handle.scale_mm + step_mm >= 2.0))
        return false;
    trial->job.handle.scale_mm += step_mm;
    snprintf(trial->change, sizeof trial->change, "scales %.6g mm thick instead of %.6g mm%s",
             trial->job.handle.scale_mm, trial->job.handle.scale_mm - step_mm,
             trial->job.handle.pin_count == 0 ? ""
             : trial->forward                 ? ", with shorter pins"
                                              : ", with longer pins");
    return true;
}

static bool other_pins(struct trial *trial)
{
    enum tw_material_id id = trial->forward ? TW_MATERIAL_ALUMINIUM : TW_MATERIAL_NICKEL_SILVER;
    double density = tw_material_density_g_per_mm3(id);
    bool changed = false;

    for (size_t i = 0; i < trial->job.handle.pin_count; i++) {
        struct tw_pin *pin = &trial->pins[i];

        if (trial->forward ? pin->density_g_per_mm3 <= density : pin->density_g_per_mm3 >= density)
            continue;
        pin->density_g_per_mm3 = density;
        changed = true;
    }
    snprintf(trial->change, sizeof trial->change, "pins of %s, %.0f kg/m3", tw_materials[id].word,
             tw_materials[id].density_kg_per_m3);
    return changed;
}

static bool hollow_pins(struct trial *trial)
{
    bool changed = false;

    for (size_t i = 0; i < trial->job.handle.pin_count && trial->forward; i++) {
        struct tw_pin *pin = &trial->pins[i];
        double bore_mm = 0.7 * pin->diameter_mm;

        if (pin->bore_mm >= bore_mm)
            continue;
        pin->bore_mm = bore_mm;
        changed = true;
    }
    snprintf(trial->change, sizeof trial->change, "tubes with a bore of 0.7 of the diameter instead of solid pins");
    return changed;
}

static bool thinner_tang(struct trial *trial)
{
    double was_mm = trial->job.taper.smallest_mm;

    if (!trial->forward || was_mm < 0.7)
        return false;
    trial->job.taper.smallest_mm = was_mm - 0.2;
    snprintf(trial->change, sizeof trial->change,
             "smallest_thickness of %.6g mm instead of %.6g mm, if that is strong enough", was_mm - 0.2, was_mm);
    return true;
}

static bool narrower_land(struct trial *trial)
{
    double was_mm = trial->job.relief.land_mm;

    if (!trial->forward || was_mm < 4.0)
        return false;
    if (trial->hollowed) /* how far the wheel would come inside another land is not known here */
        return false;
    trial->job.relief.land_mm = was_mm - 2.0;
    snprintf(trial->change, sizeof trial->change, "more relief: a land of %.6g mm instead of %.6g mm", was_mm - 2.0,
             was_mm);
    return true;
}

static bool empty_relief(struct trial *trial)
{
    const struct tw_handle *handle = &trial->job.handle;

    if (!trial->forward || !handle->relief_filled || !(handle->glue_mm > 0.0) || !(trial->now->relief_depth_mm > 0.0))
        return false;
    trial->job.handle.relief_filled = false;
    snprintf(trial->change, sizeof trial->change, "the relief left empty instead of full of glue");
    return true;
}

/* Where the knife balances at best with the change. */
static enum tw_status try_it(struct trial *trial, const struct tw_balance_wish *wish, struct tw_balance_answer *answer,
                             struct tw_findings *findings)
{
    struct tw_balance_advice *advice = &answer->advice[answer->advice_count];
    struct tw_balance_answer best;
    struct tw_balance_model *model = NULL;
    struct tw_findings unasked = { 0 };
    enum tw_status status = tw_balance_open(&trial->job, trial->hollowed, &model, &unasked);

    if (status == TW_OK)
        status = tw_balance_seek(model, wish, &best, findings);
    if (status == TW_OK) {
        memcpy(advice->change, trial->change, sizeof advice->change);
        advice->x_mm = best.x_mm;
        advice->away_mm = fabs(best.x_mm - wish->x_mm);
        advice->enough = best.reached;
        /* A change that moves nothing is no advice. */
        answer->advice_count += fabs(best.x_mm - answer->x_mm) > 0.01;
    }
    tw_balance_close(model);
    tw_findings_free(&unasked);
    return status == TW_BAD_INPUT ? TW_OK : status; /* that change is not possible */
}

static int by_nearness(const void *a, const void *b)
{
    const struct tw_balance_advice *left = a, *right = b;

    if (left->away_mm != right->away_mm)
        return left->away_mm > right->away_mm ? 1 : -1;
    return strcmp(left->change, right->change);
}

enum tw_status tw_balance_advise(const struct tw_balance_model *model, const struct tw_balance_wish *wish,
                                 struct tw_balance_answer *answer, struct tw_findings *findings)
{
    static bool (*const changes[])(struct trial *) = { other_scales, other_thickness, other_pins,  hollow_pins,
                                                       thinner_tang, narrower_land,   empty_relief };
    const struct tw_job *job = model->job;
    struct tw_balance now = tw_balance_with(model, answer->butt_mm, answer->relief_depth_mm);
    struct tw_pin *pins = calloc(job->handle.pin_count + 1, sizeof *pins);
    enum tw_status status = TW_OK;

    if (!pins)
        return tw_no_memory(findings);
    for (size_t i = 0; status == TW_OK && i < sizeof changes / sizeof *changes; i++) {
        struct trial trial = { .hollowed = model->hollow == &model->relief ? NULL : model->hollow,
                               .job = *job,
                               .pins = pins,
                               .forward = wish->x_mm < answer->x_mm,
                               .now = &now,
                               .target_mm = wish->x_mm };

        if (job->handle.pin_count > 0)
            memcpy(pins, job->handle.pins, job->handle.pin_count * sizeof *pins);
        trial.job.handle.pins = pins;
        if (changes[i](&trial))
            status = try_it(&trial, wish, answer, findings);
    }
    free(pins);
    qsort(answer->advice, answer->advice_count, sizeof *answer->advice, by_nearness);
    return status;
}
