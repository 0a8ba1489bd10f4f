/* limits.c - what either flash limit says of a plan that was made under one of them. */
#include "tangwright/plan.h"

#include <math.h>

const char *tw_flash_limit_name(enum tw_flash_limit limit)
{
    return limit == TW_FLASH_EQUIVALENT ? "equivalent" : "strict";
}

static double worst_degC(const struct tw_tempering *tempering)
{
    return fmax(tempering->equivalent_degC[0], tempering->equivalent_degC[1]);
}

/* Nothing cut in spark-out: its figures are the layer's before. */
static void find_hottest(const struct tw_plan *plan, struct tw_plan_limits *out)
{
    out->peak_degC = -HUGE_VAL;
    for (int side = 0; side < 2; side++) {
        for (size_t i = 0; i < plan->setups[side].layer_count; i++) {
            const struct tw_layer *layer = &plan->setups[side].layers[i];

            if (layer->kind == TW_LAYER_SPARK_OUT || layer->peak_degC <= out->peak_degC)
                continue;
            out->side = (enum tw_side)side;
            out->layer = i;
            out->peak_degC = layer->peak_degC;
            out->equivalent_degC = layer->equivalent_degC;
        }
    }
}

struct tw_plan_limits tw_plan_limits(const struct tw_plan *plan)
{
    const struct tw_tempering *a = &plan->setups[0].tempering, *b = &plan->setups[1].tempering;
    struct tw_plan_limits out = { .used = plan->flash_limit,
                                  .strict_degC = plan->limit_degC,
                                  .tempering = worst_degC(b) > worst_degC(a) ? *b : *a };

    find_hottest(plan, &out);
    out.strict_allows = out.peak_degC <= out.strict_degC;
    out.equivalent_allows = worst_degC(&out.tempering) <= out.tempering.allowed_degC &&
                            out.peak_degC <= fmax(TW_TEMPER_CAP_degC, out.strict_degC);
    return out;
}
