/* straight.c - gauge points, profiles, and the choice with its mends. */
#include "tangwright/straight.h"

#include "geometry/ring.h"
#include "straight/choose.h"
#include "straight/higher.h"
#include "straight/linear.h"
#include "tangwright/taper.h"

#include <math.h>
#include <stdlib.h>

#define BENDS_TRIED     20 /* halvings */
#define SAME_PLACE_MM   1e-6
#define SAME_HEIGHT_MM  1e-9
#define PAST_THE_END_MM 1.0 /* a reading may stand that far past the tang's end: the outline is drawn, the blank real */
#define SHORT_OF_END_MM 10.0 /* and the last one at most so far short of it */
#define STARTS_TRIED    60
#define START_STEP_MM   1.0

/* ---- gauge points ---- */

/* A line over y through one place's readings. */
struct across {
    double y_mm, syy; /* mean, and spread about it */
    double at_mm;     /* y nearest to the taper axis among the readings */
    double mean_mm[2], slope[2];
};

static struct across across_of(const struct spot *spots, size_t count)
{
    struct across across = { 0 };
    double n = (double)count;

    for (size_t i = 0; i < count; i++) {
        across.y_mm += spots[i].y_mm / n;
        for (int side = 0; side < 2; side++)
            across.mean_mm[side] += spots[i].height_mm[side] / n;
    }
    across.at_mm = fmin(fmax(0.0, spots[0].y_mm), spots[count - 1].y_mm);
    for (size_t i = 0; i < count; i++) {
        double dy = spots[i].y_mm - across.y_mm;

        across.syy += dy * dy;
        for (int side = 0; side < 2; side++)
            across.slope[side] += dy * spots[i].height_mm[side];
    }
    for (int side = 0; side < 2; side++)
        across.slope[side] = across.syy > 0.0 ? across.slope[side] / across.syy : 0.0;
    return across;
}

static void fill_twist(const struct tw_survey *survey, const struct across *across, struct tw_gauge_point *gauge)
{
    gauge->twist_rad = (double)NAN;
    if (across->syy <= 0.0)
        return;
    gauge->twist_rad = atan((across->slope[0] - across->slope[1]) / 2.0);
    /* A bow is half the difference of two readings; of a measured bow it is the one reading. */
    gauge->twist_sure_rad = centre_reading_mm(survey) * (survey->thickness_known ? 1.0 : sqrt(0.5)) / sqrt(across->syy);
}

static void fill_gauge(const struct tw_job *job, const struct spot *spots, size_t count, struct tw_gauge_point *gauge)
{
    struct across across = across_of(spots, count);

    *gauge = (struct tw_gauge_point){ .x_mm = spots[0].x_mm, .readings = count };
    for (int side = 0; side < 2; side++) {
        gauge->height_mm[side] = across.mean_mm[side] + across.slope[side] * (across.at_mm - across.y_mm);
        gauge->low_mm[side] = gauge->high_mm[side] = spots[0].height_mm[side];
        for (size_t i = 1; i < count; i++) {
            gauge->low_mm[side] = fmin(gauge->low_mm[side], spots[i].height_mm[side]);
            gauge->high_mm[side] = fmax(gauge->high_mm[side], spots[i].height_mm[side]);
        }
    }
    for (size_t i = 0; i < count; i++)
        gauge->uncertainty_mm = fmax(gauge->uncertainty_mm, spots[i].uncertainty_mm);
    gauge->guard_mm = spot_guard_mm(&job->survey, gauge->uncertainty_mm);
    gauge->bow_mm = (gauge->height_mm[0] - gauge->height_mm[1]) / 2.0;
    gauge->thickness_mm = gauge->height_mm[0] + gauge->height_mm[1];
    fill_twist(&job->survey, &across, gauge);
}

static size_t same_place(const struct spot *spots, size_t from, size_t count)
{
    size_t end = from + 1;

    while (end < count && spots[end].x_mm - spots[from].x_mm < SAME_PLACE_MM)
        end++;
    return end;
}

static enum tw_status make_gauges(const struct tw_job *job, const struct spot *spots, size_t count,
                                  struct tw_straight *out, struct tw_findings *findings)
{
    out->gauges = calloc(count ? count : 1, sizeof *out->gauges);
    if (!out->gauges)
        return tw_no_memory(findings);
    for (size_t from = 0, end; from < count; from = end) {
        end = same_place(spots, from, count);
        fill_gauge(job, spots + from, end - from, &out->gauges[out->gauge_count++]);
    }
    return TW_OK;
}

