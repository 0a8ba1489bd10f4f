/* proven.c - planning until the dry-run agrees, or giving up with the reason. */
#include "tangwright/proven.h"

#include "base/text.h"
#include "tangwright/assess.h"
#include "tangwright/program.h"
#include "verdict/effort.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The first plan and the ones with more kept back. */
#define TRIES_MOST 3
/* Kept back on top of what was found missing, so that the next plan does not just miss again. */
#define MORE_K     0.5
#define MORE_SHARE 0.01
/* A face that would be so little too hot without its film was planned not to rely on it. */
#define NEARLY_DRY_K 20.0
/* What is kept back of the heat does not always make the hottest place cooler by quite as much: another plan has its hottest place
 * elsewhere. So what is missing the second time counts twice. */
#define MORE_TIMES 1.1

/* ---- one plan and its programs ---- */

void tw_proven_free(struct tw_proven *proven)
{
    for (size_t i = 0; i < proven->count; i++)
        free(proven->texts[i]);
    tw_plan_free(&proven->plan);
    *proven = (struct tw_proven){ 0 };
}

static enum tw_status write_texts(const struct tw_job *job, struct tw_proven *out, struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    while (status == TW_OK && out->count < out->plan.setup_count) {
        size_t i = out->count;
        const struct tw_setup_plan *setup = &out->plan.setups[i];

        status = tw_program_text(job, &out->plan, i, 0.0, &out->texts[i], findings);
        if (status == TW_OK)
            out->cards[out->count++] = (struct tw_card){ setup->file_name, out->texts[i], strlen(out->texts[i]) };
    }
    return status;
}

/* ---- keeping more back ---- */

static bool is_heat(enum tw_check_id id)
{
    return id == TW_CHECK_TEMPERATURE || id == TW_CHECK_BULK || id == TW_CHECK_TEMPERING;
}

/* The film does not last: the pass was planned either to keep its limit without it, and misses by a little, or to have a film that
 * lasts. After a second miss only such a film counts. */
static void note_film_missing(const struct tw_check *check, struct tw_reserve *reserve)
{
    if (check->without_K < NEARLY_DRY_K && reserve->dry_K == 0.0) {
        reserve->dry_K = MORE_TIMES * check->without_K + MORE_K;
        return;
    }
    reserve->dry_K = HUGE_VAL;
    reserve->film_share = (1.0 + reserve->film_share) * (check->amount / check->limit + MORE_SHARE) - 1.0;
}

/* All grow with depth and speed of a cut, or shrink with more spark-outs: the planner can leave room for them. */
static void note_missing(const struct tw_check *check, enum tw_check_id id, struct tw_reserve *reserve)
{
    if (is_heat(id))
        reserve->heat_K += (1 + reserve->plans) * (MORE_TIMES * (check->amount - check->limit) + MORE_K);
    else if (id == TW_CHECK_FILM)
        note_film_missing(check, reserve);
    else if (id == TW_CHECK_SPRING_BACK)
        reserve->spring_share = 1.0 - (1.0 - reserve->spring_share) * (check->limit / check->amount - MORE_SHARE);
    else
        reserve->load_share = 1.0 - (1.0 - reserve->load_share) * (check->limit / check->amount - MORE_SHARE);
}

/* Whether anything is left to plan with. */
static bool leaves_room(const struct tw_job *job, const struct tw_reserve *reserve)
{
    const struct tw_limits *limits = &job->limits;

    return reserve->load_share < 1.0 && reserve->spring_share < 1.0 &&
           limits->tempering_degC - limits->margin_K - reserve->heat_K > job->coolant.temperature_degC;
}

static void keep_more(struct tw_reserve *most, const struct tw_reserve *more)
{
    most->heat_K = fmax(most->heat_K, more->heat_K);
    most->load_share = fmax(most->load_share, more->load_share);
    most->film_share = fmax(most->film_share, more->film_share);
    most->dry_K = fmax(most->dry_K, more->dry_K);
    most->spring_share = fmax(most->spring_share, more->spring_share);
    most->plans = most->plans > more->plans ? most->plans : more->plans;
}

