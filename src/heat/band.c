/* band.c - a uniform band of heat that moves over a half-space (Jaeger 1942), in closed form and as a table.
 *
 * On the face Jaeger's integral of exp(-s) K0(|s|) has an antiderivative, so no quadrature is needed:
 *     from 0 to s > 0:  1 + s exp(-s) [K0(s) - K1(s)]        (the tail ahead of the source dies out)
 *     from s < 0 to 0:  t exp(t) [K0(t) + K1(t)] - 1, t = -s (the wake grows as a root)
 * which differentiate back with K0' = -K1 and K1' = -K0 - K1/s (M. Abramowitz, I. A. Stegun, Handbook of
 * Mathematical Functions, 1964, 9.6.26 to 9.6.28, 11.3.12). */
#include "tangwright/heat.h"

#include "heat/gauss.h"
#include "heat/numbers.h"
#include "heat/tables.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_sf_bessel.h>
#include <math.h>

#define EULER_GAMMA     0.57721566490153286061
#define SLOWEST_PECLET  1e-8
#define FASTEST_PECLET  1e8
#define SMALL_ARGUMENT  1e-4   /* below, the closed form loses digits; three terms of its series hold 1e-12 */
#define SMALL_FOR_MEAN  3e-3   /* the same for the mean, two terms, 1e-10 */
#define SMALLEST_BESSEL 1e-300 /* K1 overflows below; nothing here comes near */

/* exp(x) K0(x) and exp(x) K1(x) for x > 0. The functions with a result and a status call the library's error
 * handler too, so the argument is kept inside their domain. */
static double scaled_k0(double x)
{
    gsl_sf_result result;

    if (gsl_sf_bessel_K0_scaled_e(fmax(x, SMALLEST_BESSEL), &result) != GSL_SUCCESS)
        return NOT_A_NUMBER;
    return result.val;
}

static double scaled_k1(double x)
{
    gsl_sf_result result;

    if (gsl_sf_bessel_K1_scaled_e(fmax(x, SMALLEST_BESSEL), &result) != GSL_SUCCESS)
        return NOT_A_NUMBER;
    return result.val;
}

/* K0(x) = a (1 + x^2/4) + x^2/4 + ... with this a. */
static double small_k0(double x)
{
    return -log(0.5 * x) - EULER_GAMMA;
}

/* Integral of exp(-+s) K0(s) from 0 to t, upper sign for `ahead`, for small t. */
static double small_integral(double t, bool ahead)
{
    double a = small_k0(t);
    double odd = t * (a + 1.0) + 0.25 * t * t * t * (a + 1.0 / 3.0) + t * t * t / 12.0;
    double even = 0.5 * t * t * (a + 0.5);

    return t > 0.0 ? odd + (ahead ? -even : even) : 0.0;
}

/* Integral of exp(-s) K0(s) from t > 0 to infinity. */
static double tail_ahead(double t)
{
    if (t < SMALL_ARGUMENT)
        return 1.0 - small_integral(t, true);
    return t * exp(-2.0 * t) * (scaled_k1(t) - scaled_k0(t));
}

/* Integral of exp(s) K0(s) from 0 to t >= 0. */
static double wake(double t)
{
    if (t < SMALL_ARGUMENT)
        return small_integral(t, false);
    return t * (scaled_k0(t) + scaled_k1(t)) - 1.0;
}

/* Integral of exp(-s) K0(s) from 0 to t >= 0. */
static double head(double t)
{
    return t < SMALL_ARGUMENT ? small_integral(t, true) : 1.0 - tail_ahead(t);
}

double tw_band_rise_at(double x, double peclet)
{
    double front = x + peclet, back = x - peclet;

    if (!(peclet > 0.0) || !isfinite(peclet) || !isfinite(x))
        return NOT_A_NUMBER;
    if (back >= SMALL_ARGUMENT)
        return tail_ahead(back) - tail_ahead(front);
    if (back >= 0.0)
        return head(front) - head(back);
    if (front <= 0.0)
        return wake(-back) - wake(-front);
    return head(front) + wake(-back);
}

/* Where the rise stops growing the integrand is alike at both ends: exp(-s) K0(s) at s ahead, and
 * exp(r) K0(r) at r = 2 L - s behind. In logarithms the difference falls steadily with s. */
static double slope_at(double s, double peclet, double *change)
{
    double r = 2.0 * peclet - s;
    double k0_s = scaled_k0(s), k0_r = scaled_k0(r);

    /* d/dx ln(exp(x) K0(x)) = 1 - K1/K0 */
    *change = -2.0 + (1.0 - scaled_k1(s) / k0_s) + (1.0 - scaled_k1(r) / k0_r);
    return -2.0 * s + log(k0_s / k0_r);
}

/* Distance of the hottest point from the trailing end, by Newton steps kept inside a shrinking bracket. */
static double hottest_distance(double peclet)
{
    double low = 1e-3 * fmin(peclet, 1.0), high = peclet;
    double s = peclet < 1.0 ? peclet : 0.5 + 0.2 * log(peclet);

    s = fmin(fmax(s, low), high);
    for (int i = 0; i < 100; i++) {
        double change, slope = slope_at(s, peclet, &change);
        double next = s - slope / change;

        *(slope > 0.0 ? &low : &high) = s;
        if (!(next > low && next < high))
            next = 0.5 * (low + high);
        if (fabs(next - s) <= 1e-15 * s)
            return next;
        s = next;
    }
    return s;
}

