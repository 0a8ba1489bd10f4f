/* doubt.h - readings of a load that their fellows make hardly believable, such as a misread figure.
 *
 * Model   What a reading is off by is taken as
 *             the load's + the part's + the load's taper + its bend along x + its crown across y + the part's own taper + chance,
 *         each of the first six normal with the standard deviation that a machine is likely to have (below), and chance with one
 *         that the readings themselves correct. So each reading can be foretold from all others: a part's other places tell most,
 *         then the other parts at the same place, then loads before.
 * Method  Least squares with one row for each of these expectations (ridge regression: A. E. Hoerl and R. W. Kennard, Technometrics
 *         12 (1970) 55-67, from memory). A reading's deleted residual is e / (1 - h), its variance that of chance / (1 - h), with
 *         e its residual and h its leverage (S. Weisberg, Applied Linear Regression, section on outliers, from memory). It is
 *         doubted where chance would have one of so many so far off in less than one load of a thousand (Student's t, Bonferroni);
 *         then it is left out, and the others are asked anew.
 * Twice   A place that was read twice alike is as it was read: neither reading is doubted. */
#ifndef TANGWRIGHT_RUN_DOUBT_H
#define TANGWRIGHT_RUN_DOUBT_H

#include "tangwright/findings.h"

#include <stdbool.h>
#include <stddef.h>

/* Standard deviations in mm; all judgement. */
#define TW_DOUBT_FACE_MM  0.002 /* of a roughed face about its plane, beside the gauge's own uncertainty */
#define TW_DOUBT_LOAD_MM  0.050 /* of what a machine is off by, where no load tells */
#define TW_DOUBT_AGAIN_MM 0.020 /* of what it is off by against the loads before: touching off, wear, warmth */
#define TW_DOUBT_PART_MM  0.020 /* of a part against the load: stations, dirt, wear within the load */
#define TW_DOUBT_OWN_MM   0.006 /* the same where a load before tells of its station */
#define TW_DOUBT_TAPER_MM 0.015 /* from the taper start to its end, common to the load */
#define TW_DOUBT_TILT_MM  0.005 /* the same of one part alone */
#define TW_DOUBT_BEND_MM  0.005 /* the middle against the ends; the middle against the edges */
/* So many readings are the expected chance worth, beside those of the load. */
#define TW_DOUBT_WORTH  20.0
#define TW_DOUBT_CHANCE 0.001

struct tw_doubt_reading {
    size_t part;
    double along, across; /* x over the taper's length; y over the largest |y| measured */
    double off_mm;
    /* out: */
    bool doubted;
    double expected_mm, bound_mm; /* what its fellows make it be off by, and how far beside that it may be */
    size_t or_else; /* the reading of the same part that may be misread in its stead; its own number: none */
};

struct tw_doubt_part {
    bool foretold; /* by loads before: */
    double foretold_mm;
};

struct tw_doubt {
    struct tw_doubt_reading *readings;
    size_t count;
    const struct tw_doubt_part *parts;
    size_t part_count;
    double gauge_mm;
};

/* Fills what its readings are foretold to be. TW_NO_MEMORY. */
enum tw_status tw_doubt(struct tw_doubt *doubt, struct tw_findings *findings);

#endif
