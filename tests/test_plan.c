/* test_plan.c - the planner against closed forms, a trade example, and obstacles put in its way. Guards against a
 * wrong slope or volume, a limit passed over, a keep-out touched or not named, and memory that runs out.
 *
 * Whether the moves leave the right faces is proved in test_samples.c. */
#include "samples/sample.h"

#include "input/failing_memory.h"
#include "tangwright/motion.h"
#include "tangwright/taper.h"
#include "sanitized.h"

#include <math.h>

static void expect_near(const char *what, double got, double wanted, double within)
{
    cr_expect(fabs(got - wanted) <= within, "%s is %.9g, not %.9g within %g", what, got, wanted, within);
}

/* ---- the shop's hunter, changed for each question ---- */

static void read_sample(const char *name, struct tw_job *job)
{
    struct tw_findings findings = { 0 };
    char path[128];

    snprintf(path, sizeof path, "samples/%s/job.cfg", name);
    cr_assert(eq(int, tw_job_read(path, job, &findings), TW_OK));
    tw_findings_free(&findings);
}

static void set_ring(struct tw_ring *ring, const struct tw_point *points, size_t count)
{
    free(ring->points);
    ring->points = calloc(count, sizeof *points);
    cr_assert(ring->points != NULL);
    memcpy(ring->points, points, count * sizeof *points);
    ring->count = count;
}

/* A tang with straight sides, `front_mm` wide at the taper start and `back_mm` at its end. */
static void set_trapezoid(struct tw_job *job, double length_mm, double front_mm, double back_mm)
{
    struct tw_point corners[4] = {
        { 0.0, -front_mm / 2.0 }, { length_mm, -back_mm / 2.0 }, { length_mm, back_mm / 2.0 }, { 0.0, front_mm / 2.0 }
    };

    tw_outline_free(&job->part.tang);
    set_ring(&job->part.tang.outer, corners, 4);
    job->taper.length_mm = length_mm;
}

static void add_square_hole(struct tw_job *job, double x_mm, double side_mm)
{
    double h = side_mm / 2.0;
    struct tw_point corners[4] = { { x_mm - h, -h }, { x_mm - h, h }, { x_mm + h, h }, { x_mm + h, -h } };
    struct tw_outline *tang = &job->part.tang;

    tang->holes = calloc(1, sizeof *tang->holes);
    cr_assert(tang->holes != NULL);
    tang->hole_count = 1;
    set_ring(&tang->holes[0], corners, 4);
}

static void set_only_keep_out(struct tw_job *job, const char *name, double x0, double y0, double x1, double y1,
                              double top_mm)
{
    struct tw_point corners[4] = { { x0, y0 }, { x1, y0 }, { x1, y1 }, { x0, y1 } };
    struct tw_fixture *fixture = &job->fixture;

    cr_assert(gt(sz, fixture->keep_out_count, 0));
    for (size_t i = 1; i < fixture->keep_out_count; i++) {
        free(fixture->keep_outs[i].name);
        free(fixture->keep_outs[i].plan.points);
    }
    fixture->keep_out_count = 1;
    free(fixture->keep_outs[0].name);
    fixture->keep_outs[0].name = malloc(strlen(name) + 1);
    cr_assert(fixture->keep_outs[0].name != NULL);
    strcpy(fixture->keep_outs[0].name, name);
    fixture->keep_outs[0].top_mm = top_mm;
    fixture->keep_outs[0].kind = TW_KEEP_OUT_BODY; /* it carries nothing */
    set_ring(&fixture->keep_outs[0].plan, corners, 4);
}

/* Plans what must not be planned; *said gets the first finding. */
static void expect_refusal(const struct tw_job *job, char said[2000])
{
    struct tw_findings findings = { 0 };
    struct tw_plan plan;

    cr_expect(eq(int, tw_plan_make(job, &plan, &findings), TW_NO_PLAN));
    cr_expect(eq(ptr, plan.setups[0].moves, NULL));
    cr_assert(gt(sz, findings.count, 0));
    snprintf(said, 2000, "%s", findings.items[0].text);
    tw_findings_free(&findings);
}

static void expect_says(const char *said, const char *words)
{
    cr_expect(strstr(said, words) != NULL, "wanted \"%s\" in: %s", words, said);
}

static void expect_planned(const struct tw_job *job, struct tw_plan *plan)
{
    struct tw_findings findings = { 0 };
    enum tw_status status = tw_plan_make(job, plan, &findings);

    if (status != TW_OK)
        show_findings(&findings);
    cr_assert(eq(int, status, TW_OK));
    tw_findings_free(&findings);
}

/* ---- the trade's own example ---- */

