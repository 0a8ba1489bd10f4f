/* flash.c - the chain from depth, speeds and contact length to the flash of one pass. */
#include "tangwright/heat.h"

#include <math.h>

#define REFERENCE_CHIP_mm 1e-4 /* the wheel's u_ref is stated at an equivalent chip thickness of 0.1 um */
#define HAHN_FACTOR       0.97 /* of the sliding grain, Hahn 1962 */

/* Malkin and Lenz 1978, in J, mm, s. */
#define BURN_BASE_J_per_mm3 6.2
#define BURN_SLOPE          7.2

double tw_diffusivity_mm2_per_s(const struct tw_steel *steel)
{
    return steel->conductivity_W_per_mm_K / (steel->density_g_per_mm3 * steel->specific_heat_J_per_g_K);
}

double tw_effusivity_W_s05_per_mm2_K(const struct tw_steel *steel)
{
    return sqrt(steel->conductivity_W_per_mm_K * steel->density_g_per_mm3 * steel->specific_heat_J_per_g_K);
}

double tw_disc_contact_mm(double depth_mm, const struct tw_wheel *wheel)
{
    return wheel->contact_ratio * sqrt(depth_mm * wheel->diameter_mm);
}

double tw_specific_energy_J_per_mm3(double equivalent_chip_mm, const struct tw_wheel *wheel)
{
    double u = wheel->specific_energy_J_per_mm3 * pow(REFERENCE_CHIP_mm / equivalent_chip_mm, wheel->size_exponent);

    return fmax(u, wheel->min_specific_energy_J_per_mm3);
}

struct tw_wheel tw_wheel_at_energy(const struct tw_wheel *wheel, double times)
{
    struct tw_wheel altered = *wheel;

    altered.specific_energy_J_per_mm3 *= times;
    altered.min_specific_energy_J_per_mm3 *= times;
    return altered;
}

double tw_work_partition(const struct tw_wheel *wheel, const struct tw_steel *steel, double wheel_mm_per_s)
{
    double grain = HAHN_FACTOR * wheel->grain_conductivity_W_per_mm_K;

    if (wheel->work_partition > 0.0)
        return wheel->work_partition;
    return 1.0 / (1.0 + grain / (tw_effusivity_W_s05_per_mm2_K(steel) * sqrt(wheel->grain_radius_mm * wheel_mm_per_s)));
}

double tw_burn_energy_J_per_mm3(const struct tw_contact *contact)
{
    return BURN_BASE_J_per_mm3 + BURN_SLOPE * sqrt(contact->contact_mm / contact->table_mm_per_s) / contact->depth_mm;
}

double tw_film_conductance_W_per_mm2_K(const struct tw_coolant *coolant, const struct tw_contact *contact)
{
    double faster = contact->wheel_mm_per_s / TW_FILM_WHEEL_MM_PER_S,
           shorter = TW_FILM_CONTACT_MM / contact->contact_mm;

    return coolant->contact_conductance_W_per_mm2_K * sqrt(faster * shorter);
}

static double least_film_W_per_mm2_K(const struct tw_coolant *coolant, const struct tw_contact *contact)
{
    struct tw_coolant least = *coolant;

    if (coolant->contact_conductance_least_W_per_mm2_K > 0.0)
        least.contact_conductance_W_per_mm2_K = coolant->contact_conductance_least_W_per_mm2_K;
    return tw_film_conductance_W_per_mm2_K(&least, contact);
}

double tw_flow_W(const struct tw_coolant *coolant)
{
    if (coolant->flow_mm3_per_s > 0.0)
        return coolant->flow_share * coolant->flow_mm3_per_s * coolant->flow_heat_J_per_mm3;
    return coolant->kind == TW_COOLANT_MIST ? 0.0 : HUGE_VAL;
}

/* Per area of the contact. Over a width that is not known a mist takes nothing. */
static double flow_W_per_mm2(const struct tw_coolant *coolant, const struct tw_contact *contact)
{
    if (contact->engaged_mm > 0.0)
        return tw_flow_W(coolant) / (contact->contact_mm * contact->engaged_mm);
    return coolant->kind == TW_COOLANT_MIST ? 0.0 : HUGE_VAL;
}

