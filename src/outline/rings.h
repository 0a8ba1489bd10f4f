/* rings.h - which of the rings found is the outline, which are its holes, and whether they are sound. */
#ifndef TANGWRIGHT_OUTLINE_RINGS_H
#define TANGWRIGHT_OUTLINE_RINGS_H

#include "outline/chain.h"

/* Takes the points it needs out of *rings. On failure *out is empty. */
enum tw_status tw_choose_rings(const struct tw_drawing *drawing, const struct tw_sketch *sketch,
                               struct tw_found_rings *rings, struct tw_outline *out, struct tw_findings *findings);

/* Says that something of this size is no knife, and which unit would make it one. */
enum tw_status tw_scale_fault(const struct tw_drawing *drawing, const struct tw_sketch *sketch, double width_mm,
                              double height_mm, struct tw_findings *findings);

#define TW_OUTLINE_SMALLEST_MM 10.0
#define TW_OUTLINE_LARGEST_MM  1000.0

#endif
