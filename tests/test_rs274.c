/* test_rs274.c - the meaning of every line of the language, case by case.
 *
 * "the report" is T. R. Kramer, F. M. Proctor, E. Messina, "The NIST RS274NGC Interpreter - Version 3",
 * NISTIR 6556 (2000). Each test names the section that its expected values come from; "derived" means worked
 * out by hand from the rules of that section, "ours" a decision of this project. F100| in front of a text
 * sets the feed the case asks for. */
#include "rs274/recorder.h"

#define PI     3.14159265358979323846
#define DEGREE (PI / 180.0)

#define S start_setup()

/* The report, section 3.3: case does not matter and blanks stand anywhere, even inside a number. */
Test(rs274, case_01_blanks_and_case)
{
    const struct record *r = run_text(S, "g0x +0. 12 34y 7");

    EXPECT_POINT(event_of(r, TW_RS274_RAPID, 0)->end_mm, 0.1234, 7.0, 0.0, 0.0);
}

/* Section 3.3.1: N and one to five digits, no sign. */
Test(rs274, case_02_line_numbers)
{
    const struct record *r = run_text(S, "N99999 G0 X1");

    EXPECT_POINT(r->result.position_mm, 1, 0, 0, 0.0);
    cr_expect(eq(int, event_of(r, TW_RS274_RAPID, 0)->block_number, 99999));
    cr_expect(eq(int, event_of(run_text(S, "G0 X1"), TW_RS274_RAPID, 0)->block_number, -1));
    EXPECT_REFUSED(S, "N000009 G0 X1", 1, TW_RS274_BAD_LINE_NUMBER);
    EXPECT_REFUSED(S, "N-1 G0 X1", 1, TW_RS274_BAD_LINE_NUMBER);
    EXPECT_REFUSED(S, "N G0 X1", 1, TW_RS274_BAD_LINE_NUMBER);
    EXPECT_REFUSED(S, "N1.5 G0 X1", 1, TW_RS274_BAD_LINE_NUMBER);
}

/* Section 3.3.1: only at the start of the line. */
Test(rs274, case_03_line_number_place)
{
    EXPECT_REFUSED(S, "G0 N10 X1", 1, TW_RS274_LINE_NUMBER_PLACE);
    EXPECT_REFUSED(S, "N1 N2 G0 X1", 1, TW_RS274_LINE_NUMBER_PLACE);
    EXPECT_REFUSED(S, "(first) N2 G0 X1", 1, TW_RS274_LINE_NUMBER_PLACE);
}

/* Section 2.2.2. That the switch must be said is ours. */
Test(rs274, case_04_block_delete)
{
    struct tw_rs274_setup on = S, unset = S;

    on.block_delete = TW_RS274_DELETE_ON;
    unset.block_delete = TW_RS274_DELETE_REFUSED;
    EXPECT_AT(S, "/G0 X5", 5, 0, 0);
    EXPECT_AT(S, " / G0 X5", 5, 0, 0);
    EXPECT_AT(on, "/G0 X5", 0, 0, 0);
    cr_expect(eq(int, run_text(on, "/G0 X5|/M3|G0 Y1")->count, 1));
    EXPECT_REFUSED(unset, "G0 X1|/G0 X5", 2, TW_RS274_BLOCK_DELETE_UNSET);
}

/* Derived, section 3.3: the / stands first. */
Test(rs274, case_05_slash_after_the_line_number)
{
    EXPECT_REFUSED(S, "N10 /G0 X5", 1, TW_RS274_BAD_CHARACTER);
}

/* Section 3.3.4. That only control characters are refused is ours. */
Test(rs274, case_06_bad_comments)
{
    EXPECT_REFUSED(S, "G0 X1 (a (b) c)", 1, TW_RS274_BAD_COMMENT);
    EXPECT_REFUSED(S, "G0 X1 (open", 1, TW_RS274_BAD_COMMENT);
    EXPECT_REFUSED(S, "G0 X1 (\x01)", 1, TW_RS274_BAD_COMMENT);
    EXPECT_REFUSED(S, "G0 X1 (\x7f)", 1, TW_RS274_BAD_COMMENT);
    EXPECT_REFUSED(S, "G0 X\xc2\xb5", 1, TW_RS274_BAD_NUMBER);
    cr_expect(eq(int, run_text(S, "G0 X1 (2\xc2\xb5m)")->status, TW_OK));
}

Test(rs274, a_byte_order_mark_is_no_part_of_the_text)
{
    cr_expect(eq(int, motions_in(run_text(S, "\xef\xbb\xbfG0 X1")), 1));
    EXPECT_REFUSED(S, "G0 X1|\xef\xbb\xbfG0 X2", 2, TW_RS274_BAD_CHARACTER);
    EXPECT_REFUSED(S, "G0 X1 ) Y2", 1, TW_RS274_BAD_CHARACTER);
}

static void expect_text(const struct tw_rs274_event *event, const char *text)
{
    cr_expect(eq(sz, event->text_length, strlen(text)));
    cr_expect(eq(int, memcmp(event->text, text, strlen(text)), 0), "\"%.*s\"", (int)event->text_length, event->text);
}

/* Section 3.3.4. */
Test(rs274, case_07_message)
{
    expect_text(event_of(run_text(S, "( m S g , hello)"), TW_RS274_MESSAGE, 0), " hello");
    expect_text(event_of(run_text(S, "(MSG,)"), TW_RS274_MESSAGE, 0), "");
    expect_text(event_of(run_text(S, "(MSG hello)"), TW_RS274_COMMENT, 0), "MSG hello");
    expect_text(event_of(run_text(S, "(a MSG, hello)"), TW_RS274_COMMENT, 0), "a MSG, hello");
    expect_text(event_of(run_text(S, "()"), TW_RS274_COMMENT, 0), "");
}

/* Section 3.3.5: only the last comment of a line is used. */
Test(rs274, case_08_several_comments)
{
    const struct record *r = run_text(S, "G0 X1 (one)(two)");

    EXPECT_POINT(r->result.position_mm, 1, 0, 0, 0.0);
    cr_expect(eq(int, count_of(r, TW_RS274_COMMENT), 1));
    expect_text(event_of(r, TW_RS274_COMMENT, 0), "two");
    EXPECT_REFUSED(S, "G0 X1 (one ( )(two)", 1, TW_RS274_BAD_COMMENT);
}

/* Section 3.3.5. */
Test(rs274, case_09_repeated_word)
{
    EXPECT_REFUSED(S, "G0 X1 X2", 1, TW_RS274_REPEATED_WORD);
    EXPECT_REFUSED(S, "F10 F10", 1, TW_RS274_REPEATED_WORD);
    EXPECT_REFUSED(S, "G0 X1 x1", 1, TW_RS274_REPEATED_WORD);
}

