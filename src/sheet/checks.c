/* checks.c - the dry run's answer, check by check. */
#include "sheet/sheet.h"

#include "base/numbers.h"
#include "base/units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static void amount(struct page *page, double value, const char *unit)
{
    struct tw_shop_figure shown = tw_shop_figure(value, unit, page->inch);

    if (!isfinite(value))
        tw_text_print(&page->out, "\u2013");
    else if (*unit == '\0')
        tw_text_print(&page->out, "%.0f", fmax(0.0, value));
    else if (strcmp(unit, "mm") == 0)
        sheet_length_short(&page->out, page->inch, value, SHEET_BLOCKS);
    else if (strcmp(unit, "degC") == 0)
        sheet_temperature_short(&page->out, page->inch, value);
    else
        tw_text_print(&page->out, "%s\u00a0%s", tw_figure_text(shown.value).text, shown.unit);
}

/* Programs beside each other in one table. */
enum { ABREAST = 2 };

struct abreast {
    const struct tw_proof *proofs[ABREAST];
    int count;
};

/* "A, roughing", as everywhere on the page. */
static void print_side(char *out, size_t size, const struct tw_proof *proof)
{
    snprintf(out, size, "%s%s%s", tw_side_letter(proof->side), proof->scope == TW_SCOPE_WHOLE ? "" : ", ",
             tw_scope_name(proof->scope));
}

static void write_answer(struct page *page, const struct tw_proof *proof, const struct tw_check *check)
{
    int line = check->failed ? check->first_line : check->line;
    char side[24], label[40];

    print_side(side, sizeof side, proof);
    snprintf(label, sizeof label, "side %s", side);
    if (!check->asked) {
        tw_text_print(&page->out, "<td data-label=\"%s\">not asked</td>", label);
        return;
    }
    tw_text_print(&page->out, "<td data-label=\"%s\"%s>%s ", label, check->failed ? " class=\"bad\"" : "",
                  check->failed ? "\u2717 FAIL" : "\u2713");
    amount(page, check->amount, check->unit);
    if (line > 0 && (check->failed || *check->unit))
        tw_text_print(&page->out, " <small>line\u00a0%d</small>", line);
    if (check->blanks_differ)
        tw_text_print(&page->out, " <small>%s</small>", tw_band_end_name(page->verdict, check->blank));
    tw_text_print(&page->out, "</td>");
}

static void write_where(struct page *page, const struct tw_check *check)
{
    double unit_mm = page->inch ? TW_MM_PER_INCH : 1.0;
    int decimals = page->inch ? 3 : 2;

    tw_text_print(&page->out, " Part %d, x ", check->part);
    sheet_number(&page->out, check->place_mm[0] / unit_mm, decimals - 1);
    tw_text_print(&page->out, ", y ");
    sheet_number(&page->out, check->place_mm[1] / unit_mm, decimals - 1);
    tw_text_print(&page->out, ", z ");
    sheet_number(&page->out, check->place_mm[2] / unit_mm, decimals);
    tw_text_print(&page->out, page->inch ? "\u00a0in." : "\u00a0mm.");
}

static void write_note(struct page *page, const struct tw_proof *proof, const struct tw_check *check)
{
    char side[24];

    if (!check->asked || !check->failed)
        return;
    print_side(side, sizeof side, proof);
    tw_text_print(&page->out, " <strong>Side %s: no%s", side, check->note[0] ? ": " : ".");
    sheet_escape(&page->out, check->note);
    tw_text_print(&page->out, "</strong>");
    if (check->has_place)
        write_where(page, check);
}

static void write_check(struct page *page, const struct abreast *abreast, enum tw_check_id id)
{
    const struct tw_check *limit = &abreast->proofs[0]->checks[id];

    if (abreast->count > 1 && !limit->asked)
        limit = &abreast->proofs[1]->checks[id];
    if (!limit->asked)
        return;
    tw_text_print(&page->out, "<tr><th scope=\"row\">%s</th><td data-label=\"asks\">%s", tw_check_name(id),
                  tw_check_question(id));
    for (int i = 0; i < abreast->count; i++)
        write_note(page, abreast->proofs[i], &abreast->proofs[i]->checks[id]);
    tw_text_print(&page->out, "</td><td data-label=\"limit\">");
    amount(page, limit->limit, limit->unit);
    tw_text_print(&page->out, "</td>");
    for (int i = 0; i < abreast->count; i++)
        write_answer(page, abreast->proofs[i], &abreast->proofs[i]->checks[id]);
    tw_text_print(&page->out, "</tr>\n");
}

static void write_thickness(struct page *page, const struct tw_proof *proof)
{
    tw_text_print(
        &page->out,
        "<table><caption>From the centre plane to face %s in the dry run</caption><thead><tr><th scope=\"col\">At</th>"
        "<th scope=\"col\">Found</th><th scope=\"col\">Aim</th></tr></thead><tbody>\n",
        tw_side_letter(proof->side));
    for (int i = 0; i < TW_GAUGE_POINTS; i++) {
        const struct tw_gauge *gauge = &proof->gauges[i];

        tw_text_print(&page->out, "<tr><th scope=\"row\">");
        sheet_length(&page->out, page->inch, gauge->x_mm, SHEET_RULE);
        tw_text_print(&page->out, "</th><td>");
        if (isnan(gauge->half_mm))
            tw_text_print(&page->out, "no steel");
        else
            sheet_length(&page->out, page->inch, gauge->half_mm, SHEET_BLOCKS);
        tw_text_print(&page->out, "</td><td>");
        sheet_length(&page->out, page->inch, gauge->aim_mm, SHEET_BLOCKS);
        tw_text_print(&page->out, "</td></tr>\n");
    }
    tw_text_print(&page->out, "</tbody></table>\n");
}

