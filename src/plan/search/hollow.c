/* hollow.c - layers and moves of one side's relief. */
#include "plan/search/hollow.h"

#include "base/numbers.h"
#include "base/memory.h"
#include "plan/scene/again.h"
#include "plan/search/hollow_stays.h"
#include "plan/ways/front.h"
#include "plan/ways/path.h"
#include "plan/ways/string.h"
#include "plan/ways/track.h"
#include "tangwright/motion.h"
#include "tangwright/warm.h"
#include "tangwright/wear.h"

#include <math.h>
#include <stdlib.h>

/* Length of a cup's ramp in radii, where the loop is not shorter; and the longest, where a shorter one is too hot. On it the face of the wheel sinks into the work as well as
 * cutting ahead: that is pi r / 2 over the ramp's length more steel in the same time, and the feed is lower by as much; and
 * lower still where the thin chips of the sinking face would cost too much power. */
#define RAMP_RADII    8.0
#define LONGEST_RADII 64.0
#define SINKING_RADII 0.25
#define LONGEST_SHARE 0.999 /* of the longest leg: as long as that */
/* Of the power and force that are allowed, a ramp uses up to this; shorter pieces of its way are not looked at. */
#define RAMP_SHARE        0.9
#define SHORTEST_PIECE_MM 0.05
#define STEP_SLACK        1e-6

/* Ways over all that stands behind a front, no farther apart than so much of the wheel's width. */
struct laid {
    double front_mm, crossfeed_ratio;
    struct tw_tracks tracks;
};

struct tw_hollow {
    struct tw_layout layout;
    const struct tw_scene *scene;
    struct tw_cut_limits limits; /* for the bulk of the part in hand */
    const struct tw_bulk *bulk;
    struct tw_relief_area area;
    double stock_mm;          /* most that stands over the floor in the region */
    double front_mm, back_mm; /* of the region */
    bool
        lifts; /* a disc leaves the trough after every layer, a cup each loop, so that it can wait for the tang to cool */
    struct tw_cut_menu menu;
    struct laid *ways; /* of one layer or several alike, kept from trial to trial: they hang on no cut */
    size_t way_count, way_capacity;
    size_t *way_of; /* of each layer */
    size_t layer_capacity;
    struct tw_hollow_stays stays;
    size_t again; /* layers of troughs that are ground once more, for a dressed wheel */
};

static bool is_disc(const struct tw_hollow *hollow)
{
    return hollow->scene->job->wheel.kind == TW_WHEEL_DISC;
}

/* ---- layers ---- */

static double engaged_mm(const struct tw_hollow *hollow)
{
    return is_disc(hollow) ? hollow->scene->job->wheel.width_mm : 2.0 * hollow->scene->radius_mm;
}

/* Where a layer's stock begins, in whole steps of TW_FRONT_STEP_MM. What the last program left may be a little higher. */
static double layer_front_mm(const struct tw_hollow *hollow, double bottom_mm)
{
    double step_mm = hollow->scene->infeed_step_mm;
    double front_mm =
        tw_face_reach_mm(&hollow->scene->face, fmax(0.0, fmin(bottom_mm, hollow->stock_mm) - 2.0 * step_mm));

    if (!(front_mm > hollow->front_mm))
        return hollow->front_mm;
    return TW_FRONT_STEP_MM * floor(fmin(front_mm, hollow->back_mm) / TW_FRONT_STEP_MM);
}

/* Ways over all that stands behind `front_mm`. Where the wheel has no room to go down there, from farther ahead. */
static enum tw_status lay_way(struct tw_hollow *hollow, double front_mm, struct tw_tracks *out)
{
    enum tw_status status = tw_tracks_lay(&hollow->area, front_mm, out);

    while (status == TW_OK && out->count == 0 && front_mm > hollow->front_mm) {
        front_mm -= TW_FRONT_STEP_MM;
        status = tw_tracks_lay(&hollow->area, front_mm, out);
    }
    return status;
}

static enum tw_status find_way(struct tw_hollow *hollow, double front_mm, size_t *way)
{
    double ratio = hollow->scene->job->wheel.max_crossfeed_ratio;
    enum tw_status status;

    for (*way = 0; *way < hollow->way_count; ++*way)
        if (hollow->ways[*way].front_mm == front_mm && hollow->ways[*way].crossfeed_ratio == ratio)
            break;
    if (*way == hollow->way_count) {
        if (!tw_grow((void **)&hollow->ways, &hollow->way_capacity, *way + 1, sizeof *hollow->ways))
            return tw_no_memory(hollow->scene->findings);
        hollow->ways[*way] = (struct laid){ .front_mm = front_mm, .crossfeed_ratio = ratio };
        status = lay_way(hollow, front_mm, &hollow->ways[*way].tracks);
        if (status != TW_OK)
            return status;
        hollow->way_count++;
    }
    return hollow->ways[*way].tracks.count > 0 ? TW_OK : tw_relief_area_too_narrow(&hollow->area);
}

static const struct tw_tracks *way_of(const struct tw_hollow *hollow, size_t layer)
{
    return &hollow->ways[hollow->way_of[layer]].tracks;
}

