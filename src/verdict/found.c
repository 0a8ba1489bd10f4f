/* found.c - see found.h. */
#include "verdict/found.h"

#include "verdict/level.h"
#include "verdict/load.h"
#include "verdict/state.h"
#include "witness/task.h"

#include <math.h>
#include <stdio.h>

/* ---- what a cut must find ---- */

/* Counting cells, a slice may be found a cell wider than it is, and much wider on a motion shorter than a cell; along one axis the
 * cut is no wider than all that the motion cut, and whichever way a round face goes, it covers no more afresh than its diameter
 * times the way. */
static double width_of(const struct tw_wheel *wheel, const struct tw_removal *removal, const struct tw_slice *slice,
                       const double from_mm[3], const double to_mm[3])
{
    double width_mm = wheel->kind == TW_WHEEL_CUP ? fmin(slice->width_mm, wheel->diameter_mm) : slice->width_mm;

    if (from_mm[1] == to_mm[1])
        return fmin(width_mm, removal->y_to_mm - removal->y_from_mm);
    if (from_mm[0] == to_mm[0])
        return fmin(width_mm, removal->x_to_mm - removal->x_from_mm);
    return width_mm;
}

static struct tw_load load_of(const struct tw_wheel *wheel, const struct tw_removal *removal,
                              const struct tw_slice *slice, const double from_mm[3], const double to_mm[3])
{
    bool sinks = from_mm[0] == to_mm[0] && from_mm[1] == to_mm[1];

    return (struct tw_load){
        /* Heights are kept as floats: what they may add to a depth is not the program's doing. */
        .depth_mm = slice->depth_mm - TW_REMOVAL_TOUCH_MM,
        .mean_mm = slice->contact_mm2 > 0.0 ? slice->volume_mm3 / slice->contact_mm2 : 0.0,
        .width_mm = sinks ? removal->y_to_mm - removal->y_from_mm : width_of(wheel, removal, slice, from_mm, to_mm),
        .contact_mm2 = slice->contact_mm2,
        .sinks = sinks,
    };
}

/* Zeros are touched off part by part: what counts from another part's is only right while they lie as the profile says. */
static void check_offset(const struct tw_proving *proving, const struct tw_step *step, struct tw_spot spot)
{
    int own = proving->whole_job->fixture.stations[proving->part - 1].work_offset;

    if (step->work_system != own)
        tw_check_fault(&proving->proof->checks[TW_CHECK_OFFSETS], spot,
                       "%s is in force where part %d is cut, which lies at %s", tw_rs274_system_name(step->work_system),
                       proving->part, tw_rs274_system_name(own));
}

static void note_hold(const struct tw_proving *proving, double tangential_N, struct tw_spot spot)
{
    struct tw_proof *proof = proving->proof;

    if (tangential_N > 0.0)
        tw_check_note_own(&proof->checks[TW_CHECK_HOLDING], tangential_N,
                          TW_HOLDING_SLACK * proof->holding_N[proving->part - 1], spot);
}

static enum tw_status check_slice(struct tw_proving *proving, const struct tw_step *step, const struct tw_slice *slice,
                                  const struct tw_load *load, double over_mm, const double place_mm[3])
{
    struct tw_check *checks = proving->proof->checks;
    struct tw_spot spot = tw_proving_spot(proving, step, place_mm);
    double tangential_N;
    enum tw_status status;

    check_offset(proving, step, spot);
    tw_state_check(proving->job, step, spot, checks);
    tw_check_note(&checks[TW_CHECK_DEPTH], slice->depth_mm, spot);
    if (step->kind == TW_STEP_RAPID)
        tw_check_note(&checks[TW_CHECK_RAPIDS], proving->clearance_mm + slice->depth_mm, spot);
    tw_check_note(&checks[TW_CHECK_LIFT], slice->depth_mm, spot);
    if (checks[TW_CHECK_FINISHING].asked)
        tw_finishing_cut(&proving->finishing, over_mm, slice->depth_mm, spot);
    status = tw_load_check(proving->job, step, load, spot, checks, &tangential_N, proving->findings);
    note_hold(proving, tangential_N, spot);
    tw_give_cut(&proving->give, tangential_N, fmin(load->mean_mm, load->depth_mm));
    return status;
}

