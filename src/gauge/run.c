/* run.c - the terms of the readings, and the course of the parts; see gauge.h. */
#include "tangwright/gauge.h"

#include "gauge/credible.h"
#include "geometry/ring.h"
#include "tangwright/taper.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SURE       2.0  /* a term is told above so many of its standard uncertainties */
#define SIDE_LEAST 2    /* parts on either side of a jump */
#define SPAN_LEAST 0.05 /* of the taper's length, or of the half width squared: less tells no slope or crown */
#define ALIKE_MM   1e-6 /* readings no farther apart are the same number */
#define STEP_MM    1e-3 /* nobody reads a micrometer finer, so what is smaller is its rounding */
#define BESIDE_MM  1.0  /* by so much a place measured by a rule may lie off the drawn edge */

/* What is worked with on the way. */
struct gauging {
    const struct tw_job *job;
    const struct tw_gaugings *readings;
    struct tw_gauged_run *out;
    struct tw_findings *findings;
    size_t *part_of; /* of each reading */
    double *x,
        *v; /* of each reading: x over the taper's length; squared distance from the middle line, of the half width */
    double *mean_x, *mean_v, *mean_mm; /* of each part; mm: deviation */
    double all_x, all_v;
    double taper_mm, crown_mm; /* as fitted */
    double gauge_mm;
    size_t stations_told; /* beyond the offset: so many degrees of freedom are gone from the parts' values */
};

static double chance_of(double t, size_t degrees)
{
    return degrees > 0 ? 2.0 * gsl_cdf_tdist_Q(fabs(t), (double)degrees) : 1.0;
}

/* Told where it is not chance, and larger than what no number of readings makes smaller. Readings that are alike to the last
 * digit leave chance no room. */
static struct tw_gauge_term weigh_term(struct tw_gauge_term term, double own_standard_mm, size_t degrees,
                                       double least_mm)
{
    bool alike = degrees > 0 && own_standard_mm < ALIKE_MM;

    term.judged = degrees > 0;
    term.chance = alike                   ? (fabs(term.value_mm) > STEP_MM ? 0.0 : 1.0)
                  : own_standard_mm > 0.0 ? chance_of(term.value_mm / own_standard_mm, degrees)
                                          : 1.0;
    term.significant = term.chance < TW_GAUGE_CHANCE && fabs(term.value_mm) > fmax(SURE * own_standard_mm, least_mm);
    return term;
}

static void add_term(struct tw_gauged_run *out, struct tw_gauge_term term, double own_standard_mm, size_t degrees)
{
    out->terms[out->term_count++] = weigh_term(term, own_standard_mm, degrees, 0.0);
}

struct tw_gauge_term tw_gauge_offset(double value_mm, double own_standard_mm, size_t degrees, double gauge_mm)
{
    struct tw_gauge_term offset = { .kind = TW_TERM_OFFSET,
                                    .value_mm = value_mm,
                                    .standard_mm = hypot(own_standard_mm, gauge_mm) };

    return weigh_term(offset, own_standard_mm, degrees, gauge_mm);
}

/* ---- readings and parts ---- */

static bool open_arrays(struct gauging *gauging)
{
    size_t count = gauging->readings->count;
    struct tw_gauged_run *out = gauging->out;

    out->stands_off = calloc(count, sizeof *out->stands_off);
    out->left_mm = calloc(count, sizeof *out->left_mm);
    out->deviation_mm = calloc(count, sizeof *out->deviation_mm);
    out->doubts = calloc(count, sizeof *out->doubts);
    out->parts = calloc(count, sizeof *out->parts);
    gauging->part_of = calloc(count, sizeof *gauging->part_of);
    gauging->x = calloc(count, sizeof *gauging->x);
    gauging->v = calloc(count, sizeof *gauging->v);
    gauging->mean_x = calloc(count, sizeof *gauging->mean_x);
    gauging->mean_v = calloc(count, sizeof *gauging->mean_v);
    gauging->mean_mm = calloc(count, sizeof *gauging->mean_mm);
    return out->stands_off && out->left_mm && out->deviation_mm && out->doubts && out->parts && gauging->part_of &&
           gauging->x && gauging->v && gauging->mean_x && gauging->mean_v && gauging->mean_mm;
}

