/* sketch.h - what a drawing holds, before anyone asks which ring is the outline: strokes in mm.
 *
 * Every reader fills a sketch through the pen of pen.h; chain.h joins its strokes to rings.
 * Memory  the sketch owns points and labels; tw_sketch_free() releases them. */
#ifndef TANGWRIGHT_OUTLINE_SKETCH_H
#define TANGWRIGHT_OUTLINE_SKETCH_H

#include "tangwright/findings.h"
#include "tangwright/outline.h"

#include <stdbool.h>
#include <stddef.h>

#define TW_SKETCH_MOST_POINTS ((size_t)5000000)
#define TW_SKETCH_FARTHEST_MM 1.0e6  /* from the origin: beyond it the drawing is taken for damaged */
#define TW_DRAWING_DEEPEST    256    /* nesting of any kind in any format */
#define TW_SAME_PLACE_MM      1.0e-6 /* points nearer than this are one point */

/* What the drawing itself says about a ring. */
enum tw_role { TW_ROLE_ANY, TW_ROLE_OUTER, TW_ROLE_HOLE };

struct tw_stroke {
    struct tw_point *points;
    size_t count, capacity;
    bool closed; /* the drawing closes it: its last point joins its first */
    bool picked; /* carries the label the job picks; true for all when the job picks none */
    enum tw_role role;
    int line;          /* of the file, where it begins */
    const char *label; /* id, layer or name; owned by the sketch; NULL: none */
};

struct tw_sketch {
    struct tw_stroke *strokes;
    size_t stroke_count, stroke_capacity;
    size_t point_count;
    char **labels;
    size_t label_count, label_capacity;
    double x_mm_per_unit, y_mm_per_unit; /* of the drawing's outermost frame; y below zero where y points down */
    char unit_name[32];                  /* what the drawing calls its unit, "" when the job names it */
    bool by_layer;                       /* labels are layers: only pieces of one layer belong together */
};

/* A place in the drawing's own units and frame, for messages. */
struct tw_point tw_sketch_own(const struct tw_sketch *sketch, struct tw_point at_mm);

/* A label the sketch keeps; NULL for NULL, or when memory runs out (and then *failed is set). */
const char *tw_sketch_label(struct tw_sketch *sketch, const char *label, bool *failed);

/* A new stroke at the end of the list, all zero; NULL when memory runs out. */
struct tw_stroke *tw_sketch_stroke(struct tw_sketch *sketch);

/* False when memory runs out. */
bool tw_stroke_add(struct tw_stroke *stroke, struct tw_point point);

void tw_sketch_free(struct tw_sketch *sketch);

#endif