Test(taper, of_the_trades_example_raises_a_300_mm_vice_by_nearly_3_mm)
{
    /* "Knifemaking photo essay 2", NZ Hunting and Shooting forum, board f53, post 1579458: a 3.7 mm blank, tang
     * 110 mm, 1.0 mm off each face at the butt leaves 1.7 mm; about 1 mm in 100 mm; a 300 mm vice raised by about
     * 3 mm (3.175 mm was used). Exactly: 300 mm * sin(atan(1/110)) = 2.72716 mm, worked out by hand. */
    struct tw_face face;
    struct tw_job job;

    read_sample("hunter-110", &job);
    sample_make_wet(&job);
    face = tw_face_of(&job, TW_SIDE_A);
    expect_near("the rise", tw_taper_rise_mm(&job, 300.0), 2.72716, 1e-5);
    expect_near("the rise, as the maker says it,", tw_taper_rise_mm(&job, 300.0), 3.0, 0.5);
    expect_near("what comes off at the butt", tw_face_stock_mm(&face, face.start_mm + 110.0 * face.stretch), 1.0, 1e-4);
    expect_near("the butt", tw_taper_thickness_mm(&job, 110.0), 1.7, 1e-12);
    expect_near("the packing under the butt, side B", tw_taper_packing_mm(&job, TW_SIDE_B, 110.0), 1.0, 1e-12);
    expect_near("the packing under the butt, side A", tw_taper_packing_mm(&job, TW_SIDE_A, 110.0), 0.0, 0.0);
    tw_job_free(&job);
}

/* The same tang of 110 mm, with the butt's thickness reached 70 mm behind its end, or 10 mm ahead of it: by similar triangles. */
Test(taper, at_the_butt_is_that_where_the_tang_ends)
{
    struct tw_job job;

    read_sample("hunter-110", &job);
    expect_near("the end", tw_tang_end_mm(&job), 110.0, 1e-9);
    job.taper.length_mm = 180.0;
    expect_near("ahead of the taper's end", tw_taper_butt_mm(&job), 3.7 - 2.0 * 110.0 / 180.0, 1e-9);
    expect_near("its packing", tw_taper_packing_mm(&job, TW_SIDE_B, tw_tang_end_mm(&job)), 110.0 / 180.0, 1e-9);
    job.taper.length_mm = 100.0;
    expect_near("behind the taper's end", tw_taper_butt_mm(&job), 3.7 - 2.0 * 110.0 / 100.0, 1e-9);
    tw_job_free(&job);
}

/* One face alone takes half as much off, and what a blank is thicker, too: the finished face lies at the same height. */
Test(taper, of_one_face_falls_half_as_fast)
{
    struct tw_job job;

    read_sample("hunter-110", &job);
    job.one_face = true;
    job.task.thicker_mm = 0.05;
    expect_near("the butt", tw_taper_thickness_mm(&job, 110.0), 2.7, 1e-12);
    expect_near("what the ground face is over the centre plane", tw_taper_half_mm(&job, TW_SIDE_A, 110.0), 0.85, 1e-12);
    expect_near("what the other one is", tw_taper_half_mm(&job, TW_SIDE_B, 110.0), 1.85, 1e-12);
    expect_near("the butt of a thicker blank, from the pad", tw_taper_butt_mm(&job), 2.7, 1e-9);
    job.taper.zero = TW_ZERO_RICASSO;
    expect_near("the butt of a thicker blank, from its ricasso", tw_taper_butt_mm(&job), 2.75, 1e-9);
    tw_job_free(&job);
}

/* ---- volume: integral of m x over the tang, by hand ---- */

Test(volume, of_a_rectangular_tang_is_a_wedge)
{
    struct tw_job job;
    const double m = 1.0 / 110.0, w = 24.0, l = 110.0;

    read_sample("hunter-110", &job);
    sample_make_wet(&job);
    set_trapezoid(&job, l, w, w);
    expect_near("the area", tw_tang_area_mm2(&job), w * l, 1e-9);
    expect_near("a wedge", tw_taper_removed_mm3(&job), m * w * l * l / 2.0, 1e-9);
    job.finish.allowance_mm = 0.1; /* begins at a/m and is lower by a: a smaller wedge of the same slope */
    expect_near("a wedge under an allowance", tw_taper_removed_mm3(&job), m * w * pow(l - 0.1 / m, 2) / 2.0, 1e-9);
    tw_job_free(&job);
}

Test(volume, leaves_out_a_hole)
{
    struct tw_job job;
    const double m = 1.0 / 110.0, w = 24.0, l = 110.0;

    read_sample("hunter-110", &job);
    sample_make_wet(&job);
    set_trapezoid(&job, l, w, w);
    add_square_hole(&job, 70.0, 10.0);
    expect_near("the area", tw_tang_area_mm2(&job), w * l - 100.0, 1e-9);
    expect_near("without the hole", tw_taper_removed_mm3(&job), m * (w * l * l / 2.0 - 100.0 * 70.0), 1e-9);
    job.finish.allowance_mm = 70.0 * m; /* begins in the middle of the hole: 5 mm of it, 2.5 mm on, are left out */
    expect_near("from the hole's middle", tw_taper_removed_mm3(&job), m * (w * 40.0 * 40.0 / 2.0 - 10.0 * 5.0 * 2.5),
                1e-9);
    tw_job_free(&job);
}

