/* assumed.c - what is taken to be solid though nothing shows it. */
#include "taper/assumed.h"

#include "geometry/ring.h"

#include <math.h>
#include <stdlib.h>

bool tw_assumes_blade(const struct tw_job *job)
{
    return job->part.blade.outer.count == 0;
}

enum tw_status tw_assumed_blade(const struct tw_job *job, const struct tw_face *face, struct tw_outline *out,
                                struct tw_findings *findings)
{
    struct tw_box tang = tw_ring_box(&job->part.tang.outer);
    double length_mm = job->blade.length_mm > 0.0 ? job->blade.length_mm : TW_ASSUMED_BLADE_MM;
    double low_mm = tang.min_y_mm - TW_ASSUMED_BESIDE_MM, high_mm = tang.max_y_mm + TW_ASSUMED_BESIDE_MM;
    struct tw_point corners[] = { { -length_mm, low_mm }, { 0.0, low_mm }, { 0.0, high_mm }, { -length_mm, high_mm } };
    struct tw_outline drawn = { .outer = { corners, sizeof corners / sizeof *corners } };

    return tw_face_outline(face, tw_assumes_blade(job) ? &drawn : &job->part.blade, out, findings);
}

double tw_assumed_floor_mm(const struct tw_job *job, int part)
{
    const struct tw_station *stations = job->fixture.stations;
    double lowest_mm = HUGE_VAL;

    for (int i = 0; i < job->parts; i++)
        lowest_mm = fmin(lowest_mm, job->machine.up.sign * (stations[i].up_mm - stations[part].up_mm));
    return lowest_mm;
}
