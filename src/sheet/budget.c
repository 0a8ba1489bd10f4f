/* budget.c - what the finished tang may be off by, and what to do about it. */
#include "sheet/sheet.h"

#include "base/numbers.h"
#include "tangwright/assess.h"

static void write_um(struct page *page, double um)
{
    sheet_number(&page->out, page->inch ? um / TW_MM_PER_INCH : um, page->inch ? 2 : 1);
    tw_text_print(&page->out, page->inch ? "\u00a0thou" : "\u00a0\u00b5m");
}

static void write_figure(struct page *page, size_t i, const char *name, double um)
{
    tw_text_print(&page->out, "<td data-label=\"%s\"><data data-key=\"error_budget.%zu.%s_um\" value=\"%.9g\">", name,
                  i, name, um);
    write_um(page, um);
    tw_text_print(&page->out, "</data></td>");
}

static void write_row(struct page *page, const struct tw_error_row *row, size_t i)
{
    tw_text_print(&page->out, "<tr><th scope=\"row\">%s</th>", row->name);
    write_figure(page, i, "thickness", row->thickness_um);
    write_figure(page, i, "flatness", row->flatness_um);
    tw_text_print(&page->out, "<td data-label=\"cure\">");
    sheet_escape_units(&page->out, row->cure);
    tw_text_print(&page->out, "</td></tr>\n");
}

enum tw_status section_budget(struct page *page)
{
    struct tw_error_budget budget = tw_error_budget(page->job, page->plan);
    char sentence[TW_ERROR_SENTENCE];

    tw_error_sentence(&budget, sentence, sizeof sentence);
    tw_text_print(&page->out, "<table class=\"flow\"><caption>Each cause at the worse end of its range</caption>"
                              "<thead><tr><th scope=\"col\">Cause</th><th scope=\"col\">Thickness</th><th "
                              "scope=\"col\">Flatness</th><th scope=\"col\">What cures it</th></tr></thead><tbody>\n");
    for (size_t i = 0; i < budget.count; i++)
        write_row(page, &budget.rows[i], i);
    tw_text_print(&page->out, "<tr><th scope=\"row\">root of the squares</th><td data-label=\"thickness\">");
    write_um(page, budget.thickness_um);
    tw_text_print(&page->out, "</td><td data-label=\"flatness\">");
    write_um(page, budget.flatness_um);
    tw_text_print(&page->out, "</td><td></td></tr>\n</tbody></table>\n");
    if (*sentence) {
        tw_text_print(&page->out, "<p><strong>");
        sheet_escape_units(&page->out, sentence);
        tw_text_print(&page->out, "</strong></p>\n");
    }
    return TW_OK;
}
