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

/* Takes a row out of a list, or makes one behind the last, which *to then is. */
static bool put_row(config_setting_t *group, const char *name, size_t row, bool removes, config_setting_t **to)
{
    config_setting_t *list = config_setting_get_member(group, name);
    size_t count = list ? (size_t)config_setting_length(list) : 0;

    if (!list && !removes && row == 1)
        list = config_setting_add(group, name, CONFIG_TYPE_LIST);
    if (!list || !config_setting_is_list(list) || (removes ? row > count : row != count + 1))
        return false;
    if (removes)
        return config_setting_remove_elem(list, (unsigned)(row - 1)) == CONFIG_TRUE;
    *to = config_setting_add(list, NULL, CONFIG_TYPE_GROUP);
    return *to != NULL;
}

static enum tw_status put(config_setting_t *group, char *name, const char *value, struct tw_place at,
                          struct tw_findings *findings)
{
    size_t row = tw_instead_row(name);
    const config_setting_t *from;
    config_setting_t *to = NULL;
    config_t parsed;
    bool copied = false, removes = strcmp(value, "none") == 0;

    if (row > 0 && !put_row(group, name, row, removes, &to))
        return tw_fail(findings, TW_BAD_INPUT, at, "is no row of that list, nor the one behind its last");
    if (row == 0 && config_setting_get_member(group, name))
        config_setting_remove(group, name);
    if (removes)
        return TW_OK;
    if (!read_value(value, &parsed)) {
        config_destroy(&parsed);
        return tw_no_memory(findings);
    }
    from = config_setting_get_elem(config_root_setting(&parsed), 0);
    if (row == 0)
        to = config_setting_add(group, name, config_setting_type(from));
    copied = to && config_setting_type(to) == config_setting_type(from) && copy_setting(to, from);
    config_destroy(&parsed);
    return copied ? TW_OK
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
