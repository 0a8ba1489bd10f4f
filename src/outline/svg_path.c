/* svg_path.c - one function per command of the path data. */
#include "outline/svg_path.h"

#include <string.h>

static const double pi = 3.14159265358979323846;

struct path {
    struct tw_reader *reader;
    struct tw_pen *pen;
    const struct tw_svg_node *node;
    struct tw_scan scan;
    const char *start;              /* of the data */
    struct tw_vec at, begin;        /* now, and where the subpath began */
    struct tw_vec cubic, quadratic; /* last controls, for S and T; the point itself when there is none */
};

static enum tw_status path_fault(struct path *path, const char *wanted)
{
    char seen[40];

    return tw_fail(path->reader->findings, TW_BAD_INPUT, tw_reader_place(path->reader, path->node->line),
                   "path data, character %zu: %s, but here stands %s", (size_t)(path->scan.at - path->start) + 1,
                   wanted, path->scan.at < path->scan.end ? tw_scan_seen(&path->scan, seen) : "the end of the data");
}

static enum tw_status read_number(struct path *path, double *out)
{
    enum tw_scanned scanned = tw_scan_number(&path->scan, out);

    if (scanned == TW_SCAN_LONG_NUMBER)
        return path_fault(path, "a number should have at most 64 characters");
    if (scanned == TW_SCAN_LARGE_NUMBER)
        return path_fault(path, "a number should be a length one can draw");
    if (scanned != TW_SCANNED)
        return path_fault(path, "a number should stand");
    tw_svg_skip_comma(&path->scan);
    return TW_OK;
}

static enum tw_status read_flag(struct path *path, bool *out)
{
    char c = tw_scan_peek(&path->scan);

    if (c != '0' && c != '1')
        return path_fault(path, "a flag of an arc should be 0 or 1");
    *out = c == '1';
    path->scan.at++;
    tw_svg_skip_comma(&path->scan);
    return TW_OK;
}

static enum tw_status read_place(struct path *path, bool relative, struct tw_vec *out)
{
    enum tw_status status = read_number(path, &out->x);

    if (status == TW_OK)
        status = read_number(path, &out->y);
    if (status == TW_OK && relative) {
        out->x += path->at.x;
        out->y += path->at.y;
    }
    return status;
}

/* After Z without M the next subpath begins where the last one did. */
static void put_pen_down(struct path *path)
{
    if (!path->pen->stroke)
        tw_pen_move(path->pen, path->at);
}

static void forget_controls(struct path *path)
{
    path->cubic = path->quadratic = path->at;
}

static void line_to(struct path *path, struct tw_vec to)
{
    put_pen_down(path);
    tw_pen_line(path->pen, to);
    path->at = to;
    forget_controls(path);
}

static enum tw_status draw_move(struct path *path, bool relative)
{
    struct tw_vec to;
    enum tw_status status = read_place(path, relative, &to);

    if (status != TW_OK)
        return status;
    tw_pen_move(path->pen, to);
    path->at = path->begin = to;
    forget_controls(path);
    return TW_OK;
}

static enum tw_status draw_line(struct path *path, bool relative)
{
    struct tw_vec to;
    enum tw_status status = read_place(path, relative, &to);

    if (status == TW_OK)
        line_to(path, to);
    return status;
}

static enum tw_status draw_horizontal(struct path *path, bool relative)
{
    struct tw_vec to = path->at;
    enum tw_status status = read_number(path, &to.x);

    if (status != TW_OK)
        return status;
    to.x += relative ? path->at.x : 0.0;
    line_to(path, to);
    return TW_OK;
}

static enum tw_status draw_vertical(struct path *path, bool relative)
{
    struct tw_vec to = path->at;
    enum tw_status status = read_number(path, &to.y);

    if (status != TW_OK)
        return status;
    to.y += relative ? path->at.y : 0.0;
    line_to(path, to);
    return TW_OK;
}

static struct tw_control control_at(struct tw_vec v)
{
    return (struct tw_control){ v.x, v.y, 1.0 };
}