/* Section 3.3.5: one code of a modal group on a line. */
Test(rs274, case_10_modal_group_clash)
{
    EXPECT_REFUSED(S, "F100|G0 G1 X1", 2, TW_RS274_GROUP_CLASH);
    EXPECT_REFUSED(S, "F100|G1 G1 X1", 2, TW_RS274_GROUP_CLASH);
    EXPECT_REFUSED(S, "G54 G55", 1, TW_RS274_GROUP_CLASH);
    EXPECT_REFUSED(S, "G4 G53 P1 X1", 1, TW_RS274_GROUP_CLASH);
    EXPECT_REFUSED(S, "G90 G91", 1, TW_RS274_GROUP_CLASH);
    EXPECT_REFUSED(S, "G20 G21", 1, TW_RS274_GROUP_CLASH);
    EXPECT_REFUSED(S, "G17 G18", 1, TW_RS274_GROUP_CLASH);
    EXPECT_REFUSED(S, "G43 G49 H0", 1, TW_RS274_GROUP_CLASH);
    EXPECT_REFUSED(S, "G61 G64", 1, TW_RS274_GROUP_CLASH);
    EXPECT_REFUSED(S, "G93 G94", 1, TW_RS274_GROUP_CLASH);
    EXPECT_REFUSED(S, "G98 G99", 1, TW_RS274_GROUP_CLASH);
    EXPECT_REFUSED(S, "M3 M5", 1, TW_RS274_GROUP_CLASH);
    EXPECT_REFUSED(S, "M0 M30", 1, TW_RS274_GROUP_CLASH);
    EXPECT_REFUSED(S, "M48 M49", 1, TW_RS274_GROUP_CLASH);
}

/* Section 3.3.5: up to four M words. */
Test(rs274, case_11_four_m_words)
{
    cr_expect(eq(int, run_text(S, "M3 M8 M48 M6")->status, TW_OK));
    EXPECT_REFUSED(S, "M0 M3 M8 M48 M6", 1, TW_RS274_TOO_MANY_M);
}

/* Sections 3.3.5 and 3.6.4. */
Test(rs274, case_12_coolant)
{
    const struct record *r = run_text(S, "M7|M8|M9");

    EXPECT_REFUSED(S, "M7 M8", 1, TW_RS274_GROUP_CLASH);
    cr_expect(event_of(r, TW_RS274_COOLANT, 0)->modes.mist && !event_of(r, TW_RS274_COOLANT, 0)->modes.flood);
    cr_expect(event_of(r, TW_RS274_COOLANT, 1)->modes.mist && event_of(r, TW_RS274_COOLANT, 1)->modes.flood);
    cr_expect(
        eq(int, event_of(r, TW_RS274_COOLANT, 2)->modes.mist || event_of(r, TW_RS274_COOLANT, 2)->modes.flood, 0));
}

/* Section 3.3.2.1. */
Test(rs274, case_13_numbers)
{
    EXPECT_REFUSED(S, "G0 X.", 1, TW_RS274_BAD_NUMBER);
    EXPECT_AT(S, "G0 X-.5", -0.5, 0, 0);
    EXPECT_REFUSED(S, "G0 X--1", 1, TW_RS274_BAD_NUMBER);
    EXPECT_AT(S, "G0 X007.50", 7.5, 0, 0);
    EXPECT_AT(S, "G0 X+3.", 3, 0, 0);
    EXPECT_REFUSED(S, "G0 X", 1, TW_RS274_BAD_NUMBER);
    EXPECT_REFUSED(S, "G0 X Y1", 1, TW_RS274_BAD_NUMBER);
    EXPECT_REFUSED(S, "G0 X1.2.3", 1, TW_RS274_BAD_NUMBER);
    EXPECT_REFUSED(S, "G0 X1-2", 1, TW_RS274_BAD_NUMBER);
    EXPECT_REFUSED(S, "G0 X(5)", 1, TW_RS274_BAD_NUMBER);
    /* ours: no word means more than 1e9 */
    EXPECT_REFUSED(S, "G0 X1000000001", 1, TW_RS274_NUMBER_TOO_LARGE);
}

/* Section 3.3.2.1: about 17 figures count. The expected doubles are the compiler's own reading of the same
 * text. */
Test(rs274, numbers_are_rounded_as_the_compiler_rounds_them)
{
    const struct record *r = run_text(S, "G0 X0.1 Y123456.789012345 Z-0.000030517578125|X3.14159265358979323846 Y2.675 "
                                         "Z000000000000000000000000000000012.5000000000000000000000000");

    EXPECT_POINT(event_of(r, TW_RS274_RAPID, 0)->end_mm, 0.1, 123456.789012345, -0.000030517578125, 0.0);
    EXPECT_POINT(event_of(r, TW_RS274_RAPID, 1)->end_mm, 3.14159265358979323846, 2.675, 12.5, 5e-16);
}

/* Derived, section 3.3.2.1: leading zeros and a point mean nothing; ten times a G code is whole. */
Test(rs274, case_14_forms_of_a_code)
{
    EXPECT_AT(S, "F100|G01 X1", 1, 0, 0);
    EXPECT_AT(S, "F100|G1.0 X1", 1, 0, 0);
    EXPECT_REFUSED(S, "F100|G1.5 X1", 2, TW_RS274_UNKNOWN_CODE);
    EXPECT_AT(S, "F100|G1.000001 X1", 1, 0, 0);
    EXPECT_REFUSED(S, "F100|G1.001 X1", 2, TW_RS274_UNKNOWN_CODE);
    EXPECT_REFUSED(S, "F100|G-1 X1", 2, TW_RS274_UNKNOWN_CODE);
}

/* Derived, sections 3.3 and E.3. */
Test(rs274, case_15_bad_characters)
{
    EXPECT_REFUSED(S, "G0 X1e1", 1, TW_RS274_BAD_CHARACTER);
    EXPECT_REFUSED(S, "G0 X1 ; c", 1, TW_RS274_BAD_CHARACTER);
    EXPECT_REFUSED(S, "O100", 1, TW_RS274_BAD_CHARACTER);
    EXPECT_REFUSED(S, "G0 U1", 1, TW_RS274_BAD_CHARACTER);
    EXPECT_REFUSED(S, "G0 V1", 1, TW_RS274_BAD_CHARACTER);
    EXPECT_REFUSED(S, "G0 W1", 1, TW_RS274_BAD_CHARACTER);
    EXPECT_REFUSED(S, "G0 X1,5", 1, TW_RS274_BAD_CHARACTER);
    EXPECT_REFUSED(S, "% G0 X1", 1, TW_RS274_BAD_CHARACTER);
    EXPECT_REFUSED(S, "G0 X1 \xe2\x88\x92 5", 1, TW_RS274_BAD_CHARACTER);
}

/* Section 3.3: at most 256 characters; that the line's end is not among them is ours. */
Test(rs274, case_16_line_length)
{
    char line[300];

    memset(line, ' ', sizeof line);
    memcpy(line + 250, "G0 X1", 6);
    line[255] = ' ';
    line[256] = '\0';
    EXPECT_AT(S, line, 1, 0, 0);
    line[256] = ' ';
    line[257] = '\0';
    EXPECT_REFUSED(S, line, 1, TW_RS274_LINE_TOO_LONG);
}

