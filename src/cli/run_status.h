/* run_status.h - where a run stands, and what to do next. */
#ifndef TANGWRIGHT_CLI_RUN_STATUS_H
#define TANGWRIGHT_CLI_RUN_STATUS_H

#include "cli/options.h"
#include "cli/run_record.h"

/* What is asked of a run's record without planning anything. */
enum tw_status run_status_show(const struct options *options, const struct tw_run_request *request,
                               struct run_record *record, struct tw_findings *findings);

/* Every table into `folder`. */
enum tw_status run_status_export(const struct options *options, const struct run_record *record,
                                 struct tw_findings *findings);

#endif
