/* lengths.c - see lengths.h. */
#include "base/lengths.h"

#include "base/numbers.h"
#include "base/units.h"

#include <string.h>

static void print_length(struct tw_text *text, bool inches, const struct tw_length *length)
{
    if (length->decimals == TW_FINE)
        tw_text_print(text, "%.2g %s", 1e3 * length->mm / (inches ? TW_MM_PER_INCH : 1.0), inches ? "thou" : "um");
    else
        tw_text_print(text, "%s", tw_length_text(length->mm, length->decimals, inches).text);
}

void tw_lengths_print(struct tw_text *text, bool inches, const char *words, const struct tw_length *lengths)
{
    size_t count = 0;

    for (const char *blank = strstr(words, "{}"); blank; blank = strstr(words, "{}")) {
        tw_text_append(text, words, (size_t)(blank - words));
        print_length(text, inches, &lengths[count++]);
        words = blank + 2;
    }
    tw_text_append(text, words, strlen(words));
    for (size_t i = 0; i < count; i++) {
        tw_text_print(text, "%s", i == 0 ? "   (" : ", ");
        print_length(text, !inches, &lengths[i]);
    }
    if (count > 0)
        tw_text_append(text, ")", 1);
}

static double degrees_in(double degC, bool fahrenheit)
{
    return fahrenheit ? tw_degF(degC) : degC;
}

static const char *degrees_name(bool fahrenheit)
{
    return fahrenheit ? "degF" : "degC";
}

/* "(435, 541 of 576 degF)": with the word between two of them where it is "of". */
static void print_other_degrees(struct tw_text *text, bool fahrenheit, const char *words, const double *degC)
{
    const char *before = NULL;
    size_t count = 0;

    for (const char *blank = strstr(words, "{}"); blank; blank = strstr(blank + 2, "{}")) {
        bool of = before && strncmp(before + 2, " of ", 4) == 0 && before + 6 == blank;

        tw_text_print(text, "%s%.0f", count == 0 ? "   (" : of ? " of " : ", ", degrees_in(degC[count], fahrenheit));
        before = blank;
        count++;
    }
    if (count > 0)
        tw_text_print(text, " %s)", degrees_name(fahrenheit));
}

void tw_degrees_print(struct tw_text *text, bool inches, const char *words, const double *degC)
{
    const char *rest = words;
    size_t count = 0;

    for (const char *blank = strstr(rest, "{}"); blank; blank = strstr(rest, "{}")) {
        tw_text_append(text, rest, (size_t)(blank - rest));
        tw_text_print(text, "%.0f %s", degrees_in(degC[count++], inches), degrees_name(inches));
        rest = blank + 2;
    }
    tw_text_append(text, rest, strlen(rest));
    print_other_degrees(text, !inches, words, degC);
}