/* ---- does the survey cover the tang? ---- */

#define BESIDE_MM 1.0 /* by so much a place that was measured by a rule may lie off the drawn edge */

/* Rows ahead of the taper start lie on the blade, which is wider. */
static enum tw_status check_width(const struct tw_job *job, struct tw_findings *findings)
{
    const struct tw_survey *survey = &job->survey;
    struct tw_box box = tw_ring_box(&job->part.tang.outer);
    double farthest_mm = fmax(box.max_y_mm, -box.min_y_mm);

    for (size_t i = 0; i < survey->count; i++)
        if (survey->rows[i].x_mm >= 0.0 && fabs(survey->rows[i].y_mm) > farthest_mm + BESIDE_MM)
            return tw_fail(findings, TW_BAD_INPUT,
                           (struct tw_place){ .file = survey->path, .line = survey->rows[i].line },
                           "at x = %.6g mm the reading lies %.6g mm beside the taper axis, but the tang reaches %.1f "
                           "mm at most; y counts from the axis",
                           survey->rows[i].x_mm, fabs(survey->rows[i].y_mm), farthest_mm);
    return TW_OK;
}

static enum tw_status check_reach(const struct tw_job *job, double far_mm, struct tw_findings *findings)
{
    const struct tw_survey *survey = &job->survey;
    const struct tw_survey_row *last = &survey->rows[survey->count - 1];
    struct tw_place at = { .file = survey->path, .line = last->line };

    if (last->x_mm > far_mm + PAST_THE_END_MM)
        return tw_fail(
            findings, TW_BAD_INPUT, at,
            "x = %.6g mm lies past the tang's end at %.2f mm; x counts from the taper start towards the butt",
            last->x_mm, far_mm);
    if (last->x_mm < far_mm - SHORT_OF_END_MM)
        return tw_fail(
            findings, TW_BAD_INPUT, at,
            "the last reading stands at x = %.6g mm, but the tang goes on to %.2f mm; measure up to within %.0f mm "
            "of the butt",
            last->x_mm, far_mm, SHORT_OF_END_MM);
    return TW_OK;
}

/* An unevenness of the reference, or a wrong thickness, goes into every height. */
static void remark_ricasso(const struct tw_job *job, const struct tw_straight *straight, struct tw_findings *findings)
{
    const struct tw_survey *survey = &job->survey;
    struct tw_place at = { .file = survey->path };
    double resolution_mm = survey->resolution_mm;

    if (straight->ricasso_unevenness_mm > 2.0 * resolution_mm)
        tw_remark(
            findings, at,
            "readings on the ricasso stand up to %.3f mm off their line; it is the reference for all others, so look "
            "for a burr or dirt and measure again",
            straight->ricasso_unevenness_mm);
    if (fabs(straight->ricasso_mm - job->taper.ricasso_mm) > 2.0 * resolution_mm)
        tw_remark(findings, at,
                  "the ricasso measures %.3f mm, but taper.ricasso_thickness is %.6g mm; the job should say what was "
                  "measured",
                  straight->ricasso_mm, job->taper.ricasso_mm);
}

#define FAR_APART_MM 25.0 /* docs/survey.md asks for a reading every 10 to 20 mm */

/* Between two readings a face is taken as straight. */
static void remark_gaps(const struct tw_job *job, const struct tw_straight *straight, struct tw_findings *findings)
{
    double from_mm = 0.0, widest_mm = 0.0, before_mm = 0.0, after_mm = 0.0;

    for (size_t i = 0; i < straight->gauge_count; i++) {
        double x_mm = straight->gauges[i].x_mm;

        if (x_mm - from_mm > widest_mm && x_mm > 0.0) {
            widest_mm = x_mm - from_mm;
            before_mm = from_mm;
            after_mm = x_mm;
        }
        from_mm = fmax(0.0, x_mm);
    }
    if (widest_mm > FAR_APART_MM)
        tw_remark(findings, (struct tw_place){ .file = job->survey.path },
                  "no reading stands between x = %.6g and %.6g mm; a bowed face is higher there than the straight line "
                  "that is counted on, and the first pass cuts that much deeper: read every 10 to 20 mm",
                  before_mm, after_mm);
}

/* ---- profiles ---- */

