/* roles.c - which of the job's operations each program does. */
#include "verdict/roles.h"

#include "base/numbers.h"
#include "geometry/ring.h"
#include "verdict/level.h"
#include "verdict/remarks.h"
#include "verdict/trace.h"
#include "witness/task.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

/* ---- what the job takes ---- */

static double decimal_of_mm(const struct tw_job *job)
{
    const struct tw_dialect *dialect = &job->machine.dialect;

    return tw_last_decimal_mm(dialect->length_decimals, dialect->inch);
}

/* The smallest infeed that program and machine can make. */
static double infeed_step_mm(const struct tw_job *job)
{
    double decimal_mm = decimal_of_mm(job);

    return decimal_mm * fmax(1.0, ceil(job->machine.smallest_step_mm / decimal_mm - 1e-6));
}

/* What roughing leaves over the finished face: nothing, where no finishing layer is asked for. */
static double left_mm(const struct tw_job *job)
{
    double step_mm = infeed_step_mm(job);

    return job->finish.layers * step_mm * floor(fmin(job->finish.infeed_mm, job->wheel.max_infeed_mm) / step_mm + 1e-6);
}

static bool in_turns(const struct tw_job *job)
{
    return job->order == TW_ORDER_ROUGH_THEN_FINISH && left_mm(job) > 0.0;
}

struct tw_roles tw_roles_of(const struct tw_job *job, enum tw_side side)
{
    struct tw_roles roles = { 0 };

    if (in_turns(job)) {
        roles.scopes[roles.count++] = TW_SCOPE_ROUGH;
        roles.scopes[roles.count++] = TW_SCOPE_FINISH;
    } else {
        roles.scopes[roles.count++] = TW_SCOPE_WHOLE;
    }
    if (tw_witness_hollows(job, side))
        roles.scopes[roles.count++] = TW_SCOPE_RELIEF;
    return roles;
}

static bool has(const struct tw_roles *roles, enum tw_scope scope)
{
    for (size_t i = 0; i < roles->count; i++)
        if (roles->scopes[i] == scope)
            return true;
    return false;
}

const char *tw_role_name(enum tw_scope scope)
{
    return scope == TW_SCOPE_WHOLE ? "taper" : tw_scope_name(scope);
}

/* All operations of a job in their order. */
struct steps {
    struct {
        enum tw_side side;
        enum tw_scope scope;
    } items[6];
    int count;
};

static void add_step(const struct tw_job *job, struct steps *steps, int side, enum tw_scope scope)
{
    if (scope == TW_SCOPE_RELIEF && !tw_witness_hollows(job, (enum tw_side)side))
        return;
    steps->items[steps->count].side = (enum tw_side)side;
    steps->items[steps->count++].scope = scope;
}

/* A hollow is ground as its side lies for the taper, before it or after it. */
static struct steps steps_by_sides(const struct tw_job *job, bool relief_first)
{
    bool turns = in_turns(job);
    struct steps steps = { 0 };

    for (int side = 0; side < 2; side++) {
        if (relief_first)
            add_step(job, &steps, side, TW_SCOPE_RELIEF);
        add_step(job, &steps, side, turns ? TW_SCOPE_ROUGH : TW_SCOPE_WHOLE);
        if (!relief_first && !turns)
            add_step(job, &steps, side, TW_SCOPE_RELIEF);
    }
    for (int side = 0; turns && side < 2; side++) {
        add_step(job, &steps, side, TW_SCOPE_FINISH);
        if (!relief_first)
            add_step(job, &steps, side, TW_SCOPE_RELIEF);
    }
    return steps;
}

/* Where the hollows' wheel is another one and both faces are roughed first, it comes last: B as it lies, then A. */
static struct steps steps_by_wheels(const struct tw_job *job)
{
    static const enum tw_scope scopes[] = { TW_SCOPE_ROUGH, TW_SCOPE_FINISH, TW_SCOPE_RELIEF };
    struct steps steps = { 0 };

    for (int i = 0; i < 3; i++)
        for (int k = 0; k < 2; k++)
            add_step(job, &steps, scopes[i] == TW_SCOPE_RELIEF ? 1 - k : k, scopes[i]);
    return steps;
}

