/* read.c - from a file to the outline: format, reader, chains, choice. */
#include "base/file.h"
#include "outline/corners.h"
#include "outline/read.h"
#include "outline/reader.h"
#include "outline/rings.h"

#include <stdio.h>
#include <string.h>

static const struct {
    const char *ending;
    enum tw_drawing_format format;
} endings[] = {
    { ".wkt", TW_DRAWING_WKT }, { ".geojson", TW_DRAWING_GEOJSON }, { ".json", TW_DRAWING_GEOJSON },
    { ".svg", TW_DRAWING_SVG }, { ".dxf", TW_DRAWING_DXF },         { ".csv", TW_DRAWING_CSV },
    { ".txt", TW_DRAWING_CSV }, { ".xy", TW_DRAWING_CSV },
};

static bool same_letters(const char *a, const char *lower)
{
    for (; *a && *lower; a++, lower++)
        if ((*a >= 'A' && *a <= 'Z' ? *a - 'A' + 'a' : *a) != *lower)
            return false;
    return *a == *lower;
}

bool tw_outline_is_drawing_name(const char *name)
{
    const char *dot = strrchr(name, '.');

    for (size_t i = 0; dot && i < sizeof endings / sizeof *endings; i++)
        if (same_letters(dot, endings[i].ending))
            return true;
    return false;
}

static enum tw_status find_format(const struct tw_drawing *drawing, enum tw_drawing_format *out,
                                  struct tw_findings *findings)
{
    const char *slash = strrchr(drawing->path, '/');
    const char *dot = strrchr(slash ? slash : drawing->path, '.');
    struct tw_place at = { .file = drawing->path };

    *out = drawing->format;
    if (drawing->format != TW_DRAWING_BY_NAME)
        return TW_OK;
    for (size_t i = 0; dot && i < sizeof endings / sizeof *endings; i++)
        if (same_letters(dot, endings[i].ending)) {
            *out = endings[i].format;
            return TW_OK;
        }
    return tw_fail(findings, TW_BAD_INPUT, at,
                   "the file's ending \"%.20s\" names no drawing; .wkt, .geojson, .json, .svg, .dxf, .csv, "
                   ".txt and .xy are read; rename it, or name the format in outline.format",
                   dot ? dot : "");
}

static enum tw_status run_reader(struct tw_reader *reader, enum tw_drawing_format format)
{
    switch (format) {
    case TW_DRAWING_WKT:
        return tw_read_wkt(reader);
    case TW_DRAWING_GEOJSON:
        return tw_read_geojson(reader);
    case TW_DRAWING_SVG:
        return tw_read_svg(reader);
    case TW_DRAWING_DXF:
        return tw_read_dxf(reader);
    default:
        return tw_read_csv(reader);
    }
}

static bool is_blank(const char *text, size_t length)
{
    for (size_t i = 0; i < length; i++)
        if (!tw_scan_is_space(text[i]))
            return false;
    return true;
}

/* A knife's outline in points a micrometre apart is not so large. */
#define LARGEST_DRAWING_BYTES ((size_t)16 << 20)

/* A file that holds no text of any of the formats. */
static enum tw_status check_text(const struct tw_reader *reader, enum tw_drawing_format format)
{
    struct tw_place at = tw_reader_place(reader, 0);
    const unsigned char *bytes = (const unsigned char *)reader->text;

    if (reader->length > LARGEST_DRAWING_BYTES)
        return tw_fail(reader->findings, TW_BAD_INPUT, at,
                       "the file is larger than %zu MiB; export the outline alone, with fewer points",
                       LARGEST_DRAWING_BYTES >> 20);
    if (is_blank(reader->text, reader->length))
        return tw_fail(reader->findings, TW_BAD_INPUT, at, "the file is empty; export the drawing again");
    if (reader->length >= 2 && format != TW_DRAWING_SVG &&
        ((bytes[0] == 0xFF && bytes[1] == 0xFE) || (bytes[0] == 0xFE && bytes[1] == 0xFF)))
        return tw_fail(reader->findings, TW_BAD_INPUT, at, "the file is in UTF-16; save it as UTF-8 or plain text");
    return TW_OK;
}

static void skip_byte_order_mark(struct tw_reader *reader)
{
    if (reader->length >= 3 && memcmp(reader->text, "\xEF\xBB\xBF", 3) == 0) {
        reader->text += 3;
        reader->length -= 3;
    }
}

enum tw_status tw_sketch_read(const struct tw_drawing *drawing, struct tw_sketch *sketch, struct tw_findings *findings)
{
    struct tw_reader reader = { .drawing = drawing, .sketch = sketch, .findings = findings };
    struct tw_text text = { 0 };
    enum tw_drawing_format format;
    enum tw_status status = find_format(drawing, &format, findings);

    if (status == TW_OK)
        status = tw_file_read(drawing->path, &text, findings);
    if (status == TW_OK) {
        reader.text = text.data;
        reader.length = text.length;
        reader.pen = (struct tw_pen){ .sketch = sketch,
                                      .findings = findings,
                                      .file = drawing->path,
                                      .tolerance_mm = drawing->chord_tolerance_mm,
                                      .to_mm = tw_affine_identity() };
        status = check_text(&reader, format);
    }
    if (status == TW_OK) {
        skip_byte_order_mark(&reader);
        status = run_reader(&reader, format);
    }
    tw_text_free(&text);
    return status;
}

/* Width and height of all strokes together. */
static void measure(const struct tw_sketch *sketch, double *width_mm, double *height_mm)
{
    struct tw_point low = { HUGE_VAL, HUGE_VAL }, high = { -HUGE_VAL, -HUGE_VAL };

    for (size_t i = 0; i < sketch->stroke_count; i++)
        for (size_t k = 0; k < sketch->strokes[i].count; k++) {
            struct tw_point p = sketch->strokes[i].points[k];

            low = (struct tw_point){ fmin(low.x_mm, p.x_mm), fmin(low.y_mm, p.y_mm) };
            high = (struct tw_point){ fmax(high.x_mm, p.x_mm), fmax(high.y_mm, p.y_mm) };
        }
    *width_mm = high.x_mm - low.x_mm;
    *height_mm = high.y_mm - low.y_mm;
}

static enum tw_status rings_of(const struct tw_drawing *drawing, struct tw_sketch *sketch, struct tw_outline *out,
                               struct tw_findings *findings)
{
    struct tw_found_rings rings = { 0 };
    double width_mm, height_mm;
    enum tw_status status;

    measure(sketch, &width_mm, &height_mm);
    /* Below this size the gap tolerance would swallow what is drawn, so the scale comes first. */
    if (fmax(width_mm, height_mm) < TW_OUTLINE_SMALLEST_MM && sketch->point_count > 2)
        return tw_scale_fault(drawing, sketch, width_mm, height_mm, findings);
    status = tw_chain(drawing, sketch, &rings, findings);
    if (status == TW_OK)
        status = tw_choose_rings(drawing, sketch, &rings, out, findings);
    tw_found_rings_free(&rings);
    return status;
}

enum tw_status tw_outline_read(const struct tw_drawing *drawing, struct tw_outline *out, struct tw_findings *findings)
{
    struct tw_sketch sketch = { 0 };
    enum tw_status status;

    *out = (struct tw_outline){ 0 };
    status = tw_sketch_read(drawing, &sketch, findings);
    if (status == TW_OK)
        status = rings_of(drawing, &sketch, out, findings);
    if (status == TW_OK)
        status = tw_outline_limit_corners(drawing, out, findings);
    tw_sketch_free(&sketch);
    if (status != TW_OK)
        tw_outline_free(out);
    return status;
}
