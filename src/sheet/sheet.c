/* sheet.c - the page as a whole: its head, its sections in their order, its end. */
#include "sheet/sheet.h"

#include "sheet/assets.h"

#include <stdio.h>
#include <string.h>

const char *tw_sheet_file_name(void)
{
    return "setup.html";
}

const char *tw_load_page_name(void)
{
    return "load.html";
}

const char *tw_run_page_name(void)
{
    return "run.html";
}

/* ---- the sections ---- */

/* `wanted` tells whether a section has anything to show for this job; without, its heading is left out as well. */
static bool always(const struct page *page)
{
    return page->job != NULL;
}

static bool of_one_part(const struct page *page)
{
    return page->job->parts == 1;
}

static bool of_several_parts(const struct page *page)
{
    return !of_one_part(page);
}

static bool with_balance(const struct page *page)
{
    return page->job->blank.mass_g > 0.0 || page->job->blade.distal.count > 0;
}

static bool when_surveyed(const struct page *page)
{
    return page->job->straight != NULL;
}

static bool when_run(const struct page *page)
{
    return page->verdict != NULL;
}

static bool with_programs(const struct page *page)
{
    for (size_t i = 0; i < page->side_count; i++)
        if (page->sides[i].trace.count > 0)
            return true;
    return false;
}

static bool with_maps(const struct page *page)
{
    for (size_t i = 0; i < page->side_count; i++)
        if (page->sides[i].proof && page->sides[i].proof->record.left_mm.values)
            return true;
    return false;
}

/* Here begins what stays in the office: where the knife came from, why so many passes, what was proved. */
#define ANNEX "placement"

static const struct section {
    const char *id, *title;
    bool (*wanted)(const struct page *page);
    enum tw_status (*write)(struct page *page);
    const char *class; /* "sheet": begins a new piece of paper; "sides": a wide screen shows its parts in pairs */
} sections[] = {
    /* for the machine */
    { "setups", "The part on its fixture", always, section_setups, "sides" },
    { "steps", "Before the first program", always, section_steps, "" },
    { "tools", "Wheel, machine, zero", of_one_part, section_tools, "" },
    { "tools", "Wheel and machine", of_several_parts, section_tools, "" },
    { "tilts", "Tilt", sheet_tells_tilts, section_tilts, "" },
    { "touch", "Touching off", always, section_touch, "" },
    { "cautions", "Before a wheel turns", always, section_cautions, "" },
    { "work", "Programs, in this order", always, section_work, "" },
    { "gauge", "Gauge sheet", always, section_gauge, "" },
    { "wheel", "The state of the wheel", sheet_tells_wheel, section_wheel, "" },
    /* for the office */
    { ANNEX, "How the knife lies", always, section_placement, "sheet" },
    { "noted", "What was noted", sheet_tells_notes, section_noted, "" },
    { "job", "What is made", always, section_job, "" },
    { "spine", "Seen edge-on, before and after", always, section_spine, "" },
    { "figures", "In figures", always, section_figures, "" },
    { "lanes", "Where the wheel goes", with_programs, section_lanes, "sides" },
    { "play", "The program, played", with_programs, section_play, "" },
    { "straight", "The blank as surveyed", when_surveyed, section_straight, "" },
    { "balance", "Weight, balance, line", with_balance, section_balance, "" },
    { "layers", "Layers and passes", always, section_layers, "sides" },
    { "heat", "Temperatures", with_programs, section_heat, "sides" },
    { "estimate", "What the temperatures depend on", always, section_estimate, "" },
    { "budget", "What the finished tang may be off by", always, section_budget, "" },
    { "maps", "After the dry run: maps", with_maps, section_maps, "sides" },
    { "checks", "The dry run, check by check", when_run, section_verdict, "sides" },
};

#define SECTION_COUNT (sizeof sections / sizeof *sections)

static enum tw_status write_section(struct page *page, const struct section *section)
{
    enum tw_status status;

    if (page->plan && strcmp(section->id, ANNEX) == 0)
        tw_text_print(&page->out, "<p class=\"annex\">Annex: for the office</p>\n");
    tw_text_print(&page->out, "<section id=\"%s\" class=\"%s\" aria-labelledby=\"%s-h\"%s>\n<h2 id=\"%s-h\">%s</h2>\n",
                  section->id, section->class, section->id,
                  strcmp(section->id, "play") == 0 ? " hidden=\"hidden\"" : "", section->id, section->title);
    status = section->write(page);
    tw_text_print(&page->out, "</section>\n");
    return status;
}

static void write_contents(struct page *page)
{
    tw_text_print(&page->out, "<nav aria-label=\"Sections\"><ul>\n");
    for (size_t i = 0; i < SECTION_COUNT; i++)
        if (sections[i].wanted(page))
            tw_text_print(&page->out, "<li id=\"to-%s\"%s><a href=\"#%s\">%s</a></li>\n", sections[i].id,
                          strcmp(sections[i].id, "play") == 0 ? " hidden=\"hidden\"" : "", sections[i].id,
                          sections[i].title);
    tw_text_print(&page->out, "</ul></nav>\n");
}

/* ---- style and script ---- */

