/* history_make.c - the history of a part from its outline: the grid, how much of each cell is steel, memory. */
#include "heat/history_parts.h"

#include "geometry/ring.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Points along and across each cell that tell how much of it is steel. */
#define SAMPLES 8
/* See tw_plate_set_loss_per_step(). */
#define LOSS_PER_STEP 0.2

/* ---- the grid ---- */

/* Where an outline's edges cross one scan line, sorted: cheaper than asking for every point. */
struct crossings {
    double *x_mm;
    size_t count, capacity;
};

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

static void cross_ring(const struct tw_ring *ring, double y_mm, struct crossings *out)
{
    for (size_t i = 0, j = ring->count - 1; i < ring->count; j = i++) {
        const struct tw_point *a = &ring->points[i], *b = &ring->points[j];

        if ((a->y_mm > y_mm) != (b->y_mm > y_mm) && out->count < out->capacity)
            out->x_mm[out->count++] = (b->x_mm - a->x_mm) * (y_mm - a->y_mm) / (b->y_mm - a->y_mm) + a->x_mm;
    }
}

static size_t corners_of(const struct tw_outline *outline)
{
    size_t corners = outline->outer.count;

    for (size_t i = 0; i < outline->hole_count; i++)
        corners += outline->holes[i].count;
    return corners;
}

/* Adds this scan line's share of steel to each cell of row j. */
static void scan_row(struct tw_history *history, const struct tw_outline *outline, double y_mm, size_t j,
                     struct crossings *crossings)
{
    struct tw_plate_grid *grid = &history->grid;

    crossings->count = 0;
    if (outline->outer.count > 0)
        cross_ring(&outline->outer, y_mm, crossings);
    for (size_t i = 0; i < outline->hole_count; i++)
        cross_ring(&outline->holes[i], y_mm, crossings);
    qsort(crossings->x_mm, crossings->count, sizeof *crossings->x_mm, by_value);
    for (size_t k = 0; k + 1 < crossings->count; k += 2) {
        double from = (crossings->x_mm[k] - grid->x_mm) / grid->cell_mm;
        double to = (crossings->x_mm[k + 1] - grid->x_mm) / grid->cell_mm;

        for (double i = fmax(0.0, floor(from)); i < fmin((double)grid->nx, to); i += 1.0) {
            double part = fmin(to, i + 1.0) - fmax(from, i);

            history->filled[j * grid->nx + (size_t)i] += fmax(0.0, part) / SAMPLES;
        }
    }
}

static bool fill_cells(struct tw_history *history, const struct tw_history_part *part)
{
    struct tw_plate_grid *grid = &history->grid;
    size_t corners = corners_of(part->tang) + corners_of(part->blade);
    struct crossings crossings = { malloc((corners + 1) * sizeof(double)), 0, corners };

    if (!crossings.x_mm)
        return false;
    for (size_t j = 0; j < grid->ny; j++) {
        for (int s = 0; s < SAMPLES; s++) {
            double y_mm = grid->y_mm + ((double)j + (s + 0.5) / SAMPLES) * grid->cell_mm;

            scan_row(history, part->tang, y_mm, j, &crossings);
            scan_row(history, part->blade, y_mm, j, &crossings);
        }
    }
    free(crossings.x_mm);
    for (size_t k = 0; k < grid->nx * grid->ny; k++)
        history->filled[k] = fmin(1.0, history->filled[k]);
    return true;
}

static bool is_carried(const struct tw_history_part *part, double x_mm, double y_mm)
{
    for (size_t i = 0; i < part->carried_count; i++)
        if (tw_ring_contains(&part->carried[i], x_mm, y_mm))
            return true;
    return part->carried_count == 0;
}

/* Of the cell whose corner is at x, y. */
static double carried_share(const struct tw_history_part *part, double x_mm, double y_mm, double cell_mm)
{
    int carried = 0;

    for (int k = 0; k < SAMPLES * SAMPLES; k++)
        carried += is_carried(part, x_mm + (k % SAMPLES + 0.5) / SAMPLES * cell_mm,
                              y_mm + ((double)(k / SAMPLES) + 0.5) / SAMPLES * cell_mm);
    return (double)carried / (SAMPLES * SAMPLES);
}

static void set_thickness(struct tw_history *history, const struct tw_history_part *part)
{
    struct tw_plate_grid *grid = &history->grid;
    double joint = history->coolant.joint_conductance_W_per_mm2_K;

    for (size_t j = 0; j < grid->ny; j++) {
        for (size_t i = 0; i < grid->nx; i++) {
            size_t k = j * grid->nx + i;
            double along_mm = grid->x_mm + ((double)i + 0.5) * grid->cell_mm - part->start_mm + part->ahead_mm;

            history->thickness_mm[k] = part->blank_mm - fmax(0.0, along_mm) * part->underside_slope;
            history->joint[k] = part->packed && along_mm > 0.0 ? joint * TW_HISTORY_PACKED_SHARE : joint;
            if (part->carried_count > 0)
                history->joint[k] *= carried_share(part, grid->x_mm + (double)i * grid->cell_mm,
                                                   grid->y_mm + (double)j * grid->cell_mm, grid->cell_mm);
        }
    }
    /* A pass meets steel that hangs free as well as steel that is carried. */
    history->back_W_per_mm2_K = part->carried_count > 0 ? 0.0 : part->packed ? joint * TW_HISTORY_PACKED_SHARE : joint;
}

double tw_history_blade_mm(double ahead_mm)
{
    return fmax(TW_HISTORY_BLADE_MM, ahead_mm + TW_HISTORY_BLADE_MM / 2.0);
}

