/* names.c - the words that outputs use for the choices of a plan. */
#include "tangwright/plan.h"

const char *tw_binding_name(enum tw_binding binding)
{
    static const char *const names[] = { "temperature",  "coolant film boiling", "spindle power", "holding force",
                                         "wheel infeed", "finishing infeed",     "stock" };

    return names[binding];
}

const char *tw_limit_name(enum tw_limit limit)
{
    static const char *const names[] = { "largest infeed of the wheel", "heat", "spindle power", "holding force",
                                         "largest feed of the machine" };

    return names[limit];
}

const char *tw_layer_name(const struct tw_layer *layer)
{
    static const char *const names[] = { "rough", "finish", "spark-out" };

    return layer->again ? "again" : names[layer->kind];
}

const char *tw_travel_style_name(enum tw_travel_style style)
{
    static const char *const names[] = { "both ways", "from the butt", "from the ricasso", "loops", "troughs" };

    return names[style];
}

const char *tw_flash_limit_name(enum tw_flash_limit limit)
{
    return limit == TW_FLASH_EQUIVALENT ? "equivalent" : "strict";
}
