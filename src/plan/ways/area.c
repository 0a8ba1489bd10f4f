/* area.c - see area.h. */
#include "plan/ways/area.h"

#include "plan/ways/front.h"
#include "plan/ways/offset.h"
#include "plan/ways/trough.h"
#include "tangwright/relief.h"

#include <math.h>
#include <stdlib.h>

#define THIN_MM      0.01
#define COARSE_SHARE 0.015 /* of the radius, where the machine comes to rest at every corner */
#define COARSEST_MM  0.15
#define CHORD_SHARE  3.1e-4 /* 1 - cos(pi / 128): a chord of the offset's arcs, as a part of the radius */
/* Smaller leftovers are not told one by one. */
#define TOLD_MM2  1.0
#define CIRCLE_MM 0.01

double tw_relief_thin_mm(const struct tw_scene *scene)
{
    bool blended = scene->job->machine.dialect.path_mode == TW_PATH_BLENDED;

    return blended ? THIN_MM : fmax(THIN_MM, fmin(COARSEST_MM, COARSE_SHARE * scene->radius_mm));
}

/* ---- what is left ---- */

static int by_area(const void *a, const void *b)
{
    double a_mm2 = ((const struct tw_unreached *)a)->area_mm2, b_mm2 = ((const struct tw_unreached *)b)->area_mm2;

    return (a_mm2 < b_mm2) - (a_mm2 > b_mm2);
}

static void keep_largest(struct tw_relief_area *area, struct tw_unreached found)
{
    struct tw_unreached *last = &area->left[TW_UNREACHED_MOST - 1];

    if (area->left_count < TW_UNREACHED_MOST)
        area->left[area->left_count++] = found;
    else if (found.area_mm2 > last->area_mm2)
        *last = found;
    qsort(area->left, area->left_count, sizeof *area->left, by_area);
}

static void list_left(struct tw_relief_area *area, struct tw_shapes *shapes, const GEOSGeometry *left)
{
    int parts = tw_shape_parts(shapes, left);

    for (int i = 0; i < parts; i++) {
        const GEOSGeometry *part = tw_shape_polygon(shapes, left, i);
        double area_mm2 = tw_shape_area_mm2(shapes, part), wheel_mm;
        struct tw_point place;

        if (area_mm2 < TOLD_MM2)
            continue;
        wheel_mm = tw_shape_circle_mm(shapes, part, CIRCLE_MM, &place);
        keep_largest(area, (struct tw_unreached){ area_mm2, place.x_mm, place.y_mm, wheel_mm });
    }
}

/* ---- the ground ---- */

static const GEOSGeometry *piece_of(const struct tw_relief_area *area, struct tw_shapes *shapes,
                                    const struct tw_outline *part_frame)
{
    struct tw_outline piece = { 0 };
    const GEOSGeometry *polygon = NULL;

    shapes->status = tw_face_outline(&area->scene->face, part_frame, &piece, area->scene->findings);
    if (shapes->status == TW_OK)
        polygon = tw_shape_of_outline(shapes, &piece);
    tw_outline_free(&piece);
    return polygon;
}

static const GEOSGeometry *take_region(const struct tw_relief_area *area, struct tw_shapes *shapes)
{
    const struct tw_scene *scene = area->scene;
    const GEOSGeometry *all = NULL;
    struct tw_relief_region region;

    shapes->status = tw_relief_region(scene->job, &region, scene->findings);
    if (shapes->status == TW_OK)
        shapes->status = tw_relief_check(
            scene->job, &region, (struct tw_place){ .file = scene->job->path, .key = "relief.depth" }, scene->findings);
    for (size_t i = 0; shapes->status == TW_OK && i < region.count; i++)
        all = tw_shape_joined(shapes, all, piece_of(area, shapes, &region.pieces[i]));
    tw_relief_free(&region);
    return all;
}

/* Beside a wheel's radius its centres keep so much off the region's edge. */
static double kept_off_mm(const struct tw_scene *scene)
{
    return tw_relief_thin_mm(scene) + (TW_EDGE_STEPS + 1.0) * scene->step_mm;
}

static const GEOSGeometry *find_centres(const struct tw_relief_area *area, struct tw_shapes *shapes)
{
    const struct tw_scene *scene = area->scene;
    double thin_mm = tw_relief_thin_mm(scene);
    double inset_mm = scene->radius_mm * (1.0 + CHORD_SHARE) + kept_off_mm(scene);

    return tw_front_gridded(
        scene, shapes,
        tw_shape_thinned(shapes, tw_shape_grown(shapes, area->region, -inset_mm, TW_QUADRANT_CHORDS), thin_mm));
}

/* ---- no room ---- */

/* A little less than would be exact: what is kept off for the wheel that does not fit is no less than for a smaller one. */
static double widest_wheel_mm(const struct tw_scene *scene, double circle_mm)
{
    return fmax(0.0, circle_mm - 2.0 * kept_off_mm(scene)) / (1.0 + CHORD_SHARE);
}

