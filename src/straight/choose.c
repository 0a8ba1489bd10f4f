/* choose.c - the linear programmes of straightening.
 *
 * Variables, all in mm and of like size: offset o; rise r of the middle plane and drop d of each face over the
 * span from the taper start to the tang's end; largest deviation D; shortfall s. With u = (x - start) / span a
 * face stands at T0/2 - d u + o + r u + allowance (B: the signs of o and r turned). */
#include "straight/choose.h"

#include "straight/linear.h"

#include <math.h>
#include <stdlib.h>

enum { OFFSET, RISE, DROP, DEVIATION, SHORTFALL, VARIABLES };
_Static_assert(VARIABLES <= LINEAR_VARIABLES_MOST, "the variables fit");

#define DEVIATION_ROWS 4
/* Room for the solver's own tolerance where one optimum bounds the next; far below any reading. */
#define SLACK_MM 1e-7

double spot_guard_mm(const struct tw_survey *survey, double uncertainty_mm)
{
    return fmax(survey->resolution_mm, 2.0 * uncertainty_mm);
}

double choice_finished_mm(const struct tw_job *job, const struct choice *choice, int side, double x_mm)
{
    double slope = (job->taper.ricasso_mm - job->taper.butt_mm) / (2.0 * job->taper.length_mm);
    double middle_mm = choice->offset_mm + choice->tilt * x_mm;

    return job->taper.ricasso_mm / 2.0 - slope * x_mm + (side == 0 ? middle_mm : -middle_mm) + job->finish.allowance_mm;
}

static double span_mm(const struct wish *wish)
{
    return wish->far_mm - wish->start_mm;
}

/* Drop of each face over the span that the job's taper asks for. */
static double wanted_drop_mm(const struct wish *wish)
{
    const struct tw_taper *taper = &wish->job->taper;

    return (taper->ricasso_mm - taper->butt_mm) / 2.0 * span_mm(wish) / (taper->length_mm - wish->start_mm);
}

static struct linear_row clean_row(const struct wish *wish, const struct spot *spot, int side)
{
    const struct tw_job *job = wish->job;
    double sign = side == 0 ? 1.0 : -1.0;
    double u = (spot->x_mm - wish->start_mm) / span_mm(wish);
    double height_mm = spot->height_mm[side] - wish->guard_factor * spot_guard_mm(&job->survey, spot->uncertainty_mm);

    return (struct linear_row){
        .coefficient = { [OFFSET] = -sign, [RISE] = -sign * u, [DROP] = u, [SHORTFALL] = 1.0 },
        .least = job->straighten.cleanup_mm + job->finish.allowance_mm + job->taper.ricasso_mm / 2.0 - height_mm,
    };
}

static void deviation_rows(struct linear_row *rows)
{
    for (int end = 0; end < 2; end++)
        for (int side = 0; side < 2; side++) {
            double sign = side == 0 ? 1.0 : -1.0;

            rows[2 * end + side] = (struct linear_row){
                .coefficient = { [OFFSET] = sign, [RISE] = sign * end, [DEVIATION] = 1.0 },
            };
        }
}

static enum tw_status make_rows(const struct wish *wish, struct linear_row **out, size_t *count,
                                struct tw_findings *findings)
{
    double from_mm = wish->start_mm + wish->job->straighten.cleanup_from_mm;
    struct linear_row *rows = malloc((2 * wish->count + DEVIATION_ROWS) * sizeof *rows);
    size_t n = DEVIATION_ROWS;

    if (!rows)
        return tw_no_memory(findings);
    deviation_rows(rows);
    for (size_t i = 0; i < wish->count; i++) {
        if (wish->spots[i].x_mm < from_mm)
            continue;
        rows[n++] = clean_row(wish, &wish->spots[i], 0);
        rows[n++] = clean_row(wish, &wish->spots[i], 1);
    }
    *out = rows;
    *count = n;
    return TW_OK;
}

