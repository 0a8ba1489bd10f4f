/* correct.c - see correct.h. */
#include "tangwright/correct.h"

#include "base/memory.h"
#include "base/text.h"
#include "base/units.h"
#include "tangwright/plan.h"
#include "tangwright/taper.h"
#include "tangwright/warm.h"

#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* So many loads have to agree on what roughing leaves before it is carried on, and so much of it is: judgement. */
#define ROUGHING_LOADS 2
#define ROUGHING_SHARE 0.5
/* Heights are planned to a tenth of a micrometre. */
#define HALF_TENTH_MM 5.1e-5

double tw_run_total_mm(const struct tw_run_totals *totals, int station, double x_mm, double length_mm)
{
    double own_mm = station >= 1 && station <= TW_RUN_STATIONS_MOST ? totals->station_mm[station - 1] : 0.0;

    return totals->offset_mm + own_mm + totals->roughing_mm + totals->taper_mm * x_mm / length_mm;
}

double tw_run_lower_mm(const struct tw_job *job, const struct tw_run_totals *totals, int station)
{
    return (job->one_face ? 1.0 : 0.5) * tw_run_total_mm(totals, station, 0.0, job->taper.length_mm);
}

void tw_corrections_free(struct tw_corrections *corrections)
{
    tw_gaugings_free(&corrections->weighed_readings);
    tw_gaugings_free(&corrections->all_readings);
    tw_gauged_run_free(&corrections->weighed);
    tw_gauged_run_free(&corrections->all);
    *corrections = (struct tw_corrections){ 0 };
}

/* ---- readings as gauge.h takes them ---- */

struct weighing {
    const struct tw_weighing *asked;
    struct tw_findings *findings;
};

/* Of those that were gauged, the newest first. */
struct loads {
    int items[TW_CORRECT_COURSE];
    size_t count;
};

/* An allowance reaches no higher than the blank. */
static double aim_mm(const struct tw_job *job, double planned_mm, double butt_mm, double x_mm)
{
    return fmin(planned_mm, tw_run_aim_mm(job, planned_mm, butt_mm, x_mm));
}

/* How much too thick it was; as it would be with the corrections of today and a blank as planned, if so wanted. */
static double deviation_mm(const struct weighing *weighing, const struct tw_measured *measured, bool as_today)
{
    const struct tw_job *job = weighing->asked->job;
    double length_mm = job->taper.length_mm, x_mm = measured->x_mm;
    double off_mm = measured->thickness_mm - aim_mm(job, measured->planned_mm, measured->butt_mm, x_mm);
    struct tw_run_blank_aim blank = { measured->ricasso_mm, measured->planned_mm, measured->butt_mm };

    if (as_today && tw_warm_on_rise(job))
        off_mm = tw_run_too_high_mm(job, &blank, x_mm, 0.0, measured->thickness_mm) +
                 tw_run_own_mm(job, measured->ricasso_mm, measured->planned_mm);
    if (as_today && measured->roughed)
        off_mm += weighing->asked->now->roughing_mm - measured->totals.roughing_mm;
    if (as_today)
        off_mm += tw_run_total_mm(&measured->totals, measured->station, x_mm, length_mm) -
                  tw_run_total_mm(weighing->asked->now, measured->station, x_mm, length_mm) -
                  tw_run_own_mm(job, measured->ricasso_mm, measured->planned_mm);
    return off_mm;
}

/* ---- which loads ---- */

/* The newest gauged load older than `before`; 0: none. */
static int newest_before(const struct weighing *weighing, int before)
{
    int newest = 0;

    for (size_t i = 0; i < weighing->asked->count; i++)
        if (weighing->asked->measured[i].load < before && weighing->asked->measured[i].load > newest)
            newest = weighing->asked->measured[i].load;
    return newest;
}

static int dressings_before(const struct weighing *weighing, int load)
{
    for (size_t i = 0; i < weighing->asked->count; i++)
        if (weighing->asked->measured[i].load == load)
            return weighing->asked->measured[i].dressings;
    return 0;
}

