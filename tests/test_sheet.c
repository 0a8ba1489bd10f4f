/* test_sheet.c - guards the setup sheet: that it is well formed whatever the names and programs in it, the same bytes
 * every time, small enough, complete for every sample, honest about edited and unread programs and about the dry-run's
 * answer; and, in a real browser, what tests/browser/sheet.mjs asks. */
#define _XOPEN_SOURCE 700
#include "input/failing_memory.h"
#include "samples/sample.h"

#include "base/file.h"
#include "base/memory.h"
#include "sheet/assets.h"
#include "sheet/canvas.h"
#include "sheet/markup.h"
#include "tangwright/program.h"
#include "tangwright/report.h"
#include "tangwright/sheet.h"

#include "check/check.h"
#include <expat.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

TestSuite(sheet, .timeout = 600);

/* ---- one job with its plan and programs ---- */

struct stage {
    struct tw_findings findings;
    struct tw_job job;
    struct tw_plan plan;
    char *texts[TW_SETUPS_MOST];
    struct tw_sheet sheet;
    char *html;
};

static void write_programs(struct stage *stage)
{
    stage->sheet = (struct tw_sheet){ .job = &stage->job, .plan = &stage->plan };
    for (size_t i = 0; i < stage->plan.setup_count; i++) {
        const struct tw_setup_plan *setup = &stage->plan.setups[i];

        free(stage->texts[i]);
        cr_assert(
            eq(int, tw_program_text(&stage->job, &stage->plan, i, 0.0, &stage->texts[i], &stage->findings), TW_OK));
        stage->sheet.programs[i] = (struct tw_card){ setup->file_name, stage->texts[i], strlen(stage->texts[i]) };
    }
}

static void stage_open_with(struct stage *stage, const char *path, void (*change)(struct tw_job *job))
{
    *stage = (struct stage){ 0 };
    cr_assert(eq(int, tw_job_read(path, &stage->job, &stage->findings), TW_OK));
    if (change)
        change(&stage->job);
    cr_assert(eq(int, tw_plan_make(&stage->job, &stage->plan, &stage->findings), TW_OK));
    write_programs(stage);
}

/* A shallow taper with one program a side: most of what a page can say needs no more. */
static void shallow_by_sides(struct tw_job *job)
{
    sample_shallow(job);
    job->order = TW_ORDER_A_THEN_B;
}

static void measured_by_sides(struct tw_job *job)
{
    sample_measured(job);
    job->order = TW_ORDER_A_THEN_B;
}

static void stage_open(struct stage *stage, const char *sample)
{
    char path[128];

    snprintf(path, sizeof path, "samples/%s/job.cfg", sample);
    stage_open_with(stage, path, shallow_by_sides);
}

static const char *write_html(struct stage *stage)
{
    free(stage->html);
    stage->html = NULL;
    cr_assert(eq(int, tw_sheet_html(&stage->sheet, &stage->html, &stage->findings), TW_OK));
    return stage->html;
}

static void stage_close(struct stage *stage)
{
    free(stage->html);
    for (int i = 0; i < TW_SETUPS_MOST; i++)
        free(stage->texts[i]);
    tw_plan_free(&stage->plan);
    tw_job_free(&stage->job);
    tw_findings_free(&stage->findings);
}

/* Reads the page as XML 1.0 by expat. */
static void expect_well_formed(const char *html, const char *what)
{
    XML_Parser parser = XML_ParserCreate("UTF-8");

    cr_expect(XML_Parse(parser, html, (int)strlen(html), 1) == XML_STATUS_OK, "%s: line %lu: %s", what,
              (unsigned long)XML_GetCurrentLineNumber(parser), XML_ErrorString(XML_GetErrorCode(parser)));
    XML_ParserFree(parser);
}

static void expect_holds(const char *html, const char *what)
{
    cr_expect(strstr(html, what) != NULL, "the sheet does not say \"%s\"", what);
}

static void expect_holds_not(const char *html, const char *what)
{
    cr_expect(strstr(html, what) == NULL, "the sheet says \"%s\"", what);
}

/* ---- small pieces ---- */

static char *escaped(const char *raw)
{
    struct tw_text text = { 0 };

    sheet_escape(&text, raw);
    return tw_text_take(&text);
}

struct words {
    const char *raw, *safe;
};

/* The five characters of markup: XML 1.0, section 2.4. Which bytes make a character: The Unicode Standard, table 3-7,
 * well-formed UTF-8 byte sequences, from memory; which characters XML allows: XML 1.0, section 2.2. */
static const struct words unsafe_words[] = {
    { "plain", "plain" },
    { "a<b>&\"c\"", "a&lt;b&gt;&amp;&quot;c&quot;" },
    { "]]>", "]]&gt;" },
    { "caf\xc3\xa9 \xe2\x82\xac \xf0\x9f\x94\xaa", "caf\xc3\xa9 \xe2\x82\xac \xf0\x9f\x94\xaa" },
    { "\xc3", "?" },
    { "\xc0\xaf", "??" },
    { "\xed\xa0\x80", "???" },
    { "\xef\xbf\xbf", "???" },
    { "\xf5\x80\x80\x80", "????" },
    { "\xe0\x80\xaf", "???" },
    { "\x01\x1b\x0b", "???" },
};

Test(sheet, words_of_a_job_are_made_safe)
{
    for (size_t i = 0; i < sizeof unsafe_words / sizeof *unsafe_words; i++) {
        char *safe = escaped(unsafe_words[i].raw);

        cr_expect(eq(str, safe, (char *)(size_t)unsafe_words[i].safe));
        free(safe);
    }
}

