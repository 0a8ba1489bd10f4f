/* spring_back.c - see spring_back.h. Model: spring.h; where all layers pass, at the butt, the wheel is held back most. */
#include "plan/cuts/spring_back.h"

#include "tangwright/spring.h"

#include <math.h>

/* Of the flatness that the job asks for, what spring-back may leave: 0.5 um at 10 um. Judgement. */
#define ALLOWED_SHARE 0.05
/* Of what each face may be too high, what it may leave on the softest machine; the dry-run finds it a little otherwise. */
#define SOFTEST_SHARE 0.8

/* So many are as bad as any number. */
#define HOPELESS 1000

/* A small mill needs about so many; only the equivalent limit asks before it is known, and it is checked again. */
#define EXPECTED 4

static double allowed_mm(const struct tw_job *job)
{
    return ALLOWED_SHARE * job->finish.flatness_mm;
}

/* An assumption of how the machine gives and the wheel pushes. */
struct giving {
    double stiffness_N_per_mm, force_ratio;
};

static struct tw_spring spring_at(const struct giving *giving, double tangential_N, double depth_mm)
{
    return tw_spring_of(giving->force_ratio * tangential_N, depth_mm, giving->stiffness_N_per_mm);
}

/* What roughing has left when finishing is a program of its own: no more than its deepest layers hold the wheel back. */
static double left_by_roughing_mm(const struct tw_job *job, const struct tw_spring *first)
{
    if (job->task.scope != TW_SCOPE_FINISH)
        return 0.0;
    return job->wheel.max_infeed_mm * (1.0 - first->share) / first->share;
}

/* How far the wheel is behind after the last layer with infeed; *last is the spring of that layer. */
static double behind_mm(const struct tw_job *job, const struct tw_setup_plan *plan, const struct giving *giving,
                        struct tw_spring *last)
{
    double behind = 0.0;

    *last = (struct tw_spring){ 0.0, 1.0 };
    for (size_t i = 0; i < plan->layer_count; i++) {
        const struct tw_layer *layer = &plan->layers[i];

        if (layer->kind == TW_LAYER_SPARK_OUT || !(layer->depth_mm > 0.0))
            continue;
        *last = spring_at(giving, layer->force_N, layer->depth_mm);
        if (i == 0)
            behind = left_by_roughing_mm(job, last);
        behind = tw_spring_after_mm(last, behind, layer->depth_mm);
    }
    return behind;
}

static struct giving stated(const struct tw_job *job)
{
    return (struct giving){ job->machine.stiffness_N_per_mm, job->wheel.force_ratio };
}

static struct giving softest(const struct tw_job *job)
{
    return (struct giving){ job->machine.stiffness_least_N_per_mm, job->wheel.force_ratio_most };
}

int tw_spark_outs_expected(const struct tw_job *job)
{
    return tw_spark_outs_asked(job) == TW_SPARK_OUT_AUTO ? EXPECTED : tw_spark_outs_asked(job);
}

int tw_spark_outs_after(const struct tw_job *job, const struct tw_cut *rough, const struct tw_cut *finish)
{
    struct giving giving = stated(job);
    struct tw_spring roughing = spring_at(&giving, rough->force_N, rough->depth_mm);
    struct tw_spring finishing = spring_at(&giving, finish->force_N, finish->depth_mm);
    double behind = roughing.lag_mm;

    if (tw_spark_outs_asked(job) != TW_SPARK_OUT_AUTO)
        return tw_spark_outs_asked(job);
    for (int i = 0; i < tw_finishing_layers(job); i++)
        behind = tw_spring_after_mm(&finishing, behind, finish->depth_mm);
    return tw_spring_passes(&finishing, behind, allowed_mm(job), HOPELESS);
}

int tw_spark_outs_of(const struct tw_job *job, const struct tw_setup_plan *plan)
{
    const struct {
        struct giving giving;
        double left_mm;
    } asked[] = { { stated(job), allowed_mm(job) }, { softest(job), SOFTEST_SHARE * job->finish.thickness_mm / 2.0 } };
    int most = 0;

    if (tw_spark_outs_asked(job) != TW_SPARK_OUT_AUTO)
        return tw_spark_outs_asked(job);
    for (size_t i = 0; i < sizeof asked / sizeof *asked; i++) {
        struct tw_spring last;
        double behind = behind_mm(job, plan, &asked[i].giving, &last);
        int passes = tw_spring_passes(&last, behind, asked[i].left_mm, TW_SPARK_OUT_MOST);

        most = passes > most ? passes : most;
    }
    return most;
}

static int spark_outs_in(const struct tw_setup_plan *plan)
{
    int count = 0;

    for (size_t i = 0; i < plan->layer_count; i++)
        count += plan->layers[i].kind == TW_LAYER_SPARK_OUT;
    return count;
}

struct tw_spring_back tw_spring_back_of(const struct tw_job *job, const struct tw_setup_plan *plan)
{
    struct giving givings[] = { stated(job),
                                { job->machine.stiffness_most_N_per_mm, job->wheel.force_ratio_least },
                                softest(job) };
    struct tw_spring_back back = { .spark_outs = spark_outs_in(plan) };
    double *left_mm[] = { &back.left_mm, &back.left_least_mm, &back.left_most_mm };

    for (size_t i = 0; i < sizeof givings / sizeof *givings; i++) {
        struct tw_spring last;
        double behind = behind_mm(job, plan, &givings[i], &last);

        *left_mm[i] = tw_spring_left_mm(&last, behind, back.spark_outs);
        if (i == 0) {
            back.behind_mm = behind;
            back.share = last.share;
        }
    }
    return back;
}

void tw_spring_back_remark(const struct tw_job *job, const struct tw_setup_plan *plan, struct tw_findings *findings)
{
    const struct tw_spring_back *back = &plan->spring_back;
    struct tw_place at = { .file = job->path, .key = "finish.spark_out" };

    if (plan->scope == TW_SCOPE_ROUGH || plan->scope == TW_SCOPE_RELIEF || back->left_mm <= allowed_mm(job))
        return;
    tw_remark(
        findings, at,
        "side %s: after %d spark-outs the machine still holds the wheel back by about %.1f um of the %.1f um "
        "before them, more than %.1f um; a lighter finish.infeed, a sharper wheel or a stiffer machine (stiffness = "
        "\"%.3g N/um\"; measure it: docs/bench-tests.md)%s would leave less",
        tw_side_letter(plan->face.side), back->spark_outs, back->left_mm * 1e3, back->behind_mm * 1e3,
        allowed_mm(job) * 1e3, job->machine.stiffness_N_per_mm / 1000.0,
        job->finish.spark_out == TW_SPARK_OUT_AUTO ? "" : ", or more spark_out");
}
