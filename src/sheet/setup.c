/* setup.c - what a person does at the machine: wheel and zero, packing and tilt, the steps. */
#include "sheet/sheet.h"

#include "base/numbers.h"
#include "base/units.h"
#include "geometry/ring.h"
#include "tangwright/assess.h"
#include "tangwright/packing.h"
#include "tangwright/program.h"
#include "tangwright/rs274.h"

#include <math.h>
#include <stdio.h>

/* Half a micrometre over a sine plate of 300 mm is three times as much. */
#define SAME_TILT_RAD 5e-7

/* ---- wheel, machine, zero ---- */

/* "spindle_rpm" of the summary, or of one of its setups. */
static void wheel_key(char out[48], const struct page *page, const struct sheet_side *side, const char *name)
{
    if (side->wheel == &page->job->wheel)
        snprintf(out, 48, "%s", name);
    else
        snprintf(out, 48, "setups.%zu.%s", (size_t)(side - page->sides), name);
}

static void write_surface_speed(struct page *page, double mm_per_s)
{
    tw_text_print(&page->out, "%.1f\u00a0m/s <small>%.0f\u00a0ft/min</small>", mm_per_s / 1000.0,
                  mm_per_s * 60.0 / 304.8);
}

static void write_speeds(struct page *page, const struct sheet_side *side)
{
    char key[48];

    tw_text_print(&page->out, "<td data-label=\"spindle\">");
    wheel_key(key, page, side, "spindle_rpm");
    sheet_value_open(&page->out, key, side->setup->spindle_rpm);
    tw_text_print(&page->out, "%.0f\u00a0rpm, %s", side->setup->spindle_rpm,
                  page->job->machine.spindle_counterclockwise ? "counterclockwise" : "clockwise");
    sheet_value_close(&page->out);
    tw_text_print(&page->out, "</td><td data-label=\"surface speed\">");
    wheel_key(key, page, side, "wheel_m_per_s");
    sheet_value_open(&page->out, key, side->setup->wheel_mm_per_s / 1000.0);
    write_surface_speed(page, side->setup->wheel_mm_per_s);
    sheet_value_close(&page->out);
    tw_text_print(&page->out, "</td><td data-label=\"operating speed, profile\">");
    write_surface_speed(page, side->wheel->operating_speed_mm_per_s);
    tw_text_print(&page->out, "</td>");
}

static double width_mm(const struct tw_wheel *wheel)
{
    return wheel->kind == TW_WHEEL_CUP ? wheel->rim_width_mm : wheel->width_mm;
}

static void write_wheel(struct page *page, const struct sheet_side *side)
{
    const struct tw_wheel *wheel = side->wheel;

    tw_text_print(&page->out, "<tr><th scope=\"row\">");
    sheet_escape(&page->out, wheel->name);
    tw_text_print(&page->out, "%s</th><td data-label=\"planned with diameter\">",
                  wheel == &page->job->wheel ? "" : ", for the relief");
    sheet_length(&page->out, page->inch, wheel->diameter_mm, SHEET_RULE);
    tw_text_print(&page->out, "</td><td data-label=\"%s\">", wheel->kind == TW_WHEEL_CUP ? "rim" : "width");
    sheet_length(&page->out, page->inch, width_mm(wheel), SHEET_RULE);
    tw_text_print(&page->out, "</td>");
    write_speeds(page, side);
    tw_text_print(&page->out, "<td class=\"pen\" data-label=\"speed marked on it\"></td>"
                              "<td class=\"pen\" data-label=\"dressed on\"></td>"
                              "<td class=\"pen\" data-label=\"diameter then\"></td></tr>\n");
}

static const char *width_head(const struct page *page)
{
    const struct sheet_side *other = page_other_wheel(page);
    enum tw_wheel_kind kind = page->sides[0].wheel->kind;

    if (other && (other->wheel->kind == TW_WHEEL_CUP) != (kind == TW_WHEEL_CUP))
        return "Width, of a cup rim";
    return kind == TW_WHEEL_CUP ? "Rim" : "Width";
}

