/* survey.c - the raw faces of a surveyed blank. */
#include "witness/survey.h"

#include <math.h>

#define SAME_PLACE_MM 1e-6
/* A reading nearer to the taper start than this belongs to the ricasso's end. */
#define NEXT_PLACE_MM 0.5
/* Readings on one line tell no slope across it. */
#define SPREAD_MM2 1e-6
#define ON_A_LINE  1e-9

/* Outwards over the indicator's zero: what a face itself reads, or, where thickness and bow were measured, the bow. */
static double reading_mm(const struct tw_survey *survey, size_t row, enum tw_side side)
{
    const struct tw_survey_row *r = &survey->rows[row];
    double bow_mm = (r->a_mm - r->b_mm) / 2.0;

    if (survey->thickness_known)
        return side == TW_SIDE_A ? bow_mm : -bow_mm;
    return side == TW_SIDE_A ? r->a_mm : r->b_mm;
}

/* Second moments of the readings on the ricasso. */
struct moments {
    double xx, xy, yy, xh, yh;
};

static void set_slopes(const struct moments *m, struct tw_witness_ricasso *out)
{
    double determinant = m->xx * m->yy - m->xy * m->xy;

    if (m->yy > SPREAD_MM2 && determinant > ON_A_LINE * m->xx * m->yy) {
        out->along = (m->yy * m->xh - m->xy * m->yh) / determinant;
        out->across = (m->xx * m->yh - m->xy * m->xh) / determinant;
    } else if (m->xx > SPREAD_MM2) {
        out->along = m->xh / m->xx;
    }
}

struct tw_witness_ricasso tw_witness_ricasso(const struct tw_job *job, enum tw_side side)
{
    const struct tw_survey *survey = &job->survey;
    struct tw_witness_ricasso out = { 0 };
    struct moments m = { 0 };
    size_t count = 0;

    while (count < survey->count && survey->rows[count].x_mm < 0.0)
        count++;
    for (size_t i = 0; i < count; i++) {
        out.x_mm += survey->rows[i].x_mm / (double)count;
        out.y_mm += survey->rows[i].y_mm / (double)count;
        out.height_mm += reading_mm(survey, i, side) / (double)count;
    }
    if (survey->reference == TW_REFERENCE_PLATE)
        return out;
    for (size_t i = 0; i < count; i++) {
        double x = survey->rows[i].x_mm - out.x_mm, y = survey->rows[i].y_mm - out.y_mm;
        double h = reading_mm(survey, i, side) - out.height_mm;

        m.xx += x * x;
        m.xy += x * y;
        m.yy += y * y;
        m.xh += x * h;
        m.yh += y * h;
    }
    set_slopes(&m, &out);
    return out;
}

/* Of one reading, outwards over the centre plane. */
static double height_mm(const struct tw_job *job, const struct tw_witness_ricasso *ricasso, size_t row,
                        enum tw_side side)
{
    const struct tw_survey_row *r = &job->survey.rows[row];
    double half_mm = job->survey.thickness_known ? (r->a_mm + r->b_mm) / 2.0 : job->taper.ricasso_mm / 2.0;
    double plane_mm =
        ricasso->height_mm + ricasso->along * (r->x_mm - ricasso->x_mm) + ricasso->across * (r->y_mm - ricasso->y_mm);

    return half_mm + reading_mm(&job->survey, row, side) - plane_mm;
}

bool tw_witness_next_corner(const struct tw_witness_face *face, struct tw_witness_corner *corner)
{
    const struct tw_survey *survey = &face->job->survey;
    size_t row = corner->row;

    while (row < survey->count && survey->rows[row].x_mm < NEXT_PLACE_MM)
        row++;
    if (row == survey->count)
        return false;
    corner->x_mm = survey->rows[row].x_mm;
    corner->height_mm = -HUGE_VAL;
    for (; row < survey->count && survey->rows[row].x_mm - corner->x_mm < SAME_PLACE_MM; row++)
        corner->height_mm = fmax(corner->height_mm, height_mm(face->job, &face->ricasso, row, face->side));
    corner->row = row;
    return true;
}

/* Each reading says how far the middle may be tilted towards its side: over the plain taper's face there must remain what
 * is to come off. A is ground higher by a tilt, B lower. */
double tw_witness_middle_tilt(const struct tw_job *job)
{
    double slope = (job->taper.ricasso_mm - job->taper.butt_mm) / (2.0 * job->taper.length_mm);
    double most = tan(job->straighten.largest_tilt_rad), least = -most;
    struct tw_witness_ricasso ricasso[2] = { tw_witness_ricasso(job, TW_SIDE_A), tw_witness_ricasso(job, TW_SIDE_B) };

    for (size_t row = 0; row < job->survey.count; row++) {
        double x_mm = job->survey.rows[row].x_mm;
        double face_mm = job->taper.ricasso_mm / 2.0 - slope * x_mm + job->finish.allowance_mm;

        if (x_mm <= 0.0 || x_mm < job->straighten.cleanup_from_mm)
            continue;
        for (int side = 0; side < 2; side++) {
            double spare_mm =
                height_mm(job, &ricasso[side], row, (enum tw_side)side) - face_mm - job->straighten.cleanup_mm;

            if (side == TW_SIDE_A)
                most = fmin(most, spare_mm / x_mm);
            else
                least = fmax(least, -spare_mm / x_mm);
        }
    }
    return fmin(fmax(0.0, least), most);
}
