/* test_fixture_verb.c - guards the verb fixture as a whole: what it writes, that check, plan and dry-run take it, that drawing and
 * profile agree, that the bars' programs leave the faces that were meant, and that every sample gets a fixture or hears why
 * not. A run of all samples through plan and dry-run, and of six stations of the petty, is `make fixtures`. */
#include "base/text.h"

#include "check/check.h"
#include "check/tree.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

static char folder[] = "/tmp/tangwright-test-XXXXXX";

static void open_folder(void)
{
    cr_assert(mkdtemp(folder) != NULL);
}

static void close_folder(void)
{
    check_remove(folder);
}

TestSuite(fixture_verb, .init = open_folder, .fini = close_folder);

static const char *program(void)
{
    const char *path = getenv("TANGWRIGHT");

    return path ? path : "build/release/tangwright";
}

/* %P the program, %F the folder of this test. */
static int run(const char *pattern)
{
    struct tw_text command = { 0 };
    int status;

    for (const char *c = pattern; *c; c++)
        if (c[0] == '%' && (c[1] == 'P' || c[1] == 'F'))
            tw_text_print(&command, "%s", *++c == 'P' ? program() : folder);
        else
            tw_text_append(&command, c, 1);
    status = system(command.data);
    tw_text_free(&command);
    return WEXITSTATUS(status);
}

static void expect_run(const char *pattern, int wanted)
{
    int status = run(pattern);

    cr_expect(eq(int, status, wanted), "%s", pattern);
}

Test(fixture_verb, a_job_is_planned_and_proved_on_its_fixture)
{
    expect_run("%P fixture samples/hunter-110/job.cfg --out %F/f >/dev/null 2>&1", 0);
    expect_run(
        "/usr/bin/python3 tests/reference/fixture_job.py samples/hunter-110/job.cfg %F/f/fixture.cfg 1 %F/job.cfg", 0);
    /* The bar's program tells its own zero, the tang's program that of the tang. */
    expect_run("%P plan %F/job.cfg --out %F/p >/dev/null 2>%F/notes.txt", 0);
    expect_run("grep -q '^(ZERO ON THE DATUM PAD AT THE TAPER START' %F/p/side-a.nc && "
               "! grep -q 'DATUM PAD' %F/f/rest-b/side-a.nc && "
               "grep -q '^(OF A BAR - AT ITS THICK END, ON THE PLATE' %F/f/rest-b/side-a.nc",
               0);
    /* Raised for the air beside it, and proved to be the same. */
    expect_run(
        "%P dry-run %F/f/rest-b/job.cfg %F/f/rest-b/side-a.nc %F/f/rest-b/air-side-a.nc --strict >%F/air.txt 2>&1 && "
        "grep -q '^(LIFTED BY .* CUTS AIR ONLY)' %F/f/rest-b/air-side-a.nc",
        0);
    expect_run("%P dry-run %F/job.cfg %F/p/side-*.nc --strict >/dev/null 2>&1", 0);
    /* Its rest for side A is flat: finished after both are roughed, side A would lie over a face that falls. */
    expect_run("test -s %F/p/side-a.nc && grep -q 'this fixture has one for side B alone' %F/notes.txt", 0);
    expect_run("sed 's/^fixture: *{/order = \"rough-then-finish\";\\n&packing = \"steel wedge\"; /' %F/job.cfg "
               "> %F/turns.cfg && %P plan %F/turns.cfg --out %F/t >/dev/null 2>&1 && test -s %F/t/side-a-finish.nc",
               0);
    /* There rest B goes into the place of the flat one for side A, and a blank thinner than stated bears on the other one. */
    expect_run("grep -q ' by rest B</label>' %F/t/setup.html && grep -q ' by the rest</label>' "
               "%F/t/setup.html && grep -q '; 0 where it is less, for then the rest carries it' %F/t/setup.html",
               0);
    /* Side A, which keeps two layers of 5 um, lies 0.010 mm higher than the rest is made for, and side B loses as much more: by hand a
     * quarter of 110 mm behind the start 3.7 - 2.0 / 4 + 0.010 mm. What is found beside that is the wheel's error once. */
    expect_run("grep -q '<td>3.210\xc2\xa0mm ' %F/t/setup.html && grep -q 'the ricasso as measured less "
               "3.710\xc2\xa0mm' %F/t/setup.html && grep -q 'Sum, or half of it where that is not 0: lower the "
               "offset' %F/t/setup.html",
               0);
}

