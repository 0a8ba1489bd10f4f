/* looser.c - a looser limit must never make a plan longer: each limit of each sample, loosened, and what the total time is
 * then of the sample's own. */
#include "bench.h"

#include <math.h>
#include <stdio.h>

static void more_infeed(struct tw_job *job)
{
    job->wheel.max_infeed_mm *= 2.0;
}

static void far_more_infeed(struct tw_job *job)
{
    job->wheel.max_infeed_mm *= 5.0;
}

static void more_power(struct tw_job *job)
{
    job->machine.spindle_power_W *= 2.0;
}

static void more_holding(struct tw_job *job)
{
    job->fixture.clamp_force_N *= 2.0;
    job->fixture.pull_N_per_mm2 *= 2.0;
}

static void more_heat(struct tw_job *job)
{
    job->limits.margin_K -= 10.0;
}

static void more_feed(struct tw_job *job)
{
    job->machine.feed_max_mm_per_s *= 1.5;
    job->machine.along.rapid_mm_per_s *= 1.5;
}

static const struct {
    const char *head;
    void (*loosen)(struct tw_job *job);
} looser[] = {
    { "infeed x2", more_infeed },   { "infeed x5", far_more_infeed }, { "power x2", more_power },
    { "holding x2", more_holding }, { "10 K more", more_heat },       { "feed x1.5", more_feed },
};

#define LOOSER (sizeof looser / sizeof *looser)

/* Total time with one limit loosened, as a share of the sample's. */
static double share_of(const struct sample *sample, size_t which)
{
    struct tw_job job = sample->job; /* a shallow copy: only numbers are changed */
    struct tw_findings findings = { 0 };
    struct tw_plan plan;
    double share;

    looser[which].loosen(&job);
    bench_must(tw_plan_make(&job, &plan, &findings), "a plan under a looser limit", &findings);
    share = plan.cycle_time_s / sample->plan.cycle_time_s;
    tw_plan_free(&plan);
    tw_findings_free(&findings);
    return share;
}

void bench_looser(const struct sample *samples, size_t count)
{
    double worst = 0.0;

    printf("\nTotal time with one limit looser, as a share of the sample's own; aim: never above 1\n\n%-18s", "job");
    for (size_t k = 0; k < LOOSER; k++)
        printf(" %10s", looser[k].head);
    printf("\n");
    for (size_t i = 0; i < count; i++) {
        printf("%-18s", samples[i].name);
        for (size_t k = 0; k < LOOSER; k++) {
            double share = share_of(&samples[i], k);

            printf(" %10.3f", share);
            worst = fmax(worst, share);
        }
        printf("\n");
    }
    printf("\nworst: %.3f\n", worst);
}
