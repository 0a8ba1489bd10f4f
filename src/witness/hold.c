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
    struct grid *grid; /* what presses, as it is found; NULL: nobody asks */
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

/* ---- where it presses ---- */

#define CELL_MM 3.0

/* In each cell the sums of what presses there, of that times its x, y, and x^2 + y^2; once all is in, what they mean. */
struct cell {
    double force_N;
    union {
        struct {
            double x_Nmm, y_Nmm, rr_Nmm2;
        };
        struct {
            double x_mm, y_mm, spread_mm2; /* middle, and mean square of the way from it along each axis */
        };
    };
};

struct grid {
    double from_x_mm, from_y_mm;
    size_t along, across, count; /* of all cells, once all is in only of those with something in them */
    struct cell *cells;
};

static void press(struct grid *grid, double x_mm, double y_mm, double force_N)
{
    double i = floor((x_mm - grid->from_x_mm) / CELL_MM), k = floor((y_mm - grid->from_y_mm) / CELL_MM);
    size_t column = (size_t)fmin(fmax(i, 0.0), (double)grid->along - 1.0);
    struct cell *cell = &grid->cells[column * grid->across + (size_t)fmin(fmax(k, 0.0), (double)grid->across - 1.0)];

    cell->force_N += force_N;
    cell->x_Nmm += force_N * x_mm;
    cell->y_Nmm += force_N * y_mm;
    cell->rr_Nmm2 += force_N * (x_mm * x_mm + y_mm * y_mm);
}

static void close_up(struct grid *grid)
{
    size_t count = 0;

    for (size_t i = 0; i < grid->count; i++) {
        struct cell cell = grid->cells[i], *out = &grid->cells[count];
        double x_mm = cell.x_Nmm / cell.force_N, y_mm = cell.y_Nmm / cell.force_N;

        if (!(cell.force_N > 0.0))
            continue;
        out->force_N = cell.force_N;
        out->x_mm = x_mm;
        out->y_mm = y_mm;
        out->spread_mm2 = fmax(0.0, (cell.rr_Nmm2 / cell.force_N - x_mm * x_mm - y_mm * y_mm) / 2.0);
        count++;
    }
    grid->count = count;
}

