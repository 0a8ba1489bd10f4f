/* execute.c - carrying out one line, step by step in the order of NISTIR 6556, section 3.8, table 8. */
#include "rs274/parts.h"

#include <math.h>
#include <string.h>

struct execution {
    const struct rs274_line *line;
    const struct tw_rs274_setup *setup;
    struct rs274_state *state;
    struct rs274_events *events;
    struct rs274_faults *faults;
};

/* A new event at the present place and in the present modes; the caller adds what is particular to it. */
static struct tw_rs274_event *emit(struct execution *x, enum tw_rs274_event_kind kind)
{
    struct tw_rs274_event *event = &x->events->items[x->events->count++];

    memset(event, 0, sizeof *event);
    event->kind = kind;
    event->line = x->line->line;
    event->block_number = x->line->block_number;
    event->modes = x->state->modes;
    memcpy(event->start_mm, x->state->position_mm, sizeof event->start_mm);
    memcpy(event->end_mm, x->state->position_mm, sizeof event->end_mm);
    memcpy(event->start_machine_mm, x->state->machine_mm, sizeof event->start_machine_mm);
    memcpy(event->end_machine_mm, x->state->machine_mm, sizeof event->end_machine_mm);
    return event;
}

static double length_mm(const struct execution *x, double value)
{
    return x->state->modes.inch ? value * RS274_MM_PER_INCH : value;
}

static bool has_axis(const struct rs274_line *line, int axis)
{
    return rs274_has(line, "XYZ"[axis]);
}

static double axis_value_mm(const struct execution *x, int axis)
{
    return length_mm(x, rs274_value(x->line, "XYZ"[axis]));
}

/* Machine coordinate = program coordinate + this. */
static double offset_mm(const struct rs274_state *state, int axis)
{
    double offset = state->origins_mm[state->modes.work_system - 1][axis] + state->modes.shift_mm[axis];

    return axis == TW_RS274_Z ? offset + state->modes.length_offset_mm : offset;
}

/* Nothing has moved, but an offset changed: the same place gets other numbers. */
static void renumber(struct rs274_state *state, const double old_offset_mm[3])
{
    for (int i = 0; i < 3; i++)
        if (offset_mm(state, i) != old_offset_mm[i])
            state->position_mm[i] = state->machine_mm[i] - offset_mm(state, i);
}

static void remember_offsets(const struct rs274_state *state, double out_mm[3])
{
    for (int i = 0; i < 3; i++)
        out_mm[i] = offset_mm(state, i);
}

/* --- 1: comment, message ------------------------------------------------------------------------------- */

/* Skips "MSG," in any case with blanks between: NISTIR 6556, section 3.3.4. NULL when it is not there. */
static const char *after_message_mark(const char *text, const char *end)
{
    static const char upper[] = "MSG,", lower[] = "msg,";

    for (int i = 0; i < 4; i++, text++) {
        while (text < end && rs274_is_blank(*text))
            text++;
        if (text >= end || (*text != upper[i] && *text != lower[i]))
            return NULL;
    }
    return text;
}

static void say_comment(struct execution *x)
{
    const char *end = x->line->comment + x->line->comment_length;
    const char *message = after_message_mark(x->line->comment, end);
    struct tw_rs274_event *event = emit(x, message ? TW_RS274_MESSAGE : TW_RS274_COMMENT);

    event->text = message ? message : x->line->comment;
    event->text_length = (size_t)(end - event->text);
}

/* --- 2 to 5: feed mode, F, S, T ------------------------------------------------------------------------ */

static void set_feed_mode(struct execution *x)
{
    bool inverse = x->line->g[RS274_G_FEED_MODE] == 930;

    /* A number that meant 1/minute is no feed rate, nor the other way round: after a change F is given anew.
     */
    if (inverse != x->state->modes.inverse_time)
        x->state->modes.feed_mm_per_s = 0.0;
    x->state->modes.inverse_time = inverse;
    emit(x, TW_RS274_FEED_MODE);
}

