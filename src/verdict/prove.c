/* prove.c - driving a program's steps over the part.
 *
 * Each part stands on its own station; each step is looked at from each of them, whichever work offset it was
 * written for, because the wheel does not know about offsets. */
#include "verdict/prove.h"

#include "base/numbers.h"
#include "verdict/ahead.h"
#include "verdict/thermal_run.h"
#include "verdict/finishing.h"
#include "verdict/give.h"
#include "verdict/level.h"
#include "verdict/floor.h"
#include "verdict/load.h"
#include "verdict/record.h"
#include "verdict/remarks.h"
#include "verdict/state.h"
#include "witness/hold.h"
#include "witness/passing.h"
#include "witness/task.h"
#include "tangwright/rim.h"
#include "verdict/worn.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* Length of the pieces of a motion in which depth, width and heat are looked at. */
#define SLICE_MM TW_WARM_SLICE_MM
/* The program may go below the target, and into the blade's face at the taper start, by this. */
#define GOUGE_MM 0.002
/* A wheel no higher than this over the stock is taken to rub on it. */
#define RUBBING_MM 0.005
/* The wheel may come nearer to anything than its clearance by what rounded positions make. */
#define NEARER_MM 1e-3
/* Of what a wheel could hollow, in per cent, so much may stay: loops are thinned; a disc is not taken to strips that would
 * not be worth a trough. */
#define CUP_MISSES  1.0
#define DISC_MISSES 15.0

struct proving {
    const struct tw_job *whole_job; /* as read, with the blank on this part's station */
    const struct tw_job *job;       /* as the program in hand finds it */
    struct tw_job whole_own, own;   /* which these two are */
    struct tw_proof *proof;
    struct tw_workpiece stand, *workpiece; /* which is the stand */
    struct tw_sweep *fine, *coarse, *near; /* coarse: NULL where the stand is not surrounded */
    const struct proving *leader;  /* the same part of the blank that is driven before this one; NULL: none is */
    struct tw_twin *twin;          /* of the fine field and the leader's; NULL: each is swept by itself */
    struct tw_removal found;       /* by the fine sweep on the step in hand */
    struct tw_box stale;           /* where stock was cut since the near field was told; empty: nowhere */
    struct tw_wheel_body wide;     /* larger by the rapids' clearance */
    double clearance_mm;           /* of rapids */
    struct tw_thermal_run thermal; /* of the part's temperatures */
    struct tw_finishing finishing;
    struct tw_give give;   /* of machine and part, over all programs of the side */
    double origin_mm[3];   /* of the part's setup frame, in the trace's frame */
    struct tw_floor floor; /* below everything, in that frame */
    double lower_mm; /* by which the zero of other parts may lie lower than this one's: their blanks are thinner */
    bool fixture;    /* look at what stands about the tang too; of several blanks one is enough */
    int part;
    struct tw_worn *worn; /* of the wheel, by all parts, since it was touched off for the program in hand */
    double worn_mm3;      /* of steel, gone when the wheel was last at work on this part */
    struct tw_findings *findings;
};

static double decimal_mm(const struct tw_job *job)
{
    const struct tw_dialect *dialect = &job->machine.dialect;

    return tw_last_decimal_mm(dialect->length_decimals, dialect->inch);
}

static struct tw_spot spot_of(const struct proving *proving, const struct tw_step *step, const double place_mm[3])
{
    return (struct tw_spot){ step->line, proving->part, place_mm };
}

/* ---- what a cut must find ---- */

/* Counting cells, a slice may be found a cell wider than it is; along one axis the cut is no wider than all that the
 * motion cut. */
static double width_of(const struct tw_removal *removal, const struct tw_slice *slice, const double from_mm[3],
                       const double to_mm[3])
{
    if (from_mm[1] == to_mm[1])
        return fmin(slice->width_mm, removal->y_to_mm - removal->y_from_mm);
    if (from_mm[0] == to_mm[0])
        return fmin(slice->width_mm, removal->x_to_mm - removal->x_from_mm);
    return slice->width_mm;
}

static struct tw_load load_of(const struct tw_removal *removal, const struct tw_slice *slice, const double from_mm[3],
                              const double to_mm[3])
{
    bool sinks = from_mm[0] == to_mm[0] && from_mm[1] == to_mm[1];

    return (struct tw_load){
        /* Heights are kept as floats: what they may add to a depth is not the program's doing. */
        .depth_mm = slice->depth_mm - TW_REMOVAL_TOUCH_MM,
        .mean_mm = slice->contact_mm2 > 0.0 ? slice->volume_mm3 / slice->contact_mm2 : 0.0,
        .width_mm = sinks ? removal->y_to_mm - removal->y_from_mm : width_of(removal, slice, from_mm, to_mm),
        .contact_mm2 = slice->contact_mm2,
        .sinks = sinks,
    };
}

/* Zeros are touched off part by part: what counts from another part's is only right while they lie as the profile says. */
static void check_offset(const struct proving *proving, const struct tw_step *step, struct tw_spot spot)
{
    int own = proving->whole_job->fixture.stations[proving->part - 1].work_offset;

    if (step->work_system != own)
        tw_check_fault(&proving->proof->checks[TW_CHECK_OFFSETS], spot,
                       "%s is in force where part %d is cut, which lies at %s", tw_rs274_system_name(step->work_system),
                       proving->part, tw_rs274_system_name(own));
}

static enum tw_status check_slice(struct proving *proving, const struct tw_step *step, const struct tw_slice *slice,
                                  const struct tw_load *load, double over_mm, const double place_mm[3])
{
    struct tw_check *checks = proving->proof->checks;
    struct tw_spot spot = spot_of(proving, step, place_mm);
    double tangential_N;
    enum tw_status status;

    check_offset(proving, step, spot);
    tw_state_check(proving->job, step, spot, checks);
    tw_check_note(&checks[TW_CHECK_DEPTH], slice->depth_mm, spot);
    if (step->kind == TW_STEP_RAPID)
        tw_check_note(&checks[TW_CHECK_RAPIDS], proving->clearance_mm + slice->depth_mm, spot);
    tw_check_note(&checks[TW_CHECK_LIFT], slice->depth_mm, spot);
    if (checks[TW_CHECK_FINISHING].asked)
        tw_finishing_cut(&proving->finishing, over_mm, slice->depth_mm, spot);
    status = tw_load_check(proving->job, step, load, spot, checks, &tangential_N, proving->findings);
    tw_give_cut(&proving->give, tangential_N, fmin(load->mean_mm, load->depth_mm));
    return status;
}

