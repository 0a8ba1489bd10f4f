/* plan.c - both sides of a job, and their sums. */
#include "tangwright/plan.h"

#include "base/numbers.h"
#include "base/memory.h"
#include "heat/factors.h"
#include "plan/dressing.h"
#include "plan/operations.h"
#include "plan/scene/setup.h"
#include "plan/search/provable.h"
#include "plan/search/side.h"
#include "plan/cuts/spring_back.h"
#include "plan/worn_face.h"
#include "tangwright/contacts.h"
#include "tangwright/straight.h"
#include "tangwright/relief.h"

#include <math.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>

/* ---- the wheel's speed ---- */

/* A programmable spindle turns at the whole rpm at or below the wanted surface speed. */
static enum tw_status set_spindle(const struct tw_job *job, double *spindle_rpm, double *wheel_mm_per_s,
                                  struct tw_findings *findings)
{
    const struct tw_machine *machine = &job->machine;
    double rpm = machine->spindle_max_rpm;
    struct tw_place at = { .file = job->path };

    if (machine->spindle_programmable)
        rpm = floor(fmin(rpm, tw_rim_rpm(job->wheel.diameter_mm, job->wheel.speed_mm_per_s)) + 1e-9);
    *spindle_rpm = rpm;
    *wheel_mm_per_s = tw_rim_mm_per_s(job->wheel.diameter_mm, rpm);
    if (*wheel_mm_per_s > job->wheel.operating_speed_mm_per_s)
        return tw_fail(
            findings, TW_NO_PLAN, at,
            "at %.0f rpm the wheel's edge would run at %.2f m/s, above its operating speed of %.2f m/s; take "
            "a wheel marked for more, a smaller wheel, or a slower spindle",
            rpm, *wheel_mm_per_s / 1000.0, job->wheel.operating_speed_mm_per_s / 1000.0);
    return TW_OK;
}

/* ---- sums ---- */

/* Whole program. */
static double cycle_time_s(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    return tw_setup_time_s(job, setup) +
           (1 + setup->ledger.stops) * (job->machine.spindle_up_to_speed_s + tw_plan_spin_dry_s(job));
}

static void sum_up(const struct tw_job *job, struct tw_plan *plan)
{
    for (int side = 0; side < TW_SIDES_OF(job); side++)
        plan->removed_mm3 += tw_face_removed_mm3(job, (enum tw_side)side);
    for (size_t i = 0; i < plan->setup_count; i++) {
        struct tw_setup_plan *setup = &plan->setups[i];

        setup->cycle_time_s = cycle_time_s(job, setup);
        plan->removed_mm3 += setup->relief.removed_mm3;
        plan->pass_count += job->parts * setup->pass_count;
        plan->cut_time_s += job->parts * setup->cut_time_s;
        plan->cycle_time_s += setup->cycle_time_s;
        for (int limit = 0; limit < TW_LIMIT_COUNT; limit++)
            plan->saves_s[limit] += setup->saves_s[limit];
        plan->holding_N = fmin(plan->holding_N, setup->holding.force_N);
        plan->peak_degC = fmax(plan->peak_degC, setup->peak_degC);
        plan->reserve_degC = fmax(plan->reserve_degC, setup->reserve_degC);
    }
    plan->removed_g = plan->removed_mm3 * job->steel.density_g_per_mm3;
}

/* Smaller parts of the relief's region that stay unhollowed, the corners that any wheel leaves, are only counted. */
#define WORTH_SAYING_SHARE 0.02

static double part_time_s(const struct tw_plan *plan)
{
    double part_s = 0.0;

    for (size_t i = 0; i < plan->setup_count; i++)
        part_s += plan->setups[i].part_time_s;
    return part_s;
}

/* ---- all programs, two at a time ---- */

