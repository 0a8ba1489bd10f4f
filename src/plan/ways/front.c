/* front.c - see front.h. */
#include "plan/ways/front.h"

#include <math.h>
#include <stdlib.h>

/* From one point of an edge's row to the next: no longer. */
#define STRIDE_MM 1.0
/* A point on the line between two others is off it by no more than the grid's rounding. */
#define OFF_LINE_STEPS 1.0
/* The region may be left by so much: it keeps that off the edge beside what its ways are rounded by. */
#define OUTSIDE_STEPS 1.0

/* ---- whole steps ---- */

struct steps {
    long x, y;
};

static struct steps steps_between(const struct tw_scene *scene, struct tw_point from, struct tw_point to)
{
    return (struct steps){ lround((to.x_mm - from.x_mm) / scene->step_mm),
                           lround((to.y_mm - from.y_mm) / scene->step_mm) };
}

static long common_divisor(struct steps by)
{
    long a = labs(by.x), b = labs(by.y);

    while (b > 0) {
        long rest = a % b;

        a = b;
        b = rest;
    }
    return a;
}

static struct tw_point stepped(const struct tw_scene *scene, struct tw_point from, struct steps by, long times)
{
    double step_mm = scene->step_mm;

    return (struct tw_point){ tw_scene_round_mm(scene, from.x_mm + (double)(by.x * times) * step_mm),
                              tw_scene_round_mm(scene, from.y_mm + (double)(by.y * times) * step_mm) };
}

/* ---- corners and edges on the grid ---- */

/* The stride along an edge that comes nearest to a point of the grid. */
static struct steps best_stride(struct steps edge, long longest)
{
    double slope = (double)edge.y / (double)edge.x, least = HUGE_VAL;
    struct steps best = { 0, 0 };

    for (long x = longest; x > longest / 2; x--) {
        double y = slope * (double)x, off = fabs(y - round(y));

        if (off >= least)
            continue;
        least = off;
        best = (struct steps){ x, lround(y) };
    }
    return edge.x > 0 ? best : (struct steps){ -best.x, -best.y };
}

/* The last of whole strides from an edge's back end, or the one before where that is too near to the front end to be a move of
 * its own; false where the edge is too short for one. */
static bool last_of_row(const struct tw_scene *scene, struct tw_point back, struct tw_point front, struct tw_point *out)
{
    struct steps edge = steps_between(scene, back, front), stride;
    long longest = (long)floor(STRIDE_MM / scene->step_mm), times;

    if (labs(edge.x) <= longest)
        return false;
    stride = best_stride(edge, longest);
    times = edge.x / stride.x;
    *out = stepped(scene, back, stride, times);
    if (edge.x == stride.x * times)
        return false;
    if (tw_point_distance_mm(*out, front) < TW_SHORTEST_MOVE_MM)
        *out = stepped(scene, back, stride, times - 1);
    return true;
}

static struct tw_point rounded(const struct tw_scene *scene, struct tw_point p)
{
    return (struct tw_point){ tw_scene_round_mm(scene, p.x_mm), tw_scene_round_mm(scene, p.y_mm) };
}

/* The corners on the grid, none so near to the one before that the way round would leave it out: an edge's row then would not
 * begin where its way does. At most as many as the ring has. */
static size_t grid_corners(const struct tw_scene *scene, const struct tw_ring *ring, struct tw_point *out)
{
    size_t count = 0;

    for (size_t i = 0; i < ring->count; i++) {
        struct tw_point p = rounded(scene, ring->points[i]);

        if (count == 0 || tw_point_distance_mm(p, out[count - 1]) >= TW_SHORTEST_MOVE_MM)
            out[count++] = p;
    }
    while (count > 1 && tw_point_distance_mm(out[0], out[count - 1]) < TW_SHORTEST_MOVE_MM)
        count--;
    return count;
}

/* `room` holds three times as many points as the ring; so many of them are taken, from its beginning. */
static size_t grid_ring(const struct tw_scene *scene, const struct tw_ring *ring, struct tw_point *room)
{
    struct tw_point *corners = room + 2 * ring->count;
    size_t corner_count = grid_corners(scene, ring, corners), count = 0;

    for (size_t i = 0; i < corner_count; i++) {
        struct tw_point a = corners[i], b = corners[(i + 1) % corner_count];
        bool forward = b.x_mm < a.x_mm;

        room[count++] = a;
        if (last_of_row(scene, forward ? a : b, forward ? b : a, &room[count]))
            count++;
    }
    return count;
}