/* Derived, tables 5 and 7. */
Test(rs274, case_17_unknown_codes)
{
    EXPECT_REFUSED(S, "G5 X1", 1, TW_RS274_UNKNOWN_CODE);
    EXPECT_REFUSED(S, "M10", 1, TW_RS274_UNKNOWN_CODE);
    EXPECT_REFUSED(S, "M3.5", 1, TW_RS274_UNKNOWN_CODE);
    EXPECT_REFUSED(S, "G59.4", 1, TW_RS274_UNKNOWN_CODE);
    EXPECT_REFUSED(S, "G71", 1, TW_RS274_UNKNOWN_CODE);
    EXPECT_REFUSED(S, "M-3", 1, TW_RS274_UNKNOWN_CODE);
}

static struct tw_rs274_setup whole(void)
{
    struct tw_rs274_setup setup = start_setup();

    setup.fragment = false;
    return setup;
}

/* Sections 3.1 and A.1. */
Test(rs274, case_18_ends_that_are_missing)
{
    const struct record *r = run_text(whole(), "%|G0 X1");

    cr_expect(eq(int, r->result.error, TW_RS274_PERCENT_NOT_CLOSED));
    r = run_text(whole(), "G0 X1|%");
    cr_expect(eq(int, r->result.error, TW_RS274_STRAY_PERCENT));
    r = run_text(whole(), "G0 X1");
    cr_expect(eq(int, r->result.error, TW_RS274_NO_END));
    r = run_text(whole(), "");
    cr_expect(eq(int, r->result.error, TW_RS274_NO_END));
    r = run_text(whole(), "%");
    cr_expect(eq(int, r->result.error, TW_RS274_PERCENT_NOT_CLOSED));
    r = run_text(whole(), "%|G0 X1|M2");
    cr_expect(eq(int, r->result.error, TW_RS274_PERCENT_NOT_CLOSED));
}

/* Section 3.1. */
Test(rs274, case_19_ends)
{
    const struct record *r = run_text(whole(), "%|G0 X1|%|G0 X9 what follows is not read");

    cr_expect(eq(int, r->status, TW_OK));
    EXPECT_POINT(r->result.machine_mm, 1, 0, 0, 0.0);
    cr_expect(eq(int, event_of(r, TW_RS274_END, 0)->code, 0));
    r = run_text(whole(), "G0 X1|M2|G0 X9 what follows is not read");
    cr_expect(eq(int, r->status, TW_OK));
    EXPECT_POINT(r->result.machine_mm, 1, 0, 0, 0.0);
    cr_expect(eq(int, event_of(r, TW_RS274_END, 0)->code, 2));
    r = run_text(whole(), "|  | \t%  |G0 X1|M30|%|");
    cr_expect(eq(int, r->status, TW_OK));
    cr_expect(r->result.ended);
    cr_expect(eq(int, event_of(r, TW_RS274_END, 0)->code, 30));
}

/* Section 3.3: a line ends with CR, LF or both. */
Test(rs274, line_ends_of_all_kinds_count_once)
{
    EXPECT_REFUSED(S, "G0 X1\r\nG0 X2\rG0 X3\nG0 X4\r\n\r\n\n\rG5", 8, TW_RS274_UNKNOWN_CODE);
}

/* Sections 3.3.2.2, 3.3.2.3 and 3.3.3 allow these; that the core leaves them out is ours. */
Test(rs274, case_20_parameters_and_expressions)
{
    EXPECT_REFUSED(S, "#3=6 G1 F100 X#3", 1, TW_RS274_NOT_SUPPORTED);
    EXPECT_REFUSED(S, "G0 X#3", 1, TW_RS274_NOT_SUPPORTED);
    EXPECT_REFUSED(S, "G0 X[1+2]", 1, TW_RS274_NOT_SUPPORTED);
    EXPECT_REFUSED(S, "G0 X-[1+2]", 1, TW_RS274_NOT_SUPPORTED);
    EXPECT_REFUSED(S, "G0 Xsin[30]", 1, TW_RS274_NOT_SUPPORTED);
    EXPECT_REFUSED(S, "G0 A30", 1, TW_RS274_NOT_SUPPORTED);
}

/* Sections 3.5.1 and 3.5.2. */
Test(rs274, case_21_no_axis_word)
{
    EXPECT_REFUSED(S, "F100|G0", 2, TW_RS274_NO_AXIS_WORD);
    EXPECT_REFUSED(S, "F100|G1 F50", 2, TW_RS274_NO_AXIS_WORD);
    EXPECT_REFUSED(S, "F100|G90 G0 G54", 2, TW_RS274_NO_AXIS_WORD);
    EXPECT_REFUSED(S, "F100|G2", 2, TW_RS274_NO_AXIS_WORD);
    EXPECT_REFUSED(S, "G0 X0|G53", 2, TW_RS274_NO_AXIS_WORD);
}

/* Sections 3.3.7 and 3.7.1. F is per minute: 100/60 mm/s and 20/60 mm/s. */
Test(rs274, case_22_motion_stays_in_force)
{
    const struct record *r = run_text(S, "F100|G1 X3 Y1|Z2|F20");

    EXPECT_POINT(event_of(r, TW_RS274_FEED, 0)->end_mm, 3, 1, 0, 0.0);
    EXPECT_POINT(event_of(r, TW_RS274_FEED, 1)->start_mm, 3, 1, 0, 0.0);
    EXPECT_POINT(event_of(r, TW_RS274_FEED, 1)->end_mm, 3, 1, 2, 0.0);
    cr_expect(epsilon_eq(dbl, event_of(r, TW_RS274_FEED, 1)->feed_mm_per_s, 100.0 / 60.0, 1e-12));
    cr_expect(epsilon_eq(dbl, event_of(r, TW_RS274_FEED, 1)->duration_s, 1.2, 1e-12));
    cr_expect(eq(int, motions_in(r), 2));
    cr_expect(epsilon_eq(dbl, r->result.modes.feed_mm_per_s, 20.0 / 60.0, 1e-12));
}

/* Section 3.5.15. */
Test(rs274, case_23_no_motion)
{
    EXPECT_REFUSED(S, "G80|X1", 2, TW_RS274_AXIS_WORD_WITHOUT_MOTION);
    EXPECT_REFUSED(S, "X1", 1, TW_RS274_AXIS_WORD_WITHOUT_MOTION);
    EXPECT_REFUSED(S, "G80 X1", 1, TW_RS274_AXIS_WORD_WITHOUT_MOTION);
    cr_expect(eq(int, motions_in(run_text(S, "G80|G92 X1")), 0));
    EXPECT_AT(S, "G80|G92 X1", 1, 0, 0);
    EXPECT_AT(S, "G80 G92 X1", 1, 0, 0);
}

/* Section 3.5.17. */
Test(rs274, case_24_distance_modes)
{
    const struct record *r = run_text(S, "F100|G91 G1 X2|X2|G90 X1");

    EXPECT_POINT(event_of(r, TW_RS274_FEED, 0)->end_mm, 2, 0, 0, 0.0);
    EXPECT_POINT(event_of(r, TW_RS274_FEED, 1)->end_mm, 4, 0, 0, 0.0);
    EXPECT_POINT(event_of(r, TW_RS274_FEED, 2)->end_mm, 1, 0, 0, 0.0);
}

