/* run.c - the main function of every test program: runs its tests, each in a process of its own, and says what failed.
 *
 *     test_x [--filter SUITE/NAME] [--jobs N] [--list] [--times]
 *
 * A filter is a pattern of the shell; as many run at a time as there are cores; --times says how long each kept a processor, and
 * how long the kernel, with all that it started. Exit status: 0 when all that was to be run
 * has passed, and there was something; 1 otherwise. */
#define _DEFAULT_SOURCE /* MAP_ANONYMOUS, wait4() */
#include "check.h"
#include "outcome.h"
#include "../sanitized.h"

#include <fnmatch.h>
#include <setjmp.h>
#include <signal.h>
#include <sys/mman.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

#if SANITIZED
#include <sanitizer/lsan_interface.h>
#endif

#define JOBS_MOST 64

struct check_outcome *check_outcome;

static struct check_test *first_test, **next_test = &first_test;
static struct check_suite *first_suite, **next_suite = &first_suite;

void check_add_test(struct check_test *test)
{
    *next_test = test;
    next_test = &test->next;
}

void check_add_suite(struct check_suite *suite)
{
    *next_suite = suite;
    next_suite = &suite->next;
}

/* A test that is running. */
struct job {
    pid_t process; /* 0: this place is free */
    struct check_outcome *outcome;
    double limit_s, deadline_s; /* 0: none */
};

struct run {
    struct job jobs[JOBS_MOST];
    size_t job_count;
    const char *filter;
    bool list, times;
    size_t tests, passed, failed, skipped;
    sigset_t children, before; /* the signal of a child that has ended, and the mask as it was */
};

