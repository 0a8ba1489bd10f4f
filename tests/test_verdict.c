/* test_verdict.c - guards the dry-run's checks one by one: a program short enough to be checked by hand is edited, and
 * the check that must notice names the line that a person must go to. Also its times, volumes and thicknesses against
 * closed forms, its JSON, its exit statuses, and that it survives running out of memory. */
#include "base/memory.h"
#include "input/failing_memory.h"
#include "verdict/second_heat.h"
#include "verdict/second_time.h"
#include "verdict/strip.h"

#include <ctype.h>
#include <jansson.h>
#include <math.h>
#include <sys/wait.h>

static struct strip strip;

static void set_up(void)
{
    strip_open(&strip);
}

static void leave(void)
{
    strip_close(&strip);
}

TestSuite(verdict, .init = set_up, .fini = leave, .timeout = 120);

/* The edited program is refused by this check, at this line; the line to look at first is that or one before it. */
static const struct tw_check *expect_refusal(enum tw_check_id id, int line)
{
    const struct tw_proof *proof = prove(&strip);
    const struct tw_check *check = &proof->checks[id];

    cr_expect(not(proof->cut));
    cr_expect(not(strip.verdict.cut));
    cr_expect(check->asked && check->failed, "%s notices nothing", tw_check_name(id));
    cr_expect(eq(int, check->first_line, line), "%s: %s", tw_check_name(id), check->note);
    cr_expect(eq(int, tw_proof_look_at(proof), line), "%s", tw_check_name(id));
    if (!check->failed || check->first_line != line || tw_proof_look_at(proof) != line)
        show_failures(proof);
    return check;
}

/* And by no other. */
static const struct tw_check *expect_lone_refusal(enum tw_check_id id, int line)
{
    const struct tw_check *check = expect_refusal(id, line);
    const struct tw_proof *proof = &strip.verdict.proofs[0];

    for (int i = 0; i < TW_CHECK_COUNT; i++)
        cr_expect(i == (int)id || !proof->checks[i].failed, "%s fails too: %s", tw_check_name((enum tw_check_id)i),
                  proof->checks[i].note);
    return check;
}

static void expect_note(const struct tw_check *check, const char *words)
{
    cr_expect(strstr(check->note, words) != NULL, "\"%s\" does not say \"%s\"", check->note, words);
}

static void expect_pass(void)
{
    const struct tw_proof *proof = prove(&strip);

    cr_expect(proof->cut && strip.verdict.cut);
    show_failures(proof);
}

Test(verdict, the_program_as_written_may_be_cut)
{
    const struct tw_proof *proof = prove(&strip);

    show_failures(proof);
    cr_expect(proof->cut);
    cr_expect(eq(int, tw_proof_look_at(proof), 0));
    for (int i = 0; i < TW_CHECK_LIFT; i++)
        cr_expect(proof->checks[i].asked, "%s is not asked", tw_check_name((enum tw_check_id)i));
    cr_expect(not(proof->checks[TW_CHECK_LIFT].asked));
}

/* The strip's face falls by 0.0005, so a bar of 300 mm is raised by 300 sin(atan(0.0005)) = 0.1500 mm. The program cuts at one
 * height: raised by another amount the same text leaves another taper. */
Test(verdict, the_tilt_that_the_head_asks_for_is_the_jobs)
{
    insert(&strip, 3, "(TILTED MOUNT - BUTT END RAISED 0.1500 mm OVER 300.0 mm)");
    expect_pass();
    edit(&strip, 3, "(TILTED MOUNT - BUTT END RAISED 0.1540 mm OVER 300.0 mm)");
    expect_note(expect_lone_refusal(TW_CHECK_CARD, 3), "by the job it is 0.1500 mm");
}

/* ---- two opinions ---- */

/* Were the history's flash half as hot as it is, or the cycle time 1 % off, the check says so with both figures. The strip's
 * second pass: 0.025 mm at 300 mm/min = 5 mm/s. */
Test(verdict, a_flash_that_first_principles_do_not_bear_out_is_told)
{
    struct tw_check check;
    struct tw_second_heat heat = tw_second_heat_open(&strip.job, false, 0.0, &check);
    struct tw_witness_cut cut = { 0.025, 5.0, 28000.0, 1.0, 0.0 };
    struct tw_witness_flash flash = tw_witness_flash(&strip.job, &heat.band, &cut);
    struct tw_history_peak peak = { .edge_factor = flash.edge_factor,
                                    .plate_factor = 1.1,
                                    .depth_mm = 0.025,
                                    .table_mm_per_s = 5.0,
                                    .wheel_mm_per_s = 28000.0 };

    for (int halves = 2; halves >= 1; halves--) {
        tw_check_ask(&check, TW_SECOND_HEAT_APART, "%");
        peak.rise_K = halves / 2.0 * flash.wet_K * 1.1 * flash.edge_factor;
        tw_second_heat_peak(&heat, &peak, (struct tw_spot){ .line = 18 });
        cr_expect(eq(int, check.failed, halves == 1), "%g %%", check.amount);
    }
    cr_expect(epsilon_eq(dbl, check.amount, 50.0, 1e-9));
    cr_expect(eq(int, check.first_line, 18));
    expect_note(&check, "flash: ");
    /* Water at 150 degC is no film: the flash must be the dry one. */
    tw_check_ask(&check, TW_SECOND_HEAT_APART, "%");
    peak.rise_K = flash.wet_K * 1.1 * flash.edge_factor;
    peak.bulk_degC = 150.0;
    tw_second_heat_peak(&heat, &peak, (struct tw_spot){ .line = 18 });
    cr_expect(check.failed);
    expect_note(&check, "by the history");
}

/* 0.01 s and 1 in a thousand may be between both. */
Test(verdict, a_time_that_the_machine_does_not_bear_out_is_told)
{
    const struct tw_proof *proof = prove(&strip);
    struct tw_trace trace;
    struct tw_text text = strip_text(&strip);
    struct tw_check check;

    cr_assert(eq(int, tw_trace_make(&strip.job, 0.0, "strip", text.data, text.length, &trace, NULL), TW_OK));
    cr_assert(eq(int, tw_second_time(&strip.job, &trace, proof->cycle_time_s, &check, NULL), TW_OK));
    cr_expect(not(check.failed), "%s", check.note);
    cr_assert(eq(int, tw_second_time(&strip.job, &trace, 1.01 * proof->cycle_time_s, &check, NULL), TW_OK));
    cr_expect(check.failed);
    expect_note(&check, "the fastest axis, ");
    tw_trace_free(&trace);
    tw_text_free(&text);
}

/* A wheel that takes a third of the energy: the film bears its cuts on either side, twice as deep ones as well. */
static void sharpen(void)
{
    strip.job.wheel.specific_energy_J_per_mm3 /= 3.0;
}

/* ---- text ---- */

Test(verdict, a_line_that_does_not_read_is_named)
{
    edit(&strip, 14, "G1 X40. X41.");
    expect_refusal(TW_CHECK_TEXT, 14);
}

Test(verdict, an_unknown_code_is_named_not_skipped)
{
    insert(&strip, 15, "G68 R5.");
    expect_refusal(TW_CHECK_TEXT, 15);
}

Test(verdict, a_program_cut_short_is_refused_at_its_end)
{
    strip.count = 18;
    expect_refusal(TW_CHECK_TEXT, 18);
    cr_expect(strip.verdict.proofs[0].checks[TW_CHECK_ENDING].failed);
}

/* The zero is touched off at the machine, and is not where the profile says that the station lies. */
Test(verdict, g53_beside_the_part_is_refused)
{
    /* 155 mm from the part's zero, which stands at -40: over nothing, but who knows? */
    edit(&strip, 16, "G53 G0 X115.");
    expect_note(expect_lone_refusal(TW_CHECK_OFFSETS, 16), "moves by machine coordinates (G53)");
}

Test(verdict, g53_goes_where_the_machine_coordinates_say)
{
    /* It only lifts, 120 mm over the pad; then line 17 comes down at x = 40, into the strip. */
    edit(&strip, 16, "G53 G0 Y-100.");
    expect_refusal(TW_CHECK_POWER, 17);
    cr_expect(not(strip.verdict.proofs[0].checks[TW_CHECK_OFFSETS].failed));
    /* Up, and at 120 mm aside to the zero's other side: above everything any place will do. */
    edit(&strip, 16, "G0 X115.");
    edit(&strip, 19, "G53 G0 Y-100.");
    insert(&strip, 20, "G53 G0 X-200.");
    expect_pass();
}

Test(verdict, homing_codes_are_refused_as_the_job_knows_no_such_place)
{
    insert(&strip, 20, "G28 Y30.");
    expect_refusal(TW_CHECK_TEXT, 20);
}

/* ---- card ---- */

Test(verdict, a_stale_digest_is_named)
{
    edit(&strip, 2, "(INPUTS 0123456789abcdef)");
    expect_note(expect_lone_refusal(TW_CHECK_CARD, 2), "plan again");
}

static bool cut_strictly(void)
{
    struct tw_text text = strip_text(&strip);
    struct tw_card card = { strip.name, text.data, text.length };
    struct tw_verdict_settings settings = { .cell_mm = strip.cell_mm, .strict = true };

    tw_verdict_free(&strip.verdict);
    cr_assert(eq(int, tw_verdict_prove(&strip.job, &card, 1, settings, &strip.verdict, NULL), TW_OK));
    tw_text_free(&text);
    return strip.verdict.cut;
}

Test(verdict, half_a_head_is_refused)
{
    edit(&strip, 2, "(INPUTS)");
    cr_expect(prove(&strip)->checks[TW_CHECK_CARD].failed);
    edit(&strip, 2, "(INPUTS %s)", strip.job.digest);
    edit(&strip, 1, "(TANGWRIGHT 0.1.0 - JOB strip)");
    expect_note(&prove(&strip)->checks[TW_CHECK_CARD], "which side");
}

/* Typed by hand it has no head at all: it is proved, and that nobody knows what it was meant for is said. */
Test(verdict, a_program_without_a_head_is_remarked_and_strictly_refused)
{
    leave_out(&strip, 1);
    leave_out(&strip, 1);
    expect_pass();
    cr_expect(eq(int, strip.verdict.proofs[0].remarks[TW_REMARK_HEAD].count, 1));
    cr_expect(not(cut_strictly()));
    cr_expect(strip.verdict.proofs[0].checks[TW_CHECK_CARD].failed);
    cr_expect(strstr(strip.verdict.reasons[0], "Side B") != NULL); /* and a side is missing */
}

