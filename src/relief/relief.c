/* relief.c - the outline shrunk by the land, less bosses and the end at the taper start. */
#include "tangwright/relief.h"

#include "base/numbers.h"
#include "geometry/geos.h"
#include "geometry/ring.h"

#include <math.h>
#include <stdlib.h>

#define QUADRANT_CHORDS 128
#define SLIVER_MM2      1e-4 /* smaller pieces come from rounding, not from the drawing */
#define MARGIN_MM       1.0  /* of the rectangle behind `end` round the outline */

bool tw_relief_wanted(const struct tw_job *job, enum tw_side side)
{
    if (!(job->relief.depth_mm > 0))
        return false;
    return job->relief.sides == TW_RELIEF_BOTH || (job->relief.sides == TW_RELIEF_A) == (side == TW_SIDE_A);
}

int tw_relief_face_count(const struct tw_relief *relief)
{
    return relief->sides == TW_RELIEF_BOTH ? 2 : 1;
}

const struct tw_wheel *tw_scope_wheel(const struct tw_job *job, enum tw_scope scope)
{
    return scope == TW_SCOPE_RELIEF && job->relief_wheel.diameter_mm > 0.0 ? &job->relief_wheel : &job->wheel;
}

struct tw_job tw_scope_job(const struct tw_job *job, enum tw_side side, enum tw_scope scope)
{
    struct tw_job copy = *job;
    enum tw_side below = side == TW_SIDE_A ? TW_SIDE_B : TW_SIDE_A;

    copy.wheel = *tw_scope_wheel(job, scope);
    copy.task.scope = scope;
    if (tw_relief_wanted(job, below) && (side == TW_SIDE_B || job->task.over_ground))
        copy.task.hollowed_mm += job->relief.depth_mm;
    return copy;
}

/* Grows (or shrinks) with round corners, a little more than asked for, so that chords stay outside the arc. */
static enum tw_status offset(struct tw_geos *geos, const GEOSGeometry *from, double distance_mm, GEOSGeometry **out,
                             struct tw_findings *findings)
{
    *out = GEOSBuffer_r(geos->context, from, distance_mm / cos(TW_PI / (4.0 * QUADRANT_CHORDS)), QUADRANT_CHORDS);
    return *out ? TW_OK : tw_geos_fail(geos, "offset the outline of the relief", findings);
}

/* *region becomes what is left of it, or shared with `other`; `other` is given up. */
static enum tw_status combine(struct tw_geos *geos, GEOSGeometry **region, GEOSGeometry *other, bool keep_shared,
                              struct tw_findings *findings)
{
    GEOSGeometry *result = keep_shared ? GEOSIntersection_r(geos->context, *region, other)
                                       : GEOSDifference_r(geos->context, *region, other);

    GEOSGeom_destroy_r(geos->context, other);
    if (!result)
        return tw_geos_fail(geos, "cut the region of the relief", findings);
    GEOSGeom_destroy_r(geos->context, *region);
    *region = result;
    return TW_OK;
}

static enum tw_status shrink(struct tw_geos *geos, const struct tw_ring *outer, double land_mm, GEOSGeometry **out,
                             struct tw_findings *findings)
{
    GEOSGeometry *whole = NULL;
    enum tw_status status = tw_geos_from_ring(geos, outer, &whole, findings);

    if (status != TW_OK)
        return status;
    status = offset(geos, whole, -land_mm, out, findings);
    GEOSGeom_destroy_r(geos->context, whole);
    return status;
}

static enum tw_status drop_end(struct tw_geos *geos, const struct tw_ring *outer, double end_mm, GEOSGeometry **region,
                               struct tw_findings *findings)
{
    struct tw_box box = tw_ring_box(outer);
    double far_mm = fmax(box.max_x_mm, end_mm) + MARGIN_MM;
    struct tw_point corners[4] = { { end_mm, box.min_y_mm - MARGIN_MM },
                                   { far_mm, box.min_y_mm - MARGIN_MM },
                                   { far_mm, box.max_y_mm + MARGIN_MM },
                                   { end_mm, box.max_y_mm + MARGIN_MM } };
    struct tw_ring ring = { corners, 4 };
    GEOSGeometry *behind = NULL;
    enum tw_status status = tw_geos_from_ring(geos, &ring, &behind, findings);

