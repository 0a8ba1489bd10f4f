/* side.c - one side of a job: what it is planned with, opened and released again. */
#include "plan/search/side.h"

#include "plan/cuts/menus.h"
#include "plan/search/choose.h"
#include "plan/search/hollow.h"
#include "plan/ways/reach.h"
#include "plan/search/schedule.h"

#include <stdlib.h>

static enum tw_status plan_scene(struct tw_scene *scene, struct tw_warmth *warmth, const struct tw_cut_limits *limits,
                                 struct tw_setup_plan *out)
{
    struct tw_layout layout = tw_schedule_layout(scene);

    return scene->job->task.scope == TW_SCOPE_RELIEF ? tw_hollow_plan(scene, warmth, limits, out)
                                                     : tw_choose_plan(scene, warmth, limits, &layout, out);
}

enum tw_status tw_side_plan(const struct tw_job *job, enum tw_side side, double wheel_mm_per_s,
                            struct tw_setup_plan *out, struct tw_findings *findings)
{
    struct tw_factors *factors = malloc(sizeof *factors);
    struct tw_menus *menus = tw_menus_open(job);
    struct tw_warmth *warmth = NULL;
    struct tw_scene scene = { 0 };
    struct tw_cut_limits limits;
    struct tw_geos geos;
    enum tw_status status;

    if (!factors || !menus) {
        free(factors);
        tw_menus_close(menus);
        return tw_no_memory(findings);
    }
    status = tw_geos_open(&geos, findings);
    if (status == TW_OK)
        status = tw_scene_open(&scene, job, side, &geos, findings);
    scene.menus = menus;
    if (status == TW_OK)
        status = tw_warmth_open(&scene, &warmth);
    if (status == TW_OK)
        limits = tw_cut_limits_of(job, side, wheel_mm_per_s, factors);
    if (status == TW_OK)
        status = plan_scene(&scene, warmth, &limits, out);
    if (status == TW_OK)
        status = tw_warmth_expect(warmth, &limits, out);
    if (status == TW_OK)
        status = tw_reach_check(job, out, findings);
    tw_warmth_close(warmth);
    tw_scene_close(&scene);
    tw_geos_close(&geos);
    tw_menus_close(menus);
    free(factors);
    return status;
}
