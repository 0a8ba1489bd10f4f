/* pen.c - lines and curves to chords.
 *
 * Bounds used (each is proved in a line or two, no source needed):
 *   Ellipse: over a step of dt the curve leaves its chord by the vector m (1 - cos s), s <= dt/2, m being the
 *   radius at mid-step, so by no more than the longest half axis times 1 - cos(dt/2).
 *   Bezier: distance to the chord, a convex set, is a convex function, so at every t it is at most the sum
 *   of the basis functions of the inner controls times the farthest inner control; that sum is at most
 *   1 - 2^(1-degree) min(w_first, w_last) / w_max for positive weights. */
#include "outline/pen.h"

#include <string.h>

/* Halving a curve of 1 km 32 times leaves less than a nanometre. */
#define DEEPEST_HALVING 32

static const double pi = 3.14159265358979323846;

static struct tw_place place_of(const struct tw_pen *pen)
{
    return (struct tw_place){ .file = pen->file, .line = pen->line };
}

static bool place_is_sound(struct tw_pen *pen, struct tw_point at)
{
    /* Written this way round, NaN is refused too. */
    if (fabs(at.x_mm) <= TW_SKETCH_FARTHEST_MM && fabs(at.y_mm) <= TW_SKETCH_FARTHEST_MM)
        return true;
    pen->status = tw_fail(pen->findings, TW_BAD_INPUT, place_of(pen),
                          "a point lies at (%.6g, %.6g) mm, but nothing may lie farther than 1 km from the origin; "
                          "move the drawing nearer to it, or correct the unit",
                          at.x_mm, at.y_mm);
    return false;
}

static void add_mm(struct tw_pen *pen, struct tw_point at)
{
    if (pen->status != TW_OK || !place_is_sound(pen, at))
        return;
    if (pen->sketch->point_count >= TW_SKETCH_MOST_POINTS) {
        pen->status = tw_fail(pen->findings, TW_BAD_INPUT, place_of(pen),
                              "the drawing has more than %zu points; simplify it, or allow a larger chord tolerance",
                              TW_SKETCH_MOST_POINTS);
        return;
    }
    if (!tw_stroke_add(pen->stroke, at)) {
        pen->status = tw_no_memory(pen->findings);
        return;
    }
    pen->sketch->point_count++;
}

static struct tw_point to_mm(const struct tw_pen *pen, struct tw_vec at)
{
    struct tw_vec mm = tw_affine_point(&pen->to_mm, at);

    return (struct tw_point){ mm.x, mm.y };
}

void tw_pen_move(struct tw_pen *pen, struct tw_vec to)
{
    bool failed = false;

    if (pen->stroke)
        tw_pen_end(pen, false);
    if (pen->status != TW_OK)
        return;
    pen->stroke = tw_sketch_stroke(pen->sketch);
    if (!pen->stroke) {
        pen->status = tw_no_memory(pen->findings);
        return;
    }
    pen->stroke->line = pen->line;
    pen->stroke->picked = pen->picked;
    pen->stroke->role = pen->role;
    pen->stroke->label = tw_sketch_label(pen->sketch, pen->label, &failed);
    if (failed)
        pen->status = tw_no_memory(pen->findings);
    add_mm(pen, to_mm(pen, to));
}

void tw_pen_line(struct tw_pen *pen, struct tw_vec to)
{
    if (pen->status == TW_OK)
        add_mm(pen, to_mm(pen, to));
}

/* Largest singular value of the matrix with the columns u and v: the longest half axis. */
static double longest_half_axis(struct tw_vec u, struct tw_vec v)
{
    double sum = u.x * u.x + u.y * u.y + v.x * v.x + v.y * v.y, area = u.x * v.y - u.y * v.x;

    return sqrt((sum + sqrt(fmax(0.0, sum * sum - 4.0 * area * area))) / 2.0);
}