/* Seconds for a layer; corners and hops, which every cut has alike, left out. */
static double layer_time_s(const struct tw_hollow *hollow, const struct tw_tracks *tracks, double table_mm_per_s)
{
    double time_s = 0.0;

    if (!is_disc(hollow))
        return tracks->length_mm / table_mm_per_s;
    for (size_t i = 0; i < tracks->count; i++) {
        double by_mm[3] = { tracks->items[i].length_mm, 0.0, 0.0 };

        time_s += 2.0 * tw_motion_feed_time_s(&hollow->scene->job->machine, by_mm, table_mm_per_s);
    }
    return time_s;
}

static const struct tw_cut *quickest_cut(const struct tw_hollow *hollow, const struct tw_tracks *tracks)
{
    const struct tw_cut *best = &hollow->menu.cuts[0];
    double least = HUGE_VAL;

    for (size_t i = 0; i < hollow->menu.count; i++) {
        const struct tw_cut *cut = &hollow->menu.cuts[i];
        double s_per_mm = layer_time_s(hollow, tracks, cut->table_mm_per_s) / cut->depth_mm;

        if (s_per_mm >= least)
            continue;
        least = s_per_mm;
        best = cut;
    }
    return best;
}

static enum tw_status add_layer(struct tw_hollow *hollow, struct tw_setup_plan *out, double bottom_mm, double depth_mm,
                                double front_mm, size_t way, const struct tw_cut *cut)
{
    size_t count = out->layer_count + 1;
    struct tw_layer *layer;

    if (!tw_grow((void **)&out->layers, &out->layer_capacity, count, sizeof *out->layers) ||
        !tw_grow((void **)&hollow->way_of, &hollow->layer_capacity, count, sizeof *hollow->way_of))
        return tw_no_memory(hollow->scene->findings);
    hollow->way_of[out->layer_count] = way;
    layer = &out->layers[out->layer_count++];
    *layer = tw_layer_of(TW_LAYER_ROUGH, bottom_mm, cut);
    layer->depth_mm = depth_mm;
    layer->front_mm = front_mm;
    layer->lanes = (int)hollow->ways[way].tracks.count;
    layer->engaged_mm = engaged_mm(hollow);
    return TW_OK;
}

/* The menu for what is expected where the next layer lies. */
static enum tw_status expect_bulk(struct tw_hollow *hollow, double bottom_mm)
{
    struct tw_engagement engagement = { .shallow_mm = engaged_mm(hollow), .most_mm = engaged_mm(hollow) };
    double bulk_K = hollow->bulk->K[tw_bulk_part(bottom_mm, hollow->stock_mm)];

    if (hollow->menu.count > 0 && bulk_K == hollow->limits.bulk_K)
        return TW_OK;
    hollow->limits.bulk_K = bulk_K;
    return tw_cut_menu_fill(hollow->scene, &hollow->limits, &engagement, hollow->limits.infeed_mm,
                            TW_BINDS_WHEEL_INFEED, &hollow->menu);
}

/* From the floor upwards; a rest of less than a full depth falls to the top, with one step of infeed over it. */
static enum tw_status stack_layers(struct tw_hollow *hollow, struct tw_setup_plan *out)
{
    double step_mm = hollow->scene->infeed_step_mm, top_mm = hollow->stock_mm + step_mm, bottom_mm = 0.0;
    enum tw_status status = TW_OK;

    while (status == TW_OK && top_mm - bottom_mm > step_mm * 1e-3) {
        double front_mm = layer_front_mm(hollow, bottom_mm);
        const struct tw_cut *cut;
        double depth_mm;
        size_t way = 0;

        status = expect_bulk(hollow, bottom_mm);
        if (status == TW_OK)
            status = find_way(hollow, front_mm, &way);
        if (status != TW_OK)
            break;
        cut = quickest_cut(hollow, &hollow->ways[way].tracks);
        depth_mm = fmin(cut->depth_mm, step_mm * ceil((top_mm - bottom_mm) / step_mm - STEP_SLACK));
        status = add_layer(hollow, out, bottom_mm, depth_mm, front_mm, way, cut);
        bottom_mm += depth_mm;
    }
    return status;
}

/* ---- stays of the wheel ---- */

/* The floor under a blank so much thicker than stated; a face that is finished already is there as planned whatever the blank was. */
static struct tw_face floor_of(const struct tw_hollow *hollow, double thicker_mm)
{
    struct tw_job blank = *hollow->scene->job; /* a shallow copy: only its thickness is changed */

    if (!blank.task.raw)
        blank.task.thicker_mm = thicker_mm;
    return tw_face_of(&blank, hollow->scene->face.side);
}

/* Off that blank. Over the floor the face stands as a plane does, so its height in the middle tells all. */
static double taken_mm3(const struct tw_hollow *hollow, double thicker_mm)
{
    struct tw_face floor = floor_of(hollow, thicker_mm);

    return hollow->area.hollowed_mm2 * fmax(0.0, tw_face_stock_mm(&floor, hollow->area.middle_mm));
}

