/* thermal_run.c - the temperatures of one part while its program runs. */
#include "verdict/thermal_run.h"

#include "base/memory.h"
#include "verdict/record.h"
#include "verdict/state.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* After the last pass the tang is looked at so soon: later it only cools. */
#define LOOK_BEHIND_S 2.0

/* ---- the limits ---- */

static struct tw_temper_limit temper_limit(const struct tw_job *job)
{
    return tw_temper_limit_of(job->limits.tempering_degC, job->limits.margin_K, job->limits.tempering_s,
                              job->steel.temper_constant);
}

void tw_thermal_run_ask(const struct tw_job *job, struct tw_proof *proof)
{
    double limit_degC = job->limits.tempering_degC - job->limits.margin_K;
    bool equivalent = job->limits.flash == TW_FLASH_EQUIVALENT;
    struct tw_proof_heat *heat = &proof->heat;

    *heat = (struct tw_proof_heat){ .used = job->limits.flash,
                                    .limit_degC = limit_degC,
                                    .cap_degC = fmax(TW_TEMPER_CAP_degC, limit_degC),
                                    .reserve_degC = job->coolant.temperature_degC,
                                    .bulk_degC = job->coolant.temperature_degC,
                                    .tempered_degC = job->coolant.temperature_degC };
    tw_check_ask(&proof->checks[TW_CHECK_TEMPERATURE], equivalent ? heat->cap_degC : limit_degC, "degC");
    tw_check_ask(&proof->checks[TW_CHECK_BULK], limit_degC, "degC");
    tw_check_ask(&proof->checks[TW_CHECK_HEAT], TW_SECOND_HEAT_APART, "%");
    if (job->coolant.kind != TW_COOLANT_DRY)
        tw_check_ask(&proof->checks[TW_CHECK_FILM], 100.0 / job->limits.film_reserve, "%");
    if (equivalent)
        tw_check_ask(&proof->checks[TW_CHECK_TEMPERING], limit_degC, "degC");
}

void tw_thermal_run_compare(double peak_degC, struct tw_proof_heat *heat)
{
    bool cool = heat->bulk_degC <= heat->limit_degC;

    heat->strict_allows = cool && peak_degC <= heat->limit_degC;
    heat->equivalent_allows = cool && peak_degC <= heat->cap_degC && heat->tempered_degC <= heat->limit_degC;
}

/* ---- one part ---- */

static const struct tw_history_box nowhere = { HUGE_VAL, -HUGE_VAL, HUGE_VAL, -HUGE_VAL };
static const struct tw_history_box everywhere = { -HUGE_VAL, HUGE_VAL, -HUGE_VAL, HUGE_VAL };

static struct tw_underside underside_of(const struct tw_job *job, const struct tw_face *face)
{
    return (struct tw_underside){ tan(face->tilt_rad), cos(face->tilt_rad),
                                  face->start_mm + tw_warm_underside_from_mm(job, face),
                                  tw_warm_underside_slope(job, face) };
}

/* What is left of the part at a place: the field's height over the underside, which lies on the pad, tilted with the
 * part, and on side B rises from the taper start on. */
static double left_mm(void *context, double x_mm, double y_mm)
{
    const struct tw_thermal_run *thermal = context;
    const struct tw_underside *under = &thermal->underside;
    double height_mm = tw_workpiece_stock_mm(thermal->workpiece, x_mm, y_mm), past_mm = x_mm - under->begin_mm;
    double underside_mm = x_mm * under->tilt + (past_mm > 0.0 ? past_mm : 0.0) * under->rise;

    return (height_mm - underside_mm) * under->cosine - thermal->job->task.hollowed_mm;
}

static enum tw_status set_left(struct tw_thermal_run *thermal)
{
    struct tw_history_box box = thermal->lowered;
    enum tw_status status = tw_history_set_left_in(thermal->history, &box, left_mm, thermal, thermal->findings);

    thermal->lowered = nowhere;
    return status;
}

