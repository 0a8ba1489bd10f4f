/* read.c - taking one line apart into words and comments: NISTIR 6556, section 3.3. */
#include "rs274/parts.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* Words beyond this are refused, so that no later sum or product can overflow. The report sets no limit. */
#define LARGEST_VALUE 1e9

struct reader {
    const char *start, *at, *end;
    struct rs274_line *line;
    struct rs274_faults *faults;
};

bool rs274_fault(struct rs274_faults *faults, int line, enum tw_rs274_error error, const char *format, ...)
{
    struct tw_place at = { .file = faults->name, .line = line };
    char sentence[400];
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(sentence, sizeof sentence, format, arguments);
    va_end(arguments);
    tw_fail(faults->findings, TW_BAD_INPUT, at, "%s", sentence);
    if (faults->first == TW_RS274_NO_ERROR) {
        faults->first = error;
        faults->first_line = line;
    }
    faults->count++;
    return false;
}

static void skip_blanks(struct reader *reader)
{
    while (reader->at < reader->end && rs274_is_blank(*reader->at))
        reader->at++;
}

/* The next character that is no blank, without taking it; 0 at the end of the line. */
static char peek(struct reader *reader)
{
    skip_blanks(reader);
    return reader->at < reader->end ? *reader->at : '\0';
}

static int column(const struct reader *reader)
{
    return (int)(reader->at - reader->start) + 1;
}

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static char upper(char c)
{
    return c >= 'a' && c <= 'z' ? (char)(c - 'a' + 'A') : c;
}

static bool is_letter(char c)
{
    return upper(c) >= 'A' && upper(c) <= 'Z';
}

bool rs274_whole(double value, int *out)
{
    double nearest = round(value);

    if (fabs(value - nearest) > 0.0001 || fabs(nearest) > 1e9)
        return false;
    *out = (int)nearest;
    return true;
}

static bool bad_character(struct reader *reader)
{
    unsigned char c = (unsigned char)*reader->at;
    char seen[16];

    snprintf(seen, sizeof seen, c > 32 && c < 127 ? "'%c'" : "with code %d", c);
    return rs274_fault(reader->faults, reader->line->line, TW_RS274_BAD_CHARACTER,
                       "column %d: character %s cannot stand here; a line is made of words (one of the letters "
                       "A B C D F G H I J K L M P Q R S T X Y Z and a number) and comments in ( )",
                       column(reader), seen);
}

/* True at "#", "[" or a function such as "SIN[": values the report allows and this core leaves out. */
static bool at_expression(struct reader *reader)
{
    const char *c = reader->at;

    if (c < reader->end && (*c == '#' || *c == '['))
        return true;
    while (c < reader->end && (rs274_is_blank(*c) || is_letter(*c)))
        c++;
    return c - reader->at >= 2 && c < reader->end && *c == '[';
}

static bool refuse_expression(struct reader *reader)
{
    return rs274_fault(reader->faults, reader->line->line, TW_RS274_NOT_SUPPORTED,
                       "column %d: parameters (#) and expressions ([ ]) are not supported; write plain numbers",
                       column(reader));
}

/* 10^n for n >= 0. Powers up to 10^22 are exact, so what people write is rounded correctly. */
static long double power_of_ten(int n)
{
    static const long double powers[] = { 1e0L,  1e1L,  1e2L,  1e3L,  1e4L,  1e5L,  1e6L,  1e7L,
                                          1e8L,  1e9L,  1e10L, 1e11L, 1e12L, 1e13L, 1e14L, 1e15L,
                                          1e16L, 1e17L, 1e18L, 1e19L, 1e20L, 1e21L, 1e22L };

    return n <= 22 ? powers[n] : powl(10.0L, n);
}

/* digits * 10^exponent. Up to 2^53 and 10^22 both are exact doubles, and one division is rounded correctly.
 */
static double scaled(uint64_t digits, int exponent)
{
    if (digits <= (uint64_t)1 << 53 && exponent <= 0 && exponent >= -22)
        return (double)digits / (double)power_of_ten(-exponent);
    if (exponent >= 0)
        return (double)((long double)digits * power_of_ten(exponent));
    return (double)((long double)digits / power_of_ten(-exponent));
}

