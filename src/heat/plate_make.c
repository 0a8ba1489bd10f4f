/* plate_make.c - the plate from its grid: checks, outline, conductances, memory. */
#include "tangwright/plate.h"

#include "heat/plate_parts.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* Mean over the thickness to face: first term of the slab that cools through that face. */
#define FACE_RESISTANCE_PART (1.0 / 3.0)
#define ARRAYS               17
#define LEAST_FILLED         0.5 /* below, a cell joins its neighbour */

static const struct tw_place nowhere = { 0 };

/* ---- Checks ---- */

static enum tw_status check_array(const double *values, const struct tw_plate_grid *grid, double most, const char *what,
                                  const char *range, struct tw_findings *findings)
{
    if (!values)
        return TW_OK;
    for (size_t k = 0; k < grid->nx * grid->ny; k++)
        if (!tw_is_not_negative(values[k]) || values[k] > most)
            return tw_fail(findings, TW_BAD_INPUT, nowhere, "the plate's %s in cell %zu,%zu is %g; it must be %s", what,
                           k % grid->nx, k / grid->nx, values[k], range);
    return TW_OK;
}

static enum tw_status check_size(const struct tw_plate_grid *grid, struct tw_findings *findings)
{
    if (grid->nx < 1 || grid->ny < 1 || grid->nx > TW_PLATE_MOST_CELLS / grid->ny)
        return tw_fail(findings, TW_BAD_INPUT, nowhere,
                       "a plate of %zu by %zu cells cannot be made; it needs 1 to %d cells in all, so choose "
                       "another cell size",
                       grid->nx, grid->ny, TW_PLATE_MOST_CELLS);
    if (!tw_is_positive(grid->cell_mm) || !isfinite(grid->x_mm) || !isfinite(grid->y_mm))
        return tw_fail(findings, TW_BAD_INPUT, nowhere,
                       "a plate needs a cell size above 0 mm and a corner at a finite place, not %g mm at %g, %g",
                       grid->cell_mm, grid->x_mm, grid->y_mm);
    if (!grid->thickness_mm)
        return tw_fail(findings, TW_BAD_INPUT, nowhere, "a plate needs the thickness of its cells");
    return TW_OK;
}

static enum tw_status check_steel(const struct tw_steel *steel, struct tw_findings *findings)
{
    if (tw_is_positive(steel->conductivity_W_per_mm_K) && tw_is_positive(steel->density_g_per_mm3) &&
        tw_is_positive(steel->specific_heat_J_per_g_K))
        return TW_OK;
    return tw_fail(findings, TW_BAD_INPUT, nowhere,
                   "a plate's steel needs conductivity, density and specific heat above 0, not %g W/(mm K), "
                   "%g g/mm3, %g J/(g K)",
                   steel->conductivity_W_per_mm_K, steel->density_g_per_mm3, steel->specific_heat_J_per_g_K);
}

enum tw_status tw_plate_check_surroundings(const struct tw_plate_surroundings *around, struct tw_findings *findings)
{
    if (tw_is_not_negative(around->top_W_per_mm2_K) && tw_is_not_negative(around->joint_W_per_mm2_K) &&
        tw_is_not_negative(around->edge_W_per_mm2_K) && isfinite(around->ambient_degC))
        return TW_OK;
    return tw_fail(findings, TW_BAD_INPUT, nowhere,
                   "what surrounds a plate needs conductances of 0 or more and a finite temperature, not top %g, "
                   "joint %g, edge %g W/(mm2 K), %g degC",
                   around->top_W_per_mm2_K, around->joint_W_per_mm2_K, around->edge_W_per_mm2_K, around->ambient_degC);
}

static enum tw_status check_grid(const struct tw_plate_grid *grid, struct tw_findings *findings)
{
    const double no_limit = 1e300;
    enum tw_status status = check_size(grid, findings);

    if (status == TW_OK)
        status = check_array(grid->thickness_mm, grid, no_limit, "thickness", "0 mm or more", findings);
    if (status == TW_OK)
        status = check_array(grid->filled, grid, 1.0, "filled part", "from 0 to 1", findings);
    if (status == TW_OK)
        status = check_array(grid->edge_mm, grid, no_limit, "edge length", "0 mm or more", findings);
    if (status == TW_OK)
        status =
            check_array(grid->joint_W_per_mm2_K, grid, no_limit, "joint conductance", "0 W/(mm2 K) or more", findings);
    return status;
}

