/* dressed.h - what the wheel takes off from one dressing to the next, over all programs of a job. */
#ifndef TANGWRIGHT_VERDICT_DRESSED_H
#define TANGWRIGHT_VERDICT_DRESSED_H

#include "verdict/card.h"
#include "tangwright/verdict.h"

/* The wheel has taken off `volume_mm3` of all parts since it was dressed, on the way to the end of that line; `stops`: it is dressed
 * there, and counts from nothing. TW_NO_MEMORY. */
enum tw_status tw_taken_note(struct tw_proof_taken *taken, int line, bool stops, double volume_mm3,
                             struct tw_findings *findings);

/* Keeps of both what the wheel takes off more of; the other stays in `other`. */
void tw_taken_join(struct tw_proof_taken *taken, struct tw_proof_taken *other);

void tw_taken_free(struct tw_proof_taken *taken);

/* Reckons on from program to program, in the order in which the job takes them: a wheel that stays on is dressed between two of
 * them where the head of the second one says so, and else goes on as the first one has left it. A remark is made in
 * the program in which that is more than the wheel takes. It counts as dressed before then, so each dressing that is missing
 * is told of once. `heads`: one for each program. */
void tw_dressed_between(const struct tw_job *job, const struct tw_card_head *heads, struct tw_verdict *verdict);

#endif
