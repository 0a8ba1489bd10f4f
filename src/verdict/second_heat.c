/* second_heat.c - two opinions on the heat. */
#include "verdict/second_heat.h"

#include "tangwright/warm.h"
#include "witness/rod.h"
#include "witness/task.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* A flash or a rest of heat smaller than this says nothing. */
#define LEAST_K 2.0
#define LEAST_J 5.0
/* Fast enough for the closed form of the edge. */
#define LEAST_PECLET 1.0
/* A film that would have to bear so many times its boiling temperature has gone. */
#define SURELY_BOILED 1.1
/* Points along and across a cell of the history that tell how much of it is steel. */
#define POINTS 4

struct tw_second_heat tw_second_heat_open(const struct tw_job *job, bool over_ground, double lean,
                                          struct tw_check *check)
{
    struct tw_second_heat heat = {
        .job = job, .check = check, .over_ground = over_ground, .energy = tw_energy_reserve(job), .lean = lean
    };

    tw_witness_band_open(&heat.band);
    return heat;
}

void tw_second_heat_close(struct tw_second_heat *heat)
{
    free(heat->ground_mm3);
    heat->ground_mm3 = NULL;
}

enum tw_status tw_second_heat_follow(struct tw_second_heat *heat, const struct tw_history *history,
                                     struct tw_findings *findings)
{
    heat->grid = tw_history_grid(history);
    heat->ground_mm3 = calloc(heat->grid.columns, sizeof *heat->ground_mm3);
    return heat->ground_mm3 ? TW_OK : tw_no_memory(findings);
}

/* ---- comparing ---- */

/* How far outside of the bounds, in per cent of the nearer one; the words are those of the worst. */
static void compare(struct tw_second_heat *heat, const char *what, const char *unit, double said, double least,
                    double most, struct tw_spot spot)
{
    double bound = said < least ? least : most;
    double apart = said < least ? least - said : said > most ? said - most : 0.0;
    double percent = bound > 0.0 ? 100.0 * apart / bound : 0.0;

    if (percent > heat->check->amount || heat->check->note[0] == '\0')
        snprintf(heat->check->note, sizeof heat->check->note,
                 "%s: %.4g%s by the history, %.4g to %.4g%s by the balance and the closed forms", what, said, unit,
                 least, most, unit);
    tw_check_note(heat->check, percent, spot);
}

/* ---- passes ---- */

static struct tw_witness_flash flash_of(const struct tw_second_heat *heat, double depth_mm, double table, double wheel,
                                        int way)
{
    double lean = way == 0 ? -fabs(heat->lean) : way * heat->lean;
    struct tw_witness_cut cut = { depth_mm, table, wheel, heat->energy, lean };

    return tw_witness_flash(heat->job, &heat->band, &cut);
}

void tw_second_heat_pieces(struct tw_second_heat *heat, const struct tw_history_piece *pieces, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        struct tw_witness_flash flash = flash_of(heat, pieces[i].mean_mm, pieces[i].table_mm_per_s,
                                                 pieces[i].wheel_mm_per_s, tw_history_way(&pieces[i]));

        heat->least_J += flash.wet_J_per_mm3 * pieces[i].volume_mm3;
        heat->most_J += flash.dry_J_per_mm3 * pieces[i].volume_mm3;
    }
}

/* Evenly over all that one motion lowered. */
void tw_second_heat_place(struct tw_second_heat *heat, const struct tw_removal *removal)
{
    const struct tw_history_grid *grid = &heat->grid;
    double from = (removal->lower_x_from_mm - grid->x_mm) / grid->cell_mm;
    double to = (removal->lower_x_to_mm - grid->x_mm) / grid->cell_mm, last = (double)grid->columns - 1.0;

    if (!heat->ground_mm3 || !(removal->volume_mm3 > 0.0) || !(to > from))
        return;
    for (double i = fmax(0.0, floor(from)); i <= fmin(last, floor(to)); i += 1.0)
        heat->ground_mm3[(size_t)i] += removal->volume_mm3 * fmax(0.0, fmin(to, i + 1.0) - fmax(from, i)) / (to - from);
}

/* The least that the flash can be: wet, or dry where the film has surely boiled. */
static double least_K(const struct tw_second_heat *heat, const struct tw_history_peak *peak,
                      const struct tw_witness_flash *flash)
{
    double wet_degC = peak->bulk_degC + flash->wet_K * peak->edge_factor * peak->plate_factor;

    return wet_degC > SURELY_BOILED * heat->job->coolant.boiling_degC ? flash->dry_K : flash->wet_K;
}

