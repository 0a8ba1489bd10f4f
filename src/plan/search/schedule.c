/* schedule.c - the layers of one setup: how many, how deep, how fast.
 *
 * Layers are chosen from the finished face upwards, so that a rest of less than a full depth falls to the
 * first, shortest layer at the butt. Each layer takes the cut that takes off most in its time. */
#include "plan/search/schedule.h"

#include "base/memory.h"
#include "base/numbers.h"
#include "geometry/ring.h"
#include "plan/ways/cover.h"
#include "plan/cuts/menus.h"
#include "plan/cuts/spring_back.h"
#include "plan/scene/again.h"
#include "plan/scene/wheel_loss.h"
#include "plan/ways/string.h"
#include "tangwright/rim.h"

#include <assert.h>
#include <limits.h>
#include <math.h>
#include <stdlib.h>

/* Of the flatness tolerance, what the dish of a tilted head may use up. */
#define DISH_SHARE 0.6

struct schedule {
    const struct tw_scene *scene;
    struct tw_cut_limits limits; /* for the bulk of the part in hand */
    const struct tw_bulk *bulk;
    enum tw_travel_style style;
    double thinnest_mm;               /* the tang's end, finished */
    int part;                         /* of the stock, which the menus are for */
    bool ahead;                       /* the menus are for layers that reach ahead of the taper start */
    struct tw_cut_menu rough, finish; /* for that bulk too */
    double crossfeed_mm;              /* of roughing */
    bool first_widest;                /* the same */
    bool by_volume;                   /* see tw_way */
    double deepest_mm;                /* deepest cut of the menus */
    double stock_mm;                  /* highest stock above the face */
    double far_mm;                    /* x where the tang ends */
    double above_mm;                  /* so much of it only stands there for a wheel that lost less at other parts */
    struct tw_cover *covers;          /* of each layer but the spark-out, in the order of out->layers */
    size_t cover_count, cover_capacity;
    struct tw_setup_plan *out;
};

/* ---- the menus ---- */

/* Lanes run from one side of the tang to the other in one layer, and back in the next. */
static struct tw_lane_rule rule_of(const struct schedule *schedule, enum tw_layer_kind kind)
{
    if (kind != TW_LAYER_ROUGH)
        return (struct tw_lane_rule){ .ahead = schedule->ahead };
    return (struct tw_lane_rule){ schedule->crossfeed_mm, schedule->cover_count % 2 == 1, schedule->ahead,
                                  schedule->first_widest };
}

static struct tw_engagement first_of(const struct schedule *schedule, enum tw_layer_kind kind)
{
    return tw_lanes_first(schedule->scene, rule_of(schedule, kind));
}

/* The menu, with the speeds of later lanes where there are any. */
static enum tw_status fill_menu(const struct schedule *schedule, enum tw_layer_kind kind, double largest_mm,
                                enum tw_binding largest_binds, struct tw_cut_menu *menu)
{
    const struct tw_scene *scene = schedule->scene;
    struct tw_menu_wish wish = { first_of(schedule, kind), tw_lanes_later(scene, rule_of(schedule, kind)).most_mm,
                                 largest_mm, largest_binds };

    return tw_menu_get(scene, &schedule->limits, &wish, menu);
}

/* Whether a layer reaches ahead of the taper start, where the wheel may meet the blade's width. */
static bool reaches_ahead(const struct schedule *schedule, double bottom_mm)
{
    return tw_face_reach_mm(&schedule->scene->face, bottom_mm) < schedule->scene->face.start_mm;
}

static enum tw_status fill_rough(struct schedule *schedule)
{
    return fill_menu(schedule, TW_LAYER_ROUGH, schedule->limits.infeed_mm, TW_BINDS_WHEEL_INFEED, &schedule->rough);
}

/* What is expected of the layers in one part of the stock: the warmth, and that its lower end is still to be ground off. */
static void expect_part(struct schedule *schedule, int part)
{
    schedule->part = part;
    schedule->limits.bulk_K = schedule->bulk->K[part];
    schedule->limits.thinnest_mm = schedule->thinnest_mm + schedule->stock_mm * part / TW_BULK_PARTS;
}