/* ---- Coefficients ---- */

/* A surface of this conductance with a length of steel behind it. */
static double in_series(double conductance, double length_mm, double conductivity)
{
    return conductance > 0.0 ? 1.0 / (1.0 / conductance + length_mm / conductivity) : 0.0;
}

/* Between two cells: the opening is that of the less filled one, which also keeps slivers from being stiff.
 */
static double between(const struct tw_plate *plate, size_t a, size_t b)
{
    double open = fmin(fmin(plate->filled[a], plate->filled[b]), 1.0);
    double sum = plate->thickness[a] + plate->thickness[b];

    if (open <= 0.0)
        return 0.0;
    return plate->conductivity * open * 2.0 * plate->thickness[a] * plate->thickness[b] / sum;
}

static void fill_cell(struct tw_plate *plate, size_t k)
{
    double area = plate->filled[k] * plate->cell_mm * plate->cell_mm, thickness = plate->thickness[k];
    double behind_face = FACE_RESISTANCE_PART * thickness;
    double joint = plate->own_joint ? plate->joint_below[k] : plate->around.joint_W_per_mm2_K;
    double capacity = plate->heat_per_mm3 * area * thickness;

    plate->inverse_capacity[k] = capacity > 0.0 ? 1.0 / capacity : 0.0;
    plate->top[k] = area * in_series(plate->around.top_W_per_mm2_K, behind_face, plate->conductivity);
    plate->joint[k] = area * in_series(joint, behind_face, plate->conductivity);
    plate->edge[k] =
        plate->edge_length[k] * thickness *
        in_series(plate->around.edge_W_per_mm2_K, 0.5 * plate->filled[k] * plate->cell_mm, plate->conductivity);
    plate->loss[k] = plate->top[k] + plate->joint[k] + plate->edge[k];
    plate->to_right[k] = between(plate, k, k + 1);
    plate->to_above[k] = between(plate, k, k + plate->stride);
}

/* What bounds the steps of row j: Gershgorin's bound of a plain explicit scheme, and the quickest loss. */
static void note_rates(struct tw_plate *plate, size_t j)
{
    double stiffest = 0.0, fastest_loss = 0.0;

    for (size_t i = plate->spans[j].from; i < plate->spans[j].to; i++) {
        size_t k = tw_plate_at(plate, i, j);
        double neighbours =
            plate->to_right[k] + plate->to_right[k - 1] + plate->to_above[k] + plate->to_above[k - plate->stride];
        double stiff = plate->inverse_capacity[k] * (2.0 * neighbours + plate->loss[k]);
        double loss = plate->inverse_capacity[k] * (plate->top[k] + plate->joint[k]);

        stiffest = stiff > stiffest ? stiff : stiffest;
        fastest_loss = loss > fastest_loss ? loss : fastest_loss;
    }
    plate->stiffest[j] = stiffest;
    plate->fastest_loss[j] = fastest_loss;
}

/* Longest step a plain explicit scheme would stand, and the one that follows the losses. */
static void set_steps(struct tw_plate *plate)
{
    double stiffest = 0.0, fastest_loss = 0.0;

    for (size_t j = 0; j < plate->ny; j++) {
        stiffest = fmax(stiffest, plate->stiffest[j]);
        fastest_loss = fmax(fastest_loss, plate->fastest_loss[j]);
    }
    plate->explicit_step_s = stiffest > 0.0 ? 2.0 / stiffest : HUGE_VAL;
    plate->loss_s = fastest_loss > 0.0 ? 1.0 / fastest_loss : HUGE_VAL;
}