/* A piece of a cut, from low to high y, in bits no longer than half a cell. */
static void press_piece(struct grid *grid, double x_mm, double low_mm, double high_mm, double force_N)
{
    int bits = 1 + (int)((high_mm - low_mm) / (CELL_MM / 2.0));

    for (int i = 0; i < bits; i++)
        press(grid, x_mm, low_mm + (i + 0.5) * (high_mm - low_mm) / bits, force_N / bits);
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

    /* a wedge of steel lies under the tang alone */
    return fixture->packing == TW_PACKING_STEEL && x_mm > 0.0 ? full
                                                              : full / pow(1.0 + gap_mm / fixture->gap_scale_mm, 2.0);
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

/* Of the cut, what is blank, lies over the pad (NULL: everywhere) and touches; with so much on each mm, which goes to the grid. */
static double touching_mm(struct lying *lying, const struct tw_ring *pad, double x_mm, double N_per_mm)
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
        if (!blank || !over || (hollow && lands <= 0))
            continue;
        sum_mm += here[1].y_mm - here->y_mm;
        if (N_per_mm > 0.0)
            press_piece(lying->grid, x_mm, here->y_mm, here[1].y_mm, N_per_mm * (here[1].y_mm - here->y_mm));
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
        double each_N = (high_mm - low_mm) / CUTS * pull_N_per_mm2(lying, x_mm, top_mm);
        double touches_mm = touching_mm(lying, pad ? &pad->plan : NULL, x_mm, each_N);

        *under |= x_mm > 0.0 && touches_mm > 0.0;
        sum_N += touches_mm * each_N;
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

/* ---- where clamps press ---- */

/* Where nothing is drawn ahead of the tang, the blade is taken to be as wide as the tang here. */
#define TANG_WIDTH_AT_MM 0.5

static bool shows_blank_at(const struct lying *lying, double x_mm)
{
    double from_mm, to_mm;

    if (lying->job.placement.shown == TW_SHOWN_KNIFE)
        return true;
    range(&lying->blade.outer, &from_mm, &to_mm);
    return x_mm >= fmin(from_mm, 0.0);
}

/* The part of the cut that a clamp, or a pad, and the blank have in common. */
static bool common(const struct lying *lying, const struct tw_ring *plan, double x_mm, double *low_mm, double *high_mm)
{
    bool shown = shows_blank_at(lying, x_mm);
    const struct tw_ring *blank = x_mm > 0.0 || !shown ? &lying->tang.outer : &lying->blade.outer;
    double low2_mm = HUGE_VAL, high2_mm = -HUGE_VAL, y_mm;

    *low_mm = HUGE_VAL;
    *high_mm = -HUGE_VAL;
    for (size_t i = 0; i < plan->count; i++)
        if (crosses(plan->points[i], plan->points[i + 1 < plan->count ? i + 1 : 0], x_mm, &y_mm)) {
            *low_mm = fmin(*low_mm, y_mm);
            *high_mm = fmax(*high_mm, y_mm);
        }
    for (size_t i = 0; i < blank->count; i++)
        if (crosses(blank->points[i], blank->points[i + 1 < blank->count ? i + 1 : 0], shown ? x_mm : TANG_WIDTH_AT_MM,
                    &y_mm)) {
            low2_mm = fmin(low2_mm, y_mm);
            high2_mm = fmax(high2_mm, y_mm);
        }
    *low_mm = fmax(*low_mm, low2_mm);
    *high_mm = fmin(*high_mm, high2_mm);
    return *high_mm - *low_mm > lying->job.fixture.touch_tolerance_mm; /* less may lie beside the blank */
}

/* The area under a clamp, or over a pad ahead of the tang, in mm2; N_per_mm2 of it goes to the grid. */
static double seat_mm2(struct lying *lying, const struct tw_keep_out *seat, double N_per_mm2)
{
    double from_mm, to_mm, sum_mm2 = 0.0;

    range(&seat->plan, &from_mm, &to_mm);
    if (seat->kind == TW_KEEP_OUT_PAD)
        to_mm = fmin(to_mm, 0.0);
    for (int i = 0; i < CUTS && from_mm < to_mm; i++) {
        double step_mm = (to_mm - from_mm) / CUTS, x_mm = from_mm + (i + 0.5) * step_mm, low_mm, high_mm;

        if (!common(lying, &seat->plan, x_mm, &low_mm, &high_mm))
            continue;
        sum_mm2 += (high_mm - low_mm) * step_mm;
        if (N_per_mm2 > 0.0)
            press_piece(lying->grid, x_mm, low_mm, high_mm, N_per_mm2 * (high_mm - low_mm) * step_mm);
    }
    return sum_mm2;
}

/* More than this the clamp's own jaw does not bear: mild steel yields (EN 10025-2:2019, table 6, S235). */
#define JAW_YIELDS_N_PER_MM2 235.0

/* Each keep-out of the kind that has some of the blank takes the same share, or what its jaw bears. The sum goes to *force_N; false
 * where none has any. */
static bool press_seats(struct lying *lying, enum tw_side side, enum tw_keep_out_kind kind, double *force_N)
{
    const struct tw_fixture *fixture = &lying->job.fixture;
    size_t seats = 0;

    for (size_t i = 0; i < fixture->keep_out_count; i++)
        seats += fixture->keep_outs[i].kind == kind && tw_witness_stands(&fixture->keep_outs[i], side) &&
                 seat_mm2(lying, &fixture->keep_outs[i], 0.0) > 0.0;
    for (size_t i = 0; i < fixture->keep_out_count && seats > 0; i++) {
        const struct tw_keep_out *seat = &fixture->keep_outs[i];
        double area_mm2 = seat->kind == kind && tw_witness_stands(seat, side) ? seat_mm2(lying, seat, 0.0) : 0.0;
        double share_N = fmin(fixture->clamp_force_N / (double)seats, JAW_YIELDS_N_PER_MM2 * area_mm2);

        if (area_mm2 > 0.0)
            seat_mm2(lying, seat, share_N / area_mm2);
        *force_N += share_N;
    }
    return seats > 0;
}

/* Clamps; without any in the list, the pads ahead of the tang; without those, the taper start. Clamps that are listed, and all miss,
 * press with nothing. */
static double press_clamps(struct lying *lying, enum tw_side side)
{
    const struct tw_fixture *fixture = &lying->job.fixture;
    double force_N = 0.0;

    if (!(fixture->clamp_force_N > 0.0) || press_seats(lying, side, TW_KEEP_OUT_CLAMP, &force_N))
        return force_N;
    for (size_t i = 0; i < fixture->keep_out_count; i++)
        if (fixture->keep_outs[i].kind == TW_KEEP_OUT_CLAMP)
            return 0.0;
    if (press_seats(lying, side, TW_KEEP_OUT_PAD, &force_N))
        return force_N;
    press(lying->grid, 0.0, 0.0, fixture->clamp_force_N);
    return fixture->clamp_force_N;
}

/* ---- turning ---- */

#define CENTRES  40    /* tried along the part, at growing distances from the push */
#define FARTHEST 100.0 /* of them, in lengths of the grid: the part as good as slides */
#define THIRDS   20    /* so often an interval is narrowed to two thirds */
#define THIRD    (1.0 / 3.0)

/* Where the wheel pushes across, and how its own pressing there helps. */
struct across {
    double at_mm, presses_at_mm, friction, ratio;
};

/* The push that turns the part about that centre: friction times the way that each cell goes, over the way of the push, from
 * which what the wheel's own pressing takes is off. The mean distance of what is spread a little about a place is that of the
 * place, and half the spread across over it. */
static double push_about_N(const struct grid *grid, const struct across *across, double x_mm, double y_mm)
{
    double arm_mm = fabs(across->at_mm - x_mm), sum_Nmm = 0.0;

    arm_mm -= across->friction * across->ratio * fabs(across->presses_at_mm - x_mm);
    if (arm_mm <= 0.0)
        return HUGE_VAL;
    for (size_t i = 0; i < grid->count; i++) {
        const struct cell *cell = &grid->cells[i];
        double dx = cell->x_mm - x_mm, dy = cell->y_mm - y_mm;

        sum_Nmm += cell->force_N * sqrt(dx * dx + dy * dy + cell->spread_mm2);
    }
    return across->friction * sum_Nmm / arm_mm;
}

/* The least over the centre's y: the sum of distances has one valley. */
static double least_at_x_N(const struct grid *grid, const struct across *across, double x_mm)
{
    double low_mm = grid->from_y_mm, high_mm = low_mm + (double)grid->across * CELL_MM;

    for (int i = 0; i < THIRDS; i++) {
        double one_mm = low_mm + THIRD * (high_mm - low_mm), two_mm = high_mm - THIRD * (high_mm - low_mm);

        if (push_about_N(grid, across, x_mm, one_mm) < push_about_N(grid, across, x_mm, two_mm))
            high_mm = two_mm;
        else
            low_mm = one_mm;
    }
    return push_about_N(grid, across, x_mm, (low_mm + high_mm) / 2.0);
}

/* Ahead of the push and behind it: centres ever farther off, then closer about the best of them. */
static double turns_at_N(const struct grid *grid, const struct across *across)
{
    double length_mm = (double)grid->along * CELL_MM, ratio = pow(FARTHEST / 0.01, 1.0 / (CENTRES - 1));
    double best_N = HUGE_VAL, best_mm = length_mm, low, high;

    for (int i = 0; i < 2 * CENTRES; i++) {
        double off_mm = (i % 2 ? 0.01 : -0.01) * length_mm * pow(ratio, i / 2);
        double push_N = least_at_x_N(grid, across, across->at_mm + off_mm);

        if (push_N < best_N) {
            best_N = push_N;
            best_mm = off_mm;
        }
    }
    low = best_mm / ratio;
    high = best_mm * ratio;
    for (int i = 0; i < THIRDS; i++) {
        double one = low + THIRD * (high - low), two = high - THIRD * (high - low);
        double one_N = least_at_x_N(grid, across, across->at_mm + one);
        double two_N = least_at_x_N(grid, across, across->at_mm + two);

        best_N = fmin(best_N, fmin(one_N, two_N));
        if (one_N < two_N)
            high = two;
        else
            low = one;
    }
    return best_N;
}

static enum tw_status open_grid(const struct lying *lying, struct grid *out, struct tw_findings *findings)
{
    const struct tw_fixture *fixture = &lying->job.fixture;
    double low_mm, high_mm, least_y_mm = HUGE_VAL, most_y_mm = -HUGE_VAL;
    const struct tw_ring *rings[] = { &lying->tang.outer, &lying->blade.outer };

    range(&lying->tang.outer, &low_mm, &high_mm);
    for (size_t i = 0; i < fixture->keep_out_count; i++) {
        double from_mm, to_mm;

        range(&fixture->keep_outs[i].plan, &from_mm, &to_mm);
        low_mm = fmin(low_mm, from_mm);
    }
    for (int k = 0; k < 2; k++)
        for (size_t i = 0; i < rings[k]->count; i++) {
            least_y_mm = fmin(least_y_mm, rings[k]->points[i].y_mm);
            most_y_mm = fmax(most_y_mm, rings[k]->points[i].y_mm);
        }
    *out = (struct grid){ .from_x_mm = low_mm,
                          .from_y_mm = least_y_mm,
                          .along = 1 + (size_t)((high_mm - low_mm) / CELL_MM),
                          .across = 1 + (size_t)((most_y_mm - least_y_mm) / CELL_MM) };
    out->count = out->along * out->across;
    out->cells = calloc(out->count, sizeof *out->cells);
    return out->cells ? TW_OK : tw_no_memory(findings);
}

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

            if (x_mm > last_mm && touching_mm(lying, &pad->plan, x_mm, 0.0) > 0.0)
                last_mm = x_mm;
        }
    }
    return last_mm;
}

