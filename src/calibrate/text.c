/* text.c - the calibration for a person: lines for the job, and behind # what they rest on. */
#include "tangwright/calibrate.h"

#include "base/numbers.h"
#include "base/plain.h"
#include "base/text.h"
#include "base/units.h"

#include <math.h>
#include <stdio.h>

#define KNOWN_EXPONENT_UNCERTAINTY 0.1 /* half of what 0.2 to 0.6 leaves open */

/* What a reading's depth, speed and temperature are told in: as the machine is programmed. */
struct told_in {
    bool inches;
    double length_mm, speed_mm_per_s; /* one of the unit */
    const char *length, *speed, *temperature;
};

static struct told_in told_in(const struct tw_job *job)
{
    if (job->machine.dialect.inch)
        return (struct told_in){ true, TW_MM_PER_INCH, TW_MM_PER_INCH / 60.0, "in", "in/min", "degF" };
    return (struct told_in){ false, 1.0, 1.0, "mm", "mm/s", "degC" };
}

static double told_degrees(struct told_in in, double degC)
{
    return in.inches ? tw_degF(degC) : degC;
}

static void print_energy_lines(struct tw_text *text, const struct tw_energy_fit *fit)
{
    double energy = fit->energy_J_per_mm3, wide = exp(TW_CALIBRATE_NORMAL_95 * fit->relative);

    tw_text_print(text, "specific_energy = \"%.4g J/mm3\";\n", energy);
    tw_text_print(text, "#   +- %.2g J/mm3 (standard uncertainty, %.2g %%); 95 %%: %.4g to %.4g J/mm3\n",
                  energy * fit->relative, 100.0 * fit->relative, energy / wide, energy * wide);
    if (fit->exponent_from == TW_EXPONENT_FITTED) {
        tw_text_print(text, "size_exponent = %.3f;\n", fit->exponent);
        tw_text_print(text, "#   +- %.2g; 95 %%: %.3f to %.3f; correlation with ln specific_energy %.2f\n",
                      fit->exponent_uncertainty, fit->exponent - TW_CALIBRATE_NORMAL_95 * fit->exponent_uncertainty,
                      fit->exponent + TW_CALIBRATE_NORMAL_95 * fit->exponent_uncertainty, fit->correlation);
    }
}

/* The line that makes the plan do without a reserve of energy, or why it is not there. */
static void print_trust_line(struct tw_text *text, const struct tw_energy_fit *fit)
{
    double open_percent = 100.0 * (tw_energy_fit_highest(fit) - 1.0);

    switch (tw_energy_fit_trust(fit)) {
    case TW_TRUSTED:
        tw_text_print(
            text,
            "calibrated = true;\n#   over the chips that were read the energy is at most %.2g %% above the fit "
            "(95 %%): the plan needs no\n#   reserve of energy any more\n",
            open_percent);
        return;
    case TW_TRUST_ALONE:
        tw_text_print(text, "#   calibrated = true; is not written: no reading checks the others, so take one more\n");
        return;
    case TW_TRUST_CONTRADICTED:
        tw_text_print(text, "#   calibrated = true; is not written: the readings contradict the model\n");
        return;
    case TW_TRUST_LOOSE:
        tw_text_print(
            text,
            "#   calibrated = true; is not written: over the chips that were read the energy may still be "
            "%.2g %% above\n#   the fit (95 %%), and %.0f %% is what a plan keeps in reserve without it; take "
            "more readings\n",
            open_percent, 100.0 * (TW_CALIBRATE_CLOSE - 1.0));
        return;
    }
}

static void print_partition_line(struct tw_text *text, const struct tw_partition_fit *fit)
{
    tw_text_print(text, "work_partition = %.3f;\n", fmin(1.0, ceil(fit->value * 1e3 - 1e-6) / 1e3));
    if (fit->lower_line)
        tw_text_print(text,
                      fit->lower_line == fit->upper_line ? "#   the mark of line %d holds it"
                                                         : "#   the marks of lines %d and %d hold it",
                      fit->lower_line, fit->upper_line);
    if (fit->lower_line)
        tw_text_print(text,
                      " between %.3f and %.3f (middle %.3f, standard "
                      "uncertainty %.2g);\n"
                      "#   the hot end is written, so that the plan errs on the safe side\n",
                      fit->lower, fit->upper, 0.5 * (fit->lower + fit->upper), (fit->upper - fit->lower) / sqrt(12.0));
    else
        tw_text_print(text,
                      "#   an upper bound: the mark of line %d says that it is not more; a mark that is reached would "
                      "bound it from below\n",
                      fit->upper_line);
    if (isfinite(fit->from_energy))
        tw_text_print(text, "#   one standard uncertainty less of specific_energy would make it %.3f higher\n",
                      fit->from_energy);
    else
        tw_text_print(text, "#   it holds with the wheel's specific energy as it is now; readings of kind "
                            "power would prove that\n");
    tw_text_print(text, "#   Hahn's rule, which is used without this line, gives %.3f\n", fit->rule);
}

