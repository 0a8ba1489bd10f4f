/* program_checks.c - the checks that need no field: what the text says, and where it sends the axes. */
#include "verdict/program_checks.h"

#include "base/numbers.h"
#include "verdict/remarks.h"
#include "witness/face.h"
#include "witness/task.h"

#include <math.h>
#include <stdio.h>

/* Rounding of sums of decimals. */
#define ROUNDING_MM 1e-6
/* Feeds are printed with few decimals, and rounding may turn the machine's own limit up. */
#define FEED_SLACK 1.0001

/* Higher than all there is over one datum pad: blank, blade, keep-outs. */
static double clear_over_pad_mm(const struct tw_job *job, enum tw_side side)
{
    struct tw_witness_face face = tw_witness_face(job, side);
    double clear_mm = face.blank_mm;

    for (size_t i = 0; i < job->part.tang.outer.count; i++) {
        double x_mm = tw_witness_place(&face, job->part.tang.outer.points[i]).x_mm;

        /* The blank's own top: where the taper takes less than the allowance, that lies below the target. */
        clear_mm = fmax(clear_mm, tw_witness_highest_mm(&face, x_mm));
    }
    for (size_t i = 0; i < job->fixture.keep_out_count; i++)
        if (tw_witness_stands(&job->fixture.keep_outs[i], side))
            clear_mm = fmax(clear_mm, job->fixture.keep_outs[i].top_mm);
    return clear_mm + fmin(job->travel.approach_mm, job->fixture.clearance_mm);
}

/* The same in the trace's frame, over every part. */
static double clear_height_mm(const struct tw_job *job, enum tw_side side)
{
    double highest_mm = -HUGE_VAL, origin_mm[3];

    for (int part = 0; part < job->parts; part++) {
        struct tw_job own = tw_witness_part(job, part);

        tw_trace_origin(&job->machine, &job->fixture.stations[part], origin_mm);
        highest_mm = fmax(highest_mm, origin_mm[2] + clear_over_pad_mm(&own, side));
    }
    return highest_mm;
}

/* The first fault of the reader is the answer; how many there are is the amount. */
void tw_program_check_text(const struct tw_findings *refusals, int line, struct tw_check *check)
{
    size_t faults = 0;

    tw_check_ask(check, 0.0, "");
    for (size_t i = 0; i < refusals->count; i++) {
        if (refusals->items[i].status == TW_OK)
            continue;
        if (faults++ == 0)
            tw_check_fault(check, (struct tw_spot){ refusals->items[i].line ? refusals->items[i].line : line, 0, NULL },
                           "%s", refusals->items[i].text);
        else
            check->amount += 1.0;
    }
}

static int first_motion_line(const struct tw_trace *trace, const struct tw_trace_start *start)
{
    for (size_t i = start->step; i < trace->count; i++)
        if (trace->steps[i].kind != TW_STEP_DWELL)
            return trace->steps[i].line;
    return trace->last_line;
}

/* What an earlier job left in force must not count. */
static void check_told(const struct tw_job *job, const struct tw_trace *trace, const struct tw_trace_start *start,
                       struct tw_check *check)
{
    const struct tw_dialect *dialect = &job->machine.dialect;
    const struct {
        bool wanted;
        int line;
        const char *what;
    } rows[] = {
        { true, start->told.units, "units (G20 or G21)" },
        { true, start->told.distance, "the distance mode (G90)" },
        { true, start->told.feed_mode, "the feed mode (G94)" },
        { true, start->told.work_system, "the work offset (G54 ...)" },
        { dialect->select_plane, start->told.plane, "the plane (G17, G18 or G19)" },
        { dialect->cancel_radius, start->told.cancel_radius, "radius compensation off (G40)" },
        { dialect->cancel_length, start->told.cancel_length, "tool length off (G49)" },
        { dialect->cancel_cycles, start->told.cancel_cycles, "cycles off (G80)" },
        { dialect->path_mode != TW_PATH_UNSET, start->told.path, "the path mode (G61, G61.1 or G64)" },
    };
    struct tw_spot motion = { .line = first_motion_line(trace, start) };

    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        if (rows[i].wanted && rows[i].line == 0)
            tw_check_fault(check, motion, "%s not set before the first motion: what %s would count", rows[i].what,
                           start == trace->starts ? "an earlier job left" : "was done during the stop");
}