/* A cell's conductances to the left and downwards are its neighbours' to the right and upwards. */
void tw_plate_refill_coefficients(struct tw_plate *plate, struct tw_plate_cells cells)
{
    size_t first_i = cells.from_i > 0 ? cells.from_i - 1 : 0, first_j = cells.from_j > 0 ? cells.from_j - 1 : 0;

    for (size_t j = first_j; j < cells.to_j; j++) {
        size_t from = first_i > plate->spans[j].from ? first_i : plate->spans[j].from;
        size_t to = cells.to_i < plate->spans[j].to ? cells.to_i : plate->spans[j].to;

        for (size_t i = from; i < to; i++)
            fill_cell(plate, tw_plate_at(plate, i, j));
    }
    for (size_t j = first_j; j <= cells.to_j && j < plate->ny; j++)
        note_rates(plate, j);
    set_steps(plate);
}

void tw_plate_fill_coefficients(struct tw_plate *plate)
{
    tw_plate_refill_coefficients(plate, (struct tw_plate_cells){ 0, plate->nx, 0, plate->ny });
}

/* Where two neighbours are filled differently, outline runs between them and belongs to the fuller one.
 * Between a full and an empty cell it runs along their side; between others it slants, and its parts along
 * and across are the sides of a triangle. */
struct outline_part {
    double sides, across, along;
};

static void add_outline(const struct tw_plate *plate, size_t k, size_t neighbour, double *slanting, double *sides)
{
    double difference = fmax(plate->filled[k] - plate->filled[neighbour], 0.0);

    *(difference == 1.0 ? sides : slanting) += difference * plate->cell_mm;
}

static double guessed_edge(const struct tw_plate *plate, size_t k)
{
    struct outline_part part = { 0 };

    add_outline(plate, k, k - 1, &part.across, &part.sides);
    add_outline(plate, k, k + 1, &part.across, &part.sides);
    add_outline(plate, k, k - plate->stride, &part.along, &part.sides);
    add_outline(plate, k, k + plate->stride, &part.along, &part.sides);
    return part.sides + hypot(part.across, part.along);
}

static void guess_edges(struct tw_plate *plate)
{
    for (size_t j = 0; j < plate->ny; j++)
        for (size_t i = 0; i < plate->nx; i++)
            plate->edge_length[tw_plate_at(plate, i, j)] = guessed_edge(plate, tw_plate_at(plate, i, j));
}

/* A cell of which the outline leaves little joins its fullest neighbour, its host: on its own it would be a
 * bottleneck between the steel and the edge that cools it. Heat aimed at it and questions go to the host. */
static void join_sliver(struct tw_plate *plate, size_t k)
{
    const size_t neighbours[4] = { k - 1, k + 1, k - plate->stride, k + plate->stride };
    size_t fullest = k;

    for (int n = 0; n < 4; n++)
        if (plate->steel[neighbours[n]] > plate->steel[fullest])
            fullest = neighbours[n];
    if (plate->steel[fullest] < LEAST_FILLED)
        return; /* only slivers hereabouts */
    plate->host[k] = fullest;
    plate->filled[fullest] += plate->filled[k] * plate->thickness[k] / plate->thickness[fullest];
    plate->edge_length[fullest] += plate->edge_length[k] * plate->thickness[k] / plate->thickness[fullest];
    plate->filled[k] = plate->edge_length[k] = 0.0;
}

static void join_slivers(struct tw_plate *plate)
{
    for (size_t k = 0; k < plate->cells; k++)
        plate->host[k] = k;
    for (size_t k = plate->stride; k < plate->cells - plate->stride; k++)
        if (plate->steel[k] > 0.0 && plate->steel[k] < LEAST_FILLED)
            join_sliver(plate, k);
}

static void set_spans(struct tw_plate *plate)
{
    for (size_t j = 0; j < plate->ny; j++) {
        const double *filled = plate->filled + tw_plate_at(plate, 0, j);
        struct tw_plate_span *span = &plate->spans[j];

        while (span->from < plate->nx && filled[span->from] <= 0.0)
            span->from++;
        span->to = plate->nx;
        while (span->to > span->from && filled[span->to - 1] <= 0.0)
            span->to--;
    }
}

/* From the spans of the rows. */
static void set_strips(struct tw_plate *plate)
{
    for (size_t s = 0; s < tw_plate_strips(plate); s++)
        plate->strips[s] = (struct tw_plate_span){ plate->ny, 0 };
    for (size_t j = 0; j < plate->ny; j++)
        for (size_t i = plate->spans[j].from; i < plate->spans[j].to; i++) {
            struct tw_plate_span *strip = &plate->strips[i / LANES];

            strip->from = j < strip->from ? j : strip->from;
            strip->to = j + 1;
        }
    for (size_t s = 0; s < tw_plate_strips(plate); s++)
        if (plate->strips[s].to == 0)
            plate->strips[s].from = 0;
}