static bool is_positive(double value)
{
    return value > 0.0 && isfinite(value); /* written this way round, NaN is refused too */
}

static enum tw_status check_contact(const struct tw_contact *contact, double bulk_degC, struct tw_findings *findings)
{
    const struct {
        const char *name, *unit;
        double value;
    } must_be_positive[] = {
        { "depth of cut", "mm", contact->depth_mm },
        { "table speed", "mm/s", contact->table_mm_per_s },
        { "wheel speed", "mm/s", contact->wheel_mm_per_s },
        { "contact length", "mm", contact->contact_mm },
    };
    struct tw_place nowhere = { 0 };

    for (size_t i = 0; i < sizeof must_be_positive / sizeof *must_be_positive; i++)
        if (!is_positive(must_be_positive[i].value))
            return tw_fail(findings, TW_BAD_INPUT, nowhere,
                           "the flash of a pass needs a %s above 0 %s, but it is %g; leave passes out that do not cut",
                           must_be_positive[i].name, must_be_positive[i].unit, must_be_positive[i].value);
    if (!isfinite(bulk_degC))
        return tw_fail(findings, TW_BAD_INPUT, nowhere,
                       "the flash of a pass needs a finite temperature of the tang before it, but it is "
                       "%g degC",
                       bulk_degC);
    return TW_OK;
}

/* The grinding itself: energy, power, force. */
static void fill_grinding(struct tw_flash *flash, const struct tw_contact *contact, const struct tw_wheel *wheel)
{
    double removal_mm2_per_s = contact->depth_mm * contact->table_mm_per_s;

    flash->equivalent_chip_mm = removal_mm2_per_s / contact->wheel_mm_per_s;
    flash->specific_energy_J_per_mm3 = tw_specific_energy_J_per_mm3(flash->equivalent_chip_mm, wheel);
    flash->power_W_per_mm = flash->specific_energy_J_per_mm3 * removal_mm2_per_s;
    flash->tangential_N_per_mm = flash->power_W_per_mm * 1e3 / contact->wheel_mm_per_s; /* W s/mm = 1e3 N */
    flash->flux_W_per_mm2 = flash->power_W_per_mm / contact->contact_mm;
}

/* Steel, wheel and coolant take up heat side by side, the coolant no more than its flow can carry; chips carry theirs away
 * before (Rowe and others 1995; W. B. Rowe, ASME J. Manuf. Sci. Eng. 139(12), 121001, 2017). */
static void fill_rise(struct tw_flash *flash, const struct tw_contact *contact, const struct tw_wheel *wheel,
                      const struct tw_steel *steel, const struct tw_coolant *coolant, double bulk_degC)
{
    double chip_W_per_mm2 =
        wheel->chip_energy_J_per_mm3 * contact->depth_mm * contact->table_mm_per_s / contact->contact_mm;
    double left_W_per_mm2 = fmax(flash->flux_W_per_mm2 - chip_W_per_mm2, 0.0); /* chips take at most all */
    double steel_conductance, both;

    flash->chip_part = flash->flux_W_per_mm2 > 0.0 ? 1.0 - left_W_per_mm2 / flash->flux_W_per_mm2 : 0.0;

    flash->peclet = contact->table_mm_per_s * contact->contact_mm / (4.0 * tw_diffusivity_mm2_per_s(steel));
    flash->shape_factor = tw_band_shape_factor(flash->peclet);
    flash->work_partition = tw_work_partition(wheel, steel, contact->wheel_mm_per_s);
    steel_conductance = tw_effusivity_W_s05_per_mm2_K(steel) / flash->shape_factor *
                        sqrt(contact->table_mm_per_s / contact->contact_mm);
    both = steel_conductance / flash->work_partition;
    flash->dry_rise_K = left_W_per_mm2 / both;
    flash->film_rise_K = left_W_per_mm2 / (both + tw_film_conductance_W_per_mm2_K(coolant, contact));
    flash->film_least_rise_K = left_W_per_mm2 / (both + least_film_W_per_mm2_K(coolant, contact));
    flash->flow_K = flow_W_per_mm2(coolant, contact) / both;
    flash->wet_rise_K = fmax(flash->film_rise_K, flash->dry_rise_K - flash->flow_K);
    flash->boiled =
        coolant->contact_conductance_W_per_mm2_K > 0.0 && bulk_degC + flash->wet_rise_K >= coolant->boiling_degC;
    flash->rise_K = flash->boiled ? flash->dry_rise_K : flash->wet_rise_K;
    flash->peak_degC = bulk_degC + flash->rise_K;
    flash->share = flash->flux_W_per_mm2 > 0.0 ? steel_conductance * flash->rise_K / flash->flux_W_per_mm2 : 0.0;
}