enum tw_status tw_thermal_run_open(const struct tw_job *job, const struct tw_workpiece *workpiece, bool cut,
                                   bool over_ground, struct tw_proof *proof, struct tw_thermal_run *out,
                                   struct tw_findings *findings)
{
    struct tw_outline tang = { 0 }, blade = { 0 };
    struct tw_face face = tw_face_of(job, workpiece->face.side);
    enum tw_status status = tw_face_outline(&face, &job->part.tang, &tang, findings);

    *out = (struct tw_thermal_run){ .job = job,
                                    .workpiece = workpiece,
                                    .face = face,
                                    .temper = temper_limit(job),
                                    .heat = &proof->heat,
                                    .checks = proof->checks,
                                    .lowered = everywhere,
                                    .findings = findings };
    out->face.over_ground |= over_ground;
    out->underside = underside_of(job, &out->face);
    out->second =
        tw_second_heat_open(job, out->face.over_ground, tw_face_lean(job, &out->face), &proof->checks[TW_CHECK_HEAT]);
    if (status == TW_OK)
        status = tw_warm_blade(job, &face, &blade, findings);
    if (status == TW_OK)
        status = tw_warm_history(job, &out->face, &tang, &blade, 0.0, &out->history, findings);
    if (status == TW_OK)
        status = tw_second_heat_follow(&out->second, out->history, findings);
    if (status == TW_OK && cut)
        status = set_left(out);
    tw_outline_free(&tang);
    tw_outline_free(&blade);
    return status;
}

void tw_thermal_run_close(struct tw_thermal_run *thermal)
{
    tw_history_close(thermal->history);
    tw_second_heat_close(&thermal->second);
    free(thermal->pieces);
    *thermal = (struct tw_thermal_run){ 0 };
}

/* Time of a pass that its pieces do not account for: ramps, and the way off the part. */
static double idle_s(const struct tw_thermal_run *thermal)
{
    double cutting_s = 0.0;

    for (size_t i = 0; i < thermal->piece_count; i++) {
        const struct tw_history_piece *piece = &thermal->pieces[i];

        cutting_s +=
            hypot(piece->to_mm[0] - piece->from_mm[0], piece->to_mm[1] - piece->from_mm[1]) / piece->table_mm_per_s;
    }
    return fmax(0.0, thermal->pass.time_s - cutting_s);
}

/* Of what is with the reserve, and with the wheel's own energy where the film is at the lower end of its range, the hotter counts. */
static void note_hotter(struct tw_check *check, double degC, double least_degC, struct tw_spot spot)
{
    double hotter_degC = fmax(degC, least_degC);

    if (hotter_degC > check->amount)
        snprintf(check->note, sizeof check->note, "%s",
                 least_degC > degC ? "where the coolant's film is at the lower end of its range" : "");
    tw_check_note(check, hotter_degC, spot);
}

/* The highest that the tang itself has been so far: found while the part waited, it is the doing of the pass before. */
static void note_bulk(struct tw_thermal_run *thermal, double bulk_degC, double least_degC, struct tw_spot spot)
{
    thermal->heat->bulk_degC = fmax(thermal->heat->bulk_degC, bulk_degC);
    note_hotter(&thermal->checks[TW_CHECK_BULK], bulk_degC, least_degC, spot);
}

static void note_tempering(struct tw_thermal_run *thermal, double degC, const double place_mm[2], struct tw_spot spot)
{
    double at_mm[3] = { place_mm[0], place_mm[1], tw_workpiece_stock_mm(thermal->workpiece, place_mm[0], place_mm[1]) };

    spot.place_mm = isfinite(at_mm[2]) ? at_mm : NULL;
    thermal->heat->tempered_degC = fmax(thermal->heat->tempered_degC, degC);
    tw_check_note(&thermal->checks[TW_CHECK_TEMPERING], degC, spot);
}

/* The history counts a pass as tempering when the next one begins. */
static void note_pass_before(struct tw_thermal_run *thermal)
{
    double place_mm[2];
    double degC = tw_history_tempered_degC(thermal->history, &thermal->temper, place_mm);

    note_tempering(thermal, degC, place_mm, thermal->last);
}