/* No older one was ground since the same dressing. */
static bool is_freshly_dressed(const struct weighing *weighing, int load)
{
    int older = newest_before(weighing, load);

    return older == 0 || dressings_before(weighing, older) != dressings_before(weighing, load);
}

static int wheel_of(const struct weighing *weighing, int load)
{
    for (size_t i = 0; i < weighing->asked->count; i++)
        if (weighing->asked->measured[i].load == load)
            return weighing->asked->measured[i].wheel;
    return 0;
}

static bool is_by_newest_wheel(const struct weighing *weighing, int load)
{
    return wheel_of(weighing, load) == wheel_of(weighing, newest_before(weighing, INT_MAX));
}

static bool is_fresh_newest_wheel(const struct weighing *weighing, int load)
{
    return is_by_newest_wheel(weighing, load) && is_freshly_dressed(weighing, load);
}

/* Of the thickness: no machine is so far off. */
static double most_mm(const struct tw_job *job)
{
    return (job->one_face ? 1.0 : 2.0) * TW_CORRECT_MOST_MM;
}

static bool is_far_off(const struct weighing *weighing, int load)
{
    double sum_mm = 0.0;
    size_t count = 0;

    for (size_t i = 0; i < weighing->asked->count; i++)
        if (weighing->asked->measured[i].load == load) {
            sum_mm += deviation_mm(weighing, &weighing->asked->measured[i], true);
            count++;
        }
    return count > 0 && fabs(sum_mm) > most_mm(weighing->asked->job) * (double)count;
}

/* A load that was far off tells of its cause, and not of what comes once a newer load is not. */
static bool is_over(const struct weighing *weighing, int load)
{
    return is_far_off(weighing, load) && !is_far_off(weighing, newest_before(weighing, INT_MAX));
}

typedef bool (*is_wanted)(const struct weighing *weighing, int load);

static struct loads newest_loads(const struct weighing *weighing, size_t most, is_wanted wanted)
{
    struct loads out = { 0 };
    int load = newest_before(weighing, INT_MAX);

    for (; load > 0 && out.count < most; load = newest_before(weighing, load))
        if (!is_over(weighing, load) && (!wanted || wanted(weighing, load)))
            out.items[out.count++] = load;
    return out;
}

static bool holds(const struct loads *loads, int load)
{
    for (size_t i = 0; i < loads->count; i++)
        if (loads->items[i] == load)
            return true;
    return false;
}

/* Each thickness is that of the job and its deviation. What a station does cannot be told from what its one part is: only with
 * two loads can it be asked. `loads` NULL: all. */
static enum tw_status fill(const struct weighing *weighing, const struct loads *loads, bool as_today,
                           struct tw_gaugings *out)
{
    const struct tw_job *job = weighing->asked->job;
    bool stations = loads ? loads->count > 1 : newest_loads(weighing, 2, NULL).count > 1;

    *out = (struct tw_gaugings){ .path = tw_copy_string("the run's readings"),
                                 .items = calloc(weighing->asked->count + 1, sizeof *out->items),
                                 .has_y = true,
                                 .has_station = stations };
    if (!out->path || !out->items) {
        tw_gaugings_free(out);
        return tw_no_memory(weighing->findings);
    }
    for (size_t i = 0; i < weighing->asked->count; i++) {
        const struct tw_measured *measured = &weighing->asked->measured[i];
        struct tw_gauging *item = &out->items[out->count];

        if (loads && !holds(loads, measured->load))
            continue;
        *item = (struct tw_gauging){ .station = stations ? measured->station : 0,
                                     .x_mm = measured->x_mm,
                                     .y_mm = measured->y_mm,
                                     .thickness_mm = tw_taper_thickness_mm(job, fmax(0.0, measured->x_mm)) +
                                                     deviation_mm(weighing, measured, as_today) };
        snprintf(item->part, sizeof item->part, "%s", measured->part);
        out->count++;
    }
    return TW_OK;
}

/* ---- what they come to ---- */

static const struct tw_gauge_term *term_of(const struct tw_gauged_run *run, enum tw_gauge_term_kind kind)
{
    for (size_t i = 0; i < run->term_count; i++)
        if (run->terms[i].kind == kind)
            return &run->terms[i];
    return NULL;
}

