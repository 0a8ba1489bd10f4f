/* strip.h - a job small enough to be checked by hand: a strip 20 mm wide and 160 mm long, 60 mm of it blade, ground on
 * one face by a disc wider than the strip, in two passes of a program written by hand.
 *
 * Ricasso 3 mm, measured, so no band; butt 2.9 mm over 100 mm: the face falls by m = (3 - 2.9) / (2 * 100) = 0.0005, and
 * 0.05 mm come off at
 * the butt, without finishing layers. Tilted mount, so the finished face is level at 3 cos(atan(m)) mm, which is 3 mm less 0.4 nm. */
#ifndef TANGWRIGHT_TESTS_STRIP_H
#define TANGWRIGHT_TESTS_STRIP_H

#include "../samples/sample.h"
#include "tangwright/verdict.h"

#include <stdarg.h>

#define STRIP_LINES 64

static const char strip_job[] =
    "name = \"strip\";\n"
    "outline: { file = \"strip.csv\"; unit = \"1 mm\"; taper_start = [\"0 mm\", \"0 mm\"]; axis_towards = [\"9 mm\", "
    "\"0 mm\"]; };\n"
    "taper: { ricasso_thickness = \"3 mm\"; butt_thickness = \"2.9 mm\"; thickness_band = \"0 mm\"; };\n"
    "mount = \"tilted\";\n"
    "travel: { return_lift = \"1 mm\"; };\n"
    "finish: { flatness = \"0.01 mm\"; layers = 0; };\n"
    "heat: { tempering_temperature = \"200 degC\"; film_reserve = 1.0; };\n" /* its film lasts, and no more */
    "machine: { profile = \"%s/profiles/machines/surface-grinder.cfg\"; };\n"
    "wheel: { profile = \"%s/profiles/wheels/disc-alumina-200.cfg\"; width = \"30 mm\"; max_infeed = \"0.03 mm\"; "
    "calibrated = true; grinding_ratio = 0.0; grinding_ratio_least = 0.0; grinding_ratio_most = 0.0; };\n"
    "steel: { profile = \"%s/profiles/steels/tool-o1.cfg\"; };\n"
    "coolant: { profile = \"%s/profiles/coolants/flood.cfg\"; contact_conductance_least = \"150000 W/m2K\"; };\n"
    "fixture: { profile = \"%s/profiles/fixtures/single-clamped.cfg\"; keep_outs = (\n"
    "{ name = \"datum pad\"; kind = \"pad\"; box = [\"-32 mm\", \"-25 mm\", \"-2 mm\", \"25 mm\"]; top = \"0 mm\"; },\n"
    "{ name = \"near clamp\"; kind = \"clamp\"; box = [\"-100 mm\", \"-40 mm\", \"-84 mm\", \"40 mm\"]; top = \"15 "
    "mm\"; },\n"
    "{ name = \"far clamp\"; kind = \"clamp\"; box = [\"-140 mm\", \"-40 mm\", \"-124 mm\", \"40 mm\"]; top = \"15 "
    "mm\"; },\n"
    "{ name = \"edge stop\"; kind = \"pin\"; circle = [\"-60 mm\", \"-22 mm\", \"6 mm\"]; top = \"2 mm\"; } ); };\n";
static const char strip_outline[] = "-60,-10\n100,-10\n100,10\n-60,10\n";

/* X along, Y up, -Z across; up from the datum pad's plane. %s: the digest of the inputs. The spindle's speed gives
 * 28 m/s at 200 mm: 28000 * 60 / (pi * 200) = 2674 rpm. */
static const char *const strip_program[] = {
    "(TANGWRIGHT 0.1.0 - JOB strip - SIDE A)", /* 1 */
    "(INPUTS %s)",                             /* 2 */
    "G21 G18 G90 G94",                         /* 3 */
    "G40 G49 G80",                             /* 4 */
    "G61",                                     /* 5 */
    "G54",                                     /* 6 */
    "S2674 M3",                                /* 7 */
    "M8",                                      /* 8 */
    "G4 P10.000",                              /* 9 */
    "G0 Y30.",                                 /* 10: up */
    "G0 X115. Z0.",                            /* 11: over the run-in behind the butt */
    "G0 Y5.",                                  /* 12 */
    "G1 Y3.025 F300.",                         /* 13 */
    "G1 X40.",                                 /* 14: the first pass cuts from the butt to x = 50 */
    "G0 Y5.",                                  /* 15 */
    "G0 X115.",                                /* 16 */
    "G1 Y3.",                                  /* 17 */
    "G1 X-5.",                                 /* 18: the second pass, to the taper start and on */
    "G0 Y30.",                                 /* 19 */
    "M9",                                      /* 20 */
    "G4 P10.000",                              /* 21 */
    "M5",                                      /* 22 */
    "M30",                                     /* 23 */
};
enum { STRIP_COUNT = sizeof strip_program / sizeof *strip_program };

