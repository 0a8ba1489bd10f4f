/* plan.c - both sides of a job: limits, the travel style that takes least time, sums. */
#include "tangwright/plan.h"

#include "plan/reach.h"
#include "plan/schedule.h"
#include "plan/warmth.h"
#include "tangwright/motion.h"

#include <math.h>
#include <stdlib.h>

const char *tw_binding_name(enum tw_binding binding)
{
    static const char *const names[] = { "temperature",  "coolant film boiling", "spindle power", "holding force",
                                         "wheel infeed", "finishing infeed",     "stock" };

    return names[binding];
}

const char *tw_layer_kind_name(enum tw_layer_kind kind)
{
    static const char *const names[] = { "rough", "finish", "spark-out" };

    return names[kind];
}

const char *tw_travel_style_name(enum tw_travel_style style)
{
    static const char *const names[] = { "both ways", "from the butt", "from the ricasso", "loops" };

    return names[style];
}

/* ---- the wheel's speed ---- */

/* A programmable spindle turns at the whole rpm at or below the wanted surface speed. */
static enum tw_status set_spindle(const struct tw_job *job, struct tw_plan *out, struct tw_findings *findings)
{
    const struct tw_machine *machine = &job->machine;
    double around_mm = acos(-1.0) * job->wheel.diameter_mm;
    double rpm = machine->spindle_max_rpm;
    struct tw_place at = { .file = job->path };

    if (machine->spindle_programmable)
        rpm = floor(fmin(rpm, job->wheel.speed_mm_per_s * 60.0 / around_mm) + 1e-9);
    out->spindle_rpm = rpm;
    out->wheel_mm_per_s = around_mm * rpm / 60.0;
    if (out->wheel_mm_per_s > job->wheel.operating_speed_mm_per_s)
        return tw_fail(findings, TW_NO_PLAN, at,
                       "at %.0f rpm the wheel's edge would run at %.2f m/s, above its operating speed of %.2f m/s; take "
                       "a wheel marked for more, a smaller wheel, or a slower spindle",
                       rpm, out->wheel_mm_per_s / 1000.0, job->wheel.operating_speed_mm_per_s / 1000.0);
    return TW_OK;
}

/* ---- one side ---- */

static void setup_free(struct tw_setup_plan *setup)
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
        setup_free(&trial);
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
        setup_free(out);
    }
}

/* Plans without a thought for the bulk; if nothing has to wait for it, that is the quickest. Else tries what it costs to
 * cut lighter. */
static enum tw_status plan_with_bulk(struct tw_scene *scene, struct tw_warmth *warmth, struct tw_cut_limits limits,
                                     struct tw_setup_plan *out)
{
    struct tw_findings *findings = scene->findings, first = { 0 };
    bool found = false;
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < sizeof bulks_K / sizeof *bulks_K; i++) {
        struct tw_findings refusal = { 0 };
        struct tw_setup_plan trial = { 0 };
        enum tw_status answer;
        bool waits, slower;

        limits.bulk_K = bulks_K[i];
        scene->findings = &refusal;
        /* Which style is quickest hardly hangs on the depth of the cuts. */
        answer = found ? plan_once(scene, warmth, limits, &out->style, 1, out->part_time_s, &trial)
                       : plan_once(scene, warmth, limits, styles, STYLE_COUNT, HUGE_VAL, &trial);
        waits = answer != TW_OK || trial.dwell_s > 0.0;
        slower = answer == TW_OK && found && trial.part_time_s > out->part_time_s;
        if (answer == TW_OK)
            keep_quicker(out, &trial, &found);
        else if (answer != TW_NO_PLAN)
            status = answer;
        setup_free(&trial);
        if (i == 0)
            first = refusal;
        else
            tw_findings_free(&refusal);
        /* Nothing waits: the quickest with this much heat. Slower than before: lighter cuts cost more than waiting. */
        if (!waits || (found && slower) || limits.ambient_degC + limits.bulk_K >= limits.limit_degC)
            break;
    }
    scene->findings = findings;
    if (!found) {
        tw_findings_append(findings, &first);
        status = status == TW_OK ? TW_NO_PLAN : status;
    }
    tw_findings_free(&first);
    return status;
}

static enum tw_status plan_side(const struct tw_job *job, const struct tw_cut_limits *limits, enum tw_side side,
                                struct tw_geos *geos, struct tw_setup_plan *out, struct tw_findings *findings)
{
    struct tw_warmth *warmth = NULL;
    struct tw_scene scene;
    enum tw_status status = tw_scene_open(&scene, job, side, geos, findings);

