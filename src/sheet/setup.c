/* setup.c - what a person does at the machine: wheel and zero, packing and tilt, the steps. */
#include "sheet/sheet.h"

#include "base/numbers.h"
#include "tangwright/assess.h"
#include "tangwright/packing.h"
#include "tangwright/program.h"
#include "tangwright/rs274.h"

#include <math.h>
#include <stdio.h>

/* ---- wheel, machine, zero ---- */

/* "spindle_rpm" of the summary, or of one of its setups. */
static void wheel_key(char out[48], const struct page *page, const struct sheet_side *side, const char *name)
{
    if (side->wheel == &page->job->wheel)
        snprintf(out, 48, "%s", name);
    else
        snprintf(out, 48, "setups.%zu.%s", (size_t)(side - page->sides), name);
}

static void write_speeds(struct page *page, const struct sheet_side *side)
{
    char key[48];

    tw_text_print(&page->out, "</td></tr>\n<tr><th scope=\"row\">Spindle</th><td>");
    wheel_key(key, page, side, "spindle_rpm");
    sheet_value_open(&page->out, key, side->setup->spindle_rpm);
    tw_text_print(&page->out, "%.0f\u00a0rpm, %s", side->setup->spindle_rpm,
                  page->job->machine.spindle_counterclockwise ? "counterclockwise" : "clockwise");
    sheet_value_close(&page->out);
    tw_text_print(&page->out, "</td></tr>\n<tr><th scope=\"row\">Surface speed</th><td>");
    wheel_key(key, page, side, "wheel_m_per_s");
    sheet_value_open(&page->out, key, side->setup->wheel_mm_per_s / 1000.0);
    tw_text_print(&page->out, "%.1f\u00a0m/s <small>%.0f\u00a0ft/min</small>", side->setup->wheel_mm_per_s / 1000.0,
                  side->setup->wheel_mm_per_s * 60.0 / 304.8);
    sheet_value_close(&page->out);
    tw_text_print(&page->out,
                  "</td></tr>\n<tr><th scope=\"row\">Operating speed, profile</th><td>%.1f\u00a0m/s "
                  "<small>%.0f\u00a0ft/min</small></td></tr>\n",
                  side->wheel->operating_speed_mm_per_s / 1000.0, side->wheel->operating_speed_mm_per_s * 60.0 / 304.8);
}

static void write_wheel(struct page *page, const struct sheet_side *side)
{
    const struct tw_wheel *wheel = side->wheel;

    tw_text_print(&page->out,
                  "<table class=\"pairs\"><caption>%s</caption><tbody>\n<tr><th scope=\"row\">Kind</th><td>",
                  wheel == &page->job->wheel ? "Wheel" : "Wheel for the relief");
    sheet_escape(&page->out, wheel->name);
    tw_text_print(&page->out, "</td></tr>\n<tr><th scope=\"row\">Diameter planned with</th><td>");
    sheet_length(&page->out, page->inch, wheel->diameter_mm, SHEET_RULE);
    tw_text_print(&page->out, "</td></tr>\n<tr><th scope=\"row\">%s</th><td>",
                  wheel->kind == TW_WHEEL_CUP ? "Rim width" : "Width");
    sheet_length(&page->out, page->inch, wheel->kind == TW_WHEEL_CUP ? wheel->rim_width_mm : wheel->width_mm,
                 SHEET_RULE);
    write_speeds(page, side);
    tw_text_print(&page->out,
                  "<tr><th scope=\"row\">Speed marked on it</th><td class=\"pen\"></td></tr>\n"
                  "<tr><th scope=\"row\">Dressed on</th><td class=\"pen\"></td></tr>\n"
                  "<tr><th scope=\"row\">Diameter after dressing</th><td class=\"pen\"></td></tr>\n</tbody></table>\n");
}

const struct sheet_side *page_other_wheel(const struct page *page)
{
    for (size_t i = 0; i < page->side_count; i++)
        if (page->sides[i].wheel != page->sides[0].wheel)
            return &page->sides[i];
    return NULL;
}

static void write_axis(struct page *page, const char *direction, const struct tw_axis *axis, double machine_mm)
{
    tw_text_print(&page->out, "<td data-label=\"%s\">%c\u00a0", direction, axis->letter);
    sheet_length_short(&page->out, page->inch, machine_mm, SHEET_RULE);
    tw_text_print(&page->out, "</td>");
}

/* Where the spine lies when that side is up, or, where the drawing does not tell it from the edge, the drawing's own y. */
static void write_across(struct page *page, enum tw_side up)
{
    const struct tw_placement *placement = &page->job->placement;
    const struct tw_axis *across = &page->job->machine.across;
    int side = placement->spine < 0 ? -1 : 1, way = across->sign * side * (up == TW_SIDE_A ? 1 : -1);

    if (placement->spine == 0)
        tw_text_print(&page->out, "the drawing\u2019s %s", tw_placement_drawing_axis(placement, side));
    else
        tw_text_print(&page->out, "the spine");
    tw_text_print(&page->out, " lies towards %c%c", way < 0 ? '-' : '+', across->letter);
}

