/* spring_back.c - see spring_back.h. Model: spring.h; where all layers pass, at the butt, the wheel is held back most. */
#include "plan/cuts/spring_back.h"

#include "geometry/ring.h"
#include "tangwright/contacts.h"
#include "tangwright/spring.h"

#include <math.h>
#include <stdio.h>

/* Of the flatness that the job asks for, what spring-back may leave: 0.5 um at 10 um. Judgement. */
#define ALLOWED_SHARE 0.05
/* Of what each face may be too high, what it may leave on the softest machine; the dry-run finds it a little otherwise. */
#define SOFTEST_SHARE 0.8

/* So many are as bad as any number. */
#define HOPELESS 1000

/* A tang whose end bends so much of what the machine gives way is told of. */
#define WORTH_SAYING 0.5

/* A small mill needs about so many; only the equivalent limit asks before it is known, and it is checked again. */
#define EXPECTED 4

/* Of a roughed face that is measured: what is left of it makes the finished one so much too low. Judgement. */
#define MEASURED_MM 0.001

static double allowed_mm(const struct tw_job *job)
{
    return job->task.scope == TW_SCOPE_ROUGH ? MEASURED_MM : ALLOWED_SHARE * job->finish.flatness_mm;
}

/* An assumption of how the machine gives and the wheel pushes. */
struct giving {
    double stiffness_N_per_mm, force_ratio;
};

/* How hard the wheel pushes along its way in a cut of that depth. */
struct push {
    double tangential_N, depth_mm;
};

/* Ahead of the taper start a wheel may meet more width than the tang has, where it is held back: at the butt. */
static double tang_share(const struct tw_job *job, double engaged_mm)
{
    struct tw_box box = tw_ring_box(&job->part.tang.outer);

    return engaged_mm > 0.0 ? fmin(1.0, (box.max_y_mm - box.min_y_mm) / engaged_mm) : 1.0;
}

static struct push push_of(const struct tw_job *job, const struct tw_layer *layer)
{
    double depth_mm = layer->loaded_mm > 0.0 ? layer->loaded_mm : layer->depth_mm;

    return (struct push){ tang_share(job, layer->engaged_mm) * fmax(layer->force_N, layer->later_force_N), depth_mm };
}

double tw_hardest_N(const struct tw_job *job, const struct tw_setup_plan *plan)
{
    double hardest_N = 0.0;

    for (size_t i = 0; i < plan->layer_count; i++)
        hardest_N = fmax(hardest_N, push_of(job, &plan->layers[i]).tangential_N);
    return hardest_N;
}

static struct push push_of_cut(const struct tw_job *job, const struct tw_cut *cut)
{
    return (struct push){ tang_share(job, cut->engaged_mm) * fmax(cut->force_N, cut->later_force_N), cut->loaded_mm };
}

static struct tw_spring spring_at(const struct giving *giving, struct push push)
{
    return tw_spring_of(giving->force_ratio * push.tangential_N, push.depth_mm, giving->stiffness_N_per_mm);
}

/* What roughing has left when finishing is a program of its own: no more than its hardest layers hold the wheel back. */
static double left_by_roughing_mm(const struct tw_job *job, const struct giving *giving)
{
    return giving->force_ratio * job->task.roughed_N / giving->stiffness_N_per_mm;
}

/* How far the wheel is behind after the last layer with infeed; *last is the spring of that layer. */
static double behind_mm(const struct tw_job *job, const struct tw_setup_plan *plan, const struct giving *giving,
                        struct tw_spring *last)
{
    double behind = left_by_roughing_mm(job, giving);

    *last = (struct tw_spring){ 0.0, 1.0 };
    for (size_t i = 0; i < plan->layer_count; i++) {
        const struct tw_layer *layer = &plan->layers[i];

        if (layer->kind == TW_LAYER_SPARK_OUT || layer->again || !(layer->depth_mm > 0.0))
            continue;
        *last = spring_at(giving, push_of(job, layer));
        behind = tw_spring_after_mm(last, behind, layer->depth_mm);
    }
    return behind;
}

/* The machine, and the tang's end where that hangs free: one after the other. */
static struct giving giving_of(const struct tw_job *job, double machine_N_per_mm, double force_ratio)
{
    return (struct giving){ tw_spring_in_series(machine_N_per_mm, job->task.bends_mm_per_N), force_ratio };
}

static struct giving stated(const struct tw_job *job)
{
    return giving_of(job, job->machine.stiffness_N_per_mm, job->wheel.force_ratio);
}

static struct giving softest(const struct tw_job *job)
{
    return giving_of(job, job->machine.stiffness_least_N_per_mm, job->wheel.force_ratio_most);
}

