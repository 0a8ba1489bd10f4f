/* instead.h - keys that shall be otherwise than the job file says. */
#ifndef TANGWRIGHT_INPUT_INSTEAD_H
#define TANGWRIGHT_INPUT_INSTEAD_H

#include "input/source.h"
#include "tangwright/job.h"

/* Puts each value into the job's settings, before anything is read from them. TW_BAD_INPUT for a key or a value that no
 * setting can have; what a setting may be is asked when it is read. */
enum tw_status tw_instead_apply(struct tw_source *job, const struct tw_instead *changes, size_t count,
                                struct tw_findings *findings);

#endif
