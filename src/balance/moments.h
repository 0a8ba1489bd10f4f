/* moments.h - exact integrals over outlines, as far as they lie beyond a line across. */
#ifndef TANGWRIGHT_BALANCE_MOMENTS_H
#define TANGWRIGHT_BALANCE_MOMENTS_H

#include "tangwright/outline.h"

/* Over the part with x > from: integrals of 1, u, y, u^2 and u y, where u = x - from. */
struct tw_moments {
    double one_mm2, u_mm3, y_mm3, uu_mm4, uy_mm4;
};

struct tw_moments tw_moments_beyond(const struct tw_outline *outline, double from_mm);

/* Over the whole outline, with x instead of u. */
struct tw_moments tw_moments_of(const struct tw_outline *outline);

void tw_moments_add(struct tw_moments *sum, const struct tw_moments *more, double factor);

/* A layer of depth d(x) = slope * (x - from) between `from` and `to`, constant behind `to`, nothing before. */
struct tw_layer_law {
    double slope, from_mm, to_mm;
};

/* Integrals of d, x d, y d and d^2 over an outline. */
struct tw_layer_sums {
    double d_mm3, xd_mm4, yd_mm4, dd_mm4;
};

struct tw_layer_sums tw_layer_over(const struct tw_outline *outline, const struct tw_layer_law *law);

#endif
