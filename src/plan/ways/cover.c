/* cover.c - how the wheel goes over one layer: lanes or loops, and what that takes. */
#include "plan/ways/cover.h"

#include "plan/ways/kept_loops.h"
#include "plan/ways/offset.h"
#include "plan/ways/path.h"
#include "tangwright/motion.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

void tw_cover_free(struct tw_cover *cover)
{
    free(cover->lanes);
    tw_loops_free(&cover->loops);
    *cover = (struct tw_cover){ 0 };
}

static void *copy_of(const void *items, size_t bytes)
{
    void *copy = malloc(bytes ? bytes : 1);

    if (copy && bytes)
        memcpy(copy, items, bytes);
    return copy;
}

bool tw_cover_copy(const struct tw_cover *cover, struct tw_cover *out)
{
    *out = *cover;
    out->lanes = copy_of(cover->lanes, cover->lane_count * sizeof *out->lanes);
    out->loops.points = copy_of(cover->loops.points, cover->loops.count * sizeof *out->loops.points);
    out->loops.capacity = cover->loops.count;
    if (out->lanes && out->loops.points)
        return true;
    tw_cover_free(out);
    return false;
}

static enum tw_status keep_lanes(const struct tw_scene *scene, const struct tw_lanes *lanes, struct tw_cover *out)
{
    if (lanes->count == 0)
        return TW_OK;
    out->lanes = malloc(lanes->count * sizeof *out->lanes);
    if (!out->lanes)
        return tw_no_memory(scene->findings);
    memcpy(out->lanes, lanes->lanes, lanes->count * sizeof *out->lanes);
    out->lane_count = lanes->count;
    out->passes = (int)lanes->count;
    out->pitch_mm = lanes->pitch_mm;
    out->cusp_mm = lanes->cusp_mm;
    for (size_t i = 0; i < lanes->count; i++) {
        out->engaged_mm = fmax(out->engaged_mm, lanes->lanes[i].engaged_mm);
        out->stock_mm += lanes->lanes[i].span_back_mm - lanes->lanes[i].span_front_mm;
    }
    return TW_OK;
}

static enum tw_status lay_lanes(const struct tw_scene *scene, enum tw_travel_style style, struct tw_lane_rule rule,
                                double bottom_mm, double deepest_mm, struct tw_cover *out)
{
    struct tw_lanes *lanes = malloc(sizeof *lanes);
    enum tw_status status;

    if (!lanes)
        return tw_no_memory(scene->findings);
    status = tw_lanes_lay(scene, rule, bottom_mm, deepest_mm, style != TW_STYLE_FROM_BUTT, lanes);
    if (status == TW_OK)
        status = keep_lanes(scene, lanes, out);
    free(lanes);
    return status;
}

static double length_of_loops_mm(const struct tw_loops *loops)
{
    double length_mm = 0.0;

    for (size_t i = 1; i < loops->count; i++)
        length_mm += tw_point_distance_mm(loops->points[i - 1], loops->points[i]);
    return length_mm;
}

static double lane_mm(const struct tw_lane *lane)
{
    return lane->back_end_mm - lane->front_end_mm;
}

/* From the end of one lane to the start of the next. */
static double between_s(const struct tw_scene *scene, enum tw_travel_style style, const struct tw_cover *cover,
                        const struct tw_lane *lane)
{
    const struct tw_machine *machine = &scene->job->machine;
    double along[3] = { lane_mm(lane), 0.0, 0.0 }, up[3] = { 0.0, 0.0, scene->job->travel.approach_mm };
    double across[3] = { 0.0, cover->pitch_mm, 0.0 };

    if (style == TW_STYLE_BOTH_WAYS)
        return tw_motion_feed_time_s(machine, across, tw_path_across_mm_per_s(scene));
    return tw_motion_rapid_time_s(machine, along) + 2.0 * tw_motion_rapid_time_s(machine, up);
}

static void measure(const struct tw_scene *scene, enum tw_travel_style style, struct tw_cover *cover)
{
    cover->first_mm = length_of_loops_mm(&cover->loops);
    for (size_t i = 0; i < cover->lane_count; i++) {
        *(i == 0 ? &cover->first_mm : &cover->later_mm) += lane_mm(&cover->lanes[i]);
        cover->between_s += between_s(scene, style, cover, &cover->lanes[i]);
    }
}

enum tw_status tw_cover_lay(const struct tw_scene *scene, enum tw_travel_style style, struct tw_lane_rule rule,
                            double bottom_mm, double deepest_mm, struct tw_cover *out)
{
    enum tw_status status;

    *out = (struct tw_cover){ .ordered = rule.crossfeed_mm > 0.0 && !rule.ahead && !rule.first_widest };
    if (style != TW_STYLE_LOOPS) {
        status = lay_lanes(scene, style, rule, bottom_mm, deepest_mm, out);
    } else {
        status = tw_kept_loops_lay(scene, bottom_mm, &out->loops);
        out->passes = out->loops.loop_count;
        out->stock_mm = out->loops.stock_mm;
        out->engaged_mm = tw_lanes_widest_mm(scene, rule.ahead);
    }
    measure(scene, style, out);
    return status;
}

static double loop_time_s(const struct tw_scene *scene, const struct tw_loops *loops, double table_mm_per_s)
{
    double time_s = 0.0;

    for (size_t i = 1; i < loops->count; i++) {
        double by_mm[3] = { loops->points[i].x_mm - loops->points[i - 1].x_mm,
                            loops->points[i].y_mm - loops->points[i - 1].y_mm, 0.0 };

        time_s += tw_motion_feed_time_s(&scene->job->machine, by_mm, table_mm_per_s);
    }
    return time_s;
}

double tw_cover_time_s(const struct tw_scene *scene, const struct tw_cover *cover, double table_mm_per_s,
                       double later_mm_per_s)
{
    double time_s = cover->between_s + loop_time_s(scene, &cover->loops, table_mm_per_s);

    for (size_t i = 0; i < cover->lane_count; i++) {
        double along[3] = { lane_mm(&cover->lanes[i]), 0.0, 0.0 };

        time_s += tw_motion_feed_time_s(&scene->job->machine, along, i == 0 ? table_mm_per_s : later_mm_per_s);
    }
    return time_s;
}

/* Sums in another order differ by roundings. */
#define SLIGHTLY_LESS (1.0 - 1e-12)

double tw_cover_least_s(const struct tw_cover *cover, double table_mm_per_s, double later_mm_per_s)
{
    return SLIGHTLY_LESS * (cover->between_s + cover->first_mm / table_mm_per_s + cover->later_mm / later_mm_per_s);
}
