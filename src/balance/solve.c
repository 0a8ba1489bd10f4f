/* solve.c - which butt, and which depth of relief, bring the balance point to a place. */
#include "balance/model.h"

#include "balance/advise.h"
#include "balance/solve.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_roots.h>
#include <math.h>

#define GRID             64
#define DEEPEST_MM       3.0   /* the key's own range */
#define CLOSE_MM         0.001 /* no balance point is found nearer than this */
#define EXACT_MM         1e-6  /* a miss that is only rounding */
#define BUTT_ACCURACY_MM 1e-7
#define ROUNDS_MOST      100

double tw_balance_thinnest_butt_mm(const struct tw_balance_model *model, double relief_depth_mm)
{
    const struct tw_taper *taper = &model->job->taper;
    double room_mm = taper->ricasso_mm - taper->smallest_mm;
    double butt_mm = fmax(taper->smallest_mm, taper->ricasso_mm - room_mm * taper->length_mm / model->far_mm);
    double web_mm = room_mm - tw_relief_face_count(&model->job->relief) * relief_depth_mm;

    if (model->hollow->count > 0 && relief_depth_mm > 0.0)
        butt_mm = fmax(butt_mm, taper->ricasso_mm - web_mm * taper->length_mm / model->relief.far_mm);
    return butt_mm;
}

double tw_balance_thickest_butt_mm(const struct tw_balance_model *model)
{
    return model->job->taper.ricasso_mm - 2.0 * model->job->finish.allowance_mm;
}

double tw_balance_deepest_relief_mm(const struct tw_balance_model *model, double butt_mm)
{
    if (model->hollow->count == 0)
        return 0.0;
    return fmin(DEEPEST_MM, fmax(0.0, tw_relief_deepest_mm(model->job, &model->relief, butt_mm)));
}

/* ---- one unknown, the other held ---- */

enum unknown { BUTT, DEPTH, BUTT_WITH_DEEPEST };

struct search {
    const struct tw_balance_model *model;
    enum unknown unknown;
    double held_mm, target_mm;
};

static double place_of(const struct tw_balance_model *model, double butt_mm, double depth_mm)
{
    return tw_balance_with(model, butt_mm, depth_mm).stages[TW_STAGE_FINISHED].x_mm;
}

static double miss(double value_mm, void *data)
{
    const struct search *search = data;
    const struct tw_balance_model *model = search->model;

    switch (search->unknown) {
    case BUTT:
        return place_of(model, value_mm, search->held_mm) - search->target_mm;
    case DEPTH:
        return place_of(model, search->held_mm, value_mm) - search->target_mm;
    case BUTT_WITH_DEEPEST:
        break;
    }
    return place_of(model, value_mm, tw_balance_deepest_relief_mm(model, value_mm)) - search->target_mm;
}

/* Brent's method; the ends must lie on either side of the target. */
static enum tw_status find_root(struct search *search, double low_mm, double high_mm, double *out_mm,
                                struct tw_findings *findings)
{
    gsl_function function = { miss, search };
    gsl_error_handler_t *kept = gsl_set_error_handler_off(); /* it would end the program when memory runs out */
    gsl_root_fsolver *solver = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
    int state = GSL_CONTINUE;

    if (solver && gsl_root_fsolver_set(solver, &function, low_mm, high_mm) == GSL_SUCCESS) {
        for (int i = 0; i < ROUNDS_MOST && state == GSL_CONTINUE; i++) {
            gsl_root_fsolver_iterate(solver);
            state = gsl_root_test_interval(gsl_root_fsolver_x_lower(solver), gsl_root_fsolver_x_upper(solver),
                                           BUTT_ACCURACY_MM, 0.0);
        }
        *out_mm = gsl_root_fsolver_root(solver);
    }
    gsl_set_error_handler(kept);
    if (!solver)
        return tw_no_memory(findings);
    gsl_root_fsolver_free(solver);
    return TW_OK;
}

static double on_grid(double from, double to, int i)
{
    return from + (to - from) * i / GRID;
}

/* Looks for the first sign change going from `from` to `to`; *found tells. Meanwhile keeps the nearest miss. */
static enum tw_status seek(struct search *search, double from_mm, double to_mm, bool *found, double *out_mm,
                           struct tw_findings *findings)
{
    double before_mm = from_mm, before = miss(from_mm, search), nearest = fabs(before);

