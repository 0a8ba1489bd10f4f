/* film.c - what of a plan rests on the coolant's film, and what becomes of the face where the film fails. */
#include "tangwright/plan.h"

#include "tangwright/relief.h"
#include "tangwright/temper.h"
#include "tangwright/warm.h"

#include <math.h>
#include <stdio.h>

static bool counts_on_film(const struct tw_layer *layer)
{
    return layer->kind != TW_LAYER_SPARK_OUT && isfinite(layer->film_times) && !layer->boiled;
}

/* What fails first decides. */
static void find_weakest(const struct tw_setup_plan *setup, size_t index, struct tw_plan_film *film)
{
    for (size_t i = 0; i < setup->layer_count; i++) {
        if (!counts_on_film(&setup->layers[i]) || setup->layers[i].film_times >= film->times)
            continue;
        film->wet = true;
        film->times = setup->layers[i].film_times;
        film->setup = index;
        film->layer = i;
    }
}

/* The dry peak is that of the reserve's energy; with more it rises in proportion, rather a little faster, for the chips carry
 * off no more. */
static double boiled_degC(const struct tw_job *job, const struct tw_setup_plan *setup, const struct tw_layer *layer)
{
    struct tw_job narrowed = tw_scope_job(job, setup->face.side, setup->scope);
    double ambient_degC = job->coolant.temperature_degC;

    return ambient_degC + (layer->dry_degC - ambient_degC) * layer->film_times / tw_energy_reserve(&narrowed);
}

static double hottest_dry_degC(const struct tw_setup_plan *setup)
{
    double hottest_degC = -HUGE_VAL;

    for (size_t i = 0; i < setup->layer_count; i++)
        if (counts_on_film(&setup->layers[i]))
            hottest_degC = fmax(hottest_degC, setup->layers[i].dry_degC);
    return hottest_degC;
}

static struct tw_plan_film film_of(const struct tw_job *job, const struct tw_plan *plan, size_t from, size_t to)
{
    struct tw_plan_film film = { .times = HUGE_VAL };
    const struct tw_setup_plan *weakest;

    for (size_t i = from; i < to; i++)
        find_weakest(&plan->setups[i], i, &film);
    if (!film.wet)
        return film;
    weakest = &plan->setups[film.setup];
    film.boiled_degC = boiled_degC(job, weakest, &weakest->layers[film.layer]);
    film.dry_degC = -HUGE_VAL;
    for (size_t i = from; i < to; i++)
        film.dry_degC = fmax(film.dry_degC, hottest_dry_degC(&plan->setups[i]));
    film.hardens = fmax(film.boiled_degC, film.dry_degC) >= TW_TEMPER_HARDENS_degC;
    return film;
}

struct tw_plan_film tw_plan_film(const struct tw_job *job, const struct tw_plan *plan)
{
    return film_of(job, plan, 0, plan->setup_count);
}

struct tw_plan_film tw_setup_film(const struct tw_job *job, const struct tw_plan *plan, size_t setup)
{
    return film_of(job, plan, setup, setup + 1);
}

void tw_plan_film_words(const struct tw_plan_film *film, char out[TW_FILM_WORDS])
{
    out[0] = '\0';
    if (film->wet)
        snprintf(
            out, TW_FILM_WORDS,
            "The coolant's film lasts up to %.2f times the assumed specific energy, then the face jumps to %.0f degC; "
            "without coolant in the contact it reaches %.0f degC%s.",
            film->times, film->boiled_degC, film->dry_degC,
            film->hardens ? ", hot enough for the steel to harden again and to crack" : "");
}
