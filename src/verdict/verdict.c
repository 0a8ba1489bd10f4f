/* verdict.c - all checks of all programs. */
#include "tangwright/verdict.h"

#include "base/memory.h"
#include "tangwright/motion.h"
#include "verdict/card.h"
#include "verdict/checks.h"
#include "verdict/prove.h"
#include "verdict/trace.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- checks that need no field ---- */

/* The first fault of the reader is the answer; how many there are is the amount. */
static void answer_text(const struct tw_findings *refusals, int line, struct tw_check *check)
{
    size_t faults = 0;

    tw_check_ask(check, 0.0, "");
    for (size_t i = 0; i < refusals->count; i++) {
        if (refusals->items[i].status == TW_OK)
            continue;
        if (faults++ == 0)
            tw_check_fault(check, (struct tw_spot){ .line = refusals->items[i].line ? refusals->items[i].line : line }, "%s",
                           refusals->items[i].text);
        else
            check->amount += 1.0;
    }
}

static void check_modes(const struct tw_job *job, const struct tw_trace *trace, struct tw_check *check)
{
    const struct tw_dialect *dialect = &job->machine.dialect;
    const struct {
        bool wanted;
        int line;
        const char *what;
    } rows[] = {
        { true, trace->told.units, "units (G20 or G21)" },
        { true, trace->told.distance, "the distance mode (G90)" },
        { true, trace->told.feed_mode, "the feed mode (G94)" },
        { true, trace->told.work_system, "the work offset (G54 ...)" },
        { dialect->select_plane, trace->told.plane, "the plane (G17, G18 or G19)" },
        { dialect->cancel_radius, trace->told.cancel_radius, "radius compensation off (G40)" },
        { dialect->path_mode != TW_PATH_UNSET, trace->told.path, "the path mode (G61, G61.1 or G64)" },
    };
    enum tw_rs274_plane plane = job->machine.up.letter == 'Z'   ? TW_RS274_PLANE_XY
                                : job->machine.up.letter == 'Y' ? TW_RS274_PLANE_XZ
                                                                : TW_RS274_PLANE_YZ;
    static const enum tw_rs274_path paths[] = { TW_RS274_PATH_UNSET, TW_RS274_PATH_EXACT, TW_RS274_PATH_EXACT_STOP,
                                                TW_RS274_PATH_CONTINUOUS }; /* in the order of tw_path_mode */
    struct tw_spot start = { .line = trace->count > 0 ? trace->steps[0].line : trace->last_line };

    tw_check_ask(check, 0.0, "");
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        if (rows[i].wanted && rows[i].line == 0)
            tw_check_fault(check, start, "%s not set before the first motion: what an earlier job left would count",
                           rows[i].what);
    if (dialect->select_plane && trace->at_first.plane != plane)
        tw_check_fault(check, (struct tw_spot){ .line = trace->told.plane }, "the plane is not that of this machine's table");
    if (dialect->path_mode != TW_PATH_UNSET && trace->at_first.path != paths[dialect->path_mode])
        tw_check_fault(check, (struct tw_spot){ .line = trace->told.path }, "the path mode is not the one the profile asks for");
    if (trace->blended && dialect->path_mode != TW_PATH_BLENDED)
        tw_check_fault(check, (struct tw_spot){ .line = trace->blended_line },
                       "corners may be rounded (G64), but the profile asks for an exact path");
    if (trace->tool_line > 0)
        tw_check_fault(check, (struct tw_spot){ .line = trace->tool_line },
                       "a tool is selected or changed, but one wheel grinds the whole program");
    if (trace->overrides_line > 0)
        tw_check_fault(check, (struct tw_spot){ .line = trace->overrides_line }, "the override switches are turned off (M49)");
    if (trace->stop_line > 0)
        tw_check_fault(check, (struct tw_spot){ .line = trace->stop_line },
                       "a programmed stop (M0, M1) leaves the wheel standing on the part or over it");
}

