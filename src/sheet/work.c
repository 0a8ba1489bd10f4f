/* work.c - the programs in the order of work: what holds for all of them once, and a row of boxes for each. */
#include "sheet/sheet.h"

#include "base/numbers.h"
#include "geometry/ring.h"
#include "tangwright/assess.h"
#include "tangwright/straight.h"
#include "tangwright/taper.h"
#include "tangwright/warm.h"

#include <math.h>
#include <stdio.h>

#define SHOWS_STEPS 3.0 /* of the indicator: a smaller height tells nobody anything */
/* What no feeler finds. */
#define NOTHING_LOST_MM 0.0005
/* What a dial along the table does not tell. */
#define SAME_START_MM 0.005
/* Two rests that stand so nearly in one place go into the same window. */
#define SAME_PLACE_MM 0.1

enum { COLUMNS = 8 };

static const char *parts_word(const struct page *page)
{
    return page->job->parts > 1 ? "the parts" : "the part";
}

static bool is_packed(const struct page *page, const struct sheet_side *side)
{
    return page->job->straight || tw_setup_packing_mm(page->job, side->setup, tw_tang_end_mm(page->job)) != 0.0;
}

static bool any_packed(const struct page *page)
{
    for (size_t i = 0; i < page->side_count; i++)
        if (is_packed(page, &page->sides[i]))
            return true;
    return false;
}

/* Whether no program before it had the same side up. */
static bool is_first_of_its_side(const struct page *page, const struct sheet_side *side)
{
    for (const struct sheet_side *before = page->sides; before < side; before++)
        if (before->setup->face.side == side->setup->face.side)
            return false;
    return true;
}

/* ---- what holds for every program ---- */

static void rule_lay(struct page *page)
{
    tw_text_print(
        &page->out,
        "<li><strong>Lay %s in</strong>, that side up, as drawn: ricasso on the datum pad, butt towards %c%c, "
        "the taper start at the zero, against that side\u2019s stops%s. Nothing may rock: pack a bowed blank as it "
        "lies, never pull it flat.</li>\n",
        parts_word(page), page->job->machine.along.sign < 0 ? '-' : '+', page->job->machine.along.letter,
        page->job->one_face ? "" : "; for side B it is rolled over about its length");
}

/* Shims in five places against a solid wedge, on the side where they cost most. */
static void rule_sag(struct page *page)
{
    double most_mm = 0.0;

    for (size_t i = 0; i < page->side_count; i++)
        if (page->sides[i].setup->holding.gap_mm > 0.0 && page->sides[i].setup->scope != TW_SCOPE_RELIEF)
            most_mm = fmax(most_mm, tw_shim_sag_mm(page->job, page->sides[i].setup));
    tw_text_print(&page->out, " Best is a solid wedge or rest bar along the whole tang");
    if (most_mm > 0.0) {
        tw_text_print(&page->out, ": between shims in five places it sags under the wheel, which costs about ");
        sheet_micrometres(&page->out, page->inch, most_mm);
        tw_text_print(&page->out, " <small>");
        sheet_micrometres(&page->out, !page->inch, most_mm);
        tw_text_print(&page->out, "</small> of flatness");
    }
    tw_text_print(&page->out, ".");
}

/* What the packing must be made of; over shims the magnet holds less, and least where most is packed. */
static void rule_shims(struct page *page)
{
    const struct tw_holding *least = NULL;

    for (size_t i = 0; i < page->side_count; i++) {
        const struct tw_holding *holding = &page->sides[i].setup->holding;

        if (is_packed(page, &page->sides[i]) && !holding->rests_carry &&
            (!least || holding->magnet_N < least->magnet_N))
            least = holding;
    }
    if (least)
        tw_text_print(
            &page->out,
            " Over shims the magnet holds with as little as %.0f\u00a0N, over a solid steel wedge or rest bar with "
            "%.0f\u00a0N. %s",
            least->magnet_N, least->solid_N,
            least->clamp_N > 0.0 ? "<strong>The clamps are needed.</strong>" : "Nothing else holds it.");
}

