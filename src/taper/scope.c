/* scope.c - the words for what one program does of a side; program heads say them, and the dry-run reads them. */
#include "tangwright/job.h"

const char *tw_scope_name(enum tw_scope scope)
{
    static const char *const names[] = { "", "roughing", "finishing", "relief" };

    return names[scope];
}

static bool finishes(const struct tw_job *job)
{
    return job->task.scope == TW_SCOPE_WHOLE || job->task.scope == TW_SCOPE_FINISH;
}

int tw_finishing_layers(const struct tw_job *job)
{
    return finishes(job) ? job->finish.layers : 0;
}

int tw_spark_outs_asked(const struct tw_job *job)
{
    return finishes(job) || job->task.scope == TW_SCOPE_ROUGH ? job->finish.spark_out : 0;
}
