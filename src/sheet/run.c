/* run.c - the pages of a run: one for each load, for the operator, and one for all of it. */
#include "sheet/sheet.h"

#include "tangwright/packing.h"
#include "tangwright/program.h"
#include "tangwright/taper.h"

#include <math.h>

/* ---- cells ---- */

static void write_box(struct page *page, const char *label)
{
    tw_text_print(&page->out, "<td class=\"tick\" data-label=\"%s\"><span class=\"box\"></span></td>", label);
}

static void write_offset(struct page *page, int offset)
{
    if (offset <= 6)
        tw_text_print(&page->out, "G%d", 53 + offset);
    else
        tw_text_print(&page->out, "G59.%d", offset - 6);
}

/* On a telephone the label stands before what the cell holds. */
static void open_cell(struct page *page, const char *label)
{
    tw_text_print(&page->out, "<td data-label=\"%s\">", label);
}

static void write_words(struct page *page, const char *label, const char *words)
{
    open_cell(page, label);
    if (words)
        sheet_escape(&page->out, words);
    tw_text_print(&page->out, "</td>");
}

static void write_length(struct page *page, const char *label, double mm, enum sheet_precision precision)
{
    open_cell(page, label);
    sheet_length(&page->out, page->inch, mm, precision);
    tw_text_print(&page->out, "</td>");
}

/* `class` "flow": on a telephone each row becomes a block of its own. */
static void open_table(struct page *page, const char *label, const char *class)
{
    tw_text_print(
        &page->out,
        "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"%s\">\n<table class=\"%s\"><thead><tr>",
        label, class);
}

static void close_table(struct page *page)
{
    tw_text_print(&page->out, "</tbody></table>\n</div>\n");
}

/* ---- one load ---- */

static const struct tw_run_load *load_of(const struct page *page)
{
    return &page->load->layout->loads[page->load->load];
}

static const struct tw_run_blank *blank_at(const struct page *page, size_t place)
{
    return &page->load->request->blanks[load_of(page)->places[place].blank];
}

/* The part of the load that a place is ground by. */
static const struct tw_load_part *part_at(const struct page *page, size_t place)
{
    return &page->load->plan->parts[load_of(page)->apart ? place : 0];
}

static bool is_tilted(const struct page *page)
{
    return page->job->mount == TW_MOUNT_TILTED;
}

/* The first setup with that side up, or the last one, reliefs left out; NULL: there is none. */
static const struct tw_setup_plan *setup_of(const struct tw_load_part *part, enum tw_side side, bool last)
{
    const struct tw_setup_plan *found = NULL;

    for (size_t i = 0; i < part->proven.plan.setup_count; i++)
        if (part->proven.plan.setups[i].face.side == side && part->proven.plan.setups[i].scope != TW_SCOPE_RELIEF &&
            (last || !found))
            found = &part->proven.plan.setups[i];
    return found;
}

/* A length that is a whole number of steps, but for the last digits of its arithmetic. */
#define ON_STEP 1e-6

/* A gap that no shim is thin enough for is none. */
#define NO_GAP_MM 0.005

static void put_packing(struct page *page, double packing_mm)
{
    if (fabs(packing_mm) < NO_GAP_MM)
        tw_text_print(&page->out, "none");
    else
        sheet_length(&page->out, page->inch, packing_mm, SHEET_GAUGE);
}

static void write_packing(struct page *page, const char *label, double packing_mm)
{
    open_cell(page, label);
    put_packing(page, packing_mm);
    tw_text_print(&page->out, "</td>");
}

#define SIDE_HEADS(side) "<th scope=\"col\">Pack, " side " up</th><th scope=\"col\">Height " side "</th>"

static const char *const in_labels[] = { "in, A", "in, B" };
static const char *const pack_labels[] = { [TW_SIDE_A] = "pack, A up", [TW_SIDE_B] = "pack, B up" };
static const char *const height_labels[] = { [TW_SIDE_A] = "height A", [TW_SIDE_B] = "height B" };

static double butt_packing_mm(const struct tw_load_part *part, const struct tw_setup_plan *setup)
{
    return tw_setup_packing_mm(&part->job, setup, tw_tang_end_mm(&part->job));
}

static double face_height_mm(const struct tw_setup_plan *setup)
{
    return setup->face.height_mm - setup->face.zero_mm;
}

/* Packing under the butt and height of the face at the taper start, with that side up; where its finishing has a program of its own,
 * those of the finishing below. */
static void write_side_cells(struct page *page, const struct tw_load_part *part, enum tw_side side)
{
    const struct tw_setup_plan *first = setup_of(part, side, false), *last = setup_of(part, side, true);

    if (!first) {
        tw_text_print(&page->out, "<td>not ground</td><td></td>");
        return;
    }
    open_cell(page, pack_labels[side]);
    put_packing(page, butt_packing_mm(part, first));
    if (last != first) {
        tw_text_print(&page->out, "<br/>finishing ");
        put_packing(page, butt_packing_mm(part, last));
    }
    tw_text_print(&page->out, "</td>");
    open_cell(page, height_labels[side]);
    sheet_length(&page->out, page->inch, face_height_mm(first), SHEET_BLOCKS);
    if (last != first) {
        tw_text_print(&page->out, "<br/>finishing ");
        sheet_length(&page->out, page->inch, face_height_mm(last), SHEET_BLOCKS);
    }
    tw_text_print(&page->out, "</td>");
}

