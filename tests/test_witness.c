/* test_witness.c - the dry-run's own reading of a job, against the contract of frames worked out by hand: the finished face in
 * both mounts and on both sides, blanks of other thicknesses, a surveyed blank, the relief on a grid. And the planner's
 * reading of every sample is the same: two ways that share no code must come to one place. */
#include "samples/sample.h"
#include "tangwright/contacts.h"
#include "tangwright/taper.h"
#include "witness/drive.h"
#include "witness/heat.h"
#include "witness/hold.h"
#include "witness/mask.h"
#include "witness/passing.h"
#include "witness/rod.h"
#include "witness/survey.h"
#include "witness/task.h"

#include <math.h>

static void expect_near(const char *what, double actual, double expected, double within)
{
    cr_expect(fabs(actual - expected) <= within, "%s is %.9g, not %.9g within %g", what, actual, expected, within);
}

/* 3.7 mm at the ricasso, 1.7 mm at the butt, 110 mm long: each face falls by m = 2.0 / 220 = 1/110. The bar reaches from
 * y = -9 to y = 11, so that a missing mirror shows. */
static struct tw_job by_hand(struct tw_point corners[4], enum tw_mount mount, double thicker_mm)
{
    const struct tw_point bar[4] = { { 0.0, -9.0 }, { 110.0, -9.0 }, { 110.0, 11.0 }, { 0.0, 11.0 } };
    struct tw_job job = { .taper = { .ricasso_mm = 3.7, .butt_mm = 1.7, .length_mm = 110.0, .band_mm = 0.05 },
                          .mount = mount };

    memcpy(corners, bar, sizeof bar);
    job.part.tang.outer = (struct tw_ring){ corners, 4 };
    return tw_witness_blank(&job, thicker_mm);
}

static double flat_top_mm(const struct tw_witness_face *face, double x_mm)
{
    double slope, height_mm = tw_witness_flat_top_mm(face, &slope);

    return height_mm + slope * x_mm;
}

/* Level: z = T0 - m x, so 3.2 mm at x = 55, under a top at T0. */
Test(witness, a_level_face_falls_from_the_ricasso_by_m)
{
    struct tw_point corners[4];
    struct tw_job job = by_hand(corners, TW_MOUNT_LEVEL, 0.0);
    struct tw_witness_face face = tw_witness_face(&job, TW_SIDE_A);

    expect_near("start", face.start_mm, 0.0, 0.0);
    expect_near("face at the start", tw_witness_target_mm(&face, 0.0), 3.7, 1e-12);
    expect_near("face half way", tw_witness_target_mm(&face, 55.0), 3.2, 1e-12);
    expect_near("top", tw_witness_top_mm(&face, 55.0), 3.7, 1e-12);
    expect_near("first stock", tw_witness_first_mm(&face), 0.0, 1e-9);
    expect_near("most", tw_witness_most_mm(&face, 110.0), 1.0, 1e-12);
    expect_near("half thickness", tw_witness_half_mm(&face, 55.0), 1.35, 1e-12);
    expect_near("zero", face.zero_mm, 0.0, 0.0);
}

/* Tilted by a = atan(1/110): the face is level at 3.7 cos a, the taper starts at x = -3.7 sin a, lengths along the face
 * stretch by 1 / cos a, and the blank's top lies 3.7 / cos a over the origin and rises by 1/110. */
Test(witness, a_tilted_face_is_level_and_begins_ahead_of_the_origin)
{
    const double a = atan(1.0 / 110.0);
    struct tw_point corners[4], butt;
    struct tw_job job = by_hand(corners, TW_MOUNT_TILTED, 0.0);
    struct tw_witness_face face = tw_witness_face(&job, TW_SIDE_A);

    expect_near("tilt", face.tilt_rad, a, 1e-15);
    expect_near("start", face.start_mm, -3.7 * sin(a), 1e-12);
    expect_near("face at the start", tw_witness_target_mm(&face, face.start_mm), 3.7 * cos(a), 1e-12);
    expect_near("face at the butt", tw_witness_target_mm(&face, 110.0), 3.7 * cos(a), 1e-12);
    expect_near("top over the origin", flat_top_mm(&face, 0.0), 3.7 / cos(a), 1e-12);
    expect_near("top at 110 mm", tw_witness_top_mm(&face, 110.0), 3.7 / cos(a) + 1.0, 1e-12);
    expect_near("first stock", tw_witness_first_mm(&face), -3.7 * sin(a), 1e-9);
    butt = tw_witness_place(&face, corners[2]);
    expect_near("butt", butt.x_mm, 110.0 / cos(a) - 3.7 * sin(a), 1e-12);
    expect_near("spine", butt.y_mm, 11.0, 0.0);
    expect_near("and back", tw_witness_part_x_mm(&face, butt.x_mm), 110.0, 1e-12);
}

/* Rolled over about x: what was 11 mm towards +y lies 11 mm towards -y, x stays, and a ring goes round as it did. */
Test(witness, side_b_is_the_part_rolled_over)
{
    struct tw_point corners[4];
    struct tw_job job = by_hand(corners, TW_MOUNT_LEVEL, 0.0);
    struct tw_witness_face face = tw_witness_face(&job, TW_SIDE_B);
    struct tw_outline tang;

    cr_assert(eq(int, tw_witness_outline(&face, &job.part.tang, &tang, NULL), TW_OK));
    for (int i = 0; i < 4; i++) {
        expect_near("x", tang.outer.points[i].x_mm, corners[3 - i].x_mm, 0.0);
        expect_near("y", tang.outer.points[i].y_mm, -corners[3 - i].y_mm, 0.0);
    }
    expect_near("face half way", tw_witness_target_mm(&face, 55.0), 3.2, 1e-12);
    tw_outline_free(&tang);
}

/* 0.05 mm thicker. z from the pad: the face stays and is met where 3.75 = 3.7 - x/110, 5.5 mm ahead. z from the ricasso: zero
 * and face rise with the top, by 0.05 mm, or as it lies tilted by 0.05 / cos a over the taper start at 3.7 cos a. */
Test(witness, a_thicker_blank_starts_earlier_or_lifts_the_face)
{
    const double a = atan(1.0 / 110.0);
    struct tw_point corners[4];
    struct tw_job job = by_hand(corners, TW_MOUNT_LEVEL, 0.05);
    struct tw_witness_face face = tw_witness_face(&job, TW_SIDE_A);

    expect_near("first stock", tw_witness_first_mm(&face), -5.5, 1e-9);
    expect_near("face", tw_witness_target_mm(&face, 0.0), 3.7, 1e-12);
    expect_near("hardest from the pad", tw_witness_hardest_mm(&job), 0.05, 0.0);
    job.taper.zero = TW_ZERO_RICASSO;
    face = tw_witness_face(&job, TW_SIDE_A);
    expect_near("lifted face", tw_witness_target_mm(&face, 0.0), 3.75, 1e-12);
    expect_near("zero", face.zero_mm, 3.75, 1e-12);
    expect_near("first stock from the ricasso", tw_witness_first_mm(&face), 0.0, 1e-9);
    expect_near("hardest from the ricasso", tw_witness_hardest_mm(&job), -0.05, 0.0);
    job.mount = TW_MOUNT_TILTED;
    face = tw_witness_face(&job, TW_SIDE_A);
    expect_near("tilted zero", face.zero_mm, 3.7 * cos(a) + 0.05 / cos(a), 1e-12);
    expect_near("tilted face", tw_witness_target_mm(&face, 50.0), 3.7 * cos(a) + 0.05 / cos(a), 1e-12);
}

