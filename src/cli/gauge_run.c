/* gauge_run.c - readings of a run's finished parts: into its record, and into its next loads. */
#include "cli/verbs.h"

#include "base/file.h"
#include "base/fingerprint.h"
#include "base/memory.h"
#include "cli/gauge_unfinished.h"
#include "cli/run_record.h"
#include "cli/run_wheel.h"
#include "geometry/ring.h"
#include "tangwright/correct.h"

#include <stdlib.h>
#include <string.h>

struct gauging {
    const struct options *options;
    const struct tw_run_request *request;
    const struct tw_job *job;
    struct run_record record;
    struct tw_gaugings readings;
    char sha256[TW_SHA256_BYTES];
    struct tw_measured *measured;
    size_t count;
    double gauge_mm, tolerance_mm;
    int far_off; /* load */
    bool unexplained;
    struct tw_findings *findings;
};

/* ---- the parts as the record knows them ---- */

static const struct tw_record_blank *find_blank(const struct gauging *gauging, const char *part)
{
    const struct tw_record_state *state = &gauging->record.state;

    for (size_t i = 0; i < state->blank_count; i++)
        if (strcmp(state->blanks[i].number, part) == 0 && state->blanks[i].load > 0)
            return &state->blanks[i];
    return NULL;
}

static bool is_ground(const struct gauging *gauging, int load)
{
    const struct tw_record_state *state = &gauging->record.state;

    for (size_t i = 0; i < state->load_count; i++)
        if (state->loads[i].load == load)
            return state->loads[i].state >= TW_LOAD_GROUND;
    return false;
}

/* Of a part that may not be there at all; what is wrong with it is wrong in each of its lines, and told of once. */
static enum tw_status check_part(const struct gauging *gauging, const struct tw_gauging *reading)
{
    const struct tw_record_blank *blank = find_blank(gauging, reading->part);
    struct tw_place at = { .file = gauging->readings.path, .line = reading->line };

    if (!blank)
        return tw_fail(gauging->findings, TW_BAD_INPUT, at,
                       "part %s is no blank of a load of this run; parts are named by the blanks' numbers",
                       reading->part);
    if (!is_ground(gauging, blank->load))
        return tw_fail(
            gauging->findings, TW_BAD_INPUT, at,
            "part %s lies in load %d, which is not noted as ground: correct the part's number, or say first: "
            "tangwright run %s --done %d",
            reading->part, blank->load, gauging->request->path, blank->load);
    if (blank->planned_mm == 0.0)
        return tw_fail(
            gauging->findings, TW_BAD_INPUT, at,
            "part %s was planned by an older tangwright that did not keep what it aimed at; gauge it with the job: "
            "tangwright gauge JOB READINGS",
            reading->part);
    if (reading->station > 0 && reading->station != blank->station)
        return tw_fail(
            gauging->findings, TW_BAD_INPUT, at,
            "part %s was planned for station %d, and the reading says station %d; correct the table, or leave the "
            "column out",
            reading->part, blank->station, reading->station);
    return TW_OK;
}

static enum tw_status check_reading(const struct gauging *gauging, const struct tw_gauging *reading)
{
    const struct tw_record_blank *blank = find_blank(gauging, reading->part);
    struct tw_place at = { .file = gauging->readings.path, .line = reading->line };
    double butt_mm = tw_ring_box(&gauging->job->part.tang.outer).max_x_mm;

    if (reading->x_mm > butt_mm)
        return tw_fail(gauging->findings, TW_BAD_INPUT, at,
                       "x: %.6g mm lies behind the butt, which is %.2f mm behind the taper start", reading->x_mm,
                       butt_mm);
    if (blank && reading->thickness_mm > blank->thickness_mm + TW_GAUGE_NO_THICKER_MM)
        return tw_fail(
            gauging->findings, TW_BAD_INPUT, at,
            "thickness: %.6g mm is more than blank %s measured before it was ground, %.3f mm; measure again, or "
            "correct the figure",
            reading->thickness_mm, reading->part, blank->thickness_mm);
    return TW_OK;
}

