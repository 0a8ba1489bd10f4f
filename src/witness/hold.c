/* hold.c - what holds the blank, cut by cut across it. */
#include "witness/hold.h"

#include "witness/survey.h"
#include "witness/task.h"

#include <math.h>
#include <stdlib.h>

/* Cuts over one pad, or over the tang. */
#define CUTS 500
/* Steel as hard as a blank leads all flux of a pole down to this share of the distance from pole to pole. */
#define FULL_SHARE (7.0 / 16.0)

/* What a cut meets, by y: edges of blank and pad turn inside out, a strip along an edge of the tang begins or ends. */
enum what { BLANK, PAD, LAND_BEGINS, LAND_ENDS };

struct meeting {
    double y_mm;
    enum what what;
};

struct lying {
    struct tw_job job; /* level: pad, blank and stops tilt together */
    struct tw_witness_face up, below;
    struct tw_outline tang, blade; /* seen from above */
    bool on_ground;                /* the face below is ground */
    bool hollowed;                 /* and hollowed */
    struct meeting *meetings;      /* of one cut, with room for all */
    size_t count;
};

/* ---- heights ---- */

/* Over the centre plane, before it is ground. */
static double raw_mm(const struct tw_witness_face *face, double x_mm)
{
    double half_mm = face->job->taper.ricasso_mm / 2.0, from_x = 0.0, from_mm = half_mm;
    struct tw_witness_corner corner = { .x_mm = 0.0, .low_mm = half_mm };

    if (!face->surveyed || x_mm <= 0.0)
        return half_mm;
    do {
        from_x = corner.x_mm;
        from_mm = corner.low_mm;
        if (!tw_witness_next_corner(face, &corner))
            return corner.low_mm;
    } while (corner.x_mm < x_mm && corner.row < face->job->survey.count);
    return from_mm + (corner.low_mm - from_mm) * (x_mm - from_x) / (corner.x_mm - from_x);
}

static double ground_mm(const struct tw_witness_face *face, double x_mm)
{
    double raw = raw_mm(face, x_mm);

    return x_mm > 0.0 ? fmin(raw, tw_witness_half_mm(face, x_mm)) : raw;
}

static double below_mm(const struct lying *lying, double x_mm)
{
    return lying->on_ground ? ground_mm(&lying->below, x_mm) : raw_mm(&lying->below, x_mm);
}

/* How far the lower face stands over the datum pad. */
static double stands_mm(const struct lying *lying, double x_mm)
{
    return fmax(0.0, lying->job.taper.ricasso_mm / 2.0 - below_mm(lying, x_mm));
}

/* ---- the pull on each mm2 ---- */

static double led(const struct lying *lying, double thick_mm)
{
    double share = thick_mm / (FULL_SHARE * lying->job.fixture.pole_mm);

    return share < 1.0 ? share * share : 1.0;
}

static double pull_N_per_mm2(const struct lying *lying, double x_mm, double top_mm)
{
    const struct tw_fixture *fixture = &lying->job.fixture;
    double thick_mm = ground_mm(&lying->up, x_mm) + below_mm(lying, x_mm);
    double gap_mm = fmax(0.0, stands_mm(lying, x_mm) - top_mm);
    double full = fixture->pull_N_per_mm2 * lying->job.steel.magnetic_pull * led(lying, thick_mm) /
                  led(lying, lying->job.taper.ricasso_mm);

    return fixture->packing == TW_PACKING_STEEL ? full : full / pow(1.0 + gap_mm / fixture->gap_scale_mm, 2.0);
}

/* ---- one cut ---- */

static void meet(struct lying *lying, double y_mm, enum what what)
{
    lying->meetings[lying->count++] = (struct meeting){ y_mm, what };
}

static bool crosses(struct tw_point a, struct tw_point b, double x_mm, double *y_mm)
{
    if ((a.x_mm > x_mm) == (b.x_mm > x_mm))
        return false;
    *y_mm = a.y_mm + (x_mm - a.x_mm) / (b.x_mm - a.x_mm) * (b.y_mm - a.y_mm);
    return true;
}

static void meet_ring(struct lying *lying, const struct tw_ring *ring, double x_mm, enum what what)
{
    for (size_t i = 0; i < ring->count; i++) {
        double y_mm;

        if (crosses(ring->points[i], ring->points[i + 1 < ring->count ? i + 1 : 0], x_mm, &y_mm))
            meet(lying, y_mm, what);
    }
}

static void meet_outline(struct lying *lying, const struct tw_outline *outline, double x_mm)
{
    meet_ring(lying, &outline->outer, x_mm, BLANK);
    for (size_t i = 0; i < outline->hole_count; i++)
        meet_ring(lying, &outline->holes[i], x_mm, BLANK);
}