/* What is left for hand finishing lies on top: with 0.1 mm the face is first met 11 mm behind the taper start. */
Test(witness, an_allowance_lies_on_top)
{
    struct tw_point corners[4];
    struct tw_job job = by_hand(corners, TW_MOUNT_LEVEL, 0.0);
    struct tw_witness_face face;

    job.finish.allowance_mm = 0.1;
    face = tw_witness_face(&job, TW_SIDE_A);
    expect_near("face half way", tw_witness_target_mm(&face, 55.0), 3.3, 1e-12);
    expect_near("first stock", tw_witness_first_mm(&face), 11.0, 1e-9);
    expect_near("half thickness", tw_witness_half_mm(&face, 55.0), 1.45, 1e-12);
}

/* ---- a surveyed blank ---- */

/* The ricasso reads 0.02 mm at -20 and 0.04 mm at -10: a line through 0.06 mm at the taper start that rises by 0.002 a mm.
 * Behind it A reads 0.06 + 0.002 x + bow, B the same less the bow, with a bow of 0.3 mm at x = 50 and of 0.5 mm at 100. */
static const struct tw_survey_row rows[] = { { -20.0, 0.0, 0.02, 0.02, 2 },
                                             { -10.0, 0.0, 0.04, 0.04, 3 },
                                             { 50.0, 0.0, 0.16 + 0.3, 0.16 - 0.3, 4 },
                                             { 100.0, 0.0, 0.26 + 0.5, 0.26 - 0.5, 5 } };

static struct tw_job surveyed(struct tw_point corners[4], struct tw_survey_row own[4])
{
    struct tw_job job = by_hand(corners, TW_MOUNT_LEVEL, 0.0);

    memcpy(own, rows, sizeof rows);
    job.survey = (struct tw_survey){ .rows = own, .count = 4 };
    job.straighten.largest_tilt_rad = 0.1;
    job.straighten.cleanup_mm = 0.02;
    return job;
}

/* Over the pad: 1.85 mm of the lower half and 1.85 + bow: 4.0 mm at x = 50, 4.2 at 100, half way in between 4.1, at 25
 * half way to the ricasso 3.85, and on from 100 at the same rise 4.24 at 110. */
Test(witness, readings_count_from_the_line_through_the_ricasso)
{
    struct tw_point corners[4];
    struct tw_survey_row own[4];
    struct tw_job job = surveyed(corners, own);
    struct tw_witness_face face;

    face = tw_witness_face(&job, TW_SIDE_A);
    expect_near("top at 25", tw_witness_top_mm(&face, 25.0), 3.85, 1e-9);
    expect_near("top at 75", tw_witness_top_mm(&face, 75.0), 4.1, 1e-9);
    expect_near("top at 110", tw_witness_top_mm(&face, 110.0), 4.24, 1e-9);
    expect_near("highest", tw_witness_highest_mm(&face, 80.0), 4.12, 1e-9);
    face = tw_witness_face(&job, TW_SIDE_B);
    expect_near("side B at 75", tw_witness_top_mm(&face, 75.0), 3.3, 1e-9);
}

/* A bow of 0.3 mm at 50 and of 0.5 at 100 bulges on A: the circle through (0, 0), (50, 0.3) and (100, 0.5) has a radius of 50 x 50 / 0.1
 * all but 1e-5, and its sagitta over 50 mm is 50^2 / (8 x 25000) = 0.0125 mm. B, which is hollow, has none. Rounded to steps of 0.01
 * mm, a reading's variance is 0.01^2 / 12 (JCGM 100:2008, F.2.2.1); the line through -20 and -10 adds 1/2 + (x + 15)^2 / 50 of it
 * (H.3). With the ricasso flat on a plate it adds 1/2 alone, and the step itself is more. */
Test(witness, a_face_may_stand_over_its_readings)
{
    struct tw_point corners[4];
    struct tw_survey_row own[4];
    struct tw_job job = surveyed(corners, own), high;
    double sure_mm = 2.0 * 0.01 / sqrt(12.0) * sqrt(1.5 + 65.0 * 65.0 / 50.0);
    struct tw_witness_face a, b;

    job.survey.resolution_mm = 0.01;
    high = tw_witness_high_blank(&job, 0.0);
    a = tw_witness_face(&high, TW_SIDE_A);
    b = tw_witness_face(&high, TW_SIDE_B);
    expect_near("A at 50", tw_witness_higher_mm(&a, 2), sure_mm + 0.0125, 1e-5);
    expect_near("B at 50", tw_witness_higher_mm(&b, 2), sure_mm, 1e-12);
    expect_near("top of A at 50", tw_witness_top_mm(&a, 50.0), 4.0 + sure_mm + 0.0125, 1e-5);
    expect_near("top of A on the ricasso", tw_witness_top_mm(&a, -10.0), 3.7, 1e-9);
    high.survey.reference = TW_REFERENCE_PLATE;
    a = tw_witness_face(&high, TW_SIDE_A);
    expect_near("at 100, on a plate", tw_witness_higher_mm(&a, 3), 0.01, 1e-12);
    expect_near("as read", tw_witness_unread_mm(&(struct tw_job){ .parts = 1 }), 0.0, 0.0);
}

/* What is planned for reaches as high, and not by far higher. */
Test(witness, what_a_survey_leaves_open_is_found_alike)
{
    static const char *const paths[] = { "samples/gyuto-240-bowed/job.cfg", "samples/deba-165-twisted/job.cfg" };

    for (size_t i = 0; i < 2; i++) {
        struct tw_job job;

        cr_assert(eq(int, tw_job_read(paths[i], &job, NULL), TW_OK));
        cr_expect(le(dbl, tw_witness_unread_mm(&job), job.straight->higher_mm + 1e-5), "%s", paths[i]);
        cr_expect(ge(dbl, tw_witness_unread_mm(&job), job.straight->higher_mm - 0.002), "%s", paths[i]);
        tw_job_free(&job);
    }
}

/* B has 1.85 - 0.3 mm at 50, where the plain taper leaves 1.85 - 50/110: 0.1545 mm less, and at 100 0.4091. With 0.02 mm to
 * clean up that is spare: no tilt. Were the bow 0.5 mm at 50, B would lack 0.0455 mm there, and 0.0655 with what is to clean
 * up: the middle must tilt to A by 0.0655 / 50. A then falls by so much less, B by so much more. */
Test(witness, the_middle_tilts_no_more_than_cleaning_up_takes)
{
    struct tw_point corners[4];
    struct tw_survey_row own[4];
    struct tw_job job = surveyed(corners, own);
    double lack_mm = 0.5 - 50.0 / 110.0 + 0.02;

    expect_near("tilt", tw_witness_middle_tilt(&job), 0.0, 0.0);
    own[2].a_mm = 0.16 + 0.5;
    own[2].b_mm = 0.16 - 0.5;
    expect_near("tilt", tw_witness_middle_tilt(&job), lack_mm / 50.0, 1e-12);
    expect_near("slope of A", tw_witness_face(&job, TW_SIDE_A).slope, 1.0 / 110.0 - lack_mm / 50.0, 1e-12);
    expect_near("slope of B", tw_witness_face(&job, TW_SIDE_B).slope, 1.0 / 110.0 + lack_mm / 50.0, 1e-12);
    job.straighten.cleanup_from_mm = 60.0;
    expect_near("tilt, cleaned up from 60 mm on", tw_witness_middle_tilt(&job), 0.0, 0.0);
}

/* With 0.5 mm of bow at x = 50 the middle must tilt by lack/50, so it lies 110/50 of the lack off at the end; with no tilt
 * allowed that lack is what is missing. Two readings at x = 50, 20 mm apart, of which A rises by 0.2 mm and B falls by as much: the
 * middle is twisted by atan(0.01). */
