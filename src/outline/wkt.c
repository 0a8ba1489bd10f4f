/* wkt.c - OGC well-known text (OGC 06-103r4, Simple Feature Access, part 1, clause 7).
 *
 *   text     := POLYGON zm polygon | MULTIPOLYGON zm "(" polygon {"," polygon} ")" | LINESTRING zm line
 *   polygon  := "(" line {"," line} ")"
 *   line     := "(" point {"," point} ")"
 *   point    := number number {number}
 *   zm       := "" | "Z" | "M" | "ZM"         heights and measures are read and left aside */
#include "outline/reader.h"

#include <string.h>

struct wkt {
    struct tw_reader *reader;
    struct tw_scan scan;
    int extra; /* numbers after x and y in each point */
};

static enum tw_status wanted(struct wkt *wkt, const char *what)
{
    char seen[40];

    return tw_fail(wkt->reader->findings, TW_BAD_INPUT, tw_reader_place(wkt->reader, wkt->scan.line),
                   "%s should stand here, but here stands %s", what, tw_scan_seen(&wkt->scan, seen));
}

static bool take(struct wkt *wkt, char c)
{
    tw_scan_spaces(&wkt->scan);
    if (tw_scan_peek(&wkt->scan) != c || wkt->scan.at >= wkt->scan.end)
        return false;
    wkt->scan.at++;
    return true;
}

/* Upper case, cut to the room there is; empty when no letter stands here. */
static void take_word(struct wkt *wkt, char *out, size_t room)
{
    size_t length = 0;

    tw_scan_spaces(&wkt->scan);
    while (wkt->scan.at < wkt->scan.end) {
        char c = *wkt->scan.at;

        if (c >= 'a' && c <= 'z')
            c = (char)(c - 'a' + 'A');
        if (c < 'A' || c > 'Z')
            break;
        if (length + 1 < room)
            out[length++] = c;
        wkt->scan.at++;
    }
    out[length] = '\0';
}

static enum tw_status read_number(struct wkt *wkt, double *out, const char *what)
{
    enum tw_scanned scanned;

    tw_scan_spaces(&wkt->scan);
    scanned = tw_scan_number(&wkt->scan, out);
    return scanned == TW_SCANNED ? TW_OK : tw_reader_number_fault(wkt->reader, &wkt->scan, scanned, what);
}

static enum tw_status read_point(struct wkt *wkt, struct tw_vec *out)
{
    enum tw_status status = read_number(wkt, &out->x, "the x of a point");
    double unused;

    if (status == TW_OK)
        status = read_number(wkt, &out->y, "the y of a point");
    for (int i = 0; i < wkt->extra && status == TW_OK; i++)
        status = read_number(wkt, &unused, "the height or measure of a point");
    return status;
}

static enum tw_status read_line(struct wkt *wkt, enum tw_role role)
{
    struct tw_pen *pen = &wkt->reader->pen;
    bool first = true;

    if (!take(wkt, '('))
        return wanted(wkt, "'(' and the points of a ring");
    pen->line = wkt->scan.line;
    pen->role = role;
    do {
        struct tw_vec at;
        enum tw_status status = read_point(wkt, &at);

        if (status != TW_OK)
            return status;
        if (first)
            tw_pen_move(pen, at);
        else
            tw_pen_line(pen, at);
        first = false;
        if (pen->status != TW_OK)
            return pen->status;
    } while (take(wkt, ','));
    /* A ring that does not come back to its first point is open: WKT repeats it. */
    tw_pen_end(pen, false);
    return take(wkt, ')') ? TW_OK : wanted(wkt, "',' and a further point, or ')',");
}

static enum tw_status read_polygon(struct wkt *wkt)
{
    enum tw_role role = TW_ROLE_OUTER;

    if (!take(wkt, '('))
        return wanted(wkt, "'(' and the rings of a polygon");
    do {
        enum tw_status status = read_line(wkt, role);

        if (status != TW_OK)
            return status;
        role = TW_ROLE_HOLE;
    } while (take(wkt, ','));
    return take(wkt, ')') ? TW_OK : wanted(wkt, "',' and a further ring, or ')',");
}

static enum tw_status read_multipolygon(struct wkt *wkt)
{
    if (!take(wkt, '('))
        return wanted(wkt, "'(' and a polygon");
    do {
        enum tw_status status = read_polygon(wkt);

        if (status != TW_OK)
            return status;
    } while (take(wkt, ','));
    return take(wkt, ')') ? TW_OK : wanted(wkt, "',' and a further polygon, or ')',");
}

static int extra_numbers(const char *word)
{
    if (strcmp(word, "Z") == 0 || strcmp(word, "M") == 0)
        return 1;
    return strcmp(word, "ZM") == 0 ? 2 : 0;
}

static enum tw_status read_body(struct wkt *wkt, const char *type)
{
    if (strcmp(type, "POLYGON") == 0)
        return read_polygon(wkt);
    if (strcmp(type, "MULTIPOLYGON") == 0)
        return read_multipolygon(wkt);
    return read_line(wkt, TW_ROLE_ANY);
}

static enum tw_status type_fault(struct wkt *wkt, const struct tw_scan *start, const char *type)
{
    char seen[40];

    return tw_fail(wkt->reader->findings, TW_BAD_INPUT, tw_reader_place(wkt->reader, start->line),
                   "a WKT drawing begins with POLYGON, MULTIPOLYGON or LINESTRING, not with %s%s",
                   tw_scan_seen(start, seen),
                   type[0] ? "; draw the outline as one POLYGON, holes as its inner rings"
                           : "; is it of another format? Then name it in outline.format");
}

static enum tw_status read_geometry(struct wkt *wkt)
{
    char type[24], word[8];
    struct tw_scan start;

    tw_scan_spaces(&wkt->scan);
    start = wkt->scan;
    take_word(wkt, type, sizeof type);
    if (strcmp(type, "POLYGON") != 0 && strcmp(type, "MULTIPOLYGON") != 0 && strcmp(type, "LINESTRING") != 0)
        return type_fault(wkt, &start, type);
    take_word(wkt, word, sizeof word);
    wkt->extra = extra_numbers(word);
    if (wkt->extra > 0)
        take_word(wkt, word, sizeof word);
    if (strcmp(word, "EMPTY") == 0)
        return tw_fail(wkt->reader->findings, TW_BAD_INPUT, tw_reader_place(wkt->reader, start.line),
                       "%s EMPTY holds no outline; export the drawing again", type);
    return read_body(wkt, type);
}

enum tw_status tw_read_wkt(struct tw_reader *reader)
{
    struct wkt wkt = { .reader = reader, .scan = { reader->text, reader->text + reader->length, 1 } };
    enum tw_status status = tw_reader_unit_from_job(reader, "a WKT drawing");

    tw_reader_pick_nothing(reader, "a WKT drawing");
    if (status == TW_OK)
        status = read_geometry(&wkt);
    if (status != TW_OK)
        return status;
    take(&wkt, ';');
    tw_scan_spaces(&wkt.scan);
    return wkt.scan.at == wkt.scan.end ? TW_OK : wanted(&wkt, "nothing more (one geometry is read)");
}