Test(volume, of_a_trapezoid_and_of_the_whole_plan)
{
    struct tw_job job;
    struct tw_plan plan;
    const double m = 0.1 / 110.0, l = 110.0, front = 20.0, back = 26.0;
    const double wedge = m * (front * l * l / 2.0 + (back - front) * l * l / 3.0);

    read_sample("hunter-110", &job);
    sample_make_wet(&job);
    sample_shallow(&job); /* 0.1 mm off each face at 110 mm */
    set_trapezoid(&job, l, front, back);
    expect_near("a trapezoid's wedge", tw_taper_removed_mm3(&job), wedge, 1e-9);
    expect_planned(&job, &plan);
    expect_near("both faces", plan.removed_mm3, 2.0 * wedge, 1e-9);
    expect_near("their weight at 7.83 g/cm3", plan.removed_g, 2.0 * wedge * 7.83e-3, 1e-9);
    tw_plan_free(&plan);
    tw_job_free(&job);
}

/* ---- time: constant acceleration, worked out by hand ---- */

Test(motion, takes_the_time_of_a_trapezoid_or_a_triangle)
{
    struct tw_job job;
    const double along[3] = { 100.0, 0.0, 0.0 }, slant[3] = { 30.0, 40.0, 0.0 };

    read_sample("santoku-170", &job); /* 500 mm/s2 along and across, rapids 250/3 mm/s; 300 mm/s2 up, 50 mm/s */
    expect_near("100 mm at 50 mm/s", tw_motion_feed_time_s(&job.machine, along, 50.0), 2.0 + 0.1, 1e-12);
    expect_near("1 mm, never at speed", tw_motion_time_s(1.0, 50.0, 500.0), 2.0 * sqrt(1.0 / 500.0), 1e-12);
    /* 3-4-5: the across axis does 0.8 of the path: 500/0.8 mm/s2, (250/3)/0.8 mm/s */
    expect_near("a slanting rapid", tw_motion_rapid_time_s(&job.machine, slant),
                50.0 / (312.5 / 3.0) + (312.5 / 3.0) / 625.0, 1e-12);
    tw_job_free(&job);
}

Test(motion, does_not_stop_on_a_straight_line_and_stops_at_corners_of_an_exact_path)
{
    struct tw_findings findings = { 0 };
    struct tw_motion_leg legs[3] = { { { 40.0, 0.0, 0.0 }, 50.0, false },
                                     { { 60.0, 0.0, 0.0 }, 50.0, false },
                                     { { 0.0, 10.0, 0.0 }, 50.0, false } };
    struct tw_job job;
    double times[3];

    read_sample("santoku-170", &job);
    cr_assert(eq(int, tw_motion_times(&job.machine, legs, 2, false, times, &findings), TW_OK));
    expect_near("two legs in line", times[0] + times[1], 2.1, 1e-12);
    cr_assert(eq(int, tw_motion_times(&job.machine, legs, 3, true, times, &findings), TW_OK));
    expect_near("a right angle is a stop even when blended", times[0] + times[1] + times[2], 2.1 + 10.0 / 50.0 + 0.1,
                1e-12);
    legs[0].rest_after = true;
    cr_assert(eq(int, tw_motion_times(&job.machine, legs, 2, false, times, &findings), TW_OK));
    expect_near("a rest between", times[0] + times[1], 40.0 / 50.0 + 60.0 / 50.0 + 0.2, 1e-12);
    tw_job_free(&job);
}

/* ---- refusals ---- */

Test(refusal, of_a_dry_alumina_disc_names_what_would_help)
{
    /* "Dry alumina can't hold a flash of 150 K at ordinary depths": S. Malkin, E. Lenz, CIRP Ann. 27(1), 233, 1978,
     * with their burning temperature replaced by the limit; the makers' rule is to flood it (common practice). */
    struct tw_job job;
    char said[2000];

    read_sample("hunter-110", &job);
    sample_make_wet(&job);
    job.limits.flash = TW_FLASH_STRICT;
    job.limits.energy_reserve = job.limits.film_reserve = 1.0; /* advice is the question, not what is kept back */
    job.coolant.kind = TW_COOLANT_DRY;
    job.coolant.contact_conductance_W_per_mm2_K = 0.0;
    job.wheel.specific_energy_J_per_mm3 = 45.0; /* no longer freshly dressed */
    job.machine.feed_min_mm_per_s = 50.0;       /* a hydraulic table creeps no slower than some 3 m/min */
    expect_refusal(&job, said);
    expect_says(said, "temperature");
    expect_says(said, "flood coolant");
    expect_says(said, "CBN");
    expect_says(said, "samples/hunter-110/job.cfg");
    tw_job_free(&job);
}

Test(refusal, of_a_plan_that_nobody_would_run_says_how_long_it_would_take_with_what_helps, ONLY_IN_RELEASE)
{
    struct tw_job job;
    char said[2000];

    read_sample("hunter-110", &job);
    sample_make_wet(&job);
    job.coolant.kind = TW_COOLANT_DRY;
    job.coolant.contact_conductance_W_per_mm2_K = 0.0;
    expect_refusal(&job, said);
    expect_says(said, "one part would take ");
    expect_says(said, "8 h are allowed");
    expect_says(said, "a CBN wheel would take ");
    expect_says(said, "flood coolant would take ");
    tw_job_free(&job);
}

