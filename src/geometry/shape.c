/* shape.c - steps of GEOS with one owner and one place for failures. */
#include "geometry/shape.h"

#include "base/memory.h"

#include <stdlib.h>

struct tw_shapes tw_shapes_open(struct tw_geos *geos, const char *doing, struct tw_findings *findings)
{
    return (struct tw_shapes){ .geos = geos, .doing = doing, .findings = findings, .status = TW_OK };
}

void tw_shapes_release(struct tw_shapes *shapes, size_t mark)
{
    while (shapes->count > mark)
        GEOSGeom_destroy_r(shapes->geos->context, shapes->items[--shapes->count]);
}

enum tw_status tw_shapes_close(struct tw_shapes *shapes)
{
    tw_shapes_release(shapes, 0);
    free(shapes->items);
    shapes->items = NULL;
    shapes->capacity = 0;
    return shapes->status;
}

/* Says so once: what follows from a failure is no failure of its own. */
static void fail(struct tw_shapes *shapes)
{
    if (shapes->status == TW_OK)
        shapes->status = tw_geos_fail(shapes->geos, shapes->doing, shapes->findings);
}

static void keep_status(struct tw_shapes *shapes, enum tw_status status)
{
    if (shapes->status == TW_OK)
        shapes->status = status;
}

/* Whether the next step can be taken. */
static bool can(const struct tw_shapes *shapes, const GEOSGeometry *shape)
{
    return shapes->status == TW_OK && shape;
}

const GEOSGeometry *tw_shape_own(struct tw_shapes *shapes, GEOSGeometry *geometry)
{
    if (!geometry) {
        fail(shapes);
        return NULL;
    }
    if (!tw_grow((void **)&shapes->items, &shapes->capacity, shapes->count + 1, sizeof *shapes->items)) {
        GEOSGeom_destroy_r(shapes->geos->context, geometry);
        keep_status(shapes, tw_no_memory(shapes->findings));
        return NULL;
    }
    shapes->items[shapes->count++] = geometry;
    return geometry;
}

GEOSGeometry *tw_shape_give(struct tw_shapes *shapes, const GEOSGeometry *shape)
{
    for (size_t i = shapes->count; i-- > 0;) {
        GEOSGeometry *given = shapes->items[i];

        if (given != shape)
            continue;
        shapes->count--;
        for (size_t k = i; k < shapes->count; k++)
            shapes->items[k] = shapes->items[k + 1];
        return given;
    }
    return NULL;
}

/* ---- made ---- */

/* What geos.c made or failed to make, with its own message. */
static const GEOSGeometry *made(struct tw_shapes *shapes, enum tw_status status, GEOSGeometry *geometry)
{
    keep_status(shapes, status);
    return status == TW_OK ? tw_shape_own(shapes, geometry) : NULL;
}

const GEOSGeometry *tw_shape_of_ring(struct tw_shapes *shapes, const struct tw_ring *ring)
{
    GEOSGeometry *polygon = NULL;
    enum tw_status status;

    if (shapes->status != TW_OK)
        return NULL;
    status = tw_geos_from_ring(shapes->geos, ring, &polygon, shapes->findings);
    return made(shapes, status, polygon);
}

const GEOSGeometry *tw_shape_of_outline(struct tw_shapes *shapes, const struct tw_outline *outline)
{
    GEOSGeometry *polygon = NULL;
    enum tw_status status;

    if (shapes->status != TW_OK)
        return NULL;
    status = tw_geos_from_outline(shapes->geos, outline, &polygon, shapes->findings);
    return made(shapes, status, polygon);
}

const GEOSGeometry *tw_shape_of_box(struct tw_shapes *shapes, struct tw_box box)
{
    struct tw_point corners[4] = { { box.min_x_mm, box.min_y_mm },
                                   { box.max_x_mm, box.min_y_mm },
                                   { box.max_x_mm, box.max_y_mm },
                                   { box.min_x_mm, box.max_y_mm } };

    return tw_shape_of_ring(shapes, &(struct tw_ring){ corners, 4 });
}

const GEOSGeometry *tw_shape_of_line(struct tw_shapes *shapes, const struct tw_point *points, size_t count)
{
    GEOSCoordSequence *sequence;

    if (shapes->status != TW_OK)
        return NULL;
    _Static_assert(sizeof(struct tw_point) == 2 * sizeof(double), "points must be packed");
    sequence = GEOSCoordSeq_copyFromBuffer_r(shapes->geos->context, &points->x_mm, (unsigned)count, 0, 0);
    /* The line takes the sequence over, even when it cannot be made. */
    return tw_shape_own(shapes, sequence ? GEOSGeom_createLineString_r(shapes->geos->context, sequence) : NULL);
}

/* ---- worked ---- */

const GEOSGeometry *tw_shape_grown(struct tw_shapes *shapes, const GEOSGeometry *shape, double by_mm, int chords)
{
    return can(shapes, shape) ? tw_shape_own(shapes, GEOSBuffer_r(shapes->geos->context, shape, by_mm, chords)) : NULL;
}

const GEOSGeometry *tw_shape_thinned(struct tw_shapes *shapes, const GEOSGeometry *shape, double by_mm)
{
    return can(shapes, shape)
               ? tw_shape_own(shapes, GEOSTopologyPreserveSimplify_r(shapes->geos->context, shape, by_mm))
               : NULL;
}

const GEOSGeometry *tw_shape_common(struct tw_shapes *shapes, const GEOSGeometry *one, const GEOSGeometry *other)
{
    return can(shapes, one) && other ? tw_shape_own(shapes, GEOSIntersection_r(shapes->geos->context, one, other))
                                     : NULL;
}

