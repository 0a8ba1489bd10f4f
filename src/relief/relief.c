/* relief.c - the outline shrunk by the land, less bosses and the end at the taper start. */
#include "tangwright/relief.h"

#include "base/numbers.h"
#include "geometry/shape.h"

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

bool tw_relief_changes_wheel(const struct tw_job *job)
{
    return job->relief.depth_mm > 0.0 && tw_scope_wheel(job, TW_SCOPE_RELIEF) != &job->wheel;
}

struct tw_job tw_scope_job(const struct tw_job *job, enum tw_scope scope)
{
    struct tw_job copy = *job;

    copy.wheel = *tw_scope_wheel(job, scope);
    copy.task.scope = scope;
    if (job->task.below_hollowed)
        copy.task.hollowed_mm += job->relief.depth_mm;
    return copy;
}

/* Grows (or shrinks) with round corners, a little more than asked for, so that chords stay outside the arc. */
static const GEOSGeometry *offset(struct tw_shapes *shapes, const GEOSGeometry *from, double distance_mm)
{
    return tw_shape_grown(shapes, from, distance_mm / cos(TW_PI / (4.0 * QUADRANT_CHORDS)), QUADRANT_CHORDS);
}

/* All that lies behind `end_mm`. */
static const GEOSGeometry *behind(struct tw_shapes *shapes, const struct tw_ring *outer, double end_mm)
{
    struct tw_box box = tw_ring_box(outer);

    return tw_shape_of_box(shapes, (struct tw_box){ end_mm, box.min_y_mm - MARGIN_MM,
                                                    fmax(box.max_x_mm, end_mm) + MARGIN_MM, box.max_y_mm + MARGIN_MM });
}

static const GEOSGeometry *cut_region(struct tw_shapes *shapes, const struct tw_job *job, double land_mm)
{
    const struct tw_outline *tang = &job->part.tang;
    const GEOSGeometry *region = offset(shapes, tw_shape_of_ring(shapes, &tang->outer), -land_mm);

    region = tw_shape_common(shapes, region, behind(shapes, &tang->outer, job->relief.end_mm));
    for (size_t i = 0; i < tang->hole_count; i++)
        region = tw_shape_less(shapes, region,
                               offset(shapes, tw_shape_of_ring(shapes, &tang->holes[i]), job->relief.boss_mm));
    return region;
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

static enum tw_status add_piece(struct tw_shapes *shapes, const GEOSGeometry *polygon, struct tw_relief_region *out)
{
    struct tw_outline *piece = &out->pieces[out->count];
    enum tw_status status;

    if (tw_shape_area_mm2(shapes, polygon) < SLIVER_MM2)
        return shapes->status;
    status = tw_geos_to_outline(shapes->geos, polygon, piece, shapes->findings);
    if (status != TW_OK)
        return status;
    out->count++;
    out->area_mm2 += outline_area_mm2(piece);
    out->far_mm = fmax(out->far_mm, tw_ring_box(&piece->outer).max_x_mm);
    return TW_OK;
}

static enum tw_status take_pieces(struct tw_shapes *shapes, const GEOSGeometry *region, struct tw_relief_region *out)
{
    int count = tw_shape_parts(shapes, region);
    enum tw_status status = shapes->status;

    out->pieces = calloc((size_t)count + 1, sizeof *out->pieces);
    if (!out->pieces)
        return tw_no_memory(shapes->findings);
    for (int i = 0; status == TW_OK && i < count; i++)
        status = add_piece(shapes, tw_shape_polygon(shapes, region, i), out);
    if (status == TW_OK)
        qsort(out->pieces, out->count, sizeof *out->pieces, by_least_x);
    return status;
}

/* ---- nothing left ---- */

/* Half the distance by which the land could be narrower decides; bisected on whether anything remains. */
static double largest_land_mm(struct tw_shapes *shapes, const struct tw_job *job)
{
    double low_mm = 0.0, high_mm = job->relief.land_mm;
    size_t mark = shapes->count;

    while (high_mm - low_mm > 0.01) {
        double land_mm = (low_mm + high_mm) / 2.0;

        if (tw_shape_area_mm2(shapes, cut_region(shapes, job, land_mm)) >= SLIVER_MM2)
            low_mm = land_mm;
        else
            high_mm = land_mm;
        tw_shapes_release(shapes, mark);
    }
    return floor(low_mm * 100.0) / 100.0;
}

static enum tw_status refuse_empty(struct tw_shapes *shapes, const struct tw_job *job)
{
    struct tw_place at = { .file = job->path, .key = "relief.land" };
    double land_mm = largest_land_mm(shapes, job);

    if (shapes->status != TW_OK)
        return shapes->status;
    if (land_mm > 0.0)
        return tw_fail(shapes->findings, TW_BAD_INPUT, at,
                       "a land of %.6g mm, bosses of %.6g mm and %.6g mm at the taper start leave nothing of the face "
                       "to hollow; a land below %.2f mm does",
                       job->relief.land_mm, job->relief.boss_mm, job->relief.end_mm, land_mm);
    return tw_fail(shapes->findings, TW_BAD_INPUT, at,
                   "bosses of %.6g mm and %.6g mm at the taper start leave nothing of the face to hollow, whatever the "
                   "land; make boss or end smaller",
                   job->relief.boss_mm, job->relief.end_mm);
}

enum tw_status tw_relief_region(const struct tw_job *job, struct tw_relief_region *out, struct tw_findings *findings)
{
    struct tw_geos geos;
    struct tw_shapes shapes;
    enum tw_status status = tw_geos_open(&geos, findings);

    *out = (struct tw_relief_region){ 0 };
    if (status != TW_OK)
        return status;
    shapes = tw_shapes_open(&geos, "cut the region of the relief", findings);
    status = take_pieces(&shapes, cut_region(&shapes, job, job->relief.land_mm), out);
    if (status == TW_OK && out->count == 0)
        status = refuse_empty(&shapes, job);
    tw_shapes_close(&shapes);
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

enum tw_status tw_relief_check(const struct tw_job *job, const struct tw_relief_region *region, struct tw_place at,
                               struct tw_findings *findings)
{
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
