/* squares.c - see squares.h. */
#include "calibrate/squares.h"

#include <math.h>

#define ROUNDS 200

static double chi_square_of(const struct squares *squares, const double at[2])
{
    double sum = 0.0;

    for (size_t i = 0; i < squares->residuals; i++) {
        double r = squares->residual(squares->context, at, i);

        sum += r * r;
    }
    return sum;
}

/* Normal equations: a = J'J, b = -J'r. */
static void normal(const struct squares *squares, const double at[2], double a[2][2], double b[2])
{
    a[0][0] = a[0][1] = a[1][0] = a[1][1] = b[0] = b[1] = 0.0;
    for (size_t i = 0; i < squares->residuals; i++) {
        double r = squares->residual(squares->context, at, i), slope[2] = { 0.0, 0.0 };

        for (int k = 0; k < squares->parameters; k++) {
            double low[2] = { at[0], at[1] }, high[2] = { at[0], at[1] };

            low[k] -= squares->step[k];
            high[k] += squares->step[k];
            slope[k] = (squares->residual(squares->context, high, i) - squares->residual(squares->context, low, i)) /
                       (2.0 * squares->step[k]);
        }
        for (int k = 0; k < 2; k++) {
            b[k] -= slope[k] * r;
            for (int m = 0; m < 2; m++)
                a[k][m] += slope[k] * slope[m];
        }
    }
    if (squares->parameters == 1)
        a[1][1] = 1.0;
}

static bool solve(double a[2][2], const double b[2], double damping, double out[2])
{
    double p = a[0][0] * (1.0 + damping), q = a[1][1] * (1.0 + damping), det = p * q - a[0][1] * a[1][0];

    if (!(det > 1e-12 * p * q))
        return false;
    out[0] = (q * b[0] - a[0][1] * b[1]) / det;
    out[1] = (p * b[1] - a[1][0] * b[0]) / det;
    return true;
}

static void finish(const struct squares *squares, struct squares_fit *out)
{
    double a[2][2], b[2], det;
    size_t parameters = (size_t)squares->parameters + squares->absorbed;

    normal(squares, out->value, a, b);
    det = a[0][0] * a[1][1] - a[0][1] * a[1][0];
    out->scatter = 1.0;
    if (squares->residuals > parameters)
        out->scatter = fmax(1.0, sqrt(out->chi_square / (double)(squares->residuals - parameters)));
    out->variance[0] = out->scatter * out->scatter * a[1][1] / det;
    out->variance[1] = squares->parameters == 2 ? out->scatter * out->scatter * a[0][0] / det : 0.0;
    out->covariance = squares->parameters == 2 ? -out->scatter * out->scatter * a[0][1] / det : 0.0;
}

bool squares_fit(const struct squares *squares, const double start[2], struct squares_fit *out)
{
    double damping = 1e-3, a[2][2], b[2], step[2];

    *out = (struct squares_fit){ .value = { start[0], start[1] } };
    out->chi_square = chi_square_of(squares, out->value);
    for (int round = 0; round < ROUNDS && damping < 1e12; round++) {
        double trial[2], chi_square;

        normal(squares, out->value, a, b);
        if (!solve(a, b, damping, step))
            return false;
        trial[0] = out->value[0] + step[0];
        trial[1] = out->value[1] + step[1];
        chi_square = chi_square_of(squares, trial);
        if (chi_square <= out->chi_square) {
            bool settled = out->chi_square - chi_square < 1e-14 * (1.0 + chi_square) && damping < 1e-6;

            out->value[0] = trial[0];
            out->value[1] = trial[1];
            out->chi_square = chi_square;
            damping /= 10.0;
            if (settled)
                break;
        } else {
            damping *= 10.0;
        }
    }
    if (!solve(a, b, 0.0, step) || !isfinite(out->chi_square))
        return false;
    finish(squares, out);
    return isfinite(out->variance[0]) && isfinite(out->variance[1]);
}