enum tw_status tw_relief_area_too_narrow(const struct tw_relief_area *area)
{
    const struct tw_scene *scene = area->scene;
    const struct tw_wheel *wheel = &scene->job->wheel;
    struct tw_shapes shapes = tw_shapes_open(scene->geos, "measure the relief", scene->findings);
    struct tw_place at = { .file = scene->job->path, .key = "relief" };
    struct tw_point place;
    double largest_mm = tw_shape_circle_mm(&shapes, area->region, CIRCLE_MM, &place);
    enum tw_status status = tw_shapes_close(&shapes);

    if (status != TW_OK)
        return status;
    if (wheel->kind == TW_WHEEL_CUP)
        return tw_fail(
            scene->findings, TW_NO_PLAN, at,
            "the wheel of %.6g mm fits nowhere inside the land and bosses, so nothing can be hollowed; one of %.2f mm "
            "would just fit at x = %.1f, y = %.1f mm, and a smaller one has room to move: give it as relief_wheel",
            wheel->diameter_mm, floor(widest_wheel_mm(scene, largest_mm) * 100.0) / 100.0, place.x_mm, place.y_mm);
    return tw_fail(
        scene->findings, TW_NO_PLAN, at,
        "a disc %.6g mm wide that runs out over %.1f mm at both ends of a trough finds no room inside the land and "
        "bosses; the largest circle there is %.2f mm across at x = %.1f, y = %.1f mm: a narrower and smaller disc, or "
        "a shallower relief, may fit",
        wheel->width_mm, area->run_out_mm, floor(largest_mm * 100.0) / 100.0, place.x_mm, place.y_mm);
}

static enum tw_status refuse_level_cup(const struct tw_scene *scene)
{
    struct tw_place at = { .file = scene->job->path, .key = "mount" };

    return tw_fail(
        scene->findings, TW_NO_PLAN, at,
        "in the level mount only the uphill edge of a cup touches the slope, so it cannot hollow it with a flat floor; "
        "write mount = \"tilted\"; or hollow it with a disc");
}

/* ---- open and close ---- */

/* *reached and *hollowed stay the shapes'. */
static void reach(struct tw_relief_area *area, struct tw_shapes *shapes, const GEOSGeometry **reached,
                  const GEOSGeometry **hollowed)
{
    const struct tw_scene *scene = area->scene;
    const GEOSGeometry *centres;

    *reached = *hollowed = NULL;
    if (scene->job->wheel.kind == TW_WHEEL_DISC) {
        shapes->status = tw_troughs_pick(area, shapes, reached, hollowed);
        return;
    }
    centres = find_centres(area, shapes);
    *reached = *hollowed = tw_shape_grown(shapes, centres, scene->radius_mm, TW_QUADRANT_CHORDS);
    area->centres = tw_shape_give(shapes, centres);
}

static void measure(struct tw_relief_area *area, struct tw_shapes *shapes)
{
    const GEOSGeometry *region = take_region(area, shapes), *reached, *hollowed;

    area->area_mm2 = tw_shape_area_mm2(shapes, region);
    area->box = tw_shape_box(shapes, region);
    area->region = tw_shape_give(shapes, region);
    if (shapes->status == TW_OK)
        reach(area, shapes, &reached, &hollowed);
    if (shapes->status != TW_OK || !reached)
        return;
    area->reached_mm2 = tw_shape_area_mm2(shapes, reached);
    area->hollowed_mm2 = tw_shape_area_mm2(shapes, hollowed);
    area->middle_mm = tw_shape_middle(shapes, hollowed).x_mm;
    list_left(area, shapes, tw_shape_less(shapes, area->region, reached));
    area->hollowed = GEOSGeom_clone_r(shapes->geos->context, hollowed);
    if (!area->hollowed && shapes->status == TW_OK)
        shapes->status = tw_no_memory(area->scene->findings);
}

enum tw_status tw_relief_area_open(const struct tw_scene *scene, double depth_mm, struct tw_relief_area *out)
{
    struct tw_shapes shapes = tw_shapes_open(scene->geos, "find where the wheel can hollow", scene->findings);
    enum tw_status status;

    *out = (struct tw_relief_area){ .scene = scene,
                                    .geos = scene->geos,
                                    .run_out_mm = tw_run_out_mm(scene->radius_mm, depth_mm) };
    if (scene->job->wheel.kind == TW_WHEEL_CUP && !tw_scene_rim_is_coplanar(scene))
        return refuse_level_cup(scene);
    measure(out, &shapes);
    status = tw_shapes_close(&shapes);
    if (status == TW_OK && !(out->reached_mm2 > 0.0))
        status = tw_relief_area_too_narrow(out);
    if (status != TW_OK)
        tw_relief_area_close(out);
    return status;
}

void tw_relief_area_close(struct tw_relief_area *area)
{
    GEOSGeometry *owned[] = { area->region, area->centres, area->hollowed };

    for (size_t i = 0; i < sizeof owned / sizeof *owned; i++)
        if (owned[i])
            GEOSGeom_destroy_r(area->geos->context, owned[i]);
    free(area->lanes_mm);
    *area = (struct tw_relief_area){ 0 };
}
