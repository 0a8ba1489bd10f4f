/* fixture_tables.c - what the stops do, how the plate is drilled, gauged and loaded, and what to beware of. */
#include "sheet/sheet.h"

#include "base/numbers.h"
#include "tangwright/rs274.h"

#include <math.h>
#include <stdlib.h>

#define DEGREE (TW_PI / 180.0)

static void item(struct page *page, const char *words)
{
    tw_text_print(&page->out, "<li>%s</li>\n", words);
}

static void number_cell(struct page *page, double value, int decimals)
{
    tw_text_print(&page->out, "<td>");
    sheet_number(&page->out, value, decimals);
    tw_text_print(&page->out, "</td>");
}

static void length_cell(struct page *page, double mm, enum sheet_precision precision)
{
    tw_text_print(&page->out, "<td>");
    sheet_length(&page->out, page->inch, mm, precision);
    tw_text_print(&page->out, "</td>");
}

/* "(12, -3) mm" */
static void write_point(struct page *page, double x_mm, double y_mm, int decimals)
{
    double unit_mm = page->inch ? TW_MM_PER_INCH : 1.0;

    tw_text_print(&page->out, "(");
    sheet_number(&page->out, x_mm / unit_mm, decimals);
    tw_text_print(&page->out, ", ");
    sheet_number(&page->out, y_mm / unit_mm, decimals);
    tw_text_print(&page->out, page->inch ? ") in" : ") mm");
}

/* ---- cautions ---- */

enum tw_status section_fixture_cautions(struct page *page)
{
    const struct tw_fixture_design *design = page->design;

    tw_text_print(&page->out, "<ul class=\"cautions\">\n");
    tw_text_print(&page->out, "<li><strong>Wheel against stop.</strong> The wheel passes over the stops with only ");
    sheet_length(&page->out, page->inch, design->clearance_mm, SHEET_GAUGE);
    tw_text_print(&page->out,
                  " to spare. Gauge every stop\u2019s height before the first run, run the raised programs first, "
                  "and plan anew when a dowel is changed.</li>\n");
    item(page,
         "<strong>Stops that stand proud.</strong> A dowel that has crept up is struck by the wheel, and a wheel "
         "can burst. Press dowels against the bottom of their holes, and look again when the part is turned over.");
    item(page, "<strong>Only the stops of the side that is up.</strong> The other side\u2019s stops stand where the "
               "blank comes to lie. Take them out, and change rest A for rest B, before the blank is turned over.");
    if (page->job->fixture.pull_N_per_mm2 > 0.0) {
        item(page,
             "<strong>Magnet.</strong> It pinches, and pulls blades and dowels to itself: switch it off to load, keep "
             "fingers from under the blank, and mind pacemakers.");
        item(page,
             "<strong>Magnet and plate.</strong> The plate is of brass or aluminium, so that the flux goes through the "
             "solid steel of pad and rests, which stand in its windows on the magnet itself, across its poles. A steel "
             "plate would carry the flux past the blank.");
    }
    item(page, "<strong>Chips under the blank.</strong> Wipe pad, rest and stops before each part. Grit under the "
               "ricasso tilts all that is ground.");
    item(page, "<strong>A stop only pushes.</strong> Nothing holds the blank against its stops once the hand is gone "
               "but friction: hold it there until it is held, then try with a finger whether it moves.");
    if (tw_fixture_band_lifts(design)) {
        tw_text_print(&page->out, "<li><strong>Thinner and thicker blanks.</strong> A blank that is ");
        sheet_length(&page->out, page->inch, page->job->taper.band_mm, SHEET_GAUGE);
        tw_text_print(
            &page->out,
            " thinner than stated bears on rest B and its ricasso stands so far clear of the pad; a thicker one rests "
            "on the pad and clears rest B by as much. Sort the blanks by the micrometer, or write height_zero = "
            "\"ricasso\" in the job: then every blank fits.</li>\n");
    }
    if (tw_fixture_blade_hangs(design)) {
        tw_text_print(&page->out,
                      "<li><strong>Nothing carries the blade under the clamp.</strong> No support fits there "
                      "with either side up. Set a block of your own under it before the clamp is drawn up, its "
                      "top level with the pad, ");
        sheet_length(&page->out, page->inch, design->pad_height_mm, SHEET_BLOCKS);
        tw_text_print(&page->out,
                      " over the plate, and list it in fixture.cfg as a pad. Without it the clamp bends the "
                      "blade down to the plate and lifts the tang off its rest: what is ground is crooked, and "
                      "the part is not held as plan counts it.</li>\n");
    }
    if (design->known_from_mm > -HUGE_VAL)
        item(page, "<strong>The blade is not drawn.</strong> See for yourself that it lies clear of all that stands "
                   "ahead of the taper start, with either side up, and carry it under its weight.");
    tw_text_print(&page->out, "</ul>\n");
    return TW_OK;
}

