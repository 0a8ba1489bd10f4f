/* holding.c - the sideways force that the fixture is trusted with, for each side. Model: contacts.h. */
#include "tangwright/contacts.h"

#include "geometry/section.h"
#include "geometry/ring.h"
#include "tangwright/packing.h"
#include "tangwright/relief.h"
#include "tangwright/warm.h"

#include <math.h>

#define STRIPS        400
#define FULL_MM       0.02 /* what lies no higher than this over what carries flux counts as touching */
#define FLUX_RATIO    0.875 /* of a magnet's flux density at its poles and that at which steel is full: 1.4 T over 1.6 T */
#define EVERYWHERE_MM 1e6

struct holder {
    const struct tw_job *job;
    enum tw_side side;
    bool over_ground;
    double saturates_mm; /* steel thinner than this cannot lead all the flux of a pole */
};

static struct holder holder_of(const struct tw_job *job, enum tw_side side)
{
    struct holder holder = { .job = job, .side = side };

    holder.over_ground = side == TW_SIDE_B || job->task.over_ground;
    holder.saturates_mm = FLUX_RATIO * job->fixture.pole_mm / 2.0;
    return holder;
}

/* How far the lower face stands over the datum pad's level. */
static double lower_face_mm(const struct holder *holder, double x_mm)
{
    const struct tw_job *job = holder->job;

    if (x_mm <= 0.0)
        return 0.0;
    if (holder->side == TW_SIDE_A && holder->over_ground)
        return fmax(0.0, tw_packing_between_mm(job, job->straight, TW_SIDE_A, 0.0, x_mm));
    return fmax(0.0, tw_packing_mm(job, job->straight, holder->side, x_mm));
}

/* When the program is done: the upper face ground, the lower one ground or as it is. */
static double thickness_mm(const struct holder *holder, double x_mm)
{
    const struct tw_job *job = holder->job;
    enum tw_side below = holder->side == TW_SIDE_A ? TW_SIDE_B : TW_SIDE_A;
    double upper_mm, lower_mm;

    if (x_mm <= 0.0)
        return job->taper.ricasso_mm;
    upper_mm = job->taper.ricasso_mm / 2.0 - tw_packing_between_mm(job, job->straight, below, 0.0, x_mm);
    lower_mm = job->taper.ricasso_mm / 2.0 - (holder->over_ground
                                                  ? tw_packing_between_mm(job, job->straight, holder->side, 0.0, x_mm)
                                                  : tw_packing_mm(job, job->straight, holder->side, x_mm));
    return upper_mm + lower_mm;
}

/* Flux goes with the thickness below that, and pull with its square. */
static double led(const struct holder *holder, double thick_mm)
{
    double share = fmin(1.0, thick_mm / holder->saturates_mm);

    return share * share;
}

static double thin_factor(const struct holder *holder, double x_mm)
{
    return led(holder, thickness_mm(holder, x_mm)) / led(holder, holder->job->taper.ricasso_mm);
}

static double gap_factor(const struct holder *holder, double gap_mm)
{
    double over = 1.0 + gap_mm / holder->job->fixture.gap_scale_mm;

    return 1.0 / (over * over);
}

/* ---- what carries ---- */

static double top_mm(const struct tw_keep_out *keep_out, double x_mm)
{
    struct tw_box box = tw_ring_box(&keep_out->plan);

    return keep_out->top_mm - keep_out->rise_mm * (box.max_x_mm - x_mm) / (box.max_x_mm - box.min_x_mm);
}

/* Of the blank's width between two y at x, what touches: a hollow below does so with its land only. Bosses are not counted. */
static double touching_mm(const struct holder *holder, double x_mm, double low_y_mm, double high_y_mm)
{
    const struct tw_part *part = &holder->job->part;
    const struct tw_relief *relief = &holder->job->relief;
    double width_mm = tw_section_mm(x_mm > 0.0 ? &part->tang : &part->blade, x_mm, low_y_mm, high_y_mm);
    double low_mm, high_mm, end_mm = tw_ring_box(&part->tang.outer).max_x_mm;

    if (!holder->job->task.below_hollowed || x_mm < fmax(relief->land_mm, relief->end_mm) ||
        x_mm > end_mm - relief->land_mm || !tw_section_range(&part->tang.outer, x_mm, &low_mm, &high_mm))
        return width_mm;
    low_mm = fmax(low_mm + relief->land_mm, low_y_mm);
    high_mm = fmin(high_mm - relief->land_mm, high_y_mm);
    return low_mm < high_mm ? width_mm - tw_section_mm(&part->tang, x_mm, low_mm, high_mm) : width_mm;
}

