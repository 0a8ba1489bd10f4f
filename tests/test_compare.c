/* test_compare.c - guards `compare`: a variant that is not what a job file with the same text plans, a comma that parts what
 * belongs together, a fault that is not said with the variant it is of, and a job that is changed by being compared. */
#include "base/text.h"
#include "tangwright/compare.h"
#include "tangwright/proven.h"
#include "tangwright/report.h"
#include "sanitized.h"

#include "check/check.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define JOB "samples/hunter-110/job.cfg"

static struct tw_comparison compared(const char *const words[], size_t count, enum tw_status wanted, char *said)
{
    struct tw_findings findings = { 0 };
    struct tw_comparison comparison;
    enum tw_status status = tw_comparison_make(JOB, words, count, &comparison, &findings);

    cr_expect(eq(int, status, wanted));
    if (said)
        snprintf(said, 400, "%s", findings.count > 0 ? findings.items[0].text : "");
    tw_findings_free(&findings);
    return comparison;
}

/* Whole plans, which the sanitizers see in other tests and take two minutes for. */

/* The same text with an editor: in a folder of its own that holds what the job names. */
static enum tw_status read_edited(const char *sed, struct tw_job *job, struct tw_findings *findings)
{
    char folder[] = "/tmp/tangwright-test-XXXXXX", command[512], path[128];
    enum tw_status status;

    cr_assert(mkdtemp(folder) != NULL);
    snprintf(command, sizeof command,
             "mkdir %s/samples && cp -r samples/hunter-110 %s/samples && cp -r profiles %s && "
             "sed -i '%s' %s/" JOB " && ! cmp -s " JOB " %s/" JOB,
             folder, folder, folder, sed, folder, folder);
    cr_assert(eq(int, system(command), 0), "the text must be there to be changed");
    snprintf(path, sizeof path, "%s/" JOB, folder);
    status = tw_job_read(path, job, findings);
    snprintf(command, sizeof command, "rm -rf %s", folder);
    cr_expect(eq(int, system(command), 0));
    return status;
}

/* A variant is the job with the same words in its file. One that no cut can keep says why, and the others stand. */
Test(compare, a_variant_is_what_the_edited_file_plans, ONLY_IN_RELEASE)
{
    const char *words[] = { "taper.butt_thickness=2.1 mm, 2.10 mm", "longest_time=4 h, 6 min" };
    char said[400];
    struct tw_comparison comparison = compared(words, 2, TW_OK, said);
    struct tw_findings findings = { 0 };
    struct tw_proven proven;
    struct tw_job job;

    cr_assert(
        eq(int, read_edited("s/butt_thickness *= *\"[^\"]*\"/butt_thickness = \"2.1 mm\"/", &job, &findings), TW_OK));
    cr_assert(eq(int, tw_proven_make(&job, &proven, &findings), TW_OK));
    cr_assert(eq(sz, comparison.count, 3));
    cr_expect(strstr(said, "taper.butt_thickness = 2.10 mm, longest_time = 4 h is the same as variant 2") != NULL, "%s",
              said);
    cr_expect(eq(int, comparison.variants[1].pass_count, proven.plan.pass_count));
    cr_expect(eq(dbl, comparison.variants[1].cycle_time_s, proven.plan.cycle_time_s));
    cr_expect(eq(dbl, comparison.variants[1].removed_g, proven.plan.removed_g));
    cr_expect(ne(dbl, comparison.variants[0].removed_g, comparison.variants[1].removed_g));
    cr_assert(comparison.variants[2].refusal != NULL);
    cr_expect(strstr(comparison.variants[2].refusal, "longest_time") != NULL, "%s", comparison.variants[2].refusal);
    tw_proven_free(&proven);
    tw_job_free(&job);
    tw_findings_free(&findings);
    tw_comparison_free(&comparison);
}

