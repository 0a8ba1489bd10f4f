/* expected.c - what a side will cost the wheel, before it is planned. */
#include "tangwright/wear.h"

#include <math.h>

/* Of what a face may be off, and of what may stand on it, the loss that a program takes as it comes; more is followed. */
#define TAKEN_SHARE    0.25
#define STANDING_SHARE 0.4
/* The steps of the program's heights and the ridges between its lanes need some of the tolerance too. */
#define WEAR_SHARE 0.8

/* What all finishing layers take at the most: roughing leaves it of every blank. */
static double finishing_mm(const struct tw_job *job)
{
    return job->finish.layers * fmin(job->finish.infeed_mm, job->wheel.max_infeed_mm);
}

double tw_wear_volume_mm3(const struct tw_job *job, enum tw_side side, double thicker_mm, double bottom_mm)
{
    struct tw_job altered = *job;

    if (job->task.scope == TW_SCOPE_FINISH)
        return tw_tang_ground_mm2(job) * fmax(0.0, finishing_mm(job) - bottom_mm);
    altered.task.thicker_mm = thicker_mm;
    altered.task.stands_high &= thicker_mm >= 0.0;
    altered.task.leaves_mm += bottom_mm;
    return fmax(0.0, tw_face_removed_mm3(&altered, side)) + tw_taper_ahead_mm3(&altered);
}

static double area_mm2(const struct tw_job *job, enum tw_side side)
{
    struct tw_face face = tw_face_of(job, side);

    return tw_wear_area_mm2(job, tw_face_lean(job, &face));
}

void tw_wear_set_uncertain(const struct tw_job *job, enum tw_side side, double blanks, struct tw_wheel_loss *loss)
{
    double band_mm = job->taper.band_mm;
    double thinnest_mm3 = blanks * tw_wear_volume_mm3(job, side, -band_mm, 0.0);
    double thickest_mm3 = blanks * tw_wear_volume_mm3(job, side, band_mm, 0.0);

    loss->high_mm = fmax(0.0, tw_wear_mm(thickest_mm3, loss->ratio_least, loss->area_mm2) - loss->followed_mm);
    loss->low_mm = fmax(0.0, loss->followed_mm - tw_wear_mm(thinnest_mm3, loss->ratio_most, loss->area_mm2));
    loss->standing_mm = fmax(0.0, tw_wear_mm(thickest_mm3, loss->ratio, loss->area_mm2) - loss->followed_mm);
}

double tw_wear_blanks(const struct tw_job *job, enum tw_side side)
{
    double thickest_mm3 = tw_wear_volume_mm3(job, side, job->taper.band_mm, 0.0);

    if (!(job->wheel.dress_after_mm3 > 0.0) || thickest_mm3 <= 0.0)
        return job->parts;
    return fmin(job->parts, job->wheel.dress_after_mm3 / thickest_mm3);
}

/* What may stand on any blank, so that ridges between lanes have room beside it. */
static double standing_most_mm(const struct tw_job *job)
{
    bool has_ridges = job->wheel.kind == TW_WHEEL_CUP && job->mount == TW_MOUNT_LEVEL;

    return (has_ridges ? STANDING_SHARE : WEAR_SHARE) * job->finish.flatness_mm;
}

struct tw_wheel_loss tw_wear_expected(const struct tw_job *job, enum tw_side side)
{
    struct tw_grinding_ratio ratio = tw_grinding_ratio_of(job);
    double area = area_mm2(job, side), blanks = tw_wear_blanks(job, side), thickest_mm;
    double most_mm = fmin(TAKEN_SHARE * job->finish.thickness_mm / 2.0, STANDING_SHARE * job->finish.flatness_mm);
    struct tw_wheel_loss loss = { .ratio_least = ratio.least, .ratio = ratio.likely, .ratio_most = ratio.most };

    if (!(ratio.least > 0.0) || job->task.scope == TW_SCOPE_RELIEF)
        return loss;
    loss.known = true;
    loss.area_mm2 = area;
    loss.tang_mm2 = tw_tang_ground_mm2(job);
    loss.volume_mm3 = tw_wear_volume_mm3(job, side, 0.0, 0.0);
    loss.least_mm = tw_wear_mm(loss.volume_mm3, ratio.most, area);
    loss.likely_mm = tw_wear_mm(loss.volume_mm3, ratio.likely, area);
    loss.most_mm = tw_wear_mm(loss.volume_mm3, ratio.least, area);
    thickest_mm =
        tw_wear_mm(blanks * tw_wear_volume_mm3(job, side, job->taper.band_mm, 0.0), ratio.likely, loss.area_mm2);
    loss.follows =
        job->task.scope != TW_SCOPE_ROUGH && (blanks * loss.likely_mm > most_mm || thickest_mm > standing_most_mm(job));
    if (loss.follows) /* the thinnest blank: see tw_wheel_loss_follow() */
        loss.followed_mm =
            tw_wear_mm(blanks * tw_wear_volume_mm3(job, side, -job->taper.band_mm, 0.0), ratio.likely, area);
    tw_wear_set_uncertain(job, side, blanks, &loss); /* of the part that is known least of */
    return loss;
}

struct tw_wheel_loss tw_wear_of_relief(const struct tw_job *job, double volume_mm3)
{
    struct tw_grinding_ratio ratio = tw_grinding_ratio_of(job);
    struct tw_wheel_loss loss = { .ratio_least = ratio.least, .ratio = ratio.likely, .ratio_most = ratio.most };

    if (!(ratio.least > 0.0))
        return loss;
    loss.known = true;
    loss.area_mm2 = tw_wear_area_mm2(job, 0.0);
    loss.volume_mm3 = volume_mm3;
    loss.least_mm = tw_wear_mm(job->parts * volume_mm3, ratio.most, loss.area_mm2);
    loss.likely_mm = tw_wear_mm(job->parts * volume_mm3, ratio.likely, loss.area_mm2);
    loss.most_mm = tw_wear_mm(job->parts * volume_mm3, ratio.least, loss.area_mm2);
    return loss;
}

double tw_wear_kept_on_a_mm(const struct tw_job *job)
{
    struct tw_job roughing = *job;

    if (job->order != TW_ORDER_ROUGH_THEN_FINISH)
        return tw_wear_expected(job, TW_SIDE_A).high_mm;
    roughing.task.scope = TW_SCOPE_ROUGH;
    roughing.task.leaves_mm += finishing_mm(job);
    return finishing_mm(job) + tw_wear_expected(&roughing, TW_SIDE_A).high_mm;
}

bool tw_wear_is_uncertain(const struct tw_job *job)
{
    for (int side = 0; side < TW_SIDES_OF(job); side++) {
        struct tw_wheel_loss loss = tw_wear_expected(job, (enum tw_side)side);

        if (fmax(loss.high_mm, loss.low_mm) > WEAR_SHARE * job->finish.thickness_mm / 2.0)
            return true;
    }
    return false;
}

bool tw_wear_leaves_too_much(const struct tw_job *job)
{
    for (int side = 0; side < TW_SIDES_OF(job); side++)
        if (tw_wear_expected(job, (enum tw_side)side).standing_mm > standing_most_mm(job))
            return true;
    return false;
}
