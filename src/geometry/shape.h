/* shape.h - shapes worked out step by step by GEOS, and who owns them.
 *
 * A struct tw_shapes owns every shape made through it until it is closed, or until they are released down to a mark. After
 * the first failure every call does nothing and answers NULL, false or 0, so that a chain of steps is written without
 * asking after each: tw_shapes_close() tells what became of it.
 *
 * Threads as the context: one thread.
 * Errors  TW_NO_MEMORY, or TW_BAD_INPUT with "the geometry library could not <doing>"; see geos.h. */
#ifndef TANGWRIGHT_GEOMETRY_SHAPE_H
#define TANGWRIGHT_GEOMETRY_SHAPE_H

#include "geometry/geos.h"
#include "geometry/ring.h"

struct tw_shapes {
    struct tw_geos *geos;
    const char *doing; /* for messages */
    struct tw_findings *findings;
    enum tw_status status;
    GEOSGeometry **items;
    size_t count, capacity;
};

struct tw_shapes tw_shapes_open(struct tw_geos *geos, const char *doing, struct tw_findings *findings);

/* Releases all that it owns; the status of everything done through it. */
enum tw_status tw_shapes_close(struct tw_shapes *shapes);

/* Releases what was made since `count` was this. */
void tw_shapes_release(struct tw_shapes *shapes, size_t mark);

/* Takes over a geometry of GEOS's making; NULL is a failure. */
const GEOSGeometry *tw_shape_own(struct tw_shapes *shapes, GEOSGeometry *geometry);

/* Hands this one over to the caller, who then releases it. */
GEOSGeometry *tw_shape_give(struct tw_shapes *shapes, const GEOSGeometry *shape);

const GEOSGeometry *tw_shape_of_ring(struct tw_shapes *shapes, const struct tw_ring *ring);
const GEOSGeometry *tw_shape_of_outline(struct tw_shapes *shapes, const struct tw_outline *outline);
const GEOSGeometry *tw_shape_of_box(struct tw_shapes *shapes, struct tw_box box);

/* A line through two points or more, in order. */
const GEOSGeometry *tw_shape_of_line(struct tw_shapes *shapes, const struct tw_point *points, size_t count);

/* All that is nearer than by_mm, with round corners of so many chords a quarter; by_mm below 0: shrunk by as much. */
const GEOSGeometry *tw_shape_grown(struct tw_shapes *shapes, const GEOSGeometry *shape, double by_mm, int chords);

/* Points left out that lie nearer than this to the line between the others. */
const GEOSGeometry *tw_shape_thinned(struct tw_shapes *shapes, const GEOSGeometry *shape, double by_mm);

const GEOSGeometry *tw_shape_common(struct tw_shapes *shapes, const GEOSGeometry *one, const GEOSGeometry *other);
const GEOSGeometry *tw_shape_less(struct tw_shapes *shapes, const GEOSGeometry *shape, const GEOSGeometry *other);

/* Both together; of NULL and a shape, the shape. */
const GEOSGeometry *tw_shape_joined(struct tw_shapes *shapes, const GEOSGeometry *one, const GEOSGeometry *other);

const GEOSGeometry *tw_shape_hull(struct tw_shapes *shapes, const GEOSGeometry *shape);

/* A polygon without its holes; anything else as it is. */
const GEOSGeometry *tw_shape_filled(struct tw_shapes *shapes, const GEOSGeometry *shape);

/* How many parts it has, and each of them that is a polygon; NULL for an empty one, a line or a point. The shape owns it. */
int tw_shape_parts(struct tw_shapes *shapes, const GEOSGeometry *shape);
const GEOSGeometry *tw_shape_polygon(struct tw_shapes *shapes, const GEOSGeometry *shape, int part);

bool tw_shape_is_empty(struct tw_shapes *shapes, const GEOSGeometry *shape);
double tw_shape_area_mm2(struct tw_shapes *shapes, const GEOSGeometry *shape);
/* Its centroid. */
struct tw_point tw_shape_middle(struct tw_shapes *shapes, const GEOSGeometry *shape);
double tw_shape_length_mm(struct tw_shapes *shapes, const GEOSGeometry *shape);
struct tw_box tw_shape_box(struct tw_shapes *shapes, const GEOSGeometry *shape);

/* Diameter of the largest circle inside, found to within_mm, and its middle. */
double tw_shape_circle_mm(struct tw_shapes *shapes, const GEOSGeometry *shape, double within_mm,
                          struct tw_point *middle);

#endif
