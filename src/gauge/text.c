/* text.c - what the readings say, for a person. */
#include "tangwright/gauge.h"

#include "base/numbers.h"
#include "base/plain.h"
#include "base/text.h"
#include "base/units.h"
#include "tangwright/taper.h"

#include <math.h>
#include <stdio.h>

#define UM 1000.0 /* in a mm */

/* What is small, in the unit of the shop. */
struct fine {
    const char *name, *other_name;
    double per_mm, other_per_mm;
    int decimals, other_decimals;
};

static struct fine fine_of(const struct tw_job *job)
{
    static const struct fine um = { "um", "thou", UM, 1.0 / 0.0254, 1, 2 },
                             thou = { "thou", "um", 1.0 / 0.0254, UM, 2, 1 };

    return job->machine.dialect.inch ? thou : um;
}

/* "+3.2 um" */
static void print_fine(struct tw_text *text, struct fine fine, double mm)
{
    tw_text_print(text, "%+.*f %s", fine.decimals, mm * fine.per_mm, fine.name);
}

/* "+3.2 um (+0.13 thou)" */
static void print_both(struct tw_text *text, struct fine fine, double mm)
{
    print_fine(text, fine, mm);
    tw_text_print(text, " (%+.*f %s)", fine.other_decimals, mm * fine.other_per_mm, fine.other_name);
}

static struct tw_length_text length(const struct tw_job *job, double mm, int decimals)
{
    return tw_length_text(mm, decimals, job->machine.dialect.inch);
}

/* ---- the terms ---- */

static void print_name(struct tw_text *text, const struct tw_job *job, const struct tw_gauged_run *run,
                       const struct tw_gauge_term *term)
{
    switch (term->kind) {
    case TW_TERM_OFFSET:
        tw_text_print(text, "offset at %s", length(job, run->mean_x_mm, 0).text);
        break;
    case TW_TERM_TAPER:
        tw_text_print(text, "taper, start to end");
        break;
    case TW_TERM_CROWN:
        tw_text_print(text, "edges over middle");
        break;
    case TW_TERM_STATION:
        tw_text_print(text, "station %d", term->station);
        break;
    }
}

static void print_chance(struct tw_text *text, double chance)
{
    if (chance < 1e-5)
        tw_text_print(text, "below 0.001 %%");
    else
        tw_text_print(text, chance < 0.1 ? "%.2g %%" : "%.0f %%", 100.0 * chance);
}

static const char *plural(size_t count)
{
    return count == 1 ? "" : "s";
}

static void print_term(struct tw_text *text, const struct tw_job *job, const struct tw_gauged_run *run,
                       const struct tw_gauge_term *term)
{
    struct fine fine = fine_of(job);
    struct tw_text name = { 0 };

    print_name(&name, job, run, term);
    tw_text_print(text, "  %-21s %+8.*f %s  ", name.data ? name.data : "", fine.decimals, term->value_mm * fine.per_mm,
                  fine.name);
    text->failed = text->failed || name.failed;
    tw_text_free(&name);
    if (!term->judged) {
        tw_text_print(text, "too few %s to tell chance by\n", term->kind == TW_TERM_OFFSET ? "parts" : "readings");
        return;
    }
    tw_text_print(text, "+- %.*f %s  ", fine.decimals, 2.0 * term->standard_mm * fine.per_mm, fine.name);
    if (term->significant)
        tw_text_print(text, "more than chance (");
    else if (term->chance < TW_GAUGE_CHANCE)
        tw_text_print(text, "no more than the gauge is uncertain by (chance ");
    else
        tw_text_print(text, "may be chance (");
    print_chance(text, term->chance);
    tw_text_print(text, ")\n");
}

/* ---- what to do ---- */

static const char *faces(const struct tw_job *job)
{
    return job->one_face ? "its face" : "each face";
}

static double share(const struct tw_job *job)
{
    return job->one_face ? 1.0 : 0.5;
}

static void advise_taper(struct tw_text *text, const struct tw_job *job, double value_mm)
{
    double per_100_mm = 100.0 * share(job) * value_mm / job->taper.length_mm;

    if (job->mount == TW_MOUNT_TILTED)
        tw_text_print(text, "%s the butt end by %s per %s of the plate under %s", per_100_mm > 0.0 ? "raise" : "lower",
                      job->machine.dialect.inch ? length(job, 1.27 * fabs(per_100_mm), 4).text
                                                : length(job, fabs(per_100_mm), 4).text,
                      job->machine.dialect.inch ? "5 in" : "100 mm", faces(job));
    else
        tw_text_print(text, "write butt_thickness %s %s and plan again: the program carries the slope",
                      length(job, fabs(value_mm), 4).text, value_mm > 0.0 ? "less" : "more");
}

