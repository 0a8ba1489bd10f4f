/* string.c - the covers of all layers strung together to the moves of one part. */
#include "plan/ways/string.h"

#include "plan/scene/obstacle.h"

#include <math.h>
#include <stdlib.h>

/* Where a lane must end against an obstacle the wheel stays this long to grind out its last depth. */
#define SHORT_END_DWELL_S 0.5

/* Nearer to the steel than this the wheel goes at the lane's table speed; farther off faster, if that far pays. */
#define CLEAR_OF_STEEL_MM 0.5
#define WORTH_HASTE_MM    1.0
#define WORTH_FASTER      1.1

/* One traverse of a lane, in the order of grinding. */
struct traverse {
    size_t layer;
    const struct tw_lane *lane;
    double table_mm_per_s;
};

struct stringing {
    const struct tw_scene *scene;
    const struct tw_cover *covers;
    size_t cover_count;
    struct tw_setup_plan *out;
    struct tw_path path;
    struct traverse *traverses;
    size_t traverse_count;
    enum tw_status status; /* of what was asked of GEOS on the way */
};

static const struct tw_cover *cover_of(const struct stringing *stringing, size_t layer)
{
    return &stringing->covers[layer < stringing->cover_count ? layer : stringing->cover_count - 1];
}

static double plane_z_mm(const struct stringing *stringing, size_t layer, double x_mm)
{
    return tw_scene_z_mm(stringing->scene, stringing->out->layers[layer].bottom_mm, x_mm);
}

/* Puts all lanes in order: each layer from the side nearest to where the last one ended, unless its lanes have an order. */
static enum tw_status order_lanes(struct stringing *stringing)
{
    double at_y_mm = 0.0;
    size_t total = 0;

    for (size_t layer = 0; layer < stringing->out->layer_count; layer++)
        total += cover_of(stringing, layer)->lane_count;
    stringing->traverses = malloc((total ? total : 1) * sizeof *stringing->traverses);
    if (!stringing->traverses)
        return tw_no_memory(stringing->scene->findings);
    for (size_t layer = 0; layer < stringing->out->layer_count; layer++) {
        const struct tw_layer *now = &stringing->out->layers[layer];
        const struct tw_lane *lanes = cover_of(stringing, layer)->lanes;
        size_t count = cover_of(stringing, layer)->lane_count;
        bool upwards = count == 0 || fabs(lanes[0].y_mm - at_y_mm) <= fabs(lanes[count - 1].y_mm - at_y_mm);

        upwards |= cover_of(stringing, layer)->ordered && now->kind != TW_LAYER_SPARK_OUT;

        for (size_t i = 0; i < count; i++) {
            const struct tw_lane *lane = &lanes[upwards ? i : count - 1 - i];

            stringing->traverses[stringing->traverse_count++] =
                (struct traverse){ layer, lane, i == 0 ? now->table_mm_per_s : now->later_mm_per_s };
            at_y_mm = lane->y_mm;
        }
    }
    return TW_OK;
}

/* Whether the wheel comes to the part for a pass of this layer, its last pass being one of layer `before`; -1: none. */
static bool comes_for(const struct stringing *stringing, long before, size_t layer)
{
    bool comes = before < 0;

    for (size_t i = before < 0 ? 0 : (size_t)before + 1; i <= layer; i++)
        comes |= stringing->out->layers[i].comes;
    return comes;
}

static void run_to(struct stringing *stringing, const struct traverse *now, enum tw_move_role role, double x_mm,
                   double feed_mm_per_s)
{
    tw_path_feed(&stringing->path, role, x_mm, now->lane->y_mm, plane_z_mm(stringing, now->layer, x_mm), feed_mm_per_s);
}

/* Along the lane to x: at its table speed where there may be steel, else as fast as the machine feeds. */
static void cut_to(struct stringing *stringing, const struct traverse *now, double x_mm)
{
    const struct tw_scene *scene = stringing->scene;
    const struct tw_lane *lane = now->lane;
    double from_mm = stringing->path.at.x_mm, fast = tw_fastest_table_mm_per_s(scene->job);
    bool forwards = x_mm < from_mm;
    double ahead_mm = forwards ? lane->front_done_mm : lane->front_touch_mm;
    double behind_mm = forwards ? lane->back_touch_mm : lane->back_done_mm;
    double front_mm = tw_scene_grid_x_at_or_before_mm(scene, ahead_mm - CLEAR_OF_STEEL_MM);
    double back_mm = tw_scene_grid_x_at_or_after_mm(scene, behind_mm + CLEAR_OF_STEEL_MM);
    double enter_mm = forwards ? back_mm : front_mm, leave_mm = forwards ? front_mm : back_mm;
    double way = forwards ? -1.0 : 1.0;

    if (fast < WORTH_FASTER * now->table_mm_per_s) {
        run_to(stringing, now, TW_ROLE_CUT, x_mm, now->table_mm_per_s);
        return;
    }
    if (way * (enter_mm - from_mm) >= WORTH_HASTE_MM)
        run_to(stringing, now, TW_ROLE_OVER, enter_mm, fast);
    if (way * (x_mm - leave_mm) < WORTH_HASTE_MM)
        leave_mm = x_mm;
    run_to(stringing, now, TW_ROLE_CUT, leave_mm, now->table_mm_per_s);
    run_to(stringing, now, TW_ROLE_OVER, x_mm, fast);
}

