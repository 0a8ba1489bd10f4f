/* roughed.c - see roughed.h. */
#include "tangwright/roughed.h"

#include "base/text.h"
#include "base/units.h"
#include "run/doubt.h"
#include "tangwright/correct.h"
#include "tangwright/plan.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* So much at least must have come off a place for its reading to tell of the wheel. */
#define TOUCHED_MM 0.01
/* A reading below this share of what it should be has its point or its unit wrong. */
#define LEAST_SHARE 0.5
/* Judgement: of a thickness, what machines are off by, and what a good story leaves of single readings. */
#define MACHINE_MM 0.05
#define FITS_MM    0.01
/* And so many of these at the most, of single readings and of their mean. */
#define UNEVEN 3.0
#define SURELY 2.0
/* As much better, in squares of these, must a side that was left out tell the readings. */
#define RARE 4.0
/* So much better must the others tell a part of which one reading is misread: that is rarer still. */
#define MISREAD 9.0
/* Judgement: a machine that gives way, or has cooled down a little since, takes off at least that of what it was to take off. */
#define CAME_OFF_SHARE 0.25

struct weighing {
    const struct tw_job *job;
    const struct tw_gaugings *readings;
    const struct tw_roughed_part *parts;
    size_t count;
    double gauge_mm;
    struct tw_roughed_found *out;
    const struct tw_gauging *without; /* that reading; NULL: with all */
    struct tw_findings *findings;
};

/* ---- how thick it should be ---- */

/* What its load aims at, a blank's own thickness aside. */
static double finished_mm(const struct tw_job *job, const struct tw_roughed_part *part, double x_mm)
{
    return tw_run_aim_mm(job, part->planned_mm, part->butt_mm, x_mm);
}

static struct tw_run_blank_aim blank_of(const struct tw_roughed_part *part)
{
    return (struct tw_run_blank_aim){ part->ricasso_mm, part->planned_mm, part->butt_mm };
}

static double aim_mm(const struct tw_job *job, const struct tw_roughed_part *part, double x_mm)
{
    struct tw_run_blank_aim blank = blank_of(part);

    return tw_run_left_mm(job, &blank, x_mm, tw_plan_finish_stock_mm(job), 0.0);
}

/* What roughing takes off one side there. */
static double side_mm(const struct tw_job *job, const struct tw_roughed_part *part, double x_mm)
{
    return fmax(0.0, part->ricasso_mm - aim_mm(job, part, x_mm)) / TW_SIDES_OF(job);
}

/* ---- single readings ---- */

static size_t part_of(const struct weighing *weighing, const struct tw_gauging *reading)
{
    size_t i = 0;

    while (i < weighing->count && strcmp(weighing->parts[i].number, reading->part) != 0)
        i++;
    return i;
}

static double off_mm(const struct weighing *weighing, const struct tw_gauging *reading, size_t part)
{
    struct tw_run_blank_aim blank = blank_of(&weighing->parts[part]);

    return tw_run_too_high_mm(weighing->job, &blank, reading->x_mm, tw_plan_finish_stock_mm(weighing->job),
                              reading->thickness_mm);
}

static enum tw_status check_touched(const struct weighing *weighing, const struct tw_gauging *reading,
                                    const struct tw_roughed_part *part)
{
    double slope = finished_mm(weighing->job, part, 0.0) - finished_mm(weighing->job, part, 1.0);
    double over_mm = aim_mm(weighing->job, part, reading->x_mm) - (part->ricasso_mm - TOUCHED_MM);

    if (over_mm <= 0.0)
        return TW_OK;
    return tw_fail(weighing->findings, TW_BAD_INPUT,
                   (struct tw_place){ .file = weighing->readings->path, .line = reading->line },
                   "x: at %.6g mm roughing leaves the blank as it is; measure part %s from %.0f mm on", reading->x_mm,
                   part->number, ceil(reading->x_mm + over_mm / slope));
}

/* Grinding makes nothing thicker, and leaves more than half. */
static enum tw_status check_possible(const struct weighing *weighing, const struct tw_gauging *reading,
                                     const struct tw_roughed_part *part)
{
    struct tw_place at = { .file = weighing->readings->path, .line = reading->line };
    double wanted_mm = aim_mm(weighing->job, part, reading->x_mm);

    if (reading->thickness_mm > part->ricasso_mm + TW_GAUGE_NO_THICKER_MM)
        return tw_fail(
            weighing->findings, TW_BAD_INPUT, at,
            "thickness: %.6g mm is more than blank %s measured before it was ground, %.3f mm; measure again, or "
            "correct the figure",
            reading->thickness_mm, part->number, part->ricasso_mm);
    if (reading->thickness_mm < LEAST_SHARE * wanted_mm)
        return tw_fail(weighing->findings, TW_BAD_INPUT, at,
                       "thickness: %.6g mm is less than half of the %.3f mm that roughing should leave of part %s at "
                       "%.6g mm; look at the point and the unit, or measure again",
                       reading->thickness_mm, wanted_mm, part->number, reading->x_mm);
    return TW_OK;
}