    *found = nearest < EXACT_MM;
    *out_mm = from_mm;
    for (int i = 1; i <= GRID && !*found; i++) {
        double here_mm = on_grid(from_mm, to_mm, i), here = miss(here_mm, search);

        if ((before < 0.0) != (here < 0.0)) {
            *found = true;
            return find_root(search, fmin(before_mm, here_mm), fmax(before_mm, here_mm), out_mm, findings);
        }
        if (fabs(here) < nearest) {
            nearest = fabs(here);
            *out_mm = here_mm;
        }
        before_mm = here_mm;
        before = here;
        *found = nearest < EXACT_MM;
    }
    return TW_OK;
}

/* ---- both unknown ---- */

/* The butt that, with as much relief as it bears, brings the balance point farthest forward. */
static double foremost_butt_mm(const struct tw_balance_model *model, double thinnest_mm, double thickest_mm)
{
    double best_mm = thickest_mm, best = HUGE_VAL;

    for (int i = 0; i <= GRID; i++) {
        double butt_mm = on_grid(thinnest_mm, thickest_mm, i);
        double place_mm = place_of(model, butt_mm, tw_balance_deepest_relief_mm(model, butt_mm));

        if (place_mm < best) {
            best = place_mm;
            best_mm = butt_mm;
        }
    }
    return best_mm;
}

static double thickest_mm(const struct tw_balance_model *model, const struct tw_balance_wish *wish)
{
    double most_mm = tw_balance_thickest_butt_mm(model);

    return wish->straight_butt_mm > 0.0 ? fmin(most_mm, wish->straight_butt_mm) : most_mm;
}

/* Farther forward than the butt alone can do: first a deeper relief at the thinnest butt, then whatever butt bears
 * the relief that does most. */
static enum tw_status seek_forward(const struct tw_balance_model *model, const struct tw_balance_wish *wish,
                                   struct tw_balance_answer *out, struct tw_findings *findings)
{
    double thinnest_mm = fmin(out->most_butt_mm, tw_balance_thinnest_butt_mm(model, 0.0));
    struct search depth = { model, DEPTH, out->least_butt_mm, wish->x_mm };
    struct search path = { model, BUTT_WITH_DEEPEST, 0.0, wish->x_mm };
    double deepest_mm = tw_balance_deepest_relief_mm(model, out->least_butt_mm);
    enum tw_status status;

    out->butt_mm = out->least_butt_mm;
    status = seek(&depth, fmin(out->relief_depth_mm, deepest_mm), deepest_mm, &out->reached, &out->relief_depth_mm,
                  findings);
    if (status != TW_OK || out->reached)
        return status;
    status = seek(&path, out->least_butt_mm, foremost_butt_mm(model, thinnest_mm, out->most_butt_mm), &out->reached,
                  &out->butt_mm, findings);
    out->relief_depth_mm = tw_balance_deepest_relief_mm(model, out->butt_mm);
    return status;
}

/* Farther back: the thickest butt, and less relief than the job asks for. */
static enum tw_status seek_backward(const struct tw_balance_model *model, const struct tw_balance_wish *wish,
                                    struct tw_balance_answer *out, struct tw_findings *findings)
{
    struct search depth = { model, DEPTH, out->most_butt_mm, wish->x_mm };

    out->butt_mm = out->most_butt_mm;
    return seek(&depth, out->relief_depth_mm, 0.0, &out->reached, &out->relief_depth_mm, findings);
}

static enum tw_balance_limit limit_of(const struct tw_balance_model *model, const struct tw_balance_wish *wish,
                                      const struct tw_balance_answer *answer)
{
    if (answer->reached)
        return TW_BALANCE_FREE;
    if (wish->x_mm < answer->x_mm)
        return TW_BALANCE_BY_STRENGTH;
    return thickest_mm(model, wish) < tw_balance_thickest_butt_mm(model) ? TW_BALANCE_BY_STRAIGHT
                                                                         : TW_BALANCE_BY_NO_TAPER;
}