/* How much of what each face may be too high the softest machine may leave, of the plan's own reckoning. */
static double softest_allowed_mm(const struct tw_job *job)
{
    return SOFTEST_SHARE * (1.0 - job->reserve.spring_share) * job->finish.thickness_mm / 2.0;
}

#define ASKED 2

/* Both have to be kept: as the profiles say, no more than a share of the flatness; at the softest, of the thickness. */
static void list_asked(const struct tw_job *job, struct giving givings[ASKED], double left_mm[ASKED])
{
    givings[0] = stated(job);
    left_mm[0] = allowed_mm(job);
    givings[1] = softest(job);
    left_mm[1] = softest_allowed_mm(job);
}

int tw_spark_outs_expected(const struct tw_job *job)
{
    return tw_spark_outs_asked(job) == TW_SPARK_OUT_AUTO ? EXPECTED : tw_spark_outs_asked(job);
}

/* As far behind as roughing leaves the wheel, then through the finishing layers, or the last one of a roughing. */
static int passes_after(const struct tw_job *job, const struct giving *giving, const struct tw_cut *rough,
                        const struct tw_cut *finish, double left_mm)
{
    double behind = spring_at(giving, push_of_cut(job, rough)).lag_mm;
    struct tw_spring spring = spring_at(giving, push_of_cut(job, finish));
    int layers = job->task.scope == TW_SCOPE_ROUGH ? 1 : tw_finishing_layers(job);

    for (int i = 0; i < layers; i++)
        behind = tw_spring_after_mm(&spring, behind, finish->depth_mm);
    return tw_spring_passes(&spring, behind, left_mm, HOPELESS);
}

int tw_spark_outs_after(const struct tw_job *job, const struct tw_cut *rough, const struct tw_cut *finish)
{
    struct giving givings[ASKED];
    double left_mm[ASKED];
    int most = 0;

    if (tw_spark_outs_asked(job) != TW_SPARK_OUT_AUTO)
        return tw_spark_outs_asked(job);
    list_asked(job, givings, left_mm);
    for (int i = 0; i < ASKED; i++) {
        int passes = passes_after(job, &givings[i], rough, finish, left_mm[i]);

        most = passes > most ? passes : most;
    }
    return most;
}

int tw_spark_outs_of(const struct tw_job *job, const struct tw_setup_plan *plan)
{
    struct giving givings[ASKED];
    double left_mm[ASKED];
    int most = 0;

    if (tw_spark_outs_asked(job) != TW_SPARK_OUT_AUTO)
        return tw_spark_outs_asked(job);
    list_asked(job, givings, left_mm);
    for (int i = 0; i < ASKED; i++) {
        struct tw_spring last;
        double behind = behind_mm(job, plan, &givings[i], &last);
        int passes = tw_spring_passes(&last, behind, left_mm[i], TW_SPARK_OUT_MOST);

        most = passes > most ? passes : most;
    }
    return most;
}

/* How hard the roughing pushes that a program finishes after, if another program did it. */
static double roughed_N(const struct tw_job *job, const struct tw_plan *plan, const struct tw_setup_plan *finishing)
{
    double hardest_N = 0.0;

    for (size_t i = 0; i < plan->setup_count; i++)
        if (finishing->scope == TW_SCOPE_FINISH && plan->setups[i].scope == TW_SCOPE_ROUGH &&
            plan->setups[i].face.side == finishing->face.side)
            hardest_N = tw_hardest_N(job, &plan->setups[i]);
    return hardest_N;
}

