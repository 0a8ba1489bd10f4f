/* svg.c - SVG 1.1 (W3C, 2nd edition, 2011): the walk over the tree, the basic shapes, the drawing's unit.
 *
 * The drawing's frame is that of the outermost user units, y turned up: x_mm = s x, y_mm = -s y. The corner
 * of the view box is not subtracted, so that 0,0 in the drawing stays 0,0 for the job. */
#include "outline/svg_path.h"

#include <stdio.h>
#include <string.h>

#define MOST_USES   1000
#define MOST_VISITS 5000000 /* of elements, those of copies counted anew */

static const double pi = 3.14159265358979323846;

struct svg {
    struct tw_reader *reader;
    const struct tw_svg_node *root;
    size_t visits, uses, texts, images, hidden, clipped, unread_styles;
    int depth;
};

/* What an element hands down to those below it. */
struct context {
    struct tw_affine map; /* from here to the outermost user units, then to mm */
    const char *label;
    bool picked, hidden;
};

static enum tw_status node_fault(struct svg *svg, const struct tw_svg_node *node, const char *sentence)
{
    return tw_fail(svg->reader->findings, TW_BAD_INPUT, tw_reader_place(svg->reader, node->line), "<%.40s> %s",
                   node->name, sentence);
}

/* Reads several lengths by name; `missing` stands in for those not given. */
static enum tw_status read_sizes(struct svg *svg, const struct tw_svg_node *node, const char *const *names,
                                 double missing, double *out)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; names[i] && status == TW_OK; i++)
        status = tw_svg_read_size(svg->reader, node, names[i], missing, &out[i]);
    return status;
}

static struct tw_vec vec(double x, double y)
{
    return (struct tw_vec){ x, y };
}

static void draw_round_corner(struct tw_pen *pen, double cx, double cy, double rx, double ry, int quarter)
{
    tw_pen_ellipse(pen, vec(cx, cy), vec(rx, 0.0), vec(0.0, ry), quarter * pi / 2.0, (quarter + 1) * pi / 2.0);
}

static void draw_round_rect(struct tw_pen *pen, const double *n, double rx, double ry)
{
    double left = n[0] + rx, right = n[0] + n[2] - rx, top = n[1] + ry, bottom = n[1] + n[3] - ry;

    tw_pen_move(pen, vec(left, n[1]));
    tw_pen_line(pen, vec(right, n[1]));
    draw_round_corner(pen, right, top, rx, ry, -1);
    tw_pen_line(pen, vec(n[0] + n[2], bottom));
    draw_round_corner(pen, right, bottom, rx, ry, 0);
    tw_pen_line(pen, vec(left, n[1] + n[3]));
    draw_round_corner(pen, left, bottom, rx, ry, 1);
    tw_pen_line(pen, vec(n[0], top));
    draw_round_corner(pen, left, top, rx, ry, 2);
    tw_pen_end(pen, true);
}

static void draw_plain_rect(struct tw_pen *pen, const double *n)
{
    tw_pen_move(pen, vec(n[0], n[1]));
    tw_pen_line(pen, vec(n[0] + n[2], n[1]));
    tw_pen_line(pen, vec(n[0] + n[2], n[1] + n[3]));
    tw_pen_line(pen, vec(n[0], n[1] + n[3]));
    tw_pen_end(pen, true);
}

static enum tw_status draw_rect(struct svg *svg, const struct tw_svg_node *node)
{
    static const char *const names[] = { "x", "y", "width", "height", NULL }, *const radii[] = { "rx", "ry", NULL };
    double n[4], r[2];
    enum tw_status status = read_sizes(svg, node, names, 0.0, n);

    if (status == TW_OK)
        status = read_sizes(svg, node, radii, -1.0, r);
    if (status != TW_OK)
        return status;
    if (n[2] < 0.0 || n[3] < 0.0)
        return node_fault(svg, node, "has a negative width or height; make it positive");
    if (n[2] == 0.0 || n[3] == 0.0)
        return TW_OK; /* 9.2: nothing is drawn */
    /* 9.2: a radius that is not given is as large as the other one; neither is more than half a side. */
    if (r[0] < 0.0)
        r[0] = r[1];
    if (r[1] < 0.0)
        r[1] = r[0];
    r[0] = fmin(r[0], n[2] / 2.0);
    r[1] = fmin(r[1], n[3] / 2.0);
    if (r[0] > 0.0 && r[1] > 0.0)
        draw_round_rect(&svg->reader->pen, n, r[0], r[1]);
    else
        draw_plain_rect(&svg->reader->pen, n);
    return svg->reader->pen.status;
}

