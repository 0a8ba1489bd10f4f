/* keys.c - the schema's rows for the page: one table makes the form, the reader and the reference. */
#include "page/page.h"

#include "base/plain.h"
#include "base/units.h"

#include <string.h>

static const char *kind_name(enum tw_kind kind)
{
    static const char *const names[] = {
        [TW_KIND_TEXT] = "text",      [TW_KIND_PATH] = "file",       [TW_KIND_WORD] = "word",
        [TW_KIND_WORD_FLAG] = "word", [TW_KIND_FLAG] = "flag",       [TW_KIND_COUNT] = "count",
        [TW_KIND_RATIO] = "ratio",    [TW_KIND_MEASURE] = "measure", [TW_KIND_POINT] = "point",
        [TW_KIND_AXIS] = "axis",      [TW_KIND_BOX] = "shape",       [TW_KIND_CIRCLE] = "shape",
        [TW_KIND_POLYGON] = "shape",  [TW_KIND_PAIRS] = "pairs",     [TW_KIND_LIST] = "list",
    };

    return names[kind];
}

json_t *page_appended(json_t *array, json_t *item)
{
    if (array && json_array_append_new(array, item) == 0)
        return array;
    if (!array)
        json_decref(item);
    json_decref(array);
    return NULL;
}

json_t *page_string(const char *words)
{
    struct tw_text shown = { 0 };
    json_t *string = NULL;

    if (!words)
        return json_null();
    tw_plain_append(&shown, words);
    if (!shown.failed)
        string = json_string(shown.data ? shown.data : "");
    tw_text_free(&shown);
    return string;
}

static json_t *words_of(const struct tw_key *key)
{
    json_t *list = json_array();

    for (const struct tw_word *word = key->words; word && word->word; word++)
        list = page_appended(list, json_string(word->word));
    return list;
}

static json_t *units_of(const struct tw_key *key)
{
    struct tw_text units = { 0 };
    json_t *string = NULL;

    if (key->kind != TW_KIND_MEASURE)
        return json_null();
    tw_quantity_units(key->quantity, &units);
    if (!units.failed)
        string = json_string(units.data);
    tw_text_free(&units);
    return string;
}

static json_t *key_row(const struct tw_group *group, const struct tw_key *key);

/* The keys of a list's rows; null of any other key. */
static json_t *members_of(const struct tw_group *group, const struct tw_key *key)
{
    const struct tw_group *row;
    json_t *rows;
    char path[96];

    if (key->kind != TW_KIND_LIST)
        return json_null();
    snprintf(path, sizeof path, "%s%s%s[]", group->path, *group->path ? "." : "", key->name);
    row = tw_group_find(path, strlen(path));
    rows = json_array();
    for (size_t i = 0; i < row->key_count; i++)
        rows = page_appended(rows, key_row(row, &row->keys[i]));
    return rows;
}

static json_t *key_row(const struct tw_group *group, const struct tw_key *key)
{
    return json_pack("{s:s, s:s, s:s?, s:o, s:f, s:f, s:o, s:s?, s:s?, s:b, s:s?, s:s, s:s?, s:s?, s:o}", "name",
                     key->name, "kind", kind_name(key->kind), "unit", key->unit, "units", units_of(key), "least",
                     key->least, "most", key->most, "words", words_of(key), "preset", key->preset, "derived",
                     key->derived, "required", tw_key_is_required(key), "example", key->example, "meaning",
                     key->meaning, "source", key->source, "columns", key->columns, "members", members_of(group, key));
}

json_t *page_keys(void)
{
    json_t *groups = json_array();

    for (size_t i = 0; i < tw_group_count; i++) {
        const struct tw_group *group = &tw_groups[i];
        json_t *keys = json_array();

        if (tw_group_is_member(group)) {
            json_decref(keys);
            continue;
        }
        for (size_t k = 0; k < group->key_count; k++)
            keys = page_appended(keys, key_row(group, &group->keys[k]));
        groups = page_appended(groups, json_pack("{s:s, s:b, s:s?, s:o}", "path", group->path, "profile",
                                                 group->profile, "meaning", group->meaning, "keys", keys));
    }
    return groups;
}
