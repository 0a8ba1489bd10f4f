/* test_band.c - no blank is as thick as its job: where the taper of another one begins and how thick its butt comes out,
 * by hand; programs that hold over their band, and a little beside the drawing; and what happens on a blank that they were
 * not made for. */
#include "samples/sample.h"
#include "tangwright/taper.h"
#include "tangwright/verdict.h"
#include "tangwright/warm.h"

#include <math.h>

static void expect_near(const char *what, double actual, double expected, double within)
{
    cr_expect(fabs(actual - expected) <= within, "%s is %.9g, not %.9g within %g", what, actual, expected, within);
}

/* The trade's example: 3.7 mm at the ricasso, 1.7 mm at the butt, 110 mm long: each face falls by m = 2.0 / 220 = 1/110. */
static struct tw_job by_hand(struct tw_point corners[4], enum tw_height_zero zero, double thicker_mm)
{
    const struct tw_point bar[4] = { { 0.0, -10.0 }, { 110.0, -10.0 }, { 110.0, 10.0 }, { 0.0, 10.0 } };
    struct tw_job job = {
        .taper = { .ricasso_mm = 3.7, .butt_mm = 1.7, .length_mm = 110.0, .smallest_mm = 1.0, .zero = zero }
    };

    memcpy(corners, bar, sizeof bar);
    job.part.tang.outer = (struct tw_ring){ corners, 4 };
    return tw_blank_job(&job, thicker_mm);
}

/* With z zero on the pad the face is z = 3.7 - x/110 whatever the blank. One of 3.75 mm meets it where x = -0.05 * 110. Side A
 * leaves 3.7 - 1 = 2.7 mm at the butt; turned over, its upper face is at 3.75 there and is ground to 2.7: 1.05 mm off 2.7. */
Test(band, from_the_pad_a_thicker_blank_starts_ahead_and_comes_out_thinner)
{
    struct tw_point corners[4];
    struct tw_job thick = by_hand(corners, TW_ZERO_PAD, 0.05), thin = by_hand(corners, TW_ZERO_PAD, -0.05);

    expect_near("start of the thick one", tw_taper_begin_mm(&thick), -5.5, 1e-9);
    expect_near("butt of the thick one", tw_taper_butt_mm(&thick), 2.7 - 1.05, 1e-9);
    expect_near("start of the thin one", tw_taper_begin_mm(&thin), 5.5, 1e-9);
    expect_near("butt of the thin one", tw_taper_butt_mm(&thin), 2.7 - 0.95, 1e-9);
}

/* With z zero on the ricasso 1 mm comes off each face at the butt of any blank: 3.75 - 2 and 3.65 - 2. */
Test(band, from_the_ricasso_the_start_is_exact_and_the_butt_takes_the_error)
{
    struct tw_point corners[4];
    struct tw_job thick = by_hand(corners, TW_ZERO_RICASSO, 0.05), thin = by_hand(corners, TW_ZERO_RICASSO, -0.05);

    expect_near("start of the thick one", tw_taper_begin_mm(&thick), 0.0, 1e-9);
    expect_near("butt of the thick one", tw_taper_butt_mm(&thick), 1.75, 1e-9);
    expect_near("start of the thin one", tw_taper_begin_mm(&thin), 0.0, 1e-9);
    expect_near("butt of the thin one", tw_taper_butt_mm(&thin), 1.65, 1e-9);
}

/* A tang drawn alone: 5.5 mm ahead of its start the thick blank is ground, and there is steel there; as wide as a disc 20 mm
 * broad may stand out over both edges of a tang 20 mm wide. The wheel's contact may lie up to 4 mm farther ahead. */
Test(band, heats_the_steel_that_it_grinds_ahead_of_a_tang_drawn_alone)
{
    struct tw_point tang[4], corners[4];
    struct tw_job thick = by_hand(tang, TW_ZERO_PAD, 0.05), stated = by_hand(tang, TW_ZERO_PAD, 0.0);
    struct tw_face face = tw_face_of(&thick, TW_SIDE_A);

    thick.wheel = (struct tw_wheel){ .kind = TW_WHEEL_DISC, .diameter_mm = 200.0, .width_mm = 20.0 };
    cr_assert(tw_warm_ahead(&thick, &face, corners));
    expect_near("the front", corners[0].x_mm, -5.5 - 4.0, 1e-9);
    expect_near("the back", corners[2].x_mm, 0.0, 1e-9);
    expect_near("one edge", corners[0].y_mm, -20.0, 1e-9);
    expect_near("the other edge", corners[2].y_mm, 20.0, 1e-9);
    face = tw_face_of(&stated, TW_SIDE_A);
    cr_expect(not(tw_warm_ahead(&stated, &face, corners)));
    thick.part.blade.outer = (struct tw_ring){ tang, 4 }; /* what is drawn is known */
    face = tw_face_of(&thick, TW_SIDE_A);
    cr_expect(not(tw_warm_ahead(&thick, &face, corners)));
}