/* The deepest cut there may be, for the overtravel, is one into a cool and thick tang. */
static enum tw_status find_deepest(struct schedule *schedule)
{
    enum tw_status status;

    expect_part(schedule, TW_BULK_PARTS - 1);
    for (int i = 0; i < TW_BULK_PARTS; i++)
        schedule->limits.bulk_K = fmin(schedule->limits.bulk_K, schedule->bulk->K[i]);
    status = fill_rough(schedule);
    for (size_t i = 0; status == TW_OK && i < schedule->rough.count; i++)
        schedule->deepest_mm = fmax(schedule->deepest_mm, schedule->rough.cuts[i].depth_mm);
    return status;
}

static enum tw_status fill_menus(struct schedule *schedule)
{
    double finish_mm = schedule->limits.finish_infeed_mm;
    enum tw_status status = find_deepest(schedule);

    expect_part(schedule, 0);
    schedule->ahead = reaches_ahead(schedule, 0.0);
    if (status == TW_OK)
        status = fill_rough(schedule);
    return status == TW_OK ? fill_menu(schedule, TW_LAYER_FINISH, finish_mm, TW_BINDS_FINISH_INFEED, &schedule->finish)
                           : status;
}

/* The menu for what is expected where the next layer lies. */
static enum tw_status expect_layer(struct schedule *schedule, double bottom_mm)
{
    int part = tw_bulk_part(bottom_mm, schedule->stock_mm);

    if (part == schedule->part && reaches_ahead(schedule, bottom_mm) == schedule->ahead)
        return TW_OK;
    expect_part(schedule, part);
    schedule->ahead = reaches_ahead(schedule, bottom_mm);
    return fill_rough(schedule);
}

/* The plane down to which a layer may come where the wheel lost less than is likely; not below the face. */
static double covered_mm(const struct schedule *schedule, double bottom_mm)
{
    return fmax(0.0, bottom_mm - schedule->above_mm);
}

/* Where a layer begins: one that is over all stock, and only cuts with a wheel that lost less than likely, where it then does. */
static double front_of(const struct schedule *schedule, double bottom_mm)
{
    const struct tw_face *face = &schedule->scene->face;
    double front_mm = tw_face_reach_mm(face, bottom_mm);

    if (!isfinite(front_mm))
        front_mm = tw_face_reach_mm(face, covered_mm(schedule, bottom_mm));
    return fmin(front_mm, schedule->far_mm);
}

/* ---- choosing the cuts ---- */

/* A layer for which a cut is sought. */
struct place {
    const struct tw_cover *cover;
    double bottom_mm;
};

static double cut_time_s(const struct schedule *schedule, const struct tw_cut *cut, const struct tw_cover *cover)
{
    return tw_cover_time_s(schedule->scene, cover, cut->table_mm_per_s, cut->later_mm_per_s);
}

static double length_mm(const struct schedule *schedule, double height_mm)
{
    return schedule->far_mm - front_of(schedule, height_mm);
}

/* What a layer takes off, over its length: by volume a wedge counts for less, for a layer is as long as its lower plane. */
static double taken_mm(const struct schedule *schedule, double bottom_mm, double depth_mm)
{
    double below_mm, above_mm;

    if (!schedule->by_volume)
        return depth_mm;
    below_mm = length_mm(schedule, bottom_mm);
    above_mm = length_mm(schedule, bottom_mm + depth_mm);
    return below_mm > 0.0 ? depth_mm * (1.0 + above_mm / below_mm) / 2.0 : depth_mm;
}

static double s_per_mm(const struct schedule *schedule, const struct tw_cut *cut, const struct place *at)
{
    return cut_time_s(schedule, cut, at->cover) / taken_mm(schedule, at->bottom_mm, cut->depth_mm);
}

static double least_s_per_mm(const struct schedule *schedule, const struct tw_cut *cut, const struct place *at)
{
    return tw_cover_least_s(at->cover, cut->table_mm_per_s, cut->later_mm_per_s) /
           taken_mm(schedule, at->bottom_mm, cut->depth_mm);
}

