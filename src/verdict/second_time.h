/* second_time.h - the cycle time once more, by the dry-run's own reckoning. */
#ifndef TANGWRIGHT_VERDICT_SECOND_TIME_H
#define TANGWRIGHT_VERDICT_SECOND_TIME_H

#include "verdict/checks.h"
#include "verdict/trace.h"

/* Answers the check "time": how far the trace's cycle time lies from the one reckoned here. Notes the fastest axis. TW_NO_MEMORY. */
enum tw_status tw_second_time(const struct tw_job *job, const struct tw_trace *trace, double cycle_time_s,
                              struct tw_check *check, struct tw_findings *findings);

#endif
