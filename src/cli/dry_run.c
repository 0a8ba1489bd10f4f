/* dry_run.c - proves programs from their text. */
#include "cli/verbs.h"

#include "base/file.h"
#include "cli/card_set.h"
#include "tangwright/job.h"
#include "tangwright/program.h"
#include "tangwright/report.h"
#include "tangwright/verdict.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Whatever ending somebody gave them. */
static bool same_stem(const char *a, const char *b)
{
    size_t length = strcspn(a, ".");

    return length == strcspn(b, ".") && memcmp(a, b, length) == 0;
}

/* The setup that a program is for: the one whose program has that name, else the side's first. */
static size_t setup_of(const struct tw_plan *plan, const struct tw_card *card, enum tw_side side)
{
    const char *slash = strrchr(card->name, '/'), *name = slash ? slash + 1 : card->name;
    size_t first = 0;

    for (size_t i = plan->setup_count; i-- > 0;) {
        const struct tw_setup_plan *setup = &plan->setups[i];

        if (same_stem(name, setup->file_name) || same_stem(name, setup->air_file_name))
            return i;
        if (setup->face.side == side)
            first = i;
    }
    return first;
}

/* Where a program is given both as it cuts and raised, the sheet shows the one that cuts. */
static void choose_programs(struct tw_sheet *sheet, const struct tw_card *cards, size_t count)
{
    bool all_raised = true;

    for (size_t i = 0; i < count; i++)
        all_raised &= sheet->verdict->proofs[i].lift_mm > 0.0;
    for (size_t i = 0; i < count; i++) {
        const struct tw_proof *proof = &sheet->verdict->proofs[i];

        if (proof->lift_mm > 0.0 && !all_raised)
            continue;
        sheet->programs[setup_of(sheet->plan, &cards[i], proof->side)] = cards[i];
        sheet->lift_mm = fmax(sheet->lift_mm, proof->lift_mm);
    }
}

/* The sheet holds the plan beside the answer; the dry-run itself never sees it. */
static enum tw_status write_sheet(const char *path, const struct tw_job *job, const struct tw_card *cards, size_t count,
                                  const struct tw_verdict *verdict, const struct tw_findings *strange,
                                  struct tw_findings *findings)
{
    struct tw_sheet sheet = { .job = job, .verdict = verdict, .strange = strange };
    struct tw_proven proven;
    enum tw_status status = verb_plan_job(job, &proven, findings);

    if (status != TW_OK)
        return status;
    sheet.plan = &proven.plan;
    sheet.air = tw_program_lift_range(job, &proven.plan).usual_mm > 0.0;
    choose_programs(&sheet, cards, count);
    status = verb_write_sheet(path, &sheet, findings);
    tw_proven_free(&proven);
    return status;
}

static enum tw_status show(const struct options *options, const struct tw_job *job, const struct tw_verdict *verdict,
                           struct tw_findings *findings)
{
    char *table = NULL, *json = NULL;
    enum tw_status status = tw_verdict_table(job, verdict, &table, findings);

    if (status == TW_OK && options->json)
        status = tw_verdict_json(job, verdict, &json, findings);
    return verb_show(options, status, table, json, findings);
}

static bool comes_before(const struct tw_proof *proof, const struct tw_proof *other)
{
    bool raised = proof->lift_mm > 0.0, other_raised = other->lift_mm > 0.0;

    return raised != other_raised ? other_raised : proof->step < other->step;
}

/* As they are run, and those for cutting air behind: a shell names files by their letters. */
static void put_in_order(struct tw_card *cards, struct tw_verdict *verdict)
{
    for (size_t i = 1; i < verdict->count; i++)
        for (size_t k = i; k > 0 && comes_before(&verdict->proofs[k], &verdict->proofs[k - 1]); k--) {
            struct tw_proof proof = verdict->proofs[k];
            struct tw_card card = cards[k];

            verdict->proofs[k] = verdict->proofs[k - 1];
            verdict->proofs[k - 1] = proof;
            cards[k] = cards[k - 1];
            cards[k - 1] = card;
        }
}

static enum tw_status prove(const struct options *options, const struct tw_job *job, struct tw_card *cards,
                            size_t count, struct tw_verdict_settings settings, const struct tw_findings *strange,
                            struct tw_findings *findings)
{
    struct tw_verdict verdict;
    enum tw_status status = verb_prove(job, cards, count, settings, &verdict, findings);

    if (status != TW_OK)
        return status;
    put_in_order(cards, &verdict);
    status = show(options, job, &verdict, findings);
    if (status == TW_OK && options->sheet)
        status = write_sheet(options->sheet, job, cards, count, &verdict, strange, findings);
    if (!verdict.cut)
        status = TW_DO_NOT_CUT; /* whatever else went wrong was said, and matters less */
    tw_verdict_free(&verdict);
    return status;
}

static enum tw_status run_with(const struct options *options, const struct tw_job *job,
                               struct tw_verdict_settings settings, struct tw_findings *findings)
{
    size_t count = options->operand_count - 1;
    struct tw_text texts[OPTION_OPERANDS_MOST] = { 0 };
    struct tw_card cards[OPTION_OPERANDS_MOST];
    struct tw_findings strange = { 0 };
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < count; i++) {
        status = tw_file_read(options->operands[i + 1], &texts[i], findings);
        cards[i] = (struct tw_card){ options->operands[i + 1], texts[i].data, texts[i].length };
    }
    if (status == TW_OK)
        status = card_set_check(options->operands + 1, count, &strange);
    if (status == TW_OK)
        status = prove(options, job, cards, count, settings, &strange, findings);
    tw_findings_append(findings, &strange);
    tw_findings_free(&strange);
    for (size_t i = 0; i < count; i++)
        tw_text_free(&texts[i]);
    return status;
}

static enum tw_status read_cell(const char *text, double *out_mm, struct tw_findings *findings)
{
    enum tw_status status = verb_read_length("--cell", text, TW_CELL_MOST_MM, out_mm, findings);

    if (status == TW_OK && *out_mm < TW_CELL_LEAST_MM)
        status = tw_fail(findings, TW_BAD_USAGE, (struct tw_place){ .key = "--cell" },
                         "%s is too small; cells may be %g to %g mm, and prove something up to %g mm", text,
                         TW_CELL_LEAST_MM, TW_CELL_MOST_MM, TW_CELL_PROVES_MM);
    return status;
}

enum tw_status verb_dry_run(const struct options *options, struct tw_findings *findings)
{
    struct tw_job job;
    struct tw_verdict_settings settings = { .strict = options->strict != NULL };
    enum tw_status status = TW_OK;

    if (options->cell)
        status = read_cell(options->cell, &settings.cell_mm, findings);
    if (status == TW_OK)
        status = tw_job_read(options->operands[0], &job, findings);
    if (status != TW_OK)
        return status;
    status = run_with(options, &job, settings, findings);
    tw_job_free(&job);
    return status;
}
