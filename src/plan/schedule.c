/* schedule.c - the layers of one setup, and the moves that grind them.
 *
 * Layers are chosen from the finished face upwards, so that a rest of less than a full depth falls to the
 * first, shortest layer at the butt. Each layer takes the table speed at which it removes depth fastest. */
#include "plan/schedule.h"

#include "base/memory.h"
#include "plan/lane.h"
#include "plan/path.h"
#include "tangwright/motion.h"

#include <math.h>
#include <stdlib.h>

/* Where a lane must end against an obstacle the wheel stays this long to grind out its last depth. */
#define SHORT_END_DWELL_S 0.5

/* The lanes of one layer: a stretch of the schedule's store. */
struct lane_group {
    size_t first, count;
    double pitch_mm, cusp_mm;
};

/* One traverse, in the order of grinding. */
struct traverse {
    size_t layer, lane; /* lane: index into the store */
};

struct schedule {
    const struct tw_scene *scene;
    enum tw_travel_style style;
    struct tw_cut_menu rough, finish;
    double deepest_mm;          /* deepest cut on either menu */
    double stock_mm;            /* highest stock above the face */
    struct tw_lane *store;      /* lanes of all layers */
    size_t store_count, store_capacity;
    struct lane_group *groups;  /* of each layer, in the order of out->layers */
    size_t group_capacity;
    struct traverse *traverses;
    size_t traverse_count, traverse_capacity;
    struct tw_setup_plan *out;
};

static bool lifts(enum tw_travel_style style)
{
    return style == TW_STYLE_FROM_BUTT || style == TW_STYLE_FROM_RICASSO;
}

/* ---- choosing the cuts ---- */

/* Seconds for one layer at this table speed: what depends on the speed, and the lifted returns. */
static double layer_time_s(const struct schedule *schedule, const struct tw_lanes *lanes, double table_mm_per_s)
{
    const struct tw_scene *scene = schedule->scene;
    const struct tw_machine *machine = &scene->job->machine;
    double time_s = 0.0;

    for (size_t i = 0; i < lanes->count; i++) {
        double run_mm = lanes->lanes[i].back_end_mm - lanes->lanes[i].front_end_mm;
        double back[3] = { run_mm, 0.0, 0.0 };
        double up[3] = { 0.0, 0.0, scene->hop_z_mm - scene->face.height_mm };
        double across[3] = { 0.0, lanes->pitch_mm, 0.0 };

        time_s += tw_motion_feed_time_s(machine, back, table_mm_per_s);
        if (lifts(schedule->style))
            time_s += tw_motion_rapid_time_s(machine, back) + 2.0 * tw_motion_rapid_time_s(machine, up);
        else
            time_s += tw_motion_feed_time_s(machine, across, tw_path_across_mm_per_s(scene));
    }
    return time_s;
}

/* The cut that takes the layer down fastest. */
static struct tw_cut fastest_cut(const struct schedule *schedule, const struct tw_cut_menu *menu,
                                 const struct tw_lanes *lanes)
{
    struct tw_cut best = menu->cuts[0];
    double best_rate = 0.0;

    for (size_t i = 0; i < menu->count; i++) {
        double rate = menu->cuts[i].depth_mm / layer_time_s(schedule, lanes, menu->cuts[i].table_mm_per_s);

        if (rate > best_rate) {
            best_rate = rate;
            best = menu->cuts[i];
        }
    }
    return best;
}

static enum tw_status add_layer(struct schedule *schedule, enum tw_layer_kind kind, double bottom_mm,
                                const struct tw_cut *cut, const struct lane_group *group)
{
    struct tw_setup_plan *out = schedule->out;
    struct tw_layer layer = {
        .kind = kind,
        .bottom_mm = bottom_mm,
        .depth_mm = cut->depth_mm,
        .table_mm_per_s = cut->table_mm_per_s,
        .front_mm = tw_face_reach_mm(&schedule->scene->face, bottom_mm),
        .lanes = (int)group->count,
        .peak_degC = cut->peak_degC,
        .power_W = cut->power_W,
        .force_N = cut->force_N,
        .boiled = cut->boiled,
        .binding = cut->binding,
    };

    for (size_t i = 0; i < group->count; i++)
        layer.engaged_mm = fmax(layer.engaged_mm, schedule->store[group->first + i].engaged_mm);
    if (!tw_grow((void **)&out->layers, &out->layer_capacity, out->layer_count + 1, sizeof *out->layers) ||
        !tw_grow((void **)&schedule->groups, &schedule->group_capacity, out->layer_count + 1, sizeof *schedule->groups))
        return tw_no_memory(schedule->scene->findings);
    schedule->groups[out->layer_count] = *group;
    out->layers[out->layer_count++] = layer;
    return TW_OK;
}

