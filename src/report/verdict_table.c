/* verdict_table.c - the dry-run's answer for a person, check by check. */
#include "tangwright/report.h"

#include "base/numbers.h"
#include "base/plain.h"
#include "base/text.h"
#include "base/units.h"
#include "report/lengths.h"
#include "tangwright/warm.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static void print_amount(struct tw_text *text, double amount, const char *unit, bool inches)
{
    struct tw_shop_figure shown = tw_shop_figure(amount, unit, inches);
    char number[48];

    if (!isfinite(amount))
        snprintf(number, sizeof number, "-");
    else if (*unit == '\0')
        snprintf(number, sizeof number, "%.0f", fmax(0.0, amount));
    else
        snprintf(number, sizeof number, "%s %s", tw_figure_text(shown.value).text, shown.unit);
    tw_text_print(text, " %14s", number);
}

/* What all tables of a verdict share. */
struct style {
    const struct tw_verdict *verdict;
    bool banded; /* over several blanks */
    bool inches;
};

static void print_place(struct tw_text *text, const struct tw_check *check, bool inches)
{
    const double *at_mm = check->place_mm;
    double unit_mm = inches ? TW_MM_PER_INCH : 1.0;
    int more = inches ? 1 : 0;

    tw_text_print(text, " part %d at x %.*f y %.*f z %.*f", check->part, 2 + more, at_mm[0] / unit_mm, 2 + more,
                  at_mm[1] / unit_mm, 3 + more, at_mm[2] / unit_mm);
}

static void print_check(struct tw_text *text, enum tw_check_id id, const struct tw_check *check, struct style style)
{
    int line = check->failed ? check->first_line : check->line;

    tw_text_print(text, "  %-4s %-12s", check->failed ? "FAIL" : "pass", tw_check_name(id));
    print_amount(text, check->amount, check->unit, style.inches);
    print_amount(text, check->limit, check->unit, style.inches);
    if (line > 0 && (check->failed || *check->unit))
        tw_text_print(text, "  line %-6d", line);
    else
        tw_text_print(text, "  %-11s", "");
    if (check->blanks_differ)
        tw_text_print(text, " %-9s", tw_band_end_name(style.verdict, check->blank));
    else if (style.banded)
        tw_text_print(text, " %-9s", "");
    if (check->has_place && (check->failed || *check->unit))
        print_place(text, check, style.inches);
    tw_text_append(text, "\n", 1);
    if (check->failed)
        tw_text_print(text, "       %s%s%s\n", tw_check_question(id), check->note[0] ? " No: " : " No.", check->note);
}

/* Which limit the flashes were held to, and what the other one would have said. */
static void print_heat(struct tw_text *text, const struct tw_proof_heat *heat, bool inches)
{
    bool strict = heat->used == TW_FLASH_STRICT, other = strict ? heat->equivalent_allows : heat->strict_allows;

    tw_text_print(text, "  %s limit for flashes; the %s one would %s. All of them together temper like %s.\n",
                  strict ? "strict" : "equivalent", strict ? "equivalent" : "strict",
                  other ? "allow this" : "refuse this", tw_temperature_both(heat->tempered_degC, inches).text);
}

static void print_remarks(struct tw_text *text, const struct tw_proof *proof)
{
    for (int kind = 0; kind < TW_REMARK_COUNT; kind++) {
        const struct tw_proof_remark *remark = &proof->remarks[kind];

        if (remark->count == 0)
            continue;
        tw_text_print(text, "  remark ");
        if (remark->line > 0)
            tw_text_print(text, "line %d: ", remark->line);
        tw_text_print(text, "%s", remark->text);
        if (remark->count > 1)
            tw_text_print(text, " (%d times)", remark->count);
        tw_text_append(text, "\n", 1);
    }
}

