/* load.c - the RS-274 text of a whole load whose blanks have plans of their own. */
#include "base/numbers.h"
#include "program/away.h"
#include "program/parts.h"
#include "tangwright/relief.h"

#include <math.h>
#include <stdlib.h>

static const struct tw_setup_plan *setup_of(const struct tw_program_blank *blank, size_t setup)
{
    return &blank->plan->setups[setup];
}

/* ---- heights ---- */

/* What the wheel lost at other blanks is followed although one blank's own plan may take its own loss as it comes; roughing is
 * measured after, and a relief's wheel is another one. */
static bool finishes(const struct tw_setup_plan *setup)
{
    return setup->loss.known && (setup->scope == TW_SCOPE_WHOLE || setup->scope == TW_SCOPE_FINISH);
}

static bool follows(const struct tw_move *move)
{
    return move->layer >= 0 && (move->role == TW_ROLE_CUT || move->role == TW_ROLE_OVER ||
                                move->role == TW_ROLE_INFEED || move->role == TW_ROLE_ACROSS);
}

/* Whole decimals of what the wheel has lost at the blanks before, no more: none is cut below its face. */
static double lost_mm(const struct program *program, double taken_mm3)
{
    const struct tw_dialect *dialect = &program->job->machine.dialect;
    const struct tw_wheel_loss *loss = &program->setup->loss;
    double decimal_mm = tw_last_decimal_mm(dialect->length_decimals, dialect->inch);

    if (!finishes(program->setup))
        return 0.0;
    return decimal_mm * floor(tw_wear_mm(taken_mm3, loss->ratio, loss->area_mm2) / decimal_mm + 1e-6);
}

static bool is_alone(const struct tw_program_blank *blank)
{
    return blank->job->parts == 1;
}

/* ---- one stay at a blank ---- */

struct stay {
    int part;
    struct tw_stay moves;
    double wait_s;  /* for it to cool, before the wheel comes down to it */
    double lost_mm; /* by the wheel at the blanks before; in a plan for all stations it is part of the plan */
};

static const struct tw_move *move_of(const struct program *program, const struct stay *stay, size_t index)
{
    return &program->blanks[stay->part].plan->setups[program->index].moves[index];
}

static double lower_mm(const struct program *program, const struct tw_move *move, const struct stay *stay)
{
    if (!is_alone(&program->blanks[stay->part]))
        return tw_plan_lower_mm(program->blanks[stay->part].job, program->setup, move, stay->part);
    return follows(move) ? stay->lost_mm : 0.0;
}

static void write_move(struct program *program, const struct tw_move *move, const struct stay *stay)
{
    double up_mm = tw_program_up_at_mm(program, stay->part) - lower_mm(program, move, stay);
    double to_mm[3] = { move->to.x_mm, move->to.y_mm, move->to.z_mm + up_mm };

    if (move->kind == TW_MOVE_DWELL)
        tw_writer_dwell(&program->writer, move->dwell_s);
    else
        tw_writer_move(&program->writer, to_mm, move->kind == TW_MOVE_FEED ? move->feed_mm_per_s : 0.0);
}

/* The very first is come to from an unknown place, up first; the others from a height that is clear at both stations. */
static void enter(struct program *program, const struct stay *stay)
{
    const struct tw_place3 *start = &move_of(program, stay, stay->moves.first)->to;
    double clear_z_mm = start->z_mm + tw_program_up_at_mm(program, stay->part);

    if (program->told != stay->part)
        tw_program_write_offset(program, stay->part);
    else
        tw_writer_rapid_up(&program->writer, clear_z_mm);
    program->told = -1;
    tw_writer_rapid_over(&program->writer, start->x_mm, start->y_mm);
    if (stay->wait_s > 0.0)
        tw_writer_dwell(&program->writer, stay->wait_s);
    tw_writer_rapid_up(&program->writer, clear_z_mm);
}

/* Over the part's pad: where the wheel is at the end of the stay, or what is clear where it goes next. */
static double leave_mm(const struct program *program, const struct stay *stay, const struct stay *next)
{
    const struct tw_station *stations = program->job->fixture.stations;
    double leaves_mm = move_of(program, stay, stay->moves.last)->to.z_mm, rise_mm;

    if (!next)
        return leaves_mm;
    rise_mm = program->job->machine.up.sign * (stations[next->part].up_mm - stations[stay->part].up_mm);
    return fmax(leaves_mm, move_of(program, next, next->moves.first)->to.z_mm + rise_mm);
}

static void turn_to(struct program *program, int part)
{
    program->plan = program->blanks[part].plan;
    program->setup = setup_of(&program->blanks[part], program->index);
    program->up_mm = program->lift_mm - program->setup->face.zero_mm;
}

/* `next`: NULL after the last. */
static void write_stay(struct program *program, const struct stay *stay, const struct stay *next)
{
    int told = -1;

    turn_to(program, stay->part);
    enter(program, stay);
    for (size_t i = stay->moves.first + 1; i <= stay->moves.last; i++) {
        told = tw_program_tell_layer(program, i, stay->moves.last, told);
        write_move(program, &program->setup->moves[i], stay);
    }
    tw_writer_rapid_up(&program->writer, leave_mm(program, stay, next) + tw_program_up_at_mm(program, stay->part));
}

/* ---- the order of the stays ---- */

/* What is behind the wheel while it goes about the blanks. */
struct going {
    size_t done[TW_AWAY_PARTS_MOST]; /* moves of each */
    double taken_mm3;                /* off the blanks that are ground */
    struct tw_away away;
};

