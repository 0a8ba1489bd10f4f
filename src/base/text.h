/* text.h - text that grows while it is written.
 *
 * A failed allocation sets `failed` and turns every later call into nothing, so a writer checks
 * once, at the end. Start with `struct tw_text text = { 0 };`. */
#ifndef TANGWRIGHT_BASE_TEXT_H
#define TANGWRIGHT_BASE_TEXT_H

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>

struct tw_text {
    char *data; /* zero-terminated once anything was written; NULL before */
    size_t length, capacity;
    bool failed;
};

void tw_text_print(struct tw_text *text, const char *format, ...) __attribute__((format(printf, 2, 3)));
void tw_text_vprint(struct tw_text *text, const char *format, va_list arguments) __attribute__((format(printf, 2, 0)));
void tw_text_append(struct tw_text *text, const char *data, size_t length);

/* Hands the string to the caller, who frees it, and leaves the text empty. An empty text gives
 * an empty string; NULL means that memory ran out. */
char *tw_text_take(struct tw_text *text);

void tw_text_free(struct tw_text *text);

/* Bytes of the character that the text, which is not at its end, begins with; 0 if that is no well-formed UTF-8. */
size_t tw_utf8_length(const char *text);

/* Whether the bytes are well-formed UTF-8 (RFC 3629): no stray or missing bytes, no overlong form, no surrogate. */
bool tw_is_utf8(const char *text);

#endif
