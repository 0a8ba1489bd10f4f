/* drive.c - see drive.h. */
#include "verdict/drive.h"

#include "verdict/asked.h"
#include "verdict/beside.h"
#include "verdict/found.h"
#include "verdict/left.h"
#include "verdict/record.h"
#include "verdict/way_remarks.h"
#include "witness/task.h"

#include <math.h>

/* Length of the pieces of a motion in which depth, width and heat are looked at. */
#define SLICE_MM TW_WARM_SLICE_MM

/* ---- the part and what moves over it ---- */

/* The region of the relief is the stand's business where any of the programs hollows it. */
static enum tw_status open_workpiece(struct tw_proving *proving, const struct tw_run *runs, size_t count, int part,
                                     double cell_mm, struct tw_workpiece *workpiece)
{
    enum tw_status status = tw_workpiece_open(proving->whole_job, runs[0].proof->side, part, proving->fixture, cell_mm,
                                              workpiece, proving->findings);

    for (size_t i = 0; status == TW_OK && i < count; i++) {
        struct tw_job job = tw_witness_part(&runs[i].job, part);

        if (runs[i].proof->scope == TW_SCOPE_RELIEF && !workpiece->relief)
            status = tw_workpiece_add_relief(&job, workpiece, proving->findings);
    }
    if (status != TW_OK)
        tw_workpiece_close(workpiece);
    return status;
}

enum tw_status tw_drive_open(const struct tw_proving *common, const struct tw_run *runs, size_t count, int part,
                             double cell_mm, struct tw_proving *out)
{
    const struct tw_job *job = common->whole_job;

    *out = *common;
    out->whole_own = tw_witness_part(job, part);
    out->whole_job = &out->whole_own;
    out->workpiece = &out->stand;
    out->part = part + 1;
    tw_trace_origin(&job->machine, &job->fixture.stations[part], out->origin_mm);
    return open_workpiece(out, runs, count, part, cell_mm, out->workpiece);
}

void tw_drive_close(struct tw_proving *proving)
{
    tw_workpiece_close(&proving->stand);
}

static enum tw_status open_sweeps(struct tw_proving *proving)
{
    struct tw_wheel_body body = tw_workpiece_wheel(proving->job, 0.0);
    struct tw_field *fields[3] = { &proving->workpiece->fine, &proving->workpiece->near, &proving->workpiece->coarse };
    struct tw_sweep **sweeps[3] = { &proving->fine, &proving->near, &proving->coarse };
    enum tw_status status = TW_OK;

    for (int i = 0; status == TW_OK && i < (proving->workpiece->surrounded ? 3 : 2); i++)
        status = tw_sweep_new(fields[i], &body, fmax(SLICE_MM, fields[i]->cell_mm), sweeps[i], proving->findings);
    return status;
}

static void close_sweeps(struct tw_proving *proving)
{
    tw_twin_free(proving->twin);
    proving->twin = NULL;
    tw_sweep_free(proving->fine);
    tw_sweep_free(proving->coarse);
    tw_sweep_free(proving->near);
    proving->fine = proving->coarse = proving->near = NULL;
}

/* A relief is many small motions, and below the tops of the blanks each finds the same on all of them. Lanes reach over most of
 * the tang, where the blanks differ to the end: there comparing costs more than it saves. */
static enum tw_status open_twin(struct tw_proving *proving)
{
    return proving->leader && proving->proof->scope == TW_SCOPE_RELIEF
               ? tw_twin_new(proving->fine, proving->leader->fine, &proving->twin, proving->findings)
               : TW_OK;
}

static enum tw_status begin_driving(struct tw_proving *proving, bool cut, bool over_ground)
{
    enum tw_status status = open_sweeps(proving);

    if (status == TW_OK)
        status = open_twin(proving);
    if (status == TW_OK)
        status = tw_thermal_run_open(proving->job, proving->workpiece, cut, over_ground, proving->proof,
                                     &proving->thermal, proving->findings);
    if (proving->part == 1) {
        proving->proof->record.pass_count = 0; /* a lifted program is driven twice: the second time counts */
        proving->thermal.record = &proving->proof->record;
    }
    return status;
}

/* ---- one step ---- */

static void place_step(const struct tw_proving *proving, const struct tw_step *step, double from_mm[3], double to_mm[3])
{
    int own = proving->whole_job->fixture.stations[proving->part - 1].work_offset;

    for (int i = 0; i < 3; i++) {
        from_mm[i] = step->from_mm[i] - proving->origin_mm[i];
        to_mm[i] = step->to_mm[i] - proving->origin_mm[i];
    }
    if (step->work_system != own) {
        from_mm[2] -= proving->lower_mm;
        to_mm[2] -= proving->lower_mm;
    }
    from_mm[2] += proving->worn->likely_mm;
    to_mm[2] += proving->worn->likely_mm;
}

/* A feed in this part's own system, or whatever takes steel off it. */
static bool works_on(const struct tw_proving *proving, const struct tw_step *step, double volume_mm3)
{
    return volume_mm3 > 0.0 ||
           (step->kind == TW_STEP_FEED &&
            step->work_system == proving->whole_job->fixture.stations[proving->part - 1].work_offset);
}

static enum tw_status sweep_fine(struct tw_proving *proving, const double from_mm[3], const double to_mm[3],
                                 struct tw_removal *out)
{
    enum tw_status status =
        proving->twin ? tw_twin_line(proving->twin, from_mm, to_mm, &proving->leader->found, out, proving->findings)
                      : tw_sweep_line(proving->fine, from_mm, to_mm, out, proving->findings);

    proving->found = *out;
    return status;
}