static void advise(struct tw_text *text, const struct tw_job *job, const struct tw_gauge_term *term)
{
    double part_mm = share(job) * term->value_mm;

    tw_text_print(text, "  - ");
    switch (term->kind) {
    case TW_TERM_OFFSET:
        tw_text_print(text, "too %s: set the z zero %s %s for %s", part_mm > 0.0 ? "thick" : "thin",
                      length(job, fabs(part_mm), 4).text, part_mm > 0.0 ? "lower" : "higher", faces(job));
        break;
    case TW_TERM_TAPER:
        tw_text_print(text, "%s at the end: ", part_mm > 0.0 ? "too thick" : "too thin");
        advise_taper(text, job, term->value_mm);
        break;
    case TW_TERM_CROWN:
        tw_text_print(text, part_mm > 0.0
                                ? "hollow across: square the spindle, or the rim has worn off true; dress it"
                                : "crowned across: the part bows while it is warm, or the lanes' outer ends are "
                                  "low; lighter finishing layers and spark-out help");
        break;
    case TW_TERM_STATION:
        tw_text_print(text, "station %d: clean it; if it stays, move its z zero %s %s for %s", term->station,
                      length(job, fabs(part_mm), 4).text, part_mm > 0.0 ? "down" : "up", faces(job));
        break;
    }
    tw_text_append(text, "\n", 1);
}

/* ---- what to look at first ---- */

#define NAMED_MOST 8 /* readings, and parts: who has looked at them knows what is wrong with the others */

/* From so many places on a part alone tells which of them was misread (docs/gauge.md). */
#define ALONE_LEAST 8

#define LOOK_FIRST "look for a wrong zero, blank or reading before another part is ground"

static void print_tolerance(struct tw_text *text, const struct tw_job *job)
{
    tw_text_print(text, "more than the job's thickness_tolerance, %s", length(job, job->finish.thickness_mm, 4).text);
}

static void print_line(struct tw_text *text, const struct tw_gauging *reading)
{
    if (reading->line > 0)
        tw_text_print(text, "line %d: ", reading->line);
}

/* A part alone, of so few places, has taper and crown take up what one of them was misread by. */
static bool may_be_another(const struct tw_gauged_run *run)
{
    return run->part_count == 1 && run->parts[0].readings < ALONE_LEAST;
}

static void print_doubt(struct tw_text *text, const struct tw_job *job, const struct tw_gauged_run *run,
                        const struct tw_gauging *reading, const struct tw_gauge_doubt *doubt)
{
    double by_mm = reading->thickness_mm - doubt->expected_mm;

    tw_text_print(text, "  - ");
    print_line(text, reading);
    tw_text_print(text, "part %s measures %s at %s, and ", reading->part, length(job, reading->thickness_mm, 3).text,
                  length(job, reading->x_mm, 1).text);
    tw_text_print(text, "its other places%s make %s expect: ", run->part_count > 1 ? " and the other parts" : "",
                  length(job, doubt->expected_mm, 3).text);
    tw_text_print(text, "%s too %s, ", length(job, fabs(by_mm), 3).text, by_mm > 0.0 ? "much" : "little");
    print_tolerance(text, job);
    if (doubt->twice)
        tw_text_print(text, ". It was read twice alike: look at the part there, and at what lay beneath it\n");
    else
        tw_text_print(
            text,
            "%s again: correct a figure that was misread; where it is true, write the second reading as one more "
            "line of the same part and place\n",
            may_be_another(run) ? ", or another of its places is misread. Measure all of them"
                                : ". Measure that place");
}

static void print_more(struct tw_text *text, size_t count, const char *what)
{
    if (count > NAMED_MOST)
        tw_text_print(text, "  - and %zu %s more like these\n", count - NAMED_MOST, what);
}

