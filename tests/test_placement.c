/* test_placement.c - guards against a blade that is ground because the job lies otherwise in its drawing than its writer
 * thought, against a question where all is well, and against a word of spine where the drawing tells of none.
 *
 * How the knives lie is known by how they are made up (placement/knives.h): that is the witness here. */
#include "input/failing_memory.h"
#include "placement/knives.h"
#include "tangwright/job.h"
#include "tangwright/report.h"
#include "tangwright/sheet.h"

#include "check/check.h"
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#define PI 3.14159265358979323846

/* As the drawing lies, so must the axis of a job that is right. */
static struct tw_taper_axis axis_of(struct knife_way way, bool mirrored)
{
    return (struct tw_taper_axis){ way.at_mm.x_mm, way.at_mm.y_mm, way.turn_rad, mirrored, 0 };
}

static struct tw_placement examine(const struct knife *knife, struct knife_way way, struct tw_taper_axis axis)
{
    struct tw_outline drawing = knife_drawing(knife, way);
    struct tw_placement_told told = { 0 };
    struct tw_placement placement;

    tw_placement_examine(&drawing, &axis, &told, &placement);
    tw_outline_free(&drawing);
    return placement;
}

static void expect_text(const char *got, const char *wanted)
{
    cr_expect(got && strcmp(got, wanted) == 0, "said   %s\nwanted %s", got ? got : "nothing", wanted);
}

static void tell_signs(const struct tw_placement *placement)
{
    for (size_t i = 0; i < placement->end_count; i++)
        fprintf(stderr, "    ends  %+.1f %s\n", placement->ends[i].weight, placement->ends[i].text);
    for (size_t i = 0; i < placement->spine_count; i++)
        fprintf(stderr, "    spine %+.1f %s\n", placement->spines[i].weight, placement->spines[i].text);
}

static const double turns_deg[] = { 0, 180, 90, -90, 2, -28, 137 };
static const double scales[] = { 1, 0.1, 2.5 };

static void expect_well_placed(const struct knife *knife, struct knife_way way, bool mirrored)
{
    struct tw_placement placement = examine(knife, way, axis_of(way, mirrored));
    int spine = way.flipped == mirrored ? 1 : -1;

    cr_expect(placement.fault == TW_PLACED_WELL, "%s turned %.0f deg%s: %s", knife->name, way.turn_rad * 180 / PI,
              way.flipped ? ", flipped" : "", placement.fault_text);
    cr_expect(knife->whole == (placement.shown == TW_SHOWN_KNIFE), "%s shown %d", knife->name, placement.shown);
    if (knife->spine == KNIFE_SPINE_SURE)
        cr_expect(placement.spine == spine, "%s: spine %d", knife->name, placement.spine);
    else if (knife->spine == KNIFE_SPINE_OR_NOT)
        cr_expect(placement.spine != -spine, "%s: spine %d", knife->name, placement.spine);
    else
        cr_expect(placement.spine == 0, "%s: spine %d", knife->name, placement.spine);
    if (placement.fault != TW_PLACED_WELL || (knife->spine == KNIFE_SPINE_SURE && placement.spine != spine) ||
        (knife->spine != KNIFE_SPINE_SURE && placement.spine == -spine))
        tell_signs(&placement);
}

Test(placement, knives_that_lie_well_are_not_questioned_and_their_spine_is_never_taken_for_the_edge)
{
    for (size_t k = 0; k < KNIFE_COUNT; k++)
        for (size_t t = 0; t < sizeof turns_deg / sizeof *turns_deg; t++)
            for (int flips = 0; flips < 4; flips++) {
                struct knife_way way = { .flipped = flips & 1,
                                         .scale = scales[t % 3],
                                         .turn_rad = turns_deg[t] * PI / 180,
                                         .at_mm = { 310 * (double)t, -75 } };

                expect_well_placed(&knives[k], way, flips & 2);
            }
}

static const struct knife_way upright = { .scale = 1 };

Test(placement, a_taper_towards_the_blade_is_questioned)
{
    struct tw_taper_axis axis = { .direction_rad = PI };

    for (size_t k = 0; k < KNIFE_COUNT; k++) {
        struct tw_placement placement;

        if (!knives[k].whole)
            continue;
        placement = examine(&knives[k], upright, axis);
        cr_expect(placement.fault == TW_PLACED_REVERSED, "%s: %d %s", knives[k].name, placement.fault,
                  placement.fault_text);
        if (placement.fault != TW_PLACED_REVERSED)
            tell_signs(&placement);
    }
}

Test(placement, a_taper_across_the_knife_is_questioned)
{
    for (size_t k = 0; k < KNIFE_COUNT; k++)
        for (int turn = -1; turn <= 1; turn += 2) {
            struct tw_placement placement =
                examine(&knives[k], upright, (struct tw_taper_axis){ .start_x_mm = 5, .direction_rad = turn * PI / 2 });

            cr_expect(placement.fault == TW_PLACED_ACROSS, "%s: %d %s", knives[k].name, placement.fault,
                      placement.fault_text);
        }
}

