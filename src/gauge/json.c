/* json.c - what the readings say, as one JSON object. */
#include "tangwright/gauge.h"

#include <jansson.h>
#include <stdlib.h>

#define DIGITS 9

static const char *const term_names[] = {
    [TW_TERM_OFFSET] = "offset", [TW_TERM_TAPER] = "taper", [TW_TERM_CROWN] = "crown", [TW_TERM_STATION] = "station"
};
static const char *const course_names[] = {
    [TW_COURSE_STEADY] = "steady", [TW_COURSE_DRIFTS] = "drifts", [TW_COURSE_JUMPS] = "jumps"
};

static json_t *term_array(const struct tw_gauged_run *run)
{
    json_t *array = json_array();

    for (size_t i = 0; array && i < run->term_count; i++) {
        const struct tw_gauge_term *term = &run->terms[i];

        json_array_append_new(
            array, json_pack("{s:s, s:i, s:f, s:f, s:f, s:b, s:b, s:b}", "name", term_names[term->kind], "station",
                             term->station, "value_mm", term->value_mm, "standard_uncertainty_mm", term->standard_mm,
                             "chance", term->chance, "judged", term->judged, "significant", term->significant,
                             "advised", term->significant && !(run->look_first & TW_LOOK_AND_CORRECT_NOTHING)));
    }
    return array;
}

static json_t *part_array(const struct tw_gauged_run *run)
{
    json_t *array = json_array();

    for (size_t i = 0; array && i < run->part_count; i++) {
        const struct tw_gauged_part *part = &run->parts[i];

        json_array_append_new(array, json_pack("{s:s, s:i, s:f, s:f, s:I, s:b, s:f, s:b}", "part", part->name,
                                               "station", part->station, "mean_mm", part->mean_mm, "station_free_mm",
                                               part->station_free_mm, "readings", (json_int_t)part->readings,
                                               "beyond_chart", part->beyond, "level_mm", part->level_mm,
                                               "off_by_more_than_tolerance", part->off));
    }
    return array;
}

static json_t *off_array(const struct tw_gaugings *gaugings, const struct tw_gauged_run *run)
{
    json_t *array = json_array();

    for (size_t i = 0; array && i < gaugings->count; i++)
        if (run->stands_off[i])
            json_array_append_new(array, json_pack("{s:i, s:s, s:f}", "line", gaugings->items[i].line, "part",
                                                   gaugings->items[i].part, "off_mm", run->left_mm[i]));
    return array;
}

static json_t *doubt_array(const struct tw_gaugings *gaugings, const struct tw_gauged_run *run)
{
    json_t *array = json_array();

    for (size_t i = 0; array && i < gaugings->count; i++)
        if (run->doubts[i].off)
            json_array_append_new(array, json_pack("{s:i, s:s, s:f, s:f, s:f, s:b}", "line", gaugings->items[i].line,
                                                   "part", gaugings->items[i].part, "x_mm", gaugings->items[i].x_mm,
                                                   "thickness_mm", gaugings->items[i].thickness_mm, "expected_mm",
                                                   run->doubts[i].expected_mm, "read_twice", run->doubts[i].twice));
    return array;
}

/* What to look at before another part is ground. */
static json_t *look_array(const struct tw_gauged_run *run)
{
    static const struct look {
        unsigned bits;
        const char *name;
    } looks[] = {
        { TW_LOOK_READING, "reading" },  { TW_LOOK_FROM_BUTT, "x_from_butt" },       { TW_LOOK_TAPER, "taper" },
        { TW_LOOK_CROWN, "crown" },      { TW_LOOK_OFFSET | TW_LOOK_FAR, "offset" }, { TW_LOOK_PART, "part" },
        { TW_LOOK_TOGETHER, "together" }
    };
    json_t *array = json_array();

    for (size_t i = 0; array && i < sizeof looks / sizeof *looks; i++)
        if (run->look_first & looks[i].bits)
            json_array_append_new(array, json_string(looks[i].name));
    return array;
}

static json_t *chart_object(const struct tw_gauged_run *run)
{
    if (!run->charted)
        return json_null();
    return json_pack("{s:f, s:f, s:f, s:f}", "centre_mm", run->chart.centre, "low_mm", run->chart.low, "high_mm",
                     run->chart.high, "mean_range_mm", run->chart.mean_range);
}

static json_t *capability_object(const struct tw_gauged_run *run, double tolerance_mm)
{
    const struct tw_capability *c = &run->capability;

    if (!run->toleranced || !run->charted || !(run->spread_mm > 0.0))
        return json_null();
    return json_pack("{s:f, s:f, s:[f, f], s:f, s:[f, f]}", "tolerance_mm", tolerance_mm, "cp", c->cp, "cp_95",
                     c->cp_low, c->cp_high, "cpk", c->cpk, "cpk_95", c->cpk_low, c->cpk_high);
}

enum tw_status tw_gauge_json(const struct tw_job *job, const struct tw_gaugings *gaugings, double tolerance_mm,
                             const struct tw_gauged_run *run, char **out, struct tw_findings *findings)
{
    json_t *object = json_pack(
        "{s:s, s:s, s:I, s:f, s:o, s:f, s:I, s:o, s:s, s:f, s:f, s:o, s:f, s:f, s:f, s:o, s:I, s:o, s:o, s:o, s:o}",
        "format", "tangwright-gauge/1", "job", job->name, "readings", (json_int_t)gaugings->count, "mean_x_mm",
        run->mean_x_mm, "terms", term_array(run), "reading_standard_deviation_mm", run->chance_mm, "degrees_of_freedom",
        (json_int_t)run->degrees, "parts", part_array(run), "course", course_names[run->course], "drift_mm_per_part",
        run->drift_mm_per_part, "jump_mm", run->jump_mm, "jump_after",
        run->course == TW_COURSE_JUMPS ? json_string(run->parts[run->jump_after - 1].name) : json_null(),
        "course_chance", run->course_chance, "mean_mm", run->mean_mm, "part_standard_deviation_mm", run->spread_mm,
        "chart", chart_object(run), "beyond_tolerance", (json_int_t)run->beyond_tolerance, "capability",
        capability_object(run, tolerance_mm), "stands_off", off_array(gaugings, run), "look_first", look_array(run),
        "doubted", doubt_array(gaugings, run));

    *out = object ? json_dumps(object, JSON_INDENT(2) | JSON_REAL_PRECISION(DIGITS)) : NULL;
    json_decref(object);
    return *out ? TW_OK : tw_no_memory(findings);
}