Test(witness, a_blank_that_cannot_come_straight_is_told)
{
    struct tw_point corners[4];
    struct tw_survey_row own[4], across[5];
    struct tw_job job = surveyed(corners, own);
    double lack_mm = 0.5 - 50.0 / 110.0 + 0.02;

    expect_near("lacking", tw_witness_straightness(&job).lacking_mm, 0.0, 1e-12);
    own[2].a_mm = 0.16 + 0.5;
    own[2].b_mm = 0.16 - 0.5;
    expect_near("lacking", tw_witness_straightness(&job).lacking_mm, 0.0, 1e-12);
    expect_near("deviation", tw_witness_straightness(&job).deviation_mm, lack_mm * 110.0 / 50.0, 1e-9);
    expect_near("twist", tw_witness_straightness(&job).twist_rad, 0.0, 0.0);
    job.straighten.largest_tilt_rad = 0.0;
    expect_near("lacking without a tilt", tw_witness_straightness(&job).lacking_mm, lack_mm, 1e-9);
    memcpy(across, rows, 3 * sizeof *rows);
    across[2].y_mm = -10.0;
    across[3] = (struct tw_survey_row){ 50.0, 10.0, across[2].a_mm + 0.2, across[2].b_mm - 0.2, 5 };
    across[4] = rows[3];
    job.survey.rows = across;
    job.survey.count = 5;
    expect_near("twist", tw_witness_straightness(&job).twist_rad, atan(0.01), 1e-12);
}

/* ---- the relief ---- */

#define CELL_MM 0.1

static size_t count_of(const unsigned char *cells, size_t count)
{
    size_t sum = 0;

    for (size_t i = 0; i < count; i++)
        sum += cells[i];
    return sum;
}

/* The bar with a square hole 6 mm wide about (60, 1). Land 4, end 10, boss 2 mm: from 10 to 106 mm and from -5 to 7 mm is
 * 96 * 12 mm2; the hole grown by 2 mm is 6*6 + 4*6*2 + pi 2^2. A circle of 4 mm that keeps 0.2 mm off reaches, of the same
 * region without hole, what its centres' rectangle (96 - 8.4) * (12 - 8.4) grown by 3.8 mm covers: a b + 2 (a + b) r + pi r^2. */
Test(witness, the_relief_keeps_its_distances)
{
    struct tw_point corners[4], square[4] = { { 57.0, -2.0 }, { 57.0, 4.0 }, { 63.0, 4.0 }, { 63.0, -2.0 } };
    struct tw_job job = by_hand(corners, TW_MOUNT_LEVEL, 0.0);
    struct tw_ring hole = { square, 4 };
    struct tw_witness_grid grid = { -1.0, -12.0, CELL_MM, 1120, 240 };
    struct tw_witness_face face;
    size_t count = 1120 * 240;
    unsigned char *cells = malloc(count), *reached = malloc(count);
    const double pi = acos(-1.0), a = 96.0 - 8.4, b = 12.0 - 8.4, r = 3.8;
    double region_mm2 = 96.0 * 12.0 - (36.0 + 48.0 + 4.0 * pi), reach_mm2 = a * b + 2.0 * (a + b) * r + pi * r * r;

    cr_assert(cells && reached);
    job.relief = (struct tw_relief){ .depth_mm = 0.3, .land_mm = 4.0, .boss_mm = 2.0, .end_mm = 10.0 };
    job.part.tang.holes = &hole;
    for (int with_hole = 1; with_hole >= 0; with_hole--) {
        job.part.tang.hole_count = (size_t)with_hole;
        face = tw_witness_face(&job, TW_SIDE_B);
        memset(cells, 1, count);
        cr_assert(eq(int, tw_witness_relief(&face, &grid, cells, NULL), TW_OK));
        /* Every cell was set, so what lies outside of the outline by more than the land is there as well: strike it. */
        for (size_t i = 0; i < count; i++) {
            double x_mm = -1.0 + ((double)(i % 1120) + 0.5) * CELL_MM,
                   y_mm = -12.0 + ((double)(i / 1120) + 0.5) * CELL_MM;
            bool in_hole = with_hole && fabs(x_mm - 60.0) < 3.0 && fabs(y_mm + 1.0) < 3.0;

            if (x_mm > 110.0 || y_mm < -11.0 || y_mm > 9.0 || in_hole)
                cells[i] = 0;
        }
        if (with_hole)
            expect_near("region", (double)count_of(cells, count) * CELL_MM * CELL_MM, region_mm2, 0.5);
    }
    cr_assert(eq(int, tw_witness_reach(&grid, cells, 4.0, 0.2, reached, NULL), TW_OK));
    /* Half a cell's diagonal is kept off, all round both rectangle and circle. */
    expect_near("reach", (double)count_of(reached, count) * CELL_MM * CELL_MM, reach_mm2 - 2.0 * (96.0 + 12.0) * 0.05,
                2.0 * (96.0 + 12.0) * 0.06);
    free(cells);
    free(reached);
}

/* ---- what holds ---- */

/* A rest under the tang from x = 20 to 60 mm, as wide as wanted; 0.2 N/mm2 on mild steel, 0.7 of it on this one; friction 0.15,
 * safety 2. */
static struct tw_job on_a_rest(struct tw_point corners[4], struct tw_keep_out *rest, struct tw_point plan[4],
                               double low_y_mm, double high_y_mm)
{
    const struct tw_point box[4] = { { 20.0, low_y_mm }, { 60.0, low_y_mm }, { 60.0, high_y_mm }, { 20.0, high_y_mm } };
    struct tw_job job = by_hand(corners, TW_MOUNT_LEVEL, 0.0);

    memcpy(plan, box, sizeof box);
    *rest = (struct tw_keep_out){ .kind = TW_KEEP_OUT_PAD, .plan = { plan, 4 } };
    job.steel.magnetic_pull = 0.7;
    job.fixture = (struct tw_fixture){ .keep_outs = rest,
                                       .keep_out_count = 1,
                                       .pull_N_per_mm2 = 0.2,
                                       .gap_scale_mm = 0.1,
                                       .pole_mm = 10.0,
                                       .friction = 0.15,
                                       .holding_safety = 2.0 };
    return job;
}

static double held_N(const struct tw_job *job, enum tw_side side)
{
    double force_N = -1.0;

    cr_assert(eq(int, tw_witness_hold(job, side, &force_N, NULL), TW_OK));
    return force_N;
}

/* As a cantilever clamped at x = 60, loaded at its end at 110; with u = c - x, t = b u, d = c - 110 the integral of (110 - x)^2/t^3 is
 * [ln u + 2 d/u - d^2/(2 u^2)]/b^3 from d to c - 60 (by hand from Euler and Bernoulli's beam; E of hardened steel 210 kN/mm2). */
Test(witness, a_tang_bends_where_it_hangs_free)
{
    struct tw_point corners[4], plan[4];
    struct tw_keep_out rest;
    struct tw_job job = on_a_rest(corners, &rest, plan, -30.0, 30.0);
    double bends = -1.0;

    for (int side = 0; side < 2; side++) {
        double b = (side + 1) / 110.0, c = 3.7 / b, d = c - 110.0, u = c - 60.0;
        double wanted =
            12.0 / (210e3 * 20.0) * (log(u / d) + 2.0 * d / u - 2.0 - d * d / (2.0 * u * u) + 0.5) / (b * b * b);

        cr_assert(eq(int, tw_witness_bends(&job, (enum tw_side)side, &bends, NULL), TW_OK));
        expect_near("a push of 1 N", bends, wanted, 0.01 * wanted);
    }
    job.fixture.keep_out_count = 0;
    cr_assert(eq(int, tw_witness_bends(&job, TW_SIDE_A, &bends, NULL), TW_OK));
    expect_near("on the magnet", bends, 0.0, 0.0);
}

/* 3.7 mm lead less than all flux of poles 10 mm apart (4.375 mm do), so the pull goes with (t/3.7)^2. Once side A is ground
 * t = 3.7 - x/110, once side B is t = 3.7 - 2x/110: of u = 1 - x/l with l = 407 or 203.5 mm, u^2 over 20..60 is
 * l/3 (u(20)^3 - u(60)^3). */
