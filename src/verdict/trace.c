/* trace.c - from RS-274 events to steps along, across and up. */
#include "verdict/trace.h"

#include "base/memory.h"
#include "base/numbers.h"
#include "tangwright/motion.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A wheel has thrown out what it soaked up after turning so long without coolant: common practice, no source. */
#define DRAINED_S 5.0

struct tracing {
    const struct tw_job *job;
    const char *name;
    struct tw_trace *trace;
    struct tw_findings *findings;
    int line;
    struct tw_rs274_modes modes;
    double spun_s;
    bool soaked;    /* coolant has run on the turning wheel */
    double drain_s; /* of waits, since it stopped; where a person turns it off, since the last move */
    bool moved;
};

static const struct tw_axis *axis_of(const struct tw_machine *machine, int direction)
{
    return direction == 0 ? &machine->along : direction == 1 ? &machine->across : &machine->up;
}

/* Machine coordinates of X, Y, Z to along, across, up. */
static void to_table(const struct tw_machine *machine, const double machine_mm[3], double out_mm[3])
{
    for (int i = 0; i < 3; i++) {
        const struct tw_axis *axis = axis_of(machine, i);

        out_mm[i] = axis->sign * machine_mm[axis->letter - 'X'];
    }
}

void tw_trace_origin(const struct tw_machine *machine, const struct tw_station *station, double out_mm[3])
{
    out_mm[0] = machine->along.sign * station->along_mm;
    out_mm[1] = machine->across.sign * station->across_mm;
    out_mm[2] = machine->up.sign * station->up_mm;
}

/* Nothing of so long a program is looked at: driving half of it would take as long as it is pointless. */
static enum tw_status too_long(struct tracing *tracing)
{
    struct tw_place at = { .file = tracing->name, .line = tracing->line };

    tracing->trace->count = 0;
    return tw_fail(
        tracing->findings, TW_BAD_INPUT, at,
        "with its arcs cut into chords the program has more than %d moves up to here; split it, or write fewer "
        "and smaller arcs",
        TW_TRACE_STEPS_MOST);
}

static enum tw_status add_step(struct tracing *tracing, struct tw_step step)
{
    struct tw_trace *trace = tracing->trace;

    if (trace->count == TW_TRACE_STEPS_MOST)
        return too_long(tracing);
    step.line = tracing->line;
    step.work_system = tracing->modes.work_system;
    step.incremental = tracing->modes.incremental;
    step.spindle = tracing->modes.spindle;
    step.spindle_rpm = tracing->modes.spindle_rpm;
    step.mist = tracing->modes.mist;
    step.flood = tracing->modes.flood;
    step.spun_s = tracing->spun_s;
    step.stop_after = tracing->modes.path == TW_RS274_PATH_EXACT_STOP;
    if (!tw_grow((void **)&trace->steps, &trace->capacity, trace->count + 1, sizeof *trace->steps))
        return tw_no_memory(tracing->findings);
    trace->steps[trace->count++] = step;
    return TW_OK;
}

static struct tw_trace_start *start_of(struct tw_trace *trace)
{
    return &trace->starts[trace->start_count - 1];
}

static enum tw_status begin(struct tw_trace *trace, struct tw_findings *findings)
{
    if (!tw_grow((void **)&trace->starts, &trace->start_capacity, trace->start_count + 1, sizeof *trace->starts))
        return tw_no_memory(findings);
    trace->starts[trace->start_count++] = (struct tw_trace_start){ .step = trace->count };
    return TW_OK;
}

/* ---- motions ---- */

static enum tw_status add_line(struct tracing *tracing, enum tw_step_kind kind, const double to_mm[3],
                               double feed_mm_per_s)
{
    struct tw_step step = { .kind = kind, .feed_mm_per_s = feed_mm_per_s };

    memcpy(step.from_mm, tracing->trace->last_mm, sizeof step.from_mm);
    memcpy(step.to_mm, to_mm, sizeof step.to_mm);
    memcpy(tracing->trace->last_mm, to_mm, sizeof step.to_mm);
    return add_step(tracing, step);
}

