/* film.c - what of a plan rests on the coolant's film and flow, what becomes of the face where the film fails, and how near
 * the plan comes to burning. */
#include "base/units.h"
#include "tangwright/assess.h"

#include "tangwright/heat.h"
#include "tangwright/relief.h"
#include "tangwright/temper.h"
#include "tangwright/warm.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* A film that takes no more than this off the face is not worth being spoken of: that of a mist. */
#define WORTH_K 10.0

static bool counts_on_film(const struct tw_layer *layer)
{
    return layer->kind != TW_LAYER_SPARK_OUT && isfinite(layer->film_times) && !layer->boiled &&
           layer->dry_degC > layer->reserve_degC + WORTH_K;
}

/* What fails first decides. */
static void find_weakest(const struct tw_setup_plan *setup, size_t index, struct tw_plan_film *film)
{
    for (size_t i = 0; i < setup->layer_count; i++) {
        if (!counts_on_film(&setup->layers[i]) || setup->layers[i].film_times >= film->times)
            continue;
        film->counted = true;
        film->times = setup->layers[i].film_times;
        film->setup = index;
        film->layer = i;
    }
}

/* The dry peak is that of the reserve's energy; with more it rises in proportion, rather a little faster, for the chips carry
 * off no more. */
static double boiled_degC(const struct tw_job *job, const struct tw_setup_plan *setup, const struct tw_layer *layer)
{
    struct tw_job narrowed = tw_setup_job(job, setup);
    double ambient_degC = job->coolant.temperature_degC;

    return ambient_degC + (layer->dry_degC - ambient_degC) * layer->film_times / tw_energy_reserve(&narrowed);
}

static void find_hottest(const struct tw_setup_plan *setup, bool has_film, struct tw_plan_film *film)
{
    for (size_t i = 0; i < setup->layer_count; i++) {
        const struct tw_layer *layer = &setup->layers[i];

        if (layer->kind == TW_LAYER_SPARK_OUT)
            continue;
        film->dry_degC = fmax(film->dry_degC, layer->dry_degC);
        if (has_film)
            film->least_degC = fmax(film->least_degC, layer->film_least_degC);
    }
}

static struct tw_plan_film film_of(const struct tw_job *job, const struct tw_plan *plan, size_t from, size_t to)
{
    struct tw_plan_film film = {

        .wet = job->coolant.kind != TW_COOLANT_DRY,
        .inches = job->machine.dialect.inch,
        .times = HUGE_VAL,
        .boiled_degC = -HUGE_VAL,
        .dry_degC = -HUGE_VAL,
        .least_degC = -HUGE_VAL
    };
    const struct tw_setup_plan *weakest;

    if (!film.wet)
        return film;
    for (size_t i = from; i < to; i++) {
        find_weakest(&plan->setups[i], i, &film);
        find_hottest(&plan->setups[i], job->coolant.contact_conductance_W_per_mm2_K > 0.0, &film);
    }
    weakest = &plan->setups[film.setup];
    if (film.counted)
        film.boiled_degC = boiled_degC(job, weakest, &weakest->layers[film.layer]);
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

/* degF with degC in brackets for a shop in inches. */
static struct tw_both_text degrees(const struct tw_plan_film *film, double degC)
{
    struct tw_both_text words;

    if (film->inches)
        return tw_temperature_both(degC, true);
    snprintf(words.text, sizeof words.text, "%.0f degC", degC);
    return words;
}

/* The plan keeps its limits there as well, or it would not have been made. */
static void least_words(const struct tw_plan_film *film, char *out, size_t size)
{
    if (isfinite(film->least_degC))
        snprintf(
            out, size,
            " At the lower end of the film's range all limits hold with the wheel's own energy; the face reaches %s.",
            degrees(film, film->least_degC).text);
}

void tw_plan_film_words(const struct tw_plan_film *film, char out[TW_FILM_WORDS])
{
    const char *hardens = film->hardens ? ", hot enough for the steel to harden again and to crack" : "";

    out[0] = '\0';
    if (film->counted)
        snprintf(out, TW_FILM_WORDS,
                 "The coolant's film lasts up to %.2f times the assumed specific energy, then the face jumps to %s; "
                 "without coolant in the contact it reaches %s%s.",
                 film->times, degrees(film, film->boiled_degC).text, degrees(film, film->dry_degC).text, hardens);
    else if (film->wet)
        snprintf(out, TW_FILM_WORDS,
                 "No pass counts on the coolant's film; without coolant in the contact the face reaches %s%s.",
                 degrees(film, film->dry_degC).text, hardens);
    if (film->wet)
        least_words(film, out + strlen(out), TW_FILM_WORDS - strlen(out));
}

/* ---- the burn line ---- */

struct tw_plan_burn tw_plan_burn(const struct tw_plan *plan)
{
    struct tw_plan_burn burn = { 0 };

