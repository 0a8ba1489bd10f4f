/* history.c - the temperatures of one part in the course of a program. */
#include "tangwright/history.h"

#include "geometry/ring.h"
#include "heat/factors.h"
#include "tangwright/rim.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* A cup's rim touches along an arc; it heats the plate in this many strips, each where its piece of the arc is. */
#define STRIPS 8
/* A band moves at most this many cells in one step. */
#define CELLS_PER_STEP 4.0
/* The ghost only cools and evens out, so it may follow in longer steps: it is behind by less than this. */
#define GHOST_BEHIND_S 0.05
/* Points along and across each cell that tell how much of it is steel. */
#define SAMPLES 8
/* The plate never gets thinner than this. */
#define THINNEST_MM 0.05
/* So long after a pass, or at the end of a shorter wait, the tang is looked at: later it only cools. */
#define LOOK_AFTER_S 2.0
/* The bulk is counted as tempering this often, and only above this rise. */
#define BULK_COUNT_S 10.0
#define BULK_RISE_K  10.0
/* See tw_plate_set_loss_per_step(). */
#define LOSS_PER_STEP 0.2
/* A flash this little below the hottest at its place still counts as one of its kind. */
#define ALIKE_K 5.0

/* The strips of heat of a piece: at its start, with their motion. */
struct strips {
    struct tw_plate_band bands[STRIPS];
    int count;
};

/* What the face has been through in one cell. */
struct spot {
    double parameter[2];
    double pass_degC, pass_s, pass_level_mm; /* of the pass not counted yet: hottest, how long, face it left */
    double hottest_degC, contact_s, contact_mm, bulk_degC, level_mm; /* hottest flash so far */
};

struct tw_history {
    struct tw_plate *plate, *ghost; /* ghost: the plate without the pass in hand */
    struct tw_history_wheel wheel;
    double energy;   /* times the wheel's own */
    double wider_mm; /* all around a band, where it is asked how warm the plate is under it */
    struct tw_steel steel;
    struct tw_coolant coolant;
    struct tw_plate_grid grid; /* its arrays are ours */
    double *thickness_mm, *filled, *joint;
    double underside_slope, start_mm;        /* of the tang's underside, and where it begins to rise */
    struct tw_factors own_factors, *factors; /* of the thin plate; maybe another history's */
    double ghost_behind_s;                   /* time by which the ghost follows the plate */
    unsigned long long shape, ghost_shape;   /* the same for plates ground alike */
    struct tw_plate_cells ground;            /* the cells that differ from the ghost's are among these */
    struct spot *spots;
    double constants[2];                    /* of Hollomon and Jaffe */
    double pass_contact_mm, pass_bulk_degC; /* of the pass not counted yet */
    bool pass_open;
    struct tw_plate_cells passed; /* it went over some of these */
    bool tempers;                 /* what the face goes through is counted */
    double bulk_counted_s;        /* clock up to which the bulk is counted */
    double clock_s, highest_bulk_degC;
    double cooled_s;      /* since the last pass */
    double most[2];       /* the highest parameter of any spot by each constant, as far as passes are counted */
    size_t most_at[2];    /* and the cell */
    double owed_J;        /* heat that found no steel yet */
    struct strips behind; /* the piece before the one in hand, of this pass */
    double behind_s;      /* its duration; 0: none */
};

/* ---- cells that were ground ---- */

static const struct tw_plate_cells no_cells = { SIZE_MAX, 0, SIZE_MAX, 0 };

static struct tw_plate_cells all_cells(const struct tw_history *history)
{
    return (struct tw_plate_cells){ 0, history->grid.nx, 0, history->grid.ny };
}

static size_t lesser(size_t a, size_t b)
{
    return a < b ? a : b;
}

static size_t greater(size_t a, size_t b)
{
    return a > b ? a : b;
}

static struct tw_plate_cells both_cells(struct tw_plate_cells a, struct tw_plate_cells b)
{
    return (struct tw_plate_cells){ lesser(a.from_i, b.from_i), greater(a.to_i, b.to_i), lesser(a.from_j, b.from_j),
                                    greater(a.to_j, b.to_j) };
}

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
        }
    }
    history->factors = &history->own_factors;
    tw_factors_open(history->factors, &history->steel, part->packed ? joint * TW_HISTORY_PACKED_SHARE : joint);
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
    history->grid.thickness_mm = history->thickness_mm;
    history->grid.filled = history->filled;
    history->grid.joint_W_per_mm2_K = history->joint;
    return history->thickness_mm && history->filled && history->joint && history->spots;
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
    history->energy = 1.0;
    history->tempers = true;
    history->passed = no_cells;
    history->steel = *steel;
    history->coolant = *coolant;
    history->highest_bulk_degC = coolant->temperature_degC;
    history->constants[0] = TW_TEMPER_CONSTANT;
    history->constants[1] = steel->temper_constant > 0.0 ? steel->temper_constant : TW_TEMPER_CONSTANT;
    history->underside_slope = part->underside_slope;
    history->start_mm = part->start_mm - part->ahead_mm;
    set_grid(history, part);
    history->ground = no_cells;
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