/* Whether the thickest blank's hollow is too much for one dressing. */
static bool is_parted(const struct tw_hollow *hollow)
{
    const struct tw_job *job = hollow->scene->job;

    return tw_wear_stay_is_full(taken_mm3(hollow, job->taper.band_mm), job->wheel.dress_after_mm3);
}

/* What a wheel leaves standing that has worn as fast as it may, on the thickest blank. */
static double standing_mm(const struct tw_hollow *hollow, double thick_mm3)
{
    struct tw_grinding_ratio ratio = tw_grinding_ratio_of(hollow->scene->job);

    return ratio.least > 0.0 ? tw_wear_mm(thick_mm3, ratio.least, tw_wear_area_mm2(hollow->scene->job, 0.0)) : 0.0;
}

/* A stay begins with layer i of those that were stacked: it comes, and before it what the worn wheel left standing is taken again. */
static size_t begin_stay(struct tw_hollow *hollow, const struct tw_setup_plan *out, size_t i)
{
    struct tw_hollow_stays *stays = &hollow->stays;
    double left_mm = standing_mm(hollow, stays->thick_mm3[stays->count - 2]);
    size_t again = left_mm > 0.0 ? tw_again_count(out->layers, i, left_mm,
                                                  fmax(out->layers[i].depth_mm, out->layers[i - 1].depth_mm))
                                 : 0;

    tw_hollow_stays_catch(stays, left_mm * hollow->area.hollowed_mm2);
    return again;
}

/* The layers in the order of grinding, parted into stays; again[i]: so many of those before layer i come once more. */
static enum tw_status find_stays(struct tw_hollow *hollow, struct tw_setup_plan *out, size_t *again)
{
    const struct tw_job *job = hollow->scene->job;
    struct tw_face thin = floor_of(hollow, -job->taper.band_mm), thick = floor_of(hollow, job->taper.band_mm);
    double thin_mm3 = 0.0, thick_mm3 = 0.0;
    struct tw_hollow_floor floor;
    enum tw_status status =
        tw_hollow_floor_find(&hollow->area, hollow->area.box.min_y_mm, hollow->area.box.max_y_mm, &floor);

    for (size_t i = 0; status == TW_OK && i < out->layer_count; i++) {
        struct tw_layer *layer = &out->layers[i];
        double thin_after_mm3 = tw_hollow_steel_mm3(&floor, &thin, layer->bottom_mm);
        double thick_after_mm3 = tw_hollow_steel_mm3(&floor, &thick, layer->bottom_mm);

        if (!tw_hollow_stays_add(&hollow->stays, job->wheel.dress_after_mm3, thin_after_mm3 - thin_mm3,
                                 thick_after_mm3 - thick_mm3, &layer->comes))
            return tw_no_memory(hollow->scene->findings);
        if (layer->comes)
            again[i] = begin_stay(hollow, out, i);
        thin_mm3 = thin_after_mm3;
        thick_mm3 = thick_after_mm3;
    }
    return status;
}

/* The ways of the longer list: those of layers from[i]. */
static bool repeat_ways(struct tw_hollow *hollow, const size_t *from, size_t count)
{
    size_t *ways = calloc(count, sizeof *ways);

    for (size_t i = 0; ways && i < count; i++)
        ways[i] = hollow->way_of[from[i]];
    if (!ways)
        return false;
    free(hollow->way_of);
    hollow->way_of = ways;
    hollow->layer_capacity = count;
    return true;
}

/* A cup leaves the part between two layers. */
static enum tw_status part_layers(struct tw_hollow *hollow, struct tw_setup_plan *out)
{
    size_t *again = calloc(out->layer_count + 1, sizeof *again), *from = NULL;
    enum tw_status status = again ? find_stays(hollow, out, again) : tw_no_memory(hollow->scene->findings);

    if (status == TW_OK &&
        (!tw_again_lengthen(out, again, &from) || (from && !repeat_ways(hollow, from, out->layer_count))))
        status = tw_no_memory(hollow->scene->findings);
    if (status == TW_OK)
        tw_again_number_stays(out);
    free(again);
    free(from);
    return status;
}

/* What stands where a trough is to be. */
struct steel {
    struct tw_hollow_floor floor;
    struct tw_face thin, thick; /* floor's plane, of such blanks */
};

static enum tw_status find_steel(const struct tw_hollow *hollow, const struct tw_track *trough, struct steel *out)
{
    const struct tw_job *job = hollow->scene->job;
    double y_mm = trough->points[0].y_mm, half_mm = job->wheel.width_mm / 2.0;

    out->thin = floor_of(hollow, -job->taper.band_mm);
    out->thick = floor_of(hollow, job->taper.band_mm);
    return tw_hollow_floor_find(&hollow->area, y_mm - half_mm, y_mm + half_mm, &out->floor);
}

/* Too much for one dressing. */
static bool is_torn(const struct tw_hollow *hollow, const struct steel *steel)
{
    return tw_wear_stay_is_full(tw_hollow_steel_mm3(&steel->floor, &steel->thick, 0.0),
                                hollow->scene->job->wheel.dress_after_mm3);
}

