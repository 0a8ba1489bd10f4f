/* outline.h - closed rings in the plane: how they are read from drawings and brought to the part frame.
 *
 * Units   mm. A ring does not repeat its first point at its end. The outer ring runs counterclockwise,
 *         holes run clockwise, whatever the drawing did.
 * Memory  a tw_outline owns its rings; tw_outline_free() releases them and leaves an empty outline.
 * Errors  TW_BAD_INPUT with the coordinates (in the drawing's own units and frame) and a mend;
 *         TW_IO when the file cannot be read; TW_NO_MEMORY. On failure *out is left empty. */
#ifndef TANGWRIGHT_OUTLINE_H
#define TANGWRIGHT_OUTLINE_H

#include "tangwright/findings.h"

#include <stdbool.h>
#include <stddef.h>

struct tw_point {
    double x_mm, y_mm;
};

struct tw_ring {
    struct tw_point *points;
    size_t count;
};

struct tw_outline {
    struct tw_ring outer;
    struct tw_ring *holes;
    size_t hole_count;
};

enum tw_drawing_format {
    TW_DRAWING_BY_NAME, /* from the file name's ending */
    TW_DRAWING_WKT,     /* OGC well-known text: POLYGON, one-member MULTIPOLYGON, closed LINESTRING */
    TW_DRAWING_GEOJSON, /* RFC 7946 geometry, Feature or FeatureCollection */
    TW_DRAWING_SVG,     /* W3C SVG 1.1 */
    TW_DRAWING_DXF,     /* ASCII exchange drawing, two-dimensional entities */
    TW_DRAWING_CSV      /* x,y per line; a blank line starts the next ring */
};

/* How a drawing is to be read. */
struct tw_drawing {
    const char *path;
    enum tw_drawing_format format;
    double unit_mm;            /* length of one drawing unit for drawings that carry no unit; 0: not given, and
                                  then such a drawing is refused. A drawing that carries its unit (SVG with
                                  physical size, DXF with $INSUNITS) is refused if the job names another one. */
    double chord_tolerance_mm; /* > 0: curves are replaced by chords nowhere farther away than this */
    double gap_tolerance_mm;   /* >= 0: ends nearer than this are joined, and a remark says so */
    const char *pick;          /* SVG id (also of a group), DXF layer or GeoJSON property "name"/id of the ring when
                                  several candidates stand in the file; several with commas between them. Closed
                                  rings inside the picked one are its holes whatever their name, and a remark counts
                                  them; what is open there, crosses the outline or is nested counts for nothing.
                                  NULL: there must be one */
};

/* Reads one outer ring and its holes, in the drawing's own frame, turned to mm. SVG: the frame of the outermost
 * user units with y turned up, so y_mm = -y; the corner of the viewBox is not subtracted, 0,0 stays 0,0.
 *
 * Chains of loose pieces are joined; a gap below the tolerance is closed at its middle and told in a remark. The
 * outer ring is the one inside no other (of those picked); rings within it are its holes. At most 1000 rings
 * and 5 million points, and nothing farther than 1 km from the origin; the outline is 10 to 1000 mm across. */
enum tw_status tw_outline_read(const struct tw_drawing *drawing, struct tw_outline *out, struct tw_findings *findings);

/* One line of a drawing as it stands there, before anyone asks which is the outline. */
struct tw_drawn {
    struct tw_ring line;
    bool closed; /* its last point joins its first */
    char *name;  /* the id, layer or name by which a job may pick it; NULL: it has none */
};

struct tw_drawn_lines {
    struct tw_drawn *items;
    size_t count;
};

/* All that is drawn, in the frame of tw_outline_read(), whatever the drawing's `pick` says: to be looked at. Loose pieces are
 * joined where they join to rings; where one does not, all stand there as they were drawn. */
enum tw_status tw_outline_drawn(const struct tw_drawing *drawing, struct tw_drawn_lines *out,
                                struct tw_findings *findings);
void tw_drawn_lines_free(struct tw_drawn_lines *lines);

/* Whether files of that ending are read as drawings. */
bool tw_outline_is_drawing_name(const char *name);

/* Where the part frame lies in the drawing. */
struct tw_taper_axis {
    double start_x_mm, start_y_mm; /* a point of the taper axis: it becomes x = 0, y = 0 */
    double direction_rad;          /* direction of +x (towards the butt), counterclockwise from the drawing's x */
    int mirrored;                  /* 1: the drawing shows the knife from side B, so y is turned over */
    int y_down;                    /* 1: the job writes the drawing's points with y downwards, so messages do, too */
};

/* The drawing brought to the part frame and cut at the taper start. */
struct tw_part {
    struct tw_outline tang;  /* x >= 0 */
    struct tw_outline blade; /* x <= 0; empty (outer.count == 0) when the drawing shows the tang alone */
};

/* `drawing_name` only serves the messages, whose coordinates are the drawing's, in mm. An outline whose foremost
 * point lies within 0.01 mm of the taper start is a tang alone. A hole that is cut through becomes part of both
 * boundaries. Faults: the taper start lies ahead of the outline or behind it, or cuts it into several pieces of
 * tang or of blade. */
enum tw_status tw_part_from_drawing(const struct tw_outline *drawing, const struct tw_taper_axis *axis,
                                    const char *drawing_name, struct tw_part *out, struct tw_findings *findings);

void tw_outline_free(struct tw_outline *outline);
void tw_part_free(struct tw_part *part);

#endif
