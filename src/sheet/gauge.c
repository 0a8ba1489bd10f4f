/* gauge.c - the sheet to fill in: thickness at the gauge points, depth of the reliefs, what else is worth keeping. */
#include "sheet/sheet.h"

#include "geometry/ring.h"
#include "tangwright/plan.h"
#include "tangwright/straight.h"
#include "tangwright/taper.h"

#include <math.h>

double page_gauge_x_mm(const struct page *page, int i)
{
    return tw_tang_end_mm(page->job) * i / (SHEET_GAUGE_POINTS - 1);
}

/* ---- cells ---- */

static void open_row(struct page *page)
{
    tw_text_print(&page->out, "<tr><th scope=\"row\">");
}

/* What is aimed at, and room for what is found on each part. */
static void write_found(struct page *page)
{
    for (int part = 0; part < page->job->parts; part++)
        tw_text_print(&page->out, "<td class=\"pen\"></td>");
}

static void write_found_heads(struct page *page)
{
    for (int part = 0; part < page->job->parts; part++)
        tw_text_print(&page->out,
                      page->job->parts > 1 ? "<th scope=\"col\">Part %d</th>" : "<th scope=\"col\">Found</th>",
                      part + 1);
}

/* ---- thickness ---- */

/* One program a side goes through the last two, roughing and finishing through the first and the last. */
enum stage { BOTH_ROUGHED, A_GROUND, BOTH_GROUND };

/* So little below the blank's own thickness no micrometer tells what was ground. */
#define TELLS_MM 0.01

/* Roughed and finished in turns, there is no one thickness half way: what both faces are roughed to is measured instead. */
bool page_is_in_turns(const struct page *page)
{
    for (size_t i = 0; i < page->side_count; i++)
        if (page->sides[i].setup->scope == TW_SCOPE_FINISH)
            return true;
    return false;
}

/* With side A ground: its finished half, and side B as the blank is. */
static double half_way_mm(const struct page *page, double x_mm)
{
    const struct tw_straight *straight = page->job->straight;
    double finished_half_mm = tw_taper_half_mm(page->job, TW_SIDE_A, x_mm);

    if (!straight)
        return finished_half_mm + page->job->taper.ricasso_mm / 2.0;
    return finished_half_mm + straight->offset_mm + straight->tilt * x_mm +
           tw_profile_mm(&straight->raw[TW_SIDE_B], x_mm);
}

/* By how much thicker than finished roughing leaves the part: what all faces keep for the finishing; and where what side A keeps lifts the part on
 * a rest that rises, so that side B loses as much, what one face keeps (run.h). */
static double kept_mm(const struct page *page)
{
    const struct tw_job *job = page->job;

    return page_lies_on_rising_rest(page) ? tw_plan_finish_stock_mm(job) - job->finish.allowance_mm
                                          : TW_SIDES_OF(job) * tw_plan_finish_stock_mm(job);
}

/* Where roughing has taken something off. */
static bool is_roughed_at(const struct page *page, double x_mm)
{
    const struct tw_job *job = page->job;

    return tw_taper_thickness_mm(job, x_mm) + kept_mm(page) < job->taper.ricasso_mm - TELLS_MM;
}

static void write_aim(struct page *page, enum stage stage, int i)
{
    double x_mm = page_gauge_x_mm(page, i), finished_mm = tw_taper_thickness_mm(page->job, x_mm);

    tw_text_print(&page->out, "<td>");
    if (stage == A_GROUND) {
        sheet_length(&page->out, page->inch, half_way_mm(page, x_mm), SHEET_BLOCKS);
    } else if (stage == BOTH_ROUGHED && !is_roughed_at(page, x_mm)) {
        tw_text_print(&page->out, "not here");
    } else if (stage == BOTH_ROUGHED) {
        sheet_length(&page->out, page->inch, finished_mm + kept_mm(page), SHEET_BLOCKS);
    } else {
        tw_text_print(&page->out, "<data data-key=\"setups.%d.packing.%d.finished_thickness_mm\" value=\"%.9g\">",
                      TW_SIDES_OF(page->job) - 1, i, finished_mm);
        sheet_length(&page->out, page->inch, finished_mm, SHEET_BLOCKS);
        tw_text_print(&page->out, "</data>");
    }
    tw_text_print(&page->out, "</td>");
}

static void open_table(struct page *page, const char *caption)
{
    tw_text_print(&page->out,
                  "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"%s, to fill in\">\n"
                  "<table class=\"gauge\"><caption>%s</caption>\n<thead><tr><th scope=\"col\">At</th>",
                  caption, caption);
}

static void close_table(struct page *page)
{
    tw_text_print(&page->out, "</tbody></table>\n</div>\n");
}

/* Under all columns ahead of the first readings; behind them the columns of what is measured later stay empty. */
static void open_sum(struct page *page)
{
    size_t columns = 2;

    for (size_t side = 0; side < page->side_count; side++)
        columns += page_shows_packing(page, side);
    tw_text_print(&page->out, "<tr class=\"sum\"><th scope=\"row\" colspan=\"%zu\">", columns);
}

