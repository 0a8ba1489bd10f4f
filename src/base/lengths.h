/* lengths.h - lengths and temperatures in sentences, in the units of the machine first: a shop that dials inches reads inches. */
#ifndef TANGWRIGHT_BASE_LENGTHS_H
#define TANGWRIGHT_BASE_LENGTHS_H

#include "base/text.h"

#include <stdbool.h>

#define TW_FINE (-1)

/* One length of a sentence: in mm with so many decimals, or in inches with one or two more; TW_FINE: in um, or thou, with two
 * figures. */
struct tw_length {
    double mm;
    int decimals;
};

/* `words` with a length in place of each "{}"; behind them, in brackets, the same lengths in the other unit. */
void tw_lengths_print(struct tw_text *text, bool inches, const char *words, const struct tw_length *lengths);

/* The same of readings of temperature, degF first where the machine is programmed in inches: "142 degC   (287 degF)". */
void tw_degrees_print(struct tw_text *text, bool inches, const char *words, const double *degC);

#endif
