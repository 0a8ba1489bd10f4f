/* heat.c - heat from first principles. */
#include "witness/heat.h"

#include <gsl/gsl_sf_bessel.h>
#include <math.h>

#define PI 3.14159265358979323846

/* ---- Jaeger's band ---- */

/* exp(-s) K0(|s|): what a line of heat s ahead (in 2 a / v) leaves at a place; behind it fades slowly. */
static double line_of_heat(double s)
{
    double scaled = gsl_sf_bessel_K0_scaled(fabs(s));

    return s > 0.0 ? scaled * exp(-2.0 * s) : scaled;
}

/* Integral over 0..to of that, ahead (way 1) or behind (way -1), with s = t^2, for K0 grows without bound at 0: Simpson. */
static double integral(double to, int way)
{
    enum { PARTS = 128 };
    double end = sqrt(to), step = end / PARTS, sum = 0.0;

    for (int i = 1; i <= PARTS; i++) {
        double t = i * step, weight = i == PARTS ? 1.0 : i % 2 == 1 ? 4.0 : 2.0;

        sum += weight * 2.0 * t * line_of_heat(way * t * t);
    }
    return sum * step / 3.0; /* at t = 0 the integrand is 0 */
}

/* Highest of a band from -L to L over its own way: there as much comes from one end as from the other. */
static double highest(double L)
{
    double low = -L, high = L;

    for (int i = 0; i < 60; i++) {
        double x = (low + high) / 2.0;

        /* Going forwards by dx gains the line at x + L behind and loses the one at x - L, which lies ahead of it. */
        *(line_of_heat(x + L) > line_of_heat(x - L) ? &low : &high) = x;
    }
    return integral(low + L, 1) + integral(L - low, -1);
}

void tw_witness_band_open(struct tw_witness_band *band)
{
    for (int i = 0; i < TW_WITNESS_BAND_POINTS; i++) {
        double peclet = pow(10.0, TW_WITNESS_BAND_FIRST + (double)i / TW_WITNESS_BAND_DECADE);

        band->shape[i] = highest(peclet) / (PI * sqrt(peclet));
    }
}

/* 2/sqrt(pi) of a band in a hurry: then heat goes straight down. */
static double shape(const struct tw_witness_band *band, double peclet)
{
    double at = fmax(0.0, (log10(peclet) - TW_WITNESS_BAND_FIRST) * TW_WITNESS_BAND_DECADE);
    int i = (int)fmin(at, TW_WITNESS_BAND_POINTS - 1);

    if (i == TW_WITNESS_BAND_POINTS - 1)
        return 2.0 / sqrt(PI);
    return band->shape[i] + (at - i) * (band->shape[i + 1] - band->shape[i]);
}

/* ---- one cut ---- */

/* A cup whose edge cuts: the edge and the flat that leans behind it heat like 1/sqrt(length) each, one after the other. */
static double edge_mm(const struct tw_wheel *wheel, double depth_mm, double lean)
{
    double by_flat_mm = lean > 0.0 ? fmin(depth_mm, lean * wheel->rim_width_mm) : 0.0;
    double by_edge = 1.0 - by_flat_mm / depth_mm, heat = 0.0;

    if (by_flat_mm > 0.0)
        heat += by_flat_mm / depth_mm / sqrt(fmin(wheel->rim_width_mm, depth_mm / lean));
    if (by_edge > 0.0)
        heat += by_edge / sqrt(by_edge * depth_mm / tan(wheel->lead_in_rad));
    return fmin(wheel->rim_width_mm, 1.0 / (heat * heat));
}

static double contact_mm(const struct tw_job *job, double depth_mm, double lean)
{
    const struct tw_wheel *wheel = &job->wheel;

    if (wheel->kind == TW_WHEEL_DISC)
        return wheel->contact_ratio * sqrt(wheel->diameter_mm * depth_mm);
    if (wheel->lead_in_rad > 0.0)
        return edge_mm(wheel, depth_mm, lean);
    return lean == 0.0 ? wheel->rim_contact_mm : fmin(wheel->rim_contact_mm, depth_mm / fabs(lean));
}

/* Thin chips ask for more: u (0.1 um / h)^n, down to what melting or shearing needs. */
static double energy_J_per_mm3(const struct tw_wheel *wheel, const struct tw_witness_cut *cut)
{
    double chip_um = 1000.0 * cut->depth_mm * cut->table_mm_per_s / cut->wheel_mm_per_s;

    return cut->energy * fmax(wheel->min_specific_energy_J_per_mm3,
                              wheel->specific_energy_J_per_mm3 * exp(wheel->size_exponent * log(0.1 / chip_um)));
}

/* Of what steel and wheel take, the steel's share. */
static double steel_share(const struct tw_wheel *wheel, double effusivity, double wheel_mm_per_s)
{
    double grain = 0.97 * wheel->grain_conductivity_W_per_mm_K / sqrt(wheel->grain_radius_mm * wheel_mm_per_s);

    return wheel->work_partition > 0.0 ? wheel->work_partition : effusivity / (effusivity + grain);
}