static void close_sum(struct page *page, bool measured_later)
{
    tw_text_print(&page->out, "</th>");
    write_found(page);
    if (measured_later)
        tw_text_print(&page->out, "<td colspan=\"%d\"></td>", 1 + page->job->parts);
    tw_text_print(&page->out, "</tr>\n");
}

bool page_lies_on_rising_rest(const struct page *page)
{
    for (size_t i = 0; i < page->side_count; i++) {
        const struct tw_setup_plan *setup = page->sides[i].setup;

        if (setup->face.side == TW_SIDE_B && setup->holding.rests_carry &&
            tw_setup_packing_mm(page->job, setup, tw_tang_end_mm(page->job)) > 0.0)
            return true;
    }
    return false;
}

/* From readings to the number by which the work offset is lowered. With z zero on the pad a thicker blank comes out as much
 * thinner, unless one face alone is ground, which lies as high over the pad whatever the blank; and with z zero on its own ricasso as much thicker
 * (docs/job-reference.md, taper.thickness_band). A rest that lifts the part takes the blank and one of two faces out of the sum: the thickness is off by
 * what the wheel is, once. It no longer does where the blank is thicker by more than side A keeps. */
static void write_offset_sum(struct page *page, bool measured_later)
{
    const struct tw_job *job = page->job;
    bool on_rest = page_lies_on_rising_rest(page), on_pad = job->taper.zero == TW_ZERO_PAD;
    double carried_mm = on_rest && on_pad ? tw_plan_finish_stock_mm(job) : 0.0;

    open_sum(page);
    tw_text_print(&page->out, "Found less aim, mean of the places");
    close_sum(page, measured_later);
    if (job->taper.band_mm > 0.0 && !(job->one_face && job->taper.zero == TW_ZERO_PAD)) {
        open_sum(page);
        tw_text_print(&page->out, "%s the ricasso as measured less ", on_pad ? "Plus" : "Minus");
        sheet_length(&page->out, page->inch, job->taper.ricasso_mm + carried_mm, SHEET_BLOCKS);
        if (carried_mm > 0.0)
            tw_text_print(&page->out, "; 0 where it is less, for then the rest carries it");
        close_sum(page, measured_later);
    }
    open_sum(page);
    tw_text_print(&page->out, "<strong>%s: lower the offset\u2019s %c by</strong>",
                  job->one_face || (on_rest && (!on_pad || job->taper.band_mm <= 0.0)) ? "Sum"
                  : on_rest ? "Sum, or half of it where that is not 0"
                            : "Half of the sum",
                  job->machine.up.letter);
    close_sum(page, measured_later);
}

/* What a column of the table takes of the narrower of two papers, A4 (ISO 216) less its margins: a distance, what is packed, an
 * aim, and room for a pen. */
#define PAPER_MM 184
enum { PLACE_MM = 17, PACKING_MM = 13, AIM_MM = 14, PEN_MM = 16 };

/* Whether what is measured at two stages finds room in one table. */
static bool fits_beside(const struct page *page)
{
    int taken_mm = PLACE_MM + 2 * (AIM_MM + page->job->parts * PEN_MM);

    for (size_t side = 0; side < page->side_count; side++)
        taken_mm += page_shows_packing(page, side) ? PACKING_MM : 0;
    return page->job->parts == 1 || taken_mm <= PAPER_MM;
}

/* Roughed and finished in turns, side A alone is never measured. */
static int next_stage(const struct page *page, int stage)
{
    return stage == BOTH_ROUGHED && page_is_in_turns(page) ? BOTH_GROUND : stage + 1;
}

/* The stages from one to the other beside each other. */
static void write_thickness(struct page *page, const char *caption, enum stage from, enum stage to)
{
    static const char *const names[][2] = { [A_GROUND] = { "A ground", "A ground" },
                                            [BOTH_ROUGHED] = { "both roughed", "roughed" },
                                            [BOTH_GROUND] = { "both ground", "ground" } };
    bool packs = from != BOTH_GROUND || page->job->one_face; /* the first of two tables tells it */

    open_table(page, caption);
    for (size_t side = 0; packs && side < page->side_count; side++)
        if (page_shows_packing(page, side))
            page_write_packing_head(page, side);
    for (int stage = (int)from; stage <= (int)to; stage = next_stage(page, stage)) {
        tw_text_print(&page->out, "<th scope=\"col\">Aim, %s</th>", names[stage][page->job->one_face]);
        write_found_heads(page);
    }
    tw_text_print(&page->out, "</tr></thead><tbody>\n");
    for (int i = 0; i < SHEET_GAUGE_POINTS; i++) {
        open_row(page);
        sheet_length(&page->out, page->inch, page_gauge_x_mm(page, i), SHEET_RULE);
        tw_text_print(&page->out, "</th>");
        for (size_t side = 0; packs && side < page->side_count; side++)
            if (page_shows_packing(page, side))
                page_write_packing(page, side, i);
        for (int stage = (int)from; stage <= (int)to; stage = next_stage(page, stage)) {
            write_aim(page, (enum stage)stage, i);
            if (stage == BOTH_ROUGHED && !is_roughed_at(page, page_gauge_x_mm(page, i)))
                tw_text_print(&page->out, "<td colspan=\"%d\"></td>", page->job->parts);
            else
                write_found(page);
        }
        tw_text_print(&page->out, "</tr>\n");
    }
    if (from == BOTH_ROUGHED && !page->sheet->in_run)
        write_offset_sum(page, to == BOTH_GROUND);
    close_table(page);
}