enum tw_status tw_flash_estimate(const struct tw_contact *contact, const struct tw_wheel *wheel,
                                 const struct tw_steel *steel, const struct tw_coolant *coolant, double bulk_degC,
                                 struct tw_flash *out, struct tw_findings *findings)
{
    enum tw_status status = check_contact(contact, bulk_degC, findings);
    struct tw_place nowhere = { 0 };
    struct tw_flash flash;

    if (status != TW_OK)
        return status;
    fill_grinding(&flash, contact, wheel);
    fill_rise(&flash, contact, wheel, steel, coolant, bulk_degC);
    if (!isfinite(flash.peak_degC))
        return tw_fail(findings, TW_BAD_INPUT, nowhere,
                       "the flash of a pass of depth %g mm at %g mm/s is beyond what can be counted; "
                       "check the depth, the speeds and the properties of wheel and steel",
                       contact->depth_mm, contact->table_mm_per_s);
    *out = flash;
    return TW_OK;
}

/* Bulk and flash rise with the energy that the chips leave, the flash faster once the flow carries no more; where their
 * sum comes to the film's limit, the film boils. */
static double film_times(const struct tw_flash *flash, double film_rise_K, double bulk_K, double factor,
                         const struct tw_coolant *coolant)
{
    double allowed_K = coolant->boiling_degC - coolant->temperature_degC;
    double film_K = bulk_K + factor * film_rise_K, dry_K = bulk_K + factor * flash->dry_rise_K;
    double more = fmin(allowed_K / film_K, (allowed_K + factor * flash->flow_K) / dry_K);

    return film_K > 0.0 ? flash->chip_part + (1.0 - flash->chip_part) * more : HUGE_VAL;
}

/* How many times as hot a face gets at the lower end of the film's range. */
static double less_film(const struct tw_flash *flash)
{
    return flash->film_rise_K > 0.0 ? flash->film_least_rise_K / flash->film_rise_K : 1.0;
}

double tw_least_film_rise_K(const struct tw_flash *flash, double bulk_degC, double factor, double energy,
                            const struct tw_coolant *coolant)
{
    double wet_K = factor * fmax(flash->film_least_rise_K, flash->dry_rise_K - flash->flow_K) / energy;
    bool wet = coolant->contact_conductance_W_per_mm2_K > 0.0 && bulk_degC + wet_K < coolant->boiling_degC;

    return wet ? wet_K : factor * flash->dry_rise_K / energy;
}

double tw_film_counted_times(double film_times, double film_least_times, double reserve)
{
    return fmin(film_times, reserve * film_least_times);
}

struct tw_hot_spot tw_hot_spot(const struct tw_flash *flash, double bulk_degC, double factor,
                               const struct tw_coolant *coolant)
{
    struct tw_hot_spot spot = {
        .wet_degC = bulk_degC + flash->wet_rise_K * factor,
        .dry_degC = bulk_degC + flash->dry_rise_K * factor,
        .boiling_room_K = HUGE_VAL,
        .film_times = HUGE_VAL,
        .film_least_times = HUGE_VAL,
    };
    double bulk_K = bulk_degC - coolant->temperature_degC;

    if (coolant->contact_conductance_W_per_mm2_K > 0.0) {
        spot.boiling_room_K = coolant->boiling_degC - spot.wet_degC;
        spot.film_times = film_times(flash, flash->film_rise_K, bulk_K, factor, coolant);
        /* Where it takes less, every pass before has left more behind, too: in proportion. */
        spot.film_least_times = film_times(flash, flash->film_least_rise_K, bulk_K * less_film(flash), factor, coolant);
    }
    spot.boiled = spot.boiling_room_K <= 0.0;
    spot.degC = spot.boiled ? spot.dry_degC : spot.wet_degC;
    spot.rise_K = spot.degC - bulk_degC;
    return spot;
}