static bool is_ground(const struct program *program, const struct going *going, int part)
{
    return going->done[part] >= setup_of(&program->blanks[part], program->index)->move_count;
}

/* Round the stations, or, where blanks were planned alone, on with this one; -1: all are ground. */
static int next_part(const struct program *program, const struct going *going, int part)
{
    int parts = program->job->parts;

    if (is_alone(&program->blanks[part]) && !is_ground(program, going, part))
        return part;
    for (int i = 1; i <= parts; i++)
        if (!is_ground(program, going, (part + i) % parts))
            return (part + i) % parts;
    return -1;
}

/* False: there is none. */
static bool take_stay(struct program *program, int part, struct going *going, struct stay *out)
{
    struct tw_stay moves;

    if (part < 0)
        return false;
    turn_to(program, part);
    moves = tw_plan_stay(program->setup, going->done[part]);
    *out = (struct stay){ .part = part, .moves = moves, .lost_mm = lost_mm(program, going->taken_mm3) };
    if (!is_alone(&program->blanks[part]))
        out->wait_s = tw_away_wait_s(&going->away, part, moves);
    going->done[part] = moves.last + 1;
    if (is_ground(program, going, part))
        going->taken_mm3 += program->setup->loss.volume_mm3;
    return true;
}

static void write_stays(struct program *program, struct going *going)
{
    struct stay stay, next;
    bool more = take_stay(program, 0, going, &stay);

    while (more) {
        more = take_stay(program, next_part(program, going, stay.part), going, &next);
        write_stay(program, &stay, more ? &next : NULL);
        stay = next;
    }
}

/* ---- the wheel from program to program ---- */

/* Off the thickest blanks. A plan for all stations has its blank on each of them. */
static double taken_mm3(const struct tw_job *load, const struct tw_program_blank *blanks, size_t setup)
{
    double taken = 0.0;

    for (int part = 0; part < load->parts; part++)
        taken += setup_of(&blanks[part], setup)->ledger.end_mm3 / blanks[part].job->parts;
    return taken;
}

bool tw_program_load_dresses(const struct tw_job *load, const struct tw_program_blank *blanks, size_t setup,
                             double *begins_mm3)
{
    const struct tw_wheel *wheel = tw_scope_wheel(load, setup_of(&blanks[0], 0)->scope);
    double since_mm3 = taken_mm3(load, blanks, 0);
    bool dresses = false;

    *begins_mm3 = 0.0;
    for (size_t i = 1; i <= setup; i++) {
        const struct tw_wheel *before = wheel;

        wheel = tw_scope_wheel(load, setup_of(&blanks[0], i)->scope);
        *begins_mm3 = wheel == before ? since_mm3 : 0.0; /* another one is dressed when it is put on */
        since_mm3 = *begins_mm3 + taken_mm3(load, blanks, i);
        dresses = *begins_mm3 > 0.0 && tw_wear_stay_is_full(since_mm3, wheel->dress_after_mm3);
        if (dresses)
            since_mm3 -= *begins_mm3;
    }
    return dresses;
}

/* ---- the whole ---- */

static int hottest(const struct program *program)
{
    int best = 0;

    for (int part = 1; part < program->job->parts; part++)
        if (setup_of(&program->blanks[part], program->index)->reserve_degC >
            setup_of(&program->blanks[best], program->index)->reserve_degC)
            best = part;
    return best;
}

/* All stays and waits of blanks that the wheel goes round; `going` is a copy. */
static double round_s(struct program *program, struct going going)
{
    struct stay stay = { 0 };
    int part = 0;

    while (take_stay(program, part, &going, &stay))
        part = next_part(program, &going, stay.part);
    return going.away.now_s;
}

/* Passes and time of all blanks; the spindle starts once. */
static void sum_up(struct program *program, const struct going *going)
{
    const struct tw_machine *machine = &program->job->machine;
    double alone_s = 0.0;

    for (int part = 0; part < program->job->parts; part++) {
        program->passes += setup_of(&program->blanks[part], program->index)->pass_count;
        alone_s += setup_of(&program->blanks[part], program->index)->part_time_s;
    }
    program->cycle_s = is_alone(&program->blanks[0]) ? alone_s : round_s(program, *going);
    program->cycle_s += machine->spindle_up_to_speed_s + tw_plan_spin_dry_s(program->job);
}

static void write_text(struct program *program, struct going *going)
{
    bool percent = program->job->machine.dialect.percent_lines;

    tw_writer_open(&program->writer, &program->job->machine);
    if (percent)
        tw_writer_bare(&program->writer, "%");
    tw_program_write_head(program);
    tw_program_write_safe_lines(program);
    tw_program_write_offset(program, 0);
    tw_program_write_start(program);
    write_stays(program, going);
    tw_program_write_end(program);
    if (percent)
        tw_writer_bare(&program->writer, "%");
}

enum tw_status tw_program_of_load(const struct tw_job *load, const struct tw_program_blank *blanks, size_t setup,
                                  double lift_mm, char **out, struct tw_findings *findings)
{
    struct program program = { .job = load, .blanks = blanks, .index = setup, .lift_mm = lift_mm };
    struct going going = { 0 };
    enum tw_status status = tw_away_open(load, blanks, setup, &going.away, findings);

    *out = NULL;
    if (status != TW_OK)
        return status;
    program.dresses = tw_program_load_dresses(load, blanks, setup, &program.begins_mm3);
    sum_up(&program, &going);
    turn_to(&program, hottest(&program));
    write_text(&program, &going);
    tw_away_close(&going.away);
    *out = tw_text_take(&program.writer.text);
    return *out ? TW_OK : tw_no_memory(findings);
}