/* Sagitta of a chord over an angle t is r (1 - cos(t/2)). */
static int chord_count(const struct tw_rs274_arc *arc)
{
    double radius_mm = fmax(arc->start_radius_mm, arc->end_radius_mm);
    double share = fmax(TW_TRACE_CHORD_MM / fmax(radius_mm, TW_TRACE_CHORD_MM), TW_TRACE_CHORD_SHARE);

    return (int)fmax(1.0, ceil(fabs(arc->sweep_rad) / (2.0 * acos(1.0 - share))));
}

static enum tw_status add_arc(struct tracing *tracing, const struct tw_rs274_event *event)
{
    int chords = chord_count(&event->arc);
    enum tw_status status = TW_OK;

    for (int i = 1; status == TW_OK && i <= chords; i++) {
        double machine_mm[3], table_mm[3];

        tw_rs274_point(event, (double)i / chords, NULL, machine_mm);
        to_table(&tracing->job->machine, machine_mm, table_mm);
        status = add_line(tracing, TW_STEP_FEED, table_mm, event->feed_mm_per_s);
    }
    return status;
}

static enum tw_status take_motion(struct tracing *tracing, const struct tw_rs274_event *event)
{
    double table_mm[3];
    enum tw_status status;

    if (!tracing->moved)
        start_of(tracing->trace)->at_first = event->modes;
    tracing->moved = true;
    if (event->modes.path == TW_RS274_PATH_CONTINUOUS && !tracing->trace->blended) {
        tracing->trace->blended = true;
        tracing->trace->blended_line = event->line;
    }
    if (event->kind == TW_RS274_ARC)
        return add_arc(tracing, event);
    to_table(&tracing->job->machine, event->end_machine_mm, table_mm);
    status =
        add_line(tracing, event->kind == TW_RS274_RAPID ? TW_STEP_RAPID : TW_STEP_FEED, table_mm, event->feed_mm_per_s);
    if (status == TW_OK)
        tracing->trace->steps[tracing->trace->count - 1].absolute_machine = event->absolute_machine;
    return status;
}

static enum tw_status take_dwell(struct tracing *tracing, const struct tw_rs274_event *event)
{
    struct tw_step step = { .kind = TW_STEP_DWELL, .dwell_s = event->dwell_s };

    memcpy(step.from_mm, tracing->trace->last_mm, sizeof step.from_mm);
    memcpy(step.to_mm, tracing->trace->last_mm, sizeof step.to_mm);
    tracing->spun_s += event->dwell_s;
    tracing->drain_s += event->dwell_s;
    return add_step(tracing, step);
}

/* ---- states ---- */

static void note(int *line, const struct tracing *tracing)
{
    if (*line == 0)
        *line = tracing->line;
}

/* What is told only counts before anything has moved. */
static void note_told(int *line, const struct tracing *tracing)
{
    if (!tracing->moved)
        note(line, tracing);
}

static void note_speed(struct tracing *tracing)
{
    struct tw_trace *trace = tracing->trace;

    if (tracing->modes.spindle != TW_RS274_SPINDLE_OFF)
        note(&trace->on_line, tracing);
    if (tracing->modes.spindle != TW_RS274_SPINDLE_OFF && tracing->modes.spindle_rpm > trace->fastest_rpm) {
        trace->fastest_rpm = tracing->modes.spindle_rpm;
        trace->fastest_line = tracing->line;
    }
}

/* Told once more what it does already, a spindle goes on turning. */
static bool same_spin(const struct tw_rs274_modes *before, const struct tw_rs274_modes *now)
{
    return before->spindle == now->spindle && before->spindle_rpm == now->spindle_rpm;
}