static void write_empty_stations(struct page *page)
{
    const struct tw_run_load *load = load_of(page);
    const struct tw_fixture *fixture = &page->load->layout->job.fixture;
    bool any = false;

    for (int station = 0; station < (int)fixture->station_count; station++) {
        bool loaded = false;

        for (size_t i = 0; i < load->count; i++)
            loaded = loaded || load->places[i].station == station;
        if (loaded)
            continue;
        tw_text_print(&page->out, any ? ", %d" : "<p>Left empty: station %d", station + 1);
        any = true;
    }
    if (any)
        tw_text_print(&page->out,
                      ". The programs never go down there; between loaded stations the wheel may pass over an "
                      "empty one, raised clear. Its stops stand or are out, as you like.</p>\n");
}

/* Whether the load lies half ground: its parts were measured between roughing and finishing. */
static bool is_roughed_already(const struct tw_run_request *request, const struct tw_run_layout *layout, size_t load)
{
    return request->roughed.load > 0 && (size_t)request->roughed.load == tw_run_load_number(layout, load);
}

static void write_wheel(struct page *page)
{
    const struct tw_run_outcome *outcome = page->load->outcome;
    const char *what = tw_run_renews_before(outcome, page->load->load)    ? "A new wheel first, dressed"
                       : tw_run_dresses_before(outcome, page->load->load) ? "Dress the wheel first"
                                                                          : NULL;

    if (is_roughed_already(page->load->request, page->load->layout, page->load->load) &&
        page->load->request->roughed.other_wheel)
        tw_text_print(
            &page->out,
            "<p><strong>These blanks were roughed before the wheel was dressed or changed</strong>: touch it "
            "off, run the roughing again, which cuts only what was left, and measure again before anything is "
            "finished.</p>\n");
    else if (is_roughed_already(page->load->request, page->load->layout, page->load->load))
        tw_text_print(&page->out,
                      "<p><strong>These blanks are roughed and gauged</strong>: leave the wheel as it is, with no "
                      "dressing and no touching off, until they are finished.</p>\n");
    else if (what)
        tw_text_print(
            &page->out,
            "<p><strong>%s</strong>: bring its rim to the state that the job counts on, and touch it off.</p>\n", what);
}

/* How much lower than its height the program leaves a face there. */
static double lower_at_mm(const struct page *page, size_t place)
{
    const struct tw_load_part *part = part_at(page, place);

    return part->job.fixture.stations[place - part->first].lower_mm;
}

/* Which parts the corrections are of. */
static const char *gauged_parts(const struct page *page)
{
    const struct tw_run_request *request = page->load->request;
    size_t number = tw_run_load_number(page->load->layout, page->load->load);
    bool finished = false;

    if (!is_roughed_already(request, page->load->layout, page->load->load))
        return "finished parts";
    for (size_t i = 0; i < request->gauged_count; i++)
        finished = finished || (size_t)request->gauged[i].load < number;
    return finished ? "finished parts, and the roughed ones of this load," : "the roughed parts of this load";
}

static void write_corrections(struct page *page)
{
    const char *before = NULL;

    for (size_t i = 0; i < load_of(page)->count; i++) {
        double lower_mm = lower_at_mm(page, i);

        if (lower_mm == 0.0)
            continue;
        if (before)
            tw_text_print(&page->out, "%s", before);
        else
            tw_text_print(&page->out,
                          "<p>As %s were gauged, the programs grind %s off these heights: ", gauged_parts(page),
                          page->job->one_face ? "the face" : "each face");
        tw_text_print(&page->out, "station %d ", load_of(page)->places[i].station + 1);
        sheet_micrometres(&page->out, page->inch, fabs(lower_mm));
        tw_text_print(&page->out, lower_mm > 0.0 ? " lower" : " higher");
        before = ", ";
    }
    if (before)
        tw_text_print(&page->out, ".</p>\n");
}

enum tw_status section_load_places(struct page *page)
{
    const struct tw_run_load *load = load_of(page);

