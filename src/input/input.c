/* input.c - walks the schema: takes each key from the job, else from its profile, else its default. */
#include "input/input.h"

#include "base/nearest.h"

#include <stdarg.h>
#include <string.h>

/* A group as it stands in one file. */
struct found_group {
    const config_setting_t *setting; /* NULL: not there */
    const struct tw_source *source;
};

void tw_input_fault(struct tw_input *input, struct tw_place at, struct tw_text *complaint)
{
    input->bad_inputs++;
    if (complaint->failed)
        input->no_memory = true;
    else
        tw_fail(input->findings, TW_BAD_INPUT, at, "%s", complaint->data);
    tw_text_free(complaint);
}

void tw_input_faultf(struct tw_input *input, struct tw_place at, const char *format, ...)
{
    struct tw_text complaint = { 0 };
    va_list arguments;

    va_start(arguments, format);
    tw_text_vprint(&complaint, format, arguments);
    va_end(arguments);
    tw_input_fault(input, at, &complaint);
}

/* The row of the key named "machine.spindle.axis"; asking for one that the schema has not is our own mistake. */
struct tw_origin *tw_input_origin(const struct tw_input *input, const char *path)
{
    const char *dot = strrchr(path, '.');
    size_t group_length = dot ? (size_t)(dot - path) : 0;
    const char *name = dot ? dot + 1 : path;
    size_t row = 0;

    for (size_t i = 0; i < tw_group_count; row += tw_groups[i].key_count, i++) {
        const struct tw_key *key;

        if (strlen(tw_groups[i].path) != group_length || strncmp(tw_groups[i].path, path, group_length) != 0)
            continue;
        key = tw_key_find(&tw_groups[i], name);
        return key ? &input->origins[row + (size_t)(key - tw_groups[i].keys)] : NULL;
    }
    return NULL;
}

struct tw_place tw_input_place(const struct tw_input *input, const char *path)
{
    const struct tw_origin *origin = tw_input_origin(input, path);

    return (struct tw_place){ .file = origin->file, .line = origin->line, .key = path };
}

static int line_of(const config_setting_t *setting)
{
    return setting ? (int)config_setting_source_line(setting) : 0;
}

/* ---- finding groups ---- */

/* Which profile the group belongs to; TW_PROFILE_COUNT for none. */
static size_t profile_of(const struct tw_group *group)
{
    size_t i = 0;

    if (!group->profile)
        return TW_PROFILE_COUNT;
    for (; i < TW_PROFILE_COUNT; i++) {
        size_t length = strlen(tw_profile_names[i]);

        if (strncmp(group->path, tw_profile_names[i], length) == 0 &&
            (group->path[length] == '\0' || group->path[length] == '.'))
            break;
    }
    return i;
}

/* Follows "spindle" or "axes.along" down from `root`. A member on the way that is no group is a fault, said
 * only for the last one, so that each is named once. */
static const config_setting_t *follow(struct tw_input *input, const struct tw_source *source, const char *path,
                                      const char *shown_path)
{
    const config_setting_t *setting = config_root_setting(&source->config);
    char name[64];

    while (*path && setting) {
        size_t length = strcspn(path, ".");

        snprintf(name, sizeof name, "%.*s", (int)length, path);
        setting = config_setting_get_member(setting, name);
        path += length + (path[length] == '.');
        if (setting && !config_setting_is_group(setting)) {
            if (*path == '\0')
                tw_input_faultf(input,
                                (struct tw_place){ .file = source->path, .line = line_of(setting), .key = shown_path },
                                "must be a group: write %s: { ... };", name);
            return NULL;
        }
    }
    return setting;
}

static struct found_group in_profile(struct tw_input *input, const struct tw_group *group)
{
    size_t profile = profile_of(group);
    struct found_group found = { 0 };
    const char *dot = strchr(group->path, '.');

    if (profile < TW_PROFILE_COUNT && input->profiles[profile].loaded) {
        found.source = &input->profiles[profile];
        found.setting = follow(input, found.source, dot ? dot + 1 : "", group->path);
    }
    return found;
}

static struct found_group in_job(struct tw_input *input, const struct tw_group *group)
{
    return (struct found_group){ .source = &input->job,
                                 .setting = follow(input, &input->job, group->path, group->path) };
}

/* ---- unknown keys ---- */

static const char *child_group_name(const struct tw_group *group, const struct tw_group *child)
{
    size_t length = strlen(group->path);
    const char *rest = child->path + length;

    if (child == group || tw_group_is_member(child) || strncmp(child->path, group->path, length) != 0)
        return NULL;
    if (length > 0 && *rest++ != '.')
        return NULL;
    return strchr(rest, '.') ? NULL : rest;
}

