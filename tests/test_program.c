/* test_program.c - the programs' text in every dialect, and raised. Guards against a wrong axis or sign, a lost decimal, a word
 * too many, and a text that small controllers refuse. What is asked of a text stands in tests/samples/told.h; every sample's
 * is looked at in test_verdict_samples.c, where it is planned. */
#include "samples/told.h"

/* ---- dialects ---- */

/* Every switch thrown one way, and the other. */
static void set_plain(struct tw_machine *machine)
{
    machine->dialect = (struct tw_dialect){ .length_decimals = 3,
                                            .feed_decimals = 0,
                                            .comments = true,
                                            .end_code = 2,
                                            .flood_code = 8,
                                            .mist_code = 7,
                                            .dwell_word = TW_DWELL_X_SECONDS };
}

static void set_ornate(struct tw_machine *machine)
{
    machine->dialect = (struct tw_dialect){ .inch = true,
                                            .length_decimals = 5,
                                            .feed_decimals = 3,
                                            .line_numbers = true,
                                            .line_number_step = 5,
                                            .percent_lines = true,
                                            .comments = true,
                                            .two_digit_codes = true,
                                            .carriage_returns = true,
                                            .cancel_radius = true,
                                            .cancel_length = true,
                                            .cancel_cycles = true,
                                            .select_plane = true,
                                            .path_mode = TW_PATH_EXACT_STOP,
                                            .dwell_word = TW_DWELL_P_MILLISECONDS,
                                            .flood_code = 8,
                                            .mist_code = 7,
                                            .end_code = 30 };
    machine->spindle_counterclockwise = true;
}

static void set_silent(struct tw_machine *machine)
{
    set_plain(machine);
    machine->dialect.comments = false;
}

ParameterizedTestParameters(program, keeps_to_every_dialect)
{
    static int cases[] = { 0, 1, 2 };

    return cr_make_param_array(int, cases, 3);
}

ParameterizedTest(int *dialect, program, keeps_to_every_dialect)
{
    static void (*const set[])(struct tw_machine * machine) = { set_plain, set_ornate, set_silent };
    static const char *const names[] = { "hunter-110", "chef-210", "utility-four", "nakiri-165" };

    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        struct tw_findings findings = { 0 };
        struct tw_job job;
        struct tw_plan plan;
        char path[128], *texts[TW_SETUPS_MOST];

        snprintf(path, sizeof path, "samples/%s/job.cfg", names[i]);
        cr_assert(eq(int, tw_job_read(path, &job, &findings), TW_OK));
        set[*dialect](&job.machine);
        sample_shallow(&job);
        cr_assert(eq(int, tw_plan_make(&job, &plan, &findings), TW_OK));
        for (size_t setup = 0; setup < plan.setup_count; setup++)
            cr_assert(eq(int, tw_program_text(&job, &plan, setup, 0.0, &texts[setup], &findings), TW_OK));
        expect_told(&job, &plan, texts);
        for (size_t setup = 0; setup < plan.setup_count; setup++)
            free(texts[setup]);
        tw_findings_free(&findings);
        tw_plan_free(&plan);
        tw_job_free(&job);
    }
}

Test(program, raised_for_a_run_in_the_air_differs_in_heights_alone_and_says_so)
{
    struct tw_findings findings = { 0 };
    struct sample sample;
    char *lifted = NULL;
    struct tw_text low = { 0 }, high = { 0 };
    char *a, *b;

    sample_open_with(&sample, "hunter-110", sample_shallow);
    cr_assert(eq(int, tw_program_text(&sample.job, &sample.plan, TW_SIDE_A, 10.0, &lifted, &findings), TW_OK));
    cr_expect(strstr(lifted, "CUTS AIR") != NULL);
    read_words(sample.programs[0], &low);
    read_words(lifted, &high);
    for (a = low.data, b = high.data; *a && *b;) {
        struct words x = next_words(&a), y = next_words(&b);

        cr_expect(eq(int, x.motion, y.motion));
        for (int i = 0; i < 3; i++) /* Y is up on this machine */
            cr_expect(isnan(x.axis[i]) ? isnan(y.axis[i]) : fabs(y.axis[i] - x.axis[i] - (i == 1 ? 10.0 : 0.0)) < 1e-9);
    }
    cr_expect(eq(int, *a, 0));
    cr_expect(eq(int, *b, 0));
    tw_text_free(&low);
    tw_text_free(&high);
    free(lifted);
    sample_close(&sample);
}

