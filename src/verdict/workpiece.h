/* workpiece.h - one part on its station as fields of heights: the tang to be ground and all that must not be touched. */
#ifndef TANGWRIGHT_VERDICT_WORKPIECE_H
#define TANGWRIGHT_VERDICT_WORKPIECE_H

#include "geometry/ring.h"
#include "tangwright/removal.h"
#include "witness/face.h"

/* The fine field holds the tang and the first of the blade; the coarse one the whole blade and the fixture, as far as the
 * machine's travel lets the wheel go. A coarse
 * cell counts as taken by a part of the fixture when any of nine points of it is. */
#define TW_WORKPIECE_COARSE_MM    0.5
#define TW_WORKPIECE_COARSE_CELLS 4e6 /* larger cells where there would be more */
/* The near field holds what is left of the stock once more, as a thing that rapids must keep away from. */
#define TW_WORKPIECE_NEAR_MM  0.4
#define TW_WORKPIECE_BLADE_MM 30.0 /* of the blade, in the fine field */

struct tw_workpiece {
    struct tw_witness_face face;
    struct tw_field fine, coarse, near;
    bool surrounded;       /* the coarse field is there */
    int pooled;            /* a near cell is as high as the highest of pooled x pooled fine ones */
    double top_mm;         /* highest stock */
    unsigned char *relief; /* of each fine cell, an enum tw_relief_cell; NULL: no relief is looked at */
    double relief_mm;      /* its depth below the finished face */
    double flatness_mm;
    double volume_mm3;   /* of the stock at the start */
    struct tw_box blade; /* round the blade, drawn or assumed */
};

/* Where the relief may be, and where the wheel that hollows it can certainly bring it to its depth: not in corners and
 * narrow places, nor within a cell of an edge. */
enum tw_relief_cell { TW_RELIEF_NOT, TW_RELIEF_MAY, TW_RELIEF_MUST };

/* Setup frame of `side` on station `part` (from 0); the blank is uncut. Not `surrounded`: without the coarse field. Owns its
 * fields: tw_workpiece_close(). */
enum tw_status tw_workpiece_open(const struct tw_job *job, enum tw_side side, int part, bool surrounded, double cell_mm,
                                 struct tw_workpiece *out, struct tw_findings *findings);
void tw_workpiece_close(struct tw_workpiece *workpiece);

/* Adds the relief's region; `job` has the wheel that hollows it. */
enum tw_status tw_workpiece_add_relief(const struct tw_job *job, struct tw_workpiece *workpiece,
                                       struct tw_findings *findings);

/* What a program may cut down to inside the region: the floor of the relief, or the finished face. */
void tw_workpiece_aim(struct tw_workpiece *workpiece, bool at_floor);

/* The part of the cells that must be hollowed and stand higher than the flatness over the floor; where the highest is. */
double tw_workpiece_measure_relief(const struct tw_workpiece *workpiece, double place_mm[3]);

/* To be called before the near field is asked, when stock was cut since: there. */
void tw_workpiece_refresh_near(struct tw_workpiece *workpiece, struct tw_box where);

/* The wheel as a body, larger all round by `more_mm`. */
struct tw_wheel_body tw_workpiece_wheel(const struct tw_job *job, double more_mm);

/* The largest cell whose own error (half a cell times the slope) stays below half a micrometre; at most 0.1 mm. */
double tw_workpiece_cell_mm(const struct tw_job *job);

/* Setup x from which the tang is to be ground: the taper start, or behind it where the blank first stands over the face. */
double tw_workpiece_start_mm(const struct tw_workpiece *workpiece);

/* Setup x where the blade ends and stock begins: at the taper start, or ahead of it for a blank thicker than z counts from. */
double tw_workpiece_blade_end_mm(const struct tw_workpiece *workpiece);

/* Deviation of the ground face from its target: highest and lowest over all of the tang that was to be ground, and
 * where the highest is. */
struct tw_workpiece_result {
    double high_mm, low_mm;
    double high_place_mm[3];
};
struct tw_workpiece_result tw_workpiece_measure(const struct tw_workpiece *workpiece);

/* Height of the stock at a place; -infinity where there is none. */
double tw_workpiece_stock_mm(const struct tw_workpiece *workpiece, double x_mm, double y_mm);

/* Height of the face at setup x, the mean over its width; NaN without steel there. */
double tw_workpiece_height_mm(const struct tw_workpiece *workpiece, double x_mm);

#endif
