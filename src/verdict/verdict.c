/* verdict.c - all checks of all programs. */
#include "tangwright/verdict.h"

#include "base/memory.h"
#include "base/numbers.h"
#include "verdict/card.h"
#include "verdict/dressed.h"
#include "verdict/effort.h"
#include "verdict/program_checks.h"
#include "verdict/prove.h"
#include "verdict/record.h"
#include "verdict/remarks.h"
#include "verdict/roles.h"
#include "verdict/second_time.h"
#include "verdict/trace.h"
#include "witness/survey.h"
#include "witness/task.h"

#include <math.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Programs that one side may take. */
#define TW_STEPS_MOST 6

/* ---- one program ---- */

static void lower(struct tw_trace *trace, double by_mm)
{
    for (size_t i = 0; i < trace->count; i++) {
        trace->steps[i].from_mm[2] -= by_mm;
        trace->steps[i].to_mm[2] -= by_mm;
    }
}

static bool any_lifted(const struct tw_run *runs, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (runs[i].proof->lift_mm > 0.0)
            return true;
    return false;
}

/* What a lifted program touched when it was run as it stands; the rest of that run does not count. */
static struct tw_check touched(struct tw_proof *proof)
{
    struct tw_check lift = proof->checks[TW_CHECK_LIFT];

    if (proof->checks[TW_CHECK_CONTACT].failed)
        tw_check_note(&lift, proof->checks[TW_CHECK_CONTACT].amount,
                      (struct tw_spot){ .line = proof->checks[TW_CHECK_CONTACT].first_line });
    proof->removed_mm3 = 0.0;
    return lift;
}

/* Lifted programs are first run as they stand, and must touch nothing; then lowered again, when they must pass all that
 * ordinary programs must. */
static enum tw_status prove_fields(const struct tw_run_blank *blanks, size_t blank_count, size_t count, double cell_mm,
                                   struct tw_findings *findings)
{
    struct tw_check lifts[TW_BAND_COUNT][TW_STEPS_MOST];
    enum tw_status status = tw_prove(blanks, blank_count, count, cell_mm, findings);

    if (status != TW_OK || !any_lifted(blanks[0].runs, count))
        return status;
    for (size_t blank = 0; blank < blank_count; blank++)
        for (size_t i = 0; i < count; i++) {
            struct tw_run *run = &blanks[blank].runs[i];

            lifts[blank][i] = touched(run->proof);
            lower(run->trace, run->proof->lift_mm);
        }
    status = tw_prove(blanks, blank_count, count, cell_mm, findings);
    for (size_t blank = 0; blank < blank_count; blank++)
        for (size_t i = 0; i < count; i++) {
            struct tw_run *run = &blanks[blank].runs[i];

            run->proof->checks[TW_CHECK_LIFT] = lifts[blank][i];
            lower(run->trace, -run->proof->lift_mm);
        }
    return status;
}

int tw_proof_look_at(const struct tw_proof *proof)
{
    int first = 0, left_over = 0;

    for (int i = 0; i < TW_CHECK_COUNT; i++) {
        const struct tw_check *check = &proof->checks[i];
        int *line = i == TW_CHECK_STOCK_LEFT || i == TW_CHECK_FLATNESS ? &left_over : &first;

        if (check->asked && check->failed && check->first_line > 0 && (*line == 0 || check->first_line < *line))
            *line = check->first_line;
    }
    return first > 0 ? first : left_over;
}

static bool all_pass(const struct tw_proof *proof)
{
    for (int i = 0; i < TW_CHECK_COUNT; i++)
        if (proof->checks[i].asked && proof->checks[i].failed)
            return false;
    return true;
}

