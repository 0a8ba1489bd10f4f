/* hollowed.c - where the planned relief takes steel out, for what the knife then weighs. */
#include "tangwright/plan.h"

#include "geometry/ring.h"
#include "plan/ways/track.h"
#include "tangwright/balance.h"
#include "tangwright/relief.h"

#include <stdlib.h>

/* What a relief is weighed at where the job asks for none: a disc's run-outs depend on the depth. */
#define UNASKED_DEPTH_MM 0.5

/* From the setup frame back to the part's. */
static void bring_back(const struct tw_face *face, struct tw_ring *ring)
{
    for (size_t i = 0; i < ring->count; i++) {
        ring->points[i].x_mm = (ring->points[i].x_mm - face->start_mm) / face->stretch;
        if (face->side == TW_SIDE_B)
            ring->points[i].y_mm = -ring->points[i].y_mm;
    }
    if (face->side == TW_SIDE_B)
        tw_ring_reverse(ring);
}

static enum tw_status add_piece(const struct tw_scene *scene, const GEOSGeometry *polygon, struct tw_relief_region *out)
{
    struct tw_outline *piece = &out->pieces[out->count];
    enum tw_status status;

    if (GEOSGeomTypeId_r(scene->geos->context, polygon) != GEOS_POLYGON ||
        GEOSisEmpty_r(scene->geos->context, polygon) != 0)
        return TW_OK;
    status = tw_geos_to_outline(scene->geos, polygon, piece, scene->findings);
    if (status != TW_OK)
        return status;
    out->count++;
    bring_back(&scene->face, &piece->outer);
    for (size_t i = 0; i < piece->hole_count; i++)
        bring_back(&scene->face, &piece->holes[i]);
    out->far_mm = fmax(out->far_mm, tw_ring_box(&piece->outer).max_x_mm);
    return TW_OK;
}

static enum tw_status take_pieces(const struct tw_relief_area *area, struct tw_relief_region *out)
{
    const struct tw_scene *scene = area->scene;
    int count = GEOSGetNumGeometries_r(scene->geos->context, area->hollowed);
    enum tw_status status = TW_OK;

    if (count < 0)
        return tw_geos_fail(scene->geos, "count the pieces of the relief", scene->findings);
    out->pieces = calloc((size_t)count + 1, sizeof *out->pieces);
    if (!out->pieces)
        return tw_no_memory(scene->findings);
    out->area_mm2 = area->hollowed_mm2;
    for (int i = 0; status == TW_OK && i < count; i++)
        status = add_piece(scene, GEOSGetGeometryN_r(scene->geos->context, area->hollowed, i), out);
    return status;
}

enum tw_status tw_plan_hollowed(const struct tw_job *job, struct tw_relief_region *out, struct tw_findings *findings)
{
    enum tw_side side = job->relief.sides == TW_RELIEF_B ? TW_SIDE_B : TW_SIDE_A;
    struct tw_job narrowed = tw_scope_job(job, TW_SCOPE_RELIEF);
    struct tw_relief_area area = { 0 };
    struct tw_scene scene = { 0 };
    struct tw_geos geos;
    enum tw_status status = tw_geos_open(&geos, findings);

    *out = (struct tw_relief_region){ 0 };
    if (!(narrowed.relief.depth_mm > 0.0))
        narrowed.relief.depth_mm = UNASKED_DEPTH_MM;
    if (status == TW_OK)
        status = tw_scene_open(&scene, &narrowed, side, &geos, findings);
    if (status == TW_OK)
        status = tw_relief_area_open(&scene, narrowed.relief.depth_mm, &area);
    if (status == TW_OK) {
        status = take_pieces(&area, out);
        tw_relief_area_close(&area);
    }
    tw_scene_close(&scene);
    tw_geos_close(&geos);
    if (status != TW_OK)
        tw_relief_free(out);
    return status;
}

/* Where the wheel can hollow nothing, nothing is weighed. */
enum tw_status tw_plan_hollowed_or_none(const struct tw_job *job, struct tw_relief_region *out,
                                        struct tw_findings *findings)
{
    struct tw_findings said = { 0 };
    enum tw_status status = tw_plan_hollowed(job, out, &said);

    if ((status == TW_NO_PLAN || status == TW_BAD_INPUT) && job->relief.depth_mm > 0.0)
        tw_remark(findings, (struct tw_place){ .file = job->path, .key = "relief" },
                  "nothing is weighed for it, because the wheel can hollow nothing; preview says why");
    if (status == TW_NO_MEMORY)
        status = tw_no_memory(findings);
    else
        status = TW_OK;
    tw_findings_free(&said);
    return status;
}

enum tw_status tw_plan_balance(const struct tw_job *job, struct tw_balance *out, struct tw_findings *findings)
{
    struct tw_relief_region hollowed;
    enum tw_status status;

    if (!(job->relief.depth_mm > 0.0))
        return tw_balance_make(job, NULL, out, findings);
    status = tw_plan_hollowed_or_none(job, &hollowed, findings);
    if (status != TW_OK)
        return status;
    status = tw_balance_make(job, &hollowed, out, findings);
    tw_relief_free(&hollowed);
    return status;
}
