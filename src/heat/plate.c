/* plate.c - what happens to the plate: heat, steps, changes, and its answers. plate_make.c builds it,
 * legendre.c steps it in time. */
#include "tangwright/plate.h"

#include "heat/plate_parts.h"

#include <math.h>
#include <string.h>

/* A slanting path is taken as a staircase of this many steps per cell. */
#define STAIRS_PER_CELL 8.0
#define MOST_STAIRS     1e6
#define SHORT_SLIDE     1e-5 /* of a cell */
#define MOST_STEPS      1e9
/* What is lost is shared out among the surfaces once in so many steps: the shares hardly change meanwhile. */
#define STEPS_A_BOOKING 4

static const struct tw_place nowhere = { 0 };

/* ---- Heat ---- */

struct tw_plate_surroundings tw_plate_surroundings(const struct tw_coolant *coolant)
{
    return (struct tw_plate_surroundings){ .top_W_per_mm2_K = coolant->surface_conductance_W_per_mm2_K,
                                           .joint_W_per_mm2_K = coolant->joint_conductance_W_per_mm2_K,
                                           .edge_W_per_mm2_K = coolant->surface_conductance_W_per_mm2_K,
                                           .ambient_degC = coolant->temperature_degC };
}

static void add_heat(struct tw_plate *plate, size_t k, double W)
{
    plate->heat[k] += W;
    plate->heat_W += W;
    plate->any_heat = true;
}

void tw_plate_heat_cell(struct tw_plate *plate, size_t i, size_t j, double W)
{
    if (i < plate->nx && j < plate->ny && plate->inverse_capacity[tw_plate_host(plate, i, j)] > 0.0)
        add_heat(plate, tw_plate_host(plate, i, j), W);
    else
        plate->missed_W += W;
}

/* Cells from..to - 1 of `count` that the span touches. */
struct range {
    size_t from, to;
};

static struct range cells_of(double from_mm, double to_mm, double origin_mm, double cell_mm, size_t count)
{
    double first = tw_lesser(tw_greater((from_mm - origin_mm) / cell_mm, 0.0), (double)count);
    double last = tw_lesser(tw_greater((to_mm - origin_mm) / cell_mm, 0.0), (double)count);
    size_t to = (size_t)last;

    return (struct range){ (size_t)first, to + ((double)to < last) };
}

/* A span that slides by path_mm, and the row or column of cells it slides over. */
struct slide {
    double from_mm, to_mm, path_mm;
    double origin_mm, cell_mm;
    size_t count;
};

/* Integral of the positive part of u. */
static double ramp(double u)
{
    return u > 0.0 ? 0.5 * u * u : 0.0;
}

/* Mean over the slide of the positive part of u, which grows by path. */
static double mean_ramp(double u, double path)
{
    return (ramp(u + path) - ramp(u)) / path;
}

static double mean_overlap(const struct slide *s, double low_mm)
{
    double high_mm = low_mm + s->cell_mm;

    if (fabs(s->path_mm) < SHORT_SLIDE * s->cell_mm) /* too short to be divided by */
        return tw_greater(
            tw_lesser(s->to_mm + 0.5 * s->path_mm, high_mm) - tw_greater(s->from_mm + 0.5 * s->path_mm, low_mm), 0.0);
    return mean_ramp(s->to_mm - low_mm, s->path_mm) - mean_ramp(s->to_mm - high_mm, s->path_mm) -
           mean_ramp(s->from_mm - low_mm, s->path_mm) + mean_ramp(s->from_mm - high_mm, s->path_mm);
}

/* How much of the span lies in each cell, in mm, averaged over the slide; returns the cells touched. */
static struct range mean_overlaps(const struct slide *s, double *overlap_mm)
{
    struct range touched = cells_of(s->from_mm + tw_lesser(s->path_mm, 0.0), s->to_mm + tw_greater(s->path_mm, 0.0),
                                    s->origin_mm, s->cell_mm, s->count);

    for (size_t i = touched.from; i < touched.to; i++)
        overlap_mm[i] = mean_overlap(s, s->origin_mm + (double)i * s->cell_mm);
    return touched;
}