/* x at which the wheel can go from one lane to the other, off all the stock that it passes over. */
static double crossing_x_mm(const struct stringing *stringing, struct traverse from, struct traverse to, bool at_back)
{
    const struct tw_lane *a = from.lane, *b = to.lane;
    const struct tw_cover *cover = cover_of(stringing, to.layer);
    double low = fmin(a->y_mm, b->y_mm), high = fmax(a->y_mm, b->y_mm);
    double x_mm = at_back ? fmax(a->back_off_mm, b->back_off_mm) : fmin(a->front_off_mm, b->front_off_mm);

    for (size_t i = 0; i < cover->lane_count; i++) {
        const struct tw_lane *lane = &cover->lanes[i];

        if (lane->y_mm >= low && lane->y_mm <= high)
            x_mm = at_back ? fmax(x_mm, lane->back_off_mm) : fmin(x_mm, lane->front_off_mm);
    }
    return x_mm;
}

/* Both ways: each lane runs to where the crossing to the next one is free; there across, then down. */
static void string_both_ways(struct stringing *stringing)
{
    const struct tw_scene *scene = stringing->scene;
    struct tw_path *path = &stringing->path;
    bool at_back = true;

    for (size_t i = 0; i < stringing->traverse_count; i++) {
        struct traverse now = stringing->traverses[i];
        double y_mm = now.lane->y_mm, x_mm = i == 0 ? now.lane->back_off_mm : path->at.x_mm;
        double z_mm = plane_z_mm(stringing, now.layer, x_mm);
        bool comes = comes_for(stringing, path->layer, now.layer);

        path->layer = (int)now.layer;
        if (comes) {
            tw_path_enter(path, x_mm, y_mm);
            tw_path_descend(path, x_mm, y_mm, z_mm, scene->clear_z_mm, z_mm + scene->job->travel.approach_mm);
        }
        tw_path_feed(path, TW_ROLE_ACROSS, x_mm, y_mm, path->at.z_mm, tw_path_across_mm_per_s(scene));
        tw_path_feed(path, TW_ROLE_INFEED, x_mm, y_mm, z_mm, tw_path_infeed_mm_per_s(scene));
        at_back = !at_back;
        x_mm = at_back ? now.lane->back_off_mm : now.lane->front_off_mm;
        if (i + 1 < stringing->traverse_count)
            x_mm = crossing_x_mm(stringing, now, stringing->traverses[i + 1], at_back);
        cut_to(stringing, &now, x_mm);
    }
}

static double return_lift_mm(const struct stringing *stringing)
{
    const struct tw_travel *travel = &stringing->scene->job->travel;

    return fmin(travel->return_lift_mm, travel->approach_mm);
}

/* Height of the way back from where the wheel is to over x, y: the ground under it has been swept down to this layer's
 * plane, or stands one depth higher beside the lane, so that only a keep-out in the way makes the wheel rise above all. */
static double return_z_mm(struct stringing *stringing, size_t layer, double x_mm, double y_mm)
{
    const struct tw_scene *scene = stringing->scene;
    const struct tw_keep_out *hit;
    struct tw_place3 at = stringing->path.at, to = { x_mm, y_mm, 0.0 };
    double swept_mm = fmax(plane_z_mm(stringing, layer, at.x_mm), plane_z_mm(stringing, layer, x_mm));
    double over_mm = stringing->out->layers[layer].depth_mm + return_lift_mm(stringing);

    at.z_mm = to.z_mm = tw_scene_round_up_mm(scene, swept_mm + over_mm);
    if (at.z_mm >= scene->hop_z_mm || stringing->status != TW_OK)
        return scene->hop_z_mm;
    stringing->status = tw_obstacle_on_move(scene, at, to, &hit);
    return hit ? scene->hop_z_mm : at.z_mm;
}

/* Lifted, from the end of one pass back to over the start of the next one, at x, y. */
static double lift_mm(struct stringing *stringing, size_t layer, double x_mm, double y_mm)
{
    struct tw_path *path = &stringing->path;
    double z_mm = return_z_mm(stringing, layer, x_mm, y_mm);

    tw_path_rapid(path, TW_ROLE_RETURN, path->at.x_mm, path->at.y_mm, z_mm);
    return z_mm;
}

/* Whether the wheel can go on from the end of this forward pass astride the next layer. */
static bool turns_astride(const struct stringing *stringing, size_t i)
{
    struct traverse now = stringing->traverses[i], next;

    if (stringing->out->style != TW_STYLE_FROM_BUTT || i + 1 >= stringing->traverse_count)
        return false;
    next = stringing->traverses[i + 1];
    return next.lane->astride_mm < HUGE_VAL && next.layer != now.layer &&
           !comes_for(stringing, (long)now.layer, next.layer) &&
           fabs(next.lane->y_mm - now.lane->y_mm) <= TW_ASTRIDE_ASIDE_MM;
}

