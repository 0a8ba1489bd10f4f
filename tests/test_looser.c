/* test_looser.c - a plan under a looser limit never takes longer, on jobs made up at random. Guards against a search that is led
 * astray by what it gains.
 *
 * LOOSER_JOBS so many, from LOOSER_FIRST on; a job's number is its seed. Without them a slice. `make looser-jobs` asks 1,000. */
#include "samples/sample.h"

#include <math.h>

/* What the search may miss: it tries steps of what it keeps free for warmth. */
#define SEARCH_SHARE 0.01

/* ---- chance ---- */

/* Donald Knuth's linear congruential generator, The Art of Computer Programming, vol. 2, 3.3.4, MMIX. */
static double chance(unsigned long long *seed, double low, double high)
{
    *seed = *seed * 6364136223846793005ULL + 1442695040888963407ULL;
    return low + (high - low) * (double)(*seed >> 33) / (double)(1ULL << 31);
}

static size_t one_of(unsigned long long *seed, size_t count)
{
    return (size_t)fmin(chance(seed, 0.0, (double)count), (double)count - 1.0);
}

/* ---- jobs ---- */

/* Discs and cups, level and tilted; points; one part and several. */
static const char *const samples[] = {
    "hunter-110", "petty-130",   "nakiri-165",  "deba-165-twisted", "santoku-170",
    "paring-90",  "cleaver-200", "skeleton-70", "utility-four",     "gyuto-240-bowed"
};

static void scale_holding(struct tw_job *job, double by)
{
    job->fixture.clamp_force_N *= by;
    job->fixture.pull_N_per_mm2 *= by;
}

static void make_up(unsigned long long *seed, struct tw_job *job, const char **name)
{
    struct tw_findings findings = { 0 };
    char path[128];

    *name = samples[one_of(seed, sizeof samples / sizeof *samples)];
    snprintf(path, sizeof path, "samples/%s/job.cfg", *name);
    cr_assert(eq(int, tw_job_read(path, job, &findings), TW_OK));
    tw_findings_free(&findings);
    sample_shallow(job);
    job->taper.butt_mm = job->taper.ricasso_mm - 2.0 * chance(seed, 0.05, 0.3);
    job->wheel.max_infeed_mm *= chance(seed, 0.5, 1.5);
    job->machine.spindle_power_W *= chance(seed, 0.3, 1.5);
    job->machine.feed_max_mm_per_s *= chance(seed, 0.5, 1.2);
    job->limits.margin_K += chance(seed, 0.0, 25.0);
    scale_holding(job, chance(seed, 0.5, 1.5));
}

/* ---- limits ---- */

static void more_infeed(struct tw_job *job, double by)
{
    job->wheel.max_infeed_mm *= by;
}

static void more_power(struct tw_job *job, double by)
{
    job->machine.spindle_power_W *= by;
}

static void more_feed(struct tw_job *job, double by)
{
    job->machine.feed_max_mm_per_s *= by;
}

static void less_margin(struct tw_job *job, double by)
{
    job->limits.margin_K -= 10.0 * (by - 1.0);
}

static const struct {
    const char *name;
    void (*loosen)(struct tw_job *job, double by);
} limits[] = { { "largest infeed", more_infeed },
               { "power", more_power },
               { "holding", scale_holding },
               { "largest feed", more_feed },
               { "heat", less_margin } };

/* ---- the property ---- */

/* What `make test` asks: some, and number 24, whose deeper cuts once waited for longer than the lighter ones took. */
static const unsigned long long slice[] = { 0, 1, 2, 3, 4, 24 };

/* Seconds of all programs; 0 where the job is refused. */
static double planned_s(const struct tw_job *job)
{
    struct tw_findings findings = { 0 };
    struct tw_plan plan;
    enum tw_status status = tw_plan_make(job, &plan, &findings);
    double time_s = status == TW_OK ? plan.cycle_time_s : 0.0;

    cr_expect(status == TW_OK || status == TW_NO_PLAN, "status %d", (int)status);
    tw_plan_free(&plan);
    tw_findings_free(&findings);
    return time_s;
}

/* True where the job can be planned at all. */
static bool ask(unsigned long long number)
{
    unsigned long long seed = number + 1;
    const char *name;
    struct tw_job job;
    double time_s, by;
    size_t limit;

    make_up(&seed, &job, &name);
    limit = one_of(&seed, sizeof limits / sizeof *limits);
    by = chance(&seed, 1.05, 3.0);
    time_s = planned_s(&job);
    if (time_s > 0.0) {
        double looser_s;

        limits[limit].loosen(&job, by);
        looser_s = planned_s(&job);
        if (looser_s > time_s + 0.1 || looser_s == 0.0)
            fprintf(stderr, "job %llu, %s: %.1f s, %.1f s with a looser limit of %s (%.2f times)\n", number, name,
                    time_s, looser_s, limits[limit].name, by);
        cr_expect(looser_s > 0.0 && looser_s <= (1.0 + SEARCH_SHARE) * time_s, "job %llu", number);
    }
    tw_job_free(&job);
    return time_s > 0.0;
}

static unsigned long long wanted(const char *variable, unsigned long long otherwise)
{
    const char *value = getenv(variable);

    return value ? strtoull(value, NULL, 10) : otherwise;
}

Test(looser, limits_never_make_a_plan_longer, ALSO_IN_RELEASE)
{
    unsigned long long first = wanted("LOOSER_FIRST", 0), count = wanted("LOOSER_JOBS", 0);
    size_t in_slice = count > 0 ? 0 : SANITIZED ? 1 : sizeof slice / sizeof *slice;
    int planned = 0;

    for (unsigned long long i = first; i < first + count; i++)
        planned += ask(i);
    for (size_t i = 0; i < in_slice; i++)
        planned += ask(slice[i]);
    fprintf(stderr, "%d of %llu jobs could be planned\n", planned, count + in_slice);
    cr_expect(gt(int, planned, 0));
}