Test(witness, a_thin_tang_is_held_less)
{
    struct tw_point corners[4], plan[4];
    struct tw_keep_out rest;
    struct tw_job job = on_a_rest(corners, &rest, plan, -30.0, 30.0);

    job.fixture.packing = TW_PACKING_STEEL;
    for (int side = 0; side < 2; side++) {
        double l = side == TW_SIDE_A ? 407.0 : 203.5;
        double led_mm = l / 3.0 * (pow(1.0 - 20.0 / l, 3.0) - pow(1.0 - 60.0 / l, 3.0));

        expect_near("force", held_N(&job, (enum tw_side)side), 0.075 * 0.14 * 20.0 * led_mm, 1e-6);
    }
    job.task.over_ground = true; /* both faces are ground */
    expect_near("side A again", held_N(&job, TW_SIDE_A), held_N(&job, TW_SIDE_B), 1e-9);
    job.fixture.clamp_force_N = 1000.0;
    job.fixture.pull_N_per_mm2 = 0.0;
    expect_near("clamps", held_N(&job, TW_SIDE_A), 75.0, 1e-12);
}

/* Poles 1 mm apart: 0.4375 mm are enough. With side B up the face below stands x/110 over a flat rest: 1/(1 + x/11)^2 over 20..60
 * is 11 (11/31 - 11/71). The rest's top rising by as much leaves no gap; and one that ends at y = 0 carries 11 mm of the
 * bar's 20 with side A up, and 9 once that is rolled over. */
Test(witness, a_gap_below_takes_most_of_the_hold)
{
    struct tw_point corners[4], plan[4];
    struct tw_keep_out rest;
    struct tw_job job = on_a_rest(corners, &rest, plan, -30.0, 30.0);
    double flat_N = 0.075 * 0.14 * 20.0 * 40.0;

    job.fixture.pole_mm = 1.0;
    expect_near("side A", held_N(&job, TW_SIDE_A), flat_N, 1e-9);
    expect_near("side B", held_N(&job, TW_SIDE_B), flat_N / 40.0 * 121.0 * (1.0 / 31.0 - 1.0 / 71.0), 1e-4);
    rest.top_mm = 60.0 / 110.0;
    rest.rise_mm = 40.0 / 110.0;
    expect_near("on a rest bar", held_N(&job, TW_SIDE_B), flat_N, 1e-9);
    job = on_a_rest(corners, &rest, plan, 0.0, 30.0);
    job.fixture.pole_mm = 1.0;
    job.fixture.packing = TW_PACKING_STEEL;
    expect_near("half a rest, A", held_N(&job, TW_SIDE_A), flat_N * 11.0 / 20.0, 1e-9);
    expect_near("half a rest, B", held_N(&job, TW_SIDE_B), flat_N * 9.0 / 20.0, 1e-9);
    expect_near("half a rest, A, planned", tw_holding_N(&job, TW_SIDE_A), flat_N * 11.0 / 20.0, 1e-9);
    expect_near("half a rest, B, planned", tw_holding_N(&job, TW_SIDE_B), flat_N * 9.0 / 20.0, 1e-9);
    rest.sides = TW_IN_PLACE_A;
    expect_near("no rest: the tang on the magnet", held_N(&job, TW_SIDE_B), flat_N * 110.0 / 40.0, 1e-9);
}

/* A hollow with a land of 4 mm leaves 8 of 20 mm; it begins behind 30 mm: of 40 mm, 10 are whole. A square hole 6 mm wide in
 * the whole part misses 36 mm2. Readings: B lies 0.3 mm hollow at x = 50, half of it half way: the gap from 20 to 50 is 0.006 x,
 * and from there it rises by 0.2 in 50 mm. */
Test(witness, hollows_holes_and_bows_do_not_touch)
{
    struct tw_point corners[4], plan[4], square[4] = { { 22.0, -2.0 }, { 22.0, 4.0 }, { 28.0, 4.0 }, { 28.0, -2.0 } };
    struct tw_survey_row own[4];
    struct tw_keep_out rest;
    struct tw_job job = on_a_rest(corners, &rest, plan, -30.0, 30.0), bowed = surveyed(corners, own);
    struct tw_ring hole = { square, 4 };
    double each_N = 0.075 * 0.14, at_20 = 1.0 + 0.12 / 0.1, at_50 = 1.0 + 0.3 / 0.1, at_60 = 1.0 + 0.34 / 0.1;

    job.fixture.pole_mm = 1.0;
    job.fixture.packing = TW_PACKING_STEEL;
    job.relief = (struct tw_relief){ .depth_mm = 0.3, .land_mm = 4.0, .boss_mm = 2.0, .end_mm = 30.0 };
    job.relief.sides = TW_RELIEF_BOTH;
    expect_near("side A, nothing hollowed below", held_N(&job, TW_SIDE_A), each_N * 800.0, 1e-9);
    expect_near("side B, nothing hollowed below", held_N(&job, TW_SIDE_B), each_N * 800.0, 1e-9);
    job.task.below_hollowed = true;
    expect_near("side B", held_N(&job, TW_SIDE_B), each_N * (200.0 + 30.0 * 8.0), 1e-9);
    job.part.tang.holes = &hole;
    job.part.tang.hole_count = 1;
    expect_near("with a hole", held_N(&job, TW_SIDE_B), each_N * (200.0 - 36.0 + 30.0 * 8.0), 0.3 * each_N);
    bowed.fixture = job.fixture;
    bowed.fixture.packing = TW_PACKING_SHIMS;
    bowed.steel = job.steel;
    expect_near("bowed", held_N(&bowed, TW_SIDE_A),
                each_N * 20.0 * (0.1 / 0.006 * (1.0 / at_20 - 1.0 / at_50) + 0.1 / 0.004 * (1.0 / at_50 - 1.0 / at_60)),
                1e-4);
}

static struct tw_keep_out box_of(struct tw_point plan[4], double low_x, double low_y, double high_x, double high_y,
                                 double top_mm)
{
    const struct tw_point box[4] = { { low_x, low_y }, { high_x, low_y }, { high_x, high_y }, { low_x, high_y } };

    memcpy(plan, box, sizeof box);
    return (struct tw_keep_out){ .plan = { plan, 4 }, .top_mm = top_mm };
}

/* A rest 1 mm wide from x = 20 to 60, pressed with p on each mm and pushed across at the butt, x = 110: about s from there it takes
 * mu p ((s - 50)^2 + (90 - s)^2)/2 = mu p (s^2 - 140 s + 5300), over s; least at s = sqrt(5300). A wheel that presses k times as
 * hard does so where the tang begins to hang free, 50 mm from its push: over B s + C with B = 1 - mu k, C = 50 mu k, least where
 * B s^2 + 2 C s = 140 C + 5300 B. The 1 mm of width adds less than 0.1 % of 40 mu p. A disc pushes along: mu p 40. */
Test(witness, a_push_at_the_butt_turns_the_part)
{
    struct tw_point corners[4], plan[4];
    struct tw_keep_out rest;
    struct tw_job job = on_a_rest(corners, &rest, plan, -0.5, 0.5);
    double each_N = 0.075 * 0.14, b = 1.0 - 0.15 * 3.0, c = 50.0 * 0.15 * 3.0;
    double s = (sqrt(c * c + b * (140.0 * c + 5300.0 * b)) - c) / b;

    job.fixture.pole_mm = 1.0;
    expect_near("a disc", held_N(&job, TW_SIDE_A), each_N * 40.0, 1e-9);
    job.wheel.kind = TW_WHEEL_CUP;
    expect_near("a cup", held_N(&job, TW_SIDE_A), each_N * (2.0 * sqrt(5300.0) - 140.0), 0.04 * each_N);
    job.wheel.force_ratio_least = 3.0;
    expect_near("it presses", held_N(&job, TW_SIDE_A), each_N * (s * s - 140.0 * s + 5300.0) / (b * s + c),
                0.06 * each_N);
}

