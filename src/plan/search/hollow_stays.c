/* hollow_stays.c - see hollow_stays.h. */
#include "plan/search/hollow_stays.h"

#include "base/memory.h"
#include "tangwright/wear.h"

#include <math.h>
#include <stdlib.h>

enum tw_status tw_hollow_floor_find(const struct tw_relief_area *area, double low_y_mm, double high_y_mm,
                                    struct tw_hollow_floor *out)
{
    struct tw_shapes shapes = tw_shapes_open(area->geos, "slice a hollow", area->scene->findings);
    double slice_mm = (area->box.max_x_mm - area->box.min_x_mm) / TW_FLOOR_SLICES;

    for (size_t i = 0; i < TW_FLOOR_SLICES; i++) {
        double from_mm = area->box.min_x_mm + (double)i * slice_mm;
        struct tw_box box = { from_mm, low_y_mm, from_mm + slice_mm, high_y_mm };

        out->x_mm[i] = from_mm + slice_mm / 2.0;
        out->area_mm2[i] =
            tw_shape_area_mm2(&shapes, tw_shape_common(&shapes, area->hollowed, tw_shape_of_box(&shapes, box)));
        tw_shapes_release(&shapes, 0);
    }
    return tw_shapes_close(&shapes);
}

double tw_hollow_floor_mm2(const struct tw_hollow_floor *floor)
{
    double area_mm2 = 0.0;

    for (size_t i = 0; i < TW_FLOOR_SLICES; i++)
        area_mm2 += floor->area_mm2[i];
    return area_mm2;
}

double tw_hollow_steel_mm3(const struct tw_hollow_floor *floor, const struct tw_face *face, double bottom_mm)
{
    double steel_mm3 = 0.0;

    for (size_t i = 0; i < TW_FLOOR_SLICES; i++)
        steel_mm3 += floor->area_mm2[i] * fmax(0.0, tw_face_stock_mm(face, floor->x_mm[i]) - bottom_mm);
    return steel_mm3;
}

/* ---- stays ---- */

static bool begin_stay(struct tw_hollow_stays *stays)
{
    size_t count = stays->count + 1;

    if (!tw_grow((void **)&stays->thin_mm3, &stays->thin_capacity, count, sizeof *stays->thin_mm3) ||
        !tw_grow((void **)&stays->thick_mm3, &stays->thick_capacity, count, sizeof *stays->thick_mm3))
        return false;
    stays->thin_mm3[stays->count] = stays->thick_mm3[stays->count] = 0.0;
    stays->count = count;
    return true;
}

bool tw_hollow_stays_add(struct tw_hollow_stays *stays, double dress_after_mm3, double thin_mm3, double thick_mm3,
                         bool *begins)
{
    double before_mm3 = stays->count > 0 ? stays->thick_mm3[stays->count - 1] : 0.0;

    *begins = before_mm3 > 0.0 && tw_wear_stay_is_full(before_mm3 + thick_mm3, dress_after_mm3);
    if ((*begins || stays->count == 0) && !begin_stay(stays))
        return false;
    stays->thin_mm3[stays->count - 1] += thin_mm3;
    stays->thick_mm3[stays->count - 1] += thick_mm3;
    return true;
}

void tw_hollow_stays_catch(struct tw_hollow_stays *stays, double mm3)
{
    stays->thick_mm3[stays->count - 1] += mm3;
}

double tw_hollow_stays_most_mm3(const struct tw_hollow_stays *stays)
{
    double most_mm3 = 0.0;

    for (size_t i = 0; i < stays->count; i++)
        most_mm3 = fmax(most_mm3, stays->thick_mm3[i]);
    return most_mm3;
}

void tw_hollow_stays_free(struct tw_hollow_stays *stays)
{
    free(stays->thin_mm3);
    free(stays->thick_mm3);
    *stays = (struct tw_hollow_stays){ 0 };
}