/* Of the motion's lower end, as it is programmed: within a layer the wheel wears, and its level is still one. */
static double over_face_mm(const struct proving *proving, const double from_mm[3], const double to_mm[3])
{
    const struct tw_witness_face *face = &proving->workpiece->face;
    const struct tw_wheel *wheel = &proving->job->wheel;

    return fmin(tw_level_over_face_mm(face, wheel, from_mm[0], from_mm[2]),
                tw_level_over_face_mm(face, wheel, to_mm[0], to_mm[2])) -
           proving->worn->likely_mm;
}

static enum tw_status check_cut(struct proving *proving, const struct tw_step *step, const double from_mm[3],
                                const double to_mm[3], const struct tw_removal *removal)
{
    double over_mm = over_face_mm(proving, from_mm, to_mm);
    enum tw_status status = TW_OK;

    proving->proof->removed_mm3 += removal->volume_mm3;
    if (removal->slice_count > 0)
        proving->stale = (struct tw_box){ fmin(proving->stale.min_x_mm, removal->x_from_mm),
                                          fmin(proving->stale.min_y_mm, removal->y_from_mm),
                                          fmax(proving->stale.max_x_mm, removal->x_to_mm),
                                          fmax(proving->stale.max_y_mm, removal->y_to_mm) };
    for (size_t i = 0; status == TW_OK && i < removal->slice_count; i++) {
        const struct tw_slice *slice = &removal->slices[i];
        struct tw_load load = load_of(removal, slice, from_mm, to_mm);
        double middle = (slice->from + slice->to) / 2.0;
        double place_mm[3];

        for (int k = 0; k < 3; k++)
            place_mm[k] = from_mm[k] + middle * (to_mm[k] - from_mm[k]);
        if (slice->depth_mm > 2.0 * TW_REMOVAL_TOUCH_MM)
            status = check_slice(proving, step, slice, &load, over_mm, place_mm);
    }
    return status;
}

/* ---- what must not be touched ---- */

static const char *const kind_names[TW_CELL_KINDS] = {
    "stock, with a part that does not cut", "target", "blade", "pad", "pin", "clamp", "fixture body"
};

static const char *kind_name(const struct proving *proving, int kind)
{
    if (kind == TW_CELL_BLADE && tw_witness_assumes_blade(proving->job))
        return "the blade that is assumed ahead of the taper start, as the drawing shows none";
    return kind_names[kind];
}

static void check_contacts(struct proving *proving, const struct tw_step *step, const struct tw_removal *removal)
{
    struct tw_check *checks = proving->proof->checks;

    for (int kind = 0; kind < TW_CELL_KINDS; kind++) {
        const struct tw_touch *touch = &removal->contacts[kind];
        double place_mm[3] = { touch->x_mm, touch->y_mm, touch->z_mm };
        /* The taper starts on the blade's own face. */
        double allowed_mm = kind == TW_CELL_BLADE ? GOUGE_MM : 0.0;

        if (touch->depth_mm <= 0.0)
            continue;
        if (kind == TW_CELL_TARGET) {
            tw_check_note(&checks[TW_CHECK_GOUGE], touch->depth_mm, spot_of(proving, step, place_mm));
            continue;
        }
        if (touch->depth_mm > checks[TW_CHECK_CONTACT].amount + allowed_mm && touch->depth_mm > allowed_mm)
            snprintf(checks[TW_CHECK_CONTACT].note, sizeof checks[TW_CHECK_CONTACT].note, "%s",
                     kind_name(proving, kind));
        tw_check_note(&checks[TW_CHECK_CONTACT], touch->depth_mm - allowed_mm, spot_of(proving, step, place_mm));
    }
}

/* A rapid that only goes up leaves the work alone. */
static bool only_rises(const double from_mm[3], const double to_mm[3])
{
    return from_mm[0] == to_mm[0] && from_mm[1] == to_mm[1] && to_mm[2] > from_mm[2];
}

/* What a wheel would touch on a path lower by `down_mm`: nothing is cut. */
static enum tw_status probe(struct proving *proving, struct tw_sweep *sweep, const struct tw_wheel_body *body,
                            const double from_mm[3], const double to_mm[3], double down_mm, struct tw_removal *out)
{
    double low_from[3] = { from_mm[0], from_mm[1], from_mm[2] - down_mm };
    double low_to[3] = { to_mm[0], to_mm[1], to_mm[2] - down_mm };

    return tw_sweep_probe(sweep, body, low_from, low_to, out, proving->findings);
}

static const struct tw_box nowhere = { HUGE_VAL, HUGE_VAL, -HUGE_VAL, -HUGE_VAL };

static void refresh_near(struct proving *proving)
{
    if (proving->stale.min_x_mm <= proving->stale.max_x_mm)
        tw_workpiece_refresh_near(proving->workpiece, proving->stale);
    proving->stale = nowhere;
}

/* How much nearer than the clearance the wheel comes to anything: a wheel larger by it is driven along a path that is
 * lower by it. */
