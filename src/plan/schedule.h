/* schedule.h - the layers of one setup from the top down, and the moves that grind them. */
#ifndef TANGWRIGHT_PLAN_SCHEDULE_H
#define TANGWRIGHT_PLAN_SCHEDULE_H

#include "plan/cut.h"
#include "plan/scene.h"

#define TW_BULK_PARTS 5

/* What earlier passes are expected to leave in the tang when a layer is ground, in K above ambient, by the height of its
 * lower plane: K[0] over the lowest part of the stock, which is ground last, and so on. The cuts leave room for it. */
struct tw_bulk {
    double K[TW_BULK_PARTS];
};

/* Which part of the stock a layer's lower plane is in. */
int tw_bulk_part(double bottom_mm, double stock_mm);

/* Fills *out for one travel style and one crossfeed of roughing (0: see tw_lane_rule). TW_NO_PLAN when they cannot be
 * used here (finding: why). */
enum tw_status tw_schedule_make(const struct tw_scene *scene, const struct tw_cut_limits *limits,
                                const struct tw_bulk *bulk, enum tw_travel_style style, double crossfeed_mm,
                                struct tw_setup_plan *out);

#endif
