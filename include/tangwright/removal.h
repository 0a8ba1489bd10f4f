/* removal.h - what a wheel takes off and what it touches, motion by motion, on a field of heights.
 *
 * Frame     the setup frame: x along the part, y across, z up; mm.
 * Field     a rectangular grid. Each cell holds, at its centre, the top of the stock that may be ground and
 *           the top and kind of what may not be touched. Stock reaches down to bottom_mm.
 * Wheel     a body, not a point. A disc is a cylinder with its axis along y; its programmed point is its
 *           lowest point at mid-width. A cup is a vertical cylinder with a flat rim below and a hollow
 *           inside it; its programmed point is the centre of the rim's face. Either may carry a spindle
 *           nose.
 * Sweep     every straight motion is swept exactly: for each cell the part of the motion during which the
 *           wheel is over it, and the wheel's lowest point over it in that part, from closed forms (see
 *           src/removal/round.c and ring.c). Nothing is sampled along the motion. Heights are rounded to float, which
 *           costs less than 2e-5 mm for coordinates within 100 mm and radii up to 300 mm. An arc is cut
 *           into chords no farther from it than a stated distance.
 * In time   a motion is cut into slices of equal length. Each tells what was removed in it and how deep.
 * Memory    a field owns its arrays, a sweep owns its working space and the slices it hands out, which live
 *           until its next motion. Grinding one motion allocates only when it has more slices than any
 *           before.
 * Threads   a field and its sweep belong to one thread; different fields may run at once. */
#ifndef TANGWRIGHT_REMOVAL_H
#define TANGWRIGHT_REMOVAL_H

#include "tangwright/findings.h"
#include "tangwright/outline.h"

#include <stdbool.h>
#include <stddef.h>

/* Cuts and contacts shallower than this are rounding, not grinding. */
#define TW_REMOVAL_TOUCH_MM 2e-5

enum tw_cell_kind {
    TW_CELL_STOCK,  /* what is to be ground; a contact of this kind: a part of the wheel that does not cut hit it */
    TW_CELL_TARGET, /* no cell is of this kind: a contact says that the cut went below the field's limit */
    TW_CELL_BLADE,
    TW_CELL_PAD,
    TW_CELL_PIN,
    TW_CELL_CLAMP,
    TW_CELL_BODY, /* any other part of the fixture */
    TW_CELL_KINDS
};

struct tw_field {
    double x_mm, y_mm;        /* the corner of the grid with the smallest coordinates */
    double cell_mm;           /* side of a cell */
    double bottom_mm;         /* the stock reaches down to here; nothing is cut below it */
    int columns, rows;        /* along x, along y; a cell's index is row * columns + column */
    float *stock_mm;          /* top of the stock; -INFINITY where there is none */
    float *keep_mm;           /* top of what must not be touched; -INFINITY where there is nothing; NULL: nowhere */
    unsigned char *keep_kind; /* an enum tw_cell_kind, where keep_mm says that something is there */
    float *limit_mm;          /* lowest height the stock may be cut to; NULL until tw_field_set_limit() */

    /* kept by the functions below */
    int *stock_from, *stock_to; /* columns of each row that hold stock */
    int column_from, column_to; /* columns that hold anything */
    float *keep_tiles_mm;       /* highest keep_mm of every so many columns */
    float *stock_tiles_mm;      /* no stock_mm of theirs is higher */
    int tile_count;
    double stock_high_mm, keep_high_mm;
};

/* A height that changes evenly: z = z_mm + slope_x x + slope_y y. */
struct tw_height_plane {
    double z_mm, slope_x, slope_y;
};

/* An empty field of at most 2^27 cells, over x_mm .. x_mm + columns cell_mm and so on. TW_BAD_USAGE,
 * TW_NO_MEMORY. */
enum tw_status tw_field_new(double x_mm, double y_mm, double cell_mm, int columns, int rows, double bottom_mm,
                            struct tw_field *out, struct tw_findings *findings);
void tw_field_free(struct tw_field *field);

/* Stock up to `top` in every cell whose centre lies inside an odd number of the rings (so holes are rings
 * too). */
enum tw_status tw_field_add_stock(struct tw_field *field, const struct tw_ring *rings, size_t ring_count,
                                  struct tw_height_plane top, struct tw_findings *findings);

/* Every stock cell gets the height that `top_mm` gives for its middle's x: a blank that is not flat. To be followed by
 * tw_field_refresh(). */
void tw_field_shape_stock(struct tw_field *field, double (*top_mm)(const void *context, double x_mm),
                          const void *context);

/* The same for what must not be touched. Where two things stand in one cell, the higher one counts. */
enum tw_status tw_field_add_keep_out(struct tw_field *field, const struct tw_ring *rings, size_t ring_count,
                                     enum tw_cell_kind kind, struct tw_height_plane top, struct tw_findings *findings);

/* Nothing is to be kept clear of yet, but keep_mm and keep_kind may be written. */
enum tw_status tw_field_begin_keep(struct tw_field *field, struct tw_findings *findings);

/* The lowest height allowed inside the rings, NULL: everywhere. A later call may lower or raise a part (a
 * relief). */
enum tw_status tw_field_set_limit(struct tw_field *field, const struct tw_ring *rings, size_t ring_count,
                                  struct tw_height_plane limit, struct tw_findings *findings);

/* To be called after the arrays were written directly. */
void tw_field_refresh(struct tw_field *field);