static void check_program(const struct tw_job *job, const struct tw_trace *trace, struct tw_proof *proof)
{
    struct tw_check *checks = proof->checks;

    tw_program_check_modes(job, trace, proof->side, &checks[TW_CHECK_MODES]);
    tw_program_remark_plane(job, trace, proof);
    if (trace->soaked_line > 0)
        tw_proof_remark(proof, TW_REMARK_SOAKED, trace->soaked_line,
                        "the wheel stops before it has thrown out its coolant: wait (G4) between M9, or where the "
                        "coolant is turned "
                        "off by hand, and M5");
    tw_program_check_offsets(job, trace, proof->side, &checks[TW_CHECK_OFFSETS]);
    tw_program_check_travel(job, trace, &checks[TW_CHECK_TRAVEL]);
    tw_program_check_wheel_speed(job, trace, &checks[TW_CHECK_WHEEL_SPEED]);
    tw_program_check_feed(job, trace, &checks[TW_CHECK_FEED]);
    tw_program_check_ending(job, trace, proof->side, &checks[TW_CHECK_ENDING]);
}

/* What z counts from at each station: the zero of the blank that lies there. */
static enum tw_status make_trace(const struct tw_job *job, enum tw_side side, const struct tw_card *card,
                                 struct tw_trace *trace, struct tw_findings *refusals)
{
    double zeros_mm[TW_RS274_SYSTEMS];

    for (int station = 0; station < TW_RS274_SYSTEMS; station++) {
        struct tw_job own = tw_witness_part(job, station < job->parts ? station : 0);

        zeros_mm[station] = tw_witness_face(&own, side).zero_mm;
    }
    return tw_trace_make_at(job, zeros_mm, card->name, card->text, card->length, trace, refusals);
}

/* Reads a program and answers the checks that only need its text. */
static enum tw_status read_card(const struct tw_job *job, const struct tw_card *card, const struct tw_card_head *head,
                                bool strict, struct tw_trace *trace, struct tw_proof *proof,
                                struct tw_findings *findings)
{
    struct tw_findings refusals = { 0 };
    enum tw_status status = make_trace(job, proof->side, card, trace, &refusals);

    tw_program_check_text(&refusals, trace->last_line, &proof->checks[TW_CHECK_TEXT]);
    if (refusals.out_of_memory)
        status = tw_no_memory(findings);
    tw_findings_free(&refusals);
    if (status == TW_BAD_INPUT)
        status = TW_OK; /* refused: the check says so, and what was read up to there is still looked at */
    tw_card_check(job, head, strict, proof);
    check_program(job, trace, proof);
    tw_trace_end_at_travel(job, trace);
    if (status == TW_OK)
        status = tw_trace_time(job, trace, &proof->cycle_time_s, findings);
    return status == TW_OK ? tw_second_time(job, trace, proof->cycle_time_s, &proof->checks[TW_CHECK_TIME], findings)
                           : status;
}

/* ---- all programs ---- */

/* Programs of a side that are run one after the other on the same blank, by their heads; or one alone. */
struct group {
    size_t cards[TW_STEPS_MOST];
    size_t count;
};

/* What one worker does at a time: a group on some of the blanks. */
struct item {
    size_t group, first_blank, blank_count;
    enum tw_status status;
    struct tw_findings findings;
};

/* Programs to be proved on every blank; each worker takes the next item until none is left. */
struct queue {
    struct tw_job jobs[TW_BAND_COUNT]; /* shallow copies, with the blank in hand */
    size_t blank_count;
    const struct tw_card *cards;
    bool strict;
    int relief_steps[2];        /* place of each side's relief in the whole job; 0: it has none */
    struct tw_card_head *heads; /* one for each program */
    struct tw_verdict *verdict, *before;
    const bool *holds;                      /* of each program: the proof in `before`, unless that is NULL */
    struct tw_proof *proofs[TW_BAND_COUNT]; /* the first are the verdict's */
    struct group *groups;
    size_t group_count;
    struct item *items;
    size_t item_count;
    atomic_size_t next;
};