/* ---- the stops ---- */

static void stop_row(struct page *page, int i)
{
    const struct tw_fixture_design *design = page->design;
    const struct tw_stop *stop = &design->stops[i];
    double out = page->inch ? 0.01 : 0.1; /* in the unit of the shop */
    int decimals = page->inch ? 4 : 3;

    tw_text_print(&page->out, "<tr><th scope=\"row\">%s</th>", tw_stop_name(i));
    length_cell(page, stop->top_mm, SHEET_GAUGE);
    length_cell(page, stop->grip_mm, SHEET_GAUGE);
    number_cell(page, -out * design->seating.moves[0][i], decimals);
    number_cell(page, -out * design->seating.moves[1][i], decimals);
    number_cell(page, out * (page->inch ? TW_MM_PER_INCH : 1.0) * design->seating.moves[2][i] / DEGREE, 3);
    length_cell(page, stop->may_be_off_mm, SHEET_GAUGE);
    number_cell(page, 100.0 * design->seating.share[i], 0);
    tw_text_print(&page->out, "</tr>\n");
}

static void sparks(struct page *page)
{
    if (page->job->wheel.kind == TW_WHEEL_DISC)
        tw_text_print(
            &page->out,
            "<p>A disc drives the part the way its sparks fly. If they fly towards the butt, the end stop "
            "takes it%s\n",
            page->design->has_catch
                ? "; if towards the tip, the catch pin stands there, a little off so that it locates nothing.</p>"
                : "; if towards the ricasso, set a block against the blade\u2019s front end, which is not drawn.</p>");
    else
        tw_text_print(&page->out,
                      "<p>A cup drives the part this way and that, across as much as along: the end stop holds one "
                      "way only%s\n",
                      page->design->has_catch
                          ? ", and the catch pin at the tip, a little off so that it locates nothing, catches it the "
                            "other way.</p>"
                          : ". Set a block against the blade\u2019s front end, which is not drawn.</p>");
}

static void hold_line(struct page *page, int side)
{
    const struct tw_fixture_design *design = page->design;
    const struct tw_holding *holding = &design->holding[side];
    double unit_mm2 = page->inch ? TW_MM_PER_INCH * TW_MM_PER_INCH : 100.0;

    tw_text_print(&page->out,
                  "<p>Side %s up: %.*f %s touch; that holds %.0f\u00a0N <small>%.1f\u00a0lbf</small> %s, safety "
                  "included.</p>\n",
                  side == 0 ? "A" : "B", page->inch ? 2 : 1, holding->touching_mm2 / unit_mm2,
                  page->inch ? "in\u00b2" : "cm\u00b2", holding->force_N, holding->force_N / TW_N_PER_LBF,
                  holding->turns ? "across at the butt end, where a push turns the part" : "sideways");
    if (design->free_end[side].length_mm > 0.0)
        tw_text_print(
            &page->out,
            "<p>Side %s up: the last %.*f %s of the tang hang free behind the rest; 1\u00a0N there bends them by "
            "%.2g\u00a0\u00b5m, the machine by %.2g\u00a0\u00b5m.%s</p>\n",
            side == 0 ? "A" : "B", page->inch ? 2 : 1,
            design->free_end[side].length_mm / (page->inch ? TW_MM_PER_INCH : 1.0), page->inch ? "in" : "mm",
            design->free_end[side].mm_per_N * 1e3, 1e3 / design->job->machine.stiffness_N_per_mm,
            tw_fixture_is_firm(design) ? "" : " <strong>Stand a block under them too.</strong>");
}

enum tw_status section_fixture_seating(struct page *page)
{
    const struct tw_fixture_design *design = page->design;
    const struct tw_seating *seating = &design->seating;

