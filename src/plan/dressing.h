/* dressing.h - what a finished plan asks of whoever dresses the wheel. */
#ifndef TANGWRIGHT_PLAN_DRESSING_H
#define TANGWRIGHT_PLAN_DRESSING_H

#include "tangwright/plan.h"

/* TW_NO_PLAN where the program stops for it, and the controller cannot stop. */
enum tw_status tw_dressing_check(const struct tw_job *job, const struct tw_setup_plan *setup,
                                 struct tw_findings *findings);

/* Adds a remark where the wheel wants dressing before the program is through. */
void tw_dressing_remark(const struct tw_job *job, const struct tw_setup_plan *setup, struct tw_findings *findings);

/* Sets what the wheel has taken off when each program begins, and whether it has to be dressed before. */
void tw_dressing_between(const struct tw_job *job, struct tw_plan *plan);

#endif