static bool is_measured_anew(const struct gauging *gauging, const char *part)
{
    for (size_t i = 0; i < gauging->readings.count; i++)
        if (strcmp(gauging->readings.items[i].part, part) == 0)
            return true;
    return false;
}

/* The corrections of a load, its own roughed parts left out; of load 0 those of today. */
static struct tw_run_totals totals_of(const struct gauging *gauging, int load)
{
    return run_record_carried(&gauging->record, load);
}

/* What was told of the part between its roughing and its finishing; what stopped it tells nothing of roughing. */
static void add_roughed(const struct gauging *gauging, struct tw_measured *measured)
{
    const struct tw_record_state *state = &gauging->record.state;

    for (size_t i = 0; i < state->roughed_count; i++) {
        const struct tw_record_roughed *roughed = &state->roughed[i];

        if (roughed->load != measured->load || roughed->station != measured->station)
            continue;
        measured->roughed = true;
        measured->left_told = roughed->told && !roughed->stop;
        measured->left_mm = measured->totals.roughing_mm + roughed->value_mm;
    }
}

static void add_measured(struct gauging *gauging, const char *part, double x_mm, double y_mm, double thickness_mm)
{
    const struct tw_record_blank *blank = find_blank(gauging, part);

    if (!blank)
        return;
    gauging->measured[gauging->count++] = (struct tw_measured){ .part = blank->number,
                                                                .load = blank->load,
                                                                .station = blank->station,
                                                                .x_mm = x_mm,
                                                                .y_mm = y_mm,
                                                                .thickness_mm = thickness_mm,
                                                                .planned_mm = blank->planned_mm,
                                                                .butt_mm = blank->butt_mm,
                                                                .ricasso_mm = blank->thickness_mm,
                                                                .totals = totals_of(gauging, blank->load) };
    add_roughed(gauging, &gauging->measured[gauging->count - 1]);
}

/* By load and station, which is the order of grinding; readings of one part as they were taken. */
static int by_grinding(const void *one, const void *other)
{
    const struct tw_measured *a = one, *b = other;

    if (a->load != b->load)
        return a->load < b->load ? -1 : 1;
    if (a->station != b->station)
        return a->station < b->station ? -1 : 1;
    if (a->x_mm != b->x_mm)
        return a->x_mm < b->x_mm ? -1 : 1;
    return (a->y_mm > b->y_mm) - (a->y_mm < b->y_mm);
}

static bool is_known_file(const struct gauging *gauging)
{
    const struct tw_record_state *state = &gauging->record.state;

    for (size_t i = 0; i < state->file_count; i++)
        if (strcmp(state->files[i], gauging->sha256) == 0)
            return true;
    return false;
}

static enum tw_status gather(struct gauging *gauging)
{
    const struct tw_record_state *state = &gauging->record.state;
    enum tw_status status = TW_OK;

    for (size_t i = 0; i < gauging->readings.count; i++) {
        const struct tw_gauging *reading = &gauging->readings.items[i];
        enum tw_status one = verb_is_part_again(&gauging->readings, i) ? TW_OK : check_part(gauging, reading);

        if (one == TW_OK)
            one = check_reading(gauging, reading);
        status = status == TW_OK ? one : status;
    }
    if (status == TW_OK && gauging->readings.count > 0 && !gauging->options->finished && !is_known_file(gauging))
        status = verb_gauge_check_finished(gauging->request, &gauging->record, gauging->job, &gauging->readings,
                                           gauging->gauge_mm, gauging->findings);
    if (status != TW_OK)
        return status;
    gauging->measured = calloc(state->reading_count + gauging->readings.count + 1, sizeof *gauging->measured);
    if (!gauging->measured)
        return tw_no_memory(gauging->findings);
    for (size_t i = 0; i < state->reading_count; i++)
        if (!is_measured_anew(gauging, state->readings[i].part))
            add_measured(gauging, state->readings[i].part, state->readings[i].x_mm, state->readings[i].y_mm,
                         state->readings[i].thickness_mm);
    for (size_t i = 0; i < gauging->readings.count; i++)
        add_measured(gauging, gauging->readings.items[i].part, gauging->readings.items[i].x_mm,
                     gauging->readings.items[i].y_mm, gauging->readings.items[i].thickness_mm);
    qsort(gauging->measured, gauging->count, sizeof *gauging->measured, by_grinding);
    return TW_OK;
}