/* Number of equal steps over a sweep; at least an eighth of a turn each, so that small circles stay round. */
static double ellipse_steps(double half_axis_mm, double sweep_rad, double tolerance_mm)
{
    double step_rad = pi / 4.0;

    if (half_axis_mm > tolerance_mm)
        /* acos(1 - r) written as 2 asin(sqrt(r / 2)) keeps its digits for small r. */
        step_rad = fmin(step_rad, 4.0 * asin(sqrt(tolerance_mm / half_axis_mm / 2.0)));
    return fmax(1.0, ceil(fabs(sweep_rad) / step_rad));
}

void tw_pen_ellipse(struct tw_pen *pen, struct tw_vec centre, struct tw_vec u, struct tw_vec v, double from_rad,
                    double to_rad)
{
    struct tw_vec u_mm = tw_affine_vector(&pen->to_mm, u), v_mm = tw_affine_vector(&pen->to_mm, v);
    struct tw_point c = to_mm(pen, centre);
    double half_axis_mm = longest_half_axis(u_mm, v_mm);
    double steps;

    if (pen->status != TW_OK)
        return;
    /* The centre of a flat arc may lie far out; only what is drawn is bounded. But numbers must be numbers. */
    if (!isfinite(half_axis_mm + from_rad + to_rad + c.x_mm + c.y_mm)) {
        pen->status = tw_fail(pen->findings, TW_BAD_INPUT, place_of(pen),
                              "an arc's radius or centre is too large to be drawn; correct the drawing");
        return;
    }
    steps = ellipse_steps(half_axis_mm, to_rad - from_rad, pen->tolerance_mm);
    for (double i = 1.0; i <= steps && pen->status == TW_OK; i++) {
        double t = i < steps ? from_rad + (to_rad - from_rad) * (i / steps) : to_rad;
        double cos_t = cos(t), sin_t = sin(t);

        add_mm(pen,
               (struct tw_point){ c.x_mm + u_mm.x * cos_t + v_mm.x * sin_t, c.y_mm + u_mm.y * cos_t + v_mm.y * sin_t });
    }
}

/* Weighted place: x and y carry the weight. */
struct homogeneous {
    double xw, yw, w;
};

static struct homogeneous between(struct homogeneous a, struct homogeneous b, double t)
{
    return (struct homogeneous){ a.xw + (b.xw - a.xw) * t, a.yw + (b.yw - a.yw) * t, a.w + (b.w - a.w) * t };
}

static struct tw_point plain(struct homogeneous h)
{
    return (struct tw_point){ h.xw / h.w, h.yw / h.w };
}

static double distance_to_chord(struct tw_point p, struct tw_point a, struct tw_point b)
{
    double dx = b.x_mm - a.x_mm, dy = b.y_mm - a.y_mm, px = p.x_mm - a.x_mm, py = p.y_mm - a.y_mm;
    double length2 = dx * dx + dy * dy;
    double t = length2 > 0.0 ? fmin(1.0, fmax(0.0, (px * dx + py * dy) / length2)) : 0.0;

    return hypot(px - t * dx, py - t * dy);
}

static double chord_error_bound(const struct homogeneous *h, int degree)
{
    struct tw_point first = plain(h[0]), last = plain(h[degree]);
    double farthest = 0.0, heaviest = fmax(h[0].w, h[degree].w);

    for (int i = 1; i < degree; i++) {
        farthest = fmax(farthest, distance_to_chord(plain(h[i]), first, last));
        heaviest = fmax(heaviest, h[i].w);
    }
    return farthest * (1.0 - ldexp(fmin(h[0].w, h[degree].w) / heaviest, 1 - degree));
}

/* De Casteljau at the middle: `h` becomes the first half, `second` the other. */
static void halve(struct homogeneous *h, struct homogeneous *second, int degree)
{
    for (int left = degree; left >= 0; left--) {
        second[left] = h[degree];
        for (int i = degree; i > degree - left; i--)
            h[i] = between(h[i - 1], h[i], 0.5);
    }
}