/* Why the exponent is the profile's, and what would change that. */
static void print_exponent_kept(struct tw_text *text, struct told_in in, const struct tw_energy_fit *fit,
                                double wheel_mm_per_s)
{
    double area = in.length_mm * in.speed_mm_per_s;

    if (fit->exponent_from == TW_EXPONENT_FITTED)
        return;
    tw_text_print(text, "# size_exponent is kept at %.3g: ", fit->exponent);
    if (fit->exponent_from == TW_EXPONENT_LOOSE)
        tw_text_print(text,
                      "a fit gives %.2f +- %.2f, worse than what is known of it anyway;\n"
                      "#   more readings at the thinnest and the thickest chips would tell more.\n",
                      fit->tried_exponent, fit->tried_uncertainty);
    else if (fit->exponent_from == TW_EXPONENT_STRANGE)
        tw_text_print(text,
                      "a fit gives %.2f +- %.2f, but only 0 to 1 makes sense; check the readings\n"
                      "#   at the thinnest and the thickest chips.\n",
                      fit->tried_exponent, fit->tried_uncertainty);
    else
        tw_text_print(
            text,
            "%zu reading%s above the floor, chip thickness spanning a factor of %.2g;\n"
            "#   it is fitted from %d readings and a factor of %g on. Add a cut whose depth times "
            "table speed is\n#   at most %.2g %s or at least %.2g %s.\n",
            fit->above_floor, fit->above_floor == 1 ? "" : "s", fit->thickest_chip_mm / fit->thinnest_chip_mm,
            TW_CALIBRATE_READINGS, TW_CALIBRATE_SPAN, fit->thickest_chip_mm / TW_CALIBRATE_SPAN * wheel_mm_per_s / area,
            in.inches ? "in2/min" : "mm2/s", fit->thinnest_chip_mm * TW_CALIBRATE_SPAN * wheel_mm_per_s / area,
            in.inches ? "in2/min" : "mm2/s");
    tw_text_print(text,
                  "#   An exponent %.1f off would put specific_energy off by %.2g %%, but not the energy at "
                  "the readings' own\n#   chip thickness: take them near the cuts that are planned.\n",
                  KNOWN_EXPONENT_UNCERTAINTY,
                  100.0 * expm1(KNOWN_EXPONENT_UNCERTAINTY * fabs(log(1e-4 / fit->mean_chip_mm))));
}

static void print_agreement(struct tw_text *text, const struct tw_energy_fit *fit, size_t count)
{
    tw_text_print(text,
                  "# %zu power reading%s, %zu above the floor. At their mean chip thickness, %.3g um, the "
                  "energy is %.4g J/mm3 +- %.2g %%.\n",
                  count, count == 1 ? "" : "s", fit->above_floor, fit->mean_chip_mm * 1e3, fit->mean_energy_J_per_mm3,
                  100.0 * fit->mean_relative);
    if (fit->degrees == 0) {
        tw_text_print(text, "# No degree of freedom is left, so nothing checks the readings: take one more.\n");
        return;
    }
    tw_text_print(text, "# chi-square %.3g with %zu degree%s of freedom; chance alone gives more in ", fit->chi_square,
                  fit->degrees, fit->degrees == 1 ? "" : "s");
    if (fit->probability < 1e-4)
        tw_text_print(text, "less than 0.01 %% of cases");
    else
        tw_text_print(text, "%.2g %% of cases", 100.0 * fit->probability);
    tw_text_print(text, fit->probability < TW_CALIBRATE_CHANCE ? ": THE READINGS CONTRADICT THE MODEL.\n" : ".\n");
    if (fit->scatter > 1.0)
        tw_text_print(text,
                      "# They scatter %.2g times as far as stated, and the uncertainties above are wider by that.\n",
                      fit->scatter);
    if (fit->standing_off > 0)
        tw_text_print(text,
                      "# Without what stands off, specific_energy would be %.4g J/mm3 and size_exponent %.3f; whether "
                      "to drop it is yours to say.\n",
                      fit->rest_energy_J_per_mm3, fit->rest_exponent);
}

static void print_power_row(struct tw_text *text, struct told_in in, const struct tw_reading *reading,
                            const struct tw_energy_point *point, const struct tw_energy_check *check)
{
    double net_W = (reading->power_W - reading->idle_W) * reading->efficiency;

    tw_text_print(text, "# %5d  %8.4g %10.4g %8.4g %8.4g %6.2g %9.3g", reading->line, reading->depth_mm / in.length_mm,
                  reading->table_mm_per_s / in.speed_mm_per_s, reading->width_mm / in.length_mm, net_W,
                  net_W * point->relative, point->chip_mm * 1e3);
    tw_text_print(text, " %10.4g", point->energy_J_per_mm3);
    if (!check)
        tw_text_print(text, " %10s %7s\n", "-", "-");
    else if (isnan(check->off_by))
        tw_text_print(text, " %10.4g %7s%s\n", check->model_J_per_mm3, "-", check->on_floor ? "  on the floor" : "");
    else
        tw_text_print(text, " %10.4g %+7.1f%s%s\n", check->model_J_per_mm3, check->off_by,
                      check->on_floor ? "  on the floor" : "", check->stands_off ? "  stands off" : "");
}