/* ---- into the record ---- */

static const char *term_name(enum tw_gauge_term_kind kind)
{
    static const char *const names[] = {
        [TW_TERM_OFFSET] = "offset", [TW_TERM_TAPER] = "taper", [TW_TERM_CROWN] = "crown", [TW_TERM_STATION] = "station"
    };

    return names[kind];
}

/* What the loads that were weighed came to; the offset as it was taken. */
static size_t list_corrections(const struct tw_corrections *corrections,
                               struct tw_record_correction out[TW_GAUGE_TERMS])
{
    size_t count = 0;

    for (size_t i = 0; i < corrections->weighed.term_count; i++) {
        const struct tw_gauge_term *term = &corrections->weighed.terms[i];

        if (term->kind == TW_TERM_OFFSET)
            term = &corrections->offset;
        out[count++] = (struct tw_record_correction){ .load = corrections->newest,
                                                      .what = term_name(term->kind),
                                                      .station = term->station,
                                                      .value_mm = term->value_mm,
                                                      .standard_mm = term->standard_mm,
                                                      .chance = term->chance,
                                                      .advised = term->significant && term->kind != TW_TERM_CROWN &&
                                                                 !corrections->too_large };
    }
    return count;
}

static enum tw_status note(struct gauging *gauging, const struct tw_corrections *corrections, bool *known)
{
    struct tw_record_reading *readings = calloc(gauging->readings.count + 1, sizeof *readings);
    struct tw_record_correction terms[TW_GAUGE_TERMS];
    struct tw_record_total totals[RUN_TOTALS_MOST];
    struct tw_record_gauging what = { .sha256 = gauging->sha256,
                                      .name = gauging->readings.path,
                                      .readings = readings,
                                      .count = gauging->readings.count,
                                      .corrections = terms,
                                      .correction_count = list_corrections(corrections, terms),
                                      .totals = totals,
                                      .total_count = run_record_list_totals(&corrections->totals, totals),
                                      .change = gauging->record.state.change };
    enum tw_status status = readings ? TW_OK : tw_no_memory(gauging->findings);

    for (size_t i = 0; status == TW_OK && i < gauging->readings.count; i++) {
        const struct tw_gauging *item = &gauging->readings.items[i];

        readings[i] =
            (struct tw_record_reading){ item->part, item->station, item->x_mm, item->y_mm, item->thickness_mm };
    }
    if (status == TW_OK)
        status = tw_record_gauge(gauging->record.record, &what, known, gauging->findings);
    free(readings);
    return status;
}

/* ---- the whole ---- */

static void print_other_wheel(const struct gauging *gauging)
{
    char *words = run_wheel_other_words(&gauging->record);

    if (words) {
        verb_print(words);
        verb_print("\n");
    }
    free(words);
}

static enum tw_status show(const struct gauging *gauging, const struct tw_corrections *corrections, bool known)
{
    char *text = NULL, *json = NULL;
    enum tw_status status =
        tw_corrections_text(gauging->job, corrections, gauging->tolerance_mm, &text, gauging->findings);

    if (status == TW_OK && gauging->options->json)
        status = tw_gauge_json(gauging->job, &corrections->all_readings, gauging->tolerance_mm, &corrections->all,
                               &json, gauging->findings);
    status = verb_show(gauging->options, status, text, json, gauging->findings);
    if (status != TW_OK || verb_is_output(gauging->options->json))
        return status;
    if (known)
        verb_print("\nthis file is in the record already, and nothing of it was taken twice\n");
    else
        verb_print("\nthe readings are in the record\n");
    print_other_wheel(gauging);
    if (corrections->changed && !known) {
        verb_print("next: tangwright run ");
        verb_print(gauging->request->path);
        verb_print(" --out DIR plans the loads that are left with it\n");
    }
    return status;
}

