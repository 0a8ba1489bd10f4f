/* run.c - a run of blanks: laid out, planned load by load, each written to a folder of its own. */
#include "cli/verbs.h"

#include "base/file.h"
#include "base/replace.h"
#include "cli/plan_folder.h"
#include "cli/progress.h"
#include "cli/run_record.h"
#include "cli/run_status.h"
#include "cli/run_wheel.h"
#include "cli/run_written.h"
#include "tangwright/report.h"
#include "tangwright/roughed.h"
#include "tangwright/run.h"

#include <stdlib.h>
#include <string.h>

struct running {
    const struct options *options;
    const struct tw_run_request *request;
    const struct tw_run_layout *layout;
    struct tw_run_outcome outcome;
    struct run_notes notes;
    struct tw_load_plan last; /* plan of the load before, for one that is like it */
    size_t last_load;
    struct tw_staged staged; /* with --out: what is written, until all of it takes its place */
    struct tw_findings *findings;
};

static char *path_in(const char *folder, const char *name)
{
    struct tw_text path = { 0 };

    tw_text_print(&path, "%s/%s", folder, name);
    return tw_text_take(&path);
}

/* ---- one load ---- */

/* The programs of a part with the job that they are of; `page` goes with them, or NULL. */
static enum tw_status write_part(struct running *running, size_t load, size_t part, const struct tw_load_part *made,
                                 const char *page)
{
    char name[TW_LOAD_FOLDER_BYTES];
    struct plan_folder folder = { 0 };
    char *path, *job = NULL;
    double lift_mm = 0.0;
    enum tw_status status;

    tw_load_folder(running->layout, load, made->first, name);
    path = path_in(running->staged.folder, name);
    status = path ? tw_staged_make_folder(&running->staged, path, running->findings) : tw_no_memory(running->findings);
    if (status == TW_OK)
        status = tw_load_job_text(running->request, running->layout, load, part, path, &job, running->findings);
    if (status == TW_OK)
        status = plan_folder_choose_lift(&made->job, &made->proven.plan, false, &lift_mm, running->findings);
    if (status == TW_OK)
        status = plan_folder_make(path, &made->job, &made->proven, true, lift_mm, &folder, running->findings);
    if (status == TW_OK)
        status = plan_folder_add(&folder, "job.cfg", job, running->findings);
    if (status == TW_OK && page)
        status = plan_folder_add(&folder, tw_load_page_name(), page, running->findings);
    if (status == TW_OK)
        status = plan_folder_stage(&folder, &running->staged, running->findings);
    if (status == TW_OK)
        status = run_notes_add(&running->notes, name, (int)tw_run_load_number(running->layout, load),
                               made->proven.cards, made->proven.count, made->job.digest, running->findings);
    plan_folder_free(&folder);
    free(job);
    free(path);
    return status;
}

static enum tw_status write_page(struct running *running, const char *folder, const char *name, const char *page)
{
    struct tw_text where = { 0 };
    struct tw_new_file file = { .data = page, .length = strlen(page) };
    enum tw_status status;

    tw_text_print(&where, "%s%s%s/%s", running->staged.folder, *folder ? "/" : "", folder, name);
    if (where.failed) {
        tw_text_free(&where);
        return tw_no_memory(running->findings);
    }
    file.path = where.data;
    status = tw_staged_add(&running->staged, &file, running->findings);
    tw_text_free(&where);
    return status;
}

static enum tw_status add_cards(struct plan_folder *folder, const struct tw_card *cards, size_t count,
                                struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < count; i++)
        status = plan_folder_add(folder, cards[i].name, cards[i].text, findings);
    return status;
}

static char *list_of(const struct tw_load_joined *joined)
{
    struct tw_card cards[2 * TW_SETUPS_MOST];

    memcpy(cards, joined->cards, joined->count * sizeof *cards);
    memcpy(cards + joined->count, joined->air_cards, joined->air_count * sizeof *cards);
    return card_set_list(&joined->job, cards, joined->count + joined->air_count);
}