static void take_state(struct tracing *tracing, const struct tw_rs274_modes *before, const struct tw_rs274_event *event)
{
    struct tw_trace *trace = tracing->trace;

    switch (event->kind) {
    case TW_RS274_SPINDLE:
    case TW_RS274_SPINDLE_SPEED:
        if (!same_spin(before, &event->modes))
            tracing->spun_s = 0.0;
        break;
    case TW_RS274_UNITS:
        note_told(&start_of(trace)->told.units, tracing);
        break;
    case TW_RS274_DISTANCE_MODE:
        note_told(&start_of(trace)->told.distance, tracing);
        break;
    case TW_RS274_FEED_MODE:
        note_told(&start_of(trace)->told.feed_mode, tracing);
        break;
    case TW_RS274_PLANE:
        note_told(&start_of(trace)->told.plane, tracing);
        break;
    case TW_RS274_WORK_SYSTEM:
        note_told(&start_of(trace)->told.work_system, tracing);
        break;
    case TW_RS274_PATH_MODE:
        note_told(&start_of(trace)->told.path, tracing);
        break;
    case TW_RS274_RADIUS_OFF:
        note_told(&start_of(trace)->told.cancel_radius, tracing);
        break;
    case TW_RS274_LENGTH_OFFSET:
        note_told(&start_of(trace)->told.cancel_length, tracing);
        break;
    case TW_RS274_MOTION_OFF:
        note_told(&start_of(trace)->told.cancel_cycles, tracing);
        break;
    case TW_RS274_TOOL_SELECT:
    case TW_RS274_TOOL_CHANGE:
        tracing->spun_s = 0.0;
        note(&trace->tool_line, tracing);
        break;
    case TW_RS274_OVERRIDES:
        if (!event->modes.overrides)
            note(&trace->overrides_line, tracing);
        break;
    case TW_RS274_ORIGIN:
    case TW_RS274_SHIFT:
        note(&trace->shift_line, tracing);
        break;
    default:
        break;
    }
    note_speed(tracing);
}

/* M0 takes the program's hands off the machine. */
static enum tw_status take_stop(struct tracing *tracing, const struct tw_rs274_event *event)
{
    struct tw_step step = { .kind = TW_STEP_DWELL, .stops = true };
    enum tw_status status;

    if (event->code != 0) {
        note(&tracing->trace->stop_line, tracing);
        return TW_OK;
    }
    memcpy(step.from_mm, tracing->trace->last_mm, sizeof step.from_mm);
    memcpy(step.to_mm, tracing->trace->last_mm, sizeof step.to_mm);
    tracing->spun_s = 0.0;
    status = add_step(tracing, step);
    tracing->moved = false;
    return status == TW_OK ? begin(tracing->trace, tracing->findings) : status;
}

static void take_end(struct tracing *tracing, const struct tw_rs274_modes *before, int code)
{
    tracing->trace->ended = code != 0;
    tracing->trace->before_end = *before;
    tracing->trace->last_line = tracing->line;
    memcpy(tracing->trace->end_mm, tracing->trace->last_mm, sizeof tracing->trace->end_mm);
}

/* The program has no word for the job's coolant: somebody turns it on when the wheel turns, and off after the last move. */
static bool coolant_is_by_hand(const struct tw_job *job)
{
    const struct tw_dialect *dialect = &job->machine.dialect;

    return job->coolant.kind != TW_COOLANT_DRY &&
           (job->coolant.kind == TW_COOLANT_FLOOD ? dialect->flood_code : dialect->mist_code) == 0;
}

/* A wheel that stops with coolant in its pores is out of balance when it starts again. */
static void follow_coolant(struct tracing *tracing, const struct tw_rs274_modes *before, bool moves)
{
    bool turned = before->spindle != TW_RS274_SPINDLE_OFF, turns = tracing->modes.spindle != TW_RS274_SPINDLE_OFF;

    if (turned && (before->mist || before->flood || (moves && coolant_is_by_hand(tracing->job)))) {
        tracing->soaked = true;
        tracing->drain_s = 0.0;
    }
    if (!turned || turns)
        return;
    if (tracing->soaked && tracing->drain_s < DRAINED_S)
        note(&tracing->trace->soaked_line, tracing);
    tracing->soaked = false;
}