/* Every knife that has its tip on the axis or near it, and the others where the heel's step is behind the start. */
Test(placement, a_taper_from_the_tip_is_questioned)
{
    for (size_t k = 0; k < KNIFE_COUNT; k++) {
        struct tw_taper_axis axis = { knives[k].corners[0] + 0.5, knives[k].corners[1], 0, 0, 0 };
        struct tw_placement placement;

        if (!knives[k].whole)
            continue;
        placement = examine(&knives[k], upright, axis);
        cr_expect(placement.fault != TW_PLACED_WELL, "%s", knives[k].name);
    }
}

/* Anywhere in a blade that has a heel, and in the front third of every other. */
Test(placement, a_taper_from_within_the_blade_is_questioned)
{
    for (size_t k = 0; k < KNIFE_COUNT; k++)
        for (int share = 1; share <= 5; share++) {
            struct tw_taper_axis axis = { .start_x_mm = knives[k].corners[0] * share / 6.0 };
            struct tw_placement placement;

            if (!knives[k].whole || (knives[k].spine != KNIFE_SPINE_SURE && share < 4))
                continue;
            placement = examine(&knives[k], upright, axis);
            cr_expect(placement.fault != TW_PLACED_WELL, "%s from %.0f mm", knives[k].name, axis.start_x_mm);
        }
}

/* Pins far back say nothing against a start behind a heel, on a tang that would else be too short for a hand (80 mm: common
 * practice, no source), or behind a hole of another kind; they do where nothing else tells of a tang. */
Test(placement, pins_in_the_rear_half_are_questioned_only_where_no_other_sign_tells_of_a_tang)
{
    static const double rear[][3] = { { 66, 0, 5 }, { 108, 0, 5 } }, short_rear[][3] = { { 42, 0, 4 }, { 68, 0, 4 } };
    static const double with_slot[][3] = { { -40, 0, 14 }, { 25, 0, 5 }, { 85, 0, 5 } };
    static const double rear_only[][3] = { { 25, 0, 5 }, { 85, 0, 5 } };
    const struct {
        struct knife knife;
        double start_mm;
        enum tw_placement_fault fault;
    } rows[] = {
        { { "heel", 0, true, gyuto_corners[0], sizeof gyuto_corners / sizeof *gyuto_corners, rear[0], 2 },
          0,
          TW_PLACED_WELL },
        { { "short", 0, true, paring_corners[0], sizeof paring_corners / sizeof *paring_corners, short_rear[0], 2 },
          0,
          TW_PLACED_WELL },
        { { "slot", 0, true, boning_corners[0], sizeof boning_corners / sizeof *boning_corners, with_slot[0], 3 },
          -60,
          TW_PLACED_WELL },
        { { "pins", 0, true, boning_corners[0], sizeof boning_corners / sizeof *boning_corners, rear_only[0], 2 },
          -60,
          TW_PLACED_IN_BLADE },
    };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct tw_placement placement =
            examine(&rows[i].knife, upright, (struct tw_taper_axis){ .start_x_mm = rows[i].start_mm });

        cr_expect(placement.fault == rows[i].fault, "%s: %s", rows[i].knife.name, placement.fault_text);
    }
}

/* The holes of these drawings: where the first pin is in the tang, and where the last. */
static void pins_behind(const struct knife *knife, double *first_mm, double *last_mm)
{
    *first_mm = HUGE_VAL;
    *last_mm = -HUGE_VAL;
    for (size_t i = 0; i < knife->hole_count; i++) {
        const double *hole = knife->holes + 3 * i;

        if (hole[0] > 0 && hole[2] <= 9) {
            *first_mm = fmin(*first_mm, hole[0]);
            *last_mm = fmax(*last_mm, hole[0]);
        }
    }
}

/* Scales are pinned, and the taper begins where they do, whichever way it is said to run. */
Test(placement, a_taper_from_among_the_pins_is_questioned)
{
    int tried = 0;

    for (size_t k = 0; k < KNIFE_COUNT; k++) {
        double first_mm, last_mm;

        pins_behind(&knives[k], &first_mm, &last_mm);
        if (!(last_mm > first_mm))
            continue;
        for (int way = 0; way < 2; way++) {
            struct tw_taper_axis axis = { .start_x_mm = (first_mm + last_mm) / 2, .direction_rad = way * PI };
            struct tw_placement placement = examine(&knives[k], upright, axis);

            cr_expect(placement.fault == TW_PLACED_PINS_AHEAD || (way == 1 && placement.fault == TW_PLACED_REVERSED) ||
                          placement.fault == TW_PLACED_OFF_STEEL,
                      "%s, way %d: %d %s", knives[k].name, way, placement.fault, placement.fault_text);
            tried++;
        }
    }
    cr_expect(ge(int, tried, 30), "%d", tried);
}