/* Of each part of some loads, in their order: how much too thick it was, its station's own left out. */
struct values {
    double *mm;
    int *load;
    size_t count;
    double reading_mm; /* scatter of a reading within its part */
    size_t degrees;    /* behind that */
    double mean_x_mm;
};

static void values_free(struct values *values)
{
    free(values->mm);
    free(values->load);
    *values = (struct values){ 0 };
}

/* The parts of a gauged run stand in the order in which their readings first name them. */
static void note_loads(const struct weighing *weighing, const struct loads *loads, struct values *values)
{
    const struct tw_measured *measured = weighing->asked->measured;
    size_t part = 0;

    for (size_t i = 0; i < weighing->asked->count && part < values->count; i++)
        if (holds(loads, measured[i].load) && (i == 0 || strcmp(measured[i - 1].part, measured[i].part) != 0))
            values->load[part++] = measured[i].load;
}

static enum tw_status take_values(const struct weighing *weighing, const struct loads *loads,
                                  const struct tw_gauged_run *run, struct values *out)
{
    out->mm = calloc(run->part_count, sizeof *out->mm);
    out->load = calloc(run->part_count, sizeof *out->load);
    if (!out->mm || !out->load) {
        values_free(out);
        return tw_no_memory(weighing->findings);
    }
    out->count = run->part_count;
    out->reading_mm = run->chance_mm;
    out->degrees = run->degrees;
    out->mean_x_mm = run->mean_x_mm;
    for (size_t i = 0; i < out->count; i++)
        out->mm[i] = run->parts[i].station_free_mm;
    note_loads(weighing, loads, out);
    return TW_OK;
}

static enum tw_status values_of(const struct weighing *weighing, const struct loads *loads, struct values *out)
{
    const struct tw_weighing *asked = weighing->asked;
    struct tw_gaugings readings;
    struct tw_gauged_run run;
    enum tw_status status = fill(weighing, loads, true, &readings);

    *out = (struct values){ 0 };
    if (status != TW_OK)
        return status;
    status = tw_gauge_run(asked->job, &readings, asked->gauge_mm, asked->tolerance_mm, &run, weighing->findings);
    if (status == TW_OK) {
        status = take_values(weighing, loads, &run, out);
        tw_gauged_run_free(&run);
    }
    tw_gaugings_free(&readings);
    return status;
}

/* One way to tell the course of the parts from load to load, each dressing beginning at a level of its own, and the offset that it
 * foretells of the next load. */
struct course {
    enum tw_offset_of of;
    size_t jump_at; /* first part after a jump since the last dressing */
    double value_mm, standard_mm;
    size_t degrees;
    double
        criterion; /* Akaike's, corrected for few values: C. M. Hurvich and C.-L. Tsai, Biometrika 76 (1989) 297-307 */
};

static double criterion_of(double squares, size_t count, size_t terms)
{
    double n = (double)count, k = (double)terms + 1.0; /* and the variance */

    if (count <= terms + 2)
        return HUGE_VAL;
    return n * log(fmax(squares, 1e-18) / n) + 2.0 * k + 2.0 * k * (k + 1.0) / (n - k - 1.0);
}

/* Whether the wheel was dressed between this part's load and the next part's. */
static bool is_dressed_after(const struct weighing *weighing, const struct values *values, size_t part)
{
    return dressings_before(weighing, values->load[part]) != dressings_before(weighing, values->load[part + 1]);
}

/* How many levels later the newest part lies: several dressings without a gauged load between them make one. */
static size_t levels_since(const struct weighing *weighing, const struct values *values, size_t part)
{
    size_t count = 0;

    for (size_t i = part; i + 1 < values->count; i++)
        count += is_dressed_after(weighing, values, i);
    return count;
}