static bool names_a_profile(const struct tw_group *group)
{
    return group->profile && !strchr(group->path, '.');
}

static bool is_known(const struct tw_group *group, const char *name, bool job)
{
    if (tw_key_find(group, name) || (job && names_a_profile(group) && strcmp(name, "profile") == 0))
        return true;
    for (size_t i = 0; i < tw_group_count; i++) {
        const char *child = child_group_name(group, &tw_groups[i]);

        if (child && strcmp(child, name) == 0)
            return true;
    }
    return false;
}

size_t tw_input_known_keys(const struct tw_group *group, const config_setting_t *profile)
{
    size_t count = 0;

    for (int i = 0; i < config_setting_length(profile); i++) {
        const char *name = config_setting_name(config_setting_get_elem(profile, (unsigned)i));

        count += strcmp(name, "name") != 0 && is_known(group, name, false);
    }
    return count;
}

/* Calls tw_nearest_offer() or lists, for every name the group knows. */
static void offer_names(const struct tw_group *group, bool job, struct tw_nearest *nearest, struct tw_text *list)
{
    const char *comma = "";

    for (size_t i = 0; i < group->key_count + 1 + tw_group_count; i++) {
        const char *name;

        if (i < group->key_count)
            name = group->keys[i].name;
        else if (i == group->key_count)
            name = job && names_a_profile(group) ? "profile" : NULL;
        else
            name = child_group_name(group, &tw_groups[i - group->key_count - 1]);
        if (!name)
            continue;
        tw_nearest_offer(nearest, name);
        tw_text_print(list, "%s%s", comma, name);
        comma = ", ";
    }
}

/* The group that does know the key. Two profiles have little to do with each other, so their groups are not
 * mixed up; a profile file cannot hold what belongs to the job. */
static const struct tw_group *owner_of(const char *name, const struct tw_group *group, bool job)
{
    bool any = job && !group->profile;

    for (size_t i = 0; i < tw_group_count; i++) {
        const struct tw_group *other = &tw_groups[i];

        if (other == group || tw_group_is_member(other) || !tw_key_find(other, name))
            continue;
        if (any || (job && !other->profile) || profile_of(other) == profile_of(group))
            return other;
    }
    return NULL;
}

/* The group's key of which only the first word was written: butt for butt_thickness. */
static const char *begun_name(const struct tw_group *group, const char *name)
{
    size_t length = strlen(name);

    for (size_t i = 0; i < group->key_count; i++)
        if (strncmp(group->keys[i].name, name, length) == 0 && group->keys[i].name[length] == '_')
            return group->keys[i].name;
    return NULL;
}

static void refuse(struct tw_input *input, const struct tw_group *group, const config_setting_t *setting,
                   struct tw_place at, bool job)
{
    const char *name = config_setting_name(setting);
    struct tw_nearest nearest = tw_nearest_to(name);
    struct tw_text complaint = { 0 }, path = { 0 }, list = { 0 };
    const struct tw_group *owner = owner_of(name, group, job);
    const char *begun = begun_name(group, name);

    offer_names(group, job, &nearest, &list);
    tw_text_print(&path, "%s%s%s", at.key, *at.key ? "." : "", name);
    if (path.failed || list.failed)
        input->no_memory = true;
    tw_text_print(&complaint, "is not a key that is known here");
    if (nearest.name || begun)
        tw_text_print(&complaint, "; did you mean %s?", nearest.name ? nearest.name : begun);
    else if (owner)
        tw_text_print(&complaint, "; it belongs %s%s", *owner->path ? "in the group " : "outside of any group",
                      owner->path);
    else
        tw_text_print(&complaint, "; known are %s", list.data ? list.data : "");
    at.key = path.data;
    at.line = line_of(setting);
    tw_input_fault(input, at, &complaint);
    tw_text_free(&path);
    tw_text_free(&list);
}

void tw_input_refuse_unknown(struct tw_input *input, const struct tw_group *group, const config_setting_t *setting,
                             const char *file, const char *shown_path, bool job)
{
    struct tw_place at = { .file = file, .key = shown_path };

    for (int i = 0; i < config_setting_length(setting); i++) {
        const config_setting_t *member = config_setting_get_elem(setting, (unsigned)i);

        if (!is_known(group, config_setting_name(member), job))
            refuse(input, group, member, at, job);
    }
}

/* ---- keys ---- */

/* Reads the key from one file if it stands there, and remembers where. */
static void read_from(struct tw_input *input, const struct tw_group *group, const struct tw_key *key,
                      struct found_group found, struct tw_place at, struct tw_origin *origin)
{
    const config_setting_t *setting = found.setting ? config_setting_get_member(found.setting, key->name) : NULL;