static const char *programmed_point(const struct tw_wheel *wheel)
{
    return wheel->kind == TW_WHEEL_CUP ? "the centre of the rim\u2019s face"
                                       : "the wheel\u2019s lowest point at mid-width";
}

static void write_programmed_point(struct page *page)
{
    const struct sheet_side *other = page_other_wheel(page);

    tw_text_print(&page->out, "The programmed point is %s; touch it off there.",
                  programmed_point(page->sides[0].wheel));
    if (!other)
        return;
    tw_text_print(&page->out, " Of the other wheel (");
    sheet_escape(&page->out, other->wheel->name);
    tw_text_print(&page->out, ") it is %s: touch off anew after each change of wheels.",
                  programmed_point(other->wheel));
}

static void write_zero(struct page *page)
{
    const struct tw_machine *machine = &page->job->machine;
    bool on_pad = page->job->taper.zero == TW_ZERO_PAD;

    tw_text_print(
        &page->out,
        "<table class=\"flow\"><caption>Zero of each part: %s, at the taper start, on the taper axis. Profile\u2019s "
        "machine coordinates%s; find your own.</caption>\n<thead><tr><th scope=\"col\">Part</th>"
        "<th scope=\"col\">Offset</th><th scope=\"col\">Along</th><th scope=\"col\">Across</th><th "
        "scope=\"col\">Up</th><th scope=\"col\">Found</th></tr></thead><tbody>\n",
        on_pad ? "on the datum pad\u2019s plane" : "on the ricasso\u2019s upper face",
        on_pad ? "" : ", up those of the datum pad");
    for (int i = 0; i < page->job->parts; i++) {
        const struct tw_station *station = &page->job->fixture.stations[i];

        tw_text_print(&page->out, "<tr><th scope=\"row\">%d</th><td data-label=\"offset\">%s</td>", i + 1,
                      tw_rs274_system_name(station->work_offset));
        write_axis(page, "along", &machine->along, station->along_mm);
        write_axis(page, "across", &machine->across, station->across_mm);
        write_axis(page, "up", &machine->up, station->up_mm);
        tw_text_print(&page->out, "<td class=\"pen\" data-label=\"found\"></td></tr>\n");
    }
    tw_text_print(&page->out, "</tbody></table>\n<p>Towards the butt is %c%c, up is %c%c. With side A up ",
                  machine->along.sign < 0 ? '-' : '+', machine->along.letter, machine->up.sign < 0 ? '-' : '+',
                  machine->up.letter);
    write_across(page, TW_SIDE_A);
    tw_text_print(&page->out, ". ");
    write_programmed_point(page);
    tw_text_print(&page->out, "</p>\n");
}

static const char *program_name(const struct sheet_side *side)
{
    return side->card->text ? side->card->name : side->setup->file_name;
}

static const char *air_name(const struct sheet_side *side)
{
    return side->setup->air_file_name;
}

static void write_air_name(struct page *page, const struct sheet_side *side)
{
    if (page->sheet->air)
        tw_text_print(&page->out, "<br/><small>in the air: <code>%s</code></small>", air_name(side));
}

static void write_file(struct page *page, const struct sheet_side *side, bool names_wheel)
{
    double height_mm = side->setup->face.height_mm - side->setup->face.zero_mm; /* as the program counts */

    tw_text_print(&page->out, "<tr><th scope=\"row\">%s</th><td data-label=\"file\"><code>", side->name);
    sheet_file_name(&page->out, program_name(side));
    tw_text_print(&page->out, "</code>");
    write_air_name(page, side);
    tw_text_print(&page->out,
                  "</td><td data-label=\"height at the taper start\"><data data-key=\"setups.%zu.finish_height_mm\" "
                  "value=\"%.9g\">",
                  (size_t)(side - page->sides), height_mm);
    sheet_length(&page->out, page->inch, height_mm, SHEET_BLOCKS);
    tw_text_print(&page->out, "</data></td>");
    if (names_wheel) {
        tw_text_print(&page->out, "<td data-label=\"wheel\">");
        sheet_escape(&page->out, side->wheel->name);
        tw_text_print(&page->out, "</td>");
    }
    tw_text_print(&page->out, "</tr>\n");
}

