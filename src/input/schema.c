/* schema.c - the tables of keys. Everything a person may write stands here, and only here. */
#include "input/schema.h"

#include <string.h>

#define COUNT_OF(rows) (sizeof(rows) / sizeof((rows)[0]))
#define TRADE          "common practice, no source"
#define OURS           "judgement"

static const struct tw_word formats[] = {
    { "by name", TW_DRAWING_BY_NAME },
    { "wkt", TW_DRAWING_WKT },
    { "geojson", TW_DRAWING_GEOJSON },
    { "svg", TW_DRAWING_SVG },
    { "dxf", TW_DRAWING_DXF },
    { "csv", TW_DRAWING_CSV },
    { NULL, 0 },
};
static const struct tw_word directions_drawn[] = {
    { "by shape", TW_TOWARDS_BY_SHAPE }, { "right", TW_TOWARDS_RIGHT }, { "up", TW_TOWARDS_UP },
    { "left", TW_TOWARDS_LEFT },         { "down", TW_TOWARDS_DOWN },   { NULL, 0 }
};
static const struct tw_word ways_of_y[] = { { "y up", 0 }, { "y down", 1 }, { NULL, 0 } };
static const struct tw_word orders[] = { { "as-needed", TW_ORDER_AS_NEEDED },
                                         { "a-then-b", TW_ORDER_A_THEN_B },
                                         { "rough-then-finish", TW_ORDER_ROUGH_THEN_FINISH },
                                         { NULL, 0 } };
static const struct tw_word heights[] = { { "shared", TW_HEIGHTS_SHARED },
                                          { "by-blank", TW_HEIGHTS_BY_BLANK },
                                          { NULL, 0 } };
static const struct tw_word mounts[] = { { "level", TW_MOUNT_LEVEL }, { "tilted", TW_MOUNT_TILTED }, { NULL, 0 } };
static const struct tw_word flash_limits[] = { { "strict", TW_FLASH_STRICT },
                                               { "equivalent", TW_FLASH_EQUIVALENT },
                                               { NULL, 0 } };
static const struct tw_word spindles[] = { { "vertical", TW_SPINDLE_VERTICAL },
                                           { "horizontal", TW_SPINDLE_HORIZONTAL },
                                           { NULL, 0 } };
static const struct tw_word directions[] = { { "clockwise", 0 }, { "counterclockwise", 1 }, { NULL, 0 } };
static const struct tw_word program_units[] = { { "mm", 0 }, { "inch", 1 }, { NULL, 0 } };
static const struct tw_word path_modes[] = {
    { "unset", TW_PATH_UNSET },
    { "G61", TW_PATH_EXACT },
    { "G61.1", TW_PATH_EXACT_STOP },
    { "G64", TW_PATH_BLENDED },
    { NULL, 0 },
};
static const struct tw_word dwell_words[] = {
    { "P seconds", TW_DWELL_P_SECONDS },
    { "P milliseconds", TW_DWELL_P_MILLISECONDS },
    { "X seconds", TW_DWELL_X_SECONDS },
    { NULL, 0 },
};
static const struct tw_word coolant_codes[] = { { "none", 0 }, { "M7", 7 }, { "M8", 8 }, { NULL, 0 } };
static const struct tw_word end_codes[] = { { "M2", 2 }, { "M30", 30 }, { NULL, 0 } };
static const struct tw_word wheel_kinds[] = { { "disc", TW_WHEEL_DISC }, { "cup", TW_WHEEL_CUP }, { NULL, 0 } };
static const struct tw_word abrasives[] = { { "alumina", TW_ABRASIVE_ALUMINA },
                                            { "cbn", TW_ABRASIVE_CBN },
                                            { NULL, 0 } };
static const struct tw_word rim_states[] = { { "fresh", TW_RIM_FRESH }, { "worn-in", TW_RIM_WORN_IN }, { NULL, 0 } };
static const struct tw_word coolant_kinds[] = {
    { "dry", TW_COOLANT_DRY }, { "mist", TW_COOLANT_MIST }, { "flood", TW_COOLANT_FLOOD }, { NULL, 0 }
};
static const struct tw_word keep_out_kinds[] = {
    { "clamp", TW_KEEP_OUT_CLAMP },
    { "pin", TW_KEEP_OUT_PIN },
    { "pad", TW_KEEP_OUT_PAD },
    { "body", TW_KEEP_OUT_BODY },
    { NULL, 0 },
};
static const struct tw_word work_offsets[] = {
    { "G54", 1 }, { "G55", 2 },   { "G56", 3 },   { "G57", 4 },   { "G58", 5 },
    { "G59", 6 }, { "G59.1", 7 }, { "G59.2", 8 }, { "G59.3", 9 }, { NULL, 0 },
};

static const struct tw_word ground_faces[] = { { "both", 0 }, { "a", 1 }, { NULL, 0 } };
static const struct tw_word references[] = { { "ricasso", TW_REFERENCE_RICASSO },
                                             { "plate", TW_REFERENCE_PLATE },
                                             { NULL, 0 } };
static const struct tw_word block_sets[] = { { "metric 87", TW_BLOCKS_METRIC_87 },
                                             { "metric 88", TW_BLOCKS_METRIC_88 },
                                             { "inch 81", TW_BLOCKS_INCH_81 },
                                             { NULL, 0 } };
static const struct tw_word packings[] = { { "shims", TW_PACKING_SHIMS },
                                           { "steel wedge", TW_PACKING_STEEL },
                                           { NULL, 0 } };
static const struct tw_word height_zeros[] = { { "pad", TW_ZERO_PAD }, { "ricasso", TW_ZERO_RICASSO }, { NULL, 0 } };
static const struct tw_word relief_sides[] = {
    { "both", TW_RELIEF_BOTH }, { "a", TW_RELIEF_A }, { "b", TW_RELIEF_B }, { NULL, 0 }
};
static const struct tw_word relief_times[] = {
    { "auto", TW_RELIEF_AUTO }, { "first", TW_RELIEF_FIRST }, { "last", TW_RELIEF_LAST }, { NULL, 0 }
};
static const struct tw_word in_places[] = {
    { "both", TW_IN_PLACE_BOTH }, { "a", TW_IN_PLACE_A }, { "b", TW_IN_PLACE_B }, { NULL, 0 }
};
static const struct tw_word balance_places[] = {
    { "ahead of taper start", TW_AHEAD_OF_START },
    { "behind taper start", TW_BEHIND_START },
    { "behind tip", TW_BEHIND_TIP },
    { "ahead of butt", TW_AHEAD_OF_BUTT },
    { NULL, 0 },
};
static const struct tw_word materials[] = {
#define MATERIAL_WORD(id, word, density, low, high, source) { word, id },
    TW_MATERIALS(MATERIAL_WORD)
#undef MATERIAL_WORD
        { NULL, 0 },
};

/* One key, a few lines that read alike. */
/* clang-format off */
#define LENGTH(low, high) .kind = TW_KIND_MEASURE, .quantity = TW_LENGTH, .unit = "mm", .least = low, .most = high
#define MEASURE(of, in, low, high) .kind = TW_KIND_MEASURE, .quantity = of, .unit = in, .least = low, .most = high
#define RATIO(low, high) .kind = TW_KIND_RATIO, .least = low, .most = high
#define COUNT(low, high) .kind = TW_KIND_COUNT, .least = low, .most = high
#define TEXT .kind = TW_KIND_TEXT
#define FLAG .kind = TW_KIND_FLAG
#define WORD(list) .kind = TW_KIND_WORD, .words = list
#define WORD_FLAG(list) .kind = TW_KIND_WORD_FLAG, .words = list
#define POINT .kind = TW_KIND_POINT, .quantity = TW_LENGTH, .unit = "mm", .least = -10000, .most = 10000
#define INTO(member) .offset = offsetof(MEMBERS, member)

