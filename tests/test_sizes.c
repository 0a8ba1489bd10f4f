/* test_sizes.c - guards against a drawing in the wrong unit, a slip of the pen or the wrong temper that is planned in
 * silence, against honest unusual knives that are refused, and against SVG points that are read upside down.
 *
 * The usual sizes are common practice, no source; docs/job-reference.md lists them. */
#include "base/text.h"
#include "tangwright/job.h"

#include "input/folder.h"

#include "check/check.h"
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

TestSuite(sizes, .init = open_folder, .fini = close_folder);

struct knife {
    const char *drawing, *outline, *taper, *temper, *first, *held; /* first: of the job's root; held: of its fixture */
};

/* A petty of 230 mm, heel ahead of the taper start at x = 0; `scale` times that large. */
static void write_knife(const char *name, double scale)
{
    static const double corners[][2] = { { -120, 8 },  { -60, 10 }, { 0, 10 },   { 110, 11 },
                                         { 110, -12 }, { 0, -10 },  { -8, -22 }, { -90, -14 } };
    struct tw_text text = { 0 };

    for (size_t i = 0; i < 9; i++)
        tw_text_print(&text, "%.4f,%.4f\n", corners[i % 8][0] * scale, corners[i % 8][1] * scale);
    write_file(name, text.data);
    tw_text_free(&text);
}

static void write_job(const struct knife *knife)
{
    struct tw_text text = { 0 };

    tw_text_print(&text,
                  "name = \"knife\"; %s\n"                       /* 1 */
                  "outline: { file = \"%s\";\n"                  /* 2 */
                  "%s };\n"                                      /* 3 */
                  "taper: { butt_thickness = \"1.1 mm\";\n"      /* 4 */
                  "%s };\n"                                      /* 5 */
                  "mount = \"tilted\";\n"                        /* 6 */
                  "heat: { tempering_temperature = \"%s\"; };\n" /* 7 */
                  "machine: { profile = \"profiles/machines/vertical-mill.cfg\"; };\n"
                  "wheel: { profile = \"profiles/wheels/cup-cbn-75.cfg\"; };\n"
                  "steel: { profile = \"profiles/steels/plain-carbon-1095.cfg\"; };\n" /* usual: 200 degC */
                  "coolant: { profile = \"profiles/coolants/mist.cfg\"; };\n"
                  "fixture: { profile = \"profiles/fixtures/single-magnet.cfg\";\n" /* 12 */
                  "%s };\n",                                                        /* 13 */
                  knife->first ? knife->first : "", knife->drawing, knife->outline,
                  knife->taper ? knife->taper : "ricasso_thickness = \"3 mm\";",
                  knife->temper ? knife->temper : "200 degC", knife->held ? knife->held : "");
    write_file("job.cfg", text.data);
    tw_text_free(&text);
}

static enum tw_status read_job(const struct knife *knife, struct tw_job *job, char said[1024])
{
    struct tw_findings findings = { 0 };
    enum tw_status status;

    write_job(knife);
    status = tw_job_read("job.cfg", job, &findings);
    snprintf(said, 1024, "%s", findings.count ? findings.items[0].text : "");
    tw_findings_free(&findings);
    return status;
}

static void expect_first(const struct knife *knife, const char *wanted)
{
    struct tw_job job;
    char said[1024];
    enum tw_status status = read_job(knife, &job, said);

    cr_expect(eq(int, status, TW_BAD_INPUT));
    cr_expect(strcmp(said, wanted) == 0, "said   %s\nwanted %s", said, wanted);
    if (status == TW_OK)
        tw_job_free(&job);
}

/* How many findings hold these words, be they faults or remarks. */
static int says(const struct knife *knife, const char *words)
{
    struct tw_findings findings = { 0 };
    struct tw_job job;
    int count = 0;

    write_job(knife);
    if (tw_job_read("job.cfg", &job, &findings) == TW_OK)
        tw_job_free(&job);
    for (size_t i = 0; i < findings.count; i++)
        count += strstr(findings.items[i].text, words) != NULL;
    tw_findings_free(&findings);
    return count;
}