static void draw_bezier(struct tw_pen *pen, struct homogeneous *h, int degree, int depth)
{
    struct homogeneous second[TW_PEN_HIGHEST_DEGREE + 1];

    if (pen->status != TW_OK)
        return;
    if (depth >= DEEPEST_HALVING || chord_error_bound(h, degree) <= pen->tolerance_mm) {
        add_mm(pen, plain(h[degree]));
        return;
    }
    halve(h, second, degree);
    draw_bezier(pen, h, degree, depth + 1);
    draw_bezier(pen, second, degree, depth + 1);
}

static struct homogeneous weighted(struct tw_pen *pen, struct tw_control control)
{
    struct tw_point at = to_mm(pen, (struct tw_vec){ control.x, control.y });

    if (pen->status == TW_OK)
        place_is_sound(pen, at);
    return (struct homogeneous){ at.x_mm * control.w, at.y_mm * control.w, control.w };
}

void tw_pen_bezier(struct tw_pen *pen, const struct tw_control *controls, int degree)
{
    struct homogeneous h[TW_PEN_HIGHEST_DEGREE + 1];

    for (int i = 0; i <= degree; i++)
        h[i] = weighted(pen, controls[i]);
    draw_bezier(pen, h, degree, 0);
}

/* Blossom of the span that begins at knot `span`, with the span's end as argument `end_count` times and its
 * start the other times: de Boor's scheme with an argument of its own in each round. */
static struct homogeneous blossom(const struct homogeneous *span_controls, int degree, const double *knots, size_t span,
                                  int end_count)
{
    struct homogeneous d[TW_PEN_HIGHEST_DEGREE + 1];

    memcpy(d, span_controls, ((size_t)degree + 1) * sizeof *d);
    for (int round = 1; round <= degree; round++) {
        double at = round <= end_count ? knots[span + 1] : knots[span];

        for (int i = degree; i >= round; i--) {
            double low = knots[span - (size_t)degree + (size_t)i], high = knots[span + (size_t)(i - round) + 1];

            d[i] = between(d[i - 1], d[i], (at - low) / (high - low));
        }
    }
    return d[degree];
}

static void draw_span(struct tw_pen *pen, const struct tw_control *controls, int degree, const double *knots,
                      size_t span)
{
    struct homogeneous local[TW_PEN_HIGHEST_DEGREE + 1], bezier[TW_PEN_HIGHEST_DEGREE + 1];

    for (int i = 0; i <= degree; i++)
        local[i] = weighted(pen, controls[span - (size_t)degree + (size_t)i]);
    for (int i = 0; i <= degree; i++)
        bezier[i] = blossom(local, degree, knots, span, i);
    if (pen->status != TW_OK)
        return;
    if (!pen->stroke) {
        /* The controls are in mm already, so the stroke is begun where they say. */
        struct tw_affine kept = pen->to_mm;
        struct tw_point first = plain(bezier[0]);

        pen->to_mm = tw_affine_identity();
        tw_pen_move(pen, (struct tw_vec){ first.x_mm, first.y_mm });
        pen->to_mm = kept;
    }
    draw_bezier(pen, bezier, degree, 0);
}

void tw_pen_bspline(struct tw_pen *pen, const struct tw_control *controls, size_t count, int degree,
                    const double *knots)
{
    for (size_t span = (size_t)degree; span < count && pen->status == TW_OK; span++)
        if (knots[span] < knots[span + 1])
            draw_span(pen, controls, degree, knots, span);
}

static bool same_place(struct tw_point a, struct tw_point b)
{
    return hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm) <= TW_SAME_PLACE_MM;
}

void tw_pen_end(struct tw_pen *pen, bool closed)
{
    struct tw_stroke *stroke = pen->stroke;

    pen->stroke = NULL;
    if (pen->status != TW_OK || !stroke)
        return;
    stroke->closed = closed;
    while (closed && stroke->count > 1 && same_place(stroke->points[0], stroke->points[stroke->count - 1]))
        stroke->count--;
}