void tw_second_heat_peak(struct tw_second_heat *heat, const struct tw_history_peak *peak, struct tw_spot spot)
{
    double factors = peak->edge_factor * peak->plate_factor;
    struct tw_witness_flash flash;

    if (!(peak->depth_mm > 0.0) || peak->rise_K < LEAST_K)
        return; /* nothing was cut where there is steel */
    flash = flash_of(heat, peak->depth_mm, peak->table_mm_per_s, peak->wheel_mm_per_s, peak->way);
    compare(heat, "flash", " K", peak->rise_K / factors, least_K(heat, peak, &flash), flash.dry_K, spot);
    if (flash.peclet >= LEAST_PECLET)
        compare(heat, "factor at an edge", "", peak->edge_factor, flash.edge_factor, flash.edge_factor, spot);
}

/* ---- the whole ---- */

static bool inside_ring(const struct tw_ring *ring, double x_mm, double y_mm)
{
    bool inside = false;

    for (size_t i = 0, j = ring->count - 1; i < ring->count; j = i++) {
        const struct tw_point *a = &ring->points[i], *b = &ring->points[j];

        if ((a->y_mm > y_mm) != (b->y_mm > y_mm) &&
            x_mm < a->x_mm + (b->x_mm - a->x_mm) * (y_mm - a->y_mm) / (b->y_mm - a->y_mm))
            inside = !inside;
    }
    return inside;
}

static bool inside_outline(const struct tw_outline *outline, double x_mm, double y_mm)
{
    bool inside = outline->outer.count > 0 && inside_ring(&outline->outer, x_mm, y_mm);

    for (size_t i = 0; inside && i < outline->hole_count; i++)
        inside = !inside_ring(&outline->holes[i], x_mm, y_mm);
    return inside;
}

/* The outlines in the setup frame, how thick their steel is, and whether the tang lies on rests, not on the plate. */
struct steel {
    const struct tw_second_heat *heat;
    const struct tw_workpiece *workpiece;
    struct tw_outline tang, blade;
    struct tw_witness_underside below;
    bool on_rests;
    double low_mm, high_mm; /* y between which steel ahead of the taper start counts */
};

static bool over_pad(const struct steel *steel, double x_mm, double y_mm)
{
    const struct tw_fixture *fixture = &steel->heat->job->fixture;

    for (size_t i = 0; i < fixture->keep_out_count; i++) {
        const struct tw_keep_out *pad = &fixture->keep_outs[i];

        if (pad->kind == TW_KEEP_OUT_PAD && tw_witness_stands(pad, steel->workpiece->face.side) &&
            inside_ring(&pad->plan, x_mm, y_mm))
            return true;
    }
    return false;
}

/* Any place of the tang behind the taper start that lies over a pad. */
static bool lies_on_rests(const struct steel *steel)
{
    const struct tw_history_grid *grid = &steel->heat->grid;
    double step_mm = grid->cell_mm / POINTS;

    for (size_t i = 0; i < POINTS * grid->columns; i++) {
        double x_mm = grid->x_mm + ((double)i + 0.5) * step_mm;

        for (size_t j = 0; x_mm > steel->workpiece->face.start_mm && j < POINTS * grid->rows; j++) {
            double y_mm = grid->y_mm + ((double)j + 0.5) * step_mm;

            if (over_pad(steel, x_mm, y_mm) && inside_outline(&steel->tang, x_mm, y_mm))
                return true;
        }
    }
    return false;
}

/* Adds a cell's steel to its column; places without any count as 0 thick. Returns the steel's mean thickness. */
static double add_steel(const struct steel *steel, double x_mm, double y_mm, struct tw_witness_stretch *column)
{
    const struct tw_witness_face *face = &steel->workpiece->face;
    double cell_mm = steel->heat->grid.cell_mm, sum_mm = 0.0;
    int places = 0, carried = 0;

    for (int k = 0; k < POINTS * POINTS; k++) {
        double x = x_mm + (k % POINTS + 0.5) / POINTS * cell_mm, y = y_mm + (k / POINTS + 0.5) / POINTS * cell_mm;
        double top_mm, under_mm;

        if (!inside_outline(&steel->tang, x, y) &&
            (y < steel->low_mm || y > steel->high_mm || !inside_outline(&steel->blade, x, y)))
            continue;
        places++;
        carried += !steel->on_rests || over_pad(steel, x, y);
        under_mm = tw_witness_underside_mm(face, &steel->below, x);
        top_mm = tw_workpiece_stock_mm(steel->workpiece, x, y);
        if (!(top_mm > -HUGE_VAL))
            top_mm = tw_witness_top_mm(face, x); /* of the blade, and of cells at an edge */
        sum_mm += fmax(0.0, (top_mm - under_mm) * cos(face->tilt_rad) - steel->heat->job->task.hollowed_mm);
    }
    column->width_mm += cell_mm * places / (POINTS * POINTS);
    column->carried += cell_mm * carried / (POINTS * POINTS); /* as a width, until the column is whole */
    column->section_mm2 += cell_mm * sum_mm / (POINTS * POINTS);
    return sum_mm / (POINTS * POINTS);
}