static void heat_slides(struct tw_plate *plate, const struct slide *x, const struct slide *y, double W_per_mm2)
{
    struct range columns = mean_overlaps(x, plate->column_overlap);
    struct range rows = mean_overlaps(y, plate->row_overlap);
    double placed = 0.0;

    for (size_t j = rows.from; j < rows.to; j++)
        for (size_t i = columns.from; i < columns.to; i++) {
            size_t host = tw_plate_host(plate, i, j);
            double W =
                W_per_mm2 * plate->row_overlap[j] * plate->column_overlap[i] * plate->steel[tw_plate_at(plate, i, j)];

            if (plate->inverse_capacity[host] <= 0.0)
                continue;
            add_heat(plate, host, W);
            placed += W;
        }
    plate->missed_W += W_per_mm2 * (x->to_mm - x->from_mm) * (y->to_mm - y->from_mm) - placed;
}

/* Sliding along one axis is exact; a slanting path is a staircase with steps far below a cell. */
void tw_plate_heat_band(struct tw_plate *plate, const struct tw_plate_band *band, double clock_s, double step_s)
{
    double from_s = fmax(band->start_s, clock_s), to_s = fmin(band->end_s, clock_s + step_s);
    double x_path = band->x_mm_per_s * (to_s - from_s), y_path = band->y_mm_per_s * (to_s - from_s);
    double lesser = fmin(fabs(x_path), fabs(y_path));
    double stairs = fmin(fmax(ceil(STAIRS_PER_CELL * lesser / plate->cell_mm), 1.0), MOST_STAIRS);
    double share = band->flux_W_per_mm2 * (to_s - from_s) / step_s / stairs;

    if (!(to_s > from_s) || !(step_s > 0.0))
        return;
    for (double n = 0.0; n < stairs; n += 1.0) {
        double start = from_s - band->start_s + (to_s - from_s) * n / stairs;
        double x = band->x_mm_per_s * start, y = band->y_mm_per_s * start;
        struct slide along = { band->from_x_mm + x, band->to_x_mm + x, x_path / stairs,
                               plate->x_mm,         plate->cell_mm,    plate->nx };
        struct slide across = { band->from_y_mm + y, band->to_y_mm + y, y_path / stairs,
                                plate->y_mm,         plate->cell_mm,    plate->ny };

        heat_slides(plate, &along, &across, share);
    }
}

double tw_plate_power_W(const struct tw_plate *plate)
{
    return plate->heat_W;
}

/* What leaves through each surface now. */
struct losses {
    double top_W, joint_W, edge_W;
};

/* Sums by lane over all cells; in empty ones there is nothing to add. */
LOOPS_IN_VECTORS
static void add_losses(const struct tw_plate *plate, double *top_W, double *joint_W, double *edge_W)
{
    tw_lanes top = { 0.0 }, joint = { 0.0 }, edge = { 0.0 };

    for (size_t k = 0; k < plate->cells; k += LANES) {
        tw_lanes rise = LANES_AT(plate->rise + k);

        top += LANES_AT(plate->top + k) * rise;
        joint += LANES_AT(plate->joint + k) * rise;
        edge += LANES_AT(plate->edge + k) * rise;
    }
    PUT_LANES(top_W, top);
    PUT_LANES(joint_W, joint);
    PUT_LANES(edge_W, edge);
}

static struct losses losses_now(const struct tw_plate *plate)
{
    double top_W[LANES], joint_W[LANES], edge_W[LANES];

    add_losses(plate, top_W, joint_W, edge_W);
    return (struct losses){ tw_sum_of_lanes(top_W), tw_sum_of_lanes(joint_W), tw_sum_of_lanes(edge_W) };
}

/* What is lost goes to the surfaces as they lose heat now. */
static void share_losses(const struct tw_plate *plate, struct tw_plate_energy *energy)
{
    struct losses now = losses_now(plate);
    double lost_J = plate->unbooked_J, sum = now.top_W + now.joint_W + now.edge_W;

    if (sum == 0.0) { /* nothing to divide by: all of it to the surface that is always there */
        energy->top_J += lost_J;
        return;
    }
    energy->top_J += lost_J * now.top_W / sum;
    energy->joint_J += lost_J * now.joint_W / sum;
    energy->edge_J += lost_J * now.edge_W / sum;
}