    write_wheel(page);
    open_table(page, "blanks by station", "flow");
    tw_text_print(&page->out,
                  "<th scope=\"col\">Station</th><th scope=\"col\">Blank</th><th scope=\"col\">Ricasso</th>"
                  "%s<th scope=\"col\">Remark</th>%s</tr></thead><tbody>\n",
                  page->job->one_face ? SIDE_HEADS("A") : SIDE_HEADS("A") SIDE_HEADS("B"),
                  page->job->one_face ? "<th scope=\"col\">In</th>"
                                      : "<th scope=\"col\">In, A</th><th scope=\"col\">In, B</th>");
    for (size_t i = 0; i < load->count; i++) {
        const struct tw_run_place *place = &load->places[i];

        tw_text_print(&page->out, "<tr><th scope=\"row\">%d, ", place->station + 1);
        write_offset(page, page->load->layout->job.fixture.stations[place->station].work_offset);
        tw_text_print(&page->out, "</th>");
        write_words(page, "blank", blank_at(page, i)->number);
        write_length(page, "ricasso", place->thickness_mm, SHEET_BLOCKS);
        for (int side = 0; side < TW_SIDES_OF(page->job); side++)
            write_side_cells(page, part_at(page, i), (enum tw_side)side);
        write_words(page, "remark", blank_at(page, i)->remark);
        for (int side = 0; side < TW_SIDES_OF(page->job); side++)
            write_box(page, page->job->one_face ? "in" : in_labels[side]);
        tw_text_print(&page->out, "</tr>\n");
    }
    close_table(page);
    tw_text_print(
        &page->out,
        "<p>Pack: gap to fill under the butt end, nothing at the taper start. Height: where the program leaves "
        "the face at the taper start, over its zero on the %s.%s</p>\n",
        page->job->taper.zero == TW_ZERO_PAD ? "datum pad"
        : !sheet_load_is_roughed(page)       ? "ricasso, touched off on every blank"
        : page->job->one_face                ? "ricasso, touched off on every blank once"
                                             : "ricasso, touched off on every blank once, with side A up",
        sheet_load_is_roughed(page) ? " Finishing: for that side\u2019s finishing program, and for the packing of its "
                                      "roughing where that is run again."
                                    : "");
    write_corrections(page);
    write_empty_stations(page);
    return TW_OK;
}

/* A surveyed blank is bowed, so its packing is told all along. */
enum tw_status section_load_packing(struct page *page)
{
    const struct tw_run_load *load = load_of(page);

    open_table(page, "packing along the tang", "");
    tw_text_print(&page->out, "<th scope=\"col\">Blank</th><th scope=\"col\">Up</th>");
    for (int i = 0; i < SHEET_GAUGE_POINTS; i++) {
        tw_text_print(&page->out, "<th scope=\"col\">");
        sheet_length_short(&page->out, page->inch, page_gauge_x_mm(page, i), SHEET_RULE);
        tw_text_print(&page->out, "</th>");
    }
    tw_text_print(&page->out, "</tr></thead><tbody>\n");
    for (size_t place = 0; place < load->count; place++)
        for (int side = 0; side < 2; side++) {
            const struct tw_load_part *part = part_at(page, place);
            const struct tw_setup_plan *setup = setup_of(part, (enum tw_side)side, false);

            if (!setup || !part->job.straight)
                continue;
            tw_text_print(&page->out, "<tr><th scope=\"row\">");
            sheet_escape(&page->out, blank_at(page, place)->number);
            tw_text_print(&page->out, "</th><td>%s</td>", tw_side_letter((enum tw_side)side));
            for (int i = 0; i < SHEET_GAUGE_POINTS; i++)
                write_packing(page, "packing", tw_setup_packing_mm(&part->job, setup, page_gauge_x_mm(page, i)));
            tw_text_print(&page->out, "</tr>\n");
        }
    close_table(page);
    tw_text_print(&page->out,
                  "<p>A surveyed blank is packed as it lies, before anything pulls it: shims that just drag, "
                  "checked with the indicator. Below zero it hangs under the pad.</p>\n");
    return TW_OK;
}

bool sheet_load_is_surveyed(const struct page *page)
{
    for (size_t i = 0; i < load_of(page)->count; i++)
        if (part_at(page, i)->job.straight)
            return true;
    return false;
}

/* ---- the programs in their order ---- */

/* What it takes, how the blanks are tilted for it, and two boxes to tick. */
static void end_program_row(struct page *page, const struct tw_load_part *part, const struct tw_setup_plan *plan,
                            double cycle_s)
{
    open_cell(page, "takes");
    sheet_duration(&page->out, cycle_s);
    tw_text_print(&page->out, "</td>");
    if (is_tilted(page))
        write_length(page, "butt end raised", tw_face_rise_mm(&plan->face, part->job.fixture.sine_bar_mm),
                     SHEET_BLOCKS);
    write_box(page, "in air");
    write_box(page, "done");
    tw_text_print(&page->out, "</tr>\n");
}

static void write_program_file(struct page *page, const char *folder, const char *name, const char *digest)
{
    open_cell(page, "file");
    tw_text_print(&page->out, "<code>%s/%s</code></td>", folder, name);
    open_cell(page, "inputs");
    tw_text_print(&page->out, "<code>%s</code></td>", digest);
}

static void write_program(struct page *page, const struct tw_load_part *part, size_t setup)
{
    const struct tw_setup_plan *plan = &part->proven.plan.setups[setup];
    char folder[TW_LOAD_FOLDER_BYTES];

    tw_load_folder(page->load->layout, page->load->load, part->first, folder);
    tw_text_print(&page->out, "<tr><th scope=\"row\">Side %s up%s%s</th>", tw_side_letter(plan->face.side),
                  *tw_scope_name(plan->scope) ? ", " : "", tw_scope_name(plan->scope));
    open_cell(page, "for");
    if (load_of(page)->apart) {
        tw_text_print(&page->out, "station %d, blank ", load_of(page)->places[part->first].station + 1);
        sheet_escape(&page->out, blank_at(page, part->first)->number);
    } else {
        tw_text_print(&page->out, "all");
    }
    tw_text_print(&page->out, "</td>");
    write_program_file(page, folder, part->proven.cards[setup].name, part->job.digest);
    end_program_row(page, part, plan, plan->cycle_time_s);
}

