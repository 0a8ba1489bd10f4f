/* side.c - one side of a job: the travel style and the allowance for warmth that take least time. */
#include "plan/side.h"

#include "plan/cut.h"
#include "plan/reach.h"
#include "plan/schedule.h"
#include "plan/warmth.h"

#include <math.h>
#include <stdlib.h>

void tw_side_free(struct tw_setup_plan *setup)
{
    free(setup->layers);
    free(setup->moves);
    *setup = (struct tw_setup_plan){ 0 };
}

static void keep_quicker(struct tw_setup_plan *best, struct tw_setup_plan *trial, bool *found)
{
    if (!*found || trial->part_time_s < best->part_time_s) {
        struct tw_setup_plan slower = *best;

        *best = *trial;
        *trial = slower;
        *found = true;
    }
}

static const enum tw_travel_style styles[] = { TW_STYLE_BOTH_WAYS, TW_STYLE_FROM_BUTT, TW_STYLE_FROM_RICASSO,
                                               TW_STYLE_LOOPS };

#define STYLE_COUNT (sizeof styles / sizeof *styles)

/* Tries `count` styles; keeps the quickest that is possible. When none is, what stopped the first is the answer. */
static enum tw_status try_styles(struct tw_scene *scene, const struct tw_cut_limits *limits,
                                 const enum tw_travel_style *tried, size_t count, struct tw_setup_plan *out)
{
    struct tw_findings *findings = scene->findings, first = { 0 };
    bool found = false;
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < count; i++) {
        struct tw_findings refusal = { 0 };
        struct tw_setup_plan trial = { 0 };
        enum tw_status answer;

        scene->findings = &refusal;
        answer = tw_schedule_make(scene, limits, tried[i], &trial);
        if (answer == TW_OK)
            keep_quicker(out, &trial, &found);
        else if (answer != TW_NO_PLAN)
            status = answer;
        tw_side_free(&trial);
        if (i == 0)
            first = refusal;
        else
            tw_findings_free(&refusal);
    }
    scene->findings = findings;
    if (!found) {
        tw_findings_append(findings, &first);
        status = status == TW_OK ? TW_NO_PLAN : status;
    }
    tw_findings_free(&first);
    return status;
}

/* Bulk temperatures, in K above ambient, that a plan may allow for beforehand. With more of it the cuts are lighter and
 * the tang need not be waited for: where the total is least depends on the joint below and on how long the way is. */
static const double bulks_K[] = { 0.0, 8.0, 20.0, 35.0, 50.0, 70.0, 95.0 };

/* Spots that see more, or more unlike, passes than were counted may come out tempered farther than planned: then more
 * are counted. */
#define MOST_RESERVE 4.0
#define MORE_RESERVE 1.25

static bool tempered_too_far(const struct tw_cut_limits *limits, const struct tw_setup_plan *plan)
{
    const struct tw_tempering *tempering = &plan->tempering;

    return limits->equivalent &&
           fmax(tempering->equivalent_degC[0], tempering->equivalent_degC[1]) > tempering->allowed_degC;
}

static enum tw_status refuse_tempering(const struct tw_scene *scene, const struct tw_setup_plan *plan)
{
    const struct tw_tempering *tempering = &plan->tempering;
    struct tw_place at = { .file = scene->job->path, .key = "heat.flash_limit" };

    return tw_fail(scene->findings, TW_NO_PLAN, at,
                   "side %s: all the flashes at x = %.0f, y = %.0f mm together would do as much as %.3g h at %.0f degC, above "
                   "the %.0f degC allowed; a sharper wheel, more coolant or flash_limit = \"strict\" helps",
                   scene->face.side == TW_SIDE_A ? "A" : "B", tempering->place_mm[0], tempering->place_mm[1],
                   scene->job->limits.tempering_s / 3600.0,
                   fmax(tempering->equivalent_degC[0], tempering->equivalent_degC[1]), tempering->allowed_degC);
}

/* One plan for the bulk that `limits` expects: layers, moves, and the waits that they need. Not carried through when it
 * takes longer than longest_s. */
static enum tw_status plan_once(struct tw_scene *scene, struct tw_warmth *warmth, struct tw_cut_limits limits,
                                const enum tw_travel_style *tried, size_t count, double longest_s,
                                struct tw_setup_plan *out)
{
    enum tw_status status;

    for (;;) {
        status = try_styles(scene, &limits, tried, count, out);
        if (status == TW_OK)
            status = tw_warmth_run(warmth, &limits, longest_s, out);
        if (status != TW_OK || out->part_time_s > longest_s || !tempered_too_far(&limits, out))
            return status;
        limits.reserve *= MORE_RESERVE;
        if (limits.reserve > MOST_RESERVE)
            return refuse_tempering(scene, out);
        tw_side_free(out);
    }
}

/* The allowances next to the best of these are halved so often. */
#define HALVINGS 2

/* The plan with the best allowance so far. */
struct choosing {
    struct tw_scene *scene;
    struct tw_warmth *warmth;
    struct tw_cut_limits limits;
    struct tw_setup_plan *out;
    bool found, hopeless; /* hopeless: no style can be used at all, and cuts only get lighter */
    double best_K;
    struct tw_findings refusal; /* what stopped the first */
};

