/* slices.c - when in the motion it was removed.
 *
 * The kernels put what they cut into slots, by where the wheel was when it was lowest over a cell. But a
 * cut takes time: a disc reaches a cell sqrt(2 R depth) ahead of being lowest over it, and cuts fastest at
 * first; a sinking face cuts evenly. Here each slot is spread back over the time it took, so that removal
 * adds up slice by slice. */
#include "base/memory.h"
#include "removal/sweep.h"

#include <math.h>

enum { MOST_SLICES = 1 << 20 };

/* What a slot holds, and between which times of the motion it was cut. */
struct share {
    double from_t, to_t, apex_t;
    enum removal_spread spread;
    double volume_mm3, depth_mm, contact_mm2;
};

/* The part of a share that falls between two times. Of a rolling cut, what was cut up to a time still e
 * before the lowest point is 1 - e^2 / l^2 of the whole. */
static double part_of(const struct share *share, double from_t, double to_t)
{
    double a = removal_larger(from_t, share->from_t), b = removal_smaller(to_t, share->to_t), apex = share->apex_t;
    double whole;

    if (share->spread != REMOVAL_ROLLING)
        return (b - a) / (share->to_t - share->from_t);
    whole = (apex - share->from_t) * (apex - share->from_t) - (apex - share->to_t) * (apex - share->to_t);
    return ((apex - a) * (apex - a) - (apex - b) * (apex - b)) / whole;
}

static void add(struct tw_slice *slice, const struct share *share, double part)
{
    slice->volume_mm3 += part * share->volume_mm3;
    slice->contact_mm2 += part * share->contact_mm2;
    slice->depth_mm = removal_larger(slice->depth_mm, share->depth_mm);
}

static void distribute(struct tw_slice *slices, int count, const struct share *share)
{
    int first = (int)removal_smaller(share->from_t * count, count - 1);
    int last = (int)removal_smaller(share->to_t * count, count - 1);

    if (first >= last || !(share->to_t > share->from_t)) {
        add(&slices[last], share, 1.0);
        return;
    }
    for (int i = first; i <= last; i++)
        add(&slices[i], share, part_of(share, (double)i / count, (double)(i + 1) / count));
}

static double clamp01(double t)
{
    return removal_smaller(removal_larger(t, 0.0), 1.0);
}

/* How long before its slot's time a cut began, as a fraction of the motion. */
static double duration_of(const struct tw_sweep *sweep, const struct removal_set *set, double t, double depth_mm)
{
    double run_mm = fabs(sweep->step_mm[0]), beyond_mm = removal_larger(0.0, t - 1.0) * run_mm;

    if (set->spread == REMOVAL_EVENLY && sweep->step_mm[2] != 0.0)
        return depth_mm / fabs(sweep->step_mm[2]);
    if (set->spread == REMOVAL_ROLLING)
        return sqrt(2.0 * sweep->parts[0].radius_mm * depth_mm + beyond_mm * beyond_mm) / run_mm;
    return 0.0;
}

static void slice_slot(struct tw_sweep *sweep, struct removal_set *set, int slot, struct tw_slice *slices, int count)
{
    double cell_mm2 = sweep->field->cell_mm * sweep->field->cell_mm;
    double time = set->first_t + slot * set->step_t, depth_mm = (double)set->slots.depth_mm[slot];
    double t = set->spread == REMOVAL_ROLLING ? time : clamp01(time);
    double duration = duration_of(sweep, set, t, depth_mm);
    struct share share = { .from_t = clamp01(t - duration),
                           .to_t = clamp01(t),
                           .apex_t = removal_larger(t, 0.0),
                           .spread = set->spread,
                           .volume_mm3 = (double)set->slots.sum_mm[slot] * cell_mm2,
                           .depth_mm = depth_mm > TW_REMOVAL_TOUCH_MM ? depth_mm : 0.0,
                           .contact_mm2 = (double)set->slots.cells[slot] * cell_mm2 };

    /* A disc's contact counts where a cell is finished; ahead of one that stops in the stock none is. */
    if (set->spread == REMOVAL_ROLLING) {
        if (t <= 1.0)
            slices[(int)removal_smaller(share.to_t * count, count - 1)].contact_mm2 += share.contact_mm2;
        share.contact_mm2 = 0.0;
    }
    sweep->cells += (long)set->slots.cells[slot]; /* a whole number */
    sweep->cells_since_look += (double)set->slots.cells[slot];
    distribute(slices, count, &share);
}

static void slice_set(struct tw_sweep *sweep, struct removal_set *set, struct tw_slice *slices, int count)
{
    for (int slot = set->from; slot < set->to; slot++) {
        if (set->slots.sum_mm[slot] > 0.0F && slices)
            slice_slot(sweep, set, slot, slices, count);
        set->slots.sum_mm[slot] = set->slots.depth_mm[slot] = set->slots.cells[slot] = 0.0F;
    }
}

static void forget_ranges(struct tw_sweep *sweep)
{
    for (int i = 0; i < 2; i++) {
        sweep->sets[i].from = sweep->slot_count;
        sweep->sets[i].to = 0;
    }
}

enum tw_status removal_slice(struct tw_sweep *sweep, double from, double to, struct tw_findings *findings)
{
    double length_mm = sweep->across_mm > 0.0 ? sweep->across_mm : fabs(sweep->step_mm[2]);
    int count = (int)fmin(fmax(ceil(length_mm / sweep->slice_mm - 1e-6), 1.0), MOST_SLICES);
    struct tw_slice *slices = NULL;

    if (!sweep->cut) {
        forget_ranges(sweep);
        return TW_OK;
    }
    if (tw_grow((void **)&sweep->slices, &sweep->slice_capacity, sweep->slice_count + (size_t)count, sizeof *slices)) {
        slices = sweep->slices + sweep->slice_count;
        sweep->slice_count += (size_t)count;
    }
    for (int i = 0; slices && i < count; i++)
        slices[i] =
            (struct tw_slice){ .from = from + (to - from) * i / count, .to = from + (to - from) * (i + 1) / count };
    for (int i = 0; i < 2; i++)
        slice_set(sweep, &sweep->sets[i], slices, count);
    forget_ranges(sweep);
    if (!slices)
        return tw_no_memory(findings);
    for (int i = 0; i < count; i++)
        slices[i].width_mm = sweep->across_mm > 0.0 ? slices[i].contact_mm2 / (sweep->across_mm / count) : 0.0;
    return TW_OK;
}