static enum tw_status draw_oval(struct svg *svg, const struct tw_svg_node *node, double cx, double cy, double rx,
                                double ry)
{
    struct tw_pen *pen = &svg->reader->pen;

    if (rx < 0.0 || ry < 0.0)
        return node_fault(svg, node, "has a negative radius; make it positive");
    if (rx == 0.0 || ry == 0.0)
        return TW_OK; /* 9.3, 9.4: nothing is drawn */
    tw_pen_move(pen, vec(cx + rx, cy));
    tw_pen_ellipse(pen, vec(cx, cy), vec(rx, 0.0), vec(0.0, ry), 0.0, 2.0 * pi);
    tw_pen_end(pen, true);
    return pen->status;
}

static enum tw_status draw_circle(struct svg *svg, const struct tw_svg_node *node)
{
    static const char *const names[] = { "cx", "cy", "r", NULL };
    double n[3];
    enum tw_status status = read_sizes(svg, node, names, 0.0, n);

    return status == TW_OK ? draw_oval(svg, node, n[0], n[1], n[2], n[2]) : status;
}

static enum tw_status draw_ellipse(struct svg *svg, const struct tw_svg_node *node)
{
    static const char *const names[] = { "cx", "cy", "rx", "ry", NULL };
    double n[4];
    enum tw_status status = read_sizes(svg, node, names, 0.0, n);

    if (status != TW_OK)
        return status;
    /* SVG 2, 10.4: a radius left to itself is as large as the other one. */
    if (!tw_svg_attribute(node, "rx"))
        n[2] = n[3];
    if (!tw_svg_attribute(node, "ry"))
        n[3] = n[2];
    return draw_oval(svg, node, n[0], n[1], n[2], n[3]);
}

static enum tw_status draw_straight(struct svg *svg, const struct tw_svg_node *node)
{
    static const char *const names[] = { "x1", "y1", "x2", "y2", NULL };
    struct tw_pen *pen = &svg->reader->pen;
    double n[4];
    enum tw_status status = read_sizes(svg, node, names, 0.0, n);

    if (status != TW_OK)
        return status;
    tw_pen_move(pen, vec(n[0], n[1]));
    tw_pen_line(pen, vec(n[2], n[3]));
    tw_pen_end(pen, false);
    return pen->status;
}

static enum tw_status points_fault(struct svg *svg, const struct tw_svg_node *node, const struct tw_scan *scan,
                                   const char *wanted)
{
    char seen[40];

    return tw_fail(svg->reader->findings, TW_BAD_INPUT, tw_reader_place(svg->reader, node->line),
                   "points of <%.40s>: %s, but here stands %s", node->name, wanted,
                   scan->at < scan->end ? tw_scan_seen(scan, seen) : "the end of the list");
}

static enum tw_status draw_points(struct svg *svg, const struct tw_svg_node *node, bool closed)
{
    const char *value = tw_svg_attribute(node, "points");
    struct tw_pen *pen = &svg->reader->pen;
    struct tw_scan scan = tw_svg_scan(node, value ? value : "");
    bool first = true;

    while (scan.at < scan.end && tw_scan_is_space(*scan.at))
        scan.at++;
    while (scan.at < scan.end && pen->status == TW_OK) {
        struct tw_vec at;

        if (tw_scan_number(&scan, &at.x) != TW_SCANNED)
            return points_fault(svg, node, &scan, "the x of a point should be a number");
        tw_svg_skip_comma(&scan);
        if (tw_scan_number(&scan, &at.y) != TW_SCANNED)
            return points_fault(svg, node, &scan, "the y of a point should be a number");
        tw_svg_skip_comma(&scan);
        if (first)
            tw_pen_move(pen, at);
        else
            tw_pen_line(pen, at);
        first = false;
    }
    tw_pen_end(pen, closed);
    return pen->status;
}

static enum tw_status draw_polygon(struct svg *svg, const struct tw_svg_node *node)
{
    return draw_points(svg, node, true);
}

static enum tw_status draw_polyline(struct svg *svg, const struct tw_svg_node *node)
{
    return draw_points(svg, node, false);
}

