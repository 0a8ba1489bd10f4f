/* test_budget.c - what the finished tang may be off by. Guards against a cause that is left out or counted twice, a formula
 * with a slip, and a sum that does not follow from its rows. */
#include "samples/sample.h"

#include "tangwright/assess.h"
#include "tangwright/report.h"

#include <jansson.h>
#include <math.h>

static void expect_near(const char *what, double got, double wanted, double within)
{
    cr_expect(fabs(got - wanted) <= within, "%s is %.9g, not %.9g within %g", what, got, wanted, within);
}

/* ---- closed forms ---- */

/* 285 W through 110 by 25 mm of steel of 40 W/mK bow a free tang by 45 um, whatever its thickness: alpha q L^2/(8 k), the same as
 * alpha dT L^2/(8 H) with dT = q H/k (thermal bending of a beam, any text on thermal stress). */
Test(budget, free_bow_is_that_of_a_plate_with_a_straight_gradient)
{
    double flux = 285.0 / (110.0 * 25.0), gradient_K = flux * 2.0 / 0.040;

    expect_near("285 W", tw_bow_mm(flux, 110.0, 0.040), 0.045, 0.0005);
    expect_near("by the gradient", tw_bow_mm(flux, 110.0, 0.040), 11.5e-6 * gradient_K * 110.0 * 110.0 / (8.0 * 2.0),
                1e-12);
}

/* 1 - 1/e of it in one time constant; nothing from nothing. */
Test(budget, spindle_grows_towards_its_end_with_its_time_constant)
{
    expect_near("one constant", tw_growth_mm(0.030, 1800.0, 0.0, 1800.0), 0.030 * (1.0 - exp(-1.0)), 1e-12);
    expect_near("all of it", tw_growth_mm(0.030, 1800.0, 0.0, 1e6), 0.030, 1e-12);
    expect_near("in two parts", tw_growth_mm(0.030, 1800.0, 0.0, 600.0) + tw_growth_mm(0.030, 1800.0, 600.0, 1800.0),
                tw_growth_mm(0.030, 1800.0, 0.0, 1800.0), 1e-15);
}

Test(budget, warm_up_is_as_long_as_needed_in_whole_steps)
{
    for (double allowed_mm = 0.0005; allowed_mm < 0.02; allowed_mm *= 1.7) {
        double warm_s = tw_warm_up_s(0.030, 1800.0, 600.0, allowed_mm);

        cr_expect(fmod(warm_s, 300.0) == 0.0);
        cr_expect(tw_growth_mm(0.030, 1800.0, warm_s, warm_s + 600.0) <= allowed_mm + 1e-12, "%g", warm_s);
        if (warm_s > 0.0)
            cr_expect(tw_growth_mm(0.030, 1800.0, warm_s - 300.0, warm_s + 300.0) > allowed_mm, "%g too long", warm_s);
    }
}

/* ---- of a plan ---- */

static void plan_sample(const char *path, struct tw_job *job, struct tw_plan *plan)
{
    struct tw_findings findings = { 0 };

    cr_assert(eq(int, tw_job_read(path, job, &findings), TW_OK));
    job->taper.butt_mm = job->taper.ricasso_mm - 0.8; /* a shallow taper is planned sooner */
    cr_assert(eq(int, tw_plan_make(job, plan, &findings), TW_OK));
    tw_findings_free(&findings);
}

static const struct tw_error_row *row_of(const struct tw_error_budget *budget, const char *name)
{
    for (size_t i = 0; i < budget->count; i++)
        if (strcmp(budget->rows[i].name, name) == 0)
            return &budget->rows[i];
    return NULL;
}

Test(budget, rows_follow_from_the_plan_and_the_sum_from_the_rows, ONLY_IN_RELEASE)
{
    struct tw_job job;
    struct tw_plan plan;
    struct tw_error_budget budget;
    const struct tw_error_row *row;
    double squares = 0.0, left_mm = 0.0;
    char sentence[TW_ERROR_SENTENCE];

    plan_sample("samples/santoku-170/job.cfg", &job, &plan);
    budget = tw_error_budget(&job, &plan);
    for (size_t i = 0; i < budget.count; i++)
        squares += budget.rows[i].thickness_um * budget.rows[i].thickness_um;
    expect_near("root of the squares", budget.thickness_um, sqrt(squares), 1e-9);
    row = row_of(&budget, "spring-back");
    cr_assert(row != NULL);
    for (size_t i = 0; i < plan.setup_count; i++)
        if (plan.setups[i].scope != TW_SCOPE_ROUGH) /* what the roughing leaves, the measurement finds */
            left_mm += plan.setups[i].spring_back.left_most_mm;
    expect_near("spring-back of both faces", row->thickness_um, left_mm * 1e3, 1e-9);
    row = row_of(&budget, "thickness band"); /* 0.05 mm either way, which the butt takes */
    cr_assert(row != NULL);
    expect_near("the band", row->thickness_um, 50.0, 1e-9);
    cr_expect(eq(sz, budget.largest_thickness, (size_t)(row - budget.rows)));
    cr_expect(row_of(&budget, "sag between shims") == NULL); /* it lies on solid steel */
    tw_error_sentence(&budget, sentence, sizeof sentence);
    cr_expect(sentence[0] == '\0', "%s", sentence);
    job.finish.flatness_mm = 0.001;
    budget = tw_error_budget(&job, &plan);
    tw_error_sentence(&budget, sentence, sizeof sentence);
    cr_expect(strstr(sentence, "The flatness that the job asks for, 1.0 um, is less than") != NULL, "%s", sentence);
    tw_plan_free(&plan);
    tw_job_free(&job);
}

