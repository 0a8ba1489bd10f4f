/* roughed.c - see roughed.h. */
#include "tangwright/roughed.h"

#include "tangwright/correct.h"
#include "tangwright/plan.h"

#include <math.h>
#include <string.h>

/* So much at least must have come off a place for its reading to tell of the wheel. */
#define TOUCHED_MM 0.01

static double aim_mm(const struct tw_job *job, const struct tw_roughed_part *part, double x_mm)
{
    double thicker_mm = part->ricasso_mm - part->planned_mm;
    double finished_mm = part->planned_mm + (part->butt_mm - part->planned_mm) * x_mm / job->taper.length_mm;

    finished_mm += job->taper.zero == TW_ZERO_PAD ? -thicker_mm : thicker_mm;
    return finished_mm + 2.0 * tw_plan_finish_stock_mm(job);
}

static size_t part_of(const struct tw_gauging *reading, const struct tw_roughed_part *parts, size_t count)
{
    size_t i = 0;

    while (i < count && strcmp(parts[i].number, reading->part) != 0)
        i++;
    return i;
}

static enum tw_status check_touched(const struct tw_job *job, const struct tw_gaugings *readings,
                                    const struct tw_gauging *reading, const struct tw_roughed_part *part,
                                    struct tw_findings *findings)
{
    double slope = (part->planned_mm - part->butt_mm) / job->taper.length_mm;
    double over_mm = aim_mm(job, part, reading->x_mm) - (part->ricasso_mm - TOUCHED_MM);

    if (over_mm <= 0.0)
        return TW_OK;
    return tw_fail(findings, TW_BAD_INPUT, (struct tw_place){ .file = readings->path, .line = reading->line },
                   "x: at %.6g mm roughing leaves the blank as it is; measure part %s from %.0f mm on", reading->x_mm,
                   part->number, ceil(reading->x_mm + over_mm / slope));
}

static void judge(const struct tw_roughed_part *part, double scatter_mm, double gauge_mm,
                  struct tw_roughed_found *found)
{
    found->value_mm = part->before_mm;
    if (found->readings == 0)
        return;
    found->sure_mm = 2.0 * scatter_mm / sqrt((double)found->readings);
    found->corrected = fabs(found->off_mm) > fmax(gauge_mm, found->sure_mm);
    found->too_large = fabs(part->before_mm + found->off_mm) > 2.0 * TW_CORRECT_MOST_MM;
    if (found->corrected && !found->too_large)
        found->value_mm = part->before_mm + found->off_mm;
}

enum tw_status tw_roughed_weigh(const struct tw_job *job, const struct tw_gaugings *readings,
                                const struct tw_roughed_part *parts, size_t count, double gauge_mm,
                                struct tw_roughed_found *out, struct tw_findings *findings)
{
    double squares_mm2 = 0.0, degrees = 0.0;
    enum tw_status status = TW_OK;

    for (size_t i = 0; i < count; i++)
        out[i] = (struct tw_roughed_found){ 0 };
    for (size_t i = 0; i < readings->count; i++) {
        const struct tw_gauging *reading = &readings->items[i];
        size_t part = part_of(reading, parts, count);

        if (part == count)
            continue; /* whoever asks has said so */
        if (check_touched(job, readings, reading, &parts[part], findings) != TW_OK)
            status = TW_BAD_INPUT;
        out[part].readings++;
        out[part].off_mm += reading->thickness_mm - aim_mm(job, &parts[part], reading->x_mm);
    }
    for (size_t i = 0; i < count; i++)
        out[i].off_mm /= fmax(1.0, (double)out[i].readings);
    for (size_t i = 0; i < readings->count; i++) {
        const struct tw_gauging *reading = &readings->items[i];
        size_t part = part_of(reading, parts, count);

        if (part < count)
            squares_mm2 +=
                pow(reading->thickness_mm - aim_mm(job, &parts[part], reading->x_mm) - out[part].off_mm, 2.0);
    }
    for (size_t i = 0; i < count; i++)
        degrees += out[i].readings > 1 ? (double)out[i].readings - 1.0 : 0.0;
    for (size_t i = 0; i < count; i++)
        judge(&parts[i], degrees > 0.0 ? sqrt(squares_mm2 / degrees) : 0.0, gauge_mm, &out[i]);
    return status;
}
