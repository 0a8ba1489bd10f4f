/* join.c - see join.h. */
#include "run/join.h"

#include "base/memory.h"
#include "base/text.h"
#include "run/changes.h"
#include "tangwright/program.h"
#include "tangwright/straight.h"

#include <math.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

static void drop_texts(struct tw_load_joined *joined)
{
    for (size_t i = 0; i < TW_SETUPS_MOST; i++) {
        free(joined->texts[i]);
        free(joined->air_texts[i]);
        free(joined->names[i]);
        free(joined->air_names[i]);
        joined->texts[i] = joined->air_texts[i] = joined->names[i] = joined->air_names[i] = NULL;
    }
    joined->count = joined->air_count = 0;
}

void tw_run_joined_free(struct tw_load_joined *joined)
{
    drop_texts(joined);
    free(joined->why_not);
    tw_job_free(&joined->job);
    *joined = (struct tw_load_joined){ 0 };
}

/* Each blank keeps programs of its own. */
static enum tw_status part_again(struct tw_load_joined *joined, struct tw_findings *findings, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

static enum tw_status part_again(struct tw_load_joined *joined, struct tw_findings *findings, const char *format, ...)
{
    struct tw_text why = { 0 };
    va_list arguments;

    va_start(arguments, format);
    tw_text_vprint(&why, format, arguments);
    va_end(arguments);
    drop_texts(joined);
    free(joined->why_not);
    joined->why_not = tw_text_take(&why);
    return joined->why_not ? TW_OK : tw_no_memory(findings);
}

/* ---- the load's job ---- */

static enum tw_status read_job(const struct tw_run_request *request, const struct tw_run_layout *layout, size_t load,
                               struct tw_job *out, struct tw_findings *findings)
{
    struct tw_run_changes changes;
    enum tw_status status = tw_run_changes_for_load(request, layout, load, &changes, findings);

    if (status == TW_OK)
        status = tw_job_read_with(request->job_path, changes.items, changes.count, out, findings);
    tw_run_changes_free(&changes);
    return status;
}

/* What is wrong with it is no fault of any blank's own job. Frees `said`. */
static enum tw_status note_fault(struct tw_load_joined *joined, struct tw_findings *said, struct tw_findings *findings)
{
    enum tw_status status;
    size_t i = 0;

    while (i + 1 < said->count && said->items[i].status == TW_OK)
        i++;
    status =
        part_again(joined, findings, "%s", said->count > 0 ? said->items[i].text : "their jobs do not go together");
    tw_findings_free(said);
    return status;
}

/* ---- each blank planned as if all stations held it ---- */

/* The wheel then goes round the stations, and the blanks cool while it is at the others. */
struct round {
    struct tw_job jobs[TW_RUN_STATIONS_MOST]; /* shallow copies of the load's, but for what the survey comes to */
    struct tw_straight straights[TW_RUN_STATIONS_MOST];
    struct tw_plan plans[TW_RUN_STATIONS_MOST];
    size_t count;
};

static void close_round(struct round *round)
{
    for (size_t i = 0; i < round->count; i++) {
        tw_plan_free(&round->plans[i]);
        if (round->jobs[i].straight)
            tw_straight_free(&round->straights[i]);
    }
    free(round);
}

/* The load's job with this blank on every station. Its own job, of the blank alone, has the sizes. */
static enum tw_status narrow(const struct tw_job *load, const struct tw_job *alone, size_t place, struct tw_job *out,
                             struct tw_straight *straight, struct tw_findings *findings)
{
    *out = *load;
    out->taper = alone->taper;
    out->order = alone->order;
    out->heights = TW_HEIGHTS_SHARED;
    out->blank_count = 0;
    out->survey = load->blanks[place].survey;
    if (out->survey.count == 0)
        return TW_OK;
    out->straight = straight;
    return tw_straighten(out, straight, findings);
}

/* Nothing that is said of it counts: where it cannot be, the blanks are ground in turn. */
static enum tw_status open_round(const struct tw_load_plan *plan, struct round *round)
{
    struct tw_findings said = { 0 };
    enum tw_status status = TW_OK;

    while (status == TW_OK && round->count < plan->count) {
        size_t i = round->count++;

        status = narrow(&plan->joined.job, &plan->parts[i].job, i, &round->jobs[i], &round->straights[i], &said);
        if (status == TW_OK)
            status = tw_plan_make(&round->jobs[i], &round->plans[i], &said);
    }
    tw_findings_free(&said);
    return status;
}

/* ---- the texts ---- */

/* The blanks as they are to be joined: as they were planned alone, or for the round. */
static void list_blanks(const struct tw_load_plan *plan, const struct round *round, struct tw_program_blank *out)
{
    for (size_t i = 0; i < plan->count; i++)
        out[i] = round ? (struct tw_program_blank){ &round->jobs[i], &round->plans[i] }
                       : (struct tw_program_blank){ &plan->parts[i].job, &plan->parts[i].proven.plan };
}

static bool have_same_programs(const struct tw_plan *one, const struct tw_plan *other)
{
    bool same = one->setup_count == other->setup_count;

    for (size_t k = 0; same && k < one->setup_count; k++)
        same = one->setups[k].face.side == other->setups[k].face.side && one->setups[k].scope == other->setups[k].scope;
    return same;
}

/* One program cannot stop in one blank's plan for the wheel to be dressed: the others count on it as it is. */
static bool is_dressed(const struct tw_plan *plan)
{
    for (size_t k = 0; k < plan->setup_count; k++)
        if (plan->setups[k].ledger.stops > 0)
            return true;
    return false;
}

static const char *obstacle(const struct tw_program_blank *blanks, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        if (!have_same_programs(blanks[0].plan, blanks[i].plan))
            return "they do not all take the same programs in the same order";
        if (is_dressed(blanks[i].plan))
            return "the wheel has to be dressed on the way";
    }
    return NULL;
}

