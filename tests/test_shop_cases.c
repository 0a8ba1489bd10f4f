/* test_shop_cases.c - jobs that once were planned wrongly or not at all: a relief cut into its bosses, a cut asked more power
 * than there was, a job could never pass, a drawing of very many teeth ended the program. Each is planned and its
 * programs pass their own dry-run, or is refused by one sentence that says why.
 *
 * The long ones are run by `make random-jobs` and `make every-test` (SHOP_CASES=all). */
#include "sanitized.h"

#include "check/check.h"
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

/* Seconds of processor time for one command; sanitizers take some twenty times as long. */
#if SANITIZED
#define MOST_S 400
#else
#define MOST_S 40
#endif

enum outcome { PASSES, REFUSED };

struct shop_case {
    const char *folder;
    enum outcome outcome;
    const char *words; /* of the refusal */
    bool is_long;
};

/* What must happen follows from the job: a relief that reaches its bosses' edge is shaped, one that a pad forbids cannot be;
 * what is ground 6 mm ahead of a tang drawn alone heats steel that is there, not the tang's first cells; where two lanes of a
 * cup share the width, the first must not hurry on while its rim is still in what the second will take; ahead of the taper
 * start a thick blank is ground as wide as the tang, and a round rim must not find the blade beside it deeper than the layer,
 * be it by lanes or by loops: two of these jobs once were called too hot or too long because it did; finishing layers thinner
 * than what the wheel loses in a layer of roughing are layers of their own nevertheless; a layer that only a less worn wheel would
 * cut begins somewhere too; a disc of 8 mm covers no lanes of 7.9 mm each, its overlap counted; a wheel dressed in the middle of a
 * part leaves no lane of a layer behind and cuts nothing deeper than a layer; on a machine of 1 N/um or so finishing goes as slowly,
 * and sparks out as often, as it must; far ahead of the taper start the blade takes up the heat of what is ground there, not the
 * last of it that is followed; a disc that finds room on a seventh of a relief takes its narrow strips too, for four fifths of what
 * it could hollow are not all; where a mounted point goes down on a loop of a millimetre, a step of the last decimal is a drop, and
 * it takes the longest leg for it; on light ramps a fresh rim's band is shorter and slower than any in the tables of the trade, and
 * both estimates of heat know it nevertheless; a lane that ends where a cell does is as warm as the cell beside it; loops that
 * are laid anew for a layer that begins elsewhere must not meet strips that the ones before left between them; loops that
 * begin farther ahead in each layer must run on one line, or the last decimal leaves a strip along the edge that only a later
 * one meets; a layer so thin that the cells find nothing in it waits, too, until its own cut would keep the limit; a face that
 * the dry-run finds a little too hot without its film is planned anew to be cooler without it, and if that does not do, to
 * have a film that lasts; loops that warm the tang by more than 95 K in one layer go with lighter cuts; a wheel is not worn by
 * what a relief has hollowed before; where slanting edges leave a disc hardly more room than it is wide, a tenth of a millimetre
 * across makes its trough half as long again; and where they leave it a twentieth less
 * than its width, the cells must not take it for room; where one face is
 * ground alone, roughed and finished, the other is no ground face on packing in the dry-run either; where finish.infeed is one step of the machine there is no second one to follow the wear
 * by; a hollow near the taper start loses much of its heat through the bare pad beside it; a relief without room for its wheel is
 * refused where its order is free, too; a ramp that power makes slow and so too hot goes down over more rounds; where one loop after the other makes the tang too warm, the wheel lifts between them; where a
 * corner is too near the one before to be a move of its own, the ways along its edge lie on one line nevertheless; and where the
 * wheel's wear on blanks of +-0.2 mm leaves more than the flatness on the thickest, measuring in between would do; and where a
 * clamp stands behind the butt the wheel comes down ahead of the taper start, if what stands there is low
 * enough; and where a front cuts a wedge off near its tip, both its edges run on to there as they were;
 * and a tang gives its heat to what carries it alone, and bends where nothing does; and what could not be planned a second time
 * keeps more back at once; and where a film is gone that was just to last, one that lasts by more is planned, no cooler face, be it a
 * flash that is too hot without it or the tempering by all of them;
 * and what a level cup's roughing leaves follows its lanes, so its finishing cuts over all their width; and troughs of a disc
 * that are half a millimetre long are wanted where the floor of a hollow is little more than that; and a film that boils far
 * below what its stated conductance says is asked to last by far more; and the order of a relief that coarse cells found clearly
 * quicker may take longer over fine ones than the other, which then has to be planned, too. */
