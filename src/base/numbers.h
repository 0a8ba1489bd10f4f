/* numbers.h - constants and small relations that more than one module needs.
 *
 * Each has its one home here, so that two modules cannot differ by a digit. */
#ifndef TANGWRIGHT_BASE_NUMBERS_H
#define TANGWRIGHT_BASE_NUMBERS_H

#include <math.h>
#include <stdbool.h>

#define TW_PI            3.14159265358979323846
#define TW_MM_PER_INCH   25.4            /* by definition, 1959 */
#define TW_N_PER_LBF     4.4482216152605 /* 0.45359237 kg * 9.80665 m/s2, both exact: NIST SP 811 (2008), appendix B */
#define TW_MM3_PER_INCH3 (TW_MM_PER_INCH * TW_MM_PER_INCH * TW_MM_PER_INCH)
#define TW_G_PER_OUNCE   28.349523125 /* a sixteenth of the pound of 1959 */

static inline double tw_degrees(double angle_rad)
{
    return angle_rad * 180.0 / TW_PI;
}

/* Where no argument is NaN: fmin() and fmax() are calls, which inner loops feel. */
static inline double tw_lesser(double a, double b)
{
    return a < b ? a : b;
}

static inline double tw_greater(double a, double b)
{
    return a > b ? a : b;
}

/* Speed of a wheel's circumference. */
static inline double tw_rim_mm_per_s(double diameter_mm, double rpm)
{
    return TW_PI * diameter_mm * rpm / 60.0;
}

/* And the turns that give it. */
static inline double tw_rim_rpm(double diameter_mm, double mm_per_s)
{
    return mm_per_s * 60.0 / (TW_PI * diameter_mm);
}

/* One unit of the last of so many decimals of a length, in a program in inches or in mm. */
static inline double tw_last_decimal_mm(int decimals, bool inch)
{
    return pow(10.0, -decimals) * (inch ? TW_MM_PER_INCH : 1.0);
}

#endif
