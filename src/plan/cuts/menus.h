/* menus.h - menus of cuts, kept once they are filled: the ways that are tried ask for the same ones again and again. */
#ifndef TANGWRIGHT_PLAN_CUTS_MENUS_H
#define TANGWRIGHT_PLAN_CUTS_MENUS_H

#include "plan/cuts/cut.h"

struct tw_menus;

/* For one job as it is planned; for altered copies of it nothing is kept. NULL: no memory. Release with tw_menus_close(). */
struct tw_menus *tw_menus_open(const struct tw_job *job);
void tw_menus_close(struct tw_menus *menus);

/* What a menu is for: as in tw_cut_menu_fill(); with the speeds of later lanes, engaged over later_mm, where that is less. */
struct tw_menu_wish {
    struct tw_engagement first;
    double later_mm, largest_mm;
    enum tw_binding largest_binds;
};

/* Fills *out, from what scene->menus keeps where it can. */
enum tw_status tw_menu_get(const struct tw_scene *scene, const struct tw_cut_limits *limits,
                           const struct tw_menu_wish *wish, struct tw_cut_menu *out);

/* The cut of this depth at the fastest table speed that lanes engaged over engaged_mm allow, no slower than it is; kept like
 * menus are. */
enum tw_status tw_menu_quicken(const struct tw_scene *scene, const struct tw_cut_limits *limits, double engaged_mm,
                               struct tw_cut *cut);

#endif
