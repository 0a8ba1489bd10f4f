/* side.c - one side of a job: what it is planned with, opened and released again. */
#include "plan/search/side.h"

#include "plan/cuts/menus.h"
#include "plan/search/choose.h"
#include "plan/search/hollow.h"
#include "plan/search/schedule.h"
#include "plan/ways/kept_loops.h"
#include "plan/ways/reach.h"

#include <stdlib.h>

/* What a side is planned with. */
struct desk {
    struct tw_geos geos;
    struct tw_scene scene;
    struct tw_factors *factors;
    struct tw_cut_limits limits;
    struct tw_models models;
};

static void close_desk(struct desk *desk)
{
    tw_warmth_close(desk->models.coarse);
    tw_warmth_close(desk->models.fine);
    tw_kept_loops_close(desk->scene.loops);
    tw_menus_close(desk->scene.menus);
    tw_extents_close(desk->scene.extents);
    tw_scene_close(&desk->scene);
    tw_geos_close(&desk->geos);
    free(desk->factors);
}

static enum tw_status open_desk(const struct tw_job *job, enum tw_side side, double wheel_mm_per_s, struct desk *desk,
                                struct tw_findings *findings)
{
    enum tw_status status = tw_geos_open(&desk->geos, findings);

    if (status == TW_OK)
        status = tw_scene_open(&desk->scene, job, side, &desk->geos, findings);
    desk->factors = malloc(sizeof *desk->factors);
    desk->scene.menus = tw_menus_open(job);
    desk->scene.loops = tw_kept_loops_open();
    desk->scene.extents = tw_extents_open();
    if (status == TW_OK && (!desk->factors || !desk->scene.menus || !desk->scene.loops || !desk->scene.extents))
        status = tw_no_memory(findings);
    if (status == TW_OK)
        status = tw_warmth_open(&desk->scene, TW_COARSE, &desk->models.coarse);
    if (status == TW_OK)
        status = tw_warmth_open(&desk->scene, TW_FINE, &desk->models.fine);
    if (status == TW_OK)
        desk->limits = tw_cut_limits_of(job, side, wheel_mm_per_s, desk->factors);
    return status;
}

static enum tw_status plan_at(struct desk *desk, struct tw_setup_plan *out)
{
    return desk->scene.job->task.scope == TW_SCOPE_RELIEF
               ? tw_hollow_plan(&desk->scene, &desk->models, &desk->limits, out)
               : tw_choose_plan(&desk->scene, &desk->models, &desk->limits, &tw_schedule_layout, out);
}

enum tw_status tw_side_plan(const struct tw_job *job, enum tw_side side, double wheel_mm_per_s,
                            struct tw_setup_plan *out, struct tw_findings *findings)
{
    struct desk desk = { 0 };
    enum tw_status status = open_desk(job, side, wheel_mm_per_s, &desk, findings);

    if (status == TW_OK)
        status = plan_at(&desk, out);
    desk.scene.layers_a_round = out->layers_a_round;
    if (status == TW_OK)
        status = tw_warmth_expect(desk.models.fine, &desk.scene, &desk.limits, out);
    if (status == TW_OK)
        status = tw_reach_check(job, out, findings);
    close_desk(&desk);
    return status;
}