/* The programs for all blanks of a load, with their job. */
static enum tw_status write_joined(struct running *running, size_t load, const struct tw_load_joined *joined,
                                   const char *page)
{
    struct tw_findings *findings = running->findings;
    struct plan_folder folder = { .job = &joined->job };
    char name[TW_LOAD_FOLDER_BYTES];
    char *path, *list = list_of(joined), *job = NULL;
    enum tw_status status;

    tw_load_own_folder(running->layout, load, name);
    folder.folder = path = path_in(running->staged.folder, name);
    status = path && list ? tw_staged_make_folder(&running->staged, path, findings) : tw_no_memory(findings);
    if (status == TW_OK)
        status = tw_load_joined_job_text(running->request, running->layout, load, path, &job, findings);
    if (status == TW_OK)
        status = add_cards(&folder, joined->cards, joined->count, findings);
    if (status == TW_OK)
        status = add_cards(&folder, joined->air_cards, joined->air_count, findings);
    if (status == TW_OK)
        status = plan_folder_add(&folder, card_set_list_name(), list, findings);
    if (status == TW_OK)
        status = plan_folder_add(&folder, "job.cfg", job, findings);
    if (status == TW_OK)
        status = plan_folder_add(&folder, tw_load_page_name(), page, findings);
    if (status == TW_OK)
        status = plan_folder_stage(&folder, &running->staged, findings);
    if (status == TW_OK)
        status = run_notes_add(&running->notes, name, (int)tw_run_load_number(running->layout, load), joined->cards,
                               joined->count, joined->job.digest, findings);
    plan_folder_free(&folder);
    free(list);
    free(job);
    free(path);
    return status;
}

static enum tw_status write_load(struct running *running, size_t load, const struct tw_load_plan *plan)
{
    bool apart = running->layout->loads[load].apart;
    char folder[TW_LOAD_FOLDER_BYTES];
    char *page = NULL;
    enum tw_status status = tw_load_html(&running->outcome, load, plan, &page, running->findings);

    for (size_t i = 0; status == TW_OK && i < plan->count; i++)
        status = write_part(running, load, i, &plan->parts[i], apart ? NULL : page);
    if (status == TW_OK && plan->joined.count > 0)
        status = write_joined(running, load, &plan->joined, page);
    if (status == TW_OK && apart && plan->joined.count == 0) {
        tw_load_own_folder(running->layout, load, folder);
        status = write_page(running, folder, tw_load_page_name(), page);
    }
    free(page);
    return status;
}

/* Into running->last, from the one that is there where both loads are alike. */
static enum tw_status make_load(struct running *running, size_t load, struct tw_findings *said)
{
    bool alike = false;
    enum tw_status status = TW_OK;

    if (running->last.count > 0)
        status = tw_load_take_over(running->request, running->layout, running->last_load, load, &running->last, &alike,
                                   said);
    if (status == TW_OK && !alike) {
        tw_load_free(&running->last);
        status = tw_load_make(running->request, running->layout, load, &running->last, said);
    }
    running->last_load = load;
    return status;
}

/* A load that cannot be planned says why, and the others go on. */
static enum tw_status run_load(struct running *running, size_t load)
{
    struct tw_findings said = { 0 };
    struct progress progress;
    char doing[64];
    enum tw_status status;

    snprintf(doing, sizeof doing, "planning load %zu of %zu", load + 1, running->layout->load_count);
    progress_begin(&progress, doing);
    status = make_load(running, load, &said);
    progress_end(&progress);
    if (status == TW_NO_PLAN) {
        status = tw_run_note_refusal(&running->outcome, load, &said, running->findings);
    } else if (status == TW_OK) {
        status = tw_run_note_plan(&running->outcome, load, &running->last, running->findings);
        if (status == TW_OK && running->options->out)
            status = write_load(running, load, &running->last);
        tw_findings_append(running->findings, &said);
    } else {
        tw_findings_append(running->findings, &said);
    }
    tw_findings_free(&said);
    return status;
}

/* ---- what an older run left ---- */

static bool is_written(const struct running *running, const char *folder)
{
    const struct tw_run_layout *layout = running->layout;
    char name[TW_LOAD_FOLDER_BYTES];

    for (size_t load = 0; load < layout->load_count; load++) {
        tw_load_own_folder(layout, load, name);
        if (running->outcome.loads[load].joined && strcmp(name, folder) == 0)
            return true;
        for (size_t place = 0; !running->outcome.loads[load].refusal && place < layout->loads[load].count; place++) {
            tw_load_folder(layout, load, place, name);
            if (strcmp(name, folder) == 0)
                return true;
        }
    }
    return false;
}

static bool is_ground(const struct run_record *record, long load)
{
    for (size_t i = 0; i < record->state.load_count; i++)
        if (record->state.loads[i].load == load)
            return record->state.loads[i].state >= TW_LOAD_GROUND;
    return false;
}

static enum tw_status look_for_older(struct running *running, const struct run_record *record, const char *folder)
{
    struct tw_text list = { 0 };

