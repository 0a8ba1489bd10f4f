/* run_written.c - see run_written.h. */
#include "cli/run_written.h"

#include "base/file.h"
#include "base/fingerprint.h"
#include "base/memory.h"
#include "cli/card_set.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Job files round to less. */
#define SAME_MM 1e-3

/* ---- programs ---- */

void run_notes_free(struct run_notes *notes)
{
    for (size_t i = 0; i < notes->text_count; i++)
        free(notes->texts[i]);
    free(notes->texts);
    free(notes->programs);
    *notes = (struct run_notes){ 0 };
}

/* Takes the text over. */
static const char *keep(struct run_notes *notes, char *text)
{
    if (text && tw_grow((void **)&notes->texts, &notes->text_capacity, notes->text_count + 1, sizeof *notes->texts)) {
        notes->texts[notes->text_count++] = text;
        return text;
    }
    free(text);
    return NULL;
}

enum tw_status run_notes_add(struct run_notes *notes, const char *folder, int load, const struct tw_card *cards,
                             size_t count, const char *digest, struct tw_findings *findings)
{
    for (size_t i = 0; i < count; i++) {
        const struct tw_card *card = &cards[i];
        struct tw_record_program program = { .load = load };
        struct tw_text name = { 0 };

        tw_text_print(&name, "%s/%s", folder, card->name);
        program.name = keep(notes, tw_text_take(&name));
        program.inputs = keep(notes, tw_copy_string(digest));
        tw_fingerprint(card->text, card->length, program.sha256);
        if (!program.name || !program.inputs ||
            !tw_grow((void **)&notes->programs, &notes->program_capacity, notes->program_count + 1,
                     sizeof *notes->programs))
            return tw_no_memory(findings);
        notes->programs[notes->program_count++] = program;
    }
    return TW_OK;
}

/* ---- the plan as the record takes it ---- */

struct taking {
    const struct tw_run_outcome *outcome;
    struct tw_record_blank *blanks;
    struct tw_record_survey *surveys;
    struct tw_record_load *loads;
    struct tw_text *survey_texts;
    struct tw_record_file *placing;
    size_t survey_count, load_count;
    const char *wheel;
    struct tw_findings *findings;
};

static enum tw_status open_taking(struct taking *taking, const struct tw_staged *staged)
{
    size_t count = taking->outcome->request->blank_count + 1;

    taking->placing = calloc(staged->count + 1, sizeof *taking->placing);
    for (size_t i = 0; taking->placing && i < staged->count; i++)
        taking->placing[i] = (struct tw_record_file){ staged->files[i].target, staged->files[i].staged };
    taking->blanks = calloc(count, sizeof *taking->blanks);
    taking->surveys = calloc(count, sizeof *taking->surveys);
    taking->survey_texts = calloc(count, sizeof *taking->survey_texts);
    taking->loads = calloc(count, sizeof *taking->loads);
    return taking->blanks && taking->surveys && taking->survey_texts && taking->loads && taking->placing
               ? TW_OK
               : tw_no_memory(taking->findings);
}

static void close_taking(struct taking *taking)
{
    for (size_t i = 0; i < taking->survey_count; i++)
        tw_text_free(&taking->survey_texts[i]);
    free(taking->survey_texts);
    free(taking->blanks);
    free(taking->surveys);
    free(taking->loads);
    free(taking->placing);
}

/* The survey's bytes go into the record: the file may change, and what was planned by it must stay known. */
static enum tw_status take_survey(struct taking *taking, const char *path, struct tw_record_blank *blank)
{
    struct tw_text *text = &taking->survey_texts[taking->survey_count];
    struct tw_record_survey *survey = &taking->surveys[taking->survey_count];
    const char *slash = strrchr(path, '/');
    enum tw_status status;

    taking->survey_count++;
    status = tw_file_read(path, text, taking->findings);
    if (status != TW_OK)
        return status;
    tw_fingerprint(text->data, text->length, survey->sha256);
    survey->name = slash ? slash + 1 : path;
    survey->text = text->data;
    blank->survey_sha256 = survey->sha256;
    return TW_OK;
}

static enum tw_status take_blanks(struct taking *taking)
{
    const struct tw_run_request *request = taking->outcome->request;
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < request->blank_count; i++) {
        const struct tw_run_blank *blank = &request->blanks[i];

        taking->blanks[i] = (struct tw_record_blank){ .number = blank->number,
                                                      .thickness_mm = blank->thickness_mm,
                                                      .remark = blank->remark };
        if (blank->survey)
            status = take_survey(taking, blank->survey, &taking->blanks[i]);
    }
    return status;
}