/* ---- time without cutting ---- */

static enum tw_status cool(struct tw_history *history, double time_s, struct tw_findings *findings)
{
    enum tw_status status = time_s > 0.0 ? tw_plate_cool(history->plate, time_s, history->cooled_s, findings) : TW_OK;

    history->cooled_s += time_s;
    history->clock_s += time_s;
    return status;
}

enum tw_status tw_history_wait(struct tw_history *history, double time_s, struct tw_findings *findings)
{
    double first_s = fmin(fmax(0.0, time_s), LOOK_AFTER_S);
    enum tw_status status = cool(history, first_s, findings);

    if (status == TW_OK && first_s > 0.0)
        history->highest_bulk_degC = fmax(history->highest_bulk_degC, tw_history_bulk_degC(history));
    return status == TW_OK ? cool(history, fmax(0.0, time_s - first_s), findings) : status;
}

/* ---- one piece of a pass ---- */

/* How the motion runs: along x or along y, forwards or backwards. */
struct course {
    bool along_y;
    double length_mm, way; /* way: +1 or -1 along that axis */
};

static struct course thermal_run_of(const struct tw_history_piece *piece)
{
    double dx = piece->to_mm[0] - piece->from_mm[0], dy = piece->to_mm[1] - piece->from_mm[1];
    struct course course = { fabs(dy) > fabs(dx), hypot(dx, dy), 1.0 };

    course.way = (course.along_y ? dy : dx) < 0.0 ? -1.0 : 1.0;
    return course;
}

/* Where, ahead of the programmed point, the wheel touches at this distance beside it. A trailing rim cuts with its inner
 * edge. */
static double contact_offset_mm(const struct tw_history *history, const struct course *course, bool trails,
                                double beside_mm)
{
    const struct tw_wheel *wheel = history->wheel.wheel;
    bool inner = trails && !history->wheel.level_cup;
    double radius_mm = wheel->diameter_mm / 2.0 - (inner ? wheel->rim_width_mm : 0.0);
    double arc_mm = sqrt(fmax(0.0, radius_mm * radius_mm - beside_mm * beside_mm));

    if (wheel->kind == TW_WHEEL_DISC)
        return course->along_y ? 0.0 : -history->wheel.shift_mm;
    if (history->wheel.level_cup)
        return course->along_y ? 0.0 : -arc_mm;                  /* the uphill edge, whichever way it goes */
    return inner ? -course->way * arc_mm : course->way * arc_mm; /* else the leading edge */
}

static void set_band(const struct course *course, double at_mm, double contact_mm, double low_mm, double high_mm,
                     double speed, struct tw_plate_band *band)
{
    double half = contact_mm / 2.0;

    if (course->along_y) {
        band->from_y_mm = at_mm - half;
        band->to_y_mm = at_mm + half;
        band->from_x_mm = low_mm;
        band->to_x_mm = high_mm;
        band->y_mm_per_s = course->way * speed;
    } else {
        band->from_x_mm = at_mm - half;
        band->to_x_mm = at_mm + half;
        band->from_y_mm = low_mm;
        band->to_y_mm = high_mm;
        band->x_mm_per_s = course->way * speed;
    }
}

/* Hottest of a plate under the strips, or within so much of them, between two times. */
static struct tw_plate_hottest hottest_within(const struct tw_plate *plate, const struct strips *strips,
                                              double wider_mm, double from_s, double to_s)
{
    struct tw_plate_hottest hottest = { -HUGE_VAL, 0.0, 0.0 };

    for (int i = 0; i < strips->count; i++) {
        const struct tw_plate_band *band = &strips->bands[i];
        double x0 = fmin(band->x_mm_per_s * from_s, band->x_mm_per_s * to_s) - wider_mm;
        double x1 = fmax(band->x_mm_per_s * from_s, band->x_mm_per_s * to_s) + wider_mm;
        double y0 = fmin(band->y_mm_per_s * from_s, band->y_mm_per_s * to_s) - wider_mm;
        double y1 = fmax(band->y_mm_per_s * from_s, band->y_mm_per_s * to_s) + wider_mm;
        struct tw_plate_hottest there =
            tw_plate_hottest(plate, band->from_x_mm + x0, band->to_x_mm + x1, band->from_y_mm + y0, band->to_y_mm + y1);

        if (there.degC > hottest.degC)
            hottest = there;
    }
    return hottest;
}

/* Where there is steel under the strips themselves. */
static struct tw_plate_hottest hottest_under(const struct tw_history *history, const struct tw_plate *plate,
                                             const struct strips *strips, double from_s, double to_s)
{
    struct tw_plate_hottest hottest = hottest_within(plate, strips, 0.0, from_s, to_s);

    if (history->wider_mm > 0.0 && hottest.degC > -HUGE_VAL)
        hottest = hottest_within(plate, strips, history->wider_mm, from_s, to_s);
    return hottest;
}