static enum tw_status drive_motion(struct tw_proving *proving, const struct tw_step *step, double *volume_mm3)
{
    struct tw_sweep *sweeps[2] = { proving->fine, proving->coarse };
    double from_mm[3], to_mm[3];
    enum tw_status status = tw_thermal_run_ready(&proving->thermal, step);

    if (status != TW_OK)
        return status;
    place_step(proving, step, from_mm, to_mm);
    tw_give_step(&proving->give, step, from_mm, to_mm, tw_found_over_face_mm(proving, from_mm, to_mm));
    tw_floor_check(&proving->floor, step, from_mm, to_mm, proving->clearance_mm, tw_proving_spot(proving, step, NULL),
                   proving->proof->checks);
    if (step->kind == TW_STEP_RAPID)
        status = tw_beside_rapid(proving, step, from_mm, to_mm);
    else
        status = tw_beside_rubbing(proving, step, from_mm, to_mm);
    tw_beside_clearance(proving, step, from_mm, to_mm);
    if (status == TW_OK)
        status = tw_way_feeds(proving, step, from_mm, to_mm);
    for (int i = 0; status == TW_OK && i < 2 && sweeps[i]; i++) {
        struct tw_removal removal;

        status = sweeps[i] == proving->fine ? sweep_fine(proving, from_mm, to_mm, &removal)
                                            : tw_sweep_line(sweeps[i], from_mm, to_mm, &removal, proving->findings);
        if (status == TW_OK) {
            tw_found_touched(proving, step, &removal);
            status = tw_found_cut(proving, step, from_mm, to_mm, &removal);
        }
        if (status == TW_OK && sweeps[i] == proving->fine) {
            *volume_mm3 += removal.volume_mm3;
            if (works_on(proving, step, removal.volume_mm3))
                proving->worn_mm3 = proving->worn->volume_mm3 + removal.volume_mm3;
            status = tw_thermal_run_step(&proving->thermal, step, from_mm, to_mm, &removal,
                                         tw_proving_spot(proving, step, NULL));
        }
    }
    return status;
}

static enum tw_status stand_still(struct tw_proving *proving, const struct tw_step *step)
{
    enum tw_status status = tw_thermal_run_ready(&proving->thermal, step);

    proving->thermal.waiting_s += step->dwell_s;
    return status == TW_OK ? tw_way_stands(proving, step) : status;
}

enum tw_status tw_drive_step(struct tw_proving *proving, const struct tw_step *step, double *volume_mm3)
{
    return step->kind == TW_STEP_DWELL ? stand_still(proving, step) : drive_motion(proving, step, volume_mm3);
}

/* ---- one program ---- */

/* Between finishing and relief the part stays as it lies. Where one face is ground alone, the other never is. */
static bool lies_on_ground(const struct tw_run *runs, size_t index)
{
    if (runs[index].job.one_face)
        return false;
    for (size_t i = 0; i <= index; i++)
        if (runs[i].proof->scope == TW_SCOPE_FINISH)
            return true;
    return false;
}

static enum tw_status end_driving(struct tw_proving *proving)
{
    enum tw_status status = tw_thermal_run_end(&proving->thermal);

    if (status == TW_OK && proving->part == 1)
        status =
            tw_record_maps(&proving->proof->record, proving->workpiece, proving->thermal.history, proving->findings);
    proving->proof->peak_degC = fmax(proving->proof->peak_degC, proving->thermal.peak_degC);
    return status;
}

void tw_drive_stop(struct tw_proving *proving)
{
    tw_thermal_run_close(&proving->thermal);
    close_sweeps(proving);
}

enum tw_status tw_drive_begin(struct tw_proving *proving, const struct tw_run *runs, size_t index, struct tw_worn *worn)
{
    const struct tw_run *run = &runs[index];

    proving->own = tw_witness_part(&run->job, proving->part - 1);
    proving->job = &proving->own;
    proving->floor = tw_floor_of(proving->job, proving->part - 1);
    proving->wide = tw_workpiece_wheel(proving->job, proving->clearance_mm);
    proving->proof = run->proof;
    proving->worn = worn;
    proving->worn_mm3 = 0.0;
    if (index == 0)
        proving->give = tw_give_begin(proving->workpiece);
    proving->give.job = proving->job;
    proving->stale = (struct tw_box){ -HUGE_VAL, -HUGE_VAL, HUGE_VAL, HUGE_VAL };
    tw_finishing_begin(&proving->finishing, proving->job->finish.layers);
    tw_workpiece_aim(proving->workpiece, run->proof->scope == TW_SCOPE_RELIEF);
    return begin_driving(proving, index > 0 || run->proof->scope != TW_SCOPE_WHOLE, lies_on_ground(runs, index));
}

enum tw_status tw_drive_end(struct tw_proving *proving, const struct tw_run *runs, size_t count, size_t index)
{
    const struct tw_run *run = &runs[index];
    enum tw_status status = end_driving(proving);

    if (run->proof->checks[TW_CHECK_FINISHING].asked)
        tw_finishing_end(&proving->finishing, proving->job, &run->proof->checks[TW_CHECK_FINISHING]);
    if (status == TW_OK && proving->part == 1)
        tw_left_gauges(proving);
    if (status == TW_OK && tw_leaves_face(runs, count, index))
        tw_left_stock(proving, run->trace);
    if (status == TW_OK && tw_finishes_face(run->proof->scope))
        tw_left_by_give(proving);
    if (status == TW_OK && tw_wears_face(proving->job, run->proof->scope))
        tw_left_by_wear(proving);
    if (status == TW_OK && run->proof->scope == TW_SCOPE_RELIEF)
        tw_left_in_relief(proving);
    return status;
}
