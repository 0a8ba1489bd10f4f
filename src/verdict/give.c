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
#define ASIDE_MM      0.5
/* Of the depth of the level before. */
#define SLIVER_SHARE 0.5

/* y in which the tang lies at part x; empty where it does not. */
static void width_at(const struct tw_ring *ring, double x_mm, double *low_mm, double *high_mm)
{
    *low_mm = HUGE_VAL;
    *high_mm = -HUGE_VAL;
    for (size_t i = 0; i < ring->count; i++) {
        struct tw_point a = ring->points[i], b = ring->points[(i + 1) % ring->count];

        if ((a.x_mm < x_mm) != (b.x_mm < x_mm)) {
            double y_mm = a.y_mm + (x_mm - a.x_mm) / (b.x_mm - a.x_mm) * (b.y_mm - a.y_mm);

            *low_mm = fmin(*low_mm, y_mm);
            *high_mm = fmax(*high_mm, y_mm);
        }
    }
}

/* Steel, and not just at its edge. */
static bool is_steel(const struct tw_workpiece *workpiece, struct tw_point place)
{
    return isfinite(tw_workpiece_stock_mm(workpiece, place.x_mm, place.y_mm - ASIDE_MM)) &&
           isfinite(tw_workpiece_stock_mm(workpiece, place.x_mm, place.y_mm)) &&
           isfinite(tw_workpiece_stock_mm(workpiece, place.x_mm, place.y_mm + ASIDE_MM));
}

/* Near the butt's end, as near to the middle of its width as there is steel: holes are no place to look at. */
static struct tw_point find_spot(const struct tw_workpiece *workpiece)
{
    const struct tw_witness_face *face = &workpiece->face;
    const struct tw_ring *tang = &face->job->part.tang.outer;
    double x_mm = tw_ring_box(tang).max_x_mm - FROM_END_MM, low_mm, high_mm;
    struct tw_point middle;

    width_at(tang, x_mm, &low_mm, &high_mm);
    middle = (struct tw_point){ x_mm, (low_mm + high_mm) / 2.0 };
    for (double aside_mm = 0.0; aside_mm < (high_mm - low_mm) / 2.0; aside_mm += ASIDE_MM) {
        for (int sign = -1; sign <= 1; sign += 2) {
            struct tw_point place = tw_witness_place(face, (struct tw_point){ x_mm, middle.y_mm + sign * aside_mm });

            if (is_steel(workpiece, place))
                return place;
        }
    }
    return tw_witness_place(face, middle);
}

struct tw_give tw_give_begin(const struct tw_workpiece *workpiece)
{
    const struct tw_witness_face *face = &workpiece->face;
    struct tw_point spot = find_spot(workpiece);
    double over_mm = tw_witness_top_mm(face, spot.x_mm) - tw_witness_target_mm(face, spot.x_mm);

    return (struct tw_give){ .job = face->job,
                             .spot_mm = { spot.x_mm, spot.y_mm },
                             .stated_mm = over_mm,
                             .worst_mm = over_mm,
                             .lowest_mm = HUGE_VAL,
                             .level = { .over_mm = HUGE_VAL } };
}

/* ---- one pass ---- */

/* Whether the pass goes over the level once more that the last one went over. */
static bool repeats(const struct tw_give *give)
{
    return give->passed && fabs(give->pass.over_mm - give->last_over_mm) <= SAME_LEVEL_MM;
}

/* The cut that tells how hard a pass pushes. Only when a level is repeated is all known of how it was cut; and a sliver, as where
 * the wheel is followed by a step more, is no cut of its own. */
static const struct tw_give_level *cut_of(const struct tw_give *give)
{
    const struct tw_give_level *own = &give->level, *before = &give->before;
    bool known = repeats(give) && own->depth_mm > SLIVER_SHARE * before->depth_mm;

    return known || own->tangential_N >= before->tangential_N ? own : before;
}

/* What a pass at that height leaves standing over it. */
static double after_mm(const struct tw_give *give, double steel_mm, double force_ratio, double stiffness_N_per_mm)
{
    const struct tw_give_level *cut = cut_of(give);
    double behind_mm = steel_mm - give->pass.over_mm;
    struct tw_spring spring;

    if (behind_mm <= 0.0 || !(cut->depth_mm > 0.0))
        return steel_mm;
    spring = tw_spring_of(force_ratio * cut->tangential_N, cut->depth_mm,
                          tw_spring_in_series(stiffness_N_per_mm, give->job->task.bends_mm_per_N));
    return give->pass.over_mm + tw_spring_after_mm(&spring, behind_mm, 0.0);
}

static bool counts(const struct tw_give *give)
{
    return give->pass.any && give->pass.covers &&
           (!repeats(give) || fabs(give->pass.across_mm - give->last_across_mm) <= SAME_LINE_MM);
}

static void finish_pass(struct tw_give *give)
{
    const struct tw_job *job = give->job;

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
    int along = (to_mm[0] > from_mm[0]) - (to_mm[0] < from_mm[0]);
    int across = (to_mm[1] > from_mm[1]) - (to_mm[1] < from_mm[1]);
    int way = along ? along : 2 * across;

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

/* Feeds at other parts are none of this one's levels: only cuts tell. */
static void come_to_level(struct tw_give *give, double over_mm)
{
    if (fabs(over_mm - give->level.over_mm) <= SAME_LEVEL_MM)
        return;
    give->before = give->level;
    give->level = (struct tw_give_level){ .over_mm = over_mm };
}

void tw_give_cut(struct tw_give *give, double tangential_N, double depth_mm)
{
    if (!give->pass.any || tangential_N <= 0.0)
        return;
    come_to_level(give, give->pass.over_mm);
    if (tangential_N <= give->level.tangential_N)
        return;
    give->level.tangential_N = tangential_N;
    give->level.depth_mm = depth_mm;
}

void tw_give_end(struct tw_give *give)
{
    finish_pass(give);
}
