/* statistics.c - least squares by GSL, capability and control chart. */
#include "tangwright/gauge.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_errno.h>
#include <gsl/gsl_multifit.h>
#include <math.h>

/* Singular values below this part of the largest tell nothing. */
#define RANK_TOLERANCE 1e-10
#define NORMAL_95      1.959963984540054
#define SPREAD_OF_TWO  1.128379167095513 /* mean range of two normal values, 2 / sqrt(pi), in standard deviations */

struct work {
    gsl_matrix *rows, *covariance;
    gsl_vector *values, *coefficients;
    gsl_multifit_linear_workspace *space;
};

static bool work_open(struct work *work, size_t count, size_t terms)
{
    *work = (struct work){ .rows = gsl_matrix_alloc(count, terms),
                           .covariance = gsl_matrix_alloc(terms, terms),
                           .values = gsl_vector_alloc(count),
                           .coefficients = gsl_vector_alloc(terms),
                           .space = gsl_multifit_linear_alloc(count, terms) };
    return work->rows && work->covariance && work->values && work->coefficients && work->space;
}

static void work_close(struct work *work)
{
    if (work->rows)
        gsl_matrix_free(work->rows);
    if (work->covariance)
        gsl_matrix_free(work->covariance);
    if (work->values)
        gsl_vector_free(work->values);
    if (work->coefficients)
        gsl_vector_free(work->coefficients);
    if (work->space)
        gsl_multifit_linear_free(work->space);
}

static void fill_work(struct work *work, const struct tw_least_squares *fit)
{
    for (size_t i = 0; i < fit->count; i++) {
        gsl_vector_set(work->values, i, fit->values[i]);
        for (size_t k = 0; k < fit->terms; k++)
            gsl_matrix_set(work->rows, i, k, fit->rows[i * fit->terms + k]);
    }
}

/* x' (X'X)^-1 x, where `covariance` is that matrix times the variance. */
static double leverage_of(const struct work *work, size_t row, double variance)
{
    double sum = 0.0;

    for (size_t i = 0; i < work->covariance->size1; i++)
        for (size_t k = 0; k < work->covariance->size2; k++)
            sum += gsl_matrix_get(work->rows, row, i) * gsl_matrix_get(work->covariance, i, k) *
                   gsl_matrix_get(work->rows, row, k);
    return variance > 0.0 ? sum / variance : 0.0;
}

/* GSL's covariance counts all rows less the rank as degrees of freedom. */
static void take_answer(const struct work *work, double chi_square, struct tw_least_squares *fit)
{
    size_t used = fit->rank + fit->absorbed, all = fit->count - fit->rank;
    double variance = all > 0 ? chi_square / (double)all : 0.0, wider;

    fit->degrees = fit->count > used ? fit->count - used : 0;
    fit->standard = fit->degrees > 0 ? sqrt(chi_square / (double)fit->degrees) : 0.0;
    wider = fit->degrees > 0 ? sqrt((double)all / (double)fit->degrees) : 0.0;
    for (size_t k = 0; k < fit->terms; k++) {
        fit->coefficients[k] = gsl_vector_get(work->coefficients, k);
        fit->standards[k] = wider * sqrt(fmax(0.0, gsl_matrix_get(work->covariance, k, k)));
    }
    for (size_t i = 0; fit->leverages && i < fit->count; i++)
        fit->leverages[i] = leverage_of(work, i, variance);
}

bool tw_least_squares_fit(struct tw_least_squares *fit)
{
    gsl_error_handler_t *kept = gsl_set_error_handler_off(); /* it would end the program when memory runs out */
    struct work work;
    double chi_square = 0.0;
    bool done = work_open(&work, fit->count, fit->terms);

    if (done) {
        fill_work(&work, fit);
        done = gsl_multifit_linear_tsvd(work.rows, work.values, RANK_TOLERANCE, work.coefficients, work.covariance,
                                        &chi_square, &fit->rank, work.space) == GSL_SUCCESS;
    }
    if (done)
        take_answer(&work, chi_square, fit);
    work_close(&work);
    gsl_set_error_handler(kept);
    return done;
}

struct tw_capability tw_capability_of(double mean, double s, size_t count, double low, double high)
{
    double degrees = (double)count - 1.0;
    struct tw_capability out = { .cp = (high - low) / (6.0 * s), .cpk = fmin(high - mean, mean - low) / (3.0 * s) };
    double sure = NORMAL_95 * sqrt(1.0 / (9.0 * (double)count) + out.cpk * out.cpk / (2.0 * degrees));

    out.cp_low = out.cp * sqrt(gsl_cdf_chisq_Pinv(0.025, degrees) / degrees);
    out.cp_high = out.cp * sqrt(gsl_cdf_chisq_Pinv(0.975, degrees) / degrees);
    out.cpk_low = out.cpk - sure;
    out.cpk_high = out.cpk + sure;
    return out;
}

struct tw_control_chart tw_control_chart_of(const double *values, size_t count)
{
    struct tw_control_chart out = { 0 };

    for (size_t i = 0; i < count; i++) {
        out.centre += values[i] / (double)count;
        if (i > 0)
            out.mean_range += fabs(values[i] - values[i - 1]) / (double)(count - 1);
    }
    out.low = out.centre - 3.0 * out.mean_range / SPREAD_OF_TWO;
    out.high = out.centre + 3.0 * out.mean_range / SPREAD_OF_TWO;
    return out;
}