/* What does for all of them; 0: one of them has no room. */
static double lift_mm(const struct tw_program_blank *blanks, size_t count)
{
    double usual_mm = 0.0, most_mm = HUGE_VAL;

    for (size_t i = 0; i < count; i++) {
        struct tw_lift_range range = tw_program_lift_range(blanks[i].job, blanks[i].plan);

        if (range.usual_mm == 0.0)
            return 0.0;
        usual_mm = fmax(usual_mm, range.usual_mm);
        most_mm = fmin(most_mm, range.most_mm);
    }
    return usual_mm <= most_mm ? usual_mm : 0.0;
}

/* The plans that name the programs go before the programs do. */
static enum tw_status write_text(const struct tw_load_joined *joined, const struct tw_program_blank *blanks,
                                 size_t index, double lift, char **text, char **name, struct tw_findings *findings)
{
    const struct tw_setup_plan *setup = &blanks[0].plan->setups[index];
    enum tw_status status = tw_program_of_load(&joined->job, blanks, index, lift, text, findings);

    if (status != TW_OK)
        return status;
    *name = tw_copy_string(lift > 0.0 ? setup->air_file_name : setup->file_name);
    if (*name)
        return TW_OK;
    free(*text);
    *text = NULL;
    return tw_no_memory(findings);
}

static enum tw_status write_texts(struct tw_load_joined *joined, const struct tw_program_blank *blanks, double lift,
                                  struct tw_findings *findings)
{
    char **texts = lift > 0.0 ? joined->air_texts : joined->texts;
    char **names = lift > 0.0 ? joined->air_names : joined->names;
    struct tw_card *cards = lift > 0.0 ? joined->air_cards : joined->cards;
    size_t *count = lift > 0.0 ? &joined->air_count : &joined->count;
    enum tw_status status = TW_OK;

    while (status == TW_OK && *count < blanks[0].plan->setup_count) {
        status = write_text(joined, blanks, *count, lift, &texts[*count], &names[*count], findings);
        if (status == TW_OK) {
            double begins_mm3;

            joined->dresses[*count] = tw_program_load_dresses(&joined->job, blanks, *count, &begins_mm3);
            cards[*count] = (struct tw_card){ names[*count], texts[*count], strlen(texts[*count]) };
            ++*count;
        }
    }
    return status;
}

/* ---- the proof ---- */

/* The first check that a program fails; NULL: none, and the verdict has a reason of its own. */
static const struct tw_check *failed_check(const struct tw_verdict *verdict, size_t *program, enum tw_check_id *id)
{
    for (*program = 0; *program < verdict->count; ++*program)
        for (int k = 0; k < TW_CHECK_COUNT; k++) {
            const struct tw_check *check = &verdict->proofs[*program].checks[k];

            *id = (enum tw_check_id)k;
            if (check->asked && check->failed)
                return check;
        }
    return NULL;
}

