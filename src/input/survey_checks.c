/* survey_checks.c - a survey after which the blank would be of very uneven thickness is asked about: most often one side's
 * readings have the wrong sign, or one of them is a slip of the pen. Both would be ground as if they were steel. */
#include "input/input.h"

#include <math.h>

/* Blanks are ground or rolled to an even thickness before they are hardened; hardening bows them, but leaves them about as
 * thick. Common practice, no source. A micrometer is harder to misread than an indicator. */
#define EVEN_MM          0.1
#define EVEN_MEASURED_MM 0.3

/* Its mean heights. */
struct ricasso {
    double a_mm, b_mm;
};

static struct ricasso ricasso_of(const struct tw_survey *survey)
{
    struct ricasso mean = { 0.0, 0.0 };
    size_t count = 0;

    for (size_t i = 0; i < survey->count && survey->rows[i].x_mm < 0.0; i++, count++) {
        mean.a_mm += survey->rows[i].a_mm;
        mean.b_mm += survey->rows[i].b_mm;
    }
    if (count > 0) {
        mean.a_mm /= (double)count;
        mean.b_mm /= (double)count;
    }
    return mean;
}

/* By how much a place is thicker than the ricasso, with b as it stands (sign 1) or turned round (-1). */
static double thicker_mm(const struct tw_survey_row *row, const struct ricasso *ricasso, double sign_of_b)
{
    return row->a_mm - ricasso->a_mm + sign_of_b * (row->b_mm - ricasso->b_mm);
}

/* The row that is most uneven. */
static const struct tw_survey_row *worst_of(const struct tw_survey *survey, const struct ricasso *ricasso,
                                            double sign_of_b)
{
    const struct tw_survey_row *worst = &survey->rows[0];

    for (size_t i = 1; i < survey->count; i++)
        if (fabs(thicker_mm(&survey->rows[i], ricasso, sign_of_b)) > fabs(thicker_mm(worst, ricasso, sign_of_b)))
            worst = &survey->rows[i];
    return worst;
}

/* What most likely happened. */
static void say_cause(const struct tw_survey *survey, const struct ricasso *ricasso, struct tw_text *text)
{
    double other_mm = fabs(thicker_mm(worst_of(survey, ricasso, -1.0), ricasso, -1.0));

    if (survey->thickness_known)
        tw_text_print(text, "is that reading right? ");
    else if (other_mm <= EVEN_MM)
        tw_text_print(text,
                      "is the sign of one side wrong? On both sides more steel is a larger number, so where a bowed "
                      "blank's a grows its b falls; with b, or a, turned round the blank would be even to %.2g mm. ",
                      fmax(other_mm, 0.01));
    else
        tw_text_print(text, "are a and b right there? Where a bowed blank's a grows, its b falls by as much. ");
}

void tw_survey_checks_run(struct tw_input *input, const struct tw_survey *survey)
{
    double most_mm = survey->thickness_known ? EVEN_MEASURED_MM : EVEN_MM;
    struct ricasso ricasso = ricasso_of(survey);
    const struct tw_survey_row *worst;
    struct tw_text text = { 0 };
    double by_mm;
    char answer[48];

    if (survey->count == 0 || !tw_input_origin(input, "confirmed")->ok)
        return;
    worst = worst_of(survey, &ricasso, 1.0);
    by_mm = thicker_mm(worst, &ricasso, 1.0);
    snprintf(answer, sizeof answer, "uneven %.2f mm", fabs(by_mm));
    if (!tw_input_below(most_mm, fabs(by_mm)) || tw_input_is_confirmed(input, answer))
        return;
    tw_text_print(&text,
                  "at x = %.6g mm the blank would be %.2f mm %s than at the ricasso, but within %.1f mm is usual: ",
                  worst->x_mm, fabs(by_mm), by_mm > 0.0 ? "thicker" : "thinner", most_mm);
    say_cause(survey, &ricasso, &text);
    tw_input_say_answer(input, answer, &text);
    tw_input_fault(input, (struct tw_place){ .file = survey->path, .line = worst->line }, &text);
}
