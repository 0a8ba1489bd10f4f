/* track.h - the ways of the wheel over a region that is to be hollowed, seen from above.
 *
 * A cup or mounted point goes round closed loops at offsets of the region, from outside in and round the bosses; a disc
 * goes to and fro along straight troughs. No track, and no link between two of them, brings the wheel over the edge of
 * the region. What no track covers is told apart: the corners that a round wheel leaves, and narrow places.
 *
 * Frame   setup frame, mm.
 * Memory  each struct owns its arrays; the free functions release them. On failure it is empty.
 * Errors  TW_NO_MEMORY, TW_BAD_INPUT from the geometry library; TW_NO_PLAN where the wheel fits nowhere (finding: the
 *         largest one that would). */
#ifndef TANGWRIGHT_PLAN_TRACK_H
#define TANGWRIGHT_PLAN_TRACK_H

#include "plan/scene.h"

struct tw_track {
    struct tw_point *points; /* a loop without its first point at the end; a trough from the butt's end to the front */
    size_t count;
    double length_mm; /* once round, or once along */
    bool linked;      /* reached from the end of the track before, straight through the region */
};

struct tw_tracks {
    struct tw_track *items;
    size_t count, capacity;
    double length_mm; /* all together, with the links */
};

/* Where the wheel can go, and what it leaves. */
struct tw_relief_area {
    const struct tw_scene *scene;
    GEOSGeometry *region;  /* the pieces of the relief in the setup frame */
    GEOSGeometry *centres; /* cup: where its centre may go */
    double *lanes_mm;      /* disc: y of each trough's middle, in rising order */
    size_t lane_count;
    double run_out_mm; /* disc: from where it touches the floor to where it leaves the finished face */
    double area_mm2, reached_mm2;
    GEOSGeometry
        *hollowed; /* as much at full depth as is taken out: what is reached, and of a run-out, which is a parabola,
                             * two thirds of its length */
    double hollowed_mm2;
    struct tw_unreached left[TW_UNREACHED_MOST]; /* the largest first */
    size_t left_count;
};

/* Length along which a disc of this radius cuts the plane `depth_mm` above its lowest line: sqrt(2 R d), the chord's
 * half length but for d/4R of it. */
double tw_run_out_mm(double radius_mm, double depth_mm);

/* The region of the scene's job, and where its wheel can go; `depth_mm` below the finished face. */
enum tw_status tw_relief_area_open(const struct tw_scene *scene, double depth_mm, struct tw_relief_area *out);
void tw_relief_area_close(struct tw_relief_area *area);

/* What is to be said where the wheel has room, but none to go round in. */
enum tw_status tw_relief_area_too_narrow(const struct tw_relief_area *area);

/* Tracks over all of the region that lies behind `front_mm`. None when nothing does. */
enum tw_status tw_tracks_lay(const struct tw_relief_area *area, double front_mm, struct tw_tracks *out);
void tw_tracks_free(struct tw_tracks *tracks);

#endif
