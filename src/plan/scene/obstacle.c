/* obstacle.c - keep-outs grown by the wheel's footprint at the height where it passes them. */
#include "plan/scene/obstacle.h"

#include "base/numbers.h"
#include "geometry/ring.h"

#include <math.h>

/* Quarter-circle segments of a grown corner; the radius is enlarged so that the chords stay outside. */
#define QUADRANT_SEGMENTS 16
/* Far less than a step of any controller. */
#define POINT_MM 1e-6

/* Half the size in x and y of the wheel's body within `reach` of its lowest point's height. A disc is a
 * cylinder across x; a cup is taken as a full disc, its hollow included. */
struct footprint {
    double half_x_mm, half_y_mm;
    bool round;
};

static struct footprint footprint_at(const struct tw_scene *scene, double reach_mm)
{
    const struct tw_job *job = scene->job;
    double radius_mm = scene->radius_mm, clearance_mm = job->fixture.clearance_mm;
    double nose_radius_mm = job->machine.spindle_nose_diameter_mm / 2.0;
    struct footprint print = { 0 };

    if (job->wheel.kind == TW_WHEEL_CUP) {
        print.half_x_mm = radius_mm;
        if (reach_mm > job->machine.wheel_overhang_mm)
            print.half_x_mm = fmax(radius_mm, nose_radius_mm);
        print.half_x_mm += clearance_mm;
        print.half_y_mm = print.half_x_mm;
        print.round = true;
        return print;
    }
    print.half_x_mm = reach_mm < radius_mm ? sqrt(reach_mm * (2.0 * radius_mm - reach_mm)) : radius_mm;
    print.half_x_mm += clearance_mm;
    print.half_y_mm = job->wheel.width_mm / 2.0 + clearance_mm;
    if (reach_mm > radius_mm - nose_radius_mm)
        print.half_y_mm += 1e4; /* the spindle lies across, and which side it comes from is not asked */
    return print;
}

/* How far the keep-out's top, with clearance, stands above the wheel's lowest point; <= 0: it passes over. */
static double reach_above_mm(const struct tw_scene *scene, const struct tw_keep_out *keep_out, double wheel_z_mm)
{
    return keep_out->top_mm + scene->job->fixture.clearance_mm - wheel_z_mm;
}

/* Hull of `count` points, each moved to all corners of the footprint. */
static enum tw_status hull_of_corners(struct tw_geos *geos, const struct tw_point *points, size_t count,
                                      struct footprint print, GEOSGeometry **out, struct tw_findings *findings)
{
    static const double corner[4][2] = { { -1, -1 }, { 1, -1 }, { 1, 1 }, { -1, 1 } };
    GEOSCoordSequence *sequence = GEOSCoordSeq_create_r(geos->context, (unsigned)(4 * count), 2);
    GEOSGeometry *line;

    *out = NULL;
    if (!sequence)
        return tw_geos_fail(geos, "grow a keep-out", findings);
    for (unsigned i = 0; i < 4 * count; i++)
        GEOSCoordSeq_setXY_r(geos->context, sequence, i, points[i / 4].x_mm + corner[i % 4][0] * print.half_x_mm,
                             points[i / 4].y_mm + corner[i % 4][1] * print.half_y_mm);
    line = GEOSGeom_createLineString_r(geos->context, sequence);
    if (line) {
        *out = GEOSConvexHull_r(geos->context, line);
        GEOSGeom_destroy_r(geos->context, line);
    }
    return *out ? TW_OK : tw_geos_fail(geos, "grow a keep-out", findings);
}

/* Whether the ring never turns back; nearly all keep-outs are so. */
static bool is_convex(const struct tw_ring *ring)
{
    int left = 0, right = 0;

    for (size_t i = 0; i < ring->count; i++) {
        const struct tw_point *a = &ring->points[i], *b = &ring->points[(i + 1) % ring->count],
                              *c = &ring->points[(i + 2) % ring->count];
        double turn = (b->x_mm - a->x_mm) * (c->y_mm - b->y_mm) - (b->y_mm - a->y_mm) * (c->x_mm - b->x_mm);

        left += turn > 0.0;
        right += turn < 0.0;
    }
    return left == 0 || right == 0;
}

/* Minkowski sum of a polygon and a rectangle: of a convex one, the hull of its corners moved to all corners of the
 * rectangle; else the polygon and the hull of each edge moved so. */
