/* wheel_loss.c - see wheel_loss.h. */
#include "plan/scene/wheel_loss.h"

#include "plan/scene/scene.h"
#include "plan/scene/stays.h"
#include "tangwright/wear.h"

#include <math.h>

/* For each mm of depth. */
static double deeper(const struct tw_wheel_loss *loss)
{
    return tw_wear_mm(loss->tang_mm2, loss->ratio, loss->area_mm2) -
           tw_wear_mm(loss->tang_mm2, loss->ratio_most, loss->area_mm2);
}

double tw_wheel_loss_depth_mm(const struct tw_job *job, const struct tw_wheel_loss *loss, double depth_mm)
{
    return loss->follows ? depth_mm * (1.0 + deeper(loss)) + loss->jump_mm + tw_infeed_step_mm(job) : depth_mm;
}

double tw_wheel_loss_infeed_mm(const struct tw_job *job, const struct tw_wheel_loss *loss, double infeed_mm)
{
    double step_mm = tw_infeed_step_mm(job);

    return loss->follows ? fmax(step_mm, (infeed_mm - step_mm) / (1.0 + deeper(loss))) : infeed_mm;
}

double tw_wheel_loss_least_mm(const struct tw_wheel_loss *loss, double volume_mm3)
{
    return loss->follows ? tw_wear_mm(volume_mm3, loss->ratio_most, loss->area_mm2) : 0.0;
}

double tw_wheel_loss_round(const struct tw_job *job, enum tw_side side, size_t layers_a_round,
                           struct tw_wheel_loss *loss)
{
    double stay_mm3 = (double)layers_a_round * job->wheel.max_infeed_mm * tw_tang_area_mm2(job);
    double blanks = fmin(job->parts - 1, tw_wear_blanks(job, side)); /* others, since the last dressing */

    if (layers_a_round == 0)
        return tw_wear_jump_mm(loss, blanks * loss->volume_mm3);
    loss->jump_mm = tw_wear_jump_mm(loss, fmin((job->parts - 1) * stay_mm3, blanks * loss->volume_mm3));
    return loss->jump_mm;
}

/* ---- the heights follow ---- */

static double steps_mm(const struct tw_job *job, const struct tw_setup_plan *setup, double volume_mm3)
{
    double step_mm = tw_infeed_step_mm(job);

    return step_mm * floor(tw_wear_mm(volume_mm3, setup->loss.ratio, setup->loss.area_mm2) / step_mm + 1e-6);
}

/* Half of what a layer itself costs counts to it. The thinnest blank of the band costs the wheel least: followed for that
 * one, no blank is cut below its face. What comes on top at a later part is so many steps for all of a stay: then its layers
 * are as deep as the first part's, which is the one whose warmth is followed. */
static double lower_mm(const struct tw_job *job, const struct tw_setup_plan *setup, const struct tw_layer *layer,
                       int part)
{
    const double *since_mm3 = &setup->ledger.since_mm3[layer->stay * (size_t)job->parts];

    return steps_mm(job, setup, since_mm3[0] + layer->gone_mm3) + steps_mm(job, setup, since_mm3[part] - since_mm3[0]);
}

static bool follows(const struct tw_move *move)
{
    return move->role == TW_ROLE_CUT || move->role == TW_ROLE_OVER || move->role == TW_ROLE_INFEED ||
           move->role == TW_ROLE_ACROSS;
}

double tw_plan_lower_mm(const struct tw_job *job, const struct tw_setup_plan *setup, const struct tw_move *move,
                        int part)
{
    const struct tw_layer *layer = move->layer < 0 ? NULL : &setup->layers[move->layer];

    if (part == 0 || !layer || !setup->loss.follows || !follows(move))
        return 0.0;
    return lower_mm(job, setup, layer, part) - lower_mm(job, setup, layer, 0);
}

/* Returns how many stays there are. */
static size_t find_stays(struct tw_setup_plan *setup)
{
    size_t stay = 0;

    for (size_t i = 1; i < setup->move_count; i++) {
        stay += setup->moves[i].enters;
        if (setup->moves[i].layer >= 0)
            setup->layers[setup->moves[i].layer].stay = stay;
    }
    return stay + 1;
}

static bool make_ledger(const struct tw_job *job, struct tw_setup_plan *setup)
{
    struct tw_stays stays;
    bool made = tw_stays_sum_up(job, setup->face.side, setup, find_stays(setup), &stays, &setup->ledger);

    tw_stays_close(&stays);
    return made;
}

/* ---- the finished face ---- */

/* How many blanks the wheel has ground when it is last at work on a part. */
static double blanks_by(const struct tw_job *job, const struct tw_setup_plan *setup, int part)
{
    const struct tw_layer *last = &setup->layers[setup->layer_count - 1];
    size_t own = last->stay * (size_t)job->parts + (size_t)part;

    return (setup->ledger.since_mm3[own] + last->gone_mm3) /
           tw_wear_volume_mm3(job, setup->face.side, -job->taper.band_mm, last->bottom_mm);
}

/* `job` as its program finds it. */
static struct tw_wheel_loss part_loss(const struct tw_job *job, const struct tw_setup_plan *setup, int part)
{
    struct tw_wheel_loss loss = setup->loss;

    if (loss.follows)
        loss.followed_mm = lower_mm(job, setup, &setup->layers[setup->layer_count - 1], part);
    if (loss.known && setup->scope != TW_SCOPE_ROUGH)
        tw_wear_set_uncertain(job, setup->face.side, blanks_by(job, setup, part), &loss);
    return loss;
}

struct tw_wheel_loss tw_plan_part_loss(const struct tw_job *job, const struct tw_setup_plan *setup, int part)
{
    struct tw_job own = *job;

    own.task.scope = setup->scope;
    own.task.hollows = setup->hollows;
    own.task.hollow_count = setup->hollow_count;
    return part_loss(&own, setup, part);
}

enum tw_status tw_wheel_loss_follow(const struct tw_job *job, struct tw_setup_plan *setup, struct tw_findings *findings)
{
    setup->loss = tw_wear_expected(job, setup->face.side);
    setup->hollows = job->task.hollows;
    setup->hollow_count = job->task.hollow_count;
    if (!make_ledger(job, setup))
        return tw_no_memory(findings);
    if (!setup->loss.follows)
        return TW_OK;
    for (size_t i = 0; i < setup->move_count; i++)
        if (setup->moves[i].layer >= 0 && follows(&setup->moves[i]))
            setup->moves[i].to.z_mm -= lower_mm(job, setup, &setup->layers[setup->moves[i].layer], 0);
    for (int part = 0; part < job->parts; part++) {
        struct tw_wheel_loss loss = part_loss(job, setup, part);

        if (part == 0 || loss.high_mm > setup->loss.high_mm) {
            loss.standing_mm = fmax(loss.standing_mm, part > 0 ? setup->loss.standing_mm : 0.0);
            setup->loss = loss;
        }
        setup->loss.standing_mm = fmax(setup->loss.standing_mm, loss.standing_mm);
    }
    return TW_OK;
}