/* What is asked follows from the job: no comment takes a check away. */
Test(verdict, a_comment_about_another_stage_changes_nothing)
{
    static const char *const lines[] = { "(STEP 1 OF 2 - relief)", "(STEP 1 OF 4 - roughing)",
                                         "(STEP 3 OF 4 - finishing)" };

    insert(&strip, 3, "");
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        edit(&strip, 3, "%s", lines[i]);
        edit(&strip, 19, "G1 X-5.");
        expect_pass();
        cr_expect(strip.verdict.proofs[0].checks[TW_CHECK_STOCK_LEFT].asked);
        cr_expect(strip.verdict.proofs[0].checks[TW_CHECK_FLATNESS].asked);
        cr_expect(eq(int, strip.verdict.proofs[0].remarks[TW_REMARK_ROLE].count, 1));
        edit(&strip, 19, "G1 X60.");
        expect_refusal(TW_CHECK_STOCK_LEFT, 19);
    }
}

Test(verdict, side_a_used_for_side_b_is_named)
{
    strip.name = "/cards/side-b.nc";
    expect_refusal(TW_CHECK_CARD, 1);
    cr_expect(eq(int, strip.verdict.proofs[0].side, TW_SIDE_B));
}

Test(verdict, the_side_comes_from_the_name_or_else_from_the_head)
{
    static const struct {
        const char *name, *first_line;
        enum tw_side side;
        bool cut;
    } rows[] = {
        { "SIDE_A.NC", "(TANGWRIGHT 0.1.0 - JOB strip - SIDE A)", TW_SIDE_A, true },
        { "0001.nc", "(TANGWRIGHT 0.1.0 - JOB strip - SIDE A)", TW_SIDE_A, true },
        { "0001.nc", "(TANGWRIGHT 0.1.0 - JOB strip - SIDE B)", TW_SIDE_B, true }, /* the strip is symmetric */
        { "side-b.nc", "(TANGWRIGHT 0.1.0 - JOB strip - SIDE B)", TW_SIDE_B, true },
        { "side-a/side_b.nc", "(TANGWRIGHT 0.1.0 - JOB strip - SIDE B)", TW_SIDE_B,
          true }, /* the folder says nothing */
        { "side-a-or-side-b.nc", "(TANGWRIGHT 0.1.0 - JOB strip - SIDE B)", TW_SIDE_B, true },
        { "side-a.nc", "(TANGWRIGHT 0.1.0 - JOB strip - SIDE B)", TW_SIDE_A, false },
    };

    sharpen(); /* side B lies on packing, so its cuts are hotter */
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        strip.name = rows[i].name;
        edit(&strip, 1, "%s", rows[i].first_line);
        cr_expect(eq(int, prove(&strip)->side, rows[i].side), "%s", rows[i].name);
        cr_expect(eq(int, strip.verdict.cut, rows[i].cut), "%s", rows[i].name);
    }
}

Test(verdict, a_side_pushed_to_the_next_comment_by_a_long_name_is_found)
{
    edit(&strip, 1, "(TANGWRIGHT 0.1.0 - JOB a name that fills the whole of the first line of the card -)");
    insert(&strip, 2, "(SIDE A)");
    expect_pass();
}

Test(verdict, a_controller_without_comments_needs_no_head)
{
    strip.job.machine.dialect.comments = false;
    leave_out(&strip, 1);
    leave_out(&strip, 1);
    expect_pass();
    cr_expect(not(strip.verdict.proofs[0].checks[TW_CHECK_CARD].asked));
}

static void expect_same(struct tw_text *text)
{
    struct tw_card card = { "side-a.nc", text->data, text->length };

    tw_verdict_free(&strip.verdict);
    cr_assert(eq(int, tw_verdict_make(&strip.job, &card, 1, 0.25, &strip.verdict, NULL), TW_OK));
    show_failures(&strip.verdict.proofs[0]);
    cr_expect(strip.verdict.cut);
    cr_expect(strip.verdict.proofs[0].checks[TW_CHECK_CARD].asked);
    cr_expect(eq(int, strip.verdict.proofs[0].remarks[TW_REMARK_HEAD].count, 0));
    tw_text_free(text);
}

Test(verdict, numbers_percent_lines_returns_and_blank_lines_change_nothing)
{
    struct tw_text text = { 0 };

    tw_text_print(&text, "\r\n%%\r\n");
    for (int i = 0; i < strip.count; i++)
        tw_text_print(&text, strip.lines[i][0] == '(' ? "%s\r\n" : "n10 %s\r\n", strip.lines[i]);
    tw_text_print(&text, "%%\r\n");
    expect_same(&text);
}

Test(verdict, lines_may_end_with_a_return_alone)
{
    struct tw_text text = { 0 };

    for (int i = 0; i < strip.count; i++)
        tw_text_print(&text, "%s\r", strip.lines[i]);
    expect_same(&text);
}

Test(verdict, lower_case_and_numbered_comments_are_read)
{
    struct tw_text text = { 0 };

    for (int i = 0; i < strip.count; i++)
        tw_text_print(&text, "N%d %s\n", 10 * (i + 1), strip.lines[i]);
    for (size_t i = 0; i < text.length; i++)
        text.data[i] = (char)tolower((unsigned char)text.data[i]);
    expect_same(&text);
}

Test(verdict, a_byte_order_mark_and_umlauts_in_comments_are_remarked)
{
    struct tw_text text = { 0 };

    tw_text_print(&text, "\xef\xbb\xbf");
    for (int i = 0; i < strip.count; i++)
        tw_text_print(&text, "%s\n", strip.lines[i]);
    expect_same(&text);
    cr_expect(eq(int, strip.verdict.proofs[0].remarks[TW_REMARK_TEXT].line, 1));
    insert(&strip, 3,
           "(R\xc3\xbc"
           "cken oben)");
    text = strip_text(&strip);
    expect_same(&text);
    cr_expect(eq(int, strip.verdict.proofs[0].remarks[TW_REMARK_TEXT].line, 3));
}

/* ---- modes ---- */

Test(verdict, each_mode_must_be_set_before_the_first_motion)
{
    static const struct {
        int line;
        const char *without, *says;
    } rows[] = {
        { 3, "G18 G90 G94", "units" },     { 3, "G21 G90 G94", "plane" }, { 3, "G21 G18 G94", "distance mode" },
        { 3, "G21 G18 G90", "feed mode" }, { 4, "G49 G80", "G40" },       { 5, "", "path mode" },
        { 6, "", "work offset" },          { 4, "G40 G80", "G49" },       { 4, "G40 G49", "G80" },
    };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char kept[96];

        strcpy(kept, strip.lines[rows[i].line - 1]);
        edit(&strip, rows[i].line, "%s", rows[i].without);
        expect_note(expect_lone_refusal(TW_CHECK_MODES, 10), rows[i].says);
        edit(&strip, rows[i].line, "%s", kept);
    }
}

Test(verdict, wrong_modes_are_named_where_they_stand)
{
    edit(&strip, 3, "G20 G18 G90 G94");
    expect_note(expect_refusal(TW_CHECK_MODES, 3), "inch");
    edit(&strip, 3, "G21 G18 G90 G94");
    edit(&strip, 5, "G64");
    expect_refusal(TW_CHECK_MODES, 5);
    edit(&strip, 5, "G61");
    insert(&strip, 16, "G64");
    expect_note(expect_lone_refusal(TW_CHECK_MODES, 17), "rounded"); /* from the first motion under it */
}

/* Arcs follow the plane that is told: half a turn about (115, 13) from 5 up to 21 and over, in X and Y of a machine whose
 * table lies in X and Z. */
Test(verdict, any_plane_that_is_told_will_do)
{
    const struct tw_proof_remark *remark;

    edit(&strip, 3, "G21 G17 G90 G94");
    insert(&strip, 13, "G2 X115. Y21. I0. J8. F300.");
    insert(&strip, 14, "G3 X115. Y5. I0. J-8.");
    expect_pass();
    remark = &strip.verdict.proofs[0].remarks[TW_REMARK_PLANE];
    cr_expect(eq(int, remark->count, 1));
    cr_expect(eq(int, remark->line, 3));
    edit(&strip, 3, "G21 G19 G90 G94"); /* there I means nothing */
    expect_refusal(TW_CHECK_TEXT, 13);
}

Test(verdict, stops_tools_and_override_locks_are_named)
{
    static const struct {
        const char *text, *says;
    } rows[] = {
        { "M0", "stop" },
        { "M1", "stop" },
        { "T3", "tool" },
        { "M49", "override" },
    };

    insert(&strip, 19, "");
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        edit(&strip, 19, "%s", rows[i].text);
        expect_note(expect_lone_refusal(TW_CHECK_MODES, 19), rows[i].says);
    }
}

/* Nobody knows where the wheel stands when the program is started. */
Test(verdict, the_wheel_must_be_raised_before_it_goes_anywhere)
{
    leave_out(&strip, 10);
    expect_lone_refusal(TW_CHECK_MODES, 10);
    insert(&strip, 10, "G0 Y30. X115.");
    expect_lone_refusal(TW_CHECK_MODES, 10);
    edit(&strip, 10, "G0 Y10.");
    expect_lone_refusal(TW_CHECK_MODES, 10);
    edit(&strip, 10, "G0 Y30.");
    edit(&strip, 11, "G0 X115."); /* across: never said */
    cr_expect(prove(&strip)->checks[TW_CHECK_MODES].failed);
    cr_expect(eq(int, strip.verdict.proofs[0].checks[TW_CHECK_MODES].first_line, 12));
}

Test(verdict, increments_from_an_unknown_place_are_refused_and_later_ones_run)
{
    edit(&strip, 3, "G21 G18 G91 G94");
    expect_refusal(TW_CHECK_MODES, 10);
    edit(&strip, 3, "G21 G18 G90 G94");
    edit(&strip, 15, "G91 G0 Y1.975"); /* from 3.025 to 5 */
    edit(&strip, 16, "G0 X75.");       /* from 40 to 115 */
    edit(&strip, 17, "G90 G1 Y3.");
    expect_pass();
}

/* ---- offsets, travel, wheel speed ---- */

Test(verdict, an_offset_that_is_no_station_is_refused_where_it_moves)
{
    edit(&strip, 6, "G55");
    expect_note(expect_refusal(TW_CHECK_OFFSETS, 10), "G55");
}

Test(verdict, offsets_changed_by_the_program_are_named)
{
    insert(&strip, 16, "G92 X0.");
    expect_refusal(TW_CHECK_OFFSETS, 16);
    edit(&strip, 16, "G10 L2 P1 X-40. Y-220. Z0.");
    expect_lone_refusal(TW_CHECK_OFFSETS, 16); /* even when it sets what is there already */
}

/* Up ends at machine Y 0, and the part's zero lies at -220: Y300 is 80 mm beyond. */
Test(verdict, an_axis_beyond_its_travel_is_named_with_how_far)
{
    const struct tw_check *check;

    edit(&strip, 10, "G0 Y300.");
    check = expect_lone_refusal(TW_CHECK_TRAVEL, 10);
    cr_expect(epsilon_eq(dbl, check->amount, 80.0, 1e-9));
    expect_note(check, "Y would go to 80.000");
}