/* The first term is the level at which the next load begins; then those of earlier dressings; then drift or jump. */
static void fill_course(const struct weighing *weighing, const struct values *values, const struct course *course,
                        size_t terms, double *rows, double *mm)
{
    double next = values->load[values->count - 1] + 1.0;

    for (size_t i = 0; i < values->count; i++) {
        double *row = rows + i * terms;

        row[levels_since(weighing, values, i)] = 1.0;
        if (course->of == TW_OFFSET_OF_DRIFT)
            row[terms - 1] = values->load[i] - next;
        if (course->of == TW_OFFSET_OF_NEWEST)
            row[terms - 1] = i < course->jump_at ? 1.0 : 0.0;
        mm[i] = values->mm[i];
    }
}

static enum tw_status fit_course(const struct weighing *weighing, const struct values *values, struct course *course)
{
    size_t terms = 1 + levels_since(weighing, values, 0) + (course->of != TW_OFFSET_OF_WEIGHED);
    double coefficients[TW_CORRECT_COURSE + 1], standards[TW_CORRECT_COURSE + 1];
    double *room = calloc((terms + 1) * values->count, sizeof *room);
    struct tw_least_squares fit = { .rows = room,
                                    .values = room ? room + terms * values->count : NULL,
                                    .count = values->count,
                                    .terms = terms,
                                    .coefficients = coefficients,
                                    .standards = standards };
    bool done = room != NULL;

    if (done)
        fill_course(weighing, values, course, terms, room, room + terms * values->count);
    done = done && tw_least_squares_fit(&fit);
    free(room);
    if (!done)
        return tw_no_memory(weighing->findings);
    course->value_mm = coefficients[0];
    course->standard_mm = standards[0];
    course->degrees = fit.degrees;
    course->criterion = fit.rank < terms ? HUGE_VAL
                                         : criterion_of(fit.standard * fit.standard * (double)fit.degrees,
                                                        values->count, terms + (course->of == TW_OFFSET_OF_NEWEST));
    return TW_OK;
}

static enum tw_status try_course(const struct weighing *weighing, const struct values *values, enum tw_offset_of of,
                                 size_t jump_at, struct course *best)
{
    struct course course = { .of = of, .jump_at = jump_at };
    enum tw_status status = fit_course(weighing, values, &course);

    if (status == TW_OK && course.criterion < best->criterion)
        *best = course;
    return status;
}

/* Steady, drifting, or jumped between two loads since the last dressing: what tells the parts best for the number of its terms. Two
 * points make any line, so a drift takes a third load. */
static enum tw_status choose_course(const struct weighing *weighing, const struct values *values, size_t loads,
                                    struct course *out)
{
    size_t levels = 1 + levels_since(weighing, values, 0);
    enum tw_status status;

    *out = (struct course){ .of = TW_OFFSET_OF_WEIGHED };
    status = fit_course(weighing, values, out);
    for (size_t i = 1; status == TW_OK && i < values->count; i++)
        if (values->load[i] != values->load[i - 1] && levels_since(weighing, values, i - 1) == 0)
            status = try_course(weighing, values, TW_OFFSET_OF_NEWEST, i, out);
    if (status == TW_OK && loads >= levels + 2)
        status = try_course(weighing, values, TW_OFFSET_OF_DRIFT, 0, out);
    return status;
}

static void take_mean(const struct values *values, struct course *out)
{
    double squares = 0.0;

    *out = (struct course){ .degrees = values->count - 1 };
    for (size_t i = 0; i < values->count; i++)
        out->value_mm += values->mm[i] / (double)values->count;
    for (size_t i = 0; i < values->count; i++)
        squares += pow(values->mm[i] - out->value_mm, 2.0);
    if (out->degrees > 0)
        out->standard_mm = sqrt(squares / (double)out->degrees / (double)values->count);
}

/* What parts of a single load differ by may be their stations and not chance. So a part's own scatter is taken to be what the gauge
 * is uncertain by, and a reading's as it is. */
static void take_one_load(const struct weighing *weighing, const struct values *values, struct course *out)
{
    take_mean(values, out);
    out->standard_mm = hypot(weighing->asked->gauge_mm, values->reading_mm) / sqrt((double)values->count);
    out->degrees = values->degrees > 0 ? values->degrees : 1;
}

