/* run_record.h - what the verbs of a run do with its record. */
#ifndef TANGWRIGHT_CLI_RUN_RECORD_H
#define TANGWRIGHT_CLI_RUN_RECORD_H

#include "base/staged.h"
#include "tangwright/record.h"
#include "tangwright/run.h"

/* "thirty-six.record" beside "thirty-six.cfg"; the caller's: free(). NULL when memory runs out. */
char *run_record_path(const char *run_path);

/* The record of the run as it stands; what a run that was cut off has left to do in its folder is done first. Without one, or where `make` is false and there is none, everything is empty. */
struct run_record {
    struct tw_record *record; /* NULL: there is none */
    struct tw_record_state state;
    char *wheel; /* that the job names now, in words; NULL: not told */
};
enum tw_status run_record_open(const struct tw_run_request *request, bool make, struct run_record *out,
                               struct tw_findings *findings);
void run_record_close(struct run_record *record);

/* The corrections that a load was planned with; load 0: those of today. */
struct tw_run_totals run_record_totals(const struct run_record *record, int load);

/* The same without what its own roughed parts ask for. */
struct tw_run_totals run_record_carried(const struct run_record *record, int load);

/* Those that a load would be planned with now, what its own roughed parts ask for among them. */
struct tw_run_totals run_record_wanted(const struct run_record *record, int load);

/* The same as the record takes them. */
#define RUN_TOTALS_MOST (3 + TW_RUN_STATIONS_MOST)
size_t run_record_list_totals(const struct tw_run_totals *totals, struct tw_record_total out[RUN_TOTALS_MOST]);

/* What the roughed parts of the load in hand were gauged too thick by. */
struct tw_run_roughed run_record_roughed(const struct run_record *record);

/* What finished parts measured, for the page of the run. */
enum tw_status run_record_chart(const struct run_record *record, const struct tw_job *job,
                                struct tw_run_request *request, struct tw_findings *findings);

/* Refuses to write programs of a load whose roughed parts were found not fit to be finished. */
enum tw_status run_record_check_stops(const struct run_record *record, const struct tw_run_request *request,
                                      struct tw_findings *findings);

/* The blanks of a load that is roughed must stay where they lie. */
enum tw_status run_record_check_roughed(const struct run_record *record, const struct tw_run_request *request,
                                        const struct tw_run_layout *layout, struct tw_findings *findings);

/* Marks the blanks that are ground already, and hands over the corrections of today. */
void run_record_mark(const struct run_record *record, struct tw_run_request *request);

#endif