/* X11500.000 without its point: the part's zero lies at -40. At 300 mm/min the way there would last a month. */
Test(verdict, a_lost_decimal_point_is_a_place_beyond_the_travel_and_no_work_of_hours)
{
    const struct tw_check *check;

    edit(&strip, 14, "G1 X11500000");
    check = expect_refusal(TW_CHECK_TRAVEL, 14);
    expect_note(check, "X would go to 11499960.000");
}

/* pi * 200 mm * 3600 / 60 s = 37.699 m/s; the wheel is marked 35 m/s. */
Test(verdict, overspeed_is_named_where_it_is_set_even_when_nothing_is_cut)
{
    const struct tw_check *check;

    edit(&strip, 7, "S3600 M3");
    check = expect_refusal(TW_CHECK_WHEEL_SPEED, 7);
    cr_expect(epsilon_eq(dbl, check->amount, 37.6991, 1e-4));
    edit(&strip, 7, "S2674 M3");
    insert(&strip, 20, "S3600");
    expect_lone_refusal(TW_CHECK_WHEEL_SPEED, 20);
}

/* ---- spindle, coolant, feed ---- */

Test(verdict, the_spindle_must_turn_the_right_way_at_the_right_speed_in_a_cut)
{
    static const struct {
        const char *line, *says;
    } rows[] = {
        { "S2674", "stands" },
        { "S2674 M4", "wrong way" },
        { "S2600 M3", "2600 rpm" },
        { "M3", "0 rpm" },
    };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        edit(&strip, 7, "%s", rows[i].line);
        expect_note(expect_refusal(TW_CHECK_SPINDLE, 14), rows[i].says);
    }
}

Test(verdict, the_wheel_must_be_given_time_to_come_up_to_speed)
{
    edit(&strip, 9, "G4 P9.9");
    expect_note(expect_lone_refusal(TW_CHECK_SPINDLE, 14), "9.9 s");
    edit(&strip, 9, "G4 P6.");
    insert(&strip, 9, "G4 P4.");
    expect_pass();
    insert(&strip, 17, "S2674 M3"); /* the same once more is no start */
    expect_pass();
    edit(&strip, 17, "S2670 M3");
    expect_lone_refusal(TW_CHECK_SPINDLE, 20);
}

Test(verdict, a_standing_wheel_that_only_rubs_is_noticed)
{
    insert(&strip, 19, "M5");
    insert(&strip, 20, "G1 X115.");
    expect_note(expect_lone_refusal(TW_CHECK_SPINDLE, 20),
                "stands"); /* back over the finished face: it takes nothing */
    leave_out(&strip, 19);
    expect_pass();
}

Test(verdict, a_dwell_is_read_in_the_controllers_own_unit)
{
    strip.job.machine.dialect.dwell_word = TW_DWELL_P_MILLISECONDS;
    cr_expect(prove(&strip)->checks[TW_CHECK_SPINDLE].failed); /* 10 ms */
    edit(&strip, 9, "G4 P10000");
    edit(&strip, 21, "G4 P10000");
    expect_pass();
    strip.job.machine.dialect.dwell_word = TW_DWELL_X_SECONDS;
    expect_refusal(TW_CHECK_TEXT, 9);
    edit(&strip, 9, "G4 X10.");
    edit(&strip, 21, "G4 X10.");
    expect_pass();
    edit(&strip, 21, "G4 X-1.");
    expect_refusal(TW_CHECK_TEXT, 21);
}

Test(verdict, the_coolant_must_be_the_one_that_the_job_asks_for)
{
    static const char *const wrong[] = { "M7", "M9", "M7 M8" };

    for (size_t i = 0; i < sizeof wrong / sizeof *wrong; i++) {
        edit(&strip, 8, "%s", wrong[i]);
        if (i == 2) { /* two coolant codes on one line are no RS-274 */
            edit(&strip, 8, "M7");
            insert(&strip, 9, "M8");
        }
        expect_lone_refusal(TW_CHECK_COOLANT, i == 2 ? 15 : 14);
    }
    strip.job.coolant.kind = TW_COOLANT_DRY;
    expect_note(&prove(&strip)->checks[TW_CHECK_COOLANT], "dry");
}

/* 30000 mm/min is 500 mm/s; the machine feeds 25 m/min at most. Up may go 3 m/min: 50 mm/s. The least is 5 mm/min. */
Test(verdict, feeds_beyond_the_machine_or_one_axis_are_named)
{
    const struct tw_check *check;

    edit(&strip, 14, "G1 X40. F30000.");
    check = expect_refusal(TW_CHECK_FEED, 14);
    cr_expect(epsilon_eq(dbl, check->amount, 500.0, 1e-9));
    edit(&strip, 14, "G1 X40.");
    edit(&strip, 13, "G1 Y3.025 F4000.");
    edit(&strip, 14, "G1 X40. F300.");
    expect_note(expect_lone_refusal(TW_CHECK_FEED, 13), "Y would have to go at 66.67");
    edit(&strip, 13, "G1 Y3.025 F300.");
    edit(&strip, 17, "G1 Y3. F4.");
    expect_note(expect_refusal(TW_CHECK_FEED, 17), "slowest");
    edit(&strip, 13, "G1 Y3.025");
    expect_refusal(TW_CHECK_TEXT, 13);
}

/* ---- where the wheel goes ---- */

Test(verdict, rapids_into_or_close_over_the_stock_are_named)
{
    edit(&strip, 14, "G0 X40.");
    expect_refusal(TW_CHECK_RAPIDS, 14);
    edit(&strip, 14, "G1 X40.");
    edit(&strip, 15, "G0 Y3.3"); /* 0.3 mm over the stock: rapids keep half of the 1 mm of the approach */
    expect_lone_refusal(TW_CHECK_RAPIDS, 16);
    edit(&strip, 15, "G0 Y3.7");
    expect_pass();
    leave_out(&strip, 15);
    expect_lone_refusal(TW_CHECK_RAPIDS, 15); /* no lift: back over the face just ground */
}

/* At z = 3 a disc of 100 mm radius meets a clamp 15 mm high when its middle is sqrt(100^2 - 88^2) = 47.50 mm away; the
 * clamp ends at x = -84, so from x = -36.5 on. */
Test(verdict, a_clamp_is_met_when_the_discs_circle_reaches_it)
{
    const struct tw_check *check;

    strip.job.fixture.clearance_mm = 0.0; /* the fixture's own is asked for below */
    edit(&strip, 18, "G1 X-35.");
    expect_pass();
    edit(&strip, 18, "G1 X-37.5");
    check = expect_lone_refusal(TW_CHECK_CONTACT, 18);
    cr_expect(strcmp(check->note, "clamp") == 0);
    cr_expect(check->has_place && fabs(check->place_mm[0] + 84.0) < 0.5);
}

/* At x = -35 the disc's axis is 49 mm from the clamp's end and 103 - 15 = 88 mm over its top: hypot(49, 88) - 100 = 0.7224 mm
 * are left of the profile's 2 mm. From x = -32 it is hypot(52, 88) - 100 = 2.2 mm. A rapid keeps its own, smaller clearance. */
Test(verdict, feeds_keep_the_fixtures_clearance)
{
    const struct tw_check *check;

    edit(&strip, 18, "G1 X-32.");
    expect_pass();
    edit(&strip, 18, "G1 X-35.");
    check = expect_lone_refusal(TW_CHECK_CLEARANCE, 18);
    cr_expect(epsilon_eq(dbl, check->amount, 2.0 - (hypot(49.0, 88.0) - 100.0), 1e-6));
    cr_expect(check->has_place && fabs(check->place_mm[0] + 35.0) < 1e-3);
    expect_note(check, "0.722 mm from \"near clamp\"");
    strip.job.fixture.keep_outs[1].sides = TW_IN_PLACE_B; /* it stands there with the other side up only */
    expect_pass();
    strip.job.fixture.keep_outs[1].sides = TW_IN_PLACE_BOTH;
    strip.job.fixture.clearance_mm = 0.7;
    expect_pass();
}

Test(verdict, pin_pad_and_body_are_named_by_their_kind)
{
    struct tw_keep_out *keep_out = &strip.job.fixture.keep_outs[3];

    keep_out->top_mm = 4.0; /* the edge stop at -60, -22 of 6 mm radius: the wheel reaches across to -15 only */
    edit(&strip, 18, "G1 X-60.");
    cr_expect(prove(&strip)->checks[TW_CHECK_CONTACT].failed); /* the clamp */
    strip.job.fixture.keep_outs[1].top_mm = strip.job.fixture.keep_outs[2].top_mm = 0.0;
    edit(&strip, 18, "G1 X-5.");
    insert(&strip, 19, "G0 Y30.");
    insert(&strip, 20, "G0 X-60. Z5."); /* across is -Z */
    insert(&strip, 21, "G1 Y3.5 F300.");
    expect_note(expect_refusal(TW_CHECK_CONTACT, 21), "pin");
    keep_out->kind = TW_KEEP_OUT_BODY;
    expect_note(expect_refusal(TW_CHECK_CONTACT, 21), "fixture body");
    keep_out->kind = TW_KEEP_OUT_PAD;
    expect_note(expect_refusal(TW_CHECK_CONTACT, 21), "pad");
}

/* A flange 80 mm across reaches down to 60 mm over the wheel's lowest line. */
Test(verdict, the_spindle_nose_counts)
{
    struct tw_keep_out *keep_out = &strip.job.fixture.keep_outs[3];

    keep_out->top_mm = 64.0; /* beside the wheel, but under the spindle once the wheel is at z = 3 */
    for (size_t i = 0; i < keep_out->plan.count; i++) {
        keep_out->plan.points[i].x_mm += 120.0; /* to x = 60 */
        keep_out->plan.points[i].y_mm += 52.0;  /* to y = 30: from 24 on, the wheel ends at 15 */
    }
    edit(&strip, 10, "G0 Y100.");
    edit(&strip, 19, "G0 Y100.");
    expect_note(expect_refusal(TW_CHECK_CONTACT, 14), "pin");
}

/* Going 20 um below the face at x = -5: the blade's own face there lies 5 mm * m = 2.5 um lower, and 2 um are allowed. */
Test(verdict, the_blade_ahead_of_the_taper_is_guarded)
{
    insert(&strip, 19, "G1 Y2.980");
    cr_expect(prove(&strip)->checks[TW_CHECK_CONTACT].failed);
    cr_expect(eq(int, strip.verdict.proofs[0].checks[TW_CHECK_CONTACT].first_line, 19));
    cr_expect(strcmp(strip.verdict.proofs[0].checks[TW_CHECK_CONTACT].note, "blade") == 0);
    cr_expect(epsilon_eq(dbl, strip.verdict.proofs[0].checks[TW_CHECK_CONTACT].amount, 0.0155, 2e-4));
}

