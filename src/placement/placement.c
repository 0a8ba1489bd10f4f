/* placement.c - what the drawing shows and how the job lies in it, put together. */
#include "tangwright/placement.h"

#include "base/numbers.h"
#include "geometry/ring.h"
#include "placement/faults.h"
#include "placement/shape.h"
#include "placement/signs.h"

#include <math.h>

/* A tang alone may have so much of the ricasso with it, as a share of its own length; above it there may be a blade. */
#define RICASSO_SHARE 0.35

/* ---- holes ---- */

static struct tw_placed_hole hole_of(const struct tw_ring *ring, const struct tw_taper_axis *axis)
{
    struct tw_box box = tw_ring_box(ring);
    double area_mm2 = fabs(tw_ring_area_mm2(ring));
    struct tw_placed_hole hole = { .centre = shape_to_part(axis, tw_ring_centre(ring)),
                                   .round = signs_is_round(&box, area_mm2) };

    hole.diameter_mm =
        hole.round ? fmax(box.max_x_mm - box.min_x_mm, box.max_y_mm - box.min_y_mm) : 2.0 * sqrt(area_mm2 / TW_PI);
    return hole;
}

static void place_holes(const struct tw_outline *drawing, struct tw_placement *out)
{
    for (size_t i = 0; i < drawing->hole_count; i++) {
        struct tw_placed_hole hole = hole_of(&drawing->holes[i], &out->axis);
        size_t at = out->hole_count < TW_PLACED_HOLES_MOST ? out->hole_count : TW_PLACED_HOLES_MOST;

        out->hole_count++;
        if (at == TW_PLACED_HOLES_MOST)
            continue;
        for (; at > 0 && out->holes[at - 1].centre.x_mm > hole.centre.x_mm; at--)
            out->holes[at] = out->holes[at - 1];
        out->holes[at] = hole;
    }
}

/* ---- ends and start ---- */

/* A point, or the middle of a straight end. */
static struct tw_point end_of(const struct shape *shape, double x_mm)
{
    const struct tw_ring *ring = &shape->drawing->outer;
    double low_mm = HUGE_VAL, high_mm = -HUGE_VAL;

    for (size_t i = 0; i < ring->count; i++) {
        struct tw_point at = shape_to_part(&shape->axis, ring->points[i]);

        if (fabs(at.x_mm - x_mm) > 1e-4 * (shape->to_mm - shape->from_mm))
            continue;
        low_mm = fmin(low_mm, at.y_mm);
        high_mm = fmax(high_mm, at.y_mm);
    }
    return (struct tw_point){ x_mm, (low_mm + high_mm) / 2.0 };
}

/* Where nothing lies ahead the front end may be a little askew, so the section is taken a little farther back. */
static double section_x_mm(const struct tw_placement *placement)
{
    return placement->ahead_mm > 0.02 * placement->behind_mm ? 0.0 : 0.05 * placement->behind_mm;
}

static void measure_start(const struct shape *shape, struct tw_placement *out)
{
    double x_mm = section_x_mm(out), low_mm, high_mm;
    int section = shape_section(shape, x_mm);

    if (!shape_piece_at(shape, x_mm, 0.0, &low_mm, &high_mm)) {
        low_mm = shape->low_mm[section];
        high_mm = shape->high_mm[section];
    }
    out->width_mm = high_mm - low_mm;
    out->middle = (struct tw_point){ x_mm, (low_mm + high_mm) / 2.0 };
    out->off_middle = out->width_mm > 0.0 ? fabs(out->middle.y_mm) / out->width_mm : 0.0;
    for (int i = shape_section(shape, 0.0); i < SHAPE_SECTIONS; i++)
        out->widest_mm = fmax(out->widest_mm, shape_width_mm(shape, i));
    out->askew_rad = shape_middle_line_rad(shape, 0.05 * out->behind_mm, 0.75 * out->behind_mm);
}

/* ---- blade and spine ---- */

