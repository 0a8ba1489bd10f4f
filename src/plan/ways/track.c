/* track.c - loops and troughs over a region, proved by GEOS to stay inside it. */
#include "plan/ways/track.h"

#include "plan/ways/front.h"
#include "plan/ways/trough.h"

#include <math.h>
#include <stdlib.h>

#define SHORTEST_LOOP_MM 0.5
#define AHEAD_MM         3.0
/* Distance between loops, as parts of the radius: the widest that leaves nothing between them. */
static const double pitches[] = { 1.4, 1.0, 0.7, 0.5, 0.35 };
#define LOOPS_MOST 4000
/* What the loops of one layer leave uncovered the next layer's would meet twice as deep, where they lie otherwise: no more than
 * such a strip may be left along the edges, which all layers have alike, and nothing between the loops. So much narrower than they
 * are they must cover it, and the tip of a corner is nothing. */
#define UNCOVERED_MM     0.06
#define NARROWER_MM      0.01
#define TIP_MM           0.005
#define UNCOVERED_CHORDS 2
#define FAR_MM           1e4

/* ---- loops ---- */

/* Where the wheel's centre may go behind a front. */
struct behind {
    const GEOSGeometry *centres, *all; /* behind the front, and everywhere */
    double from_mm;
};

/* From outside in. The outermost are taken as they are, thinned already, so that every layer has the same edges. */
static enum tw_status lay_rings(const struct tw_scene *scene, struct tw_shapes *shapes, const struct behind *behind,
                                double pitch_mm, struct tw_tracks *out)
{
    struct tw_offset how = { .shortest_move_mm = TW_SHORTEST_MOVE_MM,
                             .shortest_loop_mm = SHORTEST_LOOP_MM,
                             .front_mm = &behind->from_mm };
    bool any = true;
    enum tw_status status = TW_OK;

    for (int i = 0; status == TW_OK && any && i < LOOPS_MOST; i++) {
        how.inset_mm = i * pitch_mm;
        how.thin_mm = i > 0 ? tw_relief_thin_mm(scene) : 0.0;
        status = tw_offset_rings(scene, shapes, behind->centres, how, out, &any);
        if (status == TW_OK && i == 0)
            status = tw_front_move(scene, shapes, behind->all, behind->from_mm, out);
    }
    return status;
}

/* The line once round. */
static GEOSGeometry *line_round(struct tw_shapes *shapes, const struct tw_track *loop)
{
    struct tw_ring ring = { loop->points, loop->count };
    GEOSGeometry *line = NULL;

    shapes->status = tw_geos_ring(shapes->geos, &ring, &line, shapes->findings);
    return line;
}

/* All loops as one shape of lines. */
static const GEOSGeometry *lines_of(struct tw_shapes *shapes, const struct tw_tracks *loops)
{
    GEOSContextHandle_t context = shapes->geos->context;
    GEOSGeometry **lines = calloc(loops->count + 1, sizeof *lines), *all = NULL;
    size_t count = 0;

    if (!lines) {
        shapes->status = tw_no_memory(shapes->findings);
        return NULL;
    }
    while (shapes->status == TW_OK && count < loops->count) {
        lines[count] = line_round(shapes, &loops->items[count]);
        count += lines[count] != NULL;
    }
    if (shapes->status == TW_OK) /* takes the lines over, even when it fails */
        all = GEOSGeom_createCollection_r(context, GEOS_MULTILINESTRING, lines, (unsigned)count);
    else
        for (size_t i = 0; i < count; i++)
            GEOSGeom_destroy_r(context, lines[i]);
    free(lines);
    return shapes->status == TW_OK ? tw_shape_own(shapes, all) : NULL;
}

