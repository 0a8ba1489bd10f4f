/* track.c - loops and troughs over a region, proved by GEOS to stay inside it. */
#include "plan/track.h"

#include "base/memory.h"
#include "geometry/ring.h"
#include "tangwright/relief.h"

#include <math.h>
#include <stdlib.h>

#define QUADRANT_SEGMENTS 32
/* Loops are thinned, coarsely where the machine comes to rest at every corner, and rounded to the controller's grid; they
 * keep as much farther from the region's edge. */
#define THIN_MM          0.01
#define COARSE_SHARE     0.015 /* of the radius */
#define COARSEST_MM      0.15
#define CHORD_SHARE      3.1e-4 /* 1 - cos(pi / 128): a chord of the offset's arcs, as a part of the radius */
#define EDGE_STEPS       2.0    /* of the controller's grid, for rounding */
#define SHORTEST_MOVE_MM 0.05
#define SHORTEST_LOOP_MM 0.5
#define AHEAD_MM         3.0
/* Distance between loops, as parts of the radius: the widest that leaves nothing between them. */
static const double pitches[] = { 1.4, 1.0, 0.7, 0.5, 0.35 };
#define LOOPS_MOST 4000
/* What the loops of one layer leave uncovered the next layer's would meet twice as deep: no more than such a strip may be
 * left along the edges. */
#define UNCOVERED_MM       0.06
#define TROUGH_SHARE       0.02
#define LANE_STEP_MM       0.25
#define OVERLAP_MM         0.2
#define EVEN_SHARE         0.005 /* of two strips that add as much but for this, the first */
#define SHORTEST_TROUGH_MM 1.0
/* Smaller leftovers are not told one by one. */
#define TOLD_MM2  1.0
#define CIRCLE_MM 0.01
#define FAR_MM    1e4

double tw_run_out_mm(double radius_mm, double depth_mm)
{
    return sqrt(2.0 * radius_mm * depth_mm);
}

static double thin_mm(const struct tw_scene *scene)
{
    bool blended = scene->job->machine.dialect.path_mode == TW_PATH_BLENDED;

    return blended ? THIN_MM : fmax(THIN_MM, fmin(COARSEST_MM, COARSE_SHARE * scene->radius_mm));
}

/* ---- small things about geometry ---- */

static void drop(const struct tw_scene *scene, GEOSGeometry *geometry)
{
    if (geometry)
        GEOSGeom_destroy_r(scene->geos->context, geometry);
}

static enum tw_status failed(const struct tw_scene *scene)
{
    return tw_geos_fail(scene->geos, "lay the ways of the wheel over the relief", scene->findings);
}

/* *all becomes the union of both; `more` is given up, NULL counts as a failure. */
static enum tw_status unite(const struct tw_scene *scene, GEOSGeometry **all, GEOSGeometry *more)
{
    GEOSGeometry *both;

    if (!more)
        return failed(scene);
    if (!*all) {
        *all = more;
        return TW_OK;
    }
    both = GEOSUnion_r(scene->geos->context, *all, more);
    drop(scene, more);
    if (!both)
        return failed(scene);
    drop(scene, *all);
    *all = both;
    return TW_OK;
}

static enum tw_status area_of(const struct tw_scene *scene, const GEOSGeometry *geometry, double *area_mm2)
{
    return geometry && GEOSArea_r(scene->geos->context, geometry, area_mm2) == 1 ? TW_OK : failed(scene);
}

static enum tw_status rectangle(const struct tw_scene *scene, struct tw_box box, GEOSGeometry **out)
{
    struct tw_point corners[4] = { { box.min_x_mm, box.min_y_mm },
                                   { box.max_x_mm, box.min_y_mm },
                                   { box.max_x_mm, box.max_y_mm },
                                   { box.min_x_mm, box.max_y_mm } };
    struct tw_ring ring = { corners, 4 };

    return tw_geos_from_ring(scene->geos, &ring, out, scene->findings);
}

static enum tw_status box_of(const struct tw_scene *scene, const GEOSGeometry *geometry, struct tw_box *out)
{
    GEOSContextHandle_t context = scene->geos->context;

    if (GEOSGeom_getXMin_r(context, geometry, &out->min_x_mm) == 1 &&
        GEOSGeom_getXMax_r(context, geometry, &out->max_x_mm) == 1 &&
        GEOSGeom_getYMin_r(context, geometry, &out->min_y_mm) == 1 &&
        GEOSGeom_getYMax_r(context, geometry, &out->max_y_mm) == 1)
        return TW_OK;
    return failed(scene);
}

