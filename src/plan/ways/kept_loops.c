/* kept_loops.c - see kept_loops.h. */
#include "plan/ways/kept_loops.h"

#include <stdlib.h>
#include <string.h>

/* More than one face has layers; new loops take the place of the oldest. */
#define KEPT_MOST 1024

/* What loops depend on, the scene aside, of which there is only one. */
struct wish {
    double bottom_mm, crossfeed_ratio; /* advice asks with another crossfeed */
};

struct kept {
    struct wish wish;
    struct tw_loops loops;
};

struct tw_kept_loops {
    struct kept kept[KEPT_MOST];
    size_t count, next;
    int laid;
};

struct tw_kept_loops *tw_kept_loops_open(void)
{
    return calloc(1, sizeof(struct tw_kept_loops));
}

void tw_kept_loops_close(struct tw_kept_loops *kept)
{
    for (size_t i = 0; kept && i < kept->count; i++)
        tw_loops_free(&kept->kept[i].loops);
    free(kept);
}

int tw_kept_loops_laid(const struct tw_kept_loops *kept)
{
    return kept ? kept->laid : 0;
}

static enum tw_status copy(const struct tw_scene *scene, const struct tw_loops *from, struct tw_loops *to)
{
    *to = *from;
    to->capacity = from->count;
    to->points = malloc((from->count + 1) * sizeof *to->points);
    if (!to->points) {
        *to = (struct tw_loops){ 0 };
        return tw_no_memory(scene->findings);
    }
    if (from->count > 0)
        memcpy(to->points, from->points, from->count * sizeof *to->points);
    return TW_OK;
}

static enum tw_status keep(const struct tw_scene *scene, struct wish wish, const struct tw_loops *loops)
{
    struct tw_kept_loops *all = scene->loops;
    struct kept *place = &all->kept[all->next];
    struct tw_loops own;
    enum tw_status status = copy(scene, loops, &own);

    if (status != TW_OK)
        return status;
    tw_loops_free(&place->loops);
    *place = (struct kept){ wish, own };
    all->next = (all->next + 1) % KEPT_MOST;
    all->count += all->count < KEPT_MOST;
    return TW_OK;
}

/* NULL: none will do. */
static const struct kept *nearest(const struct tw_scene *scene, struct wish wish)
{
    const struct kept *found = NULL;

    for (size_t i = 0; scene->loops && i < scene->loops->count; i++) {
        const struct kept *kept = &scene->loops->kept[i];
        double lower_mm = wish.bottom_mm - kept->wish.bottom_mm;

        if (kept->wish.crossfeed_ratio == wish.crossfeed_ratio && lower_mm >= 0.0 &&
            lower_mm <= scene->loops_within_mm && (!found || kept->wish.bottom_mm > found->wish.bottom_mm))
            found = kept;
    }
    return found;
}

enum tw_status tw_kept_loops_lay(const struct tw_scene *scene, double bottom_mm, struct tw_loops *out)
{
    struct wish wish = { bottom_mm, scene->job->wheel.max_crossfeed_ratio };
    const struct kept *kept = nearest(scene, wish);
    enum tw_status status;

    if (kept)
        return copy(scene, &kept->loops, out);
    status = tw_loops_lay(scene, bottom_mm, out);
    if (scene->loops)
        scene->loops->laid += out->loop_count;
    if (status == TW_OK && scene->loops) {
        status = keep(scene, wish, out);
        if (status != TW_OK)
            tw_loops_free(out);
    }
    return status;
}