static enum tw_status check_all(const struct weighing *weighing)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; i < weighing->readings->count; i++) {
        const struct tw_gauging *reading = &weighing->readings->items[i];
        size_t part = part_of(weighing, reading);

        if (part == weighing->count)
            continue; /* whoever asks has said so */
        if (check_touched(weighing, reading, &weighing->parts[part]) != TW_OK ||
            check_possible(weighing, reading, &weighing->parts[part]) != TW_OK)
            status = TW_BAD_INPUT;
    }
    return status;
}

/* ---- one part ---- */

/* That the programs were thinner by which it was last cut; see roughed.h. */
static double cut_mm(const struct tw_roughed_part *part, double off_mm)
{
    double lower_mm = part->written_mm - part->cut_mm, came_off_mm = part->was_off_mm - off_mm;

    if (!part->told)
        return part->written_mm;
    return lower_mm > 0.0 && came_off_mm >= CAME_OFF_SHARE * lower_mm ? part->written_mm : part->cut_mm;
}

/* Of one part, were so many of its sides not roughed. */
struct story {
    double mean_mm, squares_mm2; /* of what is left of its readings; squares about the mean */
    double left_mm;              /* of the thickness, in the mean: what roughing did not take */
};

static bool counts(const struct weighing *weighing, const struct tw_gauging *reading, size_t part)
{
    return reading != weighing->without && part_of(weighing, reading) == part;
}

static size_t readings_of(const struct weighing *weighing, size_t part)
{
    size_t count = 0;

    for (size_t i = 0; i < weighing->readings->count; i++)
        count += counts(weighing, &weighing->readings->items[i], part);
    return count;
}

static struct story tell(const struct weighing *weighing, size_t part, int left_out)
{
    const struct tw_gaugings *readings = weighing->readings;
    double share = 1.0 / fmax(1.0, (double)readings_of(weighing, part));
    struct story story = { 0 };

    for (size_t i = 0; i < readings->count; i++) {
        double left_mm;

        if (!counts(weighing, &readings->items[i], part))
            continue;
        left_mm = left_out * side_mm(weighing->job, &weighing->parts[part], readings->items[i].x_mm);
        story.left_mm += share * left_mm;
        story.mean_mm += share * (off_mm(weighing, &readings->items[i], part) - left_mm);
    }
    for (size_t i = 0; i < readings->count; i++)
        if (counts(weighing, &readings->items[i], part))
            story.squares_mm2 += pow(
                off_mm(weighing, &readings->items[i], part) -
                    left_out * side_mm(weighing->job, &weighing->parts[part], readings->items[i].x_mm) - story.mean_mm,
                2.0);
    return story;
}

static double fits_mm(const struct weighing *weighing)
{
    return fmax(FITS_MM, tw_run_gauge_mm(weighing->job, weighing->gauge_mm));
}

static double cost_of(const struct weighing *weighing, const struct story *story, int left_out)
{
    return story->squares_mm2 / (fits_mm(weighing) * fits_mm(weighing)) + pow(story->mean_mm / MACHINE_MM, 2.0) +
           (left_out > 0 ? RARE : 0.0);
}

/* The cheapest story; how many sides it leaves out. */
static int choose(const struct weighing *weighing, size_t part, struct story *out)
{
    int best = 0;

    *out = tell(weighing, part, 0);
    for (int left_out = 1; left_out <= TW_SIDES_OF(weighing->job); left_out++) {
        struct story story = tell(weighing, part, left_out);

        if (cost_of(weighing, &story, left_out) >= cost_of(weighing, out, best))
            continue;
        *out = story;
        best = left_out;
    }
    return best;
}

/* Cheaper than the others, a story may still be none: what it leaves is more than a machine, or more uneven. */
static bool is_told(const struct weighing *weighing, size_t part, const struct story *story, int left_out)
{
    double degrees = fmax(1.0, (double)weighing->out[part].readings - 1.0);

    return sqrt(story->squares_mm2 / degrees) <= UNEVEN * fits_mm(weighing) &&
           (left_out == 0 || fabs(story->mean_mm) <= SURELY * MACHINE_MM);
}

