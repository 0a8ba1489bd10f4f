/* test_faults.c - the dry-run must notice a damaged program. Good programs of every sample, single and in sets, are damaged
 * in many ways at places drawn from a seeded generator; each is either refused by a check that fits the damage, or shown to
 * be harmless by a judge that shares nothing with the dry-run (tests/faults/judge.h). And it must not mind what changes
 * no meaning: damaged comments, and good programs rewritten (tests/faults/rewrite.h), have to pass.
 *
 * FAULTS_CARDS=kind   only these good programs: plain, relief, turns, stations, surveyed; or styles: any, rewritten first
 * FAULTS_TRIES=n      so many damages
 * FAULTS_LEDGER=file  counts are kept there, and a campaign that was broken off goes on from them
 * FAULTS_WORKERS=n    threads; 2 where nothing is said
 * FAULTS_REWRITE=n    of the rewritten programs every n-th; 0 for none
 * FAULTS_SEED=n       other places
 * FAULTS_KEEP=folder  mutants that should have been caught are written there */
#include "faults/damage.h"
#include "faults/judge.h"
#include "faults/rewrite.h"
#include "sanitized.h"
#include "verdict/program_checks.h"
#include "verdict/trace.h"

#include <pthread.h>
#include <stdatomic.h>

/* Coarser than the dry-run's own: which lane or layer is wrong shows as well, and thousands of runs are wanted. */
#define CELL_MM  0.4
#define ATTEMPTS 40 /* at finding a place for a damage */
/* One in so many mutants that their text alone refuses is driven over the part all the same. */
#define DRIVEN_EVERY 25
#define BATCH        70 /* damages between two entries in the ledger */

struct tally {
    long tried, caught, harmless, missed, unfitting, false_alarms;
};

/* The programs of one side, run one after the other. */
struct unit {
    enum tw_side side;
    size_t setups[JUDGE_CARDS_MOST], count;
    struct judge_norm norm; /* without a surface as long as nobody asked for it */
};

/* Kinds of good programs; those of no other kind are plain. */
enum { CARDS_PLAIN = 1, CARDS_RELIEF = 2, CARDS_TURNS = 4, CARDS_STATIONS = 8, CARDS_SURVEYED = 16, CARDS_ALL = 31 };

static const struct kind {
    const char *name;
    unsigned cards;
    int styled; /* of so many damages one is of a program rewritten first; 0: none */
} kinds[] = {
    { "all", CARDS_ALL, 0 },           { "mixed", CARDS_ALL, 3 },   { "plain", CARDS_PLAIN, 0 },
    { "relief", CARDS_RELIEF, 0 },     { "turns", CARDS_TURNS, 0 }, { "stations", CARDS_STATIONS, 0 },
    { "surveyed", CARDS_SURVEYED, 0 }, { "styles", CARDS_ALL, 1 },
};

struct good {
    struct sample sample;
    struct tw_job
        as_read; /* before its limits were made easier to miss, and quicker to prove; borrows from the sample's */
    char name[64];
    unsigned cards;                       /* its kinds */
    enum tw_scope scopes[TW_SETUPS_MOST]; /* of each program */
    struct unit units[2];
};

/* What may be wrong with a set of good programs. */
enum set_damage { SET_CARD_MISSING, SET_CARD_TWICE, SET_BODIES_EXCHANGED, SET_DAMAGES };
static const char *const set_damages[SET_DAMAGES] = { "card of a side missing", "card given twice",
                                                      "bodies of two cards exchanged" };
#define CLASS_COUNT (DAMAGE_COUNT + SET_DAMAGES)

#define TICKETS_MOST (6 * SAMPLES_MOST)

struct campaign {
    struct good *goods;
    size_t good_count;
    size_t tickets[TICKETS_MOST], ticket_count; /* goods; those that are quick to prove several times */
    const struct kind *kind;
    long tries, begun, batch_end; /* numbers begin_at .. batch_end are being tried */
    uint64_t seed;
    atomic_long next;
    pthread_mutex_t lock, norms_lock;
    struct tally tallies[CLASS_COUNT];
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

static const char *original(const struct good *good, const struct unit *unit, size_t card)
{
    return good->sample.programs[unit->setups[card]];
}

static void reset(struct mutant *m, const struct good *good, const struct unit *unit, size_t card, uint64_t seed)
{
    m->sample = &good->sample;
    m->side = unit->side;
    m->scope = good->scopes[unit->setups[card]];
    m->file_name = usual_name(unit->side, m->scope);
    m->job = good->sample.job;
    m->job_changed = false;
    m->used = 0;
    m->random = seed;
    split_lines(m, original(good, unit, card));
}

/* ---- styles ---- */

static const struct rewriter *draw_rewriter(struct mutant *m, enum rewriting kind)
{
    const struct rewriter *found;

    do
        found = &rewriters[draw(m, REWRITER_COUNT)];
    while (found->kind != kind);
    return found;
}

/* Chance of its own, so that a style takes nothing from the damage's. */
struct style {
    const struct rewriter *places, *plain, *late; /* NULL: as the planner writes */
};

static struct style draw_style(const struct campaign *campaign, long number, int attempt, struct mutant *m)
{
    int each = campaign->kind->styled;
    struct style style = { NULL, NULL, NULL };

