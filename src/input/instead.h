/* instead.h - keys that shall be otherwise than the job file says. */
#ifndef TANGWRIGHT_INPUT_INSTEAD_H
#define TANGWRIGHT_INPUT_INSTEAD_H

#include "input/source.h"
#include "tangwright/job.h"

/* Cuts "keep_outs[2]" to "keep_outs" and returns 2; 0 for a word without a number, which stays as it is. */
size_t tw_instead_row(char *word);

/* Puts each value into the job's settings, before anything is read from them. TW_BAD_INPUT for a key or a value that no
 * setting can have; what a setting may be is asked when it is read. A key may tell a list's row by its number, from 1:
 * "fixture.keep_outs[2].top". */
enum tw_status tw_instead_apply(struct tw_source *job, const struct tw_instead *changes, size_t count,
                                struct tw_findings *findings);

#endif
