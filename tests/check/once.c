/* once.c - with TEST_ONCE=1 the release build leaves out the tests that `make test` runs under the sanitizers: sanitized.h. */
#include "../sanitized.h"
#include "check.h"

static bool runs_under_the_sanitizers_only(const struct criterion_test *test)
{
    return !test->data->description || strcmp(test->data->description, RELEASE_WORDS) != 0;
}

ReportHook(PRE_ALL)(struct criterion_test_set *tests)
{
    if (SANITIZED || !getenv("TEST_ONCE"))
        return;
    FOREACH_SET(struct criterion_suite_set * suite, tests->suites)
    {
        FOREACH_SET(struct criterion_test * test, suite->tests)
        {
            if (runs_under_the_sanitizers_only(test))
                test->data->disabled = true;
        }
    }
}
