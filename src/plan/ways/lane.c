/* lane.c - the straight lanes that cover one layer: how many, where, and from where to where. */
#include "plan/ways/lane.h"

#include "geometry/ring.h"

#include <math.h>

/* Lanes lie a little inside what they could just cover. */
#define OVERLAP_MM 0.2
/* A blank lies so far off across, or askew, or is so much wider than drawn, as stops and a rule leave it; a disc that stopped short of
 * its edge would leave a strip there for the next layer to take twice as deep. */
#define BESIDE_MM 0.3
/* So many more than the width asks for are tried where that gets past an obstacle. */
#define MORE_LANES 3

/* ---- the stock of a layer ---- */

/* What only touches from outside is no stock: boxes are drawn in by so much, and less is a sliver. */
#define TOUCH_MM 1e-6

/* Extent of the layer's stock between two y; false when there is none (or less than a sliver). Asked so often that it
 * is worked out from the rings themselves, and kept. */
static bool stock_between(const struct tw_scene *scene, double bottom_mm, double y0_mm, double y1_mm,
                          struct tw_box *out)
{
    double front_mm = tw_face_reach_mm(&scene->face, bottom_mm), end_mm = tw_face_end_mm(&scene->face, bottom_mm);
    struct tw_box within = { front_mm + TOUCH_MM, y0_mm + TOUCH_MM, fmin(front_mm + 1e4, end_mm - TOUCH_MM),
                             y1_mm - TOUCH_MM };

    if (front_mm + 2.0 * TOUCH_MM >= end_mm || !tw_extents_get(scene->extents, &scene->tang, within, out) ||
        out->max_x_mm - out->min_x_mm <= TOUCH_MM)
        return false;
    /* The true edge may lie a little farther out, though never ahead of where the stock begins. */
    out->min_x_mm = fmax(out->min_x_mm - TW_THIN_MM, front_mm);
    out->min_y_mm -= TW_THIN_MM;
    out->max_x_mm += TW_THIN_MM;
    out->max_y_mm += TW_THIN_MM;
    return true;
}

/* The same of all that the wheel may meet, the blade ahead of the taper start included. */
static bool met_between(const struct tw_scene *scene, double bottom_mm, double y0_mm, double y1_mm, struct tw_box *out)
{
    struct tw_box ahead;
    bool any = stock_between(scene, bottom_mm, y0_mm, y1_mm, out);

    if (!tw_scene_ahead(scene, bottom_mm, y0_mm + TOUCH_MM, y1_mm - TOUCH_MM, &ahead))
        return any;
    if (!any) {
        *out = ahead;
        return true;
    }
    out->min_x_mm = fmin(out->min_x_mm, ahead.min_x_mm);
    out->min_y_mm = fmin(out->min_y_mm, ahead.min_y_mm);
    out->max_x_mm = fmax(out->max_x_mm, ahead.max_x_mm);
    out->max_y_mm = fmax(out->max_y_mm, ahead.max_y_mm);
    return true;
}

bool tw_lanes_span(const struct tw_scene *scene, double bottom_mm, double *front_mm, double *back_mm)
{
    struct tw_box extent;
    bool any = stock_between(scene, bottom_mm, -1e4, 1e4, &extent);

    if (any) {
        *front_mm = extent.min_x_mm;
        *back_mm = extent.max_x_mm;
    }
    return any;
}

/* ---- how wide a lane covers ---- */

/* Height of the ridge that a cup in the level mount leaves `off_mm` beside its centre line. */
static double cusp_at_mm(const struct tw_scene *scene, double off_mm)
{
    double radius_mm = scene->radius_mm;

    return scene->face.fall * (radius_mm - sqrt(fmax(0.0, radius_mm * radius_mm - off_mm * off_mm)));
}

static bool is_level_cup(const struct tw_scene *scene)
{
    return scene->job->wheel.kind == TW_WHEEL_CUP && scene->face.fall > 0.0;
}