/* What the history's temperatures mean in steel as thick as it is, column by column; all of it together. */
static double look_at_columns(const struct steel *steel, const struct tw_history *history,
                              struct tw_witness_stretch *columns)
{
    const struct tw_steel *material = &steel->heat->job->steel;
    const struct tw_coolant *coolant = &steel->heat->job->coolant;
    struct tw_history_grid grid = steel->heat->grid;
    double cell_J_per_mm_K =
        grid.cell_mm * grid.cell_mm * material->density_g_per_mm3 * material->specific_heat_J_per_g_K;
    double all_J = 0.0;

    for (size_t i = 0; i < grid.columns; i++) {
        double x_mm = grid.x_mm + (double)i * grid.cell_mm;

        columns[i] = (struct tw_witness_stretch){ 0 };
        for (size_t j = 0; j < grid.rows; j++) {
            double thick_mm = add_steel(steel, x_mm, grid.y_mm + (double)j * grid.cell_mm, &columns[i]);

            columns[i].stays += cell_J_per_mm_K * thick_mm *
                                fmax(0.0, tw_plate_degC(tw_history_plate(history), i, j) - coolant->temperature_degC);
        }
        columns[i].carried = columns[i].width_mm > 0.0 ? columns[i].carried / columns[i].width_mm : 0.0;
        all_J += columns[i].stays;
    }
    return all_J;
}

/* The tang lies bare up to where the taper of a thin blank begins. */
static enum tw_status rod_shares(const struct steel *steel, double heat_J, struct tw_witness_stretch *columns,
                                 struct tw_witness_shares *out, struct tw_findings *findings)
{
    const struct tw_second_heat *heat = steel->heat;
    const struct tw_coolant *coolant = &heat->job->coolant;
    double level_mm = steel->workpiece->face.start_mm + tw_witness_bare_to_mm(&steel->below), ground_mm3 = 0.0;

    for (size_t i = 0; i < heat->grid.columns; i++)
        ground_mm3 += heat->ground_mm3[i];
    for (size_t i = 0; i < heat->grid.columns; i++) {
        columns[i].bare = heat->grid.x_mm + ((double)i + 0.5) * heat->grid.cell_mm <= level_mm;
        columns[i].face_W_per_mm2_K = coolant->surface_conductance_W_per_mm2_K;
        columns[i].joint_W_per_mm2_K = coolant->joint_conductance_W_per_mm2_K;
        if (heat->over_ground && !columns[i].bare)
            columns[i].joint_W_per_mm2_K *= TW_WITNESS_PACKED_SHARE;
        columns[i].came = ground_mm3 > 0.0 ? heat_J * heat->ground_mm3[i] / ground_mm3 : 0.0;
    }
    return tw_witness_carried_shares(columns, heat->grid.columns, heat->grid.cell_mm,
                                     heat->job->steel.conductivity_W_per_mm_K, out, findings);
}

/* Of the rod that is cooler over what carries it in its middle than beside that. */
static enum tw_status strip_shares(const struct steel *steel, struct tw_witness_stretch *columns,
                                   struct tw_witness_shares *out, struct tw_findings *findings)
{
    const struct tw_second_heat *heat = steel->heat;
    double conductivity = heat->job->steel.conductivity_W_per_mm_K;

    for (size_t i = 0; i < heat->grid.columns; i++)
        columns[i].carried = tw_witness_strip_carried(&columns[i], conductivity);
    return tw_witness_carried_shares(columns, heat->grid.columns, heat->grid.cell_mm, conductivity, out, findings);
}

/* Were the steel as warm everywhere. */
static struct tw_witness_shares area_shares(const struct tw_witness_stretch *columns, size_t count)
{
    double bare_mm = 0.0, packed_mm = 0.0, all_mm = 0.0;

    for (size_t i = 0; i < count; i++) {
        all_mm += columns[i].width_mm;
        *(columns[i].bare ? &bare_mm : &packed_mm) += columns[i].carried * columns[i].width_mm;
    }
    return all_mm > 0.0 ? (struct tw_witness_shares){ bare_mm / all_mm, packed_mm / all_mm }
                        : (struct tw_witness_shares){ 0 };
}

