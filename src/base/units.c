/* units.c - the table of units, and the reading of "number unit". */
#include "base/units.h"

#include "base/nearest.h"
#include "base/numbers.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.14159265358979323846

/* Whole-numbered factors where possible, so that the common values turn without a rounding error. */
static const struct tw_unit units[] = {
    { "mm", TW_LENGTH, 1, 1, 0, true },
    { "cm", TW_LENGTH, 10, 1, 0, true },
    { "m", TW_LENGTH, 1000, 1, 0, true },
    { "um", TW_LENGTH, 1, 1000, 0, true },
    { "in", TW_LENGTH, 254, 10, 0, true },
    { "thou", TW_LENGTH, 254, 10000, 0, true },
    { "ft", TW_LENGTH, 3048, 10, 0, true },
    { "\u00b5m", TW_LENGTH, 1, 1000, 0, false },
    { "\u03bcm", TW_LENGTH, 1, 1000, 0, false },
    { "inch", TW_LENGTH, 254, 10, 0, false },
    { "inches", TW_LENGTH, 254, 10, 0, false },

    { "deg", TW_ANGLE, PI, 180, 0, true },
    { "rad", TW_ANGLE, 1, 1, 0, true },
    { "\u00b0", TW_ANGLE, PI, 180, 0, false },

    { "s", TW_TIME, 1, 1, 0, true },
    { "ms", TW_TIME, 1, 1000, 0, true },
    { "min", TW_TIME, 60, 1, 0, true },
    { "h", TW_TIME, 3600, 1, 0, true },

    { "degC", TW_TEMPERATURE, 1, 1, 0, true },
    { "degF", TW_TEMPERATURE, 5, 9, 32, true },
    { "K", TW_TEMPERATURE, 1, 1, 273.15, true },
    { "\u00b0C", TW_TEMPERATURE, 1, 1, 0, false },
    { "\u00b0F", TW_TEMPERATURE, 5, 9, 32, false },
    { "C", TW_TEMPERATURE, 1, 1, 0, false },
    { "F", TW_TEMPERATURE, 5, 9, 32, false },

    { "K", TW_TEMPERATURE_DIFFERENCE, 1, 1, 0, true },
    { "degC", TW_TEMPERATURE_DIFFERENCE, 1, 1, 0, true },
    { "degF", TW_TEMPERATURE_DIFFERENCE, 5, 9, 0, true },
    { "\u00b0C", TW_TEMPERATURE_DIFFERENCE, 1, 1, 0, false },
    { "\u00b0F", TW_TEMPERATURE_DIFFERENCE, 5, 9, 0, false },

    { "mm/s", TW_SPEED, 1, 1, 0, true },
    { "mm/min", TW_SPEED, 1, 60, 0, true },
    { "m/s", TW_SPEED, 1000, 1, 0, true },
    { "m/min", TW_SPEED, 1000, 60, 0, true },
    { "in/s", TW_SPEED, 254, 10, 0, true },
    { "in/min", TW_SPEED, 254, 600, 0, true },
    { "ft/min", TW_SPEED, 3048, 600, 0, true },

    { "mm/s2", TW_ACCELERATION, 1, 1, 0, true },
    { "m/s2", TW_ACCELERATION, 1000, 1, 0, true },
    { "in/s2", TW_ACCELERATION, 254, 10, 0, true },

    { "rpm", TW_ROTATION, 1, 1, 0, true },
    { "1/min", TW_ROTATION, 1, 1, 0, true },
    { "RPM", TW_ROTATION, 1, 1, 0, false },

    { "W", TW_POWER, 1, 1, 0, true },
    { "kW", TW_POWER, 1000, 1, 0, true },
    { "hp", TW_POWER, 550 * 0.3048 * TW_N_PER_LBF, 1, 0, true },

    { "N", TW_FORCE, 1, 1, 0, true },
    { "kN", TW_FORCE, 1000, 1, 0, true },
    { "lbf", TW_FORCE, TW_N_PER_LBF, 1, 0, true },

    { "N/cm2", TW_PRESSURE, 1, 100, 0, true },
    { "N/mm2", TW_PRESSURE, 1, 1, 0, true },
    { "MPa", TW_PRESSURE, 1, 1, 0, true },
    { "psi", TW_PRESSURE, TW_N_PER_LBF, 645.16, 0, true },

    { "N/um", TW_STIFFNESS, 1000, 1, 0, true },
    { "N/mm", TW_STIFFNESS, 1, 1, 0, true },
    { "lbf/in", TW_STIFFNESS, TW_N_PER_LBF, 25.4, 0, true },

    { "W/mK", TW_CONDUCTIVITY, 1, 1000, 0, true },
    { "W/mmK", TW_CONDUCTIVITY, 1, 1, 0, true },

    { "W/m2K", TW_CONDUCTANCE, 1, 1000000, 0, true },
    { "W/mm2K", TW_CONDUCTANCE, 1, 1, 0, true },

    { "kg/m3", TW_DENSITY, 1, 1000000, 0, true },
    { "g/cm3", TW_DENSITY, 1, 1000, 0, true },

    { "J/kgK", TW_SPECIFIC_HEAT, 1, 1000, 0, true },
    { "J/gK", TW_SPECIFIC_HEAT, 1, 1, 0, true },

    { "J/mm3", TW_ENERGY_DENSITY, 1, 1, 0, true },
    { "J/cm3", TW_ENERGY_DENSITY, 1, 1000, 0, true },

    { "l/min", TW_FLOW, 1e6, 60, 0, true },
    { "ml/h", TW_FLOW, 1000, 3600, 0, true },
    { "ml/min", TW_FLOW, 1000, 60, 0, true },
    { "gal/min", TW_FLOW, 231 * 25.4 * 25.4 * 25.4, 60, 0, true }, /* US gallon, 231 in3 */
    { "mm3/s", TW_FLOW, 1, 1, 0, true },

    { "g", TW_MASS, 1, 1, 0, true },
    { "kg", TW_MASS, 1000, 1, 0, true },
    { "oz", TW_MASS, 28.349523125, 1, 0, true },
    { "lb", TW_MASS, 453.59237, 1, 0, true },

    { "mm3", TW_VOLUME, 1, 1, 0, true },
    { "cm3", TW_VOLUME, 1000, 1, 0, true },
    { "in3", TW_VOLUME, 16387.064, 1, 0, true },
};