/* A disc leaves the part between two troughs: the next is as it was, so nothing stands there for a dressed wheel to meet. */
static enum tw_status part_trough(struct tw_hollow *hollow, const struct steel *steel, bool *begins)
{
    return tw_hollow_stays_add(&hollow->stays, hollow->scene->job->wheel.dress_after_mm3,
                               tw_hollow_steel_mm3(&steel->floor, &steel->thin, 0.0),
                               tw_hollow_steel_mm3(&steel->floor, &steel->thick, 0.0), begins)
               ? TW_OK
               : tw_no_memory(hollow->scene->findings);
}

/* Layer i of a trough that is torn, whose topmost is `first`: where a stay begins with it, *again is how many of the layers above it
 * come once more, for what the worn wheel has left standing. */
static enum tw_status tear_trough(struct tw_hollow *hollow, const struct tw_setup_plan *out, const struct steel *steel,
                                  size_t first, size_t i, size_t *again, bool *begins)
{
    struct tw_hollow_stays *stays = &hollow->stays;
    const struct tw_layer *layers = out->layers;
    double bottom_mm = layers[i].bottom_mm, above_mm = i > first ? layers[i - 1].bottom_mm : HUGE_VAL, left_mm;
    const struct tw_hollow_floor *floor = &steel->floor;

    *again = 0;
    if (!tw_hollow_stays_add(
            stays, hollow->scene->job->wheel.dress_after_mm3,
            tw_hollow_steel_mm3(floor, &steel->thin, bottom_mm) - tw_hollow_steel_mm3(floor, &steel->thin, above_mm),
            tw_hollow_steel_mm3(floor, &steel->thick, bottom_mm) - tw_hollow_steel_mm3(floor, &steel->thick, above_mm),
            begins))
        return tw_no_memory(hollow->scene->findings);
    left_mm = *begins && i > first ? standing_mm(hollow, stays->thick_mm3[stays->count - 2]) : 0.0;
    if (left_mm > 0.0) {
        *again = tw_again_count(layers, i, left_mm, fmax(layers[i].depth_mm, layers[i - 1].depth_mm));
        *again = *again < i - first ? *again : i - first;
        tw_hollow_stays_catch(stays, left_mm * tw_hollow_floor_mm2(floor));
    }
    return TW_OK;
}

/* ---- moves ---- */

/* Down from over the part to where the last layer's floor is: rapidly to above everything, then fed. `comes`: a stay begins. */
static void descend(const struct tw_hollow *hollow, struct tw_path *path, bool comes, double x_mm, double y_mm,
                    double z_mm)
{
    const struct tw_scene *scene = hollow->scene;

    if (comes || path->plan->move_count == 0)
        tw_path_enter(path, x_mm, y_mm);
    tw_path_descend(path, x_mm, y_mm, z_mm, scene->hop_z_mm, scene->top_mm + scene->job->travel.approach_mm);
}

/* Straight up from the last cut. */
static void rise(const struct tw_hollow *hollow, struct tw_path *path)
{
    if (path->plan->move_count > 0 && path->at.z_mm < hollow->scene->hop_z_mm)
        tw_path_rapid(path, TW_ROLE_RETURN, path->at.x_mm, path->at.y_mm, hollow->scene->hop_z_mm);
}

/* Up from where the wheel stands in its own hollow, and down again: meanwhile the tang may cool. */
static void lift(const struct tw_hollow *hollow, struct tw_path *path)
{
    struct tw_place3 at = path->at;

    rise(hollow, path);
    descend(hollow, path, false, at.x_mm, at.y_mm, at.z_mm);
}

/* ---- ramps ---- */

/* The way down to the start of a loop, along the loop itself: its legs backwards from there, as long as the ramp. The wheel
 * sinks only on legs that are long enough for it; on shorter ones, where a step of the controller's last decimal would be a
 * steep drop, it runs level. Going round a short loop again and again it only finds ahead of it what the last round left. */
struct ramp {
    const struct tw_track *loop;
    double sinks_mm; /* a leg of at least this length sinks */
    size_t legs;     /* so many legs before the loop's first point */
    double way_mm;   /* length of those that sink */
    double round_mm; /* of those in one round */
};

/* Leg i counts from the loop's first point; legs before it have numbers below zero. */
static struct tw_point loop_point(const struct tw_track *loop, long i)
{
    long count = (long)loop->count;

    return loop->points[((i % count) + count) % count];
}

static double leg_mm(const struct tw_track *loop, long i)
{
    struct tw_point a = loop_point(loop, i), b = loop_point(loop, i + 1);

    return hypot(b.x_mm - a.x_mm, b.y_mm - a.y_mm);
}

/* One leg of a ramp: what stands ahead of the wheel, and by how much it sinks on it. */
struct leg {
    double ahead_mm, length_mm, drop_mm;
};

/* Power on it, as the dry-run reckons it: all that comes off over the piece of the way in hand, at the energy of chips as thin
 * as its mean depth over all of the wheel's face that cuts in it, which on a level leg is the leading edge's way alone. */