/* A program that was not planned up to its limit stays as it is with less kept back than the plan was off by. */
static void note_estimate(const struct tw_check *check, const struct tw_setup_plan *setup, struct tw_reserve *reserve)
{
    reserve->heat_K = fmax(reserve->heat_K, check->amount - setup->reserve_degC + MORE_K);
}

/* Hotter than planned by so much a face is only where its film did not last: at the lower end of its range it was planned to last just
 * so. No lighter heat is asked for then, but a film that lasts by more. */
#define FILM_GONE_K 50.0

static bool film_is_gone(const struct tw_proof *proof, const struct tw_setup_plan *setup)
{
    const struct tw_check *checks = proof->checks;

    return checks[TW_CHECK_FILM].asked && (checks[TW_CHECK_TEMPERATURE].failed || checks[TW_CHECK_TEMPERING].failed) &&
           checks[TW_CHECK_TEMPERATURE].amount - setup->reserve_degC > FILM_GONE_K;
}

/* A film may be missed by a hair, or by as much as its range is wide: the second time far more of it is asked for. */
static double more_film_share(const struct tw_reserve *reserve)
{
    return reserve->plans == 0 ? 2.0 * MORE_SHARE : 0.4 * reserve->plans;
}

/* Where flashes may be as hot as dry ones, and only their sum is too much, no film was asked for: then one is. */
static void note_film_gone(const struct tw_proof *proof, struct tw_reserve *reserve)
{
    reserve->film_share = (1.0 + reserve->film_share) * (1.0 + more_film_share(reserve)) - 1.0;
    if (!proof->checks[TW_CHECK_TEMPERATURE].failed)
        reserve->dry_K = HUGE_VAL;
}

/* What the checks that a program failed ask for, more than `kept`; false where something is amiss that no reserve mends. */
static bool ask_more(const struct tw_proof *proof, const struct tw_setup_plan *setup, const struct tw_reserve *kept,
                     struct tw_reserve *most)
{
    for (int id = 0; id < TW_CHECK_COUNT; id++) {
        const struct tw_check *check = &proof->checks[id];
        struct tw_reserve more = *kept;

        if (!check->asked || !check->failed)
            continue;
        if (!is_heat((enum tw_check_id)id) && id != TW_CHECK_POWER && id != TW_CHECK_HOLDING && id != TW_CHECK_FILM &&
            id != TW_CHECK_SPRING_BACK)
            return false;
        if (is_heat((enum tw_check_id)id) && film_is_gone(proof, setup)) {
            note_film_gone(proof, &more);
        } else {
            note_missing(check, (enum tw_check_id)id, &more);
            if (id == TW_CHECK_TEMPERATURE)
                note_estimate(check, setup, &more);
        }
        more.plans++;
        keep_more(most, &more);
    }
    return true;
}

/* Whether a plan with more kept back from the programs that failed may pass: nothing but heat, power, force and spring-back is
 * amiss. */
static bool keep_more_back(const struct tw_job *job, const struct tw_plan *plan, const struct tw_verdict *verdict,
                           struct tw_reserves *reserves)
{
    const struct tw_reserves kept = *reserves;
    bool asked = false;

    for (size_t i = 0; i < verdict->count; i++) {
        enum tw_side side = plan->setups[i].face.side;
        bool relief = plan->setups[i].scope == TW_SCOPE_RELIEF;
        struct tw_reserve *reserve = &reserves->of[side][relief];

        if (!ask_more(&verdict->proofs[i], &plan->setups[i], &plan->setups[i].reserve, reserve) ||
            !leaves_room(job, reserve))
            return false;
        asked |= reserve->plans > kept.of[side][relief].plans;
    }
    return asked;
}

/* ---- giving up ---- */