/* The face in both mounts, tilted by atan(1/110) about the origin on the pad. Level: the thick blank's top is at 3.75, the
 * face at 3.7 at the taper start, or with that top. Tilted: its top lies at 3.75 / cos over the origin, so 3.7 cos + 0.05 / cos
 * over the taper start of the face at -3.7 sin: that much is what the program with z zero on the ricasso calls 0. */
Test(band, stands_over_the_face_or_lifts_it_in_either_mount)
{
    const double alpha = atan(1.0 / 110.0), rise_mm = 0.05 / cos(alpha);
    struct tw_point corners[4];

    for (int mount = 0; mount < 2; mount++) {
        struct tw_job pad = by_hand(corners, TW_ZERO_PAD, 0.05), ricasso = by_hand(corners, TW_ZERO_RICASSO, 0.05);
        double face_mm = mount == TW_MOUNT_TILTED ? 3.7 * cos(alpha) : 3.7;
        double over_mm = mount == TW_MOUNT_TILTED ? rise_mm : 0.05;
        double start_mm = mount == TW_MOUNT_TILTED ? -3.7 * sin(alpha) : 0.0;
        struct tw_face a, b;

        pad.mount = ricasso.mount = (enum tw_mount)mount;
        a = tw_face_of(&pad, TW_SIDE_A);
        b = tw_face_of(&ricasso, TW_SIDE_A);
        expect_near("zero on the pad", a.zero_mm, 0.0, 0.0);
        expect_near("the face from the pad", tw_face_height_mm(&a, 0.0), face_mm, 1e-9);
        expect_near("stock at the taper start", tw_face_stock_mm(&a, start_mm), over_mm, 1e-9);
        expect_near("where stock begins", tw_face_reach_mm(&a, 0.0), start_mm - over_mm * 110.0, 1e-9);
        expect_near("zero on the ricasso", b.zero_mm, face_mm + over_mm, 1e-9);
        expect_near("the face from the ricasso", tw_face_height_mm(&b, 0.0) - b.zero_mm, 0.0, 1e-9);
        expect_near("stock at the taper start", tw_face_stock_mm(&b, start_mm), 0.0, 1e-9);
        expect_near("the top", tw_face_top_mm(&b, start_mm), tw_face_top_mm(&a, start_mm), 1e-9);
    }
}

/* What comes off the tang: a wedge of 20 x 110 x 1 / 2 = 1100 mm3, and from the pad 0.05 mm more all over 2200 mm2; a thin
 * blank's wedge begins at 5.5 mm: 20 x 104.5 x 0.95 / 2 = 992.75 mm3. */
Test(band, takes_the_volume_of_a_wedge_and_a_plate)
{
    struct tw_point corners[4];
    struct tw_job thick = by_hand(corners, TW_ZERO_PAD, 0.05), thin = by_hand(corners, TW_ZERO_PAD, -0.05),
                  other = by_hand(corners, TW_ZERO_RICASSO, 0.05);

    expect_near("thick, from the pad", tw_taper_removed_mm3(&thick), 1210.0, 1e-6);
    expect_near("thin, from the pad", tw_taper_removed_mm3(&thin), 992.75, 1e-6);
    expect_near("thick, from the ricasso", tw_taper_removed_mm3(&other), 1100.0, 1e-6);
}

/* ---- programs ---- */

static void plan_sample(const char *name, enum tw_height_zero zero, double band_mm, struct sample *out)
{
    char path[160];
    struct tw_findings findings = { 0 };
    enum tw_status status;

    *out = (struct sample){ 0 };
    snprintf(path, sizeof path, "samples/%s/job.cfg", name);
    cr_assert(eq(int, tw_job_read(path, &out->job, NULL), TW_OK));
    out->job.taper.zero = zero;
    out->job.taper.band_mm = band_mm;
    status = tw_plan_make(&out->job, &out->plan, &findings);
    show_findings(&findings);
    tw_findings_free(&findings);
    cr_assert(eq(int, status, TW_OK), "%s", name);
    for (size_t i = 0; i < out->plan.setup_count; i++)
        cr_assert(eq(int, tw_program_text(&out->job, &out->plan, i, 0.0, &out->programs[i], NULL), TW_OK));
}