/* A strip of the blank, so wide where it touches, so far over what carries the flux; packed solid or not. */
static void add_strip(const struct holder *holder, double x_mm, double area_mm2, double gap_mm, struct tw_holding *out)
{
    const struct tw_fixture *fixture = &holder->job->fixture;
    double pull_N = fixture->pull_N_per_mm2 * holder->job->steel.magnetic_pull * thin_factor(holder, x_mm) * area_mm2;
    double left_mm = fixture->packing == TW_PACKING_STEEL ? 0.0 : gap_mm;

    out->solid_N += pull_N;
    out->magnet_N += pull_N * gap_factor(holder, left_mm);
    out->area_mm2 += area_mm2;
    if (left_mm <= FULL_MM)
        out->touching_mm2 += area_mm2;
    if (area_mm2 > 0.0)
        out->gap_mm = fmax(out->gap_mm, gap_mm);
}

static void add_keep_out(const struct holder *holder, const struct tw_keep_out *keep_out, struct tw_holding *out)
{
    struct tw_box box = tw_ring_box(&keep_out->plan);
    double step_mm = (box.max_x_mm - box.min_x_mm) / STRIPS;

    for (int i = 0; i < STRIPS; i++) {
        double x_mm = box.min_x_mm + (i + 0.5) * step_mm, low_mm, high_mm;

        if (tw_warm_carrying_section(keep_out, holder->side, x_mm, &low_mm, &high_mm))
            add_strip(holder, x_mm, touching_mm(holder, x_mm, low_mm, high_mm) * step_mm,
                      fmax(0.0, lower_face_mm(holder, x_mm) - top_mm(keep_out, x_mm)), out);
    }
}

static void add_tang(const struct holder *holder, struct tw_holding *out)
{
    struct tw_box box = tw_ring_box(&holder->job->part.tang.outer);
    double from_mm = fmax(0.0, box.min_x_mm), step_mm = (box.max_x_mm - from_mm) / STRIPS;

    for (int i = 0; i < STRIPS; i++) {
        double x_mm = from_mm + (i + 0.5) * step_mm;

        add_strip(holder, x_mm, touching_mm(holder, x_mm, -EVERYWHERE_MM, EVERYWHERE_MM) * step_mm,
                  lower_face_mm(holder, x_mm), out);
    }
}

double tw_holding_thickness_mm(const struct tw_job *job, enum tw_side side, double x_mm)
{
    struct holder holder = holder_of(job, side);

    return thickness_mm(&holder, x_mm);
}

double tw_holding_pull_N_per_mm2(const struct tw_job *job, double thick_mm)
{
    struct holder holder = holder_of(job, TW_SIDE_A);

    return job->fixture.pull_N_per_mm2 * led(&holder, thick_mm) / led(&holder, job->taper.ricasso_mm);
}

static double sideways_N(const struct tw_fixture *fixture, double pressing_N)
{
    return fixture->friction * pressing_N / fixture->holding_safety;
}

struct tw_holding tw_holding_of(const struct tw_job *job, enum tw_side side)
{
    struct holder holder = holder_of(job, side);
    const struct tw_fixture *fixture = &holder.job->fixture;
    struct tw_holding out = { .clamp_N = fixture->clamp_force_N };

    out.rests = tw_warm_on_rests(job, side);
    for (size_t i = 0; i < fixture->keep_out_count; i++)
        if (tw_warm_carries(&fixture->keep_outs[i], side))
            add_keep_out(&holder, &fixture->keep_outs[i], &out);
    if (!out.rests)
        add_tang(&holder, &out);
    out.force_N = sideways_N(fixture, out.clamp_N + out.magnet_N);
    out.solid_force_N = sideways_N(fixture, out.clamp_N + out.solid_N);
    return out;
}

double tw_holding_N(const struct tw_job *job, enum tw_side side)
{
    return tw_holding_of(job, side).force_N;
}
