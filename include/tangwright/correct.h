/* correct.h - what finished parts of a run say about its next loads.
 *
 * Aim     Each part has its own: straight from the ricasso that its load was planned for to its butt, corrections left out.
 * Blank   A blank thicker than its load was planned for comes out thinner by as much where z counts from the pad, and thicker where
 *         it counts from the ricasso (job.h). That is known of each part and is not weighed.
 * Weighed The last TW_CORRECT_LOADS loads that were gauged, each reading as it would be had its load been planned with the
 *         corrections of today; so a correction that is at work does not hide what it corrects. Offset, taper, crown and
 *         stations by gauge.h, over these loads. Where the parts drift or jumped, the offset is that of the newest load alone.
 * Planned What is significant (gauge.h: not chance, and larger than twice its uncertainty, the offset's with the gauge's own)
 *         is added to the corrections of today: offset and stations go into the heights, the taper into the butt's thickness.
 *         A crown is told and not corrected. Nothing is planned that is larger than TW_CORRECT_MOST_MM: no machine is so far
 *         off, so something else is.
 * Memory  tw_corrections_free() releases all. Errors: TW_BAD_INPUT for readings that tell nothing; TW_NO_MEMORY. */
#ifndef TANGWRIGHT_CORRECT_H
#define TANGWRIGHT_CORRECT_H

#include "tangwright/gauge.h"
#include "tangwright/run.h"

#define TW_CORRECT_LOADS   3
#define TW_CORRECT_MOST_MM 0.1 /* for each face: judgement */

struct tw_measured {
    const char *part;
    int load, station; /* from 1 */
    double x_mm, y_mm, thickness_mm;
    double planned_mm, butt_mm; /* aims at the taper start and at the butt */
    double ricasso_mm; /* of this very blank, measured: what it differs from planned_mm its thickness differs, too */
    struct tw_run_totals totals; /* that its load was planned with */
};

struct tw_corrections {
    struct tw_gaugings weighed_readings,
        all_readings; /* thicknesses moved, so that their deviation from the job's is theirs from their aim */
    struct tw_gauged_run weighed, all;
    int newest;                  /* load */
    bool newest_alone;           /* the offset is of it alone */
    struct tw_gauge_term offset; /* as taken */
    struct tw_run_totals totals; /* for the next loads */
    bool changed;                /* they are others than those of today */
    bool too_large;              /* more was asked for than is ever planned: totals are those of today */
};

/* `measured` by load, and by part within. `now`: corrections of today. */
enum tw_status tw_corrections_make(const struct tw_job *job, const struct tw_measured *measured, size_t count,
                                   const struct tw_run_totals *now, double gauge_mm, double tolerance_mm,
                                   struct tw_corrections *out, struct tw_findings *findings);
void tw_corrections_free(struct tw_corrections *corrections);

/* How much thinner than its aim a part of that station (from 1; 0: none) is planned at x. */
double tw_run_total_mm(const struct tw_run_totals *totals, int station, double x_mm, double length_mm);

/* By how much each face is planned lower at that station. */
double tw_run_lower_mm(const struct tw_job *job, const struct tw_run_totals *totals, int station);

/* For a person: figures, and what is planned. The caller's: free(). */
enum tw_status tw_corrections_text(const struct tw_job *job, const struct tw_corrections *corrections,
                                   double tolerance_mm, char **out, struct tw_findings *findings);

#endif
