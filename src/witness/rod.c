/* rod.c - the equation of a fin, from stretch to stretch. */
#include "witness/rod.h"

#include "base/memory.h"

#include <math.h>
#include <stdlib.h>

/* From the middle of one stretch to that of the next; steel as thin as the thinner half is what holds it up. */
static double along_W_per_K(const struct tw_witness_stretch *a, double long_mm, double conductivity)
{
    double thinner_mm2 = fmin(a[0].section_mm2, a[1].section_mm2),
           thicker_mm2 = fmax(a[0].section_mm2, a[1].section_mm2);

    return thinner_mm2 > 0.0 ? 2.0 * conductivity / long_mm / (1.0 / thinner_mm2 + 1.0 / thicker_mm2) : 0.0;
}

static double away_W_per_K(const struct tw_witness_stretch *a, double long_mm)
{
    return a->width_mm * long_mm * (a->face_W_per_mm2_K + a->carried * a->joint_W_per_mm2_K);
}

/* (away + along) T - along T of the neighbours = came - stays: eliminated forwards, then solved backwards. `passes` holds what a
 * stretch passes on of the temperature of the next, `sums` becomes the sums of temperature. */
static void solve(const struct tw_witness_stretch *stretches, size_t count, double long_mm, double conductivity,
                  double *passes, double *sums)
{
    double behind = 0.0;

    for (size_t i = 0; i < count; i++) {
        double ahead = i + 1 < count ? along_W_per_K(&stretches[i], long_mm, conductivity) : 0.0;
        double own = away_W_per_K(&stretches[i], long_mm) + behind + ahead,
               net = stretches[i].came - stretches[i].stays;

        if (i > 0) {
            own -= behind * passes[i - 1];
            net += behind * sums[i - 1];
        }
        passes[i] = own > 0.0 ? ahead / own : 0.0;
        sums[i] = own > 0.0 ? net / own : 0.0;
        behind = ahead;
    }
    for (size_t i = count; i-- > 1;)
        sums[i - 1] += passes[i - 1] * sums[i];
}

static double share_of(double part, double all)
{
    return all > 0.0 ? fmin(1.0, fmax(0.0, part / all)) : 0.0;
}

enum tw_status tw_witness_carried_shares(const struct tw_witness_stretch *stretches, size_t count, double long_mm,
                                         double conductivity_W_per_mm_K, struct tw_witness_shares *out,
                                         struct tw_findings *findings)
{
    double *room = calloc(2 * count + 1, sizeof *room), bare = 0.0, packed = 0.0, all = 0.0;

    if (!room)
        return tw_no_memory(findings);
    solve(stretches, count, long_mm, conductivity_W_per_mm_K, room, room + count);
    for (size_t i = 0; i < count; i++) {
        double lost = room[count + i] * stretches[i].width_mm * stretches[i].face_W_per_mm2_K;

        all += lost;
        *(stretches[i].bare ? &bare : &packed) += stretches[i].carried * lost;
    }
    free(room);
    *out = (struct tw_witness_shares){ share_of(bare, all), share_of(packed, all) };
    return TW_OK;
}

/* Per mm of width 1 W comes in; mean over the strip from the middle line to its edge. */
static double strip_mean_K(const struct tw_witness_stretch *stretch, double sheet_W_per_K)
{
    double half_mm = stretch->width_mm / 2.0, strip_mm = stretch->carried * half_mm;
    double face = stretch->face_W_per_mm2_K, both = face + stretch->joint_W_per_mm2_K;
    double in = sqrt(both / sheet_W_per_K), out = sqrt(face / sheet_W_per_K);
    /* Inside 1/both + a cosh(in y), beside 1/face + b cosh(out (half - y)); as warm and with as much heat flowing on the edge. */
    double beside = in / out * sinh(in * strip_mm) / tanh(out * (half_mm - strip_mm));
    double a = (1.0 / face - 1.0 / both) / (cosh(in * strip_mm) + beside);

    return 1.0 / both + a * sinh(in * strip_mm) / (in * strip_mm);
}

double tw_witness_strip_carried(const struct tw_witness_stretch *stretch, double conductivity_W_per_mm_K)
{
    double joint = stretch->joint_W_per_mm2_K, face = stretch->face_W_per_mm2_K, strip_K, all_K;

    if (stretch->carried <= 0.0 || stretch->carried >= 1.0 || stretch->section_mm2 <= 0.0 || joint <= 0.0 ||
        face <= 0.0)
        return stretch->carried;
    strip_K = strip_mean_K(stretch, conductivity_W_per_mm_K * stretch->section_mm2 / stretch->width_mm);
    all_K = (1.0 - joint * stretch->carried * strip_K) / face; /* what comes in is lost by the faces */
    return stretch->carried * strip_K / all_K;
}
