/* frame.c - the lines of a program that are alike for all: what it begins and ends with, and what stands before a part. */
#include "program/parts.h"

#include "base/numbers.h"
#include "base/units.h"
#include "tangwright/relief.h"

/* The plane in which the wheel moves over the table. */
static int plane_code(const struct tw_machine *machine)
{
    char up = machine->up.letter;

    return up == 'Z' ? 17 : up == 'Y' ? 18 : 19;
}

void tw_program_write_safe_lines(struct program *program)
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

static bool coolant_is_by_hand(const struct tw_job *job)
{
    return job->coolant.kind != TW_COOLANT_DRY && coolant_code(job) == 0;
}

void tw_program_write_start(struct program *program)
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
    else if (coolant_is_by_hand(program->job))
        tw_writer_comment(writer, "TURN THE COOLANT ON BY HAND NOW");
    if (machine->spindle_up_to_speed_s > 0.0)
        tw_writer_dwell(writer, machine->spindle_up_to_speed_s);
}

/* The passes of a layer among those of one part: "12", "13-15". */
struct which {
    char text[32];
};

static struct which passes_of(const struct tw_setup_plan *setup, int layer)
{
    struct which which;
    int before = 0, lanes = setup->layers[layer].lanes;

    for (int i = 0; i < layer; i++)
        before += setup->layers[i].lanes;
    snprintf(which.text, sizeof which.text, lanes > 1 ? "%d-%d" : "%d", before + 1, before + lanes);
    return which;
}

static void write_layer(struct program *program, int layer)
{
    const struct tw_setup_plan *setup = program->setup;
    const struct tw_layer *l = &setup->layers[layer];
    bool inches = program->job->machine.dialect.inch;

    tw_writer_comment(&program->writer,
                      inches ? "PASS %s OF %d - %s - DEPTH %s AT %.1f IN/MIN, EST. %s"
                             : "PASS %s OF %d - %s - DEPTH %s AT %.1f MM/S, EST. %s",
                      passes_of(setup, layer).text, setup->pass_count, tw_layer_name(l),
                      tw_program_length(program, l->depth_mm, 4).text,
                      l->table_mm_per_s * (inches ? 60.0 / TW_MM_PER_INCH : 1.0),
                      tw_program_degrees(program, l->peak_degC).text);
}

/* Whether the wheel is fed in that layer between two moves: at the end of a stay it goes up as the next stay's layer asks, and
 * does nothing more of that layer before it leaves. */
static bool grinds(const struct tw_setup_plan *setup, size_t from, size_t last, int layer)
{
    for (size_t i = from; i <= last && setup->moves[i].layer == layer; i++)
        if (setup->moves[i].kind == TW_MOVE_FEED)
            return true;
    return false;
}

int tw_program_tell_layer(struct program *program, size_t index, size_t last, int told)
{
    int layer = program->setup->moves[index].layer;

    if (layer < 0 || layer == told || !grinds(program->setup, index, last, layer))
        return told;
    write_layer(program, layer);
    return layer;
}

/* What parts were gauged off by is of the faces' wheel: another one for the hollows is touched off by itself. */
double tw_program_lower_mm(const struct program *program, int part)
{
    const struct tw_job *job = program->job;
    bool own_wheel = program->setup->scope == TW_SCOPE_RELIEF && tw_relief_changes_wheel(job);

    return own_wheel ? 0.0 : tw_program_lift_mm(job, job->fixture.stations[part].lower_mm);
}

double tw_program_up_at_mm(const struct program *program, int part)
{
    return program->up_mm - tw_program_lower_mm(program, part);
}

void tw_program_write_offset(struct program *program, int part)
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

/* The wheel throws out the coolant that it has soaked up before it stops. */
void tw_program_switch_off(struct program *program)
{
    struct tw_writer *writer = &program->writer;
    char buffer[8];

    tw_writer_codes(writer, "%s", tw_writer_code(writer, 'M', 9, buffer));
    if (coolant_is_by_hand(program->job))
        tw_writer_comment(writer, "TURN THE COOLANT OFF BY HAND NOW");
    if (tw_plan_spin_dry_s(program->job) > 0.0)
        tw_writer_dwell(writer, tw_plan_spin_dry_s(program->job));
    tw_writer_codes(writer, "%s", tw_writer_code(writer, 'M', 5, buffer));
}

void tw_program_write_end(struct program *program)
{
    struct tw_writer *writer = &program->writer;
    char buffer[8];

    tw_writer_comment(writer, "ALL OFF");
    tw_program_switch_off(program);
    tw_writer_codes(writer, "%s", tw_writer_code(writer, 'M', program->job->machine.dialect.end_code, buffer));
}
