/* test_contacts.c - guards against a stop that stands in the blank unnoticed, a gap that is told wrong, and a blank that
 * nothing locates.
 *
 * The blank is a bar 200 mm long and 30 mm wide with a step, so that every distance follows by hand: ahead of the taper
 * start (x = 0) it reaches from y = -18 (edge) to y = 12 (spine), behind it from -12 to 12; with side B up the spine
 * lies at y = -12 and the edge at y = 18. Its front is cut off at x = -100, its butt stands at x = 90. */
#include "base/text.h"
#include "contacts/locate.h"
#include "contacts/turning.h"
#include "tangwright/contacts.h"
#include "witness/hold.h"

#include "input/folder.h"

#include "check/check.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

TestSuite(contacts, .init = open_folder, .fini = close_folder);
TestSuite(holding, .init = open_folder, .fini = close_folder);
TestSuite(turning, .init = open_folder, .fini = close_folder);

/* The front is not straight, so the whole knife is drawn. */
static const char whole_knife[] = "-100,-8\n-90,-18\n0,-18\n0,-12\n90,-12\n90,12\n-100,12\n-100,-8\n";

static const char job_text[] =
    "name = \"bar\";\n"                                                                               /* 1 */
    "outline: { file = \"bar.csv\"; unit = \"1 mm\"; };\n"                                            /* 2 */
    "taper: { ricasso_thickness = \"3 mm\"; butt_thickness = \"1.5 mm\"; };\n"                        /* 3 */
    "mount = \"level\"; parts = %d;\n"                                                                /* 4 */
    "heat: { tempering_temperature = \"200 degC\"; };\n"                                              /* 5 */
    "machine: { profile = \"profiles/machines/vertical-mill.cfg\"; };\n"                              /* 6 */
    "wheel: { profile = \"profiles/wheels/cup-cbn-75.cfg\"; };\n"                                     /* 7 */
    "steel: { profile = \"profiles/steels/low-alloy-52100.cfg\"; };\n"                                /* 8 */
    "coolant: { profile = \"profiles/coolants/mist.cfg\"; };\n"                                       /* 9 */
    "fixture: { profile = \"profiles/fixtures/four-station.cfg\"; touch_tolerance = \"0.2 mm\"; %s\n" /* 10 */
    "keep_outs = (\n"                                                                                 /* 11 */
    "%s\n"                                                                                            /* 12 */
    "); };\n";

#define PIN(name, sides, x, y)                                                                                         \
    "{ name = \"" name "\"; kind = \"pin\"; sides = \"" sides "\"; circle = [\"" x " mm\", \"" y                       \
    " mm\", \"6 mm\"]; top = \"2 mm\"; }"

static void write_job(const char *outline, const char *keep_outs, int parts, const char *stations)
{
    struct tw_text text = { 0 };

    write_file("bar.csv", outline);
    tw_text_print(&text, job_text, parts, stations, keep_outs);
    write_file("job.cfg", text.data);
    tw_text_free(&text);
}

static struct tw_job read_sound(const char *outline, const char *keep_outs)
{
    struct tw_findings findings = { 0 };
    struct tw_job job;
    enum tw_status status;

    write_job(outline, keep_outs, 1, "");
    status = tw_job_read("job.cfg", &job, &findings);
    cr_assert(eq(int, status, TW_OK), "%s", findings.count ? findings.items[0].text : "?");
    tw_findings_free(&findings);
    return job;
}

static struct tw_contacts contacts_of(const struct tw_job *job, enum tw_side side)
{
    struct tw_findings findings = { 0 };
    struct tw_contacts contacts;

    cr_assert(eq(int, tw_contacts_make(job, side, &contacts, &findings), TW_OK));
    cr_assert(eq(sz, findings.count, 0));
    return contacts;
}

/* Refused with this first line. */
static void expect_first(const char *wanted)
{
    struct tw_findings findings = { 0 };
    struct tw_job job;

    cr_expect(eq(int, tw_job_read("job.cfg", &job, &findings), TW_BAD_INPUT));
    cr_assert(gt(sz, findings.count, 0));
    cr_expect(strcmp(findings.items[0].text, wanted) == 0, "said   %s\nwanted %s", findings.items[0].text, wanted);
    tw_findings_free(&findings);
}

static void expect_said(const struct tw_findings *findings, size_t i, const char *wanted)
{
    cr_expect(strcmp(findings->items[i].text, wanted) == 0, "said   %s\nwanted %s", findings->items[i].text, wanted);
}

static void expect_words(const struct tw_fixture_contact *contact, const char *wanted)
{
    char words[256];

    tw_contact_words(contact, false, words, sizeof words);
    cr_expect(strcmp(words, wanted) == 0, "said   %s\nwanted %s", words, wanted);
}

/* ---- one stop ---- */

/* The pin's rim lies at y = 15.5 - 3 = 12.5, half a millimetre off the spine; with side B up the edge, at 18, stands
 * 18 - 12.5 = 5.5 mm over the rim, so there it may not be. */
Test(contacts, a_gap_is_told_to_the_hundredth_for_the_side_it_is_there)
{
    struct tw_job job = read_sound(whole_knife, PIN("stop", "a", "-50", "15.5"));
    struct tw_contacts a = contacts_of(&job, TW_SIDE_A), b = contacts_of(&job, TW_SIDE_B);

    cr_expect(eq(sz, a.count, 1));
    cr_expect(eq(sz, b.count, 0));
    cr_expect(eq(int, a.items[0].meeting, TW_MEETING_MISSES));
    cr_expect(
        epsilon_eq(dbl, a.items[0].gap_mm, 0.5, 4e-3)); /* the pin's 64 corners lie 0.0036 mm outside its circle */
    cr_expect(epsilon_eq(dbl, a.items[0].at.y_mm, 12.0, 1e-9));
    expect_words(&a.items[0], "\"stop\" misses the blank by 0.50 mm; nearest is (-50.0, 12.0) mm");
    cr_expect(a.nearest == &a.items[0]);
    tw_contacts_free(&a);
    tw_contacts_free(&b);
    tw_job_free(&job);
}

/* With side A up its lowest point, y = 9.5, lies 2.5 mm inside the spine at 12. The 64 corners of the pin stand
 * 3 (1/cos(pi/64) - 1) = 0.0036 mm outside of its circle. */
Test(contacts, a_pin_in_the_blank_is_refused_with_the_way_out)
{
    write_job(whole_knife, PIN("stop", "a", "-50", "12.5"), 1, "");
    expect_first("job.cfg:12: fixture.keep_outs[1]: with side A up \"stop\" stands inside the blank, 2.50 mm deep at "
                 "(-50.0, 9.5) mm of the setup, its top 2.00 mm above the blank's lower face; move it 2.50 mm towards "
                 "+y and it touches, or, if it is taken out for this side, write sides = \"b\";");
}

