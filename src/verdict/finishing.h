/* finishing.h - the layers that leave the finished face: as many as the job's finish.layers, none deeper than its
 * finish.infeed.
 *
 * A program does not say which of its passes finish. Each level at which it cuts, over the finished face, counts as a layer;
 * the lowest so many are the finishing ones, whatever their comments say. */
#ifndef TANGWRIGHT_VERDICT_FINISHING_H
#define TANGWRIGHT_VERDICT_FINISHING_H

#include "verdict/checks.h"

#define TW_FINISHING_MOST 50 /* finish.layers goes no farther */

/* One level at which something was cut, and its deepest cut. */
struct tw_finishing_level {
    double over_mm, depth_mm;
    struct tw_spot spot;
    double place_mm[3];
};

/* The lowest levels met so far, the lowest first. */
struct tw_finishing {
    struct tw_finishing_level levels[TW_FINISHING_MOST];
    int wanted, count;
};

/* Whether the job's finishing layers are part of what a program with this scope does. */
bool tw_finishing_applies(const struct tw_job *job, enum tw_scope scope);

/* `layers` of them count. */
void tw_finishing_begin(struct tw_finishing *finishing, int layers);

/* A cut of a motion whose lowest end runs so high over the finished face. */
void tw_finishing_cut(struct tw_finishing *finishing, double over_mm, double depth_mm, struct tw_spot spot);

/* Notes the deepest cut of each finishing layer. */
void tw_finishing_end(const struct tw_finishing *finishing, const struct tw_job *job, struct tw_check *check);

#endif
