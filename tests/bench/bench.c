/* bench.c - all that is measured, in one run, or one part of it.
 *
 *     bench [--only PART] LONG_JOB JOB...
 *
 * LONG_JOB has programs of an hour. Run from the project's folder; needs python3 with NumPy and SciPy. Linux, glibc. */
#include "bench.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

static void print_machine(void)
{
    FILE *info = fopen("/proc/cpuinfo", "r");
    char line[300], model[300] = "unknown processor";

    while (info && fgets(line, sizeof line, info))
        if (sscanf(line, "model name : %[^\n]", model) == 1)
            break;
    if (info)
        fclose(info);
    printf("%s, %ld cores, compiled with %s %s; times are of one core\n", model, sysconf(_SC_NPROCESSORS_ONLN),
#ifdef __clang__
           "clang", __clang_version__
#else
           "gcc", __VERSION__
#endif
    );
}

/* What the parts measure. */
struct jobs {
    const char *long_job;
    char **paths;
    size_t count;
    struct sample *samples; /* NULL until a part asks */
};

static const struct sample *samples_of(struct jobs *jobs)
{
    if (!jobs->samples)
        jobs->samples = bench_samples(jobs->paths, jobs->count);
    return jobs->samples;
}

static void run_planning(struct jobs *jobs)
{
    bench_planning(samples_of(jobs), jobs->count);
}

static void run_hour(struct jobs *jobs)
{
    bench_hour(jobs->long_job);
}

static void run_proof(struct jobs *jobs)
{
    bench_proof(samples_of(jobs), jobs->count);
}

static void run_removal(struct jobs *jobs)
{
    (void)jobs;
    bench_removal();
}

static void run_heat(struct jobs *jobs)
{
    (void)jobs;
    bench_heat();
}

static void run_time(struct jobs *jobs)
{
    bench_time(samples_of(jobs), jobs->count);
}

static void run_looser(struct jobs *jobs)
{
    bench_looser(samples_of(jobs), jobs->count);
}

static const struct part {
    const char *name;
    void (*run)(struct jobs *jobs);
} parts[] = { { "planning", run_planning }, { "hour", run_hour }, { "proof", run_proof },  { "removal", run_removal },
              { "heat", run_heat },         { "time", run_time }, { "looser", run_looser } };

/* NULL unless there is such a part. */
static const struct part *part_named(const char *name)
{
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
        if (strcmp(parts[i].name, name) == 0)
            return &parts[i];
    return NULL;
}

static int explain(void)
{
    fprintf(stderr, "use: bench [--only PART] LONG_JOB JOB...; a PART is one of");
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
        fprintf(stderr, " %s", parts[i].name);
    fprintf(stderr, "\n");
    return 2;
}

int main(int count, char **arguments)
{
    struct jobs jobs = { 0 };
    const struct part *only = NULL;
    int first = 1;

    if (count > 2 && strcmp(arguments[1], "--only") == 0) {
        only = part_named(arguments[2]);
        if (!only)
            return explain();
        first = 3;
    }
    if (count < first + 2)
        return explain();
    jobs = (struct jobs){ arguments[first], arguments + first + 1, (size_t)(count - first - 1), NULL };
    setvbuf(stdout, NULL, _IOLBF, 0);
    print_machine();
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++)
        if (!only || only == &parts[i])
            parts[i].run(&jobs);
    bench_samples_free(jobs.samples, jobs.samples ? jobs.count : 0);
    return 0;
}