static void look_at_readings(struct tw_text *text, const struct tw_job *job, const struct tw_gaugings *gaugings,
                             const struct tw_gauged_run *run)
{
    size_t count = 0;

    for (size_t i = 0; i < gaugings->count; i++)
        if (run->doubts[i].off && count++ < NAMED_MOST)
            print_doubt(text, job, run, &gaugings->items[i], &run->doubts[i]);
    print_more(text, count, "readings");
}

/* The part's name stands in its first reading. */
static const struct tw_gauging *first_of(const struct tw_gaugings *gaugings, const struct tw_gauged_part *part)
{
    size_t i = 0;

    while (gaugings->items[i].part != part->name)
        i++;
    return &gaugings->items[i];
}

static void print_part(struct tw_text *text, const struct tw_job *job, const struct tw_gaugings *gaugings,
                       const struct tw_gauged_run *run, const struct tw_gauged_part *part)
{
    const struct tw_gauging *first = first_of(gaugings, part);

    tw_text_print(text, "  - ");
    if (part->readings == 1)
        print_line(text, first);
    else if (first->line > 0)
        tw_text_print(text, "line %d and on: ", first->line);
    tw_text_print(text, "part %s is %s too %s, ", part->name, length(job, fabs(part->level_mm), 4).text,
                  part->level_mm > 0.0 ? "thick" : "thin");
    print_tolerance(text, job);
    tw_text_print(text, ", and the other parts make ");
    print_fine(text, fine_of(job), run->load_mm);
    tw_text_print(text, " expect: " LOOK_FIRST "\n");
}

static void look_at_parts(struct tw_text *text, const struct tw_job *job, const struct tw_gaugings *gaugings,
                          const struct tw_gauged_run *run)
{
    size_t count = 0;

    for (size_t i = 0; i < run->part_count; i++)
        if (run->parts[i].off && count++ < NAMED_MOST)
            print_part(text, job, gaugings, run, &run->parts[i]);
    print_more(text, count, "parts");
}

static void print_most(struct tw_text *text, const struct tw_job *job)
{
    tw_text_print(text, "more than %s a face, and no wear, touching off or tilt comes to that",
                  length(job, TW_GAUGE_MOST_MM, 1).text);
}

static void look_at_x(struct tw_text *text, const struct tw_job *job, const struct tw_gauged_run *run)
{
    tw_text_print(text, "  - x seems to be taken from the butt: so the readings are off by ");
    print_fine(text, fine_of(job), run->from_butt_mm);
    tw_text_print(text, " from end to end, but as they are written by ");
    print_fine(text, fine_of(job), tw_gauge_term_mm(run, TW_TERM_TAPER));
    tw_text_print(text, ". x counts from the taper start towards the butt, which lies at %s; write it so\n",
                  length(job, tw_tang_end_mm(job), 1).text);
}

static void look_at_taper(struct tw_text *text, const struct tw_job *job, const struct tw_gauged_run *run)
{
    tw_text_print(text, "  - ");
    print_fine(text, fine_of(job), tw_gauge_term_mm(run, TW_TERM_TAPER));
    tw_text_print(text, " from end to end is ");
    print_most(text, job);
    tw_text_print(text, ": look whether x counts from the taper start towards the butt, whether unit and readings are "
                        "right, and whether it is this job's blank, program and mount\n");
}

static void look_at_crown(struct tw_text *text, const struct tw_job *job, const struct tw_gauged_run *run)
{
    tw_text_print(text, "  - ");
    print_fine(text, fine_of(job), tw_gauge_term_mm(run, TW_TERM_CROWN));
    tw_text_print(text, " from the middle to the edges is ");
    print_most(text, job);
    tw_text_print(text,
                  ": look whether y counts from the taper axis, whether unit and readings are right, and for burrs "
                  "or unground steel at the edges\n");
}

static void look_at_level(struct tw_text *text, const struct tw_job *job, const struct tw_gauged_run *run)
{
    tw_text_print(text, "  - %s too %s is ", length(job, fabs(run->load_mm), 4).text,
                  run->load_mm > 0.0 ? "thick" : "thin");
    if (run->look_first & TW_LOOK_OFFSET)
        print_tolerance(text, job);
    else
        print_most(text, job);
    tw_text_print(text, ": " LOOK_FIRST "\n");
}