/* Mean of the rise over the band, that is of the integral of 2 cosh(s) K0(s) (z - s)/z from 0 to z = 2 L.
 * The integral of s exp(+-s) K0(s) is (exp(+-z) [z^2 (K0 +- K1) - z K1] + 1) / 3. */
static double mean_rise(double peclet)
{
    double z = 2.0 * peclet, a, k0, k1, fading, first_moment;

    if (z < SMALL_FOR_MEAN) {
        a = small_k0(z);
        return z * (a + 1.5) + 2.0 * z * z * z * (0.75 * (a / 12.0 + 7.0 / 144.0) + 1.0 / 48.0);
    }
    k0 = scaled_k0(z);
    k1 = scaled_k1(z);
    fading = exp(-2.0 * z);
    first_moment = (z * z * ((k0 + k1) + fading * (k0 - k1)) - z * k1 * (1.0 + fading) + 2.0) / 3.0;
    return head(z) + wake(z) - first_moment / z;
}

static struct tw_band_peak fast_limit(void)
{
    return (struct tw_band_peak){
        .integral = ENDLESS, .shape_factor = 2.0 / sqrt(PI), .place = -1.0, .mean_to_max = 2.0 / 3.0
    };
}

static struct tw_band_peak slow_limit(double peclet)
{
    double integral = 2.0 * peclet * (1.0 - EULER_GAMMA - log(0.5 * peclet));

    return (struct tw_band_peak){ .integral = integral,
                                  .shape_factor = integral / (PI * sqrt(peclet)),
                                  .place = 0.0,
                                  .mean_to_max = mean_rise(peclet) / integral };
}

struct tw_band_peak tw_band_peak(double peclet)
{
    struct tw_band_peak peak = { NOT_A_NUMBER, NOT_A_NUMBER, NOT_A_NUMBER, NOT_A_NUMBER };
    double s;

    if (!(peclet > 0.0) || !isfinite(peclet))
        return peak;
    if (peclet < SLOWEST_PECLET)
        return slow_limit(peclet);
    if (peclet > FASTEST_PECLET) {
        peak = fast_limit();
        peak.integral = peak.shape_factor * PI * sqrt(peclet);
        return peak;
    }
    s = hottest_distance(peclet);
    peak.integral = head(s) + wake(2.0 * peclet - s);
    peak.shape_factor = peak.integral / (PI * sqrt(peclet));
    peak.place = s / peclet - 1.0;
    peak.mean_to_max = mean_rise(peclet) / peak.integral;
    return peak;
}

/* Clenshaw's sum of the piece of a table that holds log10(peclet). */
static double table_value(const double (*table)[TABLE_COEFFICIENTS], int pieces, double first_decade, double peclet)
{
    double place = (log10(peclet) - first_decade) / TABLE_DECADES_PER_PIECE;
    int piece = (int)fmin(fmax(floor(place), 0.0), pieces - 1.0);
    double x = 2.0 * (place - piece) - 1.0, one = 0.0, two = 0.0;

    for (int i = TABLE_COEFFICIENTS - 1; i > 0; i--) {
        double next = table[piece][i] + 2.0 * x * one - two;

        two = one;
        one = next;
    }
    return table[piece][0] + x * one - two;
}

double tw_band_shape_factor(double peclet)
{
    if (!(peclet > 0.0) || !isfinite(peclet))
        return NOT_A_NUMBER;
    if (peclet < SLOWEST_PECLET)
        return slow_limit(peclet).shape_factor;
    if (peclet > FASTEST_PECLET)
        return fast_limit().shape_factor;
    return table_value(band_table, sizeof band_table / sizeof *band_table, BAND_TABLE_FIRST_DECADE, peclet);
}

double tw_exit_edge_factor(double peclet)
{
    int pieces = sizeof edge_table / sizeof *edge_table;

    if (!(peclet > 0.0) || !isfinite(peclet))
        return NOT_A_NUMBER;
    if (peclet < SLOWEST_PECLET)
        return 2.0;
    if (peclet > pow(10.0, EDGE_TABLE_FIRST_DECADE + TABLE_DECADES_PER_PIECE * pieces))
        return 1.0 + 0.5 / sqrt(PI * peclet);
    return table_value(edge_table, pieces, EDGE_TABLE_FIRST_DECADE, peclet);
}

/* exp(-s) K0(sqrt(depth^2 + s^2)) ds with s = depth sinh(t): smooth, however shallow the point lies. */
static double integrand_below(double t, double depth)
{
    double arm = depth * cosh(t);

    return arm * scaled_k0(arm) * exp(-depth * exp(t));
}

double tw_band_rise_below(double x, double depth, double peclet)
{
    double low, high, half, sum = 0.0;
    int panels;

    if (!(peclet > 0.0) || !isfinite(peclet) || !isfinite(x) || !(depth >= 0.0) || !isfinite(depth))
        return NOT_A_NUMBER;
    if (depth < 1e-12 * peclet)
        return tw_band_rise_at(x, peclet);
    low = asinh((x - peclet) / depth);
    high = asinh((x + peclet) / depth);
    panels = 1 + (int)ceil(2.0 * (high - low));
    half = 0.5 * (high - low) / panels;
    for (int panel = 0; panel < panels; panel++) {
        double middle = low + half * (2 * panel + 1);

        for (int i = 0; i < GAUSS_PAIRS; i++)
            sum += gauss_weight[i] * (integrand_below(middle - half * gauss_place[i], depth) +
                                      integrand_below(middle + half * gauss_place[i], depth));
    }
    return half * sum;
}