    if (each == 0 || number % each != each - 1)
        return style;
    m->random = seed_of(campaign, number, attempt) ^ 0x5bd1e9955bd1e995u;
    style.places = draw_rewriter(m, REWRITE_PLACES);
    style.plain = draw_rewriter(m, REWRITE_PLAIN);
    style.late = draw_rewriter(m, REWRITE_LATE);
    return style;
}

static void take_text(const struct mutant *m, const struct rewriter *rewriter, struct tw_text *text)
{
    tw_text_free(text);
    *text = (struct tw_text){ 0 };
    if (rewriter)
        join_rewritten(m, rewriter, text);
    else
        join_lines(m, text);
}

static bool same_text(const struct tw_text *a, const struct tw_text *b)
{
    return a->length == b->length && memcmp(a->data, b->data, a->length) == 0;
}

/* One try at a damage in the lines of m; in the style where there is one. */
static bool spoil_once(const struct style *style, const struct damage *damage, uint64_t seed, struct mutant *m,
                       struct tw_text *text)
{
    enum tw_side side = m->side;
    struct tw_text before = { 0 };
    bool done = !style->places || (style->places->rewrite(m) && style->plain->rewrite(m));

    take_text(m, NULL, &before);
    m->random = seed;
    done = done && damage->spoil(m);
    if (done) {
        take_text(m, NULL, text);
        done = m->job_changed || m->side != side || !same_text(text, &before);
    }
    if (done && style->late) {
        done = style->late->rewrite(m);
        take_text(m, style->late, text);
    }
    tw_text_free(&before);
    return done;
}

/* A damaged program that differs from the good one; false where this class finds no place. *card is drawn. */
static bool spoil(const struct campaign *campaign, long number, const struct good *good, const struct unit *unit,
                  const struct damage *damage, struct mutant *m, size_t *card, struct tw_text *text)
{
    bool done = false;

    for (int attempt = 0; !done && attempt < ATTEMPTS; attempt++) {
        uint64_t seed = seed_of(campaign, number, attempt);
        struct style style = draw_style(campaign, number, attempt, m);

        *card = (size_t)(seed >> 32) % unit->count;
        reset(m, good, unit, *card, seed);
        done = spoil_once(&style, damage, seed, m, text);
    }
    return done;
}

/* What is refused by the text alone, as the dry-run asks it before it drives anything. */
static unsigned failed_by_text(const struct tw_job *whole, enum tw_side side, enum tw_scope scope, const char *name,
                               const struct tw_text *text)
{
    struct tw_job job = tw_scope_job(whole, scope);
    struct tw_check checks[TW_CHECK_COUNT] = { 0 };
    struct tw_findings refusals = { 0 };
    struct tw_trace trace;
    unsigned failed = 0;

    tw_trace_make(&job, tw_face_of(&job, side).zero_mm, name, text->data, text->length, &trace, &refusals);
    tw_program_check_text(&refusals, trace.last_line, &checks[TW_CHECK_TEXT]);
    tw_program_check_modes(&job, &trace, side, &checks[TW_CHECK_MODES]);
    tw_program_check_offsets(&job, &trace, side, &checks[TW_CHECK_OFFSETS]);
    tw_program_check_travel(&job, &trace, &checks[TW_CHECK_TRAVEL]);
    tw_program_check_wheel_speed(&job, &trace, &checks[TW_CHECK_WHEEL_SPEED]);
    tw_program_check_feed(&job, &trace, &checks[TW_CHECK_FEED]);
    tw_program_check_ending(&job, &trace, side, &checks[TW_CHECK_ENDING]);
    for (int i = 0; i < TW_CHECK_COUNT; i++)
        failed |= checks[i].failed ? 1u << i : 0u;
    tw_trace_free(&trace);
    tw_findings_free(&refusals);
    return failed;
}

static unsigned failed_checks(const struct tw_proof *proof)
{
    unsigned failed = 0;

    for (int i = 0; i < TW_CHECK_COUNT; i++)
        if (proof->checks[i].asked && proof->checks[i].failed)
            failed |= 1u << i;
    return failed;
}

static const char *class_name(size_t class)
{
    return class < DAMAGE_COUNT ? damages[class].name : set_damages[class - DAMAGE_COUNT];
}

static void keep(const char *what, const struct good *good, size_t class, long number, const struct tw_card *cards,
                 size_t count)
{
    const char *folder = getenv("FAULTS_KEEP");

    for (size_t i = 0; folder && i < count; i++) {
        char path[512];
        FILE *stream;

        snprintf(path, sizeof path, "%s/%s %s %s %ld %s", folder, what, class_name(class), good->name, number,
                 cards[i].name);
        stream = fopen(path, "wb");
        if (!stream)
            return;
        fwrite(cards[i].text, 1, cards[i].length, stream);
        fclose(stream);
    }
}

static void complain(struct campaign *campaign, const char *what, const struct good *good, size_t class, long number,
                     const struct tw_card *card, unsigned failed)
{
    tw_text_print(&campaign->complaints, "  %s: %s, %s, %s, number %ld, failed checks:", what, class_name(class),
                  good->name, card->name, number);
    for (int i = 0; i < TW_CHECK_COUNT; i++)
        if (failed >> i & 1u)
            tw_text_print(&campaign->complaints, " %s", tw_check_name((enum tw_check_id)i));
    tw_text_append(&campaign->complaints, "\n", 1);
}

struct answer {
    bool cut, harmless;
    unsigned failed;
    bool incomplete; /* the set was refused, whatever its checks say */
};

/* What should notice it: in another style a damage may become any other, but what changes no meaning there does so nowhere. */
static unsigned fitting_checks(const struct campaign *campaign, size_t class, long number)
{
    int each = campaign->kind->styled;
    bool styled = each > 0 && number % each == each - 1;

    if (class >= DAMAGE_COUNT)
        return ~0u;
    return styled && damages[class].checks != 0 ? ~0u : damages[class].checks;
}

static void count(struct campaign *campaign, const struct good *good, size_t class, long number,
                  const struct tw_card *cards, size_t card_count, struct answer answer)
{
    struct tally *tally = &campaign->tallies[class];
    unsigned fitting = fitting_checks(campaign, class, number);
    bool alarm = !answer.cut && fitting == 0; /* this class changes no meaning */
    bool unfit = !answer.cut && !alarm && !(answer.failed & fitting) && !answer.incomplete;
    const char *what = answer.cut && !answer.harmless ? "missed" : alarm ? "false alarm" : unfit ? "unfitting" : NULL;

    pthread_mutex_lock(&campaign->lock);
    tally->tried++;
    tally->caught += !answer.cut;
    tally->harmless += answer.cut && answer.harmless;
    tally->missed += answer.cut && !answer.harmless;
    tally->false_alarms += alarm;
    tally->unfitting += unfit;
    if (what) {
        complain(campaign, what, good, class, number, &cards[0], answer.failed);
        keep(what, good, class, number, cards, card_count);
    }
    pthread_mutex_unlock(&campaign->lock);
}

static struct judge_cards judged(const struct tw_card *cards, const enum tw_scope *scopes, size_t count,
                                 enum tw_side side)
{
    struct judge_cards judged = { .side = side, .count = count };

