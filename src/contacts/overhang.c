/* overhang.c - how far the tang hangs free behind what carries it, and how much it bends there. Model: contacts.h. */
#include "tangwright/contacts.h"

#include "geometry/ring.h"
#include "geometry/section.h"
#include "tangwright/warm.h"

#include <math.h>

#define STRIPS        400
#define EVERYWHERE_MM 1e6

/* The last x at which the keep-out lies under the tang; below 0: nowhere. */
static double carried_to_mm(const struct tw_job *job, enum tw_side side, const struct tw_keep_out *keep_out)
{
    struct tw_box box = tw_ring_box(&keep_out->plan);
    double last_mm = fmin(box.max_x_mm, tw_ring_box(&job->part.tang.outer).max_x_mm), step_mm = last_mm / STRIPS;
    double low_mm, high_mm;

    for (double x_mm = last_mm - step_mm / 2.0; x_mm > 0.0; x_mm -= step_mm)
        if (tw_warm_carrying_section(keep_out, side, x_mm, &low_mm, &high_mm) &&
            tw_section_mm(&job->part.tang, x_mm, low_mm, high_mm) > 0.0)
            return x_mm + step_mm / 2.0;
    return -1.0;
}

static double bends_mm_per_N(const struct tw_job *job, enum tw_side side, double from_mm, double end_mm)
{
    double step_mm = (end_mm - from_mm) / STRIPS, sum = 0.0;

    for (int i = 0; i < STRIPS; i++) {
        double x_mm = from_mm + (i + 0.5) * step_mm, thick_mm = tw_holding_thickness_mm(job, side, x_mm);
        double wide_mm = tw_section_mm(&job->part.tang, x_mm, -EVERYWHERE_MM, EVERYWHERE_MM);

        if (wide_mm > 0.0 && thick_mm > 0.0)
            sum += 12.0 * (end_mm - x_mm) * (end_mm - x_mm) * step_mm / (wide_mm * thick_mm * thick_mm * thick_mm);
    }
    return sum / TW_STEEL_N_PER_MM2;
}

struct tw_overhang tw_overhang_of(const struct tw_job *job, enum tw_side side)
{
    const struct tw_fixture *fixture = &job->fixture;
    double end_mm = tw_ring_box(&job->part.tang.outer).max_x_mm;
    struct tw_overhang out = { .from_mm = end_mm };

    if (!tw_warm_on_rests(job, side))
        return out;
    out.from_mm = 0.0;
    for (size_t i = 0; i < fixture->keep_out_count; i++)
        if (tw_warm_carries(&fixture->keep_outs[i], side))
            out.from_mm = fmax(out.from_mm, carried_to_mm(job, side, &fixture->keep_outs[i]));
    out.length_mm = fmax(0.0, end_mm - out.from_mm);
    if (out.length_mm > 0.0)
        out.mm_per_N = bends_mm_per_N(job, side, out.from_mm, end_mm);
    return out;
}