static enum tw_status check_rapid(struct proving *proving, const struct tw_step *step, const double from_mm[3],
                                  const double to_mm[3])
{
    struct tw_sweep *sweeps[3] = { proving->fine, proving->near, proving->coarse };
    bool low = fmin(from_mm[2], to_mm[2]) - proving->clearance_mm < proving->workpiece->top_mm;
    enum tw_status status;

    if (only_rises(from_mm, to_mm))
        return TW_OK;
    if (low)
        refresh_near(proving);
    for (int i = 0; i < 3; i++) {
        struct tw_removal removal;

        if (!sweeps[i] || (sweeps[i] == proving->near && !low))
            continue;
        status = probe(proving, sweeps[i], &proving->wide, from_mm, to_mm, proving->clearance_mm, &removal);
        if (status != TW_OK)
            return status;
        for (int kind = 0; kind < TW_CELL_KINDS; kind++) {
            const struct tw_touch *touch = &removal.contacts[kind];
            double place_mm[3] = { touch->x_mm, touch->y_mm, touch->z_mm + proving->clearance_mm };

            if (touch->depth_mm > 0.0 && kind != TW_CELL_TARGET)
                tw_check_note(&proving->proof->checks[TW_CHECK_RAPIDS], touch->depth_mm,
                              spot_of(proving, step, place_mm));
        }
    }
    return TW_OK;
}

/* How much of the fixture's own clearance a feed lacks. */
static void check_clearance(struct proving *proving, const struct tw_step *step, const double from_mm[3],
                            const double to_mm[3])
{
    const struct tw_fixture *fixture = &proving->job->fixture;
    struct tw_check *check = &proving->proof->checks[TW_CHECK_CLEARANCE];

    if (step->kind == TW_STEP_RAPID || !proving->fixture || !check->asked)
        return;
    for (size_t i = 0; i < fixture->keep_out_count; i++) {
        const struct tw_keep_out *keep_out = &fixture->keep_outs[i];
        double way, place_mm[3], lacks_mm = fixture->clearance_mm;

        if (!tw_witness_stands(keep_out, proving->proof->side))
            continue;
        lacks_mm -= tw_witness_passing_mm(proving->job, keep_out, from_mm, to_mm, fixture->clearance_mm, &way);
        for (int k = 0; k < 3; k++)
            place_mm[k] = from_mm[k] + way * (to_mm[k] - from_mm[k]);
        if (lacks_mm > check->amount && lacks_mm > check->limit)
            snprintf(check->note, sizeof check->note, "%.3g mm from \"%.80s\"", fixture->clearance_mm - lacks_mm,
                     keep_out->name);
        tw_check_note(check, lacks_mm, spot_of(proving, step, place_mm));
    }
}

/* A wheel that passes over a face already ground, as in spark-out, is at work although it removes nothing. Only looked
 * for where something is amiss. */
static enum tw_status check_rubbing(struct proving *proving, const struct tw_step *step, const double from_mm[3],
                                    const double to_mm[3])
{
    struct tw_check ignored[TW_CHECK_COUNT] = { 0 };
    struct tw_spot spot = spot_of(proving, step, NULL);
    struct tw_wheel_body body = tw_workpiece_wheel(proving->job, 0.0);
    struct tw_removal removal;
    enum tw_status status;

    if (step->kind != TW_STEP_FEED || fmin(from_mm[2], to_mm[2]) - RUBBING_MM >= proving->workpiece->top_mm ||
        tw_state_check(proving->job, step, spot, ignored))
        return TW_OK;
    refresh_near(proving);
    status = probe(proving, proving->near, &body, from_mm, to_mm, RUBBING_MM, &removal);
    if (status == TW_OK && removal.contacts[TW_CELL_STOCK].depth_mm > 0.0) {
        const struct tw_touch *touch = &removal.contacts[TW_CELL_STOCK];

        spot.place_mm = (double[3]){ touch->x_mm, touch->y_mm, touch->z_mm + RUBBING_MM };
        tw_state_check(proving->job, step, spot, proving->proof->checks);
    }
    return status;
}

/* ---- what deserves a look ---- */

/* A wheel that turns on one place so long burns it or wears a hollow. */
#define STANDING_S 1.0
/* Slower than this a wheel in contact rubs more than it cuts. */
#define SLOW_MM_PER_S 0.5

static enum tw_status touches_stock(struct proving *proving, const double from_mm[3], const double to_mm[3], bool *out)
{
    struct tw_wheel_body body = tw_workpiece_wheel(proving->job, 0.0);
    struct tw_removal removal = { 0 };
    enum tw_status status = TW_OK;

    *out = false;
    if (fmin(from_mm[2], to_mm[2]) - RUBBING_MM >= proving->workpiece->top_mm)
        return TW_OK;
    refresh_near(proving);
    status = probe(proving, proving->near, &body, from_mm, to_mm, RUBBING_MM, &removal);
    *out = status == TW_OK && removal.contacts[TW_CELL_STOCK].depth_mm > 0.0;
    return status;
}

static enum tw_status remark_standing(struct proving *proving, const struct tw_step *step)
{
    double at_mm[3];
    bool touches;
    enum tw_status status;

    if (!proving->fixture || step->dwell_s < STANDING_S || step->spindle == TW_RS274_SPINDLE_OFF)
        return TW_OK;
    for (int i = 0; i < 3; i++)
        at_mm[i] = step->to_mm[i] - proving->origin_mm[i];
    status = touches_stock(proving, at_mm, at_mm, &touches);
    if (touches)
        tw_proof_remark(proving->proof, TW_REMARK_STANDS, step->line,
                        "the turning wheel stands on the steel for %.3g s", step->dwell_s);
    return status;
}

static enum tw_status remark_slow(struct proving *proving, const struct tw_step *step, const double from_mm[3],
                                  const double to_mm[3])
{
    bool touches;
    enum tw_status status;

    if (!proving->fixture || step->kind != TW_STEP_FEED || step->feed_mm_per_s >= SLOW_MM_PER_S ||
        (from_mm[0] == to_mm[0] && from_mm[1] == to_mm[1]))
        return TW_OK;
    status = touches_stock(proving, from_mm, to_mm, &touches);
    if (touches)
        tw_proof_remark(proving->proof, TW_REMARK_RUBS, step->line,
                        "fed over the steel at %.3g mm/s; below %.3g mm/s a wheel rubs more than it cuts",
                        step->feed_mm_per_s, SLOW_MM_PER_S);
    return status;
}