static double thickness_at(const struct tw_history *history, double x_mm, double y_mm)
{
    const struct tw_plate_grid *grid = &history->grid;
    double i = floor((x_mm - grid->x_mm) / grid->cell_mm), j = floor((y_mm - grid->y_mm) / grid->cell_mm);

    i = fmin(fmax(i, 0.0), (double)grid->nx - 1.0);
    j = fmin(fmax(j, 0.0), (double)grid->ny - 1.0);
    return history->thickness_mm[(size_t)j * grid->nx + (size_t)i];
}

int tw_history_way(const struct tw_history_piece *piece)
{
    double dx_mm = piece->to_mm[0] - piece->from_mm[0], dy_mm = piece->to_mm[1] - piece->from_mm[1];

    return fabs(dy_mm) > fabs(dx_mm) ? 0 : dx_mm < 0.0 ? -1 : 1;
}

static double contact_of(const struct tw_history *history, const struct tw_history_piece *piece, double depth_mm)
{
    const struct tw_wheel *wheel = history->wheel.wheel;
    double lean = history->wheel.lean;
    int way = tw_history_way(piece);

    if (wheel->kind == TW_WHEEL_DISC)
        return tw_disc_contact_mm(depth_mm, wheel);
    /* Across the lean one side of the rim is as good as the other, and neither is eased. */
    return tw_cup_contact_mm(wheel, way == 0 ? -fabs(lean) : way * lean, depth_mm);
}

static enum tw_status flash_at(const struct tw_history *history, const struct tw_history_piece *piece, double depth_mm,
                               double bulk_degC, struct tw_flash *out, struct tw_findings *findings)
{
    struct tw_contact contact = { depth_mm, piece->table_mm_per_s, piece->wheel_mm_per_s,
                                  contact_of(history, piece, depth_mm), piece->high_mm - piece->low_mm };
    struct tw_wheel wheel = tw_wheel_at_energy(history->wheel.wheel, history->energy);

    return tw_flash_estimate(&contact, &wheel, &history->steel, &history->coolant, bulk_degC, out, findings);
}

/* The strips without their heat. */
static void place_strips(const struct tw_history *history, const struct tw_history_piece *piece,
                         const struct course *course, double contact_mm, double duration_s, struct strips *out)
{
    double width_mm, start_mm = piece->from_mm[course->along_y], centre_mm = piece->from_mm[!course->along_y];

    out->count = history->wheel.wheel->kind == TW_WHEEL_CUP ? STRIPS : 1;
    width_mm = (piece->high_mm - piece->low_mm) / out->count;
    for (int i = 0; i < out->count; i++) {
        double low_mm = piece->low_mm + i * width_mm;
        double offset_mm = contact_offset_mm(history, course, piece->trails, low_mm + width_mm / 2.0 - centre_mm);

        out->bands[i] = (struct tw_plate_band){ .end_s = duration_s };
        set_band(course, start_mm + offset_mm, contact_mm, low_mm, low_mm + width_mm, piece->table_mm_per_s,
                 &out->bands[i]);
    }
}

/* Whether the coolant's film lasts, and so how much heat enters, depends on the bulk under the wheel. */
static enum tw_status strips_of(const struct tw_history *history, const struct tw_history_piece *piece,
                                const struct course *course, double duration_s, struct strips *out, double *heat_J,
                                struct tw_findings *findings)
{
    struct tw_flash flash;
    struct tw_plate_hottest under;
    enum tw_status status;

    place_strips(history, piece, course, contact_of(history, piece, piece->mean_mm), duration_s, out);
    under = hottest_under(history, history->ghost, out, 0.0, duration_s);
    status =
        flash_at(history, piece, piece->mean_mm, fmax(under.degC, history->coolant.temperature_degC), &flash, findings);
    for (int i = 0; status == TW_OK && i < out->count; i++)
        out->bands[i].flux_W_per_mm2 = flash.share * flash.flux_W_per_mm2;
    *heat_J = status == TW_OK ? flash.share * flash.specific_energy_J_per_mm3 * piece->volume_mm3 : 0.0;
    return status;
}

/* ---- what the face goes through ---- */

/* A row or a column of cells under a band that slides along it, or stands still. */
struct line {
    double from_mm, to_mm, mm_per_s; /* the band at the start of its piece */
    double origin_mm, cell_mm;
    size_t count;
};

struct range {
    size_t from, to;
};

static struct range cells_under(const struct line *line, double from_s, double to_s)
{
    double way_from = line->mm_per_s * from_s, way_to = line->mm_per_s * to_s;
    double low_mm = line->from_mm + (way_from < way_to ? way_from : way_to);
    double high_mm = line->to_mm + (way_from < way_to ? way_to : way_from);
    double first = (low_mm - line->origin_mm) / line->cell_mm, last = (high_mm - line->origin_mm) / line->cell_mm;
    double count = (double)line->count;
    size_t to;

    first = first < 0.0 ? 0.0 : first > count ? count : first;
    last = last < 0.0 ? 0.0 : last > count ? count : last;
    to = (size_t)last;
    return (struct range){ (size_t)first, to + ((double)to < last) };
}

/* How long the middle of cell i is under the band between two times. Points, not areas: so neighbouring bands and
 * pieces share the cells among them, and none is counted twice. */