/* The same pin for both sides is free of A but stands in B's edge: 18 - (15 - 3) = 6 mm. */
Test(contacts, side_b_is_the_mirrored_blank_among_the_same_stops)
{
    write_job(whole_knife, PIN("stop", "both", "-50", "15"), 1, "");
    expect_first("job.cfg:12: fixture.keep_outs[1]: with side B up \"stop\" stands inside the blank, 6.00 mm deep at "
                 "(-50.0, 12.0) mm of the setup, its top 2.00 mm above the blank's lower face; move it 6.00 mm towards "
                 "+y and it touches, or, if it is taken out for this side, write sides = \"a\";");
}

/* Half of a burr and half of the drawing's error: 0.15 mm of overlap touches, 0.30 mm does not. */
Test(contacts, the_tolerance_decides_between_touching_and_inside)
{
    struct tw_job job = read_sound(whole_knife, PIN("stop", "a", "-50", "14.85"));
    struct tw_contacts a = contacts_of(&job, TW_SIDE_A);

    cr_expect(eq(int, a.items[0].meeting, TW_MEETING_TOUCHES));
    cr_expect(epsilon_eq(dbl, a.items[0].depth_mm, 0.15, 5e-3));
    tw_contacts_free(&a);
    tw_job_free(&job);
    write_job(whole_knife, PIN("stop", "a", "-50", "14.7"), 1, "");
    expect_first("job.cfg:12: fixture.keep_outs[1]: with side A up \"stop\" stands inside the blank, 0.30 mm deep at "
                 "(-50.0, 11.7) mm of the setup, its top 2.00 mm above the blank's lower face; move it 0.30 mm towards "
                 "+y and it touches, or, if it is taken out for this side, write sides = \"b\";");
}

/* ---- kinds ---- */

Test(contacts, a_pad_lies_under_and_a_clamp_on_the_blank)
{
    struct tw_job job = read_sound(
        whole_knife,
        "{ name = \"pad\"; kind = \"pad\"; box = [\"-30 mm\", \"-25 mm\", \"-2 mm\", \"25 mm\"]; top = \"0 mm\"; },"
        "{ name = \"plate\"; kind = \"body\"; box = [\"-200 mm\", \"-80 mm\", \"200 mm\", \"80 mm\"]; top = \"-4 mm\"; "
        "},"
        "{ name = \"clamp\"; kind = \"clamp\"; box = [\"-90 mm\", \"-30 mm\", \"-70 mm\", \"30 mm\"]; top = \"9 mm\"; "
        "}");
    struct tw_contacts a = contacts_of(&job, TW_SIDE_A);

    expect_words(&a.items[0], "\"pad\" carries the blank");
    expect_words(&a.items[1], "\"plate\" lies under the blank, 4.00 mm below it");
    expect_words(&a.items[2], "\"clamp\" lies on the blank");
    cr_expect(a.along + a.across + a.turning == 0);
    tw_contacts_free(&a);
    tw_job_free(&job);
}

/* A clamp whose top is below the blank's can only stand in it. */
Test(contacts, a_clamp_lower_than_the_blank_is_refused)
{
    write_job(
        whole_knife,
        "{ name = \"toe\"; kind = \"clamp\"; box = [\"-90 mm\", \"8 mm\", \"-70 mm\", \"30 mm\"]; top = \"2.5 mm\"; }",
        1, "");
    expect_first("job.cfg:12: fixture.keep_outs[1]: with side A up \"toe\" stands inside the blank, 4.00 mm deep at "
                 "(-90.0, 8.0) mm of the setup, its top 2.50 mm above the blank's lower face; a clamp on top of the "
                 "blank has its top above ricasso_thickness, 3 mm; one beside it is a kind = \"pin\"; that must not "
                 "overlap it");
}

Test(contacts, a_pad_that_stands_up_into_the_blank_is_refused)
{
    write_job(whole_knife,
              "{ name = \"pad\"; kind = \"pad\"; box = [\"-30 mm\", \"6 mm\", \"-2 mm\", \"25 mm\"]; top = \"1 mm\"; }",
              1, "");
    expect_first("job.cfg:12: fixture.keep_outs[1]: with side A up \"pad\" stands inside the blank, 6.00 mm deep at "
                 "(-30.0, 6.0) mm of the setup, its top 1.00 mm above the blank's lower face; a pad carries the blank "
                 "from below: write top = \"0 mm\"; or move it 6.00 mm towards +y");
}

/* With side B up the ground face A has risen by (3 - 1.5)/2 x/90: 0.5 mm at x = 60. A rest of that height carries B there,
 * and stands in the flat face of A. */
Test(contacts, the_lower_face_rises_towards_the_butt_with_side_b_up)
{
    const char *rest = "{ name = \"rest\"; kind = \"pad\"; sides = \"b\"; box = [\"60 mm\", \"-20 mm\", \"80 mm\", "
                       "\"20 mm\"]; top = \"0.5 mm\"; }";
    struct tw_job job = read_sound(whole_knife, rest);
    struct tw_contacts b = contacts_of(&job, TW_SIDE_B);

    expect_words(&b.items[0], "\"rest\" carries the blank");
    tw_contacts_free(&b);
    tw_job_free(&job);
    write_job(
        whole_knife,
        "{ name = \"rest\"; kind = \"pad\"; sides = \"a\"; box = [\"60 mm\", \"-22 mm\", \"80 mm\", \"20 mm\"]; top = "
        "\"0.5 mm\"; }",
        1, "");
    expect_first("job.cfg:12: fixture.keep_outs[1]: with side A up \"rest\" stands inside the blank, 12.00 mm deep at "
                 "(70.0, 0.0) mm of the setup, its top 0.50 mm above the blank's lower face; a pad carries the blank "
                 "from below: write top = \"0 mm\"; or move it 32.00 mm towards -y");
}

/* ---- what is drawn ---- */

Test(contacts, ahead_of_a_tang_drawn_alone_nothing_is_claimed)
{
    static const char tang[] = "0,-12\n90,-12\n90,12\n0,12\n0,-12\n",
                      with_ricasso[] = "-20,-12\n90,-12\n90,12\n-20,12\n-20,-12\n";
    struct tw_findings findings = { 0 };
    struct tw_job job = read_sound(tang, PIN("one", "both", "-50", "0") "," PIN("two", "both", "-80", "0"));
    struct tw_contacts a = contacts_of(&job, TW_SIDE_A);

    expect_words(&a.items[0], "\"one\" stands ahead of what is drawn");
    cr_expect(eq(dbl, a.drawn_from_mm, 0.0));
    tw_contacts_free(&a);
    job.fixture.clamp_force_N = 0.0;
    cr_assert(eq(int, tw_contacts_remark(&job, &findings), TW_OK));
    cr_assert(eq(sz, findings.count, 2)); /* the other: no pad is listed */
    expect_said(
        &findings, 0,
        "job.cfg: fixture.keep_outs: it cannot be told whether \"one\" and 1 more stop touch the blank: nothing "
        "is drawn ahead of the taper start; see on the machine where they touch, with either side up");
    tw_findings_free(&findings);
    tw_job_free(&job);
    job = read_sound(with_ricasso, PIN("one", "both", "-50", "0"));
    a = contacts_of(&job, TW_SIDE_A);
    cr_expect(eq(dbl, a.drawn_from_mm, -20.0));
    cr_expect(eq(int, a.items[0].meeting, TW_MEETING_NOT_DRAWN));
    tw_contacts_free(&a);
    tw_job_free(&job);
}

