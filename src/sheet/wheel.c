/* wheel.c - the state of the wheel that the plan counts on: how to look at a rim, and how to condition it. */
#include "sheet/sheet.h"

#include "base/numbers.h"
#include "tangwright/rim.h"

#include <math.h>

/* Light passes over scrap, as deep as this. */
#define CONDITIONING_MM 0.005

static bool is_cup(const struct sheet_side *side)
{
    return side->wheel->kind == TW_WHEEL_CUP;
}

bool sheet_tells_wheel(const struct page *page)
{
    for (size_t i = 0; i < page->side_count; i++)
        if (page->sides[i].setup->loss.known)
            return true;
    return sheet_has_cup(page);
}

bool sheet_has_cup(const struct page *page)
{
    for (size_t i = 0; i < page->side_count; i++)
        if (is_cup(&page->sides[i]))
            return true;
    return false;
}

static void write_rim_row(struct page *page, const char *name, double value_mm, enum sheet_precision precision)
{
    tw_text_print(&page->out, "<tr><th scope=\"row\">%s</th><td>", name);
    sheet_length(&page->out, page->inch, value_mm, precision);
    tw_text_print(&page->out, "</td></tr>\n");
}

const char *sheet_coolant_on(const struct page *page)
{
    return page->job->coolant.kind == TW_COOLANT_DRY ? "" : ", coolant on";
}

double sheet_band_mm(const struct page *page, const struct sheet_side *side)
{
    return tw_cup_contact_mm(side->wheel, tw_plan_lean(page->job, side->setup), tw_setup_deepest_mm(side->setup));
}

static void write_rim(struct page *page, const struct sheet_side *side)
{
    const struct tw_wheel *wheel = side->wheel;

    tw_text_print(&page->out, "<table class=\"pairs\"><caption>Rim of ");
    sheet_escape(&page->out, wheel->name);
    tw_text_print(&page->out, "</caption><tbody>\n<tr><th scope=\"row\">Planned as</th><td>%s</td></tr>\n",
                  wheel->rim_state == TW_RIM_FRESH ? "fresh: an edge does the cutting" : "worn in");
    if (wheel->lead_in_rad > 0.0)
        tw_text_print(&page->out, "<tr><th scope=\"row\">Lead-in of the edge</th><td>%.3g\u00b0</td></tr>\n",
                      tw_degrees(wheel->lead_in_rad));
    write_rim_row(page, "Deepest pass", tw_setup_deepest_mm(side->setup), SHEET_BLOCKS);
    write_rim_row(page, "Band that cuts in it", sheet_band_mm(page, side), SHEET_GAUGE);
    if (page->job->machine.head_tilt_rad > 0.0) {
        tw_text_print(&page->out, "<tr><th scope=\"row\">Head tilted by</th><td>%.3g\u00b0</td></tr>\n",
                      tw_degrees(page->job->machine.head_tilt_rad));
        write_rim_row(page, "Leaves the face hollow by", side->setup->dish_mm, SHEET_BLOCKS);
    }
    tw_text_print(&page->out, "<tr><th scope=\"row\">Band found, by eye</th><td class=\"pen\"></td></tr>\n"
                              "</tbody></table>\n");
}

static void write_looking(struct page *page, const struct sheet_side *side)
{
    tw_text_print(&page->out, "<h3>Look at the rim before the first part</h3>\n<ol>\n"
                              "<li>Colour the whole rim with a felt pen.</li>\n"
                              "<li>Take one pass of ");
    sheet_length(&page->out, page->inch, fmin(CONDITIONING_MM, tw_setup_deepest_mm(side->setup)), SHEET_BLOCKS);
    tw_text_print(&page->out,
                  " over scrap of the same hardness, as wide as the tang, %s%s.</li>\n"
                  "<li>Stop the spindle. Where the colour is gone is the band that cuts: measure it with a lens at "
                  "four places.</li>\n",
                  page->job->mount == TW_MOUNT_LEVEL ? "lying as the tang will" : "lying level",
                  sheet_coolant_on(page));
    if (side->wheel->rim_state == TW_RIM_WORN_IN) {
        tw_text_print(&page->out, "<li>It must be at least <strong>");
        sheet_length(&page->out, page->inch, sheet_band_mm(page, side), SHEET_GAUGE);
        tw_text_print(&page->out,
                      "</strong> all round, or these programs run hotter than planned: condition the rim, or "
                      "write <code>rim_state = \"fresh\"</code> into the job and plan again.</li>\n");
    }
    tw_text_print(&page->out, "</ol>\n");
}

