/* doubt.c - see doubt.h. */
#include "run/doubt.h"

#include "tangwright/gauge.h"

#include <gsl/gsl_cdf.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Terms: the load's, its taper, its bend, its crown; then each part's and each part's own taper. */
enum { TERM_LOAD, TERM_TAPER, TERM_BEND, TERM_CROWN, TERM_PARTS };
#define TERMS_MOST 64

/* Places nearer than that, along the taper and across, are one place. */
#define SAME_SHARE 1e-3
/* Two readings of one place, alike within so many standard deviations of their difference. */
#define ALIKE 3.0
/* In squares of standard deviations: as much better must one of two readings be told as misread for the other to be cleared. */
#define CLEARED 9.0

struct asking {
    struct tw_doubt *doubt;
    size_t *asked; /* readings that are not left out */
    size_t count, terms;
    double chance_mm; /* expected of a single reading */
    /* of the fit: */
    double *rows, *values, *leverages;
    double coefficients[TERMS_MOST], standards[TERMS_MOST];
};

static double standard_mm(const struct tw_doubt *doubt)
{
    return hypot(doubt->gauge_mm, TW_DOUBT_FACE_MM);
}

/* ---- what is expected ---- */

static bool is_any_foretold(const struct tw_doubt *doubt, double *mean_mm)
{
    size_t count = 0;

    *mean_mm = 0.0;
    for (size_t i = 0; i < doubt->part_count; i++)
        if (doubt->parts[i].foretold) {
            *mean_mm += doubt->parts[i].foretold_mm;
            count++;
        }
    if (count > 0)
        *mean_mm /= (double)count;
    return count > 0;
}

/* By loads before alone; of a station that they do not tell, what they tell of the others. */
static double foretold_mm(const struct tw_doubt *doubt, size_t part)
{
    double mean_mm;

    is_any_foretold(doubt, &mean_mm);
    return doubt->parts[part].foretold ? doubt->parts[part].foretold_mm : mean_mm;
}

/* The row's terms are scaled to be 1 in the standard deviation. */
static void fill_row(const struct tw_doubt *doubt, const struct tw_doubt_reading *reading, double *row)
{
    double mean_mm, from_middle = reading->along - 0.5;
    double *own = row + TERM_PARTS + 2 * reading->part;

    row[TERM_LOAD] = is_any_foretold(doubt, &mean_mm) ? TW_DOUBT_AGAIN_MM : TW_DOUBT_LOAD_MM;
    row[TERM_TAPER] = TW_DOUBT_TAPER_MM * from_middle;
    row[TERM_BEND] = TW_DOUBT_BEND_MM * 4.0 * from_middle * from_middle;
    row[TERM_CROWN] = TW_DOUBT_BEND_MM * reading->across * reading->across;
    own[0] = doubt->parts[reading->part].foretold ? TW_DOUBT_OWN_MM : TW_DOUBT_PART_MM;
    own[1] = TW_DOUBT_TILT_MM * from_middle;
}

/* The readings, and for each term a row that it is nought within its standard deviation, which weighs as a reading does. */
static void fill(struct asking *asking)
{
    const struct tw_doubt *doubt = asking->doubt;
    size_t width = asking->terms;

    memset(asking->rows, 0, (asking->count + width) * width * sizeof *asking->rows);
    memset(asking->values, 0, (asking->count + width) * sizeof *asking->values);
    for (size_t i = 0; i < asking->count; i++) {
        const struct tw_doubt_reading *reading = &doubt->readings[asking->asked[i]];

        fill_row(doubt, reading, asking->rows + i * width);
        asking->values[i] = reading->off_mm - foretold_mm(doubt, reading->part);
    }
    for (size_t k = 0; k < width; k++)
        asking->rows[(asking->count + k) * width + k] = asking->chance_mm;
}

static bool fit(struct asking *asking)
{
    struct tw_least_squares squares = { .rows = asking->rows,
                                        .values = asking->values,
                                        .count = asking->count + asking->terms,
                                        .terms = asking->terms,
                                        .coefficients = asking->coefficients,
                                        .standards = asking->standards,
                                        .leverages = asking->leverages };

    fill(asking);
    return tw_least_squares_fit(&squares);
}

static double residual_mm(const struct asking *asking, size_t i)
{
    double left_mm = asking->values[i];

    for (size_t k = 0; k < asking->terms; k++)
        left_mm -= asking->rows[i * asking->terms + k] * asking->coefficients[k];
    return left_mm;
}

/* ---- whom to doubt ---- */

/* Of all readings together: squares of their residuals, and the degrees of freedom that the terms leave them. */
static void sum_up(const struct asking *asking, double *squares_mm2, double *degrees)
{
    *squares_mm2 = *degrees = 0.0;
    for (size_t i = 0; i < asking->count; i++) {
        *squares_mm2 += pow(residual_mm(asking, i), 2.0);
        *degrees += 1.0 - asking->leverages[i];
    }
}

/* A reading as all others foretell it. */
struct foretold {
    double by_mm, standard_mm; /* it is more than that */
    double degrees;
};

static struct foretold foretell(const struct asking *asking, size_t i, double squares_mm2, double degrees)
{
    double left_mm = residual_mm(asking, i), share = fmax(1e-6, 1.0 - asking->leverages[i]);
    double others_mm2 = fmax(0.0, squares_mm2 - left_mm * left_mm / share);
    double others = fmax(0.0, degrees - share);
    double variance_mm2 =
        (TW_DOUBT_WORTH * asking->chance_mm * asking->chance_mm + others_mm2) / (TW_DOUBT_WORTH + others);