/* ---- what is located ---- */

static void expect_located(const char *keep_outs, bool along, bool across, bool turning)
{
    struct tw_job job = read_sound(whole_knife, keep_outs);
    struct tw_contacts a = contacts_of(&job, TW_SIDE_A);

    cr_expect(a.along == along && a.across == across && a.turning == turning, "%s: along %d across %d turning %d",
              keep_outs, a.along, a.across, a.turning);
    tw_contacts_free(&a);
    tw_job_free(&job);
}

/* Two points along the long edge and one at an end: the 3-2-1 rule of fixtures. */
Test(contacts, two_stops_on_the_edge_and_one_at_the_end_locate)
{
    expect_located(PIN("stop", "a", "-30", "15"), false, true, false);
    expect_located(PIN("stop", "a", "-30", "15") "," PIN("other", "a", "-80", "15"), false, true, true);
    expect_located(PIN("stop", "a", "-30", "15") "," PIN("other", "a", "-80", "15") "," PIN("end", "a", "-103", "5"),
                   true, true, true);
    expect_located(PIN("stop", "a", "-30", "15") "," PIN("other", "a", "-40", "15"), false, true, false);
    expect_located(PIN("end", "a", "-103", "5"), true, false, false);
    expect_located(PIN("stop", "a", "-30", "15.3"), false, false, false);
}

/* A pin against a pointed tip pushes along, though both edges there run lengthwise. */
Test(contacts, a_pin_against_the_tip_locates_along)
{
    struct tw_job job = read_sound("-100,0\n-60,-12\n90,-12\n90,12\n-60,12\n-100,0\n", PIN("tip", "both", "-103", "0"));
    struct tw_contacts a = contacts_of(&job, TW_SIDE_A);

    cr_expect(a.along && !a.across && !a.turning);
    tw_contacts_free(&a);
    tw_job_free(&job);
}

/* Twice 6 mm pins in 6.1 mm holes. */
Test(contacts, a_pin_in_a_hole_of_its_size_locates_both_ways)
{
    struct tw_text outline = { 0 };
    struct tw_job job;
    struct tw_contacts a;

    tw_text_print(&outline, "%s", whole_knife);
    for (int hole = 0; hole < 2; hole++) {
        tw_text_print(&outline, "\n");
        for (int i = 0; i < 64; i++)
            tw_text_print(&outline, "%.6f,%.6f\n", 20.0 + 50.0 * hole + 3.05 * cos(i * acos(-1.0) / 32.0),
                          3.05 * sin(i * acos(-1.0) / 32.0));
    }
    job = read_sound(outline.data, PIN("one", "both", "20", "0"));
    a = contacts_of(&job, TW_SIDE_A);
    cr_expect(a.along && a.across && !a.turning);
    tw_contacts_free(&a);
    tw_job_free(&job);
    job = read_sound(outline.data, PIN("one", "both", "20", "0") "," PIN("two", "both", "70", "0"));
    a = contacts_of(&job, TW_SIDE_B);
    cr_expect(a.along && a.across && a.turning);
    tw_contacts_free(&a);
    tw_job_free(&job);
    tw_text_free(&outline);
}

Test(contacts, what_nothing_locates_is_said_for_each_side_with_the_nearest_miss)
{
    struct tw_findings findings = { 0 };
    struct tw_job job = read_sound(whole_knife, PIN("stop", "a", "-50", "15.5"));

    cr_assert(eq(int, tw_contacts_remark(&job, &findings), TW_OK));
    cr_assert(eq(sz, findings.count, 4)); /* the others: no pad is listed, and no clamp */
    expect_said(&findings, 0,
                "job.cfg: fixture.keep_outs: with side A up nothing locates the blank along or across: \"stop\" misses "
                "the blank by 0.50 mm; nearest is (-50.0, 12.0) mm");
    expect_said(&findings, 1,
                "job.cfg: fixture.keep_outs: with side B up nothing locates the blank along or across: list its stops "
                "in the keep_outs of the job's fixture, each kind = \"pin\";");
    tw_findings_free(&findings);
    tw_job_free(&job);
}

/* ---- a drawing that lies otherwise ---- */

static enum tw_status read_sample(const char *name, const struct tw_instead *change, struct tw_job *job,
                                  struct tw_findings *findings)
{
    struct tw_text path = { 0 };
    enum tw_status status;

    tw_text_print(&path, "%s/samples/%s/job.cfg", home, name);
    status = tw_job_read_with(path.data, change, 1, job, findings);
    tw_text_free(&path);
    return status;
}

/* The first fault or remark about outline or stops. */
static const char *first_said(const struct tw_findings *findings)
{
    for (size_t i = 0; i < findings->count; i++)
        if (findings->items[i].key &&
            (strncmp(findings->items[i].key, "outline", 7) == 0 || strncmp(findings->items[i].key, "fixture", 7) == 0))
            return findings->items[i].text;
    return "";
}

static void expect_first_of_sample(const char *name, const char *key, const char *value, enum tw_status wanted,
                                   const char *words)
{
    struct tw_instead change = { key, value };
    struct tw_findings findings = { 0 };
    struct tw_job job;
    enum tw_status status = read_sample(name, &change, &job, &findings);

    cr_expect(eq(int, status, wanted), "%s", name);
    if (status == TW_OK) {
        cr_expect(eq(int, tw_contacts_remark(&job, &findings), TW_OK));
        tw_job_free(&job);
    }
    cr_expect(strstr(first_said(&findings), words) != NULL, "%s: said %s, wanted %s", name, first_said(&findings),
              words);
    tw_findings_free(&findings);
}

/* The samples' stops touch as their drawings lie; so with one word of the outline changed it is that word that is wrong. */
Test(contacts, a_mirrored_drawing_is_named_before_its_stops)
{
    static const char take_out[] =
        "outline.mirrored: all 3 pins of side A would touch the blank if the drawing were looked at from "
        "its other side: it seems that it shows the knife from side A; take mirrored = true out";

    expect_first_of_sample("chef-210", "outline.mirrored", "true", TW_BAD_INPUT, take_out);
    expect_first_of_sample("utility-four", "outline.mirrored", "true", TW_BAD_INPUT, take_out);
    expect_first_of_sample("santoku-170", "outline.mirrored", "true", TW_BAD_INPUT, take_out);
    expect_first_of_sample("bunka-170", "outline.mirrored", "none", TW_BAD_INPUT,
                           "it seems that it shows the knife from side B; write mirrored = true;");
}

/* The commonest slip: side B's stops are listed as side A's stand, though the blank is rolled over. */
Test(contacts, stops_that_are_not_turned_over_with_the_blank_are_named_as_such)
{
    struct tw_findings findings = { 0 };
    struct tw_job job;

    write_job(
        whole_knife,
        PIN("rear", "a", "-20", "15") "," PIN("front", "a", "-70", "15") "," PIN("tip", "both", "-103", "2") "," PIN(
            "rear, B", "b", "-20", "15") "," PIN("front, B", "b", "-70", "15"),
        1, "");
    cr_assert(eq(int, tw_job_read("job.cfg", &job, &findings), TW_BAD_INPUT));
    expect_said(
        &findings, 0,
        "job.cfg:11: fixture.keep_outs: all 3 pins of side B would touch the blank if they stood on the other side "
        "of the taper axis, and those of side A touch as they stand: rolled over the blank is mirrored, so list "
        "each for its own side (sides = \"a\"; or \"b\";) and change the sign of y of those for side B");
    tw_findings_free(&findings);
}

