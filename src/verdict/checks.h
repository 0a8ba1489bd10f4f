/* checks.h - keeping the worst of each check. */
#ifndef TANGWRIGHT_VERDICT_CHECKS_H
#define TANGWRIGHT_VERDICT_CHECKS_H

#include "tangwright/verdict.h"

/* Where in the program, and where on which part. */
struct tw_spot {
    int line;
    int part;               /* from 1; 0: none */
    const double *place_mm; /* 3 numbers; NULL: nowhere in particular */
};

/* The check applies, with this limit; passes until something worse is noted. */
void tw_check_ask(struct tw_check *check, double limit, const char *unit);

/* Keeps the amount if it is the worst so far (from 0 up); above the limit the check has failed. */
void tw_check_note(struct tw_check *check, double amount, struct tw_spot spot);

/* The same of several that have limits of their own: the one that comes nearest to its limit, or goes farthest beyond, is kept. */
void tw_check_note_own(struct tw_check *check, double amount, double limit, struct tw_spot spot);

/* Keeps the worse of two answers to the same question, from different blanks. */
void tw_check_join(struct tw_check *check, const struct tw_check *other);

/* A fault that is no amount; a check without a unit counts them. The words and the line of the
 * one that stands first in the program are kept. */
void tw_check_fault(struct tw_check *check, struct tw_spot spot, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

#endif
