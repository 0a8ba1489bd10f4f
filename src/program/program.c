/* program.c - the RS-274 text of one setup, in its fixed order. */
#include "tangwright/assess.h"
#include "tangwright/program.h"

#include "base/numbers.h"
#include "base/units.h"
#include "program/writer.h"
#include "tangwright/relief.h"
#include "tangwright/warm.h"

#include <ctype.h>
#include <math.h>
#include <stdlib.h>

struct program {
    const struct tw_job *job;
    const struct tw_plan *plan;
    const struct tw_setup_plan *setup;
    double lift_mm;
    double up_mm; /* what a height counts higher in the program than in the setup frame: the lift, and z's own zero */
    int told;     /* the part whose offset stands before whatever is written next; -1: none */
    struct tw_writer writer;
};

const char *tw_program_file_name(enum tw_side side, enum tw_scope scope)
{
    static const char *const names[2][4] = {
        { "side-a.ngc", "side-a-rough.ngc", "side-a-finish.ngc", "side-a-relief.ngc" },
        { "side-b.ngc", "side-b-rough.ngc", "side-b-finish.ngc", "side-b-relief.ngc" },
    };

    return names[side][scope];
}

const char *tw_program_air_file_name(enum tw_side side, enum tw_scope scope)
{
    static const char *const names[2][4] = {
        { "air-side-a.ngc", "air-side-a-rough.ngc", "air-side-a-finish.ngc", "air-side-a-relief.ngc" },
        { "air-side-b.ngc", "air-side-b-rough.ngc", "air-side-b-finish.ngc", "air-side-b-relief.ngc" },
    };

    return names[side][scope];
}

static const char *const cautions[] = {
    "CAUTION - AN ESTIMATE, NOT A PROMISE - PROVE IT IN THE AIR AND ON SCRAP FIRST",
    "WHEEL - LOOK, RING-TEST, CHECK THE MARKED SPEED, RUN UP GUARDED FOR A MINUTE",
    "GUARD, EYE AND BREATHING PROTECTION, EXTRACTION - BEWARE OF SPARKS AND FIRE",
    "HOLDING - BLOCK THE PART AT THE END OF THE STROKE, TEST BY HAND, KEEP CLEAR",
    "MACHINE AND WHEEL MAKERS INSTRUCTIONS AND LOCAL CODES COME BEFORE THIS TEXT",
};

/* ---- the head ---- */

/* As the machine shows it. */
static struct tw_length_text length(const struct program *program, double mm, int decimals)
{
    return tw_length_text(mm, decimals, program->job->machine.dialect.inch);
}

/* Which limit the flashes were held to, and what the other one says. */
static void write_limits(struct program *program)
{
    struct tw_plan_limits limits = tw_plan_limits(program->plan);

    if (limits.used == TW_FLASH_STRICT)
        tw_writer_comment(&program->writer, "STRICT LIMIT %.0f DEGC - THE EQUIVALENT ONE WOULD ALLOW %.0f DEGC",
                          limits.strict_degC, limits.equivalent_degC);
    else
        tw_writer_comment(&program->writer, "EQUIVALENT LIMIT %.0f DEGC, BULK %.0f DEGC - THE STRICT ONE WOULD %s",
                          limits.equivalent_degC, limits.strict_degC,
                          limits.strict_allows ? "ALLOW THIS" : "REFUSE THIS");
}

/* What is expected, and what the limit is held against. */
static void write_hottest(struct program *program)
{
    const struct tw_setup_plan *setup = program->setup;
    struct tw_job job = tw_scope_job(program->job, setup->face.side, setup->scope);
    double reserve = tw_energy_reserve(&job);

    if (reserve == 1.0)
        tw_writer_comment(&program->writer, "PEAK EST. %.0f DEGC%s", setup->peak_degC,
                          job.wheel.calibrated ? " - WHEEL CALIBRATED" : " - WHEEL NOT CALIBRATED, NO RESERVE");
    else
        tw_writer_comment(&program->writer,
                          "PEAK EST. %.0f DEGC, WITH THE RESERVE %.0f DEGC - WHEEL NOT CALIBRATED, %.4g TIMES ENERGY",
                          setup->peak_degC, setup->reserve_degC, reserve);
}

/* A plan that counts on the coolant's film is cool only while there is one. */
static void write_coolant(struct program *program)
{
    const struct tw_plan *plan = program->plan;
    struct tw_plan_film film = tw_setup_film(program->job, plan, (size_t)(program->setup - plan->setups));

    if (film.wet)
        tw_writer_comment(&program->writer, "COOLANT AIMED AND FLOWING, OR %.0f DEGC%s", film.dry_degC,
                          film.hardens ? " - THE STEEL HARDENS AGAIN" : "");
}