/* Where there are no more parts than levels, nothing tells what chance is. */
static enum tw_status take_newest_load(const struct weighing *weighing, struct values *values, struct course *out)
{
    struct loads newest = { { newest_before(weighing, INT_MAX) }, 1 };
    enum tw_status status;

    values_free(values);
    status = values_of(weighing, &newest, values);
    if (status == TW_OK)
        take_one_load(weighing, values, out);
    return status;
}

/* Of loads that the wheel ground in the state in which it will grind the next. What is to be added to a correction that is at work
 * already is a difference of readings by one gauge, and what that gauge itself is off by is not in it. */
static enum tw_status take_offset(const struct weighing *weighing, struct tw_corrections *out, double *mean_x_mm)
{
    bool dressed = weighing->asked->dressed_next;
    double gauge_mm = weighing->asked->now->offset_mm != 0.0 ? 0.0 : weighing->asked->gauge_mm;
    struct loads loads = dressed ? newest_loads(weighing, TW_CORRECT_LOADS, is_fresh_newest_wheel)
                                 : newest_loads(weighing, TW_CORRECT_COURSE, is_by_newest_wheel);
    struct course course = { 0 };
    struct values values;
    enum tw_status status = values_of(weighing, &loads, &values);

    if (status != TW_OK)
        return status;
    if (loads.count == 1)
        take_one_load(weighing, &values, &course);
    else if (dressed)
        take_mean(&values, &course);
    else
        status = choose_course(weighing, &values, loads.count, &course);
    if (status == TW_OK && course.degrees == 0)
        status = take_newest_load(weighing, &values, &course);
    if (status != TW_OK) {
        values_free(&values);
        return status;
    }
    out->offset = tw_gauge_offset(course.value_mm, course.standard_mm, course.degrees, gauge_mm);
    out->offset_of = dressed ? TW_OFFSET_OF_DRESSED : course.of;
    *mean_x_mm = values.mean_x_mm;
    values_free(&values);
    return status;
}

static double whole_um_tenths(double mm)
{
    return round(mm * 1e4) / 1e4;
}

static bool are_too_large(const struct tw_job *job, const struct tw_run_totals *totals)
{
    bool large = fabs(totals->taper_mm) > 2.0 * TW_CORRECT_MOST_MM;

    for (int station = 0; station <= TW_RUN_STATIONS_MOST; station++)
        large = large || fabs(tw_run_lower_mm(job, totals, station)) > TW_CORRECT_MOST_MM;
    return large;
}

/* With the corrections of today most of its readings miss the tolerance. */
static bool misses_tolerance(const struct weighing *weighing, int load)
{
    size_t count = 0, missed = 0;

    for (size_t i = 0; i < weighing->asked->count; i++)
        if (weighing->asked->measured[i].load == load) {
            missed += fabs(deviation_mm(weighing, &weighing->asked->measured[i], true)) >
                      tw_run_gauge_mm(weighing->asked->job, weighing->asked->tolerance_mm);
            count++;
        }
    return 2 * missed > count;
}

/* ---- what is carried into roughing ---- */

/* Since the same dressing as the newest, by the same wheel. */
static bool is_like_newest(const struct weighing *weighing, int load)
{
    return is_by_newest_wheel(weighing, load) &&
           dressings_before(weighing, load) == dressings_before(weighing, newest_before(weighing, INT_MAX));
}

static bool tells_roughing(const struct weighing *weighing, int load)
{
    bool tells = false;

    for (size_t i = 0; i < weighing->asked->count; i++)
        tells = tells || (weighing->asked->measured[i].load == load && weighing->asked->measured[i].left_told);
    return tells && is_like_newest(weighing, load);
}

/* What roughing left of every part of the last loads that tell, at the least; see correct.h. */
static double left_by_roughing_mm(const struct weighing *weighing)
{
    struct loads loads = newest_loads(weighing, ROUGHING_LOADS, tells_roughing);
    double least_mm = HUGE_VAL, most_mm = -HUGE_VAL;

    for (size_t i = 0; i < weighing->asked->count; i++) {
        const struct tw_measured *measured = &weighing->asked->measured[i];

        if (!measured->left_told || !holds(&loads, measured->load))
            continue;
        least_mm = fmin(least_mm, measured->left_mm);
        most_mm = fmax(most_mm, measured->left_mm);
    }
    if (loads.count < ROUGHING_LOADS || weighing->asked->dressed_next)
        return 0.0;
    return least_mm > 0.0 ? ROUGHING_SHARE * least_mm : fmin(most_mm, 0.0);
}

