/* kernel.c - several cells at a time, with the vector types gcc and clang share. Lane by lane each result is
 * that of plain float arithmetic, so it is the same on every machine. Macros, as functions could not hand such vectors on
 * where the machine has no registers for them. */
#include "removal/kernel.h"

#include "tangwright/removal.h"

#include <math.h>
#include <stdint.h>
#include <string.h>

enum { LANES = 8 };

typedef float floats __attribute__((vector_size(32), aligned(sizeof(float)), may_alias));
typedef int32_t flags __attribute__((vector_size(32))); /* all bits of a lane set: true */
typedef int64_t halves __attribute__((vector_size(32)));

#define LOAD(from)         (*(const floats *)(from))
#define STORE(to, value)   (*(floats *)(to) = (value))
#define WHERE(f, value)    ((floats)((flags)(value) & (f)))
#define CHOOSE(f, yes, no) ((floats)(((flags)(yes) & (f)) | ((flags)(no) & ~(f))))
#define LARGER(a, b)       CHOOSE((a) > (b), a, b)
#define ANY(f)             (((((halves)(f))[0] | ((halves)(f))[1]) | (((halves)(f))[2] | ((halves)(f))[3])) != 0)

static float largest_of(const float *lanes)
{
    float largest = lanes[0];

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

/* The exact first and last cell of a block of lanes that was touched, by the depths cut. */
static void note_lanes(struct removal_run *run, const float *cut_mm, int i)
{
    for (int lane = 0; lane < LANES; lane++)
        if (cut_mm[lane] > touch_mm)
            note_touched(run, i + lane);
}

REMOVAL_IN_VECTORS
struct removal_run removal_cut(float *stock_mm, const float *floor_mm, const float *limit_mm, int count,
                               const struct removal_slots *slots, int slot)
{
    const floats zero = { 0.0F }, one = { 1.0F, 1.0F, 1.0F, 1.0F, 1.0F, 1.0F, 1.0F, 1.0F };
    float *sum_mm = slots->sum_mm + slot, *depth_mm = slots->depth_mm + slot, *cells = slots->cells + slot;
    struct removal_run run = { false, 0, -1, 0.0F };
    int i = 0, first_block = -1, last_block = -1;
    float first_cut_mm[LANES], last_cut_mm[LANES], below_mm[LANES];
    floats below = zero;

    for (; i + LANES <= count; i += LANES) {
        floats stock = LOAD(stock_mm + i), floor = LOAD(floor_mm + i), cut = stock - floor;
        flags is_cut = cut > zero, touched;

        if (!ANY(is_cut))
            continue;
        STORE(stock_mm + i, CHOOSE(is_cut, floor, stock));
        cut = WHERE(is_cut, cut);
        touched = cut > touch_mm;
        STORE(sum_mm + i, LOAD(sum_mm + i) + cut);
        STORE(depth_mm + i, LARGER(LOAD(depth_mm + i), cut));
        STORE(cells + i, LOAD(cells + i) + WHERE(touched, one));
        if (limit_mm) {
            floats under = WHERE(is_cut, LOAD(limit_mm + i) - floor);

            below = LARGER(below, under);
        }
        run.cut = true;
        if (!ANY(touched))
            continue;
        if (first_block < 0) {
            first_block = i;
            STORE(first_cut_mm, cut);
        }
        last_block = i;
        STORE(last_cut_mm, cut);
    }
    if (first_block >= 0) {
        note_lanes(&run, first_cut_mm, first_block);
        note_lanes(&run, last_cut_mm, last_block);
    }
    STORE(below_mm, below);
    run.below_limit_mm = largest_of(below_mm);
    for (; i < count; i++)
        cut_one(stock_mm + i, floor_mm[i], limit_mm ? limit_mm + i : NULL, i, slots, slot + i, &run);
    return run;
}

REMOVAL_IN_VECTORS
float removal_penetration(const float *top_mm, const float *floor_mm, int count)
{
    floats deepest = { 0.0F };
    float lanes_mm[LANES], result;
    int i = 0;

    for (; i + LANES <= count; i += LANES) {
        floats depth = LOAD(top_mm + i) - LOAD(floor_mm + i);

        deepest = LARGER(deepest, depth);
    }
    STORE(lanes_mm, deepest);
    result = largest_of(lanes_mm);
    for (; i < count; i++)
        result = fmaxf(result, top_mm[i] - floor_mm[i]);
    return result;
}

REMOVAL_IN_VECTORS
float removal_highest(const float *heights_mm, int count)
{
    floats highest = { 0.0F };
    float lanes_mm[LANES], result;
    int i = 0;

    highest += -INFINITY;
    for (; i + LANES <= count; i += LANES)
        highest = LARGER(LOAD(heights_mm + i), highest);
    STORE(lanes_mm, highest);
    result = largest_of(lanes_mm);
    for (; i < count; i++)
        result = heights_mm[i] > result ? heights_mm[i] : result;
    return result;
}

REMOVAL_IN_VECTORS
int removal_next_above(const float *one_mm, const float *other_mm, int from, int to, float low_mm)
{
    int i = from;

    while (i + LANES <= to && !ANY((LOAD(one_mm + i) > low_mm) | (LOAD(other_mm + i) > low_mm)))
        i += LANES;
    while (i < to && !(one_mm[i] > low_mm) && !(other_mm[i] > low_mm))
        i++;
    return i;
}

REMOVAL_IN_VECTORS
void removal_fill_ramp(float *floor_mm, int count, double from_mm, double step_mm, double z_mm, double slope)
{
    const floats zero = { 0.0F };
    const float from = (float)from_mm, step = (float)step_mm, z = (float)z_mm, rate = (float)slope;
    floats index = { 0.0F, 1.0F, 2.0F, 3.0F, 4.0F, 5.0F, 6.0F, 7.0F };
    int i = 0;

    for (; i + LANES <= count; i += LANES) {
        floats run = from + index * step;

        STORE(floor_mm + i, LARGER(run, zero) * rate + z);
        index += (float)LANES;
    }
    for (; i < count; i++) {
        float run_mm = from + (float)i * step;

        floor_mm[i] = (run_mm > 0.0F ? run_mm : 0.0F) * rate + z;
    }
}