/* The first program of a side's finishing must not find the raw blank. */
static void check_order(const struct group *group, struct tw_proof *proofs)
{
    struct tw_proof *proof = &proofs[group->cards[0]];

    if (proof->scope == TW_SCOPE_FINISH)
        tw_check_fault(&proof->checks[TW_CHECK_CARD], (struct tw_spot){ 0 },
                       "it finishes what another program has roughed: name that one as well");
}

/* The job as this program finds it; `ground`: the side has been finished, so the face below is ground too. */
static struct tw_job job_of(const struct queue *queue, size_t blank, size_t card, bool ground)
{
    const struct tw_proof *proof = &queue->verdict->proofs[card];
    int below = queue->relief_steps[proof->side == TW_SIDE_A ? TW_SIDE_B : TW_SIDE_A];
    struct tw_job job = queue->jobs[blank];

    job.task.over_ground = !job.one_face && (ground || proof->scope == TW_SCOPE_FINISH);
    job.task.below_hollowed = !job.one_face && below > 0 && below < proof->step;
    return tw_witness_task(&job, proof->scope);
}

/* One blank's programs as texts and as runs. */
struct reading {
    struct tw_trace traces[TW_STEPS_MOST];
    struct tw_run runs[TW_STEPS_MOST];
};

static enum tw_status read_group(const struct queue *queue, const struct group *group, size_t blank,
                                 struct reading *out, struct tw_findings *findings)
{
    struct tw_proof *proofs = queue->proofs[blank];
    bool ground = false;
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < group->count; i++) {
        size_t card = group->cards[i];

        out->runs[i] = (struct tw_run){ &out->traces[i], &proofs[card], job_of(queue, blank, card, ground) };
        ground |= out->runs[i].proof->scope == TW_SCOPE_FINISH;
        status = read_card(&out->runs[i].job, &queue->cards[card], &queue->heads[card], queue->strict, &out->traces[i],
                           out->runs[i].proof, findings);
    }
    check_order(group, proofs);
    return status;
}

static enum tw_status prove_readings(const struct queue *queue, struct item *item, struct reading *readings)
{
    const struct group *group = &queue->groups[item->group];
    struct tw_run_blank blanks[TW_BAND_COUNT];
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < item->blank_count; i++) {
        blanks[i] = (struct tw_run_blank){ &queue->jobs[item->first_blank + i], readings[i].runs };
        status = read_group(queue, group, item->first_blank + i, &readings[i], &item->findings);
    }
    if (status == TW_OK)
        status = prove_fields(blanks, item->blank_count, group->count, queue->verdict->cell_mm, &item->findings);
    for (size_t i = 0; i < item->blank_count; i++)
        for (size_t k = 0; k < group->count; k++) {
            struct tw_proof *proof = &queue->proofs[item->first_blank + i][group->cards[k]];

            proof->cut = status == TW_OK && all_pass(proof);
            tw_trace_free(&readings[i].traces[k]);
        }
    return status;
}

static void prove_item(const struct queue *queue, struct item *item)
{
    struct reading *readings = calloc(item->blank_count, sizeof *readings); /* too much for a stack */

    item->status = readings ? prove_readings(queue, item, readings) : tw_no_memory(&item->findings);
    free(readings);
}

static void *work(void *context)
{
    struct queue *queue = context;
    size_t i;

    while ((i = atomic_fetch_add(&queue->next, 1)) < queue->item_count)
        prove_item(queue, &queue->items[i]);
    return NULL;
}

static bool has_relief(const struct queue *queue, const struct group *group)
{
    for (size_t i = 0; i < group->count; i++)
        if (queue->verdict->proofs[group->cards[i]].scope == TW_SCOPE_RELIEF)
            return true;
    return false;
}

/* Reliefs are proved on all blanks at once, as tw_prove() finds most of them once only; others blank by blank, so that there
 * are more items for the workers to share. */
static void list_items(struct queue *queue)
{
    for (size_t group = 0; group < queue->group_count; group++) {
        size_t at_once = has_relief(queue, &queue->groups[group]) ? queue->blank_count : 1;

        if (queue->before && queue->holds[queue->groups[group].cards[0]])
            continue;
        for (size_t blank = 0; blank < queue->blank_count; blank += at_once)
            queue->items[queue->item_count++] = (struct item){ group, blank, at_once, TW_OK, { 0 } };
    }
}