static void look_at_fellows(struct tw_text *text, const struct tw_job *job, const struct tw_gaugings *gaugings,
                            const struct tw_gauged_run *run)
{
    const struct tw_gauging *first = &gaugings->items[run->together_first];

    tw_text_print(text, "  - ");
    print_line(text, first);
    tw_text_print(text, "%zu reading%s, the first of them part %s at %s, %s off by ", run->together,
                  plural(run->together), first->part, length(job, first->x_mm, 1).text,
                  run->together == 1 ? "is" : "are");
    print_tolerance(text, job);
    tw_text_print(text, ", as offset, taper and crown together make them\n");
}

/* Said in any case, be it chance or not. Where x is turned round, nothing else is worth telling. */
static void look_first(struct tw_text *text, const struct tw_job *job, const struct tw_gaugings *gaugings,
                       const struct tw_gauged_run *run)
{
    look_at_readings(text, job, gaugings, run);
    if (run->look_first & TW_LOOK_FROM_BUTT) {
        look_at_x(text, job, run);
        return;
    }
    if (run->look_first & TW_LOOK_TAPER)
        look_at_taper(text, job, run);
    if (run->look_first & TW_LOOK_CROWN)
        look_at_crown(text, job, run);
    if (run->look_first & (TW_LOOK_OFFSET | TW_LOOK_FAR))
        look_at_level(text, job, run);
    look_at_parts(text, job, gaugings, run);
    if (run->look_first & TW_LOOK_TOGETHER)
        look_at_fellows(text, job, gaugings, run);
}

static void correct(struct tw_text *text, const struct tw_job *job, const struct tw_gauged_run *run)
{
    bool any = false, judged = false;

    for (size_t i = 0; i < run->term_count; i++) {
        judged |= run->terms[i].judged;
        if (!run->terms[i].significant)
            continue;
        advise(text, job, &run->terms[i]);
        any = true;
    }
    if (!any && judged)
        tw_text_print(text, run->look_first
                                ? "  - correct nothing else: no deviation is larger than what it is known to\n"
                                : "  - change nothing: no deviation is larger than what it is known to\n");
    if (!any && !judged)
        tw_text_print(text, "  - correct nothing yet: what these readings show may be chance or not; gauge another "
                            "part, at more places\n");
}

static void print_advice(struct tw_text *text, const struct tw_job *job, const struct tw_gaugings *gaugings,
                         const struct tw_gauged_run *run)
{
    bool nothing = run->look_first & TW_LOOK_AND_CORRECT_NOTHING;

    tw_text_print(text, "\nfor the next parts\n");
    look_first(text, job, gaugings, run);
    if (nothing)
        tw_text_print(text, "  - correct nothing before that is cleared up: the figures above hold it\n");
    else
        correct(text, job, run);
    if (run->course == TW_COURSE_DRIFTS && !nothing)
        tw_text_print(text, "  - the parts drift: the wheel wears or the machine warms up; measure again soon\n");
    if (run->course == TW_COURSE_JUMPS && !nothing)
        tw_text_print(text,
                      "  - something changed after part %s: a dressing, a zero, a chip under a part; the "
                      "corrections above mix what was before and after, so measure only later parts\n",
                      run->parts[run->jump_after - 1].name);
}

/* ---- parts ---- */

static void print_course(struct tw_text *text, const struct tw_job *job, const struct tw_gauged_run *run)
{
    struct fine fine = fine_of(job);

    tw_text_print(text, "\n%zu part%s in the order of grinding\n", run->part_count, plural(run->part_count));
    if (!run->charted) {
        tw_text_print(text, "  course and spread take %d parts or more\n", TW_GAUGE_PARTS_LEAST);
        return;
    }
    if (run->course == TW_COURSE_DRIFTS) {
        tw_text_print(text, "  course                drift of ");
        print_both(text, fine, run->drift_mm_per_part);
        tw_text_print(text, " a part (chance %.2g %%)\n", 100.0 * run->course_chance);
    } else if (run->course == TW_COURSE_JUMPS) {
        tw_text_print(text, "  course                jump of ");
        print_both(text, fine, run->jump_mm);
        tw_text_print(text, " after part %s (chance %.2g %%)\n", run->parts[run->jump_after - 1].name,
                      100.0 * run->course_chance);
    } else {
        tw_text_print(text, "  course                steady, as far as they tell\n");
    }
    tw_text_print(text, "  mean and spread       ");
    print_fine(text, fine, run->mean_mm);
    tw_text_print(text, ", standard deviation %.*f %s from part to part\n  chart                 ", fine.decimals,
                  run->spread_mm * fine.per_mm, fine.name);
    print_fine(text, fine, run->chart.low);
    tw_text_print(text, " to ");
    print_fine(text, fine, run->chart.high);
    tw_text_print(text, " about ");
    print_fine(text, fine, run->chart.centre);
    tw_text_append(text, "\n", 1);
    for (size_t i = 0; i < run->part_count; i++)
        if (run->parts[i].beyond) {
            tw_text_print(text, "  beyond the chart      part %s, ", run->parts[i].name);
            print_fine(text, fine, run->parts[i].mean_mm);
            tw_text_append(text, "\n", 1);
        }
}

