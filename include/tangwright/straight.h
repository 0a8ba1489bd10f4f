/* straight.h - from a surveyed blank to a straight tang: where the centre plane is, how far the tang wanders from
 * it, and how much must come off each face at each gauge point.
 *
 * Centre plane  A height counts from what was read on the ricasso (rows at x < 0), whose faces lie T0/2 on either
 *          side of the centre plane: least squares give a level, a slope along x (unless the reference is the
 *          plate) and, where the ricasso was read at several y, a slope across. A is then the height of face A
 *          over the centre plane, B that of face B under it, both outwards; bow = (A - B)/2, positive towards A.
 * Finished tang The job's thickness law about a middle plane f(x) = offset + tilt x, both within the job's limits:
 *          face A at T0/2 - m x + f, face B at T0/2 - m x - f, each with the hand-finishing allowance on top.
 * Choice   A linear programme (GLPK): the least largest |f| over the tang for which at least `cleanup` comes off at
 *          every reading from `cleanup_from` on. Where not even the limits of f allow that, the stock that is
 *          missing is made least first, then |f|.
 * Mends    The thickest butt, and the earliest later taper start, for which |f| stays within the tolerance and
 *          everything cleans up. A later start is only offered where the middle of the blank itself lies within the
 *          tolerance there, for it stays as it is up to that place.
 * Twist    slope of the bow across the width, at places read at several y; counted from the ricasso's.
 * Doubt    One reading of an indicator is uncertain by 0.29 of its resolution (JCGM 100:2008, F.2.2.1); carried
 *          through the least squares that gives each height's standard uncertainty. `guard` is twice that, or the
 *          resolution if that is more. The choice is made again with all heights lower and higher by their
 *          guards: where the verdict changes, it rests on less than the indicator can tell.
 *
 * Units   mm, rad; tilt is a slope. Memory  tw_straight_free() releases what tw_straighten() made.
 * Threads GLPK keeps its state per thread; tw_straighten() opens it and closes it again, so a caller that uses
 *         GLPK on the same thread loses its own objects when memory runs out inside of GLPK, else not.
 * Errors  TW_BAD_INPUT: the survey does not cover the tang, or reaches past it; TW_NO_MEMORY, also from within
 *         GLPK. A tang that cannot be straight is no error: see `straight`, and tw_straight_verdict(). */
#ifndef TANGWRIGHT_STRAIGHT_H
#define TANGWRIGHT_STRAIGHT_H

#include "tangwright/blank.h"
#include "tangwright/job.h"

/* The job must name a survey (job->survey.count > 0). Remarks: an uneven ricasso, one thicker or thinner than the
 * job says. */
enum tw_status tw_straighten(const struct tw_job *job, struct tw_straight *out, struct tw_findings *findings);

/* TW_OK when the tang comes out straight; else TW_NO_PLAN with one finding: what is wrong, where, by how much and
 * what would help. Adds a remark when the answer rests on less than the indicator can tell. */
enum tw_status tw_straight_verdict(const struct tw_job *job, const struct tw_straight *straight,
                                   struct tw_findings *findings);

/* bend_mm rounded down to 0.01 mm, for people. */
double tw_straight_bend_to_mm(const struct tw_straight *straight);

void tw_straight_free(struct tw_straight *straight);

#endif