    if (!setting)
        return;
    at.file = found.source->path;
    at.line = line_of(setting);
    *origin = (struct tw_origin){ .setting = setting, .file = at.file, .line = at.line };
    origin->ok = tw_value_read(input, key, setting, at, (char *)input->draft + group->offset);
}

/* Of axes each its own letter: the lines of all three, taken over as they stand, are a machine's. */
static void print_example(const struct tw_group *group, const struct tw_key *key, struct tw_text *text)
{
    static const struct {
        const char *path, *letter;
    } usual[] = { { "machine.axes.along", "X" }, { "machine.axes.across", "Y" }, { "machine.axes.up", "Z" } };

    for (size_t i = 0; key->kind == TW_KIND_AXIS && i < sizeof usual / sizeof *usual; i++)
        if (strcmp(group->path, usual[i].path) == 0) {
            tw_text_print(text, "%s = \"%s\";", key->name, usual[i].letter);
            return;
        }
    tw_value_example(key, text);
}

static void complain_of_missing(struct tw_input *input, const struct tw_group *group, const struct tw_key *key,
                                struct tw_place at)
{
    struct tw_text complaint = { 0 };

    tw_text_print(&complaint, "is missing; write for example ");
    print_example(group, key, &complaint);
    tw_input_fault(input, at, &complaint);
}

static void read_key(struct tw_input *input, const struct tw_group *group, const struct tw_key *key,
                     struct found_group profile, struct found_group job, struct tw_origin *origin)
{
    bool complete = profile.setting || (!group->profile && job.setting);
    bool profile_lost = group->profile && !profile.source;
    struct found_group home = profile.setting ? profile : job;
    struct tw_text path = { 0 };
    struct tw_place at = { 0 };

    tw_text_print(&path, "%s%s%s", group->path, *group->path ? "." : "", key->name);
    if (path.failed)
        input->no_memory = true;
    at = (struct tw_place){ .file = home.source->path, .line = line_of(home.setting), .key = path.data };
    *origin = (struct tw_origin){ .file = at.file, .line = at.line };
    read_from(input, group, key, profile, at, origin);
    read_from(input, group, key, job, at, origin);
    if (origin->setting)
        goto done;
    if (key->preset)
        origin->ok = tw_value_preset(input, key, (char *)input->draft + group->offset) && !profile_lost;
    else if (key->derived)
        origin->ok = !profile_lost;
    else if (complete)
        complain_of_missing(input, group, key, at);
done:
    tw_text_free(&path);
}

/* ---- groups ---- */

static void complain_of_missing_group(struct tw_input *input, const struct tw_group *group,
                                      const struct tw_source *source)
{
    const char *dot = strrchr(group->path, '.');
    struct tw_text complaint = { 0 };

    tw_text_print(&complaint, "the group is missing; write for example %s: { ", dot ? dot + 1 : group->path);
    for (size_t i = 0; i < group->key_count; i++) {
        if (!tw_key_is_required(&group->keys[i]))
            continue;
        print_example(group, &group->keys[i], &complaint);
        tw_text_print(&complaint, " ");
    }
    tw_text_print(&complaint, "};");
    tw_input_fault(input, (struct tw_place){ .file = source->path, .key = group->path }, &complaint);
}

/* A group that holds required keys must stand in its profile, or in the job if no profile is concerned. What
 * stands there and is no group has been named already. */
static bool is_absent(const struct found_group *home, const struct tw_group *group, size_t faults_before,
                      size_t faults_now)
{
    return home->source && !home->setting && tw_group_has_required(group) && faults_before == faults_now;
}

static void read_group(struct tw_input *input, const struct tw_group *group, struct tw_origin *origins)
{
    size_t faults_before = input->bad_inputs;
    struct found_group profile = in_profile(input, group);
    struct found_group job = in_job(input, group);
    struct found_group *home = group->profile ? &profile : &job;

    if (tw_profile_is_optional(group->path) && !job.setting)
        return;
    if (is_absent(home, group, faults_before, input->bad_inputs))
        complain_of_missing_group(input, group, home->source);
    if (profile.setting)
        tw_input_refuse_unknown(input, group, profile.setting, profile.source->path, group->path, false);
    if (job.setting)
        tw_input_refuse_unknown(input, group, job.setting, job.source->path, group->path, true);
    for (size_t i = 0; i < group->key_count; i++)
        read_key(input, group, &group->keys[i], profile, job, &origins[i]);
}

void tw_input_read_groups(struct tw_input *input)
{
    size_t row = 0;

    for (size_t i = 0; i < tw_group_count; row += tw_groups[i].key_count, i++)
        if (!tw_group_is_member(&tw_groups[i]))
            read_group(input, &tw_groups[i], &input->origins[row]);
}
