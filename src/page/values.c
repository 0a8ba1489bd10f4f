/* values.c - what stands for each key, and where it came from. */
#include "page/page.h"

#include <string.h>

static json_t *number(const config_setting_t *setting)
{
    char text[40];

    if (config_setting_type(setting) == CONFIG_TYPE_FLOAT)
        snprintf(text, sizeof text, "%.12g", config_setting_get_float(setting));
    else
        snprintf(text, sizeof text, "%lld", config_setting_get_int64(setting));
    return json_string(text);
}

/* As a person reads it; an array stays one. */
static json_t *words_of(const config_setting_t *setting)
{
    const char *string = config_setting_get_string(setting);
    json_t *list;

    if (string)
        return page_string(string);
    if (config_setting_type(setting) == CONFIG_TYPE_BOOL)
        return json_string(config_setting_get_bool(setting) ? "true" : "false");
    if (!config_setting_is_aggregate(setting))
        return number(setting);
    list = json_array();
    for (int i = 0; i < config_setting_length(setting); i++)
        list = page_appended(list, words_of(config_setting_get_elem(setting, (unsigned)i)));
    return list;
}

/* "-50 mm, 14 mm, 6 mm" */
static void print_value(struct tw_text *out, const config_setting_t *setting)
{
    json_t *words = config_setting_is_aggregate(setting) ? NULL : words_of(setting);

    for (int i = 0; i < config_setting_length(setting); i++) {
        tw_text_print(out, i > 0 ? ", " : "");
        print_value(out, config_setting_get_elem(setting, (unsigned)i));
    }
    if (json_is_string(words))
        tw_text_print(out, "%s", json_string_value(words));
    json_decref(words);
}

/* Each setting of a row by its name. */
static json_t *fields_of(const config_setting_t *setting)
{
    json_t *fields = json_object();

    for (int i = 0; fields && i < config_setting_length(setting); i++) {
        const config_setting_t *inner = config_setting_get_elem(setting, (unsigned)i);

        if (config_setting_name(inner) &&
            json_object_set_new(fields, config_setting_name(inner), words_of(inner)) != 0) {
            json_decref(fields);
            fields = NULL;
        }
    }
    return fields;
}

/* One member of a list: where it stands, its settings on one line, and each by its name. */
static json_t *member(const config_setting_t *setting)
{
    struct tw_text words = { 0 };
    json_t *object = NULL;

    for (int i = 0; i < config_setting_length(setting); i++) {
        const config_setting_t *inner = config_setting_get_elem(setting, (unsigned)i);

        tw_text_print(&words, i > 0 ? "; " : "");
        if (config_setting_name(inner))
            tw_text_print(&words, "%s ", config_setting_name(inner));
        print_value(&words, inner);
    }
    if (!words.failed)
        object = json_pack("{s:i, s:o, s:o}", "line", (int)config_setting_source_line(setting), "words",
                           page_string(words.data ? words.data : ""), "fields", fields_of(setting));
    tw_text_free(&words);
    return object;
}

/* Of a list; null of any other value. */
static json_t *members_of(const struct tw_key *key, const config_setting_t *setting)
{
    json_t *list;

    if (key->kind != TW_KIND_LIST || !setting)
        return json_null();
    list = json_array();
    for (int i = 0; i < config_setting_length(setting); i++)
        list = page_appended(list, member(config_setting_get_elem(setting, (unsigned)i)));
    return list;
}

static const char *from(const struct tw_reading *reading, const struct tw_origin *origin)
{
    if (!origin->setting)
        return "default";
    return strcmp(origin->file, reading->input.job.path) == 0 ? "job" : "profile";
}

static json_t *value(const struct tw_reading *reading, const struct tw_key *key, const struct tw_origin *origin)
{
    return json_pack("{s:o, s:o, s:s, s:i, s:b}", "text",
                     origin->setting && key->kind != TW_KIND_LIST ? words_of(origin->setting) : json_null(), "members",
                     members_of(key, origin->setting), "from", from(reading, origin), "line", origin->line, "ok",
                     origin->ok);
}

/* The file of each profile, as the job names it. */
static bool add_profiles(const struct tw_reading *reading, json_t *values)
{
    bool added = true;

    for (size_t i = 0; added && i < TW_PROFILE_COUNT; i++) {
        char path[64];
        const config_setting_t *setting;
        const char *name = NULL;

        snprintf(path, sizeof path, "%s.profile", tw_profile_names[i]);
        setting = config_lookup(&reading->input.job.config, path);
        if (setting)
            name = config_setting_get_string(setting);
        added = json_object_set_new(values, path,
                                    json_pack("{s:o, s:s, s:i, s:b}", "text", page_string(name), "from",
                                              name ? "job" : "default", "line",
                                              setting ? (int)config_setting_source_line(setting) : 0, "ok",
                                              reading->input.profiles[i].loaded)) == 0;
    }
    return added;
}

json_t *page_values(const struct tw_reading *reading)
{
    json_t *values = json_object();
    const struct tw_origin *origin = reading->input.origins;
    bool added = values && reading->input.job.loaded && add_profiles(reading, values);

    for (size_t i = 0; added && i < tw_group_count; i++)
        for (size_t k = 0; added && k < tw_groups[i].key_count; k++, origin++) {
            char path[96];

            if (tw_group_is_member(&tw_groups[i]))
                continue;
            snprintf(path, sizeof path, "%s%s%s", tw_groups[i].path, *tw_groups[i].path ? "." : "",
                     tw_groups[i].keys[k].name);
            added = json_object_set_new(values, path, value(reading, &tw_groups[i].keys[k], origin)) == 0;
        }
    return values;
}