/* Half the width that one lane finishes. */
static double half_cover_mm(const struct tw_scene *scene)
{
    const struct tw_wheel *wheel = &scene->job->wheel;
    double radius_mm = scene->radius_mm, sag_mm, half_mm;

    if (wheel->kind == TW_WHEEL_DISC)
        return wheel->width_mm / 2.0 - OVERLAP_MM / 2.0;
    half_mm = wheel->max_crossfeed_ratio * radius_mm;
    if (is_level_cup(scene)) {
        sag_mm = fmin(radius_mm, TW_CUSP_SHARE * scene->job->finish.flatness_mm / scene->face.fall);
        half_mm = fmin(half_mm, sqrt(sag_mm * (2.0 * radius_mm - sag_mm)));
    }
    return half_mm;
}

static double largest_pitch_mm(const struct tw_scene *scene, struct tw_lane_rule rule)
{
    const struct tw_wheel *wheel = &scene->job->wheel;
    double customary_mm = wheel->max_crossfeed_ratio * wheel->width_mm;

    if (wheel->kind == TW_WHEEL_DISC)
        return fmin(fmax(customary_mm, rule.crossfeed_mm), 2.0 * half_cover_mm(scene));
    return 2.0 * half_cover_mm(scene) - OVERLAP_MM;
}

/* Whether the lanes stand out over each other and over the edge. */
static bool are_equal(struct tw_lane_rule rule)
{
    return rule.crossfeed_mm > 0.0 && !rule.ahead && !rule.first_widest;
}

/* How far beside what is drawn the lanes reach: a cup's rim is wide enough anyhow, and a single lane stays alone. */
static double beside_mm(const struct tw_scene *scene, double width_mm)
{
    double over_mm = 2.0 * half_cover_mm(scene) - width_mm;

    if (scene->job->wheel.kind == TW_WHEEL_CUP)
        return 0.0;
    return over_mm >= 0.0 ? fmin(BESIDE_MM, over_mm / 2.0) : BESIDE_MM;
}

static double with_beside_mm(const struct tw_scene *scene, double width_mm)
{
    return width_mm + 2.0 * beside_mm(scene, width_mm);
}

double tw_lanes_share_mm(const struct tw_scene *scene, int count, bool first_widest)
{
    const struct tw_wheel *wheel = &scene->job->wheel;
    struct tw_box all = tw_ring_box(&scene->tang.outer);
    double width_mm = with_beside_mm(scene, all.max_y_mm - all.min_y_mm + 2.0 * TW_THIN_MM); /* as the lanes find it */
    double share_mm = width_mm / count;

    if (wheel->kind == TW_WHEEL_CUP || count < 2)
        return 0.0;
    if (!first_widest)
        return share_mm <= wheel->width_mm ? share_mm : 0.0;
    share_mm = (width_mm - 2.0 * half_cover_mm(scene)) / (count - 1);
    return share_mm > wheel->max_crossfeed_ratio * wheel->width_mm && share_mm <= 2.0 * half_cover_mm(scene) ? share_mm
                                                                                                             : 0.0;
}

double tw_lanes_widest_mm(const struct tw_scene *scene, bool ahead)
{
    struct tw_box all = tw_ring_box(&scene->tang.outer), more;
    double wheel_mm = scene->job->wheel.kind == TW_WHEEL_DISC ? scene->job->wheel.width_mm : 2.0 * scene->radius_mm;

    if (ahead && tw_scene_ahead(scene, 0.0, -1e4, 1e4, &more)) {
        all.min_y_mm = fmin(all.min_y_mm, more.min_y_mm);
        all.max_y_mm = fmax(all.max_y_mm, more.max_y_mm);
    }
    return fmin(wheel_mm, all.max_y_mm - all.min_y_mm);
}

static size_t lane_count(const struct tw_scene *scene, struct tw_lane_rule rule, double width_mm)
{
    double cover_mm = 2.0 * half_cover_mm(scene);

    if (width_mm <= cover_mm)
        return 1;
    return 1 + (size_t)ceil((width_mm - cover_mm) / largest_pitch_mm(scene, rule) - 1e-9);
}

/* Of several lanes of a cup in the level mount, each meets on its outer side the stock that it finishes, on its inner side
 * the ridge between it and the next lane: with lanes p apart both stand equally high p/2 off, and while the next lane still
 * stands one depth d higher, cusp(off) - cusp(p - off) < d holds up to p/2 + d R / (fall p), the ridge being a parabola. */