static void close_arrays(struct gauging *gauging)
{
    free(gauging->part_of);
    free(gauging->x);
    free(gauging->v);
    free(gauging->mean_x);
    free(gauging->mean_v);
    free(gauging->mean_mm);
}

/* The part of that name, new where it is the first time. */
static size_t part_named(struct gauging *gauging, const struct tw_gauging *reading)
{
    struct tw_gauged_run *out = gauging->out;
    size_t i = 0;

    while (i < out->part_count && strcmp(out->parts[i].name, reading->part) != 0)
        i++;
    if (i == out->part_count)
        out->parts[out->part_count++] = (struct tw_gauged_part){ .name = reading->part, .station = reading->station };
    return i;
}

static enum tw_status take_readings(struct gauging *gauging)
{
    const struct tw_gaugings *readings = gauging->readings;
    const struct tw_job *job = gauging->job;
    struct tw_box box = tw_ring_box(&job->part.tang.outer);
    double half_mm = (box.max_y_mm - box.min_y_mm) / 2.0, middle_mm = (box.max_y_mm + box.min_y_mm) / 2.0;
    double farthest_mm = fmax(box.max_y_mm, -box.min_y_mm);

    for (size_t i = 0; i < readings->count; i++) {
        const struct tw_gauging *reading = &readings->items[i];
        struct tw_place at = { .file = readings->path, .line = reading->line, .key = "x" };
        size_t part = part_named(gauging, reading);

        if (reading->x_mm > box.max_x_mm)
            return tw_fail(gauging->findings, TW_BAD_INPUT, at,
                           "%.6g mm lies behind the butt, which is %.2f mm behind the taper start", reading->x_mm,
                           box.max_x_mm);
        if (fabs(reading->y_mm) > farthest_mm + BESIDE_MM)
            return tw_fail(gauging->findings, TW_BAD_INPUT,
                           (struct tw_place){ .file = readings->path, .line = reading->line, .key = "y" },
                           "%.6g mm lies beside the tang, which reaches %.1f mm from the taper axis at most",
                           reading->y_mm, farthest_mm);
        if (reading->station > (int)job->fixture.station_count)
            return tw_fail(gauging->findings, TW_BAD_INPUT,
                           (struct tw_place){ .file = readings->path, .line = reading->line, .key = "station" },
                           "%d, but the fixture has %zu", reading->station, job->fixture.station_count);
        if (gauging->out->parts[part].station != reading->station)
            return tw_fail(gauging->findings, TW_BAD_INPUT,
                           (struct tw_place){ .file = readings->path, .line = reading->line, .key = "station" },
                           "part %s lay in station %d a line before; a part lies in one station", reading->part,
                           gauging->out->parts[part].station);
        gauging->part_of[i] = part;
        gauging->out->parts[part].readings++;
        gauging->x[i] = reading->x_mm / job->taper.length_mm;
        gauging->v[i] = (reading->y_mm - middle_mm) * (reading->y_mm - middle_mm) / (half_mm * half_mm);
        gauging->out->deviation_mm[i] = reading->thickness_mm - tw_taper_thickness_mm(job, fmax(0.0, reading->x_mm));
    }
    return TW_OK;
}

static void take_means(struct gauging *gauging)
{
    size_t count = gauging->readings->count;

    for (size_t i = 0; i < count; i++) {
        size_t part = gauging->part_of[i];
        double share = 1.0 / (double)gauging->out->parts[part].readings;

        gauging->mean_x[part] += share * gauging->x[i];
        gauging->mean_v[part] += share * gauging->v[i];
        gauging->mean_mm[part] += share * gauging->out->deviation_mm[i];
        gauging->all_x += gauging->x[i] / (double)count;
        gauging->all_v += gauging->v[i] / (double)count;
    }
    gauging->out->mean_x_mm = gauging->all_x * gauging->job->taper.length_mm;
}

/* ---- within the parts ---- */

