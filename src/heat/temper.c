/* temper.c - the Hollomon-Jaffe parameter of any history, and what a flash does to the skin. */
#include "tangwright/temper.h"

#include "heat/numbers.h"

#define KELVIN_AT_0_degC 273.15
#define SECONDS_PER_HOUR 3600.0
#define BITS_PER_DECADE  3.32192809488736234787 /* log2 10 */
#define DECADES_PER_E    0.43429448190325182765 /* log10 e */
#define MOMENTS_IN_BAND  48                     /* of the passing band, in equal steps */
#define WAKE_GROWTH      1.1                    /* behind it each step is longer than the one before */
#define WAKE_LENGTHS     10.0

static bool is_time(double time_s)
{
    return time_s >= 0.0 && isfinite(time_s);
}

static bool is_temperature(double degC)
{
    return degC > -KELVIN_AT_0_degC && isfinite(degC);
}

double tw_temper_constant_of_carbon(double carbon_percent)
{
    return 21.3 - 5.8 * carbon_percent;
}

double tw_temper_parameter(double degC, double time_s, double constant)
{
    if (!is_temperature(degC) || !is_time(time_s) || !(time_s > 0.0) || !isfinite(constant))
        return NOT_A_NUMBER;
    return (degC + KELVIN_AT_0_degC) * (constant + log10(time_s / SECONDS_PER_HOUR)) / 1000.0;
}

/* log10(10^a + 10^b) without overflow. */
static double log10_of_sum(double a, double b)
{
    double larger = fmax(a, b);

    return larger + log1p(exp2((fmin(a, b) - larger) * BITS_PER_DECADE)) * DECADES_PER_E;
}

double tw_temper_add(double parameter, double degC, double time_s, double constant)
{
    double kelvin = degC + KELVIN_AT_0_degC, log_hours;

    if (!is_temperature(degC) || !is_time(time_s) || !(parameter >= 0.0) || !isfinite(parameter) || !isfinite(constant))
        return NOT_A_NUMBER;
    if (time_s == 0.0)
        return parameter;
    log_hours = log10(time_s / SECONDS_PER_HOUR);
    if (parameter > 0.0)
        log_hours = log10_of_sum(log_hours, 1000.0 * parameter / kelvin - constant);
    return fmax(kelvin * (constant + log_hours) / 1000.0, parameter);
}

double tw_temper_equivalent_degC(double parameter, double time_s, double constant)
{
    double logs = constant + log10(time_s / SECONDS_PER_HOUR);

    if (!is_time(time_s) || !(time_s > 0.0) || !(logs > 0.0) || !isfinite(parameter))
        return NOT_A_NUMBER;
    return 1000.0 * parameter / logs - KELVIN_AT_0_degC;
}

double tw_temper_softening_HRC(double parameter, double own_parameter, double slope_HRC)
{
    return parameter > own_parameter ? slope_HRC * (parameter - own_parameter) : 0.0 * (parameter + own_parameter);
}

/* ---- What later heat may add up to ---- */

struct tw_temper_limit tw_temper_limit_of(double own_degC, double margin_K, double time_s, double constant)
{
    struct tw_temper_limit limit = {
        .own_degC = own_degC,
        .allowed_degC = own_degC - margin_K,
        .time_s = time_s,
        .constants = { TW_TEMPER_CONSTANT, constant > 0.0 ? constant : TW_TEMPER_CONSTANT },
    };

    for (int i = 0; i < 2; i++)
        limit.allowed[i] = tw_temper_parameter(limit.allowed_degC, time_s, limit.constants[i]);
    return limit;
}

double tw_temper_highest_degC(const struct tw_temper_limit *limit, double time_s)
{
    double highest_degC = fmax(TW_TEMPER_CAP_degC, limit->allowed_degC);

    if (!is_time(time_s) || !(time_s > 0.0))
        return NOT_A_NUMBER;
    for (int i = 0; i < 2; i++) {
        double degC = tw_temper_equivalent_degC(limit->allowed[i], time_s, limit->constants[i]);

        if (isfinite(degC)) /* else the time is too short for any temperature to matter */
            highest_degC = fmin(highest_degC, degC);
    }
    return highest_degC;
}