/* Where it is too thick by the most, and where the finished part misses the most. */
static double take_extremes(const struct weighing *weighing, size_t part)
{
    const struct tw_gaugings *readings = weighing->readings;
    struct tw_roughed_found *found = &weighing->out[part];
    double most_mm = -HUGE_VAL;

    found->under_mm = -HUGE_VAL;
    for (size_t i = 0; i < readings->count; i++) {
        const struct tw_gauging *reading = &readings->items[i];
        double under_mm;

        if (part_of(weighing, reading) != part)
            continue;
        most_mm = fmax(most_mm, off_mm(weighing, reading, part));
        under_mm = finished_mm(weighing->job, &weighing->parts[part], reading->x_mm) -
                   weighing->job->finish.thickness_mm - reading->thickness_mm;
        if (under_mm > found->under_mm) {
            found->under_mm = under_mm;
            found->under_x_mm = reading->x_mm;
        }
    }
    return most_mm;
}

static void look_for_stop(const struct weighing *weighing, size_t part)
{
    struct tw_roughed_found *found = &weighing->out[part];
    double planned_mm = found->cut_mm + found->off_mm, most_mm = take_extremes(weighing, part);
    struct story story;
    int left_out = choose(weighing, part, &story);

    found->left_mm = story.left_mm;
    if (found->under_mm > weighing->gauge_mm)
        found->stop = TW_ROUGHED_TOO_THIN;
    else if (!is_told(weighing, part, &story, left_out))
        found->stop = TW_ROUGHED_UNEXPLAINED;
    else if (left_out > 0)
        found->stop = left_out < TW_SIDES_OF(weighing->job) ? TW_ROUGHED_SIDE_LEFT : TW_ROUGHED_NOT_AT_ALL;
    else if (fmax(most_mm, fabs(planned_mm)) > TW_SIDES_OF(weighing->job) * TW_CORRECT_MOST_MM)
        found->stop = TW_ROUGHED_UNEXPLAINED;
}

static void take_mean(const struct weighing *weighing, size_t part)
{
    struct tw_roughed_found *found = &weighing->out[part];

    *found = (struct tw_roughed_found){ .value_mm = weighing->parts[part].value_mm };
    found->readings = readings_of(weighing, part);
    if (found->readings == 0)
        return;
    found->off_mm = tell(weighing, part, 0).mean_mm;
    found->cut_mm = cut_mm(&weighing->parts[part], found->off_mm);
    look_for_stop(weighing, part);
}

/* ---- all parts ---- */

/* Of a single reading, pooled over the parts that go on; 0: nothing tells. */
static double scatter_mm(const struct weighing *weighing)
{
    double squares_mm2 = 0.0, degrees = 0.0;

    for (size_t i = 0; i < weighing->count; i++) {
        if (weighing->out[i].readings < 2 || weighing->out[i].stop != TW_ROUGHED_GOES_ON)
            continue;
        squares_mm2 += tell(weighing, i, 0).squares_mm2;
        degrees += (double)weighing->out[i].readings - 1.0;
    }
    return degrees > 0.0 ? sqrt(squares_mm2 / degrees) : 0.0;
}

static void judge(const struct weighing *weighing, size_t part, double chance_mm)
{
    struct tw_roughed_found *found = &weighing->out[part];
    double gauge_mm = tw_run_gauge_mm(weighing->job, weighing->gauge_mm);

    if (found->readings == 0 || found->stop != TW_ROUGHED_GOES_ON)
        return;
    found->sure_mm = 2.0 * chance_mm / sqrt((double)found->readings);
    found->corrected = fabs(found->off_mm) > fmax(gauge_mm, found->sure_mm);
    found->value_mm = found->cut_mm + (found->corrected ? found->off_mm : 0.0);
    if (found->corrected && fabs(found->value_mm - weighing->parts[part].written_mm) <= gauge_mm)
        found->value_mm = weighing->parts[part].written_mm; /* no more than the gauge makes */
    found->uncut = found->corrected && weighing->parts[part].written_mm > found->cut_mm + gauge_mm;
    if (found->corrected && found->off_mm > TW_ROUGHED_LEFT_MM)
        found->again_mm = found->off_mm;
}

enum tw_status tw_roughed_weigh(const struct tw_job *job, const struct tw_gaugings *readings,
                                const struct tw_roughed_part *parts, size_t count, double gauge_mm,
                                struct tw_roughed_found *out, struct tw_findings *findings)
{
    struct weighing weighing = { .job = job,
                                 .readings = readings,
                                 .parts = parts,
                                 .count = count,
                                 .gauge_mm = gauge_mm,
                                 .out = out,
                                 .findings = findings };
    double chance_mm;