static void book_losses(struct tw_plate *plate)
{
    share_losses(plate, &plate->energy);
    plate->unbooked_J = 0.0;
    plate->unbooked_steps = 0;
}

void tw_plate_forget_power(struct tw_plate *plate)
{
    plate->missed_W = 0.0;
    if (!plate->any_heat)
        return;
    plate->any_heat = false;
    plate->heat_W = 0.0;
    memset(plate->heat, 0, plate->cells * sizeof *plate->heat);
}

void tw_plate_set_loss_per_step(struct tw_plate *plate, double share)
{
    plate->loss_per_step = share;
}

static void book_step(struct tw_plate *plate, double lost_J)
{
    plate->unbooked_J += lost_J;
    if (++plate->unbooked_steps >= STEPS_A_BOOKING)
        book_losses(plate);
}

static double longest_step_s(const struct tw_plate *plate, double loss)
{
    return fmin(plate->explicit_step_s * MOST_STAGES_GAIN, loss * plate->loss_s);
}

/* The longest step of a plate that has cooled for so long. */
static double cooling_step_s(const struct tw_plate *plate, double cooled_s)
{
    double loss = tw_greater(LOSS_AT_FIRST, COOLING_GROWTH * cooled_s / plate->loss_s);

    return longest_step_s(plate, tw_lesser(loss, LOSS_AT_LAST));
}

enum tw_status tw_plate_cool(struct tw_plate *plate, double time_s, double cooled_s, struct tw_findings *findings)
{
    double lost_J = 0.0, left_s = time_s;

    if (!tw_is_positive(time_s) || !(cooled_s >= 0.0) || plate->any_heat)
        return tw_fail(findings, TW_BAD_INPUT, nowhere,
                       "a plate cools for a time above 0 s, not %g s, after %g s in which it has, and without heat",
                       time_s, cooled_s);
    for (double steps = 0.0; left_s > 0.0; steps += 1.0) {
        double longest_s = cooling_step_s(plate, cooled_s + time_s - left_s), parts = ceil(left_s / longest_s);
        double step_s = parts > 2.0 ? longest_s : left_s / parts;

        if (!(steps <= MOST_STEPS) || !(step_s > 0.0))
            return tw_fail(findings, TW_BAD_INPUT, nowhere, "the plate cannot be followed for %g s in steps of %g s",
                           time_s, step_s);
        lost_J += tw_plate_advance(plate, step_s);
        left_s = parts > 1.0 ? left_s - step_s : 0.0;
    }
    book_step(plate, lost_J);
    tw_plate_forget_power(plate);
    return TW_OK;
}

enum tw_status tw_plate_step(struct tw_plate *plate, double step_s, struct tw_findings *findings)
{
    double longest_s = longest_step_s(plate, plate->loss_per_step);
    double parts = fmax(ceil(step_s / longest_s), 1.0), lost_J = 0.0, power_W = plate->heat_W;

    if (!isfinite(power_W)) {
        tw_plate_forget_power(plate);
        return tw_fail(findings, TW_BAD_INPUT, nowhere, "the heat given to the plate is %g W; check the bands",
                       power_W);
    }
    if (!tw_is_positive(step_s) || !(parts <= MOST_STEPS))
        return tw_fail(findings, TW_BAD_INPUT, nowhere,
                       "the plate's temperature can only be followed forwards in time, not by a step of %g s "
                       "in parts of %g s",
                       step_s, longest_s);
    for (double n = 0.0; n < parts; n += 1.0)
        lost_J += tw_plate_advance(plate, step_s / parts);
    book_step(plate, lost_J);
    plate->energy.heat_J += power_W * step_s;
    plate->energy.missed_J += plate->missed_W * step_s;
    tw_plate_forget_power(plate);
    return TW_OK;
}

