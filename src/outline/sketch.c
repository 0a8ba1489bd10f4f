/* sketch.c - keeping strokes and their labels. */
#include "outline/sketch.h"

#include "base/memory.h"

#include <stdlib.h>
#include <string.h>

struct tw_point tw_sketch_own(const struct tw_sketch *sketch, struct tw_point at_mm)
{
    double x = sketch->x_mm_per_unit != 0.0 ? sketch->x_mm_per_unit : 1.0;
    double y = sketch->y_mm_per_unit != 0.0 ? sketch->y_mm_per_unit : 1.0;

    /* The added zero turns -0 into 0, which a person would stumble over. */
    return (struct tw_point){ at_mm.x_mm / x + 0.0, at_mm.y_mm / y + 0.0 };
}

const char *tw_sketch_label(struct tw_sketch *sketch, const char *label, bool *failed)
{
    char *copy;

    if (!label)
        return NULL;
    /* Neighbours mostly share their label; a full search would be slow for drawings of many. */
    if (sketch->label_count > 0 && strcmp(sketch->labels[sketch->label_count - 1], label) == 0)
        return sketch->labels[sketch->label_count - 1];
    copy = tw_copy_string(label);
    if (!copy ||
        !tw_grow((void **)&sketch->labels, &sketch->label_capacity, sketch->label_count + 1, sizeof *sketch->labels)) {
        free(copy);
        *failed = true;
        return NULL;
    }
    return sketch->labels[sketch->label_count++] = copy;
}

struct tw_stroke *tw_sketch_stroke(struct tw_sketch *sketch)
{
    if (!tw_grow((void **)&sketch->strokes, &sketch->stroke_capacity, sketch->stroke_count + 1,
                 sizeof *sketch->strokes))
        return NULL;
    sketch->strokes[sketch->stroke_count] = (struct tw_stroke){ 0 };
    return &sketch->strokes[sketch->stroke_count++];
}

bool tw_stroke_add(struct tw_stroke *stroke, struct tw_point point)
{
    size_t needed = stroke->count + 1;

    /* A loose line has two points: room for eight in each would be wasted a hundred thousand times. */
    if (!stroke->points) {
        stroke->points = malloc(2 * sizeof *stroke->points);
        stroke->capacity = stroke->points ? 2 : 0;
    }
    if (!stroke->points || !tw_grow((void **)&stroke->points, &stroke->capacity, needed, sizeof *stroke->points))
        return false;
    stroke->points[stroke->count++] = point;
    return true;
}

void tw_sketch_free(struct tw_sketch *sketch)
{
    for (size_t i = 0; i < sketch->stroke_count; i++)
        free(sketch->strokes[i].points);
    for (size_t i = 0; i < sketch->label_count; i++)
        free(sketch->labels[i]);
    free(sketch->strokes);
    free(sketch->labels);
    *sketch = (struct tw_sketch){ 0 };
}
