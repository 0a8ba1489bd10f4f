/* lengths.c - see lengths.h. */
#include "report/lengths.h"

#include "base/numbers.h"
#include "base/units.h"

#include <string.h>

bool tw_job_in_inches(const struct tw_job *job)
{
    return job->machine.dialect.inch;
}

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
