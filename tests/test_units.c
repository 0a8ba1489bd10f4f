/* test_units.c - guards against a wrong conversion factor and an unhelpful complaint: both scrap a knife. */
#include "base/nearest.h"
#include "base/units.h"
#include "report/lengths.h"

#include "check/check.h"
#include <math.h>
#include <string.h>

struct conversion {
    const char *written;
    enum tw_quantity quantity;
    double value;
    double relative; /* what the source's digits allow */
};

/* EXACT: the value follows from a definition and is a short decimal; one rounding each is allowed. */
#define EXACT 2.3e-16
#define SEVEN 5e-7 /* sources with seven figures */

static const struct conversion conversions[] = {
    /* Definitions of the SI and its decimal multiples (SI Brochure, 9th ed., 2019). */
    { "1.5 mm", TW_LENGTH, 1.5, EXACT },
    { "1.5 cm", TW_LENGTH, 15, EXACT },
    { "0.15 m", TW_LENGTH, 150, EXACT },
    { "15 um", TW_LENGTH, 0.015, EXACT },
    { "15 \u00b5m", TW_LENGTH, 0.015, EXACT },
    { "15 \u03bcm", TW_LENGTH, 0.015, EXACT },
    { "250 ms", TW_TIME, 0.25, EXACT },
    { "2 min", TW_TIME, 120, EXACT },
    { "1.5 h", TW_TIME, 5400, EXACT },
    { "30 m/s", TW_SPEED, 30000, EXACT },
    { "15 m/min", TW_SPEED, 250, EXACT },
    { "90 mm/min", TW_SPEED, 1.5, EXACT },
    { "2 m/s2", TW_ACCELERATION, 2000, EXACT },
    { "0.75 kW", TW_POWER, 750, EXACT },
    { "1.5 kN", TW_FORCE, 1500, EXACT },
    { "20 N/cm2", TW_PRESSURE, 0.2, EXACT },
    { "2 MPa", TW_PRESSURE, 2, EXACT },
    { "40 W/mK", TW_CONDUCTIVITY, 0.04, EXACT },
    { "40 W/(m K)", TW_CONDUCTIVITY, 0.04, EXACT },
    { "290000 W/m2K", TW_CONDUCTANCE, 0.29, EXACT },
    { "2.9e5 W/(m^2 K)", TW_CONDUCTANCE, 0.29, EXACT },
    { "7830 kg/m3", TW_DENSITY, 0.00783, EXACT },
    { "7.83 g/cm3", TW_DENSITY, 0.00783, EXACT },
    { "480 J/kgK", TW_SPECIFIC_HEAT, 0.48, EXACT },
    { "0.48 J/gK", TW_SPECIFIC_HEAT, 0.48, EXACT },
    { "13.8 J/mm3", TW_ENERGY_DENSITY, 13.8, EXACT },
    { "13800 J/cm3", TW_ENERGY_DENSITY, 13.8, EXACT },
    { "6000 rpm", TW_ROTATION, 6000, EXACT },
    { "6000 1/min", TW_ROTATION, 6000, EXACT },
    /* International yard and pound agreement, 1959: 1 yd = 0.9144 m, so 1 ft = 304.8 mm and 1 in = 25.4 mm;
     * 1 lb = 0.45359237 kg, an ounce its sixteenth. */
    { "1 in", TW_LENGTH, 25.4, EXACT },
    { "0.125 in", TW_LENGTH, 3.175, EXACT },
    { "1/8 in", TW_LENGTH, 3.175, EXACT },
    { "1 1/8 in", TW_LENGTH, 28.575, EXACT },
    { "-1/8 in", TW_LENGTH, -3.175, EXACT },
    { "-1 1/8 in", TW_LENGTH, -28.575, EXACT },
    { "60 thou", TW_LENGTH, 1.524, EXACT },
    { "1 ft", TW_LENGTH, 304.8, EXACT },
    { "6000 ft/min", TW_SPEED, 30480, EXACT },
    { "10 in/s", TW_SPEED, 254, EXACT },
    { "600 in/min", TW_SPEED, 254, EXACT },
    { "20 in/s2", TW_ACCELERATION, 508, EXACT },
    { "1 lb", TW_MASS, 453.59237, EXACT },
    { "16 oz", TW_MASS, 453.59237, EXACT },
    { "0.2 kg", TW_MASS, 200, EXACT },
    /* NIST Special Publication 811 (2008), appendix B.8, from memory: pound-force 4.448222 N, psi 6.894757e3 Pa,
     * horsepower (550 ft lbf/s) 7.456999e2 W. */
    { "1 lbf", TW_FORCE, 4.448222, SEVEN },
    { "1000 psi", TW_PRESSURE, 6.894757, SEVEN },
    { "1 hp", TW_POWER, 745.6999, SEVEN },
    /* Same, B.8: t/degC = (t/degF - 32)/1.8; t/degC = T/K - 273.15. Fixed points of the two scales. */
    { "32 degF", TW_TEMPERATURE, 0, EXACT },
    { "212 degF", TW_TEMPERATURE, 100, EXACT },
    { "-40 degF", TW_TEMPERATURE, -40, EXACT },
    { "212 F", TW_TEMPERATURE, 100, EXACT },
    { "212 \u00b0F", TW_TEMPERATURE, 100, EXACT },
    { "273.15 K", TW_TEMPERATURE, 0, EXACT },
    { "200 degC", TW_TEMPERATURE, 200, EXACT },
    { "25 K", TW_TEMPERATURE_DIFFERENCE, 25, EXACT },
    { "25 degC", TW_TEMPERATURE_DIFFERENCE, 25, EXACT },
    { "45 degF", TW_TEMPERATURE_DIFFERENCE, 25, EXACT },
    /* A full turn is 2 pi rad (pi to 17 figures). */
    { "180 deg", TW_ANGLE, 3.1415926535897932, EXACT },
    { "-2 deg", TW_ANGLE, -0.034906585039886592, EXACT },
    { "0.5 rad", TW_ANGLE, 0.5, EXACT },
    /* Ways to write a number. */
    { "  7mm", TW_LENGTH, 7, EXACT },
    { "+7 mm", TW_LENGTH, 7, EXACT },
    { ".5 mm", TW_LENGTH, 0.5, EXACT },
    { "5. mm", TW_LENGTH, 5, EXACT },
    { "5e-1 mm", TW_LENGTH, 0.5, EXACT },
};