/* How far beyond the tang the programmed point has business: run-outs, and for a cup its whole rim. */
static double business_mm(const struct tw_job *job, int axis)
{
    const struct tw_wheel *wheel = &job->wheel;

    if (wheel->kind == TW_WHEEL_CUP)
        return job->travel.overtravel_mm + wheel->diameter_mm;
    return job->travel.overtravel_mm +
           (axis == 0 ? sqrt(wheel->diameter_mm * job->taper.ricasso_mm) : wheel->width_mm + 1.0);
}

/* By how much a place, in the trace's frame, lies beyond that ahead of each part, or on any side of it. */
static bool is_astray(const struct proving *proving, const double place_mm[3], bool *ahead)
{
    const struct tw_job *job = proving->job;
    const struct tw_field *fine = &proving->workpiece->fine;
    double low_mm[2] = { fine->x_mm + TW_WORKPIECE_BLADE_MM, fine->y_mm };
    double high_mm[2] = { fine->x_mm + fine->columns * fine->cell_mm, fine->y_mm + fine->rows * fine->cell_mm };
    bool astray = true;

    for (int part = 0; part < job->parts; part++) {
        double origin_mm[3];
        bool near = true;

        tw_trace_origin(&job->machine, &job->fixture.stations[part], origin_mm);
        for (int k = 0; k < 2; k++) {
            double at_mm = place_mm[k] - origin_mm[k], more_mm = business_mm(job, k);

            near &= at_mm >= low_mm[k] - more_mm && at_mm <= high_mm[k] + more_mm;
        }
        *ahead = place_mm[0] - origin_mm[0] < low_mm[0] - business_mm(job, 0);
        astray &= !near;
    }
    return astray;
}

static void remark_way(struct proving *proving, const struct tw_step *step)
{
    bool ahead = false;

    if (step->kind != TW_STEP_FEED || proving->part != 1 || !proving->fixture ||
        !is_astray(proving, step->to_mm, &ahead))
        return;
    if (ahead)
        tw_proof_remark(proving->proof, TW_REMARK_OVER_BLADE, step->line,
                        "fed over the blade, farther ahead of the taper start than a run-out needs");
    else
        tw_proof_remark(proving->proof, TW_REMARK_ASTRAY, step->line, "fed where nothing is to be ground");
}

static void remark_ahead(struct proving *proving, const struct tw_step *step, const double from_mm[3],
                         const double to_mm[3])
{
    struct tw_ahead ahead;

    if (step->kind == TW_STEP_FEED && proving->fixture &&
        tw_ahead_is_low(proving->job, proving->workpiece, from_mm, to_mm, proving->clearance_mm, &ahead))
        tw_proof_remark(
            proving->proof, TW_REMARK_LOW_OVER_BLADE, step->line,
            "fed %.3g mm over the blade, %.3g mm ahead of the taper start: nearer than %.3g mm, and farther "
            "than a run-out needs",
            ahead.gap_mm, ahead.ahead_mm, proving->clearance_mm);
}

/* ---- one step on one part ---- */

static void place_step(const struct proving *proving, const struct tw_step *step, double from_mm[3], double to_mm[3])
{
    int own = proving->whole_job->fixture.stations[proving->part - 1].work_offset;

    for (int i = 0; i < 3; i++) {
        from_mm[i] = step->from_mm[i] - proving->origin_mm[i];
        to_mm[i] = step->to_mm[i] - proving->origin_mm[i];
    }
    if (step->work_system != own) {
        from_mm[2] -= proving->lower_mm;
        to_mm[2] -= proving->lower_mm;
    }
    from_mm[2] += proving->worn->likely_mm;
    to_mm[2] += proving->worn->likely_mm;
}

/* A feed in this part's own system, or whatever takes steel off it. */
static bool works_on(const struct proving *proving, const struct tw_step *step, double volume_mm3)
{
    return volume_mm3 > 0.0 ||
           (step->kind == TW_STEP_FEED &&
            step->work_system == proving->whole_job->fixture.stations[proving->part - 1].work_offset);
}

static enum tw_status sweep_fine(struct proving *proving, const double from_mm[3], const double to_mm[3],
                                 struct tw_removal *out)
{
    enum tw_status status =
        proving->twin ? tw_twin_line(proving->twin, from_mm, to_mm, &proving->leader->found, out, proving->findings)
                      : tw_sweep_line(proving->fine, from_mm, to_mm, out, proving->findings);

    proving->found = *out;
    return status;
}

/* Adds to *volume_mm3 what it takes off this part. */
static enum tw_status drive_step(struct proving *proving, const struct tw_step *step, double *volume_mm3)
{
    struct tw_sweep *sweeps[2] = { proving->fine, proving->coarse };
    double from_mm[3], to_mm[3];
    enum tw_status status = tw_thermal_run_ready(&proving->thermal, step);

    if (status != TW_OK)
        return status;
    place_step(proving, step, from_mm, to_mm);
    tw_give_step(&proving->give, step, from_mm, to_mm, over_face_mm(proving, from_mm, to_mm));
    tw_floor_check(&proving->floor, step, from_mm, to_mm, proving->clearance_mm, spot_of(proving, step, NULL),
                   proving->proof->checks);
    if (step->kind == TW_STEP_RAPID)
        status = check_rapid(proving, step, from_mm, to_mm);
    else
        status = check_rubbing(proving, step, from_mm, to_mm);
    check_clearance(proving, step, from_mm, to_mm);
    remark_way(proving, step);
    remark_ahead(proving, step, from_mm, to_mm);
    if (status == TW_OK)
        status = remark_slow(proving, step, from_mm, to_mm);
    for (int i = 0; status == TW_OK && i < 2 && sweeps[i]; i++) {
        struct tw_removal removal;

        status = sweeps[i] == proving->fine ? sweep_fine(proving, from_mm, to_mm, &removal)
                                            : tw_sweep_line(sweeps[i], from_mm, to_mm, &removal, proving->findings);
        if (status == TW_OK) {
            check_contacts(proving, step, &removal);
            status = check_cut(proving, step, from_mm, to_mm, &removal);
        }
        if (status == TW_OK && sweeps[i] == proving->fine) {
            *volume_mm3 += removal.volume_mm3;
            if (works_on(proving, step, removal.volume_mm3))
                proving->worn_mm3 = proving->worn->volume_mm3 + removal.volume_mm3;
            status =
                tw_thermal_run_step(&proving->thermal, step, from_mm, to_mm, &removal, spot_of(proving, step, NULL));
        }
    }
    return status;
}

