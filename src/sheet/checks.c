/* checks.c - the dry run's answer, check by check. */
#include "sheet/sheet.h"

#include <math.h>
#include <stdio.h>

static void amount(struct page *page, double value, const char *unit)
{
    if (!isfinite(value))
        tw_text_print(&page->out, "\u2013");
    else if (*unit == '\0')
        tw_text_print(&page->out, "%.0f", fmax(0.0, value));
    else
        tw_text_print(&page->out, "%.3g\u00a0%s", fabs(value) < 5e-5 ? 0.0 : value, unit);
}

static void write_check(struct page *page, enum tw_check_id id, const struct tw_check *check)
{
    int line = check->failed ? check->first_line : check->line;

    tw_text_print(&page->out, "<tr class=\"%s\"><th scope=\"row\">%s</th><td data-label=\"answer\">%s</td><td data-label=\"worst\">",
                  check->failed ? "bad" : "good", tw_check_name(id), check->failed ? "\u2717 FAIL" : "\u2713 pass");
    amount(page, check->amount, check->unit);
    tw_text_print(&page->out, "</td><td data-label=\"limit\">");
    amount(page, check->limit, check->unit);
    tw_text_print(&page->out, "</td><td data-label=\"line\">");
    if (line > 0 && (check->failed || *check->unit))
        tw_text_print(&page->out, "%d", line);
    else
        tw_text_print(&page->out, "\u2013");
    tw_text_print(&page->out, "</td><td data-label=\"asks\">%s", tw_check_question(id));
    if (check->failed) {
        tw_text_print(&page->out, " <strong>No%s", check->note[0] ? ": " : ".");
        sheet_escape(&page->out, check->note);
        tw_text_print(&page->out, "</strong>");
        if (check->has_place)
            tw_text_print(&page->out, " Part %d, x %.1f, y %.1f, z %.2f\u00a0mm.", check->part, check->place_mm[0], check->place_mm[1],
                          check->place_mm[2]);
    }
    tw_text_print(&page->out, "</td></tr>\n");
}

static void write_thickness(struct page *page, const struct tw_proof *proof)
{
    tw_text_print(&page->out, "<table><caption>From the centre plane to face %s in the dry run</caption><thead><tr><th scope=\"col\">At</th>"
                              "<th scope=\"col\">Found</th><th scope=\"col\">Aim</th></tr></thead><tbody>\n",
                  side_name(proof->side));
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

static void write_proof(struct page *page, const struct tw_proof *proof)
{
    tw_text_print(&page->out, "<table class=\"flow\"><caption><code>");
    sheet_escape(&page->out, proof->name);
    tw_text_print(&page->out, "</code>, side %s: ", side_name(proof->side));
    sheet_duration(&page->out, proof->cycle_time_s);
    tw_text_print(&page->out, ", hottest %.0f\u00a0\u00b0C", proof->peak_degC);
    if (tw_proof_look_at(proof) > 0)
        tw_text_print(&page->out, ". <strong>Look at line %d first.</strong>", tw_proof_look_at(proof));
    tw_text_print(&page->out, "</caption><thead><tr><th scope=\"col\">Check</th><th scope=\"col\">Answer</th><th scope=\"col\">Worst</th>"
                              "<th scope=\"col\">Limit</th><th scope=\"col\">Line</th><th scope=\"col\">Asks</th></tr></thead><tbody>\n");
    for (int id = 0; id < TW_CHECK_COUNT; id++)
        if (proof->checks[id].asked)
            write_check(page, (enum tw_check_id)id, &proof->checks[id]);
    tw_text_print(&page->out, "</tbody></table>\n");
    write_thickness(page, proof);
}

enum tw_status section_verdict(struct page *page)
{
    tw_text_print(&page->out, "<p>The programs were run in a simulator, from their text alone. What it cannot see: the machine\u2019s "
                              "stiffness and errors, the wheel\u2019s wear, a bowed blank, anything not in the fixture\u2019s profile.</p>\n");
    for (size_t i = 0; i < page->verdict->count; i++)
        write_proof(page, &page->verdict->proofs[i]);
    return TW_OK;
}
