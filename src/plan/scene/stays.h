/* stays.h - what the wheel takes off at each of its stays at a part: from when it comes there until it leaves. */
#ifndef TANGWRIGHT_PLAN_SCENE_STAYS_H
#define TANGWRIGHT_PLAN_SCENE_STAYS_H

#include "tangwright/plan.h"
#include "tangwright/wear.h"

/* What each stay takes off the thinnest and the thickest blank: two stretches of one allocation. */
struct tw_stays {
    double *thin_mm3, *thick_mm3;
    size_t count;
};

/* Of the layers, which know their stays: sets what each finds gone, sums the `count` stays up, and makes the ledger of them.
 * False where memory ran out. The stays are to be closed in any case. */
bool tw_stays_sum_up(const struct tw_job *job, enum tw_side side, struct tw_setup_plan *setup, size_t count,
                     struct tw_stays *stays, struct tw_wear_ledger *ledger);
void tw_stays_close(struct tw_stays *stays);

#endif