static void set_feed(struct execution *x)
{
    x->state->units_used = true;
    if (x->state->modes.inverse_time)
        return;
    x->state->modes.feed_mm_per_s = length_mm(x, rs274_value(x->line, 'F')) / 60.0;
    emit(x, TW_RS274_FEED_RATE);
}

static void set_speed(struct execution *x)
{
    x->state->modes.spindle_rpm = rs274_value(x->line, 'S');
    emit(x, TW_RS274_SPINDLE_SPEED);
}

static bool read_slot(struct execution *x, char letter, int *out)
{
    double value = rs274_value(x->line, letter);

    if (!rs274_whole(value, out) || *out > x->setup->tool_slots)
        return rs274_fault(x->faults, x->line->line, TW_RS274_VALUE_OUT_OF_RANGE,
                           "%c%.10g: the number must be a whole one from 0 to %d, the slots this machine has", letter,
                           value, x->setup->tool_slots);
    return true;
}

static bool select_tool(struct execution *x)
{
    if (!read_slot(x, 'T', &x->state->modes.tool_selected))
        return false;
    emit(x, TW_RS274_TOOL_SELECT);
    return true;
}

/* --- 6 to 9: tool change, spindle, coolant, overrides -------------------------------------------------- */

static void change_tool(struct execution *x)
{
    x->state->modes.tool = x->state->modes.tool_selected;
    x->state->modes.spindle = TW_RS274_SPINDLE_OFF;
    emit(x, TW_RS274_TOOL_CHANGE);
}

static void switch_spindle(struct execution *x, int code)
{
    x->state->modes.spindle = code == 3   ? TW_RS274_SPINDLE_CLOCKWISE
                              : code == 4 ? TW_RS274_SPINDLE_COUNTERCLOCKWISE
                                          : TW_RS274_SPINDLE_OFF;
    emit(x, TW_RS274_SPINDLE);
}

static void switch_coolant(struct execution *x, int code)
{
    if (code == 7)
        x->state->modes.mist = true;
    if (code == 8)
        x->state->modes.flood = true;
    if (code == 9)
        x->state->modes.mist = x->state->modes.flood = false;
    emit(x, TW_RS274_COOLANT);
}

static void switch_overrides(struct execution *x, int code)
{
    x->state->modes.overrides = code == 48;
    emit(x, TW_RS274_OVERRIDES);
}

/* --- 10 to 18: dwell and the modes of G codes ---------------------------------------------------------- */

static void dwell(struct execution *x)
{
    emit(x, TW_RS274_DWELL)->dwell_s = rs274_value(x->line, 'P');
}

static void select_plane(struct execution *x, int tenths)
{
    x->state->modes.plane = tenths == 170 ? TW_RS274_PLANE_XY : tenths == 180 ? TW_RS274_PLANE_XZ : TW_RS274_PLANE_YZ;
    emit(x, TW_RS274_PLANE);
}

/* Sections 3.5.7 and 4.3.3.3 of the report leave stored numbers as they are, so a late change of units makes
 * an earlier feed 25 times as fast. One units code, before anything was measured, is the rule of this
 * project. */
static bool select_units(struct execution *x)
{
    int tenths = x->line->g[RS274_G_UNITS];
    bool inch = tenths == 200;

    if (x->state->units_written && inch != x->state->modes.inch)
        return rs274_fault(x->faults, x->line->line, TW_RS274_UNITS_CHANGED,
                           "G%d changes the units in mid-program; a program keeps to one of G20 and G21", tenths / 10);
    if (!x->state->units_written && x->state->units_used)
        return rs274_fault(x->faults, x->line->line, TW_RS274_UNITS_TOO_LATE,
                           "G%d comes after a feed, a move or an offset was given; set the units before all of them",
                           tenths / 10);
    x->state->units_written = true;
    x->state->modes.inch = inch;
    emit(x, TW_RS274_UNITS);
    return true;
}