int tw_role_step(const struct tw_job *job, enum tw_side side, enum tw_scope scope, bool relief_first)
{
    bool by_wheels = in_turns(job) && !relief_first && job->relief_wheel.diameter_mm > 0.0;
    struct steps steps = by_wheels ? steps_by_wheels(job) : steps_by_sides(job, relief_first);
    int found = 0;

    for (int i = 0; i < steps.count; i++)
        if (steps.items[i].side == side && steps.items[i].scope == scope)
            found = i + 1;
    return steps.count > 2 ? found : 0;
}

/* ---- what a program's heights say ---- */

/* How far its feeds go over the finished face: lowest and highest, where the wheel is over the tang. */
struct heights {
    double low_mm, high_mm;
};

static int part_of(const struct tw_job *job, int work_system)
{
    for (int part = 0; part < job->parts; part++)
        if (job->fixture.stations[part].work_offset == work_system)
            return part;
    return 0;
}

/* The piece of a motion that lies between two x; false: none does. */
static bool clip(double from_mm[3], double to_mm[3], double low_mm, double high_mm)
{
    double first[3], by_mm = to_mm[0] - from_mm[0], enter, leave;

    if (by_mm == 0.0)
        return from_mm[0] >= low_mm && from_mm[0] <= high_mm;
    enter = fmax(0.0, fmin((low_mm - from_mm[0]) / by_mm, (high_mm - from_mm[0]) / by_mm));
    leave = fmin(1.0, fmax((low_mm - from_mm[0]) / by_mm, (high_mm - from_mm[0]) / by_mm));
    for (int k = 0; k < 3; k++) {
        first[k] = from_mm[k] + enter * (to_mm[k] - from_mm[k]);
        to_mm[k] = from_mm[k] + leave * (to_mm[k] - from_mm[k]);
        from_mm[k] = first[k];
    }
    return enter <= leave;
}

static struct heights heights_of(const struct tw_job *job, const struct tw_proof *proof, const struct tw_wheel *wheel,
                                 const struct tw_trace *trace)
{
    struct tw_witness_face face = tw_witness_face(job, proof->side);
    double end_mm = tw_witness_place(&face, (struct tw_point){ tw_ring_box(&job->part.tang.outer).max_x_mm, 0.0 }).x_mm;
    struct heights heights = { HUGE_VAL, -HUGE_VAL };

    for (size_t i = 0; i < trace->count; i++) {
        const struct tw_step *step = &trace->steps[i];
        double origin_mm[3], ends_mm[2][3];

        tw_trace_origin(&job->machine, &job->fixture.stations[part_of(job, step->work_system)], origin_mm);
        for (int k = 0; k < 3; k++) {
            ends_mm[0][k] = step->from_mm[k] - origin_mm[k];
            ends_mm[1][k] = step->to_mm[k] - origin_mm[k];
        }
        if (step->kind != TW_STEP_FEED || (step->from_mm[0] == step->to_mm[0] && step->from_mm[1] == step->to_mm[1]) ||
            !clip(ends_mm[0], ends_mm[1], face.start_mm, end_mm))
            continue;
        for (int end = 0; end < 2; end++) {
            double over_mm = tw_level_over_face_mm(&face, wheel, ends_mm[end][0], ends_mm[end][2] - proof->lift_mm);

            heights.low_mm = fmin(heights.low_mm, over_mm);
            if (end == 1) /* a ramp may begin in the air */
                heights.high_mm = fmax(heights.high_mm, over_mm);
        }
    }
    return heights;
}

/* A refused program has the heights up to where it reads. */
static enum tw_status read_trace(const struct tw_job *job, enum tw_side side, const struct tw_card *card,
                                 struct tw_trace *trace, struct tw_findings *findings)
{
    struct tw_findings refusals = { 0 };
    double zero_mm = tw_witness_face(job, side).zero_mm;
    enum tw_status status = tw_trace_make(job, zero_mm, card->name, card->text, card->length, trace, &refusals);

    if (refusals.out_of_memory || status == TW_NO_MEMORY)
        status = tw_no_memory(findings);
    else
        status = TW_OK;
    tw_findings_free(&refusals);
    return status;
}

static double level_mm(const struct tw_job *job, enum tw_scope scope)
{
    return scope == TW_SCOPE_ROUGH ? left_mm(job) : scope == TW_SCOPE_RELIEF ? -job->relief.depth_mm : 0.0;
}