/* What the cut needs that seems quickest: the quickest one needs no more. */
static double bound_s_per_mm(const struct schedule *schedule, const struct place *at)
{
    const struct tw_cut_menu *menu = &schedule->rough;
    size_t seems = 0;

    for (size_t i = 1; i < menu->count; i++)
        if (least_s_per_mm(schedule, &menu->cuts[i], at) < least_s_per_mm(schedule, &menu->cuts[seems], at))
            seems = i;
    return s_per_mm(schedule, &menu->cuts[seems], at);
}

/* The cut that takes most off in its time. */
static struct tw_cut fastest_cut(const struct schedule *schedule, const struct place *at, double *needs_s_per_mm)
{
    const struct tw_cut_menu *menu = &schedule->rough;
    struct tw_cut best = menu->cuts[0];
    double bound = bound_s_per_mm(schedule, at);

    *needs_s_per_mm = HUGE_VAL;
    for (size_t i = 0; i < menu->count; i++) {
        const struct tw_cut *cut = &menu->cuts[i];
        double needs = least_s_per_mm(schedule, cut, at) > bound ? HUGE_VAL : s_per_mm(schedule, cut, at);

        if (needs < *needs_s_per_mm) {
            *needs_s_per_mm = needs;
            best = *cut;
        }
    }
    return best;
}

/* Of the cuts that go so deep or deeper the quickest over this layer: what is allowed deeper is allowed. */
static struct tw_cut quickest_as_deep(const struct schedule *schedule, const struct tw_cover *cover, double depth_mm,
                                      const struct tw_cut *otherwise)
{
    const struct tw_cut_menu *menu = &schedule->rough;
    struct tw_cut best = *otherwise;

    for (size_t i = 0; i < menu->count; i++)
        if (menu->cuts[i].depth_mm >= depth_mm &&
            cut_time_s(schedule, &menu->cuts[i], cover) < cut_time_s(schedule, &best, cover))
            best = menu->cuts[i];
    return best;
}

/* The same with later lanes that hurry no more than the first: they push no harder. */
static struct tw_cut unhurried(const struct tw_cut *cut)
{
    struct tw_cut plain = *cut;

    plain.later_mm_per_s = cut->table_mm_per_s;
    plain.later_force_N = 0.0;
    return plain;
}

struct finish_choice {
    struct tw_cut rough, best;
    double rough_s_per_mm, least_s;
    int fewest; /* spark-outs, where there are more than there may be */
};

/* There are so many finishing layers, however deep: what one of them leaves standing is roughed, and the last one is
 * repeated for the spark-out. Where the machine gives way too much for the spark-outs there may be, a slower cut that pushes
 * less comes first. */
static void consider(const struct schedule *schedule, const struct place *at, const struct tw_cut *cut,
                     struct finish_choice *choice)
{
    int repeats = at->bottom_mm > 0.0 ? 0 : tw_spark_outs_after(schedule->scene->job, &choice->rough, cut);
    double costs_s = (1 + repeats) * cut_time_s(schedule, cut, at->cover) - cut->depth_mm * choice->rough_s_per_mm;
    int beyond = repeats > TW_SPARK_OUT_MOST ? repeats : 0;

    if (beyond < choice->fewest || (beyond == choice->fewest && costs_s < choice->least_s)) {
        choice->fewest = beyond;
        choice->least_s = costs_s;
        choice->best = *cut;
    }
}

static struct tw_cut quickest_with_repeats(const struct schedule *schedule, const struct tw_cut_menu *menu,
                                           const struct place *at)
{
    struct finish_choice choice = { .best = menu->cuts[0], .least_s = HUGE_VAL, .fewest = INT_MAX };

    choice.rough = fastest_cut(schedule, at, &choice.rough_s_per_mm);
    for (size_t i = 0; i < menu->count; i++) {
        struct tw_cut plain = unhurried(&menu->cuts[i]);

        if (at->cover->passes > 1)
            consider(schedule, at, &menu->cuts[i], &choice);
        consider(schedule, at, &plain, &choice);
    }
    return choice.best;
}

static struct tw_cut choose_cut(const struct schedule *schedule, enum tw_layer_kind kind, const struct tw_cover *cover,
                                double bottom_mm)
{
    struct place at = { cover, bottom_mm };
    double needs_s_per_mm;

    if (kind == TW_LAYER_FINISH)
        return quickest_with_repeats(schedule, &schedule->finish, &at);
    if (bottom_mm == 0.0 && schedule->scene->job->task.scope == TW_SCOPE_ROUGH)
        return quickest_with_repeats(schedule, &schedule->rough, &at);
    return fastest_cut(schedule, &at, &needs_s_per_mm);
}

