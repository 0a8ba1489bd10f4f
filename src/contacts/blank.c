/* blank.c - distances and overlaps of the blank's plan with one shape. */
#include "contacts/blank.h"

#include "base/memory.h"
#include "geometry/ring.h"

#include <math.h>
#include <stdlib.h>

#define WAY_OUT_MM    0.001 /* the way out is found to this */
#define SAME_PLACE_MM 1.0e-6
#define ONE_PUSH_MM   10.0 /* a stretch of the edge no longer than this */

static enum tw_status failed(struct tw_blank_plan *blank, const char *doing)
{
    return tw_geos_fail(&blank->geos, doing, blank->findings);
}

static void destroy(struct tw_blank_plan *blank, GEOSGeometry *geometry)
{
    if (geometry)
        GEOSGeom_destroy_r(blank->geos.context, geometry);
}

/* ---- the blank ---- */

static enum tw_status join_parts(const struct tw_job *job, struct tw_blank_plan *blank)
{
    GEOSGeometry *tang = NULL, *blade = NULL;
    enum tw_status status = tw_geos_from_outline(&blank->geos, &job->part.tang, &tang, blank->findings);

    if (status == TW_OK)
        status = tw_geos_from_outline(&blank->geos, &job->part.blade, &blade, blank->findings);
    if (status == TW_OK) {
        blank->area = GEOSUnion_r(blank->geos.context, tang, blade);
        if (!blank->area)
            status = failed(blank, "join tang and blade");
    }
    destroy(blank, tang);
    destroy(blank, blade);
    return status;
}

enum tw_status tw_blank_open(const struct tw_job *job, struct tw_blank_plan *out, struct tw_findings *findings)
{
    struct tw_box tang = tw_ring_box(&job->part.tang.outer), blade = tang;
    enum tw_status status;

    *out = (struct tw_blank_plan){ .findings = findings };
    if (job->part.blade.outer.count > 0)
        blade = tw_ring_box(&job->part.blade.outer);
    out->low_y_mm = fmin(tang.min_y_mm, blade.min_y_mm);
    out->high_y_mm = fmax(tang.max_y_mm, blade.max_y_mm);
    status = tw_geos_open(&out->geos, findings);
    if (status == TW_OK)
        status = join_parts(job, out);
    if (status != TW_OK)
        return status;
    out->edge = GEOSBoundary_r(out->geos.context, out->area);
    if (out->edge)
        out->prepared_edge = GEOSPrepare_r(out->geos.context, out->edge);
    return out->prepared_edge ? TW_OK : failed(out, "take the edge of the blank");
}

void tw_blank_close(struct tw_blank_plan *blank)
{
    if (!blank->geos.context)
        return;
    if (blank->prepared_edge)
        GEOSPreparedGeom_destroy_r(blank->geos.context, blank->prepared_edge);
    destroy(blank, blank->edge);
    destroy(blank, blank->area);
    tw_geos_close(&blank->geos);
    *blank = (struct tw_blank_plan){ 0 };
}

/* ---- points of a geometry ---- */

typedef enum tw_status (*on_points)(struct tw_blank_plan *blank, const struct tw_point *points, size_t count,
                                    void *user);

static enum tw_status visit_sequence(struct tw_blank_plan *blank, const GEOSGeometry *line, on_points visit, void *user)
{
    const GEOSCoordSequence *sequence = GEOSGeom_getCoordSeq_r(blank->geos.context, line);
    struct tw_point *points;
    unsigned count = 0;
    enum tw_status status;

    if (!sequence || !GEOSCoordSeq_getSize_r(blank->geos.context, sequence, &count))
        return failed(blank, "tell the points of a contact");
    if (count == 0)
        return TW_OK;
    points = malloc(count * sizeof *points);
    if (!points)
        return tw_no_memory(blank->findings);
    if (GEOSCoordSeq_copyToBuffer_r(blank->geos.context, sequence, &points->x_mm, 0, 0))
        status = visit(blank, points, count, user);
    else
        status = failed(blank, "give back the points of a contact");
    free(points);
    return status;
}

