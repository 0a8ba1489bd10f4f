/* dxf_entities.c - one function per entity.
 *
 * Group codes after the format's published reference (DXF Reference, ENTITIES section). LINE, ELLIPSE and
 * SPLINE are given in world coordinates, ARC, CIRCLE and both polylines in the plane of their extrusion. */
#include "outline/dxf_entities.h"

#include "base/memory.h"

#include <stdlib.h>

static const double pi = 3.14159265358979323846;

static enum tw_status entity_fault(struct tw_reader *reader, const struct tw_dxf_entity *entity, const char *sentence)
{
    return tw_fail(reader->findings, TW_BAD_INPUT, tw_reader_place(reader, entity->head.line), "%.*s %s",
                   (int)entity->head.length, entity->head.value, sentence);
}

static enum tw_status read_extrusion(struct tw_reader *reader, const struct tw_dxf_entity *entity, double out[3])
{
    enum tw_status status = tw_dxf_get(reader, entity, 210, 0.0, &out[0]);

    if (status == TW_OK)
        status = tw_dxf_get(reader, entity, 220, 0.0, &out[1]);
    if (status == TW_OK)
        status = tw_dxf_get(reader, entity, 230, 1.0, &out[2]);
    return status;
}

enum tw_status tw_dxf_plane(struct tw_reader *reader, const struct tw_dxf_entity *entity, struct tw_affine *out)
{
    double n[3];
    enum tw_status status = read_extrusion(reader, entity, n);

    if (status != TW_OK)
        return status;
    if (!(fabs(n[0]) <= 1e-6 * fabs(n[2]) && fabs(n[1]) <= 1e-6 * fabs(n[2]) && n[2] != 0.0))
        return tw_fail(
            reader->findings, TW_BAD_INPUT, tw_reader_place(reader, entity->head.line),
            "%.*s stands aslant: its extrusion is (%g, %g, %g), but only (0, 0, 1) and (0, 0, -1) lie in the "
            "drawing's plane; flatten the drawing",
            (int)entity->head.length, entity->head.value, n[0], n[1], n[2]);
    /* The format's arbitrary axis rule turns x over when the plane is seen from below, and keeps y. */
    *out = tw_affine_scale(n[2] > 0.0 ? 1.0 : -1.0, 1.0);
    return TW_OK;
}

static enum tw_status draw_line(struct tw_reader *reader, const struct tw_dxf_entity *entity)
{
    struct tw_vec from, to;
    enum tw_status status = tw_dxf_place(reader, entity, 10, &from);

    if (status == TW_OK)
        status = tw_dxf_place(reader, entity, 11, &to);
    if (status != TW_OK)
        return status;
    tw_pen_move(&reader->pen, from);
    tw_pen_line(&reader->pen, to);
    tw_pen_end(&reader->pen, false);
    return reader->pen.status;
}

static void draw_turn(struct tw_pen *pen, struct tw_vec centre, struct tw_vec u, struct tw_vec v, double from,
                      double to, bool closed)
{
    double c = cos(from), s = sin(from);

    tw_pen_move(pen, (struct tw_vec){ centre.x + u.x * c + v.x * s, centre.y + u.y * c + v.y * s });
    tw_pen_ellipse(pen, centre, u, v, from, to);
    tw_pen_end(pen, closed);
}

static enum tw_status read_round(struct tw_reader *reader, const struct tw_dxf_entity *entity, struct tw_vec *centre,
                                 double *radius)
{
    enum tw_status status = tw_dxf_place(reader, entity, 10, centre);

    if (status == TW_OK)
        status = tw_dxf_get(reader, entity, 40, 0.0, radius);
    if (status == TW_OK && !(*radius > 0.0))
        return entity_fault(reader, entity, "has no radius above zero in group 40; correct or delete it");
    return status;
}

static enum tw_status draw_circle(struct tw_reader *reader, const struct tw_dxf_entity *entity)
{
    struct tw_vec centre;
    double radius;
    enum tw_status status = read_round(reader, entity, &centre, &radius);