static double leg_power_W(const struct tw_hollow *hollow, const struct leg *leg, double table_mm_per_s)
{
    double radius_mm = hollow->scene->radius_mm, face_mm2 = TW_PI * radius_mm * radius_mm;
    double piece_mm = fmax(SHORTEST_PIECE_MM, fmin(TW_WARM_SLICE_MM, leg->length_mm) / 2.0);
    double removed_mm2 = 2.0 * radius_mm * leg->ahead_mm + face_mm2 * leg->drop_mm / leg->length_mm;
    double sinking_mm = leg->drop_mm > 0.0 ? face_mm2 / piece_mm : 0.0;
    double mean_mm = removed_mm2 / (2.0 * radius_mm + sinking_mm);
    double chip_mm = mean_mm * table_mm_per_s / hollow->limits.wheel_mm_per_s;

    return tw_specific_energy_J_per_mm3(chip_mm, &hollow->scene->job->wheel) * removed_mm2 * table_mm_per_s;
}

static double ramp_most_W(const struct tw_hollow *hollow)
{
    const struct tw_cut_limits *limits = &hollow->limits;

    return RAMP_SHARE * fmin(limits->power_W, limits->force_N * limits->wheel_mm_per_s / 1000.0);
}

/* Sinking by the least that can be said, as slowly as the machine goes. */
static double sinking_W(const struct tw_hollow *hollow, double length_mm)
{
    double step_mm = hollow->scene->step_mm;
    struct leg leg = { step_mm, length_mm, step_mm };

    return leg_power_W(hollow, &leg, hollow->scene->job->machine.feed_min_mm_per_s);
}

/* Where half of the longest leg is too short a way for a step down, only the longest will do. */
static double sinks_mm(const struct tw_hollow *hollow, const struct tw_track *loop)
{
    double longest_mm = 0.0, shortest_mm;

    for (size_t i = 0; i < loop->count; i++)
        longest_mm = fmax(longest_mm, leg_mm(loop, (long)i));
    shortest_mm = fmin(SINKING_RADII * hollow->scene->radius_mm, longest_mm / 2.0);
    return sinking_W(hollow, shortest_mm) > ramp_most_W(hollow) ? fmax(shortest_mm, LONGEST_SHARE * longest_mm)
                                                                : shortest_mm;
}

static double sinking_mm(const struct ramp *ramp, long i)
{
    double length_mm = leg_mm(ramp->loop, i);

    return length_mm >= ramp->sinks_mm ? length_mm : 0.0;
}

/* Over so much of the loop, however often round. */
static struct ramp ramp_onto(const struct tw_hollow *hollow, const struct tw_track *loop, double ramp_mm)
{
    struct ramp ramp = { .loop = loop, .sinks_mm = sinks_mm(hollow, loop) };

    while (ramp.way_mm < ramp_mm)
        ramp.way_mm += sinking_mm(&ramp, -(long)++ramp.legs);
    for (size_t i = 0; i < loop->count; i++)
        ramp.round_mm += sinking_mm(&ramp, (long)i);
    return ramp;
}

/* The fastest feed of a leg of the ramp that keeps power and force; never above what the sinking asks for. */
static double ramp_mm_per_s(const struct tw_hollow *hollow, const struct tw_layer *layer, const struct leg *leg,
                            double *power_W)
{
    double radius_mm = hollow->scene->radius_mm, steepness = leg->drop_mm / leg->length_mm;
    /* Sinking, the face takes off more in the same time. */
    double feed = layer->table_mm_per_s / (1.0 + TW_PI * radius_mm * steepness / (2.0 * layer->depth_mm));

    while ((*power_W = leg_power_W(hollow, leg, feed)) > ramp_most_W(hollow) &&
           feed > hollow->scene->job->machine.feed_min_mm_per_s)
        feed *= 0.9;
    return feed;
}

/* Where the wheel is on its way down, and what is asked on each leg. */
struct descent {
    const struct tw_hollow *hollow;
    const struct ramp *ramp;
    double top_z_mm, z_mm; /* from, to */
    double at_z_mm, done_mm;
    long leg;
};

static struct descent descent_of(const struct tw_hollow *hollow, const struct ramp *ramp, const struct tw_layer *layer)
{
    double top_z_mm = tw_scene_z_mm(hollow->scene, layer->bottom_mm + layer->depth_mm, 0.0);

    return (struct descent){ .hollow = hollow,
                             .ramp = ramp,
                             .top_z_mm = top_z_mm,
                             .z_mm = tw_scene_z_mm(hollow->scene, layer->bottom_mm, 0.0),
                             .at_z_mm = top_z_mm,
                             .leg = -(long)ramp->legs };
}

/* Height after so much of the way that sinks. */
static double ramp_z_mm(const struct descent *descent, double done_mm)
{
    double share = done_mm / descent->ramp->way_mm, fall_mm = descent->top_z_mm - descent->z_mm;

    if (share <= 0.0)
        return descent->top_z_mm;
    return share >= 1.0 ? descent->z_mm
                        : tw_scene_round_up_mm(descent->hollow->scene, descent->top_z_mm - fall_mm * share);
}

/* The next leg that has a length; false: there is none. descent->at_z_mm and ->leg are those of its end. Ahead of the wheel stands
 * at most what it has sunk since it was here a round ago. */
