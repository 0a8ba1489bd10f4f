/* balance_json.c - weight and balance as one JSON object. */
#include "tangwright/report.h"

#include "report/balance_parts.h"

#include <jansson.h>
#include <stdlib.h>

#define DIGITS 12

static json_t *weight_object(const struct tw_weight *weight)
{
    return json_pack("{s:f, s:f, s:[f, f, f], s:f}", "volume_mm3", weight->volume_mm3, "mass_g", weight->mass_g,
                     "centre_mm", weight->x_mm, weight->y_mm, weight->z_mm, "moment_g_mm",
                     tw_weight_moment_g_mm(weight));
}

static json_t *point_object(const struct tw_balance_point *knife)
{
    return json_pack("{s:f, s:f}", "mass_g", knife->mass_g, "x_mm", knife->x_mm);
}

static json_t *stages_object(const struct tw_balance *b)
{
    return json_pack("{s:o, s:o, s:o, s:o, s:o, s:f}", "blank", point_object(&b->stages[TW_STAGE_BLANK]), "tapered",
                     point_object(&b->stages[TW_STAGE_TAPERED]), "relieved",
                     point_object(&b->stages[TW_STAGE_RELIEVED]), "finished",
                     point_object(&b->stages[TW_STAGE_FINISHED]), "unground",
                     point_object(&b->stages[TW_STAGE_UNGROUND]), "blank_share", b->blank_share);
}

json_t *tw_balance_object(const struct tw_balance *b)
{
    return json_pack("{s:f, s:f, s:f, s:f, s:o, s:o, s:[o, o], s:[o, o], s:o, s:o, s:o, s:o, s:o, s:o}", "butt_mm",
                     b->butt_mm, "relief_depth_mm", b->relief_depth_mm, "relief_region_mm2", b->region_mm2,
                     "relief_hollowed_mm2", b->hollowed_mm2, "tang", weight_object(&b->tang), "holes",
                     weight_object(&b->holes), "taper", weight_object(&b->taper[0]), weight_object(&b->taper[1]),
                     "relief", weight_object(&b->relief[0]), weight_object(&b->relief[1]), "removed",
                     weight_object(&b->removed), "scales", weight_object(&b->scales), "pins", weight_object(&b->pins),
                     "glue", weight_object(&b->glue), "handle", weight_object(&b->handle), "knife",
                     b->weighed ? stages_object(b) : json_null());
}

/* Appends and gives up `item`; an array that cannot take it becomes NULL. */
static json_t *appended(json_t *array, json_t *item)
{
    if (json_array_append_new(array, item) == 0)
        return array;
    json_decref(array);
    return NULL;
}

static json_t *rows_array(const struct tw_balance_report *report)
{
    json_t *array = json_array();

    for (size_t i = 0; array && report->balance.weighed && i < report->row_count; i++) {
        const struct tw_balance *row = &report->rows[i];

        array = appended(array, json_pack("{s:f, s:f, s:f, s:f}", "butt_mm", row->butt_mm, "removed_g",
                                          row->removed.mass_g, "mass_g", row->stages[TW_STAGE_FINISHED].mass_g, "x_mm",
                                          row->stages[TW_STAGE_FINISHED].x_mm));
    }
    return array;
}

static json_t *advice_array(const struct tw_balance_answer *answer)
{
    json_t *array = json_array();

    for (size_t i = 0; array && i < answer->advice_count; i++)
        array = appended(array, json_pack("{s:s, s:f, s:b}", "change", answer->advice[i].change, "x_mm",
                                          answer->advice[i].x_mm, "enough", answer->advice[i].enough));
    return array;
}

static const char *limit_name(enum tw_balance_limit limit)
{
    static const char *const names[] = { [TW_BALANCE_FREE] = "none",
                                         [TW_BALANCE_BY_STRENGTH] = "smallest thickness",
                                         [TW_BALANCE_BY_STRAIGHT] = "straightening",
                                         [TW_BALANCE_BY_NO_TAPER] = "no taper left" };

    return names[limit];
}

static json_t *answer_object(const struct tw_balance_report *report)
{
    const struct tw_balance_answer *a = &report->answer;

    if (!report->asked)
        return json_null();
    return json_pack("{s:f, s:b, s:f, s:f, s:f, s:[f, f], s:[f, f], s:s, s:o}", "wanted_x_mm", report->wish.x_mm,
                     "reached", a->reached, "butt_mm", a->butt_mm, "relief_depth_mm", a->relief_depth_mm, "x_mm",
                     a->x_mm, "butt_limits_mm", a->least_butt_mm, a->most_butt_mm, "butt_alone_x_mm", a->foremost_mm,
                     a->hindmost_mm, "limit", limit_name(a->limit), "advice", advice_array(a));
}

static json_t *spine_array(const struct tw_spine_view *view)
{
    json_t *array = json_array();

    for (size_t i = 0; array && i < view->point_count; i++)
        array = appended(array, json_pack("{s:f, s:f, s:f}", "x_mm", view->points[i].x_mm, "tip_mm",
                                          view->points[i].tip_mm, "thickness_mm", view->points[i].thickness_mm));
    return array;
}

static json_t *breaks_array(const struct tw_spine_view *view)
{
    json_t *array = json_array();

    for (size_t i = 0; array && i < view->break_count; i++) {
        const struct tw_flow_break *b = &view->breaks[i];

        array = appended(array, json_pack("{s:s, s:f, s:f, s:f}", "kind", b->kind == TW_BREAK_STEP ? "step" : "kink",
                                          "x_mm", b->x_mm, b->kind == TW_BREAK_STEP ? "step_mm" : "bend_rad", b->amount,
                                          "limit", b->limit));
    }
    return array;
}

enum tw_status tw_balance_json(const struct tw_job *job, const struct tw_balance_report *report, char **out,
                               struct tw_findings *findings)
{
    json_t *object = json_pack("{s:s, s:s, s:s, s:o, s:o, s:o, s:o, s:o}", "format", "tangwright-balance/1", "job",
                               job->name, "inputs", job->digest, "balance", tw_balance_object(&report->balance),
                               "butts", rows_array(report), "answer", answer_object(report), "spine",
                               spine_array(&report->spine), "breaks", breaks_array(&report->spine));

    *out = object ? json_dumps(object, JSON_INDENT(2) | JSON_REAL_PRECISION(DIGITS)) : NULL;
    json_decref(object);
    return *out ? TW_OK : tw_no_memory(findings);
}