    if (status != TW_OK)
        return status;
    draw_turn(&reader->pen, centre, (struct tw_vec){ radius, 0.0 }, (struct tw_vec){ 0.0, radius }, 0.0, 2.0 * pi,
              true);
    return reader->pen.status;
}

/* The end of a turn that begins at `from` and runs counterclockwise: above it, by a full turn at most. */
static double end_of_turn(double from, double to)
{
    double sweep = fmod(to - from, 2.0 * pi);

    return from + (sweep <= 1e-12 ? sweep + 2.0 * pi : sweep);
}

static enum tw_status draw_arc(struct tw_reader *reader, const struct tw_dxf_entity *entity)
{
    struct tw_vec centre;
    double radius, from_deg = 0.0, to_deg = 360.0, from, to;
    enum tw_status status = read_round(reader, entity, &centre, &radius);

    if (status == TW_OK)
        status = tw_dxf_get(reader, entity, 50, 0.0, &from_deg);
    if (status == TW_OK)
        status = tw_dxf_get(reader, entity, 51, 360.0, &to_deg);
    if (status != TW_OK)
        return status;
    from = from_deg * pi / 180.0;
    to = end_of_turn(from, to_deg * pi / 180.0);
    draw_turn(&reader->pen, centre, (struct tw_vec){ radius, 0.0 }, (struct tw_vec){ 0.0, radius }, from, to,
              to - from >= 2.0 * pi);
    return reader->pen.status;
}

static enum tw_status draw_ellipse(struct tw_reader *reader, const struct tw_dxf_entity *entity)
{
    struct tw_affine plane;
    struct tw_vec centre, major, minor;
    double ratio, from, to, side;
    enum tw_status status = tw_dxf_plane(reader, entity, &plane);

    if (status == TW_OK)
        status = tw_dxf_place(reader, entity, 10, &centre);
    if (status == TW_OK)
        status = tw_dxf_place(reader, entity, 11, &major);
    if (status == TW_OK)
        status = tw_dxf_get(reader, entity, 40, 0.0, &ratio);
    if (status == TW_OK)
        status = tw_dxf_get(reader, entity, 41, 0.0, &from);
    if (status == TW_OK)
        status = tw_dxf_get(reader, entity, 42, 2.0 * pi, &to);
    if (status != TW_OK)
        return status;
    if (!(ratio > 0.0) || (major.x == 0.0 && major.y == 0.0))
        return entity_fault(reader, entity, "is flat: its axes need lengths above zero; correct or delete it");
    side = plane.a * ratio; /* minor axis = normal x major axis, times the ratio */
    minor = (struct tw_vec){ -major.y * side, major.x * side };
    to = end_of_turn(from, to);
    draw_turn(&reader->pen, centre, major, minor, from, to, to - from >= 2.0 * pi - 1e-9);
    return reader->pen.status;
}

/* A vertex and the bulge of the segment that leaves it: tangent of a quarter of the arc's angle. */
struct vertex {
    struct tw_vec at;
    double bulge;
};

static void draw_bulge(struct tw_pen *pen, const struct vertex *from, struct tw_vec to)
{
    double dx = to.x - from->at.x, dy = to.y - from->at.y, b = from->bulge;
    double offset = (1.0 - b * b) / (4.0 * b); /* chord's middle to the centre, over the chord, to the left */
    struct tw_vec centre = { (from->at.x + to.x) / 2.0 - dy * offset, (from->at.y + to.y) / 2.0 + dx * offset };
    struct tw_vec u = { from->at.x - centre.x, from->at.y - centre.y }, v = { -u.y, u.x };

    tw_pen_ellipse(pen, centre, u, v, 0.0, 4.0 * atan(b));
}

static void draw_segment(struct tw_pen *pen, const struct vertex *from, struct tw_vec to)
{
    double chord = hypot(to.x - from->at.x, to.y - from->at.y);

    /* An arc that leaves its chord by less than a rounding is a line; the division would be by nothing. */
    if (chord == 0.0 || fabs(from->bulge) < 1e-9)
        tw_pen_line(pen, to);
    else
        draw_bulge(pen, from, to);
}

