/* instead.c - see instead.h. */
#include "input/instead.h"

#include "base/memory.h"
#include "base/text.h"

#include <string.h>

/* libconfig ends the process where its own allocations fail. */
#define ROOM_BYTES ((size_t)64 << 10)
#define KEY_BYTES  128
#define ROWS_MOST  1000

/* One value as libconfig reads it: what it takes for a number, true, false or a bracketed list is one, all else a text. */
static bool read_value(const char *value, config_t *out)
{
    struct tw_text line = { 0 };
    bool read;

    config_init(out);
    tw_text_print(&line, "value = %s;\n", value);
    read = !line.failed && config_read_string(out, line.data) == CONFIG_TRUE &&
           config_setting_length(config_root_setting(out)) == 1;
    tw_text_free(&line);
    if (read)
        return true;
    config_destroy(out);
    config_init(out);
    return config_setting_set_string(config_setting_add(config_root_setting(out), "value", CONFIG_TYPE_STRING),
                                     value) == CONFIG_TRUE;
}

static bool copy_setting(config_setting_t *to, const config_setting_t *from)
{
    int type = config_setting_type(from);
    bool copied = true;

    switch (type) {
    case CONFIG_TYPE_INT:
        return config_setting_set_int(to, config_setting_get_int(from)) == CONFIG_TRUE;
    case CONFIG_TYPE_INT64:
        return config_setting_set_int64(to, config_setting_get_int64(from)) == CONFIG_TRUE;
    case CONFIG_TYPE_FLOAT:
        return config_setting_set_float(to, config_setting_get_float(from)) == CONFIG_TRUE;
    case CONFIG_TYPE_BOOL:
        return config_setting_set_bool(to, config_setting_get_bool(from)) == CONFIG_TRUE;
    case CONFIG_TYPE_STRING:
        return config_setting_set_string(to, config_setting_get_string(from)) == CONFIG_TRUE;
    default:
        break;
    }
    for (int i = 0; copied && i < config_setting_length(from); i++) {
        const config_setting_t *one = config_setting_get_elem(from, (unsigned)i);
        config_setting_t *other = config_setting_add(to, config_setting_name(one), config_setting_type(one));

        copied = other && copy_setting(other, one);
    }
    return copied;
}

size_t tw_instead_row(char *word)
{
    char *open = strchr(word, '[');
    size_t row = 0;

    for (const char *digit = open ? open + 1 : ""; *digit >= '0' && *digit <= '9' && row < ROWS_MOST; digit++)
        row = row * 10 + (size_t)(*digit - '0');
    if (row > 0)
        *open = '\0';
    return row;
}

/* The member of that name, or of a list that row. */
static config_setting_t *member_of(config_setting_t *group, char *word)
{
    size_t row = tw_instead_row(word);
    config_setting_t *member = config_setting_get_member(group, word);

    if (row == 0 || !member)
        return member;
    return config_setting_is_list(member) ? config_setting_get_elem(member, (unsigned)(row - 1)) : NULL;
}

/* The group in which the key's last word stands, made where it is missing; *last: that word. NULL: no key. */
static config_setting_t *find_group(config_setting_t *group, char *key, char **last)
{
    char *word = key, *dot;

    while (group && (dot = strchr(word, '.'))) {
        config_setting_t *inner;

        *dot = '\0';
        inner = member_of(group, word);
        group = inner ? inner : config_setting_add(group, word, CONFIG_TYPE_GROUP);
        if (group && !config_setting_is_group(group))
            group = NULL;
        word = dot + 1;
    }
    *last = word;
    return group && *word ? group : NULL;
}

/* Whether another row may stand in its place as a whole: a group's keys are changed one by one. */
static bool is_plain_row(const config_setting_t *row)
{
    return config_setting_is_list(row) || config_setting_is_array(row);
}

/* From that one on, all in their order behind the others: the list is as before but for its first settings. */
static bool turn_from(config_setting_t *list, size_t from, size_t count)
{
    bool turned = true;

    for (size_t i = from; turned && i < count; i++) {
        const config_setting_t *one = config_setting_get_elem(list, (unsigned)from);
        config_setting_t *copy = config_setting_add(list, NULL, config_setting_type(one));

        turned = copy && copy_setting(copy, one) && config_setting_remove_elem(list, (unsigned)from) == CONFIG_TRUE;
    }
    return turned;
}

/* Takes a row out of a list, puts `from` in its place, or makes it one behind the last. */
static bool put_row(config_setting_t *group, const char *name, size_t row, const config_setting_t *from)
{
    config_setting_t *list = config_setting_get_member(group, name), *to;
    size_t count = list ? (size_t)config_setting_length(list) : 0;

    if (from && !config_setting_is_aggregate(from))
        return false;
    if (!list && from && row == 1)
        list = config_setting_add(group, name, CONFIG_TYPE_LIST);
    if (!list || !config_setting_is_list(list) || row > count + (from != NULL))
        return false;
    if (row <= count && from && !is_plain_row(config_setting_get_elem(list, (unsigned)(row - 1))))
        return false;
    if (row <= count && config_setting_remove_elem(list, (unsigned)(row - 1)) != CONFIG_TRUE)
        return false;
    if (!from)
        return true;
    to = config_setting_add(list, NULL, config_setting_type(from));
    return to && copy_setting(to, from) && (row > count || turn_from(list, row - 1, count - 1));
}

/* Without `from` it is taken out. */
static bool put_key(config_setting_t *group, const char *name, const config_setting_t *from)
{
    config_setting_t *to;

    if (config_setting_get_member(group, name))
        config_setting_remove(group, name);
    if (!from)
        return true;
    to = config_setting_add(group, name, config_setting_type(from));
    return to && copy_setting(to, from);
}

static enum tw_status put(config_setting_t *group, char *name, const char *value, struct tw_place at,
                          struct tw_findings *findings)
{
    size_t row = tw_instead_row(name);
    bool removes = strcmp(value, "none") == 0, put;
    const config_setting_t *from;
    config_t parsed;

    if (!read_value(value, &parsed)) {
        config_destroy(&parsed);
        return tw_no_memory(findings);
    }
    from = removes ? NULL : config_setting_get_elem(config_root_setting(&parsed), 0);
    put = row > 0 ? put_row(group, name, row, from) : put_key(group, name, from);
    config_destroy(&parsed);
    if (!put && row > 0)
        return tw_fail(findings, TW_BAD_INPUT, at, "is no row of that list, nor the one behind its last");
    return put ? TW_OK
               : tw_fail(findings, TW_BAD_INPUT, at,
                         "no setting can be named so; write a key as the job does, such as "
                         "taper.butt_thickness");
}

enum tw_status tw_instead_apply(struct tw_source *job, const struct tw_instead *changes, size_t count,
                                struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < count; i++) {
        struct tw_place at = { .file = job->path, .key = changes[i].key };
        config_setting_t *group = NULL;
        char *last = NULL;
        char key[KEY_BYTES];

        if (!tw_memory_is_there(ROOM_BYTES))
            return tw_no_memory(findings);
        if (strlen(changes[i].key) < sizeof key) {
            strcpy(key, changes[i].key);
            group = find_group(config_root_setting(&job->config), key, &last);
        }
        if (group)
            status = put(group, last, changes[i].value, at, findings);
        else
            status = tw_fail(findings, TW_BAD_INPUT, at,
                             "is no key of a job; write it as the job does, such as taper.butt_thickness");
    }
    return status;
}