static enum tw_status grow_by_rectangle(struct tw_geos *geos, const struct tw_ring *plan, struct footprint print,
                                        GEOSGeometry **out, struct tw_findings *findings)
{
    enum tw_status status;

    if (is_convex(plan))
        return hull_of_corners(geos, plan->points, plan->count, print, out, findings);
    status = tw_geos_from_ring(geos, plan, out, findings);
    for (size_t i = 0; status == TW_OK && i < plan->count; i++) {
        struct tw_point edge[2] = { plan->points[i], plan->points[(i + 1) % plan->count] };
        GEOSGeometry *hull = NULL, *grown;

        status = hull_of_corners(geos, edge, 2, print, &hull, findings);
        if (status != TW_OK)
            break;
        grown = GEOSUnion_r(geos->context, *out, hull);
        GEOSGeom_destroy_r(geos->context, hull);
        GEOSGeom_destroy_r(geos->context, *out);
        *out = grown;
        if (!grown)
            status = tw_geos_fail(geos, "grow a keep-out", findings);
    }
    return status;
}

static enum tw_status grow_by_circle(struct tw_geos *geos, const struct tw_ring *plan, double radius_mm,
                                     GEOSGeometry **out, struct tw_findings *findings)
{
    GEOSGeometry *polygon = NULL;
    enum tw_status status = tw_geos_from_ring(geos, plan, &polygon, findings);

    if (status != TW_OK)
        return status;
    radius_mm /= cos(TW_PI / (4.0 * QUADRANT_SEGMENTS));
    *out = GEOSBuffer_r(geos->context, polygon, radius_mm, QUADRANT_SEGMENTS);
    GEOSGeom_destroy_r(geos->context, polygon);
    return *out ? TW_OK : tw_geos_fail(geos, "grow a keep-out", findings);
}

static enum tw_status make_line(struct tw_geos *geos, double x0, double y0, double x1, double y1, GEOSGeometry **out,
                                struct tw_findings *findings)
{
    GEOSCoordSequence *sequence = GEOSCoordSeq_create_r(geos->context, 2, 2);

    *out = NULL;
    if (sequence) {
        GEOSCoordSeq_setXY_r(geos->context, sequence, 0, x0, y0);
        GEOSCoordSeq_setXY_r(geos->context, sequence, 1, x1, y1);
        *out = GEOSGeom_createLineString_r(geos->context, sequence);
    }
    return *out ? TW_OK : tw_geos_fail(geos, "make a line", findings);
}

/* The stretch of the line inside the grown keep-out, as the extent of the intersection. */
static enum tw_status line_inside(struct tw_geos *geos, const GEOSGeometry *grown, const GEOSGeometry *line,
                                  bool *inside, double *from_x_mm, double *to_x_mm, struct tw_findings *findings)
{
    GEOSGeometry *common = GEOSIntersection_r(geos->context, grown, line);
    int got = 0;

    *inside = false;
    if (!common)
        return tw_geos_fail(geos, "intersect a lane with a keep-out", findings);
    if (GEOSisEmpty_r(geos->context, common) == 0) {
        *inside = true;
        got =
            GEOSGeom_getXMin_r(geos->context, common, from_x_mm) && GEOSGeom_getXMax_r(geos->context, common, to_x_mm);
    } else {
        got = 1;
    }
    GEOSGeom_destroy_r(geos->context, common);
    return got ? TW_OK : tw_geos_fail(geos, "measure a lane", findings);
}

/* Cheap and sure: most keep-outs are nowhere near. */
static bool far_apart(const struct tw_box *box, struct footprint print, const double line[4])
{
    return tw_greater(line[0], line[2]) < box->min_x_mm - print.half_x_mm * 1.01 ||
           tw_lesser(line[0], line[2]) > box->max_x_mm + print.half_x_mm * 1.01 ||
           tw_greater(line[1], line[3]) < box->min_y_mm - print.half_y_mm * 1.01 ||
           tw_lesser(line[1], line[3]) > box->max_y_mm + print.half_y_mm * 1.01;
}

/* What `keep_out` forbids of the straight move between two points, the wheel's lowest height near it being z. */
static enum tw_status forbid(const struct tw_scene *scene, const struct tw_keep_out *keep_out, double wheel_z_mm,
                             const double line[4], bool *inside, double *from_x_mm, double *to_x_mm)
{
    double reach_mm = reach_above_mm(scene, keep_out, wheel_z_mm);
    const struct tw_box *box = &scene->obstacles.boxes[keep_out - scene->obstacles.items];
    GEOSGeometry *grown = NULL, *path = NULL;
    struct footprint print;
    enum tw_status status;

    *inside = false;
    if (reach_mm <= 0.0)
        return TW_OK;
    print = footprint_at(scene, reach_mm);
    if (far_apart(box, print, line))
        return TW_OK;
    status = print.round ? grow_by_circle(scene->geos, &keep_out->plan, print.half_x_mm, &grown, scene->findings)
                         : grow_by_rectangle(scene->geos, &keep_out->plan, print, &grown, scene->findings);
    if (status == TW_OK)
        status = make_line(scene->geos, line[0], line[1], line[2], line[3], &path, scene->findings);
    if (status == TW_OK)
        status = line_inside(scene->geos, grown, path, inside, from_x_mm, to_x_mm, scene->findings);
    if (grown)
        GEOSGeom_destroy_r(scene->geos->context, grown);
    if (path)
        GEOSGeom_destroy_r(scene->geos->context, path);
    return status;
}

