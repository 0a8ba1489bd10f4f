/* turning.c - see turning.h.
 *
 * A motion is told by w, the turning for each mm that the place of the push moves across: w = 0 slides, else the centre lies at
 * x_push - 1/w. The work of friction is convex in w, and for a given w in the centre's y; so both are found by narrowing an
 * interval that holds the least. */
#include "contacts/turning.h"

#include <math.h>

#define GOLDEN      0.6180339887498949 /* what a step leaves of the interval */
#define STEPS_TURN  28
#define STEPS_ASIDE 14

struct tw_pressing tw_pressing_over(double from_mm, double to_mm)
{
    struct tw_pressing pressing = { .from_mm = from_mm, .step_mm = (to_mm - from_mm) / TW_PRESSING_BINS };

    return pressing;
}

void tw_press(struct tw_pressing *pressing, double x_mm, double low_y_mm, double high_y_mm, double force_N)
{
    double place = (x_mm - pressing->from_mm) / pressing->step_mm;
    struct tw_pressing_bin *bin = &pressing->bins[(int)fmin(fmax(place, 0.0), TW_PRESSING_BINS - 1)];

    bin->force_N += force_N;
    bin->x_Nmm += force_N * x_mm;
    bin->y_Nmm += force_N * (low_y_mm + high_y_mm) / 2.0;
    bin->yy_Nmm2 += force_N * (low_y_mm * low_y_mm + low_y_mm * high_y_mm + high_y_mm * high_y_mm) / 3.0;
}

/* hypot(u, t) of lengths that neither overflow nor vanish: this is most of the work of a holding. */
static double root_of(double u, double t)
{
    return sqrt(u * u + t * t);
}

/* t + root of it, which for t below 0 would be lost in rounding; u is not 0. */
static double beyond(double u, double t, double root)
{
    return t >= 0.0 ? t + root : u * u / (root - t);
}

/* Integral of hypot(u, t) over t from low to high. */
static double hypot_sum(double u, double low, double high)
{
    double low_root = root_of(u, low), high_root = root_of(u, high);
    double turned = u != 0.0 ? u * u * log(beyond(u, high, high_root) / beyond(u, low, low_root)) : 0.0;

    return (high * high_root - low * low_root + turned) / 2.0;
}

/* Mean of hypot(u, t) with t spread evenly by `half` about `middle`. Of a narrow spread, the value in the middle: where the
 * difference of the sums would be lost in rounding it is exact to 1e-8. */
static double mean_hypot(double u, double middle, double half)
{
    if (half <= 1e-4 * root_of(u, middle))
        return root_of(u, middle);
    return hypot_sum(u, middle - half, middle + half) / (2.0 * half);
}

struct turning {
    const struct tw_pressing *pressing;
    const struct tw_wheel_push *push;
    double low_y_mm, high_y_mm; /* of what presses */
    double w_per_mm;            /* the turning that is tried */
};

/* Sum of force times speed, the place of the push moving across by 1. */
static double work_N(const struct turning *turning, double centre_y_mm)
{
    double w = turning->w_per_mm, sum_N = 0.0;

    for (int i = 0; i < TW_PRESSING_BINS; i++) {
        const struct tw_pressing_bin *bin = &turning->pressing->bins[i];
        double x_mm, y_mm, half_mm;

        if (!(bin->force_N > 0.0))
            continue;
        x_mm = bin->x_Nmm / bin->force_N;
        y_mm = bin->y_Nmm / bin->force_N;
        half_mm = sqrt(3.0 * fmax(0.0, bin->yy_Nmm2 / bin->force_N - y_mm * y_mm));
        sum_N += bin->force_N *
                 mean_hypot(1.0 + w * (x_mm - turning->push->x_mm), fabs(w) * (y_mm - centre_y_mm), fabs(w) * half_mm);
    }
    return sum_N;
}

/* The least of a function with one valley, and where it is. */
static double least_of(double (*of)(struct turning *, double), struct turning *turning, double low, double high,
                       int steps, double *at)
{
    double left = high - GOLDEN * (high - low), right = low + GOLDEN * (high - low);
    double at_left = of(turning, left), at_right = of(turning, right);

    for (int i = 0; i < steps; i++)
        if (at_left < at_right) {
            high = right;
            right = left;
            at_right = at_left;
            left = high - GOLDEN * (high - low);
            at_left = of(turning, left);
        } else {
            low = left;
            left = right;
            at_left = at_right;
            right = low + GOLDEN * (high - low);
            at_right = of(turning, right);
        }
    *at = at_left < at_right ? left : right;
    return fmin(at_left, at_right);
}

static double work_about(struct turning *turning, double centre_y_mm)
{
    return work_N(turning, centre_y_mm);
}

/* The push at which friction, that below the wheel included, takes as much work as the push does. */
static double push_at(struct turning *turning, double w_per_mm)
{
    const struct tw_wheel_push *push = turning->push;
    double resists = push->friction * push->ratio * fabs(1.0 + w_per_mm * (push->below_mm - push->x_mm)), aside_mm;

    turning->w_per_mm = w_per_mm;
    if (resists >= 1.0)
        return HUGE_VAL;
    return push->friction *
           least_of(work_about, turning, turning->low_y_mm, turning->high_y_mm, STEPS_ASIDE, &aside_mm) /
           (1.0 - resists);
}

static void find_range(struct turning *turning)
{
    turning->low_y_mm = HUGE_VAL;
    turning->high_y_mm = -HUGE_VAL;
    for (int i = 0; i < TW_PRESSING_BINS; i++) {
        const struct tw_pressing_bin *bin = &turning->pressing->bins[i];

        if (!(bin->force_N > 0.0))
            continue;
        turning->low_y_mm = fmin(turning->low_y_mm, bin->y_Nmm / bin->force_N);
        turning->high_y_mm = fmax(turning->high_y_mm, bin->y_Nmm / bin->force_N);
    }
}

double tw_turning_N(const struct tw_pressing *pressing, const struct tw_wheel_push *push, double *about_mm)
{
    struct turning turning = { .pressing = pressing, .push = push };
    double sum_N = 0.0, arms_Nmm = 0.0, most, w_per_mm, least_N, slides_N;

    *about_mm = HUGE_VAL;
    for (int i = 0; i < TW_PRESSING_BINS; i++) {
        const struct tw_pressing_bin *bin = &pressing->bins[i];

        sum_N += bin->force_N;
        if (bin->force_N > 0.0)
            arms_Nmm += fabs(bin->x_Nmm - bin->force_N * push->x_mm);
    }
    if (!(sum_N > 0.0))
        return 0.0;
    find_range(&turning);
    slides_N = push_at(&turning, 0.0);
    if (!(arms_Nmm > 0.0))
        return slides_N;
    most = 2.0 * sum_N / arms_Nmm; /* turning faster than that takes more work than sliding does */
    least_N = least_of(push_at, &turning, -most, most, STEPS_TURN, &w_per_mm);
    if (!(least_N < slides_N))
        return slides_N;
    *about_mm = push->x_mm - 1.0 / w_per_mm;
    return least_N;
}