/* Front at 0, so that the axis from there backwards has nothing behind it, and the one from the butt finds the square
 * front where a butt should be. */
Test(placement, a_tang_alone_is_questioned_when_its_axis_is_turned_round)
{
    struct tw_placement from_front = examine(&knives[21], upright, (struct tw_taper_axis){ .direction_rad = PI });
    struct tw_placement from_butt =
        examine(&knives[21], upright, (struct tw_taper_axis){ .start_x_mm = 109, .direction_rad = PI });

    expect_text(knives[21].name, "tang_plain");
    cr_expect(eq(int, from_front.fault, TW_PLACED_NOTHING_BEHIND));
    cr_expect(eq(int, from_butt.fault, TW_PLACED_REVERSED));
}

/* 0.25 of the width is the most that is allowed beside the middle: docs/placement.md. The square tang is 34 mm wide. */
Test(placement, a_start_beside_the_middle_is_told_and_beyond_a_quarter_of_the_width_refused)
{
    const struct knife *square = &knives[26];
    struct tw_placement beside = examine(square, upright, (struct tw_taper_axis){ .start_y_mm = 0.2 * 34 });
    struct tw_placement beyond = examine(square, upright, (struct tw_taper_axis){ .start_y_mm = -0.26 * 34 });

    expect_text(square->name, "tang_square");
    cr_expect(epsilon_eq(dbl, beside.off_middle, 0.2, 1e-9));
    cr_expect(epsilon_eq(dbl, beside.middle.y_mm, -0.2 * 34, 1e-9));
    cr_expect(epsilon_eq(dbl, beside.width_mm, 34, 1e-9));
    cr_expect(eq(int, beside.fault, TW_PLACED_WELL));
    cr_expect(eq(int, beyond.fault, TW_PLACED_OFF_MIDDLE));
}

/* What is asked is answered by saying the very thing: nothing else lets it through. */
Test(placement, each_question_has_its_own_answer)
{
    static const struct {
        size_t knife;
        struct tw_taper_axis axis;
        struct tw_placement_told wrong, right;
        enum tw_placement_fault fault;
    } rows[] = {
        { 0,
          { 0, 0, PI, 0, 0 },
          { .tang_width_mm = 49 },
          { .butt = TW_TOWARDS_LEFT, .tang_width_mm = 49 },
          TW_PLACED_REVERSED },
        { 1, { -60, 0, 0, 0, 0 }, { .butt = TW_TOWARDS_RIGHT }, { .tang_width_mm = 48 }, TW_PLACED_OVER_STEP },
        { 1, { -60, 0, 0, 0, 0 }, { .blade_mm = 118 }, { .tang_width_mm = 48.5 }, TW_PLACED_OVER_STEP },
        { 0, { 40, 0, 0, 0, 0 }, { .pins_ahead = 2 }, { .pins_ahead = 1 }, TW_PLACED_PINS_AHEAD },
        { 7, { -60, 0, 0, 0, 0 }, { .butt = TW_TOWARDS_RIGHT }, { .blade_mm = 90 }, TW_PLACED_IN_BLADE },
        { 12, { -60, 0, 0, 0, 0 }, { .tang_width_mm = 29 }, { .blade_mm = 45 }, TW_PLACED_IN_BLADE },
        { 21, { 0, 0, 0.3, 0, 0 }, { .butt = TW_TOWARDS_RIGHT }, { .askew_rad = 0.31 }, TW_PLACED_ASKEW },
        { 23, { 4, 0, PI / 2, 0, 0 }, { .spine = TW_TOWARDS_LEFT }, { .butt = TW_TOWARDS_UP }, TW_PLACED_ACROSS },
    };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct tw_outline drawing = knife_drawing(&knives[rows[i].knife], upright);
        struct tw_placement placement;

        tw_placement_examine(&drawing, &rows[i].axis, &rows[i].wrong, &placement);
        cr_expect(eq(int, placement.fault, rows[i].fault), "row %zu: %s", i, placement.fault_text);
        tw_placement_examine(&drawing, &rows[i].axis, &rows[i].right, &placement);
        cr_expect(ne(int, placement.fault, rows[i].fault), "row %zu: %s", i, placement.fault_text);
        tw_outline_free(&drawing);
    }
}

/* ---- rings inside the outermost ---- */

/* The knife's rings, and one more that is a rectangle: all in one outline that is the caller's. */
static struct tw_outline with_rectangle(const struct knife *knife, bool around, const double box[4])
{
    struct tw_outline drawing = knife_drawing(knife, upright);
    struct tw_ring ring = { calloc(4, sizeof *ring.points), 4 }, first = drawing.outer;

