/* worn.h - the wheel that a program is run with gets smaller by what it takes off (wear.h).
 *
 * The program is run with the likely grinding ratio. What it would leave with the others follows from the volume that was
 * found: a wheel that wears faster stays so much higher, one that lasts goes so much deeper. The faster one then takes off a
 * little less than was found, so both bounds lie on the safe side. */
#ifndef TANGWRIGHT_VERDICT_WORN_H
#define TANGWRIGHT_VERDICT_WORN_H

#include "tangwright/wear.h"
#include "witness/face.h"

struct tw_worn {
    struct tw_grinding_ratio ratio; /* 0: not known, and the wheel keeps its size */
    double area_mm2;
    double volume_mm3; /* of steel, taken off all parts since then */
    double likely_mm;  /* of the wheel, gone so far */
};

/* Touched off. A relief is run with a wheel that keeps its size: its depth is no matter of micrometres. So is roughing: what
 * it leaves is measured, and the zero is set by it, before the face is finished. */
struct tw_worn tw_worn_open(const struct tw_job *job, const struct tw_witness_face *face);

void tw_worn_by(struct tw_worn *worn, double volume_mm3);

/* Where the program stops the wheel is dressed and touched off anew. */
void tw_worn_dress(struct tw_worn *worn);

/* Of a face found between `low_mm` and `high_mm` over its target, how far off its middle may be over the range of the ratio:
 * the wheel had taken off `volume_mm3`, of all parts, when it was last at work there. */
double tw_worn_off_mm(const struct tw_worn *worn, double volume_mm3, double low_mm, double high_mm);

#endif
