/* sheet.h - the setup sheet: one HTML page that goes with a job to the machine.
 *
 * Holds     what is made and from what, the dry-run's verdict where there is one, drawings to scale, setup steps,
 *           passes, temperatures, maps, a gauge sheet to fill in by pen, and, where scripts may run, a slider that plays
 *           the programs. Lengths in mm and inch, the machine's own unit first.
 * Form      one file that needs no other and no network. It is HTML and, read as XML, well formed. Same job, same
 *           bytes. Everything but the slider is there without scripts and on paper (A4 and Letter).
 * Rounding  to what a shop can measure. The exact figures stand in the `value` of each HTML `data` element, whose
 *           `data-key` names the key of summary.json (docs/outputs.md) or of the dry-run's JSON.
 * Memory    the text is the caller's: free(). On failure *out is NULL.
 * Errors    TW_NO_MEMORY. A program that cannot be read as RS-274 is no error: it is shown as far as it reads. */
#ifndef TANGWRIGHT_SHEET_H
#define TANGWRIGHT_SHEET_H

#include "tangwright/compare.h"
#include "tangwright/fixture.h"
#include "tangwright/plan.h"
#include "tangwright/run.h"
#include "tangwright/verdict.h"

/* All borrowed. */
struct tw_sheet {
    const struct tw_job *job;
    const struct tw_plan *plan;
    struct tw_card programs[TW_SETUPS_MOST]; /* of plan->setups; text NULL: none, its passes are not drawn */
    double lift_mm;                          /* by which the programs are raised; 0: they cut */
    bool air;                                /* programs for a run in the air go with them */
    bool in_run;                             /* of a load: what is measured goes into the run's record */
    const struct tw_verdict *verdict;        /* NULL: not run */
    /* Remarks on the files of programs that are not what plan wrote, whose names are told; NULL: nobody looked. */
    const struct tw_findings *strange;
};

enum tw_status tw_sheet_html(const struct tw_sheet *sheet, char **out, struct tw_findings *findings);

/* The picture that heads the sheet, and what was understood of the drawing, as a page of its own; nothing is planned. */
enum tw_status tw_placement_html(const struct tw_job *job, char **out, struct tw_findings *findings);

/* Variants of the job side by side, as a page of its own; the job gives it its name and its unit. */
enum tw_status tw_comparison_html(const struct tw_job *job, const struct tw_comparison *comparison, char **out,
                                  struct tw_findings *findings);

/* A designed fixture: each part as it lies on the plate, side A and side B up, to scale, what to drill, how to load it. */
enum tw_status tw_fixture_html(const struct tw_fixture_design *design, char **out, struct tw_findings *findings);

/* One page with what the operator needs for a load; `load` counts from 0. */
enum tw_status tw_load_html(const struct tw_run_outcome *outcome, size_t load, const struct tw_load_plan *plan,
                            char **out, struct tw_findings *findings);

/* One page for the whole run, with boxes to tick. */
enum tw_status tw_run_html(const struct tw_run_outcome *outcome, char **out, struct tw_findings *findings);

/* "load.html", "run.html" */
const char *tw_load_page_name(void);
const char *tw_run_page_name(void);

/* "setup.html" */
const char *tw_sheet_file_name(void);

#endif
