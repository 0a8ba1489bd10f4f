/* program.c - the RS-274 text of one setup, in its fixed order. */
#include "tangwright/program.h"

#include "base/numbers.h"
#include "base/units.h"
#include "program/parts.h"

#include <math.h>
#include <stdlib.h>

/* ---- the passes ---- */

static void write_move(struct program *program, const struct tw_move *move, int part)
{
    double lower_mm = tw_plan_lower_mm(program->job, program->setup, move, part);
    double to_mm[3] = { move->to.x_mm, move->to.y_mm, move->to.z_mm - lower_mm + tw_program_up_at_mm(program, part) };

    if (move->kind == TW_MOVE_DWELL)
        tw_writer_dwell(&program->writer, move->dwell_s);
    else
        tw_writer_move(&program->writer, to_mm, move->kind == TW_MOVE_FEED ? move->feed_mm_per_s : 0.0);
}

/* Over the start of a stay at the part. The very first is come to from an unknown place: up first. The others from a
 * height that is clear in both systems: across first. */
static void enter_part(struct program *program, int part, struct tw_stay stay)
{
    const struct tw_place3 *start = &program->setup->moves[stay.first].to;
    double clear_z_mm = start->z_mm + tw_program_up_at_mm(program, part);

    if (part == 0 && stay.first == 0)
        tw_writer_rapid_up(&program->writer, clear_z_mm);
    else if (program->told != part)
        tw_program_write_offset(program, part);
    program->told = -1;
    tw_writer_rapid_over(&program->writer, start->x_mm, start->y_mm);
    tw_writer_rapid_up(&program->writer, clear_z_mm);
}

static void write_stay(struct program *program, int part, int next, struct tw_stay stay)
{
    const struct tw_setup_plan *setup = program->setup;
    int told = -1;

    enter_part(program, part, stay);
    for (size_t i = stay.first + 1; i <= stay.last; i++) {
        told = tw_program_tell_layer(program, i, stay.last, told);
        write_move(program, &setup->moves[i], part);
    }
    tw_writer_rapid_up(&program->writer,
                       tw_plan_leave_z_mm(program->job, setup, stay, part, next) + tw_program_up_at_mm(program, part));
}

/* Clear of everything, over whichever station is the highest, in the system of `part`. */
static double clear_z_mm(const struct program *program, int part)
{
    const struct tw_station *stations = program->job->fixture.stations;
    double most_mm = 0.0;

    for (int other = 0; other < program->job->parts; other++)
        most_mm = fmax(most_mm, program->job->machine.up.sign * (stations[other].up_mm - stations[part].up_mm));
    return program->setup->clear_z_mm + most_mm + program->up_mm;
}

/* The wheel is clear, everything is off, and a person takes over. Where the machine stands afterwards, and what it has in
 * force, is as little known as at the start. */
static void write_stop(struct program *program, int left, int part, double taken_mm3)
{
    struct tw_writer *writer = &program->writer;
    char buffer[8];

    tw_writer_rapid_up(writer, clear_z_mm(program, left));
    tw_program_switch_off(program);
    tw_writer_comment(writer, "STOP - DRESS THE WHEEL, IT HAS TAKEN OFF UP TO %s",
                      tw_program_volume(program, taken_mm3).text);
    tw_writer_comment(writer, "WAIT UNTIL IT STANDS - DRESS IT, BRING ITS RIM TO THE STATE THE JOB COUNTS ON");
    tw_writer_comment(writer, "TOUCH IT OFF ANEW - THE %c OF EVERY WORK OFFSET IN USE CHANGES BY WHAT IT LOST",
                      program->job->machine.up.letter);
    tw_writer_comment(writer, "A TOOL LENGTH IS NOT USED - G49 - RAISE IT CLEAR AGAIN, CLOSE THE GUARD");
    tw_writer_comment(writer, "CYCLE START GOES ON WITH PART %d OF %d", part + 1, program->job->parts);
    tw_writer_codes(writer, "%s", tw_writer_code(writer, 'M', 0, buffer));
    tw_program_write_safe_lines(program);
    writer->last_feed = 0;
    tw_program_write_offset(program, part);
    tw_program_write_start(program);
    tw_writer_rapid_up(writer, clear_z_mm(program, part));
}

static void write_rounds(struct program *program)
{
    const struct tw_setup_plan *setup = program->setup;
    const struct tw_wear_ledger *ledger = &setup->ledger;
    struct tw_stay stay;
    size_t entry = 0; /* of the ledger */
    int left = 0;

    for (size_t first = 0; first < setup->move_count; first = stay.last + 1) {
        stay = tw_plan_stay(setup, first);
        for (int part = 0; part < program->job->parts; part++, entry++) {
            int after = stay.last + 1 < setup->move_count ? 0 : -1;

            if (ledger->dresses && ledger->dresses[entry])
                write_stop(program, left, part, ledger->taken_mm3[entry]);
            left = part;
            write_stay(program, part, part + 1 < program->job->parts ? part + 1 : after, stay);
        }
    }
}

enum tw_status tw_program_text(const struct tw_job *job, const struct tw_plan *plan, size_t setup, double lift_mm,
                               char **out, struct tw_findings *findings)
{
    struct program program = { .job = job, .plan = plan, .setup = &plan->setups[setup], .lift_mm = lift_mm };
    bool percent = job->machine.dialect.percent_lines;

    program.passes = program.setup->pass_count * job->parts;
    program.cycle_s = program.setup->cycle_time_s;
    program.dresses = program.setup->dress_before;
    program.begins_mm3 = program.setup->begins_mm3;
    program.up_mm = lift_mm - program.setup->face.zero_mm;
    *out = NULL;
    tw_writer_open(&program.writer, &job->machine);
    if (percent)
        tw_writer_bare(&program.writer, "%");
    tw_program_write_head(&program);
    tw_program_write_safe_lines(&program);
    tw_program_write_offset(&program, 0);
    tw_program_write_start(&program);
    write_rounds(&program);
    tw_program_write_end(&program);
    if (percent)
        tw_writer_bare(&program.writer, "%");
    *out = tw_text_take(&program.writer.text);
    return *out ? TW_OK : tw_no_memory(findings);
}