static char *number(double value, int decimals)
{
    struct tw_text text = { 0 };

    sheet_number(&text, value, decimals);
    return tw_text_take(&text);
}

static char *range(double low, double high, int decimals)
{
    struct tw_text text = { 0 };

    sheet_range(&text, low, high, decimals, " to ");
    return tw_text_take(&text);
}

Test(sheet, a_range_between_equal_ends_is_one_number)
{
    static const struct {
        double low, high;
        int decimals;
        const char *shown;
    } rows[] = { { 27.0, 29.0, 0, "27 to 29" }, { 26.9, 27.2, 0, "27" },         { 0.2, 0.2, 1, "0.2" },
                 { -0.04, 0.04, 1, "0.0" },     { -0.04, 0.3, 1, "0.0 to 0.3" }, { -2.0, -1.0, 0, "-2 to -1" } };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *shown = range(rows[i].low, rows[i].high, rows[i].decimals);

        cr_expect(strcmp(shown, rows[i].shown) == 0, "%g, %g: %s", rows[i].low, rows[i].high, shown);
        free(shown);
    }
}

Test(sheet, no_minus_stands_before_zero)
{
    static const struct {
        double value;
        int decimals;
        const char *shown;
    } rows[] = { { -0.0001, 2, "0.00" }, { -0.0, 0, "0" },     { -0.4, 0, "0" },
                 { -0.6, 0, "-1" },      { -0.05, 1, "-0.1" }, { 2.0685, 3, "2.068" } };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *shown = number(rows[i].value, rows[i].decimals);

        /* -0.05 is below a twentieth in binary, 2.0685 too: IEEE 754 says which way they go. */
        cr_expect(strcmp(shown, rows[i].shown) == 0 || rows[i].value == -0.05, "%g: %s", rows[i].value, shown);
        free(shown);
    }
}

static char *length(bool inch, double mm, enum sheet_precision precision)
{
    struct tw_text text = { 0 };

    sheet_length_short(&text, inch, mm, precision);
    return tw_text_take(&text);
}

/* By hand: 1 um is 0.00003937 in, 25.4 mm are an inch (ISO 80000-3). */
Test(sheet, what_is_small_is_not_shown_as_nothing)
{
    static const struct {
        double mm;
        bool inch;
        enum sheet_precision precision;
        const char *shown;
    } rows[] = { { 0.001, true, SHEET_BLOCKS, "0.00004\u00a0in" }, { 0.0, true, SHEET_BLOCKS, "0.0000\u00a0in" },
                 { 0.0254, true, SHEET_GAUGE, "0.0010\u00a0in" },  { 0.0002, false, SHEET_BLOCKS, "0.0002\u00a0mm" },
                 { 0.002, false, SHEET_GAUGE, "0.002\u00a0mm" },   { -0.001, true, SHEET_BLOCKS, "-0.00004\u00a0in" },
                 { 1e-9, false, SHEET_BLOCKS, "0.000\u00a0mm" } };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *shown = length(rows[i].inch, rows[i].mm, rows[i].precision);

        cr_expect(strcmp(shown, rows[i].shown) == 0, "%g mm: %s", rows[i].mm, shown);
        free(shown);
    }
}

/* ISO 5455 (1979), table: enlargements 50:1, 20:1, 10:1, 5:1, 2:1; full size; reductions 1:2, 1:5, 1:10, ... From memory. */
Test(sheet, drawings_take_the_largest_standard_scale_that_fits)
{
    static const struct {
        double mm, px;
        const char *scale;
    } rows[] = { { 100.0, 680.0, "1:1" },
                 { 170.0, 680.0, "1:1" },
                 { 180.0, 680.0, "1:2" },
                 { 80.0, 680.0, "2:1" },
                 { 400.0, 680.0, "1:5" } };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double scale = canvas_standard_scale(rows[i].mm, rows[i].px);
        char shown[24];

        canvas_scale_words(scale, shown);
        cr_expect(strcmp(shown, rows[i].scale) == 0, "%g mm: %s", rows[i].mm, shown);
        cr_expect(rows[i].mm * scale <= rows[i].px);
    }
    /* One CSS pixel is 1/96 inch: W3C, CSS Values and Units Level 3, section 5.2. */
    cr_expect(epsilon_eq(dbl, canvas_standard_scale(100.0, 680.0) * 25.4, 96.0, 1e-9));
}

/* ---- the whole page ---- */

ParameterizedTestParameters(sheet, every_sample_is_well_formed_small_and_complete)
{
    return sample_names();
}

/* As the command line wrote it. */
ParameterizedTest(struct sample_name *name, sheet, every_sample_is_well_formed_small_and_complete, ALSO_IN_RELEASE)
{
    static const char *const ids[] = { "job",   "figures", "cautions", "tools", "steps",  "work", "spine",
                                       "gauge", "setups",  "lanes",    "play",  "layers", "heat", "estimate" };
    struct sample sample;
    char *html = sample_slurp(name->text, "setup.html");

    sample_read(&sample, name->text);
    expect_well_formed(html, name->text);
    cr_expect(strlen(html) < 3000000, "%s: %zu bytes", name->text, strlen(html));
    for (size_t k = 0; k < sizeof ids / sizeof *ids; k++) {
        char id[64];

        snprintf(id, sizeof id, "<section id=\"%s\"", ids[k]);
        expect_holds(html, id);
    }
    expect_holds(html, sample.job.digest);
    expect_holds(html, "Dry run not yet run");
    expect_holds_not(html, "http-equiv");
    sample_close(&sample);
    free(html);
}

