/* shape.c - sections of a drawing along the taper axis, and what they say of its shape. */
#include "placement/shape.h"

#include "geometry/ring.h"

#include <math.h>

/* Of the sections: a change of width counts when it happens within GAP and lasts over WINDOW on both sides. */
enum { GAP = 16, WINDOW = 36, EDGE = SHAPE_SECTIONS / 7 };

struct tw_point shape_to_part(const struct tw_taper_axis *axis, struct tw_point drawing)
{
    double x = drawing.x_mm - axis->start_x_mm, y = drawing.y_mm - axis->start_y_mm;
    double c = cos(axis->direction_rad), s = sin(axis->direction_rad);

    return (struct tw_point){ x * c + y * s, (axis->mirrored ? -1.0 : 1.0) * (y * c - x * s) };
}

struct tw_point shape_told(const struct tw_taper_axis *axis, struct tw_point drawing)
{
    return (struct tw_point){ drawing.x_mm, (axis->y_down ? 0.0 - drawing.y_mm : drawing.y_mm) };
}

struct tw_point shape_to_drawing(const struct tw_taper_axis *axis, struct tw_point part)
{
    double y = axis->mirrored ? -part.y_mm : part.y_mm;
    double c = cos(axis->direction_rad), s = sin(axis->direction_rad);

    return shape_told(axis, (struct tw_point){ axis->start_x_mm + part.x_mm * c - y * s + 0.0,
                                               axis->start_y_mm + part.x_mm * s + y * c + 0.0 });
}

/* ---- measuring ---- */

static void find_ends(struct shape *shape)
{
    const struct tw_ring *ring = &shape->drawing->outer;

    shape->from_mm = HUGE_VAL;
    shape->to_mm = -HUGE_VAL;
    for (size_t i = 0; i < ring->count; i++) {
        double x_mm = shape_to_part(&shape->axis, ring->points[i]).x_mm;

        shape->from_mm = fmin(shape->from_mm, x_mm);
        shape->to_mm = fmax(shape->to_mm, x_mm);
    }
    shape->step_mm = (shape->to_mm - shape->from_mm) / SHAPE_SECTIONS;
}

/* The sections that one side of the ring crosses. */
static void cross(struct shape *shape, struct tw_point p, struct tw_point q)
{
    struct tw_point a = p.x_mm < q.x_mm ? p : q, b = p.x_mm < q.x_mm ? q : p;
    int first = (int)ceil((a.x_mm - shape->from_mm) / shape->step_mm - 0.5);
    int last = (int)floor((b.x_mm - shape->from_mm) / shape->step_mm - 0.5);

    for (int i = first < 0 ? 0 : first; i <= last && i < SHAPE_SECTIONS && b.x_mm > a.x_mm; i++) {
        double t = (shape_x_mm(shape, i) - a.x_mm) / (b.x_mm - a.x_mm);
        double y_mm = a.y_mm + t * (b.y_mm - a.y_mm);

        shape->low_mm[i] = fmin(shape->low_mm[i], y_mm);
        shape->high_mm[i] = fmax(shape->high_mm[i], y_mm);
    }
}

void shape_measure(const struct tw_outline *drawing, const struct tw_taper_axis *axis, struct shape *out)
{
    const struct tw_ring *ring = &drawing->outer;
    struct tw_point before = shape_to_part(axis, ring->points[ring->count - 1]);

    *out = (struct shape){ .drawing = drawing, .axis = *axis };
    find_ends(out);
    for (int i = 0; i < SHAPE_SECTIONS; i++) {
        out->low_mm[i] = HUGE_VAL;
        out->high_mm[i] = -HUGE_VAL;
    }
    for (size_t i = 0; i < ring->count; i++) {
        struct tw_point here = shape_to_part(axis, ring->points[i]);

        cross(out, before, here);
        before = here;
    }
}

double shape_x_mm(const struct shape *shape, int section)
{
    return shape->from_mm + (section + 0.5) * shape->step_mm;
}

int shape_section(const struct shape *shape, double x_mm)
{
    double section = floor((x_mm - shape->from_mm) / shape->step_mm);

    return (int)fmin(fmax(section, 0.0), SHAPE_SECTIONS - 1.0);
}

double shape_width_mm(const struct shape *shape, int section)
{
    return fmax(0.0, shape->high_mm[section] - shape->low_mm[section]);
}

struct tw_point shape_middle(const struct shape *shape, double x_mm)
{
    int i = shape_section(shape, x_mm);

