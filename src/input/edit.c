/* edit.c - see edit.h. */
#include "input/edit.h"

#include "base/memory.h"
#include "base/text.h"
#include "input/instead.h"
#include "input/source.h"
#include "input/tokens.h"

#include <stdlib.h>
#include <string.h>

#define NAME_BYTES 64

/* ---- settings in the text ---- */

struct setting {
    const char *name;
    size_t name_length;
    const char *value, *value_end;
    const char *end;                 /* past its ; or , where it has one */
    const char *inside, *inside_end; /* of a group: between its braces; else NULL */
};

/* A group's inside, or the whole text. */
struct body {
    const char *text; /* all of it */
    const char *start, *end;
    bool whole; /* no group's */
};

static const char *end_of(struct tw_token token)
{
    return token.start + token.length;
}

/* Strings in a row are one value (libconfig joins them), and 1e-3 or 0x1F are several tokens without a gap. */
static bool goes_on(struct tw_token now, struct tw_token next)
{
    if (now.kind == TW_TOKEN_STRING)
        return next.kind == TW_TOKEN_STRING;
    return next.start == end_of(now) && (next.kind == TW_TOKEN_NAME || next.kind == TW_TOKEN_NUMBER);
}

static void read_value(struct tw_scan *scan, struct setting *out)
{
    struct tw_token token = tw_token_next(scan), next;
    struct tw_scan ahead;
    int open = tw_token_is_mark(token, "{[(") ? 1 : 0;

    out->value = token.start;
    out->inside = *token.start == '{' ? end_of(token) : NULL;
    while (open > 0 && token.kind != TW_TOKEN_END) {
        token = tw_token_next(scan);
        open += tw_token_is_mark(token, "{[(") ? 1 : tw_token_is_mark(token, "}])") ? -1 : 0;
    }
    out->inside_end = out->inside ? token.start : NULL;
    for (ahead = *scan, next = tw_token_next(&ahead); *out->value != '{' && goes_on(token, next);
         token = next, next = tw_token_next(&ahead))
        *scan = ahead;
    out->value_end = out->end = end_of(token);
    if (tw_token_is_mark(next, ";,")) {
        out->end = end_of(next);
        *scan = ahead;
    }
}

static bool next_setting(struct tw_scan *scan, const struct body *body, struct setting *out)
{
    struct tw_token name = tw_token_next(scan), mark;

    *out = (struct setting){ .name = name.start, .name_length = (size_t)name.length };
    if (name.kind != TW_TOKEN_NAME || name.start >= body->end)
        return false;
    mark = tw_token_next(scan);
    if (!tw_token_is_mark(mark, "=:"))
        return false;
    read_value(scan, out);
    return out->end <= body->end;
}

static bool is_named(const struct setting *setting, const char *name)
{
    return setting->name_length == strlen(name) && strncmp(setting->name, name, setting->name_length) == 0;
}

static bool find_setting(const struct body *body, const char *name, struct setting *out)
{
    struct tw_scan scan = { .at = body->start };

    while (next_setting(&scan, body, out))
        if (is_named(out, name))
            return true;
    return false;
}

/* ---- lines ---- */

/* Bytes of the mark of UTF-8, as some editors write it. */
static size_t mark_bytes(const char *text)
{
    return strncmp(text, "\xef\xbb\xbf", 3) == 0 ? 3 : 0;
}

static const char *line_start(const struct body *body, const char *at)
{
    while (at > body->text && at[-1] != '\n')
        at--;
    return at == body->text ? at + mark_bytes(at) : at;
}

static const char *line_end(const char *at)
{
    at += strcspn(at, "\n");
    return at;
}

static const char *skip_blanks(const char *at)
{
    return at + strspn(at, " \t");
}

static bool begins_line(const struct body *body, const char *at)
{
    return skip_blanks(line_start(body, at)) >= at;
}

static const char *line_mark(const char *text)
{
    const char *end = strchr(text, '\n');

    return end && end > text && end[-1] == '\r' ? "\r\n" : "\n";
}

/* The blanks before the first setting of the body that begins its line; *length is 0 where none does. */
static const char *indent_of(const struct body *body, size_t *length)
{
    struct tw_scan scan = { .at = body->start };
    struct setting setting;

    *length = 0;
    while (next_setting(&scan, body, &setting))
        if (begins_line(body, setting.name)) {
            const char *start = line_start(body, setting.name);

            *length = (size_t)(setting.name - start);
            return start;
        }
    return "";
}

/* ---- notes that hold a key ---- */

