/* svg_values.c - lengths, transforms, viewports. */
#include "outline/svg_values.h"

#include <string.h>

static const double rad_per_deg = 3.14159265358979323846 / 180.0;

struct tw_scan tw_svg_scan(const struct tw_svg_node *node, const char *value)
{
    return (struct tw_scan){ value, value + strlen(value), node->line };
}

static void skip_spaces(struct tw_scan *scan)
{
    while (scan->at < scan->end && tw_scan_is_space(*scan->at))
        scan->at++;
}

void tw_svg_skip_comma(struct tw_scan *scan)
{
    skip_spaces(scan);
    if (tw_scan_peek(scan) == ',') {
        scan->at++;
        skip_spaces(scan);
    }
}

/* px in one of each absolute unit; CSS Values and Units, 5.2. */
static const struct {
    const char *name;
    double px;
} units[] = {
    { "px", 1.0 },         { "mm", 96.0 / 25.4 }, { "cm", 96.0 / 2.54 }, { "in", 96.0 },
    { "pt", 96.0 / 72.0 }, { "pc", 16.0 },        { "Q", 96.0 / 101.6 }, { "q", 96.0 / 101.6 },
};

static bool apply_unit(const char *unit, size_t length, struct tw_svg_length *out)
{
    if (length == 1 && *unit == '%') {
        out->kind = TW_SVG_PERCENT;
        return true;
    }
    out->kind = length == 0 ? TW_SVG_BARE : TW_SVG_PHYSICAL;
    for (size_t i = 0; i < sizeof units / sizeof *units && length > 0; i++)
        if (strlen(units[i].name) == length && strncmp(unit, units[i].name, length) == 0) {
            out->value *= units[i].px;
            return true;
        }
    return length == 0;
}

enum tw_status tw_svg_read_length(struct tw_reader *reader, const struct tw_svg_node *node, const char *name,
                                  struct tw_svg_length *out)
{
    const char *value = tw_svg_attribute(node, name);
    struct tw_scan scan;
    enum tw_scanned scanned;
    char seen[40];

    *out = (struct tw_svg_length){ 0.0, TW_SVG_ABSENT };
    if (!value || strcmp(value, "auto") == 0)
        return TW_OK;
    scan = tw_svg_scan(node, value);
    skip_spaces(&scan);
    scanned = tw_scan_number(&scan, &out->value);
    while (scan.end > scan.at && tw_scan_is_space(scan.end[-1]))
        scan.end--;
    if (scanned == TW_SCANNED && apply_unit(scan.at, (size_t)(scan.end - scan.at), out))
        return TW_OK;
    if (scan.at == scan.end)
        return tw_fail(reader->findings, TW_BAD_INPUT, tw_reader_place(reader, node->line),
                       "%s of <%.40s> is empty; give a length such as \"12.5\" or \"12.5mm\"", name, node->name);
    return tw_fail(reader->findings, TW_BAD_INPUT, tw_reader_place(reader, node->line),
                   "%s of <%.40s> should be a number alone or with mm, cm, in, pt, pc, px, Q or %%, but here stands %s",
                   name, node->name, tw_scan_seen(&scan, seen));
}

enum tw_status tw_svg_read_size(struct tw_reader *reader, const struct tw_svg_node *node, const char *name,
                                double missing, double *out)
{
    struct tw_svg_length length;
    enum tw_status status = tw_svg_read_length(reader, node, name, &length);

    if (status != TW_OK)
        return status;
    if (length.kind == TW_SVG_PERCENT)
        return tw_fail(reader->findings, TW_BAD_INPUT, tw_reader_place(reader, node->line),
                       "%s of <%.40s> is a percentage; write it as a length", name, node->name);
    *out = length.kind == TW_SVG_ABSENT ? missing : length.value;
    return TW_OK;
}

/* Reads up to `room` numbers; the count, or -1 when something else stands among them. */
static int read_numbers(struct tw_scan *scan, double *out, int room)
{
    int count = 0;

    skip_spaces(scan);
    while (count < room && tw_scan_number(scan, &out[count]) == TW_SCANNED) {
        count++;
        tw_svg_skip_comma(scan);
    }
    return count;
}