#define MEMBERS struct tw_job
static const struct tw_key job_keys[] = {
    { "name", TEXT, INTO(name), .example = "\"petty-150\"",
      .meaning = "name of the job; it heads programs and reports" },
    { "mount", WORD(mounts), INTO(mount), .preset = "level", .source = TRADE,
      .meaning = "level: the blank lies parallel to the table and the machine follows the slope; tilted: a sine plate "
                 "or wedge brings the finished face level" },
    { "order", WORD(orders), INTO(order), .preset = "rough-then-finish", .source = OURS,
      .meaning = "rough-then-finish: roughing A, roughing B, a measurement, finishing A, finishing B; the measurement cures "
                 "wear, drift, spring-back and wrong touching off alike, and a hardened tang bows less where not all the stock "
                 "comes off one face first; a-then-b: each side in one program, which saves laying it in twice more; as-needed: "
                 "a-then-b, but rough-then-finish where the wheel's wear would leave the thickness less certain than "
                 "finish.thickness_tolerance. Without finishing layers (finish.layers), and where the fixture has a rest that rises "
                 "for side B alone, each side is one program" },
    { "faces", WORD_FLAG(ground_faces), INTO(one_face), .preset = "both", .source = OURS,
      .meaning = "which faces are ground; a: side A alone, as of a bar or a wedge, whose thickness then falls half as fast" },
    { "parts", COUNT(1, 9), INTO(parts), .preset = "1", .source = OURS,
      .meaning = "blanks ground in one go, one on each of the fixture's first stations" },
    { "blanks", .kind = TW_KIND_LIST, INTO(blanks), .derived = "all parts are alike", .source = OURS,
      .example = "( { thickness = \"2.484 mm\"; }, { thickness = \"2.491 mm\"; } )",
      .meaning = "the blank on each station in use, as measured: a list of groups, one for each part. The dry-run proves the "
                 "programs on them as they are; tangwright run writes it" },
    { "heights", WORD(heights), INTO(heights), .preset = "shared", .source = OURS,
      .meaning = "shared: one height for all parts; by-blank: each part by its own thickness and survey, in programs that "
                 "tangwright run makes" },
    { "longest_time", MEASURE(TW_TIME, "h", 0.1, 1000), INTO(longest_s), .preset = "8 h", .source = OURS,
      .meaning = "a plan that takes longer than this for one part, all its programs together, is refused" },
    { "confirmed", TEXT, INTO(confirmed), .derived = "nothing unlikely is meant", .example = "\"tang 240 mm\"",
      .source = OURS,
      .meaning = "unlikely sizes that are right, written as in the question about them, with commas between them" },
};
#undef MEMBERS

#define MEMBERS struct tw_outline_request
static const struct tw_key outline_keys[] = {
    { "file", .kind = TW_KIND_PATH, INTO(path), .example = "\"outline.svg\"",
      .meaning = "the drawing of the knife or of its tang alone, relative to the job file" },
    { "format", WORD(formats), INTO(drawing.format), .preset = "by name", .source = OURS,
      .meaning = "format of the drawing; by name: from the ending .wkt, .geojson or .json, .svg, .dxf, .csv" },
    { "unit", LENGTH(0.0001, 100000), INTO(drawing.unit_mm), .derived = "what the drawing says of itself",
      .example = "\"1 mm\"", .source = OURS,
      .meaning = "length of one drawing unit, for drawings that do not carry their unit; a drawing that does, as "
                 "a CSV by a heading `x [mm], y [mm]`, is refused if this disagrees" },
    { "pick", TEXT, INTO(pick), .derived = "the only ring there is", .example = "\"knife\"", .source = OURS,
      .meaning = "which outline to take when the drawing holds several: SVG id, DXF layer, GeoJSON id or name; closed "
                 "rings inside it are its holes" },
    { "chord_tolerance", LENGTH(0.0001, 0.5), INTO(drawing.chord_tolerance_mm), .preset = "0.01 mm", .source = OURS,
      .meaning = "curves are replaced by chords nowhere farther away than this" },
    { "gap_tolerance", LENGTH(0, 5), INTO(drawing.gap_tolerance_mm), .preset = "0.05 mm", .source = OURS,
      .meaning = "ends nearer to each other than this are joined, and a remark says so" },
    { "points", WORD_FLAG(ways_of_y), INTO(y_down), .preset = "y up", .source = OURS,
      .meaning = "how taper_start and axis_towards are written; y down: as an SVG drawing program shows them; for other "
                 "drawings y up only" },
    { "taper_start", POINT, INTO(start), .preset = "0 mm", .source = OURS, .example = "[\"120 mm\", \"14 mm\"]",
      .meaning = "a point of the taper axis in the drawing's own frame (x right, y as points says): the taper begins "
                 "there" },
    { "axis_towards", POINT, INTO(towards), .derived = "axis_angle decides", .source = OURS,
      .example = "[\"230 mm\", \"10 mm\"]",
      .meaning = "another point of the taper axis, nearer the butt; give it or axis_angle, not both" },
    { "axis_angle", MEASURE(TW_ANGLE, "deg", -360, 360), INTO(angle_rad), .preset = "0 deg", .source = OURS,
      .example = "\"-2 deg\"",
      .meaning = "direction of the taper axis towards the butt, counterclockwise from the drawing's x" },
    { "mirrored", FLAG, INTO(mirrored), .preset = "false", .source = OURS,
      .meaning = "true: the drawing shows the knife from side B" },
    { "butt", WORD(directions_drawn), INTO(told.butt), .preset = "by shape", .source = OURS,
      .meaning = "where the butt lies in the drawing as it is looked at; needed where the shape seems to say otherwise, "
                 "and refused where the taper axis runs another way" },
    { "spine", WORD(directions_drawn), INTO(told.spine), .preset = "by shape", .source = OURS,
      .meaning = "where the spine lies in the drawing as it is looked at; for a tang alone, or where the shape does not "
                 "tell it from the edge" },
    { "tang_width", LENGTH(2, 300), INTO(told.tang_width_mm), .derived = "not told", .example = "\"31 mm\"",
      .source = OURS, .meaning = "greatest width behind the taper start, measured; must agree with the drawing within 1 mm, "
                                 "and confirms a tang that is much wider somewhere" },
    { "askew", MEASURE(TW_ANGLE, "deg", 0, 80), INTO(told.askew_rad), .derived = "not told", .example = "\"15 deg\"",
      .source = OURS, .meaning = "confirms that the tang's middle runs at this angle to the taper axis, within 3 deg" },
    { "pins_ahead", COUNT(1, 40), INTO(told.pins_ahead), .derived = "not told", .example = "1", .source = OURS,
      .meaning = "confirms that so many pin holes lie ahead of the taper start, through a bolster, and others behind it" },
    { "windows", COUNT(1, 40), INTO(told.windows), .derived = "not told", .example = "1", .source = OURS,
      .meaning = "confirms that so many large windows are cut through the steel, as of a skeleton handle" },
};
#undef MEMBERS

#define MEMBERS struct tw_taper
static const struct tw_key taper_keys[] = {
    { "ricasso_thickness", LENGTH(0.1, 250), INTO(ricasso_mm), .example = "\"3.7 mm\"", .source = OURS,
      .meaning = "thickness of the blank, measured at the ricasso; see thickness_band" },
    { "butt_thickness", LENGTH(0.05, 250), INTO(butt_mm), .example = "\"1.7 mm\"", .source = OURS,
      .meaning = "finished thickness at the far end of the taper" },
    { "length", LENGTH(5, 500), INTO(length_mm), .derived = "where the outline ends", .source = OURS,
      .example = "\"110 mm\"",
      .meaning = "from the taper start to where butt_thickness is reached, along the taper axis" },
    { "smallest_thickness", LENGTH(0.1, 20), INTO(smallest_mm), .preset = "1 mm", .source = OURS,
      .meaning = "no part of the tang may come out thinner" },
    { "thickness_band", LENGTH(0, 0.5), INTO(band_mm), .preset = "0.05 mm",
      .source = "ground flat stock is sold to within +-0.025 mm, rolled to +-0.08 to 0.15 mm: common practice, no source",
      .meaning = "blanks up to so much thinner or thicker than ricasso_thickness are accepted; 0 mm: this one was measured. "
                 "A surveyed blank is one blank: then 0 mm unless it is given" },
    { "height_zero", WORD(height_zeros), INTO(zero), .preset = "pad", .source = OURS,
      .meaning = "what the program's height counts from; pad: the fixture's datum pad, and a thicker blank is tapered from "
                 "farther ahead and comes out thinner at the butt; ricasso: the ricasso's upper face, touched off on every "
                 "blank at the taper start, and the butt comes out off by as much as the blank" },
};
#undef MEMBERS

#define MEMBERS struct tw_finish
static const struct tw_key finish_keys[] = {
    { "flatness", LENGTH(0.001, 0.2), INTO(flatness_mm), .preset = "0.01 mm", .source = OURS,
      .meaning = "largest unevenness of a face, and largest stock left above the target" },
    { "thickness_tolerance", LENGTH(0.004, 1), INTO(thickness_mm), .preset = "0.04 mm",
      .source = "a contract grinder holds 0.013 mm on either side: a supplier's page on grinding; a maker's tang: " OURS,
      .meaning = "how far the finished thickness may be off, half of it from each face; what the wheel's wear leaves uncertain must stay within it" },
    { "allowance", LENGTH(0, 2), INTO(allowance_mm), .preset = "0 mm", .source = OURS,
      .meaning = "stock left on each face for finishing by hand" },
    { "infeed", LENGTH(0.0001, 0.1), INTO(infeed_mm), .preset = "0.005 mm",
      .source = "0.005 to 0.013 mm on hardened tool steel: Machinery's Handbook type tables, from memory",
      .meaning = "largest depth of a finishing layer" },
    { "layers", COUNT(0, 50), INTO(layers), .preset = "2", .source = OURS, .meaning = "number of finishing layers" },
    { "spark_out", COUNT(0, TW_SPARK_OUT_MOST), INTO(spark_out),
      .derived = "as many as bring the spring-back down to a twentieth of flatness", .example = "1",
      .source = "1 to 3 passes: Machinery's Handbook type tables, from memory; a light mill needs more: judgement",
      .meaning = "repeats of the last layer without further infeed, of finishing and of roughing that is measured; "
                 "docs/error-budget.md tells how many are needed" },
};
#undef MEMBERS