/* Besides others. */
static void expect_said(const struct knife *knife, const char *wanted)
{
    cr_expect(eq(int, says(knife, wanted), 1), "wanted %s", wanted);
}

static struct tw_job read_sound(const struct knife *knife)
{
    struct tw_job job;
    char said[1024];

    cr_assert(eq(int, read_job(knife, &job, said), TW_OK), "%s", said);
    return job;
}

static void expect_sound(const struct knife *knife)
{
    struct tw_job job = read_sound(knife);

    tw_job_free(&job);
}

/* ---- the drawing ---- */

/* 230 mm are 9.055 inches; 34 mm across, from the heel at -22 to the butt at 11 (33), are 1.299. */
Test(sizes, a_drawing_in_inches_taken_as_mm_is_asked_about)
{
    struct knife knife = { .drawing = "k.csv", .outline = "unit = \"1 mm\";" };

    write_knife("k.csv", 1.0 / 25.4);
    /* below 10 mm nothing is a knife at all */
    expect_first(&knife, "k.csv: the outline measures 9.055 by 1.299 mm, but a knife is 10 to 1000 mm long; its 9.055 "
                         "by 1.299 units would be 9.055 by 1.299 mm if they were mm, 230 by 33 mm if they were inches, "
                         "90.55 by 12.99 mm if they were cm; write in the outline of the job unit = \"1 in\";");
    write_knife("k.csv", 1.5 / 25.4);
    expect_first(&knife,
                 "job.cfg:3: outline.unit: the outline measures 13.58 by 1.949 mm, but a knife or its tang is 50 to "
                 "650 mm long: is the drawing in inches, so 345 mm long? Write unit = \"1 in\"; in the outline. Or is "
                 "it at a tenth of its size, or in cm, so 135.8 mm long? Write unit = \"10 mm\"; in the outline. If it "
                 "is right, write confirmed = \"outline 13.6 mm\"; in the job, outside of any group");
}

Test(sizes, a_drawing_at_a_tenth_of_its_size_is_asked_about)
{
    struct knife knife = { .drawing = "k.csv", .outline = "unit = \"1 mm\";" };
    static const char svg[] = "<svg xmlns='http://www.w3.org/2000/svg' width='30mm' height='10mm' viewBox='-15 -5 30 "
                              "10'><path d='M-12,-0.8 L-6,-1 0,-1 11,-1.1 11,1.2 0,1 -0.8,2.2 -9,1.4 Z'/></svg>";

    write_knife("k.csv", 0.1);
    expect_first(&knife,
                 "job.cfg:3: outline.unit: the outline measures 23 by 3.3 mm, but a knife or its tang is 50 to 650 mm "
                 "long: is the drawing at a tenth of its size, or in cm, so 230 mm long? Write unit = \"10 mm\"; in "
                 "the outline. If it is right, write confirmed = \"outline 23 mm\"; in the job, outside of any group");
    write_file("k.svg", svg);
    expect_first(
        &(struct knife){ .drawing = "k.svg", .outline = "" },
        "job.cfg:2: outline.file: the outline measures 23 by 3.3 mm, but a knife or its tang is 50 to 650 mm long: is "
        "the drawing at a tenth of its size, or in cm, so 230 mm long? Save it at its true size, 10 times as large; it "
        "carries its own unit. If it is right, write confirmed = \"outline 23 mm\"; in the job, outside of any group");
    write_knife("k.csv", 4.0);
    expect_first(&knife,
                 "job.cfg:3: outline.unit: the outline measures 920 by 132 mm, but a knife or its tang is 50 to 650 mm "
                 "long: is the drawing at ten times its size, so 92 mm long? Write unit = \"0.1 mm\"; in the outline. "
                 "If it is right, write confirmed = \"outline 920 mm\"; in the job, outside of any group");
    write_knife("k.csv", 8.0); /* 8 times 230 by 33 mm */
    expect_first(&knife,
                 "k.csv: the outline measures 1840 by 264 mm, but a knife is 10 to 1000 mm long; drawn at ten times "
                 "its size it would be 184 by 26.4 mm: write in the outline of the job unit = \"0.1 mm\";");
}