/* The ricasso reaches up to the taper start. */
static enum tw_status begin_profile(const struct tw_job *job, size_t most, struct tw_profile *out,
                                    struct tw_findings *findings)
{
    out->points = malloc(most * sizeof *out->points);
    if (!out->points)
        return tw_no_memory(findings);
    out->points[out->count++] = (struct tw_point){ 0.0, job->taper.ricasso_mm / 2.0 };
    return TW_OK;
}

static enum tw_status make_read(const struct tw_job *job, const struct tw_straight *straight, int side, bool highest,
                                struct tw_profile *out, struct tw_findings *findings)
{
    enum tw_status status = begin_profile(job, straight->gauge_count + 1, out, findings);

    for (size_t i = higher_first(straight); status == TW_OK && i < straight->gauge_count; i++) {
        const struct tw_gauge_point *gauge = &straight->gauges[i];

        out->points[out->count++] =
            (struct tw_point){ gauge->x_mm, highest ? gauge->high_mm[side] : gauge->height_mm[side] };
    }
    return status;
}

static enum tw_status make_utmost(const struct tw_job *job, struct tw_straight *out, int side,
                                  struct tw_findings *findings)
{
    enum tw_status status = begin_profile(job, out->gauge_count + HIGHER_POINTS_MORE, &out->utmost[side], findings);

    if (status == TW_OK)
        higher_profile(out, side, &out->utmost[side]);
    return status;
}

static enum tw_status make_profiles(const struct tw_job *job, struct tw_straight *out, struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    higher_fill(job, out);
    for (int side = 0; side < 2 && status == TW_OK; side++) {
        status = make_read(job, out, side, false, &out->raw[side], findings);
        if (status == TW_OK)
            status = make_read(job, out, side, true, &out->highest[side], findings);
        if (status == TW_OK)
            status = make_utmost(job, out, side, findings);
    }
    return status;
}

/* ---- sums ---- */

/* Whether any place is twisted beyond the limit, were each by `more` standard uncertainties more. */
static bool twists_beyond(const struct tw_straight *straight, double limit_rad, double more)
{
    for (size_t i = 0; i < straight->gauge_count; i++)
        if (fabs(straight->gauges[i].twist_rad) + more * straight->gauges[i].twist_sure_rad > limit_rad)
            return true; /* an unmeasured twist, NaN, is not */
    return false;
}

static void sum_up_shape(const struct tw_job *job, struct tw_straight *out)
{
    double limit_rad = job->straighten.largest_twist_rad;

    out->twist_rad = (double)NAN;
    for (size_t i = 0; i < out->gauge_count; i++) {
        const struct tw_gauge_point *gauge = &out->gauges[i];

        if (fabs(gauge->bow_mm) > fabs(out->bow_mm)) {
            out->bow_mm = gauge->bow_mm;
            out->bow_x_mm = gauge->x_mm;
        }
        if (isnan(gauge->twist_rad))
            continue;
        if (isnan(out->twist_rad) || fabs(gauge->twist_rad) > fabs(out->twist_rad)) {
            out->twist_rad = gauge->twist_rad;
            out->twist_x_mm = gauge->x_mm;
        }
    }
    out->twisted = twists_beyond(out, limit_rad, 0.0);
    out->twist_in_doubt = twists_beyond(out, limit_rad, 2.0) != twists_beyond(out, limit_rad, -2.0);
}

/* Behind the taper start; ahead of cleanup_from it is allowed, but there all the same. */
static void note_below(struct tw_straight *out, struct tw_gauge_point *gauge, enum tw_side side)
{
    double below_mm = gauge->finished_mm[side] - gauge->low_mm[side];

    gauge->below_mm[side] = gauge->x_mm >= NEXT_PLACE_MM && below_mm > SAME_HEIGHT_MM ? below_mm : 0.0;
    if (gauge->below_mm[side] <= out->below_mm)
        return;
    out->below_mm = gauge->below_mm[side];
    out->below_x_mm = gauge->x_mm;
    out->below_side = side;
}

static double lacking_mm(const struct tw_job *job, const struct tw_gauge_point *gauge, double finished_mm, int side)
{
    if (gauge->x_mm < job->straighten.cleanup_from_mm)
        return 0.0;
    return fmax(0.0, finished_mm + job->straighten.cleanup_mm - gauge->low_mm[side]);
}

