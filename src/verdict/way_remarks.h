/* way_remarks.h - what deserves a look although nothing forbids it: where a program feeds, and how slowly. */
#ifndef TANGWRIGHT_VERDICT_WAY_REMARKS_H
#define TANGWRIGHT_VERDICT_WAY_REMARKS_H

#include "verdict/proving.h"

/* Remarks a wheel that turns on one place of the steel while the program dwells. */
enum tw_status tw_way_stands(struct tw_proving *proving, const struct tw_step *step);

/* Remarks a feed astray, low over the blade, or so slow that the wheel rubs; from and to in the part's setup frame. */
enum tw_status tw_way_feeds(struct tw_proving *proving, const struct tw_step *step, const double from_mm[3],
                            const double to_mm[3]);

#endif
