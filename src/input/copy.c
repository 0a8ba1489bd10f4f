/* copy.c - a job with some keys changed as a job file of its own, in another folder. */
#include "base/file.h"
#include "base/memory.h"
#include "input/instead.h"
#include "input/schema.h"
#include "tangwright/job.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* libconfig ends the process where its own allocations fail. */
#define ROOM_BYTES ((size_t)4 << 20)

struct copying {
    struct tw_source *job;
    const char *folder;
    struct tw_findings *findings;
};

/* The file that a setting names, as seen from the other folder. */
static enum tw_status move_path(const struct copying *copying, const char *key)
{
    config_setting_t *setting = config_lookup(&copying->job->config, key);
    const char *written = setting ? config_setting_get_string(setting) : NULL;
    char *here, *there = NULL;
    enum tw_status status;

    if (!written)
        return TW_OK; /* not given, or refused by whoever reads the job */
    here = tw_path_beside(copying->job->path, written);
    if (!here)
        return tw_no_memory(copying->findings);
    status = tw_path_from(copying->folder, here, &there, copying->findings);
    if (status == TW_OK && config_setting_set_string(setting, there) != CONFIG_TRUE)
        status = tw_no_memory(copying->findings);
    free(here);
    free(there);
    return status;
}

static enum tw_status move_group(const struct copying *copying, const struct tw_group *group)
{
    enum tw_status status = TW_OK;
    char key[96];

    if (group->profile && !strchr(group->path, '.') && !tw_group_is_member(group)) {
        snprintf(key, sizeof key, "%s.profile", group->path);
        status = move_path(copying, key);
    }
    for (size_t i = 0; status == TW_OK && i < group->key_count; i++) {
        if (group->keys[i].kind != TW_KIND_PATH || tw_group_is_member(group))
            continue;
        snprintf(key, sizeof key, "%s%s%s", group->path, *group->path ? "." : "", group->keys[i].name);
        status = move_path(copying, key);
    }
    return status;
}

/* Of the blanks on the fixture. */
static enum tw_status move_surveys(const struct copying *copying)
{
    const config_setting_t *list = config_lookup(&copying->job->config, "blanks");
    int count = list && config_setting_is_list(list) ? config_setting_length(list) : 0;
    enum tw_status status = TW_OK;
    char key[96];

    for (int i = 0; status == TW_OK && i < count; i++) {
        snprintf(key, sizeof key, "blanks.[%d].survey", i);
        status = move_path(copying, key);
    }
    return status;
}

static enum tw_status write_text(const struct copying *copying, char **out)
{
    size_t length = 0;
    FILE *stream = open_memstream(out, &length);

    if (!stream)
        return tw_no_memory(copying->findings);
    config_set_tab_width(&copying->job->config, 4);
    config_write(&copying->job->config, stream);
    if (fclose(stream) == 0 && *out)
        return TW_OK;
    free(*out);
    *out = NULL;
    return tw_no_memory(copying->findings);
}

enum tw_status tw_job_text_with(const char *path, const struct tw_instead *changes, size_t count, const char *folder,
                                char **out, struct tw_findings *findings)
{
    struct tw_source job;
    struct copying copying = { &job, folder, findings };
    enum tw_status status = tw_source_load(path, &job, findings);

    *out = NULL;
    if (status == TW_OK && !tw_memory_is_there(ROOM_BYTES))
        status = tw_no_memory(findings);
    if (status == TW_OK)
        status = tw_instead_apply(&job, changes, count, findings);
    for (size_t i = 0; status == TW_OK && i < tw_group_count; i++)
        status = move_group(&copying, &tw_groups[i]);
    if (status == TW_OK)
        status = move_surveys(&copying);
    if (status == TW_OK)
        status = write_text(&copying, out);
    tw_source_free(&job);
    return status;
}
