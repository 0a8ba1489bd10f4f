/* material.c - the table of handle materials. */
#include "tangwright/material.h"

const struct tw_material tw_materials[TW_MATERIAL_COUNT] = { [TW_MATERIAL_NONE] = { "", 0, 0, 0, "" },
#define TW_MATERIAL_ROW(id, word, density, low, high, source) [id] = { word, density, low, high, source },
                                                             TW_MATERIALS(TW_MATERIAL_ROW)
#undef TW_MATERIAL_ROW
};

double tw_material_density_g_per_mm3(enum tw_material_id id)
{
    return tw_materials[id].density_kg_per_m3 * 1e-6;
}
