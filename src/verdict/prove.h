/* prove.h - driving a program's steps over the part and answering the checks that need it. */
#ifndef TANGWRIGHT_VERDICT_PROVE_H
#define TANGWRIGHT_VERDICT_PROVE_H

#include "verdict/stand.h"
#include "verdict/trace.h"
#include "tangwright/verdict.h"

/* Runs the steps over every part. Fills the checks that look at removal, contacts and heat, the gauges, the removed
 * volume and the peak. */
enum tw_status tw_prove(const struct tw_job *job, const struct tw_trace *trace, double cell_mm, struct tw_proof *proof,
                        struct tw_findings *findings);

#endif
