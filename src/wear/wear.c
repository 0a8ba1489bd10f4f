/* wear.c - see wear.h. */
#include "tangwright/wear.h"

#include "base/numbers.h"
#include "geometry/ring.h"
#include "tangwright/rim.h"

#include <math.h>

/* Dry, an alumina wheel lasts two fifths as long as flooded (a third to a half), a CBN wheel a quarter (50 to 200 against 200
 * to 800): from memory, order only. Under mist, between both: judgement. */
#define ALUMINA_DRY 0.4
#define CBN_DRY     0.25

static double coolant_share(const struct tw_job *job)
{
    double dry = job->wheel.abrasive == TW_ABRASIVE_CBN ? CBN_DRY : ALUMINA_DRY;

    switch (job->coolant.kind) {
    case TW_COOLANT_DRY:
        return dry;
    case TW_COOLANT_MIST:
        return sqrt(dry);
    default:
        return 1.0;
    }
}

struct tw_grinding_ratio tw_grinding_ratio_of(const struct tw_job *job)
{
    double share = coolant_share(job);

    if (job->wheel.abrasive == TW_ABRASIVE_ALUMINA && job->steel.wheel_wear > 0.0)
        share /= job->steel.wheel_wear;
    return (struct tw_grinding_ratio){ share * job->wheel.grinding_ratio_least, share * job->wheel.grinding_ratio,
                                       share * job->wheel.grinding_ratio_most };
}

double tw_wear_area_mm2(const struct tw_job *job, double lean)
{
    const struct tw_wheel *wheel = &job->wheel;
    struct tw_box tang = tw_ring_box(&job->part.tang.outer);
    double ring_mm = wheel->rim_width_mm;

    if (wheel->kind == TW_WHEEL_DISC)
        return TW_PI * wheel->diameter_mm * fmin(wheel->width_mm, tang.max_y_mm - tang.min_y_mm);
    if (lean != 0.0 && job->mount == TW_MOUNT_LEVEL)
        ring_mm = fmin(ring_mm, wheel->max_infeed_mm / fabs(lean));
    return TW_PI * (wheel->diameter_mm - ring_mm) * ring_mm;
}

double tw_wear_mm(double volume_mm3, double ratio, double area_mm2)
{
    return volume_mm3 / (ratio * area_mm2);
}

double tw_wear_jump_mm(const struct tw_wheel_loss *loss, double others_mm3)
{
    return loss->follows ? tw_wear_mm(others_mm3, loss->ratio, loss->area_mm2) -
                               tw_wear_mm(others_mm3, loss->ratio_most, loss->area_mm2)
                         : 0.0;
}

double tw_wear_edge_mm(const struct tw_job *job, double volume_mm3, double ratio, double step_mm)
{
    double wide_mm2 = tw_wear_area_mm2(job, 0.0), edge_mm2 = TW_PI * job->wheel.diameter_mm * step_mm;

    if (job->wheel.kind != TW_WHEEL_DISC || step_mm <= 0.0 || edge_mm2 >= wide_mm2)
        return 0.0;
    return fmax(0.0, tw_wear_mm(volume_mm3 / 2.0, ratio, edge_mm2) - tw_wear_mm(volume_mm3, ratio, wide_mm2));
}