/* Diameter of the largest circle inside, and its centre. */
static enum tw_status largest_circle(const struct tw_scene *scene, const GEOSGeometry *area, double *diameter_mm,
                                     struct tw_point *centre)
{
    GEOSContextHandle_t context = scene->geos->context;
    GEOSGeometry *radius = GEOSMaximumInscribedCircle_r(context, area, CIRCLE_MM);
    const GEOSCoordSequence *ends = radius ? GEOSGeom_getCoordSeq_r(context, radius) : NULL;
    double length_mm = 0.0;
    bool known = ends && GEOSLength_r(context, radius, &length_mm) == 1 &&
                 GEOSCoordSeq_getXY_r(context, ends, 0, &centre->x_mm, &centre->y_mm) == 1;

    drop(scene, radius);
    *diameter_mm = 2.0 * length_mm;
    return known ? TW_OK : failed(scene);
}

/* ---- tracks ---- */

void tw_tracks_free(struct tw_tracks *tracks)
{
    for (size_t i = 0; i < tracks->count; i++)
        free(tracks->items[i].points);
    free(tracks->items);
    *tracks = (struct tw_tracks){ 0 };
}

static double distance_mm(struct tw_point a, struct tw_point b)
{
    return hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm);
}

/* An empty track with room for so many points. */
static struct tw_track *add_track(const struct tw_scene *scene, struct tw_tracks *tracks, size_t points)
{
    struct tw_track *track;

    if (!tw_grow((void **)&tracks->items, &tracks->capacity, tracks->count + 1, sizeof *tracks->items)) {
        tw_no_memory(scene->findings);
        return NULL;
    }
    track = &tracks->items[tracks->count];
    *track = (struct tw_track){ .points = malloc((points ? points : 1) * sizeof *track->points) };
    if (!track->points) {
        tw_no_memory(scene->findings);
        return NULL;
    }
    tracks->count++;
    return track;
}

/* ---- loops ---- */

static enum tw_status add_loop(const struct tw_scene *scene, const GEOSGeometry *ring, struct tw_tracks *out)
{
    GEOSContextHandle_t context = scene->geos->context;
    const GEOSCoordSequence *sequence = ring ? GEOSGeom_getCoordSeq_r(context, ring) : NULL;
    struct tw_track *track;
    unsigned size = 0;

    if (!sequence || GEOSCoordSeq_getSize_r(context, sequence, &size) == 0)
        return failed(scene);
    track = add_track(scene, out, size);
    if (!track)
        return TW_NO_MEMORY;
    for (unsigned i = 0; i + 1 < size; i++) {
        struct tw_point p = { 0.0, 0.0 };

        if (GEOSCoordSeq_getXY_r(context, sequence, i, &p.x_mm, &p.y_mm) == 0)
            return failed(scene);
        p = (struct tw_point){ tw_scene_round_mm(scene, p.x_mm), tw_scene_round_mm(scene, p.y_mm) };
        if (track->count == 0 || distance_mm(p, track->points[track->count - 1]) >= SHORTEST_MOVE_MM)
            track->points[track->count++] = p;
    }
    for (size_t i = 0; i < track->count; i++)
        track->length_mm += distance_mm(track->points[i], track->points[(i + 1) % track->count]);
    if (track->length_mm < SHORTEST_LOOP_MM) { /* no room to ramp down; the check of what is covered knows */
        free(track->points);
        out->count--;
    }
    return TW_OK;
}

static enum tw_status add_polygon_loops(const struct tw_scene *scene, const GEOSGeometry *polygon,
                                        struct tw_tracks *out)
{
    GEOSContextHandle_t context = scene->geos->context;
    int holes = GEOSGetNumInteriorRings_r(context, polygon);
    enum tw_status status = holes < 0 ? failed(scene) : add_loop(scene, GEOSGetExteriorRing_r(context, polygon), out);

    for (int i = 0; status == TW_OK && i < holes; i++)
        status = add_loop(scene, GEOSGetInteriorRingN_r(context, polygon, i), out);
    return status;
}

/* All loops at one offset of where the centre may go; *any: whether something is left there. The outermost are taken as they
 * are, thinned already, so that every layer has the same edges. */
static enum tw_status add_offset(const struct tw_scene *scene, const GEOSGeometry *centres, double inset_mm,
                                 struct tw_tracks *out, bool *any)
{
    GEOSContextHandle_t context = scene->geos->context;
    GEOSGeometry *shrunk = inset_mm > 0.0 ? GEOSBuffer_r(context, centres, -inset_mm, QUADRANT_SEGMENTS)
                                          : GEOSGeom_clone_r(context, centres);
    GEOSGeometry *thin = NULL;
    int count = 0;
    enum tw_status status = TW_OK;

    if (shrunk && inset_mm > 0.0)
        thin = GEOSTopologyPreserveSimplify_r(context, shrunk, thin_mm(scene));
    else if (shrunk)
        thin = GEOSGeom_clone_r(context, shrunk);
    if (thin)
        count = GEOSGetNumGeometries_r(context, thin);
    if (!thin || count < 0)
        status = failed(scene);
    *any = false;
    for (int i = 0; status == TW_OK && i < count; i++) {
        const GEOSGeometry *polygon = GEOSGetGeometryN_r(context, thin, i);

        if (GEOSGeomTypeId_r(context, polygon) != GEOS_POLYGON || GEOSisEmpty_r(context, polygon) != 0)
            continue;
        *any = true;
        status = add_polygon_loops(scene, polygon, out);
    }
    drop(scene, shrunk);
    drop(scene, thin);
    return status;
}