/* The strip is ground well away from the edges of plate and table, which the profile does not tell of. */
Test(verdict, the_pads_plane_is_solid_wherever_the_wheel_goes)
{
    const struct tw_check *check;

    insert(&strip, 16, "G0 X330.");
    insert(&strip, 17, "G1 Y0.1 F300.");
    insert(&strip, 18, "G0 Y5.");
    expect_pass(); /* over the table's end, a tenth above the plane */
    edit(&strip, 17, "G1 Y-0.25");
    check = expect_lone_refusal(TW_CHECK_CONTACT, 17);
    expect_note(check, "pads' plane");
    cr_expect(epsilon_eq(dbl, check->amount, 0.25, 1e-6));
    edit(&strip, 17, "G0 Y-5."); /* the sign of a lift */
    cr_expect(prove(&strip)->checks[TW_CHECK_CONTACT].failed);
    cr_expect(strip.verdict.proofs[0].checks[TW_CHECK_RAPIDS].failed);
    edit(&strip, 17, "G0 Y0.3"); /* closer to it than half a millimetre */
    expect_lone_refusal(TW_CHECK_RAPIDS, 17);
}

/* Stations may lie at different heights: beside a part its own plane counts, elsewhere the lowest. */
Test(verdict, each_part_has_the_plane_of_its_own_pads)
{
    struct tw_station stations[2] = { strip.job.fixture.stations[0], strip.job.fixture.stations[0] };
    struct tw_station *own = strip.job.fixture.stations;

    stations[1].work_offset = 2;
    stations[1].up_mm -= 20.0;
    strip.job.fixture.stations = stations;
    strip.job.fixture.station_count = 2;
    strip.job.parts = 2;
    strip.job.machine.across.travel_max_mm = 400.0;
    insert(&strip, 16, "G0 X115. Z250.");
    insert(&strip, 17, "G1 Y-10. F300."); /* 250 mm beside the parts, which lie one above the other */
    cr_expect(not(prove(&strip)->checks[TW_CHECK_CONTACT].failed &&
                  strip.verdict.proofs[0].checks[TW_CHECK_CONTACT].first_line == 17));
    edit(&strip, 17, "G1 Y-21. F300.");
    prove(&strip);
    cr_expect(strip.verdict.proofs[0].checks[TW_CHECK_CONTACT].failed);
    strip.job.fixture.stations = own;
    strip.job.fixture.station_count = 1;
}

/* ---- a blank of its own on each station ---- */

/* Two stations 60 mm apart across, and the program for both: at the second one heights are `higher_mm` higher. */
static void load_two(struct tw_station stations[2], struct tw_loaded_blank *blanks, double higher_mm)
{
    stations[0] = stations[1] = strip.job.fixture.stations[0];
    stations[1].work_offset = 2;
    stations[1].across_mm += 60.0;
    strip.job.fixture.stations = stations;
    strip.job.fixture.station_count = 2;
    strip.job.parts = 2;
    strip.job.blanks = blanks;
    strip.job.blank_count = 2;
    edit(&strip, 18, "G1 X-5.");
    for (int i = 0; i < 11; i++)
        insert(&strip, 20, "");
    edit(&strip, 20, "G55");
    edit(&strip, 21, "G0 X115. Z0.");
    edit(&strip, 22, "G0 Y30.");
    edit(&strip, 23, "G0 Y5.");
    edit(&strip, 24, "G1 Y%.3f F300.", 3.025 + higher_mm);
    edit(&strip, 25, "G1 X40.");
    edit(&strip, 26, "G0 Y5.");
    edit(&strip, 27, "G0 X115.");
    edit(&strip, 28, "G1 Y%.3f", 3.0 + higher_mm);
    edit(&strip, 29, "G1 X-5.");
    edit(&strip, 30, "G0 Y30.");
}

/* The job owns neither. */
static void unload(struct tw_station *own)
{
    strip.job.fixture.stations = own;
    strip.job.fixture.station_count = 1;
    strip.job.blanks = NULL;
    strip.job.blank_count = 0;
}

/* 0.012 mm between both, so each program is right for its own blank and, the blanks changed over, 0.012 mm too low for one of
 * them and too high for the other. The cosine of the taper's angle is 1 to 1e-7. */
Test(verdict, each_station_is_ground_by_the_blank_that_lies_on_it)
{
    struct tw_station stations[2], *own = strip.job.fixture.stations;
    struct tw_loaded_blank blanks[2] = { { .thickness_mm = 3.0 }, { .thickness_mm = 3.012 } }, first = blanks[0];
    const struct tw_check *checks;

    load_two(stations, blanks, 0.012);
    strip.job.heights = TW_HEIGHTS_BY_BLANK;
    expect_pass();
    cr_expect(epsilon_eq(dbl, strip.verdict.proofs[0].removed_mm3, 2.0 * 50.0, 1.0)); /* 0.05 * 100 / 2 * 20 each */
    blanks[0] = blanks[1];
    blanks[1] = first;
    checks = prove(&strip)->checks;
    cr_expect(not(strip.verdict.cut));
    cr_expect(checks[TW_CHECK_GOUGE].failed && checks[TW_CHECK_GOUGE].part == 1);
    cr_expect(epsilon_eq(dbl, checks[TW_CHECK_GOUGE].amount, 0.012, 2e-4));
    cr_expect(checks[TW_CHECK_STOCK_LEFT].failed && checks[TW_CHECK_STOCK_LEFT].part == 2);
    cr_expect(epsilon_eq(dbl, checks[TW_CHECK_STOCK_LEFT].amount, 0.012, 2e-4));
    unload(own);
}

/* The same motion told from the first part's zero, 60 mm aside: right only as long as both zeros lie as the profile says. */
Test(verdict, a_cut_that_counts_from_another_parts_zero_is_named)
{
    struct tw_station stations[2], *own = strip.job.fixture.stations;
    struct tw_loaded_blank blanks[2] = { { .thickness_mm = 3.0 }, { .thickness_mm = 3.0 } };

    load_two(stations, blanks, 0.0);
    expect_pass();
    edit(&strip, 29, "G54 G1 X-5. Z60.");
    expect_note(expect_lone_refusal(TW_CHECK_OFFSETS, 29), "G54 is in force where part 2 is cut, which lies at G55");
    unload(own);
}

/* One height for both: off the blank that is 0.01 mm thicker come 0.01 mm more over all the tang, 0.01 * 100 * 20 mm3, and a little
 * ahead of it, up to where the wheel turns at x = -5: (0.01 * 5 - 0.0005 * 25 / 2) * 20. */
Test(verdict, a_load_is_proved_on_every_blank_as_it_was_measured)
{
    struct tw_station stations[2], *own = strip.job.fixture.stations;
    struct tw_loaded_blank blanks[2] = { { .thickness_mm = 3.0 }, { .thickness_mm = 3.01 } };

    load_two(stations, blanks, 0.0);
    strip.job.taper.band_mm = 0.01;
    cr_expect(epsilon_eq(dbl, prove(&strip)->removed_mm3, 50.0 + 50.0 + 20.0 + 0.875, 1.0));
    strip.job.blank_count = 0;
    cr_expect(epsilon_eq(dbl, prove(&strip)->removed_mm3, 50.0 + 50.0, 1.0));
    unload(own);
}

/* 1 mm into where the ricasso must be, 20 mm ahead of the taper start: the drawing shows nothing there. */
Test(verdict, steel_is_assumed_ahead_of_a_tang_drawn_alone)
{
    const struct tw_check *check;

    strip.job.part.blade.outer.count = 0;
    strip.job.blade.length_mm = 0.0;
    expect_pass();
    insert(&strip, 19, "G1 X-20. Y2. F300.");
    check = &prove(&strip)->checks[TW_CHECK_CONTACT];
    cr_expect(check->failed);
    cr_expect(eq(int, check->first_line, 19));
    expect_note(check, "assumed ahead of the taper start");
    /* The disc's lowest point is at x = -20 and the face there at 3 mm, less 20 mm * m; 2 um of it are allowed. */
    cr_expect(epsilon_eq(dbl, check->amount, 0.988, 2e-4));
    edit(&strip, 19, "G0 Y30.");
    insert(&strip, 20, "G0 X-250. Z-60.");
    insert(&strip, 21, "G1 Y2. F300."); /* far out, and beside the tang */
    cr_expect(eq(int, prove(&strip)->checks[TW_CHECK_CONTACT].first_line, 21));
}

/* 900 mm behind the butt stands a block 60 mm high; the wheel is fed through it. */
Test(verdict, a_body_far_from_the_tang_counts)
{
    struct tw_keep_out *keep_out = &strip.job.fixture.keep_outs[3];

    keep_out->kind = TW_KEEP_OUT_BODY;
    keep_out->top_mm = 60.0;
    for (size_t i = 0; i < keep_out->plan.count; i++)
        keep_out->plan.points[i].x_mm += 1060.0; /* to x = 1000, y = -22 */
    strip.job.machine.along.travel_max_mm = 1500.0;
    insert(&strip, 16, "G0 Y100.");
    insert(&strip, 17, "G0 X850. Z22.");
    insert(&strip, 18, "G1 Y30. F300.");
    insert(&strip, 19, "G0 Y100.");
    insert(&strip, 20, "G0 X115. Z0.");
    insert(&strip, 21, "G0 Y5.");
    cr_expect(not(prove(&strip)->checks[TW_CHECK_CONTACT].failed));
    insert(&strip, 19, "G1 X1100.");
    expect_note(&prove(&strip)->checks[TW_CHECK_CONTACT], "fixture body");
    cr_expect(eq(int, strip.verdict.proofs[0].checks[TW_CHECK_CONTACT].first_line, 19));
}

/* Without the first pass the second takes all 0.05 mm at the butt; the wheel may take 0.03. */
Test(verdict, a_cut_too_deep_is_named_with_its_depth)
{
    const struct tw_check *check;

    sharpen(); /* else it burns as well */
    leave_out(&strip, 14);
    check = expect_lone_refusal(TW_CHECK_DEPTH, 17);
    cr_expect(epsilon_eq(dbl, check->amount, 0.05, 2e-4));
    cr_expect(check->has_place);
}

/* The wheel may pass over twice as much width at four times the speed only with the power: 150 mm/s, 0.025 mm, 20 mm
 * are 75 mm3/s, and no steel is ground by this wheel below 13.8 J/mm3: more than 1035 W. */