Test(units, every_unit_turns_as_its_definition_says)
{
    for (size_t i = 0; i < sizeof conversions / sizeof conversions[0]; i++) {
        const struct conversion *c = &conversions[i];
        struct tw_measure measure = { 0 };

        cr_expect(tw_measure_read(c->written, c->quantity, "mm", &measure, NULL), "%s", c->written);
        cr_expect(fabs(measure.value - c->value) <= c->relative * fabs(c->value), "%s is %.17g, not %.17g", c->written,
                  measure.value, c->value);
    }
}

Test(units, the_way_back_gives_what_was_written)
{
    for (size_t i = 0; i < sizeof conversions / sizeof conversions[0]; i++) {
        struct tw_measure measure = { 0 };
        double back;

        cr_assert(tw_measure_read(conversions[i].written, conversions[i].quantity, "mm", &measure, NULL));
        back = tw_unit_from_inside(measure.unit, measure.value);
        cr_expect(fabs(back - measure.written) <= 1e-13 * fmax(1, fabs(measure.written)), "%s came back as %.17g",
                  conversions[i].written, back);
    }
}

struct refusal {
    const char *written;
    enum tw_quantity quantity;
    const char *usual_unit;
    const char *complaint;
};

static const struct refusal refusals[] = {
    { "3.7", TW_LENGTH, "mm", "\"3.7\" has no unit; a length carries its unit: write \"3.7 mm\"" },
    { "1/8", TW_LENGTH, "in", "\"1/8\" has no unit; a length carries its unit: write \"1/8 in\"" },
    { "1/8", TW_LENGTH, "mm", "\"1/8\" has no unit; a length carries its unit: write \"1/8 in\"" },
    { "5 deg", TW_LENGTH, "mm",
      "\"5 deg\" is an angle, but a length is wanted; allowed are mm, cm, m, um, in, thou, ft" },
    { "5 mm", TW_ANGLE, "deg", "\"5 mm\" is a length, but an angle is wanted; allowed are deg, rad" },
    { "5 MM", TW_LENGTH, "mm",
      "\"5 MM\" has the unknown unit \"MM\"; did you mean \"mm\"? Allowed are mm, cm, m, um, in, thou, ft" },
    { "5 furlongs", TW_LENGTH, "mm",
      "\"5 furlongs\" has the unknown unit \"furlongs\"; allowed are mm, cm, m, um, in, thou, ft" },
    { "30 m/sec", TW_SPEED, "m/s",
      "\"30 m/sec\" has the unknown unit \"m/sec\"; allowed are mm/s, mm/min, m/s, m/min, in/s, in/min, "
      "ft/min" },
    { "3,7 mm", TW_LENGTH, "mm",
      "\"3,7 mm\" has a comma in its number; decimals stand behind a point: write \"3.7 mm\"" },
    { "thick", TW_LENGTH, "mm",
      "\"thick\" does not begin with a number; a length is a number and its unit, such as \"12.5 mm\"" },
    { "", TW_LENGTH, "mm",
      "\"\" does not begin with a number; a length is a number and its unit, such as \"12.5 mm\"" },
    { ". mm", TW_LENGTH, "mm",
      "\". mm\" does not begin with a number; a length is a number and its unit, such as \"12.5 mm\"" },
    { "nan mm", TW_LENGTH, "mm",
      "\"nan mm\" does not begin with a number; a length is a number and its unit, such as \"12.5 mm\"" },
    { "inf mm", TW_LENGTH, "mm",
      "\"inf mm\" does not begin with a number; a length is a number and its unit, such as \"12.5 mm\"" },
    { "1e999 mm", TW_LENGTH, "mm",
      "\"1e999 mm\" does not begin with a number; a length is a number and its unit, such as \"12.5 mm\"" },
    { "1/0 in", TW_LENGTH, "mm",
      "\"1/0 in\" does not begin with a number; a length is a number and its unit, such as \"12.5 mm\"" },
    { "0x10 mm", TW_LENGTH, "mm",
      "\"0x10 mm\" has the unknown unit \"x10 mm\"; allowed are mm, cm, m, um, in, thou, ft" },
    { "3 mm 4", TW_LENGTH, "mm", "\"3 mm 4\" has the unknown unit \"mm 4\"; allowed are mm, cm, m, um, in, thou, ft" },
};