static void expect_arc(const struct tw_rs274_event *arc, double cx, double cy, double radius, double degrees)
{
    cr_expect(epsilon_eq(dbl, arc->arc.centre_mm[arc->arc.first_axis], cx, 1e-4));
    cr_expect(epsilon_eq(dbl, arc->arc.centre_mm[arc->arc.second_axis], cy, 1e-4));
    cr_expect(epsilon_eq(dbl, arc->arc.start_radius_mm, radius, 1e-4));
    cr_expect(epsilon_eq(dbl, arc->arc.sweep_rad, degrees * DEGREE, 1e-6));
}

/* Appendix C.1 of the report; the sweep is derived. */
Test(rs274, case_25_three_quarters_of_a_circle)
{
    const struct tw_rs274_event *arc =
        event_of(run_text(start_at(16, 2.5, 0), "F100|G3 X13.5 Y0 I-2.5"), TW_RS274_ARC, 0);

    expect_arc(arc, 13.5, 2.5, 2.5, 270.0);
    EXPECT_POINT(arc->end_mm, 13.5, 0, 0, 0.0);
}

/* Section 3.5.3.2 has the line and its centre; length, sweep and middle are derived: radius 5, from (-3, -4)
 * to (0, 5) clockwise is 90 + atan(4/3) = 143.1301 degrees. */
Test(rs274, case_26_clockwise_arc)
{
    const struct record *r = run_text(start_at(7, 7, 9), "F100|G17 G2 X10 Y16 I3 J4 Z9");
    const struct tw_rs274_event *arc = event_of(r, TW_RS274_ARC, 0);
    double middle[3], machine[3];

    expect_arc(arc, 10, 11, 5, -143.130102);
    cr_expect(epsilon_eq(dbl, arc->length_mm, 12.4905, 5e-5));
    tw_rs274_point(arc, 0.5, middle, machine);
    EXPECT_POINT(middle, 5.2566, 12.5811, 9, 5e-5);
    EXPECT_POINT(machine, 5.2566, 12.5811, 9, 5e-5);
}

/* Derived: the helix of the same line; its length is sqrt(12.49046^2 + 4^2), and the feed counts along it
 * (sections 2.1.2.5 and 2.1.2.6). */
Test(rs274, case_27_helix)
{
    const struct tw_rs274_event *arc =
        event_of(run_text(start_at(7, 7, 5), "F100|G17 G2 X10 Y16 I3 J4 Z9"), TW_RS274_ARC, 0);
    double middle[3];

    cr_expect(epsilon_eq(dbl, arc->arc.rise_mm, 4.0, 1e-12));
    cr_expect(epsilon_eq(dbl, arc->length_mm, 13.1153, 5e-5));
    cr_expect(epsilon_eq(dbl, arc->duration_s, 13.1153 * 0.6, 5e-5));
    EXPECT_POINT(arc->end_mm, 10, 16, 9, 0.0);
    tw_rs274_point(arc, 0.5, middle, NULL);
    EXPECT_POINT(middle, 5.2566, 12.5811, 7, 5e-5);
}

/* Section 5.1.2, the sample session. */
Test(rs274, case_28_arc_by_radius_in_the_sample_session)
{
    const struct tw_rs274_event *arc = event_of(run_text(start_at(3, 1, 0), "F100|G2 X0 R7.01 Z0.5"), TW_RS274_ARC, 0);

    cr_expect(epsilon_eq(dbl, arc->arc.centre_mm[0], 1.5, 1e-9));
    cr_expect(epsilon_eq(dbl, arc->arc.centre_mm[1], 7.8476, 5e-5));
    cr_expect(epsilon_eq(dbl, arc->arc.sweep_rad / DEGREE, -24.7114, 5e-5));
    EXPECT_POINT(arc->end_mm, 0, 1, 0.5, 0.0);
}

/* Appendix C.1 and section 3.5.3.2. */
Test(rs274, case_29_full_circle)
{
    const struct record *r = run_text(start_at(32.5, 0, 0), "F100|G2 X32.5 J2.5");
    const struct tw_rs274_event *arc = event_of(r, TW_RS274_ARC, 0);

    expect_arc(arc, 32.5, 2.5, 2.5, -360.0);
    cr_expect(epsilon_eq(dbl, arc->length_mm, 15.7080, 5e-5));
    EXPECT_REFUSED(start_at(32.5, 0, 0), "F100|G2 J2.5", 2, TW_RS274_ARC_WITHOUT_PLANE_WORD);
    EXPECT_REFUSED(start_at(32.5, 0, 0), "F100|G2 Z1 J2.5", 2, TW_RS274_ARC_WITHOUT_PLANE_WORD);
}

/* Derived, section 3.5.3.2: the radii may differ by 0.002 mm. */
Test(rs274, case_30_radius_tolerance_in_mm)
{
    const struct tw_rs274_event *arc = event_of(run_text(S, "F100|G2 X10 I5.0009"), TW_RS274_ARC, 0);

    cr_expect(epsilon_eq(dbl, arc->arc.start_radius_mm - arc->arc.end_radius_mm, 0.0018, 1e-9));
    EXPECT_REFUSED(S, "F100|G2 X10 I5.0011", 2, TW_RS274_ARC_RADIUS_MISMATCH);
}

/* Derived, section 3.5.3.2: by 0.0002 inch. */
Test(rs274, case_31_radius_tolerance_in_inch)
{
    EXPECT_AT(S, "G20|F100|G2 X10 I5.00009", 254, 0, 0);
    EXPECT_REFUSED(S, "G20|F100|G2 X10 I5.00011", 3, TW_RS274_ARC_RADIUS_MISMATCH);
}

/* Section 3.5.3.1; the limit on the chord is from memory. */
Test(rs274, case_32_arcs_by_radius_that_do_not_exist)
{
    EXPECT_REFUSED(start_at(5, 0, 0), "F100|G2 X5 R3", 2, TW_RS274_ARC_ENDS_AT_START);
    EXPECT_REFUSED(S, "F100|G2 X10 R4", 2, TW_RS274_ARC_RADIUS_TOO_SMALL);
    EXPECT_REFUSED(S, "F100|G2 X10 R0", 2, TW_RS274_ARC_RADIUS_TOO_SMALL);
    EXPECT_REFUSED(S, "F100|G2 R20 Z1", 2, TW_RS274_ARC_WITHOUT_PLANE_WORD);
    EXPECT_AT(S, "F100|G2 X10 R5", 10, 0, 0);
}

/* Derived, section 3.5.3.1: centre = (5, +-sqrt(100 - 25)). */
Test(rs274, case_33_counterclockwise_by_radius)
{
    expect_arc(event_of(run_text(S, "F100|G3 X10 R10"), TW_RS274_ARC, 0), 5, 8.660254, 10, 60);
    expect_arc(event_of(run_text(S, "F100|G3 X10 R-10"), TW_RS274_ARC, 0), 5, -8.660254, 10, 300);
}