#define MEMBERS struct tw_limits
static const struct tw_key heat_keys[] = {
    { "tempering_temperature", MEASURE(TW_TEMPERATURE, "degC", 80, 700), INTO(tempering_degC),
      .derived = "steel.tempering_temperature", .example = "\"200 degC\"", .source = OURS,
      .meaning = "temperature at which this very knife was tempered" },
    { "margin", MEASURE(TW_TEMPERATURE_DIFFERENCE, "K", 0, 300), INTO(margin_K), .preset = "25 K", .source = OURS,
      .meaning = "the steel stays this far below the tempering temperature" },
    { "tempering_time", MEASURE(TW_TIME, "h", 0.02, 100), INTO(tempering_s), .preset = "4 h",
      .source = "twice two hours: common practice, no source",
      .meaning = "how long this knife was tempered, all times together; shorter is the safer assumption" },
    { "flash_limit", WORD(flash_limits), INTO(flash), .preset = "strict", .source = OURS,
      .meaning = "strict: even the millisecond flash under the wheel stays below the limit; equivalent: all flashes at "
                 "a place, added up by the Hollomon-Jaffe parameter, add up to no more than tempering_time at the "
                 "tempering temperature less margin, and none passes 500 degC; the tang itself stays below the limit "
                 "either way" },
    { "energy_reserve", RATIO(1, 3), INTO(energy_reserve), .preset = "1.25", .source = OURS,
      .meaning = "with a wheel that is not calibrated every temperature limit is kept even if its specific energy is so many times what its profile says; for a calibrated one this counts as 1" },
    { "film_reserve", RATIO(1, 5), INTO(film_reserve), .preset = "1.5", .source = OURS,
      .meaning = "a pass counts on the coolant's film only if that would not boil even at so many times the wheel's specific energy, as when the wheel dulls; otherwise it is planned as dry" },
};
#undef MEMBERS

#define MEMBERS struct tw_travel
static const struct tw_key travel_keys[] = {
    { "clear_height", LENGTH(1, 300), INTO(clear_height_mm), .preset = "25 mm", .source = OURS,
      .meaning = "height above the highest of blank, pads, pins and clamps at which the wheel moves across at rapid" },
    { "hop_height", LENGTH(0.05, 300), INTO(hop_height_mm), .preset = "5 mm", .source = OURS,
      .meaning = "the same where the wheel goes round from part to part of a fixture; not above clear_height" },
    { "approach", LENGTH(0.05, 50), INTO(approach_mm), .preset = "1 mm", .source = OURS,
      .meaning = "height above the start of a lane from which the wheel is fed down" },
    { "return_lift", LENGTH(0.05, 50), INTO(return_lift_mm), .preset = "0.4 mm", .source = OURS,
      .meaning = "height over what it has just swept at which the wheel goes back to the next lane, and from which it is fed down there; not above approach" },
    { "overtravel", LENGTH(0, 100), INTO(overtravel_mm), .preset = "2 mm", .source = OURS,
      .meaning = "further run after the wheel has left the stock, so that reversals happen off the part" },
};
#undef MEMBERS

#define MEMBERS struct tw_survey
static const struct tw_key survey_keys[] = {
    { "file", .kind = TW_KIND_PATH, INTO(path), .derived = "none: the blank counts as flat", .example = "\"survey.csv\"",
      .source = OURS,
      .meaning = "table of the heights of both faces, relative to the job file; docs/survey.md tells how to take it" },
    { "resolution", LENGTH(0.0001, 0.5), INTO(resolution_mm), .preset = "0.01 mm",
      .source = "a dial indicator's usual division: " TRADE, .meaning = "smallest step the indicator shows" },
    { "reference", WORD(references), INTO(reference), .preset = "ricasso", .source = OURS,
      .meaning = "what the heights count from; ricasso: the line through the readings at x below 0; plate: the ricasso lay "
                 "flat on the plate, so only its mean height counts" },
};
#undef MEMBERS

#define MEMBERS struct tw_straighten
static const struct tw_key straighten_keys[] = {
    { "cleanup", LENGTH(0, 1), INTO(cleanup_mm), .preset = "0.02 mm", .source = OURS,
      .meaning = "least that comes off each face, so that no spot of the old skin stays" },
    { "cleanup_from", LENGTH(0, 500), INTO(cleanup_from_mm), .preset = "20 mm", .source = OURS,
      .meaning = "x from which cleanup holds; at the taper start itself nothing comes off" },
    { "tolerance", LENGTH(0.001, 2), INTO(tolerance_mm), .preset = "0.05 mm", .source = OURS,
      .meaning = "largest distance of the finished tang's middle from the blade's centre plane" },
    { "largest_tilt", MEASURE(TW_ANGLE, "deg", 0, 2), INTO(largest_tilt_rad), .preset = "0.05 deg", .source = OURS,
      .meaning = "largest angle between the finished tang's middle plane and the blade's; 0 deg: none" },
    { "largest_offset", LENGTH(0, 1), INTO(largest_offset_mm), .preset = "0 mm", .source = OURS,
      .meaning = "largest step of the finished tang's middle at the taper start; 0 mm: none" },
    { "largest_twist", MEASURE(TW_ANGLE, "deg", 0.01, 10), INTO(largest_twist_rad), .preset = "0.5 deg", .source = OURS,
      .meaning = "largest angle across the width between any place along the tang and the ricasso" },
};
#undef MEMBERS

#define MEMBERS struct tw_relief
static const struct tw_key relief_keys[] = {
    { "depth", LENGTH(0.02, 3), INTO(depth_mm), .derived = "no relief", .example = "\"0.3 mm\"", .source = OURS,
      .meaning = "depth of the hollow below the finished face" },
    { "sides", WORD(relief_sides), INTO(sides), .preset = "both", .source = OURS,
      .meaning = "which faces are hollowed" },
    { "land", LENGTH(0.5, 50), INTO(land_mm), .preset = "6 mm", .source = OURS,
      .meaning = "width of the flat rim left along the outline" },
    { "boss", LENGTH(0, 50), INTO(boss_mm), .preset = "3 mm", .source = OURS,
      .meaning = "width of the flat ring left round each hole" },
    { "end", LENGTH(0, 200), INTO(end_mm), .preset = "8 mm", .source = OURS,
      .meaning = "length of the flat left behind the taper start" },
    { "when", WORD(relief_times), INTO(when), .preset = "auto", .source = OURS,
      .meaning = "hollowed before the face is tapered, after it, or whichever is quicker" },
};
#undef MEMBERS

#define MEMBERS struct tw_blank
static const struct tw_key blank_keys[] = {
    { "mass", MEASURE(TW_MASS, "g", 1, 5000), INTO(mass_g), .derived = "not weighed", .example = "\"186 g\"",
      .source = OURS, .meaning = "weighed mass of the blank, holes drilled, before it is tapered" },
    { "balance_point", LENGTH(0, 1000), INTO(balance_mm), .derived = "not measured", .example = "\"38 mm\"",
      .source = OURS, .meaning = "where the blank balances on a round bar, along the taper axis; `measured` says from where" },
    { "measured", WORD(balance_places), INTO(measured), .preset = "ahead of taper start", .source = OURS,
      .meaning = "from where and which way balance_point is measured" },
};
#undef MEMBERS