static enum tw_status take_event(const struct tw_rs274_event *event, void *context)
{
    struct tracing *tracing = context;
    struct tw_rs274_modes before = tracing->modes;

    tracing->line = event->line;
    tracing->modes = event->modes;
    follow_coolant(tracing, &before,
                   event->kind == TW_RS274_RAPID || event->kind == TW_RS274_FEED || event->kind == TW_RS274_ARC);
    switch (event->kind) {
    case TW_RS274_RAPID:
    case TW_RS274_FEED:
    case TW_RS274_ARC:
        return take_motion(tracing, event);
    case TW_RS274_DWELL:
        return take_dwell(tracing, event);
    case TW_RS274_STOP:
        return take_stop(tracing, event);
    case TW_RS274_END:
        take_end(tracing, &before, event->code);
        return TW_OK;
    default:
        take_state(tracing, &before, event);
        return TW_OK;
    }
}

/* ---- the controller as the program finds it ---- */

/* As many as any machine may have: a tool in the program is a fault, but one that reads. */
#define TOOL_SLOTS 9999

/* The wheel waits high up over the middle of the table: by so much off that no program names the place by chance. */
#define ODD_MM 0.001234567

static void set_start(const struct tw_machine *machine, double start_mm[3])
{
    for (int i = 0; i < 3; i++) {
        const struct tw_axis *axis = axis_of(machine, i);
        double middle_mm = (axis->travel_min_mm + axis->travel_max_mm) / 2.0;
        double high_mm = axis->sign > 0 ? axis->travel_max_mm : axis->travel_min_mm;

        start_mm[axis->letter - 'X'] = (i == 2 ? high_mm : middle_mm) - axis->sign * ODD_MM;
    }
}

/* The wheel stands so much higher there than a program says, as gauged; a program goes lower by as much as it can say. A wheel
 * that hollows alone was not gauged. */
static double higher_mm(const struct tw_job *job, const struct tw_station *station)
{
    const struct tw_dialect *dialect = &job->machine.dialect;
    double decimal_mm = tw_last_decimal_mm(dialect->length_decimals, dialect->inch);

    if (job->task.scope == TW_SCOPE_RELIEF && job->relief_wheel.diameter_mm > 0.0)
        return 0.0;
    return decimal_mm * round(station->lower_mm / decimal_mm);
}

static void set_origins(const struct tw_job *job, const double *zeros_mm, struct tw_rs274_setup *setup)
{
    for (size_t i = 0; i < job->fixture.station_count; i++) {
        const struct tw_station *station = &job->fixture.stations[i];
        double *origin = setup->origins_mm[station->work_offset - 1];

        origin[job->machine.along.letter - 'X'] = station->along_mm;
        origin[job->machine.across.letter - 'X'] = station->across_mm;
        origin[job->machine.up.letter - 'X'] =
            station->up_mm + job->machine.up.sign * (zeros_mm[i] + higher_mm(job, station));
    }
}

static const enum tw_rs274_dwell_word dwell_words[] = { [TW_DWELL_P_SECONDS] = TW_RS274_P_SECONDS,
                                                        [TW_DWELL_P_MILLISECONDS] = TW_RS274_P_MILLISECONDS,
                                                        [TW_DWELL_X_SECONDS] = TW_RS274_X_SECONDS };