    for (size_t i = 0; i < count; i++)
        judged.cards[i] = (struct judge_card){ cards[i].text, cards[i].length, scopes[i] };
    return judged;
}

/* Cells as coarse as CELL_MM are a reason by themselves; any other says that the set is not whole. */
static struct answer prove_cards(const struct tw_job *job, const struct tw_card *cards, size_t count, double cell_mm)
{
    size_t coarse = cell_mm > 0.0 ? 1 : 0;
    struct tw_findings findings = { 0 };
    struct answer answer = { .cut = true };
    struct tw_verdict verdict;
    enum tw_status status = tw_verdict_make(job, cards, count, cell_mm, &verdict, &findings);

    if (status == TW_NO_PLAN) { /* it would take too long: that is no pass */
        tw_findings_free(&findings);
        return (struct answer){ .incomplete = true };
    }
    if (status != TW_OK) {
        fprintf(stderr, "no verdict on %s of %s\n", cards[0].name, job->name);
        show_findings(&findings);
        abort();
    }
    for (size_t i = 0; i < verdict.count; i++) {
        answer.cut &= verdict.proofs[i].cut;
        answer.failed |= failed_checks(&verdict.proofs[i]);
    }
    answer.incomplete = verdict.reason_count > coarse;
    answer.cut &= !answer.incomplete;
    tw_verdict_free(&verdict);
    return answer;
}

/* As a maker asks, with its own cells and limits; in the unit of the program, where that was written in the other one. */
static struct answer prove_as_read(const struct good *good, const struct mutant *m, const struct tw_card *cards,
                                   size_t count)
{
    struct tw_job job = good->as_read;

    job.machine.dialect.inch = m->job.machine.dialect.inch;
    return prove_cards(&job, cards, count, 0.0);
}

/* When the first of its mutants passes. */
static void learn_unit(struct campaign *campaign, const struct good *good, struct unit *unit)
{
    struct judge_cards cards = { .side = unit->side, .count = unit->count };

    pthread_mutex_lock(&campaign->norms_lock);
    for (size_t i = 0; i < unit->count; i++) {
        const char *text = original(good, unit, i);

        cards.cards[i] = (struct judge_card){ text, strlen(text), good->scopes[unit->setups[i]] };
    }
    if (!unit->norm.surface_mm)
        cr_assert(judge_learn(&good->sample.job, &cards, CELL_MM, &unit->norm),
                  "%s, side %d: not harmless before any damage", good->name, unit->side);
    pthread_mutex_unlock(&campaign->norms_lock);
}

static struct mutant *mutant_open(size_t lines)
{
    struct mutant *m = calloc(1, sizeof *m);

    if (m)
        m->lines = malloc(lines * sizeof *m->lines);
    if (!m || !m->lines)
        abort();
    m->capacity = lines;
    return m;
}

static void mutant_close(struct mutant *m)
{
    free(m->lines);
    free(m);
}

/* A set is written in one unit: the card that is not damaged too. */
static void write_in_unit_of(const struct mutant *m, const struct good *good, const struct unit *unit, size_t card,
                             struct tw_text *text)
{
    struct mutant *whole = mutant_open(m->capacity);

    reset(whole, good, unit, card, 0);
    if (whole->job.machine.dialect.inch != m->job.machine.dialect.inch)
        other_unit(whole);
    join_lines(whole, text);
    mutant_close(whole);
}

static void try_damage(struct campaign *campaign, long number, const struct good *good, struct unit *unit, size_t class,
                       struct mutant *m)
{
    struct tw_card cards[JUDGE_CARDS_MOST];
    enum tw_scope scopes[JUDGE_CARDS_MOST];
    struct tw_text texts[JUDGE_CARDS_MOST] = { 0 }, text = { 0 };
    struct answer answer = { 0 };
    size_t card;

