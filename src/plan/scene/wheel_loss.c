/* wheel_loss.c - see wheel_loss.h. */
#include "plan/scene/wheel_loss.h"

#include "base/numbers.h"
#include "plan/scene/scene.h"
#include "tangwright/wear.h"

#include <math.h>

/* A sharp CBN wheel in a resin bond, for the advice; docs/wheel-state.md. */
#define CBN_RATIO 400.0

static double half_tolerance_mm(const struct tw_job *job)
{
    return job->finish.thickness_mm / 2.0;
}

static double area_mm2(const struct tw_job *job, enum tw_side side)
{
    struct tw_face face = tw_face_of(job, side);

    return tw_wear_area_mm2(job, tw_face_lean(job, &face));
}

/* For each mm of depth. */
static double deeper(const struct tw_job *job, const struct tw_wheel_loss *loss)
{
    double tang_mm2 = tw_tang_area_mm2(job), area = area_mm2(job, TW_SIDE_A);

    return tw_wear_mm(tang_mm2, loss->ratio, area) - tw_wear_mm(tang_mm2, loss->ratio_most, area);
}

double tw_wheel_loss_depth_mm(const struct tw_job *job, const struct tw_wheel_loss *loss, double depth_mm)
{
    return loss->follows ? depth_mm * (1.0 + deeper(job, loss)) + tw_infeed_step_mm(job) : depth_mm;
}

double tw_wheel_loss_infeed_mm(const struct tw_job *job, const struct tw_wheel_loss *loss, double infeed_mm)
{
    double step_mm = tw_infeed_step_mm(job);

    return loss->follows ? fmax(step_mm, (infeed_mm - step_mm) / (1.0 + deeper(job, loss))) : infeed_mm;
}

double tw_wheel_loss_by_mm(const struct tw_job *job, const struct tw_wheel_loss *loss, double volume_mm3)
{
    return loss->follows ? tw_wear_mm(volume_mm3, loss->ratio, area_mm2(job, TW_SIDE_A)) : 0.0;
}

/* ---- the heights follow ---- */

/* Half of what a layer itself costs counts to it. The thinnest blank of the band costs the wheel least: followed for that
 * one, no blank is cut below its face. */
static double followed_mm(const struct tw_job *job, const struct tw_setup_plan *setup, size_t layer, double before_mm3)
{
    enum tw_side side = setup->face.side;
    double after_mm3 = tw_wear_volume_mm3(job, side, -job->taper.band_mm, setup->layers[layer].bottom_mm);
    double step_mm = tw_infeed_step_mm(job);
    double loss_mm = tw_wear_mm((before_mm3 + after_mm3) / 2.0, setup->loss.ratio, area_mm2(job, side));

    return step_mm * floor(loss_mm / step_mm + 1e-6);
}

static bool follows(const struct tw_move *move)
{
    return move->role == TW_ROLE_CUT || move->role == TW_ROLE_OVER || move->role == TW_ROLE_INFEED ||
           move->role == TW_ROLE_ACROSS;
}

void tw_wheel_loss_follow(const struct tw_job *job, struct tw_setup_plan *setup)
{
    double before_mm3 = 0.0;
    int layer = -1;

    setup->loss = tw_wear_expected(job, setup->face.side);
    if (!setup->loss.follows)
        return;
    setup->loss.followed_mm = 0.0;
    for (size_t i = 0; i < setup->move_count; i++) {
        struct tw_move *move = &setup->moves[i];

        for (; layer < move->layer; before_mm3 = tw_wear_volume_mm3(job, setup->face.side, -job->taper.band_mm,
                                                                    setup->layers[layer].bottom_mm))
            setup->loss.followed_mm = followed_mm(job, setup, (size_t)++layer, before_mm3);
        if (follows(move))
            move->to.z_mm -= setup->loss.followed_mm;
    }
    tw_wear_set_uncertain(job, setup->face.side, &setup->loss);
}

/* ---- dressing ---- */

void tw_wheel_loss_remark(const struct tw_job *job, const struct tw_setup_plan *setup, struct tw_findings *findings)
{
    double volume_mm3 = job->parts * setup->loss.volume_mm3;
    struct tw_place at = { .file = job->path, .key = "wheel.dress_after" };

    if (job->wheel.dress_after_mm3 > 0.0 && volume_mm3 > job->wheel.dress_after_mm3)
        tw_remark(findings, at,
                  "side %s takes off %.0f mm3, and the wheel wants dressing after %.0f mm3, before the program is "
                  "through: %s",
                  tw_side_letter(setup->face.side), volume_mm3, job->wheel.dress_after_mm3,
                  job->parts > 1 ? "grind fewer parts in a program"
                                 : "dress right before it, and watch the spindle's power");
}

/* ---- too uncertain ---- */

enum tw_status tw_wheel_loss_check(const struct tw_job *job, const struct tw_setup_plan *setup,
                                   struct tw_findings *findings)
{
    const struct tw_wheel_loss *loss = &setup->loss;
    struct tw_place at = { .file = job->path, .key = "finish.thickness_tolerance" };
    /* Ridges between lanes, and steps of the program's heights, lift the middle of the face. */
    double lifted_mm = setup->cusp_mm / 2.0 + (loss->follows ? tw_infeed_step_mm(job) : 0.0);
    double off_mm = fmax(loss->high_mm + lifted_mm, loss->low_mm), allowed_mm = half_tolerance_mm(job);

    if (!loss->known || setup->scope == TW_SCOPE_ROUGH || off_mm <= allowed_mm)
        return TW_OK;
    return tw_fail(
        findings, TW_NO_PLAN, at,
        "side %s: the wheel loses %.4f to %.4f mm at a grinding ratio of %.3g to %.3g%s, so the face may come out "
        "%.4f mm off, and half of the tolerance is %.4f mm; take a wheel that wears less (a ratio of %.0f would do; "
        "CBN in resin "
        "has some %.0f in plenty of coolant), measure this one's ratio and write its narrower range into the job%s, or "
        "allow "
        "more",
        tw_side_letter(setup->face.side), loss->least_mm, loss->most_mm, loss->ratio_least, loss->ratio_most,
        loss->follows ? ", of which the program follows what is likely" : "", off_mm, allowed_mm,
        ceil(loss->most_mm * loss->ratio_least * job->parts / allowed_mm), CBN_RATIO,
        job->parts > 1                             ? ", grind fewer parts in a program"
        : job->order == TW_ORDER_ROUGH_THEN_FINISH ? ""
                                                   : ", measure between roughing and finishing (order = "
                                                     "\"rough-then-finish\";)");
}
