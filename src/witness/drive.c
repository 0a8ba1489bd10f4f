/* drive.c - from rest to rest over many legs: squares of speeds, which grow evenly with the way. */
#include "witness/drive.h"

#include <math.h>
#include <stdlib.h>

/* Turns no larger than what this leaves of a cosine go straight on: ends are rounded to a program's decimals. */
#define STRAIGHT_ON 1e-9

/* A leg that has a length. */
struct stretch {
    struct tw_witness_leg *leg;
    double length_mm, way[3];
    double most2;          /* square of its highest speed */
    double per_mm;         /* by how much that square may change for each mm: twice the acceleration */
    double enter2, leave2; /* squares of the speeds at its ends */
};

static const struct tw_axis *axis_of(const struct tw_machine *machine, int k)
{
    return k == 0 ? &machine->along : k == 1 ? &machine->across : &machine->up;
}

static bool open_stretch(const struct tw_machine *machine, struct tw_witness_leg *leg, struct stretch *out)
{
    double most = leg->feed_mm_per_s > 0.0 ? leg->feed_mm_per_s : HUGE_VAL, acceleration = HUGE_VAL;

    *out = (struct stretch){ .leg = leg, .length_mm = hypot(hypot(leg->by_mm[0], leg->by_mm[1]), leg->by_mm[2]) };
    if (out->length_mm <= 0.0)
        return false;
    for (int k = 0; k < 3; k++) {
        double part = fabs(out->way[k] = leg->by_mm[k] / out->length_mm);

        if (part * most > axis_of(machine, k)->rapid_mm_per_s)
            most = axis_of(machine, k)->rapid_mm_per_s / part;
        if (part * acceleration > axis_of(machine, k)->acceleration_mm_per_s2)
            acceleration = axis_of(machine, k)->acceleration_mm_per_s2 / part;
    }
    out->most2 = most * most;
    out->per_mm = 2.0 * acceleration;
    return true;
}

/* Square of the speed at which the corner between two legs may be taken. */
static double corner2(const struct stretch *a, const struct stretch *b, bool stands, bool blended)
{
    double slower2 = fmin(a->most2, b->most2);
    double common = a->way[0] * b->way[0] + a->way[1] * b->way[1] + a->way[2] * b->way[2];

    if (stands)
        return 0.0;
    if (common >= 1.0 - STRAIGHT_ON)
        return slower2;
    return blended && common > 0.0 ? common * common * slower2 : 0.0;
}

/* Both ways: what the legs before can have brought it to, what the legs after can brake. */
static void settle(struct stretch *stretches, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        double reached2 = stretches[i].enter2 + stretches[i].per_mm * stretches[i].length_mm;

        stretches[i].leave2 = fmin(stretches[i].leave2, reached2);
        if (i + 1 < count)
            stretches[i + 1].enter2 = stretches[i].leave2;
    }
    for (size_t i = count; i-- > 0;) {
        double braked2 = stretches[i].leave2 + stretches[i].per_mm * stretches[i].length_mm;

        stretches[i].enter2 = fmin(stretches[i].enter2, braked2);
        if (i > 0)
            stretches[i - 1].leave2 = stretches[i].enter2;
    }
}

/* Faster until the highest speed or until it must brake; the way over the mean speed is the time. */
static double time_s(const struct stretch *stretch, double *top)
{
    double apex2 = (stretch->enter2 + stretch->leave2 + stretch->per_mm * stretch->length_mm) / 2.0;
    double top2 = fmin(stretch->most2, apex2), enter = sqrt(stretch->enter2), leave = sqrt(stretch->leave2);
    double up_mm = (top2 - stretch->enter2) / stretch->per_mm, down_mm = (top2 - stretch->leave2) / stretch->per_mm;
    double even_mm = fmax(0.0, stretch->length_mm - up_mm - down_mm);

    *top = sqrt(top2);
    return 2.0 * up_mm / (*top + enter) + even_mm / *top + 2.0 * down_mm / (*top + leave);
}

static void note_fastest(const struct tw_machine *machine, const struct stretch *stretch, double top, size_t leg,
                         struct tw_witness_fastest *fastest)
{
    for (int k = 0; k < 3; k++) {
        const struct tw_axis *axis = axis_of(machine, k);
        double speed = top * fabs(stretch->way[k]), share = speed / axis->rapid_mm_per_s;

        if (share > fastest->share)
            *fastest = (struct tw_witness_fastest){ axis->letter, speed, share, leg };
    }
}

enum tw_status tw_witness_drive(const struct tw_machine *machine, bool blended, struct tw_witness_leg *legs,
                                size_t count, struct tw_witness_fastest *fastest, struct tw_findings *findings)
{
    struct stretch *stretches = malloc((count + 1) * sizeof *stretches);
    size_t found = 0;
    bool stands = true;

    *fastest = (struct tw_witness_fastest){ 0 };
    if (!stretches)
        return tw_no_memory(findings);
    for (size_t i = 0; i < count; i++) {
        legs[i].time_s = 0.0;
        if (open_stretch(machine, &legs[i], &stretches[found])) {
            if (found > 0)
                stretches[found - 1].leave2 = stretches[found].enter2 =
                    corner2(&stretches[found - 1], &stretches[found], stands, blended);
            found++;
            stands = false;
        }
        stands |= legs[i].stands_after;
    }
    settle(stretches, found);
    for (size_t i = 0; i < found; i++) {
        double top;

        stretches[i].leg->time_s = time_s(&stretches[i], &top);
        note_fastest(machine, &stretches[i], top, (size_t)(stretches[i].leg - legs), fastest);
    }
    free(stretches);
    return TW_OK;
}
