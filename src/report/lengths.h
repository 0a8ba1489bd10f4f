/* lengths.h - whether a report gives lengths and temperatures in inches and degF first. */
#ifndef TANGWRIGHT_REPORT_LENGTHS_H
#define TANGWRIGHT_REPORT_LENGTHS_H

#include "base/lengths.h"
#include "tangwright/job.h"

/* Whether the machine of the job is programmed in inches. */
static inline bool tw_job_in_inches(const struct tw_job *job)
{
    return job->machine.dialect.inch;
}

#endif
