/* csv.c - points, one "x,y" per line; a blank line starts the next ring.
 *
 * Between x and y: a comma, a semicolon, a tab or blanks. With a semicolon the numbers may have a decimal
 * comma. '#' begins a comment. The first line may be a heading, which may name the unit: x [mm], y [mm]. */
#include "outline/reader.h"

#include "base/units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

struct row {
    struct tw_scan scan; /* of the line, comment and blanks at its end cut off */
    char separator;
};

static const char *end_of_line(const char *at, const char *end)
{
    const char *stop = memchr(at, '\n', (size_t)(end - at));

    return stop ? stop : end;
}

static void trim(struct tw_scan *scan)
{
    const char *comment = memchr(scan->at, '#', (size_t)(scan->end - scan->at));

    if (comment)
        scan->end = comment;
    while (scan->at < scan->end && tw_scan_is_space(*scan->at))
        scan->at++;
    while (scan->at < scan->end && tw_scan_is_space(scan->end[-1]))
        scan->end--;
}

static char separator_of(const struct tw_scan *scan)
{
    static const char order[] = ";\t,";
    size_t length = (size_t)(scan->end - scan->at);

    for (size_t i = 0; order[i]; i++)
        if (memchr(scan->at, order[i], length))
            return order[i];
    return ' ';
}

static enum tw_scanned read_field(struct row *row, double *out)
{
    char copy[TW_SCAN_LONGEST_NUMBER + 2];
    struct tw_scan field = row->scan;
    size_t length = 0;
    enum tw_scanned scanned;

    if (row->separator != ';')
        return tw_scan_number(&row->scan, out);
    /* A semicolon is there, so that a comma can only be the decimal mark. */
    while (field.at + length < field.end && length <= TW_SCAN_LONGEST_NUMBER && field.at[length] != ';' &&
           !tw_scan_is_space(field.at[length])) {
        copy[length] = field.at[length] == ',' ? '.' : field.at[length];
        length++;
    }
    field.at = copy;
    field.end = copy + length;
    scanned = tw_scan_number(&field, out);
    if (scanned == TW_SCANNED)
        row->scan.at += field.at - copy;
    return scanned;
}

static void skip_blanks(struct row *row)
{
    while (row->scan.at < row->scan.end && (*row->scan.at == ' ' || (*row->scan.at == '\t' && row->separator != '\t')))
        row->scan.at++;
}

static enum tw_status row_fault(struct tw_reader *reader, const struct row *row, const char *what)
{
    char seen[40];

    return tw_fail(reader->findings, TW_BAD_INPUT, tw_reader_place(reader, row->scan.line),
                   "%s, but here stands %s; a line holds x and y, such as 12.5,3.0", what,
                   row->scan.at < row->scan.end ? tw_scan_seen(&row->scan, seen) : "the end of the line");
}

static enum tw_status read_row(struct tw_reader *reader, struct row *row, struct tw_vec *out)
{
    enum tw_scanned scanned = read_field(row, &out->x);

    if (scanned != TW_SCANNED)
        return tw_reader_number_fault(reader, &row->scan, scanned, "the x of a point");
    skip_blanks(row);
    if (row->separator != ' ') {
        if (tw_scan_peek(&row->scan) != row->separator)
            return row_fault(reader, row, "the separator should stand after x");
        row->scan.at++;
        skip_blanks(row);
    }
    if (row->scan.at >= row->scan.end)
        return row_fault(reader, row, "the y of a point should stand here");
    scanned = read_field(row, &out->y);
    if (scanned != TW_SCANNED)
        return tw_reader_number_fault(reader, &row->scan, scanned, "the y of a point");
    skip_blanks(row);
    if (row->scan.at < row->scan.end)
        return row_fault(reader, row, "nothing should stand after y");
    return TW_OK;
}

/* A heading has no number at all, and letters. */
static bool is_heading(const struct tw_scan *scan)
{
    bool letters = false;

    for (const char *at = scan->at; at < scan->end; at++) {
        if (*at >= '0' && *at <= '9')
            return false;
        letters |= (*at >= 'a' && *at <= 'z') || (*at >= 'A' && *at <= 'Z');
    }
    return letters;
}

/* What stands in the next brackets from *at on; false after the last of them. */
static bool next_bracketed(const char **at, const char *end, char out[24])
{
    const char *open = *at, *close;

    while (open < end && *open != '[' && *open != '(')
        open++;
    for (close = open; close < end && *close != ']' && *close != ')'; close++)
        ;
    if (close >= end)
        return false;
    snprintf(out, 24, "%.*s", (int)(close - open - 1), open + 1);
    *at = close + 1;
    return true;
}

/* The unit of a heading such as x [mm], y [mm]; without one it is the job's to say. */
static enum tw_status take_unit(struct tw_reader *reader, const struct tw_scan *heading)
{
    const struct tw_unit *unit = NULL, *next;
    const char *at = heading->at;
    char name[24];