static double now_s(void)
{
    struct timespec now;

    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

static double seconds(struct timeval time)
{
    return (double)time.tv_sec + (double)time.tv_usec * 1e-6;
}

static struct check_options suite_options(const char *name)
{
    for (const struct check_suite *suite = first_suite; suite; suite = suite->next)
        if (strcmp(suite->name, name) == 0)
            return suite->options;
    return (struct check_options){ 0 };
}

static void call(void (*function)(void))
{
    if (function)
        function();
}

/* In the test's own process. What it leaves behind is found by the leak checker when the process ends. */
static _Noreturn void run_here(const struct check_test *test, const struct check_options *suite, void *row)
{
    volatile bool begun = false;

    if (setjmp(check_outcome->end) == 0) {
        call(suite->init);
        call(test->options.init);
        begun = true;
        test->run(row);
    }
    if (begun && setjmp(check_outcome->end) == 0) {
        call(test->options.fini);
        call(suite->fini);
    }
    check_outcome->ended = true;
    exit(0);
}

static void start(struct run *run, struct job *job, const struct check_test *test, const struct check_options *suite,
                  void *row)
{
    double limit_s = test->options.timeout > 0.0 ? test->options.timeout : suite->timeout;

    fflush(NULL);
    job->process = fork();
    if (job->process < 0) {
        perror("fork");
        exit(1);
    }
    if (job->process == 0) {
        check_outcome = job->outcome;
        signal(SIGCHLD, SIG_DFL);
        sigprocmask(SIG_SETMASK, &run->before, NULL);
        run_here(test, suite, row);
    }
    job->limit_s = limit_s;
    job->deadline_s = limit_s > 0.0 ? now_s() + limit_s : 0.0;
}

static void count(struct run *run, const struct job *job, int status, bool timed_out)
{
    const struct check_outcome *outcome = job->outcome;
    bool whole = outcome->ended && WIFEXITED(status) && WEXITSTATUS(status) == 0;

    if (timed_out)
        fprintf(stderr, "[FAIL] %s: ended after %g s\n", outcome->name, job->limit_s);
    else if (WIFSIGNALED(status))
        fprintf(stderr, "[FAIL] %s: ended by signal %d (%s)\n", outcome->name, WTERMSIG(status),
                strsignal(WTERMSIG(status)));
    else if (!outcome->ended)
        fprintf(stderr, "[FAIL] %s: left its process with status %d\n", outcome->name, WEXITSTATUS(status));
    else if (!whole)
        fprintf(stderr, "[FAIL] %s: its process ended with status %d\n", outcome->name, WEXITSTATUS(status));
    if (!whole || outcome->failures > 0)
        run->failed++;
    else if (outcome->skipped)
        run->skipped++;
    else
        run->passed++;
}

/* Ends what has run too long; how long the next may still run, at most a minute. */
static double end_late_ones(struct run *run)
{
    double left_s = 60.0, now = now_s();

    for (size_t i = 0; i < run->job_count; i++) {
        struct job *job = &run->jobs[i];
        double own_s = job->deadline_s - now;
        int status;

        if (job->process == 0 || job->deadline_s <= 0.0)
            continue;
        if (own_s > 0.0) {
            left_s = own_s < left_s ? own_s : left_s;
            continue;
        }
        kill(job->process, SIGKILL);
        waitpid(job->process, &status, 0);
        count(run, job, status, true);
        job->process = 0;
    }
    return left_s;
}

/* Counts those that have ended; whether there were any. */
static bool reap(struct run *run)
{
    bool any = false;

    for (size_t i = 0; i < run->job_count; i++) {
        struct job *job = &run->jobs[i];
        struct rusage used;
        int status;

        if (job->process == 0 || wait4(job->process, &status, WNOHANG, &used) != job->process)
            continue;
        if (run->times)
            printf("%8.3f s %8.3f s  %s\n", seconds(used.ru_utime), seconds(used.ru_stime), job->outcome->name);
        count(run, job, status, false);
        job->process = 0;
        any = true;
    }
    return any;
}

static struct job *free_place(struct run *run)
{
    for (size_t i = 0; i < run->job_count; i++)
        if (run->jobs[i].process == 0)
            return &run->jobs[i];
    return NULL;
}

static bool any_running(const struct run *run)
{
    for (size_t i = 0; i < run->job_count; i++)
        if (run->jobs[i].process != 0)
            return true;
    return false;
}

/* Until one has ended. */
static void wait_for_one(struct run *run)
{
    while (!reap(run)) {
        double left_s = end_late_ones(run);
        struct timespec wait = { (time_t)left_s, (long)((left_s - (double)(time_t)left_s) * 1e9) };

        if (!any_running(run))
            return;
        sigtimedwait(&run->children, NULL, &wait);
    }
}

static void run_one(struct run *run, const struct check_test *test, const struct check_options *suite, void *row,
                    size_t number)
{
    struct job *job = free_place(run);

    while (!job) {
        wait_for_one(run);
        job = free_place(run);
    }
    *job->outcome = (struct check_outcome){ 0 };
    snprintf(job->outcome->name, sizeof job->outcome->name, number > 0 ? "%s/%s, row %zu" : "%s/%s", test->suite,
             test->name, number);
    run->tests++;
    start(run, job, test, suite, row);
}

static void run_test(struct run *run, const struct check_test *test)
{
    const struct check_options suite = suite_options(test->suite);
    char name[160];

    snprintf(name, sizeof name, "%s/%s", test->suite, test->name);
    if (run->filter && fnmatch(run->filter, name, 0) != 0)
        return;
    if (run->list) {
        puts(name);
        run->tests++;
        return;
    }
    if (test->options.disabled || suite.disabled) {
        run->tests++;
        run->skipped++;
        return;
    }
    if (!test->rows) {
        run_one(run, test, &suite, NULL, 0);
        return;
    }
    const struct check_rows rows = test->rows();

    for (size_t i = 0; i < rows.length; i++)
        run_one(run, test, &suite, (char *)rows.params + i * rows.bytes, i + 1);
}

static bool read_words(struct run *run, int argc, char **argv)
{
    for (int i = 1; i < argc; i++) {
        if (strcmp(argv[i], "--list") == 0)
            run->list = true;
        else if (strcmp(argv[i], "--times") == 0)
            run->times = true;
        else if (strcmp(argv[i], "--filter") == 0 && i + 1 < argc)
            run->filter = argv[++i];
        else if (strcmp(argv[i], "--jobs") == 0 && i + 1 < argc && atoi(argv[i + 1]) > 0)
            run->job_count = (size_t)atoi(argv[++i]);
        else
            return false;
    }
    return true;
}

/* The places of tests that run, each with memory that both processes see. */
static bool open_places(struct run *run)
{
    struct check_outcome *shared =
        mmap(NULL, JOBS_MOST * sizeof *shared, PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0);

    if (shared == MAP_FAILED)
        return false;
    if (run->job_count > JOBS_MOST)
        run->job_count = JOBS_MOST;
    for (size_t i = 0; i < run->job_count; i++)
        run->jobs[i].outcome = &shared[i];
    return true;
}

/* Each test's process ends with a search of all memory for lost blocks. The sanitizers' own tables are eight megabytes of it:
 * pages that are looked at here need not be fetched from the kernel by each of them. */
static void look_at_all_pages(void)
{
#if SANITIZED
    __lsan_do_recoverable_leak_check();
#endif
}

static void nothing(int signal_number)
{
    (void)signal_number;
}

int main(int argc, char **argv)
{
    long cores = sysconf(_SC_NPROCESSORS_ONLN);
    struct run run = { .job_count = cores > 0 ? (size_t)cores : 1 };

    if (!read_words(&run, argc, argv)) {
        fprintf(stderr, "usage: %s [--filter SUITE/NAME] [--jobs N] [--list] [--times]\n", argv[0]);
        return 1;
    }
    if (!open_places(&run)) {
        perror("mmap");
        return 1;
    }
    sigemptyset(&run.children);
    sigaddset(&run.children, SIGCHLD);
    signal(SIGCHLD, nothing);
    sigprocmask(SIG_BLOCK, &run.children, &run.before);
    look_at_all_pages();
    for (const struct check_test *test = first_test; test; test = test->next)
        run_test(&run, test);
    while (any_running(&run))
        wait_for_one(&run);
    if (!run.list)
        printf("%zu tests: %zu passed, %zu failed, %zu left out\n", run.tests, run.passed, run.failed, run.skipped);
    if (run.tests == 0)
        fprintf(stderr, "there is no such test\n");
    return run.failed > 0 || run.tests == 0;
}
