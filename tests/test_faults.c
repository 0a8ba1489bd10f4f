/* test_faults.c - the dry-run must notice a damaged program. Good programs of every sample are damaged in many ways at
 * places drawn from a seeded generator; each is either refused by a check that fits the damage, or shown to be harmless
 * by a judge that asks none of the dry-run's checks (tests/faults/judge.h).
 *
 * FAULTS_PER_CLASS=n  mutants per class, sample and side; `make mutate` uses many more than `make test`
 * FAULTS_STRIDE=n     only every n-th of them; 1 for all
 * FAULTS_SEED=n       other places
 * FAULTS_KEEP=folder  mutants that should have been caught are written there */
#include "faults/damage.h"
#include "faults/judge.h"

#include <pthread.h>
#include <stdatomic.h>

#if defined(__SANITIZE_ADDRESS__)
#define SLOW 1
#else
#define SLOW 0
#endif

/* Coarser than the dry-run's own: which lane or layer is wrong shows as well, and thousands of runs are wanted. */
#define CELL_MM  0.4
#define ATTEMPTS 40 /* at finding a place for a damage */

struct tally {
    long tried, caught, harmless, missed, unfitting;
};

struct good {
    struct sample sample;
    char name[64];
    struct judge_norm norms[2];
};

struct campaign {
    struct good *goods;
    size_t good_count;
    long per_class, stride;
    uint64_t seed;
    atomic_long next;
    pthread_mutex_t lock;
    struct tally tallies[DAMAGE_COUNT];
    struct tw_text complaints;
};

static long setting(const char *name, long usual)
{
    const char *value = getenv(name);

    return value ? strtol(value, NULL, 10) : usual;
}

/* ---- one mutant ---- */

/* Another seed for every place in the campaign. */
static uint64_t seed_of(const struct campaign *campaign, long number, int attempt)
{
    return campaign->seed * 0x9e3779b97f4a7c15u + (uint64_t)number * 0xd1342543de82ef95u +
           (uint64_t)attempt * 0x2545f4914f6cdd1du;
}

static void reset(struct mutant *m, const struct sample *sample, enum tw_side side, uint64_t seed)
{
    m->sample = sample;
    m->side = side;
    m->file_name = tw_program_file_name(side, TW_SCOPE_WHOLE);
    m->job = sample->job;
    m->job_changed = false;
    m->used = 0;
    m->random = seed;
    split_lines(m, sample->programs[side]);
}

/* A damaged program that differs from the good one; false where this class finds no place. */
static bool spoil(const struct campaign *campaign, long number, const struct sample *sample, enum tw_side side,
                  const struct damage *damage, struct mutant *m, struct tw_text *text)
{
    bool done = false;

    for (int attempt = 0; !done && attempt < ATTEMPTS; attempt++) {
        reset(m, sample, side, seed_of(campaign, number, attempt));
        if (!damage->spoil(m))
            continue;
        tw_text_free(text);
        *text = (struct tw_text){ 0 };
        join_lines(m, text);
        done = m->job_changed || m->side != side || strlen(sample->programs[side]) != text->length ||
               memcmp(text->data, sample->programs[side], text->length) != 0;
    }
    return done;
}

static unsigned failed_checks(const struct tw_proof *proof)
{
    unsigned failed = 0;

    for (int i = 0; i < TW_CHECK_COUNT; i++)
        if (proof->checks[i].asked && proof->checks[i].failed)
            failed |= 1u << i;
    return failed;
}

static void keep(const struct mutant *m, const char *what, const struct good *good, const struct damage *damage,
                 long number, const struct tw_text *text)
{
    const char *folder = getenv("FAULTS_KEEP");
    char path[512];
    FILE *stream;

    if (!folder)
        return;
    snprintf(path, sizeof path, "%s/%s %s %s %ld %s", folder, what, damage->name, good->name, number, m->file_name);
    stream = fopen(path, "wb");
    if (!stream)
        return;
    fwrite(text->data, 1, text->length, stream);
    fclose(stream);
}

static void complain(struct campaign *campaign, const char *what, const struct good *good, const struct damage *damage,
                     long number, const struct mutant *m, unsigned failed)
{
    tw_text_print(&campaign->complaints, "  %s: %s, %s, %s, number %ld, failed checks:", what, damage->name, good->name,
                  m->file_name, number);
    for (int i = 0; i < TW_CHECK_COUNT; i++)
        if (failed >> i & 1u)
            tw_text_print(&campaign->complaints, " %s", tw_check_name((enum tw_check_id)i));
    tw_text_append(&campaign->complaints, "\n", 1);
}

static void count(struct campaign *campaign, const struct good *good, size_t class, long number, const struct mutant *m,
                  unsigned failed, bool cut, bool harmless, const struct tw_text *text)
{
    struct tally *tally = &campaign->tallies[class];
    const char *what = cut && !harmless ? "missed" : !cut && !(failed & damages[class].checks) ? "unfitting" : NULL;

    pthread_mutex_lock(&campaign->lock);
    tally->tried++;
    tally->caught += !cut;
    tally->harmless += cut && harmless;
    tally->missed += cut && !harmless;
    tally->unfitting += !cut && !(failed & damages[class].checks);
    if (what) {
        complain(campaign, what, good, &damages[class], number, m, failed);
        keep(m, what, good, &damages[class], number, text);
    }
    pthread_mutex_unlock(&campaign->lock);
}