static void write_conditioning(struct page *page, const struct sheet_side *side)
{
    tw_text_print(&page->out,
                  "<h3>Condition it after every dressing</h3>\n<ol>\n"
                  "<li>%s</li>\n"
                  "<li>Dress the rim flat and open. Now only its edge cuts.</li>\n"
                  "<li>Clamp scrap of the same hardness; touch off%s. Take passes of ",
                  page->job->machine.head_tilt_rad > 0.0
                      ? "Set the head to its tilt, the side towards the taper start lower."
                      : "Square the head: an indicator swung round on the spindle reads alike on the table all round.",
                  sheet_coolant_on(page));
    sheet_length(&page->out, page->inch, fmin(CONDITIONING_MM, tw_setup_deepest_mm(side->setup)), SHEET_BLOCKS);
    tw_text_print(&page->out,
                  " in the direction of the programs.</li>\n"
                  "<li>After every twenty passes colour the rim and look, as above.</li>\n"
                  "<li>Stop when the band is as wide as planned. If it stays narrower, divide the depth of the "
                  "pass by the width of the band: that is the tangent of the lead-in; write it into the job as "
                  "<code>lead_in_angle</code> and plan again.</li>\n"
                  "<li>Wash off the loose grit, touch off anew.</li>\n</ol>\n");
    if (side->wheel->rim_state == TW_RIM_FRESH)
        tw_text_print(&page->out, "<p>This job is planned for a fresh rim, which is slow. With a rim that is worn in, "
                                  "<code>rim_state = \"worn-in\"</code>, it may cut deeper and faster.</p>\n");
}

/* ---- wear ---- */

static void write_um(struct page *page, const char *label, double mm)
{
    tw_text_print(&page->out, "<td data-label=\"%s\">", label);
    sheet_micrometres(&page->out, page->inch, mm);
    tw_text_print(&page->out, " <small>");
    sheet_micrometres(&page->out, !page->inch, mm);
    tw_text_print(&page->out, "</small></td>");
}

static void write_loss(struct page *page, const struct sheet_side *side)
{
    const struct tw_wheel_loss *loss = &side->setup->loss;

    tw_text_print(&page->out, "<tr><th scope=\"row\">Side %s</th>", side->name);
    write_um(page, "likely", loss->likely_mm);
    write_um(page, "at least", loss->least_mm);
    write_um(page, "at most", loss->most_mm);
    write_um(page, "face too high by up to", loss->high_mm);
    write_um(page, "too low by up to", loss->low_mm);
    tw_text_print(&page->out, "<td class=\"pen\" data-label=\"measured\"></td></tr>\n");
}

/* Each meets a wheel that the others have worn. */
static void write_part_losses(struct page *page, const struct sheet_side *side)
{
    if (page->job->parts == 1 || !side->setup->loss.follows)
        return;
    tw_text_print(&page->out, "<p>Side %s, part by part", side->name);
    for (int part = 0; part < page->job->parts; part++) {
        struct tw_wheel_loss loss = tw_plan_part_loss(page->job, side->setup, part);

        tw_text_print(&page->out, "; %d: followed by ", part + 1);
        sheet_micrometres(&page->out, page->inch, loss.followed_mm);
        tw_text_print(&page->out, ", up to ");
        sheet_micrometres(&page->out, page->inch, loss.high_mm);
        tw_text_print(&page->out, " too high or ");
        sheet_micrometres(&page->out, page->inch, loss.low_mm);
        tw_text_print(&page->out, " too low");
    }
    tw_text_print(&page->out, ".</p>\n");
}

