/* second_heat.h - the history's temperatures against an estimate that shares nothing with it: witness/heat.h.
 *
 * Four figures of a program on one part, each between two bounds:
 *   flash   of every pass where it was hottest: from the flash with the film to that without
 *   heat    that all the cuts put into the steel: the same
 *   stored  heat at the end, from the history's own temperatures and the steel's real thickness
 *   losses  through the joint over those through the face, with as much of them beside the packing as a rod has there that is
 *           heated where the program takes steel off
 * What lies outside of the bounds by more than the estimates can honestly differ is no limit broken in the steel, but means
 * that one of both reckons wrongly, and nothing that rests on them is shown. */
#ifndef TANGWRIGHT_VERDICT_SECOND_HEAT_H
#define TANGWRIGHT_VERDICT_SECOND_HEAT_H

#include "tangwright/history.h"
#include "verdict/checks.h"
#include "verdict/workpiece.h"
#include "witness/heat.h"

/* By so many per cent a figure may lie outside of its bounds. */
#define TW_SECOND_HEAT_APART 10.0

struct tw_second_heat {
    const struct tw_job *job;
    struct tw_check *check;
    bool over_ground;
    double energy; /* times the wheel's own, as in the history */
    double lean;   /* of a cup's rim over the face, towards rising x */
    struct tw_witness_band band;
    double least_J, most_J;
    struct tw_history_grid grid;
    double *ground_mm3; /* of each column of the grid; owned */
};

/* `check` is asked by the caller. tw_second_heat_close() releases what tw_second_heat_follow() makes. */
struct tw_second_heat tw_second_heat_open(const struct tw_job *job, bool over_ground, double lean,
                                          struct tw_check *check);

void tw_second_heat_close(struct tw_second_heat *heat);

/* Where the program heats the part is followed on the history's columns. TW_NO_MEMORY. */
enum tw_status tw_second_heat_follow(struct tw_second_heat *heat, const struct tw_history *history,
                                     struct tw_findings *findings);

/* Where a motion took something off. */
void tw_second_heat_place(struct tw_second_heat *heat, const struct tw_removal *removal);

/* Before a pass is given to the history: its pieces. */
void tw_second_heat_pieces(struct tw_second_heat *heat, const struct tw_history_piece *pieces, size_t count);

/* What the history says of it. */
void tw_second_heat_peak(struct tw_second_heat *heat, const struct tw_history_peak *peak, struct tw_spot spot);

/* After the last pass. TW_NO_MEMORY. */
enum tw_status tw_second_heat_end(struct tw_second_heat *heat, const struct tw_history *history,
                                  const struct tw_workpiece *workpiece, struct tw_findings *findings);

#endif