static void draw_vertices(struct tw_pen *pen, const struct vertex *vertices, size_t count, bool closed)
{
    if (count == 0)
        return;
    tw_pen_move(pen, vertices[0].at);
    for (size_t i = 1; i < count && pen->status == TW_OK; i++)
        draw_segment(pen, &vertices[i - 1], vertices[i].at);
    if (closed)
        draw_segment(pen, &vertices[count - 1], vertices[0].at);
    tw_pen_end(pen, closed);
}

struct vertex_list {
    struct vertex *items;
    size_t count, capacity;
};

static enum tw_status add_vertex(struct tw_reader *reader, struct vertex_list *list, struct vertex vertex)
{
    if (list->count >= TW_SKETCH_MOST_POINTS ||
        !tw_grow((void **)&list->items, &list->capacity, list->count + 1, sizeof *list->items))
        return tw_no_memory(reader->findings);
    list->items[list->count++] = vertex;
    return TW_OK;
}

/* The vertices of an LWPOLYLINE follow each other: 10, 20, and 42 where the segment is an arc. */
static enum tw_status collect_vertices(struct tw_reader *reader, const struct tw_dxf_entity *entity,
                                       struct vertex_list *list)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; i < entity->count && status == TW_OK; i++) {
        const struct tw_dxf_group *group = &entity->groups[i];
        struct vertex *last = list->count > 0 ? &list->items[list->count - 1] : NULL;
        struct vertex vertex = { 0 };

        if (group->code == 10) {
            status = tw_dxf_number(reader, group, &vertex.at.x);
            if (status == TW_OK)
                status = add_vertex(reader, list, vertex);
        } else if (last && group->code == 20) {
            status = tw_dxf_number(reader, group, &last->at.y);
        } else if (last && group->code == 42) {
            status = tw_dxf_number(reader, group, &last->bulge);
        }
    }
    return status;
}

static enum tw_status draw_lwpolyline(struct tw_reader *reader, const struct tw_dxf_entity *entity)
{
    struct vertex_list list = { 0 };
    int flags, wanted;
    enum tw_status status = tw_dxf_get_integer(reader, entity, 70, 0, &flags);

    if (status == TW_OK)
        status = collect_vertices(reader, entity, &list);
    if (status == TW_OK)
        status = tw_dxf_get_integer(reader, entity, 90, (int)list.count, &wanted);
    if (status == TW_OK && (size_t)wanted != list.count)
        status = tw_fail(reader->findings, TW_BAD_INPUT, tw_reader_place(reader, entity->head.line),
                         "LWPOLYLINE announces %d vertices in group 90 but holds %zu; export the drawing again", wanted,
                         list.count);
    if (status == TW_OK) {
        draw_vertices(&reader->pen, list.items, list.count, flags & 1);
        status = reader->pen.status;
    }
    free(list.items);
    return status;
}

/* Reads the vertices that follow a POLYLINE up to its SEQEND. */
static enum tw_status read_vertices(struct tw_reader *reader, struct tw_scan *scan, struct tw_dxf_entity *entity,
                                    struct vertex_list *list)
{
    struct tw_dxf_group polyline = entity->head;

    for (;;) {
        struct tw_dxf_group head;
        struct vertex vertex;
        int flags;
        enum tw_status status = tw_dxf_next(reader, scan, &head);

        if (status == TW_OK && head.code == 0 && (tw_dxf_is(&head, "VERTEX") || tw_dxf_is(&head, "SEQEND")))
            status = tw_dxf_read_entity(reader, scan, &head, entity);
        else if (status == TW_OK)
            status = tw_fail(reader->findings, TW_BAD_INPUT, tw_reader_place(reader, polyline.line),
                             "POLYLINE is not ended by SEQEND; the drawing is damaged, export it again");
        if (status != TW_OK || tw_dxf_is(&head, "SEQEND"))
            return status;
        status = tw_dxf_place(reader, entity, 10, &vertex.at);
        if (status == TW_OK)
            status = tw_dxf_get(reader, entity, 42, 0.0, &vertex.bulge);
        if (status == TW_OK)
            status = tw_dxf_get_integer(reader, entity, 70, 0, &flags);
        if (status == TW_OK && !(flags & 16)) /* 16: frame of a fitted spline, which is not on the line */
            status = add_vertex(reader, list, vertex);
        if (status != TW_OK)
            return status;
    }
}