static enum tw_status add_layer(struct schedule *schedule, enum tw_layer_kind kind, double bottom_mm,
                                const struct tw_cut *cut, const struct tw_cover *cover)
{
    struct tw_engagement first = first_of(schedule, kind);
    struct tw_setup_plan *out = schedule->out;
    struct tw_layer *layer;

    if (!tw_grow((void **)&out->layers, &out->layer_capacity, out->layer_count + 1, sizeof *out->layers))
        return tw_no_memory(schedule->scene->findings);
    layer = &out->layers[out->layer_count++];
    *layer = tw_layer_of(kind, bottom_mm, cut);
    layer->front_mm = front_of(schedule, bottom_mm);
    layer->lanes = cover->passes;
    if (layer->lanes < 2)
        layer->later_force_N = 0.0;
    layer->engaged_mm = fmin(cover->engaged_mm, tw_engaged_mm(&first, cut->depth_mm));
    return TW_OK;
}

/* Takes the cover over. */
static enum tw_status keep_cover(struct schedule *schedule, struct tw_cover *cover)
{
    if (!tw_grow((void **)&schedule->covers, &schedule->cover_capacity, schedule->cover_count + 1,
                 sizeof *schedule->covers)) {
        tw_cover_free(cover);
        return tw_no_memory(schedule->scene->findings);
    }
    schedule->covers[schedule->cover_count++] = *cover;
    return TW_OK;
}

/* The rest above the last full layer, in whole infeed steps. */
static double depth_within(const struct schedule *schedule, double depth_mm, double rest_mm)
{
    double step_mm = schedule->scene->infeed_step_mm;

    return rest_mm < depth_mm ? step_mm * ceil(rest_mm / step_mm - 1e-6) : depth_mm;
}

/* Equal lanes over a narrower layer each take less than the crossfeed: then the table may be faster. */
static enum tw_status quicken(const struct schedule *schedule, const struct tw_cover *cover, double first_mm,
                              struct tw_cut *cut)
{
    const struct tw_scene *scene = schedule->scene;
    enum tw_binding binding = cut->binding;
    enum tw_status status;

    if (!cover->ordered || cover->engaged_mm >= first_mm)
        return TW_OK;
    status = tw_menu_quicken(scene, &schedule->limits, cover->engaged_mm, cut);
    cut->binding = binding;
    return status;
}

/* The cut for the layer whose lower plane is at bottom_mm, no deeper than what stands above it. */
static enum tw_status settle_cut(const struct schedule *schedule, enum tw_layer_kind kind, const struct tw_cover *cover,
                                 double bottom_mm, struct tw_cut *out)
{
    const struct tw_scene *scene = schedule->scene;
    struct tw_engagement first = first_of(schedule, kind);
    double depth_mm, later_mm_per_s, later_force_N;
    enum tw_status status = TW_OK;
    bool rest; /* no limit of the cut keeps it from being deeper, but what stands there */

    *out = choose_cut(schedule, kind, cover, bottom_mm);
    depth_mm = depth_within(schedule, out->depth_mm, schedule->stock_mm - bottom_mm);
    rest = depth_mm < out->depth_mm;
    if (depth_mm < out->depth_mm && kind == TW_LAYER_ROUGH)
        *out = quickest_as_deep(schedule, cover, depth_mm, out);
    later_mm_per_s = out->later_mm_per_s;
    later_force_N = out->later_force_N;
    if (depth_mm < out->depth_mm)
        status = tw_cut_estimate(scene->job, &schedule->limits, depth_mm, out->table_mm_per_s,
                                 tw_engaged_mm(&first, depth_mm), out, scene->findings);
    out->later_mm_per_s = later_mm_per_s;
    out->later_force_N = later_force_N;
    if (rest)
        out->binding = TW_BINDS_STOCK;
    return status == TW_OK ? quicken(schedule, cover, tw_engaged_mm(&first, depth_mm), out) : status;
}