    tw_text_print(&page->out, "<p>Two dowels at the straighter long edge, one at the butt, ");
    sheet_length(&page->out, page->inch, design->dowel_mm, SHEET_GAUGE);
    tw_text_print(&page->out, " thick. Push at ");
    write_point(page, seating->push_at.x_mm, seating->push_at.y_mm, page->inch ? 1 : 0);
    tw_text_print(&page->out,
                  ", towards %.0f\u00b0 from +x, side A up; with side B up y and angle have the other sign. Then all "
                  "three answer, "
                  "and the blank can neither turn nor slip.</p>\n",
                  atan2(seating->push_way.y_mm, seating->push_way.x_mm) / DEGREE);
    tw_text_print(
        &page->out,
        "<div class=\"scroll\"><table><thead><tr><th scope=\"col\">stop</th><th scope=\"col\">top over the pad</th>"
        "<th scope=\"col\">bears on</th><th scope=\"col\">%s out moves the taper start along, %s</th><th "
        "scope=\"col\">across, %s</th><th scope=\"col\">and turns it, deg</th><th scope=\"col\">may be off</th><th "
        "scope=\"col\">answers, %%</th></tr></thead><tbody>\n",
        page->inch ? "0.01 in" : "0.1 mm", page->inch ? "in" : "mm", page->inch ? "in" : "mm");
    for (int i = 0; i < TW_STOP_COUNT; i++)
        stop_row(page, i);
    tw_text_print(&page->out,
                  "</tbody></table></div>\n<p>\u201cMay be off\u201d: alone, along its edge\u2019s normal, before the "
                  "taper start leaves its place by ");
    sheet_length(&page->out, page->inch, page->job->plate.start_mm, SHEET_GAUGE);
    tw_text_print(&page->out, " or its line by %.3g\u00b0.</p>\n", page->job->plate.angle_rad / DEGREE);
    for (int side = 0; side < 2; side++)
        hold_line(page, side);
    sparks(page);
    return TW_OK;
}

/* ---- stations ---- */

/* The stop side is reached over last, so nobody reaches over a blade that lies there. */
static void loading(struct page *page)
{
    const struct tw_fixture_design *design = page->design;

    tw_text_print(&page->out,
                  "<p>Load from the far side of the table to the near one, so that no hand passes over a blade that "
                  "lies there: ");
    for (int i = 0; i < design->station_count; i++) {
        bool far_first = page->job->machine.across.sign > 0;
        int station = far_first ? design->station_count - 1 - i : i;

        tw_text_print(&page->out, "%s%s", i ? ", " : "", tw_rs274_system_name(design->stations[station].work_offset));
    }
    tw_text_print(&page->out, ". Unload the other way round. The program grinds from %s on.</p>\n",
                  tw_rs274_system_name(design->stations[0].work_offset));
}

enum tw_status section_fixture_stations(struct page *page)
{
    const struct tw_fixture_design *design = page->design;

    tw_text_print(&page->out, "<p>%d of at most %d, ", design->station_count, design->station_most);
    sheet_length(&page->out, page->inch, design->pitch_mm, SHEET_GAUGE);
    tw_text_print(&page->out,
                  " apart.</p>\n<table><thead><tr><th scope=\"col\">offset</th><th scope=\"col\">from the first "
                  "zero: x</th><th scope=\"col\">y</th></tr></thead><tbody>\n");
    for (int i = 0; i < design->station_count; i++) {
        struct tw_point at = tw_fixture_station_at(design, i);

        tw_text_print(&page->out, "<tr><th scope=\"row\">%s</th>",
                      tw_rs274_system_name(design->stations[i].work_offset));
        length_cell(page, at.x_mm, SHEET_BLOCKS);
        length_cell(page, at.y_mm, SHEET_BLOCKS);
        tw_text_print(&page->out, "</tr>\n");
    }
    tw_text_print(&page->out, "</tbody></table>\n");
    if (design->station_count > 1)
        loading(page);
    return TW_OK;
}

/* ---- holes ---- */

static void window_cell(struct page *page, const struct tw_feature *feature)
{
    tw_text_print(&page->out, "<td>window ");
    sheet_length(&page->out, page->inch, feature->wide_x_mm, SHEET_GAUGE);
    tw_text_print(&page->out, " by ");
    sheet_length(&page->out, page->inch, feature->wide_y_mm, SHEET_GAUGE);
    tw_text_print(&page->out, "</td>");
}