static void write_files(struct page *page)
{
    bool names_wheel = page_other_wheel(page) != NULL;

    tw_text_print(
        &page->out,
        "<table class=\"flow\"><caption>Programs</caption><thead><tr><th scope=\"col\">Side</th><th "
        "scope=\"col\">File</th><th scope=\"col\">Finished height at the taper start</th>%s</tr></thead><tbody>\n",
        names_wheel ? "<th scope=\"col\">Wheel</th>" : "");
    for (size_t i = 0; i < page->side_count; i++)
        write_file(page, &page->sides[i], names_wheel);
    tw_text_print(&page->out, "</tbody></table>\n");
}

enum tw_status section_tools(struct page *page)
{
    tw_text_print(&page->out, "<div class=\"columns\">\n<div>\n");
    write_wheel(page, &page->sides[0]);
    if (page_other_wheel(page))
        write_wheel(page, page_other_wheel(page));
    tw_text_print(&page->out, "</div>\n<div>\n");
    write_files(page);
    write_zero(page);
    tw_text_print(&page->out, "</div>\n</div>\n");
    return TW_OK;
}

/* ---- steps ---- */

struct steps {
    struct page *page;
    int count;
};

static void step_open(struct steps *steps)
{
    steps->count++;
    tw_text_print(&steps->page->out, "<li><input type=\"checkbox\" id=\"step-%d\"/><label for=\"step-%d\">",
                  steps->count, steps->count);
}

static void step_close(struct steps *steps)
{
    tw_text_print(&steps->page->out, "</label></li>\n");
}

static void step(struct steps *steps, const char *words)
{
    step_open(steps);
    tw_text_print(&steps->page->out, "%s", words);
    step_close(steps);
}

/* The blanks that the programs are for. */
static void step_measure(struct steps *steps)
{
    struct page *page = steps->page;
    const struct tw_taper *taper = &page->job->taper;

    step_open(steps);
    tw_text_print(&page->out, "Measure the blank at the ricasso and write it into the gauge sheet; it must be ");
    if (taper->band_mm > 0.0) {
        tw_text_print(&page->out, "<strong>");
        sheet_length(&page->out, page->inch, taper->ricasso_mm - taper->band_mm, SHEET_GAUGE);
        tw_text_print(&page->out, " to ");
        sheet_length(&page->out, page->inch, taper->ricasso_mm + taper->band_mm, SHEET_GAUGE);
        tw_text_print(&page->out, "</strong>");
    } else {
        tw_text_print(&page->out, "the one that this sheet was made for: ");
        sheet_length(&page->out, page->inch, taper->ricasso_mm, SHEET_GAUGE);
    }
    tw_text_print(&page->out, ". Any other: do not grind it with these programs, write its thickness into the job and "
                              "plan again.");
    step_close(steps);
}

static void step_zero(struct steps *steps)
{
    struct page *page = steps->page;
    const struct tw_machine *machine = &page->job->machine;

    step_open(steps);
    tw_text_print(&page->out, "Set the zero of each part.");
    if (page->job->taper.zero == TW_ZERO_RICASSO)
        tw_text_print(&page->out, " Up is touched off later, on every blank as it lies: %c on the ricasso\u2019s face.",
                      machine->up.letter);
    step_close(steps);
}

/* Every blank, each side anew; a face that lies tilted is as high as the program counts only over the taper start. */
static void step_touch_off(struct steps *steps, const struct sheet_side *side)
{
    struct page *page = steps->page;
    const struct tw_machine *machine = &page->job->machine;

    if (page->job->taper.zero != TW_ZERO_RICASSO)
        return;
    step_open(steps);
    tw_text_print(&page->out, "Touch off %c\u00a00 on the upper face of %s ricasso, at %c\u00a0", machine->up.letter,
                  page->job->parts > 1 ? "every part\u2019s" : "the", machine->along.letter);
    sheet_length(&page->out, page->inch, machine->along.sign * side->setup->face.start_mm, SHEET_GAUGE);
    tw_text_print(&page->out, ": there the taper starts.");
    step_close(steps);
}

static void step_tilt(struct steps *steps, const struct sheet_side *side)
{
    struct page *page = steps->page;
    double bar_mm = page->job->fixture.sine_bar_mm;

    step_open(steps);
    tw_text_print(&page->out, "Raise the butt end by <strong>");
    sheet_length(&page->out, page->inch, tw_face_rise_mm(&side->setup->face, bar_mm), SHEET_BLOCKS);
    tw_text_print(&page->out, "</strong> in ");
    sheet_length_short(&page->out, page->inch, bar_mm, SHEET_RULE);
    tw_text_print(&page->out, " between the rolls; lock the plate, and check it with an indicator.");
    step_close(steps);
}

#define SHOWS_STEPS 3.0 /* of the indicator: a smaller height tells nobody anything */