struct work {
    struct tw_operation *operation;
    struct tw_desk *desk;
    struct tw_factors *factors;
    double roughed_N;        /* that it was tried with */
    double most_s;           /* that it may take for all parts to be of use; HUGE_VAL: no matter */
    double effort_s;         /* what it takes to search it, counted */
    bool kept;               /* it is planned: an earlier plan's program stays */
    struct tw_choice before; /* what an earlier plan's program was chosen by; its effort 0: it does not matter */
    struct tw_setup_plan *out;
    struct tw_findings findings;
    enum tw_status status;
};

/* Each worker takes the next program until none is left, up to `end`, or one cannot be planned. */
struct queue {
    enum tw_status (*job)(struct work *work);
    struct work works[TW_SETUPS_MOST];
    size_t count, end;
    atomic_size_t next;
    atomic_bool failed;
};

/* Which of both limits binds, for a refusal. */
/* No screw draws a clamp up so far. */
#define CLAMPS_MOST_N 5e4

static void limit_words(const struct tw_holding *holding, char *out, size_t size)
{
    if (holding->turns)
        snprintf(out, size,
                 "across at the butt end, where a push turns the part about x = %.0f mm (against sliding alone %.1f N)",
                 holding->about_mm, holding->sliding_N);
    else
        snprintf(out, size, "sideways");
}

static enum tw_status check_hold(const struct tw_job *job, enum tw_side side, const struct tw_holding *holding,
                                 struct tw_findings *findings)
{
    struct tw_place at = { .file = job->path, .key = "fixture.packing" };
    const char *nearer = holding->turns ? ", less where they grip nearer the butt" : "";
    const char *again = holding->again ? ", roughed once more on side B as that was roughed," : "";
    double clamps_N;
    char how[160], clamps[96];

    if (holding->force_N >= TW_HOLDING_LEAST_N)
        return TW_OK;
    clamps_N = tw_holding_clamps_N(job, side);
    limit_words(holding, how, sizeof how);
    if (job->fixture.clamp_force_N > 0.0 && holding->clamp_N == 0.0)
        snprintf(clamps, sizeof clamps, "clamps that reach over the blank, which none of those that are listed does,");
    else if (clamps_N < CLAMPS_MOST_N)
        snprintf(clamps, sizeof clamps, "clamps of %.0f N%s", clamps_N, nearer);
    else
        snprintf(clamps, sizeof clamps, "clamps that grip nearer the butt");
    if (holding->solid_force_N >= TW_HOLDING_LEAST_N)
        return tw_fail(
            findings, TW_NO_PLAN, at,
            "side %s up%s does not hold: the gap under it is up to %.2f mm, and over shims the magnet is trusted "
            "with %.1f N %s, less than %.0f N; a solid steel wedge or rest bar (packing = \"steel wedge\"; "
            "tangwright fixture designs one) would make it %.1f N, %s hold without a magnet",
            tw_side_letter(side), again, holding->gap_mm, holding->force_N, how, TW_HOLDING_LEAST_N,
            holding->solid_force_N, clamps);
    return tw_fail(
        findings, TW_NO_PLAN, at,
        "side %s up%s does not hold: what presses it down, %.0f N by clamps and %.0f N by the magnet, is trusted "
        "with %.1f N %s, less than %.0f N; %s would do%s",
        tw_side_letter(side), again, holding->clamp_N, holding->magnet_N, holding->force_N, how, TW_HOLDING_LEAST_N,
        clamps, holding->turns && holding->rests ? ", or a rest that reaches farther back" : "");
}

/* The nose of a disc stands beside it: where it is no smaller than the disc by twice the hollow's depth, it meets the land that the trough
 * leaves beside the wheel. */
static enum tw_status check_nose(const struct tw_job *job, struct tw_findings *findings)
{
    struct tw_place at = { .file = job->path, .key = "relief_wheel" };
    double nose_mm = job->machine.spindle_nose_diameter_mm, depth_mm = job->relief.depth_mm;

