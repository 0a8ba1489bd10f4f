/* factors.c - plate factors kept once they are worked out. */
#include "heat/factors.h"

#include <math.h>
#include <string.h>

#define LOG_STEP          0.0392207131532813 /* log 1.04 */
#define THICKNESS_STEP_MM 0.1

void tw_factors_open(struct tw_factors *factors, const struct tw_steel *steel, double back_W_per_mm2_K)
{
    memset(factors->slots, 0, sizeof factors->slots);
    factors->steel = *steel;
    factors->back_W_per_mm2_K = back_W_per_mm2_K;
}

static bool is_thick(const struct tw_factors *factors, double contact_mm, double table_mm_per_s, double thickness_mm)
{
    double reach_mm = sqrt(4.0 * tw_diffusivity_mm2_per_s(&factors->steel) * contact_mm / table_mm_per_s);

    return thickness_mm >= 1.8 * reach_mm;
}

double tw_factors_get(struct tw_factors *factors, double contact_mm, double table_mm_per_s, double thickness_mm)
{
    int contact = (int)ceil(log(contact_mm) / LOG_STEP), speed = (int)floor(log(table_mm_per_s) / LOG_STEP);
    int thickness = (int)fmax(1.0, floor(thickness_mm / THICKNESS_STEP_MM));
    double contact_up_mm = exp(contact * LOG_STEP), speed_down = exp(speed * LOG_STEP);
    double thin_mm = thickness * THICKNESS_STEP_MM;
    size_t slot =
        ((size_t)(contact + 4096) * 73u + (size_t)(speed + 4096) * 179u + (size_t)thickness * 37u) % TW_FACTOR_SLOTS;

    if (is_thick(factors, contact_up_mm, speed_down, thin_mm))
        return 1.0;
    if (factors->slots[slot].factor <= 0.0 || factors->slots[slot].contact != contact ||
        factors->slots[slot].speed != speed || factors->slots[slot].thickness != thickness) {
        double factor = tw_plate_factor(contact_up_mm, speed_down, thin_mm, factors->back_W_per_mm2_K, &factors->steel);

        factors->slots[slot].contact = contact;
        factors->slots[slot].speed = speed;
        factors->slots[slot].thickness = thickness;
        factors->slots[slot].factor = fmax(1.0, factor);
    }
    return factors->slots[slot].factor;
}