/* z at x on the straight run between two places, x kept between them. */
static double z_on_run_mm(struct tw_place3 front, struct tw_place3 back, double x_mm)
{
    x_mm = fmin(fmax(x_mm, front.x_mm), back.x_mm);
    return front.z_mm + (back.z_mm - front.z_mm) * (x_mm - front.x_mm) / (back.x_mm - front.x_mm);
}

/* On a falling run the wheel is lowest where it is farthest along, and it can touch the keep-out no farther along
 * than half its footprint past it. A footprint taken at too low a height is too long, so this closes in on the
 * place of contact from behind, whatever longer run the move is a part of. */
static double lowest_z_near_mm(const struct tw_scene *scene, const struct tw_keep_out *keep_out, struct tw_place3 from,
                               struct tw_place3 to)
{
    double end_mm = scene->obstacles.boxes[keep_out - scene->obstacles.items].max_x_mm;
    struct tw_place3 front = from.x_mm <= to.x_mm ? from : to, back = from.x_mm <= to.x_mm ? to : from;
    double z_mm = fmin(from.z_mm, to.z_mm), reach_mm;

    if (back.x_mm <= front.x_mm || back.z_mm >= front.z_mm)
        return z_mm;
    for (int i = 0; i < 8; i++) {
        reach_mm = reach_above_mm(scene, keep_out, z_mm);
        if (reach_mm <= 0.0)
            break;
        z_mm = z_on_run_mm(front, back, end_mm + footprint_at(scene, reach_mm).half_x_mm);
    }
    return z_mm;
}

/* Whether the wheel, were it all the way as low as at its lowest, and so as broad, would pass over or beside it. */
static bool passes_by(const struct tw_scene *scene, size_t item, double lowest_mm, const double line[4])
{
    double reach_mm = reach_above_mm(scene, &scene->obstacles.items[item], lowest_mm);

    return reach_mm <= 0.0 || far_apart(&scene->obstacles.boxes[item], footprint_at(scene, reach_mm), line);
}

enum tw_status tw_obstacle_on_lane(const struct tw_scene *scene, double bottom_mm, double y_mm, double from_x_mm,
                                   double to_x_mm, struct tw_block *out)
{
    const struct tw_obstacles *obstacles = &scene->obstacles;
    struct tw_place3 from = { from_x_mm, y_mm, tw_scene_z_mm(scene, bottom_mm, from_x_mm) };
    struct tw_place3 to = { to_x_mm, y_mm, tw_scene_z_mm(scene, bottom_mm, to_x_mm) };
    double line[4] = { from_x_mm, y_mm, to_x_mm, y_mm };

    *out = (struct tw_block){ 0 };
    for (size_t i = 0; i < obstacles->count; i++) {
        const struct tw_keep_out *keep_out = &obstacles->items[i];
        struct tw_block block = { .keep_out = keep_out };
        bool inside, nearer;
        enum tw_status status;

        if (passes_by(scene, i, tw_lesser(from.z_mm, to.z_mm), line))
            continue;
        status = forbid(scene, keep_out, lowest_z_near_mm(scene, keep_out, from, to), line, &inside, &block.from_x_mm,
                        &block.to_x_mm);
        if (status != TW_OK)
            return status;
        nearer = from_x_mm <= to_x_mm ? block.from_x_mm < out->from_x_mm : block.to_x_mm > out->to_x_mm;
        if (inside && (!out->keep_out || nearer))
            *out = block;
    }
    return TW_OK;
}

enum tw_status tw_obstacle_on_move(const struct tw_scene *scene, struct tw_place3 from, struct tw_place3 to,
                                   const struct tw_keep_out **out)
{
    const struct tw_obstacles *obstacles = &scene->obstacles;
    double line[4] = { from.x_mm, from.y_mm, to.x_mm, to.y_mm };

    *out = NULL;
    /* A plunge is a point: it gets a length, but none that reaches the next place of the grid. */
    if (from.x_mm == to.x_mm && from.y_mm == to.y_mm)
        line[2] += POINT_MM;
    for (size_t i = 0; i < obstacles->count; i++) {
        const struct tw_keep_out *keep_out = &obstacles->items[i];
        double x0, x1;
        bool inside;
        enum tw_status status;

        if (passes_by(scene, i, tw_lesser(from.z_mm, to.z_mm), line))
            continue;
        status = forbid(scene, keep_out, lowest_z_near_mm(scene, keep_out, from, to), line, &inside, &x0, &x1);
        if (status != TW_OK)
            return status;
        if (inside) {
            *out = keep_out;
            return TW_OK;
        }
    }
    return TW_OK;
}
