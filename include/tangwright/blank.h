/* blank.h - the blank as it is: its sides, heights along it, and what its survey came to.
 *
 * Data that several modules read: straight.h fills a tw_straight from the survey, taper.h grinds by it.
 *
 * Frames  the part frame of taper.h; heights are over the centre plane.
 * Units   mm, rad. */
#ifndef TANGWRIGHT_BLANK_H
#define TANGWRIGHT_BLANK_H

#include "tangwright/outline.h"

#include <stdbool.h>
#include <stddef.h>

enum tw_side { TW_SIDE_A, TW_SIDE_B };

/* A height over x: straight lines between the points, level before the first, the last line goes on behind. */
struct tw_profile {
    struct tw_point *points; /* y_mm is the height; x rises */
    size_t count;
};

/* One place along the tang, all its readings together. Two-member arrays are indexed by enum tw_side. */
struct tw_gauge_point {
    double x_mm;
    size_t readings;
    double height_mm[2];          /* A and B at the taper axis, or at the reading nearest to it */
    double low_mm[2], high_mm[2]; /* of the readings across */
    double higher_mm[2];   /* the face may stand so much over high_mm, here or next to here, and no reading tells */
    double bow_mm;         /* (A - B)/2 at the taper axis */
    double thickness_mm;   /* A + B */
    double twist_rad;      /* NaN: read at one y only */
    double twist_sure_rad; /* standard uncertainty of it */
    double uncertainty_mm; /* standard, of a height */
    double guard_mm;
    double finished_mm[2];       /* where the program leaves the face, over the centre plane */
    double off_mm[2];            /* comes off at the taper axis: 0 where the blank is below the finished face */
    double missing_mm[2];        /* stock that cleaning up lacks at the lowest reading; 0: enough */
    double below_mm[2];          /* the lowest reading lies so far below the finished face: it stays as it is */
    double straight_lacks_mm[2]; /* the same, were the middle perfectly straight (f = 0) */
    double deviation_mm;         /* f */
};

struct tw_straight {
    struct tw_gauge_point *gauges;
    size_t gauge_count;
    struct tw_profile raw[2];                   /* the face at the taper axis, from T0/2 at the taper start on */
    struct tw_profile highest[2];               /* the highest reading across */
    struct tw_profile utmost[2];                /* as high as the face may stand and no reading tells */
    double higher_mm;                           /* largest higher_mm of any reading */
    double far_mm;                              /* x of the tang's end */
    double offset_mm, tilt;                     /* f */
    double deviation_mm;                        /* largest |f| over the tang */
    double deviation_low_mm, deviation_high_mm; /* were all heights higher, or lower, by their guards */
    double shortfall_mm;                        /* largest missing_mm of any reading */
    double below_mm, below_x_mm;                /* the largest of the gauge points, and where; 0: none */
    enum tw_side below_side;
    double bow_mm, bow_x_mm;      /* the largest, with its sign */
    double twist_rad, twist_x_mm; /* the largest, with its sign; NaN: not measured */
    double ricasso_unevenness_mm; /* farthest reading on the ricasso from its line */
    double ricasso_mm;            /* mean thickness there; NaN when thickness was not measured */
    bool comes_clean;             /* shortfall_mm is 0 */
    bool straight;                /* comes clean, and deviation_mm within the tolerance */
    bool twisted;                 /* beyond the limit */
    bool straight_in_doubt;       /* the verdict changes within the guards */
    bool twist_in_doubt;
    double butt_mm;  /* thickest butt that makes it straight; NaN: none, or not needed */
    double start_mm; /* by how much later the taper would have to start; NaN likewise */
    double bend_mm; /* largest bow, at bow_x_mm, at which it would come straight as the job is, if all of the bow shrank
                      * alike; NaN: not needed, or no bending helps */
};

#endif
