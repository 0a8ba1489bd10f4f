/* write.c - a profile as the job resolved it, written by the rows of the schema: read again it gives the same values. */
#include "input/schema.h"

#include "base/text.h"
#include "base/units.h"

#include <string.h>

static void print_text(struct tw_text *text, const char *string)
{
    tw_text_print(text, "\"");
    for (const char *c = string; *c; c++)
        tw_text_print(text, *c == '"' || *c == '\\' ? "\\%c" : "%c", *c);
    tw_text_print(text, "\"");
}

static void print_word(struct tw_text *text, const struct tw_key *key, int value)
{
    for (const struct tw_word *word = key->words; word->word; word++)
        if (word->value == value) {
            tw_text_print(text, "\"%s\"", word->word);
            return;
        }
}

static void print_value(struct tw_text *text, const struct tw_key *key, const void *base)
{
    const void *member = (const char *)base + key->offset;
    const struct tw_axis *axis = base;
    const struct tw_unit *unit;

    switch (key->kind) {
    case TW_KIND_TEXT:
        print_text(text, *(char *const *)member);
        return;
    case TW_KIND_WORD:
        print_word(text, key, *(const int *)member);
        return;
    case TW_KIND_WORD_FLAG:
        print_word(text, key, *(const bool *)member);
        return;
    case TW_KIND_FLAG:
        tw_text_print(text, *(const bool *)member ? "true" : "false");
        return;
    case TW_KIND_COUNT:
        tw_text_print(text, "%d", *(const int *)member);
        return;
    case TW_KIND_RATIO:
        tw_text_print(text, "%.15g", *(const double *)member);
        return;
    case TW_KIND_MEASURE:
        unit = tw_unit_find(key->unit, key->quantity);
        tw_text_print(text, "\"%.15g %s\"", tw_unit_from_inside(unit, *(const double *)member), key->unit);
        return;
    case TW_KIND_AXIS:
        tw_text_print(text, "\"%s%c\"", axis->sign < 0 ? "-" : "", axis->letter);
        return;
    default:
        return; /* paths, places and lists: no profile of these four has one */
    }
}

/* Derived members stay zero where nobody gave a value. */
static bool is_given(const struct tw_key *key, const void *base)
{
    const void *member = (const char *)base + key->offset;

    if (key->kind == TW_KIND_TEXT)
        return *(char *const *)member != NULL;
    if (!key->derived || (key->kind != TW_KIND_MEASURE && key->kind != TW_KIND_RATIO))
        return true;
    return *(const double *)member != 0.0;
}

static void print_group(struct tw_text *text, const struct tw_draft *draft, const struct tw_group *group)
{
    const void *base = (const char *)draft + group->offset;

    for (size_t i = 0; i < group->key_count; i++) {
        if (!is_given(&group->keys[i], base))
            continue;
        tw_text_print(text, "%s = ", group->keys[i].name);
        print_value(text, &group->keys[i], base);
        tw_text_print(text, ";\n");
    }
    for (size_t i = 0; i < tw_group_count; i++) {
        size_t length = strlen(group->path);
        const char *rest = tw_groups[i].path + length + 1;

        if (strncmp(tw_groups[i].path, group->path, length) != 0 || tw_groups[i].path[length] != '.' ||
            strchr(rest, '.'))
            continue;
        tw_text_print(text, "%s: {\n", rest);
        print_group(text, draft, &tw_groups[i]);
        tw_text_print(text, "};\n");
    }
}

enum tw_status tw_job_profile(const struct tw_job *job, const char *name, char **out, struct tw_findings *findings)
{
    struct tw_draft draft = { .job = *job };
    struct tw_text text = { 0 };

    tw_text_print(&text, "# tangwright fixture: the %s of the job, as it was read\n\n", name);
    print_group(&text, &draft, tw_group_find(name, strlen(name)));
    *out = tw_text_take(&text);
    return *out ? TW_OK : tw_no_memory(findings);
}