/* Whether the loops leave nothing but strips of UNCOVERED_MM along the edges. */
static bool covers(const struct tw_scene *scene, struct tw_shapes *shapes, const GEOSGeometry *centres,
                   const struct tw_tracks *loops)
{
    size_t mark = shapes->count;
    double inside_mm = scene->radius_mm - UNCOVERED_MM, sure_mm = scene->radius_mm - NARROWER_MM;
    const GEOSGeometry *wanted = tw_shape_grown(shapes, centres, inside_mm, TW_QUADRANT_CHORDS);
    const GEOSGeometry *swept = tw_shape_grown(shapes, lines_of(shapes, loops), sure_mm, TW_QUADRANT_CHORDS);
    const GEOSGeometry *left = tw_shape_less(shapes, wanted, swept);
    bool covered = tw_shape_is_empty(shapes, tw_shape_grown(shapes, left, -TIP_MM, UNCOVERED_CHORDS));

    tw_shapes_release(shapes, mark);
    return covered;
}

/* ---- their order ---- */

/* What the order of the loops is made with. */
struct ordering {
    const struct tw_scene *scene;
    struct tw_shapes *shapes;
    const GEOSPreparedGeometry *free_ground;
    struct tw_point *room; /* for the points of any loop */
};

static void start_at(struct tw_track *track, size_t first, struct tw_point *room)
{
    for (size_t i = 0; i < track->count; i++)
        room[i] = track->points[(first + i) % track->count];
    for (size_t i = 0; i < track->count; i++)
        track->points[i] = room[i];
}

/* Whether the wheel can go straight from a to b without leaving the region. */
static bool is_free(const struct ordering *ordering, struct tw_point a, struct tw_point b)
{
    struct tw_shapes *shapes = ordering->shapes;
    size_t mark = shapes->count;
    const GEOSGeometry *line = tw_shape_of_line(shapes, (struct tw_point[]){ a, b }, 2);
    char answer = line ? GEOSPreparedCovers_r(shapes->geos->context, ordering->free_ground, line) : 0;

    if (answer == 2)
        shapes->status = tw_geos_fail(shapes->geos, shapes->doing, shapes->findings);
    tw_shapes_release(shapes, mark);
    return answer == 1;
}

/* Puts the loop that is nearest to where the last one ended, and can be reached from there, next; the outermost that is
 * left where none can. Each loop then begins at its nearest point. */
static void order_next(const struct ordering *ordering, struct tw_tracks *tracks, size_t next)
{
    struct tw_point from = tracks->items[next - 1].points[0];
    size_t best = next, best_start = 0;
    double best_mm = HUGE_VAL;
    struct tw_track taken;

    for (size_t i = next; i < tracks->count; i++) {
        double way_mm;
        size_t start = tw_track_nearest(&tracks->items[i], from, &way_mm);

        if (way_mm >= best_mm || !is_free(ordering, from, tracks->items[i].points[start]))
            continue;
        best = i;
        best_start = start;
        best_mm = way_mm;
    }
    taken = tracks->items[best];
    for (size_t i = best; i > next; i--) /* the others keep their order: from outside in */
        tracks->items[i] = tracks->items[i - 1];
    tracks->items[next] = taken;
    tracks->items[next].linked = best_mm < HUGE_VAL;
    start_at(&tracks->items[next], best_start, ordering->room);
    tracks->length_mm += tracks->items[next].linked ? best_mm : 0.0;
}

static enum tw_status order_loops(const struct tw_scene *scene, struct tw_shapes *shapes, const GEOSGeometry *centres,
                                  struct tw_tracks *tracks)
{
    /* The links too are rounded to the grid and may follow the edge: a little more room for the asking. */
    const GEOSGeometry *wider = tw_shape_grown(shapes, centres, TW_EDGE_STEPS * scene->step_mm, TW_QUADRANT_CHORDS);
    struct ordering ordering = { scene, shapes, wider ? GEOSPrepare_r(shapes->geos->context, wider) : NULL, NULL };
    size_t most = 1;

    for (size_t i = 0; i < tracks->count; i++) {
        most = tracks->items[i].count > most ? tracks->items[i].count : most;
        tracks->length_mm += tracks->items[i].length_mm;
    }
    ordering.room = malloc(most * sizeof *ordering.room);
    if (shapes->status == TW_OK && (!ordering.room || !ordering.free_ground))
        shapes->status = tw_no_memory(scene->findings);
    for (size_t i = 1; shapes->status == TW_OK && i < tracks->count; i++)
        order_next(&ordering, tracks, i);
    free(ordering.room);
    if (ordering.free_ground)
        GEOSPreparedGeom_destroy_r(shapes->geos->context, ordering.free_ground);
    return shapes->status;
}

