/* proven.c - planning until the dry-run agrees, or giving up with the reason. */
#include "tangwright/proven.h"

#include "base/text.h"
#include "tangwright/assess.h"
#include "tangwright/program.h"

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

static enum tw_status plan_and_write(const struct tw_job *job, struct tw_proven *out, struct tw_findings *findings)
{
    enum tw_status status = tw_plan_make(job, &out->plan, findings);

    if (status != TW_OK)
        return status;
    tw_assess_remark(job, &out->plan, findings);
    return write_texts(job, out, findings);
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

/* Whether a plan with more kept back may pass: nothing but heat, power, force and spring-back is amiss. */
static bool keep_more_back(const struct tw_job *job, const struct tw_verdict *verdict, struct tw_reserve *reserve)
{
    struct tw_reserve most = *reserve;

    for (size_t i = 0; i < verdict->count; i++) {
        for (int id = 0; id < TW_CHECK_COUNT; id++) {
            const struct tw_check *check = &verdict->proofs[i].checks[id];
            struct tw_reserve more = *reserve;

            if (!check->asked || !check->failed)
                continue;
            if (!is_heat((enum tw_check_id)id) && id != TW_CHECK_POWER && id != TW_CHECK_HOLDING &&
                id != TW_CHECK_FILM && id != TW_CHECK_SPRING_BACK)
                return false;
            note_missing(check, (enum tw_check_id)id, &more);
            most.heat_K = fmax(most.heat_K, more.heat_K);
            most.load_share = fmax(most.load_share, more.load_share);
            most.film_share = fmax(most.film_share, more.film_share);
            most.dry_K = fmax(most.dry_K, more.dry_K);
            most.spring_share = fmax(most.spring_share, more.spring_share);
        }
    }
    *reserve = most;
    reserve->plans++;
    return leaves_room(job, reserve);
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

static enum tw_status refuse(const struct tw_job *job, const struct tw_verdict *verdict, struct tw_findings *findings)
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
    status =
        tw_fail(findings, TW_NO_PLAN, at,
                "%s would not pass its own dry-run, so nothing is planned: %s, %.4g %s where %.4g %s is allowed%s; %s",
                verdict->proofs[program].name, tw_check_name(id), check ? check->amount : 0.0, check ? check->unit : "",
                check ? check->limit : 0.0, check ? check->unit : "", where.data ? where.data : "", advice(id));
    tw_text_free(&where);
    return status;
}

/* What the dry-run itself would advise, larger cells, is nothing that a plan could be asked for. */
static enum tw_status prove(const struct tw_job *job, const struct tw_proven *proven, struct tw_verdict *out,
                            struct tw_findings *findings)
{
    struct tw_place at = { .file = job->path };
    struct tw_findings said = { 0 };
    enum tw_status status = tw_verdict_make(job, proven->cards, proven->count, 0.0, out, &said);

    if (status == TW_NO_PLAN)
        tw_fail(findings, TW_NO_PLAN, at,
                "the programs would have so many moves that their dry-run takes too long to be begun, so nothing is "
                "planned; fewer parts, a wider or larger wheel, or a larger wheel.max_infeed gives fewer");
    else
        tw_findings_append(findings, &said);
    tw_findings_free(&said);
    return status;
}

/* ---- until it passes ---- */

/* With more kept back the same order of the programs is the quicker: the other one is not tried again, unless this one fails. */
static void keep_order(struct tw_job *job, const struct tw_plan *plan, double times_s[2])
{
    if (!(job->relief.depth_mm > 0.0) || job->relief.when != TW_RELIEF_AUTO)
        return;
    job->relief.when = plan->relief_first ? TW_RELIEF_FIRST : TW_RELIEF_LAST;
    times_s[0] = plan->relief_last_s;
    times_s[1] = plan->relief_first_s;
}

/* What the other order took when it was tried. */
static void restore_order(struct tw_plan *plan, const double times_s[2])
{
    if (plan->relief_first)
        plan->relief_last_s = fmax(plan->relief_last_s, times_s[0]);
    else
        plan->relief_first_s = fmax(plan->relief_first_s, times_s[1]);
}

/* *again: it did not pass, and `reserve` has grown. */
static enum tw_status try_plan(const struct tw_job *job, bool last, struct tw_proven *out, struct tw_reserve *reserve,
                               bool *again, struct tw_findings *findings)
{
    struct tw_verdict verdict;
    enum tw_status status = plan_and_write(job, out, findings);

    *again = false;
    if (status == TW_OK)
        status = prove(job, out, &verdict, findings);
    if (status != TW_OK)
        return status;
    *again = !verdict.cut && !last && keep_more_back(job, &verdict, reserve);
    if (!verdict.cut && !*again)
        status = refuse(job, &verdict, findings);
    tw_verdict_free(&verdict);
    return status;
}

enum tw_status tw_proven_make(const struct tw_job *job, struct tw_proven *out, struct tw_findings *findings)
{
    struct tw_job trial = *job; /* a shallow copy: only the reserve and the order are its own */
    struct tw_findings said = { 0 };
    double times_s[2] = { 0.0, 0.0 };
    bool again = true;
    int tries = 0;
    enum tw_status status = TW_OK;

    *out = (struct tw_proven){ 0 };
    while (status == TW_OK && again) {
        tw_findings_free(&said);
        tw_proven_free(out);
        tries++;
        status = try_plan(&trial, tries == TRIES_MOST, out, &trial.reserve, &again, &said);
        if (status == TW_NO_PLAN && out->plan.setup_count == 0 && trial.relief.when != job->relief.when) {
            tw_findings_free(&said);
            trial.relief.when = job->relief.when;
            status = try_plan(&trial, tries == TRIES_MOST, out, &trial.reserve, &again, &said);
        }
        keep_order(&trial, &out->plan, times_s);
    }
    restore_order(&out->plan, times_s);
    tw_findings_append(findings, &said);
    out->tries = tries;
    if (status != TW_OK)
        tw_proven_free(out);
    return status;
}
