/* prove.c - driving a program's steps over the part.
 *
 * Each part stands on its own station; each step is looked at from each of them, whichever work offset it was
 * written for, because the wheel does not know about offsets. */
#include "verdict/prove.h"

#include "verdict/checks.h"
#include "tangwright/heat.h"

#include <math.h>
#include <stdio.h>

/* Length of the pieces of a motion in which depth, width and heat are looked at. */
#define SLICE_MM 2.0
/* The program may go below the target, and into the blade's face at the taper start, by this and by the rounding of
 * the controller's last decimal. */
#define GOUGE_MM 0.002

struct proving {
    const struct tw_job *job;
    struct tw_proof *proof;
    struct tw_stand *stand;
    struct tw_sweep *fine, *coarse;
    struct tw_wheel_body wide;   /* larger by the rapids' clearance */
    double clearance_mm;         /* of rapids */
    double origin_mm[3];         /* of the part's setup frame, in the trace's frame */
    int part;
    bool cut_seen;
    struct tw_findings *findings;
};

static double decimal_mm(const struct tw_job *job)
{
    const struct tw_dialect *dialect = &job->machine.dialect;

    return pow(10.0, -dialect->length_decimals) * (dialect->inch ? 25.4 : 1.0);
}

static struct tw_spot spot_of(const struct proving *proving, const struct tw_step *step, const double place_mm[3])
{
    return (struct tw_spot){ step->line, proving->part, place_mm };
}

/* ---- what a cut must find ---- */

static void check_state(struct proving *proving, const struct tw_step *step, const double place_mm[3])
{
    const struct tw_job *job = proving->job;
    struct tw_check *checks = proving->proof->checks;
    struct tw_spot spot = spot_of(proving, step, place_mm);
    bool counter = job->machine.spindle_counterclockwise;
    enum tw_rs274_spindle right = counter ? TW_RS274_SPINDLE_COUNTERCLOCKWISE : TW_RS274_SPINDLE_CLOCKWISE;
    double wanted_rpm = job->wheel.speed_mm_per_s * 60.0 / (acos(-1.0) * job->wheel.diameter_mm);

    if (step->spindle == TW_RS274_SPINDLE_OFF)
        tw_check_fault(&checks[TW_CHECK_SPINDLE], spot, "the wheel cuts while the spindle stands");
    else if (step->spindle != right)
        tw_check_fault(&checks[TW_CHECK_SPINDLE], spot, "the spindle turns the wrong way: M%d is wanted", counter ? 4 : 3);
    else if (job->machine.spindle_programmable && fabs(step->spindle_rpm - wanted_rpm) > 0.02 * wanted_rpm)
        tw_check_fault(&checks[TW_CHECK_SPINDLE], spot, "%.0f rpm, but this wheel's speed asks for %.0f", step->spindle_rpm,
                       wanted_rpm);
    else if (step->spun_s < 0.999 * job->machine.spindle_up_to_speed_s)
        tw_check_fault(&checks[TW_CHECK_SPINDLE], spot, "the wheel cuts %.3g s after the spindle's start; it needs %.3g s to come up to speed",
                       step->spun_s, job->machine.spindle_up_to_speed_s);
    if (job->coolant.kind == TW_COOLANT_FLOOD && job->machine.dialect.flood_code > 0 &&
        !(job->machine.dialect.flood_code == 8 ? step->flood : step->mist))
        tw_check_fault(&checks[TW_CHECK_COOLANT], spot, "the wheel cuts without the flood coolant that the job relies on");
    if (job->coolant.kind == TW_COOLANT_MIST && job->machine.dialect.mist_code > 0 &&
        !(job->machine.dialect.mist_code == 7 ? step->mist : step->flood))
        tw_check_fault(&checks[TW_CHECK_COOLANT], spot, "the wheel cuts without the mist that the job relies on");
    if (job->coolant.kind == TW_COOLANT_DRY && (step->flood || step->mist))
        tw_check_fault(&checks[TW_CHECK_COOLANT], spot, "coolant is on, but the job is to be ground dry");
}

/* Surface speed of the wheel during the step; what the job wants where the spindle's speed is not the program's. */
static double wheel_mm_per_s(const struct proving *proving, const struct tw_step *step)
{
    double rpm = proving->job->machine.spindle_programmable ? step->spindle_rpm : proving->job->machine.spindle_max_rpm;

    return acos(-1.0) * proving->job->wheel.diameter_mm * rpm / 60.0;
}