static double time_under_s(const struct line *line, size_t i, double from_s, double to_s)
{
    double at_mm = line->origin_mm + ((double)i + 0.5) * line->cell_mm, enters_s, leaves_s;

    if (line->mm_per_s == 0.0)
        return at_mm >= line->from_mm && at_mm < line->to_mm ? to_s - from_s : 0.0;
    enters_s = (at_mm - (line->mm_per_s > 0.0 ? line->to_mm : line->from_mm)) / line->mm_per_s;
    leaves_s = (at_mm - (line->mm_per_s > 0.0 ? line->from_mm : line->to_mm)) / line->mm_per_s;
    leaves_s = leaves_s < to_s ? leaves_s : to_s;
    enters_s = enters_s > from_s ? enters_s : from_s;
    return leaves_s > enters_s ? leaves_s - enters_s : 0.0;
}

static void mark_spot(struct tw_history *history, size_t i, size_t j, double time_s, double rise_K, double depth_mm)
{
    size_t k = j * history->grid.nx + i;
    struct spot *spot = &history->spots[k];

    spot->pass_degC =
        fmax(spot->pass_s > 0.0 ? spot->pass_degC : -HUGE_VAL, tw_plate_degC(history->ghost, i, j) + rise_K);
    spot->pass_level_mm = history->thickness_mm[k] - depth_mm;
    spot->pass_s += time_s;
    history->pass_open = true;
}

static void mark_band(struct tw_history *history, const struct tw_history_piece *piece,
                      const struct tw_plate_band *band, double from_s, double to_s, double rise_K)
{
    const struct tw_plate_grid *grid = &history->grid;
    struct line x = { band->from_x_mm, band->to_x_mm, band->x_mm_per_s, grid->x_mm, grid->cell_mm, grid->nx };
    struct line y = { band->from_y_mm, band->to_y_mm, band->y_mm_per_s, grid->y_mm, grid->cell_mm, grid->ny };
    struct range columns = cells_under(&x, from_s, to_s), rows = cells_under(&y, from_s, to_s);
    /* The band is as long as the mean depth makes it, the flash that of the greatest. */
    double longer = contact_of(history, piece, piece->depth_mm) / contact_of(history, piece, piece->mean_mm);

    history->passed =
        both_cells(history->passed, (struct tw_plate_cells){ columns.from, columns.to, rows.from, rows.to });
    for (size_t j = rows.from; j < rows.to; j++)
        for (size_t i = columns.from; i < columns.to; i++) {
            double time_s = fmin(time_under_s(&x, i, from_s, to_s), time_under_s(&y, j, from_s, to_s));

            if (time_s > 0.0 && history->filled[j * grid->nx + i] > 0.0)
                mark_spot(history, i, j, time_s * longer, rise_K, piece->depth_mm);
        }
}

static void mark(struct tw_history *history, const struct tw_history_piece *piece, const struct strips *strips,
                 double from_s, double to_s, double rise_K)
{
    for (int n = 0; history->tempers && n < strips->count; n++)
        mark_band(history, piece, &strips->bands[n], from_s, to_s, rise_K);
}

static void keep_hottest(const struct tw_history *history, struct spot *spot)
{
    if (spot->pass_degC >= spot->hottest_degC) {
        spot->hottest_degC = spot->pass_degC;
        spot->contact_s = spot->pass_s;
        spot->contact_mm = history->pass_contact_mm;
        spot->bulk_degC = history->pass_bulk_degC;
        spot->level_mm = spot->pass_level_mm;
    } else if (spot->pass_degC >= spot->hottest_degC - ALIKE_K) {
        spot->level_mm = spot->pass_level_mm;
    }
}

static void keep_most(struct tw_history *history, size_t k, int n)
{
    if (history->spots[k].parameter[n] <= history->most[n])
        return;
    history->most[n] = history->spots[k].parameter[n];
    history->most_at[n] = k;
}

static void temper_spot(struct tw_history *history, size_t k, double degC, double time_s)
{
    struct spot *spot = &history->spots[k];

    for (int n = 0; n < 2; n++) {
        spot->parameter[n] = tw_temper_add(spot->parameter[n], degC, time_s, history->constants[n]);
        if (history->filled[k] > 0.0)
            keep_most(history, k, n);
    }
}

/* The last pass is counted only when something follows it, so that passes tried and taken back cost nothing. */
static void count_pass(struct tw_history *history)
{
    struct tw_plate_cells cells = history->passed;

    if (!history->pass_open)
        return;
    for (size_t j = cells.from_j; j < cells.to_j; j++)
        for (size_t i = cells.from_i; i < cells.to_i; i++) {
            size_t k = j * history->grid.nx + i;
            struct spot *spot = &history->spots[k];

            if (!(spot->pass_s > 0.0))
                continue;
            keep_hottest(history, spot);
            temper_spot(history, k, spot->pass_degC, spot->pass_s);
            spot->pass_s = 0.0;
        }
    history->pass_open = false;
    history->passed = no_cells;
}

