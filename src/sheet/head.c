/* head.c - the title block, what is made and from what, and the figures that decide. */
#include "sheet/sheet.h"

#include "base/numbers.h"
#include "tangwright/assess.h"
#include "tangwright/warm.h"
#include "tangwright/outline.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- rows of name and value ---- */

static void open_row(struct page *page, const char *name)
{
    tw_text_print(&page->out, "<tr><th scope=\"row\">%s</th><td>", name);
}

static void close_row(struct page *page)
{
    tw_text_print(&page->out, "</td></tr>\n");
}

static void row_words(struct page *page, const char *name, const char *words)
{
    open_row(page, name);
    sheet_escape(&page->out, words);
    close_row(page);
}

static void row_length(struct page *page, const char *name, double mm, enum sheet_precision precision)
{
    open_row(page, name);
    sheet_length(&page->out, page->inch, mm, precision);
    close_row(page);
}

static void table_open(struct page *page, const char *caption)
{
    tw_text_print(&page->out, "<table class=\"pairs\"><caption>%s</caption><tbody>\n", caption);
}

static void table_close(struct page *page)
{
    tw_text_print(&page->out, "</tbody></table>\n");
}

/* ---- the head ---- */

static int checks_of(const struct tw_verdict *verdict, bool failed)
{
    int count = 0;

    for (size_t i = 0; i < verdict->count; i++)
        for (int id = 0; id < TW_CHECK_COUNT; id++)
            count += verdict->proofs[i].checks[id].asked && (!failed || verdict->proofs[i].checks[id].failed);
    return count;
}

/* No check failed, and yet it is no proof: a program is missing, or the cells were too coarse. */
static void write_unproved(struct page *page)
{
    tw_text_print(&page->out, "<p class=\"answer bad\"><span aria-hidden=\"true\">\u2717</span> <strong>Do not cut: "
                              "not proved.</strong> ");
    if (page->verdict->reason_count > 0)
        sheet_escape(&page->out, page->verdict->reasons[0]);
    tw_text_print(&page->out, "</p>\n");
}

static void write_answer(struct page *page)
{
    if (!page->verdict)
        tw_text_print(
            &page->out,
            "<p class=\"answer open\"><span aria-hidden=\"true\">?</span> <strong>Dry run not yet run.</strong> "
            "Run <code>tangwright dry-run</code> on all programs before they go to the machine.</p>\n");
    else if (page->verdict->cut && page->verdict->unproved[0])
        tw_text_print(
            &page->out,
            "<p class=\"answer open\"><span aria-hidden=\"true\">?</span> <strong>Dry run: proved in part.</strong> "
            "All %d checks passed, but not shown: %s.</p>\n",
            checks_of(page->verdict, false), page->verdict->unproved);
    else if (page->verdict->cut)
        tw_text_print(
            &page->out,
            "<p class=\"answer good\"><span aria-hidden=\"true\">\u2713</span> <strong>Dry run: all %d checks "
            "passed.</strong> Next in the air, then on scrap.</p>\n",
            checks_of(page->verdict, false));
    else if (checks_of(page->verdict, true) > 0)
        tw_text_print(
            &page->out,
            "<p class=\"answer bad\"><span aria-hidden=\"true\">\u2717</span> <strong>Do not cut: %d of %d checks "
            "failed.</strong> <a href=\"#checks\">See which.</a></p>\n",
            checks_of(page->verdict, true), checks_of(page->verdict, false));
    else
        write_unproved(page);
}

void page_head(struct page *page)
{
    tw_text_print(&page->out, "<header>\n<div class=\"title\"><p class=\"kind\">Setup sheet</p><h1>");
    sheet_escape(&page->out, page->job->name);
    tw_text_print(&page->out, "</h1></div>\n<dl class=\"block\"><div><dt>Taper</dt><dd>");
    sheet_length_short(&page->out, page->inch, page->job->taper.ricasso_mm, SHEET_BLOCKS);
    tw_text_print(&page->out, " \u2192 ");
    sheet_length_short(&page->out, page->inch, tw_taper_stated_mm(page->job, page->job->taper.length_mm), SHEET_BLOCKS);
    tw_text_print(&page->out, "</dd></div><div><dt>Over</dt><dd>");
    sheet_length_short(&page->out, page->inch, page->job->taper.length_mm, SHEET_RULE);
    tw_text_print(&page->out,
                  "</dd></div><div><dt>Mount</dt><dd>%s</dd></div><div><dt>Parts</dt><dd>%d</dd></div>"
                  "<div><dt>Inputs</dt><dd><code>%s</code></dd></div></dl>\n",
                  page->job->mount == TW_MOUNT_TILTED ? "tilted" : "level", page->job->parts, page->job->digest);
    write_answer(page);
    tw_text_print(&page->out, "</header>\n");
}

