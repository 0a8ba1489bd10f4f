/* again.h - where the wheel comes to a part anew, and the layers that it then has to take once more. */
#ifndef TANGWRIGHT_PLAN_SCENE_AGAIN_H
#define TANGWRIGHT_PLAN_SCENE_AGAIN_H

#include "tangwright/plan.h"

/* Marks the layers for which the wheel comes to the part anew, for the next round or because it may have to be dressed before.
 * Where it is dressed, it is lower by what it had lost unfollowed: again[i] is how many of the layers before layer i it has to take
 * once more, so that no cut gets too deep. */
enum tw_status tw_again_find(const struct tw_job *job, enum tw_side side, size_t layers_a_round,
                             struct tw_setup_plan *setup, size_t *again, struct tw_findings *findings);

/* So many of the layers before layer i a dressed wheel takes again, where the worn one left standing_mm, that none is cut deeper than
 * it is reckoned with: layer i with reckoned_mm. */
size_t tw_again_count(const struct tw_layer *layers, size_t i, double standing_mm, double reckoned_mm);

/* Numbers the stays that the layers belong to; returns how many there are. */
size_t tw_again_number_stays(struct tw_setup_plan *setup);

/* Puts the layers that are taken again in before the one that the wheel comes for. *from, which the caller releases with free(), says
 * which layer of before stands at each place; NULL where there is nothing to take again. False: no memory. */
bool tw_again_lengthen(struct tw_setup_plan *setup, const size_t *again, size_t **from);

#endif
