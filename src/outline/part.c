/* part.c - the drawing brought to the part frame and cut at the taper start. */
#include "tangwright/outline.h"

#include "geometry/geos.h"
#include "geometry/ring.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define TOUCHING_MM   0.01   /* foremost edge nearer than this to the taper start: the tang alone was drawn */
#define ON_THE_CUT_MM 1.0e-9 /* the cut's own rounding */
#define SLIVER_MM2    1.0e-4 /* pieces smaller than this come from touching the cut, not from the drawing */

struct cutting {
    const struct tw_taper_axis *axis;
    const char *drawing_name;
    struct tw_findings *findings;
    struct tw_geos geos;
    double cos_a, sin_a, side; /* side: -1 where y is turned over */
};

static struct tw_place place(const struct cutting *cutting)
{
    return (struct tw_place){ .file = cutting->drawing_name };
}

static struct tw_point to_part(const struct cutting *cutting, struct tw_point p)
{
    double x = p.x_mm - cutting->axis->start_x_mm, y = p.y_mm - cutting->axis->start_y_mm;

    return (struct tw_point){ x * cutting->cos_a + y * cutting->sin_a,
                              cutting->side * (y * cutting->cos_a - x * cutting->sin_a) };
}

static struct tw_point told(const struct cutting *cutting, double x_mm, double y_mm)
{
    return (struct tw_point){ x_mm + 0.0, (cutting->axis->y_down ? 0.0 - y_mm : y_mm) + 0.0 };
}

/* As the job writes the drawing's points. */
static struct tw_point to_drawing(const struct cutting *cutting, struct tw_point p)
{
    double y = cutting->side * p.y_mm;

    return told(cutting, cutting->axis->start_x_mm + p.x_mm * cutting->cos_a - y * cutting->sin_a,
                cutting->axis->start_y_mm + p.x_mm * cutting->sin_a + y * cutting->cos_a);
}

static enum tw_status map_ring(const struct cutting *cutting, const struct tw_ring *from, bool outer,
                               struct tw_ring *out)
{
    out->points = malloc((from->count + 1) * sizeof *out->points);
    if (!out->points)
        return tw_no_memory(cutting->findings);
    out->count = from->count;
    for (size_t i = 0; i < from->count; i++)
        out->points[i] = to_part(cutting, from->points[i]);
    tw_ring_orient(out, outer);
    return TW_OK;
}

static enum tw_status map_outline(const struct cutting *cutting, const struct tw_outline *from, struct tw_outline *out)
{
    enum tw_status status = map_ring(cutting, &from->outer, true, &out->outer);

    if (status != TW_OK || from->hole_count == 0)
        return status;
    out->holes = calloc(from->hole_count, sizeof *out->holes);
    if (!out->holes)
        return tw_no_memory(cutting->findings);
    out->hole_count = from->hole_count;
    for (size_t i = 0; i < from->hole_count && status == TW_OK; i++)
        status = map_ring(cutting, &from->holes[i], false, &out->holes[i]);
    return status;
}

static struct tw_point extreme_point(const struct tw_ring *ring, bool foremost)
{
    struct tw_point best = ring->points[0];

    for (size_t i = 1; i < ring->count; i++)
        if (foremost ? ring->points[i].x_mm < best.x_mm : ring->points[i].x_mm > best.x_mm)
            best = ring->points[i];
    return best;
}

static enum tw_status ahead_fault(const struct cutting *cutting, struct tw_point foremost)
{
    struct tw_point at = to_drawing(cutting, foremost);
    struct tw_point mend = to_drawing(cutting, (struct tw_point){ foremost.x_mm, 0.0 });

    return tw_fail(
        cutting->findings, TW_BAD_INPUT, place(cutting),
        "the taper start lies %.4g mm ahead of the outline, whose foremost point is (%.6g, %.6g) mm; where a "
        "tang is drawn alone, write taper_start = [\"%.6g mm\", \"%.6g mm\"]; where a whole knife is drawn, "
        "that is its tip, so name the point where the tang begins",
        foremost.x_mm, at.x_mm, at.y_mm, mend.x_mm, mend.y_mm);
}