/* The deepest cut of all needs the most room beyond the stock: with the depth that was chosen the lanes are laid again. */
static enum tw_status shorten_lanes(const struct schedule *schedule, enum tw_layer_kind kind, double bottom_mm,
                                    double depth_mm, struct tw_cover *cover)
{
    if (depth_mm >= schedule->deepest_mm || tw_scene_rim_is_coplanar(schedule->scene))
        return TW_OK;
    tw_cover_free(cover);
    return tw_cover_lay(schedule->scene, schedule->style, rule_of(schedule, kind), covered_mm(schedule, bottom_mm),
                        depth_mm, cover);
}

/* The layer whose lower plane is at *bottom_mm, which then moves to its top. */
static enum tw_status stack_on_cover(struct schedule *schedule, enum tw_layer_kind kind, struct tw_cover *cover,
                                     double *bottom_mm)
{
    struct tw_cut cut;
    enum tw_status status = settle_cut(schedule, kind, cover, *bottom_mm, &cut);

    if (status == TW_OK)
        status = shorten_lanes(schedule, kind, *bottom_mm, cut.depth_mm, cover);
    if (status == TW_OK)
        status = add_layer(schedule, kind, *bottom_mm, &cut, cover);
    *bottom_mm += cut.depth_mm;
    return status;
}

static enum tw_status stack_layer(struct schedule *schedule, enum tw_layer_kind kind, double *bottom_mm)
{
    struct tw_cover cover;
    enum tw_status status = tw_cover_lay(schedule->scene, schedule->style, rule_of(schedule, kind),
                                         covered_mm(schedule, *bottom_mm), schedule->deepest_mm, &cover);

    if (status != TW_OK)
        return status;
    if (cover.passes == 0) {
        *bottom_mm = schedule->stock_mm; /* nothing stands above: done */
        return TW_OK;
    }
    status = stack_on_cover(schedule, kind, &cover, bottom_mm);
    if (status != TW_OK) {
        tw_cover_free(&cover);
        return status;
    }
    return keep_cover(schedule, &cover);
}

static enum tw_status add_spark_out(struct schedule *schedule)
{
    int count = tw_spark_outs_of(schedule->scene->job, schedule->out);
    enum tw_status status = TW_OK;

    for (int i = 0; status == TW_OK && i < count; i++) {
        struct tw_layer layer = schedule->out->layers[schedule->out->layer_count - 1];
        /* Nothing new is fed in: the last layer's heat is an upper bound for what springs back. */
        struct tw_cut cut = { .table_mm_per_s = layer.table_mm_per_s,
                              .later_mm_per_s = layer.later_mm_per_s,
                              .reserve_degC = layer.reserve_degC,
                              .power_W = layer.power_W,
                              .force_N = layer.force_N,
                              .later_force_N = layer.later_force_N,
                              .binding = TW_BINDS_STOCK,
                              .flash_limit_degC = layer.flash_limit_degC,
                              .equivalent_degC = layer.equivalent_degC };

        status = add_layer(schedule, TW_LAYER_SPARK_OUT, layer.bottom_mm, &cut,
                           &schedule->covers[schedule->cover_count - 1]);
    }
    return status;
}

static enum tw_status stack_layers(struct schedule *schedule)
{
    double bottom_mm = 0.0, slack_mm = schedule->scene->infeed_step_mm * 1e-3;
    enum tw_status status = TW_OK;

    for (int i = 0; status == TW_OK && i < tw_finishing_layers(schedule->scene->job); i++)
        if (schedule->stock_mm - bottom_mm > slack_mm)
            status = stack_layer(schedule, TW_LAYER_FINISH, &bottom_mm);
    while (status == TW_OK && schedule->stock_mm - bottom_mm > slack_mm) {
        status = expect_layer(schedule, bottom_mm);
        if (status == TW_OK)
            status = stack_layer(schedule, TW_LAYER_ROUGH, &bottom_mm);
    }
    if (status != TW_OK)
        return status;
    /* From the order of stacking, face upwards, to that of grinding. */
    tw_turn_over(schedule->out->layers, schedule->cover_count, sizeof *schedule->out->layers);
    tw_turn_over(schedule->covers, schedule->cover_count, sizeof *schedule->covers);
    return add_spark_out(schedule);
}

