/* factors.h - plate factors kept once they are worked out.
 *
 * tw_plate_factor() takes a tenth of a millisecond, and a plan asks for it a hundred thousand times, mostly for much
 * the same contact. Here lengths and speeds are rounded by at most 4 %, thickness by 0.1 mm, each to the side that
 * makes the plate hotter. */
#ifndef TANGWRIGHT_HEAT_FACTORS_H
#define TANGWRIGHT_HEAT_FACTORS_H

#include "tangwright/heat.h"

/* Of plates of one steel; several threads may ask at once. */
struct tw_factors;

/* NULL: out of memory. Release with tw_factors_close(). */
struct tw_factors *tw_factors_open(const struct tw_steel *steel);
void tw_factors_close(struct tw_factors *factors);

/* Of tw_plate_factor(), and never below 1; exactly 1 where the plate is thick for this contact. */
double tw_factors_get(struct tw_factors *factors, double contact_mm, double table_mm_per_s, double thickness_mm,
                      double back_W_per_mm2_K);

#endif