static struct tw_engagement level_cup(const struct tw_scene *scene, struct tw_lane_rule rule, double tang_mm)
{
    struct tw_engagement engagement = { .most_mm = tw_lanes_widest_mm(scene, rule.ahead) };
    size_t n = lane_count(scene, rule, tang_mm);
    double half_mm = half_cover_mm(scene), pitch_mm;

    engagement.shallow_mm = engagement.most_mm;
    if (n == 1 || engagement.most_mm > tw_lanes_widest_mm(scene, false))
        return engagement; /* ahead of the taper start no ridge is left to say where it ends */
    pitch_mm = (tang_mm - 2.0 * half_mm) / (double)(n - 1);
    engagement.shallow_mm = half_mm + OVERLAP_MM + pitch_mm / 2.0;
    engagement.per_depth = 1.1 * scene->radius_mm / (scene->face.fall * pitch_mm);
    return engagement;
}

static struct tw_engagement even(double width_mm)
{
    return (struct tw_engagement){ .shallow_mm = width_mm, .most_mm = width_mm };
}

/* What lies between the edge of the cover of the lane before and the edge of the wheel's body; ahead of the taper start
 * what the body meets beyond the cover on the other side too. */
static double fresh_mm(const struct tw_scene *scene, double pitch_mm, bool ahead)
{
    double body_mm = scene->job->wheel.kind == TW_WHEEL_DISC ? scene->job->wheel.width_mm / 2.0 : scene->radius_mm;
    double beyond_mm = body_mm - half_cover_mm(scene), widest_mm = tw_lanes_widest_mm(scene, ahead);

    if (widest_mm > tw_lanes_widest_mm(scene, false))
        pitch_mm += beyond_mm;
    return fmin(widest_mm, pitch_mm + beyond_mm);
}

struct tw_engagement tw_lanes_first(const struct tw_scene *scene, struct tw_lane_rule rule)
{
    struct tw_box all = tw_ring_box(&scene->tang.outer);

    if (is_level_cup(scene))
        return level_cup(scene, rule, all.max_y_mm - all.min_y_mm);
    return even(are_equal(rule) ? fresh_mm(scene, rule.crossfeed_mm, rule.ahead)
                                : tw_lanes_widest_mm(scene, rule.ahead));
}

struct tw_engagement tw_lanes_later(const struct tw_scene *scene, struct tw_lane_rule rule)
{
    if (is_level_cup(scene) || are_equal(rule))
        return tw_lanes_first(scene, rule);
    return even(fresh_mm(scene, largest_pitch_mm(scene, rule), rule.ahead));
}

/* ---- from where to where ---- */

/* Distances of the programmed point from the ends of the span. */
struct ends {
    double front_off_mm;                /* programmed x = span front - this: wheel clear of all stock at the front */
    double back_off_mm;                 /* programmed x = span back + this */
    double front_need_mm, back_need_mm; /* the same where the wheel has just done its work */
};

/* Where the stock that a lane meets begins, and how it lies. */
struct front {
    double layer_mm;      /* where the layer's plane meets the blank's top */
    double stock_mm;      /* where its stock begins: there too, or farther back at the outline */
    double half_width_mm; /* of the stock beside the lane */
};

/* How far ahead of the stock the wheel leaves it. From the layer's front on the blank's top climbs over the plane; where
 * the outline begins farther back a step of the full depth may stand. Either way out will do. */
static double front_off_mm(const struct tw_scene *scene, double deepest_mm, const struct front *front)
{
    double radius_mm = scene->radius_mm, slope = scene->face.slope, climb_mm, step_mm, back_mm, cusp_mm;
    double climb = tw_face_climb(&scene->face);

    back_mm = fmax(0.0, front->stock_mm - front->layer_mm) - scene->ride.shift_mm;
    if (scene->job->wheel.kind == TW_WHEEL_DISC) {
        /* The disc's arc leaves the climbing top one half of R m ahead of where it begins. */
        climb_mm = back_mm + radius_mm * climb / 2.0;
        step_mm = -scene->ride.shift_mm + sqrt(2.0 * radius_mm * deepest_mm);
        return fmin(climb_mm, step_mm);
    }
    /* Level cup: its face rises above the top, above the step, or is off the part with all of the rim. */
    cusp_mm = cusp_at_mm(scene, front->half_width_mm) / slope;
    climb_mm = back_mm + cusp_mm;
    step_mm = -scene->ride.shift_mm + cusp_mm + deepest_mm / slope;
    if (climb > slope) /* a bowed top climbs faster than the face falls: only the step's way out is sure */
        climb_mm = step_mm;
    return fmin(radius_mm, fmin(climb_mm, step_mm));
}