Test(refusal, ends_the_program_with_4)
{
    static const char steps[] =
        "cd \"$D\" && cp \"$HERE\"/samples/hunter-110/* . && "
        "sed -i 's|../../profiles|'\"$HERE\"'/profiles|; s|flood.cfg|dry.cfg|' job.cfg && "
        "sed -i 's|\"30 J/mm3\"|\"45 J/mm3\"|; s|grinder.cfg\"|&; feed_min = \"3 m/min\"|' "
        "job.cfg && sed -i 's|\"equivalent\"|\"strict\"|' job.cfg && "
        "\"$HERE/$TANGWRIGHT\" preview job.cfg >out 2>err; code=$?; test $code = 4 && test ! -s out && test -s err";
    char command[2048], here[1024];
    const char *program = getenv("TANGWRIGHT");

    cr_assert(getcwd(here, sizeof here) != NULL);
    snprintf(command, sizeof command,
             "D=$(mktemp -d); HERE='%s' TANGWRIGHT='%s'; (%s); code=$?; rm -r \"$D\"; exit $code", here,
             program ? program : "build/release/tangwright", steps);
    cr_expect(eq(int, system(command), 0));
}

Test(refusal, of_a_wheel_that_would_run_too_fast)
{
    /* pi * 200 mm * 3450 rpm / 60 s = 36.128 m/s, worked out by hand; the wheel is marked for 35 m/s. */
    struct tw_job job;
    char said[2000];

    read_sample("hunter-110", &job);
    sample_make_wet(&job);
    job.machine.spindle_programmable = false;
    job.machine.spindle_max_rpm = 3450.0;
    expect_refusal(&job, said);
    expect_says(said, "36.13 m/s");
    expect_says(said, "35.00 m/s");
    tw_job_free(&job);
}

Test(refusal, of_a_face_that_the_allowance_uses_up)
{
    struct tw_job job;
    char said[2000];

    read_sample("hunter-110", &job);
    sample_make_wet(&job);
    job.finish.allowance_mm = 1.0 + job.taper.band_mm; /* what comes off the thickest blank */
    expect_refusal(&job, said);
    expect_says(said, "allowance");
    tw_job_free(&job);
}

/* ---- keep-outs ---- */

/* A disc of radius R passes an obstacle that stands r above its lowest point at a distance of
 * sqrt(r (2 R - r)): circle geometry. Here R = 100, clearance 2 both ways. */
static double keeps_off_mm(double top_mm, double wheel_z_mm)
{
    double r = top_mm + 2.0 - wheel_z_mm;

    return sqrt(r * (200.0 - r)) + 2.0;
}

static double missing_in(const char *said)
{
    const char *at = strstr(said, "must get ");

    cr_assert(at != NULL, "%s", said);
    return strtod(at + strlen("must get "), NULL);
}

Test(keep_out, ahead_of_the_start_is_named_with_what_is_missing)
{
    /* Tilted by atan(1/110): the finished face lies at 3.7 cos, its taper start at -3.7 sin of that. */
    const double alpha = atan(1.0 / 110.0), z = 3.7 * cos(alpha), start = -3.7 * sin(alpha);
    struct tw_job job;
    char said[2000];

    read_sample("hunter-110", &job);
    job.order = TW_ORDER_A_THEN_B;
    sample_make_wet(&job);
    job.taper.band_mm = 0.0;
    set_only_keep_out(&job, "tall clamp", -60.0, -30.0, -30.0, 30.0, 9.0);
    expect_refusal(&job, said);
    expect_says(said, "tall clamp");
    expect_says(said, "ricasso");
    expect_near("what is missing", missing_in(said), -30.0 + keeps_off_mm(9.0, z) - start, 0.005);
    tw_job_free(&job);
}

Test(keep_out, that_just_leaves_room_ahead_is_worked_up_to)
{
    /* The same clamp, back by what was missing and a little: passes end against it, and stay a moment. */
    const double alpha = atan(0.1 / 110.0), z = 3.7 * cos(alpha), start = -3.7 * sin(alpha);
    double edge_mm = start - keeps_off_mm(9.0, z) - 0.01;
    bool dwells = false;
    struct tw_job job;
    struct tw_plan plan;

    read_sample("hunter-110", &job);
    job.order = TW_ORDER_A_THEN_B;
    sample_make_wet(&job);
    sample_shallow(&job); /* 0.1 mm off each face at 110 mm */
    set_only_keep_out(&job, "tall clamp", edge_mm - 30.0, -30.0, edge_mm, 30.0, 9.0);
    expect_planned(&job, &plan);
    cr_expect(eq(int, plan.setups[0].style, TW_STYLE_FROM_BUTT));
    for (size_t i = 0; i < plan.setups[0].move_count; i++) {
        const struct tw_move *move = &plan.setups[0].moves[i];

        dwells = dwells || move->kind == TW_MOVE_DWELL;
        if (move->to.z_mm < 9.0 + 2.0)
            cr_expect(move->to.x_mm > edge_mm + keeps_off_mm(9.0, move->to.z_mm) - 1e-6, "move %zu", i);
    }
    cr_expect(dwells != 0);
    tw_plan_free(&plan);
    tw_job_free(&job);
}