enum tw_status tw_trace_make_at(const struct tw_job *job, const double *zeros_mm, const char *name, const char *text,
                                size_t length, struct tw_trace *out, struct tw_findings *findings)
{
    /* Whether the operator's switch for M1 is on is not known: it may be. */
    struct tw_rs274_setup setup = { .name = name, .most_faults = 20, .optional_stop = true, .tool_slots = TOOL_SLOTS };
    struct tw_rs274_result result = { 0 };
    struct tracing tracing = { .job = job, .name = name, .trace = out, .findings = findings };
    enum tw_status status;

    *out = (struct tw_trace){ 0 };
    set_start(&job->machine, setup.start_mm);
    set_origins(job, zeros_mm, &setup);
    setup.dwell_word = dwell_words[job->machine.dialect.dwell_word];
    to_table(&job->machine, setup.start_mm, out->start_mm);
    memcpy(out->last_mm, out->start_mm, sizeof out->last_mm);
    tracing.modes.work_system = 1;
    status = begin(out, findings);
    if (status == TW_OK)
        status = tw_rs274_run(text, length, &setup, take_event, &tracing, &result, findings);
    if (status != TW_NO_MEMORY && !out->ended)
        out->last_line = result.line_count;
    return status;
}

enum tw_status tw_trace_make(const struct tw_job *job, double zero_mm, const char *name, const char *text,
                             size_t length, struct tw_trace *out, struct tw_findings *findings)
{
    double zeros_mm[TW_RS274_SYSTEMS];

    for (size_t i = 0; i < TW_RS274_SYSTEMS; i++)
        zeros_mm[i] = zero_mm;
    return tw_trace_make_at(job, zeros_mm, name, text, length, out, findings);
}

static bool never_reached(const struct tw_machine *machine, const struct tw_step *step)
{
    for (int i = 0; i < 3; i++) {
        const struct tw_axis *axis = axis_of(machine, i);
        double machine_mm = axis->sign * step->to_mm[i], travel_mm = axis->travel_max_mm - axis->travel_min_mm;

        if (machine_mm > axis->travel_max_mm + travel_mm || machine_mm < axis->travel_min_mm - travel_mm)
            return true;
    }
    return false;
}

void tw_trace_end_at_travel(const struct tw_job *job, struct tw_trace *trace)
{
    size_t reached = 0;

    while (reached < trace->count && !never_reached(&job->machine, &trace->steps[reached]))
        reached++;
    if (reached == trace->count)
        return;
    trace->count = reached;
    memcpy(trace->end_mm, reached > 0 ? trace->steps[reached - 1].to_mm : trace->start_mm, sizeof trace->end_mm);
    while (trace->start_count > 1 && start_of(trace)->step >= reached)
        trace->start_count--;
}

void tw_trace_free(struct tw_trace *trace)
{
    free(trace->steps);
    free(trace->starts);
    *trace = (struct tw_trace){ 0 };
}

enum tw_status tw_trace_time(const struct tw_job *job, struct tw_trace *trace, double *cycle_time_s,
                             struct tw_findings *findings)
{
    struct tw_motion_leg *legs = calloc(trace->count + 1, sizeof *legs);
    double *times_s = calloc(trace->count + 1, sizeof *times_s);
    enum tw_status status = legs && times_s ? TW_OK : tw_no_memory(findings);
    bool arrived = false;

    *cycle_time_s = 0.0;
    for (size_t i = 0; status == TW_OK && i < trace->count; i++) {
        const struct tw_step *step = &trace->steps[i];

        for (int k = 0; k < 3; k++)
            legs[i].by_mm[k] = step->to_mm[k] - step->from_mm[k];
        legs[i].feed_mm_per_s = step->kind == TW_STEP_FEED ? step->feed_mm_per_s : 0.0;
        legs[i].rest_after = step->stop_after || (i + 1 < trace->count && trace->steps[i + 1].kind == TW_STEP_DWELL);
    }
    if (status == TW_OK)
        status = tw_motion_times(&job->machine, legs, trace->count, trace->blended, times_s, findings);
    for (size_t i = 0; status == TW_OK && i < trace->count; i++) {
        struct tw_step *step = &trace->steps[i];

        step->time_s = step->kind == TW_STEP_DWELL ? step->dwell_s : times_s[i];
        if (step->kind == TW_STEP_DWELL || arrived)
            *cycle_time_s += step->time_s;
        arrived |= legs[i].by_mm[0] != 0.0 || legs[i].by_mm[1] != 0.0;
    }
    free(legs);
    free(times_s);
    return status;
}
