/* calibrate.c - from readings to points, and the two fits one after the other. */
#include "tangwright/calibrate.h"

#include "base/numbers.h"
#include "calibrate/partition.h"
#include "tangwright/heat.h"

#include <math.h>
#include <stdlib.h>

/* A cut that takes less than this many standard uncertainties of its own power says nothing. */
#define LEAST_SIGNAL 3.0

/* The allowed range of wheel.specific_energy, as src/input/schema.c has it. */
#define ENERGY_LEAST 5.0
#define ENERGY_MOST  500.0

/* What the planner programs: the whole rpm at or below the wanted surface speed, or the spindle's one
 * speed. */
static double usual_wheel_mm_per_s(const struct tw_job *job)
{
    double rpm = job->machine.spindle_max_rpm;

    if (job->machine.spindle_programmable)
        rpm = floor(fmin(rpm, tw_rim_rpm(job->wheel.diameter_mm, job->wheel.speed_mm_per_s)) + 1e-9);
    return tw_rim_mm_per_s(job->wheel.diameter_mm, rpm);
}

static size_t count_kind(const struct tw_readings *readings, enum tw_reading_kind kind)
{
    size_t count = 0;

    for (size_t i = 0; i < readings->count; i++)
        count += readings->items[i].kind == kind;
    return count;
}

/* ---- specific energy ---- */

/* The meter's uncertainty holds for each of its two readings; an idle power of 0 means that it was set to
 * 0 there. */
static double net_uncertainty_W(const struct tw_reading *reading)
{
    double of_power_W = reading->uncertainty_W + reading->relative_uncertainty * reading->power_W;
    double of_idle_W = reading->uncertainty_W + reading->relative_uncertainty * reading->idle_W;

    return reading->idle_W > 0.0 ? hypot(of_power_W, of_idle_W) : of_power_W;
}

static enum tw_status make_point(const struct tw_job *job, const struct tw_readings *readings,
                                 const struct tw_reading *reading, double usual_mm_per_s, struct tw_energy_point *out,
                                 struct tw_findings *findings)
{
    struct tw_place place = { .file = readings->path, .line = reading->line, .key = "power" };
    double net_W = reading->power_W - reading->idle_W;
    double removal_mm2_per_s = reading->depth_mm * reading->table_mm_per_s;

    *out = (struct tw_energy_point){
        .chip_mm = removal_mm2_per_s / partition_wheel_mm_per_s(job, reading, usual_mm_per_s),
        .energy_J_per_mm3 = net_W * reading->efficiency / (removal_mm2_per_s * reading->width_mm),
        .relative = net_uncertainty_W(reading) / net_W,
    };
    if (out->relative * LEAST_SIGNAL <= 1.0)
        return TW_OK;
    return tw_fail(findings, TW_BAD_INPUT, place,
                   "the cut takes %.3g W, less than %g times the %.3g W by which that may be off, so it says "
                   "nothing; take a wider, deeper or faster cut, or a meter that reads closer (column "
                   "uncertainty)",
                   net_W, LEAST_SIGNAL, net_uncertainty_W(reading));
}

static enum tw_status make_points(const struct tw_job *job, const struct tw_readings *readings,
                                  struct tw_calibration *calibration, struct tw_findings *findings)
{
    enum tw_status worst = TW_OK;
    size_t filled = 0;

    for (size_t i = 0; i < readings->count; i++) {
        const struct tw_reading *reading = &readings->items[i];
        enum tw_status status;

        if (reading->kind != TW_READING_POWER)
            continue;
        status =
            make_point(job, readings, reading, calibration->wheel_mm_per_s, &calibration->points[filled++], findings);
        worst = worst == TW_OK ? status : worst;
    }
    return worst;
}

/* What the readings that do not stand off say about this chip thickness. */
static double rest_at(const struct tw_energy_fit *fit, const struct tw_wheel *wheel, double chip_mm)
{
    struct tw_wheel rest = { .specific_energy_J_per_mm3 = fit->rest_energy_J_per_mm3,
                             .size_exponent = fit->rest_exponent,
                             .min_specific_energy_J_per_mm3 = wheel->min_specific_energy_J_per_mm3 };

    return tw_specific_energy_J_per_mm3(chip_mm, &rest);
}

static void remark_on_reading(const struct tw_job *job, const struct tw_calibration *calibration, size_t row,
                              struct tw_place place, struct tw_findings *findings)
{
    const struct tw_energy_point *point = &calibration->points[row];

    if (calibration->energy_checks[row].stands_off)
        tw_remark(findings, place,
                  "this reading stands off: it gives %.3g J/mm3, where the others lead to %.3g; check it, and "
                  "grind and read again if in doubt",
                  point->energy_J_per_mm3, rest_at(&calibration->energy, &job->wheel, point->chip_mm));
    if (calibration->energy_checks[row].on_floor)
        tw_remark(findings, place,
                  "this reading is on the floor of the specific energy (wheel.min_specific_energy), so it says "
                  "nothing about specific_energy; thinner chips would");
}