static enum tw_status behind_fault(const struct cutting *cutting, struct tw_point rearmost)
{
    struct tw_point at = to_drawing(cutting, rearmost);
    struct tw_point start = told(cutting, cutting->axis->start_x_mm, cutting->axis->start_y_mm);

    return tw_fail(
        cutting->findings, TW_BAD_INPUT, place(cutting),
        "no tang lies behind the taper start at (%.6g, %.6g) mm: the outline ends at (%.6g, %.6g) mm, %.4g "
        "mm ahead of it; does the taper axis point the wrong way? Turn outline.axis_angle by 180 deg, or move "
        "outline.taper_start",
        start.x_mm, start.y_mm, at.x_mm, at.y_mm, fmax(0.0, -rearmost.x_mm));
}

static enum tw_status pieces_fault(const struct cutting *cutting, const char *what, const struct tw_point *places,
                                   size_t count)
{
    struct tw_point a = to_drawing(cutting, places[0]), b = to_drawing(cutting, places[1]);

    return tw_fail(cutting->findings, TW_BAD_INPUT, place(cutting),
                   "the taper start cuts the outline into %zu pieces of %s, two of them at (%.6g, %.6g) and "
                   "(%.6g, %.6g) mm; move outline.taper_start to where one cut parts the tang from the blade",
                   count, what, a.x_mm, a.y_mm, b.x_mm, b.y_mm);
}

/* Everything on one side of x = 0 that the outline can reach. */
static enum tw_status half_plane(struct cutting *cutting, const struct tw_ring *outer, bool behind, GEOSGeometry **out)
{
    struct tw_box box = tw_ring_box(outer);
    double far_mm = behind ? box.max_x_mm + 10.0 : box.min_x_mm - 10.0;
    double low_mm = box.min_y_mm - 10.0, high_mm = box.max_y_mm + 10.0;
    struct tw_point corners[] = { { 0.0, low_mm }, { far_mm, low_mm }, { far_mm, high_mm }, { 0.0, high_mm } };
    struct tw_ring ring = { corners, 4 };

    return tw_geos_from_ring(&cutting->geos, &ring, out, cutting->findings);
}

/* The one polygon of what the cut left; more than one is a fault, crumbs from touching are not. */
static enum tw_status only_piece(struct cutting *cutting, const GEOSGeometry *cut, const char *what,
                                 const GEOSGeometry **out)
{
    GEOSContextHandle_t context = cutting->geos.context;
    int count = GEOSGetNumGeometries_r(context, cut);
    struct tw_point places[2] = { 0 };
    size_t pieces = 0;

    *out = NULL;
    for (int i = 0; i < count; i++) {
        const GEOSGeometry *piece = GEOSGetGeometryN_r(context, cut, i);
        double area_mm2 = 0.0;
        struct tw_outline outline = { 0 };
        enum tw_status status;

        if (!piece || GEOSGeomTypeId_r(context, piece) != GEOS_POLYGON || GEOSisEmpty_r(context, piece) == 1)
            continue;
        if (GEOSArea_r(context, piece, &area_mm2) != 1)
            return tw_geos_fail(&cutting->geos, "measure a piece of the outline", cutting->findings);
        if (area_mm2 < SLIVER_MM2)
            continue;
        *out = piece;
        if (pieces < 2) {
            status = tw_geos_to_outline(&cutting->geos, piece, &outline, cutting->findings);
            if (status != TW_OK)
                return status;
            places[pieces] = outline.outer.points[0];
            tw_outline_free(&outline);
        }
        pieces++;
    }
    return pieces > 1 ? pieces_fault(cutting, what, places, pieces) : TW_OK;
}

static void snap_ring(struct tw_ring *ring)
{
    for (size_t i = 0; i < ring->count; i++)
        if (fabs(ring->points[i].x_mm) < ON_THE_CUT_MM)
            ring->points[i].x_mm = 0.0;
}