/* The outer rings of polygons, lines and points alike; GEOS nests collections one level deep here. */
static enum tw_status visit_points(struct tw_blank_plan *blank, const GEOSGeometry *geometry, on_points visit,
                                   void *user)
{
    GEOSContextHandle_t context = blank->geos.context;
    int count = GEOSGetNumGeometries_r(context, geometry);
    enum tw_status status = TW_OK;

    for (int i = 0; status == TW_OK && i < count; i++) {
        const GEOSGeometry *one = GEOSGetGeometryN_r(context, geometry, i);

        if (!one || GEOSisEmpty_r(context, one) == 1)
            continue;
        if (GEOSGeomTypeId_r(context, one) == GEOS_POLYGON)
            one = GEOSGetExteriorRing_r(context, one);
        status = one ? visit_sequence(blank, one, visit, user) : failed(blank, "take the edge of an overlap");
    }
    return status;
}

/* ---- how a shape lies ---- */

static enum tw_status distance_of_point(struct tw_blank_plan *blank, const GEOSPreparedGeometry *from,
                                        struct tw_point p, double *out_mm)
{
    GEOSGeometry *point = GEOSGeom_createPointFromXY_r(blank->geos.context, p.x_mm, p.y_mm);
    int done = point ? GEOSPreparedDistance_r(blank->geos.context, from, point, out_mm) : 0;

    destroy(blank, point);
    return done == 1 ? TW_OK : failed(blank, "measure how deep a keep-out stands");
}

struct deepest {
    const GEOSPreparedGeometry *shape_edge;
    struct tw_lie *lie;
};

/* Of places equally deep the foremost, whatever order GEOS tells them in. */
static bool is_deeper(const struct tw_lie *lie, double depth_mm, struct tw_point at)
{
    if (fabs(depth_mm - lie->depth_mm) > SAME_PLACE_MM)
        return depth_mm > lie->depth_mm;
    return depth_mm > 0.0 && at.x_mm < lie->at.x_mm - SAME_PLACE_MM;
}

/* A corner of the blank in a box is as deep as a pin's rim in the blank: measured from either edge. */
static enum tw_status take_deepest(struct tw_blank_plan *blank, const struct tw_point *points, size_t count, void *user)
{
    struct deepest *deepest = user;
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < count; i++) {
        double from_blank_mm = 0.0, from_shape_mm = 0.0, depth_mm;

        status = distance_of_point(blank, blank->prepared_edge, points[i], &from_blank_mm);
        if (status == TW_OK)
            status = distance_of_point(blank, deepest->shape_edge, points[i], &from_shape_mm);
        depth_mm = fmax(from_blank_mm, from_shape_mm);
        if (is_deeper(deepest->lie, depth_mm, points[i])) {
            deepest->lie->depth_mm = depth_mm;
            deepest->lie->at = points[i];
        }
        deepest->lie->overlap_x_mm = fmin(deepest->lie->overlap_x_mm, points[i].x_mm);
    }
    return status;
}

static enum tw_status measure_overlap(struct tw_blank_plan *blank, const GEOSGeometry *shape,
                                      const GEOSGeometry *overlap, struct tw_lie *out)
{
    GEOSContextHandle_t context = blank->geos.context;
    GEOSGeometry *edge = GEOSBoundary_r(context, shape), *inside = NULL;
    struct deepest deepest = { .shape_edge = edge ? GEOSPrepare_r(context, edge) : NULL, .lie = out };
    enum tw_status status;

    out->overlap_x_mm = HUGE_VAL;
    status = deepest.shape_edge ? visit_points(blank, overlap, take_deepest, &deepest)
                                : failed(blank, "take the edge of a keep-out");
    if (status == TW_OK) {
        /* Where the two cross each other, all corners of the overlap lie on their edges, its middle does not. */
        inside = GEOSPointOnSurface_r(context, overlap);
        status = inside ? visit_points(blank, inside, take_deepest, &deepest)
                        : failed(blank, "find the middle of an overlap");
    }
    destroy(blank, inside);
    if (deepest.shape_edge)
        GEOSPreparedGeom_destroy_r(context, deepest.shape_edge);
    destroy(blank, edge);
    return status;
}

static enum tw_status measure_gap(struct tw_blank_plan *blank, const GEOSGeometry *shape, struct tw_lie *out)
{
    GEOSContextHandle_t context = blank->geos.context;
    GEOSCoordSequence *pair = GEOSPreparedNearestPoints_r(context, blank->prepared_edge, shape);
    struct tw_point other = { 0.0, 0.0 };
    bool done = pair && GEOSCoordSeq_getXY_r(context, pair, 0, &out->at.x_mm, &out->at.y_mm) == 1 &&
                GEOSCoordSeq_getXY_r(context, pair, 1, &other.x_mm, &other.y_mm) == 1;