/* Where the surveyed blank stands farthest from its ricasso. */
static const struct tw_gauge_point *most_bowed(const struct tw_straight *straight, enum tw_side side, double ricasso_mm)
{
    const struct tw_gauge_point *most = NULL;

    for (size_t i = 0; i < straight->gauge_count; i++) {
        const struct tw_gauge_point *gauge = &straight->gauges[i];

        if (gauge->x_mm > 0.0 &&
            (!most || fabs(gauge->height_mm[side] - ricasso_mm / 2.0) > fabs(most->height_mm[side] - ricasso_mm / 2.0)))
            most = gauge;
    }
    return most;
}

/* A survey cannot tell that its columns are those of the other side, or that this is another blank: the indicator can. */
static void step_know_again(struct steps *steps, enum tw_side side)
{
    struct page *page = steps->page;
    const struct tw_job *job = page->job;
    double ricasso_mm =
        job->straight && job->survey.thickness_known ? job->straight->ricasso_mm : job->taper.ricasso_mm;
    const struct tw_gauge_point *at = job->straight ? most_bowed(job->straight, side, ricasso_mm) : NULL;
    double over_mm = at ? at->height_mm[side] - ricasso_mm / 2.0 : 0.0;

    if (fabs(over_mm) < SHOWS_STEPS * job->survey.resolution_mm || !at)
        return;
    step_open(steps);
    tw_text_print(&page->out,
                  "Know the blank again, for the program is for this one as surveyed: ricasso flat on a parallel, "
                  "<strong>side %s up</strong>, indicator at zero on the ricasso. ",
                  tw_side_letter(side));
    sheet_length_short(&page->out, page->inch, at->x_mm, SHEET_RULE);
    tw_text_print(&page->out, " behind the taper start it must read <strong>");
    sheet_length(&page->out, page->inch, fabs(over_mm), SHEET_GAUGE);
    tw_text_print(&page->out,
                  " %s</strong>. If it does not, it is another blank, or the sides are mixed up: do not grind.",
                  over_mm > 0.0 ? "higher" : "lower");
    step_close(steps);
}

static enum tw_status step_lay(struct steps *steps, enum tw_side side)
{
    struct page *page = steps->page;
    enum tw_status status;

    step_open(steps);
    tw_text_print(&page->out,
                  "Lay %s in, <strong>side %s up</strong>, ricasso on the datum pad, butt towards %c%c, the taper "
                  "start at the zero. ",
                  page->job->parts > 1 ? "the parts" : "the part", tw_side_letter(side),
                  page->job->machine.along.sign < 0 ? '-' : '+', page->job->machine.along.letter);
    if (side == TW_SIDE_A)
        tw_text_print(&page->out, "It must lie without rocking: pack a bowed blank as it lies, never pull it flat. ");
    else
        tw_text_print(&page->out, "It is rolled over about its length. ");
    tw_text_print(&page->out, "Now ");
    write_across(page, side);
    tw_text_print(&page->out, ".");
    status = sheet_write_stops(page, side);
    step_close(steps);
    return status;
}

/* What it must be made of. */
static void write_packing_rule(struct page *page, const struct sheet_side *side)
{
    const struct tw_fixture *fixture = &page->job->fixture;
    const struct tw_holding *holding = &side->setup->holding;

    if (holding->rests)
        tw_text_print(&page->out, "The rest of the fixture does it: clean, in full contact.");
    else if (fixture->packing == TW_PACKING_STEEL)
        tw_text_print(
            &page->out, "<strong>Solid steel</strong>, a wedge or rest bar ground to the taper, in full contact%s.",
            fixture->pull_N_per_mm2 > 0.0 ? ": brass, alloy, plastic or paper lead no flux, and the part comes off"
                                          : "");
    else if (fixture->pull_N_per_mm2 > 0.0)
        tw_text_print(
            &page->out,
            "Over shims the magnet holds with %.0f\u00a0N; over a solid steel wedge or rest bar it would with "
            "%.0f\u00a0N. %s",
            holding->magnet_N, holding->solid_N,
            holding->clamp_N > 0.0 ? "<strong>The clamps are needed.</strong>" : "Nothing else holds it.");
    else
        tw_text_print(&page->out, "A solid wedge is better than shims: between shims the tang sags under the wheel.");
}

static void step_pack(struct steps *steps, const struct sheet_side *side)
{
    struct page *page = steps->page;
    const struct tw_job *job = page->job;

    step_open(steps);
    tw_text_print(&page->out, "Pack under the tang before anything pulls: ");
    if (job->straight) {
        tw_text_print(&page->out, "as the blank was surveyed");
    } else {
        tw_text_print(&page->out, "nothing at the taper start, <strong>");
        sheet_length(&page->out, page->inch, tw_setup_packing_mm(job, side->setup, tw_tang_end_mm(job)), SHEET_GAUGE);
        tw_text_print(&page->out, "</strong> at the butt");
        if (job->taper.zero == TW_ZERO_PAD && job->taper.band_mm > 0.0)
            tw_text_print(&page->out, " (a blank thicker than stated: as much more everywhere; a thinner one: less)");
    }
    tw_text_print(&page->out, ", by the <a href=\"#%s\">table</a>. ",
                  page_packs_in_gauge_sheet(page) ? "gauge" : "packing");
    write_packing_rule(page, side);
    step_close(steps);
}

