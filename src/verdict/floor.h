/* floor.h - the plane of the pads: plate and table lie in it, and are solid wherever the wheel may go. */
#ifndef TANGWRIGHT_VERDICT_FLOOR_H
#define TANGWRIGHT_VERDICT_FLOOR_H

#include "verdict/checks.h"
#include "verdict/trace.h"

/* Where the plane lies, in the setup frame of one part. */
struct tw_floor {
    double low_mm[2],
        high_mm[2];      /* round blank and fixture, as far as a wheel over them reaches, it is the part's own: z = 0 */
    double elsewhere_mm; /* else that of the lowest part */
};

/* Of station `part`, from 0. */
struct tw_floor tw_floor_of(const struct tw_job *job, int part);

/* Answers "contact", and for a rapid "rapids", for one motion in that frame. */
void tw_floor_check(const struct tw_floor *floor, const struct tw_step *step, const double from_mm[3],
                    const double to_mm[3], double clearance_mm, struct tw_spot spot,
                    struct tw_check checks[TW_CHECK_COUNT]);

#endif