enum tw_status tw_svg_read_view_box(struct tw_reader *reader, const struct tw_svg_node *node,
                                    struct tw_svg_view_box *out)
{
    const char *value = tw_svg_attribute(node, "viewBox");
    struct tw_scan scan;
    double n[4];

    *out = (struct tw_svg_view_box){ 0 };
    if (!value)
        return TW_OK;
    scan = tw_svg_scan(node, value);
    if (read_numbers(&scan, n, 4) != 4 || scan.at != scan.end || !(n[2] > 0.0) || !(n[3] > 0.0))
        return tw_fail(reader->findings, TW_BAD_INPUT, tw_reader_place(reader, node->line),
                       "viewBox should be four numbers, x y width height, with a width and a height above zero, "
                       "but it is \"%.40s\"",
                       value);
    *out = (struct tw_svg_view_box){ true, n[0], n[1], n[2], n[3] };
    return TW_OK;
}

static struct tw_affine turn_about(double angle_rad, double x, double y)
{
    return tw_affine_after(tw_affine_move(x, y), tw_affine_after(tw_affine_turn(angle_rad), tw_affine_move(-x, -y)));
}

/* One transform of the list; false when the name or the count of its numbers is none of the format's. */
static bool make_transform(const char *name, size_t length, const double *n, int count, struct tw_affine *out)
{
#define IS(word) (length == sizeof word - 1 && strncmp(name, word, length) == 0)
    if (IS("matrix") && count == 6)
        *out = (struct tw_affine){ n[0], n[1], n[2], n[3], n[4], n[5] };
    else if (IS("translate") && (count == 1 || count == 2))
        *out = tw_affine_move(n[0], count == 2 ? n[1] : 0.0);
    else if (IS("scale") && (count == 1 || count == 2))
        *out = tw_affine_scale(n[0], count == 2 ? n[1] : n[0]);
    else if (IS("rotate") && count == 1)
        *out = tw_affine_turn(n[0] * rad_per_deg);
    else if (IS("rotate") && count == 3)
        *out = turn_about(n[0] * rad_per_deg, n[1], n[2]);
    else if (IS("skewX") && count == 1)
        *out = (struct tw_affine){ 1.0, 0.0, tan(n[0] * rad_per_deg), 1.0, 0.0, 0.0 };
    else if (IS("skewY") && count == 1)
        *out = (struct tw_affine){ 1.0, tan(n[0] * rad_per_deg), 0.0, 1.0, 0.0, 0.0 };
    else
        return false;
    return true;
#undef IS
}

