/* faults.h - where the job and the drawing disagree. */
#ifndef TANGWRIGHT_PLACEMENT_FAULTS_H
#define TANGWRIGHT_PLACEMENT_FAULTS_H

#include "placement/shape.h"

/* Fills fault, fault_key and fault_text with the first that is found; the rest of the placement is known. */
void faults_find(const struct shape *shape, const struct tw_placement_told *told, struct tw_placement *placement);

#endif
