/* centre.h - the survey's readings as heights over the blade's centre plane. */
#ifndef TANGWRIGHT_STRAIGHT_CENTRE_H
#define TANGWRIGHT_STRAIGHT_CENTRE_H

#include "tangwright/straight.h"

/* One reading on the tang. */
struct spot {
    double x_mm, y_mm;
    double height_mm[2]; /* outwards */
    double uncertainty_mm;
};

/* The tang's readings, by rising x; *spots is the caller's to free. Fills what `out` says of the ricasso. */
enum tw_status centre_spots(const struct tw_job *job, struct spot **spots, size_t *count, struct tw_straight *out,
                            struct tw_findings *findings);

/* Standard uncertainty of one reading. */
double centre_reading_mm(const struct tw_survey *survey);

#endif