/* Rest B was ground for a butt of 1.7 mm, over which a face of 1.5 mm falls 0.1 mm more. */
Test(fixture_verb, a_rest_for_another_taper_is_refused)
{
    expect_run("%P fixture samples/hunter-110/job.cfg --out %F/f >/dev/null 2>&1", 0);
    expect_run(
        "/usr/bin/python3 tests/reference/fixture_job.py samples/hunter-110/job.cfg %F/f/fixture.cfg 1 %F/job.cfg", 0);
    expect_run("sed 's/butt_thickness = \"1.7 mm\"/butt_thickness = \"1.5 mm\"/' %F/job.cfg > %F/thinner.cfg", 0);
    expect_run("%P check %F/thinner.cfg >%F/c.txt 2>&1", 3);
    expect_run("grep -q '\"rest B\" stands 0.[01][0-9]* mm lower than the face that lies on it, at x = ' %F/c.txt", 0);
    expect_run("sed 's/butt_thickness = \"1.7 mm\"/butt_thickness = \"1.9 mm\"/' %F/job.cfg > %F/thicker.cfg", 0);
    expect_run("%P plan %F/thicker.cfg --out %F/q >%F/c.txt 2>&1; test $? = 3 && ! test -e %F/q", 0);
    expect_run("grep -q '\"rest B\" stands 0.[01][0-9]* mm higher than the face that lies on it, at x = ' %F/c.txt", 0);
    expect_run("%P fixture %F/thinner.cfg --out %F/g >/dev/null 2>&1", 0);
}

/* Handles that drop away from the blade's axis, drawn as tangs alone, cover so little of the rest that the magnet holds neither them
 * nor, by the pull on their thin steel, the rest's own bar. */
Test(fixture_verb, dropped_handles_get_a_clamp_a_bar_that_can_be_ground_and_a_plan)
{
    expect_run("for s in carver-190 fillet-160 trimmer-130 slicer-240; do %P fixture samples/$s/job.cfg --out %F/$s "
               ">%F/$s.txt 2>&1 && grep -q '^  clamp  .*out of the wheel' %F/$s.txt && test -s %F/$s/rest-b/side-a.nc "
               "|| exit 9; done",
               0);
    /* Two of them have a clamp of their own. */
    expect_run("grep -q 'of 200 N at least' %F/trimmer-130.txt && grep -q 'of 200 N at least' %F/slicer-240.txt", 0);
    /* The rest cannot follow them: the tang's end hangs free, is said to, and wants a block. */
    expect_run("for s in carver-190 fillet-160; do grep -q 'hang free, and bend' %F/$s.txt || exit 9; "
               "/usr/bin/python3 tests/reference/fixture_job.py samples/$s/job.cfg %F/$s/fixture.cfg 1 %F/$s.cfg; "
               "%P plan %F/$s.cfg --out %F/p-$s 2>&1 | grep -q 'too high at the butt.*hangs free' || exit 8; done",
               0);
    /* With the block one of them is planned; the other with it, and every sample on its fixture, in `make fixtures`. */
    expect_run("s=carver-190; /usr/bin/python3 tests/reference/fixture_job.py samples/$s/job.cfg "
               "%F/$s/fixture.cfg 1 %F/$s.cfg 60 85 -30 0 && %P plan %F/$s.cfg --out %F/p-$s >/dev/null 2>&1 && "
               "%P dry-run %F/$s.cfg %F/p-$s/side-*.nc --strict >/dev/null 2>&1",
               0);
    expect_run("%P dry-run %F/carver-190/rest-b/job.cfg %F/carver-190/rest-b/side-a.nc --strict >/dev/null 2>&1", 0);
}

