/* kernel.c - four cells at a time, with the vector types gcc and clang share. Lane by lane each result is
 * that of plain float arithmetic, so it is the same on every machine. */
#include "removal/kernel.h"

#include "tangwright/removal.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

enum { LANES = 4 };

typedef float floats __attribute__((vector_size(16)));
typedef int32_t flags __attribute__((vector_size(16))); /* all bits of a lane set: true */

static inline floats load(const float *from)
{
    floats out;

    memcpy(&out, from, sizeof out);
    return out;
}

static inline void store(float *to, floats value)
{
    memcpy(to, &value, sizeof value);
}

static inline bool any(flags f)
{
    uint64_t halves[2];

    memcpy(halves, &f, sizeof halves);
    return (halves[0] | halves[1]) != 0;
}

static inline floats choose(flags f, floats yes, floats no)
{
    return (floats)(((flags)yes & f) | ((flags)no & ~f));
}

static inline floats where(flags f, floats value)
{
    return (floats)((flags)value & f);
}

static inline floats larger(floats a, floats b)
{
    return choose(a > b, a, b);
}

static float largest_lane(floats v)
{
    float lanes[LANES], largest;

    memcpy(lanes, &v, sizeof lanes);
    largest = lanes[0];
    for (int i = 1; i < LANES; i++)
        largest = lanes[i] > largest ? lanes[i] : largest;
    return largest;
}

static const float touch_mm = (float)TW_REMOVAL_TOUCH_MM;

static void note_touched(struct removal_run *run, int i)
{
    if (run->last < run->first)
        run->first = i;
    run->last = i;
}

static void cut_one(float *stock_mm, float floor_mm, const float *limit_mm, int i, const struct removal_slots *slots,
                    int slot, struct removal_run *run)
{
    float cut_mm = *stock_mm - floor_mm;

    if (!(cut_mm > 0.0F))
        return;
    *stock_mm = floor_mm;
    run->cut = true;
    slots->sum_mm[slot] += cut_mm;
    if (cut_mm > slots->depth_mm[slot])
        slots->depth_mm[slot] = cut_mm;
    if (cut_mm > touch_mm) {
        slots->cells[slot] += 1.0F;
        note_touched(run, i);
    }
    if (limit_mm && *limit_mm - floor_mm > run->below_limit_mm)
        run->below_limit_mm = *limit_mm - floor_mm;
}

/* The exact first and last cell of the lanes that were touched. */
static void note_lanes(struct removal_run *run, flags touched, int i)
{
    for (int lane = 0; lane < LANES; lane++)
        if (touched[lane])
            note_touched(run, i + lane);
}

struct removal_run removal_cut(float *stock_mm, const float *floor_mm, const float *limit_mm, int count,
                               const struct removal_slots *slots, int slot)
{
    const floats zero = { 0.0F, 0.0F, 0.0F, 0.0F }, one = { 1.0F, 1.0F, 1.0F, 1.0F };
    float *sum_mm = slots->sum_mm + slot, *depth_mm = slots->depth_mm + slot, *cells = slots->cells + slot;
    struct removal_run run = { false, 0, -1, 0.0F };
    int i = 0, first_block = -1, last_block = -1;
    flags first_touched = { 0, 0, 0, 0 }, last_touched = { 0, 0, 0, 0 };
    floats below = zero;

    for (; i + LANES <= count; i += LANES) {
        floats stock = load(stock_mm + i), floor = load(floor_mm + i), cut = stock - floor;
        flags is_cut = cut > zero, touched;

        if (!any(is_cut))
            continue;
        store(stock_mm + i, choose(is_cut, floor, stock));
        cut = where(is_cut, cut);
        touched = cut > touch_mm;
        store(sum_mm + i, load(sum_mm + i) + cut);
        store(depth_mm + i, larger(load(depth_mm + i), cut));
        store(cells + i, load(cells + i) + where(touched, one));
        if (limit_mm)
            below = larger(below, where(is_cut, load(limit_mm + i) - floor));
        run.cut = true;
        if (!any(touched))
            continue;
        if (first_block < 0) {
            first_block = i;
            first_touched = touched;
        }
        last_block = i;
        last_touched = touched;
    }
    if (first_block >= 0)
        note_lanes(&run, first_touched, first_block);
    if (last_block >= 0)
        note_lanes(&run, last_touched, last_block);
    run.below_limit_mm = largest_lane(below);
    for (; i < count; i++)
        cut_one(stock_mm + i, floor_mm[i], limit_mm ? limit_mm + i : NULL, i, slots, slot + i, &run);
    return run;
}

float removal_penetration(const float *top_mm, const float *floor_mm, int count)
{
    floats deepest = { 0.0F, 0.0F, 0.0F, 0.0F };
    float result;
    int i = 0;

    for (; i + LANES <= count; i += LANES)
        deepest = larger(deepest, load(top_mm + i) - load(floor_mm + i));
    result = largest_lane(deepest);
    for (; i < count; i++)
        result = fmaxf(result, top_mm[i] - floor_mm[i]);
    return result;
}

int removal_next_above(const float *one_mm, const float *other_mm, int from, int to, float low_mm)
{
    int i = from;

    while (i + LANES <= to && !any((load(one_mm + i) > low_mm) | (load(other_mm + i) > low_mm)))
        i += LANES;
    while (i < to && !(one_mm[i] > low_mm) && !(other_mm[i] > low_mm))
        i++;
    return i;
}

void removal_fill_ramp(float *floor_mm, int count, double from_mm, double step_mm, double z_mm, double slope)
{
    const floats zero = { 0.0F, 0.0F, 0.0F, 0.0F }, lanes = { LANES, LANES, LANES, LANES };
    const float from = (float)from_mm, step = (float)step_mm, z = (float)z_mm, rate = (float)slope;
    floats index = { 0.0F, 1.0F, 2.0F, 3.0F };
    int i = 0;

    for (; i + LANES <= count; i += LANES) {
        store(floor_mm + i, larger(from + index * step, zero) * rate + z);
        index += lanes;
    }
    for (; i < count; i++) {
        float run_mm = from + (float)i * step;

        floor_mm[i] = (run_mm > 0.0F ? run_mm : 0.0F) * rate + z;
    }
}