static void hole_cell(struct page *page, const struct tw_feature *feature, const char *kind)
{
    tw_text_print(&page->out, "<td>");
    sheet_length(&page->out, page->inch, feature->diameter_mm, SHEET_GAUGE);
    tw_text_print(&page->out, ", %s", kind);
    if (feature->deep_mm > 0.0) {
        tw_text_print(&page->out, ", ");
        sheet_length(&page->out, page->inch, feature->deep_mm, SHEET_GAUGE);
        tw_text_print(&page->out, " deep");
    }
    tw_text_print(&page->out, "</td>");
}

static void hole_row(struct page *page, const struct tw_feature *feature, size_t number)
{
    tw_text_print(&page->out, "<tr><th scope=\"row\">%zu</th><td>%d</td><td>%s</td>", number, feature->station + 1,
                  feature->name);
    length_cell(page, feature->at.x_mm, SHEET_BLOCKS);
    length_cell(page, feature->at.y_mm, SHEET_BLOCKS);
    if (feature->kind == TW_FEATURE_WINDOW)
        window_cell(page, feature);
    else
        hole_cell(page, feature,
                  feature->kind == TW_FEATURE_DOWEL    ? "reamed H7"
                  : feature->kind == TW_FEATURE_THREAD ? "thread M5"
                                                       : "through, M5 from below");
    tw_text_print(&page->out, "</tr>\n");
}

/* What the plate has no place for. */
static void own_block_row(struct page *page)
{
    const struct tw_fixture_design *design = page->design;

    tw_text_print(&page->out, "<tr><th scope=\"row\">\u2013</th><td>each</td><td>under the clamp</td>");
    length_cell(page, (design->clamp.x0_mm + design->clamp.x1_mm) / 2.0, SHEET_BLOCKS);
    tw_text_print(&page->out, "<td>where the blade lies</td><td>no hole: a block of yours carries the blade, ");
    sheet_length(&page->out, page->inch, design->pad_height_mm, SHEET_BLOCKS);
    tw_text_print(&page->out, " over the plate</td></tr>\n");
}

static enum tw_status write_beyond(struct page *page)
{
    char *beyond;
    enum tw_status status = tw_fixture_beyond(page->design, &beyond, page->findings);

    if (beyond) {
        tw_text_print(&page->out, "<p><strong>Out of reach:</strong> ");
        sheet_escape(&page->out, beyond);
        tw_text_print(&page->out,
                      ". Drill these with the plate moved, set up anew by its corner or by two holes that are "
                      "there already.</p>\n");
        free(beyond);
    }
    return status;
}

enum tw_status section_fixture_holes(struct page *page)
{
    const struct tw_fixture_design *design = page->design;
    struct tw_feature *features;
    size_t count;
    enum tw_status status = tw_fixture_features(design, &features, &count, page->findings);

    if (status != TW_OK)
        return status;
    tw_text_print(
        &page->out,
        "<p>From the zero of the first station, x towards the butt, y across as with side A up. %s The plate\u2019s "
        "corner lies at ",
        page->job->machine.spindle == TW_SPINDLE_VERTICAL
            ? "Drilled on the same mill under its own work offset, the zero is right by itself."
            : "This machine\u2019s spindle lies level and drills no plate: drill it on a mill, from the corner, and "
              "measure "
              "each station\u2019s zero once the plate lies on this machine.");
    write_point(page, design->plate.x0_mm, design->plate.y0_mm, page->inch ? 4 : 3);
    tw_text_print(&page->out, ".</p>\n");
    status = write_beyond(page);
    tw_text_print(
        &page->out,
        "<div class=\"scroll\"><table><thead><tr><th scope=\"col\">no.</th><th scope=\"col\">station</th>"
        "<th scope=\"col\">what</th><th scope=\"col\">x</th><th scope=\"col\">y</th><th scope=\"col\">hole</th>"
        "</tr></thead><tbody>\n");
    for (size_t i = 0; i < count; i++)
        hole_row(page, &features[i], i + 1);
    if (tw_fixture_blade_hangs(design))
        own_block_row(page);
    tw_text_print(&page->out, "</tbody></table></div>\n");
    free(features);
    return status;
}

/* ---- gauge ---- */

