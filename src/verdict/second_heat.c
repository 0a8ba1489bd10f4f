/* second_heat.c - two opinions on the heat. */
#include "verdict/second_heat.h"

#include "geometry/ring.h"
#include "tangwright/warm.h"
#include "witness/task.h"

#include <math.h>
#include <stdio.h>

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

/* The outlines in the setup frame, and how thick their steel is. */
struct steel {
    const struct tw_second_heat *heat;
    const struct tw_workpiece *workpiece;
    struct tw_outline tang, blade;
    struct tw_witness_underside below;
};

/* Mean thickness of the steel in a cell, empty parts counting as 0. */
static double thickness_mm(const struct steel *steel, double x_mm, double y_mm, double cell_mm)
{
    const struct tw_witness_face *face = &steel->workpiece->face;
    double sum_mm = 0.0;

    for (int k = 0; k < POINTS * POINTS; k++) {
        double x = x_mm + (k % POINTS + 0.5) / POINTS * cell_mm, y = y_mm + (k / POINTS + 0.5) / POINTS * cell_mm;
        double top_mm, under_mm;

        if (!inside_outline(&steel->tang, x, y) && !inside_outline(&steel->blade, x, y))
            continue;
        under_mm = tw_witness_underside_mm(face, &steel->below, x);
        top_mm = tw_workpiece_stock_mm(steel->workpiece, x, y);
        if (!(top_mm > -HUGE_VAL))
            top_mm = tw_witness_top_mm(face, x); /* of the blade, and of cells at an edge */
        sum_mm += fmax(0.0, (top_mm - under_mm) * cos(face->tilt_rad) - steel->heat->job->task.hollowed_mm);
    }
    return sum_mm / (POINTS * POINTS);
}

/* What the history's temperatures mean in steel as thick as it is. */
static double stored_J(const struct steel *steel, const struct tw_history *history)
{
    const struct tw_steel *material = &steel->heat->job->steel;
    struct tw_history_grid grid = tw_history_grid(history);
    double ambient_degC = steel->heat->job->coolant.temperature_degC, sum = 0.0;

    for (size_t j = 0; j < grid.rows; j++)
        for (size_t i = 0; i < grid.columns; i++) {
            double rise_K = tw_plate_degC(tw_history_plate(history), i, j) - ambient_degC;

            if (rise_K > 0.0)
                sum += rise_K * thickness_mm(steel, grid.x_mm + (double)i * grid.cell_mm,
                                             grid.y_mm + (double)j * grid.cell_mm, grid.cell_mm);
        }
    return sum * grid.cell_mm * grid.cell_mm * material->density_g_per_mm3 * material->specific_heat_J_per_g_K;
}

static double area_mm2(const struct tw_outline *outline)
{
    return outline->outer.count > 0 ? fabs(tw_ring_area_mm2(&outline->outer)) : 0.0;
}

/* Of all the steel the part that lies on the pad without packing: of the blade no more than the history counts as steel, and
 * the tang up to where the taper of a thin blank begins. */
static double bare_share(const struct steel *steel)
{
    struct tw_box tang = tw_ring_box(&steel->tang.outer), box;
    double tang_mm2 = area_mm2(&steel->tang), blade_mm2 = 0.0;
    double begin_mm = tw_taper_begin_mm(steel->heat->job), blade_mm = tw_history_blade_mm(-begin_mm);
    double level_mm = fmax(0.0, begin_mm) + TW_HISTORY_CELL_MM / 2.0;

    if (steel->blade.outer.count > 0) {
        box = tw_ring_box(&steel->blade.outer);
        blade_mm2 = fmin(area_mm2(&steel->blade), blade_mm * (box.max_y_mm - box.min_y_mm));
    }
    return fmin(1.0, (blade_mm2 + level_mm * (tang.max_y_mm - tang.min_y_mm)) / (blade_mm2 + tang_mm2));
}

static void compare_whole(struct tw_second_heat *heat, const struct steel *steel, const struct tw_history *history)
{
    struct tw_plate_energy energy = tw_history_energy(history);
    struct tw_spot nowhere = { 0 };
    double least, most, own_J;

    if (energy.heat_J < LEAST_J)
        return;
    compare(heat, "heat into the steel", " J", energy.heat_J, heat->least_J, heat->most_J, nowhere);
    if (energy.top_J > LEAST_J && tw_witness_losses(heat->job, heat->over_ground, bare_share(steel), &least, &most))
        compare(heat, "heat lost below over that lost above", "", energy.joint_J / energy.top_J, least, most, nowhere);
    own_J = stored_J(steel, history);
    if (energy.stored_J > LEAST_J)
        compare(heat, "heat still in the steel", " J", energy.stored_J, own_J, own_J, nowhere);
}

enum tw_status tw_second_heat_end(struct tw_second_heat *heat, const struct tw_history *history,
                                  const struct tw_workpiece *workpiece, struct tw_findings *findings)
{
    const struct tw_part *part = &heat->job->part;
    struct tw_face face = tw_face_of(heat->job, workpiece->face.side);
    struct tw_point corners[4];
    struct tw_outline ahead = { .outer = { corners, 4 } };
    bool is_ahead = tw_warm_ahead(heat->job, &face, corners);
    struct steel steel = { .heat = heat, .workpiece = workpiece };
    enum tw_status status = tw_witness_outline(&workpiece->face, &part->tang, &steel.tang, findings);

    steel.below = tw_witness_underside(&workpiece->face, heat->over_ground);
    if (status == TW_OK)
        status = tw_witness_outline(&workpiece->face, is_ahead ? &ahead : &part->blade, &steel.blade, findings);
    if (status == TW_OK)
        compare_whole(heat, &steel, history);
    tw_outline_free(&steel.tang);
    tw_outline_free(&steel.blade);
    return status;
}
