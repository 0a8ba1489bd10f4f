/* test_rs274_program.c - whole programs, and how a run is begun, watched, stopped and explained. */
#include "base/file.h"
#include "rs274/recorder.h"

#include <stdlib.h>

#define PI 3.14159265358979323846

static const struct tw_rs274_event *motion_on(const struct record *record, int block_number)
{
    for (int i = 0; i < record->count; i++)
        if (record->events[i].block_number == block_number && is_motion(&record->events[i]))
            return &record->events[i];
    cr_assert(false, "block %d moves nothing", block_number);
    return NULL;
}

static const struct record *run_tag(void)
{
    static struct record record;
    struct tw_rs274_setup setup = { .tool_slots = 1, .origins_mm = { { 100.0, 50.0, -80.0 } } };
    struct tw_text text = { 0 };

    cr_assert(eq(int, tw_file_read("tests/rs274/tag.nc", &text, NULL), TW_OK),
              "run the tests from the project's folder");
    record_bytes(&record, &setup, text.data, text.length);
    tw_text_free(&text);
    cr_assert(eq(int, record.status, TW_OK), "%s", record.findings.count ? record.findings.items[0].text : "");
    return &record;
}

static void expect_turn(const struct record *record, int block_number, double radius_mm, double degrees)
{
    const struct tw_rs274_event *arc = motion_on(record, block_number);

    cr_expect(eq(int, arc->kind, TW_RS274_ARC));
    cr_expect(epsilon_eq(dbl, arc->arc.start_radius_mm, radius_mm, 1e-9), "block %d", block_number);
    cr_expect(epsilon_eq(dbl, arc->arc.end_radius_mm, radius_mm, 1e-9), "block %d", block_number);
    cr_expect(epsilon_eq(dbl, arc->arc.sweep_rad * 180.0 / PI, degrees, 1e-7), "block %d", block_number);
}

/* Radii, turns and middles are those the drawing of the tag was made from. */
Test(rs274_program, the_arcs_of_a_tag)
{
    const struct record *r = run_tag();
    double middle[3];

    expect_turn(r, 120, 5, 90);
    expect_turn(r, 140, 5, 90);
    expect_turn(r, 160, 5, 90);
    expect_turn(r, 180, 5, 90);
    EXPECT_POINT(motion_on(r, 160)->arc.centre_mm, 5, 15, -0.2, 1e-9);
    EXPECT_POINT(motion_on(r, 180)->arc.centre_mm, 5, 5, -0.2, 1e-9);
    expect_turn(r, 220, 2, -360);
    EXPECT_POINT(motion_on(r, 220)->arc.centre_machine_mm, 106, 64, -80.2, 1e-9);
    expect_turn(r, 260, 3, 270);
    expect_turn(r, 300, 3, 180);
    tw_rs274_point(motion_on(r, 300), 0.5, middle, NULL);
    EXPECT_POINT(middle, 28, 5, 2.8, 1e-9);
    expect_turn(r, 340, 1.5, -360);
    expect_turn(r, 350, 1.5, -360);
    tw_rs274_point(motion_on(r, 350), 0.5, middle, NULL);
    EXPECT_POINT(middle, 34, 13, 1 - 0.45, 1e-9);
    EXPECT_POINT(r->result.machine_mm, 134, 60, 0, 1e-9);
}

/* By hand. At F60: 1.2 mm down. At F300: frame 2 (30 + 10) + 2 pi 5, eyelet 2 pi 2, hook 1.5 pi 3, bow pi 3,
 * ramp 2 sqrt((2 pi 1.5)^2 + 0.3^2), and down three times 1.2. */
Test(rs274_program, the_feed_time_of_a_tag)
{
    const struct record *r = run_tag();
    double ramp = 2.0 * sqrt(9.0 * PI * PI + 0.09);
    double at_300 = 80.0 + 10.0 * PI + 4.0 * PI + 4.5 * PI + 3.0 * PI + ramp + 3.6;
    double feed_s = 0.0, dwell_s = 0.0;

    for (int i = 0; i < r->count; i++) {
        feed_s += r->events[i].duration_s;
        dwell_s += r->events[i].dwell_s;
    }
    cr_expect(epsilon_eq(dbl, feed_s, 1.2 / 1.0 + at_300 / 5.0, 1e-9));
    cr_expect(eq(dbl, dwell_s, 2.0));
}