/* Whether the comment at `mark` is a setting of that name on one line. */
static bool holds_setting(const char *mark, const char *name, struct setting *out)
{
    const char *end = line_end(mark);
    struct tw_scan scan = { .at = mark + 1 };
    struct body body = { mark, mark, end, false };

    return next_setting(&scan, &body, out) && is_named(out, name) && *out->value != '{' && out->value_end <= end;
}

static const char *after_comment(const char *at)
{
    const char *end = at[1] == '*' ? strstr(at, "*/") : NULL;

    return at[0] == '/' && at[1] == '*' ? (end ? end + 2 : at + strlen(at)) : line_end(at);
}

/* Looks in the blanks and comments between `from` and `to`. */
static const char *note_between(const struct body *body, const char *from, const char *to, const char *name,
                                struct setting *out)
{
    for (const char *at = from; at < to;) {
        bool comment = *at == '#' || (*at == '/' && (at[1] == '/' || at[1] == '*'));

        if (*at == '#' && begins_line(body, at) && holds_setting(at, name, out))
            return at;
        at = comment ? after_comment(at) : at + 1;
    }
    return NULL;
}

/* The # of a line that holds the key as a note among the body's own settings; NULL where there is none. */
static const char *find_note(const struct body *body, const char *name, struct setting *out)
{
    struct tw_scan scan = { .at = body->start };
    const char *from = body->start, *mark = NULL;
    struct setting setting;

    while (!mark && next_setting(&scan, body, &setting)) {
        mark = note_between(body, from, setting.name, name, out);
        from = setting.end;
    }
    return mark ? mark : note_between(body, from, body->end, name, out);
}

/* ---- writing ---- */

static void append_to(struct tw_text *out, const char *from, const char *to)
{
    tw_text_append(out, from, (size_t)(to - from));
}

static size_t column_of(const struct tw_text *out)
{
    size_t at = out->length;

    while (at > 0 && out->data[at - 1] != '\n')
        at--;
    return out->length - at;
}

/* What follows a value on its line; a comment behind it stays in its column, as far as there is room. */
static void append_rest(struct tw_text *out, const char *line, const char *rest)
{
    const char *comment = rest + strspn(rest, " ");
    size_t wanted = (size_t)(comment - line);

    if (!out->failed && comment > rest && (*comment == '#' || *comment == '/')) {
        tw_text_append(out, " ", 1);
        while (!out->failed && column_of(out) < wanted)
            tw_text_append(out, " ", 1);
        rest = comment;
    }
    tw_text_append(out, rest, strlen(rest));
}

static void replace_value(struct tw_text *out, const struct body *body, const struct setting *setting,
                          const char *value)
{
    const char *line = line_start(body, setting->value);

    append_to(out, body->text, setting->value);
    tw_text_print(out, "%s", value);
    append_to(out, setting->value_end, setting->end);
    if (line_end(setting->value) < setting->end)
        tw_text_append(out, setting->end, strlen(setting->end));
    else
        append_rest(out, line, setting->end);
}

static void use_note(struct tw_text *out, const struct body *body, const char *mark, const struct setting *setting,
                     const char *value)
{
    const char *line = line_start(body, mark);
    size_t indent_length;
    const char *indent = indent_of(body, &indent_length);

    append_to(out, body->text, line);
    tw_text_append(out, indent, indent_length);
    append_to(out, setting->name, setting->value);
    tw_text_print(out, "%s;", value);
    append_rest(out, line, setting->end);
}

/* Down to where a setting could be written on a line of its own: below the line of `at`, and below comments that go on
 * from it. NULL where something else stands on that line. */
static const char *below(const struct body *body, const char *at)
{
    size_t indent_length;

    indent_of(body, &indent_length);
    for (;; at++) {
        const char *next;

        at += strspn(at, " \t\r");
        if (*at == '#' || (*at == '/' && (at[1] == '/' || at[1] == '*'))) {
            at = after_comment(at) - 1;
            continue;
        }
        if (*at != '\n')
            return *at == '\0' ? at : NULL;
        next = skip_blanks(at + 1);
        if (*next != '#' || (size_t)(next - at - 1) <= indent_length + 2)
            return at + 1;
        at = next - 1;
    }
}

static void append_setting(struct tw_text *out, const char *name, const char *value)
{
    tw_text_print(out, *value == '{' ? "%s: %s;" : "%s = %s;", name, value);
}