    for (size_t i = 0; i < plan->setup_count; i++) {
        for (size_t k = 0; k < plan->setups[i].layer_count; k++) {
            const struct tw_layer *layer = &plan->setups[i].layers[k];

            if (layer->kind == TW_LAYER_SPARK_OUT || layer->burn_share <= burn.share)
                continue;
            burn = (struct tw_plan_burn){ .share = layer->burn_share, .setup = i, .layer = k };
        }
    }
    burn.warns = burn.share > TW_BURN_WARNS;
    return burn;
}

/* ---- remarks ---- */

/* A plan that is cool only as long as the coolant reaches the contact, and ruins the knife where it does not. */
static void remark_hardening(const struct tw_job *job, const struct tw_plan *plan, struct tw_findings *findings)
{
    struct tw_plan_film film = tw_plan_film(job, plan);
    char words[TW_FILM_WORDS];

    if (!film.hardens)
        return;
    tw_plan_film_words(&film, words);
    tw_remark(findings, (struct tw_place){ .file = job->path, .key = "coolant" },
              "%s Lighter cuts (a smaller wheel.max_infeed), a sharper or a CBN wheel leave less to the film", words);
}

#define LITRE_A_MINUTE_MM3_PER_S (1e6 / 60.0)
/* 5.7 to 7.6 l/min for each horsepower: J. Webster, coolant application when grinding, ctemag.com, 2017. */
#define LITRES_A_MINUTE_PER_KW 7.6

static double strongest_W(const struct tw_plan *plan)
{
    double power_W = 0.0;

    for (size_t i = 0; i < plan->setup_count; i++)
        for (size_t k = 0; k < plan->setups[i].layer_count; k++)
            power_W = fmax(power_W, plan->setups[i].layers[k].power_W);
    return power_W;
}

static void remark_flow(const struct tw_job *job, const struct tw_plan *plan, struct tw_findings *findings)
{
    struct tw_place at = { .file = job->path, .key = "coolant.flow" };
    double litres = job->coolant.flow_mm3_per_s / LITRE_A_MINUTE_MM3_PER_S, power_W = strongest_W(plan);
    double wanted = LITRES_A_MINUTE_PER_KW * power_W / 1000.0;

    if (job->coolant.kind == TW_COOLANT_MIST && litres <= 0.0)
        tw_remark(findings, at, "how much the mist sprays is not known, so it takes no heat out of the contact");
    if (job->coolant.kind != TW_COOLANT_FLOOD || litres >= wanted)
        return;
    if (litres <= 0.0)
        tw_remark(findings, at, "how much the pump gives is not known; %.0f W of grinding want %.1f l/min", power_W,
                  wanted);
    else
        tw_remark(findings, at, "%.3g l/min are less than the %.1f l/min that %.0f W of grinding want", litres, wanted,
                  power_W);
}

static void remark_burn(const struct tw_job *job, const struct tw_plan *plan, struct tw_findings *findings)
{
    struct tw_plan_burn burn = tw_plan_burn(plan);
    const struct tw_setup_plan *setup = &plan->setups[burn.setup];

    if (burn.warns)
        tw_remark(
            findings, (struct tw_place){ .file = job->path },
            "side %s, layer %zu takes %.2f of the energy at which steel visibly burns (Malkin and Lenz, for alumina: "
            "for CBN it warns early), with the reserve; such lines are good to a fifth, so stay below %.1f: lighter "
            "cuts or a sharper wheel lower it",
            tw_side_letter(setup->face.side), burn.layer + 1, burn.share, TW_BURN_WARNS);
}

void tw_assess_remark(const struct tw_job *job, const struct tw_plan *plan, struct tw_findings *findings)
{
    remark_hardening(job, plan, findings);
    remark_flow(job, plan, findings);
    remark_burn(job, plan, findings);
    tw_spring_heat_remark(job, plan, findings);
}
