/* handle.c - the regions of the scales, of the glue under them, and the pins in their holes. */
#include "balance/model.h"

#include "base/numbers.h"
#include "geometry/geos.h"
#include "geometry/ring.h"

#include <math.h>
#include <stdlib.h>

#define QUADRANT_CHORDS 128
#define SLIVER_MM2      1e-4
#define MARGIN_MM       1.0

/* Everything cut while the scales are found; GEOS geometry that tw_handle_regions() gives back. */
struct cutting {
    struct tw_geos geos;
    struct tw_findings *findings;
    GEOSGeometry *steel; /* tang, with the blade where the scales begin ahead of the taper start */
    GEOSGeometry *scales;
};

static enum tw_status take(struct cutting *cut, GEOSGeometry *result, GEOSGeometry **into, const char *doing)
{
    if (!result)
        return tw_geos_fail(&cut->geos, doing, cut->findings);
    GEOSGeom_destroy_r(cut->geos.context, *into);
    *into = result;
    return TW_OK;
}

static enum tw_status make_steel(struct cutting *cut, const struct tw_job *job)
{
    GEOSGeometry *blade = NULL;
    enum tw_status status = tw_geos_from_outline(&cut->geos, &job->part.tang, &cut->steel, cut->findings);
    bool reaches_ahead = job->handle.front_mm < 0 || job->handle.outline.count > 0;

    if (status != TW_OK || job->part.blade.outer.count == 0 || !reaches_ahead)
        return status;
    status = tw_geos_from_outline(&cut->geos, &job->part.blade, &blade, cut->findings);
    if (status == TW_OK)
        status = take(cut, GEOSUnion_r(cut->geos.context, cut->steel, blade), &cut->steel, "join tang and blade");
    GEOSGeom_destroy_r(cut->geos.context, blade);
    return status;
}

/* The outer edge of the steel, its holes closed. */
static enum tw_status close_holes(struct cutting *cut)
{
    const GEOSGeometry *edge = GEOSGetExteriorRing_r(cut->geos.context, cut->steel);
    GEOSGeometry *shell = edge ? GEOSGeom_clone_r(cut->geos.context, edge) : NULL;

    if (!shell)
        return tw_geos_fail(&cut->geos, "find the edge of tang and blade", cut->findings);
    cut->scales = GEOSGeom_createPolygon_r(cut->geos.context, shell, NULL, 0); /* takes the shell, even if it fails */
    return cut->scales ? TW_OK : tw_geos_fail(&cut->geos, "close the holes of the scales", cut->findings);
}

static enum tw_status begin_at(struct cutting *cut, double front_mm, const struct tw_box *box, double offset_mm)
{
    double far_mm = fmax(box->max_x_mm, front_mm) + offset_mm + MARGIN_MM;
    double low_mm = box->min_y_mm - offset_mm - MARGIN_MM, high_mm = box->max_y_mm + offset_mm + MARGIN_MM;
    struct tw_point corners[4] = {
        { front_mm, low_mm }, { far_mm, low_mm }, { far_mm, high_mm }, { front_mm, high_mm }
    };
    struct tw_ring ring = { corners, 4 };
    GEOSGeometry *behind = NULL;
    enum tw_status status = tw_geos_from_ring(&cut->geos, &ring, &behind, cut->findings);

    if (status == TW_OK)
        status = take(cut, GEOSIntersection_r(cut->geos.context, cut->scales, behind), &cut->scales, "cut the scales");
    GEOSGeom_destroy_r(cut->geos.context, behind);
    return status;
}

static struct tw_box both_boxes(const struct tw_part *part)
{
    struct tw_box box = tw_ring_box(&part->tang.outer), blade;

    if (part->blade.outer.count == 0)
        return box;
    blade = tw_ring_box(&part->blade.outer);
    box.min_y_mm = fmin(box.min_y_mm, blade.min_y_mm);
    box.max_y_mm = fmax(box.max_y_mm, blade.max_y_mm);
    return box;
}