static enum tw_status flash_of(struct proving *proving, const struct tw_step *step, double depth_mm,
                               struct tw_flash *out)
{
    const struct tw_job *job = proving->job;
    bool cup = job->wheel.kind == TW_WHEEL_CUP;
    struct tw_contact contact = {
        .depth_mm = depth_mm,
        .table_mm_per_s = step->kind == TW_STEP_FEED ? step->feed_mm_per_s : job->machine.along.rapid_mm_per_s,
        .wheel_mm_per_s = wheel_mm_per_s(proving, step),
        .contact_mm = cup ? tw_cup_contact_mm(&job->wheel, job->mount == TW_MOUNT_LEVEL)
                          : tw_disc_contact_mm(depth_mm, &job->wheel),
    };

    return tw_flash_estimate(&contact, &job->wheel, &job->steel, &job->coolant, job->coolant.temperature_degC, out,
                             proving->findings);
}

/* Heat, power and force of one slice of a cut. */
static enum tw_status check_slice(struct proving *proving, const struct tw_step *step, const struct tw_slice *slice,
                                  double width_mm, const double place_mm[3])
{
    struct tw_check *checks = proving->proof->checks;
    struct tw_spot spot = spot_of(proving, step, place_mm);
    /* Heights are kept as floats: what they may add to a depth is not the program's doing. */
    double depth_mm = slice->depth_mm - TW_REMOVAL_TOUCH_MM;
    double mean_mm = slice->contact_mm2 > 0.0 ? slice->volume_mm3 / slice->contact_mm2 : 0.0;
    struct tw_flash flash;
    enum tw_status status;

    if (depth_mm <= TW_REMOVAL_TOUCH_MM || wheel_mm_per_s(proving, step) <= 0.0)
        return TW_OK;
    status = flash_of(proving, step, depth_mm, &flash);
    if (status != TW_OK)
        return status;
    tw_check_note(&checks[TW_CHECK_TEMPERATURE], flash.peak_degC, spot);
    if (mean_mm <= TW_REMOVAL_TOUCH_MM)
        return TW_OK;
    status = flash_of(proving, step, fmin(mean_mm, depth_mm), &flash);
    if (status != TW_OK)
        return status;
    tw_check_note(&checks[TW_CHECK_POWER], flash.power_W_per_mm * width_mm, spot);
    tw_check_note(&checks[TW_CHECK_HOLDING], flash.tangential_N_per_mm * width_mm, spot);
    return TW_OK;
}

/* Counting cells, a slice may be found a cell wider than it is; along one axis the cut is no wider than all that the
 * motion cut. */
static double width_of(const struct tw_removal *removal, const struct tw_slice *slice, const double from_mm[3],
                       const double to_mm[3])
{
    if (from_mm[1] == to_mm[1])
        return fmin(slice->width_mm, removal->y_to_mm - removal->y_from_mm);
    if (from_mm[0] == to_mm[0])
        return fmin(slice->width_mm, removal->x_to_mm - removal->x_from_mm);
    return slice->width_mm;
}

static enum tw_status check_cut(struct proving *proving, const struct tw_step *step, const double from_mm[3],
                                const double to_mm[3], const struct tw_removal *removal)
{
    struct tw_check *checks = proving->proof->checks;
    enum tw_status status = TW_OK;

    proving->proof->removed_mm3 += removal->volume_mm3;
    for (size_t i = 0; status == TW_OK && i < removal->slice_count; i++) {
        const struct tw_slice *slice = &removal->slices[i];
        double middle = (slice->from + slice->to) / 2.0;
        double place_mm[3];

        if (slice->depth_mm <= 2.0 * TW_REMOVAL_TOUCH_MM)
            continue;
        for (int k = 0; k < 3; k++)
            place_mm[k] = from_mm[k] + middle * (to_mm[k] - from_mm[k]);
        check_state(proving, step, place_mm);
        tw_check_note(&checks[TW_CHECK_DEPTH], slice->depth_mm, spot_of(proving, step, place_mm));
        if (step->kind == TW_STEP_RAPID)
            tw_check_note(&checks[TW_CHECK_RAPIDS], proving->clearance_mm + slice->depth_mm,
                          spot_of(proving, step, place_mm));
        if (proving->proof->lift_mm > 0.0)
            tw_check_note(&checks[TW_CHECK_LIFT], slice->depth_mm, spot_of(proving, step, place_mm));
        status = check_slice(proving, step, slice, width_of(removal, slice, from_mm, to_mm), place_mm);
    }
    return status;
}

/* ---- what must not be touched ---- */

static const char *const kind_names[TW_CELL_KINDS] = { "stock, with a part that does not cut", "target", "blade", "pad",
                                                        "pin", "clamp", "fixture body" };

