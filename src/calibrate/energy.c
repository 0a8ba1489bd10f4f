/* energy.c - the line through the specific energies, in logarithms, and how well the readings agree with
 * it. */
#include "tangwright/calibrate.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_fit.h>
#include <math.h>
#include <stdlib.h>

#define REFERENCE_CHIP_mm 1e-4 /* u_ref is stated at an equivalent chip thickness of 0.1 um, see heat.h */

/* A reading belongs above the floor if the model without it fits worse by this much in chi-square: 5 %
 * point of one degree of freedom. */
#define TELLS_FROM_FLOOR 3.841458820694124
#define OUTLIER_CHANCE   0.05
#define OUTLIERS_MOST    10 /* and at most a third of the readings */

/* The readings in order of growing chip thickness, as GSL wants them. */
struct columns {
    size_t *order;
    double *x, *y, *w; /* ln(0.1 um / chip), ln u, 1 / relative^2 */
    size_t count;
    double floor; /* ln u_min */
};

/* y = level + slope x through the first `used` readings; variances from the weights alone. */
struct line {
    size_t used;
    double level, slope, level_var, slope_var, covariance;
    double chi_square; /* of all readings, those below the floor against the floor */
    size_t above;      /* readings at which the line lies above the floor */
};

static double span_of(const struct columns *columns, size_t used)
{
    return exp(columns->x[0] - columns->x[used - 1]);
}

static double model_at(const struct columns *columns, const struct line *line, double x)
{
    return fmax(line->level + line->slope * x, columns->floor);
}

/* How the line, cut off at the floor, agrees with every reading. */
static void judge(const struct columns *columns, struct line *line)
{
    line->chi_square = 0.0;
    line->above = 0;
    for (size_t i = 0; i < columns->count; i++) {
        double miss = columns->y[i] - model_at(columns, line, columns->x[i]);

        line->chi_square += columns->w[i] * miss * miss;
        line->above += line->level + line->slope * columns->x[i] >= columns->floor;
    }
}

static struct line fit_free(const struct columns *columns, size_t used)
{
    struct line line = { .used = used };
    double ignored;

    gsl_fit_wlinear(columns->x, 1, columns->w, 1, columns->y, 1, used, &line.level, &line.slope, &line.level_var,
                    &line.covariance, &line.slope_var, &ignored);
    judge(columns, &line);
    return line;
}

static struct line fit_level(const struct columns *columns, size_t used, double slope)
{
    struct line line = { .used = used, .slope = slope };
    double weight = 0.0, sum = 0.0;

    for (size_t i = 0; i < used; i++) {
        weight += columns->w[i];
        sum += columns->w[i] * (columns->y[i] - slope * columns->x[i]);
    }
    line.level = sum / weight;
    line.level_var = 1.0 / weight;
    judge(columns, &line);
    return line;
}

static bool spans_enough(const struct columns *columns, size_t used)
{
    return used >= TW_CALIBRATE_READINGS && span_of(columns, used) >= TW_CALIBRATE_SPAN * (1.0 - 1e-9);
}

/* Tries every division into readings above the floor and on it, as long as those above tell the slope.
 * False when none does. */
static bool best_free(const struct columns *columns, struct line *best)
{
    bool found = false;

    for (size_t used = columns->count; used > 0 && spans_enough(columns, used); used--) {
        struct line line = fit_free(columns, used);

        if (line.above < TW_CALIBRATE_READINGS || (found && line.chi_square >= best->chi_square))
            continue;
        *best = line;
        found = true;
    }
    return found;
}

static bool best_level(const struct columns *columns, double slope, struct line *best)
{
    bool found = false;

    for (size_t used = columns->count; used > 0; used--) {
        struct line line = fit_level(columns, used, slope);

        if (line.above == 0 || (found && line.chi_square >= best->chi_square))
            continue;
        *best = line;
        found = true;
    }
    return found;
}

static double chi_square_of_floor(const struct columns *columns)
{
    double sum = 0.0;

    for (size_t i = 0; i < columns->count; i++)
        sum += columns->w[i] * (columns->y[i] - columns->floor) * (columns->y[i] - columns->floor);
    return sum;
}

/* ---- columns ---- */