Test(units, what_is_no_measure_is_refused_in_words_and_the_answer_left_alone)
{
    for (size_t i = 0; i < sizeof refusals / sizeof refusals[0]; i++) {
        const struct refusal *r = &refusals[i];
        struct tw_measure measure = { .value = 42 };
        struct tw_text complaint = { 0 };

        cr_expect(not(tw_measure_read(r->written, r->quantity, r->usual_unit, &measure, &complaint)));
        cr_expect(strcmp(complaint.data, r->complaint) == 0, "said   %s\nwanted %s", complaint.data, r->complaint);
        cr_expect(eq(dbl, measure.value, 42));
        tw_text_free(&complaint);
    }
}

static const char *nearest_of(const char *wanted, const char *const *names)
{
    struct tw_nearest nearest = tw_nearest_to(wanted);

    for (; *names; names++)
        tw_nearest_offer(&nearest, *names);
    return nearest.name ? nearest.name : "";
}

static void expect_nearest(const char *wanted, const char *const *names, const char *answer)
{
    const char *got = nearest_of(wanted, names);

    cr_expect(strcmp(got, answer) == 0, "%s: got \"%s\" instead of \"%s\"", wanted, got, answer);
}

Test(nearest, finds_the_name_with_the_fewest_edits_and_none_for_a_stranger)
{
    static const char *const names[] = { "length", "layers", "smallest_thickness", "margin", NULL };

    expect_nearest("lenght", names, "length"); /* two letters swapped: one edit */
    expect_nearest("layer", names, "layers");
    expect_nearest("Margin", names, "margin");
    expect_nearest("smalest_thicknes", names, "smallest_thickness");
    expect_nearest("wheel", names, "");
    expect_nearest("", names, "");
}

