/* test_coolant.c - what a plan may ask of its coolant: the reserve up to film boiling, and what is said of a film that fails.
 * Guards against wet plans that a wheel only a little duller takes past boiling, where the face jumps by hundreds of degrees,
 * and against plans that do not say so. */
#include "check/near.h"
#include "samples/sample.h"

#include "tangwright/assess.h"
#include "tangwright/heat.h"
#include "tangwright/verdict.h"

#include <math.h>
#include <string.h>

static const struct tw_steel carbon = { .conductivity_W_per_mm_K = 0.040,
                                        .density_g_per_mm3 = 7.83e-3,
                                        .specific_heat_J_per_g_K = 0.480 };

/* A measured blank, tapered a third as deep: that many layers of like cuts are planned in a third of the time. */
static void read_sample(const char *name, struct tw_job *job)
{
    struct tw_findings findings = { 0 };
    char path[128];

    snprintf(path, sizeof path, "samples/%s/job.cfg", name);
    cr_assert(eq(int, tw_job_read(path, job, &findings), TW_OK));
    tw_findings_free(&findings);
    job->taper.band_mm = 0.0;
    job->taper.butt_mm = (job->taper.butt_mm + 2.0 * job->taper.ricasso_mm) / 3.0;
}

static void make_plan(const struct tw_job *job, struct tw_plan *plan, struct tw_findings *findings)
{
    enum tw_status status = tw_plan_make(job, plan, findings);

    if (status == TW_OK)
        tw_assess_remark(job, plan, findings);
    show_findings(findings);
    cr_assert(eq(int, status, TW_OK));
}

static bool said(const struct tw_findings *findings, const char *words)
{
    for (size_t i = 0; i < findings->count; i++)
        if (strstr(findings->items[i].text, words))
            return true;
    return false;
}

/* ---- the reserve of the film ---- */

Test(film, times_of_a_hot_spot_by_hand)
{
    /* 10 W/mm2, of which chips carry 2: left are 8, and they make 40 K wet and 100 K dry. On 35 degC, of them 10 K bulk, with
     * a factor of 1.25 the face is 35 + 50 = 85 degC, 60 K above the ambient; the film boils at 120 degC, 95 K above it:
     * at 95/60 times the heat that is left by the chips, 8 * 95/60 = 12.667 W/mm2, or with theirs 14.667 W/mm2. Where it takes
     * so little that 50 K are left, all of the 60 K are 5/4 as many: 95/75 of 8 W/mm2, and 2, are 12.133 W/mm2. */
    struct tw_flash flash = { .flux_W_per_mm2 = 10.0,
                              .chip_part = 0.2,
                              .wet_rise_K = 40.0,
                              .dry_rise_K = 100.0,
                              .film_rise_K = 40.0,
                              .film_least_rise_K = 50.0,
                              .flow_K = HUGE_VAL };
    struct tw_coolant water = { .contact_conductance_W_per_mm2_K = 0.1,
                                .boiling_degC = 120.0,
                                .temperature_degC = 25.0 };
    struct tw_hot_spot spot = tw_hot_spot(&flash, 35.0, 1.25, &water);

    EXPECT_NEAR(spot.film_times, 14.6667 / 10.0, 1e-4);
    EXPECT_NEAR(spot.film_least_times, 12.1333 / 10.0, 1e-4);
    EXPECT_NEAR(tw_film_counted_times(1.6, 1.2, 1.5), 1.6, 1e-12);
    EXPECT_NEAR(tw_film_counted_times(1.6, 0.9, 1.5), 1.35, 1e-12);
    EXPECT_NEAR(spot.boiling_room_K, 35.0, 1e-9);
    EXPECT_NEAR(spot.dry_degC, 160.0, 1e-9);
    water.contact_conductance_W_per_mm2_K = 0.0;
    cr_expect(isinf(tw_hot_spot(&flash, 35.0, 1.25, &water).film_times), "no film, nothing that boils");
}