static bool columns_open(struct columns *columns, const struct tw_energy_point *points, size_t count,
                         double floor_energy)
{
    *columns = (struct columns){ .count = count, .floor = log(floor_energy) };
    columns->order = calloc(count, sizeof *columns->order);
    columns->x = calloc(3 * count, sizeof *columns->x);
    if (!columns->order || !columns->x)
        return false;
    columns->y = columns->x + count;
    columns->w = columns->y + count;
    for (size_t i = 0; i < count; i++) { /* insertion: few readings, and equal ones keep their order */
        size_t place = i;

        for (; place > 0 && points[columns->order[place - 1]].chip_mm > points[i].chip_mm; place--)
            columns->order[place] = columns->order[place - 1];
        columns->order[place] = i;
    }
    for (size_t i = 0; i < count; i++) {
        const struct tw_energy_point *point = &points[columns->order[i]];

        columns->x[i] = log(REFERENCE_CHIP_mm / point->chip_mm);
        columns->y[i] = log(point->energy_J_per_mm3);
        columns->w[i] = 1.0 / (point->relative * point->relative);
    }
    return true;
}

static void columns_close(struct columns *columns)
{
    free(columns->order);
    free(columns->x);
}

/* ---- what comes out ---- */

static size_t degrees_of(const struct columns *columns, size_t fitted)
{
    return columns->count > fitted ? columns->count - fitted : 0;
}

/* How much farther than stated the readings scatter; never below 1. */
static double scatter_of(double chi_square, size_t degrees)
{
    return degrees ? fmax(1.0, sqrt(chi_square / (double)degrees)) : 1.0;
}

/* Fits with a free exponent where that says something; out->exponent_from tells. */
static bool choose_line(const struct columns *columns, double slope, struct tw_energy_fit *out, struct line *line)
{
    bool free_found = best_free(columns, line);

    out->tried_exponent = out->tried_uncertainty = (double)NAN;
    if (free_found) {
        double uncertainty = scatter_of(line->chi_square, degrees_of(columns, 2)) * sqrt(line->slope_var);

        out->exponent_from = uncertainty > TW_CALIBRATE_LOOSEST       ? TW_EXPONENT_LOOSE
                             : line->slope < 0.0 || line->slope > 1.0 ? TW_EXPONENT_STRANGE
                                                                      : TW_EXPONENT_FITTED;
        if (out->exponent_from == TW_EXPONENT_FITTED)
            return true;
        out->tried_exponent = line->slope;
        out->tried_uncertainty = uncertainty;
    }
    if (!best_level(columns, slope, line))
        return false;
    if (!free_found)
        out->exponent_from = line->above < TW_CALIBRATE_READINGS ? TW_EXPONENT_FEW : TW_EXPONENT_NARROW;
    return true;
}

static double line_sigma(const struct line *line, double x)
{
    return sqrt(fmax(0.0, line->level_var + 2.0 * x * line->covariance + x * x * line->slope_var));
}

static void fill_fit(const struct columns *columns, const struct line *line, struct tw_energy_fit *out)
{
    double weight = 0.0, sum = 0.0, mean_x;

    out->chi_square = line->chi_square;
    out->degrees = degrees_of(columns, out->exponent_from == TW_EXPONENT_FITTED ? 2 : 1);
    out->probability = out->degrees ? gsl_cdf_chisq_Q(out->chi_square, (double)out->degrees) : (double)NAN;
    out->scatter = scatter_of(out->chi_square, out->degrees);
    for (size_t i = 0; i < line->used; i++) {
        weight += columns->w[i];
        sum += columns->w[i] * columns->x[i];
    }
    mean_x = sum / weight;
    out->energy_J_per_mm3 = exp(line->level);
    out->relative = out->scatter * sqrt(line->level_var);
    out->exponent = line->slope;
    out->exponent_uncertainty = out->scatter * sqrt(line->slope_var);
    out->correlation = line->slope_var > 0.0 ? line->covariance / sqrt(line->level_var * line->slope_var) : 0.0;
    out->mean_chip_mm = REFERENCE_CHIP_mm * exp(-mean_x);
    out->mean_energy_J_per_mm3 = exp(line->level + line->slope * mean_x);
    out->mean_relative = out->scatter * line_sigma(line, mean_x);
    out->thinnest_chip_mm = REFERENCE_CHIP_mm * exp(-columns->x[0]);
    out->thickest_chip_mm = REFERENCE_CHIP_mm * exp(-columns->x[line->above - 1]);
    out->above_floor = line->above;
}

