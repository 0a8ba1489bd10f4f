/* rim.h - what of a cup's rim touches the steel, and so how long a band it heats.
 *
 * Model   A rim that is fresh and square to the face cuts with its leading edge alone, until that edge has worn to a cone,
 *         the lead-in. On a cone of angle kappa a pass of depth a is cut over a / tan(kappa); the flat behind it only
 *         rubs. Worn in, about half of the rim shares the work (judgement; docs/wheel-state.md says how to look).
 *         A rim may also lean over the face: in the level mount by the face's slope, in the tilted one by a head that is
 *         not square. Where its far side is the lower one, the layer comes under the rim gradually, over depth / lean.
 * Lean    The tangent of the angle between rim and face along the pass: above 0 where the gap opens ahead of the wheel,
 *         below 0 where the leading edge is the lowest.
 * Memory  nothing here allocates. */
#ifndef TANGWRIGHT_RIM_H
#define TANGWRIGHT_RIM_H

#include "tangwright/equipment.h"

/* The lead-in that is assumed where none was measured; 0: the rim counts as worn in. */
double tw_rim_lead_in_rad(enum tw_rim_state state);

/* Length of the heated band of a pass of depth > 0; never longer than the rim is wide. */
double tw_cup_contact_mm(const struct tw_wheel *wheel, double lean, double depth_mm);

/* How much hollower than its edges a cup on a head out of square leaves the middle of a face so wide. */
double tw_rim_dish_mm(double diameter_mm, double head_tilt_rad, double width_mm);

/* One sentence: what of the rim cuts in a pass so deep. */
#define TW_RIM_WORDS 160
void tw_rim_words(const struct tw_wheel *wheel, double lean, double depth_mm, char out[TW_RIM_WORDS]);

#endif