/* ---- Making and releasing ---- */

/* Where the arrays begin. */
static double *first_array(double *block)
{
    return block + (LANE_BYTES - (uintptr_t)block % LANE_BYTES) % LANE_BYTES / sizeof *block;
}

/* The arrays lie one behind the other in one block. */
static void place_arrays(struct tw_plate *plate)
{
    double **arrays[] = { &plate->rise,      &plate->stage_a,  &plate->stage_b,     &plate->rate,
                          &plate->heat,      &plate->to_right, &plate->to_above,    &plate->loss,
                          &plate->top,       &plate->joint,    &plate->edge,        &plate->inverse_capacity,
                          &plate->thickness, &plate->filled,   &plate->edge_length, &plate->joint_below,
                          &plate->steel };

    _Static_assert(sizeof arrays / sizeof *arrays == ARRAYS, "the block is made for this many arrays");
    for (size_t n = 0; n < ARRAYS; n++)
        *arrays[n] = first_array(plate->block) + n * plate->cells;
    plate->column_overlap = first_array(plate->block) + ARRAYS * plate->cells;
    plate->row_overlap = plate->column_overlap + plate->stride;
    plate->stiffest = plate->row_overlap + plate->ny;
    plate->fastest_loss = plate->stiffest + plate->ny;
}

static size_t arrays_length(const struct tw_plate *plate)
{
    return ARRAYS * plate->cells + plate->stride + 3 * plate->ny;
}

static bool make_arrays(struct tw_plate *plate)
{
    plate->cells = plate->stride * (plate->ny + 2);
    plate->block = calloc(arrays_length(plate) + LANES, sizeof *plate->block);
    plate->host = malloc(plate->cells * sizeof *plate->host);
    plate->spans = calloc(plate->ny + tw_plate_strips(plate), sizeof *plate->spans);
    if (!plate->block || !plate->host || !plate->spans)
        return false;
    plate->strips = plate->spans + plate->ny;
    place_arrays(plate);
    return true;
}

static void take_grid(struct tw_plate *plate, const struct tw_plate_grid *grid)
{
    for (size_t j = 0; j < grid->ny; j++)
        for (size_t i = 0; i < grid->nx; i++) {
            size_t k = tw_plate_at(plate, i, j), source = j * grid->nx + i;
            double filled = grid->filled ? grid->filled[source] : 1.0;

            plate->thickness[k] = grid->thickness_mm[source];
            plate->filled[k] = plate->thickness[k] > 0.0 ? filled : 0.0;
            if (grid->edge_mm && plate->filled[k] > 0.0)
                plate->edge_length[k] = grid->edge_mm[source];
            if (grid->joint_W_per_mm2_K)
                plate->joint_below[k] = grid->joint_W_per_mm2_K[source];
        }
    plate->own_joint = grid->joint_W_per_mm2_K != NULL;
    if (!grid->edge_mm)
        guess_edges(plate);
    memcpy(plate->steel, plate->filled, plate->cells * sizeof *plate->steel);
    join_slivers(plate);
    set_spans(plate);
    set_strips(plate);
}

enum tw_status tw_plate_new(const struct tw_plate_grid *grid, const struct tw_steel *steel,
                            const struct tw_plate_surroundings *around, struct tw_plate **out,
                            struct tw_findings *findings)
{
    struct tw_plate *plate;
    enum tw_status status = check_grid(grid, findings);