/* Exact by the inch's definition, 25.4 mm, International Yard and Pound Agreement, 1959. */
Test(units, lengths_are_shown_in_either_unit)
{
    cr_expect(strcmp(tw_length_text(3.048, 3, true).text, "0.1200 in") == 0);
    cr_expect(strcmp(tw_length_text(3.048, 3, false).text, "3.048 mm") == 0);
    cr_expect(strcmp(tw_length_text(127.0, 0, true).text, "5.00 in") == 0);
    cr_expect(strcmp(tw_length_text(25.4, 1, true).text, "1.000 in") == 0);
}

/* By hand: 3.048 / 25.4 is 0.12; 175 * 9/5 + 32 is 347; NIST Special Publication 811 (2008), appendix B.8. */
Test(units, the_unit_of_the_shop_stands_first)
{
    cr_expect(strcmp(tw_length_both(3.048, 3, true).text, "0.1200 in (3.048 mm)") == 0);
    cr_expect(strcmp(tw_length_both(3.048, 3, false).text, "3.048 mm (0.1200 in)") == 0);
    cr_expect(strcmp(tw_temperature_both(175.0, true).text, "347 degF (175 degC)") == 0);
    cr_expect(strcmp(tw_temperature_both(175.0, false).text, "175 degC (347 degF)") == 0);
    cr_expect(strcmp(tw_temperature_both(-40.0, true).text, "-40 degF (-40 degC)") == 0);
}

/* By hand: 224 * 9/5 + 32 is 435.2, 283 gives 541.4 and 302 gives 575.6. */
Test(units, readings_of_a_sentence_stand_in_both_units)
{
    static const char words[] = "{}, with the reserve {} of {} allowed";
    static const double degC[] = { 224.0, 283.0, 302.0 };
    struct tw_text inch = { 0 }, metric = { 0 };

    tw_degrees_print(&inch, true, words, degC);
    tw_degrees_print(&metric, false, words, degC);
    cr_expect(strcmp(inch.data, "435 degF, with the reserve 541 degF of 576 degF allowed   (224, 283 of 302 degC)") ==
                  0,
              "%s", inch.data);
    cr_expect(strcmp(metric.data, "224 degC, with the reserve 283 degC of 302 degC allowed   (435, 541 of 576 degF)") ==
                  0,
              "%s", metric.data);
    tw_text_free(&inch);
    tw_text_free(&metric);
}

/* By hand, from 25.4 mm an inch and 0.3048 m a foot; 25.4^3 is 16387.064; 200 * 9/5 + 32 is 392. */
Test(units, a_figure_turns_to_the_unit_of_the_shop)
{
    static const struct {
        double value;
        const char *unit;
        double inches;
        const char *in_inches;
    } rows[] = { { 25.4, "mm", 1.0, "in" },
                 { 25.4, "mm/s", 60.0, "in/min" },
                 { 0.3048, "m/s", 60.0, "ft/min" },
                 { 16387.064, "mm3", 1.0, "in3" },
                 { 200.0, "degC", 392.0, "degF" },
                 { 12.0, "W", 12.0, "W" },
                 { 0.3, "s", 0.3, "s" } };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct tw_shop_figure inch = tw_shop_figure(rows[i].value, rows[i].unit, true);
        struct tw_shop_figure metric = tw_shop_figure(rows[i].value, rows[i].unit, false);

        cr_expect(fabs(inch.value - rows[i].inches) < 1e-9 * rows[i].inches, "%s: %.17g", rows[i].unit, inch.value);
        cr_expect(strcmp(inch.unit, rows[i].in_inches) == 0, "%s", inch.unit);
        cr_expect(metric.value == rows[i].value && strcmp(metric.unit, rows[i].unit) == 0, "%s", metric.unit);
    }
}

Test(units, a_figure_has_four_digits_and_no_power_of_ten)
{
    static const struct {
        double value;
        const char *shown;
    } rows[] = { { 0.0, "0" },
                 { 3.4e-13, "0" },
                 { -4e-7, "0" },
                 { 7.28e-6, "0.000007" },
                 { 0.000887, "0.000887" },
                 { 0.00123461, "0.001235" },
                 { 408.71, "408.7" },
                 { 200000.0, "200000" },
                 { 6223.4, "6223" },
                 { -12.5, "-12.5" } };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        cr_expect(strcmp(tw_figure_text(rows[i].value).text, rows[i].shown) == 0, "%g: %s", rows[i].value,
                  tw_figure_text(rows[i].value).text);
}