/* ---- layers taken once more after a dressing ---- */

static void free_covers(struct tw_cover *covers, size_t count)
{
    for (size_t i = 0; covers && i < count; i++)
        tw_cover_free(&covers[i]);
    free(covers);
}

/* A cover of its own for each layer of the longer list: that of layer from[i]. The last one is also the spark-outs'. */
static bool repeat_covers(struct schedule *schedule, const size_t *from)
{
    size_t total = schedule->out->layer_count, last = schedule->cover_count - 1, count = 0;
    struct tw_cover *covers = calloc(total, sizeof *covers);

    while (covers && count < total &&
           tw_cover_copy(&schedule->covers[from[count] < last ? from[count] : last], &covers[count]))
        count++;
    if (count < total) {
        free_covers(covers, count);
        return false;
    }
    free_covers(schedule->covers, schedule->cover_count);
    schedule->covers = covers;
    schedule->cover_count = schedule->cover_capacity = total;
    return true;
}

/* Where the wheel leaves the part, and what it has to take again when it comes dressed. */
static enum tw_status part_stays(struct schedule *schedule)
{
    const struct tw_scene *scene = schedule->scene;
    size_t *again = calloc(schedule->out->layer_count + 1, sizeof *again), *from = NULL;
    enum tw_status status = again ? TW_OK : tw_no_memory(scene->findings);

    if (status == TW_OK)
        status =
            tw_again_find(scene->job, scene->face.side, scene->layers_a_round, schedule->out, again, scene->findings);
    if (status == TW_OK &&
        (!tw_again_lengthen(schedule->out, again, &from) || (from && !repeat_covers(schedule, from))))
        status = tw_no_memory(scene->findings);
    free(again);
    free(from);
    return status;
}

/* ---- is the style possible here ---- */

/* What keeps the wheel from being fed down off the part at either end of a lane; NULL: nothing. */
struct closed_ends {
    const struct tw_keep_out *front, *back;
    bool by_band; /* at the front nothing would be in the way were no blank thicker than stated */
};

static struct closed_ends find_closed_ends(const struct schedule *schedule)
{
    struct closed_ends closed = { 0 };

    for (size_t i = 0; i < schedule->cover_count; i++) {
        for (size_t k = 0; k < schedule->covers[i].lane_count; k++) {
            const struct tw_lane *lane = &schedule->covers[i].lanes[k];

            if (!closed.back)
                closed.back = lane->back_obstacle;
            if (closed.front || !lane->front_obstacle)
                continue;
            closed.front = lane->front_obstacle;
            closed.by_band = lane->front_end_mm - lane->front_off_mm <=
                             tw_scene_ahead_mm(schedule->scene, schedule->out->layers[i].bottom_mm);
        }
    }
    return closed;
}

/* Lanes both ways need both ends; where neither is free no other way has one. */
static enum tw_status check_ends(const struct schedule *schedule)
{
    const struct tw_scene *scene = schedule->scene;
    struct closed_ends closed = find_closed_ends(schedule);
    struct tw_place at = { .file = scene->job->path };
    const char *side = tw_side_letter(scene->face.side);

    if (schedule->style == TW_STYLE_BOTH_WAYS && closed.back && closed.front)
        return tw_fail(scene->findings, TW_NO_PLAN, at,
                       "side %s: for the wheel to be fed down off the part %s leaves no room behind the butt, and %s "
                       "none ahead of the stock; one of the two has to be moved, or made lower (fixture.clearance and "
                       "its top stay below the wheel), or the wheel smaller",
                       side, closed.back->name, closed.front->name);
    if (schedule->style != TW_STYLE_FROM_RICASSO && closed.back)
        return tw_fail(scene->findings, TW_NO_PLAN, at,
                       "side %s: %s leaves no room behind the butt for the wheel to be fed down off the part; %s", side,
                       closed.back->name, tw_scene_advice(scene, closed.back));
    if (schedule->style != TW_STYLE_FROM_BUTT && closed.front)
        return tw_fail(scene->findings, TW_NO_PLAN, at,
                       "side %s: %s leaves no room ahead of the stock for the wheel to be fed down off the part; %s%s",
                       side, closed.front->name, tw_scene_advice(scene, closed.front),
                       tw_scene_band_advice(closed.by_band));
    return TW_OK;
}