/* ---- what is made ---- */

static void write_holes(struct page *page)
{
    open_row(page, "Holes in the tang");
    tw_text_print(&page->out, "%zu", page->job->part.tang.hole_count);
    close_row(page);
}

static void write_allowance(struct page *page)
{
    if (page->job->finish.allowance_mm <= 0.0)
        return;
    row_length(page, "Left on each face for the hand", page->job->finish.allowance_mm, SHEET_GAUGE);
}

static void write_relief(struct page *page)
{
    static const char *const sides[] = {
        [TW_RELIEF_BOTH] = "both faces", [TW_RELIEF_A] = "side A", [TW_RELIEF_B] = "side B"
    };

    if (page->job->relief.depth_mm <= 0.0)
        return;
    open_row(page, "Relief asked for");
    sheet_length(&page->out, page->inch, page->job->relief.depth_mm, SHEET_GAUGE);
    tw_text_print(&page->out, ", %s", sides[page->job->relief.sides]);
    close_row(page);
}

static void write_taken_off(struct page *page)
{
    open_row(page, "Taken off one part");
    sheet_value_open(&page->out, "removed_g", page->plan->removed_g);
    sheet_number(&page->out, page->plan->removed_g, 1);
    tw_text_print(&page->out, "\u00a0g <small>");
    sheet_number(&page->out, page->plan->removed_g / TW_G_PER_OUNCE, 2);
    tw_text_print(&page->out, "\u00a0oz</small>");
    sheet_value_close(&page->out);
    tw_text_print(&page->out, " = ");
    sheet_value_open(&page->out, "removed_mm3", page->plan->removed_mm3);
    sheet_volume(&page->out, page->inch, page->plan->removed_mm3);
    sheet_value_close(&page->out);
    close_row(page);
}

static void write_temper(struct page *page)
{
    open_row(page, "Tempered at");
    sheet_temperature(&page->out, page->inch, page->job->limits.tempering_degC);
    tw_text_print(&page->out, "; kept ");
    sheet_number(&page->out, page->job->limits.margin_K * (page->inch ? 1.8 : 1.0), 0);
    tw_text_print(&page->out, "\u00a0%s below", page->inch ? "\u00b0F" : "K");
    close_row(page);
}

/* What becomes of a blank at one end of the band. */
static void write_blank(struct page *page, const char *what, double thicker_mm)
{
    struct tw_job job = tw_blank_job(page->job, thicker_mm);
    double begin_mm = tw_taper_begin_mm(&job);

    open_row(page, what);
    sheet_length(&page->out, page->inch, tw_blank_mm(&job), SHEET_BLOCKS);
    tw_text_print(&page->out, ": tapered from ");
    if (fabs(begin_mm) < 0.005)
        tw_text_print(&page->out, "the taper start");
    else
        sheet_length(&page->out, page->inch, fabs(begin_mm), SHEET_RULE);
    if (fabs(begin_mm) >= 0.005)
        tw_text_print(&page->out, begin_mm < 0.0 ? " ahead of it" : " behind it");
    tw_text_print(&page->out, ", butt ");
    sheet_length(&page->out, page->inch, tw_taper_butt_mm(&job), SHEET_BLOCKS);
    close_row(page);
}

static void write_blanks(struct page *page)
{
    double band_mm = page->job->taper.band_mm;

    row_words(page, "Height zero",
              page->job->taper.zero == TW_ZERO_PAD ? "on the datum pad" : "on each blank\u2019s ricasso");
    if (band_mm > 0.0) {
        write_blank(page, "Thickest blank", band_mm);
        write_blank(page, "Thinnest blank", -band_mm);
    } else {
        row_words(page, "For", "this one blank, as measured");
    }
}

enum tw_status section_job(struct page *page)
{
    const struct tw_job *job = page->job;