Test(keep_out, behind_the_butt_is_named)
{
    const double alpha = atan(1.0 / 110.0), z = 3.7 * cos(alpha);
    struct tw_job job;
    char said[2000];

    read_sample("hunter-110", &job);
    sample_make_wet(&job);
    set_only_keep_out(&job, "end post", 125.0, -40.0, 135.0, 40.0, 9.0);
    expect_refusal(&job, said);
    expect_says(said, "end post");
    expect_says(said, "butt");
    /* The tang's end at 110 mm lies at 110/cos - 3.7 sin on the finished face; a disc finishes it from above it. */
    expect_near("what is missing", missing_in(said),
                110.0 / cos(alpha) - 3.7 * sin(alpha) - (125.0 - keeps_off_mm(9.0, z)), 0.02);
    tw_job_free(&job);
}

Test(keep_out, beside_the_tang_is_named_with_its_place)
{
    struct tw_job job;
    char said[2000];

    read_sample("hunter-110", &job);
    sample_make_wet(&job);
    set_trapezoid(&job, 110.0, 40.0, 40.0); /* two lanes or more: none can step aside */
    set_only_keep_out(&job, "side clamp", 50.0, 20.5, 60.0, 40.0, 9.0);
    expect_refusal(&job, said);
    expect_says(said, "side clamp");
    expect_says(said, "y = ");
    expect_says(said, "from x = ");
    tw_job_free(&job);
}

Test(keep_out, beside_the_tang_does_not_hinder_where_a_lane_can_step_aside)
{
    /* 15 mm of tang under a disc of 20 mm: the lane may stand 2.5 mm to the side; the post is 1 mm beyond its edge
     * with clearance. */
    struct tw_job job;
    struct tw_plan plan;

    read_sample("hunter-110", &job);
    sample_make_wet(&job);
    set_trapezoid(&job, 110.0, 15.0, 15.0);
    sample_shallow(&job);
    set_only_keep_out(&job, "side post", 50.0, 11.0, 60.0, 20.0, 9.0);
    expect_planned(&job, &plan);
    for (size_t i = 1; i < plan.setups[0].move_count; i++) {
        const struct tw_move *move = &plan.setups[0].moves[i];

        /* The first layers end behind the post. */
        if (move->role == TW_ROLE_CUT && fmin(move[-1].to.x_mm, move->to.x_mm) < 60.0)
            cr_expect(le(dbl, move->to.y_mm, 11.0 - 2.0 - 10.0), "move %zu", i);
    }
    tw_plan_free(&plan);
    tw_job_free(&job);
}

Test(keep_out, that_the_wheel_passes_over_does_not_count)
{
    struct tw_job job;
    struct tw_plan with, without;

    read_sample("hunter-110", &job);
    sample_make_wet(&job);
    sample_shallow(&job);
    expect_planned(&job, &without);
    set_only_keep_out(&job, "low pad", -60.0, -30.0, 200.0, 30.0, 1.69); /* 2 mm below the face at 3.7 */
    expect_planned(&job, &with);
    cr_expect(eq(sz, with.setups[0].move_count, without.setups[0].move_count));
    expect_near("the time", with.cycle_time_s, without.cycle_time_s, 1e-9);
    tw_plan_free(&with);
    tw_plan_free(&without);
    tw_job_free(&job);
}

/* ---- what the schedule promises ---- */

Test(schedule, leaves_the_last_layers_to_the_finish_and_fills_the_stock_exactly, ONLY_IN_RELEASE)
{
    struct tw_job job;
    struct tw_plan plan;

    read_sample("hunter-110", &job);
    job.order = TW_ORDER_A_THEN_B;
    sample_make_wet(&job);
    job.taper.butt_mm = job.taper.ricasso_mm - 0.4;
    expect_planned(&job, &plan);
    for (int side = 0; side < 2; side++) {
        const struct tw_setup_plan *setup = &plan.setups[side];
        double depth_mm = 0.0;
        size_t last = setup->layer_count - 1;

        for (size_t i = 0; i <= last; i++)
            depth_mm += setup->layers[i].depth_mm;
        /* 0.2 mm at the butt and 0.05 mm that a blank may be thicker, in steps of the machine's 0.001 mm: no less, and at
         * most one step more. */
        cr_expect(depth_mm >= 0.25 - 1e-3 && depth_mm < 0.251 + 1e-9, "%g mm in all", depth_mm);
        cr_expect(eq(int, setup->layers[last].kind, TW_LAYER_SPARK_OUT));
        while (setup->layers[last].kind == TW_LAYER_SPARK_OUT) /* as many as the machine gives way for */
            last--;
        cr_expect(eq(int, setup->layers[last].kind, TW_LAYER_FINISH));
        cr_expect(eq(int, setup->layers[last - 1].kind, TW_LAYER_FINISH));
        cr_expect(le(dbl, setup->layers[last].depth_mm, 0.005 + 1e-12));
        cr_expect(eq(int, setup->layers[0].kind, TW_LAYER_ROUGH));
    }
    tw_plan_free(&plan);
    tw_job_free(&job);
}

/* Planned one at a time, three blanks have to wait to cool; in rounds they cool while the others are ground. */
/* A dozen plans: nothing in them is new to the sanitizers, which take three minutes for them. */

/* The search comes this close to the quickest plan there is: see docs/measurements.md. */
#define SEARCH_SHARE 0.01