static void apply_choice(const struct tw_job *job, const struct choice *choice, struct tw_straight *out)
{
    const struct choice straight = { 0 };

    out->offset_mm = choice->offset_mm + 0.0; /* no zero with a minus */
    out->tilt = choice->tilt + 0.0;
    out->deviation_mm = choice->deviation_mm;
    out->shortfall_mm = choice->shortfall_mm;
    out->comes_clean = choice->shortfall_mm <= 0.0;
    for (size_t i = 0; i < out->gauge_count; i++) {
        struct tw_gauge_point *gauge = &out->gauges[i];

        gauge->deviation_mm = out->offset_mm + out->tilt * gauge->x_mm;
        for (int side = 0; side < 2; side++) {
            double straight_mm = choice_finished_mm(job, &straight, side, gauge->x_mm);

            gauge->finished_mm[side] = choice_finished_mm(job, choice, side, gauge->x_mm);
            note_below(out, gauge, (enum tw_side)side);
            gauge->off_mm[side] = fmax(0.0, gauge->height_mm[side] - gauge->finished_mm[side]);
            gauge->missing_mm[side] = out->comes_clean ? 0.0 : lacking_mm(job, gauge, gauge->finished_mm[side], side);
            gauge->straight_lacks_mm[side] = lacking_mm(job, gauge, straight_mm, side);
            if (gauge->straight_lacks_mm[side] < SAME_HEIGHT_MM) /* what sums of doubles leave */
                gauge->straight_lacks_mm[side] = 0.0;
        }
    }
}

/* ---- the choice ---- */

static bool is_straight(const struct tw_job *job, const struct choice *choice)
{
    return choice->shortfall_mm <= 0.0 && choice->deviation_mm <= job->straighten.tolerance_mm + SAME_HEIGHT_MM;
}

static enum tw_status choose_and_doubt(const struct wish *wish, struct tw_straight *out, struct tw_findings *findings)
{
    struct wish lower = *wish, higher = *wish;
    struct choice choice, worse, better;
    enum tw_status status = choose_straightest(wish, &choice, findings);

    lower.guard_factor = 1.0;
    higher.guard_factor = -1.0;
    if (status == TW_OK)
        status = choose_straightest(&lower, &worse, findings);
    if (status == TW_OK)
        status = choose_straightest(&higher, &better, findings);
    if (status != TW_OK)
        return status;
    apply_choice(wish->job, &choice, out);
    out->straight = is_straight(wish->job, &choice);
    out->straight_in_doubt = is_straight(wish->job, &worse) != is_straight(wish->job, &better);
    out->deviation_low_mm = fmin(choice.deviation_mm, better.deviation_mm);
    out->deviation_high_mm = fmax(choice.deviation_mm, worse.deviation_mm);
    return TW_OK;
}

/* The middle of the blank as it is, at any x. */
static double bow_at_mm(const struct tw_straight *straight, double x_mm)
{
    return (tw_profile_mm(&straight->raw[0], x_mm) - tw_profile_mm(&straight->raw[1], x_mm)) / 2.0;
}

static bool stays_within(const struct tw_job *job, const struct tw_straight *straight, double start_mm)
{
    double tolerance_mm = job->straighten.tolerance_mm;

    for (size_t i = 0; i < straight->gauge_count && straight->gauges[i].x_mm < start_mm; i++)
        if (fabs(straight->gauges[i].bow_mm) > tolerance_mm)
            return false;
    return fabs(bow_at_mm(straight, start_mm)) <= tolerance_mm;
}

static enum tw_status find_start(const struct wish *wish, struct tw_straight *out, struct tw_findings *findings)
{
    double end_mm = fmin(wish->far_mm, wish->job->taper.length_mm) - wish->job->straighten.cleanup_from_mm;
    double step_mm = fmax(START_STEP_MM, ceil(end_mm / STARTS_TRIED / START_STEP_MM) * START_STEP_MM);
    enum tw_status status = TW_OK;
    bool possible = false;

    for (double start_mm = step_mm; start_mm < end_mm; start_mm += step_mm) {
        struct wish later = *wish;

        later.start_mm = start_mm;
        if (!stays_within(wish->job, out, start_mm))
            break; /* the blank itself has left the centre plane, and stays as it is up to there */
        status = choose_possible(&later, &possible, findings);
        if (status != TW_OK)
            return status;
        if (possible) {
            out->start_mm = start_mm;
            return TW_OK;
        }
    }
    return status;
}

