/* run_wheel.h - by which wheel the loads of a run were ground, as its record tells. */
#ifndef TANGWRIGHT_CLI_RUN_WHEEL_H
#define TANGWRIGHT_CLI_RUN_WHEEL_H

#include "cli/run_record.h"

/* What tells a wheel from another, in words: its name and its measures. The caller's: free(); NULL: memory ran out. */
char *run_wheel_words(const struct tw_wheel *wheel);

/* From now on the record is read for a job with that wheel. Another one than the last ground load's begins a level of its own, as a
 * dressing does: no offset is carried over to it, and what it takes off and loses is counted from its first load. */
enum tw_status run_wheel_set(struct run_record *record, const struct tw_wheel *wheel, struct tw_findings *findings);

/* How often the wheel was changed in loads that are ground, up to that one. */
int run_wheel_changes(const struct run_record *record, int load);

/* Whether the job's wheel is another than the one by which the last load was ground that tells of its wheel; *ground is then that load. */
bool run_wheel_is_other(const struct run_record *record, const struct tw_record_load **ground);

/* Says so in one sentence; the caller's: free(). NULL where it is the same, or memory ran out. */
char *run_wheel_other_words(const struct run_record *record);

/* What the wheel did in the loads that are ground, and where it is dressed. */
struct tw_run_wheel run_wheel_so_far(const struct run_record *record);

/* What roughed parts were gauged off by was told of one wheel: a job that names another is refused until the change is told. */
enum tw_status run_wheel_check(const struct run_record *record, const struct tw_run_request *request,
                               const struct tw_wheel *wheel, struct tw_findings *findings);

#endif
