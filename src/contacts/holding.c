/* holding.c - the sideways force that the fixture is trusted with, for each side. Model: contacts.h. */
#include "tangwright/contacts.h"

#include "contacts/blank.h"
#include "contacts/turning.h"
#include "geometry/ring.h"
#include "geometry/section.h"
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
    double saturates_mm;                         /* steel thinner than this cannot lead all the flux of a pole */
    struct tw_pressing *presses, *presses_solid; /* where: as it is packed, and over solid steel */
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

/* A strip of the blank across. What touches of it counts as spread evenly from its one end to the other. */
struct strip {
    double x_mm, low_y_mm, high_y_mm;
};

/* So much of it touches, so far over what carries the flux; packed solid or not. */
static void add_strip(const struct holder *holder, const struct strip *strip, double area_mm2, double gap_mm,
                      struct tw_holding *out)
{
    double x_mm = strip->x_mm;
    const struct tw_fixture *fixture = &holder->job->fixture;
    double pull_N = fixture->pull_N_per_mm2 * holder->job->steel.magnetic_pull * thin_factor(holder, x_mm) * area_mm2;
    double solid_mm = x_mm > 0.0 ? 0.0 : gap_mm; /* a wedge lies under the tang: what gapes under the ricasso is air */
    double left_mm = fixture->packing == TW_PACKING_STEEL ? solid_mm : gap_mm;

    out->solid_N += pull_N * gap_factor(holder, solid_mm);
    out->magnet_N += pull_N * gap_factor(holder, left_mm);
    tw_press(holder->presses, x_mm, strip->low_y_mm, strip->high_y_mm, pull_N * gap_factor(holder, left_mm));
    tw_press(holder->presses_solid, x_mm, strip->low_y_mm, strip->high_y_mm, pull_N * gap_factor(holder, solid_mm));
    out->area_mm2 += area_mm2;
    if (left_mm <= FULL_MM)
        out->touching_mm2 += area_mm2;
    if (area_mm2 > 0.0)
        out->gap_mm = fmax(out->gap_mm, gap_mm);
}

/* Of the strip over or under a keep-out, what lies within the blank as wide as `ring` is at like_mm; false: nothing does. */
static bool meets_ring(const struct holder *holder, const struct tw_keep_out *keep_out, double x_mm,
                       const struct tw_ring *ring, double like_mm, struct strip *strip)
{
    double low_mm, high_mm;

    strip->x_mm = x_mm;
    if (!tw_warm_carrying_section(keep_out, holder->side, x_mm, &strip->low_y_mm, &strip->high_y_mm) ||
        !tw_section_range(ring, like_mm, &low_mm, &high_mm))
        return false;
    strip->low_y_mm = fmax(strip->low_y_mm, low_mm);
    strip->high_y_mm = fmin(strip->high_y_mm, high_mm);
    return strip->low_y_mm < strip->high_y_mm;
}

static bool meets_blank(const struct holder *holder, const struct tw_keep_out *keep_out, double x_mm,
                        struct strip *strip)
{
    const struct tw_part *part = &holder->job->part;

    return meets_ring(holder, keep_out, x_mm, x_mm > 0.0 ? &part->tang.outer : &part->blade.outer, x_mm, strip);
}

static void add_keep_out(const struct holder *holder, const struct tw_keep_out *keep_out, struct tw_holding *out)
{
    struct tw_box box = tw_ring_box(&keep_out->plan);
    double step_mm = (box.max_x_mm - box.min_x_mm) / STRIPS;

    for (int i = 0; i < STRIPS; i++) {
        double x_mm = box.min_x_mm + (i + 0.5) * step_mm;
        struct strip strip;

        if (meets_blank(holder, keep_out, x_mm, &strip))
            add_strip(holder, &strip, touching_mm(holder, x_mm, strip.low_y_mm, strip.high_y_mm) * step_mm,
                      fmax(0.0, lower_face_mm(holder, x_mm) - tw_keep_out_top_mm(keep_out, x_mm)), out);
    }
}

static void add_tang(const struct holder *holder, struct tw_holding *out)
{
    const struct tw_ring *outer = &holder->job->part.tang.outer;
    struct tw_box box = tw_ring_box(outer);
    double from_mm = fmax(0.0, box.min_x_mm), step_mm = (box.max_x_mm - from_mm) / STRIPS;

    for (int i = 0; i < STRIPS; i++) {
        struct strip strip = { .x_mm = from_mm + (i + 0.5) * step_mm };

        if (tw_section_range(outer, strip.x_mm, &strip.low_y_mm, &strip.high_y_mm))
            add_strip(holder, &strip, touching_mm(holder, strip.x_mm, -EVERYWHERE_MM, EVERYWHERE_MM) * step_mm,
                      lower_face_mm(holder, strip.x_mm), out);
    }
}