static void try_one(struct campaign *campaign, long number, struct mutant *m)
{
    const struct good *good = &campaign->goods[(size_t)number % campaign->good_count];
    size_t rest = (size_t)number / campaign->good_count, class = rest / 2 % DAMAGE_COUNT;
    enum tw_side side = (enum tw_side)(rest % 2);
    struct tw_text text = { 0 };

    if (spoil(campaign, number, &good->sample, side, &damages[class], m, &text)) {
        struct tw_card card = { m->file_name, text.data, text.length };
        struct tw_findings findings = { 0 };
        struct tw_verdict verdict;
        bool cut;

        if (tw_verdict_make(&m->job, &card, 1, CELL_MM, &verdict, &findings) != TW_OK) {
            fprintf(stderr, "%s, %s, number %ld: no verdict\n", damages[class].name, good->name, number);
            show_findings(&findings);
            keep(m, "no verdict", good, &damages[class], number, &text);
            abort();
        }
        cut = verdict.proofs[0].cut; /* the checks alone: such cells are too coarse for a verdict */
        count(campaign, good, class, number, m, failed_checks(&verdict.proofs[0]), cut,
              cut &&
                  judge_harmless(&m->job, m->job_changed, m->side, CELL_MM, text.data, text.length, &good->norms[side]),
              &text);
        tw_verdict_free(&verdict);
    }
    tw_text_free(&text);
}

static void *work(void *context)
{
    struct campaign *campaign = context;
    long total = (long)campaign->good_count * 2 * (long)DAMAGE_COUNT * campaign->per_class, number;
    struct mutant *m = calloc(1, sizeof *m);

    for (size_t i = 0; m && i < campaign->good_count; i++)
        for (int side = 0; side < 2; side++) {
            size_t lines = line_breaks(campaign->goods[i].sample.programs[side]) + MORE_LINES;

            m->capacity = lines > m->capacity ? lines : m->capacity;
        }
    if (m)
        m->lines = malloc(m->capacity * sizeof *m->lines);
    if (!m || !m->lines)
        abort();
    while ((number = atomic_fetch_add(&campaign->next, campaign->stride)) < total)
        try_one(campaign, number, m);
    free(m->lines);
    free(m);
    return NULL;
}

/* ---- the campaign ---- */

static void open_goods(struct campaign *campaign, struct good *goods)
{
    struct criterion_test_params names = sample_names();
    const struct sample_name *name = names.params;

    campaign->goods = goods;
    for (size_t i = 0; i < names.length; i++) {
        struct good *good = &goods[campaign->good_count];

        if (SLOW && i % 3 != 1)
            continue;
        strcpy(good->name, name[i].text);
        sample_read(&good->sample, good->name);
        if (good->sample.plan.setup_count != 2) { /* a side in several programs: none is harmless without the others */
            sample_close(&good->sample);
            continue;
        }
        /* Planned for a band of blanks; damages are tried on one as stated, which takes a third of the time. */
        good->sample.job.taper.band_mm = 0.0;
        campaign->good_count++;
        for (int side = 0; side < 2; side++)
            cr_assert(judge_learn(&good->sample.job, (enum tw_side)side, CELL_MM, good->sample.programs[side],
                                  &good->norms[side]),
                      "%s, side %d: not harmless before any damage", good->name, side);
    }
}

static void close_goods(struct campaign *campaign)
{
    for (size_t i = 0; i < campaign->good_count; i++) {
        free(campaign->goods[i].norms[0].surface_mm);
        free(campaign->goods[i].norms[1].surface_mm);
        sample_close(&campaign->goods[i].sample);
    }
}

static struct tally print_table(const struct campaign *campaign)
{
    struct tally sum = { 0 };

    fprintf(stderr, "%-28s %7s %7s %9s %7s %7s\n", "class", "tried", "caught", "harmless", "missed", "misfit");
    for (size_t i = 0; i <= DAMAGE_COUNT; i++) {
        const struct tally *t = i < DAMAGE_COUNT ? &campaign->tallies[i] : &sum;

        fprintf(stderr, "%-28s %7ld %7ld %9ld %7ld %7ld\n", i < DAMAGE_COUNT ? damages[i].name : "all", t->tried,
                t->caught, t->harmless, t->missed, t->unfitting);
        if (i == DAMAGE_COUNT)
            break;
        sum.tried += t->tried;
        sum.caught += t->caught;
        sum.harmless += t->harmless;
        sum.missed += t->missed;
        sum.unfitting += t->unfitting;
    }
    return sum;
}

Test(faults, damaged_programs_are_refused_or_harmless, .timeout = 7200)
{
    static struct good goods[SAMPLES_MOST];
    struct campaign campaign = { .per_class = setting("FAULTS_PER_CLASS", 1),
                                 .stride = setting("FAULTS_STRIDE", SLOW ? 17 : 13),
                                 .seed = (uint64_t)setting("FAULTS_SEED", 1),
                                 .lock = PTHREAD_MUTEX_INITIALIZER };
    pthread_t helper;
    struct tally sum;

    open_goods(&campaign, goods);
    cr_assert(eq(int, pthread_create(&helper, NULL, work, &campaign), 0));
    work(&campaign);
    pthread_join(helper, NULL);
    sum = print_table(&campaign);
    if (campaign.complaints.data)
        fprintf(stderr, "%s", campaign.complaints.data);
    cr_expect(eq(long, sum.missed, 0), "damaged programs pass the dry-run");
    cr_expect(eq(long, sum.unfitting, 0), "damaged programs are refused by a check that does not fit");
    for (size_t i = 0; !SLOW && i < DAMAGE_COUNT; i++)
        cr_expect(gt(long, campaign.tallies[i].tried, 0), "no sample could be damaged this way: %s", damages[i].name);
    tw_text_free(&campaign.complaints);
    close_goods(&campaign);
}
