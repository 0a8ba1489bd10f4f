/* shape.h - the drawing along the taper axis: how wide at each of many sections. */
#ifndef TANGWRIGHT_PLACEMENT_SHAPE_H
#define TANGWRIGHT_PLACEMENT_SHAPE_H

#include "tangwright/placement.h"

enum { SHAPE_SECTIONS = 400 };

struct shape {
    const struct tw_outline *drawing;
    struct tw_taper_axis axis;
    double from_mm, to_mm, step_mm;                         /* first and last x, and from section to section */
    double low_mm[SHAPE_SECTIONS], high_mm[SHAPE_SECTIONS]; /* at from + (i + 1/2) step */
};

/* One sudden change of width that lasts. */
struct shape_step {
    double x_mm, wide_mm, narrow_mm;
    double settled_mm; /* from this x on the narrow side is no wider than narrow_mm */
    bool wide_ahead;
    double share; /* of the wide side that is missing on the narrow one; 0: there is no such change */
};

void shape_measure(const struct tw_outline *drawing, const struct tw_taper_axis *axis, struct shape *out);

struct tw_point shape_to_part(const struct tw_taper_axis *axis, struct tw_point drawing);
/* A place of the drawing as the job writes it: y downwards where the job says so. */
struct tw_point shape_told(const struct tw_taper_axis *axis, struct tw_point drawing);

/* As the job writes it. */
struct tw_point shape_to_drawing(const struct tw_taper_axis *axis, struct tw_point part);

int shape_section(const struct shape *shape, double x_mm); /* the section nearest to x */
double shape_width_mm(const struct shape *shape, int section);
double shape_x_mm(const struct shape *shape, int section);
struct tw_point shape_middle(const struct shape *shape, double x_mm);

/* The piece of the section at x in which y lies, holes not counted; false when y lies off the steel. */
bool shape_piece_at(const struct shape *shape, double x_mm, double y_mm, double *low_mm, double *high_mm);

/* How far a point of the drawing lies from the ring. */
double shape_distance_mm(const struct tw_ring *ring, struct tw_point at);

/* The hole in which a point of the drawing lies; NULL: none. */
const struct tw_ring *shape_hole_at(const struct tw_outline *drawing, struct tw_point at);

/* How much of the square at the foremost (or rearmost) end is steel: 1 for a square end, below a half for a point. */
double shape_end_fill(const struct shape *shape, bool front);

/* The narrowest section between two places behind the start, and the first place behind it that is no wider than that. */
double shape_narrowest_mm(const struct shape *shape, double from_mm, double to_mm);
double shape_first_narrow_mm(const struct shape *shape, double width_mm);

/* The largest lasting change of width. */
struct shape_step shape_step(const struct shape *shape);

/* Angle of the long way of the outline to the axis, 0 to pi/2, and how many times it is longer than wide. */
double shape_long_way_rad(const struct shape *shape, double *elongation);

/* Slope of the middle line between two places, by least squares, as an angle. */
double shape_middle_line_rad(const struct shape *shape, double from_mm, double to_mm);

#endif