static enum tw_status draw_path(struct svg *svg, const struct tw_svg_node *node)
{
    const char *data = tw_svg_attribute(node, "d");

    return data ? tw_svg_draw_path(svg->reader, node, data) : TW_OK;
}

static const struct {
    const char *name;
    enum tw_status (*draw)(struct svg *svg, const struct tw_svg_node *node);
} shapes[] = {
    { "path", draw_path },     { "rect", draw_rect },       { "circle", draw_circle },     { "ellipse", draw_ellipse },
    { "line", draw_straight }, { "polygon", draw_polygon }, { "polyline", draw_polyline },
};

static bool named(const struct tw_svg_node *node, const char *const *names)
{
    for (; *names; names++)
        if (strcmp(node->name, *names) == 0)
            return true;
    return false;
}

static enum tw_status walk(struct svg *svg, const struct tw_svg_node *node, struct context context);

static enum tw_status walk_children(struct svg *svg, const struct tw_svg_node *node, const struct context *context)
{
    enum tw_status status = TW_OK;

    for (const struct tw_svg_node *child = node->first_child; child && status == TW_OK; child = child->next)
        status = walk(svg, child, *context);
    return status;
}

static enum tw_status walk_inner_svg(struct svg *svg, const struct tw_svg_node *node, struct context *context)
{
    static const char *const names[] = { "x", "y", NULL };
    struct tw_svg_length width, height;
    struct tw_svg_view_box box;
    struct tw_affine fit = tw_affine_identity();
    double at[2];
    enum tw_status status = read_sizes(svg, node, names, 0.0, at);

    if (status == TW_OK)
        status = tw_svg_read_view_box(svg->reader, node, &box);
    if (status == TW_OK)
        status = tw_svg_read_length(svg->reader, node, "width", &width);
    if (status == TW_OK)
        status = tw_svg_read_length(svg->reader, node, "height", &height);
    if (status != TW_OK)
        return status;
    if (box.given) {
        if (width.kind == TW_SVG_ABSENT || height.kind == TW_SVG_ABSENT || width.kind == TW_SVG_PERCENT ||
            height.kind == TW_SVG_PERCENT || width.value <= 0.0 || height.value <= 0.0)
            return node_fault(svg, node,
                              "inside the drawing has a viewBox, so it needs its width and height as lengths");
        status = tw_svg_fit(svg->reader, node, &box, width.value, height.value, &fit);
        if (status != TW_OK)
            return status;
    }
    context->map = tw_affine_after(context->map, tw_affine_after(tw_affine_move(at[0], at[1]), fit));
    return walk_children(svg, node, context);
}

static const struct tw_svg_node *use_target(struct svg *svg, const struct tw_svg_node *node)
{
    const char *href = tw_svg_attribute(node, "href");

    return href && href[0] == '#' ? tw_svg_find(svg->root, href + 1) : NULL;
}

static enum tw_status walk_use(struct svg *svg, const struct tw_svg_node *node, struct context *context)
{
    static const char *const names[] = { "x", "y", NULL };
    const struct tw_svg_node *target = use_target(svg, node);
    double at[2];
    enum tw_status status = read_sizes(svg, node, names, 0.0, at);

    if (status != TW_OK)
        return status;
    if (!target)
        return node_fault(svg, node, "points to nothing in this file; its href should be # and the id of an element");
    if (++svg->uses > MOST_USES)
        return node_fault(svg, node,
                          "is one of more than 1000 copies; does it use itself? Unlink the copies in the drawing");
    if (strcmp(target->name, "symbol") == 0 && tw_svg_attribute(target, "viewBox"))
        return node_fault(svg, node,
                          "uses a <symbol> with a viewBox, which is not read; unlink the copy in the drawing");
    if (strcmp(target->name, "svg") == 0)
        return node_fault(svg, node, "uses an <svg>, which is not read; unlink the copy in the drawing");
    context->map = tw_affine_after(context->map, tw_affine_move(at[0], at[1]));
    if (strcmp(target->name, "symbol") == 0)
        return walk_children(svg, target, context);
    return walk(svg, target, *context);
}

static enum tw_status draw_shape(struct svg *svg, const struct tw_svg_node *node, const struct context *context,
                                 size_t shape)
{
    struct tw_pen *pen = &svg->reader->pen;

    if (context->hidden) {
        svg->hidden++;
        return TW_OK;
    }
    pen->to_mm = context->map;
    pen->line = node->line;
    pen->label = context->label;
    pen->picked = context->picked;
    pen->role = TW_ROLE_ANY;
    return shapes[shape].draw(svg, node);
}