static void append_asset(struct page *page, const char *name)
{
    for (size_t i = 0; i < sheet_asset_count; i++)
        if (strcmp(sheet_assets[i].path, name) == 0)
            tw_text_append(&page->out, (const char *)sheet_assets[i].data, sheet_assets[i].length);
}

/* A string of CSS: what could end it is left out. */
static void css_words(struct tw_text *text, const char *words)
{
    for (const char *c = words; *c; c++)
        tw_text_append(text, (unsigned char)*c < 0x20 || (unsigned char)*c >= 0x7F || strchr("\"\\<>&", *c) ? " " : c,
                       1);
}

/* Job and digest in the margin of every page of paper: sheets get mixed up. */
static void write_style(struct page *page)
{
    tw_text_print(&page->out, "<style>/*<![CDATA[*/\n");
    append_asset(page, "sheet.css");
    tw_text_print(&page->out, "@page { @bottom-left { content: \"");
    css_words(&page->out, page->job->name);
    tw_text_print(&page->out, " \\B7  inputs %s \\B7  tangwright " TANGWRIGHT_VERSION "\"; } }\n/*]]>*/</style>\n",
                  page->job->digest);
}

static void write_script(struct page *page)
{
    tw_text_print(&page->out, "<script>/*<![CDATA[*/\n");
    append_asset(page, "play.js");
    tw_text_print(&page->out, "/*]]>*/</script>\n");
}

/* ---- the page ---- */

static void write_opening(struct page *page, const char *kind)
{
    tw_text_print(&page->out, "<!DOCTYPE html>\n<html xmlns=\"http://www.w3.org/1999/xhtml\" lang=\"en\">\n<head>\n"
                              "<meta charset=\"utf-8\"/>\n"
                              "<meta name=\"generator\" content=\"tangwright\"/>\n"
                              "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n"
                              "<meta name=\"color-scheme\" content=\"light dark\"/>\n<title>");
    sheet_escape(&page->out, page->job->name);
    tw_text_print(&page->out, " \u2013 %s</title>\n", kind);
    write_style(page);
    tw_text_print(&page->out, "</head>\n<body>\n<a class=\"skip\" href=\"#main\">To the sheet</a>\n");
}

static enum tw_status write_page(struct page *page)
{
    enum tw_status status = TW_OK;

    write_opening(page, "setup sheet");
    page_head(page);
    write_contents(page);
    tw_text_print(&page->out, "<main id=\"main\">\n");
    for (size_t i = 0; status == TW_OK && i < SECTION_COUNT; i++)
        if (sections[i].wanted(page))
            status = write_section(page, &sections[i]);
    tw_text_print(&page->out,
                  "</main>\n<footer><p>Written by tangwright " TANGWRIGHT_VERSION ". Temperatures are estimates; "
                  "a plan and a passed dry run are no promise of safety. The machine and wheel makers\u2019 "
                  "instructions and local codes come first.</p></footer>\n");
    write_script(page);
    tw_text_print(&page->out, "</body>\n</html>\n");
    return status;
}

enum tw_status tw_sheet_html(const struct tw_sheet *sheet, char **out, struct tw_findings *findings)
{
    struct page page;
    enum tw_status status = page_open(sheet, &page, findings);

    *out = NULL;
    if (status != TW_OK)
        return status;
    status = write_page(&page);
    if (status == TW_OK) {
        *out = tw_text_take(&page.out);
        if (!*out)
            status = tw_no_memory(findings);
    }
    page_close(&page);
    return status;
}

/* ---- pages of what is not planned ---- */

static enum tw_status write_unplanned(struct page *page, const char *title, const char *kind, const struct section *all,
                                      size_t count, char **out)
{
    enum tw_status status = TW_OK;

    *out = NULL;
    write_opening(page, title);
    tw_text_print(&page->out, "<header>\n<div class=\"title\"><p class=\"kind\">%s</p><h1>", kind);
    sheet_escape(&page->out, page->job->name);
    tw_text_print(&page->out,
                  "</h1></div>\n<dl class=\"block\"><div><dt>Inputs</dt><dd><code>%s</code></dd></div></dl>\n"
                  "</header>\n<main id=\"main\">\n",
                  page->job->digest);
    for (size_t i = 0; status == TW_OK && i < count; i++)
        if (all[i].wanted(page))
            status = write_section(page, &all[i]);
    tw_text_print(&page->out, "</main>\n<footer><p>Written by tangwright " TANGWRIGHT_VERSION ".</p></footer>\n"
                              "</body>\n</html>\n");
    if (status == TW_OK) {
        *out = tw_text_take(&page->out);
        status = *out ? TW_OK : tw_no_memory(page->findings);
    }
    tw_text_free(&page->out);
    return status;
}

enum tw_status tw_placement_html(const struct tw_job *job, char **out, struct tw_findings *findings)
{
    static const struct section section = { "placement", "How the knife lies", always, section_placement, "" };
    struct page page = { .job = job, .findings = findings, .inch = job->machine.dialect.inch };

    return write_unplanned(&page, "how the knife lies", "Checked, not planned", &section, 1, out);
}