/* In one table, or below each other in two. */
static void write_stages(struct page *page, enum stage first, const char *then, const char *at_last)
{
    if (fits_beside(page)) {
        write_thickness(page, "Thickness", first, BOTH_GROUND);
    } else {
        write_thickness(page, then, first, first);
        write_thickness(page, at_last, BOTH_GROUND, BOTH_GROUND);
    }
}

/* ---- reliefs ---- */

static bool has_relief(const struct page *page)
{
    for (size_t i = 0; i < page->side_count; i++)
        if (page->sides[i].hollow.count > 0)
            return true;
    return false;
}

/* From where to where the hollow reaches along the part. */
static void write_reach(struct page *page, const struct sheet_side *side)
{
    const struct tw_face *face = &side->setup->face;
    double from_mm = HUGE_VAL, to_mm = -HUGE_VAL;

    for (size_t i = 0; i < side->hollow.count; i++) {
        struct tw_box box = tw_ring_box(&side->hollow.pieces[i].outer);

        from_mm = fmin(from_mm, (box.min_x_mm - face->start_mm) / face->stretch);
        to_mm = fmax(to_mm, (box.max_x_mm - face->start_mm) / face->stretch);
    }
    sheet_length_short(&page->out, page->inch, from_mm, SHEET_RULE);
    tw_text_print(&page->out, " to ");
    sheet_length_short(&page->out, page->inch, to_mm, SHEET_RULE);
}

static const struct sheet_side *first_relief(const struct page *page)
{
    const struct sheet_side *side = page->sides;

    while (side->hollow.count == 0)
        side++;
    return side;
}

/* At either end of the relief of each side, a row for each part; the relief reaches as far on both sides. */
static void write_floors(struct page *page)
{
    static const char *const ends[] = { "towards the taper start", "towards the butt" };
    int places = 0;

    tw_text_print(
        &page->out,
        "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"Floor of the relief, to fill in\">\n"
        "<table class=\"gauge\"><caption>Relief: floor below the land, aim ");
    sheet_length(&page->out, page->inch, page->job->relief.depth_mm, SHEET_BLOCKS);
    tw_text_print(&page->out, "; it reaches from ");
    write_reach(page, first_relief(page));
    tw_text_print(&page->out, " behind the taper start</caption>\n<thead><tr><th scope=\"col\">Part</th>");
    for (size_t i = 0; i < page->side_count; i++)
        for (int end = 0; end < 2 && page->sides[i].hollow.count > 0; end++, places++)
            tw_text_print(&page->out, "<th scope=\"col\">%s, %s</th>", tw_side_letter(page->sides[i].setup->face.side),
                          ends[end]);
    tw_text_print(&page->out, "</tr></thead><tbody>\n");
    for (int part = 0; part < page->job->parts; part++) {
        tw_text_print(&page->out, "<tr><th scope=\"row\">%d</th>", part + 1);
        for (int place = 0; place < places; place++)
            tw_text_print(&page->out, "<td class=\"pen\"></td>");
        tw_text_print(&page->out, "</tr>\n");
    }
    close_table(page);
}

/* ---- the rest ---- */

static void write_lines(struct page *page)
{
    static const char *const lines[] = { "Ricasso of the blank", "Hardness before, after", "Temper colours seen",
                                         "Power read, at layer", "Wheel dressed after",    "Done by, on" };
    const size_t count = sizeof lines / sizeof *lines;

    tw_text_print(&page->out, "<table class=\"flow gauge\"><caption>The steel and the work</caption><thead><tr>");
    for (size_t i = 0; i < count; i++)
        tw_text_print(&page->out, "<th scope=\"col\">%s</th>", lines[i]);
    tw_text_print(&page->out, "</tr></thead><tbody><tr>");
    for (size_t i = 0; i < count; i++)
        tw_text_print(&page->out, "<td class=\"pen\" data-label=\"%s\"></td>", lines[i]);
    tw_text_print(&page->out, "</tr></tbody></table>\n");
}

enum tw_status section_gauge(struct page *page)
{
    tw_text_print(
        &page->out,
        "<p>Thickness %s, at these distances from the taper start. To be filled in by pen; parts cooled.</p>\n",
        has_relief(page) ? "on the land beside the relief" : "in the middle of the tang");
    if (page_is_in_turns(page))
        write_stages(page, BOTH_ROUGHED, "Thickness, roughed", "Thickness, finished");
    else if (page->job->one_face)
        write_thickness(page, "Thickness", BOTH_GROUND, BOTH_GROUND);
    else
        write_stages(page, A_GROUND, "Thickness, A ground", "Thickness, both ground");
    if (has_relief(page))
        write_floors(page);
    write_lines(page);
    return TW_OK;
}
