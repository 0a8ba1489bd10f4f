/* factors.c - plate factors kept once they are worked out. */
#include "heat/factors.h"

#include <math.h>
#include <string.h>

#define LOG_STEP          0.0392207131532813 /* log 1.04 */
#define ROUNDED_MOST      1.0400001
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

/* The slot that holds this factor, or the empty one where it belongs; the next ones are looked at where another one's is
 * taken. Once all are taken, all are forgotten. */
static struct tw_factor_slot *slot_of(struct tw_factors *factors, struct tw_factor_slot wanted)
{
    size_t place = (size_t)(wanted.contact + 4096) * 2654435761u + (size_t)(wanted.speed + 4096) * 40503u +
                   (size_t)wanted.thickness * 97u;

    for (size_t i = 0; i < TW_FACTOR_SLOTS; i++) {
        struct tw_factor_slot *slot = &factors->slots[(place + i) % TW_FACTOR_SLOTS];

        if (slot->factor == 0.0 ||
            (slot->contact == wanted.contact && slot->speed == wanted.speed && slot->thickness == wanted.thickness))
            return slot;
    }
    memset(factors->slots, 0, sizeof factors->slots);
    return &factors->slots[place % TW_FACTOR_SLOTS];
}

double tw_factors_get(struct tw_factors *factors, double contact_mm, double table_mm_per_s, double thickness_mm)
{
    struct tw_factor_slot wanted = { .thickness = (int)fmax(1.0, floor(thickness_mm / THICKNESS_STEP_MM)) };
    double thin_mm = wanted.thickness * THICKNESS_STEP_MM, contact_up_mm, speed_down;
    struct tw_factor_slot *slot;

    if (is_thick(factors, ROUNDED_MOST * contact_mm, table_mm_per_s / ROUNDED_MOST, thin_mm))
        return 1.0; /* however they are rounded, which takes logarithms */
    wanted.contact = (int)ceil(log(contact_mm) / LOG_STEP);
    wanted.speed = (int)floor(log(table_mm_per_s) / LOG_STEP);
    contact_up_mm = exp(wanted.contact * LOG_STEP);
    speed_down = exp(wanted.speed * LOG_STEP);
    if (is_thick(factors, contact_up_mm, speed_down, thin_mm))
        return 1.0;
    slot = slot_of(factors, wanted);
    if (slot->factor == 0.0) {
        *slot = wanted;
        slot->factor =
            fmax(1.0, tw_plate_factor(contact_up_mm, speed_down, thin_mm, factors->back_W_per_mm2_K, &factors->steel));
    }
    return slot->factor;
}
