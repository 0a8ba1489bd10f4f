/* budget.c - see budget_parts.h. */
#include "base/numbers.h"
#include "report/budget_parts.h"
#include "report/lengths.h"

#include "tangwright/assess.h"

void tw_budget_print(struct tw_text *text, const struct tw_job *job, const struct tw_plan *plan)
{
    struct tw_error_budget budget = tw_error_budget(job, plan);
    bool inches = tw_job_in_inches(job);
    double um = inches ? TW_MM_PER_INCH : 1.0, other_um = inches ? 1.0 : TW_MM_PER_INCH; /* in what is shown */
    const char *unit = inches ? "thou" : "um";
    int decimals = inches ? 2 : 1;
    char sentence[TW_ERROR_SENTENCE];

    tw_error_sentence(&budget, sentence, sizeof sentence);
    tw_text_print(text, "\nWhat the finished tang may be off by, each cause at the worse end of its range:\n");
    tw_text_print(text, "    %-22s %9s %-4s %7s %-4s %s\n", "cause", "thickness", unit, "flatness", unit,
                  "what cures it");
    for (size_t i = 0; i < budget.count; i++)
        tw_text_print(text, "    %-22s %12.*f %12.*f  %s\n", budget.rows[i].name, decimals,
                      budget.rows[i].thickness_um / um, decimals, budget.rows[i].flatness_um / um, budget.rows[i].cure);
    tw_text_print(
        text, inches ? "    %-22s %12.*f %12.*f  (%.1f, %.1f um)\n" : "    %-22s %12.*f %12.*f  (%.2f, %.2f thou)\n",
        "root of the squares", decimals, budget.thickness_um / um, decimals, budget.flatness_um / um,
        budget.thickness_um / other_um, budget.flatness_um / other_um);
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