/* y between which the tang leaves the ricasso. */
static void narrow_to_tang(struct steel *steel)
{
    double x_mm = steel->workpiece->face.start_mm + steel->heat->grid.cell_mm / 2.0, low_mm = HUGE_VAL,
           high_mm = -HUGE_VAL;
    const struct tw_history_grid *grid = &steel->heat->grid;

    for (size_t j = 0; j < POINTS * grid->rows; j++) {
        double y_mm = grid->y_mm + ((double)j + 0.5) * grid->cell_mm / POINTS;

        if (!inside_outline(&steel->tang, x_mm, y_mm))
            continue;
        low_mm = fmin(low_mm, y_mm);
        high_mm = fmax(high_mm, y_mm);
    }
    steel->low_mm = low_mm;
    steel->high_mm = high_mm;
}

/* The losses of a rod, as warm all across or cooler over a strip, and of steel as warm everywhere, added to the bounds. */
static enum tw_status add_bounds(struct tw_second_heat *heat, const struct steel *steel, double heat_J,
                                 struct tw_witness_stretch *columns, double *least, double *most, bool *any,
                                 struct tw_findings *findings)
{
    struct tw_witness_shares shares[3];
    enum tw_status status = rod_shares(steel, heat_J, columns, &shares[0], findings);

    shares[1] = area_shares(columns, heat->grid.columns);
    if (status == TW_OK)
        status = strip_shares(steel, columns, &shares[2], findings);
    for (int i = 0; status == TW_OK && i < 3; i++) {
        double low, high;

        *any = tw_witness_losses(heat->job, heat->over_ground, shares[i], &low, &high);
        *least = fmin(*least, low);
        *most = fmax(*most, high);
    }
    return status;
}

/* Rods that conduct along only, and steel as warm everywhere: what conducts across as well lies between. On rests the blade, which is
 * wider than the tang, is carried in its middle alone, where the tang's heat arrives: as a rod no wider than the tang it loses
 * the most there. */
static enum tw_status compare_losses(struct tw_second_heat *heat, const struct steel *steel,
                                     const struct tw_history *history, const struct tw_plate_energy *energy,
                                     struct tw_witness_stretch *columns, struct tw_findings *findings)
{
    double least = HUGE_VAL, most = -HUGE_VAL;
    bool any = false;
    enum tw_status status = add_bounds(heat, steel, energy->heat_J, columns, &least, &most, &any, findings);

    if (status == TW_OK && any && steel->on_rests) {
        struct steel narrow = *steel;

        narrow_to_tang(&narrow);
        look_at_columns(&narrow, history, columns);
        status = add_bounds(heat, &narrow, energy->heat_J, columns, &least, &most, &any, findings);
    }
    if (status == TW_OK && any)
        compare(heat, "heat lost below over that lost above", "", energy->joint_J / energy->top_J, least, most,
                (struct tw_spot){ 0 });
    return status;
}

static enum tw_status compare_whole(struct tw_second_heat *heat, const struct steel *steel,
                                    const struct tw_history *history, struct tw_findings *findings)
{
    struct tw_plate_energy energy = tw_history_energy(history);
    struct tw_witness_stretch *columns;
    struct tw_spot nowhere = { 0 };
    enum tw_status status = TW_OK;
    double own_J;

    if (energy.heat_J < LEAST_J)
        return TW_OK;
    columns = calloc(heat->grid.columns, sizeof *columns);
    if (!columns)
        return tw_no_memory(findings);
    compare(heat, "heat into the steel", " J", energy.heat_J, heat->least_J, heat->most_J, nowhere);
    own_J = look_at_columns(steel, history, columns);
    if (energy.top_J > LEAST_J)
        status = compare_losses(heat, steel, history, &energy, columns, findings);
    if (energy.stored_J > LEAST_J)
        compare(heat, "heat still in the steel", " J", energy.stored_J, own_J, own_J, nowhere);
    free(columns);
    return status;
}

enum tw_status tw_second_heat_end(struct tw_second_heat *heat, const struct tw_history *history,
                                  const struct tw_workpiece *workpiece, struct tw_findings *findings)
{
    const struct tw_part *part = &heat->job->part;
    struct tw_point corners[4];
    struct tw_outline ahead = { .outer = { corners, 4 } };
    bool is_ahead = tw_witness_ahead(&workpiece->face, corners);
    struct steel steel = { .heat = heat, .workpiece = workpiece, .low_mm = -HUGE_VAL, .high_mm = HUGE_VAL };
    enum tw_status status = tw_witness_outline(&workpiece->face, &part->tang, &steel.tang, findings);

    steel.below = tw_witness_underside(&workpiece->face, heat->over_ground);
    if (status == TW_OK)
        status = tw_witness_outline(&workpiece->face, is_ahead ? &ahead : &part->blade, &steel.blade, findings);
    steel.on_rests = status == TW_OK && lies_on_rests(&steel);
    if (status == TW_OK)
        status = compare_whole(heat, &steel, history, findings);
    tw_outline_free(&steel.tang);
    tw_outline_free(&steel.blade);
    return status;
}