Test(sizes, a_tang_of_378_mm_is_asked_about_and_can_be_confirmed)
{
    struct knife knife = { .drawing = "t.csv", .outline = "unit = \"1 mm\";" };

    write_file("t.csv", "0,-12\n378,-12\n378,12\n0,12\n0,-12\n");
    expect_first(&knife,
                 "job.cfg:2: outline.taper_start: the tang behind the taper start is as long as 378 mm, but 50 to 200 "
                 "mm is usual: does the taper start where taper_start says, and is the drawing at its true size? If it "
                 "is right, write confirmed = \"tang 378 mm\"; in the job, outside of any group");
    knife.first = "confirmed = \"tang 378 mm\";";
    expect_sound(&knife);
    /* another length is another question; what is confirmed stays in the line to write */
    write_file("t.csv", "0,-12\n390,-12\n390,12\n0,12\n0,-12\n");
    expect_first(&knife,
                 "job.cfg:2: outline.taper_start: the tang behind the taper start is as long as 390 mm, but 50 to 200 "
                 "mm is usual: does the taper start where taper_start says, and is the drawing at its true size? If it "
                 "is right, write confirmed = \"tang 378 mm, tang 390 mm\"; in the job, outside of any group");
}

/* ---- what is written ---- */

Test(sizes, a_taper_of_12_8_mm_is_asked_about)
{
    struct knife knife = { .drawing = "k.csv",
                           .outline = "unit = \"1 mm\";",
                           .taper = "ricasso_thickness = \"3 mm\"; length = \"12.8 mm\";" };

    write_knife("k.csv", 1.0);
    expect_first(&knife,
                 "job.cfg:5: taper.length: 12.8 mm, but 40 to 200 mm is usual: should it be length = \"128 mm\";? If "
                 "it is right, write confirmed = \"taper 12.8 mm\"; in the job, outside of any group");
}

Test(sizes, steel_too_thick_is_asked_about_with_the_slip_that_it_may_be)
{
    struct knife knife = { .drawing = "k.csv",
                           .outline = "unit = \"1 mm\";",
                           .taper = "ricasso_thickness = \"19 mm\";" };

    write_knife("k.csv", 1.0);
    expect_first(&knife,
                 "job.cfg:5: taper.ricasso_thickness: 19 mm, but 1 to 8 mm is usual: should it be ricasso_thickness = "
                 "\"1.9 mm\";? If it is right, write confirmed = \"steel 19.0 mm\"; in the job, outside of any group");
    knife.first = "confirmed = \"tang 5 mm, steel 19.0 mm\";";
    expect_sound(&knife);
    /* as thick as no tang is: 40 mm where 4 were meant, 4 inches where mm were, 0.16 mm where inches were */
    knife.first = NULL;
    knife.taper = "ricasso_thickness = \"40 mm\";";
    expect_first(&knife,
                 "job.cfg:5: taper.ricasso_thickness: 40 mm, but 1 to 8 mm is usual: should it be ricasso_thickness = "
                 "\"4 mm\";? If it is right, write confirmed = \"steel 40 mm\"; in the job, outside of any group");
    knife.first = "confirmed = \"steel 40 mm\";";
    expect_sound(&knife);
    knife.first = NULL;
    knife.taper = "ricasso_thickness = \"4 in\";";
    expect_first(&knife,
                 "job.cfg:5: taper.ricasso_thickness: 101.6 mm, but 1 to 8 mm is usual: should it be "
                 "ricasso_thickness = \"4 mm\";? If it is right, write confirmed = \"steel 102 mm\"; in the job, "
                 "outside of any group");
}

