/* keys.h - every key of a run file: the rows that its reader and its reference page come from. */
#ifndef TANGWRIGHT_RUN_KEYS_H
#define TANGWRIGHT_RUN_KEYS_H

#include "input/schema.h"

/* What stands outside of any list, into a struct tw_run_request; and one member of `blanks`, into a struct tw_run_blank. */
extern const struct tw_group tw_run_group, tw_run_blank_group;

#endif
