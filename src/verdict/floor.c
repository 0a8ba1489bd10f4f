/* floor.c - the plane of the pads, below which the wheel has no business anywhere. */
#include "verdict/floor.h"

#include "geometry/ring.h"
#include "tangwright/removal.h"
#include "witness/task.h"

#include <math.h>
#include <stdio.h>

static void widen(struct tw_floor *floor, const struct tw_ring *ring, double by_mm)
{
    struct tw_box box;

    if (ring->count == 0)
        return;
    box = tw_ring_box(ring);
    floor->low_mm[0] = fmin(floor->low_mm[0], box.min_x_mm - by_mm);
    floor->low_mm[1] = fmin(floor->low_mm[1], box.min_y_mm - by_mm);
    floor->high_mm[0] = fmax(floor->high_mm[0], box.max_x_mm + by_mm);
    floor->high_mm[1] = fmax(floor->high_mm[1], box.max_y_mm + by_mm);
}

struct tw_floor tw_floor_of(const struct tw_job *job, int part)
{
    struct tw_floor floor = { { HUGE_VAL, HUGE_VAL }, { -HUGE_VAL, -HUGE_VAL }, tw_witness_floor_mm(job, part) };
    double reach_mm = fmax(job->wheel.diameter_mm, job->machine.spindle_nose_diameter_mm) / 2.0 + job->wheel.width_mm;

    widen(&floor, &job->part.tang.outer, reach_mm);
    widen(&floor, &job->part.blade.outer, reach_mm);
    for (size_t i = 0; i < job->fixture.keep_out_count; i++)
        widen(&floor, &job->fixture.keep_outs[i].plan, reach_mm);
    return floor;
}

/* The rectangle round the motion, which is no smaller than its way. */
static bool passes_over(const struct tw_floor *floor, const double from_mm[3], const double to_mm[3])
{
    for (int k = 0; k < 2; k++)
        if (fmax(from_mm[k], to_mm[k]) < floor->low_mm[k] || fmin(from_mm[k], to_mm[k]) > floor->high_mm[k])
            return false;
    return true;
}

static bool only_rises(const double from_mm[3], const double to_mm[3])
{
    return from_mm[0] == to_mm[0] && from_mm[1] == to_mm[1] && to_mm[2] > from_mm[2];
}

void tw_floor_check(const struct tw_floor *floor, const struct tw_step *step, const double from_mm[3],
                    const double to_mm[3], double clearance_mm, struct tw_spot spot,
                    struct tw_check checks[TW_CHECK_COUNT])
{
    double plane_mm = passes_over(floor, from_mm, to_mm) ? 0.0 : floor->elsewhere_mm;
    double below_mm = plane_mm - fmin(from_mm[2], to_mm[2]);
    struct tw_check *contact = &checks[TW_CHECK_CONTACT];

    spot.place_mm = from_mm[2] < to_mm[2] ? from_mm : to_mm;
    if (below_mm > fmax(contact->amount, TW_REMOVAL_TOUCH_MM))
        snprintf(contact->note, sizeof contact->note, "the pads' plane; plate and table count as solid in it");
    if (below_mm > 0.0)
        tw_check_note(contact, below_mm, spot);
    if (below_mm > 0.0)
        tw_check_note(&checks[TW_CHECK_LIFT], below_mm, spot);
    if (step->kind == TW_STEP_RAPID && below_mm + clearance_mm > 0.0 && !only_rises(from_mm, to_mm))
        tw_check_note(&checks[TW_CHECK_RAPIDS], below_mm + clearance_mm, spot);
}
