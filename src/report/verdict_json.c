/* verdict_json.c - the dry-run's answer as one JSON object. */
#include "tangwright/report.h"

#include "base/text.h"
#include "tangwright/warm.h"

#include <jansson.h>
#include <math.h>
#include <stdlib.h>

#define DIGITS 9

static json_t *number(double value)
{
    return isfinite(value) ? json_real(value) : json_null();
}

/* JSON is UTF-8; a file name or a cut-off note may be anything. */
static json_t *string(const char *text)
{
    json_t *result = json_string(text);
    struct tw_text plain = { 0 };
    char *copy;

    if (result)
        return result;
    for (const char *c = text; *c; c++)
        tw_text_append(&plain, (unsigned char)*c < 0x80 ? c : "?", 1);
    copy = tw_text_take(&plain);
    result = copy ? json_string(copy) : NULL;
    free(copy);
    return result;
}

static json_t *check_object(const struct tw_verdict *verdict, const struct tw_proof *proof, enum tw_check_id id)
{
    const struct tw_check *check = &proof->checks[id];
    json_t *object =
        json_pack("{s:s, s:s, s:o, s:b, s:o, s:o, s:s, s:s, s:i, s:i, s:i, s:o}", "name", tw_check_name(id), "question",
                  tw_check_question(id), "program", string(proof->name), "pass", !check->failed, "worst",
                  number(check->amount), "limit", number(check->limit), "unit", check->unit, "blank",
                  check->blanks_differ ? tw_band_end_name(verdict, check->blank) : "all alike", "line", check->line,
                  "first_line", check->first_line, "part", check->part, "note", string(check->note));
    json_t *place = check->has_place
                        ? json_pack("[f, f, f]", check->place_mm[0], check->place_mm[1], check->place_mm[2])
                        : json_null();

    if (!object || json_object_set_new(object, "place_mm", place) != 0) {
        json_decref(object);
        return NULL;
    }
    return object;
}

static bool append(json_t *array, json_t *member)
{
    return member && json_array_append_new(array, member) == 0;
}

static json_t *check_array(const struct tw_verdict *verdict)
{
    json_t *checks = json_array();

    for (size_t i = 0; checks && i < verdict->count; i++) {
        for (int id = 0; checks && id < TW_CHECK_COUNT; id++) {
            if (!verdict->proofs[i].checks[id].asked ||
                append(checks, check_object(verdict, &verdict->proofs[i], (enum tw_check_id)id)))
                continue;
            json_decref(checks);
            checks = NULL;
        }
    }
    return checks;
}

/* None for a relief's program: across the tang there is neither face nor floor alone. */
static json_t *gauge_array(const struct tw_proof *proof)
{
    json_t *gauges = json_array();

    for (int i = 0; gauges && proof->scope != TW_SCOPE_RELIEF && i < TW_GAUGE_POINTS; i++) {
        const struct tw_gauge *gauge = &proof->gauges[i];

        if (append(gauges, json_pack("{s:o, s:o, s:o}", "x_mm", number(gauge->x_mm), "half_thickness_mm",
                                     number(gauge->half_mm), "aim_mm", number(gauge->aim_mm))))
            continue;
        json_decref(gauges);
        gauges = NULL;
    }
    return gauges;
}

static json_t *heat_object(const struct tw_proof_heat *heat)
{
    bool strict = heat->used == TW_FLASH_STRICT;

    return json_pack("{s:s, s:o, s:o, s:o, s:o, s:b, s:b}", "flash_limit", strict ? "strict" : "equivalent",
                     "limit_degC", number(heat->limit_degC), "cap_degC", number(heat->cap_degC), "bulk_degC",
                     number(heat->bulk_degC), "tempered_degC", number(heat->tempered_degC), "strict_allows",
                     heat->strict_allows, "equivalent_allows", heat->equivalent_allows);
}