static enum tw_status lay_loops(const struct tw_scene *scene, struct tw_shapes *shapes, const struct behind *behind,
                                struct tw_tracks *out)
{
    double widest_mm = 2.0 * scene->radius_mm * scene->job->wheel.max_crossfeed_ratio;
    bool covered = false;
    enum tw_status status = shapes->status;

    for (size_t i = 0; status == TW_OK && !covered && i < sizeof pitches / sizeof *pitches; i++) {
        tw_tracks_free(out);
        status = lay_rings(scene, shapes, behind, fmin(widest_mm, pitches[i] * scene->radius_mm), out);
        if (status != TW_OK)
            break;
        covered = out->count == 0 || covers(scene, shapes, behind->centres, out);
        status = shapes->status;
    }
    if (status == TW_OK && out->count > 0)
        status = order_loops(scene, shapes, behind->all, out);
    return status;
}

static enum tw_status lay_loops_behind(const struct tw_relief_area *area, double front_mm, struct tw_tracks *out)
{
    const struct tw_scene *scene = area->scene;
    struct tw_shapes shapes = tw_shapes_open(scene->geos, "lay the ways of the wheel over the relief", scene->findings);
    /* The wheel reaches its radius ahead of its centre; a little more, so that there is a loop to go round as soon as
     * anything stands there. */
    double from_mm = front_mm - scene->radius_mm - AHEAD_MM;
    const GEOSGeometry *box = tw_shape_of_box(&shapes, (struct tw_box){ from_mm, -FAR_MM, FAR_MM, FAR_MM });
    struct behind behind = { tw_shape_common(&shapes, area->centres, box), area->centres, from_mm };
    enum tw_status status = lay_loops(scene, &shapes, &behind, out);

    tw_shapes_close(&shapes);
    return status;
}

/* ---- troughs ---- */

struct laying {
    struct tw_tracks *out;
    double front_mm;
};

/* From the floor that the disc touches to the places that its programmed point goes to. */
static enum tw_status add_trough(const struct tw_relief_area *area, struct tw_trough trough, void *context)
{
    const struct tw_scene *scene = area->scene;
    struct laying *laying = context;
    double shift_mm = scene->ride.shift_mm;
    /* Stock that only stands over the last of a trough, or over its run-out, still wants a trough to be taken by. */
    double from_mm = fmax(trough.from_mm, fmin(laying->front_mm, trough.to_mm - TW_SHORTEST_TROUGH_MM));
    double front_mm = tw_scene_grid_x_at_or_after_mm(scene, from_mm + shift_mm);
    double back_mm = tw_scene_grid_x_at_or_before_mm(scene, trough.to_mm + shift_mm - scene->step_mm);
    struct tw_track *track;

    if (laying->front_mm > trough.to_mm + area->run_out_mm || back_mm - front_mm < TW_SHORTEST_TROUGH_MM / 4.0)
        return TW_OK;
    track = tw_track_add(scene, laying->out, 2);
    if (!track)
        return TW_NO_MEMORY;
    track->points[0] = (struct tw_point){ back_mm, trough.y_mm };
    track->points[1] = (struct tw_point){ front_mm, trough.y_mm };
    track->count = 2;
    track->length_mm = back_mm - front_mm;
    laying->out->length_mm += track->length_mm;
    return TW_OK;
}

enum tw_status tw_tracks_lay(const struct tw_relief_area *area, double front_mm, struct tw_tracks *out)
{
    struct laying laying = { out, front_mm };
    enum tw_status status = TW_OK;

    *out = (struct tw_tracks){ 0 };
    if (area->centres)
        status = lay_loops_behind(area, front_mm, out);
    for (size_t i = 0; status == TW_OK && i < area->lane_count; i++)
        status = tw_troughs_along(area, area->lanes_mm[i], add_trough, &laying);
    if (status != TW_OK)
        tw_tracks_free(out);
    return status;
}
