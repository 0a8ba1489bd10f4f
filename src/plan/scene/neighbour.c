/* neighbour.c - the fixture's keep-outs and what stands about the neighbouring parts. */
#include "plan/scene/neighbour.h"

#include "base/memory.h"
#include "base/text.h"
#include "geometry/shape.h"
#include "tangwright/warm.h"
#include "tangwright/contacts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A neighbour's blank is taken as its hull, thinned to this; the clearance is far larger. */
#define THIN_MM 0.05

struct gathering {
    const struct tw_job *job;
    const struct tw_face *face;
    struct tw_geos *geos;
    struct tw_obstacles *out;
    struct tw_findings *findings;
};

/* ---- the outline of a blank ---- */

/* Both rings' points, one after the other. */
static enum tw_status hull_of(const struct gathering *gathering, const struct tw_ring *one, const struct tw_ring *other,
                              struct tw_outline *out)
{
    struct tw_shapes shapes = tw_shapes_open(gathering->geos, "find the hull of a blank", gathering->findings);
    size_t count = one->count + other->count;
    struct tw_point *points = malloc(count * sizeof *points);
    const GEOSGeometry *hull = NULL;
    enum tw_status status;

    if (!points)
        return tw_no_memory(gathering->findings);
    memcpy(points, one->points, one->count * sizeof *points);
    if (other->count > 0)
        memcpy(points + one->count, other->points, other->count * sizeof *points);
    hull = tw_shape_thinned(&shapes, tw_shape_hull(&shapes, tw_shape_of_line(&shapes, points, count)), THIN_MM);
    status = shapes.status == TW_OK ? tw_geos_to_outline(shapes.geos, hull, out, gathering->findings) : shapes.status;
    free(points);
    tw_shapes_close(&shapes);
    return status;
}

static enum tw_status blank_hull(const struct gathering *gathering, struct tw_outline *out)
{
    struct tw_outline tang = { 0 }, blade = { 0 };
    enum tw_status status = tw_face_outline(gathering->face, &gathering->job->part.tang, &tang, gathering->findings);

    if (status == TW_OK)
        status = tw_face_outline(gathering->face, &gathering->job->part.blade, &blade, gathering->findings);
    if (status == TW_OK)
        status = hull_of(gathering, &tang.outer, &blade.outer, out);
    tw_outline_free(&tang);
    tw_outline_free(&blade);
    return status;
}

/* ---- gathering ---- */

static enum tw_status add(const struct gathering *gathering, struct tw_keep_out item)
{
    struct tw_obstacles *out = gathering->out;

    if (!tw_grow((void **)&out->items, &out->capacity, out->count + 1, sizeof *out->items))
        return tw_no_memory(gathering->findings);
    out->items[out->count++] = item;
    out->highest_mm = fmax(out->highest_mm, item.top_mm);
    return TW_OK;
}

/* A copy of `plan`, moved, under a name of its own. */
static enum tw_status add_moved(const struct gathering *gathering, const char *name, int offset,
                                const struct tw_ring *plan, double top_mm, struct tw_place3 by)
{
    struct tw_keep_out item = { .kind = TW_KEEP_OUT_BODY, .top_mm = top_mm + by.z_mm };
    struct tw_text text = { 0 };
    enum tw_status status;

    tw_text_print(&text, "%s at ", name);
    if (offset <= 6)
        tw_text_print(&text, "G%d", 53 + offset);
    else
        tw_text_print(&text, "G59.%d", offset - 6);
    item.name = tw_text_take(&text);
    item.plan.points = malloc((plan->count ? plan->count : 1) * sizeof *item.plan.points);
    if (item.name && item.plan.points) {
        item.plan.count = plan->count;
        for (size_t i = 0; i < plan->count; i++)
            item.plan.points[i] = (struct tw_point){ plan->points[i].x_mm + by.x_mm, plan->points[i].y_mm + by.y_mm };
        status = add(gathering, item);
    } else {
        status = tw_no_memory(gathering->findings);
    }
    if (status != TW_OK) {
        free(item.name);
        free(item.plan.points);
    }
    return status;
}

/* Where part `other` lies, seen from part `one`, in the setup frame. */
static struct tw_place3 way_between(const struct tw_job *job, int one, int other)
{
    const struct tw_station *a = &job->fixture.stations[one], *b = &job->fixture.stations[other];

