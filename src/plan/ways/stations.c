/* stations.c - from one part of the fixture to the next. */
#include "plan/ways/stations.h"

#include "tangwright/motion.h"

#include <math.h>

#define SPIN_DRY_S 10.0

double tw_plan_spin_dry_s(const struct tw_job *job)
{
    return job->coolant.kind == TW_COOLANT_DRY ? 0.0 : SPIN_DRY_S;
}

struct tw_stay tw_plan_stay(const struct tw_setup_plan *setup, size_t first)
{
    struct tw_stay stay = { first, first };

    while (stay.last + 1 < setup->move_count && !setup->moves[stay.last + 1].enters)
        stay.last++;
    return stay;
}

int tw_stations_next(const struct tw_job *job, int part, bool more_rounds)
{
    if (part + 1 < job->parts)
        return part + 1;
    return more_rounds ? 0 : -1;
}

/* How much higher the one part's station is than the other's. */
static double rise_mm(const struct tw_job *job, int part, int next)
{
    const struct tw_station *station = job->fixture.stations;

    return job->machine.up.sign * (station[next].up_mm - station[part].up_mm);
}

/* The stay that follows at the next part: this one again, or the first part's next. */
static struct tw_stay stay_after(const struct tw_setup_plan *setup, struct tw_stay stay, int part, int next)
{
    return next > part || stay.last + 1 >= setup->move_count ? stay : tw_plan_stay(setup, stay.last + 1);
}

double tw_plan_leave_z_mm(const struct tw_job *job, const struct tw_setup_plan *setup, struct tw_stay stay, int part,
                          int next)
{
    /* From a thinner blank to a thicker one, z zero lies higher by what they differ. */
    double uneven_mm = job->taper.zero == TW_ZERO_RICASSO ? 2.0 * job->taper.band_mm : 0.0;
    double leaves_mm = setup->moves[stay.last].to.z_mm;

    if (next < 0)
        return leaves_mm;
    return fmax(leaves_mm,
                setup->moves[stay_after(setup, stay, part, next).first].to.z_mm + rise_mm(job, part, next) + uneven_mm);
}

static double rapid_up_s(const struct tw_job *job, double way_mm)
{
    return tw_motion_rapid_time_s(&job->machine, (double[3]){ 0.0, 0.0, way_mm });
}

/* How far move `index` goes straight up or down at rapid; 0 if it is another kind of move. */
static double upright_mm(const struct tw_setup_plan *setup, size_t index)
{
    const struct tw_move *move = &setup->moves[index], *before = move - 1;

    if (move->kind != TW_MOVE_RAPID || move->to.x_mm != before->to.x_mm || move->to.y_mm != before->to.y_mm)
        return 0.0;
    return fabs(move->to.z_mm - before->to.z_mm);
}

/* So much longer the straight way up, or down, of move `index` takes when it is so much farther. */
static double farther_s(const struct tw_job *job, const struct tw_setup_plan *setup, size_t index, double more_mm)
{
    double counted_mm = upright_mm(setup, index);

    return rapid_up_s(job, counted_mm + more_mm) - rapid_up_s(job, counted_mm);
}

/* From the end of a stay at `part` to over the start of one at `next`: up where that is higher, across, and down again. The
 * way up goes on where the last retract ends, and the way down on into the first approach, without a stop. */
static double change_s(const struct tw_job *job, const struct tw_setup_plan *setup, int part, int next,
                       struct tw_stay left, struct tw_stay entered)
{
    const struct tw_station *a = &job->fixture.stations[part], *b = &job->fixture.stations[next];
    const struct tw_place3 *first = &setup->moves[entered.first].to, *last = &setup->moves[left.last].to;
    double start_mm = first->z_mm + rise_mm(job, part, next), over_mm = fmax(last->z_mm, start_mm);
    double across[3] = { job->machine.along.sign * (b->along_mm - a->along_mm) + first->x_mm - last->x_mm,
                         job->machine.across.sign * (b->across_mm - a->across_mm) + first->y_mm - last->y_mm, 0.0 };

    return farther_s(job, setup, left.last, over_mm - last->z_mm) +
           farther_s(job, setup, entered.first + 1, over_mm - start_mm) + tw_motion_rapid_time_s(&job->machine, across);
}

double tw_stations_round_s(const struct tw_job *job, const struct tw_setup_plan *setup, struct tw_stay before,
                           struct tw_stay after)
{
    int last = job->parts - 1;
    double back_s = change_s(job, setup, last, 0, before, after), old_s = back_s, new_s = back_s;

    for (int part = 0; part < last; part++) {
        old_s += change_s(job, setup, part, part + 1, before, before);
        new_s += change_s(job, setup, part, part + 1, after, after);
    }
    return fmin(old_s, new_s);
}

void tw_stations_sum_up(const struct tw_job *job, struct tw_setup_plan *setup)
{
    struct tw_stay stay = tw_plan_stay(setup, 0);

    setup->rounds = 0;
    setup->between_s = 0.0;
    for (;;) {
        struct tw_stay next;

        setup->rounds++;
        for (int part = 0; part + 1 < job->parts; part++)
            setup->between_s += change_s(job, setup, part, part + 1, stay, stay);
        if (stay.last + 1 >= setup->move_count)
            return;
        next = tw_plan_stay(setup, stay.last + 1);
        setup->between_s += change_s(job, setup, job->parts - 1, 0, stay, next);
        stay = next;
    }
}
