/* loop.c - offset loops over one layer: inset outlines, proved by GEOS to leave nothing uncovered. */
#include "plan/ways/loop.h"

#include "base/memory.h"
#include "plan/ways/offset.h"

#include <math.h>
#include <stdlib.h>

/* Loops are thinned to these parts of the radius: the coarsest that covers where the machine comes to rest at every
 * corner, the finest where it blends them and the smallest turn is best. The covering check is made on the thinned
 * ones. */
static const double thin_by[] = { 0.08, 0.03, 0.004 };
#define THINS (sizeof thin_by / sizeof *thin_by)
/* Stock that may stay uncovered by rounding alone, and less than that is no stock. */
#define UNCOVERED_MM2 1e-3
#define NOTHING_MM2   1e-6
/* The inscribed circle is found to this part of the wheel's radius: it only says how many loops to try. */
#define INSCRIBED_SHARE 0.02
/* Shorter moves than this only starve a small controller (NISTIR 6556, section 5.3). */
#define SHORTEST_MOVE_MM 0.1
#define FAR_MM           1e4

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

/* What loops are laid over. */
struct layer {
    const struct tw_scene *scene;
    struct tw_shapes *shapes;
    const GEOSGeometry *region, *filled; /* filled: the wheel goes over holes, loops only follow the outside */
    double back_mm;                      /* of the whole tang */
};

static const GEOSGeometry *region_of(const struct tw_scene *scene, struct tw_shapes *shapes, double bottom_mm)
{
    double front_mm = tw_scene_front_mm(scene, bottom_mm);
    double back_mm = fmin(front_mm + FAR_MM, tw_face_end_mm(&scene->face, bottom_mm));

    return tw_shape_common(shapes, scene->region,
                           tw_shape_of_box(shapes, (struct tw_box){ front_mm, -FAR_MM, back_mm, FAR_MM }));
}

/* ---- one line through all loops ---- */

static enum tw_status add_point(const struct tw_scene *scene, struct tw_loops *loops, struct tw_point p)
{
    if (!tw_grow((void **)&loops->points, &loops->capacity, loops->count + 1, sizeof *loops->points))
        return tw_no_memory(scene->findings);
    loops->points[loops->count++] = p;
    return TW_OK;
}

/* Where the wheel comes down before the first loop: behind the butt, level with the nearest point of it. */
static struct tw_point off_the_part(const struct layer *layer, struct tw_point first)
{
    const struct tw_scene *scene = layer->scene;
    double off_mm = layer->back_mm + TW_THIN_MM + scene->radius_mm + scene->job->travel.overtravel_mm;

    /* Rounding must not bring it nearer. */
    return (struct tw_point){ tw_scene_round_mm(scene, off_mm + scene->step_mm), first.y_mm };
}

/* Steps onto the ring at its nearest point and goes once round. */
static enum tw_status chain_ring(const struct layer *layer, const struct tw_track *ring, struct tw_loops *out)
{
    struct tw_point from = out->count > 0 ? out->points[out->count - 1] : (struct tw_point){ 1e6, 0.0 };
    double way_mm;
    size_t start = tw_track_nearest(ring, from, &way_mm);
    enum tw_status status = TW_OK;

    if (out->count == 0)
        status = add_point(layer->scene, out, off_the_part(layer, ring->points[start]));
    for (size_t i = 0; status == TW_OK && i <= ring->count; i++)
        status = add_point(layer->scene, out, ring->points[(start + i) % ring->count]);
    out->loop_count++;
    return status;
}

/* One way to lay loops. */
struct set {
    double inset_mm, pitch_mm, thin_mm;
    int most;
};

/* All loops from the outermost inwards as one line. A shrunk region in several pieces is refused: jumps between
 * them would cut where no loop was planned. */
static enum tw_status chain_loops(const struct layer *layer, struct set set, int count, struct tw_loops *out)
{
    enum tw_status status = TW_OK;

    out->count = 0;
    out->loop_count = 0;
    for (int i = 0; status == TW_OK && i < count; i++) {
        struct tw_offset how = { .inset_mm = set.inset_mm + i * set.pitch_mm,
                                 .thin_mm = set.thin_mm,
                                 .shortest_move_mm = SHORTEST_MOVE_MM };
        struct tw_tracks rings = { 0 };
        bool any;

        status = tw_offset_rings(layer->scene, layer->shapes, layer->filled, how, &rings, &any);
        if (status == TW_OK)
            status = rings.count == 1 ? chain_ring(layer, &rings.items[0], out) : TW_NO_PLAN;
        tw_tracks_free(&rings);
    }
    return status;
}