/* Whether a program hollows that side. */
static bool hollows(const struct queue *queue, enum tw_side side)
{
    for (size_t i = 0; i < queue->verdict->count; i++)
        if (queue->verdict->proofs[i].side == side && queue->verdict->proofs[i].scope == TW_SCOPE_RELIEF)
            return true;
    return false;
}

/* Whether `side` is hollowed before it is tapered: as both heads say, or else the job, or the program's heights; stays as it was
 * where no program hollows it. */
static enum tw_status find_order(const struct queue *queue, enum tw_side side, bool *relief_first,
                                 struct tw_findings *findings)
{
    const struct tw_proof *proofs = queue->verdict->proofs;
    int relief = 0, other = 0;
    size_t card = queue->verdict->count;

    for (size_t i = 0; i < queue->verdict->count; i++) {
        if (proofs[i].side != side)
            continue;
        *(proofs[i].scope == TW_SCOPE_RELIEF ? &relief : &other) = queue->heads[i].step;
        if (proofs[i].scope == TW_SCOPE_RELIEF)
            card = i;
    }
    if (card == queue->verdict->count)
        return TW_OK;
    *relief_first = relief < other;
    return relief > 0 && other > 0 ? TW_OK
                                   : tw_role_relief_first(&queue->jobs[TW_BAND_STATED], &queue->cards[card],
                                                          &proofs[card], relief_first, findings);
}

/* Place among the programs of its side. */
static int rank(enum tw_scope scope, bool relief_first)
{
    return scope == TW_SCOPE_RELIEF ? (relief_first ? 0 : 3) : scope == TW_SCOPE_ROUGH ? 1 : 2;
}

/* In the order in which they will be run: they may be named in any. */
static void join(const struct queue *queue, struct group *group, size_t card, bool relief_first)
{
    const struct tw_proof *proofs = queue->verdict->proofs;
    size_t i = group->count++;

    for (; i > 0 && rank(proofs[group->cards[i - 1]].scope, relief_first) > rank(proofs[card].scope, relief_first); i--)
        group->cards[i] = group->cards[i - 1];
    group->cards[i] = card;
}

/* A second program for the same operation is proved for itself. */
static bool belongs(const struct queue *queue, const struct group *group, size_t card)
{
    const struct tw_proof *proofs = queue->verdict->proofs;

    for (size_t i = 0; i < group->count; i++)
        if (proofs[group->cards[i]].side != proofs[card].side || proofs[group->cards[i]].scope == proofs[card].scope ||
            (proofs[group->cards[i]].lift_mm > 0.0) != (proofs[card].lift_mm > 0.0))
            return false;
    return group->count < TW_STEPS_MOST;
}

static enum tw_status look_at_card(struct queue *queue, size_t card, struct tw_findings *findings)
{
    struct tw_proof *proof = &queue->verdict->proofs[card];
    struct tw_card_head *head = &queue->heads[card];

    tw_card_read(&queue->cards[card], head);
    proof->name = tw_copy_string(queue->cards[card].name);
    proof->side = tw_card_side(&queue->cards[card], head);
    proof->lift_mm = head->lift_mm;
    if (!proof->name)
        return tw_no_memory(findings);
    return tw_role_find(&queue->jobs[TW_BAND_STATED], &queue->cards[card], head, proof, findings);
}

static enum tw_status form_groups(struct queue *queue, struct tw_findings *findings)
{
    bool first = queue->jobs[TW_BAND_STATED].relief.when == TW_RELIEF_FIRST, relief_first[2] = { first, first };
    enum tw_status status = TW_OK;