    if (pair)
        GEOSCoordSeq_destroy_r(context, pair);
    if (!done)
        return failed(blank, "measure the gap to a keep-out");
    out->gap_mm = hypot(out->at.x_mm - other.x_mm, out->at.y_mm - other.y_mm);
    return TW_OK;
}

enum tw_status tw_blank_lie(struct tw_blank_plan *blank, const struct tw_ring *plan, struct tw_lie *out)
{
    GEOSContextHandle_t context = blank->geos.context;
    GEOSGeometry *shape = NULL, *overlap = NULL;
    double area_mm2 = 0.0;
    enum tw_status status = tw_geos_from_ring(&blank->geos, plan, &shape, blank->findings);

    *out = (struct tw_lie){ 0 };
    if (status == TW_OK) {
        overlap = GEOSIntersection_r(context, blank->area, shape);
        if (!overlap || GEOSArea_r(context, overlap, &area_mm2) != 1)
            status = failed(blank, "lay a keep-out over the blank");
    }
    if (status == TW_OK) {
        out->overlaps = area_mm2 > 0.0;
        out->area_mm2 = area_mm2;
        status = out->overlaps ? measure_overlap(blank, shape, overlap, out) : measure_gap(blank, shape, out);
    }
    destroy(blank, overlap);
    destroy(blank, shape);
    return status;
}

/* ---- the way out ---- */

static enum tw_status overlaps_when_moved(struct tw_blank_plan *blank, const GEOSGeometry *area,
                                          const struct tw_ring *plan, struct tw_ring *moved, double by_mm,
                                          bool *overlaps)
{
    GEOSGeometry *shape = NULL;
    char answer;
    enum tw_status status;

    for (size_t i = 0; i < plan->count; i++)
        moved->points[i] = (struct tw_point){ plan->points[i].x_mm, plan->points[i].y_mm + by_mm };
    status = tw_geos_from_ring(&blank->geos, moved, &shape, blank->findings);
    if (status != TW_OK)
        return status;
    answer = GEOSIntersects_r(blank->geos.context, area, shape);
    destroy(blank, shape);
    *overlaps = answer == 1;
    return answer <= 1 ? TW_OK : failed(blank, "move a keep-out off the blank");
}

/* Between a place where it overlaps and one where it is certainly free. */
static enum tw_status bisect(struct tw_blank_plan *blank, const GEOSGeometry *area, const struct tw_ring *plan,
                             struct tw_ring *moved, double free_mm, double *out_mm)
{
    double taken_mm = 0.0;
    enum tw_status status = TW_OK;

    while (status == TW_OK && fabs(free_mm - taken_mm) > WAY_OUT_MM) {
        double middle_mm = (free_mm + taken_mm) / 2.0;
        bool overlaps = false;

        status = overlaps_when_moved(blank, area, plan, moved, middle_mm, &overlaps);
        *(overlaps ? &taken_mm : &free_mm) = middle_mm;
    }
    *out_mm = free_mm;
    return status;
}

enum tw_status tw_blank_way_out(struct tw_blank_plan *blank, const struct tw_ring *plan, double *move_mm)
{
    struct tw_box box = tw_ring_box(plan);
    struct tw_ring moved = { malloc(plan->count * sizeof *moved.points), plan->count };
    /* Only what lies in the shape's way matters. */
    GEOSGeometry *area = GEOSClipByRect_r(blank->geos.context, blank->area, box.min_x_mm, blank->low_y_mm - 1.0,
                                          box.max_x_mm, blank->high_y_mm + 1.0);
    double up_mm = 0.0, down_mm = 0.0;
    enum tw_status status = TW_OK;

    if (!moved.points)
        status = tw_no_memory(blank->findings);
    else if (!area)
        status = failed(blank, "cut out what lies about a keep-out");
    if (status == TW_OK)
        status = bisect(blank, area, plan, &moved, blank->high_y_mm - box.min_y_mm + 1.0, &up_mm);
    if (status == TW_OK)
        status = bisect(blank, area, plan, &moved, blank->low_y_mm - box.max_y_mm - 1.0, &down_mm);
    *move_mm = up_mm < -down_mm ? up_mm : down_mm;
    destroy(blank, area);
    free(moved.points);
    return status;
}

/* ---- pushes ---- */

struct push_list {
    struct tw_push *items;
    size_t count, capacity;
};

