/* beside.c - see beside.h. */
#include "verdict/beside.h"

#include "verdict/state.h"
#include "witness/passing.h"
#include "witness/task.h"

#include <math.h>
#include <stdio.h>

/* A wheel no higher than this over the stock is taken to rub on it. */
#define RUBBING_MM 0.005

/* A rapid that only goes up leaves the work alone. */
static bool only_rises(const double from_mm[3], const double to_mm[3])
{
    return from_mm[0] == to_mm[0] && from_mm[1] == to_mm[1] && to_mm[2] > from_mm[2];
}

/* What a wheel would touch on a path lower by `down_mm`: nothing is cut. */
static enum tw_status probe(struct tw_proving *proving, struct tw_sweep *sweep, const struct tw_wheel_body *body,
                            const double from_mm[3], const double to_mm[3], double down_mm, struct tw_removal *out)
{
    double low_from[3] = { from_mm[0], from_mm[1], from_mm[2] - down_mm };
    double low_to[3] = { to_mm[0], to_mm[1], to_mm[2] - down_mm };

    return tw_sweep_probe(sweep, body, low_from, low_to, out, proving->findings);
}

static const struct tw_box nowhere = { HUGE_VAL, HUGE_VAL, -HUGE_VAL, -HUGE_VAL };

static void refresh_near(struct tw_proving *proving)
{
    if (proving->stale.min_x_mm <= proving->stale.max_x_mm)
        tw_workpiece_refresh_near(proving->workpiece, proving->stale);
    proving->stale = nowhere;
}

enum tw_status tw_beside_rapid(struct tw_proving *proving, const struct tw_step *step, const double from_mm[3],
                               const double to_mm[3])
{
    struct tw_sweep *sweeps[3] = { proving->fine, proving->near, proving->coarse };
    bool low = fmin(from_mm[2], to_mm[2]) - proving->clearance_mm < proving->workpiece->top_mm;
    enum tw_status status;

    if (only_rises(from_mm, to_mm))
        return TW_OK;
    if (low)
        refresh_near(proving);
    for (int i = 0; i < 3; i++) {
        struct tw_removal removal;

        if (!sweeps[i] || (sweeps[i] == proving->near && !low))
            continue;
        status = probe(proving, sweeps[i], &proving->wide, from_mm, to_mm, proving->clearance_mm, &removal);
        if (status != TW_OK)
            return status;
        for (int kind = 0; kind < TW_CELL_KINDS; kind++) {
            const struct tw_touch *touch = &removal.contacts[kind];
            double place_mm[3] = { touch->x_mm, touch->y_mm, touch->z_mm + proving->clearance_mm };

            if (touch->depth_mm > 0.0 && kind != TW_CELL_TARGET)
                tw_check_note(&proving->proof->checks[TW_CHECK_RAPIDS], touch->depth_mm,
                              tw_proving_spot(proving, step, place_mm));
        }
    }
    return TW_OK;
}

void tw_beside_clearance(struct tw_proving *proving, const struct tw_step *step, const double from_mm[3],
                         const double to_mm[3])
{
    const struct tw_fixture *fixture = &proving->job->fixture;
    struct tw_check *check = &proving->proof->checks[TW_CHECK_CLEARANCE];

    if (step->kind == TW_STEP_RAPID || !proving->fixture || !check->asked)
        return;
    for (size_t i = 0; i < fixture->keep_out_count; i++) {
        const struct tw_keep_out *keep_out = &fixture->keep_outs[i];
        double way, place_mm[3], lacks_mm = fixture->clearance_mm;

        if (!tw_witness_stands(keep_out, proving->proof->side))
            continue;
        lacks_mm -= tw_witness_passing_mm(proving->job, keep_out, from_mm, to_mm, fixture->clearance_mm, &way);
        for (int k = 0; k < 3; k++)
            place_mm[k] = from_mm[k] + way * (to_mm[k] - from_mm[k]);
        if (lacks_mm > check->amount && lacks_mm > check->limit)
            snprintf(check->note, sizeof check->note, "%.3g mm from \"%.80s\"", fixture->clearance_mm - lacks_mm,
                     keep_out->name);
        tw_check_note(check, lacks_mm, tw_proving_spot(proving, step, place_mm));
    }
}

/* Whether it is too high to rub on anything. */
static bool is_high(const struct tw_proving *proving, const double from_mm[3], const double to_mm[3])
{
    return fmin(from_mm[2], to_mm[2]) - RUBBING_MM >= proving->workpiece->top_mm;
}

enum tw_status tw_beside_stock(struct tw_proving *proving, const double from_mm[3], const double to_mm[3],
                               struct tw_touch *out)
{
    struct tw_wheel_body body = tw_workpiece_wheel(proving->job, 0.0);
    struct tw_removal removal = { 0 };
    enum tw_status status;

    *out = (struct tw_touch){ 0 };
    if (is_high(proving, from_mm, to_mm))
        return TW_OK;
    refresh_near(proving);
    status = probe(proving, proving->near, &body, from_mm, to_mm, RUBBING_MM, &removal);
    if (status == TW_OK)
        *out = removal.contacts[TW_CELL_STOCK];
    return status;
}

enum tw_status tw_beside_rubbing(struct tw_proving *proving, const struct tw_step *step, const double from_mm[3],
                                 const double to_mm[3])
{
    struct tw_check ignored[TW_CHECK_COUNT] = { 0 };
    struct tw_spot spot = tw_proving_spot(proving, step, NULL);
    struct tw_touch touch;
    enum tw_status status;

    if (step->kind != TW_STEP_FEED || is_high(proving, from_mm, to_mm) ||
        tw_state_check(proving->job, step, spot, ignored))
        return TW_OK;
    status = tw_beside_stock(proving, from_mm, to_mm, &touch);
    if (touch.depth_mm > 0.0) {
        spot.place_mm = (double[3]){ touch.x_mm, touch.y_mm, touch.z_mm + RUBBING_MM };
        tw_state_check(proving->job, step, spot, proving->proof->checks);
    }
    return status;
}
