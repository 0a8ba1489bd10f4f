/* tokens.h - the words and marks of a libconfig text, one after another, with the lines they stand on. */
#ifndef TANGWRIGHT_INPUT_TOKENS_H
#define TANGWRIGHT_INPUT_TOKENS_H

#include <stdbool.h>

enum tw_token_kind { TW_TOKEN_END, TW_TOKEN_NAME, TW_TOKEN_NUMBER, TW_TOKEN_STRING, TW_TOKEN_MARK };

struct tw_token {
    enum tw_token_kind kind;
    const char *start;
    int length;
    int line, last_line;
    bool closed; /* a string */
};

/* Starts at the first byte of a text that ends with a zero, on line 1. */
struct tw_scan {
    const char *at;
    int line;
};

/* The next one; comments and blanks before it are passed over. */
struct tw_token tw_token_next(struct tw_scan *scan);

/* Whether it is one of these marks. */
bool tw_token_is_mark(struct tw_token token, const char *marks);

#endif
