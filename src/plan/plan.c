/* plan.c - both sides of a job: limits, the travel style that takes least time, sums. */
#include "tangwright/plan.h"

#include "plan/reach.h"
#include "plan/schedule.h"
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

/* Tries every style; keeps the quickest that is possible. When none is, what stopped the first is the answer. */
static enum tw_status plan_side(const struct tw_job *job, const struct tw_cut_limits *limits, enum tw_side side,
                                struct tw_geos *geos, struct tw_setup_plan *out, struct tw_findings *findings)
{
    static const enum tw_travel_style styles[] = { TW_STYLE_BOTH_WAYS, TW_STYLE_FROM_BUTT, TW_STYLE_FROM_RICASSO,
                                                   TW_STYLE_LOOPS };
    struct tw_findings first = { 0 };
    struct tw_scene scene;
    bool found = false;
    enum tw_status status = tw_scene_open(&scene, job, side, geos, findings);

    for (size_t i = 0; status == TW_OK && i < sizeof styles / sizeof *styles; i++) {
        struct tw_findings refusal = { 0 };
        struct tw_setup_plan trial = { 0 };
        enum tw_status answer;

        scene.findings = &refusal;
        answer = tw_schedule_make(&scene, limits, styles[i], &trial);
        if (answer == TW_OK && (!found || trial.part_time_s < out->part_time_s)) {
            struct tw_setup_plan slower = *out;

            *out = trial;
            trial = slower;
            found = true;
        }
        setup_free(&trial);
        if (i == 0) {
            first = refusal;
        } else {
            tw_findings_free(&refusal);
        }
        if (answer != TW_OK && answer != TW_NO_PLAN)
            status = answer;
    }
    scene.findings = findings;
    if (!found) {
        tw_findings_append(findings, &first);
        status = status == TW_OK ? TW_NO_PLAN : status;
    }
    if (found && status == TW_OK)
        status = tw_reach_check(job, out, findings);
    tw_findings_free(&first);
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
    struct tw_cut_limits limits;
    struct tw_geos geos;
    enum tw_status status;

    *out = (struct tw_plan){ 0 };
    status = set_spindle(job, out, findings);
    if (status != TW_OK)
        return status;
    limits = tw_cut_limits_of(job, out->wheel_mm_per_s);
    out->limit_degC = limits.limit_degC;
    out->holding_N = limits.force_N;
    status = tw_geos_open(&geos, findings);
    for (int side = 0; status == TW_OK && side < 2; side++)
        status = plan_side(job, &limits, (enum tw_side)side, &geos, &out->setups[side], findings);
    tw_geos_close(&geos);
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