static bool next_leg(struct descent *descent, struct leg *leg)
{
    const struct ramp *ramp = descent->ramp;

    while (descent->leg < 0) {
        double length_mm = leg_mm(ramp->loop, descent->leg), before_z_mm = descent->at_z_mm;

        descent->done_mm += sinking_mm(ramp, descent->leg++);
        descent->at_z_mm = ramp_z_mm(descent, descent->done_mm);
        leg->ahead_mm = ramp_z_mm(descent, descent->done_mm - ramp->round_mm) - descent->at_z_mm;
        leg->length_mm = length_mm;
        leg->drop_mm = before_z_mm - descent->at_z_mm;
        if (length_mm > 0.0)
            return true;
    }
    return false;
}

/* How far the hottest leg of a ramp stays below its limits: below 0, too hot. */
static enum tw_status ramp_room_K(const struct tw_hollow *hollow, const struct ramp *ramp, const struct tw_layer *layer,
                                  double *room_K)
{
    struct descent descent = descent_of(hollow, ramp, layer);
    struct leg leg;
    enum tw_status status = TW_OK;

    *room_K = HUGE_VAL;
    while (status == TW_OK && next_leg(&descent, &leg)) {
        struct tw_cut cut;
        double power_W;

        if (!(leg.ahead_mm > 0.0))
            continue;
        status = tw_cut_estimate(hollow->scene->job, &hollow->limits, leg.ahead_mm,
                                 ramp_mm_per_s(hollow, layer, &leg, &power_W), layer->engaged_mm, &cut,
                                 hollow->scene->findings);
        if (status == TW_OK)
            *room_K = fmin(*room_K, tw_cut_own_room_K(&cut, &hollow->limits));
    }
    return status;
}

/* A ramp that is slower than the layer may be hotter than it: then a longer one, for on each further round less stands ahead
 * of the wheel. The shortest that is cool, or the coolest. */
static enum tw_status cool_ramp(const struct tw_hollow *hollow, const struct tw_track *loop,
                                const struct tw_layer *layer, struct ramp *out)
{
    double most_K = -HUGE_VAL;
    enum tw_status status = TW_OK;

    for (double radii = RAMP_RADII; status == TW_OK && most_K < 0.0 && radii <= LONGEST_RADII; radii *= 2.0) {
        struct ramp ramp = ramp_onto(hollow, loop, radii * hollow->scene->radius_mm);
        double room_K;

        status = ramp_room_K(hollow, &ramp, layer, &room_K);
        if (status != TW_OK || !(room_K > most_K))
            continue;
        most_K = room_K;
        *out = ramp;
    }
    return status;
}

static void go_down(const struct tw_hollow *hollow, struct tw_path *path, const struct ramp *ramp,
                    struct tw_layer *layer)
{
    struct descent descent = descent_of(hollow, ramp, layer);
    struct leg leg;

    while (next_leg(&descent, &leg)) {
        struct tw_point to = loop_point(ramp->loop, descent.leg);
        double power_W, feed = ramp_mm_per_s(hollow, layer, &leg, &power_W);

        layer->power_W = fmax(layer->power_W, power_W);
        layer->force_N = fmax(layer->force_N, 1000.0 * power_W / hollow->limits.wheel_mm_per_s);
        tw_path_feed(path, TW_ROLE_CUT, to.x_mm, to.y_mm, descent.at_z_mm, feed);
    }
}

/* Once round, from the loop's first point to it; after a ramp that takes off what it left standing behind itself. */
static void go_round(struct tw_path *path, const struct tw_track *loop, double z_mm, double table_mm_per_s)
{
    for (size_t i = 0; i <= loop->count; i++)
        tw_path_feed(path, TW_ROLE_CUT, loop->points[i % loop->count].x_mm, loop->points[i % loop->count].y_mm, z_mm,
                     table_mm_per_s);
}

/* From over the part down a ramp to where the loop begins. */
static enum tw_status enter_loop(const struct tw_hollow *hollow, struct tw_path *path, bool comes,
                                 const struct tw_track *loop, struct tw_layer *layer)
{
    struct ramp ramp;
    struct tw_point start;
    enum tw_status status = cool_ramp(hollow, loop, layer, &ramp);

    if (status != TW_OK)
        return status;
    start = loop_point(loop, -(long)ramp.legs);
    rise(hollow, path);
    descend(hollow, path, comes, start.x_mm, start.y_mm,
            tw_scene_z_mm(hollow->scene, layer->bottom_mm + layer->depth_mm, 0.0));
    go_down(hollow, path, &ramp, layer);
    return TW_OK;
}

static enum tw_status string_loops(struct tw_hollow *hollow, struct tw_path *path)
{
    enum tw_status status = TW_OK;

    for (size_t i = 0; i < path->plan->layer_count; i++) {
        struct tw_layer layer = path->plan->layers[i];
        const struct tw_tracks *tracks = way_of(hollow, i);

        path->layer = (int)i;
        hollow->limits.bulk_K = hollow->bulk->K[tw_bulk_part(layer.bottom_mm, hollow->stock_mm)];
        for (size_t k = 0; status == TW_OK && k < tracks->count; k++) {
            if (!tracks->items[k].linked)
                status = enter_loop(hollow, path, layer.comes && k == 0, &tracks->items[k], &path->plan->layers[i]);
            if (hollow->lifts)
                lift(hollow, path);
            go_round(path, &tracks->items[k], tw_scene_z_mm(hollow->scene, layer.bottom_mm, 0.0), layer.table_mm_per_s);
        }
        rise(hollow, path);
    }
    return status;
}

