/* reader.h - what every format's reader is given, and what they share.
 *
 * A reader takes the whole text of a drawing and fills the sketch with strokes in mm. It says itself what is
 * wrong; which ring is the outline, and whether the rings are sound, is decided afterwards (rings.h). */
#ifndef TANGWRIGHT_OUTLINE_READER_H
#define TANGWRIGHT_OUTLINE_READER_H

#include "outline/pen.h"
#include "outline/scan.h"

struct tw_reader {
    const struct tw_drawing *drawing;
    const char *text; /* zero-terminated */
    size_t length;
    struct tw_sketch *sketch;
    struct tw_findings *findings;
    struct tw_pen pen;
    bool pick_seen; /* the label the job picks stands somewhere in the drawing */
};

enum tw_status tw_read_wkt(struct tw_reader *reader);
enum tw_status tw_read_geojson(struct tw_reader *reader);
enum tw_status tw_read_svg(struct tw_reader *reader);
enum tw_status tw_read_dxf(struct tw_reader *reader);
enum tw_status tw_read_csv(struct tw_reader *reader);

struct tw_place tw_reader_place(const struct tw_reader *reader, int line);

/* For formats that carry no unit: takes it from the job and sets the pen's map, or says what is missing.
 * `format_name` as in "a WKT drawing". */
enum tw_status tw_reader_unit_from_job(struct tw_reader *reader, const char *format_name);

/* For a drawing that carries its unit: refuses one named otherwise by the job. `how` says where the drawing
 * carries it, such as "$INSUNITS 1". */
enum tw_status tw_reader_unit_from_drawing(struct tw_reader *reader, int line, double mm_per_unit, const char *how);

/* Fault for a number that cannot be read; `what` as in "the x of a point". */
enum tw_status tw_reader_number_fault(struct tw_reader *reader, const struct tw_scan *scan, enum tw_scanned scanned,
                                      const char *what);

/* Does this label answer to the job's pick? True when the job picks nothing. Several labels may be
 * picked, with commas between them. */
bool tw_reader_picks(struct tw_reader *reader, const char *label);

/* For formats that name nothing: all counts, and a remark says so when the job picks. */
void tw_reader_pick_nothing(struct tw_reader *reader, const char *format_name);

#endif
