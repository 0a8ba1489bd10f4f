/* test_spring.c - how far a machine gives way, and what spark-outs leave. Guards against a wheel taken to stand where the
 * program says, and against spark-outs by rule of thumb. */
#include "samples/sample.h"

#include "tangwright/spring.h"
#include "verdict/give.h"

#include <math.h>

/* ---- the closed form ---- */

/* Normal force at a depth of 10 um, stiffness, and what follows: worked out by hand from lag = F/k_e,
 * K = k_e/(k_e + F/a) and (1 - K)^n. 44 N: a 200 mm disc with 5 mm of crossfeed; 47 N: a cup over 25 mm of width. */
static const struct machine_case {
    const char *what;
    double normal_N, stiffness_N_per_um;
    double lag_um, share;
    double left_percent[5]; /* after 1 to 5 spark-outs */
    int passes;             /* down to 0.5 um */
} cases[] = {
    { "disc, 20 N/um", 44.0, 20.0, 2.2, 0.820, { 18.0, 3.3, 0.6, 0.1, 0.0 }, 1 },
    { "disc, 10 N/um", 44.0, 10.0, 4.4, 0.694, { 30.6, 9.3, 2.9, 0.9, 0.3 }, 2 },
    { "cup, 5 N/um", 47.0, 5.0, 9.4, 0.515, { 48.5, 23.5, 11.4, 5.5, 2.7 }, 5 },
    { "cup, 10 N/um", 47.0, 10.0, 4.7, 0.680, { 32.0, 10.2, 3.3, 1.0, 0.3 }, 2 },
};

Test(spring, lag_and_what_is_left_follow_the_closed_form)
{
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        const struct machine_case *c = &cases[i];
        struct tw_spring spring = tw_spring_of(c->normal_N, 0.010, c->stiffness_N_per_um * 1000.0);

        cr_expect(fabs(spring.lag_mm * 1000.0 - c->lag_um) < 0.005, "%s: lag %g", c->what, spring.lag_mm * 1000.0);
        cr_expect(fabs(spring.share - c->share) < 0.0005, "%s: K %g", c->what, spring.share);
        for (int n = 1; n <= 5; n++)
            cr_expect(fabs(100.0 * tw_spring_left_mm(&spring, 1.0, n) - c->left_percent[n - 1]) < 0.06,
                      "%s: %g %% left after %d", c->what, 100.0 * tw_spring_left_mm(&spring, 1.0, n), n);
        cr_expect(eq(int, tw_spring_passes(&spring, spring.lag_mm, 0.0005, 10), c->passes), "%s", c->what);
    }
}

/* The balance of forces itself, solved by halving an interval: the machine pushes with k_e times what it is bent by, the cut
 * pushes back with k_c times what is really taken. */
static double bent_after_mm(double before_mm, double infeed_mm, double machine_N_per_mm, double cut_N_per_mm)
{
    double low = 0.0, high = before_mm + infeed_mm;

    for (int i = 0; i < 200; i++) {
        double taken_mm = (low + high) / 2.0;

        if (cut_N_per_mm * taken_mm < machine_N_per_mm * (before_mm + infeed_mm - taken_mm))
            low = taken_mm;
        else
            high = taken_mm;
    }
    return before_mm + infeed_mm - low;
}

Test(spring, pass_by_pass_agrees_with_the_balance_of_forces_and_settles_at_the_lag)
{
    struct tw_spring spring = tw_spring_of(47.0, 0.010, 5000.0);
    double bent_mm = 0.0, behind_mm = 0.0;

    for (int pass = 0; pass < 60; pass++) {
        double infeed_mm = pass < 50 ? 0.010 : 0.0;

        bent_mm = bent_after_mm(bent_mm, infeed_mm, 5000.0, 4700.0);
        behind_mm = tw_spring_after_mm(&spring, behind_mm, infeed_mm);
        cr_expect(fabs(behind_mm - bent_mm) < 1e-12, "pass %d: %g, not %g", pass, behind_mm, bent_mm);
        if (pass == 49)
            cr_expect(fabs(behind_mm - 0.0094) < 1e-9, "steady: %g", behind_mm); /* 47 N / 5 N/um */
    }
}

