/* test_softening.c - the equivalent flash limit: what it allows by the Hollomon-Jaffe parameter, plans made under it, what
 * every output says of the limit that was not used, and the film's reserve. Guards against flashes that add up to
 * more than the steel's own tempering less the margin, a bulk above the limit, and a plan that lies about either limit. */
#include "check/near.h"
#include "samples/sample.h"

#include "tangwright/assess.h"
#include "tangwright/heat.h"
#include "tangwright/temper.h"

#include <jansson.h>
#include <math.h>

static const double hour_s = 3600.0;

/* ---- what the limit allows ---- */

Test(softening, limit_is_the_tabulated_equivalent)
{
    /* Same P as 4 h at the temperature allowed, in whole degC: P = T (C + log10 t), Hollomon and Jaffe 1945, worked out
     * with Python. Columns 1 ms, 10 ms, 0.1, 1, 10, 60, 600, 3600 s. C = 20 is the stricter of the two for short times;
     * from 4 h on the steel's own 15.5 would be. */
    static const double times_s[8] = { 1e-3, 1e-2, 0.1, 1, 10, 60, 600, 3600 };
    static const double table[][9] = { { 150, 375, 330, 291, 257, 227, 205, 180, 163 },
                                       { 175, 414, 366, 325, 288, 256, 234, 207, 188 },
                                       { 200, 452, 402, 358, 320, 286, 262, 234, 214 } };

    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        struct tw_temper_limit limit = tw_temper_limit_of(table[i][0] + 25.0, 25.0, 4.0 * hour_s, 15.5);

        for (int j = 0; j < 8; j++)
            EXPECT_NEAR(tw_temper_highest_degC(&limit, times_s[j]), table[i][1 + j], 0.51);
        EXPECT_NEAR(tw_temper_highest_degC(&limit, 4.0 * hour_s), table[i][0], 1e-6);
    }
}

Test(softening, the_constant_that_allows_less_counts)
{
    /* 8 h at one temperature allow less than 4 h do; by the smaller constant the temperature falls faster: T = 448.15
     * (15.5 + log10 4) / (15.5 + log10 8) against the same with 20, by hand 439.93 and 441.70 K. */
    struct tw_temper_limit limit = tw_temper_limit_of(200.0, 25.0, 4.0 * hour_s, 15.5);

    EXPECT_NEAR(tw_temper_highest_degC(&limit, 8.0 * hour_s), 439.926 - 273.15, 0.01);
    /* not known: 20 counts */
    limit = tw_temper_limit_of(200.0, 25.0, 4.0 * hour_s, 0.0);
    EXPECT_NEAR(limit.constants[1], 20.0, 0.0);
    EXPECT_NEAR(tw_temper_highest_degC(&limit, 8.0 * hour_s), 441.696 - 273.15, 0.01);
}

Test(softening, no_flash_comes_near_the_hardening_range)
{
    /* 4 h at 300 degC equal 1 ms at 607 degC by C = 20; the cap lies at 500. A steel tempered above the cap keeps its
     * strict limit. */
    struct tw_temper_limit limit = tw_temper_limit_of(325.0, 25.0, 4.0 * hour_s, 20.0);

    cr_expect(tw_temper_equivalent_degC(limit.allowed[0], 1e-3, 20.0) > 600.0);
    EXPECT_NEAR(tw_temper_highest_degC(&limit, 1e-3), 500.0, 0.0);
    limit = tw_temper_limit_of(560.0, 25.0, 4.0 * hour_s, 20.0);
    EXPECT_NEAR(tw_temper_highest_degC(&limit, 1e-3), 535.0, 0.0);
    cr_expect(isnan(tw_temper_highest_degC(&limit, 0.0)));
}

Test(softening, shorter_tempering_allows_less)
{
    struct tw_temper_limit four = tw_temper_limit_of(200.0, 25.0, 4.0 * hour_s, 20.0);
    struct tw_temper_limit one = tw_temper_limit_of(200.0, 25.0, 1.0 * hour_s, 20.0);

    /* T = 448.15 * 20 / (20 + log10(10 ms / 1 h)) by hand */
    EXPECT_NEAR(tw_temper_highest_degC(&one, 1e-2), 448.15 * 20.0 / (20.0 - 5.556303) - 273.15, 0.01);
    cr_expect(tw_temper_highest_degC(&one, 1e-2) < tw_temper_highest_degC(&four, 1e-2));
}

/* ---- plans ---- */

static void read_sample(const char *name, struct tw_job *job)
{
    struct tw_findings findings = { 0 };
    char path[128];

    snprintf(path, sizeof path, "samples/%s/job.cfg", name);
    cr_assert(eq(int, tw_job_read(path, job, &findings), TW_OK));
    tw_findings_free(&findings);
}

