/* give.c - see give.h. */
#include "verdict/give.h"

#include "geometry/ring.h"
#include "tangwright/spring.h"

#include <math.h>

/* So far from the end of the tang its outline is as wide as the butt. */
#define FROM_END_MM 3.0
/* Levels, and lines, nearer to each other than this are the same. */
#define SAME_LEVEL_MM 2e-4
#define SAME_LINE_MM  1.0

/* Middle of the tang's width at part x. */
static double middle_mm(const struct tw_ring *ring, double x_mm)
{
    double low_mm = HUGE_VAL, high_mm = -HUGE_VAL;

    for (size_t i = 0; i < ring->count; i++) {
        struct tw_point a = ring->points[i], b = ring->points[(i + 1) % ring->count];

        if ((a.x_mm < x_mm) != (b.x_mm < x_mm)) {
            double y_mm = a.y_mm + (x_mm - a.x_mm) / (b.x_mm - a.x_mm) * (b.y_mm - a.y_mm);

            low_mm = fmin(low_mm, y_mm);
            high_mm = fmax(high_mm, y_mm);
        }
    }
    return (low_mm + high_mm) / 2.0;
}

struct tw_give tw_give_begin(const struct tw_workpiece *workpiece)
{
    const struct tw_witness_face *face = &workpiece->face;
    const struct tw_ring *tang = &face->job->part.tang.outer;
    double x_mm = tw_ring_box(tang).max_x_mm - FROM_END_MM, over_mm;
    struct tw_point spot = tw_witness_place(face, (struct tw_point){ x_mm, middle_mm(tang, x_mm) });

    over_mm = tw_witness_top_mm(face, spot.x_mm) - tw_witness_target_mm(face, spot.x_mm);
    return (struct tw_give){ .job = face->job,
                             .spot_mm = { spot.x_mm, spot.y_mm },
                             .stated_mm = over_mm,
                             .worst_mm = over_mm,
                             .lowest_mm = HUGE_VAL };
}

/* ---- one pass ---- */

/* What a pass at that height leaves standing over it. */
static double after_mm(const struct tw_give *give, double steel_mm, double force_ratio, double stiffness_N_per_mm)
{
    double behind_mm = steel_mm - give->pass.over_mm;
    struct tw_spring spring;

    if (behind_mm <= 0.0 || !(give->depth_mm > 0.0))
        return steel_mm;
    spring = tw_spring_of(force_ratio * give->normal_N, give->depth_mm, stiffness_N_per_mm);
    return give->pass.over_mm + tw_spring_after_mm(&spring, behind_mm, 0.0);
}

static bool counts(const struct tw_give *give)
{
    return give->pass.any && give->pass.covers &&
           (!give->passed || fabs(give->pass.over_mm - give->last_over_mm) > SAME_LEVEL_MM ||
            fabs(give->pass.across_mm - give->last_across_mm) <= SAME_LINE_MM);
}

static void finish_pass(struct tw_give *give)
{
    const struct tw_job *job = give->job;

    if (give->pass.depth_mm > 0.0) {
        give->normal_N = give->pass.tangential_N;
        give->depth_mm = give->pass.depth_mm;
    }
    if (counts(give)) {
        give->stated_mm = after_mm(give, give->stated_mm, job->wheel.force_ratio, job->machine.stiffness_N_per_mm);
        give->worst_mm =
            after_mm(give, give->worst_mm, job->wheel.force_ratio_most, job->machine.stiffness_least_N_per_mm);
        give->lowest_mm = fmin(give->lowest_mm, give->pass.over_mm);
        give->passed = true;
        give->last_over_mm = give->pass.over_mm;
        give->last_across_mm = give->pass.across_mm;
    }
    give->pass.any = false;
    give->pass.covers = false;
    give->pass.tangential_N = give->pass.depth_mm = 0.0;
}

static double beside_mm(const double spot_mm[2], const double from_mm[3], const double to_mm[3])
{
    double by[2] = { to_mm[0] - from_mm[0], to_mm[1] - from_mm[1] };
    double off[2] = { spot_mm[0] - from_mm[0], spot_mm[1] - from_mm[1] };
    double length2 = by[0] * by[0] + by[1] * by[1];
    double way = length2 > 0.0 ? fmin(1.0, fmax(0.0, (by[0] * off[0] + by[1] * off[1]) / length2)) : 0.0;

    return hypot(off[0] - way * by[0], off[1] - way * by[1]);
}

static double reach_mm(const struct tw_wheel *wheel)
{
    return wheel->kind == TW_WHEEL_CUP ? wheel->diameter_mm / 2.0 : wheel->width_mm / 2.0;
}

void tw_give_step(struct tw_give *give, const struct tw_step *step, const double from_mm[3], const double to_mm[3],
                  double over_mm)
{
    int way = (to_mm[0] > from_mm[0]) - (to_mm[0] < from_mm[0]);

    if (step->kind != TW_STEP_FEED || way == 0) {
        finish_pass(give);
        return;
    }
    if (give->pass.any && (way != give->pass.way || fabs(over_mm - give->pass.over_mm) > SAME_LEVEL_MM))
        finish_pass(give);
    if (!give->pass.any) {
        give->pass.any = true;
        give->pass.way = way;
        give->pass.over_mm = over_mm;
        give->pass.across_mm = to_mm[1];
    }
    give->pass.covers |= beside_mm(give->spot_mm, from_mm, to_mm) <= reach_mm(&give->job->wheel);
}

void tw_give_cut(struct tw_give *give, double tangential_N, double depth_mm)
{
    if (tangential_N <= give->pass.tangential_N)
        return;
    give->pass.tangential_N = tangential_N;
    give->pass.depth_mm = depth_mm;
}

void tw_give_end(struct tw_give *give)
{
    finish_pass(give);
}