/* The operation whose own level the lowest feeds come nearest to. */
static enum tw_status by_heights(const struct tw_job *job, const struct tw_card *card, const struct tw_roles *roles,
                                 struct tw_proof *proof, struct tw_findings *findings)
{
    struct tw_trace trace;
    double nearest_mm = HUGE_VAL;
    enum tw_status status = read_trace(job, proof->side, card, &trace, findings);

    proof->scope = roles->scopes[0];
    for (size_t i = 0; status == TW_OK && i < roles->count; i++) {
        const struct tw_wheel *wheel = tw_witness_wheel(job, roles->scopes[i]);
        double off_mm = fabs(heights_of(job, proof, wheel, &trace).low_mm - level_mm(job, roles->scopes[i]));

        if (off_mm < nearest_mm) {
            nearest_mm = off_mm;
            proof->scope = roles->scopes[i];
        }
    }
    tw_trace_free(&trace);
    return status;
}

enum tw_status tw_role_relief_first(const struct tw_job *job, const struct tw_card *card, const struct tw_proof *proof,
                                    bool *first, struct tw_findings *findings)
{
    struct tw_witness_face face = tw_witness_face(job, proof->side);
    struct tw_trace trace;
    struct heights heights;
    enum tw_status status;

    *first = job->relief.when == TW_RELIEF_FIRST;
    if (job->relief.when != TW_RELIEF_AUTO)
        return TW_OK;
    status = read_trace(job, proof->side, card, &trace, findings);
    heights = heights_of(job, proof, tw_witness_wheel(job, TW_SCOPE_RELIEF), &trace);
    tw_trace_free(&trace);
    /* Into the raw blank it begins at the height of the stock; into the finished face not far above it. */
    *first =
        heights.high_mm >
        0.5 * tw_witness_most_mm(&face, tw_witness_place(&face, (struct tw_point){ job->taper.length_mm, 0.0 }).x_mm);
    return status;
}

/* ---- what head and name say ---- */

/* The stage that a file's name tells, as those that are planned are called. */
static bool named(const char *name, enum tw_scope *scope)
{
    static const struct {
        const char *word;
        enum tw_scope scope;
    } words[] = { { "rough", TW_SCOPE_ROUGH }, { "finish", TW_SCOPE_FINISH }, { "relief", TW_SCOPE_RELIEF } };
    const char *base = strrchr(name, '/');

    base = base ? base + 1 : name;
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        for (const char *c = base; *c; c++)
            if (strncasecmp(c, words[i].word, strlen(words[i].word)) == 0) {
                *scope = words[i].scope;
                return true;
            }
    return false;
}

/* Programs for cutting air are called so, and a controller without comments has nothing else to tell it by. */
static bool named_air(const char *name)
{
    const char *base = strrchr(name, '/');

    base = base ? base + 1 : name;
    return strncasecmp(base, "air-", 4) == 0 || strncasecmp(base, "air_", 4) == 0;
}

/* By how much its lowest feeds are raised over the level that its operation leaves, in whole last decimals. */
static enum tw_status find_lift(const struct tw_job *job, const struct tw_card *card, struct tw_proof *proof,
                                struct tw_findings *findings)
{
    double decimal_mm = decimal_of_mm(job);
    struct tw_trace trace;
    enum tw_status status = read_trace(job, proof->side, card, &trace, findings);
    double lift_mm = heights_of(job, proof, tw_witness_wheel(job, proof->scope), &trace).low_mm;

    tw_trace_free(&trace);
    lift_mm = decimal_mm * floor((lift_mm - level_mm(job, proof->scope)) / decimal_mm + 0.01);
    if (status != TW_OK || !isfinite(lift_mm) || lift_mm <= 0.0)
        return status;
    proof->lift_mm = lift_mm;
    tw_proof_remark(proof, TW_REMARK_ROLE, 0,
                    "no head says so: by its file name and its heights it is raised by %.4g mm", lift_mm);
    return TW_OK;
}

enum tw_status tw_role_find(const struct tw_job *job, const struct tw_card *card, struct tw_card_head *head,
                            struct tw_proof *proof, struct tw_findings *findings)
{
    struct tw_roles roles = tw_roles_of(job, proof->side);
    enum tw_scope by_name = TW_SCOPE_WHOLE;
    bool head_says = head->step > 0, name_says = named(card->name, &by_name), raised = named_air(card->name);
    enum tw_status status = TW_OK;