/* Elements that draw nothing where they stand: definitions, descriptions, paints, scripts. */
static const char *const silent[] = { "defs",
                                      "symbol",
                                      "title",
                                      "desc",
                                      "metadata",
                                      "style",
                                      "script",
                                      "clipPath",
                                      "mask",
                                      "pattern",
                                      "marker",
                                      "filter",
                                      "linearGradient",
                                      "radialGradient",
                                      "animate",
                                      "animateTransform",
                                      "animateMotion",
                                      "set",
                                      "animateColor",
                                      "cursor",
                                      "view",
                                      "font",
                                      "font-face",
                                      "color-profile",
                                      "glyph",
                                      "solidColor",
                                      "hatch",
                                      "meshgradient",
                                      NULL };

static enum tw_status walk_kind(struct svg *svg, const struct tw_svg_node *node, struct context *context)
{
    static const char *const groups[] = { "g", "a", NULL }, *const texts[] = { "text", NULL },
                             *const images[] = { "image", "foreignObject", NULL };

    for (size_t i = 0; i < sizeof shapes / sizeof *shapes; i++)
        if (strcmp(node->name, shapes[i].name) == 0)
            return draw_shape(svg, node, context, i);
    if (named(node, groups))
        return walk_children(svg, node, context);
    if (strcmp(node->name, "svg") == 0)
        return walk_inner_svg(svg, node, context);
    if (strcmp(node->name, "use") == 0)
        return walk_use(svg, node, context);
    svg->texts += named(node, texts);
    svg->images += named(node, images);
    if (named(node, texts) || named(node, images))
        return TW_OK;
    return node_fault(svg, node, "is not read; draw the outline with paths and basic shapes");
}

static enum tw_status enter(struct svg *svg, const struct tw_svg_node *node, struct context *context)
{
    const char *id = tw_svg_attribute(node, "id");
    struct tw_affine own;
    enum tw_status status = tw_svg_read_transform(svg->reader, node, &own);

    if (status != TW_OK)
        return status;
    if (tw_svg_has_property(node, "transform") && !tw_svg_attribute(node, "transform"))
        return node_fault(svg, node, "is transformed by its style, which is not read; use the attribute transform");
    context->map = tw_affine_after(context->map, own);
    if (id) {
        context->label = id;
        context->picked |= tw_reader_picks(svg->reader, id);
    }
    if (tw_svg_property_is(node, "visibility", "hidden") || tw_svg_property_is(node, "visibility", "collapse"))
        context->hidden = true;
    if (tw_svg_property_is(node, "visibility", "visible"))
        context->hidden = false;
    svg->clipped += (tw_svg_has_property(node, "clip-path") && !tw_svg_property_is(node, "clip-path", "none")) ||
                    (tw_svg_has_property(node, "mask") && !tw_svg_property_is(node, "mask", "none"));
    return TW_OK;
}

static enum tw_status walk(struct svg *svg, const struct tw_svg_node *node, struct context context)
{
    enum tw_status status;

    if (named(node, silent)) { /* their transforms and ids belong to other things */
        svg->unread_styles += strcmp(node->name, "style") == 0;
        return TW_OK;
    }
    if (tw_svg_property_is(node, "display", "none")) {
        svg->hidden++;
        return TW_OK;
    }
    /* The tree itself is not that deep, but a use may lead back up. */
    if (svg->visits++ >= MOST_VISITS)
        return node_fault(svg, node, "is one of more than 5000000 elements; simplify the drawing");
    if (svg->depth >= TW_DRAWING_DEEPEST)
        return node_fault(svg, node, "stands more than 256 levels deep; does a <use> use itself?");
    svg->depth++;
    status = enter(svg, node, &context);
    if (status == TW_OK)
        status = walk_kind(svg, node, &context);
    svg->depth--;
    return status;
}