/* ---- what is left ---- */

/* How far beside a motion, seen from above, a place lies; *way: the part of the motion done when it is nearest. */
static double beside_mm(const struct proving *proving, const struct tw_step *step, const double place_mm[3],
                        double *way)
{
    double by[2], off[2], length2 = 0.0, along = 0.0;

    for (int k = 0; k < 2; k++) {
        by[k] = step->to_mm[k] - step->from_mm[k];
        off[k] = place_mm[k] + proving->origin_mm[k] - step->from_mm[k];
        length2 += by[k] * by[k];
        along += by[k] * off[k];
    }
    *way = length2 > 0.0 ? fmin(1.0, fmax(0.0, along / length2)) : 1.0;
    return hypot(off[0] - *way * by[0], off[1] - *way * by[1]);
}

/* The line of the last feed that passed over a place lower than any before it: after it something is missing. */
static int line_that_left(const struct proving *proving, const struct tw_trace *trace, const double place_mm[3])
{
    double lowest_mm = HUGE_VAL, reach_mm = proving->job->wheel.diameter_mm / 2.0, way;
    int line = trace->last_line;

    if (proving->job->wheel.kind == TW_WHEEL_DISC)
        reach_mm = proving->job->wheel.width_mm / 2.0;
    for (size_t i = 0; i < trace->count; i++) {
        const struct tw_step *step = &trace->steps[i];

        if (step->kind == TW_STEP_FEED && beside_mm(proving, step, place_mm, &way) <= reach_mm) {
            double z_mm = step->from_mm[2] + way * (step->to_mm[2] - step->from_mm[2]);

            if (z_mm < lowest_mm)
                line = step->line;
            lowest_mm = fmin(lowest_mm, z_mm);
        }
    }
    return line;
}

static void measure_part(struct proving *proving, const struct tw_trace *trace)
{
    struct tw_check *checks = proving->proof->checks;
    struct tw_workpiece_result result = tw_workpiece_measure(proving->workpiece);
    struct tw_spot spot = { line_that_left(proving, trace, result.high_place_mm), proving->part, result.high_place_mm };
    struct tw_box tang = tw_ring_box(&proving->job->part.tang.outer);
    /* The field knows a flat rim only: what a head out of square leaves higher beside its lowest point comes on top. */
    double dish_mm = tw_rim_dish_mm(proving->job->wheel.diameter_mm, proving->job->machine.head_tilt_rad,
                                    tang.max_y_mm - tang.min_y_mm);

    tw_check_note(&checks[TW_CHECK_STOCK_LEFT], result.high_mm + dish_mm, spot);
    tw_check_note(&checks[TW_CHECK_FLATNESS], result.high_mm - result.low_mm + dish_mm, spot);
}

/* Whether the program leaves the face at its height. */
static bool finishes_face(enum tw_scope scope)
{
    return scope == TW_SCOPE_WHOLE || scope == TW_SCOPE_FINISH;
}

/* The same, by a wheel whose wear is known. */
static bool wears_face(const struct tw_job *job, enum tw_scope scope)
{
    return finishes_face(scope) && tw_grinding_ratio_of(job).least > 0.0;
}

static void measure_give(struct proving *proving)
{
    struct tw_give *give = &proving->give;
    struct tw_check *check = &proving->proof->checks[TW_CHECK_SPRING_BACK];
    double place_mm[3] = { give->spot_mm[0], give->spot_mm[1],
                           tw_workpiece_stock_mm(proving->workpiece, give->spot_mm[0], give->spot_mm[1]) };

    tw_give_end(give);
    if (!give->passed)
        return;
    if (give->worst_mm - give->lowest_mm > check->amount)
        snprintf(check->note, sizeof check->note, "%.4f mm as the profiles say", give->stated_mm - give->lowest_mm);
    tw_check_note(check, give->worst_mm - give->lowest_mm,
                  (struct tw_spot){ 0, proving->part, isfinite(place_mm[2]) ? place_mm : NULL });
}

static void measure_wear(struct proving *proving)
{
    struct tw_workpiece_result result = tw_workpiece_measure(proving->workpiece);

    tw_check_note(&proving->proof->checks[TW_CHECK_WEAR],
                  tw_worn_off_mm(proving->worn, proving->worn_mm3, result.low_mm, result.high_mm),
                  (struct tw_spot){ 0, proving->part, result.high_place_mm });
}

/* Half thickness at a few places along the first part's tang. */
static void gauge_part(struct proving *proving)
{
    const struct tw_job *job = proving->job;
    const struct tw_witness_face *face = &proving->workpiece->face;

    for (int i = 0; i < TW_GAUGE_POINTS; i++) {
        struct tw_gauge *gauge = &proving->proof->gauges[i];
        double x_mm = job->taper.length_mm * (0.02 + 0.96 * i / (TW_GAUGE_POINTS - 1));
        double setup_x_mm = tw_witness_place(face, (struct tw_point){ x_mm, 0.0 }).x_mm;
        double height_mm = tw_workpiece_height_mm(proving->workpiece, setup_x_mm);

        gauge->x_mm = x_mm;
        /* Where the taper takes less than the allowance, nothing comes off. */
        gauge->aim_mm = fmin(job->taper.ricasso_mm / 2.0, tw_witness_half_mm(face, x_mm));
        /* Turned back with the part, the face lies this high over the pad; the centre plane half a ricasso. */
        if (face->tilt_rad != 0.0)
            height_mm = (height_mm - setup_x_mm * tan(face->tilt_rad)) * cos(face->tilt_rad);
        gauge->half_mm = height_mm - job->taper.ricasso_mm / 2.0;
    }
}

