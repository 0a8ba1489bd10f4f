/* test_check.c - guards against a fault that the tests' own runner does not notice: a test that failed, crashed, left early,
 * hung or lost memory must be named, and the program must fail; and no test may see what another did. */
#include "check/check.h"
#include "sanitized.h"

#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

/* ---- tests that must fail, which run only where the tests below start this program once more ---- */

#define FAULTS "CHECK_FAULTS"

static bool faults_wanted(void)
{
    return getenv(FAULTS) != NULL;
}

static void only_if_wanted(void)
{
    if (!faults_wanted())
        cr_skip_test("fails on purpose");
}

static void say_done(void)
{
    puts("fini has run");
}

TestSuite(faulty, .init = only_if_wanted, .timeout = 60);

Test(faulty, numbers_differ)
{
    cr_expect(eq(int, 1 + 1, 3), "after %s", "counting");
    puts("an expectation goes on");
}

Test(faulty, not_near)
{
    cr_expect(epsilon_eq(dbl, 1.0, 1.5, 0.25));
}

Test(faulty, asserts, .fini = say_done)
{
    cr_assert(eq(str, "one", "two"));
    puts("an assertion goes on");
}

Test(faulty, crashes)
{
    raise(SIGKILL);
}

Test(faulty, aborts)
{
    abort();
}

Test(faulty, leaves_early)
{
    exit(0);
}

Test(faulty, hangs, .timeout = 0.2)
{
    for (;;)
        pause();
}

Test(faulty, loses_memory, .disabled = !SANITIZED)
{
    void *volatile block = malloc(100);

    block = NULL;
    cr_expect(block == NULL);
}

Test(faulty, reads_past_the_end, .disabled = !SANITIZED)
{
    char *volatile block = malloc(1);

    cr_expect(block[1] == 0);
    free(block);
}

static bool first_row_has_run;

ParameterizedTestParameters(faulty, second_row)
{
    static int rows[] = { 1, 2, 3 };

    return cr_make_param_array(int, rows, sizeof rows / sizeof *rows);
}

ParameterizedTest(int *row, faulty, second_row)
{
    cr_expect(ne(int, *row, 2));
    cr_expect(not(first_row_has_run), "a row sees what another did");
    first_row_has_run = true;
}

Test(faulty, none)
{
    cr_expect(eq(dbl, 0.0, -0.0));
}

Test(faulty, disabled, .disabled = true)
{
    cr_fatal("run though it is disabled");
}

/* ---- what the runner says of them ---- */

/* This program once more, with these words; all that it says. Returns its exit status. */
static int run_faults(const char *words, char *said, size_t room)
{
    char program[4096], command[8192];
    ssize_t length = readlink("/proc/self/exe", program, sizeof program - 1);
    FILE *pipe;
    size_t got;
    int status;

    cr_assert(length > 0);
    program[length] = '\0';
    snprintf(command, sizeof command, FAULTS "=1 '%s' %s 2>&1", program, words);
    pipe = popen(command, "r");
    cr_assert(pipe != NULL);
    got = fread(said, 1, room - 1, pipe);
    said[got] = '\0';
    status = pclose(pipe);
    cr_assert(WIFEXITED(status));
    return WEXITSTATUS(status);
}

static void expect_said(const char *said, const char *wanted)
{
    cr_expect(strstr(said, wanted) != NULL, "\"%s\" is missing in:\n%s", wanted, said);
}

Test(check, names_each_fault_and_fails)
{
    static char said[65536];
    int status = run_faults("--filter 'faulty/*' --jobs 3", said, sizeof said);

    cr_expect(eq(int, status, 1));
    expect_said(said, "[FAIL] faulty/numbers_differ: tests/test_check.c:");
    expect_said(said, "eq(int, 1 + 1, 3), \"after %s\", \"counting\": 2 and 3\n    after counting\n");
    expect_said(said, "an expectation goes on\n");
    expect_said(said, "[FAIL] faulty/not_near: tests/test_check.c:");
    expect_said(said, ": 1 and 1.5, 0.5 apart, 0.25 allowed\n");
    expect_said(said, "[FAIL] faulty/asserts: tests/test_check.c:");
    expect_said(said, ":\n    \"one\"\n    \"two\"\n");
    cr_expect(strstr(said, "an assertion goes on") == NULL);
    expect_said(said, "fini has run\n");
    expect_said(said, "[FAIL] faulty/crashes: ended by signal 9 ");
    expect_said(said, "[FAIL] faulty/aborts: ");
    expect_said(said, "[FAIL] faulty/leaves_early: left its process with status 0\n");
    expect_said(said, "[FAIL] faulty/hangs: ended after 0.2 s\n");
    expect_said(said, "[FAIL] faulty/second_row, row 2: tests/test_check.c:");
    cr_expect(strstr(said, "row 1") == NULL && strstr(said, "row 3") == NULL, "%s", said);
    cr_expect(strstr(said, "faulty/none") == NULL && strstr(said, "though it is disabled") == NULL, "%s", said);
    if (SANITIZED) {
        expect_said(said, "[FAIL] faulty/loses_memory: its process ended with status ");
        expect_said(said, "detected memory leaks");
        expect_said(said, "[FAIL] faulty/reads_past_the_end: left its process with status ");
    }
    expect_said(said, SANITIZED ? "14 tests: 3 passed, 10 failed, 1 left out\n"
                                : "14 tests: 3 passed, 8 failed, 3 left out\n");
}

Test(check, passes_where_all_have_passed)
{
    static char said[4096];

    cr_expect(eq(int, run_faults("--filter faulty/none", said, sizeof said), 0));
    expect_said(said, "1 tests: 1 passed, 0 failed, 0 left out\n");
}

Test(check, fails_where_nothing_was_run)
{
    static char said[4096];

    cr_expect(eq(int, run_faults("--filter nobody/nothing", said, sizeof said), 1));
    expect_said(said, "there is no such test\n");
    cr_expect(eq(int, run_faults("--fitler faulty/none", said, sizeof said), 1));
    expect_said(said, "usage: ");
}

Test(check, relations_hold_as_in_C)
{
    double none = strtod("nan", NULL);

    cr_expect(lt(int, -1, 0) && le(int, 0, 0) && gt(long, 1, 0) && ge(sz, 0, 0) && ne(chr, 'a', 'b'));
    cr_expect(not(lt(int, 0, 0)) && not(gt(int, 0, 0)) && not(le(int, 1, 0)) && not(ge(int, 0, 1)) &&
              not(ne(int, 1, 1)));
    cr_expect(not(eq(dbl, none, none)) && ne(dbl, none, none) && not(lt(dbl, none, 1.0)) && not(ge(dbl, none, 1.0)));
    cr_expect(not(epsilon_eq(dbl, none, 1.0, 1.0)) && epsilon_eq(dbl, 1.0, 1.25, 0.25) &&
              not(epsilon_eq(dbl, 1.0, 1.5, 0.25)));
    cr_expect(eq(sz, (size_t)-1, (size_t)-1) && gt(sz, (size_t)-1, 1), "not as signed numbers");
    cr_expect(eq(str, "a", "a") && lt(str, "a", "b") && ne(str, "a", NULL) && eq(ptr, NULL, NULL));
}