/* Counts the bulk as it is now for all the time since the last count: after a pass it is at its hottest. */
static void count_bulk(struct tw_history *history)
{
    const struct tw_plate_grid *grid = &history->grid;
    double time_s = history->clock_s - history->bulk_counted_s;

    history->bulk_counted_s = history->clock_s;
    for (size_t j = 0; j < grid->ny; j++) {
        for (size_t i = 0; i < grid->nx; i++) {
            double degC = tw_plate_degC(history->plate, i, j);

            if (degC > history->coolant.temperature_degC + BULK_RISE_K)
                temper_spot(history, j * grid->nx + i, degC, time_s);
        }
    }
}

/* Flash on top of the hottest place under the strips; kept in *peak if it is the hottest so far. *rise_K is the
 * flash. */
static enum tw_status judge(struct tw_history *history, const struct tw_history_piece *piece,
                            struct tw_plate_hottest under, struct tw_history_peak *peak, double *rise_K,
                            struct tw_findings *findings)
{
    struct tw_flash flash;
    struct tw_hot_spot spot;
    double edge, plate, contact_mm = contact_of(history, piece, piece->depth_mm);
    enum tw_status status = flash_at(history, piece, piece->depth_mm, under.degC, &flash, findings);

    if (status != TW_OK)
        return status;
    edge = tw_exit_edge_factor(flash.peclet);
    plate = tw_factors_get(history->factors, contact_mm, piece->table_mm_per_s,
                           thickness_at(history, under.x_mm, under.y_mm));
    spot = tw_hot_spot(&flash, under.degC, edge * plate, &history->coolant);
    *rise_K = spot.rise_K;
    peak->dry_degC = fmax(peak->dry_degC, spot.dry_degC);
    peak->boiling_room_K = fmin(peak->boiling_room_K, spot.boiling_room_K);
    peak->film_times = fmin(peak->film_times, history->energy * spot.film_times);
    if (spot.degC <= peak->degC)
        return TW_OK;
    peak->degC = spot.degC;
    peak->bulk_degC = under.degC;
    peak->rise_K = spot.rise_K;
    peak->edge_factor = edge;
    peak->plate_factor = plate;
    peak->boiled = spot.boiled;
    peak->tag = piece->tag;
    peak->place_mm[0] = under.x_mm;
    peak->place_mm[1] = under.y_mm;
    peak->contact_s = contact_mm / piece->table_mm_per_s;
    peak->depth_mm = piece->depth_mm;
    peak->way = tw_history_way(piece);
    peak->table_mm_per_s = piece->table_mm_per_s;
    peak->wheel_mm_per_s = piece->wheel_mm_per_s;
    history->pass_contact_mm = contact_mm;
    history->pass_bulk_degC = under.degC;
    return TW_OK;
}

/* The ghost catches up when it has fallen too far behind. */
static enum tw_status follow(struct tw_history *history, struct tw_findings *findings)
{
    double behind_s = history->ghost_behind_s;

    if (behind_s < GHOST_BEHIND_S)
        return TW_OK;
    history->ghost_behind_s = 0.0;
    return tw_plate_step(history->ghost, behind_s, findings);
}

/* The bulk that a pass leaves is looked at where the wheel was one piece ago: right behind it stands some of the flash. */
static void note_bulk_behind(struct tw_history *history, const struct strips *strips, double duration_s,
                             struct tw_history_peak *peak)
{
    struct tw_plate_hottest hottest = hottest_under(history, history->plate, &history->behind, 0.0, history->behind_s);

    if (history->behind_s > 0.0)
        peak->highest_bulk_degC = fmax(peak->highest_bulk_degC, hottest.degC);
    history->behind = *strips;
    history->behind_s = duration_s;
}

static void heat_plate(struct tw_history *history, const struct strips *strips, double from_s, double step_s)
{
    for (int k = 0; k < strips->count; k++)
        tw_plate_heat_band(history->plate, &strips->bands[k], from_s, step_s);
}

/* The strips reach over edges and over what is not cut: the volume says how much heat there really is. Where they meet no
 * steel at all, it is owed until they do. */
static void share_heat(struct tw_history *history, struct strips *strips, double heat_J, double duration_s)
{
    double placed_J;

    if (!(heat_J > 0.0))
        return;
    history->owed_J += heat_J;
    heat_plate(history, strips, 0.0, duration_s);
    placed_J = tw_plate_power_W(history->plate) * duration_s;
    tw_plate_forget_power(history->plate);
    if (!(placed_J > 0.0))
        return;
    for (int k = 0; k < strips->count; k++)
        strips->bands[k].flux_W_per_mm2 *= history->owed_J / placed_J;
    history->owed_J = 0.0;
}

/* Drives the strips over plate and, without heat, the ghost. */
static enum tw_status run_piece(struct tw_history *history, const struct tw_history_piece *piece,
                                struct tw_history_peak *peak, struct tw_findings *findings)
{
    struct course course = thermal_run_of(piece);
    double duration_s = course.length_mm / piece->table_mm_per_s;
    int steps = (int)fmax(1.0, ceil(course.length_mm / (CELLS_PER_STEP * history->grid.cell_mm)));
    double step_s = duration_s / steps;
    struct strips strips;
    double heat_J;
    enum tw_status status = strips_of(history, piece, &course, duration_s, &strips, &heat_J, findings);