/* For all blanks of the load, each at its own heights; one of the plans says what it is for. */
static void write_joined_program(struct page *page, size_t setup)
{
    const struct tw_load_joined *joined = &page->load->plan->joined;
    const struct tw_load_part *part = &page->load->plan->parts[0];
    const struct tw_setup_plan *plan = &part->proven.plan.setups[setup];
    char folder[TW_LOAD_FOLDER_BYTES];

    tw_load_own_folder(page->load->layout, page->load->load, folder);
    tw_text_print(&page->out, "<tr><th scope=\"row\">Side %s up%s%s</th>", tw_side_letter(plan->face.side),
                  *tw_scope_name(plan->scope) ? ", " : "", tw_scope_name(plan->scope));
    write_words(page, "for", "all");
    write_program_file(page, folder, joined->cards[setup].name, joined->job.digest);
    end_program_row(page, part, plan, joined->cycle_s[setup]);
}

/* What all blanks that a program is for cost the wheel in it, likely or at the most; 0: not known, or nothing. */
static void add_lost(const struct tw_load_plan *plan, size_t setup, double *likely_mm, double *most_mm)
{
    *likely_mm = *most_mm = 0.0;
    for (size_t i = 0; i < plan->count; i++) {
        const struct tw_wheel_loss *loss = &plan->parts[i].proven.plan.setups[setup].loss;

        *likely_mm += loss->known ? plan->parts[i].job.parts * loss->likely_mm : 0.0;
        *most_mm += loss->known ? plan->parts[i].job.parts * loss->most_mm : 0.0;
    }
}

static void open_between(struct page *page)
{
    tw_text_print(&page->out, "<tr class=\"between\"><td colspan=\"%d\">", is_tilted(page) ? 7 : 6);
}

static void close_between(struct page *page)
{
    tw_text_print(&page->out, "</td>");
    write_box(page, "done");
    tw_text_print(&page->out, "</tr>\n");
}

/* What is done to the wheel ahead of a program for all blanks, as the setup sheet has it. */
static void write_between(struct page *page, size_t setup)
{
    const struct tw_load_plan *plan = page->load->plan;
    const struct tw_load_part *part = &plan->parts[0];
    const struct tw_setup_plan *setups = part->proven.plan.setups;
    const struct tw_wheel *wheel = tw_scope_wheel(&part->job, setups[setup].scope);
    double likely_mm, most_mm;

    if (setup == 0)
        return;
    add_lost(plan, setup - 1, &likely_mm, &most_mm);
    if (wheel != tw_scope_wheel(&part->job, setups[setup - 1].scope)) {
        open_between(page);
        page_say_change_wheel(page, wheel);
    } else if (plan->joined.count > 0 ? plan->joined.dresses[setup] : setups[setup].dress_before) {
        open_between(page);
        page_say_dress(page);
    } else if (!sheet_load_is_roughed(page) && page_finds_lost(most_mm)) {
        open_between(page);
        page_say_touch_again(page, likely_mm, most_mm);
    } else {
        return;
    }
    close_between(page);
}

/* The wheel on its way through programs that each blank has for itself. */
struct wheel_on {
    const struct tw_wheel *wheel;
    double since_mm3; /* that it has taken off, of the thickest blanks, since it was dressed */
};

/* Says to dress it where it takes too much with this program, and goes on to the program's end. */
static void write_dressing(struct page *page, const struct tw_load_part *part, size_t setup, struct wheel_on *on)
{
    const struct tw_setup_plan *plan = &part->proven.plan.setups[setup];
    const struct tw_wheel *wheel = tw_scope_wheel(&page->load->plan->parts[0].job, plan->scope);
    double before_mm3 = wheel == on->wheel ? on->since_mm3 : 0.0; /* another one is dressed when it is put on */
    bool dresses = before_mm3 > 0.0 && (plan->dress_before || tw_wear_stay_is_full(before_mm3 + plan->ledger.first_mm3,
                                                                                   wheel->dress_after_mm3));

    if (dresses) {
        open_between(page);
        page_say_dress(page);
        close_between(page);
    }
    on->wheel = wheel;
    on->since_mm3 = plan->ledger.end_mm3 + (dresses || plan->ledger.stops > 0 ? 0.0 : before_mm3);
}

