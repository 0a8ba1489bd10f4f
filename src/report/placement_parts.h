/* placement_parts.h - what the table and the picture of a placement say alike. */
#ifndef TANGWRIGHT_REPORT_PLACEMENT_PARTS_H
#define TANGWRIGHT_REPORT_PLACEMENT_PARTS_H

#include "base/text.h"
#include "tangwright/job.h"

/* What lies towards the part frame's +y (side 1) or -y (side -1), and where that is in the drawing: "spine (up in the
 * drawing)", "drawing +y". */
void placement_print_side(struct tw_text *text, const struct tw_placement *placement, int side);

/* The machine's axis that the part frame's +y points to on that side of the part: "+Y"; `side` -1 turns it round. */
const char *placement_across(const struct tw_job *job, int side, char out[3]);
const char *placement_along(const struct tw_job *job, char out[3]);

#endif
