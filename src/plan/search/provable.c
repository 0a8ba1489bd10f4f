/* provable.c - see provable.h. */
#include "plan/search/provable.h"

#include "plan/scene/setup.h"
#include "verdict/workpiece.h"

#include <stdlib.h>
#include <string.h>

static struct tw_step step_of(const struct tw_move *move, struct tw_place3 from, const double origin_mm[3])
{
    return (struct tw_step){
        .kind = move->kind == TW_MOVE_DWELL  ? TW_STEP_DWELL
                : move->kind == TW_MOVE_FEED ? TW_STEP_FEED
                                             : TW_STEP_RAPID,
        .from_mm = { origin_mm[0] + from.x_mm, origin_mm[1] + from.y_mm, origin_mm[2] + from.z_mm },
        .to_mm = { origin_mm[0] + move->to.x_mm, origin_mm[1] + move->to.y_mm, origin_mm[2] + move->to.z_mm }
    };
}

/* The moves are those of the first part: what they cost there, each part costs. */
enum tw_status tw_provable_add(const struct tw_job *job, const struct tw_setup_plan *setup, struct tw_provable *sum,
                               struct tw_findings *findings)
{
    struct tw_job one = *job; /* a shallow copy: only the parts are its own */
    struct tw_trace trace = { .steps = calloc(setup->move_count + 1, sizeof *trace.steps) };
    struct tw_effort own = { 0 };
    double origin_mm[3];

    if (!trace.steps)
        return tw_no_memory(findings);
    one.parts = 1;
    tw_trace_origin(&job->machine, &job->fixture.stations[0], origin_mm);
    for (size_t i = 1; i < setup->move_count; i++)
        trace.steps[trace.count++] = step_of(&setup->moves[i], setup->moves[i - 1].to, origin_mm);
    trace.steps[trace.count++] = (struct tw_step){ .kind = TW_STEP_DWELL, .time_s = tw_setup_time_s(job, setup) };
    tw_effort_add(&one, setup->face.side, &trace, tw_workpiece_cell_mm(job), &own);
    free(trace.steps);
    if (!sum->longest || setup->move_count > sum->longest->move_count) {
        sum->longest = setup;
        sum->scope = job->task.scope;
    }
    sum->moves += job->parts * (double)setup->move_count;
    sum->effort.cells += job->parts * own.cells;
    sum->effort.moves += job->parts * own.moves;
    sum->effort.along += job->parts * own.along;
    sum->effort.aslant += job->parts * own.aslant;
    sum->effort.updates += job->parts * own.updates;
    sum->effort.waits += job->parts * own.waits;
    return TW_OK;
}

/* Of the computing that is allowed, what such an estimate may come to: where it is some seconds, it may be as much short of it. */
#define SURE_SHARE 0.95

static enum tw_status refuse(const struct tw_job *job, const struct tw_provable *sum, double least_s,
                             struct tw_findings *findings)
{
    struct tw_place at = { .file = job->path };
    const struct tw_setup_plan *longest = sum->longest;
    const struct tw_layer *deepest = &longest->layers[0];

    for (size_t i = 0; i < longest->layer_count; i++)
        if (longest->layers[i].depth_mm > deepest->depth_mm)
            deepest = &longest->layers[i];
    return tw_fail(
        findings, TW_NO_PLAN, at,
        "the programs would have %.0f moves or more, and to plan and prove them would take %.1f s of computing where "
        "%.1f s are allowed, so nothing is planned; %.0f of them are those of side %s%s%s, in %zu layers up "
        "to %.4f mm deep, bound by %s: fewer or deeper layers, or a wider wheel, make them fewer",
        sum->moves, least_s, SURE_SHARE * TW_EFFORT_MOST_S, job->parts * (double)longest->move_count,
        tw_side_letter(longest->face.side), sum->scope == TW_SCOPE_WHOLE ? "" : ", ", tw_scope_name(sum->scope),
        longest->layer_count, deepest->depth_mm, tw_binding_name(deepest->binding));
}

double tw_provable_s(const struct tw_job *job, const struct tw_provable *sum)
{
    return sum->search_s + (double)tw_effort_blanks(job) * tw_effort_s(&sum->effort);
}

enum tw_status tw_provable_check(const struct tw_job *job, const struct tw_provable *sum, struct tw_findings *findings)
{
    double least_s = tw_provable_s(job, sum);

    if (least_s <= SURE_SHARE * TW_EFFORT_MOST_S || !sum->longest || sum->longest->layer_count == 0)
        return TW_OK;
    return refuse(job, sum, least_s, findings);
}