/* ---- one setup ---- */

static double dish_mm(const struct tw_scene *scene)
{
    return tw_rim_dish_mm(scene->job->wheel.diameter_mm, scene->job->machine.head_tilt_rad,
                          tw_lanes_widest_mm(scene, false));
}

/* The dry-run adds the dish to what it finds on the field, so some of the flatness is left for that. */
static enum tw_status check_dish(const struct tw_scene *scene)
{
    struct tw_place at = { .file = scene->job->path, .key = "machine.spindle.head_tilt" };
    double allowed_mm = DISH_SHARE * scene->job->finish.flatness_mm;

    if (dish_mm(scene) <= allowed_mm)
        return TW_OK;
    return tw_fail(
        scene->findings, TW_NO_PLAN, at,
        "a head tilted by %.4g deg leaves the middle of the face hollow by %.4f mm, and of finish.flatness it "
        "may take %.4f mm; square the head, or take a smaller wheel",
        tw_degrees(scene->job->machine.head_tilt_rad), dish_mm(scene), allowed_mm);
}

/* The finished height is rounded up; on a slope x follows it. */
static double rounded_mm(const struct tw_scene *scene)
{
    if (scene->face.fall > 0.0)
        return 0.0;
    return tw_scene_z_mm(scene, 0.0, 0.0) - tw_face_height_mm(&scene->face, 0.0) - scene->ride.lift_mm;
}

static void sum_up(struct schedule *schedule)
{
    struct tw_setup_plan *out = schedule->out;

    for (size_t i = 0; i < out->layer_count; i++)
        out->reserve_degC = fmax(out->reserve_degC, out->layers[i].reserve_degC);
    for (size_t i = 0; i < schedule->cover_count; i++)
        out->lane_pitch_mm = fmax(out->lane_pitch_mm, schedule->covers[i].pitch_mm);
    out->spring_back = tw_spring_back_of(schedule->scene->job, out);
    out->cusp_mm = schedule->covers[schedule->cover_count - 1].cusp_mm;
    out->dish_mm = dish_mm(schedule->scene);
    out->rounded_mm = rounded_mm(schedule->scene);
    out->clear_z_mm = schedule->scene->clear_z_mm;
    out->finish_z_mm = tw_scene_z_mm(schedule->scene, 0.0, 0.0);
}

static enum tw_status measure_stock(struct schedule *schedule)
{
    const struct tw_scene *scene = schedule->scene;
    struct tw_place at = { .file = scene->job->path, .key = "finish.allowance" };
    double front_mm, back_mm;

    if (tw_lanes_span(scene, 0.0, &front_mm, &back_mm))
        schedule->stock_mm = tw_face_most_mm(&scene->face, back_mm);
    if (scene->job->task.raw) /* what roughing left was rounded up too: that much of it is not ground off */
        schedule->stock_mm -= rounded_mm(scene);
    if (schedule->stock_mm > scene->infeed_step_mm * 0.5) {
        schedule->stock_mm += schedule->above_mm;
        return TW_OK;
    }
    return tw_fail(scene->findings, TW_NO_PLAN, at,
                   "nothing is left to grind: the allowance of %.3f mm is all that the taper takes off a face",
                   scene->job->finish.allowance_mm);
}

/* Loops are only worth a thought, and only right, where the whole rim cuts and the wheel is narrower than the tang. */
static enum tw_status check_style(const struct schedule *schedule)
{
    struct tw_place at = { .file = schedule->scene->job->path };

    if (schedule->style != TW_STYLE_LOOPS ||
        (tw_scene_rim_is_coplanar(schedule->scene) &&
         tw_lanes_widest_mm(schedule->scene, false) >= 2.0 * schedule->scene->radius_mm))
        return TW_OK;
    return tw_fail(schedule->scene->findings, TW_NO_PLAN, at, "loops are for tilted cups narrower than the tang");
}

/* By what the wheel lost less at other parts a layer may come out deeper. */
static void leave_jump(struct schedule *schedule)
{
    struct tw_cut_limits *limits = &schedule->limits;
    double step_mm = schedule->scene->infeed_step_mm;

    limits->infeed_mm = fmax(step_mm, limits->infeed_mm - limits->loss.jump_mm);
    limits->finish_infeed_mm = fmax(step_mm, limits->finish_infeed_mm - limits->loss.jump_mm);
}

