/* plan.c - both sides of a job, and their sums. */
#include "tangwright/plan.h"

#include "base/numbers.h"
#include "base/memory.h"
#include "plan/dressing.h"
#include "plan/operations.h"
#include "plan/scene/setup.h"
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

static void sum_up(const struct tw_job *job, struct tw_plan *plan)
{
    for (int side = 0; side < TW_SIDES_OF(job); side++)
        plan->removed_mm3 += tw_face_removed_mm3(job, (enum tw_side)side);
    for (size_t i = 0; i < plan->setup_count; i++) {
        struct tw_setup_plan *setup = &plan->setups[i];

        setup->cycle_time_s =
            tw_setup_time_s(job, setup) +
            (1 + setup->ledger.stops) * (job->machine.spindle_up_to_speed_s + tw_plan_spin_dry_s(job));
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
    struct tw_setup_plan *out;
    struct tw_findings findings;
    enum tw_status status;
};

/* Each worker takes the next program until none is left, up to `end`. */
struct queue {
    struct work works[TW_SETUPS_MOST];
    size_t count, end;
    atomic_size_t next;
};

static enum tw_status check_hold(const struct tw_job *job, enum tw_side side, const struct tw_holding *holding,
                                 struct tw_findings *findings)
{
    struct tw_place at = { .file = job->path, .key = "fixture.packing" };
    const struct tw_fixture *fixture = &job->fixture;
    double clamps_N = TW_HOLDING_LEAST_N * fixture->holding_safety / fixture->friction;

    if (holding->force_N >= TW_HOLDING_LEAST_N)
        return TW_OK;
    if (holding->solid_force_N >= TW_HOLDING_LEAST_N)
        return tw_fail(
            findings, TW_NO_PLAN, at,
            "side %s up does not hold: the gap under it is up to %.2f mm, and over shims the magnet is trusted "
            "with %.1f N sideways, less than %.0f N; a solid steel wedge or rest bar (packing = \"steel wedge\"; "
            "tangwright fixture designs one) would make it %.1f N, clamps of %.0f N hold without a magnet",
            tw_side_letter(side), holding->gap_mm, holding->force_N, TW_HOLDING_LEAST_N, holding->solid_force_N,
            clamps_N);
    return tw_fail(
        findings, TW_NO_PLAN, at,
        "side %s up does not hold: what presses it down, %.0f N by clamps and %.0f N by the magnet, is trusted "
        "with %.1f N sideways, less than %.0f N; clamps of %.0f N would do",
        tw_side_letter(side), holding->clamp_N, holding->magnet_N, holding->force_N, TW_HOLDING_LEAST_N, clamps_N);
}

static enum tw_status plan_one(struct work *work)
{
    const struct tw_operation *operation = work->operation;
    double rpm, wheel_mm_per_s;
    struct tw_holding holding = tw_holding_of(&operation->job, operation->side);
    enum tw_status status = set_spindle(&operation->job, &rpm, &wheel_mm_per_s, &work->findings);

    if (status == TW_OK)
        status = check_hold(&operation->job, operation->side, &holding, &work->findings);
    if (status == TW_OK)
        status = tw_side_plan(&operation->job, operation->side, wheel_mm_per_s, work->out, &work->findings);
    work->out->holding = holding;
    work->out->spindle_rpm = rpm;
    work->out->wheel_mm_per_s = wheel_mm_per_s;
    return status;
}

static void *work_off(void *context)
{
    struct queue *queue = context;
    size_t i;

    while ((i = atomic_fetch_add(&queue->next, 1)) < queue->end) {
        struct work *work = &queue->works[i];

        work->status = plan_one(work);
        work->out->scope = work->operation->job.task.scope;
        work->out->below_left_mm = work->operation->below_left_mm;
    }
    return NULL;
}

/* When one cannot be planned, what the later ones say, often of the same obstacle, would only be in the way. */
static enum tw_status gather(struct queue *queue, struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; i < queue->count; i++) {
        if (status == TW_OK)
            tw_findings_append(findings, &queue->works[i].findings);
        else
            tw_findings_free(&queue->works[i].findings);
        status = status == TW_OK ? queue->works[i].status : status;
    }
    return status;
}

/* All take about equally long, so a second thread halves the time. Without one it only takes longer. */
static void work_to(struct queue *queue, size_t end)
{
    size_t begin = queue->end;
    pthread_t thread;
    bool threaded;

    queue->end = end;
    atomic_store(&queue->next, begin);
    threaded = begin + 1 < end && pthread_create(&thread, NULL, work_off, queue) == 0;
    work_off(queue);
    if (threaded)
        pthread_join(thread, NULL);
}

/* The first program that finishes what another one has roughed; their count where there is none. */
static size_t first_finishing(const struct queue *queue)
{
    size_t i = 0;

    while (i < queue->count && queue->works[i].operation->job.task.scope != TW_SCOPE_FINISH)
        i++;
    return i;
}