    for (size_t card = 0; status == TW_OK && card < queue->verdict->count; card++)
        status = look_at_card(queue, card, findings);
    for (int side = 0; status == TW_OK && side < 2; side++)
        status = find_order(queue, (enum tw_side)side, &relief_first[side], findings);
    for (int side = 0; side < 2; side++)
        if (!hollows(queue, (enum tw_side)side) && hollows(queue, (enum tw_side)(1 - side)))
            relief_first[side] = relief_first[1 - side];
    for (int side = 0; side < 2; side++)
        queue->relief_steps[side] =
            tw_role_step(&queue->jobs[TW_BAND_STATED], (enum tw_side)side, TW_SCOPE_RELIEF, relief_first[side]);
    for (size_t card = 0; status == TW_OK && card < queue->verdict->count; card++) {
        struct tw_proof *proof = &queue->verdict->proofs[card];
        size_t group = 0;

        proof->step = tw_role_step(&queue->jobs[TW_BAND_STATED], proof->side, proof->scope, relief_first[proof->side]);
        while (group < queue->group_count && !belongs(queue, &queue->groups[group], card))
            group++;
        queue->group_count += group == queue->group_count;
        join(queue, &queue->groups[group], card, relief_first[proof->side]);
    }
    return status;
}

/* ---- the work ahead ---- */

static enum tw_status add_effort(const struct queue *queue, size_t card, struct tw_effort *effort,
                                 struct tw_findings *findings)
{
    const struct tw_proof *proof = &queue->verdict->proofs[card];
    struct tw_job job = job_of(queue, TW_BAND_STATED, card, false);
    struct tw_findings refusals = { 0 }; /* of the text: the check of it says so later */
    struct tw_trace trace = { 0 };
    double cycle_s;
    enum tw_status status = make_trace(&job, proof->side, &queue->cards[card], &trace, &refusals);

    tw_trace_end_at_travel(&job, &trace);
    if (status == TW_OK || status == TW_BAD_INPUT)
        status = tw_trace_time(&job, &trace, &cycle_s, findings);
    if (status == TW_NO_MEMORY)
        status = tw_no_memory(findings);
    lower(&trace, proof->lift_mm);
    if (status == TW_OK)
        tw_effort_add(&job, proof->side, &trace, queue->verdict->cell_mm, effort);
    tw_trace_free(&trace);
    tw_findings_free(&refusals);
    return status;
}

/* The smallest cells, to two digits, with which all of that could still be proved; 0: not even the largest that prove. */
static double larger_cell_mm(const struct tw_effort *effort, double cell_mm, double blanks)
{
    for (double hundredths = ceil(cell_mm * 100.0); hundredths <= TW_CELL_PROVES_MM * 100.0; hundredths += 1.0) {
        struct tw_effort fewer = *effort;
        double share = cell_mm * cell_mm / (hundredths * hundredths * 1e-4);

        fewer.cells *= share;
        fewer.largest *= share;
        fewer.along *= share;
        fewer.aslant *= share;
        if (blanks * tw_effort_s(&fewer) <= TW_EFFORT_MOST_S && tw_effort_bytes(&fewer) <= TW_EFFORT_MOST_BYTES)
            return hundredths / 100.0;
    }
    return 0.0;
}

static enum tw_status refuse_effort(const struct queue *queue, const struct tw_effort *effort,
                                    struct tw_findings *findings)
{
    double blanks = (double)queue->blank_count, cell_mm = queue->verdict->cell_mm;
    double larger_mm = larger_cell_mm(effort, cell_mm, blanks);
    struct tw_place at = { .file = queue->verdict->proofs[0].name };
    char help[80] = "fewer moves, a wider wheel or fewer parts would shorten it";

    if (larger_mm > 0.0)
        snprintf(help, sizeof help, "cells of %.2f mm (--cell) would do", larger_mm);
    return tw_fail(
        findings, TW_NO_PLAN, at,
        "to prove this would take about %.0f s of one core and %.0f MB with cells of %.3g mm, and %.0f s and "
        "%.0f MB are allowed, so it is not begun; %s",
        blanks * tw_effort_s(effort), tw_effort_bytes(effort) / 1e6, cell_mm, TW_EFFORT_MOST_S,
        TW_EFFORT_MOST_BYTES / 1e6, help);
}