#define MEMBERS struct tw_handle
static const struct tw_key handle_keys[] = {
    { "scale_thickness", LENGTH(0.5, 50), INTO(scale_mm), .derived = "no handle", .example = "\"8 mm\"",
      .source = OURS, .meaning = "thickness of each of the two scales" },
    { "scale_offset", LENGTH(0, 30), INTO(offset_mm), .preset = "0 mm", .source = OURS,
      .meaning = "by how much the scales stand over the tang's outline all round; not used with scale_outline" },
    { "scale_front", LENGTH(-200, 400), INTO(front_mm), .preset = "0 mm", .source = OURS,
      .meaning = "where the scales begin, behind the taper start; with a minus sign: ahead of it, over the ricasso" },
    { "scale_outline", .kind = TW_KIND_POLYGON, .quantity = TW_LENGTH, .unit = "mm", .least = -10000, .most = 10000,
      INTO(outline), .derived = "the tang's, with scale_offset", .source = OURS,
      .columns = "x, y",
      .example = "( (\"0 mm\", \"-12 mm\"), (\"110 mm\", \"-14 mm\"), (\"110 mm\", \"14 mm\"), (\"0 mm\", \"12 mm\") )",
      .meaning = "the scales' own outline, where it is not the tang's: x from the taper start towards the butt, y "
                 "towards the spine" },
    { "scale_fill", RATIO(0.3, 1), INTO(fill), .preset = "1", .source = OURS,
      .meaning = "share of the flat slab that is left when the handle is shaped; 1: slabs" },
    { "scale_material", WORD(materials), INTO(material), .derived = "scale_density says", .source = OURS,
      .meaning = "what the scales are made of; it gives their density" },
    { "scale_density", MEASURE(TW_DENSITY, "kg/m3", 50, 20000), INTO(density_g_per_mm3),
      .derived = "that of scale_material", .example = "\"1180 kg/m3\"", .source = OURS,
      .meaning = "density of the scales, weighed; where both are given it counts, not scale_material" },
    { "glue_thickness", LENGTH(0, 2), INTO(glue_mm), .preset = "0 mm", .source = OURS,
      .meaning = "bond line under each scale" },
    { "glue_density", MEASURE(TW_DENSITY, "kg/m3", 500, 3000), INTO(glue_density_g_per_mm3), .preset = "1150 kg/m3",
      .source = "cured epoxy, not filled: makers' data sheets, from memory", .meaning = "density of the glue" },
    { "relief_filled", FLAG, INTO(relief_filled), .preset = "true", .source = OURS,
      .meaning = "the relief is full of glue; counts only with a glue_thickness" },
    { "pins", .kind = TW_KIND_LIST, INTO(pins), .derived = "no pins", .source = OURS,
      .example = "( { hole = 1; material = \"brass\"; } )", .meaning = "pins and tubes through the handle: a list of groups" },
};
#undef MEMBERS

#define MEMBERS struct tw_pin
static const struct tw_key pin_keys[] = {
    { "hole", COUNT(1, 999), INTO(hole), .example = "1", .source = OURS,
      .meaning = "number of the hole it goes through: 1 is the nearest to the taper start, and so on towards the butt" },
    { "diameter", LENGTH(0.5, 50), INTO(diameter_mm), .derived = "fills its hole", .example = "\"6 mm\"", .source = OURS,
      .meaning = "outer diameter" },
    { "bore", LENGTH(0, 50), INTO(bore_mm), .derived = "solid", .example = "\"4 mm\"", .source = OURS,
      .meaning = "inner diameter of a tube" },
    { "material", WORD(materials), INTO(material), .derived = "density says", .source = OURS,
      .meaning = "what it is made of; it gives its density" },
    { "density", MEASURE(TW_DENSITY, "kg/m3", 50, 20000), INTO(density_g_per_mm3), .derived = "that of material",
      .example = "\"8440 kg/m3\"", .source = OURS, .meaning = "its density; where both are given it counts, not material" },
};
#undef MEMBERS

#define MEMBERS struct tw_blade
static const struct tw_key blade_keys[] = {
    { "length", LENGTH(5, 1000), INTO(length_mm), .derived = "from the drawing, if it shows the whole knife",
      .example = "\"180 mm\"", .source = OURS, .meaning = "from the tip to the taper start, along the taper axis" },
    { "distal", .kind = TW_KIND_PAIRS, .quantity = TW_LENGTH, .unit = "mm", .least = 0, .most = 1000, INTO(distal),
      .derived = "not measured", .source = OURS, .columns = "behind the tip, thickness",
      .example = "( (\"10 mm\", \"1.2 mm\"), (\"160 mm\", \"2.9 mm\") )",
      .meaning = "the blade's distal taper at the spine: distance behind the tip and thickness there, from the tip on" },
    { "step_limit", LENGTH(0, 5), INTO(step_mm), .preset = "0.05 mm", .source = OURS,
      .meaning = "a sudden step of thickness above this is said to break the flow" },
    { "kink_limit", MEASURE(TW_ANGLE, "deg", 0, 45), INTO(kink_rad), .preset = "1 deg", .source = OURS,
      .meaning = "a bend of one face, seen from the spine, above this is said to break the flow" },
};
#undef MEMBERS

#define MEMBERS struct tw_base_plate
static const struct tw_key plate_keys[] = {
    { "dowel", LENGTH(2, 20), INTO(dowel_mm), .preset = "6 mm", .source = OURS,
      .meaning = "diameter of the dowels that stop the blank" },
    { "pitch", LENGTH(0.01, 50), INTO(pitch_mm), .preset = "1 mm", .source = OURS,
      .meaning = "a stop's middle stands at a whole multiple of this, in x at a long edge, in y at the butt; the other "
                 "coordinate follows from the outline" },
    { "grip", LENGTH(0.2, 10), INTO(grip_mm), .preset = "0.8 mm", .source = OURS,
      .meaning = "least height on which a stop bears on the blank's edge" },
    { "least_clearance", LENGTH(0.1, 10), INTO(least_clearance_mm), .preset = "0.3 mm", .source = OURS,
      .meaning = "the wheel passes over a stop no nearer than this; where the tang leaves room for fixture.clearance, that "
                 "counts" },
    { "larger_blank", LENGTH(0, 2), INTO(larger_mm), .preset = "0.2 mm", .source = OURS,
      .meaning = "a blank so much larger all round, or with a burr so high, must still find its stops" },
    { "start_tolerance", LENGTH(0.01, 5), INTO(start_mm), .preset = "0.2 mm", .source = OURS,
      .meaning = "how far the taper start may lie off its place, for what each stop may be off" },
    { "angle_tolerance", MEASURE(TW_ANGLE, "deg", 0.01, 5), INTO(angle_rad), .preset = "0.2 deg", .source = OURS,
      .meaning = "how far the taper's line may be askew, for what each stop may be off" },
    { "pad_height", LENGTH(3, 18), INTO(pad_height_mm), .preset = "6 mm", .source = OURS,
      .meaning = "the datum pad's face above the plate's" },
    { "blade_width", LENGTH(5, 200), INTO(blade_width_mm), .derived = "as drawn; else three times the width at the taper start",
      .example = "\"45 mm\"", .source = OURS,
      .meaning = "room across for a blade that is not drawn, for the pitch of the stations" },
    { "length", LENGTH(50, 2000), INTO(length_mm), .derived = "as long as the fixture needs", .example = "\"300 mm\"",
      .source = OURS, .meaning = "length of the plate, along the tang" },
    { "width", LENGTH(30, 2000), INTO(width_mm), .derived = "as wide as the fixture needs", .example = "\"200 mm\"",
      .source = OURS, .meaning = "width of the plate, across the tang" },
};
#undef MEMBERS