Test(compare, what_is_no_key_or_value_is_refused_with_its_variant)
{
    static const struct {
        const char *words[2];
        size_t count;
        enum tw_status status;
        const char *start;
    } cases[] = {
        { { "taper.butt_thickness" }, 1, TW_BAD_USAGE, "taper.butt_thickness is no KEY=VALUE" },
        { { "=2 mm" }, 1, TW_BAD_USAGE, "=2 mm is no KEY=VALUE" },
        { { "taper.butt_thickness=" }, 1, TW_BAD_USAGE, "taper.butt_thickness= has an empty value" },
        { { "taper.butt_thickness=2 mm,,2.1 mm" }, 1, TW_BAD_USAGE, "taper.butt_thickness=2 mm,,2.1 mm has an empty" },
        { { "taper.butt_thickness=1,2,3,4,5,6" }, 1, TW_BAD_USAGE, "6 variants stand side by side" },
        { { "finish.layers=1,2,3", "finish.spark_out=1,2" }, 2, TW_BAD_USAGE, "6 variants stand side by side" },
        { { "taper.butt_thickness=2 mm", "taper.butt_thickness=1.8 mm" },
          2,
          TW_BAD_USAGE,
          "taper.butt_thickness is named twice; give all its values at once: taper.butt_thickness=\"2 mm,1.8 mm\"" },
        { { "taper.butt_thickness=1,7 mm" },
          1,
          TW_BAD_USAGE,
          "taper.butt_thickness=1,7 mm: commas part values, and decimals stand behind a point: write "
          "taper.butt_thickness=\"1.7 mm\"" },
        { { "taper.but=2 mm" }, 1, TW_BAD_INPUT, "with taper.but = 2 mm the job is not sound:" },
        { { "mount.x=1" }, 1, TW_BAD_INPUT, "with mount.x = 1 the job is not sound:" },
        { { "taper.=1" }, 1, TW_BAD_INPUT, "with taper. = 1 the job is not sound:" },
        { { "wheel=none" }, 1, TW_BAD_INPUT, "with wheel = none the job is not sound:" },
        { { "taper.butt thickness=1" }, 1, TW_BAD_INPUT, "with taper.butt thickness = 1 the job is not sound:" },
    };

    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char said[400];
        struct tw_comparison comparison = compared(cases[i].words, cases[i].count, cases[i].status, said);

        cr_expect(strncmp(said, cases[i].start, strlen(cases[i].start)) == 0, "%s", said);
        cr_expect(eq(sz, comparison.count, 0));
        tw_comparison_free(&comparison);
    }
}

/* 1.8 * 200 + 32 = 392 degF; an ounce of 28.349523125 g (international pound of 1959); 25.4 mm. */
Test(compare, a_machine_in_inches_is_answered_in_inches)
{
    struct tw_comparison comparison = { .count = 1, .inches = true };
    struct tw_variant *variant = &comparison.variants[0];
    char *table = NULL;

    *variant = (struct tw_variant){ .parts = 1,
                                    .cycle_time_s = 60.0,
                                    .peak_degC = 200.0,
                                    .reserve_degC = 250.0,
                                    .allowed_degC = 300.0,
                                    .removed_g = 28.349523125,
                                    .weighed = true,
                                    .knife_g = 4.0 * 28.349523125,
                                    .balance_mm = -50.8 };
    cr_assert(eq(int, tw_comparison_table("job.cfg", &comparison, &table, NULL), TW_OK));
    cr_expect(strstr(table, " 392 degF\n") && strstr(table, " 482 of 572\n") && strstr(table, " 1.000 oz\n") &&
                  strstr(table, " 4.00 oz\n") && strstr(table, " 2.000 in ahead\n"),
              "%s", table);
    cr_expect(strstr(table, "degC") == NULL && !strstr(table, " mm") && !strstr(table, " g\n"), "%s", table);
    free(table);
}

/* A value of more than one piece stays whole, as the words about it show. */
Test(compare, commas_in_brackets_and_quotes_part_no_values)
{
    const char *brackets[] = { "outline.taper_start=[\"1 mm\", \"2 furlongs\"]" };
    const char *quotes[] = { "name=\"one, two\", three", "taper.but=1" };
    char said[400];
    struct tw_comparison comparison = compared(brackets, 1, TW_BAD_INPUT, said);

    cr_expect(strstr(said, "with outline.taper_start = [\"1 mm\", \"2 furlongs\"] the") != NULL, "%s", said);
    tw_comparison_free(&comparison);
    comparison = compared(quotes, 2, TW_BAD_INPUT, said);
    cr_expect(strstr(said, "with name = \"one, two\", taper.but = 1 the") != NULL, "%s", said);
    tw_comparison_free(&comparison);
}