    cr_assert(ring.points != NULL);
    for (int i = 0; i < 4; i++)
        ring.points[i] = (struct tw_point){ box[i == 1 || i == 2 ? 2 : 0], box[i >= 2 ? 3 : 1] };
    for (size_t i = 0; i < drawing.hole_count; i++)
        free(drawing.holes[i].points);
    free(drawing.holes);
    drawing.holes = calloc(1, sizeof *drawing.holes);
    cr_assert(drawing.holes != NULL);
    drawing.hole_count = 1;
    drawing.outer = around ? ring : first;
    drawing.holes[0] = around ? first : ring;
    return drawing;
}

/* A frame or a sheet drawn round the knife makes a hole of it. */
Test(placement, a_knife_inside_a_frame_is_no_hole_that_is_ground_round)
{
    static const double frame[4] = { -260, -50, 140, 30 };
    struct tw_outline drawing = with_rectangle(&knives[0], true, frame);
    struct tw_taper_axis axis = axis_of(upright, false);
    struct tw_placement_told told = { 0 };
    struct tw_placement placement;

    tw_placement_examine(&drawing, &axis, &told, &placement);
    cr_expect(eq(int, placement.fault, TW_PLACED_OFF_STEEL));
    expect_text(
        placement.fault_text,
        "(0, 0) mm lies in a ring inside the outermost one, and so in a hole of it: the outermost seems to be a "
        "frame, or the sheet; delete it in the drawing, or name the knife's ring by pick");
    tw_outline_free(&drawing);
}

/* A scale's edge that is drawn in the tang, or the bevel in the blade, is cut through only if the job says so; the window of the hanger
 * is small. */
Test(placement, a_closed_line_inside_the_knife_is_asked_about_before_it_counts_as_cut_through)
{
    static const struct {
        double box[4];
        bool asked;
        const char *text;
    } rows[] = {
        { { 10, -8, 107, 9 },
          true,
          "a closed line of 97.0 mm by 17.0 mm is drawn inside the knife, about (58.5, 0.5) mm, and counts as a window "
          "cut through the steel: it would be neither ground nor weighed; if it is the edge of a scale, a bevel or a "
          "pocket, take it out of the drawing; if the steel is cut through there, add windows = 1;" },
        { { -200, -30, -30, -16 },
          true,
          "a closed line of 170.0 mm by 14.0 mm is drawn inside the knife, about (-115, -23) mm, and counts as a "
          "window "
          "cut through the steel: it would be neither ground nor weighed; if it is the edge of a scale, a bevel or a "
          "pocket, take it out of the drawing; if the steel is cut through there, add windows = 1;" },
        { { 60, -4, 90, 4 }, false, "" },
    };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct tw_outline drawing = with_rectangle(&knives[0], false, rows[i].box);
        struct tw_taper_axis axis = axis_of(upright, false);
        struct tw_placement_told told = { 0 };
        struct tw_placement placement;

        tw_placement_examine(&drawing, &axis, &told, &placement);
        cr_expect(eq(int, placement.fault, rows[i].asked ? TW_PLACED_WINDOWS : TW_PLACED_WELL));
        expect_text(placement.fault_text, rows[i].text);
        told.windows = 1;
        tw_placement_examine(&drawing, &axis, &told, &placement);
        cr_expect(eq(int, placement.fault, TW_PLACED_WELL), "row %zu: %s", i, placement.fault_text);
        tw_outline_free(&drawing);
    }
}

/* A job that says where the spine lies is believed, on either side and however the drawing is turned. */
Test(placement, the_spine_of_a_tang_alone_is_what_the_job_says)
{
    static const struct {
        double turn_rad;
        int mirrored, spine;
        enum tw_towards told;
    } rows[] = {
        { 0, 0, 1, TW_TOWARDS_UP },          { 0, 0, -1, TW_TOWARDS_DOWN },      { 0, 1, -1, TW_TOWARDS_UP },
        { PI, 0, -1, TW_TOWARDS_UP },        { PI, 1, 1, TW_TOWARDS_UP },        { PI / 2, 0, 1, TW_TOWARDS_LEFT },
        { PI / 2, 0, -1, TW_TOWARDS_RIGHT }, { -PI / 2, 1, 1, TW_TOWARDS_LEFT },
    };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct knife_way way = { .scale = 1, .turn_rad = rows[i].turn_rad };
        struct tw_taper_axis axis = axis_of(way, rows[i].mirrored);
        struct tw_placement_told told = { .spine = rows[i].told };
        struct tw_outline drawing = knife_drawing(&knives[21], way);
        struct tw_placement placement;

        tw_placement_examine(&drawing, &axis, &told, &placement);
        cr_expect(eq(int, placement.fault, TW_PLACED_WELL), "row %zu: %s", i, placement.fault_text);
        cr_expect(eq(int, placement.spine, rows[i].spine), "row %zu", i);
        tw_outline_free(&drawing);
    }
}

