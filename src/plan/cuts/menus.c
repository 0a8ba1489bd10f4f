/* menus.c - see menus.h. */
#include "plan/cuts/menus.h"

#include <stdlib.h>
#include <string.h>

/* More than one round of ways asks for; a new menu takes the place of the oldest. */
#define KEPT_MOST 64

struct kept {
    struct tw_cut_limits limits;
    struct tw_menu_wish wish;
    struct tw_cut_menu menu;
};

struct tw_menus {
    const struct tw_job *job;
    struct kept kept[KEPT_MOST];
    size_t count, next;
};

struct tw_menus *tw_menus_open(const struct tw_job *job)
{
    struct tw_menus *menus = calloc(1, sizeof *menus);

    if (menus)
        menus->job = job;
    return menus;
}

void tw_menus_close(struct tw_menus *menus)
{
    free(menus);
}

static bool is_same_wish(const struct tw_menu_wish *a, const struct tw_menu_wish *b)
{
    return a->first.shallow_mm == b->first.shallow_mm && a->first.per_depth == b->first.per_depth &&
           a->first.most_mm == b->first.most_mm && a->later_mm == b->later_mm && a->largest_mm == b->largest_mm &&
           a->largest_binds == b->largest_binds;
}

/* Bytes between the members may differ: then the same menu is filled twice. */
static bool is_same_limits(const struct tw_cut_limits *a, const struct tw_cut_limits *b)
{
    return memcmp(a, b, sizeof *a) == 0;
}

static enum tw_status fill(const struct tw_scene *scene, const struct tw_cut_limits *limits,
                           const struct tw_menu_wish *wish, struct tw_cut_menu *out)
{
    enum tw_status status = tw_cut_menu_fill(scene, limits, &wish->first, wish->largest_mm, wish->largest_binds, out);

    for (size_t i = 0; status == TW_OK && wish->later_mm < wish->first.most_mm && i < out->count; i++)
        status = tw_cut_later(scene->job, limits, wish->later_mm, &out->cuts[i], scene->findings);
    return status;
}

enum tw_status tw_menu_get(const struct tw_scene *scene, const struct tw_cut_limits *limits,
                           const struct tw_menu_wish *wish, struct tw_cut_menu *out)
{
    struct tw_menus *menus = scene->menus && scene->menus->job == scene->job ? scene->menus : NULL;
    enum tw_status status;

    for (size_t i = 0; menus && i < menus->count; i++) {
        const struct kept *kept = &menus->kept[i];

        if (is_same_wish(&kept->wish, wish) && is_same_limits(&kept->limits, limits)) {
            *out = kept->menu;
            return TW_OK;
        }
    }
    status = fill(scene, limits, wish, out);
    if (status != TW_OK || !menus)
        return status;
    menus->kept[menus->next] = (struct kept){ *limits, *wish, *out };
    menus->next = (menus->next + 1) % KEPT_MOST;
    menus->count += menus->count < KEPT_MOST;
    return TW_OK;
}