static const char *advice(enum tw_check_id id)
{
    switch (id) {
    case TW_CHECK_TEMPERATURE:
    case TW_CHECK_BULK:
    case TW_CHECK_TEMPERING:
        return "a sharper or a CBN wheel, more coolant or a larger heat.margin helps";
    case TW_CHECK_FILM:
        return "more coolant, a sharper wheel or a smaller wheel.max_infeed makes the film last";
    case TW_CHECK_SPRING_BACK:
        return "a lighter finish.infeed, a stiffer machine, or its stiffness measured with a narrower range helps";
    case TW_CHECK_DRESSING:
        return "fewer parts in a program, or a wheel that wants dressing later (wheel.dress_after), helps";
    case TW_CHECK_POWER:
        return "a smaller wheel.max_infeed or a narrower wheel needs less power";
    case TW_CHECK_HOLDING:
        return "more clamping force, or a smaller wheel.max_infeed, helps";
    case TW_CHECK_DEPTH:
    case TW_CHECK_RELIEF:
        return "a smaller relief wheel, or a simpler region (relief.land, relief.boss), may help";
    case TW_CHECK_STOCK_LEFT:
    case TW_CHECK_FLATNESS:
        return "a larger finish.flatness or a narrower wheel helps";
    case TW_CHECK_RAPIDS:
    case TW_CHECK_CONTACT:
    case TW_CHECK_CLEARANCE:
        return "a smaller wheel, or fixture parts farther away, may help";
    default:
        return "this is a fault of the planner: please report it with the job";
    }
}

/* The check that misses its limit by most of it, counted in limits. */
static const struct tw_check *worst_of(const struct tw_verdict *verdict, size_t *program, enum tw_check_id *id)
{
    const struct tw_check *worst = NULL;
    double worst_by = -HUGE_VAL;

    for (size_t i = 0; i < verdict->count; i++) {
        for (int k = 0; k < TW_CHECK_COUNT; k++) {
            const struct tw_check *check = &verdict->proofs[i].checks[k];
            double by = check->limit > 0.0 ? check->amount / check->limit : HUGE_VAL;

            if (!check->asked || !check->failed || (worst && by <= worst_by))
                continue;
            worst = check;
            worst_by = by;
            *program = i;
            *id = (enum tw_check_id)k;
        }
    }
    return worst;
}

/* `late`: another plan might pass, but there is no time for it. */
static enum tw_status refuse(const struct tw_job *job, const struct tw_verdict *verdict, bool late,
                             struct tw_findings *findings)
{
    struct tw_place at = { .file = job->path };
    size_t program = 0;
    enum tw_check_id id = TW_CHECK_TEXT;
    const struct tw_check *check = worst_of(verdict, &program, &id);
    struct tw_text where = { 0 };
    enum tw_status status;

    if (!check && verdict->reason_count > 0)
        return tw_fail(findings, TW_NO_PLAN, at,
                       "the programs would not pass their own dry-run, so nothing is planned: %s", verdict->reasons[0]);
    if (check && check->has_place)
        tw_text_print(&where, " at x = %.1f, y = %.1f mm", check->place_mm[0], check->place_mm[1]);
    if (where.failed) {
        tw_text_free(&where);
        return tw_no_memory(findings);
    }
    status = tw_fail(
        findings, TW_NO_PLAN, at,
        "%s would not pass its own dry-run, so nothing is planned: %s, %.4g %s where %.4g %s is allowed%s%s; %s",
        verdict->proofs[program].name, tw_check_name(id), check ? check->amount : 0.0, check ? check->unit : "",
        check ? check->limit : 0.0, check ? check->unit : "", where.data ? where.data : "",
        late ? ", and to plan it anew takes more computing than is allowed" : "", advice(id));
    tw_text_free(&where);
    return status;
}

/* ---- until it passes ---- */

/* Plans, and what the last one's programs came to. */
struct attempts {
    struct tw_job job; /* a shallow copy: only what is kept back and the order are its own */
    struct tw_reserves reserves;
    struct tw_proven *out;
    struct tw_verdict verdict;
    double times_s[2]; /* of either order, when both were tried */
    int tries;
    double effort_s; /* of computing so far, counted */
    bool again;      /* the last plan did not pass, and more has been kept back */
};