const GEOSGeometry *tw_shape_less(struct tw_shapes *shapes, const GEOSGeometry *shape, const GEOSGeometry *other)
{
    return can(shapes, shape) && other ? tw_shape_own(shapes, GEOSDifference_r(shapes->geos->context, shape, other))
                                       : NULL;
}

const GEOSGeometry *tw_shape_joined(struct tw_shapes *shapes, const GEOSGeometry *one, const GEOSGeometry *other)
{
    if (!one || !other)
        return one ? one : other;
    return can(shapes, one) ? tw_shape_own(shapes, GEOSUnion_r(shapes->geos->context, one, other)) : NULL;
}

const GEOSGeometry *tw_shape_hull(struct tw_shapes *shapes, const GEOSGeometry *shape)
{
    return can(shapes, shape) ? tw_shape_own(shapes, GEOSConvexHull_r(shapes->geos->context, shape)) : NULL;
}

const GEOSGeometry *tw_shape_filled(struct tw_shapes *shapes, const GEOSGeometry *shape)
{
    GEOSContextHandle_t context = shapes->geos->context;
    const GEOSGeometry *edge;
    GEOSGeometry *shell;

    if (!can(shapes, shape) || !tw_shape_polygon(shapes, shape, 0) || tw_shape_parts(shapes, shape) != 1)
        return shape;
    edge = GEOSGetExteriorRing_r(context, tw_shape_polygon(shapes, shape, 0));
    shell = edge ? GEOSGeom_clone_r(context, edge) : NULL;
    /* The polygon takes the shell over, even when it cannot be made. */
    return tw_shape_own(shapes, shell ? GEOSGeom_createPolygon_r(context, shell, NULL, 0) : NULL);
}

/* ---- asked ---- */

int tw_shape_parts(struct tw_shapes *shapes, const GEOSGeometry *shape)
{
    int count;

    if (!can(shapes, shape))
        return 0;
    count = GEOSGetNumGeometries_r(shapes->geos->context, shape);
    if (count < 0)
        fail(shapes);
    return count < 0 ? 0 : count;
}

const GEOSGeometry *tw_shape_polygon(struct tw_shapes *shapes, const GEOSGeometry *shape, int part)
{
    GEOSContextHandle_t context = shapes->geos->context;
    const GEOSGeometry *one = can(shapes, shape) ? GEOSGetGeometryN_r(context, shape, part) : NULL;

    return one && GEOSGeomTypeId_r(context, one) == GEOS_POLYGON && GEOSisEmpty_r(context, one) == 0 ? one : NULL;
}

bool tw_shape_is_empty(struct tw_shapes *shapes, const GEOSGeometry *shape)
{
    char answer = can(shapes, shape) ? GEOSisEmpty_r(shapes->geos->context, shape) : 0;

    if (answer == 2)
        fail(shapes);
    return answer == 1;
}

double tw_shape_area_mm2(struct tw_shapes *shapes, const GEOSGeometry *shape)
{
    double area_mm2 = 0.0;

    if (can(shapes, shape) && GEOSArea_r(shapes->geos->context, shape, &area_mm2) != 1)
        fail(shapes);
    return area_mm2;
}

struct tw_point tw_shape_middle(struct tw_shapes *shapes, const GEOSGeometry *shape)
{
    GEOSContextHandle_t context = shapes->geos->context;
    struct tw_point middle = { 0.0, 0.0 };
    GEOSGeometry *point = NULL;

    if (!can(shapes, shape) || GEOSisEmpty_r(context, shape) == 1)
        return middle;
    point = GEOSGetCentroid_r(context, shape);
    if (!point || GEOSGeomGetX_r(context, point, &middle.x_mm) != 1 ||
        GEOSGeomGetY_r(context, point, &middle.y_mm) != 1)
        fail(shapes);
    if (point)
        GEOSGeom_destroy_r(context, point);
    return middle;
}

double tw_shape_length_mm(struct tw_shapes *shapes, const GEOSGeometry *shape)
{
    double length_mm = 0.0;

    if (can(shapes, shape) && GEOSLength_r(shapes->geos->context, shape, &length_mm) != 1)
        fail(shapes);
    return length_mm;
}

struct tw_box tw_shape_box(struct tw_shapes *shapes, const GEOSGeometry *shape)
{
    GEOSContextHandle_t context = shapes->geos->context;
    struct tw_box box = { 0 };

    if (can(shapes, shape) && (GEOSGeom_getXMin_r(context, shape, &box.min_x_mm) != 1 ||
                               GEOSGeom_getXMax_r(context, shape, &box.max_x_mm) != 1 ||
                               GEOSGeom_getYMin_r(context, shape, &box.min_y_mm) != 1 ||
                               GEOSGeom_getYMax_r(context, shape, &box.max_y_mm) != 1))
        fail(shapes);
    return box;
}

double tw_shape_circle_mm(struct tw_shapes *shapes, const GEOSGeometry *shape, double within_mm,
                          struct tw_point *middle)
{
    GEOSContextHandle_t context = shapes->geos->context;
    const GEOSGeometry *radius =
        can(shapes, shape) ? tw_shape_own(shapes, GEOSMaximumInscribedCircle_r(context, shape, within_mm)) : NULL;
    const GEOSCoordSequence *ends = radius ? GEOSGeom_getCoordSeq_r(context, radius) : NULL;

    *middle = (struct tw_point){ 0.0, 0.0 };
    if (radius && (!ends || GEOSCoordSeq_getXY_r(context, ends, 0, &middle->x_mm, &middle->y_mm) != 1))
        fail(shapes);
    return 2.0 * tw_shape_length_mm(shapes, radius);
}
