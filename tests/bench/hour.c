/* hour.c - a job whose programs run for an hour each, planned and proved. */
#include "bench.h"

#include "tangwright/program.h"
#include "tangwright/verdict.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define RUNS 3

void bench_hour(const char *path)
{
    double plan_s[RUNS], planned_s, prove_s, hours;
    struct tw_findings findings = { 0 };
    struct tw_card cards[TW_SETUPS_MOST];
    struct tw_verdict verdict;
    struct tw_plan plan = { 0 };
    struct tw_job job;
    char *texts[TW_SETUPS_MOST];

    bench_must(tw_job_read(path, &job, &findings), path, &findings);
    for (int run = 0; run < RUNS; run++) {
        double began = bench_cpu_s();

        tw_plan_free(&plan);
        bench_must(tw_plan_make(&job, &plan, &findings), path, &findings);
        for (size_t i = 0; i < plan.setup_count; i++)
            bench_must(tw_program_text(&job, &plan, i, 0.0, &texts[i], &findings), path, &findings);
        plan_s[run] = bench_cpu_s() - began;
        for (size_t i = 0; run + 1 < RUNS && i < plan.setup_count; i++)
            free(texts[i]);
    }
    for (size_t i = 0; i < plan.setup_count; i++)
        cards[i] = (struct tw_card){ plan.setups[i].file_name, texts[i], strlen(texts[i]) };
    prove_s = bench_cpu_s();
    bench_must(tw_verdict_make(&job, cards, plan.setup_count, 0.1, &verdict, &findings), path, &findings);
    prove_s = bench_cpu_s() - prove_s;
    planned_s = bench_median(plan_s, RUNS);
    hours = plan.cycle_time_s / 3600.0;
    printf("\nA long job (%s), programs of %.0f and %.0f s, %d passes, both sides: planned and written in %.2f s of "
           "one core,\n"
           "%.2f s for an hour (aim: under 2 s: %s); proved in %.2f s, %.2f s for an hour (aim: under 2 s: %s)%s\n",
           path, plan.setups[0].cycle_time_s, plan.setups[1].cycle_time_s, plan.pass_count, planned_s,
           planned_s / hours, planned_s < 2.0 * hours ? "met" : "missed", prove_s, prove_s / hours,
           prove_s < 2.0 * hours ? "met" : "missed", verdict.cut ? "" : "; the verdict is: do not cut");
    tw_verdict_free(&verdict);
    for (size_t i = 0; i < plan.setup_count; i++)
        free(texts[i]);
    tw_plan_free(&plan);
    tw_job_free(&job);
    tw_findings_free(&findings);
}