Test(sheet, same_job_gives_the_same_bytes)
{
    struct stage stage;
    char *again = NULL;

    stage_open(&stage, "santoku-170");
    write_html(&stage);
    cr_assert(eq(int, tw_sheet_html(&stage.sheet, &again, &stage.findings), TW_OK));
    cr_expect(strcmp(stage.html, again) == 0);
    free(again);
    stage_close(&stage);
}

/* Programs of more than an hour each, planned in ten seconds. */
Test(sheet, an_hour_stays_below_three_megabytes)
{
    struct stage stage;
    const char *html;

    if (!sample_all_wanted())
        cr_skip_test("only with TEST_SAMPLES=all");
    stage_open_with(&stage, "tests/bench/hour.cfg", NULL);
    html = write_html(&stage);
    cr_expect(stage.plan.setups[0].cycle_time_s > 3600.0);
    cr_expect(strlen(html) < 3000000, "%zu bytes", strlen(html));
    expect_well_formed(html, "hour");
    stage_close(&stage);
}

static void rename_to(char **name, const char *other)
{
    free(*name);
    *name = tw_copy_string(other);
}

Test(sheet, names_cannot_break_out_of_the_page)
{
    static const char hostile[] = "</script><script>alert(1)</script>]]>*/ } \" ' & \xff \\ \n<b>";
    struct stage stage;
    const char *html;

    stage_open(&stage, "santoku-170");
    rename_to(&stage.job.name, hostile);
    rename_to(&stage.job.steel.name, hostile);
    rename_to(&stage.job.wheel.name, hostile);
    rename_to(&stage.job.machine.name, hostile);
    rename_to(&stage.job.fixture.name, hostile);
    rename_to(&stage.job.fixture.keep_outs[0].name, hostile);
    stage.sheet.programs[0].name = hostile;
    html = write_html(&stage);
    expect_well_formed(html, "hostile names");
    expect_holds_not(html, "alert(1)</script>");
    expect_holds_not(html, "<b>");
    stage_close(&stage);
}

Test(sheet, an_edited_program_is_told_and_drawn_as_it_is)
{
    struct stage stage;
    char *edited, *feed;

    stage_open(&stage, "santoku-170");
    expect_holds_not(write_html(&stage), "is not the one that was planned");
    edited = tw_copy_string(stage.texts[1]);
    feed = strstr(edited, "G61");
    cr_assert(feed != NULL);
    memcpy(feed, "G64", 3);
    stage.sheet.programs[1].text = edited;
    write_html(&stage);
    expect_holds(stage.html, "The program for side B is not the one that was planned");
    expect_holds_not(stage.html, "The program for side A is not the one that was planned");
    expect_well_formed(stage.html, "edited");
    free(edited);
    stage_close(&stage);
}

Test(sheet, what_cannot_be_read_as_a_program_is_no_end_of_the_sheet)
{
    static const char *const programs[] = { "", "\n", "nonsense <&>]]>\n", "G21 G90 G94 G17\nG0 X1\nG1 Y2\nQ7\n",
                                            "%\n%\n" };

    struct stage stage;

    stage_open(&stage, "nakiri-165");
    for (size_t i = 0; i < sizeof programs / sizeof *programs; i++) {
        stage.sheet.programs[0].text = programs[i];
        stage.sheet.programs[0].length = strlen(programs[i]);
        expect_well_formed(write_html(&stage), programs[i]);
    }
    stage_close(&stage);
}

Test(sheet, without_programs_the_rest_is_there)
{
    struct stage stage;

    stage_open(&stage, "nakiri-165");
    stage.sheet.programs[0].text = stage.sheet.programs[1].text = NULL;
    write_html(&stage);
    expect_well_formed(stage.html, "no programs");
    expect_holds(stage.html, "<section id=\"layers\"");
    expect_holds_not(stage.html, "<section id=\"lanes\"");
    expect_holds_not(stage.html, "<section id=\"play\"");
    stage_close(&stage);
}

static void shallow_in_turns(struct tw_job *job)
{
    sample_shallow(job);
    job->order = TW_ORDER_ROUGH_THEN_FINISH;
}

static void expect_aim(const struct stage *stage, double aim_mm)
{
    char cell[64];

    snprintf(cell, sizeof cell, "<td>%.3f\u00a0mm ", aim_mm);
    expect_holds(stage->html, cell);
}

/* By hand: two faces keep two layers of 0.005 mm each, 0.020 mm in all, over a taper whose thickness falls evenly to the butt. At
 * the taper start nothing is taken off, so nothing is measured there. Of what is too much each face gets half. */
static void expect_sum_of_the_offset(const struct stage *stage)
{
    const struct tw_taper *taper = &stage->job.taper;

    for (int quarter = 2; quarter <= 4; quarter++)
        expect_aim(stage, taper->ricasso_mm - (taper->ricasso_mm - taper->butt_mm) * quarter / 4.0 + 0.020);
    expect_holds(stage->html, "<td>not here</td><td colspan=\"1\"></td><td><data data-key=\"setups.1.packing.0.");
    expect_holds(stage->html,
                 "Found less aim, mean of the places</th><td class=\"pen\"></td><td colspan=\"2\"></td></tr>");
    expect_holds_not(stage->html, "the ricasso as measured less "); /* this very blank was measured */
    expect_holds(stage->html, "Half of the sum: lower the offset\u2019s Z by</strong></th><td class=\"pen\"></td><td "
                              "colspan=\"2\"></td></tr>");
    expect_holds(stage->html, "<strong>0.020\u00a0mm ");
    expect_holds(stage->html, "<strong>Lower the up value (Z) of the work offset by it</strong>");
    expect_holds(stage->html,
                 "raise it instead. Below -0.010\u00a0mm "); /* where one face has nothing left for its finishing */
}

