/* higher.c - where a wheel may first touch a surveyed face. */
#include "straight/higher.h"

#include "tangwright/blank.h"

#include <math.h>

size_t higher_first(const struct tw_straight *straight)
{
    size_t i = 0;

    while (i < straight->gauge_count && straight->gauges[i].x_mm < NEXT_PLACE_MM)
        i++;
    return i;
}

/* ---- curvature ---- */

/* The places of one face that are joined by straight lines: the taper start, and each gauge point behind it. */
struct chain {
    const struct tw_straight *straight;
    double start_mm; /* height of the taper start */
    size_t first, count;
    int side;
};

static struct chain chain_of(const struct tw_straight *straight, double start_mm, int side)
{
    size_t first = higher_first(straight);

    return (struct chain){ straight, start_mm, first, straight->gauge_count - first + 1, side };
}

static struct tw_point place(const struct chain *chain, size_t i)
{
    const struct tw_gauge_point *gauge;

    if (i == 0)
        return (struct tw_point){ 0.0, chain->start_mm };
    gauge = &chain->straight->gauges[chain->first + i - 1];
    return (struct tw_point){ gauge->x_mm, gauge->height_mm[chain->side] };
}

/* f'' by the place and its neighbours, of heights outwards: below 0 the face bulges. 0 at the ends. */
static double bend_per_mm(const struct chain *chain, size_t i)
{
    struct tw_point before, here, after;

    if (i == 0 || i + 1 >= chain->count)
        return 0.0;
    before = place(chain, i - 1);
    here = place(chain, i);
    after = place(chain, i + 1);
    return 2.0 *
           ((after.y_mm - here.y_mm) / (after.x_mm - here.x_mm) -
            (here.y_mm - before.y_mm) / (here.x_mm - before.x_mm)) /
           (after.x_mm - before.x_mm);
}

/* Over the chord that ends at place `i`. */
static double bulge_mm(const struct chain *chain, size_t i)
{
    double bend = fmin(bend_per_mm(chain, i - 1), bend_per_mm(chain, i));
    double chord_mm = place(chain, i).x_mm - place(chain, i - 1).x_mm;

    return fmax(0.0, -bend) * chord_mm * chord_mm / 8.0;
}

/* ---- what it comes to ---- */

void higher_fill(const struct tw_job *job, struct tw_straight *straight)
{
    straight->higher_mm = 0.0;
    for (int side = 0; side < 2; side++) {
        struct chain chain = chain_of(straight, job->taper.ricasso_mm / 2.0, side);

        for (size_t i = 1; i < chain.count; i++) {
            struct tw_gauge_point *gauge = &straight->gauges[chain.first + i - 1];
            double bulge = bulge_mm(&chain, i);

            if (i + 1 < chain.count)
                bulge = fmax(bulge, bulge_mm(&chain, i + 1));
            gauge->higher_mm[side] = gauge->guard_mm + bulge;
            straight->higher_mm = fmax(straight->higher_mm, gauge->higher_mm[side]);
        }
    }
}

static struct tw_point raised(const struct tw_gauge_point *gauge, int side)
{
    return (struct tw_point){ gauge->x_mm, gauge->high_mm[side] + gauge->higher_mm[side] };
}

/* Half-way to the first reading, where the way up from the taper start would leave out half of the bulge. */
static struct tw_point half_way(const struct chain *chain)
{
    const struct tw_gauge_point *gauge = &chain->straight->gauges[chain->first];
    double read_mm = (chain->start_mm + gauge->high_mm[chain->side]) / 2.0;

    return (struct tw_point){ gauge->x_mm / 2.0, read_mm + gauge->guard_mm / 2.0 + bulge_mm(chain, 1) };
}

/* How hollow the face may be behind the last place that has two neighbours, where its bend goes on changing as it did before. */
static double end_bend_per_mm(const struct chain *chain)
{
    double last, before;

    if (chain->count < 3)
        return 0.0;
    last = bend_per_mm(chain, chain->count - 2);
    before = bend_per_mm(chain, chain->count - 3);
    return fmax(0.0, last + fmax(0.0, last - before));
}

/* A hollow face rises ever more steeply; and readings that err against each other tilt the line through them, and bend it. */
static struct tw_point far_end(const struct chain *chain, struct tw_point before, struct tw_point last)
{
    double chord_mm = last.x_mm - before.x_mm, behind_mm = chain->straight->far_mm - last.x_mm;
    double guard_mm = chain->straight->gauges[chain->straight->gauge_count - 1].guard_mm;
    double line_mm = last.y_mm + (last.y_mm - before.y_mm + guard_mm) / chord_mm * behind_mm;
    double bend = end_bend_per_mm(chain) + guard_mm / (chord_mm * chord_mm);

    return (struct tw_point){ chain->straight->far_mm, line_mm + bend * behind_mm * (behind_mm + chord_mm) / 2.0 };
}

void higher_profile(const struct tw_straight *straight, int side, struct tw_profile *out)
{
    struct chain chain = chain_of(straight, out->points[0].y_mm, side);

    if (chain.count > 1)
        out->points[out->count++] = half_way(&chain);
    for (size_t i = chain.first; i < straight->gauge_count; i++)
        out->points[out->count++] = raised(&straight->gauges[i], side);
    if (chain.count > 1 && straight->far_mm > out->points[out->count - 1].x_mm) {
        struct tw_point end = far_end(&chain, out->points[out->count - 2], out->points[out->count - 1]);

        out->points[out->count++] = end;
    }
}
