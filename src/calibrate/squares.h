/* squares.h - weighted least squares with one or two parameters, by Gauss and Newton with a damped step. */
#ifndef TANGWRIGHT_CALIBRATE_SQUARES_H
#define TANGWRIGHT_CALIBRATE_SQUARES_H

#include <stdbool.h>
#include <stddef.h>

/* What is wanted: residual i in its own standard uncertainties, for these parameters. */
struct squares {
    size_t residuals;
    int parameters;  /* 1 or 2 */
    size_t absorbed; /* parameters beyond these that `residual` itself sets to their best */
    double (*residual)(const void *context, const double parameters[2], size_t i);
    const void *context;
    double step[2]; /* for the derivatives */
};

struct squares_fit {
    double value[2], variance[2], covariance; /* grown by scatter squared */
    double chi_square, scatter;
};

/* From the start value; false when the curvature says nothing about a parameter. */
bool squares_fit(const struct squares *squares, const double start[2], struct squares_fit *out);

#endif
