/* handle.c - the regions of the scales, of the glue under them, and the pins in their holes. */
#include "balance/model.h"

#include "base/numbers.h"
#include "geometry/shape.h"

#include <math.h>
#include <stdlib.h>

#define QUADRANT_CHORDS 128
#define SLIVER_MM2      1e-4
#define MARGIN_MM       1.0

/* Everything cut while the scales are found. */
struct cutting {
    struct tw_shapes shapes;
    const GEOSGeometry *steel; /* tang, with the blade where the scales begin ahead of the taper start */
    const GEOSGeometry *scales;
};

static const GEOSGeometry *make_steel(struct tw_shapes *shapes, const struct tw_job *job)
{
    const GEOSGeometry *tang = tw_shape_of_outline(shapes, &job->part.tang);
    bool reaches_ahead = job->handle.front_mm < 0 || job->handle.outline.count > 0;

    if (job->part.blade.outer.count == 0 || !reaches_ahead)
        return tang;
    return tw_shape_joined(shapes, tang, tw_shape_of_outline(shapes, &job->part.blade));
}

/* The part of the scales behind `front_mm`. */
static const GEOSGeometry *begin_at(struct cutting *cut, const GEOSGeometry *scales, double front_mm,
                                    const struct tw_box *box, double offset_mm)
{
    double far_mm = fmax(box->max_x_mm, front_mm) + offset_mm + MARGIN_MM;
    double low_mm = box->min_y_mm - offset_mm - MARGIN_MM, high_mm = box->max_y_mm + offset_mm + MARGIN_MM;

    return tw_shape_common(&cut->shapes, scales,
                           tw_shape_of_box(&cut->shapes, (struct tw_box){ front_mm, low_mm, far_mm, high_mm }));
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
static const GEOSGeometry *make_scales(struct cutting *cut, const struct tw_job *job)
{
    const struct tw_handle *handle = &job->handle;
    struct tw_box box = both_boxes(&job->part);
    const GEOSGeometry *scales;

    if (handle->outline.count > 0)
        return tw_shape_of_ring(&cut->shapes, &handle->outline);
    scales = tw_shape_filled(&cut->shapes, cut->steel);
    if (handle->offset_mm > 0)
        scales = tw_shape_grown(&cut->shapes, scales, handle->offset_mm, QUADRANT_CHORDS);
    return begin_at(cut, scales, handle->front_mm, &box, handle->offset_mm);
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
static enum tw_status to_pieces(struct tw_shapes *shapes, const GEOSGeometry *geometry, struct tw_pieces *out)
{
    int count = tw_shape_parts(shapes, geometry);
    enum tw_status status = shapes->status;

    *out = (struct tw_pieces){ .items = calloc((size_t)count + 1, sizeof *out->items) };
    if (!out->items)
        return tw_no_memory(shapes->findings);
    for (int i = 0; status == TW_OK && i < count; i++) {
        const GEOSGeometry *piece = tw_shape_polygon(shapes, geometry, i);

        if (tw_shape_area_mm2(shapes, piece) < SLIVER_MM2)
            continue;
        status = tw_geos_to_outline(shapes->geos, piece, &out->items[out->count], shapes->findings);
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
    enum tw_status status = to_pieces(&cut->shapes, geometry, &pieces);

    if (status == TW_OK)
        *out = sum_of(&pieces);
    free_pieces(&pieces);
    return status;
}

/* ---- relief under the scales ---- */

static enum tw_status add_relief_under(struct cutting *cut, const struct tw_outline *piece, struct tw_pieces *sum)
{
    const GEOSGeometry *under = tw_shape_common(&cut->shapes, cut->scales, tw_shape_of_outline(&cut->shapes, piece));
    struct tw_pieces more = { 0 };
    struct tw_outline *grown;
    enum tw_status status = to_pieces(&cut->shapes, under, &more);

    if (status != TW_OK || more.count == 0) {
        free_pieces(&more);
        return status;
    }
    grown = realloc(sum->items, (sum->count + more.count) * sizeof *grown);
    if (!grown) {
        free_pieces(&more);
        return tw_no_memory(cut->shapes.findings);
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
    struct tw_shapes *shapes = &cut->shapes;
    GEOSContextHandle_t context = shapes->geos->context;
    const GEOSGeometry *point = tw_shape_own(shapes, GEOSGeom_createPointFromXY_r(context, at.x_mm, at.y_mm));
    char inside = point ? GEOSContains_r(context, cut->scales, point) : 2;

    if (inside == 1 || shapes->status != TW_OK)
        return shapes->status;
    if (inside != 0)
        return tw_geos_fail(shapes->geos, "place a pin", shapes->findings);
    return tw_fail(shapes->findings, TW_BAD_INPUT, (struct tw_place){ .file = job->path, .key = "handle.pins" },
                   "hole %d, %.1f mm behind the taper start, is not covered by the scales; drop its pin, or correct "
                   "scale_front or scale_outline",
                   pin->hole, at.x_mm);
}

static enum tw_status stand_pins(struct cutting *cut, struct tw_balance_model *model)
{
    const struct tw_job *job = model->job;
    enum tw_status status = TW_OK;

    model->pins = calloc(job->handle.pin_count + 1, sizeof *model->pins);
    if (!model->pins)
        return tw_no_memory(cut->shapes.findings);
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
    enum tw_status status;

    cut->steel = make_steel(&cut->shapes, model->job);
    cut->scales = make_scales(cut, model->job);
    status = measure(cut, cut->scales, &model->scale_area);
    if (status == TW_OK)
        status = measure(cut, tw_shape_common(&cut->shapes, cut->scales, cut->steel), &model->glue_area);
    for (size_t i = 0; status == TW_OK && i < model->hollow->count; i++)
        status = add_relief_under(cut, &model->hollow->pieces[i], &model->glue_relief);
    if (status == TW_OK)
        model->glue_relief_area = sum_of(&model->glue_relief);
    return status == TW_OK ? stand_pins(cut, model) : status;
}

enum tw_status tw_handle_regions(struct tw_balance_model *model, struct tw_findings *findings)
{
    struct tw_geos geos;
    struct cutting cut = { 0 };
    enum tw_status status = tw_geos_open(&geos, findings);

    if (status != TW_OK)
        return status;
    cut.shapes = tw_shapes_open(&geos, "find what lies under the scales", findings);
    status = measure_all(&cut, model);
    tw_shapes_close(&cut.shapes);
    tw_geos_close(&geos);
    return status;
}