/* Between shims a quarter of the length apart the tang is a beam on two supports, F s^3/(48 E I), in series with the machine; the
 * spark-outs are taken one by one through the balance of the forces. */
static double sag_by_hand_mm(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    const struct tw_layer *layer = &setup->layers[setup->layer_count - 1 - (size_t)setup->spring_back.spark_outs];
    double span_mm = job->taper.length_mm / 4.0;
    double thick_mm = job->taper.ricasso_mm - 0.8 * (job->taper.length_mm - span_mm / 2.0) / job->taper.length_mm;
    double width_mm = tw_tang_area_mm2(job) / job->taper.length_mm;
    double beam = 48.0 * 210000.0 * width_mm * pow(thick_mm, 3.0) / 12.0 / pow(span_mm, 3.0);
    double both = 1.0 / (1.0 / job->machine.stiffness_N_per_mm + 1.0 / beam);
    double cut = job->wheel.force_ratio * layer->force_N / layer->depth_mm, left[2];

    for (int i = 0; i < 2; i++) {
        double machine = i == 0 ? job->machine.stiffness_N_per_mm : both;

        left[i] = job->wheel.force_ratio * layer->force_N / machine;
        for (int k = 0; k < setup->spring_back.spark_outs; k++)
            left[i] -= machine * left[i] / (machine + cut); /* taken: cut * taken = machine * (left - taken) */
    }
    return left[1] - left[0];
}

/* Both faces are finished over what lies below them: side A over the roughed face B. */
Test(budget, sag_between_shims_is_a_beam_in_series_with_the_machine, ONLY_IN_RELEASE)
{
    struct tw_job job;
    struct tw_plan plan;
    struct tw_error_budget budget;
    const struct tw_error_row *row;
    double most_mm = 0.0;

    plan_sample("samples/santoku-170/job.cfg", &job, &plan);
    cr_assert(eq(sz, plan.setup_count, 4));
    for (size_t i = 2; i < 4; i++) {
        double sag_mm = sag_by_hand_mm(&job, &plan.setups[i]);

        expect_near("the sag", tw_shim_sag_mm(&job, &plan.setups[i]), sag_mm, 1e-9);
        most_mm = fmax(most_mm, sag_mm);
    }
    job.fixture.packing = TW_PACKING_SHIMS;
    budget = tw_error_budget(&job, &plan);
    row = row_of(&budget, "sag between shims");
    cr_assert(row != NULL);
    expect_near("its row", row->flatness_um, most_mm * 1e3, 1e-6);
    tw_plan_free(&plan);
    tw_job_free(&job);
}

Test(budget, summary_has_every_row_with_name_numbers_and_cure)
{
    struct tw_findings findings = { 0 };
    struct tw_job job;
    struct tw_plan plan;
    struct tw_error_budget budget;
    char *text;
    json_t *summary, *rows;

    plan_sample("samples/santoku-170/job.cfg", &job, &plan);
    budget = tw_error_budget(&job, &plan);
    cr_assert(eq(int, tw_summary_json(&job, &plan, &text, &findings), TW_OK));
    summary = json_loads(text, 0, NULL);
    rows = json_object_get(summary, "error_budget");
    cr_assert(eq(sz, json_array_size(rows), budget.count));
    for (size_t i = 0; i < budget.count; i++) {
        json_t *row = json_array_get(rows, i);

        cr_expect(strcmp(json_string_value(json_object_get(row, "name")), budget.rows[i].name) == 0);
        expect_near("thickness", json_number_value(json_object_get(row, "thickness_um")), budget.rows[i].thickness_um,
                    1e-6 * (1.0 + budget.rows[i].thickness_um));
        expect_near("flatness", json_number_value(json_object_get(row, "flatness_um")), budget.rows[i].flatness_um,
                    1e-6 * (1.0 + budget.rows[i].flatness_um));
        cr_expect(gt(sz, json_string_length(json_object_get(row, "cure")), 10));
    }
    json_decref(summary);
    free(text);
    tw_plan_free(&plan);
    tw_job_free(&job);
}
