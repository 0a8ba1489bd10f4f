/* model.c - what the sections work with: the programs read back, step by step, beside the plan they came from. */
#include "sheet/sheet.h"

#include "base/memory.h"
#include "tangwright/program.h"
#include "tangwright/taper.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A step and a planned move that end as near as this are the same one: less than half a last decimal. */
#define SAME_MM 1e-4

/* ---- stations ---- */

static int part_of(const struct tw_job *job, int work_system)
{
    for (int part = 0; part < job->parts; part++)
        if (job->fixture.stations[part].work_offset == work_system)
            return part;
    return -1;
}

static void to_setup(const struct page *page, int part, const double point_mm[3], double out_mm[3])
{
    double origin_mm[3];

    tw_trace_origin(&page->job->machine, &page->job->fixture.stations[part < 0 ? 0 : part], origin_mm);
    for (int i = 0; i < 3; i++)
        out_mm[i] = point_mm[i] - origin_mm[i];
}

void side_place(const struct page *page, const struct sheet_side *side, size_t step, const double point_mm[3],
                double out_mm[3])
{
    to_setup(page, side->steps[step].part, point_mm, out_mm);
}

/* ---- what each step is there for ---- */

static bool moves_across(const struct tw_step *step)
{
    return step->from_mm[0] != step->to_mm[0] || step->from_mm[1] != step->to_mm[1];
}

static enum sheet_work work_by_kind(const struct tw_step *step)
{
    if (step->kind == TW_STEP_DWELL)
        return SHEET_STAY;
    if (step->kind == TW_STEP_RAPID)
        return SHEET_LIFT;
    return moves_across(step) ? SHEET_CUT : SHEET_TURN;
}

static enum sheet_work work_by_move(const struct tw_setup_plan *setup, const struct tw_move *move)
{
    switch (move->role) {
    case TW_ROLE_CUT:
        if (move->kind == TW_MOVE_DWELL)
            return SHEET_STAY;
        return move->layer >= 0 && setup->layers[move->layer].kind == TW_LAYER_SPARK_OUT ? SHEET_SPARK : SHEET_CUT;
    case TW_ROLE_INFEED:
    case TW_ROLE_OVER:
    case TW_ROLE_ACROSS:
        return SHEET_TURN;
    case TW_ROLE_COOL:
        return SHEET_COOL;
    case TW_ROLE_APPROACH:
    case TW_ROLE_RETURN:
    case TW_ROLE_RETRACT:
        break;
    }
    return SHEET_LIFT;
}

static bool same_move(const struct page *page, const struct tw_setup_plan *setup, const struct tw_step *step, int part,
                      const struct tw_move *move)
{
    double to_mm[3];

    if (step->kind == TW_STEP_DWELL || move->kind == TW_MOVE_DWELL)
        return step->kind == TW_STEP_DWELL && move->kind == TW_MOVE_DWELL && fabs(step->dwell_s - move->dwell_s) < 2e-3;
    to_setup(page, part, step->to_mm, to_mm);
    to_mm[2] += tw_plan_lower_mm(page->job, setup, move, part);
    return fabs(to_mm[0] - move->to.x_mm) < SAME_MM && fabs(to_mm[1] - move->to.y_mm) < SAME_MM &&
           fabs(to_mm[2] - page->sheet->lift_mm - move->to.z_mm) < SAME_MM;
}

/* The moves of a part stand in the program in their order, but with others' in between. */
static void match_moves(struct page *page, struct sheet_side *side)
{
    size_t next[TW_RS274_SYSTEMS] = { 0 };

    for (size_t i = 0; i < side->trace.count; i++) {
        struct sheet_step *step = &side->steps[i];
        size_t *move = step->part >= 0 ? &next[step->part] : NULL;

        if (!move || *move >= side->setup->move_count)
            continue;
        /* A move that changes nothing once it is rounded is not in the text. */
        for (size_t k = *move; k < side->setup->move_count && k < *move + 3; k++) {
            if (!same_move(page, side->setup, &side->trace.steps[i], step->part, &side->setup->moves[k]))
                continue;
            step->work = work_by_move(side->setup, &side->setup->moves[k]);
            step->layer = side->setup->moves[k].layer;
            *move = k + 1;
            break;
        }
    }
}

