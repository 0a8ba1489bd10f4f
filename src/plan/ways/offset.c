/* offset.c - see offset.h. */
#include "plan/ways/offset.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

double tw_point_distance_mm(struct tw_point a, struct tw_point b)
{
    return hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm);
}

void tw_tracks_free(struct tw_tracks *tracks)
{
    for (size_t i = 0; i < tracks->count; i++)
        free(tracks->items[i].points);
    free(tracks->items);
    *tracks = (struct tw_tracks){ 0 };
}

struct tw_track *tw_track_add(const struct tw_scene *scene, struct tw_tracks *tracks, size_t points)
{
    struct tw_track track = { .points = malloc((points ? points : 1) * sizeof *track.points) };

    if (!track.points ||
        !tw_grow((void **)&tracks->items, &tracks->capacity, tracks->count + 1, sizeof *tracks->items)) {
        free(track.points);
        tw_no_memory(scene->findings);
        return NULL;
    }
    tracks->items[tracks->count] = track;
    return &tracks->items[tracks->count++];
}

size_t tw_track_nearest(const struct tw_track *track, struct tw_point from, double *distance_mm)
{
    size_t best = 0;

    *distance_mm = HUGE_VAL;
    for (size_t i = 0; i < track->count; i++) {
        double way_mm = tw_point_distance_mm(track->points[i], from);

        if (way_mm >= *distance_mm)
            continue;
        *distance_mm = way_mm;
        best = i;
    }
    return best;
}

static bool is_at(const double *front_mm, double x_mm, double step_mm)
{
    return front_mm && fabs(x_mm - *front_mm) <= step_mm;
}

/* Whether the way from one point to the next is worth a move of its own. */
static bool is_move(const struct tw_scene *scene, const struct tw_offset *how, struct tw_point from, struct tw_point to)
{
    double way_mm = tw_point_distance_mm(from, to);

    return way_mm >= how->shortest_move_mm || (way_mm > 0.0 && is_at(how->front_mm, from.x_mm, scene->step_mm) &&
                                               is_at(how->front_mm, to.x_mm, scene->step_mm));
}

/* Rounds, and leaves out what would be too short a move. */
static void take_points(const struct tw_scene *scene, const struct tw_ring *ring, const struct tw_offset *how,
                        struct tw_track *track)
{
    for (size_t i = 0; i < ring->count; i++) {
        struct tw_point p = { tw_scene_round_mm(scene, ring->points[i].x_mm),
                              tw_scene_round_mm(scene, ring->points[i].y_mm) };

        if (track->count == 0 || is_move(scene, how, track->points[track->count - 1], p))
            track->points[track->count++] = p;
    }
    for (size_t i = 0; i < track->count; i++)
        track->length_mm += tw_point_distance_mm(track->points[i], track->points[(i + 1) % track->count]);
}

static enum tw_status add_ring(const struct tw_scene *scene, const struct tw_ring *ring, struct tw_offset how,
                               struct tw_tracks *out)
{
    struct tw_track *track = tw_track_add(scene, out, ring->count);

    if (!track)
        return TW_NO_MEMORY;
    take_points(scene, ring, &how, track);
    if (track->count < 3 || track->length_mm < how.shortest_loop_mm) {
        free(track->points);
        out->count--;
    }
    return TW_OK;
}

static enum tw_status add_piece(const struct tw_scene *scene, const GEOSGeometry *polygon, struct tw_offset how,
                                struct tw_tracks *out)
{
    struct tw_outline piece;
    enum tw_status status = tw_geos_to_outline(scene->geos, polygon, &piece, scene->findings);

    if (status != TW_OK)
        return status;
    tw_ring_orient(&piece.outer, false); /* all rings with the region to the right of the way */
    status = add_ring(scene, &piece.outer, how, out);
    for (size_t i = 0; status == TW_OK && i < piece.hole_count; i++) {
        tw_ring_orient(&piece.holes[i], true);
        status = add_ring(scene, &piece.holes[i], how, out);
    }
    tw_outline_free(&piece);
    return status;
}

enum tw_status tw_offset_rings(const struct tw_scene *scene, struct tw_shapes *shapes, const GEOSGeometry *shape,
                               struct tw_offset how, struct tw_tracks *out, bool *any)
{
    size_t mark = shapes->count;
    int parts;
    enum tw_status status;

    if (how.inset_mm > 0.0)
        shape = tw_shape_grown(shapes, shape, -how.inset_mm, TW_QUADRANT_CHORDS);
    if (how.thin_mm > 0.0)
        shape = tw_shape_thinned(shapes, shape, how.thin_mm);
    parts = tw_shape_parts(shapes, shape);
    status = shapes->status;
    *any = false;
    for (int i = 0; status == TW_OK && i < parts; i++) {
        const GEOSGeometry *polygon = tw_shape_polygon(shapes, shape, i);

        if (!polygon)
            continue;
        *any = true;
        status = add_piece(scene, polygon, how, out);
    }
    tw_shapes_release(shapes, mark);
    return status;
}