/* z counts from the top of the datum pad, as if the ricasso lay on it. */
Test(contacts, a_ricasso_that_lies_on_no_pad_is_told_of)
{
    static const struct {
        const char *pad, *words;
    } rows[] = {
        { "{ name = \"pad\"; kind = \"pad\"; box = [\"-32 mm\", \"-20 mm\", \"-2 mm\", \"20 mm\"]; top = \"-6 mm\"; }",
          "no pad carries the ricasso, though z counts from the top of the datum pad it is to lie on: \"pad\" lies "
          "under "
          "the blank, 6.00 mm below it; put a pad under it whose top is 0" },
        { "{ name = \"pad\"; kind = \"pad\"; box = [\"-32 mm\", \"40 mm\", \"-2 mm\", \"80 mm\"]; top = \"0 mm\"; }",
          "no pad carries the ricasso, though z counts from the top of the datum pad it is to lie on: \"pad\" misses "
          "the "
          "blank by 28.00 mm; nearest is (" },
        { "{ name = \"pad\"; kind = \"pad\"; box = [\"-32 mm\", \"-20 mm\", \"-2 mm\", \"20 mm\"]; top = \"0 mm\"; }",
          NULL },
        { "{ name = \"clamp\"; kind = \"clamp\"; box = [\"-60 mm\", \"-20 mm\", \"-50 mm\", \"20 mm\"]; top = \"9 "
          "mm\"; }",
          "no pad is listed, so the ricasso is taken to lie on the plate itself, and z counts from there; if it lies "
          "on a pad" },
    };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct tw_job job = read_sound(whole_knife, rows[i].pad);
        struct tw_findings findings = { 0 };
        bool said = false;

        cr_assert(eq(int, tw_contacts_remark(&job, &findings), TW_OK));
        for (size_t k = 0; k < findings.count; k++)
            said = said || strstr(findings.items[k].text, rows[i].words ? rows[i].words : "no pad carries") != NULL;
        cr_expect(said == (rows[i].words != NULL), "row %zu", i);
        tw_findings_free(&findings);
        tw_job_free(&job);
    }
}

/* One millimetre of a pad under the tang is a rest in every rule of heat and holding, and nothing is packed then. */
Test(contacts, a_pad_that_reaches_a_little_under_the_tang_is_told_of)
{
    static const struct {
        const char *pads;
        bool said;
    } rows[] = {
        { "{ name = \"pad\"; kind = \"pad\"; box = [\"-32 mm\", \"-20 mm\", \"1 mm\", \"20 mm\"]; top = \"0 mm\"; }",
          true },
        { "{ name = \"pad\"; kind = \"pad\"; box = [\"-32 mm\", \"-20 mm\", \"0 mm\", \"20 mm\"]; top = \"0 mm\"; }",
          false },
        { "{ name = \"pad\"; kind = \"pad\"; box = [\"-32 mm\", \"-20 mm\", \"300 mm\", \"20 mm\"]; top = \"0 mm\"; }",
          false },
        { "{ name = \"pad\"; kind = \"pad\"; box = [\"-32 mm\", \"-20 mm\", \"1 mm\", \"20 mm\"]; top = \"0 mm\"; }, "
          "{ name = \"rest\"; kind = \"pad\"; box = [\"20 mm\", \"-20 mm\", \"300 mm\", \"20 mm\"]; top = \"0 mm\"; }",
          false },
    };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct tw_job job = read_sound(whole_knife, rows[i].pads);
        struct tw_findings findings = { 0 };
        bool said = false;

        cr_assert(eq(int, tw_contacts_remark(&job, &findings), TW_OK));
        for (size_t k = 0; k < findings.count; k++)
            said = said || strstr(findings.items[k].text, "reaches 1.0 mm (0.039 in) behind the taper start") != NULL;
        cr_expect(said == rows[i].said, "row %zu", i);
        tw_findings_free(&findings);
        tw_job_free(&job);
    }
}

Test(contacts, a_misplaced_taper_start_is_named_with_its_shift_before_the_stops)
{
    expect_first_of_sample(
        "utility-four", "outline.taper_start", "[\"3 mm\", \"0 mm\"]", TW_BAD_INPUT,
        "outline.taper_start: all 3 pins of side A would touch the blank if the taper start lay 3.0 mm nearer to "
        "the tip: it seems that it is misplaced; if so, write taper_start = [\"0 mm\", \"0 mm\"];");
    /* 3 mm along the axis from (22, -13.5) */
    expect_first_of_sample(
        "chef-210", "outline.taper_start", "[\"19 mm\", \"-13.3 mm\"]", TW_OK,
        "would touch the blank if the taper start lay 3.0 mm nearer to the butt: it seems that it is misplaced; "
        "if so, write taper_start = [\"22 mm\", \"-13.5 mm\"];");
}

Test(contacts, of_stops_that_miss_the_farthest_is_named_too)
{
    struct tw_instead change = { "outline.taper_start", "[\"19 mm\", \"-13.3 mm\"]" };
    struct tw_findings findings = { 0 };
    struct tw_job job;
    bool said = false;

    cr_assert(eq(int, read_sample("chef-210", &change, &job, &findings), TW_OK));
    cr_expect(eq(int, tw_contacts_remark(&job, &findings), TW_OK));
    for (size_t i = 0; i < findings.count; i++) /* 3 mm ahead, but for the axis' slope of some hundredths */
        said = said || strstr(findings.items[i].text, "\"tip stop, A up\" misses it by most, 3.0");
    cr_expect(said);
    tw_job_free(&job);
    tw_findings_free(&findings);
}

/* The gyuto's sides changed over: the face below with A up, read 0.26 and 0.29 mm high at 110 and 122 mm, ends at 126.1 mm, by that slope
 * 0.30 mm below the pad's level. As it is it hangs nowhere. */
Test(contacts, a_tang_that_hangs_below_the_pad_is_told_of)
{
    static const char words[] = "with side A up the tang hangs up to 0.30 mm below the datum pad's level";
    struct tw_text survey = { 0 };

    write_file("turned.csv",
               "x [mm], b [mm], a [mm]\n-28, 0, 0\n-12, 0.01, 0\n-5, 0, 0\n10, 0.01, -0.01\n50, 0.09, -0.08\n80, "
               "0.18, -0.17\n110, 0.26, -0.26\n122, 0.29, -0.29\n");
    tw_text_print(&survey, "\"%s/turned.csv\"", folder);
    for (int turned = 0; turned < 2; turned++) {
        struct tw_instead change = { turned ? "survey.file" : "name", turned ? survey.data : "\"as it is\"" };
        struct tw_findings findings = { 0 };
        struct tw_job job;
        int said = 0;

        cr_assert(eq(int, read_sample("gyuto-240-bowed", &change, &job, &findings), TW_OK));
        cr_expect(eq(int, tw_contacts_remark(&job, &findings), TW_OK));
        for (size_t i = 0; i < findings.count; i++)
            said += strstr(findings.items[i].text, turned ? words : "hangs") != NULL;
        cr_expect(eq(int, said, turned));
        tw_job_free(&job);
        tw_findings_free(&findings);
    }
    tw_text_free(&survey);
}