static void take_layout(struct taking *taking)
{
    const struct tw_run_layout *layout = taking->outcome->layout;

    for (size_t i = 0; i < layout->aside_count; i++)
        taking->blanks[layout->aside[i].blank].aside = layout->aside[i].reason;
    for (size_t load = 0; load < layout->load_count; load++) {
        const struct tw_load_figures *figures = &taking->outcome->loads[load];
        int number = (int)tw_run_load_number(layout, load);

        for (size_t i = 0; i < layout->loads[load].count; i++) {
            const struct tw_run_place *place = &layout->loads[load].places[i];
            struct tw_record_blank *blank = &taking->blanks[place->blank];

            blank->thickness_mm = place->thickness_mm;
            blank->aside = figures->refusal;
            if (figures->refusal)
                continue;
            blank->load = number;
            blank->station = place->station + 1;
            blank->inputs = figures->places[i].digest;
            blank->planned_mm = figures->places[i].planned_mm;
            blank->butt_mm = figures->places[i].butt_mm;
        }
        if (!figures->refusal)
            taking->loads[taking->load_count++] =
                (struct tw_record_load){ .load = number,
                                         .cycle_s = figures->cycle_s,
                                         .removed_mm3 = figures->removed_mm3,
                                         .wheel_mm = figures->wheel_mm,
                                         .dress_before = tw_run_dresses_before(taking->outcome, load),
                                         .wheel = taking->wheel };
    }
}

/* Where the run was written, as seen from its file: both may be moved together. */
static enum tw_status find_folder(const char *run_path, const char *folder, char **out, struct tw_findings *findings)
{
    const char *slash = strrchr(run_path, '/');
    struct tw_text home = { 0 };
    enum tw_status status;

    tw_text_append(&home, slash ? run_path : ".", slash ? (size_t)(slash - run_path) + 1 : 1);
    status = home.failed ? tw_no_memory(findings) : tw_path_from(home.data, folder, out, findings);
    tw_text_free(&home);
    return status;
}

/* Roughed faces stand where the job had them: another taper would have its first finishing layer take all the difference. */
static enum tw_status check_shape(const struct run_record *record, const struct taking *taking,
                                  const struct tw_run_request *request)
{
    const struct tw_record_state *state = &record->state;

    for (size_t i = 0; i < state->blank_count; i++)
        for (size_t k = 0; k < request->blank_count && tw_run_keeps(&request->roughed, state->blanks[i].load); k++) {
            const struct tw_record_blank *was = &state->blanks[i], *now = &taking->blanks[k];

            if (strcmp(was->number, now->number) == 0 &&
                fmax(fabs(was->planned_mm - now->planned_mm), fabs(was->butt_mm - now->butt_mm)) > SAME_MM)
                return tw_fail(taking->findings, TW_BAD_INPUT, (struct tw_place){ .file = request->path },
                               "load %d is roughed for a taper from %.4f to %.4f mm, and its blank %s would now be "
                               "finished from %.4f to "
                               "%.4f mm: finish this load by the job as it was, say --done %d, and change the job then",
                               was->load, was->planned_mm, was->butt_mm, was->number, now->planned_mm, now->butt_mm,
                               was->load);
        }
    return TW_OK;
}

enum tw_status run_written_record(const struct run_record *record, const struct tw_run_outcome *outcome,
                                  const struct run_notes *notes, const char *folder, struct tw_staged *staged,
                                  struct tw_findings *findings)
{
    const struct tw_staged_mark marked = card_set_mark();
    struct taking taking = { .outcome = outcome, .wheel = record->wheel, .findings = findings };
    const struct tw_run_request *request = outcome->request;
    struct tw_record_total totals[RUN_TOTALS_MOST], kept[RUN_TOTALS_MOST];
    struct tw_record_plan plan = { .change = record->state.change,
                                   .name = outcome->request->name,
                                   .programs = notes->programs,
                                   .program_count = notes->program_count,
                                   .totals = totals,
                                   .total_count = run_record_list_totals(&outcome->request->totals, totals) };
    char *from_here = NULL;
    enum tw_status status = open_taking(&taking, staged);

    if (tw_run_keeps(&request->roughed, request->roughed.load)) {
        run_record_list_totals(&request->roughed.kept, kept);
        plan.kept = kept;
        plan.kept_load = request->roughed.load;
    }
    if (status == TW_OK)
        status = take_blanks(&taking);
    if (status == TW_OK)
        status = find_folder(outcome->request->path, folder, &from_here, findings);
    if (status == TW_OK) {
        take_layout(&taking);
        status = check_shape(record, &taking, request);
    }
    if (status == TW_OK) {
        plan.folder = from_here;
        plan.blanks = taking.blanks;
        plan.blank_count = outcome->request->blank_count;
        plan.surveys = taking.surveys;
        plan.survey_count = taking.survey_count;
        plan.loads = taking.loads;
        plan.load_count = taking.load_count;
        plan.placing = taking.placing;
        plan.placing_count = staged->count;
        status = tw_record_plan(record->record, &plan, findings);
    }
    if (status == TW_OK)
        status = tw_staged_place(staged, &marked, findings);
    if (status == TW_OK)
        status = tw_record_placed(record->record, findings);
    free(from_here);
    close_taking(&taking);
    return status;
}
