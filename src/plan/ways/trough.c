/* trough.c - see trough.h. */
#include "plan/ways/trough.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

#define LANE_STEP_MM   0.25
#define FINEST_STEP_MM 0.03 /* by so little a strip is moved across: between slanting edges it soon grows longer */
#define TROUGH_SHARE   0.02 /* of the region: what adds less is not worth a trough */
#define ENOUGH_SHARE                                                                                                   \
    0.9 /* unless so much of what troughs could cover is not covered yet: the dry-run asks for 85 % of it */
#define OVERLAP_MM 0.2   /* neighbours are to leave no ridge between them */
#define EVEN_SHARE 0.005 /* of two strips that add as much but for this, the first */

double tw_run_out_mm(double radius_mm, double depth_mm)
{
    return sqrt(2.0 * radius_mm * depth_mm);
}

/* ---- stretches of a strip ---- */

struct gap {
    double from_mm, to_mm;
};

static int by_start(const void *a, const void *b)
{
    double a_mm = ((const struct gap *)a)->from_mm, b_mm = ((const struct gap *)b)->from_mm;

    return (a_mm > b_mm) - (a_mm < b_mm);
}

/* x of what is not the region in the strip; its ends count too. *out is the caller's. */
static enum tw_status blocks_of(const struct tw_relief_area *area, double y_mm, struct gap **out, size_t *count)
{
    const struct tw_scene *scene = area->scene;
    struct tw_shapes shapes = tw_shapes_open(scene->geos, "lay a trough over the relief", scene->findings);
    double half_mm = scene->job->wheel.width_mm / 2.0;
    struct tw_box box = area->box;
    const GEOSGeometry *strip = tw_shape_of_box(
        &shapes, (struct tw_box){ box.min_x_mm - 1.0, y_mm - half_mm, box.max_x_mm + 1.0, y_mm + half_mm });
    const GEOSGeometry *outside = tw_shape_less(&shapes, strip, area->region);
    int parts = tw_shape_parts(&shapes, outside);

    *count = 0;
    *out = calloc((size_t)parts + 1, sizeof **out);
    if (!*out && shapes.status == TW_OK)
        shapes.status = tw_no_memory(scene->findings);
    for (int i = 0; shapes.status == TW_OK && i < parts; i++) {
        const GEOSGeometry *polygon = tw_shape_polygon(&shapes, outside, i);
        struct tw_box part = tw_shape_box(&shapes, polygon);

        if (polygon)
            (*out)[(*count)++] = (struct gap){ part.min_x_mm, part.max_x_mm };
    }
    if (shapes.status == TW_OK)
        qsort(*out, *count, sizeof **out, by_start);
    return tw_shapes_close(&shapes);
}

enum tw_status tw_troughs_along(const struct tw_relief_area *area, double y_mm, tw_use_trough use, void *context)
{
    struct gap *blocks = NULL;
    size_t count = 0;
    enum tw_status status = blocks_of(area, y_mm, &blocks, &count);
    double from_mm = status == TW_OK && count > 0 ? blocks[0].to_mm : HUGE_VAL;

    for (size_t i = 1; status == TW_OK && i < count; i++) {
        struct tw_trough trough = { y_mm, from_mm + area->run_out_mm, blocks[i].from_mm - area->run_out_mm };

        if (trough.to_mm - trough.from_mm >= TW_SHORTEST_TROUGH_MM)
            status = use(area, trough, context);
        from_mm = fmax(from_mm, blocks[i].to_mm);
    }
    free(blocks);
    return status;
}

/* ---- what they cover ---- */

/* Troughs joined: of their floors longer by `longer_mm` at both ends, narrower by `narrower_mm`. */
struct covering {
    struct tw_shapes *shapes;
    double longer_mm, narrower_mm;
    const GEOSGeometry *all; /* NULL: none */
};

static enum tw_status cover(const struct tw_relief_area *area, struct tw_trough trough, void *context)
{
    struct covering *covering = context;
    double half_mm = (area->scene->job->wheel.width_mm - covering->narrower_mm) / 2.0;
    struct tw_box box = { trough.from_mm - covering->longer_mm, trough.y_mm - half_mm,
                          trough.to_mm + covering->longer_mm, trough.y_mm + half_mm };