/* One stop of three that is off by itself is the stop's fault, unless a shift explains it: here it stands off the spine. */
Test(contacts, a_single_stop_that_is_off_is_not_blamed_on_the_drawing)
{
    static const char *const names[] = { "chef-210", "utility-four", "santoku-170", "bunka-170" };
    static const struct tw_instead nothing = { "outline.butt", "none" };

    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        struct tw_findings findings = { 0 };
        struct tw_misplaced misplaced;
        struct tw_job job;

        cr_assert(eq(int, read_sample(names[i], &nothing, &job, &findings), TW_OK));
        cr_expect(eq(int, tw_contacts_misplaced(&job, TW_SIDE_A, &misplaced, &findings), TW_OK));
        cr_expect(eq(int, misplaced.how, TW_MISPLACED_NOT), "%s", names[i]);
        for (size_t k = 0; k < job.fixture.keep_out_count; k++) {
            struct tw_keep_out *pin = &job.fixture.keep_outs[k];

            if (strcmp(pin->name, "rear spine stop, A up") == 0)
                for (size_t p = 0; p < pin->plan.count; p++)
                    pin->plan.points[p].y_mm += job.placement.spine * 5.0;
        }
        cr_expect(eq(int, tw_contacts_misplaced(&job, TW_SIDE_A, &misplaced, &findings), TW_OK));
        cr_expect(eq(int, misplaced.how, TW_MISPLACED_NOT), "%s, a stop off the spine", names[i]);
        tw_job_free(&job);
        tw_findings_free(&findings);
    }
}

/* The spread of two unit pushes an angle a apart is 1 - cos a: 30 deg is the least that counts. */
Test(contacts, pushes_less_than_30_deg_apart_locate_one_way_only)
{
    for (int i = 0; i < 2; i++) {
        double angle_rad = (i == 0 ? 29.0 : 31.0) * acos(-1.0) / 180.0;
        struct tw_push pushes[2] = { { { 0.0, 0.0 }, { 0.0, 1.0 }, 1.0 },
                                     { { 0.0, 0.0 }, { sin(angle_rad), cos(angle_rad) }, 1.0 } };
        struct tw_located located = tw_locate(pushes, 2);

        cr_expect(located.across && located.along == (i == 1) && !located.turning);
    }
}

/* ---- stations ---- */

/* Stations 35 mm apart across: the blanks, 30 mm wide, are 5 mm apart, and a pin 8 mm off one's spine stands
 * in the other. */
Test(contacts, a_neighbours_stop_in_the_blank_is_refused)
{
    static const char close_by[] =
        "stations = ( { offset = \"G54\"; along = \"0 mm\"; across = \"0 mm\"; up = \"-200 mm\"; },"
        "{ offset = \"G55\"; along = \"0 mm\"; across = \"35 mm\"; up = \"-200 mm\"; } );";
    static const char too_close[] =
        "stations = ( { offset = \"G54\"; along = \"0 mm\"; across = \"0 mm\"; up = \"-200 mm\"; },"
        "{ offset = \"G55\"; along = \"0 mm\"; across = \"25 mm\"; up = \"-200 mm\"; } );";

    write_job(whole_knife, PIN("stop", "a", "-50", "20"), 2, close_by);
    expect_first(
        "job.cfg:10: fixture.stations: with side A up \"stop\" of station 1 stands inside the blank at station "
        "2, at (-50.0, -12.0) mm of its setup; set the stations farther apart or move the keep-out");
    write_job(whole_knife, "", 2, too_close);
    expect_first(
        "job.cfg:10: fixture.stations: with side A up the blanks at stations 1 and 2 overlap at (-90.0, 7.0) mm "
        "of the first one's setup; set the stations farther apart, or grind fewer parts at once");
}

/* ---- the heel ---- */

/* 0.3 mm over a slope of (3.0 - 1.5)/2 in 108.8 mm: 43.5 mm ahead. The heel stands out nearer than that; with z on
 * its own ricasso no blank's taper begins ahead. */
Test(contacts, a_band_whose_thickest_blank_would_be_ground_on_the_heel_is_refused)
{
    struct tw_instead ricasso[] = { { "taper.thickness_band", "0.3 mm" }, { "taper.height_zero", "ricasso" } };
    struct tw_findings findings = { 0 };
    struct tw_text path = { 0 };
    struct tw_job job;

    tw_text_print(&path, "%s/samples/santoku-170/job.cfg", home);
    cr_assert(eq(int, tw_job_read_with(path.data, ricasso, 1, &job, &findings), TW_BAD_INPUT));
    cr_expect(strstr(findings.items[0].text,
                     "the taper begins 43.5 mm ahead of the taper start, and the blade stands out beside the "
                     "tang from 12.2 mm on: its heel would be ground; write height_zero") != NULL,
              "%s", findings.items[0].text);
    tw_findings_free(&findings);
    cr_assert(eq(int, tw_job_read_with(path.data, ricasso, 2, &job, &findings), TW_OK));
    tw_text_free(&path);
    tw_job_free(&job);
    tw_findings_free(&findings);
}

/* ---- what holds ---- */

/* The same bar, its magnet and packing; wanted figures follow by hand. Ahead of the taper start 30 mm of pad over 30 mm of
 * width, of which with side B up the pad covers as much; behind it 90 mm of tang over 24 mm. */
#define PAD "{ name = \"pad\"; kind = \"pad\"; box = [\"-32 mm\", \"-20 mm\", \"-2 mm\", \"20 mm\"]; top = \"0 mm\"; }"

/* A pole distance of 2 mm: steel of 0.875 mm and more leads all flux, so thin parts lose nothing. */
static struct tw_job job_with(const char *words, const char *keep_outs)
{
    struct tw_findings findings = { 0 };
    struct tw_job job;

    write_job(whole_knife, keep_outs, 1, words);
    cr_assert(eq(int, tw_job_read("job.cfg", &job, &findings), TW_OK), "%s",
              findings.count ? findings.items[0].text : "?");
    tw_findings_free(&findings);
    return job;
}

static void expect_near(const char *what, double got, double wanted, double within)
{
    cr_expect(fabs(got - wanted) <= within, "%s is %.9g, not %.9g within %g", what, got, wanted, within);
}

Test(holding, side_a_lies_on_pad_and_magnet_with_the_steels_own_share)
{
    struct tw_job job = job_with("clamp_force = \"0 N\"; pull = \"20 N/cm2\"; pole_distance = \"2 mm\";", PAD);
    struct tw_holding holding = tw_holding_of(&job, TW_SIDE_A);
    double area_mm2 = 30.0 * 30.0 + 90.0 * 24.0;

    expect_near("the area", holding.area_mm2, area_mm2, 1e-6 * area_mm2);
    expect_near("what touches", holding.touching_mm2, area_mm2, 1e-6 * area_mm2);
    /* high carbon 0.7, hardened 0.8 */
    expect_near("the pull", holding.magnet_N, 0.2 * 0.7 * 0.8 * area_mm2, 1e-3);
    expect_near("the force", holding.sliding_N, 0.15 * 0.2 * 0.56 * area_mm2 / 2.0, 1e-3);
    tw_job_free(&job);
}