static void write_wheels(struct page *page)
{
    const struct sheet_side *other = page_other_wheel(page);

    tw_text_print(&page->out,
                  "<table class=\"flow\"><caption>%s</caption><thead><tr><th scope=\"col\">Kind</th>"
                  "<th scope=\"col\">Planned with diameter</th><th scope=\"col\">%s</th><th scope=\"col\">Spindle</th>"
                  "<th scope=\"col\">Surface speed</th><th scope=\"col\">Operating speed, profile</th>"
                  "<th scope=\"col\">Speed marked on it</th><th scope=\"col\">Dressed on</th>"
                  "<th scope=\"col\">Diameter then</th></tr></thead><tbody>\n",
                  other ? "Wheels" : "Wheel", width_head(page));
    write_wheel(page, &page->sides[0]);
    if (other)
        write_wheel(page, other);
    tw_text_print(&page->out, "</tbody></table>\n");
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
void sheet_write_across(struct page *page, struct tw_text *out, enum tw_side up)
{
    const struct tw_placement *placement = &page->job->placement;
    const struct tw_axis *across = &page->job->machine.across;
    int side = placement->spine < 0 ? -1 : 1, way = across->sign * side * (up == TW_SIDE_A ? 1 : -1);

    if (placement->spine == 0)
        tw_text_print(out, "the drawing\u2019s %s", tw_placement_drawing_axis(placement, side));
    else
        tw_text_print(out, "the spine");
    tw_text_print(out, " lies towards %s%c", way < 0 ? "-\u2060" : "+", across->letter);
}

/* Of all parts, with room for what is found on the machine, and what the numbers count from. */
void sheet_write_zeros(struct page *page)
{
    const struct tw_machine *machine = &page->job->machine;
    bool on_pad = page->job->taper.zero == TW_ZERO_PAD;

    tw_text_print(&page->out,
                  "<div id=\"zeros\">\n<table class=\"flow\"><caption>Zero</caption>\n<thead><tr><th scope=\"col\">Part"
                  "</th><th scope=\"col\">Offset</th><th scope=\"col\">Along</th><th scope=\"col\">Across</th><th "
                  "scope=\"col\">Up</th><th scope=\"col\">Found</th></tr></thead><tbody>\n");
    for (int i = 0; i < page->job->parts; i++) {
        const struct tw_station *station = &page->job->fixture.stations[i];

        tw_text_print(&page->out, "<tr><th scope=\"row\">Part %d</th><td data-label=\"offset\">%s</td>", i + 1,
                      tw_rs274_system_name(station->work_offset));
        write_axis(page, "along", &machine->along, station->along_mm);
        write_axis(page, "across", &machine->across, station->across_mm);
        write_axis(page, "up", &machine->up, station->up_mm);
        tw_text_print(&page->out, "<td class=\"pen\" data-label=\"found\"></td></tr>\n");
    }
    tw_text_print(
        &page->out,
        "</tbody></table>\n<p>Zero is %s, at the taper start, on the taper axis; the table has the profile\u2019s "
        "machine coordinates%s: find your own. Towards the butt is %c%c, up is %c%c.</p>\n</div>\n",
        on_pad ? "on the datum pad\u2019s plane" : "on the ricasso\u2019s upper face",
        on_pad ? "" : ", up those of the datum pad", machine->along.sign < 0 ? '-' : '+', machine->along.letter,
        machine->up.sign < 0 ? '-' : '+', machine->up.letter);
}

/* The zeros of several parts stand beside the drawing of all of them. */
enum tw_status section_tools(struct page *page)
{
    write_wheels(page);
    if (page->job->parts == 1)
        sheet_write_zeros(page);
    return TW_OK;
}

/* ---- steps ---- */

void sheet_box_open(struct page *page)
{
    page->box_count++;
    tw_text_print(&page->out, "<input type=\"checkbox\" id=\"step-%d\"/><label for=\"step-%d\">", page->box_count,
                  page->box_count);
}

void sheet_box_close(struct page *page)
{
    tw_text_print(&page->out, "</label>");
}

static void step_open(struct page *page)
{
    tw_text_print(&page->out, "<li>");
    sheet_box_open(page);
}

static void step_close(struct page *page)
{
    sheet_box_close(page);
    tw_text_print(&page->out, "</li>\n");
}

static void step(struct page *page, const char *words)
{
    step_open(page);
    tw_text_print(&page->out, "%s", words);
    step_close(page);
}

/* A limit rounded to the sheet's last decimal so that nothing beyond it is let through; `to` is floor or ceil. */
static double shown_within_mm(const struct page *page, double limit_mm, double (*to)(double))
{
    double step_mm = page->inch ? 1e-4 * TW_MM_PER_INCH : 1e-3;
    double nearest_mm = step_mm * round(limit_mm / step_mm);

    return fabs(nearest_mm - limit_mm) < 1e-6 ? nearest_mm : step_mm * to(limit_mm / step_mm);
}

/* The blanks that the programs are for. */
static void step_measure(struct page *page)
{
    const struct tw_taper *taper = &page->job->taper;

    step_open(page);
    tw_text_print(&page->out,
                  "Measure the blank at the ricasso%s, and write it into the gauge sheet; the ricasso must be ",
                  page->job->straight ? "" : " and along both edges of the tang");
    if (taper->band_mm > 0.0) {
        tw_text_print(&page->out, "<strong>");
        sheet_length(&page->out, page->inch, shown_within_mm(page, taper->ricasso_mm - taper->band_mm, ceil),
                     SHEET_BLOCKS);
        tw_text_print(&page->out, " to ");
        sheet_length(&page->out, page->inch, shown_within_mm(page, taper->ricasso_mm + taper->band_mm, floor),
                     SHEET_BLOCKS);
        tw_text_print(&page->out, "</strong>");
    } else {
        tw_text_print(&page->out, "the one that this sheet was made for: ");
        sheet_length(&page->out, page->inch, taper->ricasso_mm, SHEET_BLOCKS);
    }
    if (!page->job->straight) /* the first pass would take all that is more at once */
        tw_text_print(&page->out, ", the tang nowhere thicker than %s",
                      taper->zero == TW_ZERO_PAD && taper->band_mm > 0.0 ? "the latter" : "that");
    tw_text_print(&page->out, ". Otherwise write its thickness into the job and plan again.");
    step_close(page);
}

/* The rear end of what carries the ricasso, over the plane of which z counts; 0: the fixture tells of none. */
static double pad_end_mm(const struct tw_job *job)
{
    double end_mm = -HUGE_VAL;

    for (size_t i = 0; i < job->fixture.keep_out_count; i++) {
        const struct tw_keep_out *pad = &job->fixture.keep_outs[i];

        if (pad->kind == TW_KEEP_OUT_PAD && tw_ring_box(&pad->plan).max_x_mm <= 0.0)
            end_mm = fmax(end_mm, tw_ring_box(&pad->plan).max_x_mm);
    }
    return isfinite(end_mm) ? end_mm : 0.0;
}

static void write_at(struct page *page, const struct tw_axis *axis, double mm, enum sheet_precision precision)
{
    tw_text_print(&page->out, "%c\u00a0", axis->letter);
    sheet_length_short(&page->out, page->inch, axis->sign * mm, precision);
}

/* With the middle of the rim over the end of pad or feeler, whatever its edge is worn to touches nothing. */
static void say_where_a_cup_touches(struct page *page, double at_mm)
{
    const struct tw_wheel *wheel = page->sides[0].wheel;
    bool on_pad = page->job->taper.zero == TW_ZERO_PAD;

    if (!on_pad)
        tw_text_print(&page->out, ": lay the feeler towards the blade, its end at the taper start");
    tw_text_print(&page->out, "%s with the wheel\u2019s middle at <strong>", on_pad ? ":" : ";");
    write_at(page, &page->job->machine.along, at_mm - (wheel->diameter_mm - wheel->rim_width_mm) / 2.0, SHEET_GAUGE);
    tw_text_print(&page->out, "</strong> %s end lies under the middle of the rim, and no edge touches",
                  on_pad ? "the pad\u2019s" : "that");
}

/* On a plate that is raised what is touched rises towards the butt: a rim meets it on that side, where a head
 * that leans stands higher than where it grinds. */
static void say_slope(struct page *page)
{
    const struct tw_machine *machine = &page->job->machine;
    const struct sheet_side *side = &page->sides[0];
    double rises = tan(tw_packing_tilt_rad(page->job, page->job->straight, side->setup->face.side));
    bool cup = side->wheel->kind == TW_WHEEL_CUP, on_pad = page->job->taper.zero == TW_ZERO_PAD;
    double at_mm = on_pad ? pad_end_mm(page->job) : side->setup->face.start_mm;
    double leans_mm = cup ? tan(machine->head_tilt_rad) * (side->wheel->diameter_mm - side->wheel->rim_width_mm) : 0.0;

    tw_text_print(&page->out, " The raised %s climbs ", on_pad ? "pad" : "blank");
    sheet_micrometres(&page->out, page->inch, page->inch ? 0.1 * TW_MM_PER_INCH * rises : rises);
    tw_text_print(&page->out, " in %s towards the butt", page->inch ? "0.1\u00a0in" : "1\u00a0mm");
    if (cup) {
        say_where_a_cup_touches(page, at_mm);
    } else {
        tw_text_print(&page->out, ": touch it with the wheel\u2019s lowest point over ");
        write_at(page, &machine->along, at_mm, SHEET_GAUGE);
    }
    tw_text_print(&page->out, "; there the display must read <strong>");
    write_at(page, &machine->up, (on_pad ? at_mm * rises : 0.0) - leans_mm, SHEET_BLOCKS);
    tw_text_print(&page->out, "</strong> plus the feeler\u2019s thickness f.");
}

static void step_zero(struct page *page)
{
    const struct tw_machine *machine = &page->job->machine;

    step_open(page);
    tw_text_print(&page->out, "Set the zero of each part.");
    if (page->job->taper.zero == TW_ZERO_RICASSO)
        tw_text_print(&page->out, " Up is touched off later, on every blank as it lies: %c on the ricasso\u2019s face.",
                      machine->up.letter);
    if (page->job->mount == TW_MOUNT_TILTED)
        say_slope(page);
    step_close(page);
}

bool page_tilts_as(const struct sheet_side *side, const struct sheet_side *other)
{
    return fabs(side->setup->face.tilt_rad - other->setup->face.tilt_rad) < SAME_TILT_RAD;
}

bool page_tilts_alike(const struct page *page)
{
    for (size_t i = 1; i < page->side_count; i++)
        if (!page_tilts_as(&page->sides[i], &page->sides[0]))
            return false;
    return true;
}

static struct tw_sine stack_of(const struct page *page, const struct sheet_side *side)
{
    const struct tw_fixture *fixture = &page->job->fixture;

    return tw_sine_stack(fixture->sine_bar_mm,
                         fmax(0.0, tw_packing_tilt_rad(page->job, page->job->straight, side->setup->face.side)),
                         fixture->blocks);
}

static void write_blocks(struct page *page, const struct tw_stack *stack, bool inch)
{
    for (size_t i = 0; i < stack->count; i++) {
        tw_text_print(&page->out, "%s", i > 0 ? " + " : "");
        sheet_number(&page->out, stack->blocks_mm[i] / (inch ? 25.4 : 1.0), 4);
    }
    tw_text_print(&page->out, inch ? "\u00a0in" : "\u00a0mm");
}

/* Of what gauge blocks, and under which roll. */
static void write_stack_words(struct page *page, const struct tw_sine *sine)
{
    enum tw_block_set blocks = page->job->fixture.blocks;
    bool inch = tw_block_set_is_inch(blocks);

    if (!sine->possible || sine->under_high.count == 0) {
        tw_text_print(&page->out, "no stack of the %s set comes to that", tw_block_set_name(blocks));
        return;
    }
    tw_text_print(&page->out, "of the %s set ", tw_block_set_name(blocks));
    write_blocks(page, &sine->under_high, inch);
    if (sine->under_low.count > 0) {
        tw_text_print(&page->out, " under the far roll and ");
        write_blocks(page, &sine->under_low, inch);
        tw_text_print(&page->out, " under the near one");
    }
}

static void step_tilt(struct page *page, const struct sheet_side *side)
{
    double bar_mm = page->job->fixture.sine_bar_mm, rise_mm = tw_face_rise_mm(&side->setup->face, bar_mm);
    struct tw_sine sine = stack_of(page, side);

    step_open(page);
    tw_text_print(&page->out, "Raise the butt end by <strong><data data-key=\"setups.%td.rise_mm\" value=\"%.9g\">",
                  side - page->sides, rise_mm);
    sheet_length(&page->out, page->inch, rise_mm, SHEET_BLOCKS);
    tw_text_print(&page->out, "</data></strong> in ");
    sheet_length_short(&page->out, page->inch, bar_mm, SHEET_RULE);
    tw_text_print(&page->out, " between the rolls, ");
    sheet_number(&page->out, tw_degrees(tw_packing_tilt_rad(page->job, page->job->straight, side->setup->face.side)),
                 3);
    tw_text_print(&page->out, "\u00b0: ");
    write_stack_words(page, &sine);
    tw_text_print(&page->out, ". Lock the plate, and check it with an indicator.");
    step_close(page);
}

static void step_warm_up(struct page *page)
{
    struct tw_error_budget budget = tw_error_budget(page->job, page->plan);

    if (budget.warm_up_s <= 0.0)
        return;
    step_open(page);
    tw_text_print(&page->out,
                  "Warm up: spindle at its speed%s, for <strong>%.0f\u00a0min</strong> before any zero is set. After a "
                  "long stop warm up and set z again.",
                  sheet_coolant_on(page), budget.warm_up_s / 60.0);
    step_close(page);
}

bool page_met_wheel_before(const struct page *page, size_t side)
{
    for (size_t i = 0; i < side; i++)
        if (page->sides[i].wheel == page->sides[side].wheel)
            return true;
    return false;
}

/* As what the programs count on its rim, with room for what was found; whether that is worn in. */
static bool say_rim(struct page *page, const struct sheet_side *side, bool by_name)
{
    tw_text_print(&page->out, "<strong>Rim%s", by_name ? " of " : "");
    if (by_name)
        sheet_escape(&page->out, side->wheel->name);
    if (side->wheel->rim_state == TW_RIM_FRESH) {
        tw_text_print(&page->out, " planned as fresh</strong>, just dressed. ");
        return false;
    }
    tw_text_print(&page->out, " planned as worn in: ");
    sheet_length_short(&page->out, page->inch, sheet_band_mm(page, side), SHEET_RULE);
    tw_text_print(&page->out, " of it cut</strong>; found: <span class=\"pen\">\u2003\u2003\u2003\u2003</span>. ");
    return true;
}

static void say_rims(struct page *page)
{
    bool several = page->sides[page->side_count - 1].wheel != page->sides[0].wheel, worn_in = false;

    for (size_t i = 0; i < page->side_count; i++)
        if (page->sides[i].wheel->kind == TW_WHEEL_CUP && !page_met_wheel_before(page, i))
            worn_in |= say_rim(page, &page->sides[i], several);
    if (worn_in)
        tw_text_print(&page->out, "A new or dressed rim runs far hotter: condition it first (<a href=\"#wheel\">The "
                                  "state of the wheel</a>). ");
}

static void step_wheel(struct page *page)
{
    step_open(page);
    if (sheet_has_cup(page))
        say_rims(page);
    else
        tw_text_print(&page->out, "Dress the wheel. ");
    tw_text_print(&page->out, "Measure it: if its diameter has changed, change the job and plan again.");
    step_close(page);
}

static void steps_before(struct page *page)
{
    step_measure(page);
    step(page, "Wheel: look, ring-test, compare the marked speed, mount with the right flanges, guard on, run up for "
               "a minute standing aside.");
    step_wheel(page);
    step_warm_up(page);
    step(page, "Clean pad, magnet and stops; stone off burrs.");
    if (page->job->mount == TW_MOUNT_TILTED && page_tilts_alike(page))
        step_tilt(page, &page->sides[0]);
    step_zero(page);
}

enum tw_status section_steps(struct page *page)
{
    tw_text_print(&page->out, "<ol class=\"steps\">\n");
    steps_before(page);
    tw_text_print(&page->out, "</ol>\n");
    return TW_OK;
}

/* ---- packing and tilt ---- */

/* The stack under the far roll, and under the near one where one stack alone cannot be so low. */
static void write_stack(struct page *page, size_t i)
{
    const struct sheet_side *own = &page->sides[i];
    const struct tw_fixture *fixture = &page->job->fixture;
    double rise_mm = tw_face_rise_mm(&own->setup->face, fixture->sine_bar_mm);
    struct tw_sine sine = stack_of(page, own);
    bool inch = tw_block_set_is_inch(fixture->blocks);

    tw_text_print(&page->out, "<tr><th scope=\"row\">Side %s</th><td data-label=\"angle\">", own->name);
    sheet_number(&page->out, tw_degrees(tw_packing_tilt_rad(page->job, page->job->straight, own->setup->face.side)), 3);
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

static bool packs_anything(const struct page *page, size_t side)
{
    for (int i = 0; i < SHEET_GAUGE_POINTS; i++)
        if (tw_setup_packing_mm(page->job, page->sides[side].setup, page_gauge_x_mm(page, i)) != 0.0)
            return true;
    return false;
}

bool page_shows_packing(const struct page *page, size_t side)
{
    return page_lies_as(page, side) == &page->sides[side] && packs_anything(page, side);
}

void page_write_packing_head(struct page *page, size_t side)
{
    bool first = true;

    tw_text_print(&page->out, "<th scope=\"col\">Pack, ");
    for (size_t i = side; i < page->side_count; i++)
        if (page_lies_as(page, i) == &page->sides[side]) {
            tw_text_print(&page->out, "%s%s", first ? "" : "; ", page->sides[i].name);
            first = false;
        }
    tw_text_print(&page->out, "</th>");
}

void page_write_packing(struct page *page, size_t side, int i)
{
    double packing_mm = tw_setup_packing_mm(page->job, page->sides[side].setup, page_gauge_x_mm(page, i));

    tw_text_print(
        &page->out, "<td data-label=\"pack, %s\">%s<data data-key=\"setups.%zu.packing.%d.packing_mm\" value=\"%.9g\">",
        page->sides[side].name, packing_mm < SHEET_HANGS_MM ? "<strong>low</strong> " : "", side, i, packing_mm);
    if (packing_mm != 0.0)
        sheet_length(&page->out, page->inch, packing_mm, SHEET_GAUGE);
    else
        tw_text_print(&page->out, "none");
    tw_text_print(&page->out, "</data></td>");
}

bool sheet_tells_tilts(const struct page *page)
{
    return page->job->mount == TW_MOUNT_TILTED && !page_tilts_alike(page);
}

enum tw_status section_tilts(struct page *page)
{
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
    return TW_OK;
}