/* Dwells before the first and after the last cut are the spindle's, and so are those between a cut and a stop or a stop and
 * a cut. */
static void find_spindle_dwells(struct sheet_side *side)
{
    bool stopped = true; /* at the start, and after a stop until something is cut */
    size_t since = 0;    /* the last cut */

    for (size_t i = 0; i <= side->trace.count; i++) {
        bool ends = i == side->trace.count || side->trace.steps[i].stops;

        if (!ends && side->trace.steps[i].kind == TW_STEP_FEED) {
            stopped = false;
            since = i;
        }
        for (size_t k = since; ends && k < i; k++)
            if (side->trace.steps[k].kind == TW_STEP_DWELL)
                side->steps[k].work = SHEET_SPINDLE;
        stopped |= ends;
        if (i < side->trace.count && stopped && side->trace.steps[i].kind == TW_STEP_DWELL)
            side->steps[i].work = SHEET_SPINDLE;
    }
}

/* The way from wherever the machine stood does not count, as in the plan. */
static void set_times(struct sheet_side *side)
{
    bool arrived = false;
    double clock_s = 0.0;

    for (size_t i = 0; i < side->trace.count; i++) {
        struct tw_step *step = &side->trace.steps[i];

        if (step->kind != TW_STEP_DWELL && !arrived) {
            arrived = moves_across(step);
            step->time_s = 0.0;
        }
        side->steps[i].start_s = clock_s;
        clock_s += step->time_s;
        side->work_s[side->steps[i].work] += step->time_s;
    }
    side->duration_s = clock_s;
}

static bool grinds(const struct sheet_step *step)
{
    return step->work == SHEET_CUT || step->work == SHEET_SPARK;
}

static enum tw_status find_passes(struct page *page, struct sheet_side *side)
{
    for (size_t i = 0; i < side->trace.count; i++) {
        struct sheet_pass *last = side->pass_count > 0 ? &side->passes[side->pass_count - 1] : NULL;

        if (!grinds(&side->steps[i]))
            continue;
        if (last && last->to == i && last->layer == side->steps[i].layer && side->setup->style == TW_STYLE_LOOPS) {
            last->to = i + 1;
            continue;
        }
        if (!tw_grow((void **)&side->passes, &side->pass_capacity, side->pass_count + 1, sizeof *side->passes))
            return tw_no_memory(page->findings);
        side->passes[side->pass_count++] = (struct sheet_pass){ i, i + 1, side->steps[i].layer };
    }
    return TW_OK;
}

static enum tw_status compare_with_plan(struct page *page, struct sheet_side *side, size_t which)
{
    char *planned = NULL;
    enum tw_status status =
        tw_program_text(page->job, page->plan, which, page->sheet->lift_mm, &planned, page->findings);

    if (status == TW_OK)
        side->as_planned =
            strlen(planned) == side->card->length && memcmp(planned, side->card->text, side->card->length) == 0;
    free(planned);
    return status;
}

static enum tw_status read_program(struct page *page, struct sheet_side *side, size_t which)
{
    struct tw_findings refusals = { 0 };
    double cycle_s;
    enum tw_status status = tw_trace_make(page->job, side->setup->face.zero_mm, side->card->name, side->card->text,
                                          side->card->length, &side->trace, &refusals);

    if (refusals.out_of_memory)
        status = tw_no_memory(page->findings);
    tw_findings_free(&refusals);
    if (status == TW_BAD_INPUT)
        status = TW_OK; /* drawn as far as it reads; the verdict says more */
    if (status == TW_OK)
        status = tw_trace_time(page->job, &side->trace, &cycle_s, page->findings);
    if (status == TW_OK)
        status = compare_with_plan(page, side, which);
    if (status != TW_OK)
        return status;
    side->steps = calloc(side->trace.count + 1, sizeof *side->steps);
    if (!side->steps)
        return tw_no_memory(page->findings);
    for (size_t i = 0; i < side->trace.count; i++)
        side->steps[i] = (struct sheet_step){ work_by_kind(&side->trace.steps[i]), -1,
                                              part_of(page->job, side->trace.steps[i].work_system), 0.0 };
    find_spindle_dwells(side);
    if (side->as_planned)
        match_moves(page, side);
    set_times(side);
    return find_passes(page, side);
}

