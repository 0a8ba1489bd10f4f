/* drive.h - one part under the programs of a side: opened once, then each program begun, driven step by step and ended. */
#ifndef TANGWRIGHT_VERDICT_DRIVE_H
#define TANGWRIGHT_VERDICT_DRIVE_H

#include "verdict/proving.h"

/* The part on station `part`, from 0, with its workpiece; `common` is the same for all. What fails leaves nothing open. */
enum tw_status tw_drive_open(const struct tw_proving *common, const struct tw_run *runs, size_t count, int part,
                             double cell_mm, struct tw_proving *out);
void tw_drive_close(struct tw_proving *proving);

/* Program `index` begins, by a wheel that wears for all parts alike. */
enum tw_status tw_drive_begin(struct tw_proving *proving, const struct tw_run *runs, size_t index,
                              struct tw_worn *worn);

/* One step, whichever work offset it was written for. Adds to *volume_mm3 what it takes off this part. */
enum tw_status tw_drive_step(struct tw_proving *proving, const struct tw_step *step, double *volume_mm3);

/* Measures what program `index` of `count` leaves. */
enum tw_status tw_drive_end(struct tw_proving *proving, const struct tw_run *runs, size_t count, size_t index);

/* Releases what the program took, ended or not. */
void tw_drive_stop(struct tw_proving *proving);

#endif