static struct ends ends_for(const struct tw_scene *scene, double deepest_mm, const struct front *front,
                            bool turn_at_front)
{
    double radius_mm = scene->radius_mm, over_mm = scene->job->travel.overtravel_mm, shift_mm = scene->ride.shift_mm;
    struct ends ends = { .front_need_mm = -shift_mm, .back_need_mm = shift_mm, .back_off_mm = shift_mm + over_mm };

    if (tw_scene_rim_is_coplanar(scene)) {
        /* The rim's arc has to reach the corners of the stock beside the centre line. */
        double reach_mm = sqrt(fmax(0.0, radius_mm * radius_mm - front->half_width_mm * front->half_width_mm));

        ends.front_need_mm = -reach_mm;
        ends.back_need_mm = -reach_mm;
        /* On a tilted head only the rim's side towards the taper start is down: all of it has to clear the butt. */
        if (scene->job->machine.head_tilt_rad > 0.0)
            ends.back_need_mm = radius_mm;
        ends.back_off_mm = radius_mm + over_mm;
        ends.front_off_mm = turn_at_front ? radius_mm + over_mm : -reach_mm + over_mm;
        return ends;
    }
    ends.front_off_mm = front_off_mm(scene, deepest_mm, front) + over_mm;
    if (scene->job->wheel.kind == TW_WHEEL_CUP) /* only the uphill edge is down at the plane */
        ends.front_need_mm += cusp_at_mm(scene, front->half_width_mm) / scene->face.slope;
    else /* a disc leaves a step of the full depth at the back after sqrt(2 R a) */
        ends.back_off_mm += sqrt(2.0 * radius_mm * deepest_mm);
    return ends;
}

/* What an obstacle leaves a lane short of. */
struct shortfall {
    struct tw_block block;
    double y_mm;
    bool at_front;
    double missing_mm; /* 0: the lane can do its work */
    bool by_band;      /* nothing would be missing were no blank thicker than stated */
};

static enum tw_status blocked(const struct tw_scene *scene, const struct shortfall *shortfall)
{
    const struct tw_block *block = &shortfall->block;
    struct tw_place at = { .file = scene->job->path };

    return tw_fail(
        scene->findings, TW_NO_PLAN, at,
        "side %s: %s forbids the lane at y = %.3f mm from x = %.3f to %.3f mm, and the wheel must get %.3f mm "
        "farther %s to finish the stock there; %s%s",
        tw_side_letter(scene->face.side), block->keep_out->name, shortfall->y_mm, block->from_x_mm, block->to_x_mm,
        shortfall->missing_mm, shortfall->at_front ? "forwards (towards the ricasso)" : "back (past the butt)",
        tw_scene_advice(scene, block->keep_out), tw_scene_band_advice(shortfall->by_band));
}

static void note_shortfall(struct shortfall *worst, const struct tw_block *block, double y_mm, bool at_front,
                           double missing_mm, double missing_as_stated_mm)
{
    if (missing_mm > worst->missing_mm)
        *worst = (struct shortfall){ *block, y_mm, at_front, missing_mm, missing_as_stated_mm <= 0.0 };
}

/* An obstacle over the middle of the lane: it is taken to stand at that end where it costs less. */
static void choose_end(double front_need_mm, double back_need_mm, double middle_mm, struct tw_block *front,
                       struct tw_block *back)
{
    bool over_middle = front->keep_out && front->to_x_mm >= middle_mm - TOUCH_MM && back->keep_out &&
                       back->from_x_mm <= middle_mm + TOUCH_MM;