double tw_found_over_face_mm(const struct tw_proving *proving, const double from_mm[3], const double to_mm[3])
{
    const struct tw_witness_face *face = &proving->workpiece->face;
    const struct tw_wheel *wheel = &proving->job->wheel;

    return fmin(tw_level_over_face_mm(face, wheel, from_mm[0], from_mm[2]),
                tw_level_over_face_mm(face, wheel, to_mm[0], to_mm[2])) -
           proving->worn->likely_mm;
}

enum tw_status tw_found_cut(struct tw_proving *proving, const struct tw_step *step, const double from_mm[3],
                            const double to_mm[3], const struct tw_removal *removal)
{
    double over_mm = tw_found_over_face_mm(proving, from_mm, to_mm);
    enum tw_status status = TW_OK;

    proving->proof->removed_mm3 += removal->volume_mm3;
    if (removal->slice_count > 0)
        proving->stale = (struct tw_box){ fmin(proving->stale.min_x_mm, removal->x_from_mm),
                                          fmin(proving->stale.min_y_mm, removal->y_from_mm),
                                          fmax(proving->stale.max_x_mm, removal->x_to_mm),
                                          fmax(proving->stale.max_y_mm, removal->y_to_mm) };
    for (size_t i = 0; status == TW_OK && i < removal->slice_count; i++) {
        const struct tw_slice *slice = &removal->slices[i];
        struct tw_load load = load_of(&proving->job->wheel, removal, slice, from_mm, to_mm);
        double middle = (slice->from + slice->to) / 2.0;
        double place_mm[3];

        for (int k = 0; k < 3; k++)
            place_mm[k] = from_mm[k] + middle * (to_mm[k] - from_mm[k]);
        if (slice->depth_mm > 2.0 * TW_REMOVAL_TOUCH_MM)
            status = check_slice(proving, step, slice, &load, over_mm, place_mm);
    }
    return status;
}

/* ---- what must not be touched ---- */

static const char *const kind_names[TW_CELL_KINDS] = {
    "stock, with a part that does not cut", "target", "blade", "pad", "pin", "clamp", "fixture body"
};

static const char *kind_name(const struct tw_proving *proving, int kind)
{
    if (kind == TW_CELL_BLADE && tw_witness_assumes_blade(proving->job))
        return "the blade that is assumed ahead of the taper start, as the drawing shows none";
    return kind_names[kind];
}

void tw_found_touched(struct tw_proving *proving, const struct tw_step *step, const struct tw_removal *removal)
{
    struct tw_check *checks = proving->proof->checks;

    for (int kind = 0; kind < TW_CELL_KINDS; kind++) {
        const struct tw_touch *touch = &removal->contacts[kind];
        double place_mm[3] = { touch->x_mm, touch->y_mm, touch->z_mm };
        /* The taper starts on the blade's own face. */
        double allowed_mm = kind == TW_CELL_BLADE ? TW_GOUGE_MM : 0.0;

        if (touch->depth_mm <= 0.0)
            continue;
        if (kind == TW_CELL_TARGET) {
            tw_check_note(&checks[TW_CHECK_GOUGE], touch->depth_mm, tw_proving_spot(proving, step, place_mm));
            continue;
        }
        if (touch->depth_mm > checks[TW_CHECK_CONTACT].amount + allowed_mm && touch->depth_mm > allowed_mm)
            snprintf(checks[TW_CHECK_CONTACT].note, sizeof checks[TW_CHECK_CONTACT].note, "%s",
                     kind_name(proving, kind));
        tw_check_note(&checks[TW_CHECK_CONTACT], touch->depth_mm - allowed_mm,
                      tw_proving_spot(proving, step, place_mm));
    }
}
