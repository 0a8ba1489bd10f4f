/* sweep.h - what the files of the removal share: the parts of a wheel, one motion, and what came of it. */
#ifndef TANGWRIGHT_REMOVAL_SWEEP_H
#define TANGWRIGHT_REMOVAL_SWEEP_H

#include "removal/field.h"
#include "removal/kernel.h"

enum { REMOVAL_PARTS = 3 };

/* One simple solid of the wheel, standing on its lowest points and open above. */
struct removal_part {
    bool round; /* a cylinder with its axis along y; else an upright ring */
    bool cuts;
    double radius_mm;          /* outer */
    double inner_mm;           /* ring: radius of its hole */
    double y_from_mm, y_to_mm; /* round: its ends, counted from the programmed point */
    double lift_mm;            /* height of its lowest point above the programmed point */
};

/* How the time of a cut follows from the slot it was put in. */
enum removal_spread {
    REMOVAL_AT_ONCE, /* at the slot's time */
    REMOVAL_EVENLY,  /* ever since the wheel, sinking, was `depth` higher */
    REMOVAL_ROLLING  /* since a disc rolling towards the cell reached it: the chord of the depth */
};

struct removal_set {
    struct removal_slots slots;
    int from, to;           /* slots in use */
    double first_t, step_t; /* a slot's time: first_t + slot * step_t, as a fraction of the motion */
    enum removal_spread spread;
};

/* A rectangle of cells; from > to: none. */
struct removal_cells {
    int row_from, row_to, column_from, column_to;
};

struct tw_sweep {
    struct tw_field *field;
    struct removal_part parts[REMOVAL_PARTS];
    int part_count;
    double slice_mm;
    float *floor_mm;     /* lowest height of the wheel over the cells of one row */
    float *clamped_mm;   /* the same, never below the field's bottom */
    int slot_count, pad; /* slot of column c: c + pad */
    struct removal_set sets[2];
    struct tw_slice *slices;
    size_t slice_count, slice_capacity;

    /* the motion in hand */
    double from_mm[3], to_mm[3], step_mm[3];
    double across_mm; /* its length seen from above */
    double low_mm;    /* z of its lower end */
    bool probing;     /* look, do not cut */
    bool cut;
    int way_slots;                         /* ring going aslant: slots are so many equal parts of the way */
    double cells_since_look;               /* cut since the field's height was looked at */
    struct removal_cells touched, lowered; /* the cells cut; and those lowered at all, with some between */
    long cells;
    struct tw_touch contacts[TW_CELL_KINDS];
};

/* Takes the wheel apart; false when its measures make no sense. */
bool removal_take_apart(const struct tw_wheel_body *body, struct removal_part parts[REMOVAL_PARTS], int *count);

/* Sweeps one part along the motion in hand. */
void removal_sweep_round(struct tw_sweep *sweep, const struct removal_part *part);
void removal_sweep_ring(struct tw_sweep *sweep, const struct removal_part *part);

/* Where the row at y crosses the plan of a disc of this radius that goes along the motion in hand; left > right: nowhere. */
void removal_ring_span(const struct tw_sweep *sweep, double radius_mm, double y_mm, double *left, double *right);

/* The cells from..to-1 of a row under sweep->floor_mm[0..]: what the part touches, and what it cuts. `slot`
 * is the slot of the first cell. `whole`: floor_mm is the lowest over the whole motion, so contacts are
 * judged by it. */
void removal_run(struct tw_sweep *sweep, const struct removal_part *part, int row, int from, int to, bool whole,
                 struct removal_set *set, int slot);

/* Some neighbouring cells of a row, as one view of a motion finds them. */
enum { REMOVAL_VISIT = 32 };
struct removal_visit {
    double floor_mm[REMOVAL_VISIT]; /* lowest height of the wheel over each */
    int slot[REMOVAL_VISIT];        /* -1: it does not come over the cell */
    bool whole;
    struct removal_set *set;
};

/* The same for `cells` of them, one after the other; what is no higher than low_mm is left alone. */
void removal_visit(struct tw_sweep *sweep, const struct removal_part *part, int row, int column, int cells,
                   float low_mm, const struct removal_visit *visit);

/* The same for the cells from..to-1 where the wheel is at one height and all goes to one slot. */
void removal_level(struct tw_sweep *sweep, const struct removal_part *part, int row, int from, int to, double floor_mm,
                   bool whole, struct removal_set *set, int slot);

/* The first of the cells from..to-1 of a row where stock or what must not be touched stands above low_mm; `to` if nothing
 * does. What is found to be lower is remembered by tiles. */
int removal_next_standing(struct tw_field *field, int row, int from, int to, float low_mm);

/* Columns or rows whose centres lie within from_mm..to_mm, as a half-open range within the field. */
void removal_columns(const struct tw_field *field, double from_mm, double to_mm, int *from, int *to);
void removal_rows(const struct tw_field *field, double from_mm, double to_mm, int *from, int *to);

/* Turns the slots of the motion in hand into slices that cover from..to of the whole, and clears the slots. */
enum tw_status removal_slice(struct tw_sweep *sweep, double from, double to, struct tw_findings *findings);

#endif
