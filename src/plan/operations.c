/* operations.c - the programs that a job takes, in their order, and what each has to do.
 *
 * A program that does a part of a side has a task of its own (struct tw_task): roughing leaves what finishing takes, and
 * finishing begins with the top that roughing leaves. A relief's face is its floor, as far below the finished one as it is
 * deep, and after the finishing its top is the finished face. */
#include "plan/operations.h"

#include "base/memory.h"
#include "base/numbers.h"
#include "geometry/ring.h"
#include "plan/scene/scene.h"
#include "tangwright/contacts.h"
#include "tangwright/relief.h"
#include "tangwright/wear.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* As for all heights of a program. */
#define ROUNDING 1e-6

/* ---- the top after roughing ---- */

struct top {
    const struct tw_job *job;
    struct tw_face face;
    double left_mm, half_mm;
    double begin_mm; /* x of this blank's taper start */
};

/* The face that roughing leaves, over the centre plane. */
static double roughed_mm(const struct top *top, double x_mm)
{
    return top->half_mm - top->face.slope * (x_mm - top->begin_mm) + top->job->finish.allowance_mm + top->left_mm;
}

/* Where that face comes out of the blank's top, which is flat about the taper start. */
static double emerges_mm(const struct top *top)
{
    return top->begin_mm + (top->job->finish.allowance_mm + top->left_mm) / top->face.slope;
}

static void add_point(struct tw_profile *profile, double x_mm, double height_mm)
{
    profile->points[profile->count++] = (struct tw_point){ x_mm, height_mm };
}

/* The lower of blank and roughed face between two points of the blank's top, the first of them left out. */
static void add_lower(const struct top *top, struct tw_profile *profile, struct tw_point a, struct tw_point b)
{
    double over_a_mm = a.y_mm - roughed_mm(top, a.x_mm), over_b_mm = b.y_mm - roughed_mm(top, b.x_mm);

    if ((over_a_mm < 0.0) != (over_b_mm < 0.0)) {
        double x_mm = a.x_mm + (b.x_mm - a.x_mm) * over_a_mm / (over_a_mm - over_b_mm);

        if (x_mm > a.x_mm && x_mm < b.x_mm)
            add_point(profile, x_mm, roughed_mm(top, x_mm));
    }
    add_point(profile, b.x_mm, fmin(b.y_mm, roughed_mm(top, b.x_mm)));
}

/* A level face is programmed at a height that the text can say, rounded up: by so much it is left too high. On a falling one z
 * is chosen first, and x follows. */
static double rounded_mm(const struct tw_job *job, enum tw_side side, double left_mm)
{
    const struct tw_dialect *dialect = &job->machine.dialect;
    double unit_mm = tw_last_decimal_mm(dialect->length_decimals, dialect->inch), exact_mm;
    struct tw_job laid = *job;
    struct tw_face face;

    laid.task.leaves_mm += left_mm;
    face = tw_face_of(&laid, side);
    exact_mm = face.height_mm - face.zero_mm;
    return face.fall > 0.0 ? 0.0 : unit_mm * ceil(exact_mm / unit_mm - ROUNDING) - exact_mm;
}

static enum tw_status make_top(const struct tw_job *job, enum tw_side side, double left_mm, struct tw_profile *out,
                               struct tw_findings *findings)
{
    struct tw_face face = tw_face_of(job, side);
    struct top top = { job, face, left_mm + rounded_mm(job, side, left_mm), job->taper.ricasso_mm / 2.0,
                       -face.over_mm * cos(face.tilt_rad) / face.slope };
    double far_mm = tw_ring_box(&job->part.tang.outer).max_x_mm;
    struct tw_point flat[2] = { { 0.0, top.half_mm }, { far_mm, top.half_mm } };
    const struct tw_profile *raw = top.face.raw, blank = { flat, 2 };

