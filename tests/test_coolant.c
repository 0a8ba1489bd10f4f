/* test_coolant.c - what a plan may ask of its coolant: the reserve up to film boiling, and what is said of a film that fails.
 * Guards against wet plans that a wheel only a little duller takes past boiling, where the face jumps by hundreds of degrees,
 * and against plans that do not say so. */
#include "samples/sample.h"

#include "tangwright/heat.h"
#include "tangwright/verdict.h"

#include <math.h>
#include <string.h>

#define EXPECT_NEAR(actual, expected, tolerance)                                                                       \
    cr_expect(fabs((actual) - (expected)) <= (tolerance), "%s is %.12g, not %.12g within %.3g", #actual,               \
              (double)(actual), (double)(expected), (double)(tolerance))

static const struct tw_steel carbon = { .conductivity_W_per_mm_K = 0.040,
                                        .density_g_per_mm3 = 7.83e-3,
                                        .specific_heat_J_per_g_K = 0.480 };

static void read_sample(const char *name, struct tw_job *job)
{
    struct tw_findings findings = { 0 };
    char path[128];

    snprintf(path, sizeof path, "samples/%s/job.cfg", name);
    cr_assert(eq(int, tw_job_read(path, job, &findings), TW_OK));
    tw_findings_free(&findings);
}

static void make_plan(const struct tw_job *job, struct tw_plan *plan, struct tw_findings *findings)
{
    enum tw_status status = tw_plan_make(job, plan, findings);

    show_findings(findings);
    cr_assert(eq(int, status, TW_OK));
}

/* ---- the reserve of the film ---- */

Test(film, times_of_a_hot_spot_by_hand)
{
    /* 10 W/mm2, of which chips carry 2: left are 8, and they make 40 K wet and 100 K dry. On 35 degC, of them 10 K bulk, with
     * a factor of 1.25 the face is 35 + 50 = 85 degC, 60 K above the ambient; the film boils at 120 degC, 95 K above it:
     * at 95/60 times the heat that is left by the chips, 8 * 95/60 = 12.667 W/mm2, or with theirs 14.667 W/mm2. */
    struct tw_flash flash = { .flux_W_per_mm2 = 10.0, .chip_part = 0.2, .wet_rise_K = 40.0, .dry_rise_K = 100.0 };
    struct tw_coolant water = { .contact_conductance_W_per_mm2_K = 0.1,
                                .boiling_degC = 120.0,
                                .temperature_degC = 25.0 };
    struct tw_hot_spot spot = tw_hot_spot(&flash, 35.0, 1.25, &water);

    EXPECT_NEAR(spot.film_times, 14.6667 / 10.0, 1e-4);
    EXPECT_NEAR(spot.boiling_room_K, 35.0, 1e-9);
    EXPECT_NEAR(spot.dry_degC, 160.0, 1e-9);
    water.contact_conductance_W_per_mm2_K = 0.0;
    cr_expect(isinf(tw_hot_spot(&flash, 35.0, 1.25, &water).film_times), "no film, nothing that boils");
}

Test(film, boils_at_just_so_many_times_the_energy)
{
    /* The same wheel made duller by film_times, on ambient: one part in a million below wet, above boiled. */
    const struct tw_wheel alumina = { .kind = TW_WHEEL_DISC,
                                      .diameter_mm = 200.0,
                                      .grain_conductivity_W_per_mm_K = 0.035,
                                      .grain_radius_mm = 0.015,
                                      .specific_energy_J_per_mm3 = 30.0,
                                      .size_exponent = 0.4,
                                      .min_specific_energy_J_per_mm3 = 13.8,
                                      .chip_energy_J_per_mm3 = 6.0,
                                      .contact_ratio = 1.0 };
    const struct tw_coolant water = { .kind = TW_COOLANT_FLOOD,
                                      .contact_conductance_W_per_mm2_K = 0.29,
                                      .boiling_degC = 120.0,
                                      .temperature_degC = 25.0 };
    const struct tw_contact contact = { 0.005, 100.0, 30e3, tw_disc_contact_mm(0.005, &alumina) };
    struct tw_flash flash;
    double times;

    cr_assert(eq(int, tw_flash_estimate(&contact, &alumina, &carbon, &water, 25.0, &flash, NULL), TW_OK));
    times = tw_hot_spot(&flash, 25.0, 1.1, &water).film_times;
    cr_assert(times > 1.05 && times < 3.0, "%g", times);
    for (int above = 0; above < 2; above++) {
        struct tw_wheel duller = tw_wheel_at_energy(&alumina, times * (above ? 1.000001 : 0.999999));

        cr_assert(eq(int, tw_flash_estimate(&contact, &duller, &carbon, &water, 25.0, &flash, NULL), TW_OK));
        cr_expect(eq(int, tw_hot_spot(&flash, 25.0, 1.1, &water).boiled, above));
    }
}