double tw_plan_taken_mm(const struct tw_job *job, const struct tw_plan *plan, size_t index, size_t layer,
                        bool softest_too)
{
    const struct tw_setup_plan *setup = &plan->setups[index];
    struct giving giving = softest_too ? softest(job) : stated(job);
    struct tw_spring spring = { 0.0, 1.0 };
    double behind = giving.force_ratio * roughed_N(job, plan, setup) / giving.stiffness_N_per_mm, taken_mm = 0.0;

    for (size_t i = 0; i <= layer; i++) {
        const struct tw_layer *l = &setup->layers[i];
        double after;

        if (l->again)
            continue;
        if (l->depth_mm > 0.0)
            spring = spring_at(&giving, push_of(job, l));
        after = tw_spring_after_mm(&spring, behind, l->depth_mm);
        taken_mm = behind + l->depth_mm - after;
        behind = after;
    }
    return taken_mm;
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
                                giving_of(job, job->machine.stiffness_most_N_per_mm, job->wheel.force_ratio_least),
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

/* Where the tang's end gives way as much as the machine does. */
struct hanging {
    char text[160];
};

static struct hanging hanging_words(const struct tw_job *job, enum tw_side side)
{
    double times = job->task.bends_mm_per_N * job->machine.stiffness_N_per_mm;
    struct tw_overhang overhang = tw_overhang_of(job, side);
    struct hanging out = { "" };

    if (times >= WORTH_SAYING && overhang.length_mm > 0.0)
        snprintf(out.text, sizeof out.text,
                 "; the tang hangs free over its last %.0f mm and bends %.3g times as far as the machine gives way: "
                 "carry it there (a pad in fixture.keep_outs)",
                 overhang.length_mm, times);
    return out;
}

void tw_spring_back_remark(const struct tw_job *job, const struct tw_setup_plan *plan, struct tw_findings *findings)
{
    const struct tw_spring_back *back = &plan->spring_back;
    struct tw_place at = { .file = job->path, .key = "finish.spark_out" };
    struct hanging hanging = hanging_words(job, plan->face.side);

    if (plan->scope == TW_SCOPE_ROUGH || plan->scope == TW_SCOPE_RELIEF || back->left_mm <= allowed_mm(job))
        return;
    tw_remark(
        findings, at,
        "side %s: after %d spark-outs the machine still holds the wheel back by about %.1f um of the %.1f um "
        "before them, more than %.1f um; a lighter finish.infeed, a sharper wheel or a stiffer machine (stiffness = "
        "\"%.3g N/um\"; measure it: docs/bench-tests.md)%s would leave less%s",
        tw_side_letter(plan->face.side), back->spark_outs, back->left_mm * 1e3, back->behind_mm * 1e3,
        allowed_mm(job) * 1e3, job->machine.stiffness_N_per_mm / 1000.0,
        job->finish.spark_out == TW_SPARK_OUT_AUTO ? "" : ", or more spark_out", hanging.text);
}

/* ---- too soft ---- */

#define STIFFEST_TIMES 1000.0
/* Another stiffness makes a somewhat other plan. */
#define MORE_STIFF 1.05

static double left_at_mm(const struct tw_job *job, const struct tw_setup_plan *plan, double stiffness_N_per_mm)
{
    struct giving giving = giving_of(job, stiffness_N_per_mm, job->wheel.force_ratio_most);
    struct tw_spring last;
    double behind = behind_mm(job, plan, &giving, &last);

    return tw_spring_left_mm(&last, behind, TW_SPARK_OUT_MOST);
}

/* The least stiffness of the machine with which these layers would pass; HUGE_VAL: with none. */
static double needed_N_per_mm(const struct tw_job *job, const struct tw_setup_plan *plan)
{
    double low = job->machine.stiffness_least_N_per_mm, high = STIFFEST_TIMES * low;

    if (left_at_mm(job, plan, high) > softest_allowed_mm(job))
        return HUGE_VAL;
    while (high > 1.01 * low) {
        double middle = sqrt(low * high);

        if (left_at_mm(job, plan, middle) > softest_allowed_mm(job))
            low = middle;
        else
            high = middle;
    }
    return MORE_STIFF * high;
}

enum tw_status tw_spring_back_check(const struct tw_job *job, const struct tw_setup_plan *plan,
                                    struct tw_findings *findings)
{
    const struct tw_spring_back *back = &plan->spring_back;
    struct tw_place at = { .file = job->path, .key = "machine.stiffness_least" };
    struct hanging hanging;
    double needed;

    if (tw_spark_outs_asked(job) != TW_SPARK_OUT_AUTO || job->task.scope == TW_SCOPE_ROUGH ||
        back->left_most_mm <= softest_allowed_mm(job))
        return TW_OK;
    hanging = hanging_words(job, plan->face.side);
    needed = needed_N_per_mm(job, plan) / 1000.0;
    if (!isfinite(needed)) {
        at.key = "fixture.keep_outs";
        return tw_fail(findings, TW_NO_PLAN, at,
                       "side %s: the face stays %.4f mm too high at the butt even after %d spark-outs, whatever the "
                       "machine; of half of finish.thickness_tolerance it may take %.4f mm%s",
                       tw_side_letter(plan->face.side), back->left_most_mm, back->spark_outs, softest_allowed_mm(job),
                       hanging.text);
    }
    return tw_fail(
        findings, TW_NO_PLAN, at,
        "side %s: at %.3g N/um, the softest that the machine may be, and with the wheel pushing %.3g times as hard as "
        "it drags, the face stays %.4f mm too high even after %d spark-outs; of half of finish.thickness_tolerance it "
        "may take %.4f mm; a machine of %.3g N/um or more would do (measure it: docs/bench-tests.md), or "
        "finish.thickness_tolerance = \"%.2f mm\"%s",
        tw_side_letter(plan->face.side), job->machine.stiffness_least_N_per_mm / 1000.0, job->wheel.force_ratio_most,
        back->left_most_mm, back->spark_outs, softest_allowed_mm(job), ceil(100.0 * needed) / 100.0,
        ceil(100.0 * 2.0 * back->left_most_mm / SOFTEST_SHARE) / 100.0 + 0.01, hanging.text);
}