static void check_offsets(const struct tw_job *job, const struct tw_trace *trace, struct tw_check *check)
{
    tw_check_ask(check, 0.0, "");
    if (trace->shift_line > 0)
        tw_check_fault(check, (struct tw_spot){ .line = trace->shift_line },
                       "an offset is changed (G10, G92): the part's zero is set at the machine, not by a program");
    for (size_t i = 0; i < trace->count; i++) {
        bool known = false;

        for (int part = 0; part < job->parts; part++)
            known |= job->fixture.stations[part].work_offset == trace->steps[i].work_system;
        if (!known)
            tw_check_fault(check, (struct tw_spot){ .line = trace->steps[i].line },
                           "moves under %s, which is no station of a part in this job",
                           tw_rs274_system_name(trace->steps[i].work_system));
    }
}

static void check_travel(const struct tw_job *job, const struct tw_trace *trace, struct tw_check *check)
{
    const struct tw_axis *axes[3] = { &job->machine.along, &job->machine.across, &job->machine.up };

    tw_check_ask(check, 0.0, "mm");
    for (size_t i = 0; i < trace->count; i++) {
        for (int k = 0; k < 3; k++) {
            double machine_mm = axes[k]->sign * trace->steps[i].to_mm[k];
            double beyond_mm = fmax(machine_mm - axes[k]->travel_max_mm, axes[k]->travel_min_mm - machine_mm);

            if (beyond_mm > check->amount && beyond_mm > 0.0)
                snprintf(check->note, sizeof check->note, "%c would go to %.3f of %.3f to %.3f mm", axes[k]->letter,
                         machine_mm, axes[k]->travel_min_mm, axes[k]->travel_max_mm);
            /* On an arc the ends of its chords stand for it. */
            tw_check_note(check, beyond_mm, (struct tw_spot){ .line = trace->steps[i].line });
        }
    }
}

static void check_wheel_speed(const struct tw_job *job, const struct tw_trace *trace, struct tw_check *check)
{
    double around_mm = acos(-1.0) * job->wheel.diameter_mm;

    tw_check_ask(check, job->wheel.operating_speed_mm_per_s / 1000.0, "m/s");
    tw_check_note(check, 0.0, (struct tw_spot){ 0 });
    for (size_t i = 0; i < trace->count; i++) {
        double rpm = job->machine.spindle_programmable ? trace->steps[i].spindle_rpm : job->machine.spindle_max_rpm;

        if (trace->steps[i].spindle != TW_RS274_SPINDLE_OFF)
            tw_check_note(check, around_mm * rpm / 60.0 / 1000.0, (struct tw_spot){ .line = trace->steps[i].line });
    }
    if (job->machine.spindle_programmable && trace->fastest_line > 0)
        tw_check_note(check, around_mm * trace->fastest_rpm / 60.0 / 1000.0,
                      (struct tw_spot){ .line = trace->fastest_line });
}

static void check_feed(const struct tw_job *job, const struct tw_trace *trace, struct tw_check *check)
{
    double least = job->machine.feed_min_mm_per_s, most = job->machine.feed_max_mm_per_s;

    tw_check_ask(check, most * 1.0001, "mm/s");
    for (size_t i = 0; i < trace->count; i++) {
        const struct tw_step *step = &trace->steps[i];

        if (step->kind != TW_STEP_FEED)
            continue;
        tw_check_note(check, step->feed_mm_per_s, (struct tw_spot){ .line = step->line });
        if (step->feed_mm_per_s < least * 0.999)
            tw_check_fault(check, (struct tw_spot){ .line = step->line }, "feed of %.4f mm/s, below the machine's slowest %.4f",
                           step->feed_mm_per_s, least);
    }
}

/* Once the wheel is up there, nothing but the end may follow. */
static void check_ending(const struct tw_job *job, const struct tw_trace *trace, double clear_mm, struct tw_check *check)
{
    struct tw_spot end = { .line = trace->last_line };
    double origin_mm[3], height_mm;

    tw_check_ask(check, 0.0, "");
    if (!trace->ended) {
        tw_check_fault(check, end, "the program has no end (M2 or M30): it may have been cut short");
        return;
    }
    tw_trace_origin(&job->machine, &job->fixture.stations[job->parts - 1], origin_mm);
    height_mm = trace->end_mm[2] - origin_mm[2];
    if (height_mm < clear_mm)
        tw_check_fault(check, end, "ends with the wheel %.3f mm over the datum pad; %.3f mm would be clear of everything",
                       height_mm, clear_mm);
    if (trace->before_end.spindle != TW_RS274_SPINDLE_OFF)
        tw_check_fault(check, end, "the spindle is not stopped by M5 before the end");
    if (trace->before_end.mist || trace->before_end.flood)
        tw_check_fault(check, end, "the coolant is not stopped by M9 before the end");
}