static enum tw_status make_plan(const struct tw_job *job, struct tw_plan *plan)
{
    struct tw_findings findings = { 0 };
    enum tw_status status = tw_plan_make(job, plan, &findings);

    show_findings(&findings);
    tw_findings_free(&findings);
    return status;
}

/* Repeats of the last layer that the planner counts with before it knows them; that all do no more than allowed is asked of
 * the plan as a whole. */
#define COUNTED_SPARK_OUTS 4

static double most_done_degC(const struct tw_tempering *tempering)
{
    return fmax(tempering->equivalent_degC[0], tempering->equivalent_degC[1]);
}

/* The most that a layer of this kind may do if all the others did as much: by hand from the layer's own figures. */
static void check_layers(const struct tw_job *job, const struct tw_setup_plan *setup)
{
    double stock_mm = (job->taper.ricasso_mm - job->taper.butt_mm) / 2.0;

    for (size_t i = 0; i < setup->layer_count; i++) {
        const struct tw_layer *layer = &setup->layers[i];
        double contact_s = layer->depth_mm > 0.0 ? job->wheel.rim_contact_mm / layer->table_mm_per_s : 0.0;
        double passes = layer->depth_mm > 0.0
                            ? ceil(stock_mm / layer->depth_mm - 1e-6) + job->finish.layers + COUNTED_SPARK_OUTS
                            : 0.0;
        double hours = passes * contact_s / 3600.0;

        cr_expect(layer->reserve_degC <= layer->flash_limit_degC, "layer %zu: %g above %g", i + 1, layer->reserve_degC,
                  layer->flash_limit_degC);
        if (layer->depth_mm > 0.0) /* (T + 273.15) (20 + log10 hours) = 1000 P allowed */
            EXPECT_NEAR((layer->flash_limit_degC + 273.15) * (20.0 + log10(hours)),
                        (job->limits.tempering_degC - job->limits.margin_K + 273.15) *
                            (20.0 + log10(job->limits.tempering_s / 3600.0)),
                        20.0);
    }
}

static void expect_both_limits_kept(const struct tw_job *job, const struct tw_plan *equivalent)
{
    for (int side = 0; side < 2; side++) {
        const struct tw_tempering *tempering = &equivalent->setups[side].tempering;

        cr_expect(equivalent->setups[side].reserve_bulk_degC < 235.0, "%g", equivalent->setups[side].reserve_bulk_degC);
        cr_expect(most_done_degC(tempering) <= 235.0);
        cr_expect(most_done_degC(tempering) > 100.0, "it does something: %g", most_done_degC(tempering));
        EXPECT_NEAR(tempering->softened_mm, 0.0, 0.0);
        EXPECT_NEAR(tempering->left_mm, 0.0, 0.0);
        check_layers(job, &equivalent->setups[side]);
    }
}

/* Every plan says what the other limit would. */
static void expect_other_limit_told(const struct tw_plan *strict, const struct tw_plan *equivalent)
{
    struct tw_plan_limits limits = tw_plan_limits(equivalent);

    cr_expect(eq(int, limits.used, TW_FLASH_EQUIVALENT));
    cr_expect(not(limits.strict_allows));
    cr_expect(limits.equivalent_allows);
    EXPECT_NEAR(limits.strict_degC, 235.0, 1e-9);
    EXPECT_NEAR(limits.reserve_degC, equivalent->reserve_degC, 1e-9);
    limits = tw_plan_limits(strict);
    cr_expect(eq(int, limits.used, TW_FLASH_STRICT));
    cr_expect(limits.strict_allows);
    cr_expect(limits.equivalent_allows, "what the strict limit allows, the equivalent one does too");
    cr_expect(limits.equivalent_degC > 300.0 && limits.equivalent_degC < 400.0, "%g", limits.equivalent_degC);
}

static json_t *summary_of(const struct tw_job *job, const struct tw_plan *plan, char **table)
{
    char *text;
    json_t *summary;

    cr_assert(eq(int, tw_summary_json(job, plan, &text, NULL), TW_OK));
    cr_assert(eq(int, tw_summary_table(job, plan, true, table, NULL), TW_OK));
    summary = json_loads(text, 0, NULL);
    cr_assert(summary != NULL);
    free(text);
    return summary;
}

