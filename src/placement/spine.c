/* spine.c - the signs that tell spine from edge. Above zero: the spine lies towards +y. They look only at the blade and
 * at where it joins the tang, and take the blade to lie ahead. */
#include "placement/signs.h"

#include "base/units.h"

#include <math.h>
#include <stdio.h>

typedef struct tw_sign spine_sign(const struct shape *shape, const struct tw_placement *placement);

static const char *side_name(const struct tw_placement *placement, double side)
{
    return tw_placement_towards(placement, 0.0, side);
}

/* How far the blade stands out beyond the tang on both sides, in the third of it that is next to the tang. */
static struct tw_sign heel_stands_out(const struct shape *shape, const struct tw_placement *placement)
{
    int start = shape_section(shape, 0.0), front = shape_section(shape, -0.35 * placement->ahead_mm);
    int behind = shape_section(shape, 0.12 * placement->behind_mm);
    double high_mm = 0.0, low_mm = 0.0, over_mm, under_mm, share;
    struct tw_sign sign = { 0 };

    for (int i = start; i <= behind; i++) {
        high_mm += shape->high_mm[i] / (behind - start + 1);
        low_mm += shape->low_mm[i] / (behind - start + 1);
    }
    over_mm = under_mm = -HUGE_VAL;
    for (int i = front; i <= start; i++) {
        over_mm = fmax(over_mm, shape->high_mm[i] - high_mm);
        under_mm = fmax(under_mm, low_mm - shape->low_mm[i]);
    }
    share = fabs(under_mm - over_mm) / placement->width_mm;
    if (share < 0.1 || fmax(under_mm, over_mm) < 0.08 * placement->width_mm)
        return sign;
    sign.weight = (share < 0.25 ? 1.0 : share < 0.6 ? 2.0 : 3.0) * (under_mm > over_mm ? 1.0 : -1.0);
    snprintf(sign.text, sizeof sign.text, "the heel stands out by %s on the side that lies %s",
             tw_length_text(fmax(under_mm, over_mm), 1, placement->inches).text,
             side_name(placement, under_mm > over_mm ? -1.0 : 1.0));
    return sign;
}

/* Largest distance of one long edge from the chord between two sections. */
static double off_chord_mm(const double *edge_mm, int from, int to)
{
    double most_mm = 0.0;

    for (int i = from; i <= to; i++) {
        double t = (double)(i - from) / (to - from);

        most_mm = fmax(most_mm, fabs(edge_mm[i] - edge_mm[from] - t * (edge_mm[to] - edge_mm[from])));
    }
    return most_mm;
}

/* Past the taper start the spine runs on, where the edge has its heel, choil or guard. */
static struct tw_sign spine_runs_on(const struct shape *shape, const struct tw_placement *placement)
{
    double length_mm = placement->ahead_mm + placement->behind_mm;
    int from = shape_section(shape, -0.15 * length_mm), to = shape_section(shape, 0.05 * length_mm);
    double high_mm = off_chord_mm(shape->high_mm, from, to), low_mm = off_chord_mm(shape->low_mm, from, to);
    struct tw_sign sign = { 0 };

    if (fmax(high_mm, low_mm) < 0.08 * placement->width_mm || fmax(high_mm, low_mm) < 3.0 * fmin(high_mm, low_mm))
        return sign;
    sign.weight = low_mm > high_mm ? 1.0 : -1.0;
    snprintf(sign.text, sizeof sign.text, "the long edge that lies %s runs on past the taper start",
             side_name(placement, sign.weight));
    return sign;
}

/* By how much one long edge bulges over the chord from the tip to where the front part ends. */
static double bulge_mm(const double *edge_mm, int to, double outwards)
{
    double most_mm = 0.0;

    for (int i = 0; i <= to; i++) {
        double t = (double)i / to;

        most_mm = fmax(most_mm, outwards * (edge_mm[i] - edge_mm[0] - t * (edge_mm[to] - edge_mm[0])));
    }
    return most_mm;
}

/* Towards the tip the edge has the belly. A sheepsfoot is the other way round, so this sign alone decides nothing. */
static struct tw_sign belly(const struct shape *shape, const struct tw_placement *placement)
{
    int to = shape_section(shape, -0.6 * placement->ahead_mm);
    double high_mm = to > 0 ? bulge_mm(shape->high_mm, to, 1.0) : 0.0;
    double low_mm = to > 0 ? bulge_mm(shape->low_mm, to, -1.0) : 0.0;
    struct tw_sign sign = { 0 };

    if (fmax(high_mm, low_mm) < 0.1 * placement->width_mm || fmax(high_mm, low_mm) < 2.0 * fmin(high_mm, low_mm))
        return sign;
    sign.weight = low_mm > high_mm ? 1.0 : -1.0;
    snprintf(sign.text, sizeof sign.text, "towards the tip the outline bulges more on the side that lies %s",
             side_name(placement, -sign.weight));
    return sign;
}

static double slope_of(const struct shape *shape, const double *edge_mm, int from, int to)
{
    return (edge_mm[to] - edge_mm[from]) / ((to - from) * shape->step_mm);
}

/* A handle drops towards the edge, so against its axis the blade leans that way too. */
static struct tw_sign dropped_handle(const struct shape *shape, const struct tw_placement *placement)
{
    int from = shape_section(shape, -0.5 * placement->ahead_mm), to = shape_section(shape, -0.2 * placement->ahead_mm);
    double high, low, lean;
    struct tw_sign sign = { 0 };

    if (to <= from)
        return sign;
    high = slope_of(shape, shape->high_mm, from, to);
    low = slope_of(shape, shape->low_mm, from, to);
    lean = fabs(high) < fabs(low) ? high : low; /* the other one may be the edge that runs up to the tip */
    if (high * low < 0.0 || fabs(lean) < 0.05)
        return sign;
    sign.weight = lean > 0.0 ? 1.0 : -1.0;
    snprintf(sign.text, sizeof sign.text, "the handle drops to the side that lies %s",
             side_name(placement, -sign.weight));
    return sign;
}

void signs_of_spine(const struct shape *shape, struct tw_placement *placement)
{
    static spine_sign *const signs[] = { heel_stands_out, spine_runs_on, belly, dropped_handle };

    placement->spine_count = 0;
    placement->spine_vote = 0.0;
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++) {
        struct tw_sign sign = signs[i](shape, placement);

        if (sign.weight == 0.0)
            continue;
        placement->spines[placement->spine_count++] = sign;
        placement->spine_vote += sign.weight;
    }
}