enum tw_status tw_plate_run(struct tw_plate *plate, const struct tw_plate_band *bands, size_t band_count, double from_s,
                            double to_s, double step_s, struct tw_findings *findings)
{
    double steps = ceil((to_s - from_s) / step_s * (1.0 - 1e-12));
    enum tw_status status = TW_OK;

    if (!tw_is_positive(step_s) || !(to_s >= from_s) || !(steps <= MOST_STEPS))
        return tw_fail(findings, TW_BAD_INPUT, nowhere,
                       "the plate cannot be followed from %g s to %g s in steps of %g s; the end must come after "
                       "the start and there may be %g steps",
                       from_s, to_s, step_s, MOST_STEPS);
    for (double n = 0.0; n < steps && status == TW_OK; n += 1.0) {
        double clock_s = from_s + (to_s - from_s) * n / steps;

        for (size_t b = 0; b < band_count; b++)
            tw_plate_heat_band(plate, &bands[b], clock_s, (to_s - from_s) / steps);
        status = tw_plate_step(plate, (to_s - from_s) / steps, findings);
    }
    return status;
}

/* ---- Changes ---- */

static double volume_mm3(const struct tw_plate *plate, size_t k, double thickness_mm)
{
    return plate->filled[k] * plate->cell_mm * plate->cell_mm * thickness_mm;
}

double tw_plate_stored_J(const struct tw_plate *plate)
{
    double sum = 0.0;

    for (size_t k = 0; k < plate->cells; k++)
        sum += volume_mm3(plate, k, plate->thickness[k]) * plate->rise[k];
    return plate->heat_per_mm3 * sum;
}

void tw_plate_set_temperature(struct tw_plate *plate, double degC)
{
    for (size_t k = 0; k < plate->cells; k++)
        plate->rise[k] = plate->inverse_capacity[k] > 0.0 ? degC - plate->around.ambient_degC : 0.0;
    plate->energy = (struct tw_plate_energy){ .start_J = tw_plate_stored_J(plate) };
    plate->unbooked_J = 0.0;
}

static enum tw_status check_thickness(const struct tw_plate *plate, struct tw_plate_cells cells,
                                      const double *thickness_mm, struct tw_findings *findings)
{
    for (size_t j = cells.from_j; j < cells.to_j; j++)
        for (size_t i = cells.from_i; i < cells.to_i; i++) {
            double before = plate->thickness[tw_plate_at(plate, i, j)], after = thickness_mm[j * plate->nx + i];

            if (!tw_is_not_negative(after) || after > before * (1.0 + 1e-9))
                return tw_fail(findings, TW_BAD_INPUT, nowhere,
                               "the plate's thickness in cell %zu,%zu cannot go from %g mm to %g mm; grinding only "
                               "takes off",
                               i, j, before, after);
        }
    return TW_OK;
}

/* A cell ground away altogether is empty from then on. */
static void grind_cell(struct tw_plate *plate, size_t k, double thickness_mm)
{
    double taken_mm = fmax(plate->thickness[k] - thickness_mm, 0.0);

    plate->energy.chips_J += plate->heat_per_mm3 * volume_mm3(plate, k, taken_mm) * plate->rise[k];
    plate->thickness[k] = fmin(plate->thickness[k], thickness_mm);
    if (plate->thickness[k] <= 0.0) {
        plate->rise[k] = plate->filled[k] = plate->edge_length[k] = 0.0;
        plate->missed_W += plate->heat[k];
        plate->heat_W -= plate->heat[k];
        plate->heat[k] = 0.0;
    }
}

enum tw_status tw_plate_set_thickness_of(struct tw_plate *plate, struct tw_plate_cells cells,
                                         const double *thickness_mm, struct tw_findings *findings)
{
    enum tw_status status = check_thickness(plate, cells, thickness_mm, findings);

    if (status != TW_OK)
        return status;
    for (size_t j = cells.from_j; j < cells.to_j; j++)
        for (size_t i = cells.from_i; i < cells.to_i; i++)
            grind_cell(plate, tw_plate_at(plate, i, j), thickness_mm[j * plate->nx + i]);
    tw_plate_refill_coefficients(plate, cells);
    return TW_OK;
}

enum tw_status tw_plate_set_thickness(struct tw_plate *plate, const double *thickness_mm, struct tw_findings *findings)
{
    return tw_plate_set_thickness_of(plate, (struct tw_plate_cells){ 0, plate->nx, 0, plate->ny }, thickness_mm,
                                     findings);
}