static enum tw_status keep_lanes(struct schedule *schedule, const struct tw_lanes *lanes, struct lane_group *group)
{
    *group = (struct lane_group){ schedule->store_count, lanes->count, lanes->pitch_mm, lanes->cusp_mm };
    if (!tw_grow((void **)&schedule->store, &schedule->store_capacity, schedule->store_count + lanes->count,
                 sizeof *schedule->store))
        return tw_no_memory(schedule->scene->findings);
    for (size_t i = 0; i < lanes->count; i++)
        schedule->store[schedule->store_count++] = lanes->lanes[i];
    return TW_OK;
}

/* The rest above the last full layer, in whole infeed steps. */
static double depth_within(const struct schedule *schedule, double depth_mm, double rest_mm)
{
    double step_mm = schedule->scene->infeed_step_mm;

    return rest_mm < depth_mm ? step_mm * ceil(rest_mm / step_mm - 1e-6) : depth_mm;
}

/* Lays the layer whose lower plane is at *bottom_mm, and moves that up to its top. */
static enum tw_status stack_on_lanes(struct schedule *schedule, enum tw_layer_kind kind, const struct tw_cut_menu *menu,
                                     const struct tw_cut_limits *limits, const struct tw_lanes *lanes,
                                     double *bottom_mm)
{
    const struct tw_scene *scene = schedule->scene;
    struct tw_cut cut = fastest_cut(schedule, menu, lanes);
    double depth_mm = depth_within(schedule, cut.depth_mm, schedule->stock_mm - *bottom_mm);
    struct lane_group group;
    enum tw_status status = keep_lanes(schedule, lanes, &group);

    if (status == TW_OK && depth_mm < cut.depth_mm) {
        status = tw_cut_estimate(scene->job, limits, depth_mm, cut.table_mm_per_s, tw_lanes_widest_mm(scene), &cut,
                                 scene->findings);
        cut.binding = TW_BINDS_STOCK;
    }
    if (status == TW_OK)
        status = add_layer(schedule, kind, *bottom_mm, &cut, &group);
    *bottom_mm += depth_mm;
    return status;
}

static enum tw_status stack_layer(struct schedule *schedule, enum tw_layer_kind kind, const struct tw_cut_menu *menu,
                                  const struct tw_cut_limits *limits, double *bottom_mm)
{
    struct tw_lanes *lanes = malloc(sizeof *lanes);
    enum tw_status status;

    if (!lanes)
        return tw_no_memory(schedule->scene->findings);
    status = tw_lanes_lay(schedule->scene, *bottom_mm, schedule->deepest_mm, schedule->style != TW_STYLE_FROM_BUTT, lanes);
    if (status == TW_OK && lanes->count > 0)
        status = stack_on_lanes(schedule, kind, menu, limits, lanes, bottom_mm);
    else
        *bottom_mm = schedule->stock_mm; /* nothing stands above: done */
    free(lanes);
    return status;
}

/* From the order of stacking (face upwards) to the order of grinding (top down). */
static void turn_over(struct schedule *schedule)
{
    struct tw_setup_plan *out = schedule->out;

    for (size_t i = 0, j = out->layer_count; i + 1 < j; i++) {
        struct tw_layer layer = out->layers[i];
        struct lane_group group = schedule->groups[i];

        j--;
        out->layers[i] = out->layers[j];
        out->layers[j] = layer;
        schedule->groups[i] = schedule->groups[j];
        schedule->groups[j] = group;
    }
}

static enum tw_status add_spark_out(struct schedule *schedule)
{
    enum tw_status status = TW_OK;