static bool is_roughed_measured(const struct weighing *weighing)
{
    bool roughed = false;

    for (size_t i = 0; i < weighing->asked->count; i++)
        roughed = roughed || weighing->asked->measured[i].roughed;
    return roughed;
}

/* What the part of that load measured most too thick would be off by without any correction. */
static double most_error_mm(const struct weighing *weighing, int load)
{
    double length_mm = weighing->asked->job->taper.length_mm, most = 0.0;

    for (size_t i = 0; i < weighing->asked->count; i++) {
        const struct tw_measured *measured = &weighing->asked->measured[i];

        if (measured->load == load)
            most = fmax(most, deviation_mm(weighing, measured, true) +
                                  tw_run_total_mm(weighing->asked->now, measured->station, measured->x_mm, length_mm));
    }
    return most;
}

/* Of a load's thickness, so much may be planned lower: where no roughed part tells the next load, what two loads agree on. */
static double carried_most_mm(const struct weighing *weighing)
{
    const struct tw_job *job = weighing->asked->job;
    double allowed_mm = TW_CORRECT_CARRIED_SHARE * TW_SIDES_OF(job) * tw_plan_finish_stock_mm(job), least_mm = HUGE_VAL;
    struct loads loads = newest_loads(weighing, ROUGHING_LOADS, is_like_newest);

    if (is_roughed_measured(weighing) || loads.count < ROUGHING_LOADS)
        return allowed_mm;
    for (size_t i = 0; i < loads.count; i++)
        least_mm = fmin(least_mm, most_error_mm(weighing, loads.items[i]));
    return fmax(allowed_mm, least_mm);
}

/* More than may be planned lower at that station, at either end of its taper; below 0: less. */
static double beyond_mm(const struct tw_job *job, const struct tw_run_totals *totals, int station, double allowed_mm)
{
    double length_mm = job->taper.length_mm;

    return fmax(tw_run_total_mm(totals, station, 0.0, length_mm),
                tw_run_total_mm(totals, station, length_mm, length_mm)) -
           allowed_mm;
}

/* What is beyond it everywhere goes from roughing and offset, what is beyond it at some stations goes there. */
static bool bound(const struct tw_job *job, double allowed_mm, struct tw_run_totals *totals)
{
    int stations = (int)job->fixture.station_count;
    double common_mm = stations > 0 ? HUGE_VAL : 0.0;
    bool bounded = false;

    for (int station = 1; station <= stations; station++)
        common_mm = fmin(common_mm, beyond_mm(job, totals, station, allowed_mm));
    if (common_mm > HALF_TENTH_MM) {
        double of_roughing_mm = fmin(common_mm, fmax(0.0, totals->roughing_mm));

        totals->roughing_mm = whole_um_tenths(totals->roughing_mm - of_roughing_mm);
        totals->offset_mm = whole_um_tenths(totals->offset_mm - (common_mm - of_roughing_mm));
        bounded = true;
    }
    for (int station = 1; station <= stations; station++) {
        double beyond = beyond_mm(job, totals, station, allowed_mm);

        if (beyond <= HALF_TENTH_MM)
            continue;
        totals->station_mm[station - 1] = whole_um_tenths(totals->station_mm[station - 1] - beyond);
        bounded = true;
    }
    return bounded;
}

