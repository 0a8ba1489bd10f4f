/* legendre.c - one step in time of the plate by the Runge-Kutta-Legendre scheme of second order.
 *
 * C. D. Meyer, D. S. Balsara, T. D. Aslam, A stabilized Runge-Kutta-Legendre method for explicit super-time-
 * stepping of parabolic and mixed equations, J. Comput. Phys. 257, 594, 2014: for U' = M(U) and s stages
 *     Y1 = Y0 + m1 dt M(Y0)
 *     Yj = mu Yj-1 + nu Yj-2 + (1 - mu - nu) Y0 + m dt M(Yj-1) + g dt M(Y0),  j = 2..s
 * What has been lost obeys the same formulas with M = sum of loss * U, so the books close to rounding.
 *
 * M is linear but for the heat, so stages are kept as their rise since the start, Dj = Yj - Y0, which needs
 * neither Y0 nor the heat again: with M(Y0 + D) = M(Y0) + L D
 *     D1 = m1 dt M(Y0)
 *     Dj = mu Dj-1 + nu Dj-2 + m dt L Dj-1 + (m + g) dt M(Y0)
 *
 * A strip is LANES columns wide, a vector to each row, and is gone through from row to row, which leaves the
 * row itself and the heat from the one before in registers. Sums over cells are kept by column of the strip,
 * so the order in which they are added, and the last digit of the answers, does not depend on how many lanes
 * the processor has. */
#include "heat/plate_parts.h"

#include <math.h>
#include <string.h>

/* Stages that go over the plate together: more bring nothing. */
#define ABREAST 3

/* Weights of one stage. */
struct stage {
    double last, before;         /* of Dj-1, Dj-2 */
    double rate_s, start_rate_s; /* of L Dj-1, M(Y0), times the step */
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
    stage.rate_s = stage.last * w * step_s;
    stage.start_rate_s = b_of(j - 1) * stage.rate_s;
    return stage;
}

/* What the sum over neighbours reads of one strip, from its first row on. */
struct strip {
    size_t stride, cells; /* from one row to the next, from the first to the one past the last */
    const double *to_right, *to_above, *loss, *inverse_capacity, *heat;
};

/* M of the start; adds to lost_W. */
LOOPS_IN_VECTORS
static void start_strip(const struct strip *strip, const double *restrict rise, double *restrict rate,
                        double *restrict lost_W)
{
    const double *restrict right = strip->to_right, *restrict up = strip->to_above;
    const double *restrict loss = strip->loss, *restrict inverse = strip->inverse_capacity;
    const double *restrict heat = strip->heat;
    size_t stride = strip->stride, cells = strip->cells;
    tw_lanes here = LANES_AT(rise), lost = LANES_AT(lost_W);
    tw_lanes from_below = LANES_AT(up - stride) * (LANES_AT(rise - stride) - here);

    for (size_t k = 0; k < cells; k += stride) {
        tw_lanes above = LANES_AT(rise + k + stride), to_above = LANES_AT(up + k) * (here - above);
        tw_lanes out = LANES_AT(loss + k) * here;
        tw_lanes in = LANES_AT(right + k) * (LANES_AT(rise + k + 1) - here) -
                      LANES_AT(right + k - 1) * (here - LANES_AT(rise + k - 1));

        lost += out;
        in += from_below - to_above + LANES_AT(heat + k);
        PUT_LANES(rate + k, LANES_AT(inverse + k) * (in - out));
        here = above;
        from_below = to_above;
    }
    PUT_LANES(lost_W, lost);
}

/* A later stage; `next` holds Dj-2 and is given Dj. */
LOOPS_IN_VECTORS
static void continue_strip(const struct strip *strip, const struct stage *stage, const double *restrict last,
                           const double *restrict rate, double *restrict next, double *restrict lost_W)
{
    const double *restrict right = strip->to_right, *restrict up = strip->to_above;
    const double *restrict loss = strip->loss, *restrict inverse = strip->inverse_capacity;
    size_t stride = strip->stride, cells = strip->cells;
    struct stage w = *stage;
    tw_lanes here = LANES_AT(last), lost = LANES_AT(lost_W);
    tw_lanes from_below = LANES_AT(up - stride) * (LANES_AT(last - stride) - here);

    for (size_t k = 0; k < cells; k += stride) {
        tw_lanes above = LANES_AT(last + k + stride), to_above = LANES_AT(up + k) * (here - above);
        tw_lanes out = LANES_AT(loss + k) * here;
        tw_lanes in = LANES_AT(right + k) * (LANES_AT(last + k + 1) - here) -
                      LANES_AT(right + k - 1) * (here - LANES_AT(last + k - 1));

        lost += out;
        in += from_below - to_above;
        PUT_LANES(next + k, w.rate_s * (LANES_AT(inverse + k) * (in - out)) + w.last * here +
                                w.before * LANES_AT(next + k) + w.start_rate_s * LANES_AT(rate + k));
        here = above;
        from_below = to_above;
    }
    PUT_LANES(lost_W, lost);
}