static void check_contacts(struct proving *proving, const struct tw_step *step, const struct tw_removal *removal)
{
    struct tw_check *checks = proving->proof->checks;

    for (int kind = 0; kind < TW_CELL_KINDS; kind++) {
        const struct tw_touch *touch = &removal->contacts[kind];
        double place_mm[3] = { touch->x_mm, touch->y_mm, touch->z_mm };
        /* The taper starts on the blade's own face: there the decimals decide. */
        double allowed_mm = kind == TW_CELL_BLADE ? GOUGE_MM + decimal_mm(proving->job) : 0.0;

        if (touch->depth_mm <= 0.0)
            continue;
        if (kind == TW_CELL_TARGET) {
            tw_check_note(&checks[TW_CHECK_GOUGE], touch->depth_mm, spot_of(proving, step, place_mm));
            continue;
        }
        if (touch->depth_mm > checks[TW_CHECK_CONTACT].amount + allowed_mm && touch->depth_mm > allowed_mm)
            snprintf(checks[TW_CHECK_CONTACT].note, sizeof checks[TW_CHECK_CONTACT].note, "%s", kind_names[kind]);
        tw_check_note(&checks[TW_CHECK_CONTACT], touch->depth_mm - allowed_mm, spot_of(proving, step, place_mm));
    }
}

/* A rapid that only goes up leaves the work alone. */
static bool only_rises(const double from_mm[3], const double to_mm[3])
{
    return from_mm[0] == to_mm[0] && from_mm[1] == to_mm[1] && to_mm[2] > from_mm[2];
}

/* How much nearer than the clearance the wheel comes to anything: a wheel larger by it is driven along a path that is
 * lower by it. */
static enum tw_status check_rapid(struct proving *proving, const struct tw_step *step, const double from_mm[3],
                                  const double to_mm[3])
{
    double low_from[3] = { from_mm[0], from_mm[1], from_mm[2] - proving->clearance_mm };
    double low_to[3] = { to_mm[0], to_mm[1], to_mm[2] - proving->clearance_mm };
    struct tw_sweep *sweeps[2] = { proving->fine, proving->coarse };

    if (only_rises(from_mm, to_mm))
        return TW_OK;
    for (int i = 0; i < 2; i++) {
        struct tw_removal removal;
        enum tw_status status = tw_sweep_probe(sweeps[i], &proving->wide, low_from, low_to, &removal, proving->findings);

        if (status != TW_OK)
            return status;
        for (int kind = 0; kind < TW_CELL_KINDS; kind++) {
            const struct tw_touch *touch = &removal.contacts[kind];
            double place_mm[3] = { touch->x_mm, touch->y_mm, touch->z_mm + proving->clearance_mm };

            if (touch->depth_mm > 0.0 && kind != TW_CELL_TARGET)
                tw_check_note(&proving->proof->checks[TW_CHECK_RAPIDS], touch->depth_mm,
                              spot_of(proving, step, place_mm));
        }
    }
    return TW_OK;
}

/* ---- one step on one part ---- */

static enum tw_status drive_step(struct proving *proving, const struct tw_step *step)
{
    struct tw_sweep *sweeps[2] = { proving->fine, proving->coarse };
    double from_mm[3], to_mm[3];
    enum tw_status status = TW_OK;

    for (int i = 0; i < 3; i++) {
        from_mm[i] = step->from_mm[i] - proving->origin_mm[i];
        to_mm[i] = step->to_mm[i] - proving->origin_mm[i];
    }
    if (step->kind == TW_STEP_RAPID)
        status = check_rapid(proving, step, from_mm, to_mm);
    for (int i = 0; status == TW_OK && i < 2; i++) {
        struct tw_removal removal;

        status = tw_sweep_line(sweeps[i], from_mm, to_mm, &removal, proving->findings);
        if (status == TW_OK) {
            check_contacts(proving, step, &removal);
            status = check_cut(proving, step, from_mm, to_mm, &removal);
        }
    }
    return status;
}

/* ---- what is left ---- */

static void measure_part(struct proving *proving, int last_line)
{
    struct tw_check *checks = proving->proof->checks;
    struct tw_stand_result result = tw_stand_measure(proving->stand);
    struct tw_spot spot = { last_line, proving->part, result.high_place_mm };

    tw_check_note(&checks[TW_CHECK_STOCK_LEFT], result.high_mm, spot);
    tw_check_note(&checks[TW_CHECK_FLATNESS], result.high_mm - result.low_mm, spot);
}

