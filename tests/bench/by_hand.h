/* by_hand.h - the program a person would write at the machine, planned with the library's own pieces. */
#ifndef BY_HAND_H
#define BY_HAND_H

#include "bench.h"

/* What a side takes by hand. */
struct by_hand {
    bool possible;
    double table_mm_per_s, depth_mm;
    double dwell_s;
    double cycle_time_s; /* whole program, all parts */
};

/* A careful hand: of all single depths and table speeds that keep the limits over the whole width, the pair that takes
 * least time with the waits it needs; lanes over the whole tang in every layer, at the wheel's customary crossfeed, in
 * the quickest of the three ways to run lanes, returns at rapid; waits by the same thermal model. Finishing layers and
 * spark-out: depth and speed as in the plan it is compared with. */
struct by_hand by_hand_of(const struct sample *sample, enum tw_side side);

#endif
