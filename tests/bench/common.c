/* common.c - clocks, medians, plain loops to compare with, and the jobs. */
#include "bench.h"

#include "tangwright/program.h"
#include "tangwright/wear.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

double bench_cpu_s(void)
{
    struct timespec now;

    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

static int by_size(const void *a, const void *b)
{
    double x = *(const double *)a, y = *(const double *)b;

    return (x > y) - (x < y);
}

double bench_median(double *values, size_t count)
{
    qsort(values, count, sizeof *values, by_size);
    return values[count / 2];
}

void bench_must(enum tw_status status, const char *what, struct tw_findings *findings)
{
    if (status == TW_OK)
        return;
    fprintf(stderr, "bench: %s failed\n", what);
    if (findings)
        tw_findings_print(findings, stderr);
    exit(1);
}

/* ---- the plain loops ---- */

#define STREAM_COUNT 1024
#define STREAM_TIMES 100000
#define STREAM_RUNS  5

static void lower(float *restrict a, const float *restrict b)
{
    for (int i = 0; i < STREAM_COUNT; i++)
        a[i] = a[i] < b[i] ? a[i] : b[i];
}

/* Compiled for wide vectors where the library's heat kernel is. */
#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__)
__attribute__((optimize("O3"), target_clones("avx2", "default")))
#endif
static void
add_scaled(double *restrict a, const double *restrict b, const double *restrict c, double s)
{
    for (int i = 0; i < STREAM_COUNT; i++)
        a[i] = b[i] + s * c[i];
}

double bench_stream_float_per_s(void)
{
    static float a[STREAM_COUNT], b[STREAM_COUNT];
    double s[STREAM_RUNS];

    for (int i = 0; i < STREAM_COUNT; i++)
        b[i] = (float)i;
    for (int run = 0; run < STREAM_RUNS; run++) {
        double began = bench_cpu_s();

        for (int k = 0; k < STREAM_TIMES; k++) {
            lower(a, b);
            __asm__ volatile("" ::: "memory");
        }
        s[run] = bench_cpu_s() - began;
    }
    return (double)STREAM_COUNT * STREAM_TIMES / bench_median(s, STREAM_RUNS);
}

double bench_stream_double_per_s(void)
{
    static double a[STREAM_COUNT], b[STREAM_COUNT], c[STREAM_COUNT];
    double s[STREAM_RUNS];

    for (int i = 0; i < STREAM_COUNT; i++)
        b[i] = c[i] = i;
    for (int run = 0; run < STREAM_RUNS; run++) {
        double began = bench_cpu_s();

        for (int k = 0; k < STREAM_TIMES; k++) {
            add_scaled(a, b, c, 0.5);
            __asm__ volatile("" ::: "memory");
        }
        s[run] = bench_cpu_s() - began;
    }
    return (double)STREAM_COUNT * STREAM_TIMES / bench_median(s, STREAM_RUNS);
}

double bench_python(const char *command, const char *word)
{
    FILE *answer = popen(command, "r");
    char line[400];
    double number = -1.0;

    while (answer && fgets(line, sizeof line, answer))
        if (strncmp(line, word, strlen(word)) == 0)
            number = strtod(line + strlen(word), NULL);
    if (!answer || pclose(answer) != 0 || number < 0.0) {
        fprintf(stderr, "bench: no answer from: %s\n", command);
        exit(1);
    }
    return number;
}

/* ---- the jobs ---- */

/* The folder that the job file stands in, without what leads to it. */
static char *name_of(const char *path)
{
    const char *end = strrchr(path, '/'), *start = end;
    char *name;

    if (!end)
        return strdup(path);
    while (start > path && start[-1] != '/')
        start--;
    name = strndup(start, (size_t)(end - start));
    return name;
}

void bench_span(const struct tw_job *job, const struct tw_face *face, double *front_mm, double *back_mm)
{
    struct tw_outline tang = { 0 };
    struct tw_findings findings = { 0 };

    bench_must(tw_face_outline(face, &job->part.tang, &tang, &findings), "an outline", &findings);
    *front_mm = tw_face_reach_mm(face, 0.0);
    *back_mm = *front_mm;
    for (size_t i = 0; i < tang.outer.count; i++)
        *back_mm = fmax(*back_mm, tang.outer.points[i].x_mm);
    tw_outline_free(&tang);
    tw_findings_free(&findings);
}

const struct tw_setup_plan *bench_whole(const struct sample *sample, enum tw_side side)
{
    for (size_t i = 0; i < sample->plan.setup_count; i++)
        if (sample->plan.setups[i].scope == TW_SCOPE_WHOLE && sample->plan.setups[i].face.side == side)
            return &sample->plan.setups[i];
    return NULL;
}

enum tw_status bench_read_job(const char *path, struct tw_job *job, struct tw_findings *findings)
{
    enum tw_status status = tw_job_read(path, job, findings);

    if (status == TW_OK && !tw_wear_is_uncertain(job) && !tw_wear_leaves_too_much(job))
        job->order = TW_ORDER_A_THEN_B;
    return status;
}

struct sample *bench_samples(char **paths, size_t count)
{
    struct sample *samples = calloc(count ? count : 1, sizeof *samples);

    if (!samples)
        bench_must(TW_NO_MEMORY, "memory", NULL);
    for (size_t i = 0; i < count; i++) {
        struct sample *s = &samples[i];
        struct tw_findings findings = { 0 };

        s->path = paths[i];
        s->name = name_of(paths[i]);
        bench_must(bench_read_job(s->path, &s->job, &findings), s->path, &findings);
        s->hardest = tw_blank_job(&s->job, tw_band_hardest_mm(&s->job));
        bench_must(tw_plan_make(&s->job, &s->plan, &findings), s->path, &findings);
        for (int side = 0; side < 2; side++)
            bench_must(tw_program_text(&s->job, &s->plan, (enum tw_side)side, 0.0, &s->texts[side], &findings), s->path,
                       &findings);
        tw_findings_free(&findings);
    }
    return samples;
}

void bench_samples_free(struct sample *samples, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        free(samples[i].name);
        free(samples[i].texts[0]);
        free(samples[i].texts[1]);
        tw_plan_free(&samples[i].plan);
        tw_job_free(&samples[i].job);
    }
    free(samples);
}