/* All within `land_mm` of the edge a-b: a rectangle with round ends, which a cut passes in one piece. */
static void meet_strip(struct lying *lying, struct tw_point a, struct tw_point b, double land_mm, double x_mm)
{
    double length_mm = hypot(b.x_mm - a.x_mm, b.y_mm - a.y_mm), low_mm = HUGE_VAL, high_mm = -HUGE_VAL, y_mm;
    const struct tw_point ends[2] = { a, b };

    for (int i = 0; i < 2; i++) {
        double off_mm = ends[i].x_mm - x_mm, half_mm = sqrt(fmax(0.0, land_mm * land_mm - off_mm * off_mm));

        if (fabs(off_mm) >= land_mm)
            continue;
        low_mm = fmin(low_mm, ends[i].y_mm - half_mm);
        high_mm = fmax(high_mm, ends[i].y_mm + half_mm);
    }
    for (int way = -1; length_mm > 0.0 && way <= 1; way += 2) {
        double out = way * land_mm / length_mm, dx = -out * (b.y_mm - a.y_mm), dy = out * (b.x_mm - a.x_mm);

        if (!crosses((struct tw_point){ a.x_mm + dx, a.y_mm + dy }, (struct tw_point){ b.x_mm + dx, b.y_mm + dy }, x_mm,
                     &y_mm))
            continue;
        low_mm = fmin(low_mm, y_mm);
        high_mm = fmax(high_mm, y_mm);
    }
    if (low_mm < high_mm) {
        meet(lying, low_mm, LAND_BEGINS);
        meet(lying, high_mm, LAND_ENDS);
    }
}

static int by_y(const void *a, const void *b)
{
    const struct meeting *one = a, *other = b;

    return (one->y_mm > other->y_mm) - (one->y_mm < other->y_mm);
}

/* Of the cut, what is blank, lies over the pad (NULL: everywhere) and touches. */
static double touching_mm(struct lying *lying, const struct tw_ring *pad, double x_mm)
{
    const struct tw_ring *edge = &lying->tang.outer;
    const struct tw_relief *relief = &lying->job.relief;
    bool hollow = lying->hollowed && x_mm >= relief->end_mm, blank = false, over = !pad;
    int lands = 0;
    double sum_mm = 0.0;

    lying->count = 0;
    meet_outline(lying, x_mm > 0.0 ? &lying->tang : &lying->blade, x_mm);
    if (pad)
        meet_ring(lying, pad, x_mm, PAD);
    for (size_t i = 0; hollow && i < edge->count; i++)
        meet_strip(lying, edge->points[i], edge->points[i + 1 < edge->count ? i + 1 : 0], relief->land_mm, x_mm);
    qsort(lying->meetings, lying->count, sizeof *lying->meetings, by_y);
    for (size_t i = 0; i + 1 < lying->count; i++) {
        const struct meeting *here = &lying->meetings[i];

        blank ^= here->what == BLANK;
        over ^= here->what == PAD;
        lands += here->what == LAND_BEGINS ? 1 : here->what == LAND_ENDS ? -1 : 0;
        if (blank && over && (!hollow || lands > 0))
            sum_mm += here[1].y_mm - here->y_mm;
    }
    return sum_mm;
}

/* ---- pads ---- */

static void range(const struct tw_ring *ring, double *low_mm, double *high_mm)
{
    *low_mm = HUGE_VAL;
    *high_mm = -HUGE_VAL;
    for (size_t i = 0; i < ring->count; i++) {
        *low_mm = fmin(*low_mm, ring->points[i].x_mm);
        *high_mm = fmax(*high_mm, ring->points[i].x_mm);
    }
}

/* Over a pad, or with NULL the tang on the magnet itself, level with the pad. `*under`: some of the tang lies over it. */
static double pressed_N(struct lying *lying, const struct tw_keep_out *pad, bool *under)
{
    double low_mm, high_mm, sum_N = 0.0;

    range(pad ? &pad->plan : &lying->tang.outer, &low_mm, &high_mm);
    if (!pad)
        low_mm = fmax(0.0, low_mm);
    for (int i = 0; i < CUTS; i++) {
        double x_mm = low_mm + (i + 0.5) / CUTS * (high_mm - low_mm);
        double top_mm = pad ? pad->top_mm - pad->rise_mm * (high_mm - x_mm) / (high_mm - low_mm) : 0.0;
        double touches_mm = touching_mm(lying, pad ? &pad->plan : NULL, x_mm);

        *under |= x_mm > 0.0 && touches_mm > 0.0;
        sum_N += touches_mm * (high_mm - low_mm) / CUTS * pull_N_per_mm2(lying, x_mm, top_mm);
    }
    return sum_N;
}

static double magnet_N(struct lying *lying, enum tw_side side)
{
    const struct tw_fixture *fixture = &lying->job.fixture;
    bool rests = false, ignored = false;
    double sum_N = 0.0;

    for (size_t i = 0; i < fixture->keep_out_count; i++)
        if (fixture->keep_outs[i].kind == TW_KEEP_OUT_PAD && tw_witness_stands(&fixture->keep_outs[i], side))
            sum_N += pressed_N(lying, &fixture->keep_outs[i], &rests);
    return rests ? sum_N : sum_N + pressed_N(lying, NULL, &ignored);
}

/* ---- the blank ---- */

