/* fuzz.h - what must hold for any bytes whatever, for the slice that `make test` runs and for the long run. */
#ifndef TANGWRIGHT_TESTS_OUTLINE_FUZZ_H
#define TANGWRIGHT_TESTS_OUTLINE_FUZZ_H

#include "tangwright/outline.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static inline void must(int holds, const char *what)
{
    if (holds)
        return;
    fprintf(stderr, "broken: %s\n", what);
    abort();
}

static inline double fuzz_area(const struct tw_ring *ring)
{
    double twice = 0.0;

    for (size_t i = 0, j = ring->count - 1; i < ring->count; j = i++) {
        must(fabs(ring->points[i].x_mm) < 2e6 && fabs(ring->points[i].y_mm) < 2e6, "points are bounded numbers");
        twice += (ring->points[j].x_mm - ring->points[0].x_mm) * (ring->points[i].y_mm - ring->points[0].y_mm) -
                 (ring->points[i].x_mm - ring->points[0].x_mm) * (ring->points[j].y_mm - ring->points[0].y_mm);
    }
    return twice;
}

static inline void watch_outline(const struct tw_outline *outline)
{
    must(outline->outer.count >= 3 && fuzz_area(&outline->outer) > 0.0, "the outer ring runs counterclockwise");
    for (size_t i = 0; i < outline->hole_count; i++)
        must(outline->holes[i].count >= 3 && fuzz_area(&outline->holes[i]) < 0.0, "holes run clockwise");
}

/* Reads the file at `path`: either a sound outline, or a fault and no outline. */
static inline void watch_file(const char *path, enum tw_drawing_format format, double unit_mm)
{
    struct tw_drawing drawing = {
        .path = path, .format = format, .unit_mm = unit_mm, .chord_tolerance_mm = 0.01, .gap_tolerance_mm = 0.05
    };
    struct tw_taper_axis axis = { .start_x_mm = 10.0, .direction_rad = 0.1 };
    struct tw_findings findings = { 0 };
    struct tw_outline outline;
    struct tw_part part;
    enum tw_status status = tw_outline_read(&drawing, &outline, &findings);

    if (status == TW_OK) {
        watch_outline(&outline);
        status = tw_part_from_drawing(&outline, &axis, path, &part, &findings);
        if (status == TW_OK)
            watch_outline(&part.tang);
        tw_part_free(&part);
    } else {
        must(outline.outer.points == NULL && outline.holes == NULL, "a fault leaves no outline");
    }
    must(status == TW_OK || tw_findings_fault_count(&findings) > 0, "a fault is told");
    tw_outline_free(&outline);
    tw_findings_free(&findings);
}

#endif