    if (job->task.scope != TW_SCOPE_RELIEF || job->wheel.kind != TW_WHEEL_DISC ||
        job->wheel.diameter_mm >= nose_mm + 2.0 * depth_mm)
        return TW_OK;
    return tw_fail(
        findings, TW_NO_PLAN, at,
        "the spindle nose is %.6g mm across and the disc that hollows %.6g mm, so beside the disc it would reach "
        "%.2f mm into the land; a disc of %.6g mm or more has room for a hollow of %.6g mm, or an arbor that is "
        "slimmer so far (machine.spindle.nose_diameter)",
        nose_mm, job->wheel.diameter_mm, depth_mm - (job->wheel.diameter_mm - nose_mm) / 2.0,
        ceil(nose_mm + 2.0 * depth_mm), depth_mm);
}

/* What forbids a program whatever its moves are. */
static enum tw_status begin_one(struct work *work)
{
    const struct tw_operation *operation = work->operation;
    struct tw_setup_plan *out = work->out;

    out->holding = tw_holding_of(&operation->job, operation->side);
    work->status = set_spindle(&operation->job, &out->spindle_rpm, &out->wheel_mm_per_s, &work->findings);
    if (work->status == TW_OK)
        work->status = check_hold(&operation->job, operation->side, &out->holding, &work->findings);
    if (work->status == TW_OK)
        work->status = check_nose(&operation->job, &work->findings);
    return work->status;
}

static enum tw_status try_one(struct work *work)
{
    const struct tw_operation *operation = work->operation;
    struct tw_side_given given = { .job = &operation->job,
                                   .side = operation->side,
                                   .wheel_mm_per_s = work->out->wheel_mm_per_s,
                                   .holding_N = work->out->holding.force_N,
                                   .most_s = work->most_s,
                                   .before = work->before.effort_s > 0.0 ? &work->before : NULL,
                                   .factors = work->factors };
    enum tw_status status;

    if (work->kept || (work->desk && work->roughed_N == operation->job.task.roughed_N))
        return TW_OK; /* it has been */
    tw_side_close(work->desk);
    work->roughed_N = operation->job.task.roughed_N;
    status = tw_side_try(&given, &work->desk, &work->findings);
    if (work->desk)
        work->effort_s += tw_side_effort_s(work->desk);
    return status;
}

static enum tw_status finish_one(struct work *work)
{
    const struct tw_operation *operation = work->operation;
    struct tw_setup_plan *out = work->out;
    double rpm = out->spindle_rpm, wheel_mm_per_s = out->wheel_mm_per_s;
    struct tw_holding holding = out->holding;
    enum tw_status status;

    if (work->kept)
        return TW_OK;
    status = tw_side_finish(work->desk, out);

    out->scope = operation->job.task.scope;
    out->below_left_mm = operation->below_left_mm;
    out->below_hollowed = operation->job.task.below_hollowed;
    out->holding = holding;
    out->spindle_rpm = rpm;
    out->wheel_mm_per_s = wheel_mm_per_s;
    out->reserve = operation->job.reserve;
    tw_side_close(work->desk);
    work->desk = NULL;
    tw_findings_append(&out->said, &work->findings);
    return status;
}

/* All before one that fails have been begun, so which of them is the first does not depend on who was quicker. */
static void *work_off(void *context)
{
    struct queue *queue = context;
    size_t i;

    while (!atomic_load(&queue->failed) && (i = atomic_fetch_add(&queue->next, 1)) < queue->end) {
        struct work *work = &queue->works[i];

        work->status = queue->job(work);
        if (work->status != TW_OK)
            atomic_store(&queue->failed, true);
    }
    return NULL;
}

/* All take about equally long, so a second thread halves the time. Without one it only takes longer. */
static enum tw_status work_on(struct queue *queue, enum tw_status (*job)(struct work *work), size_t begin, size_t end)
{
    enum tw_status status = TW_OK;
    pthread_t thread;
    bool threaded;

    queue->job = job;
    queue->end = end;
    atomic_store(&queue->next, begin);
    threaded = begin + 1 < end && pthread_create(&thread, NULL, work_off, queue) == 0;
    work_off(queue);
    if (threaded)
        pthread_join(thread, NULL);
    for (size_t i = begin; status == TW_OK && i < end; i++)
        status = queue->works[i].status;
    return status;
}