/* The line through these points in order, and back to the first. */
static GEOSGeometry *line_of(const struct tw_scene *scene, const struct tw_track *track)
{
    GEOSContextHandle_t context = scene->geos->context;
    GEOSCoordSequence *sequence = GEOSCoordSeq_create_r(context, (unsigned)track->count + 1, 2);

    if (!sequence)
        return NULL;
    for (size_t i = 0; i <= track->count; i++) {
        struct tw_point p = track->points[i % track->count];

        if (GEOSCoordSeq_setXY_r(context, sequence, (unsigned)i, p.x_mm, p.y_mm) == 0) {
            GEOSCoordSeq_destroy_r(context, sequence);
            return NULL;
        }
    }
    return GEOSGeom_createLineString_r(context, sequence);
}

/* What the wheel passes over on all the loops. */
static enum tw_status sweep_loops(const struct tw_scene *scene, const struct tw_tracks *loops, GEOSGeometry **out)
{
    GEOSContextHandle_t context = scene->geos->context;
    GEOSGeometry **lines = calloc(loops->count + 1, sizeof *lines), *all = NULL;
    size_t count = 0;

    *out = NULL;
    if (!lines)
        return tw_no_memory(scene->findings);
    while (count < loops->count && (lines[count] = line_of(scene, &loops->items[count])))
        count++;
    if (count == loops->count)
        all = GEOSGeom_createCollection_r(context, GEOS_MULTILINESTRING, lines, (unsigned)count); /* takes the lines */
    else
        for (size_t i = 0; i < count; i++)
            drop(scene, lines[i]);
    free(lines);
    if (all)
        *out = GEOSBuffer_r(context, all, scene->radius_mm, QUADRANT_SEGMENTS);
    drop(scene, all);
    return *out ? TW_OK : failed(scene);
}

/* Whether the loops leave nothing but strips of less than UNCOVERED_MM to both sides. */
static enum tw_status covers(const struct tw_scene *scene, const GEOSGeometry *centres, const struct tw_tracks *loops,
                             bool *covered)
{
    GEOSContextHandle_t context = scene->geos->context;
    GEOSGeometry *wanted = GEOSBuffer_r(context, centres, scene->radius_mm, QUADRANT_SEGMENTS), *swept = NULL,
                 *left = NULL, *broad = NULL;
    enum tw_status status = wanted ? sweep_loops(scene, loops, &swept) : failed(scene);

    *covered = false;
    if (status == TW_OK)
        left = GEOSDifference_r(context, wanted, swept);
    if (left)
        broad = GEOSBuffer_r(context, left, -UNCOVERED_MM, 2);
    if (broad)
        *covered = GEOSisEmpty_r(context, broad) == 1;
    else if (status == TW_OK)
        status = failed(scene);
    drop(scene, broad);
    drop(scene, left);
    drop(scene, swept);
    drop(scene, wanted);
    return status;
}

/* From outside in. */
static enum tw_status lay_rings(const struct tw_scene *scene, const GEOSGeometry *centres, double pitch_mm,
                                struct tw_tracks *out)
{
    bool any = true;
    enum tw_status status = TW_OK;

    for (int i = 0; status == TW_OK && any && i < LOOPS_MOST; i++)
        status = add_offset(scene, centres, i * pitch_mm, out, &any);
    return status;
}

static void start_at(struct tw_track *track, size_t first, struct tw_point *room)
{
    for (size_t i = 0; i < track->count; i++)
        room[i] = track->points[(first + i) % track->count];
    for (size_t i = 0; i < track->count; i++)
        track->points[i] = room[i];
}

static size_t nearest_point(const struct tw_track *track, struct tw_point from, double *best_mm)
{
    size_t best = 0;

    *best_mm = HUGE_VAL;
    for (size_t i = 0; i < track->count; i++) {
        if (distance_mm(track->points[i], from) >= *best_mm)
            continue;
        *best_mm = distance_mm(track->points[i], from);
        best = i;
    }
    return best;
}

/* Whether the wheel can go straight from a to b without leaving the region. */
static enum tw_status is_free(const struct tw_scene *scene, const GEOSPreparedGeometry *centres, struct tw_point a,
                              struct tw_point b, bool *yes)
{
    GEOSContextHandle_t context = scene->geos->context;
    GEOSCoordSequence *sequence = GEOSCoordSeq_create_r(context, 2, 2);
    GEOSGeometry *line;
    char answer;