/* ---- words ---- */

Test(placement, directions_are_said_as_the_drawing_is_looked_at)
{
    struct tw_placement placement = { .axis = { .direction_rad = PI } }; /* point right: the butt lies left */

    expect_text(tw_placement_towards(&placement, 1, 0), "left");
    expect_text(tw_placement_towards(&placement, 0, 1), "down");
    expect_text(tw_placement_side(&placement, 1), "drawing -y");
    placement.axis.mirrored = 1;
    expect_text(tw_placement_towards(&placement, 0, 1), "up");
    expect_text(tw_placement_side(&placement, 1), "drawing +y");
    expect_text(tw_placement_side(&placement, -1), "drawing -y");
    placement.axis.y_down = true; /* the job writes points as a drawing program shows them */
    expect_text(tw_placement_side(&placement, 1), "drawing -y");
    expect_text(tw_placement_towards(&placement, 0, 1), "up");
    placement.spine = -1;
    expect_text(tw_placement_side(&placement, -1), "spine");
    expect_text(tw_placement_side(&placement, 1), "edge");
    placement.axis = (struct tw_taper_axis){ .direction_rad = PI / 2 };
    placement.spine = 0;
    expect_text(tw_placement_side(&placement, 1), "drawing -x");
    expect_text(tw_placement_towards(&placement, 1, 1), "up and left");
}

/* ---- whole jobs ---- */

static char home[4096];
static char folder[] = "/tmp/tangwright-test-placement-XXXXXX";

static void open_folder(void)
{
    cr_assert(getcwd(home, sizeof home) != NULL);
    cr_assert(mkdtemp(folder) != NULL);
    cr_assert(eq(int, chdir(folder), 0));
}

static void close_folder(void)
{
    remove("job.cfg");
    remove("knife.wkt");
    cr_expect(eq(int, chdir(home), 0));
    rmdir(folder);
}

static void print_ring(FILE *file, const struct tw_ring *ring)
{
    fputc('(', file);
    for (size_t i = 0; i <= ring->count; i++)
        fprintf(file, "%s%.9g %.9g", i ? ", " : "", ring->points[i % ring->count].x_mm,
                ring->points[i % ring->count].y_mm);
    fputc(')', file);
}

static void write_drawing(const struct knife *knife, struct knife_way way)
{
    struct tw_outline drawing = knife_drawing(knife, way);
    FILE *file = fopen("knife.wkt", "w");

    cr_assert(file != NULL);
    fputs("POLYGON(", file);
    print_ring(file, &drawing.outer);
    for (size_t i = 0; i < drawing.hole_count; i++) {
        fputs(", ", file);
        print_ring(file, &drawing.holes[i]);
    }
    fputs(")\n", file);
    fclose(file);
    tw_outline_free(&drawing);
}

/* `outline` stands on line 4. */
static void write_job_for(const char *machine, const char *outline)
{
    const char *const profiles[][2] = { { "machine", machine },
                                        { "wheel", "wheels/cup-cbn-75" },
                                        { "steel", "steels/low-alloy-52100" },
                                        { "coolant", "coolants/mist" },
                                        { "fixture", "fixtures/single-magnet" } };
    FILE *file = fopen("job.cfg", "w");

    cr_assert(file != NULL);
    fprintf(file,
            "name = \"misplaced\";\noutline: {\n    file = \"knife.wkt\"; unit = \"1 mm\";\n    %s\n};\n"
            "taper: { ricasso_thickness = \"3 mm\"; butt_thickness = \"1.8 mm\"; };\n",
            outline);
    for (size_t i = 0; i < sizeof profiles / sizeof *profiles; i++)
        fprintf(file, "%s: { profile = \"%s/profiles/%s.cfg\"; };\n", profiles[i][0], home, profiles[i][1]);
    fclose(file);
}

static void write_job(const char *outline)
{
    write_job_for("machines/vertical-mill", outline);
}

/* The first fault of the job in the folder; "" when there is none. The caller frees it. */
static char *first_fault(void)
{
    struct tw_findings findings = { 0 };
    struct tw_job job;
    enum tw_status status = tw_job_read("job.cfg", &job, &findings);
    char *first = NULL;

    for (size_t i = 0; i < findings.count && !first; i++)
        if (findings.items[i].status != TW_OK)
            first = strdup(findings.items[i].text);
    if (first)
        cr_expect(eq(int, status, TW_BAD_INPUT));
    tw_job_free(&job);
    tw_findings_free(&findings);
    return first ? first : strdup("");
}

static const struct knife *knife_named(const char *name)
{
    for (size_t i = 0; i < KNIFE_COUNT; i++)
        if (strcmp(knives[i].name, name) == 0)
            return &knives[i];
    cr_assert(false, "no knife is named %s", name);
    return NULL;
}