    covering->all = tw_shape_joined(covering->shapes, covering->all, tw_shape_of_box(covering->shapes, box));
    return covering->shapes->status;
}

static enum tw_status cover_lanes(const struct tw_relief_area *area, struct covering covering, const GEOSGeometry **out)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < area->lane_count; i++)
        status = tw_troughs_along(area, area->lanes_mm[i], cover, &covering);
    *out = covering.all;
    return status;
}

/* ---- which strips ---- */

/* What each strip could cover, and the strips taken so far, with what they cover. */
struct strips {
    struct tw_shapes *shapes;
    const GEOSGeometry **floors; /* NULL: no trough there */
    double *y_mm;
    bool *taken;
    size_t count;
    double lowest_mm, highest_mm; /* where the outermost lie */
    const GEOSGeometry *covered;
};

static double gain_mm2(const struct strips *strips, size_t i)
{
    size_t mark = strips->shapes->count;
    const GEOSGeometry *fresh = strips->floors[i];
    double area_mm2;

    if (!fresh || strips->taken[i])
        return 0.0;
    if (strips->covered)
        fresh = tw_shape_less(strips->shapes, fresh, strips->covered);
    area_mm2 = tw_shape_area_mm2(strips->shapes, fresh);
    tw_shapes_release(strips->shapes, mark);
    return area_mm2;
}

static double coverable_mm2(const struct strips *strips)
{
    size_t mark = strips->shapes->count;
    const GEOSGeometry *all = NULL;
    double area_mm2;

    for (size_t i = 0; i < strips->count; i++)
        if (strips->floors[i])
            all = tw_shape_joined(strips->shapes, all, strips->floors[i]);
    area_mm2 = all ? tw_shape_area_mm2(strips->shapes, all) : 0.0;
    tw_shapes_release(strips->shapes, mark);
    return area_mm2;
}

static enum tw_status lay_strip(const struct tw_relief_area *area, struct strips *strips, size_t i, double y_mm)
{
    struct covering bottom = { .shapes = strips->shapes, .narrower_mm = OVERLAP_MM };
    enum tw_status status = tw_troughs_along(area, y_mm, cover, &bottom);

    strips->y_mm[i] = y_mm;
    strips->floors[i] = bottom.all;
    return status;
}

/* The strip that adds most; *mm2 is how much, 0 if none adds anything. */
static size_t best_of(const struct strips *strips, double *mm2)
{
    size_t best = 0;

    *mm2 = 0.0;
    for (size_t i = 0; i < strips->count; i++) {
        double gained_mm2 = gain_mm2(strips, i);

        if (gained_mm2 <= *mm2 * (1.0 + EVEN_SHARE))
            continue;
        *mm2 = gained_mm2;
        best = i;
    }
    return best;
}

/* Moves strip i across, by less and less, as long as it adds more there. */
static enum tw_status shift_strip(const struct tw_relief_area *area, struct strips *strips, size_t i, double *mm2)
{
    double step_mm = area->scene->step_mm;
    enum tw_status status = TW_OK;

    for (double by_mm = LANE_STEP_MM / 2.0; status == TW_OK && by_mm >= FINEST_STEP_MM; by_mm /= 2.0) {
        double from_mm = strips->y_mm[i];

        for (int sign = -1; status == TW_OK && sign <= 1; sign += 2) {
            const GEOSGeometry *floor_here = strips->floors[i];
            double here_mm = strips->y_mm[i], there_mm = step_mm * round((from_mm + sign * by_mm) / step_mm),
                   gained_mm2;

            if (there_mm < strips->lowest_mm || there_mm > strips->highest_mm)
                continue;
            status = lay_strip(area, strips, i, there_mm);
            gained_mm2 = status == TW_OK ? gain_mm2(strips, i) : 0.0;
            if (gained_mm2 > *mm2 * (1.0 + EVEN_SHARE)) {
                *mm2 = gained_mm2;
                continue;
            }
            strips->floors[i] = floor_here;
            strips->y_mm[i] = here_mm;
        }
    }
    return status;
}