/* Residuals, each over its own standard deviation: weights 1/s^2, leverage taken out. */
static void fill_checks(const struct columns *columns, const struct line *line, struct tw_energy_check *checks)
{
    for (size_t i = 0; i < columns->count; i++) {
        struct tw_energy_check *check = &checks[columns->order[i]];
        double x = columns->x[i], sigma = line_sigma(line, x);
        double leverage = i < line->used ? columns->w[i] * sigma * sigma : 0.0;
        double miss = (columns->y[i] - model_at(columns, line, x)) * sqrt(columns->w[i]);

        check->model_J_per_mm3 = exp(model_at(columns, line, x));
        check->on_floor = line->level + line->slope * x < columns->floor;
        check->off_by = leverage < 1.0 - 1e-9 ? miss / sqrt(1.0 - leverage) : (double)NAN;
        check->stands_off = false;
    }
}

/* TW_BAD_INPUT without a finding when no reading can be told from the floor. */
static enum tw_status fit_points(const struct tw_energy_point *points, size_t count, const struct tw_wheel *wheel,
                                 struct tw_energy_fit *out, struct tw_energy_check *checks)
{
    struct tw_energy_fit fit = { 0 };
    struct columns columns = { 0 };
    struct line line = { 0 };
    enum tw_status status = TW_OK;

    if (!columns_open(&columns, points, count, wheel->min_specific_energy_J_per_mm3))
        status = TW_NO_MEMORY;
    else if (!choose_line(&columns, wheel->size_exponent, &fit, &line) ||
             chi_square_of_floor(&columns) - line.chi_square < TELLS_FROM_FLOOR)
        status = TW_BAD_INPUT;
    if (status == TW_OK) {
        fill_fit(&columns, &line, &fit);
        fill_checks(&columns, &line, checks);
        *out = fit;
    }
    columns_close(&columns);
    return status;
}

/* ---- which readings stand off ---- */

/* The reading without which chi-square falls most, by the square of its off_by, if chance would hardly
 * have the worst of so many lie that far off. With one degree of freedom all are off by the same, and none
 * can be named. */
static bool find_worst(const struct tw_energy_fit *fit, const struct tw_energy_check *checks, size_t count, size_t *out)
{
    double far = gsl_cdf_ugaussian_Qinv(0.5 * OUTLIER_CHANCE / (double)count);
    bool found = false;

    for (size_t i = 0; fit->degrees >= 2 && i < count; i++) {
        if (!(fabs(checks[i].off_by) > far))
            continue;
        far = fabs(checks[i].off_by);
        *out = i;
        found = true;
    }
    return found;
}

/* A trial without some of the readings: which they were, and how they fit now. */
struct trial {
    struct tw_energy_point *points;
    struct tw_energy_check *checks;
    size_t *original;
    size_t count;
};

static bool trial_open(struct trial *trial, const struct tw_energy_point *points, const struct tw_energy_check *checks,
                       size_t count)
{
    *trial = (struct trial){ calloc(count, sizeof *trial->points), calloc(count, sizeof *trial->checks),
                             calloc(count, sizeof *trial->original), count };
    if (!trial->points || !trial->checks || !trial->original)
        return false;
    for (size_t i = 0; i < count; i++) {
        trial->points[i] = points[i];
        trial->checks[i] = checks[i];
        trial->original[i] = i;
    }
    return true;
}

static void trial_drop(struct trial *trial, size_t place)
{
    trial->count--;
    for (size_t i = place; i < trial->count; i++) {
        trial->points[i] = trial->points[i + 1];
        trial->original[i] = trial->original[i + 1];
    }
}

static void trial_close(struct trial *trial)
{
    free(trial->points);
    free(trial->checks);
    free(trial->original);
}

/* A reading that is far wrong drags the line and makes sound ones look wrong, so they are named one after
 * the other, each time with the line through the rest. They stay in the fit: dropping them is a person's
 * decision. */
