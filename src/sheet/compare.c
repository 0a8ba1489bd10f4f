/* compare.c - variants of one job side by side. */
#include "sheet/sheet.h"

#include "tangwright/compare.h"

#include <math.h>
#include <stdio.h>

#define ROW_PX   34.0
#define BAR_PX   13.0
#define EDGE_PX  4.0
#define LABEL_PX 26.0 /* room for the variant's number */

/* ---- what each is ---- */

static void write_changes(struct page *page, const struct tw_variant *variant)
{
    if (variant->change_count == 0)
        tw_text_print(&page->out, "The job as it stands");
    for (size_t i = 0; i < variant->change_count; i++) {
        tw_text_print(&page->out, "%s<code>", i > 0 ? ", " : "");
        sheet_escape(&page->out, variant->changes[i].key);
        tw_text_print(&page->out, " = ");
        sheet_escape(&page->out, variant->changes[i].value);
        tw_text_print(&page->out, "</code>");
    }
}

static void write_list(struct page *page)
{
    const struct tw_comparison *comparison = page->comparison;

    tw_text_print(&page->out, "<ol>\n");
    for (size_t i = 0; i < comparison->count; i++) {
        const struct tw_variant *variant = &comparison->variants[i];

        tw_text_print(&page->out, "<li>");
        write_changes(page, variant);
        if (variant->refusal) {
            tw_text_print(&page->out, "<br/><strong>cannot be planned:</strong> ");
            sheet_escape(&page->out, variant->refusal);
        }
        tw_text_print(&page->out, "</li>\n");
    }
    tw_text_print(&page->out, "</ol>\n");
}

/* ---- the table ---- */

typedef void (*write_cell)(struct page *page, const struct tw_variant *variant);

static void cycle(struct page *page, const struct tw_variant *variant)
{
    sheet_duration(&page->out, variant->cycle_time_s);
}

static void one_part(struct page *page, const struct tw_variant *variant)
{
    sheet_duration(&page->out, variant->cycle_time_s / variant->parts);
}

static void waits(struct page *page, const struct tw_variant *variant)
{
    sheet_duration(&page->out, variant->dwell_s);
}

static void passes(struct page *page, const struct tw_variant *variant)
{
    tw_text_print(&page->out, "%d", variant->pass_count);
}

static void peak(struct page *page, const struct tw_variant *variant)
{
    sheet_temperature(&page->out, page->inch, variant->peak_degC);
}

static void reserve(struct page *page, const struct tw_variant *variant)
{
    sheet_temperature(&page->out, page->inch, variant->reserve_degC);
}

static void allowed(struct page *page, const struct tw_variant *variant)
{
    sheet_temperature(&page->out, page->inch, variant->allowed_degC);
}

static void looser(struct page *page, const struct tw_variant *variant)
{
    enum tw_limit dearest = tw_variant_dearest(variant);

    if (dearest < TW_LIMIT_COUNT)
        tw_text_print(&page->out, "%s, %.0f\u00a0s", tw_limit_name(dearest), variant->saves_s[dearest]);
    else
        tw_text_print(&page->out, "none");
}

static void removed(struct page *page, const struct tw_variant *variant)
{
    tw_text_print(&page->out, "%.2f\u00a0g", variant->removed_g);
}

static void knife(struct page *page, const struct tw_variant *variant)
{
    if (variant->weighed)
        tw_text_print(&page->out, "%.1f\u00a0g", variant->knife_g);
    else
        tw_text_print(&page->out, "not weighed");
}

static void balance(struct page *page, const struct tw_variant *variant)
{
    if (!variant->weighed) {
        tw_text_print(&page->out, "not weighed");
        return;
    }
    sheet_length(&page->out, page->inch, fabs(variant->balance_mm), SHEET_RULE);
    tw_text_print(&page->out, " %s", variant->balance_mm < 0.0 ? "ahead" : "behind");
}