/* The chords of round corners lose less than 0.002 % of the offset. */
static enum tw_status make_scales(struct cutting *cut, const struct tw_job *job)
{
    const struct tw_handle *handle = &job->handle;
    struct tw_box box = both_boxes(&job->part);
    enum tw_status status;

    if (handle->outline.count > 0)
        return tw_geos_from_ring(&cut->geos, &handle->outline, &cut->scales, cut->findings);
    status = close_holes(cut);
    if (status == TW_OK && handle->offset_mm > 0)
        status = take(cut, GEOSBuffer_r(cut->geos.context, cut->scales, handle->offset_mm, QUADRANT_CHORDS),
                      &cut->scales, "offset the outline of the scales");
    return status == TW_OK ? begin_at(cut, handle->front_mm, &box, handle->offset_mm) : status;
}

/* ---- back from GEOS ---- */

static void free_pieces(struct tw_pieces *pieces)
{
    for (size_t i = 0; i < pieces->count; i++)
        tw_outline_free(&pieces->items[i]);
    free(pieces->items);
    *pieces = (struct tw_pieces){ 0 };
}

/* The polygons of any geometry; slivers, lines and points are left out. */
static enum tw_status to_pieces(struct cutting *cut, const GEOSGeometry *geometry, struct tw_pieces *out)
{
    int count = GEOSGetNumGeometries_r(cut->geos.context, geometry);
    enum tw_status status = TW_OK;

    *out = (struct tw_pieces){ 0 };
    if (count < 0)
        return tw_geos_fail(&cut->geos, "count the pieces of the scales", cut->findings);
    out->items = calloc((size_t)count + 1, sizeof *out->items);
    if (!out->items)
        return tw_no_memory(cut->findings);
    for (int i = 0; status == TW_OK && i < count; i++) {
        const GEOSGeometry *piece = GEOSGetGeometryN_r(cut->geos.context, geometry, i);
        double area_mm2 = 0.0;

        if (GEOSGeomTypeId_r(cut->geos.context, piece) != GEOS_POLYGON ||
            GEOSArea_r(cut->geos.context, piece, &area_mm2) != 1 || area_mm2 < SLIVER_MM2)
            continue;
        status = tw_geos_to_outline(&cut->geos, piece, &out->items[out->count], cut->findings);
        out->count += status == TW_OK;
    }
    if (status != TW_OK)
        free_pieces(out);
    return status;
}

static struct tw_moments sum_of(const struct tw_pieces *pieces)
{
    struct tw_moments sum = { 0 };

    for (size_t i = 0; i < pieces->count; i++) {
        struct tw_moments m = tw_moments_of(&pieces->items[i]);

        tw_moments_add(&sum, &m, 1.0);
    }
    return sum;
}

static enum tw_status measure(struct cutting *cut, const GEOSGeometry *geometry, struct tw_moments *out)
{
    struct tw_pieces pieces;
    enum tw_status status = to_pieces(cut, geometry, &pieces);

    if (status == TW_OK)
        *out = sum_of(&pieces);
    free_pieces(&pieces);
    return status;
}

static enum tw_status measure_glue(struct cutting *cut, struct tw_moments *out)
{
    GEOSGeometry *shared = GEOSIntersection_r(cut->geos.context, cut->scales, cut->steel);
    enum tw_status status;

    if (!shared)
        return tw_geos_fail(&cut->geos, "find the steel under the scales", cut->findings);
    status = measure(cut, shared, out);
    GEOSGeom_destroy_r(cut->geos.context, shared);
    return status;
}

/* ---- relief under the scales ---- */

static enum tw_status add_relief_under(struct cutting *cut, const struct tw_outline *piece, struct tw_pieces *sum)
{
    GEOSGeometry *hollow = NULL, *shared = NULL;
    struct tw_pieces more = { 0 };
    struct tw_outline *grown;
    enum tw_status status = tw_geos_from_outline(&cut->geos, piece, &hollow, cut->findings);

