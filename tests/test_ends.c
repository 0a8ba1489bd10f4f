/* test_ends.c - the samples' programs where wheel, machine and steel are as bad as their profiles allow. Guards against plans
 * that only hold for the middles of their ranges. By default some samples; TEST_SAMPLES=all (make all-samples) takes all. */
#include "samples/sample.h"

#include "tangwright/verdict.h"

#include <math.h>
#include <stdint.h>

static bool is_one_of(enum tw_check_id id, const enum tw_check_id *ids, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (ids[i] == id)
            return true;
    return false;
}

/* The planned programs under a job of which some numbers are other ones; the hottest face of them. Where the wheel stands is not
 * what they were planned for: how far off the face may be then is half of the thickness tolerance, whichever check finds it. */
static double expect_holds(const struct sample *sample, const struct tw_job *job, const char *name, bool heat,
                           const char *end)
{
    /* Power and force are planned for the wheel's own energy, and so is what the machine gives way by. */
    static const enum tw_check_id loads[] = { TW_CHECK_POWER, TW_CHECK_HOLDING, TW_CHECK_SPRING_BACK };
    static const enum tw_check_id heights[] = { TW_CHECK_GOUGE, TW_CHECK_STOCK_LEFT, TW_CHECK_CONTACT };
    /* Of the two that compare, neither is about the setup; wear is told of the range that the job states. */
    static const enum tw_check_id others[] = { TW_CHECK_FLATNESS, TW_CHECK_WEAR, TW_CHECK_HEAT, TW_CHECK_FINISHING };
    double allowed_mm = job->finish.thickness_mm / 2.0, hottest_degC = 0.0;
    struct tw_card cards[TW_SETUPS_MOST];
    struct tw_verdict verdict;

    for (size_t i = 0; i < sample->plan.setup_count; i++) {
        char *file = NULL;
        json_t *summary = json_loads(sample->summary, 0, NULL);

        file = strdup(
            json_string_value(json_object_get(json_array_get(json_object_get(summary, "setups"), i), "program")));
        cards[i] = (struct tw_card){ file, sample->programs[i], strlen(sample->programs[i]) };
        json_decref(summary);
    }
    cr_assert(eq(int, tw_verdict_make(job, cards, sample->plan.setup_count, 0.0, &verdict, NULL), TW_OK));
    for (size_t i = 0; i < verdict.count; i++) {
        hottest_degC = fmax(hottest_degC, verdict.proofs[i].peak_degC);
        for (int id = 0; id < TW_CHECK_COUNT; id++) {
            const struct tw_check *check = &verdict.proofs[i].checks[id];
            bool height = is_one_of((enum tw_check_id)id, heights, sizeof heights / sizeof *heights);

            if (!check->asked || is_one_of((enum tw_check_id)id, others, sizeof others / sizeof *others))
                continue;
            if (heat && is_one_of((enum tw_check_id)id, loads, sizeof loads / sizeof *loads))
                continue;
            cr_expect(height ? check->amount <= allowed_mm : !check->failed, "%s, %s, %s: %s %g of %g %s, line %d, %s",
                      name, end, verdict.proofs[i].name, tw_check_name((enum tw_check_id)id), check->amount,
                      height ? allowed_mm : check->limit, check->unit, check->first_line, check->note);
        }
    }
    tw_verdict_free(&verdict);
    for (size_t i = 0; i < sample->plan.setup_count; i++)
        free((char *)(uintptr_t)cards[i].name);
    return hottest_degC;
}

/* A number in an object of the summary. */
static double summary_number(json_t *object, const char *key)
{
    json_t *number = json_object_get(object, key);

    cr_assert(number && json_is_number(number), "%s", key);
    return json_number_value(number);
}

/* A disc; a cup's edge that wears in the level mount; four parts that wear one wheel; one whose passes count on a film. */
ParameterizedTestParameters(ends, samples_hold_at_either_end_of_their_ranges)
{
    static const char *const few[] = { "fillet-160", "cleaver-200", "utility-four", "hunter-110" };

    return sample_few(few, sizeof few / sizeof *few);
}

/* Heat: the energy from a fifth less to the reserve more than the profile says, nothing kept back on top, and the film as it is stated:
 * its own range is asked of the wheel's own energy. Wear: the grinding
 * ratio's least and most, together with them: a wheel that lasts cuts deeper. */