    if (status == TW_OK)
        share_heat(history, &strips, heat_J, duration_s);
    for (int i = 0; status == TW_OK && i < steps; i++) {
        struct tw_plate_hottest under;
        double rise_K = 0.0;

        history->ghost_behind_s += step_s / 2.0;
        status = follow(history, findings); /* the ghost as it is half way */
        if (status != TW_OK)
            break;
        under = hottest_under(history, history->ghost, &strips, i * step_s, (i + 1) * step_s);
        if (under.degC > -HUGE_VAL)
            status = judge(history, piece, under, peak, &rise_K, findings);
        mark(history, piece, &strips, i * step_s, (i + 1) * step_s, rise_K);
        heat_plate(history, &strips, i * step_s, step_s);
        if (status == TW_OK)
            status = tw_plate_step(history->plate, step_s, findings);
        history->ghost_behind_s += step_s / 2.0;
    }
    note_bulk_behind(history, &strips, duration_s, peak);
    history->clock_s += duration_s;
    history->cooled_s = 0.0;
    return status;
}

static enum tw_status begin_pass(struct tw_history *history, struct tw_history_peak *peak)
{
    struct tw_plate_cells ground;

    count_pass(history);
    history->ghost_behind_s = history->behind_s = 0.0;
    *peak = (struct tw_history_peak){ .degC = -HUGE_VAL,
                                      .dry_degC = -HUGE_VAL,
                                      .boiling_room_K = HUGE_VAL,
                                      .film_times = HUGE_VAL,
                                      .highest_bulk_degC = tw_history_bulk_degC(history) };
    if (history->ghost_shape == history->shape)
        return tw_plate_copy_temperature(history->ghost, history->plate);
    history->ghost_shape = history->shape;
    ground = history->ground;
    history->ground = no_cells;
    return tw_plate_copy_ground(history->ghost, history->plate, ground);
}

static void end_pass(struct tw_history *history, struct tw_history_peak *peak)
{
    double ambient_degC = history->coolant.temperature_degC;

    if (peak->degC == -HUGE_VAL)
        peak->degC = peak->bulk_degC = peak->dry_degC = ambient_degC;
    history->highest_bulk_degC = fmax(history->highest_bulk_degC, peak->highest_bulk_degC);
    if (history->tempers && history->clock_s - history->bulk_counted_s >= BULK_COUNT_S)
        count_bulk(history);
}

enum tw_status tw_history_pass(struct tw_history *history, const struct tw_history_piece *pieces, size_t count,
                               struct tw_history_peak *peak, struct tw_findings *findings)
{
    enum tw_status status = begin_pass(history, peak);

    for (size_t i = 0; status == TW_OK && i < count; i++)
        if (pieces[i].depth_mm > 0.0 && pieces[i].mean_mm > 0.0)
            status = run_piece(history, &pieces[i], peak, findings);
    end_pass(history, peak);
    return status;
}

/* ---- the rest ---- */

/* What a cell of this thickness adds to the number that plates ground alike share; bits mixed by multiplying and shifting. */
static unsigned long long shape_of(size_t k, double thickness_mm)
{
    unsigned long long bits;

    memcpy(&bits, &thickness_mm, sizeof bits);
    bits = (bits ^ (bits >> 29) ^ (unsigned long long)k * 0x9e3779b97f4a7c15ull) * 1099511628211ull;
    return (bits ^ (bits >> 32)) * 0xd6e8feb86659fd93ull;
}

/* Thinner where `left` says so; nothing gets thicker, and a foil's breadth always stays. */
static bool grind_cell(struct tw_history *history, size_t i, size_t j, tw_history_left left_mm, void *context)
{
    const struct tw_plate_grid *grid = &history->grid;
    size_t k = j * grid->nx + i;
    double left = left_mm(context, grid->x_mm + ((double)i + 0.5) * grid->cell_mm,
                          grid->y_mm + ((double)j + 0.5) * grid->cell_mm);
    double before_mm = history->thickness_mm[k], after_mm = left > THINNEST_MM ? left : THINNEST_MM;

    if (!(left > 0.0) || !(after_mm < before_mm))
        return false;
    history->thickness_mm[k] = after_mm;
    history->shape += shape_of(k, after_mm) - shape_of(k, before_mm);
    return true;
}

static enum tw_status grind_cells(struct tw_history *history, struct tw_plate_cells cells, tw_history_left left_mm,
                                  void *context, struct tw_findings *findings)
{
    struct tw_plate_cells ground = no_cells;

    for (size_t j = cells.from_j; j < cells.to_j; j++)
        for (size_t i = cells.from_i; i < cells.to_i; i++)
            if (grind_cell(history, i, j, left_mm, context))
                ground = both_cells(ground, (struct tw_plate_cells){ i, i + 1, j, j + 1 });
    if (ground.to_j == 0)
        return TW_OK;
    history->ground = both_cells(history->ground, ground);
    return tw_plate_set_thickness_of(history->plate, ground, history->thickness_mm, findings);
}

enum tw_status tw_history_set_left(struct tw_history *history, tw_history_left left_mm, void *context,
                                   struct tw_findings *findings)
{
    return grind_cells(history, all_cells(history), left_mm, context, findings);
}

