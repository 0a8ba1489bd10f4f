/* lane.h - the straight lanes that cover one layer. */
#ifndef TANGWRIGHT_PLAN_WAYS_LANE_H
#define TANGWRIGHT_PLAN_WAYS_LANE_H

#include "plan/cuts/cut.h"
#include "plan/scene/obstacle.h"
#include "plan/scene/scene.h"

/* How far to a side of its lane a wheel that stands astride the layer may be. */
#define TW_ASTRIDE_ASIDE_MM 0.5

/* One lane. `span` is the stock of this layer under the wheel, in setup x. The rest are programmed x on the
 * controller's grid: `off` is where the wheel has left the stock and may be fed down; `end` is where it really
 * goes: the same, or short of an obstacle, and then it only passes over all of the span. At `astride` a coplanar cup
 * has all that it meets inside its hollow: the rim is off the stock ahead of it and behind it, so that the wheel may come
 * down there and cut the layer on its way back. */
struct tw_lane {
    double y_mm;
    double span_front_mm, span_back_mm;
    double front_off_mm, back_off_mm;
    double front_end_mm, back_end_mm;
    double front_touch_mm, back_touch_mm;     /* coming from there the wheel touches none of the layer's stock before */
    double front_done_mm, back_done_mm;       /* going there, none after */
    double astride_mm;                        /* see below; HUGE_VAL: nowhere */
    double engaged_mm;                        /* widest stock that this lane meets */
    const struct tw_keep_out *front_obstacle; /* what shortens the lane; NULL: nothing */
    const struct tw_keep_out *back_obstacle;
};

/* How the lanes of a layer lie beside each other. By default the first takes as much as the wheel is wide, and the ones
 * beside it the wheel's customary crossfeed. With a crossfeed of its own all lanes of a disc take equally much, at most
 * that: the first stands out over the edge of the tang, and they must be ground in their order. With `first_widest` the first
 * takes as much as the wheel is wide all the same, so that the wheel goes the shorter way across, and the others the crossfeed. Where
 * the layer reaches ahead of the taper start none stands out, for the blade is beside the tang there: the first takes the wheel's width. */
struct tw_lane_rule {
    double crossfeed_mm; /* 0: by default */
    bool downwards;      /* equal lanes: from large y to small */
    bool ahead;          /* the layer reaches ahead of the taper start, where the wheel may meet the blade's width */
    bool first_widest;   /* only with a crossfeed */
};

#define TW_LANES_MOST 256

struct tw_lanes {
    struct tw_lane lanes[TW_LANES_MOST];
    size_t count;
    double pitch_mm; /* widest distance between two lanes; 0 with one */
    double cusp_mm;
};

/* Lanes over all that stands above the plane `bottom_mm` over the face; `deepest_mm` is the most that one pass
 * takes. `turn_at_front`: the lanes shall end off the stock at the front too, where that costs length; else a
 * coplanar cup only goes as far forward as its rim must. No lanes when nothing stands there.
 * TW_NO_PLAN: an obstacle forbids what a lane must cover; the finding names it, where, and how much is missing. */
enum tw_status tw_lanes_lay(const struct tw_scene *scene, struct tw_lane_rule rule, double bottom_mm, double deepest_mm,
                            bool turn_at_front, struct tw_lanes *out);

/* Extent of the layer's stock in setup x; false when there is none. */
bool tw_lanes_span(const struct tw_scene *scene, double bottom_mm, double *front_mm, double *back_mm);

/* The widest that wheel and tang can meet; `ahead`: or wheel and blade ahead of the taper start. */
double tw_lanes_widest_mm(const struct tw_scene *scene, bool ahead);

/* What each of `count` lanes of a disc over the tang takes of its width, a rule's crossfeed: of equal lanes, or of those beside
 * the widest one. 0: there are no such lanes, or the default rule lays them. */
double tw_lanes_share_mm(const struct tw_scene *scene, int count, bool first_widest);

/* The widest engagement of a layer's first lane, and of the lanes after it, which find the stock beside them gone: for
 * limits that go with width. */
struct tw_engagement tw_lanes_first(const struct tw_scene *scene, struct tw_lane_rule rule);
struct tw_engagement tw_lanes_later(const struct tw_scene *scene, struct tw_lane_rule rule);

#endif
