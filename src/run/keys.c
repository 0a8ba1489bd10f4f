/* keys.c - see keys.h. */
#include "run/keys.h"

#include "tangwright/run.h"

#define COUNT_OF(rows) (sizeof(rows) / sizeof((rows)[0]))
#define TRADE          "common practice, no source"
#define OURS           "judgement"

static const struct tw_word orders[] = { { "by thickness", TW_RUN_BY_THICKNESS },
                                         { "as listed", TW_RUN_AS_LISTED },
                                         { NULL, 0 } };
static const struct tw_word heights[] = { { "by load", TW_RUN_BY_LOAD }, { "by blank", TW_RUN_BY_BLANK }, { NULL, 0 } };
static const struct tw_word tilts[] = { { "one stack", TW_RUN_ONE_STACK },
                                        { "stack by load", TW_RUN_STACK_BY_LOAD },
                                        { NULL, 0 } };

/* clang-format off */
#define LENGTH(low, high) .kind = TW_KIND_MEASURE, .quantity = TW_LENGTH, .unit = "mm", .least = low, .most = high
#define TIME(low, high) .kind = TW_KIND_MEASURE, .quantity = TW_TIME, .unit = "s", .least = low, .most = high
#define TEXT .kind = TW_KIND_TEXT
#define PATH .kind = TW_KIND_PATH
#define WORD(list) .kind = TW_KIND_WORD, .words = list
#define INTO(member) .offset = offsetof(MEMBERS, member)

#define MEMBERS struct tw_run_request
static const struct tw_key run_keys[] = {
    { "name", TEXT, INTO(name), .example = "\"forty pettys\"",
      .meaning = "name of the run, at most 40 bytes; it heads pages and, with the load's number, programs" },
    { "job", PATH, INTO(job_path), .example = "\"job.cfg\"",
      .meaning = "the job that every blank is ground by, relative to the run file" },
    { "stations", TEXT, INTO(stations), .derived = "as many as the job has parts, the first of the fixture", .source = OURS,
      .example = "\"1, 2, 4\"",
      .meaning = "stations of the fixture in use, by their number; the others stay empty" },
    { "table", PATH, INTO(table_path), .derived = "none: blanks stand in the list", .example = "\"blanks.csv\"",
      .source = OURS, .meaning = "a table of blanks, relative to the run file: columns blank, thickness, survey, remark" },
    { "blanks", .kind = TW_KIND_LIST, .derived = "none: blanks stand in the table", .source = OURS,
      .example = "( { number = \"17\"; thickness = \"2.493 mm\"; } )", .meaning = "blanks, one group each: the table below" },
    { "accepted_band", LENGTH(0.001, 0.5), INTO(accepted_mm), .derived = "taper.thickness_band of the job, or 0.05 mm where that is 0 mm",
      .example = "\"0.05 mm\"", .source = OURS,
      .meaning = "blanks up to so much thicker or thinner than the job's ricasso_thickness are ground; others are set aside" },
    { "measured_to", LENGTH(0, 0.1), INTO(micrometer_mm), .preset = "0.003 mm", .source = TRADE,
      .meaning = "how far a measured ricasso may be off: every load is proved on blanks so much thinner than its thinnest and "
                 "so much thicker than its thickest" },
    { "order", WORD(orders), INTO(order), .preset = "by thickness", .source = OURS,
      .meaning = "by thickness: blanks of like thickness share a load, where they differ by more than they are measured to; "
                 "as listed: in the order of the list" },
    { "heights", WORD(heights), INTO(heights), .preset = "by load", .source = OURS,
      .meaning = "by load: flat blanks of a load share one program a side, for the middle of their thicknesses; by blank: a "
                 "program for each blank, at its own heights. Surveyed blanks always have their own" },
    { "tilt", WORD(tilts), INTO(tilt), .preset = "one stack", .source = OURS,
      .meaning = "tilted mount only; one stack: the same slope and stack for the whole run, and the butt comes out as much "
                 "thicker as the blanks of a load are; stack by load: the butts of each load come out as the job says, by a slope "
                 "and a stack of the load's own" },
    { "loading_time", TIME(0, 3600), INTO(loading_s), .preset = "60 s", .source = OURS,
      .meaning = "to take one blank off the fixture, or turn it over, and lay one in: wiped, pushed home, packed" },
    { "wheel_left", LENGTH(0, 500), INTO(wheel_left_mm), .preset = "0 mm", .example = "\"4 mm\"", .source = OURS,
      .meaning = "of the wheel's height (cup) or radius (disc), how much may still be used up as the run begins; from it the wheels "
                 "that the run takes are counted; 0 mm: not given" },
    { "wheel_new", LENGTH(0, 500), INTO(wheel_new_mm), .preset = "0 mm", .example = "\"6 mm\"", .source = OURS,
      .meaning = "the same of a new wheel; 0 mm: as much as wheel_left" },
    { "dressing_takes", LENGTH(0, 5), INTO(dressing_mm), .preset = "0.02 mm", .source = TRADE,
      .meaning = "of the wheel's height or radius, by one dressing" },
    { "gauge", LENGTH(0.0001, 0.1), INTO(gauge_mm), .preset = "0.002 mm", .source = OURS,
      .meaning = "standard uncertainty of the gauge that finished parts are measured with; what is smaller is not corrected" },
};
#undef MEMBERS

#define MEMBERS struct tw_run_blank
static const struct tw_key blank_keys[] = {
    { "number", TEXT, INTO(number), .example = "\"17\"", .meaning = "what is written on the blank, at most 19 bytes; no two alike" },
    { "thickness", LENGTH(0.1, 250), INTO(thickness_mm), .derived = "from its survey, where that tells it", .source = OURS,
      .example = "\"2.493 mm\"", .meaning = "of its ricasso, measured" },
    { "survey", PATH, INTO(survey), .derived = "none: it counts as flat", .source = OURS, .example = "\"surveys/17.csv\"",
      .meaning = "how it lies, measured (docs/survey.md); relative to the run file, in a table relative to the table" },
    { "remark", TEXT, INTO(remark), .derived = "none", .source = OURS, .example = "\"nick at the heel\"",
      .meaning = "what the operator should know; it stands on the pages" },
};
#undef MEMBERS
/* clang-format on */

const struct tw_group tw_run_group = { "run", false, 0, run_keys, COUNT_OF(run_keys), "the run" };
const struct tw_group tw_run_blank_group = { "run.blanks[]", false, 0, blank_keys, COUNT_OF(blank_keys), "one blank" };
