/* pen.h - draws lines and curves into a sketch, curves as chords within the chord tolerance.
 *
 * A curve is mapped to mm first and then cut into chords, so the tolerance holds in mm whatever the
 * transforms were: no point of the curve is farther from its chords than tolerance_mm.
 *
 * Errors  a pen that failed stays failed: every later call does nothing, and the reader asks
 *         `pen.status` where it suits. Faults: a place too far out, too many points, no memory. */
#ifndef TANGWRIGHT_OUTLINE_PEN_H
#define TANGWRIGHT_OUTLINE_PEN_H

#include "outline/affine.h"
#include "outline/sketch.h"

#define TW_PEN_HIGHEST_DEGREE 25

struct tw_pen {
    struct tw_sketch *sketch;
    struct tw_findings *findings;
    const char *file;
    double tolerance_mm;
    struct tw_affine to_mm; /* from the frame being read */
    enum tw_status status;
    struct tw_stroke *stroke; /* being drawn; NULL between strokes */
    /* What the next strokes carry. */
    int line;
    const char *label;
    bool picked;
    enum tw_role role;
};

/* Weight w > 0; x and y are the place itself, not multiplied by the weight. */
struct tw_control {
    double x, y, w;
};

/* Begins a stroke at a place. An unfinished one before it is kept as it is, open. */
void tw_pen_move(struct tw_pen *pen, struct tw_vec to);

void tw_pen_line(struct tw_pen *pen, struct tw_vec to);

/* The curve centre + u cos t + v sin t for t from from_rad to to_rad (either way), without its first
 * point. u and v are conjugate half axes; for a circle they are at right angles and of equal length. */
void tw_pen_ellipse(struct tw_pen *pen, struct tw_vec centre, struct tw_vec u, struct tw_vec v, double from_rad,
                    double to_rad);

/* A rational Bezier curve without its first point. 1 <= degree <= TW_PEN_HIGHEST_DEGREE. */
void tw_pen_bezier(struct tw_pen *pen, const struct tw_control *controls, int degree);

/* A rational B-spline, its first point drawn with tw_pen_line (or begun with tw_pen_move when no stroke is
 * open). `knots` holds count + degree + 1 values that never fall; count > degree. */
void tw_pen_bspline(struct tw_pen *pen, const struct tw_control *controls, size_t count, int degree,
                    const double *knots);

/* Ends the stroke. One that is closed drops a last point that repeats its first; one of a single point
 * draws nothing and is dropped. */
void tw_pen_end(struct tw_pen *pen, bool closed);

#endif
