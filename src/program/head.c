/* head.c - what a program says of itself, and the cautions. */
#include "program/parts.h"

#include "base/numbers.h"
#include "base/units.h"
#include "tangwright/assess.h"
#include "tangwright/relief.h"
#include "tangwright/rim.h"
#include "tangwright/warm.h"

#include <ctype.h>
#include <math.h>

static const char *const cautions[] = {
    "CAUTION - AN ESTIMATE, NOT A PROMISE - PROVE IT IN THE AIR AND ON SCRAP FIRST",
    "WHEEL - LOOK, RING-TEST, CHECK THE MARKED SPEED, RUN UP GUARDED FOR A MINUTE",
    "GUARD, EYE AND BREATHING PROTECTION, EXTRACTION - BEWARE OF SPARKS AND FIRE",
    "HOLDING - BLOCK THE PART AT THE END OF THE STROKE, TEST BY HAND, KEEP CLEAR",
    "BROKEN OFF - RAISE THE WHEEL FIRST, THEN RUN ALL AGAIN, NEVER FROM THE MIDDLE",
    "MACHINE AND WHEEL MAKERS INSTRUCTIONS AND LOCAL CODES COME BEFORE THIS TEXT",
};

/* ---- the head ---- */

struct tw_length_text tw_program_length(const struct program *program, double mm, int decimals)
{
    return tw_length_text(mm, decimals, program->job->machine.dialect.inch);
}

struct tw_program_degrees tw_program_degrees(const struct program *program, double degC)
{
    bool inch = program->job->machine.dialect.inch;
    struct tw_program_degrees degrees;

    snprintf(degrees.text, sizeof degrees.text, "%.0f %s", inch ? tw_degF(degC) : degC, inch ? "DEGF" : "DEGC");
    return degrees;
}

struct tw_program_volume tw_program_volume(const struct program *program, double mm3)
{
    struct tw_program_volume volume;

    if (program->job->machine.dialect.inch)
        snprintf(volume.text, sizeof volume.text, "%.4f IN3", mm3 / TW_MM3_PER_INCH3);
    else
        snprintf(volume.text, sizeof volume.text, "%.0f MM3", mm3);
    return volume;
}

/* Which limit the flashes were held to, and what the other one says. */
static void write_limits(struct program *program)
{
    struct tw_plan_limits limits = tw_plan_limits(program->plan);

    if (limits.used == TW_FLASH_STRICT)
        tw_writer_comment(&program->writer, "STRICT LIMIT %s - THE EQUIVALENT ONE WOULD ALLOW %s",
                          tw_program_degrees(program, limits.strict_degC).text,
                          tw_program_degrees(program, limits.equivalent_degC).text);
    else
        tw_writer_comment(&program->writer, "EQUIVALENT LIMIT %s, BULK %s - THE STRICT ONE WOULD %s",
                          tw_program_degrees(program, limits.equivalent_degC).text,
                          tw_program_degrees(program, limits.strict_degC).text,
                          limits.strict_allows ? "ALLOW THIS" : "REFUSE THIS");
}

/* What is expected, and what the limit is held against. */
static void write_hottest(struct program *program)
{
    const struct tw_setup_plan *setup = program->setup;
    struct tw_job job = tw_setup_job(program->job, setup);
    struct tw_program_degrees peak = tw_program_degrees(program, setup->peak_degC);
    double reserve = tw_energy_reserve(&job);

    if (reserve == 1.0)
        tw_writer_comment(&program->writer, "PEAK EST. %s%s", peak.text,
                          job.wheel.calibrated ? " - WHEEL CALIBRATED" : " - WHEEL NOT CALIBRATED, NO RESERVE");
    else
        tw_writer_comment(&program->writer,
                          "PEAK EST. %s, WITH THE RESERVE %s - WHEEL NOT CALIBRATED, %.4g TIMES ENERGY", peak.text,
                          tw_program_degrees(program, setup->reserve_degC).text, reserve);
}

