/* history.h - the temperatures of one part in the course of a program: what earlier passes have left in the tang, and
 * the flash of each pass on top of it.
 *
 * Model   The tang and the first of the blade are a plate (plate.h) that each pass heats along its way and that cools
 *         between. A pass is judged by the temperature that the earlier passes have left where it cuts, plus its own
 *         flash (heat.h) with the factors for an edge that the wheel runs off and for the thin plate. What the pass in
 *         hand puts into the plate counts for the next ones: counted twice, the answer would depend on the cell size.
 *         With a reserve of energy the history is that of the energy with it. What is expected without follows from it: conduction is
 *         linear, so what the tang has above ambient then is to what it has here as the heats that it holds; pass by pass
 *         that ratio hardly changes, for only chips, boiling and a spent flow of coolant do not grow with the energy.
 *         Every cell of the plate also keeps count of what its face has been through, as the Hollomon-Jaffe parameter
 *         (temper.h) by both constants: each flash as if it held its peak for as long as the wheel is in contact, and
 *         as if no later pass took the heated skin off; and the bulk. Both err to the safe side.
 * Frame   setup frame; mm, s, degC, W, J.
 * Memory  tw_history_open() makes all that is needed; release it with tw_history_close().
 * Errors  TW_BAD_INPUT, TW_NO_MEMORY. */
#ifndef TANGWRIGHT_HISTORY_H
#define TANGWRIGHT_HISTORY_H

#include "tangwright/equipment.h"
#include "tangwright/findings.h"
#include "tangwright/heat.h"
#include "tangwright/outline.h"
#include "tangwright/plate.h"
#include "tangwright/temper.h"

#include <stdbool.h>
#include <stddef.h>

/* Side of the plate's cells, unless the part says otherwise. */
#define TW_HISTORY_CELL_MM 2.0

/* How much of the blade counts as heat sink, at the least. */
#define TW_HISTORY_BLADE_MM 40.0

/* And of a blank that is ground from so far ahead of the taper start: half as much again beyond that, to take up the heat. */
double tw_history_blade_mm(double ahead_mm);

/* Conductance under packing, as a part of that under a face that lies flat (300 against 1500 W/m2K dry, judgement). */
#define TW_HISTORY_PACKED_SHARE 0.2

/* The part as it lies in the setup frame. All borrowed, and only read during tw_history_open(). */
struct tw_history_part {
    const struct tw_outline *tang, *blade; /* blade: may be empty */
    double blank_mm;                       /* thickness of blank and blade */
    double underside_slope; /* the tang's underside rises by this per mm of x from `start_mm` on (side A ground) */
    double start_mm;        /* setup x of the taper start */
    double ahead_mm;        /* the underside rises from so far ahead of it on; below 0: behind it */
    bool packed;            /* packing under the tang */
    double cell_mm;         /* 0: TW_HISTORY_CELL_MM */
    const struct tw_ring *carried; /* inside these alone something carries the part; none: carried everywhere */
    size_t carried_count;
};

/* A stretch of a pass over which depth and width hardly change. */
struct tw_history_piece {
    double from_mm[2], to_mm[2]; /* of the programmed point, x and y */
    double low_mm, high_mm;      /* extent of the cut across the motion: y when it runs along x, else x */
    double depth_mm;             /* greatest true depth, for the flash */
    double mean_mm;              /* mean depth, for the share of the heat */
    double volume_mm3;           /* taken off, for all the heat; 0: mean depth over all the extent */
    double table_mm_per_s, wheel_mm_per_s;
    bool trails; /* a cup's trailing rim cuts: what it takes off lay inside the hollow */
    int tag;     /* the caller's: a line, a layer */
};

/* Which way it runs along x, +1 or -1; 0: across it. */
int tw_history_way(const struct tw_history_piece *piece);

/* The wheel's way of touching. */
struct tw_history_wheel {
    const struct tw_wheel *wheel;
    bool level_cup;  /* only the uphill edge cuts */
    double lean;     /* cup: of its rim over the face, towards rising x; tw_face_lean() */
    double shift_mm; /* disc: contact lies this far uphill of the programmed point */
};

/* The hottest of a pass as it is expected, without the reserve of energy. */
struct tw_history_expected {
    double degC, bulk_degC, rise_K;
    double edge_factor, plate_factor;
};

struct tw_history_peak {
    double degC;      /* bulk + flash; ambient when nothing was cut */
    double bulk_degC; /* what earlier passes had left there */
    double rise_K;    /* flash with its factors */
    double edge_factor, plate_factor;
    bool boiled;
    int tag;
    double place_mm[2];
    double contact_s;                                /* for which a spot is in contact with the wheel */
    double depth_mm, table_mm_per_s, wheel_mm_per_s; /* of the cut there */
    int way;                                         /* of the motion there: along x, +1 or -1; 0: across it */
    double highest_bulk_degC; /* of the tang as the pass began, and of what it left behind itself */
    double dry_degC;          /* hottest that any of the pass would be were there no film of coolant */
    double boiling_room_K;    /* from there to film boiling where the pass is nearest to it; see tw_hot_spot */
    double film_times;        /* times the wheel's own specific energy at which the film begins to boil */
    double film_least_times;  /* the same of the film at the lower end of its range */
    double least_degC;        /* hottest with the wheel's own energy where the film is at that end */
    double least_bulk_degC;   /* highest_bulk_degC then */
    struct tw_history_expected expected;
};

/* Of nothing: below all that any pass may find. */
struct tw_history_peak tw_history_no_peak(void);