static bool same_texts(const struct tw_proven *a, const struct tw_proven *b, enum tw_side side)
{
    for (size_t i = 0; i < a->count; i++)
        if (a->plan.setups[i].face.side == side && strcmp(a->texts[i], b->texts[i]) != 0)
            return false;
    return true;
}

/* Plans that are clearly too long are refused before; this one has turned out so over fine cells. */
static enum tw_status refuse_moves(const struct tw_job *job, const struct tw_plan *plan, struct tw_findings *findings)
{
    struct tw_place at = { .file = job->path };
    double moves = 0.0;

    for (size_t i = 0; i < plan->setup_count; i++)
        moves += job->parts * (double)plan->setups[i].move_count;
    return tw_fail(findings, TW_NO_PLAN, at,
                   "the programs would have %.0f moves, and to prove them would take more than the %.0f s of computing "
                   "or the %.0f MB that are allowed, so nothing is planned; fewer or deeper layers, a wider wheel, or "
                   "fewer parts make them fewer",
                   moves, TW_EFFORT_MOST_S, TW_EFFORT_MOST_BYTES / 1e6);
}

static bool side_failed(const struct attempts *attempts, enum tw_side side)
{
    for (size_t i = 0; i < attempts->verdict.count; i++)
        if (attempts->verdict.proofs[i].side == side && !attempts->verdict.proofs[i].cut)
            return true;
    return false;
}

/* Of the last plan's moves, those that have to be planned anew. */
static double failed_share(const struct attempts *attempts)
{
    const struct tw_plan *plan = &attempts->out->plan;
    double failed = 0.0, all = 0.0;

    for (size_t i = 0; i < plan->setup_count; i++) {
        double moves = (double)plan->setups[i].move_count;

        all += moves;
        failed += side_failed(attempts, plan->setups[i].face.side) ? moves : 0.0;
    }
    return all > 0.0 ? failed / all : 0.0;
}

/* What it takes to plan what failed by what it was chosen by. */
static double hasty_effort_s(const struct attempts *attempts)
{
    const struct tw_plan *plan = &attempts->out->plan;
    double effort_s = 0.0;

    for (size_t i = 0; i < plan->setup_count; i++)
        if (side_failed(attempts, plan->setups[i].face.side))
            effort_s += plan->setups[i].choice.effort_s;
    return effort_s;
}

/* With more kept back the search is shorter. */
#define AGAIN_SHARE 0.5

/* A plan that misses a limit by little is worth more computing than one that is not begun: who has waited so long had rather wait a little
 * more than hear of no plan. Judgement. */
#define AGAIN_MOST_S (1.5 * TW_EFFORT_MOST_S)

/* Whether another plan keeps within the computing that is allowed: by a search or, where that takes too long, by what the last one was
 * chosen by. */
static bool has_time(struct attempts *attempts)
{
    double failed = failed_share(attempts), left_s = AGAIN_MOST_S - attempts->effort_s;
    double proof_s = failed * attempts->verdict.effort_s;

    attempts->reserves.hasty = failed * AGAIN_SHARE * attempts->out->plan.effort_s + proof_s > left_s;
    return (attempts->reserves.hasty ? hasty_effort_s(attempts) + proof_s : 0.0) <= left_s;
}

/* Programs of a side of which none has changed are as good as they were; none of them is known to be where there are others than
 * before. What the dry-run itself would advise, larger cells, is nothing that a plan could be asked for. */
static enum tw_status prove(struct attempts *attempts, const struct tw_proven *before, struct tw_findings *findings)
{
    const struct tw_proven *out = attempts->out;
    struct tw_verdict earlier = attempts->verdict;
    struct tw_findings said = { 0 };
    bool holds[TW_SETUPS_MOST] = { false };
    struct tw_verdict_settings settings = { .before = earlier.count == out->count ? &earlier : NULL, .holds = holds };
    enum tw_status status;