LOOPS_IN_VECTORS
static void add_up(size_t n, const double *restrict more, double *restrict sum)
{
    for (size_t i = 0; i < n; i++)
        sum[i] += more[i];
}

/* All stages of a step. Stage j reads last[j] and writes next[j]; what it finds lost goes to lost_W[j]. */
struct step {
    int stages;
    struct stage weights[MOST_STAGES + 1];
    const double *last[MOST_STAGES + 1];
    double *next[MOST_STAGES + 1];
    double lost_W[MOST_STAGES + 1][LANES];
};

/* D1 is the first step times the rate, so the second stage reads the rate instead, with weights that know,
 * and the third has Dj-2 in its weight of the rate. D0 is 0. */
static void set_stages(struct step *step, struct tw_plate *plate, double step_s, double first_s)
{
    step->last[1] = plate->rise;
    step->next[1] = plate->rate;
    for (int j = 2; j <= step->stages; j++) {
        step->weights[j] = weights_of(j, step->stages, step_s);
        step->last[j] = step->next[j - 1];
        step->next[j] = j % 2 ? plate->stage_b : plate->stage_a;
    }
    step->weights[2].last *= first_s;
    step->weights[2].rate_s *= first_s;
    step->weights[2].before = 0.0;
    step->weights[3].start_rate_s += step->weights[3].before * first_s;
    step->weights[3].before = 0.0;
}

static void strip_stage(const struct tw_plate *plate, struct step *step, int j, size_t s)
{
    struct tw_plate_span rows = plate->strips[s];
    size_t k = tw_plate_at(plate, s * LANES, rows.from);
    struct strip strip = { plate->stride,       (rows.to - rows.from) * plate->stride,
                           plate->to_right + k, plate->to_above + k,
                           plate->loss + k,     plate->inverse_capacity + k,
                           plate->heat + k };

    if (j == 1)
        start_strip(&strip, step->last[j] + k, step->next[j] + k, step->lost_W[j]);
    else
        continue_strip(&strip, &step->weights[j], step->last[j] + k, plate->rate + k, step->next[j] + k,
                       step->lost_W[j]);
}

/* Stages from..to - 1, each one strip behind the one before, so that what they read stays in the cache: strip
 * s of a stage needs strips up to s + 1 of the stage before, and overwrites what that has done with. */
static void stages_abreast(const struct tw_plate *plate, struct step *step, int from, int to)
{
    size_t strips = tw_plate_strips(plate), behind = (size_t)(to - from);

    for (size_t front = 0; front + 1 < strips + behind; front++)
        for (size_t n = 0; n < behind && n <= front; n++)
            if (front - n < strips)
                strip_stage(plate, step, from + (int)n, front - n);
}

static int stages_for(double step_s, double explicit_step_s)
{
    int stages = 3;

    while (stages < MOST_STAGES && step_s > explicit_step_s * (stages * stages + stages - 2) / 4.0)
        stages += 2;
    return stages;
}

/* What has been lost over the step. Stage j finds the loss at Dj-1, the second that at the rate of D1. */
static double lost_J(const struct step *step, double step_s, double first_s)
{
    double start_W = tw_sum_of_lanes(step->lost_W[1]), before_J = 0.0, last_J = first_s * start_W;

    for (int j = 2; j <= step->stages; j++) {
        struct stage w = weights_of(j, step->stages, step_s);
        double more_W = tw_sum_of_lanes(step->lost_W[j]) * (j == 2 ? first_s : 1.0);
        double now_J = w.last * last_J + w.before * before_J + w.rate_s * more_W + w.start_rate_s * start_W;

        before_J = last_J;
        last_J = now_J;
    }
    return last_J;
}

double tw_plate_advance(struct tw_plate *plate, double step_s)
{
    struct step step = { .stages = stages_for(step_s, plate->explicit_step_s) };
    double first_s = step_s * b_of(1) * 4.0 / (step.stages * step.stages + step.stages - 2.0);

    set_stages(&step, plate, step_s, first_s);
    for (int j = 1; j <= step.stages; j += ABREAST)
        stages_abreast(plate, &step, j, j + ABREAST <= step.stages ? j + ABREAST : step.stages + 1);
    add_up(plate->cells, step.next[step.stages], plate->rise);
    plate->updates += (double)step.stages * (double)(plate->nx * plate->ny);
    return lost_J(&step, step_s, first_s);
}
