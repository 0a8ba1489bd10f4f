/* share.c - see share.h. */
#include "run/share.h"

#include <math.h>
#include <stdlib.h>

/* ---- order ---- */

static int by_thickness(const void *one, const void *other)
{
    const struct tw_run_place *a = one, *b = other;

    if (a->thickness_mm != b->thickness_mm)
        return a->thickness_mm < b->thickness_mm ? -1 : 1;
    return (a->blank > b->blank) - (a->blank < b->blank);
}

void tw_share_sort(struct tw_run_place *places, size_t count)
{
    qsort(places, count, sizeof *places, by_thickness);
}

/* ---- loads ---- */

/* How well the first places can be parted into a number of loads. */
struct share {
    bool possible;
    double largest_mm, sum_mm; /* spread of the loads */
    size_t last;               /* places in the last load */
};

static double spread_mm(const struct tw_run_place *places, size_t first, size_t count)
{
    return count > 0 ? places[first + count - 1].thickness_mm - places[first].thickness_mm : 0.0;
}

static bool is_better(const struct share *one, const struct share *other)
{
    const double alike_mm = 1e-9;

    if (!other->possible)
        return true;
    if (fabs(one->largest_mm - other->largest_mm) > alike_mm)
        return one->largest_mm < other->largest_mm;
    return one->sum_mm < other->sum_mm - alike_mm;
}

/* The first i places in one load more than `before` holds for fewer places. Fuller last loads win a tie. */
static struct share best_of(const struct tw_run_place *places, size_t i, size_t most, double widest_mm,
                            const struct share *before)
{
    struct share best = { 0 };

    for (size_t last = most < i ? most : i; last > 0; last--) {
        const struct share *rest = &before[i - last];
        double own_mm = spread_mm(places, i - last, last);
        struct share one = { true, fmax(rest->largest_mm, own_mm), rest->sum_mm + own_mm, last };

        if (rest->possible && (last == 1 || own_mm <= widest_mm) && is_better(&one, &best))
            best = one;
    }
    return best;
}

/* Rows for one load more each, until all places are in loads: a load for each place is always possible. */
static size_t fill_table(const struct tw_run_place *places, size_t count, size_t most, double widest_mm,
                         struct share *table)
{
    size_t width = count + 1, loads = 0;

    table[0].possible = true;
    while (!table[loads * width + count].possible) {
        loads++;
        for (size_t i = 1; i <= count; i++)
            table[loads * width + i] = best_of(places, i, most, widest_mm, table + (loads - 1) * width);
    }
    return loads;
}

static enum tw_status share_sorted(const struct tw_run_place *places, size_t count, size_t most, double widest_mm,
                                   size_t *sizes, size_t *load_count, struct tw_findings *findings)
{
    size_t width = count + 1, left = count;
    struct share *table = calloc(width * width, sizeof *table);

    if (!table)
        return tw_no_memory(findings);
    *load_count = fill_table(places, count, most, widest_mm, table);
    for (size_t loads = *load_count; loads > 0; loads--) {
        sizes[loads - 1] = table[loads * width + left].last;
        left -= sizes[loads - 1];
    }
    free(table);
    return TW_OK;
}

enum tw_status tw_share_out(const struct tw_run_place *places, size_t count, size_t most, double widest_mm,
                            size_t *sizes, size_t *load_count, struct tw_findings *findings)
{
    if (widest_mm > 0.0)
        return share_sorted(places, count, most, widest_mm, sizes, load_count, findings);
    *load_count = (count + most - 1) / most;
    for (size_t i = 0; i < *load_count; i++)
        sizes[i] = i + 1 < *load_count ? most : count - i * most;
    return TW_OK;
}

/* The largest spread of full loads that leave out `spare` places from `first` on. */
static double spread_without_mm(const struct tw_run_place *places, size_t count, size_t most, size_t first,
                                size_t spare)
{
    double largest_mm = 0.0;

    for (size_t i = 0; i < count; i += most) {
        if (i == first)
            i += spare;
        if (i < count)
            largest_mm = fmax(largest_mm, spread_mm(places, i, most));
    }
    return largest_mm;
}

size_t tw_share_spare(const struct tw_run_place *places, size_t count, size_t most)
{
    size_t spare = count % most, best = count - spare;
    double best_mm = spread_without_mm(places, count, most, best, spare);

    for (size_t first = 0; first + spare < count; first += most) {
        double spread = spread_without_mm(places, count, most, first, spare);

        if (spread < best_mm) {
            best_mm = spread;
            best = first;
        }
    }
    return best;
}