static void expect_outputs_to_name_both(const struct tw_job *job, const struct tw_plan *plan)
{
    char *table, *program;
    json_t *summary, *other, *tempering;

    summary = summary_of(job, plan, &table);
    other = json_object_get(summary, "other_limit");
    tempering = json_object_get(json_array_get(json_object_get(summary, "setups"), 1), "tempering");
    cr_expect(strcmp(json_string_value(json_object_get(summary, "flash_limit")), "equivalent") == 0);
    cr_expect(strcmp(json_string_value(json_object_get(other, "name")), "strict") == 0);
    cr_expect(json_object_get(other, "allows") == json_false());
    EXPECT_NEAR(json_number_value(json_object_get(tempering, "allowed_degC")), 235.0, 1e-6);
    cr_expect(eq(sz, json_array_size(json_object_get(tempering, "equivalent_degC")), 2));
    cr_expect(strstr(table, "allowed, equivalent") != NULL);
    cr_expect(strstr(table, "strict would refuse this") != NULL);
    cr_expect(strstr(table, "extrapolated") != NULL);
    cr_assert(eq(int, tw_program_text(job, plan, TW_SIDE_B, 0.0, &program, NULL), TW_OK));
    cr_expect(strstr(program, "EQUIVALENT LIMIT") != NULL &&
              strstr(program, "THE STRICT ONE WOULD REFUSE THIS") != NULL);
    free(program);
    free(table);
    json_decref(summary);
}

/* One plan under each limit, for all that is asked of the two. */
Test(softening, equivalent_plan_keeps_both_its_limits_gains_time_and_says_what_the_other_would)
{
    struct tw_job job;
    struct tw_plan strict, equivalent;

    read_sample("bunka-170", &job); /* a tilted cup; strictly it has to wait for the tang */
    sample_make_alumina(&job);
    cr_assert(eq(int, make_plan(&job, &strict), TW_OK));
    job.limits.flash = TW_FLASH_EQUIVALENT;
    cr_assert(eq(int, make_plan(&job, &equivalent), TW_OK));
    cr_expect(strict.reserve_degC <= 235.0);
    cr_expect(equivalent.reserve_degC > 235.0 && equivalent.reserve_degC <= TW_TEMPER_CAP_degC);
    cr_expect(equivalent.cycle_time_s < strict.cycle_time_s);
    expect_both_limits_kept(&job, &equivalent);
    expect_other_limit_told(&strict, &equivalent);
    expect_outputs_to_name_both(&job, &equivalent);
    tw_plan_free(&strict);
    tw_plan_free(&equivalent);
    tw_job_free(&job);
}

Test(softening, bulk_limit_binds_where_flashes_are_allowed_to_pass)
{
    /* A tang in bad contact, and flashes that may go far: the waits are for the bulk. */
    struct tw_job job;
    struct tw_plan plan;

    read_sample("santoku-170", &job);
    job.limits.flash = TW_FLASH_EQUIVALENT;
    job.coolant.joint_conductance_W_per_mm2_K = 4e-4;
    cr_assert(eq(int, make_plan(&job, &plan), TW_OK));
    cr_expect(plan.setups[1].reserve_bulk_degC < 175.0, "%g", plan.setups[1].reserve_bulk_degC);
    cr_expect(plan.setups[1].reserve_bulk_degC > 165.0, "%g", plan.setups[1].reserve_bulk_degC);
    cr_expect(plan.setups[1].dwell_s > 0.0);
    tw_plan_free(&plan);
    tw_job_free(&job);
}

/* ---- how far assumptions move the peak ---- */

static const struct tw_sensitivity *row_named(const struct tw_sensitivity *rows, size_t count, const char *what)
{
    for (size_t i = 0; i < count; i++)
        if (strstr(rows[i].what, what))
            return &rows[i];
    cr_assert(false, "no row about %s", what);
    return NULL;
}