static enum tw_status weigh_effort(const struct queue *queue, struct tw_findings *findings)
{
    struct tw_effort effort = { 0 };
    enum tw_status status = TW_OK;

    for (size_t card = 0; status == TW_OK && card < queue->verdict->count; card++)
        if (!queue->before || !queue->holds[card])
            status = add_effort(queue, card, &effort, findings);
    queue->verdict->effort_s = (double)queue->blank_count * tw_effort_s(&effort);
    if (status == TW_OK &&
        (queue->verdict->effort_s > TW_EFFORT_MOST_S || tw_effort_bytes(&effort) > TW_EFFORT_MOST_BYTES))
        status = refuse_effort(queue, &effort, findings);
    return status;
}

/* ---- all at work ---- */

/* Both sides of a part take equally long, so a second thread halves the time. Without one it only takes longer. */
static void work_together(struct queue *queue)
{
    pthread_t helper;
    bool helped = queue->item_count > 1 && pthread_create(&helper, NULL, work, queue) == 0;

    work(queue);
    if (helped)
        pthread_join(helper, NULL);
}

static enum tw_status gather(const struct queue *queue, struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; i < queue->item_count; i++) {
        struct item *item = &queue->items[i];

        if (status == TW_OK)
            status = item->status;
        if (item->status == TW_NO_MEMORY)
            tw_no_memory(findings);
        if (findings)
            tw_findings_append(findings, &item->findings);
        tw_findings_free(&item->findings);
    }
    return status;
}

/* ---- several blanks ---- */

static void set_blanks(struct queue *queue, const struct tw_job *job)
{
    queue->blank_count = tw_effort_blanks(job);
    queue->jobs[TW_BAND_STATED] = tw_witness_blank(job, 0.0);
    queue->jobs[TW_BAND_THICK] = tw_witness_high_blank(job, job->taper.band_mm);
    queue->jobs[TW_BAND_THIN] = tw_witness_blank(job, -job->taper.band_mm);
}

/* Of all blanks of a load. */
static double unread_mm(const struct tw_job *job)
{
    double most_mm = 0.0;

    for (int part = 0; part < (job->blank_count > 0 ? job->parts : 1); part++) {
        struct tw_job own = tw_witness_part(job, part);

        most_mm = fmax(most_mm, tw_witness_unread_mm(&own));
    }
    return most_mm;
}

/* Proofs of the other blanks, with the verdict's own names, sides and steps. */
static enum tw_status open_proofs(struct queue *queue, struct tw_findings *findings)
{
    struct tw_verdict *verdict = queue->verdict;

    queue->proofs[TW_BAND_STATED] = verdict->proofs;
    for (size_t blank = 1; blank < queue->blank_count; blank++) {
        queue->proofs[blank] = calloc(verdict->count + 1, sizeof *verdict->proofs);
        if (!queue->proofs[blank])
            return tw_no_memory(findings);
        memcpy(queue->proofs[blank], verdict->proofs, verdict->count * sizeof *verdict->proofs);
    }
    return TW_OK;
}

static void free_found(struct tw_proof *proof)
{
    tw_record_free(&proof->record);
    tw_taken_free(&proof->taken);
}

static void free_proofs(struct queue *queue)
{
    for (size_t blank = 1; blank < queue->blank_count; blank++) {
        for (size_t i = 0; queue->proofs[blank] && i < queue->verdict->count; i++)
            free_found(&queue->proofs[blank][i]);
        free(queue->proofs[blank]);
    }
}

/* The record is that of the blank that gets hottest: it is drawn beside the check of the temperature. */
static void take_record(const struct queue *queue, size_t card, size_t hottest)
{
    struct tw_proof *stated = &queue->proofs[TW_BAND_STATED][card], *other = &queue->proofs[hottest][card];
    struct tw_proof_record record = stated->record;

    stated->record = other->record;
    other->record = record;
}

