/* report.h - the plan's figures for people and for programs.
 *
 * Memory  texts are the caller's: free(). NULL and TW_NO_MEMORY when memory runs out. */
#ifndef TANGWRIGHT_REPORT_H
#define TANGWRIGHT_REPORT_H

#include "tangwright/packing.h"
#include "tangwright/balance.h"
#include "tangwright/compare.h"
#include "tangwright/looks.h"
#include "tangwright/plan.h"
#include "tangwright/run.h"
#include "tangwright/straight.h"
#include "tangwright/verdict.h"

#include <stdbool.h>
#include <stdio.h>

/* One JSON object, format "tangwright-summary/1"; every key is described in docs/outputs.md. */
enum tw_status tw_summary_json(const struct tw_job *job, const struct tw_plan *plan, char **out,
                               struct tw_findings *findings);

/* The figures that matter at the machine as a table, lengths in mm and inch; `detail`: all of them. */
enum tw_status tw_summary_table(const struct tw_job *job, const struct tw_plan *plan, bool detail, char **out,
                                struct tw_findings *findings);

/* Thickness along the tang and temperature of the layers, drawn with plain characters within 80 columns; for a terminal. */
enum tw_status tw_summary_plot(const struct tw_job *job, const struct tw_plan *plan, char **out,
                               struct tw_findings *findings);

/* Variants of the job at that path side by side, and why some cannot be planned. */
enum tw_status tw_comparison_table(const char *job_path, const struct tw_comparison *comparison, char **out,
                                   struct tw_findings *findings);

/* The same as one JSON object, format "tangwright-compare/1"; every key is described in docs/compare.md. */
enum tw_status tw_comparison_json(const char *job_path, const struct tw_comparison *comparison, char **out,
                                  struct tw_findings *findings);

/* Load by load: which blank on which station, what is planned, which blanks are set aside and why. */
enum tw_status tw_run_table(const struct tw_run_outcome *outcome, char **out, struct tw_findings *findings);

/* The same as one JSON object, format "tangwright-run/1"; every key is described in docs/run.md. */
enum tw_status tw_run_json(const struct tw_run_outcome *outcome, char **out, struct tw_findings *findings);

/* How the knife lies, in a few lines that a maker can verify. */
enum tw_status tw_placement_table(const struct tw_job *job, char **out, struct tw_findings *findings);

/* The knife as it lies with side A up, drawn with plain characters within 80 columns; for a terminal. */
enum tw_status tw_placement_plot(const struct tw_job *job, char **out, struct tw_findings *findings);

/* The same as one JSON object, format "tangwright-check/1"; every key is described in docs/placement.md. */
enum tw_status tw_placement_json(const struct tw_job *job, char **out, struct tw_findings *findings);

/* One JSON object, format "tangwright-dryrun/1". */
enum tw_status tw_verdict_json(const struct tw_job *job, const struct tw_verdict *verdict, char **out,
                               struct tw_findings *findings);

/* Check by check, and the answer. */
enum tw_status tw_verdict_table(const struct tw_job *job, const struct tw_verdict *verdict, char **out,
                                struct tw_findings *findings);

/* One JSON object, format "tangwright-straighten/1". */
enum tw_status tw_straight_json(const struct tw_job *job, const struct tw_straight *straight, char **out,
                                struct tw_findings *findings);

/* What comes off at each gauge point, and the packing and stack of both setups, in mm and inch. */
enum tw_status tw_straight_table(const struct tw_job *job, const struct tw_straight *straight, char **out,
                                 struct tw_findings *findings);

/* Everything that `balance` shows. */
struct tw_balance_report {
    struct tw_balance balance;                    /* the job as it stands */
    struct tw_balance rows[TW_BALANCE_ROWS_MOST]; /* over the butt; used when the blank was weighed */
    size_t row_count;
    bool asked; /* wish and answer are filled */
    struct tw_balance_wish wish;
    struct tw_balance_answer answer;
    struct tw_spine_view spine;
};

/* One JSON object, format "tangwright-balance/1"; every key is described in docs/balance.md. */
enum tw_status tw_balance_json(const struct tw_job *job, const struct tw_balance_report *report, char **out,
                               struct tw_findings *findings);

/* The same for a person. */
enum tw_status tw_balance_table(const struct tw_job *job, const struct tw_balance_report *report, char **out,
                                struct tw_findings *findings);

#endif