static bool set_length_offset(struct execution *x)
{
    double old_mm[3];
    int slot = 0;

    if (x->line->g[RS274_G_LENGTH] == 430) {
        if (!read_slot(x, 'H', &slot))
            return false;
        if (slot > 0 && !x->setup->tool_lengths_mm)
            return rs274_fault(x->faults, x->line->line, TW_RS274_NOT_SUPPORTED,
                               "G43 H%d is not supported here: the tool lengths of this machine are not known", slot);
    }
    remember_offsets(x->state, old_mm);
    x->state->modes.length_offset_mm = slot > 0 ? x->setup->tool_lengths_mm[slot - 1] : 0.0;
    renumber(x->state, old_mm);
    emit(x, TW_RS274_LENGTH_OFFSET);
    return true;
}

static void select_system(struct execution *x, int tenths)
{
    double old_mm[3];

    remember_offsets(x->state, old_mm);
    x->state->modes.work_system = tenths <= 590 ? tenths / 10 - 53 : tenths - 590 + 6;
    renumber(x->state, old_mm);
    emit(x, TW_RS274_WORK_SYSTEM);
}

static void select_path(struct execution *x, int tenths)
{
    x->state->modes.path = tenths == 610   ? TW_RS274_PATH_EXACT
                           : tenths == 611 ? TW_RS274_PATH_EXACT_STOP
                                           : TW_RS274_PATH_CONTINUOUS;
    emit(x, TW_RS274_PATH_MODE);
}

/* --- 19: origins, shifts and the way home -------------------------------------------------------------- */

static void set_origin(struct execution *x)
{
    double old_mm[3];
    int system = 1;

    rs274_whole(rs274_value(x->line, 'P'), &system);
    remember_offsets(x->state, old_mm);
    for (int i = 0; i < 3; i++)
        if (has_axis(x->line, i))
            x->state->origins_mm[system - 1][i] = axis_value_mm(x, i);
    renumber(x->state, old_mm);
    x->state->units_used = true;
    emit(x, TW_RS274_ORIGIN)->code = system;
}

/* G92: new shift = old number - new number + old shift, NISTIR 6556, section 3.5.18. */
static void set_shift(struct execution *x)
{
    struct rs274_state *state = x->state;

    for (int i = 0; i < 3; i++) {
        if (!has_axis(x->line, i))
            continue;
        state->modes.shift_mm[i] += state->position_mm[i] - axis_value_mm(x, i);
        state->position_mm[i] = axis_value_mm(x, i);
    }
    memcpy(state->kept_shift_mm, state->modes.shift_mm, sizeof state->kept_shift_mm);
    state->units_used = true;
    emit(x, TW_RS274_SHIFT);
}

/* G92.1 forgets, G92.2 puts aside, G92.3 brings back. */
static void switch_shift(struct execution *x, int tenths)
{
    struct rs274_state *state = x->state;
    double old_mm[3];

    remember_offsets(state, old_mm);
    for (int i = 0; i < 3; i++) {
        if (tenths == 921)
            state->kept_shift_mm[i] = 0.0;
        state->modes.shift_mm[i] = tenths == 923 ? state->kept_shift_mm[i] : 0.0;
    }
    renumber(state, old_mm);
    emit(x, TW_RS274_SHIFT);
}

/* The end of a straight move in program and machine coordinates; axes not named stay. */
static void find_end(const struct execution *x, bool absolute_machine, double end_mm[3], double end_machine_mm[3])
{
    for (int i = 0; i < 3; i++) {
        double value_mm;

        end_mm[i] = x->state->position_mm[i];
        end_machine_mm[i] = x->state->machine_mm[i];
        if (!has_axis(x->line, i))
            continue;
        value_mm = axis_value_mm(x, i);
        if (absolute_machine) {
            end_machine_mm[i] = value_mm;
            end_mm[i] = value_mm - offset_mm(x->state, i);
        } else {
            end_mm[i] = x->state->modes.incremental ? end_mm[i] + value_mm : value_mm;
            end_machine_mm[i] = end_mm[i] + offset_mm(x->state, i);
        }
    }
}