    for (size_t i = 0; i < count; i++)
        take_mean(&weighing, i);
    chance_mm = scatter_mm(&weighing);
    for (size_t i = 0; i < count; i++)
        judge(&weighing, i, chance_mm);
    return check_all(&weighing);
}

/* ---- misread figures ---- */

/* All of its sides were roughed, if but one of its readings is misread. */
static bool is_roughed_but_for_one(const struct weighing *weighing, size_t part)
{
    struct weighing rest = *weighing;
    struct story story;
    int left_out = choose(weighing, part, &story);
    double told = cost_of(weighing, &story, left_out);

    for (size_t i = 0; readings_of(weighing, part) > 1 && i < weighing->readings->count; i++) {
        if (!counts(weighing, &weighing->readings->items[i], part))
            continue;
        rest.without = &weighing->readings->items[i];
        story = tell(&rest, part, 0);
        if (cost_of(&rest, &story, 0) + MISREAD < told)
            return true;
    }
    return left_out == 0;
}

struct doubting {
    struct weighing weighing;
    struct tw_doubt doubt;
    struct tw_doubt_reading *told;
    const struct tw_gauging **readings; /* of the same places */
    struct tw_doubt_part parts[TW_RUN_STATIONS_MOST];
};

static void list_told(struct doubting *doubting)
{
    const struct weighing *weighing = &doubting->weighing;
    bool asked[TW_RUN_STATIONS_MOST];
    double widest_mm = 1.0;

    for (size_t part = 0; part < weighing->count; part++)
        asked[part] = is_roughed_but_for_one(weighing, part);
    for (size_t i = 0; i < weighing->readings->count; i++)
        widest_mm = fmax(widest_mm, fabs(weighing->readings->items[i].y_mm));
    for (size_t i = 0; i < weighing->readings->count; i++) {
        const struct tw_gauging *reading = &weighing->readings->items[i];
        size_t part = part_of(weighing, reading);

        if (part == weighing->count || !asked[part])
            continue;
        doubting->readings[doubting->doubt.count] = reading;
        doubting->told[doubting->doubt.count++] =
            (struct tw_doubt_reading){ .part = part,
                                       .along = reading->x_mm / weighing->job->taper.length_mm,
                                       .across = reading->y_mm / widest_mm,
                                       .off_mm = off_mm(weighing, reading, part) };
    }
}

static bool is_inch(const struct doubting *doubting)
{
    return doubting->weighing.job->machine.dialect.inch;
}

static void print_doubt(const struct doubting *doubting, size_t which, struct tw_text *text)
{
    const struct tw_doubt_reading *told = &doubting->told[which];
    const struct tw_gauging *reading = doubting->readings[which];
    struct tw_run_blank_aim blank = blank_of(&doubting->weighing.parts[told->part]);
    double stock_mm = tw_plan_finish_stock_mm(doubting->weighing.job);
    double expected_mm = tw_run_left_mm(doubting->weighing.job, &blank, reading->x_mm, stock_mm, told->expected_mm);
    double most_mm =
        tw_run_left_mm(doubting->weighing.job, &blank, reading->x_mm, stock_mm, told->expected_mm + told->bound_mm);
    double by_mm = reading->thickness_mm - expected_mm;

    tw_text_print(text, "thickness: part %s measures %s at %s, and ", reading->part,
                  tw_length_text(reading->thickness_mm, 3, is_inch(doubting)).text,
                  tw_length_text(reading->x_mm, 1, is_inch(doubting)).text);
    tw_text_print(text, "its other places, the other parts and the loads before make %s expect",
                  tw_length_text(expected_mm, 3, is_inch(doubting)).text);
    tw_text_print(text, ", +-%s: %s %s", tw_fine_text(most_mm - expected_mm, is_inch(doubting)).text,
                  tw_fine_text(fabs(by_mm), is_inch(doubting)).text, by_mm > 0.0 ? "too much" : "too little");
    if (told->or_else != which)
        tw_text_print(text, ", or it is line %d that is misread", doubting->readings[told->or_else]->line);
    tw_text_print(text,
                  ". Measure %s again: correct a figure that was misread; where it is true, write the second reading "
                  "as one more line of the same part and place",
                  told->or_else != which ? "both places" : "that place");
}

static enum tw_status refuse_doubted(const struct doubting *doubting)
{
    const struct weighing *weighing = &doubting->weighing;
    enum tw_status status = TW_OK;