#define MEMBERS struct tw_machine
static const struct tw_key machine_keys[] = {
    { "name", TEXT, INTO(name), .example = "\"vertical mill\"", .meaning = "name of the machine" },
    { "feed_min", MEASURE(TW_SPEED, "mm/min", 0.01, 100000), INTO(feed_min_mm_per_s), .example = "\"5 mm/min\"",
      .source = OURS, .meaning = "slowest programmable feed" },
    { "feed_max", MEASURE(TW_SPEED, "mm/min", 1, 200000), INTO(feed_max_mm_per_s), .example = "\"3 m/min\"",
      .source = OURS, .meaning = "fastest programmable feed; the table speed never exceeds it" },
    { "smallest_step", LENGTH(0.0001, 0.1), INTO(smallest_step_mm), .example = "\"0.001 mm\"", .source = OURS,
      .meaning = "smallest infeed that the up axis really makes" },
    { "wheel_overhang", LENGTH(0, 500), INTO(wheel_overhang_mm), .preset = "0 mm", .example = "\"60 mm\"",
      .source = OURS, .meaning = "cup: from the face of its rim up to the spindle nose; disc: not used" },
    { "stiffness", MEASURE(TW_STIFFNESS, "N/um", 0.2, 500), INTO(stiffness_N_per_mm),
      .derived = "8 N/um with a vertical spindle, 20 N/um with a horizontal one", .example = "\"8 N/um\"",
      .source = "light gantry 1 to 5, bench mill 5 to 15, knee mill and surface grinder 10 to 30 N/um: judgement",
      .meaning = "force between wheel and part over how far they give way, across the ground face; settled by the dial "
                 "gauge test or by twenty passes of docs/bench-tests.md" },
    { "growth", LENGTH(0, 0.5), INTO(growth_mm), .derived = "0.03 mm with a vertical spindle, 0.01 mm with a horizontal one",
      .example = "\"0.03 mm\"",
      .source = "first hour: small mill 10 to 60 um, surface grinder 5 to 20 um: ISO 230-3 type tests, from memory",
      .meaning = "by how much the cold spindle grows towards the part until it is warm; the warm-up test of "
                 "docs/bench-tests.md settles it" },
    { "growth_time", MEASURE(TW_TIME, "min", 1, 300), INTO(growth_s), .preset = "30 min",
      .source = "20 to 60 min: ISO 230-3 type tests, from memory",
      .meaning = "time constant of that growth: after it 63 % of it has come" },
    { "stiffness_least", MEASURE(TW_STIFFNESS, "N/um", 0.1, 500), INTO(stiffness_least_N_per_mm),
      .derived = "half of stiffness", .example = "\"5 N/um\"", .source = OURS, .meaning = "the least that it may be, for the error budget" },
    { "stiffness_most", MEASURE(TW_STIFFNESS, "N/um", 0.2, 1000), INTO(stiffness_most_N_per_mm),
      .derived = "twice stiffness", .example = "\"15 N/um\"", .source = OURS, .meaning = "the most that it may be, for the error budget" },
};
static const struct tw_key spindle_keys[] = {
    { "axis", WORD(spindles), INTO(spindle), .example = "\"vertical\"",
      .meaning = "vertical: carries a cup; horizontal, along the across direction: carries a disc" },
    { "power", MEASURE(TW_POWER, "W", 10, 50000), INTO(spindle_power_W), .example = "\"750 W\"", .source = OURS,
      .meaning = "power at the wheel, after losses" },
    { "min_speed", MEASURE(TW_ROTATION, "rpm", 1, 100000), INTO(spindle_min_rpm), .example = "\"100 rpm\"",
      .source = OURS, .meaning = "slowest speed" },
    { "max_speed", MEASURE(TW_ROTATION, "rpm", 1, 100000), INTO(spindle_max_rpm), .example = "\"6000 rpm\"",
      .source = OURS, .meaning = "fastest speed; the only one if programmable is false" },
    { "programmable", FLAG, INTO(spindle_programmable), .preset = "true", .source = OURS,
      .meaning = "whether the program sets the speed; false: the spindle has one speed" },
    { "direction", WORD_FLAG(directions), INTO(spindle_counterclockwise), .preset = "clockwise", .source = OURS,
      .meaning = "clockwise starts with M3, counterclockwise with M4" },
    { "up_to_speed", MEASURE(TW_TIME, "s", 0, 300), INTO(spindle_up_to_speed_s), .preset = "5 s", .source = OURS,
      .meaning = "wait after the start until the wheel has its speed" },
    { "head_tilt", MEASURE(TW_ANGLE, "deg", 0, 0.2), INTO(head_tilt_rad), .preset = "0 deg", .source = OURS,
      .meaning = "cup in the tilted mount: the head leans so that the rim's side towards the taper start is the lower one; "
                 "0.03 deg is 0.05 mm in 100 mm" },
    { "nose_diameter", LENGTH(1, 500), INTO(spindle_nose_diameter_mm), .example = "\"60 mm\"", .source = OURS,
      .meaning = "diameter of the spindle nose, which must not touch anything either" },
};
static const struct tw_key program_keys[] = {
    { "unit", WORD_FLAG(program_units), INTO(dialect.inch), .preset = "mm", .source = OURS,
      .meaning = "unit of the program: mm (G21) or inch (G20)" },
    { "length_decimals", COUNT(2, 6), INTO(dialect.length_decimals), .preset = "4", .source = OURS,
      .meaning = "decimals of coordinates" },
    { "feed_decimals", COUNT(0, 4), INTO(dialect.feed_decimals), .preset = "1", .source = OURS,
      .meaning = "decimals of F words (unit per minute); with 0 they have no point" },
    { "file_ending", TEXT, .most = TW_FILE_ENDING_LONGEST, INTO(dialect.file_ending), .preset = "nc", .example = "\"nc\"", .source = TRADE,
      .meaning = "what stands behind the dot in the names of programs: the ending that the control looks for, 1 to 8 "
                 "letters and digits" },
    { "line_numbers", FLAG, INTO(dialect.line_numbers), .preset = "false", .source = OURS,
      .meaning = "whether lines begin with N words" },
    { "line_number_step", COUNT(1, 100), INTO(dialect.line_number_step), .preset = "10", .source = TRADE,
      .meaning = "step from one N word to the next; lines after N99999 have none, and the program says so" },
    { "percent_lines", FLAG, INTO(dialect.percent_lines), .preset = "false", .source = OURS,
      .meaning = "whether a line with % stands before and after the program" },
    { "comments", FLAG, INTO(dialect.comments), .preset = "true", .source = OURS,
      .meaning = "whether the controller takes comments in ( )" },
    { "two_digit_codes", FLAG, INTO(dialect.two_digit_codes), .preset = "false", .source = OURS,
      .meaning = "write G01 instead of G1" },
    { "carriage_returns", FLAG, INTO(dialect.carriage_returns), .preset = "false", .source = OURS,
      .meaning = "end lines with carriage return and line feed" },
    { "cancel_radius", FLAG, INTO(dialect.cancel_radius), .preset = "true", .source = OURS,
      .meaning = "G40 in the first line" },
    { "cancel_length", FLAG, INTO(dialect.cancel_length), .preset = "true", .source = OURS,
      .meaning = "G49 in the first line" },
    { "cancel_cycles", FLAG, INTO(dialect.cancel_cycles), .preset = "true", .source = OURS,
      .meaning = "G80 in the first line" },
    { "select_plane", FLAG, INTO(dialect.select_plane), .preset = "true", .source = OURS,
      .meaning = "G17, G18 or G19 in the first line" },
    { "path_mode", WORD(path_modes), INTO(dialect.path_mode), .preset = "G61", .source = OURS,
      .meaning = "path control in the first line; unset writes none" },
    { "dwell", WORD(dwell_words), INTO(dialect.dwell_word), .preset = "P seconds",
      .source = "NISTIR 6556 (2000), section 3.5.4: G4 P in seconds, from memory",
      .meaning = "the word of a dwell and its unit" },
    { "flood_code", WORD(coolant_codes), INTO(dialect.flood_code), .preset = "M8",
      .source = "NISTIR 6556 (2000), section 3.6: M8 flood, from memory",
      .meaning = "what switches flood on; none: it is switched by hand" },
    { "mist_code", WORD(coolant_codes), INTO(dialect.mist_code), .preset = "M7",
      .source = "NISTIR 6556 (2000), section 3.6: M7 mist, from memory",
      .meaning = "what switches mist on; none: it is switched by hand" },
    { "end_code", WORD(end_codes), INTO(dialect.end_code), .preset = "M2", .source = OURS,
      .meaning = "what ends the program" },
    { "program_stop", FLAG, INTO(dialect.program_stop), .preset = "true",
      .source = "NISTIR 6556 (2000), section 3.6.1: M0 stops, cycle start goes on at the next line",
      .meaning = "whether M0 stops the program so that the wheel can be dressed and touched off before it goes on" },
};
#undef MEMBERS

#define MEMBERS struct tw_axis
static const struct tw_key axis_keys[] = {
    { "letter", .kind = TW_KIND_AXIS, INTO(letter), .example = "\"X\"",
      .meaning = "program word of this direction, X, Y or Z; a minus sign if the word falls where the direction "
                 "rises" },
    { "travel_min", LENGTH(-10000, 10000), INTO(travel_min_mm), .example = "\"-300 mm\"", .source = OURS,
      .meaning = "lower end of the travel, in machine coordinates of the letter" },
    { "travel_max", LENGTH(-10000, 10000), INTO(travel_max_mm), .example = "\"300 mm\"", .source = OURS,
      .meaning = "upper end of the travel, in machine coordinates of the letter" },
    { "rapid", MEASURE(TW_SPEED, "m/min", 0.01, 200), INTO(rapid_mm_per_s), .example = "\"5 m/min\"", .source = OURS,
      .meaning = "speed of G0" },
    { "acceleration", MEASURE(TW_ACCELERATION, "mm/s2", 1, 50000), INTO(acceleration_mm_per_s2),
      .example = "\"500 mm/s2\"", .source = OURS, .meaning = "acceleration of this axis" },
};
#undef MEMBERS