Test(rs274, case_34_clockwise_by_radius)
{
    expect_arc(event_of(run_text(S, "F100|G2 X10 R10"), TW_RS274_ARC, 0), 5, -8.660254, 10, -60);
    expect_arc(event_of(run_text(S, "F100|G2 X10 R-10"), TW_RS274_ARC, 0), 5, 8.660254, 10, -300);
}

/* Derived, sections 3.5.3 and 4.3.6.1: seen from +Y, with Z to the right of X, G2 from X0 to X10 dips below.
 */
Test(rs274, case_35_half_circle_in_xz)
{
    double middle[3];

    tw_rs274_point(event_of(run_text(S, "F100|G18 G2 X10 I5"), TW_RS274_ARC, 0), 0.5, middle, NULL);
    EXPECT_POINT(middle, 5, 0, -5, 1e-9);
}

/* Derived, section 4.3.6.1. */
Test(rs274, case_36_half_circle_in_yz)
{
    double middle[3];

    tw_rs274_point(event_of(run_text(S, "F100|G19 G3 Y10 J5"), TW_RS274_ARC, 0), 0.5, middle, NULL);
    EXPECT_POINT(middle, 0, 5, -5, 1e-9);
}

/* Section 3.5.3.2; R with an offset and an offset along the normal are from memory. */
Test(rs274, case_37_arc_words_that_do_not_go_together)
{
    EXPECT_REFUSED(S, "F100|G2 X10", 2, TW_RS274_ARC_WITHOUT_CENTRE);
    EXPECT_REFUSED(S, "F100|G2 X10 I5 R5", 2, TW_RS274_ARC_RADIUS_AND_OFFSET);
    EXPECT_REFUSED(S, "F100|G2 X10 I5 K1", 2, TW_RS274_ARC_OFFSET_NOT_IN_PLANE);
    EXPECT_REFUSED(S, "F100|G18 G2 X10 I5 J1", 2, TW_RS274_ARC_OFFSET_NOT_IN_PLANE);
    EXPECT_REFUSED(S, "F100|G19 G2 Y10 J5 I1", 2, TW_RS274_ARC_OFFSET_NOT_IN_PLANE);
    EXPECT_REFUSED(S, "F100|G2 X10 I5|X20", 3, TW_RS274_ARC_WITHOUT_CENTRE);
    /* ours: a circle has a radius */
    EXPECT_REFUSED(S, "F100|G2 X0 I0", 2, TW_RS274_ARC_WITHOUT_RADIUS);
}

/* Derived, section 3.5.17. */
Test(rs274, case_38_incremental_arcs)
{
    const struct record *r = run_text(S, "F100 G91|G2 X2 I1|X2 I1");

    EXPECT_POINT(event_of(r, TW_RS274_ARC, 0)->end_mm, 2, 0, 0, 0.0);
    EXPECT_POINT(event_of(r, TW_RS274_ARC, 1)->end_mm, 4, 0, 0, 0.0);
    EXPECT_POINT(event_of(r, TW_RS274_ARC, 0)->arc.centre_mm, 1, 0, 0, 0.0);
    EXPECT_POINT(event_of(r, TW_RS274_ARC, 1)->arc.centre_mm, 3, 0, 0, 0.0);
}

/* Section 3.5.4. */
Test(rs274, case_39_dwell)
{
    cr_expect(eq(dbl, event_of(run_text(S, "G4 P0.5"), TW_RS274_DWELL, 0)->dwell_s, 0.5));
    EXPECT_REFUSED(S, "G4", 1, TW_RS274_MISSING_WORD);
    EXPECT_REFUSED(S, "G4 P-1", 1, TW_RS274_NEGATIVE_VALUE);
}

/* Derived, section 3.5.5. */
Test(rs274, case_40_setting_an_origin)
{
    const struct record *r = run_text(S, "G10 L2 P1 X3.5 Y17.2|G0 X0 Y0");

    EXPECT_POINT(event_of(r, TW_RS274_ORIGIN, 0)->end_mm, -3.5, -17.2, 0, 1e-12);
    EXPECT_POINT(event_of(r, TW_RS274_ORIGIN, 0)->end_machine_mm, 0, 0, 0, 0.0);
    EXPECT_POINT(event_of(r, TW_RS274_RAPID, 0)->end_machine_mm, 3.5, 17.2, 0, 1e-12);
}

/* Section 3.5.5. */
Test(rs274, case_41_systems_that_do_not_exist)
{
    EXPECT_REFUSED(S, "G10 L2 P0 X1", 1, TW_RS274_VALUE_OUT_OF_RANGE);
    EXPECT_REFUSED(S, "G10 L2 P10 X1", 1, TW_RS274_VALUE_OUT_OF_RANGE);
    EXPECT_REFUSED(S, "G10 L2 P1.5 X1", 1, TW_RS274_VALUE_OUT_OF_RANGE);
    EXPECT_REFUSED(S, "G10 L2 X1", 1, TW_RS274_MISSING_WORD);
    EXPECT_REFUSED(S, "G10 P1 X1", 1, TW_RS274_MISSING_WORD);
    /* ours */
    EXPECT_REFUSED(S, "G10 L20 P1 X1", 1, TW_RS274_NOT_SUPPORTED);
}

/* Derived, section 3.5.13. */
Test(rs274, case_42_second_work_system)
{
    const struct record *r = run_text(S, "G10 L2 P2 X100|G55 G0 X1|G54");

    EXPECT_POINT(event_of(r, TW_RS274_RAPID, 0)->end_mm, 1, 0, 0, 0.0);
    EXPECT_POINT(event_of(r, TW_RS274_RAPID, 0)->end_machine_mm, 101, 0, 0, 0.0);
    EXPECT_POINT(r->result.position_mm, 101, 0, 0, 0.0);
}

/* Section 3.5.13: the nine systems in their order. */
Test(rs274, work_systems_by_their_names)
{
    static const char *const names[] = { "G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3" };

    for (int i = 0; i < 9; i++) {
        struct tw_rs274_setup setup = S;
        const struct record *r;

        setup.origins_mm[i][1] = 7.0;
        r = run_text(setup, names[i]);
        cr_expect(eq(int, r->result.modes.work_system, i + 1));
        EXPECT_POINT(r->result.position_mm, 0, -7, 0, 0.0);
        cr_expect(eq(int, strcmp(tw_rs274_system_name(i + 1), names[i]), 0));
    }
}

/* Section 3.5.18; the last step is derived. */
Test(rs274, case_43_shifts)
{
    const struct record *r = run_text(start_at(4, 0, 0), "G92 X7|G92 X9|G0 X0|G92.1");

    cr_expect(eq(dbl, event_of(r, TW_RS274_SHIFT, 0)->modes.shift_mm[0], -3.0));
    EXPECT_POINT(event_of(r, TW_RS274_SHIFT, 0)->end_mm, 7, 0, 0, 0.0);
    cr_expect(eq(dbl, event_of(r, TW_RS274_SHIFT, 1)->modes.shift_mm[0], -5.0));
    EXPECT_POINT(event_of(r, TW_RS274_RAPID, 0)->end_machine_mm, -5, 0, 0, 0.0);
    EXPECT_POINT(r->result.position_mm, -5, 0, 0, 0.0);
}