    m->other =
        good->sample
            .programs[good->units[good->units[1 - unit->side].count > 0 ? 1 - unit->side : unit->side].setups[0]];
    if (spoil(campaign, number, good, unit, &damages[class], m, &card, &text)) {
        for (size_t i = 0; i < unit->count; i++) {
            write_in_unit_of(m, good, unit, i, &texts[i]);
            scopes[i] = good->scopes[unit->setups[i]];
            cards[i] = (struct tw_card){ usual_name(m->side, scopes[i]), texts[i].data, texts[i].length };
        }
        cards[card] = (struct tw_card){ m->file_name, text.data, text.length };
        answer.failed = failed_by_text(&m->job, m->side, m->scope, m->file_name, &text);
        if (!(answer.failed & fitting_checks(campaign, class, number)) || number % DRIVEN_EVERY == 0) {
            unsigned by_text = answer.failed;

            answer = prove_cards(&m->job, cards, unit->count, CELL_MM);
            cr_assert(by_text == 0 || !answer.cut, "%s, number %ld: its text alone refuses it", class_name(class),
                      number);
        }
        if (answer.cut) {
            struct judge_cards given = judged(cards, scopes, unit->count, m->side);

            learn_unit(campaign, good, unit);
            answer.harmless = judge_harmless(&m->job, m->job_changed, &given, CELL_MM, &unit->norm);
            if (!answer.harmless && !m->job_changed)
                answer = prove_as_read(good, m, cards, unit->count);
        }
        count(campaign, good, class, number, &cards[card], 1, answer);
    }
    for (size_t i = 0; i < unit->count; i++)
        tw_text_free(&texts[i]);
    tw_text_free(&text);
}

/* Where the lines that move something begin. */
static const char *body_of(const char *text)
{
    while (*text == '(' || *text == '%') {
        text += strcspn(text, "\n");
        text += *text == '\n';
    }
    return text;
}

static void try_set(struct campaign *campaign, long number, const struct good *good, struct unit *unit,
                    enum set_damage damage)
{
    struct tw_card cards[JUDGE_CARDS_MOST + 1];
    struct tw_text texts[2] = { 0 };
    size_t count_of = 0, chosen = (size_t)number / 7 % unit->count;
    struct answer answer;