/* ---- one order of the programs ---- */

/* All programs, with the relief before the taper or after it, for the blank of the band that asks most. */
struct order {
    struct tw_plan plan;
    struct tw_operation operations[TW_SETUPS_MOST];
    struct queue queue;
    struct tw_factors *factors; /* of the thin plate: the programs ask for much the same */
    size_t
        finishing; /* the first program that finishes what another one has roughed; their count where there is none */
    struct tw_findings said;
    enum tw_status status;
    double effort_s; /* of what was searched besides */
};

static void find_finishing(struct order *order)
{
    while (order->finishing < order->queue.count &&
           order->operations[order->finishing].job.task.scope != TW_SCOPE_FINISH)
        order->finishing++;
}

/* A program of `before` stays what it is where nothing more is kept back from it. What finishes a face has the same kept back as
 * what roughs it. */
static void keep_program(struct tw_plan *before, struct work *work)
{
    const struct tw_operation *operation = work->operation;

    for (size_t i = 0; i < before->setup_count; i++) {
        struct tw_setup_plan *setup = &before->setups[i];

        if (setup->face.side != operation->side || setup->scope != operation->job.task.scope || !setup->moves)
            continue;
        if (setup->reserve.plans != operation->job.reserve.plans) {
            if (operation->job.reserves && operation->job.reserves->hasty)
                work->before = setup->choice;
            continue;
        }
        *work->out = *setup;
        *setup = (struct tw_setup_plan){ .face = setup->face, .scope = setup->scope };
        work->out->face.raw = tw_face_of(&operation->job, operation->side).raw;
        work->out->hollows = operation->job.task.hollows;
        work->kept = true;
    }
}

/* What stops a program whatever its moves are is found before any is sought. Takes what it can of a plan made `before`, if any. */
static enum tw_status begin_order(const struct tw_job *job, bool relief_first, double most_s, struct tw_plan *before,
                                  struct order *order)
{
    struct tw_job hardest = tw_blank_job(job, tw_band_hardest_mm(job));
    struct tw_plan *plan = &order->plan;
    enum tw_status status;

    hardest.task.stands_high = true;
    *order = (struct order){ .plan = { .relief_first = relief_first,
                                       .limit_degC = job->limits.tempering_degC - job->limits.margin_K,
                                       .flash_limit = job->limits.flash,
                                       .holding_N = HUGE_VAL },
                             .factors = tw_factors_open(&job->steel) };
    if (!order->factors)
        return tw_no_memory(&order->said);
    status = set_spindle(job, &plan->spindle_rpm, &plan->wheel_mm_per_s, &order->said);
    if (status == TW_OK)
        status = tw_operations_list(&hardest, relief_first, plan, order->operations, &order->queue.count, &order->said);
    if (status != TW_OK)
        return status;
    plan->setup_count = order->queue.count;
    find_finishing(order);
    for (size_t i = 0; status == TW_OK && i < order->queue.count; i++) {
        order->queue.works[i] = (struct work){
            .operation = &order->operations[i], .factors = order->factors, .most_s = most_s, .out = &plan->setups[i]
        };
        if (before && before->relief_first == relief_first)
            keep_program(before, &order->queue.works[i]);
        if (!order->queue.works[i].kept)
            status = begin_one(&order->queue.works[i]);
    }
    return status;
}

/* By the plans of the roughing, tried or finished; where one is not known yet, there is nothing to be told. */
static bool tell_finishing(struct order *order, bool tried)
{
    struct queue *queue = &order->queue;

    for (size_t i = 0; i < order->finishing; i++)
        for (size_t k = order->finishing; k < queue->count; k++) {
            struct tw_operation *later = &order->operations[k];
            const struct tw_setup_plan *roughed = tried ? tw_side_tried(queue->works[i].desk) : queue->works[i].out;

            if (!roughed)
                return false;
            if (order->operations[i].job.task.scope == TW_SCOPE_ROUGH && later->job.task.scope == TW_SCOPE_FINISH &&
                later->side == order->operations[i].side)
                later->job.task.roughed_N = tw_hardest_N(&later->job, roughed);
        }
    return true;
}

