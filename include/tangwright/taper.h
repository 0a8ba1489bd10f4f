/* taper.h - the finished face of each side as the controller sees it, and what is taken off to reach it.
 *
 * Frames  Part frame: x from the taper start towards the butt, y across (spine positive), z out of side A,
 *         z = 0 on the centre plane; half thickness h(x) = T0/2 - m x with m = (T0 - T1)/(2 L).
 *         Setup frame: origin on the datum pad's plane at the taper start, x towards the butt, y the part's
 *         y (side B: mirrored), z up. Tilted mount: the part is turned by atan(m) about the y axis through
 *         that origin, so that the finished face is level at z = T0 cos(alpha) and its taper start lies at
 *         x = -T0 sin(alpha).
 * Blanks  One thicker by e than the job says (task.thicker_mm) has its top e higher over the pad. With z zero on the pad the
 *         face stays where it is, so it comes out of the blank's top e/m ahead of the taper start; with z zero on the
 *         ricasso's upper face it rises with that face. In the tilted mount that face is touched off at the setup x of
 *         the taper start, start_mm, where it lies as high as the finished face.
 * Units   mm, rad. Nothing here allocates unless it says so. */
#ifndef TANGWRIGHT_TAPER_H
#define TANGWRIGHT_TAPER_H

#include "tangwright/blank.h"
#include "tangwright/job.h"

double tw_profile_mm(const struct tw_profile *profile, double x_mm);

/* The face that the program leaves (hand-finishing allowance included), in the setup frame. */
struct tw_face {
    enum tw_side side;
    enum tw_mount mount;
    double slope;     /* m: what comes off per mm of length; of a surveyed blank less, or on side B more, its tilt */
    double tilt_rad;  /* 0 in the level mount */
    double height_mm; /* z of the face at the part's x = 0 */
    double over_mm;   /* the blank's top over that place, allowance aside: its thickness beyond what z counts from */
    double zero_mm;   /* z that the program calls 0 */
    double blank_mm;  /* thickness of the blank in hand at the ricasso */
    double fall;      /* by how much the face drops per mm of setup x: m, or 0 when tilted */
    double start_mm;  /* setup x of the taper start on this face */
    double stretch;   /* setup x per mm of part x along the face */
    double allowance_mm;
    /* A surveyed blank: its highest readings over the centre plane, or as high as it may stand (task.stands_high), in the part frame;
     * the job's. NULL: flat. */
    const struct tw_profile *raw;
    bool over_ground; /* the face below is ground already: the tang lies on packing */
    double half_mm;   /* T0/2, the centre plane's height over the datum pad */
    double raw_up_mm; /* height over the datum pad from which `raw` counts: T0/2, and what the blank is thicker */
};

struct tw_face tw_face_of(const struct tw_job *job, enum tw_side side);

/* The blank that asks most of a plan: the thickest of the band where z counts from the pad, for more comes off it and it
 * comes out thinnest; the thinnest where z counts from the ricasso. As task.thicker_mm. */
double tw_band_hardest_mm(const struct tw_job *job);

/* The same job with a blank so much thicker than it says, its faces as read; a shallow copy that owns nothing. */
struct tw_job tw_blank_job(const struct tw_job *job, double thicker_mm);

/* Thickness of the blank in hand at the ricasso. */
double tw_blank_mm(const struct tw_job *job);

/* Part x at which the taper of the blank in hand begins, the allowance left out: 0, or where its thickness moves it. */
double tw_taper_begin_mm(const struct tw_job *job);

/* Part x at which the tang ends, the butt: `taper.length` may lie ahead of it or behind. */
double tw_tang_end_mm(const struct tw_job *job);

/* By how much the tang of the blank in hand comes out thicker than that of the blank as stated. */
double tw_taper_thicker_mm(const struct tw_job *job);

/* Its finished thickness at the butt, the allowances left out. */
double tw_taper_butt_mm(const struct tw_job *job);

/* How a cup's rim leans over the face along a motion towards the butt (rim.h): by the face's slope, or the head's tilt. */
double tw_face_lean(const struct tw_job *job, const struct tw_face *face);

/* z of the face at setup x. */
double tw_face_height_mm(const struct tw_face *face, double x_mm);

/* Stock standing above the face at setup x; negative ahead of the place where anything comes off. */
double tw_face_stock_mm(const struct tw_face *face, double x_mm);

/* Setup x from which at least `height_mm` of stock stands above the face; HUGE_VAL where so much never does. */
double tw_face_reach_mm(const struct tw_face *face, double height_mm);

/* Setup x of the last place where so much stands; HUGE_VAL for a flat blank, whose stock grows on and on. Between
 * reach and end a bowed blank may stand lower here and there. */
double tw_face_end_mm(const struct tw_face *face, double height_mm);

/* Most stock, and highest z of the blank's top, up to setup x. */
double tw_face_most_mm(const struct tw_face *face, double x_mm);
double tw_face_highest_mm(const struct tw_face *face, double x_mm);

/* Steepest rise of the stock anywhere, per mm of setup x: the slope, for a flat blank. */
double tw_face_climb(const struct tw_face *face);

/* z of the blank's top at setup x, the face unground. */
double tw_face_top_mm(const struct tw_face *face, double x_mm);

/* Height by which one end of a bar (or vice) `bar_mm` long is raised to bring this face level. */
double tw_face_rise_mm(const struct tw_face *face, double bar_mm);

/* Volume that comes off this face: the exact integral over the tang, holes left out. */
double tw_face_removed_mm3(const struct tw_job *job, enum tw_side side);

/* What comes off each face of a blank thicker than stated ahead of the taper start, from the pad: a wedge as wide as the steel there. */
double tw_taper_ahead_mm3(const struct tw_job *job);

/* The tang in this face's setup frame. *out is the caller's: tw_outline_free(). */
enum tw_status tw_face_outline(const struct tw_face *face, const struct tw_outline *tang, struct tw_outline *out,
                               struct tw_findings *findings);

/* Thickness of the finished tang at part x, the allowance of each face that is ground included. */
double tw_taper_thickness_mm(const struct tw_job *job, double x_mm);

/* Of it, the height of one face over the centre plane of the blank. */
double tw_taper_half_mm(const struct tw_job *job, enum tw_side side, double x_mm);

/* Thickness at part x that the taper is meant to come to, allowances left out. Where one face is ground alone it falls half
 * as fast as the keys for both say. */
double tw_taper_stated_mm(const struct tw_job *job, double x_mm);

/* Area of the tang, holes left out. */
double tw_tang_area_mm2(const struct tw_job *job);

/* The part of it that the program of the job's task grinds: less what a relief has hollowed before. */
double tw_tang_ground_mm2(const struct tw_job *job);

/* Volume taken off one face: the exact integral of the wedge over the tang, holes left out. */
double tw_taper_removed_mm3(const struct tw_job *job);

/* Height by which one end of a bar (or vice) `bar_mm` long is raised for the tilted mount. */
double tw_taper_rise_mm(const struct tw_job *job, double bar_mm);

/* Packing that fills the gap under the tang at part x: what side A's taper has taken away when side B is up. */
double tw_taper_packing_mm(const struct tw_job *job, enum tw_side side, double x_mm);

/* "A" or "B". */
const char *tw_side_letter(enum tw_side side);

#endif
