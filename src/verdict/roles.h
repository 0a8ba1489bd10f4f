/* roles.h - which of the job's operations each program does.
 *
 * What there is to do follows from the job alone. What a head or a file name says only chooses among that; where neither
 * says anything, the heights of the program's feeds do. So no comment can take a check away: a program taken for what it
 * is not leaves its own operation without a program, and that is a reason not to cut. */
#ifndef TANGWRIGHT_VERDICT_ROLES_H
#define TANGWRIGHT_VERDICT_ROLES_H

#include "verdict/card.h"

#define TW_ROLES_MOST 3

/* What a side takes, a program each; in no order. */
struct tw_roles {
    enum tw_scope scopes[TW_ROLES_MOST];
    size_t count;
};

struct tw_roles tw_roles_of(const struct tw_job *job, enum tw_side side);

/* Sets the proof's scope, and the lift of a program without a head whose file name begins with "air-"; remarks what the head
 * says of no operation of the job, and marks a head, or heights, that clash with the file's name. The proof's side is known,
 * and the lift that a head tells. TW_NO_MEMORY. */
enum tw_status tw_role_find(const struct tw_job *job, const struct tw_card *card, struct tw_card_head *head,
                            struct tw_proof *proof, struct tw_findings *findings);

/* Whether this relief's program comes before the others of its side: the job says so, or else its heights. TW_NO_MEMORY. */
enum tw_status tw_role_relief_first(const struct tw_job *job, const struct tw_card *card, const struct tw_proof *proof,
                                    bool *first, struct tw_findings *findings);

/* Place of an operation in the whole job, from 1; 0 where each side takes one program. */
int tw_role_step(const struct tw_job *job, enum tw_side side, enum tw_scope scope, bool relief_first);

/* "roughing", ... ; "taper" for a side that is not roughed before. */
const char *tw_role_name(enum tw_scope scope);

/* Compares the programs with what the job takes. What is missing or double of a side is a reason not to cut; a whole side
 * may be left out, unless `strict`, and is written into verdict->unproved. */
void tw_roles_compare(const struct tw_job *job, bool strict, struct tw_verdict *verdict);

#endif