/* What a person should look at, with the line it stands on. */
static void remark_on_readings(const struct tw_job *job, const struct tw_readings *readings,
                               const struct tw_calibration *calibration, struct tw_findings *findings)
{
    const struct tw_energy_fit *fit = &calibration->energy;
    struct tw_place place = { .file = readings->path };
    size_t row = 0;

    if (fit->probability < TW_CALIBRATE_CHANCE)
        tw_remark(findings, place,
                  "the readings contradict the model: they scatter %.2g times as far as stated, and chance "
                  "would do that in less than 1 %% of cases; check depths and widths, whether the wheel "
                  "changed on the way, or state a larger uncertainty",
                  fit->scatter);
    for (size_t i = 0; i < readings->count; i++) {
        if (readings->items[i].kind != TW_READING_POWER)
            continue;
        place.line = readings->items[i].line;
        remark_on_reading(job, calibration, row++, place, findings);
    }
}

static enum tw_status refuse_energy(const struct tw_readings *readings, const struct tw_energy_fit *fit,
                                    struct tw_findings *findings)
{
    struct tw_place place = { .file = readings->path };

    return tw_fail(findings, TW_BAD_INPUT, place,
                   "the readings ask for a specific_energy of %.4g J/mm3, but a wheel has %g to %g J/mm3; "
                   "check the units of depth, table_speed, width and power, and whether power is that of the "
                   "spindle alone",
                   fit->energy_J_per_mm3, ENERGY_LEAST, ENERGY_MOST);
}

static enum tw_status fit_energy(const struct tw_job *job, const struct tw_readings *readings,
                                 struct tw_calibration *out, struct tw_findings *findings)
{
    struct tw_place place = { .file = readings->path };
    enum tw_status status;

    if (out->power_count == 0)
        return TW_OK;
    status = make_points(job, readings, out, findings);
    if (status == TW_OK)
        status = tw_energy_fit_make(out->points, out->power_count, &job->wheel, place, &out->energy, out->energy_checks,
                                    findings);
    if (status != TW_OK)
        return status;
    if (!(out->energy.energy_J_per_mm3 >= ENERGY_LEAST && out->energy.energy_J_per_mm3 <= ENERGY_MOST))
        return refuse_energy(readings, &out->energy, findings);
    out->energy_known = true;
    remark_on_readings(job, readings, out, findings);
    return TW_OK;
}

/* ---- partition ---- */

static enum tw_status fit_partition(const struct tw_job *job, const struct tw_readings *readings,
                                    struct tw_calibration *out, struct tw_findings *findings)
{
    struct partition_setup setup = { .job = job, .wheel = job->wheel, .wheel_mm_per_s = out->wheel_mm_per_s };
    enum tw_status status;

    if (out->mark_count == 0)
        return TW_OK;
    if (out->energy_known) {
        setup.energy = &out->energy;
        setup.wheel.specific_energy_J_per_mm3 = out->energy.energy_J_per_mm3;
        setup.wheel.size_exponent = out->energy.exponent;
    }
    status = partition_fit(&setup, readings, &out->partition, out->mark_checks, findings);
    out->partition_known = status == TW_OK;
    return status;
}

/* ---- both ---- */

static enum tw_status open_arrays(struct tw_calibration *out, struct tw_findings *findings)
{
    if (out->power_count > 0) {
        out->points = calloc(out->power_count, sizeof *out->points);
        out->energy_checks = calloc(out->power_count, sizeof *out->energy_checks);
        if (!out->points || !out->energy_checks)
            return tw_no_memory(findings);
    }
    if (out->mark_count > 0) {
        out->mark_checks = calloc(out->mark_count, sizeof *out->mark_checks);
        if (!out->mark_checks)
            return tw_no_memory(findings);
    }
    return TW_OK;
}

enum tw_status tw_calibrate(const struct tw_job *job, const struct tw_readings *readings, struct tw_calibration *out,
                            struct tw_findings *findings)
{
    struct tw_calibration made = {
        .power_count = count_kind(readings, TW_READING_POWER),
        .mark_count = count_kind(readings, TW_READING_MARK),
        .wheel_mm_per_s = usual_wheel_mm_per_s(job),
    };
    enum tw_status status = open_arrays(&made, findings);

    *out = (struct tw_calibration){ 0 };
    if (status == TW_OK)
        status = fit_energy(job, readings, &made, findings);
    if (status == TW_OK) /* marks read with a wrong energy would mislead */
        status = fit_partition(job, readings, &made, findings);
    if (status != TW_OK && status != TW_BAD_INPUT) {
        tw_calibration_free(&made);
        return status;
    }
    *out = made;
    return status;
}

void tw_calibration_free(struct tw_calibration *calibration)
{
    free(calibration->points);
    free(calibration->energy_checks);
    free(calibration->mark_checks);
    *calibration = (struct tw_calibration){ 0 };
}