static void prove(const struct sample *sample, struct tw_verdict *out)
{
    struct tw_card cards[TW_SETUPS_MOST];
    size_t count = sample->plan.setup_count;

    for (size_t i = 0; i < count; i++)
        cards[i] =
            (struct tw_card){ sample->plan.setups[i].file_name, sample->programs[i], strlen(sample->programs[i]) };
    cr_assert(eq(int, tw_verdict_make(&sample->job, cards, count, 0.0, out, NULL), TW_OK));
}

static void close_sample(struct sample *sample)
{
    for (size_t i = 0; i < sample->plan.setup_count; i++)
        free(sample->programs[i]);
    tw_plan_free(&sample->plan);
    tw_job_free(&sample->job);
}

/* All samples are proved over their own bands elsewhere; these are wider ones, both zeros, discs and cups, one part and
 * several. */
Test(band, is_held_by_its_programs_from_its_thinnest_to_its_thickest_blank)
{
    static const struct {
        const char *name;
        enum tw_height_zero zero;
        double band_mm;
    } rows[] = { { "santoku-170", TW_ZERO_PAD, 0.1 },
                 { "petty-130", TW_ZERO_RICASSO, 0.15 },
                 { "hunter-110", TW_ZERO_RICASSO, 0.1 },
                 { "steak-three", TW_ZERO_RICASSO, 0.05 } };
    size_t count = sizeof rows / sizeof *rows;

    for (size_t i = 0; i < (sample_all_wanted() ? count : SANITIZED ? 1 : 2); i++) {
        struct sample sample;
        struct tw_verdict verdict;

        plan_sample(rows[i].name, rows[i].zero, rows[i].band_mm, &sample);
        prove(&sample, &verdict);
        for (size_t p = 0; p < verdict.count; p++)
            for (int id = 0; id < TW_CHECK_COUNT; id++)
                cr_expect(verdict.proofs[p].checks[id].failed == 0, "%s, %s: %s, %g of %g on the %s blank: %s",
                          rows[i].name, verdict.proofs[p].name, tw_check_name((enum tw_check_id)id),
                          verdict.proofs[p].checks[id].amount, verdict.proofs[p].checks[id].limit,
                          tw_band_end_name(&verdict, verdict.proofs[p].checks[id].blank),
                          verdict.proofs[p].checks[id].note);
        tw_verdict_free(&verdict);
        close_sample(&sample);
    }
}

/* The first cut finds what it was planned for and the 0.05 mm that it was not. */
Test(band, of_nothing_fails_on_a_thicker_blank)
{
    static const enum tw_check_id broken[] = { TW_CHECK_DEPTH, TW_CHECK_POWER, TW_CHECK_HOLDING, TW_CHECK_TEMPERATURE };
    struct sample sample;
    struct tw_verdict verdict;

    plan_sample("santoku-170", TW_ZERO_PAD, 0.0, &sample);
    sample.job.taper.band_mm = 0.05;
    prove(&sample, &verdict);
    cr_expect(verdict.cut == 0);
    for (size_t i = 0; i < sizeof broken / sizeof *broken; i++) {
        const struct tw_check *check = &verdict.proofs[0].checks[broken[i]];

        cr_expect(check->failed != 0, "%s: %g of %g", tw_check_name(broken[i]), check->amount, check->limit);
        cr_expect(eq(int, check->blank, TW_BAND_THICK));
    }
    /* Heights are rounded up by less than the machine's smallest step. */
    cr_expect(gt(dbl, verdict.proofs[0].checks[TW_CHECK_DEPTH].amount, 0.05 - sample.job.machine.smallest_step_mm));
    tw_verdict_free(&verdict);
    close_sample(&sample);
}

/* Planned without any room over what was read, as if the faces were straight lines between readings; then a face that stands as high as
 * no reading tells is cut so much deeper at first. */
static void take_room_away(struct tw_straight *straight)
{
    for (int side = 0; side < 2; side++) {
        struct tw_profile *highest = &straight->utmost[side];

        highest->count = 1;
        for (size_t i = 0; i < straight->gauge_count; i++)
            highest->points[highest->count++] =
                (struct tw_point){ straight->gauges[i].x_mm, straight->gauges[i].high_mm[side] };
    }
}