    if (!sequence)
        return failed(scene);
    if (GEOSCoordSeq_setXY_r(context, sequence, 0, a.x_mm, a.y_mm) == 0 ||
        GEOSCoordSeq_setXY_r(context, sequence, 1, b.x_mm, b.y_mm) == 0) {
        GEOSCoordSeq_destroy_r(context, sequence);
        return failed(scene);
    }
    line = GEOSGeom_createLineString_r(context, sequence);
    if (!line)
        return failed(scene);
    answer = GEOSPreparedCovers_r(context, centres, line);
    drop(scene, line);
    *yes = answer == 1;
    return answer == 2 ? failed(scene) : TW_OK;
}

/* Puts the loop that is nearest to where the last one ended, and can be reached from there, next; the outermost that is
 * left where none can. Each loop then begins at its nearest point. */
static enum tw_status order_next(const struct tw_scene *scene, const GEOSPreparedGeometry *centres,
                                 struct tw_tracks *tracks, size_t next, struct tw_point *room)
{
    struct tw_point from = tracks->items[next - 1].points[0];
    size_t best = next, best_start = 0;
    double best_mm = HUGE_VAL;
    bool linked = false;
    struct tw_track taken;

    for (size_t i = next; i < tracks->count; i++) {
        double way_mm;
        size_t start = nearest_point(&tracks->items[i], from, &way_mm);
        bool yes = false;
        enum tw_status status;

        if (way_mm >= best_mm)
            continue;
        status = is_free(scene, centres, from, tracks->items[i].points[start], &yes);
        if (status != TW_OK)
            return status;
        if (!yes)
            continue;
        best = i;
        best_start = start;
        best_mm = way_mm;
        linked = true;
    }
    taken = tracks->items[best];
    for (size_t i = best; i > next; i--) /* the others keep their order: from outside in */
        tracks->items[i] = tracks->items[i - 1];
    tracks->items[next] = taken;
    tracks->items[next].linked = linked;
    start_at(&tracks->items[next], best_start, room);
    tracks->length_mm += linked ? best_mm : 0.0;
    return TW_OK;
}

static enum tw_status order_loops(const struct tw_scene *scene, const GEOSGeometry *centres, struct tw_tracks *tracks)
{
    /* The links too are rounded to the grid and may follow the edge: a little more room for the asking. */
    GEOSGeometry *wider = GEOSBuffer_r(scene->geos->context, centres, EDGE_STEPS * scene->step_mm, QUADRANT_SEGMENTS);
    const GEOSPreparedGeometry *prepared = wider ? GEOSPrepare_r(scene->geos->context, wider) : NULL;
    struct tw_point *room = NULL;
    size_t most = 1;
    enum tw_status status = prepared ? TW_OK : failed(scene);

    for (size_t i = 0; i < tracks->count; i++) {
        most = tracks->items[i].count > most ? tracks->items[i].count : most;
        tracks->length_mm += tracks->items[i].length_mm;
    }
    room = malloc(most * sizeof *room);
    if (!room)
        status = tw_no_memory(scene->findings);
    for (size_t i = 1; status == TW_OK && i < tracks->count; i++)
        status = order_next(scene, prepared, tracks, i, room);
    free(room);
    if (prepared)
        GEOSPreparedGeom_destroy_r(scene->geos->context, prepared);
    drop(scene, wider);
    return status;
}

static enum tw_status lay_loops(const struct tw_scene *scene, const GEOSGeometry *centres, struct tw_tracks *out)
{
    double widest_mm = 2.0 * scene->radius_mm * scene->job->wheel.max_crossfeed_ratio;
    bool covered = false;
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && !covered && i < sizeof pitches / sizeof *pitches; i++) {
        tw_tracks_free(out);
        status = lay_rings(scene, centres, fmin(widest_mm, pitches[i] * scene->radius_mm), out);
        if (status == TW_OK && out->count > 0)
            status = covers(scene, centres, out, &covered);
        else
            covered = true;
    }
    if (status == TW_OK && out->count > 0)
        status = order_loops(scene, centres, out);
    return status;
}

/* The part of `whole` behind `front_mm`. */
static enum tw_status part_behind(const struct tw_scene *scene, const GEOSGeometry *whole, double front_mm,
                                  GEOSGeometry **out)
{
    GEOSGeometry *behind = NULL;
    enum tw_status status = rectangle(scene, (struct tw_box){ front_mm, -FAR_MM, FAR_MM, FAR_MM }, &behind);

    *out = NULL;
    if (status != TW_OK)
        return status;
    *out = GEOSIntersection_r(scene->geos->context, whole, behind);
    drop(scene, behind);
    return *out ? TW_OK : failed(scene);
}

/* ---- troughs ---- */

struct gap {
    double from_mm, to_mm;
};

