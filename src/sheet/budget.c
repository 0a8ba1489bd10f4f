/* budget.c - what the finished tang may be off by, and what to do about it. */
#include "sheet/sheet.h"

#include "tangwright/assess.h"

static void write_row(struct page *page, const struct tw_error_row *row, size_t i)
{
    tw_text_print(&page->out, "<tr><th scope=\"row\">%s</th>", row->name);
    tw_text_print(&page->out,
                  "<td data-label=\"thickness\"><data data-key=\"error_budget.%zu.thickness_um\" "
                  "value=\"%.9g\">%.1f</data></td>",
                  i, row->thickness_um, row->thickness_um);
    tw_text_print(&page->out,
                  "<td data-label=\"flatness\"><data data-key=\"error_budget.%zu.flatness_um\" "
                  "value=\"%.9g\">%.1f</data></td><td data-label=\"cure\">",
                  i, row->flatness_um, row->flatness_um);
    sheet_escape(&page->out, row->cure);
    tw_text_print(&page->out, "</td></tr>\n");
}

enum tw_status section_budget(struct page *page)
{
    struct tw_error_budget budget = tw_error_budget(page->job, page->plan);
    char sentence[TW_ERROR_SENTENCE];

    tw_error_sentence(&budget, sentence, sizeof sentence);
    tw_text_print(&page->out,
                  "<table class=\"flow\"><caption>Each cause at the worse end of its range, in micrometres</caption>"
                  "<thead><tr><th scope=\"col\">Cause</th><th scope=\"col\">Thickness</th><th "
                  "scope=\"col\">Flatness</th><th scope=\"col\">What cures it</th></tr></thead><tbody>\n");
    for (size_t i = 0; i < budget.count; i++)
        write_row(page, &budget.rows[i], i);
    tw_text_print(&page->out,
                  "<tr><th scope=\"row\">root of the squares</th><td data-label=\"thickness\">%.1f</td><td "
                  "data-label=\"flatness\">%.1f</td><td></td></tr>\n</tbody></table>\n",
                  budget.thickness_um, budget.flatness_um);
    if (*sentence) {
        tw_text_print(&page->out, "<p><strong>");
        sheet_escape(&page->out, sentence);
        tw_text_print(&page->out, "</strong></p>\n");
    }
    return TW_OK;
}