    if (status == TW_OK)
        status = tw_warmth_open(&scene, &warmth);
    if (status == TW_OK)
        status = plan_with_bulk(&scene, warmth, *limits, out);
    if (status == TW_OK)
        status = tw_reach_check(job, out, findings);
    tw_warmth_close(warmth);
    tw_scene_close(&scene);
    return status;
}

/* ---- sums ---- */

#define SPIN_DRY_S 10.0

double tw_plan_spin_dry_s(const struct tw_job *job)
{
    return job->coolant.kind == TW_COOLANT_DRY ? 0.0 : SPIN_DRY_S;
}

double tw_plan_leave_z_mm(const struct tw_job *job, const struct tw_setup_plan *setup, int part)
{
    const struct tw_station *station = job->fixture.stations;
    double rise_mm = 0.0;

    if (part + 1 < job->parts)
        rise_mm = job->machine.up.sign * (station[part + 1].up_mm - station[part].up_mm);
    return setup->clear_z_mm + fmax(0.0, rise_mm);
}

/* From one station to the next: up where the next one is higher, across, and down again. */
static double change_time_s(const struct tw_job *job, const struct tw_setup_plan *setup, int part)
{
    const struct tw_station *a = &job->fixture.stations[part], *b = a + 1;
    const struct tw_place3 *first = &setup->moves[0].to, *last = &setup->moves[setup->move_count - 1].to;
    double rise_mm = job->machine.up.sign * (b->up_mm - a->up_mm);
    double up[3] = { 0.0, 0.0, fabs(rise_mm) };
    double across[3] = { job->machine.along.sign * (b->along_mm - a->along_mm) + first->x_mm - last->x_mm,
                         job->machine.across.sign * (b->across_mm - a->across_mm) + first->y_mm - last->y_mm, 0.0 };

    return tw_motion_rapid_time_s(&job->machine, up) + tw_motion_rapid_time_s(&job->machine, across);
}

static void sum_up(const struct tw_job *job, struct tw_plan *plan)
{
    plan->removed_mm3 = 2.0 * tw_taper_removed_mm3(job);
    plan->removed_g = plan->removed_mm3 * job->steel.density_g_per_mm3;
    for (int i = 0; i < 2; i++) {
        struct tw_setup_plan *setup = &plan->setups[i];

        setup->cycle_time_s =
            job->machine.spindle_up_to_speed_s + job->parts * setup->part_time_s + tw_plan_spin_dry_s(job);
        for (int part = 0; part + 1 < job->parts; part++)
            setup->cycle_time_s += change_time_s(job, setup, part);
        plan->pass_count += job->parts * setup->pass_count;
        plan->cut_time_s += job->parts * setup->cut_time_s;
        plan->cycle_time_s += setup->cycle_time_s;
        plan->peak_degC = fmax(plan->peak_degC, setup->peak_degC);
    }
}

enum tw_status tw_plan_make(const struct tw_job *job, struct tw_plan *out, struct tw_findings *findings)
{
    struct tw_factors *factors;
    struct tw_geos geos;
    enum tw_status status;

    *out = (struct tw_plan){ 0 };
    status = set_spindle(job, out, findings);
    if (status != TW_OK)
        return status;
    factors = malloc(sizeof *factors);
    if (!factors)
        return tw_no_memory(findings);
    out->limit_degC = job->limits.tempering_degC - job->limits.margin_K;
    out->flash_limit = job->limits.flash;
    status = tw_geos_open(&geos, findings);
    for (int side = 0; status == TW_OK && side < 2; side++) {
        struct tw_cut_limits limits = tw_cut_limits_of(job, (enum tw_side)side, out->wheel_mm_per_s, factors);

        out->holding_N = limits.force_N;
        status = plan_side(job, &limits, (enum tw_side)side, &geos, &out->setups[side], findings);
    }
    tw_geos_close(&geos);
    free(factors);
    if (status != TW_OK) {
        tw_plan_free(out);
        return status;
    }
    sum_up(job, out);
    return TW_OK;
}

void tw_plan_free(struct tw_plan *plan)
{
    setup_free(&plan->setups[0]);
    setup_free(&plan->setups[1]);
    *plan = (struct tw_plan){ 0 };
}