/* The same, quicker, when only stock was written, or only what must not be touched and that in the rows row_from..row_to-1;
 * columns that held something before may still be looked at. */
void tw_field_refresh_stock(struct tw_field *field);
void tw_field_refresh_keep(struct tw_field *field, int row_from, int row_to);

/* Stock above bottom_mm. */
double tw_field_volume_mm3(const struct tw_field *field);

enum tw_body_shape { TW_BODY_DISC, TW_BODY_CUP };

struct tw_wheel_body {
    enum tw_body_shape shape;
    double radius_mm;      /* outer, > 0 */
    double width_mm;       /* disc: along its axis, > 0 */
    double rim_mm;         /* cup: width of its rim; the radius: a flat face without hollow */
    double hollow_mm;      /* cup: depth of the hollow inside the rim */
    double nose_radius_mm; /* 0: no nose */
    double nose_start_mm;  /* cup: height of the nose above the rim's face; disc: its distance from mid-width */
    int nose_side;         /* disc: 1: the nose lies on the side of +y, -1: of -y */
};

/* What happened within one piece of a motion. */
struct tw_slice {
    double from, to;    /* as fractions of the motion, 0..1 */
    double volume_mm3;  /* removed meanwhile */
    double depth_mm;    /* greatest true depth of the cut at any cell being cut */
    double contact_mm2; /* plan area that was cut; by a disc: where the cut was finished */
    double width_mm;    /* contact area over the length of the slice; 0 for a motion straight up or down */
};

struct tw_touch {
    double depth_mm;   /* how far the wheel went into it; 0: no contact */
    double x_mm, y_mm; /* the cell of the greatest depth */
    double z_mm;       /* the wheel's lowest point there */
    long cells;
};

struct tw_removal {
    double volume_mm3;
    double depth_mm; /* greatest of the slices */
    double width_mm; /* greatest of the slices */
    long cells;      /* cells cut; for a cup that descends, a cell cut by both edges of the rim counts twice */
    double x_from_mm, x_to_mm, y_from_mm, y_to_mm; /* the cells cut lie within; only set when cells > 0 */
    /* Cells that became lower, be it by a rounding, lie within; only set when volume_mm3 > 0. */
    double lower_x_from_mm, lower_x_to_mm, lower_y_from_mm, lower_y_to_mm;
    struct tw_touch contacts[TW_CELL_KINDS];
    const struct tw_slice *slices; /* owned by the sweep, in their order */
    size_t slice_count; /* 0 when nothing was removed; a chord of an arc that removed nothing has no slices */
};

struct tw_sweep; /* a wheel at work on a field: working space only */

/* `slice_mm` is the wanted length of a slice; at least a cell. The field must outlive the sweep and keep
 * its size. TW_BAD_USAGE for a body or a slice that makes no sense. Release with tw_sweep_free(). */
enum tw_status tw_sweep_new(struct tw_field *field, const struct tw_wheel_body *body, double slice_mm,
                            struct tw_sweep **out, struct tw_findings *findings);
void tw_sweep_free(struct tw_sweep *sweep);

/* Grinds along a straight motion of the programmed point. *out is valid until the next call on this sweep.
 * TW_NO_MEMORY, and TW_BAD_USAGE when a coordinate is not a number. */
enum tw_status tw_sweep_line(struct tw_sweep *sweep, const double from_mm[3], const double to_mm[3],
                             struct tw_removal *out, struct tw_findings *findings);

/* A field that is ground by the same motions as another, one motion behind it: of blanks that differ in thickness alone, once
 * their tops are off. */
struct tw_twin;

/* Compares the fields of both sweeps as they are now; from here on they may only be changed by motions. Release with
 * tw_twin_free(), before the sweeps. */
enum tw_status tw_twin_new(struct tw_sweep *own, const struct tw_sweep *leader, struct tw_twin **out,
                           struct tw_findings *findings);
void tw_twin_free(struct tw_twin *twin);

/* The same as tw_sweep_line() with the own sweep, after the leader's tw_sweep_line() along what may be the same motion has found
 * `found`: taken over where it would be the same. *out is valid until the next call on either sweep. */
enum tw_status tw_twin_line(struct tw_twin *twin, const double from_mm[3], const double to_mm[3],
                            const struct tw_removal *found, struct tw_removal *out, struct tw_findings *findings);

/* An arc or helix: turns from start_angle_rad by sweep_rad (positive: from the first axis towards the second)
 * about the centre, the radius changing evenly; the third axis rises evenly. */
struct tw_sweep_arc {
    int first_axis, second_axis, normal_axis; /* 0 x, 1 y, 2 z */
    double centre_mm[3];                      /* along the normal axis: that of the start */
    double start_radius_mm, end_radius_mm;
    double start_angle_rad, sweep_rad, rise_mm;
};

/* Grinds along chords that are never farther than `error_mm` (> 0) from the arc, on its inner side. */
enum tw_status tw_sweep_arc(struct tw_sweep *sweep, const struct tw_sweep_arc *arc, double error_mm,
                            struct tw_removal *out, struct tw_findings *findings);

/* The same contacts as tw_sweep_line() would find with this body, but nothing is cut. To ask for a clearance,
 * ask with a body that is larger by it and a path that is lower by it. */
enum tw_status tw_sweep_probe(struct tw_sweep *sweep, const struct tw_wheel_body *body, const double from_mm[3],
                              const double to_mm[3], struct tw_removal *out, struct tw_findings *findings);

#endif
