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

static size_t ricasso_count(const struct tw_survey *survey)
{
    size_t count = 0;

    while (count < survey->count && survey->rows[count].x_mm < 0.0)
        count++;
    return count;
}

static struct moments moments_about(const struct tw_survey *survey, const struct tw_witness_ricasso *middle,
                                    enum tw_side side)
{
    struct moments m = { 0 };

    for (size_t i = 0; i < ricasso_count(survey); i++) {
        double x = survey->rows[i].x_mm - middle->x_mm, y = survey->rows[i].y_mm - middle->y_mm;
        double h = reading_mm(survey, i, side) - middle->height_mm;

        m.xx += x * x;
        m.xy += x * y;
        m.yy += y * y;
        m.xh += x * h;
        m.yh += y * h;
    }
    return m;
}

struct tw_witness_ricasso tw_witness_ricasso(const struct tw_job *job, enum tw_side side)
{
    const struct tw_survey *survey = &job->survey;
    struct tw_witness_ricasso out = { 0 };
    size_t count = ricasso_count(survey);
    struct moments m;

    for (size_t i = 0; i < count; i++) {
        out.x_mm += survey->rows[i].x_mm / (double)count;
        out.y_mm += survey->rows[i].y_mm / (double)count;
        out.height_mm += reading_mm(survey, i, side) / (double)count;
    }
    if (survey->reference == TW_REFERENCE_PLATE)
        return out;
    m = moments_about(survey, &out, side);
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

/* ---- what no reading tells ---- */

static bool is_one_place(const struct tw_survey *survey, size_t a, size_t b)
{
    return fabs(survey->rows[a].x_mm - survey->rows[b].x_mm) < SAME_PLACE_MM;
}

/* The first row of the next place, or their count. */
static size_t place_after(const struct tw_survey *survey, size_t row)
{
    size_t next = row;

    while (next < survey->count && is_one_place(survey, row, next))
        next++;
    return next;
}

/* The first row of the place before; `row` itself where that is the taper start. */
static size_t place_before(const struct tw_survey *survey, size_t row)
{
    size_t before = row;

    while (before > 0 && survey->rows[before - 1].x_mm >= NEXT_PLACE_MM &&
           (before == row || is_one_place(survey, before - 1, row - 1)))
        before--;
    return before;
}

/* Variance of the plane through the ricasso at that row, in units of one reading's. */
static double plane_variance(const struct tw_job *job, size_t row)
{
    const struct tw_survey *survey = &job->survey;
    struct tw_witness_ricasso middle = tw_witness_ricasso(job, TW_SIDE_A);
    double x = survey->rows[row].x_mm - middle.x_mm, y = survey->rows[row].y_mm - middle.y_mm, determinant;
    struct moments m = moments_about(survey, &middle, TW_SIDE_A);
    double mean = 1.0 / (double)ricasso_count(survey);

    determinant = m.xx * m.yy - m.xy * m.xy;
    if (survey->reference == TW_REFERENCE_PLATE || m.xx <= SPREAD_MM2)
        return mean;
    if (m.yy > SPREAD_MM2 && determinant > ON_A_LINE * m.xx * m.yy)
        return mean + (m.yy * x * x - 2.0 * m.xy * x * y + m.xx * y * y) / determinant;
    return mean + x * x / m.xx;
}

/* A rounded reading lies evenly anywhere within one step: a standard deviation of a step over the root of 12. A measured
 * thickness brings half of its own. */
static double off_mm(const struct tw_job *job, size_t row)
{
    const struct tw_survey *survey = &job->survey;
    double own = survey->thickness_known ? 1.25 : 1.0;

    return fmax(survey->resolution_mm, 2.0 * survey->resolution_mm * sqrt((own + plane_variance(job, row)) / 12.0));
}

struct spot {
    double x_mm, height_mm;
};

/* The mean of all readings at one place. */
static struct spot spot_at(const struct tw_witness_face *face, size_t row)
{
    size_t end = place_after(&face->job->survey, row);
    struct spot out = { .x_mm = face->job->survey.rows[row].x_mm };

