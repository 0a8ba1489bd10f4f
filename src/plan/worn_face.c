/* worn_face.c - see worn_face.h. */
#include "plan/worn_face.h"

#include "base/text.h"
#include "plan/scene/scene.h"
#include "tangwright/wear.h"

#include <math.h>

/* A sharp CBN wheel in a resin bond, for the advice; docs/wheel-state.md. */
#define CBN_RATIO 400.0

static double half_tolerance_mm(const struct tw_job *job)
{
    return job->finish.thickness_mm / 2.0;
}

/* Ridges between lanes, and steps of the program's heights, lift the middle of the face. */
static double off_mm(const struct tw_job *job, const struct tw_setup_plan *setup, const struct tw_wheel_loss *loss)
{
    double lifted_mm = setup->cusp_mm / 2.0 + (loss->follows ? tw_infeed_step_mm(job) : 0.0);

    return fmax(loss->high_mm + lifted_mm, loss->low_mm);
}

/* The most that stands on the thickest blank over the face that is meant, were the profiles' likely figures right. */
static double standing_mm(const struct tw_setup_plan *setup, const struct tw_wheel_loss *loss)
{
    return setup->cusp_mm + setup->dish_mm + setup->rounded_mm + loss->standing_mm;
}

/* Whether a job altered like this would do, by what is expected before it is planned. */
static bool would_do_as(const struct tw_job *altered, enum tw_scope scope, const struct tw_setup_plan *setup)
{
    struct tw_job own = *altered;
    struct tw_wheel_loss loss;
    double steps_mm = tw_infeed_step_mm(altered) * (altered->parts > 1 ? 2.0 : 1.0);

    own.task.scope = scope;
    own.task.hollows = setup->hollows;
    own.task.hollow_count = setup->hollow_count;
    loss = tw_wear_expected(&own, setup->face.side);
    if (loss.follows) { /* by whole steps: of the first part, and what comes on top at a later one */
        loss.high_mm += steps_mm;
        loss.standing_mm += steps_mm;
    }
    return off_mm(altered, setup, &loss) <= half_tolerance_mm(altered) &&
           standing_mm(setup, &loss) <= altered->finish.flatness_mm;
}

static bool would_do(const struct tw_job *altered, const struct tw_setup_plan *setup)
{
    return would_do_as(altered, setup->scope, setup);
}

static struct tw_job with_ratio(const struct tw_job *job, double times)
{
    struct tw_job altered = *job;

    altered.wheel.grinding_ratio_least *= times;
    altered.wheel.grinding_ratio *= times;
    altered.wheel.grinding_ratio_most *= times;
    return altered;
}

#define MOST_TIMES 1e4
/* Said to two figures. */
static double rounded_up(double value)
{
    double unit = pow(10.0, floor(log10(value)) - 1.0);

    return unit * ceil(value / unit - 1e-9);
}

/* A wheel like this that wears less. */
static void advise_ratio(const struct tw_job *job, const struct tw_setup_plan *setup, struct tw_text *text)
{
    double low = 1.0, high = MOST_TIMES, ratio;
    struct tw_job altered = with_ratio(job, high);

    if (!would_do(&altered, setup))
        return;
    while (high > 1.02 * low) {
        double middle = sqrt(low * high);

        altered = with_ratio(job, middle);
        if (would_do(&altered, setup))
            high = middle;
        else
            low = middle;
    }
    ratio = rounded_up(1.02 * high * job->wheel.grinding_ratio);
    tw_text_print(
        text, "; a wheel that wears less, of a wheel.grinding_ratio of %.4g or more with as wide a range, would do%s",
        ratio, ratio <= CBN_RATIO ? " (CBN in resin has some 400 in plenty of coolant)" : "");
}

/* This wheel, its ratio measured to a tenth. */
static void advise_measuring(const struct tw_job *job, const struct tw_setup_plan *setup, struct tw_text *text)
{
    static const double tens[] = { 0.9, 1.0, 1.1 };
    struct tw_job altered = *job;
    double *ends[] = { &altered.wheel.grinding_ratio_least, &altered.wheel.grinding_ratio,
                       &altered.wheel.grinding_ratio_most };

    for (int i = 0; i < 3; i++)
        *ends[i] = tens[i] * job->wheel.grinding_ratio;
    if (would_do(&altered, setup))
        tw_text_print(text,
                      "; so would this one with its ratio measured to a tenth (docs/bench-tests.md), if it is %.3g: "
                      "wheel.grinding_ratio_least = %.3g; grinding_ratio_most = %.3g;",
                      job->wheel.grinding_ratio, *ends[0], *ends[2]);
}

static void advise_fewer(const struct tw_job *job, const struct tw_setup_plan *setup, struct tw_text *text)
{
    struct tw_job altered = *job;

    for (altered.parts = job->parts - 1; altered.parts > 0; altered.parts--)
        if (would_do(&altered, setup)) {
            tw_text_print(text, "; parts = %d; would do", altered.parts);
            return;
        }
}

/* Nobody tapers for more. Judgement. */
#define MOST_TOLERANCE_MM 0.3
#define MOST_FLATNESS_MM  0.1

static void advise_tolerance(const struct tw_job *job, const struct tw_setup_plan *setup, double off,
                             struct tw_text *text)
{
    struct tw_job altered = *job;

    altered.finish.thickness_mm = rounded_up(2.0 * off);
    if (altered.finish.thickness_mm <= MOST_TOLERANCE_MM && would_do(&altered, setup))
        tw_text_print(text, "; or finish.thickness_tolerance = \"%.4g mm\"", altered.finish.thickness_mm);
}

