/* path.c - the moves of one part. */
#include "plan/ways/path.h"

#include "base/memory.h"
#include "plan/scene/obstacle.h"
#include "plan/ways/stations.h"
#include "tangwright/motion.h"

#include <math.h>
#include <stdlib.h>

void tw_path_open(struct tw_path *path, const struct tw_scene *scene, struct tw_setup_plan *plan)
{
    *path = (struct tw_path){ .scene = scene, .plan = plan, .layer = -1 };
    path->at.z_mm = scene->clear_z_mm;
}

static void add(struct tw_path *path, struct tw_move move)
{
    struct tw_setup_plan *plan = path->plan;

    move.layer = path->layer;
    if (!tw_grow((void **)&plan->moves, &plan->move_capacity, plan->move_count + 1, sizeof *plan->moves)) {
        path->out_of_memory = true;
        return;
    }
    plan->moves[plan->move_count++] = move;
}

static bool is_there(const struct tw_path *path, struct tw_place3 to)
{
    return path->plan->move_count > 0 && path->at.x_mm == to.x_mm && path->at.y_mm == to.y_mm &&
           path->at.z_mm == to.z_mm;
}

static void move_to(struct tw_path *path, struct tw_move move)
{
    if (is_there(path, move.to))
        return;
    add(path, move);
    path->at = move.to;
}

void tw_path_rapid(struct tw_path *path, enum tw_move_role role, double x_mm, double y_mm, double z_mm)
{
    move_to(path, (struct tw_move){ .kind = TW_MOVE_RAPID, .role = role, .to = { x_mm, y_mm, z_mm } });
}

void tw_path_feed(struct tw_path *path, enum tw_move_role role, double x_mm, double y_mm, double z_mm,
                  double feed_mm_per_s)
{
    feed_mm_per_s = tw_representable_feed_mm_per_s(&path->scene->job->machine, feed_mm_per_s);
    move_to(path, (struct tw_move){
                      .kind = TW_MOVE_FEED, .role = role, .to = { x_mm, y_mm, z_mm }, .feed_mm_per_s = feed_mm_per_s });
}

void tw_path_dwell(struct tw_path *path, enum tw_move_role role, double dwell_s)
{
    add(path, (struct tw_move){ .kind = TW_MOVE_DWELL, .role = role, .to = path->at, .dwell_s = dwell_s });
}

void tw_path_enter(struct tw_path *path, double x_mm, double y_mm)
{
    bool again = path->plan->move_count > 0;
    double z_mm = again ? path->scene->part_z_mm : path->scene->clear_z_mm;

    if (again)
        tw_path_rapid(path, TW_ROLE_RETRACT, path->at.x_mm, path->at.y_mm, z_mm);
    path->at = (struct tw_place3){ x_mm, y_mm, z_mm };
    add(path, (struct tw_move){ .kind = TW_MOVE_RAPID, .role = TW_ROLE_APPROACH, .to = path->at, .enters = true });
}

double tw_path_across_mm_per_s(const struct tw_scene *scene)
{
    return fmin(scene->job->machine.feed_max_mm_per_s, scene->job->machine.across.rapid_mm_per_s);
}

double tw_path_infeed_mm_per_s(const struct tw_scene *scene)
{
    /* Off the part, but on its way to it: a quarter of the rapid is brisk and still calm. */
    return fmin(scene->job->machine.feed_max_mm_per_s, scene->job->machine.up.rapid_mm_per_s / 4.0);
}

void tw_path_descend(struct tw_path *path, double x_mm, double y_mm, double z_mm, double over_z_mm, double near_z_mm)
{
    near_z_mm = tw_scene_round_up_mm(path->scene, near_z_mm);

    if (path->at.z_mm < over_z_mm)
        tw_path_rapid(path, TW_ROLE_RETURN, path->at.x_mm, path->at.y_mm, over_z_mm);
    tw_path_rapid(path, TW_ROLE_APPROACH, x_mm, y_mm, path->at.z_mm);
    if (near_z_mm < path->at.z_mm)
        tw_path_rapid(path, TW_ROLE_APPROACH, x_mm, y_mm, near_z_mm);
    tw_path_feed(path, TW_ROLE_INFEED, x_mm, y_mm, z_mm, tw_path_infeed_mm_per_s(path->scene));
}