    if (status == TW_OK)
        status = check_steel(steel, findings);
    if (status == TW_OK)
        status = tw_plate_check_surroundings(around, findings);
    if (status != TW_OK)
        return status;
    plate = calloc(1, sizeof *plate);
    if (!plate)
        return tw_no_memory(findings);
    plate->nx = grid->nx;
    plate->ny = grid->ny;
    plate->stride = ((grid->nx / LANES + 1) | 1) * LANES;
    plate->cell_mm = grid->cell_mm;
    plate->x_mm = grid->x_mm;
    plate->y_mm = grid->y_mm;
    plate->conductivity = steel->conductivity_W_per_mm_K;
    plate->heat_per_mm3 = steel->density_g_per_mm3 * steel->specific_heat_J_per_g_K;
    plate->around = *around;
    plate->loss_per_step = LOSS_PER_STEP;
    if (!make_arrays(plate)) {
        tw_plate_free(plate);
        return tw_no_memory(findings);
    }
    take_grid(plate, grid);
    tw_plate_fill_coefficients(plate);
    *out = plate;
    return TW_OK;
}

void tw_plate_free(struct tw_plate *plate)
{
    if (plate) {
        free(plate->block);
        free(plate->host);
        free(plate->spans);
    }
    free(plate);
}

enum tw_status tw_plate_copy(struct tw_plate *to, const struct tw_plate *from)
{
    double *block = to->block;
    size_t *host = to->host;
    struct tw_plate_span *spans = to->spans;

    if (to->nx != from->nx || to->ny != from->ny)
        return TW_BAD_INPUT;
    if (to == from)
        return TW_OK;
    memcpy(first_array(block), first_array(from->block), arrays_length(from) * sizeof *block);
    memcpy(host, from->host, from->cells * sizeof *host);
    memcpy(spans, from->spans, (from->ny + tw_plate_strips(from)) * sizeof *spans);
    *to = *from;
    to->block = block;
    to->host = host;
    to->spans = spans;
    to->strips = spans + to->ny;
    place_arrays(to);
    return TW_OK;
}

struct tw_plate *tw_plate_another(const struct tw_plate *from)
{
    struct tw_plate *plate = malloc(sizeof *plate);

    if (!plate)
        return NULL;
    *plate = *from;
    if (!make_arrays(plate)) {
        tw_plate_free(plate);
        return NULL;
    }
    tw_plate_copy(plate, from);
    return plate;
}

/* What grinding changes, in the ground rows and in the one below, whose conductances lead up to them. */
static void copy_rows(struct tw_plate *to, const struct tw_plate *from, size_t from_j, size_t to_j)
{
    double *const own[] = { to->to_right, to->to_above,         to->loss,      to->top,    to->joint,
                            to->edge,     to->inverse_capacity, to->thickness, to->filled, to->edge_length };
    double *const other[] = {
        from->to_right, from->to_above,         from->loss,      from->top,    from->joint,
        from->edge,     from->inverse_capacity, from->thickness, from->filled, from->edge_length
    };
    size_t first_j = from_j > 0 ? from_j - 1 : 0, at = tw_plate_at(to, 0, first_j);

    for (size_t n = 0; first_j < to_j && n < sizeof own / sizeof *own; n++)
        memcpy(own[n] + at, other[n] + at, (to_j - first_j) * to->stride * sizeof **own);
    memcpy(to->stiffest, from->stiffest, to->ny * sizeof *to->stiffest);
    memcpy(to->fastest_loss, from->fastest_loss, to->ny * sizeof *to->fastest_loss);
    to->explicit_step_s = from->explicit_step_s;
    to->loss_s = from->loss_s;
}

enum tw_status tw_plate_copy_ground(struct tw_plate *to, const struct tw_plate *from, struct tw_plate_cells cells)
{
    enum tw_status status = tw_plate_copy_temperature(to, from);

    if (status == TW_OK && to != from)
        copy_rows(to, from, cells.from_j, cells.to_j);
    return status;
}

enum tw_status tw_plate_copy_temperature(struct tw_plate *to, const struct tw_plate *from)
{
    if (to->nx != from->nx || to->ny != from->ny)
        return TW_BAD_INPUT;
    if (to == from)
        return TW_OK;
    memcpy(to->rise, from->rise, from->cells * sizeof *to->rise);
    if (to->any_heat || from->any_heat)
        memcpy(to->heat, from->heat, from->cells * sizeof *to->heat);
    to->heat_W = from->heat_W;
    to->any_heat = from->any_heat;
    to->missed_W = from->missed_W;
    to->energy = from->energy;
    to->unbooked_J = from->unbooked_J;
    to->unbooked_steps = from->unbooked_steps;
    to->updates = from->updates;
    return TW_OK;
}
