/* effort.c - how much work it will be to prove a program, before it is begun. */
#include "verdict/effort.h"

#include "geometry/ring.h"
#include "tangwright/history.h"
#include "tangwright/verdict.h"
#include "tangwright/warm.h"
#include "verdict/workpiece.h"

#include <math.h>

/* Fitted to some 55 dry-runs, three of them set back by hand on one core of a small, busy server: see docs/measurements.md. */
#define CELL_S   9.0e-8
#define MOVE_S   2.1e-5
#define ALONG_S  2.5e-10
#define ASLANT_S 2.1e-9
#define UPDATE_S 1.5e-9
#define WAIT_S   1.0e-8
/* A cell of a field: three heights and a kind. Fields of two programs' parts stand at once. */
#define CELL_BYTES 13.0

/* One part as the work is counted: the box of its fine field in the trace's frame, and how high it stands. */
struct place {
    double low_mm[2], high_mm[2], top_mm;
    double cell_mm, plate_cells;
    bool disc;
    double reach_mm[2]; /* of the wheel, along and across */
};

static double plate_cells(const struct tw_job *job, struct tw_box tang)
{
    return (tang.max_x_mm - tang.min_x_mm + tw_history_blade_mm(-tw_taper_begin_mm(job))) *
           (tang.max_y_mm - tang.min_y_mm) / (TW_HISTORY_CELL_MM * TW_HISTORY_CELL_MM);
}

static struct place place_of(const struct tw_job *job, const struct tw_witness_face *face, int part, double cell_mm)
{
    struct tw_box box = tw_ring_box(&job->part.tang.outer);
    bool disc = job->wheel.kind == TW_WHEEL_DISC, mirrored = face->side == TW_SIDE_B;
    double radius_mm = job->wheel.diameter_mm / 2.0, origin_mm[3];

    tw_trace_origin(&job->machine, &job->fixture.stations[part], origin_mm);
    return (struct place){
        .low_mm = { origin_mm[0] + box.min_x_mm - TW_WORKPIECE_BLADE_MM,
                    origin_mm[1] + (mirrored ? -box.max_y_mm : box.min_y_mm) },
        .high_mm = { origin_mm[0] + box.max_x_mm, origin_mm[1] + (mirrored ? -box.min_y_mm : box.max_y_mm) },
        .top_mm = origin_mm[2] + 1.5 * face->blank_mm,
        .cell_mm = cell_mm,
        .plate_cells = plate_cells(job, box),
        .disc = disc,
        .reach_mm = { disc ? sqrt(job->wheel.diameter_mm * job->taper.ricasso_mm) : radius_mm,
                      disc ? job->wheel.width_mm / 2.0 : radius_mm },
    };
}

/* Side of the step's box, widened by the wheel, that lies over the field. */
static double over_mm(const struct place *place, const struct tw_step *step, int axis)
{
    double low = fmin(step->from_mm[axis], step->to_mm[axis]) - place->reach_mm[axis];
    double high = fmax(step->from_mm[axis], step->to_mm[axis]) + place->reach_mm[axis];

    return fmax(0.0, fmin(high, place->high_mm[axis]) - fmax(low, place->low_mm[axis]));
}

static void add_step(const struct place *place, const struct tw_step *step, struct tw_effort *effort)
{
    double cells = over_mm(place, step, 0) * over_mm(place, step, 1) / (place->cell_mm * place->cell_mm);
    double length_mm = hypot(step->to_mm[0] - step->from_mm[0], step->to_mm[1] - step->from_mm[1]);

    effort->waits += place->plate_cells * step->time_s;
    if (step->kind == TW_STEP_DWELL || cells <= 0.0 || fmin(step->from_mm[2], step->to_mm[2]) > place->top_mm)
        return;
    effort->moves += 1.0;
    *(place->disc || step->from_mm[1] == step->to_mm[1] ? &effort->along : &effort->aslant) += cells;
    if (step->kind == TW_STEP_FEED && length_mm > 0.0)
        effort->updates += place->plate_cells * ceil(length_mm / TW_WARM_SLICE_MM);
}

/* Of what a further blank's sweeps of a relief would cost, so much is left where they are taken over from the first. */
#define LED_SHARE 0.2

static bool is_surveyed(const struct tw_job *job)
{
    bool surveyed = job->survey.count > 0;

    for (size_t i = 0; i < job->blank_count; i++)
        surveyed |= job->blanks[i].survey.count > 0;
    return surveyed;
}

size_t tw_effort_blanks(const struct tw_job *job)
{
    if (job->taper.band_mm > 0.0)
        return TW_BAND_COUNT;
    return is_surveyed(job) ? TW_BAND_THICK + 1 : TW_BAND_STATED + 1;
}

/* Of the sweeps of all blanks, what has to be done. With z zero on each ricasso no motion is the same on two blanks. */
static double swept_share(const struct tw_job *job)
{
    double blanks = (double)tw_effort_blanks(job);

    if (job->task.scope != TW_SCOPE_RELIEF || job->taper.zero == TW_ZERO_RICASSO)
        return 1.0;
    return (1.0 + LED_SHARE * (blanks - 1.0)) / blanks;
}

void tw_effort_add(const struct tw_job *job, enum tw_side side, const struct tw_trace *trace, double cell_mm,
                   struct tw_effort *effort)
{
    struct tw_witness_face face = tw_witness_face(job, side);
    struct tw_effort own = { 0 };
    /* The blanks of a relief are followed at once. */
    double at_once = job->task.scope == TW_SCOPE_RELIEF ? (double)tw_effort_blanks(job) : 1.0;

    for (int part = 0; part < job->parts; part++) {
        struct place place = place_of(job, &face, part, cell_mm);

        double cells =
            (place.high_mm[0] - place.low_mm[0]) * (place.high_mm[1] - place.low_mm[1]) / (cell_mm * cell_mm);

        own.cells += cells;
        for (size_t i = 0; i < trace->count; i++)
            add_step(&place, &trace->steps[i], &own);
    }
    effort->cells += own.cells;
    effort->largest = fmax(effort->largest, at_once * own.cells);
    effort->moves += own.moves;
    effort->along += swept_share(job) * own.along;
    effort->aslant += swept_share(job) * own.aslant;
    effort->updates += own.updates;
    effort->waits += own.waits;
}

double tw_effort_bytes(const struct tw_effort *effort)
{
    return 2.0 * CELL_BYTES * effort->largest;
}

double tw_effort_s(const struct tw_effort *effort)
{
    return CELL_S * effort->cells + MOVE_S * effort->moves + ALONG_S * effort->along + ASLANT_S * effort->aslant +
           UPDATE_S * effort->updates + WAIT_S * effort->waits;
}