/* ---- The skin under a pass ---- */

/* The pass in the units of the moving band: lengths in 2 * diffusivity / speed. */
struct passing {
    double degC_per_unit; /* rise for I = 1 */
    double s_per_unit;    /* time in which the band moves by one unit */
    double depth;
    double peclet, bulk_degC, constant;
};

/* Adds the time in which the point comes from x_ahead to x_behind of the middle of the band. */
static double add_moment(double parameter, const struct passing *p, double x_ahead, double x_behind)
{
    double middle = 0.5 * (x_ahead + x_behind);
    double rise_K = p->degC_per_unit * tw_band_rise_below(middle, p->depth, p->peclet);

    return tw_temper_add(parameter, p->bulk_degC + rise_K, p->s_per_unit * (x_ahead - x_behind), p->constant);
}

static double add_passing(double parameter, const struct passing *p)
{
    double step = 2.0 * p->peclet / MOMENTS_IN_BAND, x = p->peclet;
    double end = -p->peclet * (1.0 + 2.0 * WAKE_LENGTHS);

    for (int n = 0; n < MOMENTS_IN_BAND; n++, x -= step)
        parameter = add_moment(parameter, p, x, x - step);
    for (; x > end; x -= step, step *= WAKE_GROWTH)
        parameter = add_moment(parameter, p, x, x - step);
    return parameter;
}

static bool is_pass(const struct tw_temper_pass *pass)
{
    return pass->peak_rise_K >= 0.0 && isfinite(pass->peak_rise_K) && pass->peclet > 0.0 && isfinite(pass->peclet) &&
           pass->contact_s > 0.0 && is_time(pass->contact_s) && pass->contact_mm > 0.0 && isfinite(pass->contact_mm) &&
           is_temperature(pass->bulk_degC);
}

static double after_passes(double parameter, const struct tw_temper_pass *pass, double passes, double depth_mm,
                           double constant)
{
    struct passing p = { .peclet = pass->peclet, .bulk_degC = pass->bulk_degC, .constant = constant };

    if (!is_pass(pass) || !(depth_mm >= 0.0) || !isfinite(depth_mm))
        return NOT_A_NUMBER;
    p.degC_per_unit = pass->peak_rise_K / tw_band_peak(pass->peclet).integral;
    p.s_per_unit = passes * pass->contact_s / (2.0 * pass->peclet);
    p.depth = depth_mm * 2.0 * pass->peclet / pass->contact_mm;
    return add_passing(parameter, &p);
}

double tw_temper_after_pass(double parameter, const struct tw_temper_pass *pass, double depth_mm, double constant)
{
    return after_passes(parameter, pass, 1.0, depth_mm, constant);
}

double tw_temper_softened_mm(double own_parameter, double limit_parameter, const struct tw_temper_pass *pass,
                             double passes, double constant)
{
    double at_face = after_passes(own_parameter, pass, passes, 0.0, constant);
    double soft_mm = 0.0, hard_mm = pass->contact_mm;

    if (!isfinite(at_face) || !(passes > 0.0) || !isfinite(limit_parameter))
        return NOT_A_NUMBER;
    if (at_face <= limit_parameter)
        return 0.0;
    while (after_passes(own_parameter, pass, passes, hard_mm, constant) > limit_parameter) {
        soft_mm = hard_mm;
        hard_mm *= 2.0;
        if (hard_mm > 1e3 * pass->contact_mm) /* the bulk alone is too hot: soft all through */
            return ENDLESS;
    }
    while (hard_mm - soft_mm > 0.005 * hard_mm) {
        double middle_mm = 0.5 * (soft_mm + hard_mm);

        *(after_passes(own_parameter, pass, passes, middle_mm, constant) > limit_parameter ? &soft_mm : &hard_mm) =
            middle_mm;
    }
    return hard_mm;
}
