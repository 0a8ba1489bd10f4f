/* verdict.c - what a survey's straightening comes to, in sentences. */
#include "tangwright/straight.h"

#include "base/text.h"
#include "tangwright/taper.h"

#include <math.h>

#define DEGREES (180.0 / 3.14159265358979323846)

/* The gauge point and face that lack most; NULL when none does. */
static const struct tw_gauge_point *worst_of(const struct tw_straight *straight, bool chosen, int *side)
{
    const struct tw_gauge_point *worst = NULL;
    double most_mm = 0.0;

    for (size_t i = 0; i < straight->gauge_count; i++)
        for (int s = 0; s < 2; s++) {
            const struct tw_gauge_point *gauge = &straight->gauges[i];
            double lacks_mm = chosen ? gauge->missing_mm[s] : gauge->straight_lacks_mm[s];

            if (lacks_mm <= most_mm)
                continue;
            most_mm = lacks_mm;
            worst = gauge;
            *side = s;
        }
    return worst;
}

/* A hundredth at a time is what a press and an indicator can do. */
double tw_straight_bend_to_mm(const struct tw_straight *straight)
{
    return floor(straight->bend_mm * 100.0 + 1e-3) / 100.0;
}

static void print_mends(struct tw_text *text, const struct tw_job *job, const struct tw_straight *straight)
{
    bool butt = !isnan(straight->butt_mm), start = !isnan(straight->start_mm);

    if (butt)
        tw_text_print(text, "; it would come out straight with butt_thickness = \"%.2f mm\"",
                      floor(straight->butt_mm * 100.0 + 1e-6) / 100.0);
    if (start)
        tw_text_print(text, "%s with the taper starting %.0f mm later", butt ? ", or" : "; it would come out straight",
                      straight->start_mm);
    if (!butt && !start)
        tw_text_print(text, "; no butt down to smallest_thickness, %.6g mm, and no later taper start makes it straight",
                      job->taper.smallest_mm);
    if (!isnan(straight->bend_mm))
        tw_text_print(
            text,
            "%s the blank before it is ground: with a bow of at most %.2f mm at x = %.6g mm, where it is %.2f mm "
            "now, it comes out straight",
            butt || start ? ". Or bend" : ". Bend", tw_straight_bend_to_mm(straight), straight->bow_x_mm,
            fabs(straight->bow_mm));
    else if (!butt && !start)
        tw_text_print(text, ". Bending does not help: even without its bow the blank lacks stock for this taper");
}

static void print_bent(struct tw_text *text, const struct tw_job *job, const struct tw_straight *straight)
{
    const struct tw_straighten *limits = &job->straighten;
    int side = 0;
    const struct tw_gauge_point *worst = worst_of(straight, !straight->comes_clean, &side);

    if (straight->comes_clean)
        tw_text_print(text,
                      "the tang cannot come out straight: its middle stays up to %.3f mm off the centre plane, beyond "
                      "straighten.tolerance, %.6g mm",
                      straight->deviation_mm, limits->tolerance_mm);
    else
        tw_text_print(text,
                      "the tang cannot be cleaned up: even at its straightest, %.3f mm off the centre plane at most",
                      straight->deviation_mm);
    if (worst)
        tw_text_print(text, "%s side %s lacks %.3f mm of stock at x = %.6g mm",
                      straight->comes_clean ? "; if straight," : ",", side == 0 ? "A" : "B",
                      straight->comes_clean ? worst->straight_lacks_mm[side] : worst->missing_mm[side], worst->x_mm);
    print_mends(text, job, straight);
}

static enum tw_status refuse(struct tw_findings *findings, struct tw_place at, struct tw_text *text)
{
    enum tw_status status = text->failed ? tw_no_memory(findings) : tw_fail(findings, TW_NO_PLAN, at, "%s", text->data);

    tw_text_free(text);
    return status;
}

enum tw_status tw_straight_verdict(const struct tw_job *job, const struct tw_straight *straight,
                                   struct tw_findings *findings)
{
    struct tw_place at = { .file = job->survey.path };
    struct tw_text text = { 0 };
    double limit_deg = job->straighten.largest_twist_rad * DEGREES;

    if (straight->twist_in_doubt)
        tw_remark(findings, at, "whether the twist is within %.3g deg rests on less than the indicator can tell",
                  limit_deg);
    if (straight->straight_in_doubt)
        tw_remark(findings, at,
                  "whether the tang comes out straight rests on less than the indicator can tell (%.6g mm a step): the "
                  "deviation left may be %.3f to %.3f mm",
                  job->survey.resolution_mm, straight->deviation_low_mm, straight->deviation_high_mm);
    if (straight->twisted) {
        tw_text_print(
            &text,
            "the blank is twisted by %.2f deg at x = %.6g mm, more than straighten.largest_twist, %.3g deg: flat "
            "grinding cannot take a twist out; untwist the blank, or allow more where it is only cosmetic",
            fabs(straight->twist_rad) * DEGREES, straight->twist_x_mm, limit_deg);
        return refuse(findings, at, &text);
    }
    if (straight->straight && straight->below_mm > 0.0)
        tw_remark(
            findings, at,
            "side %s stays up to %.3f mm below its finished face at x = %.6g mm, ahead of straighten.cleanup_from, "
            "%.6g mm: old skin remains there",
            tw_side_letter(straight->below_side), straight->below_mm, straight->below_x_mm,
            job->straighten.cleanup_from_mm);
    if (straight->straight)
        return TW_OK;
    print_bent(&text, job, straight);
    return refuse(findings, at, &text);
}