    table_open(page, "The tang");
    row_length(page, "Thickness at the ricasso", job->taper.ricasso_mm, SHEET_BLOCKS);
    row_length(page, "Thickness at the butt", tw_taper_stated_mm(job, job->taper.length_mm), SHEET_BLOCKS);
    write_blanks(page);
    row_length(page, "Length of the taper", job->taper.length_mm, SHEET_RULE);
    row_length(page, "Flat within", job->finish.flatness_mm, SHEET_BLOCKS);
    write_allowance(page);
    write_relief(page);
    write_holes(page);
    write_taken_off(page);
    table_close(page);
    table_open(page, "From and with");
    row_words(page, "Steel", job->steel.name);
    write_temper(page);
    row_words(page, "Machine", job->machine.name);
    row_words(page, "Wheel", job->wheel.name);
    row_words(page, "Coolant", job->coolant.name);
    row_words(page, "Fixture", job->fixture.name);
    table_close(page);
    return TW_OK;
}

/* ---- in figures ---- */

static void key_of(char out[48], size_t side, const char *name)
{
    snprintf(out, 48, "setups.%zu.%s", side, name);
}

static void cell_temperature(struct page *page, const char *key, double degC)
{
    tw_text_print(&page->out, "<td>");
    sheet_value_open(&page->out, key, degC);
    sheet_temperature(&page->out, page->inch, degC);
    sheet_value_close(&page->out);
    tw_text_print(&page->out, "</td>");
}

static void cell_duration(struct page *page, const char *key, double time_s)
{
    tw_text_print(&page->out, "<td>");
    if (key)
        sheet_value_open(&page->out, key, time_s);
    sheet_duration(&page->out, time_s);
    if (key)
        sheet_value_close(&page->out);
    tw_text_print(&page->out, "</td>");
}

static void cell_count(struct page *page, const char *key, int count)
{
    tw_text_print(&page->out, "<td>");
    sheet_value_open(&page->out, key, count);
    tw_text_print(&page->out, "%d", count);
    sheet_value_close(&page->out);
    tw_text_print(&page->out, "</td>");
}

static void open_line(struct page *page, const char *name)
{
    tw_text_print(&page->out, "<tr><th scope=\"row\">%s</th>", name);
}

static void close_line(struct page *page)
{
    tw_text_print(&page->out, "</tr>\n");
}

static void write_counts(struct page *page)
{
    const struct tw_plan *plan = page->plan;
    char key[48];

    open_line(page, "Passes");
    for (size_t i = 0; i < page->side_count; i++) {
        key_of(key, i, "pass_count");
        cell_count(page, key, plan->setups[i].pass_count * page->job->parts);
    }
    cell_count(page, "pass_count", plan->pass_count);
    close_line(page);
    open_line(page, "Layers");
    for (size_t i = 0; i < page->side_count; i++) {
        key_of(key, i, "layer_count");
        cell_count(page, key, (int)plan->setups[i].layer_count);
    }
    tw_text_print(&page->out, "<td></td>");
    close_line(page);
}

static void write_hottest(struct page *page)
{
    const struct tw_plan *plan = page->plan;
    char key[48];

    open_line(page, "Peak, estimated");
    for (size_t i = 0; i < page->side_count; i++) {
        key_of(key, i, "peak_degC");
        cell_temperature(page, key, plan->setups[i].peak_degC);
    }
    cell_temperature(page, "peak_degC", plan->peak_degC);
    close_line(page);
    open_line(page, "Peak with the reserve");
    for (size_t i = 0; i < page->side_count; i++) {
        key_of(key, i, "peak_with_reserve_degC");
        cell_temperature(page, key, plan->setups[i].reserve_degC);
    }
    cell_temperature(page, "peak_with_reserve_degC", plan->reserve_degC);
    close_line(page);
    open_line(page, "Hottest of the tang itself");
    for (size_t i = 0; i < page->side_count; i++) {
        key_of(key, i, "bulk_degC");
        cell_temperature(page, key, plan->setups[i].bulk_degC);
    }
    tw_text_print(&page->out, "<td></td>");
    close_line(page);
}

static void write_cycle(struct page *page)
{
    char key[48];

    open_line(page, "Cycle time");
    for (size_t i = 0; i < page->side_count; i++) {
        key_of(key, i, "cycle_time_s");
        cell_duration(page, key, page->plan->setups[i].cycle_time_s);
    }
    cell_duration(page, "cycle_time_s", page->plan->cycle_time_s);
    close_line(page);
}