enum tw_status tw_balance_seek(const struct tw_balance_model *model, const struct tw_balance_wish *wish,
                               struct tw_balance_answer *out, struct tw_findings *findings)
{
    double depth_mm = model->hollow->count > 0 ? model->job->relief.depth_mm : 0.0;
    struct search search = { model, BUTT, depth_mm, wish->x_mm };
    enum tw_status status;
    double front_mm, back_mm;

    *out = (struct tw_balance_answer){ .relief_depth_mm = depth_mm, .most_butt_mm = thickest_mm(model, wish) };
    out->least_butt_mm = fmin(out->most_butt_mm, tw_balance_thinnest_butt_mm(model, depth_mm));
    front_mm = place_of(model, out->least_butt_mm, depth_mm);
    back_mm = place_of(model, out->most_butt_mm, depth_mm);
    out->foremost_mm = fmin(front_mm, back_mm);
    out->hindmost_mm = fmax(front_mm, back_mm);
    status = seek(&search, out->most_butt_mm, out->least_butt_mm, &out->reached, &out->butt_mm, findings);
    if (status == TW_OK && !out->reached)
        status = wish->x_mm < out->foremost_mm ? seek_forward(model, wish, out, findings)
                                               : seek_backward(model, wish, out, findings);
    out->x_mm = place_of(model, out->butt_mm, out->relief_depth_mm);
    out->reached = out->reached && fabs(out->x_mm - wish->x_mm) <= CLOSE_MM;
    out->limit = limit_of(model, wish, out);
    return status;
}

enum tw_status tw_balance_solve(const struct tw_balance_model *model, const struct tw_balance_wish *wish,
                                struct tw_balance_answer *out, struct tw_findings *findings)
{
    enum tw_status status;

    *out = (struct tw_balance_answer){ 0 };
    if (!(model->job->blank.mass_g > 0.0))
        return tw_fail(
            findings, TW_BAD_INPUT, (struct tw_place){ .file = model->job->path, .key = "blank" },
            "the blank was not weighed, so its balance cannot be worked out; weigh and balance it, and write "
            "blank: { mass = \"186 g\"; balance_point = \"38 mm\"; };");
    status = tw_balance_seek(model, wish, out, findings);
    if (status == TW_OK && !out->reached)
        status = tw_balance_advise(model, wish, out, findings);
    return status;
}

/* ---- table ---- */

static double step_for(double span_mm)
{
    static const double steps_mm[] = { 0.01, 0.02, 0.05, 0.1, 0.2, 0.25, 0.5, 1.0, 2.0 };
    size_t i = 0;

    while (i + 1 < sizeof steps_mm / sizeof *steps_mm && span_mm / steps_mm[i] > TW_BALANCE_ROWS_MOST - 5)
        i++;
    return steps_mm[i];
}

/* Puts the butt in its place among the falling ones, unless it is there already. */
static size_t insert_butt(double *butts_mm, size_t count, double butt_mm)
{
    size_t i = 0;

    while (i < count && butts_mm[i] > butt_mm + 1e-9)
        i++;
    if (count == TW_BALANCE_ROWS_MOST || (i < count && fabs(butts_mm[i] - butt_mm) <= 1e-9))
        return count;
    for (size_t j = count; j > i; j--)
        butts_mm[j] = butts_mm[j - 1];
    butts_mm[i] = butt_mm;
    return count + 1;
}

size_t tw_balance_rows(const struct tw_balance_model *model, struct tw_balance rows[TW_BALANCE_ROWS_MOST])
{
    double depth_mm = model->job->relief.depth_mm, butts_mm[TW_BALANCE_ROWS_MOST];
    double most_mm = tw_balance_thickest_butt_mm(model);
    double least_mm = fmin(most_mm, tw_balance_thinnest_butt_mm(model, depth_mm)),
           step_mm = step_for(most_mm - least_mm);
    size_t count = insert_butt(butts_mm, 0, model->job->taper.butt_mm);

    count = insert_butt(butts_mm, count, least_mm);
    count = insert_butt(butts_mm, count, most_mm);
    for (double step = floor(most_mm / step_mm + 1e-9); step * step_mm >= least_mm; step--)
        count = insert_butt(butts_mm, count, step * step_mm);
    for (size_t i = 0; i < count; i++)
        rows[i] = tw_balance_with(model, butts_mm[i], depth_mm);
    return count;
}
