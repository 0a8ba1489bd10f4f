/* test_survey.c - guards against a survey that is read otherwise than it was written: wrong units, wrong columns, rows
 * lost, and against a fault that is not named. */
#include "base/text.h"
#include "tangwright/survey.h"

#include "check/check.h"
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static void expect_text(const char *got, const char *wanted)
{
    cr_expect(got && strcmp(got, wanted) == 0, "said   %s\nwanted %s", got ? got : "nothing", wanted);
}

static enum tw_status read_text(const char *text, size_t length, struct tw_survey *survey, struct tw_findings *findings,
                                char path[64])
{
    enum tw_status status;
    FILE *stream;

    strcpy(path, "/tmp/tangwright-survey-XXXXXX");
    close(mkstemp(path));
    stream = fopen(path, "wb");
    fwrite(text, 1, length, stream);
    fclose(stream);
    status = tw_survey_read(path, survey, findings);
    unlink(path);
    return status;
}

static struct tw_survey read_sound(const char *text)
{
    struct tw_survey survey = { .resolution_mm = 0.01 };
    struct tw_findings findings = { 0 };
    char path[64];

    cr_assert(eq(int, read_text(text, strlen(text), &survey, &findings, path), TW_OK), "%s",
              findings.count ? findings.items[0].text : "");
    cr_expect(eq(sz, findings.count, 0));
    tw_findings_free(&findings);
    return survey;
}

static void expect_row(const struct tw_survey *survey, size_t i, double x_mm, double y_mm, double a_mm, double b_mm)
{
    cr_assert(lt(sz, i, survey->count));
    cr_expect(epsilon_eq(dbl, survey->rows[i].x_mm, x_mm, 1e-12));
    cr_expect(epsilon_eq(dbl, survey->rows[i].y_mm, y_mm, 1e-12));
    cr_expect(epsilon_eq(dbl, survey->rows[i].a_mm, a_mm, 1e-12));
    cr_expect(epsilon_eq(dbl, survey->rows[i].b_mm, b_mm, 1e-12));
}

Test(survey, plain_heights_arrive_sorted_along_the_tang)
{
    struct tw_survey survey = read_sound("x [mm], a [mm], b [mm]\n60, 0.3, -0.3\n-10, 0, 0.01\n-20, 0, 0\n"
                                         "20, 0.1, -0.1\n40, .2, -.2\n");

    cr_assert(eq(sz, survey.count, 5));
    cr_expect(not(survey.across));
    cr_expect(not(survey.thickness_known));
    expect_row(&survey, 0, -20, 0, 0, 0);
    expect_row(&survey, 1, -10, 0, 0, 0.01);
    expect_row(&survey, 4, 60, 0, 0.3, -0.3);
    cr_expect(eq(int, survey.rows[4].line, 2));
    tw_survey_free(&survey);
    cr_expect(eq(sz, survey.count, 0));
}

Test(survey, mark_comments_blank_lines_tabs_and_carriage_returns_do_not_matter)
{
    struct tw_survey survey =
        read_sound("\xEF\xBB\xBF# gyuto, blank 3\r\n\r\nx [mm]\ta [mm]\tb [mm] # zeroed on the pad\r\n"
                   "-20\t0\t0\r\n  \r\n-10\t0\t0\r\n10\t1\t2\r\n20\t1\t2\r\n30\t1.5\t2 # butt");

    cr_assert(eq(sz, survey.count, 5));
    expect_row(&survey, 4, 30, 0, 1.5, 2);
    tw_survey_free(&survey);
}

Test(survey, units_stand_in_the_heading_or_in_the_cell)
{
    /* 1 in = 25.4 mm: international yard and pound agreement of 1959. */
    struct tw_survey survey = read_sound("x (in); a [thou]; b\n-1; 0; 0 mm\n-0.5; 0; 0 mm\n1; 5; 10 um\n2; 5; 0.1 in\n"
                                         "3; \"0.2 mm\"; 1/8 in\n");

    expect_row(&survey, 2, 25.4, 0, 0.127, 0.01);
    expect_row(&survey, 3, 50.8, 0, 0.127, 2.54);
    expect_row(&survey, 4, 76.2, 0, 0.2, 3.175);
    tw_survey_free(&survey);
}

Test(survey, thickness_and_bow_become_two_heights)
{
    struct tw_survey survey =
        read_sound("bow [mm], x [mm], thickness [mm]\n0, -20, 3\n0, -10, 3\n0.1, 10, 3\n0.2, 20, 3.02\n"
                   "0.3, 30, 3\n");

    cr_expect(survey.thickness_known);
    expect_row(&survey, 0, -20, 0, 1.5, 1.5);
    expect_row(&survey, 3, 20, 0, 1.51 + 0.2, 1.51 - 0.2); /* half the thickness, and the bow outwards on A */
    tw_survey_free(&survey);
}

Test(survey, readings_across_are_kept_apart)
{
    struct tw_survey survey = read_sound("x [mm], y [mm], a [mm], b [mm]\n-10, 8, 0, 0\n-10, -8, 0, 0\n-20, 0, 0, 0\n"
                                         "10, 8, 0.1, 0\n10, -8, 0.2, 0\n20, 0, 0, 0\n30, 0, 0, 0\n");

    cr_assert(eq(sz, survey.count, 7));
    cr_expect(survey.across);
    expect_row(&survey, 1, -10, -8, 0, 0);
    expect_row(&survey, 3, 10, -8, 0.2, 0);
    expect_row(&survey, 4, 10, 8, 0.1, 0);
    tw_survey_free(&survey);
}