/* As many finishing layers as a new job has, where there are none. */
#define LAYERS 2

static void advise_order(const struct tw_job *job, const struct tw_setup_plan *setup, struct tw_text *text)
{
    struct tw_job altered = *job;

    altered.order = TW_ORDER_ROUGH_THEN_FINISH;
    altered.finish.layers = job->finish.layers > 0 ? job->finish.layers : LAYERS;
    if (job->order == TW_ORDER_ROUGH_THEN_FINISH || !would_do_as(&altered, TW_SCOPE_FINISH, setup))
        return;
    tw_text_print(text, "; measuring between roughing and finishing (order = \"rough-then-finish\";");
    if (job->finish.layers == 0)
        tw_text_print(text, " finish.layers = %d;", LAYERS);
    tw_text_print(text, ") would do");
}

/* Blanks more alike: what is followed for the thinnest is then nearer to what the thickest costs. To the hundredth. */
static void advise_band(const struct tw_job *job, const struct tw_setup_plan *setup, struct tw_text *text)
{
    struct tw_job altered = *job;
    int hundredths = (int)ceil(job->taper.band_mm * 100.0 - 1e-9) - 1;

    for (; hundredths > 0; hundredths--) {
        altered.taper.band_mm = hundredths / 100.0;
        if (would_do(&altered, setup)) {
            tw_text_print(text, "; taper.thickness_band = \"%.2f mm\" would do", altered.taper.band_mm);
            return;
        }
    }
}

/* A larger flatness lays the lanes of a cup in the level mount farther apart, up to that share of it. */
static void advise_flatness(const struct tw_job *job, const struct tw_setup_plan *setup, struct tw_text *text)
{
    struct tw_job altered = *job;
    bool has_ridges = setup->cusp_mm > 0.0;
    double others_mm = standing_mm(setup, &setup->loss) - (has_ridges ? setup->cusp_mm : 0.0);

    altered.finish.flatness_mm = rounded_up(has_ridges ? others_mm / (1.0 - TW_CUSP_SHARE) : others_mm);
    if (altered.finish.flatness_mm <= MOST_FLATNESS_MM && would_do(&altered, setup))
        tw_text_print(text, "; or finish.flatness = \"%.4g mm\"", altered.finish.flatness_mm);
}

static enum tw_status refuse_uncertain(const struct tw_job *job, const struct tw_setup_plan *setup, double off,
                                       struct tw_findings *findings)
{
    const struct tw_wheel_loss *loss = &setup->loss;
    struct tw_place at = { .file = job->path, .key = "finish.thickness_tolerance" };
    struct tw_text advice = { 0 };
    enum tw_status status;

    advise_order(job, setup, &advice);
    advise_ratio(job, setup, &advice);
    advise_measuring(job, setup, &advice);
    advise_fewer(job, setup, &advice);
    advise_tolerance(job, setup, off, &advice);
    status = advice.failed ? tw_no_memory(findings)
                           : tw_fail(findings, TW_NO_PLAN, at,
                                     "side %s: the wheel loses %.4f to %.4f mm with each part, at a grinding ratio of "
                                     "%.3g to %.3g on this steel with this coolant%s, so that with ridges and steps "
                                     "the face may come out %.4f mm off, and half of the tolerance is %.4f mm%s",
                                     tw_side_letter(setup->face.side), loss->least_mm, loss->most_mm, loss->ratio_least,
                                     loss->ratio_most, loss->follows ? "; the program follows what is likely" : "", off,
                                     half_tolerance_mm(job),
                                     advice.data ? advice.data
                                                 : "; a wheel that wears less, or a larger "
                                                   "tolerance, would help");
    tw_text_free(&advice);
    return status;
}

static enum tw_status refuse_standing(const struct tw_job *job, const struct tw_setup_plan *setup,
                                      struct tw_findings *findings)
{
    const struct tw_wheel_loss *loss = &setup->loss;
    struct tw_place at = { .file = job->path, .key = "finish.flatness" };
    struct tw_text advice = { 0 };
    enum tw_status status;

    advise_order(job, setup, &advice);
    advise_ratio(job, setup, &advice);
    advise_band(job, setup, &advice);
    advise_fewer(job, setup, &advice);
    advise_flatness(job, setup, &advice);
    status =
        advice.failed
            ? tw_no_memory(findings)
            : tw_fail(findings, TW_NO_PLAN, at,
                      "side %s: the wheel's wear leaves %.4f mm standing on the thickest blank of the band%s, and with "
                      "ridges between lanes of %.4f mm, a head out of square by %.4f mm and rounding that is %.4f mm "
                      "where %.4g mm is allowed%s",
                      tw_side_letter(setup->face.side), loss->standing_mm,
                      loss->follows ? "; the program follows what the thinnest costs" : "", setup->cusp_mm,
                      setup->dish_mm, standing_mm(setup, loss), job->finish.flatness_mm,
                      advice.data ? advice.data : "; a wheel that wears less, or a larger flatness, would help");
    tw_text_free(&advice);
    return status;
}

enum tw_status tw_worn_face_check(const struct tw_job *job, const struct tw_setup_plan *setup,
                                  struct tw_findings *findings)
{
    double off = off_mm(job, setup, &setup->loss);

    if (!setup->loss.known || setup->scope == TW_SCOPE_ROUGH)
        return TW_OK;
    if (off > half_tolerance_mm(job))
        return refuse_uncertain(job, setup, off, findings);
    if (standing_mm(setup, &setup->loss) > job->finish.flatness_mm)
        return refuse_standing(job, setup, findings);
    return TW_OK;
}