    if (is_written(running, folder) || is_ground(record, strtol(folder + strlen("load-"), NULL, 10)))
        return TW_OK;
    tw_text_print(&list, "%s/%s/%s", running->options->out, folder, card_set_list_name());
    if (!list.failed && tw_file_own(list.data) == TW_OWN_LIST)
        tw_remark(
            running->findings, (struct tw_place){ .file = running->options->out },
            "%s holds programs of an older run, which this one does not have: remove them, so that nobody runs them",
            folder);
    tw_text_free(&list);
    return list.failed ? tw_no_memory(running->findings) : TW_OK;
}

/* As far as an earlier run of more blanks can have come. */
static enum tw_status remark_older(struct running *running, const struct run_record *record)
{
    enum tw_status status = TW_OK;
    char folder[TW_LOAD_FOLDER_BYTES];

    for (int load = 1; status == TW_OK && load <= TW_RUN_BLANKS_MOST; load++) {
        snprintf(folder, sizeof folder, "load-%02d", load);
        status = look_for_older(running, record, folder);
        for (int station = 1; status == TW_OK && station <= TW_RUN_STATIONS_MOST; station++) {
            snprintf(folder, sizeof folder, "load-%02d/station-%d", load, station);
            status = look_for_older(running, record, folder);
        }
    }
    return status;
}

/* ---- all loads ---- */

static enum tw_status show(struct running *running)
{
    char *table = NULL, *json = NULL, *page = NULL;
    enum tw_status status = tw_run_table(&running->outcome, &table, running->findings);

    if (status == TW_OK && running->options->json)
        status = tw_run_json(&running->outcome, &json, running->findings);
    if (status == TW_OK && running->options->out) {
        status = tw_run_html(&running->outcome, &page, running->findings);
        if (status == TW_OK)
            status = write_page(running, "", tw_run_page_name(), page);
        free(page);
    }
    return verb_show(running->options, status, table, json, running->findings);
}

static void tell_where(const struct running *running)
{
    if (verb_is_output(running->options->json))
        return;
    verb_print("\nwritten to ");
    verb_print(running->options->out);
    verb_print(running->layout->load_count > 0 ? ": run.html, and a folder for each load; its page is load.html\n"
                                               : ": run.html; no load is left to grind, so there are no programs\n");
}

/* Only of a run that is looked at: whoever writes it has chosen. */
static enum tw_status try_stations(struct running *running)
{
    size_t most = running->layout->job.fixture.station_count;
    enum tw_status status = TW_OK;

    for (size_t stations = 1; status == TW_OK && most > 1 && stations <= most; stations++) {
        struct progress progress;

        progress_begin(&progress, "trying other numbers of stations");
        status = tw_run_try_stations(&running->outcome, stations, running->findings);
        progress_end(&progress);
    }
    return status;
}

/* Nothing at all that can be ground is no plan. */
static enum tw_status verdict(const struct running *running)
{
    const char *path = running->request->path;

    if (tw_run_sum_of(&running->outcome).blanks > 0 || running->layout->before > 0)
        return TW_OK;
    return tw_fail(running->findings, TW_NO_PLAN, (struct tw_place){ .file = path },
                   "none of its blanks can be ground as it says; the reasons stand above");
}

/* Whatever fails on the way, or cuts it off, folder and record stay as they were or become what was planned. */
static enum tw_status plan_all(struct running *running, const struct run_record *record)
{
    const char *out = running->options->out;
    enum tw_status status = TW_OK;

    for (size_t load = 0; status == TW_OK && load < running->layout->load_count; load++)
        status = run_load(running, load);
    if (status == TW_OK && !out)
        status = try_stations(running);
    if (status == TW_OK)
        status = show(running);
    if (status == TW_OK && out)
        status =
            run_written_record(record, &running->outcome, &running->notes, out, &running->staged, running->findings);
    if (status == TW_OK && out)
        tell_where(running);
    if (status == TW_OK && out)
        status = remark_older(running, record);
    return status == TW_OK ? verdict(running) : status;
}

static enum tw_status run_all(const struct options *options, const struct tw_run_request *request,
                              const struct tw_run_layout *layout, const struct run_record *record,
                              struct tw_findings *findings)
{
    struct running running = { .options = options, .request = request, .layout = layout, .findings = findings };
    enum tw_status status = options->out ? tw_staged_open(options->out, &running.staged, findings) : TW_OK;

    if (status != TW_OK)
        return status;
    status = tw_run_outcome_open(request, layout, &running.outcome, findings);
    if (status == TW_OK)
        status = plan_all(&running, record);
    if (options->out)
        tw_staged_close(&running.staged);
    tw_load_free(&running.last);
    run_notes_free(&running.notes);
    tw_run_outcome_free(&running.outcome);
    return status;
}

