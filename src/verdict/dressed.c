/* dressed.c - see dressed.h. */
#include "verdict/dressed.h"

#include "base/memory.h"
#include "verdict/remarks.h"
#include "witness/task.h"

#include <stdlib.h>

/* ---- one program ---- */

static double first_mm3(const struct tw_proof_taken *taken)
{
    return taken->count > 0 ? taken->items[taken->count - 1].volume_mm3 : 0.0;
}

enum tw_status tw_taken_note(struct tw_proof_taken *taken, int line, bool stops, double volume_mm3,
                             struct tw_findings *findings)
{
    taken->stops |= stops;
    taken->end_mm3 = volume_mm3;
    if (taken->stops || !(volume_mm3 > first_mm3(taken)))
        return TW_OK;
    if (!tw_grow((void **)&taken->items, &taken->capacity, taken->count + 1, sizeof *taken->items))
        return tw_no_memory(findings);
    taken->items[taken->count].line = line;
    taken->items[taken->count++].volume_mm3 = volume_mm3;
    return TW_OK;
}

void tw_taken_join(struct tw_proof_taken *taken, struct tw_proof_taken *other)
{
    struct tw_proof_taken less = *taken;

    if (!(first_mm3(other) > first_mm3(taken)))
        return;
    *taken = *other;
    *other = less;
}

void tw_taken_free(struct tw_proof_taken *taken)
{
    free(taken->items);
    *taken = (struct tw_proof_taken){ 0 };
}

/* ---- from program to program ---- */

/* Programs without a place in an order of several are one a side, A before B. */
static int place(const struct tw_proof *proof)
{
    return proof->step > 0 ? proof->step : proof->side == TW_SIDE_B ? 2 : 1;
}

static bool cuts(const struct tw_proof *proof)
{
    return proof->lift_mm == 0.0;
}

/* Of those that cut at this place, the one from index `from` on; `count`: there is none. */
static size_t next_at(const struct tw_verdict *verdict, int at, size_t from)
{
    while (from < verdict->count && (!cuts(&verdict->proofs[from]) || place(&verdict->proofs[from]) != at))
        from++;
    return from;
}

/* First line by whose end so much is gone. */
static int line_of(const struct tw_proof_taken *taken, double volume_mm3)
{
    for (size_t i = 0; i < taken->count; i++)
        if (taken->items[i].volume_mm3 > volume_mm3)
            return taken->items[i].line;
    return 0;
}

/* A wheel on its way through the programs. */
struct carried {
    const struct tw_wheel *wheel;
    double since_mm3; /* that it has taken off since it was dressed */
};

static void carry(const struct tw_job *job, const struct tw_card_head *head, struct tw_proof *proof,
                  struct carried *carried)
{
    const struct tw_wheel *wheel = tw_witness_wheel(job, proof->scope);
    double allowed_mm3 = wheel->dress_after_mm3, before_mm3;

    if (wheel != carried->wheel || head->dresses) /* another one is dressed when it is put on */
        carried->since_mm3 = 0.0;
    carried->wheel = wheel;
    before_mm3 = carried->since_mm3;
    proof->remarks[TW_REMARK_DULL] = (struct tw_proof_remark){ 0 };
    if (allowed_mm3 > 0.0 && before_mm3 > 0.0 && before_mm3 + first_mm3(&proof->taken) > allowed_mm3) {
        tw_proof_remark(proof, TW_REMARK_DULL, line_of(&proof->taken, allowed_mm3 - before_mm3),
                        "with the %.0f mm3 of the programs before, the wheel has now taken off the %.0f mm3 after "
                        "which it wants dressing: dress it before this program, and touch it off anew",
                        before_mm3, allowed_mm3);
        carried->since_mm3 = 0.0;
    }
    carried->since_mm3 = proof->taken.end_mm3 + (proof->taken.stops ? 0.0 : carried->since_mm3);
}

/* More places than a job has programs. */
#define PLACES 9

void tw_dressed_between(const struct tw_job *job, const struct tw_card_head *heads, struct tw_verdict *verdict)
{
    struct carried carried = { 0 };

    for (int at = 1; at <= PLACES; at++)
        for (size_t i = next_at(verdict, at, 0); i < verdict->count; i = next_at(verdict, at, i + 1))
            carry(job, &heads[i], &verdict->proofs[i], &carried);
}
