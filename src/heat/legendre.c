/* legendre.c - one step in time of the plate by the Runge-Kutta-Legendre scheme of second order.
 *
 * C. D. Meyer, D. S. Balsara, T. D. Aslam, A stabilized Runge-Kutta-Legendre method for explicit super-time-
 * stepping of parabolic and mixed equations, J. Comput. Phys. 257, 594, 2014: for U' = M(U) and s stages
 *     Y1 = Y0 + m1 dt M(Y0)
 *     Yj = mu Yj-1 + nu Yj-2 + (1 - mu - nu) Y0 + m dt M(Yj-1) + g dt M(Y0),  j = 2..s
 * What has been lost obeys the same formulas with M = sum of loss * U, so the books close to rounding. */
#include "heat/plate_parts.h"

#include <math.h>
#include <string.h>

/* The loops over cells are compiled for wider vectors as well where the program can choose when it starts.
 * Cell by cell the arithmetic is the same, and so are the results. (That choice comes too early for
 * sanitizers.) */
#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__) && !defined(__SANITIZE_ADDRESS__)
#define LOOPS_IN_VECTORS __attribute__((optimize("O3"), target_clones("avx2", "default")))
#else
#define LOOPS_IN_VECTORS
#endif

/* Weights of one stage. */
struct stage {
    double last, before, start;  /* of Yj-1, Yj-2, Y0 */
    double rate_s, start_rate_s; /* of M(Yj-1), M(Y0), times the step */
};

static double b_of(int j)
{
    return j < 2 ? 1.0 / 3.0 : (j * j + j - 2.0) / (2.0 * j * (j + 1.0));
}

/* Stages after the first, which is plain. */
static struct stage weights_of(int j, int stages, double step_s)
{
    double w = 4.0 / (stages * stages + stages - 2.0);
    struct stage stage;

    stage.last = (2.0 * j - 1.0) / j * b_of(j) / b_of(j - 1);
    stage.before = -(j - 1.0) / j * b_of(j) / b_of(j - 2);
    stage.start = 1.0 - stage.last - stage.before;
    stage.rate_s = stage.last * w * step_s;
    stage.start_rate_s = -(1.0 - b_of(j - 1)) * stage.rate_s;
    return stage;
}

/* What the sum over neighbours reads of one row and the rows next to it. */
struct row {
    const double *rise, *below, *above;
    const double *to_right, *to_above, *to_below;
    const double *loss, *inverse_capacity, *heat;
};

static struct row row_at(const struct tw_plate *plate, const double *rise, size_t k)
{
    return (struct row){ .rise = rise + k,
                         .below = rise + k - plate->stride,
                         .above = rise + k + plate->stride,
                         .to_right = plate->to_right + k,
                         .to_above = plate->to_above + k,
                         .to_below = plate->to_above + k - plate->stride,
                         .loss = plate->loss + k,
                         .inverse_capacity = plate->inverse_capacity + k,
                         .heat = plate->heat + k };
}

/* M of the start, and the first stage from it. */
LOOPS_IN_VECTORS
static void first_stage_of_row(size_t n, const struct row *r, double step_s, double *restrict rate,
                               double *restrict next, double *restrict lost)
{
    const double *restrict y = r->rise, *restrict below = r->below, *restrict above = r->above;
    const double *restrict right = r->to_right, *restrict up = r->to_above, *restrict down = r->to_below;
    const double *restrict loss = r->loss, *restrict inverse = r->inverse_capacity, *restrict heat = r->heat;

    for (size_t i = 0; i < n; i++) {
        double here = y[i], out = loss[i] * here;
        double in = right[i] * (y[i + 1] - here) - right[i - 1] * (here - y[i - 1]) +
                    up[i] * (above[i] - here) - down[i] * (here - below[i]);

        lost[i] += out;
        rate[i] = inverse[i] * (in - out + heat[i]);
        next[i] = here + step_s * rate[i];
    }
}