#define MEMBERS struct tw_wheel
static const struct tw_key wheel_keys[] = {
    { "name", TEXT, INTO(name), .example = "\"cup, CBN, 75 mm\"", .meaning = "name of the wheel" },
    { "kind", WORD(wheel_kinds), INTO(kind), .example = "\"cup\"",
      .meaning = "disc: cuts on its periphery (ISO 525 type 1); cup: cuts on its flat rim (types 6 and 11); a mounted "
                 "point that cuts on its end is a cup whose rim_width is half its diameter" },
    { "diameter", LENGTH(1, 600), INTO(diameter_mm), .example = "\"75 mm\"", .source = OURS,
      .meaning = "outer diameter as it is now" },
    { "width", LENGTH(0.5, 200), INTO(width_mm), .example = "\"25 mm\"", .source = OURS,
      .meaning = "disc: width of its periphery; cup: its height (T of ISO 525)" },
    { "rim_width", LENGTH(0, 300), INTO(rim_width_mm), .preset = "0 mm", .example = "\"6 mm\"", .source = OURS,
      .meaning = "cup: width of the rim (W of ISO 525), above zero; disc: not used" },
    { "operating_speed", MEASURE(TW_SPEED, "m/s", 0.5, 200), INTO(operating_speed_mm_per_s), .example = "\"40 m/s\"",
      .source = OURS, .meaning = "maximum operating speed marked on the wheel; never exceeded" },
    { "speed", MEASURE(TW_SPEED, "m/s", 0.5, 200), INTO(speed_mm_per_s), .example = "\"20 m/s\"",
      .source = OURS, .meaning = "wanted surface speed; with a spindle of one speed, what that speed gives" },
    { "min_infeed", LENGTH(0.0001, 0.1), INTO(min_infeed_mm), .example = "\"0.001 mm\"", .source = OURS,
      .meaning = "below this depth the wheel rubs more than it cuts" },
    { "max_infeed", LENGTH(0.0005, 2), INTO(max_infeed_mm), .example = "\"0.025 mm\"", .source = OURS,
      .meaning = "largest depth of one pass" },
    { "max_crossfeed", RATIO(0.01, 1), INTO(max_crossfeed_ratio), .example = "0.3", .source = OURS,
      .meaning = "largest distance between neighbouring lanes, as a share of a disc's width or a cup's diameter" },
    { "customary_table_speed", MEASURE(TW_SPEED, "mm/s", 0.1, 2000), INTO(customary_table_mm_per_s),
      .example = "\"10 mm/s\"", .source = OURS, .meaning = "table speed usual with this wheel, for comparison" },
    { "force_ratio", RATIO(0.5, 20), INTO(force_ratio), .preset = "3",
      .source = "hardened steel, alumina 2 sharp to 4 dull, CBN 2.5 to 5: grinding handbooks, from memory",
      .meaning = "normal force over tangential force; twenty passes of docs/bench-tests.md settle it together with the "
                 "machine's stiffness" },
    { "force_ratio_least", RATIO(0.3, 20), INTO(force_ratio_least), .derived = "0.7 of force_ratio", .example = "2.5",
      .source = OURS,
      .meaning = "the least that it may be, for the error budget" },
    { "force_ratio_most", RATIO(0.5, 30), INTO(force_ratio_most), .derived = "1.5 of force_ratio", .example = "5.0",
      .source = OURS,
      .meaning = "the most that it may be, for the error budget" },
    { "grain_conductivity", MEASURE(TW_CONDUCTIVITY, "W/mK", 1, 2000), INTO(grain_conductivity_W_per_mm_K),
      .example = "\"35 W/mK\"", .source = OURS,
      .meaning = "effective thermal conductivity of the grain, as fitted from grinding tests" },
    { "grain_radius", LENGTH(0.001, 0.2), INTO(grain_radius_mm), .example = "\"15 um\"", .source = OURS,
      .meaning = "contact radius of a grain's wear flat" },
    { "work_partition", RATIO(0.05, 1), INTO(work_partition), .derived = "Hahn's rule from grain and steel",
      .example = "0.5", .source = OURS,
      .meaning = "share of the heat between wheel and steel that enters the steel; calibrate it" },
    { "specific_energy", MEASURE(TW_ENERGY_DENSITY, "J/mm3", 5, 500), INTO(specific_energy_J_per_mm3),
      .example = "\"45 J/mm3\"", .source = OURS,
      .meaning = "specific grinding energy at an equivalent chip thickness of 0.1 um; calibrate it" },
    { "calibrated", FLAG, INTO(calibrated), .preset = "false", .source = OURS,
      .meaning = "true: specific_energy was measured on this very wheel and machine, as tangwright calibrate does; then "
                 "heat.energy_reserve counts as 1" },
    { "size_exponent", RATIO(0, 1), INTO(size_exponent), .example = "0.4", .source = OURS,
      .meaning = "how fast the specific energy grows as the chips get thinner" },
    { "min_specific_energy", MEASURE(TW_ENERGY_DENSITY, "J/mm3", 1, 100), INTO(min_specific_energy_J_per_mm3),
      .preset = "13.8 J/mm3", .source = "Malkin and Guo 2008, Grinding Technology, from memory",
      .meaning = "specific energy of forming the chip: it never falls below" },
    { "chip_energy", MEASURE(TW_ENERGY_DENSITY, "J/mm3", 0, 20), INTO(chip_energy_J_per_mm3), .preset = "6 J/mm3",
      .source = "Rowe 2014, Principles of Modern Grinding Technology, from memory",
      .meaning = "heat that chips carry away at most" },
    { "contact_ratio", RATIO(1, 5), INTO(contact_ratio), .preset = "1",
      .source = "1 is hot and safe (judgement); 1.5 to 2 measured: Rowe and others 1993, CIRP Annals 42(1), from memory",
      .meaning = "disc: real over geometric contact length" },
    { "abrasive", WORD(abrasives), INTO(abrasive), .preset = "alumina", .source = "the one that wears faster: " OURS,
      .meaning = "what it cuts with; for its wear" },
    { "grinding_ratio", RATIO(0, 100000), INTO(grinding_ratio), .preset = "0",
      .source = "alumina 15 to 60, CBN in resin 200 to 800, vitrified 1000 to 5000: grindability tables, from memory, order "
                "only",
      .meaning = "volume of hardened low-alloy steel ground off, in plenty of coolant, over the volume that the wheel loses; 0: not known, and wear is not counted; docs/wheel-state.md" },
    { "grinding_ratio_least", RATIO(0, 100000), INTO(grinding_ratio_least), .derived = "half of grinding_ratio",
      .example = "15.0", .source = OURS, .meaning = "the least that it may be" },
    { "grinding_ratio_most", RATIO(0, 100000), INTO(grinding_ratio_most), .derived = "twice grinding_ratio",
      .example = "60.0", .source = OURS, .meaning = "the most that it may be" },
    { "dress_after", MEASURE(TW_VOLUME, "mm3", 0, 1e9), INTO(dress_after_mm3), .preset = "0 mm3", .source = OURS,
      .meaning = "steel that it takes off between two dressings; 0 mm3: it is never dressed" },
    { "rim_state", WORD(rim_states), INTO(rim_state), .preset = "fresh", .source = "fresh is hot and safe: " OURS,
      .meaning = "cup: fresh from the box or from dressing, when an edge does all the cutting, or worn-in; "
                 "docs/wheel-state.md" },
    { "lead_in_angle", MEASURE(TW_ANGLE, "deg", 0.1, 45), INTO(lead_in_rad),
      .derived = "1 deg of a fresh rim; worn in, rim_contact counts instead", .example = "\"1 deg\"",
      .source = "0.5 to 3 deg, " OURS,
      .meaning = "cup: angle of the cone that the cutting edge has worn, measured with a lens" },
    { "rim_contact", LENGTH(0.1, 300), INTO(rim_contact_mm), .derived = "half of rim_width", .example = "\"3 mm\"",
      .source = OURS, .meaning = "cup whose rim is worn in: longest heated band along the feed" },
};
#undef MEMBERS

