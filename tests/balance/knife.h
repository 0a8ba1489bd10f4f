/* knife.h - small knives made by hand, for the tests of weights and relief. */
#ifndef TANGWRIGHT_TESTS_BALANCE_KNIFE_H
#define TANGWRIGHT_TESTS_BALANCE_KNIFE_H

#include "tangwright/balance.h"

#include "../check/check.h"
#include <math.h>
#include <string.h>

#define PI           3.14159265358979323846
#define CORNERS_MOST 4096
#define HOLES_MOST   4
#define ROUND_NUMBER 0.008 /* g/mm3: steel that is easy to reckon with */

/* Rings point into the arrays: a knife must stay where it is. */
struct knife {
    struct tw_job job;
    struct tw_point corners[8];
    struct tw_ring holes[HOLES_MOST];
    struct tw_point hole_corners[HOLES_MOST][CORNERS_MOST];
    struct tw_pin pins[HOLES_MOST];
};

/* T0 = 4, T1 = 2, L = 100: one hundredth of a millimetre comes off each face per millimetre. */
static inline void knife_start(struct knife *knife)
{
    memset(knife, 0, sizeof *knife);
    knife->job.path = NULL;
    knife->job.taper = (struct tw_taper){ .ricasso_mm = 4.0, .butt_mm = 2.0, .length_mm = 100.0, .smallest_mm = 1.0 };
    knife->job.steel.density_g_per_mm3 = ROUND_NUMBER;
    knife->job.relief = (struct tw_relief){ .land_mm = 4.0, .boss_mm = 2.0, .end_mm = 10.0 };
    knife->job.handle.fill = 1.0;
    knife->job.handle.relief_filled = true;
    knife->job.part.tang.outer.points = knife->corners;
    knife->job.part.tang.holes = knife->holes;
}

static inline void knife_corner(struct knife *knife, double x_mm, double y_mm)
{
    knife->corners[knife->job.part.tang.outer.count++] = (struct tw_point){ x_mm, y_mm };
}

/* From the taper start to x = length, `width` across, middle at y = middle. */
static inline void knife_rectangle(struct knife *knife, double length_mm, double width_mm, double middle_mm)
{
    knife_start(knife);
    knife_corner(knife, 0.0, middle_mm - width_mm / 2.0);
    knife_corner(knife, length_mm, middle_mm - width_mm / 2.0);
    knife_corner(knife, length_mm, middle_mm + width_mm / 2.0);
    knife_corner(knife, 0.0, middle_mm + width_mm / 2.0);
}

/* A hole with so many corners on its circle, clockwise as outlines have it. */
static inline void knife_hole(struct knife *knife, double x_mm, double y_mm, double radius_mm, size_t corners)
{
    size_t h = knife->job.part.tang.hole_count++;

    cr_assert(h < HOLES_MOST && corners <= CORNERS_MOST);
    knife->holes[h] = (struct tw_ring){ knife->hole_corners[h], corners };
    for (size_t i = 0; i < corners; i++) {
        double angle_rad = -2.0 * PI * (double)i / (double)corners;

        knife->hole_corners[h][i] =
            (struct tw_point){ x_mm + radius_mm * cos(angle_rad), y_mm + radius_mm * sin(angle_rad) };
    }
}

static inline void knife_pin(struct knife *knife, int hole, double diameter_mm, double bore_mm,
                             double density_g_per_mm3)
{
    knife->job.handle.pins = knife->pins;
    knife->pins[knife->job.handle.pin_count++] = (struct tw_pin){
        .hole = hole, .diameter_mm = diameter_mm, .bore_mm = bore_mm, .density_g_per_mm3 = density_g_per_mm3
    };
}

static inline struct tw_balance knife_balance(const struct knife *knife)
{
    struct tw_findings findings = { 0 };
    struct tw_balance balance;
    enum tw_status status = tw_balance_make(&knife->job, NULL, &balance, &findings);

    cr_assert(eq(int, status, TW_OK), "%s", findings.count ? findings.items[0].text : "");
    tw_findings_free(&findings);
    return balance;
}

/* Within a hundredth of a hundredth of the value. */
static inline void expect_near(const char *what, double got, double wanted)
{
    cr_expect(fabs(got - wanted) <= 1e-4 * fabs(wanted) + 1e-9, "%s: got %.9g, wanted %.9g", what, got, wanted);
}

/* Where the sums are exact on both sides. */
static inline void expect_exact(const char *what, double got, double wanted)
{
    cr_expect(fabs(got - wanted) <= 1e-10 * fabs(wanted) + 1e-10, "%s: got %.15g, wanted %.15g", what, got, wanted);
}

#endif