/* The gap opens from 0 to G = 0.75 mm: the mean of (1 + g/g0)^-2 over it is 1/(1 + G/g0) (integral by hand). */
Test(holding, side_b_over_shims_keeps_what_the_gap_leaves)
{
    struct tw_job job =
        job_with("clamp_force = \"0 N\"; pull = \"20 N/cm2\"; pole_distance = \"2 mm\"; gap_scale = \"0.15 mm\";", PAD);
    struct tw_holding holding = tw_holding_of(&job, TW_SIDE_B);

    expect_near("the pull", holding.magnet_N, 0.2 * 0.56 * (900.0 + 2160.0 / (1.0 + 0.75 / 0.15)), 0.03);
    expect_near("over solid steel", holding.solid_N, 0.2 * 0.56 * 3060.0, 1e-3);
    expect_near("the gap", holding.gap_mm, 0.75, 0.002);
    job.fixture.packing = TW_PACKING_STEEL;
    expect_near("with a wedge", tw_holding_of(&job, TW_SIDE_B).magnet_N, holding.solid_N, 1e-9);
    tw_job_free(&job);
}

/* Poles 10 mm apart: steel below 4.375 mm is full of flux, and pull goes with the square of the thickness. Side A done, it is
 * (3 + t)/2 with t from 3 to 1.5 mm; side B done, t. Means of the squares over the tang by hand: ((3^3 - 2.25^3)/(3 * 0.75))
 * and ((3^3 - 1.5^3)/(3 * 1.5)), over 3^2. */
Test(holding, a_tang_that_is_ground_thin_leads_less_flux)
{
    struct tw_job job = job_with("clamp_force = \"0 N\"; pull = \"20 N/cm2\"; packing = \"steel wedge\";", PAD);

    expect_near("side A", tw_holding_of(&job, TW_SIDE_A).magnet_N,
                0.2 * 0.56 * (900.0 + 2160.0 * (27.0 - 11.390625) / 2.25 / 9.0), 0.01);
    expect_near("side B", tw_holding_of(&job, TW_SIDE_B).magnet_N,
                0.2 * 0.56 * (900.0 + 2160.0 * (27.0 - 3.375) / 4.5 / 9.0), 0.01);
    tw_job_free(&job);
}

/* A rest from x = 10 to 70, 16 mm wide, level for side A; for side B it rises with the face: 0.75/90 a mm. */
Test(holding, through_rests_the_magnet_acts_where_they_touch)
{
    static const char rests[] =
        PAD ", { name = \"rest A\"; kind = \"pad\"; sides = \"a\"; box = [\"10 mm\", \"-8 mm\", \"70 mm\", "
            "\"8 mm\"]; top = \"0 mm\"; },"
            "{ name = \"rest B\"; kind = \"pad\"; sides = \"b\"; box = [\"10 mm\", \"-8 mm\", \"70 mm\", "
            "\"8 mm\"]; top = \"0.583333 mm\"; rise = \"0.5 mm\"; }";
    struct tw_job job = job_with("clamp_force = \"0 N\"; pull = \"20 N/cm2\"; pole_distance = \"2 mm\";", rests);

    for (int side = 0; side < 2; side++) {
        struct tw_holding holding = tw_holding_of(&job, (enum tw_side)side);

        cr_expect(holding.rests);
        expect_near("what touches", holding.touching_mm2, 900.0 + 60.0 * 16.0, 0.01);
        expect_near("the pull", holding.magnet_N, 0.2 * 0.56 * 1860.0, 0.01);
        cr_expect(holding.rests_carry);
    }
    tw_job_free(&job);
}

/* Once side B is ground, side A no longer lies on its level rest: at its rear end the tang stands 0.75 * 70/90 mm over it. */
Test(holding, a_level_rest_does_not_carry_a_face_that_is_ground)
{
    static const char rest[] = PAD ", { name = \"rest A\"; kind = \"pad\"; sides = \"a\"; box = [\"10 mm\", \"-8 mm\", "
                                   "\"70 mm\", \"8 mm\"]; top = \"0 mm\"; }";
    struct tw_job job = job_with(
        "clamp_force = \"0 N\"; pull = \"20 N/cm2\"; pole_distance = \"2 mm\"; packing = \"steel wedge\";", rest);
    struct tw_holding holding;

    job.task.over_ground = true;
    holding = tw_holding_of(&job, TW_SIDE_A);
    cr_expect(holding.rests && !holding.rests_carry);
    expect_near("what a wedge fills", holding.gap_mm, 0.75 * 70.0 / 90.0, 0.002);
    tw_job_free(&job);
}

/* A cantilever 24 mm wide whose thickness falls as t = b (c - x), loaded at its end e: with u = c - x and d = c - e its end goes
 * by 12/(E w) times the integral of (e - x)^2/t^3 = [ln u + 2 d/u - d^2/(2 u^2)]/b^3 from d to U = c - 70 (by hand from Euler and
 * Bernoulli's beam; E of hardened steel 210 kN/mm2). Side A done, t is 3 - 0.75 x/90, side B done 3 - 1.5 x/90. */
static double cantilever_mm_per_N(double b, double c, double from_mm, double end_mm, double wide_mm)
{
    double d = c - end_mm, u = c - from_mm;

    return 12.0 / (210e3 * wide_mm) * (log(u / d) + 2.0 * d / u - 2.0 - d * d / (2.0 * u * u) + 0.5) / (b * b * b);
}

Test(holding, what_hangs_free_bends_as_a_cantilever)
{
    static const char rest[] = PAD ", { name = \"rest\"; kind = \"pad\"; box = [\"10 mm\", \"-8 mm\", \"70 mm\", "
                                   "\"8 mm\"]; top = \"0 mm\"; }";
    struct tw_job job = job_with("clamp_force = \"0 N\"; pull = \"20 N/cm2\";", rest);

    for (int side = 0; side < 2; side++) {
        struct tw_overhang overhang = tw_overhang_of(&job, (enum tw_side)side);
        double b = (side + 1) * 0.75 / 90.0, bends = cantilever_mm_per_N(b, 3.0 / b, 70.0, 90.0, 24.0);

        expect_near("length", overhang.length_mm, 20.0, 0.1);
        expect_near("a push of 1 N", overhang.mm_per_N, bends, 0.015 * bends);
    }
    tw_job_free(&job);
    job = job_with("clamp_force = \"0 N\"; pull = \"20 N/cm2\";", PAD);
    expect_near("without a rest", tw_overhang_of(&job, TW_SIDE_A).mm_per_N, 0.0, 0.0);
    tw_job_free(&job);
}