#define MEMBERS struct tw_steel
static const struct tw_key steel_keys[] = {
    { "name", TEXT, INTO(name), .example = "\"52100\"", .meaning = "name of the steel" },
    { "conductivity", MEASURE(TW_CONDUCTIVITY, "W/mK", 5, 100), INTO(conductivity_W_per_mm_K),
      .example = "\"37 W/mK\"", .source = OURS, .meaning = "thermal conductivity, hardened" },
    { "density", MEASURE(TW_DENSITY, "kg/m3", 6000, 9000), INTO(density_g_per_mm3), .example = "\"7810 kg/m3\"",
      .source = OURS, .meaning = "density" },
    { "specific_heat", MEASURE(TW_SPECIFIC_HEAT, "J/kgK", 300, 1000), INTO(specific_heat_J_per_g_K),
      .example = "\"475 J/kgK\"", .source = OURS, .meaning = "specific heat" },
    { "tempering_temperature", MEASURE(TW_TEMPERATURE, "degC", 80, 700), INTO(tempering_degC),
      .example = "\"200 degC\"", .source = OURS,
      .meaning = "usual temper of a knife of this steel; heat.tempering_temperature gives this knife's own" },
    { "temper_constant", RATIO(10, 25), INTO(temper_constant), .preset = "20",
      .source = "J. H. Hollomon, L. D. Jaffe, Trans. AIME 162, 223 (1945), from memory: plain carbon steels 21.3 - 5.8 "
                "times the carbon in %, hours; 20 usual for alloyed ones",
      .meaning = "the steel's own constant in the tempering parameter, for hours; 20 is always counted beside it" },
    { "wheel_wear", RATIO(0.1, 100), INTO(wheel_wear), .preset = "1",
      .source = "by the grinding ratios of alumina: 52100 15 to 60, O1 15 to 40, 440C 5 to 15, D2 3 to 8; from memory",
      .meaning = "how many times as fast it wears an alumina wheel as 52100 does" },
    { "hardness_slope", RATIO(0, 20), INTO(softening_HRC), .preset = "0", .source = OURS,
      .meaning = "Rockwell C lost per unit of the tempering parameter (1000 K) by that constant; 0: not known" },
    { "magnetic_pull", RATIO(0, 1.2), INTO(magnetic_pull), .preset = "0.56",
      .source = "makers' manuals of magnetic plates: high carbon or alloyed 0.7, stainless 0.5, of annealed steel; hardened a "
                "further 0.8: judgement",
      .meaning = "a magnet's pull on the hardened steel over that on mild steel; the pull test of docs/bench-tests.md "
                 "settles it together with fixture.pull; 0: not magnetic" },
};
#undef MEMBERS

#define MEMBERS struct tw_coolant
static const struct tw_key coolant_keys[] = {
    { "name", TEXT, INTO(name), .example = "\"flood, water emulsion\"", .meaning = "name of the coolant" },
    { "kind", WORD(coolant_kinds), INTO(kind), .example = "\"flood\"",
      .meaning = "what the program switches on: nothing, mist or flood" },
    { "contact_conductance", MEASURE(TW_CONDUCTANCE, "W/m2K", 0, 5e6), INTO(contact_conductance_W_per_mm2_K),
      .example = "\"150000 W/m2K\"", .source = OURS,
      .meaning = "heat transfer to the coolant inside a contact 1.4 mm long at a wheel speed of 30 m/s, while it does not "
                 "boil; elsewhere it goes as the root of speed over length" },
    { "contact_conductance_least", MEASURE(TW_CONDUCTANCE, "W/m2K", 1, 5e6), INTO(contact_conductance_least_W_per_mm2_K),
      .derived = "half of contact_conductance", .example = "\"75000 W/m2K\"", .source = OURS,
      .meaning = "the least that it may be: there too the film has to last, with the wheel's own energy" },
    { "flow", MEASURE(TW_FLOW, "l/min", 0, 500), INTO(flow_mm3_per_s), .preset = "0 l/min", .source = OURS,
      .meaning = "what is pumped or sprayed; 0: not known, then a mist takes nothing out of the contact and a flood all "
                 "that its film can" },
    { "flow_heat", MEASURE(TW_ENERGY_DENSITY, "J/cm3", 10, 3000), INTO(flow_heat_J_per_mm3), .preset = "324 J/cm3",
      .source = "oil from 20 to 200 degC: 0.9 g/ml times 2.0 J/gK",
      .meaning = "most heat that a volume of it takes up: what warms it to its boiling point and, of a water mist, evaporates it" },
    { "flow_share", RATIO(0.001, 1), INTO(flow_share), .preset = "1",
      .source = "5 to 30 % of what ordinary nozzles pump: C. Guo, S. Malkin and others 1992, from memory",
      .meaning = "how much of the flow goes through the contact; 1 for a mist bounds what it can do at best" },
    { "boiling_temperature", MEASURE(TW_TEMPERATURE, "degC", 50, 600), INTO(boiling_degC), .example = "\"120 degC\"",
      .source = OURS,
      .meaning = "temperature of the contact above which the film boils and contact_conductance counts as zero" },
    { "surface_conductance", MEASURE(TW_CONDUCTANCE, "W/m2K", 1, 100000), INTO(surface_conductance_W_per_mm2_K),
      .example = "\"2400 W/m2K\"", .source = OURS, .meaning = "heat transfer from the free faces; the cooling test of docs/bench-tests.md settles it" },
    { "joint_conductance", MEASURE(TW_CONDUCTANCE, "W/m2K", 1, 200000), INTO(joint_conductance_W_per_mm2_K),
      .example = "\"8000 W/m2K\"", .source = OURS,
      .meaning = "heat transfer through the joint of blank and fixture below; the cooling test of docs/bench-tests.md settles it" },
    { "temperature", MEASURE(TW_TEMPERATURE, "degC", -20, 60), INTO(temperature_degC), .preset = "25 degC",
      .source = OURS, .meaning = "temperature of coolant, air and fixture" },
};
#undef MEMBERS

#define MEMBERS struct tw_fixture
static const struct tw_key fixture_keys[] = {
    { "name", TEXT, INTO(name), .example = "\"single magnet\"", .meaning = "name of the fixture" },
    { "clearance", LENGTH(0, 100), INTO(clearance_mm), .preset = "2 mm", .source = OURS,
      .meaning = "smallest distance of the moving wheel from any keep-out" },
    { "touch_tolerance", LENGTH(0.01, 2), INTO(touch_tolerance_mm), .preset = "0.2 mm",
      .source = "a burr of 0.1 mm and a cut 0.1 mm off the drawing: judgement",
      .meaning = "a stop this near to the blank as it is drawn, or standing less than this inside it, touches it" },
    { "clamp_force", MEASURE(TW_FORCE, "N", 0, 100000), INTO(clamp_force_N), .preset = "0 N", .source = OURS,
      .meaning = "sum of the clamps' forces; 0 N: held by the magnet alone" },
    { "pull", MEASURE(TW_PRESSURE, "N/cm2", 0, 200), INTO(pull_N_per_mm2), .preset = "0 N/cm2", .source = OURS,
      .meaning = "real pull of the magnet on mild steel as thick as the blank, not its rating; the pull test of "
                 "docs/bench-tests.md settles it; 0 N/cm2: held by clamps alone" },
    { "packing", WORD(packings), INTO(packing), .preset = "shims", .source = OURS,
      .meaning = "what fills the gap under the tang where no rest of the fixture does; steel wedge: solid, in full contact, "
                 "so that it leads the magnet's flux; shims: steel strips, brass, alloy or plastic, which count as air" },
    { "gap_scale", LENGTH(0.02, 2), INTO(gap_scale_mm), .preset = "0.1 mm",
      .source = "fine grinding poles 0.05 to 0.2, coarse lifting poles 0.8 to 1 mm: judgement",
      .meaning = "over a gap as wide as this the magnet keeps a quarter of its pull, over g the share (1 + g/gap_scale)^-2; "
                 "the pull test over a feeler settles it" },
    { "pole_distance", LENGTH(0.5, 100), INTO(pole_mm), .preset = "10 mm",
      .source = "permanent plates; 1.5 to 4 mm for thin parts: judgement",
      .meaning = "from pole to pole of the magnet; steel thinner than 7/16 of it cannot lead all its flux" },
    { "friction", RATIO(0.01, 1), INTO(friction), .preset = "0.15", .source = OURS,
      .meaning = "friction of the blank on its rest; the pull test of docs/bench-tests.md settles it with pull" },
    { "holding_safety", RATIO(1, 20), INTO(holding_safety), .preset = "2", .source = OURS,
      .meaning = "holding force over grinding force, at least" },
    { "sine_bar", LENGTH(10, 2000), INTO(sine_bar_mm), .preset = "300 mm",
      .source = "a magnetic vice 300 mm long raised under one end: common practice, no source",
      .meaning = "length between the rolls of the sine plate, or of the vice that is raised under one end" },
    { "gauge_blocks", WORD(block_sets), INTO(blocks), .preset = "metric 87", .source = TRADE,
      .meaning = "the set of gauge blocks that the stack under the sine bar's roll is made of" },
    { "keep_outs", .kind = TW_KIND_LIST, INTO(keep_outs), .example = "( )",
      .meaning = "what the wheel must not touch: a list of groups, in the setup frame, the same for both sides; a list "
                 "in the job replaces the profile's" },
    { "stations", .kind = TW_KIND_LIST, INTO(stations),
      .example = "( { offset = \"G54\"; along = \"0 mm\"; across = \"0 mm\"; up = \"-200 mm\"; } )",
      .meaning = "places for blanks, one to nine: a list of groups; a list in the job replaces the profile's" },
};
#undef MEMBERS