/* The search over coarse cells. */
static enum tw_status try_order(struct order *order)
{
    struct queue *queue = &order->queue;
    enum tw_status status = work_on(queue, try_one, 0, order->finishing);

    return status == TW_OK && tell_finishing(order, true) ? work_on(queue, try_one, order->finishing, queue->count)
                                                          : status;
}

/* What of the first `count` programs is tried or planned so far. */
static enum tw_status weigh(struct order *order, size_t count, struct tw_provable *sum)
{
    enum tw_status status = TW_OK;

    *sum = (struct tw_provable){ .search_s = order->effort_s };
    for (size_t i = 0; status == TW_OK && i < count; i++) {
        const struct work *work = &order->queue.works[i];
        const struct tw_setup_plan *setup = work->desk ? tw_side_tried(work->desk) : work->out;

        sum->search_s += work->effort_s;
        if (setup)
            status = tw_provable_add(&work->operation->job, setup, sum, &order->said);
    }
    return status;
}

/* Where all of it takes more than this share of the computing that is allowed, a program that does not pass its dry-run cannot be
 * planned anew, which takes about half as long again. */
#define ONCE_SHARE 0.6
/* So more is kept back from the start: what the dry-runs of random jobs found missing, mostly. */
#define CAREFUL_K     4.0
#define CAREFUL_SHARE 0.02

static void keep_back(struct tw_reserve *reserve)
{
    reserve->heat_K = fmax(reserve->heat_K, CAREFUL_K);
    reserve->film_share = fmax(reserve->film_share, CAREFUL_SHARE);
    reserve->load_share = fmax(reserve->load_share, CAREFUL_SHARE);
    reserve->spring_share = fmax(reserve->spring_share, CAREFUL_SHARE);
}

/* That could be proved: else the search over fine cells is in vain. */
static enum tw_status check_moves(const struct tw_job *job, struct order *order, size_t begin, size_t count)
{
    struct tw_provable sum;
    enum tw_status status = weigh(order, count, &sum);

    order->plan.effort_s = sum.search_s;
    if (status == TW_OK && tw_provable_s(job, &sum) > ONCE_SHARE * TW_EFFORT_MOST_S)
        for (size_t i = begin; i < count; i++)
            keep_back(&order->operations[i].job.reserve);
    return status == TW_OK ? tw_provable_check(job, &sum, &order->said) : status;
}

static enum tw_status finish_order(const struct tw_job *job, struct order *order)
{
    struct queue *queue = &order->queue;
    size_t ends[2] = { order->finishing, queue->count }, begin = 0;
    enum tw_status status = TW_OK;

    for (int i = 0; status == TW_OK && i < 2; begin = ends[i++]) {
        status = work_on(queue, try_one, begin, ends[i]);
        if (status == TW_OK)
            status = check_moves(job, order, begin, ends[i]);
        if (status == TW_OK)
            status = work_on(queue, finish_one, begin, ends[i]);
        if (status == TW_OK)
            tell_finishing(order, false);
    }
    if (status == TW_OK)
        sum_up(job, &order->plan);
    return status;
}

/* When one program cannot be planned, what the later ones say, often of the same obstacle, would only be in the way. */
static void end_order(struct order *order, struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    tw_findings_append(findings, &order->said);
    for (size_t i = 0; i < order->queue.count; i++) {
        struct work *work = &order->queue.works[i];

        if (status == TW_OK && findings)
            tw_findings_repeat(findings, &work->out->said);
        tw_findings_append(status == TW_OK ? findings : NULL, &work->findings);
        status = status == TW_OK ? work->status : status;
        tw_side_close(work->desk);
    }
    tw_factors_close(order->factors);
    order->factors = NULL;
}