/* What stands beside the tang or behind its butt is no rest under it. */
Test(holding, pads_elsewhere_do_not_count)
{
    struct tw_job job =
        job_with("clamp_force = \"0 N\"; pull = \"20 N/cm2\"; pole_distance = \"2 mm\";",
                 PAD ", { name = \"post\"; kind = \"pad\"; box = [\"95 mm\", \"-40 mm\", \"110 mm\", \"40 mm\"]; "
                     "top = \"0 mm\"; },"
                     "{ name = \"side\"; kind = \"pad\"; box = [\"10 mm\", \"13 mm\", \"60 mm\", \"30 mm\"]; "
                     "top = \"0 mm\"; }");
    struct tw_holding holding = tw_holding_of(&job, TW_SIDE_A);

    cr_expect(holding.rests == false);
    expect_near("the area", holding.area_mm2, 3060.0, 1e-3);
    tw_job_free(&job);
}

/* A clamp beside the blank holds nothing, whatever it is tightened with. */
Test(holding, clamps_that_all_miss_the_blank_count_nothing)
{
    struct tw_job job = job_with("clamp_force = \"3000 N\"; pull = \"20 N/cm2\"; pole_distance = \"2 mm\";",
                                 PAD ", { name = \"clamp\"; kind = \"clamp\"; box = [\"-90 mm\", \"60 mm\", \"-70 "
                                     "mm\", \"80 mm\"]; top = \"9 mm\"; }");

    for (int side = 0; side < 2; side++) {
        struct tw_holding missed = tw_holding_of(&job, (enum tw_side)side), without;
        struct tw_job loose = job;
        struct tw_findings findings = { 0 };
        double force_N;

        loose.fixture.clamp_force_N = 0.0;
        without = tw_holding_of(&loose, (enum tw_side)side);
        cr_expect(eq(dbl, missed.clamp_N, 0.0));
        expect_near("held", missed.force_N, without.force_N, 1e-12);
        cr_assert(eq(int, tw_witness_hold(&job, (enum tw_side)side, &force_N, &findings), TW_OK));
        expect_near("as the dry-run has it", force_N, without.force_N, 0.01 * without.force_N);
    }
    tw_job_free(&job);
}

/* On 1 mm2 mild steel bears 235 N (EN 10025-2:2019, table 6, S235: it yields); an overlap within the touch tolerance may be none. */
Test(holding, a_clamp_counts_for_what_its_seat_bears)
{
    const struct {
        const char *low_y;
        double clamp_N;
        const char *words;
    } rows[] = {
        { "0 mm", 235.0,
          "with side A up \"clamp\" has only 1 mm2 of the blank under it, and so counts with 235 N of its 3000 N: on "
          "more "
          "than 235 N/mm2 mild steel yields; set it farther over the blank" },
        { "11.9 mm", 0.0,
          "with side A up \"clamp\" reaches only 0.10 mm over the blank as it is drawn, no more than "
          "fixture.touch_tolerance, so it may miss it and counts as if it held nothing" },
    };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char keep_outs[400];
        struct tw_findings findings = { 0 }, remarks = { 0 };
        struct tw_job job;
        double high_mm = strtod(rows[i].low_y, NULL) + 1.0, force_N;
        struct tw_holding holding;
        bool said = false;

        snprintf(keep_outs, sizeof keep_outs,
                 PAD ", { name = \"clamp\"; kind = \"clamp\"; box = [\"-61 mm\", \"%s\", \"-60 mm\", \"%g mm\"]; top = "
                     "\"9 mm\"; }",
                 rows[i].low_y, high_mm);
        job = job_with("clamp_force = \"3000 N\"; pull = \"20 N/cm2\"; pole_distance = \"2 mm\";", keep_outs);
        holding = tw_holding_of(&job, TW_SIDE_A);
        expect_near("counts", holding.clamp_N, rows[i].clamp_N, 1e-6);
        cr_assert(eq(int, tw_witness_hold(&job, TW_SIDE_A, &force_N, &findings), TW_OK));
        expect_near("as the dry-run has it", force_N, holding.force_N, 0.01 * holding.force_N);
        cr_assert(eq(int, tw_contacts_remark(&job, &remarks), TW_OK));
        for (size_t k = 0; k < remarks.count; k++)
            said = said || strstr(remarks.items[k].text, rows[i].words);
        cr_expect(said, "%s", rows[i].words);
        tw_findings_free(&remarks);
        tw_job_free(&job);
    }
}

Test(holding, clamps_press_with_either_side_up)
{
    struct tw_job job =
        job_with("clamp_force = \"400 N\"; pull = \"0 N/cm2\"; friction = 0.2; holding_safety = 2.5;", PAD);

    for (int side = 0; side < 2; side++)
        expect_near("the force", tw_holding_of(&job, (enum tw_side)side).sliding_N, 0.2 * 400.0 / 2.5, 1e-12);
    tw_job_free(&job);
}

/* A relief in the face below: only its land, 6 mm wide, touches; nothing is hollow within 8 mm of the start or 6 mm of the butt. */
Test(holding, a_hollow_face_touches_with_its_land)
{
    struct tw_job job = job_with(
        "clamp_force = \"0 N\"; pull = \"20 N/cm2\"; pole_distance = \"2 mm\"; packing = \"steel wedge\";", PAD);

    job.relief.depth_mm = 0.3;
    expect_near("A not hollowed yet", tw_holding_of(&job, TW_SIDE_B).area_mm2, 3060.0, 0.01);
    job.task.below_hollowed = true;
    expect_near("side B", tw_holding_of(&job, TW_SIDE_B).area_mm2, 3060.0 - (84.0 - 8.0) * 12.0, 0.002 * 912.0 + 3.0);
    tw_job_free(&job);
}

/* ---- what turns ---- */

/* A strip 100 mm long, 1 N/mm evenly on it. */
static struct tw_pressing even_strip(void)
{
    struct tw_pressing pressing = tw_pressing_over(0.0, 100.0);

    for (int i = 0; i < 10000; i++)
        tw_press(&pressing, (i + 0.5) / 100.0, 0.0, 0.0, 0.01);
    return pressing;
}

static double turning_N(const struct tw_pressing *pressing, double x_mm, double below_mm, double ratio,
                        double *about_mm)
{
    struct tw_wheel_push push = { .x_mm = x_mm, .below_mm = below_mm, .friction = 0.2, .ratio = ratio };

    return tw_turning_N(pressing, &push, about_mm);
}

/* By hand: turning about s from the push takes mu p (s^2 + (L - s)^2) / 2 over s; least at s = L / sqrt(2), where it is
 * (sqrt(2) - 1) mu p L. Pushed in the middle it slides, and mu p L is needed. Pushed s0 = 30 mm beyond the end it is
 * mu p ((s - s0)^2 + (s0 + L - s)^2) / (2 s), least at s^2 = (s0^2 + (s0 + L)^2) / 2: mu p (2 s - 2 s0 - L). */
