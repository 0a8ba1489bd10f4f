/* spring.c - see spring.h. */
#include "tangwright/spring.h"

#include <math.h>

/* That a whole number of passes is not taken for one more. */
#define ROUNDING 1e-9

double tw_spring_in_series(double stiffness_N_per_mm, double bends_mm_per_N)
{
    return 1.0 / (1.0 / stiffness_N_per_mm + bends_mm_per_N);
}

struct tw_spring tw_spring_of(double normal_N, double depth_mm, double stiffness_N_per_mm)
{
    double cut_N_per_mm = normal_N / depth_mm;

    return (struct tw_spring){ .lag_mm = normal_N / stiffness_N_per_mm,
                               .share = stiffness_N_per_mm / (stiffness_N_per_mm + cut_N_per_mm) };
}

double tw_spring_after_mm(const struct tw_spring *spring, double before_mm, double depth_mm)
{
    return (1.0 - spring->share) * (before_mm + depth_mm);
}

double tw_spring_left_mm(const struct tw_spring *spring, double before_mm, int passes)
{
    return before_mm * pow(1.0 - spring->share, passes);
}

int tw_spring_passes(const struct tw_spring *spring, double before_mm, double allowed_mm, int most)
{
    double passes;

    if (before_mm <= allowed_mm)
        return 0;
    passes = ceil(log(before_mm / allowed_mm) / -log1p(-spring->share) - ROUNDING);
    return passes < most ? (int)fmax(1.0, passes) : most;
}