Test(survey, one_place_on_the_ricasso_is_enough_where_the_plate_is_the_reference)
{
    const char *text = "x [mm], a [mm], b [mm]\n-10, 0, 0\n10, 0, 0\n20, 0, 0\n30, 0, 0\n";
    struct tw_survey survey = { .resolution_mm = 0.01, .reference = TW_REFERENCE_PLATE };
    char path[64];

    cr_expect(eq(int, read_text(text, strlen(text), &survey, NULL, path), TW_OK));
    cr_expect(eq(sz, survey.count, 4));
    cr_expect(eq(str, survey.path, path));
    tw_survey_free(&survey);
}

/* ---- wrong ones ---- */

struct wrong {
    const char *text;
    const char *said;
};

static const struct wrong wrongs[] = {
#include "straight/wrong_surveys.inc"
};

Test(survey, each_wrong_table_is_named_line_by_line)
{
    for (size_t i = 0; i < sizeof wrongs / sizeof *wrongs; i++) {
        struct tw_survey survey = { .resolution_mm = 0.01 };
        struct tw_findings findings = { 0 };
        struct tw_text said = { 0 };
        char path[64];

        cr_expect(eq(int, read_text(wrongs[i].text, strlen(wrongs[i].text), &survey, &findings, path), TW_BAD_INPUT),
                  "%s", wrongs[i].text);
        for (size_t k = 0; k < findings.count; k++)
            tw_text_print(&said, "%s\n", findings.items[k].text + strlen(path));
        cr_expect(said.data && strncmp(findings.items[0].text, path, strlen(path)) == 0 &&
                      strcmp(said.data, wrongs[i].said) == 0,
                  "%s\nsaid   %s\nwanted %s", wrongs[i].text, said.data ? said.data : "nothing", wrongs[i].said);
        cr_expect(eq(sz, survey.count, 0));
        cr_expect(survey.rows == NULL);
        tw_text_free(&said);
        tw_findings_free(&findings);
        tw_survey_free(&survey);
    }
}

Test(survey, a_missing_file_is_a_failure_to_read_and_older_rows_go)
{
    struct tw_survey survey = read_sound("x [mm], a [mm], b [mm]\n-20, 0, 0\n-10, 0, 0\n1, 0, 0\n2, 0, 0\n3, 0, 0\n");
    struct tw_findings findings = { 0 };

    cr_expect(eq(int, tw_survey_read("no-such-survey.csv", &survey, &findings), TW_IO));
    expect_text(findings.items[0].text, "no-such-survey.csv: cannot be opened: No such file or directory");
    cr_expect(eq(sz, survey.count, 0));
    tw_findings_free(&findings);
    tw_survey_free(&survey);
}

Test(survey, more_rows_than_anybody_measures_are_refused)
{
    struct tw_text text = { 0 };
    struct tw_survey survey = { .resolution_mm = 0.01 };
    struct tw_findings findings = { 0 };
    char path[64];

    tw_text_print(&text, "x [um], a [mm], b [mm]\n");
    for (int i = 0; i <= TW_SURVEY_ROWS_MOST; i++)
        tw_text_print(&text, "%d, 0, 0\n", 100 * i - 1000);
    cr_expect(eq(int, read_text(text.data, text.length, &survey, &findings, path), TW_BAD_INPUT));
    cr_assert(eq(sz, findings.count, 1));
    expect_text(strchr(findings.items[0].text, ':'),
                ":2002: more than 2000 rows; a survey needs a place every few millimetres");
    tw_text_free(&text);
    tw_findings_free(&findings);
    tw_survey_free(&survey);
}

/* Any bytes at all end in a status and, unless sound, in a finding. */
Test(survey, random_bytes_and_damaged_tables_never_break_the_reader)
{
    static const char sound[] =
        "x [mm], y [mm], a [mm], b [mm]\n-20, 0, 0, 0\n-10, 0, \"0 mm\", 0\n10, 1, 2, 3\n20, 1, 2, 3\n"
        "30, 1, 2 mm, 3\n";
    unsigned state = 12345;

    for (int trial = 0; trial < 3000; trial++) {
        char text[sizeof sound];
        struct tw_survey survey = { .resolution_mm = 0.01 };
        struct tw_findings findings = { 0 };
        char path[64];
        enum tw_status status;

        memcpy(text, sound, sizeof sound);
        for (int k = 0; k < 1 + trial % 8; k++) {
            state = state * 1664525u + 1013904223u;
            text[(state >> 8) % (sizeof sound - 1)] = (char)(state >> 24);
        }
        status = read_text(text, sizeof sound - 1, &survey, &findings, path);
        cr_assert(eq(int, status == TW_OK, findings.count == 0));
        cr_assert(le(sz, survey.count, status == TW_OK ? TW_SURVEY_ROWS_MOST : 0));
        tw_findings_free(&findings);
        tw_survey_free(&survey);
    }
}