/* Which of several programs this is: it must not be run before those ahead of it. */
static void write_step(struct program *program)
{
    const struct tw_plan *plan = program->plan;
    size_t step = (size_t)(program->setup - plan->setups);
    const struct tw_setup_plan *next = program->setup + 1;

    if (plan->setup_count == 2) /* a program for each side */
        return;
    tw_writer_comment(&program->writer, "STEP %zu OF %zu - %s", step + 1, plan->setup_count,
                      program->setup->scope == TW_SCOPE_WHOLE ? "taper" : tw_scope_name(program->setup->scope));
    if (step + 1 < plan->setup_count)
        tw_writer_comment(&program->writer, "THEN %s",
                          program->lift_mm > 0.0 ? tw_program_air_file_name(next->face.side, next->scope)
                                                 : tw_program_file_name(next->face.side, next->scope));
}

/* Where the spine lies in this setup, or, where it is not known, the drawing's own y. */
static void write_across(struct program *program)
{
    const struct tw_placement *placement = &program->job->placement;
    const struct tw_axis *across = &program->job->machine.across;
    int side = placement->spine < 0 ? -1 : 1;
    int way = across->sign * side * (program->setup->face.side == TW_SIDE_A ? 1 : -1);
    const char *drawn = tw_placement_drawing_axis(placement, side);

    if (placement->spine == 0)
        tw_writer_comment(&program->writer, "SPINE NOT KNOWN - THE %c%c OF THE DRAWING LIES TOWARDS %c%c", drawn[0],
                          toupper((unsigned char)drawn[1]), way < 0 ? '-' : '+', across->letter);
    else
        tw_writer_comment(&program->writer, "SPINE TOWARDS %c%c", way < 0 ? '-' : '+', across->letter);
}

/* The blanks that it is for, and what their thickness does to them. */
static void write_blanks(struct program *program)
{
    const struct tw_taper *taper = &program->job->taper;
    struct tw_job thickest = tw_blank_job(program->job, taper->band_mm);
    struct tw_length_text band = length(program, taper->band_mm, 3);
    struct tw_writer *writer = &program->writer;

    if (taper->band_mm <= 0.0) {
        tw_writer_comment(writer, "FOR A BLANK OF %s AT THE RICASSO - ANOTHER - PLAN ANEW",
                          length(program, taper->ricasso_mm, 3).text);
        return;
    }
    tw_writer_comment(writer, "FOR BLANKS OF %s TO %s AT THE RICASSO - OTHERS - MEASURE, PLAN ANEW",
                      length(program, taper->ricasso_mm - taper->band_mm, 3).text,
                      length(program, taper->ricasso_mm + taper->band_mm, 3).text);
    if (taper->zero == TW_ZERO_PAD)
        tw_writer_comment(writer, "%s THICKER - STARTS %s AHEAD, BUTT %s THINNER", band.text,
                          length(program, -tw_taper_begin_mm(&thickest), 2).text, band.text);
    else
        tw_writer_comment(writer, "%s THICKER - STARTS WHERE IT SHOULD, BUTT %s THICKER", band.text, band.text);
}

/* Where zero is. On a ricasso that lies tilted it matters where it is touched off. */
static void write_zero(struct program *program)
{
    const struct tw_machine *machine = &program->job->machine;
    char along_sign = machine->along.sign < 0 ? '-' : '+', up_sign = machine->up.sign < 0 ? '-' : '+';
    struct tw_writer *writer = &program->writer;

    if (program->job->taper.zero == TW_ZERO_PAD) {
        tw_writer_comment(writer, "ZERO ON THE DATUM PAD AT THE TAPER START, %c%c TO THE BUTT, %c%c UP", along_sign,
                          machine->along.letter, up_sign, machine->up.letter);
        return;
    }
    tw_writer_comment(writer, "ZERO ON THE RICASSO AT THE TAPER START, %c%c TO THE BUTT, %c%c UP", along_sign,
                      machine->along.letter, up_sign, machine->up.letter);
    tw_writer_comment(writer, "TOUCH OFF %c ON EVERY BLANK, UPPER FACE OF THE RICASSO AT %c %s", machine->up.letter,
                      machine->along.letter,
                      length(program, machine->along.sign * program->setup->face.start_mm, 3).text);
}