Test(sizes, steel_too_thin_is_asked_about_with_the_slip_that_it_may_be)
{
    struct knife knife = { .drawing = "k.csv",
                           .outline = "unit = \"1 mm\";",
                           .taper = "ricasso_thickness = \"0.16 mm\";" };

    write_knife("k.csv", 1.0);
    expect_said(&knife,
                "job.cfg:5: taper.ricasso_thickness: 0.16 mm, but 1 to 8 mm is usual: should it be ricasso_thickness "
                "= \"0.16 in\";? If it is right, write confirmed = \"steel 0.2 mm\"; in the job, outside of any group");
}

Test(sizes, an_answer_that_no_question_asks_for_is_remarked)
{
    struct knife knife = { .drawing = "k.csv",
                           .outline = "unit = \"1 mm\";",
                           .taper = "ricasso_thickness = \"9 mm\";",
                           .first = "confirmed = \"tang 240 mm, steel 9 mm, steel 3.0 mm\";" };

    write_knife("k.csv", 1.0);
    expect_said(&knife, "job.cfg:1: confirmed: \"tang 240 mm\" answers no question that this job raises: that size is "
                        "usual, or another; leave it out");
    expect_said(&knife, "job.cfg:1: confirmed: \"steel 3.0 mm\" answers no question that this job raises: that size is "
                        "usual, or another; leave it out");
    expect_sound(&knife);
    cr_expect(eq(int, says(&knife, "\"steel 9 mm\""), 0));
}

/* ---- surveys ---- */

/* A blank that bows 0.28 mm towards side A: what a grows by, b falls by, for it stays as thick as it was. */
static const char even[] = "x [mm], a [mm], b [mm]\n-20, 0, 0\n-5, 0, 0\n20, 0.02, -0.02\n60, 0.12, -0.12\n"
                           "105, 0.28, -0.27\n";

static void write_survey(const char *from, const char *to)
{
    const char *at = strstr(even, from);
    struct tw_text text = { 0 };

    cr_assert(at != NULL);
    tw_text_print(&text, "%.*s%s%s", (int)(at - even), even, to, at + strlen(from));
    write_file("s.csv", text.data);
    tw_text_free(&text);
}

static struct knife surveyed(void)
{
    write_knife("k.csv", 1.0);
    return (struct knife){ .drawing = "k.csv",
                           .outline = "unit = \"1 mm\";",
                           .first = "survey: { file = \"s.csv\"; resolution = \"0.01 mm\"; reference = \"plate\"; };" };
}

Test(sizes, a_survey_with_the_sign_of_one_side_wrong_is_asked_about)
{
    struct knife knife = surveyed();

    write_survey("x", "x");
    expect_sound(&knife);
    write_file("s.csv",
               "x [mm], a [mm], b [mm]\n-20, 0, 0\n-5, 0, 0\n20, 0.02, 0.02\n60, 0.12, 0.12\n105, 0.28, 0.27\n");
    expect_said(&knife,
                "s.csv:6: at x = 105 mm the blank would be 0.55 mm thicker than at the ricasso, but within 0.1 mm is "
                "usual: is the sign of one side wrong? On both sides more steel is a larger number, so where a bowed "
                "blank's a grows its b falls; with b, or a, turned round the blank would be even to 0.01 mm. If it is "
                "right, write confirmed = \"uneven 0.55 mm\"; in the job, outside of any group");
    knife.first = "confirmed = \"uneven 0.55 mm\"; survey: { file = \"s.csv\"; resolution = \"0.01 mm\"; };";
    cr_expect(eq(int, says(&knife, "uneven"), 0));
}

