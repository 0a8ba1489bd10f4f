/* ends.c - the signs that tell the blade's end from the tang's. Above zero: the blade lies ahead, as the job has it. */
#include "placement/signs.h"

#include "base/units.h"

#include <math.h>
#include <stdio.h>

#define PIN_HOLE_MM 13.0 /* no wider is what a pin, tube or lanyard goes through */

typedef struct tw_sign end_sign(const struct shape *shape, const struct tw_placement *placement);

static const char *end_name(bool front)
{
    return front ? "ahead of" : "behind";
}

/* A blade runs out to a point, or is at least rounded off on one side; a butt is square or round. */
static struct tw_sign pointed_end(const struct shape *shape, const struct tw_placement *placement)
{
    double front = shape_end_fill(shape, true), rear = shape_end_fill(shape, false);
    double fill = fmin(front, rear);
    struct tw_sign sign = { 0 };

    (void)placement;
    if (fabs(front - rear) < 0.2 || fill > 0.7)
        return sign;
    sign.weight = (fill < 0.4 ? 3.0 : fill < 0.5 ? 2.0 : 1.0) * (front < rear ? 1.0 : -1.0);
    snprintf(sign.text, sizeof sign.text, "the end %s the taper start is %s", end_name(front < rear),
             fill < 0.5 ? "pointed" : "the more pointed one");
    return sign;
}

/* At the heel the steel narrows suddenly; the wide side is the blade. */
static struct tw_sign heel(const struct shape *shape, const struct tw_placement *placement)
{
    struct shape_step step = shape_step(shape);
    struct tw_sign sign = { 0 };

    if (step.share < 0.15)
        return sign;
    sign.weight = step.share < 0.25 ? 1.0 : step.share < 0.4 ? 2.0 : 3.0;
    /* A hooked butt widens, too, in the rear half of what lies behind: against the job that alone decides nothing. */
    if (!step.wide_ahead)
        sign.weight = -(step.x_mm < placement->behind_mm / 2.0 ? sign.weight : fmin(sign.weight, 1.5));
    snprintf(sign.text, sizeof sign.text, "the steel widens suddenly from %s to %s towards the end %s the start",
             tw_length_text(step.narrow_mm, 1, placement->inches).text,
             tw_length_text(step.wide_mm, 1, placement->inches).text, end_name(step.wide_ahead));
    return sign;
}

/* A regular polygon of many corners, or of eight: rings of few corners are often drawn for circles. */
bool signs_is_round(const struct tw_box *box, double area_mm2)
{
    double width_mm = box->max_x_mm - box->min_x_mm, height_mm = box->max_y_mm - box->min_y_mm;
    double share = area_mm2 / (width_mm * height_mm);

    return fabs(width_mm - height_mm) <= 0.05 * fmax(width_mm, height_mm) && share > 0.69 && share < 0.82;
}

bool signs_is_pin_hole(const struct tw_placed_hole *hole)
{
    return hole->round && hole->diameter_mm <= PIN_HOLE_MM;
}

/* Pins go through the tang. */
static struct tw_sign holes(const struct shape *shape, const struct tw_placement *placement)
{
    size_t counted = 0, ahead = 0;
    double place = 0.0, thinnest_mm = HUGE_VAL, weight;
    struct tw_sign sign = { 0 };

    for (size_t i = 0; i < placement->hole_count && i < TW_PLACED_HOLES_MOST; i++) {
        const struct tw_placed_hole *hole = &placement->holes[i];

        if (!signs_is_pin_hole(hole))
            continue;
        counted++;
        ahead += hole->centre.x_mm < 0.0;
        thinnest_mm = fmin(thinnest_mm, hole->diameter_mm);
        place += (hole->centre.x_mm - shape->from_mm) / (shape->to_mm - shape->from_mm);
    }
    if (counted == 0 || (ahead != 0 && ahead != counted))
        return sign;
    place /= (double)counted;
    /* Where all holes are wider than a pin, they may be there for the blade's sake. */
    weight = counted > 1 && thinnest_mm <= SIGNS_PIN_MM ? 2.0 : 1.0;
    if (ahead == 0 && place > 0.6) {
        sign.weight = weight;
        snprintf(sign.text, sizeof sign.text, "%s behind the taper start",
                 counted > 1 ? "all pin holes lie" : "the pin hole lies");
    } else if (ahead > 0) {
        sign.weight = -weight;
        snprintf(sign.text, sizeof sign.text, "%s ahead of the taper start",
                 counted > 1 ? "all pin holes lie" : "the pin hole lies");
    }
    return sign;
}

static double mean_width_mm(const struct shape *shape, double from_mm, double to_mm)
{
    int from = shape_section(shape, from_mm), to = shape_section(shape, to_mm);
    double sum_mm = 0.0;

    for (int i = from; i <= to; i++)
        sum_mm += shape_width_mm(shape, i);
    return sum_mm / (to - from + 1);
}

/* A blade is mostly the wider part. A piece too short to be one says nothing. */
static struct tw_sign wide_part(const struct shape *shape, const struct tw_placement *placement)
{
    double ahead_mm, behind_mm;
    struct tw_sign sign = { 0 };

    if (placement->ahead_mm < 0.35 * placement->behind_mm || placement->behind_mm < 0.35 * placement->ahead_mm)
        return sign;
    ahead_mm = mean_width_mm(shape, shape->from_mm, 0.0);
    behind_mm = mean_width_mm(shape, 0.0, shape->to_mm);
    if (fmax(ahead_mm, behind_mm) < 1.3 * fmin(ahead_mm, behind_mm))
        return sign;
    sign.weight = ahead_mm > behind_mm ? 1.0 : -1.0;
    snprintf(sign.text, sizeof sign.text, "the steel is %s wide ahead of the taper start and %s behind it",
             tw_length_text(ahead_mm, 1, placement->inches).text, tw_length_text(behind_mm, 1, placement->inches).text);
    return sign;
}

/* Width a hair's breadth from an end, as a share of the width a little farther in. */
static double squareness(const struct shape *shape, bool front)
{
    double end_mm = shape_width_mm(shape, front ? 0 : SHAPE_SECTIONS - 1);
    double in_mm = shape_width_mm(shape, front ? SHAPE_SECTIONS / 10 : SHAPE_SECTIONS - 1 - SHAPE_SECTIONS / 10);

    return in_mm > 0.0 ? end_mm / in_mm : 1.0;
}

/* A tang drawn alone is cut off square where it ends ahead; its butt is mostly rounded. */
static struct tw_sign square_cut(const struct shape *shape, const struct tw_placement *placement)
{
    double front = squareness(shape, true), rear = squareness(shape, false);
    struct tw_sign sign = { 0 };

    if (placement->ahead_mm > 0.25 * placement->behind_mm || placement->behind_mm <= 0.0)
        return sign;
    if (front > 0.95 && rear < 0.7)
        sign.weight = 1.0;
    else if (rear > 0.95 && front < 0.7)
        sign.weight = -2.0;
    else
        return sign;
    snprintf(sign.text, sizeof sign.text, "the end %s the taper start is cut square, the other one is rounded",
             end_name(front > rear));
    return sign;
}

void signs_of_ends(const struct shape *shape, struct tw_placement *placement)
{
    static end_sign *const signs[] = { pointed_end, heel, holes, wide_part, square_cut };

    placement->end_count = 0;
    placement->end_vote = 0.0;
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++) {
        struct tw_sign sign = signs[i](shape, placement);

        if (sign.weight == 0.0)
            continue;
        placement->ends[placement->end_count++] = sign;
        placement->end_vote += sign.weight;
    }
}