static const struct misplaced {
    const char *knife;
    double turn_deg, x_mm, y_mm; /* how it is drawn */
    const char *outline, *fault;
} misplaced[] = {
#include "placement/misplaced.inc"
};

Test(placement, misplaced_jobs_are_asked_with_the_place_that_would_fit, .init = open_folder, .fini = close_folder)
{
    for (size_t i = 0; i < sizeof misplaced / sizeof *misplaced; i++) {
        const struct misplaced *m = &misplaced[i];
        char *said;

        write_drawing(
            knife_named(m->knife),
            (struct knife_way){ .scale = 1, .turn_rad = m->turn_deg * PI / 180, .at_mm = { m->x_mm, m->y_mm } });
        write_job(m->outline);
        said = first_fault();
        expect_text(said, m->fault);
        free(said);
    }
}

/* Lengths in the unit of the machine, places in the one in which the job names them. By hand, an inch being 25.4 mm: the start
 * lies 30 mm behind the butt at (400, -60) mm; 30 mm are 1.1811 in, 400 mm 15.7480 in, -60 mm -2.3622 in; the front end's 148 and
 * -68 mm are 5.8268 and -2.6772 in. */
Test(placement, a_shop_in_inches_is_asked_in_inches, .init = open_folder, .fini = close_folder)
{
    static const struct {
        const char *machine, *outline, *fault;
    } rows[] = {
        { "machines/vertical-mill-inch", "taper_start = [\"16.9291 in\", \"-2.3622 in\"];",
          "(16.929, -2.362) in lies 1.181 in off the steel, which reaches from (5.827, -2.677) in to (15.748, -2.362) "
          "in" },
        { "machines/vertical-mill-inch", "taper_start = [\"430 mm\", \"-60 mm\"];",
          "(430, -60) mm lies 1.181 in off the steel, which reaches from (148, -68) mm to (400, -60) mm" },
        { "machines/vertical-mill", "taper_start = [\"16.9291 in\", \"-2.3622 in\"];",
          "(16.929, -2.362) in lies 30.0 mm off the steel, which reaches from (5.827, -2.677) in to (15.748, -2.362) "
          "in" },
    };

    write_drawing(knife_named("petty"), (struct knife_way){ .scale = 1, .at_mm = { 300, -60 } });
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *said;

        write_job_for(rows[i].machine, rows[i].outline);
        said = first_fault();
        cr_expect(strstr(said, rows[i].fault) != NULL, "said   %s\nwanted %s", said, rows[i].fault);
        free(said);
    }
}

/* ---- what the maker reads ---- */

static struct tw_job sound_job(const char *knife, double turn_deg, const char *outline)
{
    struct tw_findings findings = { 0 };
    struct tw_job job;

    write_drawing(knife_named(knife), (struct knife_way){ .scale = 1, .turn_rad = turn_deg * PI / 180 });
    write_job(outline);
    cr_assert(eq(int, tw_job_read("job.cfg", &job, &findings), TW_OK), "%s",
              findings.count ? findings.items[0].text : "");
    tw_findings_free(&findings);
    return job;
}

static void expect_lines(const struct tw_job *job, const char *const *lines)
{
    char *table = NULL;

    cr_assert(eq(int, tw_placement_table(job, &table, NULL), TW_OK));
    for (; *lines; lines++)
        cr_expect(strstr(table, *lines) != NULL, "no line \"%s\" in\n%s", *lines, table);
    free(table);
}

/* A bar whose middle line is the axis it is drawn along, and a job whose axis runs 6 deg off that. */
Test(placement, an_axis_that_runs_askew_is_told_before_it_is_asked_about, .init = open_folder, .fini = close_folder)
{
    static const char *const askew[] = { "taper axis     6.0 deg askew to the middle line of the tang", NULL };
    struct tw_job job = sound_job("tang_square", 0.0, "axis_angle = \"6 deg\";");
    char *table = NULL;

    expect_lines(&job, askew);
    tw_job_free(&job);
    job = sound_job("tang_square", 0.0, "");
    cr_assert(eq(int, tw_placement_table(&job, &table, NULL), TW_OK));
    cr_expect(strstr(table, "askew") == NULL, "%s", table);
    free(table);
    tw_job_free(&job);
}

/* The numbers of samples/petty-130/tang.geojson, which is drawn in inches: x from -0.5 to 4.17, 0.36 on either side of the axis at
 * 0, the first hole 0.25 wide about x = 0.7, the second 0.34 about 1.2. In mm by 25.4 mm an inch. */
Test(placement, a_shop_in_inches_reads_inches_first)
{
    static const char *const lines[] = { "0.500 in (12.7 mm) of ricasso ahead, 4.170 in (105.9 mm) of tang behind\n",
                                         "  width there    0.720 in (18.3 mm); ",
                                         "  holes          0.250 in, 0.700 in behind; 0.340 in, 1.200 in behind; ",
                                         "at (-0.500, 0.000) in\n", NULL };
    struct tw_job job;

    cr_assert(eq(int, tw_job_read("samples/petty-130/job.cfg", &job, NULL), TW_OK));
    expect_lines(&job, lines);
    tw_job_free(&job);
}

