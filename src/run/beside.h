/* beside.h - what stands on the fixture about the blanks that a program grinds. */
#ifndef TANGWRIGHT_RUN_BESIDE_H
#define TANGWRIGHT_RUN_BESIDE_H

#include "base/text.h"
#include "tangwright/run.h"

/* The keep-outs of a program for `count` places of a load from `first` on, as the value of fixture.keep_outs: the job's own,
 * and what stands at the fixture's other stations, its blanks as they lie among it. *out is the caller's: free(); NULL where
 * nothing else stands there. */
enum tw_status tw_run_beside(const struct tw_job *job, const struct tw_run_load *load, size_t first, size_t count,
                             char **out, struct tw_findings *findings);

/* Words that stand between quotes in a job: quotes and backslashes of their own would end them. */
void tw_run_print_words(struct tw_text *text, const char *words);

#endif