static int by_start(const void *a, const void *b)
{
    double a_mm = ((const struct gap *)a)->from_mm, b_mm = ((const struct gap *)b)->from_mm;

    return (a_mm > b_mm) - (a_mm < b_mm);
}

/* x of what is not the region in a strip that is as wide as the disc; the strip's ends count too. */
static enum tw_status blocks_of(const struct tw_relief_area *area, double y_mm, struct gap **out, size_t *count)
{
    const struct tw_scene *scene = area->scene;
    GEOSContextHandle_t context = scene->geos->context;
    double half_mm = scene->job->wheel.width_mm / 2.0;
    GEOSGeometry *strip = NULL, *outside = NULL;
    struct tw_box box = { 0 };
    int parts = 0;
    enum tw_status status = box_of(scene, area->region, &box);

    *out = NULL;
    *count = 0;
    if (status == TW_OK)
        status = rectangle(
            scene, (struct tw_box){ box.min_x_mm - 1.0, y_mm - half_mm, box.max_x_mm + 1.0, y_mm + half_mm }, &strip);
    if (status == TW_OK)
        outside = GEOSDifference_r(context, strip, area->region);
    if (status == TW_OK && (!outside || (parts = GEOSGetNumGeometries_r(context, outside)) < 0))
        status = failed(scene);
    if (status == TW_OK && !(*out = calloc((size_t)parts + 1, sizeof **out)))
        status = tw_no_memory(scene->findings);
    for (int i = 0; status == TW_OK && i < parts; i++) {
        struct tw_box part;

        status = box_of(scene, GEOSGetGeometryN_r(context, outside, i), &part);
        (*out)[(*count)++] = (struct gap){ part.min_x_mm, part.max_x_mm };
    }
    if (status == TW_OK)
        qsort(*out, *count, sizeof **out, by_start);
    drop(scene, strip);
    drop(scene, outside);
    return status;
}

typedef enum tw_status (*use_trough)(const struct tw_relief_area *area, double y_mm, struct gap floor, void *context);

/* Each stretch of this strip in which the disc can touch the floor and still runs out inside the region. */
static enum tw_status each_trough(const struct tw_relief_area *area, double y_mm, use_trough use, void *context)
{
    struct gap *blocks = NULL;
    size_t count = 0;
    enum tw_status status = blocks_of(area, y_mm, &blocks, &count);
    double from_mm = status == TW_OK && count > 0 ? blocks[0].to_mm : HUGE_VAL;

    for (size_t i = 1; status == TW_OK && i < count; i++) {
        struct gap floor = { from_mm + area->run_out_mm, blocks[i].from_mm - area->run_out_mm };

        if (floor.to_mm - floor.from_mm >= SHORTEST_TROUGH_MM)
            status = use(area, y_mm, floor, context);
        from_mm = fmax(from_mm, blocks[i].to_mm);
    }
    free(blocks);
    return status;
}

/* The floor of the trough joins what the others cover. */
static enum tw_status cover_floor(const struct tw_relief_area *area, double y_mm, struct gap floor, void *context)
{
    double half_mm = area->scene->job->wheel.width_mm / 2.0;
    GEOSGeometry **all = context, *more = NULL;
    enum tw_status status =
        rectangle(area->scene, (struct tw_box){ floor.from_mm, y_mm - half_mm, floor.to_mm, y_mm + half_mm }, &more);

    return status == TW_OK ? unite(area->scene, all, more) : status;
}

/* The same, less an overlap: neighbours are to leave no ridge between them. */
static enum tw_status cover_narrow(const struct tw_relief_area *area, double y_mm, struct gap floor, void *context)
{
    double half_mm = area->scene->job->wheel.width_mm / 2.0 - OVERLAP_MM / 2.0;
    GEOSGeometry **all = context, *more = NULL;
    enum tw_status status =
        rectangle(area->scene, (struct tw_box){ floor.from_mm, y_mm - half_mm, floor.to_mm, y_mm + half_mm }, &more);

    return status == TW_OK ? unite(area->scene, all, more) : status;
}

/* What each strip could cover, and the strips taken so far, with what they cover. */
struct lanes {
    GEOSGeometry **floors; /* NULL: no trough there */
    double *y_mm;
    size_t count, first;
    bool *taken;
    GEOSGeometry *covered;
};

static enum tw_status gain_of(const struct tw_relief_area *area, const struct lanes *lanes, size_t i, double *gain_mm2)
{
    GEOSGeometry *fresh;
    enum tw_status status;

    *gain_mm2 = 0.0;
    if (!lanes->floors[i] || lanes->taken[i])
        return TW_OK;
    if (!lanes->covered)
        return area_of(area->scene, lanes->floors[i], gain_mm2);
    fresh = GEOSDifference_r(area->scene->geos->context, lanes->floors[i], lanes->covered);
    status = area_of(area->scene, fresh, gain_mm2);
    drop(area->scene, fresh);
    return status;
}

