/* material.h - what handles are made of, and how heavy it is.
 *
 * One row per material: its word in the job file, its density in kg/m3, the range met in practice, and where
 * the figure comes from. Wood is air-dry, at 12 % moisture; its density varies from board to board by a tenth
 * and more, so a weighed offcut beats every table: handle.scale_density takes it.
 *
 * Sources, all from memory, none looked up again:
 *   FPL   Forest Products Laboratory, Wood Handbook, FPL-GTR-190 (2010), table 5-3: specific gravity (oven-dry
 *         mass over volume at 12 % moisture), here times 1.12 for the water.
 *   CRC   CRC Handbook of Chemistry and Physics, densities of the elements and of common alloys.
 *   EN    EN 10088-1 (2014), annex: density of stainless steels; EN 1991-1-1: structural steel.
 *   ASM   ASM Handbook, vol. 2 (1990), Properties of nonferrous alloys.
 *   NEMA  NEMA LI 1, industrial laminates: specific gravity of the grades.
 *   data  data sheets of many makers agree on about this value. */
#ifndef TANGWRIGHT_MATERIAL_H
#define TANGWRIGHT_MATERIAL_H

#include <stddef.h>

/* clang-format off */
#define TW_MATERIALS(X) \
    X(TW_MATERIAL_WALNUT,          "walnut",               616,  550,  680, "FPL: black walnut, 0.55") \
    X(TW_MATERIAL_CHERRY,          "cherry",               560,  500,  630, "FPL: black cherry, 0.50") \
    X(TW_MATERIAL_MAPLE,           "maple",                706,  640,  770, "FPL: sugar maple, 0.63") \
    X(TW_MATERIAL_OAK,             "oak",                  762,  680,  840, "FPL: white oak, 0.68") \
    X(TW_MATERIAL_OLIVE,           "olive wood",           950,  850, 1050, "trade tables of timber") \
    X(TW_MATERIAL_ROSEWOOD,        "rosewood",             850,  770,  930, "FPL: Indian rosewood, 0.75 green") \
    X(TW_MATERIAL_EBONY,           "ebony",               1050,  950, 1150, "trade tables of timber") \
    X(TW_MATERIAL_BLACKWOOD,       "african blackwood",   1220, 1150, 1300, "trade tables of timber") \
    X(TW_MATERIAL_BONE,            "bone",                1900, 1800, 2000, "compact bone; handbooks of biomechanics") \
    X(TW_MATERIAL_HORN,            "horn",                1300, 1250, 1350, "keratin; handbooks of biomaterials") \
    X(TW_MATERIAL_PAPER_LAMINATE,  "paper laminate",      1350, 1300, 1400, "NEMA: phenolic with paper") \
    X(TW_MATERIAL_CLOTH_LAMINATE,  "cloth laminate",      1350, 1320, 1400, "NEMA: phenolic with cotton cloth") \
    X(TW_MATERIAL_GLASS_LAMINATE,  "glass laminate",      1800, 1750, 1900, "NEMA: epoxy with glass cloth, G-10") \
    X(TW_MATERIAL_CARBON_LAMINATE, "carbon laminate",     1550, 1450, 1600, "epoxy with carbon cloth; data") \
    X(TW_MATERIAL_ACRYLIC,         "acrylic",             1190, 1170, 1200, "polymethyl methacrylate; data") \
    X(TW_MATERIAL_ACETAL,          "acetal",              1410, 1390, 1430, "polyoxymethylene; data") \
    X(TW_MATERIAL_EPOXY,           "epoxy",               1150, 1100, 1200, "cured, not filled; data") \
    X(TW_MATERIAL_ALUMINIUM,       "aluminium",           2700, 2650, 2820, "CRC") \
    X(TW_MATERIAL_TITANIUM,        "titanium",            4510, 4420, 4540, "CRC") \
    X(TW_MATERIAL_CARBON_STEEL,    "carbon steel",        7850, 7800, 7870, "EN 1991-1-1") \
    X(TW_MATERIAL_STAINLESS,       "stainless steel",     7900, 7700, 8000, "EN 10088-1: 1.4301, 7.9 kg/dm3") \
    X(TW_MATERIAL_BRASS,           "brass",               8440, 8400, 8530, "ASM: 63 to 70 % copper") \
    X(TW_MATERIAL_BRONZE,          "bronze",              8800, 8750, 8860, "ASM: 8 % tin") \
    X(TW_MATERIAL_NICKEL_SILVER,   "nickel silver",       8700, 8650, 8750, "ASM: 65 % copper, 18 % nickel") \
    X(TW_MATERIAL_COPPER,          "copper",              8960, 8900, 8960, "CRC")
/* clang-format on */

enum tw_material_id {
    TW_MATERIAL_NONE, /* not named: a density is given instead */
#define TW_MATERIAL_ID(id, word, density, low, high, source) id,
    TW_MATERIALS(TW_MATERIAL_ID)
#undef TW_MATERIAL_ID
        TW_MATERIAL_COUNT
};

struct tw_material {
    const char *word;
    double density_kg_per_m3, low_kg_per_m3, high_kg_per_m3;
    const char *source;
};

/* By id; the row of TW_MATERIAL_NONE is empty. */
extern const struct tw_material tw_materials[TW_MATERIAL_COUNT];

/* 0 for TW_MATERIAL_NONE. */
double tw_material_density_g_per_mm3(enum tw_material_id id);

#endif
