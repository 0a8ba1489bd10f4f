/* outline_stand_in.h - until the drawing readers are merged: x,y lines of one ring whose taper starts at x = 0. */
#include "tangwright/outline.h"

#include <stdio.h>
#include <stdlib.h>

enum tw_status tw_outline_read(const struct tw_drawing *drawing, struct tw_outline *out, struct tw_findings *findings)
{
    FILE *stream = fopen(drawing->path, "r");
    struct tw_point point;

    *out = (struct tw_outline){ 0 };
    if (!stream)
        return TW_IO;
    out->outer.points = malloc(16 * sizeof *out->outer.points);
    while (out->outer.points && out->outer.count < 16 && fscanf(stream, "%lf,%lf", &point.x_mm, &point.y_mm) == 2)
        out->outer.points[out->outer.count++] = point;
    fclose(stream);
    return out->outer.points ? TW_OK : tw_no_memory(findings);
}

enum tw_status tw_part_from_drawing(const struct tw_outline *drawing, const struct tw_taper_axis *axis,
                                    const char *drawing_name, struct tw_part *out, struct tw_findings *findings)
{
    (void)axis, (void)drawing_name;
    *out = (struct tw_part){ 0 };
    out->tang.outer.points = calloc(drawing->outer.count + 1, sizeof *out->tang.outer.points);
    if (!out->tang.outer.points)
        return tw_no_memory(findings);
    for (; out->tang.outer.count < drawing->outer.count; out->tang.outer.count++)
        out->tang.outer.points[out->tang.outer.count] = drawing->outer.points[out->tang.outer.count];
    return TW_OK;
}

void tw_outline_free(struct tw_outline *outline)
{
    free(outline->outer.points);
    *outline = (struct tw_outline){ 0 };
}

void tw_part_free(struct tw_part *part)
{
    tw_outline_free(&part->tang);
    tw_outline_free(&part->blade);
}