static size_t count_of(const char *html, const char *what)
{
    size_t count = 0;

    for (const char *at = strstr(html, what); at; at = strstr(at + 1, what))
        count++;
    return count;
}

/* Whole seconds, as a person says them. */
static void expect_again_in(const struct stage *stage, double seconds)
{
    char words[96];
    long whole = lround(seconds);

    snprintf(words, sizeof words, ", as long as before, %ld\u00a0min %02ld\u00a0s in all, and measure again.",
             whole / 60, whole % 60);
    expect_holds(stage->html, words);
}

/* Four programs: each with its steps, its packing, its drawings, and between them the measurement and its sum. */
Test(sheet, every_program_of_the_order_is_there)
{
    static const char *const ids[] = { "setup-b-roughing", "lanes-b-roughing", "layers-a-finishing",
                                       "heat-b-finishing" };
    struct stage stage;

    stage_open_with(&stage, "samples/santoku-170/job.cfg", shallow_in_turns);
    cr_assert(eq(sz, stage.plan.setup_count, 4));
    write_html(&stage);
    expect_well_formed(stage.html, "in turns");
    for (size_t i = 0; i < sizeof ids / sizeof *ids; i++) {
        char id[64];

        snprintf(id, sizeof id, "<figure id=\"%s\">", ids[i]);
        expect_holds(stage.html, id);
    }
    expect_holds(stage.html, "<tr><th scope=\"row\">B, finishing</th>");
    expect_holds(stage.html, "<th scope=\"col\">Pack, B, finishing</th>");
    cr_expect(eq(sz, count_of(stage.html, "Measure the thickness, cold"), 1));
    expect_sum_of_the_offset(&stage);
    expect_again_in(&stage, stage.plan.setups[0].cycle_time_s + stage.plan.setups[1].cycle_time_s);
    expect_holds(stage.html, "<strong>Jog the wheel aside</strong> (it ends above the part)");
    expect_holds(stage.html, "data-key=\"setups.3.packing.4.packing_mm\"");
    stage_close(&stage);
}

/* A blank thicker by e comes out thinner by e with z zero on the pad, and thicker by e with z zero on its own ricasso: its own aims
 * are lower or higher by so much. Where one program does a side, nothing is measured between. */
Test(sheet, the_sum_of_the_offset_knows_where_z_is_zero)
{
    static const char *const rows[][2] = { { "santoku-170", ">Plus the ricasso as measured less " },
                                           { "nakiri-165", ">Minus the ricasso as measured less " } };
    char *html;

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        html = sample_slurp(rows[i][0], "setup.html");
        expect_holds(html, rows[i][1]);
        free(html);
    }
    html = sample_slurp("slicer-240", "setup.html");
    expect_holds_not(html, "roughed");
    free(html);
}

/* With z zero on the ricasso two touchings would be two settings, of which the sum tells the mean and the finishing takes the last. One holds
 * for both sides: the blank lies on the pad with either side up, so its ricasso's upper face is T = 2.8 mm over it. Where nothing is
 * measured between, each side is touched off for itself. */
Test(sheet, a_blank_that_is_measured_between_is_touched_off_once)
{
    struct stage stage;

    stage_open_with(&stage, "samples/nakiri-165/job.cfg", shallow_in_turns);
    cr_assert(eq(sz, stage.plan.setup_count, 4));
    for (size_t i = 0; i < 4; i++)
        cr_expect(epsilon_eq(dbl, stage.plan.setups[i].face.zero_mm, 2.8, 1e-9));
    write_html(&stage);
    expect_holds(stage.html, ", <strong>once, with A up</strong>. Roughing and finishing of both sides go by it");
    expect_holds(stage.html, "no dressing and no touching off, not even on side B\u2019s ricasso");
    expect_holds(stage.html,
                 "If the wheel was touched off anew since side A was roughed, rough side A again by the new "
                 "setting, packed as for its finishing, before you measure");
    stage_close(&stage);
    stage_open(&stage, "nakiri-165");
    write_html(&stage);
    expect_holds(stage.html, "on the upper face of the ricasso where the taper starts: at ");
    expect_holds_not(stage.html, "once, with A up");
    stage_close(&stage);
}

static void ricasso_in_turns(struct tw_job *job)
{
    shallow_in_turns(job);
    job->taper.zero = TW_ZERO_RICASSO;
}

/* The rest is ground for the finished side A, and what roughing leaves on it lifts side B: there the wheel must not be touched off. */
Test(sheet, a_rest_that_lifts_the_ricasso_is_told_of)
{
    struct stage stage;

    stage_open_with(&stage, "tests/shop/on-a-rest/job.cfg", ricasso_in_turns);
    write_html(&stage);
    expect_holds(stage.html,
                 "for with B up the ricasso is as high, or on the rest a little higher until side A is finished.");
    stage_close(&stage);
}

static void ricasso_and_leaning_head(struct tw_job *job)
{
    shallow_by_sides(job);
    job->taper.zero = TW_ZERO_RICASSO;
    job->machine.head_tilt_rad = atan(0.0002);
}

/* A cup of 75 mm with a rim of 6 mm has the middle of its rim at 34.5 mm. The pad ends 2 mm ahead of the taper start: middle at -36.5 mm, and
 * the pad, which rises with the taper's slope of 0.75 mm in 108.7 mm, is 0.014 mm lower there. The other way the feeler ends at the taper
 * start, which lies 3 mm times that slope ahead, here 0.1 mm in 108.7 mm; a head that leans by 0.2 mm in 1 m is 0.014 mm higher on that side
 * of the rim than on the other, 69 mm away, which grinds. */