static void set_grid(struct tw_history *history, const struct tw_history_part *part)
{
    struct tw_box box = tw_ring_box(&part->tang->outer);
    struct tw_plate_grid *grid = &history->grid;

    if (part->blade->outer.count > 0) {
        struct tw_box blade = tw_ring_box(&part->blade->outer);

        box.min_x_mm = fmax(blade.min_x_mm, box.min_x_mm - tw_history_blade_mm(part->ahead_mm));
        box.min_y_mm = fmin(box.min_y_mm, blade.min_y_mm);
        box.max_y_mm = fmax(box.max_y_mm, blade.max_y_mm);
    }
    grid->cell_mm = part->cell_mm > 0.0 ? part->cell_mm : TW_HISTORY_CELL_MM;
    /* Cell borders at the taper start, so that the tang's first cells are whole. */
    grid->x_mm = part->start_mm + floor((box.min_x_mm - part->start_mm) / grid->cell_mm) * grid->cell_mm;
    grid->y_mm = box.min_y_mm;
    grid->nx = (size_t)fmax(1.0, ceil((box.max_x_mm - grid->x_mm) / grid->cell_mm));
    grid->ny = (size_t)fmax(1.0, ceil((box.max_y_mm - grid->y_mm) / grid->cell_mm));
}

static bool make_arrays(struct tw_history *history)
{
    size_t cells = history->grid.nx * history->grid.ny;

    history->thickness_mm = calloc(cells, sizeof(double));
    history->filled = calloc(cells, sizeof(double));
    history->joint = calloc(cells, sizeof(double));
    history->spots = calloc(cells, sizeof *history->spots);
    history->factors = history->own_factors = tw_factors_open(&history->steel);
    history->grid.thickness_mm = history->thickness_mm;
    history->grid.filled = history->filled;
    history->grid.joint_W_per_mm2_K = history->joint;
    return history->thickness_mm && history->filled && history->joint && history->spots && history->factors;
}

static enum tw_status make_plates(struct tw_history *history, struct tw_findings *findings)
{
    struct tw_plate_surroundings around = tw_plate_surroundings(&history->coolant);
    enum tw_status status = tw_plate_new(&history->grid, &history->steel, &around, &history->plate, findings);

    if (status == TW_OK)
        status = tw_plate_new(&history->grid, &history->steel, &around, &history->ghost, findings);
    if (status == TW_OK) {
        tw_plate_set_loss_per_step(history->plate, LOSS_PER_STEP);
        tw_plate_set_loss_per_step(history->ghost, LOSS_PER_STEP);
    }
    return status;
}

enum tw_status tw_history_open(const struct tw_history_part *part, const struct tw_history_wheel *wheel,
                               const struct tw_steel *steel, const struct tw_coolant *coolant, struct tw_history **out,
                               struct tw_findings *findings)
{
    struct tw_history *history = calloc(1, sizeof *history);
    enum tw_status status = TW_OK;

    *out = NULL;
    if (!history)
        return tw_no_memory(findings);
    history->wheel = *wheel;
    history->energy = history->expected_share = history->least_share = 1.0;
    history->tempers = true;
    history->passed = tw_no_cells();
    history->steel = *steel;
    history->coolant = *coolant;
    history->highest_bulk_degC = coolant->temperature_degC;
    history->constants[0] = TW_TEMPER_CONSTANT;
    history->constants[1] = steel->temper_constant > 0.0 ? steel->temper_constant : TW_TEMPER_CONSTANT;
    history->underside_slope = part->underside_slope;
    history->start_mm = part->start_mm - part->ahead_mm;
    set_grid(history, part);
    history->ground = tw_no_cells();
    if (!make_arrays(history) || !fill_cells(history, part))
        status = tw_no_memory(findings);
    if (status == TW_OK) {
        set_thickness(history, part);
        status = make_plates(history, findings);
    }
    if (status != TW_OK) {
        tw_history_close(history);
        return status;
    }
    *out = history;
    return TW_OK;
}

/* The caller frees it; NULL: no memory. */
static void *copy_of(const void *array, size_t count, size_t item_bytes)
{
    void *copy = malloc(count * item_bytes);

    return copy ? memcpy(copy, array, count * item_bytes) : NULL;
}

struct tw_history *tw_history_another(const struct tw_history *from)
{
    size_t cells = from->grid.nx * from->grid.ny;
    struct tw_history *history = copy_of(from, 1, sizeof *from);

    if (!history)
        return NULL;
    history->own_factors = NULL;
    history->plate = tw_plate_another(from->plate);
    history->ghost = tw_plate_another(from->ghost);
    history->grid.thickness_mm = history->thickness_mm = copy_of(from->thickness_mm, cells, sizeof(double));
    history->grid.filled = history->filled = copy_of(from->filled, cells, sizeof(double));
    history->grid.joint_W_per_mm2_K = history->joint = copy_of(from->joint, cells, sizeof(double));
    history->spots = copy_of(from->spots, cells, sizeof *history->spots);
    if (history->plate && history->ghost && history->thickness_mm && history->filled && history->joint &&
        history->spots)
        return history;
    tw_history_close(history);
    return NULL;
}

void tw_history_close(struct tw_history *history)
{
    if (!history)
        return;
    tw_plate_free(history->plate);
    tw_plate_free(history->ghost);
    free(history->thickness_mm);
    free(history->filled);
    free(history->joint);
    free(history->spots);
    tw_factors_close(history->own_factors);
    free(history);
}

void tw_history_count_tempering(struct tw_history *history, bool counted)
{
    history->tempers = counted;
}

void tw_history_set_energy(struct tw_history *history, double times)
{
    history->energy = times;
}

void tw_history_look_wider(struct tw_history *history, double wider_mm)
{
    history->wider_mm = wider_mm;
}
