/* signs.h - what single features of the shape say. */
#ifndef TANGWRIGHT_PLACEMENT_SIGNS_H
#define TANGWRIGHT_PLACEMENT_SIGNS_H

#include "geometry/ring.h"
#include "placement/shape.h"

/* Which end is blade: fills ends, end_count and end_vote from the rest of the placement. */
void signs_of_ends(const struct shape *shape, struct tw_placement *placement);

/* Which long edge is the spine: fills spines, spine_count and spine_vote. */
void signs_of_spine(const struct shape *shape, struct tw_placement *placement);

/* What a pin, tube or lanyard may go through. */
bool signs_is_pin_hole(const struct tw_placed_hole *hole);

/* Of a ring with that box and area. */
bool signs_is_round(const struct tw_box *box, double area_mm2);

/* Pins are no thicker; tubes and lanyards are, and what a knife is hung by. */
#define SIGNS_PIN_MM 9.0

/* A vote that is less than this either way tells nothing. */
#define SIGNS_DECIDE 2.0

#endif