/* Sign, digits, at most one point, digits; blanks anywhere between: NISTIR 6556, section 3.3.2.1. */
static bool read_number(struct reader *reader, char letter, double *out)
{
    uint64_t digits = 0;
    int exponent = 0, count = 0, from = column(reader);
    bool negative = false, point = false;
    char c = peek(reader);

    if (c == '+' || c == '-') {
        negative = c == '-';
        reader->at++;
        c = peek(reader);
    }
    for (;; reader->at++, c = peek(reader)) {
        if (is_digit(c)) {
            /* 18 digits fit; the report keeps about 17, and those beyond only count as powers of ten. */
            if (digits < 100000000000000000U) {
                digits = digits * 10 + (uint64_t)(c - '0');
                exponent -= point;
            } else {
                exponent += !point;
            }
            count++;
        } else if (c == '.' && !point) {
            point = true;
        } else {
            break;
        }
    }
    if (count == 0 && at_expression(reader))
        return refuse_expression(reader);
    if (count == 0 || c == '.' || c == '+' || c == '-')
        return rs274_fault(reader->faults, reader->line->line, TW_RS274_BAD_NUMBER,
                           "column %d: %c needs one number after it: an optional sign, digits and at most one "
                           "decimal point, such as %c-12.5",
                           from, letter, letter);
    *out = digits == 0 ? 0.0 : scaled(digits, exponent);
    if (*out > LARGEST_VALUE)
        return rs274_fault(reader->faults, reader->line->line, TW_RS274_NUMBER_TOO_LARGE,
                           "column %d: the number after %c is above %g, more than any word can mean", from, letter,
                           LARGEST_VALUE);
    if (negative)
        *out = -*out;
    return true;
}

static bool read_comment(struct reader *reader)
{
    const char *text = ++reader->at;

    for (; reader->at < reader->end; reader->at++) {
        unsigned char c = (unsigned char)*reader->at;

        if (c == ')') {
            reader->line->comment = text;
            reader->line->comment_length = (size_t)(reader->at++ - text);
            return true;
        }
        if (c == '(')
            return rs274_fault(reader->faults, reader->line->line, TW_RS274_BAD_COMMENT,
                               "column %d: a second ( inside a comment; close the first with ) before it",
                               column(reader));
        if ((c < ' ' && c != '\t') || c == 127)
            return rs274_fault(reader->faults, reader->line->line, TW_RS274_BAD_COMMENT,
                               "column %d: a comment holds a character with code %d; no control character but tab may "
                               "stand in it",
                               column(reader), c);
    }
    return rs274_fault(reader->faults, reader->line->line, TW_RS274_BAD_COMMENT,
                       "the comment is not closed; a ) must follow on the same line");
}

static bool read_block_number(struct reader *reader)
{
    int number = 0, count = 0;
    char c;

    reader->at++;
    for (c = peek(reader); is_digit(c) && count <= 5; reader->at++, c = peek(reader), count++)
        number = number * 10 + (c - '0');
    if (count < 1 || count > 5 || c == '.')
        return rs274_fault(reader->faults, reader->line->line, TW_RS274_BAD_LINE_NUMBER,
                           "a line number is N with one to five digits, without sign or decimal point");
    reader->line->block_number = number;
    return true;
}

static bool take_g(struct reader *reader, double value)
{
    const struct rs274_code *code = NULL;
    int tenths;

    if (rs274_whole(value * 10.0, &tenths))
        code = rs274_find_g(tenths);
    if (!code)
        return rs274_fault(reader->faults, reader->line->line, TW_RS274_UNKNOWN_CODE,
                           "G%.10g is no code of RS-274; see the list in docs/rs274.md", value);
    if (code->not_supported)
        return rs274_fault(reader->faults, reader->line->line, TW_RS274_NOT_SUPPORTED,
                           "G%.10g (%s) is not supported; write it as G0, G1, G2 and G3 moves", value,
                           code->not_supported);
    if (reader->line->g[code->group] != RS274_NOT_THERE)
        return rs274_fault(reader->faults, reader->line->line, TW_RS274_GROUP_CLASH,
                           "G%.10g and G%.10g stand on one line; of %s only one may",
                           reader->line->g[code->group] / 10.0, value, rs274_g_group_name(code->group));
    reader->line->g[code->group] = tenths;
    return true;
}

