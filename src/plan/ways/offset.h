/* offset.h - the rings at an offset inside a shape, as ways of the wheel's centre.
 *
 * Frame   setup frame, mm; points lie on the controller's grid.
 * Memory  tw_tracks owns its tracks: tw_tracks_free(). */
#ifndef TANGWRIGHT_PLAN_WAYS_OFFSET_H
#define TANGWRIGHT_PLAN_WAYS_OFFSET_H

#include "geometry/shape.h"
#include "plan/scene/scene.h"

#define TW_QUADRANT_CHORDS 32 /* of the arcs about a corner */

struct tw_track {
    struct tw_point *points; /* a loop without its first point at the end; a trough from the butt's end to the front */
    size_t count;
    double length_mm; /* once round, or once along */
    bool linked;      /* reached from the end of the track before, straight through the region */
};

struct tw_tracks {
    struct tw_track *items;
    size_t count, capacity;
    double length_mm; /* all together, with the links */
};

void tw_tracks_free(struct tw_tracks *tracks);

/* An empty track with room for so many points; NULL: no memory, and the finding says so. */
struct tw_track *tw_track_add(const struct tw_scene *scene, struct tw_tracks *tracks, size_t points);

struct tw_offset {
    double inset_mm;         /* 0: the shape's own edge */
    double thin_mm;          /* points left out so near the line between the others; 0: none */
    double shortest_move_mm; /* a nearer point is left out */
    /* Two points at this x, where the shape was cut off, are both kept however near: without one of them the way on from it would
     * leave its edge. NULL: it was not cut off. */
    const double *front_mm;
    double shortest_loop_mm; /* a shorter ring is left out: no room to ramp down */
};

/* Adds the outer ring and the holes of every piece that is left of the shape. *any: whether something is left. */
enum tw_status tw_offset_rings(const struct tw_scene *scene, struct tw_shapes *shapes, const GEOSGeometry *shape,
                               struct tw_offset how, struct tw_tracks *out, bool *any);

/* The point of the track that is nearest to `from`, and how near. */
size_t tw_track_nearest(const struct tw_track *track, struct tw_point from, double *distance_mm);

double tw_point_distance_mm(struct tw_point a, struct tw_point b);

#endif