/* ---- the record ---- */

static enum tw_status need_record(const struct run_record *record, const char *run_path, struct tw_findings *findings)
{
    if (record->record)
        return TW_OK;
    return tw_fail(findings, TW_BAD_INPUT, (struct tw_place){ .file = run_path },
                   "has no record yet: it is begun when the run is planned into a folder, with --out DIR");
}

static enum tw_status read_load(const char *option, const char *word, int *load, struct tw_findings *findings)
{
    char *end;
    long number = strtol(word, &end, 10);

    if (*end || number < 1 || number > TW_RUN_BLANKS_MOST)
        return tw_fail(findings, TW_BAD_USAGE, (struct tw_place){ .key = option },
                       "%s is no number of a load; say for example %s 3", word, option);
    *load = (int)number;
    return TW_OK;
}

static enum tw_status read_again(struct run_record *record, struct tw_findings *findings)
{
    tw_record_state_free(&record->state);
    return tw_record_read(record->record, &record->state, findings);
}

/* Loads are ground in their order; who leaves some out may have mistyped the number. */
static void remark_left_out(const struct options *options, const struct run_record *record, int load,
                            struct tw_findings *findings)
{
    for (size_t i = 0; i < record->state.load_count; i++) {
        const struct tw_record_load *other = &record->state.loads[i];

        if (other->load >= load || other->state >= TW_LOAD_GROUND)
            continue;
        tw_remark(
            findings, (struct tw_place){ .file = options->operands[0] },
            "load %d is noted as ground, and load %d before it is not; if that is a slip, take it back: tangwright "
            "run %s --not-done %d",
            load, other->load, options->operands[0], load);
        return;
    }
}

static enum tw_status note_ground(const struct options *options, struct run_record *record,
                                  struct tw_findings *findings)
{
    int load;
    enum tw_status status = need_record(record, options->operands[0], findings);

    if (status == TW_OK)
        status = read_load("--done", options->done, &load, findings);
    if (status == TW_OK)
        status = tw_record_ground(record->record, load, findings);
    if (status == TW_OK)
        status = read_again(record, findings);
    if (status == TW_OK)
        remark_left_out(options, record, load, findings);
    return status;
}

static enum tw_status note_not_ground(const struct options *options, struct run_record *record,
                                      struct tw_findings *findings)
{
    int load;
    enum tw_status status = need_record(record, options->operands[0], findings);

    if (status == TW_OK)
        status = read_load("--not-done", options->not_done, &load, findings);
    if (status == TW_OK)
        status = tw_record_not_ground(record->record, load, findings);
    return status == TW_OK ? read_again(record, findings) : status;
}

/* What parts measured so far is weighed anew: the wheel is as it was when it came from the dressing before. */
static enum tw_status note_dressed(const struct options *options, const struct tw_run_request *request,
                                   struct run_record *record, struct tw_findings *findings)
{
    int load;
    enum tw_status status = need_record(record, options->operands[0], findings);

    if (status == TW_OK)
        status = read_load("--dressed", options->dressed, &load, findings);
    if (status == TW_OK)
        status = tw_record_dressed(record->record, load, tw_roughed_stop_name(TW_ROUGHED_OTHER_WHEEL), findings);
    if (status == TW_OK)
        status = read_again(record, findings);
    if (status == TW_OK && record->state.reading_count > 0)
        status = verb_gauge_anew(options, request, findings);
    return status == TW_OK ? read_again(record, findings) : status;
}

/* What was voided by it of a load that lies roughed stays so: the parts are measured again. */
static void remark_voided(const struct run_record *record, const char *path, int load, struct tw_findings *findings)
{
    for (size_t i = 0; i < record->state.roughed_count; i++)
        if (record->state.roughed[i].load == load &&
            tw_roughed_stop_named(record->state.roughed[i].stop) == TW_ROUGHED_OTHER_WHEEL) {
            tw_remark(findings, (struct tw_place){ .file = path },
                      "what the roughed parts of load %d were off by was dropped when the wheel was noted as dressed, "
                      "and stays "
                      "so: measure them again",
                      load);
            return;
        }
}

static enum tw_status note_not_dressed(const struct options *options, const struct tw_run_request *request,
                                       struct run_record *record, struct tw_findings *findings)
{
    int load;
    enum tw_status status = need_record(record, options->operands[0], findings);

