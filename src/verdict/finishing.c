/* finishing.c - the layers that leave the finished face. */
#include "verdict/finishing.h"

#include <math.h>
#include <string.h>

/* Heights nearer to each other than this are one level: x rounded to a program's decimals on a falling face. */
#define SAME_LEVEL_MM 2e-4

bool tw_finishing_applies(const struct tw_job *job, enum tw_scope scope)
{
    return job->finish.layers > 0 && (scope == TW_SCOPE_WHOLE || scope == TW_SCOPE_FINISH);
}

void tw_finishing_begin(struct tw_finishing *finishing, int layers)
{
    *finishing = (struct tw_finishing){ .wanted = layers < TW_FINISHING_MOST ? layers : TW_FINISHING_MOST };
}

/* Where this level stands or has to be put; -1: it is too high to be of interest. */
static int place_of(struct tw_finishing *finishing, double over_mm)
{
    struct tw_finishing_level *levels = finishing->levels;
    int at = 0;

    while (at < finishing->count && levels[at].over_mm < over_mm - SAME_LEVEL_MM)
        at++;
    if (at < finishing->count && fabs(levels[at].over_mm - over_mm) <= SAME_LEVEL_MM)
        return at;
    if (at == finishing->wanted)
        return -1;
    if (finishing->count < finishing->wanted)
        finishing->count++;
    memmove(&levels[at + 1], &levels[at], (size_t)(finishing->count - at - 1) * sizeof *levels);
    levels[at] = (struct tw_finishing_level){ .over_mm = over_mm };
    return at;
}

void tw_finishing_cut(struct tw_finishing *finishing, double over_mm, double depth_mm, struct tw_spot spot)
{
    int at = place_of(finishing, over_mm);
    struct tw_finishing_level *level = at < 0 ? NULL : &finishing->levels[at];

    if (!level || depth_mm <= level->depth_mm)
        return;
    level->depth_mm = depth_mm;
    level->spot = spot;
    memcpy(level->place_mm, spot.place_mm, sizeof level->place_mm);
}

void tw_finishing_end(const struct tw_finishing *finishing, const struct tw_job *job, struct tw_check *check)
{
    for (int i = 0; i < finishing->count; i++) {
        const struct tw_finishing_level *level = &finishing->levels[i];
        struct tw_spot spot = level->spot;

        spot.place_mm = level->place_mm;
        if (level->depth_mm > check->limit)
            tw_check_fault(check, spot,
                           "%.4f mm deep, %.4f mm over the finished face; the last %d layer%s may be no deeper than "
                           "finish.infeed, %g mm",
                           level->depth_mm, fmax(0.0, level->over_mm), job->finish.layers,
                           job->finish.layers == 1 ? "" : "s", job->finish.infeed_mm);
        tw_check_note(check, level->depth_mm, spot);
    }
}
