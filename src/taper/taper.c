/* taper.c - the wedge that comes off each face, and where it lies for the controller. */
#include "tangwright/taper.h"

#include "geometry/ring.h"

#include <math.h>
#include <stdlib.h>

static double slope_of(const struct tw_job *job)
{
    return (job->taper.ricasso_mm - job->taper.butt_mm) / (2.0 * job->taper.length_mm);
}

struct tw_face tw_face_of(const struct tw_job *job, enum tw_side side)
{
    double slope = slope_of(job);
    double ricasso_mm = job->taper.ricasso_mm;
    struct tw_face face = { .side = side, .mount = job->mount, .slope = slope, .allowance_mm = job->finish.allowance_mm };

    if (job->mount == TW_MOUNT_TILTED) {
        face.tilt_rad = atan(slope);
        face.height_mm = ricasso_mm * cos(face.tilt_rad) + face.allowance_mm;
        face.start_mm = -ricasso_mm * sin(face.tilt_rad);
        face.stretch = 1.0 / cos(face.tilt_rad);
    } else {
        face.height_mm = ricasso_mm + face.allowance_mm;
        face.fall = slope;
        face.stretch = 1.0;
    }
    return face;
}

double tw_face_height_mm(const struct tw_face *face, double x_mm)
{
    return face->height_mm - face->fall * x_mm;
}

double tw_face_stock_mm(const struct tw_face *face, double x_mm)
{
    /* Both mounts alike: the blank's top leaves the target plane at the angle atan(m). */
    return face->slope * (x_mm - face->start_mm) - face->allowance_mm;
}

double tw_face_reach_mm(const struct tw_face *face, double height_mm)
{
    return face->start_mm + (face->allowance_mm + height_mm) / face->slope;
}

static enum tw_status place_ring(const struct tw_face *face, const struct tw_ring *ring, struct tw_ring *out,
                                 struct tw_findings *findings)
{
    double across = face->side == TW_SIDE_B ? -1.0 : 1.0;

    out->points = malloc((ring->count ? ring->count : 1) * sizeof *out->points);
    if (!out->points)
        return tw_no_memory(findings);
    out->count = ring->count;
    for (size_t i = 0; i < ring->count; i++) {
        out->points[i].x_mm = ring->points[i].x_mm * face->stretch + face->start_mm;
        out->points[i].y_mm = across * ring->points[i].y_mm;
    }
    if (face->side == TW_SIDE_B)
        tw_ring_reverse(out); /* mirroring turned it round */
    return TW_OK;
}

enum tw_status tw_face_outline(const struct tw_face *face, const struct tw_outline *tang, struct tw_outline *out,
                               struct tw_findings *findings)
{
    enum tw_status status;

    *out = (struct tw_outline){ 0 };
    status = place_ring(face, &tang->outer, &out->outer, findings);
    if (status == TW_OK && tang->hole_count > 0) {
        out->holes = calloc(tang->hole_count, sizeof *out->holes);
        if (!out->holes)
            status = tw_no_memory(findings);
    }
    for (size_t i = 0; status == TW_OK && i < tang->hole_count; i++) {
        status = place_ring(face, &tang->holes[i], &out->holes[i], findings);
        if (status == TW_OK)
            out->hole_count++;
    }
    if (status != TW_OK)
        tw_outline_free(out);
    return status;
}

double tw_taper_thickness_mm(const struct tw_job *job, double x_mm)
{
    double removed_mm = fmax(0.0, slope_of(job) * x_mm - job->finish.allowance_mm);

    return job->taper.ricasso_mm - 2.0 * removed_mm;
}

double tw_tang_area_mm2(const struct tw_job *job)
{
    double area_mm2 = fabs(tw_ring_area_mm2(&job->part.tang.outer));

    for (size_t i = 0; i < job->part.tang.hole_count; i++)
        area_mm2 -= fabs(tw_ring_area_mm2(&job->part.tang.holes[i]));
    return area_mm2;
}

/* Integral of max(0, x - start) over the triangle-fan wedge between the ring's edge a-b and the line x = start:
 * the antiderivative of (x - start) in x, squared over two, integrated along the edge in y (Green's theorem). */
static double edge_moment_mm3(struct tw_point a, struct tw_point b, double start_mm)
{
    double u = a.x_mm - start_mm, v = b.x_mm - start_mm, dy = b.y_mm - a.y_mm;

    if (u <= 0.0 && v <= 0.0)
        return 0.0;
    if (u >= 0.0 && v >= 0.0)
        return dy * (u * u + u * v + v * v) / 6.0;
    /* The edge crosses the line: only the part beyond it counts. */
    return u > 0.0 ? dy * u / (u - v) * u * u / 6.0 : dy * v / (v - u) * v * v / 6.0;
}

static double ring_moment_mm3(const struct tw_ring *ring, double start_mm)
{
    double sum = 0.0;

    for (size_t i = 0; i < ring->count; i++)
        sum += edge_moment_mm3(ring->points[i], ring->points[(i + 1) % ring->count], start_mm);
    return fabs(sum);
}

double tw_taper_removed_mm3(const struct tw_job *job)
{
    double slope = slope_of(job);
    double start_mm = job->finish.allowance_mm / slope;
    double moment_mm3 = ring_moment_mm3(&job->part.tang.outer, start_mm);

    for (size_t i = 0; i < job->part.tang.hole_count; i++)
        moment_mm3 -= ring_moment_mm3(&job->part.tang.holes[i], start_mm);
    return slope * moment_mm3;
}

double tw_taper_rise_mm(const struct tw_job *job, double bar_mm)
{
    return bar_mm * sin(atan(slope_of(job)));
}

double tw_taper_packing_mm(const struct tw_job *job, enum tw_side side, double x_mm)
{
    if (side == TW_SIDE_A)
        return 0.0;
    return (job->taper.ricasso_mm - tw_taper_thickness_mm(job, x_mm)) / 2.0;
}
