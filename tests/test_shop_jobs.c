/* test_shop_jobs.c - a short slice (a longer one with TEST_SAMPLES=all) of the jobs that tests/reference/shop_jobs.py makes up; `make random-jobs` runs thousands.
 * Each must be planned and pass its own dry-run, or be refused by one sentence, within its memory. */
#include "sanitized.h"

#include "check/check.h"
#include <stdio.h>
#include <stdlib.h>

static int how_many(void)
{
    return SANITIZED ? 1 : getenv("TEST_SAMPLES") ? 8 : 2;
}

static void run_jobs(int first, const char *kind)
{
    char folder[] = "/tmp/tangwright-jobs-XXXXXX", command[600];
    const char *program = getenv("TANGWRIGHT");

    cr_assert(mkdtemp(folder) != NULL);
    snprintf(command, sizeof command,
             "/usr/bin/python3 tests/reference/shop_jobs.py %s %s %d %d %s untimed > %s/log 2>&1 || { grep FAULT "
             "%s/log; false; }",
             program ? program : "build/release/tangwright", folder, first, how_many(), kind, folder, folder);
    cr_expect(eq(int, system(command), 0));
    snprintf(command, sizeof command, "rm -rf %s", folder);
    cr_expect(eq(int, system(command), 0));
}

Test(shop_jobs, are_planned_and_pass_or_are_refused_with_a_reason)
{
    run_jobs(2, "");
}

Test(shop_jobs, with_a_relief_too)
{
    run_jobs(2, "relief");
}
