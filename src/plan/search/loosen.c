/* loosen.c - see loosen.h. */
#include "plan/search/loosen.h"

#include <math.h>

#define LOOSER 1.1
/* A table speed nearer to the fastest than this is held by it: speeds come in whole steps of the controller. */
#define FASTEST_SHARE 0.995

static double looser_degC(double degC, double ambient_degC)
{
    return ambient_degC + LOOSER * (degC - ambient_degC);
}

static bool binds_layer(enum tw_limit limit, const struct tw_job *job, const struct tw_layer *layer)
{
    double fastest = FASTEST_SHARE * tw_fastest_table_mm_per_s(job);

    switch (limit) {
    case TW_LIMIT_INFEED:
        return layer->binding == TW_BINDS_WHEEL_INFEED;
    case TW_LIMIT_HEAT:
        return layer->binding == TW_BINDS_TEMPERATURE || layer->binding == TW_BINDS_BOILING;
    case TW_LIMIT_POWER:
        return layer->binding == TW_BINDS_POWER;
    case TW_LIMIT_HOLDING:
        return layer->binding == TW_BINDS_HOLDING;
    default:
        return layer->table_mm_per_s >= fastest || (layer->lanes > 1 && layer->later_mm_per_s >= fastest);
    }
}

bool tw_limit_binds(enum tw_limit limit, const struct tw_job *job, const struct tw_setup_plan *plan, bool warm)
{
    if (limit == TW_LIMIT_HEAT && (warm || plan->dwell_s > 0.0))
        return true;
    for (size_t i = 0; i < plan->layer_count; i++)
        if (plan->layers[i].kind == TW_LAYER_ROUGH && binds_layer(limit, job, &plan->layers[i]))
            return true;
    return false;
}

static double warmer_degC(double degC, double ambient_degC)
{
    return ambient_degC + LOOSER * LOOSER * (degC - ambient_degC);
}

bool tw_limit_leaves_cool(const struct tw_cut_limits *limits, const struct tw_setup_plan *plan)
{
    double ambient_degC = limits->ambient_degC, bulk_degC = warmer_degC(plan->reserve_bulk_degC, ambient_degC);
    bool cool = !limits->equivalent && plan->dwell_s == 0.0;

    for (size_t i = 0; cool && i < plan->layer_count; i++) {
        const struct tw_layer *layer = &plan->layers[i];
        struct tw_history_peak peak = { .degC = warmer_degC(layer->reserve_degC, ambient_degC),
                                        .dry_degC = warmer_degC(layer->dry_degC, ambient_degC),
                                        .film_times = layer->film_times / (LOOSER * LOOSER),
                                        .film_least_times = layer->film_least_times / (LOOSER * LOOSER),
                                        .least_degC = warmer_degC(layer->film_least_degC, ambient_degC),
                                        .highest_bulk_degC = bulk_degC,
                                        .least_bulk_degC = bulk_degC };

        cool = tw_cut_room_K(limits, &peak, layer->flash_limit_degC) >= 0.0;
    }
    return cool;
}

void tw_limit_loosen(enum tw_limit limit, struct tw_job *job, struct tw_cut_limits *limits)
{
    struct tw_limits *heat = &job->limits;

    switch (limit) {
    case TW_LIMIT_INFEED:
        limits->infeed_mm *= LOOSER;
        break;
    case TW_LIMIT_HEAT:
        limits->film_reserve /= LOOSER;
        limits->limit_degC = looser_degC(limits->limit_degC, limits->ambient_degC);
        limits->temper =
            tw_temper_limit_of(looser_degC(heat->tempering_degC, limits->ambient_degC),
                               heat->margin_K + job->reserve.heat_K, heat->tempering_s, job->steel.temper_constant);
        break;
    case TW_LIMIT_POWER:
        limits->power_W *= LOOSER;
        break;
    case TW_LIMIT_HOLDING:
        limits->force_N *= LOOSER;
        break;
    default:
        job->machine.feed_max_mm_per_s *= LOOSER;
        job->machine.along.rapid_mm_per_s *= LOOSER;
        break;
    }
}
