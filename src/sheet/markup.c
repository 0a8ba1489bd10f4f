/* markup.c - the smallest pieces of the page. */
#include "sheet/markup.h"

#include "base/numbers.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Bytes of the UTF-8 character at `bytes`, 0 where there is none that XML allows. */
static size_t character_length(const unsigned char *bytes)
{
    unsigned long code;
    size_t length;

    if (bytes[0] < 0x80)
        return bytes[0] >= 0x20 || bytes[0] == '\n' || bytes[0] == '\t' || bytes[0] == '\r' ? 1 : 0;
    length = bytes[0] >= 0xF0 && bytes[0] < 0xF5   ? 4
             : bytes[0] >= 0xE0 && bytes[0] < 0xF0 ? 3
             : bytes[0] >= 0xC2 && bytes[0] < 0xE0 ? 2
                                                   : 0;
    code = length > 0 ? bytes[0] & (0x7FU >> length) : 0;
    for (size_t i = 1; i < length; i++) {
        if ((bytes[i] & 0xC0) != 0x80)
            return 0;
        code = code << 6 | (bytes[i] & 0x3FU);
    }
    if ((length == 3 && code < 0x800) || (length == 4 && (code < 0x10000 || code > 0x10FFFF)) ||
        (code >= 0xD800 && code < 0xE000) || code == 0xFFFE || code == 0xFFFF)
        return 0;
    return length;
}

void sheet_escape(struct tw_text *text, const char *words)
{
    for (const char *c = words; *c;) {
        size_t length = character_length((const unsigned char *)c);
        const char *entity = *c == '&'   ? "&amp;"
                             : *c == '<' ? "&lt;"
                             : *c == '>' ? "&gt;"
                             : *c == '"' ? "&quot;"
                                         : NULL;

        if (entity)
            tw_text_append(text, entity, strlen(entity));
        else
            tw_text_append(text, length > 0 ? c : "?", length > 0 ? length : 1);
        c += length > 0 ? length : 1;
    }
}

/* Whether the unit stands there as a word of its own. */
static bool is_unit_at(const char *words, const char *at, const char *unit)
{
    static const char letters[] = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789";
    const char *end = at + strlen(unit);

    return strncmp(at, unit, strlen(unit)) == 0 && (at == words || !strchr(letters, at[-1])) &&
           (*end == '\0' || !strchr(letters, *end));
}

void sheet_escape_units(struct tw_text *text, const char *words)
{
    static const char *const units[][2] = { { "um", "\u00b5m" }, { "mm3", "mm\u00b3" }, { "m2K", "m\u00b2K" } };
    const char *from = words;

    for (const char *at = words; *at; at++)
        for (size_t i = 0; i < sizeof units / sizeof *units; i++) {
            struct tw_text before = { 0 };

            if (!is_unit_at(words, at, units[i][0]))
                continue;
            tw_text_append(&before, from, (size_t)(at - from));
            sheet_escape(text, before.data ? before.data : "");
            text->failed |= before.failed;
            tw_text_free(&before);
            tw_text_print(text, "%s", units[i][1]);
            from = at + strlen(units[i][0]);
        }
    sheet_escape(text, from);
}

void sheet_file_name(struct tw_text *text, const char *path)
{
    const char *slash = strrchr(path, '/');

    sheet_escape(text, slash ? slash + 1 : path);
}

void sheet_escape_json(struct tw_text *text, const char *bytes, size_t length)
{
    for (size_t i = 0; i < length; i++) {
        unsigned char c = (unsigned char)bytes[i];

        if (c >= 0x80)
            tw_text_append(text, "?", 1); /* a program is ASCII; what is not could not be shown as it is */
        else if (c < 0x20 || c == 0x7F || c == '<' || c == '>' || c == '&' || c == '"' || c == '\\')
            tw_text_print(text, "\\u%04x", c);
        else
            tw_text_append(text, bytes + i, 1);
    }
}

static void digits_of(char out[64], double value, int decimals)
{
    snprintf(out, 64, "%.*f", decimals, value);
    if (out[0] == '-' && strspn(out, "-0.") == strlen(out))
        memmove(out, out + 1, strlen(out));
}

void sheet_number(struct tw_text *text, double value, int decimals)
{
    char digits[64];

    digits_of(digits, value, decimals);
    tw_text_append(text, digits, strlen(digits));
}

