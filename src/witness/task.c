/* task.c - what one program of the job finds, and what stands about the part. */
#include "witness/task.h"

#include <math.h>

#define ASSUMED_LENGTH_MM 300.0
#define ASSUMED_BESIDE_MM 60.0
#define CONTACT_MM        4.0

bool tw_witness_hollows(const struct tw_job *job, enum tw_side side)
{
    enum tw_relief_sides only = side == TW_SIDE_A ? TW_RELIEF_A : TW_RELIEF_B;

    return job->relief.depth_mm > 0.0 && (job->relief.sides == TW_RELIEF_BOTH || job->relief.sides == only);
}

const struct tw_wheel *tw_witness_wheel(const struct tw_job *job, enum tw_scope scope)
{
    bool own = scope == TW_SCOPE_RELIEF && job->relief_wheel.diameter_mm > 0.0;

    return own ? &job->relief_wheel : &job->wheel;
}

struct tw_job tw_witness_task(const struct tw_job *job, enum tw_scope scope)
{
    struct tw_job task = *job;

    task.wheel = *tw_witness_wheel(job, scope);
    task.task.scope = scope;
    if (job->task.below_hollowed)
        task.task.hollowed_mm += job->relief.depth_mm;
    return task;
}

struct tw_job tw_witness_blank(const struct tw_job *job, double thicker_mm)
{
    struct tw_job blank = *job;

    blank.task.thicker_mm = thicker_mm;
    return blank;
}

struct tw_job tw_witness_high_blank(const struct tw_job *job, double thicker_mm)
{
    struct tw_job blank = tw_witness_blank(job, thicker_mm);

    blank.task.stands_high = true;
    return blank;
}

struct tw_job tw_witness_part(const struct tw_job *job, int part)
{
    struct tw_job own = *job;
    double thicker_mm;

    if (job->blank_count == 0)
        return own;
    thicker_mm = job->blanks[part].thickness_mm - job->taper.ricasso_mm;
    own.blank_count = 0;
    if (job->heights == TW_HEIGHTS_BY_BLANK) {
        own.taper.ricasso_mm += thicker_mm;
        own.taper.butt_mm += job->mount == TW_MOUNT_TILTED ? thicker_mm : 0.0;
        own.survey = job->blanks[part].survey;
    } else if (job->task.thicker_mm == 0.0) {
        own.task.thicker_mm = thicker_mm;
    }
    return own;
}

double tw_witness_hardest_mm(const struct tw_job *job)
{
    return job->taper.zero == TW_ZERO_RICASSO ? -job->taper.band_mm : job->taper.band_mm;
}

bool tw_witness_stands(const struct tw_keep_out *keep_out, enum tw_side side)
{
    return keep_out->sides == TW_IN_PLACE_BOTH ||
           keep_out->sides == (side == TW_SIDE_A ? TW_IN_PLACE_A : TW_IN_PLACE_B);
}

bool tw_witness_assumes_blade(const struct tw_job *job)
{
    return job->part.blade.outer.count == 0;
}

enum tw_status tw_witness_blade(const struct tw_witness_face *face, struct tw_outline *out,
                                struct tw_findings *findings)
{
    const struct tw_job *job = face->job;
    double length_mm = job->blade.length_mm > 0.0 ? job->blade.length_mm : ASSUMED_LENGTH_MM;
    double low_mm = HUGE_VAL, high_mm = -HUGE_VAL;

    for (size_t i = 0; i < job->part.tang.outer.count; i++) {
        low_mm = fmin(low_mm, job->part.tang.outer.points[i].y_mm - ASSUMED_BESIDE_MM);
        high_mm = fmax(high_mm, job->part.tang.outer.points[i].y_mm + ASSUMED_BESIDE_MM);
    }
    struct tw_point corners[] = { { -length_mm, low_mm }, { 0.0, low_mm }, { 0.0, high_mm }, { -length_mm, high_mm } };
    struct tw_outline assumed = { .outer = { corners, sizeof corners / sizeof *corners } };

    return tw_witness_outline(face, tw_witness_assumes_blade(job) ? &assumed : &job->part.blade, out, findings);
}

bool tw_witness_ahead(const struct tw_witness_face *face, struct tw_point corners[4])
{
    const struct tw_wheel *wheel = &face->job->wheel;
    const struct tw_ring *tang = &face->job->part.tang.outer;
    double wide_mm = wheel->kind == TW_WHEEL_DISC ? wheel->width_mm : wheel->diameter_mm;
    double beside_mm = fmin(wide_mm / 2.0, ASSUMED_BESIDE_MM), low_mm = HUGE_VAL, high_mm = -HUGE_VAL;
    double first_mm = tw_witness_part_x_mm(face, tw_witness_first_mm(face)), front_mm = first_mm - CONTACT_MM;

    for (size_t i = 0; i < tang->count; i++) {
        low_mm = fmin(low_mm, tang->points[i].y_mm - beside_mm);
        high_mm = fmax(high_mm, tang->points[i].y_mm + beside_mm);
    }
    corners[0] = (struct tw_point){ front_mm, low_mm };
    corners[1] = (struct tw_point){ 0.0, low_mm };
    corners[2] = (struct tw_point){ 0.0, high_mm };
    corners[3] = (struct tw_point){ front_mm, high_mm };
    return tw_witness_assumes_blade(face->job) && first_mm < 0.0;
}

double tw_witness_floor_mm(const struct tw_job *job, int part)
{
    const struct tw_station *own = &job->fixture.stations[part], *stations = job->fixture.stations;
    double lowest_mm = HUGE_VAL;

    for (int i = 0; i < job->parts; i++)
        lowest_mm = fmin(lowest_mm, job->machine.up.sign * (stations[i].up_mm - own->up_mm));
    return lowest_mm;
}
