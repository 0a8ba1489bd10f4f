/* planning.c - how long the planning of each sample takes, and what share of that is spent in GEOS.
 *
 * Times are medians over many runs. The share is found by sampling: a timer that runs on processor time interrupts
 * the planning, and an interruption counts for GEOS when any frame of the call stack lies in one of its libraries
 * (so memory that GEOS asks for counts, too). A share is given with the number of samples behind it; its standard
 * error is sqrt(share (1 - share) / samples). Linux and glibc. */
#include "bench.h"

#include "tangwright/plan.h"
#include "tangwright/program.h"
#include "tangwright/proven.h"
#include "tangwright/report.h"

#include <execinfo.h>
#include <link.h>
#include <signal.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/time.h>

#define RUNS             5
#define RUNS_FOR_SHARE_S 1.5
#define SAMPLE_EVERY_US  1000
#define FRAMES           64
#define RANGES           16

/* ---- where GEOS lies in memory ---- */

static struct {
    uintptr_t from, to;
} geos[RANGES];
static size_t geos_count;

static int note_library(struct dl_phdr_info *info, size_t size, void *unused)
{
    (void)size, (void)unused;
    if (!strstr(info->dlpi_name, "libgeos"))
        return 0;
    for (int i = 0; i < info->dlpi_phnum && geos_count < RANGES; i++) {
        if (info->dlpi_phdr[i].p_type != PT_LOAD || !(info->dlpi_phdr[i].p_flags & PF_X))
            continue;
        geos[geos_count].from = (uintptr_t)info->dlpi_addr + info->dlpi_phdr[i].p_vaddr;
        geos[geos_count].to = geos[geos_count].from + info->dlpi_phdr[i].p_memsz;
        geos_count++;
    }
    return 0;
}

static volatile sig_atomic_t sample_count, geos_samples;

static void take_sample(int signal_number)
{
    void *frames[FRAMES];
    int count = backtrace(frames, FRAMES);

    (void)signal_number;
    sample_count++;
    for (int i = 0; i < count; i++)
        for (size_t k = 0; k < geos_count; k++)
            if ((uintptr_t)frames[i] >= geos[k].from && (uintptr_t)frames[i] < geos[k].to) {
                geos_samples++;
                return;
            }
}

static void sample_every(long microseconds)
{
    struct itimerval timer = { { 0, microseconds }, { 0, microseconds } };

    setitimer(ITIMER_PROF, &timer, NULL);
}

/* ---- one sample ---- */

static double now_ms(void)
{
    return bench_cpu_s() * 1e3;
}

enum { READ, PLAN, WRITE, TOTAL, STEPS };

struct figures {
    double ms[STEPS];
    size_t corners;
    int passes;
    size_t moves;
};

static size_t corners_of(const struct tw_outline *outline)
{
    size_t count = outline->outer.count;

    for (size_t i = 0; i < outline->hole_count; i++)
        count += outline->holes[i].count;
    return count;
}

/* Reads, plans and writes once, in memory. */
static enum tw_status run_once(const char *path, struct figures *out)
{
    struct tw_findings findings = { 0 };
    struct tw_job job = { 0 };
    struct tw_plan plan = { 0 };
    char *texts[3] = { NULL, NULL, NULL };
    double start = now_ms(), read, planned;
    enum tw_status status = bench_read_job(path, &job, &findings);

    read = now_ms();
    if (status == TW_OK)
        status = tw_plan_make(&job, &plan, &findings);
    planned = now_ms();
    for (int side = 0; status == TW_OK && side < 2; side++)
        status = tw_program_text(&job, &plan, (enum tw_side)side, 0.0, &texts[side], &findings);
    if (status == TW_OK)
        status = tw_summary_json(&job, &plan, &texts[2], &findings);
    out->ms[TOTAL] = now_ms() - start;
    out->ms[READ] = read - start;
    out->ms[PLAN] = planned - read;
    out->ms[WRITE] = out->ms[TOTAL] - out->ms[READ] - out->ms[PLAN];
    if (status == TW_OK) {
        out->corners = corners_of(&job.part.tang);
        out->passes = plan.pass_count;
        out->moves = plan.setups[0].move_count + plan.setups[1].move_count;
        tw_job_free(&job);
        tw_plan_free(&plan);
    } else {
        tw_findings_print(&findings, stderr);
    }
    for (int i = 0; i < 3; i++)
        free(texts[i]);
    tw_findings_free(&findings);
    return status;
}

static enum tw_status measure(const char *path, struct figures *out)
{
    static double ms[STEPS][RUNS];
    enum tw_status status = run_once(path, out); /* warms the caches */

    for (int run = 0; run < RUNS && status == TW_OK; run++) {
        status = run_once(path, out);
        for (int step = 0; step < STEPS; step++)
            ms[step][run] = out->ms[step];
    }
    for (int step = 0; step < STEPS; step++) {
        out->ms[step] = bench_median(ms[step], RUNS);
    }
    return status;
}

/* The plan that the command line makes: with the dry-run of its own programs. Once: it takes seconds. */
static enum tw_status prove_once(const char *path, double *ms)
{
    struct tw_findings findings = { 0 };
    struct tw_job job = { 0 };
    struct tw_proven proven = { 0 };
    enum tw_status status = bench_read_job(path, &job, &findings);
    double start = now_ms();

    if (status == TW_OK)
        status = tw_proven_make(&job, &proven, &findings);
    *ms = now_ms() - start;
    if (status == TW_OK) {
        tw_proven_free(&proven);
        tw_job_free(&job);
    } else {
        tw_findings_print(&findings, stderr);
    }
    tw_findings_free(&findings);
    return status;
}

static void measure_share(const char *path)
{
    struct figures ignored;
    double start = now_ms();

    sample_count = geos_samples = 0;
    sample_every(SAMPLE_EVERY_US);
    while (now_ms() - start < RUNS_FOR_SHARE_S * 1e3)
        run_once(path, &ignored);
    sample_every(0);
}

void bench_planning(const struct sample *samples, size_t count)
{
    struct sigaction action = { .sa_handler = take_sample, .sa_flags = SA_RESTART };
    void *frame[1];

    backtrace(frame, 1); /* loads the unwinder now, not inside the handler */
    dl_iterate_phdr(note_library, NULL);
    sigaction(SIGPROF, &action, NULL);
    printf("\nPlanning: median of %d runs, and once with its own dry-run, ms of one core; aim: 100 ms\n\n", RUNS);
    printf("%-14s %8s %7s %7s %8s %8s %8s %8s %8s %8s\n", "job", "corners", "passes", "moves", "read", "plan", "write",
           "all", "proved", "in GEOS");
    for (size_t i = 0; i < count; i++) {
        struct figures figures;
        double proved_ms;

        bench_must(prove_once(samples[i].path, &proved_ms), samples[i].path, NULL);
        bench_must(measure(samples[i].path, &figures), samples[i].path, NULL);
        measure_share(samples[i].path);
        printf("%-14s %8zu %7d %7zu %8.2f %8.2f %8.2f %8.2f %8.0f %6.0f %%  (%d samples)\n", samples[i].name,
               figures.corners, figures.passes, figures.moves, figures.ms[READ], figures.ms[PLAN], figures.ms[WRITE],
               figures.ms[TOTAL], proved_ms, sample_count > 0 ? 100.0 * geos_samples / sample_count : 0.0,
               (int)sample_count);
    }
}
