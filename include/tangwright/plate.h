/* plate.h - how warm the whole tang gets: transient conduction in a thin plate with moving heat.
 *
 * Model   The plate is cut into square cells. Each holds the mean temperature over its thickness; heat runs
 *         to its four neighbours, through its top face to air or coolant, through its underside and the joint
 *         to the fixture, and out of its edges (outline, holes):
 *             capacity dU/dt = sum over neighbours of conductance (U' - U) - losses U + heat
 *         with U the rise over ambient. Thickness differs from cell to cell and shrinks as the plate is
 *         ground. Cells that the outline cuts are filled in part; a cell less than half filled joins its
 *         fullest neighbour. Properties of the steel are constant.
 *         Thickness/(3 k) stands in series with each face, the first term of the slab that cools
 *         (H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids, 2nd ed., 1959, 3.11): good to 1 % in
 *         the cooling rate up to h * thickness / k = 0.8.
 * Limits  The rise of the face under the wheel over the mean across the thickness is the flash, heat.h. A
 *         flash stands on what earlier passes have left: read the temperature before the heat of the pass
 *         is added, and where heat runs ahead of a slow wheel keep a tw_plate_copy() stepped without it.
 * Method  Finite volumes, second order in the cell size; in time the Runge-Kutta-Legendre scheme of second
 *         order, stable for any step (C. D. Meyer, D. S. Balsara, T. D. Aslam, J. Comput. Phys. 257, 594,
 *         2014), which needs nothing but the plain sum over neighbours. Long steps are divided inside as
 *         accuracy needs. A shock put into a single cell can make its neighbours undershoot by up to 4 % of
 *         it for a step; moving bands do not. Every joule is booked, so the balance closes to rounding.
 * Units   mm, s, W, J, K; W/(mm2 K) for surfaces. Cell (i, j) reaches from x + i*cell to x + (i+1)*cell,
 *         alike in y; arrays run along x first: index j*nx + i.
 * Memory  tw_plate_new() makes all that a plate will need; nothing else allocates. tw_plate_free() releases
 *         it.
 * Errors  TW_BAD_INPUT with one finding, TW_NO_MEMORY. On failure nothing has changed.
 * Threads One thread at a time per plate. */
#ifndef TANGWRIGHT_PLATE_H
#define TANGWRIGHT_PLATE_H

#include "tangwright/equipment.h"
#include "tangwright/findings.h"

#include <stddef.h>

struct tw_plate;

#define TW_PLATE_MOST_CELLS 16000000 /* nx * ny */

struct tw_plate_grid {
    size_t nx, ny;              /* >= 1 each */
    double cell_mm;             /* > 0 */
    double x_mm, y_mm;          /* corner of cell (0, 0) */
    const double *thickness_mm; /* nx*ny values >= 0; 0 counts as empty */
    const double *filled;       /* nx*ny fractions 0..1 of each cell that is steel; NULL: all full */
    /* nx*ny lengths >= 0 of outline inside each cell; NULL: found from `filled`, within some per cent where
     * it slants, the sides of the grid counting as edges. */
    const double *edge_mm;
    /* nx*ny conductances >= 0 below each cell; NULL: `joint` of the surroundings everywhere. */
    const double *joint_W_per_mm2_K;
};

struct tw_plate_surroundings {
    double top_W_per_mm2_K;   /* >= 0, over the face being ground */
    double joint_W_per_mm2_K; /* >= 0, underside to fixture */
    double edge_W_per_mm2_K;  /* >= 0, over edges and hole walls */
    double ambient_degC;      /* of coolant, air and fixture; also the plate's temperature at the start */
};

/* Top and joint of a coolant profile; edges are cooled like the top. */
struct tw_plate_surroundings tw_plate_surroundings(const struct tw_coolant *coolant);

/* The arrays of `grid` are only read during the call. */
enum tw_status tw_plate_new(const struct tw_plate_grid *grid, const struct tw_steel *steel,
                            const struct tw_plate_surroundings *around, struct tw_plate **out,
                            struct tw_findings *findings);

void tw_plate_free(struct tw_plate *plate);

/* Another plate, the same as `from`; NULL: no memory. Release it with tw_plate_free(). */
struct tw_plate *tw_plate_another(const struct tw_plate *from);

/* Makes `to` the same as `from` in temperature, thickness and books. Both must have been made from grids of
 * the same nx and ny, or TW_BAD_INPUT. */
enum tw_status tw_plate_copy(struct tw_plate *to, const struct tw_plate *from);

/* The same, quicker, for plates that agree in all but temperature, heat and books. */
enum tw_status tw_plate_copy_temperature(struct tw_plate *to, const struct tw_plate *from);

/* A rectangle of cells within the grid: from_i..to_i-1 of the rows from_j..to_j-1. */
struct tw_plate_cells {
    size_t from_i, to_i, from_j, to_j;
};

/* The same for plates that agreed in all but these until some of the cells of `from` were ground. */
enum tw_status tw_plate_copy_ground(struct tw_plate *to, const struct tw_plate *from, struct tw_plate_cells cells);

