/* beside.h - what a motion comes near to, or rubs on, without cutting it. Motions are of the programmed point, in the part's
 * setup frame. */
#ifndef TANGWRIGHT_VERDICT_BESIDE_H
#define TANGWRIGHT_VERDICT_BESIDE_H

#include "verdict/proving.h"

/* How much nearer than the clearance the wheel comes to anything: a wheel larger by it is driven along a path that is
 * lower by it. */
enum tw_status tw_beside_rapid(struct tw_proving *proving, const struct tw_step *step, const double from_mm[3],
                               const double to_mm[3]);

/* How much of the fixture's own clearance a feed lacks. */
void tw_beside_clearance(struct tw_proving *proving, const struct tw_step *step, const double from_mm[3],
                         const double to_mm[3]);

/* A wheel that passes over a face already ground, as in spark-out, is at work although it removes nothing. Only looked
 * for where something is amiss. */
enum tw_status tw_beside_rubbing(struct tw_proving *proving, const struct tw_step *step, const double from_mm[3],
                                 const double to_mm[3]);

/* Where the wheel touches stock, or is so little over it that it is taken to rub; its depth is 0 where it is not. */
enum tw_status tw_beside_stock(struct tw_proving *proving, const double from_mm[3], const double to_mm[3],
                               struct tw_touch *out);

#endif
