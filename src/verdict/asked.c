/* asked.c - see asked.h. */
#include "verdict/asked.h"

#include "base/numbers.h"
#include "verdict/finishing.h"
#include "verdict/proving.h"
#include "verdict/thermal_run.h"
#include "witness/hold.h"
#include "witness/task.h"

#include <math.h>

/* The wheel may come nearer to anything than its clearance by what rounded positions make. */
#define NEARER_MM 1e-3
/* Of what a wheel could hollow, in per cent, so much may stay: loops are thinned; a disc is not taken to strips that would
 * not be worth a trough. */
#define CUP_MISSES  1.0
#define DISC_MISSES 15.0

static double decimal_mm(const struct tw_job *job)
{
    const struct tw_dialect *dialect = &job->machine.dialect;

    return tw_last_decimal_mm(dialect->length_decimals, dialect->inch);
}

bool tw_finishes_face(enum tw_scope scope)
{
    return scope == TW_SCOPE_WHOLE || scope == TW_SCOPE_FINISH;
}

bool tw_wears_face(const struct tw_job *job, enum tw_scope scope)
{
    return tw_finishes_face(scope) && tw_grinding_ratio_of(job).least > 0.0;
}

bool tw_leaves_face(const struct tw_run *runs, size_t count, size_t index)
{
    enum tw_scope scope = runs[index].proof->scope;

    return index + 1 == count && (scope == TW_SCOPE_RELIEF ? index > 0 : scope != TW_SCOPE_ROUGH);
}

/* `leaves_face`: the side is finished after it. */
static void ask_all(const struct tw_job *job, struct tw_proof *proof, bool leaves_face)
{
    struct tw_check *checks = proof->checks;
    double decimals_mm = decimal_mm(job);

    tw_check_ask(&checks[TW_CHECK_SPINDLE], 0.0, "");
    tw_check_ask(&checks[TW_CHECK_COOLANT], 0.0, "");
    tw_check_ask(&checks[TW_CHECK_RAPIDS], NEARER_MM, "mm");
    tw_check_ask(&checks[TW_CHECK_CONTACT], TW_REMOVAL_TOUCH_MM, "mm");
    if (job->fixture.clearance_mm > 0.0 && job->fixture.keep_out_count > 0)
        tw_check_ask(&checks[TW_CHECK_CLEARANCE], NEARER_MM, "mm");
    tw_check_ask(&checks[TW_CHECK_DEPTH], job->wheel.max_infeed_mm + decimals_mm, "mm");
    tw_check_ask(&checks[TW_CHECK_POWER], job->machine.spindle_power_W * 1.001, "W");
    tw_check_ask(&checks[TW_CHECK_HOLDING], TW_HOLDING_SLACK * proof->holding_N[0], "N"); /* each part's own: found.c */
    tw_thermal_run_ask(job, proof);
    tw_check_ask(&checks[TW_CHECK_GOUGE], TW_GOUGE_MM, "mm");
    if (leaves_face) {
        tw_check_ask(&checks[TW_CHECK_STOCK_LEFT], job->finish.flatness_mm, "mm");
        tw_check_ask(&checks[TW_CHECK_FLATNESS], job->finish.flatness_mm, "mm");
    }
    if (tw_finishes_face(proof->scope) && job->finish.spark_out == TW_SPARK_OUT_AUTO) /* else the maker has decided */
        tw_check_ask(&checks[TW_CHECK_SPRING_BACK], job->finish.thickness_mm / 2.0, "mm");
    if (tw_wears_face(job, proof->scope))
        tw_check_ask(&checks[TW_CHECK_WEAR], job->finish.thickness_mm / 2.0, "mm");
    if (job->wheel.dress_after_mm3 > 0.0)
        tw_check_ask(&checks[TW_CHECK_DRESSING], job->wheel.dress_after_mm3, "mm3");
    if (proof->scope == TW_SCOPE_RELIEF)
        tw_check_ask(&checks[TW_CHECK_RELIEF], job->wheel.kind == TW_WHEEL_DISC ? DISC_MISSES : CUP_MISSES, "%");
    if (proof->lift_mm > 0.0)
        tw_check_ask(&checks[TW_CHECK_LIFT], 0.0, "mm");
    if (tw_finishing_applies(job, proof->scope))
        tw_check_ask(&checks[TW_CHECK_FINISHING], fmin(job->finish.infeed_mm, job->wheel.max_infeed_mm) + decimals_mm,
                     "mm");
}

/* Blanks of their own lie, and are packed, each in its own way. */
static enum tw_status find_holds(const struct tw_run *run, struct tw_findings *findings)
{
    int own_parts = run->job.blank_count > 0 ? run->job.parts : 1;
    double *holding_N = run->proof->holding_N;
    enum tw_status status = TW_OK;

    for (int part = 0; status == TW_OK && part < own_parts; part++) {
        struct tw_job own = tw_witness_part(&run->job, part);

        status = tw_witness_hold(&own, run->proof->side, &holding_N[part], findings);
    }
    for (int part = own_parts; part < TW_PROOF_PARTS_MOST; part++)
        holding_N[part] = holding_N[0];
    return status;
}

enum tw_status tw_asked_of_blank(const struct tw_run_blank *blank, size_t count, struct tw_findings *findings)
{
    struct tw_run *runs = blank->runs;
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < count; i++) {
        status = find_holds(&runs[i], findings);
        if (status == TW_OK)
            status = tw_witness_bends(&runs[i].job, runs[i].proof->side, &runs[i].job.task.bends_mm_per_N, findings);
        ask_all(&runs[i].job, runs[i].proof, tw_leaves_face(runs, count, i));
        runs[i].proof->peak_degC = blank->job->coolant.temperature_degC;
    }
    return status;
}
