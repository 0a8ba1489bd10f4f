/* left.h - what programs leave of a part, measured after the last of their steps. */
#ifndef TANGWRIGHT_VERDICT_LEFT_H
#define TANGWRIGHT_VERDICT_LEFT_H

#include "verdict/proving.h"

/* How much stands on the face, and how flat it is. */
void tw_left_stock(struct tw_proving *proving, const struct tw_trace *trace);

/* What machine and part have sprung back by. */
void tw_left_by_give(struct tw_proving *proving);

/* How far off the face may be by the wear of the wheel. */
void tw_left_by_wear(struct tw_proving *proving);

/* How much of what the wheel could hollow is not. */
void tw_left_in_relief(struct tw_proving *proving);

/* Half thickness at a few places along the first part's tang. */
void tw_left_gauges(struct tw_proving *proving);

#endif