/* Takes the strip that adds most, again and again, until none adds what is worth a trough. */
static enum tw_status take_strips(const struct tw_relief_area *area, struct lanes *lanes)
{
    GEOSContextHandle_t context = area->scene->geos->context;
    enum tw_status status = TW_OK;

    while (status == TW_OK) {
        double most_mm2 = 0.0;
        size_t best = 0;

        for (size_t i = 0; status == TW_OK && i < lanes->count; i++) {
            double gain_mm2 = 0.0;

            status = gain_of(area, lanes, i, &gain_mm2);
            if (gain_mm2 > most_mm2 * (1.0 + EVEN_SHARE)) {
                most_mm2 = gain_mm2;
                best = i;
            }
        }
        if (status != TW_OK || most_mm2 <= TROUGH_SHARE * area->area_mm2)
            return status;
        lanes->taken[best] = true;
        status = unite(area->scene, &lanes->covered, GEOSGeom_clone_r(context, lanes->floors[best]));
    }
    return status;
}

/* Strips from edge to edge of the region, both edges among them. */
static enum tw_status lay_strips(const struct tw_relief_area *area, struct tw_box box, struct lanes *lanes)
{
    double width_mm = area->scene->job->wheel.width_mm, room_mm = box.max_y_mm - box.min_y_mm - width_mm;
    enum tw_status status = TW_OK;

    if (room_mm < 0.0)
        return TW_OK;
    lanes->count = (size_t)ceil(room_mm / LANE_STEP_MM) + 1;
    lanes->floors = calloc(lanes->count, sizeof *lanes->floors);
    lanes->y_mm = calloc(lanes->count, sizeof *lanes->y_mm);
    lanes->taken = calloc(lanes->count, sizeof *lanes->taken);
    if (!lanes->floors || !lanes->y_mm || !lanes->taken)
        return tw_no_memory(area->scene->findings);
    for (size_t i = 0; status == TW_OK && i < lanes->count; i++) {
        double share = lanes->count > 1 ? (double)i / (double)(lanes->count - 1) : 0.0;
        /* Rounded towards the middle, so that the outermost stay inside. */
        double low_mm = box.min_y_mm + width_mm / 2.0 + share * room_mm, step_mm = area->scene->step_mm;

        lanes->y_mm[i] = step_mm * (share < 0.5 ? ceil(low_mm / step_mm - 1e-6) : floor(low_mm / step_mm + 1e-6));
        status = each_trough(area, lanes->y_mm[i], cover_narrow, &lanes->floors[i]);
    }
    return status;
}

static enum tw_status keep_lanes(struct tw_relief_area *area, const struct lanes *lanes)
{
    area->lanes_mm = calloc(lanes->count + 1, sizeof *area->lanes_mm);
    if (!area->lanes_mm)
        return tw_no_memory(area->scene->findings);
    for (size_t i = 0; i < lanes->count; i++)
        if (lanes->taken[i])
            area->lanes_mm[area->lane_count++] = lanes->y_mm[i];
    return TW_OK;
}

/* The trough with as much of both run-outs as is taken out of them joins what is hollowed. */
static enum tw_status cover_hollow(const struct tw_relief_area *area, double y_mm, struct gap floor, void *context)
{
    double beyond_mm = 2.0 / 3.0 * area->run_out_mm;
    struct gap whole = { floor.from_mm - beyond_mm, floor.to_mm + beyond_mm };

    return cover_floor(area, y_mm, whole, context);
}

static enum tw_status cover_lanes(struct tw_relief_area *area, GEOSGeometry **reached)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < area->lane_count; i++) {
        status = each_trough(area, area->lanes_mm[i], cover_floor, reached);
        if (status == TW_OK)
            status = each_trough(area, area->lanes_mm[i], cover_hollow, &area->hollowed);
    }
    return status;
}

/* *reached is the caller's: what the floors of the troughs cover. */
static enum tw_status choose_lanes(struct tw_relief_area *area, GEOSGeometry **reached)
{
    struct lanes lanes = { 0 };
    struct tw_box box = { 0 };
    enum tw_status status = box_of(area->scene, area->region, &box);

    if (status == TW_OK)
        status = lay_strips(area, box, &lanes);
    if (status == TW_OK)
        status = take_strips(area, &lanes);
    if (status == TW_OK)
        status = keep_lanes(area, &lanes);
    if (status == TW_OK)
        status = cover_lanes(area, reached);
    for (size_t i = 0; lanes.floors && i < lanes.count; i++)
        drop(area->scene, lanes.floors[i]);
    free(lanes.floors);
    free(lanes.y_mm);
    free(lanes.taken);
    drop(area->scene, lanes.covered);
    return status;
}

struct laying {
    struct tw_tracks *out;
    double front_mm;
};