static json_t *program_array(const struct tw_verdict *verdict)
{
    json_t *programs = json_array();

    for (size_t i = 0; programs && i < verdict->count; i++) {
        const struct tw_proof *proof = &verdict->proofs[i];

        if (append(programs, json_pack("{s:o, s:s, s:s, s:i, s:s, s:i, s:o, s:o, s:o, s:o, s:o, s:o, s:o}", "program",
                                       string(proof->name), "side", proof->side == TW_SIDE_A ? "a" : "b", "stage",
                                       tw_scope_name(proof->scope), "step", proof->step, "verdict",
                                       proof->cut ? "cut" : "do not cut", "look_at_line", tw_proof_look_at(proof),
                                       "lift_mm", number(proof->lift_mm), "cycle_time_s", number(proof->cycle_time_s),
                                       "removed_mm3", number(proof->removed_mm3), "peak_degC", number(proof->peak_degC),
                                       "peak_with_reserve_degC", number(proof->reserve_degC), "heat",
                                       heat_object(&proof->heat), "gauge_points", gauge_array(proof))))
            continue;
        json_decref(programs);
        programs = NULL;
    }
    return programs;
}

static json_t *remark_array(const struct tw_verdict *verdict)
{
    json_t *remarks = json_array();

    for (size_t i = 0; i < verdict->count; i++) {
        for (int kind = 0; remarks && kind < TW_REMARK_COUNT; kind++) {
            const struct tw_proof_remark *remark = &verdict->proofs[i].remarks[kind];

            if (remark->count == 0 || append(remarks, json_pack("{s:s, s:o, s:i, s:i, s:o}", "name",
                                                                tw_remark_name((enum tw_remark_kind)kind), "program",
                                                                string(verdict->proofs[i].name), "line", remark->line,
                                                                "count", remark->count, "text", string(remark->text))))
                continue;
            json_decref(remarks);
            remarks = NULL;
        }
    }
    return remarks;
}

static json_t *reason_array(const struct tw_verdict *verdict)
{
    json_t *reasons = json_array();

    for (size_t i = 0; reasons && i < verdict->reason_count; i++) {
        if (append(reasons, string(verdict->reasons[i])))
            continue;
        json_decref(reasons);
        reasons = NULL;
    }
    return reasons;
}

/* Thickness where both sides are known; a side that was not run is taken as the job asks for it. */
static json_t *thickness_array(const struct tw_verdict *verdict)
{
    json_t *points = json_array();

    for (int i = 0; points && verdict->count > 0 && i < TW_GAUGE_POINTS; i++) {
        const struct tw_gauge *first = &verdict->proofs[0].gauges[i];
        double half_mm[2] = { first->aim_mm, first->aim_mm };

        for (size_t k = 0; k < verdict->count; k++)
            half_mm[verdict->proofs[k].side] = verdict->proofs[k].gauges[i].half_mm;
        if (append(points, json_pack("{s:o, s:o, s:o}", "x_mm", number(first->x_mm), "thickness_mm",
                                     number(half_mm[0] + half_mm[1]), "aim_mm", number(2.0 * first->aim_mm))))
            continue;
        json_decref(points);
        points = NULL;
    }
    return points;
}

enum tw_status tw_verdict_json(const struct tw_job *job, const struct tw_verdict *verdict, char **out,
                               struct tw_findings *findings)
{
    char words[TW_ENERGY_WORDS];
    json_t *object;

    tw_energy_words(job, words);
    object = json_pack(
        "{s:s, s:o, s:s, s:s, s:o, s:[o, o], s:o, s:o, s:o, s:o, s:o, s:f, s:s, s:o, s:o, s:o, s:s, s:o, s:o}",
        "format", "tangwright-dryrun/1", "job", string(job->name), "inputs", job->digest, "verdict",
        verdict->cut ? "cut" : "do not cut", "cell_mm", number(verdict->cell_mm), "blanks_mm",
        number(job->taper.ricasso_mm - verdict->band_mm), number(job->taper.ricasso_mm + verdict->band_mm),
        "above_readings_mm", number(verdict->unread_mm), "cycle_time_s", number(verdict->cycle_time_s), "removed_mm3",
        number(verdict->removed_mm3), "peak_degC", number(verdict->peak_degC), "peak_with_reserve_degC",
        number(verdict->reserve_degC), "energy_reserve", tw_energy_largest_reserve(job), "calibration", words,
        "thickness", thickness_array(verdict), "programs", program_array(verdict), "reasons", reason_array(verdict),
        "unproved", verdict->unproved, "remarks", remark_array(verdict), "checks", check_array(verdict));

    *out = object ? json_dumps(object, JSON_INDENT(2) | JSON_REAL_PRECISION(DIGITS)) : NULL;
    json_decref(object);
    return *out ? TW_OK : tw_no_memory(findings);
}