static void over_dowels(struct page *page, int one, int other, bool twins, const char *side)
{
    const struct tw_fixture_design *design = page->design;
    struct tw_point a = design->stops[one].centre, b = design->stops[other].centre;
    double sign = twins ? -1.0 : 1.0;

    tw_text_print(&page->out, "<tr><th scope=\"row\">%s, over %s and %s</th>", side, tw_stop_name(one),
                  tw_stop_name(other));
    length_cell(page, hypot(a.x_mm - b.x_mm, sign * (a.y_mm - b.y_mm)) + design->dowel_mm, SHEET_GAUGE);
    tw_text_print(&page->out, "<td class=\"pen\"></td></tr>\n");
}

static void height_row(struct page *page, const char *what, double x_mm, double z_mm)
{
    tw_text_print(&page->out, "<tr><th scope=\"row\">%s, x ", what);
    sheet_length_short(&page->out, page->inch, x_mm, SHEET_RULE);
    tw_text_print(&page->out, "</th>");
    length_cell(page, z_mm, SHEET_BLOCKS);
    tw_text_print(&page->out, "<td class=\"pen\"></td></tr>\n");
}

enum tw_status section_fixture_gauge(struct page *page)
{
    const struct tw_fixture_design *design = page->design;
    struct tw_rect rest = design->rest;

    tw_text_print(
        &page->out,
        "<p>Measure over two dowels with the calliper; heights with the indicator, set to nought on the pad. Every "
        "station.</p>\n<table class=\"gauge\"><thead><tr><th scope=\"col\">what</th><th scope=\"col\">should "
        "be</th><th scope=\"col\">is</th></tr></thead><tbody>\n");
    for (int twins = 0; twins < 2; twins++) {
        const char *side = twins ? "side B" : "side A";

        over_dowels(page, TW_STOP_REAR, TW_STOP_FRONT, twins, side);
        over_dowels(page, TW_STOP_REAR, TW_STOP_END, twins, side);
        over_dowels(page, TW_STOP_FRONT, TW_STOP_END, twins, side);
    }
    for (int i = 0; i < TW_STOP_COUNT; i++)
        height_row(page, tw_stop_name(i), design->stops[i].centre.x_mm, design->stops[i].top_mm);
    height_row(page, "rest A, front", rest.x0_mm, 0.0);
    height_row(page, "rest A, rear", rest.x1_mm, 0.0);
    height_row(page, "rest B, front", rest.x0_mm, tw_fixture_rest_mm(design, TW_SIDE_B, rest.x0_mm));
    height_row(page, "rest B, rear", rest.x1_mm, tw_fixture_rest_mm(design, TW_SIDE_B, rest.x1_mm));
    tw_text_print(
        &page->out,
        "</tbody></table>\n<p>Rest B is ground in its place by rest-b/side-a.%s; before it the same is run in the "
        "air, rest-b/air-side-a.%s. <strong>Its zero is not the tang\u2019s.</strong> It lies at the bar\u2019s thick "
        "end, at the "
        "tang\u2019s x\u00a0",
        page->job->machine.dialect.file_ending, page->job->machine.dialect.file_ending);
    sheet_length(&page->out, page->inch, rest.x1_mm, SHEET_BLOCKS);
    tw_text_print(&page->out, ": move each station\u2019s work offset (%s%s) along by %c\u00a0%s",
                  tw_rs274_system_name(design->stations[0].work_offset), design->station_count > 1 ? " and so on" : "",
                  page->job->machine.along.letter, tw_fixture_zero_moves_mm(design) > 0.0 ? "+" : "");
    sheet_length(&page->out, page->inch, tw_fixture_zero_moves_mm(design), SHEET_BLOCKS);
    tw_text_print(
        &page->out,
        "; across it stays.%s Touch off first, with that offset: the rear edge of the pad\u2019s face reads "
        "%c\u00a0",
        page->job->mount == TW_MOUNT_TILTED
            ? " For rest B, and only for it, the stack goes under the plate\u2019s other end before that; without "
              "a sine plate the two wedges of the wedge/ job do."
            : "",
        page->job->machine.up.letter);
    sheet_length(&page->out, page->inch, tw_fixture_touch_mm(design), SHEET_BLOCKS);
    tw_text_print(
        &page->out,
        ". Then pad, stops and clamps come out. When the bar is ground move the offsets back, and touch off anew for "
        "the tang.%s</p>\n",
        design->job->fixture.pull_N_per_mm2 > 0.0 && tw_bar_is_screwed(design, TW_BAR_REST_B)
            ? " The magnet alone does not hold so small a bar: two screws M5 through the plate press it against the "
              "side of its window."
            : "");
    return TW_OK;
}