static void add_up(const struct weighing *weighing, double mean_x_mm, struct tw_corrections *out)
{
    const struct tw_gauge_term *taper = term_of(&out->weighed, TW_TERM_TAPER);
    double taper_mm = taper && taper->significant ? taper->value_mm : 0.0;
    double offset_mm = out->offset.significant ? out->offset.value_mm : 0.0;
    struct tw_run_totals next = *weighing->asked->now;

    next.taper_mm = whole_um_tenths(next.taper_mm + taper_mm);
    next.offset_mm =
        whole_um_tenths(next.offset_mm + offset_mm - taper_mm * mean_x_mm / weighing->asked->job->taper.length_mm);
    for (size_t i = 0; i < out->weighed.term_count; i++) {
        const struct tw_gauge_term *term = &out->weighed.terms[i];

        if (term->kind == TW_TERM_STATION && term->significant && term->station >= 1 &&
            term->station <= TW_RUN_STATIONS_MOST)
            next.station_mm[term->station - 1] = whole_um_tenths(next.station_mm[term->station - 1] + term->value_mm);
    }
    next.roughing_mm = whole_um_tenths(left_by_roughing_mm(weighing));
    out->bounded = (weighing->asked->apart || is_roughed_measured(weighing)) &&
                   bound(weighing->asked->job, carried_most_mm(weighing), &next);
    out->too_large = are_too_large(weighing->asked->job, &next) || is_far_off(weighing, out->newest);
    out->totals = out->too_large ? *weighing->asked->now : next;
    out->changed = memcmp(&out->totals, weighing->asked->now, sizeof next) != 0;
    out->unexplained = !out->too_large && !out->changed && !out->bounded && misses_tolerance(weighing, out->newest);
}

static enum tw_status weigh(const struct weighing *weighing, struct tw_corrections *out)
{
    const struct tw_weighing *asked = weighing->asked;
    struct loads last = newest_loads(weighing, TW_CORRECT_LOADS, NULL);
    double mean_x_mm = 0.0;
    enum tw_status status = fill(weighing, &last, true, &out->weighed_readings);

    if (status == TW_OK)
        status = fill(weighing, NULL, false, &out->all_readings);
    if (status == TW_OK)
        status = tw_gauge_run(asked->job, &out->weighed_readings, asked->gauge_mm, asked->tolerance_mm, &out->weighed,
                              weighing->findings);
    if (status == TW_OK)
        status = tw_gauge_run(asked->job, &out->all_readings, asked->gauge_mm, asked->tolerance_mm, &out->all,
                              weighing->findings);
    if (status == TW_OK)
        status = take_offset(weighing, out, &mean_x_mm);
    if (status == TW_OK)
        add_up(weighing, mean_x_mm, out);
    return status;
}

enum tw_status tw_corrections_make(const struct tw_weighing *asked, struct tw_corrections *out,
                                   struct tw_findings *findings)
{
    struct tw_weighing told = *asked;
    struct weighing weighing = { &told, findings };
    enum tw_status status;

    told.gauge_mm = tw_run_gauge_mm(asked->job, asked->gauge_mm);

    *out = (struct tw_corrections){ .newest = newest_before(&weighing, INT_MAX) };
    status = weigh(&weighing, out);
    if (status != TW_OK)
        tw_corrections_free(out);
    return status;
}

/* ---- for a person ---- */

static void print_heights(struct tw_text *text, const struct tw_job *job, const struct tw_run_totals *totals)
{
    for (int station = 1; station <= (int)job->fixture.station_count; station++) {
        double lower_mm = tw_run_lower_mm(job, totals, station);

        tw_text_print(text, "  station %d: %s face %s %s\n", station, job->one_face ? "the" : "each",
                      tw_fine_text(fabs(lower_mm), job->machine.dialect.inch).text,
                      lower_mm < 0.0 ? "higher" : "lower");
    }
    if (totals->taper_mm != 0.0)
        tw_text_print(text, "  butt: planned %s %s%s\n",
                      tw_fine_text(fabs(totals->taper_mm), job->machine.dialect.inch).text,
                      totals->taper_mm > 0.0 ? "thinner" : "thicker",
                      job->mount == TW_MOUNT_TILTED ? ", so the stack is another" : ", by the slope");
}