/* The control on the other side of the current point. */
static struct tw_vec reflected(const struct path *path, struct tw_vec control)
{
    return (struct tw_vec){ 2.0 * path->at.x - control.x, 2.0 * path->at.y - control.y };
}

static enum tw_status draw_cubic(struct path *path, bool relative, bool smooth)
{
    struct tw_vec first = reflected(path, path->cubic), second, to;
    enum tw_status status = smooth ? TW_OK : read_place(path, relative, &first);

    if (status == TW_OK)
        status = read_place(path, relative, &second);
    if (status == TW_OK)
        status = read_place(path, relative, &to);
    if (status != TW_OK)
        return status;
    put_pen_down(path);
    tw_pen_bezier(path->pen,
                  (struct tw_control[]){ control_at(path->at), control_at(first), control_at(second), control_at(to) },
                  3);
    path->at = path->quadratic = to;
    path->cubic = second;
    return TW_OK;
}

static enum tw_status draw_quadratic(struct path *path, bool relative, bool smooth)
{
    struct tw_vec control = reflected(path, path->quadratic), to;
    enum tw_status status = smooth ? TW_OK : read_place(path, relative, &control);

    if (status == TW_OK)
        status = read_place(path, relative, &to);
    if (status != TW_OK)
        return status;
    put_pen_down(path);
    tw_pen_bezier(path->pen, (struct tw_control[]){ control_at(path->at), control_at(control), control_at(to) }, 2);
    path->at = path->cubic = to;
    path->quadratic = control;
    return TW_OK;
}

struct arc {
    double rx, ry, rotation_rad;
    bool large, sweep;
    struct tw_vec to;
};

/* Endpoints to centre, SVG 1.1 F.6.5 and F.6.6. The ends must differ and the radii be above zero. */
static void draw_centred(struct path *path, const struct arc *arc)
{
    double cos_r = cos(arc->rotation_rad), sin_r = sin(arc->rotation_rad);
    double hx = (path->at.x - arc->to.x) / 2.0, hy = (path->at.y - arc->to.y) / 2.0;
    double x1 = (cos_r * hx + sin_r * hy), y1 = (-sin_r * hx + cos_r * hy);
    double lack = sqrt(x1 * x1 / (arc->rx * arc->rx) + y1 * y1 / (arc->ry * arc->ry));
    double grow = fmax(1.0, lack); /* F.6.6: radii too small for the distance are scaled up */
    double rx = arc->rx * grow, ry = arc->ry * grow;
    double ux = x1 / rx, uy = y1 / ry, q = ux * ux + uy * uy;
    double side = (arc->large == arc->sweep ? -1.0 : 1.0) * sqrt(fmax(0.0, (1.0 - q) / q));
    double cx1 = side * uy, cy1 = -side * ux; /* centre on the unit circle's scale */
    double from = atan2(uy - cy1, ux - cx1), sweep = atan2(-uy - cy1, -ux - cx1) - from;
    struct tw_vec u = { rx * cos_r, rx * sin_r }, v = { -ry * sin_r, ry * cos_r };
    struct tw_vec centre = { u.x * cx1 + v.x * cy1 + (path->at.x + arc->to.x) / 2.0,
                             u.y * cx1 + v.y * cy1 + (path->at.y + arc->to.y) / 2.0 };

    if (arc->sweep && sweep < 0.0)
        sweep += 2.0 * pi;
    if (!arc->sweep && sweep > 0.0)
        sweep -= 2.0 * pi;
    put_pen_down(path);
    tw_pen_ellipse(path->pen, centre, u, v, from, from + sweep);
}

static enum tw_status read_arc(struct path *path, bool relative, struct arc *arc)
{
    enum tw_status status = read_number(path, &arc->rx);