/* ---- where clamps press ---- */

/* Where nothing is drawn ahead of the tang the blade counts as wide as the tang is here. */
#define LIKE_MM 0.5

/* Of the strip under a clamp, or over a pad, what is blank, or may be. */
static bool meets_blade(const struct holder *holder, const struct tw_keep_out *keep_out, double x_mm,
                        struct strip *strip)
{
    if (x_mm >= tw_blank_drawn_from_mm(holder->job))
        return meets_blank(holder, keep_out, x_mm, strip);
    return meets_ring(holder, keep_out, x_mm, &holder->job->part.tang.outer, LIKE_MM, strip);
}

/* No wider than the drawing may be wrong by, it may lie beside the blank. */
static bool bears(const struct holder *holder, const struct strip *strip)
{
    return strip->high_y_mm - strip->low_y_mm > holder->job->fixture.touch_tolerance_mm;
}

/* The area on which a clamp presses, or of a pad ahead of the taper start; with a force, that is spread over it. */
static double seat_mm2(const struct holder *holder, const struct tw_keep_out *keep_out, double N_per_mm2)
{
    struct tw_box box = tw_ring_box(&keep_out->plan);
    double to_mm = keep_out->kind == TW_KEEP_OUT_CLAMP ? box.max_x_mm : fmin(0.0, box.max_x_mm);
    double step_mm = (to_mm - box.min_x_mm) / STRIPS, sum_mm2 = 0.0;

    for (int i = 0; i < STRIPS && step_mm > 0.0; i++) {
        struct strip strip;
        double area_mm2;

        if (!meets_blade(holder, keep_out, box.min_x_mm + (i + 0.5) * step_mm, &strip) || !bears(holder, &strip))
            continue;
        area_mm2 = (strip.high_y_mm - strip.low_y_mm) * step_mm;
        sum_mm2 += area_mm2;
        if (N_per_mm2 > 0.0) {
            tw_press(holder->presses, strip.x_mm, strip.low_y_mm, strip.high_y_mm, N_per_mm2 * area_mm2);
            tw_press(holder->presses_solid, strip.x_mm, strip.low_y_mm, strip.high_y_mm, N_per_mm2 * area_mm2);
        }
    }
    return sum_mm2;
}

/* The area that a keep-out of this kind has of the blank; 0: none, or it does not stand there with this side up. */
static double seat_of_mm2(const struct holder *holder, const struct tw_keep_out *keep_out, enum tw_keep_out_kind kind)
{
    return keep_out->kind == kind && tw_keep_out_in_place(keep_out, holder->side) ? seat_mm2(holder, keep_out, 0.0)
                                                                                  : 0.0;
}

/* Shared evenly among the keep-outs of a kind that have some of the blank, as far as its seat bears that. Returns what counts; *seats:
 * how many have any. */
static double press_on(const struct holder *holder, enum tw_keep_out_kind kind, int *seats)
{
    const struct tw_fixture *fixture = &holder->job->fixture;
    double sum_N = 0.0;

    *seats = 0;
    for (size_t i = 0; i < fixture->keep_out_count; i++)
        *seats += seat_of_mm2(holder, &fixture->keep_outs[i], kind) > 0.0;
    for (size_t i = 0; i < fixture->keep_out_count; i++) {
        double area_mm2 = seat_of_mm2(holder, &fixture->keep_outs[i], kind), N_per_mm2;

        if (!(area_mm2 > 0.0))
            continue;
        N_per_mm2 = fmin(fixture->clamp_force_N / *seats / area_mm2, TW_SEAT_BEARS_N_PER_MM2);
        seat_mm2(holder, &fixture->keep_outs[i], N_per_mm2);
        sum_N += N_per_mm2 * area_mm2;
    }
    return sum_N;
}

static bool lists_clamps(const struct tw_fixture *fixture)
{
    for (size_t i = 0; i < fixture->keep_out_count; i++)
        if (fixture->keep_outs[i].kind == TW_KEEP_OUT_CLAMP)
            return true;
    return false;
}

/* Where no clamp is drawn: over the pads ahead of the tang; else at the taper start. Where some are, and none of them has the blank under
 * it with this side up, nothing presses. Returns the force that counts. */
static double add_clamps(const struct holder *holder)
{
    double clamp_N = holder->job->fixture.clamp_force_N, sum_N;
    int seats;

    if (!(clamp_N > 0.0))
        return clamp_N;
    sum_N = press_on(holder, TW_KEEP_OUT_CLAMP, &seats);
    if (seats > 0 || lists_clamps(&holder->job->fixture))
        return sum_N;
    sum_N = press_on(holder, TW_KEEP_OUT_PAD, &seats);
    if (seats > 0)
        return sum_N;
    tw_press(holder->presses, 0.0, 0.0, 0.0, clamp_N);
    tw_press(holder->presses_solid, 0.0, 0.0, 0.0, clamp_N);
    return clamp_N;
}