static enum tw_rs274_plane table_plane(const struct tw_machine *machine)
{
    return machine->up.letter == 'Z'   ? TW_RS274_PLANE_XY
           : machine->up.letter == 'Y' ? TW_RS274_PLANE_XZ
                                       : TW_RS274_PLANE_YZ;
}

/* What was told must also be what this job and machine want. */
static void check_told_right(const struct tw_job *job, const struct tw_trace_start *start, struct tw_check *check)
{
    const struct tw_dialect *dialect = &job->machine.dialect;
    static const enum tw_rs274_path paths[] = { [TW_PATH_UNSET] = TW_RS274_PATH_UNSET,
                                                [TW_PATH_EXACT] = TW_RS274_PATH_EXACT,
                                                [TW_PATH_EXACT_STOP] = TW_RS274_PATH_EXACT_STOP,
                                                [TW_PATH_BLENDED] = TW_RS274_PATH_CONTINUOUS };

    if (start->told.units > 0 && start->at_first.inch != dialect->inch)
        tw_check_fault(check, (struct tw_spot){ .line = start->told.units },
                       "written in %s, but the profile asks for %s", dialect->inch ? "mm" : "inch",
                       dialect->inch ? "inch" : "mm");
    if (start->told.path > 0 && dialect->path_mode != TW_PATH_UNSET &&
        start->at_first.path != paths[dialect->path_mode])
        tw_check_fault(check, (struct tw_spot){ .line = start->told.path },
                       "the path mode is not the one the profile asks for");
}

/* What may never be done, wherever it stands. */
static void check_never(const struct tw_job *job, const struct tw_trace *trace, struct tw_check *check)
{
    const struct tw_dialect *dialect = &job->machine.dialect;

    if (trace->blended && dialect->path_mode != TW_PATH_BLENDED)
        tw_check_fault(check, (struct tw_spot){ .line = trace->blended_line },
                       "corners may be rounded (G64), but the profile asks for an exact path");
    if (trace->tool_line > 0)
        tw_check_fault(check, (struct tw_spot){ .line = trace->tool_line },
                       "a tool is selected or changed, but one wheel grinds the whole program");
    if (trace->overrides_line > 0)
        tw_check_fault(check, (struct tw_spot){ .line = trace->overrides_line },
                       "the override switches are turned off (M49)");
    if (trace->stop_line > 0)
        tw_check_fault(check, (struct tw_spot){ .line = trace->stop_line },
                       "M1 only stops where a switch says so: whether the wheel was dressed then, nobody knows");
}

/* Nobody knows where the wheel stands when the program is started. So the first motion raises it clear of everything,
 * and until both other axes have been sent somewhere it stays up there. */
static void check_first_start(const struct tw_trace *trace, double clear_mm, struct tw_check *check)
{
    bool placed = false;
    int motions = 0;

    for (size_t i = 0; !placed && i < trace->count; i++) {
        const struct tw_step *step = &trace->steps[i];
        struct tw_spot spot = { .line = step->line };

        if (step->kind == TW_STEP_DWELL)
            continue;
        if (step->incremental)
            tw_check_fault(check, spot, "moves by increments (G91) from a place that nobody knows");
        else if (step->to_mm[2] < clear_mm || step->to_mm[2] == trace->start_mm[2])
            tw_check_fault(check, spot,
                           "the wheel is not raised clear before it goes where nobody knows what stands in the way");
        else if (motions++ == 0 && (step->to_mm[0] != step->from_mm[0] || step->to_mm[1] != step->from_mm[1]))
            tw_check_fault(check, spot,
                           "the first motion must raise the wheel and do nothing else: nobody knows where it stands");
        placed = step->to_mm[0] != trace->start_mm[0] && step->to_mm[1] != trace->start_mm[1];
    }
}

/* The wheel can be got at, and nothing turns or flows. */
static void check_stop(const struct tw_job *job, const struct tw_step *stop, double clear_mm, struct tw_check *check)
{
    struct tw_spot spot = { .line = stop->line };

    if (!job->machine.dialect.program_stop)
        tw_check_fault(check, spot, "stops (M0), which this controller does not know: program_stop = false;");
    if (stop->to_mm[2] < clear_mm - ROUNDING_MM)
        tw_check_fault(check, spot, "stops (M0) with the wheel %.3f mm lower than would be clear of everything",
                       clear_mm - stop->to_mm[2]);
    if (stop->spindle != TW_RS274_SPINDLE_OFF)
        tw_check_fault(check, spot, "stops (M0) while the spindle turns");
    if (stop->mist || stop->flood)
        tw_check_fault(check, spot, "stops (M0) while the coolant flows");
}

