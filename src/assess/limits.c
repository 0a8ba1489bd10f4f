/* limits.c - what either flash limit says of a plan that was made under one of them. */
#include "tangwright/assess.h"

#include <math.h>

static double worst_degC(const struct tw_tempering *tempering)
{
    return fmax(tempering->equivalent_degC[0], tempering->equivalent_degC[1]);
}

/* Nothing cut in spark-out: its figures are the layer's before. */
static void find_hottest(const struct tw_plan *plan, struct tw_plan_limits *out)
{
    out->reserve_degC = -HUGE_VAL;
    for (size_t setup = 0; setup < plan->setup_count; setup++) {
        for (size_t i = 0; i < plan->setups[setup].layer_count; i++) {
            const struct tw_layer *layer = &plan->setups[setup].layers[i];

            if (layer->kind == TW_LAYER_SPARK_OUT || layer->reserve_degC <= out->reserve_degC)
                continue;
            out->side = plan->setups[setup].face.side;
            out->setup = setup;
            out->layer = i;
            out->peak_degC = layer->peak_degC;
            out->reserve_degC = layer->reserve_degC;
            out->equivalent_degC = layer->equivalent_degC;
        }
    }
}

static struct tw_tempering most_tempered(const struct tw_plan *plan)
{
    struct tw_tempering most = plan->setups[0].tempering;

    for (size_t i = 1; i < plan->setup_count; i++)
        if (worst_degC(&plan->setups[i].tempering) > worst_degC(&most))
            most = plan->setups[i].tempering;
    return most;
}

struct tw_plan_limits tw_plan_limits(const struct tw_plan *plan)
{
    struct tw_plan_limits out = { .used = plan->flash_limit,
                                  .strict_degC = plan->limit_degC,
                                  .tempering = most_tempered(plan) };

    find_hottest(plan, &out);
    out.strict_allows = out.reserve_degC <= out.strict_degC;
    out.equivalent_allows = worst_degC(&out.tempering) <= out.tempering.allowed_degC &&
                            out.reserve_degC <= fmax(TW_TEMPER_CAP_degC, out.strict_degC);
    return out;
}