    for (size_t i = 0; i < doubting->doubt.count; i++) {
        struct tw_text text = { 0 };

        if (!doubting->told[i].doubted)
            continue;
        print_doubt(doubting, i, &text);
        status =
            text.failed
                ? tw_no_memory(weighing->findings)
                : tw_fail(weighing->findings, TW_BAD_INPUT,
                          (struct tw_place){ .file = weighing->readings->path, .line = doubting->readings[i]->line },
                          "%s", text.data);
        tw_text_free(&text);
    }
    return status;
}

enum tw_status tw_roughed_doubt(const struct tw_job *job, const struct tw_gaugings *readings,
                                const struct tw_roughed_part *parts, size_t count, double gauge_mm,
                                struct tw_findings *findings)
{
    struct doubting doubting = {
        .weighing = { .job = job,
                      .readings = readings,
                      .parts = parts,
                      .count = count < TW_RUN_STATIONS_MOST ? count : TW_RUN_STATIONS_MOST,
                      .gauge_mm = gauge_mm,
                      .findings = findings },
        .told = calloc(readings->count + 1, sizeof *doubting.told),
        .readings = calloc(readings->count + 1, sizeof *doubting.readings),
    };
    enum tw_status status = doubting.told && doubting.readings ? TW_OK : tw_no_memory(findings);

    if (status == TW_OK) {
        for (size_t i = 0; i < doubting.weighing.count; i++)
            doubting.parts[i] = (struct tw_doubt_part){ parts[i].foretold, parts[i].foretold_mm };
        list_told(&doubting);
        doubting.doubt.readings = doubting.told;
        doubting.doubt.parts = doubting.parts;
        doubting.doubt.part_count = doubting.weighing.count;
        doubting.doubt.gauge_mm = tw_run_gauge_mm(job, gauge_mm);
        status = tw_doubt(&doubting.doubt, findings);
    }
    if (status == TW_OK)
        status = refuse_doubted(&doubting);
    free(doubting.told);
    free(doubting.readings);
    return status;
}

/* ---- stops, in words ---- */

static const struct {
    const char *name, *words, *cure;
} stop_words[TW_ROUGHED_STOP_COUNT] = {
    [TW_ROUGHED_SIDE_LEFT] = { "one side left", "about as thick as with one side not roughed",
                               "find the side that roughing did not reach, and why: a program left out or broken off, "
                               "a "
                               "blank not down on its packing; run that side's roughing program, and measure again" },
    [TW_ROUGHED_NOT_AT_ALL] = { "not roughed", "about as thick as not roughed at all",
                                "run the roughing programs, and measure again" },
    [TW_ROUGHED_OTHER_WHEEL] = { "other wheel", "measured before the wheel was dressed or changed",
                                 "touch off the wheel as it is now, and run the roughing again, by programs written "
                                 "anew "
                                 "without what was "
                                 "gauged by the wheel before: they cut only what was left; then measure again" },
    [TW_ROUGHED_UNEXPLAINED] = { "unexplained", "farther off, or more unevenly, than any machine",
                                 "look for roughing that broke off, a wrong blank, a wrong zero, a wrong unit; "
                                 "correct it, and measure again" },
    [TW_ROUGHED_TOO_THIN] = { "too thin", "thinner already than the finished part may be",
                              "finishing it is useless. Measure it again, and look for what took too much, a wrong "
                              "zero or a wrong blank, before another load is roughed" },
};

const char *tw_roughed_stop_name(enum tw_roughed_stop stop)
{
    return stop_words[stop].name;
}

enum tw_roughed_stop tw_roughed_stop_named(const char *name)
{
    if (!name)
        return TW_ROUGHED_GOES_ON;
    for (int i = TW_ROUGHED_GOES_ON + 1; i < TW_ROUGHED_STOP_COUNT; i++)
        if (strcmp(stop_words[i].name, name) == 0)
            return (enum tw_roughed_stop)i;
    return TW_ROUGHED_UNEXPLAINED;
}

const char *tw_roughed_stop_words(enum tw_roughed_stop stop)
{
    return stop_words[stop].words;
}

const char *tw_roughed_stop_cure(enum tw_roughed_stop stop)
{
    return stop_words[stop].cure;
}

const char *tw_roughed_again_words(bool one_face)
{
    return one_face
               ? "run the roughing program again"
               : "run both roughing programs again, packed as for finishing, for the tang lies on ground faces now,";
}

bool tw_roughed_stops_load(const enum tw_roughed_stop *stops, size_t count)
{
    size_t thin = 0;

    for (size_t i = 0; i < count; i++) {
        if (stops[i] != TW_ROUGHED_GOES_ON && stops[i] != TW_ROUGHED_TOO_THIN)
            return true;
        thin += stops[i] == TW_ROUGHED_TOO_THIN;
    }
    return count > 0 && thin == count;
}
