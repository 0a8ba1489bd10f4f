/* level.c - how high over the finished face a wheel runs. */
#include "verdict/level.h"

#include <math.h>

double tw_level_over_face_mm(const struct tw_witness_face *face, const struct tw_wheel *wheel, double x_mm, double z_mm)
{
    double radius_mm = wheel->diameter_mm / 2.0, fall = face->fall;

    if (wheel->kind == TW_WHEEL_CUP)
        return z_mm - tw_witness_target_mm(face, fall > 0.0 ? x_mm - radius_mm : x_mm);
    return z_mm - tw_witness_target_mm(face, x_mm) - radius_mm * (sqrt(1.0 + fall * fall) - 1.0);
}
