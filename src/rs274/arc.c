/* arc.c - the circle of a G2 or G3 line: NISTIR 6556, section 3.5.3. */
#include "rs274/parts.h"

#include <math.h>
#include <string.h>

#define PI 3.14159265358979323846

static const char axis_letters[3] = { 'X', 'Y', 'Z' };
static const char offset_letters[3] = { 'I', 'J', 'K' };

/* The arc seen in its plane: (first, second) axis, counterclockwise from first to second. */
struct flat {
    double start[2], end[2], centre[2];
    bool counterclockwise;
};

/* Counterclockwise as seen from the positive end of the normal: X to Y, Z to X, Y to Z. */
static void choose_axes(enum tw_rs274_plane plane, struct tw_rs274_arc *arc)
{
    int normal = plane == TW_RS274_PLANE_XY ? TW_RS274_Z : plane == TW_RS274_PLANE_XZ ? TW_RS274_Y : TW_RS274_X;

    arc->normal_axis = normal;
    arc->first_axis = (normal + 1) % 3;
    arc->second_axis = (normal + 2) % 3;
}

/* What two radii of one arc may differ by: 0.002 mm or 0.0002 inch, NISTIR 6556, section 3.5.3.2. */
static double radius_tolerance_mm(bool inch)
{
    return inch ? 0.0002 * RS274_MM_PER_INCH : 0.002;
}

static double in_mm(const struct rs274_line *line, char letter, bool inch)
{
    double value = rs274_has(line, letter) ? rs274_value(line, letter) : 0.0;

    return inch ? value * RS274_MM_PER_INCH : value;
}

static bool check_words(const struct rs274_line *line, const struct tw_rs274_arc *arc, struct rs274_faults *faults)
{
    char x = axis_letters[arc->first_axis], y = axis_letters[arc->second_axis];
    char i = offset_letters[arc->first_axis], j = offset_letters[arc->second_axis];
    char k = offset_letters[arc->normal_axis];
    bool offsets = rs274_has(line, i) || rs274_has(line, j);

    if (!rs274_has(line, x) && !rs274_has(line, y))
        return rs274_fault(faults, line->line, TW_RS274_ARC_WITHOUT_PLANE_WORD,
                           "an arc in this plane needs %c or %c on its line, also when it is a full circle", x, y);
    /* The next two follow from "anything not explicitly allowed is illegal", section 3.3; the words are ours.
     */
    if (rs274_has(line, k))
        return rs274_fault(faults, line->line, TW_RS274_ARC_OFFSET_NOT_IN_PLANE,
                           "%c does not lie in the plane of this arc; its centre is given by %c and %c", k, i, j);
    if (rs274_has(line, 'R') && offsets)
        return rs274_fault(faults, line->line, TW_RS274_ARC_RADIUS_AND_OFFSET,
                           "the arc has both a radius R and a centre (%c %c); give one of them", i, j);
    if (!rs274_has(line, 'R') && !offsets)
        return rs274_fault(faults, line->line, TW_RS274_ARC_WITHOUT_CENTRE,
                           "the arc needs its centre (%c or %c) or its radius (R) on its own line", i, j);
    return true;
}

/* The centre lies on the bisector of the chord, at h = sqrt(R^2 - c^2/4) from its middle: to the left of the
 * chord for the short way round counterclockwise and the long way round clockwise, else to the right. */
static bool centre_from_radius(const struct rs274_line *line, bool inch, struct flat *arc, struct rs274_faults *faults)
{
    double r = in_mm(line, 'R', inch);
    double chord[2] = { arc->end[0] - arc->start[0], arc->end[1] - arc->start[1] };
    double c = hypot(chord[0], chord[1]), h2, h;
    bool left = arc->counterclockwise == (r > 0.0);

    if (c < RS274_SAME_POINT_MM)
        return rs274_fault(faults, line->line, TW_RS274_ARC_ENDS_AT_START,
                           "an arc given by its radius ends where it starts; give a full circle by its centre");
    h2 = (fabs(r) - c / 2.0) * (fabs(r) + c / 2.0);
    /* A half circle may miss by rounding noise. The limit on the chord is from memory: without it there is no
     * arc. */
    if (h2 < -1e-12 * c * c)
        return rs274_fault(faults, line->line, TW_RS274_ARC_RADIUS_TOO_SMALL,
                           "radius %.6f mm cannot reach from start to end, %.6f mm apart; it must be half of that "
                           "or more",
                           fabs(r), c);
    h = h2 > 0.0 ? sqrt(h2) : 0.0;
    if (!left)
        h = -h;
    arc->centre[0] = (arc->start[0] + arc->end[0]) / 2.0 - h * chord[1] / c;
    arc->centre[1] = (arc->start[1] + arc->end[1]) / 2.0 + h * chord[0] / c;
    return true;
}

/* The turn from start to end; the same point twice is a whole turn. */
static double sweep_rad(const struct flat *arc)
{
    double a[2] = { arc->start[0] - arc->centre[0], arc->start[1] - arc->centre[1] };
    double b[2] = { arc->end[0] - arc->centre[0], arc->end[1] - arc->centre[1] };
    double turn = atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1]);
    bool same = hypot(arc->end[0] - arc->start[0], arc->end[1] - arc->start[1]) < RS274_SAME_POINT_MM;

    if (same)
        return arc->counterclockwise ? 2.0 * PI : -2.0 * PI;
    if (arc->counterclockwise)
        return turn > 0.0 ? turn : turn + 2.0 * PI;
    return turn < 0.0 ? turn : turn - 2.0 * PI;
}