Test(band, of_a_surveyed_blank_reaches_over_what_was_read)
{
    struct sample sample = { 0 };
    struct tw_verdict verdict;

    cr_assert(eq(int, tw_job_read("samples/gyuto-240-bowed/job.cfg", &sample.job, NULL), TW_OK));
    take_room_away(sample.job.straight);
    cr_assert(eq(int, tw_plan_make(&sample.job, &sample.plan, NULL), TW_OK));
    for (size_t i = 0; i < sample.plan.setup_count; i++)
        cr_assert(eq(int, tw_program_text(&sample.job, &sample.plan, i, 0.0, &sample.programs[i], NULL), TW_OK));
    prove(&sample, &verdict);
    for (size_t p = 0; p < 2; p++) {
        const struct tw_check *depth = &verdict.proofs[p].checks[TW_CHECK_DEPTH];

        cr_expect(depth->failed != 0, "%s", verdict.proofs[p].name);
        cr_expect(strcmp(tw_band_end_name(&verdict, depth->blank), "highest") == 0);
    }
    tw_verdict_free(&verdict);
    close_sample(&sample);
}

/* ---- nor does it lie where it is drawn ---- */

/* What a fixture's stops and holes may be off by default, and a blank wider than its drawing (docs/job-reference.md): 0.2 mm, 0.2 deg. */
static const struct {
    const char *what;
    double across_mm, askew_rad, wider_mm;
} misplaced[] = { { "0.2 mm across", 0.2, 0.0, 0.0 },
                  { "0.2 mm across the other way", -0.2, 0.0, 0.0 },
                  { "0.2 deg askew", 0.0, 0.2 * 3.14159265358979323846 / 180.0, 0.0 },
                  { "0.2 mm wider at either edge", 0.0, 0.0, 0.2 } };

/* The ring as drawn, somewhere else. */
static void misplace(const struct tw_ring *drawn, size_t how, struct tw_ring *ring)
{
    double cosine = cos(misplaced[how].askew_rad), sine = sin(misplaced[how].askew_rad);

    for (size_t i = 0; i < drawn->count; i++) {
        struct tw_point p = drawn->points[i];

        ring->points[i].x_mm = p.x_mm * cosine - p.y_mm * sine;
        ring->points[i].y_mm = p.x_mm * sine + p.y_mm * cosine + misplaced[how].across_mm +
                               (p.y_mm > 0.0 ? 1.0 : -1.0) * misplaced[how].wider_mm;
    }
}

/* The flat-bottomed strip that lanes left beside the edge would stand until the next layer, or for good. */
Test(band, of_places_beside_the_drawing_is_ground_as_well)
{
    static const char *const names[] = { "slicer-240", "hunter-110" };

    for (size_t i = 0; i < (sample_all_wanted() ? 2 : 1); i++) {
        struct sample sample;
        struct tw_ring *tang = &sample.job.part.tang.outer, drawn;

        plan_sample(names[i], TW_ZERO_PAD, 0.0, &sample);
        drawn = (struct tw_ring){ malloc(tang->count * sizeof *tang->points), tang->count };
        cr_assert(drawn.points != NULL);
        memcpy(drawn.points, tang->points, tang->count * sizeof *tang->points);
        for (size_t how = 0; how < (SANITIZED ? 1 : sizeof misplaced / sizeof *misplaced); how++) {
            struct tw_verdict verdict;

            misplace(&drawn, how, tang);
            prove(&sample, &verdict);
            for (size_t p = 0; p < verdict.count; p++)
                for (int id = 0; id < TW_CHECK_COUNT; id++)
                    cr_expect(verdict.proofs[p].checks[id].failed == 0, "%s, %s, %s: %s, %g of %g: %s", names[i],
                              misplaced[how].what, verdict.proofs[p].name, tw_check_name((enum tw_check_id)id),
                              verdict.proofs[p].checks[id].amount, verdict.proofs[p].checks[id].limit,
                              verdict.proofs[p].checks[id].note);
            tw_verdict_free(&verdict);
        }
        free(drawn.points);
        close_sample(&sample);
    }
}

/* On the ricasso every height of a program counts from the finished face at the taper start, which is 0 there. */
Test(band, with_zero_on_the_ricasso_the_last_layer_lies_at_nought)
{
    struct sample sample;
    const struct tw_setup_plan *setup;
    size_t last;

    plan_sample("hunter-110", TW_ZERO_RICASSO, 0.05, &sample);
    last = sample.plan.setup_count - 1; /* after the roughing */
    setup = &sample.plan.setups[last];
    expect_near("the finished height", setup->face.height_mm - setup->face.zero_mm, 0.0, 1e-12);
    cr_expect(strstr(sample.programs[last], "ZERO ON THE RICASSO AT THE TAPER START") != NULL);
    cr_expect(strstr(sample.programs[last], "TOUCH OFF") != NULL);
    cr_expect(strstr(sample.programs[last], "FOR BLANKS OF 3.650 mm TO 3.750 mm AT THE RICASSO") != NULL);
    close_sample(&sample);
}