static const struct shop_case cases[] = {
    { "beside-the-boss", PASSES, NULL, false },
    { "two-bosses", PASSES, NULL, true },
    { "short-and-thick", REFUSED, "to plan and prove them would take", true },
    { "long-and-hollow", REFUSED, "pad forbids the lane", true },
    { "thin-and-slow", PASSES, NULL, true },
    { "ahead-of-the-start", PASSES, NULL, true },
    { "two-lanes-of-a-cup", PASSES, NULL, false },
    { "round-rim-beside-the-blade", PASSES, NULL, true },
    { "loops-ahead-of-the-start", PASSES, NULL, true },
    { "levels-of-a-wearing-wheel", PASSES, NULL, false },
    { "layers-over-all-stock", PASSES, NULL, true },
    { "three-lanes-too-few", PASSES, NULL, true },
    { "warm-by-flashes", PASSES, NULL, true },
    { "dressed-between-layers", PASSES, NULL, true },
    { "soft-machine", PASSES, NULL, false },
    { "very-soft-machine", PASSES, NULL, true },
    { "light-taper", PASSES, NULL, false },
    { "narrow-strips-of-a-disc", PASSES, NULL, true },
    { "ramp-on-a-short-loop", PASSES, NULL, true },
    { "light-ramp", PASSES, NULL, true },
    { "lane-on-the-border-of-a-cell", PASSES, NULL, true },
    { "loops-laid-anew", PASSES, NULL, true },
    { "all-but-dry", PASSES, NULL, true },
    { "dry-on-the-thinnest", PASSES, NULL, true },
    { "topmost-layer-finds-nothing", PASSES, NULL, true },
    { "warms-itself", PASSES, NULL, true },
    { "ways-cut-off-at-a-front", PASSES, NULL, false },
    { "ways-cut-off-beside-a-hole", PASSES, NULL, true },
    { "hollowed-before-it-wears", PASSES, NULL, true },
    { "a-step-is-all-the-infeed", PASSES, NULL, false },
    { "room-between-slanting-edges", PASSES, NULL, true },
    { "troughs-half-a-millimetre-long", PASSES, NULL, true },
    { "one-face-in-turns", PASSES, NULL, false },
    { "just-as-wide-as-the-disc", PASSES, NULL, true },
    { "hollow-near-the-start", PASSES, NULL, true },
    { "nose-wider-than-the-disc", REFUSED, "so beside the disc it would reach 4.80 mm into the land", false },
    { "relief-without-room", REFUSED, "fits nowhere inside the land and bosses", false },
    { "slow-ramp", PASSES, NULL, true },
    { "loop-by-loop", PASSES, NULL, true },
    { "corners-near-each-other", PASSES, NULL, true },
    { "blanks-unlike-under-a-soft-wheel", REFUSED, "measuring between roughing and finishing", false },
    { "clamp-behind-the-butt", PASSES, NULL, true },
    { "neither-end-free", REFUSED, "leaves no room behind the butt, and rear spine stop, A up none ahead of the stock",
      false },
    { "wedge-at-a-front", PASSES, NULL, true },
    { "finishing-hotter-than-planned", PASSES, NULL, true },
    { "warm-relief-of-a-long-job", PASSES, NULL, true },
    { "lanes-of-a-level-cup", PASSES, NULL, true },
    { "film-lasts-by-a-hair", PASSES, NULL, true },
    { "tempered-where-the-film-boils", PASSES, NULL, true },
    { "film-at-its-lower-end", PASSES, NULL, true },
    { "order-turned-by-fine-cells", PASSES, NULL, true },
    { "on-a-rest", PASSES, NULL, false },
    { "on-a-short-rest", REFUSED, "the tang hangs free over its last 44 mm", false },
};

static const char *program(void)
{
    const char *given = getenv("TANGWRIGHT");

    return given ? given : "build/release/tangwright";
}

/* Exit status; what it said goes to `folder`/said. A crash is no exit. */
static int run(const char *folder, const char *words)
{
    char command[1200];
    bool ended;
    int status;

    snprintf(command, sizeof command, "ulimit -t %d; %s %s > %s/said 2>&1", MOST_S, program(), words, folder);
    status = system(command);
    ended = WIFEXITED(status) && WEXITSTATUS(status) < 126; /* the shell adds 128 to a signal's number */
    cr_assert(ended, "%s: ended by a signal", words);
    return WEXITSTATUS(status);
}

/* Sentences said besides notes; the last of them in `out`. */
static int sentences(const char *folder, char *out, int length)
{
    char path[200], line[2000];
    int count = 0;
    FILE *said;

    snprintf(path, sizeof path, "%s/said", folder);
    said = fopen(path, "r");
    cr_assert(said != NULL);
    out[0] = '\0';
    while (fgets(line, sizeof line, said)) {
        if (strncmp(line, "note: ", 6) == 0)
            continue;
        count++;
        snprintf(out, (size_t)length, "%.*s", length - 1, line);
    }
    fclose(said);
    return count;
}

/* The number behind `key` in a plan's summary. */
static double figure(const char *text, const char *key)
{
    char quoted[80];
    const char *at;

    snprintf(quoted, sizeof quoted, "\"%s\": ", key);
    at = strstr(text, quoted);
    cr_assert(at != NULL, "%s", key);
    return strtod(at + strlen(quoted), NULL);
}

