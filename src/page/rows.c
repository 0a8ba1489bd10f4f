/* rows.c - lists of the job, row by row: which keys a row has, and what it is in a job file. */
#include "page/page.h"

#include <string.h>

/* "fixture.keep_outs[2]" of "fixture.keep_outs[2].top"; 0: the path is no row's. */
static size_t row_length(const char *path)
{
    const char *open = strchr(path, '['), *close = open ? open + 1 + strspn(open + 1, "0123456789") : NULL;

    if (!open || close == open + 1 || *close != ']' || (close[1] && close[1] != '.'))
        return 0;
    return (size_t)(close + 1 - path);
}

static const struct tw_group *group_of(const char *path, size_t length)
{
    char name[96];

    snprintf(name, sizeof name, "%.*s[]", (int)strcspn(path, "["), path);
    return length > 0 ? tw_group_find(name, strlen(name)) : NULL;
}

bool page_is_row(const char *path)
{
    size_t length = row_length(path);

    return group_of(path, length) && path[length] == '\0';
}

const struct tw_key *page_row_key(const char *path)
{
    size_t length = row_length(path);
    const struct tw_group *group = group_of(path, length);

    return group && path[length] == '.' ? tw_key_find(group, path + length + 1) : NULL;
}

bool page_row_holds(const char *path, const char *key)
{
    size_t length = row_length(path);

    return length > 0 && key && strncmp(key, path, length) == 0 && (key[length] == '\0' || key[length] == '.');
}

const struct tw_key *page_pairs_key(const char *path)
{
    size_t length = row_length(path);
    char name[96];
    const struct tw_key *key;

    if (length == 0 || path[length] != '\0')
        return NULL;
    snprintf(name, sizeof name, "%.*s", (int)strcspn(path, "["), path);
    key = page_key(name);
    return key && key->columns ? key : NULL;
}

/* A whole row from what its fields hold. The schema's order is that in which it is read best. */
bool page_row_literal(const char *path, const json_t *row, struct tw_text *out)
{
    const struct tw_group *group = group_of(path, row_length(path));
    size_t found = 0;

    tw_text_print(out, "{");
    for (size_t i = 0; i < group->key_count; i++) {
        const json_t *value = json_object_get(row, group->keys[i].name);
        struct tw_text literal = { 0 };
        bool printed;

        if (!value || json_is_null(value))
            continue;
        found++;
        printed = page_literal(&group->keys[i], value, &literal);
        tw_text_print(out, " %s = %s;", group->keys[i].name, printed && literal.data ? literal.data : "");
        tw_text_free(&literal);
        if (!printed)
            return false;
    }
    tw_text_print(out, " }");
    return found > 0;
}

/* ---- a list of a profile, to stand in the job ---- */

static void print_text(struct tw_text *out, const char *string)
{
    tw_text_print(out, "\"");
    for (; *string; string++)
        tw_text_print(out, *string == '"' || *string == '\\' ? "\\%c" : "%c", *string);
    tw_text_print(out, "\"");
}

static void print_inner(struct tw_text *out, const config_setting_t *setting)
{
    const char *string = config_setting_get_string(setting);
    int type = config_setting_type(setting), count = config_setting_length(setting);

    if (string)
        print_text(out, string);
    else if (type == CONFIG_TYPE_BOOL)
        tw_text_print(out, config_setting_get_bool(setting) ? "true" : "false");
    else if (type == CONFIG_TYPE_FLOAT)
        tw_text_print(out, "%.12g", config_setting_get_float(setting));
    else if (!config_setting_is_aggregate(setting))
        tw_text_print(out, "%lld", config_setting_get_int64(setting));
    if (!config_setting_is_aggregate(setting))
        return;
    tw_text_print(out, type == CONFIG_TYPE_GROUP ? "{ " : type == CONFIG_TYPE_ARRAY ? "[" : "(");
    for (int i = 0; i < count; i++) {
        const config_setting_t *inner = config_setting_get_elem(setting, (unsigned)i);

        tw_text_print(out, i > 0 && type != CONFIG_TYPE_GROUP ? ", " : "");
        if (type == CONFIG_TYPE_GROUP)
            tw_text_print(out, "%s = ", config_setting_name(inner));
        print_inner(out, inner);
        tw_text_print(out, type == CONFIG_TYPE_GROUP ? "; " : "");
    }
    tw_text_print(out, type == CONFIG_TYPE_GROUP ? "}" : type == CONFIG_TYPE_ARRAY ? "]" : ")");
}

bool page_list_literal(struct tw_page *page, const char *path, struct tw_text *out)
{
    struct tw_findings said = { 0 }; /* what else is wrong with the job is shown beside it anyway */
    struct tw_reading reading;
    const config_setting_t *list = NULL;

    if (tw_reading_open(&reading, page->job_path, NULL, NULL, 0, &said) != TW_NO_MEMORY)
        list = tw_input_origin(&reading.input, path)->setting;
    if (list) {
        tw_text_print(out, "(");
        for (int i = 0; i < config_setting_length(list); i++) {
            tw_text_print(out, i > 0 ? ",\n        " : "\n        ");
            print_inner(out, config_setting_get_elem(list, (unsigned)i));
        }
        tw_text_print(out, "\n    )");
    }
    tw_reading_close(&reading);
    tw_findings_free(&said);
    return list != NULL;
}
