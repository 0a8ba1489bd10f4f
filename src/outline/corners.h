/* corners.h - how many corners an outline may have. */
#ifndef TANGWRIGHT_OUTLINE_CORNERS_H
#define TANGWRIGHT_OUTLINE_CORNERS_H

#include "tangwright/outline.h"

/* Thins an outline of very many corners; TW_BAD_INPUT where too many are left. What works on outlines later takes time that
 * grows faster than their number, and recurses as deep as there are some. */
enum tw_status tw_outline_limit_corners(const struct tw_drawing *drawing, struct tw_outline *outline,
                                        struct tw_findings *findings);

#endif