/* Evenly down from the butt's end of the trough to its front, and level back. */
static void to_and_fro(const struct tw_hollow *hollow, struct tw_path *path, bool comes, const struct tw_track *trough,
                       const struct tw_layer *layer)
{
    const struct tw_scene *scene = hollow->scene;
    double back_mm = trough->points[0].x_mm, front_mm = trough->points[1].x_mm, y_mm = trough->points[0].y_mm;
    double top_z_mm = tw_scene_z_mm(scene, layer->bottom_mm + layer->depth_mm, back_mm);

    if (comes || path->at.x_mm != back_mm || path->at.y_mm != y_mm || path->at.z_mm != top_z_mm ||
        path->plan->move_count == 0)
        descend(hollow, path, comes, back_mm, y_mm, top_z_mm);
    tw_path_feed(path, TW_ROLE_CUT, front_mm, y_mm, tw_scene_z_mm(scene, layer->bottom_mm, front_mm),
                 layer->table_mm_per_s);
    tw_path_feed(path, TW_ROLE_CUT, back_mm, y_mm, tw_scene_z_mm(scene, layer->bottom_mm, back_mm),
                 layer->table_mm_per_s);
}

/* The trough of a way that lies at this y and ends at this x; upper layers, which begin farther back, may have none. */
static const struct tw_track *trough_like(const struct tw_tracks *tracks, const struct tw_track *wanted)
{
    for (size_t i = 0; i < tracks->count; i++)
        if (tracks->items[i].points[0].x_mm == wanted->points[0].x_mm &&
            tracks->items[i].points[0].y_mm == wanted->points[0].y_mm)
            return &tracks->items[i];
    return NULL;
}

/* One layer of a trough. */
static void grind_layer(const struct tw_hollow *hollow, struct tw_path *path, bool comes, const struct tw_track *trough,
                        size_t i)
{
    struct tw_layer layer = path->plan->layers[i];

    path->layer = (int)i;
    if (comes)
        rise(hollow, path);
    to_and_fro(hollow, path, comes, trough, &layer);
    if (hollow->lifts)
        rise(hollow, path);
}

/* From the top to the floor; torn between two layers where one dressing does not do for it. */
static enum tw_status grind_trough(struct tw_hollow *hollow, struct tw_path *path, const struct tw_track *wanted)
{
    bool parted = is_parted(hollow), torn, comes = false;
    size_t first = path->plan->layer_count, again = 0;
    struct steel steel;
    enum tw_status status = parted ? find_steel(hollow, wanted, &steel) : TW_OK;

    torn = status == TW_OK && parted && is_torn(hollow, &steel);
    if (status == TW_OK && parted && !torn)
        status = part_trough(hollow, &steel, &comes);
    for (size_t i = 0; status == TW_OK && i < path->plan->layer_count; i++) {
        const struct tw_track *trough = trough_like(way_of(hollow, i), wanted);

        if (!trough)
            continue;
        first = i < first ? i : first;
        if (torn)
            status = tear_trough(hollow, path->plan, &steel, first, i, &again, &comes);
        for (size_t k = i - again; status == TW_OK && k <= i; k++) {
            trough = trough_like(way_of(hollow, k), wanted);
            if (trough)
                grind_layer(hollow, path, comes, trough, k);
            comes = comes && !trough;
        }
        hollow->again += again;
    }
    rise(hollow, path);
    return status;
}

static enum tw_status string_troughs(struct tw_hollow *hollow, struct tw_path *path)
{
    const struct tw_tracks *all = way_of(hollow, path->plan->layer_count - 1);
    enum tw_status status = TW_OK;

    for (size_t k = 0; status == TW_OK && k < all->count; k++)
        status = grind_trough(hollow, path, &all->items[k]);
    return status;
}

/* ---- one plan ---- */

static enum tw_status note_wear(const struct tw_hollow *hollow, struct tw_setup_plan *out)
{
    const struct tw_job *job = hollow->scene->job;
    const struct tw_hollow_stays *stays = &hollow->stays;
    double thin_mm3 = taken_mm3(hollow, -job->taper.band_mm), thick_mm3 = taken_mm3(hollow, job->taper.band_mm);
    bool parted = stays->count > 0;
    bool made = tw_wear_ledger_make(parted ? stays->thin_mm3 : &thin_mm3, parted ? stays->thick_mm3 : &thick_mm3,
                                    parted ? stays->count : 1, job->parts, job->wheel.dress_after_mm3, &out->ledger);

    out->relief.taken_mm3 = thick_mm3;
    out->relief.stay_mm3 = parted ? tw_hollow_stays_most_mm3(stays) : thick_mm3;
    out->relief.loss = tw_wear_of_relief(job, taken_mm3(hollow, 0.0));
    return made ? TW_OK : tw_no_memory(hollow->scene->findings);
}

