/* straight.c - the surveyed blank: how it lies, what comes off each face, and whether it comes out straight. */
#include "sheet/sheet.h"

#include "base/numbers.h"
#include "tangwright/straight.h"

#include <math.h>

static void write_answer(struct page *page, const struct tw_straight *straight)
{
    tw_text_print(&page->out, "<p><strong>%s</strong> The finished tang\u2019s middle stays within ",
                  straight->straight      ? "It comes out straight."
                  : straight->comes_clean ? "It does not come out quite straight."
                                          : "Stock is missing: not all of it cleans up.");
    sheet_length(&page->out, page->inch, straight->deviation_mm, SHEET_GAUGE);
    tw_text_print(&page->out, " of the blade\u2019s centre plane; asked for: ");
    sheet_length(&page->out, page->inch, page->job->straighten.tolerance_mm, SHEET_GAUGE);
    tw_text_print(&page->out, ". Largest bow ");
    sheet_length(&page->out, page->inch, fabs(straight->bow_mm), SHEET_GAUGE);
    tw_text_print(&page->out, " towards %s, ", straight->bow_mm >= 0.0 ? "A" : "B");
    sheet_length(&page->out, page->inch, straight->bow_x_mm, SHEET_RULE);
    tw_text_print(&page->out, " behind the taper start.");
    if (straight->twisted)
        tw_text_print(&page->out, " <strong>It is twisted: %.2f\u00b0.</strong>", tw_degrees(straight->twist_rad));
    if (straight->straight_in_doubt)
        tw_text_print(&page->out, " This rests on less than the indicator can tell.");
    tw_text_print(&page->out, "</p>\n");
}

static void cell(struct page *page, const char *label, double mm)
{
    tw_text_print(&page->out, "<td data-label=\"%s\">", label);
    sheet_length(&page->out, page->inch, mm, SHEET_GAUGE);
    tw_text_print(&page->out, "</td>");
}

static void write_gauge(struct page *page, const struct tw_gauge_point *gauge)
{
    tw_text_print(&page->out, "<tr><th scope=\"row\">");
    sheet_length(&page->out, page->inch, gauge->x_mm, SHEET_RULE);
    tw_text_print(&page->out, "</th>");
    cell(page, "thickness", gauge->thickness_mm);
    cell(page, "bow", gauge->bow_mm);
    cell(page, "off A", gauge->off_mm[TW_SIDE_A]);
    cell(page, "off B", gauge->off_mm[TW_SIDE_B]);
    cell(page, "middle after", gauge->deviation_mm);
    tw_text_print(&page->out, "</tr>\n");
}

enum tw_status section_straight(struct page *page)
{
    const struct tw_straight *straight = page->job->straight;

    write_answer(page, straight);
    tw_text_print(
        &page->out,
        "<p>These programs are for the one blank that was surveyed.</p>\n<table class=\"flow\"><caption>As "
        "surveyed, and what comes off; bow and middle count towards A</caption><thead><tr><th scope=\"col\">At</th>"
        "<th scope=\"col\">Thickness</th><th scope=\"col\">Bow</th><th scope=\"col\">Off A</th><th "
        "scope=\"col\">Off B</th><th scope=\"col\">Middle after</th></tr></thead><tbody>\n");
    for (size_t i = 0; i < straight->gauge_count; i++)
        write_gauge(page, &straight->gauges[i]);
    tw_text_print(&page->out, "</tbody></table>\n");
    return TW_OK;
}
