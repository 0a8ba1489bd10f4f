/* way_remarks.c - see way_remarks.h. */
#include "verdict/way_remarks.h"

#include "verdict/ahead.h"
#include "verdict/beside.h"
#include "verdict/remarks.h"

#include <math.h>

/* A wheel that turns on one place so long burns it or wears a hollow. */
#define STANDING_S 1.0
/* Slower than this a wheel in contact rubs more than it cuts. */
#define SLOW_MM_PER_S 0.5

/* No tang takes so long to cool that a shop would wait for it. */
#define LONG_WAIT_S 900.0
#define SLANT_MM    0.01

enum tw_status tw_way_stands(struct tw_proving *proving, const struct tw_step *step)
{
    double at_mm[3];
    struct tw_touch touch;
    enum tw_status status;

    if (step->dwell_s > LONG_WAIT_S)
        tw_proof_remark(proving->proof, TW_REMARK_WAITS, step->line,
                        "waits for %.0f s: is its P in the unit that the controller takes?", step->dwell_s);
    if (!proving->fixture || step->dwell_s < STANDING_S || step->spindle == TW_RS274_SPINDLE_OFF)
        return TW_OK;
    for (int i = 0; i < 3; i++)
        at_mm[i] = step->to_mm[i] - proving->origin_mm[i];
    status = tw_beside_stock(proving, at_mm, at_mm, &touch);
    if (touch.depth_mm > 0.0)
        tw_proof_remark(proving->proof, TW_REMARK_STANDS, step->line,
                        "the turning wheel stands on the steel for %.3g s", step->dwell_s);
    return status;
}

static enum tw_status remark_slow(struct tw_proving *proving, const struct tw_step *step, const double from_mm[3],
                                  const double to_mm[3])
{
    struct tw_touch touch;
    enum tw_status status;

    if (!proving->fixture || step->kind != TW_STEP_FEED || step->feed_mm_per_s >= SLOW_MM_PER_S ||
        (from_mm[0] == to_mm[0] && from_mm[1] == to_mm[1]))
        return TW_OK;
    status = tw_beside_stock(proving, from_mm, to_mm, &touch);
    if (touch.depth_mm > 0.0)
        tw_proof_remark(proving->proof, TW_REMARK_RUBS, step->line,
                        "fed over the steel at %.3g mm/s; below %.3g mm/s a wheel rubs more than it cuts",
                        step->feed_mm_per_s, SLOW_MM_PER_S);
    return status;
}

/* How far beyond the tang the programmed point has business: run-outs, and for a cup its whole rim. */
static double business_mm(const struct tw_job *job, int axis)
{
    const struct tw_wheel *wheel = &job->wheel;

    if (wheel->kind == TW_WHEEL_CUP)
        return job->travel.overtravel_mm + wheel->diameter_mm;
    return job->travel.overtravel_mm +
           (axis == 0 ? sqrt(wheel->diameter_mm * job->taper.ricasso_mm) : wheel->width_mm + 1.0);
}

/* By how much a place, in the trace's frame, lies beyond that ahead of each part, or on any side of it. */
static bool is_astray(const struct tw_proving *proving, const double place_mm[3], bool *ahead)
{
    const struct tw_job *job = proving->job;
    const struct tw_field *fine = &proving->workpiece->fine;
    double low_mm[2] = { fine->x_mm + TW_WORKPIECE_BLADE_MM, fine->y_mm };
    double high_mm[2] = { fine->x_mm + fine->columns * fine->cell_mm, fine->y_mm + fine->rows * fine->cell_mm };
    bool astray = true;

    for (int part = 0; part < job->parts; part++) {
        double origin_mm[3];
        bool near = true;

        tw_trace_origin(&job->machine, &job->fixture.stations[part], origin_mm);
        for (int k = 0; k < 2; k++) {
            double at_mm = place_mm[k] - origin_mm[k], more_mm = business_mm(job, k);

            near &= at_mm >= low_mm[k] - more_mm && at_mm <= high_mm[k] + more_mm;
        }
        *ahead = place_mm[0] - origin_mm[0] < low_mm[0] - business_mm(job, 0);
        astray &= !near;
    }
    return astray;
}

static void remark_way(struct tw_proving *proving, const struct tw_step *step)
{
    bool ahead = false;

    if (step->kind != TW_STEP_FEED || proving->part != 1 || !proving->fixture ||
        !is_astray(proving, step->to_mm, &ahead))
        return;
    if (ahead)
        tw_proof_remark(proving->proof, TW_REMARK_OVER_BLADE, step->line,
                        "fed over the blade, farther ahead of the taper start than a run-out needs");
    else
        tw_proof_remark(proving->proof, TW_REMARK_ASTRAY, step->line, "fed where nothing is to be ground");
}

static void remark_ahead(struct tw_proving *proving, const struct tw_step *step, const double from_mm[3],
                         const double to_mm[3])
{
    struct tw_ahead ahead;

    if (step->kind == TW_STEP_FEED && proving->fixture &&
        tw_ahead_is_low(proving->job, proving->workpiece, from_mm, to_mm, proving->clearance_mm, &ahead))
        tw_proof_remark(
            proving->proof, TW_REMARK_LOW_OVER_BLADE, step->line,
            "fed %.3g mm over the blade, %.3g mm ahead of the taper start: nearer than %.3g mm, and farther "
            "than a run-out needs",
            ahead.gap_mm, ahead.ahead_mm, proving->clearance_mm);
}

/* It is proved as a straight line, and many controllers let each axis go as fast as it can, so that the wheel is down before it is
 * there. */
static void remark_slanting(struct tw_proving *proving, const struct tw_step *step, const double from_mm[3],
                            const double to_mm[3])
{
    if (step->kind == TW_STEP_RAPID && proving->fixture && to_mm[2] < from_mm[2] - SLANT_MM &&
        hypot(to_mm[0] - from_mm[0], to_mm[1] - from_mm[1]) > SLANT_MM)
        tw_proof_remark(
            proving->proof, TW_REMARK_SLANTING, step->line,
            "a rapid goes down by %.3g mm and aside at once; it is proved as a straight line, and on many controllers "
            "each axis goes as fast as it can: go aside first, then down",
            from_mm[2] - to_mm[2]);
}

enum tw_status tw_way_feeds(struct tw_proving *proving, const struct tw_step *step, const double from_mm[3],
                            const double to_mm[3])
{
    remark_way(proving, step);
    remark_slanting(proving, step, from_mm, to_mm);
    remark_ahead(proving, step, from_mm, to_mm);
    return remark_slow(proving, step, from_mm, to_mm);
}
