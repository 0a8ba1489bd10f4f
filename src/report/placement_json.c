/* placement_json.c - how the knife lies, as one JSON object. */
#include "tangwright/report.h"

#include "report/placement_parts.h"

#include <jansson.h>
#include <stdlib.h>

#define DIGITS 12

static json_t *point(struct tw_point at)
{
    return json_pack("[f, f]", at.x_mm + 0.0, at.y_mm + 0.0);
}

/* Appends and gives up `item`; an array that cannot take it becomes NULL. */
static json_t *appended(json_t *array, json_t *item)
{
    if (json_array_append_new(array, item) == 0)
        return array;
    json_decref(array);
    return NULL;
}

static json_t *signs(const struct tw_sign *all, size_t count)
{
    json_t *array = json_array();

    for (size_t i = 0; array && i < count; i++)
        array = appended(array, json_pack("{s:f, s:s}", "weight", all[i].weight, "text", all[i].text));
    return array;
}

static json_t *holes(const struct tw_placement *placement)
{
    json_t *array = json_array();

    for (size_t i = 0; array && i < placement->hole_count && i < TW_PLACED_HOLES_MOST; i++) {
        const struct tw_placed_hole *hole = &placement->holes[i];

        array = appended(array, json_pack("{s:f, s:f, s:f, s:b}", "x_mm", hole->centre.x_mm, "y_mm", hole->centre.y_mm,
                                          "diameter_mm", hole->diameter_mm, "round", hole->round));
    }
    return array;
}

/* Middle of an end, in the part frame and in the drawing. */
static json_t *end(const struct tw_placement *placement, struct tw_point part, double way)
{
    return json_pack("{s:o, s:o, s:s}", "part_mm", point(part), "drawing_mm",
                     point(tw_placement_drawing(placement, part)), "towards",
                     tw_placement_towards(placement, way, 0.0));
}

static json_t *spine(const struct tw_job *job)
{
    const struct tw_placement *placement = &job->placement;
    char a[3], b[3];

    if (placement->spine == 0)
        return json_null();
    return json_pack("{s:i, s:s, s:b, s:s, s:s}", "part_y", placement->spine, "towards",
                     tw_placement_towards(placement, 0.0, placement->spine), "told", placement->spine_told, "side_a",
                     placement_across(job, placement->spine, a), "side_b", placement_across(job, -placement->spine, b));
}

enum tw_status tw_placement_json(const struct tw_job *job, char **out, struct tw_findings *findings)
{
    static const char *const shown[] = { "tang", "tang and a piece of the blade", "knife" };
    const struct tw_placement *p = &job->placement;
    json_t *object =
        json_pack("{s:s, s:s, s:s, s:s, s:f, s:f, s:o, s:o, s:f, s:f, s:f, s:f, s:o, s:o, s:o, s:o}", "format",
                  "tangwright-check/1", "job", job->name, "inputs", job->digest, "shown", shown[p->shown], "ahead_mm",
                  p->ahead_mm, "behind_mm", p->behind_mm, "tip", end(p, p->tip, -1.0), "butt", end(p, p->butt, 1.0),
                  "width_mm", p->width_mm, "off_middle", p->off_middle, "widest_mm", p->widest_mm, "askew_rad",
                  p->askew_rad, "spine", spine(job), "holes", holes(p), "end_signs", signs(p->ends, p->end_count),
                  "spine_signs", signs(p->spines, p->spine_count));

    *out = object ? json_dumps(object, JSON_INDENT(2) | JSON_REAL_PRECISION(DIGITS)) : NULL;
    json_decref(object);
    return *out ? TW_OK : tw_no_memory(findings);
}
