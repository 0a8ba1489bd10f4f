/* hollow_stays.h - where the wheel that hollows a part leaves it, to be dressed before it has taken off more than it may.
 *
 * A hollow is made in pieces of work that are not torn: a cup's layers, a disc's troughs, or one's layers where the trough is too much. Pieces add up to a stay; where the
 * next would be too much of the thickest blank for one dressing, a new stay begins.
 *
 * Units   mm3, of the thinnest and the thickest blank.
 * Memory  tw_hollow_stays_free().
 * Errors  false, or TW_NO_MEMORY; TW_BAD_INPUT from the geometry library. */
#ifndef TANGWRIGHT_PLAN_SEARCH_HOLLOW_STAYS_H
#define TANGWRIGHT_PLAN_SEARCH_HOLLOW_STAYS_H

#include "plan/ways/area.h"

/* The floor of a hollow, or of a band of it, slice by slice along x. */
#define TW_FLOOR_SLICES 100

struct tw_hollow_floor {
    double x_mm[TW_FLOOR_SLICES], area_mm2[TW_FLOOR_SLICES]; /* x: of the slice's middle, in the setup frame */
};

/* Between two y of the setup frame. */
enum tw_status tw_hollow_floor_find(const struct tw_relief_area *area, double low_y_mm, double high_y_mm,
                                    struct tw_hollow_floor *out);

double tw_hollow_floor_mm2(const struct tw_hollow_floor *floor);

/* Steel that stands there more than `bottom_mm` over the floor, whose plane is `face`: what a blank like that has of it. */
double tw_hollow_steel_mm3(const struct tw_hollow_floor *floor, const struct tw_face *face, double bottom_mm);

struct tw_hollow_stays {
    double *thin_mm3, *thick_mm3;
    size_t count, thin_capacity, thick_capacity;
};

/* One more piece of work; *begins: it begins a stay that is not the first. */
bool tw_hollow_stays_add(struct tw_hollow_stays *stays, double dress_after_mm3, double thin_mm3, double thick_mm3,
                         bool *begins);

/* The stay in hand takes that much besides: what a worn wheel left standing in the one before. */
void tw_hollow_stays_catch(struct tw_hollow_stays *stays, double mm3);

/* Off the thickest blank by the longest stay. */
double tw_hollow_stays_most_mm3(const struct tw_hollow_stays *stays);

void tw_hollow_stays_free(struct tw_hollow_stays *stays);

#endif