/* The job, and its program on the way to being edited. */
struct strip {
    char folder[64];
    struct tw_job job;
    char lines[STRIP_LINES][96];
    int count;
    const char *name;
    double cell_mm;
    struct tw_verdict verdict;
};

static inline void strip_write(const struct strip *strip, const char *name, const char *text, size_t length)
{
    char path[128];
    FILE *stream;

    snprintf(path, sizeof path, "%s/%s", strip->folder, name);
    stream = fopen(path, "wb");
    cr_assert(stream != NULL);
    cr_assert(eq(sz, fwrite(text, 1, length, stream), length));
    cr_assert(eq(int, fclose(stream), 0));
}

static inline void strip_open(struct strip *strip)
{
    struct tw_findings findings = { 0 };
    char path[128], here[512], job[4096];

    *strip = (struct strip){ .name = "side-a.nc", .cell_mm = 0.25 };
    strcpy(strip->folder, "/tmp/tangwright-strip-XXXXXX");
    cr_assert(mkdtemp(strip->folder) != NULL);
    cr_assert(getcwd(here, sizeof here) != NULL);
    snprintf(job, sizeof job, strip_job, here, here, here, here, here);
    strip_write(strip, "job.cfg", job, strlen(job));
    strip_write(strip, "strip.csv", strip_outline, sizeof strip_outline - 1);
    snprintf(path, sizeof path, "%s/job.cfg", strip->folder);
    if (tw_job_read(path, &strip->job, &findings) != TW_OK)
        show_findings(&findings);
    cr_assert(eq(int, tw_findings_status(&findings), TW_OK));
    tw_findings_free(&findings);
    for (int i = 0; i < STRIP_COUNT; i++)
        snprintf(strip->lines[i], sizeof strip->lines[i], "%s", strip_program[i]);
    snprintf(strip->lines[1], sizeof strip->lines[1], "(INPUTS %s)", strip->job.digest);
    strip->count = STRIP_COUNT;
}

static inline void strip_close(struct strip *strip)
{
    tw_verdict_free(&strip->verdict);
    tw_job_free(&strip->job);
    check_remove(strip->folder);
}

/* ---- edits, by the number of the line as a person counts ---- */

__attribute__((format(printf, 3, 4))) static inline void edit(struct strip *strip, int line, const char *format, ...)
{
    va_list arguments;

    va_start(arguments, format);
    vsnprintf(strip->lines[line - 1], sizeof strip->lines[0], format, arguments);
    va_end(arguments);
}

static inline void leave_out(struct strip *strip, int line)
{
    memmove(strip->lines[line - 1], strip->lines[line], (size_t)(strip->count - line) * sizeof strip->lines[0]);
    strip->count--;
}

static inline void insert(struct strip *strip, int before_line, const char *text)
{
    cr_assert(lt(int, strip->count, STRIP_LINES));
    memmove(strip->lines[before_line], strip->lines[before_line - 1],
            (size_t)(strip->count - before_line + 1) * sizeof strip->lines[0]);
    strip->count++;
    edit(strip, before_line, "%s", text);
}

static inline struct tw_text strip_text(const struct strip *strip)
{
    struct tw_text text = { 0 };

    for (int i = 0; i < strip->count; i++)
        tw_text_print(&text, "%s\n", strip->lines[i]);
    return text;
}

/* ---- the dry run ---- */

static inline const struct tw_proof *prove(struct strip *strip)
{
    struct tw_text text = strip_text(strip);
    struct tw_card card = { strip->name, text.data, text.length };
    struct tw_findings findings = { 0 };

    tw_verdict_free(&strip->verdict);
    if (tw_verdict_make(&strip->job, &card, 1, strip->cell_mm, &strip->verdict, &findings) != TW_OK)
        show_findings(&findings);
    cr_assert(eq(int, tw_findings_status(&findings), TW_OK));
    tw_findings_free(&findings);
    tw_text_free(&text);
    return &strip->verdict.proofs[0];
}

static inline void show_failures(const struct tw_proof *proof)
{
    for (int i = 0; i < TW_CHECK_COUNT; i++)
        if (proof->checks[i].asked && proof->checks[i].failed)
            fprintf(stderr, "  %s: %g of %g %s, line %d (worst %d): %s\n", tw_check_name((enum tw_check_id)i),
                    proof->checks[i].amount, proof->checks[i].limit, proof->checks[i].unit, proof->checks[i].first_line,
                    proof->checks[i].line, proof->checks[i].note);
}

#endif
