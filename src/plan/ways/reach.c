/* reach.c - does every move stay within the machine's travel? */
#include "plan/ways/reach.h"

#include "plan/ways/stations.h"

#include <math.h>

struct span {
    double low_mm, high_mm;
};

static void widen(struct span *span, double value_mm)
{
    span->low_mm = fmin(span->low_mm, value_mm);
    span->high_mm = fmax(span->high_mm, value_mm);
}

static enum tw_status check_axis(const struct tw_job *job, const struct tw_setup_plan *setup, int part,
                                 const struct tw_axis *axis, double origin_mm, struct span span,
                                 struct tw_findings *findings)
{
    struct tw_place at = { .file = job->path };
    double a = origin_mm + axis->sign * span.low_mm, b = origin_mm + axis->sign * span.high_mm;
    double low_mm = fmin(a, b), high_mm = fmax(a, b), far_mm;

    if (low_mm >= axis->travel_min_mm && high_mm <= axis->travel_max_mm)
        return TW_OK;
    far_mm = high_mm > axis->travel_max_mm ? high_mm : low_mm;
    return tw_fail(
        findings, TW_NO_PLAN, at,
        "side %s, part %d: the machine's %c would go to %.3f mm, past its travel of %.3f to %.3f mm; move the "
        "fixture (its station's work offset), lower travel.clear_height or take a machine with more travel",
        tw_side_letter(setup->face.side), part + 1, axis->letter, far_mm, axis->travel_min_mm, axis->travel_max_mm);
}

enum tw_status tw_reach_check(const struct tw_job *job, const struct tw_setup_plan *setup, struct tw_findings *findings)
{
    const struct tw_machine *machine = &job->machine;
    struct span x = { HUGE_VAL, -HUGE_VAL }, y = x, z = x;
    enum tw_status worst = TW_OK;

    for (size_t i = 0; i < setup->move_count; i++) {
        widen(&x, setup->moves[i].to.x_mm);
        widen(&y, setup->moves[i].to.y_mm);
        widen(&z, setup->moves[i].to.z_mm);
    }
    for (int part = 0; part < job->parts; part++) {
        const struct tw_station *station = &job->fixture.stations[part];
        struct span up = z;
        enum tw_status status;

        widen(&up, tw_plan_leave_z_mm(job, setup, tw_plan_stay(setup, 0), part,
                                      tw_stations_next(job, part, setup->rounds > 1)));
        if (job->taper.zero == TW_ZERO_RICASSO) /* planned for the thinnest blank; on the thickest all lies higher */
            widen(&up, up.high_mm + 2.0 * job->taper.band_mm);
        status = check_axis(job, setup, part, &machine->along, station->along_mm, x, findings);
        worst = worst == TW_OK ? status : worst;
        status = check_axis(job, setup, part, &machine->across, station->across_mm, y, findings);
        worst = worst == TW_OK ? status : worst;
        status = check_axis(job, setup, part, &machine->up, station->up_mm, up, findings);
        worst = worst == TW_OK ? status : worst;
    }
    return worst;
}

double tw_plan_room_above_mm(const struct tw_job *job, const struct tw_plan *plan)
{
    const struct tw_axis *axis = &job->machine.up;
    double room_mm = HUGE_VAL;

    for (size_t i = 0; i < plan->setup_count; i++) {
        const struct tw_setup_plan *setup = &plan->setups[i];
        struct span z = { HUGE_VAL, -HUGE_VAL };

        for (size_t k = 0; k < setup->move_count; k++)
            widen(&z, setup->moves[k].to.z_mm);
        for (int part = 0; part < job->parts; part++) {
            double up_mm = job->fixture.stations[part].up_mm;
            double high_mm = fmax(z.high_mm, tw_plan_leave_z_mm(job, setup, tw_plan_stay(setup, 0), part,
                                                                tw_stations_next(job, part, setup->rounds > 1)));

            room_mm = fmin(room_mm, axis->sign > 0 ? axis->travel_max_mm - (up_mm + high_mm)
                                                   : up_mm - high_mm - axis->travel_min_mm);
        }
    }
    return room_mm;
}