static void join_remarks(struct tw_proof *proof, const struct tw_proof *other)
{
    for (int kind = 0; kind < TW_REMARK_COUNT; kind++)
        if (other->remarks[kind].count > proof->remarks[kind].count)
            proof->remarks[kind] = other->remarks[kind];
}

static void join_heat(struct tw_proof_heat *heat, const struct tw_proof_heat *other)
{
    heat->bulk_degC = fmax(heat->bulk_degC, other->bulk_degC);
    heat->tempered_degC = fmax(heat->tempered_degC, other->tempered_degC);
    heat->strict_allows &= other->strict_allows;
    heat->equivalent_allows &= other->equivalent_allows;
}

static void join_blanks(const struct queue *queue)
{
    for (size_t card = 0; queue->blank_count > 1 && card < queue->verdict->count; card++) {
        struct tw_proof *proof = &queue->proofs[TW_BAND_STATED][card];
        size_t hottest = TW_BAND_STATED;

        for (size_t blank = 1; blank < queue->blank_count; blank++) {
            struct tw_proof *other = &queue->proofs[blank][card];

            for (int id = 0; id < TW_CHECK_COUNT; id++) {
                other->checks[id].blank = (enum tw_band_end)blank;
                tw_check_join(&proof->checks[id], &other->checks[id]);
            }
            join_remarks(proof, other);
            hottest = other->peak_degC > proof->peak_degC ? blank : hottest;
            join_heat(&proof->heat, &other->heat);
            tw_taken_join(&proof->taken, &other->taken);
            proof->peak_degC = fmax(proof->peak_degC, other->peak_degC);
            proof->reserve_degC = fmax(proof->reserve_degC, other->reserve_degC);
            proof->cut &= other->cut;
        }
        take_record(queue, card, hottest);
    }
}

/* Proofs of an earlier verdict that hold. */
static void take_over(const struct queue *queue)
{
    for (size_t card = 0; queue->before && card < queue->verdict->count; card++) {
        struct tw_proof *own = &queue->verdict->proofs[card], *earlier = &queue->before->proofs[card];
        struct tw_proof unproved = *own;

        if (!queue->holds[card])
            continue;
        *own = *earlier;
        *earlier = unproved;
    }
}

static void sum_up(struct tw_verdict *verdict)
{
    for (size_t i = 0; i < verdict->count; i++) {
        const struct tw_proof *proof = &verdict->proofs[i];

        verdict->cut &= proof->cut;
        verdict->cycle_time_s += proof->cycle_time_s;
        verdict->removed_mm3 += proof->removed_mm3;
        verdict->peak_degC = fmax(verdict->peak_degC, proof->peak_degC);
        verdict->reserve_degC = fmax(verdict->reserve_degC, proof->reserve_degC);
    }
}

/* A ridge or groove narrower than a cell is not seen. */
static void judge_cell(struct tw_verdict *verdict)
{
    if (verdict->cell_mm > TW_CELL_PROVES_MM)
        tw_verdict_reason(verdict,
                          "Cells of %.3g mm overlook what is narrower: nothing is proved with cells above %.2f mm.",
                          verdict->cell_mm, TW_CELL_PROVES_MM);
}

/* Rounding of sums of readings. */
#define SAME_MM  1e-4
#define SAME_RAD 1e-6

