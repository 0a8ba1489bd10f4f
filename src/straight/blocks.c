/* blocks.c - gauge blocks, counted in whole steps of their set so that sums are exact. */
#include "tangwright/packing.h"

#include <math.h>

#define BLOCKS_MOST 90

/* `count` blocks from `first` on, each `step` larger; in steps of the set. */
struct series {
    int first, step, count;
};

struct set {
    const char *name;
    double step_mm;
    bool inch;
    struct series series[5];
};

/* In 0.0005 mm for 88, 0.001 mm for 87, 0.0001 in for 81 blocks. */
static const struct set sets[] = {
    [TW_BLOCKS_METRIC_87] = { "metric 87",
                              0.001,
                              false,
                              { { 1001, 1, 9 },
                                { 1010, 10, 49 },
                                { 500, 500, 19 },
                                { 10000, 10000, 10 },
                                { 0, 0, 0 } } },
    [TW_BLOCKS_METRIC_88] = { "metric 88",
                              0.0005,
                              false,
                              { { 2001, 1, 1 },
                                { 2002, 2, 9 },
                                { 2020, 20, 49 },
                                { 1000, 1000, 19 },
                                { 20000, 20000, 10 } } },
    [TW_BLOCKS_INCH_81] = { "inch 81",
                            0.00254,
                            true,
                            { { 1001, 1, 9 }, { 1010, 10, 49 }, { 500, 500, 19 }, { 10000, 10000, 4 }, { 0, 0, 0 } } },
};

struct blocks {
    int size[BLOCKS_MOST]; /* falling */
    int count;
    int left_out; /* index of a block that is in use elsewhere; -1: none */
};

static void sort_falling(struct blocks *blocks)
{
    for (int i = 1; i < blocks->count; i++) {
        int moved = blocks->size[i], j = i;

        for (; j > 0 && blocks->size[j - 1] < moved; j--)
            blocks->size[j] = blocks->size[j - 1];
        blocks->size[j] = moved;
    }
}

static struct blocks blocks_of(const struct set *set)
{
    struct blocks blocks = { .left_out = -1 };

    for (size_t i = 0; i < sizeof set->series / sizeof *set->series; i++)
        for (int k = 0; k < set->series[i].count; k++)
            blocks.size[blocks.count++] = set->series[i].first + k * set->series[i].step;
    sort_falling(&blocks);
    return blocks;
}

/* Picks `wanted` blocks from index `from` on whose sum is `steps`. */
static bool pick(const struct blocks *blocks, int from, int wanted, int steps, int *out)
{
    if (wanted == 0)
        return steps == 0;
    for (int i = from; i < blocks->count; i++) {
        if (i == blocks->left_out || blocks->size[i] > steps)
            continue;
        if ((long)blocks->size[i] * wanted < steps)
            return false; /* all that follow are smaller still */
        *out = i;
        if (pick(blocks, i + 1, wanted - 1, steps - blocks->size[i], out + 1))
            return true;
    }
    return false;
}

static void take(const struct set *set, const struct blocks *blocks, const int *picked, size_t count,
                 struct tw_stack *out)
{
    *out = (struct tw_stack){ .count = count };
    for (size_t i = 0; i < count; i++) {
        out->blocks_mm[i] = blocks->size[picked[i]] * set->step_mm;
        out->height_mm += out->blocks_mm[i];
    }
}

static bool one_stack(const struct set *set, struct blocks *blocks, int steps, struct tw_sine *out)
{
    int picked[TW_STACK_BLOCKS_MOST];

    for (int count = 1; count <= TW_STACK_BLOCKS_MOST; count++)
        if (pick(blocks, 0, count, steps, picked)) {
            take(set, blocks, picked, (size_t)count, &out->under_high);
            return true;
        }
    return false;
}

/* One block under the low roll, the fewest that are higher by the rise under the other. */
static bool two_stacks(const struct set *set, struct blocks *blocks, int steps, struct tw_sine *out)
{
    int picked[TW_STACK_BLOCKS_MOST];

    for (int count = 1; count <= TW_STACK_BLOCKS_MOST; count++)
        for (int low = blocks->count - 1; low >= 0; low--) {
            blocks->left_out = low;
            if (!pick(blocks, 0, count, steps + blocks->size[low], picked))
                continue;
            take(set, blocks, picked, (size_t)count, &out->under_high);
            take(set, blocks, &low, 1, &out->under_low);
            return true;
        }
    return false;
}

struct tw_sine tw_sine_stack(double bar_mm, double angle_rad, enum tw_block_set which)
{
    const struct set *set = &sets[which];
    struct blocks blocks = blocks_of(set);
    struct tw_sine sine = { .bar_mm = bar_mm, .angle_rad = angle_rad, .rise_mm = bar_mm * sin(angle_rad) };
    int steps = (int)lround(fmin(sine.rise_mm, 1e4) / set->step_mm);

    sine.possible = steps == 0 || one_stack(set, &blocks, steps, &sine) || two_stacks(set, &blocks, steps, &sine);
    sine.made_mm = sine.under_high.height_mm - sine.under_low.height_mm;
    return sine;
}

const char *tw_block_set_name(enum tw_block_set set)
{
    return sets[set].name;
}

bool tw_block_set_is_inch(enum tw_block_set set)
{
    return sets[set].inch;
}
