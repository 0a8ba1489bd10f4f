/* asked.h - which checks are asked of a program, and their limits. */
#ifndef TANGWRIGHT_VERDICT_ASKED_H
#define TANGWRIGHT_VERDICT_ASKED_H

#include "verdict/prove.h"

/* Whether the program leaves the face at its height. */
bool tw_finishes_face(enum tw_scope scope);

/* The same, by a wheel whose wear is known. */
bool tw_wears_face(const struct tw_job *job, enum tw_scope scope);

/* Whether nothing more is ground on the side after run `index`. A relief alone is cut into a blank that is tapered later. */
bool tw_leaves_face(const struct tw_run *runs, size_t count, size_t index);

/* Asks the checks of each of the blank's programs. */
enum tw_status tw_asked_of_blank(const struct tw_run_blank *blank, size_t count, struct tw_findings *findings);

#endif
