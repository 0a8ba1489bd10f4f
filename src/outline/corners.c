/* corners.c - how many corners an outline may have. */
#include "outline/corners.h"

#include <math.h>

/* What is read with more corners than this is thinned: scanned and computed outlines come with a point every few
 * micrometres, which say nothing that a wheel could follow. */
#define CORNERS_MOST 6000
#define THIN_MM      0.005
/* Points that one straight edge may take the place of. */
#define EDGE_POINTS 64

static double off_edge_mm(struct tw_point a, struct tw_point b, struct tw_point p)
{
    double by_x = b.x_mm - a.x_mm, by_y = b.y_mm - a.y_mm, length = hypot(by_x, by_y);
    double along, t;

    if (!(length > 0.0))
        return hypot(p.x_mm - a.x_mm, p.y_mm - a.y_mm);
    along = ((p.x_mm - a.x_mm) * by_x + (p.y_mm - a.y_mm) * by_y) / length;
    t = fmin(1.0, fmax(0.0, along / length));
    return hypot(p.x_mm - a.x_mm - t * by_x, p.y_mm - a.y_mm - t * by_y);
}

static bool is_straight(const struct tw_ring *ring, size_t from, size_t to)
{
    for (size_t i = from + 1; i < to; i++)
        if (off_edge_mm(ring->points[from], ring->points[to], ring->points[i]) > THIN_MM)
            return false;
    return true;
}

/* From each point that stays to the last one, not too far on, that is reached by an edge close to all between. */
static void thin(struct tw_ring *ring)
{
    size_t kept = 0, at = 0;

    while (at < ring->count) {
        size_t next = at + 1;

        while (next + 1 < ring->count && next + 1 - at <= EDGE_POINTS && is_straight(ring, at, next + 1))
            next++;
        ring->points[kept++] = ring->points[at];
        at = next;
    }
    if (kept >= 3)
        ring->count = kept;
}

static size_t corners_of(const struct tw_outline *outline)
{
    size_t corners = outline->outer.count;

    for (size_t i = 0; i < outline->hole_count; i++)
        corners += outline->holes[i].count;
    return corners;
}

enum tw_status tw_outline_limit_corners(const struct tw_drawing *drawing, struct tw_outline *outline,
                                        struct tw_findings *findings)
{
    struct tw_place at = { .file = drawing->path };
    size_t before = corners_of(outline), after;

    if (before <= CORNERS_MOST)
        return TW_OK;
    thin(&outline->outer);
    for (size_t i = 0; i < outline->hole_count; i++)
        thin(&outline->holes[i]);
    after = corners_of(outline);
    if (after > CORNERS_MOST)
        return tw_fail(findings, TW_BAD_INPUT, at,
                       "the outline has %zu corners, and %zu when thinned to %g mm, above the %d that are worked with; "
                       "export it with fewer points, or smooth it",
                       before, after, THIN_MM, CORNERS_MOST);
    tw_remark(findings, at, "the outline has %zu corners; %zu of them say all of it to %g mm", before, after, THIN_MM);
    return TW_OK;
}
