/* layout.h - what the search for the quickest plan asks of those who lay out layers and moves: the faces' lanes and loops
 * (schedule.c), and the relief's loops and troughs (hollow.c). */
#ifndef TANGWRIGHT_PLAN_SEARCH_LAYOUT_H
#define TANGWRIGHT_PLAN_SEARCH_LAYOUT_H

#include "plan/cuts/cut.h"

/* What earlier passes are expected to leave in the tang when a layer is ground, in K above ambient, by the height of its
 * lower plane: K[0] over the lowest part of the stock, which is ground last, and so on. The cuts leave room for it. */
struct tw_bulk {
    double K[TW_BULK_PARTS];
};

/* Which part of the stock a layer's lower plane is in. */
int tw_bulk_part(double bottom_mm, double stock_mm);

/* How the wheel may go over the layers. */
struct tw_way {
    enum tw_travel_style style;
    double crossfeed_mm; /* of a disc's roughing lanes; 0: see tw_lane_rule */
    bool by_volume; /* each layer takes the cut that removes most in its time, not the one that goes deepest in it */
    bool stays;     /* the wheel does not leave the steel from layer to layer, so that the tang cannot be waited for */
    bool lifts;     /* it leaves the steel wherever it can, so that the tang can be waited for the more often */
};

#define TW_WAYS_MOST 24

struct tw_layout {
    void *context;
    bool has_wedge;  /* by_volume makes a difference */
    bool goes_round; /* knows how to go on to the next part after some layers; see tw_scene */
    bool can_lift;   /* so does `lifts` */
    /* All ways that are worth trying; returns how many. */
    size_t (*list_ways)(const void *context, const struct tw_scene *scene, struct tw_way ways[TW_WAYS_MOST]);
    /* Layers and moves without waits. `scene` is the trial's own: what it says goes to the trial's own findings. TW_NO_PLAN when
     * this way cannot be used here (finding: why). */
    enum tw_status (*lay)(void *context, const struct tw_scene *scene, const struct tw_cut_limits *limits,
                          const struct tw_bulk *bulk, const struct tw_way *way, struct tw_setup_plan *out);
};

/* A layer that takes this cut; lanes, width and front are the caller's to add. */
struct tw_layer tw_layer_of(enum tw_layer_kind kind, double bottom_mm, const struct tw_cut *cut);

#endif