Test(sizes, a_misread_height_or_thickness_of_a_survey_is_asked_about)
{
    struct knife knife = surveyed();

    write_survey("60, 0.12", "60, 0.90");
    expect_said(&knife, "s.csv:5: at x = 60 mm the blank would be 0.78 mm thicker than at the ricasso, but within 0.1 "
                        "mm is usual: are a and b right there? Where a bowed blank's a grows, its b falls by as much. "
                        "If it is right, write confirmed = \"uneven 0.78 mm\"; in the job, outside of any group");
    write_file("s.csv",
               "x [mm], thickness [mm], bow [mm]\n-20, 3, 0\n-5, 3, 0\n20, 2.9, 0\n60, 2.5, 0.1\n105, 2.9, 0.2\n");
    expect_said(&knife, "s.csv:5: at x = 60 mm the blank would be 0.50 mm thinner than at the ricasso, but within 0.3 "
                        "mm is usual: is that reading right? If it is right, write confirmed = \"uneven 0.50 mm\"; in "
                        "the job, outside of any group");
}

/* The knife is 12 mm wide to one side behind the taper start. */
Test(sizes, a_survey_beside_the_tang_is_refused)
{
    struct knife knife = surveyed();

    write_file("s.csv",
               "x [mm], y [mm], a [mm], b [mm]\n-20, 0, 0, 0\n-5, 0, 0, 0\n20, 60, 0, 0\n60, 0, 0, 0\n105, 0, 0, 0\n");
    expect_said(&knife, "s.csv:4: at x = 20 mm the reading lies 60 mm beside the taper axis, but the tang reaches 12.0 "
                        "mm at most; y counts from the axis");
}

/* ---- temper ---- */

/* 400 degF are (400 - 32)/1.8 = 204.4 degC. */
Test(sizes, a_temper_far_above_the_steels_usual_one_is_asked_about)
{
    struct knife knife = { .drawing = "k.csv", .outline = "unit = \"1 mm\";", .temper = "400 degC" };

    write_knife("k.csv", 1.0);
    expect_first(&knife, "job.cfg:7: heat.tempering_temperature: 400 degC is 200 K above what the steel's profile "
                         "calls usual, 200 degC: should it be tempering_temperature = \"400 degF\";, that is 204 degC? "
                         "If it is right, write confirmed = \"temper 400 degC\"; in the job, outside of any group");
    knife.temper = "350 degC";
    expect_first(&knife, "job.cfg:7: heat.tempering_temperature: 350 degC is 150 K above what the steel's profile "
                         "calls usual, 200 degC: should it be tempering_temperature = \"350 degF\";, that is 177 degC? "
                         "If it is right, write confirmed = \"temper 350 degC\"; in the job, outside of any group");
    knife.first = "confirmed = \"temper 350 degC\";";
    expect_sound(&knife);
    knife.temper = "600 degC";
    expect_first(&knife, "job.cfg:7: heat.tempering_temperature: 600 degC is 400 K above what the steel's profile "
                         "calls usual, 200 degC: is it this steel, and the temper of this very knife? If it is right, "
                         "write confirmed = \"temper 350 degC, temper 600 degC\"; in the job, outside of any group");
}

/* What stands on the plate's label, 120 N/cm2 on thick mild steel, is no pull on a thin blank; as friction is told 0.15 to 0.3 (sellers'
 * tables of magnetic plates). Twice the usual pull is nothing to ask about. */
