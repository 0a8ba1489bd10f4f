/* away.h - how long the wheel is away from each blank of a load, and what is lacking of it.
 *
 * A blank that was planned as if it lay on all stations cools while the wheel is at the others, for as long as it would be at
 * its likes. Where the others take less, or are done, the rest is waited. */
#ifndef TANGWRIGHT_PROGRAM_AWAY_H
#define TANGWRIGHT_PROGRAM_AWAY_H

#include "tangwright/program.h"

#define TW_AWAY_PARTS_MOST 9

/* What the wheel has done at one blank. */
struct tw_away_part {
    const struct tw_setup_plan *setup;
    double *times_s; /* of its moves */
    double change_s; /* from one station to the next */
    double stay_s;   /* its last stay; 0: there was none yet */
    double left_s;   /* when that ended */
};

struct tw_away {
    struct tw_away_part parts[TW_AWAY_PARTS_MOST];
    int count;
    double now_s;
};

enum tw_status tw_away_open(const struct tw_job *load, const struct tw_program_blank *blanks, size_t setup,
                            struct tw_away *out, struct tw_findings *findings);
void tw_away_close(struct tw_away *away);

/* The wheel comes to the part for that stay, waits so long before it, and makes its moves. */
double tw_away_wait_s(struct tw_away *away, int part, struct tw_stay stay);

#endif
