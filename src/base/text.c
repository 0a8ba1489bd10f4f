/* text.c - text that grows while it is written. */
#include "base/text.h"

#include "base/memory.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool make_room(struct tw_text *text, size_t more)
{
    if (text->failed)
        return false;
    if (!tw_grow((void **)&text->data, &text->capacity, text->length + more + 1, 1))
        text->failed = true;
    return !text->failed;
}

void tw_text_append(struct tw_text *text, const char *data, size_t length)
{
    if (!make_room(text, length))
        return;
    memcpy(text->data + text->length, data, length);
    text->length += length;
    text->data[text->length] = '\0';
}

void tw_text_vprint(struct tw_text *text, const char *format, va_list arguments)
{
    va_list again;
    int length;

    va_copy(again, arguments);
    length = vsnprintf(NULL, 0, format, again);
    va_end(again);
    if (length < 0) {
        text->failed = true;
        return;
    }
    if (!make_room(text, (size_t)length))
        return;
    vsnprintf(text->data + text->length, (size_t)length + 1, format, arguments);
    text->length += (size_t)length;
}

void tw_text_print(struct tw_text *text, const char *format, ...)
{
    va_list arguments;

    va_start(arguments, format);
    tw_text_vprint(text, format, arguments);
    va_end(arguments);
}

char *tw_text_take(struct tw_text *text)
{
    char *data;

    make_room(text, 0);
    if (text->failed) {
        tw_text_free(text);
        return NULL;
    }
    data = text->data;
    data[text->length] = '\0';
    *text = (struct tw_text){ 0 };
    return data;
}

void tw_text_free(struct tw_text *text)
{
    free(text->data);
    *text = (struct tw_text){ 0 };
}

/* Bytes that must follow this one in UTF-8; -1 if no character begins with it. */
static int bytes_to_follow(unsigned char first)
{
    if (first < 0x80)
        return 0;
    if (first >= 0xc2 && first <= 0xdf)
        return 1;
    if ((first & 0xf0) == 0xe0)
        return 2;
    return first >= 0xf0 && first <= 0xf4 ? 3 : -1;
}

/* The second byte's range shuts out overlong forms, surrogates and what lies beyond U+10FFFF. */
static bool may_follow(unsigned char first, unsigned char second)
{
    unsigned char low = first == 0xe0 ? 0xa0 : first == 0xf0 ? 0x90 : 0x80;
    unsigned char high = first == 0xed ? 0x9f : first == 0xf4 ? 0x8f : 0xbf;

    return second >= low && second <= high;
}

size_t tw_utf8_length(const char *text)
{
    const unsigned char *at = (const unsigned char *)text;
    int follow = bytes_to_follow(at[0]);

    if (follow < 0 || (follow > 0 && !may_follow(at[0], at[1])))
        return 0;
    for (int i = 1; i <= follow; i++)
        if ((at[i] & 0xc0) != 0x80)
            return 0;
    return (size_t)follow + 1;
}

bool tw_is_utf8(const char *text)
{
    while (*text) {
        size_t length = tw_utf8_length(text);

        if (length == 0)
            return false;
        text += length;
    }
    return true;
}