/* Behind the last setting of a group, on a line of its own unless the group stands on one line. */
static void insert_after(struct tw_text *out, const struct body *body, const struct setting *last, const char *name,
                         const char *value)
{
    const char *at = begins_line(body, last->name) ? below(body, last->end) : NULL;
    size_t indent_length;
    const char *indent = indent_of(body, &indent_length);

    if (!at) {
        append_to(out, body->text, last->end);
        tw_text_print(out, last->end == last->value_end ? "; " : " ");
        append_setting(out, name, value);
        tw_text_append(out, last->end, strlen(last->end));
        return;
    }
    append_to(out, body->text, last->value_end);
    tw_text_print(out, last->end == last->value_end ? ";" : "");
    append_to(out, last->value_end, at);
    if (at[-1] != '\n')
        tw_text_print(out, "%s", line_mark(body->text));
    tw_text_append(out, indent, indent_length);
    append_setting(out, name, value);
    tw_text_print(out, "%s%s", line_mark(body->text), at);
}

/* Into a group, or a text, that holds nothing yet. */
static void insert_first(struct tw_text *out, const struct body *body, const char *name, const char *value)
{
    append_to(out, body->text, body->start);
    tw_text_print(out, body->whole ? "" : " ");
    append_setting(out, name, value);
    tw_text_print(out, "%s", body->whole ? line_mark(body->text) : " ");
    tw_text_append(out, body->start, strlen(body->start));
}

static void insert(struct tw_text *out, const struct body *body, const char *name, const char *value)
{
    struct tw_scan scan = { .at = body->start };
    struct setting setting, last = { 0 };

    while (next_setting(&scan, body, &setting))
        last = setting;
    if (last.name)
        insert_after(out, body, &last, name, value);
    else
        insert_first(out, body, name, value);
}

/* A setting with lines of its own gets a # before each; one among others on a line goes. */
static void take_out(struct tw_text *out, const struct body *body, const struct setting *setting)
{
    const char *rest = skip_blanks(setting->end), *from = setting->name;
    const char *line = line_start(body, setting->name);

    append_to(out, body->text, setting->name);
    if (!begins_line(body, setting->name) || !strchr("#/\r\n", *rest)) {
        tw_text_append(out, rest, strlen(rest));
        return;
    }
    for (const char *end = line_end(from); end < setting->end; end = line_end(from)) {
        tw_text_print(out, "# ");
        append_to(out, from, end + 1);
        from = end + 1;
        line = from;
    }
    tw_text_print(out, "# ");
    append_to(out, from, setting->end);
    append_rest(out, line, setting->end);
}

/* ---- rows of a list ---- */

struct row {
    size_t count;                    /* rows of the list */
    const char *start, *end;         /* its braces and all between them; NULL: there is no such row */
    const char *inside, *inside_end; /* between its braces */
    const char *comma;               /* behind it; NULL: it is the last */
    const char *comma_before;        /* NULL: it is the first */
};

/* The row of that number, from 1, of a list that stands in the text. */
static struct row find_row(const struct setting *list, size_t number)
{
    struct tw_scan scan = { .at = list->value };
    struct row row = { 0 };
    const char *comma = NULL;

    tw_token_next(&scan);
    for (struct tw_token token = tw_token_next(&scan); token.start < list->value_end && *token.start != ')';
         token = tw_token_next(&scan)) {
        struct setting group = { 0 };

        if (*token.start == ',') {
            comma = token.start;
            continue;
        }
        scan.at = token.start;
        read_value(&scan, &group);
        row.count++;
        if (row.count == number && strchr("{[(", *group.value)) {
            bool parted = group.end > group.value_end;

            row = (struct row){ row.count,    group.value,      group.value_end,
                                group.inside, group.inside_end, parted ? group.end - 1 : NULL,
                                comma };
        }
        comma = group.end > group.value_end ? group.end - 1 : NULL;
    }
    return row;
}

/* Becomes a note where it has lines of its own; the comma goes that would stand before nothing. */
static void take_row_out(struct tw_text *out, const char *text, const struct row *row)
{
    struct setting setting = { .name = row->start, .end = row->comma ? row->comma + 1 : row->end };
    struct body body = { text, text, text + strlen(text), true };
    struct tw_text without = { 0 };
    size_t start = (size_t)(row->start - text), end = (size_t)(setting.end - text);

    if (row->comma || !row->comma_before) {
        take_out(out, &body, &setting);
        return;
    }
    append_to(&without, text, row->comma_before);
    tw_text_append(&without, row->comma_before + 1, strlen(row->comma_before + 1));
    if (!without.failed) {
        body = (struct body){ without.data, without.data, without.data + without.length, true };
        setting.name = without.data + start - 1;
        setting.end = without.data + end - 1;
        take_out(out, &body, &setting);
    }
    out->failed |= without.failed;
    tw_text_free(&without);
}