/* A surveyed blank is only ground when it comes out straight. A step at the taper start is no plane. */
static enum tw_status check_survey(const struct tw_job *job, struct tw_findings *findings)
{
    struct tw_place at = { .file = job->path, .key = "straighten.largest_offset" };

    if (!job->straight)
        return TW_OK;
    if (job->straight->offset_mm != 0.0)
        return tw_fail(
            findings, TW_NO_PLAN, at,
            "the blank comes out straight only with a step of %.3f mm at the taper start, which no lane can grind; "
            "write largest_offset = \"0 mm\";",
            fabs(job->straight->offset_mm));
    return tw_straight_verdict(job, job->straight, findings);
}

/* ---- relief first or last ---- */

static bool hollows(const struct tw_job *job)
{
    return job->relief.depth_mm > 0.0;
}

/* What coarse cells say of the time of a plan is hardly ever off by so much: an order that takes longer by more is not followed
 * over fine ones. */
#define CLEAR_SHARE 0.1

/* Of what was tried or, once it is finished, planned; 0: not known, or not possible. */
static double time_of(const struct tw_job *job, const struct order *order)
{
    double sum_s = 0.0;

    for (size_t i = 0; i < order->queue.count; i++) {
        const struct work *work = &order->queue.works[i];
        const struct tw_setup_plan *tried = work->desk ? tw_side_tried(work->desk) : NULL;

        if (order->status != TW_OK || (!tried && order->plan.cycle_time_s == 0.0))
            return 0.0;
        sum_s += tried ? cycle_time_s(job, tried) : order->plan.setups[i].cycle_time_s;
    }
    return sum_s;
}

/* The quicker of both; where only one is possible, that one. */
static int quicker_of(const struct order orders[2], const double times_s[2])
{
    return orders[1].status == TW_OK && (orders[0].status != TW_OK || times_s[1] < times_s[0]);
}

static void plan_order(const struct tw_job *job, struct order *order, double *time_s)
{
    order->status = finish_order(job, order);
    *time_s = time_of(job, order);
}

/* A program that takes longer than most_s makes the order useless. */
static void begin_and_try(const struct tw_job *job, bool relief_first, double most_s, struct order *order,
                          double *time_s)
{
    order->status = begin_order(job, relief_first, most_s, NULL, order);
    if (order->status == TW_OK)
        order->status = try_order(order);
    *time_s = time_of(job, order);
}

static double searched_s(const struct order *order)
{
    double sum_s = 0.0;

    for (size_t i = 0; i < order->queue.count; i++)
        sum_s += order->queue.works[i].effort_s;
    return sum_s;
}

/* Of the computing that is allowed, so much may be taken with the other order. */
#define OTHER_SHARE 0.8

/* Whether what computing is left will do for a search as long as the first order's. */
static bool may_try_other(const struct tw_job *job, struct order *first)
{
    struct tw_provable sum;

    return weigh(first, first->queue.count, &sum) == TW_OK &&
           tw_provable_s(job, &sum) + sum.search_s <= OTHER_SHARE * TW_EFFORT_MOST_S;
}

/* The relief last is tried; then the relief first, until one of its programs takes clearly longer than all of the other order, or
 * not at all where little computing is left. True: nothing is known of it but that. */
static bool try_orders(const struct tw_job *job, struct order orders[2], double times_s[2])
{
    bool known;

    orders[1].status = TW_NO_PLAN;
    begin_and_try(job, false, HUGE_VAL, &orders[0], &times_s[0]);
    known = times_s[0] > 0.0;
    if (!known)
        begin_and_try(job, true, HUGE_VAL, &orders[1], &times_s[1]);
    else if (may_try_other(job, &orders[0]))
        begin_and_try(job, true, (1.0 + CLEAR_SHARE) * times_s[0], &orders[1], &times_s[1]);
    orders[0].effort_s = searched_s(&orders[1]);
    orders[1].effort_s = searched_s(&orders[0]);
    return known && orders[1].status == TW_NO_PLAN;
}