    if (status == TW_OK) {
        shared = GEOSIntersection_r(cut->geos.context, cut->scales, hollow);
        status = shared ? to_pieces(cut, shared, &more)
                        : tw_geos_fail(&cut->geos, "find the relief under the scales", cut->findings);
    }
    GEOSGeom_destroy_r(cut->geos.context, hollow);
    GEOSGeom_destroy_r(cut->geos.context, shared);
    if (status != TW_OK || more.count == 0) {
        free_pieces(&more);
        return status;
    }
    grown = realloc(sum->items, (sum->count + more.count) * sizeof *grown);
    if (!grown) {
        free_pieces(&more);
        return tw_no_memory(cut->findings);
    }
    sum->items = grown;
    for (size_t i = 0; i < more.count; i++)
        sum->items[sum->count++] = more.items[i];
    free(more.items); /* what it held has moved */
    return TW_OK;
}

/* ---- pins ---- */

static double disc_mm2(double diameter_mm)
{
    return TW_PI / 4.0 * diameter_mm * diameter_mm;
}

static enum tw_status check_covered(struct cutting *cut, const struct tw_job *job, const struct tw_pin *pin,
                                    struct tw_point at)
{
    GEOSGeometry *point = GEOSGeom_createPointFromXY_r(cut->geos.context, at.x_mm, at.y_mm);
    char inside = point ? GEOSContains_r(cut->geos.context, cut->scales, point) : 2;

    GEOSGeom_destroy_r(cut->geos.context, point);
    if (inside == 1)
        return TW_OK;
    if (inside != 0)
        return tw_geos_fail(&cut->geos, "place a pin", cut->findings);
    return tw_fail(cut->findings, TW_BAD_INPUT, (struct tw_place){ .file = job->path, .key = "handle.pins" },
                   "hole %d, %.1f mm behind the taper start, is not covered by the scales; drop its pin, or mend "
                   "scale_front or scale_outline",
                   pin->hole, at.x_mm);
}

static enum tw_status stand_pins(struct cutting *cut, struct tw_balance_model *model)
{
    const struct tw_job *job = model->job;
    enum tw_status status = TW_OK;

    model->pins = calloc(job->handle.pin_count + 1, sizeof *model->pins);
    if (!model->pins)
        return tw_no_memory(cut->findings);
    for (size_t i = 0; status == TW_OK && i < job->handle.pin_count; i++) {
        const struct tw_pin *pin = &job->handle.pins[i];
        const struct tw_ring *hole = tw_hole_along(&job->part.tang, (size_t)pin->hole);
        struct tw_point at = tw_ring_centre(hole);

        status = check_covered(cut, job, pin, at);
        model->pins[model->pin_count++] =
            (struct tw_standing_pin){ at, disc_mm2(pin->diameter_mm) - disc_mm2(pin->bore_mm),
                                      disc_mm2(pin->diameter_mm), pin->density_g_per_mm3 };
    }
    return status;
}

static enum tw_status measure_all(struct cutting *cut, struct tw_balance_model *model)
{
    enum tw_status status = make_steel(cut, model->job);

    if (status == TW_OK)
        status = make_scales(cut, model->job);
    if (status == TW_OK)
        status = measure(cut, cut->scales, &model->scale_area);
    if (status == TW_OK)
        status = measure_glue(cut, &model->glue_area);
    for (size_t i = 0; status == TW_OK && i < model->hollow->count; i++)
        status = add_relief_under(cut, &model->hollow->pieces[i], &model->glue_relief);
    if (status == TW_OK)
        model->glue_relief_area = sum_of(&model->glue_relief);
    return status == TW_OK ? stand_pins(cut, model) : status;
}

enum tw_status tw_handle_regions(struct tw_balance_model *model, struct tw_findings *findings)
{
    struct cutting cut = { .findings = findings };
    enum tw_status status = tw_geos_open(&cut.geos, findings);

    if (status != TW_OK)
        return status;
    status = measure_all(&cut, model);
    GEOSGeom_destroy_r(cut.geos.context, cut.steel);
    GEOSGeom_destroy_r(cut.geos.context, cut.scales);
    tw_geos_close(&cut.geos);
    return status;
}