    return (struct tw_point){ x_mm, (shape->low_mm[i] + shape->high_mm[i]) / 2.0 };
}

/* ---- single places ---- */

bool shape_piece_at(const struct shape *shape, double x_mm, double y_mm, double *low_mm, double *high_mm)
{
    const struct tw_ring *ring = &shape->drawing->outer;
    struct tw_point p = shape_to_part(&shape->axis, ring->points[ring->count - 1]);
    bool inside = false;

    *low_mm = -HUGE_VAL;
    *high_mm = HUGE_VAL;
    for (size_t i = 0; i < ring->count; i++) {
        struct tw_point q = shape_to_part(&shape->axis, ring->points[i]);

        if ((p.x_mm <= x_mm) != (q.x_mm <= x_mm)) {
            double at_mm = p.y_mm + (x_mm - p.x_mm) / (q.x_mm - p.x_mm) * (q.y_mm - p.y_mm);

            if (at_mm <= y_mm) {
                inside = !inside;
                *low_mm = fmax(*low_mm, at_mm);
            } else {
                *high_mm = fmin(*high_mm, at_mm);
            }
        }
        p = q;
    }
    return inside;
}

static double to_side_mm(struct tw_point at, struct tw_point p, struct tw_point q)
{
    double dx = q.x_mm - p.x_mm, dy = q.y_mm - p.y_mm, square = dx * dx + dy * dy;
    double t = square > 0.0 ? ((at.x_mm - p.x_mm) * dx + (at.y_mm - p.y_mm) * dy) / square : 0.0;

    t = fmin(fmax(t, 0.0), 1.0);
    return hypot(at.x_mm - p.x_mm - t * dx, at.y_mm - p.y_mm - t * dy);
}

double shape_distance_mm(const struct tw_ring *ring, struct tw_point at)
{
    double nearest_mm = HUGE_VAL;

    for (size_t i = 0; i < ring->count; i++)
        nearest_mm = fmin(nearest_mm, to_side_mm(at, ring->points[i], ring->points[(i + 1) % ring->count]));
    return nearest_mm;
}

const struct tw_ring *shape_hole_at(const struct tw_outline *drawing, struct tw_point at)
{
    for (size_t i = 0; i < drawing->hole_count; i++)
        if (tw_ring_contains(&drawing->holes[i], at.x_mm, at.y_mm))
            return &drawing->holes[i];
    return NULL;
}

/* ---- the shape ---- */

/* Counted from that end. */
static double width_from_end(const struct shape *shape, bool front, int i)
{
    return shape_width_mm(shape, front ? i : SHAPE_SECTIONS - 1 - i);
}

double shape_end_fill(const struct shape *shape, bool front)
{
    double side_mm = 0.0, area_mm2 = 0.0;

    for (int i = 0; i < SHAPE_SECTIONS / 4; i++)
        side_mm = fmax(side_mm, width_from_end(shape, front, i));
    for (int i = 0; i < SHAPE_SECTIONS && (i + 0.5) * shape->step_mm < side_mm; i++)
        area_mm2 += fmin(side_mm, width_from_end(shape, front, i)) * shape->step_mm;
    return side_mm > 0.0 ? area_mm2 / (side_mm * side_mm) : 1.0;
}

static void extremes(const struct shape *shape, int from, int to, double *least_mm, double *most_mm)
{
    *least_mm = HUGE_VAL;
    *most_mm = 0.0;
    for (int i = from; i < to; i++) {
        *least_mm = fmin(*least_mm, shape_width_mm(shape, i));
        *most_mm = fmax(*most_mm, shape_width_mm(shape, i));
    }
}

/* Between two sections, where the width changes most. */
static double steepest_x_mm(const struct shape *shape, int from, int to)
{
    double most_mm = -1.0, x_mm = 0.0;

    for (int i = from; i < to; i++) {
        double change_mm = fabs(shape_width_mm(shape, i + 1) - shape_width_mm(shape, i));

        if (change_mm > most_mm) {
            most_mm = change_mm;
            x_mm = shape_x_mm(shape, i) + shape->step_mm / 2.0;
        }
    }
    return x_mm;
}

/* By how much the width changes within the gap where it goes on as in the windows beside it. */
static double steady_mm(const struct shape *shape, int at)
{
    int near = at - GAP / 2, far = at + GAP / 2;
    double ahead_mm = fabs(shape_width_mm(shape, near) - shape_width_mm(shape, near - WINDOW));
    double behind_mm = fabs(shape_width_mm(shape, far + WINDOW) - shape_width_mm(shape, far));

    return fmax(ahead_mm, behind_mm) * GAP / WINDOW;
}