/* Each is planned for a wheel as it was touched off, and none knows of those before it. */
static void touch_off_between(struct page *page)
{
    const struct tw_load_plan *load = page->load->plan;
    double likely_mm = 0.0, most_mm = 0.0;

    for (size_t i = 0; i < load->count; i++) /* one blank each */
        for (size_t k = 0; k < load->parts[i].proven.plan.setup_count; k++) {
            const struct tw_wheel_loss *loss = &load->parts[i].proven.plan.setups[k].loss;

            likely_mm += loss->known ? loss->likely_mm : 0.0;
            most_mm += loss->known ? loss->most_mm : 0.0;
        }
    if (!(most_mm > 0.0) || sheet_load_is_roughed(page))
        return;
    tw_text_print(&page->out, "<p><strong>Touch the wheel off anew before each program</strong>: none of them knows "
                              "what those before it took off the wheel, all together about ");
    sheet_micrometres(&page->out, page->inch, likely_mm);
    tw_text_print(&page->out, ", at most ");
    sheet_micrometres(&page->out, page->inch, most_mm);
    tw_text_print(&page->out, ", and by so much the last face would stand too high.</p>\n");
}

/* What the operator has to know of programs that stand in several folders. */
static void write_own_programs(struct page *page)
{
    const struct tw_load_joined *joined = &page->load->plan->joined;

    if (joined->count > 0) {
        tw_text_print(
            &page->out,
            "<p>These programs are for exactly these blanks on exactly these stations. The same for one blank "
            "alone, to grind it again, stands with its drawings in <code>station-1</code> and so on.</p>\n");
    } else if (joined->why_not) {
        tw_text_print(&page->out, "<p>Each blank has a program of its own: ");
        sheet_escape(&page->out, joined->why_not);
        tw_text_print(&page->out, ".</p>\n");
        touch_off_between(page);
    }
}

enum tw_status section_load_programs(struct page *page)
{
    const struct tw_load_plan *plan = page->load->plan;
    struct wheel_on on = { 0 };
    size_t most = 0;

    for (size_t i = 0; i < plan->count; i++)
        most = plan->parts[i].proven.count > most ? plan->parts[i].proven.count : most;
    open_table(page, "programs in their order", "flow");
    tw_text_print(&page->out,
                  "<th scope=\"col\">Set-up</th><th scope=\"col\">For</th><th scope=\"col\">Program</th>"
                  "<th scope=\"col\">Inputs</th><th scope=\"col\">Takes</th>%s<th scope=\"col\">In air</th>"
                  "<th scope=\"col\">Done</th></tr></thead><tbody>\n",
                  is_tilted(page) ? "<th scope=\"col\">Butt end raised</th>" : "");
    for (size_t setup = 0; setup < plan->joined.count; setup++) {
        write_between(page, setup);
        write_joined_program(page, setup);
    }
    for (size_t setup = 0; plan->joined.count == 0 && setup < most; setup++) {
        if (plan->count == 1)
            write_between(page, setup);
        for (size_t i = 0; i < plan->count; i++)
            if (setup < plan->parts[i].proven.count) {
                if (plan->count > 1)
                    write_dressing(page, &plan->parts[i], setup, &on);
                write_program(page, &plan->parts[i], setup);
            }
    }
    close_table(page);
    if (is_tilted(page)) {
        tw_text_print(&page->out, "<p>Butt end raised: by that height in ");
        sheet_length_short(&page->out, page->inch, page->job->fixture.sine_bar_mm, SHEET_RULE);
        tw_text_print(&page->out, ".</p>\n");
    }
    tw_text_print(
        &page->out,
        "<p>Each program passed the dry-run on every blank as it was measured, and on the thinnest and the "
        "thickest that it is for. The number under \u201cInputs\u201d stands in the program\u2019s head: if "
        "it does not, it is another program. Each program has one <code>air-</code> beside it, raised to run "
        "in the air first. It ends with the wheel above a blank: jog it aside before you reach in. Drawings, wheel, "
        "zero and stops: <code>setup.html</code>%s. Turn blanks over only after every program of the side is "
        "done.</p>\n",
        plan->joined.count > 0 ? " in the folder of each station" : " in the same folder");
    write_own_programs(page);
    return TW_OK;
}

/* ---- cells to fill in ---- */

/* Where a micrometer stands on the face all round: off both ends, and round numbers to set a rule to. */
static double reading_x_mm(const struct page *page, int i)
{
    double step_mm = page->inch ? 2.54 : 1.0;
    double share = 0.05 + 0.9 * i / (SHEET_GAUGE_POINTS - 1);

    return step_mm * round(share * tw_tang_end_mm(page->job) / step_mm);
}

/* What a gauge shows of a length that has to be kept, rounded into the band. */
static void write_band(struct page *page, double least_mm, double most_mm)
{
    int decimals = page->inch ? 4 : 3;
    double step_mm = page->inch ? 25.4e-4 : 1e-3, unit_mm = page->inch ? 25.4 : 1.0;

    tw_text_print(&page->out, "<br/><small>%.*f\u2013%.*f</small></td>", decimals,
                  ceil(least_mm / step_mm - ON_STEP) * step_mm / unit_mm, decimals,
                  floor(most_mm / step_mm + ON_STEP) * step_mm / unit_mm);
}

static const struct tw_run_totals *totals_of(const struct page *page)
{
    return tw_run_totals_for(page->load->request, tw_run_load_number(page->load->layout, page->load->load));
}