/* A program before it with the same side up; NULL: there is none. */
static const struct sheet_side *laid_as(const struct page *page, const struct sheet_side *side)
{
    for (const struct sheet_side *as = page->sides; as < side; as++)
        if (as->setup->face.side == side->setup->face.side)
            return as;
    return NULL;
}

/* What is said there is not said again. */
static void step_lay_again(struct steps *steps, const struct sheet_side *side, const struct sheet_side *as, bool packed)
{
    struct page *page = steps->page;

    step_open(steps);
    tw_text_print(&page->out,
                  "Lay %s in as for side %s: <strong>side %s up</strong>, the same stops, %s; nothing may rock.",
                  page->job->parts > 1 ? "the parts" : "the part", as->name, tw_side_letter(side->setup->face.side),
                  packed ? "the same packing" : "but other packing");
    step_close(steps);
}

static bool is_packed(const struct page *page, const struct sheet_side *side)
{
    return page->job->straight || tw_setup_packing_mm(page->job, side->setup, tw_tang_end_mm(page->job)) != 0.0;
}

/* How it lies, and on what. */
static enum tw_status steps_of_lying(struct steps *steps, const struct sheet_side *side)
{
    struct page *page = steps->page;
    const struct sheet_side *as = laid_as(page, side);
    bool same = as && page_lies_as(page, (size_t)(side - page->sides)) != side;
    enum tw_status status = TW_OK;

    if (as) {
        step_lay_again(steps, side, as, same);
    } else {
        step_know_again(steps, side->setup->face.side);
        status = step_lay(steps, side->setup->face.side);
    }
    if (!same && is_packed(page, side))
        step_pack(steps, side);
    return status;
}

static void step_hold(struct steps *steps, const struct sheet_side *side)
{
    struct page *page = steps->page;
    double force_N = side->setup->holding.force_N;
    char key[48];

    step_open(steps);
    if (page->job->fixture.clamp_force_N > 0.0 && page->job->fixture.pull_N_per_mm2 > 0.0)
        tw_text_print(&page->out, "Magnet on, clamp. ");
    else
        tw_text_print(&page->out, page->job->fixture.clamp_force_N > 0.0 ? "Clamp. " : "Magnet on. ");
    tw_text_print(&page->out, "The fixture is trusted with ");
    snprintf(key, sizeof key, "setups.%td.holding.force_N", side - page->sides);
    sheet_value_open(&page->out, key, force_N);
    tw_text_print(&page->out, "%.0f\u00a0N <small>%.1f\u00a0lbf</small>", force_N, force_N / 4.4482216152605);
    sheet_value_close(&page->out);
    tw_text_print(&page->out, " sideways: try by hand that nothing moves. Block the end of the stroke.");
    step_close(steps);
}

/* What roughing leaves on a face. */
static double kept_mm(const struct page *page, const struct sheet_side *finishing)
{
    for (size_t i = 0; i < page->side_count; i++) {
        const struct tw_setup_plan *setup = page->sides[i].setup;

        if (setup->scope == TW_SCOPE_ROUGH && setup->face.side == finishing->setup->face.side)
            return setup->face.allowance_mm - finishing->setup->face.allowance_mm;
    }
    return 0.0;
}

/* What a measurement between roughing and finishing says of the wheel's height, wear and all; the sum is in the gauge sheet. */
static void step_measure_between(struct steps *steps, const struct sheet_side *side)
{
    struct page *page = steps->page;
    const struct tw_job *job = page->job;

    step_open(steps);
    tw_text_print(&page->out, "Measure the thickness, cold. Roughing was to leave the finished one and <strong>");
    sheet_length(&page->out, page->inch, TW_SIDES_OF(job) * kept_mm(page, side), SHEET_BLOCKS);
    tw_text_print(
        &page->out,
        "</strong>%s: the <a href=\"#gauge\">gauge sheet</a> has the aims and the sum. It tells by how much the "
        "wheel is set too high, whatever the reason.",
        job->one_face ? "" : ", for both faces together");
    step_close(steps);
    step_open(steps);
    tw_text_print(&page->out,
                  "<strong>Lower the up value (%c) of %s by it</strong>%s. Where the number is "
                  "below zero, raise it instead; where it is more than ",
                  job->machine.up.letter, job->parts > 1 ? "each part\u2019s work offset" : "the work offset",
                  job->machine.up.sign < 0 ? ", that is, raise the number in the offset" : "");
    sheet_length(&page->out, page->inch, 0.002, SHEET_BLOCKS);
    tw_text_print(&page->out,
                  ", run the roughing again with the new offset, which cuts only what was left, and measure again. The "
                  "finishing then goes by that offset.");
    step_close(steps);
}