static enum tw_status lay(void *context, const struct tw_scene *scene, const struct tw_cut_limits *limits,
                          const struct tw_bulk *bulk, const struct tw_way *way, struct tw_setup_plan *out)
{
    struct schedule schedule = { .scene = scene,
                                 .limits = *limits,
                                 .bulk = bulk,
                                 .thinnest_mm = limits->thinnest_mm,
                                 .style = way->style,
                                 .crossfeed_mm = way->crossfeed_mm,
                                 .first_widest = way->first_widest,
                                 .by_volume = way->by_volume,
                                 .far_mm = tw_ring_box(&scene->tang.outer).max_x_mm,
                                 .out = out };
    enum tw_status status;

    (void)context;
    schedule.above_mm = tw_wheel_loss_round(scene->job, scene->face.side, scene->layers_a_round, &schedule.limits.loss);
    leave_jump(&schedule);
    /* Only a cup's rim leans: a disc has one menu whichever way it goes. */
    schedule.limits.lean =
        scene->job->wheel.kind == TW_WHEEL_CUP ? tw_cut_lean(way->style, tw_face_lean(scene->job, &scene->face)) : 0.0;
    out->face = scene->face;
    out->style = way->style;
    out->crossfeed_mm = way->crossfeed_mm;
    out->first_widest = way->first_widest;
    out->layers_a_round = scene->layers_a_round;
    status = check_style(&schedule);
    if (status == TW_OK)
        status = check_dish(scene);
    if (status == TW_OK)
        status = measure_stock(&schedule);
    if (status == TW_OK)
        status = fill_menus(&schedule);
    if (status == TW_OK)
        status = stack_layers(&schedule);
    if (status == TW_OK)
        status = check_ends(&schedule);
    if (status == TW_OK)
        status = part_stays(&schedule);
    if (status == TW_OK)
        status = tw_string_covers(scene, schedule.covers, schedule.cover_count, out);
    if (status == TW_OK)
        status = tw_wheel_loss_follow(scene->job, out, scene->findings);
    if (status == TW_OK)
        status = tw_path_check(scene, out);
    if (status == TW_OK)
        sum_up(&schedule);
    if (status == TW_OK)
        status = tw_spring_back_check(scene->job, out, scene->findings);
    free_covers(schedule.covers, schedule.cover_count);
    return status;
}

/* ---- the ways ---- */

static const enum tw_travel_style styles[] = { TW_STYLE_BOTH_WAYS, TW_STYLE_FROM_BUTT, TW_STYLE_FROM_RICASSO,
                                               TW_STYLE_LOOPS };
/* Into so many lanes the tang's width may be cut for a disc, equal ones or the first as wide as the wheel; 0: by the default rule. */
static const struct {
    int count;
    bool first_widest;
} lanes[] = { { 0, false }, { 2, false }, { 3, false }, { 4, false }, { 6, false }, { 8, false }, { 2, true } };

static_assert(sizeof styles / sizeof *styles * sizeof lanes / sizeof *lanes <= TW_WAYS_MOST, "room for all ways");

/* Those with the default lanes first. */
static size_t list_ways(const void *context, const struct tw_scene *scene, struct tw_way ways[TW_WAYS_MOST])
{
    size_t count = 0;

    (void)context;
    for (size_t i = 0; i < sizeof lanes / sizeof *lanes; i++) {
        double crossfeed_mm = tw_lanes_share_mm(scene, lanes[i].count, lanes[i].first_widest);

        if (lanes[i].count > 0 && crossfeed_mm == 0.0)
            continue;
        for (size_t k = 0; k < sizeof styles / sizeof *styles; k++)
            ways[count++] = (struct tw_way){ .style = styles[k],
                                             .crossfeed_mm = crossfeed_mm,
                                             .first_widest = lanes[i].first_widest };
    }
    return count;
}

const struct tw_layout tw_schedule_layout = {
    .has_wedge = true, .goes_round = true, .list_ways = list_ways, .lay = lay
};
