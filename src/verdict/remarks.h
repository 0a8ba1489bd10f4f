/* remarks.h - what deserves a look though no check forbids it. */
#ifndef TANGWRIGHT_VERDICT_REMARKS_H
#define TANGWRIGHT_VERDICT_REMARKS_H

#include "tangwright/verdict.h"

/* Counts it; the words are those of the one that stands first in the program. `line` 0: of no line. */
void tw_proof_remark(struct tw_proof *proof, enum tw_remark_kind kind, int line, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

/* A reason not to cut that no program's checks tell. */
void tw_verdict_reason(struct tw_verdict *verdict, const char *format, ...) __attribute__((format(printf, 2, 3)));

#endif