static void write_aims(struct page *page, const struct tw_load_part *part)
{
    double off_mm = part->job.finish.thickness_mm;

    for (int i = 0; i < SHEET_GAUGE_POINTS; i++) {
        double x_mm = reading_x_mm(page, i);
        /* The job's own butt is corrected by what was gauged: that is no other aim. */
        double aim_mm =
            tw_taper_thickness_mm(&part->job, x_mm) + totals_of(page)->taper_mm * x_mm / part->job.taper.length_mm;

        tw_text_print(&page->out, "<td>");
        sheet_length_short(&page->out, page->inch, aim_mm, SHEET_BLOCKS);
        write_band(page, aim_mm - off_mm, aim_mm + off_mm);
    }
}

/* ---- between roughing and finishing ---- */

bool sheet_load_is_roughed(const struct page *page)
{
    const struct tw_plan *plan = &page->load->plan->parts[0].proven.plan;

    for (size_t i = 0; i < plan->setup_count; i++)
        if (plan->setups[i].scope == TW_SCOPE_ROUGH)
            return true;
    return false;
}

/* What roughing should leave of that very blank; NaN where it leaves it as it is. */
static double roughed_mm(const struct page *page, size_t place, double x_mm)
{
    const struct tw_job *job = &part_at(page, place)->job;
    double ricasso_mm = load_of(page)->places[place].thickness_mm, planned_mm = job->taper.ricasso_mm;
    double butt_mm = job->taper.butt_mm + tw_run_butt_lower_mm(job, totals_of(page));
    struct tw_run_blank_aim blank = { ricasso_mm, planned_mm, butt_mm };
    double left_mm = tw_run_left_mm(job, &blank, x_mm, tw_plan_finish_stock_mm(job), 0.0);

    return left_mm < ricasso_mm - 0.01 ? left_mm : (double)NAN;
}

/* A cell for each place that is gauged. */
static void open_gauge_table(struct page *page, const char *what)
{
    tw_text_print(&page->out,
                  "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"%s, to fill in\">\n"
                  "<table class=\"gauge\"><thead><tr><th scope=\"col\">Blank</th>",
                  what);
    for (int i = 0; i < SHEET_GAUGE_POINTS; i++) {
        tw_text_print(&page->out, "<th scope=\"col\">at ");
        sheet_length_short(&page->out, page->inch, reading_x_mm(page, i), SHEET_RULE);
        tw_text_print(&page->out, "</th>");
    }
    tw_text_print(&page->out, "</tr></thead><tbody>\n");
}

static void write_roughed_row(struct page *page, size_t place)
{
    tw_text_print(&page->out, "<tr class=\"part\"><th scope=\"row\">");
    sheet_escape(&page->out, blank_at(page, place)->number);
    tw_text_print(&page->out, ", should be</th>");
    for (int i = 0; i < SHEET_GAUGE_POINTS; i++) {
        double aim_mm = roughed_mm(page, place, reading_x_mm(page, i));

        if (isnan(aim_mm))
            tw_text_print(&page->out, "<td>not here</td>");
        else
            write_length(page, "should be", aim_mm, SHEET_BLOCKS);
    }
    tw_text_print(&page->out, "</tr>\n<tr><th scope=\"row\">found</th>");
    for (int i = 0; i < SHEET_GAUGE_POINTS; i++)
        tw_text_print(&page->out, "<td class=\"%s\"></td>",
                      isnan(roughed_mm(page, place, reading_x_mm(page, i))) ? "" : "pen");
    tw_text_print(&page->out, "</tr>\n");
}

/* What all roughing programs of the load take; again as long when they find little or nothing. */
static double roughing_s(const struct tw_load_plan *plan)
{
    double sum_s = 0.0;

    for (size_t i = 0; i < plan->count; i++)
        for (size_t k = 0; k < plan->parts[i].proven.plan.setup_count; k++) {
            const struct tw_setup_plan *setup = &plan->parts[i].proven.plan.setups[k];

            if (setup->scope != TW_SCOPE_ROUGH)
                continue;
            if (plan->joined.count == 0)
                sum_s += setup->cycle_time_s;
            else if (i == 0)
                sum_s += plan->joined.cycle_s[k];
        }
    return sum_s;
}

enum tw_status section_load_roughed(struct page *page)
{
    enum { AGAIN = 4 };
    /* the first of each for two faces, the other for one */
    static const char *const steps[][2] = {
        { "Run both roughing programs, side A, then side B. Leave the wheel as it is: no dressing, no touching off.",
          "Run the roughing program. Leave the wheel as it is: no dressing, no touching off." },
        { "Measure each part where it has a cell, at room temperature, and write the readings into a table with the "
          "columns part, x, thickness." },
        { "<code>tangwright gauge RUN TABLE --roughed</code> says by how much each part is too thick, what of it is "
          "more than chance, and whether a part is not to be finished: a side that roughing left out, or one too "
          "thin.",
          "<code>tangwright gauge RUN TABLE --roughed</code> says by how much each part is too thick, what of it is "
          "more than chance, and whether a part is not to be finished: one that roughing left out, or one too thin." },
        { "<code>tangwright run RUN --out DIR</code> writes the programs of this load anew, lower by half of that on "
          "each face, station by station. Print this page again.",
          "<code>tangwright run RUN --out DIR</code> writes the programs of this load anew, the face lower by all of "
          "that, station by station. Print this page again." },
        { "Where a part was more than 0.002\u00a0mm too thick, run its roughing programs once more, packed as for "
          "finishing (side A lies on a ground face by then): they cut only what was left. Measure again.",
          "Where a part was more than 0.002\u00a0mm too thick, run its roughing program once more: it cuts only what "
          "was left. Measure again." },
        { "Run both finishing programs.", "Run the finishing program." },
    };