/* Somebody has dressed the wheel and touched it off: first it goes up, and then it stays up on its way to the part. */
static void check_restart(const struct tw_trace *trace, const struct tw_trace_start *start, double clear_mm,
                          struct tw_check *check)
{
    int motions = 0;

    for (size_t i = start->step; motions < 2 && i < trace->count && !trace->steps[i].stops; i++) {
        const struct tw_step *step = &trace->steps[i];
        struct tw_spot spot = { .line = step->line };

        if (step->kind == TW_STEP_DWELL)
            continue;
        if (step->incremental)
            tw_check_fault(check, spot, "moves by increments (G91) from a place that nobody knows after a stop");
        else if (step->to_mm[2] < clear_mm - ROUNDING_MM)
            tw_check_fault(check, spot, "after a stop the wheel is not raised clear before it goes on");
        else if (motions == 0 && (step->to_mm[0] != step->from_mm[0] || step->to_mm[1] != step->from_mm[1]))
            tw_check_fault(check, spot,
                           "the first motion after a stop must raise the wheel and do nothing else: nobody knows where "
                           "it stands");
        motions++;
    }
}

/* Arcs follow the plane that is told, so any is right; but a program written for another machine shows by it. */
void tw_program_remark_plane(const struct tw_job *job, const struct tw_trace *trace, struct tw_proof *proof)
{
    const struct tw_trace_start *start = trace->starts;

    if (trace->count > 0 && start->told.plane > 0 && start->at_first.plane != table_plane(&job->machine))
        tw_proof_remark(proof, TW_REMARK_PLANE, start->told.plane, "the plane is not that of this machine's table");
}

void tw_program_check_modes(const struct tw_job *job, const struct tw_trace *trace, enum tw_side side,
                            struct tw_check *check)
{
    double clear_mm = clear_height_mm(job, side);

    tw_check_ask(check, 0.0, "");
    for (size_t i = 0; i < trace->start_count; i++) {
        const struct tw_trace_start *start = &trace->starts[i];

        check_told(job, trace, start, check);
        if (trace->count > start->step)
            check_told_right(job, start, check);
        if (i == 0)
            continue;
        check_stop(job, &trace->steps[start->step - 1], clear_mm, check);
        check_restart(trace, start, clear_mm, check);
    }
    check_never(job, trace, check);
    check_first_start(trace, clear_mm, check);
}

/* The part's zero is touched off at the machine; G53 knows only where the profile says that the station lies. To rise and
 * to go aside above everything is all that can be done by that. */
static bool must_know_zero(const struct tw_step *step, double clear_mm)
{
    bool sideways = step->to_mm[0] != step->from_mm[0] || step->to_mm[1] != step->from_mm[1];
    double lowest_mm = fmin(step->from_mm[2], step->to_mm[2]);

    return step->absolute_machine && (sideways || step->to_mm[2] < step->from_mm[2]) &&
           lowest_mm < clear_mm - ROUNDING_MM;
}

void tw_program_check_offsets(const struct tw_job *job, const struct tw_trace *trace, enum tw_side side,
                              struct tw_check *check)
{
    double clear_mm = clear_height_mm(job, side);

    tw_check_ask(check, 0.0, "");
    if (trace->shift_line > 0)
        tw_check_fault(check, (struct tw_spot){ .line = trace->shift_line },
                       "an offset is changed (G10, G92): the part's zero is set at the machine, not by a program");
    for (size_t i = 0; i < trace->count; i++) {
        bool known = trace->steps[i].kind == TW_STEP_DWELL;

        for (int part = 0; part < job->parts; part++)
            known |= job->fixture.stations[part].work_offset == trace->steps[i].work_system;
        if (!known)
            tw_check_fault(check, (struct tw_spot){ .line = trace->steps[i].line },
                           "moves under %s, which is no station of a part in this job",
                           tw_rs274_system_name(trace->steps[i].work_system));
        if (must_know_zero(&trace->steps[i], clear_mm))
            tw_check_fault(
                check, (struct tw_spot){ .line = trace->steps[i].line },
                "moves by machine coordinates (G53) beside the part, whose zero is set at the machine: leave out G53");
    }
}