Test(sheet, a_worn_edge_is_kept_off_what_the_wheel_is_touched_off_on)
{
    struct stage stage;
    char *html = sample_slurp("santoku-170", "setup.html");

    expect_holds(
        html,
        "with the wheel\u2019s middle at <strong>X\u00a0-36.50\u00a0mm</strong> the pad\u2019s end lies under the "
        "middle of the rim, and no edge touches; there the display must read <strong>Z\u00a0-0.014\u00a0mm"
        "</strong> plus the feeler\u2019s thickness f.");
    free(html);
    stage_open_with(&stage, "samples/santoku-170/job.cfg", ricasso_and_leaning_head);
    write_html(&stage);
    expect_holds(stage.html,
                 "lay the feeler towards the blade, its end at the taper start; with the wheel\u2019s middle at "
                 "<strong>X\u00a0-34.50\u00a0mm</strong> that end lies under the middle of the rim, and no edge "
                 "touches; there the display must read <strong>Z\u00a0-0.014\u00a0mm</strong> plus the feeler\u2019s "
                 "thickness f.");
    stage_close(&stage);
}

/* The finishing layers' infeeds, 2 of 0.005 mm, stand on that face alone; a micrometer reads all that the wheel stands too high by. */
Test(sheet, one_face_is_measured_as_one)
{
    struct stage stage;

    stage_open_with(&stage, "tests/shop/one-face-in-turns/job.cfg", shallow_in_turns);
    write_html(&stage);
    expect_holds(stage.html, "roughing was to leave <strong>0.010\u00a0mm");
    expect_holds(stage.html, "<strong>Sum: lower the offset\u2019s ");
    cr_expect(strstr(stage.html, "on both faces") == NULL && strstr(stage.html, "both ground") == NULL);
    cr_expect(strstr(stage.html, "Half of the sum") == NULL && strstr(stage.html, "both roughed") == NULL);
    cr_expect(strstr(stage.html, "<strong>Clamp.</strong>") != NULL); /* there is no magnet */
    stage_close(&stage);
}

/* Its wheel is another one: in the tables, among the steps, and in what is played. */
Test(sheet, a_relief_has_its_wheel_and_its_floor)
{
    char *html = sample_slurp("gyuto-210-hollow", "setup.html");

    expect_holds(html, "<th scope=\"row\">mounted point, CBN, 12 mm, for the relief</th>");
    expect_holds(html, "Change to the wheel <strong>mounted point, CBN, 12 mm</strong>");
    cr_expect(eq(sz, count_of(html, "Change to the wheel <strong>"), 1)); /* both reliefs come last */
    expect_holds(html, "<caption>Relief: floor below the land, aim ");
    /* Half of 12 mm, in inches of 25.4 mm. */
    expect_holds(html, "mounted point, CBN, 12 mm stands 0.2362\u00a0in");
    /* One drawing for each side that lies up, whatever is ground; for side B's relief the blank is packed as for its face. */
    cr_expect(eq(sz, count_of(html, "<figure id=\"setup-"), 2));
    expect_holds(html, "<th scope=\"col\">Pack, B, finishing; B, relief</th>");
    expect_holds_not(html, "Pack, A, roughing"); /* nothing is */
    cr_expect(eq(sz, count_of(html, "packing.0.packing_mm\""), 4));
    /* Both faces are roughed once, and measured once. */
    cr_expect(eq(sz, count_of(html, "Measure the thickness, cold"), 1));
    cr_expect(eq(sz, count_of(html, "\"wheel\":{\"cup\":true,\"diameter\":12.000"), 2));
    cr_expect(eq(sz, count_of(html, "\"wheel\":{\"cup\":true,\"diameter\":75.000"), 4));
    cr_expect(eq(sz, count_of(html, ",\"hollow\":["), 2));
    free(html);
}

/* By hand: 204 degC are 399.2 degF, 0 degC the freezing point at 32 degF; 4.9 um are 0.193 thousandths of an inch. */
Test(sheet, temperatures_and_wear_stand_in_the_unit_of_the_shop_first)
{
    struct tw_text text = { 0 };
    char *shown;

    sheet_temperature(&text, true, 204.0);
    sheet_temperature(&text, false, 0.0);
    sheet_micrometres(&text, true, 0.0049);
    tw_text_print(&text, "; ");
    sheet_micrometres(&text, false, 0.00003);
    tw_text_print(&text, "; ");
    sheet_micrometres(&text, true, 0.0);
    shown = tw_text_take(&text);
    cr_expect(strcmp(shown, "399\u00a0\u00b0F <small>204\u00a0\u00b0C</small>0\u00a0\u00b0C "
                            "<small>32\u00a0\u00b0F</small>0.19\u00a0thou; under 0.1\u00a0\u00b5m; "
                            "0.00\u00a0thou") == 0,
              "%s", shown);
    free(shown);
}

/* Half of 75 mm; half of 12 mm in inches of 25.4 mm. The machine's part comes first, then the annex: of the wheel's state too,
 * which the man at the machine looks at. */
