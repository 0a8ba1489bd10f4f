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
static struct share best_of(const struct tw_run_place *places, size_t i, size_t most, const struct share *before)
{
    struct share best = { 0 };

    for (size_t last = most < i ? most : i; last > 0; last--) {
        const struct share *rest = &before[i - last];
        double own_mm = spread_mm(places, i - last, last);
        struct share one = { true, fmax(rest->largest_mm, own_mm), rest->sum_mm + own_mm, last };

        if (rest->possible && is_better(&one, &best))
            best = one;
    }
    return best;
}

static enum tw_status share_sorted(const struct tw_run_place *places, size_t count, size_t most, size_t *sizes,
                                   size_t load_count, struct tw_findings *findings)
{
    size_t width = count + 1, left = count;
    struct share *table = calloc((load_count + 1) * width, sizeof *table);

    if (!table)
        return tw_no_memory(findings);
    table[0].possible = true;
    for (size_t loads = 1; loads <= load_count; loads++)
        for (size_t i = 1; i <= count; i++)
            table[loads * width + i] = best_of(places, i, most, table + (loads - 1) * width);
    for (size_t loads = load_count; loads > 0; loads--) {
        sizes[loads - 1] = table[loads * width + left].last;
        left -= sizes[loads - 1];
    }
    free(table);
    return TW_OK;
}

enum tw_status tw_share_out(const struct tw_run_place *places, size_t count, size_t most, bool sorted, size_t *sizes,
                            size_t *load_count, struct tw_findings *findings)
{
    *load_count = (count + most - 1) / most;
    if (sorted)
        return share_sorted(places, count, most, sizes, *load_count, findings);
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
