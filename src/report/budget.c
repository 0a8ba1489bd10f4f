/* budget.c - see budget_parts.h. */
#include "base/numbers.h"
#include "report/budget_parts.h"

#include "tangwright/assess.h"

void tw_budget_print(struct tw_text *text, const struct tw_job *job, const struct tw_plan *plan)
{
    struct tw_error_budget budget = tw_error_budget(job, plan);
    char sentence[TW_ERROR_SENTENCE];

    tw_error_sentence(&budget, sentence, sizeof sentence);
    tw_text_print(text, "\nWhat the finished tang may be off by, each cause at the worse end of its range:\n");
    tw_text_print(text, "    %-22s %12s %12s  %s\n", "cause", "thickness um", "flatness um", "what cures it");
    for (size_t i = 0; i < budget.count; i++)
        tw_text_print(text, "    %-22s %12.1f %12.1f  %s\n", budget.rows[i].name, budget.rows[i].thickness_um,
                      budget.rows[i].flatness_um, budget.rows[i].cure);
    tw_text_print(text, "    %-22s %12.1f %12.1f  (%.2f, %.2f mil)\n", "root of the squares", budget.thickness_um,
                  budget.flatness_um, budget.thickness_um / TW_MM_PER_INCH, budget.flatness_um / TW_MM_PER_INCH);
    if (*sentence)
        tw_text_print(text, "  %s\n", sentence);
}

json_t *tw_budget_array(const struct tw_job *job, const struct tw_plan *plan)
{
    struct tw_error_budget budget = tw_error_budget(job, plan);
    json_t *rows = json_array();

    for (size_t i = 0; rows && i < budget.count; i++) {
        const struct tw_error_row *row = &budget.rows[i];

        if (json_array_append_new(rows, json_pack("{s:s, s:f, s:f, s:s}", "name", row->name, "thickness_um",
                                                  row->thickness_um, "flatness_um", row->flatness_um, "cure",
                                                  row->cure)) != 0) {
            json_decref(rows);
            return NULL;
        }
    }
    return rows;
}

json_t *tw_budget_sum(const struct tw_job *job, const struct tw_plan *plan)
{
    struct tw_error_budget budget = tw_error_budget(job, plan);
    char sentence[TW_ERROR_SENTENCE];

    tw_error_sentence(&budget, sentence, sizeof sentence);
    return json_pack("{s:f, s:f, s:f, s:f, s:s}", "thickness_um", budget.thickness_um, "flatness_um",
                     budget.flatness_um, "flatness_allowed_um", budget.flatness_allowed_um, "warm_up_min",
                     budget.warm_up_s / 60.0, "sentence", sentence);
}