Test(softening, sensitivity_follows_the_chain_of_equations)
{
    /* Dry, so the rise is proportional to what the chips leave of the energy. Bulk and flash alike: u - 6 J/mm3 at the
     * layer's chip thickness, u in proportion to the reference. */
    struct tw_job job;
    struct tw_plan plan;
    struct tw_plan_limits limits;
    struct tw_sensitivity rows[TW_SENSITIVITY_MOST];
    const struct tw_sensitivity *row;
    const struct tw_layer *layer;
    size_t count;
    double chip_um, u, rise_K;

    read_sample("santoku-170", &job);
    job.coolant.contact_conductance_W_per_mm2_K = 0.0;
    cr_assert(eq(int, make_plan(&job, &plan), TW_OK));
    cr_assert(eq(int, tw_plan_sensitivity(&job, &plan, rows, &count, NULL), TW_OK));
    limits = tw_plan_limits(&plan);
    layer = &plan.setups[limits.side].layers[limits.layer];
    chip_um = 1e3 * layer->depth_mm * layer->table_mm_per_s / plan.wheel_mm_per_s;
    u = 30.0 * pow(0.1 / chip_um, 0.4);
    rise_K = layer->peak_degC - 25.0;
    row = row_named(rows, count, "specific energy");
    EXPECT_NEAR(row->low, 25.0, 0.0);
    EXPECT_NEAR(row->high, 100.0, 0.0);
    EXPECT_NEAR(row->low_degC, 25.0 + rise_K * (u * 25.0 / 30.0 - 6.0) / (u - 6.0), 0.01 * rise_K);
    EXPECT_NEAR(row->high_degC, 25.0 + rise_K * (u * 100.0 / 30.0 - 6.0) / (u - 6.0), 0.01 * rise_K);
    row = row_named(rows, count, "chips");
    EXPECT_NEAR(row->low_degC, 25.0 + rise_K * u / (u - 6.0), 0.01 * rise_K);
    /* a third of the joint's conductance: three times the bulk, the same flash */
    row = row_named(rows, count, "joint");
    EXPECT_NEAR(row->low_degC - layer->peak_degC, 2.0 * (layer->bulk_degC - 25.0), 0.01 * rise_K);
    EXPECT_NEAR(layer->peak_degC - row->high_degC, 2.0 / 3.0 * (layer->bulk_degC - 25.0), 0.01 * rise_K);
    for (size_t i = 0; i < count; i++) {
        cr_expect(strstr(rows[i].what, "coolant") == NULL, "there is none in the contact");
        cr_expect(rows[i].low <= rows[i].used && rows[i].used <= rows[i].high, "%s", rows[i].what);
        /* what is used lies between, so does the peak */
        cr_expect(fmin(rows[i].low_degC, rows[i].high_degC) < layer->peak_degC + 0.5, "%s", rows[i].what);
        cr_expect(fmax(rows[i].low_degC, rows[i].high_degC) > layer->peak_degC - 0.5, "%s", rows[i].what);
    }
    tw_plan_free(&plan);
    tw_job_free(&job);
}

/* ---- film boiling ---- */

/* Under water, and less to take off than the sample asks for: as hot as that, in fewer layers. */
static void make_wet_and_shallow(struct tw_job *job)
{
    sample_make_wet(job);
    sample_measured(job);
    job->taper.butt_mm = job->taper.ricasso_mm - 0.5;
}

Test(softening, wet_layers_keep_the_films_reserve)
{
    static const char *const names[] = { "chef-210", "hunter-110", "nakiri-165" };

    for (size_t n = 0; n < sizeof names / sizeof *names; n++) {
        struct tw_job job;
        struct tw_plan plan;
        bool counted = false;

        read_sample(names[n], &job);
        make_wet_and_shallow(&job);
        cr_assert(eq(int, make_plan(&job, &plan), TW_OK));
        for (int side = 0; side < 2; side++) {
            for (size_t i = 0; i < plan.setups[side].layer_count; i++) {
                const struct tw_layer *layer = &plan.setups[side].layers[i];

                if (layer->kind == TW_LAYER_SPARK_OUT)
                    continue;
                /* wet with the reserve, or within the limit even dry */
                cr_expect(layer->film_times >= 1.5 || (layer->boiled && layer->dry_degC <= plan.limit_degC),
                          "%s layer %zu: lasts %g times, dry %g degC", names[n], i + 1, layer->film_times,
                          layer->dry_degC);
                counted |= !layer->boiled;
                if (!layer->boiled && isfinite(layer->boiling_room_K)) /* a sliver meets no cell */
                    EXPECT_NEAR(layer->boiling_room_K, 120.0 - layer->reserve_degC, 0.5);
            }
        }
        cr_expect(counted, "%s: no layer counts on the film", names[n]);
        tw_plan_free(&plan);
        tw_job_free(&job);
    }
}

Test(softening, larger_reserve_of_the_film_makes_a_cooler_plan)
{
    struct tw_job job;
    struct tw_plan plan;

    read_sample("hunter-110", &job);
    make_wet_and_shallow(&job);
    job.limits.film_reserve = 2.0;
    cr_assert(eq(int, make_plan(&job, &plan), TW_OK));
    /* Judged at 1.25 times the energy: 95 K up to boiling at twice it, so at most 59.4 K of rise where the film counts. */
    for (int side = 0; side < 2; side++)
        for (size_t i = 0; i < plan.setups[side].layer_count; i++)
            if (!plan.setups[side].layers[i].boiled)
                cr_expect(plan.setups[side].layers[i].reserve_degC <= 25.0 + 95.0 * 1.25 / 2.0, "layer %zu: %g", i + 1,
                          plan.setups[side].layers[i].reserve_degC);
    tw_plan_free(&plan);
    tw_job_free(&job);
}