/* The cup of 47 N at 10 um on 5 N/um, K = 5/(5 + 4.7) = 0.5155, whose force is 20 N along its way and 2.35 times that square to it.
 * Two layers of 10 um and a spark-out take K 10 = 5.15 um, K (4.85 + 10) = 7.65 um, and K 7.20 = 3.71 um. On 2.5 N/um with three
 * times the force across, K = 2.5/(2.5 + 6) = 0.294: 2.94, K (7.06 + 10) = 5.02 and K 12.04 = 3.54 um. */
Test(spring, layers_take_their_share_of_what_stands_before_them)
{
    static const double taken_um[2][3] = { { 5.155, 7.652, 3.708 }, { 2.941, 5.017, 3.542 } };
    struct tw_layer layers[] = { { .kind = TW_LAYER_ROUGH, .depth_mm = 0.010, .force_N = 20.0 },
                                 { .kind = TW_LAYER_FINISH, .depth_mm = 0.010, .force_N = 20.0 },
                                 { .kind = TW_LAYER_SPARK_OUT } };
    struct tw_plan plan = { .setups = { { .layers = layers, .layer_count = 3 } }, .setup_count = 1 };
    struct tw_point corners[] = { { 0.0, -10.0 }, { 100.0, -10.0 }, { 100.0, 10.0 }, { 0.0, 10.0 } };
    struct tw_job job = { .part = { .tang = { .outer = { corners, 4 } } },
                          .machine = { .stiffness_N_per_mm = 5000.0, .stiffness_least_N_per_mm = 2500.0 },
                          .wheel = { .force_ratio = 2.35, .force_ratio_most = 3.0 } };

    for (int softest = 0; softest < 2; softest++)
        for (size_t i = 0; i < 3; i++)
            cr_expect(fabs(1e3 * tw_plan_taken_mm(&job, &plan, 0, i, softest) - taken_um[softest][i]) < 0.001,
                      "layer %zu: %g um", i, 1e3 * tw_plan_taken_mm(&job, &plan, 0, i, softest));
}

Test(spring, passes_stop_at_the_most_that_is_allowed)
{
    struct tw_spring soft = tw_spring_of(100.0, 0.010, 1000.0);

    cr_expect(eq(int, tw_spring_passes(&soft, soft.lag_mm, 0.0005, 10), 10));
    cr_expect(eq(int, tw_spring_passes(&soft, 0.0004, 0.0005, 10), 0));
}

/* ---- in a plan ---- */

static void read_job(const char *path, struct tw_job *job)
{
    struct tw_findings findings = { 0 };

    cr_assert(eq(int, tw_job_read(path, job, &findings), TW_OK));
    tw_findings_free(&findings);
    job->order = TW_ORDER_A_THEN_B;
    job->taper.butt_mm = job->taper.ricasso_mm - 0.8; /* a shallow taper is planned sooner */
}

static void plan_job(const struct tw_job *job, struct tw_plan *plan, char said[4096])
{
    struct tw_findings findings = { 0 };

    cr_assert(eq(int, tw_plan_make(job, plan, &findings), TW_OK));
    *said = '\0';
    for (size_t i = 0; i < findings.count; i++)
        strncat(said, findings.items[i].text, 4095 - strlen(said));
    tw_findings_free(&findings);
}

/* The plan's own layers through the balance of forces: what the wheel is behind after them, without the last `drop`. At the butt
 * a pass meets no more than the tang's width, whatever it meets ahead of the taper start. */
