/* history_parts.h - what the files of the history share; nobody else needs to look inside. */
#ifndef TANGWRIGHT_HEAT_HISTORY_PARTS_H
#define TANGWRIGHT_HEAT_HISTORY_PARTS_H

#include "heat/factors.h"
#include "tangwright/history.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* A cup's rim touches along an arc; it heats the plate in this many strips, each where its piece of the arc is. */
#define STRIPS 8

/* The strips of heat of a piece: at its start, with their motion. */
struct tw_history_strips {
    struct tw_plate_band bands[STRIPS];
    int count;
};

/* What the face has been through in one cell. */
struct tw_history_spot {
    double parameter[2];
    double pass_degC, pass_s, pass_level_mm; /* of the pass not counted yet: hottest, how long, face it left */
    double seen_degC; /* hottest so far with the reserve; all else here also as it would be with the least film */
    double hottest_degC, contact_s, contact_mm, bulk_degC, level_mm; /* hottest flash so far */
};

struct tw_history {
    struct tw_plate *plate, *ghost; /* ghost: the plate without the pass in hand */
    struct tw_history_wheel wheel;
    double energy;         /* times the wheel's own */
    double expected_share; /* of a rise of the tang that is expected with the wheel's own */
    double least_share;    /* the same where the film is at the lower end of its range */
    double stored_J;       /* in the steel when the pass in hand began, and what it has put there since */
    double wider_mm;       /* all around a band, where it is asked how warm the plate is under it */
    struct tw_steel steel;
    struct tw_coolant coolant;
    struct tw_plate_grid grid; /* its arrays are ours */
    double *thickness_mm, *filled, *joint;
    double underside_slope, start_mm;         /* of the tang's underside, and where it begins to rise */
    struct tw_factors *own_factors, *factors; /* of the thin plate; those in use may be lent */
    double back_W_per_mm2_K;                  /* out of its other face */
    double ghost_behind_s;                    /* time by which the ghost follows the plate */
    unsigned long long shape, ghost_shape;    /* the same for plates ground alike */
    struct tw_plate_cells ground;             /* the cells that differ from the ghost's are among these */
    struct tw_history_spot *spots;
    double constants[2];                    /* of Hollomon and Jaffe */
    double pass_contact_mm, pass_bulk_degC; /* of the pass not counted yet */
    bool pass_open;
    struct tw_plate_cells passed; /* it went over some of these */
    bool tempers;                 /* what the face goes through is counted */
    double bulk_counted_s;        /* clock up to which the bulk is counted */
    double clock_s, highest_bulk_degC;
    double cooled_s;   /* since the last pass */
    double most[2];    /* the highest parameter of any spot by each constant, as far as passes are counted */
    size_t most_at[2]; /* and the cell */
    double owed_J;     /* heat that found no steel yet */
    struct tw_history_strips behind; /* the piece before the one in hand, of this pass */
    double behind_s;                 /* its duration; 0: none */
};

/* ---- cells ---- */

static inline struct tw_plate_cells tw_no_cells(void)
{
    return (struct tw_plate_cells){ SIZE_MAX, 0, SIZE_MAX, 0 };
}

static inline struct tw_plate_cells tw_all_cells(const struct tw_history *history)
{
    return (struct tw_plate_cells){ 0, history->grid.nx, 0, history->grid.ny };
}

static inline size_t lesser(size_t a, size_t b)
{
    return a < b ? a : b;
}

static inline size_t greater(size_t a, size_t b)
{
    return a > b ? a : b;
}

static inline struct tw_plate_cells tw_both_cells(struct tw_plate_cells a, struct tw_plate_cells b)
{
    return (struct tw_plate_cells){ lesser(a.from_i, b.from_i), greater(a.to_i, b.to_i), lesser(a.from_j, b.from_j),
                                    greater(a.to_j, b.to_j) };
}

/* ---- strips: history_strips.c ---- */

/* Length of contact of a cut so deep. */
double tw_strips_contact_mm(const struct tw_history *history, const struct tw_history_piece *piece, double depth_mm);

/* The strips without their heat; they end after `duration_s`. */
void tw_strips_place(const struct tw_history *history, const struct tw_history_piece *piece, double contact_mm,
                     double duration_s, struct tw_history_strips *out);

/* The hottest of a plate under the strips between two times, or as far about them as is looked; ambient where there is no steel. */
struct tw_plate_hottest tw_strips_hottest(const struct tw_history *history, const struct tw_plate *plate,
                                          const struct tw_history_strips *strips, double from_s, double to_s);

/* ---- spots: history_spots.c ---- */

/* A flash with the reserve, and with the wheel's own energy and the least film. */
struct tw_history_rise {
    double reserve_K, least_K;
};

/* Notes in every cell under the strips between two times that the face was so much hotter than the plate there. */
void tw_spots_mark(struct tw_history *history, const struct tw_history_piece *piece,
                   const struct tw_history_strips *strips, double from_s, double to_s, struct tw_history_rise rise);

/* Of a temperature of the tang, the hotter of what it is with the reserve and with the least film. */
double tw_history_hotter_degC(const struct tw_history *history, double degC);

/* The pass that is not counted yet, kept if it is the hottest of its spot. */
void tw_spots_keep_hottest(const struct tw_history *history, struct tw_history_spot *spot);

/* Counts the last pass as tempering: only when something follows it, so that passes tried and taken back cost nothing. */
void tw_spots_count_pass(struct tw_history *history);

/* Counts the bulk as it is now for all the time since the last count: after a pass it is at its hottest. */
void tw_spots_count_bulk(struct tw_history *history);

#endif