    for (size_t i = 0; settings.before && i < out->count; i++)
        holds[i] = same_texts(out, before, out->plan.setups[i].face.side);
    status = tw_verdict_prove(&attempts->job, out->cards, out->count, settings, &attempts->verdict, &said);
    tw_verdict_free(&earlier);
    if (status == TW_NO_PLAN)
        refuse_moves(&attempts->job, &out->plan, findings);
    else
        tw_findings_append(findings, &said);
    tw_findings_free(&said);
    return status;
}

/* With more kept back the same order of the programs is the quicker: the other one is not tried again, unless this one fails. */
static void keep_order(struct attempts *attempts)
{
    const struct tw_plan *plan = &attempts->out->plan;
    struct tw_job *job = &attempts->job;

    if (!(job->relief.depth_mm > 0.0) || job->relief.when != TW_RELIEF_AUTO)
        return;
    job->relief.when = plan->relief_first ? TW_RELIEF_FIRST : TW_RELIEF_LAST;
    attempts->times_s[0] = plan->relief_last_s;
    attempts->times_s[1] = plan->relief_first_s;
}

/* What the other order took when it was tried. */
static void restore_order(struct tw_plan *plan, const double times_s[2])
{
    if (plan->relief_first)
        plan->relief_last_s = fmax(plan->relief_last_s, times_s[0]);
    else
        plan->relief_first_s = fmax(plan->relief_first_s, times_s[1]);
}

/* Plans what is to be planned anew, all of it the first time or in another order than before, and proves what has changed. */
static enum tw_status try_plan(struct attempts *attempts, bool anew, struct tw_findings *findings)
{
    const struct tw_job *job = &attempts->job;
    struct tw_proven *out = attempts->out, before = *out;
    bool mends; /* what more is kept back might mend it */
    enum tw_status status;

    *out = (struct tw_proven){ .plan = before.plan };
    before.plan = (struct tw_plan){ 0 };
    if (anew)
        tw_plan_free(&out->plan);
    status = anew ? tw_plan_make(job, &out->plan, findings) : tw_plan_again(job, &out->plan, findings);
    if (status == TW_OK) {
        tw_assess_remark(job, &out->plan, findings);
        status = write_texts(job, out, findings);
    }
    if (status == TW_OK)
        status = prove(attempts, &before, findings);
    tw_proven_free(&before);
    attempts->effort_s += out->plan.effort_s + attempts->verdict.effort_s;
    attempts->again = false;
    if (status != TW_OK || attempts->verdict.cut)
        return status;
    mends = attempts->tries < TRIES_MOST && keep_more_back(job, &out->plan, &attempts->verdict, &attempts->reserves);
    attempts->again = mends && has_time(attempts);
    return attempts->again ? TW_OK : refuse(job, &attempts->verdict, mends, findings);
}

enum tw_status tw_proven_make(const struct tw_job *job, struct tw_proven *out, struct tw_findings *findings)
{
    const struct tw_reserve none = job->reserve;
    struct attempts attempts = {
        .job = *job, .reserves = { .of = { { none, none }, { none, none } } }, .out = out, .again = true
    };
    struct tw_findings said = { 0 };
    enum tw_status status = TW_OK;

    *out = (struct tw_proven){ 0 };
    attempts.job.reserves = &attempts.reserves;
    while (status == TW_OK && attempts.again) {
        tw_findings_free(&said);
        attempts.tries++;
        status = try_plan(&attempts, attempts.tries == 1, &said);
        if (status == TW_NO_PLAN && out->plan.setup_count == 0 && attempts.job.relief.when != job->relief.when) {
            tw_findings_free(&said);
            attempts.job.relief.when = job->relief.when;
            status = try_plan(&attempts, true, &said);
        }
        keep_order(&attempts);
    }
    restore_order(&out->plan, attempts.times_s);
    tw_findings_append(findings, &said);
    tw_verdict_free(&attempts.verdict);
    out->tries = attempts.tries;
    if (status != TW_OK)
        tw_proven_free(out);
    return status;
}
