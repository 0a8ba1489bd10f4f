/* scene.h - what the planning of one setup works with: the face, the wheel's ride on it, and the grid of
 * positions that the controller's text can say. */
#ifndef TANGWRIGHT_PLAN_SCENE_SCENE_H
#define TANGWRIGHT_PLAN_SCENE_SCENE_H

#include "geometry/extents.h"
#include "geometry/geos.h"
#include "geometry/ring.h"
#include "plan/scene/neighbour.h"
#include "tangwright/plan.h"

#include <math.h>

/* How the programmed point lies to the plane being ground (design: programmed points).
 * A plane `bottom` above the face is z = face height + bottom - fall * x; the wheel grinding it has
 * its programmed point at z = that + lift, and touches the plane `shift` further uphill. */
struct tw_ride {
    double lift_mm;
    double shift_mm;
};

#define TW_THIN_MM 0.01

struct tw_factors;
struct tw_menus;
struct tw_kept_loops;

/* Of the flatness tolerance, what ridges between a cup's lanes may use up; the rest is for rounding and the machine. */
#define TW_CUSP_SHARE 0.6

struct tw_scene {
    const struct tw_job *job;
    struct tw_face face;
    struct tw_ride ride;
    double radius_mm;      /* of the wheel */
    double step_mm;        /* one unit of the last decimal of a length */
    double infeed_step_mm; /* smallest infeed that is both real and representable: a multiple of step_mm */
    double top_mm;         /* highest point of the blank */
    double hop_z_mm;       /* lowest height at which the wheel passes over everything */
    double part_z_mm;      /* height from round to round among the parts */
    double clear_z_mm;     /* height of the first approach and the last retract */
    struct tw_geos *geos;
    GEOSGeometry *region;   /* the tang in the setup frame, thinned: its edge is within TW_THIN_MM of the true one */
    struct tw_outline tang; /* the same as rings */
    /* A blank thicker than z counts from stands over the face ahead of the taper start too, by over_mm and less. The
     * region then reaches so far ahead, as wide as the tang is there, for every lane has to run off that as well. What
     * the wheel may meet beside it is the blade. */
    struct tw_outline blade; /* empty where nothing of it can stand over the face */
    struct tw_obstacles obstacles;
    struct tw_factors *factors;  /* borrowed: see heat/factors.h */
    struct tw_menus *menus;      /* borrowed, and may be NULL: see menus.h */
    struct tw_kept_loops *loops; /* the same: see kept_loops.h */
    double loops_within_mm;      /* a layer may have the loops of one lower by so much: for what is only compared */
    struct tw_extents *extents;  /* the same, of tang and blade: see extents.h */
    size_t layers_a_round;       /* the wheel goes on to the next part after so many; 0: each part is finished first */
    struct tw_findings *findings;
};

enum tw_status tw_scene_open(struct tw_scene *scene, const struct tw_job *job, enum tw_side side, struct tw_geos *geos,
                             struct tw_findings *findings);
void tw_scene_close(struct tw_scene *scene);

/* The wheel's whole rim (or the disc's lowest line, which is the same thing) lies in the target plane. */
bool tw_scene_rim_is_coplanar(const struct tw_scene *scene);

/* Programmed z over the plane `bottom_mm` above the face. */
double tw_scene_z_mm(const struct tw_scene *scene, double bottom_mm, double x_mm);

/* The nearest programmed x not ahead of (not behind, for the second) `x_mm` at which programmed x and z can be
 * said exactly, z being at or above the plane by less than the infeed step's millionth. */
double tw_scene_grid_x_at_or_after_mm(const struct tw_scene *scene, double x_mm);
double tw_scene_grid_x_at_or_before_mm(const struct tw_scene *scene, double x_mm);

/* Extent of what stands over the plane `bottom_mm` above the face ahead of the taper start, between two y; false where
 * nothing does. */
bool tw_scene_ahead(const struct tw_scene *scene, double bottom_mm, double y0_mm, double y1_mm, struct tw_box *out);

/* What helps against this obstacle; for messages. */
const char *tw_scene_advice(const struct tw_scene *scene, const struct tw_keep_out *obstacle);

/* How far ahead of the taper start the plane `bottom_mm` above the face reaches into the blank; 0: not at all. */
double tw_scene_ahead_mm(const struct tw_scene *scene, double bottom_mm);

/* Where a layer begins, for a coplanar cup. One that reaches ahead of the taper start begins where the last one does, of
 * the finishing too: the rim is round, and of the blade's width beside its middle it would leave to a later layer more than
 * that one's depth. */
double tw_scene_front_mm(const struct tw_scene *scene, double bottom_mm);

/* What else helps where that is what leaves no room; for messages. */
const char *tw_scene_band_advice(bool by_band);

/* The nearest representable position, of x or y. */
double tw_scene_round_mm(const struct tw_scene *scene, double value_mm);

/* The lowest representable height at or above `z_mm`. */
double tw_scene_round_up_mm(const struct tw_scene *scene, double z_mm);

/* The fastest feed that the program's decimals can say, not above this one unless the machine's slowest is. */
double tw_representable_feed_mm_per_s(const struct tw_machine *machine, double feed_mm_per_s);

/* Smallest change of depth: the machine's smallest step in whole units of the last decimal. */
double tw_infeed_step_mm(const struct tw_job *job);

/* The fastest table speed: of the machine's feeds, and such that each axis can follow along the face, or in a loop. */
double tw_fastest_table_mm_per_s(const struct tw_job *job);

#endif