static void keep_spot(struct tw_thermal_run *thermal, struct tw_spot spot, const double place_mm[2])
{
    thermal->last_mm[0] = place_mm[0];
    thermal->last_mm[1] = place_mm[1];
    thermal->last_mm[2] = tw_workpiece_stock_mm(thermal->workpiece, place_mm[0], place_mm[1]);
    thermal->last = spot;
    thermal->last.place_mm = isfinite(thermal->last_mm[2]) ? thermal->last_mm : NULL;
}

static enum tw_status record_pass(struct tw_thermal_run *thermal, const struct tw_history_peak *peak)
{
    const struct tw_history *history = thermal->history;
    double bulk_degC = tw_history_expected_degC(history, tw_history_bulk_degC(history));

    if (!thermal->record)
        return TW_OK;
    return tw_record_pass(thermal->record,
                          (struct tw_proof_pass){ .line = thermal->pass.spot.line,
                                                  .time_s = tw_history_clock_s(history),
                                                  .peak_degC = peak->expected.degC,
                                                  .reserve_degC = peak->degC,
                                                  .bulk_degC = bulk_degC },
                          thermal->findings);
}

static enum tw_status wait(struct tw_thermal_run *thermal, double time_s)
{
    enum tw_status status = tw_history_wait(thermal->history, time_s, thermal->findings);
    double bulk_degC = tw_history_highest_bulk_degC(thermal->history);

    if (status == TW_OK)
        note_bulk(thermal, bulk_degC, tw_history_least_film_degC(thermal->history, bulk_degC), thermal->last);
    return status;
}

/* How much of the energy at which its film boils the wheel's own is, where the pass would be too hot without the film. */
static void note_film(struct tw_thermal_run *thermal, const struct tw_history_peak *peak)
{
    struct tw_check *check = &thermal->checks[TW_CHECK_FILM];
    double counted = tw_film_counted_times(peak->film_times, peak->film_least_times, thermal->job->limits.film_reserve);
    double without_K = peak->dry_degC - thermal->checks[TW_CHECK_TEMPERATURE].limit;

    if (!check->asked || !isfinite(peak->film_times) || without_K <= 0.0)
        return;
    if (100.0 / counted > check->limit)
        check->without_K = fmax(check->without_K, without_K);
    if (100.0 / counted > check->amount)
        snprintf(
            check->note, sizeof check->note,
            "it boils at %.2f times the wheel's energy, at %.2f times where it takes the least of its range; without "
            "it %.0f degC",
            peak->film_times, peak->film_least_times, peak->dry_degC);
    tw_check_note(check, 100.0 / counted, thermal->last);
}

static enum tw_status run_pass(struct tw_thermal_run *thermal)
{
    double idle = idle_s(thermal) / 2.0;
    struct tw_history_peak peak = { 0 };
    enum tw_status status = wait(thermal, thermal->waiting_s + idle);
    size_t count = thermal->piece_count;

    thermal->waiting_s = idle;
    thermal->piece_count = 0;
    if (status == TW_OK) {
        tw_second_heat_pieces(&thermal->second, thermal->pieces, count);
        status = tw_history_pass(thermal->history, thermal->pieces, count, &peak, thermal->findings);
    }
    if (status != TW_OK)
        return status;
    note_pass_before(thermal);
    thermal->pass.spot.line = peak.tag;
    keep_spot(thermal, thermal->pass.spot, peak.place_mm);
    thermal->heat->reserve_degC = fmax(thermal->heat->reserve_degC, peak.degC);
    note_hotter(&thermal->checks[TW_CHECK_TEMPERATURE], peak.degC, peak.least_degC, thermal->last);
    note_film(thermal, &peak);
    tw_second_heat_peak(&thermal->second, &peak, thermal->last);
    note_bulk(thermal, peak.highest_bulk_degC, peak.least_bulk_degC, thermal->last);
    thermal->peak_degC = fmax(thermal->peak_degC, peak.expected.degC);
    status = record_pass(thermal, &peak);
    return status == TW_OK ? set_left(thermal) : status;
}

/* Lines written one after the other go straight on when they turn by no more than this: their ends are rounded. */
#define STRAIGHT_SINE 1e-4