/* Pressed all along its 110 mm and 20 mm of width: the strip's (sqrt(2) - 1) mu p L, and a little more for the width; a narrower
 * tang is held the less by its area alone. Clamps on the taper start's side are no help beyond their lever: two 0.1 mm wide at x = -60 and -20, which
 * their jaws bear with 2 N each, hold mu 2 N 40/170 at the butt. */
Test(witness, clamps_and_magnet_hold_a_push_at_the_butt)
{
    struct tw_point corners[4], plans[2][4];
    struct tw_keep_out clamps[2] = { box_of(plans[0], -60.05, -0.05, -59.95, 0.05, 15.0),
                                     box_of(plans[1], -20.05, -0.05, -19.95, 0.05, 15.0) };
    struct tw_point rest_plan[4];
    struct tw_keep_out rest;
    struct tw_job job = on_a_rest(corners, &rest, rest_plan, -0.5, 0.5);
    double line_N = 0.075 * 0.14 * 20.0 * 110.0 * (sqrt(2.0) - 1.0), magnet_N;

    job.fixture.pole_mm = 1.0;
    job.wheel.kind = TW_WHEEL_CUP;
    job.fixture.keep_out_count = 0;
    magnet_N = held_N(&job, TW_SIDE_A);
    cr_expect(gt(dbl, magnet_N, line_N));
    cr_expect(lt(dbl, magnet_N, 1.03 * line_N));
    clamps[0].kind = clamps[1].kind = TW_KEEP_OUT_CLAMP;
    job.fixture.keep_outs = clamps;
    job.fixture.keep_out_count = 2;
    job.fixture.clamp_force_N = 4.0;
    job.fixture.touch_tolerance_mm = 0.01;
    job.fixture.pull_N_per_mm2 = 0.0;
    expect_near("clamps", held_N(&job, TW_SIDE_A), 0.075 * 2.0 * 40.0 / 170.0, 0.8e-4);
    job.fixture.pull_N_per_mm2 = 0.2;
    cr_expect(ge(dbl, held_N(&job, TW_SIDE_A), magnet_N + 0.075 * 2.0 * 40.0 / 170.0 - 0.8e-4));
}

/* ---- how near it passes ---- */

static double passing_mm(const struct tw_job *job, const struct tw_keep_out *keep_out, const double way_mm[6])
{
    double way;

    return tw_witness_passing_mm(job, keep_out, way_mm, way_mm + 3, 50.0, &way);
}

/* A cup of 100 mm along y = 0 past a box from y = 60 on: 10 mm. With its rim 3 mm over the top: hypot(10, 3). Over a box that it
 * covers: 3. Falling by 0.05 a mm over one that ends at x = 20: its rim leaves that at x = 70, 2.5 mm over the top, and falls on
 * by a straight line, 2.5 / sqrt(1 + 0.05^2) from the edge. A plate wider than the cup is 1 mm below it. A nose of 140 mm 25 mm
 * over the rim: 60 - 70 < 0 beside a box 30 mm high, and 2 mm over it at z = 7. */
Test(witness, a_cup_passes_at_its_true_distance)
{
    struct tw_job job = { .wheel = { .kind = TW_WHEEL_CUP, .diameter_mm = 100.0, .width_mm = 30.0 } };
    struct tw_point plan[4];
    struct tw_keep_out box = box_of(plan, 10.0, 60.0, 20.0, 70.0, 5.0);

    expect_near("beside", passing_mm(&job, &box, (double[]){ -100, 0, 3, 100, 0, 3 }), 10.0, 1e-9);
    box.top_mm = 2.0;
    expect_near("beside and over", passing_mm(&job, &box, (double[]){ -100, 0, 5, 100, 0, 5 }), hypot(10.0, 3.0), 1e-7);
    expect_near("over", passing_mm(&job, &box, (double[]){ -100, 65, 5, 100, 65, 5 }), 3.0, 1e-9);
    expect_near("falling", passing_mm(&job, &box, (double[]){ -100, 65, 13, 100, 65, 3 }), 2.5 / sqrt(1.0025), 1e-6);
    expect_near("sinking", passing_mm(&job, &box, (double[]){ 15, 65, 30, 15, 65, 6 }), 4.0, 1e-9);
    box = box_of(plan, -300.0, -300.0, 300.0, 300.0, 1.0);
    expect_near("plate", passing_mm(&job, &box, (double[]){ -100, 0, 2, 100, 0, 3 }), 1.0, 1e-9);
    box = box_of(plan, 10.0, 60.0, 20.0, 70.0, 30.0);
    job.machine.spindle_nose_diameter_mm = 140.0;
    expect_near("a nose nobody knows the height of", passing_mm(&job, &box, (double[]){ -100, 0, 3, 100, 0, 3 }), 10.0,
                1e-9);
    job.machine.wheel_overhang_mm = 25.0;
    expect_near("nose", passing_mm(&job, &box, (double[]){ -100, 0, 3, 100, 0, 3 }), 0.0, 0.0);
    expect_near("over", passing_mm(&job, &box, (double[]){ -100, 0, 7, 100, 0, 7 }), 2.0, 1e-9);
}

/* A disc of 200 by 20 mm at z = 3 up to x = -35, before a box that ends at -84, 15 mm high: hypot(49, 88) - 100 = 0.7224 mm; 6 mm
 * beside its face, hypot(6, 0.7224). Its nose of 80 mm lies from y = 10 on, 60 mm over its lowest line: a pin of 64 mm meets it
 * at y = 30 and not at y = -30, where it is 20 mm from the wheel's face; one of 60 mm is 3 mm below. */
Test(witness, a_disc_passes_at_its_true_distance)
{
    struct tw_job job = { .wheel = { .kind = TW_WHEEL_DISC, .diameter_mm = 200.0, .width_mm = 20.0 } };
    struct tw_point plan[4];
    struct tw_keep_out box = box_of(plan, -100.0, -40.0, -84.0, 40.0, 15.0);
    const double lane[6] = { 115, 0, 3, -35, 0, 3 };

    expect_near("ahead", passing_mm(&job, &box, lane), hypot(49.0, 88.0) - 100.0, 1e-6);
    box = box_of(plan, -100.0, 16.0, -84.0, 40.0, 15.0);
    expect_near("beside", passing_mm(&job, &box, lane), hypot(6.0, hypot(49.0, 88.0) - 100.0), 1e-6);
    job.machine.spindle_nose_diameter_mm = 80.0;
    box = box_of(plan, 58.0, 30.0, 62.0, 34.0, 64.0);
    expect_near("nose", passing_mm(&job, &box, lane), 0.0, 0.0);
    box.top_mm = 60.0;
    expect_near("under the nose", passing_mm(&job, &box, lane), 3.0, 1e-6);
    box = box_of(plan, 58.0, -34.0, 62.0, -30.0, 64.0);
    expect_near("on the other side", passing_mm(&job, &box, lane), 20.0, 1e-9);
}

/* ---- two readings ---- */

/* Strips against cuts: 0.1 %. A land beside an oblique edge the planner takes a little too narrow, and of readings across those
 * at the axis: 1 %. Where it turns, slices across against cells of 3 mm: 0.2 %. */
static void compare_hold(const char *name, const struct tw_job *job, enum tw_side side)
{
    struct tw_holding planned = tw_holding_of(job, side);
    bool rough = job->relief.depth_mm > 0.0 || strcmp(name, "deba-165-twisted") == 0;

    expect_near(name, held_N(job, side), planned.force_N,
                (rough           ? 1e-2
                 : planned.turns ? 2e-3
                                 : 1e-3) *
                    planned.force_N);
}