    if (!raw || raw->count < 2)
        raw = &blank;
    out->points = calloc(2 * raw->count + 3, sizeof *out->points);
    if (!out->points)
        return tw_no_memory(findings);
    if (emerges_mm(&top) < raw->points[0].x_mm)
        add_point(out, emerges_mm(&top), top.half_mm);
    add_point(out, raw->points[0].x_mm, fmin(raw->points[0].y_mm, roughed_mm(&top, raw->points[0].x_mm)));
    for (size_t i = 1; i < raw->count; i++)
        add_lower(&top, out, raw->points[i - 1], raw->points[i]);
    return TW_OK;
}

/* ---- the programs ---- */

double tw_plan_finish_stock_mm(const struct tw_job *job)
{
    double step_mm = tw_infeed_step_mm(job);
    double infeed_mm = step_mm * floor(fmin(job->finish.infeed_mm, job->wheel.max_infeed_mm) / step_mm + 1e-6);

    return job->finish.layers * infeed_mm;
}

struct listing {
    const struct tw_job *job;
    bool relief_first;
    struct tw_plan *plan;
    struct tw_operation *operations;
    size_t count;
    double left_mm;   /* after roughing */
    bool hollowed[2]; /* each side's relief has its program already */
};

static struct tw_operation *add(struct listing *listing, enum tw_side side, enum tw_scope scope, bool over_ground)
{
    struct tw_operation *operation = &listing->operations[listing->count++];
    struct tw_job base = *listing->job;

    base.task.over_ground = over_ground;
    base.task.below_hollowed = listing->hollowed[side == TW_SIDE_A ? TW_SIDE_B : TW_SIDE_A];
    listing->hollowed[side] |= scope == TW_SCOPE_RELIEF;
    if (base.reserves)
        base.reserve = base.reserves->of[side][scope == TW_SCOPE_RELIEF];
    base.task.bends_mm_per_N = tw_overhang_of(&base, side).mm_per_N;
    *operation = (struct tw_operation){ .side = side, .job = tw_scope_job(&base, scope) };
    if (scope == TW_SCOPE_RELIEF || !listing->relief_first || !tw_relief_wanted(&base, side))
        return operation;
    operation->job.task.hollowed_mm += base.relief.depth_mm;
    if (listing->plan->hollowed) {
        operation->job.task.hollows = listing->plan->hollowed->pieces;
        operation->job.task.hollow_count = listing->plan->hollowed->count;
    }
    return operation;
}

static void add_roughing(struct listing *listing, enum tw_side side)
{
    struct tw_operation *operation = add(listing, side, TW_SCOPE_ROUGH, false);

    operation->job.task.leaves_mm = listing->left_mm;
    operation->below_left_mm = side == TW_SIDE_B ? listing->left_mm : 0.0;
}

static void add_finishing(struct listing *listing, enum tw_side side)
{
    struct tw_operation *operation = add(listing, side, TW_SCOPE_FINISH, !listing->job->one_face);

    operation->job.task.raw = &listing->plan->tops[TW_TOP_ROUGHED(side)];
    operation->below_left_mm = side == TW_SIDE_A ? listing->left_mm : 0.0;
}

static void add_relief(struct listing *listing, enum tw_side side, bool over_ground, double below_left_mm)
{
    struct tw_operation *operation;

    if (!tw_relief_wanted(listing->job, side))
        return;
    operation = add(listing, side, TW_SCOPE_RELIEF, over_ground);
    operation->job.task.leaves_mm = -listing->job->relief.depth_mm;
    operation->below_left_mm = below_left_mm;
    if (!listing->relief_first)
        operation->job.task.raw = &listing->plan->tops[TW_TOP_FINISHED(side)];
}

static enum tw_status make_finished(struct listing *listing, enum tw_side side, struct tw_findings *findings)
{
    if (listing->relief_first || !tw_relief_wanted(listing->job, side))
        return TW_OK;
    return make_top(listing->job, side, 0.0, &listing->plan->tops[TW_TOP_FINISHED(side)], findings);
}

/* What is hollowed already does not wear the wheel that tapers. Both faces are hollowed alike. */
static enum tw_status find_hollows(struct listing *listing, struct tw_findings *findings)
{
    const struct tw_job *job = listing->job;