#define UNIT_COUNT (sizeof units / sizeof units[0])

static const char *const quantity_names[TW_QUANTITY_COUNT] = {
    [TW_LENGTH] = "a length",
    [TW_ANGLE] = "an angle",
    [TW_TIME] = "a time",
    [TW_TEMPERATURE] = "a temperature",
    [TW_TEMPERATURE_DIFFERENCE] = "a temperature difference",
    [TW_SPEED] = "a speed",
    [TW_ACCELERATION] = "an acceleration",
    [TW_ROTATION] = "a speed of rotation",
    [TW_POWER] = "a power",
    [TW_FORCE] = "a force",
    [TW_PRESSURE] = "a pressure",
    [TW_STIFFNESS] = "a stiffness",
    [TW_CONDUCTIVITY] = "a thermal conductivity",
    [TW_CONDUCTANCE] = "a surface conductance",
    [TW_DENSITY] = "a density",
    [TW_SPECIFIC_HEAT] = "a specific heat",
    [TW_ENERGY_DENSITY] = "an energy per volume",
    [TW_FLOW] = "a flow",
    [TW_MASS] = "a mass",
    [TW_VOLUME] = "a volume",
};

const char *tw_quantity_name(enum tw_quantity quantity)
{
    return quantity_names[quantity];
}