/* Half thickness at a few places along the first part's tang. */
static void gauge_part(struct proving *proving)
{
    const struct tw_job *job = proving->job;
    const struct tw_face *face = &proving->stand->face;

    for (int i = 0; i < TW_GAUGE_POINTS; i++) {
        struct tw_gauge *gauge = &proving->proof->gauges[i];
        double x_mm = job->taper.length_mm * (0.02 + 0.96 * i / (TW_GAUGE_POINTS - 1));
        double setup_x_mm = face->start_mm + x_mm * face->stretch;
        double height_mm = tw_stand_height_mm(proving->stand, setup_x_mm);

        gauge->x_mm = x_mm;
        gauge->aim_mm = tw_taper_thickness_mm(job, x_mm) / 2.0;
        /* Turned back with the part, the face lies this high over the pad; the centre plane half a ricasso. */
        if (face->mount == TW_MOUNT_TILTED)
            height_mm = (height_mm - setup_x_mm * tan(face->tilt_rad)) * cos(face->tilt_rad);
        gauge->half_mm = height_mm - job->taper.ricasso_mm / 2.0;
    }
}

/* ---- all parts ---- */

static void ask_all(const struct tw_job *job, struct tw_proof *proof)
{
    struct tw_check *checks = proof->checks;
    const struct tw_fixture *fixture = &job->fixture;
    double decimals_mm = decimal_mm(job);
    double holding_N = fixture->friction * (fixture->clamp_force_N + fixture->pull_N_per_mm2 * tw_tang_area_mm2(job)) /
                       fixture->holding_safety;

    tw_check_ask(&checks[TW_CHECK_SPINDLE], 0.0, "");
    tw_check_ask(&checks[TW_CHECK_COOLANT], 0.0, "");
    tw_check_ask(&checks[TW_CHECK_RAPIDS], 1e-3, "mm");
    tw_check_ask(&checks[TW_CHECK_CONTACT], TW_REMOVAL_TOUCH_MM, "mm");
    tw_check_ask(&checks[TW_CHECK_DEPTH], job->wheel.max_infeed_mm + decimals_mm, "mm");
    tw_check_ask(&checks[TW_CHECK_POWER], job->machine.spindle_power_W * 1.001, "W");
    tw_check_ask(&checks[TW_CHECK_HOLDING], holding_N * 1.001, "N");
    tw_check_ask(&checks[TW_CHECK_TEMPERATURE], job->limits.tempering_degC - job->limits.margin_K, "degC");
    tw_check_ask(&checks[TW_CHECK_GOUGE], GOUGE_MM + decimals_mm, "mm");
    tw_check_ask(&checks[TW_CHECK_STOCK_LEFT], job->finish.flatness_mm, "mm");
    tw_check_ask(&checks[TW_CHECK_FLATNESS], job->finish.flatness_mm, "mm");
    if (proof->lift_mm > 0.0)
        tw_check_ask(&checks[TW_CHECK_LIFT], 0.0, "mm");
}

static enum tw_status drive_part(struct proving *proving, const struct tw_trace *trace)
{
    struct tw_wheel_body body = tw_stand_wheel(proving->job, 0.0);
    enum tw_status status = tw_sweep_new(&proving->stand->fine, &body, SLICE_MM, &proving->fine, proving->findings);

    if (status == TW_OK)
        status = tw_sweep_new(&proving->stand->coarse, &body, SLICE_MM, &proving->coarse, proving->findings);
    for (size_t i = 0; status == TW_OK && i < trace->count; i++)
        if (trace->steps[i].kind != TW_STEP_DWELL)
            status = drive_step(proving, &trace->steps[i]);
    tw_sweep_free(proving->fine);
    tw_sweep_free(proving->coarse);
    proving->fine = proving->coarse = NULL;
    return status;
}

enum tw_status tw_prove(const struct tw_job *job, const struct tw_trace *trace, double cell_mm, struct tw_proof *proof,
                        struct tw_findings *findings)
{
    double clearance_mm = 0.5 * fmin(job->travel.approach_mm, job->travel.overtravel_mm);
    struct proving proving = { .job = job, .proof = proof, .clearance_mm = clearance_mm, .findings = findings };
    enum tw_status status = TW_OK;

    proving.wide = tw_stand_wheel(job, clearance_mm);
    ask_all(job, proof);
    for (int part = 0; status == TW_OK && part < job->parts; part++) {
        struct tw_stand stand;

        status = tw_stand_open(job, proof->side, cell_mm, &stand, findings);
        if (status != TW_OK)
            break;
        proving.stand = &stand;
        proving.part = part + 1;
        tw_trace_origin(&job->machine, &job->fixture.stations[part], proving.origin_mm);
        status = drive_part(&proving, trace);
        if (status == TW_OK && part == 0)
            gauge_part(&proving);
        if (status == TW_OK)
            measure_part(&proving, trace->last_line);
        tw_stand_close(&stand);
    }
    proof->peak_degC = fmax(job->coolant.temperature_degC, proof->checks[TW_CHECK_TEMPERATURE].amount);
    return status;
}