static struct across across_of(struct lying *lying, enum tw_side side)
{
    const struct tw_job *job = &lying->job;
    struct across across = { .friction = job->fixture.friction, .ratio = job->wheel.force_ratio_least };
    double carried_mm = last_carried_mm(lying, side), ignored;

    range(&lying->tang.outer, &ignored, &across.at_mm);
    if (job->task.scope == TW_SCOPE_RELIEF)
        across.at_mm -= job->relief.land_mm;
    across.presses_at_mm = carried_mm > 0.0 ? fmin(carried_mm, across.at_mm) : across.at_mm;
    return across;
}

/* As it lies: the lesser of what slides it and what turns it. */
static enum tw_status held_N(const struct tw_job *job, enum tw_side side, double *force_N, struct tw_findings *findings)
{
    const struct tw_fixture *fixture = &job->fixture;
    struct lying lying;
    struct grid grid = { 0 };
    enum tw_status status = open_lying(job, side, &lying, findings);

    if (status == TW_OK)
        status = open_grid(&lying, &grid, findings);
    if (status == TW_OK) {
        double pressed_N;

        lying.grid = &grid;
        pressed_N = magnet_N(&lying, side);
        pressed_N += press_clamps(&lying, side);
        *force_N = fixture->friction * pressed_N / fixture->holding_safety;
        if (job->wheel.kind == TW_WHEEL_CUP && *force_N > 0.0) {
            struct across across = across_of(&lying, side);

            close_up(&grid);
            *force_N = fmin(*force_N, turns_at_N(&grid, &across) / fixture->holding_safety);
        }
    }
    tw_outline_free(&lying.tang);
    tw_outline_free(&lying.blade);
    free(lying.meetings);
    free(grid.cells);
    return status;
}

enum tw_status tw_witness_hold(const struct tw_job *job, enum tw_side side, double *force_N,
                               struct tw_findings *findings)
{
    enum tw_status status = held_N(job, side, force_N, findings);
    struct tw_job again = *job;
    double again_N;

    if (status != TW_OK || side == TW_SIDE_B || job->task.scope != TW_SCOPE_ROUGH || job->one_face)
        return status;
    again.task.over_ground = true; /* it may be run once more when side B is roughed */
    status = held_N(&again, side, &again_N, findings);
    if (status == TW_OK)
        *force_N = fmin(*force_N, again_N);
    return status;
}

/* ---- what hangs free ---- */

#define HARD_STEEL_N_PER_MM2 210e3

/* Width of the blank at x; where it has none, as in a hole across all of it, a hair. */
static double wide_mm(struct lying *lying, double x_mm)
{
    bool hollowed = lying->hollowed;
    double wide_mm;

    lying->hollowed = false;
    wide_mm = touching_mm(lying, NULL, x_mm, 0.0);
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