/* ---- the set that covers ---- */

/* Area of the region that the rim never passes over, and the path's length over stock. */
static double uncovered_mm2(const struct layer *layer, struct tw_loops *loops)
{
    struct tw_shapes *shapes = layer->shapes;
    size_t mark = shapes->count;
    double radius_mm = layer->scene->radius_mm, area_mm2;
    const GEOSGeometry *line = tw_shape_of_line(shapes, loops->points, loops->count);
    const GEOSGeometry *swept = tw_shape_grown(shapes, line, radius_mm, TW_QUADRANT_CHORDS);
    const GEOSGeometry *near = tw_shape_grown(shapes, layer->region, radius_mm, TW_QUADRANT_CHORDS);

    area_mm2 = tw_shape_area_mm2(shapes, tw_shape_less(shapes, layer->region, swept));
    loops->stock_mm = tw_shape_length_mm(shapes, tw_shape_common(shapes, line, near));
    tw_shapes_release(shapes, mark);
    return area_mm2;
}

/* The fewest loops of this set that cover the region: a window in the middle makes the inner ones needless. */
static enum tw_status fewest_loops(const struct layer *layer, struct set set, struct tw_loops *out, bool *covered)
{
    *covered = false;
    for (int count = 1; !*covered && count <= set.most; count++) {
        enum tw_status status = chain_loops(layer, set, count, out);

        if (status == TW_OK)
            *covered = uncovered_mm2(layer, out) <= UNCOVERED_MM2;
        if (status == TW_OK)
            status = layer->shapes->status;
        if (status != TW_OK && status != TW_NO_PLAN)
            return status;
    }
    return TW_OK;
}

static enum tw_status try_fits(const struct layer *layer, double middle_mm, struct tw_loops *out)
{
    const struct tw_scene *scene = layer->scene;
    double radius_mm = scene->radius_mm, widest_mm = 2.0 * radius_mm * scene->job->wheel.max_crossfeed_ratio;
    struct tw_place at = { .file = scene->job->path };
    bool blended = scene->job->machine.dialect.path_mode == TW_PATH_BLENDED;

    for (size_t i = 0; i < sizeof fits / sizeof *fits; i++) {
        struct set set = { .inset_mm = fits[i].inset * radius_mm, .pitch_mm = fits[i].pitch * widest_mm };
        double rest_mm = middle_mm - set.inset_mm - widest_mm / 2.0;

        set.most = rest_mm > 0.0 ? 1 + (int)ceil(rest_mm / set.pitch_mm) : 1;
        if (set.most > 1)
            set.pitch_mm = fmin(set.pitch_mm, (middle_mm * 0.999 - set.inset_mm) / (set.most - 1));
        if (set.inset_mm >= middle_mm)
            continue;
        for (size_t thin = blended ? THINS - 1 : 0; thin < THINS; thin++) {
            bool covered = false;
            enum tw_status status;

            set.thin_mm = thin_by[thin] * radius_mm;
            status = fewest_loops(layer, set, out, &covered);
            if (status != TW_OK || covered)
                return status;
        }
    }
    return tw_fail(scene->findings, TW_NO_PLAN, at, "no set of offset loops covers a layer; lanes are used");
}

static enum tw_status lay_over(struct layer *layer, struct tw_loops *out)
{
    struct tw_shapes *shapes = layer->shapes;
    double within_mm = fmax(0.01, INSCRIBED_SHARE * layer->scene->radius_mm), middle_mm;
    struct tw_point middle;

    if (!(tw_shape_area_mm2(shapes, layer->region) > NOTHING_MM2))
        return shapes->status;
    layer->filled = tw_shape_filled(shapes, layer->region);
    layer->back_mm = tw_shape_box(shapes, layer->scene->region).max_x_mm;
    middle_mm = tw_shape_circle_mm(shapes, layer->filled, within_mm, &middle) / 2.0;
    return shapes->status == TW_OK ? try_fits(layer, middle_mm, out) : shapes->status;
}

enum tw_status tw_loops_lay(const struct tw_scene *scene, double bottom_mm, struct tw_loops *out)
{
    struct tw_shapes shapes = tw_shapes_open(scene->geos, "lay loops over a layer", scene->findings);
    struct layer layer = { .scene = scene, .shapes = &shapes, .region = region_of(scene, &shapes, bottom_mm) };
    enum tw_status status;

    *out = (struct tw_loops){ 0 };
    status = lay_over(&layer, out);
    tw_shapes_close(&shapes);
    if (status != TW_OK)
        tw_loops_free(out);
    return status;
}