/* Of the wheel before that load, in this run; one that is put on anew counts as one that is dressed. */
static int dressings_before(const struct gauging *gauging, int load)
{
    const struct tw_record_state *state = &gauging->record.state;
    int count = 0;

    for (size_t i = 0; i < state->load_count; i++)
        count += state->loads[i].load <= load && tw_record_is_dressed(state, state->loads[i].load);
    return count + run_wheel_changes(&gauging->record, load);
}

/* Whether a load that is not ground has roughing programs of its own. */
static bool is_apart(const struct gauging *gauging)
{
    const struct tw_record_state *state = &gauging->record.state;
    int ground = tw_record_last_ground(state);

    for (size_t i = 0; i < state->program_count; i++)
        if (state->programs[i].load > ground && tw_record_is_roughed_apart(state, state->programs[i].load))
            return true;
    return false;
}

/* The first load that is neither ground nor measured just now. */
static bool is_dressed_next(const struct gauging *gauging)
{
    int newest = 0;

    for (size_t i = 0; i < gauging->count; i++)
        newest = gauging->measured[i].load > newest ? gauging->measured[i].load : newest;
    for (size_t i = 0; i < gauging->record.state.load_count; i++) {
        const struct tw_record_load *load = &gauging->record.state.loads[i];

        if (load->state == TW_LOAD_PLANNED && load->load > newest)
            return tw_record_is_dressed(&gauging->record.state, load->load);
    }
    return false;
}

static enum tw_status make_corrections(struct gauging *gauging, const struct tw_run_totals *now,
                                       struct tw_corrections *out)
{
    struct tw_weighing weighing = {
        .job = gauging->job, .now = now, .gauge_mm = gauging->gauge_mm, .tolerance_mm = gauging->tolerance_mm
    };
    enum tw_status status = gather(gauging);

    if (status != TW_OK)
        return status;
    for (size_t i = 0; i < gauging->count; i++) {
        gauging->measured[i].dressings = dressings_before(gauging, gauging->measured[i].load);
        gauging->measured[i].wheel = run_wheel_changes(&gauging->record, gauging->measured[i].load);
    }
    weighing.measured = gauging->measured;
    weighing.count = gauging->count;
    weighing.dressed_next = is_dressed_next(gauging);
    weighing.apart = is_apart(gauging);
    return tw_corrections_make(&weighing, out, gauging->findings);
}

/* Said when all else is shown. */
static enum tw_status stop(const struct gauging *gauging, const struct tw_corrections *corrections)
{
    if (!corrections->too_large && !corrections->unexplained)
        return TW_OK;
    return verb_fail_far_off(gauging->request, corrections->newest, corrections->unexplained, gauging->findings);
}

static enum tw_status weigh(struct gauging *gauging)
{
    struct tw_run_totals now = totals_of(gauging, 0);
    struct tw_corrections corrections;
    bool known = is_known_file(gauging);
    enum tw_status status = make_corrections(gauging, &now, &corrections);

    if (status != TW_OK)
        return status;
    if (known) {
        corrections.totals = now;
        corrections.changed = false;
    } else {
        status = note(gauging, &corrections, &known);
    }
    if (status == TW_OK)
        status = show(gauging, &corrections, known);
    if (status == TW_OK)
        status = stop(gauging, &corrections);
    tw_corrections_free(&corrections);
    return status;
}

static enum tw_status read_readings(struct gauging *gauging)
{
    const char *path = gauging->options->operands[1];
    struct tw_text text = { 0 };
    enum tw_status status = tw_file_read(path, &text, gauging->findings);

    if (status == TW_OK)
        tw_fingerprint(text.data, text.length, gauging->sha256);
    tw_text_free(&text);
    return status == TW_OK ? tw_gaugings_read(path, &gauging->readings, gauging->findings) : status;
}

static enum tw_status gauge_run(struct gauging *gauging)
{
    enum tw_status status = run_record_open(gauging->request, false, &gauging->record, gauging->findings);

    if (status == TW_OK && !gauging->record.record)
        status = tw_fail(
            gauging->findings, TW_BAD_INPUT, (struct tw_place){ .file = gauging->request->path },
            "has no record yet: plan the run with tangwright run RUN --out DIR, and gauge what was ground by it");
    if (status == TW_OK)
        status = run_wheel_set(&gauging->record, &gauging->job->wheel, gauging->findings);
    if (status == TW_OK)
        status = read_readings(gauging);
    if (status == TW_OK)
        status = weigh(gauging);
    free(gauging->measured);
    tw_gaugings_free(&gauging->readings);
    run_record_close(&gauging->record);
    return status;
}