static double left_mm(const struct tw_job *job, const struct tw_setup_plan *setup, double stiffness_N_per_mm,
                      double force_ratio, size_t drop)
{
    double bent_mm = 0.0, cut_N_per_mm = 0.0, low_mm = HUGE_VAL, high_mm = -HUGE_VAL;

    for (size_t i = 0; i < job->part.tang.outer.count; i++) {
        low_mm = fmin(low_mm, job->part.tang.outer.points[i].y_mm);
        high_mm = fmax(high_mm, job->part.tang.outer.points[i].y_mm);
    }

    for (size_t i = 0; i + drop < setup->layer_count; i++) {
        const struct tw_layer *layer = &setup->layers[i];

        if (layer->kind != TW_LAYER_SPARK_OUT)
            cut_N_per_mm =
                force_ratio * layer->force_N * fmin(1.0, (high_mm - low_mm) / layer->engaged_mm) / layer->loaded_mm;
        bent_mm = bent_after_mm(bent_mm, layer->depth_mm, stiffness_N_per_mm, cut_N_per_mm);
    }
    return bent_mm;
}

/* As many as bring the rest to a twentieth of the flatness (judgement, docs/error-budget.md), and not one more. */
Test(spring, plan_sparks_out_as_often_as_the_machine_needs, ONLY_IN_RELEASE)
{
    static const double stiffness_N_per_um[] = { 8.0, 20.0 };
    int outs[2];

    for (int i = 0; i < 2; i++) {
        struct tw_job job;
        struct tw_plan plan;
        char said[4096];

        read_job("samples/santoku-170/job.cfg", &job);
        job.machine.stiffness_N_per_mm = stiffness_N_per_um[i] * 1000.0;
        plan_job(&job, &plan, said);
        for (size_t k = 0; k < plan.setup_count; k++) {
            const struct tw_setup_plan *setup = &plan.setups[k];
            double stiffness = job.machine.stiffness_N_per_mm, ratio = job.wheel.force_ratio;
            double left = left_mm(&job, setup, stiffness, ratio, 0);

            cr_expect(fabs(left - setup->spring_back.left_mm) < 1e-9, "%g, not %g", setup->spring_back.left_mm, left);
            cr_expect(left <= 0.05 * job.finish.flatness_mm, "%g left", left);
            cr_expect(left_mm(&job, setup, stiffness, ratio, 1) > 0.05 * job.finish.flatness_mm, "one too many");
            cr_expect(fabs(left_mm(&job, setup, job.machine.stiffness_least_N_per_mm, job.wheel.force_ratio_most, 0) -
                           setup->spring_back.left_most_mm) < 1e-9);
        }
        outs[i] = plan.setups[0].spring_back.spark_outs;
        tw_plan_free(&plan);
        tw_job_free(&job);
    }
    cr_expect(outs[0] > outs[1], "%d on 8 N/um, %d on 20 N/um", outs[0], outs[1]);
}

/* Roughed, measured, the work offset lowered by what was found, finished: what the machine is still behind when the part is measured makes
 * the finished face so much too low, for finishing sparks it out by itself. No more than 1 um may be (judgement), and not one more
 * spark-out than that needs. */
Test(spring, roughing_that_is_measured_leaves_nothing_that_springs_back, ONLY_IN_RELEASE)
{
    struct tw_job job;
    struct tw_plan plan;
    char said[4096];

    read_job("samples/santoku-170/job.cfg", &job);
    job.order = TW_ORDER_ROUGH_THEN_FINISH;
    plan_job(&job, &plan, said);
    cr_assert(eq(sz, plan.setup_count, 4));
    for (size_t k = 0; k < 2; k++) {
        const struct tw_setup_plan *setup = &plan.setups[k];
        double stiffness = job.machine.stiffness_N_per_mm, ratio = job.wheel.force_ratio;

        cr_assert(eq(int, setup->scope, TW_SCOPE_ROUGH));
        cr_expect(le(dbl, left_mm(&job, setup, stiffness, ratio, 0), 0.001));
        cr_expect(gt(dbl, left_mm(&job, setup, stiffness, ratio, 1), 0.001), "one too many");
        cr_expect(gt(dbl, left_mm(&job, setup, stiffness, ratio, (size_t)setup->spring_back.spark_outs), 0.005),
                  "without any it would tell");
    }
    tw_plan_free(&plan);
    tw_job_free(&job);
}