    if (status == TW_OK)
        status = read_load("--not-dressed", options->not_dressed, &load, findings);
    if (status == TW_OK)
        status = tw_record_not_dressed(record->record, load, findings);
    if (status == TW_OK)
        status = read_again(record, findings);
    if (status == TW_OK)
        remark_voided(record, request->path, load, findings);
    if (status == TW_OK && record->state.reading_count > 0)
        status = verb_gauge_anew(options, request, findings);
    return status == TW_OK ? read_again(record, findings) : status;
}

static bool notes_something(const struct options *options)
{
    return options->done || options->not_done || options->dressed || options->not_dressed;
}

static bool shows_status(const struct options *options)
{
    return options->status || notes_something(options) || options->json;
}

/* Without planning anything: a load is ground, the record is handed out, where the run stands. */
static enum tw_status ask_record(const struct options *options, const struct tw_run_request *request,
                                 struct tw_findings *findings)
{
    struct run_record record;
    enum tw_status status = run_record_open(request, false, &record, findings);

    if (status == TW_OK && options->done)
        status = note_ground(options, &record, findings);
    if (status == TW_OK && options->not_done)
        status = note_not_ground(options, &record, findings);
    if (status == TW_OK && options->dressed)
        status = note_dressed(options, request, &record, findings);
    if (status == TW_OK && options->not_dressed)
        status = note_not_dressed(options, request, &record, findings);
    if (status == TW_OK && options->export)
        status = need_record(&record, request->path, findings);
    if (status == TW_OK && options->export)
        status = run_status_export(options, &record, findings);
    if (status == TW_OK && shows_status(options))
        status = run_status_show(options, request, &record, findings);
    run_record_close(&record);
    return status;
}

/* ---- the plan ---- */

/* Corrections and the wheel's count are those that hold for the job's wheel. */
static enum tw_status fit_wheel(struct run_record *record, const struct tw_wheel *wheel, struct tw_run_request *request,
                                struct tw_findings *findings)
{
    const struct tw_record_load *ground;
    enum tw_status status = run_wheel_set(record, wheel, findings);
    char *words;

    if (status != TW_OK)
        return status;
    run_record_mark(record, request);
    if (!run_wheel_is_other(record, &ground))
        return TW_OK;
    words = run_wheel_other_words(record);
    if (!words)
        return tw_no_memory(findings);
    tw_remark(findings, (struct tw_place){ .file = request->path }, "%s", words);
    free(words);
    return TW_OK;
}

static enum tw_status plan_run(const struct options *options, struct tw_run_request *request,
                               struct tw_findings *findings)
{
    struct tw_run_layout layout;
    struct run_record record;
    enum tw_status status = run_record_open(request, options->out != NULL, &record, findings);

    if (status != TW_OK)
        return status;
    run_record_mark(&record, request);
    status = tw_run_lay_out(request, &layout, findings);
    if (status == TW_OK) {
        status = fit_wheel(&record, &layout.job.wheel, request, findings);
        if (status == TW_OK)
            status = run_record_check_roughed(&record, request, &layout, findings);
        if (status == TW_OK)
            status = run_wheel_check(&record, request, &layout.job.wheel, findings);
        if (status == TW_OK && options->out)
            status = run_record_check_stops(&record, request, findings);
        if (status == TW_OK)
            status = run_record_chart(&record, &layout.job, request, findings);
        if (status == TW_OK)
            status = run_all(options, request, &layout, &record, findings);
        tw_run_layout_free(&layout);
    }
    run_record_close(&record);
    return status;
}

enum tw_status verb_run(const struct options *options, struct tw_findings *findings)
{
    bool asks = options->status || notes_something(options) || options->export;
    struct tw_run_request request;
    enum tw_status status;

    if (asks && options->out)
        return tw_fail(findings, TW_BAD_USAGE, (struct tw_place){ .key = "--out" },
                       "plans the run, and --status, --done, --not-done, --dressed, --not-dressed and --export plan "
                       "nothing: give one "
                       "or the other");
    if (options->done && options->not_done)
        return tw_fail(findings, TW_BAD_USAGE, (struct tw_place){ .key = "--not-done" },
                       "takes back what --done notes: give one or the other");
    if (options->dressed && options->not_dressed)
        return tw_fail(findings, TW_BAD_USAGE, (struct tw_place){ .key = "--not-dressed" },
                       "takes back what --dressed notes: give one or the other");
    status = tw_run_read(options->operands[0], &request, findings);
    if (status != TW_OK)
        return status;
    status = asks ? ask_record(options, &request, findings) : plan_run(options, &request, findings);
    tw_run_request_free(&request);
    return status;
}