static enum tw_status weigh_anew(struct gauging *gauging)
{
    struct tw_run_totals now = totals_of(gauging, 0);
    struct tw_record_total totals[RUN_TOTALS_MOST];
    struct tw_corrections corrections;
    enum tw_status status = make_corrections(gauging, &now, &corrections);

    if (status != TW_OK)
        return status;
    status = tw_record_correct(gauging->record.record, totals, run_record_list_totals(&corrections.totals, totals),
                               gauging->record.state.change, gauging->findings);
    tw_corrections_free(&corrections);
    return status;
}

static enum tw_status gauge_anew(struct gauging *gauging)
{
    enum tw_status status = run_record_open(gauging->request, false, &gauging->record, gauging->findings);

    if (status == TW_OK)
        status = run_wheel_set(&gauging->record, &gauging->job->wheel, gauging->findings);
    if (status == TW_OK)
        status = weigh_anew(gauging);
    free(gauging->measured);
    run_record_close(&gauging->record);
    return status;
}

static enum tw_status find_far_off(struct gauging *gauging)
{
    struct tw_run_totals now = totals_of(gauging, 0);
    struct tw_corrections corrections;
    enum tw_status status = make_corrections(gauging, &now, &corrections);

    if (status == TW_OK) {
        gauging->far_off = corrections.too_large || corrections.unexplained ? corrections.newest : 0;
        gauging->unexplained = corrections.unexplained;
        tw_corrections_free(&corrections);
    }
    free(gauging->measured);
    return status;
}

/* The run's job without any survey: its gauge points are those of all blanks. */
static enum tw_status with_job(struct gauging *gauging, enum tw_status (*act)(struct gauging *))
{
    struct tw_job job;
    enum tw_status status = verb_read_run_job(gauging->request, &job, gauging->findings);

    if (status != TW_OK)
        return status;
    gauging->job = &job;
    if (gauging->gauge_mm == 0.0)
        gauging->gauge_mm = gauging->request->gauge_mm;
    if (gauging->tolerance_mm == 0.0)
        gauging->tolerance_mm = job.finish.thickness_mm;
    status = act(gauging);
    tw_job_free(&job);
    return status;
}

enum tw_status verb_gauge_anew(const struct options *options, const struct tw_run_request *request,
                               struct tw_findings *findings)
{
    struct gauging gauging = { .options = options, .request = request, .findings = findings };

    return with_job(&gauging, gauge_anew);
}

enum tw_status verb_fail_far_off(const struct tw_run_request *request, int load, bool unexplained,
                                 struct tw_findings *findings)
{
    return tw_fail(findings, TW_DO_NOT_CUT, (struct tw_place){ .file = request->path },
                   unexplained ? "load %d misses the tolerance by what no correction explains"
                               : "load %d was gauged farther off than any machine",
                   load);
}

enum tw_status verb_gauge_far_off(const struct tw_run_request *request, const struct run_record *record, int *load,
                                  bool *unexplained, struct tw_findings *findings)
{
    struct gauging gauging = { .request = request, .record = *record, .findings = findings };
    enum tw_status status = record->state.reading_count > 0 ? with_job(&gauging, find_far_off) : TW_OK;

    *load = status == TW_OK ? gauging.far_off : 0;
    *unexplained = gauging.unexplained;
    return status;
}

enum tw_status verb_gauge_run(const struct options *options, double gauge_mm, double tolerance_mm,
                              struct tw_findings *findings)
{
    struct tw_run_request request;
    struct gauging gauging = { .options = options,
                               .request = &request,
                               .gauge_mm = gauge_mm,
                               .tolerance_mm = tolerance_mm,
                               .findings = findings };
    enum tw_status status = tw_run_read(options->operands[0], &request, findings);

    if (status != TW_OK)
        return status;
    status = with_job(&gauging, gauge_run);
    tw_run_request_free(&request);
    return status;
}