/* The folder of `new` with a drawing of one's own, as docs/first-knife.md goes on: the starter's stops stand inside the blade. */
Test(fixture_verb, stops_of_another_knife_do_not_stand_in_the_way)
{
    expect_run("%P new %F/n >/dev/null && cp samples/santoku-170/knife.svg %F/n", 0);
    expect_run("sed -i 's/file = \"outline.svg\";/file = \"knife.svg\"; taper_start = [\"201 mm\", \"-33.8 mm\"]; "
               "axis_towards = [\"305 mm\", \"-32 mm\"];/' %F/n/job.cfg",
               0);
    expect_run("%P check %F/n/job.cfg 2>&1 | grep -q '\"tip stop, A up\" stands inside the blank'", 0);
    expect_run("%P fixture %F/n/job.cfg --out %F/n/fixture >%F/f.txt 2>&1", 0);
    expect_run("grep -q 'what the job lists under keep_outs is not looked at' %F/f.txt", 0);
    expect_run(
        "sed -i -e 's,profiles/fixtures/single-magnet.cfg,fixture/fixture.cfg,' -e '/^    keep_outs = (/,/^    );/d' "
        "%F/n/job.cfg && %P check %F/n/job.cfg >%F/c.txt 2>&1",
        0);
    expect_run("test $(grep -c 'they locate it along, across, against turning' %F/c.txt) = 2", 0);
    /* What check says of parts without stations does what it says. */
    expect_run("sed -i 's/^parts = 1;/parts = 3;/' %F/n/job.cfg; %P check %F/n/job.cfg >%F/c.txt 2>&1", 3);
    expect_run("grep -q 'but the fixture has 1; tangwright fixture --stations 3 designs one' %F/c.txt", 0);
    expect_run("%P fixture %F/n/job.cfg --stations 3 --out %F/n/fixture >/dev/null 2>&1", 0);
    expect_run("%P check %F/n/job.cfg >/dev/null 2>&1", 0);
    expect_run("sed -i 's/\"3.2 mm\"/\"3.2 m\"/' %F/n/job.cfg; %P fixture %F/n/job.cfg --out %F/g >%F/f.txt 2>&1", 3);
    expect_run("grep -q 'taper.ricasso_thickness: \"3.2 m\" is out of range' %F/f.txt", 0);
}

/* The bar stands on the plate, 6 mm below the pad that is at -220 mm: -226 mm is out of reach, which no file of the bar's can mend. */
Test(fixture_verb, a_bar_that_cannot_be_ground_is_said_in_words_of_the_users_own_job)
{
    expect_run(
        "sed -e \"s,\\.\\./\\.\\./,$PWD/,\" -e \"s,file = \\\"tang,file = \\\"$PWD/samples/hunter-110/tang,\" -e "
        "'s,surface-grinder.cfg\";,surface-grinder.cfg\"; axes: { up: { travel_min = \"-222 mm\"; }; };,' "
        "samples/hunter-110/job.cfg >%F/job.cfg",
        0);
    expect_run("%P fixture %F/job.cfg --out %F/f >/dev/null 2>%F/e.txt", 4);
    expect_run("grep -q '^%F/job.cfg: fixture: no fixture: its rest for side B, a bar of soft steel .* cannot be "
               "ground .* of this "
               "job: fixture.stations\\[1\\].up: -226 mm lies outside the travel of machine.axes.up, -222 mm to 0 mm' "
               "%F/e.txt",
               0);
    expect_run("! grep -q tangwright-bar %F/e.txt && test ! -e %F/f", 0);
}

Test(fixture_verb, a_petty_on_two_stations_is_located_its_drawing_agrees_and_its_rest_fits_side_b)
{
    expect_run("%P fixture samples/petty-130/job.cfg --stations 2 --out %F/f >%F/table.txt 2>/dev/null", 0);
    expect_run("/usr/bin/python3 tests/reference/fixture_drawing.py %F/f 1 1 inch", 0);
    /* its machine reads inches: a pad of 32 to 2 mm ahead, 6 mm high; the rest's rear is touched off on the pad's rear edge */
    expect_run("grep -q 'pad  *x -1.260 in to -0.079 in, .* 0.2362 in over the plate' %F/table.txt", 0);
    expect_run("grep -q \"at the tang's x = -0.0787 in (-2.000 mm), reads\" %F/f/rest-b/job.cfg && "
               "grep -q '^# [XYZ] 0[.][0-9]* in (.* mm)[.]$' %F/f/rest-b/job.cfg",
               0);
    expect_run(
        "/usr/bin/python3 tests/reference/fixture_job.py samples/petty-130/job.cfg %F/f/fixture.cfg 2 %F/job.cfg", 0);
    expect_run("%P check %F/job.cfg >%F/check.txt 2>&1", 0);
    expect_run("test $(grep -c 'they locate it along, across, against turning' %F/check.txt) = 2", 0);
    /* T0 0.120 in, T1 0.062 in over the drawn length of 4.17 in: m = 0.029 / 4.17; pad 6 mm; the rest's ends from the profile */
    expect_run("%P dry-run %F/f/rest-b/job.cfg %F/f/rest-b/side-a.nc --strict >/dev/null 2>&1", 0);
    expect_run("set -- $(sed -n 's/.*\"rest B\".*box = \\[\"\\([0-9.]*\\) mm\", \"[-0-9.]* mm\", \"\\([0-9.]*\\) "
               "mm\".*/\\1 \\2/p' "
               "%F/f/fixture.cfg); /usr/bin/python3 tests/reference/fixture_bar.py %F/f/rest-b/side-a.nc inch disc "
               "87.5 tilted 6 "
               "$(python3 -c 'print((0.120-0.062)/2/4.17)') 0 $1 $2 -XZ",
               0);
    expect_run("%P dry-run %F/f/wedge/job.cfg %F/f/wedge/side-a.nc --strict >/dev/null 2>&1", 0);
}