/* Emits the motion and makes its end the present place. */
static struct tw_rs274_event *move(struct execution *x, enum tw_rs274_event_kind kind, const double end_mm[3],
                                   const double end_machine_mm[3])
{
    struct tw_rs274_event *event = emit(x, kind);
    double square_mm2 = 0.0;

    for (int i = 0; i < 3; i++) {
        double step_mm = end_mm[i] - event->start_mm[i];

        event->end_mm[i] = x->state->position_mm[i] = end_mm[i];
        event->end_machine_mm[i] = x->state->machine_mm[i] = end_machine_mm[i];
        square_mm2 += step_mm * step_mm;
    }
    event->length_mm = sqrt(square_mm2);
    x->state->units_used = true;
    return event;
}

/* By the programmed point, if there is one, to the stored place: NISTIR 6556, section 3.5.8. */
static bool go_home(struct execution *x, int tenths)
{
    bool known = tenths == 280 ? x->setup->has_home_28 : x->setup->has_home_30;
    const double *home_mm = tenths == 280 ? x->setup->home_28_mm : x->setup->home_30_mm;
    double end_mm[3], end_machine_mm[3];

    if (!known)
        return rs274_fault(x->faults, x->line->line, TW_RS274_NOT_SUPPORTED,
                           "G%d is not supported here: the place it goes to is not known; write G53 G0 moves instead",
                           tenths / 10);
    if (x->line->letters & RS274_AXIS_BITS) {
        find_end(x, false, end_mm, end_machine_mm);
        move(x, TW_RS274_RAPID, end_mm, end_machine_mm);
    }
    for (int i = 0; i < 3; i++) {
        end_machine_mm[i] = home_mm[i];
        end_mm[i] = home_mm[i] - offset_mm(x->state, i);
    }
    move(x, TW_RS274_RAPID, end_mm, end_machine_mm);
    return true;
}

static bool non_modal(struct execution *x, int tenths)
{
    if (tenths == 100)
        set_origin(x);
    if (tenths == 920)
        set_shift(x);
    if (tenths == 921 || tenths == 922 || tenths == 923)
        switch_shift(x, tenths);
    return (tenths != 280 && tenths != 300) || go_home(x, tenths);
}

/* --- 20: motion ---------------------------------------------------------------------------------------- */

static enum tw_rs274_motion motion_of(int tenths)
{
    switch (tenths) {
    case 0:
        return TW_RS274_MOTION_RAPID;
    case 10:
        return TW_RS274_MOTION_FEED;
    case 20:
        return TW_RS274_MOTION_CLOCKWISE;
    case 30:
        return TW_RS274_MOTION_COUNTERCLOCKWISE;
    default:
        return TW_RS274_MOTION_NONE;
    }
}

/* Feed and duration of a move whose length is known. Under G93 F is 1/minutes: NISTIR 6556, section 3.5.19.
 */
static bool time_move(struct execution *x, struct tw_rs274_event *event)
{
    if (!event->modes.inverse_time) {
        /* The report does not say so, but a feed of zero never arrives: an error, from memory. */
        if (!(event->modes.feed_mm_per_s > 0.0))
            return rs274_fault(x->faults, x->line->line, TW_RS274_FEED_NOT_SET,
                               "a feed move before any feed above zero was given; set F first");
        event->feed_mm_per_s = event->modes.feed_mm_per_s;
        event->duration_s = event->length_mm / event->feed_mm_per_s;
        return true;
    }
    if (!rs274_has(x->line, 'F') || !(rs274_value(x->line, 'F') > 0.0))
        return rs274_fault(x->faults, x->line->line, TW_RS274_FEED_MISSING,
                           "under G93 every feed move needs its own F above zero, 1 / minutes");
    event->duration_s = 60.0 / rs274_value(x->line, 'F');
    event->feed_mm_per_s = event->length_mm / event->duration_s;
    return true;
}