/* Takes the strip that adds most, again and again, until most is covered and none adds what is worth a trough. */
static enum tw_status take_strips(const struct tw_relief_area *area, struct strips *strips)
{
    double enough_mm2 = ENOUGH_SHARE * coverable_mm2(strips), covered_mm2 = 0.0;
    enum tw_status status = strips->shapes->status;

    while (status == TW_OK) {
        double most_mm2;
        size_t best = best_of(strips, &most_mm2);

        if (most_mm2 <= 0.0 || (covered_mm2 >= enough_mm2 && most_mm2 <= TROUGH_SHARE * area->area_mm2))
            break;
        status = shift_strip(area, strips, best, &most_mm2);
        covered_mm2 += most_mm2;
        strips->taken[best] = true;
        strips->covered = tw_shape_joined(strips->shapes, strips->covered, strips->floors[best]);
        status = status == TW_OK ? strips->shapes->status : status;
    }
    return status;
}

/* Strips from edge to edge of the region, both edges among them. */
static enum tw_status lay_strips(const struct tw_relief_area *area, struct strips *strips)
{
    struct tw_box box = area->box;
    double width_mm = area->scene->job->wheel.width_mm, room_mm = box.max_y_mm - box.min_y_mm - width_mm;
    double step_mm = area->scene->step_mm;
    enum tw_status status = strips->shapes->status;

    if (room_mm < 0.0)
        return status;
    strips->count = (size_t)ceil(room_mm / LANE_STEP_MM) + 1;
    strips->floors = calloc(strips->count, sizeof *strips->floors);
    strips->y_mm = calloc(strips->count, sizeof *strips->y_mm);
    strips->taken = calloc(strips->count, sizeof *strips->taken);
    if (!strips->floors || !strips->y_mm || !strips->taken)
        return tw_no_memory(area->scene->findings);
    /* Rounded towards the middle, so that the outermost stay inside. */
    strips->lowest_mm = step_mm * ceil((box.min_y_mm + width_mm / 2.0) / step_mm - 1e-6);
    strips->highest_mm = step_mm * floor((box.max_y_mm - width_mm / 2.0) / step_mm + 1e-6);
    for (size_t i = 0; status == TW_OK && i < strips->count; i++) {
        double share = strips->count > 1 ? (double)i / (double)(strips->count - 1) : 0.0;
        double low_mm = box.min_y_mm + width_mm / 2.0 + share * room_mm;

        status = lay_strip(area, strips, i,
                           step_mm * (share < 0.5 ? ceil(low_mm / step_mm - 1e-6) : floor(low_mm / step_mm + 1e-6)));
    }
    return status;
}

static enum tw_status keep_lanes(struct tw_relief_area *area, const struct strips *strips)
{
    area->lanes_mm = calloc(strips->count + 1, sizeof *area->lanes_mm);
    if (!area->lanes_mm)
        return tw_no_memory(area->scene->findings);
    for (size_t i = 0; i < strips->count; i++)
        if (strips->taken[i])
            area->lanes_mm[area->lane_count++] = strips->y_mm[i];
    return TW_OK;
}

enum tw_status tw_troughs_pick(struct tw_relief_area *area, struct tw_shapes *shapes, const GEOSGeometry **floors,
                               const GEOSGeometry **hollowed)
{
    struct covering whole = { .shapes = shapes }, taken_out = whole;
    struct strips strips = { .shapes = shapes };
    enum tw_status status = lay_strips(area, &strips);

    taken_out.longer_mm = 2.0 / 3.0 * area->run_out_mm;
    if (status == TW_OK)
        status = take_strips(area, &strips);
    if (status == TW_OK)
        status = keep_lanes(area, &strips);
    if (status == TW_OK)
        status = cover_lanes(area, whole, floors);
    if (status == TW_OK)
        status = cover_lanes(area, taken_out, hollowed);
    free(strips.floors);
    free(strips.y_mm);
    free(strips.taken);
    return status;
}