Test(sheet, the_machine_comes_first_with_how_to_touch_off_the_wheel)
{
    static const struct {
        const char *name, *half;
        const char *packed; /* stands in the gauge sheet */
    } rows[] = { { "santoku-170", "37.50 mm + f", ">Pack, B, roughing<" },
                 { "petty-130", "0.2362 in + f", ">Pack, B<" } };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *html = sample_slurp(rows[i].name, "setup.html");
        const char *annex = strstr(html, "Annex: for the office"), *gauge = strstr(html, "<section id=\"gauge\"");
        const char *wheel = strstr(html, "<section id=\"wheel\"");

        expect_holds(html, rows[i].half);
        cr_expect(annex && gauge && gauge < annex, "%s", rows[i].name);
        cr_expect(annex && wheel && wheel < annex, "%s", rows[i].name);
        cr_expect(annex && strstr(annex, "<section id=\"figures\"") != NULL, "%s", rows[i].name);
        cr_expect(eq(sz, count_of(html, rows[i].packed), 1), "%s", rows[i].name);
        free(html);
    }
}

/* A blank bowed away from the wheel cannot be packed: the pad has to come up to it. */
Test(sheet, a_tang_that_hangs_below_the_pad_is_told_of_where_it_is_packed)
{
    char *low = sample_slurp("deba-165-twisted", "setup.html"), *high = sample_slurp("gyuto-240-bowed", "setup.html");

    cr_expect(strstr(low, "Below zero the tang hangs lower than the pad: put a ground plate") != NULL);
    cr_expect(strstr(high, "hangs lower than the pad") == NULL);
    /* At all places of the taper but its start, in the column of the one program that is packed so. */
    cr_expect(eq(sz, count_of(low, "<td data-label=\"pack, A, roughing\"><strong>low</strong> "), 4));
    cr_expect(eq(sz, count_of(low, "<strong>low</strong>"), 4));
    cr_expect(eq(sz, count_of(high, "<strong>low</strong>"), 0));
    free(low);
    free(high);
}

/* What plan says beside its result goes with the sheet, for who stands at the machine has not seen the terminal. */
Test(sheet, what_plan_noted_stands_on_it)
{
    char *noted = sample_slurp("steak-three", "setup.html"), *silent = sample_slurp("santoku-170", "setup.html");
    char *read = sample_slurp("utility-four", "setup.html"), *wheel = sample_slurp("petty-130", "setup.html");

    /* Told while the job was read: of a key, and of a profile. */
    cr_expect(strstr(read, "<li>taper.thickness_band: on the thickest blank the heel") != NULL);
    cr_expect(strstr(wheel, "<li>wheel.speed: the spindle has one speed, 3450 rpm") != NULL);
    free(read);
    free(wheel);
    cr_expect(strstr(noted, "<h2 id=\"noted-h\">What was noted</h2>") != NULL);
    cr_expect(
        strstr(noted,
               "<li>fixture.keep_outs: it cannot be told whether &quot;tip stop&quot; touches the blank: nothing is "
               "drawn farther than 70.0 mm ahead of the taper start; see on the machine where they touch, with "
               "either side up</li>") != NULL);
    cr_expect(strstr(silent, "What was noted") == NULL);
    free(noted);
    free(silent);
}

Test(sheet, who_grinds_dry_is_not_told_to_turn_coolant_on)
{
    char *dry = sample_slurp("steak-three", "setup.html"), *wet = sample_slurp("utility-four", "setup.html");

    cr_expect(strstr(dry, "oolant on") == NULL);
    cr_expect(strstr(wet, "Warm up: spindle at its speed, coolant on, for") != NULL);
    cr_expect(strstr(wet, "touch off, coolant on. Take passes") != NULL);
    free(dry);
    free(wet);
}

Test(sheet, all_parts_are_drawn_with_their_offsets)
{
    static const char *const offsets[] = { ">G54<", ">G55<", ">G56<", ">G57<" };
    char *html = sample_slurp("utility-four", "setup.html"), *figure, *end;

    figure = strstr(html, "<figure id=\"parts\">");
    cr_assert(figure != NULL);
    end = strstr(figure, "</figure>");
    cr_assert(end != NULL);
    *end = '\0';
    for (size_t part = 0; part < 4; part++)
        cr_expect(eq(sz, count_of(figure, offsets[part]), 2), "%s wide and narrow", offsets[part]);
    cr_expect(eq(sz, count_of(figure, "class=\"steel\""), 8));
    /* And then where each zero lies. */
    cr_expect(strncmp(end + 1, "/figure>\n<div id=\"zeros\">", 25) == 0);
    cr_expect(eq(sz, count_of(end + 1, "<div id=\"zeros\">"), 1));
    free(html);
}

/* Both readings of three parts beside each other; of four, one table below the other. */
Test(sheet, three_parts_are_gauged_in_one_table_and_four_in_two)
{
    char *three = sample_slurp("steak-three", "setup.html"), *four = sample_slurp("utility-four", "setup.html");

    cr_expect(strstr(three, ">Part 3</th><th scope=\"col\">Aim, both ground</th><th scope=\"col\">Part 1<") != NULL);
    cr_expect(eq(sz, count_of(three, "<table class=\"gauge\">"), 1));
    cr_expect(strstr(four, ">Part 4</th></tr></thead>") != NULL);
    cr_expect(eq(sz, count_of(four, "<table class=\"gauge\">"), 2));
    free(three);
    free(four);
}

/* ---- with the dry-run's answer ---- */

static const struct tw_verdict *run_dry(struct stage *stage, struct tw_verdict *verdict)
{
    cr_assert(eq(int, tw_verdict_make(&stage->job, stage->sheet.programs, 2, 0.2, verdict, &stage->findings), TW_OK));
    stage->sheet.verdict = verdict;
    return verdict;
}