    if (!over_middle)
        return;
    front->from_x_mm = back->from_x_mm = fmin(front->from_x_mm, back->from_x_mm);
    front->to_x_mm = back->to_x_mm = fmax(front->to_x_mm, back->to_x_mm);
    if (front->to_x_mm - front_need_mm <= back_need_mm - back->from_x_mm)
        back->keep_out = NULL;
    else
        front->keep_out = NULL;
}

/* Sets the lane's ends, shortened where an obstacle stands beyond what the lane needs. */
static enum tw_status set_ends(const struct tw_scene *scene, double bottom_mm, struct ends ends, struct tw_lane *lane,
                               struct shortfall *shortfall)
{
    /* With a wheel larger than the layer is long the needs may cross: then neither asks for more than the other. */
    double front_need_mm = fmin(lane->span_front_mm - ends.front_need_mm, lane->back_off_mm);
    double back_need_mm = fmax(lane->span_back_mm + ends.back_need_mm, lane->front_off_mm);
    double stated_need_mm =
        fmin(fmax(lane->span_front_mm, scene->face.start_mm) - ends.front_need_mm, lane->back_off_mm);
    double middle_mm = (front_need_mm + back_need_mm) / 2.0;
    struct tw_block front, back;
    enum tw_status status = tw_obstacle_on_lane(scene, bottom_mm, lane->y_mm, middle_mm, lane->front_off_mm, &front);

    lane->front_end_mm = lane->front_off_mm;
    lane->back_end_mm = lane->back_off_mm;
    if (status == TW_OK)
        status = tw_obstacle_on_lane(scene, bottom_mm, lane->y_mm, middle_mm, lane->back_off_mm, &back);
    if (status != TW_OK)
        return status;
    choose_end(front_need_mm, back_need_mm, middle_mm, &front, &back);
    if (front.keep_out) {
        lane->front_obstacle = front.keep_out;
        lane->front_end_mm = tw_scene_grid_x_at_or_after_mm(scene, front.to_x_mm);
        note_shortfall(shortfall, &front, lane->y_mm, true, lane->front_end_mm - front_need_mm,
                       lane->front_end_mm - stated_need_mm);
    }
    if (back.keep_out) {
        lane->back_obstacle = back.keep_out;
        lane->back_end_mm = tw_scene_grid_x_at_or_before_mm(scene, back.from_x_mm);
        note_shortfall(shortfall, &back, lane->y_mm, false, back_need_mm - lane->back_end_mm,
                       back_need_mm - lane->back_end_mm);
    }
    return TW_OK;
}

/* A coplanar cup that does not turn at the front ends where its rim has reached the corners of the lane's own stock; what
 * stands farther aside, for the lanes beside it to finish, its rim may still be in. */
static double out_of_all_mm(const struct tw_scene *scene, const struct tw_box *stock, const struct tw_lane *lane)
{
    double aside_mm = fmax(lane->y_mm - stock->min_y_mm, stock->max_y_mm - lane->y_mm);

    return stock->min_x_mm + sqrt(fmax(0.0, scene->radius_mm * scene->radius_mm - aside_mm * aside_mm));
}

/* Where a coplanar cup stands astride the lane's stock, with the overtravel to spare ahead of it and behind it; HUGE_VAL where
 * the hollow is too small for it, or something stands in the way ahead. */
static enum tw_status find_astride(const struct tw_scene *scene, double bottom_mm, const struct tw_box *stock,
                                   struct tw_lane *lane)
{
    const struct tw_wheel *wheel = &scene->job->wheel;
    double hollow_mm = scene->radius_mm - wheel->rim_width_mm, over_mm = scene->job->travel.overtravel_mm;
    double aside_mm = fmax(lane->y_mm - stock->min_y_mm, stock->max_y_mm - lane->y_mm) + TW_ASTRIDE_ASIDE_MM, reach_mm;
    struct tw_block block;
    enum tw_status status;

    if (!tw_scene_rim_is_coplanar(scene) || aside_mm >= hollow_mm)
        return TW_OK;
    reach_mm = sqrt(hollow_mm * hollow_mm - aside_mm * aside_mm) - over_mm;
    if (stock->max_x_mm - reach_mm > stock->min_x_mm + reach_mm - scene->step_mm)
        return TW_OK;
    status = tw_obstacle_on_lane(scene, bottom_mm, lane->y_mm, lane->back_off_mm, stock->min_x_mm + reach_mm, &block);
    if (status != TW_OK || block.keep_out)
        return status;
    lane->astride_mm = tw_scene_grid_x_at_or_before_mm(scene, stock->min_x_mm + reach_mm);
    lane->front_touch_mm = lane->astride_mm + over_mm;
    return TW_OK;
}

