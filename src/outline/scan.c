/* scan.c - numbers, spaces and what to show in a message. */
#include "outline/scan.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

bool tw_scan_is_space(char c)
{
    return c == ' ' || c == '\t' || c == '\n' || c == '\r' || c == '\f';
}

void tw_scan_spaces(struct tw_scan *scan)
{
    while (scan->at < scan->end && tw_scan_is_space(*scan->at))
        scan->line += *scan->at++ == '\n';
}

char tw_scan_peek(const struct tw_scan *scan)
{
    return scan->at < scan->end ? *scan->at : '\0';
}

static bool is_digit(const char *at, const char *end)
{
    return at < end && *at >= '0' && *at <= '9';
}

static const char *after_digits(const char *at, const char *end)
{
    while (is_digit(at, end))
        at++;
    return at;
}

/* Where the number that begins at `at` ends; `at` itself when there is none. */
static const char *end_of_number(const char *at, const char *end)
{
    const char *start = at, *digits, *exponent;
    size_t digit_count;

    if (at < end && (*at == '+' || *at == '-'))
        at++;
    digits = at;
    at = after_digits(at, end);
    digit_count = (size_t)(at - digits);
    if (at < end && *at == '.') {
        digits = at + 1;
        at = after_digits(digits, end);
        digit_count += (size_t)(at - digits);
    }
    if (digit_count == 0)
        return start;
    if (at < end && (*at == 'e' || *at == 'E')) {
        exponent = at + 1;
        if (exponent < end && (*exponent == '+' || *exponent == '-'))
            exponent++;
        if (is_digit(exponent, end))
            at = after_digits(exponent, end);
    }
    return at;
}

enum tw_scanned tw_scan_number(struct tw_scan *scan, double *out)
{
    const char *stop = end_of_number(scan->at, scan->end);
    size_t length = (size_t)(stop - scan->at);
    char copy[TW_SCAN_LONGEST_NUMBER + 1];

    if (length == 0)
        return TW_SCAN_NO_NUMBER;
    if (length > TW_SCAN_LONGEST_NUMBER)
        return TW_SCAN_LONG_NUMBER;
    memcpy(copy, scan->at, length);
    copy[length] = '\0';
    *out = strtod(copy, NULL);
    if (!isfinite(*out))
        return TW_SCAN_LARGE_NUMBER;
    scan->at = stop;
    return TW_SCANNED;
}

const char *tw_scan_seen(const struct tw_scan *scan, char out[40])
{
    const char *at = scan->at;
    size_t length = 0;

    if (at >= scan->end)
        return "the end of the file";
    out[length++] = '\'';
    do {
        out[length++] = *at >= ' ' && *at <= '~' ? *at : '?';
        at++;
    } while (at < scan->end && length < 25 && !tw_scan_is_space(*at));
    out[length++] = '\'';
    out[length] = '\0';
    return out;
}

int tw_scan_lines(const char *from, const char *to)
{
    int lines = 0;

    while ((from = memchr(from, '\n', (size_t)(to - from)))) {
        lines++;
        from++;
    }
    return lines;
}