/* Section 3.5.18: G92.2 keeps the stored values, G92.1 does not, G92.3 brings them back; all systems shift.
 */
Test(rs274, shifts_put_aside_and_brought_back)
{
    EXPECT_AT(start_at(4, 0, 0), "G92 X7|G92.2", 4, 0, 0);
    EXPECT_AT(start_at(4, 0, 0), "G92 X7|G92.2|G92.3", 7, 0, 0);
    EXPECT_AT(start_at(4, 0, 0), "G92 X7|G92.1|G92.3", 4, 0, 0);
    EXPECT_AT(start_at(4, 0, 0), "G10 L2 P2 X1|G92 X7|G55", 6, 0, 0);
    EXPECT_AT(start_at(4, 0, 0), "G91 G92 X7", 7, 0, 0);
    EXPECT_AT(start_at(4, 0, 0), "G92 X7|G10 L2 P1 X2", 5, 0, 0);
}

/* Section 3.5.18. */
Test(rs274, case_44_shift_of_nothing)
{
    EXPECT_REFUSED(S, "G92", 1, TW_RS274_NO_AXIS_WORD);
}

/* Derived, section 3.5.12. */
Test(rs274, case_45_machine_coordinates)
{
    struct tw_rs274_setup setup = start_at(0, 0, -40);
    const struct tw_rs274_event *rapid;
    const struct record *r;

    setup.origins_mm[1][2] = -50.0;
    setup.work_system = 2;
    r = run_text(setup, "G0 G53 Z0|G91 G53 Z1");
    rapid = event_of(r, TW_RS274_RAPID, 0);
    EXPECT_POINT(rapid->start_mm, 0, 0, 10, 0.0);
    EXPECT_POINT(rapid->start_machine_mm, 0, 0, -40, 0.0);
    EXPECT_POINT(rapid->end_machine_mm, 0, 0, 0, 0.0);
    EXPECT_POINT(rapid->end_mm, 0, 0, 50, 0.0);
    /* from memory: also under G91 the word is a place, not a distance */
    EXPECT_POINT(event_of(r, TW_RS274_RAPID, 1)->end_machine_mm, 0, 0, 1, 0.0);
}

/* Section 3.5.12. */
Test(rs274, case_46_machine_coordinates_need_a_straight_motion)
{
    EXPECT_REFUSED(S, "G80|G53 X1", 2, TW_RS274_G53_WITHOUT_STRAIGHT_MOTION);
    EXPECT_REFUSED(S, "F100|G2 X2 I1|G53 X1", 3, TW_RS274_G53_WITHOUT_STRAIGHT_MOTION);
    EXPECT_REFUSED(S, "G53 X1", 1, TW_RS274_G53_WITHOUT_STRAIGHT_MOTION);
}

/* Section 3.4. */
Test(rs274, case_47_axis_words_have_one_taker)
{
    EXPECT_REFUSED(S, "F100|G1 G92 X0", 2, TW_RS274_AXIS_WORDS_CLAIMED_TWICE);
    EXPECT_REFUSED(S, "G0 G28 X0", 1, TW_RS274_AXIS_WORDS_CLAIMED_TWICE);
    EXPECT_REFUSED(S, "G0 G10 L2 P1 X0", 1, TW_RS274_AXIS_WORDS_CLAIMED_TWICE);
    cr_expect(eq(int, motions_in(run_text(S, "F100|G1 X5|G92 X0")), 1));
    EXPECT_AT(S, "F100|G1 X5|G92 X0", 0, 0, 0);
}

/* Section 3.5.8; without a home it is not supported, which is ours. */
Test(rs274, case_48_home)
{
    struct tw_rs274_setup setup = start_at(1, 2, 3);
    const struct record *r;

    EXPECT_REFUSED(setup, "G28", 1, TW_RS274_NOT_SUPPORTED);
    EXPECT_REFUSED(setup, "G30 Z5", 1, TW_RS274_NOT_SUPPORTED);
    setup.has_home_28 = true;
    setup.home_28_mm[2] = 50.0;
    setup.has_home_30 = true;
    setup.home_30_mm[0] = -8.0;
    r = run_text(setup, "G28 X5");
    cr_expect(eq(int, motions_in(r), 2));
    EXPECT_POINT(event_of(r, TW_RS274_RAPID, 0)->end_mm, 5, 2, 3, 0.0);
    EXPECT_POINT(event_of(r, TW_RS274_RAPID, 1)->end_machine_mm, 0, 0, 50, 0.0);
    r = run_text(setup, "G28");
    cr_expect(eq(int, motions_in(r), 1));
    EXPECT_POINT(event_of(r, TW_RS274_RAPID, 0)->end_machine_mm, 0, 0, 50, 0.0);
    r = run_text(setup, "G30");
    EXPECT_POINT(event_of(r, TW_RS274_RAPID, 0)->end_machine_mm, -8, 0, 0, 0.0);
}

/* Derived, section 2.1.2.10: 25.4 mm read 1 inch, nothing moves. One units code in a program is ours. */
Test(rs274, case_49_units)
{
    const struct record *r = run_text(start_at(25.4, 0, 0), "G20|G91 G0 X1");

    cr_expect(event_of(r, TW_RS274_UNITS, 0)->modes.inch);
    EXPECT_POINT(event_of(r, TW_RS274_UNITS, 0)->end_machine_mm, 25.4, 0, 0, 0.0);
    EXPECT_POINT(r->result.machine_mm, 50.8, 0, 0, 1e-12);
    EXPECT_REFUSED(S, "G21|G20", 2, TW_RS274_UNITS_CHANGED);
    EXPECT_REFUSED(S, "G20|G0 X1|G21", 3, TW_RS274_UNITS_CHANGED);
    cr_expect(eq(int, run_text(S, "G21|F100|G1 X1|G21")->status, TW_OK));
}

/* Section 3.5.19: 5 mm in half a minute. That F is given anew after a change of the feed mode is ours. */
Test(rs274, case_50_inverse_time)
{
    const struct record *r = run_text(S, "G93 G1 X5 F2");

    cr_expect(epsilon_eq(dbl, event_of(r, TW_RS274_FEED, 0)->duration_s, 30.0, 1e-12));
    cr_expect(epsilon_eq(dbl, event_of(r, TW_RS274_FEED, 0)->feed_mm_per_s, 5.0 / 30.0, 1e-12));
    EXPECT_REFUSED(S, "G93 G1 X5 F2|X6", 2, TW_RS274_FEED_MISSING);
    EXPECT_REFUSED(S, "F100 G93|G1 X5", 2, TW_RS274_FEED_MISSING);
    EXPECT_REFUSED(S, "G93|G3 X5 I2.5", 2, TW_RS274_FEED_MISSING);
    EXPECT_REFUSED(S, "G93|G1 X5 F0", 2, TW_RS274_FEED_MISSING);
    EXPECT_REFUSED(S, "F100|G93 G1 X5 F2|G94|X6", 4, TW_RS274_FEED_NOT_SET);
    EXPECT_AT(S, "G93|G0 X6|F7", 6, 0, 0);
    EXPECT_AT(S, "F100|G94|G1 X6", 6, 0, 0);
    cr_expect(epsilon_eq(dbl, event_of(run_text(S, "G93|G2 X10 I5 F4"), TW_RS274_ARC, 0)->duration_s, 15.0, 1e-12));
}