Test(turning, an_even_strip_turns_about_where_the_hand_says)
{
    struct tw_pressing strip = even_strip();
    double about_mm, s = sqrt((30.0 * 30.0 + 130.0 * 130.0) / 2.0);

    expect_near("at the end", turning_N(&strip, 100.0, 100.0, 0.0, &about_mm), 0.2 * 100.0 * (sqrt(2.0) - 1.0), 1e-3);
    expect_near("about", about_mm, 100.0 - 100.0 / sqrt(2.0), 0.2); /* half a slice */
    expect_near("at the other end", turning_N(&strip, 0.0, 0.0, 0.0, &about_mm), 0.2 * 100.0 * (sqrt(2.0) - 1.0), 1e-3);
    expect_near("about", about_mm, 100.0 / sqrt(2.0), 0.2);
    expect_near("in the middle", turning_N(&strip, 50.0, 50.0, 0.0, &about_mm), 20.0, 1e-3);
    expect_near("beyond", turning_N(&strip, 130.0, 130.0, 0.0, &about_mm), 0.2 * (2.0 * s - 160.0), 1e-3);
    expect_near("about", about_mm, 130.0 - s, 0.1);
}

/* Two clamps of 500 N 40 mm apart, pushed 170 mm from the far one: about that it takes mu 500 N 40/170; any other centre takes
 * more. The wheel's own pressing, three times its push with a friction of 0.2, takes 0.6 of it: 1/0.4 as much. Where the tang
 * hangs free and that acts 85 mm from the centre only, it takes 0.3. Of nothing that presses, nothing holds. */
Test(turning, two_clamps_turn_about_the_farther)
{
    struct tw_pressing clamps = tw_pressing_over(-100.0, 100.0), none = clamps;
    double about_mm, alone_N = 0.2 * 500.0 * 40.0 / 170.0;

    tw_press(&clamps, -80.0, 0.0, 0.0, 500.0);
    tw_press(&clamps, -40.0, 0.0, 0.0, 500.0);
    expect_near("clamps", turning_N(&clamps, 90.0, 90.0, 0.0, &about_mm), alone_N, 1e-3);
    expect_near("about", about_mm, -80.0, 0.01);
    expect_near("the wheel presses", turning_N(&clamps, 90.0, 90.0, 3.0, &about_mm), alone_N / 0.4, 1e-2);
    expect_near("farther in", turning_N(&clamps, 90.0, 5.0, 3.0, &about_mm), alone_N / 0.7, 1e-2);
    cr_expect(turning_N(&clamps, 90.0, 90.0, 5.0, &about_mm) == HUGE_VAL);
    expect_near("nothing", turning_N(&none, 90.0, 90.0, 0.0, &about_mm), 0.0, 0.0);
}

/* A disc of 20 mm, evenly pressed with N, is turned on the spot by 2/3 mu N R (the friction of a flat pivot: any textbook of
 * statics); by a push 2 m away that is nearly what happens. Beside the axis it is no different, with the centre there. */
Test(turning, a_disc_turns_as_a_flat_pivot)
{
    struct tw_pressing disc = tw_pressing_over(-10.0, 10.0), aside = disc;
    double about_mm, sum_N = 0.0;

    for (int i = 0; i < 10000; i++) {
        double x_mm = -10.0 + (i + 0.5) / 500.0, half_mm = sqrt(100.0 - x_mm * x_mm);

        tw_press(&disc, x_mm, -half_mm, half_mm, half_mm / 500.0);
        tw_press(&aside, x_mm, 7.0 - half_mm, 7.0 + half_mm, half_mm / 500.0);
        sum_N += half_mm / 500.0;
    }
    expect_near("pivot", turning_N(&disc, 2000.0, 2000.0, 0.0, &about_mm), 2.0 / 3.0 * 0.2 * sum_N * 10.0 / 2000.0,
                1e-3 * 0.2 * sum_N / 300.0);
    /* At x = 30 a push about a centre on the axis has the same lever for both: the answers are the same. */
    expect_near("aside", turning_N(&aside, 30.0, 30.0, 0.0, &about_mm), turning_N(&disc, 30.0, 30.0, 0.0, &about_mm),
                1e-4);
}

/* As above with two points of 0.1 mm under clamps of 2 N each, friction 0.15, safety 2, and the wheel's least ratio 2.5; the
 * third clamp misses the blank, and one that stands for side B only is not there. Pushed at the butt, x = 90. */
Test(turning, clamps_press_where_they_have_the_blank)
{
    struct tw_job job = job_with(
        "clamp_force = \"4 N\"; pull = \"0 N/cm2\";",
        PAD ", { name = \"far\"; kind = \"clamp\"; box = [\"-80.05 mm\", \"-0.05 mm\", \"-79.95 mm\", \"0.05 mm\"]; "
            "top = \"15 mm\"; }, "
            "{ name = \"near\"; kind = \"clamp\"; box = [\"-40.05 mm\", \"-0.05 mm\", \"-39.95 mm\", \"0.05 mm\"]; "
            "top = \"15 mm\"; }, "
            "{ name = \"beside\"; kind = \"clamp\"; box = [\"-70 mm\", \"30 mm\", \"-60 mm\", \"40 mm\"]; "
            "top = \"15 mm\"; }, "
            "{ name = \"other\"; kind = \"clamp\"; sides = \"b\"; box = [\"-20 mm\", \"-5 mm\", \"-10 mm\", \"5 mm\"]; "
            "top = \"15 mm\"; }");
    struct tw_holding holding;

    job.fixture.touch_tolerance_mm = 0.01;
    holding = tw_holding_of(&job, TW_SIDE_A);
    expect_near("sliding", holding.sliding_N, 0.3, 1e-9);
    expect_near("turning", holding.force_N, 0.075 * 2.0 * 40.0 / 170.0 / (1.0 - 0.15 * 2.5), 0.8e-4);
    cr_expect(holding.turns);
    expect_near("at", holding.push_mm, 90.0, 1e-9);
    expect_near("about", holding.about_mm, -80.0, 0.1);
    cr_expect(gt(dbl, tw_holding_N(&job, TW_SIDE_B), holding.force_N)); /* one more, and nearer */
    expect_near("for 5 N", tw_holding_clamps_N(&job, TW_SIDE_A), 4.0 * 5.0 / holding.force_N, 0.5);
    job.wheel.kind = TW_WHEEL_DISC; /* it pushes along */
    expect_near("a disc", tw_holding_N(&job, TW_SIDE_A), 0.3, 1e-9);
    tw_job_free(&job);
}

/* Side A roughed once more lies on side B as that was roughed since, over shims. One face alone never does. */
Test(turning, roughing_is_held_as_it_may_come_again)
{
    struct tw_job job = job_with("clamp_force = \"0 N\"; pull = \"20 N/cm2\";", PAD), over;
    double first_N = tw_holding_N(&job, TW_SIDE_A);

    over = job;
    over.task.over_ground = true;
    cr_expect(lt(dbl, tw_holding_N(&over, TW_SIDE_A), first_N));
    job.task.scope = TW_SCOPE_ROUGH;
    expect_near("roughing", tw_holding_N(&job, TW_SIDE_A), tw_holding_N(&over, TW_SIDE_A), 1e-12);
    cr_expect(tw_holding_of(&job, TW_SIDE_A).again);
    job.one_face = true;
    expect_near("one face", tw_holding_N(&job, TW_SIDE_A), first_N, 1e-12);
    tw_job_free(&job);
}