/* From the floor that the disc touches to the places that its programmed point goes to. */
static enum tw_status add_trough(const struct tw_relief_area *area, double y_mm, struct gap floor, void *context)
{
    const struct tw_scene *scene = area->scene;
    struct laying *laying = context;
    double shift_mm = scene->ride.shift_mm;
    /* Stock that only stands over the last of a trough, or over its run-out, still wants a trough to be taken by. */
    double from_mm = fmax(floor.from_mm, fmin(laying->front_mm, floor.to_mm - SHORTEST_TROUGH_MM));
    double front_mm = tw_scene_grid_x_at_or_after_mm(scene, from_mm + shift_mm);
    double back_mm = tw_scene_grid_x_at_or_before_mm(scene, floor.to_mm + shift_mm - scene->step_mm);
    struct tw_track *track;

    if (laying->front_mm > floor.to_mm + area->run_out_mm || back_mm - front_mm < SHORTEST_TROUGH_MM / 4.0)
        return TW_OK;
    track = add_track(scene, laying->out, 2);
    if (!track)
        return TW_NO_MEMORY;
    track->points[0] = (struct tw_point){ back_mm, y_mm };
    track->points[1] = (struct tw_point){ front_mm, y_mm };
    track->count = 2;
    track->length_mm = back_mm - front_mm;
    laying->out->length_mm += track->length_mm;
    return TW_OK;
}

/* ---- what is left ---- */

static int by_area(const void *a, const void *b)
{
    double a_mm2 = ((const struct tw_unreached *)a)->area_mm2, b_mm2 = ((const struct tw_unreached *)b)->area_mm2;

    return (a_mm2 < b_mm2) - (a_mm2 > b_mm2);
}

static enum tw_status measure_part(const struct tw_relief_area *area, const GEOSGeometry *part, double area_mm2,
                                   struct tw_unreached *out)
{
    struct tw_point place = { 0.0, 0.0 };
    double wheel_mm = 0.0;
    enum tw_status status = largest_circle(area->scene, part, &wheel_mm, &place);

    *out = (struct tw_unreached){ area_mm2, place.x_mm, place.y_mm, wheel_mm };
    return status;
}

static enum tw_status list_left(struct tw_relief_area *area, const GEOSGeometry *left)
{
    GEOSContextHandle_t context = area->scene->geos->context;
    int parts = GEOSGetNumGeometries_r(context, left);
    enum tw_status status = parts < 0 ? failed(area->scene) : TW_OK;

    for (int i = 0; status == TW_OK && i < parts; i++) {
        const GEOSGeometry *part = GEOSGetGeometryN_r(context, left, i);
        struct tw_unreached *last = &area->left[TW_UNREACHED_MOST - 1], found;
        double area_mm2 = 0.0;

        status = area_of(area->scene, part, &area_mm2);
        if (status != TW_OK || area_mm2 < TOLD_MM2)
            continue;
        status = measure_part(area, part, area_mm2, &found);
        if (area->left_count < TW_UNREACHED_MOST)
            area->left[area->left_count++] = found;
        else if (found.area_mm2 > last->area_mm2)
            *last = found;
        qsort(area->left, area->left_count, sizeof *area->left, by_area);
    }
    return status;
}

static enum tw_status find_left(struct tw_relief_area *area, const GEOSGeometry *reached)
{
    GEOSGeometry *left;
    enum tw_status status = area_of(area->scene, reached, &area->reached_mm2);

    if (status != TW_OK)
        return status;
    if (!area->hollowed && !(area->hollowed = GEOSGeom_clone_r(area->scene->geos->context, reached)))
        return failed(area->scene);
    status = area_of(area->scene, area->hollowed, &area->hollowed_mm2);
    if (status != TW_OK)
        return status;
    left = GEOSDifference_r(area->scene->geos->context, area->region, reached);
    status = left ? list_left(area, left) : failed(area->scene);
    drop(area->scene, left);
    return status;
}

/* ---- the ground ---- */

static enum tw_status take_region(struct tw_relief_area *area)
{
    const struct tw_scene *scene = area->scene;
    struct tw_relief_region region;
    enum tw_status status = tw_relief_region(scene->job, &region, scene->findings);

    if (status == TW_OK)
        status = tw_relief_check(scene->job, &region, scene->findings);
    for (size_t i = 0; status == TW_OK && i < region.count; i++) {
        struct tw_outline piece = { 0 };
        GEOSGeometry *polygon = NULL;

        status = tw_face_outline(&scene->face, &region.pieces[i], &piece, scene->findings);
        if (status == TW_OK)
            status = tw_geos_from_outline(scene->geos, &piece, &polygon, scene->findings);
        if (status == TW_OK)
            status = unite(scene, &area->region, polygon);
        tw_outline_free(&piece);
    }
    tw_relief_free(&region);
    return status == TW_OK ? area_of(scene, area->region, &area->area_mm2) : status;
}