void tw_program_check_travel(const struct tw_job *job, const struct tw_trace *trace, struct tw_check *check)
{
    const struct tw_axis *axes[3] = { &job->machine.along, &job->machine.across, &job->machine.up };

    tw_check_ask(check, ROUNDING_MM, "mm");
    for (size_t i = 0; i < trace->count; i++) {
        for (int k = 0; k < 3; k++) {
            double machine_mm = axes[k]->sign * trace->steps[i].to_mm[k];
            double beyond_mm = fmax(machine_mm - axes[k]->travel_max_mm, axes[k]->travel_min_mm - machine_mm);

            if (beyond_mm > check->amount && beyond_mm > 0.0)
                snprintf(check->note, sizeof check->note, "%c would go to %.3f of %.3f to %.3f mm", axes[k]->letter,
                         machine_mm, axes[k]->travel_min_mm, axes[k]->travel_max_mm);
            /* On an arc the ends of its chords stand for it. */
            tw_check_note(check, beyond_mm, (struct tw_spot){ .line = trace->steps[i].line });
        }
    }
}

void tw_program_check_wheel_speed(const struct tw_job *job, const struct tw_trace *trace, struct tw_check *check)
{
    double diameter_mm = job->wheel.diameter_mm;

    tw_check_ask(check, job->wheel.operating_speed_mm_per_s / 1000.0, "m/s");
    if (job->machine.spindle_programmable)
        tw_check_note(check, tw_rim_mm_per_s(diameter_mm, trace->fastest_rpm) / 1000.0,
                      (struct tw_spot){ .line = trace->fastest_line });
    else if (trace->on_line > 0)
        tw_check_note(check, tw_rim_mm_per_s(diameter_mm, job->machine.spindle_max_rpm) / 1000.0,
                      (struct tw_spot){ .line = trace->on_line });
}

static void check_axis_feeds(const struct tw_machine *machine, const struct tw_step *step, struct tw_check *check)
{
    const struct tw_axis *axes[3] = { &machine->along, &machine->across, &machine->up };
    double length_mm = 0.0;

    for (int k = 0; k < 3; k++)
        length_mm = hypot(length_mm, step->to_mm[k] - step->from_mm[k]);
    for (int k = 0; k < 3 && length_mm > 0.0; k++) {
        double speed = step->feed_mm_per_s * fabs(step->to_mm[k] - step->from_mm[k]) / length_mm;

        if (speed > axes[k]->rapid_mm_per_s * FEED_SLACK)
            tw_check_fault(check, (struct tw_spot){ .line = step->line },
                           "%c would have to go at %.4g mm/s; its fastest is %.4g", axes[k]->letter, speed,
                           axes[k]->rapid_mm_per_s);
    }
}

void tw_program_check_feed(const struct tw_job *job, const struct tw_trace *trace, struct tw_check *check)
{
    double least = job->machine.feed_min_mm_per_s, most = job->machine.feed_max_mm_per_s;

    tw_check_ask(check, most * FEED_SLACK, "mm/s");
    for (size_t i = 0; i < trace->count; i++) {
        const struct tw_step *step = &trace->steps[i];

        if (step->kind != TW_STEP_FEED)
            continue;
        tw_check_note(check, step->feed_mm_per_s, (struct tw_spot){ .line = step->line });
        check_axis_feeds(&job->machine, step, check);
        if (step->feed_mm_per_s < least / FEED_SLACK)
            tw_check_fault(check, (struct tw_spot){ .line = step->line },
                           "feed of %.4g mm/s, below the machine's slowest %.4g", step->feed_mm_per_s, least);
    }
}

void tw_program_check_ending(const struct tw_job *job, const struct tw_trace *trace, enum tw_side side,
                             struct tw_check *check)
{
    struct tw_spot end = { .line = trace->last_line };
    double clear_mm = clear_height_mm(job, side), missing_mm = clear_mm - trace->end_mm[2];

    tw_check_ask(check, 0.0, "");
    if (!trace->ended) {
        tw_check_fault(check, end, "the program has no end (M2 or M30): it may have been cut short");
        return;
    }
    if (missing_mm > ROUNDING_MM)
        tw_check_fault(check, end, "ends with the wheel %.3f mm lower than would be clear of everything", missing_mm);
    if (trace->before_end.spindle != TW_RS274_SPINDLE_OFF)
        tw_check_fault(check, end, "the spindle is not stopped by M5 before the end");
    if (trace->before_end.mist || trace->before_end.flood)
        tw_check_fault(check, end, "the coolant is not stopped by M9 before the end");
}