struct tw_history;

enum tw_status tw_history_open(const struct tw_history_part *part, const struct tw_history_wheel *wheel,
                               const struct tw_steel *steel, const struct tw_coolant *coolant, struct tw_history **out,
                               struct tw_findings *findings);
void tw_history_close(struct tw_history *history);

/* The wheel grinds with `times` its own specific energy; 1 from the start. To be said before anything is cut; tw_history_copy()
 * does not copy it. */
void tw_history_set_energy(struct tw_history *history, double times);

/* A temperature of the tang as it is expected where it is `degC` with the reserve. */
double tw_history_expected_degC(const struct tw_history *history, double degC);

/* The same with the wheel's own energy where the coolant's film was at the lower end of its range all the time. Tempering counts the
 * hotter of that and what is with the reserve. */
double tw_history_least_film_degC(const struct tw_history *history, double degC);

/* From now on the bulk is the hottest of what lies under the wheel or within this of it; 0 from the start. For a planner, whose
 * motions may be found to cut so much wider by another field: then what it says is no less than what is found there, although a
 * band that only touches a warm cell is as hot as one that covers it. tw_history_copy() does not copy it. */
void tw_history_look_wider(struct tw_history *history, double wider_mm);

/* Whether what the face goes through is counted, as it is from the start. A history that is only asked for temperatures need
 * not, which takes time. To be said before anything is cut. */
void tw_history_count_tempering(struct tw_history *history, bool counted);

/* Time in which nothing is cut. */
enum tw_status tw_history_wait(struct tw_history *history, double time_s, struct tw_findings *findings);

/* One pass: its pieces one after the other. *peak is the hottest of this pass. */
enum tw_status tw_history_pass(struct tw_history *history, const struct tw_history_piece *pieces, size_t count,
                               struct tw_history_peak *peak, struct tw_findings *findings);

/* The face now lies at z = z_mm + slope_x x over the datum pad, wherever it was higher. */
enum tw_status tw_history_set_face(struct tw_history *history, double z_mm, double slope_x,
                                   struct tw_findings *findings);

/* The same, asked place by place: what is left of the thickness at x, y; cells whose answer is not above 0 stay. */
typedef double (*tw_history_left)(void *context, double x_mm, double y_mm);
enum tw_status tw_history_set_left(struct tw_history *history, tw_history_left left_mm, void *context,
                                   struct tw_findings *findings);

/* The same where all that was ground since the last call lies within the box. */
struct tw_history_box {
    double x_from_mm, x_to_mm, y_from_mm, y_to_mm;
};
enum tw_status tw_history_set_left_in(struct tw_history *history, const struct tw_history_box *box,
                                      tw_history_left left_mm, void *context, struct tw_findings *findings);

/* Makes `to` the same as `from`; both opened for the same part. */
enum tw_status tw_history_copy(struct tw_history *to, const struct tw_history *from);

/* Another history, the same as `from` in all; the plate factors that `from` uses must outlive it. NULL: no memory. Release it with
 * tw_history_close(). */
struct tw_history *tw_history_another(const struct tw_history *from);

/* Lets `history` use, and add to, plate factors of its steel that must outlive it; heat/factors.h. */
struct tw_factors;
void tw_history_borrow(struct tw_history *history, struct tw_factors *factors);

double tw_history_clock_s(const struct tw_history *history);

/* Hottest bulk now, and since the start: as passes began, behind the wheel, and after them. */
double tw_history_bulk_degC(const struct tw_history *history);
double tw_history_highest_bulk_degC(const struct tw_history *history);

/* ---- tempering ---- */

/* What the face's most tempered spot has been through, the pass just done included. Short of a number everywhere
 * (tw_temper_limit) it is given as the temperature that would have done as much in the time of the own tempering. */
struct tw_tempering {
    double constants[2]; /* of Hollomon and Jaffe: TW_TEMPER_CONSTANT, the steel's own */
    double parameter[2]; /* P by each */
    double equivalent_degC[2];
    double allowed_degC; /* for the larger of the two */
    double place_mm[2];
    double hottest_degC;       /* hottest flash there; ambient: none */
    double contact_s, flashes; /* that long, and as many of it as add up to all that has been */
    double softened_mm;        /* depth of the skin under that flash that is tempered farther than allowed */
    double left_mm;            /* of it, what has not been ground off since */
    double lost_HRC; /* of the face's hardness, on top of its own tempering; by the steel's own slope, 0 if not known */
};

void tw_history_tempering(const struct tw_history *history, const struct tw_temper_limit *limit,
                          struct tw_tempering *out);

/* The temperature that would have done as much, by whichever constant makes it higher, at the most tempered spot as far as
 * passes are counted: the one just done is not. Cheap enough to be asked after every pass. */
double tw_history_tempered_degC(const struct tw_history *history, const struct tw_temper_limit *limit,
                                double place_mm[2]);

/* The cells of the plate, and the hottest that the face of one has been: flash and bulk together. NaN where no pass
 * went over steel. For drawing. */
struct tw_history_grid {
    double x_mm, y_mm, cell_mm; /* corner of cell (0, 0) */
    size_t columns, rows;
};
struct tw_history_grid tw_history_grid(const struct tw_history *history);
double tw_history_hottest_degC(const struct tw_history *history, size_t column, size_t row);

struct tw_plate_energy tw_history_energy(const struct tw_history *history);

/* The plate, for drawing. Borrowed. */
const struct tw_plate *tw_history_plate(const struct tw_history *history);

#endif