/* Whether the readings of one and the same part reach far enough for a slope of these values. */
static bool spans(const struct gauging *gauging, const double *values, const double *means)
{
    for (size_t i = 0; i < gauging->readings->count; i++)
        if (fabs(values[i] - means[gauging->part_of[i]]) > SPAN_LEAST / 2.0)
            return true;
    return false;
}

/* Judged by the others: the residual over what it would be without the reading. */
static void find_off(struct gauging *gauging, const struct tw_least_squares *fit)
{
    struct tw_gauged_run *out = gauging->out;
    size_t count = gauging->readings->count;
    double square = fit->standard * fit->standard;

    for (size_t i = 0; fit->degrees > 1 && square > 0.0 && i < count; i++) {
        size_t in_part = out->parts[gauging->part_of[i]].readings;
        double rest = 1.0 - 1.0 / (double)in_part - (fit->terms > 0 ? fit->leverages[i] : 0.0), without, t;

        if (in_part < 2 || rest < 1e-9)
            continue;
        without =
            (square * (double)fit->degrees - out->left_mm[i] * out->left_mm[i] / rest) / (double)(fit->degrees - 1);
        t = without > 0.0 ? out->left_mm[i] / sqrt(without * rest) : HUGE_VAL;
        out->stands_off[i] = chance_of(t, fit->degrees - 1) * (double)count < TW_GAUGE_CHANCE;
        out->off_count += out->stands_off[i];
    }
}

/* What taper, crown and the part's mean leave of each reading. */
static void take_left(struct gauging *gauging)
{
    struct tw_gauged_run *out = gauging->out;

    for (size_t i = 0; i < gauging->readings->count; i++) {
        size_t part = gauging->part_of[i];

        out->left_mm[i] = out->deviation_mm[i] - gauging->mean_mm[part] -
                          gauging->taper_mm * (gauging->x[i] - gauging->mean_x[part]) -
                          gauging->crown_mm * (gauging->v[i] - gauging->mean_v[part]);
    }
}

static void fill_within(const struct gauging *gauging, bool taper, bool crown, double *rows, double *values)
{
    for (size_t i = 0; i < gauging->readings->count; i++) {
        size_t part = gauging->part_of[i];

        if (taper)
            *rows++ = gauging->x[i] - gauging->mean_x[part];
        if (crown)
            *rows++ = gauging->v[i] - gauging->mean_v[part];
        values[i] = gauging->out->deviation_mm[i] - gauging->mean_mm[part];
    }
}

static void keep_within(struct gauging *gauging, const struct tw_least_squares *fit, bool taper, bool crown)
{
    struct tw_gauged_run *out = gauging->out;
    size_t k = 0;

    out->chance_mm = fit->standard;
    out->degrees = fit->degrees;
    if (taper) {
        gauging->taper_mm = fit->coefficients[k];
        add_term(out,
                 (struct tw_gauge_term){
                     .kind = TW_TERM_TAPER, .value_mm = fit->coefficients[k], .standard_mm = fit->standards[k] },
                 fit->standards[k], fit->degrees);
        k++;
    }
    if (crown) {
        gauging->crown_mm = fit->coefficients[k];
        add_term(out,
                 (struct tw_gauge_term){
                     .kind = TW_TERM_CROWN, .value_mm = fit->coefficients[k], .standard_mm = fit->standards[k] },
                 fit->standards[k], fit->degrees);
    }
}

/* Where neither slope nor crown can be told: chance about the parts' means. */
static void spread_within(struct gauging *gauging, struct tw_least_squares *fit)
{
    struct tw_gauged_run *out = gauging->out;
    double sum = 0.0;

    for (size_t i = 0; i < fit->count; i++)
        sum += out->left_mm[i] * out->left_mm[i];
    fit->degrees = fit->count - out->part_count;
    fit->standard = fit->degrees > 0 ? sqrt(sum / (double)fit->degrees) : 0.0;
    out->chance_mm = fit->standard;
    out->degrees = fit->degrees;
}

