/* face.h - where the finished face of a side lies, and the blank over it: the dry-run's own reading of the job.
 *
 * Written from the contract of frames alone, so that a mistake in what plans (taper, relief, straight, plan) cannot
 * hide in what proves. Nothing here includes a header of theirs; `make check-layers` sees to it.
 *
 * Frames  Part frame: x from the taper start towards the butt, y across, z out of side A from the centre plane. Setup
 *         frame: origin on the datum pad's plane at the taper start, x towards the butt, y the part's (side B:
 *         mirrored, for the part is rolled over about x), z up. The part lies on the pad with a face, so its upper
 *         face is T0 over the pad and the finished one at T0 - m x, m = (T0 - T1)/(2 L), and the allowance for hand
 *         finishing on top. Tilted mount: all of that turned by atan(m) about the y axis through the origin.
 * Blanks  One thicker by e than stated has its top e higher. With z zero on the pad the finished face stays; with z zero
 *         on the ricasso, touched off where the taper starts on the face, the zero and the face rise with that top.
 * Survey  Heights of each face over the mean plane of its readings on the ricasso, which stands T0/2 off the centre plane;
 *         at each x the highest reading counts, with straight lines between, the ricasso's height at the taper start, and
 *         the last line going on. The finished middle may be tilted about the taper start: by no more than it takes for
 *         every reading to clean up.
 * Units   mm, rad. Nothing is allocated; a face borrows the job it was read from. */
#ifndef TANGWRIGHT_WITNESS_FACE_H
#define TANGWRIGHT_WITNESS_FACE_H

#include "tangwright/blank.h"
#include "tangwright/job.h"

/* The plane through the readings on the ricasso. */
struct tw_witness_ricasso {
    double x_mm, y_mm; /* middle of the readings */
    double height_mm;  /* the plane's height there */
    double along, across;
};

struct tw_witness_face {
    const struct tw_job *job;
    enum tw_side side;
    double slope;    /* what comes off per mm of part x, m and on a surveyed blank its middle's tilt */
    double tilt_rad; /* 0 in the level mount */
    double blank_mm; /* thickness of the blank in hand at the ricasso */
    double z_mm;     /* the finished face: z = z_mm - fall x */
    double fall;
    double start_mm; /* setup x of the taper start on the finished face */
    double zero_mm;  /* z over the pad that the program calls 0 */
    bool surveyed;
    struct tw_witness_ricasso ricasso; /* of a surveyed blank: what its heights count from */
};

struct tw_witness_face tw_witness_face(const struct tw_job *job, enum tw_side side);

/* z of the finished face at setup x. */
double tw_witness_target_mm(const struct tw_witness_face *face, double x_mm);

/* z of the blank's top at setup x, before anything is ground. */
double tw_witness_top_mm(const struct tw_witness_face *face, double x_mm);

/* The same of blade and ricasso, which are flat: z = height + slope x. */
double tw_witness_flat_top_mm(const struct tw_witness_face *face, double *slope);

/* Setup x from which on the blank's top stands over the finished face; HUGE_VAL: it never does. */
double tw_witness_first_mm(const struct tw_witness_face *face);

/* Highest z of the blank's top, and most that stands over the finished face, from the taper start up to setup x. */
double tw_witness_highest_mm(const struct tw_witness_face *face, double x_mm);
double tw_witness_most_mm(const struct tw_witness_face *face, double x_mm);

/* Where a place of the part comes to lie on the finished face, and ahead of the taper start on the blade's; and back. */
struct tw_point tw_witness_place(const struct tw_witness_face *face, struct tw_point part);
double tw_witness_part_x_mm(const struct tw_witness_face *face, double x_mm);

/* The same for a whole outline; *out is the caller's: tw_outline_free(). TW_NO_MEMORY. */
enum tw_status tw_witness_outline(const struct tw_witness_face *face, const struct tw_outline *part,
                                  struct tw_outline *out, struct tw_findings *findings);

/* Height over the centre plane to which a place at part x is ground on this side. */
double tw_witness_half_mm(const struct tw_witness_face *face, double part_x_mm);

#endif