    return status == TW_OK ? combine(geos, region, behind, true, findings) : status;
}

static enum tw_status spare_hole(struct tw_geos *geos, const struct tw_ring *hole, double boss_mm,
                                 GEOSGeometry **region, struct tw_findings *findings)
{
    GEOSGeometry *inside = NULL, *boss = NULL;
    enum tw_status status = tw_geos_from_ring(geos, hole, &inside, findings);

    if (status == TW_OK)
        status = offset(geos, inside, boss_mm, &boss, findings);
    GEOSGeom_destroy_r(geos->context, inside);
    return status == TW_OK ? combine(geos, region, boss, false, findings) : status;
}

static enum tw_status cut_region(struct tw_geos *geos, const struct tw_job *job, double land_mm, GEOSGeometry **region,
                                 struct tw_findings *findings)
{
    const struct tw_outline *tang = &job->part.tang;
    enum tw_status status = shrink(geos, &tang->outer, land_mm, region, findings);

    if (status == TW_OK)
        status = drop_end(geos, &tang->outer, job->relief.end_mm, region, findings);
    for (size_t i = 0; status == TW_OK && i < tang->hole_count; i++)
        status = spare_hole(geos, &tang->holes[i], job->relief.boss_mm, region, findings);
    return status;
}

/* ---- pieces ---- */

static double outline_area_mm2(const struct tw_outline *outline)
{
    double area_mm2 = tw_ring_area_mm2(&outline->outer);

    for (size_t i = 0; i < outline->hole_count; i++)
        area_mm2 += tw_ring_area_mm2(&outline->holes[i]); /* clockwise: below zero */
    return area_mm2;
}

static int by_least_x(const void *a, const void *b)
{
    double a_mm = tw_ring_box(&((const struct tw_outline *)a)->outer).min_x_mm;
    double b_mm = tw_ring_box(&((const struct tw_outline *)b)->outer).min_x_mm;

    return (a_mm > b_mm) - (a_mm < b_mm);
}

static enum tw_status add_piece(struct tw_geos *geos, const GEOSGeometry *polygon, struct tw_relief_region *out,
                                struct tw_findings *findings)
{
    struct tw_outline *piece = &out->pieces[out->count];
    double area_mm2 = 0.0;
    enum tw_status status;

    if (GEOSGeomTypeId_r(geos->context, polygon) != GEOS_POLYGON ||
        GEOSArea_r(geos->context, polygon, &area_mm2) != 1 || area_mm2 < SLIVER_MM2)
        return TW_OK; /* lines and points where edges touch */
    status = tw_geos_to_outline(geos, polygon, piece, findings);
    if (status != TW_OK)
        return status;
    out->count++;
    out->area_mm2 += outline_area_mm2(piece);
    out->far_mm = fmax(out->far_mm, tw_ring_box(&piece->outer).max_x_mm);
    return TW_OK;
}

static enum tw_status take_pieces(struct tw_geos *geos, const GEOSGeometry *region, struct tw_relief_region *out,
                                  struct tw_findings *findings)
{
    int count = GEOSGetNumGeometries_r(geos->context, region);
    enum tw_status status = TW_OK;

    if (count < 0)
        return tw_geos_fail(geos, "count the pieces of the relief", findings);
    out->pieces = calloc((size_t)count + 1, sizeof *out->pieces);
    if (!out->pieces)
        return tw_no_memory(findings);
    for (int i = 0; status == TW_OK && i < count; i++)
        status = add_piece(geos, GEOSGetGeometryN_r(geos->context, region, i), out, findings);
    if (status == TW_OK)
        qsort(out->pieces, out->count, sizeof *out->pieces, by_least_x);
    return status;
}

/* ---- nothing left ---- */

/* Half the distance by which the land could be narrower decides; bisected on whether anything remains. */
static enum tw_status largest_land(struct tw_geos *geos, const struct tw_job *job, double *out_mm,
                                   struct tw_findings *findings)
{
    double low_mm = 0.0, high_mm = job->relief.land_mm;

