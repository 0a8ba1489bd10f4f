/* budget_parts.h - the error budget in the summary, as a table and as JSON. */
#ifndef TANGWRIGHT_REPORT_BUDGET_PARTS_H
#define TANGWRIGHT_REPORT_BUDGET_PARTS_H

#include "base/text.h"
#include "tangwright/plan.h"

#include <jansson.h>

void tw_budget_print(struct tw_text *text, const struct tw_job *job, const struct tw_plan *plan);

/* The rows; and their root sums. NULL when memory runs out. */
json_t *tw_budget_array(const struct tw_job *job, const struct tw_plan *plan);
json_t *tw_budget_sum(const struct tw_job *job, const struct tw_plan *plan);

#endif
