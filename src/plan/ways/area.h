/* area.h - the region of a relief: where the wheel can go in it, and what it leaves.
 *
 * Frame   setup frame, mm.
 * Memory  the area owns its shapes and arrays: tw_relief_area_close(). On failure it is empty.
 * Errors  TW_NO_MEMORY, TW_BAD_INPUT from the geometry library; TW_NO_PLAN where the wheel fits nowhere (finding: the
 *         largest one that would). */
#ifndef TANGWRIGHT_PLAN_WAYS_AREA_H
#define TANGWRIGHT_PLAN_WAYS_AREA_H

#include "geometry/shape.h"
#include "plan/scene/scene.h"

struct tw_relief_area {
    const struct tw_scene *scene; /* of the trial in hand: whoever lays ways over the area sets it */
    struct tw_geos *geos;
    GEOSGeometry *region;  /* the pieces of the relief in the setup frame */
    struct tw_box box;     /* about them */
    GEOSGeometry *centres; /* cup: where its centre may go */
    double *lanes_mm;      /* disc: y of each trough's middle, in rising order */
    size_t lane_count;
    double run_out_mm; /* disc: from where it touches the floor to where it leaves the finished face */
    double area_mm2, reached_mm2;
    /* As much at full depth as is taken out: what is reached, and of a run-out, which is a parabola, two thirds of its
     * length. */
    GEOSGeometry *hollowed;
    double hollowed_mm2, middle_mm;              /* middle: x of its centroid */
    struct tw_unreached left[TW_UNREACHED_MOST]; /* the largest first */
    size_t left_count;
};

/* The region of the scene's job, and where its wheel can go; `depth_mm` below the finished face. */
enum tw_status tw_relief_area_open(const struct tw_scene *scene, double depth_mm, struct tw_relief_area *out);
void tw_relief_area_close(struct tw_relief_area *area);

/* What is to be said where the wheel has room, but none to go round in. */
enum tw_status tw_relief_area_too_narrow(const struct tw_relief_area *area);

/* How far loops may be thinned: coarsely where the machine comes to rest at every corner. */
double tw_relief_thin_mm(const struct tw_scene *scene);

/* Loops are rounded to the controller's grid, and keep so many of its steps off the region's edge. */
#define TW_EDGE_STEPS 2.0

#endif