    if (status == TW_OK)
        status = read_number(path, &arc->ry);
    if (status == TW_OK)
        status = read_number(path, &arc->rotation_rad);
    if (status == TW_OK)
        status = read_flag(path, &arc->large);
    if (status == TW_OK)
        status = read_flag(path, &arc->sweep);
    if (status == TW_OK)
        status = read_place(path, relative, &arc->to);
    arc->rotation_rad *= pi / 180.0;
    arc->rx = fabs(arc->rx);
    arc->ry = fabs(arc->ry);
    return status;
}

static enum tw_status draw_arc(struct path *path, bool relative)
{
    struct arc arc = { 0 };
    enum tw_status status = read_arc(path, relative, &arc);

    if (status != TW_OK)
        return status;
    if (path->at.x == arc.to.x && path->at.y == arc.to.y)
        return TW_OK; /* F.6.2: the same ends, nothing is drawn */
    if (arc.rx < 1e-12 || arc.ry < 1e-12) {
        line_to(path, arc.to); /* F.6.2: no radius, a straight line */
        return TW_OK;
    }
    draw_centred(path, &arc);
    path->at = arc.to;
    forget_controls(path);
    return TW_OK;
}

static void close_subpath(struct path *path)
{
    tw_pen_end(path->pen, true);
    path->at = path->begin;
    forget_controls(path);
}

/* One command with one set of numbers; `command` in upper case. */
static enum tw_status draw_command(struct path *path, char command, bool relative)
{
    switch (command) {
    case 'M':
        return draw_move(path, relative);
    case 'L':
        return draw_line(path, relative);
    case 'H':
        return draw_horizontal(path, relative);
    case 'V':
        return draw_vertical(path, relative);
    case 'C':
    case 'S':
        return draw_cubic(path, relative, command == 'S');
    case 'Q':
    case 'T':
        return draw_quadratic(path, relative, command == 'T');
    default:
        return draw_arc(path, relative);
    }
}

static bool at_number(const struct path *path)
{
    char c = tw_scan_peek(&path->scan);

    return (c >= '0' && c <= '9') || c == '+' || c == '-' || c == '.';
}

/* A command letter and all sets of numbers that follow it. */
static enum tw_status draw_run(struct path *path, char letter)
{
    bool relative = letter >= 'a';
    char command = (char)(relative ? letter - 'a' + 'A' : letter);
    enum tw_status status;

    if (command == 'Z') {
        close_subpath(path);
        return path->pen->status;
    }
    do {
        status = draw_command(path, command, relative);
        if (status == TW_OK)
            status = path->pen->status;
        if (command == 'M')
            command = 'L'; /* 8.3.2: further places after a moveto are lines */
    } while (status == TW_OK && at_number(path));
    return status;
}

static enum tw_status draw_all(struct path *path)
{
    bool moved = false;

    while (path->scan.at < path->scan.end) {
        char letter = tw_scan_peek(&path->scan);
        enum tw_status status;

        if (!letter || !strchr("MmLlHhVvCcSsQqTtAaZz", letter))
            return path_fault(path, "a command should stand (M L H V C S Q T A Z, or small for relative)");
        if (!moved && letter != 'M' && letter != 'm')
            return path_fault(path, "path data begins with M");
        moved = true;
        path->scan.at++;
        while (path->scan.at < path->scan.end && tw_scan_is_space(*path->scan.at))
            path->scan.at++;
        status = draw_run(path, letter);
        if (status != TW_OK)
            return status;
        while (path->scan.at < path->scan.end && tw_scan_is_space(*path->scan.at))
            path->scan.at++;
    }
    return TW_OK;
}

enum tw_status tw_svg_draw_path(struct tw_reader *reader, const struct tw_svg_node *node, const char *data)
{
    struct path path = { .reader = reader, .pen = &reader->pen, .node = node, .scan = tw_svg_scan(node, data) };
    enum tw_status status;

    path.start = path.scan.at;
    while (path.scan.at < path.scan.end && tw_scan_is_space(*path.scan.at))
        path.scan.at++;
    if (strcmp(path.scan.at, "none") == 0)
        return TW_OK;
    status = draw_all(&path);
    tw_pen_end(path.pen, false);
    return status == TW_OK ? path.pen->status : status;
}