/* The cells that a stretch touches, and one more on each side: whose middle is where is then no matter of rounding. */
static void cells_along(double from_mm, double to_mm, double start_mm, double cell_mm, size_t count, size_t *from,
                        size_t *to)
{
    *from = (size_t)fmin((double)count, fmax(0.0, floor((from_mm - start_mm) / cell_mm) - 1.0));
    *to = (size_t)fmin((double)count, fmax(0.0, floor((to_mm - start_mm) / cell_mm) + 2.0));
}

enum tw_status tw_history_set_left_in(struct tw_history *history, const struct tw_history_box *box,
                                      tw_history_left left_mm, void *context, struct tw_findings *findings)
{
    const struct tw_plate_grid *grid = &history->grid;
    struct tw_plate_cells cells;

    cells_along(box->x_from_mm, box->x_to_mm, grid->x_mm, grid->cell_mm, grid->nx, &cells.from_i, &cells.to_i);
    cells_along(box->y_from_mm, box->y_to_mm, grid->y_mm, grid->cell_mm, grid->ny, &cells.from_j, &cells.to_j);
    return grind_cells(history, cells, left_mm, context, findings);
}

/* A face over the underside. */
struct over_underside {
    double z_mm, slope_x, underside_slope, start_mm;
};

static double left_under_face(void *context, double x_mm, double y_mm)
{
    const struct over_underside *over = context;

    (void)y_mm;
    return over->z_mm + over->slope_x * x_mm - fmax(0.0, x_mm - over->start_mm) * over->underside_slope;
}

enum tw_status tw_history_set_face(struct tw_history *history, double z_mm, double slope_x,
                                   struct tw_findings *findings)
{
    struct over_underside over = { z_mm, slope_x, history->underside_slope, history->start_mm };

    return tw_history_set_left(history, left_under_face, &over, findings);
}

enum tw_status tw_history_copy(struct tw_history *to, const struct tw_history *from)
{
    size_t cells = from->grid.nx * from->grid.ny;
    bool alike = to->shape == from->shape;
    enum tw_status status =
        alike ? tw_plate_copy_temperature(to->plate, from->plate) : tw_plate_copy(to->plate, from->plate);

    if (status != TW_OK)
        return status;
    memcpy(to->thickness_mm, from->thickness_mm, cells * sizeof *to->thickness_mm);
    if (to->tempers)
        memcpy(to->spots, from->spots, cells * sizeof *to->spots);
    to->shape = from->shape;
    if (!alike)
        to->ground = all_cells(to);
    to->clock_s = from->clock_s;
    to->cooled_s = from->cooled_s;
    to->owed_J = from->owed_J;
    to->highest_bulk_degC = from->highest_bulk_degC;
    memcpy(to->most, from->most, sizeof to->most);
    memcpy(to->most_at, from->most_at, sizeof to->most_at);
    to->pass_contact_mm = from->pass_contact_mm;
    to->pass_bulk_degC = from->pass_bulk_degC;
    to->pass_open = from->pass_open;
    to->passed = from->passed;
    to->bulk_counted_s = from->bulk_counted_s;
    return TW_OK;
}

void tw_history_borrow(struct tw_history *history, struct tw_history *lender)
{
    history->factors = lender->factors;
}

double tw_history_clock_s(const struct tw_history *history)
{
    return history->clock_s;
}

double tw_history_bulk_degC(const struct tw_history *history)
{
    return tw_plate_highest_degC(history->plate);
}

double tw_history_highest_bulk_degC(const struct tw_history *history)
{
    return history->highest_bulk_degC;
}

/* ---- tempering ---- */

/* P of a spot with the pass not counted yet and the bulk since the last count. */
static double parameter_now(const struct tw_history *history, size_t i, size_t j, int n)
{
    const struct spot *spot = &history->spots[j * history->grid.nx + i];
    double p = spot->parameter[n], bulk_degC = tw_plate_degC(history->plate, i, j);

    if (spot->pass_s > 0.0)
        p = tw_temper_add(p, spot->pass_degC, spot->pass_s, history->constants[n]);
    return tw_temper_add(p, bulk_degC, history->clock_s - history->bulk_counted_s, history->constants[n]);
}

static double equivalent_degC(const struct tw_temper_limit *limit, double parameter, int n)
{
    return parameter > 0.0 ? tw_temper_equivalent_degC(parameter, limit->time_s, limit->constants[n]) : -HUGE_VAL;
}

double tw_history_tempered_degC(const struct tw_history *history, const struct tw_temper_limit *limit,
                                double place_mm[2])
{
    const struct tw_plate_grid *grid = &history->grid;
    int most = equivalent_degC(limit, history->most[1], 1) > equivalent_degC(limit, history->most[0], 0);
    size_t k = history->most_at[most];

    place_mm[0] = grid->x_mm + ((double)(k % grid->nx) + 0.5) * grid->cell_mm;
    place_mm[1] = grid->y_mm + ((double)(k / grid->nx) + 0.5) * grid->cell_mm;
    return fmax(equivalent_degC(limit, history->most[most], most), history->coolant.temperature_degC);
}