/* Level, a disc, screwed down; the taper is reckoned over 108 mm: m = (3.2 - 1.6) / 216. The bar's axes are the machine's, turned by
 * half a turn: along -X, up Y. */
Test(fixture_verb, the_rest_of_a_level_job_is_the_face_that_side_b_needs)
{
    expect_run("mkdir -p %F/f/rest-b && echo '(TANGWRIGHT 0.1.0 - JOB rest-b - SIDE A)' > %F/f/rest-b/side-a.tap", 0);
    expect_run("%P fixture samples/chef-210/job.cfg --out %F/f >/dev/null 2>%F/notes.txt", 0);
    expect_run("grep -q 'f/rest-b/side-a.tap: is a program of an older plan, and is removed' %F/notes.txt", 0);
    expect_run("test ! -e %F/f/rest-b/side-a.tap", 0);
    expect_run("/usr/bin/python3 tests/reference/fixture_drawing.py %F/f 1 -1", 0);
    expect_run("%P dry-run %F/f/rest-b/job.cfg %F/f/rest-b/side-a.nc --strict >/dev/null 2>&1", 0);
    expect_run("set -- $(sed -n 's/.*\"rest B\".*box = \\[\"\\([0-9.]*\\) mm\", \"[-0-9.]* mm\", \"\\([0-9.]*\\) "
               "mm\".*/\\1 \\2/p' "
               "%F/f/fixture.cfg); /usr/bin/python3 tests/reference/fixture_bar.py %F/f/rest-b/side-a.nc mm disc 98.2 "
               "level 6 "
               "$(python3 -c 'print((3.2-1.6)/216)') 0 $1 $2 -XY",
               0);
    expect_run("test ! -e %F/f/wedge", 0);
    expect_run("node tests/browser/fixture.mjs %F/f/fixture.html", 0);
}

Test(fixture_verb, the_same_job_gives_the_same_bytes_and_only_files_of_fixtures_are_replaced)
{
    expect_run("%P fixture samples/nakiri-165/job.cfg --out %F/f >%F/1.txt 2>&1 && cp -r %F/f %F/g", 0);
    expect_run("%P fixture samples/nakiri-165/job.cfg --out %F/f >%F/2.txt 2>&1", 0);
    expect_run("diff -r %F/f %F/g && cmp %F/1.txt %F/2.txt", 0);
    expect_run("echo 'keep me' >%F/f/plate.svg; %P fixture samples/nakiri-165/job.cfg --out %F/f >/dev/null 2>&1", 5);
    expect_run("grep -qx 'keep me' %F/f/plate.svg && cmp -s %F/f/fixture.cfg %F/g/fixture.cfg", 0);
}

Test(fixture_verb, wrong_words_and_what_has_no_fixture_get_a_sentence_and_leave_no_folder)
{
    expect_run("%P fixture samples/petty-130/job.cfg --out %F/f --stations 10 2>&1 | grep -q -- '--stations: 10 is no "
               "number of'",
               0);
    expect_run("%P fixture samples/petty-130/job.cfg --out %F/f --stations 9 >/dev/null 2>%F/e.txt", 4);
    expect_run(
        "grep -q '9 stations of this knife, .* mm apart, need more room across than the machine has; 6 fit' %F/e.txt",
        0);
    expect_run("%P fixture samples/gyuto-240-bowed/job.cfg --out %F/f >/dev/null 2>%F/e.txt", 4);
    expect_run("grep -q 'survey.file: no fixture: the survey is of one bowed blank' %F/e.txt", 0);
    expect_run("test ! -e %F/f", 0);
}