    if (unit->count < 2 && damage != SET_CARD_TWICE)
        return;
    for (size_t i = 0; i < unit->count; i++) {
        const char *text = original(good, unit, i);
        size_t times = i != chosen ? 1 : damage == SET_CARD_MISSING ? 0 : damage == SET_CARD_TWICE ? 2 : 1;

        for (; times > 0; times--) {
            enum tw_scope scope = good->scopes[unit->setups[i]];

            cards[count_of] = (struct tw_card){ usual_name(unit->side, scope), text, strlen(text) };
            count_of++;
        }
    }
    for (size_t i = 0; damage == SET_BODIES_EXCHANGED && i < 2; i++) {
        const char *head = original(good, unit, i), *body = body_of(original(good, unit, 1 - i));

        tw_text_append(&texts[i], head, (size_t)(body_of(head) - head));
        tw_text_append(&texts[i], body, strlen(body));
        cards[i].text = texts[i].data;
        cards[i].length = texts[i].length;
    }
    answer = prove_cards(&good->sample.job, cards, count_of, CELL_MM); /* no such set is harmless */
    count(campaign, good, DAMAGE_COUNT + damage, number, cards, count_of, answer);
    tw_text_free(&texts[0]);
    tw_text_free(&texts[1]);
}

/* Ways of damage take turns; which program is damaged, and where, is drawn. */
static void try_one(struct campaign *campaign, long number, struct mutant *m)
{
    uint64_t seed = seed_of(campaign, number, ATTEMPTS);
    struct good *good = &campaign->goods[campaign->tickets[(size_t)(seed >> 33) % campaign->ticket_count]];
    size_t class = (size_t)number % CLASS_COUNT;
    struct unit *unit = &good->units[seed >> 32 & 1];

    if (unit->count == 0)
        return;
    if (class < DAMAGE_COUNT)
        try_damage(campaign, number, good, unit, class, m);
    else
        try_set(campaign, number, good, unit, (enum set_damage)(class - DAMAGE_COUNT));
}

static size_t most_lines(const struct campaign *campaign)
{
    size_t most = 0;

    for (size_t i = 0; i < campaign->good_count; i++)
        for (size_t k = 0; k < campaign->goods[i].sample.plan.setup_count; k++) {
            size_t lines = line_breaks(campaign->goods[i].sample.programs[k]) + MORE_LINES;

            most = lines > most ? lines : most;
        }
    return most;
}

static void *work(void *context)
{
    struct campaign *campaign = context;
    struct mutant *m = mutant_open(5 * most_lines(campaign));
    long number;

    while ((number = atomic_fetch_add(&campaign->next, 1)) < campaign->batch_end)
        try_one(campaign, number, m);
    mutant_close(m);
    return NULL;
}

static long tried(const struct campaign *campaign)
{
    long sum = 0;

    for (size_t i = 0; i < CLASS_COUNT; i++)
        sum += campaign->tallies[i].tried;
    return sum;
}

/* ---- the ledger ---- */

/* Counts of what was tried up to a number, and complaints: written aside and switched, so that a kill leaves the one before. */
static void write_ledger(const struct campaign *campaign, const char *path)
{
    char aside[512];
    FILE *stream;

    snprintf(aside, sizeof aside, "%s.part", path);
    stream = fopen(aside, "w");
    cr_assert(stream != NULL, "%s", aside);
    fprintf(stream, "%s seed %llu begun %ld\n", campaign->kind->name, (unsigned long long)campaign->seed,
            campaign->begun);
    for (size_t i = 0; i < CLASS_COUNT; i++) {
        const struct tally *t = &campaign->tallies[i];

        fprintf(stream, "%ld %ld %ld %ld %ld %ld %s\n", t->tried, t->caught, t->harmless, t->missed, t->unfitting,
                t->false_alarms, class_name(i));
    }
    fprintf(stream, "%s", campaign->complaints.data ? campaign->complaints.data : "");
    cr_assert(eq(int, fclose(stream), 0));
    cr_assert(eq(int, rename(aside, path), 0));
}

/* What was tried before; nothing where there is no such file. */
static void read_ledger(struct campaign *campaign, const char *path)
{
    FILE *stream = fopen(path, "r");
    unsigned long long seed;
    char name[64], line[1024];

    if (!stream)
        return;
    cr_assert(eq(int, fscanf(stream, "%63s seed %llu begun %ld\n", name, &seed, &campaign->begun), 3), "%s", path);
    cr_assert(strcmp(name, campaign->kind->name) == 0 && seed == campaign->seed, "%s is another campaign's", path);
    for (size_t i = 0; i < CLASS_COUNT; i++) {
        struct tally *t = &campaign->tallies[i];

        cr_assert(eq(int,
                     fscanf(stream, "%ld %ld %ld %ld %ld %ld %63[^\n]\n", &t->tried, &t->caught, &t->harmless,
                            &t->missed, &t->unfitting, &t->false_alarms, name),
                     7));
        cr_assert(strcmp(name, class_name(i)) == 0, "%s tells of other ways of damage", path);
    }
    while (fgets(line, sizeof line, stream))
        tw_text_append(&campaign->complaints, line, strlen(line));
    fclose(stream);
}

/* A batch at a time, so that nothing in the ledger is half done. */
static void run(struct campaign *campaign)
{
    const char *ledger = getenv("FAULTS_LEDGER");
    bool helped = setting("FAULTS_WORKERS", 2) > 1;
    pthread_t helper;

    if (ledger)
        read_ledger(campaign, ledger);
    for (long left; (left = campaign->tries - tried(campaign)) > 0;) {
        atomic_store(&campaign->next, campaign->begun);
        campaign->batch_end = campaign->begun + (left < BATCH ? left : BATCH);
        if (helped)
            cr_assert(eq(int, pthread_create(&helper, NULL, work, campaign), 0));
        work(campaign);
        if (helped)
            pthread_join(helper, NULL);
        campaign->begun = campaign->batch_end;
        if (ledger)
            write_ledger(campaign, ledger);
    }
}

/* ---- the campaign ---- */

/* Roughed on both sides before either is finished: two programs a side. */
static void in_turns(struct tw_job *job)
{
    job->order = TW_ORDER_ROUGH_THEN_FINISH;
}

/* One program a side for several parts that wear the wheel by more than a layer, so that each is ground lower than the one before. */
static void worn(struct tw_job *job)
{
    sample_shallow(job);
    job->wheel.grinding_ratio = job->wheel.grinding_ratio_least = job->wheel.grinding_ratio_most = 20.0;
    job->finish.thickness_mm = 0.1;
}

static void add_to_unit(struct good *good, size_t setup, enum tw_side side, enum tw_scope scope)
{
    struct unit *unit = &good->units[side];

    cr_assert(lt(sz, unit->count, JUDGE_CARDS_MOST));
    good->scopes[setup] = scope;
    unit->setups[unit->count++] = setup;
}

/* What its summary calls each program tells what it is for; they stand there in the order in which they are run. */
static void find_units(struct good *good)
{
    json_t *summary = json_loads(good->sample.summary, 0, NULL), *setups = json_object_get(summary, "setups");

    for (int side = 0; side < 2; side++)
        good->units[side] = (struct unit){ .side = (enum tw_side)side };
    for (size_t i = 0; i < good->sample.plan.setup_count; i++) {
        const json_t *setup = json_array_get(setups, i);
        const char *name = json_string_value(json_object_get(setup, "program"));

        for (int side = 0; side < 2; side++)
            for (int scope = TW_SCOPE_WHOLE; scope <= TW_SCOPE_RELIEF; scope++)
                if (strcmp(name, usual_name((enum tw_side)side, (enum tw_scope)scope)) == 0)
                    add_to_unit(good, i, (enum tw_side)side, (enum tw_scope)scope);
    }
    cr_assert(eq(sz, good->units[0].count + good->units[1].count, good->sample.plan.setup_count));
    json_decref(summary);
}

/* The longer the programs, the longer a proof takes. */
static size_t tickets_of(const struct good *good)
{
    size_t bytes = 0;

    for (size_t i = 0; i < good->sample.plan.setup_count; i++)
        bytes += strlen(good->sample.programs[i]);
    return bytes < 20000 ? 5 : bytes < 35000 ? 3 : bytes < 60000 ? 2 : 1;
}

static unsigned cards_of(const struct good *good)
{
    const struct tw_job *job = &good->sample.job;
    unsigned cards = (job->parts > 1 ? CARDS_STATIONS : 0) | (job->survey.count > 0 ? CARDS_SURVEYED : 0);

    for (size_t i = 0; i < good->sample.plan.setup_count; i++)
        cards |= good->scopes[i] == TW_SCOPE_RELIEF                                        ? CARDS_RELIEF
                 : good->scopes[i] == TW_SCOPE_ROUGH || good->scopes[i] == TW_SCOPE_FINISH ? CARDS_TURNS
                                                                                           : 0u;
    return cards ? cards : CARDS_PLAIN;
}

/* Planned as it stands: `make planned-samples` has done so. */
static void open_good(struct campaign *campaign, const char *name, void (*change)(struct tw_job *job), bool planned)
{
    size_t number = campaign->good_count;
    struct good *good = &campaign->goods[number];
    const char *last = strrchr(name, '/') ? strrchr(name, '/') + 1 : name;
    char folder[48];

    *good = (struct good){ 0 };
    snprintf(good->name, sizeof good->name, "%.47s%s", last, change == in_turns ? " in turns" : change ? " worn" : "");
    snprintf(folder, sizeof folder, "%.47s", name);
    if (planned)
        sample_read(&good->sample, folder);
    else
        sample_open_with(&good->sample, folder, change);
    good->as_read = good->sample.job;
    /* Planned for a band of blanks; damages are tried on one as stated, which takes a third of the time. */
    good->sample.job.taper.band_mm = 0.0;
    /* Without the reserve of energy one history of the heat will do, and its limits are missed more easily. */
    good->sample.job.wheel.calibrated = good->sample.job.relief_wheel.calibrated = true;
    /* In cells so coarse a force comes out some percent higher than it is; no damage shall be called after that. */
    good->sample.job.fixture.friction *= 1.06;
    find_units(good);
    good->cards = cards_of(good);
    if (!(good->cards & campaign->kind->cards)) {
        sample_close(&good->sample);
        return;
    }
    campaign->good_count++;
    for (size_t i = tickets_of(good); i > 0; i--)
        campaign->tickets[campaign->ticket_count++] = number;
}

static void open_goods(struct campaign *campaign, struct good *goods)
{
    struct criterion_test_params names = sample_names();
    const struct sample_name *name = names.params;

    campaign->goods = goods;
    for (size_t i = 0; i < names.length; i++)
        if (!SANITIZED || i % 3 == 1)
            open_good(campaign, name[i].text, NULL, true);
    if (!SANITIZED && campaign->kind->cards & CARDS_TURNS) {
        open_good(campaign, "santoku-170", in_turns, false);
        open_good(campaign, "petty-130", in_turns, false);
    }
    if (!SANITIZED && campaign->kind->cards & CARDS_STATIONS)
        open_good(campaign, "utility-four", worn, false);
    if (!SANITIZED && campaign->kind->cards & CARDS_SURVEYED)
        open_good(campaign, "../tests/faults/leaning", NULL, false);
}

static void close_goods(struct campaign *campaign)
{
    for (size_t i = 0; i < campaign->good_count; i++) {
        free(campaign->goods[i].units[0].norm.surface_mm);
        free(campaign->goods[i].units[1].norm.surface_mm);
        sample_close(&campaign->goods[i].sample);
    }
}

static struct tally print_table(const struct campaign *campaign)
{
    struct tally sum = { 0 };

