/* syntax.c - a second, rough look at a libconfig text, only to say where it went wrong and how to mend it. */
#include "input/syntax.h"

#include "base/memory.h"
#include "base/text.h"
#include "input/tokens.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

struct opener {
    char mark;
    int line;
    size_t first_name; /* names of this group begin here */
};

struct name {
    const char *start;
    int length, line;
};

/* The groups that are open, and the names that stand in them. */
struct nesting {
    struct opener *openers;
    size_t opener_count, opener_room;
    struct name *names;
    size_t name_count, name_room;
};

/* The answer: where, and what to do. */
struct hint {
    int line;
    struct tw_text text;
    bool no_memory;
};

static bool is_truth(struct tw_token token)
{
    return (token.length == 4 && strncmp(token.start, "true", 4) == 0) ||
           (token.length == 5 && strncmp(token.start, "false", 5) == 0);
}

static bool hint_of_string(struct tw_token token, struct hint *hint)
{
    if (token.closed && token.line == token.last_line)
        return false;
    hint->line = token.line;
    tw_text_print(&hint->text, "a text in quotes ends on its own line: the closing quote is missing");
    return true;
}

static bool hint_of_bare_unit(struct tw_token number, struct tw_token word, struct tw_token after, struct hint *hint)
{
    if (number.kind != TW_TOKEN_NUMBER || (word.kind != TW_TOKEN_NAME && !tw_token_is_mark(word, "/")) ||
        word.line != number.line || tw_token_is_mark(after, "=:"))
        return false;
    hint->line = number.line;
    if (tw_token_is_mark(word, "/"))
        tw_text_print(&hint->text, "a fraction and its unit stand in quotes, such as \"1/8 in\"");
    else
        tw_text_print(&hint->text, "a value with its unit stands in quotes: write \"%.*s %.*s\"", number.length,
                      number.start, word.length, word.start);
    return true;
}

static bool hint_of_bare_word(struct tw_token before, struct tw_token word, struct tw_token after, struct hint *hint)
{
    if (word.kind != TW_TOKEN_NAME || tw_token_is_mark(after, "=:") ||
        (tw_token_is_mark(before, "=:[,(") && is_truth(word)))
        return false;
    hint->line = word.line;
    if (tw_token_is_mark(before, "=:[,("))
        tw_text_print(&hint->text, "a word as a value stands in quotes: write \"%.*s\"", word.length, word.start);
    else if (tw_token_is_mark(after, "{"))
        tw_text_print(&hint->text, "a colon is missing between %.*s and its {: write %.*s: {", word.length, word.start,
                      word.length, word.start);
    else
        tw_text_print(&hint->text, "an equals sign is missing after %.*s", word.length, word.start);
    return true;
}

static bool hint_of_group_in_array(struct tw_token before, struct tw_token mark, struct hint *hint)
{
    if (!tw_token_is_mark(before, "[") || !tw_token_is_mark(mark, "{(["))
        return false;
    hint->line = mark.line;
    tw_text_print(&hint->text, "[ ] holds single values; a list of groups or lists stands in ( )");
    return true;
}

static char closer_of(char opener)
{
    return opener == '{' ? '}' : opener == '(' ? ')' : ']';
}

static bool hint_of_closer(struct nesting *nesting, struct tw_token mark, struct hint *hint)
{
    const struct opener *last = nesting->opener_count ? &nesting->openers[nesting->opener_count - 1] : NULL;

    if (last && closer_of(last->mark) == *mark.start) {
        nesting->name_count = last->first_name;
        nesting->opener_count--;
        return false;
    }
    hint->line = mark.line;
    if (last)
        tw_text_print(&hint->text, "the %c opened on line %d is still open here, so a %c is wanted before this %c",
                      last->mark, last->line, closer_of(last->mark), *mark.start);
    else
        tw_text_print(&hint->text, "this %c closes nothing: drop it, or look for one too many above", *mark.start);
    return true;
}

