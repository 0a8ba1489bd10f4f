/* json.c - the calibration as one JSON object. */
#include "tangwright/calibrate.h"

#include <jansson.h>
#include <math.h>
#include <string.h>

#define DIGITS 9

static json_t *number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

static bool append(json_t *array, json_t *member)
{
    return member && json_array_append_new(array, member) == 0;
}

static json_t *energy_object(const struct tw_energy_fit *fit)
{
    static const char *const exponents[] = { "fitted", "kept: too few readings", "kept: too narrow", "kept: too loose",
                                             "kept: out of range" };

    return json_pack("{s:f, s:f, s:b, s:s, s:f, s:f, s:f, s:f, s:f, s:f, s:I, s:f, s:I, s:o, s:f, s:I, s:f, s:f}",
                     "specific_energy_J_per_mm3", fit->energy_J_per_mm3, "relative_uncertainty", fit->relative,
                     "calibrated", tw_energy_fit_trust(fit) == TW_TRUSTED, "exponent_from",
                     exponents[fit->exponent_from], "size_exponent", fit->exponent, "exponent_uncertainty",
                     fit->exponent_uncertainty, "correlation", fit->correlation, "mean_chip_mm", fit->mean_chip_mm,
                     "mean_energy_J_per_mm3", fit->mean_energy_J_per_mm3, "mean_relative_uncertainty",
                     fit->mean_relative, "above_floor", (json_int_t)fit->above_floor, "chi_square", fit->chi_square,
                     "degrees_of_freedom", (json_int_t)fit->degrees, "probability", number(fit->probability), "scatter",
                     fit->scatter, "standing_off", (json_int_t)fit->standing_off, "rest_energy_J_per_mm3",
                     fit->rest_energy_J_per_mm3, "rest_exponent", fit->rest_exponent);
}

static json_t *partition_object(const struct tw_partition_fit *fit)
{
    return json_pack("{s:f, s:f, s:f, s:i, s:i, s:f, s:o}", "work_partition", fit->value, "lower", fit->lower, "upper",
                     fit->upper, "lower_line", fit->lower_line, "upper_line", fit->upper_line, "hahn", fit->rule,
                     "from_energy", number(fit->from_energy));
}

static json_t *power_row(const struct tw_reading *reading, const struct tw_energy_point *point,
                         const struct tw_energy_check *check)
{
    return json_pack("{s:i, s:f, s:f, s:f, s:o, s:o, s:b, s:b}", "line", reading->line, "chip_mm", point->chip_mm,
                     "energy_J_per_mm3", point->energy_J_per_mm3, "relative_uncertainty", point->relative,
                     "model_J_per_mm3", number(check ? check->model_J_per_mm3 : (double)NAN), "off_by",
                     number(check ? check->off_by : (double)NAN), "on_floor", check && check->on_floor, "stands_off",
                     check && check->stands_off);
}

static json_t *mark_row(const struct tw_reading *mark, const struct tw_mark_check *check)
{
    static const char *const results[] = { "no", "yes", "peak" };

    return json_pack("{s:i, s:f, s:s, s:o, s:o, s:o}", "line", mark->line, "temperature_degC", mark->temperature_degC,
                     "reached", results[mark->mark], "partition_that_gives_it", number(check->share), "rule_peak_degC",
                     number(check->rule_peak_degC), "peak_degC", number(check->peak_degC));
}

static json_t *rows_of(const struct tw_readings *readings, const struct tw_calibration *calibration,
                       enum tw_reading_kind kind)
{
    json_t *rows = json_array();
    size_t row = 0;

    for (size_t i = 0; rows && i < readings->count; i++) {
        const struct tw_reading *reading = &readings->items[i];
        json_t *object;

        if (reading->kind != kind)
            continue;
        object = kind == TW_READING_POWER
                     ? power_row(reading, &calibration->points[row],
                                 calibration->energy_known ? &calibration->energy_checks[row] : NULL)
                     : mark_row(reading, &calibration->mark_checks[row]);
        row++;
        if (append(rows, object))
            continue;
        json_decref(rows);
        rows = NULL;
    }
    return rows;
}

enum tw_status tw_calibration_json(const struct tw_job *job, const struct tw_readings *readings,
                                   const struct tw_calibration *calibration, char **out, struct tw_findings *findings)
{
    json_t *root = json_pack(
        "{s:s, s:s, s:s, s:f, s:o, s:o, s:o, s:o}", "format", "tangwright-calibration/1", "job", job->name, "inputs",
        job->digest, "wheel_m_per_s", calibration->wheel_mm_per_s / 1e3, "energy",
        calibration->energy_known ? energy_object(&calibration->energy) : json_null(), "partition",
        calibration->partition_known ? partition_object(&calibration->partition) : json_null(), "power_readings",
        rows_of(readings, calibration, TW_READING_POWER), "marks", rows_of(readings, calibration, TW_READING_MARK));

    *out = root ? json_dumps(root, JSON_INDENT(2) | JSON_REAL_PRECISION(DIGITS)) : NULL;
    json_decref(root);
    return *out ? TW_OK : tw_no_memory(findings);
}