/* Such a blank has to be straightened or planned otherwise, whatever a program makes of it. */
static void judge_one_survey(const struct tw_job *job, struct tw_verdict *verdict)
{
    const struct tw_straighten *limits = &job->straighten;
    struct tw_witness_straightness found = tw_witness_straightness(job);

    if (found.lacking_mm > SAME_MM)
        tw_verdict_reason(verdict, "By its survey the blank lacks %.3f mm of stock somewhere: it cannot come straight.",
                          found.lacking_mm);
    if (found.deviation_mm > limits->tolerance_mm + SAME_MM)
        tw_verdict_reason(
            verdict,
            "By its survey the tang's end comes out %.3f mm off the centre plane; straighten.tolerance is "
            "%.3g mm.",
            found.deviation_mm, limits->tolerance_mm);
    if (found.twist_rad > limits->largest_twist_rad + SAME_RAD)
        tw_verdict_reason(verdict,
                          "By its survey the blank is twisted by %.2f deg; straighten.largest_twist is %.3g deg.",
                          found.twist_rad * 180.0 / TW_PI, limits->largest_twist_rad * 180.0 / TW_PI);
}

static void judge_surveys(const struct tw_job *job, struct tw_verdict *verdict)
{
    for (int part = 0; part < (job->blank_count > 0 ? job->parts : 1); part++) {
        struct tw_job own = tw_witness_part(job, part);

        if (own.survey.count > 0)
            judge_one_survey(&own, verdict);
    }
}

enum tw_status tw_verdict_prove(const struct tw_job *job, const struct tw_card *cards, size_t card_count,
                                struct tw_verdict_settings settings, struct tw_verdict *out,
                                struct tw_findings *findings)
{
    struct queue queue = {
        .cards = cards, .strict = settings.strict, .verdict = out, .before = settings.before, .holds = settings.holds
    };
    double cell_mm = settings.cell_mm == 0.0 ? tw_workpiece_cell_mm(job) : settings.cell_mm;
    enum tw_status status;

    *out = (struct tw_verdict){
        .cut = card_count > 0, .band_mm = job->taper.band_mm, .unread_mm = unread_mm(job), .cell_mm = cell_mm
    };
    if (!(cell_mm >= TW_CELL_LEAST_MM && cell_mm <= TW_CELL_MOST_MM))
        return tw_fail(findings, TW_BAD_USAGE, (struct tw_place){ .key = "cell" },
                       "cells of %g mm cannot be simulated; their side may be %g to %g mm", cell_mm, TW_CELL_LEAST_MM,
                       TW_CELL_MOST_MM);
    set_blanks(&queue, job);
    out->proofs = calloc(card_count + 1, sizeof *out->proofs);
    queue.heads = calloc(card_count + 1, sizeof *queue.heads);
    queue.groups = calloc(card_count + 1, sizeof *queue.groups);
    queue.items = calloc(card_count * queue.blank_count + 1, sizeof *queue.items);
    if (out->proofs && queue.heads && queue.groups && queue.items) {
        out->count = card_count;
        status = form_groups(&queue, findings);
        if (status == TW_OK)
            status = weigh_effort(&queue, findings);
        if (status == TW_OK)
            status = open_proofs(&queue, findings);
        if (status == TW_OK) {
            list_items(&queue);
            work_together(&queue);
            status = gather(&queue, findings);
            join_blanks(&queue);
            take_over(&queue);
            tw_dressed_between(job, queue.heads, out);
            sum_up(out);
            judge_cell(out);
            judge_surveys(job, out);
            tw_roles_compare(job, settings.strict, out);
        }
    } else {
        status = tw_no_memory(findings);
    }
    free_proofs(&queue);
    free(queue.heads);
    free(queue.groups);
    free(queue.items);
    if (status != TW_OK)
        tw_verdict_free(out);
    return status;
}

enum tw_status tw_verdict_make(const struct tw_job *job, const struct tw_card *cards, size_t card_count, double cell_mm,
                               struct tw_verdict *out, struct tw_findings *findings)
{
    return tw_verdict_prove(job, cards, card_count, (struct tw_verdict_settings){ .cell_mm = cell_mm }, out, findings);
}

void tw_verdict_free(struct tw_verdict *verdict)
{
    for (size_t i = 0; i < verdict->count; i++) {
        free(verdict->proofs[i].name);
        free_found(&verdict->proofs[i]);
    }
    free(verdict->proofs);
    *verdict = (struct tw_verdict){ 0 };
}
