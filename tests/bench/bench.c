/* bench.c - all that is measured, in one run.
 *
 *     bench LONG_JOB JOB...
 *
 * LONG_JOB has programs of an hour. Run from the project's folder; needs python3 with NumPy and SciPy. Linux, glibc. */
#include "bench.h"

#include <stdio.h>
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

int main(int count, char **arguments)
{
    size_t samples_count = count > 2 ? (size_t)count - 2 : 0;
    struct sample *samples;

    if (count < 3) {
        fprintf(stderr, "use: bench LONG_JOB JOB...\n");
        return 2;
    }
    setvbuf(stdout, NULL, _IOLBF, 0);
    print_machine();
    samples = bench_samples(arguments + 2, samples_count);
    bench_planning(samples, samples_count);
    bench_hour(arguments[1]);
    bench_proof(samples, samples_count);
    bench_removal();
    bench_heat();
    bench_time(samples, samples_count);
    bench_samples_free(samples, samples_count);
    return 0;
}
