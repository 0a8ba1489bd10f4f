/* drawn.c - all that a drawing holds, to be looked at. */
#include "base/memory.h"
#include "outline/chain.h"
#include "outline/read.h"

#include <stdlib.h>

void tw_drawn_lines_free(struct tw_drawn_lines *lines)
{
    for (size_t i = 0; i < lines->count; i++) {
        free(lines->items[i].line.points);
        free(lines->items[i].name);
    }
    free(lines->items);
    *lines = (struct tw_drawn_lines){ 0 };
}

/* Takes the points over. */
static bool add(struct tw_drawn_lines *lines, struct tw_point **points, size_t count, bool closed, const char *name)
{
    struct tw_drawn *line = &lines->items[lines->count++];

    *line = (struct tw_drawn){ { *points, count }, closed, name ? tw_copy_string(name) : NULL };
    *points = NULL;
    return line->name || !name;
}

static enum tw_status make_room(struct tw_drawn_lines *lines, size_t count, struct tw_findings *findings)
{
    lines->items = calloc(count + 1, sizeof *lines->items);
    return lines->items ? TW_OK : tw_no_memory(findings);
}

static enum tw_status take_rings(struct tw_found_rings *rings, struct tw_drawn_lines *out, struct tw_findings *findings)
{
    enum tw_status status = make_room(out, rings->count, findings);

    for (size_t i = 0; status == TW_OK && i < rings->count; i++) {
        struct tw_found_ring *ring = &rings->items[i];

        if (!add(out, &ring->ring.points, ring->ring.count, true, ring->label))
            status = tw_no_memory(findings);
    }
    return status;
}

static enum tw_status take_strokes(struct tw_sketch *sketch, struct tw_drawn_lines *out, struct tw_findings *findings)
{
    enum tw_status status = make_room(out, sketch->stroke_count, findings);

    for (size_t i = 0; status == TW_OK && i < sketch->stroke_count; i++) {
        struct tw_stroke *stroke = &sketch->strokes[i];

        if (!add(out, &stroke->points, stroke->count, stroke->closed, stroke->label))
            status = tw_no_memory(findings);
    }
    return status;
}

/* What does not join is said to whoever reads the outline. */
static enum tw_status join(const struct tw_drawing *drawing, struct tw_drawn_lines *out, struct tw_findings *findings)
{
    struct tw_findings said = { 0 };
    struct tw_found_rings rings = { 0 };
    struct tw_sketch sketch = { 0 };
    enum tw_status status = tw_sketch_read(drawing, &sketch, &said);

    if (status == TW_OK)
        status = tw_chain(drawing, &sketch, &rings, &said);
    if (status == TW_OK)
        status = take_rings(&rings, out, findings);
    tw_found_rings_free(&rings);
    tw_sketch_free(&sketch);
    tw_findings_free(&said);
    return status;
}

enum tw_status tw_outline_drawn(const struct tw_drawing *drawing, struct tw_drawn_lines *out,
                                struct tw_findings *findings)
{
    struct tw_drawing whole = *drawing;
    struct tw_sketch sketch = { 0 };
    enum tw_status status;

    *out = (struct tw_drawn_lines){ 0 };
    whole.pick = NULL;
    status = join(&whole, out, findings);
    if (status == TW_BAD_INPUT) {
        tw_drawn_lines_free(out);
        status = tw_sketch_read(&whole, &sketch, findings);
        if (status == TW_OK)
            status = take_strokes(&sketch, out, findings);
        tw_sketch_free(&sketch);
    }
    if (status != TW_OK)
        tw_drawn_lines_free(out);
    return status;
}
