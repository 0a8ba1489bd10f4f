/* extents.c - see extents.h. */
#include "geometry/extents.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* Each question has one place; a new one takes it over. */
#define PLACES ((size_t)1 << 14)

struct kept {
    const struct tw_point *edge; /* the outline's, by which it is known; NULL: nothing is kept here */
    struct tw_box within, extent;
    bool any;
};

struct tw_extents {
    struct kept kept[PLACES];
};

struct tw_extents *tw_extents_open(void)
{
    return calloc(1, sizeof(struct tw_extents));
}

void tw_extents_close(struct tw_extents *extents)
{
    free(extents);
}

static bool is_same_box(const struct tw_box *a, const struct tw_box *b)
{
    return a->min_x_mm == b->min_x_mm && a->min_y_mm == b->min_y_mm && a->max_x_mm == b->max_x_mm &&
           a->max_y_mm == b->max_y_mm;
}

/* Bits of all four sides, mixed by multiplying and shifting. */
static size_t place_of(const struct tw_box *within)
{
    const double sides[] = { within->min_x_mm, within->min_y_mm, within->max_x_mm, within->max_y_mm };
    uint64_t mixed = 0;

    for (size_t i = 0; i < sizeof sides / sizeof *sides; i++) {
        uint64_t bits;

        memcpy(&bits, &sides[i], sizeof bits);
        mixed = (mixed ^ bits) * 0x9e3779b97f4a7c15u;
        mixed ^= mixed >> 29;
    }
    return (size_t)(mixed % PLACES);
}

bool tw_extents_get(struct tw_extents *extents, const struct tw_outline *outline, struct tw_box within,
                    struct tw_box *out)
{
    struct kept *kept = extents ? &extents->kept[place_of(&within)] : NULL;
    bool any;

    if (kept && kept->edge == outline->outer.points && is_same_box(&kept->within, &within)) {
        *out = kept->extent;
        return kept->any;
    }
    any = tw_outline_extent(outline, within, out);
    if (kept)
        *kept = (struct kept){ outline->outer.points, within, *out, any };
    return any;
}