/* What a limit is said to cost is a promise: the whole search under the looser limit finds a plan as quick. */
static void expect_promise(const char *sample, enum tw_limit limit, void (*loosen)(struct tw_job *job))
{
    struct tw_job job;
    struct tw_plan plan, looser;

    read_sample(sample, &job);
    expect_planned(&job, &plan);
    cr_expect(gt(dbl, plan.saves_s[limit], 1.0), "%s: %s does not bind", sample, tw_limit_name(limit));
    loosen(&job);
    expect_planned(&job, &looser);
    cr_expect(le(dbl, looser.cycle_time_s, (1.0 + SEARCH_SHARE) * plan.cycle_time_s - plan.saves_s[limit]), "%s, %s",
              sample, tw_limit_name(limit));
    tw_plan_free(&looser);
    tw_plan_free(&plan);
    tw_job_free(&job);
}

static void loosen_infeed(struct tw_job *job)
{
    job->wheel.max_infeed_mm *= 1.1;
}

static void loosen_feed(struct tw_job *job)
{
    job->machine.feed_max_mm_per_s *= 1.1;
}

Test(schedule, keeps_the_promise_of_what_a_looser_limit_saves, ONLY_IN_RELEASE)
{
    expect_promise("bunka-170", TW_LIMIT_INFEED, loosen_infeed);
    expect_promise("cleaver-200", TW_LIMIT_TABLE_SPEED, loosen_feed);
}

/* A plan under looser limits never takes longer, but for what the search misses. TEST_SAMPLES=all (make every-test) takes a longer
 * sample as well, make bench asks all. */
Test(schedule, takes_no_longer_with_a_larger_infeed, ONLY_IN_RELEASE)
{
    static const char *const samples[] = { "petty-130", "deba-165-twisted", "gyuto-240-bowed" };

    for (size_t i = 0; i < (sample_all_wanted() ? 3 : 2); i++) {
        struct tw_job job;
        struct tw_plan plan, looser;

        read_sample(samples[i], &job);
        expect_planned(&job, &plan);
        job.wheel.max_infeed_mm *= 3.0;
        expect_planned(&job, &looser);
        cr_expect(le(dbl, looser.cycle_time_s, (1.0 + SEARCH_SHARE) * plan.cycle_time_s), "%s", samples[i]);
        tw_plan_free(&looser);
        tw_plan_free(&plan);
        tw_job_free(&job);
    }
}

Test(schedule, says_no_cost_of_limits_that_do_not_bind, ONLY_IN_RELEASE)
{
    struct tw_job job;
    struct tw_plan plan;

    read_sample("santoku-170", &job);
    job.machine.spindle_power_W *= 1e3;
    job.fixture.clamp_force_N = 1e7;
    expect_planned(&job, &plan);
    expect_near("what power costs", plan.saves_s[TW_LIMIT_POWER], 0.0, 0.0);
    expect_near("what holding costs", plan.saves_s[TW_LIMIT_HOLDING], 0.0, 0.0);
    tw_plan_free(&plan);
    tw_job_free(&job);
}

Test(schedule, goes_round_the_parts_where_that_saves_waiting, ALSO_IN_RELEASE)
{
    struct tw_job job;
    struct tw_plan rounds, alone;

    if (SANITIZED && !sample_all_wanted())
        cr_skip_test("takes long under the sanitizers: only with TEST_SAMPLES=all");
    read_sample("steak-three", &job);
    expect_planned(&job, &rounds);
    job.parts = 1;
    expect_planned(&job, &alone);
    for (int side = 0; side < 2; side++) {
        const struct tw_setup_plan *setup = &rounds.setups[side];
        double in_turn_s = 3.0 * alone.setups[side].part_time_s;
        int enters = 0;

        for (size_t i = 0; i < setup->move_count; i++)
            enters += setup->moves[i].enters;
        cr_expect(eq(int, enters, setup->rounds), "the wheel comes once a round");
        cr_expect(eq(int, alone.setups[side].rounds, 1));
        /* One by one the wheel goes on to the next part twice, which takes some seconds at the most. */
        cr_expect(lt(dbl, 3.0 * setup->part_time_s + setup->between_s, in_turn_s + 5.0), "side %d", side);
    }
    /* Packed from below, side B cannot give its heat away. */
    cr_expect(gt(int, rounds.setups[1].rounds, 1));
    cr_expect(gt(dbl, alone.setups[1].dwell_s, 60.0));
    cr_expect(lt(dbl, 3.0 * rounds.setups[1].part_time_s + rounds.setups[1].between_s,
                 0.8 * 3.0 * alone.setups[1].part_time_s));
    tw_plan_free(&rounds);
    tw_plan_free(&alone);
    tw_job_free(&job);
}

