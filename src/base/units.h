/* units.h - quantities as a person writes them ("0.125 in", "1/8 in", "400 degF") turned to the program's units.
 *
 * Units   inside: mm, rad, s, degC, K, mm/s, mm/s2, rpm, W, N, N/mm2, N/mm, W/mm K, W/mm2 K, g/mm3, J/g K, J/mm3, g.
 * Source  inch, foot, pound: international yard and pound agreement of 1959 (25.4 mm, 0.45359237 kg);
 *         pound-force with standard gravity 9.80665 m/s2 (3rd CGPM, 1901); mechanical horsepower
 *         550 ft lbf/s; degF and K: NIST Special Publication 811 (2008), appendix B.
 * Locale  numbers have a decimal point; the process is expected to keep the "C" numeric locale. */
#ifndef TANGWRIGHT_BASE_UNITS_H
#define TANGWRIGHT_BASE_UNITS_H

#include "base/text.h"

#include <stdbool.h>
#include <stddef.h>

enum tw_quantity {
    TW_LENGTH,
    TW_ANGLE,
    TW_TIME,
    TW_TEMPERATURE,            /* a reading: "400 degF" is 204.4 degC */
    TW_TEMPERATURE_DIFFERENCE, /* a margin: "45 degF" is 25 K */
    TW_SPEED,
    TW_ACCELERATION,
    TW_ROTATION,
    TW_POWER,
    TW_FORCE,
    TW_PRESSURE,
    TW_STIFFNESS,
    TW_CONDUCTIVITY,
    TW_CONDUCTANCE,
    TW_DENSITY,
    TW_SPECIFIC_HEAT,
    TW_ENERGY_DENSITY,
    TW_FLOW, /* volume in a time */
    TW_MASS,
    TW_VOLUME,
    TW_QUANTITY_COUNT
};

/* inside = (written - zero) * numerator / denominator */
struct tw_unit {
    const char *name;
    enum tw_quantity quantity;
    double numerator, denominator, zero;
    bool listed; /* false: understood, but not offered in messages */
};

/* A value together with the unit it was written in. */
struct tw_measure {
    double written;
    const struct tw_unit *unit;
    double value; /* in the program's unit */
};

/* "a length", "an angle", ... */
const char *tw_quantity_name(enum tw_quantity quantity);

/* The units a person may write for it, as "mm, cm, m, ...". */
void tw_quantity_units(enum tw_quantity quantity, struct tw_text *text);

/* The unit of that name; NULL if the quantity has none such. Blanks, brackets and ^ count for nothing. */
const struct tw_unit *tw_unit_find(const char *name, enum tw_quantity quantity);

double tw_unit_to_inside(const struct tw_unit *unit, double written);
double tw_unit_from_inside(const struct tw_unit *unit, double value);

/* Reads a number (decimal, "1/8" or "1 1/8") and its unit. On failure returns false, leaves *out as it was and
 * writes to `complaint` (may be NULL) what was seen and what to write; `usual_unit` serves the example. */
bool tw_measure_read(const char *written, enum tw_quantity quantity, const char *usual_unit, struct tw_measure *out,
                     struct tw_text *complaint);

/* Whether it is a number with no unit behind it. */
bool tw_is_bare_number(const char *written);

/* The same for a table whose heading names the unit: a bare number is in that one. `unit` NULL: there is none. */
bool tw_measure_read_in(const struct tw_unit *unit, const char *written, enum tw_quantity quantity,
                        const char *usual_unit, struct tw_measure *out, struct tw_text *complaint);

/* A length as it is shown to a person: "3.048 mm", or "0.1200 in" with one decimal more, or two where there are fewer than two. */
struct tw_length_text {
    char text[32];
};

struct tw_length_text tw_length_text(double mm, int decimals, bool inches);

/* A figure in the unit of a shop: where inches come first mm, mm/s, m/s, mm3 and degC become in, in/min, ft/min, in3 and degF;
 * any other unit stays. The name is static, or the caller's own. */
struct tw_shop_figure {
    double value;
    const char *unit;
};

struct tw_shop_figure tw_shop_figure(double value, const char *unit, bool inches);

/* Four digits of a number, none behind the sixth decimal and no power of ten: what a sum's rounding leaves is "0". */
struct tw_figure_text {
    char text[32];
};

struct tw_figure_text tw_figure_text(double value);

/* What is small, as it is shown to a person: "3.0 um", or "0.12 thou". */
struct tw_fine_text {
    char text[32];
};

struct tw_fine_text tw_fine_text(double mm, bool inches);
/* The same with its sign: "+3.0 um". */
struct tw_fine_text tw_fine_signed_text(double mm, bool inches);

/* The unit that a shop works in first, the other one in brackets: "3.048 mm (0.1200 in)", "435 degF (224 degC)". */
struct tw_both_text {
    char text[80];
};

struct tw_both_text tw_length_both(double mm, int decimals, bool inches);
struct tw_both_text tw_temperature_both(double degC, bool inches);

/* How long something takes, rounded, as it is shown to a person: "2 h 05 min", or below an hour "12 min 40 s". */
struct tw_duration_text {
    char text[32];
};

struct tw_duration_text tw_duration_text(double time_s);
/* At least how long, in whole minutes: "2 h 05 min", or "13 min". */
struct tw_duration_text tw_duration_at_least(double time_s);

double tw_degF(double degC);

#endif