/* What the controller has switched is told with every motion. */
Test(rs274_program, the_modes_of_a_tag)
{
    const struct record *r = run_tag();

    for (int i = 0; i < r->count; i++) {
        const struct tw_rs274_event *event = &r->events[i];

        if (event->kind != TW_RS274_FEED && event->kind != TW_RS274_ARC)
            continue;
        cr_expect(eq(int, event->modes.spindle, TW_RS274_SPINDLE_CLOCKWISE));
        cr_expect(eq(dbl, event->modes.spindle_rpm, 9000.0));
        cr_expect(event->modes.flood);
        cr_expect(not(event->modes.mist));
        cr_expect(eq(int, event->modes.path, TW_RS274_PATH_EXACT));
        cr_expect(eq(int, event->modes.tool, 1));
    }
    cr_expect(eq(int, event_of(r, TW_RS274_END, 0)->line, 46));
    cr_expect(eq(int, event_of(r, TW_RS274_END, 0)->modes.spindle, TW_RS274_SPINDLE_OFF));
}

/* Every motion begins where the one before it ended. */
Test(rs274_program, the_path_of_a_tag_has_no_gaps)
{
    const struct record *r = run_tag();
    double at[3] = { 0, 0, 0 };

    for (int i = 0; i < r->count; i++) {
        EXPECT_POINT(r->events[i].start_machine_mm, at[0], at[1], at[2], 0.0);
        memcpy(at, r->events[i].end_machine_mm, sizeof at);
    }
}

/* The report, section 1.3.1 and appendix D.8.4: a line that is refused changes nothing. Here the fault is
 * found in the last of its steps, after the spindle and the work system would have been switched. */
Test(rs274_program, a_refused_line_changes_nothing)
{
    const struct record *r = run_text(start_setup(), "F100 M3 S100|G55 M5 M8 S7 G2 X10 I4");

    cr_expect(eq(int, r->result.error, TW_RS274_ARC_RADIUS_MISMATCH));
    cr_expect(eq(int, r->result.error_line, 2));
    cr_expect(eq(int, r->count, 3));
    cr_expect(eq(int, r->result.modes.spindle, TW_RS274_SPINDLE_CLOCKWISE));
    cr_expect(eq(dbl, r->result.modes.spindle_rpm, 100.0));
    cr_expect(eq(int, r->result.modes.work_system, 1));
    cr_expect(not(r->result.modes.flood));
    EXPECT_POINT(r->result.machine_mm, 0, 0, 0, 0.0);
}

/* The finding says where, what was seen and what is allowed. */
Test(rs274_program, a_finding_is_one_sentence_with_its_line)
{
    struct tw_rs274_setup setup = start_setup();
    const struct record *r;

    setup.name = "side-a.nc";
    r = run_text(setup, "G0 X1||G0 X1 X2");
    cr_assert(eq(sz, r->findings.count, 1));
    cr_expect(eq(int,
                 strcmp(r->findings.items[0].text, "side-a.nc:3: X stands twice on this line, as 1 and 2; each "
                                                   "letter but G and M may stand once"),
                 0));
    cr_expect(eq(int, r->findings.items[0].line, 3));
    r = run_text(start_setup(), "G0 X1 ; c");
    cr_expect(
        eq(int, strncmp(r->findings.items[0].text, "program:1: column 7: character ';' cannot stand here", 51), 0));
}