/* Where the middle lies farthest off, it does so more than the thickness is off: no dent or step of one face. */
static bool is_bowed(const struct tw_job *job, const struct tw_straight *straight)
{
    for (size_t i = 0; i < straight->gauge_count; i++)
        if (straight->gauges[i].x_mm == straight->bow_x_mm)
            return fabs(straight->bow_mm) > fabs(straight->gauges[i].thickness_mm - job->taper.ricasso_mm);
    return false;
}

/* The blank bent straighter: each place as thick as it is, and as much less bowed. */
static void bend_spots(const struct wish *wish, double share, struct spot *out)
{
    for (size_t i = 0; i < wish->count; i++) {
        double middle_mm = (wish->spots[i].height_mm[0] - wish->spots[i].height_mm[1]) / 2.0;

        out[i] = wish->spots[i];
        out[i].height_mm[0] -= (1.0 - share) * middle_mm;
        out[i].height_mm[1] += (1.0 - share) * middle_mm;
    }
}

/* Every condition is linear in heights and middle, so the shares at which it comes straight are one stretch: if that begins
 * at none of the bow, halving finds where it ends. */
static enum tw_status find_bend(const struct wish *wish, struct tw_straight *out, struct tw_findings *findings)
{
    struct spot *spots = calloc(wish->count + 1, sizeof *spots);
    struct wish bent = *wish;
    double low = 0.0, high = 1.0;
    bool possible = false;
    enum tw_status status = spots ? TW_OK : tw_no_memory(findings);

    bent.spots = spots;
    for (int i = 0; status == TW_OK && i <= BENDS_TRIED; i++) {
        double share = i == 0 ? 0.0 : (low + high) / 2.0;

        bend_spots(wish, share, spots);
        status = choose_possible(&bent, &possible, findings);
        if (status != TW_OK || (i == 0 && !possible))
            break;
        *(possible ? &low : &high) = share;
        out->bend_mm = low * fabs(out->bow_mm);
    }
    free(spots);
    return status;
}

static enum tw_status choose(const struct wish *wish, struct tw_straight *out, struct tw_findings *findings)
{
    enum tw_status status = choose_and_doubt(wish, out, findings);

    out->butt_mm = out->start_mm = out->bend_mm = (double)NAN;
    if (status == TW_OK && !out->straight)
        status = choose_butt(wish, &out->butt_mm, findings);
    if (status == TW_OK && !out->straight)
        status = find_start(wish, out, findings);
    if (status == TW_OK && !out->straight && is_bowed(wish->job, out))
        status = find_bend(wish, out, findings);
    return status;
}

static enum tw_status with_spots(const struct tw_job *job, const struct spot *spots, size_t count,
                                 struct tw_straight *out, struct tw_findings *findings)
{
    struct wish wish = { .job = job, .spots = spots, .count = count, .far_mm = out->far_mm };
    bool opened = false;
    enum tw_status status = make_gauges(job, spots, count, out, findings);

    if (status == TW_OK)
        status = make_profiles(job, out, findings);
    if (status != TW_OK)
        return status;
    sum_up_shape(job, out);
    status = linear_open(&opened, findings);
    if (status == TW_OK)
        status = choose(&wish, out, findings);
    linear_close(opened);
    return status;
}

enum tw_status tw_straighten(const struct tw_job *job, struct tw_straight *out, struct tw_findings *findings)
{
    struct spot *spots = NULL;
    size_t count = 0;
    enum tw_status status;

    *out = (struct tw_straight){ .far_mm = tw_ring_box(&job->part.tang.outer).max_x_mm };
    status = check_reach(job, out->far_mm, findings);
    if (status == TW_OK)
        status = check_width(job, findings);
    if (status != TW_OK)
        return status;
    status = centre_spots(job, &spots, &count, out, findings);
    if (status == TW_OK)
        status = with_spots(job, spots, count, out, findings);
    free(spots);
    if (status == TW_OK) {
        remark_ricasso(job, out, findings);
        remark_gaps(job, out, findings);
    } else {
        tw_straight_free(out);
    }
    return status;
}

void tw_straight_free(struct tw_straight *straight)
{
    free(straight->gauges);
    for (int side = 0; side < 2; side++) {
        free(straight->raw[side].points);
        free(straight->highest[side].points);
        free(straight->utmost[side].points);
    }
    *straight = (struct tw_straight){ 0 };
}