static void compare_faces(const char *name, const struct tw_job *job, enum tw_side side)
{
    struct tw_witness_face own = tw_witness_face(job, side);
    struct tw_face planned = tw_face_of(job, side);
    double end_mm = tw_witness_place(&own, (struct tw_point){ job->taper.length_mm, 0.0 }).x_mm;

    /* The planner's programme for the tilt of a surveyed blank stops 1e-7 mm short. */
    expect_near(name, own.start_mm, planned.start_mm, 1e-6);
    expect_near(name, own.zero_mm, planned.zero_mm, 1e-6);
    expect_near(name, end_mm, planned.start_mm + planned.stretch * job->taper.length_mm, 1e-6);
    expect_near(name, tw_witness_first_mm(&own), tw_face_reach_mm(&planned, 0.0), 1e-4);
    expect_near(name, tw_witness_most_mm(&own, end_mm), tw_face_most_mm(&planned, end_mm), 1e-6);
    expect_near(name, tw_witness_highest_mm(&own, end_mm), tw_face_highest_mm(&planned, end_mm), 1e-6);
    for (double x_mm = -20.0; x_mm < end_mm + 20.0; x_mm += 7.3) {
        expect_near(name, tw_witness_target_mm(&own, x_mm), tw_face_height_mm(&planned, x_mm), 1e-6);
        expect_near(name, tw_witness_top_mm(&own, x_mm), tw_face_top_mm(&planned, x_mm), 1e-6);
    }
}

/* A bowed blank whose middle has to lean. The ricasso's readings, 0.002 mm at -20 and 0.0002 mm more for each mm, leave 0.128 mm
 * of the bow of 0.15 mm at x = 80; there B wants 0.02 mm, and the taper leaves m x = 80 * 0.15 / 87.4. */
Test(witness, leans_a_middle_as_the_planner_does)
{
    struct tw_findings findings = { 0 };
    struct tw_job job;

    cr_assert(eq(int, tw_job_read("tests/faults/leaning/job.cfg", &job, &findings), TW_OK));
    expect_near("tilt", tw_witness_middle_tilt(&job), (0.128 - 80.0 * 0.15 / 87.4 + 0.02) / 80.0, 1e-9);
    compare_faces("leaning", &job, TW_SIDE_A);
    compare_faces("leaning", &job, TW_SIDE_B);
    compare_hold("leaning", &job, TW_SIDE_A);
    compare_hold("leaning", &job, TW_SIDE_B);
    tw_job_free(&job);
    tw_findings_free(&findings);
}

/* Every sample, both sides, and the thinnest and the thickest blank of its band. */
ParameterizedTestParameters(witness, reads_every_sample_as_the_planner_does)
{
    return sample_names();
}

ParameterizedTest(struct sample_name *name, witness, reads_every_sample_as_the_planner_does, ALSO_IN_RELEASE)
{
    const char *folder = strcmp(name->text, "starter") == 0 ? "build/starter" : "samples";
    struct tw_findings findings = { 0 };
    struct tw_job job;
    char path[128];

    snprintf(path, sizeof path, "%s/%s/job.cfg", folder, name->text);
    cr_assert(eq(int, tw_job_read(path, &job, &findings), TW_OK), "%s", path);
    for (int side = 0; side < 2; side++)
        for (int end = -1; end <= 1; end++) {
            struct tw_job blank = tw_witness_blank(&job, end * job.taper.band_mm);

            compare_faces(name->text, &blank, (enum tw_side)side);
            compare_hold(name->text, &blank, (enum tw_side)side);
            blank.task.below_hollowed = tw_witness_hollows(&job, (enum tw_side)(1 - side));
            compare_hold(name->text, &blank, (enum tw_side)side);
            for (int scope = TW_SCOPE_WHOLE; scope <= TW_SCOPE_RELIEF; scope++) {
                struct tw_job task = tw_witness_task(&blank, (enum tw_scope)scope);

                if (scope != TW_SCOPE_RELIEF || tw_witness_hollows(&job, (enum tw_side)side))
                    compare_hold(name->text, &task, (enum tw_side)side);
            }
        }
    tw_job_free(&job);
    tw_findings_free(&findings);
}

/* ---- time ---- */

/* 10 mm/s2 and 20 mm/s along, half of both across, 5 mm/s and 5 mm/s2 up. */
static const struct tw_machine machine = {
    .along = { .letter = 'X', .sign = 1, .rapid_mm_per_s = 20.0, .acceleration_mm_per_s2 = 10.0 },
    .across = { .letter = 'Y', .sign = 1, .rapid_mm_per_s = 10.0, .acceleration_mm_per_s2 = 5.0 },
    .up = { .letter = 'Z', .sign = 1, .rapid_mm_per_s = 5.0, .acceleration_mm_per_s2 = 5.0 },
};

static struct tw_witness_fastest drive(bool blended, struct tw_witness_leg *legs, size_t count)
{
    struct tw_witness_fastest fastest;

    cr_assert(eq(int, tw_witness_drive(&machine, blended, legs, count, &fastest, NULL), TW_OK));
    return fastest;
}

/* 100 mm at 10 mm/s: 10 s and once v/a, 11 s. 10 mm at a rapid of 20 mm/s never gets there: 2 sqrt(10/10). A rapid 10 mm along
 * and 10 mm across goes at 10 sqrt(2) and 5 sqrt(2): 2 sqrt(10/5); then across reaches sqrt(5 * 10) of its 10 mm/s, and along
 * as much of its 20. */
Test(witness, a_leg_from_rest_to_rest_is_a_trapezoid)
{
    struct tw_witness_leg legs[] = { { .by_mm = { 100.0, 0.0, 0.0 }, .feed_mm_per_s = 10.0, .stands_after = true },
                                     { .by_mm = { 10.0, 0.0, 0.0 }, .stands_after = true },
                                     { .by_mm = { 0.0, 0.0, 0.0 }, .feed_mm_per_s = 1.0 },
                                     { .by_mm = { 10.0, 10.0, 0.0 } } };
    struct tw_witness_fastest fastest = drive(false, legs, 4);

    expect_near("feed", legs[0].time_s, 11.0, 1e-12);
    expect_near("rapid", legs[1].time_s, 2.0, 1e-12);
    expect_near("no leg", legs[2].time_s, 0.0, 0.0);
    expect_near("aslant", legs[3].time_s, 2.0 * sqrt(2.0), 1e-12);
    cr_expect(eq(chr, fastest.letter, 'Y'));
    expect_near("fastest", fastest.mm_per_s, sqrt(50.0), 1e-12);
    expect_near("of its own", fastest.share, sqrt(0.5), 1e-12);
    cr_expect(eq(sz, fastest.leg, 3));
}

/* Straight on at 10 mm/s the second leg costs its 10 s alone, and both once v/a. An exact path stands in the corner of a right
 * angle, and so does a blended one; through 60 degrees that keeps half of 10 mm/s: from it to 10 takes 5 mm/s at 10 mm/s2,
 * half a second over 3.75 mm, then 41.25 mm at 10 and 1 s over 5 mm down to rest. (All legs along and up have a = 10 here.) */
