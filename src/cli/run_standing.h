/* run_standing.h - where a run stands, by its record and by what is in its folder: what --status shows, as words and as JSON. */
#ifndef TANGWRIGHT_CLI_RUN_STANDING_H
#define TANGWRIGHT_CLI_RUN_STANDING_H

#include "cli/run_record.h"

struct standing_load {
    const struct tw_record_load *load; /* of the record's state */
    size_t blanks, gauged;
    bool dressed;           /* the wheel is dressed before it, as was planned or told */
    const char *taken_back; /* when, since the last plan, it was noted as not ground after all; NULL: it was not */
    bool roughed;           /* its parts were measured between roughing and finishing: it lies half ground */
    bool stopped;           /* it is not to be finished, by what they were measured */
    bool again;             /* it is to be roughed and measured once more before it is finished */
    bool other_wheel;       /* they were, and the wheel was dressed or changed since */
    bool for_other_wheel;   /* planned, and for another than the job names now */
    bool outdated;          /* that, or planned, and without what was gauged since */
};

/* A program that is still to be run and is not the one that was planned. */
struct standing_program {
    const struct tw_record_program *program;
    const char *what; /* "is missing", ... */
};

struct run_standing {
    const struct tw_run_request *request;
    const struct tw_record_state *state;
    char *folder; /* of the loads, as seen from here */
    struct standing_load *loads;
    size_t load_count;
    struct standing_program *wrong;
    size_t wrong_count;
    const struct tw_run_blank **unplanned; /* blanks of the run file that no plan has seen */
    size_t unplanned_count;
    struct tw_run_wheel wheel;
    char *other_wheel; /* a sentence, where the job's is another than the last load was ground by; NULL: it is not */
    int dress_next;    /* the first load that is not ground and before which the wheel is dressed; 0: none */
    double dress_after_mm3;           /* by the job; 0: not told */
    struct tw_run_totals totals;      /* corrections of today */
    int grind, measure;               /* the next load to be ground, and to be measured; 0: none */
    const struct standing_load *next; /* the former; NULL: none */
    int far_off; /* the newest gauged load, where nothing is to be ground for it; 0: it is not; verb_gauge_far_off() */
    bool unexplained;    /* it misses the tolerance, and no correction helps; else it is farther off than any machine */
    bool inch, one_face; /* by the job */
    bool plan;           /* programs are to be written anew first */
};

/* `record` has a plan in it. Everything borrowed lives as long as `request` and `record`. */
enum tw_status run_standing_make(const struct tw_run_request *request, struct run_record *record,
                                 struct run_standing *out, struct tw_findings *findings);
void run_standing_free(struct run_standing *standing);

/* Format "tangwright-run-status/1"; the caller's: free(). `standing` NULL: nothing is planned yet. */
enum tw_status run_standing_json(const struct tw_run_request *request, const struct run_standing *standing, char **out,
                                 struct tw_findings *findings);

#endif