/* What no feeler finds. */
#define NOTHING_LOST_MM 0.0005

/* What the program before has cost the wheel. */
static void step_touch_wheel_again(struct steps *steps, const struct sheet_side *side)
{
    struct page *page = steps->page;
    const struct tw_wheel_loss *loss = &(side - 1)->setup->loss;
    int parts = page->job->parts;

    if (!loss->known || parts * loss->most_mm < NOTHING_LOST_MM)
        return;
    step_open(steps);
    tw_text_print(&page->out, "Touch the wheel off anew: the program before has cost it about ");
    sheet_micrometres(&page->out, page->inch, parts * loss->likely_mm);
    tw_text_print(&page->out, ", and at most ");
    sheet_micrometres(&page->out, page->inch, parts * loss->most_mm);
    tw_text_print(&page->out, ".");
    step_close(steps);
}

static void step_change_wheel(struct steps *steps, const struct tw_wheel *wheel)
{
    struct page *page = steps->page;

    step_open(steps);
    tw_text_print(&page->out, "Change to the wheel <strong>");
    sheet_escape(&page->out, wheel->name);
    tw_text_print(&page->out,
                  "</strong>: look, ring-test, marked speed, run up; dress, measure, and touch it off anew.");
    step_close(steps);
}

static void step_run(struct steps *steps, const struct sheet_side *side)
{
    struct page *page = steps->page;

    step_open(steps);
    tw_text_print(&page->out, "Load <code>");
    sheet_file_name(&page->out, program_name(side));
    tw_text_print(&page->out, "</code>; its head must say <code>SIDE %s</code> and <code>INPUTS %s</code>.",
                  tw_side_letter(side->setup->face.side), page->job->digest);
    step_close(steps);
    step_open(steps);
    if (page->sheet->air)
        tw_text_print(
            &page->out,
            "First in the air: <code>%s</code>, the same program raised, so that it touches nothing. Then in the "
            "steel: ",
            air_name(side));
    else
        tw_text_print(&page->out, "First in the air, its zero raised by hand; then in the steel: ");
    sheet_duration(&page->out, side->setup->cycle_time_s);
    tw_text_print(&page->out, ".");
    step_close(steps);
}

static void step_warm_up(struct steps *steps)
{
    struct page *page = steps->page;
    struct tw_error_budget budget = tw_error_budget(page->job, page->plan);

    if (budget.warm_up_s <= 0.0)
        return;
    step_open(steps);
    tw_text_print(
        &page->out,
        "Warm up: spindle at its speed, coolant on, for <strong>%.0f\u00a0min</strong> before any zero is set. After a "
        "long stop warm up and set z again.",
        budget.warm_up_s / 60.0);
    step_close(steps);
}

bool page_met_wheel_before(const struct page *page, size_t side)
{
    for (size_t i = 0; i < side; i++)
        if (page->sides[i].wheel == page->sides[side].wheel)
            return true;
    return false;
}

static void say_rims(struct page *page)
{
    bool several = page->sides[page->side_count - 1].wheel != page->sides[0].wheel;

    for (size_t i = 0; i < page->side_count; i++) {
        const struct sheet_side *side = &page->sides[i];

        if (side->wheel->kind != TW_WHEEL_CUP || page_met_wheel_before(page, i))
            continue;
        tw_text_print(&page->out, "<strong>Rim%s", several ? " of " : "");
        if (several)
            sheet_escape(&page->out, side->wheel->name);
        tw_text_print(&page->out, " planned as ");
        if (side->wheel->rim_state == TW_RIM_FRESH) {
            tw_text_print(&page->out, "fresh</strong>, just dressed. ");
            continue;
        }
        tw_text_print(&page->out, "worn in: ");
        sheet_length_short(&page->out, page->inch, sheet_band_mm(page, side), SHEET_RULE);
        tw_text_print(
            &page->out,
            " of it cut</strong>; found: <span class=\"pen\">\u2003\u2003\u2003\u2003</span>. A "
            "new or dressed rim runs far hotter: condition it first: <a href=\"#wheel\">The state of the wheel</a>. ");
    }
}

static void step_wheel(struct steps *steps)
{
    struct page *page = steps->page;

    step_open(steps);
    if (sheet_has_cup(page))
        say_rims(page);
    else
        tw_text_print(&page->out, "Dress the wheel. ");
    tw_text_print(&page->out, "Measure it: if its diameter is another one now, change the job and plan again.");
    step_close(steps);
}