/* Sections 5.1.2 and 3.5.11. */
Test(rs274, case_51_tool_length)
{
    static const double lengths_mm[10] = { 5.0, 1.0 };
    struct tw_rs274_setup setup = start_at(0, 0, 0.5);
    const struct record *r;

    setup.tool_lengths_mm = lengths_mm;
    r = run_text(setup, "G43 H2|G49");
    EXPECT_POINT(event_of(r, TW_RS274_LENGTH_OFFSET, 0)->end_mm, 0, 0, -0.5, 0.0);
    EXPECT_POINT(event_of(r, TW_RS274_LENGTH_OFFSET, 1)->end_mm, 0, 0, 0.5, 0.0);
    cr_expect(eq(int, motions_in(r), 0));
    EXPECT_AT(setup, "G43 H0", 0, 0, 0.5);
    EXPECT_POINT(run_text(setup, "G43 H2|G0 Z0")->result.machine_mm, 0, 0, 1, 0.0);
    EXPECT_POINT(run_text(setup, "G43 H2|G0 G53 Z0")->result.machine_mm, 0, 0, 0, 0.0);
    EXPECT_REFUSED(setup, "G43", 1, TW_RS274_MISSING_WORD);
    EXPECT_REFUSED(setup, "G43 H-1", 1, TW_RS274_NEGATIVE_VALUE);
    EXPECT_REFUSED(setup, "G43 H11", 1, TW_RS274_VALUE_OUT_OF_RANGE);
    EXPECT_REFUSED(setup, "G43 H1.5", 1, TW_RS274_VALUE_OUT_OF_RANGE);
    EXPECT_REFUSED(S, "G43 H2", 1, TW_RS274_NOT_SUPPORTED); /* ours: lengths not known */
}

/* Section 3.5.10; that compensation is not supported is ours. */
Test(rs274, case_52_radius_compensation)
{
    EXPECT_REFUSED(S, "G18|G41 D1", 2, TW_RS274_NOT_SUPPORTED);
    EXPECT_REFUSED(S, "G42 D1", 1, TW_RS274_NOT_SUPPORTED);
    EXPECT_REFUSED(S, "D1", 1, TW_RS274_UNUSED_WORD);
    cr_expect(eq(int, count_of(run_text(S, "G40"), TW_RS274_RADIUS_OFF), 1));
}

/* Section 3.8: the spindle stops before the move. */
Test(rs274, case_53_spindle_stops_first)
{
    const struct record *r = run_text(S, "F100 S900 M3|G1 X10 M5");
    const struct tw_rs274_event *feed = event_of(r, TW_RS274_FEED, 0);

    cr_expect(eq(int, event_of(r, TW_RS274_SPINDLE, 1)->modes.spindle, TW_RS274_SPINDLE_OFF));
    cr_expect(event_of(r, TW_RS274_SPINDLE, 1) < feed);
    cr_expect(eq(int, feed->modes.spindle, TW_RS274_SPINDLE_OFF));
    EXPECT_POINT(feed->end_mm, 10, 0, 0, 0.0);
}

/* Section 3.8; section 5.1.3. */
Test(rs274, case_54_stops_come_last)
{
    const struct record *r = run_text(S, "F100|M0 G1 X10");

    cr_expect(lt(int, place_of(r, TW_RS274_FEED), place_of(r, TW_RS274_STOP)));
    r = run_text(S, "F100|G1 X10 M30");
    cr_expect(lt(int, place_of(r, TW_RS274_FEED), place_of(r, TW_RS274_END)));
}

/* Section 3.8; appendix C.1. */
Test(rs274, case_55_order_of_one_line)
{
    const struct record *r = run_text(S, "S1000 M3 T1 M6 G0 X1");

    cr_assert(eq(int, r->count, 5));
    cr_expect(eq(int, r->events[0].kind, TW_RS274_SPINDLE_SPEED));
    cr_expect(eq(int, r->events[1].kind, TW_RS274_TOOL_SELECT));
    cr_expect(eq(int, r->events[1].modes.tool_selected, 1));
    cr_expect(eq(int, r->events[2].kind, TW_RS274_TOOL_CHANGE));
    cr_expect(eq(int, r->events[2].modes.tool, 1));
    cr_expect(eq(int, r->events[3].kind, TW_RS274_SPINDLE));
    cr_expect(eq(int, r->events[3].modes.spindle, TW_RS274_SPINDLE_CLOCKWISE));
    cr_expect(eq(dbl, r->events[3].modes.spindle_rpm, 1000.0));
    cr_expect(eq(int, r->events[4].kind, TW_RS274_RAPID));
    EXPECT_POINT(r->events[4].end_mm, 1, 0, 0, 0.0);
}

/* Section 3.6.3: a tool change stops the spindle, leaves coolant alone, and the axes end where they were. */
Test(rs274, tool_change)
{
    const struct record *r = run_text(S, "S900 M3 M8|G0 X1 Y2|T3|M6");
    const struct tw_rs274_event *change = event_of(r, TW_RS274_TOOL_CHANGE, 0);

    cr_expect(eq(int, change->modes.tool, 3));
    cr_expect(eq(int, change->modes.spindle, TW_RS274_SPINDLE_OFF));
    cr_expect(change->modes.flood);
    EXPECT_POINT(r->result.position_mm, 1, 2, 0, 0.0);
}

/* Section 3.8, table 8: everything that one line can do, in its order. */
Test(rs274, table_8_in_full)
{
    static const enum tw_rs274_event_kind order[] = {
        TW_RS274_COMMENT,     TW_RS274_FEED_MODE, TW_RS274_SPINDLE_SPEED, TW_RS274_TOOL_SELECT,
        TW_RS274_TOOL_CHANGE, TW_RS274_SPINDLE,   TW_RS274_COOLANT,       TW_RS274_DWELL,
        TW_RS274_PLANE,       TW_RS274_UNITS,     TW_RS274_RADIUS_OFF,    TW_RS274_LENGTH_OFFSET,
        TW_RS274_WORK_SYSTEM, TW_RS274_PATH_MODE, TW_RS274_DISTANCE_MODE, TW_RS274_RETURN_LEVEL,
        TW_RS274_RAPID,       TW_RS274_END,
    };
    const struct record *r =
        run_text(S, "M30 X1 G0 G98 G91 G61 G55 G49 G40 G21 G18 G4 P1 M8 M4 M6 T2 S500 G94 (all at once)");

    cr_expect(eq(int, r->status, TW_OK));
    cr_assert(eq(int, r->count, (int)(sizeof order / sizeof order[0])));
    for (int i = 0; i < r->count; i++)
        cr_expect(eq(int, r->events[i].kind, order[i]), "event %d", i);
}

