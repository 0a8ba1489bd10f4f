/* rod.h - where along a part its heat is lost, by a rod that is as warm all across its width.
 *
 * Model   Heat goes along the rod and leaves by its faces; the ends lose nothing. Summed up over time the temperatures obey the
 *         steady equation of a fin (Carslaw & Jaeger, Conduction of Heat in Solids, 2nd ed., 1959, section 4.1), with what came in
 *         less what is still there in place of a source. So nothing needs to be known of when the heat came.
 *         Where only a strip in its middle is carried, the rod is cooler there than beside it; tw_witness_strip_carried() says by how much.
 * Units   mm, W, K; heat in any unit, the same for all.
 * Errors  TW_NO_MEMORY. */
#ifndef TANGWRIGHT_WITNESS_ROD_H
#define TANGWRIGHT_WITNESS_ROD_H

#include "tangwright/findings.h"

#include <stdbool.h>
#include <stddef.h>

/* A part of the rod. */
struct tw_witness_stretch {
    double section_mm2, width_mm;
    double face_W_per_mm2_K, joint_W_per_mm2_K;
    double came, stays; /* heat that came in, and what of it is still there */
    bool bare;          /* lies on the pad without packing */
    double carried;     /* share of it that something lies under; the joint is there alone */
};

/* Of all that the faces lose, what they lose over what carries the part, bare and on packing. */
struct tw_witness_shares {
    double bare, packed;
};

/* Each stretch is `long_mm` long. 0 where nothing is lost. */
enum tw_status tw_witness_carried_shares(const struct tw_witness_stretch *stretches, size_t count, double long_mm,
                                         double conductivity_W_per_mm_K, struct tw_witness_shares *out,
                                         struct tw_findings *findings);

/* What the strip in the middle that is carried counts for, as a share of the width, in steel that conducts across with no haste: the
 * carried share times the strip's mean temperature over that of all the width. Heat comes in evenly and nothing goes along: two fins that
 * meet at the strip's edge (Carslaw & Jaeger 1959, section 4.1). The stretch has a thickness; not above `carried`. */
double tw_witness_strip_carried(const struct tw_witness_stretch *stretch, double conductivity_W_per_mm_K);

#endif
