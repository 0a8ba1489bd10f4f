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

/* Roughing: the wheel profile's customary table speed, the largest single depth that keeps all limits at that speed,
 * lanes over the whole tang in every layer, in the quickest of the three ways to run lanes; waits by the same thermal
 * model. Where that speed allows not even the wheel's smallest infeed, the fastest that does. Finishing layers and spark-out: depth and speed as in `setup`, the plan it is compared with. */
struct by_hand by_hand_of(const struct sample *sample, enum tw_side side);

#endif
