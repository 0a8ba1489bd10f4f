/* plate_parts.h - what the files of the plate share; nobody else needs to look inside.
 *
 * Arrays hold stride * (ny + 2) cells: an empty row before the first and after the last and at least one empty
 * cell at the end of each row, which is also the left neighbour of the next row's first, save every loop its
 * special cases. Cell (i, j) is at (j + 1) * stride + i.
 * Rows are cut into strips of LANES columns. A row holds an odd number of them, so that the rows of a strip
 * spread over the whole cache. */
#ifndef TANGWRIGHT_HEAT_PLATE_PARTS_H
#define TANGWRIGHT_HEAT_PLATE_PARTS_H

#include "base/numbers.h"
#include "tangwright/plate.h"

#include <math.h>
#include <stdbool.h>

/* A step may last this part z of the time in which the quickest cell loses its heat, unless the plate is asked for another.
 * The scheme's factor is then above exp(-z) by no more than z^3 (1/6 - (1/9) (s*s + s - 6)/(s*s + s - 2)): what is left of a
 * rise after that time errs by less than a thousandth, and to the safe side. */
#define LOSS_PER_STEP 0.1
/* Right after it was heated a plate has steep places, which want shorter steps; once they have gone, longer ones do, for what
 * is left is little: so long at first, then this part of the time that it has cooled for, and so long at most. */
#define LOSS_AT_FIRST  0.1
#define LOSS_AT_LAST   0.5
#define COOLING_GROWTH 0.5

/* The time scheme takes 3, 5, 7 and so on up to 13 stages per step; with s stages a step may last (s*s + s - 2)/4 times as
 * long as that of a plain explicit scheme. More stages would be cheaper still, but hardly resolve what
 * happens. */
#define MOST_STAGES      13
#define MOST_STAGES_GAIN 45.0

#define LANES      4
#define LANE_BYTES (LANES * sizeof(double)) /* arrays begin at multiples of this */

/* Neighbours in a row, as many as a strip is wide, at any place. */
typedef double tw_lanes __attribute__((vector_size(LANE_BYTES), aligned(sizeof(double)), may_alias));

#define LANES_AT(place)     (*(const tw_lanes *)(place))
#define PUT_LANES(place, v) (*(tw_lanes *)(place) = (v))

/* The loops over cells are compiled for wider vectors as well where the program can choose when it starts.
 * Cell by cell the arithmetic is the same, and so are the results. (That choice comes too early for
 * sanitizers.) */
#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__) && !defined(__SANITIZE_ADDRESS__)
#define LOOPS_IN_VECTORS __attribute__((optimize("O3"), target_clones("avx2", "default")))
#else
#define LOOPS_IN_VECTORS
#endif

/* Columns from..to - 1 of a row, or rows of a strip; steel that is there at the start, so it never grows. */
struct tw_plate_span {
    size_t from, to;
};

struct tw_plate {
    size_t nx, ny, stride, cells;
    double cell_mm, x_mm, y_mm;
    double conductivity; /* W/(mm K) */
    double heat_per_mm3; /* J/(mm3 K) */
    struct tw_plate_surroundings around;
    bool own_joint; /* joint_below holds */

    double *block;                     /* owns the following; they begin at its first multiple of LANE_BYTES */
    double *rise;                      /* K above ambient */
    double *stage_a, *stage_b;         /* of the time scheme: the rise since the start of the step, K */
    double *rate;                      /* of the rise at the start of the step, K/s */
    double *heat;                      /* W into each cell during the next step */
    double *to_right, *to_above;       /* W/K to the neighbours */
    double *top, *joint, *edge, *loss; /* W/K to the surroundings, and their sum */
    double *inverse_capacity;          /* K/J, 0 for empty cells */
    double *thickness, *edge_length, *joint_below;
    double *filled;                       /* steel of a cell over a full one, with the slivers it hosts */
    double *steel;                        /* the part of each cell as given */
    double *column_overlap, *row_overlap; /* one row or column each */
    double *stiffest, *fastest_loss;      /* 1/s, the greatest of each row */

    size_t *host;                 /* the cell that holds the steel of each cell: itself, or a neighbour of a sliver */
    struct tw_plate_span *spans;  /* of each row, where there is steel; owns the next */
    struct tw_plate_span *strips; /* of each strip, the rows where there is steel */

    double loss_per_step;
    double explicit_step_s, loss_s; /* loss_s: the time in which the quickest cell loses its heat */
    double heat_W;                  /* the sum of `heat` */
    bool any_heat;                  /* some cell of `heat` may differ from 0 */
    double missed_W;                /* aimed at nothing during the next step */
    struct tw_plate_energy energy;  /* stored_J and imbalance_J are worked out on demand */
    double unbooked_J;              /* lost, and not shared out among the surfaces yet */
    int unbooked_steps;
    double updates;
};

static inline size_t tw_plate_at(const struct tw_plate *plate, size_t i, size_t j)
{
    return (j + 1) * plate->stride + i;
}

static inline size_t tw_plate_strips(const struct tw_plate *plate)
{
    return plate->stride / LANES;
}

/* The cell that holds the steel of cell (i, j). */
static inline size_t tw_plate_host(const struct tw_plate *plate, size_t i, size_t j)
{
    return plate->host[tw_plate_at(plate, i, j)];
}

static inline double tw_sum_of_lanes(const double *values)
{
    double sum = 0.0;

    for (int i = 0; i < LANES; i++)
        sum += values[i];
    return sum;
}

static inline bool tw_is_not_negative(double value)
{
    return value >= 0.0 && isfinite(value);
}

static inline bool tw_is_positive(double value)
{
    return value > 0.0 && isfinite(value); /* written this way round, NaN is refused too */
}

/* Conductances and longest steps from thickness, outline and surroundings. */
void tw_plate_fill_coefficients(struct tw_plate *plate);

/* The same after only these cells have become thinner. */
void tw_plate_refill_coefficients(struct tw_plate *plate, struct tw_plate_cells cells);

enum tw_status tw_plate_check_surroundings(const struct tw_plate_surroundings *around, struct tw_findings *findings);

/* One step of the time scheme over step_s > 0 with the heat as it stands; returns what is lost, in J. */
double tw_plate_advance(struct tw_plate *plate, double step_s);

/* Stored now, counted from ambient. */
double tw_plate_stored_J(const struct tw_plate *plate);

#endif