static void replace_row(struct tw_text *out, const char *text, const struct row *row, const char *value)
{
    append_to(out, text, row->start);
    tw_text_print(out, "%s%s", value, row->end);
}

/* Below the last row where that has lines of its own, else beside it. */
static void add_row(struct tw_text *out, const struct body *body, const struct setting *list, const char *value)
{
    struct row row = find_row(list, find_row(list, 0).count);
    const char *rest = row.end ? skip_blanks(row.end) : NULL, *line;

    if (!row.end) {
        append_to(out, body->text, list->value + 1);
        tw_text_print(out, " %s ", value);
        tw_text_append(out, list->value + 1, strlen(list->value + 1));
        return;
    }
    append_to(out, body->text, row.end);
    if (!begins_line(body, row.start) || !strchr("#/\r\n", *rest)) {
        tw_text_print(out, ", %s", value);
        tw_text_append(out, row.end, strlen(row.end));
        return;
    }
    line = line_start(body, row.start);
    rest = line_end(row.end);
    rest -= rest > row.end && rest[-1] == '\r' ? 1 : 0;
    tw_text_append(out, ",", 1);
    append_to(out, row.end, rest);
    tw_text_print(out, "%s%.*s%s", line_mark(body->text), (int)(row.start - line), line, value);
    tw_text_append(out, rest, strlen(rest));
}

/* ---- one change ---- */

/* Follows the key's groups as far as they stand there; *rest is what is left of it. */
static struct body find_body(const char *text, const char *key, const char **rest)
{
    struct body body = { text, text + mark_bytes(text), text + strlen(text), true };
    const char *dot;

    while ((dot = strchr(key, '.'))) {
        struct setting setting;
        char name[NAME_BYTES];

        struct row row = { 0 };
        size_t number;

        snprintf(name, sizeof name, "%.*s", (int)(dot - key), key);
        number = tw_instead_row(name);
        if (!find_setting(&body, name, &setting))
            break;
        if (number > 0)
            row = find_row(&setting, number);
        else
            row = (struct row){ .inside = setting.inside, .inside_end = setting.inside_end };
        if (!row.inside)
            break;
        body.start = row.inside;
        body.end = row.inside_end;
        body.whole = false;
        key = dot + 1;
    }
    *rest = key;
    return body;
}

/* "spindle.max_speed" and "5000 rpm" to what is not there yet: { max_speed = "5000 rpm"; }, inside of `open` and `close`. */
static void wrap(const char *rest, const char *value, const char *open, const char *close, struct tw_text *out)
{
    const char *dot = strchr(rest, '.');

    if (!dot) {
        tw_text_print(out, "%s", value);
        return;
    }
    tw_text_print(out, "{%s%.*s%s ", open, (int)strcspn(dot + 1, "."), dot + 1, strchr(dot + 1, '.') ? ":" : " =");
    wrap(dot + 1, value, " ", " ", out);
    tw_text_print(out, ";%s}", close);
}

/* A key of its own, or the groups that are missing round it: at the end of a text on lines of their own. */
static void insert_wrapped(struct tw_text *out, const struct body *body, const char *rest, const char *value)
{
    const char *line = line_mark(body->text);
    struct tw_text wrapped = { 0 };
    char name[NAME_BYTES], open[8];

    snprintf(name, sizeof name, "%.*s", (int)strcspn(rest, "."), rest);
    snprintf(open, sizeof open, "%s    ", line);
    if (body->whole)
        wrap(rest, value, open, line, &wrapped);
    else
        wrap(rest, value, " ", " ", &wrapped);
    insert(out, body, name, wrapped.data ? wrapped.data : "");
    out->failed |= wrapped.failed;
    tw_text_free(&wrapped);
}

/* Whether that row can be taken out, or added. */
static bool change_row(const struct body *body, char *name, size_t number, const char *value, struct tw_text *out)
{
    bool removes = strcmp(value, "none") == 0;
    struct setting list;
    struct row row;

    if (!find_setting(body, name, &list)) {
        struct tw_text whole = { 0 };

        tw_text_print(&whole, "( %s )", value);
        if (!removes)
            insert_wrapped(out, body, name, whole.data ? whole.data : "");
        out->failed |= whole.failed;
        tw_text_free(&whole);
        return !removes;
    }
    row = find_row(&list, number);
    if (*list.value != '(' || (!row.start && (removes || number != row.count + 1))) {
        tw_text_print(out, "%s", body->text);
        return true; /* which the proof then refuses */
    }
    if (removes)
        take_row_out(out, body->text, &row);
    else if (row.start)
        replace_row(out, body->text, &row, value);
    else
        add_row(out, body, &list, value);
    return true;
}