/* Where it is not that of all loads that were weighed. */
static void print_offset(struct tw_text *text, const struct tw_job *job, const struct tw_corrections *corrections)
{
    bool inch = job->machine.dialect.inch;

    switch (corrections->offset_of) {
    case TW_OFFSET_OF_WEIGHED:
        return;
    case TW_OFFSET_OF_DRIFT:
        tw_text_print(text, "  the parts drift from load to load, so the offset is what the next load will have");
        break;
    case TW_OFFSET_OF_NEWEST:
        tw_text_print(text, "  the parts jumped between loads, so the offset is that of the parts since");
        break;
    case TW_OFFSET_OF_DRESSED:
        tw_text_print(text,
                      "  the wheel is dressed before the next load, so the offset is that of the first loads after "
                      "earlier dressings");
        break;
    }
    tw_text_print(text, ": %s +- %s\n", tw_fine_signed_text(corrections->offset.value_mm, inch).text,
                  tw_fine_text(2.0 * corrections->offset.standard_mm, inch).text);
}

/* In a run whose roughed parts are measured. */
static void print_roughing(struct tw_text *text, const struct tw_job *job, const struct tw_corrections *corrections)
{
    bool inch = job->machine.dialect.inch;
    double share = job->one_face ? 1.0 : 0.5, carried_mm = corrections->totals.roughing_mm;

    if (carried_mm != 0.0)
        tw_text_print(text, "  of it, by what roughing left in the last %d loads alike: %s %s a face\n", ROUGHING_LOADS,
                      tw_fine_text(share * fabs(carried_mm), inch).text, carried_mm > 0.0 ? "lower" : "higher");
    if (corrections->bounded)
        tw_text_print(
            text,
            "  no more than %s a face is carried into a load's roughing, %.0f %% of what finishing takes off: "
            "touched off otherwise, it would end under the finished face. Measure the roughed parts, and "
            "what is left is corrected then\n",
            tw_fine_text(TW_CORRECT_CARRIED_SHARE * tw_plan_finish_stock_mm(job), inch).text,
            100.0 * TW_CORRECT_CARRIED_SHARE);
}

static void print_planned(struct tw_text *text, const struct tw_job *job, const struct tw_corrections *corrections)
{
    bool inch = job->machine.dialect.inch;

    tw_text_print(text, "\nfor the next loads\n");
    print_offset(text, job, corrections);
    if (corrections->too_large)
        tw_text_print(
            text,
            "  more than %s a face would have to be corrected: no machine is so far off. Look at zeros, stops, "
            "packing and gauge before another load is ground; nothing is changed\n",
            tw_fine_text(TW_CORRECT_MOST_MM, inch).text);
    else if (corrections->unexplained)
        tw_text_print(text,
                      "  most readings of load %d miss the tolerance, and neither an offset nor a taper nor a station "
                      "explains it, so there is nothing to correct. Look at the places measured (a hollow, an edge, a "
                      "burr), gauge, packing and stops before another load is ground\n",
                      corrections->newest);
    else if (!corrections->changed)
        tw_text_print(text, "  nothing is changed: no deviation is larger than what it is known to\n");
    else
        print_heights(text, job, &corrections->totals);
    if (!corrections->too_large)
        print_roughing(text, job, corrections);
}

enum tw_status tw_corrections_text(const struct tw_job *job, const struct tw_corrections *corrections,
                                   double tolerance_mm, char **out, struct tw_findings *findings)
{
    struct tw_text text = { 0 };
    char *weighed = NULL, *all = NULL;
    enum tw_status status =
        tw_gauge_figures(job, &corrections->weighed_readings, tolerance_mm, &corrections->weighed, &weighed, findings);

    *out = NULL;
    if (status == TW_OK)
        status = tw_gauge_figures(job, &corrections->all_readings, tolerance_mm, &corrections->all, &all, findings);
    if (status == TW_OK) {
        tw_text_print(
            &text,
            "the newest loads, at most %d, as they would be with the corrections of today\n%s\nthe run so far, as it "
            "was ground\n%s",
            TW_CORRECT_LOADS, weighed, all);
        print_planned(&text, job, corrections);
        *out = tw_text_take(&text);
        status = *out ? TW_OK : tw_no_memory(findings);
    }
    free(weighed);
    free(all);
    return status;
}
