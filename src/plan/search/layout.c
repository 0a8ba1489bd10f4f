/* layout.c - see layout.h. */
#include "plan/search/layout.h"

int tw_bulk_part(double bottom_mm, double stock_mm)
{
    int part = (int)(bottom_mm / stock_mm * TW_BULK_PARTS);

    return part < 0 ? 0 : part < TW_BULK_PARTS ? part : TW_BULK_PARTS - 1;
}

struct tw_layer tw_layer_of(enum tw_layer_kind kind, double bottom_mm, const struct tw_cut *cut)
{
    return (struct tw_layer){
        .kind = kind,
        .bottom_mm = bottom_mm,
        .depth_mm = cut->depth_mm,
        .table_mm_per_s = cut->table_mm_per_s,
        .later_mm_per_s = cut->later_mm_per_s,
        .reserve_degC = cut->reserve_degC,
        .flash_K = cut->flash_K,
        .edge_factor = cut->edge_factor,
        .plate_factor = cut->plate_factor,
        .power_W = cut->power_W,
        .force_N = cut->force_N,
        .loaded_mm = cut->loaded_mm,
        .later_force_N = cut->later_force_N,
        .flash_limit_degC = cut->flash_limit_degC,
        .equivalent_degC = cut->equivalent_degC,
        .boiled = cut->boiled,
        .boiling_room_K = cut->boiling_room_K,
        .film_times = cut->film_times,
        .film_least_times = cut->film_least_times,
        .film_least_degC = cut->least_degC,
        .dry_degC = cut->dry_degC,
        .burn_share = cut->burn_share,
        .binding = cut->binding,
    };
}