Test(film, takes_least_by_hand)
{
    /* The same flash were one of 1.25 times the wheel's energy: of its own, 50 and 100 K are 40 and 80 K, and 50 and 100 K with a
     * factor of 1.25. On 60 degC that is 110 degC; on 75 degC it boils, and is as hot as dry. A flow that is worth 30 K leaves 70 of 100 K,
     * 70 with that factor and energy, and on 60 degC boils, too. */
    struct tw_flash flash = { .dry_rise_K = 100.0, .film_rise_K = 40.0, .film_least_rise_K = 50.0, .flow_K = HUGE_VAL };
    struct tw_coolant water = { .contact_conductance_W_per_mm2_K = 0.1, .boiling_degC = 120.0 };

    EXPECT_NEAR(tw_least_film_rise_K(&flash, 60.0, 1.25, 1.25, &water), 50.0, 1e-12);
    EXPECT_NEAR(tw_least_film_rise_K(&flash, 75.0, 1.25, 1.25, &water), 100.0, 1e-12);
    flash.flow_K = 30.0;
    EXPECT_NEAR(tw_least_film_rise_K(&flash, 45.0, 1.25, 1.25, &water), 70.0, 1e-12);
    EXPECT_NEAR(tw_least_film_rise_K(&flash, 60.0, 1.25, 1.25, &water), 100.0, 1e-12);
    water.contact_conductance_W_per_mm2_K = 0.0;
    EXPECT_NEAR(tw_least_film_rise_K(&flash, 20.0, 1.25, 1.25, &water), 100.0, 1e-12);
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
    const struct tw_contact contact = { 0.005, 100.0, 30e3, tw_disc_contact_mm(0.005, &alumina), 0.0 };
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

/* ---- film and flow ---- */

static const struct tw_wheel cup = { .kind = TW_WHEEL_CUP,
                                     .grain_conductivity_W_per_mm_K = 0.035,
                                     .grain_radius_mm = 0.015,
                                     .specific_energy_J_per_mm3 = 45.0,
                                     .size_exponent = 0.4,
                                     .min_specific_energy_J_per_mm3 = 13.8,
                                     .chip_energy_J_per_mm3 = 6.0 };

Test(coolant, film_goes_as_the_root_of_wheel_speed_over_contact_length)
{
    /* h_f = 1.5e5 sqrt((v_s/30)(1.4 mm/l_c)) W/m2K, by hand. */
    static const double table[][3] = {
        { 30e3, 1.4, 0.150000 }, { 20e3, 1.0, 0.144914 }, { 20e3, 5.0, 0.064807 }, { 30e3, 5.6, 0.075000 }
    };
    struct tw_coolant water = { .contact_conductance_W_per_mm2_K = 0.15 };

    for (size_t i = 0; i < sizeof table / sizeof *table; i++) {
        struct tw_contact contact = { .wheel_mm_per_s = table[i][0], .contact_mm = table[i][1] };

        EXPECT_NEAR(tw_film_conductance_W_per_mm2_K(&water, &contact), table[i][2], 1e-6);
    }
}

Test(coolant, mist_carries_what_its_flow_can)
{
    /* 100 ml/h: oil at 0.9 g/ml and 2.0 J/gK warmed from 20 to 200 degC takes 9 W, water warmed by 80 K at 4.18 J/gK and
     * evaporated with 2257 J/g takes 72 W. */
    struct tw_coolant mist = { .kind = TW_COOLANT_MIST, .flow_mm3_per_s = 1e5 / 3600.0, .flow_share = 1.0 };

    mist.flow_heat_J_per_mm3 = 0.9e-3 * 2.0 * 180.0;
    EXPECT_NEAR(tw_flow_W(&mist), 9.0, 0.01);
    mist.flow_heat_J_per_mm3 = 1e-3 * (2257.0 + 80.0 * 4.18);
    EXPECT_NEAR(tw_flow_W(&mist), 72.0, 0.05);
    mist.flow_mm3_per_s = 0.0;
    EXPECT_NEAR(tw_flow_W(&mist), 0.0, 0.0);
    mist.kind = TW_COOLANT_FLOOD;
    cr_expect(isinf(tw_flow_W(&mist)), "what is not known does not bound a flood");
}

Test(coolant, heat_that_the_flow_cannot_carry_stays_in_wheel_and_steel)
{
    /* A cup's 5 mm at 10 mm/s, 10 um deep, 20 m/s and 25 mm wide: 14.92 W/mm, so 373 W, of them 15 with the chips. However
     * good its film, a mist of 9 W leaves at least 349/358 of the dry rise, and just that once the flow is what bounds it. */
    const struct tw_contact contact = { 0.010, 10.0, 20e3, 5.0, 25.0 };
    struct tw_coolant mist = { .kind = TW_COOLANT_MIST,
                               .contact_conductance_W_per_mm2_K = 10.0,
                               .flow_mm3_per_s = 9.0,
                               .flow_heat_J_per_mm3 = 1.0,
                               .flow_share = 1.0,
                               .boiling_degC = 300.0,
                               .temperature_degC = 25.0 };
    double left_W = (14.92 - 6.0 * 0.1) * 25.0;
    struct tw_flash flash;

    cr_assert(eq(int, tw_flash_estimate(&contact, &cup, &carbon, &mist, 25.0, &flash, NULL), TW_OK));
    EXPECT_NEAR(flash.wet_rise_K / flash.dry_rise_K, (left_W - 9.0) / left_W, 1e-5);
    cr_expect(flash.film_rise_K < 0.1 * flash.wet_rise_K);
    mist.flow_share = 0.5;
    cr_assert(eq(int, tw_flash_estimate(&contact, &cup, &carbon, &mist, 25.0, &flash, NULL), TW_OK));
    EXPECT_NEAR(flash.wet_rise_K / flash.dry_rise_K, (left_W - 4.5) / left_W, 1e-5);
    mist.flow_mm3_per_s = 1e6; /* plenty */
    cr_assert(eq(int, tw_flash_estimate(&contact, &cup, &carbon, &mist, 25.0, &flash, NULL), TW_OK));
    EXPECT_NEAR(flash.wet_rise_K, flash.film_rise_K, 0.0);
}

Test(film, of_which_there_is_too_little_boils_sooner)
{
    /* Left by the chips are 100 K dry, which plenty of film would make 40 K and the flow 60 K: the flow carries 40 K worth. On
     * 25 degC that boils at 120 degC when 1.35 times as much is left, 135 K less those 40; film alone would last to 2.375. */
    struct tw_flash flash = {
        .flux_W_per_mm2 = 10.0, .wet_rise_K = 60.0, .dry_rise_K = 100.0, .film_rise_K = 40.0, .flow_K = 40.0
    };
    struct tw_coolant water = { .contact_conductance_W_per_mm2_K = 0.1,
                                .boiling_degC = 120.0,
                                .temperature_degC = 25.0 };

    EXPECT_NEAR(tw_hot_spot(&flash, 25.0, 1.0, &water).film_times, 1.35, 1e-9);
    flash.flow_K = HUGE_VAL;
    EXPECT_NEAR(tw_hot_spot(&flash, 25.0, 1.0, &water).film_times, 2.375, 1e-9);
}

/* ---- plans ---- */

/* The programs by the dry-run, of a wheel with `times` the energy that its profile says and no reserve. */
static void prove_at(const struct tw_job *job, const struct tw_plan *plan, char *const *programs, double times,
                     struct tw_verdict *verdict)
{
    struct tw_job duller = *job; /* a shallow copy: only numbers are changed */
    struct tw_card cards[TW_SETUPS_MOST];

    duller.wheel = tw_wheel_at_energy(&job->wheel, times);
    duller.limits.energy_reserve = 1.0;
    for (size_t i = 0; i < plan->setup_count; i++)
        cards[i] = (struct tw_card){ plan->setups[i].file_name, programs[i], strlen(programs[i]) };
    cr_assert(eq(int, tw_verdict_make(&duller, cards, plan->setup_count, 0.0, verdict, NULL), TW_OK));
}

/* The hottest of all. */
static double hottest_at_degC(const struct tw_job *job, const struct tw_plan *plan, char *const *programs, double times)
{
    struct tw_verdict verdict;
    double hottest_degC = 0.0;

    prove_at(job, plan, programs, times, &verdict);
    for (size_t i = 0; i < verdict.count; i++)
        hottest_degC = fmax(hottest_degC, verdict.proofs[i].peak_degC);
    tw_verdict_free(&verdict);
    return hottest_degC;
}

/* The dry-run alone: as sharp as planned the film has its reserve, which is 1/1.5 of the energy at which it boils; with a tenth
 * more energy it would still not boil, but has its reserve no more, and that is said. */
static void expect_film_watched(const struct tw_job *job, const struct tw_plan *plan, char *const *programs,
                                double film_times)
{
    for (int duller = 0; duller < 2; duller++) {
        double times = duller ? 1.1 : 1.0, wanted = 100.0 * times / film_times, most = 0.0;
        struct tw_verdict verdict;
        bool failed = false;

        prove_at(job, plan, programs, times, &verdict);
        for (size_t i = 0; i < verdict.count; i++) {
            const struct tw_check *checks = verdict.proofs[i].checks;

            cr_assert(checks[TW_CHECK_FILM].asked);
            most = fmax(most, checks[TW_CHECK_FILM].amount);
            failed |= checks[TW_CHECK_FILM].failed && checks[TW_CHECK_FILM].first_line > 0;
            cr_expect(not(checks[TW_CHECK_TEMPERATURE].failed || checks[TW_CHECK_BULK].failed));
        }
        EXPECT_NEAR(verdict.proofs[0].checks[TW_CHECK_FILM].limit, 100.0 / 1.5, 1e-9);
        EXPECT_NEAR(most / wanted, 1.0, 0.04);
        cr_expect(eq(int, failed, duller), "%g %% at %g times", most, times);
        tw_verdict_free(&verdict);
    }
}

Test(film, outlives_a_wheel_that_dulls_by_nearly_half)
{
    struct tw_job job;
    struct tw_plan plan;
    struct tw_findings findings = { 0 };
    struct tw_plan_film film;
    static const double times[] = { 1.13, 1.49 };
    double cooked_degC;
    char *programs[TW_SETUPS_MOST] = { 0 };

    read_sample("hunter-110", &job); /* a flooded alumina disc */
    sample_make_wet(&job);
    job.coolant.contact_conductance_least_W_per_mm2_K = job.coolant.contact_conductance_W_per_mm2_K;
    make_plan(&job, &plan, &findings);
    film = tw_plan_film(&job, &plan);
    cr_assert(film.counted);
    cr_expect(film.times >= 1.5 && film.times < 1.6, "%g", film.times);
    for (size_t i = 0; i < plan.setup_count; i++)
        cr_assert(eq(int, tw_program_text(&job, &plan, i, 0.0, &programs[i], NULL), TW_OK));
    for (size_t i = 0; i < sizeof times / sizeof *times; i++) {
        double hot_degC = hottest_at_degC(&job, &plan, programs, times[i]);

        cr_expect(hot_degC < 120.0, "%g degC at %g times", hot_degC, times[i]);
    }
    expect_film_watched(&job, &plan, programs, film.times);
    /* Past that, at least as hot as the plan says of the film that fails first. */
    cooked_degC = hottest_at_degC(&job, &plan, programs, film.times * 1.05);
    cr_expect(cooked_degC > 0.95 * film.boiled_degC, "%g of %g", cooked_degC, film.boiled_degC);
    /* And where the nozzle misses the contact. Told is a pass that loses its film over a tang as warm as passes with a film leave it;
     * with none from the first pass on it is warmer: found is told and up to a seventh more. */
    job.coolant.contact_conductance_W_per_mm2_K = 0.0;
    cooked_degC = hottest_at_degC(&job, &plan, programs, 1.25);
    cr_expect(cooked_degC > 0.9 * film.dry_degC && cooked_degC < 8.0 / 7.0 * film.dry_degC, "%g of %g", cooked_degC,
              film.dry_degC);
    for (size_t i = 0; i < plan.setup_count; i++)
        free(programs[i]);
    tw_findings_free(&findings);
    tw_plan_free(&plan);
    tw_job_free(&job);
}

/* A film that takes half of what its profile says, with the wheel's own energy. Planned for that range the face stays wet; planned
 * for the profile's figure alone the film boils, which 1.5 times the energy at the full film need not, and the dry-run that knows
 * the range says so. */
Test(film, lasts_where_it_takes_the_least_of_its_range)
{
    for (int ranged = 0; ranged < 2; ranged++) {
        struct tw_job job, poor;
        struct tw_plan plan;
        struct tw_findings findings = { 0 };
        struct tw_verdict verdict;
        char *programs[TW_SETUPS_MOST] = { 0 };
        double half, hot_degC;

        read_sample("hunter-110", &job); /* a flooded alumina disc */
        sample_make_wet(&job);
        half = job.coolant.contact_conductance_W_per_mm2_K / 2.0;
        job.coolant.contact_conductance_least_W_per_mm2_K = ranged ? half : 2.0 * half;
        make_plan(&job, &plan, &findings);
        cr_assert(tw_plan_film(&job, &plan).counted);
        for (size_t i = 0; i < plan.setup_count; i++)
            cr_assert(eq(int, tw_program_text(&job, &plan, i, 0.0, &programs[i], NULL), TW_OK));
        poor = job;
        poor.coolant.contact_conductance_W_per_mm2_K = half;
        hot_degC = hottest_at_degC(&poor, &plan, programs, 1.0);
        cr_expect(ranged ? hot_degC < 120.0 : hot_degC > 300.0, "%g degC", hot_degC);
        job.coolant.contact_conductance_least_W_per_mm2_K = half;
        prove_at(&job, &plan, programs, 1.0, &verdict);
        cr_expect(eq(int, verdict.proofs[0].checks[TW_CHECK_FILM].failed, !ranged));
        tw_verdict_free(&verdict);
        for (size_t i = 0; i < plan.setup_count; i++)
            free(programs[i]);
        tw_findings_free(&findings);
        tw_plan_free(&plan);
        tw_job_free(&job);
    }
}

Test(film, that_fails_into_hardening_is_flagged_under_either_limit)
{
    for (int limit = 0; limit < 2; limit++) {
        struct tw_job job;
        struct tw_plan plan;
        struct tw_findings findings = { 0 };
        struct tw_plan_film film;
        char words[TW_FILM_WORDS], *table;

        read_sample("hunter-110", &job); /* a flooded alumina disc */
        sample_make_wet(&job);
        job.limits.flash = limit ? TW_FLASH_EQUIVALENT : TW_FLASH_STRICT;
        make_plan(&job, &plan, &findings);
        film = tw_plan_film(&job, &plan);
        cr_expect(eq(int, film.hardens,
                     fmax(film.boiled_degC, film.dry_degC) >= 727.0)); /* eutectoid of the iron-carbon diagram */
        cr_assert(film.hardens, "%g", film.dry_degC);
        tw_plan_film_words(&film, words);
        cr_expect(strstr(words, "harden") != NULL, "%s", words);
        cr_expect(said(&findings, words), "%s", words);
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
    /* No film, one without its reserve, and one that hardly helps; still the coolant has to flow, or 300 degC. */
    struct tw_layer layers[] = { { .film_times = HUGE_VAL, .dry_degC = 150.0, .reserve_degC = 150.0 },
                                 { .film_times = 1.2, .boiled = true, .dry_degC = 300.0, .reserve_degC = 80.0 },
                                 { .film_times = 1.7, .dry_degC = 160.0, .reserve_degC = 151.0 } };
    struct tw_plan plan = { .setup_count = 1, .setups[0] = { .layers = layers, .layer_count = 3 } };
    struct tw_job job = { .coolant = { .kind = TW_COOLANT_FLOOD, .temperature_degC = 25.0 } };
    struct tw_plan_film film = tw_plan_film(&job, &plan);
    char words[TW_FILM_WORDS];

    cr_expect(film.wet && !film.counted && !film.hardens);
    EXPECT_NEAR(film.dry_degC, 300.0, 0.0);
    tw_plan_film_words(&film, words);
    cr_expect(strstr(words, "No pass counts on the coolant's film") != NULL, "%s", words);
    job.coolant.kind = TW_COOLANT_DRY;
    film = tw_plan_film(&job, &plan);
    cr_expect(not(film.wet));
    tw_plan_film_words(&film, words);
    cr_expect(words[0] == '\0');
}

Test(coolant, aimed_and_flowing_or_so_hot_stands_on_every_card_and_table_of_a_wet_plan)
{
    static const char *const names[] = { "hunter-110", "bunka-170" }; /* planned as dry under a flood; oil */

    for (size_t n = 0; n < sizeof names / sizeof *names; n++) {
        struct tw_findings findings = { 0 };
        struct tw_job job;
        struct tw_plan plan;
        char *table, *program, wanted[80];
        double dry_degC;

        read_sample(names[n], &job);
        make_plan(&job, &plan, &findings);
        cr_assert(eq(int, tw_summary_table(&job, &plan, false, &table, NULL), TW_OK));
        snprintf(wanted, sizeof wanted, "aimed and flowing, or %.0f degC", tw_plan_film(&job, &plan).dry_degC);
        cr_expect(strstr(table, wanted) != NULL, "%s: %s", names[n], wanted);
        for (size_t i = 0; i < plan.setup_count; i++) {
            cr_assert(eq(int, tw_program_text(&job, &plan, i, 0.0, &program, NULL), TW_OK));
            dry_degC = tw_setup_film(&job, &plan, i).dry_degC; /* in degF = 1.8 degC + 32 where inches are programmed */
            snprintf(wanted, sizeof wanted, "(COOLANT AIMED AND FLOWING, OR %.0f %s",
                     job.machine.dialect.inch ? 1.8 * dry_degC + 32.0 : dry_degC,
                     job.machine.dialect.inch ? "DEGF" : "DEGC");
            cr_expect(strstr(program, wanted) != NULL, "%s: %s", names[n], wanted);
            free(program);
        }
        free(table);
        tw_findings_free(&findings);
        tw_plan_free(&plan);
        tw_job_free(&job);
    }
}

/* ---- flow and burn ---- */

Test(coolant, flow_is_held_against_the_grinding_power)
{
    /* 7.6 l/min for each kW (J. Webster 2017): a flood of 1 l/min serves 132 W. */
    static const struct {
        double litres;
        const char *words;
    } cases[] = { { 1.0, "1 l/min are less than the " },
                  { 0.0, "how much the pump gives is not known" },
                  { 40.0, NULL } };
    struct tw_job job;

    read_sample("hunter-110", &job);
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct tw_findings findings = { 0 };
        struct tw_plan plan;
        double power_W = 0.0;
        char wanted[64];

        job.coolant.flow_mm3_per_s = cases[i].litres * 1e6 / 60.0;
        make_plan(&job, &plan, &findings);
        for (int side = 0; side < 2; side++)
            for (size_t k = 0; k < plan.setups[side].layer_count; k++)
                power_W = fmax(power_W, plan.setups[side].layers[k].power_W);
        snprintf(wanted, sizeof wanted, "%.1f l/min", 7.6e-3 * power_W);
        cr_expect(eq(int, said(&findings, "l/min"), cases[i].words != NULL));
        if (cases[i].words)
            cr_expect(said(&findings, cases[i].words) && said(&findings, wanted), "%s", wanted);
        tw_findings_free(&findings);
        tw_plan_free(&plan);
    }
    tw_job_free(&job);
}

Test(burn, share_of_the_line_by_hand_and_the_warning_above_it)
{
    /* Every layer of the plan: u = 30 (0.1 um v_s / a v)^0.4 but at least 13.8, over 6.2 + 7.2 D^0.25 a^-0.75 v^-0.5. */
    struct tw_findings findings = { 0 };
    struct tw_job job;
    struct tw_plan plan;
    struct tw_plan_burn burn;
    double most = 0.0;
    char *table;

    read_sample("hunter-110", &job); /* calibrated: no reserve */
    make_plan(&job, &plan, &findings);
    for (size_t k = 0; k < plan.setup_count; k++)
        for (size_t i = 0; i < plan.setups[k].layer_count; i++) {
            const struct tw_layer *layer = &plan.setups[k].layers[i];

            for (int later = 0; later < 2 && layer->kind != TW_LAYER_SPARK_OUT; later++) {
                double v = later && layer->lanes > 1 ? layer->later_mm_per_s : layer->table_mm_per_s;
                double u = fmax(13.8, 30.0 * pow(1e-4 * plan.wheel_mm_per_s / (layer->depth_mm * v), 0.4));

                most = fmax(most, u / (6.2 + 7.2 * pow(200.0, 0.25) * pow(layer->depth_mm, -0.75) / sqrt(v)));
            }
        }
    burn = tw_plan_burn(&plan);
    EXPECT_NEAR(burn.share, most, 0.02 * most);
    cr_expect(eq(int, burn.warns, burn.share > 0.7));
    cr_expect(eq(int, said(&findings, "visibly burns"), burn.warns));
    plan.setups[1].layers[0].burn_share = 0.71;
    burn = tw_plan_burn(&plan);
    cr_expect(burn.warns && burn.setup == 1 && burn.layer == 0);
    cr_assert(eq(int, tw_summary_table(&job, &plan, false, &table, NULL), TW_OK));
    cr_expect(strstr(table, "0.71 of it used with the reserve, side B, layer 1: ABOVE 0.7") != NULL, "%s", table);
    free(table);
    tw_findings_free(&findings);
    tw_plan_free(&plan);
    tw_job_free(&job);
}