/* Roughing A, roughing B, finishing A, finishing B; and what lies under the tang each time. */
Test(schedule, takes_the_stock_off_evenly_where_the_job_asks_for_it, ONLY_IN_RELEASE)
{
    static const struct {
        enum tw_side side;
        enum tw_scope scope;
        double left_mm; /* below, in finishing layers; the raw face lies on the pad */
        bool packed;
    } wanted[] = { { TW_SIDE_A, TW_SCOPE_ROUGH, 0.0, false },
                   { TW_SIDE_B, TW_SCOPE_ROUGH, 1.0, true },
                   { TW_SIDE_A, TW_SCOPE_FINISH, 1.0, true },
                   { TW_SIDE_B, TW_SCOPE_FINISH, 0.0, true } };
    double finish_mm, butt_mm, depth_mm[2] = { 0.0, 0.0 };
    struct tw_job job;
    struct tw_plan plan;

    read_sample("hunter-110", &job);
    sample_make_wet(&job);
    job.order = TW_ORDER_ROUGH_THEN_FINISH;
    job.taper.butt_mm = job.taper.ricasso_mm - 0.4;
    expect_planned(&job, &plan);
    cr_assert(eq(sz, plan.setup_count, 4));
    finish_mm = job.finish.layers * job.finish.infeed_mm;
    butt_mm = (job.taper.ricasso_mm - job.taper.butt_mm) / 2.0;
    for (size_t i = 0; i < 4; i++) {
        const struct tw_setup_plan *setup = &plan.setups[i];

        cr_expect(eq(int, setup->face.side, wanted[i].side));
        cr_expect(eq(int, setup->scope, wanted[i].scope));
        expect_near("packing under the butt", tw_setup_packing_mm(&job, setup, job.taper.length_mm),
                    wanted[i].packed ? butt_mm - wanted[i].left_mm * finish_mm : 0.0, 1e-9);
        for (size_t k = 0; k < setup->layer_count; k++)
            depth_mm[setup->face.side] += setup->layers[k].depth_mm;
    }
    for (int side = 0; side < 2; side++)
        expect_near("all layers of a side", depth_mm[side], butt_mm + job.taper.band_mm, 0.0025);
    tw_plan_free(&plan);
    tw_job_free(&job);
}

static double lowest_z_mm(const char *text)
{
    double lowest_mm = HUGE_VAL;

    for (const char *at = text; (at = strstr(at, "G1 ")); at++) {
        const char *z = strchr(at, 'Z'), *end = strchr(at, '\n');

        if (z && z < end)
            lowest_mm = fmin(lowest_mm, strtod(z + 1, NULL));
    }
    return lowest_mm;
}

/* A measurement between roughing and finishing tells of one touching off. A wheel of its own for the hollows comes once that is used
 * up: side B's as it lies, then side A's on the finished and hollowed face. What parts were gauged off by is not that wheel's. */
Test(schedule, a_wheel_of_its_own_hollows_last_and_at_its_own_heights)
{
    static const struct {
        enum tw_side side;
        enum tw_scope scope;
        bool hollowed;
    } wanted[] = { { TW_SIDE_A, TW_SCOPE_ROUGH, false },  { TW_SIDE_B, TW_SCOPE_ROUGH, false },
                   { TW_SIDE_A, TW_SCOPE_FINISH, false }, { TW_SIDE_B, TW_SCOPE_FINISH, false },
                   { TW_SIDE_B, TW_SCOPE_RELIEF, false }, { TW_SIDE_A, TW_SCOPE_RELIEF, true } };
    struct tw_station lower[8];
    struct tw_job job;
    struct tw_plan plan;

    read_sample("gyuto-210-hollow", &job);
    cr_assert(eq(int, job.order, TW_ORDER_ROUGH_THEN_FINISH));
    sample_measured(&job);
    job.taper.butt_mm = job.taper.ricasso_mm - 0.4; /* in few layers: it is their order that is asked for */
    job.relief.depth_mm = 0.1;
    expect_planned(&job, &plan);
    cr_assert(eq(sz, plan.setup_count, 6));
    for (size_t i = 0; i < 6; i++) {
        const struct tw_setup_plan *setup = &plan.setups[i];
        struct tw_job gauged = job;
        double lower_in[2];

        cr_expect(eq(int, setup->face.side, wanted[i].side));
        cr_expect(eq(int, setup->scope, wanted[i].scope));
        cr_expect(eq(int, setup->below_hollowed, wanted[i].hollowed));
        memcpy(lower, job.fixture.stations, job.fixture.station_count * sizeof *lower);
        lower[0].lower_mm = 0.0254;
        gauged.fixture.stations = lower;
        for (int k = 0; k < 2; k++) {
            char *text;

            cr_assert(eq(int, tw_program_text(k == 0 ? &job : &gauged, &plan, i, 0.0, &text, NULL), TW_OK));
            lower_in[k] = lowest_z_mm(text);
            free(text);
        }
        expect_near("lower by", lower_in[0] - lower_in[1], setup->scope == TW_SCOPE_RELIEF ? 0.0 : 0.001, 1e-9);
    }
    expect_near("packing of the last", tw_setup_packing_mm(&job, &plan.setups[5], job.taper.length_mm),
                (job.taper.ricasso_mm - job.taper.butt_mm) / 2.0, 1e-9);
    tw_plan_free(&plan);
    tw_job_free(&job);
}

