/* effort.h - how much work it will be to prove a program, before it is begun. */
#ifndef TANGWRIGHT_VERDICT_EFFORT_H
#define TANGWRIGHT_VERDICT_EFFORT_H

#include "tangwright/blank.h"
#include "tangwright/job.h"
#include "verdict/trace.h"

/* What takes the time, summed over all parts of one blank. Of a relief, where most of what is found on one blank is taken over
 * for the others, cells that are passed over count as the mean of all blanks. */
struct tw_effort {
    double cells;   /* of the fine fields: they are filled and measured */
    double largest; /* of one program's: the fields of all its parts stand at once, and a relief's of all blanks */
    double moves;   /* over the tang or close by */
    double along;   /* cells of the fine field that these pass over, lengthwise */
    double aslant;  /* and in any other direction, which takes longer for each */
    double updates; /* of cells of the plate that temperatures are followed in, if each feed cut */
    double waits;   /* the same while time passes */
};

/* Adds one program to *effort. `job` as the program finds it; the trace's times must be set. */
void tw_effort_add(const struct tw_job *job, enum tw_side side, const struct tw_trace *trace, double cell_mm,
                   struct tw_effort *effort);

/* More than this is not begun: some ten seconds of a core; and half of the memory that a small machine has. */
#define TW_EFFORT_MOST_S     10.0
#define TW_EFFORT_MOST_BYTES 8e8

/* Blanks of enum tw_band_end, from the first on, on which all of it is done. */
size_t tw_effort_blanks(const struct tw_job *job);

double tw_effort_bytes(const struct tw_effort *effort);

/* Seconds of one core: an estimate for a common processor, good to a factor of two where it is some seconds. */
double tw_effort_s(const struct tw_effort *effort);

#endif