Test(rs274_program, reading_goes_on_after_a_fault_when_asked)
{
    struct tw_rs274_setup setup = start_setup();
    const struct record *r;

    setup.most_faults = 3;
    r = run_text(setup, "G0 X1|G5|G0 X2|G0 X3 X3|M10|M11|M12");
    cr_expect(eq(int, r->status, TW_BAD_INPUT));
    cr_expect(eq(int, r->result.error, TW_RS274_UNKNOWN_CODE));
    cr_expect(eq(int, r->result.error_line, 2));
    cr_assert(eq(sz, r->findings.count, 3));
    cr_expect(eq(int, r->findings.items[1].line, 4));
    cr_expect(eq(int, r->findings.items[2].line, 5));
    cr_expect(eq(int, motions_in(r), 1));
    r = run_text(setup, "G5|M2|what follows the end is not read");
    cr_expect(eq(sz, r->findings.count, 1));
}

static enum tw_status stop_at_the_second(const struct tw_rs274_event *event, void *context)
{
    (void)event;
    return ++*(int *)context == 2 ? TW_DO_NOT_CUT : TW_OK;
}

Test(rs274_program, the_sink_can_stop_the_run)
{
    static const char text[] = "G0 X1\nX2\nX3\nM2\n";
    struct tw_rs274_setup setup = start_setup();
    struct tw_rs274_result result;
    int calls = 0;

    cr_expect(
        eq(int, tw_rs274_run(text, strlen(text), &setup, stop_at_the_second, &calls, &result, NULL), TW_DO_NOT_CUT));
    cr_expect(eq(int, calls, 2));
    cr_expect(eq(int, result.line_count, 2));
    cr_expect(eq(int, result.error, TW_RS274_NO_ERROR));
}

Test(rs274_program, nothing_but_the_text_and_the_setup_is_needed)
{
    static const char text[] = "G0 X1\nM2";
    struct tw_rs274_setup setup = { 0 };

    cr_expect(eq(int, tw_rs274_run(text, strlen(text), &setup, NULL, NULL, NULL, NULL), TW_OK));
    cr_expect(eq(int, tw_rs274_run(NULL, 0, &setup, NULL, NULL, NULL, NULL), TW_BAD_INPUT));
    setup.fragment = true;
    cr_expect(eq(int, tw_rs274_run(NULL, 0, &setup, NULL, NULL, NULL, NULL), TW_OK));
    setup.work_system = 10;
    cr_expect(eq(int, tw_rs274_run(text, strlen(text), &setup, NULL, NULL, NULL, NULL), TW_BAD_USAGE));
    setup.work_system = -1;
    cr_expect(eq(int, tw_rs274_run(text, strlen(text), &setup, NULL, NULL, NULL, NULL), TW_BAD_USAGE));
}

/* A text need not end with a zero byte, and a byte after its end is never looked at. */
Test(rs274_program, the_text_ends_where_its_length_says)
{
    char *text = malloc(5);
    struct tw_rs274_setup setup = start_setup();
    struct tw_rs274_result result;

    cr_assert(ne(ptr, text, NULL));
    memcpy(text, "G0 X1", 5);
    for (size_t length = 0; length <= 5; length++)
        tw_rs274_run(text, length, &setup, NULL, NULL, &result, NULL);
    EXPECT_POINT(result.machine_mm, 1, 0, 0, 0.0);
    free(text);
    cr_expect(eq(int, run_text(setup, "G0 X1")->status, TW_OK));
}

/* The report, section 3.6.1: M1 stops when the switch is on. */
Test(rs274_program, optional_stop_follows_its_switch)
{
    struct tw_rs274_setup setup = start_setup();

    cr_expect(eq(int, count_of(run_text(setup, "M1"), TW_RS274_STOP), 0));
    setup.optional_stop = true;
    cr_expect(eq(int, event_of(run_text(setup, "M1"), TW_RS274_STOP, 0)->code, 1));
}

Test(rs274_program, every_error_has_a_name_of_its_own)
{
    for (int i = 0; i < TW_RS274_ERROR_COUNT; i++)
        for (int j = 0; j < i; j++)
            cr_expect(ne(int, strcmp(tw_rs274_error_name(i), tw_rs274_error_name(j)), 0), "%d %d", i, j);
}