/* Hollowed first by a wheel of its own, the faces' wheel is touched off between what would be measured and what is finished. */
Test(schedule, a_wheel_of_its_own_that_hollows_first_leaves_nothing_to_measure_between)
{
    static const struct tw_instead first[] = { { "relief.when", "first" }, { "order", "rough-then-finish" } };
    struct tw_findings findings = { 0 };
    struct tw_job job;

    cr_assert(eq(int, tw_job_read_with("samples/gyuto-210-hollow/job.cfg", first, 1, &job, &findings), TW_OK));
    cr_expect(eq(int, job.order, TW_ORDER_A_THEN_B));
    cr_expect(findings.count > 0 && strstr(findings.items[findings.count - 1].text, "relief.when = \"last\""));
    tw_job_free(&job);
    tw_findings_free(&findings);
    cr_expect(eq(int, tw_job_read_with("samples/gyuto-210-hollow/job.cfg", first, 2, &job, &findings), TW_BAD_INPUT));
    cr_assert(gt(sz, findings.count, 0));
    cr_expect(strstr(findings.items[0].text, "order = \"a-then-b\";") != NULL, "%s", findings.items[0].text);
    tw_findings_free(&findings);
}

/* What is reported for the order taken is what planning in that order takes. The other one is only tried over coarse cells: the
 * bound is the share by which an order must be the quicker not to be followed any farther. */
Test(schedule, hollows_first_or_last_whichever_is_quicker, ONLY_IN_RELEASE)
{
    struct tw_job job;
    struct tw_plan either, first, last;

    read_sample("butcher-180", &job);
    sample_shallow(&job);
    cr_assert(eq(int, job.relief.when, TW_RELIEF_AUTO));
    expect_planned(&job, &either);
    job.relief.when = TW_RELIEF_FIRST;
    expect_planned(&job, &first);
    job.relief.when = TW_RELIEF_LAST;
    expect_planned(&job, &last);
    cr_expect(first.relief_first && !last.relief_first);
    expect_near("the relief first", either.relief_first_s, first.cycle_time_s,
                either.relief_first ? 1e-9 : 0.1 * first.cycle_time_s);
    expect_near("the relief last", either.relief_last_s, last.cycle_time_s,
                either.relief_first ? 0.1 * last.cycle_time_s : 1e-9);
    expect_near("the quicker", either.cycle_time_s, fmin(first.cycle_time_s, last.cycle_time_s), 1e-9);
    tw_plan_free(&either);
    tw_plan_free(&first);
    tw_plan_free(&last);
    tw_job_free(&job);
}

/* ---- what does not hold ---- */

/* hunter-110 has a gap of 1 mm under the butt with side B up, and with side A up once B is roughed, over which a magnet with fine
 * poles keeps next to nothing. */
Test(holding, side_that_the_packing_leaves_loose_is_refused_with_what_would_help)
{
    struct tw_job job;
    char said[2000];

    read_sample("hunter-110", &job);
    job.fixture.packing = TW_PACKING_SHIMS;
    expect_refusal(&job, said);
    expect_says(said, "side A up, roughed once more on side B as that was roughed, does not hold");
    expect_says(said, "packing = \"steel wedge\"");
    /* 5 N times a safety of 2 over a friction of 0.15 */
    expect_says(said, "clamps of 67 N");
    job.fixture.pull_N_per_mm2 = 0.0;
    job.fixture.clamp_force_N = 50.0;
    expect_refusal(&job, said);
    expect_says(said, "side A up does not hold");
    tw_job_free(&job);
}

/* ---- memory ---- */

/* A light job, so that it can be planned some hundred times. */
static void read_light(const char *name, struct tw_job *job)
{
    read_sample(name, job);
    job->taper.butt_mm = job->taper.ricasso_mm - 0.03;
    job->taper.band_mm = 0.0; /* more would be thicker than the taper */
    job->finish.layers = 1;
    job->finish.spark_out = 0;
}

/* Lets every `step`-th allocation fail in turn. */
static void sweep(const char *name, long step)
{
    struct tw_findings findings = { 0 };
    struct tw_job job;
    struct tw_plan plan;
    char *text = NULL, *json = NULL;
    long before;
    enum tw_status status = TW_NO_MEMORY;

    read_light(name, &job);
    before = blocks_in_use;
    for (long n = 0; status != TW_OK; n += !SANITIZED ? step : (sample_all_wanted() ? 23 : 46) * step) {
        cr_assert(n < 5000, "still failing");
        allocations_until_failure = n;
        status = tw_plan_make(&job, &plan, &findings);
        if (status == TW_OK)
            status = tw_program_text(&job, &plan, TW_SIDE_A, 0.0, &text, &findings);
        if (status == TW_OK)
            status = tw_summary_json(&job, &plan, &json, &findings);
        if (status == TW_OK && allocations_until_failure >= 0)
            n = 5000; /* all went well without reaching the failure */
        allocations_until_failure = -1;
        cr_expect(status == TW_OK || status == TW_NO_MEMORY, "allocation %ld: status %d", n, (int)status);
        free(text);
        __real_free(json); /* comes from a shared library: not counted */
        text = json = NULL;
        tw_plan_free(&plan);
        tw_findings_free(&findings);
        cr_expect(eq(long, blocks_in_use, before), "allocation %ld", n);
    }
    tw_job_free(&job);
}

Test(memory, that_runs_out_anywhere_in_planning_lanes_is_told_and_nothing_is_lost, ALSO_IN_RELEASE)
{
    sweep("hunter-110", 5);
}

Test(memory, that_runs_out_anywhere_in_planning_loops_is_told_and_nothing_is_lost, ALSO_IN_RELEASE)
{
    sweep("skeleton-70", sample_all_wanted() ? 11 : 37);
}
