/* centre.c - the reference on the ricasso, by least squares. */
#include "straight/centre.h"

#include <math.h>
#include <stdlib.h>

/* A spread of readings below this gives no direction. */
#define LEAST_SPREAD_MM2 1e-6
/* Below this share of its bound the determinant says that x and y of the readings lie on one line. */
#define LEAST_DETERMINANT 1e-9

/* Height and slopes of one column on the ricasso, about the middle of the readings; what the inverse of the normal
 * equations holds is the same for all columns. */
struct reference {
    double count, x_mm, y_mm;
    double xx, xy, yy; /* of the inverse; 0 where no slope is taken */
};

struct level {
    double height_mm, along, across;
};

double centre_reading_mm(const struct tw_survey *survey)
{
    return survey->resolution_mm / sqrt(12.0); /* evenly spread over one step */
}

static size_t ricasso_rows(const struct tw_survey *survey)
{
    size_t count = 0;

    while (count < survey->count && survey->rows[count].x_mm < 0.0)
        count++;
    return count;
}

static struct reference reference_of(const struct tw_survey *survey, size_t rows)
{
    struct reference reference = { .count = (double)rows };
    double sxx = 0.0, sxy = 0.0, syy = 0.0, determinant;

    for (size_t i = 0; i < rows; i++) {
        reference.x_mm += survey->rows[i].x_mm / reference.count;
        reference.y_mm += survey->rows[i].y_mm / reference.count;
    }
    if (survey->reference == TW_REFERENCE_PLATE)
        return reference;
    for (size_t i = 0; i < rows; i++) {
        double dx = survey->rows[i].x_mm - reference.x_mm, dy = survey->rows[i].y_mm - reference.y_mm;

        sxx += dx * dx;
        sxy += dx * dy;
        syy += dy * dy;
    }
    determinant = sxx * syy - sxy * sxy;
    if (syy > LEAST_SPREAD_MM2 && determinant > LEAST_DETERMINANT * sxx * syy) {
        reference.xx = syy / determinant;
        reference.xy = -sxy / determinant;
        reference.yy = sxx / determinant;
    } else if (sxx > LEAST_SPREAD_MM2) {
        reference.xx = 1.0 / sxx;
    }
    return reference;
}

/* What a reading counts: the heights themselves, or, where thickness is known, the bow for both. */
static double reading_mm(const struct tw_survey *survey, size_t row, int side)
{
    const struct tw_survey_row *r = &survey->rows[row];

    if (survey->thickness_known)
        return (side == 0 ? 0.5 : -0.5) * (r->a_mm - r->b_mm);
    return side == 0 ? r->a_mm : r->b_mm;
}

static struct level level_of(const struct tw_survey *survey, const struct reference *reference, int side)
{
    struct level level = { 0 };
    double sx = 0.0, sy = 0.0;

    for (size_t i = 0; i < (size_t)reference->count; i++) {
        double height_mm = reading_mm(survey, i, side);

        level.height_mm += height_mm / reference->count;
        sx += (survey->rows[i].x_mm - reference->x_mm) * height_mm;
        sy += (survey->rows[i].y_mm - reference->y_mm) * height_mm;
    }
    level.along = reference->xx * sx + reference->xy * sy;
    level.across = reference->xy * sx + reference->yy * sy;
    return level;
}

/* Of the reading over its reference. */
static double over_mm(const struct tw_survey *survey, const struct reference *reference, const struct level *level,
                      size_t row, int side)
{
    return reading_mm(survey, row, side) - level->height_mm -
           level->along * (survey->rows[row].x_mm - reference->x_mm) -
           level->across * (survey->rows[row].y_mm - reference->y_mm);
}

/* Variance of a reading over its reference, in units of one reading's. */
static double variance(const struct tw_survey *survey, const struct reference *reference, size_t row)
{
    double dx = survey->rows[row].x_mm - reference->x_mm, dy = survey->rows[row].y_mm - reference->y_mm;
    double own = survey->thickness_known ? 1.0 + 0.25 : 1.0; /* half a thickness beside the bow */

    return own + 1.0 / reference->count + reference->xx * dx * dx + 2.0 * reference->xy * dx * dy +
           reference->yy * dy * dy;
}

static struct spot spot_of(const struct tw_job *job, const struct reference *reference, const struct level levels[2],
                           size_t row)
{
    const struct tw_survey *survey = &job->survey;
    const struct tw_survey_row *r = &survey->rows[row];
    double half_mm = survey->thickness_known ? (r->a_mm + r->b_mm) / 2.0 : job->taper.ricasso_mm / 2.0;
    struct spot spot = { .x_mm = r->x_mm, .y_mm = r->y_mm };

    for (int side = 0; side < 2; side++)
        spot.height_mm[side] = half_mm + over_mm(survey, reference, &levels[side], row, side);
    spot.uncertainty_mm = centre_reading_mm(survey) * sqrt(variance(survey, reference, row));
    return spot;
}

static void look_at_ricasso(const struct tw_survey *survey, const struct reference *reference,
                            const struct level levels[2], size_t rows, struct tw_straight *out)
{
    out->ricasso_mm = survey->thickness_known ? 0.0 : (double)NAN;
    for (size_t i = 0; i < rows; i++) {
        for (int side = 0; side < 2; side++)
            out->ricasso_unevenness_mm =
                fmax(out->ricasso_unevenness_mm, fabs(over_mm(survey, reference, &levels[side], i, side)));
        if (survey->thickness_known)
            out->ricasso_mm += (survey->rows[i].a_mm + survey->rows[i].b_mm) / reference->count;
    }
}

enum tw_status centre_spots(const struct tw_job *job, struct spot **spots, size_t *count, struct tw_straight *out,
                            struct tw_findings *findings)
{
    const struct tw_survey *survey = &job->survey;
    size_t rows = ricasso_rows(survey);
    struct reference reference = reference_of(survey, rows);
    struct level levels[2] = { level_of(survey, &reference, 0), level_of(survey, &reference, 1) };

    *count = survey->count - rows;
    *spots = malloc((*count ? *count : 1) * sizeof **spots);
    if (!*spots)
        return tw_no_memory(findings);
    for (size_t i = 0; i < *count; i++)
        (*spots)[i] = spot_of(job, &reference, levels, rows + i);
    look_at_ricasso(survey, &reference, levels, rows, out);
    return TW_OK;
}
