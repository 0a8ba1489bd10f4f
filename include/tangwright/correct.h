/* correct.h - what finished parts of a run say about its next loads.
 *
 * Aim     Each part has its own: straight from the ricasso that its load was planned for to its butt, corrections left out.
 * Blank   A blank thicker than its load was planned for comes out thinner by as much where z counts from the pad, and thicker where
 *         it counts from the ricasso (job.h). That is known of each part and is not weighed.
 * Weighed The last TW_CORRECT_LOADS loads that were gauged, each reading as it would be had its load been planned with the
 *         corrections of today; so a correction that is at work does not hide what it corrects. Taper, crown and stations by
 *         gauge.h, over these loads.
 * Offset  A wheel cuts otherwise as it dulls, and as it did before when it is dressed. So of the last TW_CORRECT_COURSE loads
 *         each dressing has a level of its own, and the offset is what the next load will have: that of the loads since the
 *         last dressing where they are steady; where they drift from load to load, and they may have begun to before that dressing,
 *         as far as the drift will have gone; where they jumped, that of the loads since. Of the three that is taken which tells the
 *         parts best for the number of its terms (Akaike's criterion). For a load before which the wheel is dressed the offset is
 *         that of the first loads after earlier dressings. Loads by another wheel than the newest tell nothing of it, dressed or not.
 * Roughed Of a part that was measured between its roughing and its finishing, what it was corrected by then is its load's own and in
 *         nothing above; nor is what of earlier roughing its load was planned with, for those readings had it taken into account.
 *         Once the roughed parts of two loads since the last dressing, by one wheel, were all too thick, half of the least of that is
 *         carried into the roughing of the next load; all too thin, the least of it, whole.
 * Bounded Where sides are roughed and finished apart no load is planned lower by more than TW_CORRECT_CARRIED_SHARE of what finishing
 *         takes off: touched off otherwise than the loads before, its roughing would end under the finished face, and what is left
 *         too thick is measured and corrected before it is finished. As long as no roughed part of the run was measured, what the
 *         finished parts of the two newest loads since the last dressing, by one wheel, both were too thick by is planned, too.
 * Planned What is significant (gauge.h: not chance, and an offset larger than the gauge's own uncertainty) is added to the
 *         corrections of today: offset and stations go into the heights, the taper into the butt's thickness.
 *         A crown is told and not corrected. Nothing is planned that is larger than TW_CORRECT_MOST_MM: no machine is so far
 *         off, so something else is. A load whose parts are so far off in the mean is left out of what is weighed, once a newer one
 *         is not: its cause is gone.
 * Memory  tw_corrections_free() releases all. Errors: TW_BAD_INPUT for readings that tell nothing; TW_NO_MEMORY. */
#ifndef TANGWRIGHT_CORRECT_H
#define TANGWRIGHT_CORRECT_H

#include "tangwright/gauge.h"
#include "tangwright/run.h"

#define TW_CORRECT_LOADS         3
#define TW_CORRECT_COURSE        6
#define TW_CORRECT_MOST_MM       0.1 /* for each face: judgement */
#define TW_CORRECT_CARRIED_SHARE 0.5 /* judgement, too */

struct tw_measured {
    const char *part;
    int load, station; /* from 1 */
    int dressings;     /* of the wheel, in this run, before that load was ground */
    int wheel;         /* how often it was changed before: another number is another wheel */
    double x_mm, y_mm, thickness_mm;
    double planned_mm, butt_mm; /* aims at the taper start and at the butt */
    double ricasso_mm; /* of this very blank, measured: what it differs from planned_mm its thickness differs, too */
    struct tw_run_totals totals; /* that its load was planned with, its own roughed parts left out */
    bool roughed;                /* it was measured between roughing and finishing */
    bool left_told; /* which told by how much roughing left it too thick, had nothing of that been carried to it: */
    double left_mm;
};

/* Which loads the offset is of: those since the last dressing; where they will have drifted to; those since a jump; the first ones
 * after earlier dressings. */
enum tw_offset_of { TW_OFFSET_OF_WEIGHED, TW_OFFSET_OF_DRIFT, TW_OFFSET_OF_NEWEST, TW_OFFSET_OF_DRESSED };

struct tw_corrections {
    struct tw_gaugings weighed_readings,
        all_readings; /* thicknesses moved, so that their deviation from the job's is theirs from their aim */
    struct tw_gauged_run weighed, all;
    int newest; /* load */
    enum tw_offset_of offset_of;
    struct tw_gauge_term offset; /* as taken */
    struct tw_run_totals totals; /* for the next loads */
    bool changed;                /* they are others than those of today */
    bool too_large;              /* more than is ever planned, asked for or found: totals are those of today */
    bool bounded;                /* no more than is carried into a load's roughing */
    bool unexplained; /* most readings of the newest load miss the tolerance, and there is nothing to correct */
};

struct tw_weighing {
    const struct tw_job *job;
    const struct tw_measured *measured; /* by load, and by part within */
    size_t count;
    const struct tw_run_totals *now; /* corrections of today */
    bool dressed_next;               /* the wheel is dressed before the next load */
    bool apart;                      /* which is roughed and finished by programs of their own */
    double gauge_mm, tolerance_mm;
};

enum tw_status tw_corrections_make(const struct tw_weighing *weighing, struct tw_corrections *out,
                                   struct tw_findings *findings);
void tw_corrections_free(struct tw_corrections *corrections);

/* How much thinner than its aim a part of that station (from 1; 0: none) is planned at x. */
double tw_run_total_mm(const struct tw_run_totals *totals, int station, double x_mm, double length_mm);

/* By how much each face is planned lower at that station. */
double tw_run_lower_mm(const struct tw_job *job, const struct tw_run_totals *totals, int station);

/* For a person: figures, and what is planned. The caller's: free(). */
enum tw_status tw_corrections_text(const struct tw_job *job, const struct tw_corrections *corrections,
                                   double tolerance_mm, char **out, struct tw_findings *findings);

#endif