/* ---- the lanes of a layer ---- */

/* y of lane i of n over stock from y0 to y1: the outer lanes just cover the edges. */
static double lane_y_mm(double y0, double y1, double half_mm, size_t i, size_t n)
{
    double first = y0 + half_mm, last = y1 - half_mm;

    return n == 1 ? (y0 + y1) / 2.0 : first + (last - first) * (double)i / (double)(n - 1);
}

/* One layer's lanes are laid with this. */
struct layer_need {
    double bottom_mm, deepest_mm;
    bool turn_at_front;
    double half_mm; /* width that a lane has to finish on either side of it */
};

/* One lane at y, if there is stock under it; what an obstacle takes from it stands in *shortfall. */
static enum tw_status lay_lane(const struct tw_scene *scene, const struct layer_need *need, double y_mm,
                               struct tw_lanes *out, struct shortfall *shortfall)
{
    double cover_mm = need->half_mm + OVERLAP_MM / 2.0;
    double body_mm = scene->job->wheel.kind == TW_WHEEL_DISC ? scene->job->wheel.width_mm / 2.0 : scene->radius_mm;
    double over_mm = scene->job->travel.overtravel_mm;
    struct tw_lane lane = { .y_mm = y_mm };
    struct tw_box cover, body;
    struct front front;
    struct ends ends;
    enum tw_status status;

    if (!stock_between(scene, need->bottom_mm, y_mm - cover_mm, y_mm + cover_mm, &cover))
        return TW_OK;
    if (!met_between(scene, need->bottom_mm, y_mm - body_mm, y_mm + body_mm, &body))
        body = cover;
    lane.span_front_mm = cover.min_x_mm;
    lane.span_back_mm = cover.max_x_mm;
    lane.engaged_mm = body.max_y_mm - body.min_y_mm;
    front = (struct front){ .layer_mm = tw_face_reach_mm(&scene->face, need->bottom_mm),
                            .stock_mm = fmin(body.min_x_mm, cover.min_x_mm),
                            .half_width_mm = fmin(cover_mm, fmax(y_mm - cover.min_y_mm, cover.max_y_mm - y_mm)) };
    if (tw_scene_rim_is_coplanar(scene))
        front.stock_mm = fmin(front.stock_mm, tw_scene_front_mm(scene, need->bottom_mm));
    ends = ends_for(scene, need->deepest_mm, &front, need->turn_at_front);
    lane.front_off_mm = tw_scene_grid_x_at_or_before_mm(scene, front.stock_mm - ends.front_off_mm);
    lane.back_off_mm = tw_scene_grid_x_at_or_after_mm(scene, fmax(body.max_x_mm, cover.max_x_mm) + ends.back_off_mm);
    lane.front_touch_mm = lane.front_done_mm = lane.front_off_mm + over_mm;
    if (tw_scene_rim_is_coplanar(scene) && !need->turn_at_front)
        lane.front_done_mm = fmin(lane.front_done_mm, out_of_all_mm(scene, &body, &lane));
    lane.back_touch_mm = lane.back_done_mm = lane.back_off_mm - over_mm;
    if (scene->job->wheel.kind == TW_WHEEL_DISC) /* which leaves no step behind it there */
        lane.back_done_mm = fmax(body.max_x_mm, cover.max_x_mm) + scene->ride.shift_mm;
    status = set_ends(scene, need->bottom_mm, ends, &lane, shortfall);
    lane.astride_mm = HUGE_VAL;
    if (status == TW_OK && !need->turn_at_front)
        status = find_astride(scene, need->bottom_mm, &body, &lane);
    if (status == TW_OK)
        out->lanes[out->count++] = lane;
    return status;
}

static enum tw_status too_many(const struct tw_scene *scene, size_t count)
{
    struct tw_place at = { .file = scene->job->path };

