/* cells.c - lines parted into cells, in place. */
#include "base/cells.h"

#include "base/file.h"

#include <string.h>

/* Faults of one table that are told of: who has mended them knows what is wrong with the others. */
#define LISTED_MOST 8

static bool is_blank(char c)
{
    return c == ' ' || c == '\t' || c == '\r';
}

void cells_open(struct cells_reader *reader, const char *path, char *text, size_t length)
{
    bool marked = length >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0; /* some spreadsheets write this before all */

    *reader = (struct cells_reader){ .at = text + (marked ? 3 : 0), .end = text + length, .path = path };
}

/* Cuts the comment off, and the blanks before it. Returns the end of what is left. */
static char *end_of_content(char *at, char *end)
{
    bool quoted = false;
    char *content = at;

    for (; content < end && (quoted || *content != '#'); content++)
        quoted ^= *content == '"';
    while (content > at && is_blank(content[-1]))
        content--;
    return content;
}

static char separator_in(const char *at, const char *end)
{
    static const char order[] = ";\t,";

    for (size_t i = 0; order[i]; i++)
        if (memchr(at, order[i], (size_t)(end - at)))
            return order[i];
    return ',';
}

static bool may_skip(const struct cells_reader *reader, char c)
{
    return is_blank(c) && c != reader->separator;
}

/* A quoted cell, from behind its opening quote: moves the text over doubled quotes. Returns what stands
 * behind the closing one, or NULL when there is none. */
static char *read_quoted(char *at, const char *end, char **text)
{
    char *to = at;

    *text = at;
    for (; at < end; at++) {
        if (*at != '"') {
            *to++ = *at;
        } else if (at + 1 < end && at[1] == '"') {
            *to++ = *at++;
        } else {
            *to = '\0';
            return at + 1;
        }
    }
    return NULL;
}

/* A cell without quotes, ended and its blanks cut off by the caller writing a zero at the returned place. */
static char *read_bare(const struct cells_reader *reader, char *at, char *end, char **text)
{
    *text = at;
    while (at < end && *at != reader->separator)
        at++;
    return at;
}

static enum tw_status part_line(struct cells_reader *reader, char *at, char *end, struct cells *out,
                                struct tw_findings *findings)
{
    struct tw_place place = { .file = reader->path, .line = reader->line };

    for (;;) {
        char *text, *stop, *tail;

        while (at < end && may_skip(reader, *at))
            at++;
        if (at < end && *at == '"') {
            stop = read_quoted(at + 1, end, &text);
            if (!stop)
                return tw_fail(findings, TW_BAD_INPUT, place,
                               "the quote that opens before %s is not closed on this line", at + 1);
            while (stop < end && may_skip(reader, *stop))
                stop++;
            if (stop < end && *stop != reader->separator)
                return tw_fail(findings, TW_BAD_INPUT, place,
                               "behind the quoted \"%s\" stands %s; a cell is quoted as a whole or not at all", text,
                               stop);
        } else {
            stop = read_bare(reader, at, end, &text);
            for (tail = stop; tail > text && is_blank(tail[-1]); tail--)
                tail[-1] = '\0';
        }
        if (out->count == CELLS_MOST)
            return tw_fail(findings, TW_BAD_INPUT, place, "holds more than %d cells; is this a table of readings?",
                           CELLS_MOST);
        out->text[out->count++] = text;
        if (stop >= end)
            return TW_OK;
        *stop = '\0';
        at = stop + 1;
    }
}

enum tw_status cells_next(struct cells_reader *reader, struct cells *out, struct tw_findings *findings)
{
    struct tw_place place = { .file = reader->path };

    *out = (struct cells){ 0 };
    while (reader->at < reader->end) {
        char *start = reader->at;
        char *stop = memchr(start, '\n', (size_t)(reader->end - start));
        char *content;

        stop = stop ? stop : reader->end;
        reader->at = stop < reader->end ? stop + 1 : stop;
        place.line = ++reader->line;
        if (memchr(start, '\0', (size_t)(stop - start)))
            return tw_fail(findings, TW_BAD_INPUT, place, "holds a zero byte; save the table as plain text (UTF-8)");
        content = end_of_content(start, stop);
        *content = '\0';
        while (start < content && is_blank(*start) && *start != '\t')
            start++;
        if (start == content)
            continue;
        if (!reader->separator)
            reader->separator = separator_in(start, content);
        out->line = reader->line;
        return part_line(reader, start, content, out, findings);
    }
    return TW_OK;
}

char *cells_part_unit(char *cell)
{
    char *open = strpbrk(cell, "[("), *close;

    if (!open)
        return NULL;
    close = strpbrk(open, "])");
    if (close)
        *close = '\0';
    *open = '\0';
    for (char *tail = open; tail > cell && (tail[-1] == ' ' || tail[-1] == '\t'); tail--)
        tail[-1] = '\0';
    return open + 1;
}

void cells_print_surplus(const struct cells_reader *reader, const struct cells *cells, size_t columns,
                         struct tw_text *text)
{
    tw_text_print(text, "holds %zu cells, but the heading names %zu columns; ", cells->count, columns);
    if (reader->separator == ',')
        tw_text_print(text, "a comma parts cells, so decimals stand behind a point, ");
    tw_text_print(text, "%sa text that holds the separator in quotes", reader->separator == ',' ? "and " : "put ");
}

bool cells_each(struct cells_reader *reader, const struct cells_use *use, void *table, struct tw_findings *findings)
{
    bool headed = false, sound = true;
    struct cells cells;

    for (;;) {
        if (cells_next(reader, &cells, findings) != TW_OK) {
            sound = false;
            if (!headed)
                return false; /* that was the heading */
        } else if (cells.count == 0) {
            return sound;
        } else if (headed) {
            use->row(table, &cells);
        } else if (!use->heading(table, &cells)) {
            return false;
        } else {
            headed = true;
        }
    }
}

enum tw_status cells_read_file(const char *path, struct cells_reader *reader,
                               void (*take)(void *table, struct tw_findings *own), void *table,
                               struct tw_findings *findings)
{
    struct tw_findings own = { 0 };
    struct tw_text text = { 0 };
    enum tw_status status = tw_file_read(path, &text, &own);

    if (status == TW_OK) {
        cells_open(reader, path, text.data, text.length);
        take(table, &own);
        status = tw_findings_status(&own);
        if (status != TW_OK)
            tw_findings_shorten(&own, LISTED_MOST, path);
    }
    tw_text_free(&text);
    if (findings) {
        tw_findings_append(findings, &own);
        status = status != TW_OK && findings->out_of_memory ? TW_NO_MEMORY : status;
    }
    tw_findings_free(&own);
    return status;
}