/* Each reading less its part's mean. Without a slope or a crown to fit there is still chance to be told. */
static enum tw_status fit_within(struct gauging *gauging)
{
    size_t count = gauging->readings->count;
    bool taper = spans(gauging, gauging->x, gauging->mean_x);
    bool crown = gauging->readings->has_y && spans(gauging, gauging->v, gauging->mean_v);
    double coefficients[2], standards[2];
    double *room = calloc(4 * count, sizeof *room);
    struct tw_least_squares fit = { .rows = room,
                                    .values = room ? room + 2 * count : NULL,
                                    .leverages = room ? room + 3 * count : NULL,
                                    .count = count,
                                    .terms = (size_t)taper + (size_t)crown,
                                    .absorbed = gauging->out->part_count,
                                    .coefficients = coefficients,
                                    .standards = standards };
    bool done = room != NULL;

    if (done && fit.terms > 0) {
        fill_within(gauging, taper, crown, room, room + 2 * count);
        done = tw_least_squares_fit(&fit);
    }
    if (done && fit.terms > 0 && fit.rank == fit.terms)
        keep_within(gauging, &fit, taper, crown);
    else
        fit.terms = 0;
    if (done) {
        take_left(gauging);
        if (fit.terms == 0)
            spread_within(gauging, &fit);
        find_off(gauging, &fit);
    }
    free(room);
    return done ? TW_OK : tw_no_memory(gauging->findings);
}

/* ---- over the parts ---- */

static void level_means(struct gauging *gauging)
{
    for (size_t i = 0; i < gauging->out->part_count; i++)
        gauging->out->parts[i].mean_mm = gauging->mean_mm[i] -
                                         gauging->taper_mm * (gauging->mean_x[i] - gauging->all_x) -
                                         gauging->crown_mm * (gauging->mean_v[i] - gauging->all_v);
}

static size_t list_stations(const struct tw_gauged_run *run, int stations[TW_GAUGE_STATIONS])
{
    bool used[TW_GAUGE_STATIONS + 1] = { false };
    size_t count = 0;

    for (size_t i = 0; i < run->part_count; i++)
        used[run->parts[i].station] = true;
    for (int station = 1; station <= TW_GAUGE_STATIONS; station++)
        if (used[station])
            stations[count++] = station;
    return count;
}

/* Offset, and each station's own but the one left out: all of them together are nothing. */
static void fill_parts(const struct tw_gauged_run *run, const int *stations, size_t count, int left_out, double *rows,
                       double *values)
{
    for (size_t i = 0; i < run->part_count; i++) {
        *rows++ = 1.0;
        for (size_t k = 0; count > 1 && k < count; k++)
            if (stations[k] != left_out)
                *rows++ = run->parts[i].station == stations[k] ? 1.0 : run->parts[i].station == left_out ? -1.0 : 0.0;
        values[i] = run->parts[i].mean_mm;
    }
}

static enum tw_status solve_parts(struct gauging *gauging, const int *stations, size_t count, int left_out,
                                  struct tw_least_squares *fit)
{
    size_t parts = gauging->out->part_count, terms = count > 1 ? count : 1;
    double *room = calloc(parts * (terms + 1), sizeof *room);
    bool done = room != NULL;

    fit->rows = room;
    fit->values = room ? room + parts * terms : NULL;
    fit->count = parts;
    fit->terms = terms;
    fit->leverages = NULL;
    if (done) {
        fill_parts(gauging->out, stations, count, left_out, room, room + parts * terms);
        done = tw_least_squares_fit(fit);
    }
    free(room);
    return done ? TW_OK : tw_no_memory(gauging->findings);
}

static void keep_offset(struct gauging *gauging, const struct tw_least_squares *fit)
{
    struct tw_gauged_run *out = gauging->out;

    out->terms[out->term_count++] =
        tw_gauge_offset(fit->coefficients[0], fit->standards[0], fit->degrees, gauging->gauge_mm);
}

static void keep_station(struct gauging *gauging, int station, double value_mm, double standard_mm, size_t degrees)
{
    struct tw_gauged_run *out = gauging->out;

    add_term(out,
             (struct tw_gauge_term){
                 .kind = TW_TERM_STATION, .station = station, .value_mm = value_mm, .standard_mm = standard_mm },
             standard_mm, degrees);
    for (size_t i = 0; i < out->part_count; i++)
        if (out->parts[i].station == station)
            out->parts[i].station_free_mm -= value_mm;
}

