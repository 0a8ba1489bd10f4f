/* lines.h - a program as lines that can be damaged: words found, lines replaced, moved and lost, at places drawn from a
 * seeded generator. Comments are no words. */
#ifndef TANGWRIGHT_TESTS_FAULTS_LINES_H
#define TANGWRIGHT_TESTS_FAULTS_LINES_H

#include "../samples/sample.h"

#include <ctype.h>
#include <math.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdint.h>

#define MORE_LINES  600               /* room for copies of a layer */
#define ARENA_BYTES ((size_t)8 << 20) /* every line of the longest program written anew, in pieces, and a few times */

struct line {
    const char *text;
    int length;
};

/* A card on its way from the planner to the machine. */
struct mutant {
    const struct sample *sample;
    enum tw_side side; /* for which it is used */
    enum tw_scope scope;
    const char *file_name;
    const char *other; /* a good program of the same side of another job, or of the other side */
    struct tw_job job; /* a copy by value: its pointers stay the sample's */
    bool job_changed;
    struct line *lines;
    size_t count, capacity;
    bool returns; /* lines end with CR LF */
    char arena[ARENA_BYTES];
    size_t used;
    uint64_t random;
};

/* What programs are called where the machine says nothing of it. */
static inline const char *usual_name(enum tw_side side, enum tw_scope scope)
{
    static const char *const names[2][4] = {
        { "side-a.nc", "side-a-rough.nc", "side-a-finish.nc", "side-a-relief.nc" },
        { "side-b.nc", "side-b-rough.nc", "side-b-finish.nc", "side-b-relief.nc" },
    };

    return names[side][scope];
}

/* ---- chance ---- */

/* A Weyl sequence, hashed by multiplications and shifts so that near seeds give far numbers. */
static inline uint64_t next_random(struct mutant *m)
{
    uint64_t z = m->random += 0x9e3779b97f4a7c15u;

    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9u;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebu;
    return z ^ (z >> 31);
}

static inline size_t draw(struct mutant *m, size_t below)
{
    return below ? (size_t)(next_random(m) % below) : 0;
}

static inline double draw_between(struct mutant *m, double low, double high)
{
    return low + (high - low) * (double)(next_random(m) >> 11) / 9007199254740992.0;
}

/* ---- lines ---- */

static inline void split_lines(struct mutant *m, const char *text)
{
    m->count = 0;
    m->returns = strchr(text, '\r') != NULL;
    while (*text) {
        size_t length = strcspn(text, "\r\n");

        cr_assert(m->count < m->capacity);
        m->lines[m->count++] = (struct line){ text, (int)length };
        text += length;
        text += *text == '\r';
        text += *text == '\n';
    }
}

static inline size_t line_breaks(const char *text)
{
    size_t count = 1;

    for (; *text; text++)
        count += *text == '\n';
    return count;
}

static inline void join_lines(const struct mutant *m, struct tw_text *out)
{
    for (size_t i = 0; i < m->count; i++) {
        tw_text_append(out, m->lines[i].text, (size_t)m->lines[i].length);
        tw_text_append(out, m->returns ? "\r\n" : "\n", m->returns ? 2 : 1);
    }
}

__attribute__((format(printf, 2, 0))) static inline struct line new_line(struct mutant *m, const char *format,
                                                                         va_list arguments)
{
    char *at = m->arena + m->used;
    int length = vsnprintf(at, ARENA_BYTES - m->used, format, arguments);

    cr_assert(length >= 0 && (size_t)length < ARENA_BYTES - m->used, "no room for damaged lines");
    m->used += (size_t)length + 1;
    return (struct line){ at, length };
}

__attribute__((format(printf, 3, 4))) static inline void set_line(struct mutant *m, size_t at, const char *format, ...)
{
    va_list arguments;

    va_start(arguments, format);
    m->lines[at] = new_line(m, format, arguments);
    va_end(arguments);
}

static inline void remove_lines(struct mutant *m, size_t at, size_t count)
{
    memmove(m->lines + at, m->lines + at + count, (m->count - at - count) * sizeof *m->lines);
    m->count -= count;
}

/* Makes room for lines at `at`. */
static inline bool open_gap(struct mutant *m, size_t at, size_t count)
{
    if (m->count + count > m->capacity)
        return false;
    memmove(m->lines + at + count, m->lines + at, (m->count - at) * sizeof *m->lines);
    m->count += count;
    return true;
}

static inline bool copy_lines(struct mutant *m, size_t from, size_t count)
{
    if (!open_gap(m, from + count, count))
        return false;
    memcpy(m->lines + from + count, m->lines + from, count * sizeof *m->lines);
    return true;
}

__attribute__((format(printf, 3, 4))) static inline bool insert_line(struct mutant *m, size_t at, const char *format,
                                                                     ...)
{
    va_list arguments;

    if (!open_gap(m, at, 1))
        return false;
    va_start(arguments, format);
    m->lines[at] = new_line(m, format, arguments);
    va_end(arguments);
    return true;
}

/* Puts other text in place of the characters from..to-1 of a line. */
__attribute__((format(printf, 5, 6))) static inline bool replace_part(struct mutant *m, size_t at, int from, int to,
                                                                      const char *format, ...)
{
    char part[256];
    struct line line = m->lines[at];
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(part, sizeof part, format, arguments);
    va_end(arguments);
    set_line(m, at, "%.*s%s%.*s", from, line.text, part, line.length - to, line.text + to);
    return true;
}

/* ---- words ---- */

struct word {
    size_t line;
    char letter;
    int at, from, to; /* the letter; its number */
    double value;
};

