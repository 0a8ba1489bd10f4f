/* layout.h - what the search for the quickest plan asks of those who lay out layers and moves: the faces' lanes and loops
 * (schedule.c), and the relief's loops and troughs (hollow.c). */
#ifndef TANGWRIGHT_PLAN_SEARCH_LAYOUT_H
#define TANGWRIGHT_PLAN_SEARCH_LAYOUT_H

#include "plan/cuts/cut.h"

/* Which part of the stock a layer's lower plane is in. */
int tw_bulk_part(double bottom_mm, double stock_mm);

#define TW_WAYS_MOST 32

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