/* Derived, sections 3.3.6 and 3.8. */
Test(rs274, case_56_word_order_means_nothing)
{
    EXPECT_AT(start_at(1, 0, 0), "F100|X1 G1 G91", 2, 0, 0);
}

/* Section 3.7; appendix D.8.2. */
Test(rs274, case_57_values_out_of_range)
{
    EXPECT_REFUSED(S, "F-1", 1, TW_RS274_NEGATIVE_VALUE);
    EXPECT_REFUSED(S, "S-1", 1, TW_RS274_NEGATIVE_VALUE);
    EXPECT_REFUSED(S, "T-1", 1, TW_RS274_NEGATIVE_VALUE);
    EXPECT_REFUSED(S, "T11", 1, TW_RS274_VALUE_OUT_OF_RANGE);
    EXPECT_REFUSED(S, "T1.5", 1, TW_RS274_VALUE_OUT_OF_RANGE);
    cr_expect(eq(int, run_text(S, "T10|T0")->status, TW_OK));
}

/* Section 3.6.2. */
Test(rs274, case_58_spindle_before_speed)
{
    const struct record *r = run_text(S, "M3|S500");

    cr_expect(eq(int, r->events[0].modes.spindle, TW_RS274_SPINDLE_CLOCKWISE));
    cr_expect(eq(dbl, r->events[0].modes.spindle_rpm, 0.0));
    cr_expect(eq(int, r->events[1].modes.spindle, TW_RS274_SPINDLE_CLOCKWISE));
    cr_expect(eq(dbl, r->events[1].modes.spindle_rpm, 500.0));
}

/* Section 3.6.1: what M2 puts back, and what it does not. */
Test(rs274, case_59_reset_at_the_end)
{
    const struct record *r = run_text(S, "G18 G91 G55 G20 M3 S500 M8 G61|G93 M49|G92 X3|M2");
    const struct tw_rs274_modes *modes = &r->result.modes;

    cr_assert(eq(int, r->status, TW_OK));
    cr_expect(eq(int, modes->plane, TW_RS274_PLANE_XY));
    cr_expect(not(modes->incremental));
    cr_expect(eq(int, modes->work_system, 1));
    cr_expect(not(modes->inverse_time));
    cr_expect(eq(int, modes->motion, TW_RS274_MOTION_FEED));
    cr_expect(eq(int, modes->spindle, TW_RS274_SPINDLE_OFF));
    cr_expect(not(modes->mist || modes->flood));
    cr_expect(modes->overrides);
    cr_expect(eq(dbl, modes->shift_mm[0], 0.0));
    cr_expect(modes->inch);
    cr_expect(eq(int, modes->path, TW_RS274_PATH_EXACT));
    EXPECT_POINT(r->result.position_mm, 0, 0, 0, 0.0);
}

/* From memory: the report only bars a negative feed (section 4.3.5.1). */
Test(rs274, case_60_feed_never_set)
{
    EXPECT_REFUSED(S, "G1 X1", 1, TW_RS274_FEED_NOT_SET);
    EXPECT_REFUSED(S, "F0|G1 X1", 2, TW_RS274_FEED_NOT_SET);
    EXPECT_REFUSED(S, "G2 X10 I5", 1, TW_RS274_FEED_NOT_SET);
}

/* From memory and section 3.3: a word that no code uses is illegal. */
Test(rs274, case_61_unused_words)
{
    EXPECT_REFUSED(S, "G64 P0.02", 1, TW_RS274_UNUSED_WORD);
    EXPECT_REFUSED(S, "G0 X1 P1", 1, TW_RS274_UNUSED_WORD);
    EXPECT_REFUSED(S, "G0 X1 Q1", 1, TW_RS274_UNUSED_WORD);
    EXPECT_REFUSED(S, "G0 X1 L1", 1, TW_RS274_UNUSED_WORD);
    EXPECT_REFUSED(S, "G0 X1 H1", 1, TW_RS274_UNUSED_WORD);
    EXPECT_REFUSED(S, "G0 X1 R1", 1, TW_RS274_UNUSED_WORD);
    EXPECT_REFUSED(S, "G0 X1|Y2 I1", 2, TW_RS274_UNUSED_WORD);
    EXPECT_REFUSED(S, "F100|G2 X10 I5|I5", 3, TW_RS274_UNUSED_WORD);
    EXPECT_REFUSED(S, "F100|G2 X10 I5|G92 X0 J5", 3, TW_RS274_UNUSED_WORD);
    EXPECT_REFUSED(S, "K5", 1, TW_RS274_UNUSED_WORD);
}

/* Sections 3.8 and 4.3.3.3 make F50 mean 50 inch/min here; that it is refused is ours. */
Test(rs274, case_62_units_after_feed)
{
    EXPECT_REFUSED(S, "G1 F50 G20 X1", 1, TW_RS274_UNITS_TOO_LATE);
    EXPECT_REFUSED(S, "F50|G20", 2, TW_RS274_UNITS_TOO_LATE);
    EXPECT_REFUSED(S, "G0 X1|G20", 2, TW_RS274_UNITS_TOO_LATE);
    EXPECT_REFUSED(S, "G10 L2 P1 X1|G20", 2, TW_RS274_UNITS_TOO_LATE);
    EXPECT_REFUSED(S, "G92 X1|G20", 2, TW_RS274_UNITS_TOO_LATE);
    EXPECT_AT(S, "G20 G0 X1", 25.4, 0, 0);
    cr_expect(epsilon_eq(dbl, run_text(S, "G20|F60")->result.modes.feed_mm_per_s, 25.4, 1e-12));
}

/* Sections 3.5.16 and 3.5.9; that they are not supported is ours. */
Test(rs274, case_63_to_65_codes_outside_the_core)
{
    static const char *const codes[] = { "G81", "G82", "G83", "G84", "G85", "G86", "G87", "G88", "G89", "G38.2" };
    char line[80];

    EXPECT_REFUSED(start_at(1, 2, 3), "F100|G90 G81 G98 X4 Y5 Z1.5 R2.8", 2, TW_RS274_NOT_SUPPORTED);
    EXPECT_REFUSED(start_at(30, 1, -0.5), "F100|G91 G81 X3 Y2 Z-0.8 R1.5 L2", 2, TW_RS274_NOT_SUPPORTED);
    EXPECT_REFUSED(S, "F100|G38.2 X0.2", 2, TW_RS274_NOT_SUPPORTED);
    EXPECT_REFUSED(S, "M60", 1, TW_RS274_NOT_SUPPORTED);
    for (size_t i = 0; i < sizeof codes / sizeof codes[0]; i++) {
        const struct record *r;

        snprintf(line, sizeof line, "%s X1 Z-1 R1", codes[i]);
        r = run_text(S, line);
        cr_expect(eq(int, r->result.error, TW_RS274_NOT_SUPPORTED));
        cr_expect(strstr(r->findings.items[0].text, codes[i]) != NULL, "%s", r->findings.items[0].text);
    }
}
