/* geos.c - the context, and outlines to and from GEOS geometry. */
#include "geometry/geos.h"

#include "base/memory.h"
#include "geometry/ring.h"

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void keep_message(const char *message, void *user)
{
    struct tw_geos *geos = user;

    snprintf(geos->message, sizeof geos->message, "%s", message);
}

/* All calls of GEOS catch what C++ throws, but for the one that makes the context: there it would end the process. */
#define CONTEXT_BYTES ((size_t)64 << 10)

enum tw_status tw_geos_open(struct tw_geos *geos, struct tw_findings *findings)
{
    *geos = (struct tw_geos){ .context = tw_memory_is_there(CONTEXT_BYTES) ? GEOS_init_r() : NULL };
    if (!geos->context)
        return tw_no_memory(findings);
    GEOSContext_setErrorMessageHandler_r(geos->context, keep_message, geos);
    return TW_OK;
}

void tw_geos_close(struct tw_geos *geos)
{
    if (geos->context)
        GEOS_finish_r(geos->context);
    geos->context = NULL;
}

enum tw_status tw_geos_fail(struct tw_geos *geos, const char *doing, struct tw_findings *findings)
{
    enum tw_status status;

    if (strstr(geos->message, "bad_alloc"))
        status = tw_no_memory(findings);
    else
        status = tw_fail(findings, TW_BAD_INPUT, (struct tw_place){ 0 },
                         "the geometry library could not %s: %s; look for touching or nearly touching edges", doing,
                         geos->message[0] ? geos->message : "it gave no reason");
    geos->message[0] = '\0';
    return status;
}

static const struct tw_ring no_points;

enum tw_status tw_geos_ring(struct tw_geos *geos, const struct tw_ring *ring, GEOSGeometry **out,
                            struct tw_findings *findings)
{
    struct tw_point *closed = malloc((ring->count + 1) * sizeof *closed);
    GEOSCoordSequence *sequence = NULL;

    *out = NULL;
    if (!closed)
        return tw_no_memory(findings);
    memcpy(closed, ring->points, ring->count * sizeof *closed);
    closed[ring->count] = ring->points[0];
    /* A tw_point is two doubles side by side, just as GEOS packs its buffers. */
    _Static_assert(sizeof(struct tw_point) == 2 * sizeof(double), "points must be packed");
    if (ring->count < UINT_MAX)
        sequence = GEOSCoordSeq_copyFromBuffer_r(geos->context, &closed->x_mm, (unsigned)ring->count + 1, 0, 0);
    free(closed);
    if (sequence)
        *out = GEOSGeom_createLinearRing_r(geos->context, sequence);
    return *out ? TW_OK : tw_geos_fail(geos, "take over a ring", findings);
}

static enum tw_status make_polygon(struct tw_geos *geos, const struct tw_ring *outer, const struct tw_ring *holes,
                                   size_t hole_count, GEOSGeometry **out, struct tw_findings *findings)
{
    GEOSGeometry **inner = calloc(hole_count + 1, sizeof *inner);
    GEOSGeometry *shell = NULL;
    enum tw_status status = TW_OK;

    if (!inner)
        return tw_no_memory(findings);
    status = tw_geos_ring(geos, outer, &shell, findings);
    for (size_t i = 0; i < hole_count && status == TW_OK; i++)
        status = tw_geos_ring(geos, &holes[i], &inner[i], findings);
    if (status != TW_OK)
        goto done;
    /* The rings belong to GEOS from here on, even when it fails. */
    *out = GEOSGeom_createPolygon_r(geos->context, shell, inner, (unsigned)hole_count);
    shell = NULL;
    memset(inner, 0, hole_count * sizeof *inner);
    if (!*out)
        status = tw_geos_fail(geos, "make a polygon of the outline", findings);
done:
    if (shell)
        GEOSGeom_destroy_r(geos->context, shell);
    for (size_t i = 0; i < hole_count; i++)
        if (inner[i])
            GEOSGeom_destroy_r(geos->context, inner[i]);
    free(inner);
    return status;
}

enum tw_status tw_geos_from_outline(struct tw_geos *geos, const struct tw_outline *outline, GEOSGeometry **out,
                                    struct tw_findings *findings)
{
    *out = NULL;
    if (outline->outer.count > 0)
        return make_polygon(geos, &outline->outer, outline->holes, outline->hole_count, out, findings);
    *out = GEOSGeom_createEmptyPolygon_r(geos->context);
    return *out ? TW_OK : tw_geos_fail(geos, "make an empty polygon", findings);
}

enum tw_status tw_geos_from_ring(struct tw_geos *geos, const struct tw_ring *ring, GEOSGeometry **out,
                                 struct tw_findings *findings)
{
    *out = NULL;
    return make_polygon(geos, ring, &no_points, 0, out, findings);
}

static enum tw_status copy_ring(struct tw_geos *geos, const GEOSGeometry *from, struct tw_ring *out,
                                struct tw_findings *findings)
{
    const GEOSCoordSequence *sequence = from ? GEOSGeom_getCoordSeq_r(geos->context, from) : NULL;
    unsigned count = 0;

    if (!sequence || !GEOSCoordSeq_getSize_r(geos->context, sequence, &count) || count < 4)
        return tw_geos_fail(geos, "give back a ring", findings);
    out->points = malloc(count * sizeof *out->points);
    if (!out->points)
        return tw_no_memory(findings);
    if (!GEOSCoordSeq_copyToBuffer_r(geos->context, sequence, &out->points->x_mm, 0, 0))
        return tw_geos_fail(geos, "give back the points of a ring", findings);
    out->count = count - 1;
    return TW_OK;
}

static enum tw_status copy_holes(struct tw_geos *geos, const GEOSGeometry *polygon, struct tw_outline *out,
                                 struct tw_findings *findings)
{
    int count = GEOSGetNumInteriorRings_r(geos->context, polygon);

    if (count < 0)
        return tw_geos_fail(geos, "count the holes", findings);
    if (count == 0)
        return TW_OK;
    out->holes = calloc((size_t)count, sizeof *out->holes);
    if (!out->holes)
        return tw_no_memory(findings);
    out->hole_count = (size_t)count;
    for (int i = 0; i < count; i++) {
        enum tw_status status =
            copy_ring(geos, GEOSGetInteriorRingN_r(geos->context, polygon, i), &out->holes[i], findings);
        if (status != TW_OK)
            return status;
        tw_ring_orient(&out->holes[i], false);
    }
    return TW_OK;
}

enum tw_status tw_geos_to_outline(struct tw_geos *geos, const GEOSGeometry *polygon, struct tw_outline *out,
                                  struct tw_findings *findings)
{
    enum tw_status status;

    *out = (struct tw_outline){ 0 };
    if (GEOSGeomTypeId_r(geos->context, polygon) != GEOS_POLYGON)
        return tw_geos_fail(geos, "give one polygon, but several pieces", findings);
    if (GEOSisEmpty_r(geos->context, polygon) == 1)
        return TW_OK;
    status = copy_ring(geos, GEOSGetExteriorRing_r(geos->context, polygon), &out->outer, findings);
    if (status == TW_OK) {
        tw_ring_orient(&out->outer, true);
        status = copy_holes(geos, polygon, out, findings);
    }
    if (status != TW_OK)
        tw_outline_free(out);
    return status;
}