    for (int i = 0; status == TW_OK && i < schedule->scene->job->finish.spark_out; i++) {
        size_t last = schedule->out->layer_count - 1;
        struct tw_layer layer = schedule->out->layers[last];
        struct lane_group group = schedule->groups[last];
        /* Nothing new is fed in: the last layer's heat is an upper bound for what springs back. */
        struct tw_cut cut = { 0.0, layer.table_mm_per_s, layer.peak_degC, layer.power_W, layer.force_N, layer.boiled,
                              TW_BINDS_STOCK };

        status = add_layer(schedule, TW_LAYER_SPARK_OUT, layer.bottom_mm, &cut, &group);
    }
    return status;
}

static enum tw_status stack_layers(struct schedule *schedule, const struct tw_cut_limits *limits)
{
    double bottom_mm = 0.0, slack_mm = schedule->scene->infeed_step_mm * 1e-3;
    enum tw_status status = TW_OK;

    for (int i = 0; status == TW_OK && i < schedule->scene->job->finish.layers; i++)
        if (schedule->stock_mm - bottom_mm > slack_mm)
            status = stack_layer(schedule, TW_LAYER_FINISH, &schedule->finish, limits, &bottom_mm);
    while (status == TW_OK && schedule->stock_mm - bottom_mm > slack_mm)
        status = stack_layer(schedule, TW_LAYER_ROUGH, &schedule->rough, limits, &bottom_mm);
    if (status != TW_OK)
        return status;
    turn_over(schedule);
    return add_spark_out(schedule);
}

/* ---- stringing the lanes together ---- */

static double plane_z_mm(const struct schedule *schedule, size_t layer, double x_mm)
{
    return tw_scene_z_mm(schedule->scene, schedule->out->layers[layer].bottom_mm, x_mm);
}

/* Puts all lanes in order: each layer from the side nearest to where the last one ended. */
static enum tw_status order_lanes(struct schedule *schedule)
{
    double at_y_mm = 0.0;

    if (!tw_grow((void **)&schedule->traverses, &schedule->traverse_capacity,
                 schedule->store_count + schedule->out->layer_count * TW_LANES_MOST, sizeof *schedule->traverses))
        return tw_no_memory(schedule->scene->findings);
    for (size_t layer = 0; layer < schedule->out->layer_count; layer++) {
        const struct lane_group *group = &schedule->groups[layer];
        const struct tw_lane *lanes = &schedule->store[group->first];
        bool upwards = fabs(lanes[0].y_mm - at_y_mm) <= fabs(lanes[group->count - 1].y_mm - at_y_mm);

        for (size_t i = 0; i < group->count; i++) {
            size_t lane = group->first + (upwards ? i : group->count - 1 - i);

            schedule->traverses[schedule->traverse_count++] = (struct traverse){ layer, lane };
            at_y_mm = schedule->store[lane].y_mm;
        }
    }
    return TW_OK;
}

/* x at which the wheel can go from one lane to the other, off all the stock that it passes over. */
static double crossing_x_mm(const struct schedule *schedule, struct traverse from, struct traverse to, bool at_back)
{
    const struct tw_lane *a = &schedule->store[from.lane], *b = &schedule->store[to.lane];
    const struct lane_group *group = &schedule->groups[to.layer];
    double low = fmin(a->y_mm, b->y_mm), high = fmax(a->y_mm, b->y_mm);
    double x_mm = at_back ? fmax(a->back_off_mm, b->back_off_mm) : fmin(a->front_off_mm, b->front_off_mm);

    for (size_t i = 0; i < group->count; i++) {
        const struct tw_lane *lane = &schedule->store[group->first + i];

        if (lane->y_mm >= low && lane->y_mm <= high)
            x_mm = at_back ? fmax(x_mm, lane->back_off_mm) : fmin(x_mm, lane->front_off_mm);
    }
    return x_mm;
}

static void count_cut(struct schedule *schedule, struct traverse traverse)
{
    const struct tw_lane *lane = &schedule->store[traverse.lane];

    schedule->out->pass_count++;
    schedule->out->cut_time_s +=
        (lane->span_back_mm - lane->span_front_mm) / schedule->out->layers[traverse.layer].table_mm_per_s;
}