static void snap_to_cut(struct tw_outline *outline)
{
    snap_ring(&outline->outer);
    for (size_t i = 0; i < outline->hole_count; i++)
        snap_ring(&outline->holes[i]);
}

static enum tw_status cut_side(struct cutting *cutting, const struct tw_outline *whole, const GEOSGeometry *polygon,
                               bool behind, struct tw_outline *out)
{
    GEOSContextHandle_t context = cutting->geos.context;
    GEOSGeometry *half = NULL, *cut = NULL;
    const GEOSGeometry *piece = NULL;
    enum tw_status status = half_plane(cutting, &whole->outer, behind, &half);

    if (status != TW_OK)
        goto done;
    cut = GEOSIntersection_r(context, polygon, half);
    if (!cut) {
        status = tw_geos_fail(&cutting->geos, "cut the outline at the taper start", cutting->findings);
        goto done;
    }
    status = only_piece(cutting, cut, behind ? "tang" : "blade", &piece);
    if (status == TW_OK && piece)
        status = tw_geos_to_outline(&cutting->geos, piece, out, cutting->findings);
    if (status == TW_OK)
        snap_to_cut(out);
done:
    if (half)
        GEOSGeom_destroy_r(context, half);
    if (cut)
        GEOSGeom_destroy_r(context, cut);
    return status;
}

static enum tw_status cut_in_two(struct cutting *cutting, const struct tw_outline *whole, bool tang_alone,
                                 struct tw_part *out)
{
    GEOSGeometry *polygon = NULL;
    enum tw_status status = tw_geos_from_outline(&cutting->geos, whole, &polygon, cutting->findings);

    if (status == TW_OK)
        status = cut_side(cutting, whole, polygon, true, &out->tang);
    if (status == TW_OK && out->tang.outer.count == 0)
        status = behind_fault(cutting, extreme_point(&whole->outer, false));
    if (status == TW_OK && !tang_alone)
        status = cut_side(cutting, whole, polygon, false, &out->blade);
    if (polygon)
        GEOSGeom_destroy_r(cutting->geos.context, polygon);
    return status;
}

static enum tw_status cut(struct cutting *cutting, struct tw_outline *whole, struct tw_part *out)
{
    struct tw_point foremost = extreme_point(&whole->outer, true), rearmost = extreme_point(&whole->outer, false);
    enum tw_status status;

    if (foremost.x_mm > TOUCHING_MM)
        return ahead_fault(cutting, foremost);
    if (rearmost.x_mm <= TOUCHING_MM)
        return behind_fault(cutting, rearmost);
    if (foremost.x_mm >= 0.0) {
        out->tang = *whole;
        *whole = (struct tw_outline){ 0 };
        return TW_OK;
    }
    status = tw_geos_open(&cutting->geos, cutting->findings);
    if (status == TW_OK)
        status = cut_in_two(cutting, whole, foremost.x_mm >= -TOUCHING_MM, out);
    tw_geos_close(&cutting->geos);
    return status;
}

enum tw_status tw_part_from_drawing(const struct tw_outline *drawing, const struct tw_taper_axis *axis,
                                    const char *drawing_name, struct tw_part *out, struct tw_findings *findings)
{
    struct cutting cutting = { .axis = axis,
                               .drawing_name = drawing_name,
                               .findings = findings,
                               .cos_a = cos(axis->direction_rad),
                               .sin_a = sin(axis->direction_rad),
                               .side = axis->mirrored ? -1.0 : 1.0 };
    struct tw_outline whole = { 0 };
    enum tw_status status;

    *out = (struct tw_part){ 0 };
    if (drawing->outer.count < 3 || !isfinite(axis->start_x_mm + axis->start_y_mm + axis->direction_rad))
        return tw_fail(findings, TW_BAD_INPUT, place(&cutting),
                       "there is no outline or no taper axis to cut by; give the axis a start and a direction");
    status = map_outline(&cutting, drawing, &whole);
    if (status == TW_OK)
        status = cut(&cutting, &whole, out);
    tw_outline_free(&whole);
    if (status != TW_OK)
        tw_part_free(out);
    return status;
}