/* A plan that counts on the coolant's film is cool only while there is one. */
static void write_coolant(struct program *program)
{
    const struct tw_plan *plan = program->plan;
    struct tw_plan_film film = tw_setup_film(program->job, plan, (size_t)(program->setup - plan->setups));

    if (film.wet)
        tw_writer_comment(&program->writer, "COOLANT AIMED AND FLOWING, OR %s%s",
                          tw_program_degrees(program, film.dry_degC).text,
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
        tw_writer_comment(&program->writer, "THEN %s", program->lift_mm > 0.0 ? next->air_file_name : next->file_name);
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
    struct tw_length_text band = tw_program_length(program, taper->band_mm, 3);
    struct tw_writer *writer = &program->writer;

    if (taper->band_mm <= 0.0) {
        tw_writer_comment(writer, "FOR A BLANK OF %s AT THE RICASSO - ANOTHER - PLAN ANEW",
                          tw_program_length(program, taper->ricasso_mm, 3).text);
        return;
    }
    tw_writer_comment(writer, "FOR BLANKS OF %s TO %s AT THE RICASSO - OTHERS - MEASURE, PLAN ANEW",
                      tw_program_length(program, taper->ricasso_mm - taper->band_mm, 3).text,
                      tw_program_length(program, taper->ricasso_mm + taper->band_mm, 3).text);
    if (taper->zero == TW_ZERO_PAD && program->job->one_face)
        tw_writer_comment(writer, "%s THICKER - STARTS %s AHEAD", band.text,
                          tw_program_length(program, -tw_taper_begin_mm(&thickest), 2).text);
    else if (taper->zero == TW_ZERO_PAD)
        tw_writer_comment(writer, "%s THICKER - STARTS %s AHEAD, BUTT %s THINNER", band.text,
                          tw_program_length(program, -tw_taper_begin_mm(&thickest), 2).text, band.text);
    else
        tw_writer_comment(writer, "%s THICKER - STARTS WHERE IT SHOULD, BUTT %s THICKER", band.text, band.text);
}

static const char *offset_name(int offset)
{
    static const char *const names[] = { "G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3" };

    return names[offset - 1];
}

/* The blanks of a load, each as it was measured. */
static void write_load(struct program *program)
{
    for (int part = 0; part < program->job->parts; part++) {
        const struct tw_job *own = program->blanks[part].job;

        tw_writer_comment(&program->writer, "PART %d - %s - RICASSO %s, BUTT %s%s", part + 1,
                          offset_name(program->job->fixture.stations[part].work_offset),
                          tw_program_length(program, own->taper.ricasso_mm, 3).text,
                          tw_program_length(program, tw_taper_stated_mm(own, own->taper.length_mm), 3).text,
                          own->straight ? " - SURVEYED" : "");
    }
    tw_writer_comment(&program->writer, "FOR THESE BLANKS ON THESE STATIONS ONLY - PACK EACH AS IT LIES");
}

/* Thicknesses are those of the tang once that is off. */
static void write_allowance(struct program *program)
{
    const struct tw_job *job = program->job;
    double allowance_mm = job->finish.allowance_mm;

    if (allowance_mm > 0.0)
        tw_writer_comment(&program->writer, "HAND FINISHING %s A FACE - GROUND FROM %s BEHIND THE START",
                          tw_program_length(program, allowance_mm, 3).text,
                          tw_program_length(program, allowance_mm / program->setup->face.slope, 1).text);
}

/* What lies on the table. */
static void write_parts(struct program *program)
{
    const struct tw_taper *taper = &program->job->taper;

    if (program->blanks) {
        write_load(program);
        return;
    }
    tw_writer_comment(&program->writer, "RICASSO %s, BUTT %s OVER %s",
                      tw_program_length(program, taper->ricasso_mm, 3).text,
                      tw_program_length(program, tw_taper_stated_mm(program->job, taper->length_mm), 3).text,
                      tw_program_length(program, taper->length_mm, 3).text);
    write_allowance(program);
    write_blanks(program);
}

/* A bar of a fixture, ground on one face, lies on the bare plate. */
static bool lies_on_no_pad(const struct tw_job *job)
{
    bool pad = false;

    for (size_t i = 0; i < job->fixture.keep_out_count; i++)
        pad = pad || job->fixture.keep_outs[i].kind == TW_KEEP_OUT_PAD;
    return job->one_face && !pad && job->taper.zero == TW_ZERO_PAD;
}

/* Where zero is. On a ricasso that lies tilted it matters where it is touched off. */
static void write_zero(struct program *program)
{
    const struct tw_machine *machine = &program->job->machine;
    char along_sign = machine->along.sign < 0 ? '-' : '+', up_sign = machine->up.sign < 0 ? '-' : '+';
    struct tw_writer *writer = &program->writer;

    if (lies_on_no_pad(program->job)) {
        tw_writer_comment(writer, "ZERO UNDER THE PART AT THE TAPER START, %c%c TO THE BUTT, %c%c UP", along_sign,
                          machine->along.letter, up_sign, machine->up.letter);
        tw_writer_comment(writer, "OF A BAR - AT ITS THICK END, ON THE PLATE OR TABLE THAT IT LIES ON");
        return;
    }
    if (program->job->taper.zero == TW_ZERO_PAD) {
        tw_writer_comment(writer, "ZERO ON THE DATUM PAD AT THE TAPER START, %c%c TO THE BUTT, %c%c UP", along_sign,
                          machine->along.letter, up_sign, machine->up.letter);
        return;
    }
    tw_writer_comment(writer, "ZERO ON THE RICASSO AT THE TAPER START, %c%c TO THE BUTT, %c%c UP", along_sign,
                      machine->along.letter, up_sign, machine->up.letter);
    tw_writer_comment(writer, "TOUCH OFF %c ON EVERY BLANK, UPPER FACE OF THE RICASSO AT %c %s", machine->up.letter,
                      machine->along.letter,
                      tw_program_length(program, machine->along.sign * program->setup->face.start_mm, 3).text);
}

/* Heights that were corrected by what finished parts measured. */
static void write_corrections(struct program *program)
{
    const struct tw_job *job = program->job;

    for (int part = 0; part < job->parts; part++) {
        double lower_mm = tw_program_lower_mm(program, part);

        if (lower_mm != 0.0)
            tw_writer_comment(&program->writer, "PART %d - HEIGHTS %s %s, AS GAUGED", part + 1,
                              tw_program_length(program, fabs(lower_mm), 4).text, lower_mm > 0.0 ? "LOWER" : "HIGHER");
    }
}

static void write_wheel(struct program *program, const struct tw_wheel *wheel)
{
    bool inches = program->job->machine.dialect.inch;
    double speed_mm_per_s = wheel->operating_speed_mm_per_s;

    tw_writer_comment(&program->writer,
                      inches ? "WHEEL %s - DIAMETER %s - OPERATING SPEED %.0f FT/MIN"
                             : "WHEEL %s - DIAMETER %s - OPERATING SPEED %.1f M/S",
                      wheel->name, tw_program_length(program, wheel->diameter_mm, 3).text,
                      inches ? 60.0 * speed_mm_per_s / (12.0 * TW_MM_PER_INCH) : speed_mm_per_s / 1000.0);
}

/* The heat was reckoned with this state; the wheel at the machine may be in another. */
static void write_rim(struct program *program, const struct tw_wheel *wheel)
{
    double lean = tw_plan_lean(program->job, program->setup);
    double band_mm = tw_cup_contact_mm(wheel, lean, tw_setup_deepest_mm(program->setup));

    if (wheel->kind != TW_WHEEL_CUP)
        return;
    if (wheel->rim_state == TW_RIM_FRESH)
        tw_writer_comment(&program->writer, "RIM FRESH - ITS EDGE CUTS");
    else
        tw_writer_comment(&program->writer, "RIM WORN IN, %s OF IT CUT - A FRESH OR DRESSED RIM RUNS HOTTER",
                          tw_program_length(program, band_mm, 2).text);
}

/* What is in the programs cannot tell it, so the head does: to whoever runs them, and to the dry-run. */
static void write_dressing(struct program *program)
{
    struct tw_writer *writer = &program->writer;

    if (!program->dresses || program->lift_mm > 0.0)
        return;
    tw_writer_comment(writer, "DRESS THE WHEEL BEFORE - IT HAS TAKEN OFF UP TO %s SINCE IT WAS DRESSED",
                      tw_program_volume(program, program->begins_mm3).text);
    tw_writer_comment(writer, "TOUCH IT OFF BEFORE AND AFTER - THE %c OF EVERY WORK OFFSET IN USE CHANGES BY THAT",
                      program->job->machine.up.letter);
}

void tw_program_write_head(struct program *program)
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
        tw_writer_comment(writer, "LIFTED BY %s - CUTS AIR ONLY", tw_program_length(program, program->lift_mm, 4).text);
    tw_writer_comment(writer, "MACHINE %s", job->machine.name);
    write_wheel(program, wheel);
    write_rim(program, wheel);
    write_dressing(program);
    tw_writer_comment(writer, "STEEL %s - COOLANT %s - FIXTURE %s", job->steel.name, job->coolant.name,
                      job->fixture.name);
    write_parts(program);
    if (face->mount == TW_MOUNT_TILTED)
        tw_writer_comment(writer, "TILTED MOUNT - BUTT END RAISED %s OVER %s",
                          tw_program_length(program, tw_face_rise_mm(face, job->fixture.sine_bar_mm), 4).text,
                          tw_program_length(program, job->fixture.sine_bar_mm, 1).text);
    else
        tw_writer_comment(writer, "LEVEL MOUNT");
    if (program->setup->scope == TW_SCOPE_RELIEF)
        tw_writer_comment(writer, "RELIEF %s DEEP, LAND %s, BOSSES %s",
                          tw_program_length(program, job->relief.depth_mm, 3).text,
                          tw_program_length(program, job->relief.land_mm, 3).text,
                          tw_program_length(program, job->relief.boss_mm, 3).text);
    if (job->straight)
        tw_writer_comment(writer, "FOR THE SURVEYED BLANK ONLY - PACK IT AS IT LIES");
    write_zero(program);
    write_corrections(program);
    write_across(program);
    tw_writer_comment(writer, "PROGRAMMED POINT - %s",
                      wheel->kind == TW_WHEEL_CUP ? "CENTRE OF THE RIM FACE" : "LOWEST POINT AT MID-WIDTH");
    tw_writer_comment(writer, "%d PASSES, %.1f MIN", program->passes, program->cycle_s / 60.0);
    write_hottest(program);
    write_limits(program);
    write_coolant(program);
    for (size_t i = 0; i < sizeof cautions / sizeof *cautions; i++)
        tw_writer_comment(writer, "%s", cautions[i]);
}
