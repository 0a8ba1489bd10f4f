/* findings.h - what went wrong or deserves a remark, collected so that all of it is shown at once.
 *
 * Every function that can fail returns a status and adds one finding per fault to the list it
 * was given. A finding is one whole sentence: where (file, line, key), what was seen, what is
 * allowed and what to do about it.
 *
 * Memory  a list owns its texts; tw_findings_free() releases them. When memory runs out while a
 *         finding is added the finding is lost, but `out_of_memory` is set and the status is kept.
 * Threads a list belongs to one thread. */
#ifndef TANGWRIGHT_FINDINGS_H
#define TANGWRIGHT_FINDINGS_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

/* The numbers are the exit statuses of the command line. */
enum tw_status {
    TW_OK = 0,
    TW_DO_NOT_CUT = 1, /* the question was answered, and the answer is no        */
    TW_BAD_USAGE = 2,  /* the command line cannot be understood                  */
    TW_BAD_INPUT = 3,  /* a file says something that cannot be used              */
    TW_NO_PLAN = 4,    /* the input is sound, but no plan can meet the limits    */
    TW_IO = 5,         /* reading or writing failed                              */
    TW_NO_MEMORY = 6
};

/* Where a finding belongs. All borrowed; NULL or 0 for what is not known. */
struct tw_place {
    const char *file;
    int line;
    const char *key;
};

struct tw_finding {
    enum tw_status status; /* TW_OK: a remark, not a fault */
    char *file;            /* NULL when no file is concerned */
    int line;
    char *key;  /* NULL when no key of a job is concerned */
    char *text; /* "job.cfg:12: taper.butt_thickness: ..." */
};

struct tw_findings {
    struct tw_finding *items;
    size_t count, capacity;
    bool out_of_memory;
};

/* Adds a fault and returns `status`, so that a caller can write `return tw_fail(...)`. */
enum tw_status tw_fail(struct tw_findings *findings, enum tw_status status, struct tw_place at, const char *format, ...)
    __attribute__((format(printf, 4, 5)));

/* Adds a remark: something a person should know that stops nothing. */
void tw_remark(struct tw_findings *findings, struct tw_place at, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* Notes that memory ran out and returns TW_NO_MEMORY. */
enum tw_status tw_no_memory(struct tw_findings *findings);

/* Moves everything from `more` to the end of `findings`, leaving `more` empty. */
void tw_findings_append(struct tw_findings *findings, struct tw_findings *more);

/* Adds what another list says, which keeps it as well. */
void tw_findings_repeat(struct tw_findings *findings, const struct tw_findings *said);

/* The worst status of the list: TW_NO_MEMORY first, then the first fault added, else TW_OK. */
enum tw_status tw_findings_status(const struct tw_findings *findings);

/* Number of faults, remarks not counted. */
size_t tw_findings_fault_count(const struct tw_findings *findings);

/* Sorts by file and line, keeping the order of what stands in the same place. */
void tw_findings_sort(struct tw_findings *findings);

/* Leaves the first `most` and says in a last one how many faults of `file` are not listed: a table in the wrong unit has as many
 * as lines. */
void tw_findings_shorten(struct tw_findings *findings, size_t most, const char *file);

/* Leaves the first of those that say the same: what is read several times is remarked on each time. */
void tw_findings_drop_repeated(struct tw_findings *findings);

/* One finding per line; remarks are led in by "note: ". What could steer a terminal is made visible. */
void tw_findings_print(const struct tw_findings *findings, FILE *stream);

void tw_findings_free(struct tw_findings *findings);

#endif