void tw_quantity_units(enum tw_quantity quantity, struct tw_text *text)
{
    const char *comma = "";

    for (size_t i = 0; i < UNIT_COUNT; i++) {
        if (units[i].quantity != quantity || !units[i].listed)
            continue;
        tw_text_print(text, "%s%s", comma, units[i].name);
        comma = ", ";
    }
}

/* The unit's name without what counts for nothing: "W/(m^2 K)" is "W/m2K". False if it is too long to be one. */
static bool plain_name(const char *name, char *plain, size_t room)
{
    size_t length = 0;

    for (; *name; name++) {
        if (strchr(" \t()^", *name))
            continue;
        if (length + 1 >= room)
            return false;
        plain[length++] = *name;
    }
    plain[length] = '\0';
    return true;
}

const struct tw_unit *tw_unit_find(const char *name, enum tw_quantity quantity)
{
    char plain[32];

    if (!plain_name(name, plain, sizeof plain))
        return NULL;
    for (size_t i = 0; i < UNIT_COUNT; i++)
        if (units[i].quantity == quantity && strcmp(units[i].name, plain) == 0)
            return &units[i];
    return NULL;
}

double tw_unit_to_inside(const struct tw_unit *unit, double written)
{
    return (written - unit->zero) * unit->numerator / unit->denominator;
}

double tw_unit_from_inside(const struct tw_unit *unit, double value)
{
    return value * unit->denominator / unit->numerator + unit->zero;
}

static const char *skip_blanks(const char *at)
{
    while (*at == ' ' || *at == '\t')
        at++;
    return at;
}

static const char *skip_digits(const char *at)
{
    while (*at >= '0' && *at <= '9')
        at++;
    return at;
}

/* decimal = digits [ "." digits ] [ "e" [ sign ] digits ]; NULL if none stands there */
static const char *end_of_decimal(const char *at)
{
    const char *whole_end = skip_digits(at);
    const char *end = whole_end;
    const char *exponent;

    if (*end == '.')
        end = skip_digits(end + 1);
    if (end == at || (whole_end == at && end == at + 1))
        return NULL;
    exponent = end + 1;
    if (*end == 'e' || *end == 'E') {
        exponent += *exponent == '+' || *exponent == '-';
        if (skip_digits(exponent) > exponent)
            end = skip_digits(exponent);
    }
    return end;
}

/* fraction = digits "/" digits; NULL if none stands there */
static const char *read_fraction(const char *at, double *value)
{
    const char *slash = skip_digits(at);
    const char *end;

    if (slash == at || *slash != '/')
        return NULL;
    end = skip_digits(slash + 1);
    if (end == slash + 1)
        return NULL;
    *value = strtod(at, NULL) / strtod(slash + 1, NULL);
    return end;
}

/* number = [ sign ] ( fraction | digits blank fraction | decimal ); NULL if none stands there */
static const char *read_number(const char *at, double *value)
{
    double sign = 1, part = 0;
    const char *end;

    if (*at == '+' || *at == '-')
        sign = *at++ == '-' ? -1 : 1;
    end = read_fraction(at, &part);
    if (!end) {
        const char *after_whole = skip_digits(at);

        end = end_of_decimal(at);
        if (!end)
            return NULL;
        part = strtod(at, NULL);
        if (after_whole == end && *end == ' ') {
            double fraction;
            const char *after = read_fraction(skip_blanks(end), &fraction);

            if (after) {
                part += fraction;
                end = after;
            }
        }
    }
    *value = sign * part;
    return isfinite(*value) ? end : NULL;
}

/* The quantity that has a unit of this name, for "5 deg is an angle". */
static const struct tw_unit *unit_of_any_quantity(const char *name)
{
    for (int quantity = 0; quantity < TW_QUANTITY_COUNT; quantity++) {
        const struct tw_unit *unit = tw_unit_find(name, (enum tw_quantity)quantity);

        if (unit)
            return unit;
    }
    return NULL;
}

