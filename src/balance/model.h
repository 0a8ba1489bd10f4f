/* model.h - the regions of one knife, cut once. */
#ifndef TANGWRIGHT_BALANCE_MODEL_H
#define TANGWRIGHT_BALANCE_MODEL_H

#include "balance/moments.h"
#include "tangwright/balance.h"
#include "tangwright/relief.h"

/* Outlines that do not touch. */
struct tw_pieces {
    struct tw_outline *items;
    size_t count;
};

/* A pin where it stands. */
struct tw_standing_pin {
    struct tw_point at;
    double area_mm2;  /* of its steel, brass, ... */
    double outer_mm2; /* what the scales lose */
    double density_g_per_mm3;
};

struct tw_balance_model {
    const struct tw_job *job;
    struct tw_moments tang, holes;
    double far_mm;                         /* where the tang ends */
    struct tw_layer_sums lacking;          /* of each face: by what a surveyed blank is thinner than its ricasso */
    struct tw_relief_region relief;        /* inside the land; no pieces: nothing to hollow */
    const struct tw_relief_region *hollow; /* what of it is hollowed; borrowed, or the above */
    struct tw_moments relief_area;
    struct tw_moments scale_area; /* one scale, before it is drilled */
    struct tw_moments glue_area;  /* steel under one scale */
    struct tw_pieces glue_relief; /* relief under a scale */
    struct tw_moments glue_relief_area;
    struct tw_standing_pin *pins;
    size_t pin_count;
};

/* handle.c: fills all that concerns scales, pins and glue. */
enum tw_status tw_handle_regions(struct tw_balance_model *model, struct tw_findings *findings);

/* The taper's depth on one face when the butt comes out so thick. */
struct tw_layer_law tw_taper_law(const struct tw_job *job, double butt_mm);

#endif
