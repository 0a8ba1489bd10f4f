/* kernel.c - four cells at a time, with the vector types gcc and clang share. Lane by lane each result is that of
 * plain float arithmetic, so it is the same on every machine. */
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
    struct removal_run run = { false, 0, -1, 0.0F };
    flags last_touched = { 0, 0, 0, 0 };
    floats below = zero;
    int i = 0, last_block = -1;

    for (; i + LANES <= count; i += LANES) {
        floats stock = load(stock_mm + i), floor = load(floor_mm + i), cut = stock - floor;
        flags is_cut = cut > zero, touched;

        if (!any(is_cut))
            continue;
        run.cut = true;
        store(stock_mm + i, choose(is_cut, floor, stock));
        cut = where(is_cut, cut);
        touched = cut > touch_mm;
        store(slots->sum_mm + slot + i, load(slots->sum_mm + slot + i) + cut);
        store(slots->depth_mm + slot + i, larger(load(slots->depth_mm + slot + i), cut));
        store(slots->cells + slot + i, load(slots->cells + slot + i) + where(touched, one));
        if (limit_mm)
            below = larger(below, where(is_cut, load(limit_mm + i) - floor));
        if (!any(touched))
            continue;
        if (last_block < 0)
            note_lanes(&run, touched, i);
        last_block = i;
        last_touched = touched;
    }
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

void removal_fill_ramp(float *floor_mm, int count, double from_mm, double step_mm, double z_mm, double slope)
{
    const floats lane = { 0.0F, 1.0F, 2.0F, 3.0F };
    const floats zero = { 0.0F, 0.0F, 0.0F, 0.0F };
    int i = 0;

    for (; i + LANES <= count; i += LANES) {
        floats run_mm = (float)(from_mm + i * step_mm) + lane * (float)step_mm;

        store(floor_mm + i, larger(run_mm, zero) * (float)slope + (float)z_mm);
    }
    for (; i < count; i++)
        floor_mm[i] = fmaxf((float)(from_mm + i * step_mm), 0.0F) * (float)slope + (float)z_mm;
}