static void offer_step(const struct shape *shape, int at, double wide_mm, double narrow_mm, bool wide_ahead,
                       struct shape_step *best)
{
    double share = (wide_mm - narrow_mm - steady_mm(shape, at)) / wide_mm;

    if (!(share > best->share))
        return;
    *best = (struct shape_step){ .x_mm = steepest_x_mm(shape, at - GAP / 2, at + GAP / 2),
                                 .wide_mm = wide_mm,
                                 .narrow_mm = narrow_mm,
                                 .wide_ahead = wide_ahead,
                                 .share = share };
}

static double settled_x_mm(const struct shape *shape, const struct shape_step *step)
{
    int way = step->wide_ahead ? 1 : -1, i = shape_section(shape, step->x_mm);

    while (i + way >= 0 && i + way < SHAPE_SECTIONS && shape_width_mm(shape, i) > step->narrow_mm)
        i += way;
    return shape_x_mm(shape, i);
}

double shape_narrowest_mm(const struct shape *shape, double from_mm, double to_mm)
{
    double narrowest_mm = HUGE_VAL;

    for (int i = shape_section(shape, from_mm); i <= shape_section(shape, to_mm); i++)
        narrowest_mm = fmin(narrowest_mm, shape_width_mm(shape, i));
    return narrowest_mm;
}

double shape_first_narrow_mm(const struct shape *shape, double width_mm)
{
    int i = shape_section(shape, 0.0);

    while (i < SHAPE_SECTIONS - 1 && shape_width_mm(shape, i) > width_mm)
        i++;
    return shape_x_mm(shape, i);
}

struct shape_step shape_step(const struct shape *shape)
{
    struct shape_step best = { 0 };

    for (int at = EDGE; at < SHAPE_SECTIONS - EDGE; at++) {
        double least_ahead, most_ahead, least_behind, most_behind;

        extremes(shape, at - GAP / 2 - WINDOW, at - GAP / 2, &least_ahead, &most_ahead);
        extremes(shape, at + GAP / 2, at + GAP / 2 + WINDOW, &least_behind, &most_behind);
        offer_step(shape, at, least_ahead, most_behind, true, &best);
        offer_step(shape, at, least_behind, most_ahead, false, &best);
    }
    if (best.share > 0.0)
        best.settled_mm = settled_x_mm(shape, &best);
    return best;
}

/* Second moments of area of the sections about their common centre. */
double shape_long_way_rad(const struct shape *shape, double *elongation)
{
    double area = 0.0, x = 0.0, y = 0.0, xx = 0.0, yy = 0.0, xy = 0.0, mean, difference;

    for (int i = 0; i < SHAPE_SECTIONS; i++) {
        double w = shape_width_mm(shape, i), at = shape_x_mm(shape, i);
        double middle = (shape->low_mm[i] + shape->high_mm[i]) / 2.0;

        if (!(w > 0.0))
            continue;
        area += w;
        x += w * at;
        y += w * middle;
        xx += w * at * at;
        yy += w * (middle * middle + w * w / 12.0);
        xy += w * at * middle;
    }
    xx = xx / area - x / area * x / area;
    yy = yy / area - y / area * y / area;
    xy = xy / area - x / area * y / area;
    mean = (xx + yy) / 2.0;
    difference = hypot((xx - yy) / 2.0, xy);
    *elongation = sqrt((mean + difference) / fmax(mean - difference, 1e-12 * mean));
    return fabs(atan2(2.0 * xy, xx - yy)) / 2.0;
}

double shape_middle_line_rad(const struct shape *shape, double from_mm, double to_mm)
{
    int from = shape_section(shape, from_mm), to = shape_section(shape, to_mm), count = 0;
    double x = 0.0, y = 0.0, xx = 0.0, xy = 0.0;

    for (int i = from; i <= to; i++) {
        struct tw_point middle = shape_middle(shape, shape_x_mm(shape, i));

        if (!(shape_width_mm(shape, i) > 0.0))
            continue;
        count++;
        x += middle.x_mm;
        y += middle.y_mm;
        xx += middle.x_mm * middle.x_mm;
        xy += middle.x_mm * middle.y_mm;
    }
    if (count < 3)
        return 0.0;
    return atan((count * xy - x * y) / (count * xx - x * x));
}