    return tw_fail(scene->findings, TW_NO_PLAN, at,
                   "%zu lanes would be needed across the tang, more than %d; take a wider wheel, a larger "
                   "crossfeed ratio or, for a cup in the level mount, a larger flatness tolerance or the tilted mount",
                   count, TW_LANES_MOST);
}

/* A single lane may stand anywhere between just covering one edge and just covering the other: where the middle
 * is hindered by something beside the tang, a place to the side may be free. */
static enum tw_status lay_single(const struct tw_scene *scene, const struct layer_need *need, const struct tw_box *all,
                                 struct tw_lanes *out, struct shortfall *missed)
{
    static const double places[] = { 0.5, 0.0, 1.0, 0.25, 0.75 };
    double low = all->max_y_mm - need->half_mm, high = all->min_y_mm + need->half_mm;
    struct tw_lane best = { 0 };
    bool possible = false, is_free = false;

    for (size_t i = 0; i < sizeof places / sizeof *places && !is_free; i++) {
        double y_mm = tw_scene_round_mm(scene, low + (high - low) * places[i]);
        struct shortfall shortfall = { 0 };
        enum tw_status status;

        out->count = 0;
        status = lay_lane(scene, need, y_mm, out, &shortfall);
        if (status != TW_OK || out->count == 0)
            return status;
        if (i == 0)
            *missed = shortfall;
        is_free = !out->lanes[0].front_obstacle && !out->lanes[0].back_obstacle;
        if (is_free || (shortfall.missing_mm <= 0.0 && !possible))
            best = out->lanes[0];
        possible |= shortfall.missing_mm <= 0.0;
    }
    if (possible) {
        *missed = (struct shortfall){ 0 };
        out->lanes[0] = best;
    }
    return TW_OK;
}

/* Equal lanes of a disc: each stands out over what the one before it has ground, the first over the edge. */
static enum tw_status lay_equal(const struct tw_scene *scene, const struct layer_need *need, const struct tw_box *all,
                                struct tw_lane_rule rule, struct tw_lanes *out, struct shortfall *missed)
{
    double width_mm = all->max_y_mm - all->min_y_mm, half_mm = need->half_mm;
    /* No lane takes more than it covers, or the first would not reach the edge. */
    size_t n = (size_t)fmax(1.0, ceil(width_mm / fmin(rule.crossfeed_mm, 2.0 * half_mm) - 1e-9));

    for (size_t i = 0; i < n && missed->missing_mm <= 0.0; i++) {
        double reached_mm = width_mm * (double)(i + 1) / (double)n;
        double y_mm = rule.downwards ? all->max_y_mm - reached_mm + half_mm : all->min_y_mm + reached_mm - half_mm;
        enum tw_status status = lay_lane(scene, need, tw_scene_round_mm(scene, y_mm), out, missed);

        if (status != TW_OK)
            return status;
        if (out->count > 0)
            out->lanes[out->count - 1].engaged_mm =
                fmin(out->lanes[out->count - 1].engaged_mm, fresh_mm(scene, width_mm / (double)n, false));
    }
    return TW_OK;
}

static enum tw_status lay_several(const struct tw_scene *scene, const struct layer_need *need, const struct tw_box *all,
                                  size_t n, struct tw_lanes *out, struct shortfall *missed)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; status == TW_OK && i < n && missed->missing_mm <= 0.0; i++)
        status = lay_lane(scene, need,
                          tw_scene_round_mm(scene, lane_y_mm(all->min_y_mm, all->max_y_mm, need->half_mm, i, n)), out,
                          missed);
    return status;
}

/* The narrower the width that a coplanar rim has to finish, the earlier it has: where something in the way leaves the lanes
 * short of that, a few more of them may do. The nearest miss is named. */
