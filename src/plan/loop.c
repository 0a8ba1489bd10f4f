/* loop.c - offset loops over one layer: inset outlines, proved by GEOS to leave nothing uncovered. */
#include "plan/loop.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Loops are thinned to these parts of the radius: the coarsest that covers where the machine comes to rest at every
 * corner, the finest where it blends them and the smallest turn is best. The covering check is made on the thinned
 * ones. */
static const double thin_by[] = { 0.08, 0.03, 0.004 };
#define THINS (sizeof thin_by / sizeof *thin_by)
/* Stock that may stay uncovered by rounding alone. */
#define UNCOVERED_MM2     1e-3
#define QUADRANT_SEGMENTS 32
/* The inscribed circle is found to this part of the wheel's radius: it only says how many loops to try. */
#define INSCRIBED_SHARE 0.02
/* Shorter moves than this only starve a small controller (NISTIR 6556, section 5.3). */
#define SHORTEST_MOVE_MM 0.1

/* The outer loop's inset as a part of the radius, and the loops' distance as a part of the widest: sharp corners
 * need less of both. Tried in this order until nothing is left uncovered. */
static const struct fit {
    double inset, pitch;
} fits[] = { { 0.6, 1.0 }, { 0.6, 0.8 }, { 0.4, 1.0 }, { 0.4, 0.7 }, { 0.2, 0.7 }, { 0.0, 0.6 } };

void tw_loops_free(struct tw_loops *loops)
{
    free(loops->points);
    *loops = (struct tw_loops){ 0 };
}

static enum tw_status add_point(const struct tw_scene *scene, struct tw_loops *loops, double x_mm, double y_mm)
{
    if (!tw_grow((void **)&loops->points, &loops->capacity, loops->count + 1, sizeof *loops->points))
        return tw_no_memory(scene->findings);
    loops->points[loops->count++] = (struct tw_point){ tw_scene_round_mm(scene, x_mm), tw_scene_round_mm(scene, y_mm) };
    return TW_OK;
}

/* ---- shapes ---- */

static enum tw_status layer_region(const struct tw_scene *scene, double bottom_mm, GEOSGeometry **out)
{
    double front_mm = tw_face_reach_mm(&scene->face, bottom_mm);
    double back_mm = fmin(front_mm + 1e4, tw_face_end_mm(&scene->face, bottom_mm));
    struct tw_point corner[4] = { { front_mm, -1e4 }, { back_mm, -1e4 }, { back_mm, 1e4 }, { front_mm, 1e4 } };
    struct tw_ring box = { corner, 4 };
    GEOSGeometry *rectangle = NULL;
    enum tw_status status = tw_geos_from_ring(scene->geos, &box, &rectangle, scene->findings);

    *out = NULL;
    if (status != TW_OK)
        return status;
    *out = GEOSIntersection_r(scene->geos->context, scene->region, rectangle);
    GEOSGeom_destroy_r(scene->geos->context, rectangle);
    return *out ? TW_OK : tw_geos_fail(scene->geos, "cut a layer out of the outline", scene->findings);
}

static double inscribed_radius_mm(const struct tw_scene *scene, const GEOSGeometry *region)
{
    double tolerance_mm = fmax(0.01, INSCRIBED_SHARE * scene->radius_mm);
    GEOSGeometry *radius = GEOSMaximumInscribedCircle_r(scene->geos->context, region, tolerance_mm);
    double length_mm = 0.0;

    if (!radius)
        return 0.0;
    if (GEOSLength_r(scene->geos->context, radius, &length_mm) == 0)
        length_mm = 0.0;
    GEOSGeom_destroy_r(scene->geos->context, radius);
    return length_mm;
}

/* The outline of the region shrunk by `inset_mm`, thinned; holes do not matter, the wheel goes over them. */
static enum tw_status inset_region(const struct tw_scene *scene, const GEOSGeometry *region, double inset_mm,
                                   double thin_mm, GEOSGeometry **out)
{
    GEOSContextHandle_t context = scene->geos->context;
    GEOSGeometry *shrunk = GEOSBuffer_r(context, region, -inset_mm, QUADRANT_SEGMENTS);

    *out = NULL;
    if (shrunk)
        *out = GEOSTopologyPreserveSimplify_r(context, shrunk, thin_mm);
    if (shrunk)
        GEOSGeom_destroy_r(context, shrunk);
    return *out ? TW_OK : tw_geos_fail(scene->geos, "shrink a layer", scene->findings);
}

/* The region with its holes filled: loops only follow the outside. */
static enum tw_status fill_holes(const struct tw_scene *scene, const GEOSGeometry *region, GEOSGeometry **out)
{
    GEOSContextHandle_t context = scene->geos->context;
    const GEOSGeometry *shell;
    GEOSGeometry *copy;