static enum tw_status unit_from_viewport(struct svg *svg, const struct tw_svg_view_box *box,
                                         const struct tw_svg_length *width, const struct tw_svg_length *height)
{
    double w = width->kind == TW_SVG_PHYSICAL ? width->value * TW_SVG_MM_PER_PX : 0.0;
    double h = height->kind == TW_SVG_PHYSICAL ? height->value * TW_SVG_MM_PER_PX : 0.0;
    const char *given = tw_svg_attribute(svg->root, w > 0.0 ? "width" : "height");
    struct tw_affine fit = tw_affine_scale(TW_SVG_MM_PER_PX, TW_SVG_MM_PER_PX);
    enum tw_status status = TW_OK;
    char how[80];

    if (!(w > 0.0) && !(h > 0.0))
        return node_fault(svg, svg->root,
                          "has no width or height above zero; give it its real size, such as "
                          "width=\"300mm\"");
    if (box->given) {
        if (!(w > 0.0))
            w = h * box->width / box->height;
        if (!(h > 0.0))
            h = w * box->height / box->width;
        status = tw_svg_fit(svg->reader, svg->root, box, w, h, &fit);
        if (fabs(w / box->width / (h / box->height) - 1.0) > 1e-3)
            tw_remark(svg->reader->findings, tw_reader_place(svg->reader, svg->root->line),
                      "the viewBox is shaped otherwise than width and height; one unit is %.6g mm along x "
                      "and %.6g mm along y",
                      fit.a, fit.d);
    }
    snprintf(how, sizeof how, "%s=\"%.20s\"%s", w > 0.0 && width->kind == TW_SVG_PHYSICAL ? "width" : "height", given,
             box->given ? " and viewBox" : "");
    if (status == TW_OK)
        status = tw_reader_unit_from_drawing(svg->reader, svg->root->line, fit.a, how);
    svg->reader->sketch->x_mm_per_unit = fit.a;
    svg->reader->sketch->y_mm_per_unit = -fit.d;
    return status;
}

/* Sets the map from the outermost user units to mm. */
static enum tw_status find_unit(struct svg *svg)
{
    struct tw_reader *reader = svg->reader;
    struct tw_svg_length width, height;
    struct tw_svg_view_box box;
    enum tw_status status = tw_svg_read_length(reader, svg->root, "width", &width);

    if (status == TW_OK)
        status = tw_svg_read_length(reader, svg->root, "height", &height);
    if (status == TW_OK)
        status = tw_svg_read_view_box(reader, svg->root, &box);
    if (status != TW_OK)
        return status;
    if (width.kind == TW_SVG_PHYSICAL || height.kind == TW_SVG_PHYSICAL)
        status = unit_from_viewport(svg, &box, &width, &height);
    else
        status = tw_reader_unit_from_job(reader, "an SVG drawing without a width such as \"300mm\"");
    if (status != TW_OK)
        return status;
    reader->sketch->y_mm_per_unit = -fabs(reader->sketch->y_mm_per_unit);
    reader->pen.to_mm = tw_affine_scale(reader->sketch->x_mm_per_unit, reader->sketch->y_mm_per_unit);
    return TW_OK;
}

static void say_what_was_left(struct svg *svg)
{
    struct tw_findings *findings = svg->reader->findings;
    struct tw_place at = tw_reader_place(svg->reader, 0);

    if (svg->texts > 0)
        tw_remark(findings, at, "%zu <text> left aside; turn text to paths if it belongs to the outline", svg->texts);
    if (svg->images > 0)
        tw_remark(findings, at, "%zu <image> or <foreignObject> left aside: a picture has no outline", svg->images);
    if (svg->hidden > 0)
        tw_remark(findings, at, "%zu elements left aside because the drawing hides them", svg->hidden);
    if (svg->clipped > 0)
        tw_remark(findings, at, "%zu elements have a clip-path or mask, which is not applied", svg->clipped);
    if (svg->unread_styles > 0)
        tw_remark(findings, at, "the style sheet is not read; what it hides is drawn nevertheless");
}

enum tw_status tw_read_svg(struct tw_reader *reader)
{
    struct svg svg = { .reader = reader };
    struct tw_svg_node *root;
    struct context context = { .picked = reader->drawing->pick == NULL };
    enum tw_status status = tw_svg_parse(reader, &root);

    if (status != TW_OK)
        return status;
    svg.root = root;
    svg.depth = 1;
    status = find_unit(&svg);
    context.map = reader->pen.to_mm;
    if (status == TW_OK)
        status = enter(&svg, root, &context);
    if (status == TW_OK)
        status = walk_children(&svg, root, &context);
    if (status == TW_OK)
        say_what_was_left(&svg);
    tw_svg_tree_free(root);
    return status;
}