    return (struct foretold){ .by_mm = left_mm / share,
                              .standard_mm = sqrt(variance_mm2 / share),
                              .degrees = TW_DOUBT_WORTH + others };
}

static double far(const struct foretold *foretold)
{
    return fabs(foretold->by_mm) / foretold->standard_mm;
}

static bool are_one_place(const struct tw_doubt_reading *a, const struct tw_doubt_reading *b)
{
    return a->part == b->part && fabs(a->along - b->along) < SAME_SHARE && fabs(a->across - b->across) < SAME_SHARE;
}

/* Measured again, it was read alike. */
static bool is_read_twice(const struct tw_doubt *doubt, size_t reading)
{
    const struct tw_doubt_reading *one = &doubt->readings[reading];

    for (size_t i = 0; i < doubt->count; i++)
        if (i != reading && are_one_place(one, &doubt->readings[i]) &&
            fabs(one->off_mm - doubt->readings[i].off_mm) <= ALIKE * sqrt(2.0) * standard_mm(doubt))
            return true;
    return false;
}

/* Nothing tells of a reading that is alone: neither another one nor a load before. */
static bool is_told_of(const struct asking *asking)
{
    double mean_mm;

    return asking->count > 1 || is_any_foretold(asking->doubt, &mean_mm);
}

/* The farthest reading that may be doubted, as a place in the list of those asked; count: none. */
static size_t find_farthest(const struct asking *asking, double squares_mm2, double degrees, double *out)
{
    size_t farthest = asking->count;

    *out = 0.0;
    for (size_t i = 0; i < asking->count; i++) {
        struct foretold foretold = foretell(asking, i, squares_mm2, degrees);

        if (far(&foretold) <= *out || is_read_twice(asking->doubt, asking->asked[i]))
            continue;
        *out = far(&foretold);
        farthest = i;
    }
    return farthest;
}

/* Another reading of the part that is misread about as likely. */
static size_t find_other(const struct asking *asking, size_t farthest, double far_off, double squares_mm2,
                         double degrees)
{
    const struct tw_doubt_reading *readings = asking->doubt->readings;
    size_t other = asking->asked[farthest];
    double nearest = far_off * far_off - CLEARED;

    for (size_t i = 0; i < asking->count; i++) {
        struct foretold foretold = foretell(asking, i, squares_mm2, degrees);

        if (i == farthest || readings[asking->asked[i]].part != readings[asking->asked[farthest]].part ||
            far(&foretold) * far(&foretold) <= nearest || is_read_twice(asking->doubt, asking->asked[i]))
            continue;
        nearest = far(&foretold) * far(&foretold);
        other = asking->asked[i];
    }
    return other;
}

static void leave_out(struct asking *asking, size_t at)
{
    memmove(asking->asked + at, asking->asked + at + 1, (asking->count - at - 1) * sizeof *asking->asked);
    asking->count--;
}

/* Doubts one reading at the most, and leaves it out. */
static bool doubt_one(struct asking *asking)
{
    double squares_mm2, degrees, far_off, allowed;
    struct foretold foretold;
    struct tw_doubt_reading *reading;
    size_t at;

    sum_up(asking, &squares_mm2, &degrees);
    at = find_farthest(asking, squares_mm2, degrees, &far_off);
    if (at == asking->count)
        return false;
    foretold = foretell(asking, at, squares_mm2, degrees);
    allowed = gsl_cdf_tdist_Qinv(TW_DOUBT_CHANCE / (2.0 * (double)asking->doubt->count), foretold.degrees);
    if (far_off <= allowed)
        return false;
    reading = &asking->doubt->readings[asking->asked[at]];
    reading->doubted = true;
    reading->expected_mm = reading->off_mm - foretold.by_mm;
    reading->bound_mm = allowed * foretold.standard_mm;
    reading->or_else = find_other(asking, at, far_off, squares_mm2, degrees);
    leave_out(asking, at);
    return true;
}

static bool ask(struct asking *asking)
{
    size_t most = (asking->count + 1) / 2;
    bool more = true;

    while (more && most-- > 0 && is_told_of(asking)) {
        if (!fit(asking))
            return false;
        more = doubt_one(asking);
    }
    return true;
}

enum tw_status tw_doubt(struct tw_doubt *doubt, struct tw_findings *findings)
{
    size_t terms = TERM_PARTS + 2 * doubt->part_count, rows = doubt->count + terms;
    struct asking asking = { .doubt = doubt, .count = doubt->count, .terms = terms, .chance_mm = standard_mm(doubt) };
    bool done;

    if (terms > TERMS_MOST || doubt->count == 0)
        return TW_OK;
    asking.asked = calloc(doubt->count, sizeof *asking.asked);
    asking.rows = calloc(rows * (terms + 2), sizeof *asking.rows);
    done = asking.asked && asking.rows;
    if (done) {
        asking.values = asking.rows + rows * terms;
        asking.leverages = asking.values + rows;
        for (size_t i = 0; i < doubt->count; i++) {
            asking.asked[i] = doubt->readings[i].or_else = i;
            doubt->readings[i].doubted = false;
        }
        done = ask(&asking);
    }
    free(asking.asked);
    free(asking.rows);
    return done ? TW_OK : tw_no_memory(findings);
}
