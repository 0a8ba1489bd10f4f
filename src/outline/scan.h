/* scan.h - walking through text: numbers, words and the line one is in. */
#ifndef TANGWRIGHT_OUTLINE_SCAN_H
#define TANGWRIGHT_OUTLINE_SCAN_H

#include <stdbool.h>
#include <stddef.h>

#define TW_SCAN_LONGEST_NUMBER 64

struct tw_scan {
    const char *at, *end;
    int line; /* of `at`, counted from 1 */
};

enum tw_scanned {
    TW_SCANNED,
    TW_SCAN_NO_NUMBER,   /* something else stands here; nothing was consumed */
    TW_SCAN_LONG_NUMBER, /* more than TW_SCAN_LONGEST_NUMBER characters */
    TW_SCAN_LARGE_NUMBER /* beyond the range of a double */
};

/* Blank, tab, line feed, carriage return, form feed. */
bool tw_scan_is_space(char c);

void tw_scan_spaces(struct tw_scan *scan);

/* The next character, or 0 at the end. */
char tw_scan_peek(const struct tw_scan *scan);

/* A decimal number as nearly every format writes it: sign, digits with a point, exponent. Words such as
 * nan and inf are no numbers. */
enum tw_scanned tw_scan_number(struct tw_scan *scan, double *out);

/* What stands at `at`, for "found ..." in a message: up to 24 characters of one word, quoted, bytes that
 * do not print as '?'; or "the end of the file". Writes at most 40 bytes. */
const char *tw_scan_seen(const struct tw_scan *scan, char out[40]);

/* Lines in [from, to), that is line feeds. */
int tw_scan_lines(const char *from, const char *to);

#endif