static bool goes_straight_on(const struct tw_step *before, const struct tw_step *step)
{
    double a[3], b[3], dot = 0.0, a2 = 0.0, b2 = 0.0;

    for (int k = 0; k < 3; k++) {
        a[k] = before->to_mm[k] - before->from_mm[k];
        b[k] = step->to_mm[k] - step->from_mm[k];
        dot += a[k] * b[k];
        a2 += a[k] * a[k];
        b2 += b[k] * b[k];
    }
    return dot > 0.0 && a2 * b2 - dot * dot <= STRAIGHT_SINE * STRAIGHT_SINE * a2 * b2;
}

static bool carries_on(const struct tw_step *before, const struct tw_step *step)
{
    return step->kind == before->kind && step->kind != TW_STEP_DWELL && step->feed_mm_per_s == before->feed_mm_per_s &&
           step->spindle == before->spindle && step->spindle_rpm == before->spindle_rpm &&
           goes_straight_on(before, step);
}

enum tw_status tw_thermal_run_ready(struct tw_thermal_run *thermal, const struct tw_step *step)
{
    return thermal->piece_count > 0 && !carries_on(&thermal->pass.step, step) ? run_pass(thermal) : TW_OK;
}

enum tw_status tw_thermal_run_end(struct tw_thermal_run *thermal)
{
    enum tw_status status = thermal->piece_count > 0 ? run_pass(thermal) : TW_OK;
    struct tw_tempering all;

    if (status == TW_OK)
        status = wait(thermal, fmin(thermal->waiting_s, LOOK_BEHIND_S));
    thermal->waiting_s = 0.0;
    tw_history_tempering(thermal->history, &thermal->temper, &all);
    note_tempering(thermal, fmax(all.equivalent_degC[0], all.equivalent_degC[1]), all.place_mm, thermal->last);
    if (status == TW_OK)
        status = tw_second_heat_end(&thermal->second, thermal->history, thermal->workpiece, thermal->findings);
    return status;
}

static void note_ground(struct tw_thermal_run *thermal, const struct tw_removal *removal)
{
    struct tw_history_box *box = &thermal->lowered;

    tw_second_heat_place(&thermal->second, removal);
    box->x_from_mm = fmin(box->x_from_mm, removal->lower_x_from_mm);
    box->x_to_mm = fmax(box->x_to_mm, removal->lower_x_to_mm);
    box->y_from_mm = fmin(box->y_from_mm, removal->lower_y_from_mm);
    box->y_to_mm = fmax(box->y_to_mm, removal->lower_y_to_mm);
}

enum tw_status tw_thermal_run_step(struct tw_thermal_run *thermal, const struct tw_step *step, const double from_mm[3],
                                   const double to_mm[3], const struct tw_removal *removal, struct tw_spot spot)
{
    double wheel = tw_state_wheel_mm_per_s(thermal->job, step);
    double table = step->kind == TW_STEP_FEED ? step->feed_mm_per_s : thermal->job->machine.along.rapid_mm_per_s;
    size_t count = 0;

    if (removal && removal->volume_mm3 > 0.0)
        note_ground(thermal, removal);
    if (removal && removal->slice_count > 0 && wheel > 0.0 && step->kind != TW_STEP_DWELL) {
        if (!tw_grow((void **)&thermal->pieces, &thermal->piece_capacity, thermal->piece_count + removal->slice_count,
                     sizeof *thermal->pieces))
            return tw_no_memory(thermal->findings);
        count = tw_warm_pieces(&thermal->job->wheel, from_mm, to_mm, removal, table, wheel, step->line,
                               thermal->pieces + thermal->piece_count);
    }
    if (thermal->piece_count == 0 && count == 0) {
        thermal->waiting_s += step->time_s;
        return TW_OK;
    }
    if (thermal->piece_count == 0)
        thermal->pass = (struct tw_thermal_run_pass){ .spot = spot };
    thermal->pass.step = *step;
    thermal->pass.time_s += step->time_s;
    thermal->piece_count += count;
    return TW_OK;
}
