/* drive.h - how long a machine takes over a way, and how fast its axes go: the dry-run's own reckoning, from the machine's
 * profile as docs/job-reference.md tells it. See face.h for why.
 *
 * Model   Each axis keeps to its own acceleration and its own fastest; along a straight leg all keep in step, so the one that
 *         is soonest at its limit decides. Speed changes evenly. An exact path stands still wherever its direction changes;
 *         a blended one (G64) keeps in a corner what the two directions have in common, the cosine of the turn, and nothing from
 *         a right angle on. Where it goes straight on, no path slows down but for what comes later.
 * Units   mm, s. */
#ifndef TANGWRIGHT_WITNESS_DRIVE_H
#define TANGWRIGHT_WITNESS_DRIVE_H

#include "tangwright/equipment.h"
#include "tangwright/findings.h"

struct tw_witness_leg {
    double by_mm[3];      /* along, across, up */
    double feed_mm_per_s; /* 0: a rapid */
    bool stands_after;    /* whatever follows: a dwell, an exact stop, the end */
    double time_s;        /* the answer */
};

/* The axis that comes nearest to its fastest anywhere. */
struct tw_witness_fastest {
    char letter;
    double mm_per_s, share; /* of its fastest */
    size_t leg;
};

/* Sets the time of every leg, driven one after the other from rest to rest. A leg of no length takes none and stops nobody.
 * TW_NO_MEMORY. */
enum tw_status tw_witness_drive(const struct tw_machine *machine, bool blended, struct tw_witness_leg *legs,
                                size_t count, struct tw_witness_fastest *fastest, struct tw_findings *findings);

#endif
