/* left.c - see left.h. */
#include "verdict/left.h"

#include "geometry/ring.h"
#include "tangwright/rim.h"

#include <math.h>
#include <stdio.h>

/* How far beside a motion, seen from above, a place lies; *way: the part of the motion done when it is nearest. */
static double beside_mm(const struct tw_proving *proving, const struct tw_step *step, const double place_mm[3],
                        double *way)
{
    double by[2], off[2], length2 = 0.0, along = 0.0;

    for (int k = 0; k < 2; k++) {
        by[k] = step->to_mm[k] - step->from_mm[k];
        off[k] = place_mm[k] + proving->origin_mm[k] - step->from_mm[k];
        length2 += by[k] * by[k];
        along += by[k] * off[k];
    }
    *way = length2 > 0.0 ? fmin(1.0, fmax(0.0, along / length2)) : 1.0;
    return hypot(off[0] - *way * by[0], off[1] - *way * by[1]);
}

/* The line of the last feed that passed over a place lower than any before it: after it something is missing. */
static int line_that_left(const struct tw_proving *proving, const struct tw_trace *trace, const double place_mm[3])
{
    double lowest_mm = HUGE_VAL, reach_mm = proving->job->wheel.diameter_mm / 2.0, way;
    int line = trace->last_line;

    if (proving->job->wheel.kind == TW_WHEEL_DISC)
        reach_mm = proving->job->wheel.width_mm / 2.0;
    for (size_t i = 0; i < trace->count; i++) {
        const struct tw_step *step = &trace->steps[i];

        if (step->kind == TW_STEP_FEED && beside_mm(proving, step, place_mm, &way) <= reach_mm) {
            double z_mm = step->from_mm[2] + way * (step->to_mm[2] - step->from_mm[2]);

            if (z_mm < lowest_mm)
                line = step->line;
            lowest_mm = fmin(lowest_mm, z_mm);
        }
    }
    return line;
}

void tw_left_stock(struct tw_proving *proving, const struct tw_trace *trace)
{
    struct tw_check *checks = proving->proof->checks;
    struct tw_workpiece_result result = tw_workpiece_measure(proving->workpiece);
    struct tw_spot spot = { line_that_left(proving, trace, result.high_place_mm), proving->part, result.high_place_mm };
    struct tw_box tang = tw_ring_box(&proving->job->part.tang.outer);
    /* The field knows a flat rim only: what a head out of square leaves higher beside its lowest point comes on top. */
    double dish_mm = tw_rim_dish_mm(proving->job->wheel.diameter_mm, proving->job->machine.head_tilt_rad,
                                    tang.max_y_mm - tang.min_y_mm);

    tw_check_note(&checks[TW_CHECK_STOCK_LEFT], result.high_mm + dish_mm, spot);
    tw_check_note(&checks[TW_CHECK_FLATNESS], result.high_mm - result.low_mm + dish_mm, spot);
}

void tw_left_by_give(struct tw_proving *proving)
{
    struct tw_give *give = &proving->give;
    struct tw_check *check = &proving->proof->checks[TW_CHECK_SPRING_BACK];
    double place_mm[3] = { give->spot_mm[0], give->spot_mm[1],
                           tw_workpiece_stock_mm(proving->workpiece, give->spot_mm[0], give->spot_mm[1]) };

    tw_give_end(give);
    if (!give->passed)
        return;
    if (give->worst_mm - give->lowest_mm > check->amount)
        snprintf(check->note, sizeof check->note, "%.4f mm as the profiles say", give->stated_mm - give->lowest_mm);
    tw_check_note(check, give->worst_mm - give->lowest_mm,
                  (struct tw_spot){ 0, proving->part, isfinite(place_mm[2]) ? place_mm : NULL });
}

void tw_left_by_wear(struct tw_proving *proving)
{
    struct tw_workpiece_result result = tw_workpiece_measure(proving->workpiece);

    tw_check_note(&proving->proof->checks[TW_CHECK_WEAR],
                  tw_worn_off_mm(proving->worn, proving->worn_mm3, result.low_mm, result.high_mm),
                  (struct tw_spot){ 0, proving->part, result.high_place_mm });
}

void tw_left_gauges(struct tw_proving *proving)
{
    const struct tw_job *job = proving->job;
    const struct tw_witness_face *face = &proving->workpiece->face;
    double end_mm = tw_ring_box(&job->part.tang.outer).max_x_mm;

    for (int i = 0; i < TW_GAUGE_POINTS; i++) {
        struct tw_gauge *gauge = &proving->proof->gauges[i];
        double x_mm = end_mm * (0.02 + 0.96 * i / (TW_GAUGE_POINTS - 1));
        double setup_x_mm = tw_witness_place(face, (struct tw_point){ x_mm, 0.0 }).x_mm;
        double height_mm = tw_workpiece_height_mm(proving->workpiece, setup_x_mm);

        gauge->x_mm = x_mm;
        /* Where the taper takes less than the allowance, nothing comes off. */
        gauge->aim_mm = fmin(job->taper.ricasso_mm / 2.0, tw_witness_half_mm(face, x_mm));
        /* Turned back with the part, the face lies this high over the pad; the centre plane half a ricasso. */
        if (face->tilt_rad != 0.0)
            height_mm = (height_mm - setup_x_mm * tan(face->tilt_rad)) * cos(face->tilt_rad);
        gauge->half_mm = height_mm - job->taper.ricasso_mm / 2.0;
    }
}

void tw_left_in_relief(struct tw_proving *proving)
{
    struct tw_check *check = &proving->proof->checks[TW_CHECK_RELIEF];
    double place_mm[3];
    double missing = tw_workpiece_measure_relief(proving->workpiece, place_mm);

    tw_check_note(check, 100.0 * missing, (struct tw_spot){ 0, proving->part, place_mm });
}