/* *reached is the caller's: what the wheel passes over with its centre everywhere it may go. */
static enum tw_status find_centres(struct tw_relief_area *area, GEOSGeometry **reached)
{
    const struct tw_scene *scene = area->scene;
    GEOSContextHandle_t context = scene->geos->context;
    double inset_mm = scene->radius_mm * (1.0 + CHORD_SHARE) + thin_mm(scene) + (EDGE_STEPS + 1.0) * scene->step_mm;
    GEOSGeometry *exact = GEOSBuffer_r(context, area->region, -inset_mm, QUADRANT_SEGMENTS);

    if (exact)
        area->centres = GEOSTopologyPreserveSimplify_r(context, exact, thin_mm(scene));
    drop(scene, exact);
    if (!area->centres)
        return failed(scene);
    *reached = GEOSBuffer_r(context, area->centres, scene->radius_mm, QUADRANT_SEGMENTS);
    return *reached ? TW_OK : failed(scene);
}

enum tw_status tw_relief_area_too_narrow(const struct tw_relief_area *area)
{
    const struct tw_scene *scene = area->scene;
    const struct tw_wheel *wheel = &scene->job->wheel;
    struct tw_place at = { .file = scene->job->path, .key = "relief" };
    struct tw_point place;
    double largest_mm;
    enum tw_status status = largest_circle(scene, area->region, &largest_mm, &place);

    if (status != TW_OK)
        return status;
    if (wheel->kind == TW_WHEEL_CUP)
        return tw_fail(
            scene->findings, TW_NO_PLAN, at,
            "the wheel of %.6g mm fits nowhere inside the land and bosses, so nothing can be hollowed; one of %.2f mm "
            "would just fit at x = %.1f, y = %.1f mm, and a smaller one has room to move: give it as relief_wheel",
            wheel->diameter_mm, floor(largest_mm * 100.0) / 100.0, place.x_mm, place.y_mm);
    return tw_fail(
        scene->findings, TW_NO_PLAN, at,
        "a disc %.6g mm wide that runs out over %.1f mm at both ends of a trough finds no room inside the land and "
        "bosses; the largest circle there is %.2f mm across at x = %.1f, y = %.1f mm: a narrower and smaller disc, or "
        "a "
        "shallower relief, may fit",
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

static enum tw_status measure_area(struct tw_relief_area *area)
{
    const struct tw_scene *scene = area->scene;
    bool disc = scene->job->wheel.kind == TW_WHEEL_DISC;
    GEOSGeometry *reached = NULL;
    enum tw_status status = take_region(area);

    if (status == TW_OK)
        status = disc ? choose_lanes(area, &reached) : find_centres(area, &reached);
    if (status == TW_OK && reached)
        status = find_left(area, reached);
    if (status == TW_OK && !(area->reached_mm2 > 0.0))
        status = tw_relief_area_too_narrow(area);
    drop(scene, reached);
    return status;
}

enum tw_status tw_relief_area_open(const struct tw_scene *scene, double depth_mm, struct tw_relief_area *out)
{
    enum tw_status status;

    *out = (struct tw_relief_area){ .scene = scene, .run_out_mm = tw_run_out_mm(scene->radius_mm, depth_mm) };
    if (scene->job->wheel.kind == TW_WHEEL_CUP && !tw_scene_rim_is_coplanar(scene))
        return refuse_level_cup(scene);
    status = measure_area(out);
    if (status != TW_OK)
        tw_relief_area_close(out);
    return status;
}

void tw_relief_area_close(struct tw_relief_area *area)
{
    if (area->region)
        drop(area->scene, area->region);
    if (area->centres)
        drop(area->scene, area->centres);
    if (area->hollowed)
        drop(area->scene, area->hollowed);
    free(area->lanes_mm);
    *area = (struct tw_relief_area){ 0 };
}

static enum tw_status lay_loops_behind(const struct tw_relief_area *area, double front_mm, struct tw_tracks *out)
{
    GEOSGeometry *behind = NULL;
    /* The wheel reaches its radius ahead of its centre; a little more, so that there is a loop to go round as soon as
     * anything stands there. */
    enum tw_status status =
        part_behind(area->scene, area->centres, front_mm - area->scene->radius_mm - AHEAD_MM, &behind);

    if (status == TW_OK)
        status = lay_loops(area->scene, behind, out);
    drop(area->scene, behind);
    return status;
}

enum tw_status tw_tracks_lay(const struct tw_relief_area *area, double front_mm, struct tw_tracks *out)
{
    struct laying laying = { out, front_mm };
    enum tw_status status = TW_OK;

    *out = (struct tw_tracks){ 0 };
    if (area->centres)
        status = lay_loops_behind(area, front_mm, out);
    for (size_t i = 0; status == TW_OK && i < area->lane_count; i++)
        status = each_trough(area, area->lanes_mm[i], add_trough, &laying);
    if (status != TW_OK)
        tw_tracks_free(out);
    return status;
}