#define SHAPE(of) .kind = of, .quantity = TW_LENGTH, .unit = "mm", .least = -10000, .most = 10000
#define MEMBERS struct tw_keep_out
static const struct tw_key keep_out_keys[] = {
    { "name", TEXT, INTO(name), .example = "\"left clamp\"", .meaning = "name of the obstacle, for messages" },
    { "kind", WORD(keep_out_kinds), INTO(kind), .example = "\"clamp\"",
      .meaning = "what it is; body: any other part of the fixture" },
    { "top", LENGTH(-500, 500), INTO(top_mm), .example = "\"12 mm\"", .source = OURS,
      .meaning = "height of its top above the datum pad, at its highest; it is taken to stand on the table" },
    { "rise", LENGTH(0, 20), INTO(rise_mm), .preset = "0 mm", .example = "\"0.7 mm\"", .source = OURS,
      .meaning = "by how much its top rises along x from its front end to its rear end, as a rest for side B does" },
    { "sides", WORD(in_places), INTO(sides), .preset = "both", .source = OURS,
      .meaning = "with which side up it stands on the fixture: both; a or b for a stop that is moved when the blank is "
                 "turned over" },
    { "box", SHAPE(TW_KIND_BOX), INTO(plan), .derived = "another shape", .source = OURS,
      .example = "[\"-90 mm\", \"-30 mm\", \"-70 mm\", \"30 mm\"]",
      .meaning = "plan shape by two opposite corners x1, y1, x2, y2; exactly one shape is given" },
    { "circle", SHAPE(TW_KIND_CIRCLE), INTO(plan), .derived = "another shape", .source = OURS,
      .example = "[\"-45 mm\", \"20 mm\", \"6 mm\"]",
      .meaning = "plan shape by centre x, y and diameter; treated as the 64-cornered polygon around it" },
    { "polygon", SHAPE(TW_KIND_POLYGON), INTO(plan), .derived = "another shape", .source = OURS,
      .example = "( (\"-90 mm\", \"-30 mm\"), (\"-70 mm\", \"-30 mm\"), (\"-80 mm\", \"0 mm\") )",
      .meaning = "plan shape by its corners, in either turn" },
};
#undef MEMBERS

#define MEMBERS struct tw_loaded_blank
static const struct tw_key blank_on_station_keys[] = {
    { "thickness", LENGTH(0.3, 30), INTO(thickness_mm), .example = "\"2.484 mm\"", .source = OURS,
      .meaning = "of its ricasso, measured; with shared heights within thickness_band of ricasso_thickness" },
    { "survey", .kind = TW_KIND_PATH, INTO(survey.path), .derived = "none: it counts as flat", .example = "\"survey.csv\"",
      .source = OURS, .meaning = "table of the heights of both its faces, relative to the job file; only with heights = "
      "\"by-blank\"" },
};
#undef MEMBERS

#define MEMBERS struct tw_station
static const struct tw_key station_keys[] = {
    { "offset", WORD(work_offsets), INTO(work_offset), .example = "\"G54\"",
      .meaning = "work offset of this station; no two alike" },
    { "along", LENGTH(-10000, 10000), INTO(along_mm), .example = "\"0 mm\"", .source = OURS,
      .meaning = "machine coordinate, of the letter that along maps to, where the taper start lies" },
    { "across", LENGTH(-10000, 10000), INTO(across_mm), .example = "\"0 mm\"", .source = OURS,
      .meaning = "machine coordinate, of the letter that across maps to, where the taper axis lies" },
    { "up", LENGTH(-10000, 10000), INTO(up_mm), .example = "\"-200 mm\"", .source = OURS,
      .meaning = "machine coordinate, of the letter that up maps to, where the datum pad lies" },
    { "lower", LENGTH(-0.2, 0.2), INTO(lower_mm), .preset = "0 mm", .example = "\"0.004 mm\"", .source = OURS,
      .meaning = "faces ground here were gauged to come out too high by this: programs go lower by it, and the dry-run takes "
                 "the wheel to be so much higher than they say; tangwright run writes it" },
};
#undef MEMBERS

#define IN_JOB(member) offsetof(struct tw_draft, job.member)
#define ROWS(table) .keys = table, .key_count = COUNT_OF(table)
const struct tw_group tw_groups[] = {
    { "", false, offsetof(struct tw_draft, job), ROWS(job_keys), "the job itself" },
    { "blanks[]", false, 0, ROWS(blank_on_station_keys), "one blank on the fixture" },
    { "outline", false, offsetof(struct tw_draft, outline), ROWS(outline_keys),
      "the drawing, and where the taper lies in it" },
    { "taper", false, IN_JOB(taper), ROWS(taper_keys), "the taper" },
    { "finish", false, IN_JOB(finish), ROWS(finish_keys), "the surface" },
    { "heat", false, IN_JOB(limits), ROWS(heat_keys), "how warm the steel may get" },
    { "travel", false, IN_JOB(travel), ROWS(travel_keys), "moves outside the cut" },
    { "survey", false, IN_JOB(survey), ROWS(survey_keys), "how this blank really lies" },
    { "straighten", false, IN_JOB(straighten), ROWS(straighten_keys), "what straightening by the survey may do" },
    { "relief", false, IN_JOB(relief), ROWS(relief_keys), "the hollow inside the tang's faces" },
    { "blank", false, IN_JOB(blank), ROWS(blank_keys), "the blank on the scale" },
    { "handle", false, IN_JOB(handle), ROWS(handle_keys), "scales, pins and glue" },
    { "handle.pins[]", false, 0, ROWS(pin_keys), "one pin or tube" },
    { "blade", false, IN_JOB(blade), ROWS(blade_keys), "the blade ahead of the taper start" },
    { "plate", false, IN_JOB(plate), ROWS(plate_keys), "the plate that tangwright fixture designs" },
    { "machine", true, IN_JOB(machine), ROWS(machine_keys), "the machine" },
    { "machine.spindle", true, IN_JOB(machine), ROWS(spindle_keys), "its spindle" },
    { "machine.axes", true, IN_JOB(machine), NULL, 0,
      "its axes: which program word moves the wheel along, across and up; the three must be right-handed" },
    { "machine.axes.along", true, IN_JOB(machine.along), ROWS(axis_keys),
      "the axis along the tang, towards the butt" },
    { "machine.axes.across", true, IN_JOB(machine.across), ROWS(axis_keys), "the axis across the tang" },
    { "machine.axes.up", true, IN_JOB(machine.up), ROWS(axis_keys), "the axis away from the datum pad" },
    { "machine.program", true, IN_JOB(machine), ROWS(program_keys), "how its controller wants the program's text" },
    { "wheel", true, IN_JOB(wheel), ROWS(wheel_keys), "the grinding wheel" },
    { "relief_wheel", true, IN_JOB(relief_wheel), ROWS(wheel_keys), "the wheel that hollows the faces, if it is another one" },
    { "steel", true, IN_JOB(steel), ROWS(steel_keys), "the steel" },
    { "coolant", true, IN_JOB(coolant), ROWS(coolant_keys), "the coolant" },
    { "fixture", true, IN_JOB(fixture), ROWS(fixture_keys), "the fixture" },
    { "fixture.keep_outs[]", true, 0, ROWS(keep_out_keys), "one obstacle" },
    { "fixture.stations[]", true, 0, ROWS(station_keys), "one place for a blank" },
};
/* clang-format on */
const size_t tw_group_count = COUNT_OF(tw_groups);

const char *const tw_profile_names[TW_PROFILE_COUNT] = { "machine", "wheel",   "relief_wheel",
                                                         "steel",   "coolant", "fixture" };

bool tw_profile_is_optional(const char *name)
{
    return strcmp(name, "relief_wheel") == 0;
}

const struct tw_group *tw_group_find(const char *path, size_t length)
{
    for (size_t i = 0; i < tw_group_count; i++)
        if (strlen(tw_groups[i].path) == length && strncmp(tw_groups[i].path, path, length) == 0)
            return &tw_groups[i];
    return NULL;
}

const struct tw_key *tw_key_find(const struct tw_group *group, const char *name)
{
    for (size_t i = 0; i < group->key_count; i++)
        if (strcmp(group->keys[i].name, name) == 0)
            return &group->keys[i];
    return NULL;
}

bool tw_group_is_member(const struct tw_group *group)
{
    size_t length = strlen(group->path);

    return length > 2 && strcmp(group->path + length - 2, "[]") == 0;
}

int tw_key_longest_text(const struct tw_key *key)
{
    return key->most > 0 ? (int)key->most : 80;
}

bool tw_key_is_required(const struct tw_key *key)
{
    return !key->preset && !key->derived;
}

bool tw_group_has_required(const struct tw_group *group)
{
    for (size_t i = 0; i < group->key_count; i++)
        if (tw_key_is_required(&group->keys[i]))
            return true;
    return false;
}