static void leave_some_for_the_hand(struct tw_job *job)
{
    sample_shallow(job);
    job->finish.allowance_mm = 0.02;
}

/* 0.02 mm of 0.1 mm a face: the ground face begins at a fifth of the length. */
Test(program, an_allowance_is_told_with_where_the_ground_face_begins)
{
    struct sample sample;
    char words[96];

    sample_open_with(&sample, "hunter-110", leave_some_for_the_hand);
    snprintf(words, sizeof words, "(HAND FINISHING 0.020 mm A FACE - GROUND FROM %.1f mm BEHIND THE START",
             sample.job.taper.length_mm / 5.0);
    cr_expect(strstr(sample.programs[0], words) != NULL, "%s", words);
    sample_close(&sample);
}

/* NISTIR 6556 (2000), section 3.3.1: N and one to five digits; a line need not have one. */
Test(program, numbers_of_lines_rise_and_end_before_they_would_stand_twice)
{
    struct tw_findings findings = { 0 };
    struct sample sample;
    struct lines *lines;
    char *text = NULL;
    long last = 0;
    size_t bare = 0, told;

    sample_open_with(&sample, "utility-four", sample_shallow);
    sample.job.machine.dialect.line_numbers = true;
    sample.job.machine.dialect.line_number_step =
        900; /* more than a profile may ask for, so that a short program does */
    cr_assert(eq(int, tw_program_text(&sample.job, &sample.plan, TW_SIDE_A, 0.0, &text, &findings), TW_OK));
    lines = split(text);
    for (size_t i = 0; i < lines->count; i++) {
        if (lines->at[i][0] == 'N') {
            long number = strtol(lines->at[i] + 1, NULL, 10);

            cr_expect(number > last && number <= 99999, "line %zu: %s", i + 1, lines->at[i]);
            cr_expect(eq(sz, bare, 0));
            last = number;
        } else if (last > 0 && lines->at[i][0] != '(' && lines->at[i][0] != '%') {
            bare++;
        }
    }
    cr_expect(gt(sz, bare, 100));
    cr_expect(eq(int, last, 99900));
    told = find_line(lines, 0, "^\\(LINE NUMBERS END HERE");
    cr_assert(lt(sz, told, lines->count));
    cr_expect(eq(int, strtol(lines->at[told - 1] + 1, NULL, 10), 99900));
    cr_expect(eq(sz, find_line(lines, told + 1, "^\\(LINE NUMBERS"), lines->count));
    free_lines(lines);
    free(text);
    sample_close(&sample);
}

/* Half of the taper, 0.058 in over 4.170 in, is the slope of a face: 5 sin(atan(0.029 / 4.170)) = 0.03477 in, by hand. */
Test(program, a_machine_in_inches_is_told_inches)
{
    struct sample sample;

    sample_read(&sample, "petty-130");
    cr_expect(strstr(sample.programs[0], "(RICASSO 0.1200 in, BUTT 0.0620 in OVER 4.1700 in)") != NULL);
    cr_expect(strstr(sample.programs[0], "BUTT END RAISED 0.03477 in OVER 5.000 in") != NULL);
    cr_expect(strstr(sample.programs[0], " IN/MIN, EST. ") != NULL);
    cr_expect(strstr(sample.programs[0], " MM/S") == NULL);
    sample_close(&sample);
}
