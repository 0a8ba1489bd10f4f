/* relief.h - where a face of the tang may be hollowed.
 *
 * The region is the tang's outline shrunk by the land width (the taper start is an edge like the others), less
 * what lies nearer to the taper start than `end`, less every hole grown by its boss. Corners and holes are
 * followed by arcs whose chords lie on the side of the steel that stays: the land and the bosses are nowhere
 * narrower than asked for, and wider by less than 0.002 %.
 *
 * Frame   part frame, alike for both sides; tw_face_outline() brings a piece into a side's setup frame.
 * Units   mm, mm2.
 * Memory  a region owns its pieces: tw_relief_free(). On failure *out is empty.
 * Errors  TW_NO_MEMORY; TW_BAD_INPUT when the geometry library fails, or when nothing is left of the face
 *         (the message names the largest land that leaves something). */
#ifndef TANGWRIGHT_RELIEF_H
#define TANGWRIGHT_RELIEF_H

#include "tangwright/job.h"
#include "tangwright/taper.h"

#include <stdbool.h>

/* Pieces that do not touch; bosses across the tang may part it into several. Each has counterclockwise outer
 * rings, and bosses as clockwise holes. */
struct tw_relief_region {
    struct tw_outline *pieces; /* in the order of their least x */
    size_t count;
    double area_mm2;
    double far_mm; /* largest x: where the tang below is thinnest */
};

/* Whether the job hollows that side. */
bool tw_relief_wanted(const struct tw_job *job, enum tw_side side);

/* How many of the two faces the job's `sides` names: 1 or 2, whether or not a depth is given. */
int tw_relief_face_count(const struct tw_relief *relief);

/* The wheel that a program of this scope is ground with. */
const struct tw_wheel *tw_scope_wheel(const struct tw_job *job, enum tw_scope scope);

/* Whether the relief is ground by a wheel of its own, so that the faces' wheel is touched off anew after it. */
bool tw_relief_changes_wheel(const struct tw_job *job);

/* A shallow copy of the job, which owns nothing, as a program of this scope finds it: its wheel, and the hollow of the face
 * below where its task says that it is in already. Planning narrows it further. */
struct tw_job tw_scope_job(const struct tw_job *job, enum tw_scope scope);

/* The region by the job's land, boss and end, whether or not a depth is given. */
enum tw_status tw_relief_region(const struct tw_job *job, struct tw_relief_region *out, struct tw_findings *findings);

/* Largest depth that leaves the job's smallest thickness between the hollows when the butt comes out
 * `butt_mm` thick; below zero if the tang is too thin already. */
double tw_relief_deepest_mm(const struct tw_job *job, const struct tw_relief_region *region, double butt_mm);

/* Refuses, at `at`, a depth that leaves less than the smallest thickness, with the depth and the butt that would do. */
enum tw_status tw_relief_check(const struct tw_job *job, const struct tw_relief_region *region, struct tw_place at,
                               struct tw_findings *findings);

void tw_relief_free(struct tw_relief_region *region);

#endif