/* Where fine cells have led to nothing in the other order, any time will do. */
static void try_relief_first_again(const struct tw_job *job, struct order orders[2], double *time_s)
{
    end_order(&orders[1], NULL);
    tw_plan_free(&orders[1].plan);
    begin_and_try(job, true, HUGE_VAL, &orders[1], time_s);
    orders[1].effort_s = searched_s(&orders[0]);
}

/* Tries both orders and finishes the quicker; the other one as well, where that may yet turn out the quicker: by coarse cells, or
 * because fine ones have found the first to take longer than coarse ones the other. */
static int choose_order(const struct tw_job *job, struct order orders[2])
{
    double times_s[2] = { 0.0, 0.0 };
    bool given_up = try_orders(job, orders, times_s), clear;
    int best = quicker_of(orders, times_s);

    clear = times_s[best] > 0.0 && times_s[!best] > (1.0 + CLEAR_SHARE) * times_s[best];
    if (orders[best].status == TW_OK)
        plan_order(job, &orders[best], &times_s[best]);
    if (given_up && orders[0].status == TW_NO_PLAN)
        try_relief_first_again(job, orders, &times_s[1]);
    clear = clear && orders[best].status == TW_OK && times_s[!best] > times_s[best];
    if (orders[!best].status == TW_OK && !clear)
        plan_order(job, &orders[!best], &times_s[!best]);
    best = quicker_of(orders, times_s);
    if (orders[!best].status == TW_NO_MEMORY && orders[best].status == TW_OK)
        best = !best; /* not a judgement on the order: say so */
    orders[best].plan.relief_last_s = times_s[0];
    orders[best].plan.relief_first_s = times_s[1];
    return best;
}

static int plan_given_order(const struct tw_job *job, struct tw_plan *before, struct order orders[2])
{
    int given = hollows(job) && job->relief.when == TW_RELIEF_FIRST;
    struct order *order = &orders[given];
    struct tw_plan *plan = &order->plan;

    order->status = begin_order(job, given == 1, HUGE_VAL, before, order);
    if (order->status == TW_OK)
        order->status = finish_order(job, order);
    if (hollows(job))
        *(given ? &plan->relief_first_s : &plan->relief_last_s) = plan->cycle_time_s;
    return given;
}

/* What stops an order is only said when nothing is possible. */
static enum tw_status plan_in_order(const struct tw_job *job, struct tw_plan *before, struct tw_plan *out,
                                    struct tw_findings *findings)
{
    struct order *orders = calloc(2, sizeof *orders); /* too much for a stack */
    bool free_order = hollows(job) && job->relief.when == TW_RELIEF_AUTO && !tw_operations_hollow_last(job);
    enum tw_status status;
    int best;

    if (!orders)
        return tw_no_memory(findings);
    best = free_order ? choose_order(job, orders) : plan_given_order(job, before, orders);
    status = orders[best].status;
    end_order(&orders[best], findings);
    end_order(&orders[!best], NULL);
    *out = orders[best].plan;
    tw_plan_free(&orders[!best].plan);
    if (status != TW_OK)
        tw_plan_free(out);
    free(orders);
    return status;
}

/* Both sides are alike: what the first of them leaves is said. */
static void remark_unreached(const struct tw_job *job, const struct tw_plan *plan, struct tw_findings *findings)
{
    struct tw_place at = { .file = job->path, .key = "relief" };
    size_t i = 0;

    while (i < plan->setup_count && plan->setups[i].scope != TW_SCOPE_RELIEF)
        i++;
    if (i == plan->setup_count)
        return;
    for (size_t k = 0; k < plan->setups[i].relief.left_count; k++) {
        const struct tw_unreached *left = &plan->setups[i].relief.left[k];

        if (left->area_mm2 >= WORTH_SAYING_SHARE * plan->setups[i].relief.region_mm2)
            tw_remark(
                findings, at,
                "side %s: %.0f mm2 of the %.0f mm2 inside the land are not hollowed, about x = %.1f, y = %.1f mm: "
                "the wheel does not get there; a mounted point or cup of %.1f mm has room",
                tw_side_letter(plan->setups[i].face.side), left->area_mm2, plan->setups[i].relief.region_mm2,
                left->x_mm, left->y_mm, floor(left->wheel_mm * 10.0) / 10.0);
    }
}