static bool straight(struct execution *x, bool absolute_machine)
{
    double end_mm[3], end_machine_mm[3];
    bool rapid = x->state->modes.motion == TW_RS274_MOTION_RAPID;
    struct tw_rs274_event *event;

    find_end(x, absolute_machine, end_mm, end_machine_mm);
    event = move(x, rapid ? TW_RS274_RAPID : TW_RS274_FEED, end_mm, end_machine_mm);
    event->absolute_machine = absolute_machine;
    return rapid || time_move(x, event);
}

static bool arc(struct execution *x)
{
    double end_mm[3], end_machine_mm[3];
    struct tw_rs274_event *event;

    find_end(x, false, end_mm, end_machine_mm);
    event = move(x, TW_RS274_ARC, end_mm, end_machine_mm);
    return rs274_arc(x->line, event, x->faults) && time_move(x, event);
}

static bool check_unused_arc_words(struct execution *x)
{
    for (const char *letter = "IJKR"; *letter; letter++)
        if (rs274_has(x->line, *letter))
            return rs274_fault(x->faults, x->line->line, TW_RS274_UNUSED_WORD,
                               "%c%.10g means nothing here: it belongs to an arc, and this line makes none", *letter,
                               rs274_value(x->line, *letter));
    return true;
}

/* The axis words of this line if nothing but a motion can have them. */
static bool has_free_axis_words(const struct rs274_line *line)
{
    int once = line->g[RS274_G_NON_MODAL];

    return (line->letters & RS274_AXIS_BITS) != 0 && once != 100 && once != 280 && once != 300 && once != 920;
}

static bool motion(struct execution *x)
{
    const struct rs274_line *line = x->line;
    bool written = line->g[RS274_G_MOTION] != RS274_NOT_THERE, axes = has_free_axis_words(line);
    bool absolute_machine = line->g[RS274_G_NON_MODAL] == 530;
    enum tw_rs274_motion mode;
    bool turns;

    if (written)
        x->state->modes.motion = motion_of(line->g[RS274_G_MOTION]);
    if (line->g[RS274_G_MOTION] == 800)
        emit(x, TW_RS274_MOTION_OFF);
    mode = x->state->modes.motion;
    if (absolute_machine && mode != TW_RS274_MOTION_RAPID && mode != TW_RS274_MOTION_FEED)
        return rs274_fault(x->faults, line->line, TW_RS274_G53_WITHOUT_STRAIGHT_MOTION,
                           "G53 goes with G0 and G1 only, and neither is in force here");
    if (axes && mode == TW_RS274_MOTION_NONE)
        return rs274_fault(x->faults, line->line, TW_RS274_AXIS_WORD_WITHOUT_MOTION,
                           "the line names a place, but no motion is in force; write G0, G1, G2 or G3");
    turns = (mode == TW_RS274_MOTION_CLOCKWISE || mode == TW_RS274_MOTION_COUNTERCLOCKWISE) && (axes || written);
    if (turns)
        return arc(x);
    if (!check_unused_arc_words(x))
        return false;
    return !axes || straight(x, absolute_machine);
}

/* --- 21: stops ----------------------------------------------------------------------------------------- */

/* What M2 and M30 put back: NISTIR 6556, section 3.6.1. Units, tool length and path mode are not among it. */
static void reset(struct rs274_state *state)
{
    struct tw_rs274_modes *modes = &state->modes;
    double old_mm[3];

    remember_offsets(state, old_mm);
    memset(modes->shift_mm, 0, sizeof modes->shift_mm);
    modes->work_system = 1;
    renumber(state, old_mm);
    if (modes->inverse_time)
        modes->feed_mm_per_s = 0.0;
    modes->inverse_time = false;
    modes->plane = TW_RS274_PLANE_XY;
    modes->incremental = false;
    modes->overrides = true;
    modes->spindle = TW_RS274_SPINDLE_OFF;
    modes->motion = TW_RS274_MOTION_FEED;
    modes->mist = modes->flood = false;
}

