/* share.h - which blanks share a load, by their thickness. */
#ifndef TANGWRIGHT_RUN_SHARE_H
#define TANGWRIGHT_RUN_SHARE_H

#include "tangwright/run.h"

/* By rising thickness; alike ones keep their order. */
void tw_share_sort(struct tw_run_place *places, size_t count);

/* Parts `count` places, in their order, into as few loads of at most `most` as can be; sizes[*load_count] has room for count.
 * `widest_mm`, of sorted places: no load spreads more; the largest spread of any load is made least, then the sum of the
 * spreads. 0, of places that are not sorted: each load but the last is full. */
enum tw_status tw_share_out(const struct tw_run_place *places, size_t count, size_t most, double widest_mm,
                            size_t *sizes, size_t *load_count, struct tw_findings *findings);

/* The first of the count % most sorted places without which the others, in full loads, spread least. */
size_t tw_share_spare(const struct tw_run_place *places, size_t count, size_t most);

#endif
