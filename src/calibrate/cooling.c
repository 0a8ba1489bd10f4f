/* cooling.c - see cooling.h. */
#include "calibrate/cooling.h"

#include "calibrate/squares.h"

#include <math.h>

#define QUARTER_TURN 1.5707963267948966

/* The rate is looked for from here to there, in parts of one over the longest run, by this factor. */
#define SLOWEST 0.01
#define FASTEST 1000.0
#define FACTOR  1.25

bool cooling_begins(const struct cooling *cooling, size_t i)
{
    return i == 0 || cooling->items[i]->time_s <= cooling->items[i - 1]->time_s;
}

size_t cooling_runs(const struct cooling *cooling)
{
    size_t runs = 0;

    for (size_t i = 0; i < cooling->count; i++)
        runs += cooling_begins(cooling, i);
    return runs;
}

double cooling_excess_K(const struct cooling *cooling, size_t i)
{
    double coolant_degC = cooling->items[i]->coolant_degC;

    return cooling->items[i]->strip_degC - (isnan(coolant_degC) ? cooling->coolant_degC : coolant_degC);
}

/* ---- the fit ---- */

/* Start excess of the run from..to - 1: the one that fits it best at this rate. */
static double start_excess_K(const struct cooling *cooling, size_t from, size_t to, double rate_per_s, double off_K)
{
    double sum = 0.0, weights = 0.0;

    for (size_t i = from; i < to; i++) {
        const struct tw_bench_reading *reading = cooling->items[i];
        double left = exp(-rate_per_s * (reading->time_s - cooling->items[from]->time_s)) / reading->uncertainty;

        sum += left * (cooling_excess_K(cooling, i) - off_K) / reading->uncertainty;
        weights += left * left;
    }
    return sum / weights;
}

/* Parameters: logarithm of the rate, and how much warmer the coolant was than said. Last comes what the latter costs. */
static double residual(const void *context, const double parameters[2], size_t i)
{
    const struct cooling *cooling = context;
    double rate_per_s = exp(parameters[0]), off_K = parameters[1], model_K;
    size_t from = i, to = i + 1;

    if (i == cooling->count)
        return off_K / cooling->items[0]->uncertainty;
    while (!cooling_begins(cooling, from))
        from--;
    while (to < cooling->count && !cooling_begins(cooling, to))
        to++;
    model_K = start_excess_K(cooling, from, to, rate_per_s, off_K) *
              exp(-rate_per_s * (cooling->items[i]->time_s - cooling->items[from]->time_s));
    return (model_K - cooling_excess_K(cooling, i) + off_K) / cooling->items[i]->uncertainty;
}

static double longest_run_s(const struct cooling *cooling)
{
    double longest_s = 0.0, begin_s = 0.0;

    for (size_t i = 0; i < cooling->count; i++) {
        if (cooling_begins(cooling, i))
            begin_s = cooling->items[i]->time_s;
        longest_s = fmax(longest_s, cooling->items[i]->time_s - begin_s);
    }
    return longest_s;
}

/* The curve has one valley, but far from it is flat, where a damped step would go astray: the valley is looked for first. */
static double likely_rate_per_s(const struct cooling *cooling)
{
    double longest_s = longest_run_s(cooling), best = 1.0 / longest_s, least = HUGE_VAL;

    for (double share = SLOWEST; share <= FASTEST; share *= FACTOR) {
        double parameters[2] = { log(share / longest_s), 0.0 }, sum = 0.0;

        for (size_t i = 0; i < cooling->count; i++)
            sum += pow(residual(cooling, parameters, i), 2.0);
        if (sum < least) {
            least = sum;
            best = share / longest_s;
        }
    }
    return best;
}

bool cooling_fit(const struct cooling *cooling, struct cooling_rate *out)
{
    struct squares squares = { .residuals = cooling->count + 1,
                               .parameters = 2,
                               .absorbed = cooling_runs(cooling),
                               .residual = residual,
                               .context = cooling,
                               .step = { 1e-5, 1e-4 } };
    double start[2] = { 0.0, 0.0 };
    struct squares_fit fit;

    if (longest_run_s(cooling) <= 0.0)
        return false;
    start[0] = log(likely_rate_per_s(cooling));
    if (!squares_fit(&squares, start, &fit))
        return false;
    *out = (struct cooling_rate){ exp(fit.value[0]), sqrt(fit.variance[0]), fit.scatter };
    return true;
}

/* ---- from the rate to the conductance ---- */

/* z of a plate of which `length_mm` cools as one; a quarter turn and more: faster than it could with the faces held cold. */
static double angle_of(double rate_per_s, double length_mm, const struct tw_steel *steel)
{
    return length_mm * sqrt(rate_per_s * steel->density_g_per_mm3 * steel->specific_heat_J_per_g_K /
                            steel->conductivity_W_per_mm_K);
}

double cooling_hanging_W_per_mm2_K(double rate_per_s, double thickness_mm, const struct tw_steel *steel)
{
    double half_mm = thickness_mm / 2.0, z = angle_of(rate_per_s, half_mm, steel);

    return z < QUARTER_TURN ? z * tan(z) * steel->conductivity_W_per_mm_K / half_mm : HUGE_VAL;
}

double cooling_seated_W_per_mm2_K(double rate_per_s, double thickness_mm, double surface_W_per_mm2_K,
                                  const struct tw_steel *steel)
{
    double z = angle_of(rate_per_s, thickness_mm, steel);
    double upper = surface_W_per_mm2_K * thickness_mm / steel->conductivity_W_per_mm_K;

    if (z >= QUARTER_TURN)
        return HUGE_VAL;
    return z * (z * tan(z) - upper) / (z + upper * tan(z)) * steel->conductivity_W_per_mm_K / thickness_mm;
}

double cooling_biot(double upper_W_per_mm2_K, double lower_W_per_mm2_K, double thickness_mm,
                    const struct tw_steel *steel)
{
    return (upper_W_per_mm2_K + lower_W_per_mm2_K) / 2.0 * thickness_mm / 2.0 / steel->conductivity_W_per_mm_K;
}
