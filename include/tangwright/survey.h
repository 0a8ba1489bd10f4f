/* survey.h - how one blank really lies: heights of both its faces, measured with an indicator.
 *
 * A survey is a table of text. Its first line names the columns, with their units:
 *
 *     x [mm], a [mm], b [mm]              heights of face A and face B
 *     x [mm], thickness [mm], bow [mm]    thickness, and height of the middle between the faces
 *     ..., y [mm]                         where on the width the reading was taken, spine positive
 *
 * Heights grow out of the steel: `a` is read with side A up, `b` with side B up, the blank rolled over about
 * its x axis; a larger reading is more steel. Where the indicator reads zero does not matter, but it must not
 * change within a column. `bow` grows towards side A. A thickness is a thickness, as a micrometer gives it.
 *
 * Rows with x < 0 stand on the ricasso and are the reference all others are measured from. Rows alike in x but
 * not in y show twist. A cell may carry its own unit ("0.12 mm"); a column without a unit in the heading must.
 * Comma, semicolon or tab parts the cells, # begins a comment, blank lines and a byte order mark are skipped.
 *
 * Units   mm, in the part frame (taper.h): x from the taper start towards the butt.
 * Memory  a tw_survey owns what it points to: tw_survey_free().
 * Errors  TW_BAD_INPUT, one finding for every line that cannot be used; TW_IO; TW_NO_MEMORY. *out is then empty
 *         but for what is said below. */
#ifndef TANGWRIGHT_SURVEY_H
#define TANGWRIGHT_SURVEY_H

#include "tangwright/findings.h"

#include <stdbool.h>
#include <stddef.h>

#define TW_SURVEY_ROWS_MOST 2000

/* What the heights are measured from. */
enum tw_survey_reference {
    TW_REFERENCE_RICASSO, /* the line through the readings on the ricasso: the blank may lie askew */
    TW_REFERENCE_PLATE    /* the ricasso lay flat on the plate: only its height counts, not its slope */
};

struct tw_survey_row {
    double x_mm;
    double y_mm; /* 0 without a y column */
    double a_mm; /* outwards; of a thickness and a bow: half the thickness plus the bow */
    double b_mm;
    int line;
};

struct tw_survey {
    char *path;           /* NULL: there is no survey, the blank counts as flat */
    double resolution_mm; /* of the indicator (and the micrometer), > 0 */
    enum tw_survey_reference reference;
    bool thickness_known;       /* thickness and bow were measured, not two heights */
    bool across;                /* there is a y column */
    struct tw_survey_row *rows; /* by rising x, then rising y */
    size_t count;
};

/* Reads the table at `path` into out->rows and what follows from it; resolution and reference stay as they are,
 * and older rows are released. out->path is then a copy of `path`. On failure there are no rows.
 *
 * Faults: no or an unknown heading, a column twice or missing, a cell that is no length, x beyond 1 m, heights
 * beyond 100 mm, thickness not within 0.1 to 50 mm, the same place twice, more than TW_SURVEY_ROWS_MOST rows,
 * no row on the ricasso (or all of them at one x, where the ricasso is the reference), fewer than three places
 * along the tang. */
enum tw_status tw_survey_read(const char *path, struct tw_survey *out, struct tw_findings *findings);

/* Turns y over: a survey counts it towards the spine, the part frame away from it where the spine lies to its -y. */
void tw_survey_turn_over(struct tw_survey *survey);

void tw_survey_free(struct tw_survey *survey);

#endif
