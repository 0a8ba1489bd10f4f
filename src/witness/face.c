/* face.c - the finished face and the blank over it. */
#include "witness/face.h"

#include "witness/survey.h"

#include <math.h>
#include <stdlib.h>

/* ---- how the part lies ---- */

/* From part x and height over the pad, as in the level mount, to the setup frame: turned about the y axis. */
static void lay(const struct tw_witness_face *face, double part_x_mm, double up_mm, double out_mm[2])
{
    double c = cos(face->tilt_rad), s = sin(face->tilt_rad);

    out_mm[0] = part_x_mm * c - up_mm * s;
    out_mm[1] = part_x_mm * s + up_mm * c;
}

/* z at setup x on the line through two such places. */
static double on_line_mm(const double a[2], const double b[2], double x_mm)
{
    return a[1] + (b[1] - a[1]) * (x_mm - a[0]) / (b[0] - a[0]);
}

static void set_target(struct tw_witness_face *face)
{
    const struct tw_taper *taper = &face->job->taper;
    double start[2], butt[2], touched_mm, slope;

    lay(face, 0.0, taper->ricasso_mm, start);
    lay(face, taper->length_mm, taper->ricasso_mm - face->slope * taper->length_mm, butt);
    face->start_mm = start[0];
    face->fall = (start[1] - butt[1]) / (butt[0] - start[0]);
    face->z_mm = start[1] + face->fall * start[0] + face->job->finish.allowance_mm;
    if (taper->zero == TW_ZERO_RICASSO) {
        touched_mm = tw_witness_flat_top_mm(face, &slope);
        touched_mm += slope * face->start_mm;
        face->zero_mm = touched_mm;
        face->z_mm += touched_mm - start[1];
    }
}

struct tw_witness_face tw_witness_face(const struct tw_job *job, enum tw_side side)
{
    const struct tw_taper *taper = &job->taper;
    struct tw_witness_face face = { .job = job,
                                    .side = side,
                                    .slope = (taper->ricasso_mm - taper->butt_mm) / (2.0 * taper->length_mm),
                                    .blank_mm = taper->ricasso_mm + job->task.thicker_mm,
                                    .surveyed = job->survey.count > 0 };

    if (face.surveyed) {
        double tilt = tw_witness_middle_tilt(job);

        face.ricasso = tw_witness_ricasso(job, side);
        face.slope += side == TW_SIDE_A ? -tilt : tilt;
    }
    if (job->mount == TW_MOUNT_TILTED)
        face.tilt_rad = atan(face.slope);
    set_target(&face);
    return face;
}

double tw_witness_target_mm(const struct tw_witness_face *face, double x_mm)
{
    return face->z_mm - face->fall * x_mm;
}

double tw_witness_half_mm(const struct tw_witness_face *face, double part_x_mm)
{
    return face->job->taper.ricasso_mm / 2.0 - face->slope * part_x_mm + face->job->finish.allowance_mm;
}

/* ---- the blank's top ---- */

double tw_witness_flat_top_mm(const struct tw_witness_face *face, double *slope)
{
    double a[2], b[2];

    lay(face, 0.0, face->blank_mm, a);
    lay(face, 1.0, face->blank_mm, b);
    *slope = (b[1] - a[1]) / (b[0] - a[0]);
    return a[1] - *slope * a[0];
}

static double flat_at_mm(const struct tw_witness_face *face, double x_mm)
{
    double slope, height_mm = tw_witness_flat_top_mm(face, &slope);

    return height_mm + slope * x_mm;
}

/* A straight stretch of a surveyed blank's top in the setup frame; the first begins at the taper start. */
struct stretch {
    struct tw_witness_corner end;
    double from[2], to[2];
};

static bool next_stretch(const struct tw_witness_face *face, struct stretch *stretch)
{
    double half_mm = face->job->taper.ricasso_mm / 2.0, thicker_mm = face->blank_mm - 2.0 * half_mm;

    if (!face->surveyed || !tw_witness_next_corner(face, &stretch->end))
        return false;
    stretch->from[0] = stretch->to[0];
    stretch->from[1] = stretch->to[1];
    lay(face, stretch->end.x_mm, half_mm + thicker_mm + stretch->end.height_mm, stretch->to);
    return true;
}

static bool first_stretch(const struct tw_witness_face *face, struct stretch *stretch)
{
    *stretch = (struct stretch){ 0 };
    lay(face, 0.0, face->blank_mm, stretch->to);
    return next_stretch(face, stretch);
}