/* Plans with this allowance and keeps the plan if it is the quickest so far. *waits: this plan waits, or cannot be. */
static enum tw_status try_bulk(struct choosing *choosing, double bulk_K, bool *waits)
{
    struct tw_scene *scene = choosing->scene;
    struct tw_findings *findings = scene->findings, refusal = { 0 };
    struct tw_setup_plan trial = { 0 }, *out = choosing->out;
    bool first = !choosing->found && choosing->refusal.count == 0;
    enum tw_status status;

    choosing->limits.bulk_K = bulk_K;
    scene->findings = &refusal;
    /* Which style is quickest hardly hangs on the depth of the cuts. */
    status = choosing->found
                 ? plan_once(scene, choosing->warmth, choosing->limits, &out->style, 1, out->part_time_s, &trial)
                 : plan_once(scene, choosing->warmth, choosing->limits, styles, STYLE_COUNT, HUGE_VAL, &trial);
    scene->findings = findings;
    *waits = status != TW_OK || trial.dwell_s > 0.0;
    choosing->hopeless = status == TW_NO_PLAN && trial.layer_count == 0;
    if (status == TW_OK && (!choosing->found || trial.part_time_s < out->part_time_s))
        choosing->best_K = bulk_K;
    if (status == TW_OK)
        keep_quicker(out, &trial, &choosing->found);
    tw_side_free(&trial);
    if (first)
        choosing->refusal = refusal;
    else
        tw_findings_free(&refusal);
    return status == TW_NO_PLAN ? TW_OK : status;
}

/* From the least allowance upwards until nothing waits any more, or lighter cuts cost more than waiting. */
static enum tw_status try_bulks(struct choosing *choosing)
{
    enum tw_status status = TW_OK;
    bool waits = true;

    for (size_t i = 0; status == TW_OK && waits && i < sizeof bulks_K / sizeof *bulks_K; i++) {
        if (choosing->limits.ambient_degC + bulks_K[i] >= choosing->limits.limit_degC)
            break;
        status = try_bulk(choosing, bulks_K[i], &waits);
        if (choosing->hopeless || (choosing->found && choosing->best_K < bulks_K[i]))
            break;
    }
    return status;
}

/* Between the best allowance and those next to it. */
static enum tw_status refine_bulk(struct choosing *choosing)
{
    size_t best = 0, last = sizeof bulks_K / sizeof *bulks_K - 1;
    double below_K, above_K;
    enum tw_status status = TW_OK;
    bool waits;

    while (best < last && bulks_K[best] < choosing->best_K)
        best++;
    below_K = bulks_K[best > 0 ? best - 1 : 0];
    above_K = bulks_K[best < last ? best + 1 : last];
    for (int i = 0; status == TW_OK && i < HALVINGS; i++) {
        double middle_K = choosing->best_K;

        status = try_bulk(choosing, (below_K + middle_K) / 2.0, &waits);
        if (status == TW_OK && choosing->best_K == middle_K && choosing->out->dwell_s > 0.0)
            status = try_bulk(choosing, (middle_K + above_K) / 2.0, &waits);
        if (choosing->best_K < middle_K) {
            above_K = middle_K;
        } else if (choosing->best_K > middle_K) {
            below_K = middle_K;
        } else {
            below_K = (below_K + middle_K) / 2.0;
            above_K = (middle_K + above_K) / 2.0;
        }
    }
    return status;
}

/* Plans without a thought for the bulk; if nothing has to wait for it, that is the quickest. Else tries what it costs to
 * cut lighter. */
static enum tw_status plan_with_bulk(struct tw_scene *scene, struct tw_warmth *warmth, struct tw_cut_limits limits,
                                     struct tw_setup_plan *out)
{
    struct choosing choosing = { .scene = scene, .warmth = warmth, .limits = limits, .out = out };
    enum tw_status status = try_bulks(&choosing);

    if (status == TW_OK && choosing.found && (choosing.best_K > 0.0 || out->dwell_s > 0.0))
        status = refine_bulk(&choosing);
    if (!choosing.found) {
        tw_findings_append(scene->findings, &choosing.refusal);
        status = status == TW_OK ? TW_NO_PLAN : status;
    }
    tw_findings_free(&choosing.refusal);
    return status;
}

enum tw_status tw_side_plan(const struct tw_job *job, enum tw_side side, double wheel_mm_per_s,
                            struct tw_setup_plan *out, struct tw_findings *findings)
{
    struct tw_factors *factors = malloc(sizeof *factors);
    struct tw_warmth *warmth = NULL;
    struct tw_scene scene = { 0 };
    struct tw_geos geos;
    enum tw_status status;

    if (!factors)
        return tw_no_memory(findings);
    status = tw_geos_open(&geos, findings);
    if (status == TW_OK)
        status = tw_scene_open(&scene, job, side, &geos, findings);
    if (status == TW_OK)
        status = tw_warmth_open(&scene, &warmth);
    if (status == TW_OK)
        status = plan_with_bulk(&scene, warmth, tw_cut_limits_of(job, side, wheel_mm_per_s, factors), out);
    if (status == TW_OK)
        status = tw_reach_check(job, out, findings);
    tw_warmth_close(warmth);
    tw_scene_close(&scene);
    tw_geos_close(&geos);
    free(factors);
    return status;
}