static void write_losses(struct page *page)
{
    bool any = false;

    for (size_t i = 0; i < page->side_count; i++) {
        if (!page->sides[i].setup->loss.known)
            continue;
        if (!any)
            tw_text_print(&page->out,
                          "<table class=\"flow\"><caption>What the wheel loses%s</caption><thead><tr><th "
                          "scope=\"col\">Program</th><th scope=\"col\">Likely</th><th scope=\"col\">At least</th><th "
                          "scope=\"col\">At most</th><th scope=\"col\">Face too high by up to</th><th "
                          "scope=\"col\">Too low by up to</th><th scope=\"col\">Measured</th></tr></thead><tbody>\n",
                          page->job->parts > 1 ? " with each part" : "");
        any = true;
        write_loss(page, &page->sides[i]);
    }
    if (any)
        tw_text_print(
            &page->out,
            "</tbody></table>\n<p>Measured: touch off at the same place on the pad before and after. Grinding ratio: "
            "the volume taken off, divided by the loss times the surface that wears.</p>\n");
    for (size_t i = 0; any && i < page->side_count; i++)
        write_part_losses(page, &page->sides[i]);
}

/* ---- dressing ---- */

/* Steel that the wheel of the faces takes off a part on average, side for side. */
static double side_mm3(const struct page *page)
{
    return page->plan->removed_mm3 / TW_SIDES_OF(page->job);
}

static void write_dressing(struct page *page)
{
    double sides = page->job->wheel.dress_after_mm3 / side_mm3(page);

    if (!(page->job->wheel.dress_after_mm3 > 0.0))
        return;
    tw_text_print(&page->out, "<p>Dress after <strong>");
    if (sides >= 1.0)
        tw_text_print(&page->out, "%.0f side%s</strong> like these", floor(sides), sides < 2.0 ? "" : "s");
    else
        tw_text_print(&page->out, "each side</strong>");
    tw_text_print(&page->out,
                  ", or as soon as the spindle needs a third more power for the same pass. Then measure the "
                  "diameter%s, and touch off anew.</p>\n",
                  page->sides[0].wheel->kind == TW_WHEEL_CUP ? ", condition the rim" : "");
}

/* Where the programs stop for it, and what to do there. */
static void write_stops(struct page *page, const struct sheet_side *side)
{
    const struct tw_wear_ledger *ledger = &side->setup->ledger;

    if (ledger->stops == 0)
        return;
    tw_text_print(&page->out, "<p>Side %s begins with a dressed wheel and <strong>stops (M0) for dressing</strong>",
                  side->name);
    for (size_t i = 0; i < ledger->stay_count * (size_t)ledger->parts; i++)
        if (ledger->dresses[i]) {
            tw_text_print(&page->out, "; before part %zu, after up to ", i % (size_t)ledger->parts + 1);
            sheet_volume(&page->out, page->inch, ledger->taken_mm3[i]);
        }
    tw_text_print(&page->out,
                  ". Wait until it stands. Dress it%s. Touch it off anew, and change the up value of every work offset "
                  "in use by what it lost. Raise it clear, close the guard, and let the program go on.</p>\n",
                  side->wheel->kind == TW_WHEEL_CUP ? ", and condition the rim as the job counts on" : "");
}

enum tw_status section_wheel(struct page *page)
{
    bool said = false;

    for (size_t i = 0; i < page->side_count; i++) {
        const struct sheet_side *side = &page->sides[i];

        if (!is_cup(side) || page_met_wheel_before(page, i))
            continue;
        write_rim(page, side);
        if (!said)
            write_looking(page, side);
        said = true;
        if (i == 0)
            write_conditioning(page, side);
    }
    write_losses(page);
    write_dressing(page);
    for (size_t i = 0; i < page->side_count; i++)
        write_stops(page, &page->sides[i]);
    return TW_OK;
}