static void print_power_table(struct tw_text *text, struct told_in in, const struct tw_readings *readings,
                              const struct tw_calibration *calibration)
{
    size_t row = 0;

    tw_text_print(text, "#\n# %5s  %8s %10s %8s %8s %6s %9s %10s %10s %7s\n", "", "depth", "table", "width", "net",
                  "+-", "chip", "read", "model", "off by");
    tw_text_print(text, "# %5s  %8s %10s %8s %8s %6s %9s %10s %10s %7s\n", "line", in.length, in.speed, in.length, "W",
                  "W", "um", "J/mm3", "J/mm3", "sigma");
    for (size_t i = 0; i < readings->count; i++) {
        if (readings->items[i].kind != TW_READING_POWER)
            continue;
        print_power_row(text, in, &readings->items[i], &calibration->points[row],
                        calibration->energy_known ? &calibration->energy_checks[row] : NULL);
        row++;
    }
}

static void print_number(struct tw_text *text, int width, const char *format, double value)
{
    char number[40];

    snprintf(number, sizeof number, "-");
    if (isfinite(value) && *format == 's')
        snprintf(number, sizeof number, "%.3f", value);
    else if (isfinite(value))
        snprintf(number, sizeof number, "%.0f", value);
    tw_text_print(text, " %*s", width, number);
}

static void print_mark_table(struct tw_text *text, struct told_in in, const struct tw_readings *readings,
                             const struct tw_calibration *calibration)
{
    static const char *const results[] = { "not reached", "reached", "peak" };
    const struct tw_mark_check *check = calibration->mark_checks;

    tw_text_print(text, "#\n# %5s  %8s %10s %8s %-11s %14s %10s %10s\n", "", "depth", "table", "mark", "",
                  "partition that", "by rule", "with it");
    tw_text_print(text, "# %5s  %8s %10s %8s %-11s %14s %10s %10s\n", "line", in.length, in.speed, in.temperature, "",
                  "gives it", in.temperature, in.temperature);
    for (size_t i = 0; i < readings->count; i++) {
        const struct tw_reading *mark = &readings->items[i];

        if (mark->kind != TW_READING_MARK)
            continue;
        tw_text_print(text, "# %5d  %8.4g %10.4g %8.4g %-11s", mark->line, mark->depth_mm / in.length_mm,
                      mark->table_mm_per_s / in.speed_mm_per_s, told_degrees(in, mark->temperature_degC),
                      results[mark->mark]);
        print_number(text, 14, "share", check->share);
        print_number(text, 10, "degrees", told_degrees(in, check->rule_peak_degC));
        print_number(text, 10, "degrees", told_degrees(in, check->peak_degC));
        tw_text_print(text, "\n");
        check++;
    }
}

enum tw_status tw_calibration_text(const struct tw_job *job, const struct tw_readings *readings,
                                   const struct tw_calibration *calibration, char **out, struct tw_findings *findings)
{
    struct tw_text text = { 0 };
    struct told_in in = told_in(job);

    tw_text_print(&text, "# calibration of %s by ", job->name);
    tw_plain_append(&text, readings->path);
    tw_text_print(&text, "\n");
    if (calibration->energy_known || calibration->partition_known)
        tw_text_print(&text,
                      "# for the job's group wheel: { ... }; it holds for this wheel, as sharp as it was, at "
                      "%.*f %s\n",
                      in.inches ? 0 : 2, calibration->wheel_mm_per_s / (in.inches ? TW_MM_PER_INCH * 12.0 / 60.0 : 1e3),
                      in.inches ? "ft/min" : "m/s");
    if (calibration->energy_known) {
        print_energy_lines(&text, &calibration->energy);
        print_trust_line(&text, &calibration->energy);
    }
    if (calibration->partition_known)
        print_partition_line(&text, &calibration->partition);
    tw_text_print(&text, "#\n");
    if (calibration->energy_known) {
        print_exponent_kept(&text, in, &calibration->energy, calibration->wheel_mm_per_s);
        print_agreement(&text, &calibration->energy, calibration->power_count);
    }
    if (calibration->power_count > 0)
        print_power_table(&text, in, readings, calibration);
    if (calibration->mark_count > 0 && (calibration->energy_known || calibration->power_count == 0))
        print_mark_table(&text, in, readings, calibration);
    *out = tw_text_take(&text);
    return *out ? TW_OK : tw_no_memory(findings);
}