/* Heights that were corrected by what finished parts measured. */
static void write_corrections(struct program *program)
{
    const struct tw_job *job = program->job;

    for (int part = 0; part < job->parts; part++) {
        double lower_mm = tw_program_lift_mm(job, job->fixture.stations[part].lower_mm);

        if (lower_mm != 0.0)
            tw_writer_comment(&program->writer, "PART %d - HEIGHTS %s %s, AS GAUGED", part + 1,
                              length(program, fabs(lower_mm), 4).text, lower_mm > 0.0 ? "LOWER" : "HIGHER");
    }
}

static void write_wheel(struct program *program, const struct tw_wheel *wheel)
{
    bool inches = program->job->machine.dialect.inch;
    double speed_mm_per_s = wheel->operating_speed_mm_per_s;

    tw_writer_comment(&program->writer,
                      inches ? "WHEEL %s - DIAMETER %s - OPERATING SPEED %.0f FT/MIN"
                             : "WHEEL %s - DIAMETER %s - OPERATING SPEED %.1f M/S",
                      wheel->name, length(program, wheel->diameter_mm, 3).text,
                      inches ? 60.0 * speed_mm_per_s / (12.0 * TW_MM_PER_INCH) : speed_mm_per_s / 1000.0);
}

static void write_identification(struct program *program)
{
    const struct tw_job *job = program->job;
    const struct tw_face *face = &program->setup->face;
    const struct tw_wheel *wheel = tw_scope_wheel(job, program->setup->scope);
    struct tw_writer *writer = &program->writer;

    tw_writer_comment(writer, "TANGWRIGHT %s - JOB %s - SIDE %s", TANGWRIGHT_VERSION, job->name,
                      tw_side_letter(face->side));
    tw_writer_comment(writer, "INPUTS %s", job->digest);
    write_step(program);
    if (program->lift_mm > 0.0)
        tw_writer_comment(writer, "LIFTED BY %s - CUTS AIR ONLY", length(program, program->lift_mm, 4).text);
    tw_writer_comment(writer, "MACHINE %s", job->machine.name);
    write_wheel(program, wheel);
    tw_writer_comment(writer, "STEEL %s - COOLANT %s - FIXTURE %s", job->steel.name, job->coolant.name,
                      job->fixture.name);
    tw_writer_comment(writer, "RICASSO %s, BUTT %s OVER %s", length(program, job->taper.ricasso_mm, 3).text,
                      length(program, job->taper.butt_mm, 3).text, length(program, job->taper.length_mm, 3).text);
    write_blanks(program);
    if (face->mount == TW_MOUNT_TILTED)
        tw_writer_comment(writer, "TILTED MOUNT - BUTT END RAISED %s OVER %s",
                          length(program, tw_face_rise_mm(face, job->fixture.sine_bar_mm), 4).text,
                          length(program, job->fixture.sine_bar_mm, 1).text);
    else
        tw_writer_comment(writer, "LEVEL MOUNT");
    if (program->setup->scope == TW_SCOPE_RELIEF)
        tw_writer_comment(writer, "RELIEF %s DEEP, LAND %s, BOSSES %s", length(program, job->relief.depth_mm, 3).text,
                          length(program, job->relief.land_mm, 3).text, length(program, job->relief.boss_mm, 3).text);
    if (job->straight)
        tw_writer_comment(writer, "FOR THE SURVEYED BLANK ONLY - PACK IT AS IT LIES");
    write_zero(program);
    write_corrections(program);
    write_across(program);
    tw_writer_comment(writer, "PROGRAMMED POINT - %s",
                      wheel->kind == TW_WHEEL_CUP ? "CENTRE OF THE RIM FACE" : "LOWEST POINT AT MID-WIDTH");
    tw_writer_comment(writer, "%d PASSES, %.1f MIN", program->setup->pass_count * job->parts,
                      program->setup->cycle_time_s / 60.0);
    write_hottest(program);
    write_limits(program);
    write_coolant(program);
    for (size_t i = 0; i < sizeof cautions / sizeof *cautions; i++)
        tw_writer_comment(writer, "%s", cautions[i]);
}

/* The plane in which the wheel moves over the table. */
static int plane_code(const struct tw_machine *machine)
{
    char up = machine->up.letter;

    return up == 'Z' ? 17 : up == 'Y' ? 18 : 19;
}