/* Higher than everything: blank, blade, keep-outs. */
static double clear_height_mm(const struct tw_job *job, enum tw_side side)
{
    struct tw_face face = tw_face_of(job, side);
    double clear_mm = job->taper.ricasso_mm;

    for (size_t i = 0; i < job->part.tang.outer.count; i++) {
        double x_mm = job->part.tang.outer.points[i].x_mm * face.stretch + face.start_mm;

        clear_mm = fmax(clear_mm, tw_face_height_mm(&face, x_mm) + fmax(0.0, tw_face_stock_mm(&face, x_mm)));
    }
    for (size_t i = 0; i < job->fixture.keep_out_count; i++)
        clear_mm = fmax(clear_mm, job->fixture.keep_outs[i].top_mm);
    return clear_mm + fmin(job->travel.approach_mm, job->fixture.clearance_mm);
}

/* ---- time ---- */

static enum tw_status time_steps(const struct tw_job *job, const struct tw_trace *trace, double *cycle_time_s,
                                 struct tw_findings *findings)
{
    struct tw_motion_leg *legs = calloc(trace->count + 1, sizeof *legs);
    double *times_s = calloc(trace->count + 1, sizeof *times_s);
    enum tw_status status = legs && times_s ? TW_OK : tw_no_memory(findings);
    bool arrived = false; /* the way from wherever the machine was left to the first part is not counted */

    *cycle_time_s = 0.0;
    for (size_t i = 0; status == TW_OK && i < trace->count; i++) {
        const struct tw_step *step = &trace->steps[i];

        for (int k = 0; k < 3; k++)
            legs[i].by_mm[k] = step->to_mm[k] - step->from_mm[k];
        legs[i].feed_mm_per_s = step->kind == TW_STEP_FEED ? step->feed_mm_per_s : 0.0;
        legs[i].rest_after = step->stop_after || (i + 1 < trace->count && trace->steps[i + 1].kind == TW_STEP_DWELL);
    }
    if (status == TW_OK)
        status = tw_motion_times(&job->machine, legs, trace->count, trace->blended, times_s, findings);
    *cycle_time_s = 0.0;
    for (size_t i = 0; status == TW_OK && i < trace->count; i++) {
        if (trace->steps[i].kind == TW_STEP_DWELL)
            *cycle_time_s += trace->steps[i].dwell_s;
        else if (arrived)
            *cycle_time_s += times_s[i];
        arrived |= legs[i].by_mm[0] != 0.0 || legs[i].by_mm[1] != 0.0;
    }
    free(legs);
    free(times_s);
    return status;
}

/* ---- one program ---- */

static void lower(struct tw_trace *trace, double by_mm)
{
    for (size_t i = 0; i < trace->count; i++) {
        trace->steps[i].from_mm[2] -= by_mm;
        trace->steps[i].to_mm[2] -= by_mm;
    }
}

/* A lifted program is first run as it stands, and must touch nothing; then lowered again, when it must pass all that
 * an ordinary program must. */
static enum tw_status prove_fields(const struct tw_job *job, struct tw_trace *trace, double cell_mm,
                                   struct tw_proof *proof, struct tw_findings *findings)
{
    struct tw_check lift;
    enum tw_status status;

