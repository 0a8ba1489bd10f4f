/* straighten.c - from a survey to what comes off each face, and the packing. */
#include "cli/verbs.h"

#include "tangwright/report.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static enum tw_status show(const struct options *options, const struct tw_job *job, const struct tw_straight *straight,
                           struct tw_findings *findings)
{
    char *table = NULL, *json = NULL;
    enum tw_status status = tw_straight_table(job, straight, &table, findings);

    if (status == TW_OK && options->json)
        status = tw_straight_json(job, straight, &json, findings);
    return verb_show(options, status, table, json, findings);
}

static enum tw_status take_survey(const struct options *options, struct tw_job *job, struct tw_findings *findings)
{
    struct tw_place at = { .file = job->path, .key = "survey.file" };

    if (options->survey) {
        enum tw_status status = tw_survey_read(options->survey, &job->survey, findings);

        if (status == TW_OK && job->placement.spine < 0)
            tw_survey_turn_over(&job->survey);
        return status;
    }
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
    enum tw_status status = tw_job_read(options->operands[0], &job, findings);

    if (status != TW_OK)
        return status;
    status = take_survey(options, &job, findings);
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
