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

/* From now on the record is read for a job with that wheel. Another one than the last ground load's begins a level of its own, as a
 * dressing does: no offset is carried over to it, and what it takes off and loses is counted from its first load. */
enum tw_status run_record_set_wheel(struct run_record *record, const struct tw_wheel *wheel,
                                    struct tw_findings *findings);

/* How often the wheel was changed in loads that are ground, up to that one. */
int run_record_changes(const struct run_record *record, int load);

/* Whether the job's wheel is another than the one by which the last load was ground that tells of its wheel; *ground is then that load. */
bool run_record_is_other_wheel(const struct run_record *record, const struct tw_record_load **ground);

/* Says so in one sentence; the caller's: free(). NULL where it is the same, or memory ran out. */
char *run_record_other_wheel_words(const struct run_record *record);

/* The corrections that a load was planned with; load 0: those of today. */
struct tw_run_totals run_record_totals(const struct run_record *record, int load);

/* Those that a load would be planned with now, what its own roughed parts ask for among them. */
struct tw_run_totals run_record_wanted(const struct run_record *record, int load);

/* The same as the record takes them. */
#define RUN_TOTALS_MOST (2 + TW_RUN_STATIONS_MOST)
size_t run_record_list_totals(const struct tw_run_totals *totals, struct tw_record_total out[RUN_TOTALS_MOST]);

/* What the wheel did in the loads that are ground, and where it is dressed. */
struct tw_run_wheel run_record_wheel(const struct run_record *record);

/* What the roughed parts of the load in hand were gauged too thick by. */
struct tw_run_roughed run_record_roughed(const struct run_record *record);

/* What finished parts measured, for the page of the run. */
enum tw_status run_record_chart(const struct run_record *record, const struct tw_job *job,
                                struct tw_run_request *request, struct tw_findings *findings);

/* Refuses to write programs of a load whose roughed parts were found not fit to be finished. */
enum tw_status run_record_check_stops(const struct run_record *record, const struct tw_run_request *request,
                                      struct tw_findings *findings);

/* What tells a wheel from another, in words: its name and its measures. The caller's: free(); NULL: memory ran out. */
char *run_record_wheel_words(const struct tw_wheel *wheel);
/* What roughed parts were gauged off by was told of one wheel: a job that names another is refused until the change is told. */
enum tw_status run_record_check_wheel(const struct run_record *record, const struct tw_run_request *request,
                                      const struct tw_wheel *wheel, struct tw_findings *findings);
/* The blanks of a load that is roughed must stay where they lie. */
enum tw_status run_record_check_roughed(const struct run_record *record, const struct tw_run_request *request,
                                        const struct tw_run_layout *layout, struct tw_findings *findings);

/* Marks the blanks that are ground already, and hands over the corrections of today. */
void run_record_mark(const struct run_record *record, struct tw_run_request *request);

/* What a run has written, gathered while it is planned. */
struct run_notes {
    struct tw_record_program *programs;
    size_t program_count, program_capacity;
    char **texts; /* what the programs point into */
    size_t text_count, text_capacity;
};

/* Programs of a load, which stand in `folder` below that of the run; `digest` of their job. */
enum tw_status run_notes_add(struct run_notes *notes, const char *folder, int load, const struct tw_card *cards,
                             size_t count, const char *digest, struct tw_findings *findings);
void run_notes_free(struct run_notes *notes);

/* The plan goes into the record, as one change, and its files into their places. `folder`: that of the run. */
enum tw_status run_record_plan(const struct run_record *record, const struct tw_run_outcome *outcome,
                               const struct run_notes *notes, const char *folder, struct tw_staged *staged,
                               struct tw_findings *findings);

#endif