void sheet_range(struct tw_text *text, double low, double high, int decimals, const char *between)
{
    char from[64], to[64];

    digits_of(from, low, decimals);
    digits_of(to, high, decimals);
    if (strcmp(from, to) == 0)
        tw_text_print(text, "%s", from);
    else
        tw_text_print(text, "%s%s%s", from, between, to);
}

/* What is smaller than half the last decimal of a program is a rounding error. */
#define SMALLEST_MM 5e-5
enum { MOST_DECIMALS = 6 };

static const struct {
    int mm_decimals, inch_decimals;
} precisions[] = { [SHEET_RULE] = { 1, 2 }, [SHEET_GAUGE] = { 2, 4 }, [SHEET_BLOCKS] = { 3, 4 } };

/* What is there but too small for the usual decimals is not shown as nothing. */
static int decimals_for(double mm, bool inch, int usual)
{
    double value = inch ? mm / 25.4 : mm;
    int decimals = usual;

    while (fabs(mm) >= SMALLEST_MM && decimals < MOST_DECIMALS && fabs(value) * pow(10.0, decimals) < 0.5)
        decimals++;
    return decimals;
}

void sheet_length_short(struct tw_text *text, bool inch, double mm, enum sheet_precision precision)
{
    int usual = inch ? precisions[precision].inch_decimals : precisions[precision].mm_decimals;

    sheet_number(text, inch ? mm / 25.4 : mm, decimals_for(mm, inch, usual));
    tw_text_print(text, inch ? "\u00a0in" : "\u00a0mm");
}

void sheet_length(struct tw_text *text, bool inch_first, double mm, enum sheet_precision precision)
{
    if (fabs(mm) < SMALLEST_MM) {
        tw_text_print(text, inch_first ? "0\u00a0in" : "0\u00a0mm");
        return;
    }
    sheet_length_short(text, inch_first, mm, precision);
    tw_text_print(text, " <small>");
    sheet_length_short(text, !inch_first, mm, precision);
    tw_text_print(text, "</small>");
}

void sheet_micrometres(struct tw_text *text, bool inch, double mm)
{
    double value = inch ? mm / 0.0254 : mm * 1000.0, least = inch ? 0.01 : 0.1;
    bool tiny = value > 0.0 && value < least;

    if (tiny)
        tw_text_print(text, "under ");
    sheet_number(text, tiny ? least : value, inch ? 2 : 1);
    tw_text_print(text, inch ? "\u00a0thou" : "\u00a0\u00b5m");
}

static void print_volume(struct tw_text *text, bool inch, double mm3)
{
    sheet_number(text, mm3 / (inch ? TW_MM3_PER_INCH3 : 1000.0), inch ? 3 : 2);
    tw_text_print(text, inch ? "\u00a0in\u00b3" : "\u00a0cm\u00b3");
}

void sheet_volume(struct tw_text *text, bool inch_first, double mm3)
{
    print_volume(text, inch_first, mm3);
    tw_text_print(text, " <small>");
    print_volume(text, !inch_first, mm3);
    tw_text_print(text, "</small>");
}

double sheet_degrees(bool inch, double degC)
{
    return inch ? degC * 1.8 + 32.0 : degC;
}

const char *sheet_degrees_unit(bool inch)
{
    return inch ? "\u00b0F" : "\u00b0C";
}

void sheet_temperature_short(struct tw_text *text, bool inch, double degC)
{
    sheet_number(text, sheet_degrees(inch, degC), 0);
    tw_text_print(text, "\u00a0%s", sheet_degrees_unit(inch));
}

void sheet_temperature(struct tw_text *text, bool inch_first, double degC)
{
    sheet_temperature_short(text, inch_first, degC);
    tw_text_print(text, " <small>");
    sheet_temperature_short(text, !inch_first, degC);
    tw_text_print(text, "</small>");
}

void sheet_duration(struct tw_text *text, double time_s)
{
    long whole_s = lround(time_s);

    if (whole_s >= 3600)
        tw_text_print(text, "%ld\u00a0h %02ld\u00a0min", lround(time_s / 60.0) / 60, lround(time_s / 60.0) % 60);
    else if (whole_s >= 60)
        tw_text_print(text, "%ld\u00a0min %02ld\u00a0s", whole_s / 60, whole_s % 60);
    else
        tw_text_print(text, "%ld\u00a0s", whole_s);
}

void sheet_value_open(struct tw_text *text, const char *key, double value)
{
    tw_text_print(text, "<data data-key=\"%s\" value=\"%.9g\">", key, value);
}

void sheet_value_close(struct tw_text *text)
{
    tw_text_print(text, "</data>");
}
