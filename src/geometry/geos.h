/* geos.h - one GEOS context, its messages as findings, and outlines turned to GEOS geometry and back.
 *
 * Memory  a geometry made here is the caller's: release it with GEOSGeom_destroy_r(geos->context, geometry).
 *         Close the context last.
 * Threads one context per thread.
 * Errors  TW_NO_MEMORY when GEOS ran out of memory; else TW_BAD_INPUT with GEOS's own message, because a
 *         geometry it cannot handle came from what was read. On failure *out is NULL or an empty outline. */
#ifndef TANGWRIGHT_GEOMETRY_GEOS_H
#define TANGWRIGHT_GEOMETRY_GEOS_H

#include "tangwright/findings.h"
#include "tangwright/outline.h"

#include <geos_c.h>

/* Must stay where it is between tw_geos_open() and tw_geos_close(): GEOS keeps its address. */
struct tw_geos {
    GEOSContextHandle_t context;
    char message[256]; /* what GEOS said last; empty if nothing */
};

enum tw_status tw_geos_open(struct tw_geos *geos, struct tw_findings *findings);

/* Harmless on a zeroed or closed context. */
void tw_geos_close(struct tw_geos *geos);

/* Adds "the geometry library could not <doing>: <its message>", forgets the message and returns the status.
 * For a GEOS call that answered NULL, or 2 where 0 and 1 are the answers. */
enum tw_status tw_geos_fail(struct tw_geos *geos, const char *doing, struct tw_findings *findings);

/* A linear ring; the ring's first point is repeated at the end, as GEOS wants it. The ring needs 3 points. */
enum tw_status tw_geos_ring(struct tw_geos *geos, const struct tw_ring *ring, GEOSGeometry **out,
                            struct tw_findings *findings);

/* A polygon with the ring as its shell and no holes. */
enum tw_status tw_geos_from_ring(struct tw_geos *geos, const struct tw_ring *ring, GEOSGeometry **out,
                                 struct tw_findings *findings);

/* A polygon with holes; POLYGON EMPTY for an empty outline. */
enum tw_status tw_geos_from_outline(struct tw_geos *geos, const struct tw_outline *outline, GEOSGeometry **out,
                                    struct tw_findings *findings);

/* `polygon` must be a POLYGON (an empty one gives an empty outline). The outer ring comes out
 * counterclockwise, holes clockwise, without the repeated last point. */
enum tw_status tw_geos_to_outline(struct tw_geos *geos, const GEOSGeometry *polygon, struct tw_outline *out,
                                  struct tw_findings *findings);

#endif