static bool is_level_rest_there(const struct tw_fixture *fixture, const struct tw_box *there)
{
    for (size_t i = 0; i < fixture->keep_out_count; i++) {
        const struct tw_keep_out *rest = &fixture->keep_outs[i];
        struct tw_box box = tw_ring_box(&rest->plan);

        if (rest->kind == TW_KEEP_OUT_PAD && rest->sides == TW_IN_PLACE_A && rest->rise_mm == 0.0 &&
            fabs(box.min_x_mm - there->min_x_mm) + fabs(box.max_x_mm - there->max_x_mm) < SAME_PLACE_MM &&
            fabs(box.min_y_mm - there->min_y_mm) + fabs(box.max_y_mm - there->max_y_mm) < SAME_PLACE_MM)
            return true;
    }
    return false;
}

/* Side A is finished on face B, which is ground by then and falls as face A did: the rest that rises for side B fits it too, where
 * it goes into the place of side A's, even about the axis. NULL: there is none, or the side's own rest carries it. */
static const struct tw_keep_out *other_rest(const struct page *page, const struct sheet_side *side)
{
    const struct tw_fixture *fixture = &page->job->fixture;

    if (side->setup->face.side != TW_SIDE_A || !side->setup->holding.rests || side->setup->holding.rests_carry)
        return NULL;
    for (size_t i = 0; i < fixture->keep_out_count; i++) {
        const struct tw_keep_out *rest = &fixture->keep_outs[i];
        struct tw_box box = tw_ring_box(&rest->plan);

        if (rest->kind == TW_KEEP_OUT_PAD && rest->sides == TW_IN_PLACE_B && rest->rise_mm > 0.0 &&
            fabs(box.min_y_mm + box.max_y_mm) < SAME_PLACE_MM && is_level_rest_there(fixture, &box))
            return rest;
    }
    return NULL;
}

static bool packs_without_rest(const struct page *page, bool *with_rest)
{
    bool without = false;

    *with_rest = false;
    for (size_t i = 0; i < page->side_count; i++)
        if (is_packed(page, &page->sides[i])) {
            bool carried = page->sides[i].setup->holding.rests_carry || other_rest(page, &page->sides[i]);

            *with_rest |= carried;
            without |= !carried;
        }
    return without;
}

static void rule_material(struct page *page)
{
    const struct tw_fixture *fixture = &page->job->fixture;
    bool magnet = fixture->pull_N_per_mm2 > 0.0, rests, packs = packs_without_rest(page, &rests);
    const struct tw_keep_out *other = NULL;

    if (rests)
        tw_text_print(&page->out, " The rest of the fixture does it%s: clean, in full contact.",
                      packs ? " where the row says so" : "");
    for (size_t i = 0; i < page->side_count; i++)
        if (is_packed(page, &page->sides[i]) && (other = other_rest(page, &page->sides[i])) != NULL)
            break;
    if (other) {
        tw_text_print(&page->out, " Side A is finished on a ground face: <strong>put ");
        sheet_escape(&page->out, other->name);
        tw_text_print(&page->out, " in</strong> in place of the level one.");
    }
    if (!packs)
        return;
    if (fixture->packing == TW_PACKING_STEEL)
        tw_text_print(&page->out,
                      " <strong>Solid steel</strong>, a wedge or rest bar ground to the taper, in full contact%s.",
                      magnet ? ": brass, alloy, plastic or paper lead no flux, and the part comes off" : "");
    else
        rule_sag(page);
    if (fixture->packing != TW_PACKING_STEEL && magnet)
        rule_shims(page);
}

static bool hangs_low(const struct page *page)
{
    for (size_t i = 0; i < page->side_count; i++)
        for (int k = 0; k < SHEET_GAUGE_POINTS; k++)
            if (tw_setup_packing_mm(page->job, page->sides[i].setup, page_gauge_x_mm(page, k)) < SHEET_HANGS_MM)
                return true;
    return false;
}