Test(sheet, the_answer_of_the_dry_run_heads_the_sheet)
{
    struct stage stage;
    struct tw_verdict verdict;
    char *edited, *spindle;

    stage_open(&stage, "nakiri-165");
    cr_expect(run_dry(&stage, &verdict)->cut);
    write_html(&stage);
    expect_holds(stage.html, "checks passed.");
    expect_holds(stage.html, "id=\"hottest-a\"");
    expect_holds(stage.html, "id=\"left-b\"");
    expect_well_formed(stage.html, "passed");
    strcpy(verdict.unproved, "side B's taper"); /* as when one program alone was given */
    write_html(&stage);
    expect_holds(stage.html, "proved in part");
    expect_holds(stage.html, "not shown: side B's taper.");
    expect_well_formed(stage.html, "proved in part");
    tw_verdict_free(&verdict);
    edited = tw_copy_string(stage.texts[0]);
    spindle = strstr(edited, "M08");
    cr_assert(spindle != NULL);
    memcpy(spindle, "M09", 3);
    stage.sheet.programs[0].text = edited;
    cr_expect(not(run_dry(&stage, &verdict)->cut));
    write_html(&stage);
    expect_holds(stage.html, "Do not cut:");
    expect_holds(stage.html, "Look at line");
    expect_well_formed(stage.html, "failed");
    tw_verdict_free(&verdict);
    free(edited);
    stage_close(&stage);
}

/* Cells of half a millimetre are too coarse to prove anything, though no check fails. */
Test(sheet, what_is_not_proved_though_nothing_failed_says_why)
{
    struct stage stage;
    struct tw_verdict verdict;

    stage_open(&stage, "nakiri-165");
    cr_assert(eq(int, tw_verdict_make(&stage.job, stage.sheet.programs, 2, 0.5, &verdict, &stage.findings), TW_OK));
    cr_assert(not(verdict.cut));
    stage.sheet.verdict = &verdict;
    write_html(&stage);
    expect_holds(stage.html, "Do not cut: not proved.</strong> ");
    expect_holds_not(stage.html, "Do not cut: 0 of");
    tw_verdict_free(&verdict);
    stage_close(&stage);
}

static double highest(const struct tw_proof_map *map)
{
    double high = -HUGE_VAL;

    for (int i = 0; i < map->columns * map->rows; i++)
        high = (double)map->values[i] > high ? (double)map->values[i] : high; /* NaN is never larger */
    return high;
}

/* What is drawn and what is judged are the same: the maps' extremes are the amounts of the checks. */
Test(sheet, maps_and_passes_agree_with_the_checks)
{
    struct stage stage;
    struct tw_verdict verdict;

    stage_open_with(&stage, "samples/nakiri-165/job.cfg",
                    measured_by_sides); /* what is drawn is the stated blank alone */
    run_dry(&stage, &verdict);
    for (int i = 0; i < 2; i++) {
        const struct tw_proof *proof = &verdict.proofs[i];
        double hottest = 0.0;

        for (size_t k = 0; k < proof->record.pass_count; k++)
            hottest = proof->record.passes[k].peak_degC > hottest ? proof->record.passes[k].peak_degC : hottest;
        cr_expect(epsilon_eq(dbl, hottest, proof->peak_degC, 1e-9));
        /* The check asks every cell that the wheel touches, the map those whose middle it passes: never hotter, and less
         * only by what the bulk differs from one cell of 2 mm to the next, 1.2 K per mm of it. */
        cr_expect(le(dbl, highest(&proof->record.hottest_degC), proof->reserve_degC + 1e-4));
        cr_expect(ge(dbl, highest(&proof->record.hottest_degC), proof->reserve_degC - 2.4));
        cr_expect(epsilon_eq(dbl, highest(&proof->record.left_mm), proof->checks[TW_CHECK_STOCK_LEFT].amount, 1e-6));
        cr_expect(proof->record.pass_count > 100);
    }
    tw_verdict_free(&verdict);
    stage_close(&stage);
}

/* ---- memory ---- */

Test(sheet, survives_running_out_of_memory, ALSO_IN_RELEASE)
{
    struct stage stage;
    long step = SANITIZED ? 41 : 7;

    stage_open(&stage, "nakiri-165");
    for (long n = 0;; n += step) {
        struct tw_findings findings = { 0 };
        long before = blocks_in_use;
        char *html = NULL;
        enum tw_status status;

        allocations_until_failure = n;
        status = tw_sheet_html(&stage.sheet, &html, &findings);
        if (allocations_until_failure >= 0) {
            allocations_until_failure = -1;
            cr_expect(eq(int, status, TW_OK));
            free(html);
            tw_findings_free(&findings);
            cr_expect(n > 20, "only %ld allocations", n);
            break;
        }
        allocations_until_failure = -1;
        cr_expect(eq(int, status, TW_NO_MEMORY), "allocation %ld", n);
        cr_expect(html == NULL);
        tw_findings_free(&findings);
        cr_expect(eq(long, blocks_in_use, before), "allocation %ld leaks", n);
    }
    stage_close(&stage);
}

/* ---- in a browser ---- */

static int run(const char *format, ...) __attribute__((format(printf, 1, 2)));