/* False where the ring is too small for the grid, or memory is out. */
static bool replace_points(const struct tw_scene *scene, struct tw_shapes *shapes, struct tw_ring *ring)
{
    struct tw_point *room = malloc((3 * ring->count + 1) * sizeof *room);

    if (!room) {
        shapes->status = tw_no_memory(shapes->findings);
        return false;
    }
    ring->count = grid_ring(scene, ring, room);
    free(ring->points);
    ring->points = room;
    return ring->count >= 3;
}

/* NULL where a ring is too small for the grid. */
static const GEOSGeometry *gridded_piece(const struct tw_scene *scene, struct tw_shapes *shapes,
                                         const GEOSGeometry *polygon)
{
    struct tw_outline piece = { 0 };
    const GEOSGeometry *out = NULL;
    bool fits;

    shapes->status = tw_geos_to_outline(shapes->geos, polygon, &piece, shapes->findings);
    if (shapes->status != TW_OK)
        return NULL;
    fits = replace_points(scene, shapes, &piece.outer);
    for (size_t i = 0; fits && i < piece.hole_count; i++)
        fits = replace_points(scene, shapes, &piece.holes[i]);
    if (fits)
        out = tw_shape_of_outline(shapes, &piece);
    tw_outline_free(&piece);
    return out;
}

/* Rounding may make a region meet itself where it is narrow. */
static bool is_valid(struct tw_shapes *shapes, const GEOSGeometry *piece)
{
    char answer = GEOSisValid_r(shapes->geos->context, piece);

    if (answer == 2)
        shapes->status = tw_geos_fail(shapes->geos, shapes->doing, shapes->findings);
    shapes->geos->message[0] = '\0'; /* why it is not valid is nothing to tell */
    return answer == 1;
}

const GEOSGeometry *tw_front_gridded(const struct tw_scene *scene, struct tw_shapes *shapes, const GEOSGeometry *region)
{
    int parts = tw_shape_parts(shapes, region);
    const GEOSGeometry *all = NULL;

    for (int i = 0; shapes->status == TW_OK && i < parts; i++) {
        const GEOSGeometry *polygon = tw_shape_polygon(shapes, region, i), *piece;

        if (!polygon)
            continue;
        piece = gridded_piece(scene, shapes, polygon);
        if (!piece || !is_valid(shapes, piece))
            return region;
        all = tw_shape_joined(shapes, all, piece);
    }
    return all ? all : region;
}

/* ---- where a way is cut off ---- */

struct cutting {
    const struct tw_scene *scene;
    const struct tw_outline *pieces;
    size_t count;
    double from_mm;
};

static bool is_cut_off(const struct cutting *cutting, struct tw_point p)
{
    return fabs(p.x_mm - cutting->from_mm) <= cutting->scene->step_mm;
}

static double off_line_mm(struct tw_point a, struct tw_point b, struct tw_point p)
{
    double x_mm = b.x_mm - a.x_mm, y_mm = b.y_mm - a.y_mm;

    return fabs((p.x_mm - a.x_mm) * y_mm - (p.y_mm - a.y_mm) * x_mm) / hypot(x_mm, y_mm);
}

/* Whether a leg from `back` to `cut` is a part of the edge from there to `front`. */
static bool is_on_edge(const struct cutting *cutting, struct tw_point back, struct tw_point front, struct tw_point cut)
{
    return front.x_mm <= cutting->from_mm + cutting->scene->step_mm && front.x_mm < back.x_mm &&
           off_line_mm(back, front, cut) <= OFF_LINE_STEPS * cutting->scene->step_mm;
}

static bool same(struct tw_point a, struct tw_point b)
{
    return a.x_mm == b.x_mm && a.y_mm == b.y_mm;
}

static bool edge_in_ring(const struct cutting *cutting, const struct tw_ring *ring, struct tw_point back,
                         struct tw_point cut, struct tw_point *front)
{
    for (size_t i = 0; i < ring->count; i++) {
        struct tw_point beside[] = { ring->points[(i + 1) % ring->count],
                                     ring->points[(i + ring->count - 1) % ring->count] };

        if (!same(ring->points[i], back))
            continue;
        for (int k = 0; k < 2; k++) {
            if (!is_on_edge(cutting, back, beside[k], cut))
                continue;
            *front = beside[k];
            return true;
        }
    }
    return false;
}

