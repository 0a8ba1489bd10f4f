/* second_time.c - the cycle time once more. */
#include "verdict/second_time.h"

#include "witness/drive.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* Both reckon with the same machine, so only their rounding may differ: this share of all, and this in any case. */
#define APART_SHARE 1e-3
#define APART_S     0.01

static void set_legs(const struct tw_trace *trace, struct tw_witness_leg *legs)
{
    for (size_t i = 0; i < trace->count; i++) {
        const struct tw_step *step = &trace->steps[i];

        for (int k = 0; k < 3; k++)
            legs[i].by_mm[k] = step->to_mm[k] - step->from_mm[k];
        legs[i].feed_mm_per_s = step->kind == TW_STEP_FEED ? step->feed_mm_per_s : 0.0;
        legs[i].stands_after = step->stop_after || step->kind == TW_STEP_DWELL;
        if (i > 0 && step->kind == TW_STEP_DWELL)
            legs[i - 1].stands_after = true;
    }
}

/* From where the wheel first is over the part: how it comes there is the operator's. */
static double sum_s(const struct tw_trace *trace, const struct tw_witness_leg *legs)
{
    bool counts = false;
    double sum = 0.0;

    for (size_t i = 0; i < trace->count; i++) {
        if (trace->steps[i].kind == TW_STEP_DWELL)
            sum += trace->steps[i].dwell_s;
        else if (counts)
            sum += legs[i].time_s;
        counts |= legs[i].by_mm[0] != 0.0 || legs[i].by_mm[1] != 0.0;
    }
    return sum;
}

enum tw_status tw_second_time(const struct tw_job *job, const struct tw_trace *trace, double cycle_time_s,
                              struct tw_check *check, struct tw_findings *findings)
{
    struct tw_witness_leg *legs = calloc(trace->count + 1, sizeof *legs);
    struct tw_witness_fastest fastest = { 0 };
    enum tw_status status = legs ? TW_OK : tw_no_memory(findings);
    double own_s = 0.0;

    if (status == TW_OK) {
        set_legs(trace, legs);
        status = tw_witness_drive(&job->machine, trace->blended, legs, trace->count, &fastest, findings);
    }
    if (status == TW_OK)
        own_s = sum_s(trace, legs);
    free(legs);
    if (status != TW_OK)
        return status;
    tw_check_ask(check, APART_SHARE * own_s + APART_S, "s");
    if (fastest.share > 0.0)
        snprintf(check->note, sizeof check->note,
                 "%.2f s against %.2f s; the fastest axis, %c, reaches %.4g mm/s, %.0f %% of its own", cycle_time_s,
                 own_s, fastest.letter, fastest.mm_per_s, 100.0 * fastest.share);
    tw_check_note(check, fabs(cycle_time_s - own_s),
                  (struct tw_spot){ .line = fastest.share > 0.0 ? trace->steps[fastest.leg].line : 0 });
    return TW_OK;
}