/* The santoku of knives.h: 178 mm of blade and 108 mm of tang, 21.5 mm wide at 0 (11 above the axis, 10.5 below at 6 mm,
 * 12 at -2 mm). Its heel stands 24 mm below. On this machine across is +Y. */
Test(placement, a_knife_drawn_point_left_has_its_spine_up, .init = open_folder, .fini = close_folder)
{
    static const char *const lines[] = {
        "  drawn          the whole knife, 286.",
        "  tip            left in the drawing, at (-178.0, -31.0) mm\n",
        "  butt           right in the drawing, at (108.",
        "  spine          up in the drawing: the heel stands out by ",
        "  holes          5.0 mm, 20.0 mm behind; 5.0 mm, 90.0 mm behind\n",
        "  on the machine butt towards +X; spine towards +Y with side A up, towards -Y with side B up\n",
        NULL
    };
    struct tw_job job = sound_job("santoku", 0, "");

    expect_lines(&job, lines);
    tw_job_free(&job);
}

/* Turned by half a turn: the spine lies down in the drawing, the butt left, and the part is the same. */
Test(placement, a_knife_drawn_upside_down_is_the_same_part, .init = open_folder, .fini = close_folder)
{
    static const char *const lines[] = {
        "  tip            right in the drawing, at (178.0, 31.0) mm\n", "  spine          down in the drawing: ",
        "  on the machine butt towards +X; spine towards +Y with side A up, towards -Y with side B up\n", NULL
    };
    struct tw_job job = sound_job("santoku", 180, "axis_angle = \"180 deg\";");

    expect_lines(&job, lines);
    tw_job_free(&job);
}

/* Drawn point right with its spine up, side A seen: with the butt towards +X it lies with the spine towards -Y. */
Test(placement, a_knife_drawn_point_right_has_its_spine_on_the_other_side, .init = open_folder, .fini = close_folder)
{
    static const char *const lines[] = {
        "  tip            right in the drawing, at (178.0, -31.0) mm\n", "  spine          up in the drawing: ",
        "  on the machine butt towards +X; spine towards -Y with side A up, towards +Y with side B up\n", NULL
    };
    struct tw_findings findings = { 0 };
    struct tw_job job;

    write_drawing(knife_named("santoku"), (struct knife_way){ .scale = 1, .turn_rad = PI, .flipped = true });
    write_job("axis_angle = \"180 deg\";");
    cr_assert(eq(int, tw_job_read("job.cfg", &job, &findings), TW_OK));
    expect_lines(&job, lines);
    tw_job_free(&job);
    tw_findings_free(&findings);
}

Test(placement, a_tang_alone_has_no_spine, .init = open_folder, .fini = close_folder)
{
    static const char *const lines[] = {
        "  drawn          the tang alone, seen from side A\n",
        "nothing drawn ahead, 110.0 mm (4.33 in) of tang behind\n",
        "  spine          not known from this drawing; ",
        "  holes          none\n",
        "the side of drawing +y towards +Y with side A up, towards -Y with side B up\n",
        NULL
    };
    struct tw_job job = sound_job("tang_plain", 0, "");

    expect_lines(&job, lines);
    tw_job_free(&job);
}

/* 80 mm by 34 mm: 72 characters of 1.111 mm, 2.333 mm high, so 15 rows hold 35 mm; 8 mm are 7.2 characters. */
Test(placement, the_plot_shows_a_square_tang_and_its_start, .init = open_folder, .fini = close_folder)
{
    struct tw_job job = sound_job("tang_square", 0, "");
    char *plot = NULL, *row;
    int rows = 0;

    cr_assert(eq(int, tw_placement_plot(&job, &plot, NULL), TW_OK));
    cr_expect(strstr(plot, "\n  +Y: drawing +y (up)\n") && strstr(plot, "\n  drawing -y (down)\n"), "%s", plot);
    for (row = strstr(plot, "\n  ====="); row; row = strstr(row + 1, "\n  ====="), rows++)
        cr_expect(eq(int,
                     strncmp(row, "\n  =======|################################################################\n", 75),
                     0),
                  "%s", plot);
    cr_expect(eq(int, rows, 15));
    cr_expect(strstr(plot, "\n         | taper start                                                butt\n") != NULL,
              "%s", plot);
    free(plot);
    tw_job_free(&job);
}