/* Both ways: each lane runs to where the crossing to the next one is free; there across, then down. */
static void string_both_ways(struct schedule *schedule, struct tw_path *path)
{
    const struct tw_scene *scene = schedule->scene;
    bool at_back = true;

    for (size_t i = 0; i < schedule->traverse_count; i++) {
        struct traverse now = schedule->traverses[i];
        const struct tw_lane *lane = &schedule->store[now.lane];
        double x_mm = i == 0 ? lane->back_off_mm : path->at.x_mm;

        path->layer = (int)now.layer;
        if (i == 0)
            tw_path_descend(path, x_mm, lane->y_mm, plane_z_mm(schedule, now.layer, x_mm), scene->clear_z_mm);
        tw_path_feed(path, TW_ROLE_ACROSS, x_mm, lane->y_mm, path->at.z_mm, tw_path_across_mm_per_s(scene));
        tw_path_feed(path, TW_ROLE_INFEED, x_mm, lane->y_mm, plane_z_mm(schedule, now.layer, x_mm),
                     tw_path_infeed_mm_per_s(scene));
        at_back = !at_back;
        x_mm = at_back ? lane->back_off_mm : lane->front_off_mm;
        if (i + 1 < schedule->traverse_count)
            x_mm = crossing_x_mm(schedule, now, schedule->traverses[i + 1], at_back);
        tw_path_feed(path, TW_ROLE_CUT, x_mm, lane->y_mm, plane_z_mm(schedule, now.layer, x_mm),
                     schedule->out->layers[now.layer].table_mm_per_s);
        count_cut(schedule, now);
    }
}

/* One way: down off the part, along the lane, lifted and back. */
static void string_one_way(struct schedule *schedule, struct tw_path *path)
{
    bool from_butt = schedule->style == TW_STYLE_FROM_BUTT;
    double hop_z_mm = schedule->scene->hop_z_mm;

    for (size_t i = 0; i < schedule->traverse_count; i++) {
        struct traverse now = schedule->traverses[i];
        const struct tw_lane *lane = &schedule->store[now.lane];
        double start_mm = from_butt ? lane->back_off_mm : lane->front_off_mm;
        double end_mm = from_butt ? lane->front_end_mm : lane->back_end_mm;

        path->layer = (int)now.layer;
        tw_path_descend(path, start_mm, lane->y_mm, plane_z_mm(schedule, now.layer, start_mm), hop_z_mm);
        tw_path_feed(path, TW_ROLE_CUT, end_mm, lane->y_mm, plane_z_mm(schedule, now.layer, end_mm),
                     schedule->out->layers[now.layer].table_mm_per_s);
        if (from_butt ? lane->front_obstacle != NULL : lane->back_obstacle != NULL)
            tw_path_dwell(path, TW_ROLE_CUT, SHORT_END_DWELL_S);
        tw_path_rapid(path, TW_ROLE_RETURN, end_mm, lane->y_mm, hop_z_mm);
        count_cut(schedule, now);
    }
}

/* ---- is the style possible here ---- */

static enum tw_status forbids_style(const struct schedule *schedule, const struct tw_keep_out *obstacle,
                                    const char *where)
{
    struct tw_place at = { .file = schedule->scene->job->path };

    return tw_fail(schedule->scene->findings, TW_NO_PLAN, at,
                   "side %s: %s leaves no room %s for the wheel to be fed down off the part; move the keep-out, lower "
                   "its top, or take a smaller wheel",
                   schedule->scene->face.side == TW_SIDE_A ? "A" : "B", obstacle->name, where);
}

static enum tw_status check_ends(const struct schedule *schedule)
{
    bool needs_back = schedule->style != TW_STYLE_FROM_RICASSO, needs_front = schedule->style != TW_STYLE_FROM_BUTT;

    for (size_t i = 0; i < schedule->store_count; i++) {
        const struct tw_lane *lane = &schedule->store[i];

        if (needs_back && lane->back_obstacle)
            return forbids_style(schedule, lane->back_obstacle, "behind the butt");
        if (needs_front && lane->front_obstacle)
            return forbids_style(schedule, lane->front_obstacle, "ahead of the stock");
    }
    return TW_OK;
}

static enum tw_status check_moves(const struct schedule *schedule)
{
    const struct tw_keep_out *hit;
    struct tw_place3 where;
    struct tw_place at = { .file = schedule->scene->job->path };
    enum tw_status status = tw_path_check(schedule->scene, schedule->out, &hit, &where);