enum tw_status tw_plate_set_surroundings(struct tw_plate *plate, const struct tw_plate_surroundings *around,
                                         struct tw_findings *findings)
{
    enum tw_status status = tw_plate_check_surroundings(around, findings);
    double warmer_K = around->ambient_degC - plate->around.ambient_degC, before_J;

    if (status != TW_OK)
        return status;
    book_losses(plate);
    before_J = tw_plate_stored_J(plate);
    for (size_t k = 0; k < plate->cells; k++)
        if (plate->inverse_capacity[k] > 0.0)
            plate->rise[k] -= warmer_K;
    plate->energy.start_J += tw_plate_stored_J(plate) - before_J;
    plate->around = *around;
    tw_plate_fill_coefficients(plate);
    return TW_OK;
}

/* ---- Answers ---- */

double tw_plate_degC(const struct tw_plate *plate, size_t i, size_t j)
{
    if (i >= plate->nx || j >= plate->ny)
        return plate->around.ambient_degC;
    return plate->around.ambient_degC + plate->rise[tw_plate_host(plate, i, j)];
}

void tw_plate_temperatures(const struct tw_plate *plate, double *degC)
{
    for (size_t j = 0; j < plate->ny; j++)
        for (size_t i = 0; i < plate->nx; i++)
            degC[j * plate->nx + i] = tw_plate_degC(plate, i, j);
}

static double middle_mm(double origin_mm, size_t index, double cell_mm)
{
    return origin_mm + ((double)index + 0.5) * cell_mm;
}

struct tw_plate_hottest tw_plate_hottest(const struct tw_plate *plate, double from_x_mm, double to_x_mm,
                                         double from_y_mm, double to_y_mm)
{
    struct range columns = cells_of(from_x_mm, to_x_mm, plate->x_mm, plate->cell_mm, plate->nx);
    struct range rows = cells_of(from_y_mm, to_y_mm, plate->y_mm, plate->cell_mm, plate->ny);
    struct tw_plate_hottest hottest = { plate->around.ambient_degC, from_x_mm, from_y_mm };
    bool found = false;

    for (size_t j = rows.from; j < rows.to; j++)
        for (size_t i = columns.from; i < columns.to; i++) {
            size_t host = tw_plate_host(plate, i, j);
            double degC = plate->around.ambient_degC + plate->rise[host];

            if (plate->inverse_capacity[host] <= 0.0 || (found && degC <= hottest.degC))
                continue;
            found = true;
            hottest = (struct tw_plate_hottest){ degC, middle_mm(plate->x_mm, i, plate->cell_mm),
                                                 middle_mm(plate->y_mm, j, plate->cell_mm) };
        }
    return hottest;
}

/* Empty cells are at ambient, as the coolest steel may be. */
LOOPS_IN_VECTORS
static void highest_rises(const struct tw_plate *plate, double *highest_K)
{
    tw_lanes highest = { 0.0 };

    for (size_t k = 0; k < plate->cells; k += LANES) {
        tw_lanes rise = LANES_AT(plate->rise + k);

        for (int lane = 0; lane < LANES; lane++)
            highest[lane] = rise[lane] > highest[lane] ? rise[lane] : highest[lane];
    }
    PUT_LANES(highest_K, highest);
}

double tw_plate_highest_degC(const struct tw_plate *plate)
{
    double lanes_K[LANES], highest_K = 0.0;

    highest_rises(plate, lanes_K);
    for (int lane = 0; lane < LANES; lane++)
        highest_K = tw_greater(highest_K, lanes_K[lane]);
    return plate->around.ambient_degC + highest_K;
}

struct tw_plate_energy tw_plate_energy(const struct tw_plate *plate)
{
    struct tw_plate_energy e = plate->energy;

    share_losses(plate, &e);
    e.stored_J = tw_plate_stored_J(plate);
    e.imbalance_J = e.start_J + e.heat_J - e.top_J - e.joint_J - e.edge_J - e.chips_J - e.stored_J;
    return e;
}

double tw_plate_booked_J(const struct tw_plate *plate)
{
    const struct tw_plate_energy *e = &plate->energy;

    return e->start_J + e->heat_J - e->top_J - e->joint_J - e->edge_J - e->chips_J - plate->unbooked_J;
}

double tw_plate_cell_updates(const struct tw_plate *plate)
{
    return plate->updates;
}
