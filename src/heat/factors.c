/* factors.c - plate factors kept once they are worked out. */
#include "heat/factors.h"

#include <math.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#define LOG_STEP          0.0392207131532813 /* log 1.04 */
#define ROUNDED_MOST      1.0400001
#define THICKNESS_STEP_MM 0.1
#define SLOTS             16384

struct slot {
    int contact, speed, thickness;   /* in rounding steps */
    double back_W_per_mm2_K, factor; /* factor 0: empty */
};

struct tw_factors {
    struct tw_steel steel;
    pthread_mutex_t lock; /* of the slots */
    struct slot slots[SLOTS];
};

struct tw_factors *tw_factors_open(const struct tw_steel *steel)
{
    struct tw_factors *factors = calloc(1, sizeof *factors);

    if (factors && pthread_mutex_init(&factors->lock, NULL) != 0) {
        free(factors);
        return NULL;
    }
    if (factors)
        factors->steel = *steel;
    return factors;
}

void tw_factors_close(struct tw_factors *factors)
{
    if (factors)
        pthread_mutex_destroy(&factors->lock);
    free(factors);
}

static bool is_thick(const struct tw_factors *factors, double contact_mm, double table_mm_per_s, double thickness_mm)
{
    double reach_mm = sqrt(4.0 * tw_diffusivity_mm2_per_s(&factors->steel) * contact_mm / table_mm_per_s);

    return thickness_mm >= 1.8 * reach_mm;
}

static bool is_alike(const struct slot *a, const struct slot *b)
{
    return a->contact == b->contact && a->speed == b->speed && a->thickness == b->thickness &&
           a->back_W_per_mm2_K == b->back_W_per_mm2_K;
}

/* The slot that holds this factor, or the empty one where it belongs; the next ones are looked at where another one's is
 * taken. Once all are taken, all are forgotten. */
static struct slot *slot_of(struct tw_factors *factors, const struct slot *wanted)
{
    size_t place = (size_t)(wanted->contact + 4096) * 2654435761u + (size_t)(wanted->speed + 4096) * 40503u +
                   (size_t)wanted->thickness * 97u;

    for (size_t i = 0; i < SLOTS; i++) {
        struct slot *slot = &factors->slots[(place + i) % SLOTS];

        if (slot->factor == 0.0 || is_alike(slot, wanted))
            return slot;
    }
    memset(factors->slots, 0, sizeof factors->slots);
    return &factors->slots[place % SLOTS];
}

/* 0: not known. */
static double known_factor(struct tw_factors *factors, const struct slot *wanted)
{
    double factor;

    pthread_mutex_lock(&factors->lock);
    factor = slot_of(factors, wanted)->factor;
    pthread_mutex_unlock(&factors->lock);
    return factor;
}

static void keep(struct tw_factors *factors, const struct slot *found)
{
    pthread_mutex_lock(&factors->lock);
    *slot_of(factors, found) = *found;
    pthread_mutex_unlock(&factors->lock);
}

double tw_factors_get(struct tw_factors *factors, double contact_mm, double table_mm_per_s, double thickness_mm,
                      double back_W_per_mm2_K)
{
    struct slot slot = { .thickness = (int)fmax(1.0, floor(thickness_mm / THICKNESS_STEP_MM)),
                         .back_W_per_mm2_K = back_W_per_mm2_K };
    double thin_mm = slot.thickness * THICKNESS_STEP_MM, contact_up_mm, speed_down;

    if (is_thick(factors, ROUNDED_MOST * contact_mm, table_mm_per_s / ROUNDED_MOST, thin_mm))
        return 1.0; /* however they are rounded, which takes logarithms */
    slot.contact = (int)ceil(log(contact_mm) / LOG_STEP);
    slot.speed = (int)floor(log(table_mm_per_s) / LOG_STEP);
    contact_up_mm = exp(slot.contact * LOG_STEP);
    speed_down = exp(slot.speed * LOG_STEP);
    if (is_thick(factors, contact_up_mm, speed_down, thin_mm))
        return 1.0;
    slot.factor = known_factor(factors, &slot);
    if (slot.factor == 0.0) {
        slot.factor = fmax(1.0, tw_plate_factor(contact_up_mm, speed_down, thin_mm, back_W_per_mm2_K, &factors->steel));
        keep(factors, &slot);
    }
    return slot.factor;
}