static enum tw_status name_outliers(const struct tw_energy_point *points, size_t count, const struct tw_wheel *wheel,
                                    struct tw_energy_fit *fit, struct tw_energy_check *checks)
{
    struct trial trial;
    struct tw_energy_fit rest = *fit;
    enum tw_status status = trial_open(&trial, points, checks, count) ? TW_OK : TW_NO_MEMORY;
    size_t most = count / 3 < OUTLIERS_MOST ? count / 3 : OUTLIERS_MOST, worst = 0;

    while (status == TW_OK && fit->standing_off < most && find_worst(&rest, trial.checks, trial.count, &worst)) {
        checks[trial.original[worst]].stands_off = true;
        fit->standing_off++;
        trial_drop(&trial, worst);
        status = fit_points(trial.points, trial.count, wheel, &rest, trial.checks);
    }
    fit->rest_energy_J_per_mm3 = rest.energy_J_per_mm3;
    fit->rest_exponent = rest.exponent;
    fit->rest_probability = rest.probability;
    trial_close(&trial);
    return status == TW_BAD_INPUT ? TW_OK : status; /* what is left lies on the floor: enough is named */
}

static enum tw_status refuse_floor(const struct tw_energy_point *points, size_t count, const struct tw_wheel *wheel,
                                   struct tw_place place, struct tw_findings *findings)
{
    double lowest = (double)INFINITY, highest = 0.0, thinnest_mm = (double)INFINITY;

    for (size_t i = 0; i < count; i++) {
        lowest = fmin(lowest, points[i].energy_J_per_mm3);
        highest = fmax(highest, points[i].energy_J_per_mm3);
        thinnest_mm = fmin(thinnest_mm, points[i].chip_mm);
    }
    return tw_fail(findings, TW_BAD_INPUT, place,
                   "the specific energy cannot be determined: the readings give %.3g to %.3g J/mm3, which "
                   "cannot be told from wheel.min_specific_energy, %.3g J/mm3, and there it is the same "
                   "whatever specific_energy is; add a reading with chips thinner than %.2g um (a lighter "
                   "cut, a slower table or a faster wheel), or lower min_specific_energy if the readings lie "
                   "below it",
                   lowest, highest, wheel->min_specific_energy_J_per_mm3, thinnest_mm * 1e3);
}

enum tw_status tw_energy_fit_make(const struct tw_energy_point *points, size_t count, const struct tw_wheel *wheel,
                                  struct tw_place place, struct tw_energy_fit *out, struct tw_energy_check *checks,
                                  struct tw_findings *findings)
{
    struct tw_energy_fit fit;
    enum tw_status status = fit_points(points, count, wheel, &fit, checks);

    if (status == TW_BAD_INPUT)
        return refuse_floor(points, count, wheel, place, findings);
    if (status == TW_OK)
        status = name_outliers(points, count, wheel, &fit, checks);
    if (status != TW_OK)
        return tw_no_memory(findings);
    *out = fit;
    return TW_OK;
}

double tw_energy_fit_relative_at(const struct tw_energy_fit *fit, double chip_mm)
{
    double x = log(REFERENCE_CHIP_mm / chip_mm), slope = fit->exponent_uncertainty;

    return sqrt(fmax(0.0, fit->relative * fit->relative + 2.0 * x * fit->correlation * fit->relative * slope +
                              x * x * slope * slope));
}

double tw_energy_fit_highest(const struct tw_energy_fit *fit)
{
    double ends = fmax(tw_energy_fit_relative_at(fit, fit->thinnest_chip_mm),
                       tw_energy_fit_relative_at(fit, fit->thickest_chip_mm));

    return exp(TW_CALIBRATE_NORMAL_95 * ends);
}

enum tw_trust tw_energy_fit_trust(const struct tw_energy_fit *fit)
{
    if (fit->degrees == 0)
        return TW_TRUST_ALONE;
    if (fit->probability < TW_CALIBRATE_CHANCE)
        return TW_TRUST_CONTRADICTED;
    return tw_energy_fit_highest(fit) < TW_CALIBRATE_CLOSE ? TW_TRUSTED : TW_TRUST_LOOSE;
}