static enum tw_status lay_enough(const struct tw_scene *scene, struct layer_need need, const struct tw_box *all,
                                 size_t n, struct tw_lanes *out, struct shortfall *short_by)
{
    size_t most = n + (tw_scene_rim_is_coplanar(scene) ? MORE_LANES : 0);
    struct shortfall nearest = { .missing_mm = HUGE_VAL };

    for (; n <= most && n <= TW_LANES_MOST; n++) {
        struct shortfall missed = { 0 };
        enum tw_status status;

        out->count = 0;
        status = n == 1 ? lay_single(scene, &need, all, out, &missed) : lay_several(scene, &need, all, n, out, &missed);
        if (status != TW_OK || missed.missing_mm <= 0.0)
            return status;
        if (missed.missing_mm < nearest.missing_mm)
            nearest = missed;
        need.half_mm = fmin(need.half_mm, (all->max_y_mm - all->min_y_mm) / (double)(2 * (n + 1)) + OVERLAP_MM / 2.0);
    }
    *short_by = nearest;
    return TW_OK;
}

/* The ridges: between the lanes, and beside the outer ones up to the edges. */
static void measure(const struct tw_scene *scene, const struct tw_box *all, struct tw_lanes *lanes)
{
    double off_mm, beside_mm[2] = { HUGE_VAL, HUGE_VAL };

    for (size_t i = 1; i < lanes->count; i++)
        lanes->pitch_mm = fmax(lanes->pitch_mm, fabs(lanes->lanes[i].y_mm - lanes->lanes[i - 1].y_mm));
    if (lanes->count == 0 || !is_level_cup(scene))
        return;
    for (size_t i = 0; i < lanes->count; i++) {
        beside_mm[0] = fmin(beside_mm[0], lanes->lanes[i].y_mm - all->min_y_mm);
        beside_mm[1] = fmin(beside_mm[1], all->max_y_mm - lanes->lanes[i].y_mm);
    }
    off_mm = fmax(lanes->pitch_mm / 2.0, fmax(beside_mm[0], beside_mm[1]));
    lanes->cusp_mm = cusp_at_mm(scene, off_mm);
}

static size_t count_over(const struct tw_scene *scene, struct tw_lane_rule rule, const struct tw_box *all)
{
    double width_mm = all->max_y_mm - all->min_y_mm;

    return are_equal(rule) ? (size_t)(width_mm / rule.crossfeed_mm) + 1 : lane_count(scene, rule, width_mm);
}

static enum tw_status lay_over(const struct tw_scene *scene, const struct layer_need *need, const struct tw_box *all,
                               struct tw_lane_rule rule, struct tw_lanes *out, struct shortfall *missed)
{
    *missed = (struct shortfall){ 0 };
    out->count = 0;
    if (are_equal(rule))
        return lay_equal(scene, need, all, rule, out, missed);
    return lay_enough(scene, *need, all, count_over(scene, rule, all), out, missed);
}

enum tw_status tw_lanes_lay(const struct tw_scene *scene, struct tw_lane_rule rule, double bottom_mm, double deepest_mm,
                            bool turn_at_front, struct tw_lanes *out)
{
    struct layer_need need = { bottom_mm, deepest_mm, turn_at_front, half_cover_mm(scene) };
    struct shortfall missed = { 0 };
    struct tw_box all, wide;
    enum tw_status status;

    out->count = 0;
    out->pitch_mm = out->cusp_mm = 0.0;
    if (!stock_between(scene, bottom_mm, -1e4, 1e4, &all))
        return TW_OK;
    /* A cup in the level mount leaves ridges between its lanes, and a coplanar one a rim's outline in the blade: the lanes
     * of all layers lie over each other, so that no pass meets that on top of its own depth. */
    if (is_level_cup(scene) || (tw_scene_rim_is_coplanar(scene) && rule.ahead))
        all = tw_ring_box(&scene->tang.outer);
    wide = all;
    wide.min_y_mm -= beside_mm(scene, all.max_y_mm - all.min_y_mm);
    wide.max_y_mm += beside_mm(scene, all.max_y_mm - all.min_y_mm);
    if (count_over(scene, rule, &wide) > TW_LANES_MOST)
        return too_many(scene, count_over(scene, rule, &wide));
    status = lay_over(scene, &need, &wide, rule, out, &missed);
    if (status == TW_OK && missed.missing_mm > 0.0 && wide.min_y_mm < all.min_y_mm) /* a stop stands close beside it */
        status = lay_over(scene, &need, &all, rule, out, &missed);
    if (status == TW_OK && missed.missing_mm > 0.0)
        status = blocked(scene, &missed);
    measure(scene, &all, out);
    return status;
}