/* ---- Heat ---- */

/* A rectangle of heat, for example what a wheel covers; it may move. */
struct tw_plate_band {
    double from_x_mm, to_x_mm, from_y_mm, to_y_mm; /* where it is at its start */
    double x_mm_per_s, y_mm_per_s;                 /* how it moves */
    double start_s, end_s;                         /* when it heats, on the clock of tw_plate_run() */
    double flux_W_per_mm2;                         /* into the steel; where there is none it goes nowhere */
};

/* Adds W to the power that cell (i, j) receives during the next tw_plate_step(). Outside the grid or in an
 * empty cell it is booked as missed. */
void tw_plate_heat_cell(struct tw_plate *plate, size_t i, size_t j, double W);

/* Adds the mean power of `band` from `clock_s` to `clock_s + step_s` to the next step of that length. */
void tw_plate_heat_band(struct tw_plate *plate, const struct tw_plate_band *band, double clock_s, double step_s);

/* All the power added for the next step so far; and takes it back. */
double tw_plate_power_W(const struct tw_plate *plate);
void tw_plate_forget_power(struct tw_plate *plate);

/* One step of any length > 0 under the power added since the last one, which is then forgotten. A step of
 * zero or less, and power that is not finite, are TW_BAD_INPUT. To resolve a moving band let it move a few
 * cells per step. */
enum tw_status tw_plate_step(struct tw_plate *plate, double step_s, struct tw_findings *findings);

/* How much of its heat the quickest cell may lose within a part of a step: 0.1 unless said otherwise, good to a thousandth.
 * With 0.2 what is left of a rise errs by a quarter of a per cent, upwards. */
void tw_plate_set_loss_per_step(struct tw_plate *plate, double share);

/* Without heat for time_s > 0; cooled_s >= 0: for so long it has cooled already since it was last heated, so that steps may be
 * longer. TW_BAD_INPUT otherwise, or with power added. */
enum tw_status tw_plate_cool(struct tw_plate *plate, double time_s, double cooled_s, struct tw_findings *findings);

/* Steps from from_s to to_s in equal steps of at most step_s under all the bands. */
enum tw_status tw_plate_run(struct tw_plate *plate, const struct tw_plate_band *bands, size_t band_count, double from_s,
                            double to_s, double step_s, struct tw_findings *findings);

/* ---- Changes ---- */

/* All steel at this temperature, books begun anew. */
void tw_plate_set_temperature(struct tw_plate *plate, double degC);

/* New thickness of every cell, nx*ny values, none thicker than before (a relative 1e-9 is forgiven). The heat
 * of what was taken off leaves with the chips and is booked. */
enum tw_status tw_plate_set_thickness(struct tw_plate *plate, const double *thickness_mm, struct tw_findings *findings);

/* The same where only these cells have changed; the other values, also nx*ny in all, are not looked at. */
enum tw_status tw_plate_set_thickness_of(struct tw_plate *plate, struct tw_plate_cells cells,
                                         const double *thickness_mm, struct tw_findings *findings);

/* Another coolant or fixture: from now on these conductances (a per-cell joint stays) and this ambient. */
enum tw_status tw_plate_set_surroundings(struct tw_plate *plate, const struct tw_plate_surroundings *around,
                                         struct tw_findings *findings);

/* ---- Answers ---- */

double tw_plate_degC(const struct tw_plate *plate, size_t i, size_t j); /* ambient for an empty cell */

/* nx*ny temperatures; ambient for empty cells. */
void tw_plate_temperatures(const struct tw_plate *plate, double *degC);

struct tw_plate_hottest {
    double degC;       /* ambient if there is no steel there */
    double x_mm, y_mm; /* middle of that cell */
};

/* The hottest cell that the rectangle touches. */
struct tw_plate_hottest tw_plate_hottest(const struct tw_plate *plate, double from_x_mm, double to_x_mm,
                                         double from_y_mm, double to_y_mm);

/* Of the whole plate; never below the ambient temperature. */
double tw_plate_highest_degC(const struct tw_plate *plate);

/* Since the start or the last tw_plate_set_temperature(). Stored heat counts from the ambient temperature. */
struct tw_plate_energy {
    double start_J; /* stored at the start, and by changes of the ambient */
    double heat_J;  /* put in */
    double top_J;   /* lost, as are the next two; their sum is exact, it is divided as at the end of a step */
    double joint_J;
    double edge_J;
    double chips_J;     /* left with ground-off steel */
    double stored_J;    /* in the plate now */
    double missed_J;    /* aimed where no steel is; part of none of the others */
    double imbalance_J; /* start + heat - losses - chips - stored: rounding */
};

struct tw_plate_energy tw_plate_energy(const struct tw_plate *plate);

/* Stored now by what came in and was lost, without a look at the cells: the same but for rounding. */
double tw_plate_booked_J(const struct tw_plate *plate);

/* Cells times stages of the time scheme done so far: the work, for measuring speed. */
double tw_plate_cell_updates(const struct tw_plate *plate);

#endif