static void write_program(struct page *page, const struct tw_proof *proof)
{
    char side[24];

    print_side(side, sizeof side, proof);
    tw_text_print(&page->out, "<li><code>");
    sheet_file_name(&page->out, proof->name);
    tw_text_print(&page->out, "</code>, side %s: <strong>%s</strong>, ", side, proof->cut ? "passed" : "do not cut");
    sheet_duration(&page->out, proof->cycle_time_s);
    tw_text_print(&page->out, ", %.1f\u00a0cm\u00b3 off, peak ", proof->removed_mm3 / 1000.0);
    sheet_temperature(&page->out, page->inch, proof->peak_degC);
    tw_text_print(&page->out, " estimated, ");
    sheet_temperature(&page->out, page->inch, proof->reserve_degC);
    tw_text_print(&page->out, " with the reserve");
    if (tw_proof_look_at(proof) > 0)
        tw_text_print(&page->out, ". <strong>Look at line %d first.</strong>", tw_proof_look_at(proof));
    tw_text_print(&page->out, "</li>\n");
}

static void write_checks(struct page *page, const struct abreast *abreast)
{
    tw_text_print(&page->out,
                  "<table class=\"flow\"><caption>Worst found, and the line of the program</caption><thead><tr>"
                  "<th scope=\"col\">Check</th><th scope=\"col\">Asks</th><th scope=\"col\">Limit</th>");
    for (int i = 0; i < abreast->count; i++) {
        char side[24];

        print_side(side, sizeof side, abreast->proofs[i]);
        tw_text_print(&page->out, "<th scope=\"col\">Side %s</th>", side);
    }
    tw_text_print(&page->out, "</tr></thead><tbody>\n");
    for (int id = 0; id < TW_CHECK_COUNT; id++)
        write_check(page, abreast, (enum tw_check_id)id);
    tw_text_print(&page->out, "</tbody></table>\n");
}

static void write_blanks(struct page *page)
{
    const struct tw_taper *taper = &page->job->taper;

    if (page->verdict->unread_mm > 0.0) {
        tw_text_print(&page->out, "<p>Each was run on surveyed faces as read, and up to ");
        sheet_length_short(&page->out, page->inch, page->verdict->unread_mm, SHEET_GAUGE);
        tw_text_print(&page->out, " higher, as no reading tells; where they differ the worst is named.</p>\n");
    }
    if (page->verdict->band_mm <= 0.0)
        return;
    tw_text_print(&page->out, "<p>Each was run on the thinnest blank, ");
    sheet_length_short(&page->out, page->inch, taper->ricasso_mm - page->verdict->band_mm, SHEET_BLOCKS);
    tw_text_print(&page->out, ", on the one stated and on the thickest, ");
    sheet_length_short(&page->out, page->inch, taper->ricasso_mm + page->verdict->band_mm, SHEET_BLOCKS);
    tw_text_print(&page->out, "; where they differ the worst is named.</p>\n");
}

/* What roughing leaves is no finished face. */
static bool is_finished_later(const struct tw_verdict *verdict, size_t proof)
{
    bool finished = false;

    for (size_t i = 0; i < verdict->count; i++)
        finished |=
            verdict->proofs[i].scope == TW_SCOPE_FINISH && verdict->proofs[i].side == verdict->proofs[proof].side;
    return finished && verdict->proofs[proof].scope == TW_SCOPE_ROUGH;
}

enum tw_status section_verdict(struct page *page)
{
    const struct tw_verdict *verdict = page->verdict;

    tw_text_print(&page->out,
                  "<p>The programs were run in a simulator, from their text alone. What it cannot see: errors of the "
                  "machine, a wheel "
                  "that loads or runs out, a bow that was not surveyed, anything that is not in the fixture\u2019s "
                  "profile.</p>\n<ul>\n");
    for (size_t i = 0; i < verdict->count; i++)
        write_program(page, &verdict->proofs[i]);
    tw_text_print(&page->out, "</ul>\n");
    write_blanks(page);
    for (size_t i = 0; i < verdict->count; i += ABREAST) {
        struct abreast abreast = { .count = verdict->count - i > 1 ? 2 : 1 };

        for (int k = 0; k < abreast.count; k++)
            abreast.proofs[k] = &verdict->proofs[i + (size_t)k];
        write_checks(page, &abreast);
    }
    tw_text_print(&page->out, "<div class=\"columns even\">\n");
    for (size_t i = 0; i < verdict->count; i++) {
        if (is_finished_later(verdict, i))
            continue;
        tw_text_print(&page->out, "<div>\n");
        write_thickness(page, &verdict->proofs[i]);
        tw_text_print(&page->out, "</div>\n");
    }
    tw_text_print(&page->out, "</div>\n");
    return TW_OK;
}