    *out = NULL;
    if (GEOSGeomTypeId_r(context, region) != GEOS_POLYGON || GEOSisEmpty_r(context, region) != 0) {
        *out = GEOSGeom_clone_r(context, region);
    } else {
        shell = GEOSGetExteriorRing_r(context, region);
        copy = shell ? GEOSGeom_clone_r(context, shell) : NULL;
        *out = copy ? GEOSGeom_createPolygon_r(context, copy, NULL, 0) : NULL;
    }
    return *out ? TW_OK : tw_geos_fail(scene->geos, "fill holes", scene->findings);
}

/* ---- one loop ---- */

static bool read_point(const struct tw_scene *scene, const GEOSCoordSequence *sequence, unsigned i,
                       struct tw_point *out)
{
    return GEOSCoordSeq_getXY_r(scene->geos->context, sequence, i, &out->x_mm, &out->y_mm) != 0;
}

static double distance_mm(struct tw_point a, struct tw_point b)
{
    return hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm);
}

/* Where to step onto the ring: nearest to `from`. */
static unsigned nearest_corner(const struct tw_scene *scene, const GEOSCoordSequence *sequence, unsigned count,
                               struct tw_point from)
{
    unsigned best = 0;
    double best_mm = HUGE_VAL;

    for (unsigned i = 0; i < count; i++) {
        struct tw_point p;

        if (read_point(scene, sequence, i, &p) && distance_mm(p, from) < best_mm) {
            best_mm = distance_mm(p, from);
            best = i;
        }
    }
    return best;
}

static enum tw_status add_ring(const struct tw_scene *scene, const GEOSGeometry *ring, bool first, struct tw_loops *out)
{
    GEOSContextHandle_t context = scene->geos->context;
    const GEOSCoordSequence *sequence = GEOSGeom_getCoordSeq_r(context, ring);
    struct tw_point from = { 1e6, 0.0 }, p;
    unsigned size = 0, start;
    enum tw_status status = TW_OK;

    if (!sequence || GEOSCoordSeq_getSize_r(context, sequence, &size) == 0 || size < 4)
        return tw_geos_fail(scene->geos, "read a loop", scene->findings);
    size--; /* the last point repeats the first */
    if (!first)
        from = out->points[out->count - 1];
    start = nearest_corner(scene, sequence, size, from);
    if (first && read_point(scene, sequence, start, &p)) {
        double back_mm = 0.0;

        if (GEOSGeom_getXMax_r(context, scene->region, &back_mm) == 0)
            return tw_geos_fail(scene->geos, "measure the outline", scene->findings);
        back_mm += TW_THIN_MM + scene->radius_mm + scene->job->travel.overtravel_mm;
        status = add_point(scene, out, back_mm + scene->step_mm, p.y_mm); /* rounding must not bring it nearer */
    }
    for (unsigned i = 0; status == TW_OK && i <= size; i++) {
        if (!read_point(scene, sequence, (start + i) % size, &p))
            return tw_geos_fail(scene->geos, "read a loop", scene->findings);
        if (i == 0 || i == size || distance_mm(p, out->points[out->count - 1]) >= SHORTEST_MOVE_MM)
            status = add_point(scene, out, p.x_mm, p.y_mm);
    }
    out->loop_count++;
    return status;
}

/* ---- the whole set ---- */

/* All loops from the outermost inwards as one line. A shrunk region in several pieces is refused: jumps between
 * them would cut where no loop was planned. */
static enum tw_status chain_loops(const struct tw_scene *scene, const GEOSGeometry *region, double inset_mm,
                                  double pitch_mm, double thin_mm, int count, struct tw_loops *out)
{
    GEOSContextHandle_t context = scene->geos->context;
    enum tw_status status = TW_OK;

    for (int i = 0; status == TW_OK && i < count; i++) {
        GEOSGeometry *shape = NULL;

        status = inset_region(scene, region, inset_mm + i * pitch_mm, thin_mm, &shape);
        if (status != TW_OK)
            return status;
        if (GEOSGeomTypeId_r(context, shape) != GEOS_POLYGON || GEOSisEmpty_r(context, shape) != 0)
            status = TW_NO_PLAN;
        else
            status = add_ring(scene, GEOSGetExteriorRing_r(context, shape), i == 0, out);
        GEOSGeom_destroy_r(context, shape);
    }
    return status;
}

static GEOSGeometry *line_of(const struct tw_scene *scene, const struct tw_loops *loops)
{
    GEOSContextHandle_t context = scene->geos->context;
    GEOSCoordSequence *sequence = GEOSCoordSeq_create_r(context, (unsigned)loops->count, 2);

    if (!sequence)
        return NULL;
    for (size_t i = 0; i < loops->count; i++)
        GEOSCoordSeq_setXY_r(context, sequence, (unsigned)i, loops->points[i].x_mm, loops->points[i].y_mm);
    return GEOSGeom_createLineString_r(context, sequence);
}