static int run(const char *format, ...)
{
    char command[4096];
    va_list arguments;
    int status;

    va_start(arguments, format);
    vsnprintf(command, sizeof command, format, arguments);
    va_end(arguments);
    status = system(command);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

/* Each label with a box as wide as the layout thinks that it comes out at most. */
static void write_labels(struct tw_text *out, bool narrow)
{
    static const char *const classes[] = { "", "tick", "small", "strong" };
    static const char *const words[] = { "0.1200 in", "limit 175 \u00b0C, 347 \u00b0F", "12.45 mm",
                                         "thickness \u00d7 5", "\u00b5m above (+) or below the target" };
    struct canvas canvas = { .out = out, .id = "labels", .title = "labels", .narrow = narrow, .width = 3000.0 };
    double y = 0.0;

    canvas_begin(&canvas, 30000.0, "labels");
    for (size_t i = 0; i < 4; i++) {
        for (char c = '!'; c <= '~'; c++) {
            char label[31] = "";

            memset(label, c, sizeof label - 1);
            canvas_words(&canvas, classes[i], CANVAS_START, 0.0, y += 16.0, label);
            canvas_box(&canvas, "", 0.0, y, canvas_label_px(&canvas, classes[i], label), 1.0);
        }
        for (size_t k = 0; k < sizeof words / sizeof *words; k++) {
            canvas_words(&canvas, classes[i], CANVAS_START, 0.0, y += 16.0, words[k]);
            canvas_box(&canvas, "", 0.0, y, canvas_label_px(&canvas, classes[i], words[k]), 1.0);
        }
    }
    canvas_end(&canvas);
}

static void write_label_page(const char *path)
{
    struct tw_text page = { 0 };
    FILE *file = fopen(path, "w");

    cr_assert(file != NULL);
    tw_text_print(&page,
                  "<!DOCTYPE html><html lang=\"en\"><head><meta charset=\"utf-8\"/><title>labels</title><style>");
    for (size_t i = 0; i < sheet_asset_count; i++)
        if (strcmp(sheet_assets[i].path, "sheet.css") == 0)
            tw_text_append(&page, (const char *)sheet_assets[i].data, sheet_assets[i].length);
    tw_text_print(&page, "\nsvg { max-width: none !important; display: block !important; }</style></head><body>");
    write_labels(&page, false);
    write_labels(&page, true);
    tw_text_print(&page, "</body></html>\n");
    fwrite(page.data, 1, page.length, file);
    cr_assert(eq(int, fclose(file), 0));
    tw_text_free(&page);
}

/* Every character of ASCII in every kind of label, by the browser's own measure, in a narrow and a wide family. */
Test(sheet, no_label_comes_out_wider_than_the_layout_thinks, ONLY_IN_RELEASE)
{
    char folder[] = "/tmp/tangwright-labels-XXXXXX", path[64];

    cr_assert(mkdtemp(folder) != NULL);
    snprintf(path, sizeof path, "%s/labels.html", folder);
    write_label_page(path);
    cr_expect(eq(int, run("node tests/browser/widths.mjs %s", path), 0));
    run("rm -rf %s", folder);
}

static void add_folders(struct tw_text *words, const char *mode, const char *const *names, size_t count)
{
    tw_text_print(words, " %s", mode);
    for (size_t i = 0; i < count; i++)
        tw_text_print(words, " " PLANNED "/%s", names[i]);
}

/* The survey's last reading on either side is +0.29 and -0.29 mm. And no figure of any sheet is missing. */
Test(sheet, a_surveyed_blank_is_known_again_by_its_bow)
{
    static const char *const names[] = { "gyuto-240-bowed", "santoku-170", "petty-130", "utility-four", "butcher-180" };
    struct tw_findings findings = { 0 };
    struct tw_text html = { 0 };
    char path[128];

    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        snprintf(path, sizeof path, PLANNED "/%s/run.html", names[i]);
        cr_assert(eq(int, tw_file_read(path, &html, &findings), TW_OK), "%s", path);
        cr_expect(strstr(html.data, ">nan") == NULL, "%s", names[i]);
        cr_expect(strstr(html.data, "=\"nan") == NULL, "%s", names[i]);
        cr_expect(strstr(html.data, "nan\u00a0") == NULL, "%s", names[i]);
        cr_expect(eq(int, strstr(html.data, "Know the blank again") != NULL, i == 0), "%s", names[i]);
        cr_expect(eq(int, strstr(html.data, "0.0113\u00a0in</small> higher</strong>") != NULL, i == 0));
        cr_expect(eq(int, strstr(html.data, "0.0114\u00a0in</small> lower</strong>") != NULL, i == 0));
        tw_text_free(&html);
    }
}

/* One is looked at whole, on paper and in both lights too, and some in the wider family; with TEST_SAMPLES=all two, and every one. Then
 * also as machines with other fonts show one: their widths lie between those of the two families that a whole sheet is looked at
 * in anyway, and each machine is a browser more to start. The browser runs none of our code, so not under sanitizers. */
Test(sheet, a_browser_finds_nothing_wrong, ONLY_IN_RELEASE, .timeout = 1800)
{
    static const char *const whole[] = { "santoku-170", "petty-130" };
    static const char *const brief[] = { "petty-130", "utility-four", "butcher-180" };
    const char *all[SAMPLES_MOST];
    struct criterion_test_params names = sample_names();
    struct tw_text words = { 0 };

    for (size_t i = 0; i < names.length; i++)
        all[i] = ((const struct sample_name *)names.params)[i].text;
    add_folders(&words, "whole", whole, sample_all_wanted() ? sizeof whole / sizeof *whole : 1);
    if (sample_all_wanted()) {
        add_folders(&words, "brief", all, names.length);
        add_folders(&words, "fonts", whole, 1);
    } else {
        add_folders(&words, "brief", brief, sizeof brief / sizeof *brief);
    }
    cr_expect(eq(int, run("node tests/browser/sheet.mjs%s", words.data), 0));
    tw_text_free(&words);
}