/* Off the stock to x on this lane, and down to its plane there. */
static void go_down(struct stringing *stringing, const struct traverse *now, double x_mm)
{
    const struct tw_scene *scene = stringing->scene;
    struct tw_path *path = &stringing->path;

    path->layer = (int)now->layer;
    tw_path_feed(path, TW_ROLE_ACROSS, x_mm, now->lane->y_mm, path->at.z_mm, tw_path_across_mm_per_s(scene));
    tw_path_feed(path, TW_ROLE_INFEED, x_mm, now->lane->y_mm, plane_z_mm(stringing, now->layer, x_mm),
                 tw_path_infeed_mm_per_s(scene));
}

/* Over x, y and down to z, where a pass of this layer starts: coming to the part, or lifted from the end of the last one. */
static void start_pass(struct stringing *stringing, size_t layer, double x_mm, double y_mm, double z_mm)
{
    struct tw_path *path = &stringing->path;
    bool comes = comes_for(stringing, path->layer, layer);
    double over_z_mm = comes ? stringing->scene->hop_z_mm : lift_mm(stringing, (size_t)path->layer, x_mm, y_mm);
    double near_mm = comes ? stringing->scene->job->travel.approach_mm : return_lift_mm(stringing);

    path->layer = (int)layer;
    if (comes)
        tw_path_enter(path, x_mm, y_mm);
    tw_path_descend(path, x_mm, y_mm, z_mm, over_z_mm, z_mm + near_mm);
}

/* One way: down off the part, along the lane, lifted and back; or, where a cup stands astride the next layer when it has
 * done this one, down to that one and back cutting it. */
static void string_one_way(struct stringing *stringing)
{
    bool from_butt = stringing->out->style == TW_STYLE_FROM_BUTT, cut_back = false;

    for (size_t i = 0; i < stringing->traverse_count; i++) {
        const struct traverse *now = &stringing->traverses[i], *next = now + 1;
        const struct tw_lane *lane = now->lane;
        double start_mm = from_butt ? lane->back_off_mm : lane->front_off_mm;

        if (cut_back && !comes_for(stringing, stringing->path.layer, now->layer))
            go_down(stringing, now, fmax(start_mm, stringing->path.at.x_mm));
        else
            start_pass(stringing, now->layer, start_mm, now->lane->y_mm, plane_z_mm(stringing, now->layer, start_mm));
        cut_back = turns_astride(stringing, i);
        if (cut_back) {
            cut_to(stringing, now, next->lane->astride_mm);
            go_down(stringing, next, next->lane->astride_mm);
            cut_to(stringing, next, next->lane->back_off_mm);
            i++;
            continue;
        }
        cut_to(stringing, now, from_butt ? lane->front_end_mm : lane->back_end_mm);
        if (from_butt ? lane->front_obstacle != NULL : lane->back_obstacle != NULL)
            tw_path_dwell(&stringing->path, TW_ROLE_CUT, SHORT_END_DWELL_S);
    }
}

static void string_loops(struct stringing *stringing)
{
    struct tw_path *path = &stringing->path;

    for (size_t layer = 0; layer < stringing->out->layer_count; layer++) {
        const struct tw_loops *loops = &cover_of(stringing, layer)->loops;
        double z_mm = plane_z_mm(stringing, layer, 0.0); /* loops are only laid on level planes */

        if (loops->count == 0)
            continue;
        start_pass(stringing, layer, loops->points[0].x_mm, loops->points[0].y_mm, z_mm);
        for (size_t i = 1; i < loops->count; i++)
            tw_path_feed(path, TW_ROLE_CUT, loops->points[i].x_mm, loops->points[i].y_mm, z_mm,
                         stringing->out->layers[layer].table_mm_per_s);
    }
}

static void count_passes(struct stringing *stringing)
{
    struct tw_setup_plan *out = stringing->out;

    for (size_t i = 0; i < out->layer_count; i++) {
        const struct tw_cover *cover = cover_of(stringing, i);
        double pass_mm = cover->stock_mm / fmax(1.0, cover->passes);

        out->pass_count += cover->passes;
        out->cut_time_s += pass_mm / out->layers[i].table_mm_per_s;
        out->cut_time_s += (cover->stock_mm - pass_mm) / out->layers[i].later_mm_per_s;
    }
}

enum tw_status tw_string_covers(const struct tw_scene *scene, const struct tw_cover *covers, size_t cover_count,
                                struct tw_setup_plan *out)
{
    struct stringing stringing = { .scene = scene, .covers = covers, .cover_count = cover_count, .out = out };
    enum tw_status status = order_lanes(&stringing);

    if (status != TW_OK)
        return status;
    tw_path_open(&stringing.path, scene, out);
    if (out->style == TW_STYLE_LOOPS)
        string_loops(&stringing);
    else if (out->style == TW_STYLE_BOTH_WAYS)
        string_both_ways(&stringing);
    else
        string_one_way(&stringing);
    count_passes(&stringing);
    free(stringing.traverses);
    return stringing.status == TW_OK ? tw_path_close(&stringing.path, NULL) : stringing.status;
}