static enum tw_status draw_polyline(struct tw_reader *reader, struct tw_scan *scan, struct tw_dxf_entity *entity)
{
    struct vertex_list list = { 0 };
    int flags;
    enum tw_status status = tw_dxf_get_integer(reader, entity, 70, 0, &flags);

    if (status == TW_OK && (flags & (16 | 64)))
        return entity_fault(reader, entity, "is a mesh, not an outline; export the drawing in two dimensions");
    if (status == TW_OK)
        status = read_vertices(reader, scan, entity, &list);
    if (status == TW_OK) {
        draw_vertices(&reader->pen, list.items, list.count, flags & 1);
        status = reader->pen.status;
    }
    free(list.items);
    return status;
}

struct spline {
    int degree;
    struct tw_control *controls;
    double *knots;
    size_t control_count, knot_count, weight_count, fit_count;
};

static enum tw_status collect_spline(struct tw_reader *reader, const struct tw_dxf_entity *entity,
                                     struct spline *spline)
{
    enum tw_status status = TW_OK;
    size_t y_count = 0;

    /* Each group gives at most one of each, so this is room enough. */
    spline->controls = calloc(entity->count + 1, sizeof *spline->controls);
    spline->knots = calloc(entity->count + 1, sizeof *spline->knots);
    if (!spline->controls || !spline->knots)
        return tw_no_memory(reader->findings);
    for (size_t i = 0; i < entity->count && status == TW_OK; i++) {
        const struct tw_dxf_group *group = &entity->groups[i];

        if (group->code == 10)
            status = tw_dxf_number(reader, group, &spline->controls[spline->control_count++].x);
        else if (group->code == 20)
            status = tw_dxf_number(reader, group, &spline->controls[y_count++].y);
        else if (group->code == 40)
            status = tw_dxf_number(reader, group, &spline->knots[spline->knot_count++]);
        else if (group->code == 41)
            status = tw_dxf_number(reader, group, &spline->controls[spline->weight_count++].w);
        spline->fit_count += group->code == 11;
    }
    if (status == TW_OK && y_count != spline->control_count)
        return entity_fault(reader, entity, "has control points without x or y; export the drawing again");
    for (size_t i = 0; i < spline->control_count && spline->weight_count == 0; i++)
        spline->controls[i].w = 1.0;
    return status;
}

static enum tw_status check_knots(struct tw_reader *reader, const struct tw_dxf_entity *entity,
                                  const struct spline *spline)
{
    size_t p = (size_t)spline->degree, n = spline->control_count;

    for (size_t i = 1; i < spline->knot_count; i++)
        if (spline->knots[i] < spline->knots[i - 1])
            return entity_fault(reader, entity, "has knots that fall; export the drawing again");
    if (!(spline->knots[p] < spline->knots[n]))
        return entity_fault(reader, entity, "has no length: all its knots are the same; delete it");
    for (size_t i = p + 1; i + p < n; i++)
        if (spline->knots[i] == spline->knots[i + p] && spline->knots[i] > spline->knots[p] &&
            spline->knots[i + p] < spline->knots[n])
            return entity_fault(reader, entity,
                                "is broken in two by a knot repeated too often; split it in the drawing");
    return TW_OK;
}

