/* balance_parts.h - what the balance report and the summary show alike. */
#ifndef TANGWRIGHT_REPORT_BALANCE_PARTS_H
#define TANGWRIGHT_REPORT_BALANCE_PARTS_H

#include "base/text.h"
#include "tangwright/balance.h"

#include <jansson.h>

#define TW_PLACE_SIZE 64

/* "12.3 mm ahead of the taper start", or behind it. */
const char *tw_place_words(double x_mm, bool inches, char words[TW_PLACE_SIZE]);

/* The stages of a weighed blank: mass and balance point, in both units, one line each. */
void tw_balance_print_stages(struct tw_text *text, const struct tw_balance *balance, bool relieved, bool handled,
                             bool inches);

/* All of one tw_balance as an object; NULL when memory runs out. */
json_t *tw_balance_object(const struct tw_balance *balance);

#endif
