/* chain.h - from strokes to closed rings: loose pieces are joined end to end.
 *
 * Ends that are one place are joined in silence, ends nearer than the gap tolerance at their middle and with
 * a remark. A piece drawn twice counts once. What stays open is a fault with both ends and the gap.
 *
 * Where the job picks, what is not picked is joined by itself and in silence: its rings may be holes of what is picked,
 * and what stays open or branches is none of ours. */
#ifndef TANGWRIGHT_OUTLINE_CHAIN_H
#define TANGWRIGHT_OUTLINE_CHAIN_H

#include "outline/sketch.h"

struct tw_found_ring {
    struct tw_ring ring; /* owned */
    int line;
    const char *label; /* the sketch's */
    bool picked;
    enum tw_role role;
};

struct tw_found_rings {
    struct tw_found_ring *items;
    size_t count, capacity;
};

/* On failure what was found so far stands in *out; release it in any case. */
enum tw_status tw_chain(const struct tw_drawing *drawing, struct tw_sketch *sketch, struct tw_found_rings *out,
                        struct tw_findings *findings);

void tw_found_rings_free(struct tw_found_rings *rings);

#endif