/* ---- all parts ---- */

/* `leaves_face`: the side is finished after it. */
static void ask_all(const struct tw_job *job, double holding_N, struct tw_proof *proof, bool leaves_face)
{
    struct tw_check *checks = proof->checks;
    double decimals_mm = decimal_mm(job);

    tw_check_ask(&checks[TW_CHECK_SPINDLE], 0.0, "");
    tw_check_ask(&checks[TW_CHECK_COOLANT], 0.0, "");
    tw_check_ask(&checks[TW_CHECK_RAPIDS], NEARER_MM, "mm");
    tw_check_ask(&checks[TW_CHECK_CONTACT], TW_REMOVAL_TOUCH_MM, "mm");
    if (job->fixture.clearance_mm > 0.0 && job->fixture.keep_out_count > 0)
        tw_check_ask(&checks[TW_CHECK_CLEARANCE], NEARER_MM, "mm");
    tw_check_ask(&checks[TW_CHECK_DEPTH], job->wheel.max_infeed_mm + decimals_mm, "mm");
    tw_check_ask(&checks[TW_CHECK_POWER], job->machine.spindle_power_W * 1.001, "W");
    tw_check_ask(&checks[TW_CHECK_HOLDING], holding_N * 1.001, "N");
    tw_thermal_run_ask(job, proof);
    tw_check_ask(&checks[TW_CHECK_GOUGE], GOUGE_MM, "mm");
    if (leaves_face) {
        tw_check_ask(&checks[TW_CHECK_STOCK_LEFT], job->finish.flatness_mm, "mm");
        tw_check_ask(&checks[TW_CHECK_FLATNESS], job->finish.flatness_mm, "mm");
    }
    if (finishes_face(proof->scope) && job->finish.spark_out == TW_SPARK_OUT_AUTO) /* else the maker has decided */
        tw_check_ask(&checks[TW_CHECK_SPRING_BACK], job->finish.thickness_mm / 2.0, "mm");
    if (wears_face(job, proof->scope))
        tw_check_ask(&checks[TW_CHECK_WEAR], job->finish.thickness_mm / 2.0, "mm");
    if (job->wheel.dress_after_mm3 > 0.0 && proof->scope != TW_SCOPE_RELIEF)
        tw_check_ask(&checks[TW_CHECK_DRESSING], job->wheel.dress_after_mm3, "mm3");
    if (proof->scope == TW_SCOPE_RELIEF)
        tw_check_ask(&checks[TW_CHECK_RELIEF], job->wheel.kind == TW_WHEEL_DISC ? DISC_MISSES : CUP_MISSES, "%");
    if (proof->lift_mm > 0.0)
        tw_check_ask(&checks[TW_CHECK_LIFT], 0.0, "mm");
    if (tw_finishing_applies(job, proof->scope))
        tw_check_ask(&checks[TW_CHECK_FINISHING], fmin(job->finish.infeed_mm, job->wheel.max_infeed_mm) + decimals_mm,
                     "mm");
}

static enum tw_status open_sweeps(struct proving *proving)
{
    struct tw_wheel_body body = tw_workpiece_wheel(proving->job, 0.0);
    struct tw_field *fields[3] = { &proving->workpiece->fine, &proving->workpiece->near, &proving->workpiece->coarse };
    struct tw_sweep **sweeps[3] = { &proving->fine, &proving->near, &proving->coarse };
    enum tw_status status = TW_OK;

    for (int i = 0; status == TW_OK && i < (proving->workpiece->surrounded ? 3 : 2); i++)
        status = tw_sweep_new(fields[i], &body, fmax(SLICE_MM, fields[i]->cell_mm), sweeps[i], proving->findings);
    return status;
}

static void close_sweeps(struct proving *proving)
{
    tw_twin_free(proving->twin);
    proving->twin = NULL;
    tw_sweep_free(proving->fine);
    tw_sweep_free(proving->coarse);
    tw_sweep_free(proving->near);
    proving->fine = proving->coarse = proving->near = NULL;
}

/* A relief is many small motions, and below the tops of the blanks each finds the same on all of them. Lanes reach over most of
 * the tang, where the blanks differ to the end: there comparing costs more than it saves. */
static enum tw_status open_twin(struct proving *proving)
{
    return proving->leader && proving->proof->scope == TW_SCOPE_RELIEF
               ? tw_twin_new(proving->fine, proving->leader->fine, &proving->twin, proving->findings)
               : TW_OK;
}

static enum tw_status begin_driving(struct proving *proving, bool cut, bool over_ground)
{
    enum tw_status status = open_sweeps(proving);

    if (status == TW_OK)
        status = open_twin(proving);

    if (status == TW_OK)
        status = tw_thermal_run_open(proving->job, proving->workpiece, cut, over_ground, proving->proof,
                                     &proving->thermal, proving->findings);
    if (proving->part == 1) {
        proving->proof->record.pass_count = 0; /* a lifted program is driven twice: the second time counts */
        proving->thermal.record = &proving->proof->record;
    }
    return status;
}

static enum tw_status stand_still(struct proving *proving, const struct tw_step *step)
{
    enum tw_status status = tw_thermal_run_ready(&proving->thermal, step);

    proving->thermal.waiting_s += step->dwell_s;
    return status == TW_OK ? remark_standing(proving, step) : status;
}

/* One step looked at from every part: what one of them loses wears the wheel for all. */
static enum tw_status drive_parts(struct proving *parts, int count, const struct tw_step *step, struct tw_worn *worn)
{
    double volume_mm3 = 0.0;
    enum tw_status status = TW_OK;