static bool open_nesting(struct nesting *nesting, struct tw_token mark, struct hint *hint)
{
    if (!tw_grow((void **)&nesting->openers, &nesting->opener_room, nesting->opener_count + 1,
                 sizeof *nesting->openers)) {
        hint->no_memory = true;
        return false;
    }
    nesting->openers[nesting->opener_count++] =
        (struct opener){ .mark = *mark.start, .line = mark.line, .first_name = nesting->name_count };
    return true;
}

static bool hint_of_repeated_name(const struct nesting *nesting, struct tw_token name, struct hint *hint)
{
    size_t first = nesting->opener_count ? nesting->openers[nesting->opener_count - 1].first_name : 0;

    for (size_t i = first; i < nesting->name_count; i++) {
        if (nesting->names[i].length != name.length ||
            strncmp(nesting->names[i].start, name.start, (size_t)name.length))
            continue;
        hint->line = name.line;
        tw_text_print(&hint->text, "%.*s already stands on line %d of this group: keep one of the two", name.length,
                      name.start, nesting->names[i].line);
        return true;
    }
    return false;
}

static bool note_name(struct nesting *nesting, struct tw_token name, struct hint *hint)
{
    if (!tw_grow((void **)&nesting->names, &nesting->name_room, nesting->name_count + 1, sizeof *nesting->names)) {
        hint->no_memory = true;
        return false;
    }
    nesting->names[nesting->name_count++] =
        (struct name){ .start = name.start, .length = name.length, .line = name.line };
    return true;
}

static bool hint_of_unclosed(const struct nesting *nesting, struct hint *hint)
{
    const struct opener *last;

    if (nesting->opener_count == 0)
        return false;
    last = &nesting->openers[nesting->opener_count - 1];
    hint->line = last->line;
    tw_text_print(&hint->text, "the %c opened here is never closed: a %c is missing", last->mark,
                  closer_of(last->mark));
    return true;
}

/* Looks at the token between its neighbours. True when a hint was found or memory ran out. */
static bool look_at(struct nesting *nesting, struct tw_token before, struct tw_token now, struct tw_token after,
                    struct hint *hint)
{
    if (now.kind == TW_TOKEN_STRING)
        return hint_of_string(now, hint);
    if (hint_of_bare_unit(before, now, after, hint) || hint_of_bare_word(before, now, after, hint) ||
        hint_of_group_in_array(before, now, hint))
        return true;
    if (now.kind == TW_TOKEN_NAME && tw_token_is_mark(after, "=:"))
        return hint_of_repeated_name(nesting, now, hint) || !note_name(nesting, now, hint);
    if (tw_token_is_mark(now, "{[("))
        return !open_nesting(nesting, now, hint);
    if (tw_token_is_mark(now, "}])"))
        return hint_of_closer(nesting, now, hint);
    return false;
}

static void find_hint(const char *text, struct hint *hint)
{
    struct tw_scan scan = { .at = text, .line = 1 };
    struct nesting nesting = { 0 };
    struct tw_token before = { 0 }, now = tw_token_next(&scan), after;
    bool found = false;

    for (; now.kind != TW_TOKEN_END && !found; before = now, now = after) {
        after = tw_token_next(&scan);
        found = look_at(&nesting, before, now, after, hint);
    }
    if (!found)
        hint_of_unclosed(&nesting, hint);
    free(nesting.openers);
    free(nesting.names);
}

enum tw_status tw_syntax_explain(const char *path, const char *text, int line, const char *said,
                                 struct tw_findings *findings)
{
    struct hint hint = { .line = line };
    struct tw_place at = { .file = path };
    enum tw_status status;

    if (strncmp(said, "mismatched", 10) == 0)
        tw_text_print(&hint.text, "all values between [ ] are of one kind: put each in quotes, with its unit");
    else
        find_hint(text, &hint);
    at.line = hint.line;
    if (hint.text.failed || hint.no_memory)
        status = tw_no_memory(findings);
    else if (hint.text.length)
        status = tw_fail(findings, TW_BAD_INPUT, at, "%s: %s", said, hint.text.data);
    else
        status = tw_fail(findings, TW_BAD_INPUT, at,
                         "%s: look on this line and the one before for a missing quote, bracket, = or ;", said);
    tw_text_free(&hint.text);
    return status;
}
