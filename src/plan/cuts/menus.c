/* menus.c - see menus.h. */
#include "plan/cuts/menus.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* More than one round of ways asks for; a new menu takes the place of the oldest. */
#define KEPT_MOST 64

struct kept {
    struct tw_cut_limits limits;
    struct tw_menu_wish wish;
    struct tw_cut_menu menu;
};

/* A cut made quicker; each has one place. */
#define QUICKENED_MOST 1024

struct quickened {
    struct tw_cut_limits limits;
    double depth_mm, table_mm_per_s, engaged_mm; /* that was asked for; depth 0: nothing is kept here */
    struct tw_cut cut;
};

struct tw_menus {
    const struct tw_job *job;
    struct quickened quickened[QUICKENED_MOST];
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

    if (status == TW_OK && wish->later_mm < wish->first.most_mm)
        status = tw_cut_menu_later(scene->job, limits, wish->later_mm, out, scene->findings);
    return status;
}

/* NULL: nothing is kept for the job in hand. */
static struct tw_menus *menus_of(const struct tw_scene *scene)
{
    return scene->menus && scene->menus->job == scene->job ? scene->menus : NULL;
}

enum tw_status tw_menu_get(const struct tw_scene *scene, const struct tw_cut_limits *limits,
                           const struct tw_menu_wish *wish, struct tw_cut_menu *out)
{
    struct tw_menus *menus = menus_of(scene);
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

/* Bits mixed by multiplying and shifting. */
static size_t place_of(const struct tw_cut_limits *limits, double engaged_mm, const struct tw_cut *cut)
{
    const double asked[] = { engaged_mm, cut->depth_mm, cut->table_mm_per_s, limits->bulk_K, limits->thinnest_mm };
    uint64_t mixed = 0;

    for (size_t i = 0; i < sizeof asked / sizeof *asked; i++) {
        uint64_t bits;

        memcpy(&bits, &asked[i], sizeof bits);
        mixed = (mixed ^ bits) * 0x9e3779b97f4a7c15u;
        mixed ^= mixed >> 29;
    }
    return (size_t)(mixed % QUICKENED_MOST);
}

enum tw_status tw_menu_quicken(const struct tw_scene *scene, const struct tw_cut_limits *limits, double engaged_mm,
                               struct tw_cut *cut)
{
    struct tw_menus *menus = menus_of(scene);
    struct quickened *kept = menus ? &menus->quickened[place_of(limits, engaged_mm, cut)] : NULL;
    double depth_mm = cut->depth_mm, table_mm_per_s = cut->table_mm_per_s;
    enum tw_status status;

    if (kept && kept->depth_mm == depth_mm && kept->table_mm_per_s == table_mm_per_s &&
        kept->engaged_mm == engaged_mm && is_same_limits(&kept->limits, limits)) {
        *cut = kept->cut;
        return TW_OK;
    }
    status = tw_cut_later(scene->job, limits, engaged_mm, cut, scene->findings);
    if (status == TW_OK)
        status = tw_cut_estimate(scene->job, limits, depth_mm, cut->later_mm_per_s, engaged_mm, cut, scene->findings);
    if (status == TW_OK && kept)
        *kept = (struct quickened){ *limits, depth_mm, table_mm_per_s, engaged_mm, *cut };
    return status;
}
