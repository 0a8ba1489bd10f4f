/* test_check.c - guards the assertions that all tests are written in, tests/check/check.h: each has to notice what does not hold,
 * and to say so. A false one is asserted in a start of this program by itself. What comes of that is judged without them. */
#include "check/check.h"

#include <math.h>
#include <stdint.h>
#include <unistd.h>

#define ASKED "TEST_ASSERTS_WRONGLY"

/* With ASKED set every line but the last is wrong, and that is not reached. */
Test(check, holds_unless_it_is_asked_to_fail)
{
    bool wrong = getenv(ASKED) != NULL;
    char text[] = "one";

    cr_expect(!wrong);
    cr_expect(not(wrong), "said with %d and %s", 2, "words");
    cr_expect(eq(int, 3, wrong ? 4 : 3));
    cr_expect(ne(int, 3, wrong ? 3 : 4));
    cr_expect(lt(int, 3, wrong ? 3 : 4));
    cr_expect(le(int, 3, wrong ? 2 : 3));
    cr_expect(gt(int, 3, wrong ? 3 : 2));
    cr_expect(ge(int, 3, wrong ? 4 : 3));
    cr_expect(eq(uint, 3000000000u, wrong ? 1u : 3000000000u));
    cr_expect(gt(long, wrong ? -5000000000L : 5000000000L, 0));
    cr_expect(eq(ulong, 1ul << 63, wrong ? 0ul : 1ul << 63));
    cr_expect(lt(sz, wrong ? SIZE_MAX : 1, 2));
    cr_expect(eq(dbl, 0.1, wrong ? nextafter(0.1, 1.0) : 0.1));
    cr_expect(le(dbl, wrong ? (double)NAN : 0.0, 0.0));
    cr_expect(ge(dbl, wrong ? (double)NAN : 0.0, 0.0));
    cr_expect(eq(chr, 'a', wrong ? 'b' : 'a'));
    cr_expect(eq(str, text, wrong ? "other" : "one"));
    cr_expect(eq(str, wrong ? NULL : text, "one"));
    cr_expect(ne(str, text, wrong ? "one" : "other"));
    cr_expect(eq(ptr, text, wrong ? NULL : text));
    cr_expect(epsilon_eq(dbl, 1.0, wrong ? 1.2 : 1.1, 0.15));
    cr_expect(epsilon_eq(dbl, 1.0, wrong ? (double)NAN : 1.1, 0.15));
    cr_expect(epsilon_eq(flt, 1.0f, wrong ? 0.8f : 0.9f, 0.15f));
    if (wrong)
        cr_fail("failed with %d", 1);
    cr_assert(eq(int, 5, wrong ? 6 : 5), "ended with %s", "words");
    cr_expect(!wrong, "is not reached");
}

#define WRONG 25 /* assertions above, but the last */

static void insist(bool holds, const char *what, const char *said)
{
    if (holds)
        return;
    fprintf(stderr, "%s:\n%s\n", what, said);
    abort();
}

static int times(const char *text, const char *words)
{
    int count = 0;

    while ((text = strstr(text, words)) != NULL) {
        text++;
        count++;
    }
    return count;
}

/* Without BXFI_MAP, by which Criterion tells a process that it is one test of another, it is a start like any. */
Test(check, notices_and_tells_all_that_does_not_hold)
{
    static const char *const told[] = { "!wrong",        "said with 2 and words",          "3 is not == 4",
                                        "3 is not != 3", "\"one\" is not == \"other\"",    "is not within 0.15 of 1.2",
                                        "failed with 1", "5 is not == 6: ended with words" };
    static char said[65536];
    char own[512] = "", command[700];
    FILE *pipe;
    size_t got;

    insist(readlink("/proc/self/exe", own, sizeof own - 1) > 0, "where is this program?", own);
    snprintf(command, sizeof command, "env -u BXFI_MAP " ASKED "=1 '%s' --filter check/holds* 2>&1", own);
    pipe = popen(command, "r");
    insist(pipe != NULL, "cannot start", command);
    got = fread(said, 1, sizeof said - 1, pipe);
    said[got] = '\0';
    insist(pclose(pipe) != 0, "ends as if all held", said);
    insist(times(said, "Assertion") == WRONG, "not every one is told", said);
    for (size_t i = 0; i < sizeof told / sizeof *told; i++)
        insist(strstr(said, told[i]) != NULL, told[i], said);
    insist(strstr(said, "is not reached") == NULL, "went on", said);
}
