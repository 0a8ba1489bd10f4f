/* heat.h - heat from first principles: the dry-run's second opinion on its history of temperatures. See face.h for why.
 *
 * Flash   A band of even flux that slides over a half-space (J. C. Jaeger, Proc. R. Soc. NSW 76, 1942), its integral by
 *         quadrature and its maximum where the contributions of both ends are equal; steel and wheel share the heat by Hahn's
 *         sliding grain, chips carry theirs away, a film of coolant takes what it can or, boiled, nothing. So a cut has two
 *         flashes, and the truth lies between them.
 * Lying   Where and how thick the steel is, by frames alone: what is left over the face that lies below.
 * Losses  A sheet of steel loses heat through both its faces in the proportion of what they carry, film or joint in series
 *         with a part of the sheet's own thickness; under packing the joint carries a fifth.
 * Units   mm, s, J, W, K. Nothing is allocated. */
#ifndef TANGWRIGHT_WITNESS_HEAT_H
#define TANGWRIGHT_WITNESS_HEAT_H

#include "witness/rod.h"
#include "witness/face.h"

/* Highest rise of a band over q sqrt(l/v)/e, e being the effusivity, by its Peclet number v l / 4 a: worked out once, and then
 * looked up between points that lie this near to each other. A fresh rim that takes some hundredths of a micrometre has a band of
 * some micrometres, and a light ramp moves it at a third of a millimetre a second: 1e-5. */
#define TW_WITNESS_BAND_FIRST  (-8) /* power of ten */
#define TW_WITNESS_BAND_DECADE 8
#define TW_WITNESS_BAND_POINTS (11 * TW_WITNESS_BAND_DECADE + 1)
struct tw_witness_band {
    double shape[TW_WITNESS_BAND_POINTS];
};

void tw_witness_band_open(struct tw_witness_band *band);

/* One piece of a cut. */
struct tw_witness_cut {
    double depth_mm, table_mm_per_s, wheel_mm_per_s;
    double energy; /* times the wheel's specific energy */
    double
        lean; /* of a cup's rim over the face: how much it opens ahead for each mm; below 0: its leading edge is lowest */
};

struct tw_witness_flash {
    double wet_K, dry_K;                 /* of a half-space, far from edges: with the film, and without */
    double wet_J_per_mm3, dry_J_per_mm3; /* that enters the steel for each mm3 taken off */
    double peclet;
    double edge_factor; /* where the wheel runs off an edge, fast: 1 + 1/(2 sqrt(pi L)) */
};

/* The job has the wheel in hand. */
struct tw_witness_flash tw_witness_flash(const struct tw_job *job, const struct tw_witness_band *band,
                                         const struct tw_witness_cut *cut);

/* The face that lies below, over the pad as in the level mount: ahead + rise x, but never below the pad. */
struct tw_witness_underside {
    double ahead_mm, rise;
};

/* The pad's plane, or over ground the other side's finished face: side A's under side B. */
struct tw_witness_underside tw_witness_underside(const struct tw_witness_face *face, bool over_ground);

/* Its z at setup x, in the face's mount. */
double tw_witness_underside_mm(const struct tw_witness_face *face, const struct tw_witness_underside *below,
                               double x_mm);

/* Part x up to which the tang lies bare on what is below it; over the pad there is no such place, and it is 0. */
double tw_witness_bare_to_mm(const struct tw_witness_underside *below);

/* Conductance under packing, of that under a face that lies flat: 300 against 1500 W/m2K dry, judgement. */
#define TW_WITNESS_PACKED_SHARE 0.2

/* Smallest and largest proportion of the heat lost through the joint to that lost through the face; false: none is lost
 * through either. `packed`: the tang lies on packing; `over`: so much of what the face loses it loses above what carries the part:
 * at most so much above the bare pad, where ricasso and blade are, the rest of both above packing. */
bool tw_witness_losses(const struct tw_job *job, bool packed, struct tw_witness_shares over, double *least,
                       double *most);

#endif