    if (proof->lift_mm <= 0.0)
        return tw_prove(job, trace, cell_mm, proof, findings);
    status = tw_prove(job, trace, cell_mm, proof, findings);
    if (status != TW_OK)
        return status;
    lift = proof->checks[TW_CHECK_LIFT];
    tw_check_note(&lift, 0.0, (struct tw_spot){ .line = trace->last_line });
    if (proof->checks[TW_CHECK_CONTACT].failed)
        tw_check_note(&lift, proof->checks[TW_CHECK_CONTACT].amount, (struct tw_spot){ .line = proof->checks[TW_CHECK_CONTACT].line });
    proof->removed_mm3 = 0.0;
    lower(trace, proof->lift_mm);
    proof->checks[TW_CHECK_LIFT].asked = false;
    status = tw_prove(job, trace, cell_mm, proof, findings);
    proof->checks[TW_CHECK_LIFT] = lift;
    lower(trace, -proof->lift_mm);
    return status;
}

static bool all_pass(const struct tw_proof *proof)
{
    for (int i = 0; i < TW_CHECK_COUNT; i++)
        if (proof->checks[i].asked && proof->checks[i].failed)
            return false;
    return true;
}

static enum tw_status prove_card(const struct tw_job *job, const struct tw_card *card, double cell_mm,
                                 struct tw_proof *proof, struct tw_findings *findings)
{
    struct tw_findings refusals = { 0 };
    struct tw_card_head head;
    struct tw_trace trace;
    enum tw_status status;

    tw_card_read(card, &head);
    proof->name = tw_copy_string(card->name);
    proof->side = tw_card_side(card, &head);
    proof->lift_mm = head.lift_mm;
    if (!proof->name)
        return tw_no_memory(findings);
    status = tw_trace_make(job, card->name, card->text, card->length, &trace, &refusals);
    answer_text(&refusals, trace.last_line, &proof->checks[TW_CHECK_TEXT]);
    tw_findings_free(&refusals);
    if (status == TW_BAD_INPUT)
        status = TW_OK; /* refused: the check says so, and what was read up to there is still looked at */
    tw_card_check(job, &head, proof->side, &proof->checks[TW_CHECK_CARD]);
    check_modes(job, &trace, &proof->checks[TW_CHECK_MODES]);
    check_offsets(job, &trace, &proof->checks[TW_CHECK_OFFSETS]);
    check_travel(job, &trace, &proof->checks[TW_CHECK_TRAVEL]);
    check_wheel_speed(job, &trace, &proof->checks[TW_CHECK_WHEEL_SPEED]);
    check_feed(job, &trace, &proof->checks[TW_CHECK_FEED]);
    check_ending(job, &trace, clear_height_mm(job, proof->side), &proof->checks[TW_CHECK_ENDING]);
    if (status == TW_OK)
        status = time_steps(job, &trace, &proof->cycle_time_s, findings);
    if (status == TW_OK)
        status = prove_fields(job, &trace, cell_mm, proof, findings);
    proof->cut = status == TW_OK && all_pass(proof);
    tw_trace_free(&trace);
    return status;
}

enum tw_status tw_verdict_make(const struct tw_job *job, const struct tw_card *cards, size_t card_count,
                               double cell_mm, struct tw_verdict *out, struct tw_findings *findings)
{
    enum tw_status status = TW_OK;

    *out = (struct tw_verdict){ .cut = true, .cell_mm = cell_mm > 0.0 ? cell_mm : tw_stand_cell_mm(job) };
    out->proofs = calloc(card_count ? card_count : 1, sizeof *out->proofs);
    if (!out->proofs)
        return tw_no_memory(findings);
    out->count = card_count;
    for (size_t i = 0; status == TW_OK && i < card_count; i++) {
        struct tw_proof *proof = &out->proofs[i];

        status = prove_card(job, &cards[i], out->cell_mm, proof, findings);
        out->cut &= proof->cut;
        out->cycle_time_s += proof->cycle_time_s;
        out->removed_mm3 += proof->removed_mm3;
        out->peak_degC = fmax(out->peak_degC, proof->peak_degC);
    }
    if (status != TW_OK)
        tw_verdict_free(out);
    return status;
}

void tw_verdict_free(struct tw_verdict *verdict)
{
    for (size_t i = 0; i < verdict->count; i++)
        free(verdict->proofs[i].name);
    free(verdict->proofs);
    *verdict = (struct tw_verdict){ 0 };
}
