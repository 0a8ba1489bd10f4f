/* packing.h - what goes under a blank before it is held: gaps to pack, and the stack that tilts it.
 *
 * Packing  The ricasso lies on the datum pad; what lies under the tang is level with the pad (in the tilted mount:
 *          tilted with it). The gap at x is how far the tang's lower face stands above that. Side A up: the raw
 *          face B, as it is bowed. Side B up: face A as the first program left it.
 * Stack    A sine bar of length l is raised at one roll by l sin(angle) (closed form; sine-bar tables print the
 *          same product). The stack is made of the fewest gauge blocks of a set, each block once. Where a set has
 *          no stack that low, both rolls are raised by stacks that differ by the wanted height.
 * Blocks   as the sets are commonly listed (common practice, no source):
 *          87 metric: 1.001 to 1.009 by 0.001, 1.01 to 1.49 by 0.01, 0.5 to 9.5 by 0.5, 10 to 100 by 10 mm;
 *          88 metric: those and 1.0005 mm;
 *          81 inch:   0.1001 to 0.1009 by 0.0001, 0.101 to 0.149 by 0.001, 0.050 to 0.950 by 0.050, 1 to 4 by 1 in.
 * Units    mm, rad. Nothing here allocates. */
#ifndef TANGWRIGHT_PACKING_H
#define TANGWRIGHT_PACKING_H

#include "tangwright/straight.h"

#define TW_STACK_BLOCKS_MOST 5

struct tw_stack {
    size_t count;                           /* 0: no stack under this roll */
    double blocks_mm[TW_STACK_BLOCKS_MOST]; /* by falling size */
    double height_mm;
};

struct tw_sine {
    double bar_mm, angle_rad;
    double rise_mm;             /* wanted */
    struct tw_stack under_high; /* under the roll that is raised (more) */
    struct tw_stack under_low;  /* under the other: only where one stack cannot do */
    double made_mm;             /* what the blocks make: their difference */
    bool possible;              /* false: no stacks of TW_STACK_BLOCKS_MOST blocks make it */
};

/* Gap under the tang at part x with `side` up; below 0 the tang hangs under the pad's level. `straight` is NULL
 * for a blank without a survey. */
double tw_packing_mm(const struct tw_job *job, const struct tw_straight *straight, enum tw_side side, double x_mm);

/* The same between two programs of a side: the face below is ground, but for `left_mm` that is still to come off. */
double tw_packing_between_mm(const struct tw_job *job, const struct tw_straight *straight, enum tw_side side,
                             double left_mm, double x_mm);

/* Angle by which the tilted mount raises the blank for `side`. Butt end up: the finished face falls towards it. */
double tw_packing_tilt_rad(const struct tw_job *job, const struct tw_straight *straight, enum tw_side side);

/* bar_mm > 0, 0 <= angle_rad < pi/2. The rise is made to the set's smallest step. */
struct tw_sine tw_sine_stack(double bar_mm, double angle_rad, enum tw_block_set set);

/* "metric 87", ... */
const char *tw_block_set_name(enum tw_block_set set);

/* Its unit for people: 1 mm, or an inch. */
bool tw_block_set_is_inch(enum tw_block_set set);

#endif
