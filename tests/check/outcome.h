/* outcome.h - what becomes of one test: written in its process, read in the one that started it. */
#ifndef TANGWRIGHT_TESTS_CHECK_OUTCOME_H
#define TANGWRIGHT_TESTS_CHECK_OUTCOME_H

#include <setjmp.h>
#include <stdbool.h>

struct check_outcome {
    char name[160]; /* SUITE/NAME, and the number of the row */
    int failures;
    bool skipped;
    bool ended; /* it came to its own end, and did not leave the process before */
    jmp_buf end;
};

/* Of the test that this process runs. */
extern struct check_outcome *check_outcome;

#endif