/* The front end of the region's edge that a leg lies on. */
static bool find_edge(const struct cutting *cutting, struct tw_point back, struct tw_point cut, struct tw_point *front)
{
    for (size_t i = 0; i < cutting->count; i++) {
        const struct tw_outline *piece = &cutting->pieces[i];

        if (edge_in_ring(cutting, &piece->outer, back, cut, front))
            return true;
        for (size_t k = 0; k < piece->hole_count; k++)
            if (edge_in_ring(cutting, &piece->holes[k], back, cut, front))
                return true;
    }
    return false;
}

/* The first point of an edge's row that lies at x = from_mm or ahead of it. */
static struct tw_point next_ahead(const struct cutting *cutting, struct tw_point back, struct tw_point front)
{
    const struct tw_scene *scene = cutting->scene;
    struct steps edge = steps_between(scene, back, front);
    long rows = common_divisor(edge), times;
    struct steps stride = { edge.x / rows, edge.y / rows };

    times = (long)ceil((back.x_mm - cutting->from_mm) / scene->step_mm / (double)-stride.x);
    return times >= rows ? front : stepped(scene, back, stride, times);
}

/* The point of a loop moved ahead, where it was cut off. */
static struct tw_point moved(const struct cutting *cutting, const struct tw_track *loop, size_t i)
{
    struct tw_point p = loop->points[i], front;
    struct tw_point beside[] = { loop->points[(i + 1) % loop->count],
                                 loop->points[(i + loop->count - 1) % loop->count] };

    for (int k = 0; k < 2; k++)
        if (is_cut_off(cutting, p) && !is_cut_off(cutting, beside[k]) && find_edge(cutting, beside[k], p, &front))
            return next_ahead(cutting, beside[k], front);
    return p;
}

/* Whether the loop as it is with its points moved stays in the region. */
static bool stays_inside(struct tw_shapes *shapes, const GEOSGeometry *wider, const struct tw_point *points,
                         size_t count)
{
    const GEOSGeometry *way = tw_shape_of_line(shapes, points, count);
    char answer = way ? GEOSCovers_r(shapes->geos->context, wider, way) : 0;

    if (answer == 2)
        shapes->status = tw_geos_fail(shapes->geos, shapes->doing, shapes->findings);
    return answer == 1;
}

static void move_points(const struct cutting *cutting, struct tw_shapes *shapes, const GEOSGeometry *wider,
                        struct tw_track *loop)
{
    struct tw_point *points = malloc((loop->count + 1) * sizeof *points);
    bool any = false;

    if (!points) {
        shapes->status = tw_no_memory(shapes->findings);
        return;
    }
    for (size_t i = 0; i < loop->count; i++) {
        points[i] = moved(cutting, loop, i);
        any |= !same(points[i], loop->points[i]);
    }
    points[loop->count] = points[0];
    if (any && stays_inside(shapes, wider, points, loop->count + 1)) {
        loop->length_mm = 0.0;
        for (size_t i = 0; i < loop->count; i++) {
            loop->points[i] = points[i];
            loop->length_mm += tw_point_distance_mm(points[i], points[i + 1]);
        }
    }
    free(points);
}

static void free_pieces(struct cutting *cutting, struct tw_outline *pieces)
{
    for (size_t i = 0; i < cutting->count; i++)
        tw_outline_free(&pieces[i]);
    free(pieces);
}

enum tw_status tw_front_move(const struct tw_scene *scene, struct tw_shapes *shapes, const GEOSGeometry *region,
                             double from_mm, struct tw_tracks *loops)
{
    size_t mark = shapes->count;
    int parts = tw_shape_parts(shapes, region);
    const GEOSGeometry *wider = tw_shape_grown(shapes, region, OUTSIDE_STEPS * scene->step_mm, TW_QUADRANT_CHORDS);
    struct tw_outline *pieces = calloc((size_t)parts + 1, sizeof *pieces);
    struct cutting cutting = { .scene = scene, .pieces = pieces, .from_mm = from_mm };

    if (!pieces && shapes->status == TW_OK)
        shapes->status = tw_no_memory(shapes->findings);
    for (int i = 0; shapes->status == TW_OK && i < parts; i++) {
        const GEOSGeometry *polygon = tw_shape_polygon(shapes, region, i);

        if (polygon)
            shapes->status = tw_geos_to_outline(shapes->geos, polygon, &pieces[cutting.count++], shapes->findings);
    }
    for (size_t i = 0; shapes->status == TW_OK && i < loops->count; i++)
        move_points(&cutting, shapes, wider, &loops->items[i]);
    free_pieces(&cutting, pieces);
    tw_shapes_release(shapes, mark);
    return shapes->status;
}