    tw_text_print(&page->out, "<ol>\n");
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++) {
        tw_text_print(&page->out, "<li>%s", steps[i][page->job->one_face && steps[i][1]]);
        if (i == AGAIN) {
            tw_text_print(&page->out, " It takes as long as the first time: ");
            sheet_duration(&page->out, roughing_s(page->load->plan));
            tw_text_print(&page->out, ".");
        }
        tw_text_print(&page->out, "</li>\n");
    }
    tw_text_print(&page->out, "</ol>\n");
    open_gauge_table(page, "roughed thickness");
    for (size_t i = 0; i < load_of(page)->count; i++)
        write_roughed_row(page, i);
    close_table(page);
    return TW_OK;
}

enum tw_status section_load_gauge(struct page *page)
{
    const struct tw_run_load *load = load_of(page);

    open_gauge_table(page, "thickness");
    for (size_t i = 0; i < load->count; i++) {
        if (i == 0 || load->apart) {
            tw_text_print(&page->out, "<tr class=\"part\"><th scope=\"row\">aim and band</th>");
            write_aims(page, part_at(page, i));
            tw_text_print(&page->out, "</tr>\n");
        }
        tw_text_print(&page->out, "<tr><th scope=\"row\">");
        sheet_escape(&page->out, blank_at(page, i)->number);
        tw_text_print(&page->out, "</th>");
        for (int k = 0; k < SHEET_GAUGE_POINTS; k++)
            tw_text_print(&page->out, "<td class=\"pen\"></td>");
        tw_text_print(&page->out, "</tr>\n");
    }
    close_table(page);
    tw_text_print(
        &page->out,
        "<p>%s, at room temperature, %s, so far behind the taper start. Small "
        "figures: the band that is accepted (finish.thickness_tolerance). Write the readings into a table with "
        "the columns part, x, thickness, say <code>tangwright run RUN --done %zu</code>, then <code>tangwright "
        "gauge RUN TABLE</code>.</p>\n",
        page->job->one_face ? "Ground" : "Both sides ground",
        page->job->relief.depth_mm > 0.0 ? "on the land beside the relief" : "along the middle",
        tw_run_load_number(page->load->layout, page->load->load));
    return TW_OK;
}

/* ---- the whole run ---- */

static void write_run_row(struct page *page, size_t load, size_t i)
{
    const struct tw_run_outcome *outcome = page->outcome;
    const struct tw_run_place *place = &outcome->layout->loads[load].places[i];
    const struct tw_run_blank *blank = &outcome->request->blanks[place->blank];
    const struct tw_place_figures *figures = &outcome->loads[load].places[i];

    tw_text_print(&page->out, "<tr><th scope=\"row\">%zu%s</th>", tw_run_load_number(outcome->layout, load),
                  i > 0                                                         ? ""
                  : is_roughed_already(outcome->request, outcome->layout, load) ? "<br/><small>roughed</small>"
                  : tw_run_renews_before(outcome, load)  ? "<br/><small>new wheel first, dressed</small>"
                  : tw_run_dresses_before(outcome, load) ? "<br/><small>dress first</small>"
                                                         : "");
    write_words(page, "blank", blank->number);
    open_cell(page, "station");
    tw_text_print(&page->out, "%d, ", place->station + 1);
    write_offset(page, outcome->layout->job.fixture.stations[place->station].work_offset);
    tw_text_print(&page->out, "</td>");
    write_length(page, "ricasso", place->thickness_mm, SHEET_BLOCKS);
    if (outcome->loads[load].refusal) {
        tw_text_print(&page->out, "<td colspan=\"%d\"><strong>not planned</strong></td>", 2 * TW_SIDES_OF(page->job));
    } else {
        for (int side = 0; side < TW_SIDES_OF(page->job); side++) {
            write_packing(page, pack_labels[side], figures->packing_mm[side]);
            write_length(page, height_labels[side], figures->height_mm[side], SHEET_BLOCKS);
        }
    }
    write_words(page, "remark", blank->remark ? blank->remark : blank->survey ? "surveyed" : NULL);
    for (int side = 0; side < TW_SIDES_OF(page->job); side++)
        write_box(page, tw_side_letter((enum tw_side)side));
    write_box(page, "gauged");
    tw_text_print(&page->out, "</tr>\n");
}

bool sheet_run_has_loads(const struct page *page)
{
    return page->outcome->layout->load_count > 0;
}

enum tw_status section_run_loads(struct page *page)
{
    const struct tw_run_layout *layout = page->outcome->layout;