static bool take_m(struct reader *reader, double value)
{
    const struct rs274_code *code = NULL;
    int number;

    if (rs274_whole(value, &number))
        code = rs274_find_m(number);
    if (!code)
        return rs274_fault(reader->faults, reader->line->line, TW_RS274_UNKNOWN_CODE,
                           "M%.10g is no code of RS-274; see the list in docs/rs274.md", value);
    if (code->not_supported)
        return rs274_fault(reader->faults, reader->line->line, TW_RS274_NOT_SUPPORTED,
                           "M%d (%s) is not supported; M0 stops, M2 and M30 end", number, code->not_supported);
    if (++reader->line->m_count > 4)
        return rs274_fault(reader->faults, reader->line->line, TW_RS274_TOO_MANY_M,
                           "more than four M words stand on this line; four is the most");
    if (reader->line->m[code->group] != RS274_NOT_THERE)
        return rs274_fault(reader->faults, reader->line->line, TW_RS274_GROUP_CLASH,
                           "M%d and M%d stand on one line; of %s only one may", reader->line->m[code->group], number,
                           rs274_m_group_name(code->group));
    reader->line->m[code->group] = number;
    return true;
}

static bool take_word(struct reader *reader, char letter, double value)
{
    struct rs274_line *line = reader->line;

    if (letter == 'G')
        return take_g(reader, value);
    if (letter == 'M')
        return take_m(reader, value);
    if (letter == 'A' || letter == 'B' || letter == 'C')
        return rs274_fault(reader->faults, line->line, TW_RS274_NOT_SUPPORTED,
                           "%c%.10g: rotary axes (A B C) are not supported; the machine has X, Y and Z", letter, value);
    if (line->letters & rs274_bit(letter))
        return rs274_fault(reader->faults, line->line, TW_RS274_REPEATED_WORD,
                           "%c stands twice on this line, as %.10g and %.10g; each letter but G and M may stand once",
                           letter, line->value[letter - 'A'], value);
    if (value < 0.0 && strchr("DFHLPQST", letter))
        return rs274_fault(reader->faults, line->line, TW_RS274_NEGATIVE_VALUE, "%c%.10g is below zero; %c may not be",
                           letter, value, letter);
    line->letters |= rs274_bit(letter);
    line->value[letter - 'A'] = value;
    return true;
}

static bool read_word(struct reader *reader, char letter)
{
    double value = 0.0;

    if (letter == 'N')
        return rs274_fault(reader->faults, reader->line->line, TW_RS274_LINE_NUMBER_PLACE,
                           "column %d: a line number stands after other words; it goes first on its line",
                           column(reader));
    if (letter == 'E' || letter == 'O' || letter == 'U' || letter == 'V' || letter == 'W')
        return bad_character(reader);
    reader->at++;
    return read_number(reader, letter, &value) && take_word(reader, letter, value);
}

static bool read_item(struct reader *reader, char c)
{
    if (is_letter(c))
        return read_word(reader, upper(c));
    if (c == '(')
        return read_comment(reader);
    if (c == '#')
        return refuse_expression(reader);
    return bad_character(reader);
}

bool rs274_read_line(const char *text, size_t length, int number, struct rs274_line *line, struct rs274_faults *faults)
{
    struct reader reader = { text, text, text + length, line, faults };

    line->line = number;
    line->block_number = RS274_NOT_THERE;
    line->letters = 0;
    line->m_count = 0;
    line->comment = NULL;
    for (int i = 0; i < RS274_G_GROUPS; i++)
        line->g[i] = RS274_NOT_THERE;
    for (int i = 0; i < RS274_M_GROUPS; i++)
        line->m[i] = RS274_NOT_THERE;

    if (upper(peek(&reader)) == 'N' && !read_block_number(&reader))
        return false;
    for (skip_blanks(&reader); reader.at < reader.end; skip_blanks(&reader))
        if (!read_item(&reader, *reader.at))
            return false;
    return true;
}
