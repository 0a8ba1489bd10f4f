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

/* The band of a pass as deep as the deepest roughing layer. */
static double deepest_mm(const struct sheet_side *side)
{
    double depth_mm = 0.0;

    for (size_t i = 0; i < side->setup->layer_count; i++)
        depth_mm = fmax(depth_mm, side->setup->layers[i].depth_mm);
    return depth_mm;
}

static double band_mm(const struct page *page, const struct sheet_side *side)
{
    return tw_cup_contact_mm(side->wheel, tw_plan_lean(page->job, side->setup), deepest_mm(side));
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
    write_rim_row(page, "Deepest pass", deepest_mm(side), SHEET_BLOCKS);
    write_rim_row(page, "Band that cuts in it", band_mm(page, side), SHEET_GAUGE);
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
    sheet_length(&page->out, page->inch, fmin(CONDITIONING_MM, deepest_mm(side)), SHEET_BLOCKS);
    tw_text_print(&page->out,
                  " over scrap of the same hardness, as wide as the tang, %s, coolant on.</li>\n"
                  "<li>Stop the spindle. Where the colour is gone is the band that cuts: measure it with a lens at "
                  "four places.</li>\n",
                  page->job->mount == TW_MOUNT_LEVEL ? "lying as the tang will" : "lying level");
    if (side->wheel->rim_state == TW_RIM_WORN_IN) {
        tw_text_print(&page->out, "<li>It must be at least <strong>");
        sheet_length(&page->out, page->inch, band_mm(page, side), SHEET_GAUGE);
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
                  "<li>Clamp scrap of the same hardness; touch off; coolant on. Take passes of ",
                  page->job->machine.head_tilt_rad > 0.0
                      ? "Set the head to its tilt, the side towards the taper start lower."
                      : "Square the head: an indicator swung round on the spindle reads alike on the table all round.");
    sheet_length(&page->out, page->inch, fmin(CONDITIONING_MM, deepest_mm(side)), SHEET_BLOCKS);
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

enum tw_status section_wheel(struct page *page)
{
    const struct tw_wheel *said = NULL;

    for (size_t i = 0; i < page->side_count; i++) {
        const struct sheet_side *side = &page->sides[i];

        if (!is_cup(side) || side->wheel == said)
            continue;
        write_rim(page, side);
        if (!said)
            write_looking(page, side);
        said = side->wheel;
        if (i == 0)
            write_conditioning(page, side);
    }
    return TW_OK;
}