Test(witness, corners_cost_what_the_path_mode_says)
{
    struct tw_machine even = machine;
    struct tw_witness_fastest fastest;
    struct tw_witness_leg on[] = { { .by_mm = { 100.0, 0.0, 0.0 }, .feed_mm_per_s = 10.0 },
                                   { .by_mm = { 100.0, 0.0, 0.0 }, .feed_mm_per_s = 10.0 } };
    struct tw_witness_leg turn[] = { { .by_mm = { 100.0, 0.0, 0.0 }, .feed_mm_per_s = 10.0 },
                                     { .by_mm = { 50.0 * 0.5, 0.0, 50.0 * sqrt(0.75) }, .feed_mm_per_s = 10.0 } };
    struct tw_witness_leg right[] = { { .by_mm = { 100.0, 0.0, 0.0 }, .feed_mm_per_s = 10.0 },
                                      { .by_mm = { 0.0, 0.0, 100.0 }, .feed_mm_per_s = 10.0 } };

    drive(false, on, 2);
    expect_near("straight on", on[0].time_s + on[1].time_s, 21.0, 1e-9);
    even.up.rapid_mm_per_s = 20.0;
    even.up.acceleration_mm_per_s2 = 10.0 * sqrt(0.75); /* with along's 10 / 0.5 the lesser along this way: 10 */
    cr_assert(eq(int, tw_witness_drive(&even, true, turn, 2, &fastest, NULL), TW_OK));
    expect_near("after the turn", turn[1].time_s, 0.5 + 4.125 + 1.0, 1e-9);
    cr_assert(eq(int, tw_witness_drive(&even, false, turn, 2, &fastest, NULL), TW_OK));
    expect_near("after a stop", turn[1].time_s, 5.0 + 1.0, 1e-9);
    even.up.acceleration_mm_per_s2 = 10.0;
    cr_assert(eq(int, tw_witness_drive(&even, true, right, 2, &fastest, NULL), TW_OK));
    expect_near("a right angle", right[0].time_s + right[1].time_s, 22.0, 1e-9);
}

/* ---- heat ---- */

/* By SciPy: the maximum over x of the integral of exp(-u) K0(|u|) from x - L to x + L, over pi sqrt(L). A slow one stands still,
 * and K0(u) is ln(2/u) - 0.57721566 near 0 (Abramowitz and Stegun, 9.6.13): 2 sqrt(L)/pi (1 - 0.57721566 - ln(L/2)), by hand
 * 2e-3/pi * 14.931442 at L = 1e-6. */
Test(witness, the_sliding_band_is_jaegers)
{
    static const struct {
        double peclet, shape;
    } known[] = {
        { 1e-6, 9.5056514e-3 }, { 0.1, 0.69580547 }, { 1.0, 0.99185042 }, { 10.0, 1.10205297 }, { 100.0, 1.12436374 }
    };
    struct tw_witness_band band;

    tw_witness_band_open(&band);
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        int at = (int)lround((log10(known[i].peclet) - TW_WITNESS_BAND_FIRST) * TW_WITNESS_BAND_DECADE);

        expect_near("shape", band.shape[at], known[i].shape, 2e-4 * known[i].shape);
    }
}

/* k = 0.04 W/mm K, rho c = 0.004 J/mm3 K, so a = 10 mm2/s and e = sqrt(1.6e-4). A cup's rim 4 mm long at 10 mm/s: v l / 4a = 1,
 * and by the shape there e / C / sqrt(l/v) goes into the steel for each K. 0.01 mm at 10 mm/s with 20 m/s is a chip of
 * 5e-6 mm = 0.005 um: (0.1 / 0.005)^0.5 * 30 = 134.16 J/mm3, less 6 with the chips. Steel takes 0.8 of what steel and wheel
 * take. 0.025 W/mm2K of film at 30 m/s over 1.4 mm: 0.025 sqrt(2/3 * 1.4/4) here. */
Test(witness, a_flash_lies_between_wet_and_dry)
{
    struct tw_job job = {
        .mount = TW_MOUNT_TILTED,
        .wheel = { .kind = TW_WHEEL_CUP,
                   .rim_contact_mm = 4.0,
                   .work_partition = 0.8,
                   .specific_energy_J_per_mm3 = 30.0,
                   .size_exponent = 0.5,
                   .min_specific_energy_J_per_mm3 = 10.0,
                   .chip_energy_J_per_mm3 = 6.0 },
        .steel = { .conductivity_W_per_mm_K = 0.04, .density_g_per_mm3 = 0.008, .specific_heat_J_per_g_K = 0.5 },
        .coolant = { .contact_conductance_W_per_mm2_K = 0.025 }
    };
    struct tw_witness_cut cut = { .depth_mm = 0.01, .table_mm_per_s = 10.0, .wheel_mm_per_s = 20000.0, .energy = 1.0 };
    struct tw_witness_band band;
    struct tw_witness_flash flash;
    double takes = sqrt(1.6e-4) / 0.99185042 / sqrt(0.4), flux = (30.0 * sqrt(20.0) - 6.0) * 0.1 / 4.0;

    tw_witness_band_open(&band);
    flash = tw_witness_flash(&job, &band, &cut);
    expect_near("Peclet number", flash.peclet, 1.0, 1e-12);
    expect_near("dry", flash.dry_K, flux / (takes / 0.8), 1e-3 * flash.dry_K);
    expect_near("wet", flash.wet_K, flux / (takes / 0.8 + 0.025 * sqrt(1.4 / 6.0)), 1e-3 * flash.wet_K);
    expect_near("heat, dry", flash.dry_J_per_mm3, 0.8 * (30.0 * sqrt(20.0) - 6.0), 1e-9);
    expect_near("edge", flash.edge_factor, 1.0 + 0.5 / sqrt(acos(-1.0)), 1e-12);
    cut.energy = 0.5;
    expect_near("half the energy", tw_witness_flash(&job, &band, &cut).dry_K,
                (15.0 * sqrt(20.0) - 6.0) * 0.025 / (takes / 0.8), 1e-3 * flash.dry_K);
}

/* Under side B lies side A's face, 1/110 mm higher for each mm; under side A the pad. Tilted by a = atan(1/110) the pad's side
 * rises by as much, and side B's underside by twice that, seen along the part. */
Test(witness, side_b_lies_on_what_side_a_left)
{
    const double a = atan(1.0 / 110.0);
    struct tw_point corners[4];
    struct tw_job job = by_hand(corners, TW_MOUNT_LEVEL, 0.0);
    struct tw_witness_face face = tw_witness_face(&job, TW_SIDE_B);
    struct tw_witness_underside pad = tw_witness_underside(&face, false), ground = tw_witness_underside(&face, true);

    expect_near("level, A up", tw_witness_underside_mm(&face, &pad, 55.0), 0.0, 0.0);
    expect_near("level, B up", tw_witness_underside_mm(&face, &ground, 55.0), 0.5, 1e-12);
    expect_near("ahead of the start", tw_witness_underside_mm(&face, &ground, -5.0), 0.0, 0.0);
    job.mount = TW_MOUNT_TILTED;
    face = tw_witness_face(&job, TW_SIDE_B);
    expect_near("tilted, A up", tw_witness_underside_mm(&face, &pad, 55.0), 0.5, 1e-12);
    expect_near("tilted, B up", tw_witness_underside_mm(&face, &ground, 55.0), 55.0 * tan(2.0 * a), 1e-12);
}

/* Where side A's face has risen 0 of 0.05 mm of allowance at 1/110: 5.5 mm behind the start; on a blank 0.05 mm thicker, with z zero on
 * the pad, 5.5 mm ahead of it. Over the pad nothing rises. */
Test(witness, the_tang_lies_bare_up_to_where_the_face_below_comes_out)
{
    struct tw_point corners[4];
    struct tw_job job = by_hand(corners, TW_MOUNT_LEVEL, 0.0);
    struct tw_witness_face face;
    struct tw_witness_underside below;

    job.finish.allowance_mm = 0.05;
    face = tw_witness_face(&job, TW_SIDE_B);
    below = tw_witness_underside(&face, true);
    expect_near("allowance", tw_witness_bare_to_mm(&below), 5.5, 1e-9);
    job.finish.allowance_mm = 0.0;
    job.task.thicker_mm = 0.05;
    face = tw_witness_face(&job, TW_SIDE_B);
    below = tw_witness_underside(&face, true);
    expect_near("thick", tw_witness_bare_to_mm(&below), -5.5, 1e-9);
    below = tw_witness_underside(&face, false);
    expect_near("pad", tw_witness_bare_to_mm(&below), 0.0, 0.0);
}