/* A survey counts y towards the spine; where that is the part frame's -y, its readings change sides. */
Test(placement, readings_beside_the_axis_follow_the_spine, .init = open_folder, .fini = close_folder)
{
    static const char survey[] = "x [mm], y [mm], a [mm], b [mm]\n-20, 0, 0, 0\n-5, 0, 0, 0\n";
    FILE *file = fopen("survey.csv", "w");
    struct tw_job job;

    cr_assert(file != NULL);
    fputs(survey, file);
    for (int x = 15; x <= 105; x += 15)
        fprintf(file, "%d, -8, 0, 0\n%d, 8, 0.01, 0.01\n", x, x);
    fclose(file);
    job = sound_job("tang_plain", 0,
                    "spine = \"down\"; };\nsurvey: { file = \"survey.csv\"; }; straighten: { cleanup = \"0.01 mm\"; ");
    cr_expect(eq(int, job.placement.spine, -1));
    cr_assert(ge(sz, job.survey.count, 4));
    cr_expect(epsilon_eq(dbl, job.survey.rows[2].y_mm, -8, 1e-12));
    cr_expect(epsilon_eq(dbl, job.survey.rows[2].a_mm, 0.01, 1e-12));
    cr_expect(epsilon_eq(dbl, job.survey.rows[3].y_mm, 8, 1e-12));
    cr_expect(epsilon_eq(dbl, job.survey.rows[3].a_mm, 0, 1e-12));
    tw_job_free(&job);
    remove("survey.csv");
}

/* ---- memory ---- */

static void expect_failures_told(const struct tw_job *job,
                                 enum tw_status (*make)(const struct tw_job *, char **, struct tw_findings *))
{
    enum tw_status status = TW_NO_MEMORY;
    long failed = 0;

    for (long n = 0; status != TW_OK && n < 10000; n++) {
        struct tw_findings findings = { 0 };
        long before = blocks_in_use;
        char *text = NULL;

        allocations_until_failure = n;
        status = make(job, &text, &findings);
        allocations_until_failure = -1;
        failed += status == TW_NO_MEMORY;
        cr_expect(status == TW_OK || (status == TW_NO_MEMORY && text == NULL), "allocation %ld: status %d", n, status);
        free(text);
        tw_findings_free(&findings);
        cr_expect(eq(long, blocks_in_use, before), "allocation %ld", n);
    }
    cr_expect(eq(int, status, TW_OK));
    cr_expect(gt(long, failed, 0));
}

Test(placement, each_failing_allocation_is_told, .init = open_folder, .fini = close_folder)
{
    struct tw_job job = sound_job("santoku", 0, "");

    expect_failures_told(&job, tw_placement_table);
    expect_failures_told(&job, tw_placement_plot);
    expect_failures_told(&job, tw_placement_html);
    tw_job_free(&job);
}

/* A knife of 200 mm, the pattern of its scales, and the sheet's edge round both. */
Test(placement, a_picked_pattern_beside_a_larger_outline_is_told, .init = open_folder, .fini = close_folder)
{
    static const char *const picks[] = { "scale", "knife" };
    static const char *const said[] = { "sheet.geojson:2: outline.pick takes an outline of 110 by 30 mm, and here "
                                        "stands a larger one, \"knife\", 200 by 30 "
                                        "mm; is the picked one the knife?",
                                        NULL };
    FILE *file = fopen("sheet.geojson", "w");

    cr_assert(file != NULL);
    fputs("{ \"type\": \"FeatureCollection\", \"features\": [\n", file);
    fputs("{ \"type\": \"Feature\", \"id\": \"knife\", \"properties\": {}, \"geometry\": { \"type\": \"Polygon\", "
          "\"coordinates\": [[[0, 0], [200, 0], [200, 30], [0, 30], [0, 0]]] } },\n",
          file);
    fputs("{ \"type\": \"Feature\", \"id\": \"scale\", \"properties\": {}, \"geometry\": { \"type\": \"Polygon\", "
          "\"coordinates\": [[[0, 50], [110, 50], [110, 80], [0, 80], [0, 50]]] } },\n",
          file);
    fputs("{ \"type\": \"Feature\", \"id\": \"edge\", \"properties\": {}, \"geometry\": { \"type\": \"Polygon\", "
          "\"coordinates\": [[[-9, -9], [300, -9], [300, 99], [-9, 99], [-9, -9]]] } } ] }\n",
          file);
    fclose(file);
    for (int i = 0; i < 2; i++) {
        struct tw_drawing drawing = { .path = "sheet.geojson",
                                      .unit_mm = 1,
                                      .chord_tolerance_mm = 0.01,
                                      .gap_tolerance_mm = 0.05,
                                      .pick = picks[i] };
        struct tw_findings findings = { 0 };
        struct tw_outline outline;

        cr_expect(eq(int, tw_outline_read(&drawing, &outline, &findings), TW_OK));
        cr_expect(eq(sz, findings.count, said[i] ? 1 : 0));
        if (said[i])
            expect_text(findings.items[0].text, said[i]);
        tw_outline_free(&outline);
        tw_findings_free(&findings);
    }
    remove("sheet.geojson");
}