static void steps_before(struct steps *steps)
{
    struct page *page = steps->page;

    step_measure(steps);
    step(steps, "Wheel: look, ring-test, compare the marked speed, mount with the right flanges, guard on, run up for "
                "a minute standing aside.");
    step_wheel(steps);
    step_warm_up(steps);
    step(steps, "Clean pad, magnet and stops; stone off burrs.");
    if (page->job->mount == TW_MOUNT_TILTED && !page->job->straight)
        step_tilt(steps, &page->sides[0]); /* of a blank without a survey, both sides tilt alike */
    step_zero(steps);
}

static enum tw_status steps_of_side(struct steps *steps, const struct sheet_side *side, bool last)
{
    const struct tw_job *job = steps->page->job;
    enum tw_status status;

    if (side > steps->page->sides && side->wheel != (side - 1)->wheel)
        step_change_wheel(steps, side->wheel);
    else if (side > steps->page->sides && side->setup->scope == TW_SCOPE_ROUGH)
        step(steps,
             "Leave the wheel as it is: no dressing and no touching off. The measurement after the roughing tells what "
             "it has lost.");
    else if (side > steps->page->sides && side->setup->scope != TW_SCOPE_FINISH)
        step_touch_wheel_again(steps, side);
    if (side > steps->page->sides && side->setup->scope == TW_SCOPE_FINISH &&
        (side - 1)->setup->scope != TW_SCOPE_FINISH)
        step_measure_between(steps, side);
    if (job->mount == TW_MOUNT_TILTED && job->straight)
        step_tilt(steps, side);
    status = steps_of_lying(steps, side);
    step_hold(steps, side);
    step_touch_off(steps, side);
    step_run(steps, side);
    step(steps, last ? "Let it cool. Measure, write it down; check that it lies straight."
                     : "Let it cool. Measure at the gauge points, write it down, look for temper colours.");
    return status;
}

enum tw_status section_steps(struct page *page)
{
    struct steps steps = { page, 0 };
    enum tw_status status = TW_OK;

    tw_text_print(&page->out, "<h3>Before</h3>\n<ol class=\"steps\">\n");
    steps_before(&steps);
    tw_text_print(&page->out, "</ol>\n");
    for (size_t i = 0; i < page->side_count && status == TW_OK; i++) {
        tw_text_print(&page->out, "<h3>Side %s</h3>\n<ol class=\"steps\">\n", page->sides[i].name);
        status = steps_of_side(&steps, &page->sides[i], i + 1 == page->side_count);
        tw_text_print(&page->out, "</ol>\n");
    }
    return status;
}

/* ---- packing and tilt ---- */

static void write_blocks(struct page *page, const struct tw_stack *stack, bool inch)
{
    for (size_t i = 0; i < stack->count; i++) {
        tw_text_print(&page->out, "%s", i > 0 ? " + " : "");
        sheet_number(&page->out, stack->blocks_mm[i] / (inch ? 25.4 : 1.0), 4);
    }
    tw_text_print(&page->out, inch ? "\u00a0in" : "\u00a0mm");
}

/* The stack under the far roll, and under the near one where one stack alone cannot be so low. */
static void write_stack(struct page *page, size_t i)
{
    const struct sheet_side *own = &page->sides[i];
    enum tw_side side = own->setup->face.side;
    const struct tw_fixture *fixture = &page->job->fixture;
    double angle_rad = tw_packing_tilt_rad(page->job, page->job->straight, side);
    double rise_mm = tw_face_rise_mm(&own->setup->face, fixture->sine_bar_mm);
    struct tw_sine sine = tw_sine_stack(fixture->sine_bar_mm, fmax(0.0, angle_rad), fixture->blocks);
    bool inch = tw_block_set_is_inch(fixture->blocks);

    tw_text_print(&page->out, "<tr><th scope=\"row\">Side %s</th><td data-label=\"angle\">", own->name);
    sheet_number(&page->out, tw_degrees(angle_rad), 3);
    tw_text_print(&page->out,
                  "\u00b0</td><td data-label=\"raise the butt end by\"><strong><data data-key=\"setups.%zu.rise_mm\" "
                  "value=\"%.9g\">",
                  i, rise_mm);
    sheet_length(&page->out, page->inch, rise_mm, SHEET_BLOCKS);
    tw_text_print(&page->out, "</data></strong></td><td data-label=\"stack, %s\">", tw_block_set_name(fixture->blocks));
    if (!sine.possible || sine.under_high.count == 0)
        tw_text_print(&page->out, "no stack of this set");
    else
        write_blocks(page, &sine.under_high, inch);
    tw_text_print(&page->out, "</td><td data-label=\"under the near roll\">");
    if (sine.under_low.count > 0)
        write_blocks(page, &sine.under_low, inch);
    else
        tw_text_print(&page->out, "\u2013");
    tw_text_print(&page->out, "</td></tr>\n");
}

