/* side.c - one side of a job: what it is planned with, opened and released again. */
#include "plan/search/side.h"

#include "plan/cuts/menus.h"
#include "plan/search/choose.h"
#include "plan/search/hollow.h"
#include "plan/search/schedule.h"
#include "plan/ways/kept_loops.h"
#include "plan/ways/reach.h"

#include <stdlib.h>

struct tw_desk {
    struct tw_side_given given;
    struct tw_geos geos;
    struct tw_scene scene;
    struct tw_cut_limits limits;
    struct tw_hollow *hollow; /* NULL: a face */
    struct tw_warmth *coarse;
    struct tw_choosing *trials;
};

void tw_side_close(struct tw_desk *desk)
{
    if (!desk)
        return;
    tw_choose_close(desk->trials);
    tw_warmth_close(desk->coarse);
    tw_hollow_close(desk->hollow);
    tw_kept_loops_close(desk->scene.loops);
    tw_menus_close(desk->scene.menus);
    tw_extents_close(desk->scene.extents);
    tw_scene_close(&desk->scene);
    tw_geos_close(&desk->geos);
    free(desk);
}

static struct tw_cut_limits limits_of(const struct tw_side_given *given)
{
    return tw_cut_limits_of(given->job, given->side, given->wheel_mm_per_s, given->holding_N, given->factors);
}

static enum tw_status fill_desk(struct tw_desk *desk, struct tw_findings *findings)
{
    const struct tw_job *job = desk->given.job;
    enum tw_status status = tw_geos_open(&desk->geos, findings);

    if (status == TW_OK)
        status = tw_scene_open(&desk->scene, job, desk->given.side, &desk->geos, findings);
    desk->scene.factors = desk->given.factors;
    desk->scene.menus = tw_menus_open(job);
    desk->scene.loops = tw_kept_loops_open();
    desk->scene.extents = tw_extents_open();
    if (status == TW_OK && (!desk->scene.menus || !desk->scene.loops || !desk->scene.extents))
        status = tw_no_memory(findings);
    if (status == TW_OK)
        status = tw_warmth_open(&desk->scene, TW_COARSE, &desk->coarse);
    if (status == TW_OK)
        desk->limits = limits_of(&desk->given);
    if (status == TW_OK && job->task.scope == TW_SCOPE_RELIEF)
        status = tw_hollow_open(&desk->scene, &desk->hollow);
    return status;
}

enum tw_status tw_side_try(const struct tw_side_given *given, struct tw_desk **out, struct tw_findings *findings)
{
    struct tw_desk *desk = calloc(1, sizeof *desk);
    enum tw_status status;

    *out = desk;
    if (!desk)
        return tw_no_memory(findings);
    desk->given = *given;
    status = fill_desk(desk, findings);
    if (status == TW_OK)
        status = tw_choose_try(&desk->scene, desk->coarse, &desk->limits,
                               desk->hollow ? tw_hollow_layout(desk->hollow) : &tw_schedule_layout, given->most_s,
                               given->before, &desk->trials);
    return status;
}

const struct tw_setup_plan *tw_side_tried(const struct tw_desk *desk)
{
    return desk->trials ? tw_choose_tried(desk->trials) : NULL; /* NULL: what stopped it stopped it before */
}

double tw_side_effort_s(const struct tw_desk *desk)
{
    return desk->trials ? tw_choose_effort_s(desk->trials) : 0.0;
}

enum tw_status tw_side_finish(struct tw_desk *desk, struct tw_setup_plan *out)
{
    struct tw_warmth *fine;
    enum tw_status status = tw_warmth_open(&desk->scene, TW_FINE, &fine);

    desk->limits = limits_of(&desk->given); /* the job may keep more back by now */
    if (status == TW_OK)
        status = tw_choose_finish(desk->trials, fine, &desk->limits, out);
    if (status == TW_OK)
        status = tw_reach_check(desk->scene.job, out, desk->scene.findings);
    tw_warmth_close(fine);
    return status;
}
