/* credible.c - see credible.h. */
#include "gauge/credible.h"

#include "tangwright/taper.h"

#include <math.h>
#include <stdlib.h>

#define ALL_PAIRS_MOST 60   /* of a part's readings; of more, each is paired with the one half the part farther down */
#define ALIKE_MM       0.01 /* so near are two readings of one place, unless one was misread: judgement */
#define FITS_BETTER    5.0  /* so many times smaller is the taper when x is taken from the butt */

struct medians {
    struct credible *in;
    size_t *by_part; /* readings, part after part */
    size_t *begin;   /* of each part in it, and the end of the last */
    double *values;  /* what a median is taken of */
    double *left_mm; /* of each reading: less taper and crown */
};

static int by_value(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

/* Of an even number the middle one that is nearer to `expected`. Sorts. */
static double median(double *values, size_t count, double expected)
{
    double low, high;

    if (count == 0)
        return expected;
    qsort(values, count, sizeof *values, by_value);
    low = values[(count - 1) / 2];
    high = values[count / 2];
    return fabs(low - expected) < fabs(high - expected) ? low : high;
}

static size_t pairs_of(size_t readings)
{
    return readings <= ALL_PAIRS_MOST ? readings * (readings - (readings > 0)) / 2 : readings / 2;
}

static size_t most_values(const struct tw_gauged_run *run, size_t readings)
{
    size_t most = readings;
    size_t pairs = 0;

    for (size_t i = 0; i < run->part_count; i++)
        pairs += pairs_of(run->parts[i].readings);
    return most > pairs ? most : pairs;
}

static bool open_medians(struct medians *medians)
{
    const struct credible *in = medians->in;
    size_t count = in->readings->count, parts = in->out->part_count;

    medians->by_part = calloc(count + 1, sizeof *medians->by_part);
    medians->begin = calloc(parts + 2, sizeof *medians->begin);
    medians->values = calloc(most_values(in->out, count) + 1, sizeof *medians->values);
    medians->left_mm = calloc(count + 1, sizeof *medians->left_mm);
    return medians->by_part && medians->begin && medians->values && medians->left_mm;
}

static void close_medians(struct medians *medians)
{
    free(medians->by_part);
    free(medians->begin);
    free(medians->values);
    free(medians->left_mm);
}

/* Counting sort; a part's readings keep their order. */
static void sort_by_part(struct medians *medians)
{
    const struct credible *in = medians->in;

    for (size_t i = 0; i < in->readings->count; i++)
        medians->begin[in->part_of[i] + 2]++;
    for (size_t part = 0; part < in->out->part_count; part++)
        medians->begin[part + 2] += medians->begin[part + 1];
    for (size_t i = 0; i < in->readings->count; i++)
        medians->by_part[medians->begin[in->part_of[i] + 1]++] = i;
}

static void take_slope(const struct medians *medians, const double *at, const double *mm, size_t a, size_t b,
                       size_t *count)
{
    double span = at[b] - at[a];

    if (fabs(span) > medians->in->span_least)
        medians->values[(*count)++] = (mm[b] - mm[a]) / span;
}

/* Of values mm[] over at[], both of each reading, within the parts. */
static double slope_of(struct medians *medians, const double *at, const double *mm)
{
    size_t count = 0;

    for (size_t part = 0; part < medians->in->out->part_count; part++) {
        const size_t *reading = medians->by_part + medians->begin[part];
        size_t readings = medians->begin[part + 1] - medians->begin[part];

        for (size_t i = 0; readings <= ALL_PAIRS_MOST && i < readings; i++)
            for (size_t k = i + 1; k < readings; k++)
                take_slope(medians, at, mm, reading[i], reading[k], &count);
        for (size_t i = 0; readings > ALL_PAIRS_MOST && i < readings / 2; i++)
            take_slope(medians, at, mm, reading[i], reading[i + readings / 2], &count);
    }
    return median(medians->values, count, 0.0);
}

/* ---- terms ---- */

static double most_mm(const struct tw_job *job)
{
    return TW_SIDES_OF(job) * TW_GAUGE_MOST_MM;
}

/* The taper that the same readings have when each x is taken from the butt; false where one has no such place. */
static bool mirror(struct medians *medians, double *at, double *mm, double *taper_mm)
{
    const struct credible *in = medians->in;
    double butt_mm = tw_tang_end_mm(in->job);

    for (size_t i = 0; i < in->readings->count; i++) {
        double x_mm = butt_mm - in->readings->items[i].x_mm;

        if (x_mm < 0.0 || x_mm > butt_mm)
            return false;
        at[i] = x_mm / in->job->taper.length_mm;
        mm[i] = in->readings->items[i].thickness_mm - tw_taper_thickness_mm(in->job, x_mm);
    }
    *taper_mm = slope_of(medians, at, mm);
    return true;
}

static bool ask_mirror(struct medians *medians, double taper_mm)
{
    struct tw_gauged_run *out = medians->in->out;
    double *room = calloc(2 * medians->in->readings->count, sizeof *room), mirrored_mm;

    if (!room)
        return false;
    if (mirror(medians, room, room + medians->in->readings->count, &mirrored_mm) &&
        fabs(mirrored_mm) <= most_mm(medians->in->job) && FITS_BETTER * fabs(mirrored_mm) < fabs(taper_mm)) {
        out->look_first |= TW_LOOK_FROM_BUTT | TW_LOOK_TAPER;
        out->from_butt_mm = mirrored_mm;
    }
    free(room);
    return true;
}

/* Taper and crown by medians; the deviations less both are left. */
static bool take_terms(struct medians *medians, double *taper_mm, double *crown_mm)
{
    const struct credible *in = medians->in;
    bool told = true;

    *taper_mm = slope_of(medians, in->x, in->out->deviation_mm);
    for (size_t i = 0; i < in->readings->count; i++)
        medians->left_mm[i] = in->out->deviation_mm[i] - *taper_mm * (in->x[i] - in->all_x);
    *crown_mm = in->crown ? slope_of(medians, in->v, medians->left_mm) : 0.0;
    for (size_t i = 0; i < in->readings->count; i++)
        medians->left_mm[i] -= *crown_mm * (in->v[i] - in->all_v);
    if (fabs(*taper_mm) > most_mm(in->job))
        told = ask_mirror(medians, *taper_mm);
    return told;
}

/* ---- parts and readings ---- */

static double level_of(struct medians *medians, size_t part, double expected_mm)
{
    size_t count = 0;

    for (size_t i = medians->begin[part]; i < medians->begin[part + 1]; i++)
        medians->values[count++] = medians->left_mm[medians->by_part[i]];
    return median(medians->values, count, expected_mm);
}

static void take_levels(struct medians *medians)
{
    struct tw_gauged_run *out = medians->in->out;

    for (int round = 0; round < 2; round++) {
        for (size_t part = 0; part < out->part_count; part++)
            out->parts[part].level_mm = level_of(medians, part, out->load_mm);
        for (size_t part = 0; part < out->part_count; part++)
            medians->values[part] = out->parts[part].level_mm;
        out->load_mm = median(medians->values, out->part_count, out->load_mm);
    }
}

static void judge_parts(struct medians *medians)
{
    struct tw_gauged_run *out = medians->in->out;
    double tolerance_mm = medians->in->job->finish.thickness_mm;
    bool all = fabs(out->load_mm) > tolerance_mm;

    out->look_first |= all ? TW_LOOK_OFFSET : 0;
    for (size_t i = 0; i < out->part_count; i++) {
        struct tw_gauged_part *part = &out->parts[i];

        part->apart = fabs(part->level_mm) > tolerance_mm && fabs(part->level_mm - out->load_mm) > tolerance_mm;
        part->off = part->apart || (fabs(part->level_mm) > tolerance_mm && !all);
        out->look_first |= (part->off ? TW_LOOK_PART : 0) | (part->apart ? TW_LOOK_APART : 0);
    }
}

static bool is_read_twice(const struct medians *medians, size_t part, size_t reading)
{
    const struct tw_gauging *items = medians->in->readings->items;

    for (size_t i = medians->begin[part]; i < medians->begin[part + 1]; i++) {
        size_t other = medians->by_part[i];

        if (other != reading && fabs(items[other].x_mm - items[reading].x_mm) < 1e-6 &&
            fabs(items[other].y_mm - items[reading].y_mm) < 1e-6 &&
            fabs(items[other].thickness_mm - items[reading].thickness_mm) <= ALIKE_MM)
            return true;
    }
    return false;
}

/* What is expected of a reading: what its part's other places, and taper and crown of all parts, make it. */
static void judge_readings(struct medians *medians)
{
    const struct credible *in = medians->in;
    struct tw_gauged_run *out = in->out;
    double tolerance_mm = in->job->finish.thickness_mm;

    for (size_t i = 0; i < in->readings->count; i++) {
        size_t part = in->part_of[i];
        double by_mm = medians->left_mm[i] - out->parts[part].level_mm;
        struct tw_gauge_doubt *doubt = &out->doubts[i];

        doubt->expected_mm = in->readings->items[i].thickness_mm - by_mm;
        doubt->off = fabs(by_mm) > tolerance_mm;
        doubt->twice = doubt->off && is_read_twice(medians, part, i);
        out->look_first |= doubt->off ? TW_LOOK_READING : 0;
        if (!doubt->off && !out->parts[part].off && fabs(out->deviation_mm[i]) > tolerance_mm && out->together++ == 0)
            out->together_first = i;
    }
}

/* A term that misread figures made is not the term's: then it counts as the medians have it. */
static bool is_beyond(const struct credible *in, enum tw_gauge_term_kind kind, double median_mm)
{
    double value_mm = in->out->look_first & TW_LOOK_READING ? median_mm : tw_gauge_term_mm(in->out, kind);

    return fabs(value_mm) > most_mm(in->job);
}

static void judge_terms(struct medians *medians, double taper_mm, double crown_mm)
{
    const struct credible *in = medians->in;
    struct tw_gauged_run *out = in->out;

    out->look_first |= is_beyond(in, TW_TERM_TAPER, taper_mm) ? TW_LOOK_TAPER : 0;
    out->look_first |= is_beyond(in, TW_TERM_CROWN, crown_mm) ? TW_LOOK_CROWN : 0;
    out->look_first |= fabs(out->load_mm) > most_mm(in->job) ? TW_LOOK_FAR : 0;
    if (out->together > 0 && !(out->look_first & (TW_LOOK_OFFSET | TW_LOOK_TAPER | TW_LOOK_CROWN)))
        out->look_first |= TW_LOOK_TOGETHER;
}

bool tw_credible(struct credible *credible)
{
    struct medians medians = { .in = credible };
    double taper_mm, crown_mm;
    bool done = open_medians(&medians);

    if (done) {
        sort_by_part(&medians);
        done = take_terms(&medians, &taper_mm, &crown_mm);
    }
    if (done) {
        take_levels(&medians);
        judge_parts(&medians);
        judge_readings(&medians);
        judge_terms(&medians, taper_mm, crown_mm);
    }
    close_medians(&medians);
    return done;
}
