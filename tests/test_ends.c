/* test_ends.c - the samples' programs where wheel, machine and steel are as bad as their profiles allow. Guards against plans
 * that only hold for the middles of their ranges. By default some samples; TEST_SAMPLES=all (make all-samples) takes all. */
#include "samples/sample.h"

#include "tangwright/verdict.h"

#include <math.h>

static bool is_one_of(enum tw_check_id id, const enum tw_check_id *ids, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (ids[i] == id)
            return true;
    return false;
}

/* The planned programs under a job of which some numbers are other ones. Where the wheel stands is not what they were planned
 * for: how far off the face may be then is half of the thickness tolerance, whichever check finds it. */
static void expect_holds(const struct sample *sample, const struct tw_job *job, const char *name, bool heat,
                         const char *end)
{
    /* Power and force are planned for the wheel's own energy, and so is what the machine gives way by. */
    static const enum tw_check_id loads[] = { TW_CHECK_POWER, TW_CHECK_HOLDING, TW_CHECK_SPRING_BACK };
    static const enum tw_check_id heights[] = { TW_CHECK_GOUGE, TW_CHECK_STOCK_LEFT, TW_CHECK_CONTACT };
    /* Of the two that compare, neither is about the setup; wear is told of the range that the job states. */
    static const enum tw_check_id others[] = { TW_CHECK_FLATNESS, TW_CHECK_WEAR, TW_CHECK_HEAT, TW_CHECK_FINISHING };
    double allowed_mm = job->finish.thickness_mm / 2.0;
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
}

/* A disc; a cup's edge that wears in the level mount; four parts that wear one wheel. */
ParameterizedTestParameters(ends, samples_hold_at_either_end_of_their_ranges)
{
    static const char *const few[] = { "fillet-160", "cleaver-200", "utility-four" };

    return sample_few(few, sizeof few / sizeof *few);
}

/* Heat: the energy from a fifth less to the reserve more than the profile says, nothing kept back on top. Wear: the grinding
 * ratio's least and most, together with them: a wheel that lasts cuts deeper. Stiffness: the dry-run itself works with the softest machine and the hardest push. */
ParameterizedTest(struct sample_name *name, ends, samples_hold_at_either_end_of_their_ranges, .disabled = SANITIZED)
{
    struct sample sample;

    sample_read(&sample, name->text);
    for (int end = 0; end < 2; end++) {
        struct tw_job job = sample.job;
        double times = job.wheel.calibrated ? 1.0 : end ? job.limits.energy_reserve : 0.8;

        job.wheel = tw_wheel_at_energy(&job.wheel, times);
        job.limits.energy_reserve = 1.0;
        job.limits.film_reserve = fmax(1.0, job.limits.film_reserve / times);
        job.wheel.grinding_ratio = end ? job.wheel.grinding_ratio_most : job.wheel.grinding_ratio_least;
        expect_holds(&sample, &job, name->text, times > 1.0,
                     end ? "most energy, wheel lasts" : "least energy, wheel wears");
    }
    sample_close(&sample);
}