static void write_over_stock(struct page *page)
{
    char key[48];

    open_line(page, "of it over stock");
    for (size_t i = 0; i < page->side_count; i++) {
        key_of(key, i, "cut_time_s");
        cell_duration(page, key, page->plan->setups[i].cut_time_s * page->job->parts);
    }
    cell_duration(page, "cut_time_s", page->plan->cut_time_s);
    close_line(page);
}

/* How the cycle is spent, from the programs' own text. */
static void write_split(struct page *page)
{
    static const struct {
        const char *name;
        enum sheet_work work;
    } rows[] = { { "along lanes", SHEET_CUT },
                 { "spark-out", SHEET_SPARK },
                 { "turning, infeed", SHEET_TURN },
                 { "lifts and returns", SHEET_LIFT },
                 { "staying at ends", SHEET_STAY },
                 { "waiting to cool", SHEET_COOL },
                 { "spindle up, spun dry", SHEET_SPINDLE } };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double all_s = 0.0;

        for (size_t k = 0; k < page->side_count; k++)
            all_s += page->sides[k].work_s[rows[i].work];
        if (all_s < 0.5)
            continue;
        tw_text_print(&page->out, "<tr class=\"part\"><th scope=\"row\">%s</th>", rows[i].name);
        for (size_t k = 0; k < page->side_count; k++)
            cell_duration(page, NULL, page->sides[k].work_s[rows[i].work]);
        cell_duration(page, NULL, all_s);
        close_line(page);
    }
    write_over_stock(page);
}

static void write_limit(struct page *page)
{
    struct tw_plan_limits limits = tw_plan_limits(page->plan);
    struct tw_plan_burn burn = tw_plan_burn(page->plan);
    const struct tw_layer *layer = &page->plan->setups[limits.setup].layers[limits.layer];
    bool strict = limits.used == TW_FLASH_STRICT;
    char words[TW_ENERGY_WORDS];

    tw_energy_words(page->job, words);
    tw_text_print(&page->out, "<p>%s Hottest is layer %zu of side %s: ", words, limits.layer + 1,
                  page->sides[limits.setup].name);
    sheet_temperature(&page->out, page->inch, limits.peak_degC);
    tw_text_print(&page->out, " estimated, <strong>");
    sheet_temperature(&page->out, page->inch, limits.reserve_degC);
    tw_text_print(&page->out, " with the reserve</strong>, of ");
    sheet_value_open(&page->out, "flash_limit_degC", strict ? limits.strict_degC : limits.equivalent_degC);
    sheet_temperature(&page->out, page->inch, strict ? limits.strict_degC : limits.equivalent_degC);
    sheet_value_close(&page->out);
    tw_text_print(&page->out,
                  " allowed by the <strong>%s</strong> limit; what keeps that layer from being deeper: "
                  "<strong>%s</strong>. ",
                  tw_flash_limit_name(limits.used), tw_binding_name(layer->binding));
    if (strict)
        tw_text_print(&page->out, "The equivalent limit would let such flashes reach %.0f\u00a0%s.",
                      sheet_degrees(page->inch, limits.equivalent_degC), sheet_degrees_unit(page->inch));
    else
        tw_text_print(&page->out, "The strict limit, %.0f\u00a0%s, would %s this.",
                      sheet_degrees(page->inch, limits.strict_degC), sheet_degrees_unit(page->inch),
                      limits.strict_allows ? "allow" : "refuse");
    tw_text_print(&page->out, " Of the burn line (Malkin and Lenz) the plan uses ");
    sheet_value_open(&page->out, "burn.share", burn.share);
    sheet_number(&page->out, burn.share, 2);
    sheet_value_close(&page->out);
    tw_text_print(&page->out, burn.warns ? ": <strong>above 0.7 the steel may burn.</strong>" : ".");
    tw_text_print(&page->out, "</p>\n");
}

enum tw_status section_figures(struct page *page)
{
    tw_text_print(&page->out, "<div class=\"scroll\"%s>\n<table><caption>%s</caption><thead><tr><td></td>",
                  page->side_count > 2 ? " tabindex=\"0\" role=\"region\" aria-label=\"Figures of all programs\"" : "",
                  page->job->parts > 1 ? "All parts of the fixture" : "One part");
    for (size_t i = 0; i < page->side_count; i++)
        tw_text_print(&page->out, "<th scope=\"col\">Side %s</th>", page->sides[i].name);
    tw_text_print(&page->out, "<th scope=\"col\">%s</th></tr></thead><tbody>\n", page->side_count > 2 ? "All" : "Both");
    write_counts(page);
    write_hottest(page);
    write_cycle(page);
    write_split(page);
    tw_text_print(&page->out, "</tbody></table>\n</div>\n");
    write_limit(page);
    return TW_OK;
}