static void note_area(const struct tw_hollow *hollow, struct tw_setup_plan *out)
{
    const struct tw_relief_area *area = &hollow->area;
    double depth_mm = hollow->scene->job->relief.depth_mm;

    out->relief = (struct tw_relief_figures){ .region_mm2 = area->area_mm2,
                                              .reached_mm2 = area->reached_mm2,
                                              .left_count = area->left_count };
    out->relief.removed_mm3 = depth_mm * area->hollowed_mm2;
    for (size_t i = 0; i < area->left_count; i++)
        out->relief.left[i] = area->left[i];
}

static int passes_of(const struct tw_hollow *hollow, const struct tw_setup_plan *out)
{
    int passes = (int)hollow->again;

    for (size_t i = 0; i < out->layer_count; i++)
        passes += out->layers[i].lanes;
    return is_disc(hollow) ? 2 * passes : passes;
}

static enum tw_status string_moves(struct tw_hollow *hollow, struct tw_setup_plan *out)
{
    struct tw_path path;
    enum tw_status status;

    tw_path_open(&path, hollow->scene, out);
    status = is_disc(hollow) ? string_troughs(hollow, &path) : string_loops(hollow, &path);
    if (status == TW_OK)
        status = tw_path_close(&path, &out->cut_time_s);
    return status == TW_OK ? tw_path_check(hollow->scene, out) : status;
}

static enum tw_status lay(void *context, const struct tw_scene *scene, const struct tw_cut_limits *limits,
                          const struct tw_bulk *bulk, const struct tw_way *way, struct tw_setup_plan *out)
{
    struct tw_hollow *hollow = context;
    enum tw_status status;

    hollow->scene = hollow->area.scene = scene;
    hollow->limits = *limits;
    hollow->bulk = bulk;
    hollow->lifts = is_disc(hollow) ? !way->stays : way->lifts;
    hollow->menu.count = 0;
    hollow->again = 0;
    tw_hollow_stays_free(&hollow->stays);
    out->face = scene->face;
    out->style = way->style;
    status = stack_layers(hollow, out);
    if (status == TW_OK) {
        /* From the order of stacking, floor upwards, to that of grinding. */
        tw_turn_over(out->layers, out->layer_count, sizeof *out->layers);
        tw_turn_over(hollow->way_of, out->layer_count, sizeof *hollow->way_of);
        if (!is_disc(hollow) && is_parted(hollow))
            status = part_layers(hollow, out);
    }
    if (status == TW_OK)
        status = string_moves(hollow, out);
    if (status == TW_OK) {
        out->pass_count = passes_of(hollow, out);
        out->clear_z_mm = scene->clear_z_mm;
        out->finish_z_mm = tw_scene_z_mm(scene, 0.0, 0.0);
        note_area(hollow, out);
        status = note_wear(hollow, out);
    }
    return status;
}

/* A disc may go down a trough without leaving it. */
static size_t list_ways(const void *context, const struct tw_scene *scene, struct tw_way ways[TW_WAYS_MOST])
{
    (void)context;
    if (scene->job->wheel.kind == TW_WHEEL_CUP) {
        ways[0] = (struct tw_way){ .style = TW_STYLE_LOOPS };
        return 1;
    }
    ways[0] = (struct tw_way){ .style = TW_STYLE_TROUGHS, .stays = true };
    ways[1] = (struct tw_way){ .style = TW_STYLE_TROUGHS };
    return 2;
}

static void measure(struct tw_hollow *hollow)
{
    const struct tw_job *job = hollow->scene->job;

    hollow->front_mm = hollow->area.box.min_x_mm;
    hollow->back_mm = hollow->area.box.max_x_mm;
    hollow->stock_mm = tw_face_most_mm(&hollow->scene->face, hollow->back_mm);
    if (job->task.raw) /* a face that was finished: it may be so much too high by the wheel's wear */
        hollow->stock_mm += job->finish.thickness_mm / 2.0;
}

enum tw_status tw_hollow_open(const struct tw_scene *scene, struct tw_hollow **out)
{
    struct tw_hollow *hollow = calloc(1, sizeof *hollow);
    enum tw_status status;

    *out = hollow;
    if (!hollow)
        return tw_no_memory(scene->findings);
    hollow->scene = scene;
    hollow->layout = (struct tw_layout){
        .context = hollow, .can_lift = scene->job->wheel.kind == TW_WHEEL_CUP, .list_ways = list_ways, .lay = lay
    };
    status = tw_relief_area_open(scene, scene->job->relief.depth_mm, &hollow->area);
    if (status == TW_OK)
        measure(hollow);
    return status;
}

const struct tw_layout *tw_hollow_layout(const struct tw_hollow *hollow)
{
    return &hollow->layout;
}

void tw_hollow_close(struct tw_hollow *hollow)
{
    if (!hollow)
        return;
    tw_relief_area_close(&hollow->area);
    for (size_t i = 0; i < hollow->way_count; i++)
        tw_tracks_free(&hollow->ways[i].tracks);
    free(hollow->ways);
    free(hollow->way_of);
    tw_hollow_stays_free(&hollow->stays);
    free(hollow);
}