    for (int part = 0; status == TW_OK && part < count; part++)
        status =
            step->kind == TW_STEP_DWELL ? stand_still(&parts[part], step) : drive_step(&parts[part], step, &volume_mm3);
    tw_worn_by(worn, volume_mm3);
    if (step->stops)
        tw_worn_dress(worn);
    tw_check_note(&parts[0].proof->checks[TW_CHECK_DRESSING], worn->volume_mm3, (struct tw_spot){ .line = step->line });
    return status;
}

static enum tw_status end_driving(struct proving *proving)
{
    enum tw_status status = tw_thermal_run_end(&proving->thermal);

    if (status == TW_OK && proving->part == 1)
        status =
            tw_record_maps(&proving->proof->record, proving->workpiece, proving->thermal.history, proving->findings);
    proving->proof->peak_degC = fmax(proving->proof->peak_degC, proving->thermal.peak_degC);
    return status;
}

static void stop_driving(struct proving *proving)
{
    tw_thermal_run_close(&proving->thermal);
    close_sweeps(proving);
}

/* Whether nothing more is ground on the side after run `index`. A relief alone is cut into a blank that is tapered later. */
static bool leaves_face(const struct tw_run *runs, size_t count, size_t index)
{
    enum tw_scope scope = runs[index].proof->scope;

    return index + 1 == count && (scope == TW_SCOPE_RELIEF ? index > 0 : scope != TW_SCOPE_ROUGH);
}

/* Between finishing and relief the part stays as it lies. */
static bool lies_on_ground(const struct tw_run *runs, size_t index)
{
    for (size_t i = 0; i <= index; i++)
        if (runs[i].proof->scope == TW_SCOPE_FINISH)
            return true;
    return false;
}

static void measure_relief(struct proving *proving)
{
    struct tw_check *check = &proving->proof->checks[TW_CHECK_RELIEF];
    double place_mm[3];
    double missing = tw_workpiece_measure_relief(proving->workpiece, place_mm);

    tw_check_note(check, 100.0 * missing, (struct tw_spot){ 0, proving->part, place_mm });
}

static enum tw_status begin_run(struct proving *proving, const struct tw_run *runs, size_t index, struct tw_worn *worn)
{
    const struct tw_run *run = &runs[index];

    proving->own = tw_witness_part(&run->job, proving->part - 1);
    proving->job = &proving->own;
    proving->floor = tw_floor_of(proving->job, proving->part - 1);
    proving->wide = tw_workpiece_wheel(proving->job, proving->clearance_mm);
    proving->proof = run->proof;
    proving->worn = worn;
    proving->worn_mm3 = 0.0;
    if (index == 0)
        proving->give = tw_give_begin(proving->workpiece);
    proving->give.job = proving->job;
    proving->stale = (struct tw_box){ -HUGE_VAL, -HUGE_VAL, HUGE_VAL, HUGE_VAL };
    tw_finishing_begin(&proving->finishing, proving->job->finish.layers);
    tw_workpiece_aim(proving->workpiece, run->proof->scope == TW_SCOPE_RELIEF);
    return begin_driving(proving, index > 0 || run->proof->scope != TW_SCOPE_WHOLE, lies_on_ground(runs, index));
}

static enum tw_status end_run(struct proving *proving, const struct tw_run *runs, size_t count, size_t index)
{
    const struct tw_run *run = &runs[index];
    enum tw_status status = end_driving(proving);

    if (run->proof->checks[TW_CHECK_FINISHING].asked)
        tw_finishing_end(&proving->finishing, proving->job, &run->proof->checks[TW_CHECK_FINISHING]);
    if (status == TW_OK && proving->part == 1)
        gauge_part(proving);
    if (status == TW_OK && leaves_face(runs, count, index))
        measure_part(proving, run->trace);
    if (status == TW_OK && finishes_face(run->proof->scope))
        measure_give(proving);
    if (status == TW_OK && wears_face(proving->job, run->proof->scope))
        measure_wear(proving);
    if (status == TW_OK && run->proof->scope == TW_SCOPE_RELIEF)
        measure_relief(proving);
    return status;
}

/* One blank on all stations. */
struct blank {
    const struct tw_run *runs;
    struct proving common; /* to all parts */
    struct proving *parts;
    int opened;
    struct tw_worn worn;
};

/* A program that is refused on its way may have been read farther for one blank than for another: such a one leads none. */
static enum tw_status begin_blank(struct blank *blank, const struct blank *leader, size_t index)
{
    bool led = leader != blank && leader->runs[index].trace->count == blank->runs[index].trace->count;
    enum tw_status status = TW_OK;

    blank->worn = tw_worn_open(&blank->runs[index].job, &blank->parts[0].workpiece->face);
    for (int part = 0; status == TW_OK && part < blank->opened; part++) {
        blank->parts[part].leader = led ? &leader->parts[part] : NULL;
        status = begin_run(&blank->parts[part], blank->runs, index, &blank->worn);
    }
    return status;
}

static enum tw_status end_blank(struct blank *blank, size_t count, size_t index)
{
    enum tw_status status = TW_OK;

    for (int part = 0; status == TW_OK && part < blank->opened; part++)
        status = end_run(&blank->parts[part], blank->runs, count, index);
    return status;
}

static size_t steps_of(const struct blank *blanks, size_t blank_count, size_t index)
{
    size_t most = 0;

    for (size_t i = 0; i < blank_count; i++)
        most = blanks[i].runs[index].trace->count > most ? blanks[i].runs[index].trace->count : most;
    return most;
}

/* One program over all parts of all blanks at once. */
static enum tw_status run_on_blanks(struct blank *blanks, size_t blank_count, size_t count, size_t index)
{
    size_t steps = steps_of(blanks, blank_count, index);
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < blank_count; i++)
        status = begin_blank(&blanks[i], &blanks[0], index);
    for (size_t step = 0; status == TW_OK && step < steps; step++)
        for (size_t i = 0; status == TW_OK && i < blank_count; i++)
            if (step < blanks[i].runs[index].trace->count)
                status = drive_parts(blanks[i].parts, blanks[i].opened, &blanks[i].runs[index].trace->steps[step],
                                     &blanks[i].worn);
    for (size_t i = 0; status == TW_OK && i < blank_count; i++)
        status = end_blank(&blanks[i], count, index);
    for (size_t i = 0; i < blank_count; i++)
        for (int part = 0; part < blanks[i].opened; part++)
            stop_driving(&blanks[i].parts[part]);
    return status;
}