/* The job's limits; the drop fixed, no shortfall, any deviation. */
static struct linear problem_of(const struct wish *wish, const struct linear_row *rows, size_t row_count)
{
    const struct tw_straighten *limits = &wish->job->straighten;
    double rise_mm = tan(limits->largest_tilt_rad) * span_mm(wish), drop_mm = wanted_drop_mm(wish);

    return (struct linear){
        .variables = VARIABLES,
        .low = { -limits->largest_offset_mm, -rise_mm, drop_mm, 0.0, 0.0 },
        .high = { limits->largest_offset_mm, rise_mm, drop_mm, HUGE_VAL, 0.0 },
        .rows = rows,
        .row_count = row_count,
    };
}

static void only_cost(struct linear *problem, int variable, double cost)
{
    for (int k = 0; k < VARIABLES; k++)
        problem->cost[k] = k == variable ? cost : 0.0;
}

/* Least deviation; where nothing cleans up, least shortfall first. */
static enum tw_status solve_straightest(struct linear *problem, double values[VARIABLES], struct tw_findings *findings)
{
    bool possible = false;
    enum tw_status status;

    only_cost(problem, DEVIATION, 1.0);
    status = linear_solve(problem, &possible, values, findings);
    if (status != TW_OK || possible)
        return status;
    only_cost(problem, SHORTFALL, 1.0);
    problem->high[SHORTFALL] = HUGE_VAL;
    status = linear_solve(problem, &possible, values, findings);
    if (status != TW_OK)
        return status;
    problem->high[SHORTFALL] = values[SHORTFALL] + SLACK_MM;
    only_cost(problem, DEVIATION, 1.0);
    return linear_solve(problem, &possible, values, findings);
}

enum tw_status choose_straightest(const struct wish *wish, struct choice *out, struct tw_findings *findings)
{
    struct linear_row *rows = NULL;
    struct linear problem;
    double values[VARIABLES] = { 0 };
    size_t count = 0;
    enum tw_status status = make_rows(wish, &rows, &count, findings);

    if (status != TW_OK)
        return status;
    problem = problem_of(wish, rows, count);
    status = solve_straightest(&problem, values, findings);
    free(rows);
    *out = (struct choice){ values[OFFSET], values[RISE] / span_mm(wish), values[DEVIATION],
                            values[SHORTFALL] > 2.0 * SLACK_MM ? values[SHORTFALL] : 0.0 };
    return status;
}

static enum tw_status solve_within_tolerance(const struct wish *wish, double most_drop_mm, bool *possible,
                                             double values[VARIABLES], struct tw_findings *findings)
{
    struct linear_row *rows = NULL;
    struct linear problem;
    size_t count = 0;
    enum tw_status status = make_rows(wish, &rows, &count, findings);

    if (status != TW_OK)
        return status;
    problem = problem_of(wish, rows, count);
    problem.high[DEVIATION] = wish->job->straighten.tolerance_mm;
    problem.high[DROP] = fmax(problem.high[DROP], most_drop_mm);
    only_cost(&problem, DROP, 1.0);
    status = linear_solve(&problem, possible, values, findings);
    free(rows);
    return status;
}

enum tw_status choose_butt(const struct wish *wish, double *butt_mm, struct tw_findings *findings)
{
    const struct tw_taper *taper = &wish->job->taper;
    double most_drop_mm = (taper->ricasso_mm - taper->smallest_mm) / 2.0;
    double values[VARIABLES];
    bool possible = false;
    enum tw_status status;

    *butt_mm = (double)NAN;
    status = solve_within_tolerance(wish, most_drop_mm, &possible, values, findings);
    if (status == TW_OK && possible)
        *butt_mm = taper->ricasso_mm - 2.0 * values[DROP] * taper->length_mm / wish->far_mm;
    return status;
}

enum tw_status choose_possible(const struct wish *wish, bool *possible, struct tw_findings *findings)
{
    double values[VARIABLES];

    *possible = false;
    return solve_within_tolerance(wish, 0.0, possible, values, findings);
}
