/* mask.h - which cells of a grid belong to the relief, and which of them a round wheel certainly reaches: by distances
 * from edges, cell by cell, where the planner offsets outlines. See face.h.
 *
 * The region is what lies farther than the land from every edge of the tang's outline, the taper start included, farther
 * than the boss from every hole, and behind `end` from the taper start. */
#ifndef TANGWRIGHT_WITNESS_MASK_H
#define TANGWRIGHT_WITNESS_MASK_H

#include "witness/face.h"

/* Square cells in the setup frame, row by row along y; a cell counts by its middle. */
struct tw_witness_grid {
    double x_mm, y_mm; /* the corner with the smallest coordinates */
    double cell_mm;
    int columns, rows;
};

/* Of cells that are 1, as the tang's are, those outside the region become 0. TW_NO_MEMORY. */
enum tw_status tw_witness_relief(const struct tw_witness_face *face, const struct tw_witness_grid *grid,
                                 unsigned char *cells, struct tw_findings *findings);

/* The cells over which a circle passes that stays among the cells that are 1 and keeps `edge_mm` off all others and off
 * its own rim: into `reached`, one for each cell, 1 or 0. TW_NO_MEMORY. */
enum tw_status tw_witness_reach(const struct tw_witness_grid *grid, const unsigned char *cells, double radius_mm,
                                double edge_mm, unsigned char *reached, struct tw_findings *findings);

#endif