static void expect_either_wheel_holds(const struct sample *sample, const char *name)
{
    for (int end = 0; end < 2; end++) {
        struct tw_job job = sample->job;
        double times = job.wheel.calibrated ? 1.0 : end ? job.limits.energy_reserve : 0.8;

        job.wheel = tw_wheel_at_energy(&job.wheel, times);
        job.limits.energy_reserve = 1.0;
        job.coolant.contact_conductance_least_W_per_mm2_K = job.coolant.contact_conductance_W_per_mm2_K;
        job.limits.film_reserve = fmax(1.0, job.limits.film_reserve / times);
        job.wheel.grinding_ratio = end ? job.wheel.grinding_ratio_most : job.wheel.grinding_ratio_least;
        expect_holds(sample, &job, name, times > 1.0, end ? "most energy, wheel lasts" : "least energy, wheel wears");
    }
}

/* The film takes no more than the lower end of its range says, of the wheel's own energy. So hot, or not quite, as the summary
 * says: it reckons what earlier passes leave without a plate of their own. */
static void expect_holds_with_least_film(const struct sample *sample, const char *name)
{
    struct tw_job job = sample->job;
    json_t *summary;
    double hottest_degC, stated_degC;

    if (job.coolant.kind == TW_COOLANT_DRY)
        return;
    job.coolant.contact_conductance_W_per_mm2_K = job.coolant.contact_conductance_least_W_per_mm2_K;
    job.limits.energy_reserve = job.limits.film_reserve = 1.0;
    hottest_degC = expect_holds(sample, &job, name, false, "least film");
    summary = json_loads(sample->summary, 0, NULL);
    stated_degC = summary_number(json_object_get(summary, "film"), "least_degC");
    cr_expect(hottest_degC < stated_degC + 2.0 && hottest_degC > 0.9 * stated_degC - 5.0, "%s: %g degC, stated %g",
              name, hottest_degC, stated_degC);
    json_decref(summary);
}

/* What finishing and spark-outs have to take on the softest machine keeps their limit with the wheel's own energy: a rise is no more
 * than in proportion less than the one with the reserve, which the summary says. */
static void expect_finishing_is_cool(const struct sample *sample, const char *name)
{
    json_t *summary = json_loads(sample->summary, 0, NULL), *setup;
    double ambient_degC = sample->job.coolant.temperature_degC;
    double energy = sample->job.wheel.calibrated ? 1.0 : sample->job.limits.energy_reserve;
    size_t i;

    json_array_foreach(json_object_get(summary, "setups"), i, setup)
    {
        json_t *back = json_object_get(setup, "spring_back");

        if (json_is_null(back) || !(summary_number(back, "takes_um") > 0.0))
            continue;
        cr_expect(ambient_degC + (summary_number(back, "takes_degC") - ambient_degC) / energy <=
                      summary_number(back, "takes_limit_degC"),
                  "%s, program %zu", name, i);
    }
    json_decref(summary);
}

/* Neither end leaves more than it may; on the softer the wheel pushes hardest. */
static void expect_either_machine_holds(const struct sample *sample, const char *name)
{
    for (int end = 0; end < 2; end++) {
        struct tw_job job = sample->job;
        struct tw_machine *machine = &job.machine;
        double stiffness_N_per_mm = end ? machine->stiffness_most_N_per_mm : machine->stiffness_least_N_per_mm;

        machine->stiffness_N_per_mm = machine->stiffness_least_N_per_mm = machine->stiffness_most_N_per_mm =
            stiffness_N_per_mm;
        job.wheel.force_ratio = job.wheel.force_ratio_most =
            end ? job.wheel.force_ratio_least : job.wheel.force_ratio_most;
        expect_holds(sample, &job, name, false, end ? "stiffest machine" : "softest machine");
    }
}

ParameterizedTest(struct sample_name *name, ends, samples_hold_at_either_end_of_their_ranges, ONLY_IN_RELEASE)
{
    struct sample sample;

    sample_read(&sample, name->text);
    expect_either_wheel_holds(&sample, name->text);
    expect_holds_with_least_film(&sample, name->text);
    expect_either_machine_holds(&sample, name->text);
    expect_finishing_is_cool(&sample, name->text);
    sample_close(&sample);
}
