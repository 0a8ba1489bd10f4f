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
    struct tw_card cards[2];
    struct tw_verdict verdict;
    struct tw_plan plan = { 0 };
    struct tw_job job;
    char *texts[2];

    bench_must(tw_job_read(path, &job, &findings), path, &findings);
    for (int run = 0; run < RUNS; run++) {
        double began = bench_cpu_s();

        tw_plan_free(&plan);
        bench_must(tw_plan_make(&job, &plan, &findings), path, &findings);
        for (int side = 0; side < 2; side++)
            bench_must(tw_program_text(&job, &plan, (enum tw_side)side, 0.0, &texts[side], &findings), path, &findings);
        plan_s[run] = bench_cpu_s() - began;
        for (int side = 0; run + 1 < RUNS && side < 2; side++)
            free(texts[side]);
    }
    for (int i = 0; i < 2; i++)
        cards[i] = (struct tw_card){ i ? "side-b.nc" : "side-a.nc", texts[i], strlen(texts[i]) };
    prove_s = bench_cpu_s();
    bench_must(tw_verdict_make(&job, cards, 2, 0.1, &verdict, &findings), path, &findings);
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
    free(texts[0]);
    free(texts[1]);
    tw_plan_free(&plan);
    tw_job_free(&job);
    tw_findings_free(&findings);
}