/* ---- both sides ---- */

/* The proof of the same text: a side may have several programs. */
static const struct tw_proof *proof_of(const struct tw_verdict *verdict, const struct sheet_side *side)
{
    for (size_t i = 0; verdict && side->card->text && i < verdict->count; i++)
        if (strcmp(verdict->proofs[i].name, side->card->name) == 0)
            return &verdict->proofs[i];
    return NULL;
}

static void name_side(struct sheet_side *side)
{
    const char *scope = tw_scope_name(side->setup->scope);
    bool is_a = side->setup->face.side == TW_SIDE_A;

    snprintf(side->name, sizeof side->name, *scope ? "%s, %s" : "%s", is_a ? "A" : "B", scope);
    snprintf(side->id, sizeof side->id, *scope ? "%s-%s" : "%s", is_a ? "a" : "b", scope);
}

/* Brings one piece of the region from the part frame to the side's setup frame. */
static enum tw_status turn_piece(const struct tw_face *face, struct tw_outline *piece, struct tw_findings *findings)
{
    struct tw_outline turned;
    enum tw_status status = tw_face_outline(face, piece, &turned, findings);

    if (status != TW_OK)
        return status;
    tw_outline_free(piece);
    *piece = turned;
    return TW_OK;
}

static enum tw_status find_hollow(struct page *page, struct sheet_side *side)
{
    enum tw_status status;

    if (side->setup->scope != TW_SCOPE_RELIEF)
        return TW_OK;
    status = tw_relief_region(page->job, &side->hollow, page->findings);
    for (size_t i = 0; status == TW_OK && i < side->hollow.count; i++)
        status = turn_piece(&side->setup->face, &side->hollow.pieces[i], page->findings);
    return status;
}

static enum tw_status open_side(struct page *page, size_t which)
{
    struct sheet_side *side = &page->sides[which];
    enum tw_status status;

    side->setup = &page->plan->setups[which];
    side->card = &page->sheet->programs[which];
    side->proof = proof_of(page->verdict, side);
    side->wheel = tw_scope_wheel(page->job, side->setup->scope);
    name_side(side);
    status = tw_face_outline(&side->setup->face, &page->job->part.tang, &side->tang, page->findings);
    if (status == TW_OK)
        status = tw_face_outline(&side->setup->face, &page->job->part.blade, &side->blade, page->findings);
    if (status == TW_OK)
        status = find_hollow(page, side);
    if (status == TW_OK && side->card->text)
        status = read_program(page, side, which);
    return status;
}

enum tw_status page_open(const struct tw_sheet *sheet, struct page *page, struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    *page = (struct page){ .sheet = sheet,
                           .job = sheet->job,
                           .plan = sheet->plan,
                           .verdict = sheet->verdict,
                           .findings = findings,
                           .inch = sheet->job->machine.dialect.inch };
    while (status == TW_OK && page->side_count < sheet->plan->setup_count)
        status = open_side(page, page->side_count++);
    if (status == TW_OK)
        status = page_gather_notes(page);
    if (status != TW_OK)
        page_close(page);
    return status;
}

void page_close(struct page *page)
{
    for (size_t i = 0; i < page->side_count; i++) {
        tw_outline_free(&page->sides[i].tang);
        tw_outline_free(&page->sides[i].blade);
        tw_relief_free(&page->sides[i].hollow);
        tw_trace_free(&page->sides[i].trace);
        free(page->sides[i].steps);
        free(page->sides[i].passes);
    }
    tw_findings_free(&page->notes);
    tw_text_free(&page->out);
    *page = (struct page){ 0 };
}
