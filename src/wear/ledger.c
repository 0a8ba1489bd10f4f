/* ledger.c - what a wheel has taken off when it comes to a part, and where it has to be dressed before. */
#include "tangwright/wear.h"

#include <stdlib.h>

/* Of what the wheel takes off between two dressings, so much is used: blanks differ in more than their thickness. */
#define USED_SHARE 0.97

static void fill(const double *thin_mm3, const double *thick_mm3, double dress_after_mm3, struct tw_wear_ledger *ledger)
{
    double thin_since_mm3 = 0.0, thick_since_mm3 = 0.0;
    size_t parts = (size_t)ledger->parts;

    for (size_t i = 0; i < ledger->stay_count * parts; i++) {
        size_t stay = i / parts;

        ledger->taken_mm3[i] = thick_since_mm3;
        if (i > 0 && dress_after_mm3 > 0.0 && thick_since_mm3 + thick_mm3[stay] > USED_SHARE * dress_after_mm3) {
            if (ledger->stops == 0)
                ledger->first_mm3 = thick_since_mm3;
            ledger->dresses[i] = true;
            ledger->stops++;
            thin_since_mm3 = thick_since_mm3 = 0.0;
        }
        ledger->since_mm3[i] = thin_since_mm3;
        thin_since_mm3 += thin_mm3[stay];
        thick_since_mm3 += thick_mm3[stay];
    }
    ledger->end_mm3 = thick_since_mm3;
    if (ledger->stops == 0)
        ledger->first_mm3 = thick_since_mm3;
}

bool tw_wear_ledger_make(const double *thin_mm3, const double *thick_mm3, size_t stay_count, int parts,
                         double dress_after_mm3, struct tw_wear_ledger *out)
{
    *out = (struct tw_wear_ledger){ .stay_count = stay_count, .parts = parts };
    out->since_mm3 = calloc(stay_count * (size_t)parts, sizeof *out->since_mm3);
    out->taken_mm3 = calloc(stay_count * (size_t)parts, sizeof *out->taken_mm3);
    out->dresses = calloc(stay_count * (size_t)parts, sizeof *out->dresses);
    if (!out->since_mm3 || !out->taken_mm3 || !out->dresses) {
        tw_wear_ledger_free(out);
        return false;
    }
    fill(thin_mm3, thick_mm3, dress_after_mm3, out);
    return true;
}

void tw_wear_ledger_free(struct tw_wear_ledger *ledger)
{
    free(ledger->since_mm3);
    free(ledger->taken_mm3);
    free(ledger->dresses);
    *ledger = (struct tw_wear_ledger){ 0 };
}

/* ---- where a stay has to end ---- */

bool tw_wear_stay_is_full(double thick_mm3, double dress_after_mm3)
{
    return dress_after_mm3 > 0.0 && thick_mm3 > USED_SHARE * dress_after_mm3;
}