    open_table(page, "loads of the run", "flow");
    tw_text_print(&page->out,
                  "<th scope=\"col\">Load</th><th scope=\"col\">Blank</th><th scope=\"col\">Station</th>"
                  "<th scope=\"col\">Ricasso</th>%s<th scope=\"col\">Remark</th>"
                  "<th scope=\"col\">A</th>%s<th scope=\"col\">Gauged</th></tr></thead><tbody>\n",
                  page->job->one_face ? SIDE_HEADS("A") : SIDE_HEADS("A") SIDE_HEADS("B"),
                  page->job->one_face ? "" : "<th scope=\"col\">B</th>");
    for (size_t load = 0; load < layout->load_count; load++)
        for (size_t i = 0; i < layout->loads[load].count; i++)
            write_run_row(page, load, i);
    close_table(page);
    for (size_t load = 0; load < layout->load_count; load++)
        if (page->outcome->loads[load].refusal) {
            tw_text_print(&page->out, "<p><strong>Load %zu is not planned:</strong> ",
                          tw_run_load_number(layout, load));
            sheet_escape(&page->out, page->outcome->loads[load].refusal);
            tw_text_print(&page->out, "</p>\n");
        }
    return TW_OK;
}

enum tw_status section_run_aside(struct page *page)
{
    const struct tw_run_layout *layout = page->outcome->layout;

    tw_text_print(&page->out, "<ul>\n");
    for (size_t i = 0; i < layout->aside_count; i++) {
        tw_text_print(&page->out, "<li><strong>");
        sheet_escape(&page->out, page->outcome->request->blanks[layout->aside[i].blank].number);
        tw_text_print(&page->out, "</strong>: ");
        sheet_escape(&page->out, layout->aside[i].reason);
        tw_text_print(&page->out, "</li>\n");
    }
    if (layout->aside_count == 0)
        tw_text_print(&page->out, "<li>None.</li>\n");
    tw_text_print(&page->out, "</ul>\n");
    return TW_OK;
}

static void open_pair(struct page *page, const char *name)
{
    tw_text_print(&page->out, "<tr><th scope=\"row\">%s</th><td>", name);
}

static void close_pair(struct page *page)
{
    tw_text_print(&page->out, "</td></tr>\n");
}

enum tw_status section_run_sum(struct page *page)
{
    struct tw_run_sum sum = tw_run_sum_of(page->outcome);

    tw_text_print(&page->out, "<table class=\"pairs\"><tbody>\n");
    if (page->outcome->layout->before > 0)
        tw_text_print(&page->out, "<tr><th scope=\"row\">Loads ground already</th><td>%zu, not shown below</td></tr>\n",
                      page->outcome->layout->before);
    open_pair(page, "Blanks planned, set aside");
    tw_text_print(&page->out, "%zu, %zu", sum.blanks, page->outcome->layout->aside_count);
    close_pair(page);
    if (sum.blanks == 0) {
        tw_text_print(&page->out, "</tbody></table>\n");
        return TW_OK;
    }
    open_pair(page, "In the machine");
    sheet_duration(&page->out, sum.cycle_s);
    close_pair(page);
    open_pair(page, page->job->one_face ? "Loading" : "Loading and turning over");
    sheet_duration(&page->out, sum.handling_s);
    close_pair(page);
    open_pair(page, "Parts an hour");
    sheet_number(&page->out, sum.parts_per_hour, 1);
    close_pair(page);
    open_pair(page, "Steel the wheel takes off");
    sheet_volume(&page->out, page->inch, sum.removed_mm3);
    close_pair(page);
    open_pair(page, "Dressings");
    if (sum.dressings > 0 || page->outcome->layout->job.wheel.dress_after_mm3 > 0.0)
        tw_text_print(&page->out, "%zu%s", sum.dressings,
                      page->outcome->layout->before == 0 ? ", the one before the first load counted" : "");
    else
        tw_text_print(&page->out, "not told by the wheel\u2019s profile");
    close_pair(page);
    if (sum.wheels > 0) {
        open_pair(page, "Wheels");
        tw_text_print(&page->out, "%zu, as worn as is likely; %zu at the least grinding ratio", sum.wheels,
                      sum.wheels_most);
        close_pair(page);
    }
    open_pair(page, "Thickness may be off by");
    sheet_micrometres(&page->out, page->inch, sum.error_um / 1000.0);
    tw_text_print(&page->out, " as planned; about ");
    sheet_micrometres(&page->out, page->inch, sum.gauged_um / 1000.0);
    tw_text_print(&page->out, " once loads are gauged");
    close_pair(page);
    if (sum.blanks > 0) {
        open_pair(page, "Hottest, with the reserve");
        sheet_temperature(&page->out, page->inch, sum.reserve_degC);
        tw_text_print(&page->out, " in load %zu", tw_run_load_number(page->outcome->layout, sum.hottest_load));
        if (sum.hottest_blank) {
            tw_text_print(&page->out, ", blank ");
            sheet_escape(&page->out, sum.hottest_blank);
        }
        close_pair(page);
    }
    tw_text_print(&page->out, "</tbody></table>\n");
    return TW_OK;
}