    fprintf(stderr, "%-30s %7s %7s %9s %7s %7s %7s\n", "class", "tried", "refused", "harmless", "missed", "misfit",
            "alarms");
    for (size_t i = 0; i <= CLASS_COUNT; i++) {
        const struct tally *t = i < CLASS_COUNT ? &campaign->tallies[i] : &sum;

        fprintf(stderr, "%-30s %7ld %7ld %9ld %7ld %7ld %7ld\n", i < CLASS_COUNT ? class_name(i) : "all", t->tried,
                t->caught, t->harmless, t->missed, t->unfitting, t->false_alarms);
        if (i == CLASS_COUNT)
            break;
        sum.tried += t->tried;
        sum.caught += t->caught;
        sum.harmless += t->harmless;
        sum.missed += t->missed;
        sum.unfitting += t->unfitting;
        sum.false_alarms += t->false_alarms;
    }
    return sum;
}

/* ---- good programs written in another way ---- */

static bool rewrite_one(const struct campaign *campaign, const struct good *good, const struct unit *unit,
                        const struct rewriter *rewriter, struct mutant *m)
{
    struct tw_card cards[JUDGE_CARDS_MOST];
    struct tw_text texts[JUDGE_CARDS_MOST] = { 0 };
    struct answer answer;
    bool done = unit->count > 0;

    for (size_t i = 0; i < unit->count; i++) {
        reset(m, good, unit, i, campaign->seed + i);
        done &= rewriter->rewrite(m);
        join_rewritten(m, rewriter, &texts[i]);
        cards[i] = (struct tw_card){ m->file_name, texts[i].data, texts[i].length };
    }
    if (done) {
        answer = prove_cards(&m->job, cards, unit->count, CELL_MM);
        if (!answer.cut) /* coarse cells find a plan that goes up to a limit a hair beyond it: as a maker asks */
            answer = prove_cards(&m->job, cards, unit->count, 0.0);
        if (!answer.cut) {
            fprintf(stderr, "  false alarm: %s, %s, side %d, failed checks:", rewriter->name, good->name, unit->side);
            for (int i = 0; i < TW_CHECK_COUNT; i++)
                if (answer.failed >> i & 1u)
                    fprintf(stderr, " %s", tw_check_name((enum tw_check_id)i));
            fprintf(stderr, "%s\n", answer.incomplete ? ", the set is not whole" : "");
            keep(rewriter->name, good, 0, 0, cards, unit->count);
        }
        cr_expect(answer.cut, "%s: %s, side %d", rewriter->name, good->name, unit->side);
    }
    for (size_t i = 0; i < unit->count; i++)
        tw_text_free(&texts[i]);
    return done;
}

/* Counts by the kinds of cards as well: each of them must be there. */
static void rewrite_all(const struct campaign *campaign, long every)
{
    struct mutant *m = mutant_open(5 * most_lines(campaign));
    long number = 0, all = 0, of_kind[8] = { 0 };

    for (size_t r = 0; r < REWRITER_COUNT; r++) {
        long done = 0;

        for (size_t i = 0; i < 2 * campaign->good_count; i++) {
            const struct good *good = &campaign->goods[i / 2];

            if (number++ % every != 0 || !rewrite_one(campaign, good, &good->units[i % 2], &rewriters[r], m))
                continue;
            done++;
            for (int bit = 0; bit < 5; bit++)
                of_kind[bit] += good->cards >> bit & 1u;
        }
        fprintf(stderr, "%-40s %5ld\n", rewriters[r].name, done);
        all += done;
    }
    fprintf(stderr, "%-40s %5ld: plain %ld, relief %ld, in turns %ld, several stations %ld, surveyed %ld\n", "all", all,
            of_kind[0], of_kind[1], of_kind[2], of_kind[3], of_kind[4]);
    mutant_close(m);
}

static const struct kind *kind_of(const char *name)
{
    for (size_t i = 0; name && i < sizeof kinds / sizeof *kinds; i++)
        if (strcmp(kinds[i].name, name) == 0)
            return &kinds[i];
    cr_assert(name == NULL, "FAULTS_CARDS: %s is no kind of programs", name);
    return &kinds[1];
}

/* ---- the judge's own eyes ---- */

static void read_text(const char *text, struct reading *out)
{
    *out = (struct reading){ .dwell_letter = 'P', .dwell_s = 1.0 };
    out->origins_mm[1][0] = 100.0; /* of G55 */
    cr_assert(reading_text(out, text, strlen(text)), "%s", text);
}

/* From (0, 0) to (10, 10) clockwise about (10, 0), told by its radius, and back to (0, 0) the other way about that place, told by
 * where it lies from the start. In the ZX plane a quarter about Z = 5 turns from +Z to +X by G3. */
Test(faults, the_judge_reads_arcs)
{
    static const char text[] = "g21 g90 g17 (a comment)\nG0X0Y0Z0\nN7 G2 X10 Y10. R10\nG3 X0 Y0 I0 J-10\nG18 G0 Z10\n"
                               "G3 X5 Z5 K-5\nM2\n";
    struct reading path;

    read_text(text, &path);
    cr_assert(eq(sz, path.count, 2 + 3 * READING_CHORDS));
    for (size_t i = 1; i <= 2 * READING_CHORDS; i++)
        cr_expect(epsilon_eq(dbl, hypot(path.motions[i].to_mm[0] - 10.0, path.motions[i].to_mm[1]), 10.0, 1e-9));
    cr_expect(lt(dbl, path.motions[READING_CHORDS / 2].to_mm[0], 3.0)); /* not round the other way */
    cr_expect(epsilon_eq(dbl, path.motions[2 + 2 * READING_CHORDS + READING_CHORDS / 2].to_mm[2], 5.0 + 5.0 * sqrt(0.5),
                         0.1));
    cr_expect(epsilon_eq(dbl, path.at_mm[0], 5.0, 1e-9));
    cr_expect(epsilon_eq(dbl, path.at_mm[2], 5.0, 1e-9));
    free(path.motions);
}

/* An inch is 25.4 mm; increments count from where it stands; an offset moves where numbers count from, and not the machine; a
 * dwell comes before the motion of its line. What it does not know it does not read. */
Test(faults, the_judge_reads_modes)
{
    static const char *const unknown[] = { "G5 X1\n", "X1 X2\n",         "G1 X1 T1\n", "G1 X[1+1]\n",
                                           "(open\n", "G53 G91 G0 X1\n", "M6\n" };
    struct reading path;

    read_text("%\nG20 G90 G0 X1\nG91 G1 X.5 F1\nG90 G21 G55 Y2\nX3\nS100 M3\nG4 P2 G0 Z1\nM5\nM30\n%\n", &path);
    cr_assert(eq(sz, path.count, 5));
    cr_expect(epsilon_eq(dbl, path.motions[0].to_mm[0], 25.4, 1e-9));
    cr_expect(path.motions[0].rapid && !path.motions[2].rapid);
    cr_expect(epsilon_eq(dbl, path.motions[1].to_mm[0], 38.1, 1e-9));
    cr_expect(epsilon_eq(dbl, path.motions[3].to_mm[0], 103.0, 1e-9));
    cr_expect(path.motions[4].waited_s == 2.0 && path.motions[4].modes.spindle == 3);
    cr_expect(path.ended && path.modes.spindle == 5 && !path.modes.inch);
    free(path.motions);
    for (size_t i = 0; i < sizeof unknown / sizeof *unknown; i++) {
        path = (struct reading){ .dwell_letter = 'P', .dwell_s = 1.0 };
        cr_expect(not(reading_text(&path, unknown[i], strlen(unknown[i]))), "%s", unknown[i]);
        free(path.motions);
    }
}

static double left_mm(const struct cutting_body *body, const double way_mm[6], double x_mm, double y_mm)
{
    static struct tw_point corners[4] = { { -40, -40 }, { 90, -40 }, { 90, 40 }, { -40, 40 } };
    const struct tw_ring plate = { corners, 4 };
    const double top_mm = 7.0;
    struct cutting_grid grid;
    struct cutting_found found;
    double left;

    cutting_open(-41.0, -41.0, 91.0, 41.0, 0.25, &grid);
    cutting_raise(&grid, &plate, 1, judge_even_mm, &top_mm);
    cutting_refresh(&grid);
    found = cutting_drive(&grid, body, way_mm, way_mm + 3, true);
    left = (double)grid.high_mm[(int)((y_mm + 41.0) / 0.25) * grid.columns + (int)((x_mm + 41.0) / 0.25)];
    cr_expect(gt(dbl, found.volume_mm3, 0.0));
    cutting_close(&grid);
    return left;
}

/* Heights by hand at a cell's middle. A ring of 10 and 6 mm slid by 3 mm leaves what stays in its hollow. A full circle of 5 mm
 * falling from 2 to 1 over 10 mm reaches x = -2.875 until t = 0.2125, at 2 - t. A cylinder of 100 mm at z = 1 hangs over x = -9.875 by
 * 100 - sqrt(100^2 - 9.875^2); falling by 0.1 a mm it leaves a plane 100 (sqrt(1.01) - 1) below its lowest points. */
Test(faults, the_judge_cuts_by_closed_forms)
{
    struct cutting_body ring = { .cuts = true, .inner_mm = 6.0, .radius_mm = 10.0 },
                        full = { .cuts = true, .radius_mm = 5.0 };
    struct cutting_body disc = { true, true, 0.0, 100.0, 100.0, -10.0, 10.0 };

    cr_expect(epsilon_eq(dbl, left_mm(&ring, (double[]){ 0, 0, 1, 3, 0, 1 }, 1.625, 0.125), 7.0, 1e-6));
    cr_expect(epsilon_eq(dbl, left_mm(&ring, (double[]){ 0, 0, 1, 3, 0, 1 }, -7.875, 0.125), 1.0, 1e-6));
    cr_expect(epsilon_eq(dbl, left_mm(&ring, (double[]){ 0, 0, 1, 3, 0, 1 }, 13.375, 0.125), 7.0, 1e-6));
    cr_expect(epsilon_eq(dbl, left_mm(&ring, (double[]){ 0, 0, 1, 20, 0, 1 }, 10.125, 0.125), 1.0, 1e-6));
    cr_expect(epsilon_eq(dbl, left_mm(&ring, (double[]){ 0, 0, 1, 3, 1e-6, 1 }, 1.625, 0.125), 7.0, 1e-6));
    cr_expect(
        epsilon_eq(dbl, left_mm(&full, (double[]){ 0, 0.125, 2, 10, 0.125, 1 }, -2.875, 0.125), 2.0 - 0.2125, 1e-6));
    cr_expect(epsilon_eq(dbl, left_mm(&full, (double[]){ 0, 0.125, 2, 10, 0.125, 1 }, 12.125, 0.125), 1.0, 1e-6));
    cr_expect(epsilon_eq(dbl, left_mm(&disc, (double[]){ 0, 0, 1, 50, 0, 1 }, -9.875, 0.125),
                         101.0 - sqrt(1e4 - 9.875 * 9.875), 1e-6));
    cr_expect(epsilon_eq(dbl, left_mm(&disc, (double[]){ 0, 0, 6, 50, 0, 1 }, 25.125, 0.125),
                         3.4875 - 100.0 * (sqrt(1.01) - 1.0), 1e-6));
    cr_expect(epsilon_eq(dbl, left_mm(&disc, (double[]){ 0, 0, 1, 50, 0, 1 }, 25.125, 10.125), 7.0, 1e-6));
}

static void not_worn(struct tw_job *job)
{
    worn(job);
    job->wheel.grinding_ratio = job->wheel.grinding_ratio_least = job->wheel.grinding_ratio_most = 0.0;
}

/* Side A of a sample, one program. */
static struct judge_cards side_a_of(const struct sample *sample)
{
    struct judge_cards cards = { .count = 1 };

