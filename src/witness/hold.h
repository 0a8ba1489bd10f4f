/* hold.h - the sideways force that the fixture is trusted with: the dry-run's own reckoning, from docs/contacts.md. See face.h
 * for why.
 *
 * Model   friction * (clamps + magnet) / safety. The magnet pulls what lies over pads and rests, or where no rest lies under the
 *         tang, over the whole tang: with its own pull, less by the steel, by a gap g as (1 + g/g0)^-2, and by steel too thin to
 *         lead the flux as its square below 7/16 of the distance of poles. A hollowed face touches with its land.
 * Turning A cup pushes across, at the end of the tang (of a relief: its land less). The least push that turns the part about any
 *         centre: friction times what presses, times its distance from the centre, over the lever of the push, and over
 *         the safety. The wheel presses as well, with force_ratio_least of its push, there or where what hangs free
 *         begins. Upper-bound theorem of limit analysis: Drucker, Prager, Greenberg 1952; planar friction: Goyal, Ruina,
 *         Papadopoulos, Wear 143, 1991 (from memory). Clamps press on what they have of the blank, each alike.
 * Again   Side A's roughing is held as it lies at first and as it would lie on side B roughed, whichever is less.
 * Way     Cuts across the blank at many x; along each one, edges of blank and pad and what lies within the land of an edge are
 *         met in order of y. What presses is gathered in cells of 3 mm; centres are tried ever farther off, then closer about the
 *         best.
 * Blank   as stated and as surveyed: of several readings across the one farthest from what carries counts. The tang counts as
 *         finished on every face that any program has begun.
 * Units   mm, N. TW_NO_MEMORY. */
#ifndef TANGWRIGHT_WITNESS_HOLD_H
#define TANGWRIGHT_WITNESS_HOLD_H

#include "witness/face.h"

/* With this side up, under the job's task. */
enum tw_status tw_witness_hold(const struct tw_job *job, enum tw_side side, double *force_N,
                               struct tw_findings *findings);

/* How far the end of the tang bends under 1 N there, where it hangs free behind the last pad or rest that it lies on: a beam of
 * hardened steel, clamped there, by steps of its slope. 0 where the tang lies on the magnet or on packing. */
enum tw_status tw_witness_bends(const struct tw_job *job, enum tw_side side, double *mm_per_N,
                                struct tw_findings *findings);

#endif