/* With the last station left out, and with the first, which tells the last. */
static enum tw_status fit_parts(struct gauging *gauging)
{
    struct tw_gauged_run *out = gauging->out;
    double coefficients[TW_GAUGE_STATIONS + 1], standards[TW_GAUGE_STATIONS + 1];
    struct tw_least_squares fit = { .coefficients = coefficients, .standards = standards };
    int stations[TW_GAUGE_STATIONS];
    size_t count = list_stations(out, stations);
    enum tw_status status = solve_parts(gauging, stations, count, count > 0 ? stations[count - 1] : 0, &fit);

    if (status != TW_OK)
        return status;
    for (size_t i = 0; i < out->part_count; i++)
        out->parts[i].station_free_mm = out->parts[i].mean_mm;
    keep_offset(gauging, &fit);
    if (count < 2 || fit.degrees == 0)
        return TW_OK;
    gauging->stations_told = count - 1;
    for (size_t k = 0; k + 1 < count; k++)
        keep_station(gauging, stations[k], coefficients[k + 1], standards[k + 1], fit.degrees);
    status = solve_parts(gauging, stations, count, stations[0], &fit);
    if (status == TW_OK)
        keep_station(gauging, stations[count - 1], coefficients[count - 1], standards[count - 1], fit.degrees);
    return status;
}

/* ---- their course ---- */

/* Slope or step of the parts' values, by the regressor of each; the chance that there is none, twice because both are asked. */
static enum tw_status fit_course(struct gauging *gauging, size_t jump_after, double *value_mm, double *chance)
{
    struct tw_gauged_run *out = gauging->out;
    double coefficients[2], standards[2];
    double *room = calloc(3 * out->part_count, sizeof *room);
    struct tw_least_squares fit = { .rows = room,
                                    .values = room ? room + 2 * out->part_count : NULL,
                                    .count = out->part_count,
                                    .terms = 2,
                                    .absorbed = gauging->stations_told,
                                    .coefficients = coefficients,
                                    .standards = standards };
    bool done = room != NULL;

    for (size_t i = 0; done && i < out->part_count; i++) {
        room[2 * i] = 1.0;
        room[2 * i + 1] = jump_after > 0 ? (double)(i >= jump_after) : (double)i;
        room[2 * out->part_count + i] = out->parts[i].station_free_mm;
    }
    done = done && tw_least_squares_fit(&fit);
    free(room);
    if (!done)
        return tw_no_memory(gauging->findings);
    *value_mm = coefficients[1];
    *chance = standards[1] > 0.0 ? 2.0 * chance_of(coefficients[1] / standards[1], fit.degrees) : 1.0;
    return TW_OK;
}

static enum tw_status find_course(struct gauging *gauging)
{
    struct tw_gauged_run *out = gauging->out;
    size_t places = out->part_count - 2 * SIDE_LEAST + 1;
    double drift_mm = 0.0, least = 1.0;
    enum tw_status status = fit_course(gauging, 0, &drift_mm, &least);

    if (status == TW_OK && least < TW_GAUGE_CHANCE) {
        out->course = TW_COURSE_DRIFTS;
        out->drift_mm_per_part = drift_mm;
        out->course_chance = least;
    }
    for (size_t after = SIDE_LEAST; status == TW_OK && after + SIDE_LEAST <= out->part_count; after++) {
        double jump_mm = 0.0, chance = 1.0;

        status = fit_course(gauging, after, &jump_mm, &chance);
        chance *= (double)places;
        if (chance >= fmin(least, TW_GAUGE_CHANCE))
            continue;
        least = chance;
        out->course = TW_COURSE_JUMPS;
        out->jump_mm = jump_mm;
        out->jump_after = after;
        out->course_chance = chance;
    }
    if (out->course != TW_COURSE_DRIFTS)
        out->drift_mm_per_part = 0.0;
    return status;
}

/* ---- spread ---- */

