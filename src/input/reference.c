/* reference.c - the schema as Markdown tables. */
#include "input/reference.h"

#include <string.h>

static void print_kind(const struct tw_key *key, struct tw_text *text)
{
    static const char *const names[] = {
        [TW_KIND_TEXT] = "text",
        [TW_KIND_PATH] = "file name",
        [TW_KIND_WORD] = "word",
        [TW_KIND_WORD_FLAG] = "word",
        [TW_KIND_FLAG] = "true or false",
        [TW_KIND_COUNT] = "whole number",
        [TW_KIND_RATIO] = "number",
        [TW_KIND_POINT] = "two lengths, mm",
        [TW_KIND_AXIS] = "signed letter",
        [TW_KIND_BOX] = "four lengths, mm",
        [TW_KIND_CIRCLE] = "three lengths, mm",
        [TW_KIND_POLYGON] = "list of points, mm",
        [TW_KIND_PAIRS] = "list of pairs, mm",
        [TW_KIND_LIST] = "list of groups",
    };

    if (key->kind == TW_KIND_MEASURE)
        tw_text_print(text, "%s, %s", strchr(tw_quantity_name(key->quantity), ' ') + 1, key->unit);
    else
        tw_text_print(text, "%s", names[key->kind]);
}

static void print_range(const struct tw_key *key, struct tw_text *text)
{
    switch (key->kind) {
    case TW_KIND_WORD:
    case TW_KIND_WORD_FLAG:
        for (const struct tw_word *word = key->words; word->word; word++)
            tw_text_print(text, "%s`\"%s\"`", word == key->words ? "" : ", ", word->word);
        break;
    case TW_KIND_COUNT:
    case TW_KIND_RATIO:
        tw_text_print(text, "%g to %g", key->least, key->most);
        break;
    case TW_KIND_AXIS:
        tw_text_print(text, "`\"X\"`, `\"-X\"`, `\"Y\"`, `\"-Y\"`, `\"Z\"`, `\"-Z\"`");
        break;
    case TW_KIND_TEXT:
        tw_text_print(text, "one line, at most %d bytes", tw_key_longest_text(key));
        break;
    case TW_KIND_FLAG:
    case TW_KIND_PATH:
    case TW_KIND_LIST:
        tw_text_print(text, "-");
        break;
    default:
        tw_text_print(text, "%.10g to %.10g %s", key->least, key->most, key->unit);
    }
}

static void print_default(const struct tw_key *key, struct tw_text *text)
{
    if (key->derived)
        tw_text_print(text, "%s", key->derived);
    else if (key->preset)
        tw_text_print(text, "`%s`", key->preset);
    else
        tw_text_print(text, "required");
}

static void print_row(const struct tw_key *key, struct tw_text *text)
{
    tw_text_print(text, "| `%s` | ", key->name);
    print_kind(key, text);
    tw_text_print(text, " | ");
    print_range(key, text);
    tw_text_print(text, " | ");
    print_default(key, text);
    tw_text_print(text, " | %s | %s |\n", key->meaning, key->source ? key->source : "-");
}

void tw_reference_table(const struct tw_group *group, struct tw_text *text)
{
    tw_text_print(text, "| key | kind, unit | range | default | meaning | source of range and default |\n");
    tw_text_print(text, "| --- | --- | --- | --- | --- | --- |\n");
    for (size_t i = 0; i < group->key_count; i++)
        print_row(&group->keys[i], text);
}