/* The next word of a line after position *at. */
static inline bool next_word(const struct mutant *m, size_t index, int *at, struct word *out)
{
    const struct line *line = &m->lines[index];
    int i = *at;

    while (i < line->length && !isupper((unsigned char)line->text[i])) {
        if (line->text[i] == '(')
            while (i < line->length && line->text[i] != ')')
                i++;
        if (i < line->length)
            i++;
    }
    if (i >= line->length)
        return false;
    *out = (struct word){ .line = index, .letter = line->text[i], .at = i, .from = i + 1, .to = i + 1 };
    while (out->to < line->length && strchr("+-.0123456789", line->text[out->to]))
        out->to++;
    out->value = strtod(line->text + out->from, NULL);
    *at = out->to;
    return true;
}

/* The first word with one of these letters. */
static inline bool find_word(const struct mutant *m, size_t index, const char *letters, struct word *out)
{
    int at = 0;

    while (next_word(m, index, &at, out))
        if (strchr(letters, out->letter))
            return true;
    return false;
}

static inline bool find_code(const struct mutant *m, size_t index, char letter, double value, struct word *out)
{
    int at = 0;

    while (next_word(m, index, &at, out))
        if (out->letter == letter && fabs(out->value - value) < 1e-9)
            return true;
    return false;
}

static inline bool has_code(const struct mutant *m, size_t index, char letter, double value)
{
    struct word word;

    return find_code(m, index, letter, value, &word);
}

/* A line of comment behind the head. */
static inline bool is_comment(const struct mutant *m, size_t index)
{
    return m->lines[index].length > 2 && m->lines[index].text[0] == '(';
}

/* Any word but the line's number. */
static inline bool is_command(const struct mutant *m, size_t index)
{
    struct word word;

    return find_word(m, index, "ABCDEFGHIJKLMOPQRSTUVWXYZ", &word);
}

static inline bool is_rapid(const struct mutant *m, size_t index)
{
    return has_code(m, index, 'G', 0);
}

static inline bool is_feed(const struct mutant *m, size_t index)
{
    return has_code(m, index, 'G', 1);
}

static inline bool is_move(const struct mutant *m, size_t index)
{
    return is_rapid(m, index) || is_feed(m, index);
}

static inline bool is_layer(const struct mutant *m, size_t index)
{
    return m->lines[index].length > 6 && memcmp(m->lines[index].text, "(PASS ", 6) == 0;
}

static inline const struct tw_machine *machine_of(const struct mutant *m)
{
    return &m->sample->job.machine;
}

/* A move of the up axis alone. */
static inline bool goes_up_or_down(const struct mutant *m, size_t index)
{
    char others[3] = { machine_of(m)->along.letter, machine_of(m)->across.letter, '\0' };
    char up[2] = { machine_of(m)->up.letter, '\0' };
    struct word word;

    return is_move(m, index) && find_word(m, index, up, &word) && !find_word(m, index, others, &word);
}

typedef bool line_test(const struct mutant *m, size_t index);

/* A line drawn from those that pass the test; false where there is none. */
static inline bool pick_line(struct mutant *m, line_test *fits, size_t *out)
{
    size_t count = 0, wanted;

    for (size_t i = 0; i < m->count; i++)
        count += fits(m, i);
    wanted = draw(m, count);
    for (size_t i = 0; i < m->count; i++)
        if (fits(m, i) && wanted-- == 0) {
            *out = i;
            return true;
        }
    return false;
}

static inline bool first_line(const struct mutant *m, line_test *fits, size_t *out)
{
    for (*out = 0; *out < m->count; ++*out)
        if (fits(m, *out))
            return true;
    return false;
}

static inline bool last_line(const struct mutant *m, line_test *fits, size_t *out)
{
    for (*out = m->count; (*out)-- > 0;)
        if (fits(m, *out))
            return true;
    return false;
}

/* A word drawn from all with one of these letters, outside comments. */
static inline bool pick_word(struct mutant *m, const char *letters, struct word *out)
{
    size_t count = 0, wanted;

    for (int pass = 0; pass < 2; pass++) {
        wanted = pass ? draw(m, count) : 0;
        for (size_t i = 0; i < m->count; i++)
            for (int at = 0; next_word(m, i, &at, out);) {
                if (!strchr(letters, out->letter))
                    continue;
                if (pass && wanted-- == 0)
                    return true;
                count += !pass;
            }
    }
    return false;
}

/* ---- numbers in the program's unit ---- */

static inline double word_per_mm(const struct mutant *m, const struct tw_axis *axis)
{
    return axis->sign / (machine_of(m)->dialect.inch ? 25.4 : 1.0);
}

static inline bool set_value(struct mutant *m, const struct word *word, double value)
{
    const char *point = memchr(m->lines[word->line].text + word->from, '.', (size_t)(word->to - word->from));
    int decimals = point ? (int)(m->lines[word->line].text + word->to - point) - 1 : 0;

    return replace_part(m, word->line, word->from, word->to, "%.*f", decimals, value);
}

/* Moves every word of this axis in the lines from..to-1; true when there was one. */
static inline bool shift_axis(struct mutant *m, size_t from, size_t to, const struct tw_axis *axis, double by_mm)
{
    char letter[2] = { axis->letter, '\0' };
    struct word word;
    bool any = false;

    for (size_t i = from; i < to && i < m->count; i++)
        if (is_move(m, i) && find_word(m, i, letter, &word))
            any |= set_value(m, &word, word.value + by_mm * word_per_mm(m, axis));
    return any;
}

#endif