static bool add_push(struct push_list *list, struct tw_point from, struct tw_point to, double weight)
{
    double dx = to.x_mm - from.x_mm, dy = to.y_mm - from.y_mm, length_mm = hypot(dx, dy);
    struct tw_point normal = { dy / length_mm, -dx / length_mm };

    if (length_mm < SAME_PLACE_MM)
        return true;
    if (!tw_grow((void **)&list->items, &list->capacity, list->count + 2, sizeof *list->items))
        return false;
    list->items[list->count++] = (struct tw_push){ from, normal, weight };
    list->items[list->count++] = (struct tw_push){ to, normal, weight };
    return true;
}

/* A short stretch of the edge acts as one push across its chord, be it a pin on a straight edge or against a tip; a long
 * one, or all round a hole, acts on each of its pieces. Either acts at both ends. */
static enum tw_status take_pushes(struct tw_blank_plan *blank, const struct tw_point *points, size_t count, void *user)
{
    struct push_list *list = user;
    struct tw_point first = points[0], last = points[count - 1];
    bool closed = hypot(last.x_mm - first.x_mm, last.y_mm - first.y_mm) < SAME_PLACE_MM, added = true;
    double length_mm = 0.0;

    for (size_t i = 0; i + 1 < count; i++)
        length_mm += hypot(points[i + 1].x_mm - points[i].x_mm, points[i + 1].y_mm - points[i].y_mm);
    if (!closed && length_mm <= ONE_PUSH_MM)
        added = add_push(list, first, last, length_mm);
    else
        for (size_t i = 0; i + 1 < count && added; i++)
            added = add_push(list, points[i], points[i + 1],
                             hypot(points[i + 1].x_mm - points[i].x_mm, points[i + 1].y_mm - points[i].y_mm));
    return added ? TW_OK : tw_no_memory(blank->findings);
}

static void share_weight(struct push_list *list)
{
    double sum = 0.0;

    for (size_t i = 0; i < list->count; i++)
        sum += list->items[i].weight;
    for (size_t i = 0; i < list->count; i++)
        list->items[i].weight /= sum;
}

enum tw_status tw_blank_pushes(struct tw_blank_plan *blank, const struct tw_ring *plan, double reach_mm,
                               struct tw_push **out, size_t *count)
{
    GEOSContextHandle_t context = blank->geos.context;
    struct push_list list = { 0 };
    GEOSGeometry *shape = NULL, *near = NULL, *touched = NULL, *merged = NULL;
    enum tw_status status = tw_geos_from_ring(&blank->geos, plan, &shape, blank->findings);

    if (status == TW_OK) {
        near = GEOSBuffer_r(context, shape, reach_mm, 8);
        if (near)
            touched = GEOSIntersection_r(context, blank->edge, near);
        if (touched)
            merged = GEOSLineMerge_r(context, touched);
        status = merged ? visit_points(blank, merged, take_pushes, &list) : failed(blank, "find where a stop touches");
    }
    share_weight(&list);
    *out = list.items;
    *count = list.count;
    if (status != TW_OK) {
        free(list.items);
        *out = NULL;
        *count = 0;
    }
    destroy(blank, merged);
    destroy(blank, touched);
    destroy(blank, near);
    destroy(blank, shape);
    return status;
}

/* ---- another blank ---- */

static enum tw_status moved_ring(const struct tw_ring *from, struct tw_point by, struct tw_ring *out,
                                 struct tw_findings *findings)
{
    *out = (struct tw_ring){ malloc((from->count + 1) * sizeof *out->points), from->count };
    if (!out->points)
        return tw_no_memory(findings);
    for (size_t i = 0; i < from->count; i++)
        out->points[i] = (struct tw_point){ from->points[i].x_mm + by.x_mm, from->points[i].y_mm + by.y_mm };
    return TW_OK;
}

enum tw_status tw_blank_meets_itself(struct tw_blank_plan *blank, const struct tw_job *job, struct tw_point moved,
                                     bool *meets, struct tw_point *at)
{
    const struct tw_ring *rings[2] = { &job->part.tang.outer, &job->part.blade.outer };
    enum tw_status status = TW_OK;

    *meets = false;
    for (int i = 0; status == TW_OK && i < 2 && !*meets; i++) {
        struct tw_ring other = { 0 };
        struct tw_lie lie;

        if (rings[i]->count == 0)
            continue;
        status = moved_ring(rings[i], moved, &other, blank->findings);
        if (status == TW_OK)
            status = tw_blank_lie(blank, &other, &lie);
        if (status == TW_OK && lie.overlaps) {
            *meets = true;
            *at = lie.at;
        }
        free(other.points);
    }
    return status;
}