static const char *nearest_unit(const char *name, enum tw_quantity quantity)
{
    struct tw_nearest nearest = tw_nearest_to(name);

    for (size_t i = 0; i < UNIT_COUNT; i++)
        if (units[i].quantity == quantity && units[i].listed)
            tw_nearest_offer(&nearest, units[i].name);
    return nearest.name;
}

static void complain_of_number(const char *written, enum tw_quantity quantity, const char *usual_unit,
                               struct tw_text *complaint)
{
    tw_text_print(complaint, "\"%s\" does not begin with a number; %s is a number and its unit, such as \"12.5 %s\"",
                  written, tw_quantity_name(quantity), usual_unit);
}

static void complain_of_comma(const char *written, const char *comma, struct tw_text *complaint)
{
    tw_text_print(complaint, "\"%s\" has a comma in its number; decimals stand behind a point: write \"%.*s.%s\"",
                  written, (int)(comma - written), written, comma + 1);
}

static void complain_of_unit(const char *written, const char *name, enum tw_quantity quantity, const char *usual_unit,
                             struct tw_text *complaint)
{
    const struct tw_unit *other = unit_of_any_quantity(name);
    const char *nearest = nearest_unit(name, quantity);

    if (*name == '\0') {
        tw_text_print(complaint, "\"%s\" has no unit; %s carries its unit: write \"%s %s\"", written,
                      tw_quantity_name(quantity), written,
                      quantity == TW_LENGTH && strchr(written, '/') ? "in" : usual_unit);
        return;
    }
    if (other)
        tw_text_print(complaint, "\"%s\" is %s, but %s is wanted", written, tw_quantity_name(other->quantity),
                      tw_quantity_name(quantity));
    else if (nearest)
        tw_text_print(complaint, "\"%s\" has the unknown unit \"%s\"; did you mean \"%s\"?", written, name, nearest);
    else
        tw_text_print(complaint, "\"%s\" has the unknown unit \"%s\"", written, name);
    tw_text_print(complaint, other || !nearest ? "; allowed are " : " Allowed are ");
    tw_quantity_units(quantity, complaint);
}

bool tw_measure_read(const char *written, enum tw_quantity quantity, const char *usual_unit, struct tw_measure *out,
                     struct tw_text *complaint)
{
    struct tw_text ignored = { 0 };
    struct tw_text *answer = complaint ? complaint : &ignored;
    const char *start = skip_blanks(written);
    struct tw_measure measure = { 0 };
    const char *end = read_number(start, &measure.written);

    if (!end)
        complain_of_number(written, quantity, usual_unit, answer);
    else if (*end == ',' && skip_digits(end + 1) > end + 1)
        complain_of_comma(written, end, answer);
    else if (!(measure.unit = tw_unit_find(skip_blanks(end), quantity)))
        complain_of_unit(written, skip_blanks(end), quantity, usual_unit, answer);
    tw_text_free(&ignored);
    if (!measure.unit)
        return false;
    measure.value = tw_unit_to_inside(measure.unit, measure.written);
    *out = measure;
    return true;
}

bool tw_is_bare_number(const char *written)
{
    char *end;

    strtod(written, &end);
    return end != written && *end == '\0';
}

bool tw_measure_read_in(const struct tw_unit *unit, const char *written, enum tw_quantity quantity,
                        const char *usual_unit, struct tw_measure *out, struct tw_text *complaint)
{
    struct tw_text whole = { 0 };
    bool sound;

    if (!unit || !tw_is_bare_number(written))
        return tw_measure_read(written, quantity, usual_unit, out, complaint);
    tw_text_print(&whole, "%s %s", written, unit->name);
    sound = !whole.failed && tw_measure_read(whole.data, quantity, usual_unit, out, complaint);
    if (complaint)
        complaint->failed = complaint->failed || whole.failed;
    tw_text_free(&whole);
    return sound;
}

struct tw_length_text tw_length_text(double mm, int decimals, bool inches)
{
    struct tw_length_text out;