static void rule_pack(struct page *page)
{
    const struct tw_job *job = page->job;

    if (!any_packed(page))
        return;
    tw_text_print(&page->out,
                  "<li><strong>Pack under the tang</strong> before %s, %s, by the <a href=\"#gauge\">gauge sheet</a>",
                  job->fixture.pull_N_per_mm2 > 0.0 ? "the magnet pulls" : "the clamps close",
                  job->straight ? "as the blank was surveyed"
                                : "from nothing at the taper start to what the row says at the butt");

    if (!job->straight && job->taper.zero == TW_ZERO_PAD && job->taper.band_mm > 0.0)
        tw_text_print(&page->out, " (a blank thicker than stated: as much more everywhere; a thinner one: less)");
    tw_text_print(&page->out, ".");
    if (hangs_low(page))
        tw_text_print(&page->out, " Below zero the tang hangs lower than the pad: put a ground plate at least so thick "
                                  "under the ricasso, set zero on its top, and pack every gap as much higher.");
    rule_material(page);
    tw_text_print(&page->out, "</li>\n");
}

static void rule_hold(struct page *page)
{
    const struct tw_fixture *fixture = &page->job->fixture;
    bool magnet = fixture->pull_N_per_mm2 > 0.0, clamp = fixture->clamp_force_N > 0.0, turns = false;

    for (size_t i = 0; i < page->side_count; i++)
        turns |= page->sides[i].setup->holding.turns;
    tw_text_print(&page->out,
                  "<li><strong>%s.</strong> Then push by hand %s as hard as the row says: nothing may move. Block the "
                  "end of the stroke.</li>\n",
                  magnet && clamp ? "Magnet on, clamp"
                  : clamp         ? "Clamp"
                                  : "Magnet on",
                  turns ? "across at the butt end" : "sideways");
}

static bool starts_alike(const struct page *page)
{
    for (size_t i = 1; i < page->side_count; i++)
        if (fabs(page->sides[i].setup->face.start_mm - page->sides[0].setup->face.start_mm) > SAME_START_MM)
            return false;
    return true;
}

static void say_start(struct page *page, const struct sheet_side *side)
{
    const struct tw_axis *along = &page->job->machine.along;

    tw_text_print(&page->out, "at %c\u00a0", along->letter);
    sheet_length(&page->out, page->inch, along->sign * side->setup->face.start_mm, SHEET_GAUGE);
}

/* One setting for all of a blank, or the measurement between roughing and finishing would tell of the mean of two, and the finishing go
 * by the last of them. With either side up the ricasso lies on the pad, its upper face as high, or higher on a rest that is ground for a
 * finished face. */
static void touch_off_once(struct page *page)
{
    say_start(page, &page->sides[0]);
    if (page->job->one_face)
        tw_text_print(&page->out, ", <strong>once</strong>. Roughing and finishing go by it");
    else
        tw_text_print(
            &page->out,
            ", <strong>once, with A up</strong>. Roughing and finishing of both sides go by it, for with B up "
            "the ricasso is as high%s",
            page_lies_on_rising_rest(page) ? ", or on the rest a little higher until side A is finished" : "");
}

static void touch_off_each_side(struct page *page)
{
    bool alike = starts_alike(page), any = false;

    for (size_t i = 0; i < page->side_count; i++) {
        const struct sheet_side *side = &page->sides[i];

        if (!is_first_of_its_side(page, side) || (any && alike))
            continue;
        tw_text_print(&page->out, "%s", any ? ", " : "");
        say_start(page, side);
        if (!alike)
            tw_text_print(&page->out, " for side %s", tw_side_letter(side->setup->face.side));
        any = true;
    }
}

/* Every blank; a face that lies tilted is as high as the program counts only over the taper start. */
static void rule_touch_off(struct page *page)
{
    if (page->job->taper.zero != TW_ZERO_RICASSO)
        return;
    tw_text_print(&page->out,
                  "<li><strong>Touch off %c\u00a00</strong> on the upper face of %s ricasso where the taper starts: ",
                  page->job->machine.up.letter, page->job->parts > 1 ? "every part\u2019s" : "the");
    if (page_is_in_turns(page))
        touch_off_once(page);
    else
        touch_off_each_side(page);
    tw_text_print(&page->out, ".</li>\n");
}