static const struct {
    const char *label;
    write_cell cell;
} rows[] = {
    { "Cycle time", cycle },
    { "For one part", one_part },
    { "Waits to cool", waits },
    { "Passes", passes },
    { "Peak, estimated", peak },
    { "With the reserve", reserve },
    { "Allowed", allowed },
    { "A tenth looser saves most", looser },
    { "Taken off a part", removed },
    { "Knife", knife },
    { "Balances, from the taper start", balance },
};

static void write_table(struct page *page)
{
    const struct tw_comparison *comparison = page->comparison;

    tw_text_print(&page->out, "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"figures of the "
                              "variants\">\n<table><thead><tr><th scope=\"col\">Variant</th>");
    for (size_t i = 0; i < comparison->count; i++)
        tw_text_print(&page->out, "<th scope=\"col\">%zu</th>", i + 1);
    tw_text_print(&page->out, "</tr></thead><tbody>\n");
    for (size_t row = 0; row < sizeof rows / sizeof *rows; row++) {
        tw_text_print(&page->out, "<tr><th scope=\"row\">%s</th>", rows[row].label);
        for (size_t i = 0; i < comparison->count; i++) {
            tw_text_print(&page->out, "<td>");
            if (comparison->variants[i].refusal)
                tw_text_print(&page->out, "no plan");
            else
                rows[row].cell(page, &comparison->variants[i]);
            tw_text_print(&page->out, "</td>");
        }
        tw_text_print(&page->out, "</tr>\n");
    }
    tw_text_print(&page->out, "</tbody></table>\n</div>\n");
}

/* ---- where the time goes ---- */

static double longest_s(const struct tw_comparison *comparison)
{
    double longest = 1.0;

    for (size_t i = 0; i < comparison->count; i++)
        longest = fmax(longest, comparison->variants[i].cycle_time_s);
    return longest;
}

static void draw_bar(struct page *page, struct canvas *canvas, size_t i, double y)
{
    const struct tw_variant *variant = &page->comparison->variants[i];
    double px_per_s = (canvas->width - LABEL_PX - 2.0 * EDGE_PX) / longest_s(page->comparison);
    double x = LABEL_PX, cut = variant->cut_time_s * px_per_s, wait = variant->dwell_s * px_per_s;

    canvas_text(canvas, "", CANVAS_START, EDGE_PX, y + BAR_PX, "%zu", i + 1);
    if (variant->refusal) {
        canvas_text(canvas, "", CANVAS_START, x, y + BAR_PX, "no plan");
        return;
    }
    canvas_box(canvas, "steel", x, y, cut, BAR_PX);
    canvas_box(canvas, "packing", x + cut, y, wait, BAR_PX);
    canvas_box(canvas, "edge", x, y, variant->cycle_time_s * px_per_s, BAR_PX);
}

static void draw_times(struct page *page, struct canvas *canvas, const void *what)
{
    const struct tw_comparison *comparison = page->comparison;
    struct tw_text said = { 0 };
    double y = EDGE_PX;

    (void)what;
    for (size_t i = 0; i < comparison->count; i++)
        tw_text_print(&said, "%s%zu: %.0f s in all, %.0f s in the steel, %.0f s waiting", i > 0 ? "; " : "", i + 1,
                      comparison->variants[i].cycle_time_s, comparison->variants[i].cut_time_s,
                      comparison->variants[i].dwell_s);
    canvas_begin(canvas, EDGE_PX + ROW_PX * (double)comparison->count, said.data ? said.data : "");
    for (size_t i = 0; i < comparison->count; i++, y += ROW_PX)
        draw_bar(page, canvas, i, y);
    canvas_end(canvas);
    page->out.failed = page->out.failed || said.failed;
    tw_text_free(&said);
}

enum tw_status section_comparison(struct page *page)
{
    write_list(page);
    write_table(page);
    page_figure(
        page, "times", "Where the time goes",
        "Grey: the wheel in the steel. Dotted outline: waiting for a tang to cool. Open: ways outside of the steel.",
        draw_times, NULL);
    tw_text_print(&page->out, "<p>Each variant was planned, and its programs passed the dry-run; none was written. "
                              "Temperatures are estimates; prove them on scrap.</p>\n");
    return TW_OK;
}