static size_t edges_of(const struct tw_outline *outline)
{
    size_t count = outline->outer.count;

    for (size_t i = 0; i < outline->hole_count; i++)
        count += outline->holes[i].count;
    return count;
}

static enum tw_status open_lying(const struct tw_job *job, enum tw_side side, struct lying *out,
                                 struct tw_findings *findings)
{
    size_t most = edges_of(&job->part.tang) + edges_of(&job->part.blade) + 2 * job->part.tang.outer.count, pad = 0;
    enum tw_side other = side == TW_SIDE_A ? TW_SIDE_B : TW_SIDE_A;
    enum tw_status status;

    *out = (struct lying){ .job = *job, .on_ground = side == TW_SIDE_B || job->task.over_ground };
    out->job.mount = TW_MOUNT_LEVEL;
    out->job.task.thicker_mm = 0.0;
    out->hollowed = job->task.below_hollowed;
    out->up = tw_witness_face(&out->job, side);
    out->below = tw_witness_face(&out->job, other);
    for (size_t i = 0; i < job->fixture.keep_out_count; i++)
        pad = job->fixture.keep_outs[i].plan.count > pad ? job->fixture.keep_outs[i].plan.count : pad;
    out->meetings = malloc((most + pad + 1) * sizeof *out->meetings);
    if (!out->meetings)
        return tw_no_memory(findings);
    status = tw_witness_outline(&out->up, &job->part.tang, &out->tang, findings);
    return status == TW_OK ? tw_witness_outline(&out->up, &job->part.blade, &out->blade, findings) : status;
}

enum tw_status tw_witness_hold(const struct tw_job *job, enum tw_side side, double *force_N,
                               struct tw_findings *findings)
{
    const struct tw_fixture *fixture = &job->fixture;
    struct lying lying;
    enum tw_status status = open_lying(job, side, &lying, findings);

    if (status == TW_OK)
        *force_N = fixture->friction * (fixture->clamp_force_N + magnet_N(&lying, side)) / fixture->holding_safety;
    tw_outline_free(&lying.tang);
    tw_outline_free(&lying.blade);
    free(lying.meetings);
    return status;
}

/* ---- what hangs free ---- */

#define HARD_STEEL_N_PER_MM2 210e3

/* The last x at which some of the tang lies over a pad; 0: nowhere. */
static double last_carried_mm(struct lying *lying, enum tw_side side)
{
    const struct tw_fixture *fixture = &lying->job.fixture;
    double last_mm = 0.0;

    for (size_t i = 0; i < fixture->keep_out_count; i++) {
        const struct tw_keep_out *pad = &fixture->keep_outs[i];
        double low_mm, high_mm;

        if (pad->kind != TW_KEEP_OUT_PAD || !tw_witness_stands(pad, side))
            continue;
        range(&pad->plan, &low_mm, &high_mm);
        for (int k = 0; k < CUTS; k++) {
            double x_mm = low_mm + (k + 0.5) / CUTS * (high_mm - low_mm);

            if (x_mm > last_mm && touching_mm(lying, &pad->plan, x_mm) > 0.0)
                last_mm = x_mm;
        }
    }
    return last_mm;
}

/* Width of the blank at x; where it has none, as in a hole across all of it, a hair. */
static double wide_mm(struct lying *lying, double x_mm)
{
    bool hollowed = lying->hollowed;
    double wide_mm;

    lying->hollowed = false;
    wide_mm = touching_mm(lying, NULL, x_mm);
    lying->hollowed = hollowed;
    return fmax(wide_mm, 0.01);
}

/* From the clamped end on: the moment of a push at the far end bends each step, and the slopes add up to the way. */
static double bent_mm_per_N(struct lying *lying, double from_mm, double to_mm)
{
    double step_mm = (to_mm - from_mm) / CUTS, slope = 0.0, bent_mm = 0.0;

    for (int i = 0; i < CUTS; i++) {
        double x_mm = from_mm + (i + 0.5) * step_mm, thick_mm = ground_mm(&lying->up, x_mm) + below_mm(lying, x_mm);
        double turn =
            step_mm * (to_mm - x_mm) / (HARD_STEEL_N_PER_MM2 * wide_mm(lying, x_mm) * pow(thick_mm, 3.0) / 12.0);

        bent_mm += (slope + turn / 2.0) * step_mm;
        slope += turn;
    }
    return bent_mm;
}

enum tw_status tw_witness_bends(const struct tw_job *job, enum tw_side side, double *mm_per_N,
                                struct tw_findings *findings)
{
    struct lying lying;
    enum tw_status status = open_lying(job, side, &lying, findings);

    *mm_per_N = 0.0;
    if (status == TW_OK) {
        double from_mm = last_carried_mm(&lying, side), low_mm, high_mm;

        range(&lying.tang.outer, &low_mm, &high_mm);
        if (from_mm > 0.0 && from_mm < high_mm)
            *mm_per_N = bent_mm_per_N(&lying, from_mm, high_mm);
    }
    tw_outline_free(&lying.tang);
    tw_outline_free(&lying.blade);
    free(lying.meetings);
    return status;
}
