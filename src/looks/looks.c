/* looks.c - thickness along the spine, and where its line breaks. */
#include "tangwright/looks.h"

#include "geometry/ring.h"
#include "tangwright/taper.h"

#include <math.h>
#include <stdlib.h>

#define EVERY_MM 10.0
#define SAME_MM  0.5 /* a place this near to the taper start was measured at it */
#define DEGREES  57.29577951308232

/* Whether the last measured place is the taper start itself. */
static bool measured_at_start(const struct tw_blade *blade)
{
    const struct tw_ring *distal = &blade->distal;

    return distal->count > 0 && distal->points[distal->count - 1].x_mm > blade->length_mm - SAME_MM;
}

/* Place and thickness `i` of the blade's line; the one past the measured is the ricasso at the taper start. */
static struct tw_point knot(const struct tw_job *job, size_t i)
{
    const struct tw_blade *blade = &job->blade;

    if (i >= blade->distal.count)
        return (struct tw_point){ blade->length_mm, job->taper.ricasso_mm };
    return blade->distal.points[i];
}

static size_t knot_count(const struct tw_job *job)
{
    return job->blade.distal.count + !measured_at_start(&job->blade);
}

static double blade_thickness_mm(const struct tw_job *job, double tip_mm)
{
    struct tw_point a = knot(job, 0), b = a;

    for (size_t i = 1; i < knot_count(job) && b.x_mm < tip_mm; i++) {
        a = b;
        b = knot(job, i);
    }
    if (b.x_mm <= a.x_mm || tip_mm >= b.x_mm)
        return b.y_mm;
    return a.y_mm + (b.y_mm - a.y_mm) * (tip_mm - a.x_mm) / (b.x_mm - a.x_mm);
}

static void add_point(const struct tw_job *job, double x_mm, struct tw_spine_view *out)
{
    double tip_mm = x_mm + job->blade.length_mm;

    out->points[out->point_count++] =
        (struct tw_spine_point){ x_mm, tip_mm,
                                 x_mm < 0.0 ? blade_thickness_mm(job, tip_mm) : tw_taper_thickness_mm(job, x_mm) };
}

static enum tw_status measure(const struct tw_job *job, double far_mm, struct tw_spine_view *out,
                              struct tw_findings *findings)
{
    double length_mm = job->blade.length_mm;
    double first_mm = job->blade.distal.count > 0 ? fmin(length_mm, job->blade.distal.points[0].x_mm) : length_mm;
    double step = ceil(first_mm / EVERY_MM - 1e-9);
    size_t most = (size_t)((length_mm + far_mm) / EVERY_MM) + 4;

    out->points = calloc(most, sizeof *out->points);
    if (!out->points)
        return tw_no_memory(findings);
    for (; step * EVERY_MM - length_mm < -1e-9; step++)
        add_point(job, step * EVERY_MM - length_mm, out);
    add_point(job, 0.0, out);
    for (step = floor(length_mm / EVERY_MM + 1e-9) + 1; step * EVERY_MM - length_mm < far_mm - 1e-9; step++)
        add_point(job, step * EVERY_MM - length_mm, out);
    add_point(job, far_mm, out);
    return TW_OK;
}

/* ---- breaks ---- */

static void add_break(enum tw_break_kind kind, double x_mm, double amount, double limit, struct tw_spine_view *out)
{
    if (amount > limit)
        out->breaks[out->break_count++] = (struct tw_flow_break){ kind, x_mm, amount, limit };
}

/* Slope of the thickness from knot i to the next; behind the last one that of the tang. */
static double slope_after(const struct tw_job *job, size_t i)
{
    struct tw_point a, b;

    if (i + 1 >= knot_count(job))
        return -(job->taper.ricasso_mm - tw_taper_stated_mm(job, job->taper.length_mm)) / job->taper.length_mm;
    a = knot(job, i), b = knot(job, i + 1);
    return (b.y_mm - a.y_mm) / (b.x_mm - a.x_mm);
}

static enum tw_status find_breaks(const struct tw_job *job, struct tw_spine_view *out, struct tw_findings *findings)
{
    const struct tw_blade *blade = &job->blade;
    size_t count = knot_count(job);

    if (blade->distal.count == 0)
        return TW_OK;
    out->breaks = calloc(count + 1, sizeof *out->breaks);
    if (!out->breaks)
        return tw_no_memory(findings);
    for (size_t i = 1; i < count; i++) {
        double x_mm = i + 1 < count ? knot(job, i).x_mm - blade->length_mm : 0.0;
        double bend_rad = fabs(atan(slope_after(job, i) / 2.0) - atan(slope_after(job, i - 1) / 2.0));

        if (x_mm >= -blade->length_mm / 2.0)
            add_break(TW_BREAK_KINK, x_mm, bend_rad, blade->kink_rad, out);
    }
    if (measured_at_start(blade))
        add_break(TW_BREAK_STEP, 0.0, fabs(knot(job, count - 1).y_mm - job->taper.ricasso_mm), blade->step_mm, out);
    return TW_OK;
}

enum tw_status tw_spine_view(const struct tw_job *job, struct tw_spine_view *out, struct tw_findings *findings)
{
    enum tw_status status;

    *out = (struct tw_spine_view){ 0 };
    status = measure(job, tw_ring_box(&job->part.tang.outer).max_x_mm, out, findings);
    if (status == TW_OK)
        status = find_breaks(job, out, findings);
    if (status != TW_OK)
        tw_spine_free(out);
    return status;
}

void tw_spine_remark(const struct tw_job *job, const struct tw_spine_view *view, struct tw_findings *findings)
{
    for (size_t i = 0; i < view->break_count; i++) {
        const struct tw_flow_break *b = &view->breaks[i];
        double tip_mm = b->x_mm + job->blade.length_mm;

        if (b->kind == TW_BREAK_STEP)
            tw_remark(findings, (struct tw_place){ .file = job->path, .key = "blade.distal" },
                      "the spine steps by %.3f mm at the taper start, %.1f mm behind the tip; above blade.step_limit, "
                      "%.6g mm, it shows: blend the two, or measure the ricasso again",
                      b->amount, tip_mm, b->limit);
        else
            tw_remark(
                findings, (struct tw_place){ .file = job->path, .key = "blade.distal" },
                "each face bends by %.2f deg at %.1f mm behind the tip; above blade.kink_limit, %.6g deg, the line "
                "of the spine looks broken: blend it there, or taper the tang less",
                b->amount * DEGREES, tip_mm, b->limit * DEGREES);
    }
}

void tw_spine_free(struct tw_spine_view *view)
{
    free(view->points);
    free(view->breaks);
    *view = (struct tw_spine_view){ 0 };
}

enum tw_status tw_looks_remark(const struct tw_job *job, struct tw_findings *findings)
{
    struct tw_spine_view view;
    enum tw_status status = tw_spine_view(job, &view, findings);

    if (status != TW_OK)
        return status;
    tw_spine_remark(job, &view, findings);
    tw_spine_free(&view);
    return TW_OK;
}
