/* assumed.h - what planner and dry-run take to be solid though neither drawing nor profile shows it. */
#ifndef TANGWRIGHT_TAPER_ASSUMED_H
#define TANGWRIGHT_TAPER_ASSUMED_H

#include "tangwright/taper.h"

#include <stdbool.h>

/* Of a tang drawn alone: steel as thick as the ricasso, ahead of the taper start over all the length that the job tells of
 * its blade or else this, and so much wider than the tang on either side. */
#define TW_ASSUMED_BLADE_MM  300.0
#define TW_ASSUMED_BESIDE_MM 60.0

bool tw_assumes_blade(const struct tw_job *job);

/* The blade in the face's setup frame: as drawn, or the rectangle that is assumed. *out is the caller's. */
enum tw_status tw_assumed_blade(const struct tw_job *job, const struct tw_face *face, struct tw_outline *out,
                                struct tw_findings *findings);

/* Height of what is solid everywhere, in the setup frame of station `part` (from 0): the plane of the lowest pads. */
double tw_assumed_floor_mm(const struct tw_job *job, int part);

#endif