/* A later stage; `next` holds Yj-2 and is given Yj. */
LOOPS_IN_VECTORS
static void stage_of_row(size_t n, const struct row *r, struct stage w, const double *restrict start,
                         const double *restrict start_rate, double *restrict next, double *restrict lost)
{
    const double *restrict y = r->rise, *restrict below = r->below, *restrict above = r->above;
    const double *restrict right = r->to_right, *restrict up = r->to_above, *restrict down = r->to_below;
    const double *restrict loss = r->loss, *restrict inverse = r->inverse_capacity, *restrict heat = r->heat;

    for (size_t i = 0; i < n; i++) {
        double here = y[i], out = loss[i] * here;
        double in = right[i] * (y[i + 1] - here) - right[i - 1] * (here - y[i - 1]) +
                    up[i] * (above[i] - here) - down[i] * (here - below[i]);

        lost[i] += out;
        next[i] = w.last * here + w.before * next[i] + w.start * start[i] +
                  w.rate_s * (inverse[i] * (in - out + heat[i])) + w.start_rate_s * start_rate[i];
    }
}

static void forget_lost(struct tw_plate *plate)
{
    memset(plate->lost_by_column, 0, plate->nx * sizeof *plate->lost_by_column);
}

static double lost_W(const struct tw_plate *plate)
{
    double sum = 0.0;

    for (size_t i = 0; i < plate->nx; i++)
        sum += plate->lost_by_column[i];
    return sum;
}

static double first_stage(struct tw_plate *plate, double step_s)
{
    forget_lost(plate);
    for (size_t j = 0; j < plate->ny; j++) {
        const struct tw_plate_span *span = &plate->spans[j];
        size_t k = tw_plate_at(plate, span->from, j);
        struct row row = row_at(plate, plate->rise, k);

        first_stage_of_row(span->to - span->from, &row, step_s, plate->rate + k, plate->stage_a + k,
                           plate->lost_by_column + span->from);
    }
    return lost_W(plate);
}

static double later_stage(struct tw_plate *plate, struct stage weights, const double *last, double *next)
{
    forget_lost(plate);
    for (size_t j = 0; j < plate->ny; j++) {
        const struct tw_plate_span *span = &plate->spans[j];
        size_t k = tw_plate_at(plate, span->from, j);
        struct row row = row_at(plate, last, k);

        stage_of_row(span->to - span->from, &row, weights, plate->rise + k, plate->rate + k, next + k,
                     plate->lost_by_column + span->from);
    }
    return lost_W(plate);
}

static int stages_for(double step_s, double explicit_step_s)
{
    int stages = 3;

    while (stages < MOST_STAGES && step_s > explicit_step_s * (stages * stages + stages - 2) / 4.0)
        stages += 2;
    return stages;
}

static void swap(double **a, double **b)
{
    double *c = *a;

    *a = *b;
    *b = c;
}

double tw_plate_advance(struct tw_plate *plate, double step_s)
{
    int stages = stages_for(step_s, plate->explicit_step_s);
    double first_s = step_s * b_of(1) * 4.0 / (stages * stages + stages - 2.0);
    double *last = plate->stage_a, *next = plate->stage_b;
    double start_W = first_stage(plate, first_s), lost_before_J = 0.0, lost_J = first_s * start_W;

    for (int j = 2; j <= stages; j++) {
        struct stage w = weights_of(j, stages, step_s);
        double now_J;

        if (j == 2) { /* Y0 stands in its own array */
            w.start += w.before;
            w.before = 0.0;
        }
        now_J = w.last * lost_J + w.before * lost_before_J + w.start_rate_s * start_W;
        now_J += w.rate_s * later_stage(plate, w, last, next);
        lost_before_J = lost_J;
        lost_J = now_J;
        swap(&last, &next);
    }
    memcpy(plate->rise, last, plate->cells * sizeof *last);
    plate->updates += (double)stages * (double)(plate->nx * plate->ny);
    return lost_J;
}
