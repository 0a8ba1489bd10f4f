/* give.h - what is left on a face because machine and part give way to each other under the wheel (spring.h).
 *
 * Told from the program's motions alone, at one place near the butt, where all layers pass: each pass finds the steel so much
 * too high, takes the share K of that, and leaves the rest to the next one. The force comes from the cut as it was found on the field,
 * the widest of its level, or of the level before while its own may not be known yet; a spark-out pushes as the level did when
 * it was cut.
 * One level is passed once, however many lanes or loops lie in it: only a traverse on the same line counts as a repeat. */
#ifndef TANGWRIGHT_VERDICT_GIVE_H
#define TANGWRIGHT_VERDICT_GIVE_H

#include "verdict/trace.h"
#include "verdict/workpiece.h"

struct tw_give {
    const struct tw_job *job; /* as the program in hand finds it */
    double spot_mm[2];        /* setup frame */
    double stated_mm,
        worst_mm; /* steel over the finished face there: as the profiles say, and at the worse ends of their ranges */
    double lowest_mm; /* over the face, that the wheel was sent to */
    struct tw_give_level {
        double over_mm, tangential_N, depth_mm; /* of its widest cut */
    } level, before;                            /* in hand, and the one before it */
    struct {
        bool any, covers;
        int way;
        double over_mm, across_mm;
    } pass; /* in hand */
    bool passed;
    double last_over_mm, last_across_mm; /* of the last pass that counted */
};

/* On the stock as it stands. */
struct tw_give tw_give_begin(const struct tw_workpiece *workpiece);

/* Before a step is driven: over_mm is its wheel's height over the finished face. */
void tw_give_step(struct tw_give *give, const struct tw_step *step, const double from_mm[3], const double to_mm[3],
                  double over_mm);

/* What a piece of it cuts. */
void tw_give_cut(struct tw_give *give, double tangential_N, double depth_mm);

/* After a program. */
void tw_give_end(struct tw_give *give);

#endif