Test(spring, too_few_spark_outs_are_told, ONLY_IN_RELEASE)
{
    struct tw_job job;
    struct tw_plan plan;
    char said[4096];

    read_job("samples/santoku-170/job.cfg", &job);
    job.finish.spark_out = 0;
    plan_job(&job, &plan, said);
    cr_expect(eq(int, plan.setups[0].spring_back.spark_outs, 0));
    cr_expect(strstr(said, "after 0 spark-outs the machine still holds the wheel back") != NULL, "%s", said);
    tw_plan_free(&plan);
    tw_job_free(&job);
}

/* ---- as the dry-run tells it from motions ---- */

/* A level plane of steel 0.1 mm over the finished face, a cup of 100 mm that is pushed as in the table's third case: 47 N at
 * 10 um on a machine of 5 N/um. */
struct feed {
    struct tw_job job;
    struct tw_give give;
};

static void feed_open(struct feed *feed)
{
    feed->job = (struct tw_job){
        .wheel = { .kind = TW_WHEEL_CUP, .diameter_mm = 100.0, .force_ratio = 1.0, .force_ratio_most = 2.0 },
        .machine = { .stiffness_N_per_mm = 5000.0, .stiffness_least_N_per_mm = 2500.0 }
    };
    feed->give = (struct tw_give){ .job = &feed->job,
                                   .spot_mm = { 107.0, 0.0 },
                                   .stated_mm = 1.0,
                                   .worst_mm = 1.0,
                                   .lowest_mm = HUGE_VAL,
                                   .level = { .over_mm = HUGE_VAL } };
}

/* A lane from the butt, at that y and height over the face, that cuts or does not; and lifted back. */
static void lane(struct feed *feed, double y_mm, double over_mm, bool cuts)
{
    struct tw_step ahead = { .kind = TW_STEP_FEED }, back = { .kind = TW_STEP_RAPID };
    double from_mm[3] = { 160.0, y_mm, 0.0 }, middle_mm[3] = { 150.0, y_mm, 0.0 }, to_mm[3] = { 50.0, y_mm, 0.0 };

    tw_give_step(&feed->give, &ahead, from_mm, middle_mm, over_mm); /* at another feed */
    tw_give_step(&feed->give, &ahead, middle_mm, to_mm, over_mm);
    if (cuts)
        tw_give_cut(&feed->give, 47.0, 0.010);
    tw_give_step(&feed->give, &back, to_mm, from_mm, over_mm + 1.0);
}

Test(spring, motions_leave_what_the_closed_form_says)
{
    const struct machine_case *c = &cases[2];
    struct feed feed;
    double over_mm = 1.0, behind_mm;

    feed_open(&feed);
    for (int i = 0; i < 100; i++)
        lane(&feed, 0.0, over_mm -= 0.010, true);
    behind_mm = feed.give.stated_mm - over_mm;
    cr_expect(fabs(behind_mm * 1000.0 - c->lag_um) < 0.005, "lag %g", behind_mm * 1000.0);
    /* Twice the force over half the stiffness: four times as far. */
    cr_expect(fabs((feed.give.worst_mm - over_mm) * 1000.0 - 4.0 * c->lag_um) < 0.02, "%g", feed.give.worst_mm);
    for (int n = 1; n <= 5; n++) {
        lane(&feed, 0.0, over_mm, false);
        cr_expect(fabs(100.0 * (feed.give.stated_mm - over_mm) / behind_mm - c->left_percent[n - 1]) < 0.06,
                  "%g %% left after %d", 100.0 * (feed.give.stated_mm - over_mm) / behind_mm, n);
    }
    cr_expect(fabs(feed.give.lowest_mm - over_mm) < 1e-12);
}

/* Lanes beside each other at one height are one pass over a place that both come to; a lane too far away is none. */
Test(spring, lanes_of_one_level_are_no_repeats)
{
    struct feed feed;
    double left_mm;

    feed_open(&feed);
    lane(&feed, 0.0, 0.990, true);
    left_mm = feed.give.stated_mm;
    lane(&feed, 20.0, 0.990, true);
    lane(&feed, 60.0, 0.980, true);
    cr_expect(eq(dbl, feed.give.stated_mm, left_mm));
    lane(&feed, 0.0, 0.990, false);
    cr_expect(lt(dbl, feed.give.stated_mm, left_mm));
}