    if (!listing->relief_first || !(tw_grinding_ratio_of(job).least > 0.0) || !(job->relief.depth_mm > 0.0))
        return TW_OK;
    listing->plan->hollowed = calloc(1, sizeof *listing->plan->hollowed);
    if (!listing->plan->hollowed)
        return tw_no_memory(findings);
    return tw_plan_hollowed(job, listing->plan->hollowed, findings);
}

static void list_whole_sides(struct listing *listing)
{
    for (int side = 0; side < TW_SIDES_OF(listing->job); side++) {
        if (listing->relief_first)
            add_relief(listing, (enum tw_side)side, false, 0.0);
        add(listing, (enum tw_side)side, TW_SCOPE_WHOLE, false);
        if (!listing->relief_first)
            add_relief(listing, (enum tw_side)side, false, 0.0);
    }
}

/* Side by side, each clamped for its taper and its hollow at once; the wheel is the same, or is changed for each. */
static void list_in_turns(struct listing *listing)
{
    for (int side = 0; side < TW_SIDES_OF(listing->job); side++) {
        if (listing->relief_first)
            add_relief(listing, (enum tw_side)side, false, side == TW_SIDE_B ? listing->left_mm : 0.0);
        add_roughing(listing, (enum tw_side)side);
    }
    for (int side = 0; side < TW_SIDES_OF(listing->job); side++) {
        add_finishing(listing, (enum tw_side)side);
        if (!listing->relief_first)
            add_relief(listing, (enum tw_side)side, !listing->job->one_face,
                       side == TW_SIDE_A ? listing->left_mm : 0.0);
    }
}

/* One change of wheels, with the faces done: side B's hollow as it lies, then side A's, which is clamped once more. */
static void list_hollows_last(struct listing *listing)
{
    for (int side = 0; side < TW_SIDES_OF(listing->job); side++)
        add_roughing(listing, (enum tw_side)side);
    for (int side = 0; side < TW_SIDES_OF(listing->job); side++)
        add_finishing(listing, (enum tw_side)side);
    for (int side = TW_SIDES_OF(listing->job) - 1; side >= 0; side--)
        add_relief(listing, (enum tw_side)side, !listing->job->one_face, 0.0);
}

static bool goes_in_turns(const struct tw_job *job)
{
    return job->order == TW_ORDER_ROUGH_THEN_FINISH && tw_plan_finish_stock_mm(job) > 0.0;
}

bool tw_operations_hollow_last(const struct tw_job *job)
{
    return goes_in_turns(job) && tw_relief_changes_wheel(job);
}

enum tw_status tw_operations_list(const struct tw_job *job, bool relief_first, struct tw_plan *plan,
                                  struct tw_operation operations[TW_SETUPS_MOST], size_t *count,
                                  struct tw_findings *findings)
{
    struct listing listing = { .job = job,
                               .relief_first = relief_first,
                               .plan = plan,
                               .operations = operations,
                               .left_mm = tw_plan_finish_stock_mm(job) };
    bool in_turns = goes_in_turns(job);
    enum tw_status status;

    plan->tops = calloc(TW_TOPS, sizeof *plan->tops);
    status = plan->tops ? TW_OK : tw_no_memory(findings);
    if (status == TW_OK)
        status = find_hollows(&listing, findings);
    for (int side = 0; status == TW_OK && side < TW_SIDES_OF(job); side++)
        status = make_finished(&listing, (enum tw_side)side, findings);
    for (int side = 0; status == TW_OK && in_turns && side < TW_SIDES_OF(job); side++)
        status = make_top(job, (enum tw_side)side, listing.left_mm, &plan->tops[TW_TOP_ROUGHED(side)], findings);
    if (status == TW_OK && tw_operations_hollow_last(job))
        list_hollows_last(&listing);
    else if (status == TW_OK && in_turns)
        list_in_turns(&listing);
    else if (status == TW_OK)
        list_whole_sides(&listing);
    *count = listing.count;
    return status;
}