    if (inches)
        snprintf(out.text, sizeof out.text, "%.*f in", decimals + (decimals < 2 ? 2 : 1), mm / TW_MM_PER_INCH);
    else
        snprintf(out.text, sizeof out.text, "%.*f mm", decimals, mm);
    return out;
}

struct tw_fine_text tw_fine_text(double mm, bool inches)
{
    struct tw_fine_text out;

    snprintf(out.text, sizeof out.text, "%.*f %s", inches ? 2 : 1, inches ? 1000.0 * mm / TW_MM_PER_INCH : 1000.0 * mm,
             inches ? "thou" : "um");
    return out;
}

struct tw_fine_text tw_fine_signed_text(double mm, bool inches)
{
    struct tw_fine_text out;

    snprintf(out.text, sizeof out.text, "%+.*f %s", inches ? 2 : 1, inches ? 1000.0 * mm / TW_MM_PER_INCH : 1000.0 * mm,
             inches ? "thou" : "um");
    return out;
}

struct tw_both_text tw_length_both(double mm, int decimals, bool inches)
{
    struct tw_both_text out;

    snprintf(out.text, sizeof out.text, "%s (%s)", tw_length_text(mm, decimals, inches).text,
             tw_length_text(mm, decimals, !inches).text);
    return out;
}

double tw_degF(double degC)
{
    return degC * 1.8 + 32.0;
}

struct tw_both_text tw_temperature_both(double degC, bool inches)
{
    struct tw_both_text out;

    if (inches)
        snprintf(out.text, sizeof out.text, "%.0f degF (%.0f degC)", tw_degF(degC), degC);
    else
        snprintf(out.text, sizeof out.text, "%.0f degC (%.0f degF)", degC, tw_degF(degC));
    return out;
}

struct tw_duration_text tw_duration_text(double time_s)
{
    struct tw_duration_text out;
    long whole_s = lround(time_s), minutes = lround(time_s / 60.0);

    if (whole_s >= 3600)
        snprintf(out.text, sizeof out.text, "%ld h %02ld min", minutes / 60, minutes % 60);
    else
        snprintf(out.text, sizeof out.text, "%ld min %02ld s", whole_s / 60, whole_s % 60);
    return out;
}

struct tw_duration_text tw_duration_at_least(double time_s)
{
    struct tw_duration_text out;
    long minutes = (long)ceil(time_s / 60.0);

    if (minutes >= 60)
        snprintf(out.text, sizeof out.text, "%ld h %02ld min", minutes / 60, minutes % 60);
    else
        snprintf(out.text, sizeof out.text, "%ld min", minutes);
    return out;
}

struct tw_shop_figure tw_shop_figure(double value, const char *unit, bool inches)
{
    static const struct {
        const char *unit, *in_inches;
        double factor, zero;
    } rows[] = { { "mm", "in", 1.0 / TW_MM_PER_INCH, 0.0 },
                 { "mm/s", "in/min", 60.0 / TW_MM_PER_INCH, 0.0 },
                 { "m/s", "ft/min", 60e3 / (12.0 * TW_MM_PER_INCH), 0.0 },
                 { "mm3", "in3", 1.0 / TW_MM3_PER_INCH3, 0.0 },
                 { "degC", "degF", 1.8, 32.0 } };

    for (size_t i = 0; inches && i < sizeof rows / sizeof *rows; i++)
        if (strcmp(unit, rows[i].unit) == 0)
            return (struct tw_shop_figure){ value * rows[i].factor + rows[i].zero, rows[i].in_inches };
    return (struct tw_shop_figure){ value, unit };
}

struct tw_figure_text tw_figure_text(double value)
{
    struct tw_figure_text out;
    double size = fabs(value);

    if (size < 0.5e-6)
        snprintf(out.text, sizeof out.text, "0");
    else if (size < 1e-3)
        snprintf(out.text, sizeof out.text, "%.6f", value);
    else
        snprintf(out.text, sizeof out.text, size < 1e3 ? "%.4g" : "%.0f", value);
    return out;
}