/* What a plan says of its own temperatures is within the limit it says it keeps. */
static void expect_cool(const char *folder, const char *name)
{
    static char text[1 << 22];
    char path[200];
    size_t length;
    FILE *summary;
    double limit_degC;

    snprintf(path, sizeof path, "%s/out/summary.json", folder);
    summary = fopen(path, "r");
    cr_assert(summary != NULL);
    length = fread(text, 1, sizeof text - 1, summary);
    text[length] = '\0';
    fclose(summary);
    limit_degC = figure(text, strstr(text, "\"flash_limit\": \"strict\"") ? "limit_degC" : "flash_limit_degC");
    cr_expect(le(dbl, figure(text, "peak_with_reserve_degC"), limit_degC), "%s", name);
}

static void expect(const struct shop_case *c)
{
    char folder[] = "/tmp/tangwright-case-XXXXXX", words[600], sentence[2000];
    int status;

    cr_assert(mkdtemp(folder) != NULL);
    snprintf(words, sizeof words, "plan tests/shop/%s/job.cfg --out %s/out", c->folder, folder);
    status = run(folder, words);
    if (c->outcome == REFUSED) {
        cr_expect(eq(int, status, 4), "%s", c->folder);
        cr_expect(eq(int, sentences(folder, sentence, sizeof sentence), 1), "%s", c->folder);
        cr_expect(strstr(sentence, c->words) != NULL, "%s: %s", c->folder, sentence);
    } else {
        cr_assert(eq(int, status, 0), "%s", c->folder);
        expect_cool(folder, c->folder);
        snprintf(words, sizeof words, "dry-run tests/shop/%s/job.cfg $(ls %s/out/side-*.nc)", c->folder, folder);
        cr_expect(eq(int, run(folder, words), 0), "%s: refused by its own dry-run", c->folder);
    }
    snprintf(words, sizeof words, "rm -rf %s", folder);
    cr_expect(eq(int, system(words), 0));
}

Test(shop_cases, are_planned_and_pass_or_are_refused_with_the_reason)
{
    const char *asked = getenv("SHOP_CASES");
    bool all = asked && strcmp(asked, "all") == 0;

    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        if (all || !cases[i].is_long)
            expect(&cases[i]);
}

/* A tang 120 by 24 mm, both edges of 50,000 teeth 0.3 mm high: more corners than can be worked with, whatever they are
 * thinned to. */
static void write_comb(const char *folder)
{
    enum { TEETH = 50000 };
    char path[200], here[400];
    FILE *out;

    cr_assert(getcwd(here, sizeof here) != NULL);
    snprintf(path, sizeof path, "%s/comb.csv", folder);
    out = fopen(path, "w");
    cr_assert(out != NULL);
    for (int i = 0; i < 2 * TEETH; i++) {
        double x_mm = 120.0 * (i < TEETH ? i : 2 * TEETH - i) / TEETH, y_mm = 12.0 + (i % 2 ? 0.3 : 0.0);

        fprintf(out, "%.6f,%.6f\n", x_mm, i < TEETH ? y_mm : -y_mm);
    }
    cr_assert(eq(int, fclose(out), 0));
    snprintf(path, sizeof path, "%s/job.cfg", folder);
    out = fopen(path, "w");
    cr_assert(out != NULL);
    fprintf(out,
            "name = \"comb\"; outline: { file = \"comb.csv\"; unit = \"1 mm\"; };\n"
            "taper: { ricasso_thickness = \"3.0 mm\"; butt_thickness = \"1.5 mm\"; }; mount = \"tilted\";\n"
            "heat: { tempering_temperature = \"200 degC\"; };\n"
            "machine: { profile = \"%s/profiles/machines/vertical-mill.cfg\"; };\n"
            "wheel: { profile = \"%s/profiles/wheels/cup-cbn-75.cfg\"; };\n"
            "steel: { profile = \"%s/profiles/steels/low-alloy-52100.cfg\"; };\n"
            "coolant: { profile = \"%s/profiles/coolants/mist.cfg\"; };\n"
            "fixture: { profile = \"%s/profiles/fixtures/single-magnet.cfg\"; };\n",
            here, here, here, here, here);
    cr_assert(eq(int, fclose(out), 0));
}

Test(shop_cases, a_comb_is_refused_at_once)
{
    char folder[] = "/tmp/tangwright-case-XXXXXX", words[200], sentence[2000];

    cr_assert(mkdtemp(folder) != NULL);
    write_comb(folder);
    snprintf(words, sizeof words, "plan %s/job.cfg --out %s/out", folder, folder);
    cr_expect(eq(int, run(folder, words), 3));
    cr_expect(eq(int, sentences(folder, sentence, sizeof sentence), 1));
    cr_expect(strstr(sentence, "the outline has 100000 corners") != NULL, "%s", sentence);
    snprintf(words, sizeof words, "rm -rf %s", folder);
    cr_expect(eq(int, system(words), 0));
}