/* The finishing layers are those that end nearest to the face, whatever the head says of them. */
Test(verdict, the_last_layers_keep_to_the_jobs_own_infeed)
{
    const struct tw_check *check;

    strip.job.order = TW_ORDER_A_THEN_B; /* this program roughs and finishes */
    strip.job.finish.layers = 1;
    strip.job.finish.infeed_mm = 0.005;
    check = expect_lone_refusal(TW_CHECK_FINISHING, 18); /* the last pass takes 0.025 mm, as deep as the first */
    cr_expect(epsilon_eq(dbl, check->amount, 0.025, 1e-4));
    expect_note(check, "finish.infeed, 0.005 mm");
    insert(&strip, 17, "G1 Y3.005"); /* roughing in two, then 0.005 mm */
    insert(&strip, 18, "G1 X-5.");
    insert(&strip, 19, "G0 Y5.");
    insert(&strip, 20, "G0 X115.");
    expect_pass();
    cr_expect(epsilon_eq(dbl, strip.verdict.proofs[0].checks[TW_CHECK_FINISHING].amount, 0.005, 1e-4));
    strip.job.finish.layers = 2; /* the one before takes 0.02 mm */
    expect_lone_refusal(TW_CHECK_FINISHING, 18);
    strip.job.finish.infeed_mm = 0.02;
    expect_pass();
    strip.job.finish.layers = 3; /* there are three levels: 0.025, 0.02 and 0.005 mm deep */
    expect_lone_refusal(TW_CHECK_FINISHING, 14);
}

Test(verdict, power_and_holding_have_their_limits)
{
    const struct tw_check *power = &prove(&strip)->checks[TW_CHECK_POWER], *holding;

    cr_expect(lt(dbl, power->amount, 500.0));
    edit(&strip, 14, "G1 X40. F9000.");
    edit(&strip, 15, "G0 Y5. F300.");
    power = expect_refusal(TW_CHECK_POWER, 14);
    cr_expect(gt(dbl, power->amount, 1035.0));
    holding = &strip.verdict.proofs[0].checks[TW_CHECK_HOLDING];
    /* Force is power over the wheel's speed: pi * 200 mm * 2674 rpm = 27.999 m/s. */
    cr_expect(epsilon_eq(dbl, holding->amount, power->amount / 27.9996, 0.01));
    strip.job.fixture.clamp_force_N = 2.0 * holding->amount; /* times friction 0.15, over a safety of 2 */
    strip.job.machine.spindle_power_W = 1e5;
    expect_refusal(TW_CHECK_HOLDING, 14);
}

/* Straight down onto the face all of the contact cuts at once: 20 mm times the chord of 0.02 mm in a circle of 100 mm
 * radius, 2 sqrt(2 * 100 * 0.02) = 4 mm, at 50 mm/s: 80 mm2 * 50 = 4000 mm3/s, at least 13.8 J each. */
Test(verdict, sinking_fast_into_the_stock_takes_power)
{
    leave_out(&strip, 14);
    edit(&strip, 11, "G0 X60. Z0.");
    edit(&strip, 13, "G1 Y3.01 F3000."); /* 0.03 mm stand over the target there: 0.02 come off */
    insert(&strip, 14, "G1 X55. F300.");
    cr_expect(gt(dbl, prove(&strip)->checks[TW_CHECK_POWER].amount, 13.8 * 0.5 * 4000.0));
    cr_expect(eq(int, strip.verdict.proofs[0].checks[TW_CHECK_POWER].first_line, 13));
}

Test(verdict, the_temperature_is_named_where_the_limit_is_passed)
{
    double peak_degC = prove(&strip)->checks[TW_CHECK_TEMPERATURE].amount;

    cr_expect(gt(dbl, peak_degC, 26.0));
    cr_expect(epsilon_eq(dbl, strip.verdict.proofs[0].peak_degC, peak_degC, 1e-12));
    strip.job.limits.tempering_degC = peak_degC + strip.job.limits.margin_K + 0.01;
    expect_pass();
    strip.job.limits.tempering_degC -= 0.02;
    cr_expect(prove(&strip)->checks[TW_CHECK_TEMPERATURE].failed);
    cr_expect(gt(int, strip.verdict.proofs[0].checks[TW_CHECK_TEMPERATURE].first_line, 13));
}

/* A wheel that is not calibrated is judged like a calibrated one that takes 1.25 times the energy, and what is expected of
 * it is what a calibrated one does with its own: but for a hundredth of a kelvin, as chips carry off unlike parts of unlike cuts.
 * The flash itself is checked by hand in test_heat.c. */
Test(verdict, a_wheel_that_is_not_calibrated_is_judged_with_its_reserve)
{
    double own_degC = prove(&strip)->peak_degC, dull_degC;
    struct tw_wheel wheel = strip.job.wheel;
    const struct tw_check *check;

    cr_expect(epsilon_eq(dbl, strip.verdict.proofs[0].reserve_degC, own_degC, 1e-12));
    strip.job.wheel.specific_energy_J_per_mm3 *= 1.25;
    strip.job.wheel.min_specific_energy_J_per_mm3 *= 1.25;
    dull_degC = prove(&strip)->peak_degC;
    cr_expect(gt(dbl, dull_degC, own_degC + 5.0));
    strip.job.wheel = wheel;
    strip.job.wheel.calibrated = false;
    check = &prove(&strip)->checks[TW_CHECK_TEMPERATURE];
    cr_expect(epsilon_eq(dbl, check->amount, dull_degC, 1e-9));
    cr_expect(epsilon_eq(dbl, strip.verdict.proofs[0].reserve_degC, dull_degC, 1e-9));
    cr_expect(epsilon_eq(dbl, strip.verdict.proofs[0].peak_degC, own_degC, 0.01));
    strip.job.limits.tempering_degC = (own_degC + dull_degC) / 2.0 + strip.job.limits.margin_K;
    cr_expect(prove(&strip)->checks[TW_CHECK_TEMPERATURE].failed);
    strip.job.limits.energy_reserve = 1.0;
    expect_pass();
    strip.job.limits.energy_reserve = 1.25;
    strip.job.wheel.calibrated = true;
    expect_pass();
}

/* Hollomon and Jaffe (1945): P = T (C + log10 t), so the temperature that does in time t0 as much as T in t is
 * T (C + log10 t) / (C + log10 t0). In contact with the wheel a spot is for no longer than twice the real contact length of
 * the deepest pass, 1.5 sqrt(200 mm * 0.025 mm) = 3.4 mm, over 5 mm/s, in all; and for no shorter than once a fifth of it. */
static double same_in_degC(double degC, double time_s, double own_time_s)
{
    double c = TW_TEMPER_CONSTANT;

    return (degC + 273.15) * (c + log10(time_s / 3600.0)) / (c + log10(own_time_s / 3600.0)) - 273.15;
}

/* What a pass puts into the plate counts for the next one, so where one ends must not be told from where a line does. */
Test(verdict, a_pass_written_in_several_lines_is_as_hot_as_in_one)
{
    double whole_degC = prove(&strip)->peak_degC, time_s = strip.verdict.proofs[0].cycle_time_s;

    edit(&strip, 18, "G1 X71.2");
    insert(&strip, 19, "X70.");
    insert(&strip, 20, "X33.3333");
    insert(&strip, 21, "X-5.");
    expect_pass();
    cr_expect(epsilon_eq(dbl, strip.verdict.proofs[0].peak_degC, whole_degC, 0.05));
    cr_expect(epsilon_eq(dbl, strip.verdict.proofs[0].cycle_time_s, time_s, 1e-6));
    cr_expect(eq(int, strip.verdict.proofs[0].checks[TW_CHECK_TEMPERATURE].line, 18)); /* near the butt */
}

Test(verdict, the_equivalent_limit_adds_the_flashes_up_as_tempering)
{
    const struct tw_proof *proof;
    double contact_s = 1.5 * sqrt(200.0 * 0.025) / 5.0, hottest_degC, tempered_degC;

    strip.job.steel.temper_constant = TW_TEMPER_CONSTANT;
    strip.job.limits.flash = TW_FLASH_EQUIVALENT;
    edit(&strip, 14, "G1 X40. F600.");
    edit(&strip, 18, "G1 X-5. F300.");
    strip.job.coolant.boiling_degC = 30.0; /* no film lasts */
    strip.job.wheel.specific_energy_J_per_mm3 *= 0.75;
    strip.job.machine.spindle_power_W = 1e5;
    strip.job.fixture.clamp_force_N = 1e5;
    proof = prove(&strip);
    hottest_degC = proof->peak_degC;
    tempered_degC = proof->heat.tempered_degC;
    cr_expect(proof->checks[TW_CHECK_TEMPERING].asked);
    cr_expect(epsilon_eq(dbl, proof->checks[TW_CHECK_TEMPERATURE].limit, 500.0, 1e-9));
    cr_expect(lt(dbl, tempered_degC, same_in_degC(hottest_degC, 2.0 * contact_s, strip.job.limits.tempering_s)));
    cr_expect(gt(dbl, tempered_degC, same_in_degC(hottest_degC - 25.0, 0.2 * contact_s, strip.job.limits.tempering_s)));
    strip.job.limits.tempering_degC = tempered_degC + strip.job.limits.margin_K + 0.01;
    cr_expect(prove(&strip)->cut);
    cr_expect(not(strip.verdict.proofs[0].heat.strict_allows));
    strip.job.limits.tempering_degC -= 0.02;
    expect_lone_refusal(TW_CHECK_TEMPERING, 18);
}

Test(verdict, a_gouge_is_named_with_its_depth)
{
    const struct tw_check *check;

    edit(&strip, 17, "G1 Y2.990");
    check = expect_refusal(TW_CHECK_GOUGE, 18);
    cr_expect(epsilon_eq(dbl, check->amount, 0.010, 2e-5));
    edit(&strip, 17, "G1 Y2.999"); /* 1 um: within the rounding that is allowed */
    expect_pass();
}

/* Stopped at x = 60 the second pass leaves 0.025 mm standing there. The last line that worked on it is 18. */
Test(verdict, stock_left_is_named_with_its_place_and_the_last_pass_over_it)
{
    const struct tw_check *check;

    edit(&strip, 18, "G1 X60.");
    check = expect_refusal(TW_CHECK_STOCK_LEFT, 18);
    cr_expect(epsilon_eq(dbl, check->amount, 0.025, 2e-4));
    cr_expect(check->has_place && check->place_mm[0] > 49.0 && check->place_mm[0] < 60.0);
    cr_expect(strip.verdict.proofs[0].checks[TW_CHECK_FLATNESS].failed);
}

