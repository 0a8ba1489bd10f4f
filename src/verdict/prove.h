/* prove.h - driving a program's steps over the part and answering the checks that need it. */
#ifndef TANGWRIGHT_VERDICT_PROVE_H
#define TANGWRIGHT_VERDICT_PROVE_H

#include "verdict/workpiece.h"
#include "verdict/trace.h"
#include "tangwright/verdict.h"

/* One program and what it is found to do. */
struct tw_run {
    struct tw_trace *trace;
    struct tw_proof *proof;
    struct tw_job job; /* as the program finds it: tw_witness_task(); owns nothing */
};

/* A blank, and the programs of one side as they find it. */
struct tw_run_blank {
    const struct tw_job *job;
    struct tw_run *runs;
};

/* Runs `count` programs of one side, one after the other, over every part, on each blank: on all of them step by step, so that
 * what is the same for all is found once. Fills the checks that look at removal, contacts and heat, the removed volume and
 * the peak of each; what is left is measured after the last, unless it only roughs. The blank has cooled between two
 * programs, while it was turned over. */
enum tw_status tw_prove(const struct tw_run_blank *blanks, size_t blank_count, size_t count, double cell_mm,
                        struct tw_findings *findings);

#endif
