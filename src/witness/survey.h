/* survey.h - the raw faces of a surveyed blank, straight from its readings. See face.h. */
#ifndef TANGWRIGHT_WITNESS_SURVEY_H
#define TANGWRIGHT_WITNESS_SURVEY_H

#include "witness/face.h"

struct tw_witness_ricasso tw_witness_ricasso(const struct tw_job *job, enum tw_side side);

/* The next place along the tang: part x, and the highest and the lowest reading there over the centre plane. `row` counts on
 * from 0; false: there is no further one. The first place is the taper start. */
struct tw_witness_corner {
    size_t row;
    double x_mm, height_mm, low_mm;
};
bool tw_witness_next_corner(const struct tw_witness_face *face, struct tw_witness_corner *corner);

/* How far the face may stand over its readings, behind the taper start, at the place whose first row that is: a step of the
 * indicator, or, where that is more, twice the standard uncertainty of a rounded reading over the plane through the ricasso's (Guide to the
 * Expression of Uncertainty in Measurement, JCGM 100:2008, 4.3.7 and F.2.2.1); and what the circle through the place and its two
 * neighbours stands over the longer of the two chords. */
double tw_witness_higher_mm(const struct tw_witness_face *face, size_t row);

/* The largest of all places of both faces; 0: the blank was not surveyed. */
double tw_witness_unread_mm(const struct tw_job *job);

/* What the readings say of the finished tang, ground as the job asks and with that tilt. */
struct tw_witness_straightness {
    double lacking_mm;   /* stock that cleaning up wants at the reading that has least; 0: all clean up */
    double deviation_mm; /* of the middle from the centre plane, at the tang's end */
    double twist_rad;    /* the largest at any place that was read at several y; 0 where none was */
};
struct tw_witness_straightness tw_witness_straightness(const struct tw_job *job);

/* By how much the finished middle is tilted towards side A, so that every reading behind straighten.cleanup_from loses
 * straighten.cleanup: as little as will do. */
double tw_witness_middle_tilt(const struct tw_job *job);

#endif