    if (head_says && !has(&roles, head->scope)) {
        tw_proof_remark(proof, TW_REMARK_ROLE, 0, "the head speaks of %s, which this job's side %s does not take",
                        tw_role_name(head->scope), tw_side_letter(proof->side));
        head_says = false;
    }
    name_says &= has(&roles, by_name);
    head->clashes = head_says && name_says && head->scope != by_name;
    proof->scope = head_says ? head->scope : name_says ? by_name : roles.scopes[0];
    if (raised && !head->has_inputs && !head->has_side && proof->lift_mm == 0.0)
        status = find_lift(job, card, proof, findings);
    else if (!head_says && !name_says && roles.count > 1)
        status = by_heights(job, card, &roles, proof, findings);
    head->not_raised = raised && proof->lift_mm == 0.0;
    return status;
}

/* ---- the set ---- */

/* The programs of one side that cut, or those raised to run in the air: each is a set by itself. */
struct set {
    enum tw_side side;
    bool lifted;
};

static bool is_of(const struct tw_proof *proof, struct set set)
{
    return proof->side == set.side && (proof->lift_mm > 0.0) == set.lifted;
}

static size_t count_of(const struct tw_verdict *verdict, struct set set, const enum tw_scope *scope)
{
    size_t count = 0;

    for (size_t i = 0; i < verdict->count; i++)
        count += is_of(&verdict->proofs[i], set) && (!scope || verdict->proofs[i].scope == *scope);
    return count;
}

static void compare_set(const struct tw_job *job, struct set set, struct tw_verdict *verdict)
{
    struct tw_roles roles = tw_roles_of(job, set.side);
    const char *name = tw_side_letter(set.side), *air = set.lifted ? ", in the air" : "";

    for (size_t i = 0; i < roles.count; i++) {
        size_t count = count_of(verdict, set, &roles.scopes[i]);
        const char *what = tw_role_name(roles.scopes[i]);

        if (count == 0)
            tw_verdict_reason(verdict, "Side %s%s: the program of its %s is missing; name it as well.", name, air,
                              what);
        else if (count > 1)
            tw_verdict_reason(verdict, "Side %s%s: %zu programs do its %s; name the one that will be run.", name, air,
                              count, what);
    }
}

/* "side B's taper", after what stands there already. */
__attribute__((format(printf, 2, 3))) static void add_unproved(struct tw_verdict *verdict, const char *format, ...)
{
    size_t used = strlen(verdict->unproved);
    va_list arguments;

    if (used > 0 && used + 2 < sizeof verdict->unproved)
        used += (size_t)snprintf(verdict->unproved + used, sizeof verdict->unproved - used, ", ");
    va_start(arguments, format);
    vsnprintf(verdict->unproved + used, sizeof verdict->unproved - used, format, arguments);
    va_end(arguments);
}

static void miss_side(const struct tw_job *job, enum tw_side side, bool strict, struct tw_verdict *verdict)
{
    struct tw_roles roles = tw_roles_of(job, side);
    const char *name = tw_side_letter(side);

    if (strict)
        tw_verdict_reason(verdict, "Side %s: none of the programs is for it.", name);
    for (size_t i = 0; i < roles.count; i++)
        add_unproved(verdict, "side %s's %s", name, tw_role_name(roles.scopes[i]));
}

/* Programs for cutting air prove themselves, and nothing of those that cut. `whole`: each side should have one. */
static void compare_kind(const struct tw_job *job, bool lifted, bool whole, bool strict, struct tw_verdict *verdict)
{
    for (int side = 0; side < 2; side++) {
        struct set own = { (enum tw_side)side, lifted }, other = { (enum tw_side)(1 - side), lifted };

        if (count_of(verdict, own, NULL) > 0)
            compare_set(job, own, verdict);
        else if (whole && side < TW_SIDES_OF(job) && count_of(verdict, other, NULL) > 0)
            miss_side(job, own.side, strict, verdict);
    }
}

void tw_roles_compare(const struct tw_job *job, bool strict, struct tw_verdict *verdict)
{
    size_t lifted = 0;

    for (size_t i = 0; i < verdict->count; i++)
        lifted += verdict->proofs[i].lift_mm > 0.0;
    if (lifted > 0 && lifted == verdict->count)
        add_unproved(verdict, "any program that cuts");
    compare_kind(job, false, true, strict, verdict);
    compare_kind(job, true, lifted == verdict->count, strict, verdict);
}