/* Whether the key stands there. */
static bool change(const char *text, const char *key, const char *value, struct tw_text *out)
{
    const char *rest, *mark;
    struct body body = find_body(text, key, &rest);
    bool home = !strchr(rest, '.'), removes = strcmp(value, "none") == 0;
    struct setting setting;
    char name[NAME_BYTES];
    size_t row;

    snprintf(name, sizeof name, "%s", rest);
    row = home || strchr(rest, '[') > strrchr(rest, '.') ? tw_instead_row(name) : 0;
    if (row > 0)
        return change_row(&body, name, row, value, out);
    if (home && find_setting(&body, rest, &setting)) {
        if (removes)
            take_out(out, &body, &setting);
        else
            replace_value(out, &body, &setting, value);
        return true;
    }
    if (removes) {
        tw_text_print(out, "%s", text);
        return false;
    }
    mark = home ? find_note(&body, rest, &setting) : NULL;
    if (mark)
        use_note(out, &body, mark, &setting, value);
    else
        insert_wrapped(out, &body, rest, value);
    return true;
}

/* ---- the proof ---- */

static bool same_setting(const config_setting_t *a, const config_setting_t *b)
{
    int count = config_setting_length(a);

    if (config_setting_type(a) != config_setting_type(b) || count != config_setting_length(b))
        return false;
    switch (config_setting_type(a)) {
    case CONFIG_TYPE_STRING:
        return strcmp(config_setting_get_string(a), config_setting_get_string(b)) == 0;
    case CONFIG_TYPE_FLOAT:
        return config_setting_get_float(a) == config_setting_get_float(b);
    case CONFIG_TYPE_BOOL:
        return config_setting_get_bool(a) == config_setting_get_bool(b);
    case CONFIG_TYPE_INT:
    case CONFIG_TYPE_INT64:
        return config_setting_get_int64(a) == config_setting_get_int64(b);
    default:
        break;
    }
    for (int i = 0; i < count; i++) {
        const config_setting_t *one = config_setting_get_elem(a, (unsigned)i);
        const config_setting_t *other = config_setting_is_group(a)
                                            ? config_setting_get_member(b, config_setting_name(one))
                                            : config_setting_get_elem(b, (unsigned)i);

        if (!other || !same_setting(one, other))
            return false;
    }
    return true;
}

/* The new text must say what the old one said with the same change made to its settings, and nothing else. */
static enum tw_status prove(const char *path, const struct tw_source *before, const char *text, const char *key,
                            struct tw_findings *findings)
{
    struct tw_findings said = { 0 };
    struct tw_source after;
    enum tw_status status = tw_source_parse(path, text, strlen(text), &after, &said);

    if (status == TW_BAD_INPUT ||
        (status == TW_OK && !same_setting(config_root_setting(&before->config), config_root_setting(&after.config))))
        status = tw_fail(findings, TW_BAD_INPUT, (struct tw_place){ .file = path, .key = key },
                         "cannot be changed at its place without touching what stands beside it; change it in a text "
                         "editor");
    else if (status != TW_OK)
        tw_findings_append(findings, &said);
    tw_source_free(&after);
    tw_findings_free(&said);
    return status;
}

/* Replaces *text by itself with one change made. */
static enum tw_status change_proved(const char *path, char **text, const struct tw_instead *instead,
                                    struct tw_findings *findings)
{
    struct tw_source before;
    struct tw_text changed = { 0 };
    enum tw_status status = tw_source_parse(path, *text, strlen(*text), &before, findings);
    bool stands = status == TW_OK && change(*text, instead->key, instead->value, &changed);

    if (stands)
        status = tw_instead_apply(&before, instead, 1, findings);
    if (status == TW_OK && changed.failed)
        status = tw_no_memory(findings);
    if (status == TW_OK)
        status = prove(path, &before, changed.data ? changed.data : "", instead->key, findings);
    if (status == TW_OK) {
        free(*text);
        *text = tw_text_take(&changed);
        status = *text ? TW_OK : tw_no_memory(findings);
    }
    tw_text_free(&changed);
    tw_source_free(&before);
    return status;
}

enum tw_status tw_edit_text(const char *path, const char *text, const struct tw_instead *changes, size_t count,
                            char **out, struct tw_findings *findings)
{
    char *now = tw_copy_string(text);
    enum tw_status status = now ? TW_OK : tw_no_memory(findings);

    for (size_t i = 0; status == TW_OK && i < count; i++)
        status = change_proved(path, &now, &changes[i], findings);
    *out = NULL;
    if (status == TW_OK)
        *out = now;
    else
        free(now);
    return status;
}
