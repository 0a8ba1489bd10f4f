/* straighten.c - from a survey to what comes off each face, and the packing. */
#include "cli/verbs.h"

#include "base/text.h"
#include "tangwright/report.h"

#include <limits.h>
#include <stdlib.h>
#include <unistd.h>

static enum tw_status show(const struct options *options, const struct tw_job *job, const struct tw_straight *straight,
                           struct tw_findings *findings)
{
    char *table = NULL, *json = NULL;
    enum tw_status status = tw_straight_table(job, straight, &table, findings);

    if (status == TW_OK && options->json)
        status = tw_straight_json(job, straight, &json, findings);
    return verb_show(options, status, table, json, findings);
}

/* From where the program was started, not from the job's folder. A folder that is gone has no name: then the path stays as it is. */
static char *whole_path(const char *path)
{
    char folder[PATH_MAX] = "";
    struct tw_text whole = { 0 };

    if (path[0] != '/' && !getcwd(folder, sizeof folder))
        folder[0] = '\0';
    tw_text_print(&whole, "%s%s%s", folder, folder[0] ? "/" : "", path);
    return tw_text_take(&whole);
}

/* A survey that is given beside the job is read, turned over and asked about as if the job named it. */
static enum tw_status read_job(const struct options *options, struct tw_job *job, struct tw_findings *findings)
{
    struct tw_instead survey = { "survey.file", NULL };
    char *path;
    enum tw_status status;

    if (!options->survey)
        return tw_job_read(options->operands[0], job, findings);
    path = whole_path(options->survey);
    if (!path)
        return tw_no_memory(findings);
    survey.value = path;
    status = tw_job_read_with(options->operands[0], &survey, 1, job, findings);
    free(path);
    return status;
}

static enum tw_status need_survey(const struct tw_job *job, struct tw_findings *findings)
{
    struct tw_place at = { .file = job->path, .key = "survey.file" };

    if (job->survey.count > 0)
        return TW_OK;
    return tw_fail(findings, TW_BAD_INPUT, at,
                   "is missing; write for example survey: { file = \"survey.csv\"; }; or give --survey FILE");
}

/* A tang that cannot be straight is shown all the same; the status tells. */
enum tw_status verb_straighten(const struct options *options, struct tw_findings *findings)
{
    struct tw_job job;
    struct tw_straight straight = { 0 };
    enum tw_status status = read_job(options, &job, findings);

    if (status != TW_OK)
        return status;
    status = need_survey(&job, findings);
    if (status == TW_OK)
        status = tw_straighten(&job, &straight, findings);
    if (status == TW_OK)
        status = show(options, &job, &straight, findings);
    if (status == TW_OK)
        status = tw_straight_verdict(&job, &straight, findings);
    tw_straight_free(&straight);
    tw_job_free(&job);
    return status;
}