Test(sizes, what_would_hold_too_well_is_asked_about)
{
    struct knife knife = { .drawing = "k.csv", .outline = "unit = \"1 mm\";", .held = "pull = \"120 N/cm2\";" };

    write_knife("k.csv", 1.0);
    expect_first(
        &knife,
        "job.cfg:13: fixture.pull: 120 N/cm2 is more than a magnet pulls on a thin blank, where about 20 N/cm2 is "
        "usual and more than 60 N/cm2 is asked about: is it what the plate is rated for on thick mild steel, 100 "
        "to 150 N/cm2? The pull test of docs/bench-tests.md settles it. If it is right, write confirmed = \"pull "
        "120 N/cm2\"; in the job, outside of any group");
    knife.first = "confirmed = \"pull 120 N/cm2\";";
    expect_sound(&knife);
    knife = (struct knife){ .drawing = "k.csv", .outline = "unit = \"1 mm\";", .held = "friction = 0.8;" };
    expect_first(&knife,
                 "job.cfg:13: fixture.friction: 0.8 is more than ground steel on a wet plate grips by: 0.15 to 0.3 is "
                 "usual, and more than 0.4 is asked about. The pull test of docs/bench-tests.md settles it. If it is "
                 "right, write confirmed = \"friction 0.8\"; in the job, outside of any group");
    knife.first = "confirmed = \"friction 0.80\";";
    expect_sound(&knife);
    knife.first = NULL;
    knife.held = "friction = 0.3; pull = \"40 N/cm2\";";
    expect_sound(&knife);
}

/* Thin paring steel and a short tang, a cleaver of 6 mm with a wide one, a 150 mm tang, a spring temper. */
Test(sizes, honest_unusual_knives_are_not_asked_about)
{
    struct knife knife = { .drawing = "k.csv",
                           .outline = "unit = \"1 mm\";",
                           .taper = "ricasso_thickness = \"1.3 mm\";" };

    write_file("k.csv", "0,-6\n62,-6\n62,6\n0,6\n0,-6\n");
    expect_sound(&knife);
    knife.taper = "ricasso_thickness = \"6 mm\";";
    write_file("k.csv", "0,-26\n150,-20\n150,20\n0,26\n0,-26\n");
    expect_sound(&knife);
    knife.temper = "300 degC";
    expect_sound(&knife);
}

/* ---- which way y counts ---- */

static const char svg_knife[] = "<svg xmlns='http://www.w3.org/2000/svg' width='300mm' height='100mm' viewBox='0 0 300 "
                                "100'><path d='M 30,52 L 90,50 150,50 260,49 260,72 150,70 142,82 60,74 Z'/></svg>";

Test(sizes, svg_points_may_be_written_as_the_drawing_program_shows_them)
{
    struct knife down = {
        .drawing = "k.svg",
        .outline = "points = \"y down\"; taper_start = [\"150 mm\", \"60 mm\"]; axis_towards = [\"250 mm\", \"61 mm\"];"
    };
    struct knife up = { .drawing = "k.svg",
                        .outline = "taper_start = [\"150 mm\", \"-60 mm\"]; axis_towards = [\"250 mm\", \"-61 mm\"];" };
    struct tw_job one, two;

    write_file("k.svg", svg_knife);
    one = read_sound(&down);
    two = read_sound(&up);
    cr_assert(eq(sz, one.part.tang.outer.count, two.part.tang.outer.count));
    for (size_t i = 0; i < one.part.tang.outer.count; i++) {
        cr_expect(eq(dbl, one.part.tang.outer.points[i].x_mm, two.part.tang.outer.points[i].x_mm));
        cr_expect(eq(dbl, one.part.tang.outer.points[i].y_mm, two.part.tang.outer.points[i].y_mm));
    }
    tw_job_free(&one);
    tw_job_free(&two);
}

Test(sizes, the_wrong_way_of_y_is_told_and_other_drawings_have_only_one)
{
    struct knife knife = { .drawing = "k.svg",
                           .outline = "points = \"y down\"; taper_start = [\"150 mm\", \"-60 mm\"];" };

    write_file("k.svg", svg_knife);
    expect_first(&knife, "job.cfg:3: outline.points: with y downwards the taper start (150, -60) mm lies 110.0 mm off "
                         "the steel; with y upwards it would lie on it: write points = \"y up\";");
    write_knife("k.csv", 1.0);
    knife = (struct knife){ .drawing = "k.csv", .outline = "unit = \"1 mm\"; points = \"y down\";" };
    expect_first(&knife, "job.cfg:3: outline.points: only SVG drawings count y downwards, and this is none; write "
                         "points = \"y up\"; and the points as the drawing has them");
}