    while (next_bracketed(&at, heading->end, name)) {
        next = tw_unit_find(name, TW_LENGTH);
        if (!next || (unit && next != unit))
            return tw_fail(reader->findings, TW_BAD_INPUT, tw_reader_place(reader, heading->line),
                           next ? "x and y have different units in the heading; both are read in one: x [mm], y [mm]"
                                : "[%s] in the heading is no unit of length; write for example x [mm], y [mm]",
                           name);
        unit = next;
    }
    if (!unit)
        return tw_reader_unit_from_job(reader, "a CSV drawing");
    return tw_reader_unit_from_drawing(reader, heading->line, tw_unit_to_inside(unit, 1.0), "in its heading");
}

static enum tw_status add_row(struct tw_reader *reader, const struct tw_scan *scan)
{
    struct row row = { .scan = *scan, .separator = separator_of(scan) };
    struct tw_pen *pen = &reader->pen;
    struct tw_vec at;
    enum tw_status status = read_row(reader, &row, &at);

    if (status != TW_OK)
        return status;
    if (pen->stroke) {
        tw_pen_line(pen, at);
    } else {
        pen->line = scan->line;
        tw_pen_move(pen, at);
    }
    return pen->status;
}

/* An edge as long as that share of the drawing, and so many times as long as the others are on the mean, closes no ring: the list
 * is cut off. */
#define CUT_OFF      0.75
#define CUT_OFF_MORE 10.0

static double edge_mm(const struct tw_stroke *stroke, size_t from, size_t to)
{
    return hypot(stroke->points[to].x_mm - stroke->points[from].x_mm,
                 stroke->points[to].y_mm - stroke->points[from].y_mm);
}

static bool seems_cut_off(const struct tw_stroke *stroke, double closing_mm)
{
    double low_mm = HUGE_VAL, high_mm = -HUGE_VAL, low_y_mm = HUGE_VAL, high_y_mm = -HUGE_VAL, way_mm = 0.0;

    for (size_t i = 0; i < stroke->count; i++) {
        low_mm = fmin(low_mm, stroke->points[i].x_mm);
        high_mm = fmax(high_mm, stroke->points[i].x_mm);
        low_y_mm = fmin(low_y_mm, stroke->points[i].y_mm);
        high_y_mm = fmax(high_y_mm, stroke->points[i].y_mm);
        way_mm += i > 0 ? edge_mm(stroke, i - 1, i) : 0.0;
    }
    return closing_mm > CUT_OFF * fmax(high_mm - low_mm, high_y_mm - low_y_mm) &&
           closing_mm * (double)(stroke->count - 1) > CUT_OFF_MORE * way_mm;
}

/* Ends the ring being read. Points in a list close by themselves, but the edge that no line gives is told. */
static enum tw_status end_ring(struct tw_reader *reader)
{
    const struct tw_stroke *stroke = reader->pen.stroke;

    if (stroke && stroke->count > 0) {
        double closing_mm = edge_mm(stroke, stroke->count - 1, 0);

        if (seems_cut_off(stroke, closing_mm))
            return tw_fail(
                reader->findings, TW_BAD_INPUT, tw_reader_place(reader, stroke->line),
                "the ring that begins here ends %.4g mm from its first point, and a straight edge would close it: "
                "the list seems to be cut off; if that edge is meant, give the first point once more at the end",
                closing_mm);
        if (closing_mm > TW_SAME_PLACE_MM)
            tw_remark(reader->findings, tw_reader_place(reader, stroke->line),
                      "the ring's last point is joined to its first by a straight edge of %.4g mm", closing_mm);
    }
    tw_pen_end(&reader->pen, true);
    return TW_OK;
}

enum tw_status tw_read_csv(struct tw_reader *reader)
{
    const char *at = reader->text, *end = reader->text + reader->length;
    enum tw_status status = TW_OK;
    bool heading_allowed = true;

    tw_reader_pick_nothing(reader, "a CSV drawing");
    for (int line = 1; at < end && status == TW_OK; line++) {
        struct tw_scan scan = { at, end_of_line(at, end), line };
        bool comment = false, heading;

        at = scan.end < end ? scan.end + 1 : end;
        comment = memchr(scan.at, '#', (size_t)(scan.end - scan.at)) != NULL;
        trim(&scan);
        if (scan.at == scan.end) {
            if (!comment) /* a line that only holds a comment does not part two rings */
                status = end_ring(reader);
            continue;
        }
        heading = heading_allowed && is_heading(&scan);
        if (heading)
            status = take_unit(reader, &scan);
        else if (heading_allowed)
            status = tw_reader_unit_from_job(reader, "a CSV drawing");
        if (status == TW_OK && !heading)
            status = add_row(reader, &scan);
        heading_allowed = false;
    }
    return status == TW_OK ? end_ring(reader) : status;
}
