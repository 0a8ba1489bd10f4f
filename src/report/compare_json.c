/* compare_json.c - variants of one job as one JSON object. */
#include "tangwright/report.h"

#include <jansson.h>

#define DIGITS 9

static json_t *changes_of(const struct tw_variant *variant)
{
    json_t *changes = json_object();

    for (size_t i = 0; changes && i < variant->change_count; i++)
        json_object_set_new(changes, variant->changes[i].key, json_string(variant->changes[i].value));
    return changes;
}

static json_t *costs_of(const struct tw_variant *variant)
{
    json_t *costs = json_object();

    for (int limit = 0; costs && limit < TW_LIMIT_COUNT; limit++)
        json_object_set_new(costs, tw_limit_name((enum tw_limit)limit), json_real(variant->saves_s[limit]));
    return costs;
}

static json_t *variant_object(const struct tw_variant *variant)
{
    if (variant->refusal)
        return json_pack("{s:o, s:s}", "changes", changes_of(variant), "refused", variant->refusal);
    return json_pack("{s:o, s:n, s:i, s:i, s:f, s:f, s:f, s:f, s:f, s:f, s:o, s:f, s:o, s:o}", "changes",
                     changes_of(variant), "refused", "parts", variant->parts, "pass_count", variant->pass_count,
                     "cycle_time_s", variant->cycle_time_s, "cut_time_s", variant->cut_time_s, "dwell_s",
                     variant->dwell_s, "peak_degC", variant->peak_degC, "peak_with_reserve_degC", variant->reserve_degC,
                     "allowed_degC", variant->allowed_degC, "limit_costs_s", costs_of(variant), "removed_g",
                     variant->removed_g, "knife_g", variant->weighed ? json_real(variant->knife_g) : json_null(),
                     "balance_mm", variant->weighed ? json_real(variant->balance_mm) : json_null());
}

enum tw_status tw_comparison_json(const char *job_path, const struct tw_comparison *comparison, char **out,
                                  struct tw_findings *findings)
{
    json_t *variants = json_array(), *object;

    for (size_t i = 0; variants && i < comparison->count; i++)
        if (json_array_append_new(variants, variant_object(&comparison->variants[i])) != 0) {
            json_decref(variants);
            variants = NULL;
        }
    object = variants
                 ? json_pack("{s:s, s:s, s:o}", "format", "tangwright-compare/1", "job", job_path, "variants", variants)
                 : NULL;
    *out = object ? json_dumps(object, JSON_INDENT(2) | JSON_REAL_PRECISION(DIGITS)) : NULL;
    json_decref(object);
    return *out ? TW_OK : tw_no_memory(findings);
}