/* Area of the region that the rim never passes over, and the path's length over stock. */
static enum tw_status check_cover(const struct tw_scene *scene, const GEOSGeometry *region, struct tw_loops *loops,
                                  double *uncovered_mm2)
{
    GEOSContextHandle_t context = scene->geos->context;
    GEOSGeometry *line = line_of(scene, loops), *swept = NULL, *left = NULL, *near = NULL, *inside = NULL;
    bool measured = false;

    if (line)
        swept = GEOSBuffer_r(context, line, scene->radius_mm, QUADRANT_SEGMENTS);
    if (swept)
        left = GEOSDifference_r(context, region, swept);
    if (left)
        near = GEOSBuffer_r(context, region, scene->radius_mm, QUADRANT_SEGMENTS);
    if (near)
        inside = GEOSIntersection_r(context, line, near);
    if (inside)
        measured =
            GEOSArea_r(context, left, uncovered_mm2) != 0 && GEOSLength_r(context, inside, &loops->stock_mm) != 0;
    for (size_t i = 0; i < 5; i++) {
        GEOSGeometry *shapes[5] = { line, swept, left, near, inside };

        if (shapes[i])
            GEOSGeom_destroy_r(context, shapes[i]);
    }
    return measured ? TW_OK : tw_geos_fail(scene->geos, "check what the loops cover", scene->findings);
}

/* One way to lay loops. */
struct set {
    double inset_mm, pitch_mm, thin_mm;
    int most;
};

/* The fewest loops of this set that cover the region: a window in the middle makes the inner ones needless. */
static enum tw_status fewest_loops(const struct tw_scene *scene, const GEOSGeometry *region, const GEOSGeometry *filled,
                                   struct set set, struct tw_loops *out, bool *covered)
{
    *covered = false;
    for (int count = 1; !*covered && count <= set.most; count++) {
        double uncovered_mm2 = HUGE_VAL;
        enum tw_status status;

        out->count = 0;
        out->loop_count = 0;
        status = chain_loops(scene, filled, set.inset_mm, set.pitch_mm, set.thin_mm, count, out);
        if (status == TW_OK)
            status = check_cover(scene, region, out, &uncovered_mm2);
        if (status != TW_OK && status != TW_NO_PLAN)
            return status;
        *covered = status == TW_OK && uncovered_mm2 <= UNCOVERED_MM2;
    }
    return TW_OK;
}

static enum tw_status try_fits(const struct tw_scene *scene, const GEOSGeometry *region, const GEOSGeometry *filled,
                               struct tw_loops *out)
{
    double radius_mm = scene->radius_mm;
    double widest_mm = 2.0 * radius_mm * scene->job->wheel.max_crossfeed_ratio;
    double middle_mm = inscribed_radius_mm(scene, filled);
    struct tw_place at = { .file = scene->job->path };
    bool blended = scene->job->machine.dialect.path_mode == TW_PATH_BLENDED;

    for (size_t i = 0; i < sizeof fits / sizeof *fits; i++) {
        double inset_mm = fits[i].inset * radius_mm, pitch_mm = fits[i].pitch * widest_mm;
        double rest_mm = middle_mm - inset_mm - widest_mm / 2.0;
        int count = rest_mm > 0.0 ? 1 + (int)ceil(rest_mm / pitch_mm) : 1;
        enum tw_status status;

        if (count > 1)
            pitch_mm = fmin(pitch_mm, (middle_mm * 0.999 - inset_mm) / (count - 1));
        if (inset_mm >= middle_mm)
            continue;
        for (size_t thin = blended ? THINS - 1 : 0; thin < THINS; thin++) {
            bool covered = false;

            status = fewest_loops(scene, region, filled,
                                  (struct set){ inset_mm, pitch_mm, thin_by[thin] * radius_mm, count }, out, &covered);
            if (status != TW_OK || covered)
                return status;
        }
    }
    return tw_fail(scene->findings, TW_NO_PLAN, at, "no set of offset loops covers a layer; lanes are used");
}

enum tw_status tw_loops_lay(const struct tw_scene *scene, double bottom_mm, struct tw_loops *out)
{
    GEOSGeometry *region = NULL, *filled = NULL;
    double area_mm2 = 0.0;
    enum tw_status status = layer_region(scene, bottom_mm, &region);

    *out = (struct tw_loops){ 0 };
    if (status == TW_OK && GEOSArea_r(scene->geos->context, region, &area_mm2) == 0)
        status = tw_geos_fail(scene->geos, "measure a layer", scene->findings);
    if (status == TW_OK && area_mm2 > 1e-6)
        status = fill_holes(scene, region, &filled);
    if (status == TW_OK && filled)
        status = try_fits(scene, region, filled, out);
    if (region)
        GEOSGeom_destroy_r(scene->geos->context, region);
    if (filled)
        GEOSGeom_destroy_r(scene->geos->context, filled);
    if (status != TW_OK)
        tw_loops_free(out);
    return status;
}