/* Where the steel ahead is long, runs out like a blade or stands out at the heel, it is the blade. */
static enum tw_shown shown_by(const struct shape *shape, const struct tw_placement *placement)
{
    struct shape_step step = shape_step(shape);

    if (placement->ahead_mm < RICASSO_SHARE * placement->behind_mm)
        return TW_SHOWN_TANG;
    if (placement->ahead_mm > 1.2 * placement->behind_mm || shape_end_fill(shape, true) < 0.75 ||
        (step.wide_ahead && step.share >= 0.15))
        return TW_SHOWN_KNIFE;
    return TW_SHOWN_PART;
}

/* +1 or -1 for the side of the part frame that lies in the told direction. */
static int told_side(const struct tw_taper_axis *axis, enum tw_towards towards)
{
    double along_y = sin(((int)towards - 1) * TW_PI / 2.0 - axis->direction_rad);

    return (axis->mirrored ? -along_y : along_y) > 0.0 ? 1 : -1;
}

static void find_spine(const struct shape *shape, const struct tw_placement_told *told, struct tw_placement *out)
{
    if (out->shown == TW_SHOWN_KNIFE)
        signs_of_spine(shape, out);
    if (fabs(out->spine_vote) >= SIGNS_DECIDE)
        out->spine = out->spine_vote > 0.0 ? 1 : -1;
    out->spine_told = told->spine != TW_TOWARDS_BY_SHAPE;
    if (out->spine_told)
        out->spine = told_side(&out->axis, told->spine);
}

void tw_placement_examine(const struct tw_outline *drawing, const struct tw_taper_axis *axis,
                          const struct tw_placement_told *told, struct tw_placement *out)
{
    struct shape shape;

    *out = (struct tw_placement){ .axis = *axis, .inches = told->inches };
    shape_measure(drawing, axis, &shape);
    out->ahead_mm = fmax(0.0, -shape.from_mm);
    out->behind_mm = fmax(0.0, shape.to_mm);
    out->tip = end_of(&shape, shape.from_mm);
    out->butt = end_of(&shape, shape.to_mm);
    measure_start(&shape, out);
    place_holes(drawing, out);
    signs_of_ends(&shape, out);
    out->shown = shown_by(&shape, out);
    faults_find(&shape, told, out);
    if (out->fault == TW_PLACED_WELL)
        find_spine(&shape, told, out);
}

/* ---- for people ---- */

struct tw_point tw_placement_drawing(const struct tw_placement *placement, struct tw_point part)
{
    return shape_to_drawing(&placement->axis, part);
}

const char *tw_placement_towards(const struct tw_placement *placement, double x, double y)
{
    static const char *const words[] = { "right", "up and right",  "up",   "up and left",
                                         "left",  "down and left", "down", "down and right" };
    double angle_rad = placement->axis.direction_rad + atan2(placement->axis.mirrored ? -y : y, x);
    int eighth = (int)lround(angle_rad / (TW_PI / 4.0)) % 8;

    return words[eighth < 0 ? eighth + 8 : eighth];
}

/* 0 to 3 for +x, +y, -x, -y of the drawing, its y as the job counts it. */
static int drawing_quarter(const struct tw_placement *placement, int side)
{
    double turn = placement->axis.mirrored ? -side : side;
    int quarter = (int)lround(placement->axis.direction_rad / (TW_PI / 2.0) + turn) % 4;

    quarter = quarter < 0 ? quarter + 4 : quarter;
    return placement->axis.y_down && quarter % 2 == 1 ? 4 - quarter : quarter;
}

const char *tw_placement_drawing_axis(const struct tw_placement *placement, int side)
{
    static const char *const words[] = { "+x", "+y", "-x", "-y" };

    return words[drawing_quarter(placement, side)];
}

const char *tw_placement_side(const struct tw_placement *placement, int side)
{
    static const char *const words[] = { "drawing +x", "drawing +y", "drawing -x", "drawing -y" };

    if (placement->spine == 0)
        return words[drawing_quarter(placement, side)];
    return placement->spine == side ? "spine" : "edge";
}
