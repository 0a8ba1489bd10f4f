/* heel_checks.c - whether the taper of the thickest blank begins on the blade's heel, which nobody wants ground.
 *
 * Where z counts from the pad a blank e thicker than stated starts its taper e/m ahead. What is planned and proved there is the
 * ricasso, as wide as the tang. */
#include "geometry/ring.h"
#include "geometry/section.h"
#include "input/input.h"
#include "tangwright/taper.h"

#include <math.h>

#define STEP_MM    0.25
#define BESIDE_MM  0.5   /* a bevel of the edge, a drawing's roughness */
#define NOTHING_MM 0.002 /* so little off a face is no grinding */

/* The most that a blank of this job is thicker than z counts from. */
static double thickest_mm(const struct tw_job *job)
{
    double most_mm = job->taper.band_mm;

    for (size_t i = 0; job->heights == TW_HEIGHTS_SHARED && i < job->blank_count; i++)
        most_mm = fmax(most_mm, job->blanks[i].thickness_mm - job->taper.ricasso_mm);
    return most_mm;
}

static bool is_beside(const struct tw_job *job, double x_mm)
{
    struct tw_box tang = tw_ring_box(&job->part.tang.outer);
    double low_mm, high_mm;

    return tw_section_range(&job->part.blade.outer, x_mm, &low_mm, &high_mm) &&
           (low_mm < tang.min_y_mm - BESIDE_MM || high_mm > tang.max_y_mm + BESIDE_MM);
}

/* How far ahead of the taper start the blade begins to stand out, no farther than asked. */
static double heel_mm(const struct tw_job *job, double most_mm)
{
    double heel_mm = 0.0;

    while (heel_mm < most_mm && !is_beside(job, -heel_mm - STEP_MM / 2.0))
        heel_mm += STEP_MM;
    return fmin(heel_mm, most_mm);
}

/* A band that nobody stated is as wide as the heel allows. */
static void narrow(struct tw_input *input, double fits_mm, double at_mm)
{
    struct tw_job *job = &input->draft->job;

    tw_remark(input->findings, tw_input_place(input, "taper.thickness_band"),
              "%.3g mm instead of %.3g mm, for a thicker blank's taper would begin on the heel, which stands out "
              "beside the tang from "
              "%.1f mm ahead of the taper start on; with height_zero = \"ricasso\" it never does",
              fits_mm, job->taper.band_mm, at_mm);
    job->taper.band_mm = fits_mm;
}

static void refuse(struct tw_input *input, double thick_mm, double slope, double at_mm, double fits_mm)
{
    tw_input_faultf(
        input, tw_input_place(input, "taper.thickness_band"),
        "on a blank %.3g mm thicker than ricasso_thickness the taper begins %.1f mm ahead of the taper start, and the "
        "blade stands out beside the tang from %.1f mm on: its heel would be ground; write height_zero = "
        "\"ricasso\"; so that every blank's taper begins where it should, or give a band of %.3f mm at the most",
        thick_mm, thick_mm / slope, at_mm, fits_mm);
}

void tw_heel_checks_run(struct tw_input *input)
{
    const struct tw_job *job = &input->draft->job;
    double slope = (job->taper.ricasso_mm - job->taper.butt_mm) / job->taper.length_mm / TW_SIDES_OF(job);
    double thick_mm = thickest_mm(job), ahead_mm = (thick_mm - job->finish.allowance_mm - NOTHING_MM) / slope;
    double at_mm, fits_mm;

    if (job->taper.zero != TW_ZERO_PAD || job->part.blade.outer.count == 0 || ahead_mm <= 0.0)
        return;
    at_mm = heel_mm(job, ahead_mm);
    fits_mm = 1e-3 * floor(1e3 * (at_mm * slope + job->finish.allowance_mm + job->wheel.max_infeed_mm));
    if (at_mm < ahead_mm && thick_mm <= fits_mm)
        tw_remark(input->findings, tw_input_place(input, "taper.thickness_band"),
                  "on the thickest blank the heel, which stands out beside the tang from %.1f mm ahead of the taper "
                  "start on, is "
                  "touched up to %.3f mm deep; with height_zero = \"ricasso\" it never is",
                  at_mm, slope * (ahead_mm - at_mm));
    else if (at_mm < ahead_mm && !tw_input_origin(input, "taper.thickness_band")->setting && job->blank_count == 0)
        narrow(input, fits_mm, at_mm);
    else if (at_mm < ahead_mm)
        refuse(input, thick_mm, slope, at_mm, fits_mm);
}
