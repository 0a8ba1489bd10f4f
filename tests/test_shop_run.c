/* test_shop_run.c - guards a run of many blanks as a shop lives through it: corrections that do not bring parts to size on a machine
 * that nobody told of, that lose them when the wheel is dressed, programs of a load that its own job does not prove; a run that was
 * cut off and leaves a half. All are short here; `make thirty-six`, `make four-loads` and `make kills` have the whole. */
#include "check/check.h"
#include <stdio.h>
#include <stdlib.h>
#include <sys/wait.h>

TestSuite(shop_run, .timeout = 600);

static int script(const char *name, const char *argument)
{
    const char *program = getenv("TANGWRIGHT");
    char folder[] = "/tmp/tangwright-test-XXXXXX", command[400];
    int status;

    cr_assert(mkdtemp(folder) != NULL);
    snprintf(command, sizeof command, "/usr/bin/python3 tests/%s.py %s %s/shop %s", name,
             program ? program : "build/release/tangwright", folder, argument);
    status = system(command);
    snprintf(command, sizeof command, "rm -rf %s", folder);
    cr_expect(eq(int, system(command), 0));
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

Test(shop_run, parts_come_to_size_and_stay_there_over_a_dressing)
{
    cr_expect(eq(int, script("run/thirty_six", "short"), 0));
}

Test(shop_run, loads_measured_between_roughing_and_finishing_come_to_size)
{
    cr_expect(eq(int, script("reference/four_loads", "2"), 0));
}

Test(shop_run, a_killed_run_leaves_the_old_plan_or_the_new_one)
{
    cr_expect(eq(int, script("run/kills", "3"), 0));
}
