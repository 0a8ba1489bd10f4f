/* found.h - what the wheel is found to cut and to touch on a motion. Motions are of the programmed point, in the part's setup
 * frame. */
#ifndef TANGWRIGHT_VERDICT_FOUND_H
#define TANGWRIGHT_VERDICT_FOUND_H

#include "verdict/proving.h"

/* Height over the finished face of the motion's lower end, as it is programmed: within a layer the wheel wears, and its level is
 * still one. */
double tw_found_over_face_mm(const struct tw_proving *proving, const double from_mm[3], const double to_mm[3]);

/* Answers what has to be in order wherever steel comes off. */
enum tw_status tw_found_cut(struct tw_proving *proving, const struct tw_step *step, const double from_mm[3],
                            const double to_mm[3], const struct tw_removal *removal);

/* Notes what the wheel must not have touched. */
void tw_found_touched(struct tw_proving *proving, const struct tw_step *step, const struct tw_removal *removal);

#endif