static void write_tilt(struct page *page)
{
    if (page->job->mount != TW_MOUNT_TILTED) {
        tw_text_print(&page->out,
                      "<p>Level mount: the blank lies flat and the machine follows the slope; no tilt.</p>\n");
        return;
    }
    tw_text_print(&page->out, "<table class=\"flow\"><caption>Sine plate, ");
    sheet_length(&page->out, page->inch, page->job->fixture.sine_bar_mm, SHEET_RULE);
    tw_text_print(&page->out,
                  " between the rolls</caption><thead><tr><th scope=\"col\">Setup</th><th scope=\"col\">Angle</th>"
                  "<th scope=\"col\">Raise the butt end by</th><th scope=\"col\">Stack, %s</th>"
                  "<th scope=\"col\">Under the near roll</th></tr></thead><tbody>\n",
                  tw_block_set_name(page->job->fixture.blocks));
    for (size_t i = 0; i < page->side_count; i++)
        if (page_lies_as(page, i) == &page->sides[i])
            write_stack(page, i);
    tw_text_print(&page->out, "</tbody></table>\n");
}

static size_t count_of_lies(const struct page *page)
{
    size_t count = 0;

    for (size_t i = 0; i < page->side_count; i++)
        count += page_lies_as(page, i) == &page->sides[i];
    return count;
}

bool page_packs_in_gauge_sheet(const struct page *page)
{
    return page->job->parts == 1 && count_of_lies(page) == 2;
}

void page_write_packing(struct page *page, size_t side, int i)
{
    double packing_mm = tw_setup_packing_mm(page->job, page->sides[side].setup, page_gauge_x_mm(page, i));

    tw_text_print(&page->out,
                  "<td data-label=\"side %s up\"><data data-key=\"setups.%zu.packing.%d.packing_mm\" value=\"%.9g\">",
                  page->sides[side].name, side, i, packing_mm);
    if (packing_mm != 0.0)
        sheet_length(&page->out, page->inch, packing_mm, SHEET_GAUGE);
    else
        tw_text_print(&page->out, "none");
    tw_text_print(&page->out, "</data>%s</td>", packing_mm < -0.005 ? " hangs below the pad" : "");
}

/* Shims in five places against a solid wedge, on the side where they cost most. */
static void write_sag(struct page *page)
{
    double most_mm = 0.0;

    for (size_t i = 0; i < page->side_count; i++)
        if (page->sides[i].setup->holding.gap_mm > 0.0 && page->sides[i].setup->scope != TW_SCOPE_RELIEF)
            most_mm = fmax(most_mm, tw_shim_sag_mm(page->job, page->sides[i].setup));
    if (most_mm <= 0.0)
        return;
    tw_text_print(&page->out,
                  "<p>Best is a solid wedge or rest bar along the whole tang: between shims in five places it sags "
                  "under the wheel, which costs about ");
    sheet_micrometres(&page->out, page->inch, most_mm);
    tw_text_print(&page->out, " <small>");
    sheet_micrometres(&page->out, !page->inch, most_mm);
    tw_text_print(&page->out, "</small> of flatness.</p>\n");
}

enum tw_status section_packing(struct page *page)
{
    write_tilt(page);
    write_sag(page);
    if (page_packs_in_gauge_sheet(page)) {
        tw_text_print(&page->out, "<p>Packing under the tang: in the <a href=\"#gauge\">gauge sheet</a>.</p>\n");
        return TW_OK;
    }
    tw_text_print(&page->out,
                  "<table%s><caption>Packing under the tang, to be in place before %s</caption><thead><tr>"
                  "<th scope=\"col\">From the taper start</th>",
                  count_of_lies(page) > 2 ? " class=\"flow\"" : "",
                  page->job->fixture.pull_N_per_mm2 > 0.0 ? "the magnet pulls" : "the clamps close");
    for (size_t i = 0; i < page->side_count; i++)
        if (page_lies_as(page, i) == &page->sides[i])
            tw_text_print(&page->out, "<th scope=\"col\">Side %s up</th>", page->sides[i].name);
    tw_text_print(&page->out, "</tr></thead><tbody>\n");
    for (int i = 0; i < SHEET_GAUGE_POINTS; i++) {
        tw_text_print(&page->out, "<tr><th scope=\"row\">");
        sheet_length(&page->out, page->inch, page_gauge_x_mm(page, i), SHEET_RULE);
        tw_text_print(&page->out, "</th>");
        for (size_t k = 0; k < page->side_count; k++)
            if (page_lies_as(page, k) == &page->sides[k])
                page_write_packing(page, k, i);
        tw_text_print(&page->out, "</tr>\n");
    }
    tw_text_print(&page->out, "</tbody></table>\n");
    return TW_OK;
}
