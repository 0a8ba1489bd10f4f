/* first_touch.c - what a surveyed face may stand higher than its survey says, which the first pass would cut on top of its own depth. */
#include "tangwright/assess.h"

#include "base/numbers.h"
#include "base/units.h"

#include <math.h>

/* By so much a curve through three readings stands over the chords between them: f'' h^2 / 8, the sag of a parabola over a chord h long
 * (plane geometry). Below zero where the face is hollow. Heights count outwards. */
static double bulge_mm(const struct tw_gauge_point points[3], int side)
{
    double before_mm = points[1].x_mm - points[0].x_mm, after_mm = points[2].x_mm - points[1].x_mm;
    double rise = (points[1].height_mm[side] - points[0].height_mm[side]) / before_mm;
    double next = (points[2].height_mm[side] - points[1].height_mm[side]) / after_mm;
    double longer_mm = fmax(before_mm, after_mm);

    return (rise - next) * 2.0 / (before_mm + after_mm) * longer_mm * longer_mm / 8.0;
}

/* Besides what the indicator's step hides. */
static double higher_mm(const struct tw_job *job)
{
    const struct tw_straight *straight = job->straight;
    double most_mm = 0.0;

    for (int side = 0; side < 2; side++)
        for (size_t i = 2; i < straight->gauge_count; i++)
            if (straight->gauges[i].x_mm > 0.0)
                most_mm = fmax(most_mm, bulge_mm(&straight->gauges[i - 2], side));
    return most_mm + job->survey.resolution_mm;
}

void tw_first_touch_remark(const struct tw_job *job, struct tw_findings *findings)
{
    bool inches = job->machine.dialect.inch;
    double may_mm = job->straight ? higher_mm(job) : 0.0, step_mm = inches ? 2e-4 * TW_MM_PER_INCH : 0.005;
    double band_mm = step_mm * ceil(may_mm / step_mm - 1e-6);

    if (may_mm <= job->taper.band_mm + 1e-9)
        return;
    tw_remark(
        findings, (struct tw_place){ .file = job->path, .key = "taper.thickness_band" },
        "the surveyed faces may stand up to %s higher than read, by the indicator's step and by the bulge between two "
        "readings, and the first pass would take that on top of its own depth; write thickness_band = \"%s\"; to "
        "keep room for it, or read closer and finer",
        tw_length_both(may_mm, 3, inches).text, tw_length_text(band_mm, 3, inches).text);
}