static bool is_letter(char c)
{
    return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

static bool next_transform(struct tw_scan *scan, struct tw_affine *out)
{
    const char *name = scan->at;
    size_t length;
    double numbers[6];
    int count;

    while (is_letter(tw_scan_peek(scan)))
        scan->at++;
    length = (size_t)(scan->at - name);
    skip_spaces(scan);
    if (tw_scan_peek(scan) != '(')
        return false;
    scan->at++;
    count = read_numbers(scan, numbers, 6);
    if (tw_scan_peek(scan) != ')')
        return false;
    scan->at++;
    tw_svg_skip_comma(scan);
    return make_transform(name, length, numbers, count, out);
}

enum tw_status tw_svg_read_transform(struct tw_reader *reader, const struct tw_svg_node *node, struct tw_affine *out)
{
    const char *value = tw_svg_attribute(node, "transform");
    struct tw_scan scan;

    *out = tw_affine_identity();
    if (!value || strcmp(value, "none") == 0)
        return TW_OK;
    scan = tw_svg_scan(node, value);
    skip_spaces(&scan);
    while (scan.at < scan.end) {
        struct tw_scan start = scan;
        struct tw_affine one;
        char seen[40];

        if (!next_transform(&scan, &one))
            return tw_fail(reader->findings, TW_BAD_INPUT, tw_reader_place(reader, node->line),
                           "transform of <%.40s> should hold matrix(a b c d e f), translate(x y), scale(x y), "
                           "rotate(a) or rotate(a x y), skewX(a), skewY(a), but here stands %s",
                           node->name, tw_scan_seen(&start, seen));
        *out = tw_affine_after(*out, one);
    }
    return TW_OK;
}

/* Share of the free room that goes before the picture: xMin 0, xMid a half, xMax all of it. */
static double share(const char *align, char axis)
{
    const char *word = strchr(align, axis);

    if (word && strncmp(word + 1, "Min", 3) == 0)
        return 0.0;
    return word && strncmp(word + 1, "Max", 3) == 0 ? 1.0 : 0.5;
}

static bool aspect_is_sound(const char *value)
{
    static const char *const first[] = { "xMin", "xMid", "xMax" }, *const second[] = { "YMin", "YMid", "YMax" };
    bool x = false, y = false;
    const char *rest;

    value += strspn(value, " \t\r\n");
    if (strncmp(value, "none", 4) == 0)
        return true;
    for (int i = 0; i < 3; i++) {
        x |= strncmp(value, first[i], 4) == 0;
        y |= strlen(value) >= 8 && strncmp(value + 4, second[i], 4) == 0;
    }
    if (!x || !y)
        return false;
    rest = value + 8;
    rest += strspn(rest, " \t\r\n");
    return !*rest || strncmp(rest, "meet", 4) == 0 || strncmp(rest, "slice", 5) == 0;
}

enum tw_status tw_svg_fit(struct tw_reader *reader, const struct tw_svg_node *node, const struct tw_svg_view_box *box,
                          double width, double height, struct tw_affine *out)
{
    const char *aspect = tw_svg_attribute(node, "preserveAspectRatio");
    double sx = width / box->width, sy = height / box->height;

    if (!aspect)
        aspect = "xMidYMid meet";
    if (!aspect_is_sound(aspect))
        return tw_fail(reader->findings, TW_BAD_INPUT, tw_reader_place(reader, node->line),
                       "preserveAspectRatio should be none, or xMinYMin to xMaxYMax with meet or slice, "
                       "but it is \"%.40s\"",
                       aspect);
    if (!strstr(aspect, "none"))
        sx = sy = strstr(aspect, "slice") ? fmax(sx, sy) : fmin(sx, sy);
    *out = (struct tw_affine){
        sx,
        0.0,
        0.0,
        sy,
        -box->x * sx + (width - box->width * sx) * share(aspect, 'x'),
        -box->y * sy + (height - box->height * sy) * share(aspect, 'Y'),
    };
    return TW_OK;
}

/* The value of a property in a style such as "fill:none; display : none"; its length through *length. */
static const char *styled(const char *style, const char *property, size_t *length)
{
    size_t wanted = strlen(property);

    while (style && *style) {
        size_t item = strcspn(style, ";");
        const char *name = style + strspn(style, " \t\r\n"), *end = style + item;

        if (strncmp(name, property, wanted) == 0) {
            const char *value = name + wanted + strspn(name + wanted, " \t\r\n");

            if (*value == ':') {
                value++;
                value += strspn(value, " \t\r\n");
                while (end > value && tw_scan_is_space(end[-1]))
                    end--;
                *length = end > value ? (size_t)(end - value) : 0;
                return value;
            }
        }
        style += item;
        style += *style == ';';
    }
    return NULL;
}

static const char *property_of(const struct tw_svg_node *node, const char *property, size_t *length)
{
    const char *value = styled(tw_svg_attribute(node, "style"), property, length);

    if (value)
        return value;
    value = tw_svg_attribute(node, property);
    *length = value ? strlen(value) : 0;
    return value;
}

bool tw_svg_property_is(const struct tw_svg_node *node, const char *property, const char *value)
{
    size_t length, wanted = strlen(value);
    const char *own = property_of(node, property, &length);

    return own && length >= wanted && strncmp(own, value, wanted) == 0 &&
           (length == wanted || own[wanted] == ' ' || own[wanted] == '!');
}

bool tw_svg_has_property(const struct tw_svg_node *node, const char *property)
{
    size_t length;

    return property_of(node, property, &length) != NULL && length > 0;
}