/* 8 um left of the target at one end and 3.5 um at the other: high and low are 4.5 um apart. */
Test(verdict, flatness_is_the_highest_less_the_lowest)
{
    const struct tw_check *check;

    edit(&strip, 17, "G1 Y3.0035");
    edit(&strip, 18, "G1 X40.");
    insert(&strip, 19, "G1 Y3.008");
    insert(&strip, 20, "G1 X-5.");
    check = &prove(&strip)->checks[TW_CHECK_FLATNESS];
    cr_expect(not(check->failed));
    /* Ahead of x = 7 nothing is cut, so the lowest is the uncut start: 0; the highest is 8 um. */
    cr_expect(epsilon_eq(dbl, check->amount, 0.008, 1.5e-4));
    strip.job.finish.flatness_mm = 0.007;
    cr_expect(prove(&strip)->checks[TW_CHECK_FLATNESS].failed);
    cr_expect(strip.verdict.proofs[0].checks[TW_CHECK_STOCK_LEFT].failed);
}

/* ---- remarks ---- */

static void expect_remark(enum tw_remark_kind kind, int line)
{
    const struct tw_proof_remark *remark;

    prove(&strip);
    remark = &strip.verdict.proofs[0].remarks[kind];
    cr_expect(gt(int, remark->count, 0), "%s is not remarked", tw_remark_name(kind));
    cr_expect(eq(int, remark->line, line), "%s: %s", tw_remark_name(kind), remark->text);
}

static void expect_no_remark(void)
{
    prove(&strip);
    for (int kind = 0; kind < TW_REMARK_COUNT; kind++)
        cr_expect(eq(int, strip.verdict.proofs[0].remarks[kind].count, 0), "%s: %s",
                  tw_remark_name((enum tw_remark_kind)kind), strip.verdict.proofs[0].remarks[kind].text);
}

Test(verdict, a_wheel_standing_or_creeping_on_the_steel_is_remarked)
{
    expect_no_remark();
    edit(&strip, 14, "G1 X80."); /* there 0.015 mm come off */
    insert(&strip, 15, "G4 P60.");
    expect_remark(TW_REMARK_STANDS, 15);
    edit(&strip, 15, "G4 P0.5");
    insert(&strip, 20, "G1 X60. F5."); /* a spark-out: 5 mm/min are 0.083 mm/s */
    expect_remark(TW_REMARK_RUBS, 20);
}

/* RS-274 leaves it open which way a rapid takes between its ends (Kramer, Proctor, Messina 2000, NISTIR 6556, 3.5.1: each axis may
 * go by itself; from memory). Seconds taken for milliseconds make waits a thousand times too long. */
Test(verdict, a_rapid_down_and_aside_and_a_wait_in_another_unit_are_remarked)
{
    edit(&strip, 15, "G0 Y30.");
    expect_no_remark();
    edit(&strip, 16, "G0 X115. Y5.");
    expect_remark(TW_REMARK_SLANTING, 16);
    cr_expect(strip.verdict.cut);
    edit(&strip, 16, "G0 X115.");
    insert(&strip, 16, "G4 P1000.");
    expect_remark(TW_REMARK_WAITS, 16);
}

/* What a wheel has soaked up it throws out while it turns on without coolant: common practice, no source. */
Test(verdict, a_wheel_that_stops_full_of_coolant_is_remarked)
{
    expect_no_remark();
    edit(&strip, 21, "G4 P0.5");
    expect_remark(TW_REMARK_SOAKED, 22);
    edit(&strip, 20, "M5");
    edit(&strip, 21, "G4 P10.");
    edit(&strip, 22, "M9");
    expect_remark(TW_REMARK_SOAKED, 20);
}

/* The same where the program has no word for the coolant, and somebody turns it off when the wheel has moved for the last time:
 * then the wait after that move is what counts. */
Test(verdict, a_wheel_that_stops_full_of_coolant_by_hand_is_remarked)
{
    strip.job.machine.dialect.flood_code = strip.job.machine.dialect.mist_code = 0;
    edit(&strip, 8, "(TURN THE COOLANT ON BY HAND NOW)");
    expect_no_remark();
    edit(&strip, 21, "G4 P0.5");
    expect_remark(TW_REMARK_SOAKED, 22);
}

Test(verdict, a_feed_over_the_blade_or_beside_the_part_is_remarked)
{
    insert(&strip, 20, "G1 X-104.6535 F300."); /* 27 mm over it, but no pass has business there */
    expect_remark(TW_REMARK_OVER_BLADE, 20);
    edit(&strip, 20, "G1 X200. F300.");
    expect_remark(TW_REMARK_ASTRAY, 20);
}

/* Rapids keep 0.5 mm away from the blade, half the approach; a feed may come as near as a run-out has to: 2 mm of overtravel,
 * and 20 mm in which the face falls by the flatness of 0.01 mm. */
Test(verdict, a_feed_low_over_the_blade_ahead_of_the_taper_start_is_remarked)
{
    strip.job.fixture.clearance_mm = 0.9; /* at x = -35 the near clamp is hypot(49, 88.3) - 100 = 0.99 mm away */
    insert(&strip, 19, "G1 X-21. Y3.3");
    cr_expect(eq(int, prove(&strip)->remarks[TW_REMARK_LOW_OVER_BLADE].count, 0));
    edit(&strip, 19, "G1 X-35. Y3.3");
    expect_remark(TW_REMARK_LOW_OVER_BLADE, 19);
    cr_expect(strip.verdict.cut);
    edit(&strip, 19, "G1 X-35. Y3.6"); /* from 3 at x = -5 it rises to 3.5 at x = -30 */
    expect_remark(TW_REMARK_LOW_OVER_BLADE, 19);
    insert(&strip, 19, "G1 Y4.5");
    cr_expect(eq(int, prove(&strip)->remarks[TW_REMARK_LOW_OVER_BLADE].count, 0));
}

/* A cup's middle runs its radius and the overtravel ahead of a level face, and no farther: 50 mm and 2 mm. */
Test(verdict, a_cup_low_over_the_blade_within_its_own_diameter_is_remarked)
{
    strip.job.wheel.kind = TW_WHEEL_CUP;
    strip.job.wheel.diameter_mm = 100.0;
    strip.job.wheel.rim_width_mm = strip.job.wheel.rim_contact_mm = 10.0;
    strip.job.machine.wheel_overhang_mm = 60.0;
    edit(&strip, 18, "G1 X-51.");
    cr_expect(eq(int, prove(&strip)->remarks[TW_REMARK_LOW_OVER_BLADE].count, 0));
    edit(&strip, 18, "G1 X-75.");
    expect_remark(TW_REMARK_LOW_OVER_BLADE, 18);
    edit(&strip, 18, "G1 X-5.");
    insert(&strip, 19, "G1 Y3.4");
    insert(&strip, 20, "G1 X-75.");
    expect_remark(TW_REMARK_LOW_OVER_BLADE, 20);
}

/* ---- the end ---- */

Test(verdict, the_end_must_leave_everything_off_and_the_wheel_up)
{
    leave_out(&strip, 20);
    expect_note(expect_lone_refusal(TW_CHECK_ENDING, 22), "coolant");
    insert(&strip, 20, "M9");
    leave_out(&strip, 22);
    expect_note(expect_lone_refusal(TW_CHECK_ENDING, 22), "spindle");
    insert(&strip, 22, "M5");
    edit(&strip, 19, "G0 Y10."); /* the clamps reach up to 15 */
    expect_note(expect_lone_refusal(TW_CHECK_ENDING, 23), "lower");
    edit(&strip, 19, "G0 Y30.");
    leave_out(&strip, 23);
    insert(&strip, 1, "%");
    insert(&strip, 24, "%");
    expect_note(expect_lone_refusal(TW_CHECK_ENDING, 24), "no end");
}

/* ---- what was not shown ---- */

static void prove_two(const char *first, const char *second)
{
    struct tw_text text = strip_text(&strip);
    struct tw_card cards[2] = { { first, text.data, text.length }, { second, text.data, text.length } };

    tw_verdict_free(&strip.verdict);
    cr_assert(eq(int, tw_verdict_make(&strip.job, cards, second ? 2 : 1, 0.25, &strip.verdict, NULL), TW_OK));
    tw_text_free(&text);
}

/* The last line of what a person reads; the caller's. */
static char *last_line(void)
{
    char *table, *line;

    cr_assert(eq(int, tw_verdict_table(&strip.job, &strip.verdict, &table, NULL), TW_OK));
    table[strlen(table) - 1] = '\0';
    line = tw_copy_string(strrchr(table, '\n') + 1);
    free(table);
    return line;
}

Test(verdict, one_side_alone_does_not_read_as_the_whole_job)
{
    char *line;

    sharpen();            /* side B lies on packing, so its cuts are hotter */
    leave_out(&strip, 1); /* no head: the names say the side */
    leave_out(&strip, 1);
    prove_two("side-a.nc", "side-b.nc");
    cr_expect(strip.verdict.cut && strip.verdict.unproved[0] == '\0');
    line = last_line();
    cr_expect(strncmp(line, "all ", 4) == 0, "%s", line);
    free(line);
    for (int side = 0; side < 2; side++) {
        prove_two(side ? "side-b.nc" : "side-a.nc", NULL);
        cr_expect(strip.verdict.cut);
        cr_expect(strcmp(strip.verdict.unproved, side ? "side A's taper" : "side B's taper") == 0);
        line = last_line();
        cr_expect(strncmp(line, "PROVED IN PART: ", 16) == 0, "%s", line);
        cr_expect(strstr(line, strip.verdict.unproved) != NULL, "%s", line);
        free(line);
    }
}

/* ---- lifted programs ---- */

static void lift_by_10_mm(void)
{
    insert(&strip, 3, "(LIFTED BY 10.0000 mm - CUTS AIR ONLY)");
    edit(&strip, 11, "G0 Y40.");
    edit(&strip, 13, "G0 Y15.");
    edit(&strip, 14, "G1 Y13.025 F300.");
    edit(&strip, 16, "G0 Y15.");
    edit(&strip, 18, "G1 Y13.");
    edit(&strip, 20, "G0 Y40.");
}

Test(verdict, a_lifted_program_touches_nothing_and_is_else_the_same)
{
    lift_by_10_mm();
    expect_pass();
    cr_expect(strip.verdict.proofs[0].checks[TW_CHECK_LIFT].asked);
    cr_expect(epsilon_eq(dbl, strip.verdict.proofs[0].lift_mm, 10.0, 1e-9));
    edit(&strip, 19, "G1 X60."); /* the pass ends early: lowered again it leaves stock */
    expect_refusal(TW_CHECK_STOCK_LEFT, 19);
    edit(&strip, 19, "G1 X-5.");
    edit(&strip, 18, "G1 Y3.");
    cr_expect(prove(&strip)->checks[TW_CHECK_LIFT].failed); /* one height not lifted */
    cr_expect(eq(int, strip.verdict.proofs[0].checks[TW_CHECK_LIFT].first_line, 19));
}