enum tw_status tw_comparison_html(const struct tw_job *job, const struct tw_comparison *comparison, char **out,
                                  struct tw_findings *findings)
{
    static const struct section section = { "variants", "Variants side by side", always, section_comparison, "" };
    struct page page = {
        .job = job, .comparison = comparison, .findings = findings, .inch = job->machine.dialect.inch
    };

    return write_unplanned(&page, "variants", "Variants, planned and proved, not written", &section, 1, out);
}

enum tw_status tw_fixture_html(const struct tw_fixture_design *design, char **out, struct tw_findings *findings)
{
    static const struct section all[] = {
        { "cautions", "Before anything is laid on it", always, section_fixture_cautions, "" },
        { "lying", "The part on the plate", always, section_fixture_lying, "sides" },
        { "seating", "What the stops do", always, section_fixture_seating, "" },
        { "stations", "Stations and loading", always, section_fixture_stations, "" },
        { "make", "Parts to make", always, section_fixture_parts, "" },
        { "drill", "Holes and windows", always, section_fixture_holes, "" },
        { "proof", "Gauging the plate", always, section_fixture_gauge, "" },
    };
    struct page page = {
        .job = design->job, .design = design, .findings = findings, .inch = design->job->machine.dialect.inch
    };

    return write_unplanned(&page, "fixture", "Fixture, designed and not yet proved", all, sizeof all / sizeof *all,
                           out);
}

/* Figures that hold for all of a load are taken from its first job. */
enum tw_status tw_load_html(const struct tw_run_outcome *outcome, size_t load, const struct tw_load_plan *plan,
                            char **out, struct tw_findings *findings)
{
    static const struct section all[] = {
        { "places", "Which blank where", always, section_load_places, "" },
        { "lying", "Packing along the tang", sheet_load_is_surveyed, section_load_packing, "" },
        { "programs", "Programs, in this order", always, section_load_programs, "" },
        { "roughed", "Between roughing and finishing", sheet_load_is_roughed, section_load_roughed, "" },
        { "readings", "Gauge sheet", always, section_load_gauge, "" },
        { "cautions", "Before a wheel turns", always, section_cautions, "" },
    };
    struct sheet_load shown = { outcome->request, outcome->layout, load, plan, outcome };
    struct tw_job named = plan->parts[0].job; /* a shallow copy: only the name is the load's */
    const struct tw_job *job = &named;
    struct tw_sheet sheet = { .job = job, .plan = &plan->parts[0].proven.plan };
    char name[128];
    struct page page = { .sheet = &sheet,
                         .job = job,
                         .plan = &plan->parts[0].proven.plan,
                         .load = &shown,
                         .findings = findings,
                         .inch = job->machine.dialect.inch };

    snprintf(name, sizeof name, "%s \u2013 load %zu", outcome->request->name,
             tw_run_load_number(outcome->layout, load));
    named.name = name;
    return write_unplanned(&page, "load", "One load of a run", all, sizeof all / sizeof *all, out);
}

enum tw_status tw_run_html(const struct tw_run_outcome *outcome, char **out, struct tw_findings *findings)
{
    static const struct section all[] = {
        { "sum", "In sum", always, section_run_sum, "" },
        { "gauged", "Finished parts so far", sheet_run_is_gauged, section_run_chart, "" },
        { "loads", "Load by load", sheet_run_has_loads, section_run_loads, "" },
        { "aside", "Set aside", always, section_run_aside, "" },
    };
    struct tw_job job = outcome->layout->job; /* a shallow copy: only the name is the run's */
    struct page page = { .job = &job, .outcome = outcome, .findings = findings, .inch = job.machine.dialect.inch };

    job.name = outcome->request->name;
    return write_unplanned(&page, "run", "A run of blanks", all, sizeof all / sizeof *all, out);
}

/* ---- figures ---- */

static void draw_variant(struct page *page, const char *id, const char *title, bool narrow, sheet_draw draw,
                         const void *what)
{
    struct canvas canvas = { .out = &page->out,
                             .id = id,
                             .title = title,
                             .narrow = narrow,
                             .inch = page->inch,
                             .width = narrow ? CANVAS_NARROW : CANVAS_WIDE,
                             .stretch = 1.0,
                             .scale = 1.0 };

    draw(page, &canvas, what);
}

void page_figure(struct page *page, const char *id, const char *title, const char *caption, sheet_draw draw,
                 const void *what)
{
    tw_text_print(&page->out, "<figure id=\"%s\">\n", id);
    draw_variant(page, id, title, false, draw, what);
    draw_variant(page, id, title, true, draw, what);
    tw_text_print(&page->out, "<figcaption><strong>%s.</strong> %s</figcaption>\n</figure>\n", title, caption);
}

void page_side_figure(struct page *page, const struct sheet_side *side, const char *id, const char *title,
                      const char *caption, sheet_draw draw, const void *what)
{
    char own_id[48], own_title[96];

    snprintf(own_id, sizeof own_id, "%s-%s", id, side->id);
    snprintf(own_title, sizeof own_title, "Side %s%s", side->name, title);
    page_figure(page, own_id, own_title, caption, draw, what);
}