/* The check judges the peak with the reserve; without one it is the same. */
static void print_hottest(struct tw_text *text, const struct tw_proof *proof, bool inches)
{
    double limit_degC = proof->checks[TW_CHECK_TEMPERATURE].limit;

    if (proof->reserve_degC == proof->peak_degC)
        tw_degrees_print(text, inches, "  estimated peak {} of {} allowed", (double[]){ proof->peak_degC, limit_degC });
    else
        tw_degrees_print(text, inches, "  estimated peak {}; with the reserve {} of {} allowed",
                         (double[]){ proof->peak_degC, proof->reserve_degC, limit_degC });
    tw_text_append(text, "\n", 1);
}

static void print_gauges(struct tw_text *text, const struct tw_proof *proof, bool inches)
{
    double unit_mm = inches ? TW_MM_PER_INCH : 1.0;
    int more = inches ? 1 : 0;

    tw_text_print(text, "  from the centre plane to this face, %s (aim):", inches ? "in" : "mm");
    for (int i = 0; i < TW_GAUGE_POINTS; i++)
        tw_text_print(text, "  x %.*f: %.*f (%.*f)", 1 + more, proof->gauges[i].x_mm / unit_mm, 4 + more,
                      proof->gauges[i].half_mm / unit_mm, 4 + more, proof->gauges[i].aim_mm / unit_mm);
    tw_text_append(text, "\n", 1);
}

static void print_proof(struct tw_text *text, const struct tw_proof *proof, struct style style)
{
    struct tw_shop_figure taken = tw_shop_figure(proof->removed_mm3, "mm3", style.inches);
    long time_s = lround(proof->cycle_time_s);

    tw_text_print(text, "\n");
    tw_plain_append(text, proof->name);
    tw_text_print(text, ", side %s%s%s%s\n", tw_side_letter(proof->side), proof->scope == TW_SCOPE_WHOLE ? "" : ", ",
                  tw_scope_name(proof->scope), proof->lift_mm > 0.0 ? ", lifted to cut only air" : "");
    tw_text_print(text, "  %ld min %02ld s, %s %s taken off\n", time_s / 60, time_s % 60,
                  tw_figure_text(taken.value).text, taken.unit);
    print_hottest(text, proof, style.inches);
    print_heat(text, &proof->heat, style.inches);
    tw_text_print(text, style.banded ? "       %-12s %14s %14s  %-11s %s\n" : "       %-12s %14s %14s\n", "check",
                  "worst", "limit", "", "worst on");
    for (int id = 0; id < TW_CHECK_COUNT; id++)
        if (proof->checks[id].asked)
            print_check(text, (enum tw_check_id)id, &proof->checks[id], style);
    print_remarks(text, proof);
    if (tw_proof_look_at(proof) > 0)
        tw_text_print(text, "  LOOK AT LINE %d FIRST.\n", tw_proof_look_at(proof));
    if (proof->scope == TW_SCOPE_RELIEF)
        return; /* neither face nor floor all across: there is nothing to gauge */
    print_gauges(text, proof, style.inches);
}

static void print_answer(struct tw_text *text, const struct tw_verdict *verdict, int asked, int failed)
{
    tw_text_append(text, "\n", 1);
    for (size_t i = 0; i < verdict->reason_count; i++)
        tw_text_print(text, "%s\n", verdict->reasons[i]);
    if (!verdict->cut && verdict->unproved[0])
        tw_text_print(text, "Not shown: %s.\n", verdict->unproved);
    if (verdict->cut && verdict->unproved[0])
        tw_text_print(
            text,
            "PROVED IN PART: all %d checks passed, but not shown: %s. That is no promise of safety: run it in "
            "the air, then on scrap.\n",
            asked, verdict->unproved);
    else if (verdict->cut)
        tw_text_print(text, "all %d checks passed. That is no promise of safety: run it in the air, then on scrap.\n",
                      asked);
    else if (failed > 0 || verdict->reason_count == 0)
        tw_text_print(text, "DO NOT CUT: %d of %d checks failed.\n", failed, asked);
    else
        tw_text_print(text, "DO NOT CUT: all %d checks passed, but not all that they rest on is there.\n", asked);
}