static void rule_run(struct page *page)
{
    tw_text_print(&page->out,
                  "<li><strong>Load</strong> the program: its head must say that <code>SIDE</code> and <code>INPUTS "
                  "%s</code>. <strong>First in the air</strong>, %s; then in the steel.</li>\n",
                  page->job->digest, page->sheet->air ? "with its raised twin" : "its zero raised by hand");
    tw_text_print(&page->out,
                  "<li><strong>Jog the wheel aside</strong> (it ends above %s) and <strong>let %s "
                  "cool.</strong> Measure at the gauge points, write it down, look for temper "
                  "colours; after the last program, check that it lies straight.</li>\n",
                  parts_word(page), parts_word(page));
}

/* What the wheel may lose in the program that costs it most, of those that follow it; 0: none does. */
static double followed_mm(const struct page *page)
{
    double most_mm = 0.0;

    for (size_t i = 0; i < page->side_count; i++)
        if (page->sides[i].setup->loss.follows)
            most_mm = fmax(most_mm, page->job->parts * page->sides[i].setup->loss.most_mm);
    return most_mm;
}

/* The layers that are air then wear nothing off the wheel: docs/broken-off.md. */
static void rule_broken_off(struct page *page)
{
    double most_mm = followed_mm(page);

    tw_text_print(&page->out,
                  "<li><strong>Broken off?</strong> Wheel straight up first; never go on midway, run all again.");
    if (page_finds_lost(most_mm)) {
        tw_text_print(&page->out, " With z set anew first raise the up value by ");
        sheet_micrometres(&page->out, page->inch, most_mm);
        tw_text_print(&page->out, ".");
    }
    tw_text_print(&page->out, "</li>\n");
}

static void write_rules(struct page *page)
{
    tw_text_print(&page->out, "<ol class=\"rules\">\n");
    rule_lay(page);
    rule_pack(page);
    rule_hold(page);
    rule_touch_off(page);
    rule_run(page);
    rule_broken_off(page);
    tw_text_print(&page->out, "</ol>\n");
}

/* ---- what comes between two programs ---- */

static void between_open(struct page *page)
{
    tw_text_print(&page->out, "<tr class=\"between\"><td colspan=\"%d\">", COLUMNS);
    sheet_box_open(page);
}

static void between_close(struct page *page)
{
    sheet_box_close(page);
    tw_text_print(&page->out, "</td></tr>\n");
}

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

/* What the indicator reads there over the ricasso's face; 0: nothing that it could tell. */
static double bow_mm(const struct tw_job *job, enum tw_side side, double *at_mm)
{
    double ricasso_mm =
        job->straight && job->survey.thickness_known ? job->straight->ricasso_mm : job->taper.ricasso_mm;
    const struct tw_gauge_point *at = job->straight ? most_bowed(job->straight, side, ricasso_mm) : NULL;
    double over_mm = at ? at->height_mm[side] - ricasso_mm / 2.0 : 0.0;

    if (!at || fabs(over_mm) < SHOWS_STEPS * job->survey.resolution_mm)
        return 0.0;
    *at_mm = at->x_mm;
    return over_mm;
}

/* A survey cannot tell that its columns are those of the other side, or that this is another blank: the indicator can, before
 * anything is ground. */