static enum tw_status check_spline(struct tw_reader *reader, const struct tw_dxf_entity *entity,
                                   const struct spline *spline)
{
    size_t p = (size_t)spline->degree, n = spline->control_count;

    if (n == 0 && spline->fit_count > 0)
        return entity_fault(reader, entity,
                            "has fit points only, no control points; save it with control points, or "
                            "turn it to a polyline");
    if (spline->degree < 1 || spline->degree > TW_PEN_HIGHEST_DEGREE)
        return entity_fault(reader, entity, "needs a degree from 1 to 25 in group 71");
    if (n <= p)
        return entity_fault(reader, entity,
                            "has fewer control points than its degree asks for; export the drawing again");
    if (spline->knot_count != n + p + 1)
        return tw_fail(reader->findings, TW_BAD_INPUT, tw_reader_place(reader, entity->head.line),
                       "SPLINE of degree %zu with %zu control points needs %zu knots but has %zu; export the "
                       "drawing again",
                       p, n, n + p + 1, spline->knot_count);
    if (spline->weight_count != 0 && spline->weight_count != n)
        return entity_fault(reader, entity, "has not as many weights as control points; export the drawing again");
    for (size_t i = 0; i < n; i++)
        if (!(spline->controls[i].w > 1e-9 && spline->controls[i].w < 1e9))
            return entity_fault(reader, entity, "has a weight that is not above zero; turn it to a polyline");
    return check_knots(reader, entity, spline);
}

static enum tw_status draw_spline(struct tw_reader *reader, const struct tw_dxf_entity *entity)
{
    struct spline spline = { 0 };
    enum tw_status status = tw_dxf_get_integer(reader, entity, 71, 3, &spline.degree);

    if (status == TW_OK)
        status = collect_spline(reader, entity, &spline);
    if (status == TW_OK)
        status = check_spline(reader, entity, &spline);
    if (status == TW_OK) {
        tw_pen_bspline(&reader->pen, spline.controls, spline.control_count, spline.degree, spline.knots);
        tw_pen_end(&reader->pen, false);
        status = reader->pen.status;
    }
    free(spline.controls);
    free(spline.knots);
    return status;
}

static const struct {
    const char *name;
    bool own_plane; /* given in the plane of its extrusion */
    enum tw_status (*draw)(struct tw_reader *reader, const struct tw_dxf_entity *entity);
} drawn[] = {
    { "LINE", false, draw_line },       { "ARC", true, draw_arc },
    { "CIRCLE", true, draw_circle },    { "LWPOLYLINE", true, draw_lwpolyline },
    { "ELLIPSE", false, draw_ellipse }, { "SPLINE", false, draw_spline },
};

static enum tw_status enter_plane(struct tw_reader *reader, const struct tw_dxf_entity *entity,
                                  const struct tw_affine *world)
{
    struct tw_affine plane;
    enum tw_status status = tw_dxf_plane(reader, entity, &plane);

    if (status == TW_OK)
        reader->pen.to_mm = tw_affine_after(*world, plane);
    return status;
}

static enum tw_status draw_any_polyline(struct tw_reader *reader, struct tw_scan *scan, struct tw_dxf_entity *entity,
                                        const struct tw_affine *world)
{
    enum tw_status status;
    int flags;

    status = tw_dxf_get_integer(reader, entity, 70, 0, &flags);
    if (status == TW_OK && !(flags & 8)) /* 8: in space, so in world coordinates */
        status = enter_plane(reader, entity, world);
    return status == TW_OK ? draw_polyline(reader, scan, entity) : status;
}

enum tw_status tw_dxf_draw(struct tw_reader *reader, struct tw_scan *scan, struct tw_dxf_entity *entity,
                           const struct tw_affine *world, bool *known)
{
    *known = true;
    reader->pen.to_mm = *world;
    reader->pen.line = entity->head.line;
    if (tw_dxf_is(&entity->head, "POLYLINE"))
        return draw_any_polyline(reader, scan, entity, world);
    for (size_t i = 0; i < sizeof drawn / sizeof *drawn; i++)
        if (tw_dxf_is(&entity->head, drawn[i].name)) {
            enum tw_status status = drawn[i].own_plane ? enter_plane(reader, entity, world) : TW_OK;

            return status == TW_OK ? drawn[i].draw(reader, entity) : status;
        }
    *known = false;
    return TW_OK;
}
