/* plain.h - text of others on its way to a terminal.
 *
 * File names, keys and words of jobs, drawings and tables may hold bytes that a terminal obeys instead of showing them. They
 * are made visible: control characters as \x1b, those of two bytes and those that turn the direction of writing as \u009b,
 * and what is no UTF-8 as its bytes. */
#ifndef TANGWRIGHT_BASE_PLAIN_H
#define TANGWRIGHT_BASE_PLAIN_H

#include "base/text.h"

#include <stdio.h>

/* Line ends stay line ends only with `lines`; else they are made visible, too. */
void tw_plain_print(const char *text, bool lines, FILE *stream);
void tw_plain_append(struct tw_text *out, const char *text);

/* Whether the text holds anything that would be made visible. */
bool tw_is_plain(const char *text);

#endif
