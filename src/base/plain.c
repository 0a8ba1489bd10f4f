/* plain.c - text of others on its way to a terminal. */
#include "base/plain.h"

#include <string.h>

#define SHOWN_ROOM 16

/* The character that begins at `at`, of `length` bytes. */
static unsigned code_point(const unsigned char *at, size_t length)
{
    unsigned code = length == 1 ? at[0] : at[0] & (0xffu >> (length + 1));

    for (size_t i = 1; i < length; i++)
        code = code << 6 | (at[i] & 0x3fu);
    return code;
}

/* C0, DEL and C1 steer the terminal (ECMA-48, 5th ed. 1991); the others turn the direction of writing (Unicode Standard
 * Annex 9) or end a line. */
static bool steers(unsigned code)
{
    return code < 0x20 || (code >= 0x7f && code < 0xa0) || code == 0x61c || code == 0x200e || code == 0x200f ||
           (code >= 0x2028 && code <= 0x202e) || (code >= 0x2066 && code <= 0x2069);
}

/* The next character as it is to be shown; returns how many bytes it was. */
static size_t next_shown(const char *text, char shown[SHOWN_ROOM])
{
    const unsigned char *at = (const unsigned char *)text;
    size_t length = tw_utf8_length(text);
    unsigned code;

    if (length == 0) {
        snprintf(shown, SHOWN_ROOM, "\\x%02x", at[0]);
        return 1;
    }
    code = code_point(at, length);
    if (!steers(code))
        snprintf(shown, SHOWN_ROOM, "%.*s", (int)length, text);
    else
        snprintf(shown, SHOWN_ROOM, code < 0x80 ? "\\x%02x" : "\\u%04x", code);
    return length;
}

/* In pieces: standard error writes at once whatever it is given. */
void tw_plain_print(const char *text, bool lines, FILE *stream)
{
    char piece[512];
    size_t length = 0;

    while (*text) {
        if (length + SHOWN_ROOM > sizeof piece) {
            fwrite(piece, 1, length, stream);
            length = 0;
        }
        if (lines && *text == '\n') {
            piece[length++] = *text++;
        } else {
            text += next_shown(text, piece + length);
            length += strlen(piece + length);
        }
    }
    fwrite(piece, 1, length, stream);
}

void tw_plain_append(struct tw_text *out, const char *text)
{
    char shown[SHOWN_ROOM];

    while (*text) {
        text += next_shown(text, shown);
        tw_text_append(out, shown, strlen(shown));
    }
}

bool tw_is_plain(const char *text)
{
    while (*text) {
        size_t length = tw_utf8_length(text);

        if (length == 0 || steers(code_point((const unsigned char *)text, length)))
            return false;
        text += length;
    }
    return true;
}