/* What test_band.c asks of the history's own steel: a blank 0.05 mm thicker than stated is ground 5.5 mm ahead of a tang drawn alone,
 * and the contact may lie 4 mm farther; a disc 20 mm broad stands out 10 mm over both edges. */
Test(witness, there_is_steel_ahead_of_a_tang_drawn_alone_where_it_is_ground)
{
    struct tw_point tang[4], corners[4];
    struct tw_job job = by_hand(tang, TW_MOUNT_LEVEL, 0.0);
    struct tw_witness_face face;

    job.wheel = (struct tw_wheel){ .kind = TW_WHEEL_DISC, .diameter_mm = 200.0, .width_mm = 20.0 };
    face = tw_witness_face(&job, TW_SIDE_A);
    cr_expect(not(tw_witness_ahead(&face, corners)), "as stated it is ground from the taper start on");
    job.task.thicker_mm = 0.05;
    face = tw_witness_face(&job, TW_SIDE_A);
    cr_assert(tw_witness_ahead(&face, corners));
    expect_near("the front", corners[0].x_mm, -5.5 - 4.0, 1e-9);
    expect_near("the back", corners[2].x_mm, 0.0, 0.0);
    expect_near("across", corners[2].y_mm - corners[0].y_mm, tang[2].y_mm - tang[0].y_mm + 20.0, 1e-9);
    job.part.blade.outer = (struct tw_ring){ tang, 4 }; /* what is drawn is known */
    face = tw_witness_face(&job, TW_SIDE_A);
    cr_expect(not(tw_witness_ahead(&face, corners)));
}

/* 0.3 above and 1.5 kW/m2K below: 5, and with half of 3.7 mm of 0.04 W/mm K before each 1/(1/1.5e-3 + 46.25) over 1/(1/3e-4 +
 * 46.25); on packing a fifth of 1.5. A fifth of the area beside it stands on the pad. */
Test(witness, heat_leaves_by_both_faces_in_proportion)
{
    struct tw_job job = { .taper = { .ricasso_mm = 3.7 },
                          .steel = { .conductivity_W_per_mm_K = 0.04 },
                          .coolant = { .surface_conductance_W_per_mm2_K = 3e-4,
                                       .joint_conductance_W_per_mm2_K = 1.5e-3 } };
    struct tw_witness_shares over = { 0.2, 0.8 };
    double least, most, thick = (1.0 / 3e-4 + 46.25) / (1.0 / 1.5e-3 + 46.25);

    cr_assert(tw_witness_losses(&job, false, over, &least, &most));
    expect_near("least", least, thick, 1e-12);
    expect_near("most", most, 5.0, 1e-12);
    cr_assert(tw_witness_losses(&job, true, over, &least, &most));
    expect_near("packed, least", least, 1.0, 1e-12);
    expect_near("packed, most", most, 0.8 + 0.2 * 5.0, 1e-12);
    over.packed = 0.3; /* half of what the face loses it loses where the tang hangs free */
    cr_assert(tw_witness_losses(&job, true, over, &least, &most));
    expect_near("hanging, least", least, 0.5, 1e-12);
    expect_near("hanging, most", most, 0.3 + 0.2 * 5.0, 1e-12);
    job.coolant.surface_conductance_W_per_mm2_K = 0.0;
    cr_expect(not(tw_witness_losses(&job, true, over, &least, &most)));
}

enum { STRETCHES = 4000 };

/* A rod 20 mm wide and 3 mm thick of 0.04 W/mm K, 400 mm long, bare up to its middle and carried on a fifth beyond that;
 * `came` goes in `at_mm` beyond that. */
static double bare_share_of(double at_mm, double stays)
{
    static struct tw_witness_stretch rod[STRETCHES];
    struct tw_findings findings = { 0 };
    struct tw_witness_shares shares;

    for (int i = 0; i < STRETCHES; i++) {
        bool bare = i < STRETCHES / 2;

        rod[i] =
            (struct tw_witness_stretch){ 60.0, 20.0, 3e-4, 1.5e-3, 0.0, stays / STRETCHES, bare, bare ? 1.0 : 0.2 };
    }
    rod[STRETCHES / 2 + (int)(at_mm / 0.1)].came = 1.0;
    cr_assert(eq(int, tw_witness_carried_shares(rod, STRETCHES, 0.1, 0.04, &shares, &findings), TW_OK));
    tw_findings_free(&findings);
    expect_near("a fifth of the rest is carried", shares.packed, 0.2 * (1.0 - shares.bare), 1e-12);
    return shares.bare;
}

/* A fin of two halves without ends, heated x beyond the border: with m = sqrt(h / (k 3 mm)) on either side, m1 where it is bare,
 * and what comes through the border 2 m2 / (m1 + m2) of what arrives there (temperature and flow are the same on both sides),
 * the sum of temperature over the bare half is exp(-m2 x) / (m1 (m1 + m2)), and by the balance of heat h1 of that and h2 of what
 * is beyond come to all. Ends 140 mm away and more matter by exp(-14) at most. Half of the heat still there, evenly spread, is
 * heat that went to the bare half and was not lost there. */
Test(witness, heat_is_lost_where_a_fin_loses_it)
{
    double h1 = 1.8e-3, h2 = 6e-4, m1 = sqrt(h1 / 0.12), m2 = sqrt(h2 / 0.12);

    for (double x_mm = 0.05; x_mm < 60.0; x_mm += 5.0) {
        double bare = exp(-m2 * x_mm) / (0.12 * (m1 + m2) * m1), beyond = (1.0 - h1 * bare) / h2;

        expect_near("share", bare_share_of(x_mm, 0.0), bare / (bare + beyond), 2e-4);
    }
    cr_expect(lt(dbl, bare_share_of(5.0, 0.5), bare_share_of(5.0, 0.0)));
}

/* Half of a section 26 mm wide and 3 mm thick of 0.04 W/mm K in cells, 9 of its 13 mm carried, with 1 W a mm2 coming in: relaxed until
 * every cell loses what it gets (Patankar, Numerical Heat Transfer and Fluid Flow, 1980, section 4.2: control volumes). Mean of the
 * carried strip over that of all. */
static double strip_by_cells(double face, double joint)
{
    enum { CELLS = 130, CARRIED = 90, ROUNDS = 60000 };
    double K[CELLS] = { 0 }, strip = 0.0, all = 0.0, flow = 0.04 * 3.0 / 0.1;

    for (int round = 0; round < ROUNDS; round++)
        for (int i = 0; i < CELLS; i++) {
            double left = i > 0 ? flow : 0.0, right = i + 1 < CELLS ? flow : 0.0;
            double away = 0.1 * (face + (i < CARRIED ? joint : 0.0));

            K[i] = (0.1 + left * (i > 0 ? K[i - 1] : 0.0) + right * (i + 1 < CELLS ? K[i + 1] : 0.0)) /
                   (left + right + away);
        }
    for (int i = 0; i < CELLS; i++) {
        all += K[i] / CELLS;
        strip += i < CARRIED ? K[i] / CARRIED : 0.0;
    }
    return strip / all;
}

Test(witness, a_strip_in_the_middle_that_is_carried_is_cooler_than_what_lies_beside_it)
{
    static const double faces[] = { 2e-5, 6e-4 };

    for (size_t i = 0; i < 2; i++) {
        struct tw_witness_stretch section = { .section_mm2 = 78.0, .width_mm = 26.0, .face_W_per_mm2_K = faces[i] };

        section.joint_W_per_mm2_K = 1.5e-3;
        section.carried = 9.0 / 13.0;
        expect_near("carried", tw_witness_strip_carried(&section, 0.04) / section.carried,
                    strip_by_cells(faces[i], 1.5e-3), 1e-3);
        expect_near("in haste", tw_witness_strip_carried(&section, 1e6), section.carried, 1e-6);
        section.carried = 1.0;
        expect_near("all", tw_witness_strip_carried(&section, 0.04), 1.0, 0.0);
    }
}