static void tell_finishing(struct queue *queue, size_t first)
{
    for (size_t i = 0; i < first; i++)
        for (size_t k = first; k < queue->count; k++) {
            struct tw_operation *later = queue->works[k].operation;

            if (queue->works[i].operation->job.task.scope == TW_SCOPE_ROUGH &&
                later->job.task.scope == TW_SCOPE_FINISH && later->side == queue->works[i].operation->side)
                later->job.task.roughed_N = tw_hardest_N(&later->job, queue->works[i].out);
        }
}

static enum tw_status plan_setups(const struct tw_job *job, bool relief_first, struct tw_plan *out,
                                  struct tw_findings *findings)
{
    struct tw_operation *operations = calloc(TW_SETUPS_MOST, sizeof *operations);
    struct queue queue = { 0 };
    enum tw_status status = operations ? tw_operations_list(job, relief_first, out, operations, &queue.count, findings)
                                       : tw_no_memory(findings);

    if (status == TW_OK) {
        size_t finishing;

        out->setup_count = queue.count;
        for (size_t i = 0; i < queue.count; i++)
            queue.works[i] = (struct work){ .operation = &operations[i], .out = &out->setups[i] };
        finishing = first_finishing(&queue);
        work_to(&queue, finishing);
        tell_finishing(&queue, finishing);
        work_to(&queue, queue.count);
        status = gather(&queue, findings);
    }
    free(operations);
    return status;
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

/* All programs, with the relief before the taper or after it, for the blank of the band that asks most. */
static enum tw_status make_plan(const struct tw_job *job, bool relief_first, struct tw_plan *out,
                                struct tw_findings *findings)
{
    struct tw_job hardest = tw_blank_job(job, tw_band_hardest_mm(job));
    enum tw_status status;

    *out = (struct tw_plan){ .relief_first = relief_first };
    status = set_spindle(job, &out->spindle_rpm, &out->wheel_mm_per_s, findings);
    if (status != TW_OK)
        return status;
    out->limit_degC = job->limits.tempering_degC - job->limits.margin_K;
    out->flash_limit = job->limits.flash;
    out->holding_N = HUGE_VAL;
    status = plan_setups(&hardest, relief_first, out, findings);
    if (status == TW_OK)
        sum_up(job, out);
    else
        tw_plan_free(out);
    return status;
}

/* ---- relief first or last ---- */

static double time_of(enum tw_status status, const struct tw_plan *plan)
{
    return status == TW_OK ? plan->cycle_time_s : 0.0;
}

/* The quicker of both; where only one is possible, that one. What stopped the other is only said when nothing is. */
static enum tw_status choose_order(const struct tw_job *job, struct tw_plan *out, struct tw_findings *findings)
{
    struct tw_findings said[2] = { { 0 }, { 0 } };
    struct tw_plan plans[2];
    enum tw_status status[2];
    double first_s, last_s;
    int best;

    for (int first = 0; first < 2; first++)
        status[first] = make_plan(job, first == 1, &plans[first], &said[first]);
    last_s = time_of(status[0], &plans[0]);
    first_s = time_of(status[1], &plans[1]);
    best = status[0] != TW_OK ? status[1] == TW_OK : status[1] == TW_OK && first_s < last_s;
    if (status[!best] == TW_NO_MEMORY && status[best] == TW_OK)
        best = !best; /* not a judgement on the order: say so */
    *out = plans[best];
    out->relief_first_s = first_s;
    out->relief_last_s = last_s;
    tw_plan_free(&plans[!best]);
    tw_findings_append(findings, &said[best]);
    tw_findings_free(&said[!best]);
    return status[best];
}

static bool hollows(const struct tw_job *job)
{
    return job->relief.depth_mm > 0.0;
}

static enum tw_status plan_in_order(const struct tw_job *job, struct tw_plan *out, struct tw_findings *findings)
{
    enum tw_status status;

    if (hollows(job) && job->relief.when == TW_RELIEF_AUTO)
        return choose_order(job, out, findings);
    status = make_plan(job, hollows(job) && job->relief.when == TW_RELIEF_FIRST, out, findings);
    if (status == TW_OK && hollows(job))
        *(out->relief_first ? &out->relief_first_s : &out->relief_last_s) = out->cycle_time_s;
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

enum tw_status tw_plan_make(const struct tw_job *job, struct tw_plan *out, struct tw_findings *findings)
{
    enum tw_status status;

    *out = (struct tw_plan){ 0 };
    status = check_heights(job, findings);
    if (status == TW_OK)
        status = check_survey(job, findings);
    if (status == TW_OK)
        status = plan_in_order(job, out, findings);
    if (status == TW_OK && part_time_s(out) > job->longest_s) {
        status = tw_setup_too_long(job, "", part_time_s(out),
                                   "what the limits cost stands in a preview with a larger longest_time", findings);
        tw_plan_free(out);
    }
    for (size_t i = 0; status == TW_OK && i < out->setup_count; i++)
        status = check_wear(job, &out->setups[i], findings);
    if (status != TW_OK) {
        tw_plan_free(out);
        return status;
    }
    remark_unreached(job, out, findings);
    for (size_t i = 0; i < out->setup_count; i++) {
        tw_spring_back_remark(job, &out->setups[i], findings);
        tw_dressing_remark(job, &out->setups[i], findings);
    }
    return TW_OK;
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