/* What lies on the stations, as measured. */
static void print_blanks(struct tw_text *text, const struct tw_job *job, const struct tw_verdict *verdict, bool inches)
{
    const double ricasso_mm = job->taper.ricasso_mm, band_mm = verdict->band_mm;

    tw_text_print(text, "on the blanks as they were measured, at the ricasso");
    for (size_t i = 0; i < job->blank_count; i++) {
        tw_text_print(text, "%s part %zu ", i > 0 ? "," : ":", i + 1);
        tw_lengths_print(text, inches, job->blanks[i].survey.path ? "{}, surveyed" : "{}",
                         (struct tw_length[]){ { job->blanks[i].thickness_mm, 3 } });
    }
    tw_text_print(text, "\n");
    if (!(band_mm > 0.0))
        return;
    if (job->heights == TW_HEIGHTS_BY_BLANK)
        tw_lengths_print(text, inches, "and on each {} thinner and {} thicker",
                         (struct tw_length[]){ { band_mm, 3 }, { band_mm, 3 } });
    else
        tw_lengths_print(text, inches, "and on all as thin as {}, and all as thick as {}",
                         (struct tw_length[]){ { ricasso_mm - band_mm, 3 }, { ricasso_mm + band_mm, 3 } });
    tw_text_print(text, "\n");
}

static void print_unread(struct tw_text *text, const struct tw_verdict *verdict, bool inches)
{
    if (!(verdict->unread_mm > 0.0))
        return;
    tw_lengths_print(
        text, inches,
        verdict->band_mm > 0.0
            ? "the thickest with surveyed faces up to {} higher than was read, as no reading tells (highest)"
            : "with the surveyed faces as read (as stated), and up to {} higher, as no reading tells "
              "(highest)",
        (struct tw_length[]){ { verdict->unread_mm, 3 } });
    tw_text_append(text, "\n", 1);
}

enum tw_status tw_verdict_table(const struct tw_job *job, const struct tw_verdict *verdict, char **out,
                                struct tw_findings *findings)
{
    struct style style = { .verdict = verdict,
                           .banded = verdict->band_mm > 0.0 || verdict->unread_mm > 0.0,
                           .inches = tw_job_in_inches(job) };
    struct tw_text text = { 0 };
    char calibration[TW_ENERGY_WORDS];
    int failed = 0, asked = 0;

    tw_energy_words(job, calibration);
    tw_text_print(&text, "dry run of %s in cells of %.3g mm\n%s\n", job->name, verdict->cell_mm, calibration);
    if (job->blank_count > 0)
        print_blanks(&text, job, verdict, style.inches);
    else if (verdict->band_mm > 0.0) {
        const double ricasso_mm = job->taper.ricasso_mm, band_mm = verdict->band_mm;

        tw_lengths_print(
            &text, style.inches, "on blanks of {} (thinnest), {} (as stated) and {} (thickest) at the ricasso",
            (struct tw_length[]){ { ricasso_mm - band_mm, 3 }, { ricasso_mm, 3 }, { ricasso_mm + band_mm, 3 } });
        tw_text_append(&text, "\n", 1);
    }
    print_unread(&text, verdict, style.inches);
    for (size_t i = 0; i < verdict->count; i++) {
        print_proof(&text, &verdict->proofs[i], style);
        for (int id = 0; id < TW_CHECK_COUNT; id++) {
            asked += verdict->proofs[i].checks[id].asked;
            failed += verdict->proofs[i].checks[id].asked && verdict->proofs[i].checks[id].failed;
        }
    }
    print_answer(&text, verdict, asked, failed);
    *out = tw_text_take(&text);
    return *out ? TW_OK : tw_no_memory(findings);
}