/* The region of the relief is the stand's business where any of the programs hollows it. */
static enum tw_status open_workpiece(struct proving *proving, const struct tw_run *runs, size_t count, int part,
                                     double cell_mm, struct tw_workpiece *workpiece)
{
    enum tw_status status = tw_workpiece_open(proving->whole_job, runs[0].proof->side, part, proving->fixture, cell_mm,
                                              workpiece, proving->findings);

    for (size_t i = 0; status == TW_OK && i < count; i++) {
        struct tw_job job = tw_witness_part(&runs[i].job, part);

        if (runs[i].proof->scope == TW_SCOPE_RELIEF && !workpiece->relief)
            status = tw_workpiece_add_relief(&job, workpiece, proving->findings);
    }
    if (status != TW_OK)
        tw_workpiece_close(workpiece);
    return status;
}

static enum tw_status open_part(const struct proving *common, const struct tw_run *runs, size_t count, int part,
                                double cell_mm, struct proving *out)
{
    const struct tw_job *job = common->whole_job;

    *out = *common;
    out->whole_own = tw_witness_part(job, part);
    out->whole_job = &out->whole_own;
    out->workpiece = &out->stand;
    out->part = part + 1;
    tw_trace_origin(&job->machine, &job->fixture.stations[part], out->origin_mm);
    return open_workpiece(out, runs, count, part, cell_mm, out->workpiece);
}

static enum tw_status open_blank(struct blank *blank, size_t count, double cell_mm)
{
    int parts = blank->common.whole_job->parts;
    enum tw_status status = TW_OK;

    blank->parts = calloc((size_t)parts, sizeof *blank->parts);
    if (!blank->parts)
        return tw_no_memory(blank->common.findings);
    while (status == TW_OK && blank->opened < parts) {
        status = open_part(&blank->common, blank->runs, count, blank->opened, cell_mm, &blank->parts[blank->opened]);
        blank->opened += status == TW_OK;
    }
    return status;
}

static void close_blank(struct blank *blank)
{
    for (int part = 0; part < blank->opened; part++)
        tw_workpiece_close(&blank->parts[part].stand);
    free(blank->parts);
}

static struct proving common_of(const struct tw_job *job, struct tw_findings *findings)
{
    struct proving common = { .whole_job = job,
                              .job = job,
                              .clearance_mm = 0.5 * fmin(fmin(job->travel.approach_mm, job->travel.return_lift_mm),
                                                         job->travel.overtravel_mm),
                              /* All blanks alike are under the same fixture or, z counting from the ricasso, the
                               * thinnest lies lowest under it; and the thickest blade stands highest. */
                              .fixture = job->task.thicker_mm == tw_witness_hardest_mm(job),
                              .findings = findings };

    /* Where each part is as it was measured, so is its zero. */
    if (job->taper.zero == TW_ZERO_RICASSO && (job->blank_count == 0 || job->task.thicker_mm != 0.0))
        common.lower_mm = job->task.thicker_mm - tw_witness_hardest_mm(job);
    return common;
}

/* What holds the part that is held least. */
static enum tw_status least_hold(const struct tw_run *run, double *out_N, struct tw_findings *findings)
{
    int parts = run->job.blank_count > 0 ? run->job.parts : 1;
    enum tw_status status = TW_OK;

    *out_N = HUGE_VAL;
    for (int part = 0; status == TW_OK && part < parts; part++) {
        struct tw_job own = tw_witness_part(&run->job, part);
        double one_N = 0.0;

        status = tw_witness_hold(&own, run->proof->side, &one_N, findings);
        *out_N = fmin(*out_N, one_N);
    }
    return status;
}

static enum tw_status ask_of_blank(const struct tw_run_blank *blank, size_t count, struct tw_findings *findings)
{
    struct tw_run *runs = blank->runs;
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < count; i++) {
        double holding_N = 0.0;

        status = least_hold(&runs[i], &holding_N, findings);
        ask_all(&runs[i].job, holding_N, runs[i].proof, leaves_face(runs, count, i));
        runs[i].proof->peak_degC = blank->job->coolant.temperature_degC;
    }
    return status;
}

static void compare_limits(const struct tw_run_blank *blank, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        struct tw_proof *proof = blank->runs[i].proof;

        proof->reserve_degC = fmax(blank->job->coolant.temperature_degC, proof->checks[TW_CHECK_TEMPERATURE].amount);
        tw_thermal_run_compare(proof->reserve_degC, &proof->heat);
    }
}

enum tw_status tw_prove(const struct tw_run_blank *asked, size_t blank_count, size_t count, double cell_mm,
                        struct tw_findings *findings)
{
    struct blank *blanks = calloc(blank_count, sizeof *blanks);
    enum tw_status status = blanks ? TW_OK : tw_no_memory(findings);

    for (size_t i = 0; status == TW_OK && i < blank_count; i++) {
        blanks[i] = (struct blank){ .runs = asked[i].runs, .common = common_of(asked[i].job, findings) };
        status = ask_of_blank(&asked[i], count, findings);
    }
    for (size_t i = 0; status == TW_OK && i < blank_count; i++)
        status = open_blank(&blanks[i], count, cell_mm);
    for (size_t i = 0; status == TW_OK && i < count; i++)
        status = run_on_blanks(blanks, blank_count, count, i);
    for (size_t i = 0; blanks && i < blank_count; i++)
        close_blank(&blanks[i]);
    free(blanks);
    for (size_t i = 0; i < blank_count; i++)
        compare_limits(&asked[i], count);
    return status;
}