static void write_safe_lines(struct program *program)
{
    const struct tw_dialect *dialect = &program->job->machine.dialect;
    struct tw_writer *writer = &program->writer;
    int codes[4];
    int count = 0;

    if (dialect->select_plane)
        tw_writer_codes(writer, "G%d G%d G90 G94", dialect->inch ? 20 : 21, plane_code(&program->job->machine));
    else
        tw_writer_codes(writer, "G%d G90 G94", dialect->inch ? 20 : 21);
    if (dialect->cancel_radius)
        codes[count++] = 40;
    if (dialect->cancel_length)
        codes[count++] = 49;
    if (dialect->cancel_cycles)
        codes[count++] = 80;
    if (count == 1)
        tw_writer_codes(writer, "G%d", codes[0]);
    else if (count == 2)
        tw_writer_codes(writer, "G%d G%d", codes[0], codes[1]);
    else if (count == 3)
        tw_writer_codes(writer, "G%d G%d G%d", codes[0], codes[1], codes[2]);
    if (dialect->path_mode == TW_PATH_EXACT)
        tw_writer_codes(writer, "G61");
    else if (dialect->path_mode == TW_PATH_EXACT_STOP)
        tw_writer_codes(writer, "G61.1");
    else if (dialect->path_mode == TW_PATH_BLENDED)
        tw_writer_codes(writer, "G64");
}

static int coolant_code(const struct tw_job *job)
{
    switch (job->coolant.kind) {
    case TW_COOLANT_FLOOD:
        return job->machine.dialect.flood_code;
    case TW_COOLANT_MIST:
        return job->machine.dialect.mist_code;
    case TW_COOLANT_DRY:
        break;
    }
    return 0;
}

static void write_start(struct program *program)
{
    const struct tw_machine *machine = &program->job->machine;
    struct tw_writer *writer = &program->writer;
    int coolant = coolant_code(program->job);
    char buffer[8];
    const char *start = tw_writer_code(writer, 'M', machine->spindle_counterclockwise ? 4 : 3, buffer);

    if (machine->spindle_programmable)
        tw_writer_codes(writer, "S%.0f %s", program->setup->spindle_rpm, start);
    else
        tw_writer_codes(writer, "%s", start);
    if (coolant > 0)
        tw_writer_codes(writer, "%s", tw_writer_code(writer, 'M', coolant, buffer));
    else if (program->job->coolant.kind != TW_COOLANT_DRY)
        tw_writer_comment(writer, "TURN THE COOLANT ON BY HAND NOW");
    if (machine->spindle_up_to_speed_s > 0.0)
        tw_writer_dwell(writer, machine->spindle_up_to_speed_s);
}

/* ---- the passes ---- */

static void write_layer_comment(struct program *program, int layer)
{
    const struct tw_setup_plan *setup = program->setup;
    const struct tw_layer *l = &setup->layers[layer];

    bool inches = program->job->machine.dialect.inch;

    tw_writer_comment(&program->writer,
                      inches ? "LAYER %d OF %zu - %s - DEPTH %s AT %.1f IN/MIN, EST. %.0f DEGC"
                             : "LAYER %d OF %zu - %s - DEPTH %s AT %.1f MM/S, EST. %.0f DEGC",
                      layer + 1, setup->layer_count, tw_layer_name(l), length(program, l->depth_mm, 4).text,
                      l->table_mm_per_s * (inches ? 60.0 / TW_MM_PER_INCH : 1.0), l->peak_degC);
}

/* What a height counts higher in the program than in the setup frame of that part: less what faces were gauged to come out
 * too high at its station. */
static double up_at_mm(const struct program *program, int part)
{
    return program->up_mm - tw_program_lift_mm(program->job, program->job->fixture.stations[part].lower_mm);
}

static void write_move(struct program *program, const struct tw_move *move, int part)
{
    double lower_mm = tw_plan_lower_mm(program->job, program->setup, move, part);
    double to_mm[3] = { move->to.x_mm, move->to.y_mm, move->to.z_mm - lower_mm + up_at_mm(program, part) };

    if (move->kind == TW_MOVE_DWELL)
        tw_writer_dwell(&program->writer, move->dwell_s);
    else
        tw_writer_move(&program->writer, to_mm, move->kind == TW_MOVE_FEED ? move->feed_mm_per_s : 0.0);
}

static void write_offset(struct program *program, int part)
{
    int offset = program->job->fixture.stations[part].work_offset;

    if (program->job->parts > 1)
        tw_writer_comment(&program->writer, "PART %d OF %d", part + 1, program->job->parts);
    if (offset <= 6)
        tw_writer_codes(&program->writer, "G%d", 53 + offset);
    else
        tw_writer_codes(&program->writer, "G59.%d", offset - 6);
    tw_writer_forget_position(&program->writer);
    program->told = part;
}