/* One plan has the moves of one blank. */
static enum tw_status check_heights(const struct tw_job *job, struct tw_findings *findings)
{
    if (job->heights == TW_HEIGHTS_SHARED)
        return TW_OK;
    return tw_fail(findings, TW_NO_PLAN, (struct tw_place){ .file = job->path, .key = "heights" },
                   "each part has heights of its own, and one plan has those of one blank: tangwright run plans such a "
                   "load, blank by blank");
}

/* What each program costs the wheel. */
static enum tw_status check_wear(const struct tw_job *job, const struct tw_setup_plan *setup,
                                 struct tw_findings *findings)
{
    enum tw_status status = tw_dressing_check(job, setup, findings);

    return status == TW_OK ? tw_worn_face_check(job, setup, findings) : status;
}

static enum tw_status name_files(const struct tw_job *job, struct tw_plan *plan, struct tw_findings *findings)
{
    for (size_t i = 0; i < plan->setup_count; i++) {
        struct tw_setup_plan *setup = &plan->setups[i];

        if (setup->file_name && setup->air_file_name) /* kept of an earlier plan */
            continue;
        setup->file_name = tw_program_file_name(job, setup->face.side, setup->scope, false);
        setup->air_file_name = tw_program_file_name(job, setup->face.side, setup->scope, true);
        if (!setup->file_name || !setup->air_file_name)
            return tw_no_memory(findings);
    }
    return TW_OK;
}

/* With what stays of a plan made `before`; NULL: there is none. */
static enum tw_status make(const struct tw_job *job, struct tw_plan *before, struct tw_plan *out,
                           struct tw_findings *findings)
{
    enum tw_status status;

    *out = (struct tw_plan){ 0 };
    status = check_heights(job, findings);
    if (status == TW_OK)
        status = check_survey(job, findings);
    if (status == TW_OK)
        status = plan_in_order(job, before, out, findings);
    if (status == TW_OK && part_time_s(out) > job->longest_s) {
        status = tw_setup_too_long(job, "", part_time_s(out),
                                   "what the limits cost stands in a preview with a larger longest_time", findings);
        tw_plan_free(out);
    }
    for (size_t i = 0; status == TW_OK && i < out->setup_count; i++)
        status = check_wear(job, &out->setups[i], findings);
    if (status == TW_OK)
        status = name_files(job, out, findings);
    if (status != TW_OK) {
        tw_plan_free(out);
        return status;
    }
    tw_dressing_between(job, out);
    remark_unreached(job, out, findings);
    for (size_t i = 0; i < out->setup_count; i++) {
        tw_spring_back_remark(job, &out->setups[i], findings);
        tw_dressing_remark(job, &out->setups[i], findings);
    }
    return TW_OK;
}

enum tw_status tw_plan_make(const struct tw_job *job, struct tw_plan *out, struct tw_findings *findings)
{
    return make(job, NULL, out, findings);
}

enum tw_status tw_plan_again(const struct tw_job *job, struct tw_plan *plan, struct tw_findings *findings)
{
    struct tw_plan before = *plan;
    enum tw_status status = make(job, &before, plan, findings);

    tw_plan_free(&before);
    return status;
}

void tw_plan_free(struct tw_plan *plan)
{
    for (size_t i = 0; i < TW_SETUPS_MOST; i++)
        tw_setup_free(&plan->setups[i]);
    for (size_t i = 0; plan->tops && i < TW_TOPS; i++)
        free(plan->tops[i].points);
    free(plan->tops);
    if (plan->hollowed)
        tw_relief_free(plan->hollowed);
    free(plan->hollowed);
    *plan = (struct tw_plan){ 0 };
}