/* Nothing but the file's name can tell it then, and the heights say by how much. */
Test(verdict, without_a_head_the_name_and_the_heights_tell_a_raised_program)
{
    lift_by_10_mm();
    for (int line = 0; line < 3; line++)
        leave_out(&strip, 1);
    for (int comments = 0; comments < 2; comments++) {
        strip.job.machine.dialect.comments = comments > 0;
        strip.name = "air-side-a.nc";
        expect_pass();
        cr_expect(epsilon_eq(dbl, strip.verdict.proofs[0].lift_mm, 10.0, 1e-9));
        cr_expect(strip.verdict.proofs[0].checks[TW_CHECK_LIFT].asked);
        strip.name = "side-a.nc"; /* called as one that cuts, it leaves all the stock */
        cr_expect(not(prove(&strip)->cut));
        cr_expect(strip.verdict.proofs[0].checks[TW_CHECK_STOCK_LEFT].failed);
    }
}

Test(verdict, a_program_called_air_that_cuts_is_caught)
{
    strip.name = "air-side-a.nc";
    expect_note(expect_lone_refusal(TW_CHECK_CARD, 0), "cuts only air");
    leave_out(&strip, 1);
    leave_out(&strip, 1);
    expect_note(expect_lone_refusal(TW_CHECK_CARD, 0), "cuts only air");
    strip.job.machine.dialect.comments = false;
    expect_note(expect_lone_refusal(TW_CHECK_CARD, 0), "cuts only air");
}

/* A raised program stands for itself: of the card that cuts it says nothing. */
Test(verdict, a_program_raised_over_the_part_leaves_the_one_that_cuts_unproved)
{
    struct tw_text cuts, raised;
    struct tw_card cards[2];

    cuts = strip_text(&strip);
    lift_by_10_mm();
    prove(&strip);
    cr_expect(strcmp(strip.verdict.unproved, "any program that cuts, side B's taper") == 0, "%s",
              strip.verdict.unproved);
    raised = strip_text(&strip);
    cards[0] = (struct tw_card){ "side-a.nc", cuts.data, cuts.length };
    cards[1] = (struct tw_card){ "air-side-a.nc", raised.data, raised.length };
    tw_verdict_free(&strip.verdict);
    cr_assert(eq(int, tw_verdict_make(&strip.job, cards, 2, 0.25, &strip.verdict, NULL), TW_OK));
    cr_expect(strip.verdict.cut);
    cr_expect(strcmp(strip.verdict.unproved, "side B's taper") == 0, "%s", strip.verdict.unproved);
    tw_text_free(&cuts);
    tw_text_free(&raised);
}

Test(verdict, a_program_that_only_says_it_is_lifted_is_caught)
{
    insert(&strip, 3, "(LIFTED BY 10.0000 mm - CUTS AIR ONLY)");
    cr_expect(prove(&strip)->checks[TW_CHECK_LIFT].failed);
    cr_expect(eq(int, strip.verdict.proofs[0].checks[TW_CHECK_LIFT].first_line, 15));
}

/* ---- time, volume, thickness ---- */

/* Uniform acceleration, any textbook of mechanics: d/v + v/a, or 2 sqrt(d/a) when v is never reached. */
static double move_s(double d_mm, double v_mm_per_s, double a_mm_per_s2)
{
    return d_mm * a_mm_per_s2 < v_mm_per_s * v_mm_per_s ? 2.0 * sqrt(d_mm / a_mm_per_s2)
                                                        : d_mm / v_mm_per_s + v_mm_per_s / a_mm_per_s2;
}

/* From speed u to speed w with v between: 2 v - u - w over a for the ramps, and what they leave of the way at v. */
static double leg_s(double d_mm, double u, double v, double w, double a_mm_per_s2)
{
    return (2.0 * v - u - w) / a_mm_per_s2 + (d_mm - (2.0 * v * v - u * u - w * w) / (2.0 * a_mm_per_s2)) / v;
}

/* Down by a rapid of 25 mm and straight on by a feed of 1.975 mm, which is no stop: the rapid ends at 5 mm/s.
 * The profile: along 25 m/min and 1500 mm/s2, up 3 m/min and 300 mm/s2. The way to the first part does not count. */
static double strip_time_s(double first_pass_s)
{
    double along = 25000.0 / 60.0, up = 3000.0 / 60.0;

    return 10.0 + leg_s(25.0, 0.0, up, 5.0, 300.0) + leg_s(1.975, 5.0, 5.0, 0.0, 300.0) + first_pass_s +
           move_s(1.975, up, 300.0) + move_s(75.0, along, 1500.0) + move_s(2.0, 5.0, 300.0) +
           move_s(120.0, 5.0, 1500.0) + move_s(27.0, up, 300.0) + 10.0;
}

Test(verdict, cycle_time_is_that_of_the_closed_form)
{
    double wanted_s = strip_time_s(move_s(75.0, 5.0, 1500.0));

    cr_expect(epsilon_eq(dbl, prove(&strip)->cycle_time_s, wanted_s, 1e-6));
    cr_expect(epsilon_eq(dbl, strip.verdict.cycle_time_s, wanted_s, 1e-6));
    /* Straight on at the same feed is no stop. */
    insert(&strip, 14, "G1 X80.");
    cr_expect(epsilon_eq(dbl, prove(&strip)->cycle_time_s, wanted_s, 1e-6));
    /* A turn round is one: 75 mm become 35 + 20 + 60, each from rest to rest. */
    insert(&strip, 15, "G1 X100.");
    insert(&strip, 16, "G1 X80.");
    cr_expect(epsilon_eq(
        dbl, prove(&strip)->cycle_time_s,
        strip_time_s(move_s(35.0, 5.0, 1500.0) + move_s(20.0, 5.0, 1500.0) + move_s(60.0, 5.0, 1500.0)), 1e-6));
}

/* A corner that turns by an angle whose cosine is 0.8 is gone through at 4 of the 5 mm/s under G64. First leg 35 mm
 * along. Second (-40, 30), 50 mm: across may accelerate 500 mm/s2 with 0.6 of the path, so 500 / 0.6. */
Test(verdict, cycle_time_of_a_blended_corner_is_that_of_the_closed_form)
{
    double a = 1500.0, b = 500.0 / 0.6;
    double first_s = leg_s(35.0, 0.0, 5.0, 4.0, a), second_s = leg_s(50.0, 4.0, 5.0, 0.0, b);
    double across_s = 30.0 * 60.0 / 5000.0 + 5000.0 / 60.0 / 500.0; /* back by a rapid of 5 m/min: 83.3 mm/s */

    strip.job.machine.dialect.path_mode = TW_PATH_BLENDED;
    edit(&strip, 5, "G64");
    edit(&strip, 14, "G1 X80.");
    insert(&strip, 15, "G1 X40. Z30.");
    insert(&strip, 17, "G0 Z0.");
    cr_expect(epsilon_eq(dbl, prove(&strip)->cycle_time_s, strip_time_s(first_s + second_s) + across_s, 1e-6));
}

/* A wedge of slope m under a rectangle of width w and length l: m w l^2 / 2 = 0.0005 * 20 * 100^2 / 2 = 50 mm3. */
Test(verdict, removed_volume_is_that_of_the_wedge)
{
    cr_expect(epsilon_eq(dbl, prove(&strip)->removed_mm3, 50.0, 0.05));
    strip.cell_mm = 0.1;
    cr_expect(epsilon_eq(dbl, prove(&strip)->removed_mm3, 50.0, 0.05));
}

/* h(x) = T0/2 - (T0 - T1)/2 x/L: half of 3 mm less 0.0005 x. */
Test(verdict, gauge_points_lie_on_the_taper)
{
    const struct tw_proof *proof = prove(&strip);

    for (int i = 0; i < TW_GAUGE_POINTS; i++) {
        const struct tw_gauge *gauge = &proof->gauges[i];

        cr_expect(epsilon_eq(dbl, gauge->aim_mm, 1.5 - 0.0005 * gauge->x_mm, 1e-9));
        cr_expect(epsilon_eq(dbl, gauge->half_mm, gauge->aim_mm, 1e-6), "x %g", gauge->x_mm);
    }
    cr_expect(lt(dbl, proof->gauges[0].x_mm, 10.0));
    cr_expect(gt(dbl, proof->gauges[TW_GAUGE_POINTS - 1].x_mm, 90.0));
}

Test(verdict, cells_larger_than_the_pieces_of_a_cut_will_do)
{
    strip.cell_mm = 4.0;
    cr_expect(prove(&strip)->cut);
}

/* What is narrower than a cell is overlooked, so nobody hears "cut" by such cells. */
Test(verdict, cells_too_coarse_prove_nothing)
{
    struct tw_findings findings = { 0 };

    strip.cell_mm = 2.0;
    cr_expect(prove(&strip)->cut && !strip.verdict.cut);
    cr_expect(eq(sz, strip.verdict.reason_count, 1));
    cr_expect(strstr(strip.verdict.reasons[0], "overlook") != NULL);
    strip.cell_mm = 0.25;
    expect_pass();
    tw_verdict_free(&strip.verdict);
    cr_expect(eq(int, tw_verdict_make(&strip.job, NULL, 0, 1e-300, &strip.verdict, &findings), TW_BAD_USAGE));
    cr_expect(strstr(findings.items[0].text, "0.005 to 5 mm") != NULL, "%s", findings.items[0].text);
    tw_findings_free(&findings);
}

/* ---- work that is not begun ---- */

static void expect_not_begun(const struct tw_card *card, double cell_mm, const char *words)
{
    struct tw_findings findings = { 0 };

    tw_verdict_free(&strip.verdict);
    cr_assert(eq(int, tw_verdict_make(&strip.job, card, 1, cell_mm, &strip.verdict, &findings), TW_NO_PLAN));
    cr_assert(eq(sz, findings.count, 1));
    cr_expect(strstr(findings.items[0].text, "so it is not begun") != NULL, "%s", findings.items[0].text);
    cr_expect(strstr(findings.items[0].text, words) != NULL, "%s", findings.items[0].text);
    cr_expect(eq(sz, strip.verdict.count, 0));
    tw_findings_free(&findings);
}

/* The field reaches over 100 mm of tang and 30 mm of blade, 20 mm wide: 2600 / 0.005^2 = 104 million cells of 13 bytes
 * (three heights as floats and a kind), for two blanks at once 2704 MB. In 800 MB there is room for cells of
 * sqrt(2600 * 26 / 800e6) = 0.0092 mm, which hundredths of a millimetre turn into 0.01. */
Test(verdict, cells_that_need_too_much_memory_are_refused_with_the_smallest_that_do)
{
    struct tw_text text = strip_text(&strip);
    struct tw_card card = { strip.name, text.data, text.length };

    expect_not_begun(&card, 0.005, "2704 MB");
    expect_not_begun(&card, 0.005, "cells of 0.01 mm (--cell) would do");
    tw_text_free(&text);
    strip.cell_mm = 0.25;
    expect_pass();
}