/* From the first keep-out that holds to the butt. */
static struct tw_pressing open_pressing(const struct holder *holder)
{
    const struct tw_fixture *fixture = &holder->job->fixture;
    double from_mm = 0.0;

    for (size_t i = 0; i < fixture->keep_out_count; i++)
        from_mm = fmin(from_mm, tw_ring_box(&fixture->keep_outs[i].plan).min_x_mm);
    return tw_pressing_over(from_mm, tw_ring_box(&holder->job->part.tang.outer).max_x_mm);
}

/* ---- the push ---- */

/* A cup's rim cuts with its front or its rear edge, where it runs across. The lever is longest at the end of what it grinds. */
static struct tw_wheel_push push_of(const struct holder *holder)
{
    const struct tw_job *job = holder->job;
    struct tw_overhang hangs = tw_overhang_of(job, holder->side);
    double end_mm = tw_ring_box(&job->part.tang.outer).max_x_mm;
    struct tw_wheel_push push = { .x_mm = end_mm - (job->task.scope == TW_SCOPE_RELIEF ? job->relief.land_mm : 0.0),
                                  .friction = job->fixture.friction,
                                  .ratio = job->wheel.force_ratio_least };

    push.below_mm = hangs.length_mm > 0.0 ? fmin(push.x_mm, hangs.from_mm) : push.x_mm;
    return push;
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

static void set_turning(const struct holder *holder, struct tw_holding *out)
{
    struct tw_wheel_push push = push_of(holder);
    double safety = holder->job->fixture.holding_safety, about_mm;

    out->push_mm = push.x_mm;
    out->sliding_N = out->force_N;
    out->turning_N = HUGE_VAL;
    if (holder->job->wheel.kind == TW_WHEEL_DISC)
        return;
    out->turning_N = tw_turning_N(holder->presses, &push, &out->about_mm) / safety;
    out->turns = out->turning_N < out->force_N && isfinite(out->about_mm);
    out->force_N = fmin(out->force_N, out->turning_N);
    out->solid_force_N = fmin(out->solid_force_N, tw_turning_N(holder->presses_solid, &push, &about_mm) / safety);
}

static struct tw_holding holding_as_it_lies(const struct tw_job *job, enum tw_side side)
{
    struct holder holder = holder_of(job, side);
    const struct tw_fixture *fixture = &holder.job->fixture;
    struct tw_holding out = { 0 };
    struct tw_pressing presses = open_pressing(&holder), solid = presses;

    holder.presses = &presses;
    holder.presses_solid = &solid;
    out.rests = tw_warm_on_rests(job, side);
    for (size_t i = 0; i < fixture->keep_out_count; i++)
        if (tw_warm_carries(&fixture->keep_outs[i], side))
            add_keep_out(&holder, &fixture->keep_outs[i], &out);
    if (!out.rests)
        add_tang(&holder, &out);
    out.rests_carry = out.rests && out.gap_mm <= TW_REST_MISFIT_MM;
    out.clamp_N = add_clamps(&holder);
    out.force_N = sideways_N(fixture, out.clamp_N + out.magnet_N);
    out.solid_force_N = sideways_N(fixture, out.clamp_N + out.solid_N);
    set_turning(&holder, &out);
    return out;
}

/* Roughing of side A may have to be run again once side B is roughed, when the tang lies on that. */
static bool may_come_again(const struct tw_job *job, enum tw_side side)
{
    return side == TW_SIDE_A && job->task.scope == TW_SCOPE_ROUGH && !job->one_face && !job->task.over_ground;
}

struct tw_holding tw_holding_of(const struct tw_job *job, enum tw_side side)
{
    struct tw_holding out = holding_as_it_lies(job, side);

    if (may_come_again(job, side)) {
        struct tw_job again = *job;
        struct tw_holding then;

        again.task.over_ground = true;
        then = holding_as_it_lies(&again, side);
        if (then.force_N < out.force_N) {
            then.again = true;
            out = then;
        }
    }
    return out;
}

double tw_holding_N(const struct tw_job *job, enum tw_side side)
{
    return tw_holding_of(job, side).force_N;
}

double tw_holding_clamps_N(const struct tw_job *job, enum tw_side side)
{
    struct tw_job clamped = *job;

    clamped.fixture.pull_N_per_mm2 = 0.0;
    clamped.fixture.clamp_force_N = 1.0;
    return TW_HOLDING_LEAST_N / tw_holding_N(&clamped, side);
}
