/* gauge_unfinished.h - readings that are given for those of finished parts, and tell of roughed ones. */
#ifndef TANGWRIGHT_CLI_GAUGE_UNFINISHED_H
#define TANGWRIGHT_CLI_GAUGE_UNFINISHED_H

#include "cli/run_record.h"
#include "tangwright/gauge.h"

/* Refuses readings of a load all of whose measured parts are as thick as its roughing left them (roughed.h), part by part. The readings are of
 * blanks that the record knows, in loads that are ground. */
enum tw_status verb_gauge_check_finished(const struct tw_run_request *request, const struct run_record *record,
                                         const struct tw_job *job, const struct tw_gaugings *readings, double gauge_mm,
                                         struct tw_findings *findings);

#endif