    while (high_mm - low_mm > 0.01) {
        double land_mm = (low_mm + high_mm) / 2.0, area_mm2 = 0.0;
        GEOSGeometry *region = NULL;
        enum tw_status status = cut_region(geos, job, land_mm, &region, findings);

        if (status == TW_OK && GEOSArea_r(geos->context, region, &area_mm2) != 1)
            status = tw_geos_fail(geos, "measure the region of the relief", findings);
        GEOSGeom_destroy_r(geos->context, region);
        if (status != TW_OK)
            return status;
        if (area_mm2 >= SLIVER_MM2)
            low_mm = land_mm;
        else
            high_mm = land_mm;
    }
    *out_mm = floor(low_mm * 100.0) / 100.0;
    return TW_OK;
}

static enum tw_status refuse_empty(struct tw_geos *geos, const struct tw_job *job, struct tw_findings *findings)
{
    struct tw_place at = { .file = job->path, .key = "relief.land" };
    double land_mm = 0.0;
    enum tw_status status = largest_land(geos, job, &land_mm, findings);

    if (status != TW_OK)
        return status;
    if (land_mm > 0.0)
        return tw_fail(findings, TW_BAD_INPUT, at,
                       "a land of %.6g mm, bosses of %.6g mm and %.6g mm at the taper start leave nothing of the face "
                       "to hollow; a land below %.2f mm does",
                       job->relief.land_mm, job->relief.boss_mm, job->relief.end_mm, land_mm);
    return tw_fail(findings, TW_BAD_INPUT, at,
                   "bosses of %.6g mm and %.6g mm at the taper start leave nothing of the face to hollow, whatever the "
                   "land; make boss or end smaller",
                   job->relief.boss_mm, job->relief.end_mm);
}

enum tw_status tw_relief_region(const struct tw_job *job, struct tw_relief_region *out, struct tw_findings *findings)
{
    struct tw_geos geos;
    GEOSGeometry *region = NULL;
    enum tw_status status = tw_geos_open(&geos, findings);

    *out = (struct tw_relief_region){ 0 };
    if (status != TW_OK)
        return status;
    status = cut_region(&geos, job, job->relief.land_mm, &region, findings);
    if (status == TW_OK)
        status = take_pieces(&geos, region, out, findings);
    if (status == TW_OK && out->count == 0)
        status = refuse_empty(&geos, job, findings);
    GEOSGeom_destroy_r(geos.context, region);
    tw_geos_close(&geos);
    if (status != TW_OK)
        tw_relief_free(out);
    return status;
}

/* ---- depth ---- */

double tw_relief_deepest_mm(const struct tw_job *job, const struct tw_relief_region *region, double butt_mm)
{
    double drop_mm = (job->taper.ricasso_mm - butt_mm) * region->far_mm / job->taper.length_mm;

    return (job->taper.ricasso_mm - drop_mm - job->taper.smallest_mm) / tw_relief_face_count(&job->relief);
}

enum tw_status tw_relief_check(const struct tw_job *job, const struct tw_relief_region *region,
                               struct tw_findings *findings)
{
    struct tw_place at = { .file = job->path, .key = "relief.depth" };
    int faces = tw_relief_face_count(&job->relief);
    double deepest_mm = tw_relief_deepest_mm(job, region, job->taper.butt_mm);
    double room_mm = job->taper.ricasso_mm - job->taper.smallest_mm - faces * job->relief.depth_mm;

    if (job->relief.depth_mm <= deepest_mm * (1 + 1e-12))
        return TW_OK;
    return tw_fail(
        findings, TW_BAD_INPUT, at,
        "%.6g mm on %s leaves %.3f mm between the hollows at %.1f mm from the taper start, below "
        "smallest_thickness, %.6g mm; at most %.3f mm deep will do, or a butt of %.2f mm or more, or a wider land",
        job->relief.depth_mm, faces == 2 ? "each face" : "one face",
        job->taper.smallest_mm + faces * (deepest_mm - job->relief.depth_mm), region->far_mm, job->taper.smallest_mm,
        fmax(0.0, floor(deepest_mm * 1000.0) / 1000.0),
        ceil((job->taper.ricasso_mm - room_mm * job->taper.length_mm / region->far_mm) * 100.0) / 100.0);
}

void tw_relief_free(struct tw_relief_region *region)
{
    for (size_t i = 0; i < region->count; i++)
        tw_outline_free(&region->pieces[i]);
    free(region->pieces);
    *region = (struct tw_relief_region){ 0 };
}