/* The hottest of all programs by the dry-run, of a wheel with `times` the energy that its profile says and no reserve. */
static double hottest_at_degC(const struct tw_job *job, const struct tw_plan *plan, char *const *programs, double times)
{
    struct tw_job duller = *job; /* a shallow copy: only numbers are changed */
    struct tw_card cards[TW_SETUPS_MOST];
    struct tw_verdict verdict;
    double hottest_degC = 0.0;

    duller.wheel = tw_wheel_at_energy(&job->wheel, times);
    duller.limits.energy_reserve = 1.0;
    for (size_t i = 0; i < plan->setup_count; i++)
        cards[i] = (struct tw_card){ tw_program_file_name(plan->setups[i].face.side, plan->setups[i].scope),
                                     programs[i], strlen(programs[i]) };
    cr_assert(eq(int, tw_verdict_make(&duller, cards, plan->setup_count, 0.0, &verdict, NULL), TW_OK));
    for (size_t i = 0; i < verdict.count; i++)
        hottest_degC = fmax(hottest_degC, verdict.proofs[i].peak_degC);
    tw_verdict_free(&verdict);
    return hottest_degC;
}

Test(film, outlives_a_wheel_that_dulls_by_nearly_half)
{
    struct tw_job job;
    struct tw_plan plan;
    struct tw_findings findings = { 0 };
    struct tw_plan_film film;
    char *programs[TW_SETUPS_MOST] = { 0 };

    read_sample("hunter-110", &job); /* flooded alumina disc */
    make_plan(&job, &plan, &findings);
    film = tw_plan_film(&job, &plan);
    cr_assert(film.wet);
    cr_expect(film.times >= 1.5 && film.times < 1.6, "%g", film.times);
    for (size_t i = 0; i < plan.setup_count; i++)
        cr_assert(eq(int, tw_program_text(&job, &plan, i, 0.0, &programs[i], NULL), TW_OK));
    cr_expect(hottest_at_degC(&job, &plan, programs, 1.13) < 120.0);
    cr_expect(hottest_at_degC(&job, &plan, programs, 1.49) < 120.0);
    /* Past that, as hot as the plan says of a film that fails, within 5 %: the heat that comes with it warms the tang more. */
    EXPECT_NEAR(hottest_at_degC(&job, &plan, programs, film.times * 1.02) / film.boiled_degC, 1.0, 0.05);
    /* And where the nozzle misses the contact. */
    job.coolant.contact_conductance_W_per_mm2_K = 0.0;
    EXPECT_NEAR(hottest_at_degC(&job, &plan, programs, 1.25) / film.dry_degC, 1.0, 0.1);
    for (size_t i = 0; i < plan.setup_count; i++)
        free(programs[i]);
    tw_findings_free(&findings);
    tw_plan_free(&plan);
    tw_job_free(&job);
}

Test(film, that_fails_into_hardening_is_flagged_under_either_limit)
{
    for (int limit = 0; limit < 2; limit++) {
        struct tw_job job;
        struct tw_plan plan;
        struct tw_findings findings = { 0 };
        struct tw_plan_film film;
        char words[TW_FILM_WORDS], *table;

        read_sample("hunter-110", &job);
        job.limits.flash = limit ? TW_FLASH_EQUIVALENT : TW_FLASH_STRICT;
        make_plan(&job, &plan, &findings);
        film = tw_plan_film(&job, &plan);
        cr_expect(eq(int, film.hardens,
                     fmax(film.boiled_degC, film.dry_degC) >= 727.0)); /* eutectoid of the iron-carbon diagram */
        cr_assert(film.hardens, "%g", film.dry_degC);
        tw_plan_film_words(&film, words);
        cr_expect(strstr(words, "harden") != NULL, "%s", words);
        cr_assert(gt(sz, findings.count, 0));
        cr_expect(strstr(findings.items[findings.count - 1].text, words) != NULL, "%s",
                  findings.items[findings.count - 1].text);
        cr_assert(eq(int, tw_summary_table(&job, &plan, false, &table, NULL), TW_OK));
        cr_expect(strstr(table, "THE STEEL WOULD HARDEN AGAIN") != NULL);
        free(table);
        tw_findings_free(&findings);
        tw_plan_free(&plan);
        tw_job_free(&job);
    }
}

Test(film, is_not_spoken_of_where_nothing_counts_on_it)
{
    struct tw_setup_plan setup = { .layer_count = 2 };
    struct tw_layer layers[2] = { { .film_times = HUGE_VAL }, { .film_times = 1.2, .boiled = true } };
    struct tw_plan plan = { .setup_count = 1 };
    struct tw_job job = { .coolant.temperature_degC = 25.0 };
    struct tw_plan_film film;
    char words[TW_FILM_WORDS];

    setup.layers = layers;
    plan.setups[0] = setup;
    film = tw_plan_film(&job, &plan);
    cr_expect(not(film.wet));
    cr_expect(not(film.hardens));
    tw_plan_film_words(&film, words);
    cr_expect(words[0] == '\0');
}