    return (struct tw_place3){ job->machine.along.sign * (b->along_mm - a->along_mm),
                               job->machine.across.sign * (b->across_mm - a->across_mm),
                               job->machine.up.sign * (b->up_mm - a->up_mm) };
}

static bool is_same_way(struct tw_place3 a, struct tw_place3 b)
{
    return fabs(a.x_mm - b.x_mm) < 1e-9 && fabs(a.y_mm - b.y_mm) < 1e-9 && fabs(a.z_mm - b.z_mm) < 1e-9;
}

/* On an evenly spaced fixture most pairs look alike: one of them is enough. */
static bool is_known_way(const struct tw_job *job, int one, int other)
{
    for (int a = 0; a <= one; a++)
        for (int b = 0; b < (a < one ? job->parts : other); b++)
            if (a != b && is_same_way(way_between(job, a, b), way_between(job, one, other)))
                return true;
    return false;
}

static enum tw_status add_neighbour(const struct gathering *gathering, const struct tw_ring *hull, double top_mm,
                                    int one, int other)
{
    const struct tw_fixture *fixture = &gathering->job->fixture;
    struct tw_place3 by = way_between(gathering->job, one, other);
    int offset = fixture->stations[other].work_offset;
    enum tw_status status = add_moved(gathering, "the blank", offset, hull, top_mm, by);

    for (size_t i = 0; status == TW_OK && i < fixture->keep_out_count; i++)
        if (tw_keep_out_in_place(&fixture->keep_outs[i], gathering->face->side))
            status = add_moved(gathering, fixture->keep_outs[i].name, offset, &fixture->keep_outs[i].plan,
                               fixture->keep_outs[i].top_mm, by);
    return status;
}

static enum tw_status add_neighbours(const struct gathering *gathering, double top_mm)
{
    const struct tw_job *job = gathering->job;
    struct tw_outline hull = { 0 };
    enum tw_status status = blank_hull(gathering, &hull);

    for (int one = 0; status == TW_OK && one < job->parts; one++)
        for (int other = 0; status == TW_OK && other < job->parts; other++)
            if (one != other && !is_known_way(job, one, other))
                status = add_neighbour(gathering, &hull.outer, top_mm, one, other);
    tw_outline_free(&hull);
    return status;
}

/* Asked for every move of every plan tried, so worked out once. */
static enum tw_status box_items(struct tw_obstacles *obstacles, struct tw_findings *findings)
{
    obstacles->boxes = malloc((obstacles->count ? obstacles->count : 1) * sizeof *obstacles->boxes);
    if (!obstacles->boxes)
        return tw_no_memory(findings);
    for (size_t i = 0; i < obstacles->count; i++)
        obstacles->boxes[i] = tw_ring_box(&obstacles->items[i].plan);
    return TW_OK;
}

enum tw_status tw_obstacles_gather(const struct tw_job *job, const struct tw_face *face, double top_mm,
                                   struct tw_geos *geos, struct tw_obstacles *out, struct tw_findings *findings)
{
    struct gathering gathering = { job, face, geos, out, findings };
    enum tw_status status = TW_OK;

    *out = (struct tw_obstacles){ 0 };
    for (size_t i = 0; status == TW_OK && i < job->fixture.keep_out_count; i++) {
        if (!tw_keep_out_in_place(&job->fixture.keep_outs[i], face->side))
            continue;
        status = add(&gathering, job->fixture.keep_outs[i]);
        out->own_count = out->count;
    }
    if (status == TW_OK && job->parts > 1)
        status = add_neighbours(&gathering, top_mm);
    if (status == TW_OK)
        status = box_items(out, findings);
    if (status != TW_OK)
        tw_obstacles_free(out);
    return status;
}

void tw_obstacles_free(struct tw_obstacles *obstacles)
{
    for (size_t i = obstacles->own_count; i < obstacles->count; i++) {
        free(obstacles->items[i].name);
        free(obstacles->items[i].plan.points);
    }
    free(obstacles->items);
    free(obstacles->boxes);
    *obstacles = (struct tw_obstacles){ 0 };
}

const char *tw_obstacles_advice(const struct tw_obstacles *obstacles, const struct tw_keep_out *item, double lowest_mm)
{
    if ((size_t)(item - obstacles->items) >= obstacles->own_count)
        return "set the stations farther apart, grind fewer parts at once, or take a smaller wheel";
    if (item->top_mm < lowest_mm)
        return "lower fixture.clearance or the keep-out's top, move it, or take a smaller wheel";
    return "move the keep-out, lower its top, or take a smaller wheel";
}
