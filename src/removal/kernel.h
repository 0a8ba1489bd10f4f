/* kernel.h - the loops over neighbouring cells of one row, where all the time goes. */
#ifndef TANGWRIGHT_REMOVAL_KERNEL_H
#define TANGWRIGHT_REMOVAL_KERNEL_H

#include <stdbool.h>

/* Loops that gcc makes four cells wide where the machine can; cell by cell the arithmetic is the same, and so are the
 * results. (The choice comes too early for sanitizers.) */
#if defined(__GNUC__) && !defined(__clang__) && defined(__x86_64__) && !defined(__SANITIZE_ADDRESS__)
#define REMOVAL_IN_VECTORS __attribute__((optimize("O3"), target_clones("avx2", "default")))
#else
#define REMOVAL_IN_VECTORS
#endif

/* One row of accumulators: what was cut, ordered by when. Depths in mm, `cells` a count kept as float. */
struct removal_slots {
    float *sum_mm;   /* of the depths cut: times the area of a cell, a volume */
    float *depth_mm; /* greatest */
    float *cells;
};

struct removal_run {
    bool cut;             /* anything at all, be it rounding */
    int first, last;      /* cells cut, counted from the run's own first; last < first: none */
    float below_limit_mm; /* how far the cut went below the limit; 0: nowhere */
};

/* Lowers stock[i] to floor[i] wherever it stands above it, and adds what was cut to slots at [slot + i]. */
struct removal_run removal_cut(float *stock_mm, const float *floor_mm, const float *limit_mm, int count,
                               const struct removal_slots *slots, int slot);

/* The greatest top[i] - floor[i], 0 where none is above zero. */
float removal_penetration(const float *top_mm, const float *floor_mm, int count);

/* The greatest of the heights; -INFINITY where there are none. */
float removal_highest(const float *heights_mm, int count);

/* The first of the cells from..to-1 where either height is above low_mm; `to` if none is. */
int removal_next_above(const float *one_mm, const float *other_mm, int from, int to, float low_mm);

/* floor[i] = z_mm + slope * max(0, from_mm + i * step_mm). */
void removal_fill_ramp(float *floor_mm, int count, double from_mm, double step_mm, double z_mm, double slope);

#endif