    if (status != TW_OK || !hit)
        return status;
    return tw_fail(schedule->scene->findings, TW_NO_PLAN, at,
                   "side %s: the wheel would touch %s on its way to x = %.3f, y = %.3f, z = %.3f mm; move the keep-out, "
                   "lower its top, or take a smaller wheel",
                   schedule->scene->face.side == TW_SIDE_A ? "A" : "B", hit->name, where.x_mm, where.y_mm, where.z_mm);
}

/* ---- one setup ---- */

static void sum_up(struct schedule *schedule)
{
    struct tw_setup_plan *out = schedule->out;

    for (size_t i = 0; i < out->layer_count; i++) {
        out->peak_degC = fmax(out->peak_degC, out->layers[i].peak_degC);
        out->lane_pitch_mm = fmax(out->lane_pitch_mm, schedule->groups[i].pitch_mm);
    }
    if (out->layer_count > 0)
        out->cusp_mm = schedule->groups[out->layer_count - 1].cusp_mm;
    out->clear_z_mm = schedule->scene->clear_z_mm;
    out->finish_z_mm = tw_scene_z_mm(schedule->scene, 0.0, 0.0);
}

static enum tw_status fill_menus(struct schedule *schedule, const struct tw_cut_limits *limits)
{
    const struct tw_job *job = schedule->scene->job;
    double widest_mm = tw_lanes_widest_mm(schedule->scene);
    enum tw_status status = tw_cut_menu_fill(schedule->scene, limits, widest_mm, job->wheel.max_infeed_mm,
                                             TW_BINDS_WHEEL_INFEED, &schedule->rough);

    if (status == TW_OK)
        status = tw_cut_menu_fill(schedule->scene, limits, widest_mm,
                                  fmin(job->finish.infeed_mm, job->wheel.max_infeed_mm), TW_BINDS_FINISH_INFEED,
                                  &schedule->finish);
    for (size_t i = 0; status == TW_OK && i < schedule->rough.count; i++)
        schedule->deepest_mm = fmax(schedule->deepest_mm, schedule->rough.cuts[i].depth_mm);
    return status;
}

static enum tw_status measure_stock(struct schedule *schedule)
{
    const struct tw_scene *scene = schedule->scene;
    struct tw_place at = { .file = scene->job->path, .key = "finish.allowance" };
    double front_mm, back_mm;
    bool any;
    enum tw_status status = tw_lanes_span(scene, 0.0, -1e4, 1e4, &any, &front_mm, &back_mm);

    if (status != TW_OK)
        return status;
    schedule->stock_mm = any ? tw_face_stock_mm(&scene->face, back_mm) : 0.0;
    if (schedule->stock_mm > scene->infeed_step_mm * 0.5)
        return TW_OK;
    return tw_fail(scene->findings, TW_NO_PLAN, at,
                   "nothing is left to grind: the allowance of %.3f mm is all that the taper takes off a face",
                   scene->job->finish.allowance_mm);
}

enum tw_status tw_schedule_make(const struct tw_scene *scene, const struct tw_cut_limits *limits,
                                enum tw_travel_style style, struct tw_setup_plan *out)
{
    struct schedule schedule = { .scene = scene, .style = style, .out = out };
    struct tw_path path;
    enum tw_status status;

    out->face = scene->face;
    out->style = style;
    status = measure_stock(&schedule);
    if (status == TW_OK)
        status = fill_menus(&schedule, limits);
    if (status == TW_OK)
        status = stack_layers(&schedule, limits);
    if (status == TW_OK)
        status = check_ends(&schedule);
    if (status == TW_OK)
        status = order_lanes(&schedule);
    if (status == TW_OK) {
        tw_path_open(&path, scene, out);
        if (style == TW_STYLE_BOTH_WAYS)
            string_both_ways(&schedule, &path);
        else
            string_one_way(&schedule, &path);
        tw_path_rapid(&path, TW_ROLE_RETRACT, path.at.x_mm, path.at.y_mm, scene->clear_z_mm);
        status = path.out_of_memory ? tw_no_memory(scene->findings) : check_moves(&schedule);
    }
    if (status == TW_OK)
        sum_up(&schedule);
    free(schedule.store);
    free(schedule.groups);
    free(schedule.traverses);
    return status;
}