/* Back and forth 200,000 times: days on the machine, and minutes here. */
Test(verdict, a_program_too_long_to_be_proved_is_refused_at_once)
{
    struct tw_text text = { 0 };
    struct tw_card card = { .name = strip.name };

    for (int line = 0; line < strip.count; line++) {
        tw_text_print(&text, "%s\n", strip.lines[line]);
        for (int i = 0; line == 17 && i < 200000; i++)
            tw_text_print(&text, "G1X115\nG1X-5\n");
    }
    card.text = text.data;
    card.length = text.length;
    expect_not_begun(&card, 0.25, "fewer moves, a wider wheel or fewer parts");
    tw_text_free(&text);
}

/* ---- several programs ---- */

Test(verdict, programs_are_proved_each_for_itself)
{
    struct tw_text good = strip_text(&strip), bad;
    struct tw_card cards[3];

    edit(&strip, 17, "G1 Y2.9");
    bad = strip_text(&strip);
    cards[0] = cards[2] = (struct tw_card){ "side-a.nc", good.data, good.length };
    cards[1] = (struct tw_card){ "side-a.nc", bad.data, bad.length };
    cr_assert(eq(int, tw_verdict_make(&strip.job, cards, 3, 0.25, &strip.verdict, NULL), TW_OK));
    cr_expect(not(strip.verdict.cut));
    cr_expect(eq(sz, strip.verdict.reason_count, 1));
    cr_expect(strstr(strip.verdict.reasons[0], "Side A: 3 programs do its taper") != NULL);
    cr_expect(strip.verdict.proofs[0].cut && !strip.verdict.proofs[1].cut && strip.verdict.proofs[2].cut);
    cr_expect(epsilon_eq(dbl, strip.verdict.removed_mm3,
                         2.0 * strip.verdict.proofs[0].removed_mm3 + strip.verdict.proofs[1].removed_mm3, 1e-9));
    tw_text_free(&good);
    tw_text_free(&bad);
}

Test(verdict, no_program_at_all_is_no_yes)
{
    cr_assert(eq(int, tw_verdict_make(&strip.job, NULL, 0, 0.25, &strip.verdict, NULL), TW_OK));
    cr_expect(not(strip.verdict.cut));
}

/* ---- memory ---- */

Test(verdict, survives_every_failing_allocation)
{
    struct tw_text text = strip_text(&strip);
    struct tw_card card = { "side-a.nc", text.data, text.length };
    long before = blocks_in_use;

    for (long n = 0;; n++) {
        struct tw_findings findings = { 0 };
        struct tw_verdict verdict;
        enum tw_status status;
        bool failed;

        allocations_until_failure = n;
        status = tw_verdict_make(&strip.job, &card, 1, 2.0, &verdict, &findings);
        failed = allocations_until_failure < 0;
        allocations_until_failure = -1;
        if (!failed) {
            cr_expect(eq(int, status, TW_OK));
            tw_verdict_free(&verdict);
            cr_expect(gt(long, n, 20));
            break;
        }
        cr_assert(eq(int, status, TW_NO_MEMORY), "allocation %ld", n);
        cr_expect(findings.out_of_memory || findings.count > 0);
        cr_expect(verdict.proofs == NULL && verdict.count == 0);
        tw_findings_free(&findings);
        cr_assert(eq(long, blocks_in_use, before), "allocation %ld leaks", n);
    }
    tw_text_free(&text);
}

/* ---- JSON ---- */

/* A dent of 5 um in the finished face at x = 25, and nothing else amiss. */
static void dig(void)
{
    edit(&strip, 18, "G1 X30.");
    insert(&strip, 19, "G1 X25. Y2.995");
    insert(&strip, 20, "G1 X20. Y3.");
    insert(&strip, 21, "G1 X-5.");
}

static json_t *report(void)
{
    char *text = NULL;
    json_t *root;

    cr_assert(eq(int, tw_verdict_json(&strip.job, &strip.verdict, &text, NULL), TW_OK));
    root = json_loads(text, 0, NULL);
    cr_assert(root != NULL, "%s", text);
    free(text);
    return root;
}

static void expect_word(const json_t *object, const char *key, const char *wanted)
{
    const char *word = json_string_value(json_object_get(object, key));

    cr_expect(word && strcmp(word, wanted) == 0, "%s is %s", key, word ? word : "no word");
}

static bool is_number(const json_t *object, const char *key)
{
    return json_is_number(json_object_get(object, key));
}

/* 1 true, 0 false, -1 neither. */
static int truth_of(const json_t *object, const char *key)
{
    const json_t *value = json_object_get(object, key);

    return json_is_true(value) ? 1 : json_is_false(value) ? 0 : -1;
}

static void expect_numbers(const json_t *object, const char *const *keys)
{
    for (; *keys; keys++)
        cr_expect(is_number(object, *keys), "no number %s", *keys);
}

Test(verdict, json_has_the_keys_of_its_format)
{
    static const char *const whole[] = { "cycle_time_s", "removed_mm3", "peak_degC", "cell_mm", NULL };
    static const char *const check[] = { "worst", "limit", "line", "first_line", "part", NULL };
    static const char *const point[] = { "x_mm", "thickness_mm", "aim_mm", NULL };
    json_t *root, *checks, *member;
    size_t i;

    dig();
    prove(&strip);
    root = report();
    expect_word(root, "format", "tangwright-dryrun/1");
    expect_word(root, "verdict", "do not cut");
    expect_word(root, "job", "strip");
    expect_word(root, "inputs", strip.job.digest);
    expect_numbers(root, whole);
    checks = json_object_get(root, "checks");
    cr_expect(eq(sz, json_array_size(checks), TW_CHECK_LIFT)); /* all but "lift" */
    json_array_foreach(checks, i, member)
    {
        expect_word(member, "name", tw_check_name((enum tw_check_id)i));
        cr_expect(eq(int, truth_of(member, "pass"), i != TW_CHECK_GOUGE));
        expect_numbers(member, check);
    }
    member = json_array_get(checks, TW_CHECK_GOUGE);
    cr_expect(eq(int, (int)json_integer_value(json_object_get(member, "first_line")), 19));
    cr_expect(eq(sz, json_array_size(json_object_get(member, "place_mm")), 3));
    cr_expect(eq(sz, json_array_size(json_object_get(root, "thickness")), TW_GAUGE_POINTS));
    expect_numbers(json_array_get(json_object_get(root, "thickness"), 0), point);
    member = json_array_get(json_object_get(root, "programs"), 0);
    expect_word(member, "side", "a");
    cr_expect(eq(int, (int)json_integer_value(json_object_get(member, "look_at_line")), 19));
    json_decref(root);
}

/* File names are bytes, JSON is UTF-8. */
Test(verdict, json_survives_a_name_that_is_no_utf8)
{
    json_t *root, *program;

    strip.name = "side-a \xff.nc";
    edit(&strip, 14, "G1 X\xfe");
    prove(&strip);
    root = report();
    program = json_array_get(json_object_get(root, "programs"), 0);
    expect_word(program, "program", "side-a ?.nc");
    json_decref(root);
}

/* ---- the command ---- */

static int dry_run(const char *arguments, struct tw_text *said)
{
    const char *program = getenv("TANGWRIGHT");
    char command[512];
    int status;

    snprintf(command, sizeof command, "%s dry-run %s/job.cfg %s 2>&1", program ? program : "build/release/tangwright",
             strip.folder, arguments);
    status = run_and_read(command, said);
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

static int dry_run_file(const char *name, struct tw_text *said)
{
    char arguments[160];

    snprintf(arguments, sizeof arguments, "%s/%s --cell '0.25 mm'", strip.folder, name);
    return dry_run(arguments, said);
}

Test(verdict, exit_statuses_tell_a_script)
{
    static const char junk[] = "\x7f"
                               "ELF\x02\x01\x01\0\0\0 not a program\n";
    struct tw_text said = { 0 }, text = strip_text(&strip);
    char words[128];

    strip_write(&strip, "side-a.nc", text.data, text.length);
    cr_expect(eq(int, dry_run_file("side-a.nc", &said), 0));
    snprintf(words, sizeof words, "PROVED IN PART: all %d checks passed, but not shown: side B's taper.",
             TW_CHECK_LIFT); /* the others apply to no such program */
    cr_expect(strstr(said.data, words) != NULL, "%s", said.data);
    cr_expect(strstr(said.data, "no promise of safety") != NULL);
    tw_text_free(&text);
    tw_text_free(&said);

    dig();
    text = strip_text(&strip);
    said = (struct tw_text){ 0 };
    strip_write(&strip, "side-a.nc", text.data, text.length);
    cr_expect(eq(int, dry_run_file("side-a.nc", &said), 1));
    snprintf(words, sizeof words, "DO NOT CUT: 1 of %d checks failed.", TW_CHECK_LIFT);
    cr_expect(strstr(said.data, words) != NULL, "%s", said.data);
    cr_expect(strstr(said.data, "LOOK AT LINE 19 FIRST.") != NULL, "%s", said.data);
    tw_text_free(&text);
    tw_text_free(&said);

    said = (struct tw_text){ 0 };
    strip_write(&strip, "junk.nc", junk, sizeof junk - 1);
    cr_expect(eq(int, dry_run_file("junk.nc", &said), 1));
    cr_expect(strstr(said.data, "DO NOT CUT") != NULL);
    strip_write(&strip, "empty.nc", "", 0);
    cr_expect(eq(int, dry_run_file("empty.nc", &said), 1));
    cr_expect(eq(int, dry_run_file("no-such-file.nc", &said), 5));
    cr_expect(eq(int, dry_run_file("", &said), 5)); /* a folder */
    cr_expect(eq(int, dry_run("", &said), 2));
    tw_text_free(&said);
}

/* Blanks packed in their own ways are held with forces of their own: 19 N pass where 20 N are trusted, though another part has 15 N. */
Test(verdict, each_part_is_asked_for_its_own_hold)
{
    struct tw_check check = { 0 };

    tw_check_ask(&check, 20.0, "N");
    tw_check_note_own(&check, 19.0, 20.0, (struct tw_spot){ .line = 5, .part = 1 });
    cr_expect(not(check.failed));
    tw_check_note_own(&check, 12.0, 15.0, (struct tw_spot){ .line = 9, .part = 2 });
    cr_expect(eq(int, check.line, 5));
    cr_expect(eq(dbl, check.limit, 20.0));
    tw_check_note_own(&check, 15.5, 15.0, (struct tw_spot){ .line = 11, .part = 2 });
    cr_expect(check.failed && check.first_line == 11);
    cr_expect(eq(int, check.part, 2));
    cr_expect(eq(dbl, check.amount, 15.5));
    cr_expect(eq(dbl, check.limit, 15.0));
}