static bool check_radii(const struct rs274_line *line, bool inch, const struct tw_rs274_arc *arc,
                        struct rs274_faults *faults)
{
    double difference = fabs(arc->start_radius_mm - arc->end_radius_mm);

    if (difference > radius_tolerance_mm(inch))
        return rs274_fault(faults, line->line, TW_RS274_ARC_RADIUS_MISMATCH,
                           "the arc's start is %.6f mm from its centre and its end %.6f mm; they may differ by %g mm",
                           arc->start_radius_mm, arc->end_radius_mm, radius_tolerance_mm(inch));
    if (fmin(arc->start_radius_mm, arc->end_radius_mm) < RS274_SAME_POINT_MM)
        return rs274_fault(faults, line->line, TW_RS274_ARC_WITHOUT_RADIUS,
                           "the arc's centre is its own start or end; an arc needs a radius above zero");
    return true;
}

static void fill(struct tw_rs274_event *event, const struct flat *flat)
{
    struct tw_rs274_arc *arc = &event->arc;
    double mean_mm;

    memcpy(arc->centre_mm, event->start_mm, sizeof arc->centre_mm);
    memcpy(arc->centre_machine_mm, event->start_machine_mm, sizeof arc->centre_machine_mm);
    arc->centre_mm[arc->first_axis] = flat->centre[0];
    arc->centre_mm[arc->second_axis] = flat->centre[1];
    arc->centre_machine_mm[arc->first_axis] += flat->centre[0] - flat->start[0];
    arc->centre_machine_mm[arc->second_axis] += flat->centre[1] - flat->start[1];
    arc->start_radius_mm = hypot(flat->start[0] - flat->centre[0], flat->start[1] - flat->centre[1]);
    arc->end_radius_mm = hypot(flat->end[0] - flat->centre[0], flat->end[1] - flat->centre[1]);
    arc->start_angle_rad = atan2(flat->start[1] - flat->centre[1], flat->start[0] - flat->centre[0]);
    arc->sweep_rad = sweep_rad(flat);
    arc->rise_mm = event->end_mm[arc->normal_axis] - event->start_mm[arc->normal_axis];
    mean_mm = (arc->start_radius_mm + arc->end_radius_mm) / 2.0;
    event->length_mm = hypot(fabs(arc->sweep_rad) * mean_mm, arc->rise_mm);
}

bool rs274_arc(const struct rs274_line *line, struct tw_rs274_event *event, struct rs274_faults *faults)
{
    bool inch = event->modes.inch;
    struct tw_rs274_arc *arc = &event->arc;
    struct flat flat = { 0 };

    choose_axes(event->modes.plane, arc);
    if (!check_words(line, arc, faults))
        return false;
    flat.counterclockwise = event->modes.motion == TW_RS274_MOTION_COUNTERCLOCKWISE;
    flat.start[0] = event->start_mm[arc->first_axis];
    flat.start[1] = event->start_mm[arc->second_axis];
    flat.end[0] = event->end_mm[arc->first_axis];
    flat.end[1] = event->end_mm[arc->second_axis];
    if (rs274_has(line, 'R')) {
        if (!centre_from_radius(line, inch, &flat, faults))
            return false;
    } else {
        /* Offsets count from the start also under G90: NISTIR 6556, section 3.5.17. */
        flat.centre[0] = flat.start[0] + in_mm(line, offset_letters[arc->first_axis], inch);
        flat.centre[1] = flat.start[1] + in_mm(line, offset_letters[arc->second_axis], inch);
    }
    fill(event, &flat);
    return check_radii(line, inch, arc, faults);
}

static void arc_offset(const struct tw_rs274_arc *arc, double fraction, double out_mm[3])
{
    double angle = arc->start_angle_rad + fraction * arc->sweep_rad;
    double radius = arc->start_radius_mm + fraction * (arc->end_radius_mm - arc->start_radius_mm);

    out_mm[arc->first_axis] = radius * cos(angle);
    out_mm[arc->second_axis] = radius * sin(angle);
    out_mm[arc->normal_axis] = fraction * arc->rise_mm;
}

void tw_rs274_point(const struct tw_rs274_event *motion, double fraction, double out_mm[3], double out_machine_mm[3])
{
    double offset[3] = { 0.0, 0.0, 0.0 };
    bool arc = motion->kind == TW_RS274_ARC && fraction > 0.0 && fraction < 1.0;

    if (arc)
        arc_offset(&motion->arc, fraction, offset);
    for (int i = 0; i < 3; i++) {
        double step = motion->end_mm[i] - motion->start_mm[i];
        double machine_step = motion->end_machine_mm[i] - motion->start_machine_mm[i];

        if (out_mm)
            out_mm[i] = arc               ? motion->arc.centre_mm[i] + offset[i]
                        : fraction >= 1.0 ? motion->end_mm[i]
                                          : motion->start_mm[i] + fraction * step;
        if (out_machine_mm)
            out_machine_mm[i] = arc               ? motion->arc.centre_machine_mm[i] + offset[i]
                                : fraction >= 1.0 ? motion->end_machine_mm[i]
                                                  : motion->start_machine_mm[i] + fraction * machine_step;
    }
}