static enum tw_status note_failure(const struct tw_verdict *verdict, struct tw_load_joined *joined,
                                   struct tw_findings *findings)
{
    enum tw_check_id id;
    size_t program;
    const struct tw_check *check = failed_check(verdict, &program, &id);

    if (!check)
        return part_again(joined, findings, "%s", verdict->reasons[0]);
    return part_again(joined, findings,
                      "in one program for all of them the check \"%s\" of %s fails: %.4g %s where "
                      "%.4g %s is allowed",
                      tw_check_name(id), verdict->proofs[program].name, check->amount, check->unit, check->limit,
                      check->unit);
}

static enum tw_status prove(struct tw_load_joined *joined, struct tw_findings *findings)
{
    struct tw_verdict verdict;
    struct tw_findings said = { 0 };
    enum tw_status status = tw_verdict_make(&joined->job, joined->cards, joined->count, 0.0, &verdict, &said);

    if (status == TW_NO_PLAN)
        status = part_again(joined, findings, "one program for all of them takes too long to prove");
    else if (status != TW_OK)
        tw_findings_append(findings, &said);
    tw_findings_free(&said);
    if (status != TW_OK || joined->count == 0)
        return status;
    for (size_t i = 0; i < joined->count; i++)
        joined->cycle_s[i] = verdict.proofs[i].cycle_time_s;
    joined->reserve_degC = verdict.reserve_degC;
    if (!verdict.cut) {
        status = note_failure(&verdict, joined, findings);
    } else {
        free(joined->why_not); /* of what was tried before */
        joined->why_not = NULL;
    }
    tw_verdict_free(&verdict);
    return status;
}

/* The programs for all blanks, with those for the air, where they pass. */
static enum tw_status try_joining(struct tw_load_plan *plan, const struct round *round, struct tw_findings *findings)
{
    struct tw_load_joined *joined = &plan->joined;
    struct tw_program_blank blanks[TW_RUN_STATIONS_MOST];
    const char *why_not;
    double lift;
    enum tw_status status;

    list_blanks(plan, round, blanks);
    why_not = obstacle(blanks, plan->count);
    if (why_not)
        return part_again(joined, findings, "%s", why_not);
    status = write_texts(joined, blanks, 0.0, findings);
    if (status == TW_OK)
        status = prove(joined, findings);
    lift = lift_mm(blanks, plan->count);
    if (status == TW_OK && joined->count > 0 && lift > 0.0)
        status = write_texts(joined, blanks, lift, findings);
    return status;
}

/* Whether any blank has to cool on the way: else it is as quick to grind one after the other. */
static bool waits(const struct tw_load_plan *plan)
{
    for (size_t i = 0; i < plan->count; i++)
        for (size_t k = 0; k < plan->parts[i].proven.plan.setup_count; k++)
            if (plan->parts[i].proven.plan.setups[k].dwell_s > 0.0)
                return true;
    return false;
}

static enum tw_status try_round(struct tw_load_plan *plan, struct tw_findings *findings)
{
    struct round *round = calloc(1, sizeof *round); /* too much for a stack */
    enum tw_status status = round ? open_round(plan, round) : TW_NO_MEMORY;

    if (status == TW_OK)
        status = try_joining(plan, round, findings);
    else
        status = status == TW_NO_MEMORY ? tw_no_memory(findings) : TW_OK;
    if (round)
        close_round(round);
    return status;
}

enum tw_status tw_run_join(const struct tw_run_request *request, const struct tw_run_layout *layout, size_t load,
                           struct tw_load_plan *plan, struct tw_findings *findings)
{
    struct tw_load_joined *joined = &plan->joined;
    struct tw_findings said = { 0 };
    enum tw_status status = read_job(request, layout, load, &joined->job, &said);

    if (status == TW_BAD_INPUT)
        return note_fault(joined, &said, findings);
    if (status != TW_OK)
        tw_findings_append(findings, &said);
    tw_findings_free(&said);
    if (status == TW_OK && waits(plan))
        status = try_round(plan, findings);
    if (status == TW_OK && joined->count == 0)
        status = try_joining(plan, NULL, findings);
    return status;
}