static void print_capability(struct tw_text *text, const struct tw_job *job, const struct tw_gauged_run *run,
                             double tolerance_mm)
{
    struct fine fine = fine_of(job);
    const struct tw_capability *c = &run->capability;

    if (!run->toleranced) {
        tw_text_print(text, "  capability            give --tolerance to see it\n");
        return;
    }
    tw_text_print(text, "  within +-%.*f %-4s     all", fine.decimals, tolerance_mm * fine.per_mm, fine.name);
    if (run->beyond_tolerance > 0)
        tw_text_print(text, " but %zu", run->beyond_tolerance);
    tw_text_print(text, " reading%s\n", run->beyond_tolerance == 1 ? "" : "s");
    if (run->charted && run->spread_mm > 0.0)
        tw_text_print(text,
                      "  capability            Cp %.2f (95 %%: %.2f to %.2f), Cpk %.2f (95 %%: %.2f to %.2f), of the "
                      "parts' means\n",
                      c->cp, c->cp_low, c->cp_high, c->cpk, c->cpk_low, c->cpk_high);
}

static void print_off(struct tw_text *text, const struct tw_job *job, const struct tw_gaugings *gaugings,
                      const struct tw_gauged_run *run)
{
    if (run->off_count > 0)
        tw_text_print(text, "\nreadings unlike their fellows; they stay in: measure these places again\n");
    for (size_t i = 0; i < gaugings->count; i++)
        if (run->stands_off[i]) {
            tw_text_print(text, "  ");
            if (gaugings->items[i].line > 0)
                tw_text_print(text, "line %d, ", gaugings->items[i].line);
            tw_text_print(text, "part %s at x %s: ", gaugings->items[i].part,
                          length(job, gaugings->items[i].x_mm, 1).text);
            print_fine(text, fine_of(job), run->left_mm[i]);
            tw_text_print(text, " off its fellows\n");
        }
}

static void print_figures(struct tw_text *text, const struct tw_job *job, const struct tw_gaugings *gaugings,
                          double tolerance_mm, const struct tw_gauged_run *run)
{
    tw_text_print(text, "%s: %zu reading%s of %zu part%s, deviation from the job's thickness (+: too thick)\n",
                  job->name, gaugings->count, plural(gaugings->count), run->part_count, plural(run->part_count));
    for (size_t i = 0; i < run->term_count; i++)
        print_term(text, job, run, &run->terms[i]);
    if (run->degrees > 0)
        tw_text_print(text, "  %-21s %8.*f %s  standard deviation, from %zu reading%s more than are needed\n",
                      "a single reading", fine_of(job).decimals, run->chance_mm * fine_of(job).per_mm,
                      fine_of(job).name, run->degrees, plural(run->degrees));
    print_course(text, job, run);
    print_capability(text, job, run, tolerance_mm);
    print_off(text, job, gaugings, run);
}

enum tw_status tw_gauge_figures(const struct tw_job *job, const struct tw_gaugings *gaugings, double tolerance_mm,
                                const struct tw_gauged_run *run, char **out, struct tw_findings *findings)
{
    struct tw_text text = { 0 };

    print_figures(&text, job, gaugings, tolerance_mm, run);
    *out = tw_text_take(&text);
    return *out ? TW_OK : tw_no_memory(findings);
}

enum tw_status tw_gauge_text(const struct tw_job *job, const struct tw_gaugings *gaugings, double tolerance_mm,
                             const struct tw_gauged_run *run, char **out, struct tw_findings *findings)
{
    struct tw_text text = { 0 };

    print_figures(&text, job, gaugings, tolerance_mm, run);
    print_advice(&text, job, gaugings, run);
    *out = tw_text_take(&text);
    return *out ? TW_OK : tw_no_memory(findings);
}