static enum tw_status chart_parts(struct gauging *gauging, double tolerance_mm)
{
    struct tw_gauged_run *out = gauging->out;
    double *values = calloc(out->part_count, sizeof *values), sum = 0.0;

    if (!values)
        return tw_no_memory(gauging->findings);
    for (size_t i = 0; i < out->part_count; i++)
        values[i] = out->parts[i].mean_mm;
    out->charted = true;
    out->chart = tw_control_chart_of(values, out->part_count);
    out->mean_mm = out->chart.centre;
    for (size_t i = 0; i < out->part_count; i++) {
        sum += (values[i] - out->mean_mm) * (values[i] - out->mean_mm);
        out->parts[i].beyond = values[i] < out->chart.low || values[i] > out->chart.high;
    }
    out->spread_mm = sqrt(sum / (double)(out->part_count - 1));
    if (tolerance_mm > 0.0 && out->spread_mm > 0.0)
        out->capability = tw_capability_of(out->mean_mm, out->spread_mm, out->part_count, -tolerance_mm, tolerance_mm);
    free(values);
    return TW_OK;
}

static void count_beyond(struct gauging *gauging, double tolerance_mm)
{
    struct tw_gauged_run *out = gauging->out;

    out->toleranced = tolerance_mm > 0.0;
    for (size_t i = 0; out->toleranced && i < gauging->readings->count; i++)
        out->beyond_tolerance += fabs(out->deviation_mm[i]) > tolerance_mm;
}

const struct tw_gauge_term *tw_gauge_term_of(const struct tw_gauged_run *run, enum tw_gauge_term_kind kind)
{
    for (size_t i = 0; i < run->term_count; i++)
        if (run->terms[i].kind == kind)
            return &run->terms[i];
    return NULL;
}

double tw_gauge_term_mm(const struct tw_gauged_run *run, enum tw_gauge_term_kind kind)
{
    const struct tw_gauge_term *term = tw_gauge_term_of(run, kind);

    return term ? term->value_mm : 0.0;
}

static enum tw_status doubt(struct gauging *gauging)
{
    struct credible credible = { .job = gauging->job,
                                 .readings = gauging->readings,
                                 .part_of = gauging->part_of,
                                 .x = gauging->x,
                                 .v = gauging->v,
                                 .all_x = gauging->all_x,
                                 .all_v = gauging->all_v,
                                 .span_least = SPAN_LEAST,
                                 .crown = tw_gauge_term_of(gauging->out, TW_TERM_CROWN) != NULL,
                                 .out = gauging->out };

    return tw_credible(&credible) ? TW_OK : tw_no_memory(gauging->findings);
}

enum tw_status tw_gauge_run(const struct tw_job *job, const struct tw_gaugings *gaugings, double gauge_mm,
                            double tolerance_mm, struct tw_gauged_run *out, struct tw_findings *findings)
{
    struct gauging gauging = {
        .job = job, .readings = gaugings, .out = out, .findings = findings, .gauge_mm = gauge_mm
    };
    enum tw_status status;

    *out = (struct tw_gauged_run){ 0 };
    status = open_arrays(&gauging) ? take_readings(&gauging) : tw_no_memory(findings);
    if (status == TW_OK) {
        take_means(&gauging);
        status = fit_within(&gauging);
    }
    if (status == TW_OK) {
        level_means(&gauging);
        status = fit_parts(&gauging);
    }
    if (status == TW_OK && out->part_count >= TW_GAUGE_PARTS_LEAST)
        status = find_course(&gauging);
    if (status == TW_OK && out->part_count >= TW_GAUGE_PARTS_LEAST)
        status = chart_parts(&gauging, tolerance_mm);
    if (status == TW_OK)
        count_beyond(&gauging, tolerance_mm);
    if (status == TW_OK)
        status = doubt(&gauging);
    close_arrays(&gauging);
    if (status != TW_OK)
        tw_gauged_run_free(out);
    return status;
}

void tw_gauged_run_free(struct tw_gauged_run *run)
{
    free(run->stands_off);
    free(run->left_mm);
    free(run->deviation_mm);
    free(run->doubts);
    free(run->parts);
    *run = (struct tw_gauged_run){ 0 };
}