/* The spot that has come farthest by either constant. */
static size_t farthest(const struct tw_history *history, const struct tw_temper_limit *limit)
{
    const struct tw_plate_grid *grid = &history->grid;
    double most_degC = -HUGE_VAL;
    size_t found = 0;

    for (size_t k = 0; k < grid->nx * grid->ny; k++) {
        if (!(history->filled[k] > 0.0))
            continue;
        for (int n = 0; n < 2; n++) {
            double degC = equivalent_degC(limit, parameter_now(history, k % grid->nx, k / grid->nx, n), n);

            if (degC > most_degC) {
                most_degC = degC;
                found = k;
            }
        }
    }
    return found;
}

/* So many flashes like the hottest come to the parameter, by one constant; and the skin they soften. */
static void measure_skin(const struct tw_history *history, const struct tw_temper_limit *limit, const struct spot *spot,
                         int n, struct tw_tempering *out)
{
    double kelvin = spot->hottest_degC + 273.15;
    double time_s = 3600.0 * pow(10.0, 1000.0 * out->parameter[n] / kelvin - limit->constants[n]);
    double speed_mm_per_s = spot->contact_mm / spot->contact_s;
    struct tw_temper_pass pass = {
        .peak_rise_K = fmax(0.0, spot->hottest_degC - spot->bulk_degC),
        .peclet = speed_mm_per_s * spot->contact_mm / (4.0 * tw_diffusivity_mm2_per_s(&history->steel)),
        .contact_s = spot->contact_s,
        .contact_mm = spot->contact_mm,
        .bulk_degC = spot->bulk_degC,
    };
    double flashes = fmax(1.0, time_s / spot->contact_s);

    out->flashes = fmax(out->flashes, flashes);
    if (out->parameter[n] > limit->allowed[n])
        out->softened_mm =
            fmax(out->softened_mm, tw_temper_softened_mm(0.0, limit->allowed[n], &pass, flashes, limit->constants[n]));
}

/* On top of its original tempering: the hours that the history would have taken at its hottest come on top. */
static double lost_HRC(const struct tw_history *history, const struct tw_temper_limit *limit, double hottest_degC,
                       double parameter)
{
    double own = tw_temper_parameter(limit->own_degC, limit->time_s, limit->constants[1]);
    double hours = pow(10.0, 1000.0 * parameter / (hottest_degC + 273.15) - limit->constants[1]);
    double both = tw_temper_add(own, hottest_degC, 3600.0 * hours, limit->constants[1]);

    return tw_temper_softening_HRC(both, own, history->steel.softening_HRC);
}

void tw_history_tempering(const struct tw_history *history, const struct tw_temper_limit *limit,
                          struct tw_tempering *out)
{
    const struct tw_plate_grid *grid = &history->grid;
    size_t k = farthest(history, limit), i = k % grid->nx, j = k / grid->nx;
    struct spot spot = history->spots[k];

    if (spot.pass_s > 0.0)
        keep_hottest(history, &spot);
    *out = (struct tw_tempering){
        .constants = { limit->constants[0], limit->constants[1] },
        .allowed_degC = limit->allowed_degC,
        .place_mm = { grid->x_mm + ((double)i + 0.5) * grid->cell_mm, grid->y_mm + ((double)j + 0.5) * grid->cell_mm },
        .hottest_degC = spot.contact_s > 0.0 ? spot.hottest_degC : history->coolant.temperature_degC,
        .contact_s = spot.contact_s,
    };
    for (int n = 0; n < 2; n++) {
        out->parameter[n] = parameter_now(history, i, j, n);
        out->equivalent_degC[n] = fmax(equivalent_degC(limit, out->parameter[n], n), history->coolant.temperature_degC);
        if (spot.contact_s > 0.0)
            measure_skin(history, limit, &spot, n, out);
    }
    if (spot.contact_s > 0.0)
        out->lost_HRC = lost_HRC(history, limit, spot.hottest_degC, out->parameter[1]);
    out->left_mm = fmax(0.0, out->softened_mm - fmax(0.0, spot.level_mm - history->thickness_mm[k]));
}

struct tw_history_grid tw_history_grid(const struct tw_history *history)
{
    const struct tw_plate_grid *grid = &history->grid;

    return (struct tw_history_grid){ grid->x_mm, grid->y_mm, grid->cell_mm, grid->nx, grid->ny };
}

double tw_history_hottest_degC(const struct tw_history *history, size_t column, size_t row)
{
    size_t k = row * history->grid.nx + column;
    const struct spot *spot = &history->spots[k];
    double hottest_degC = spot->contact_s > 0.0 ? spot->hottest_degC : -HUGE_VAL;

    if (spot->pass_s > 0.0) /* not counted yet */
        hottest_degC = fmax(hottest_degC, spot->pass_degC);
    return history->filled[k] > 0.0 && hottest_degC > -HUGE_VAL ? hottest_degC : (double)NAN;
}

struct tw_plate_energy tw_history_energy(const struct tw_history *history)
{
    return tw_plate_energy(history->plate);
}

const struct tw_plate *tw_history_plate(const struct tw_history *history)
{
    return history->plate;
}