static void stop(struct execution *x, int code)
{
    if (code == 2 || code == 30) {
        reset(x->state);
        x->state->ended = true;
        emit(x, TW_RS274_END)->code = code;
    } else if (code == 0 || x->setup->optional_stop) {
        emit(x, TW_RS274_STOP)->code = code;
    }
}

/* --- all of it ----------------------------------------------------------------------------------------- */

static bool steps_1_to_9(struct execution *x)
{
    const struct rs274_line *line = x->line;

    if (line->comment)
        say_comment(x);
    if (line->g[RS274_G_FEED_MODE] != RS274_NOT_THERE)
        set_feed_mode(x);
    if (rs274_has(line, 'F'))
        set_feed(x);
    if (rs274_has(line, 'S'))
        set_speed(x);
    if (rs274_has(line, 'T') && !select_tool(x))
        return false;
    if (line->m[RS274_M_TOOL] != RS274_NOT_THERE)
        change_tool(x);
    if (line->m[RS274_M_SPINDLE] != RS274_NOT_THERE)
        switch_spindle(x, line->m[RS274_M_SPINDLE]);
    if (line->m[RS274_M_COOLANT] != RS274_NOT_THERE)
        switch_coolant(x, line->m[RS274_M_COOLANT]);
    if (line->m[RS274_M_OVERRIDE] != RS274_NOT_THERE)
        switch_overrides(x, line->m[RS274_M_OVERRIDE]);
    return true;
}

static bool steps_10_to_18(struct execution *x)
{
    const struct rs274_line *line = x->line;

    if (line->g[RS274_G_NON_MODAL] == 40)
        dwell(x);
    if (line->g[RS274_G_PLANE] != RS274_NOT_THERE)
        select_plane(x, line->g[RS274_G_PLANE]);
    if (line->g[RS274_G_UNITS] != RS274_NOT_THERE && !select_units(x))
        return false;
    if (line->g[RS274_G_RADIUS] != RS274_NOT_THERE)
        emit(x, TW_RS274_RADIUS_OFF);
    if (line->g[RS274_G_LENGTH] != RS274_NOT_THERE && !set_length_offset(x))
        return false;
    if (line->g[RS274_G_SYSTEM] != RS274_NOT_THERE)
        select_system(x, line->g[RS274_G_SYSTEM]);
    if (line->g[RS274_G_PATH] != RS274_NOT_THERE)
        select_path(x, line->g[RS274_G_PATH]);
    if (line->g[RS274_G_DISTANCE] != RS274_NOT_THERE) {
        x->state->modes.incremental = line->g[RS274_G_DISTANCE] == 910;
        emit(x, TW_RS274_DISTANCE_MODE);
    }
    if (line->g[RS274_G_RETURN] != RS274_NOT_THERE) {
        x->state->modes.return_to_r = line->g[RS274_G_RETURN] == 990;
        emit(x, TW_RS274_RETURN_LEVEL);
    }
    return true;
}

bool rs274_execute(const struct rs274_line *line, const struct tw_rs274_setup *setup, struct rs274_state *state,
                   struct rs274_events *events, struct rs274_faults *faults)
{
    struct execution x = { line, setup, state, events, faults };

    events->count = 0;
    if (!steps_1_to_9(&x) || !steps_10_to_18(&x) || !non_modal(&x, line->g[RS274_G_NON_MODAL]) || !motion(&x))
        return false;
    if (line->m[RS274_M_STOP] != RS274_NOT_THERE)
        stop(&x, line->m[RS274_M_STOP]);
    return true;
}