/* A laminar film over a plate: as the root of speed over length; the profile's figure is that of 1.4 mm at 30 m/s. However
 * little of it flows, the flash lies between this and none. */
static double film(const struct tw_coolant *coolant, double along_mm, double wheel_mm_per_s)
{
    return coolant->contact_conductance_W_per_mm2_K * sqrt(1.4 * wheel_mm_per_s / (30000.0 * along_mm));
}

struct tw_witness_flash tw_witness_flash(const struct tw_job *job, const struct tw_witness_band *band,
                                         const struct tw_witness_cut *cut)
{
    const struct tw_steel *steel = &job->steel;
    double heat_per_mm3 = steel->density_g_per_mm3 * steel->specific_heat_J_per_g_K;
    double effusivity = sqrt(steel->conductivity_W_per_mm_K * heat_per_mm3);
    double along_mm = contact_mm(job, cut->depth_mm, cut->lean), contact_s = along_mm / cut->table_mm_per_s;
    double u = energy_J_per_mm3(&job->wheel, cut), left = fmax(0.0, u - job->wheel.chip_energy_J_per_mm3);
    double flux_per_u = cut->depth_mm * cut->table_mm_per_s / along_mm; /* W/mm2 for each J/mm3 */
    struct tw_witness_flash flash = { .peclet = cut->table_mm_per_s * along_mm * heat_per_mm3 /
                                                (4.0 * steel->conductivity_W_per_mm_K) };
    double takes = effusivity / (shape(band, flash.peclet) * sqrt(contact_s)); /* W/mm2 for each K of flash */
    double both = takes / steel_share(&job->wheel, effusivity, cut->wheel_mm_per_s);

    flash.dry_K = left * flux_per_u / both;
    flash.wet_K = left * flux_per_u / (both + film(&job->coolant, along_mm, cut->wheel_mm_per_s));
    flash.dry_J_per_mm3 = flash.dry_K * takes / flux_per_u;
    flash.wet_J_per_mm3 = flash.wet_K * takes / flux_per_u;
    flash.edge_factor = 1.0 + 0.5 / sqrt(PI * flash.peclet);
    return flash;
}

/* ---- where the steel is ---- */

/* Rolled over, the other side's face lies below; it has risen from the pad by what was ground off it. */
struct tw_witness_underside tw_witness_underside(const struct tw_witness_face *face, bool over_ground)
{
    struct tw_witness_underside below = { 0.0, 0.0 };

    if (!over_ground)
        return below;
    below.rise = tw_witness_face(face->job, face->side == TW_SIDE_A ? TW_SIDE_B : TW_SIDE_A).slope;
    below.ahead_mm = -face->job->finish.allowance_mm;
    if (face->job->taper.zero == TW_ZERO_PAD)
        below.ahead_mm += face->job->task.thicker_mm;
    return below;
}

/* A place of it at part x, turned, lies at x c - up s. */
double tw_witness_underside_mm(const struct tw_witness_face *face, const struct tw_witness_underside *below,
                               double x_mm)
{
    double c = cos(face->tilt_rad), s = sin(face->tilt_rad);
    double part_x_mm = (x_mm + below->ahead_mm * s) / (c - below->rise * s);
    double up_mm = below->ahead_mm + below->rise * part_x_mm;

    return up_mm > 0.0 ? part_x_mm * s + up_mm * c : x_mm / c * s;
}

double tw_witness_bare_to_mm(const struct tw_witness_underside *below)
{
    return below->rise > 0.0 ? -below->ahead_mm / below->rise : 0.0;
}

/* ---- losses ---- */

/* A conductance with so much steel before it. */
static double through(double conductance, double steel_mm, double conductivity)
{
    return conductance > 0.0 ? 1.0 / (1.0 / conductance + steel_mm / conductivity) : 0.0;
}

bool tw_witness_losses(const struct tw_job *job, bool packed, struct tw_witness_shares over, double *least,
                       double *most)
{
    double face = job->coolant.surface_conductance_W_per_mm2_K, joint = job->coolant.joint_conductance_W_per_mm2_K;
    double tang = packed ? TW_WITNESS_PACKED_SHARE * joint : joint;

    *least = HUGE_VAL;
    *most = 0.0;
    if (!(face > 0.0) || !(joint > 0.0))
        return false;
    for (int half = 0; half < 2; half++) { /* the sheet's middle is as warm as its faces, or half its thickness away */
        double steel_mm = half * job->taper.ricasso_mm / 2.0, k = job->steel.conductivity_W_per_mm_K;
        double above = through(face, steel_mm, k), bare = through(joint, steel_mm, k) / above;
        double lying = through(tang, steel_mm, k) / above;

        *least = fmin(*least, lying * (over.packed + over.bare));
        *most = fmax(*most, lying * over.packed + bare * over.bare);
    }
    return true;
}
