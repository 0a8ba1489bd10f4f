/* cut.h - how deep a pass may be at each table speed under the limits of heat, power, holding and wheel. */
#ifndef TANGWRIGHT_PLAN_CUT_H
#define TANGWRIGHT_PLAN_CUT_H

#include "plan/scene.h"
#include "tangwright/heat.h"

/* One choice: a depth at a table speed, and what it brings. */
struct tw_cut {
    double depth_mm, table_mm_per_s;
    double peak_degC, power_W, force_N;
    bool boiled;
    enum tw_binding binding; /* what forbids one infeed step more */
};

#define TW_CUT_MENU_SIZE 96

/* The deepest cut at each of many table speeds, slowest first. */
struct tw_cut_menu {
    struct tw_cut cuts[TW_CUT_MENU_SIZE];
    size_t count;
};

/* What all cuts of a plan have in common. */
struct tw_cut_limits {
    double wheel_mm_per_s;
    double limit_degC, ambient_degC;
    double power_W, force_N;
    bool edge_only;          /* cup in the level mount: only the rim's edge cuts */
};

struct tw_cut_limits tw_cut_limits_of(const struct tw_job *job, double wheel_mm_per_s);

/* Estimates one cut over `engaged_mm` of width; binding is left at TW_BINDS_STOCK. */
enum tw_status tw_cut_estimate(const struct tw_job *job, const struct tw_cut_limits *limits, double depth_mm,
                               double table_mm_per_s, double engaged_mm, struct tw_cut *out,
                               struct tw_findings *findings);

/* Depths are whole infeed steps, at most `largest_mm` (`largest_binds` says why no more). When no speed allows
 * the wheel's and the machine's smallest infeed: TW_NO_PLAN with the limit that binds and what would help. */
enum tw_status tw_cut_menu_fill(const struct tw_scene *scene, const struct tw_cut_limits *limits, double engaged_mm,
                                double largest_mm, enum tw_binding largest_binds, struct tw_cut_menu *out);

#endif