/* Over the start of a stay at the part. The very first is come to from an unknown place: up first. The others from a
 * height that is clear in both systems: across first. */
static void enter_part(struct program *program, int part, struct tw_stay stay)
{
    const struct tw_place3 *start = &program->setup->moves[stay.first].to;
    double clear_z_mm = start->z_mm + up_at_mm(program, part);

    if (part == 0 && stay.first == 0)
        tw_writer_rapid_up(&program->writer, clear_z_mm);
    else if (program->told != part)
        write_offset(program, part);
    program->told = -1;
    tw_writer_rapid_over(&program->writer, start->x_mm, start->y_mm);
    tw_writer_rapid_up(&program->writer, clear_z_mm);
}

static void write_stay(struct program *program, int part, int next, struct tw_stay stay)
{
    const struct tw_setup_plan *setup = program->setup;
    int layer = -1;

    enter_part(program, part, stay);
    for (size_t i = stay.first + 1; i <= stay.last; i++) {
        if (setup->moves[i].layer >= 0 && setup->moves[i].layer != layer) {
            layer = setup->moves[i].layer;
            write_layer_comment(program, layer);
        }
        write_move(program, &setup->moves[i], part);
    }
    tw_writer_rapid_up(&program->writer,
                       tw_plan_leave_z_mm(program->job, setup, stay, part, next) + up_at_mm(program, part));
}

/* The wheel throws out the coolant that it has soaked up before it stops. */
static void switch_off(struct program *program)
{
    struct tw_writer *writer = &program->writer;
    char buffer[8];

    tw_writer_codes(writer, "%s", tw_writer_code(writer, 'M', 9, buffer));
    if (tw_plan_spin_dry_s(program->job) > 0.0)
        tw_writer_dwell(writer, tw_plan_spin_dry_s(program->job));
    tw_writer_codes(writer, "%s", tw_writer_code(writer, 'M', 5, buffer));
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
    switch_off(program);
    if (program->job->machine.dialect.inch)
        tw_writer_comment(writer, "STOP - DRESS THE WHEEL, IT HAS TAKEN OFF UP TO %.4f IN3",
                          taken_mm3 / TW_MM3_PER_INCH3);
    else
        tw_writer_comment(writer, "STOP - DRESS THE WHEEL, IT HAS TAKEN OFF UP TO %.0f MM3", taken_mm3);
    tw_writer_comment(writer, "WAIT UNTIL IT STANDS - DRESS IT, BRING ITS RIM TO THE STATE THE JOB COUNTS ON");
    tw_writer_comment(writer, "TOUCH IT OFF ANEW - THE %c OF EVERY WORK OFFSET IN USE CHANGES BY WHAT IT LOST",
                      program->job->machine.up.letter);
    tw_writer_comment(writer, "A TOOL LENGTH IS NOT USED - G49 - RAISE IT CLEAR AGAIN, CLOSE THE GUARD");
    tw_writer_comment(writer, "CYCLE START GOES ON WITH PART %d OF %d", part + 1, program->job->parts);
    tw_writer_codes(writer, "%s", tw_writer_code(writer, 'M', 0, buffer));
    write_safe_lines(program);
    writer->last_feed = 0;
    write_offset(program, part);
    write_start(program);
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

/* ---- the end ---- */

static void write_end(struct program *program)
{
    struct tw_writer *writer = &program->writer;
    char buffer[8];

    tw_writer_comment(writer, "ALL OFF");
    switch_off(program);
    tw_writer_codes(writer, "%s", tw_writer_code(writer, 'M', program->job->machine.dialect.end_code, buffer));
}

enum tw_status tw_program_text(const struct tw_job *job, const struct tw_plan *plan, size_t setup, double lift_mm,
                               char **out, struct tw_findings *findings)
{
    struct program program = { .job = job, .plan = plan, .setup = &plan->setups[setup], .lift_mm = lift_mm };
    bool percent = job->machine.dialect.percent_lines;

    program.up_mm = lift_mm - program.setup->face.zero_mm;
    *out = NULL;
    tw_writer_open(&program.writer, &job->machine);
    if (percent)
        tw_writer_bare(&program.writer, "%");
    write_identification(&program);
    write_safe_lines(&program);
    write_offset(&program, 0);
    write_start(&program);
    write_rounds(&program);
    write_end(&program);
    if (percent)
        tw_writer_bare(&program.writer, "%");
    *out = tw_text_take(&program.writer.text);
    return *out ? TW_OK : tw_no_memory(findings);
}