    for (size_t i = row; i < end; i++)
        out.height_mm += height_mm(face->job, &face->ricasso, i, face->side) / (double)(end - row);
    return out;
}

static double apart_mm(struct spot a, struct spot b)
{
    return hypot(b.x_mm - a.x_mm, b.height_mm - a.height_mm);
}

/* How far the circle through three places stands over the longer of its chords; 0 where it is hollow. */
static double circle_over_mm(struct spot a, struct spot b, struct spot c)
{
    double longer = fmax(apart_mm(a, b), apart_mm(b, c)), radius;
    double twice_area =
        (c.x_mm - a.x_mm) * (b.height_mm - a.height_mm) - (b.x_mm - a.x_mm) * (c.height_mm - a.height_mm);

    if (twice_area <= 0.0)
        return 0.0;
    radius = apart_mm(a, b) * apart_mm(b, c) * apart_mm(a, c) / (2.0 * twice_area);
    return longer * longer / 4.0 / (radius + sqrt(fmax(0.0, radius * radius - longer * longer / 4.0)));
}

double tw_witness_higher_mm(const struct tw_witness_face *face, size_t row)
{
    const struct tw_survey *survey = &face->job->survey;
    size_t before = place_before(survey, row), after = place_after(survey, row);
    struct spot start = { 0.0, face->job->taper.ricasso_mm / 2.0 };
    double off = 0.0;

    for (size_t i = row; i < after; i++)
        off = fmax(off, off_mm(face->job, i));
    if (after == survey->count)
        return off;
    return off + circle_over_mm(before < row ? spot_at(face, before) : start, spot_at(face, row), spot_at(face, after));
}

double tw_witness_unread_mm(const struct tw_job *job)
{
    double most_mm = 0.0;

    for (int side = 0; side < 2 && job->survey.count > 0; side++) {
        struct tw_witness_face face = tw_witness_face(job, (enum tw_side)side);

        for (size_t row = 0; row < job->survey.count; row = place_after(&job->survey, row))
            if (job->survey.rows[row].x_mm >= NEXT_PLACE_MM)
                most_mm = fmax(most_mm, tw_witness_higher_mm(&face, row));
    }
    return most_mm;
}

bool tw_witness_next_corner(const struct tw_witness_face *face, struct tw_witness_corner *corner)
{
    const struct tw_survey *survey = &face->job->survey;
    size_t row = corner->row, first;

    while (row < survey->count && survey->rows[row].x_mm < NEXT_PLACE_MM)
        row++;
    if (row == survey->count)
        return false;
    first = row;
    corner->x_mm = survey->rows[row].x_mm;
    corner->height_mm = -HUGE_VAL;
    corner->low_mm = HUGE_VAL;
    for (; row < survey->count && survey->rows[row].x_mm - corner->x_mm < SAME_PLACE_MM; row++) {
        double over_mm = height_mm(face->job, &face->ricasso, row, face->side);

        corner->height_mm = fmax(corner->height_mm, over_mm);
        corner->low_mm = fmin(corner->low_mm, over_mm);
    }
    if (face->job->task.stands_high)
        corner->height_mm += tw_witness_higher_mm(face, first);
    corner->row = row;
    return true;
}

/* What a reading has to spare over the plain taper's face and what is to come off. */
static double spare_mm(const struct tw_job *job, const struct tw_witness_ricasso *ricasso, size_t row,
                       enum tw_side side)
{
    double slope = (job->taper.ricasso_mm - job->taper.butt_mm) / (2.0 * job->taper.length_mm);
    double face_mm = job->taper.ricasso_mm / 2.0 - slope * job->survey.rows[row].x_mm + job->finish.allowance_mm;

    return height_mm(job, ricasso, row, side) - face_mm - job->straighten.cleanup_mm;
}

static bool must_clean_up(const struct tw_job *job, size_t row)
{
    double x_mm = job->survey.rows[row].x_mm;

    return x_mm > 0.0 && x_mm >= job->straighten.cleanup_from_mm;
}

/* Each reading says how far the middle may be tilted towards its side. A is ground higher by a tilt, B lower. */
double tw_witness_middle_tilt(const struct tw_job *job)
{
    double most = tan(job->straighten.largest_tilt_rad), least = -most;
    struct tw_witness_ricasso a = tw_witness_ricasso(job, TW_SIDE_A), b = tw_witness_ricasso(job, TW_SIDE_B);

    for (size_t row = 0; row < job->survey.count; row++) {
        if (!must_clean_up(job, row))
            continue;
        most = fmin(most, spare_mm(job, &a, row, TW_SIDE_A) / job->survey.rows[row].x_mm);
        least = fmax(least, -spare_mm(job, &b, row, TW_SIDE_B) / job->survey.rows[row].x_mm);
    }
    return fmin(fmax(0.0, least), most);
}

/* Slope of the bow across the readings from..to-1, which stand at one x; 0 where they stand at one y too. */
static double twist_rad(const struct tw_job *job, const struct tw_witness_ricasso ricasso[2], size_t from, size_t to)
{
    double y_mm = 0.0, yy = 0.0, yh = 0.0;

    for (size_t i = from; i < to; i++)
        y_mm += job->survey.rows[i].y_mm / (double)(to - from);
    for (size_t i = from; i < to; i++) {
        double y = job->survey.rows[i].y_mm - y_mm;

        yy += y * y;
        yh += y * (height_mm(job, &ricasso[0], i, TW_SIDE_A) - height_mm(job, &ricasso[1], i, TW_SIDE_B)) / 2.0;
    }
    return yy > SPREAD_MM2 ? fabs(atan(yh / yy)) : 0.0;
}

struct tw_witness_straightness tw_witness_straightness(const struct tw_job *job)
{
    const struct tw_survey *survey = &job->survey;
    struct tw_witness_ricasso ricasso[2] = { tw_witness_ricasso(job, TW_SIDE_A), tw_witness_ricasso(job, TW_SIDE_B) };
    struct tw_witness_straightness out = { 0 };
    double tilt = tw_witness_middle_tilt(job);

    for (size_t i = 0; i < job->part.tang.outer.count; i++)
        out.deviation_mm = fmax(out.deviation_mm, fabs(tilt) * job->part.tang.outer.points[i].x_mm);
    for (size_t row = 0, end; row < survey->count; row = end) {
        double x_mm = survey->rows[row].x_mm;

        for (end = row; end < survey->count && survey->rows[end].x_mm - x_mm < SAME_PLACE_MM; end++)
            if (must_clean_up(job, end))
                out.lacking_mm = fmax(out.lacking_mm, fmax(tilt * x_mm - spare_mm(job, &ricasso[0], end, TW_SIDE_A),
                                                           -tilt * x_mm - spare_mm(job, &ricasso[1], end, TW_SIDE_B)));
        if (x_mm >= 0.0)
            out.twist_rad = fmax(out.twist_rad, twist_rad(job, ricasso, row, end));
    }
    return out;
}