enum tw_status tw_setup_times(const struct tw_machine *machine, const struct tw_setup_plan *plan, double *times_s,
                              struct tw_findings *findings)
{
    bool blended = machine->dialect.path_mode == TW_PATH_BLENDED;
    struct tw_motion_leg *legs = calloc(plan->move_count, sizeof *legs);
    enum tw_status status;

    if (!legs)
        return tw_no_memory(findings);
    for (size_t i = 1; i < plan->move_count; i++) {
        const struct tw_move *move = &plan->moves[i], *before = move - 1;

        if (move->enters) { /* how long that takes is the stations' matter */
            legs[i - 1].rest_after = true;
            continue;
        }
        legs[i].by_mm[0] = move->to.x_mm - before->to.x_mm;
        legs[i].by_mm[1] = move->to.y_mm - before->to.y_mm;
        legs[i].by_mm[2] = move->to.z_mm - before->to.z_mm;
        legs[i].feed_mm_per_s = move->kind == TW_MOVE_FEED ? move->feed_mm_per_s : 0.0;
        legs[i - 1].rest_after = move->kind == TW_MOVE_DWELL;
    }
    status = tw_motion_times(machine, legs, plan->move_count, blended, times_s, findings);
    free(legs);
    return status;
}

enum tw_status tw_path_close(struct tw_path *path, double *cutting_s)
{
    const struct tw_scene *scene = path->scene;
    struct tw_setup_plan *plan = path->plan;
    double *times_s, cut_s = 0.0;
    enum tw_status status;

    tw_path_rapid(path, TW_ROLE_RETRACT, path->at.x_mm, path->at.y_mm, scene->clear_z_mm);
    times_s = calloc(plan->move_count + 1, sizeof *times_s);
    status = times_s && !path->out_of_memory ? tw_setup_times(&scene->job->machine, plan, times_s, scene->findings)
                                             : tw_no_memory(scene->findings);
    for (size_t i = 1; status == TW_OK && i < plan->move_count; i++) {
        const struct tw_move *move = &plan->moves[i];

        plan->part_time_s += move->kind == TW_MOVE_DWELL ? move->dwell_s : times_s[i];
        cut_s += move->role == TW_ROLE_CUT ? times_s[i] : 0.0;
    }
    free(times_s);
    if (status == TW_OK)
        tw_stations_sum_up(scene->job, plan);
    if (cutting_s)
        *cutting_s = cut_s;
    return status;
}

static enum tw_status touches(const struct tw_scene *scene, const struct tw_keep_out *hit, struct tw_place3 where)
{
    struct tw_place at = { .file = scene->job->path };
    bool relief = scene->job->task.scope == TW_SCOPE_RELIEF;

    return tw_fail(scene->findings, TW_NO_PLAN, at,
                   "side %s%s: the wheel would touch %s on its way to x = %.3f, y = %.3f, z = %.3f mm; %s",
                   tw_side_letter(scene->face.side), relief ? ", relief" : "", hit->name, where.x_mm, where.y_mm,
                   where.z_mm, tw_scene_advice(scene, hit));
}

enum tw_status tw_path_check(const struct tw_scene *scene, const struct tw_setup_plan *plan)
{
    for (size_t i = 1; i < plan->move_count; i++) {
        const struct tw_move *move = &plan->moves[i];
        struct tw_place3 from = plan->moves[i - 1].to;
        const struct tw_keep_out *hit;
        enum tw_status status;

        if (move->kind == TW_MOVE_DWELL || fmin(from.z_mm, move->to.z_mm) >= scene->hop_z_mm)
            continue;
        status = tw_obstacle_on_move(scene, from, move->to, &hit);
        if (status == TW_OK && hit)
            status = touches(scene, hit, move->to);
        if (status != TW_OK)
            return status;
    }
    return TW_OK;
}
