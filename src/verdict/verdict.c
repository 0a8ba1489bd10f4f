/* verdict.c - all checks of all programs. */
#include "tangwright/verdict.h"

#include "base/memory.h"
#include "verdict/card.h"
#include "verdict/program_checks.h"
#include "verdict/prove.h"
#include "verdict/record.h"
#include "verdict/trace.h"

#include <math.h>
#include <pthread.h>
#include <stdatomic.h>
#include <stdlib.h>
#include <string.h>

/* ---- one program ---- */

static void lower(struct tw_trace *trace, double by_mm)
{
    for (size_t i = 0; i < trace->count; i++) {
        trace->steps[i].from_mm[2] -= by_mm;
        trace->steps[i].to_mm[2] -= by_mm;
    }
}

/* A lifted program is first run as it stands, and must touch nothing; then lowered again, when it must pass all that
 * an ordinary program must. */
static enum tw_status prove_fields(const struct tw_job *job, struct tw_trace *trace, double cell_mm,
                                   struct tw_proof *proof, struct tw_findings *findings)
{
    struct tw_check lift;
    enum tw_status status;

    if (proof->lift_mm <= 0.0)
        return tw_prove(job, trace, cell_mm, proof, findings);
    status = tw_prove(job, trace, cell_mm, proof, findings);
    if (status != TW_OK)
        return status;
    lift = proof->checks[TW_CHECK_LIFT];
    if (proof->checks[TW_CHECK_CONTACT].failed)
        tw_check_note(&lift, proof->checks[TW_CHECK_CONTACT].amount,
                      (struct tw_spot){ .line = proof->checks[TW_CHECK_CONTACT].first_line });
    proof->removed_mm3 = 0.0;
    lower(trace, proof->lift_mm);
    status = tw_prove(job, trace, cell_mm, proof, findings);
    proof->checks[TW_CHECK_LIFT] = lift;
    lower(trace, -proof->lift_mm);
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
    tw_program_check_offsets(job, trace, &checks[TW_CHECK_OFFSETS]);
    tw_program_check_travel(job, trace, &checks[TW_CHECK_TRAVEL]);
    tw_program_check_wheel_speed(job, trace, &checks[TW_CHECK_WHEEL_SPEED]);
    tw_program_check_feed(job, trace, &checks[TW_CHECK_FEED]);
    tw_program_check_ending(job, trace, proof->side, &checks[TW_CHECK_ENDING]);
}

static enum tw_status prove_card(const struct tw_job *job, const struct tw_card *card, double cell_mm,
                                 struct tw_proof *proof, struct tw_findings *findings)
{
    struct tw_findings refusals = { 0 };
    struct tw_card_head head;
    struct tw_trace trace;
    enum tw_status status;

    tw_card_read(card, &head);
    proof->name = tw_copy_string(card->name);
    proof->side = tw_card_side(card, &head);
    proof->lift_mm = head.lift_mm;
    if (!proof->name)
        return tw_no_memory(findings);
    status = tw_trace_make(job, card->name, card->text, card->length, &trace, &refusals);
    tw_program_check_text(&refusals, trace.last_line, &proof->checks[TW_CHECK_TEXT]);
    if (refusals.out_of_memory)
        status = tw_no_memory(findings);
    tw_findings_free(&refusals);
    if (status == TW_BAD_INPUT)
        status = TW_OK; /* refused: the check says so, and what was read up to there is still looked at */
    tw_card_check(job, &head, proof->side, &proof->checks[TW_CHECK_CARD]);
    check_program(job, &trace, proof);
    if (status == TW_OK)
        status = tw_trace_time(job, &trace, &proof->cycle_time_s, findings);
    if (status == TW_OK)
        status = prove_fields(job, &trace, cell_mm, proof, findings);
    proof->cut = status == TW_OK && all_pass(proof);
    tw_trace_free(&trace);
    return status;
}

/* ---- all programs ---- */

/* Programs to be proved; each worker takes the next one until none is left. */
struct queue {
    const struct tw_job *job;
    const struct tw_card *cards;
    struct tw_verdict *verdict;
    struct queue_answer *answers; /* one for each program */
    atomic_size_t next;
};

struct queue_answer {
    enum tw_status status;
    struct tw_findings findings;
};

static void *work(void *context)
{
    struct queue *queue = context;
    size_t i;

    while ((i = atomic_fetch_add(&queue->next, 1)) < queue->verdict->count) {
        struct queue_answer *answer = &queue->answers[i];

        answer->status = prove_card(queue->job, &queue->cards[i], queue->verdict->cell_mm, &queue->verdict->proofs[i],
                                    &answer->findings);
    }
    return NULL;
}

/* Both sides of a part take equally long, so a second thread halves the time. Without one it only takes longer. */
static void work_together(struct queue *queue)
{
    pthread_t helper;
    bool helped = queue->verdict->count > 1 && pthread_create(&helper, NULL, work, queue) == 0;

    work(queue);
    if (helped)
        pthread_join(helper, NULL);
}

static enum tw_status sum_up(struct tw_verdict *verdict, struct queue_answer *answers, struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; i < verdict->count; i++) {
        const struct tw_proof *proof = &verdict->proofs[i];

        if (status == TW_OK)
            status = answers[i].status;
        if (answers[i].status == TW_NO_MEMORY)
            tw_no_memory(findings);
        if (findings)
            tw_findings_append(findings, &answers[i].findings);
        tw_findings_free(&answers[i].findings);
        verdict->cut &= proof->cut;
        verdict->cycle_time_s += proof->cycle_time_s;
        verdict->removed_mm3 += proof->removed_mm3;
        verdict->peak_degC = fmax(verdict->peak_degC, proof->peak_degC);
    }
    return status;
}

enum tw_status tw_verdict_make(const struct tw_job *job, const struct tw_card *cards, size_t card_count,
                               double cell_mm, struct tw_verdict *out, struct tw_findings *findings)
{
    struct queue queue = { .job = job, .cards = cards, .verdict = out };
    enum tw_status status;

    *out = (struct tw_verdict){ .cut = card_count > 0, .cell_mm = cell_mm > 0.0 ? cell_mm : tw_stand_cell_mm(job) };
    out->proofs = calloc(card_count + 1, sizeof *out->proofs);
    queue.answers = calloc(card_count + 1, sizeof *queue.answers);
    if (out->proofs && queue.answers) {
        out->count = card_count;
        work_together(&queue);
        status = sum_up(out, queue.answers, findings);
    } else {
        status = tw_no_memory(findings);
    }
    free(queue.answers);
    if (status != TW_OK)
        tw_verdict_free(out);
    return status;
}

void tw_verdict_free(struct tw_verdict *verdict)
{
    for (size_t i = 0; i < verdict->count; i++) {
        free(verdict->proofs[i].name);
        tw_record_free(&verdict->proofs[i].record);
    }
    free(verdict->proofs);
    *verdict = (struct tw_verdict){ 0 };
}