static void know_again(struct page *page)
{
    bool any = false;

    for (int side = 0; side < TW_SIDES_OF(page->job); side++) {
        double at_mm = 0.0, over_mm = bow_mm(page->job, (enum tw_side)side, &at_mm);

        if (over_mm == 0.0)
            continue;
        if (!any) {
            between_open(page);
            tw_text_print(&page->out,
                          "Know the blank again, for the programs are for this one as surveyed: ricasso flat on a "
                          "parallel, indicator at zero on the ricasso. It must read,");
        }
        tw_text_print(&page->out, "%s <strong>side %s up</strong> and ", any ? ", and" : "",
                      tw_side_letter((enum tw_side)side));
        sheet_length_short(&page->out, page->inch, at_mm, SHEET_RULE);
        tw_text_print(&page->out, " behind the taper start, <strong>");
        sheet_length(&page->out, page->inch, fabs(over_mm), SHEET_GAUGE);
        tw_text_print(&page->out, " %s</strong>", over_mm > 0.0 ? "higher" : "lower");
        any = true;
    }
    if (!any)
        return;
    tw_text_print(&page->out, ". If it does not, it is another blank, or the sides are mixed up: do not grind.");
    between_close(page);
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

static bool stops_for_dressing(const struct page *page)
{
    for (size_t i = 0; i < page->side_count; i++)
        if (page->sides[i].setup->scope == TW_SCOPE_ROUGH && page->sides[i].setup->ledger.stops > 0)
            return true;
    return false;
}

/* What all roughing takes; the same again, for the layers that find nothing are gone through as well. */
static double roughing_s(const struct page *page)
{
    double sum_s = 0.0;

    for (size_t i = 0; i < page->side_count; i++)
        if (page->sides[i].setup->scope == TW_SCOPE_ROUGH)
            sum_s += page->sides[i].setup->cycle_time_s;
    return sum_s;
}

/* Both faces are ground then, and the one below is none that lies flat. */
static void rough_again(struct page *page, const char *how)
{
    tw_text_print(&page->out, " If it is more than ");
    sheet_length(&page->out, page->inch, 0.002, SHEET_BLOCKS);
    tw_text_print(&page->out, ", run the roughing again %s%s, as long as before, ", how,
                  page->job->one_face || !any_packed(page) ? "" : ", each side packed as for its finishing");
    sheet_duration(&page->out, roughing_s(page));
    tw_text_print(&page->out, "%s, and measure again.", page->job->one_face ? "" : " in all");
}

/* The record of a run does the sums, and the programs themselves go lower. */
static void correct_in_run(struct page *page)
{
    tw_text_print(
        &page->out,
        "Write the readings into a table: <code>tangwright gauge RUN TABLE --roughed</code>, then plan the load "
        "again. <strong>The programs themselves are lower then: leave the work offset as it is.</strong>");
    rough_again(page, "by the new programs");
}

static void correct_offset(struct page *page)
{
    const struct tw_job *job = page->job;

    tw_text_print(&page->out,
                  "<strong>Lower the up value (%c) of %s by it</strong>%s; if it is below zero, raise it instead. "
                  "Below ",
                  job->machine.up.letter, job->parts > 1 ? "each part\u2019s work offset" : "the work offset",
                  job->machine.up.sign < 0 ? ", that is, raise the number in the offset" : "");
    sheet_length(&page->out, page->inch, -tw_plan_finish_stock_mm(job), SHEET_BLOCKS);
    tw_text_print(&page->out, " finishing would take nothing: find out why before another part is ground.");
    rough_again(page, "with the new offset");
    tw_text_print(&page->out, " Finish with that offset%s.",
                  job->taper.zero == TW_ZERO_RICASSO ? ", with no touching off" : "");
}

/* Two touchings that differ: the sum tells their mean, the finishing goes by the last. Roughed again by that, side A stands no higher
 * than side B, and what comes out too thick can be finished again. */
static void rough_by_the_last_setting(struct page *page)
{
    if (page->job->one_face || !(page->job->taper.zero == TW_ZERO_RICASSO || stops_for_dressing(page)))
        return;
    between_open(page);
    tw_text_print(&page->out,
                  "If the wheel was touched off anew since side A was roughed, rough side A again by the new "
                  "setting%s, before you measure: else the tang may come out thinner by what the two differ.",
                  any_packed(page) ? ", packed as for its finishing" : "");
    between_close(page);
}

/* What a measurement between roughing and finishing says of the wheel's height, wear and all; the sum is in the gauge sheet. */
static void measure_between(struct page *page, const struct sheet_side *side)
{
    const struct tw_job *job = page->job;

    rough_by_the_last_setting(page);
    between_open(page);
    tw_text_print(&page->out, "Measure the thickness, cold: roughing was to leave <strong>");
    sheet_length(&page->out, page->inch, TW_SIDES_OF(job) * kept_mm(page, side), SHEET_BLOCKS);
    tw_text_print(&page->out, "</strong> on %s. Aims%s: <a href=\"#gauge\">gauge sheet</a>.",
                  job->one_face ? "the face" : "both faces together", page->sheet->in_run ? "" : " and sum");
    between_close(page);
    between_open(page);
    if (page->sheet->in_run)
        correct_in_run(page);
    else
        correct_offset(page);
    between_close(page);
}

bool page_finds_lost(double most_mm)
{
    return most_mm >= NOTHING_LOST_MM;
}

void page_say_touch_again(struct page *page, double likely_mm, double most_mm)
{
    tw_text_print(&page->out, "Touch the wheel off anew: the program before has cost it about ");
    sheet_micrometres(&page->out, page->inch, likely_mm);
    tw_text_print(&page->out, ", and at most ");
    sheet_micrometres(&page->out, page->inch, most_mm);
    tw_text_print(&page->out, ".");
}

/* What the program before has cost the wheel. */
static void touch_wheel_again(struct page *page, const struct sheet_side *side)
{
    const struct tw_wheel_loss *loss = &(side - 1)->setup->loss;
    int parts = page->job->parts;

    if (!loss->known || !page_finds_lost(parts * loss->most_mm))
        return;
    between_open(page);
    page_say_touch_again(page, parts * loss->likely_mm, parts * loss->most_mm);
    between_close(page);
}

void page_say_change_wheel(struct page *page, const struct tw_wheel *wheel)
{
    tw_text_print(&page->out, "Change to the wheel <strong>");
    sheet_escape(&page->out, wheel->name);
    tw_text_print(&page->out,
                  "</strong>: look, ring-test, marked speed, run up; dress, measure, and touch it off anew.");
}

void page_say_dress(struct page *page)
{
    tw_text_print(
        &page->out,
        "<strong>Dress the wheel</strong>: with the next program it would take off more than it may. Touch it "
        "off before and after on the same place, and change the up value of every work offset in use by what "
        "it lost.");
}

static bool was_finished_before(const struct page *page, const struct sheet_side *side)
{
    for (const struct sheet_side *before = page->sides; before < side; before++)
        if (before->setup->scope == TW_SCOPE_FINISH)
            return true;
    return false;
}

/* Side B is roughed by the wheel as side A has left it, unless one of the two programs stops for its dressing. */
static void keep_wheel(struct page *page, const struct sheet_side *side)
{
    between_open(page);
    if (side->setup->ledger.stops > 0 || (side - 1)->setup->ledger.stops > 0)
        tw_text_print(
            &page->out,
            "Dress the wheel where a program begins with it or stops for it (M0), and touch it off anew then, by the "
            "same feeler; not otherwise.");
    else
        tw_text_print(
            &page->out,
            "Leave the wheel as it is: no dressing%s. The measurement after the roughing tells what it has lost.",
            page->job->taper.zero == TW_ZERO_RICASSO ? " and no touching off, not even on side B\u2019s ricasso"
                                                     : " and no touching off");
    between_close(page);
}

static void write_between(struct page *page, const struct sheet_side *side)
{
    enum tw_scope scope = side->setup->scope;
    bool later = side > page->sides;

    if (later && side->wheel != (side - 1)->wheel) {
        between_open(page);
        page_say_change_wheel(page, side->wheel);
        between_close(page);
    } else if (later && side->setup->dress_before) {
        between_open(page);
        page_say_dress(page);
        between_close(page);
    } else if (later && scope == TW_SCOPE_ROUGH) {
        keep_wheel(page, side);
    } else if (later && !page_is_in_turns(page)) { /* in turns all go by the setting that was measured */
        touch_wheel_again(page, side);
    }
    if (later && scope == TW_SCOPE_FINISH && !was_finished_before(page, side))
        measure_between(page, side);
    if (!later)
        know_again(page);
}

/* ---- a program's row ---- */

static void cell_open(struct page *page, const char *label)
{
    tw_text_print(&page->out, "<td data-label=\"%s\">", label);
    sheet_box_open(page);
}

static void cell_close(struct page *page)
{
    sheet_box_close(page);
    tw_text_print(&page->out, "</td>");
}

static void cell_lay(struct page *page, const struct sheet_side *side)
{
    cell_open(page, "lay in");
    tw_text_print(&page->out, "<strong>%s up</strong>", tw_side_letter(side->setup->face.side));
    if (page->job->mount == TW_MOUNT_TILTED && !page_tilts_alike(page)) {
        tw_text_print(&page->out, ", butt end raised ");
        sheet_length_short(&page->out, page->inch, tw_face_rise_mm(&side->setup->face, page->job->fixture.sine_bar_mm),
                           SHEET_BLOCKS);
    }
    cell_close(page);
}

static void cell_pack(struct page *page, const struct sheet_side *side)
{
    double butt_mm = tw_setup_packing_mm(page->job, side->setup, tw_tang_end_mm(page->job));

    if (!is_packed(page, side)) {
        tw_text_print(&page->out, "<td data-label=\"packed at the butt\">nothing</td>");
        return;
    }
    cell_open(page, "packed at the butt");
    if (butt_mm != 0.0)
        sheet_length(&page->out, page->inch, butt_mm, SHEET_GAUGE);
    else
        tw_text_print(&page->out, "by the table");
    if (other_rest(page, side)) {
        tw_text_print(&page->out, " by ");
        sheet_escape(&page->out, other_rest(page, side)->name);
    } else if (side->setup->holding.rests) {
        tw_text_print(&page->out, "%s", side->setup->holding.rests_carry ? " by the rest" : ": a wedge on the rest");
    }
    cell_close(page);
}

static void cell_hold(struct page *page, const struct sheet_side *side)
{
    double force_N = side->setup->holding.force_N;
    char key[48];

    cell_open(page, "held, tried by hand");
    snprintf(key, sizeof key, "setups.%td.holding.force_N", side - page->sides);
    sheet_value_open(&page->out, key, force_N);
    tw_text_print(&page->out, "%.0f\u00a0N <small>%.1f\u00a0lbf</small>", force_N, force_N / TW_N_PER_LBF);
    sheet_value_close(&page->out);
    cell_close(page);
}

static const char *program_name(const struct sheet_side *side)
{
    return side->card->text ? side->card->name : side->setup->file_name;
}

static void cell_load(struct page *page, const struct sheet_side *side)
{
    cell_open(page, "load");
    tw_text_print(&page->out, "<code>");
    sheet_file_name(&page->out, program_name(side));
    tw_text_print(&page->out, "</code>");
    cell_close(page);
}

static void cell_air(struct page *page, const struct sheet_side *side)
{
    cell_open(page, "in the air");
    if (page->sheet->air)
        tw_text_print(&page->out, "<code>%s</code>", side->setup->air_file_name);
    else
        tw_text_print(&page->out, "zero raised");
    cell_close(page);
}

static void cell_steel(struct page *page, const struct sheet_side *side)
{
    double height_mm = side->setup->face.height_mm - side->setup->face.zero_mm; /* as the program counts */

    cell_open(page, "in the steel, to the taper start\u2019s height");
    sheet_duration(&page->out, side->setup->cycle_time_s);
    tw_text_print(&page->out, ", to %c\u00a0<data data-key=\"setups.%td.finish_height_mm\" value=\"%.9g\">",
                  page->job->machine.up.letter, side - page->sides, height_mm);
    sheet_length_short(&page->out, page->inch, height_mm, SHEET_BLOCKS);
    tw_text_print(&page->out, "</data>");
    cell_close(page);
}

static void write_program(struct page *page, const struct sheet_side *side)
{
    tw_text_print(&page->out, "<tr><th scope=\"row\">%s</th>", side->name);
    cell_lay(page, side);
    cell_pack(page, side);
    cell_hold(page, side);
    cell_load(page, side);
    cell_air(page, side);
    cell_steel(page, side);
    cell_open(page, "measured");
    tw_text_print(&page->out, "cold");
    cell_close(page);
    tw_text_print(&page->out, "</tr>\n");
}

enum tw_status section_work(struct page *page)
{
    write_rules(page);
    tw_text_print(&page->out,
                  "<table class=\"flow boxes\"><thead><tr><th scope=\"col\">Side</th><th scope=\"col\">Lay in</th>"
                  "<th scope=\"col\">Packed at the butt</th><th scope=\"col\">Held, tried by hand</th>"
                  "<th scope=\"col\">Load</th><th scope=\"col\">In the air</th>"
                  "<th scope=\"col\">In the steel; height at the taper start</th>"
                  "<th scope=\"col\">Measured</th></tr></thead><tbody>\n");
    for (size_t i = 0; i < page->side_count; i++) {
        write_between(page, &page->sides[i]);
        write_program(page, &page->sides[i]);
    }
    tw_text_print(&page->out, "</tbody></table>\n");
    return TW_OK;
}