    cards.cards[0] = (struct judge_card){ sample->programs[0], strlen(sample->programs[0]), TW_SCOPE_WHOLE };
    return cards;
}

/* By V / (G A) each of four parts of some 60 mm3 costs the wheel 5 um and more (test_wear.c has the figures): programs that follow that
 * are good; driven with a wheel that keeps its size the last part is cut too low, and ones that do not follow leave it too high. */
Test(faults, the_judge_wears_one_wheel_by_all_parts, ONLY_IN_RELEASE)
{
    struct sample follows, still;
    struct judge_cards cards;
    struct judge_norm norm = { 0 };

    sample_open_with(&follows, "utility-four", worn);
    sample_open_with(&still, "utility-four", not_worn);
    follows.job.taper.band_mm = still.job.taper.band_mm = 0.0;
    cards = side_a_of(&follows);
    cr_expect(judge_learn(&follows.job, &cards, CELL_MM, &norm));
    cr_expect(judge_harmless(&follows.job, false, &cards, CELL_MM, &norm));
    cr_expect(not(judge_harmless(&still.job, true, &cards, CELL_MM, &norm)), "too low");
    cards = side_a_of(&still);
    cr_expect(judge_harmless(&still.job, true, &cards, CELL_MM, &norm));
    cr_expect(not(judge_harmless(&follows.job, false, &cards, CELL_MM, &norm)), "too high");
    free(norm.surface_mm);
    sample_close(&follows);
    sample_close(&still);
}

Test(faults, damaged_programs_are_refused_or_harmless_and_rewritten_ones_pass, .timeout = 40000, ALSO_IN_RELEASE)
{
    static struct good
        goods[SAMPLES_MOST + 4]; /* and two of them in turns, one that wears its wheel, and a blank that leans */
    struct campaign campaign = { .kind = kind_of(getenv("FAULTS_CARDS")),
                                 .tries = setting("FAULTS_TRIES", SANITIZED ? 30 : 80),
                                 .seed = (uint64_t)setting("FAULTS_SEED", 1),
                                 .lock = PTHREAD_MUTEX_INITIALIZER,
                                 .norms_lock = PTHREAD_MUTEX_INITIALIZER };
    long every = setting("FAULTS_REWRITE", SANITIZED ? 97 : 61);
    struct tally sum;

    open_goods(&campaign, goods);
    if (every > 0)
        rewrite_all(&campaign, every);
    run(&campaign);
    sum = print_table(&campaign);
    if (campaign.complaints.data)
        fprintf(stderr, "%s", campaign.complaints.data);
    cr_expect(eq(long, sum.missed, 0), "damaged programs pass the dry-run");
    cr_expect(eq(long, sum.unfitting, 0), "damaged programs are refused by a check that does not fit");
    cr_expect(eq(long, sum.false_alarms, 0), "programs whose meaning was not changed are refused");
    tw_text_free(&campaign.complaints);
    close_goods(&campaign);
}