/* ---- cautions ---- */

static void caution(struct page *page, const char *words)
{
    tw_text_print(&page->out, "<li>%s</li>\n", words);
}

static bool coolant_by_hand(const struct tw_job *job)
{
    const struct tw_dialect *dialect = &job->machine.dialect;

    return (job->coolant.kind == TW_COOLANT_FLOOD && dialect->flood_code == 0) ||
           (job->coolant.kind == TW_COOLANT_MIST && dialect->mist_code == 0);
}

static void caution_coolant(struct page *page)
{
    struct tw_plan_film film = tw_plan_film(page->job, page->plan);

    if (!film.wet)
        return;
    tw_text_print(&page->out, "<li><strong>Coolant aimed and flowing; without it ");
    sheet_value_open(&page->out, "film.dry_degC", film.dry_degC);
    sheet_temperature(&page->out, page->inch, film.dry_degC);
    sheet_value_close(&page->out);
    tw_text_print(&page->out, "%s.</strong>", film.hardens ? ", and the steel hardens again" : "");
    if (film.counted)
        tw_text_print(&page->out,
                      " Its film holds up to %.2f times the wheel\u2019s assumed specific energy: dress before it gets "
                      "that dull.",
                      film.times);
    tw_text_print(&page->out, "</li>\n");
}

/* Programs that are not byte by byte what plan wrote, whatever they do. */
static void caution_strange(struct page *page)
{
    const struct tw_findings *strange = page->sheet->strange;

    for (size_t i = 0; strange && i < strange->count; i++) {
        const char *path = strange->items[i].file, *slash = path ? strrchr(path, '/') : NULL;

        if (!path)
            continue;
        tw_text_print(&page->out, "<li><strong>");
        sheet_escape(&page->out, slash ? slash + 1 : path);
        tw_text_print(&page->out, " is not what plan wrote with the other programs there:</strong> edited, copied from "
                                  "elsewhere, or missing. The checks are of the programs as they stand.</li>\n");
    }
}

static void own_cautions(struct page *page)
{
    if (page->sheet->lift_mm > 0.0)
        tw_text_print(&page->out,
                      "<li><strong>These programs are raised by %.*f\u00a0%s and cut only air.</strong></li>\n",
                      page->inch ? 2 : 1, page->inch ? page->sheet->lift_mm / 25.4 : page->sheet->lift_mm,
                      page->inch ? "in" : "mm");
    for (size_t i = 0; i < page->side_count; i++)
        if (page->sides[i].card->text && !page->sides[i].as_planned)
            tw_text_print(&page->out,
                          "<li><strong>The program for side %s is not the one that was planned</strong>: it was "
                          "edited, or the job has changed. Layers and times in the tables are the plan\u2019s; the "
                          "drawn paths, the maps and the checks are the program\u2019s.</li>\n",
                          page->sides[i].name);
    caution_strange(page);
    if (page->job->straight)
        caution(page, "<strong>For one blank only:</strong> the one that was surveyed. Pack it as it lies; a magnet "
                      "must not pull it flat.");
    caution_coolant(page);
    if (coolant_by_hand(page->job))
        caution(page,
                "<strong>The program cannot switch the coolant:</strong> turn it on by hand before the first cut.");
}

enum tw_status section_cautions(struct page *page)
{
    tw_text_print(&page->out, "<ul class=\"cautions\">\n");
    own_cautions(page);
    caution(page, "<strong>Wheel:</strong> look, ring-test, compare the speed marked on it, run up guarded for a "
                  "minute, stand aside. Never grind on the side of a straight wheel.");
    caution(
        page,
        "<strong>An estimate, not a promise.</strong> Prove it in the air, then on scrap; look at the temper colours.");
    caution(
        page,
        "<strong>Holding:</strong> thin and packed parts hold badly. Block the part at the end of the stroke, test by "
        "hand, keep clear.");
    caution(
        page,
        "<strong>Eyes, lungs, fire:</strong> eye and breathing protection, extraction; sparks away from oil mist, wood "
        "dust and old swarf.");
    caution(page, "The machine and wheel makers\u2019 instructions and local codes come before this sheet.");
    tw_text_print(&page->out, "</ul>\n");
    return TW_OK;
}