double tw_witness_top_mm(const struct tw_witness_face *face, double x_mm)
{
    struct stretch stretch;

    if (!first_stretch(face, &stretch) || x_mm <= stretch.from[0])
        return flat_at_mm(face, x_mm);
    while (stretch.to[0] < x_mm && next_stretch(face, &stretch))
        ;
    return on_line_mm(stretch.from, stretch.to, x_mm);
}

static double over_mm(const struct tw_witness_face *face, double x_mm)
{
    return tw_witness_top_mm(face, x_mm) - tw_witness_target_mm(face, x_mm);
}

/* Where what stands `a` over the finished face at one x and `b` at another, in between evenly, stands 0 over it. */
static double meeting_mm(double a_x_mm, double a, double b_x_mm, double b)
{
    return a_x_mm - a * (b_x_mm - a_x_mm) / (b - a);
}

double tw_witness_first_mm(const struct tw_witness_face *face)
{
    double begin_mm = -HUGE_VAL, over = HUGE_VAL;
    struct stretch stretch;
    bool surveyed = first_stretch(face, &stretch);

    if (surveyed) {
        begin_mm = stretch.from[0];
        over = over_mm(face, begin_mm);
    }
    if (!surveyed || over >= 0.0)
        return meeting_mm(0.0, flat_at_mm(face, 0.0) - tw_witness_target_mm(face, 0.0), 1.0,
                          flat_at_mm(face, 1.0) - tw_witness_target_mm(face, 1.0));
    do {
        double next = over_mm(face, stretch.to[0]);

        if (next >= 0.0)
            return meeting_mm(stretch.from[0], over, stretch.to[0], next);
        over = next;
    } while (next_stretch(face, &stretch));
    begin_mm = over_mm(face, stretch.from[0]);
    return over > begin_mm ? meeting_mm(stretch.from[0], begin_mm, stretch.to[0], over) : HUGE_VAL;
}

double tw_witness_highest_mm(const struct tw_witness_face *face, double x_mm)
{
    double highest_mm = tw_witness_top_mm(face, x_mm);
    struct stretch stretch;

    for (bool more = first_stretch(face, &stretch); more && stretch.from[0] < x_mm; more = next_stretch(face, &stretch))
        highest_mm = fmax(highest_mm, fmax(stretch.from[1], stretch.to[0] < x_mm ? stretch.to[1] : -HUGE_VAL));
    return highest_mm;
}

double tw_witness_most_mm(const struct tw_witness_face *face, double x_mm)
{
    double most_mm = over_mm(face, x_mm);
    struct stretch stretch;

    for (bool more = first_stretch(face, &stretch); more && stretch.to[0] < x_mm; more = next_stretch(face, &stretch))
        most_mm = fmax(most_mm, over_mm(face, stretch.to[0]));
    return most_mm;
}

/* ---- the outline on its face ---- */

struct tw_point tw_witness_place(const struct tw_witness_face *face, struct tw_point part)
{
    double up_mm = face->job->taper.ricasso_mm - face->slope * fmax(0.0, part.x_mm), at[2];

    lay(face, part.x_mm, up_mm, at);
    return (struct tw_point){ at[0], face->side == TW_SIDE_B ? -part.y_mm : part.y_mm };
}

/* Along the finished face, which begins at the taper start: lengths stretch by 1/cos there. */
double tw_witness_part_x_mm(const struct tw_witness_face *face, double x_mm)
{
    return (x_mm - face->start_mm) * cos(face->tilt_rad);
}

/* Mirrored rings are told the other way round, so that they go on turning as they did. */
static enum tw_status place_ring(const struct tw_witness_face *face, const struct tw_ring *ring, struct tw_ring *out,
                                 struct tw_findings *findings)
{
    out->points = malloc((ring->count + 1) * sizeof *out->points);
    if (!out->points)
        return tw_no_memory(findings);
    out->count = ring->count;
    for (size_t i = 0; i < ring->count; i++)
        out->points[face->side == TW_SIDE_B ? ring->count - 1 - i : i] = tw_witness_place(face, ring->points[i]);
    return TW_OK;
}

enum tw_status tw_witness_outline(const struct tw_witness_face *face, const struct tw_outline *part,
                                  struct tw_outline *out, struct tw_findings *findings)
{
    enum tw_status status;

    *out = (struct tw_outline){ .holes = calloc(part->hole_count + 1, sizeof *out->holes) };
    status = out->holes ? place_ring(face, &part->outer, &out->outer, findings) : tw_no_memory(findings);
    for (; status == TW_OK && out->hole_count < part->hole_count; out->hole_count++)
        status = place_ring(face, &part->holes[out->hole_count], &out->holes[out->hole_count], findings);
    if (status != TW_OK)
        tw_outline_free(out);
    return status;
}
